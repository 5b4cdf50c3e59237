/* The edges of the machine: digests, tokens, passwords, days, log lines, rights. */
#include "support.h"

#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "os/clock.h"
#include "os/digest.h"
#include "os/log.h"
#include "os/password.h"
#include "os/random.h"
#include "os/rights.h"
#include "os/token.h"

static void assert_hex(struct digest digest, const char *hex)
{
	char text[DIGEST_HEX_SIZE];

	digest_hex(&digest, text);
	assert_string_equal(text, hex);
}

/* Values by GNU coreutils 9.1, b2sum -l 256, and by hashlib of Python 3.11,
 * which holds the reference code of the authors of BLAKE2 (RFC 7693). */
static void test_digest_agrees_with_the_reference(void **state)
{
	char key[101];

	(void)state;
	memset(key, 'k', 100);
	key[100] = '\0';
	assert_hex(digest_of("abc", 3),
	           "bddd813c634239723171ef3fee98579b94964e3bb1cb3e427262c8c068d52319");
	assert_hex(digest_of("", 0),
	           "0e5751c026e543b2e8ab2eb06099daa1d1e5df47778f7787faab45cdf12fe3a8");
	assert_hex(digest_keyed(key, 32, "form", 4),
	           "980cc356777921bf6b49c51c7a890d955ec2159848586e666ff407c1d3133383");
	assert_hex(digest_keyed(key, 100, "form", 4),
	           "ac7cd697fb1b5b05661be71a98ad4e555ba3d2ca4c10c8115e1e09cb251005b8");
}

static void test_digests_compare(void **state)
{
	struct digest a = digest_of("a", 1);
	struct digest b = a;

	(void)state;
	assert_true(digest_equal(&a, &b));
	b.bytes[DIGEST_SIZE - 1] ^= 1;
	assert_false(digest_equal(&a, &b));
}

static void test_token_is_base64url_of_rfc_4648(void **state)
{
	/* 0xFB 0xFF gives the two letters in which base64url differs (section 5). */
	unsigned char bytes[TOKEN_BYTES];
	char text[TOKEN_SIZE];

	(void)state;
	memset(bytes, 0xFF, sizeof bytes);
	bytes[0] = 0xFB;
	token_print(bytes, text);
	assert_string_equal(text, "-_________________________________________8");
}

static void test_tokens_differ_and_are_well_formed(void **state)
{
	char a[TOKEN_SIZE], b[TOKEN_SIZE];

	(void)state;
	token_make(a);
	token_make(b);
	assert_true(token_well_formed(a));
	assert_string_not_equal(a, b);
}

static void test_malformed_tokens_are_refused(void **state)
{
	static const char good[] = "0123456789012345678901234567890123456789012";
	static const char *const bad[] = {
	        "",
	        "short",
	        "012345678901234567890123456789012345678901",   /* one short */
	        "01234567890123456789012345678901234567890123", /* one long */
	        "012345678901234567890123456789012345678901+",
	        "01234567890123456789012345678901234567890 1",
	        "0123456789012345678901234567890123456789\xC3\xA9",
	};

	(void)state;
	assert_true(token_well_formed(good));
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
		assert_false(token_well_formed(bad[i]));
}

static void test_password_fits_only_itself(void **state)
{
	char hash[PASSWORD_HASH_SIZE];

	(void)state;
	assert_int_equal(password_hash("correct horse", hash), ST_OK);
	assert_memory_equal(hash, "$argon2id$v=19$m=19456,t=2,p=1$", 31);
	assert_true(password_fits(hash, "correct horse"));
	assert_false(password_fits(hash, "correct horsf"));
	assert_false(password_fits(hash, ""));
	assert_false(password_fits("", "correct horse"));
	assert_false(password_fits("$argon2id$v=19$m=19456,t=2,p=1$AA$AA", "correct horse"));
}

/* The time of a check follows from the parameters in the hash, where libsodium can
 * read it; it is not measured, since other programs share the machine. */
static void test_an_unknown_member_takes_as_long(void **state)
{
	char hash[PASSWORD_HASH_SIZE];

	(void)state;
	assert_int_equal(password_hash("correct horse", hash), ST_OK);
	assert_int_equal(strlen(password_of_nobody), strlen(hash));
	assert_memory_equal(password_of_nobody, hash, 31);
	assert_int_equal(crypto_pwhash_str_needs_rehash(password_of_nobody, 2, 19456 * 1024), 0);
	assert_false(password_fits(NULL, "correct horse"));
	assert_false(password_fits(NULL, ""));
}

static void test_the_day_is_local(void **state)
{
	static const struct {
		const char *zone;
		int64_t now;
		int32_t day;
	} rows[] = {
	        {"UTC0", 0, 0},
	        {"UTC0", 86399, 0},
	        {"UTC0", 86400, 1},
	        {"UTC0", -1, -1},
	        {"EAST-2", 79200, 1},
	        {"EAST-2", 79199, 0},
	        {"WEST5", 86400, 0},
	        {"WEST5", 104400, 1},
	        {"UTC0", 1334620800, 15447},
	        {"WEST5", 1334620800, 15446},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		setenv("TZ", rows[i].zone, 1);
		tzset();
		assert_int_equal(clock_day(rows[i].now), rows[i].day);
	}
	unsetenv("TZ");
	tzset();
}

static void test_now_is_this_century(void **state)
{
	(void)state;
	assert_true(clock_now() > 1700000000);
	assert_true(clock_now() < 4102444800);
}

/* Standard error goes into a pipe until what came is read. */
static int kept_error, error_pipe[2];

static void catch_errors(void)
{
	assert_int_equal(pipe(error_pipe), 0);
	kept_error = dup(STDERR_FILENO);
	dup2(error_pipe[1], STDERR_FILENO);
}

static void read_errors(char *got, size_t size)
{
	ssize_t len;

	dup2(kept_error, STDERR_FILENO);
	close(kept_error);
	close(error_pipe[1]);
	len = read(error_pipe[0], got, size - 1);
	got[len > 0 ? len : 0] = '\0';
	close(error_pipe[0]);
}

static void tell_of_disk(int kits)
{
	for (int i = 1; i <= kits; i++)
		log_line(LOG_LEVEL_TROUBLE, "news of kit %d: disk full", i);
}

/* Of a kind one line a minute, whatever the arguments; the next says how many were
 * held back, as does a look at what waits. No test waits a minute: the look is told
 * the time. */
static void test_what_happens_again_is_told_once_a_minute(void **state)
{
	int64_t now = clock_steady();
	char got[4000];

	(void)state;
	catch_errors();
	tell_of_disk(1000);
	log_line(LOG_LEVEL_WARNING, "another kind");
	log_tick(now);
	read_errors(got, sizeof got);
	assert_string_equal(got, "trouble: news of kit 1: disk full\nwarning: another kind\n");
	catch_errors();
	log_tick(now + 70000);
	log_tick(now + 80000);
	read_errors(got, sizeof got);
	assert_string_equal(got, "trouble: news of kit 1000: disk full (998 more like this)\n");
	catch_errors();
	tell_of_disk(3);
	log_flush();
	log_flush();
	read_errors(got, sizeof got);
	assert_string_equal(got, "trouble: news of kit 3: disk full (2 more like this)\n");
}

/* More kinds at once than are kept apart: none is lost. */
static void test_many_kinds_of_trouble_are_all_told(void **state)
{
	static char kinds[100][8];
	char got[4000];
	unsigned long lines = 0, more = 0;

	(void)state;
	catch_errors();
	for (int i = 0; i < 100; i++) {
		snprintf(kinds[i], sizeof kinds[i], "kind%d", i);
		log_kind(LOG_LEVEL_NOTE, kinds[i], "%d", i);
		log_kind(LOG_LEVEL_NOTE, kinds[i], "%d", i);
	}
	log_flush();
	read_errors(got, sizeof got);
	for (const char *at = got; *at; at = strchr(at, '\n') + 1) {
		unsigned long held = 0;

		lines++;
		if (sscanf(at, "%*d (%lu more like this)", &held) == 1)
			more += held;
	}
	assert_int_equal(lines + more, 200);
}

/* What log_line writes for one hostile argument, read back from a pipe. */
static void test_a_log_line_cannot_be_forged(void **state)
{
	int pipes[2];
	int kept = dup(STDERR_FILENO);
	char got[1000] = "";
	char longer[900];

	(void)state;
	memset(longer, 'x', sizeof longer - 1);
	longer[sizeof longer - 1] = '\0';
	assert_int_equal(pipe(pipes), 0);
	dup2(pipes[1], STDERR_FILENO);
	log_line(LOG_LEVEL_WARNING, "got %s", "a\nforged\r\x1B[2J");
	log_line(LOG_LEVEL_NOTE, "%s", longer);
	dup2(kept, STDERR_FILENO);
	close(pipes[1]);
	assert_true(read(pipes[0], got, sizeof got - 1) > 0);
	assert_memory_equal(got, "warning: got a?forged??[2J\nxxx", 30);
	assert_int_equal(strlen(strchr(got, '\n') + 1), 500);
	close(pipes[0]);
	close(kept);
}

static bool can_write(const char *path)
{
	int fd = open(path, O_WRONLY | O_CREAT | O_CLOEXEC, 0666);

	if (fd >= 0)
		close(fd);
	return fd >= 0;
}

/* In a child, since it cannot be undone. 0: all as promised. */
static int drop_and_look(const char *folder)
{
	char inside[200];
	struct stat made;

	if (rights_drop(folder) != ST_OK)
		return 1;
	snprintf(inside, sizeof inside, "%s/file", folder);
	if (!can_write(inside) || stat(inside, &made) != 0)
		return 2;
	return (made.st_mode & 0077) == 0 ? 0 : 3;
}

static void test_dropped_rights_leave_the_folder(void **state)
{
	char folder[] = "/tmp/fairlead-rights-XXXXXX";
	char inside[200];
	int how = 0;
	pid_t child;

	(void)state;
	assert_non_null(mkdtemp(folder));
	child = fork();
	if (child == 0)
		_exit(drop_and_look(folder));
	assert_int_equal(waitpid(child, &how, 0), child);
	assert_true(WIFEXITED(how));
	assert_int_equal(WEXITSTATUS(how), 0);
	snprintf(inside, sizeof inside, "%s/file", folder);
	unlink(inside);
	rmdir(folder);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(test_digest_agrees_with_the_reference),
	        cmocka_unit_test(test_digests_compare),
	        cmocka_unit_test(test_token_is_base64url_of_rfc_4648),
	        cmocka_unit_test(test_tokens_differ_and_are_well_formed),
	        cmocka_unit_test(test_malformed_tokens_are_refused),
	        cmocka_unit_test(test_password_fits_only_itself),
	        cmocka_unit_test(test_an_unknown_member_takes_as_long),
	        cmocka_unit_test(test_the_day_is_local),
	        cmocka_unit_test(test_now_is_this_century),
	        cmocka_unit_test(test_a_log_line_cannot_be_forged),
	        cmocka_unit_test(test_what_happens_again_is_told_once_a_minute),
	        cmocka_unit_test(test_many_kinds_of_trouble_are_all_told),
	        cmocka_unit_test(test_dropped_rights_leave_the_folder),
	};

	if (random_start() != ST_OK)
		return 1;
	return cmocka_run_group_tests(tests, NULL, NULL);
}
