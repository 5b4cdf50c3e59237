/* date.h - days, and dates known only to the month or the year.
 *
 * A date is written as ISO 8601-1 YYYY-MM-DD or, when less is known, as in
 * ISO 8601-2 (EDTF level 0): YYYY-MM or YYYY. A partial date is the interval
 * of days that it may stand for; all comparison is between intervals.
 * Calendar: proleptic Gregorian, years 1900 to 2199.
 */
#ifndef CORE_DATE_H
#define CORE_DATE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "core/truth.h"

typedef int32_t day_number; /* days since 1970-01-01 */

#define DAY_FIRST INT32_MIN /* open towards the past */
#define DAY_LAST INT32_MAX  /* open towards the future */

enum date_precision { DATE_YEAR, DATE_MONTH, DATE_DAY };

struct date {
	day_number first; /* first day that it may be */
	day_number last;  /* last day that it may be; equal to first for a whole date */
	enum date_precision precision;
};

#define DATE_TEXT_SIZE 11  /* "2017-09-24" and NUL */
#define DATE_WORDS_SIZE 24 /* "24 September 2017" and NUL */

/* A fact about a kit that is a date. */
enum date_state {
	DATE_UNKNOWN = 0, /* nobody knows, or nobody said */
	DATE_NEVER,       /* known not to have happened yet: not flown, not received */
	DATE_KNOWN
};

struct date_fact {
	enum date_state state;
	struct date date; /* meaningful when state is DATE_KNOWN */
};

/* A closed interval of days; either end may be open. */
struct day_range {
	day_number first;
	day_number last;
};

/* year 1900-2199, month 1-12, day 1-31 and in that month (asserted). */
day_number day_from_civil(int year, int month, int day);
void day_to_civil(day_number day, int *year, int *month, int *day_of_month);
int month_length(int year, int month); /* 28 to 31 */

/* Reads len bytes; ST_INVALID for anything but the three forms or a day that
 * does not exist. */
enum status date_parse(const char *text, size_t len, struct date *out) MUST_CHECK;

/* The same, and as people write: 24 September 2017, Sept 24th, 2017, March 2017,
 * 03/2017, 24.9.2017, 24/9/2017. ST_MISSING: it can be two days, as 5/9/2017. */
enum status date_read(const char *text, size_t len, struct date *out) MUST_CHECK;

/* A whole date from a day. */
struct date date_of_day(day_number day);

/* As typed: "2017", "2017-09", "2017-09-24"; room for DATE_TEXT_SIZE. */
void date_print(struct date date, char *out);

/* In words: "2017", "September 2017", "24 September 2017"; room for DATE_WORDS_SIZE. */
void date_words(struct date date, char *out);

/* Is the date inside the range? True when all its days are, false when none
 * is, unknown when it overlaps. DATE_UNKNOWN gives unknown; DATE_NEVER false. */
enum truth date_in_range(const struct date_fact *fact, struct day_range range);

/* Same day n months on (n may be negative), or the last day of a shorter
 * month: 2011-01-31 + 1 is 2011-02-28. */
day_number day_add_months(day_number day, int months);

/* Last day of the n-th calendar month after the month of day: a 12-calendar-
 * month limit from 2014-06-06 ends on 2015-06-30 (FAA usage, 14 CFR 91.409). */
day_number day_end_of_month_after(day_number day, int months);

#endif
