#include "fixture.h"

#include "base/embedded.h"

#include <dirent.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <sys/stat.h>
#include <unistd.h>

/* A folder for the files of one test. */
struct place {
	char folder[64];
	char path[96];
	char copy[96];
};

static int place_make(void **state)
{
	struct place *place = calloc(1, sizeof *place);

	assert_non_null(place);
	strcpy(place->folder, "/tmp/fairlead-store-XXXXXX");
	assert_non_null(mkdtemp(place->folder));
	snprintf(place->path, sizeof place->path, "%s/one.db", place->folder);
	snprintf(place->copy, sizeof place->copy, "%s/copy.db", place->folder);
	*state = place;
	return 0;
}

static int place_end(void **state)
{
	struct place *place = *state;
	DIR *folder = opendir(place->folder);

	assert_non_null(folder);
	for (struct dirent *entry = readdir(folder); entry; entry = readdir(folder))
		unlinkat(dirfd(folder), entry->d_name, 0);
	closedir(folder);
	assert_int_equal(rmdir(place->folder), 0);
	free(place);
	return 0;
}

static void run_sql_on(const char *path, const char *sql)
{
	sqlite3 *db;

	assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
	assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
	sqlite3_close(db);
}

static void file_bytes(const char *path, const char *bytes)
{
	FILE *file = fopen(path, "wb");

	assert_non_null(file);
	fputs(bytes, file);
	fclose(file);
}

static long file_size(const char *path)
{
	struct stat status;

	return stat(path, &status) == 0 ? (long)status.st_size : -1;
}

static void a_new_file_is_brought_up_to_date(void **state)
{
	struct place *place = *state;
	struct store *store;

	assert_ok(store_open(place->path, &store));
	assert_true(store_version() >= 1);
	assert_int_equal(sql_number(store, "PRAGMA user_version"), store_version());
	assert_int_equal(sql_number(store, "PRAGMA application_id"), 0x46724C64);
	assert_int_equal(sql_number(store, "PRAGMA foreign_keys"), 1);
	assert_int_equal(sql_number(store, "PRAGMA trusted_schema"), 0);
	assert_int_equal(sql_number(store, "PRAGMA synchronous"), 2);
	assert_int_equal(sql_number(store, "PRAGMA busy_timeout"), 5000);
	assert_int_equal(sql_number(store, "SELECT count(*) FROM pragma_journal_mode"
	                                   " WHERE journal_mode = 'wal'"),
	                 1);
	assert_ok(setting_set_text(store, SETTING_CHAPTER, "Fen"));
	store_close(store);
	assert_ok(store_open(place->path, &store));
	assert_int_equal(sql_number(store, "SELECT count(*) FROM settings WHERE value = 'Fen'"), 1);
	store_close(store);
}

static void every_table_guards_itself(void **state)
{
	struct place *place = *state;
	struct store *store;

	assert_ok(store_open(place->path, &store));
	assert_int_equal(sql_number(store,
	                            "SELECT count(*) FROM pragma_table_list WHERE schema = 'main'"
	                            " AND type = 'table' AND NOT strict"
	                            " AND name NOT LIKE 'sqlite%'"),
	                 0);
	store_close(store);
}

static void foreign_files_are_left_alone(void **state)
{
	struct place *place = *state;
	static const struct {
		const char *sql;
		enum status expected;
	} rows[] = {
	        {"CREATE TABLE other (x)", ST_INVALID},
	        {"PRAGMA user_version = 1", ST_INVALID},
	        {"PRAGMA application_id = 77", ST_INVALID},
	        {"PRAGMA application_id = 1181895780; PRAGMA user_version = 999", ST_CONFLICT},
	};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct store *store = NULL;
		long size;

		unlink(place->path);
		run_sql_on(place->path, rows[i].sql);
		size = file_size(place->path);
		assert_int_equal(store_open(place->path, &store), rows[i].expected);
		assert_null(store);
		assert_int_equal(file_size(place->path), size);
		assert_int_equal(access(place->copy, F_OK), -1);
	}
}

static void what_is_no_database_is_refused(void **state)
{
	struct place *place = *state;
	struct store *store = NULL;

	file_bytes(place->path,
	           "This is a shopping list, and it is long enough to be looked at as a"
	           " page of a database: bolts, nuts, washers, rivets, tape, grease.");
	assert_int_equal(store_open(place->path, &store), ST_INVALID);
	assert_int_equal(store_open("/nonexistent/folder/x.db", &store), ST_IO);
	assert_int_equal(store_open(place->folder, &store), ST_IO);
	assert_null(store);
}

static void a_failed_migration_leaves_nothing_behind(void **state)
{
	struct place *place = *state;
	struct store *store = NULL;

	run_sql_on(place->path,
	           "PRAGMA application_id = 1181895780; CREATE TABLE members (in_the_way)");
	assert_int_equal(store_open(place->path, &store), ST_IO);
	assert_null(store);
	run_sql_on(place->path, "DROP TABLE members");
	assert_ok(store_open(place->path, &store));
	assert_int_equal(sql_number(store, "SELECT count(*) FROM generation"), 1);
	store_close(store);
}

extern const struct embedded_file migration_files[];

/* A database as the program of that many migrations left it. */
static void file_of_version(const char *path, int version, const char *filling)
{
	char mark[80];

	for (int i = 0; i < version; i++)
		run_sql_on(path, (const char *)migration_files[i].bytes);
	snprintf(mark, sizeof mark, "PRAGMA application_id = 1181895780; PRAGMA user_version = %d",
	         version);
	run_sql_on(path, mark);
	run_sql_on(path, filling);
}

#define REVISION(id, hours, landings, months)                                                      \
	"INSERT INTO notices (id, number, number_key, issuer, issuer_key, kind) VALUES (" #id      \
	", 'N" #id "', 'N" #id "', 'H', 'H', 0);"                                                  \
	"INSERT INTO revisions VALUES (" #id ", " #id                                              \
	", 0, 1, NULL, 1, NULL, 0, '', '', '', '', '', '', '', '', 0, '', '', " #hours             \
	", " #landings ", " #months ");"

/* What stood in columns of the first shape is kept, and reads as before. */
static void repeats_become_limits_and_hours_an_entry(void **state)
{
	static const char *const limits[] = {
	        "", "then\nevery 50 hours",
	        "then\nevery 12.5 hours\nevery 12 calendar months\nwhichever first",
	        "then\nevery 7 landings",
	        "then\nevery 0.25 hours\nevery 1 calendar months\nwhichever first"};
	struct place *place = *state;
	struct arena *arena = arena_new();
	struct store *store;
	struct facts facts;
	int64_t before, after, day;

	file_of_version(place->path, 3,
	                REVISION(1, 0, 0, 0) REVISION(2, 5000, 0, 0) REVISION(3, 1250, 0, 12)
	                        REVISION(4, 0, 7, 0) REVISION(
	                                5, 25, 0, 1) "INSERT INTO members (id, login, login_key, "
	                                             "name, password, role, joined_at)"
	                                             " VALUES (1, 'ann', 'ANN', 'Ann', 'p', 0, 1);"
	                                             "INSERT INTO kits (id, owner, name, made_at, "
	                                             "hours, landings) VALUES"
	                                             " (1, 1, 'a', 1, 12050, NULL), (2, 1, 'b', 1, "
	                                             "NULL, 3), (3, 1, 'c', 1, NULL, NULL);");
	before = time(NULL) / 86400;
	assert_ok(store_open(place->path, &store));
	after = time(NULL) / 86400;
	for (int i = 0; i < 5; i++) {
		const struct due_statement *due;
		struct statement_fault fault;
		struct revision revision;

		assert_ok(revision_read(store, arena, (struct revision_id){i + 1}, &revision));
		assert_string_equal(revision.content.due, limits[i]);
		assert_ok(due_parse(arena, limits[i], strlen(limits[i]), &due, &fault));
	}
	assert_ok(kit_facts(store, arena, (struct kit_id){1}, &facts));
	assert_true(facts.has_hours && !facts.has_landings && facts.hours == 12050);
	assert_ok(kit_facts(store, arena, (struct kit_id){2}, &facts));
	assert_true(!facts.has_hours && facts.has_landings && facts.landings == 3);
	assert_ok(kit_facts(store, arena, (struct kit_id){3}, &facts));
	assert_false(facts.has_hours || facts.has_landings);
	assert_int_equal(sql_number(store, "SELECT count(*) FROM kit_log WHERE entered_by = 'Ann'"),
	                 2);
	/* Of the day of opening, which midnight may end meanwhile. */
	day = sql_number(store, "SELECT unixepoch(day) / 86400 FROM kit_log WHERE id = 1");
	assert_true(day >= before && day <= after);
	assert_int_equal(sql_number(store, "SELECT count(DISTINCT day) FROM kit_log"), 1);
	store_close(store);
	arena_free(arena);
}

/* Ids of notes that are gone are not given out again. */
static void notes_keep_their_ids_and_words(void **state)
{
	struct place *place = *state;
	struct arena *arena = arena_new();
	const struct note_subject on = note_on_notice((struct notice_id){1});
	struct store *store;
	struct note note;
	struct note_id id;

	file_of_version(
	        place->path, 5,
	        "INSERT INTO members (id, login, login_key, name, password, role, joined_at)"
	        " VALUES (1, 'ann', 'ANN', 'Ann', 'p', 0, 1);"
	        "INSERT INTO notices (id, number, number_key, issuer, issuer_key, kind)"
	        " VALUES (1, 'N', 'N', 'H', 'H', 0);"
	        "INSERT INTO notes VALUES (2, 1, 1, 5, 'Deburr it', 0, NULL),"
	        " (3, 1, 1, 6, '', 7, 1), (9, 1, 1, 8, 'gone', 0, NULL);"
	        "DELETE FROM notes WHERE id = 9;");
	assert_ok(store_open(place->path, &store));
	assert_ok(note_read(store, arena, (struct note_id){2}, (struct member_id){1}, &note));
	assert_string_equal(note.text, "Deburr it");
	assert_string_equal(note.author_name, "Ann");
	assert_int_equal(note.written_at, 5);
	assert_int_equal(note.of.notice.v, 1);
	assert_ok(note_read(store, arena, (struct note_id){3}, (struct member_id){1}, &note));
	assert_int_equal(note.removed_at, 7);
	assert_string_equal(note.removed_by, "Ann");
	assert_int_equal(
	        sql_number(store, "SELECT rowid FROM note_search WHERE note_search MATCH 'deburr'"),
	        2);
	assert_ok(note_add(store, &on, (struct member_id){1}, "New", 9, &id));
	assert_int_equal(id.v, 10);
	store_close(store);
	arena_free(arena);
}

static void transactions_keep_all_or_nothing(void **state)
{
	struct place *place = *state;
	struct store *store;
	struct member_id id;
	struct member_entry entry = {"ann", "Ann", "p", ROLE_ADMIN};
	int64_t count;

	assert_ok(store_open(place->path, &store));
	assert_ok(store_begin(store));
	assert_ok(member_add(store, &entry, NOW, &id));
	assert_int_equal(member_remove(store, id, NOW), ST_DENIED);
	store_rollback(store);
	store_rollback(store);
	assert_ok(member_count(store, &count));
	assert_int_equal(count, 0);
	assert_ok(store_begin(store));
	assert_ok(member_add(store, &entry, NOW, &id));
	assert_int_equal(member_remove(store, id, NOW), ST_DENIED); /* undoes itself alone */
	assert_ok(store_commit(store));
	assert_ok(member_count(store, &count));
	assert_int_equal(count, 1);
	store_close(store);
}

static void a_commit_that_fails_has_rolled_back(void **state)
{
	struct place *place = *state;
	struct store *store;
	int64_t count;

	assert_ok(store_open(place->path, &store));
	assert_ok(store_begin(store));
	assert_ok(setting_set_flag(store, SETTING_DEMO, true));
	store_fail_step(store, 1);
	assert_int_equal(store_commit(store), ST_IO);
	assert_true(store_step_failed(store));
	count = sql_number(store, "SELECT count(*) FROM settings WHERE name = 'demo'");
	assert_int_equal(count, 0);
	assert_ok(store_begin(store));
	sql_exec(store, "ROLLBACK"); /* as SQLite does by itself when it must */
	assert_int_equal(store_commit(store), ST_IO);
	store_close(store);
}

static void a_read_only_connection_changes_nothing(void **state)
{
	struct place *place = *state;
	struct store *store;
	const char *text;
	struct arena *arena = arena_new();

	assert_ok(store_open(place->path, &store));
	assert_ok(store_set_read_only(store, true));
	assert_int_equal(setting_set_flag(store, SETTING_DEMO, true), ST_DENIED);
	assert_ok(setting_text(store, arena, SETTING_CHAPTER, &text));
	assert_ok(store_set_read_only(store, false));
	assert_ok(setting_set_flag(store, SETTING_DEMO, true));
	store_close(store);
	arena_free(arena);
}

static void a_locked_database_is_busy(void **state)
{
	struct place *place = *state;
	struct store *first, *second;

	assert_ok(store_open(place->path, &first));
	assert_ok(store_open(place->path, &second));
	sqlite3_busy_timeout(second->db, 0);
	assert_ok(store_begin(first));
	assert_int_equal(store_begin(second), ST_BUSY);
	assert_int_equal(setting_set_flag(second, SETTING_DEMO, true), ST_BUSY);
	store_rollback(first);
	assert_ok(setting_set_flag(second, SETTING_DEMO, true));
	store_close(first);
	store_close(second);
}

static void *work(void *context)
{
	struct store_pool *pool = context;

	for (int i = 0; i < 25; i++) {
		struct store *store = store_take(pool);

		if (sign_in_failed(store, "x", i) != ST_OK)
			abort();
		store_give(pool, store);
	}
	return NULL;
}

static void a_pool_serves_more_threads_than_connections(void **state)
{
	struct place *place = *state;
	struct store_pool *pool;
	pthread_t threads[4];
	struct store *store;
	int64_t count;

	assert_ok(store_pool_new(place->path, 2, &pool));
	for (int i = 0; i < 4; i++)
		assert_int_equal(pthread_create(&threads[i], NULL, work, pool), 0);
	for (int i = 0; i < 4; i++)
		pthread_join(threads[i], NULL);
	store = store_take(pool);
	assert_ok(sign_in_failures(store, "x", 0, INT64_MAX, &count));
	assert_int_equal(count, 100);
	store_give(pool, store);
	store_pool_free(pool);
}

static void a_connection_given_back_is_clean(void **state)
{
	struct place *place = *state;
	struct store_pool *pool;
	struct store *store;
	bool on;

	assert_ok(store_pool_new(place->path, 1, &pool));
	store = store_take(pool);
	assert_ok(store_begin(store));
	assert_ok(setting_set_flag(store, SETTING_DEMO, true));
	assert_ok(store_set_read_only(store, true));
	store_give(pool, store);
	store = store_take(pool);
	assert_ok(setting_flag(store, SETTING_DEMO, &on));
	assert_false(on);
	assert_ok(setting_set_flag(store, SETTING_DEMO, true));
	store_give(pool, store);
	store_pool_free(pool);
}

static void a_pool_on_a_bad_file_is_refused(void **state)
{
	struct place *place = *state;
	struct store_pool *pool = NULL;

	run_sql_on(place->path, "CREATE TABLE other (x)");
	assert_int_equal(store_pool_new(place->path, 3, &pool), ST_INVALID);
	assert_null(pool);
}

static void a_copy_is_the_same_database(void **state)
{
	struct place *place = *state;
	struct store *store, *copy;
	struct text a = TEXT_EMPTY, b = TEXT_EMPTY;
	struct member_id id;
	struct stat status;
	int64_t size = 0;

	assert_ok(store_open(place->path, &store));
	assert_ok(member_add(store, &(struct member_entry){"a", "A", "p", ROLE_ADMIN}, NOW, &id));
	assert_ok(backup_to(store, place->copy, &size));
	assert_int_equal(stat(place->copy, &status), 0);
	assert_int_equal(status.st_mode & 0777, 0600);
	assert_int_equal(status.st_size, size);
	assert_int_equal(backup_to(store, place->copy, &size), ST_CONFLICT);
	assert_int_equal(backup_to(store, "/nonexistent/folder/x", &size), ST_IO);
	assert_ok(store_open(place->copy, &copy));
	dump_database(store, &a);
	dump_database(copy, &b);
	assert_string_equal(text_string(&a), text_string(&b));
	text_free(&a);
	text_free(&b);
	store_close(copy);
	store_close(store);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, place_make, place_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(a_new_file_is_brought_up_to_date),
	        TEST(every_table_guards_itself),
	        TEST(foreign_files_are_left_alone),
	        TEST(what_is_no_database_is_refused),
	        TEST(a_failed_migration_leaves_nothing_behind),
	        TEST(repeats_become_limits_and_hours_an_entry),
	        TEST(notes_keep_their_ids_and_words),
	        TEST(transactions_keep_all_or_nothing),
	        TEST(a_commit_that_fails_has_rolled_back),
	        TEST(a_read_only_connection_changes_nothing),
	        TEST(a_locked_database_is_busy),
	        TEST(a_pool_serves_more_threads_than_connections),
	        TEST(a_connection_given_back_is_clean),
	        TEST(a_pool_on_a_bad_file_is_refused),
	        TEST(a_copy_is_the_same_database),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
