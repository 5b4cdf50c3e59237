#include "os/clock.h"

#include <time.h>

#define SECONDS_A_DAY 86400

int64_t clock_now(void)
{
	return (int64_t)time(NULL);
}

int64_t clock_steady(void)
{
	struct timespec at;

	clock_gettime(CLOCK_MONOTONIC, &at);
	return (int64_t)at.tv_sec * 1000 + at.tv_nsec / 1000000;
}

/* Local time read as if it were UTC counts whole local days. */
int32_t clock_day(int64_t now)
{
	time_t at = (time_t)now;
	struct tm local;
	int64_t seconds = now;

	if (localtime_r(&at, &local))
		seconds += local.tm_gmtoff;
	return (int32_t)(seconds / SECONDS_A_DAY - (seconds % SECONDS_A_DAY < 0));
}
