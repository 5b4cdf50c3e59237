#include "core/moment.h"

#include <stdlib.h>
#include <string.h>

#define DAYS_MOST 36500 /* a date further off than a century says nothing */

const char *moment_words(enum moment_kind kind)
{
	static const char *const words[MOMENT_KINDS] = {
	        [MOMENT_FOLD_IN] = "fold in",   [MOMENT_BEFORE] = "before it is closed",
	        [MOMENT_BURIED] = "buried",     [MOMENT_CANNOT_TELL] = "cannot tell when",
	        [MOMENT_ANY_TIME] = "any time",
	};

	return words[kind];
}

/* ---- sets ---- */

static bool is_empty(const struct line *line, const uint64_t *set)
{
	return step_set_next(line, set, 0) == LINE_NO_STEP;
}

static uint32_t size_of(const struct line *line, const uint64_t *set)
{
	uint32_t count = 0;

	for (uint32_t w = 0; w < line->words; w++)
		count += (uint32_t)__builtin_popcountll(set[w]);
	return count;
}

static bool is_within(const struct line *line, const uint64_t *inner, const uint64_t *outer)
{
	for (uint32_t w = 0; w < line->words; w++)
		if (inner[w] & ~outer[w])
			return false;
	return true;
}

static int64_t hours_to_open(const struct line *line, const uint64_t *set)
{
	int64_t hours = 0;

	for (uint32_t s = step_set_next(line, set, 0); s != LINE_NO_STEP;
	     s = step_set_next(line, set, s + 1))
		hours += line_hours_to_open(line, s);
	return hours;
}

/* The member that stands first in the order of building. */
static uint32_t first_in_order(const struct line *line, const uint64_t *set)
{
	uint32_t first = LINE_NO_STEP;

	for (uint32_t s = step_set_next(line, set, 0); s != LINE_NO_STEP;
	     s = step_set_next(line, set, s + 1))
		if (first == LINE_NO_STEP || line->place[s] < line->place[first])
			first = s;
	return first;
}

/* ---- progress ---- */

static void count_done(const struct line *line, struct line_progress *out)
{
	out->here = LINE_NO_STEP;
	for (uint32_t at = 0; at < line->count; at++) {
		uint32_t step = line->order[at];
		int64_t hours = line->steps[step].entry->hours;

		out->hours_all += hours;
		if (step_set_has(out->done, step)) {
			out->steps_done++;
			out->hours_done += hours;
		} else if (out->here == LINE_NO_STEP) {
			out->here = step;
		}
	}
}

/* The line's step and the day, when the i-th date is one that counts. */
static bool dated_step(const struct line *line, const struct facts *facts,
                       const struct line_progress *progress, size_t i, day_number today,
                       uint32_t *step)
{
	const struct step_date *entry = &facts->step_dates[i];

	if (entry->done.state != DATE_KNOWN || entry->done.date.precision != DATE_DAY ||
	    entry->done.date.first > today)
		return false;
	*step = line_find(line, &entry->step);
	return *step != LINE_NO_STEP && step_set_has(progress->done, *step);
}

static void find_pace(const struct line *line, const struct facts *facts, day_number today,
                      struct line_progress *out)
{
	day_number first = DAY_LAST, last = DAY_FIRST;
	int64_t hours = 0;
	uint32_t step;

	for (size_t i = 0; i < facts->n_step_dates; i++) {
		day_number day = facts->step_dates[i].done.date.first;

		if (!dated_step(line, facts, out, i, today, &step))
			continue;
		out->n_dated++;
		first = day < first ? day : first;
		last = day > last ? day : last;
	}
	for (size_t i = 0; i < facts->n_step_dates; i++)
		if (dated_step(line, facts, out, i, today, &step) &&
		    facts->step_dates[i].done.date.first > first)
			hours += line->steps[step].entry->hours;
	out->has_pace = out->n_dated >= PACE_STEPS && hours > 0;
	if (out->has_pace) {
		out->pace_hours = hours;
		out->pace_days = last - first;
	}
}

enum status progress_make(struct arena *arena, const struct line *line, const struct facts *facts,
                          day_number today, struct line_progress *out)
{
	uint64_t *done = step_set_new(arena, line);

	if (!done)
		return ST_NOMEM;
	for (size_t i = 0; i < facts->n_steps_done; i++) {
		uint32_t step = line_find(line, &facts->steps_done[i]);

		if (step != LINE_NO_STEP)
			step_set_add(done, step);
	}
	*out = (struct line_progress){.done = done, .known = facts->steps_known};
	count_done(line, out);
	find_pace(line, facts, today, out);
	return ST_OK;
}

/* The line's own numbers run so that a step's needs come before it. */
static int64_t longest_chain(const struct line *line, const uint64_t *set, int64_t *ends)
{
	int64_t longest = 0;

	for (uint32_t s = step_set_next(line, set, 0); s != LINE_NO_STEP;
	     s = step_set_next(line, set, s + 1)) {
		const struct line_step *step = &line->steps[s];
		int64_t begins = 0;

		for (size_t k = 0; k < step->entry->n_needs; k++)
			if (step_set_has(set, step->needs[k]) && ends[step->needs[k]] > begins)
				begins = ends[step->needs[k]];
		ends[s] = begins + step->entry->hours;
		longest = ends[s] > longest ? ends[s] : longest;
	}
	return longest;
}

static void forecast(const struct line_progress *progress, day_number today, struct work_left *out)
{
	int64_t days;

	if (!progress->has_pace || !progress->known)
		return;
	days = (out->hours * progress->pace_days + progress->pace_hours - 1) / progress->pace_hours;
	out->has_date = days <= DAYS_MOST;
	out->date = out->has_date ? today + (day_number)days : 0;
}

/* Room that the moments of one kit share. */
struct desk {
	struct arena *arena;
	const struct line *line;
	const struct line_progress *progress;
	day_number today;
	uint64_t *set;     /* of steps */
	uint32_t *queue;   /* of steps */
	int64_t *ends;     /* hours at the end of a chain */
	uint64_t *all;     /* every step of the line */
	uint64_t *to_come; /* of these, not done */
};

static void measure_left(const struct desk *desk, uint32_t step, struct work_left *out)
{
	const struct line *line = desk->line;
	const uint64_t *needs = line_row(line, line->needs_all, step);

	*out = (struct work_left){.steps = 0};
	for (uint32_t w = 0; w < line->words; w++)
		desk->set[w] = needs[w] & ~desk->progress->done[w];
	for (uint32_t s = step_set_next(line, desk->set, 0); s != LINE_NO_STEP;
	     s = step_set_next(line, desk->set, s + 1)) {
		out->steps++;
		out->hours += line->steps[s].entry->hours;
	}
	out->path = longest_chain(line, desk->set, desk->ends);
	forecast(desk->progress, desk->today, out);
}

static enum status lay_desk(struct desk *desk)
{
	const struct line *line = desk->line;

	desk->set = step_set_new(desk->arena, line);
	desk->all = step_set_new(desk->arena, line);
	desk->to_come = step_set_new(desk->arena, line);
	desk->queue = ARENA_ARRAY(desk->arena, uint32_t, line->count);
	desk->ends = ARENA_ARRAY(desk->arena, int64_t, line->count);
	if (!desk->set || !desk->all || !desk->to_come || !desk->queue || !desk->ends)
		return ST_NOMEM;
	for (uint32_t s = 0; s < line->count; s++)
		step_set_add(desk->all, s);
	for (uint32_t w = 0; w < line->words; w++)
		desk->to_come[w] = desk->all[w] & ~desk->progress->done[w];
	return ST_OK;
}

enum status progress_left(struct arena *arena, const struct line *line,
                          const struct line_progress *progress, uint32_t step, day_number today,
                          struct work_left *out)
{
	struct desk desk = {.arena = arena, .line = line, .progress = progress, .today = today};
	enum status status = lay_desk(&desk);

	if (status == ST_OK)
		measure_left(&desk, step, out);
	return status;
}

/* ---- openings ---- */

/* Fills set with the steps among `within` that cover one of `from`, or cover
 * one that does, and so on. */
static void find_covers(const struct desk *desk, const uint64_t *from, const uint64_t *within,
                        uint64_t *set)
{
	const struct line *line = desk->line;
	uint32_t queued = 0;

	memset(set, 0, line->words * sizeof *set);
	for (uint32_t s = step_set_next(line, from, 0); s != LINE_NO_STEP;
	     s = step_set_next(line, from, s + 1))
		desk->queue[queued++] = s;
	while (queued) {
		const uint64_t *covers = line_row(line, line->covered_by, desk->queue[--queued]);

		for (uint32_t w = 0; w < line->words; w++) {
			uint64_t fresh = covers[w] & within[w] & ~set[w];

			set[w] |= fresh;
			for (; fresh; fresh &= fresh - 1)
				if (!step_set_has(from, w * 64 + (uint32_t)__builtin_ctzll(fresh)))
					desk->queue[queued++] =
					        w * 64 + (uint32_t)__builtin_ctzll(fresh);
		}
	}
}

/* The first step in order, among those, that covers a member of one of both sets directly. */
static uint32_t first_cover(const struct desk *desk, const uint64_t *a, const uint64_t *b,
                            const uint64_t *among)
{
	const struct line *line = desk->line;

	memset(desk->set, 0, line->words * sizeof *desk->set);
	for (uint32_t s = 0; s < line->count; s++) {
		if (!step_set_has(a, s) && !step_set_has(b, s))
			continue;
		for (uint32_t w = 0; w < line->words; w++)
			desk->set[w] |= line_row(line, line->covered_by, s)[w] & among[w];
	}
	return first_in_order(line, desk->set);
}

/* ---- one notice ---- */

static void find_affected(const struct desk *desk, const struct notice *notice, uint64_t *affected,
                          struct moment *out)
{
	for (size_t i = 0; i < notice->n_steps; i++) {
		uint32_t step = line_find(desk->line, &notice->steps[i]);

		if (step == LINE_NO_STEP)
			out->n_strange++;
		else
			step_set_add(affected, step);
	}
	out->affected = affected;
	out->n_affected = size_of(desk->line, affected);
}

static void decide_buried(const struct desk *desk, struct moment *out)
{
	const struct line_progress *progress = desk->progress;

	out->kind = MOMENT_BURIED;
	out->n_open = size_of(desk->line, out->open);
	out->open_hours = hours_to_open(desk->line, out->open);
	out->at = first_cover(desk, out->affected, out->affected, progress->done);
	out->dearer = first_cover(desk, out->affected, out->open, desk->to_come);
	out->lack = progress->known ? LACK_NOTHING : LACK_PROGRESS;
}

/* Nothing built covers it, and all that is built is known. */
static void decide_ahead(const struct desk *desk, struct moment *out)
{
	const struct line *line = desk->line;
	bool built = false;

	for (uint32_t w = 0; w < line->words; w++) {
		built |= (out->affected[w] & desk->progress->done[w]) != 0;
		desk->set[w] = out->affected[w] & desk->progress->done[w];
	}
	if (!built) {
		out->kind = MOMENT_FOLD_IN;
		out->at = first_in_order(line, out->affected);
	} else {
		out->at = first_cover(desk, out->affected, out->affected, desk->to_come);
		out->kind = out->at == LINE_NO_STEP ? MOMENT_ANY_TIME : MOMENT_BEFORE;
	}
	if (out->kind == MOMENT_ANY_TIME && out->n_strange) {
		out->kind = MOMENT_CANNOT_TELL;
		out->lack = LACK_SOME_STEPS;
	}
	if (out->at != LINE_NO_STEP)
		measure_left(desk, out->at, &out->left);
}

static enum moment_lack what_lacks(const struct desk *desk, const struct notice *notice,
                                   const struct moment *moment)
{
	if (notice->n_steps == 0)
		return LACK_STEPS;
	if (moment->n_affected == 0)
		return LACK_LINE_STEPS;
	return desk->progress->known ? LACK_NOTHING : LACK_PROGRESS;
}

static enum status decide(const struct desk *desk, const struct notice *notice, struct moment *out)
{
	uint64_t *affected = step_set_new(desk->arena, desk->line);
	uint64_t *open = step_set_new(desk->arena, desk->line);

	*out = (struct moment){
	        .kind = MOMENT_CANNOT_TELL, .at = LINE_NO_STEP, .dearer = LINE_NO_STEP};
	if (!affected || !open)
		return ST_NOMEM;
	find_affected(desk, notice, affected, out);
	find_covers(desk, affected, desk->all, open);
	out->n_late = size_of(desk->line, open);
	out->late_hours = hours_to_open(desk->line, open);
	find_covers(desk, affected, desk->progress->done, open);
	out->open = open;
	out->lack = what_lacks(desk, notice, out);
	if (!is_empty(desk->line, open))
		decide_buried(desk, out);
	else if (out->lack == LACK_NOTHING)
		decide_ahead(desk, out);
	return ST_OK;
}

/* ---- the plan ---- */

/* Fold in and before stand in one row, by their step's place. */
static int64_t weight_in_kind(const struct line *line, const struct moment *moment)
{
	if (moment->kind == MOMENT_BURIED)
		return moment->open_hours;
	return moment->at == LINE_NO_STEP ? 0 : line->place[moment->at];
}

static enum moment_kind row_of(const struct moment *moment)
{
	return moment->kind == MOMENT_FOLD_IN ? MOMENT_BEFORE : moment->kind;
}

static int by_moment(const void *a, const void *b, void *context)
{
	const struct plan *plan = context;
	uint32_t i = *(const uint32_t *)a, k = *(const uint32_t *)b;
	const struct moment *x = &plan->moments[i], *y = &plan->moments[k];
	int64_t v = weight_in_kind(plan->line, x), w = weight_in_kind(plan->line, y);

	if (row_of(x) != row_of(y))
		return row_of(x) < row_of(y) ? -1 : 1;
	if (v != w)
		return v < w ? -1 : 1;
	return (i > k) - (i < k);
}

static enum status decide_all(const struct desk *desk, const struct notice *const *notices,
                              struct plan *plan)
{
	struct moment *moments = ARENA_ARRAY(desk->arena, struct moment, plan->count);
	uint32_t *order = ARENA_ARRAY(desk->arena, uint32_t, plan->count);
	enum status status = moments && order ? ST_OK : ST_NOMEM;

	for (uint32_t i = 0; status == ST_OK && i < plan->count; i++) {
		status = decide(desk, notices[i], &moments[i]);
		order[i] = i;
	}
	if (status != ST_OK)
		return status;
	plan->moments = moments;
	qsort_r(order, plan->count, sizeof *order, by_moment, plan);
	plan->order = order;
	return ST_OK;
}

enum status plan_make(struct arena *arena, const struct line *line, const struct facts *facts,
                      const struct notice *const *notices, size_t count, day_number today,
                      struct plan *out)
{
	struct plan plan = {.line = line, .count = count};
	struct desk desk = {
	        .arena = arena, .line = line, .progress = &plan.progress, .today = today};
	enum status status = progress_make(arena, line, facts, today, &plan.progress);

	if (status == ST_OK)
		status = lay_desk(&desk);
	if (status == ST_OK)
		status = decide_all(&desk, notices, &plan);
	if (status == ST_OK)
		*out = plan;
	return status;
}

bool plan_serves(const struct plan *plan, size_t one, size_t other)
{
	const struct moment *a = &plan->moments[one], *b = &plan->moments[other];

	if (one == other || a->kind != b->kind)
		return false;
	if (a->kind == MOMENT_BURIED)
		return is_within(plan->line, b->open, a->open);
	return a->kind == MOMENT_BEFORE && a->at == b->at;
}

enum status plan_joint(struct arena *arena, const struct plan *plan, const size_t *chosen,
                       size_t count, struct joint_cost *out)
{
	uint64_t *open = step_set_new(arena, plan->line);
	struct joint_cost cost = {.open = open};

	if (!open)
		return ST_NOMEM;
	for (size_t i = 0; i < count; i++) {
		const struct moment *moment = &plan->moments[chosen[i]];

		for (uint32_t w = 0; w < plan->line->words; w++)
			open[w] |= moment->open[w];
		cost.sum += moment->open_hours;
		cost.buried += moment->kind == MOMENT_BURIED;
		cost.unsure += moment->kind == MOMENT_CANNOT_TELL;
	}
	cost.n_open = size_of(plan->line, open);
	cost.hours = hours_to_open(plan->line, open);
	*out = cost;
	return ST_OK;
}
