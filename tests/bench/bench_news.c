/* The page of news with 100 and with 100,000 pieces of old news, half a dozen of
 * them new, through the whole service without a socket, on one core. Prints for
 * each of several rounds the microseconds of a page of the short history and of the
 * long one.
 */
#include <stdio.h>
#include <time.h>

#include "support.h"
#include "web_support.h"

#include "store/news.h"

#define ROUNDS 201
#define UNSEEN 6

static double cpu_seconds(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static void fill(struct web *web, enum who who, size_t count)
{
	struct news_entry entry = {.member = web_member(web, who),
	                           .kit = web_kit(web, who),
	                           .kind = NEWS_STANDING,
	                           .words = "Standing for this kit: it was done, now it is open."};
	const struct news *newest = NULL;
	struct arena *arena = arena_new();
	size_t found;

	assert_non_null(arena);
	assert_int_equal(store_begin(web_store(web)), ST_OK);
	for (size_t i = 0; i < count; i++)
		assert_int_equal(news_add(web_store(web), &entry, WEB_START), ST_OK);
	assert_int_equal(
	        news_list(web_store(web), arena, entry.member, 0, UNSEEN + 1, &newest, &found),
	        ST_OK);
	assert_int_equal(news_mark_seen(web_store(web), entry.member, newest[UNSEEN].id), ST_OK);
	assert_int_equal(store_commit(web_store(web)), ST_OK);
	arena_free(arena);
}

static double page_microseconds(struct web *web, enum who who)
{
	double start = cpu_seconds();

	assert_int_equal(web_get(web, who, "/news")->status, 200);
	return (cpu_seconds() - start) * 1e6;
}

int main(void)
{
	struct web *web = web_new(NULL, 0, NULL, 0);

	fill(web, ANN, 100);
	fill(web, BEN, 100000);
	assert_int_equal(app_round(web_app(web)), ST_OK);
	for (int i = 0; i < ROUNDS; i++) {
		double few = page_microseconds(web, ANN);

		printf("%.1f %.1f\n", few, page_microseconds(web, BEN));
	}
	web_free(web);
	return 0;
}
