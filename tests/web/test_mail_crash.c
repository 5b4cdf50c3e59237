/* The program killed between any two steps of writing and sending a mail: never
 * is it sent twice, never is it lost without a trace.
 *
 *     test_mail_crash DATABASE AT
 *
 * is how this program starts itself: it makes two rounds over that database and is
 * killed at the AT-th step (0: never). A step is a statement of SQL or a mail handed
 * over; each of these adds one byte to the file DATABASE-sent.
 */
#include <fcntl.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "support.h"

#include "os/log.h"
#include "os/random.h"
#include "os/token.h"
#include "store/mail.h"
#include "store/news.h"
#include "store/sql.h"
#include "web/http/app_parts.h"
#include "web/http/files.h"
#include "chapter/mail_round.h"

#define NOW 1790000000
#define CONNECTIONS 9 /* of an app */
#define KILLED 9

/* ---- the one that is killed ---- */

static long steps_left; /* 0: for ever */
static const char *sent_file;

static void step(void)
{
	if (steps_left > 0 && --steps_left == 0)
		_exit(KILLED);
}

static int count_statement(unsigned kind, void *context, void *stmt, void *sql)
{
	(void)kind, (void)context, (void)stmt, (void)sql;
	step();
	return 0;
}

static enum mail_outcome go(void *context, const struct mail_letter *letter,
                            char fault[MAIL_FAULT_SIZE])
{
	int file = open(sent_file, O_WRONLY | O_APPEND | O_CREAT, 0600);

	(void)context, (void)letter, (void)fault;
	step();
	if (file < 0 || write(file, "x", 1) != 1)
		abort();
	close(file);
	step();
	return MAIL_ACCEPTED;
}

static int64_t fixed_now(void)
{
	return NOW;
}

static void watch(struct app *app)
{
	struct store *all[CONNECTIONS];

	for (size_t i = 0; i < CONNECTIONS; i++) {
		all[i] = store_take(app->chapter->pool);
		sqlite3_trace_v2(all[i]->db, SQLITE_TRACE_STMT, count_statement, NULL);
	}
	for (size_t i = 0; i < CONNECTIONS; i++)
		store_give(app->chapter->pool, all[i]);
}

static int make_a_round(const char *database, long at)
{
	static const struct mail_server server = {.url = "smtp://mail.example.org"};
	const struct mail_setup setup = {.server = &server, .from = "box@example.org", .way = go};
	const struct app_config config = {.database = database,
	                                  .views = views_files,
	                                  .views_count = views_files_count,
	                                  .statics = static_files,
	                                  .statics_count = static_files_count,
	                                  .routes = routes,
	                                  .routes_count = routes_count,
	                                  .base_url = "https://fairlead.test",
	                                  .now = fixed_now,
	                                  .mail = &setup};
	char path[200];
	struct app *app;

	snprintf(path, sizeof path, "%s-sent", database);
	sent_file = path;
	log_set_level(LOG_LEVEL_TROUBLE);
	if (random_start() != ST_OK || app_new(&config, &app) != ST_OK)
		return 1;
	watch(app);
	steps_left = at;
	if (app_round(app) != ST_OK || app_round(app) != ST_OK)
		return 1;
	steps_left = 0;
	app_free(app);
	return 0;
}

/* ---- the one that looks ---- */

static char folder[] = "/tmp/fairlead-crash-XXXXXX";
static char database[80], sent[90], beginning[90];

static int run(long at)
{
	pid_t child = fork();
	char number[20];
	int status;

	assert_true(child >= 0);
	if (child == 0) {
		snprintf(number, sizeof number, "%ld", at);
		execl("/proc/self/exe", "test_mail_crash", database, number, NULL);
		_exit(1);
	}
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_true(WIFEXITED(status));
	return WEXITSTATUS(status);
}

static void clear(void)
{
	static const char *const ends[] = {"", "-wal", "-shm", "-sent"};
	char path[100];

	for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
		snprintf(path, sizeof path, "%s%s", database, ends[i]);
		unlink(path);
	}
}

/* A member with a confirmed address and one mandatory piece of news, or, asked:
 * with a question that waits. */
static void fill(bool asked)
{
	const struct member_entry ann = {"ann", "Ann", "p", ROLE_BUILDER};
	const struct mail_words question = {"Question", "Ask\n"};
	struct news_entry news = {.kind = NEWS_STANDING, .mandatory = true, .words = "why"};
	struct hash token = hash_of("t", 1);
	struct arena *arena = arena_new();
	struct outbox_mail mail;
	struct store *store;

	unlink(beginning);
	assert_int_equal(store_open(beginning, &store), ST_OK);
	assert_int_equal(member_add(store, &ann, NOW, &news.member), ST_OK);
	assert_int_equal(mail_address_set(store, news.member, "ann@example.org", &question, NOW),
	                 ST_OK);
	if (!asked) {
		assert_int_equal(outbox_take(store, arena, &token, NOW, &mail), ST_OK);
		assert_int_equal(outbox_end(store, mail.id, MAIL_SENT, "", NOW), ST_OK);
		assert_int_equal(mail_confirm(store, &token, NOW), ST_OK);
		assert_int_equal(news_add(store, &news, NOW), ST_OK);
	}
	store_close(store);
	arena_free(arena);
}

/* The database as it was at the beginning. */
static void begin_anew(void)
{
	char bytes[65536];
	FILE *from = fopen(beginning, "r"), *to;
	size_t len;

	clear();
	to = fopen(database, "w");
	assert_non_null(from);
	assert_non_null(to);
	while ((len = fread(bytes, 1, sizeof bytes, from)) > 0)
		assert_int_equal(fwrite(bytes, 1, len, to), len);
	fclose(from);
	assert_int_equal(fclose(to), 0);
}

static int64_t number(const char *sql)
{
	sqlite3_stmt *stmt;
	int64_t found;
	sqlite3 *db;

	assert_int_equal(sqlite3_open(database, &db), SQLITE_OK);
	assert_int_equal(sqlite3_prepare_v2(db, sql, -1, &stmt, NULL), SQLITE_OK);
	assert_int_equal(sqlite3_step(stmt), SQLITE_ROW);
	found = sqlite3_column_int64(stmt, 0);
	sqlite3_finalize(stmt);
	sqlite3_close(db);
	return found;
}

static size_t times_sent(void)
{
	FILE *file = fopen(sent, "r");
	size_t n = 0;

	while (file && fgetc(file) != EOF)
		n++;
	if (file)
		fclose(file);
	return n;
}

/* Kills at every step in turn, then lets two more rounds come to their end. */
static void kill_at_each_step(bool asked)
{
	size_t sure = 0, unsure = 0;
	long at = 0;
	int code;

	fill(asked);
	do {
		int64_t mails, ended;

		begin_anew();
		code = run(++at);
		assert_true(code == 0 || code == KILLED);
		assert_int_equal(run(0), 0);
		mails = number("SELECT count(*) FROM outbox WHERE made_at = 1790000000"
		               " AND id = (SELECT max(id) FROM outbox)");
		ended = number("SELECT state FROM outbox ORDER BY id DESC LIMIT 1");
		assert_int_equal(mails, 1);
		assert_int_equal(number("SELECT count(*) FROM outbox"), asked ? 1 : 2);
		assert_int_equal(number("SELECT count(*) FROM news WHERE mailed = 0"), 0);
		if (times_sent() > 1 || (ended != MAIL_SENT && ended != MAIL_UNSURE) ||
		    (ended == MAIL_SENT && times_sent() != 1))
			fail_msg("killed at step %ld: state %d, sent %zu times", at, (int)ended,
			         times_sent());
		sure += ended == MAIL_SENT;
		unsure += ended == MAIL_UNSURE;
	} while (code == KILLED);
	print_message("%ld steps: %zu sent, %zu unsure\n", at, sure, unsure);
	assert_true(at > 20);
	assert_true(sure > 0 && unsure > 0);
}

static void a_mail_of_news_goes_out_once(void **state)
{
	(void)state;
	kill_at_each_step(false);
}

static void a_question_goes_out_once(void **state)
{
	(void)state;
	kill_at_each_step(true);
}

static int make_folder(void **state)
{
	(void)state;
	if (!mkdtemp(folder))
		return -1;
	snprintf(database, sizeof database, "%s/db", folder);
	snprintf(sent, sizeof sent, "%s-sent", database);
	snprintf(beginning, sizeof beginning, "%s-beginning", database);
	return 0;
}

static int remove_folder(void **state)
{
	(void)state;
	clear();
	unlink(beginning);
	return rmdir(folder);
}

int main(int argc, char **argv)
{
	static const struct CMUnitTest tests[] = {
	        cmocka_unit_test(a_mail_of_news_goes_out_once),
	        cmocka_unit_test(a_question_goes_out_once),
	};

	if (argc == 3)
		return make_a_round(argv[1], strtol(argv[2], NULL, 10));
	return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
