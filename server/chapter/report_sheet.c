#include "chapter/report_sheet.h"

#include <stdlib.h>

#include "base/mem.h"
#include "chapter/chapter.h"
#include "chapter/counted.h"
#include "store/store.h"

#define CACHE_REPORTS 16
#define CACHE_BYTES ((size_t)16 * 1024 * 1024)

/* ---- adding up ---- */

/* What core counts with; facts are borrowed. */
static struct finding *findings_of(struct arena *arena, const struct finding_row *rows, size_t n)
{
	struct finding *findings = ARENA_ARRAY(arena, struct finding, n);

	for (size_t i = 0; findings && i < n; i++)
		findings[i] = (struct finding){.answer = rows[i].answer,
		                               .kit = rows[i].kit.v,
		                               .member = rows[i].author.v,
		                               .facts = rows[i].facts};
	return findings;
}

static int compare_kits(const void *a, const void *b)
{
	const struct kit_id *x = a, *y = b;

	return (x->v > y->v) - (x->v < y->v);
}

static enum status list_looked(struct arena *arena, struct report_sheet *sheet)
{
	struct kit_id *looked = ARENA_ARRAY(arena, struct kit_id, sheet->n_findings);
	size_t count = 0;

	if (!looked)
		return ST_NOMEM;
	for (size_t i = 0; i < sheet->n_findings; i++)
		if (sheet->findings[i].answer != ANSWER_DOES_NOT_FIT)
			looked[count++].v = sheet->findings[i].kit;
	qsort(looked, count, sizeof *looked, compare_kits);
	sheet->looked = looked;
	sheet->n_looked = count;
	return ST_OK;
}

static enum status add_up(struct arena *arena, struct report_sheet *sheet)
{
	struct finding *all = findings_of(arena, sheet->rows, sheet->n_rows);
	bool *counts = ARENA_ARRAY(arena, bool, sheet->n_rows);
	bool settled = sheet->report.notice_stands;
	enum status status = all && counts ? ST_OK : ST_NOMEM;

	if (status == ST_OK)
		status = findings_that_count(arena, all, sheet->n_rows, counts);
	if (status == ST_OK)
		status = findings_pick(arena, all, sheet->n_rows, &sheet->findings,
		                       &sheet->n_findings);
	if (status == ST_OK)
		status = list_looked(arena, sheet);
	if (status == ST_OK)
		status = findings_tally(arena, sheet->findings, sheet->n_findings, &sheet->tally);
	if (status == ST_OK)
		status = findings_split(arena, sheet->findings, sheet->n_findings, &sheet->split,
		                        &sheet->has_split);
	sheet->counts = counts;
	sheet->state = report_state_of(&sheet->tally, settled);
	return status;
}

static enum status read_both(struct store *store, struct arena *arena, struct report_id id,
                             struct report_sheet *sheet)
{
	enum status status = report_read(store, arena, id, &sheet->report);

	if (status == ST_OK)
		status = finding_list(store, arena, id, &sheet->rows, &sheet->n_rows);
	return status;
}

/* Report and findings of one state of the database. */
static enum status load_sheet(struct store *store, struct arena *arena, struct report_id id,
                              struct report_sheet *sheet)
{
	enum status status = store_begin_reading(store);

	if (status == ST_OK)
		status = store_end_reading(store, read_both(store, arena, id, sheet));
	return status == ST_OK ? add_up(arena, sheet) : status;
}

/* ---- the cache ---- */

struct held_report {
	struct counted kept; /* by the report's id; first, so that the cache's pointer leads here */
	struct report_sheet sheet;
};

static struct held_report *held_in(struct counted *kept)
{
	return (struct held_report *)kept;
}

static void free_held(struct counted *kept)
{
	struct held_report *held = held_in(kept);

	arena_free(kept->arena);
	mem_free(held);
}

struct counted_cache *report_cache_new(void)
{
	return counted_cache_new(
	        (struct counted_limits){CACHE_REPORTS, CACHE_BYTES, CACHE_BYTES / 2}, free_held);
}

static bool fits(const struct counted *kept, const void *wanted)
{
	const struct report *has = &((const struct held_report *)kept)->sheet.report;
	const struct report *report = wanted;

	return has->version == report->version && has->notice_stands == report->notice_stands;
}

static enum status load(const struct work *work, struct report_id id, struct held_report **out)
{
	struct held_report *held = mem_zero(sizeof *held);
	enum status status = ST_NOMEM;

	if (!held)
		return ST_NOMEM;
	held->kept = (struct counted){.id = id.v, .arena = arena_new(), .borrowers = 1};
	if (held->kept.arena)
		status = load_sheet(work->store, held->kept.arena, id, &held->sheet);
	if (status == ST_OK)
		*out = held;
	else
		free_held(&held->kept);
	return status;
}

enum status report_sheet_borrow(const struct work *work, struct report_id id,
                                struct report_sheet *out)
{
	struct counted_cache *cache = work->chapter->reports;
	struct held_report *held;
	struct report report;
	enum status status = report_read(work->store, work->arena, id, &report);

	if (status != ST_OK)
		return status;
	held = held_in(counted_borrow(cache, id.v, fits, &report));
	if (!held) {
		status = load(work, id, &held);
		if (status != ST_OK)
			return status;
		counted_keep(cache, &held->kept);
		report = held->sheet.report; /* of one state with its findings */
	}
	*out = held->sheet;
	out->held = &held->kept;
	out->report = report;
	return ST_OK;
}

void report_sheet_return(const struct work *work, const struct report_sheet *sheet)
{
	counted_give_back(work->chapter->reports, sheet->held);
}

/* ---- names as they are now ---- */

/* As finding_list has it: whoever is gone is nobody's name. */
static enum status name_now(struct store *store, struct arena *arena, struct finding_row *row)
{
	struct member member;
	enum status status = member_read(store, arena, row->author, &member);

	if (status == ST_OK)
		row->author_name = member.name;
	if (status == ST_MISSING) {
		row->author_name = "removed member";
		row->credit = CREDIT_NOBODY;
		status = ST_OK;
	}
	return status;
}

enum status report_facts_whole(struct store *store, struct arena *arena, struct finding_row *row)
{
	struct facts *facts = ARENA_NEW(arena, struct facts);
	enum status status = facts ? finding_facts(store, arena, row->id, facts) : ST_NOMEM;

	if (status == ST_OK)
		row->facts = facts;
	return status;
}

enum status report_rows_now(struct store *store, struct arena *arena,
                            const struct report_sheet *sheet, size_t from, size_t to,
                            struct finding_row **out)
{
	struct finding_row *rows = ARENA_ARRAY(arena, struct finding_row, to - from);
	enum status status = rows ? ST_OK : ST_NOMEM;

	for (size_t i = 0; status == ST_OK && i < to - from; i++) {
		rows[i] = sheet->rows[sheet->n_rows - 1 - from - i];
		status = name_now(store, arena, &rows[i]);
	}
	if (status == ST_OK)
		*out = rows;
	return status;
}
