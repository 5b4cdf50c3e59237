/* What a kit holds, by packing lists and its builder's own entries. */
#include "build.h"

#include <string.h>

#include "core/holdings.h"

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

/* ---- a book ---- */

static struct day_range days(const char *from, const char *to)
{
	return (struct day_range){from ? make_day(from) : DAY_FIRST, to ? make_day(to) : DAY_LAST};
}

static struct packed_part packed(const char *number, int64_t pieces, const char *unit)
{
	return (struct packed_part){make_name(arena, number), make_name(arena, unit),
	                            pieces * AMOUNT_ONE, "1107", ""};
}

static struct packing_list make_list(const char *name, const char *subkit, struct day_range shipped,
                                     const struct packed_part *parts, size_t n_parts)
{
	struct packing_list list = {.name = make_name(arena, name),
	                            .subkit = make_name(arena, subkit),
	                            .title = "",
	                            .shipped = shipped,
	                            .n_models = 2,
	                            .n_parts = n_parts};
	struct name *models = ARENA_ARRAY(arena, struct name, 2);
	struct packed_part *copy = ARENA_ARRAY(arena, struct packed_part, n_parts);

	models[0] = make_name(arena, "Whimbrel");
	models[1] = make_name(arena, "Whimbrel T");
	list.models = models;
	for (size_t i = 0; i < n_parts; i++)
		copy[i] = parts[i];
	list.parts = copy;
	return list;
}

/* Sub-kit 4 was packed by three lists: the bushing -1 until March 2019, then a
 * gap of a month, then the bushing -2; hinge in all. Sub-kit 7 has one for ever. */
static const struct parts_book *make_book(void)
{
	const struct packed_part early[] = {packed("WH-2207-1", 2, ""), packed("WH-30", 4, ""),
	                                    packed("WH-41", 6, "ft")};
	const struct packed_part middle[] = {packed("WH-2207-1", 2, ""), packed("WH-30", 6, ""),
	                                     packed("WH-30", 1, "")};
	const struct packed_part late[] = {packed("WH-2207-2", 3, ""), packed("WH-30", 4, "")};
	const struct packed_part wing[] = {packed("WH-30", 10, ""), packed("WH-2207-3", 1, "")};
	struct packing_list *lists = ARENA_ARRAY(arena, struct packing_list, 4);
	struct number_change *changes = ARENA_ARRAY(arena, struct number_change, 3);
	const struct parts_book *book = NULL;

	lists[0] = make_list("PL-04 A", "4", days(NULL, "2017-12-31"), early, 3);
	lists[1] = make_list("PL-04 B", "4", days("2018-01-01", "2019-03-31"), middle, 3);
	lists[2] = make_list("PL-04 C", "4", days("2019-05-01", NULL), late, 2);
	lists[3] = make_list("PL-07", "7", days(NULL, NULL), wing, 2);
	changes[0] = (struct number_change){make_name(arena, "WH-2207-2"),
	                                    make_name(arena, "WH-2207-3")};
	changes[1] = (struct number_change){make_name(arena, "WH-2207-1"),
	                                    make_name(arena, "WH-2207-2")};
	changes[2] = (struct number_change){make_name(arena, "WH-9"), make_name(arena, "WH-30")};
	assert_int_equal(parts_book_build(arena,
	                                  &(struct parts_source){lists, changes, NULL, 4, 3, 0},
	                                  &book, NULL),
	                 ST_OK);
	return book;
}

static const struct {
	const char *facts, *number, *unit;
	int64_t sure, most; /* pieces */
	const char *settles;
} holdings[] = {
        /* The shipping date is known and lies inside a list. */
        {"model Whimbrel; subkit 4 = 2017-04", "WH-2207-1", "", 2, 2, ""},
        {"model whimbrel t; subkit 4 = 2017", "WH-2207-1", "", 2, 2, ""},
        {"model Whimbrel; subkit 4 = 2019-05-01", "WH-2207-1", "", 0, 0, ""},
        {"model Whimbrel; subkit 4 = 2019-05-01", "WH-2207-2", "", 3, 3, ""},
        {"model Whimbrel; subkit 4 = 2018-06; subkit 7 = no", "WH-30", "", 7, 7, ""},
        {"model Whimbrel; subkit 4 = 2017", "WH-41", "ft", 6, 6, ""},
        {"model Whimbrel; subkit 4 = 2017", "WH-41", "", 0, 0, ""},
        /* The gap: no list says what was packed in April 2019. */
        {"model Whimbrel; subkit 4 = 2019-04-17; subkit 7 = no", "WH-30", "", 0, 0, ""},
        /* Known in part: both lists that may apply hold two, so two are there. */
        {"model Whimbrel; subkit 4 = 2018", "WH-2207-1", "", 2, 2, ""},
        {"model Whimbrel; subkit 4 = 2019", "WH-2207-1", "", 0, 2, "shipped 4"},
        {"model Whimbrel; subkit 4 = 2019; subkit 7 = no", "WH-30", "", 0, 7, "shipped 4"},
        {"model Whimbrel; subkit 4 = yes", "WH-2207-2", "", 0, 3, "shipped 4"},
        {"model Whimbrel; subkit 4 = yes; subkit 7 = no", "WH-30", "", 0, 7, "shipped 4"},
        /* A list that is valid for ever needs no date. */
        {"model Whimbrel; subkit 7 = yes; subkit 4 = no", "WH-30", "", 10, 10, ""},
        {"model Whimbrel; subkit 4 = no; subkit 7 = no", "WH-30", "", 0, 0, ""},
        {"model Whimbrel; subkit 4 = no", "WH-30", "", 0, 10, "subkit 7"},
        {"model Whimbrel; subkit 4 = 2017; subkit 7 = 2019", "WH-30", "", 14, 14, ""},
        /* Nobody said which sub-kits came, or which model it is. */
        {"model Whimbrel", "WH-30", "", 0, 17, "subkit 4"},
        {"subkit 7 = yes; subkit 4 = no", "WH-30", "", 0, 10, "model"},
        {"model Harrier; subkit 7 = yes; subkit 4 = 2017", "WH-30", "", 0, 0, ""},
        {"model Whimbrel; subkit 4 = yes", "WH-99", "", 0, 0, ""},
};

static void lists_tell_what_is_held_and_which_fact_would_settle_it(void **state)
{
	const struct parts_book *book = make_book();

	(void)state;
	for (size_t i = 0; i < ROWS(holdings); i++) {
		const struct name number = make_name(arena, holdings[i].number);
		const struct name unit = make_name(arena, holdings[i].unit);
		struct holding holding = holding_of(book, make_facts(arena, holdings[i].facts),
		                                    NULL, 0, &number, &unit);
		struct text settles = TEXT_EMPTY;

		if (holding.settles_known)
			fact_print(&holding.settles, &settles);
		if (holding.sure != holdings[i].sure * AMOUNT_ONE ||
		    holding.most != holdings[i].most * AMOUNT_ONE ||
		    strcmp(text_string(&settles), holdings[i].settles) != 0)
			fail_msg("%s, %s: %lld to %lld by \"%s\"", holdings[i].facts,
			         holdings[i].number, (long long)holding.sure,
			         (long long)holding.most, text_string(&settles));
		assert_false(holding.counted);
		text_free(&settles);
	}
}

static struct stock_entry entry(const char *number, enum stock_act act, int64_t pieces)
{
	return (struct stock_entry){.number = make_name(arena, number),
	                            .unit = make_name(arena, ""),
	                            .act = act,
	                            .quantity = pieces * AMOUNT_ONE,
	                            .remark = ""};
}

static void the_builders_own_entries_come_on_top(void **state)
{
	const struct parts_book *book = make_book();
	const struct facts *facts = make_facts(arena, "model Whimbrel; subkit 4 = 2019");
	const struct stock_entry entries[] = {
	        entry("WH-30", STOCK_USED, 3),    entry("WH-99", STOCK_GOT, 5),
	        entry("WH-30", STOCK_LOST, 9),    entry("WH-30", STOCK_GOT, 2),
	        entry("wh-30", STOCK_COUNTED, 1), entry("WH-30", STOCK_USED, 5),
	};
	static const struct {
		size_t entries;
		int64_t sure, most;
		bool counted;
	} rows[] = {{0, 0, 7, false}, {1, 0, 4, false}, {2, 0, 4, false}, {3, 0, 0, false},
	            {4, 2, 2, false}, {5, 1, 1, true},  {6, 0, 0, true}};
	const struct name number = make_name(arena, "WH-30"), unit = make_name(arena, "");

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct holding holding =
		        holding_of(book,
		                   make_facts(arena, "model Whimbrel; subkit 4 = 2019;"
		                                     "subkit 7 = no"),
		                   entries, rows[i].entries, &number, &unit);

		assert_int_equal(holding.sure, rows[i].sure * AMOUNT_ONE);
		assert_int_equal(holding.most, rows[i].most * AMOUNT_ONE);
		assert_int_equal(holding.counted, rows[i].counted);
		assert_int_equal(holding.settles_known, holding.sure != holding.most);
	}
	assert_non_null(facts);
}

/* ---- the book itself ---- */

static void changes_are_followed_to_the_last(void **state)
{
	const struct parts_book *book = make_book();
	static const struct {
		const char *number, *latest;
	} rows[] = {{"WH-2207-1", "WH-2207-3"},
	            {"wh-2207-2", "WH-2207-3"},
	            {"WH-2207-3", "WH-2207-3"},
	            {"WH-9", "WH-30"},
	            {"X", "X"},
	            {"", ""}};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		const struct name number = make_name(arena, rows[i].number);

		assert_string_equal(parts_book_latest(book, &number)->text, rows[i].latest);
	}
}

static void stock_is_found_by_its_code(void **state)
{
	const struct stock_code stock[] = {{make_name(arena, "AA-1"), "angle", NULL, 0},
	                                   {make_name(arena, "TB-2"), "tube", NULL, 0}};
	const struct parts_source source = {.stock = stock, .n_stock = 2};
	const struct name code = make_name(arena, "tb-2"), none = make_name(arena, "TB");
	const struct parts_book *book = NULL;

	(void)state;
	assert_int_equal(parts_book_build(arena, &source, &book, NULL), ST_OK);
	assert_string_equal(parts_book_stock(book, &code)->title, "tube");
	assert_null(parts_book_stock(book, &none));
}

static void circles_and_forks_are_refused(void **state)
{
	static const struct {
		const char *pairs[8];
		enum status status;
		const char *culprit;
	} rows[] = {
	        {{"A", "B", "B", "C", "X", "C"}, ST_OK, NULL},
	        {{"A", "A"}, ST_INVALID, "A"},
	        {{"A", "a"}, ST_INVALID, "A"},
	        {{"A", "B", "B", "A"}, ST_INVALID, "A"},
	        {{"X", "A", "A", "B", "B", "C", "C", "A"}, ST_INVALID, "A"},
	        {{"A", "B", "a", "C"}, ST_INVALID, NULL},
	        {{"A", "C", "B", "C", "D", "B", "C", "D"}, ST_INVALID, "C"},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct number_change changes[4];
		const struct number_change *culprit = NULL;
		const struct parts_book *book = NULL;
		size_t n = 0;

		for (; n < 4 && rows[i].pairs[2 * n]; n++)
			changes[n] =
			        (struct number_change){make_name(arena, rows[i].pairs[2 * n]),
			                               make_name(arena, rows[i].pairs[2 * n + 1])};
		assert_int_equal(
		        parts_book_build(arena,
		                         &(struct parts_source){.changes = changes, .n_changes = n},
		                         &book, &culprit),
		        rows[i].status);
		assert_int_equal(book != NULL, rows[i].status == ST_OK);
		assert_int_equal(culprit != NULL, rows[i].status != ST_OK);
		if (rows[i].culprit)
			assert_string_equal(culprit->old.text, rows[i].culprit);
		assert_int_equal(
		        parts_book_build(arena,
		                         &(struct parts_source){.changes = changes, .n_changes = n},
		                         &book, NULL),
		        rows[i].status);
	}
}

static void lists_of_one_sub_kit_must_not_overlap(void **state)
{
	const struct packing_list a =
	        make_list("A", "4", days("2017-01-01", "2017-12-31"), NULL, 0);
	struct packing_list others[] = {
	        make_list("B", "4", days("2018-01-01", NULL), NULL, 0),
	        make_list("C", "4", days(NULL, "2016-12-31"), NULL, 0),
	        make_list("D", "5", days("2017-01-01", "2017-12-31"), NULL, 0),
	        make_list("E", "4", days("2017-12-31", NULL), NULL, 0),
	        make_list("F", "4", days(NULL, NULL), NULL, 0),
	        make_list("G", "4", days(NULL, NULL), NULL, 0),
	};
	const bool overlap[] = {false, false, false, true, true, false};
	struct name other = make_name(arena, "Harrier");

	(void)state;
	others[5].models = &other;
	others[5].n_models = 1;
	for (size_t i = 0; i < ROWS(others); i++) {
		assert_int_equal(packing_lists_overlap(&a, &others[i]), overlap[i]);
		assert_int_equal(packing_lists_overlap(&others[i], &a), overlap[i]);
	}
}

static void acts_have_words(void **state)
{
	(void)state;
	for (unsigned i = 0; i < STOCK_ACTS; i++) {
		enum stock_act act = STOCK_COUNTED;

		assert_true(stock_act_from_words(stock_act_words((enum stock_act)i), &act));
		assert_int_equal(act, i);
	}
	assert_false(stock_act_from_words("stolen", &(enum stock_act){STOCK_GOT}));
}

/* ---- sharing ---- */

static struct need need(const char *number, const char *amount)
{
	struct need made = {.number = make_name(arena, number)};

	assert_int_equal(amount_read(arena, amount, &made.amount), ST_OK);
	return made;
}

struct shared {
	const char *number, *amount;
	enum supply_state state;
	int64_t sure, most, lacking; /* pieces */
	const char *from, *order, *settles;
};

static void check_shared(const char *kit, const struct shared *rows, size_t count)
{
	struct need needs[8];
	const struct supply *supplies = NULL;

	for (size_t i = 0; i < count; i++)
		needs[i] = need(rows[i].number, rows[i].amount);
	assert_int_equal(supplies_share(arena, make_book(), make_facts(arena, kit), NULL, 0, needs,
	                                count, &supplies),
	                 ST_OK);
	for (size_t i = 0; i < count; i++) {
		struct text settles = TEXT_EMPTY;

		if (supplies[i].settles_known)
			fact_print(&supplies[i].settles, &settles);
		print_message("%s: %s of %s\n", kit, rows[i].amount, rows[i].number);
		assert_int_equal(supplies[i].state, rows[i].state);
		assert_int_equal(supplies[i].sure, rows[i].sure * AMOUNT_ONE);
		assert_int_equal(supplies[i].most, rows[i].most * AMOUNT_ONE);
		assert_int_equal(supplies[i].lacking, rows[i].lacking * AMOUNT_ONE);
		assert_string_equal(supplies[i].from.text ? supplies[i].from.text : "",
		                    rows[i].from);
		assert_string_equal(supplies[i].order->text, rows[i].order);
		assert_string_equal(text_string(&settles), rows[i].settles);
		text_free(&settles);
	}
}

static void nothing_is_promised_twice(void **state)
{
	static const struct shared late[] = {
	        /* The later number serves for the earlier, never the other way round. */
	        {"WH-2207-1", "2", SUPPLY_HAVE, 2, 2, 0, "WH-2207-2", "WH-2207-3", ""},
	        {"WH-2207-1", "2", SUPPLY_HAVE, 2, 2, 0, "WH-2207-2", "WH-2207-3", ""},
	        {"WH-2207-3", "1", SUPPLY_SHORT, 0, 0, 1, "", "WH-2207-3", ""},
	        {"WH-9", "15", SUPPLY_SHORT, 14, 14, 1, "WH-30", "WH-30", ""},
	        {"WH-30", "as required", SUPPLY_SHORT, 0, 0, 0, "", "WH-30", ""},
	        {"", "3 ft", SUPPLY_SHORT, 0, 0, 3, "", "", ""},
	};
	static const struct shared early[] = {
	        {"WH-2207-2", "1", SUPPLY_SHORT, 0, 0, 1, "", "WH-2207-3", ""},
	        {"WH-2207-1", "1", SUPPLY_HAVE, 1, 1, 0, "WH-2207-1", "WH-2207-3", ""},
	        {"WH-41", "5 ft", SUPPLY_HAVE, 5, 5, 0, "WH-41", "WH-41", ""},
	        {"WH-41", "5", SUPPLY_SHORT, 0, 0, 5, "", "WH-41", ""},
	        {"WH-30", "as required", SUPPLY_HAVE, 0, 0, 0, "WH-30", "WH-30", ""},
	        {"sealant", "as required", SUPPLY_SHORT, 0, 0, 0, "", "sealant", ""},
	};
	static const struct shared unknown[] = {
	        {"WH-2207-1", "2", SUPPLY_MAY_HAVE, 0, 2, 0, "WH-2207-1", "WH-2207-3", "shipped 4"},
	        {"WH-30", "9", SUPPLY_SHORT, 0, 7, 2, "WH-30", "WH-30", "shipped 4"},
	        {"WH-30", "as required", SUPPLY_SHORT, 0, 0, 0, "", "WH-30", ""},
	        {"WH-2207-2", "as required", SUPPLY_MAY_HAVE, 0, 0, 0, "WH-2207-2", "WH-2207-3",
	         "shipped 4"},
	};

	(void)state;
	check_shared("model Whimbrel; subkit 4 = 2020; subkit 7 = yes", late, ROWS(late));
	check_shared("model Whimbrel; subkit 4 = 2017; subkit 7 = no", early, ROWS(early));
	check_shared("model Whimbrel; subkit 4 = yes; subkit 7 = no", unknown, ROWS(unknown));
}

/* ---- properties, against counting by hand ---- */

#define NUMBERS 6
#define NEEDS 5

struct plain_share {
	int later[NUMBERS]; /* a greater number, or -1 */
	int stock[NUMBERS];
	int wanted[NEEDS];
	int amount[NEEDS];
};

static struct plain_share random_share(uint64_t *seed)
{
	struct plain_share share;

	for (int i = 0; i < NUMBERS; i++) {
		share.later[i] =
		        next_random(seed) % 3 && i < NUMBERS - 1
		                ? i + 1 + (int)(next_random(seed) % (uint64_t)(NUMBERS - 1 - i))
		                : -1;
		share.stock[i] = (int)(next_random(seed) % 3);
	}
	for (int i = 0; i < NEEDS; i++) {
		share.wanted[i] = (int)(next_random(seed) % NUMBERS);
		share.amount[i] = 1 + (int)(next_random(seed) % 2);
	}
	return share;
}

/* The most pieces that any way of sharing could hand out from need i on. */
static int most_served(struct plain_share *share, int i)
{
	int best;

	while (i < NEEDS && share->amount[i] == 0)
		i++;
	if (i == NEEDS)
		return 0;
	share->amount[i]--;
	best = most_served(share, i);
	for (int number = share->wanted[i]; number >= 0; number = share->later[number]) {
		int served;

		if (share->stock[number] == 0)
			continue;
		share->stock[number]--;
		served = 1 + most_served(share, i);
		share->stock[number]++;
		best = served > best ? served : best;
	}
	share->amount[i]++;
	return best;
}

static struct name plain_number(int i)
{
	return make_name(arena, (const char *[]){"N0", "N1", "N2", "N3", "N4", "N5"}[i]);
}

/* Shares it with core; the pieces that are lacking. */
static int64_t lacking(const struct plain_share *share)
{
	struct number_change changes[NUMBERS];
	struct stock_entry entries[NUMBERS];
	struct need needs[NEEDS];
	const struct supply *supplies = NULL;
	const struct parts_book *book = NULL;
	size_t n_changes = 0;
	int64_t sum = 0;

	for (int i = 0; i < NUMBERS; i++) {
		entries[i] = entry(plain_number(i).text, STOCK_COUNTED, share->stock[i]);
		if (share->later[i] >= 0)
			changes[n_changes++] = (struct number_change){
			        plain_number(i), plain_number(share->later[i])};
	}
	for (int i = 0; i < NEEDS; i++)
		needs[i] = (struct need){
		        plain_number(share->wanted[i]), {share->amount[i] * AMOUNT_ONE, {0}}, 0};
	assert_int_equal(
	        parts_book_build(arena,
	                         &(struct parts_source){.changes = changes, .n_changes = n_changes},
	                         &book, NULL),
	        ST_OK);
	assert_int_equal(supplies_share(arena, book, make_facts(arena, ""), entries, NUMBERS, needs,
	                                NEEDS, &supplies),
	                 ST_OK);
	for (int i = 0; i < NEEDS; i++) {
		assert_true(supplies[i].sure <= supplies[i].most);
		assert_int_equal(supplies[i].most + supplies[i].lacking,
		                 needs[i].amount.thousandths);
		sum += supplies[i].lacking;
	}
	return sum / AMOUNT_ONE;
}

static void no_other_way_of_sharing_leaves_less_short(void **state)
{
	uint64_t seed = 11;

	(void)state;
	for (int round = 0; round < 300; round++) {
		struct plain_share share = random_share(&seed);
		int asked = 0, before, number = (int)(next_random(&seed) % NUMBERS);

		arena_reset(arena);
		for (int i = 0; i < NEEDS; i++)
			asked += share.amount[i];
		before = (int)lacking(&share);
		assert_int_equal(before, asked - most_served(&share, 0));
		/* More on hand never makes more short. */
		share.stock[number]++;
		assert_true(lacking(&share) <= before);
	}
}

static const char *random_shipping(uint64_t *seed)
{
	static const char *const texts[] = {"yes",     "2017",       "2018", "2019", "2018-02",
	                                    "2019-05", "2019-03-31", "2025", "2017"};

	return texts[next_random(seed) % ROWS(texts)];
}

/* With no own entries nobody holds more than any one list per sub-kit could
 * have brought, and what is sure is never more than what may be; a sub-kit
 * that has come never makes a kit hold less than one that has not. */
static void a_kit_holds_no_more_than_was_shipped(void **state)
{
	static const char *const numbers[] = {"WH-30", "WH-2207-1", "WH-2207-2", "WH-2207-3"};
	static const int64_t most_shipped[] = {17, 2, 3, 1};
	const struct parts_book *book;
	uint64_t seed = 5;

	(void)state;
	arena_reset(arena);
	book = make_book();
	for (int round = 0; round < 300; round++) {
		const char *shipped = random_shipping(&seed);
		const struct facts *with = make_facts(
		        arena, arena_printf(arena, "model Whimbrel; subkit 4 = %s; subkit 7 = %s",
		                            shipped, round % 2 ? "yes" : "no"));
		const struct facts *without = make_facts(
		        arena, arena_printf(arena, "model Whimbrel; subkit 4 = no; subkit 7 = %s",
		                            round % 2 ? "yes" : "no"));
		size_t which = next_random(&seed) % ROWS(numbers);
		const struct name number = make_name(arena, numbers[which]);
		const struct name unit = make_name(arena, "");
		struct stock_entry used = entry(numbers[which], STOCK_USED, 1);
		struct holding more = holding_of(book, with, NULL, 0, &number, &unit);
		struct holding fewer = holding_of(book, without, NULL, 0, &number, &unit);
		struct holding after = holding_of(book, with, &used, 1, &number, &unit);

		assert_true(more.sure <= more.most);
		assert_true(more.most <= most_shipped[which] * AMOUNT_ONE);
		assert_true(fewer.sure <= more.sure && fewer.most <= more.most);
		assert_true(after.sure <= more.sure && after.most <= more.most);
		assert_true(more.settles_known == (more.sure != more.most));
	}
}

/* Made before memory runs out. */
static struct {
	struct packing_list list;
	struct number_change change;
	struct need wanted;
	const struct facts *facts;
} ready;

static bool share_something(struct arena *short_of_room)
{
	const struct parts_book *book;
	const struct supply *supplies;

	return parts_book_build(short_of_room,
	                        &(struct parts_source){&ready.list, &ready.change, NULL, 1, 1, 0},
	                        &book, NULL) == ST_OK &&
	       supplies_share(short_of_room, book, ready.facts, NULL, 0, &ready.wanted, 1,
	                      &supplies) == ST_OK;
}

static void memory_may_run_out(void **state)
{
	(void)state;
	ready.list = make_list("A", "4", days(NULL, NULL), NULL, 0);
	ready.change = (struct number_change){make_name(arena, "A"), make_name(arena, "B")};
	ready.wanted = need("A", "2");
	ready.facts = make_facts(arena, "model Whimbrel");
	try_each_place(share_something);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(lists_tell_what_is_held_and_which_fact_would_settle_it),
	        cmocka_unit_test(the_builders_own_entries_come_on_top),
	        cmocka_unit_test(changes_are_followed_to_the_last),
	        cmocka_unit_test(stock_is_found_by_its_code),
	        cmocka_unit_test(circles_and_forks_are_refused),
	        cmocka_unit_test(lists_of_one_sub_kit_must_not_overlap),
	        cmocka_unit_test(acts_have_words),
	        cmocka_unit_test(nothing_is_promised_twice),
	        cmocka_unit_test(no_other_way_of_sharing_leaves_less_short),
	        cmocka_unit_test(a_kit_holds_no_more_than_was_shipped),
	        cmocka_unit_test(memory_may_run_out),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
