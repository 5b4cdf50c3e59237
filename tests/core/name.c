/* Names, serials, quantities and the words of notices. */
#include "build.h"

#include <stdio.h>
#include <string.h>

#include "core/notice.h"
#include "core/quantity.h"
#include "core/standing.h"

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

/* ---- names ---- */

static void names_are_equal_but_for_case_and_blanks(void **state)
{
	static const struct {
		const char *a, *b;
		bool equal;
	} rows[] = {
	        {"Whimbrel", "whimbrel", true},
	        {" Whimbrel  T ", "WHIMBREL\tt", true},
	        {"a\r\nb", "A B", true},
	        {"Stra\xC3\x9F"
	         "e",
	         "STRA\xC3\x9F"
	         "E",
	         true},
	        {"\xC3\xA9", "\xC3\x89", true},
	        {"WH\xE2\x80\x93"
	         "2207",
	         "WH-2207", true}, /* an en dash */
	        {"WH-\xC2\xAD"
	         "2207",
	         "WH-2207", true}, /* a soft hyphen */
	        {"Whimbrel", "Whimbrel T", false},
	        {"WhimbrelT", "Whimbrel T", false},
	        {"", "", false}, /* not known equals nothing */
	        {" \t ", "", false},
	        {"0", "O", false},
	        {"WH-2207-1", "WH-2207-01", false}, /* a part number is no count */
	        {"[", "{", false},                  /* neighbours of the letters do not fold */
	        {"@", "`", false},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct name a = make_name(arena, rows[i].a), b = make_name(arena, rows[i].b);

		assert_int_equal(name_equal(&a, &b), rows[i].equal);
		assert_int_equal(name_equal(&b, &a), rows[i].equal);
		assert_int_equal(name_compare(&a, &b) == 0,
		                 rows[i].equal || (a.len == 0 && b.len == 0));
		assert_int_equal(name_same(&a, &b), rows[i].equal || (a.len == 0 && b.len == 0));
	}
}

static void names_keep_what_was_typed(void **state)
{
	static const struct {
		const char *typed, *text, *key;
	} rows[] = {
	        {"  Whimbrel   T ", "Whimbrel T", "WHIMBREL T"},
	        {"\t\r\n ", "", ""},
	        {"z", "z", "Z"},
	        {"\xD0\xBB", "\xD0\xBB", "\xD0\x9B"},
	        {"WH\xE2\x80\x93"
	         "1",
	         "WH-1", "WH-1"},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct name name = make_name(arena, rows[i].typed);

		assert_string_equal(name.text, rows[i].text);
		assert_string_equal(name.key, rows[i].key);
		assert_int_equal(name.len, strlen(rows[i].text));
		assert_int_equal(name_is_empty(&name), rows[i].text[0] == '\0');
	}
}

static void names_belong_to_series(void **state)
{
	static const struct {
		const char *name, *series;
		enum truth belongs;
	} rows[] = {
	        {"172N", "172", TRUTH_TRUE},
	        {"T303", "t303", TRUTH_TRUE},
	        {"172", "172N", TRUTH_UNKNOWN},
	        {"F172", "172", TRUTH_UNKNOWN},
	        {"172N", "", TRUTH_UNKNOWN},
	        {"", "172", TRUTH_UNKNOWN},
	        {"O-320-E2D", "O-320-H", TRUTH_FALSE},
	        {"1720", "172", TRUTH_FALSE},
	        {"WH-8101-2", "WH-8101", TRUTH_TRUE},
	        {"WH-8101", "WH-8101", TRUTH_TRUE},
	        {"WH-81012", "WH-8101", TRUTH_FALSE},
	        {"WH8101-2", "WH-8101", TRUTH_UNKNOWN},
	        {"B4-85-C2", "B4-85-C", TRUTH_TRUE},
	        {"B4-85-E1", "B4-85-C", TRUTH_FALSE},
	        {"B4-85", "B4-85-C", TRUTH_UNKNOWN},
	        {"IO-540-AB1A5", "IO-540-A", TRUTH_UNKNOWN},
	        {"Whimbrel T", "Whimbrel", TRUTH_TRUE},
	        {"Harrowfen Whimbrel", "Whimbrel", TRUTH_UNKNOWN},
	        {"Skylark", "Whimbrel", TRUTH_FALSE},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct name a = make_name(arena, rows[i].name);
		struct name series = make_name(arena, rows[i].series);

		if (name_in_series(&series, &a) != rows[i].belongs)
			fail_msg("%s in series %s: %d", rows[i].name, rows[i].series,
			         name_in_series(&series, &a));
	}
}

static void names_are_in_one_order(void **state)
{
	static const char *const order[] = {"",   "10", "9",   "A",       "a b",
	                                    "AB", "b",  "B-1", "\xC3\xA9"};

	(void)state;
	for (size_t i = 0; i < ROWS(order); i++)
		for (size_t k = 0; k < ROWS(order); k++) {
			struct name a = make_name(arena, order[i]), b = make_name(arena, order[k]);
			int way = name_compare(&a, &b);

			assert_int_equal((way > 0) - (way < 0), (i > k) - (i < k));
		}
}

/* ---- serials ---- */

static void serial_order_and_shapes(void **state)
{
	static const struct {
		const char *a, *b;
		int way; /* -1, 0, 1; 9: not comparable */
	} rows[] = {
	        {"WH-9", "WH-10", -1},
	        {"WH-0101", "wh-101", 0},
	        {"WH-0", "WH-000", 0},
	        {"WH-0101", "WH-0145", -1},
	        /* Serials of FAA ADs 71-21-08, 77-09-10, 93-24-15, 86-24-07, 80-04-03 R2. */
	        {"28-7505009", "28-7505001", 1},
	        {"28-7125001", "28-7125666", -1},
	        {"L-6182-76", "L-6183-76", -1},
	        {"L-6182-76", "L-6182-77", -1},
	        {"L-100-76", "L-6182-75", -1},
	        {"177RG0001", "177RG1366", -1},
	        {"31-109", "31P-109", 9},
	        {"F172-0019", "F17200754", 9},
	        {"185-0777", "18502310", 9},
	        {"28-7505009", "29-7505009", 9}, /* the first number is a prefix */
	        {"028-7505009", "28-7505009", 0},
	        {"27-4000", "24-4000", 9},
	        {"WH-9", "WHT-9", 9},
	        {"WH-9", "WH9", 9},
	        {"WH-9", "WH_9", 9},
	        {"WH-9", "WH-9A", 9},
	        {"9", "10", -1},
	        {"9", "A9", 9},
	        {"17700001", "177RG0001", 9},
	        {"WH-9-1", "WH-9", 9},
	        {"A.1/2", "A.1/10", -1},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct serial a = make_serial(arena, rows[i].a), b = make_serial(arena, rows[i].b);
		int way;

		assert_int_equal(serial_comparable(&a, &b), rows[i].way != 9);
		assert_int_equal(serial_comparable(&b, &a), rows[i].way != 9);
		if (rows[i].way == 9)
			continue;
		way = serial_compare(&a, &b);
		assert_int_equal((way > 0) - (way < 0), rows[i].way);
		way = serial_compare(&b, &a);
		assert_int_equal((way > 0) - (way < 0), -rows[i].way);
	}
}

static void serial_faults_are_named(void **state)
{
	static const struct {
		const char *text;
		enum serial_fault fault;
		size_t where;
	} rows[] = {
	        {"", SERIAL_EMPTY, 0},
	        {" ", SERIAL_CHARACTER, 0},
	        {"WH 101", SERIAL_CHARACTER, 2},
	        {"WH-101 ", SERIAL_CHARACTER, 6},
	        {" WH-101", SERIAL_CHARACTER, 0},
	        {"WH\t1", SERIAL_CHARACTER, 2},
	        {"WH#1", SERIAL_CHARACTER, 2},
	        {"WH-1,2", SERIAL_CHARACTER, 4},
	        {"4,410.471", SERIAL_CHARACTER, 1},
	        {"WH-1'", SERIAL_CHARACTER, 4},
	        {"\"><script>", SERIAL_CHARACTER, 0},
	        {"\xD0\xA8-101", SERIAL_CHARACTER, 0},                /* Cyrillic letter */
	        {"WH-\xD9\xA1\xD9\xA0\xD9\xA1", SERIAL_CHARACTER, 3}, /* Arabic-Indic digits */
	        {"WH\xE2\x80\x93"
	         "1",
	         SERIAL_CHARACTER, 2}, /* en dash */
	        {"WH", SERIAL_NO_DIGIT, 0},
	        {"-", SERIAL_NO_DIGIT, 0},
	        {"WH-X", SERIAL_NO_DIGIT, 0},
	        {"WH-1-2-3-4-5", SERIAL_TOO_LONG, 0},         /* five counters */
	        {"1234567890123456789", SERIAL_TOO_LONG, 0},  /* nineteen digits */
	        {"18446744073709551616", SERIAL_TOO_LONG, 0}, /* two to the 64th */
	        {"A1234567890123456789-1", SERIAL_TOO_LONG, 0},
	        {"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA-1", SERIAL_TOO_LONG, 0}, /* 41 bytes */
	        {"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA-1", SERIAL_FINE, 0},      /* 40 */
	        {"000000000000000000000000000000000000001", SERIAL_FINE, 0},
	        {"123456789012345678", SERIAL_FINE, 0},
	        {"WH-1-2-3-4", SERIAL_FINE, 0},
	        {"1-2-3-4-5", SERIAL_FINE, 0}, /* the first is a prefix */
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct serial serial = {.counters = 77};
		size_t where = 99, len = strlen(rows[i].text);

		if (serial_check_printed(rows[i].text, len, false, &where) != rows[i].fault)
			fail_msg("row %zu: %s", i, rows[i].text);
		if (rows[i].fault == SERIAL_CHARACTER || rows[i].fault == SERIAL_EMPTY)
			assert_int_equal(where, rows[i].where);
		/* What a kit says of itself may be written in any way. */
		assert_int_equal(serial_make(arena, rows[i].text, len, &serial),
		                 serial_check(rows[i].text, len, NULL) == SERIAL_FINE ? ST_OK
		                                                                      : ST_INVALID);
		assert_int_equal(serial.counters == 77,
		                 serial_check(rows[i].text, len, NULL) != SERIAL_FINE);
		assert_true(strlen(serial_fault_words(rows[i].fault)) > 0);
	}
}

/* Random serials of few shapes, so that many compare. */
static struct serial random_serial(uint64_t *seed)
{
	static const char *const shapes[] = {"WH-%0*u", "wh-%0*u", "A%0*u", "28-%0*u", "L-%0*u-76"};
	char text[40];
	const char *shape = shapes[next_random(seed) % ROWS(shapes)];
	int width = (int)(next_random(seed) % 5);

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
	snprintf(text, sizeof text, shape, width, (unsigned)(next_random(seed) % 12));
#pragma GCC diagnostic pop
	return make_serial(arena, text);
}

static bool less(const struct serial *a, const struct serial *b)
{
	return serial_comparable(a, b) && serial_compare(a, b) < 0;
}

static void serial_order_is_an_order(void **state)
{
	uint64_t seed = 5;

	(void)state;
	for (int i = 0; i < 20000; i++) {
		struct serial a = random_serial(&seed), b = random_serial(&seed);
		struct serial c = random_serial(&seed);
		struct serial_range to_b = {.last = b}, to_c = {.last = c}, from_b = {.first = b};

		assert_false(less(&a, &a));
		assert_false(less(&a, &b) && less(&b, &a));
		if (less(&a, &b) && less(&b, &c))
			assert_true(less(&a, &c));
		/* A wider range holds no less. */
		if (less(&b, &c) && serial_in_range(&a, &to_b) == TRUTH_TRUE)
			assert_int_equal(serial_in_range(&a, &to_c), TRUTH_TRUE);
		if (!serial_comparable(&a, &b))
			assert_false(serial_in_range(&a, &from_b) == TRUTH_TRUE ||
			             serial_in_range(&a, &to_b) == TRUTH_TRUE);
		else if (serial_in_range(&a, &from_b) != TRUTH_UNKNOWN)
			assert_int_equal(serial_in_range(&a, &from_b), truth_of(!less(&a, &b)));
		arena_reset(arena);
	}
}

static void serial_ranges_hold_their_ends(void **state)
{
	static const struct {
		const char *first, *last, *serial;
		enum truth inside;
	} rows[] = {
	        {"28-7505001", "28-7505260", "28-7505009", TRUTH_TRUE},
	        {"28-7505001", "28-7505260", "28-7505001", TRUTH_TRUE},
	        {"28-7505001", "28-7505260", "28-7505260", TRUTH_TRUE},
	        {"28-7505001", "28-7505260", "28-7505261", TRUTH_FALSE},
	        {"28-7505001", "28-7505260", "28-7505000", TRUTH_FALSE},
	        {"28-7505001", "28-7505260", "29-7505009", TRUTH_FALSE},
	        {"28-7505001", "28-7505260", "28R-7505009", TRUTH_UNKNOWN}, /* a letter more */
	        {"28-7505001", "28-7505260", "28R-7505300", TRUTH_FALSE},
	        {"28-7505001", NULL, "28-8105001", TRUTH_TRUE},
	        {"28-7505001", NULL, "28-7405001", TRUTH_FALSE},
	        /* A year behind, the same one or not. */
	        {"045/2011", "120/2011", "45/2011", TRUTH_TRUE},
	        {"045/2011", "120/2011", "121/2011", TRUTH_FALSE},
	        {"045/2011", "120/2011", "100/2012", TRUTH_FALSE},
	        {"045/2011", "120/2011", "0452011", TRUTH_UNKNOWN}, /* run together */
	        {"045/2011", "120/2011", "100", TRUTH_UNKNOWN},
	        /* Between equal text in front and behind. */
	        {"L-100-76A", "L-6182-76A", "L-100-76A", TRUTH_TRUE},
	        {"L-100-76A", "L-6182-76A", "l-6182-76a", TRUTH_TRUE},
	        {"L-100-76A", "L-6182-76A", "L-500-76", TRUTH_UNKNOWN},
	        {"L-100-76A", "L-6182-76A", "500-76A", TRUTH_UNKNOWN},
	        {"L-100-76A", "L-6182-76A", "L-99-76A", TRUTH_FALSE},
	        {"L-100-76A", "L-6182-76A", "L-500-77A", TRUTH_FALSE},
	        {"L-100-76A", "L-6182-76A", "L-500-76B", TRUTH_FALSE},
	        /* Two numbers differ: both must be between, or it depends on the reading. */
	        {"93-10", "95-40", "94-20", TRUTH_TRUE},
	        {"93-10", "95-40", "92-20", TRUTH_UNKNOWN},
	        {"93-10", "95-40", "94-50", TRUTH_UNKNOWN},
	        {"93-10", "95-40", "96-05", TRUTH_FALSE},
	        /* One end open and no telling which number counts. */
	        {NULL, "1815-11", "1815-11", TRUTH_TRUE},
	        {NULL, "1815-11", "1700-10", TRUTH_TRUE},
	        {NULL, "1815-11", "1700-12", TRUTH_UNKNOWN},
	        {NULL, "1815-11", "1900-12", TRUTH_FALSE},
	        {NULL, "1815-11", "1900-10", TRUTH_UNKNOWN},
	        {NULL, "L-6182-76", "L-6182-76", TRUTH_TRUE},
	        {NULL, "L-6182-76", "L-100-76", TRUTH_TRUE},
	        {NULL, "L-6182-76", "L-6183-76", TRUTH_FALSE},
	        {NULL, "L-6182-76", "L-6182-77", TRUTH_FALSE},
	        {NULL, "L-6182-76", "L-6182", TRUTH_UNKNOWN},
	        {"25001", NULL, "25001", TRUTH_TRUE},
	        {"25001", NULL, "25000", TRUTH_FALSE},
	        {"25001", NULL, "A99999", TRUTH_UNKNOWN},
	        {"25001", NULL, "A24999", TRUTH_FALSE},
	        {"WH-9", "WH-10", "WH-0010", TRUTH_TRUE},
	        {"A", "F", "C", TRUTH_TRUE},
	        {"A", "F", "G", TRUTH_FALSE},
	        {"A", "F", "8", TRUTH_UNKNOWN}, /* a B on a worn stamp */
	        {"A", "F", "AB", TRUTH_FALSE},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct serial_range range = {.first = {.text = NULL}};
		struct serial serial = make_serial(arena, rows[i].serial);

		if (rows[i].first)
			range.first = make_serial(arena, rows[i].first);
		if (rows[i].last)
			range.last = make_serial(arena, rows[i].last);
		if (serial_in_range(&serial, &range) != rows[i].inside)
			fail_msg("%s in %s thru %s: %d", rows[i].serial,
			         rows[i].first ? rows[i].first : "",
			         rows[i].last ? rows[i].last : "",
			         serial_in_range(&serial, &range));
	}
}

/* ---- quantities ---- */

static void quantities_are_read(void **state)
{
	static const struct {
		const char *text;
		int64_t hours, count; /* -1: refused */
	} rows[] = {
	        {"0", 0, 0},
	        {"1210", 121000, 1210},
	        {"1210.5", 121050, -1},
	        {"1210.25", 121025, -1},
	        {"1210.05", 121005, -1},
	        {"9999999", 999999900, 9999999},
	        {"9999999.99", 999999999, -1},
	        {"0007", 700, 7},
	        {"", -1, -1},
	        {" ", -1, -1},
	        {"10000000", -1, -1},
	        {"1210.", -1, -1},
	        {".5", -1, -1},
	        {"1.234", -1, -1},
	        {"1,5", -1, -1},
	        {"1.2.3", -1, -1},
	        {"1.x", -1, -1},
	        {"-1", -1, -1},
	        {"+1", -1, -1},
	        {"1e3", -1, -1},
	        {"0x10", -1, -1},
	        {" 1", -1, -1},
	        {"1 ", -1, -1},
	        {"12a", -1, -1},
	        {"\xD9\xA1", -1, -1},
	        {"nan", -1, -1},
	        {"99999999999999999999", -1, -1},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		int64_t hours = -1, count = -1;
		size_t len = strlen(rows[i].text);

		assert_int_equal(hours_parse(rows[i].text, len, &hours),
		                 rows[i].hours < 0 ? ST_INVALID : ST_OK);
		assert_int_equal(count_parse(rows[i].text, len, &count),
		                 rows[i].count < 0 ? ST_INVALID : ST_OK);
		assert_int_equal(hours, rows[i].hours);
		assert_int_equal(count, rows[i].count);
	}
}

static void hours_are_printed_as_they_are_read(void **state)
{
	static const struct {
		int64_t hours;
		const char *text;
	} rows[] = {{0, "0"},
	            {5, "0.05"},
	            {50, "0.5"},
	            {121000, "1210"},
	            {121050, "1210.5"},
	            {121025, "1210.25"},
	            {999999999, "9999999.99"}};
	struct text text = TEXT_EMPTY;

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		text_clear(&text);
		hours_print(rows[i].hours, &text);
		assert_string_equal(text_string(&text), rows[i].text);
	}
	for (int64_t hours = 0; hours < 200000; hours += 7) {
		int64_t back = -1;

		text_clear(&text);
		hours_print(hours, &text);
		assert_int_equal(hours_parse(text.at, text.len, &back), ST_OK);
		assert_int_equal(back, hours);
	}
	text_free(&text);
}

/* ---- words of enums ---- */

static void words_go_both_ways(void **state)
{
	static const char *const strange[] = {"", "none", "mandator", "mandatory ", "use as  is"};

	(void)state;
	for (int i = 0; i < NOTICE_KINDS; i++) {
		enum notice_kind kind;

		assert_true(notice_kind_from_words(notice_kind_words((enum notice_kind)i), &kind));
		assert_int_equal(kind, i);
	}
	for (int i = 0; i < FORCES; i++) {
		enum force force;

		assert_true(force_from_words(force_words((enum force)i), &force));
		assert_int_equal(force, i);
	}
	for (int i = 0; i < DISPOSITIONS; i++) {
		enum disposition disposition;

		assert_true(disposition_from_words(disposition_words((enum disposition)i),
		                                   &disposition));
		assert_int_equal(disposition, i);
	}
	for (size_t i = 0; i < ROWS(strange); i++) {
		enum force force = FORCE_OPTIONAL;

		assert_false(force_from_words(strange[i], &force));
		assert_int_equal(force, FORCE_OPTIONAL);
		assert_false(notice_kind_from_words(strange[i], &(enum notice_kind){0}));
		assert_false(disposition_from_words(strange[i], &(enum disposition){0}));
	}
	assert_true(force_from_words("MANDATORY", &(enum force){0}));
}

/* ---- memory ---- */

static bool make_some(void *context)
{
	struct arena *room = arena_new();
	struct serial serial;
	struct name name;
	bool fine = room && arena_array(room, 16000, 1) && /* leaves little of the first chunk */
	            name_make(room, "Whimbrel with a name of some length and of several words", 56,
	                      &name) == ST_OK;

	(void)context;
	for (int i = 0; fine && i < 300; i++)
		fine = serial_make(room, "L-6182-76", 9, &serial) == ST_OK;
	for (int i = 0; fine && i < 300; i++)
		fine = name_make(room, "name", 4, &name) == ST_OK;
	arena_free(room);
	return fine;
}

static void every_allocation_may_fail(void **state)
{
	(void)state;
	try_each_allocation(make_some, NULL, false);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(names_are_equal_but_for_case_and_blanks),
	        cmocka_unit_test(names_keep_what_was_typed),
	        cmocka_unit_test(names_belong_to_series),
	        cmocka_unit_test(names_are_in_one_order),
	        cmocka_unit_test(serial_order_and_shapes),
	        cmocka_unit_test(serial_faults_are_named),
	        cmocka_unit_test(serial_order_is_an_order),
	        cmocka_unit_test(serial_ranges_hold_their_ends),
	        cmocka_unit_test(quantities_are_read),
	        cmocka_unit_test(hours_are_printed_as_they_are_read),
	        cmocka_unit_test(words_go_both_ways),
	        cmocka_unit_test(every_allocation_may_fail),
	};
	return cmocka_run_group_tests(tests, set_up, tear_down);
}
