/* forecast.h - on which day will a counter reach its limit?
 *
 * A least squares line through the log's entries (total over day), and where
 * it meets the limit. The spread is the interval of days for which the limit
 * lies inside the prediction interval of the line: at each day a new entry
 * falls inside it with the stated probability, if use goes on as it was and
 * strays as it did. With few or scattered entries it may have no end.
 */
#ifndef CORE_FORECAST_H
#define CORE_FORECAST_H

#include "core/due.h"

#define FORECAST_LEAST 3        /* entries */
#define FORECAST_CERTAINTY 0.90 /* of the prediction interval, two-sided */
#define FORECAST_FAREST 36525   /* days from the last entry; no date beyond */

enum forecast_state {
	FORECAST_FEW,    /* fewer than FORECAST_LEAST entries, or all of one day */
	FORECAST_NO_USE, /* the line does not rise */
	FORECAST_FAR,    /* beyond FORECAST_FAREST */
	FORECAST_TOLD
};

struct forecast {
	enum forecast_state state;
	size_t entries;                /* the line is drawn through */
	double per_day;                /* its rise: hundredths of an hour, or landings */
	day_number day;                /* the line meets the limit; the three when FORECAST_TOLD */
	bool has_earliest, has_latest; /* false: the spread has no such end */
	day_number earliest, latest;
};

struct forecast forecast_limit(const struct kit_use *use, enum use_counter counter, int64_t limit);

/* The first day on which one of the limits is reached: a fixed one, or where
 * the line meets it. *fixed: that day is a fixed one. False: there is no such day. */
bool forecast_due(const struct kit_use *use, const struct due_time *due, day_number *day,
                  bool *fixed);

/* Student's t: the value that a two-sided interval of that certainty (0 to 1)
 * takes, for 1 or more degrees of freedom. */
double forecast_t(double certainty, unsigned freedom);

#endif
