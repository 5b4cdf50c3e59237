/* The book of parts, and what builders enter about their own. */
#include "fixture.h"

#include <string.h>

static const struct parts_book *book_of(struct world *w)
{
	const struct parts_book *book = NULL;

	assert_ok(parts_load(w->store, w->arena, &book));
	return book;
}

static int64_t generation_of(struct world *w)
{
	int64_t generation = 0;

	assert_ok(setting_generation(w->store, &generation));
	return generation;
}

static int64_t version_of(struct world *w)
{
	struct kit kit = {.id = {0}};

	assert_ok(kit_read(w->store, w->arena, w->kit, &kit));
	return kit.version;
}

static void the_book_reads_back(void **state)
{
	struct world *w = *state;
	const struct parts_book *book = book_of(w);
	const struct packing_list *a = &book->lists[0], *b = &book->lists[1];

	assert_int_equal(book->n_lists, 2);
	assert_string_equal(a->name.text, "PL-04 A");
	assert_string_equal(a->subkit.text, "4");
	assert_string_equal(a->title, "Fuselage");
	assert_int_equal(a->n_models, 2);
	assert_string_equal(a->models[1].text, "Whimbrel T");
	assert_int_equal(a->from.state, DATE_UNKNOWN);
	assert_int_equal(a->shipped.first, DAY_FIRST);
	assert_int_equal(a->shipped.last, day_from_civil(2013, 12, 31));
	assert_int_equal(b->shipped.first, day_from_civil(2014, 1, 1));
	assert_int_equal(b->shipped.last, DAY_LAST);
	assert_int_equal(a->n_parts, 2);
	assert_string_equal(a->parts[0].number.text, "WH-2207-1");
	assert_string_equal(a->parts[0].bag, "1107");
	assert_string_equal(a->parts[0].remark, "left and right");
	assert_int_equal(a->parts[0].quantity, 2000);
	assert_string_equal(a->parts[1].unit.text, "ft");
	assert_int_equal(book->n_changes, 1);
	assert_string_equal(book->changes[0].later.text, "WH-2207-2");
	assert_int_equal(book->n_stock, 1);
	assert_string_equal(book->stock[0].title, "angle");
	assert_int_equal(book->stock[0].n_lengths, 2);
	assert_int_equal(book->stock[0].lengths[0].length.nm, 72 * LENGTH_INCH);
	assert_true(book->stock[0].lengths[0].has_price);
	assert_int_equal(book->stock[0].lengths[0].price, 1450);
	assert_false(book->stock[0].lengths[1].has_price);
}

static void what_is_there_by_the_same_name_is_replaced(void **state)
{
	struct world *w = *state;
	struct parts_source source = parts_of(w->arena);
	struct packing_list list = source.lists[1];
	struct number_change change = {name_of(w->arena, "wh-2207-1"), name_of(w->arena, "X")};
	struct stock_code stock = source.stock[0];
	int64_t before = generation_of(w);
	const struct parts_book *book;

	list.name = name_of(w->arena, "pl-04 b");
	list.n_parts = 1;
	list.title = "new";
	stock.code = name_of(w->arena, "aa-1");
	stock.n_lengths = 0;
	assert_ok(parts_import(w->store, &(struct parts_source){&list, &change, &stock, 1, 1, 1}));
	assert_int_equal(generation_of(w), before + 1);
	book = book_of(w);
	assert_int_equal(book->n_lists, 2);
	assert_string_equal(book->lists[1].title, "new");
	assert_int_equal(book->n_places, 3);
	assert_int_equal(book->n_changes, 1);
	assert_string_equal(book->changes[0].later.text, "X");
	assert_int_equal(book->n_stock, 1);
	assert_int_equal(book->stock[0].n_lengths, 0);
}

static void a_book_that_contradicts_itself_is_refused_whole(void **state)
{
	struct world *w = *state;
	struct parts_source source = parts_of(w->arena);
	struct packing_list lists[2] = {source.lists[0], source.lists[0]};
	struct number_change back = {name_of(w->arena, "WH-2207-2"),
	                             name_of(w->arena, "WH-2207-1")};
	struct number_change twice[2] = {back, back};
	struct stock_code stock[2] = {source.stock[0], source.stock[0]};
	struct text before = TEXT_EMPTY, after = TEXT_EMPTY;

	dump_database(w->store, &before);
	/* One name twice. */
	assert_int_equal(
	        parts_import(w->store, &(struct parts_source){.lists = lists, .n_lists = 2}),
	        ST_CONFLICT);
	/* Days in common with a list that is there. */
	lists[0].name = name_of(w->arena, "PL-04 X");
	assert_int_equal(
	        parts_import(w->store, &(struct parts_source){.lists = lists, .n_lists = 1}),
	        ST_CONFLICT);
	/* A circle with a change that is there; a number twice; a code twice. */
	assert_int_equal(
	        parts_import(w->store, &(struct parts_source){.changes = &back, .n_changes = 1}),
	        ST_CONFLICT);
	assert_int_equal(
	        parts_import(w->store, &(struct parts_source){.changes = twice, .n_changes = 2}),
	        ST_CONFLICT);
	assert_int_equal(
	        parts_import(w->store, &(struct parts_source){.stock = stock, .n_stock = 2}),
	        ST_CONFLICT);
	dump_database(w->store, &after);
	assert_string_equal(text_string(&before), text_string(&after));
	text_free(&before);
	text_free(&after);
}

static void parts_of_the_book_are_removed_by_name(void **state)
{
	struct world *w = *state;
	int64_t before = generation_of(w);

	assert_int_equal(parts_remove(w->store, PARTS_LIST, "PL-99"), ST_MISSING);
	assert_int_equal(parts_remove(w->store, PARTS_CHANGE, "PL-04 A"), ST_MISSING);
	assert_int_equal(parts_remove(w->store, PARTS_STOCK, ""), ST_MISSING);
	assert_int_equal(generation_of(w), before);
	assert_ok(parts_remove(w->store, PARTS_LIST, "pl-04 a"));
	assert_ok(parts_remove(w->store, PARTS_CHANGE, "WH-2207-1"));
	assert_ok(parts_remove(w->store, PARTS_STOCK, "AA-1"));
	assert_int_equal(generation_of(w), before + 3);
	assert_int_equal(book_of(w)->n_lists, 1);
	assert_int_equal(book_of(w)->n_changes, 0);
	assert_int_equal(book_of(w)->n_stock, 0);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM stock_lengths"), 0);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM packing_list_parts"), 2);
}

static void entries_are_kept_in_order_and_taken_back(void **state)
{
	struct world *w = *state;
	struct stock_entry entry = stock_of(w->arena, "WH-41", STOCK_COUNTED);
	const struct stock_entry *entries;
	size_t count;
	int64_t before = version_of(w);

	entry.unit = name_of(w->arena, "ft");
	entry.quantity = 0;
	entry.record = w->record.v;
	entry.remark = "in the crate";
	assert_ok(kit_stock_add(w->store, w->kit, &entry, NOW + 5));
	assert_int_equal(version_of(w), before + 1);
	assert_ok(kit_stock_list(w->store, w->arena, w->kit, &entries, &count));
	assert_int_equal(count, 2);
	assert_int_equal(entries[0].act, STOCK_USED);
	assert_int_equal(entries[0].record, 0);
	assert_string_equal(entries[1].number.text, "WH-41");
	assert_string_equal(entries[1].unit.text, "ft");
	assert_string_equal(entries[1].remark, "in the crate");
	assert_int_equal(entries[1].record, w->record.v);
	assert_int_equal(entries[1].quantity, 0);
	assert_int_equal(entries[1].entered_at, NOW + 5);
	assert_int_equal(kit_stock_remove(w->store, w->bare_kit, entries[0].id), ST_MISSING);
	assert_int_equal(kit_stock_remove(w->store, w->kit, 99), ST_MISSING);
	assert_ok(kit_stock_remove(w->store, w->kit, entries[0].id));
	assert_int_equal(version_of(w), before + 2);
	assert_ok(kit_stock_list(w->store, w->arena, w->kit, &entries, &count));
	assert_int_equal(count, 1);
}

static void bad_entries_are_refused(void **state)
{
	struct world *w = *state;
	struct stock_entry entry = stock_of(w->arena, "", STOCK_USED);
	int64_t before = version_of(w);

	assert_int_equal(kit_stock_add(w->store, w->kit, &entry, NOW), ST_CONFLICT);
	entry = stock_of(w->arena, "X", STOCK_USED);
	entry.record = 99;
	assert_int_equal(kit_stock_add(w->store, w->kit, &entry, NOW), ST_CONFLICT);
	entry.record = w->record.v; /* of another kit */
	assert_int_equal(kit_stock_add(w->store, w->bare_kit, &entry, NOW), ST_CONFLICT);
	entry.record = 0;
	entry.quantity = -1;
	assert_int_equal(kit_stock_add(w->store, w->kit, &entry, NOW), ST_CONFLICT);
	entry.quantity = 1;
	assert_int_equal(kit_stock_add(w->store, (struct kit_id){99}, &entry, NOW), ST_MISSING);
	assert_int_equal(version_of(w), before);
}

static void entries_have_a_limit(void **state)
{
	struct world *w = *state;
	const struct stock_entry entry = stock_of(w->arena, "X", STOCK_GOT);
	const struct kit_length length = {
	        .stock = name_of(w->arena, "AA-1"), .cut = "3 in", .remark = ""};

	sql_exec(w->store, "WITH RECURSIVE n(i) AS (SELECT 2 UNION ALL SELECT i + 1 FROM n"
	                   " WHERE i < 4999) INSERT INTO kit_stock (kit_id, part, unit, act,"
	                   " quantity, remark, entered_at) SELECT 1, 'X', '', 1, 1, '', 1 FROM n");
	assert_ok(kit_stock_add(w->store, w->kit, &entry, NOW));
	assert_int_equal(kit_stock_add(w->store, w->kit, &entry, NOW), ST_LIMIT);
	for (int i = 1; i < KIT_LENGTHS_MOST; i++)
		assert_ok(kit_length_add(w->store, w->kit, &length));
	assert_int_equal(kit_length_add(w->store, w->kit, &length), ST_LIMIT);
}

static void lengths_are_kept_and_removed(void **state)
{
	struct world *w = *state;
	struct kit_length length = {.use = LENGTH_ON_HAND,
	                            .stock = name_of(w->arena, "TB-2"),
	                            .cut = "3 x 72 in",
	                            .remark = "left over"};
	const struct kit_length *lengths;
	size_t count;
	int64_t before = version_of(w);

	assert_ok(kit_length_add(w->store, w->kit, &length));
	assert_int_equal(version_of(w), before + 1);
	assert_ok(kit_length_list(w->store, w->arena, w->kit, &lengths, &count));
	assert_int_equal(count, 2);
	assert_int_equal(lengths[0].use, LENGTH_WANTED);
	assert_int_equal(lengths[1].use, LENGTH_ON_HAND);
	assert_string_equal(lengths[1].stock.text, "TB-2");
	assert_string_equal(lengths[1].cut, "3 x 72 in");
	assert_string_equal(lengths[1].remark, "left over");
	assert_int_equal(kit_length_remove(w->store, w->bare_kit, lengths[1].id), ST_MISSING);
	assert_ok(kit_length_remove(w->store, w->kit, lengths[1].id));
	assert_int_equal(kit_length_remove(w->store, w->kit, lengths[1].id), ST_MISSING);
	length.cut = "";
	assert_int_equal(kit_length_add(w->store, w->kit, &length), ST_CONFLICT);
	assert_int_equal(kit_length_add(w->store, (struct kit_id){99}, &length), ST_MISSING);
}

static void a_kit_counts_only_when_its_builder_agrees(void **state)
{
	struct world *w = *state;
	struct kit kit;

	assert_ok(kit_read(w->store, w->arena, w->kit, &kit));
	assert_false(kit.counted_in);
	assert_ok(kit_set_counted_in(w->store, w->kit, true));
	assert_ok(kit_read(w->store, w->arena, w->kit, &kit));
	assert_true(kit.counted_in);
	assert_ok(kit_set_counted_in(w->store, w->kit, false));
	assert_ok(kit_read(w->store, w->arena, w->kit, &kit));
	assert_false(kit.counted_in);
	assert_int_equal(kit_set_counted_in(w->store, (struct kit_id){99}, true), ST_MISSING);
}

static void entries_go_with_their_kit(void **state)
{
	struct world *w = *state;

	assert_ok(kit_remove(w->store, w->kit));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM kit_stock"), 0);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM kit_lengths"), 0);
}

/* Material of notices comes with the catalogue, counted and ready to look up. */
static void material_is_compiled_with_its_notice(void **state)
{
	struct world *w = *state;
	const struct notice *notices;
	size_t count;
	int64_t generation;

	assert_ok(notice_load(w->store, w->arena, &notices, &count, &generation));
	assert_int_equal(notices[0].n_material, 2);
	assert_string_equal(notices[0].material[0].item, "Bolt");
	assert_string_equal(notices[0].material[0].number.text, "AN3-5A");
	assert_int_equal(notices[0].material[0].amount.thousandths, 2000);
	assert_int_equal(notices[0].material[0].n_cuts, 0);
	assert_string_equal(notices[0].material[1].number.text, "WH-AA-1");
	assert_int_equal(notices[0].material[1].n_cuts, 1);
	assert_int_equal(notices[0].material[1].cuts[0].count, 2);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, world_make, world_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(the_book_reads_back),
	        TEST(what_is_there_by_the_same_name_is_replaced),
	        TEST(a_book_that_contradicts_itself_is_refused_whole),
	        TEST(parts_of_the_book_are_removed_by_name),
	        TEST(entries_are_kept_in_order_and_taken_back),
	        TEST(bad_entries_are_refused),
	        TEST(entries_have_a_limit),
	        TEST(lengths_are_kept_and_removed),
	        TEST(a_kit_counts_only_when_its_builder_agrees),
	        TEST(entries_go_with_their_kit),
	        TEST(material_is_compiled_with_its_notice),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
