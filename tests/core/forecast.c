/* Forecasts: when there is one, and its laws. SciPy's regression is asked by
 * forecast-compare.py. */
#include "build.h"

#include "core/forecast.h"

#define MOST 40

static struct use_entry log_room[MOST];

static struct kit_use use_of(const int64_t (*rows)[2], size_t count)
{
	for (size_t i = 0; i < count; i++)
		log_room[i] = (struct use_entry){.day = (day_number)rows[i][0],
		                                 .has = {true, false},
		                                 .total = {rows[i][1], 0}};
	return (struct kit_use){.log = log_room, .n_log = count};
}

static void none_from_too_little(void **state)
{
	static const struct {
		const char *why;
		int64_t rows[4][2];
		size_t count;
		int64_t limit;
		enum forecast_state wanted;
	} rows[] = {
	        {"nothing", {{0, 0}}, 0, 100, FORECAST_FEW},
	        {"one entry", {{1, 10}}, 1, 100, FORECAST_FEW},
	        {"two entries", {{1, 10}, {2, 20}}, 2, 100, FORECAST_FEW},
	        {"three of one day", {{1, 10}, {1, 20}, {1, 30}}, 3, 100, FORECAST_FEW},
	        {"no use", {{1, 10}, {2, 10}, {3, 10}}, 3, 100, FORECAST_NO_USE},
	        {"too far", {{1, 10}, {1001, 11}, {2001, 12}}, 3, 1000, FORECAST_FAR},
	        {"three", {{1, 10}, {2, 20}, {3, 30}}, 3, 100, FORECAST_TOLD},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct kit_use use = use_of(rows[i].rows, rows[i].count);

		if (forecast_limit(&use, USE_HOURS, rows[i].limit).state != rows[i].wanted)
			fail_msg("%s", rows[i].why);
		assert_int_equal(forecast_limit(&use, USE_LANDINGS, rows[i].limit).state,
		                 FORECAST_FEW);
	}
}

static void a_perfect_line_has_no_spread(void **state)
{
	static const int64_t rows[][2] = {{0, 0}, {10, 1000}, {30, 3000}};
	struct kit_use use = use_of(rows, 3);
	struct forecast f = forecast_limit(&use, USE_HOURS, 12000);

	(void)state;
	assert_int_equal(f.state, FORECAST_TOLD);
	assert_int_equal(f.day, 120);
	assert_true(f.has_earliest && f.has_latest);
	assert_int_equal(f.earliest, 120);
	assert_int_equal(f.latest, 120);
	assert_int_equal(f.entries, 3);
}

static void a_rise_lost_in_scatter_has_no_end(void **state)
{
	static const int64_t rows[][2] = {{0, 0}, {10, 5000}, {11, 5000}, {40, 5001}};
	struct kit_use use = use_of(rows, 4);
	struct forecast f = forecast_limit(&use, USE_HOURS, 6000);

	(void)state;
	assert_int_equal(f.state, FORECAST_TOLD);
	assert_false(f.has_earliest || f.has_latest);
}

/* The log shows one hour a day from day 0, and no landings. */
static void the_first_day_of_several_limits_counts(void **state)
{
	static const int64_t log[][2] = {{0, 0}, {10, 1000}, {30, 3000}};
	static const struct {
		struct due_time due;
		bool found, fixed;
		day_number day;
	} rows[] = {
	        {{.has_day = false}, false, false, -1},
	        {{.has = {false, true}, .total = {0, 50}}, false, false, -1},
	        {{.has_day = true, .day = 50}, true, true, 50},
	        {{.has = {true, false}, .total = {12000, 0}}, true, false, 120},
	        {{.has_day = true, .day = 119, .has = {true, true}, .total = {12000, 50}},
	         true,
	         true,
	         119},
	        {{.has_day = true, .day = 120, .has = {true, false}, .total = {12000, 0}},
	         true,
	         true,
	         120},
	        {{.has_day = true, .day = 121, .has = {true, false}, .total = {12000, 0}},
	         true,
	         false,
	         120},
	        {{.has_day = true, .day = 121, .has = {false, true}, .total = {0, 50}},
	         true,
	         true,
	         121},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct kit_use use = use_of(log, 3);
		day_number day = -1;
		bool fixed = true;

		assert_int_equal(forecast_due(&use, &rows[i].due, &day, &fixed), rows[i].found);
		assert_int_equal(fixed, rows[i].fixed);
		assert_int_equal(day, rows[i].day);
	}
}

/* A later limit is not forecast earlier, and the spread holds the day. */
static void laws(void **state)
{
	uint64_t seed = 7;

	(void)state;
	for (unsigned n = 0; n < 500; n++) {
		int64_t rows[MOST][2], day = 15000, total = 0;
		size_t count = 3 + next_random(&seed) % (MOST - 3);
		struct kit_use use;
		day_number before = DAY_FIRST;

		for (size_t i = 0; i < count; i++) {
			rows[i][0] = day += 1 + (int64_t)(next_random(&seed) % 40);
			rows[i][1] = total += (int64_t)(next_random(&seed) % 500);
		}
		use = use_of((const int64_t(*)[2])rows, count);
		for (int64_t limit = total; limit < total + 5000; limit += 500) {
			struct forecast f = forecast_limit(&use, USE_HOURS, limit);

			if (f.state != FORECAST_TOLD)
				continue;
			assert_true(f.day >= before);
			assert_true(!f.has_earliest || f.earliest <= f.day);
			assert_true(!f.has_latest || f.latest >= f.day);
			before = f.day;
		}
	}
}

/* NIST/SEMATECH e-Handbook 1.3.6.7.2, upper critical values of Student's t at 0.95 (from
 * memory); SciPy confirms the rest. */
static void students_t_is_that_of_the_tables(void **state)
{
	static const struct {
		unsigned freedom;
		double value;
	} rows[] = {{1, 6.314}, {2, 2.920}, {3, 2.353}, {10, 1.812}, {30, 1.697}, {100, 1.660}};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++)
		assert_float_equal(forecast_t(0.90, rows[i].freedom), rows[i].value, 0.0005);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(none_from_too_little),
	        cmocka_unit_test(a_perfect_line_has_no_spread),
	        cmocka_unit_test(a_rise_lost_in_scatter_has_no_end),
	        cmocka_unit_test(the_first_day_of_several_limits_counts),
	        cmocka_unit_test(laws),
	        cmocka_unit_test(students_t_is_that_of_the_tables),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
