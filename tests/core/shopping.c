/* What open notices ask for, and the lists that add it up. */
#include "build.h"

#include <stdlib.h>
#include <string.h>

#include "core/contribution.h"
#include "core/shopping.h"

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

/* ---- two notices, a book, a kit ---- */

static struct notice_line line(const char *part, const char *position, const char *replacement,
                               enum disposition disposition)
{
	return (struct notice_line){.part = make_name(arena, part),
	                            .position = make_name(arena, position),
	                            .replacement = make_name(arena, replacement),
	                            .disposition = disposition,
	                            .lots_text = "",
	                            .remark = ""};
}

static struct notice_material material(const char *item, const char *quantity, const char *cut)
{
	struct notice_material made = {
	        .item = item, .number = make_name(arena, item), .quantity = quantity};
	struct cuts_fault fault;

	if (cut)
		assert_int_equal(cuts_parse(arena, cut, &made.cuts, &made.n_cuts, &fault), ST_OK);
	else
		assert_int_equal(amount_read(arena, quantity, &made.amount), ST_OK);
	return made;
}

static struct notice notice(int64_t id, const char *number, const struct notice_line *lines,
                            size_t n_lines, const struct notice_material *rows, size_t n_rows)
{
	return (struct notice){.id = {id},
	                       .number = make_name(arena, number),
	                       .revision = make_name(arena, NULL),
	                       .effectivity = make_statement(arena, "all"),
	                       .lines = lines,
	                       .n_lines = n_lines,
	                       .material = rows,
	                       .n_material = n_rows,
	                       .issued = make_date("2015")};
}

struct scene {
	const struct catalogue *catalogue;
	const struct parts_book *book;
	struct kit_state kit;
	uint32_t left[2];
	struct record records[3];
};

/* SB-1 replaces left and right by B (not among its material) and two C by D
 * (named there, with four); SB-2 asks for B and rivets once more. */
static void make_notices(struct scene *scene)
{
	struct notice_line *lines = ARENA_ARRAY(arena, struct notice_line, 6);
	struct notice_material *rows = ARENA_ARRAY(arena, struct notice_material, 6);
	struct notice notices[2];

	lines[0] = line("A", "left", "B", DISPOSE_REPLACE);
	lines[1] = line("A", "right", "b", DISPOSE_REPLACE);
	lines[2] = line("C", "left", "D", DISPOSE_REPLACE);
	lines[3] = line("C", "right", "D", DISPOSE_REPLACE);
	lines[4] = line("E", "", "F", DISPOSE_REWORK);
	lines[5] = line("G", "", NULL, DISPOSE_REPLACE);
	rows[0] = material("D", "4", NULL);
	rows[1] = material("rivet", "10", NULL);
	rows[2] = material("sealant", "as required", NULL);
	rows[3] = material("AA-1", "", "2 x 3 in, 5 in");
	rows[4] = material("B", "1", NULL);
	rows[5] = material("rivet", "5", NULL);
	notices[0] = notice(1, "SB-1", lines, 6, rows, 4);
	notices[1] = notice(2, "SB-2", NULL, 0, rows + 4, 2);
	assert_int_equal(catalogue_build(arena, notices, 2, &scene->catalogue), ST_OK);
	scene->left[0] = 0;
	scene->left[1] = 1;
}

static void make_kit(struct scene *scene, const char *facts, size_t records)
{
	static const char *const parts[][2] = {{"A", "left"}, {"C", "right"}, {"E", ""}};

	for (size_t i = 0; i < records; i++)
		scene->records[i] = (struct record){.id = {(int64_t)i + 7},
		                                    .notice = make_name(arena, "SB-1"),
		                                    .revision = make_name(arena, NULL),
		                                    .part = make_name(arena, parts[i][0]),
		                                    .position = make_name(arena, parts[i][1]),
		                                    .done = make_date("2016")};
	assert_int_equal(kit_state_make(arena, make_facts(arena, facts), scene->records, records,
	                                NULL, &scene->kit),
	                 ST_OK);
}

/* Sub-kit 4 brought three of B2, which took the place of B, for ever. */
static void make_parts(struct scene *scene)
{
	struct packing_list *list = ARENA_NEW(arena, struct packing_list);
	struct packed_part *part = ARENA_NEW(arena, struct packed_part);
	struct number_change *change = ARENA_NEW(arena, struct number_change);
	struct name *model = ARENA_NEW(arena, struct name);

	*model = make_name(arena, "W");
	*part = (struct packed_part){make_name(arena, "B2"), make_name(arena, ""), 3000, "1", ""};
	*change = (struct number_change){make_name(arena, "B"), make_name(arena, "B2")};
	*list = (struct packing_list){.name = make_name(arena, "PL"),
	                              .subkit = make_name(arena, "4"),
	                              .title = "",
	                              .models = model,
	                              .n_models = 1,
	                              .shipped = {DAY_FIRST, DAY_LAST},
	                              .parts = part,
	                              .n_parts = 1};
	assert_int_equal(parts_book_build(arena,
	                                  &(struct parts_source){list, change, NULL, 1, 1, 0},
	                                  &scene->book, NULL),
	                 ST_OK);
}

static void make_scene(struct scene *scene, const char *facts, size_t records)
{
	make_notices(scene);
	make_parts(scene);
	make_kit(scene, facts, records);
}

static size_t want(struct scene *scene, const struct wanted **out)
{
	size_t count = 0;

	assert_int_equal(wanted_list(arena, scene->book, scene->catalogue, scene->left, 2,
	                             &scene->kit, NULL, 0, out, &count),
	                 ST_OK);
	return count;
}

static void assert_wanted(const struct wanted *w, const char *item, int64_t pieces,
                          enum supply_state state, int64_t lacking)
{
	assert_string_equal(w->item, item);
	assert_int_equal(w->need.amount.thousandths, pieces * AMOUNT_ONE);
	assert_int_equal(w->supply.state, state);
	assert_int_equal(w->supply.lacking, lacking * AMOUNT_ONE);
}

static void open_lines_and_material_ask(void **state)
{
	struct scene scene;
	const struct wanted *w;

	(void)state;
	make_scene(&scene, "model W; subkit 4 = yes", 0);
	assert_int_equal(want(&scene, &w), 7);
	assert_wanted(&w[0], "B", 2, SUPPLY_HAVE, 0);
	assert_null(w[0].material);
	assert_wanted(&w[1], "D", 4, SUPPLY_SHORT, 4);
	assert_wanted(&w[2], "rivet", 10, SUPPLY_SHORT, 10);
	assert_wanted(&w[3], "sealant", 0, SUPPLY_SHORT, 0);
	assert_wanted(&w[4], "AA-1", 0, SUPPLY_SHORT, 0);
	/* Two of the three are promised to SB-1. */
	assert_wanted(&w[5], "B", 1, SUPPLY_HAVE, 0);
	assert_wanted(&w[6], "rivet", 5, SUPPLY_SHORT, 5);
	assert_string_equal(w[0].supply.order->text, "B2");
}

static void closed_lines_ask_no_more(void **state)
{
	struct scene scene;
	const struct wanted *w;

	(void)state;
	make_scene(&scene, "model W; subkit 4 = no", 2);
	assert_int_equal(want(&scene, &w), 7);
	assert_wanted(&w[0], "B", 1, SUPPLY_SHORT, 1);
	/* One of the two lines that D replaces is closed: half of the four. */
	assert_wanted(&w[1], "D", 2, SUPPLY_SHORT, 2);
	assert_wanted(&w[2], "rivet", 10, SUPPLY_SHORT, 10);
}

static void nothing_is_asked_where_all_lines_are_closed(void **state)
{
	struct scene scene;
	const struct wanted *w;

	(void)state;
	make_scene(&scene, "model W; subkit 4 = yes", 0);
	make_kit(&scene,
	         "model W; part b | at left; part B | at right; part D | at left;"
	         "part D | at right; subkit 4 = yes",
	         0);
	assert_int_equal(want(&scene, &w), 5);
	assert_wanted(&w[0], "rivet", 10, SUPPLY_SHORT, 10);
}

static void a_record_on_a_replaced_line_asks_where_the_part_came_from(void **state)
{
	struct scene scene;
	const struct taken_ask *asks;
	size_t count = 9;
	struct stock_entry answer = {.number = make_name(arena, "B2"),
	                             .unit = make_name(arena, ""),
	                             .act = STOCK_USED,
	                             .record = 7,
	                             .remark = ""};

	(void)state;
	make_scene(&scene, "model W; subkit 4 = yes", 3);
	assert_int_equal(
	        taken_asks(arena, scene.book, scene.catalogue, &scene.kit, NULL, 0, &asks, &count),
	        ST_OK);
	/* Of D the kit holds nothing, E is reworked. */
	assert_int_equal(count, 1);
	assert_int_equal(asks[0].record->id.v, 7);
	assert_string_equal(asks[0].number.text, "B2");
	assert_int_equal(taken_asks(arena, scene.book, scene.catalogue, &scene.kit, &answer, 1,
	                            &asks, &count),
	                 ST_OK);
	assert_int_equal(count, 0);
	answer.record = 8;
	assert_int_equal(taken_asks(arena, scene.book, scene.catalogue, &scene.kit, &answer, 1,
	                            &asks, &count),
	                 ST_OK);
	assert_int_equal(count, 1);
	scene.records[0].notice = make_name(arena, "SB-9");
	make_kit(&scene, "model W; subkit 4 = yes", 0);
	assert_int_equal(
	        taken_asks(arena, scene.book, scene.catalogue, &scene.kit, NULL, 0, &asks, &count),
	        ST_OK);
	assert_int_equal(count, 0);
}

static void a_list_adds_up_over_notices_and_kits(void **state)
{
	struct scene scene;
	const struct wanted *w;
	struct shopping shopping = {0};
	size_t count;

	(void)state;
	make_scene(&scene, "model W; subkit 4 = yes", 0);
	count = want(&scene, &w);
	for (size_t kit = 0; kit < 3; kit++)
		shopping_add(arena, &shopping, kit, w, count);
	shopping_sort(&shopping);
	assert_false(shopping.failed);
	assert_int_equal(shopping.n_rows, 3); /* D, rivet, sealant: B2 is there */
	assert_string_equal(shopping.rows[0].number.text, "D");
	assert_int_equal(shopping.rows[0].lacking, 12000);
	assert_string_equal(shopping.rows[1].number.text, "rivet");
	assert_int_equal(shopping.rows[1].lacking, 45000);
	assert_int_equal(shopping.rows[1].kits, 3);
	assert_int_equal(shopping.rows[1].notices, 2);
	assert_int_equal(shopping.rows[2].unstated, 3);
	assert_int_equal(shopping.n_cuts, 2);
	assert_int_equal(shopping.cuts[0].length.nm, 5 * LENGTH_INCH);
	assert_int_equal(shopping.cuts[0].count, 3);
	assert_int_equal(shopping.cuts[1].count, 6);
}

static void what_may_be_there_is_told_apart(void **state)
{
	struct scene scene;
	const struct wanted *w;
	struct shopping shopping = {0};
	size_t count;

	(void)state;
	make_scene(&scene, "model W", 0);
	count = want(&scene, &w);
	assert_int_equal(w[0].supply.state, SUPPLY_MAY_HAVE);
	shopping_add(arena, &shopping, 0, w, count);
	shopping_sort(&shopping);
	assert_string_equal(shopping.rows[0].number.text, "B2");
	assert_string_equal(shopping.rows[0].asked.text, "B");
	assert_int_equal(shopping.rows[0].lacking, 0);
	assert_int_equal(shopping.rows[0].uncertain, 3000);
}

/* Many numbers, units and notices: rows and slots grow, and add up as counted
 * here beside them. */
static void a_long_list_adds_up(void **state)
{
	enum { NUMBERS = 300, ADDED = 3000 };
	static int64_t by_hand[NUMBERS][2];
	static struct catalogue_entry entries[9];
	struct shopping shopping = {0};
	struct name units[2] = {make_name(arena, ""), make_name(arena, "ft")};
	int64_t sum = 0, listed = 0;
	uint64_t seed = 3;

	(void)state;
	memset(by_hand, 0, sizeof by_hand);
	for (unsigned i = 0; i < ADDED; i++) {
		size_t n = next_random(&seed) % NUMBERS, u = next_random(&seed) % 2;
		struct name number = make_name(arena, arena_printf(arena, "N-%zu", n));
		struct wanted w = {.entry = &entries[next_random(&seed) % 9], .item = "x"};

		w.need = (struct need){number, {1000, units[u]}, 0};
		w.supply = (struct supply){
		        .state = SUPPLY_SHORT, .lacking = 1000 * (int64_t)i, .order = &number};
		by_hand[n][u] += 1000 * (int64_t)i;
		shopping_add(arena, &shopping, i / 10, &w, 1);
	}
	shopping_sort(&shopping);
	for (size_t r = 0; r < shopping.n_rows; r++) {
		const struct shopping_row *row = &shopping.rows[r];
		size_t n = (size_t)strtoul(row->number.text + 2, NULL, 10);

		assert_int_equal(row->lacking, by_hand[n][!name_is_empty(&row->unit)]);
		assert_true(row->notices >= 1 && row->notices <= 9);
		listed += row->lacking;
	}
	for (size_t n = 0; n < NUMBERS; n++)
		sum += by_hand[n][0] + by_hand[n][1];
	assert_int_equal(listed, sum);
}

static void many_lengths_are_kept_apart(void **state)
{
	struct shopping shopping = {0};
	struct name stocks[2] = {make_name(arena, "B"), make_name(arena, "A")};

	(void)state;
	for (unsigned i = 0; i < 200; i++) {
		struct cut cut = {{1 + i % 50, false}, 1};

		shopping_add_cuts(arena, &shopping, &stocks[i % 2], "x", &cut, 1);
	}
	shopping_sort(&shopping);
	assert_int_equal(shopping.n_cuts, 50);
	for (size_t i = 0; i < shopping.n_cuts; i++)
		assert_int_equal(shopping.cuts[i].count, 4);
	assert_string_equal(shopping.cuts[0].stock.text, "A");
	assert_true(shopping.cuts[0].length.nm > shopping.cuts[1].length.nm);
}

static void nothing_wanted_sorts_too(void **state)
{
	struct shopping shopping = {0};

	(void)state;
	shopping_sort(&shopping);
	assert_int_equal(shopping.n_rows, 0);
}

/* ---- kept for each kit, and summed ---- */

/* Kits that differ in facts, in what is done, and in what is left to do. */
static const struct {
	const char *facts;
	size_t records, n_left;
} kits[] = {
        {"model W", 0, 2},
        {"model W; subkit 4 = yes", 1, 2},
        {"model W; subkit 4 = yes", 0, 1},
        {"model W; subkit 4 = no", 3, 2},
        {"model W", 0, 0},
        {"model W; subkit 4 = no", 0, 2},
};
#define KITS (sizeof kits / sizeof *kits)

/* One notices' catalogue and book for all, as in a chapter. */
static size_t want_of_kit(struct scene *scene, size_t i, const struct wanted **out)
{
	size_t count;

	make_kit(scene, kits[i].facts, kits[i].records);
	assert_int_equal(wanted_list(arena, scene->book, scene->catalogue, scene->left,
	                             kits[i].n_left, &scene->kit, NULL, 0, out, &count),
	                 ST_OK);
	return count;
}

static struct contribution *kept(struct scene *scene, const struct wanted *w, size_t count)
{
	static const struct contribution_cut own[] = {{"AA-1", "spars", {7, false}, 3},
	                                              {"AA-2", "", {9, true}, 1}};
	struct contribution made, *copy;

	assert_int_equal(contribution_make(arena, scene->catalogue, w, count, &made), ST_OK);
	made.cuts = own;
	made.n_cuts = count % 3;
	copy = malloc(contribution_size(&made));
	assert_non_null(copy);
	return contribution_copy(&made, copy);
}

static void assert_same_list(const struct shopping *a, const struct shopping *b)
{
	assert_int_equal(a->n_rows, b->n_rows);
	for (size_t i = 0; i < a->n_rows; i++) {
		const struct shopping_row *x = &a->rows[i], *y = &b->rows[i];

		assert_string_equal(x->number.text, y->number.text);
		assert_string_equal(x->asked.text, y->asked.text);
		assert_string_equal(x->unit.text ? x->unit.text : "",
		                    y->unit.text ? y->unit.text : "");
		assert_int_equal(x->lacking, y->lacking);
		assert_int_equal(x->uncertain, y->uncertain);
		assert_int_equal(x->unstated, y->unstated);
		assert_int_equal(x->kits, y->kits);
		assert_int_equal(x->notices, y->notices);
	}
	assert_int_equal(a->n_cuts, b->n_cuts);
	for (size_t i = 0; i < a->n_cuts; i++) {
		assert_string_equal(a->cuts[i].stock.text, b->cuts[i].stock.text);
		assert_int_equal(a->cuts[i].length.nm, b->cuts[i].length.nm);
		assert_int_equal(a->cuts[i].count, b->cuts[i].count);
	}
}

/* The same as adding up what the kits want one after the other. */
static void what_is_kept_of_kits_adds_up_as_they_do(void **state)
{
	struct scene scene;
	struct shopping at_once = {0};
	struct contribution_sum sum;

	(void)state;
	make_scene(&scene, "model W", 0);
	assert_int_equal(contribution_sum_begin(arena, scene.catalogue, scene.book, &sum), ST_OK);
	for (size_t i = 0; i < KITS; i++) {
		const struct wanted *w;
		size_t count = want_of_kit(&scene, i, &w);
		struct contribution *kit = kept(&scene, w, count);

		shopping_add(arena, &at_once, i, w, count);
		for (size_t k = 0; k < kit->n_cuts; k++) {
			struct name stock = make_name(arena, kit->cuts[k].stock);
			struct cut cut = {kit->cuts[k].length, kit->cuts[k].count};

			shopping_add_cuts(arena, &at_once, &stock, "", &cut, 1);
		}
		contribution_add(&sum, kit);
		free(kit); /* nothing of it is borrowed */
	}
	shopping_sort(&at_once);
	assert_int_equal(contribution_sum_end(&sum), ST_OK);
	assert_int_equal(sum.kits, KITS);
	assert_true(at_once.n_rows > 3 && at_once.n_cuts > 3);
	assert_same_list(&at_once, &sum.shopping);
}

static struct scene ready;

static bool sum_up(struct arena *short_of_room)
{
	struct contribution_sum sum;
	struct contribution made;
	const struct wanted *w;
	size_t count;

	if (wanted_list(short_of_room, ready.book, ready.catalogue, ready.left, 2, &ready.kit, NULL,
	                0, &w, &count) != ST_OK ||
	    contribution_make(short_of_room, ready.catalogue, w, count, &made) != ST_OK ||
	    contribution_sum_begin(short_of_room, ready.catalogue, ready.book, &sum) != ST_OK)
		return false;
	contribution_add(&sum, &made);
	return contribution_sum_end(&sum) == ST_OK;
}

static bool shop(struct arena *short_of_room)
{
	const struct wanted *w;
	const struct taken_ask *asks;
	struct shopping shopping = {0};
	size_t count;

	if (wanted_list(short_of_room, ready.book, ready.catalogue, ready.left, 2, &ready.kit, NULL,
	                0, &w, &count) != ST_OK)
		return false;
	shopping_add(short_of_room, &shopping, 0, w, count);
	if (shopping.failed)
		return false;
	shopping_sort(&shopping);
	return taken_asks(short_of_room, ready.book, ready.catalogue, &ready.kit, NULL, 0, &asks,
	                  &count) == ST_OK;
}

static void memory_may_run_out(void **state)
{
	(void)state;
	make_scene(&ready, "model W; subkit 4 = yes", 1);
	try_each_place(shop);
	try_each_place(sum_up);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(open_lines_and_material_ask),
	        cmocka_unit_test(closed_lines_ask_no_more),
	        cmocka_unit_test(nothing_is_asked_where_all_lines_are_closed),
	        cmocka_unit_test(a_record_on_a_replaced_line_asks_where_the_part_came_from),
	        cmocka_unit_test(a_list_adds_up_over_notices_and_kits),
	        cmocka_unit_test(what_may_be_there_is_told_apart),
	        cmocka_unit_test(a_long_list_adds_up),
	        cmocka_unit_test(many_lengths_are_kept_apart),
	        cmocka_unit_test(nothing_wanted_sorts_too),
	        cmocka_unit_test(what_is_kept_of_kits_adds_up_as_they_do),
	        cmocka_unit_test(memory_may_run_out),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
