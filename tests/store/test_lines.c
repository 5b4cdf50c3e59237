/* Build lines in the store, and the steps of a kit. */
#include "fixture.h"

#include <string.h>

static void assert_same_names(const struct name *a, size_t n_a, const struct name *b, size_t n_b)
{
	assert_int_equal(n_a, n_b);
	for (size_t i = 0; i < n_a; i++)
		assert_string_equal(a[i].text, b[i].text);
}

static void assert_same_step(const struct step_entry *a, const struct step_entry *b)
{
	assert_string_equal(a->code.text, b->code.text);
	assert_string_equal(a->title, b->title);
	assert_int_equal(a->hours, b->hours);
	assert_int_equal(a->hours_to_open, b->hours_to_open);
	assert_same_names(a->parts, a->n_parts, b->parts, b->n_parts);
	assert_same_names(a->needs, a->n_needs, b->needs, b->n_needs);
	assert_same_names(a->works_in, a->n_works_in, b->works_in, b->n_works_in);
	assert_same_names(a->closes, a->n_closes, b->closes, b->n_closes);
}

static void assert_same_line(const struct line_entry *a, const struct line_entry *b)
{
	assert_int_equal(a->n_sections, b->n_sections);
	for (size_t i = 0; i < a->n_sections; i++) {
		assert_string_equal(a->sections[i].code.text, b->sections[i].code.text);
		assert_string_equal(a->sections[i].title, b->sections[i].title);
		assert_int_equal(a->sections[i].n_steps, b->sections[i].n_steps);
		for (size_t k = 0; k < a->sections[i].n_steps; k++)
			assert_same_step(&a->sections[i].steps[k], &b->sections[i].steps[k]);
	}
}

static void a_line_reads_back_as_it_was_saved(void **state)
{
	struct world *w = *state;
	struct line_entry in = line_entry_of(w->arena, "whimbrel t"), out;
	struct line_head head;

	assert_ok(line_read(w->store, w->arena, w->line, &head, &out));
	assert_same_line(&in, &out);
	assert_string_equal(out.model.text, "whimbrel t");
	assert_int_equal(head.version, 1);
	assert_int_equal(head.sections, 2);
	assert_int_equal(head.steps, 3);
	assert_int_equal(head.hours, 2150);
	assert_string_equal(head.editor, "sam");
	assert_int_equal(head.edited_at, NOW);
}

static void a_change_replaces_the_whole_line(void **state)
{
	struct world *w = *state;
	struct line_entry entry = line_entry_of(w->arena, "Whimbrel T"), out;
	struct line_head head;
	struct line_id id;

	entry.sections++;
	entry.n_sections = 1;
	assert_ok(line_save(w->store, &entry, 1, w->sue, NOW + 5, &id));
	assert_int_equal(id.v, w->line.v);
	assert_ok(line_read(w->store, w->arena, id, &head, &out));
	assert_same_line(&entry, &out);
	assert_int_equal(head.version, 2);
	assert_string_equal(head.model, "Whimbrel T");
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM line_names"), 0);
}

static void a_change_from_an_old_version_is_refused(void **state)
{
	struct world *w = *state;
	struct line_entry entry = line_entry_of(w->arena, "Whimbrel T");
	struct line_entry other = line_entry_of(w->arena, "Whimbrel");
	struct line_id id = {77};

	assert_int_equal(line_save(w->store, &entry, 0, w->sue, NOW, &id), ST_CONFLICT);
	assert_int_equal(line_save(w->store, &entry, 2, w->sue, NOW, &id), ST_CONFLICT);
	assert_int_equal(line_save(w->store, &other, 1, w->sue, NOW, &id), ST_CONFLICT);
	assert_int_equal(id.v, 77);
	assert_ok(line_save(w->store, &entry, LINE_ANY_VERSION, (struct member_id){0}, NOW, &id));
	assert_int_equal(id.v, w->line.v);
	assert_int_equal(line_remove(w->store, id, 1), ST_CONFLICT);
	assert_ok(line_remove(w->store, id, 2));
	assert_int_equal(line_remove(w->store, id, 2), ST_MISSING);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM line_steps"), 0);
}

/* What core refuses, too: nobody else may write it either. */
static void two_steps_of_one_code_are_refused(void **state)
{
	struct world *w = *state;
	struct line_entry entry = line_entry_of(w->arena, "Whimbrel");
	struct section_entry *sections = ARENA_ARRAY(w->arena, struct section_entry, 2);
	struct line_id id;

	sections[0] = sections[1] = entry.sections[0];
	sections[1].code = name_of(w->arena, "16");
	entry.sections = sections;
	assert_int_equal(line_save(w->store, &entry, 0, w->sam, NOW, &id), ST_CONFLICT);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM lines"), 1);
}

static void a_line_is_found_by_model_and_listed(void **state)
{
	struct world *w = *state;
	struct name model = name_of(w->arena, " WHIMBREL  T"), none = name_of(w->arena, "Avocet");
	struct line_entry other = line_entry_of(w->arena, "Avocet");
	const struct line_head *list;
	struct line_head head;
	struct line_entry entry;
	struct line_id id;
	size_t count;

	assert_ok(line_of_model(w->store, &model, &id));
	assert_int_equal(id.v, w->line.v);
	assert_int_equal(line_of_model(w->store, &none, &id), ST_MISSING);
	assert_int_equal(line_of_model(w->store, &(struct name){NULL}, &id), ST_MISSING);
	assert_int_equal(line_read(w->store, w->arena, (struct line_id){99}, &head, &entry),
	                 ST_MISSING);
	assert_ok(line_save(w->store, &other, 0, (struct member_id){0}, NOW, &id));
	assert_ok(line_list(w->store, w->arena, &list, &count));
	assert_int_equal(count, 2);
	assert_string_equal(list[0].model, "Avocet");
	assert_string_equal(list[0].editor, "");
	assert_string_equal(list[1].model, "whimbrel t");
}

/* A kit knows the line of its model, and a change of it. */
static void a_kit_names_its_line(void **state)
{
	struct world *w = *state;
	struct line_entry entry = line_entry_of(w->arena, "Whimbrel T");
	struct kit kit;
	struct line_id id;

	assert_ok(kit_read(w->store, w->arena, w->kit, &kit));
	assert_int_equal(kit.line.v, w->line.v);
	assert_int_equal(kit.line_version, 1);
	assert_ok(line_save(w->store, &entry, 1, w->sam, NOW, &id));
	assert_ok(kit_read(w->store, w->arena, w->kit, &kit));
	assert_int_equal(kit.line_version, 2);
	assert_ok(kit_read(w->store, w->arena, w->bare_kit, &kit));
	assert_int_equal(kit.line.v, 0);
	assert_ok(line_remove(w->store, w->line, 2));
	assert_ok(line_save(w->store, &entry, 0, w->sam, NOW, &id));
	assert_ok(kit_read(w->store, w->arena, w->kit, &kit));
	assert_true(kit.line.v > w->line.v);
}

/* ---- steps of a kit ---- */

static struct date_fact day_of(const char *text)
{
	struct date_fact fact = {.state = DATE_KNOWN};

	assert_ok(date_parse(text, strlen(text), &fact.date));
	return fact;
}

static int64_t version_of(struct world *w, struct kit_id id)
{
	struct kit kit;

	assert_ok(kit_read(w->store, w->arena, id, &kit));
	return kit.version;
}

static void steps_are_marked_and_unmarked(void **state)
{
	struct world *w = *state;
	const struct name steps[] = {name_of(w->arena, "14-3"), name_of(w->arena, "14-4")};
	struct date_fact unknown = {.state = DATE_UNKNOWN}, day = day_of("2020-02-03");
	int64_t version = version_of(w, w->kit);
	struct facts facts;
	struct date_fact done;

	assert_ok(kit_mark_steps(w->store, w->kit, steps, 2, &unknown));
	assert_ok(kit_facts(w->store, w->arena, w->kit, &facts));
	assert_int_equal(facts.n_steps_done, 2);
	done = facts_step_date(&facts, &steps[0]);
	assert_int_equal(done.date.first, day_of("2019-07-06").date.first); /* kept */
	assert_int_equal(facts_step_date(&facts, &steps[1]).state, DATE_UNKNOWN);
	assert_ok(kit_mark_steps(w->store, w->kit, &steps[1], 1, &day));
	assert_ok(kit_facts(w->store, w->arena, w->kit, &facts));
	assert_int_equal(facts.n_steps_done, 2);
	assert_int_equal(facts_step_date(&facts, &steps[1]).date.first, day.date.first);
	assert_ok(kit_unmark_steps(w->store, w->kit, steps, 1));
	assert_ok(kit_facts(w->store, w->arena, w->kit, &facts));
	assert_int_equal(facts.n_steps_done, 1);
	assert_string_equal(facts.steps_done[0].text, "14-4");
	assert_int_equal(facts.n_notices_done, 1);
	assert_int_equal(version_of(w, w->kit), version + 3);
}

static void dates_survive_a_change_of_other_facts(void **state)
{
	struct world *w = *state;
	struct facts facts, after;

	assert_ok(kit_facts(w->store, w->arena, w->kit, &facts));
	facts.hours = 99900;
	assert_ok(kit_set_facts(w->store, w->kit, &facts));
	assert_ok(kit_facts(w->store, w->arena, w->kit, &after));
	assert_int_equal(after.n_step_dates, 1);
	facts.n_steps_done = 0;
	assert_ok(kit_set_facts(w->store, w->kit, &facts));
	assert_ok(kit_facts(w->store, w->arena, w->kit, &after));
	assert_int_equal(after.n_step_dates, 0);
}

static void a_list_of_steps_has_its_limit(void **state)
{
	struct world *w = *state;
	struct name *steps = ARENA_ARRAY(w->arena, struct name, KIT_LIST_LONGEST + 1);
	struct date_fact unknown = {.state = DATE_UNKNOWN};

	for (size_t i = 0; i <= KIT_LIST_LONGEST; i++)
		steps[i] = name_of(w->arena, arena_printf(w->arena, "S%zu", i));
	assert_ok(kit_mark_steps(w->store, w->bare_kit, steps, KIT_LIST_LONGEST, &unknown));
	assert_int_equal(
	        kit_mark_steps(w->store, w->bare_kit, steps + KIT_LIST_LONGEST, 1, &unknown),
	        ST_LIMIT);
	assert_ok(
	        kit_mark_steps(w->store, w->bare_kit, steps, 1, &unknown)); /* one that is there */
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM kit_names WHERE kit_id = 2"),
	                 KIT_LIST_LONGEST);
}

static void whether_all_are_marked_is_a_fact(void **state)
{
	struct world *w = *state;
	struct facts facts;

	assert_ok(kit_set_steps_known(w->store, w->bare_kit, true));
	assert_ok(kit_facts(w->store, w->arena, w->bare_kit, &facts));
	assert_true(facts.steps_known);
	assert_ok(kit_set_steps_known(w->store, w->bare_kit, false));
	assert_ok(kit_facts(w->store, w->arena, w->bare_kit, &facts));
	assert_false(facts.steps_known);
}

static void steps_of_no_kit_are_missing(void **state)
{
	struct world *w = *state;
	const struct kit_id none = {99};
	struct name step = name_of(w->arena, "14-3");
	struct date_fact unknown = {.state = DATE_UNKNOWN};

	assert_int_equal(kit_mark_steps(w->store, none, &step, 1, &unknown), ST_MISSING);
	assert_int_equal(kit_unmark_steps(w->store, none, &step, 1), ST_MISSING);
	assert_int_equal(kit_set_steps_known(w->store, none, true), ST_MISSING);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, world_make, world_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(a_line_reads_back_as_it_was_saved),
	        TEST(a_change_replaces_the_whole_line),
	        TEST(a_change_from_an_old_version_is_refused),
	        TEST(two_steps_of_one_code_are_refused),
	        TEST(a_line_is_found_by_model_and_listed),
	        TEST(a_kit_names_its_line),
	        TEST(steps_are_marked_and_unmarked),
	        TEST(dates_survive_a_change_of_other_facts),
	        TEST(a_list_of_steps_has_its_limit),
	        TEST(whether_all_are_marked_is_a_fact),
	        TEST(steps_of_no_kit_are_missing),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
