/* use.h - what a kit's log says of its hours and landings.
 *
 * An entry is what the counters showed at the end of a day: total hours, total
 * landings, or both; it may name an event of that day ("annual inspection",
 * "fan installation"). Entries are in order of their day, those of one day in
 * order of entry, and never go back. The newest entry that gives a number is
 * the kit's total today: there is no second place for it.
 *
 * An event to come may be planned for a day, for a number of hours, or both.
 */
#ifndef CORE_USE_H
#define CORE_USE_H

#include "core/facts.h"

enum use_counter { USE_HOURS, USE_LANDINGS };
#define USE_COUNTERS 2

struct use_entry {
	day_number day;
	bool has[USE_COUNTERS];
	int64_t total[USE_COUNTERS]; /* hundredths of an hour; landings */
	struct name event;           /* empty: none */
};

struct planned_event {
	struct name event;
	bool has_day, has_hours;
	day_number day;
	int64_t hours; /* hundredths, total time */
};

struct kit_use {
	const struct use_entry *log;
	const struct planned_event *planned;
	size_t n_log, n_planned;
};

/* A moment in the life of a kit: the day, and what the counters showed. */
struct use_moment {
	bool has_day;
	day_number day;
	bool has[USE_COUNTERS];
	int64_t total[USE_COUNTERS];
};

/* What the counter showed on that day, when the log settles it: an entry of
 * the day (of several the smallest), entries before and after it that agree,
 * or a kit that had not flown by then (0). False: not known. */
bool use_on(const struct kit_use *use, const struct facts *facts, enum use_counter counter,
            day_number day, int64_t *total);

/* The last entry that names the event; NULL when none does. */
const struct use_entry *use_last_event(const struct kit_use *use, const struct name *event);

/* NULL when it is not planned. */
const struct planned_event *use_planned(const struct kit_use *use, const struct name *event);

/* Would an entry with this total on that day go back? The total then lies
 * outside *least to *most, what the entries before and after it show (most is
 * INT64_MAX when none comes after). An entry of the same day counts as before. */
bool use_goes_back(const struct kit_use *use, enum use_counter counter, day_number day,
                   int64_t total, int64_t *least, int64_t *most);

#endif
