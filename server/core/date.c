#include "core/date.h"

#include <assert.h>
#include <ctype.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define YEAR_FIRST 1900
#define YEAR_LAST 2199

static bool is_leap(int year)
{
	return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

int month_length(int year, int month)
{
	static const int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

	assert(month >= 1 && month <= 12);
	return month == 2 && is_leap(year) ? 29 : lengths[month - 1];
}

/* Counts from 1 March, so that the leap day ends a year: the days before each
 * month are then (153 m + 2) / 5, and eras of 400 years have 146,097 days. */
day_number day_from_civil(int year, int month, int day)
{
	int shifted = month > 2 ? month - 3 : month + 9;
	int y = month > 2 ? year : year - 1;
	int era = y / 400;
	int year_of_era = y - era * 400;
	int day_of_year = (153 * shifted + 2) / 5 + day - 1;

	assert(day >= 1 && day <= month_length(year, month));
	return era * 146097 + year_of_era * 365 + year_of_era / 4 - year_of_era / 100 +
	       day_of_year - 719468;
}

void day_to_civil(day_number day, int *year, int *month, int *day_of_month)
{
	int z = day + 719468;
	int era = z / 146097;
	int day_of_era = z - era * 146097;
	int year_of_era =
	        (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
	int day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
	int shifted = (5 * day_of_year + 2) / 153;

	*day_of_month = day_of_year - (153 * shifted + 2) / 5 + 1;
	*month = shifted < 10 ? shifted + 3 : shifted - 9;
	*year = year_of_era + era * 400 + (*month <= 2);
}

/* Reads exactly count digits. */
static bool read_digits(const char *text, size_t count, int *out)
{
	*out = 0;
	for (size_t i = 0; i < count; i++) {
		if (text[i] < '0' || text[i] > '9')
			return false;
		*out = *out * 10 + (text[i] - '0');
	}
	return true;
}

static struct date date_of_span(int year, int month, int day)
{
	struct date date;

	date.precision = day ? DATE_DAY : month ? DATE_MONTH : DATE_YEAR;
	date.first = day_from_civil(year, month ? month : 1, day ? day : 1);
	date.last = day ? date.first
	                : day_from_civil(year, month ? month : 12,
	                                 month_length(year, month ? month : 12));
	return date;
}

enum status date_parse(const char *text, size_t len, struct date *out)
{
	int year, month = 0, day = 0;

	if (len != 4 && len != 7 && len != 10)
		return ST_INVALID;
	if (!read_digits(text, 4, &year) || year < YEAR_FIRST || year > YEAR_LAST)
		return ST_INVALID;
	if (len >= 7 &&
	    (text[4] != '-' || !read_digits(text + 5, 2, &month) || month < 1 || month > 12))
		return ST_INVALID;
	if (len == 10 && (text[7] != '-' || !read_digits(text + 8, 2, &day) || day < 1 ||
	                  day > month_length(year, month)))
		return ST_INVALID;
	*out = date_of_span(year, month, day);
	return ST_OK;
}

/* ---- as people write dates ---- */

static const char *const month_names[] = {"January",   "February", "March",    "April",
                                          "May",       "June",     "July",     "August",
                                          "September", "October",  "November", "December"};

/* One number or word of a date. */
struct date_piece {
	const char *at;
	size_t len;
	int number; /* -1: a word */
	char after; /* what parts it from the next; '\0' at the end */
};

/* 1 to 12 for a month's name or its first three letters or more; else 0. */
static int month_of(const struct date_piece *piece)
{
	for (int month = 0; piece->number < 0 && piece->len >= 3 && month < 12; month++)
		if (piece->len <= strlen(month_names[month]) &&
		    strncasecmp(piece->at, month_names[month], piece->len) == 0)
			return month + 1;
	return 0;
}

static bool is_ordinal(const char *at, size_t len)
{
	static const char *const endings[] = {"st", "nd", "rd", "th"};

	for (size_t i = 0; len == 2 && i < sizeof endings / sizeof *endings; i++)
		if (strncasecmp(at, endings[i], 2) == 0)
			return true;
	return false;
}

static size_t span_of(const char *text, size_t len, size_t at, bool digits)
{
	size_t end = at;

	while (end < len &&
	       (digits ? isdigit((unsigned char)text[end]) : isalpha((unsigned char)text[end])))
		end++;
	return end - at;
}

/* Cuts the text into at most three pieces; 0 when it is no date. */
static size_t date_pieces(const char *text, size_t len, struct date_piece pieces[3])
{
	size_t count = 0, at = 0;

	while (at < len) {
		bool digits = isdigit((unsigned char)text[at]);
		size_t run = span_of(text, len, at, digits);

		if (run == 0 || count == 3 || (digits && run > 4))
			return 0;
		pieces[count] = (struct date_piece){text + at, run, -1, '\0'};
		if (digits && !read_digits(text + at, run, &pieces[count].number))
			return 0;
		at += run;
		run = digits ? span_of(text, len, at, false) : 0;
		if (run && !is_ordinal(text + at, run))
			return 0;
		at += run;
		while (at < len && strchr(" ./,", text[at])) {
			char mark = text[at++];

			if (!pieces[count].after || pieces[count].after == ' ')
				pieces[count].after = mark;
			else if (mark != ' ')
				return 0;
		}
		count++;
	}
	return count;
}

static enum status date_of_pieces(int year, int month, int day, struct date *out)
{
	if (year < YEAR_FIRST || year > YEAR_LAST || month < 1 || month > 12 || day < 0 ||
	    day > month_length(year, month))
		return ST_INVALID;
	*out = date_of_span(year, month, day);
	return ST_OK;
}

/* Day and month in figures: 24.9.2017 is so everywhere, 9/24/2017 can be but
 * one, 5/9/2017 can be two (common practice, no source). */
static enum status date_of_figures(const struct date_piece pieces[3], struct date *out)
{
	int first = pieces[0].number, second = pieces[1].number, year = pieces[2].number;
	struct date other;
	enum status status = date_of_pieces(year, second, first, out);

	if (first == 0 || second == 0 || pieces[0].after != pieces[1].after)
		return ST_INVALID;
	if (pieces[0].after == '.')
		return status;
	if (pieces[0].after != '/')
		return ST_INVALID;
	if (status != ST_OK)
		return date_of_pieces(year, first, second, out);
	return first != second && date_of_pieces(year, first, second, &other) == ST_OK ? ST_MISSING
	                                                                               : ST_OK;
}

enum status date_read(const char *text, size_t len, struct date *out)
{
	struct date_piece pieces[3];
	struct date date;
	size_t count;
	enum status status = date_parse(text, len, out);

	if (status == ST_OK)
		return status;
	count = date_pieces(text, len, pieces);
	if (count == 2 && month_of(&pieces[0]) && pieces[1].len == 4)
		status = date_of_pieces(pieces[1].number, month_of(&pieces[0]), 0, &date);
	else if (count == 2 && pieces[0].number > 0 && pieces[1].number > 12 &&
	         strchr("/.", pieces[0].after))
		status = date_of_pieces(pieces[1].number, pieces[0].number, 0, &date);
	else if (count == 3 && pieces[2].len == 4 && month_of(&pieces[1]) && pieces[0].number > 0)
		status = date_of_pieces(pieces[2].number, month_of(&pieces[1]), pieces[0].number,
		                        &date);
	else if (count == 3 && pieces[2].len == 4 && month_of(&pieces[0]) && pieces[1].number > 0)
		status = date_of_pieces(pieces[2].number, month_of(&pieces[0]), pieces[1].number,
		                        &date);
	else if (count == 3 && pieces[2].len == 4 && pieces[0].number > 0 && pieces[1].number > 0)
		status = date_of_figures(pieces, &date);
	if (status == ST_OK)
		*out = date;
	return status;
}

struct date date_of_day(day_number day)
{
	return (struct date){.first = day, .last = day, .precision = DATE_DAY};
}

void date_print(struct date date, char *out)
{
	int year, month, day;
	/* Sized for any int, so that no compiler fears truncation. */
	char room[40];

	day_to_civil(date.first, &year, &month, &day);
	snprintf(room, sizeof room, "%04d-%02d-%02d", year, month, day);
	room[date.precision == DATE_YEAR ? 4 : date.precision == DATE_MONTH ? 7 : 10] = '\0';
	memcpy(out, room, strlen(room) + 1);
}

void date_words(struct date date, char *out)
{
	int year, month, day;

	day_to_civil(date.first, &year, &month, &day);
	if (date.precision == DATE_DAY)
		snprintf(out, DATE_WORDS_SIZE, "%d %s %d", day, month_names[month - 1], year);
	else if (date.precision == DATE_MONTH)
		snprintf(out, DATE_WORDS_SIZE, "%s %d", month_names[month - 1], year);
	else
		snprintf(out, DATE_WORDS_SIZE, "%d", year);
}

enum truth date_in_range(const struct date_fact *fact, struct day_range range)
{
	if (fact->state != DATE_KNOWN)
		return fact->state == DATE_NEVER ? TRUTH_FALSE : TRUTH_UNKNOWN;
	if (fact->date.first >= range.first && fact->date.last <= range.last)
		return TRUTH_TRUE;
	if (fact->date.last < range.first || fact->date.first > range.last)
		return TRUTH_FALSE;
	return TRUTH_UNKNOWN;
}

/* Moves year and month by months, which may be negative. */
static void shift_month(int *year, int *month, int months)
{
	int total = *year * 12 + (*month - 1) + months;

	*year = total / 12;
	*month = total % 12 + 1;
}

day_number day_add_months(day_number day, int months)
{
	int year, month, day_of_month, length;

	day_to_civil(day, &year, &month, &day_of_month);
	shift_month(&year, &month, months);
	length = month_length(year, month);
	return day_from_civil(year, month, day_of_month < length ? day_of_month : length);
}

day_number day_end_of_month_after(day_number day, int months)
{
	int year, month, day_of_month;

	day_to_civil(day, &year, &month, &day_of_month);
	shift_month(&year, &month, months);
	return day_from_civil(year, month, month_length(year, month));
}
