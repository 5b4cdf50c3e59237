/* Cutting plans: what is refused, and what must hold for every plan. That plans
 * are the cheapest is held against a solver in cutting-compare.py. */
#include "build.h"

#include "core/cutting.h"

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
	        cmocka_unit_test(memory_may_run_out),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
