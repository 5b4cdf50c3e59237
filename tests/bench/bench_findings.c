/* The statistics of a field report with 2,000 findings on one core: which
 * count, the tally, the exact interval, and the best of all splits by serial
 * number, purchase date, plans issue, four options and the lots of six parts.
 * Prints milliseconds of each of several rounds: of a report that clusters and
 * of one that does not.
 */
#include <stdio.h>
#include <time.h>

#include "build.h"

#include "core/findings.h"

#define FINDINGS 2000
#define OPTIONS 4
#define PARTS 6
#define ROUNDS 101

static double cpu_seconds(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

/* A day, or one time in four only the month or the year. */
static void add_date(struct text *text, const char *keyword, uint64_t r)
{
	unsigned year = 2005 + (unsigned)(r % 20), month = 1 + (unsigned)(r / 32 % 12),
	         day = 1 + (unsigned)(r / 512 % 28);

	if (r >> 32 & 3)
		text_printf(text, "; %s %u-%02u-%02u", keyword, year, month, day);
	else if (r >> 34 & 1)
		text_printf(text, "; %s %u-%02u", keyword, year, month);
	else
		text_printf(text, "; %s %u", keyword, year);
}

static const struct facts *make_kit(struct arena *arena, unsigned serial, uint64_t *seed)
{
	struct text text = TEXT_EMPTY;
	const struct facts *facts;

	text_printf(&text, "model Whimbrel; serial WH-%04u", serial);
	add_date(&text, "purchased", next_random(seed));
	add_date(&text, "plans", next_random(seed));
	for (unsigned i = 0; i < OPTIONS; i++)
		text_printf(&text, "; option option-%u = %s", i,
		            next_random(seed) % 2 ? "yes" : "no");
	for (unsigned i = 0; i < PARTS; i++)
		text_printf(&text, "; part WH-22%02u-1 | lot %u", i,
		            (unsigned)(next_random(seed) % 60));
	facts = make_facts(arena, text_string(&text));
	text_free(&text);
	return facts;
}

static struct finding *make_findings(struct arena *arena, bool clusters)
{
	struct finding *findings = ARENA_ARRAY(arena, struct finding, FINDINGS);
	uint64_t seed = 20261125;

	for (unsigned i = 0; i < FINDINGS; i++) {
		unsigned serial = (unsigned)(next_random(&seed) % 4000);
		unsigned chance = !clusters ? 30 : serial < 1500 ? 80 : 5;

		findings[i] = (struct finding){
		        next_random(&seed) % 100 < chance ? ANSWER_FOUND : ANSWER_NOT_THERE, i,
		        (int64_t)(next_random(&seed) % 1500), make_kit(arena, serial, &seed)};
	}
	return findings;
}

static void work_out(struct arena *arena, const struct finding *findings)
{
	const struct finding *picked;
	struct findings_tally tally;
	struct interval interval;
	struct split split;
	bool any = false;
	size_t n;

	assert_int_equal(findings_pick(arena, findings, FINDINGS, &picked, &n), ST_OK);
	assert_int_equal(findings_tally(arena, picked, n, &tally), ST_OK);
	interval = findings_interval(tally.found, tally.looked, 0.95);
	assert_true(interval.low < interval.high);
	assert_int_equal(findings_split(arena, picked, n, &split, &any), ST_OK);
	assert_true(any);
}

int main(void)
{
	struct arena *kept = arena_new(), *arena = arena_new();
	const struct finding *reports[] = {make_findings(kept, true), make_findings(kept, false)};

	for (unsigned round = 0; round < ROUNDS; round++) {
		double times[2];

		for (unsigned i = 0; i < 2; i++) {
			double start = cpu_seconds();

			arena_reset(arena);
			work_out(arena, reports[i]);
			times[i] = (cpu_seconds() - start) * 1e3;
		}
		printf("%.3f %.3f\n", times[0], times[1]);
	}
	arena_free(arena);
	arena_free(kept);
	return 0;
}
