/* test_json_facts.c - facts of a kit written as JSON and read again are the same.
 *
 * Each row is the facts of one kit as make_facts takes them, so that every
 * field stands in one of them at least. Compared is what the second reading
 * writes, and each field that decides is looked at by itself, since a field
 * that is neither written nor read would agree with itself.
 */
#include "build.h"
#include "base/text.h"
#include "formats/json_facts.h"

#include <stdlib.h>
#include <string.h>

static struct facts read_back(struct arena *arena, const char *json)
{
	struct json_reader reader;
	struct facts facts;
	json_t *value;

	json_reader_start(&reader, arena);
	value = json_reader_parse(&reader, json, strlen(json));
	assert_non_null(value);
	json_read_facts(&reader, value, &facts);
	json_decref(value);
	if (!json_reader_ok(&reader))
		fail_msg("%s: %s %s", json, reader.fault.place, reader.fault.words);
	return facts;
}

static char *written(const struct facts *facts)
{
	json_t *value = json_from_facts(facts);
	char *json = json_dumps(value, JSON_SORT_KEYS);

	json_decref(value);
	assert_non_null(json);
	return json;
}

static const char *const kits[] = {
        "",
        "model Whimbrel T",
        "serial WH-0101",
        "engine-serial L-6182-76",
        "purchased 2017-09",
        "plans 2017",
        "first-flight never",
        "first-flight 2019-05-11",
        "hours 120.5",
        "hours 0.07",
        "landings 30",
        "option tailwheel = yes; option heater = no",
        "subkit E = no; subkit W = 2017-09; subkit F = yes",
        "part WH-2207-1 | at left | lot 3 | serial 17; part ? | serial 17",
        "parts known",
        "part WH-2207-1; parts known",
        "notice SB-1; notice SB-2",
        "notice SB-1; notices known",
        "notices known",
        "step W-3; step W-4",
        "step W-3; steps known",
        "steps known",
        "step W-3; plans of W-3 = 2010; plans of W-9 = 2011-02",
        "step W-3; date of W-3 = 2011-02-03",
        "step W-3; step W-4; date of W-4 = 2011",
        "model Whimbrel; serial WH-0101; purchased 2017-09; plans 2017; first-flight 2019-05;"
        " hours 12.5; landings 31; option tailwheel = yes; subkit W = 2017-09-14;"
        " part WH-2207-1 | at right | lot 4; notice SB-1; step W-3; plans of W-3 = 2010;"
        " date of W-3 = 2011-02-03",
};

static void assert_same_value(const struct facts *a, const struct facts *b,
                              const struct fact_field *field)
{
	struct text of_a = TEXT_EMPTY, of_b = TEXT_EMPTY;

	fact_field_value(a, field, &of_a);
	fact_field_value(b, field, &of_b);
	assert_string_equal(text_string(&of_a), text_string(&of_b));
	text_free(&of_a);
	text_free(&of_b);
}

static void comes_back_as_it_went(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(kits); i++) {
		struct arena *arena = arena_new();
		struct facts *facts, again;
		char *first, *second;

		facts = make_facts(arena, kits[i]);
		first = written(facts);
		again = read_back(arena, first);
		second = written(&again);
		assert_string_equal(first, second);
		assert_int_equal(name_is_empty(&facts->model), name_is_empty(&again.model));
		assert_int_equal(facts->has_serial, again.has_serial);
		assert_int_equal(facts->has_hours, again.has_hours);
		assert_int_equal(facts->hours, again.hours);
		assert_int_equal(facts->has_landings, again.has_landings);
		assert_int_equal(facts->landings, again.landings);
		assert_int_equal(facts->purchased.state, again.purchased.state);
		assert_int_equal(facts->plans.state, again.plans.state);
		assert_int_equal(facts->first_flight.state, again.first_flight.state);
		assert_int_equal(facts->n_options, again.n_options);
		assert_int_equal(facts->n_subkits, again.n_subkits);
		assert_int_equal(facts->n_parts, again.n_parts);
		assert_int_equal(facts->n_notices_done, again.n_notices_done);
		assert_int_equal(facts->n_steps_done, again.n_steps_done);
		assert_int_equal(facts->n_step_plans, again.n_step_plans);
		assert_int_equal(facts->n_step_dates, again.n_step_dates);
		for (size_t k = 0; k < FACT_FIELDS; k++)
			assert_same_value(facts, &again, &fact_fields[k]);
		assert_int_equal(facts->parts_known, again.parts_known);
		assert_int_equal(facts->notices_known, again.notices_known);
		assert_int_equal(facts->steps_known, again.steps_known);
		free(first);
		free(second);
		arena_free(arena);
	}
}

/* What files say of a list that is complete, the older ones too. */
static void tells_complete_lists(void **state)
{
	static const struct {
		const char *json;
		size_t steps;
		bool known;
	} rows[] = {
	        {"{}", 0, false},
	        {"{\"steps_done\": [\"W-1\"]}", 1, true},
	        {"{\"steps_done\": []}", 0, true},
	        {"{\"steps_done\": [\"W-1\"], \"steps_known\": true}", 1, true},
	        {"{\"steps_done\": [\"W-1\"], \"steps_known\": false}", 1, false},
	        {"{\"steps_done\": [\"W-1\"], \"steps_known\": null}", 1, true},
	        {"{\"steps_known\": true}", 0, true},
	        {"{\"steps_known\": false}", 0, false},
	        {"{\"steps_done\": [\"W-1\"], \"steps_known\": false,"
	         " \"step_dates\": {\"W-1\": \"2017\"}}",
	         1, false},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct arena *arena = arena_new();
		struct facts facts;

		facts = read_back(arena, rows[i].json);
		assert_int_equal(facts.n_steps_done, rows[i].steps);
		assert_int_equal(facts.steps_known, rows[i].known);
		arena_free(arena);
	}
}

static void refuses(void **state)
{
	static const struct {
		const char *json, *place;
	} rows[] = {
	        {"{\"steps_known\": \"yes\"}", "/steps_known"},
	        {"{\"notices_known\": 1}", "/notices_known"},
	        {"{\"step_known\": true}", ""},
	        {"{\"steps_done\": {}}", "/steps_done"},
	        {"{\"steps_known\": false, \"step_dates\": {\"W-1\": \"2017\"}}",
	         "/step_dates/W-1"},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct arena *arena = arena_new();
		struct json_reader reader;
		struct facts facts;
		json_t *value;

		json_reader_start(&reader, arena);
		value = json_reader_parse(&reader, rows[i].json, strlen(rows[i].json));
		assert_non_null(value);
		json_read_facts(&reader, value, &facts);
		assert_int_equal(reader.status, ST_INVALID);
		assert_string_equal(reader.fault.place, rows[i].place);
		json_decref(value);
		arena_free(arena);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(comes_back_as_it_went),
	        cmocka_unit_test(tells_complete_lists),
	        cmocka_unit_test(refuses),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
