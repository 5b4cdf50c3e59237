/* test_picture_shop.c - jobs of pictures: what each gets, in which turn, and who is
 * sent away. The shop's thread is started when the queue is as it shall be, so that
 * nothing here depends on how fast anything is.
 */
#include "support.h"

#include <pthread.h>
#include <string.h>

#include <gd.h>

#include "chapter/picture_shop.h"

#define JOBS (SHOP_PLACES + 2)

static struct arena *arena;
static struct helper *helper;
static struct picture_shop *shop;

/* Who was called back, in that order. */
static struct {
	pthread_mutex_t lock;
	pthread_cond_t more;
	int at[JOBS];
	size_t count;
} back = {PTHREAD_MUTEX_INITIALIZER, PTHREAD_COND_INITIALIZER, {0}, 0};

static int numbers[JOBS] = {0, 1, 2, 3, 4, 5, 6, 7, 8, 9};

static void called_back(void *number)
{
	pthread_mutex_lock(&back.lock);
	back.at[back.count++] = *(int *)number;
	pthread_cond_signal(&back.more);
	pthread_mutex_unlock(&back.lock);
}

static void wait_for(size_t count)
{
	pthread_mutex_lock(&back.lock);
	while (back.count < count)
		pthread_cond_wait(&back.more, &back.lock);
	pthread_mutex_unlock(&back.lock);
}

static int set_up(void **state)
{
	(void)state;
	arena = arena_new();
	shop = picture_shop_new(helper);
	back.count = 0;
	return arena && shop ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	picture_shop_close(shop);
	picture_shop_free(shop);
	arena_free(arena);
	return 0;
}

/* A drawing of 40 by 20. */
static struct picture_order order(bool sheet)
{
	gdImagePtr image = gdImageCreateTrueColor(40, 20);
	int size = 0;
	void *made = gdImagePngPtr(image, &size);
	struct picture_order out = {.size = (size_t)size, .sheet = sheet};

	out.bytes = arena_copy(arena, made, (size_t)size);
	gdFree(made);
	gdImageDestroy(image);
	return out;
}

static struct picture_job *job_of(int64_t member, size_t count)
{
	struct picture_order *orders = ARENA_ARRAY(arena, struct picture_order, count);

	for (size_t i = 0; i < count; i++)
		orders[i] = order(false);
	return picture_job_new(arena, member, 1, orders, count);
}

static void leave(int number, struct picture_job *job)
{
	picture_shop_leave(shop, job, called_back, &numbers[number]);
}

static void test_each_gets_what_it_asked_for(void **state)
{
	static const char cut[] = "\xFF\xD8\xFF\xE0\0\4ab", words[] = "no picture";
	struct picture_order orders[] = {order(false),
	                                 order(true),
	                                 {.bytes = cut, .size = sizeof cut - 1},
	                                 {.bytes = words, .size = sizeof words - 1, .sheet = true},
	                                 {.bytes = "", .size = 0},
	                                 order(false)};
	static const enum status expected[] = {ST_OK,      ST_OK,      ST_INVALID,
	                                       ST_INVALID, ST_INVALID, ST_OK};
	struct picture_job *job = picture_job_new(arena, 1, 1, orders, 6);

	(void)state;
	picture_shop_do(shop, job);
	for (size_t i = 0; i < 6; i++)
		assert_int_equal(picture_job_order(job, i)->status, expected[i]);
	for (size_t i = 0; i < 2; i++) {
		assert_int_equal(orders[i].made[0].kind, PICTURE_PNG);
		assert_int_equal(orders[i].made[0].width, 40);
		assert_int_equal(picture_kind_of(orders[i].made[0].bytes, orders[i].made[0].size),
		                 PICTURE_PNG);
	}
	assert_int_equal(orders[0].made[1].height, 20);
	assert_null(orders[1].made[1].bytes);
}

static void test_a_limit_ends_one_picture_alone(void **state)
{
	const struct helper_rules tight = {picture_helper_rules.work, 16 * 1024 * 1024, 10};
	gdImagePtr image = gdImageCreateTrueColor(4000, 3000);
	int size = 0;
	void *made = gdImageJpegPtr(image, &size, 90);
	struct picture_order orders[] = {{.bytes = made, .size = (size_t)size}, order(false)};
	struct picture_job *job = picture_job_new(arena, 1, 1, orders, 2);
	struct picture_shop *small;
	struct helper *own;

	(void)state;
	assert_int_equal(helper_start(&tight, &own), ST_OK);
	small = picture_shop_new(own);
	picture_shop_do(small, job);
	if (HELPER_LIMITS_MEMORY)
		assert_int_not_equal(orders[0].status, ST_OK);
	assert_int_equal(orders[1].status, ST_OK);
	picture_shop_close(small);
	picture_shop_free(small);
	helper_stop(own);
	gdFree(made);
	gdImageDestroy(image);
}

static void test_without_a_helper_none_is_opened(void **state)
{
	struct picture_shop *empty = picture_shop_new(NULL);
	struct picture_job *job = job_of(1, 2);

	(void)state;
	picture_shop_do(empty, job);
	assert_int_equal(picture_job_order(job, 0)->status, ST_IO);
	assert_int_equal(picture_job_order(job, 1)->status, ST_IO);
	picture_shop_close(empty);
	picture_shop_free(empty);
}

/* One picture waits for one of each that came before, not for all of theirs. */
static void test_jobs_take_turns(void **state)
{
	static const int expected[] = {1, 3, 2, 0};
	struct picture_job *jobs[] = {job_of(1, 6), job_of(2, 1), job_of(3, 2), job_of(4, 1)};

	(void)state;
	for (int i = 0; i < 4; i++)
		leave(i, jobs[i]);
	assert_int_equal(back.count, 0);
	assert_int_equal(picture_shop_start(shop), ST_OK);
	wait_for(4);
	for (size_t i = 0; i < 4; i++) {
		assert_int_equal(back.at[i], expected[i]);
		for (size_t k = 0; k < picture_job_count(jobs[i]); k++)
			assert_int_equal(picture_job_order(jobs[i], k)->status, ST_OK);
	}
}

static void test_who_is_sent_away(void **state)
{
	struct picture_job *jobs[JOBS];

	(void)state;
	for (int i = 0; i < SHOP_PLACES; i++) {
		jobs[i] = job_of(i + 1, 1);
		leave(i, jobs[i]);
		/* A second of one who waits already. */
		jobs[JOBS - 1] = job_of(i + 1, 1);
		leave(JOBS - 1, jobs[JOBS - 1]);
		assert_int_equal(back.count, i + 1);
		assert_int_equal(picture_job_order(jobs[JOBS - 1], 0)->status, ST_BUSY);
	}
	back.count = 0;
	jobs[SHOP_PLACES] = job_of(99, 2);
	leave(SHOP_PLACES, jobs[SHOP_PLACES]);
	assert_int_equal(back.count, 1);
	assert_int_equal(picture_job_order(jobs[SHOP_PLACES], 1)->status, ST_BUSY);
	assert_int_equal(picture_shop_start(shop), ST_OK);
	wait_for(1 + SHOP_PLACES);
	for (int i = 0; i < SHOP_PLACES; i++)
		assert_int_equal(picture_job_order(jobs[i], 0)->status, ST_OK);
	/* And there is room again, for the same. */
	jobs[0] = job_of(1, 1);
	leave(0, jobs[0]);
	wait_for(2 + SHOP_PLACES);
	assert_int_equal(picture_job_order(jobs[0], 0)->status, ST_OK);
}

static void test_pixels_that_wait_are_counted(void **state)
{
	struct picture_order orders[] = {order(false), order(false), order(false), order(false)};
	struct picture_job *large = picture_job_new(arena, 1, SHOP_PIXELS - 1, &orders[0], 1),
	                   *over = picture_job_new(arena, 2, 2, &orders[1], 1),
	                   *just = picture_job_new(arena, 3, 1, &orders[2], 1),
	                   *after = picture_job_new(arena, 2, SHOP_PIXELS, &orders[3], 1);

	(void)state;
	leave(0, large);
	leave(1, over);
	assert_int_equal(back.count, 1);
	assert_int_equal(orders[1].status, ST_BUSY);
	leave(2, just);
	assert_int_equal(picture_shop_start(shop), ST_OK);
	wait_for(3);
	leave(3, after);
	wait_for(4);
	assert_int_equal(orders[0].status, ST_OK);
	assert_int_equal(orders[2].status, ST_OK);
	assert_int_equal(orders[3].status, ST_OK);
}

static void test_a_closed_shop_lets_all_go(void **state)
{
	struct picture_job *one = job_of(1, 2), *other = job_of(2, 1), *late = job_of(3, 1);

	(void)state;
	leave(0, one);
	leave(1, other);
	picture_shop_close(shop);
	assert_int_equal(back.count, 2);
	assert_int_equal(picture_job_order(one, 1)->status, ST_BUSY);
	assert_int_equal(picture_job_order(other, 0)->status, ST_BUSY);
	leave(2, late);
	assert_int_equal(back.count, 3);
	assert_int_equal(picture_job_order(late, 0)->status, ST_BUSY);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(test_each_gets_what_it_asked_for),
	        TEST(test_a_limit_ends_one_picture_alone),
	        TEST(test_without_a_helper_none_is_opened),
	        TEST(test_jobs_take_turns),
	        TEST(test_who_is_sent_away),
	        TEST(test_pixels_that_wait_are_counted),
	        TEST(test_a_closed_shop_lets_all_go),
	};
	int failed;

	if (helper_start(&picture_helper_rules, &helper) != ST_OK)
		return 1;
	failed = cmocka_run_group_tests(tests, NULL, NULL);
	helper_stop(helper);
	return failed;
}
