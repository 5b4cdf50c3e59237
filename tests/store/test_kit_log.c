/* The log of a kit: only added to, and the one place for its totals. */
#include "fixture.h"

#include <string.h>

static int64_t version_of(struct world *w)
{
	struct kit kit;

	assert_ok(kit_read(w->store, w->arena, w->kit, &kit));
	return kit.version;
}

static struct facts facts_of(struct world *w)
{
	struct facts facts;

	assert_ok(kit_facts(w->store, w->arena, w->kit, &facts));
	return facts;
}

static struct kit_log_row row_of(day_number day, int64_t hours, int64_t landings)
{
	return (struct kit_log_row){.entry = {.day = day,
	                                      .has = {hours >= 0, landings >= 0},
	                                      .total = {hours, landings}},
	                            .entered_by = "Bob",
	                            .entered_at = NOW};
}

static void entries_read_back_newest_first(void **state)
{
	struct world *w = *state;
	const struct kit_log_row *rows;
	size_t count;

	assert_ok(kit_log_list(w->store, w->arena, w->kit, &rows, &count));
	assert_int_equal(count, 3);
	assert_int_equal(rows[0].id.v, w->log_last.v);
	assert_int_equal(rows[0].entry.day, NOW / 86400 - 5);
	assert_int_equal(rows[0].entry.total[USE_HOURS], 12350);
	assert_true(rows[0].counts && !rows[0].withdraws && rows[0].corrects.v == 0);
	assert_int_equal(rows[1].corrects.v, w->log_first.v);
	assert_true(rows[1].counts);
	assert_string_equal(rows[1].entry.event.text, "annual inspection");
	assert_string_equal(rows[1].entered_by, "Bob");
	assert_int_equal(rows[1].entered_at, NOW);
	assert_false(rows[2].counts);
	assert_ok(kit_log_list(w->store, w->arena, w->bare_kit, &rows, &count));
	assert_int_equal(count, 0);
}

static void only_what_counts_is_use(void **state)
{
	struct world *w = *state;
	struct kit_use use;

	assert_ok(kit_log_use(w->store, w->arena, w->kit, &use));
	assert_int_equal(use.n_log, 2);
	assert_int_equal(use.log[0].total[USE_LANDINGS], 0);
	assert_int_equal(use.log[1].total[USE_HOURS], 12350);
	assert_int_equal(use.n_planned, 1);
	assert_string_equal(use.planned[0].event.text, "annual inspection");
	assert_true(use.planned[0].has_day && !use.planned[0].has_hours);
	assert_int_equal(use.planned[0].day, NOW / 86400 + 300);
	assert_ok(kit_log_use(w->store, w->arena, w->bare_kit, &use));
	assert_int_equal(use.n_log + use.n_planned, 0);
}

/* The newest total of the log; false when no entry gives one. */
static bool newest(const struct kit_use *use, enum use_counter counter, int64_t *total)
{
	bool found = false;

	for (size_t i = 0; i < use->n_log; i++)
		if (use->log[i].has[counter]) {
			*total = use->log[i].total[counter];
			found = true;
		}
	return found;
}

/* The facts and core's reading of the log are the same, whatever is entered. */
static void facts_follow_the_log(void **state)
{
	struct world *w = *state;
	struct kit_log_row rows[] = {
	        row_of(NOW / 86400 - 100, 1000, 5), row_of(NOW / 86400 - 3, -1, 80),
	        row_of(NOW / 86400 - 3, 13000, -1), row_of(NOW / 86400 - 3, 12990, -1),
	        row_of(NOW / 86400 - 2, 13000, 90),
	};
	int64_t before = version_of(w);

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct kit_log_id id;
		struct kit_use use;
		struct facts facts;
		int64_t hours = -1, landings = -1;

		assert_ok(kit_log_add(w->store, w->kit, &rows[i], &id));
		assert_int_equal(version_of(w), ++before);
		assert_ok(kit_log_use(w->store, w->arena, w->kit, &use));
		facts = facts_of(w);
		assert_int_equal(newest(&use, USE_HOURS, &hours), facts.has_hours);
		assert_int_equal(newest(&use, USE_LANDINGS, &landings), facts.has_landings);
		assert_int_equal(facts.hours, hours);
		assert_int_equal(facts.landings, landings);
	}
	assert_int_equal(facts_of(w).hours, 13000);
	assert_int_equal(facts_of(w).landings, 90);
}

static void a_withdrawn_entry_counts_no_more(void **state)
{
	struct world *w = *state;
	struct kit_log_row row = {.corrects = w->log_last,
	                          .withdraws = true,
	                          .entry = {.day = NOW / 86400},
	                          .entered_by = "Bob"};
	struct kit_log_id id;

	assert_ok(kit_log_add(w->store, w->kit, &row, &id));
	assert_int_equal(facts_of(w).hours, 12250);
	/* twice is a conflict */
	assert_int_equal(kit_log_add(w->store, w->kit, &row, &id), ST_CONFLICT);
}

static void bad_entries_are_refused(void **state)
{
	struct world *w = *state;
	struct kit_log_row rows[] = {row_of(NOW / 86400, 1000000000, 1),
	                             row_of(NOW / 86400, 1, 10000000), row_of(NOW / 86400, -1, -1)};
	struct kit_log_row fine = row_of(NOW / 86400, 1, 1);
	struct text before = TEXT_EMPTY, after = TEXT_EMPTY;
	struct kit_log_id id = {77};

	dump_database(w->store, &before);
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_int_equal(kit_log_add(w->store, w->kit, &rows[i], &id), ST_CONFLICT);
	assert_int_equal(kit_log_add(w->store, (struct kit_id){99}, &fine, &id), ST_MISSING);
	fine.corrects.v = 99;
	assert_int_equal(kit_log_add(w->store, w->kit, &fine, &id), ST_MISSING);
	fine.corrects = w->log_last; /* of another kit */
	assert_int_equal(kit_log_add(w->store, w->bare_kit, &fine, &id), ST_MISSING);
	assert_int_equal(id.v, 77);
	dump_database(w->store, &after);
	assert_string_equal(text_string(&before), text_string(&after));
	text_free(&before);
	text_free(&after);
}

static void the_database_keeps_what_was_entered(void **state)
{
	static const char *const tries[] = {
	        "UPDATE kit_log SET hours = 1",
	        "DELETE FROM kit_log",
	        "INSERT OR REPLACE INTO kit_log SELECT * FROM kit_log WHERE id = 1",
	};
	struct world *w = *state;

	for (size_t i = 0; i < sizeof tries / sizeof *tries; i++) {
		char *words = NULL;

		assert_int_not_equal(sqlite3_exec(w->store->db, tries[i], NULL, NULL, &words),
		                     SQLITE_OK);
		assert_string_equal(words, "the log is only added to");
		sqlite3_free(words);
	}
	assert_ok(kit_remove(w->store, w->kit)); /* goes with its kit alone */
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM kit_log"), 0);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM kit_planned"), 0);
}

static void events_are_planned_and_forgotten(void **state)
{
	struct world *w = *state;
	struct planned_event event = {.event = name_of(w->arena, "ANNUAL  inspection"),
	                              .has_hours = true,
	                              .hours = 20000};
	struct kit_use use;
	int64_t before = version_of(w);

	assert_ok(kit_plan_event(w->store, w->kit, &event));
	assert_int_equal(version_of(w), before + 1);
	assert_ok(kit_log_use(w->store, w->arena, w->kit, &use));
	assert_int_equal(use.n_planned, 1);
	assert_true(use.planned[0].has_hours && !use.planned[0].has_day);
	assert_int_equal(use.planned[0].hours, 20000);
	event.has_hours = false;
	assert_ok(kit_plan_event(w->store, w->kit, &event));
	assert_ok(kit_log_use(w->store, w->arena, w->kit, &use));
	assert_int_equal(use.n_planned, 0);
	assert_int_equal(kit_plan_event(w->store, (struct kit_id){99}, &event), ST_MISSING);
	event.has_hours = true;
	event.hours = -1;
	assert_int_equal(kit_plan_event(w->store, w->kit, &event), ST_CONFLICT);
}

#define WITH_WORLD(test) cmocka_unit_test_setup_teardown(test, world_make, world_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        WITH_WORLD(entries_read_back_newest_first),
	        WITH_WORLD(only_what_counts_is_use),
	        WITH_WORLD(facts_follow_the_log),
	        WITH_WORLD(a_withdrawn_entry_counts_no_more),
	        WITH_WORLD(bad_entries_are_refused),
	        WITH_WORLD(the_database_keeps_what_was_entered),
	        WITH_WORLD(events_are_planned_and_forgotten),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
