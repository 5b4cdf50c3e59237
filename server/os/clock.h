/* clock.h - what time is it? Asked once for each request, at the edge. */
#ifndef OS_CLOCK_H
#define OS_CLOCK_H

#include <stdint.h>

/* Seconds since 1970-01-01 UTC. */
int64_t clock_now(void);

/* Milliseconds on a clock that only goes on, whoever sets the other one. It tells
 * how long something lasts, not what time it is. */
int64_t clock_steady(void);

/* The calendar day at that time where this box stands (its time zone), as days
 * since 1970-01-01: a day_number of core. */
int32_t clock_day(int64_t now);

#endif
