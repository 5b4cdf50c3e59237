#include "fixture.h"

#include <stdio.h>
#include <string.h>

static int64_t version_of(struct world *w)
{
	struct kit kit;

	assert_ok(kit_read(w->store, w->arena, w->kit, &kit));
	return kit.version;
}

static void assert_same_date(const struct date_fact *a, const struct date_fact *b)
{
	assert_int_equal(a->state, b->state);
	if (a->state == DATE_KNOWN) {
		assert_int_equal(a->date.first, b->date.first);
		assert_int_equal(a->date.last, b->date.last);
		assert_int_equal(a->date.precision, b->date.precision);
	}
}

static void facts_read_back(void **state)
{
	struct world *w = *state;
	struct facts in = facts_full(w->arena);
	struct facts out;

	assert_ok(kit_facts(w->store, w->arena, w->kit, &out));
	assert_string_equal(out.model.text, "Whimbrel T");
	assert_string_equal(out.serial.text, "WH-0102");
	assert_true(out.has_serial && out.has_hours && out.has_landings);
	assert_true(out.parts_known && out.steps_known && !out.notices_known);
	assert_int_equal(out.hours, 12350);
	assert_int_equal(out.landings, 0);
	assert_same_date(&out.purchased, &in.purchased);
	assert_same_date(&out.plans, &in.plans);
	assert_same_date(&out.first_flight, &in.first_flight);
	assert_int_equal(out.n_options, 2);
	assert_string_equal(out.options[0].name.text, "tailwheel");
	assert_true(out.options[0].fitted);
	assert_string_equal(out.options[1].name.text, "Night lights");
	assert_false(out.options[1].fitted);
	assert_int_equal(out.n_subkits, 2);
	assert_true(out.subkits[0].received);
	assert_same_date(&out.subkits[0].shipped, &in.subkits[0].shipped);
	assert_same_date(&out.subkits[1].shipped, &in.subkits[1].shipped);
	assert_int_equal(out.n_parts, 2);
	assert_true(out.parts[0].has_lot && !out.parts[0].has_serial);
	assert_string_equal(out.parts[0].position.text, "left");
	assert_true(out.parts[1].has_serial && !out.parts[1].has_lot);
	assert_string_equal(out.parts[1].serial.text, "L-6182-76");
	assert_int_equal(out.n_steps_done, 1);
	assert_string_equal(out.steps_done[0].text, "14-3");
	assert_int_equal(out.n_notices_done, 1);
	assert_string_equal(out.notices_done[0].text, "HF-SB-0");
	assert_int_equal(out.n_step_plans, 1);
	assert_same_date(&out.step_plans[0].plans, &in.step_plans[0].plans);
	assert_int_equal(out.n_step_dates, 1);
	assert_same_date(&out.step_dates[0].done, &in.step_dates[0].done);
}

/* Each row of core/facts.h that a kit keeps has its column, and the columns do not mix. */
static void every_single_fact_is_kept(void **state)
{
	static const char dates[] = "2001-02-03";
	struct world *w = *state;
	struct facts in = facts_full(w->arena), out;
	char words[32];

	for (size_t i = 0; i < FACT_FIELDS; i++) {
		const struct fact_field *field = &fact_fields[i];
		void *at = fact_at(&in, field);
		struct date_fact date = {.state = DATE_KNOWN};

		snprintf(words, sizeof words, "WH-%zu", i + 1);
		if (field->form == FORM_NAME)
			assert_ok(name_make(w->arena, words, strlen(words), at));
		else if (field->form == FORM_SERIAL)
			assert_ok(serial_make(w->arena, words, strlen(words), at));
		if (field->form == FORM_SERIAL)
			fact_set_known(&in, field, true);
		assert_ok(date_parse(dates, sizeof dates - 1, &date.date));
		date.date.first = date.date.last += (day_number)i;
		if (field->form == FORM_DATE || field->form == FORM_FLIGHT)
			*(struct date_fact *)at = date;
	}
	assert_ok(kit_set_facts(w->store, w->kit, &in));
	assert_ok(kit_facts(w->store, w->arena, w->kit, &out));
	for (size_t i = 0; i < FACT_FIELDS; i++) {
		struct text set = TEXT_EMPTY, kept = TEXT_EMPTY;

		fact_field_value(&in, &fact_fields[i], &set);
		fact_field_value(&out, &fact_fields[i], &kept);
		assert_string_equal(text_string(&kept), text_string(&set));
		text_free(&set);
		text_free(&kept);
	}
}

static void a_bare_kit_knows_nothing(void **state)
{
	struct world *w = *state;
	struct facts facts;

	assert_ok(kit_facts(w->store, w->arena, w->bare_kit, &facts));
	assert_true(name_is_empty(&facts.model));
	assert_false(facts.has_serial || facts.has_hours || facts.has_landings);
	assert_false(facts.parts_known || facts.steps_known || facts.notices_known);
	assert_int_equal(facts.purchased.state, DATE_UNKNOWN);
	assert_int_equal(facts.n_options + facts.n_subkits + facts.n_parts + facts.n_steps_done, 0);
}

static void facts_are_replaced_as_a_whole(void **state)
{
	struct world *w = *state;
	struct facts facts = {.parts_known = true};
	int64_t before = version_of(w);

	assert_ok(kit_set_facts(w->store, w->kit, &facts));
	assert_ok(kit_facts(w->store, w->arena, w->kit, &facts));
	assert_true(facts.parts_known);
	assert_true(facts.has_hours); /* the log's, whatever the facts say */
	assert_false(facts.has_serial);
	assert_int_equal(facts.n_options + facts.n_subkits + facts.n_parts + facts.n_steps_done, 0);
	assert_int_equal(version_of(w), before + 1);
}

static void bad_facts_are_refused(void **state)
{
	struct world *w = *state;
	struct option_fact options[2] = {{name_of(w->arena, "Night lights"), true},
	                                 {name_of(w->arena, "NIGHT  lights"), false}};
	struct option_fact empty = {.fitted = true};
	struct name steps[2] = {name_of(w->arena, "1"), name_of(w->arena, "1")};
	struct facts rows[] = {
	        {.options = options, .n_options = 2},
	        {.options = &empty, .n_options = 1},
	        {.steps_done = steps, .n_steps_done = 2},
	        {.notices_done = steps, .n_notices_done = 2},
	};
	struct facts many = {.options = options, .n_options = KIT_LIST_LONGEST + 1};
	int64_t before = version_of(w);

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_int_equal(kit_set_facts(w->store, w->kit, &rows[i]), ST_CONFLICT);
	assert_int_equal(kit_set_facts(w->store, w->kit, &many), ST_LIMIT);
	assert_int_equal(kit_set_facts(w->store, (struct kit_id){99}, &rows[0]), ST_MISSING);
	assert_int_equal(version_of(w), before);
	facts_read_back(state);
}

static void kits_are_listed_by_owner(void **state)
{
	struct world *w = *state;
	const struct kit *kits;
	size_t count;
	struct member_id owner;
	int64_t total;

	assert_ok(kit_list(w->store, w->arena, w->bob, &kits, &count));
	assert_int_equal(count, 2);
	assert_string_equal(kits[0].name, "Blue one");
	assert_string_equal(kits[0].owner_name, "Bob");
	assert_int_equal(kits[0].records, 3);
	assert_int_equal(kits[1].records, 0);
	assert_ok(kit_list(w->store, w->arena, w->sam, &kits, &count));
	assert_int_equal(count, 0);
	assert_ok(kit_owner(w->store, w->kit, &owner));
	assert_int_equal(owner.v, w->bob.v);
	assert_ok(kit_count(w->store, &total));
	assert_int_equal(total, 2);
}

static void kits_are_made_renamed_and_removed(void **state)
{
	struct world *w = *state;
	struct kit_id id = {7};
	struct kit kit = {.id = {7}};
	struct facts facts;
	int64_t before = version_of(w);
	char longer[KIT_NAME_LONGEST + 2];

	memset(longer, 'x', sizeof longer - 1);
	longer[sizeof longer - 1] = '\0';
	assert_int_equal(kit_add(w->store, w->bob, "", NOW, &id), ST_CONFLICT);
	assert_int_equal(kit_add(w->store, w->bob, longer, NOW, &id), ST_CONFLICT);
	assert_int_equal(kit_add(w->store, (struct member_id){99}, "x", NOW, &id), ST_CONFLICT);
	assert_int_equal(id.v, 7);
	assert_ok(kit_rename(w->store, w->kit, longer + 1));
	assert_int_equal(version_of(w), before + 1);
	assert_int_equal(kit_rename(w->store, w->kit, longer), ST_CONFLICT);
	assert_ok(kit_remove(w->store, w->kit));
	assert_int_equal(kit_remove(w->store, w->kit), ST_MISSING);
	assert_int_equal(kit_rename(w->store, w->kit, "x"), ST_MISSING);
	assert_int_equal(kit_read(w->store, w->arena, w->kit, &kit), ST_MISSING);
	assert_int_equal(kit.id.v, 7);
	assert_int_equal(kit_facts(w->store, w->arena, w->kit, &facts), ST_MISSING);
	assert_int_equal(kit_owner(w->store, w->kit, &w->ann), ST_MISSING);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM records"), 0);
	assert_ok(kit_add(w->store, w->bob, "new", NOW, &id));
	assert_true(id.v > w->bare_kit.v); /* an id is never used again */
}

struct visits {
	unsigned count, stop_at;
	size_t parts;
	size_t most_used;
};

static bool visit(void *context, const struct kit *kit, const struct facts *facts,
                  struct arena *arena)
{
	struct visits *visits = context;

	assert_true(kit->id.v > 0);
	assert_non_null(arena_array(arena, 1000, 1));
	visits->parts += facts->n_parts;
	if (arena_used(arena) > visits->most_used)
		visits->most_used = arena_used(arena);
	return ++visits->count != visits->stop_at;
}

static void every_kit_is_visited(void **state)
{
	struct world *w = *state;
	struct facts facts = facts_full(w->arena);
	struct visits visits = {0};
	struct visits stopping = {.stop_at = 2};
	const struct member_id owners[] = {w->ann, w->bob, w->sam, w->sue};
	struct kit_id id;

	for (int i = 0; i < 180; i++) {
		assert_ok(kit_add(w->store, owners[i % 4], "more", NOW, &id));
		if (i % 2)
			assert_ok(kit_set_facts(w->store, id, &facts));
	}
	assert_ok(kits_each(w->store, visit, &visits));
	assert_int_equal(visits.count, 182);
	assert_int_equal(visits.parts, 182);
	assert_true(visits.most_used < 65536);
	assert_ok(kits_each(w->store, visit, &stopping));
	assert_int_equal(stopping.count, 2);
}

/* ---- with some lists only ---- */

struct some {
	unsigned kits, asked;
	struct facts of_first; /* counts and flags; lists are gone */
	bool wants;
};

static bool look(void *context, const struct kit *kit, const struct facts *facts,
                 struct arena *arena)
{
	struct some *some = context;

	(void)arena;
	if (some->kits++ == 0)
		some->of_first = *facts;
	return kit->id.v > 0;
}

static bool want(void *context, const struct facts *single)
{
	struct some *some = context;

	assert_int_equal(single->n_options + single->n_parts + single->n_steps_done, 0);
	some->asked++;
	return some->wants;
}

static void only_lists_asked_for_are_read(void **state)
{
	struct world *w = *state;
	const struct name names[KIT_STEPS_NAMED + 1] = {
	        name_of(w->arena, "14-3"), name_of(w->arena, "x"), name_of(w->arena, "y"),
	        name_of(w->arena, "z"),    name_of(w->arena, "a"), name_of(w->arena, "b"),
	        name_of(w->arena, "c"),    name_of(w->arena, "d"), name_of(w->arena, "e")};
	const struct {
		struct kit_lists lists;
		size_t options, subkits, parts, notices, steps, dates, plans;
		bool use;
	} rows[] = {
	        {{.which = 0}, 0, 0, 0, 0, 0, 0, 0, false},
	        {{.which = KIT_OPTIONS}, 2, 0, 0, 0, 0, 0, 0, false},
	        {{.which = KIT_SUBKITS}, 0, 2, 0, 0, 0, 0, 0, false},
	        {{.which = KIT_PARTS}, 0, 0, 2, 0, 0, 0, 0, false},
	        {{.which = KIT_NOTICES}, 0, 0, 0, 1, 0, 0, 0, false},
	        {{.which = KIT_STEPS}, 0, 0, 0, 0, 1, 0, 0, false},
	        {{.which = KIT_STEP_DATES}, 0, 0, 0, 0, 0, 1, 0, false},
	        {{.which = KIT_STEP_PLANS}, 0, 0, 0, 0, 0, 0, 1, false},
	        {{.which = KIT_USE}, 0, 0, 0, 0, 0, 0, 0, true},
	        {{.which = KIT_EVERYTHING}, 2, 2, 2, 1, 1, 1, 1, true},
	        {{.steps = names, .n_steps = 1}, 0, 0, 0, 0, 1, 0, 0, false},
	        {{.steps = names + 1, .n_steps = 8}, 0, 0, 0, 0, 0, 0, 0, false},
	        {{.which = KIT_STEPS, .steps = names, .n_steps = 9}, 0, 0, 0, 0, 1, 0, 0, false},
	        {{.which = KIT_EVERYTHING, .wanted = want}, 0, 0, 0, 0, 0, 0, 0, false},
	};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct some some = {0};
		const struct facts *facts = &some.of_first;

		assert_ok(kits_each_with(w->store, &rows[i].lists, look, &some));
		assert_int_equal(some.kits, 2);
		assert_int_equal(some.asked, rows[i].lists.wanted ? 2 : 0);
		if (facts->n_options != rows[i].options || facts->n_subkits != rows[i].subkits ||
		    facts->n_parts != rows[i].parts || facts->n_notices_done != rows[i].notices ||
		    facts->n_steps_done != rows[i].steps || facts->n_step_dates != rows[i].dates ||
		    facts->n_step_plans != rows[i].plans || facts->has_hours != rows[i].use)
			fail_msg("row %zu", i);
		assert_true(facts->has_serial && facts->parts_known);
	}
}

static void lists_are_read_where_they_are_wanted(void **state)
{
	struct world *w = *state;
	struct some some = {.wants = true};

	assert_ok(kits_each_with(w->store,
	                         &(struct kit_lists){.which = KIT_EVERYTHING, .wanted = want}, look,
	                         &some));
	assert_int_equal(some.asked, 2);
	assert_int_equal(some.of_first.n_parts, 2);
	assert_true(some.of_first.has_hours);
}

static void every_change_of_a_kit_is_a_new_generation(void **state)
{
	struct world *w = *state;
	struct kit_id id;
	int64_t before, after;

	assert_ok(kits_generation(w->store, &before));
	assert_ok(kit_add(w->store, w->bob, "more", NOW, &id));
	assert_ok(kits_generation(w->store, &after));
	assert_int_equal(after, before + 1);
	assert_ok(kit_rename(w->store, id, "other"));
	assert_ok(kits_generation(w->store, &after));
	assert_int_equal(after, before + 2);
	assert_ok(kit_remove(w->store, id));
	assert_ok(kits_generation(w->store, &after));
	assert_int_equal(after, before + 3);
}

static void reading_is_marked_and_unmarked(void **state)
{
	struct world *w = *state;
	const struct reading *readings;
	size_t count;
	int64_t before = version_of(w);

	assert_ok(reading_mark(w->store, w->kit, w->one, w->one_first, NOW + 1));
	assert_ok(reading_list(w->store, w->arena, w->kit, &readings, &count));
	assert_int_equal(count, 1);
	assert_int_equal(readings[0].revision.v, w->one_first.v);
	assert_int_equal(readings[0].read_at, NOW + 1);
	assert_ok(reading_unmark(w->store, w->kit, w->one));
	assert_int_equal(version_of(w), before + 2);
	assert_int_equal(reading_unmark(w->store, w->kit, w->one), ST_MISSING);
	assert_int_equal(reading_mark(w->store, w->kit, (struct notice_id){99}, w->one_first, NOW),
	                 ST_CONFLICT);
	assert_int_equal(reading_mark(w->store, (struct kit_id){99}, w->one, w->one_first, NOW),
	                 ST_CONFLICT);
	assert_int_equal(version_of(w), before + 2);
	assert_ok(reading_list(w->store, w->arena, w->kit, &readings, &count));
	assert_int_equal(count, 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, world_make, world_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(facts_read_back),
	        TEST(every_single_fact_is_kept),
	        TEST(a_bare_kit_knows_nothing),
	        TEST(facts_are_replaced_as_a_whole),
	        TEST(bad_facts_are_refused),
	        TEST(kits_are_listed_by_owner),
	        TEST(kits_are_made_renamed_and_removed),
	        TEST(every_kit_is_visited),
	        TEST(only_lists_asked_for_are_read),
	        TEST(lists_are_read_where_they_are_wanted),
	        TEST(every_change_of_a_kit_is_a_new_generation),
	        TEST(reading_is_marked_and_unmarked),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
