/* How often an address may try. Times are given, nothing waits. */
#include "support.h"

#include <stdio.h>

#include "os/random.h"
#include "web/http/limits.h"

#define BURST 30   /* of LIMIT_GUARDED */
#define INTERVAL 6 /* seconds */
#define START 1000000

static struct limits *limits;

static int set_up(void **state)
{
	(void)state;
	limits = limits_new();
	return limits ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	limits_free(limits);
	return 0;
}

static enum status take(const char *who, int64_t now, int64_t *wait)
{
	return limits_take(limits, LIMIT_GUARDED, who, now * 1000, wait);
}

/* Takes until refused; how many there were. */
static int drain(const char *who, int64_t now, int64_t *wait)
{
	int taken = 0;

	while (taken < 1000 && take(who, now, wait) == ST_OK)
		taken++;
	return taken;
}

static void test_a_burst_then_one_in_an_interval(void **state)
{
	int64_t wait = 0;

	(void)state;
	assert_int_equal(drain("a", START, &wait), BURST);
	assert_int_equal(wait, INTERVAL);
	assert_int_equal(take("a", START + INTERVAL - 1, &wait), ST_LIMIT);
	assert_int_equal(wait, 1);
	assert_int_equal(take("a", START + INTERVAL, &wait), ST_OK);
	assert_int_equal(take("a", START + INTERVAL, &wait), ST_LIMIT);
	assert_int_equal(drain("a", START + INTERVAL + 3 * INTERVAL, &wait), 3);
}

static void test_many_at_once_are_all_or_none(void **state)
{
	int64_t wait = 0;

	(void)state;
	assert_int_equal(
	        limits_take_many(limits, LIMIT_GUARDED, "a", BURST + 1, START * 1000, &wait),
	        ST_LIMIT);
	assert_int_equal(limits_take_many(limits, LIMIT_GUARDED, "a", 20, START * 1000, &wait),
	                 ST_OK);
	assert_int_equal(limits_take_many(limits, LIMIT_GUARDED, "a", 11, START * 1000, &wait),
	                 ST_LIMIT);
	assert_int_equal(wait, INTERVAL);
	assert_int_equal(limits_take_many(limits, LIMIT_GUARDED, "a", 10, START * 1000, &wait),
	                 ST_OK);
	assert_int_equal(take("a", START, &wait), ST_LIMIT);
	assert_int_equal(limits_take_many(limits, LIMIT_GUARDED, "a", 3,
	                                  (START + 3 * INTERVAL - 1) * 1000, &wait),
	                 ST_LIMIT);
	assert_int_equal(limits_take_many(limits, LIMIT_GUARDED, "a", 3,
	                                  (START + 3 * INTERVAL) * 1000, &wait),
	                 ST_OK);
}

static void test_rest_fills_no_more_than_a_burst(void **state)
{
	int64_t wait = 0;

	(void)state;
	assert_int_equal(drain("a", START, &wait), BURST);
	assert_int_equal(drain("a", START + 1000000, &wait), BURST);
}

static void test_refusals_cost_nothing(void **state)
{
	int64_t wait = 0;

	(void)state;
	drain("a", START, &wait);
	for (int i = 0; i < 100; i++)
		assert_int_equal(take("a", START, &wait), ST_LIMIT);
	assert_int_equal(wait, INTERVAL);
}

static void test_keys_and_kinds_do_not_mix(void **state)
{
	int64_t wait = 0;

	(void)state;
	drain("a", START, &wait);
	assert_int_equal(take("b", START, &wait), ST_OK);
	assert_int_equal(limits_take(limits, LIMIT_POST, "a", START * 1000, &wait), ST_OK);
}

/* A flood of other addresses: memory is fixed, and one that was refused is not
 * let off by a few thousand more. */
static void test_a_flood_of_addresses(void **state)
{
	int64_t wait = 0;
	char who[32];

	(void)state;
	drain("a", START, &wait);
	for (int i = 0; i < 4000; i++) {
		snprintf(who, sizeof who, "10.0.%d.%d", i / 256, i % 256);
		assert_int_equal(take(who, START, &wait), ST_OK);
	}
	assert_int_equal(take("a", START, &wait), ST_LIMIT);
}

static bool make_one(void *context)
{
	struct limits *made = limits_new();

	(void)context;
	limits_free(made);
	return made != NULL;
}

static void test_running_out_of_memory(void **state)
{
	(void)state;
	try_each_allocation(make_one, NULL, false);
}

int main(void)
{
#define FRESH(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
	const struct CMUnitTest tests[] = {
	        FRESH(test_a_burst_then_one_in_an_interval),
	        FRESH(test_rest_fills_no_more_than_a_burst),
	        FRESH(test_refusals_cost_nothing),
	        FRESH(test_keys_and_kinds_do_not_mix),
	        FRESH(test_many_at_once_are_all_or_none),
	        FRESH(test_a_flood_of_addresses),
	        cmocka_unit_test(test_running_out_of_memory),
	};

	if (random_start() != ST_OK)
		return 1;
	return cmocka_run_group_tests(tests, NULL, NULL);
}
