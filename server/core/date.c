#include "core/date.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

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
	static const char *const months[] = {"January",   "February", "March",    "April",
	                                     "May",       "June",     "July",     "August",
	                                     "September", "October",  "November", "December"};
	int year, month, day;

	day_to_civil(date.first, &year, &month, &day);
	if (date.precision == DATE_DAY)
		snprintf(out, DATE_WORDS_SIZE, "%d %s %d", day, months[month - 1], year);
	else if (date.precision == DATE_MONTH)
		snprintf(out, DATE_WORDS_SIZE, "%s %d", months[month - 1], year);
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
