/* Cutting plans: what is refused, and what must hold for every plan. That plans
 * are the cheapest is held against a solver in cutting-compare.py. */
#include "build.h"

#include <string.h>

#include "core/cutting_parts.h"

static struct arena *arena;

static int set_up(void **state)
{
	(void)state;
	arena = arena_new();
	return arena ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	arena_free(arena);
	return 0;
}

static const struct {
	const char *why;
	struct cutting_piece pieces[2];
	struct cutting_stock stocks[2];
	struct cutting_saw saw;
	enum cutting_fault_kind kind;
	size_t index;
} refused[] = {
        {"a piece of no length",
         {{10, 1}, {0, 1}},
         {{100, CUTTING_ANY, 1}, {1, 1, 1}},
         {0, 0},
         CUTTING_PIECE_LENGTH,
         1},
        {"a piece below nothing",
         {{-1, 1}, {10, 1}},
         {{100, CUTTING_ANY, 1}, {1, 1, 1}},
         {0, 0},
         CUTTING_PIECE_LENGTH,
         0},
        {"a piece beyond all measure",
         {{INT64_MAX, 1}, {10, 1}},
         {{100, CUTTING_ANY, 1}, {1, 1, 1}},
         {0, 0},
         CUTTING_PIECE_LENGTH,
         0},
        {"a bar of no length",
         {{10, 1}, {10, 1}},
         {{100, CUTTING_ANY, 1}, {0, 1, 1}},
         {0, 0},
         CUTTING_STOCK_LENGTH,
         1},
        {"a bar below nothing",
         {{10, 1}, {10, 1}},
         {{-100, CUTTING_ANY, 1}, {1, 1, 1}},
         {0, 0},
         CUTTING_STOCK_LENGTH,
         0},
        {"a bar beyond all measure",
         {{10, 1}, {10, 1}},
         {{INT64_MAX, CUTTING_ANY, 1}, {1, 1, 1}},
         {0, 0},
         CUTTING_STOCK_LENGTH,
         0},
        {"a cost below nothing",
         {{10, 1}, {10, 1}},
         {{100, CUTTING_ANY, -1}, {1, 1, 1}},
         {0, 0},
         CUTTING_TOO_MUCH,
         0},
        {"a cost beyond all measure",
         {{10, 1}, {10, 1}},
         {{100, CUTTING_ANY, CUTTING_COST + 1}, {1, 1, 1}},
         {0, 0},
         CUTTING_TOO_MUCH,
         0},
        {"bars without number or cost",
         {{10, 1}, {10, 1}},
         {{100, CUTTING_ANY, 0}, {1, 1, 1}},
         {0, 0},
         CUTTING_TOO_MUCH,
         0},
        {"a kerf below nothing",
         {{10, 1}, {10, 1}},
         {{100, CUTTING_ANY, 1}, {1, 1, 1}},
         {-1, 0},
         CUTTING_SAW,
         0},
        {"a trim below nothing",
         {{10, 1}, {10, 1}},
         {{100, CUTTING_ANY, 1}, {1, 1, 1}},
         {0, -1},
         CUTTING_SAW,
         0},
        {"a kerf beyond all measure",
         {{10, 1}, {10, 1}},
         {{100, CUTTING_ANY, 1}, {1, 1, 1}},
         {INT64_MAX, 0},
         CUTTING_SAW,
         0},
        {"a trim beyond all measure",
         {{10, 1}, {10, 1}},
         {{100, CUTTING_ANY, 1}, {1, 1, 1}},
         {0, INT64_MAX},
         CUTTING_SAW,
         0},
        {"a stock shorter than the piece",
         {{10, 1}, {101, 1}},
         {{100, CUTTING_ANY, 1}, {1, 1, 1}},
         {0, 0},
         CUTTING_TOO_SHORT,
         1},
        {"a stock shorter by its trims",
         {{10, 1}, {99, 1}},
         {{100, CUTTING_ANY, 1}, {1, 1, 1}},
         {0, 1},
         CUTTING_TOO_SHORT,
         1},
        {"no bar is left",
         {{10, 1}, {10, 1}},
         {{100, 0, 1}, {1, 1, 1}},
         {0, 0},
         CUTTING_TOO_SHORT,
         0},
        {"too few bars", {{60, 2}, {60, 1}}, {{100, 2, 1}, {1, 1, 1}}, {0, 0}, CUTTING_TOO_FEW, 0},
        {"too few by the kerf",
         {{50, 2}, {50, 2}},
         {{100, 2, 0}, {1, 1, 0}},
         {1, 0},
         CUTTING_TOO_FEW,
         0},
        {"too many pieces",
         {{10, CUTTING_PIECES}, {10, 1}},
         {{100, CUTTING_ANY, 1}, {1, 1, 1}},
         {0, 0},
         CUTTING_TOO_MUCH,
         1},
};

static void what_cannot_be_planned_is_refused_with_its_place(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(refused); i++) {
		const struct cutting_order order = {
		        refused[i].pieces, 2, refused[i].stocks, 2, refused[i].saw, CUTTING_STEPS};
		struct cutting_plan plan = {.cost = -7};
		struct cutting_fault fault = {CUTTING_NOT_FOUND, 99};

		print_message("%s\n", refused[i].why);
		assert_int_equal(cutting_plan(arena, &order, &plan, &fault), ST_INVALID);
		assert_int_equal(fault.kind, refused[i].kind);
		assert_int_equal(fault.index, refused[i].index);
		assert_int_equal(plan.cost, -7);
	}
}

static void sizes_have_limits(void **state)
{
	struct cutting_piece pieces[CUTTING_LENGTHS + 1];
	struct cutting_stock stocks[CUTTING_STOCKS + 1];
	struct cutting_order order = {pieces, CUTTING_LENGTHS + 1, stocks, 1, {0, 0}, 10};
	struct cutting_plan plan;
	struct cutting_fault fault;

	(void)state;
	for (size_t i = 0; i <= CUTTING_LENGTHS; i++)
		pieces[i] = (struct cutting_piece){(int64_t)i + 1, 1};
	for (size_t j = 0; j <= CUTTING_STOCKS; j++)
		stocks[j] = (struct cutting_stock){100, CUTTING_ANY, 1};
	assert_int_equal(cutting_plan(arena, &order, &plan, &fault), ST_INVALID);
	assert_int_equal(fault.kind, CUTTING_TOO_MUCH);
	order.n_pieces = CUTTING_LENGTHS;
	assert_int_equal(cutting_plan(arena, &order, &plan, &fault), ST_OK);
	order.n_stocks = CUTTING_STOCKS + 1;
	assert_int_equal(cutting_plan(arena, &order, &plan, &fault), ST_INVALID);
	assert_int_equal(fault.kind, CUTTING_TOO_MUCH);
}

static void nothing_wanted_needs_no_bar(void **state)
{
	const struct cutting_piece none = {5, 0};
	const struct cutting_stock stock = {100, CUTTING_ANY, 3};
	const struct cutting_order order = {&none, 1, &stock, 1, {1, 1}, 10};
	struct cutting_plan plan;
	struct cutting_fault fault;

	(void)state;
	assert_int_equal(cutting_plan(arena, &order, &plan, &fault), ST_OK);
	assert_int_equal(plan.n_bars, 0);
	assert_int_equal(plan.cost, 0);
	assert_true(plan.proved);
}

/* Two pieces of 50 from a bar of 101 with a kerf of 1: n - 1 kerfs, no more. */
static void a_kerf_lies_between_two_pieces_only(void **state)
{
	const struct cutting_piece pieces[] = {{50, 1}, {50, 1}};
	struct cutting_stock stock = {101, CUTTING_ANY, 1};
	const struct cutting_order order = {pieces, 2, &stock, 1, {1, 0}, CUTTING_STEPS};
	struct cutting_plan plan;
	struct cutting_fault fault;

	(void)state;
	assert_int_equal(cutting_plan(arena, &order, &plan, &fault), ST_OK);
	assert_int_equal(plan.cost, 1);
	assert_int_equal(plan.n_pieces, 1);
	assert_int_equal(plan.bars[0].count[0], 2);
	assert_int_equal(plan.bars[0].left, 0);
	stock.length = 100;
	assert_int_equal(cutting_plan(arena, &order, &plan, &fault), ST_OK);
	assert_int_equal(plan.cost, 2);
	assert_int_equal(plan.bars[0].times, 2);
	assert_int_equal(plan.bars[0].left, 49);
}

/* Nothing is left once the steps are used up: no plan is found where the first
 * guess fails, though there is one. */
static void without_steps_it_says_that_it_does_not_know(void **state)
{
	const struct cutting_piece pieces[] = {{7, 1}, {6, 2}};
	const struct cutting_stock stocks[] = {{12, 1, 0}, {7, 1, 0}};
	struct cutting_order order = {pieces, 2, stocks, 2, {0, 0}, 1};
	struct cutting_plan plan;
	struct cutting_fault fault;

	(void)state;
	assert_int_equal(cutting_plan(arena, &order, &plan, &fault), ST_INVALID);
	assert_int_equal(fault.kind, CUTTING_NOT_FOUND);
	order.steps = CUTTING_STEPS;
	assert_int_equal(cutting_plan(arena, &order, &plan, &fault), ST_OK);
	assert_int_equal(plan.cost, 0);
	assert_true(plan.proved);
}

struct random_order {
	struct cutting_piece pieces[8];
	struct cutting_stock stocks[3];
	struct cutting_order order;
};

static void make_order(uint64_t *seed, struct random_order *r)
{
	r->order = (struct cutting_order){r->pieces, 1 + next_random(seed) % 8,
	                                  r->stocks, 1 + next_random(seed) % 3,
	                                  {0, 0},    20000};
	r->order.saw.kerf = (int64_t)(next_random(seed) % 4);
	r->order.saw.trim = (int64_t)(next_random(seed) % 3);
	for (size_t i = 0; i < r->order.n_pieces; i++)
		r->pieces[i] = (struct cutting_piece){1 + (int64_t)(next_random(seed) % 50),
		                                      1 + (unsigned)(next_random(seed) % 6)};
	for (size_t j = 0; j < r->order.n_stocks; j++)
		r->stocks[j] =
		        (struct cutting_stock){60 + (int64_t)(next_random(seed) % 80), CUTTING_ANY,
		                               1 + (int64_t)(next_random(seed) % 99)};
}

/* A saw that takes less, a piece fewer, a bar more to choose from: none of them
 * may raise the least cost (where both plans are proved). */
static void less_to_do_never_costs_more(void **state)
{
	uint64_t seed = 4;
	unsigned compared = 0;

	(void)state;
	for (unsigned round = 0; round < 200; round++) {
		struct random_order r;
		struct cutting_plan plan, easier;
		struct cutting_fault fault;

		arena_reset(arena);
		make_order(&seed, &r);
		if (r.order.n_stocks == 1)
			continue;
		r.order.n_stocks--;
		assert_int_equal(cutting_plan(arena, &r.order, &plan, &fault), ST_OK);
		switch (round % 3) {
		case 0:
			r.order.n_stocks++;
			break;
		case 1:
			r.order.saw = (struct cutting_saw){0, 0};
			break;
		default:
			r.pieces[0].count--;
			break;
		}
		assert_int_equal(cutting_plan(arena, &r.order, &easier, &fault), ST_OK);
		assert_true(easier.bound <= plan.cost);
		if (plan.proved && easier.proved) {
			assert_true(easier.cost <= plan.cost);
			compared++;
		}
	}
	assert_true(compared > 100);
}

/* Every piece that is wanted is cut, no more bars are used than there are, and
 * every bar holds what is cut from it. */
static void assert_holds(const struct cutting_order *order, const struct cutting_plan *plan)
{
	unsigned used[CUTTING_STOCKS] = {0};
	int64_t cost = 0;

	for (size_t i = 0; i < plan->n_pieces; i++) {
		unsigned wanted = 0, cut = 0;

		assert_true(i == 0 || plan->pieces[i].length < plan->pieces[i - 1].length);
		for (size_t k = 0; k < order->n_pieces; k++)
			if (order->pieces[k].length == plan->pieces[i].length)
				wanted += order->pieces[k].count;
		for (size_t b = 0; b < plan->n_bars; b++)
			cut += plan->bars[b].times * plan->bars[b].count[i];
		assert_int_equal(plan->pieces[i].count, wanted);
		assert_int_equal(cut, wanted);
	}
	for (size_t b = 0; b < plan->n_bars; b++) {
		const struct cutting_bar *bar = &plan->bars[b];
		const struct cutting_stock *stock = &order->stocks[bar->stock];
		int64_t length = 0, cuts = 0;

		for (size_t i = 0; i < plan->n_pieces; i++) {
			length += bar->count[i] * plan->pieces[i].length;
			cuts += bar->count[i];
		}
		assert_true(cuts > 0 && bar->times > 0);
		length += (cuts - 1) * order->saw.kerf;
		length += 2 * order->saw.trim;
		assert_true(length <= stock->length);
		/* The cut behind the last piece, unless the bar ends with it. */
		assert_int_equal(bar->left, stock->length - length > order->saw.kerf
		                                    ? stock->length - length - order->saw.kerf
		                                    : 0);
		used[bar->stock] += bar->times;
		cost += bar->times * stock->cost;
	}
	for (size_t j = 0; j < order->n_stocks; j++)
		assert_true(used[j] <= order->stocks[j].count);
	assert_int_equal(plan->cost, cost);
	assert_true(plan->bound <= plan->cost);
	assert_int_equal(plan->proved, plan->bound == plan->cost);
}

/* Every piece of every length that is wanted stands in the plan. */
static void assert_all_wanted(const struct cutting_order *order, const struct cutting_plan *plan)
{
	unsigned wanted = 0, planned = 0;

	for (size_t k = 0; k < order->n_pieces; k++)
		wanted += order->pieces[k].count;
	for (size_t i = 0; i < plan->n_pieces; i++)
		planned += plan->pieces[i].count;
	assert_int_equal(planned, wanted);
}

/* By trying every row of bars: what is left of each piece, in order of length. */
struct tried {
	const struct cutting_order *order;
	int64_t length[4];
	uint32_t bars[3];
};

static int64_t cheapest(struct tried *t, unsigned left[4]);

/* The least cost when this bar, of which `room` is left, is filled on from piece i. */
static int64_t cheapest_from(struct tried *t, unsigned left[4], size_t i, int64_t room)
{
	int64_t size, least;

	if (i == 4)
		return cheapest(t, left);
	least = cheapest_from(t, left, i + 1, room);
	size = t->length[i] + t->order->saw.kerf;
	if (left[i] > 0 && size <= room) {
		int64_t cost;

		left[i]--;
		cost = cheapest_from(t, left, i, room - size);
		left[i]++;
		least = cost < least ? cost : least;
	}
	return least;
}

#define NO_WAY INT64_C(1000000000000)

static int64_t cheapest(struct tried *t, unsigned left[4])
{
	int64_t least = NO_WAY;
	size_t i = 0;

	while (i < 4 && left[i] == 0)
		i++;
	if (i == 4)
		return 0;
	for (size_t j = 0; j < t->order->n_stocks; j++) {
		const struct cutting_stock *stock = &t->order->stocks[j];
		int64_t room = stock->length - 2 * t->order->saw.trim + t->order->saw.kerf;
		int64_t size = t->length[i] + t->order->saw.kerf, cost;

		if (t->bars[j] == 0 || size > room)
			continue;
		t->bars[j] -= t->bars[j] != CUTTING_ANY;
		left[i]--;
		cost = stock->cost + cheapest_from(t, left, i, room - size);
		left[i]++;
		t->bars[j] += t->bars[j] != CUTTING_ANY;
		least = cost < least ? cost : least;
	}
	return least;
}

static int64_t cheapest_of(const struct cutting_order *order)
{
	struct tried t = {.order = order};
	unsigned left[4] = {0};

	for (size_t i = 0; i < order->n_pieces; i++) {
		t.length[i] = order->pieces[i].length;
		left[i] = order->pieces[i].count;
	}
	for (size_t j = 0; j < order->n_stocks; j++)
		t.bars[j] = order->stocks[j].count;
	return cheapest(&t, left);
}

/* Few pieces, so that every plan can be tried; bars of limited number among them,
 * and counts of 0, which a builder's list may hold. */
static void make_small_order(uint64_t *seed, struct random_order *r)
{
	static const uint64_t steps[] = {1, 30, 300, CUTTING_STEPS};

	make_order(seed, r);
	r->order.n_pieces = 1 + next_random(seed) % 4;
	r->order.steps = steps[next_random(seed) % 4];
	for (size_t i = 0; i < r->order.n_pieces; i++)
		r->pieces[i].count = (unsigned)(next_random(seed) % 4);
	for (size_t j = 0; j < r->order.n_stocks; j++) {
		r->stocks[j].count =
		        next_random(seed) % 2 ? CUTTING_ANY : (uint32_t)(next_random(seed) % 5);
		if (r->stocks[j].count != CUTTING_ANY && next_random(seed) % 3 == 0)
			r->stocks[j].cost = 0;
	}
}

static void a_plan_holds_what_is_wanted_and_what_it_says_of_its_cost(void **state)
{
	uint64_t seed = 11;
	unsigned planned = 0, proved = 0, refusals = 0;

	(void)state;
	for (unsigned round = 0; round < 3000; round++) {
		struct random_order r;
		struct cutting_plan plan;
		struct cutting_fault fault;
		int64_t least;
		enum status status;

		arena_reset(arena);
		make_small_order(&seed, &r);
		status = cutting_plan(arena, &r.order, &plan, &fault);
		least = cheapest_of(&r.order);
		if (status != ST_OK) {
			/* That there is none is said only where that is so. */
			assert_true(fault.kind == CUTTING_NOT_FOUND ||
			            fault.kind == CUTTING_TOO_SHORT || least == NO_WAY);
			refusals++;
			continue;
		}
		assert_holds(&r.order, &plan);
		assert_all_wanted(&r.order, &plan);
		assert_true(plan.bound <= least && least <= plan.cost);
		planned++;
		proved += plan.proved;
	}
	assert_true(planned > 1500 && proved > 1000 && refusals > 100);
}

/* Of the order as make_ready in cutting.c makes it, with costs as they are. */
struct raw {
	int64_t size[60], capacity[4], cost[4];
	unsigned demand[60];
	uint32_t bars[4];
	struct ready ready;
};

static void make_raw(uint64_t *seed, size_t n, int64_t shortest, struct raw *raw)
{
	raw->ready = (struct ready){n,
	                            1 + next_random(seed) % 4,
	                            raw->size,
	                            raw->demand,
	                            raw->capacity,
	                            raw->bars,
	                            raw->cost};
	for (size_t i = n; i-- > 0;) {
		int64_t above = i + 1 < n ? raw->size[i + 1] : shortest;

		raw->size[i] = above + 1 + (int64_t)(next_random(seed) % 3);
		raw->demand[i] = 1 + (unsigned)(next_random(seed) % 5);
	}
	for (size_t j = 0; j < raw->ready.m; j++) {
		raw->capacity[j] = raw->size[0] * (int64_t)(1 + next_random(seed) % 6) +
		                   (int64_t)(next_random(seed) % 50);
		raw->bars[j] = j == 0 || next_random(seed) % 2 ? CUTTING_ANY : 3;
		raw->cost[j] = 1 + (int64_t)(next_random(seed) % 40);
	}
}

/* The most that a bar can be worth, exactly: one piece after the other, by room. */
static int64_t worth_most(const struct raw *raw, const int64_t *price, int64_t capacity)
{
	static int64_t worth[4096];

	assert_true(capacity < 4096);
	memset(worth, 0, sizeof worth);
	for (size_t i = 0; i < raw->ready.n; i++)
		for (unsigned k = 0; k < raw->demand[i]; k++)
			for (int64_t room = capacity; room >= raw->size[i]; room--) {
				int64_t with = worth[room - raw->size[i]] + price[i];

				worth[room] = with > worth[room] ? with : worth[room];
			}
	return worth[capacity];
}

/* No pattern is worth more than its bar (cutting_parts.h): that is the whole proof
 * of "no other plan costs less", however the prices came about. */
static void assert_bound_is_a_proof(const struct raw *raw)
{
	struct bound bound;

	assert_int_equal(cutting_bound(arena, &raw->ready, &bound), ST_OK);
	for (size_t i = 0; i < raw->ready.n; i++)
		assert_true(bound.price[i] >= 0);
	for (size_t j = 0; j < raw->ready.m; j++) {
		assert_true(bound.rent[j] >= 0);
		if (raw->bars[j] == CUTTING_ANY)
			assert_int_equal(bound.rent[j], 0);
		assert_true(worth_most(raw, bound.price, raw->capacity[j]) <=
		            CUTTING_SCALE * raw->cost[j] + bound.rent[j]);
	}
}

static void the_bound_is_a_proof(void **state)
{
	uint64_t seed = 5;
	struct raw raw;

	(void)state;
	for (unsigned round = 0; round < 400; round++) {
		arena_reset(arena);
		make_raw(&seed, 1 + round % 12, 1 + (int64_t)(round % 40), &raw);
		assert_bound_is_a_proof(&raw);
	}
	/* So many, and so alike, that the knapsack gives up. */
	for (unsigned round = 0; round < 6; round++) {
		arena_reset(arena);
		make_raw(&seed, 60, 200, &raw);
		assert_bound_is_a_proof(&raw);
	}
}

static bool plan_something(struct arena *short_of_room)
{
	const struct cutting_piece pieces[] = {{30, 3}, {20, 4}, {7, 2}};
	const struct cutting_stock stocks[] = {{80, CUTTING_ANY, 5}, {70, 1, 0}};
	const struct cutting_order order = {pieces, 3, stocks, 2, {1, 1}, CUTTING_STEPS};
	struct cutting_plan plan;
	struct cutting_fault fault;
	enum status status = cutting_plan(short_of_room, &order, &plan, &fault);

	assert_true(status == ST_OK || status == ST_NOMEM);
	return status == ST_OK;
}

static void memory_may_run_out(void **state)
{
	(void)state;
	try_each_place(plan_something);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(what_cannot_be_planned_is_refused_with_its_place),
	        cmocka_unit_test(sizes_have_limits),
	        cmocka_unit_test(nothing_wanted_needs_no_bar),
	        cmocka_unit_test(a_kerf_lies_between_two_pieces_only),
	        cmocka_unit_test(without_steps_it_says_that_it_does_not_know),
	        cmocka_unit_test(less_to_do_never_costs_more),
	        cmocka_unit_test(a_plan_holds_what_is_wanted_and_what_it_says_of_its_cost),
	        cmocka_unit_test(the_bound_is_a_proof),
	        cmocka_unit_test(memory_may_run_out),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
