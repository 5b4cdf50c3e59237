/* Times of questions over a chapter: bench_whom FILE makes it there and prints a
 * row for each question: its name and the milliseconds of each of several rounds,
 * one core.
 */
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "chapter.h"
#include "core/catalogue.h"
#include "support.h"
#include "chapter/chapter.h"
#include "chapter/whom.h"

#define ROUNDS 15

#define assert_ok(call) assert_int_equal((call), ST_OK)

static struct arena *kept; /* outlives each question */
static const struct catalogue *catalogue;

/* Of this process: what else runs on the machine does not count. */
static double cpu_milliseconds(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

/* ---- questions ---- */

static struct chapter held; /* of it only the kits in memory */

static struct work work_of(struct bench_chapter *c)
{
	return (struct work){
	        .chapter = &held, .store = c->store, .arena = c->arena, .catalogue = catalogue};
}

typedef void ask_fn(struct bench_chapter *c, const struct effectivity *statement);

static void ask_whom(struct bench_chapter *c, const struct effectivity *statement)
{
	struct work work = work_of(c);
	struct whom whom;

	assert_ok(whom_count(&work, statement, &whom));
	assert_int_equal(whom.counts[0] + whom.counts[1] + whom.counts[2], CHAPTER_KITS);
	assert_true(whom.counts[TRUTH_TRUE] > 0);
}

/* As a report's page counts them: all kits before the last answer are looked at. */
static void ask_like(struct bench_chapter *c, const struct effectivity *statement)
{
	struct work work = work_of(c);
	const struct kit_id *possible = NULL;
	struct whom_like like;
	size_t count = 0;

	assert_ok(whom_possible(&work, statement, &possible, &count));
	like = whom_like(possible, count, c->kits, CHAPTER_FOUND_ON);
	assert_true(like.like > like.not_looked && like.not_looked > 0);
}

static void ask_findings(struct bench_chapter *c, const struct effectivity *statement)
{
	const struct finding_row *rows;
	const struct finding *counting;
	struct finding *findings;
	struct findings_tally tally;
	size_t count;

	(void)statement;
	assert_ok(finding_list(c->store, c->arena, c->report, &rows, &count));
	assert_int_equal(count, CHAPTER_FOUND_ON);
	findings = ARENA_ARRAY(c->arena, struct finding, count);
	for (size_t i = 0; i < count; i++)
		findings[i] = (struct finding){rows[i].answer, rows[i].kit.v, rows[i].author.v,
		                               rows[i].facts};
	assert_ok(findings_pick(c->arena, findings, count, &counting, &count));
	assert_ok(findings_tally(c->arena, counting, count, &tally));
	assert_int_equal(tally.looked, CHAPTER_FOUND_ON);
	assert_int_equal(rows[0].facts->n_parts, CHAPTER_PARTS);
}

static void ask_repeats(struct bench_chapter *c, const struct effectivity *statement)
{
	const char *const part = "WH-7-7";
	const struct report_row *rows;
	size_t count;

	(void)statement;
	assert_ok(report_like(c->store, c->arena, "Whimbrel", chapter_words(c->arena, 30),
	                      &(struct text_list){&part, 1}, 5, &rows, &count));
	assert_int_equal(count, 5);
}

static void search_with(struct bench_chapter *c, const struct report_query *query)
{
	const struct report_row *rows;
	size_t count;
	int64_t total;

	assert_ok(report_search(c->store, c->arena, query, &rows, &count, &total));
	assert_true(count > 0 && total > 0);
}

static void ask_newest(struct bench_chapter *c, const struct effectivity *statement)
{
	(void)statement;
	search_with(c, &report_query_all);
}

static void ask_words(struct bench_chapter *c, const struct effectivity *statement)
{
	struct report_query query = report_query_all;

	(void)statement;
	query.words = "loose hinge";
	query.state = REPORT_SINGLE;
	query.order = REPORTS_LOOKED;
	search_with(c, &query);
}

#define PLAIN                                                                                      \
	"model Whimbrel, Whimbrel T\nserial WH-0101 thru WH-4145, WH-6150\npurchased after "       \
	"2017-09\n"
#define EVERY_LIST                                                                                 \
	PLAIN "not option option 1\nsubkit 3\nhours 100 and on\n"                                  \
	      "or\npart WH-2202-1 lot 3 thru 9\nmodel Whimbrel\n"                                  \
	      "or\nmodel Whimbrel T\nstep 14-3\nnot notice HF-SB-7\n"

static const struct question {
	const char *name;
	ask_fn *ask;
	const char *statement;
} questions[] = {
        {"whom", ask_whom, PLAIN},
        {"whom_options", ask_whom, PLAIN "option option 1\nnot option option 2"},
        {"whom_parts", ask_whom, PLAIN "part WH-2202-1 lot 3 thru 9"},
        {"whom_steps", ask_whom, PLAIN "step 14-3"},
        {"whom_hours", ask_whom, PLAIN "hours 100 and on"},
        {"whom_every_list", ask_whom, EVERY_LIST},
        {"like", ask_like, PLAIN},
        {"findings", ask_findings, "all"},
        {"repeats", ask_repeats, "all"},
        {"newest", ask_newest, "all"},
        {"words", ask_words, "all"},
};

static void ask(struct bench_chapter *c, const struct question *question)
{
	const struct effectivity *statement = NULL;
	struct statement_fault fault;

	assert_ok(effectivity_parse(kept, question->statement, strlen(question->statement),
	                            &statement, &fault));
	printf("%s", question->name);
	question->ask(c, statement); /* warm */
	for (int round = 0; round < ROUNDS; round++) {
		double begun;

		arena_reset(c->arena);
		begun = cpu_milliseconds();
		question->ask(c, statement);
		printf(" %.3f", cpu_milliseconds() - begun);
	}
	printf("\n");
}

int main(int argc, char **argv)
{
	static struct bench_chapter c;

	if (argc != 2) {
		fprintf(stderr, "usage: bench_whom FILE\n");
		return 2;
	}
	c.arena = arena_new();
	kept = arena_new();
	assert_ok(store_open(argv[1], &c.store));
	assert_ok(catalogue_build(kept, NULL, 0, &catalogue));
	chapter_fill(&c);
	held.kits = kits_new();
	assert_non_null(held.kits);
	for (size_t i = 0; i < sizeof questions / sizeof *questions; i++)
		ask(&c, &questions[i]);
	kits_free(held.kits);
	store_close(c.store);
	arena_free(kept);
	arena_free(c.arena);
	return 0;
}
