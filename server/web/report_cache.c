#include "web/report_cache.h"

#include <pthread.h>
#include <stdlib.h>

#include "base/mem.h"
#include "web/app_parts.h"
#include "web/findings_view.h"

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
		status = findings_view(arena, sheet->findings, sheet->n_findings, settled,
		                       &sheet->sums);
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
	struct report_sheet sheet;
	struct arena *arena;
	size_t borrowers; /* the cache counts as one */
	uint64_t used;    /* tick of the last use */
};

struct report_cache {
	pthread_mutex_t lock; /* guards all below and the counts of what is held */
	uint64_t tick;
	size_t bytes;
	struct held_report *slots[CACHE_REPORTS];
};

struct report_cache *report_cache_new(void)
{
	struct report_cache *cache = mem_zero(sizeof *cache);

	if (cache)
		pthread_mutex_init(&cache->lock, NULL);
	return cache;
}

static void free_held(struct held_report *held)
{
	json_decref(held->sheet.sums);
	arena_free(held->arena);
	mem_free(held);
}

void report_cache_free(struct report_cache *cache)
{
	if (!cache)
		return;
	for (unsigned i = 0; i < CACHE_REPORTS; i++)
		if (cache->slots[i])
			free_held(cache->slots[i]);
	pthread_mutex_destroy(&cache->lock);
	mem_free(cache);
}

/* The cache's lock is held. */
static void drop(struct report_cache *cache, struct held_report **slot)
{
	struct held_report *held = *slot;

	*slot = NULL;
	cache->bytes -= arena_used(held->arena);
	if (--held->borrowers == 0)
		free_held(held);
}

static bool fits(const struct held_report *held, const struct report *report)
{
	const struct report *kept = &held->sheet.report;

	return kept->version == report->version && kept->notice_stands == report->notice_stands;
}

/* The slot of that report, NULL when it has none. */
static struct held_report **find_slot(struct report_cache *cache, struct report_id id)
{
	for (unsigned i = 0; i < CACHE_REPORTS; i++)
		if (cache->slots[i] && cache->slots[i]->sheet.report.id.v == id.v)
			return &cache->slots[i];
	return NULL;
}

/* The sheet, counted, when it is fresh. */
static struct held_report *borrow(struct report_cache *cache, const struct report *report)
{
	struct held_report **slot, *held = NULL;

	pthread_mutex_lock(&cache->lock);
	slot = find_slot(cache, report->id);
	if (slot && fits(*slot, report)) {
		held = *slot;
		held->borrowers++;
		held->used = ++cache->tick;
	}
	pthread_mutex_unlock(&cache->lock);
	return held;
}

static void give_back(struct report_cache *cache, struct held_report *held)
{
	bool last;

	pthread_mutex_lock(&cache->lock);
	last = --held->borrowers == 0;
	pthread_mutex_unlock(&cache->lock);
	if (last)
		free_held(held);
}

/* An empty slot, or the one that was longest at rest. */
static struct held_report **resting_slot(struct report_cache *cache)
{
	struct held_report **found = &cache->slots[0];

	for (unsigned i = 0; i < CACHE_REPORTS; i++) {
		if (!cache->slots[i])
			return &cache->slots[i];
		if (cache->slots[i]->used < (*found)->used)
			found = &cache->slots[i];
	}
	return found;
}

/* One too large for the cache is not kept. */
static void keep(struct report_cache *cache, struct held_report *held)
{
	size_t size = arena_used(held->arena);
	struct held_report **slot;

	if (size > CACHE_BYTES / 2)
		return;
	pthread_mutex_lock(&cache->lock);
	slot = find_slot(cache, held->sheet.report.id);
	if (!slot)
		slot = resting_slot(cache);
	if (*slot)
		drop(cache, slot);
	*slot = held;
	held->borrowers++;
	held->used = ++cache->tick;
	cache->bytes += size;
	for (unsigned i = 0; cache->bytes > CACHE_BYTES && i < CACHE_REPORTS; i++)
		if (cache->slots[i] && cache->slots[i] != held)
			drop(cache, &cache->slots[i]);
	pthread_mutex_unlock(&cache->lock);
}

static enum status load(struct context *c, struct report_id id, struct held_report **out)
{
	struct held_report *held = mem_zero(sizeof *held);
	enum status status = ST_NOMEM;

	if (!held)
		return ST_NOMEM;
	held->borrowers = 1;
	held->arena = arena_new();
	if (held->arena)
		status = load_sheet(c->store, held->arena, id, &held->sheet);
	if (status == ST_OK)
		*out = held;
	else
		free_held(held);
	return status;
}

enum status report_with_sheet(struct context *c, struct report_id id, report_use_fn *use,
                              void *context)
{
	struct report_cache *cache = c->app->reports;
	struct held_report *held;
	struct report_sheet sheet;
	struct report report;
	enum status status = report_read(c->store, c->arena, id, &report);

	if (status != ST_OK)
		return status;
	held = borrow(cache, &report);
	if (!held) {
		status = load(c, id, &held);
		if (status != ST_OK)
			return status;
		keep(cache, held);
		report = held->sheet.report; /* of one state with its findings */
	}
	sheet = held->sheet;
	sheet.report = report;
	status = use(c, &sheet, context);
	give_back(cache, held);
	return status;
}

/* ---- names as they are now ---- */

/* As finding_list has it: whoever is gone is nobody's name. */
static enum status name_now(const struct context *c, struct finding_row *row)
{
	struct member member;
	enum status status = member_read(c->store, c->arena, row->author, &member);

	if (status == ST_OK)
		row->author_name = member.name;
	if (status == ST_MISSING) {
		row->author_name = "removed member";
		row->credit = CREDIT_NOBODY;
		status = ST_OK;
	}
	return status;
}

enum status report_facts_whole(const struct context *c, struct finding_row *row)
{
	struct facts *facts = ARENA_NEW(c->arena, struct facts);
	enum status status = facts ? finding_facts(c->store, c->arena, row->id, facts) : ST_NOMEM;

	if (status == ST_OK)
		row->facts = facts;
	return status;
}

enum status report_rows_now(const struct context *c, const struct report_sheet *sheet, size_t from,
                            size_t to, struct finding_row **out)
{
	struct finding_row *rows = ARENA_ARRAY(c->arena, struct finding_row, to - from);
	enum status status = rows ? ST_OK : ST_NOMEM;

	for (size_t i = 0; status == ST_OK && i < to - from; i++) {
		rows[i] = sheet->rows[sheet->n_rows - 1 - from - i];
		status = name_now(c, &rows[i]);
	}
	if (status == ST_OK)
		*out = rows;
	return status;
}
