/* The linear relaxation by generating columns.
 *
 * Rows: one for each length (at least its demand is cut), one for each kind of
 * bar of limited number (at most so many are used). Columns: patterns, made
 * only when a knapsack finds one that is worth more than it costs; slacks; and
 * dear artificial pieces to begin with. A dense inverse of the basis does for
 * the sizes here.
 *
 * The prices that come out are rough (floating point, and the loop may stop
 * early). They are rounded down to whole numbers and held against exact
 * knapsacks: where a pattern is still worth more than its bar, all prices are
 * scaled down, or the bar's rent raised. What is returned is therefore a
 * proof, however rough the loop was.
 */
#include <math.h>
#include <string.h>

#include "core/cutting_parts.h"

#define ROUNDS 600
#define KNAPSACK_STEPS 200000
#define SMALL 1e-9

/* ---- the knapsack ---- */

/* The pattern worth most: at most demand[i] of each, filling cap. */
struct knapsack {
	const struct ready *ready;
	const int64_t *price;
	const size_t *order; /* dearest for its size first */
	size_t items;        /* of order that have a price */
	uint16_t *now, *best;
	int64_t best_worth;
	int64_t ceiling; /* proved: no pattern is worth more */
	unsigned steps;
	bool gave_up;
};

/* What cap could hold at most of what comes from place k on, by its dearest;
 * one unit more than the division says, for the rounding. */
static int64_t most_worth(const struct knapsack *sack, size_t k, int64_t cap)
{
	size_t i;

	if (k == sack->items)
		return 0;
	i = sack->order[k];
	return (int64_t)((double)sack->price[i] * ((double)cap / (double)sack->ready->size[i]) *
	                 (1 + SMALL)) +
	       1;
}

static void fill(struct knapsack *sack, size_t k, int64_t cap, int64_t worth)
{
	size_t i;
	int64_t most;

	if (worth > sack->best_worth) {
		sack->best_worth = worth;
		memcpy(sack->best, sack->now, sack->ready->n * sizeof *sack->now);
	}
	if (k == sack->items || worth + most_worth(sack, k, cap) <= sack->best_worth)
		return;
	if (++sack->steps > KNAPSACK_STEPS) {
		sack->gave_up = true;
		return;
	}
	i = sack->order[k];
	most = cap / sack->ready->size[i];
	if (most > (int64_t)sack->ready->demand[i])
		most = sack->ready->demand[i];
	for (int64_t take = most; take >= 0 && !sack->gave_up; take--) {
		sack->now[i] = (uint16_t)take;
		fill(sack, k + 1, cap - take * sack->ready->size[i], worth + take * sack->price[i]);
	}
	sack->now[i] = 0;
}

static void knapsack_run(struct knapsack *sack, int64_t cap)
{
	memset(sack->now, 0, sack->ready->n * sizeof *sack->now);
	memset(sack->best, 0, sack->ready->n * sizeof *sack->best);
	sack->best_worth = 0;
	sack->steps = 0;
	sack->gave_up = false;
	fill(sack, 0, cap, 0);
	sack->ceiling = sack->gave_up ? most_worth(sack, 0, cap) : sack->best_worth;
}

/* Orders the priced lengths by price for size; insertion: there are few. */
static void knapsack_price(struct knapsack *sack, size_t *order, const int64_t *price)
{
	const int64_t *size = sack->ready->size;

	sack->price = price;
	sack->items = 0;
	for (size_t i = 0; i < sack->ready->n; i++) {
		size_t k = sack->items;

		if (price[i] <= 0)
			continue;
		for (; k > 0 && (double)price[order[k - 1]] / (double)size[order[k - 1]] <
		                        (double)price[i] / (double)size[i];
		     k--)
			order[k] = order[k - 1];
		order[k] = i;
		sack->items++;
	}
}

/* ---- the relaxation ---- */

struct relaxation {
	const struct ready *ready;
	size_t rows;
	size_t *row_of;    /* m: row of a limited stock, else SIZE_MAX */
	double *inverse;   /* rows x rows */
	double *level;     /* rows: value of the basic column */
	double *cost;      /* rows: its cost */
	double *dual;      /* rows */
	double *column;    /* rows: the one that comes in */
	double *direction; /* rows: inverse x column */
	size_t *stock;     /* rows: of the basic pattern; SIZE_MAX: no pattern */
	uint16_t *pattern; /* rows x n */
	size_t enters;     /* stock of the one that comes in, SIZE_MAX: a slack */
	uint16_t *comes;   /* n: its pattern */
	int64_t *price;    /* n */
	size_t *order;     /* n */
	struct knapsack sack;
};

static double dearest(const struct ready *ready)
{
	int64_t most = 1;

	for (size_t j = 0; j < ready->m; j++)
		if (ready->cost[j] > most)
			most = ready->cost[j];
	return (double)most;
}

static enum status relaxation_room(struct arena *arena, struct relaxation *lp)
{
	const struct ready *ready = lp->ready;

	lp->row_of = ARENA_ARRAY(arena, size_t, ready->m);
	lp->inverse = ARENA_ARRAY(arena, double, lp->rows * lp->rows);
	lp->level = ARENA_ARRAY(arena, double, lp->rows);
	lp->cost = ARENA_ARRAY(arena, double, lp->rows);
	lp->dual = ARENA_ARRAY(arena, double, lp->rows);
	lp->column = ARENA_ARRAY(arena, double, lp->rows);
	lp->direction = ARENA_ARRAY(arena, double, lp->rows);
	lp->stock = ARENA_ARRAY(arena, size_t, lp->rows);
	lp->pattern = ARENA_ARRAY(arena, uint16_t, lp->rows * ready->n);
	lp->comes = ARENA_ARRAY(arena, uint16_t, ready->n);
	lp->price = ARENA_ARRAY(arena, int64_t, ready->n);
	lp->order = ARENA_ARRAY(arena, size_t, ready->n);
	lp->sack = (struct knapsack){.ready = ready, .order = lp->order};
	lp->sack.now = ARENA_ARRAY(arena, uint16_t, ready->n);
	lp->sack.best = ARENA_ARRAY(arena, uint16_t, ready->n);
	return arena_failed(arena) ? ST_NOMEM : ST_OK;
}

/* The first basis: an artificial piece for each length, a slack for each limit. */
static enum status relaxation_begin(struct arena *arena, const struct ready *ready,
                                    struct relaxation *lp)
{
	double dear = dearest(ready) * 10;
	size_t row = ready->n;
	enum status status;

	*lp = (struct relaxation){.ready = ready, .rows = ready->n};
	for (size_t j = 0; j < ready->m; j++)
		lp->rows += ready->bars[j] != CUTTING_ANY;
	status = relaxation_room(arena, lp);
	if (status != ST_OK)
		return status;
	for (size_t i = 0; i < lp->rows; i++) {
		lp->inverse[i * lp->rows + i] = 1;
		lp->stock[i] = SIZE_MAX;
	}
	for (size_t i = 0; i < ready->n; i++) {
		lp->level[i] = ready->demand[i];
		lp->cost[i] = dear;
	}
	for (size_t j = 0; j < ready->m; j++) {
		lp->row_of[j] = ready->bars[j] == CUTTING_ANY ? SIZE_MAX : row++;
		if (lp->row_of[j] != SIZE_MAX)
			lp->level[lp->row_of[j]] = ready->bars[j];
	}
	return ST_OK;
}

static void find_duals(struct relaxation *lp)
{
	for (size_t c = 0; c < lp->rows; c++) {
		lp->dual[c] = 0;
		for (size_t r = 0; r < lp->rows; r++)
			lp->dual[c] += lp->cost[r] * lp->inverse[r * lp->rows + c];
	}
}

/* Whole prices, from 0, and no length dearer than any could sensibly be. */
static void find_prices(struct relaxation *lp)
{
	double most = dearest(lp->ready) * 2;

	for (size_t i = 0; i < lp->ready->n; i++) {
		double price = fmin(fmax(lp->dual[i], 0), most);

		lp->price[i] = (int64_t)(price * (double)CUTTING_SCALE);
	}
	knapsack_price(&lp->sack, lp->order, lp->price);
}

/* A slack column that would lower the cost, into lp->column. */
static bool slack_enters(struct relaxation *lp)
{
	size_t found = SIZE_MAX;
	double best = -1e-7;

	for (size_t r = 0; r < lp->rows; r++) {
		double gain = r < lp->ready->n ? lp->dual[r] : -lp->dual[r];

		if (gain < best) {
			best = gain;
			found = r;
		}
	}
	if (found == SIZE_MAX)
		return false;
	memset(lp->column, 0, lp->rows * sizeof *lp->column);
	lp->column[found] = found < lp->ready->n ? -1 : 1;
	lp->enters = SIZE_MAX;
	return true;
}

static void set_column(struct relaxation *lp, size_t j)
{
	memset(lp->column, 0, lp->rows * sizeof *lp->column);
	for (size_t i = 0; i < lp->ready->n; i++)
		lp->column[i] = lp->sack.best[i];
	if (lp->row_of[j] != SIZE_MAX)
		lp->column[lp->row_of[j]] = 1;
	lp->enters = j;
	memcpy(lp->comes, lp->sack.best, lp->ready->n * sizeof *lp->comes);
}

/* The pattern worth most above its cost, into lp->column and *cost. */
static bool pattern_enters(struct relaxation *lp, double *cost)
{
	double best = 1e-5 * dearest(lp->ready);
	bool found = false;

	find_prices(lp);
	for (size_t j = 0; j < lp->ready->m; j++) {
		double rent = lp->row_of[j] == SIZE_MAX ? 0 : fmax(-lp->dual[lp->row_of[j]], 0);
		double gain;

		knapsack_run(&lp->sack, lp->ready->capacity[j]);
		gain = (double)lp->sack.best_worth / (double)CUTTING_SCALE -
		       (double)lp->ready->cost[j] - rent;
		if (gain <= best)
			continue;
		best = gain;
		set_column(lp, j);
		*cost = (double)lp->ready->cost[j];
		found = true;
	}
	return found;
}

/* The row whose basic column goes: the first to reach 0. SIZE_MAX: none. */
static size_t leaving_row(struct relaxation *lp)
{
	size_t found = SIZE_MAX;
	double least = INFINITY;

	for (size_t r = 0; r < lp->rows; r++) {
		double step = 0;

		for (size_t c = 0; c < lp->rows; c++)
			step += lp->inverse[r * lp->rows + c] * lp->column[c];
		lp->direction[r] = step;
		if (step > SMALL && lp->level[r] / step < least) {
			least = lp->level[r] / step;
			found = r;
		}
	}
	return found;
}

static void exchange(struct relaxation *lp, size_t row, double cost)
{
	double *pivot = lp->inverse + row * lp->rows;
	double by = lp->direction[row];

	for (size_t c = 0; c < lp->rows; c++)
		pivot[c] /= by;
	lp->level[row] /= by;
	lp->cost[row] = cost;
	lp->stock[row] = lp->enters;
	memcpy(lp->pattern + row * lp->ready->n, lp->comes, lp->ready->n * sizeof *lp->comes);
	for (size_t r = 0; r < lp->rows; r++) {
		if (r == row)
			continue;
		for (size_t c = 0; c < lp->rows; c++)
			lp->inverse[r * lp->rows + c] -= lp->direction[r] * pivot[c];
		lp->level[r] = fmax(lp->level[r] - lp->direction[r] * lp->level[row], 0);
	}
}

static void relax(struct relaxation *lp)
{
	for (unsigned round = 0; round < ROUNDS; round++) {
		double cost = 0;
		size_t row;

		find_duals(lp);
		if (!slack_enters(lp) && !pattern_enters(lp, &cost))
			break;
		row = leaving_row(lp);
		if (row == SIZE_MAX)
			break;
		exchange(lp, row, cost);
	}
	find_duals(lp);
}

/* ---- the proof ---- */

/* value * above / below, rounded down; all from 0. */
static int64_t part_of(int64_t value, int64_t above, int64_t below)
{
	int64_t whole = value / below, rest = value % below;
	double scaled = (double)rest * ((double)above / (double)below);

	/* One less than rounding can make of it: still a proof. */
	return whole * above + (scaled > 2 ? (int64_t)(scaled * (1 - SMALL)) - 1 : 0);
}

/* Scales prices down until no pattern is worth more than its bar, where bars
 * have no limit. */
static void lower_prices(struct relaxation *lp)
{
	for (size_t j = 0; j < lp->ready->m; j++) {
		int64_t worth = CUTTING_SCALE * lp->ready->cost[j];

		if (lp->ready->bars[j] != CUTTING_ANY)
			continue;
		knapsack_run(&lp->sack, lp->ready->capacity[j]);
		if (lp->sack.ceiling <= worth)
			continue;
		for (size_t i = 0; i < lp->ready->n; i++)
			lp->price[i] = part_of(lp->price[i], worth, lp->sack.ceiling);
		knapsack_price(&lp->sack, lp->order, lp->price);
	}
}

static enum status take_hints(struct arena *arena, const struct relaxation *lp, struct bound *out)
{
	struct hint *hints = ARENA_ARRAY(arena, struct hint, lp->rows);

	if (!hints)
		return ST_NOMEM;
	out->n_hints = 0;
	for (size_t r = 0; r < lp->rows; r++)
		if (lp->stock[r] != SIZE_MAX && lp->level[r] >= 1)
			hints[out->n_hints++] =
			        (struct hint){lp->stock[r], (unsigned)(lp->level[r] + 1e-6),
			                      lp->pattern + r * lp->ready->n};
	out->hints = hints;
	return ST_OK;
}

/* Rents may eat up what the prices say; then nothing is as good a bound, and
 * keeps the sums of the search small. */
static void drop_idle(struct relaxation *lp, int64_t *rent)
{
	double sum = 0;

	for (size_t i = 0; i < lp->ready->n; i++)
		sum += (double)lp->price[i] * lp->ready->demand[i];
	for (size_t j = 0; j < lp->ready->m; j++)
		if (rent[j] > 0)
			sum -= (double)rent[j] * lp->ready->bars[j];
	if (sum > 0)
		return;
	memset(lp->price, 0, lp->ready->n * sizeof *lp->price);
	memset(rent, 0, lp->ready->m * sizeof *rent);
}

enum status cutting_bound(struct arena *arena, const struct ready *ready, struct bound *out)
{
	struct relaxation lp;
	int64_t *rent = ARENA_ARRAY(arena, int64_t, ready->m);
	enum status status = relaxation_begin(arena, ready, &lp);

	if (status != ST_OK || !rent)
		return ST_NOMEM;
	relax(&lp);
	find_prices(&lp);
	lower_prices(&lp);
	for (size_t j = 0; j < ready->m; j++) {
		if (ready->bars[j] == CUTTING_ANY)
			continue;
		knapsack_run(&lp.sack, ready->capacity[j]);
		if (lp.sack.ceiling > CUTTING_SCALE * ready->cost[j])
			rent[j] = lp.sack.ceiling - CUTTING_SCALE * ready->cost[j];
	}
	drop_idle(&lp, rent);
	*out = (struct bound){.price = lp.price, .rent = rent};
	return take_hints(arena, &lp, out);
}
