/* Standing: the rules of standing.h in their order.
 *
 * A line is closed in one of four ways: by a record to a revision that
 * counts, because the replacement is fitted, because what is fitted is of a
 * lot that is not affected, or because the notice says to use it as it is.
 * Where parts are listed without a position they close lines only when there
 * are enough for all lines of that number: no side is guessed.
 */
#include "core/standing.h"

#include <assert.h>
#include <stdlib.h>

const char *const standing_kinds[STANDING_KINDS + 1] = {
        [STANDING_NOT_EFFECTIVE] = "not effective", [STANDING_ASK] = "ask",
        [STANDING_REPLACED] = "replaced",           [STANDING_IN_THE_PLANS] = "in the plans",
        [STANDING_CONFORMS] = "conforms",           [STANDING_DONE] = "done",
        [STANDING_REPEATING] = "repeating",         [STANDING_OPEN] = "open",
};

const char *standing_words(enum standing_kind kind)
{
	return standing_kinds[kind];
}

/* ---- records of a kit ---- */

static int by_notice(const void *a, const void *b)
{
	const struct record *x = *(const struct record *const *)a;
	const struct record *y = *(const struct record *const *)b;
	int order = name_compare(&x->notice, &y->notice);

	return order ? order : (x > y) - (x < y); /* both point into one array */
}

enum status kit_state_make(struct arena *arena, const struct facts *facts,
                           const struct record *records, size_t n_records,
                           const struct kit_use *use, struct kit_state *out)
{
	const struct record **list = ARENA_ARRAY(arena, const struct record *, n_records);
	size_t count = 0;

	if (!list)
		return ST_NOMEM;
	for (size_t i = 0; i < n_records; i++)
		if (record_counts(records, n_records, i))
			list[count++] = &records[i];
	qsort(list, count, sizeof *list, by_notice);
	*out = (struct kit_state){facts, list, count, use ? *use : (struct kit_use){NULL}};
	return ST_OK;
}

/* The records of one notice. */
struct record_run {
	const struct record *const *at;
	size_t count;
};

static struct record_run records_of(const struct kit_state *kit, const struct name *number)
{
	size_t low = 0, high = kit->n_records, end;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (name_compare(&kit->records[middle]->notice, number) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	for (end = low; end < kit->n_records && name_equal(&kit->records[end]->notice, number);)
		end++;
	return (struct record_run){kit->records + low, end - low};
}

/* ---- one line, by record ---- */

static const struct notice_line whole_notice = {.part = {.text = "", .key = ""},
                                                .position = {.text = "", .key = ""},
                                                .replacement = {.text = "", .key = ""},
                                                .lots_text = "",
                                                .remark = ""};

static size_t line_count(const struct notice *notice)
{
	return notice->n_lines ? notice->n_lines : 1;
}

static const struct notice_line *line_at(const struct notice *notice, size_t line)
{
	assert(line < line_count(notice));
	return notice->n_lines ? &notice->lines[line] : &whole_notice;
}

static bool closes(const struct record *record, const struct name *revision,
                   const struct notice_line *line)
{
	return name_same(&record->revision, revision) && name_same(&record->part, &line->part) &&
	       name_same(&record->position, &line->position);
}

/* The latest record to this revision that closes the line. */
static const struct record *find_record(struct record_run run, const struct name *revision,
                                        const struct notice_line *line)
{
	const struct record *found = NULL;

	for (size_t i = 0; i < run.count; i++)
		if (closes(run.at[i], revision, line) &&
		    (!found || run.at[i]->done.last >= found->done.last))
			found = run.at[i];
	return found;
}

/* A record to the earlier revision for a line that it shares; or, where every
 * line of that revision is closed, its latest record for any line. */
static const struct record *find_credit(struct record_run run, const struct revision_credit *credit,
                                        const struct notice_line *line)
{
	const struct record *latest = NULL;
	const struct record *same = find_record(run, &credit->revision, line);
	size_t count = credit->n_lines ? credit->n_lines : 1;

	for (size_t i = 0; !same && i < count; i++) {
		const struct notice_line *old = credit->n_lines ? &credit->lines[i] : &whole_notice;
		const struct record *record = find_record(run, &credit->revision, old);

		if (!record)
			return NULL;
		if (!latest || record->done.last >= latest->done.last)
			latest = record;
	}
	return same ? same : latest;
}

static const struct record *later(const struct record *a, const struct record *b)
{
	if (!a || !b)
		return a ? a : b;
	return b->done.last > a->done.last ? b : a;
}

static const struct record *line_record(const struct notice *notice, struct record_run run,
                                        const struct notice_line *line)
{
	const struct record *found = find_record(run, &notice->revision, line);

	for (size_t i = 0; i < notice->n_credits; i++)
		found = later(found, find_credit(run, &notice->credits[i], line));
	return found;
}

/* ---- one line, by parts fitted ---- */

/* Only what is certain closes a line: a number or lot that may be the affected
 * one, written in another way, leaves it open. */
static bool has_lot_outside(const struct part_fact *part, const struct notice_line *line)
{
	return part->has_lot && line->n_lots > 0 &&
	       serial_in_any(&part->lot, line->lots, line->n_lots) == TRUTH_FALSE;
}

static bool is_new_number(const struct part_fact *part, const struct notice_line *line)
{
	return name_like(&line->replacement, &part->number) == TRUTH_TRUE &&
	       !name_equal(&line->part, &line->replacement);
}

static bool is_other_lot(const struct part_fact *part, const struct notice_line *line)
{
	return name_like(&line->part, &part->number) == TRUTH_TRUE && has_lot_outside(part, line);
}

static bool is_affected(const struct part_fact *part, const struct notice_line *line)
{
	if (name_is_empty(&line->part) || name_is_empty(&part->number))
		return false;
	return !is_new_number(part, line) && name_like(&line->part, &part->number) != TRUTH_FALSE &&
	       !has_lot_outside(part, line);
}

typedef bool part_test(const struct part_fact *part, const struct notice_line *line);

/* Lines of the notice that the same unplaced parts would have to meet too. */
static size_t lines_alike(const struct notice *notice, const struct notice_line *line)
{
	size_t count = 0;

	for (size_t i = 0; i < line_count(notice); i++) {
		const struct notice_line *other = line_at(notice, i);

		count += name_equal(&other->part, &line->part) ||
		         name_equal(&other->replacement, &line->replacement);
	}
	return count;
}

/* Is the line met by fitted parts that pass the test, with no affected part in
 * its place? */
static bool met_by(const struct notice *notice, const struct notice_line *line,
                   const struct facts *facts, part_test *test)
{
	size_t placed = 0, unplaced = 0;

	for (size_t i = 0; i < facts->n_parts; i++) {
		const struct part_fact *part = &facts->parts[i];
		bool here = name_same(&part->position, &line->position);
		bool somewhere = name_is_empty(&part->position);

		if (is_affected(part, line) && (here || somewhere))
			return false;
		if (!test(part, line))
			continue;
		placed += here;
		unplaced += somewhere;
	}
	return (placed && !name_is_empty(&line->position)) ||
	       (unplaced && unplaced >= lines_alike(notice, line));
}

/* ---- one line ---- */

static enum line_state decide_line(const struct notice *notice, const struct notice_line *line,
                                   struct record_run run, const struct facts *facts,
                                   const struct record **by)
{
	*by = line_record(notice, run, line);
	if (*by)
		return LINE_RECORDED;
	if (line->disposition == DISPOSE_USE_AS_IS && !name_is_empty(&line->part))
		return LINE_NOTHING_TO_DO;
	if (met_by(notice, line, facts, is_new_number))
		return LINE_PART_FITTED;
	if (met_by(notice, line, facts, is_other_lot))
		return LINE_OTHER_LOT;
	return LINE_OPEN;
}

enum line_state standing_line(const struct catalogue_entry *entry, size_t line,
                              const struct kit_state *kit, const struct record **by)
{
	const struct notice *notice = &entry->notice;

	return decide_line(notice, line_at(notice, line), records_of(kit, &notice->number),
	                   kit->facts, by);
}

/* ---- the rules ---- */

static const struct catalogue_entry *latest_of(const struct catalogue *catalogue,
                                               const uint32_t *list, uint32_t count)
{
	const struct catalogue_entry *found = NULL;

	for (uint32_t i = 0; i < count; i++) {
		const struct catalogue_entry *entry = &catalogue->entries[list[i]];

		if (!found || entry->notice.issued.first > found->notice.issued.first)
			found = entry;
	}
	return found;
}

/* Do this kit's plans, and those of every affected step, certainly come from
 * an issue that the issuer states to carry the change? */
static bool in_the_plans(const struct notice *notice, const struct facts *facts)
{
	struct day_range from = {notice->plans_carry.date.first, DAY_LAST};
	enum truth truth;

	if (notice->plans_carry.state != DATE_KNOWN)
		return false;
	truth = date_in_range(&facts->plans, from);
	for (size_t i = 0; i < notice->n_steps; i++)
		truth = truth_and(
		        truth, date_in_range(facts_plans_of_step(facts, &notice->steps[i]), from));
	return truth == TRUTH_TRUE;
}

/* ---- when it is due ---- */

static struct due_kit due_kit_of(const struct notice *notice, const struct kit_state *kit,
                                 day_number today)
{
	return (struct due_kit){.facts = kit->facts,
	                        .use = &kit->use,
	                        .records = kit->records,
	                        .n_records = kit->n_records,
	                        .issued = notice->issued,
	                        .today = today};
}

/* Does it close the line, to this revision or to one that the issuer lets count? */
static bool counts_for(const struct notice *notice, const struct record *record,
                       const struct notice_line *line)
{
	bool counts = closes(record, &notice->revision, line);

	for (size_t i = 0; !counts && i < notice->n_credits; i++)
		counts = closes(record, &notice->credits[i].revision, line);
	return counts;
}

/* The next record in order of date that closes the line; after NULL: the first. */
static const struct record *next_record(const struct notice *notice, struct record_run run,
                                        const struct notice_line *line, const struct record *after)
{
	const struct record *found = NULL;
	bool behind = after == NULL;

	for (size_t i = 0; i < run.count; i++) {
		const struct record *record = run.at[i];

		if (after && record->done.last == after->done.last && !behind) {
			behind = record == after;
			continue;
		}
		if (after && (record->done.last < after->done.last))
			continue;
		if (counts_for(notice, record, line) &&
		    (!found || record->done.last < found->done.last))
			found = record;
	}
	return found;
}

/* Walked through from the first time on, because what was flown over an
 * allowance is taken off the next interval. last closes the line. */
static struct due_time line_due(const struct notice *notice, const struct due_kit *kit,
                                struct record_run run, const struct notice_line *line,
                                const struct record *last)
{
	struct due_time due = due_first(notice->due, kit);
	const struct record *record = NULL;
	struct use_moment done;

	while ((record = next_record(notice, run, line, record)) && record != last) {
		done = due_moment(kit, record);
		due = due_again(notice->due, kit, &done, &due);
	}
	done = due_moment(kit, last);
	return due_again(notice->due, kit, &done, &due);
}

/* What the lines of a notice add up to. */
struct tally {
	unsigned open;
	unsigned recorded;
	const struct record *last;
};

static struct tally tally_lines(const struct notice *notice, const struct kit_state *kit)
{
	struct tally tally = {.open = 0};
	struct record_run run = records_of(kit, &notice->number);

	for (size_t i = 0; i < line_count(notice); i++) {
		const struct record *by;
		enum line_state state =
		        decide_line(notice, line_at(notice, i), run, kit->facts, &by);

		tally.open += state == LINE_OPEN;
		tally.recorded += state == LINE_RECORDED;
		tally.last = later(tally.last, by);
	}
	return tally;
}

static struct due_time due_of_lines(const struct notice *notice, const struct kit_state *kit,
                                    day_number today)
{
	struct due_kit due_kit = due_kit_of(notice, kit, today);
	struct record_run run = records_of(kit, &notice->number);
	struct due_time due = {.state = DUE_NONE};

	for (size_t i = 0; notice->due && i < line_count(notice); i++) {
		const struct notice_line *line = line_at(notice, i);
		const struct record *by;
		enum line_state state = decide_line(notice, line, run, kit->facts, &by);
		struct due_time one = {.state = DUE_NONE};

		if (state == LINE_OPEN)
			one = due_first(notice->due, &due_kit);
		else if (state == LINE_RECORDED)
			one = line_due(notice, &due_kit, run, line, by);
		due_merge(&due, &one);
	}
	return due;
}

static bool is_closed_by_records(const struct notice *notice, const struct kit_state *kit)
{
	struct tally tally = tally_lines(notice, kit);

	return tally.open == 0 && tally.recorded > 0;
}

static const struct catalogue_entry *terminating(const struct catalogue *catalogue,
                                                 const struct catalogue_entry *entry,
                                                 const struct kit_state *kit)
{
	for (uint32_t i = 0; i < entry->n_terminated_by; i++) {
		const struct catalogue_entry *other = &catalogue->entries[entry->terminated_by[i]];

		if (is_closed_by_records(&other->notice, kit))
			return other;
	}
	return NULL;
}

/* The rules from "conforms" on, once the notice is known to apply. */
static void decide_work(const struct catalogue *catalogue, const struct catalogue_entry *entry,
                        const struct kit_state *kit, day_number today, struct standing *out)
{
	struct tally tally = tally_lines(&entry->notice, kit);
	struct record_run run = records_of(kit, &entry->notice.number);

	out->left = tally.open;
	out->last = tally.last;
	out->other = terminating(catalogue, entry, kit);
	if (tally.open == 0 && tally.recorded == 0) {
		out->kind = STANDING_CONFORMS;
	} else if (out->other) {
		out->kind = STANDING_DONE;
		out->terminated = true;
		out->left = 0;
	} else if (tally.open > 0) {
		out->kind = STANDING_OPEN;
		out->due = due_of_lines(&entry->notice, kit, today);
		out->reopened = run.count > tally.recorded;
		for (size_t i = 0; out->reopened && i < run.count; i++)
			out->reopened = !name_same(&run.at[i]->revision, &entry->notice.revision);
	} else {
		if (due_repeats(entry->notice.due))
			out->due = due_of_lines(&entry->notice, kit, today);
		out->kind = out->due.state == DUE_NONE ? STANDING_DONE : STANDING_REPEATING;
	}
	out->overdue = out->due.state == DUE_OVER;
}

struct standing standing_decide(const struct catalogue *catalogue,
                                const struct catalogue_entry *entry, const struct kit_state *kit,
                                day_number today)
{
	const struct notice *notice = &entry->notice;
	struct standing out = {.lines = (unsigned)line_count(notice)};
	enum truth effective = notice->cancelled
	                               ? TRUTH_FALSE
	                               : effectivity_decide(notice->effectivity, kit->facts);

	out.cancelled = notice->cancelled;
	if (effective != TRUTH_TRUE) {
		out.kind = effective == TRUTH_FALSE ? STANDING_NOT_EFFECTIVE : STANDING_ASK;
	} else if (entry->n_superseded_by) {
		out.kind = STANDING_REPLACED;
		out.other = latest_of(catalogue, entry->superseded_by, entry->n_superseded_by);
	} else if (in_the_plans(notice, kit->facts)) {
		out.kind = STANDING_IN_THE_PLANS;
	} else {
		decide_work(catalogue, entry, kit, today, &out);
	}
	return out;
}

bool standing_is_left(const struct standing *standing)
{
	return standing->kind == STANDING_OPEN ||
	       (standing->kind == STANDING_REPEATING && standing->overdue);
}

enum status standing_fill_done(struct arena *arena, const struct catalogue *catalogue,
                               const struct kit_state *kit, struct facts *facts)
{
	struct name *done = ARENA_ARRAY(arena, struct name, kit->n_records);
	size_t count = 0;

	if (!done)
		return ST_NOMEM;
	for (size_t i = 0; i < kit->n_records; i++) {
		const struct name *number = &kit->records[i]->notice;
		const struct catalogue_entry *entry;

		if (i && name_equal(number, &kit->records[i - 1]->notice))
			continue;
		entry = catalogue_find(catalogue, number);
		if (entry && is_closed_by_records(&entry->notice, kit))
			done[count++] = *number;
	}
	facts->notices_done = done;
	facts->n_notices_done = count;
	facts->notices_known = true;
	return ST_OK;
}
