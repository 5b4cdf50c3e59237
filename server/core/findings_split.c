/* The split that separates found from not there best.
 *
 * Each looked-at kit is a point, or for a partial date or several parts an
 * interval, on axes: serial numbers of one shape, purchase date, plans issue,
 * lots of one part. Along an axis one walk in the order of the last values
 * makes a table of every cut from running counts. An option is an axis of two
 * places and needs no order. A bad issue of the plans may lie between good ones,
 * where no single cut finds it: a second walk tries each issue by itself.
 *
 * Probabilities are compared as logarithms, so that none is lost to underflow.
 * The p of a table is a sum that holds the table's own probability: a cut whose
 * own probability is greater than the best p so far is left without the sum.
 */
#include "core/findings.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdlib.h>

#define TOLERANCE 1e-7 /* of equal probabilities, relative */

/* ---- Fisher's test ---- */

/* All tables with the margins of one; a table is named by its first cell. */
struct margins {
	size_t row, column, all;  /* of the first cell; everything */
	const double *factorials; /* logarithms of 0! to all!; NULL: computed each time */
	double fixed;             /* what all tables have in common */
};

static double log_of(const struct margins *m, size_t n)
{
	return m->factorials ? m->factorials[n] : log_factorial(n);
}

static struct margins margins_of(size_t a, size_t b, size_t c, size_t d, const double *factorials)
{
	struct margins m = {a + b, a + c, a + b + c + d, factorials, 0};

	m.fixed = log_of(&m, m.row) + log_of(&m, m.all - m.row) + log_of(&m, m.column) +
	          log_of(&m, m.all - m.column) - log_of(&m, m.all);
	return m;
}

/* The last cell of the table whose first cell is x. */
static size_t last_cell(const struct margins *m, size_t x)
{
	return m->all + x - m->row - m->column;
}

static double log_probability(const struct margins *m, size_t x)
{
	return m->fixed - log_of(m, x) - log_of(m, m->row - x) - log_of(m, m->column - x) -
	       log_of(m, last_cell(m, x));
}

/* Adds the probabilities of x and of all below to a sum, in parts of exp(unit);
 * stops where the rest is nothing, or the sum is more than enough. */
static double add_below(const struct margins *m, size_t x, double unit, double sum, double enough)
{
	double term = exp(log_probability(m, x) - unit);

	for (sum += term; x > 0 && last_cell(m, x) > 0; x--) {
		term *= (double)x * (double)last_cell(m, x) /
		        ((double)(m->row - x + 1) * (double)(m->column - x + 1));
		sum += term;
		if (term < sum * DBL_EPSILON / 8 || sum > enough)
			break;
	}
	return sum;
}

static double add_above(const struct margins *m, size_t x, double unit, double sum, double enough)
{
	double term = exp(log_probability(m, x) - unit);

	for (sum += term; x < m->row && x < m->column; x++) {
		term *= (double)(m->row - x) * (double)(m->column - x) /
		        ((double)(x + 1) * (double)(last_cell(m, x) + 1));
		sum += term;
		if (term < sum * DBL_EPSILON / 8 || sum > enough)
			break;
	}
	return sum;
}

/* How many of the tables from `from` on, going away from the most probable one
 * up or down, are more probable than the limit: `count` are there, and
 * probability falls. */
static size_t skip_probable(const struct margins *m, size_t from, bool up, size_t count,
                            double limit)
{
	size_t low = 0, high = count;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (log_probability(m, up ? from + middle : from - middle) > limit)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

static size_t mode_of(const struct margins *m, size_t least, size_t most)
{
	double mode = (double)(m->row + 1) * (double)(m->column + 1) / (double)(m->all + 2);

	return mode < (double)least ? least : mode > (double)most ? most : (size_t)mode;
}

/* The logarithm of the two-sided p of the table x, whose own probability has the
 * logarithm `own`; anything greater than `most_log` when p is. */
static double log_two_sided(const struct margins *m, size_t x, double own, double most_log)
{
	size_t least = m->row + m->column > m->all ? m->row + m->column - m->all : 0;
	size_t most = m->row < m->column ? m->row : m->column;
	size_t mode = mode_of(m, least, most), skipped;
	double limit = own + TOLERANCE, enough = exp(most_log - own);
	double sum = (x <= mode ? add_below : add_above)(m, x, own, 0, enough);

	if (sum > enough) /* the tail of x alone */
		return own + log(sum);
	sum = 0;
	skipped = skip_probable(m, mode, false, mode - least + 1, limit);
	if (skipped <= mode - least)
		sum = add_below(m, mode - skipped, own, sum, enough);
	skipped = skip_probable(m, mode + 1, true, most - mode, limit);
	if (skipped < most - mode)
		sum = add_above(m, mode + 1 + skipped, own, sum, enough);
	return fmin(own + log(sum), 0);
}

double fisher_two_sided(size_t a, size_t b, size_t c, size_t d)
{
	struct margins m = margins_of(a, b, c, d, NULL);

	return fmax(exp(log_two_sided(&m, a, log_probability(&m, a), TOLERANCE)), DBL_MIN);
}

/* ---- axes ---- */

struct counts {
	size_t found, looked;
};

/* One value of one kit. Serials of further counters are told apart by `serial`
 * when their keys are equal. */
struct point {
	uint64_t key;                /* days since DAY_FIRST, or first counter */
	const struct serial *serial; /* NULL: a day */
	bool found;
	bool further;                  /* has the serial further counters? */
	enum date_precision precision; /* of the day's date */
};

/* What one kit says on one axis. */
struct entry {
	struct point first, last;
	struct entry *next;
	bool unclear; /* a part of that number has no lot */
};

/* Values that are in one order. Axes of one bucket are chained. */
struct axis {
	enum split_kind kind;
	struct name about;
	struct name shape; /* of serial numbers; else empty */
	struct axis *next;
	const struct finding *newest; /* the kit that said something last */
	struct entry *entries;        /* the newest first */
	struct counts with, without;  /* of an option */
};

struct hunt {
	struct arena *arena;
	struct axis **buckets;
	size_t n_buckets; /* a power of two */
	size_t n_axes;
	struct entry *free_entries;
	size_t n_free;
	size_t looked;
	const double *factorials;
	struct split *best;
	double best_log; /* of its p; 0 before the first */
	size_t tried;
};

static bool is_look(const struct finding *finding)
{
	return finding->answer != ANSWER_DOES_NOT_FIT;
}

static size_t bucket_of(const struct hunt *hunt, enum split_kind kind, uint32_t hash)
{
	return (hash * 2654435761U + kind) & (hunt->n_buckets - 1); /* Knuth's multiplier */
}

/* Serial numbers of many shapes have many buckets; the lots of one part have one. */
static struct axis **bucket_for(const struct hunt *hunt, enum split_kind kind,
                                const struct name *about, const struct name *shape)
{
	return &hunt->buckets[bucket_of(hunt, kind,
	                                kind == SPLIT_SERIAL ? shape->hash : about->hash)];
}

static const struct name no_name = {.text = ""};

/* The axis, made where there is none; NULL when memory ran out. */
static struct axis *axis_of(struct hunt *hunt, enum split_kind kind, const struct name *about,
                            const struct name *shape)
{
	struct axis **bucket = bucket_for(hunt, kind, about, shape), *axis = *bucket;

	while (axis && !(axis->kind == kind && name_same(&axis->about, about) &&
	                 name_same(&axis->shape, shape)))
		axis = axis->next;
	if (axis)
		return axis;
	axis = ARENA_NEW(hunt->arena, struct axis);
	if (!axis)
		return NULL;
	*axis = (struct axis){.kind = kind, .about = *about, .shape = *shape, .next = *bucket};
	*bucket = axis;
	hunt->n_axes++;
	return axis;
}

static int compare_points(const struct point *a, const struct point *b)
{
	if (a->key != b->key)
		return a->key < b->key ? -1 : 1;
	return a->further ? serial_compare(a->serial, b->serial) : 0;
}

#define ENTRY_BLOCK 64 /* made at once */

static struct entry *take_entry(struct hunt *hunt)
{
	if (hunt->n_free == 0) {
		hunt->free_entries = ARENA_ARRAY(hunt->arena, struct entry, ENTRY_BLOCK);
		hunt->n_free = hunt->free_entries ? ENTRY_BLOCK : 0;
	}
	return hunt->n_free ? &hunt->free_entries[--hunt->n_free] : NULL;
}

/* A kit that says something again on one axis has several such parts. */
static void widen(struct entry *entry, struct point point)
{
	if (compare_points(&point, &entry->first) < 0)
		entry->first = point;
	if (compare_points(&point, &entry->last) > 0)
		entry->last = point;
}

static bool add_interval(struct hunt *hunt, struct axis *axis, const struct finding *finding,
                         struct point first, struct point last)
{
	struct entry *entry = take_entry(hunt);

	if (!entry)
		return false;
	*entry = (struct entry){.first = first, .last = last, .next = axis->entries};
	axis->entries = entry;
	axis->newest = finding;
	return true;
}

static bool add_serial(struct hunt *hunt, enum split_kind kind, const struct name *about,
                       const struct serial *serial, const struct finding *finding)
{
	struct axis *axis = axis_of(hunt, kind, about, &serial->shape);
	struct point point = {serial->counter[0], serial, finding->answer == ANSWER_FOUND,
	                      serial->counters > 1};

	if (!axis)
		return false;
	if (axis->newest != finding)
		return add_interval(hunt, axis, finding, point, point);
	widen(axis->entries, point);
	return true;
}

static struct point day_point(day_number day, enum date_precision precision,
                              const struct finding *finding)
{
	return (struct point){.key = (uint64_t)((int64_t)day - DAY_FIRST),
	                      .found = finding->answer == ANSWER_FOUND,
	                      .precision = precision};
}

static day_number day_of(uint64_t key)
{
	return (day_number)((int64_t)key + DAY_FIRST);
}

static bool add_date(struct hunt *hunt, enum split_kind kind, const struct date_fact *date,
                     const struct finding *finding)
{
	struct axis *axis;

	if (date->state != DATE_KNOWN)
		return true;
	axis = axis_of(hunt, kind, &no_name, &no_name);
	return axis && add_interval(hunt, axis, finding,
	                            day_point(date->date.first, date->date.precision, finding),
	                            day_point(date->date.last, date->date.precision, finding));
}

static bool add_option(struct hunt *hunt, const struct option_fact *option,
                       const struct finding *finding)
{
	struct axis *axis = axis_of(hunt, SPLIT_OPTION, &option->name, &no_name);
	struct counts *side;

	if (!axis || axis->newest == finding)
		return axis;
	side = option->fitted ? &axis->with : &axis->without;
	side->looked++;
	side->found += finding->answer == ANSWER_FOUND;
	axis->newest = finding;
	return true;
}

/* A part whose lot is not known makes the kit's other lots of that part say nothing. */
static void blur_lots(struct hunt *hunt, const struct name *number, const struct finding *finding)
{
	struct axis *axis = *bucket_for(hunt, SPLIT_LOT, number, &no_name);

	for (; axis; axis = axis->next)
		if (axis->kind == SPLIT_LOT && axis->newest == finding &&
		    name_equal(&axis->about, number))
			axis->entries->unclear = true;
}

static bool add_lots(struct hunt *hunt, const struct facts *facts, const struct finding *finding)
{
	bool fine = true;

	for (size_t i = 0; fine && i < facts->n_parts; i++) {
		const struct part_fact *part = &facts->parts[i];

		if (part->has_lot && !name_is_empty(&part->number))
			fine = add_serial(hunt, SPLIT_LOT, &part->number, &part->lot, finding);
	}
	for (size_t i = 0; i < facts->n_parts; i++)
		if (!facts->parts[i].has_lot)
			blur_lots(hunt, &facts->parts[i].number, finding);
	return fine;
}

static bool add_facts(struct hunt *hunt, const struct finding *finding)
{
	const struct facts *facts = finding->facts;
	bool fine = true;

	if (facts->has_serial)
		fine = add_serial(hunt, SPLIT_SERIAL, &no_name, &facts->serial, finding);
	fine = fine && add_date(hunt, SPLIT_PURCHASED, &facts->purchased, finding) &&
	       add_date(hunt, SPLIT_PLANS, &facts->plans, finding);
	for (size_t i = 0; fine && i < facts->n_options; i++)
		fine = add_option(hunt, &facts->options[i], finding);
	return fine && add_lots(hunt, facts, finding);
}

/* ---- cuts ---- */

/* Is it to replace the best so far? */
static bool is_better(const struct hunt *hunt, double log_p, size_t left_out)
{
	if (hunt->tried == 1 || log_p < hunt->best_log - TOLERANCE)
		return true;
	return log_p <= hunt->best_log + TOLERANCE && left_out < hunt->best->left_out;
}

static struct split split_of(const struct hunt *hunt, const struct axis *axis, struct counts inside,
                             struct counts outside)
{
	return (struct split){
	        .kind = axis->kind,
	        .about = axis->about,
	        .inside_found = inside.found,
	        .inside_looked = inside.looked,
	        .outside_found = outside.found,
	        .outside_looked = outside.looked,
	        .left_out = hunt->looked - inside.looked - outside.looked,
	        .cluster_inside = (double)inside.found * (double)outside.looked >=
	                          (double)outside.found * (double)inside.looked,
	};
}

/* Tries one cut; true when it is the best so far. Then the caller fills in
 * where it is. */
static bool try_cut(struct hunt *hunt, const struct axis *axis, struct counts inside,
                    struct counts outside)
{
	struct margins m = margins_of(inside.found, inside.looked - inside.found, outside.found,
	                              outside.looked - outside.found, hunt->factorials);
	double own = log_probability(&m, inside.found), log_p;

	hunt->tried++;
	if (own > hunt->best_log + TOLERANCE)
		return false;
	log_p = log_two_sided(&m, inside.found, own, hunt->best_log + TOLERANCE);
	if (!is_better(hunt, log_p, hunt->looked - m.all))
		return false;
	hunt->best_log = log_p;
	*hunt->best = split_of(hunt, axis, inside, outside);
	return true;
}

static void add_point(struct counts *counts, const struct point *point)
{
	counts->looked++;
	counts->found += point->found;
}

static void note_place(struct split *split, const struct point *last, const struct point *next)
{
	if (last->serial) {
		split->last = *last->serial;
		split->next = *next->serial;
	} else {
		split->last_day = day_of(last->key);
		split->next_day = day_of(next->key);
	}
}

/* The points by their last and by their first values, both in order. */
static void try_cuts(struct hunt *hunt, const struct axis *axis, const struct point *firsts,
                     const struct point *lasts, size_t n)
{
	struct counts inside = {0, 0}, outside = {0, n};
	size_t begun = 0;

	for (size_t i = 0; i < n; i++)
		outside.found += firsts[i].found;
	for (size_t i = 0; i < n; i++) {
		add_point(&inside, &lasts[i]);
		if (i + 1 < n && compare_points(&lasts[i], &lasts[i + 1]) == 0)
			continue;
		for (; begun < n && compare_points(&firsts[begun], &lasts[i]) <= 0; begun++) {
			outside.looked--;
			outside.found -= firsts[begun].found;
		}
		if (begun == n)
			break;
		if (try_cut(hunt, axis, inside, outside))
			note_place(hunt->best, &lasts[i], &firsts[begun]);
	}
}

/* ---- putting points in order ---- */

/* Digit by digit from the least, each pass keeping the order of the one before
 * (Knuth, The Art of Computer Programming 3, 5.2.5, from memory). Numbers that
 * lie close together have few digits that differ. */
struct sorter {
	struct point *points, *spare; /* change places with each pass */
	size_t n;
};

static uint64_t value_of(const struct point *point, unsigned counter)
{
	return counter ? point->serial->counter[counter] : point->key;
}

static void sort_by_digit(struct sorter *s, unsigned counter, unsigned shift)
{
	size_t from[256] = {0}, before = 0;
	struct point *held = s->points;

	for (size_t i = 0; i < s->n; i++)
		from[value_of(&s->points[i], counter) >> shift & 255]++;
	for (unsigned digit = 0; digit < 256; digit++) {
		size_t count = from[digit];

		from[digit] = before;
		before += count;
	}
	for (size_t i = 0; i < s->n; i++)
		s->spare[from[value_of(&s->points[i], counter) >> shift & 255]++] = s->points[i];
	s->points = s->spare;
	s->spare = held;
}

static void sort_points(struct sorter *s)
{
	unsigned counters = s->n && s->points[0].serial ? s->points[0].serial->counters : 1;

	while (counters-- > 0) {
		uint64_t differ = 0;

		for (size_t i = 1; i < s->n; i++)
			differ |= value_of(&s->points[i], counters) ^ value_of(s->points, counters);
		for (unsigned shift = 0; shift < 64 && differ >> shift; shift += 8)
			if (differ >> shift & 255)
				sort_by_digit(s, counters, shift);
	}
}

/* ---- axes in their order ---- */

/* Room for the points of the longest axis, used again for each. */
struct room {
	struct sorter firsts, lasts;
};

static bool make_sorter(struct arena *arena, struct sorter *sorter, size_t most)
{
	sorter->points = ARENA_ARRAY(arena, struct point, most);
	sorter->spare = ARENA_ARRAY(arena, struct point, most);
	return sorter->points && sorter->spare;
}

/* The first or the last values of an axis, in order; true when they differ anywhere. */
static bool gather(const struct axis *axis, bool last, struct sorter *sorter)
{
	bool differ = false;

	sorter->n = 0;
	for (const struct entry *entry = axis->entries; entry; entry = entry->next) {
		if (entry->unclear)
			continue;
		differ = differ || compare_points(&entry->first, &entry->last) != 0;
		sorter->points[sorter->n++] = last ? entry->last : entry->first;
	}
	sort_points(sorter);
	return differ;
}

static void try_axis(struct hunt *hunt, const struct axis *axis, struct room *room)
{
	const struct point *firsts;

	if (gather(axis, true, &room->lasts)) {
		gather(axis, false, &room->firsts);
		firsts = room->firsts.points;
	} else {
		firsts = room->lasts.points;
	}
	try_cuts(hunt, axis, firsts, room->lasts.points, room->lasts.n);
}

/* ---- each issue by itself ---- */

/* Issues as points in the order of their first days, of one first day the longer
 * before the shorter: dates of the calendar are nested or apart, so that an issue
 * stands right before those that lie in it. */
struct issues {
	const struct point *points;
	size_t n, at;
	struct counts passed, all;
};

static uint64_t issue_key(const struct entry *entry)
{
	return entry->first.key << 32 | (UINT32_MAX - entry->last.key);
}

static struct date issue_of(const struct point *point)
{
	return (struct date){day_of(point->key >> 32), day_of(UINT32_MAX - (uint32_t)point->key),
	                     point->precision};
}

static void gather_issues(const struct axis *axis, struct sorter *sorter)
{
	sorter->n = 0;
	for (const struct entry *entry = axis->entries; entry; entry = entry->next) {
		sorter->points[sorter->n] = entry->first;
		sorter->points[sorter->n++].key = issue_key(entry);
	}
	sort_points(sorter);
}

static struct counts plus(struct counts a, struct counts b)
{
	return (struct counts){a.found + b.found, a.looked + b.looked};
}

static struct counts minus(struct counts a, struct counts b)
{
	return (struct counts){a.found - b.found, a.looked - b.looked};
}

static void note_issue(struct split *split, struct date issue)
{
	split->kind = SPLIT_ISSUE;
	split->issue = issue;
}

/* Passes the next issue and those that lie in it, as deep as precisions go, and
 * tries them. around: kits whose issue is longer and holds this one. */
static void try_issue(struct hunt *hunt, const struct axis *axis, struct issues *issues,
                      struct counts around)
{
	const struct point *point = &issues->points[issues->at];
	struct date issue = issue_of(point);
	struct counts begun = issues->passed, longer, before, behind;

	for (; issues->at < issues->n && issues->points[issues->at].key == point->key; issues->at++)
		add_point(&issues->passed, &issues->points[issues->at]);
	longer = plus(around, minus(issues->passed, begun));
	while (issues->at < issues->n && issue_of(&issues->points[issues->at]).first <= issue.last)
		try_issue(hunt, axis, issues, longer);
	before = minus(begun, around);
	behind = minus(issues->all, issues->passed);
	if (before.looked && behind.looked &&
	    try_cut(hunt, axis, minus(issues->passed, begun), plus(before, behind)))
		note_issue(hunt->best, issue);
}

static void try_issues(struct hunt *hunt, const struct axis *axis, struct sorter *sorter)
{
	struct issues issues = {.at = 0};

	gather_issues(axis, sorter);
	issues.points = sorter->points;
	issues.n = sorter->n;
	for (size_t i = 0; i < issues.n; i++)
		add_point(&issues.all, &issues.points[i]);
	while (issues.at < issues.n)
		try_issue(hunt, axis, &issues, (struct counts){0, 0});
}

/* ---- all axes ---- */

static int compare_axes(const void *a, const void *b)
{
	const struct axis *x = *(struct axis *const *)a, *y = *(struct axis *const *)b;
	int order = x->kind < y->kind ? -1 : x->kind > y->kind;

	order = order ? order : name_compare(&x->about, &y->about);
	return order ? order : name_compare(&x->shape, &y->shape);
}

/* Of options the two sides are counted already. */
static void try_option(struct hunt *hunt, const struct axis *axis)
{
	if (axis->with.looked && axis->without.looked)
		try_cut(hunt, axis, axis->with, axis->without);
}

/* In their order, so that which of equal splits is taken does not hang on the
 * order of the findings. */
static bool try_axes(struct hunt *hunt)
{
	struct axis **axes = ARENA_ARRAY(hunt->arena, struct axis *, hunt->n_axes);
	struct room room;
	size_t n = 0;

	if (!axes || !make_sorter(hunt->arena, &room.firsts, hunt->looked) ||
	    !make_sorter(hunt->arena, &room.lasts, hunt->looked))
		return false;
	for (size_t i = 0; i < hunt->n_buckets; i++)
		for (struct axis *axis = hunt->buckets[i]; axis; axis = axis->next)
			axes[n++] = axis;
	qsort(axes, n, sizeof(struct axis *), compare_axes);
	for (size_t i = 0; i < n; i++) {
		if (axes[i]->kind == SPLIT_OPTION)
			try_option(hunt, axes[i]);
		else
			try_axis(hunt, axes[i], &room);
		if (axes[i]->kind == SPLIT_PLANS)
			try_issues(hunt, axes[i], &room.firsts);
	}
	return true;
}

/* ---- the hunt ---- */

static bool make_factorials(struct hunt *hunt)
{
	double *logs = ARENA_ARRAY(hunt->arena, double, hunt->looked + 1);

	for (size_t i = 0; logs && i <= hunt->looked; i++)
		logs[i] = log_factorial(i);
	hunt->factorials = logs;
	return logs;
}

/* A bucket for each name that the facts could hold, or a quarter of that: most
 * kits name the same. */
static bool make_buckets(struct hunt *hunt, const struct finding *findings, size_t n)
{
	size_t names = 0;

	for (size_t i = 0; i < n; i++)
		if (findings[i].facts)
			names += 1 + findings[i].facts->n_options + findings[i].facts->n_parts;
	hunt->n_buckets = 16;
	while (hunt->n_buckets < names / 4)
		hunt->n_buckets *= 2;
	hunt->buckets = ARENA_ARRAY(hunt->arena, struct axis *, hunt->n_buckets);
	return hunt->buckets;
}

static bool hunt_all(struct hunt *hunt, const struct finding *findings, size_t n)
{
	bool fine = make_buckets(hunt, findings, n) && make_factorials(hunt);

	for (size_t i = 0; fine && i < n; i++)
		if (is_look(&findings[i]) && findings[i].facts)
			fine = add_facts(hunt, &findings[i]);
	return fine && try_axes(hunt);
}

enum status findings_split(struct arena *arena, const struct finding *findings, size_t n,
                           struct split *out, bool *any)
{
	struct split best;
	struct hunt hunt = {.arena = arena, .best = &best};

	for (size_t i = 0; i < n; i++)
		hunt.looked += is_look(&findings[i]);
	if (hunt.looked >= SPLIT_LEAST_LOOKED && !hunt_all(&hunt, findings, n))
		return ST_NOMEM;
	*any = hunt.tried > 0;
	if (!*any)
		return ST_OK;
	best.p = fmax(exp(hunt.best_log), DBL_MIN);
	best.tried = hunt.tried;
	best.corrected = fmin(1, best.p * (double)best.tried);
	*out = best;
	return ST_OK;
}
