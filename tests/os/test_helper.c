/* test_helper.c - workers that behave, and workers that try what they may not.
 *
 * What a worker does is chosen by the first byte of its job. None of them may
 * harm the helper: after each the next piece of work is done.
 */
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "support.h"

#include "os/helper.h"

#define MEMORY (64 * 1024 * 1024)
#define WORD "plain words"

static struct helper *helper;

static void hold(size_t bytes)
{
	char *block = malloc(bytes);

	if (!block)
		abort();
	for (size_t i = 0; i < bytes; i += 4096)
		((volatile char *)block)[i] = 1;
}

static void spin(void)
{
	for (volatile unsigned long n = 0;; n++)
		;
}

static bool work(const void *job, size_t size, struct text *answer)
{
	const char *at = job;

	switch (size ? at[0] : '-') {
	case 'e': /* echo */
		text_add_bytes(answer, at + 1, size - 1);
		return true;
	case 'n': /* nothing to say */
		return false;
	case 'm':
		hold(MEMORY / 2);
		return true;
	case 'M':
		hold(2 * (size_t)MEMORY);
		return true;
	case 't':
		spin();
		return true;
	case 'a':
		abort();
	case 'f':
		return open("/etc/passwd", O_RDONLY) < 0 || true;
	case 'w':
		return open("/tmp/fairlead-never", O_WRONLY | O_CREAT, 0600) < 0 || true;
	case 's':
		return socket(AF_INET, SOCK_STREAM, 0) < 0 || true;
	case 'p':
		return fork() >= 0 || true;
	case 'k':
		return kill(getppid(), SIGKILL) == 0 || true;
	default:
		text_add(answer, "?");
		return true;
	}
}

static enum status ask(const char *job, size_t len, struct text *answer)
{
	const struct helper_part parts[] = {{job, len / 2}, {job + len / 2, len - len / 2}};

	return helper_ask(helper, parts, 2, answer);
}

static void echoes(const char *words)
{
	struct text answer = TEXT_EMPTY;
	char job[100] = "e";

	strcat(job, words);
	assert_int_equal(ask(job, strlen(job), &answer), ST_OK);
	assert_string_equal(text_string(&answer), words);
	text_free(&answer);
}

static void test_work_is_done(void **state)
{
	struct text answer = TEXT_EMPTY;
	size_t large = 12 * 1024 * 1024;
	char *job = malloc(large);

	(void)state;
	echoes(WORD);
	echoes("");
	assert_int_equal(ask("", 0, &answer), ST_OK);
	assert_string_equal(text_string(&answer), "?");
	assert_int_equal(ask("m", 1, &answer), ST_OK);
	text_clear(&answer);
	memset(job, 'x', large);
	job[0] = 'e';
	assert_int_equal(ask(job, large, &answer), ST_OK);
	assert_int_equal(answer.len, large - 1);
	assert_memory_equal(answer.at, job + 1, large - 1);
	text_free(&answer);
	free(job);
}

/* Ended by its limits, by what it does, or by the filter. */
static void test_what_a_worker_may_not(void **state)
{
	static const char *const jobs[] = {"n", "M", "t", "a", "f", "w", "s", "p", "k"};

	(void)state;
	for (size_t i = 0; i < sizeof jobs / sizeof jobs[0]; i++) {
		struct text answer = TEXT_EMPTY;
		enum status status = ask(jobs[i], 1, &answer);

		if (jobs[i][0] == 'M' && !HELPER_LIMITS_MEMORY)
			continue; /* cannot be limited there */
		if (status != ST_DENIED)
			print_error("%s: %s\n", jobs[i], status_words(status));
		assert_int_equal(status, ST_DENIED);
		assert_int_equal(answer.len, 0);
		echoes(WORD);
	}
	assert_int_not_equal(access("/tmp/fairlead-never", F_OK), 0);
}

static void test_too_large_a_job(void **state)
{
	size_t large = 65 * 1024 * 1024;
	char *job = calloc(large, 1);
	struct text answer = TEXT_EMPTY;

	(void)state;
	assert_int_equal(ask(job, large, &answer), ST_DENIED);
	free(job);
	echoes(WORD);
}

static void *ask_often(void *context)
{
	(void)context;
	for (int i = 0; i < 20; i++)
		echoes(WORD);
	return NULL;
}

static void test_many_threads_ask(void **state)
{
	pthread_t threads[4];

	(void)state;
	for (size_t i = 0; i < 4; i++)
		assert_int_equal(pthread_create(&threads[i], NULL, ask_often, NULL), 0);
	for (size_t i = 0; i < 4; i++)
		pthread_join(threads[i], NULL);
}

int main(void)
{
	static const struct helper_rules rules = {work, MEMORY, 1};
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(test_work_is_done),
	        cmocka_unit_test(test_what_a_worker_may_not),
	        cmocka_unit_test(test_too_large_a_job),
	        cmocka_unit_test(test_many_threads_ask),
	};
	int failed;

	if (helper_start(&rules, &helper) != ST_OK)
		return 1;
	failed = cmocka_run_group_tests(tests, NULL, NULL);
	helper_stop(helper);
	return failed;
}
