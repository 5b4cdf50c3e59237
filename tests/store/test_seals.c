#include "fixture.h"

#include <stdio.h>
#include <string.h>

/* Tables without a seal, and why. The search tables are left out by their names. */
static const char not_sealed[] =
        "'generation', 'kits_generation', 'kit_changes'," /* tell caches to look again */
        "'sessions', 'sign_in_failures',"                 /* end by themselves */
        "'trial',"                                        /* holds nothing */
        "'seals', 'chains'";

static void every_table_is_sealed_or_named(void **state)
{
	struct world *w = *state;
	char sql[800];
	sqlite3_stmt *stmt;

	snprintf(sql, sizeof sql,
	         "SELECT t.name FROM pragma_table_list t WHERE t.schema = 'main' AND t.type = "
	         "'table'"
	         " AND t.name NOT LIKE 'sqlite%%' AND t.name NOT IN (%s) AND 3 >"
	         " (SELECT count(*) FROM sqlite_schema s WHERE s.tbl_name = t.name"
	         " AND s.type = 'trigger' AND s.name GLOB 'seal_*')",
	         not_sealed);
	assert_int_equal(sqlite3_prepare_v2(w->store->db, sql, -1, &stmt, NULL), SQLITE_OK);
	if (sqlite3_step(stmt) == SQLITE_ROW)
		fail_msg("%s is not sealed: add it to SEALED in store/seals.c, or here with why",
		         (const char *)sqlite3_column_text(stmt, 0));
	sqlite3_finalize(stmt);
}

/* As a failing disk would: nobody asks the triggers. */
static void change_behind(struct store *store, const char *sql)
{
	assert_ok(seals_off(store));
	sql_exec(store, "PRAGMA foreign_keys = OFF; PRAGMA ignore_check_constraints = ON");
	sql_exec(store, sql);
	assert_ok(seals_on(store));
	sql_exec(store, "PRAGMA foreign_keys = ON; PRAGMA ignore_check_constraints = OFF");
}

static const char *first_fault(struct store *store, struct text *words)
{
	struct seal_report report = {.shown = 0};

	text_clear(words);
	if (seals_check(store, SEAL_WITH_FILES, &report) == ST_INVALID)
		seal_fault_words(&report.faults[0], words);
	return text_string(words);
}

static const struct {
	const char *change, *told;
} changes[] = {
        {"UPDATE kits SET serial = serial || '1' WHERE id = 1", "kit 1, details: "},
        {"UPDATE kits SET parts_known = NOT parts_known WHERE id = 2", "kit 2, details: "},
        {"UPDATE kit_options SET fitted = NOT fitted WHERE kit_id = 1 AND place = 0",
         "kit 1, options: "},
        {"DELETE FROM kit_subkits WHERE kit_id = 1", "kit 1, sub-kits: "},
        {"INSERT INTO kit_names (kit_id, list, place, name, name_key) VALUES"
         " (2, 0, 90, 'X', 'X')",
         "kit 2, steps and notices done: "},
        {"UPDATE kit_parts SET place = place + 50 WHERE kit_id = 1 AND place = 0",
         "kit 1, parts: "},
        {"UPDATE settings SET value = 'x' WHERE name = 'id'", "settings: "},
        {"UPDATE revisions SET title = title || '.' WHERE id = 1", "revision 1: "},
        {"UPDATE revisions SET due = char(10) WHERE id = 1", "revision 1: "},
        {"DELETE FROM revision_lines WHERE revision_id = 1 AND place = 1",
         "revision 1, affected parts: "},
        {"UPDATE notices SET cancelled_on = '' WHERE id = 2", "notice 2: "},
        {"UPDATE packing_list_parts SET quantity = quantity + 1 WHERE list_id = 1",
         "packing list 1, parts: "},
        {"UPDATE line_steps SET hours = hours + 1 WHERE line_id = 1 AND place = 0",
         "build line 1, steps: "},
        {"UPDATE files SET bytes = zeroblob(length(bytes)) WHERE id = 1", "file 1: "},
        {"UPDATE pictures SET width = width + 1 WHERE id = 1", "picture 1: "},
        {"UPDATE members SET role = 2 WHERE id = 4", "member 4: "},
        {"UPDATE notes SET text = '  ' || text WHERE id = 1", "note 1: "},
        {"UPDATE seals SET seal = zeroblob(32) WHERE of = 'kits' AND owner = 1",
         "kit 1, details: "},
        {"DELETE FROM seals WHERE of = 'kits' AND owner = 2", "kit 2, details: "},
        /* Two values changed places: the same bytes, another row. */
        {"UPDATE kits SET model = serial, serial = model WHERE id = 1", "kit 1, details: "},
        /* A number stays another thing than the same digits as text. */
        {"UPDATE kit_log SET event = day, day = event WHERE id ="
         " (SELECT max(id) FROM kit_log WHERE kit_id = 1)",
         "kit 1, log: "},
        {"DELETE FROM notice_log WHERE id = (SELECT max(id) FROM notice_log)", "log of notices: "},
};

static void a_change_behind_the_program_is_told(void **state)
{
	struct text words = TEXT_EMPTY;

	(void)state;
	for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
		void *world = NULL;
		struct world *w;

		world_make(&world);
		w = world;
		/* Triggers that keep logs as they are would be in the way. */
		sql_exec(w->store, "DROP TRIGGER IF EXISTS kit_log_unchanged;"
		                   "DROP TRIGGER IF EXISTS notice_log_stays");
		change_behind(w->store, changes[i].change);
		first_fault(w->store, &words);
		if (strncmp(text_string(&words), changes[i].told, strlen(changes[i].told)) != 0)
			fail_msg("%s: told \"%s\"", changes[i].change, text_string(&words));
		assert_ok(seal_all(w->store));
		world_end(&world);
	}
	text_free(&words);
}

/* What is written later through the program does not hide it. */
static void a_change_stays_told(void **state)
{
	struct world *w = *state;
	struct text words = TEXT_EMPTY;
	struct record_id id;
	struct record record = record_of(w->arena, "HF-SB-1", "P");

	change_behind(w->store, "UPDATE kits SET model = 'Other' WHERE id = 1");
	assert_string_not_equal(first_fault(w->store, &words), "");
	assert_ok(record_append(w->store, w->kit, &record, &id));
	assert_string_equal(first_fault(w->store, &words),
	                    "kit 1, details: changed outside the program");
	assert_ok(seal_all(w->store));
	assert_string_equal(first_fault(w->store, &words), "");
	text_free(&words);
}

static void the_chain_of_a_log_tells_the_entry(void **state)
{
	struct world *w = *state;
	struct text words = TEXT_EMPTY;
	struct seal_report report = {.shown = 0};

	sql_exec(w->store, "DROP TRIGGER notice_log_unchanged");
	assert_ok(seal_all(w->store));
	change_behind(w->store, "UPDATE notice_log SET act = act + 1 WHERE id = 3");
	assert_int_equal(seals_check(w->store, SEAL_WITH_FILES, &report), ST_INVALID);
	assert_int_equal(report.found, 2);
	seal_fault_words(&report.faults[1], &words);
	assert_string_equal(text_string(&words),
	                    "log of notices, entry 3: changed outside the program");
	assert_ok(seal_all(w->store));
	/* Entry and link gone together: the next one hangs in the air. */
	sql_exec(w->store, "DROP TRIGGER notice_log_stays");
	assert_ok(seal_all(w->store));
	change_behind(w->store, "DELETE FROM notice_log WHERE id = 2;"
	                        "DELETE FROM chains WHERE of = 'notice_log' AND entry = 2");
	report = (struct seal_report){.shown = 0};
	assert_int_equal(seals_check(w->store, SEAL_WITH_FILES, &report), ST_INVALID);
	assert_int_equal(report.faults[1].entry, 3);
	assert_ok(seal_all(w->store));
	text_free(&words);
}

/* A member who goes is taken out of the log, and the chain holds. */
static void a_member_may_leave_the_log(void **state)
{
	struct world *w = *state;

	assert_ok(member_remove(w->store, w->sue, NOW));
	assert_ok(member_remove(w->store, w->bob, NOW));
	assert_sealed(w->store);
}

static void triggers_taken_off_are_told(void **state)
{
	struct world *w = *state;
	struct text words = TEXT_EMPTY;

	sql_exec(w->store, "DROP TRIGGER seal_kits_changed");
	assert_string_equal(first_fault(w->store, &words),
	                    "kit, details: the seals were taken off");
	assert_ok(seals_off(w->store));
	assert_ok(seals_on(w->store));
	assert_sealed(w->store);
	sql_exec(w->store, "DROP TRIGGER notice_log_stays");
	assert_string_equal(first_fault(w->store, &words), "schema: changed outside the program");
	assert_ok(seal_all(w->store));
	text_free(&words);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, world_make, world_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(every_table_is_sealed_or_named),
	        cmocka_unit_test(a_change_behind_the_program_is_told),
	        TEST(a_change_stays_told),
	        TEST(the_chain_of_a_log_tells_the_entry),
	        TEST(a_member_may_leave_the_log),
	        TEST(triggers_taken_off_are_told),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
