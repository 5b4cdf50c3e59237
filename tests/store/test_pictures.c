/* Pictures on notes, reports and findings: who may add and remove, how many,
 * what is served once the note or report is gone, and where the bytes stay. */
#include "fixture.h"

#include <string.h>

#define CHECK_COUNT(w, n, sql)                                                                     \
	assert_int_equal(sql_number((w)->store, "SELECT count(*) FROM " sql), n)

static struct picture_size size_of(const char *bytes)
{
	return (struct picture_size){"image/jpeg", 1600, 1200, bytes, strlen(bytes)};
}

static struct picture_entry picture_of(const char *words, const char *large, const char *small)
{
	struct picture_entry entry = {words, size_of(large), size_of(small)};

	entry.small.mime = "image/png";
	entry.small.width = 320;
	entry.small.height = 240;
	return entry;
}

/* A report by bob with a finding of his. */
static void add_report(struct world *w)
{
	sql_exec(
	        w->store,
	        "INSERT INTO kit_snapshots (id, kit, kit_version, taken_at, model, serial, "
	        "purchased,"
	        " plans, first_flight, parts_known) VALUES (101, 1, 99, 1, 'W', '', '', '', '', 0);"
	        "INSERT INTO reports (id, author, credit, made_at, title, model, model_key, step,"
	        " step_key, zone, seen, look, severity, effectivity)"
	        " VALUES (7, (SELECT id FROM members WHERE login = 'Bob'), 1, 1, 'Crack', 'W', 'W',"
	        " '', '', '', 's', '', 1, 'all');"
	        "INSERT INTO findings (id, report_id, kit, author, snapshot_id, answer, credit, at,"
	        " remark) VALUES (103, 7, 1, (SELECT id FROM members WHERE login = 'sam'), 101, 1, "
	        "1, "
	        "1,"
	        " '')");
}

/* The fixture's world, its picture aside. */
static int make(void **state)
{
	int failed = world_make(state);
	struct world *w = *state;

	if (failed == 0)
		sql_exec(w->store, "DELETE FROM pictures");
	return failed;
}

static const struct picture_of on_report = {.report = {7}}, on_finding = {.finding = {103}};

static struct picture_of on_note(const struct world *w)
{
	return (struct picture_of){.note = w->note};
}

static const struct picture_row *listed(struct world *w, const struct picture_of *of, size_t n_of,
                                        size_t expected)
{
	const struct picture_row *rows = NULL;
	size_t count = 0;

	assert_ok(picture_list(w->store, w->arena, of, n_of, &rows, &count));
	assert_int_equal(count, expected);
	return rows;
}

static void pictures_come_back_as_they_were_added(void **state)
{
	struct world *w = *state;
	struct picture_of of[3] = {on_finding, on_note(w), on_report};
	struct picture_entry pair[2] = {picture_of("the bushing", "L1", "S1"),
	                                picture_of("", "L2", "S2")};
	struct picture_entry other = picture_of("x", "L3", "S1");
	const struct picture_row *rows;
	struct picture_size size;

	add_report(w);
	assert_ok(pictures_add(w->store, &of[1], w->bob, pair, 2, NOW));
	assert_ok(pictures_add(w->store, &on_report, w->bob, &other, 1, NOW));
	assert_ok(pictures_add(w->store, &on_finding, w->sam, &other, 1, NOW));
	rows = listed(w, of, 3, 4);
	assert_int_equal(rows[0].of.finding.v, 103);
	assert_int_equal(rows[0].on_report.v, 7);
	assert_int_equal(rows[0].author.v, w->sam.v);
	assert_int_equal(rows[1].of.note.v, w->note.v);
	assert_int_equal(rows[1].on_report.v, 0);
	assert_int_equal(rows[1].author.v, w->bob.v);
	assert_string_equal(rows[1].words, "the bushing");
	assert_int_equal(rows[1].large.width, 1600);
	assert_int_equal(rows[1].small.height, 240);
	assert_int_equal(rows[1].large.size, 2);
	assert_string_equal(rows[1].small.mime, "image/png");
	assert_string_equal(rows[2].words, "");
	assert_int_equal(rows[3].of.report.v, 7);
	assert_ok(picture_bytes(w->store, w->arena, rows[2].id, false, false, &size));
	assert_memory_equal(size.bytes, "L2", 2);
	assert_string_equal(size.mime, "image/jpeg");
	assert_ok(picture_bytes(w->store, w->arena, rows[3].id, true, false, &size));
	assert_memory_equal(size.bytes, "S1", 2);
	assert_int_equal(size.size, 2);
	assert_int_equal(size.width, 320);
	/* Same bytes are there once: L1, L2, L3, S1, S2, and the fixture's sheet. */
	CHECK_COUNT(w, 6, "files");
}

static void only_the_author_adds(void **state)
{
	struct world *w = *state;
	struct picture_entry entry = picture_of("", "L", "S");
	const struct {
		struct picture_of of;
		struct member_id by;
		enum status expected;
	} rows[] = {
	        {on_note(w), w->sam, ST_DENIED},
	        {on_note(w), w->ann, ST_DENIED},
	        {on_note(w), {0}, ST_DENIED},
	        {on_report, w->ann, ST_DENIED},
	        {on_finding, w->bob, ST_DENIED},
	        {{.note = {999}}, w->bob, ST_MISSING},
	        {{.report = {999}}, w->bob, ST_MISSING},
	        {{.finding = {999}}, w->bob, ST_MISSING},
	        {on_note(w), w->bob, ST_OK},
	        {on_report, w->bob, ST_OK},
	        {on_finding, w->sam, ST_OK},
	};

	add_report(w);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_int_equal(pictures_add(w->store, &rows[i].of, rows[i].by, &entry, 1, NOW),
		                 rows[i].expected);
	CHECK_COUNT(w, 3, "pictures");
	sql_exec(w->store, "UPDATE notes SET removed_at = 1, text = '';"
	                   "UPDATE reports SET removed_at = 1");
	for (size_t i = 8; i < 11; i++)
		assert_int_equal(pictures_add(w->store, &rows[i].of, rows[i].by, &entry, 1, NOW),
		                 ST_MISSING);
	CHECK_COUNT(w, 3, "pictures");
}

static void no_more_than_six(void **state)
{
	struct world *w = *state;
	struct picture_of of = on_note(w);
	struct picture_entry many[PICTURES_MOST + 1];
	const struct picture_row *rows;

	for (size_t i = 0; i < PICTURES_MOST + 1; i++)
		many[i] = picture_of("", "L", "S");
	many[4].words = "fifth";
	many[0].words = "first";
	assert_int_equal(pictures_add(w->store, &of, w->bob, many, PICTURES_MOST + 1, NOW),
	                 ST_LIMIT);
	CHECK_COUNT(w, 0, "pictures");
	CHECK_COUNT(w, 1, "files");
	assert_ok(pictures_add(w->store, &of, w->bob, many, 0, NOW));
	assert_ok(pictures_add(w->store, &of, w->bob, many, 5, NOW));
	assert_int_equal(pictures_add(w->store, &of, w->bob, many, 2, NOW), ST_LIMIT);
	CHECK_COUNT(w, 5, "pictures");
	/* One from the middle goes, two take what is free, behind the others. */
	rows = listed(w, &of, 1, 5);
	assert_ok(picture_remove(w->store, rows[2].id, w->bob));
	assert_ok(pictures_add(w->store, &of, w->bob, many, 2, NOW));
	assert_int_equal(pictures_add(w->store, &of, w->bob, many, 1, NOW), ST_LIMIT);
	rows = listed(w, &of, 1, 6);
	assert_string_equal(rows[0].words, "first");
	assert_string_equal(rows[3].words, "fifth");
	assert_string_equal(rows[4].words, "first");
}

static void what_breaks_a_rule_is_not_kept(void **state)
{
	struct world *w = *state;
	struct picture_of of = on_note(w);
	struct picture_entry good = picture_of("", "L", "S"), rows[6];
	char words[PICTURE_WORDS_LONGEST + 2];

	memset(words, 'w', sizeof words);
	words[sizeof words - 1] = '\0';
	for (size_t i = 0; i < 6; i++)
		rows[i] = good;
	rows[0].words = words;
	rows[1].large.mime = "image/webp";
	rows[2].small.mime = "text/html";
	rows[3].large.width = 0;
	rows[4].small.height = 0;
	rows[5].large.size = 0;
	for (size_t i = 0; i < 6; i++) {
		struct picture_entry pair[2] = {good, rows[i]};

		assert_int_equal(pictures_add(w->store, &of, w->bob, pair, 2, NOW), ST_CONFLICT);
	}
	CHECK_COUNT(w, 0, "pictures");
	CHECK_COUNT(w, 1, "files");
	words[PICTURE_WORDS_LONGEST] = '\0';
	assert_ok(pictures_add(w->store, &of, w->bob, rows, 1, NOW));
}

static void the_author_or_a_steward_removes(void **state)
{
	struct world *w = *state;
	struct picture_of of = on_note(w);
	struct picture_entry three[3] = {picture_of("", "L1", "S"), picture_of("", "L2", "S"),
	                                 picture_of("", "L3", "S")};
	const struct picture_row *rows;

	assert_ok(pictures_add(w->store, &of, w->bob, three, 3, NOW));
	rows = listed(w, &of, 1, 3);
	sql_exec(w->store, "UPDATE members SET role = 0 WHERE login = 'sue'");
	assert_int_equal(picture_remove(w->store, rows[0].id, w->sue), ST_DENIED);
	assert_int_equal(picture_remove(w->store, rows[0].id, (struct member_id){0}), ST_DENIED);
	assert_int_equal(picture_remove(w->store, (struct picture_id){99}, w->sam), ST_MISSING);
	assert_ok(picture_remove(w->store, rows[0].id, w->bob));
	assert_int_equal(picture_remove(w->store, rows[0].id, w->bob), ST_MISSING);
	assert_ok(picture_remove(w->store, rows[1].id, w->sam));
	sql_exec(w->store, "UPDATE members SET disabled = 1 WHERE login = 'sam'");
	assert_int_equal(picture_remove(w->store, rows[2].id, w->sam), ST_DENIED);
	sql_exec(w->store, "UPDATE notes SET removed_at = 1, text = ''");
	assert_int_equal(picture_remove(w->store, rows[2].id, w->bob), ST_DENIED);
	assert_ok(picture_remove(w->store, rows[2].id, w->ann));
	CHECK_COUNT(w, 1, "files");
}

static void a_removed_note_shows_its_pictures_to_stewards(void **state)
{
	struct world *w = *state;
	struct picture_of of[3] = {on_note(w), on_report, on_finding};
	struct picture_entry entry = picture_of("", "L", "S");
	const struct picture_row *rows;

	add_report(w);
	assert_ok(pictures_add(w->store, &of[0], w->bob, &entry, 1, NOW));
	assert_ok(pictures_add(w->store, &of[1], w->bob, &entry, 1, NOW));
	assert_ok(pictures_add(w->store, &of[2], w->sam, &entry, 1, NOW));
	rows = listed(w, of, 3, 3);
	sql_exec(w->store, "UPDATE notes SET removed_at = 1, text = '';"
	                   "UPDATE reports SET removed_at = 1");
	for (size_t i = 0; i < 3; i++) {
		struct picture_row row;
		struct picture_size size;

		assert_false(rows[i].removed);
		assert_int_equal(picture_read(w->store, w->arena, rows[i].id, false, &row),
		                 ST_MISSING);
		assert_int_equal(picture_bytes(w->store, w->arena, rows[i].id, true, false, &size),
		                 ST_MISSING);
		assert_int_equal(picture_bytes(w->store, w->arena, rows[i].id, false, false, &size),
		                 ST_MISSING);
		assert_ok(picture_read(w->store, w->arena, rows[i].id, true, &row));
		assert_true(row.removed);
		assert_ok(picture_bytes(w->store, w->arena, rows[i].id, false, true, &size));
	}
}

static void pictures_go_with_what_they_are_on(void **state)
{
	struct world *w = *state;
	struct picture_of of = on_note(w);
	struct picture_entry entry = picture_of("", "L", "S");
	struct attachment_entry sheet = {"l.jpg", "image/jpeg", "L", 1};
	struct attachment_id id;

	add_report(w);
	assert_ok(pictures_add(w->store, &of, w->bob, &entry, 1, NOW));
	assert_ok(pictures_add(w->store, &on_finding, w->sam, &entry, 1, NOW));
	assert_ok(attachment_add(w->store, w->draft, &sheet, w->sam, NOW, &id));
	sql_exec(w->store, "DELETE FROM notes");
	CHECK_COUNT(w, 3, "files");
	sql_exec(w->store, "DELETE FROM reports");
	CHECK_COUNT(w, 0, "pictures");
	CHECK_COUNT(w, 2, "files"); /* the sheet of the fixture, and L, which is a sheet too */
	assert_ok(attachment_remove(w->store, id, w->sam, NOW));
	CHECK_COUNT(w, 1, "files");
}

static void a_report_has_a_new_version(void **state)
{
	static const char *const versions = "SELECT sum(version) FROM reports WHERE id = 7";
	struct world *w = *state;
	struct picture_of of = on_note(w);
	struct picture_entry entry = picture_of("", "L", "S");
	const struct picture_row *rows;

	add_report(w);
	assert_ok(pictures_add(w->store, &of, w->bob, &entry, 1, NOW));
	assert_int_equal(sql_number(w->store, versions), 1);
	assert_ok(pictures_add(w->store, &on_report, w->bob, &entry, 1, NOW));
	assert_int_equal(sql_number(w->store, versions), 2);
	assert_ok(pictures_add(w->store, &on_finding, w->sam, &entry, 1, NOW));
	assert_int_equal(sql_number(w->store, versions), 3);
	/* One that it is merged into shows them too. */
	sql_exec(w->store,
	         "INSERT INTO reports (id, author, credit, made_at, title, model, model_key, step,"
	         " step_key, zone, seen, look, severity, effectivity) SELECT 8, author, credit, "
	         "made_at,"
	         " title, model, model_key, step, step_key, zone, seen, look, severity, effectivity"
	         " FROM reports WHERE id = 7; UPDATE reports SET merged_into = 8, merged_first = 8 "
	         "WHERE id = 7");
	rows = listed(w, &on_finding, 1, 1);
	assert_ok(picture_remove(w->store, rows[0].id, w->sam));
	assert_int_equal(sql_number(w->store, "SELECT version FROM reports WHERE id = 7"), 4);
	assert_int_equal(sql_number(w->store, "SELECT version FROM reports WHERE id = 8"), 2);
}

static void own_pictures_are_listed(void **state)
{
	struct world *w = *state;
	struct picture_of of = on_note(w);
	struct picture_entry entry = picture_of("", "L", "S");
	const struct picture_row *rows = NULL;
	size_t count = 0;

	add_report(w);
	assert_ok(pictures_add(w->store, &on_report, w->bob, &entry, 1, NOW));
	assert_ok(pictures_add(w->store, &of, w->bob, &entry, 1, NOW));
	assert_ok(pictures_add(w->store, &on_finding, w->sam, &entry, 1, NOW));
	assert_ok(picture_list_by(w->store, w->arena, w->bob, &rows, &count));
	assert_int_equal(count, 2);
	assert_int_equal(rows[0].of.report.v, 7);
	assert_int_equal(rows[1].of.note.v, w->note.v);
	assert_ok(picture_list_by(w->store, w->arena, w->sam, &rows, &count));
	assert_int_equal(count, 1);
	assert_ok(picture_list_by(w->store, w->arena, w->ann, &rows, &count));
	assert_int_equal(count, 0);
}

/* A day is counted by the clock that is given, and by each author alone. */
static void so_many_a_day(void **state)
{
	struct world *w = *state;
	struct picture_of of = on_note(w);
	struct picture_entry six[PICTURES_MOST];

	for (size_t i = 0; i < PICTURES_MOST; i++)
		six[i] = picture_of("", "L", "S");
	add_report(w);
	for (size_t added = 0; added < PICTURES_A_DAY; added += PICTURES_MOST) {
		const struct picture_row *rows;

		assert_ok(pictures_day(w->store, w->bob, PICTURES_MOST, NOW));
		if (added) {
			assert_ok(note_add(w->store, &w->on_one, w->bob,
			                   arena_printf(w->arena, "%zu", added), NOW, &of.note));
		}
		assert_ok(pictures_add(w->store, &of, w->bob, six, PICTURES_MOST, NOW));
		rows = listed(w, &of, 1, PICTURES_MOST);
		assert_int_equal(rows[0].author.v, w->bob.v);
	}
	assert_int_equal(pictures_day(w->store, w->bob, 1, NOW), ST_LIMIT);
	assert_int_equal(pictures_day(w->store, w->bob, 1, NOW + 86399), ST_LIMIT);
	assert_ok(pictures_day(w->store, w->bob, 1, NOW + 86400));
	assert_ok(pictures_day(w->store, w->sam, PICTURES_MOST, NOW));
	assert_int_equal(pictures_add(w->store, &on_report, w->bob, six, 1, NOW), ST_LIMIT);
	CHECK_COUNT(w, PICTURES_A_DAY, "pictures");
	assert_ok(pictures_add(w->store, &on_finding, w->sam, six, 1, NOW));
	assert_ok(pictures_add(w->store, &on_report, w->bob, six, 1, NOW + 86400));
	assert_ok(pictures_add(w->store, &on_report, w->bob, six, 0, NOW));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, make, world_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(pictures_come_back_as_they_were_added),
	        TEST(only_the_author_adds),
	        TEST(no_more_than_six),
	        TEST(so_many_a_day),
	        TEST(what_breaks_a_rule_is_not_kept),
	        TEST(the_author_or_a_steward_removes),
	        TEST(a_removed_note_shows_its_pictures_to_stewards),
	        TEST(pictures_go_with_what_they_are_on),
	        TEST(a_report_has_a_new_version),
	        TEST(own_pictures_are_listed),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
