/* The page of a field report with 2,000 findings in a chapter of 10,000 kits, for a
 * builder, through the whole service without a socket, on one core. Prints for each
 * of several rounds the milliseconds of the page: asked for again; first asked for
 * after another finding; first after a kit has changed; after both.
 */
#include <stdio.h>
#include <time.h>

#include "chapter.h"
#include "support.h"
#include "web_support.h"

#define ROUNDS 25

/* Of this process: what else runs on the machine does not count. */
static double cpu_milliseconds(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

static double page_milliseconds(struct web *web, const char *path)
{
	double begun = cpu_milliseconds();
	const struct response *page = web_get(web, ANN, path);
	double taken = cpu_milliseconds() - begun;

	assert_int_equal(page->status, 200);
	assert_true(web_holds(page, "kits"));
	return taken;
}

static void change_kit(struct bench_chapter *c, int kit)
{
	assert_int_equal(kit_rename(c->store, c->kits[kit], "Renamed"), ST_OK);
}

int main(void)
{
	static struct bench_chapter c;
	struct web *web = web_new(NULL, 0, NULL, 0);
	const char *path;

	c.arena = arena_new();
	c.store = web_store(web);
	chapter_fill(&c);
	path = arena_printf(c.arena, "/reports/%lld", (long long)c.report.v);
	page_milliseconds(web, path);
	for (int i = 0; i < ROUNDS; i++) {
		double again = page_milliseconds(web, path), found, changed;

		chapter_find(&c, 1 + i);
		found = page_milliseconds(web, path);
		change_kit(&c, 1 + i);
		changed = page_milliseconds(web, path);
		chapter_find(&c, 1 + i);
		change_kit(&c, 1 + i);
		printf("%.3f %.3f %.3f %.3f\n", again, found, changed,
		       page_milliseconds(web, path));
	}
	arena_free(c.arena);
	web_free(web);
	return 0;
}
