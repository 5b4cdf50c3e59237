/* Lengths, lists of cuts and amounts, as people write them. */
#include "build.h"

#include <string.h>

#include "core/amount.h"
#include "core/length.h"

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

/* 1 inch is 25.4 mm exactly: NIST Handbook 44, appendix C. The fractions of an
 * inch in millimetres are those of a table of decimal equivalents (1/64 in =
 * 0.396875 mm; common practice). */
static const struct {
	const char *text;
	int64_t nm; /* -1: refused */
	const char *printed;
} lengths[] = {
        {"1 in", 25400000, "1 in"},
        {"1/64 in", 396875, "1/64 in"},
        {"1/32 in", 793750, "1/32 in"},
        {"11/16 in", 17462500, "11/16 in"},
        {"14 1/2 in", 368300000, "14 1/2 in"},
        {"14 2/4 in", 368300000, "14 1/2 in"},
        {"1 yard", -1, NULL},
        {"3 ft", 914400000, "36 in"}, /* a yard: 0.9144 m */
        {"6 ft 3 1/4 in", 1911350000, "75 1/4 in"},
        {"6' 3\"", 1905000000, "75 in"},
        {"6'3\"", 1905000000, "75 in"},
        {"6 feet 3 inches", 1905000000, "75 in"},
        {"1 FOOT", 304800000, "12 in"},
        {"1 inch", 25400000, "1 in"},
        {" 1\tin ", 25400000, "1 in"},
        {"0.5 in", 12700000, "1/2 in"},
        {".5in", 12700000, "1/2 in"},
        {"0.1 in", 2540000, "0.1 in"},
        {"0.0001 in", 2540, "0.0001 in"},
        {"0.032 in", 812800, "0.032 in"},
        {"360 mm", 360000000, "360 mm"},
        {"36.5 cm", 365000000, "365 mm"},
        {"2 m", 2000000000, "2000 mm"},
        {"0.4 mm", 400000, "0.4 mm"},
        {"1/2 mm", 500000, "0.5 mm"},
        {"100 m", LENGTH_MOST, "100000 mm"},
        {"0 in", 0, "0 in"},
        {"0 mm", 0, "0 mm"},
        {"100.0001 m", -1, NULL},
        {"999999 ft", -1, NULL},
        {"328 ft 11 in", -1, NULL},
        {"", -1, NULL},
        {" ", -1, NULL},
        {"in", -1, NULL},
        {"14", -1, NULL},
        {"-3 in", -1, NULL},
        {"3 in 4 in", -1, NULL},
        {"3 ft 12 in", -1, NULL},
        {"3 ft 2 ft", -1, NULL},
        {"3 ft 2", -1, NULL},
        {"3 ft x", -1, NULL},
        {"1/3 in", -1, NULL},
        {"1/128 in", -1, NULL},
        {"1/0 in", -1, NULL},
        {"1/1 in", -1, NULL},
        {"14 1/ in", -1, NULL},
        {"14 3/2 in", -1, NULL},
        {"14 100/2 in", -1, NULL},
        {"14 1 in", -1, NULL},
        {"1.00001 in", -1, NULL},
        {"1. in", -1, NULL},
        {". in", -1, NULL},
        {"1234567 in", -1, NULL},
        {"1 inn", -1, NULL},
        {"1 mmm", -1, NULL},
        {"1 in.", -1, NULL},
        {"1,5 in", -1, NULL},
};

static void a_length_is_read_exactly_and_printed_so(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(lengths); i++) {
		struct length length = {-1, false}, again;
		struct text out = TEXT_EMPTY;
		enum status status =
		        length_parse(lengths[i].text, strlen(lengths[i].text), &length);

		if (length.nm != lengths[i].nm)
			fail_msg("%s: %lld", lengths[i].text, (long long)length.nm);
		assert_int_equal(status, lengths[i].nm < 0 ? ST_INVALID : ST_OK);
		if (status != ST_OK)
			continue;
		length_print(length, &out);
		assert_string_equal(text_string(&out), lengths[i].printed);
		assert_int_equal(length_parse(text_string(&out), out.len, &again), ST_OK);
		assert_int_equal(again.nm, length.nm);
		text_free(&out);
	}
}

static void what_inches_cannot_say_is_printed_in_millimetres(void **state)
{
	struct text out = TEXT_EMPTY;

	(void)state;
	length_print((struct length){1, false}, &out);
	assert_string_equal(text_string(&out), "0.000001 mm");
	text_free(&out);
}

static const struct {
	const char *text;
	const char *want; /* "COUNTxNM ..." */
	size_t column;    /* of the fault */
} cut_lists[] = {
        {"2 x 14 1/2 in, 6 in", "2x368300000 1x152400000 ", 0},
        {"2x14 1/2 in", "2x368300000 ", 0},
        {"300 X 1 mm ,1 mm", "300x1000000 1x1000000 ", 0},
        {"6 ft 3 in, 1 in", "1x1905000000 1x25400000 ", 0},
        {"", NULL, 1},
        {"  ", NULL, 3},
        {"6 in,", NULL, 6},
        {"6 in,, 3 in", NULL, 6},
        {"6 in; 3 in", NULL, 5},
        {"6 in 3 in", NULL, 6},
        {"0 x 6 in", NULL, 1},
        {"301 x 6 in", NULL, 1},
        {"6 in, -3 x 6 in", NULL, 7},
        {"2 x 0 in", NULL, 1},
        {"2 x", NULL, 1},
        {"1234567 x 1 in", NULL, 1},
        {"two x 6 in", NULL, 1},
};

static void a_list_of_cuts_is_read_or_the_column_is_named(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(cut_lists); i++) {
		const struct cut *cuts = NULL;
		size_t count = 0;
		struct cuts_fault fault = {0, NULL};
		struct text out = TEXT_EMPTY;
		enum status status = cuts_parse(arena, cut_lists[i].text, &cuts, &count, &fault);

		if (fault.column != cut_lists[i].column)
			fail_msg("\"%s\": column %zu", cut_lists[i].text, fault.column);
		assert_int_equal(status, cut_lists[i].want ? ST_OK : ST_INVALID);
		if (!cut_lists[i].want) {
			assert_non_null(fault.words);
			continue;
		}
		for (size_t k = 0; k < count; k++)
			text_printf(&out, "%ux%lld ", cuts[k].count, (long long)cuts[k].length.nm);
		assert_string_equal(text_string(&out), cut_lists[i].want);
		text_free(&out);
	}
}

static void a_list_of_cuts_has_an_end(void **state)
{
	char text[CUTS_MOST * 6 + 10] = "1 in";
	const struct cut *cuts;
	size_t count = 0;
	struct cuts_fault fault;

	(void)state;
	for (int i = 1; i < CUTS_MOST; i++)
		strcat(text, ",1 in");
	assert_int_equal(cuts_parse(arena, text, &cuts, &count, &fault), ST_OK);
	assert_int_equal(count, CUTS_MOST);
	strcat(text, ",1 in");
	assert_int_equal(cuts_parse(arena, text, &cuts, &count, &fault), ST_INVALID);
}

static bool read_cuts(struct arena *short_of_room)
{
	const struct cut *cuts;
	size_t count;
	struct cuts_fault fault;

	return cuts_parse(short_of_room, "2 x 3 in, 4 in", &cuts, &count, &fault) == ST_OK;
}

static const struct {
	const char *text;
	int64_t thousandths;
	const char *unit;
} amounts[] = {
        {"16", 16000, ""},
        {"16 pcs", 16000, ""},
        {"1 Each", 1000, ""},
        {"4 off", 4000, ""},
        {"3 ft", 3000, "ft"},
        {"3ft", 3000, "ft"},
        {"2.5 qt", 2500, "qt"},
        {"0.125 l", 125, "l"},
        {"1/2 pint", 500, "pint"},
        {"1 1/2 pint", 1500, "pint"},
        {"  2 tubes of  sealant ", 2000, "tubes of sealant"},
        {"2 1 ft", 0, NULL},
        {"1000000", 1000000000, ""},
        {"1000001", 0, NULL},
        {"12345678", 0, NULL},
        {"", 0, NULL},
        {"as required", 0, NULL},
        {"0", 0, NULL},
        {"-3", 0, NULL},
        {"1,000", 0, NULL},
        {"3-4", 0, NULL},
        {"1/3 pint", 0, NULL},
        {"1/0", 0, NULL},
        {"1/", 0, NULL},
        {"1 1/", 0, NULL},
        {"2.", 0, NULL},
        {"2.1234", 0, NULL},
        {"~3", 0, NULL},
};

static void an_amount_counts_where_it_begins_with_a_number(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(amounts); i++) {
		struct amount amount;

		assert_int_equal(amount_read(arena, amounts[i].text, &amount), ST_OK);
		if (amount.thousandths != amounts[i].thousandths && amounts[i].unit)
			fail_msg("%s: %lld", amounts[i].text, (long long)amount.thousandths);
		if (strcmp(amounts[i].text, "2 1 ft") == 0) {
			assert_string_equal(amount.unit.text, "1 ft");
			continue;
		}
		assert_int_equal(amount.thousandths, amounts[i].thousandths);
		if (amounts[i].unit)
			assert_string_equal(amount.unit.text, amounts[i].unit);
		else
			assert_true(name_is_empty(&amount.unit));
	}
}

static void an_amount_is_printed_short(void **state)
{
	static const struct {
		int64_t thousandths;
		const char *unit, *printed;
	} rows[] = {{16000, "", "16"},       {2500, "qt", "2.5 qt"},   {125, "l", "0.125 l"},
	            {1250, "ft", "1.25 ft"}, {1005, "ft", "1.005 ft"}, {0, "", "0"}};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct text out = TEXT_EMPTY;
		struct name unit = make_name(arena, rows[i].unit);

		amount_print(rows[i].thousandths, &unit, &out);
		assert_string_equal(text_string(&out), rows[i].printed);
		text_free(&out);
	}
}

static bool read_amount(struct arena *short_of_room)
{
	struct amount amount;

	return amount_read(short_of_room, "3 pcs", &amount) == ST_OK;
}

static void memory_may_run_out(void **state)
{
	(void)state;
	try_each_place(read_cuts);
	try_each_place(read_amount);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(a_length_is_read_exactly_and_printed_so),
	        cmocka_unit_test(what_inches_cannot_say_is_printed_in_millimetres),
	        cmocka_unit_test(a_list_of_cuts_is_read_or_the_column_is_named),
	        cmocka_unit_test(a_list_of_cuts_has_an_end),
	        cmocka_unit_test(an_amount_counts_where_it_begins_with_a_number),
	        cmocka_unit_test(an_amount_is_printed_short),
	        cmocka_unit_test(memory_may_run_out),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
