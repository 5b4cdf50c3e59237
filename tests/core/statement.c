/* The effectivity statement: faults by place, sentences, the rules of three
 * values, reasons. Random statements are in agree.c. */
#include "build.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"

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

/* ---- the words of bulletins ---- */

/* What a steward types from a bulletin, and what it becomes. */
static const struct {
	const char *typed, *canonical;
} wordings[] = {
        {"all kits", "all"},
        {"All aircraft", "all"},
        {"Models: Whimbrel and Whimbrel T", "model Whimbrel, Whimbrel T"},
        {"model Whimbrel or Whimbrel T", "model Whimbrel, Whimbrel T"},
        {"model Whimbrel, or Whimbrel T", "model Whimbrel, Whimbrel T"},
        {"Model: Whimbrel", "model Whimbrel"},
        {"model Whimbrel series", "model Whimbrel series"},
        {"S/N WH-0101 through WH-0145", "serial WH-0101 thru WH-0145"},
        {"S/N: WH-0101 to WH-0145 inclusive", "serial WH-0101 thru WH-0145"},
        {"serial numbers WH-0101 - WH-0145", "serial WH-0101 thru WH-0145"},
        {"serials WH-0101 \xE2\x80\x93 WH-0145", "serial WH-0101 thru WH-0145"},
        {"serial WH-0101 thru 0145", "serial WH-0101 thru WH-0145"},
        {"serial WH-0101 thru -0145", "serial WH-0101 thru WH-0145"},
        {"serial from WH-0101 to WH-0145", "serial WH-0101 thru WH-0145"},
        {"serial between WH-0101 and WH-0145", "serial WH-0101 thru WH-0145"},
        {"serial no. WH-0160 and subsequent", "serial WH-0160 and on"},
        {"serial WH-0160 and up", "serial WH-0160 and on"},
        {"serial WH-0160 onwards", "serial WH-0160 and on"},
        {"serial WH-0160 or later", "serial WH-0160 and on"},
        {"serial WH-0160 and prior", "serial up to WH-0160"},
        {"serial up to and including WH-0160", "serial up to WH-0160"},
        {"serial before WH-0160", "serial up to WH-0159"},
        {"serial prior to WH-0100", "serial up to WH-0099"},
        {"serial later than WH-0299", "serial WH-0300 and on"},
        {"serial above WH-0099", "serial WH-0100 and on"},
        {"serial WH-0107, -0109 and -0133", "serial WH-0107, WH-0109, WH-0133"},
        {"serial WH-0101 thru WH-0145 and WH-0150", "serial WH-0101 thru WH-0145, WH-0150"},
        {"serial WH-0101 and WH-0160 and on", "serial WH-0101, WH-0160 and on"},
        {"serial WH-0101 thru WH-0145 except WH-0107, -0109 and -0133",
         "serial WH-0101 thru WH-0145\nnot serial WH-0107, WH-0109, WH-0133"},
        {"model Whimbrel series except Whimbrel T", "model Whimbrel series\nnot model Whimbrel T"},
        {"serial 045/2011 thru 120/2011", "serial 045/2011 thru 120/2011"},
        {"serial L-100-76A thru L-6182-76A", "serial L-100-76A thru L-6182-76A"},
        {"purchased after September 2017", "purchased after 2017-09"},
        {"bought before 1 October 2017", "purchased before 2017-10-01"},
        {"purchased from 24.9.2017 to 30.9.2017", "purchased 2017-09-24 thru 2017-09-30"},
        {"purchased between March 2017 and July 2017", "purchased 2017-03 thru 2017-07"},
        {"plans dated prior to 15 May 2014", "plans before 2014-05-15"},
        {"plans issued Sept 2017 and later", "plans 2017-09 and on"},
        {"first flight 13/10/2017", "first-flight 2017-10-13"},
        {"first flown 03/2017", "first-flight 2017-03"},
        {"sub-kit W2", "subkit W2"},
        {"shipped W2 before August 2015", "shipped W2 before 2015-08"},
        {"P/N WH-2207-1, -2, -5 or -6", "part WH-2207-1, WH-2207-2, WH-2207-5, WH-2207-6"},
        {"P/N WH-2207-1/-2", "part WH-2207-1, WH-2207-2"},
        {"part number WH-2207-1 lot 3 to 9 and 12", "part WH-2207-1 lot 3 thru 9, 12"},
        {"part WH-2207-1 lot B", "part WH-2207-1 lot B"},
        {"part WH-2207-1 lot A thru F", "part WH-2207-1 lot A thru F"},
        {"parts WH-8101 series", "part WH-8101 series"},
        {"hours less than 100", "hours before 100"},
        {"hours 250 or more", "hours 250 and on"},
        {"landings over 500", "landings after 500"},
        {"option nuts and bolts", "option nuts and bolts"}, /* may be the option's name */
};

static void the_words_of_bulletins_have_one_form(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(wordings); i++) {
		const struct effectivity *statement, *again;
		struct statement_fault fault = {.line = 0};
		struct text out = TEXT_EMPTY, twice = TEXT_EMPTY;

		if (effectivity_parse(arena, wordings[i].typed, strlen(wordings[i].typed),
		                      &statement, &fault) != ST_OK)
			fail_msg("%s: column %u, expected %s", wordings[i].typed, fault.column,
			         fault.expected);
		effectivity_print(statement, &out);
		if (strncmp(text_string(&out), wordings[i].canonical, out.len - 1) != 0 ||
		    strlen(wordings[i].canonical) != out.len - 1)
			fail_msg("%s: became %s", wordings[i].typed, text_string(&out));
		again = make_statement(arena, text_string(&out));
		effectivity_print(again, &twice);
		assert_string_equal(text_string(&twice), text_string(&out));
		text_free(&out);
		text_free(&twice);
		arena_reset(arena);
	}
}

/* ---- faults ---- */

#define KEYWORDS                                                                                   \
	"all, model, serial, purchased, plans, first-flight, subkit, shipped, option, part, "      \
	"notice, step, hours, landings, or a line \"or\""
#define A_CONDITION "a condition such as \"model Whimbrel\" or \"all\""
#define A_DATE "a date such as 2017, 2017-09 or 2017-09-24"
#define A_SERIAL "a serial or lot number"
#define BAD_SERIAL                                                                                 \
	"a serial or lot number; this may hold only letters A to Z, digits and - / . _, no blanks"
#define RANGE_END "thru, \"and on\", a comma or the end of the line"
#define LINE_END "a comma or the end of the line"
#define ORDER "an end that is not before the start"
#define STYLE "an end written in the same style as the start; write two ranges"
#define HOURS "hours such as 100 or 1210.5"
#define WHOLE "a whole number"
#define COMMA "numbers without a comma in them, or a blank behind it"
#define ONE_DAY "a date that can be but one day, such as 2017-09-24"
#define NO_EXCEPT "no \"except\" here; write what does count"
#define ONE_CODE "one sub-kit code, then a date"
#define A_MODEL "a model name"

static const struct {
	const char *text;
	unsigned line, column;
	const char *expected;
} faults[] = {
        /* Nothing said. */
        {"", 1, 1, A_CONDITION},
        {"   ", 1, 4, A_CONDITION},
        {"\n\n", 3, 1, A_CONDITION},
        {"or", 1, 1, A_CONDITION},
        {"or\nall", 1, 1, A_CONDITION},
        {"all\nor", 2, 3, A_CONDITION},
        {"all\nor\n", 3, 1, A_CONDITION},
        {"all\nor\nor\nall", 3, 1, A_CONDITION},
        /* Unknown words. */
        {"Whimbrel", 1, 1, KEYWORDS},
        {"mode l", 1, 1, KEYWORDS},
        {"model Whimbrel\n  colours WH-1", 2, 3, KEYWORDS},
        {"all\nand\nall", 2, 1, KEYWORDS},
        {"all\nor all", 2, 1, KEYWORDS},
        {"not", 1, 4, KEYWORDS},
        {"not or", 1, 5, KEYWORDS},
        {"not not all", 1, 5, KEYWORDS},
        {"model:Whimbrel", 1, 1, KEYWORDS},
        {"\"><script>", 1, 1, KEYWORDS},
        {"m\xC3\xB6"
         "del X",
         1, 1, KEYWORDS},
        /* all */
        {"all kites", 1, 5, LINE_END},
        {"all kits of 2017", 1, 10, LINE_END},
        {"not all", 1, 1, "\"all\" without \"not\""},
        {"  not all", 1, 1, "\"all\" without \"not\""},
        /* Names. */
        {"model", 1, 6, A_MODEL},
        {"model ", 1, 6, A_MODEL},
        {"model ,", 1, 7, A_MODEL},
        {"model Whimbrel,", 1, 16, A_MODEL},
        {"model Whimbrel, , Curlew", 1, 17, A_MODEL},
        {"model , Whimbrel", 1, 7, A_MODEL},
        {"not model", 1, 10, A_MODEL},
        {"option", 1, 7, "the name of an option"},
        {"subkit\t", 1, 7, "a sub-kit code"},
        {"notice", 1, 7, "a notice number"},
        {"step", 1, 5, "a step code"},
        {"part", 1, 5, "a part number"},
        {"part ,A", 1, 6, "a part number"},
        {"shipped", 1, 8, "a sub-kit code and a date"},
        {"shipped E", 1, 10, A_DATE},
        {"shipped E, W 2017", 1, 10, ONE_CODE},
        {"shipped E, 2017", 1, 10, ONE_CODE},
        {"shipped E,2017", 1, 10, ONE_CODE},
        {"shipped ,E 2017", 1, 9, ONE_CODE},
        {"shipped E W 2017", 1, 13, RANGE_END},
        {"model "
         "012345678901234567890123456789012345678901234567890123456789012345678901234567890",
         1, 7, "a name of at most 80 characters"},
        /* Serials. */
        {"serial", 1, 7, A_SERIAL},
        {"serial ,", 1, 8, A_SERIAL},
        {"serial WH-1,", 1, 13, A_SERIAL},
        {"serial up to", 1, 13, A_SERIAL},
        {"serial WH-1 thru", 1, 17, A_SERIAL},
        {"serial WH-1 thru ,", 1, 17, A_SERIAL},
        {"serial WH", 1, 8, A_SERIAL "; this has no digit"},
        {"serial WH-1 thru WH", 1, 18, A_SERIAL "; this has no digit"},
        {"serial WH#1", 1, 10, BAD_SERIAL},
        {"serial \xD0\xA8\xD0\xA8-1", 1, 8, BAD_SERIAL},
        {"serial WH-\xD9\xA1", 1, 11, BAD_SERIAL},
        {"serial 1234567890123456789", 1, 8, A_SERIAL "; this is too long for a serial number"},
        {"serial WH-1 WH-2", 1, 13, RANGE_END},
        {"serial WH-1 and", 1, 16, A_SERIAL},
        {"serial WH-1 and not WH-2", 1, 21, RANGE_END},
        {"serial WH-1 and on on", 1, 20, LINE_END},
        {"serial up WH-1", 1, 11, RANGE_END},
        {"serial up to WH-1 and on", 1, 19, LINE_END},
        {"serial WH-1 thru WH-2 thru WH-3", 1, 23, LINE_END},
        {"serial WH-2 thru WH-1", 1, 18, ORDER},
        {"serial WH-10 thru WH-9", 1, 19, ORDER},
        {"serial WH-1 thru WT-2", 1, 18, STYLE},
        {"serial WH-10 thru 2", 1, 19, STYLE},
        {"serial WH-1 thru WH-2A", 1, 18, STYLE},
        {"serial before WH-0", 1, 15,
         "\"up to\" or \"and on\" with the first or last number concerned"},
        {"serial before 12-2011", 1, 15,
         "\"up to\" or \"and on\" with the first or last number concerned"},
        {"serial after L-100-76A", 1, 14,
         "\"up to\" or \"and on\" with the first or last number concerned"},
        /* FAA AD 93-24-15 prints its ranges with ends in two styles. */
        {"serial 185-0777 thru 18502310", 1, 22, STYLE},
        {"serial F172-0019 thru F17200754", 1, 23, STYLE},
        /* Dates. */
        {"purchased", 1, 10, A_DATE},
        {"purchased 2017-13", 1, 11, A_DATE},
        {"purchased 2017-00", 1, 11, A_DATE},
        {"purchased 2017-4", 1, 11, A_DATE},
        {"purchased 2017-02-29", 1, 11, A_DATE},
        {"purchased 1899", 1, 11, A_DATE},
        {"purchased 2200", 1, 11, A_DATE},
        {"purchased April", 1, 11, A_DATE},
        {"purchased after", 1, 16, A_DATE},
        {"purchased before ,2017", 1, 17, A_DATE},
        {"purchased up to", 1, 16, A_DATE},
        {"purchased since 2017", 1, 17, RANGE_END},
        {"purchased 2017 thru", 1, 20, A_DATE},
        {"purchased 2017 thru 2016", 1, 21, ORDER},
        {"purchased 2017-05 thru 2017-04", 1, 24, ORDER},
        {"purchased 2017 until 2018", 1, 16, RANGE_END},
        {"purchased after 2017 and on", 1, 22, LINE_END},
        {"plans 2017, 2018, x", 1, 19, A_DATE},
        {"first-flight never", 1, 14, A_DATE},
        {"purchased \xEF\xBC\x92\xEF\xBC\x90\xEF\xBC\x91\xEF\xBC\x92", 1, 11, A_DATE},
        /* Numbers. */
        {"hours", 1, 6, HOURS},
        {"hours ten", 1, 7, HOURS},
        {"hours 1.234", 1, 7, HOURS},
        {"hours -5", 1, 7, HOURS},
        {"hours 100 thru 50", 1, 16, ORDER},
        {"hours after", 1, 12, HOURS},
        {"hours 1,5 h", 1, 8, COMMA},
        {"hours before 1,200", 1, 15, COMMA},
        {"landings 100,200", 1, 13, COMMA},
        {"purchased 5/9/2017", 1, 11, ONE_DAY},
        {"purchased autumn 2017", 1, 18, RANGE_END},
        {"part X lot 1 thru 9 except 5", 1, 28, NO_EXCEPT},
        {"not serial WH-1 thru WH-9 except WH-5", 1, 34, NO_EXCEPT},
        {"landings 1.5", 1, 10, WHOLE},
        {"landings up to x", 1, 16, WHOLE},
        {"landings 10000000", 1, 10, WHOLE},
        {"landings 5 thru 1.5", 1, 17, WHOLE},
        /* Parts with details. */
        {"part X lot", 1, 11, A_SERIAL},
        {"part X serial", 1, 14, A_SERIAL},
        {"part X lot 3 thru", 1, 18, A_SERIAL},
        {"part X lot 3 serial 4", 1, 14, RANGE_END},
        {"part X lot before 0", 1, 19,
         "\"up to\" or \"and on\" with the first or last number concerned"},
        {"part X, lot 3", 1, 9, "a part number"},
        {"part X series lot", 1, 18, A_SERIAL},
        /* Text unfit to be kept; columns count characters. */
        {"model \xE2\x80\xAEX", 1, 7,
         "plain text; this holds a hidden mark that turns the direction of text"},
        {"all\n\xC3\xA9\a", 2, 2, "plain text; this holds a control character"},
        {"\n\nmodel \xC0\xAF", 3, 7, "plain text; this holds bytes that are not valid UTF-8 text"},
        {"model \xC3\xA9\xC3\xA9,", 1, 10, A_MODEL},
        {"model X\n\n\nserial #", 4, 8, BAD_SERIAL},
};

static void faults_tell_line_column_and_what_was_expected(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(faults); i++) {
		const struct effectivity *kept = (const void *)&faults, *statement = kept;
		struct statement_fault fault = {.line = 0};
		enum status status = effectivity_parse(arena, faults[i].text,
		                                       strlen(faults[i].text), &statement, &fault);

		if (status != ST_INVALID || fault.line != faults[i].line ||
		    fault.column != faults[i].column ||
		    strcmp(fault.expected, faults[i].expected) != 0)
			fail_msg("%s\nstatus %d, line %u, column %u: %s", faults[i].text, status,
			         fault.line, fault.column, fault.expected);
		assert_ptr_equal(statement, kept);
	}
}

static void texts_that_cannot_be_a_string_are_refused(void **state)
{
	static char huge[EFFECTIVITY_LONGEST + 1];
	const struct effectivity *statement;
	struct statement_fault fault;

	(void)state;
	assert_int_equal(effectivity_parse(arena, "all\0", 4, &statement, &fault), ST_INVALID);
	assert_int_equal(fault.column, 4);
	memset(huge, ' ', sizeof huge);
	memcpy(huge, "all", 3);
	assert_int_equal(effectivity_parse(arena, huge, sizeof huge, &statement, &fault),
	                 ST_INVALID);
	assert_string_equal(fault.expected, "at most 20000 bytes");
	assert_int_equal(effectivity_parse(arena, huge, sizeof huge - 1, &statement, &fault),
	                 ST_OK);
}

/* Cut anywhere, or with any byte changed, a statement is parsed or refused
 * with a place inside it. */
static void damaged_statements_never_mislead(void **state)
{
	static const char whole[] = "model Whimbrel, Whimbrel T series\n"
	                            "serial WH-0101 thru WH-0145, WH-0160 and on, up to WH-9\n"
	                            "not purchased after 2017-04\nor\nnot option tailwheel\n"
	                            "part WH-2207-1 lot 3 thru 9\nhours before 1210.5\n"
	                            "shipped E 2017 thru 2018-04";
	uint64_t seed = 4;

	(void)state;
	for (int i = 0; i < 40000; i++) {
		char text[sizeof whole];
		size_t len = 1 + next_random(&seed) % (sizeof whole - 1);
		const struct effectivity *statement;
		struct statement_fault fault = {.line = 0};

		memcpy(text, whole, sizeof whole);
		for (uint64_t n = next_random(&seed) % 3; n; n--)
			text[next_random(&seed) % len] = (char)(next_random(&seed) % 256);
		if (effectivity_parse(arena, text, len, &statement, &fault) != ST_OK) {
			assert_in_range(fault.line, 1, 10);
			assert_in_range(fault.column, 1, sizeof whole);
			assert_true(fault.expected[0]);
		}
		arena_reset(arena);
	}
}

static void lots_are_read_as_a_statement_writes_them(void **state)
{
	static const struct {
		const char *text, *inside, *outside;
		size_t count;
	} good[] = {
	        {"3 thru 9, 12", "12", "10", 2},
	        {" up to 7 ", "7", "8", 1},
	        {"A-3 and on", "A-4", "A-2", 1},
	};
	static const struct {
		const char *text;
		unsigned column;
		const char *expected;
	} bad[] = {
	        {"3 thru", 7, A_SERIAL},
	        {"lot 3", 5, RANGE_END},
	        {"3,", 3, A_SERIAL},
	        {"9 thru 3", 8, ORDER},
	        {"3 thru A9", 8, STYLE},
	        {"before 0", 8, "\"up to\" or \"and on\" with the first or last number concerned"},
	        {"3\a", 2, "plain text; this holds a control character"},
	};
	const struct serial_range *lots;
	struct statement_fault fault;
	size_t count;

	(void)state;
	for (size_t i = 0; i < ROWS(good); i++) {
		struct serial inside = make_serial(arena, good[i].inside);
		struct serial outside = make_serial(arena, good[i].outside);
		bool in = false, out = false;

		assert_int_equal(effectivity_parse_lots(arena, good[i].text, strlen(good[i].text),
		                                        &lots, &count, &fault),
		                 ST_OK);
		assert_int_equal(count, good[i].count);
		for (size_t k = 0; k < count; k++) {
			in = in || serial_in_range(&inside, &lots[k]);
			out = out || serial_in_range(&outside, &lots[k]);
		}
		assert_true(in && !out);
	}
	for (size_t i = 0; i < ROWS(bad); i++) {
		assert_int_equal(effectivity_parse_lots(arena, bad[i].text, strlen(bad[i].text),
		                                        &lots, &count, &fault),
		                 ST_INVALID);
		assert_int_equal(fault.column, bad[i].column);
		assert_string_equal(fault.expected, bad[i].expected);
	}
	assert_int_equal(effectivity_parse_lots(arena, " \t", 2, &lots, &count, &fault), ST_OK);
	assert_int_equal(count, 0);
}

/* ---- the normal form and the sentence ---- */

static const struct {
	const char *typed, *normal, *sentence;
} texts[] = {
        {"all", "all\n", "Applies to kits of every kind."},
        {"MODEL  Whimbrel ,Whimbrel\tT\nSerial WH-0101 THRU WH-0145 , WH-0150, WH-0160 And On\n"
         "purchased after 2017-04\nNOT option tailwheel\nOR\npart WH-2207-1 lot 3 through 9",
         "model Whimbrel, Whimbrel T\nserial WH-0101 thru WH-0145, WH-0150, WH-0160 and on\n"
         "purchased after 2017-04\nnot option tailwheel\nor\npart WH-2207-1 lot 3 thru 9\n",
         "Applies to kits of model Whimbrel or Whimbrel T, with serial number WH-0101 thru "
         "WH-0145, WH-0150 or WH-0160 and on, purchased after April 2017, without option "
         "tailwheel; or to kits with part WH-2207-1 of lot 3 thru 9 fitted."},
        {"model series", "model series\n", "Applies to kits of model series."},
        {"model 172 SERIES, T303 series", "model 172 series, T303 series\n",
         "Applies to kits of model 172 series or T303 series."},
        {"option blue series", "option blue series\n", "Applies to kits with option blue series."},
        {"option or", "option or\n", "Applies to kits with option or."},
        {"option not fitted", "option not fitted\n", "Applies to kits with option not fitted."},
        {"part lot lot 3", "part lot lot 3\n", "Applies to kits with part lot of lot 3 fitted."},
        {"part serial", "part serial\n", "Applies to kits with part serial fitted."},
        {"part A series, B serial up to 9", "part A series, B serial up to 9\n",
         "Applies to kits with part A series or B with serial number up to 9 fitted."},
        {"not part A", "not part A\n", "Applies to kits without part A fitted."},
        {"not model A, B", "not model A, B\n", "Applies to kits of other models than A or B."},
        {"not serial 5", "not serial 5\n", "Applies to kits with another serial number than 5."},
        {"serial WH-5 thru WH-5", "serial WH-5 thru WH-5\n",
         "Applies to kits with serial number WH-5 thru WH-5."},
        {"purchased 2017-04-17", "purchased 2017-04-17\n",
         "Applies to kits purchased on 17 April 2017."},
        {"purchased 2017, 2018-05 thru 2019, before 2015, up to 2014-12",
         "purchased 2017, 2018-05 thru 2019, before 2015, up to 2014-12\n",
         "Applies to kits purchased in 2017, from May 2018 thru 2019, before 2015 or up to "
         "December 2014."},
        {"plans 2017 and on", "plans 2017 and on\n",
         "Applies to kits with plans issued from 2017 and on."},
        {"not first-flight before 2017", "not first-flight before 2017\n",
         "Applies to kits not first flown before 2017."},
        {"subkit E\nnot subkit W", "subkit E\nnot subkit W\n",
         "Applies to kits with sub-kit E received, without sub-kit W received."},
        {"shipped E-1 2017", "shipped E-1 2017\n",
         "Applies to kits with sub-kit E-1 shipped in 2017."},
        {"notice SB-1\nnot notice SB-2", "notice SB-1\nnot notice SB-2\n",
         "Applies to kits after notice SB-1 was done, before notice SB-2 was done."},
        {"step W-3", "step W-3\n", "Applies to kits with step W-3 built."},
        {"hours 100.50 thru 0200\nnot landings after 007",
         "hours 100.5 thru 200\nnot landings after 7\n",
         "Applies to kits with total hours 100.5 thru 200, with landings other than after 7."},
};

static void statements_are_printed_and_said(void **state)
{
	struct text out = TEXT_EMPTY;

	(void)state;
	for (size_t i = 0; i < ROWS(texts); i++) {
		const struct effectivity *statement = make_statement(arena, texts[i].typed);

		text_clear(&out);
		effectivity_print(statement, &out);
		assert_string_equal(text_string(&out), texts[i].normal);
		text_clear(&out);
		effectivity_sentence(statement, &out);
		assert_string_equal(text_string(&out), texts[i].sentence);
	}
	text_free(&out);
}

/* ---- the rules of three values ---- */

#define YES TRUTH_TRUE
#define NO TRUTH_FALSE
#define ASK TRUTH_UNKNOWN

static const struct {
	const char *statement, *facts;
	enum truth truth;
	const char *needs; /* in the order asked */
} rules[] = {
        {"all", "", YES, ""},
        /* Unknown is not no. */
        {"model Whimbrel", "", ASK, "model"},
        {"not model Whimbrel", "", ASK, "model"},
        {"model Whimbrel", "model whimbrel", YES, ""},
        {"model Whimbrel", "model Whimbrel T", NO, ""},
        {"not model Whimbrel", "model Whimbrel T", YES, ""},
        {"model Whimbrel series", "model Whimbrel T", YES, ""},
        {"model Whimbrel T series", "model Whimbrel", NO, ""},
        {"serial WH-0101 thru WH-0145", "", ASK, "serial"},
        {"serial WH-0101 thru WH-0145", "serial WH-0101", YES, ""},
        {"serial WH-0101 thru WH-0145", "serial WH-0146", NO, ""},
        /* Serials: another prefix or shape is outside, not in doubt. */
        {"serial WH-0101 and on", "serial WX-0200", NO, ""},
        {"serial WH-0101 and on", "serial WH-0200-A", ASK, "serial"},
        {"serial WH-0101 and on", "serial WH-0100-A", NO, ""},
        {"not serial WH-0101 and on", "serial WX-0200", YES, ""},
        {"serial 28-7505001 thru 28-7505260", "serial 28-7505009", YES, ""},
        {"serial WH-9 thru WH-11", "serial WH-10", YES, ""},
        /* "after 2017-04" begins on 1 May 2017. */
        {"purchased after 2017-04", "purchased 2017-04", NO, ""},
        {"purchased after 2017-04", "purchased 2017", ASK, "purchased"},
        {"purchased after 2017-04", "purchased 2017-05", YES, ""},
        {"purchased after 2017-04", "purchased 2017-04-30", NO, ""},
        {"purchased after 2017-04", "purchased 2017-05-01", YES, ""},
        {"purchased after 2017-04", "purchased 2018", YES, ""},
        {"purchased after 2017-04", "purchased never", NO, ""},
        {"not purchased after 2017-04", "purchased never", YES, ""},
        {"not purchased after 2017-04", "purchased 2017", ASK, "purchased"},
        {"purchased before 2017-04", "purchased 2017-03-31", YES, ""},
        {"purchased before 2017-04", "purchased 2017-04", NO, ""},
        {"purchased before 2017-04", "purchased 2017", ASK, "purchased"},
        {"purchased up to 2017-04", "purchased 2017-04", YES, ""},
        {"purchased up to 2017-04", "purchased 2017-05-01", NO, ""},
        {"purchased 2017-04", "purchased 2017-04-17", YES, ""},
        {"purchased 2017-04-17", "purchased 2017-04", ASK, "purchased"},
        {"purchased 2017-04 and on", "purchased 2017-04-01", YES, ""},
        {"purchased 2017-04 and on", "purchased 2017-03-31", NO, ""},
        {"purchased 2017-04 thru 2018", "purchased 2018-12-31", YES, ""},
        {"purchased 2017-04 thru 2018", "purchased 2019", NO, ""},
        {"first-flight 2017", "first-flight never", NO, ""},
        {"plans 2017", "", ASK, "plans"},
        /* A false line decides its group, however much is unknown. */
        {"model Whimbrel\nserial WH-1\npurchased 2017", "serial WH-2", NO, ""},
        {"model Whimbrel\nserial WH-1\npurchased 2017", "serial WH-1", ASK, "model, purchased"},
        /* A true group decides the whole. */
        {"model Whimbrel\nor\noption tailwheel", "option tailwheel = yes", YES, ""},
        {"model Whimbrel\nor\noption tailwheel", "option tailwheel = no", ASK, "model"},
        /* A group that a known line has ruled out asks for nothing. */
        {"serial WH-1\noption a\nor\noption b", "serial WH-2", ASK, "option b"},
        {"option a, b, c", "option a = no; option c = no", ASK, "option b"},
        {"option a, b", "option b = yes", YES, ""},
        {"not option a, b", "option a = no; option b = no", YES, ""},
        {"not option a, b", "option a = no", ASK, "option b"},
        /* Sub-kits. */
        {"subkit E", "", ASK, "subkit E"},
        {"subkit E", "subkit E = yes", YES, ""},
        {"subkit E", "subkit E = no", NO, ""},
        {"shipped E after 2017", "", ASK, "shipped E"},
        {"shipped E after 2017", "subkit E = yes", ASK, "shipped E"},
        {"shipped E after 2017", "subkit E = no", NO, ""},
        {"shipped E after 2017", "subkit E = 2018-01", YES, ""},
        {"shipped E after 2017-06", "subkit E = 2017", ASK, "shipped E"},
        /* Parts: a list that is not complete proves no absence. */
        {"part X", "", ASK, "part X"},
        {"part X", "parts known", NO, ""},
        {"part X", "part Y", ASK, "part X"},
        {"part X", "part Y; parts known", NO, ""},
        {"part X", "part x", YES, ""},
        {"not part X", "parts known", YES, ""},
        {"part X", "part ?; parts known", ASK, "part X"},
        {"part X series", "part X-9", YES, ""},
        {"part X lot 3 thru 9", "part X | lot 4", YES, ""},
        {"part X lot 3 thru 9", "part X | lot 10; parts known", NO, ""},
        {"part X lot 3 thru 9", "part X | lot 10", ASK, "part X"},
        {"part X lot 3 thru 9", "part X; parts known", ASK, "part X lot"},
        {"part X lot 3 thru 9", "part X | serial 4; parts known", ASK, "part X lot"},
        {"part X serial 3 thru 9", "part X | serial 4", YES, ""},
        {"part X serial 3 thru 9", "part X | lot 4; parts known", ASK, "part X serial"},
        {"part X serial 3 thru 9", "part ? | serial 20; parts known", NO, ""},
        {"part X serial 3 thru 9", "part ? | serial 4; parts known", ASK, "part X"},
        {"part X lot 3", "part X | lot 4; part X; part X; parts known", ASK, "part X lot"},
        {"part X series lot 3", "part X1; part X2 | lot 9; part X3; parts known", ASK,
         "part X series lot"},
        /* Notices and steps. */
        {"notice SB-1", "", ASK, "notice SB-1"},
        {"notice SB-1", "notice SB-1", YES, ""},
        {"notice SB-1", "notices known", NO, ""},
        {"not notice SB-1", "notices known", YES, ""},
        {"step W-3", "", ASK, "step W-3"},
        {"step W-3", "steps known", NO, ""},
        {"step W-3", "step w-3", YES, ""},
        /* Numbers. */
        {"hours 100 and on", "", ASK, "hours"},
        {"hours 100 and on", "hours 100", YES, ""},
        {"hours after 100", "hours 100", NO, ""},
        {"hours after 100", "hours 100.01", YES, ""},
        {"hours before 100", "hours 99.99", YES, ""},
        {"hours before 100", "hours 100", NO, ""},
        {"hours up to 100", "hours 100", YES, ""},
        {"hours 50 thru 100", "hours 100.01", NO, ""},
        {"landings 5", "landings 5", YES, ""},
        {"landings 5, 7", "landings 6", NO, ""},
        {"landings 5", "", ASK, "landings"},
        /* Connective by connective: x or not x is unknown while x is (K3). */
        {"option a\nor\nnot option a", "", ASK, "option a, option a"},
        /* Plans of any date say nothing of the purchase. */
        {"purchased after 2017-04", "purchased 2026; plans 2026", YES, ""},
        {"purchased after 2017-04", "plans 2026", ASK, "purchased"},
};

static void list_need(void *context, const struct fact *fact)
{
	struct text *out = context;

	text_add(out, out->len ? ", " : "");
	fact_print(fact, out);
}

static void statements_are_decided_by_the_rules(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(rules); i++) {
		const struct effectivity *statement = make_statement(arena, rules[i].statement);
		const struct facts *facts = make_facts(arena, rules[i].facts);
		struct text needs = TEXT_EMPTY;

		effectivity_needs(statement, facts, list_need, &needs);
		if (effectivity_decide(statement, facts) != rules[i].truth ||
		    strcmp(text_string(&needs), rules[i].needs) != 0)
			fail_msg("%s\nfor %s: %d, needs %s", rules[i].statement, rules[i].facts,
			         effectivity_decide(statement, facts), text_string(&needs));
		text_free(&needs);
		arena_reset(arena);
	}
}

/* ---- reasons ---- */

static const struct {
	const char *statement, *facts, *reason;
} reasons[] = {
        {"all", "", "Applies because it concerns every kit."},
        {"model Whimbrel\nserial WH-0101 and on", "model Whimbrel; serial WH-0120",
         "Applies because model is Whimbrel, kit serial number is WH-0120."},
        {"serial WH-0101 and on", "serial WH-0100",
         "Does not apply because kit serial number is WH-0100, and line 1 says: serial WH-0101 and "
         "on."},
        {"model Whimbrel\nnot option tailwheel\nor\npart X lot 3 thru 9",
         "model Whimbrel; option tailwheel = yes; part X | lot 10; parts known",
         "Does not apply because option tailwheel is fitted, and line 2 says: not option "
         "tailwheel; lot of part X is 10, and line 4 says: part X lot 3 thru 9."},
        {"model Curlew\nor\nserial WH-1", "model Whimbrel; serial WH-1",
         "Applies because kit serial number is WH-1."},
        {"purchased after 2017-04\nserial WH-1", "purchased 2017",
         "Cannot be told without: purchase date (known only as 2017), kit serial number."},
        {"part X\nsubkit E\nnotice SB-1\nstep W-3\noption a", "",
         "Cannot be told without: whether part X is fitted, whether sub-kit E was received, "
         "whether notice SB-1 was done, whether step W-3 is built, whether it has option a."},
        {"option a\nor\nnot option a", "", "Cannot be told without: whether it has option a."},
        {"option a, b, c, d, e, f, g, h", "",
         "Cannot be told without: whether it has option a, whether it has option b, whether it "
         "has option c, whether it has option d, whether it has option e, whether it has option "
         "f, whether it has option g, whether it has option h."},
        {"option a, b, c, d, e, f, g, h, i", "",
         "Cannot be told without: whether it has option a, whether it has option b, whether it "
         "has option c, whether it has option d, whether it has option e, whether it has option "
         "f, whether it has option g, whether it has option h and more."},
        {"first-flight after 2017\nor\nplans 2017", "first-flight never; plans never",
         "Does not apply because first flight is not made yet, and line 1 says: "
         "first-flight after 2017; plans issue is no plans, and line 3 says: plans 2017."},
        {"purchased 2017", "purchased never",
         "Does not apply because purchase date is not bought, and line 1 says: purchased 2017."},
        {"subkit E\nshipped E 2017\nhours up to 10\nlandings up to 10",
         "subkit E = 2017-04; hours 9.5; landings 3",
         "Applies because sub-kit E is received, shipping date of sub-kit E is April 2017, total "
         "time in hours is 9.5, number of landings is 3."},
        {"not subkit E\nnot notice SB-1\nnot step W-3\nnot part X",
         "subkit E = no; notices known; steps known; parts known",
         "Applies because sub-kit E is not received, notice SB-1 is not done, step W-3 is not "
         "built, part X is not fitted."},
        {"notice SB-1\nstep W-3\npart X\npart Y serial 7",
         "notice SB-1; step W-3; part X; part Y | serial 7",
         "Applies because notice SB-1 is done, step W-3 is built, part X is fitted, serial "
         "number of part Y is 7."},
        /* Of a series, what is fitted is named. */
        {"not part WH-22 series", "part WH-22-7; parts known",
         "Does not apply because part WH-22 series is WH-22-7 fitted, and line 1 says: not part "
         "WH-22 series."},
        {"part WH-22 series lot 3", "part WH-22-7 | lot 3; part WH-22-8 | lot 4",
         "Applies because lot of part WH-22 series is WH-22-7 3, WH-22-8 4."},
        {"part X lot 3", "part X | lot 4; part X | lot 5; parts known",
         "Does not apply because lot of part X is 4, 5, and line 1 says: part X lot 3."},
        {"part X lot 3", "part X | lot 4; part X; parts known",
         "Cannot be told without: lot of part X."},
        {"part X", "part ?; parts known", "Cannot be told without: whether part X is fitted."},
        {"part X lot 3", "part X | lot 4", "Cannot be told without: whether part X is fitted."},
        {"shipped E 2017", "subkit E = no",
         "Does not apply because shipping date of sub-kit E is not received, and line 1 says: "
         "shipped E 2017."},
        {"option a, b", "option a = yes",
         "Applies because option a is fitted, option b is not known."},
        {"part X lot 3", "part ? | lot 9; parts known",
         "Does not apply because part X is not known, and line 1 says: part X lot 3."},
        {"hours up to 10", "first-flight never", "Applies because total time in hours is 0."},
        {"landings 1 and on", "first-flight never",
         "Does not apply because number of landings is 0, and line 1 says: landings 1 and on."},
        {"hours up to 10\nlandings 5", "first-flight 2017",
         "Cannot be told without: total time in hours, number of landings."},
};

static void reasons_name_line_and_fact(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(reasons); i++) {
		struct text out = TEXT_EMPTY;

		effectivity_reason(make_statement(arena, reasons[i].statement),
		                   make_facts(arena, reasons[i].facts), &out);
		assert_string_equal(text_string(&out), reasons[i].reason);
		text_free(&out);
		arena_reset(arena);
	}
}

/* Every fact has a question that ends as one, or tells where to look, and that
 * names what it is about; and a value while nothing is known. */
static void every_fact_can_be_asked(void **state)
{
	const struct facts *nothing = make_facts(arena, "");

	(void)state;
	for (int kind = 0; kind < FACT_KINDS; kind++) {
		bool about = kind >= FACT_SUBKIT && kind <= FACT_STEP;
		struct fact fact = {(enum fact_kind)kind, make_name(arena, about ? "Q-7%s" : "")};
		struct text out = TEXT_EMPTY;

		fact_question(&fact, &out);
		assert_non_null(strchr(text_string(&out), '?'));
		assert_int_equal(strstr(text_string(&out), "Q-7%s") != NULL, about);
		text_clear(&out);
		fact_value(nothing, &fact, &out);
		assert_string_equal(text_string(&out), "not known");
		text_clear(&out);
		fact_words(&fact, &out);
		assert_true(out.len > 0);
		text_free(&out);
	}
}

static void facts_are_equal_by_kind_and_subject(void **state)
{
	struct fact a = {FACT_OPTION, make_name(arena, "a")};
	struct fact same = {FACT_OPTION, make_name(arena, "A")};
	struct fact other = {FACT_OPTION, make_name(arena, "b")};
	struct fact kind = {FACT_PART, make_name(arena, "a")};
	struct fact bare = {.kind = FACT_MODEL};

	(void)state;
	assert_true(fact_equal(&a, &same));
	assert_false(fact_equal(&a, &other));
	assert_false(fact_equal(&a, &kind));
	assert_true(fact_equal(&bare, &bare));
}

/* ---- memory ---- */

static const char everything[] =
        "model A, B series\nserial A-1 thru A-9, B-1, C-1 and on, up to D-1\npurchased 2017\n"
        "shipped E before 2017\nor\noption o\npart P lot 1 thru 2\nhours 1, after 2\nnotice N";

static bool parse_it(struct arena *room)
{
	const struct effectivity *statement = NULL;
	struct statement_fault fault;
	enum status status =
	        effectivity_parse(room, everything, sizeof everything - 1, &statement, &fault);

	assert_true(status == ST_OK ? statement != NULL : status == ST_NOMEM && !statement);
	return status == ST_OK;
}

static bool parse_lots(struct arena *room)
{
	const struct serial_range *lots;
	struct statement_fault fault;
	size_t count;

	return effectivity_parse_lots(room, "1, a-2 thru a-3", 15, &lots, &count, &fault) == ST_OK;
}

static bool parse_and_say(void *context)
{
	struct arena *room = arena_new();
	struct text out = TEXT_EMPTY;
	const struct effectivity *statement;
	struct statement_fault fault;
	struct facts facts = {.has_hours = false};
	bool fine = room && effectivity_parse(room, everything, sizeof everything - 1, &statement,
	                                      &fault) == ST_OK;

	(void)context;
	if (fine) {
		effectivity_print(statement, &out);
		effectivity_sentence(statement, &out);
		effectivity_reason(statement, &facts, &out);
	}
	fine = fine && !text_failed(&out);
	text_free(&out);
	arena_free(room);
	return fine;
}

static void every_allocation_may_fail(void **state)
{
	(void)state;
	try_each_allocation(parse_and_say, NULL, false);
	try_each_place(parse_it);
	try_each_place(parse_lots);
}

static void deciding_allocates_nothing(void **state)
{
	const struct effectivity *statement = make_statement(arena, everything);
	const struct facts *facts = make_facts(arena, "model B2; serial A-3");
	struct text none = TEXT_EMPTY;

	(void)state;
	fail_memory(1, true);
	assert_int_equal(effectivity_decide(statement, facts), TRUTH_UNKNOWN);
	effectivity_needs(statement, facts, list_need, &none);
	assert_true(fail_memory_end()); /* only by the text that the needs were added to */
	text_free(&none);
	fail_memory(1, true);
	assert_int_equal(effectivity_decide(statement, facts), TRUTH_UNKNOWN);
	assert_false(fail_memory_end());
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(the_words_of_bulletins_have_one_form),
	        cmocka_unit_test(faults_tell_line_column_and_what_was_expected),
	        cmocka_unit_test(texts_that_cannot_be_a_string_are_refused),
	        cmocka_unit_test(damaged_statements_never_mislead),
	        cmocka_unit_test(lots_are_read_as_a_statement_writes_them),
	        cmocka_unit_test(statements_are_printed_and_said),
	        cmocka_unit_test(statements_are_decided_by_the_rules),
	        cmocka_unit_test(reasons_name_line_and_fact),
	        cmocka_unit_test(every_fact_can_be_asked),
	        cmocka_unit_test(facts_are_equal_by_kind_and_subject),
	        cmocka_unit_test(every_allocation_may_fail),
	        cmocka_unit_test(deciding_allocates_nothing),
	};
	return cmocka_run_group_tests(tests, set_up, tear_down);
}
