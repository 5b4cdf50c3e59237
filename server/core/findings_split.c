/* The split that separates found from not there best.
 *
 * Each looked-at kit is a point, or for a partial date or several parts an
 * interval, on axes: serial numbers of one shape, purchase date, plans issue,
 * lots of one part. Along an axis one walk in the order of the last values
 * makes a table of every cut from running counts. An option is an axis of two
 * places and needs no order.
 *
 * Probabilities are compared as logarithms, so that none is lost to underflow.
 * The p of a table is a sum that holds the table's own probability: a cut whose
 * own probability is greater than the best p so far is left without the sum.
 */
#include "core/findings.h"

#include <assert.h>
#include <float.h>
#include <limits.h>
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_sf_gamma.h>

#define TOLERANCE 1e-7 /* of equal probabilities, relative */

/* ---- Fisher's test ---- */

/* All tables with the margins of one; a table is named by its first cell. */
struct margins {
	size_t row, column, all;  /* of the first cell; everything */
	const double *factorials; /* logarithms of 0! to all!; NULL: computed each time */
	double fixed;             /* what all tables have in common */
};

static double log_factorial(const struct margins *m, size_t n)
{
	return m->factorials ? m->factorials[n] : gsl_sf_lnfact((unsigned)n);
}

static struct margins margins_of(size_t a, size_t b, size_t c, size_t d, const double *factorials)
{
	struct margins m = {a + b, a + c, a + b + c + d, factorials, 0};

	m.fixed = log_factorial(&m, m.row) + log_factorial(&m, m.all - m.row) +
	          log_factorial(&m, m.column) + log_factorial(&m, m.all - m.column) -
	          log_factorial(&m, m.all);
	return m;
}

/* The last cell of the table whose first cell is x. */
static size_t last_cell(const struct margins *m, size_t x)
{
	return m->all + x - m->row - m->column;
}

static double log_probability(const struct margins *m, size_t x)
{
	return m->fixed - log_factorial(m, x) - log_factorial(m, m->row - x) -
	       log_factorial(m, m->column - x) - log_factorial(m, last_cell(m, x));
}

/* The sum of the probabilities of x and of all below, as parts of exp(unit). */
static double sum_below(const struct margins *m, size_t x, double unit)
{
	double term = exp(log_probability(m, x) - unit), sum = term;

	for (; x > 0 && last_cell(m, x) > 0 && term > sum * DBL_EPSILON / 8; x--) {
		term *= (double)x / (double)(m->row - x + 1);
		term *= (double)last_cell(m, x) / (double)(m->column - x + 1);
		sum += term;
	}
	return sum;
}

static double sum_above(const struct margins *m, size_t x, double unit)
{
	double term = exp(log_probability(m, x) - unit), sum = term;

	for (; x < m->row && x < m->column && term > sum * DBL_EPSILON / 8; x++) {
		term *= (double)(m->row - x) / (double)(x + 1);
		term *= (double)(m->column - x) / (double)(last_cell(m, x) + 1);
		sum += term;
	}
	return sum;
}

/* How many of the tables from `from` on, going away from the most probable one
 * by `step`, are more probable than the limit: `count` are there, and
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

/* The logarithm of the two-sided p, from that of the table's own probability. */
static double log_two_sided(const struct margins *m, double own)
{
	size_t least = m->row + m->column > m->all ? m->row + m->column - m->all : 0;
	size_t most = m->row < m->column ? m->row : m->column;
	size_t mode =
	        (size_t)((double)(m->row + 1) * (double)(m->column + 1) / (double)(m->all + 2));
	double limit = own + TOLERANCE, sum = 0;
	size_t skipped;

	mode = mode < least ? least : mode > most ? most : mode;
	skipped = skip_probable(m, mode, false, mode - least + 1, limit);
	if (skipped <= mode - least)
		sum += sum_below(m, mode - skipped, own);
	skipped = skip_probable(m, mode + 1, true, most - mode, limit);
	if (skipped < most - mode)
		sum += sum_above(m, mode + 1 + skipped, own);
	return fmin(own + log(sum), 0);
}

double fisher_two_sided(size_t a, size_t b, size_t c, size_t d)
{
	struct margins m = margins_of(a, b, c, d, NULL);

	assert(m.all <= UINT_MAX);
	return fmax(exp(log_two_sided(&m, log_probability(&m, a))), DBL_MIN);
}

/* ---- axes ---- */

struct counts {
	size_t found, looked;
};

/* One value of one kit. Serials of further counters are told apart by `serial`
 * when their keys are equal. */
struct point {
	int64_t key;                 /* day, or first counter */
	const struct serial *serial; /* NULL: a day */
	bool found;
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
	size_t count;
	struct counts with, without; /* of an option */
};

struct hunt {
	struct arena *arena;
	struct axis **buckets;
	size_t n_buckets; /* a power of two */
	size_t n_axes;
	struct entry *free_entries;
	size_t looked;
	const double *factorials;
	struct split *best;
	double best_log; /* of its p */
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
	return a->serial ? serial_compare(a->serial, b->serial) : 0;
}

/* A kit that says something again on one axis has several such parts. */
static void add_interval(struct hunt *hunt, struct axis *axis, const struct finding *finding,
                         struct point first, struct point last)
{
	struct entry *entry = axis->entries;

	if (axis->newest == finding) {
		if (compare_points(&first, &entry->first) < 0)
			entry->first = first;
		if (compare_points(&last, &entry->last) > 0)
			entry->last = last;
		return;
	}
	entry = hunt->free_entries++;
	*entry = (struct entry){.first = first, .last = last, .next = axis->entries};
	axis->entries = entry;
	axis->newest = finding;
	axis->count++;
}

static bool add_serial(struct hunt *hunt, enum split_kind kind, const struct name *about,
                       const struct serial *serial, const struct finding *finding)
{
	struct axis *axis = axis_of(hunt, kind, about, &serial->shape);
	struct point point = {(int64_t)serial->counter[0], serial, finding->answer == ANSWER_FOUND};

	if (axis)
		add_interval(hunt, axis, finding, point, point);
	return axis;
}

static bool add_date(struct hunt *hunt, enum split_kind kind, const struct date_fact *date,
                     const struct finding *finding)
{
	bool found = finding->answer == ANSWER_FOUND;
	struct axis *axis;

	if (date->state != DATE_KNOWN)
		return true;
	axis = axis_of(hunt, kind, &no_name, &no_name);
	if (axis)
		add_interval(hunt, axis, finding, (struct point){date->date.first, NULL, found},
		             (struct point){date->date.last, NULL, found});
	return axis;
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

/* How much better than the best so far: greater than 0 when it is to replace it. */
static bool is_better(const struct hunt *hunt, double log_p, size_t left_out)
{
	if (hunt->tried == 1)
		return true;
	if (log_p < hunt->best_log - TOLERANCE)
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
	if (hunt->tried > 1 && own > hunt->best_log + TOLERANCE)
		return false;
	log_p = log_two_sided(&m, own);
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
		split->last_day = (day_number)last->key;
		split->next_day = (day_number)next->key;
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

static int compare_void_points(const void *a, const void *b)
{
	return compare_points(a, b);
}

static bool try_axis(struct hunt *hunt, const struct axis *axis)
{
	struct point *firsts = ARENA_ARRAY(hunt->arena, struct point, axis->count);
	struct point *lasts = ARENA_ARRAY(hunt->arena, struct point, axis->count);
	size_t n = 0;

	if (!firsts || !lasts)
		return false;
	for (const struct entry *entry = axis->entries; entry; entry = entry->next)
		if (!entry->unclear) {
			firsts[n] = entry->first;
			lasts[n++] = entry->last;
		}
	qsort(firsts, n, sizeof *firsts, compare_void_points);
	qsort(lasts, n, sizeof *lasts, compare_void_points);
	try_cuts(hunt, axis, firsts, lasts, n);
	return true;
}

static int compare_axes(const void *a, const void *b)
{
	const struct axis *x = *(struct axis *const *)a, *y = *(struct axis *const *)b;
	int order = x->kind < y->kind ? -1 : x->kind > y->kind;

	order = order ? order : name_compare(&x->about, &y->about);
	return order ? order : name_compare(&x->shape, &y->shape);
}

/* In their order, so that which of equal splits is taken does not hang on the
 * order of the findings. */
static bool try_axes(struct hunt *hunt)
{
	struct axis **axes = ARENA_ARRAY(hunt->arena, struct axis *, hunt->n_axes);
	size_t n = 0;
	bool fine = axes;

	for (size_t i = 0; fine && i < hunt->n_buckets; i++)
		for (struct axis *axis = hunt->buckets[i]; axis; axis = axis->next)
			axes[n++] = axis;
	if (fine)
		qsort(axes, n, sizeof(struct axis *), compare_axes);
	for (size_t i = 0; fine && i < n; i++) {
		if (axes[i]->kind != SPLIT_OPTION)
			fine = try_axis(hunt, axes[i]);
		else if (axes[i]->with.looked && axes[i]->without.looked)
			try_cut(hunt, axes[i], axes[i]->with, axes[i]->without);
	}
	return fine;
}

/* ---- the hunt ---- */

static bool make_factorials(struct hunt *hunt)
{
	double *logs = ARENA_ARRAY(hunt->arena, double, hunt->looked + 1);

	for (size_t i = 0; logs && i <= hunt->looked; i++)
		logs[i] = gsl_sf_lnfact((unsigned)i);
	hunt->factorials = logs;
	return logs;
}

/* Room for what the facts can say; buckets for as many names again. */
static bool make_room(struct hunt *hunt, const struct finding *findings, size_t n)
{
	size_t entries = 0, names = 0;

	for (size_t i = 0; i < n; i++) {
		const struct facts *facts = findings[i].facts;

		if (!is_look(&findings[i]) || !facts)
			continue;
		entries += 3;
		names += facts->n_options;
		for (size_t k = 0; k < facts->n_parts; k++)
			entries += facts->parts[k].has_lot;
	}
	for (hunt->n_buckets = 16; hunt->n_buckets < (entries + names) / 4; hunt->n_buckets *= 2)
		;
	hunt->buckets = ARENA_ARRAY(hunt->arena, struct axis *, hunt->n_buckets);
	hunt->free_entries = ARENA_ARRAY(hunt->arena, struct entry, entries);
	return hunt->buckets && hunt->free_entries && make_factorials(hunt);
}

static bool hunt_all(struct hunt *hunt, const struct finding *findings, size_t n)
{
	bool fine = make_room(hunt, findings, n);

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
