/* test_helper.c - workers that behave, and workers that try what they may not.
 *
 * What a worker does is chosen by the first byte of its job. None of them may
 * harm the helper: after each the next piece of work is done.
 */
#include <fcntl.h>
#include <pthread.h>
#include <sched.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
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

/* ---- a helper that dies ---- */

/* The only child of a process; 0: it has none just now. proc(5). */
static pid_t child_of(pid_t process)
{
	char path[60], text[200] = "";
	FILE *file;
	size_t len;

	snprintf(path, sizeof path, "/proc/%d/task/%d/children", (int)process, (int)process);
	file = fopen(path, "r");
	assert_non_null(file);
	len = fread(text, 1, sizeof text - 1, file);
	fclose(file);
	text[len] = '\0';
	return (pid_t)strtol(text, NULL, 10);
}

/* Waits until there is one that is not that; its end is seen by the keeper alone. */
static pid_t kill_next(pid_t keeper, pid_t last)
{
	pid_t at;

	while ((at = child_of(keeper)) == 0 || at == last)
		sched_yield();
	assert_int_equal(kill(at, SIGKILL), 0);
	return at;
}

static enum status ask_of(struct helper *one, const char *job)
{
	const struct helper_part part = {job, strlen(job)};
	struct text answer = TEXT_EMPTY;
	enum status status = helper_ask(one, &part, 1, &answer);

	text_free(&answer);
	return status;
}

/* In a process of its own, whose only child is the keeper. */
static int try_to_kill(unsigned window, bool for_good)
{
	const struct helper_rules rules = {work, MEMORY, 1, window};
	struct helper *one = NULL;
	pid_t keeper, last = 0;

	assert_int_equal(helper_start(&rules, &one), ST_OK);
	keeper = child_of(getpid());
	for (int i = 1; i < HELPER_STARTS; i++) {
		last = kill_next(keeper, last);
		assert_int_equal(ask_of(one, "echo"), ST_OK);
	}
	kill_next(keeper, last);
	if (for_good)
		assert_int_equal(ask_of(one, "echo"), ST_IO);
	else
		while (ask_of(one, "echo") != ST_OK)
			sched_yield();
	helper_stop(one);
	return 0;
}

static void in_process(unsigned window, bool for_good)
{
	int how = -1;
	pid_t child = fork();

	if (child == 0)
		_exit(try_to_kill(window, for_good));
	assert_int_equal(waitpid(child, &how, 0), child);
	assert_int_equal(how, 0);
}

static void test_one_that_dies_is_started_again(void **state)
{
	(void)state;
	in_process(1, false);
}

static void test_one_that_dies_too_often_is_not(void **state)
{
	(void)state;
	in_process(86400, true);
}

int main(void)
{
	static const struct helper_rules rules = {work, MEMORY, 1, 0};
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(test_work_is_done),
	        cmocka_unit_test(test_what_a_worker_may_not),
	        cmocka_unit_test(test_too_large_a_job),
	        cmocka_unit_test(test_many_threads_ask),
	        cmocka_unit_test(test_one_that_dies_is_started_again),
	        cmocka_unit_test(test_one_that_dies_too_often_is_not),
	};
	int failed;

	if (helper_start(&rules, &helper) != ST_OK)
		return 1;
	failed = cmocka_run_group_tests(tests, NULL, NULL);
	helper_stop(helper);
	return failed;
}
