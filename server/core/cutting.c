/* The search.
 *
 * A plan is a row of bars. The longest piece that is still wanted must come
 * from some bar, so the next bar is one that holds it: for each kind of bar
 * every pattern is tried that holds it and that no wanted piece could be added
 * to. Among bars that begin with the same piece a later one never comes before
 * an earlier one in the order of trying: of all orders of the same bars one is
 * enough. (Take the cheap-enough plan whose row of bars is the greatest in that
 * order: no piece of a later bar would fit into an earlier one, or moving it
 * there would give a greater row.)
 *
 * With the prices of the bound (cutting_parts.h) each bar has an excess, its
 * cost and rent less what its pieces are priced at, and it is never below 0.
 * The excesses of a plan add up to the scaled difference between its cost and
 * the bound. So to find out whether a plan costs at most some target, only
 * patterns are tried whose excess fits into what is left of target - bound.
 *
 * Targets begin at the bound and go up in growing steps: a target refused
 * raises the bound, a plan found lowers the other end.
 */
#include "core/cutting.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "core/cutting_parts.h"

#define LENGTH_LIMIT (INT64_C(1) << 50)
#define SUMS_MOST (1 << 20) /* costs to list sums of */

struct bar { /* one bar of a plan in the making */
	size_t stock;
	uint16_t *count; /* n */
};

struct search {
	struct ready ready;
	struct bound bound;
	int64_t unit; /* of cost: what the costs were divided by */
	/* The plan being tried. */
	struct bar *bars;
	size_t used;
	size_t fixed;     /* of these, set before the search began */
	unsigned *wanted; /* n: still */
	uint32_t *stock;  /* m: bars left */
	int64_t slack;    /* excess that may still be spent, in scaled cost */
	int64_t cost;
	/* The best so far. */
	struct bar *best;
	size_t best_used;
	int64_t best_cost;   /* INT64_MAX: none */
	uint64_t steps;      /* left */
	const uint8_t *sums; /* sums[c]: c is a sum of costs of bars */
	int64_t n_sums;      /* 0: not known */
};

/* ---- checking what came in ---- */

static enum status fail(struct cutting_fault *fault, enum cutting_fault_kind kind, size_t index)
{
	*fault = (struct cutting_fault){kind, index};
	return ST_INVALID;
}

static int64_t usable(const struct cutting_order *order, size_t j)
{
	return order->stocks[j].length - 2 * order->saw.trim;
}

static bool fits_somewhere(const struct cutting_order *order, int64_t length)
{
	for (size_t j = 0; j < order->n_stocks; j++)
		if (order->stocks[j].count > 0 && usable(order, j) >= length)
			return true;
	return false;
}

static enum status check_stocks(const struct cutting_order *order, struct cutting_fault *fault)
{
	if (order->n_stocks > CUTTING_STOCKS)
		return fail(fault, CUTTING_TOO_MUCH, CUTTING_STOCKS);
	for (size_t j = 0; j < order->n_stocks; j++) {
		const struct cutting_stock *stock = &order->stocks[j];

		if (stock->length <= 0 || stock->length > LENGTH_LIMIT)
			return fail(fault, CUTTING_STOCK_LENGTH, j);
		if (stock->cost < 0 || stock->cost > CUTTING_COST ||
		    (stock->count == CUTTING_ANY && stock->cost == 0))
			return fail(fault, CUTTING_TOO_MUCH, j);
	}
	return ST_OK;
}

static enum status check_pieces(const struct cutting_order *order, struct cutting_fault *fault)
{
	uint64_t pieces = 0;

	for (size_t i = 0; i < order->n_pieces; i++) {
		if (order->pieces[i].length <= 0 || order->pieces[i].length > LENGTH_LIMIT)
			return fail(fault, CUTTING_PIECE_LENGTH, i);
		pieces += order->pieces[i].count;
		if (pieces > CUTTING_PIECES)
			return fail(fault, CUTTING_TOO_MUCH, i);
		if (!fits_somewhere(order, order->pieces[i].length))
			return fail(fault, CUTTING_TOO_SHORT, i);
	}
	return ST_OK;
}

static enum status check(const struct cutting_order *order, struct cutting_fault *fault)
{
	enum status status;

	if (order->saw.kerf < 0 || order->saw.trim < 0 || order->saw.kerf > LENGTH_LIMIT ||
	    order->saw.trim > LENGTH_LIMIT)
		return fail(fault, CUTTING_SAW, 0);
	status = check_stocks(order, fault);
	return status == ST_OK ? check_pieces(order, fault) : status;
}

/* ---- making ready ---- */

static int longest_first(const void *a, const void *b)
{
	int64_t x = ((const struct cutting_piece *)a)->length;
	int64_t y = ((const struct cutting_piece *)b)->length;

	return (x < y) - (x > y);
}

/* Each length once, longest first. */
static enum status merge_pieces(struct arena *arena, const struct cutting_order *order,
                                struct cutting_plan *plan)
{
	struct cutting_piece *pieces = ARENA_ARRAY(arena, struct cutting_piece, order->n_pieces);
	size_t n = 0;

	if (!pieces)
		return ST_NOMEM;
	if (order->n_pieces)
		memcpy(pieces, order->pieces, order->n_pieces * sizeof *pieces);
	qsort(pieces, order->n_pieces, sizeof *pieces, longest_first);
	for (size_t i = 0; i < order->n_pieces; i++) {
		if (pieces[i].count == 0)
			continue;
		if (n > 0 && pieces[n - 1].length == pieces[i].length)
			pieces[n - 1].count += pieces[i].count;
		else
			pieces[n++] = pieces[i];
	}
	plan->pieces = pieces;
	plan->n_pieces = n;
	return ST_OK;
}

static int64_t common_divisor(int64_t a, int64_t b)
{
	while (b) {
		int64_t rest = a % b;

		a = b;
		b = rest;
	}
	return a;
}

static enum status make_ready(struct arena *arena, const struct cutting_order *order,
                              const struct cutting_plan *plan, struct search *s)
{
	size_t n = plan->n_pieces, m = order->n_stocks;
	int64_t *size = ARENA_ARRAY(arena, int64_t, n);
	unsigned *demand = ARENA_ARRAY(arena, unsigned, n);
	int64_t *capacity = ARENA_ARRAY(arena, int64_t, m), *cost = ARENA_ARRAY(arena, int64_t, m);
	uint32_t *bars = ARENA_ARRAY(arena, uint32_t, m);
	unsigned pieces = 0;

	if (arena_failed(arena))
		return ST_NOMEM;
	s->unit = 0;
	for (size_t i = 0; i < n; i++) {
		size[i] = plan->pieces[i].length + order->saw.kerf;
		demand[i] = plan->pieces[i].count;
		pieces += demand[i];
	}
	for (size_t j = 0; j < m; j++)
		s->unit = common_divisor(s->unit, order->stocks[j].cost);
	if (s->unit == 0)
		s->unit = 1;
	for (size_t j = 0; j < m; j++) {
		capacity[j] = usable(order, j) + order->saw.kerf;
		cost[j] = order->stocks[j].cost / s->unit;
		bars[j] = order->stocks[j].count == CUTTING_ANY || order->stocks[j].count < pieces
		                  ? order->stocks[j].count
		                  : pieces;
	}
	s->ready = (struct ready){n, m, size, demand, capacity, bars, cost};
	return ST_OK;
}

static size_t count_pieces(const struct ready *ready)
{
	size_t pieces = 0;

	for (size_t i = 0; i < ready->n; i++)
		pieces += ready->demand[i];
	return pieces;
}

static struct bar *make_bars(struct arena *arena, size_t bars, size_t n)
{
	struct bar *made = ARENA_ARRAY(arena, struct bar, bars);
	uint16_t *counts = ARENA_ARRAY(arena, uint16_t, bars * n);

	if (!made || !counts)
		return NULL;
	for (size_t i = 0; i < bars; i++)
		made[i].count = counts + i * n;
	return made;
}

/* No plan costs more than this: a bar of the dearest for every piece. */
static int64_t cost_ceiling(const struct ready *ready)
{
	int64_t dearest = 0;

	for (size_t j = 0; j < ready->m; j++)
		if (ready->cost[j] > dearest)
			dearest = ready->cost[j];
	return dearest * (int64_t)count_pieces(ready);
}

/* Five bars of 121 cost 605 and four of 138 only 552: nothing lies between. */
static enum status find_sums(struct arena *arena, struct search *s)
{
	int64_t most = cost_ceiling(&s->ready);
	uint8_t *sums;

	if (most >= SUMS_MOST)
		return ST_OK;
	sums = ARENA_ARRAY(arena, uint8_t, (size_t)most + 1);
	if (!sums)
		return ST_NOMEM;
	sums[0] = 1;
	for (int64_t c = 1; c <= most; c++)
		for (size_t j = 0; j < s->ready.m && !sums[c]; j++)
			sums[c] = s->ready.cost[j] > 0 && s->ready.cost[j] <= c &&
			          sums[c - s->ready.cost[j]];
	s->sums = sums;
	s->n_sums = most + 1;
	return ST_OK;
}

/* The least cost from this one on that bars can add up to. */
static int64_t next_sum(const struct search *s, int64_t cost)
{
	while (cost < s->n_sums && !s->sums[cost])
		cost++;
	return cost;
}

static enum status make_room(struct arena *arena, struct search *s)
{
	size_t pieces = count_pieces(&s->ready);

	s->bars = make_bars(arena, pieces, s->ready.n);
	s->best = make_bars(arena, pieces, s->ready.n);
	s->wanted = ARENA_ARRAY(arena, unsigned, s->ready.n);
	s->stock = ARENA_ARRAY(arena, uint32_t, s->ready.m);
	return arena_failed(arena) ? ST_NOMEM : find_sums(arena, s);
}

static void begin_again(struct search *s)
{
	memcpy(s->wanted, s->ready.demand, s->ready.n * sizeof *s->wanted);
	memcpy(s->stock, s->ready.bars, s->ready.m * sizeof *s->stock);
	s->used = 0;
	s->fixed = 0;
	s->cost = 0;
}

static size_t longest_wanted(const struct search *s)
{
	size_t i = 0;

	while (i < s->ready.n && s->wanted[i] == 0)
		i++;
	return i;
}

static void keep_best(struct search *s)
{
	for (size_t b = 0; b < s->used; b++) {
		s->best[b].stock = s->bars[b].stock;
		memcpy(s->best[b].count, s->bars[b].count, s->ready.n * sizeof(uint16_t));
	}
	s->best_used = s->used;
	s->best_cost = s->cost;
}

static void take_bar(struct search *s, size_t j)
{
	if (s->ready.bars[j] != CUTTING_ANY)
		s->stock[j]--;
	s->cost += s->ready.cost[j];
	s->used++;
}

static void give_bar(struct search *s, size_t j)
{
	if (s->ready.bars[j] != CUTTING_ANY)
		s->stock[j]++;
	s->cost -= s->ready.cost[j];
	s->used--;
}

/* ---- a first plan: longest pieces first, into the bar cheapest for its fill ---- */

/* Fills count with the longest that fit; returns what it holds. */
static int64_t fill_longest(const struct search *s, size_t j, uint16_t *count)
{
	int64_t left = s->ready.capacity[j];

	for (size_t i = 0; i < s->ready.n; i++) {
		int64_t most = left > 0 ? left / s->ready.size[i] : 0;

		count[i] = (uint16_t)(most < s->wanted[i] ? most : s->wanted[i]);
		left -= count[i] * s->ready.size[i];
	}
	return s->ready.capacity[j] - left;
}

/* The stock to use next for piece i; m: none is left for it. */
static size_t cheapest_fill(struct search *s, size_t i, uint16_t *count)
{
	size_t found = s->ready.m;
	double least = 0;

	for (size_t j = 0; j < s->ready.m; j++) {
		double rate;

		if (s->stock[j] == 0 || s->ready.capacity[j] < s->ready.size[i])
			continue;
		rate = (double)s->ready.cost[j] / (double)fill_longest(s, j, count);
		if (found == s->ready.m || rate < least) {
			found = j;
			least = rate;
		}
	}
	return found;
}

static void first_plan(struct search *s)
{
	begin_again(s);
	for (size_t i; (i = longest_wanted(s)) < s->ready.n;) {
		struct bar *bar = &s->bars[s->used];
		size_t j = cheapest_fill(s, i, bar->count);

		if (j == s->ready.m)
			return;
		bar->stock = j;
		(void)fill_longest(s, j, bar->count);
		for (size_t k = 0; k < s->ready.n; k++)
			s->wanted[k] -= bar->count[k];
		take_bar(s, j);
	}
	keep_best(s);
}

/* ---- searching for a plan within a target ---- */

enum outcome { OUT_NONE, OUT_FOUND, OUT_GAVE_UP };

static enum outcome next_bar(struct search *s);

/* One bar that is being filled. */
struct filling {
	size_t stock;
	size_t first; /* longest piece in it */
	uint16_t *count;
	const uint16_t *cap; /* of the bar before, where it must not be passed; NULL: free */
};

/* Would one more of what is still wanted fit? The shortest tells. */
static bool is_full(const struct search *s, int64_t left)
{
	for (size_t i = s->ready.n; i-- > 0;)
		if (s->wanted[i] > 0)
			return s->ready.size[i] > left;
	return true;
}

/* Rounded up: what pieces from i on could be priced at in so much room. */
static int64_t could_hold(const struct search *s, size_t i, int64_t left)
{
	double rate = 0;

	for (; i < s->ready.n; i++) {
		double own = (double)s->bound.price[i] / (double)s->ready.size[i];

		if (s->wanted[i] > 0 && own > rate)
			rate = own;
	}
	return (int64_t)(rate * (double)left * (1 + 1e-9)) + 1;
}

static enum outcome close_bar(struct search *s, const struct filling *f, int64_t left)
{
	enum outcome outcome;

	if (s->slack < 0 || !is_full(s, left))
		return OUT_NONE;
	take_bar(s, f->stock);
	outcome = next_bar(s);
	if (outcome != OUT_FOUND)
		give_bar(s, f->stock);
	return outcome;
}

/* Pieces from i on, most of each first. slack already bears the bar's cost
 * and rent and gets back the price of every piece put in. */
static enum outcome fill_bar(struct search *s, const struct filling *f, size_t i, int64_t left,
                             bool at_cap)
{
	enum outcome outcome = OUT_NONE;
	int64_t most;

	if (s->steps == 0)
		return OUT_GAVE_UP;
	s->steps--;
	while (i < s->ready.n && (s->wanted[i] == 0 || s->ready.size[i] > left)) {
		f->count[i] = 0;
		at_cap = at_cap && f->cap[i] == 0;
		i++;
	}
	if (i == s->ready.n)
		return close_bar(s, f, left);
	if (s->slack + could_hold(s, i, left) < 0)
		return OUT_NONE;
	most = left / s->ready.size[i];
	if (most > (int64_t)s->wanted[i])
		most = s->wanted[i];
	if (at_cap && most > f->cap[i])
		most = f->cap[i];
	for (int64_t take = most; take >= (i == f->first ? 1 : 0) && outcome == OUT_NONE; take--) {
		f->count[i] = (uint16_t)take;
		s->wanted[i] -= (unsigned)take;
		s->slack += take * s->bound.price[i];
		outcome = fill_bar(s, f, i + 1, left - take * s->ready.size[i],
		                   at_cap && take == f->cap[i]);
		s->slack -= take * s->bound.price[i];
		s->wanted[i] += (unsigned)take;
	}
	return outcome;
}

/* The bar before, when it begins with the same piece; else NULL. */
static const struct bar *bar_before(const struct search *s, size_t first)
{
	const struct bar *before;

	if (s->used == s->fixed)
		return NULL;
	before = &s->bars[s->used - 1];
	for (size_t i = 0; i < first; i++)
		if (before->count[i] > 0)
			return NULL;
	return before;
}

static enum outcome next_bar(struct search *s)
{
	size_t first = longest_wanted(s);
	const struct bar *before;
	enum outcome outcome = OUT_NONE;

	if (first == s->ready.n) {
		keep_best(s);
		return OUT_FOUND;
	}
	before = bar_before(s, first);
	for (size_t j = before ? before->stock : 0; j < s->ready.m && outcome == OUT_NONE; j++) {
		struct bar *bar = &s->bars[s->used];
		const uint16_t *cap = before && before->stock == j ? before->count : NULL;
		int64_t dear = CUTTING_SCALE * s->ready.cost[j] + s->bound.rent[j];

		if (s->stock[j] == 0 || s->ready.capacity[j] < s->ready.size[first])
			continue;
		bar->stock = j;
		memset(bar->count, 0, first * sizeof *bar->count);
		s->slack -= dear;
		outcome = fill_bar(s, &(struct filling){j, first, bar->count, cap}, first,
		                   s->ready.capacity[j], cap != NULL);
		s->slack += dear;
	}
	return outcome;
}

/* The bound for all of the demand, in scaled cost. */
static int64_t scaled_bound(const struct search *s)
{
	int64_t sum = 0;

	for (size_t i = 0; i < s->ready.n; i++)
		sum += s->bound.price[i] * (int64_t)s->ready.demand[i];
	for (size_t j = 0; j < s->ready.m; j++)
		if (s->ready.bars[j] != CUTTING_ANY)
			sum -= s->bound.rent[j] * (int64_t)s->ready.bars[j];
	return sum;
}

static enum outcome search_within(struct search *s, int64_t target)
{
	begin_again(s);
	s->slack = CUTTING_SCALE * target - scaled_bound(s);
	return s->slack < 0 ? OUT_NONE : next_bar(s);
}

/* ---- searching near the relaxation ---- */

static int64_t round_up(int64_t scaled)
{
	return scaled <= 0 ? 0 : (scaled + CUTTING_SCALE - 1) / CUTTING_SCALE;
}

/* Cuts one bar by the hint, as far as its pieces are still wanted. */
static void fix_bar(struct search *s, const struct hint *hint)
{
	struct bar *bar = &s->bars[s->used];
	int64_t excess = CUTTING_SCALE * s->ready.cost[hint->stock] + s->bound.rent[hint->stock];
	size_t pieces = 0;

	for (size_t i = 0; i < s->ready.n; i++) {
		unsigned count = hint->count[i] < s->wanted[i] ? hint->count[i] : s->wanted[i];

		bar->count[i] = (uint16_t)count;
		pieces += count;
	}
	if (pieces == 0 || s->stock[hint->stock] == 0)
		return;
	for (size_t i = 0; i < s->ready.n; i++) {
		s->wanted[i] -= bar->count[i];
		excess -= bar->count[i] * s->bound.price[i];
	}
	bar->stock = hint->stock;
	s->slack -= excess;
	take_bar(s, hint->stock);
	s->fixed = s->used;
}

/* Takes the patterns of the relaxation, each some times fewer than it says,
 * and searches for the rest only. */
static enum outcome search_near(struct search *s, int64_t target, unsigned fewer)
{
	begin_again(s);
	s->slack = CUTTING_SCALE * target - scaled_bound(s);
	for (size_t h = 0; h < s->bound.n_hints; h++)
		for (unsigned t = fewer; t < s->bound.hints[h].times; t++)
			fix_bar(s, &s->bound.hints[h]);
	return s->slack < 0 ? OUT_NONE : next_bar(s);
}

/* A quarter of the steps goes to looking near the relaxation: most often the
 * best plan is there, and the bound then proves it. */
static void look_near(struct search *s)
{
	int64_t bound = next_sum(s, round_up(scaled_bound(s)));
	uint64_t share = s->steps / 16, all = s->steps;
	uint64_t spent = 0;

	for (unsigned fewer = 0; fewer < 4 && s->best_cost > bound; fewer++) {
		int64_t target = bound;

		s->steps = share;
		while (target < s->best_cost && s->best_cost < INT64_MAX &&
		       search_near(s, target, fewer) == OUT_NONE)
			target += target - bound + 1;
		spent += share - s->steps;
	}
	s->steps = all - spent;
}

/* Closes in on the least cost from both sides; returns what is proved. */
static int64_t close_in(struct search *s)
{
	int64_t bound = next_sum(s, round_up(scaled_bound(s)));
	int64_t ceiling = cost_ceiling(&s->ready);
	int64_t step = 0;

	while (bound < s->best_cost && bound <= ceiling) {
		int64_t top = s->best_cost == INT64_MAX ? ceiling : s->best_cost - 1;
		int64_t target = bound + step < top ? bound + step : top;
		enum outcome outcome = search_within(s, target);

		if (outcome == OUT_GAVE_UP)
			break;
		if (outcome == OUT_NONE)
			bound = next_sum(s, target + 1);
		step = outcome == OUT_NONE ? step * 2 + 1 : 0;
	}
	return bound;
}

/* ---- the plan ---- */

static bool same_cut(const struct search *s, const struct bar *bar, const struct cutting_bar *row)
{
	return bar->stock == row->stock &&
	       memcmp(bar->count, row->count, s->ready.n * sizeof *bar->count) == 0;
}

static int64_t left_of(const struct search *s, const struct cutting_order *order,
                       const struct bar *bar)
{
	int64_t left = s->ready.capacity[bar->stock];

	for (size_t i = 0; i < s->ready.n; i++)
		left -= bar->count[i] * s->ready.size[i];
	/* Capacity holds one kerf more than the bar: the cut behind the last piece. */
	left -= order->saw.kerf;
	return left > 0 ? left : 0;
}

/* Bars that are cut alike become one row; they need not be neighbours. */
static enum status write_bars(struct arena *arena, const struct search *s,
                              const struct cutting_order *order, struct cutting_plan *plan)
{
	struct cutting_bar *bars = ARENA_ARRAY(arena, struct cutting_bar, s->best_used);
	size_t rows = 0;

	if (!bars)
		return ST_NOMEM;
	for (size_t b = 0; b < s->best_used; b++) {
		const struct bar *bar = &s->best[b];
		size_t r = 0;

		while (r < rows && !same_cut(s, bar, &bars[r]))
			r++;
		if (r == rows)
			bars[rows++] = (struct cutting_bar){bar->stock, 0, bar->count,
			                                    left_of(s, order, bar)};
		bars[r].times++;
	}
	plan->bars = bars;
	plan->n_bars = rows;
	return ST_OK;
}

static enum status search_plan(struct arena *arena, struct search *s,
                               const struct cutting_order *order, struct cutting_plan *plan,
                               struct cutting_fault *fault)
{
	int64_t bound;

	s->steps = order->steps;
	s->best_cost = INT64_MAX;
	first_plan(s);
	look_near(s);
	bound = close_in(s);
	if (s->best_cost == INT64_MAX)
		return fail(fault, s->steps ? CUTTING_TOO_FEW : CUTTING_NOT_FOUND, 0);
	plan->cost = s->best_cost * s->unit;
	plan->bound = bound * s->unit;
	plan->proved = bound == s->best_cost;
	return write_bars(arena, s, order, plan);
}

enum status cutting_plan(struct arena *arena, const struct cutting_order *order,
                         struct cutting_plan *out, struct cutting_fault *fault)
{
	struct cutting_plan plan = {.proved = true};
	struct search s = {.unit = 1};
	enum status status = check(order, fault);

	if (status == ST_OK)
		status = merge_pieces(arena, order, &plan);
	if (status == ST_OK && plan.n_pieces > CUTTING_LENGTHS)
		status = fail(fault, CUTTING_TOO_MUCH, CUTTING_LENGTHS);
	if (status == ST_OK && plan.n_pieces > 0) {
		status = make_ready(arena, order, &plan, &s);
		if (status == ST_OK)
			status = make_room(arena, &s);
		if (status == ST_OK)
			status = cutting_bound(arena, &s.ready, &s.bound);
		if (status == ST_OK)
			status = search_plan(arena, &s, order, &plan, fault);
	}
	if (status == ST_OK)
		*out = plan;
	return status;
}
