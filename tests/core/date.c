/* Truth with three values, and dates as intervals of days.
 *
 * Held against: Kleene's tables (Introduction to Metamathematics, 1952, section
 * 64); the calendar counted day by day; SQLite's date functions; the partial
 * dates of ISO 8601-2 (EDTF level 0) by enumeration of every day.
 */
#include "build.h"

#include <sqlite3.h>
#include <stdio.h>
#include <string.h>

#include "core/date.h"

/* ---- Kleene 1952, section 64: rows and columns F, U, T ---- */

static void truth_follows_kleene(void **state)
{
	static const enum truth and[3][3] = {{0, 0, 0}, {0, 1, 1}, {0, 1, 2}};
	static const enum truth or [3][3] = {{0, 1, 2}, {1, 1, 2}, {2, 2, 2}};
	static const enum truth not [3] = {2, 1, 0};

	(void)state;
	for (int a = 0; a < 3; a++) {
		assert_int_equal(truth_not((enum truth)a), not [a]);
		for (int b = 0; b < 3; b++) {
			assert_int_equal(truth_and((enum truth)a, (enum truth)b), and[a][b]);
			assert_int_equal(truth_or((enum truth)a, (enum truth)b), or [a][b]);
		}
	}
	assert_int_equal(truth_of(0), TRUTH_FALSE);
	assert_int_equal(truth_of(7), TRUTH_TRUE);
}

/* ---- reading ---- */

static const struct {
	const char *text, *first, *last, *words;
} good[] = {
        {"2016", "2016-01-01", "2016-12-31", "2016"},
        {"2016-04", "2016-04-01", "2016-04-30", "April 2016"},
        {"2016-04-17", "2016-04-17", "2016-04-17", "17 April 2016"},
        {"2016-02", "2016-02-01", "2016-02-29", "February 2016"},
        {"2000-02", "2000-02-01", "2000-02-29", "February 2000"},
        {"2015-02", "2015-02-01", "2015-02-28", "February 2015"},
        {"1900-02", "1900-02-01", "1900-02-28", "February 1900"},
        {"2100-02-28", "2100-02-28", "2100-02-28", "28 February 2100"},
        {"1900", "1900-01-01", "1900-12-31", "1900"},
        {"2199-12-31", "2199-12-31", "2199-12-31", "31 December 2199"},
        {"2025-09-30", "2025-09-30", "2025-09-30", "30 September 2025"},
};

static const char *const bad[] = {
        "",
        " ",
        "2",
        "20",
        "201",
        "20164",
        "2016-",
        "2016-4",
        "2016-004",
        "2016-13",
        "2016-00",
        "2016-99",
        "2016-04-",
        "2016-04-1",
        "2016-04-001",
        "2016-04-00",
        "2016-04-31",
        "2016-06-31",
        "2015-02-29",
        "1900-02-29",
        "2100-02-29",
        "2016-02-30",
        "2016-12-32",
        "1899",
        "2200",
        "0000",
        "1899-12-31",
        "2200-01-01",
        "9999",
        "-2016",
        "+2016",
        " 2016",
        "2016 ",
        "2016 04",
        "2016/04",
        "2016.04",
        "2016-04 17",
        "20160417",
        "2016-0417",
        "201604",
        "17-04-2016",
        "04/17/2016",
        "April 2016",
        "2O12",
        "20l2",
        "2016-XX",
        "2016?",
        "2016~",
        "201X",
        "2016-W16",
        "2016-107",
        "2016-W16-2",
        "2016-1a",
        "2016-a1",
        "2016-04-1a",
        "2016-04-a1",
        "2016-04T10",
        "2016--4",
        "2016-+4",
        "2016-04- 7",
        "Y2012",
        "unknown",
        "never",
        "x012",
        "2x12",
        "201x",
        /* Digits of other scripts: Arabic-Indic, fullwidth, Devanagari; a dash that is no hyphen.
         */
        "٢٠١٢",
        "２０１２",
        "२०१२",
        "2016‐04",
        "2016–04",
        "2016−04-17",
};

static void good_dates_are_read_and_printed(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(good); i++) {
		struct date date = make_date(good[i].text);
		char text[DATE_TEXT_SIZE], words[DATE_WORDS_SIZE];

		assert_int_equal(date.first, make_day(good[i].first));
		assert_int_equal(date.last, make_day(good[i].last));
		date_print(date, text);
		assert_string_equal(text, good[i].text);
		date_words(date, words);
		assert_string_equal(words, good[i].words);
	}
}

/* Dates as people write them: months in words as English and American papers
 * print them, days in front with full stops (common practice, no source). */
static void dates_are_read_as_people_write_them(void **state)
{
	static const struct {
		const char *written, *date;
	} rows[] = {
	        {"24 September 2017", "2017-09-24"},
	        {"24 Sept 2017", "2017-09-24"},
	        {"24 sep. 2017", "2017-09-24"},
	        {"24th September, 2017", "2017-09-24"},
	        {"September 24, 2017", "2017-09-24"},
	        {"Sep 24th 2017", "2017-09-24"},
	        {"1st May 2017", "2017-05-01"},
	        {"September 2017", "2017-09"},
	        {"Sept 2017", "2017-09"},
	        {"03/2017", "2017-03"},
	        {"3/2017", "2017-03"},
	        {"03.2017", "2017-03"},
	        {"24.9.2017", "2017-09-24"},
	        {"5.9.2017", "2017-09-05"},
	        {"24. 9. 2017", "2017-09-24"},
	        {"24/9/2017", "2017-09-24"},
	        {"9/24/2017", "2017-09-24"},
	        {"9/9/2017", "2017-09-09"},
	        {"29 February 2016", "2016-02-29"},
	        {"2017", "2017"},
	        {"2017-09", "2017-09"},
	        {"2017-09-24", "2017-09-24"},
	};
	static const char *const wrong[] = {
	        "",
	        "5",
	        "050917",
	        "autumn 2017",
	        "2017 autumn",
	        "31.9.2017",
	        "29.2.2017",
	        "13/2017",
	        "0/2017",
	        "24 Sept 17",
	        "24/9/17",
	        "Septembre 24",
	        "24 9 2017",
	        "24-9-2017",
	        "Se 2017",
	        "Maybe 2017",
	        "1.2.3.2017",
	        "24st 9th 2017",
	        "September",
	        "24 September 1899",
	        "0.9.2017",
	        "9.0.2017",
	        "24/9.2017",
	        "24..9.2017",
	        "24 September 2017 noon",
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct date date;
		char out[DATE_TEXT_SIZE];

		if (date_read(rows[i].written, strlen(rows[i].written), &date) != ST_OK)
			fail_msg("%s is not read", rows[i].written);
		date_print(date, out);
		assert_string_equal(out, rows[i].date);
	}
	for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
		struct date date = {1, 2, DATE_MONTH};

		if (date_read(wrong[i], strlen(wrong[i]), &date) != ST_INVALID)
			fail_msg("%s is read", wrong[i]);
		assert_int_equal(date.first, 1);
	}
	assert_int_equal(date_read("5/9/2017", 8, &(struct date){0}), ST_MISSING);
}

static void bad_dates_are_refused_and_leave_no_trace(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(bad); i++) {
		struct date date = {1, 2, DATE_MONTH};

		if (date_parse(bad[i], strlen(bad[i]), &date) != ST_INVALID)
			fail_msg("taken: \"%s\"", bad[i]);
		assert_int_equal(date.first, 1);
		assert_int_equal(date.last, 2);
	}
	assert_int_equal(date_parse("2016\0-04", 8, &(struct date){0}), ST_INVALID);
}

/* The longest words fit their room: all months, both widths of day. */
static void words_fit(void **state)
{
	(void)state;
	for (day_number day = make_day("2016-01-01"); day <= make_day("2016-12-31"); day++) {
		char words[DATE_WORDS_SIZE];

		date_words(date_of_day(day), words);
		assert_non_null(strstr(words, " 2016"));
	}
}

/* ---- the calendar ---- */

/* Counted one day at a time from 1 January 1900, which is 25,567 days before
 * 1 January 1970 (70 years with 17 leap days). Leap years by the Gregorian
 * rule (bull Inter gravissimas, 1582). */
static void calendar_agrees_with_counting(void **state)
{
	static const int plain[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
	day_number count = -(70 * 365 + 17);

	(void)state;
	for (int y = 1900; y <= 2199; y++) {
		bool leap = y % 400 == 0 || (y % 4 == 0 && y % 100 != 0);

		for (int m = 1; m <= 12; m++) {
			int length = plain[m - 1] + (leap && m == 2);

			assert_int_equal(month_length(y, m), length);
			for (int d = 1; d <= length; d++, count++) {
				int year, month, day;

				assert_int_equal(day_from_civil(y, m, d), count);
				day_to_civil(count, &year, &month, &day);
				assert_true(year == y && month == m && day == d);
			}
		}
	}
}

/* Steps through rows of (number, text), text as this library prints it. */
static void compare_with_sqlite(const char *sql)
{
	sqlite3 *db;
	sqlite3_stmt *query;
	int rows = 0;

	assert_int_equal(sqlite3_open(":memory:", &db), SQLITE_OK);
	assert_int_equal(sqlite3_prepare_v2(db, sql, -1, &query, NULL), SQLITE_OK);
	for (; sqlite3_step(query) == SQLITE_ROW; rows++) {
		char text[DATE_TEXT_SIZE];

		date_print(date_of_day(sqlite3_column_int(query, 0)), text);
		assert_string_equal(text, (const char *)sqlite3_column_text(query, 1));
		assert_int_equal(make_day(text), sqlite3_column_int(query, 0));
	}
	sqlite3_finalize(query);
	sqlite3_close(db);
	assert_true(rows > 1000);
}

static void calendar_agrees_with_sqlite(void **state)
{
	(void)state;
	compare_with_sqlite("WITH RECURSIVE d(n) AS (VALUES(-25567) UNION ALL "
	                    "SELECT n + 1 FROM d WHERE n < 84005) "
	                    "SELECT n, date(n * 86400, 'unixepoch') FROM d");
}

/* Ends of calendar months by SQLite: 'start of month', '+n months', '-1 day'. */
static void month_ends_agree_with_sqlite(void **state)
{
	static const char sql[] =
	        "WITH RECURSIVE d(n) AS (VALUES(0) UNION ALL SELECT n + 37 FROM d WHERE n < 20000) "
	        "SELECT n, k, CAST(julianday(date(n * 86400, 'unixepoch', 'start of month', "
	        "(k + 1) || ' months', '-1 day')) - 2440587.5 AS INTEGER) "
	        "FROM d, (SELECT -30 AS k UNION SELECT -12 UNION SELECT -1 UNION SELECT 0 UNION "
	        "SELECT 1 UNION SELECT 6 UNION SELECT 12 UNION SELECT 24 UNION SELECT 61)";
	sqlite3 *db;
	sqlite3_stmt *query;
	int rows = 0;

	(void)state;
	assert_int_equal(sqlite3_open(":memory:", &db), SQLITE_OK);
	assert_int_equal(sqlite3_prepare_v2(db, sql, -1, &query, NULL), SQLITE_OK);
	for (; sqlite3_step(query) == SQLITE_ROW; rows++)
		assert_int_equal(day_end_of_month_after(sqlite3_column_int(query, 0),
		                                        sqlite3_column_int(query, 1)),
		                 sqlite3_column_int(query, 2));
	sqlite3_finalize(query);
	sqlite3_close(db);
	assert_true(rows > 4000);
}

/* ---- months ---- */

static void months_are_added(void **state)
{
	static const struct {
		const char *day;
		int months;
		const char *sum;
	} rows[] = {
	        /* The java.time documentation of plusMonths, and questions on it. */
	        {"2007-03-31", 1, "2007-04-30"},
	        {"2011-01-31", 1, "2011-02-28"},
	        {"2020-01-31", 1, "2020-02-29"},
	        {"2020-02-29", -1, "2020-01-29"},
	        {"2013-10-31", 4, "2014-02-28"},
	        {"2012-02-29", 12, "2013-02-28"},
	        /* Counted by hand. */
	        {"2016-02-29", 48, "2020-02-29"},
	        {"2016-04-17", 0, "2016-04-17"},
	        {"2016-12-31", 1, "2017-01-31"},
	        {"2017-01-31", -1, "2016-12-31"},
	        {"2016-01-15", -13, "2014-12-15"},
	        {"1900-01-31", 13, "1901-02-28"},
	        {"2000-01-31", 1, "2000-02-29"},
	        {"2100-01-31", 1, "2100-02-28"},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++)
		assert_int_equal(day_add_months(make_day(rows[i].day), rows[i].months),
		                 make_day(rows[i].sum));
}

static void calendar_months_end_with_their_last_day(void **state)
{
	static const struct {
		const char *day;
		int months;
		const char *end;
	} rows[] = {
	        /* FAA usage of 14 CFR 91.409, 91.411 and 91.413. */
	        {"2014-06-06", 12, "2015-06-30"},
	        {"2014-06-01", 24, "2016-06-30"},
	        {"2014-06-30", 24, "2016-06-30"},
	        /* FAA AD 93-24-15: within 6 calendar months after 11 February 1994. */
	        {"1994-02-11", 6, "1994-08-31"},
	        /* FAA AD 2011-10-09: 12 calendar months after an inspection in March 2011. */
	        {"2011-03-15", 12, "2012-03-31"},
	        /* Counted by hand. */
	        {"2015-02-28", 12, "2016-02-29"},
	        {"2016-02-29", 12, "2017-02-28"},
	        {"2016-01-31", 1, "2016-02-29"},
	        {"2016-12-01", 1, "2017-01-31"},
	        {"2016-12-31", 0, "2016-12-31"},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++)
		assert_int_equal(day_end_of_month_after(make_day(rows[i].day), rows[i].months),
		                 make_day(rows[i].end));
}

/* ---- partial dates ---- */

/* Every day that the text may stand for, counted by whether it lies in the
 * range: all of them, none, or some. The days are told by their ISO text, so
 * that the parser's intervals are not asked. */
static enum truth enumerate(const char *partial, struct day_range range)
{
	size_t inside = 0, all = 0;

	for (day_number day = make_day("2013-12-01"); day <= make_day("2018-01-31"); day++) {
		char text[DATE_TEXT_SIZE];

		date_print(date_of_day(day), text);
		if (strncmp(text, partial, strlen(partial)) != 0)
			continue;
		all++;
		inside += day >= range.first && day <= range.last;
	}
	assert_true(all > 0);
	return inside == all ? TRUTH_TRUE : inside ? TRUTH_UNKNOWN : TRUTH_FALSE;
}

/* A day of 2013-12 to 2018-01 is cut to year, month or day between 2014 and 2017. */
static void random_partial(uint64_t *seed, char *out)
{
	day_number from = make_day("2014-01-01"), to = make_day("2017-12-31");
	static const size_t lengths[] = {4, 7, 10};

	date_print(date_of_day(from + (day_number)(next_random(seed) % (uint64_t)(to - from + 1))),
	           out);
	out[lengths[next_random(seed) % 3]] = '\0';
}

static day_number random_end(uint64_t *seed, day_number open)
{
	if (next_random(seed) % 6 == 0)
		return open;
	return make_day("2013-12-01") + (day_number)(next_random(seed) % 1500);
}

static void partial_dates_equal_enumeration_of_days(void **state)
{
	uint64_t seed = 8601;
	unsigned seen[3] = {0};

	(void)state;
	for (int i = 0; i < 2500; i++) {
		struct date_fact fact;
		struct day_range range = {random_end(&seed, DAY_FIRST),
		                          random_end(&seed, DAY_LAST)};
		char text[DATE_TEXT_SIZE];
		enum truth truth;

		if (range.first > range.last)
			continue;
		random_partial(&seed, text);
		fact = make_date_fact(text);
		truth = date_in_range(&fact, range);
		seen[truth]++;
		if (truth != enumerate(text, range))
			fail_msg("%s in %d to %d", text, range.first, range.last);
	}
	assert_true(seen[0] > 200 && seen[1] > 200 && seen[2] > 200);
}

static void what_never_happened_is_in_no_range(void **state)
{
	struct day_range all = {DAY_FIRST, DAY_LAST};

	(void)state;
	assert_int_equal(date_in_range(&(struct date_fact){.state = DATE_NEVER}, all), TRUTH_FALSE);
	assert_int_equal(date_in_range(&(struct date_fact){.state = DATE_UNKNOWN}, all),
	                 TRUTH_UNKNOWN);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(truth_follows_kleene),
	        cmocka_unit_test(good_dates_are_read_and_printed),
	        cmocka_unit_test(dates_are_read_as_people_write_them),
	        cmocka_unit_test(bad_dates_are_refused_and_leave_no_trace),
	        cmocka_unit_test(words_fit),
	        cmocka_unit_test(calendar_agrees_with_counting),
	        cmocka_unit_test(calendar_agrees_with_sqlite),
	        cmocka_unit_test(month_ends_agree_with_sqlite),
	        cmocka_unit_test(months_are_added),
	        cmocka_unit_test(calendar_months_end_with_their_last_day),
	        cmocka_unit_test(partial_dates_equal_enumeration_of_days),
	        cmocka_unit_test(what_never_happened_is_in_no_range),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
