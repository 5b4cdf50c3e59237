/* Times of questions over a chapter of 10,000 kits and 10,000 field reports:
 * bench_whom FILE makes it there and prints a row for each question: its name
 * and the milliseconds of each of several rounds, one core.
 *
 * Each kit has 3 options, 4 sub-kits, 5 parts, 150 steps, a log and a model, one in
 * ten of each fact unknown. One report has findings of 2,000 kits.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "core/catalogue.h"
#include "store/kit_log.h"
#include "store/kits.h"
#include "store/reports.h"
#include "support.h"
#include "web/whom.h"

#define KITS 10000
#define REPORTS 10000
#define FOUND_ON 2000 /* kits with an answer to the first report */
#define OPTIONS 3
#define SUBKITS 4
#define PARTS 5
#define STEPS 150
#define ROUNDS 15
#define NOW 1700000000

#define assert_ok(call) assert_int_equal((call), ST_OK)

struct chapter {
	struct store *store;
	struct arena *arena; /* for filling and for each question anew */
	struct arena *kept;
	const struct catalogue *catalogue;
	struct kit_id kits[KITS];
	struct member_id owners[KITS];
	struct report_id report;
};

static uint64_t seed = 20261125;

static int pick(int count)
{
	return (int)(next_random(&seed) % (uint64_t)count);
}

/* Of this process: what else runs on the machine does not count. */
static double cpu_milliseconds(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

static struct name make_name(struct arena *arena, const char *text)
{
	struct name name = {.len = 0};

	assert_non_null(text);
	assert_ok(name_make(arena, text, strlen(text), &name));
	return name;
}

static struct serial make_serial(struct arena *arena, const char *text)
{
	struct serial serial;

	assert_non_null(text);
	assert_ok(serial_make(arena, text, strlen(text), &serial));
	return serial;
}

/* One in ten is not known, some only to the year. */
static struct date_fact make_date(void)
{
	struct date_fact fact = {.state = DATE_KNOWN};
	char text[16];

	if (pick(10) == 0)
		return (struct date_fact){.state = DATE_UNKNOWN};
	snprintf(text, sizeof text, pick(5) ? "%d-%02d" : "%d", 2009 + pick(15), 1 + pick(12));
	assert_ok(date_parse(text, strlen(text), &fact.date));
	return fact;
}

/* ---- filling ---- */

static void fill_lists(struct arena *arena, struct facts *facts)
{
	struct option_fact *options = ARENA_ARRAY(arena, struct option_fact, OPTIONS);
	struct subkit_fact *subkits = ARENA_ARRAY(arena, struct subkit_fact, SUBKITS);
	struct part_fact *parts = ARENA_ARRAY(arena, struct part_fact, PARTS);
	struct name *steps = ARENA_ARRAY(arena, struct name, STEPS);

	for (int i = 0; i < OPTIONS; i++)
		options[i] = (struct option_fact){
		        make_name(arena, arena_printf(arena, "option %d", i)), pick(2)};
	for (int i = 0; i < SUBKITS; i++)
		subkits[i] =
		        (struct subkit_fact){make_name(arena, arena_printf(arena, "%d", i + 1)),
		                             pick(10) > 0, make_date()};
	for (int i = 0; i < PARTS; i++)
		parts[i] = (struct part_fact){
		        .number = make_name(arena, arena_printf(arena, "WH-220%d-1", i)),
		        .position = make_name(arena, i % 2 ? "left" : ""),
		        .has_lot = true,
		        .lot = make_serial(arena, arena_printf(arena, "%d", 1 + pick(20)))};
	for (int i = 0; i < STEPS; i++)
		steps[i] = make_name(arena, arena_printf(arena, "%d-%d", 1 + i / 10, i % 10));
	facts->options = options;
	facts->n_options = OPTIONS;
	facts->subkits = subkits;
	facts->n_subkits = SUBKITS;
	facts->parts = parts;
	facts->n_parts = PARTS;
	facts->steps_done = steps;
	facts->n_steps_done = (size_t)(STEPS - pick(20));
}

static struct facts make_facts(struct arena *arena, int i)
{
	struct facts facts = {.has_serial = pick(10) > 0, .steps_known = true};

	facts.model = make_name(arena, pick(10) == 0 ? "" : i % 2 ? "Whimbrel" : "Whimbrel T");
	if (facts.has_serial)
		facts.serial = make_serial(arena, arena_printf(arena, "WH-%04d", i));
	facts.purchased = make_date();
	facts.plans = make_date();
	fill_lists(arena, &facts);
	return facts;
}

static void add_kit(struct chapter *c, int i)
{
	struct facts facts = make_facts(c->arena, i);
	const char *name = arena_printf(c->arena, "member%d", i);
	struct member_entry member = {name, name, "*", ROLE_BUILDER};
	struct kit_log_row row = {.entry = {.day = NOW / 86400,
	                                    .has = {true, true},
	                                    .total = {pick(90000), pick(900)},
	                                    .event = make_name(c->arena, "")},
	                          .entered_by = name,
	                          .entered_at = NOW};
	struct kit_log_id log;

	assert_ok(member_add(c->store, &member, NOW, &c->owners[i]));
	assert_ok(kit_add(c->store, c->owners[i], name, NOW, &c->kits[i]));
	assert_ok(kit_set_facts(c->store, c->kits[i], &facts));
	assert_ok(kit_log_add(c->store, c->kits[i], &row, &log));
	arena_reset(c->arena);
}

#define WORDS 3000 /* of the language that reports are written in */
#define WORDS_A_REPORT 60

/* Few words are in most reports, most words in few. */
static const char *make_words(struct arena *arena, int count)
{
	struct text text = TEXT_EMPTY;
	const char *copy;

	for (int i = 0; i < count; i++) {
		double u = (double)pick(100000) / 100000;

		text_printf(&text, "%sword%d", i ? " " : "", (int)(WORDS * u * u * u));
	}
	copy = arena_string(arena, text_string(&text));
	text_free(&text);
	return copy;
}

static struct report_id add_report(struct chapter *c, int i)
{
	static const char *const things[] = {"bracket", "hinge", "fitting", "doubler", "rivets"};
	const char *const part = arena_printf(c->arena, "WH-%d-%d", i % 700, i % 9);
	struct report_content content = {
	        .title = arena_printf(c->arena, "Loose %s at station %d", things[i % 5], i),
	        .model = i % 2 ? "Whimbrel" : "Whimbrel T",
	        .step = "14-3",
	        .zone = "tail box",
	        .seen = make_words(c->arena, WORDS_A_REPORT),
	        .look = "Lamp and mirror through the lightening hole, then push.",
	        .severity = (enum severity)pick(SEVERITIES),
	        .effectivity = "model Whimbrel, Whimbrel T\nserial WH-0100 thru WH-6000",
	        .parts = {&part, 1}};
	struct report_id id;

	assert_ok(report_add(c->store, &content, c->kits[i % KITS], c->owners[i % KITS],
	                     CREDIT_MEMBERS, NOW, &id));
	arena_reset(c->arena);
	return id;
}

static void add_findings(struct chapter *c)
{
	for (int i = 1; i < FOUND_ON; i++) {
		struct finding_entry entry = {
		        .report = c->report,
		        .kit = c->kits[i],
		        .author = c->owners[i],
		        .answer = pick(5) ? ANSWER_NOT_THERE : ANSWER_FOUND,
		        .remark = "Looked at it with lamp and mirror, from below."};
		struct finding_id id;

		assert_ok(finding_add(c->store, &entry, NOW + i, &id));
	}
}

static void fill(struct chapter *c)
{
	assert_ok(store_begin(c->store));
	for (int i = 0; i < KITS; i++)
		add_kit(c, i);
	c->report = add_report(c, 0);
	for (int i = 1; i < REPORTS; i++)
		add_report(c, i);
	add_findings(c);
	assert_ok(store_commit(c->store));
}

/* ---- questions ---- */

typedef void ask_fn(struct chapter *c, const struct effectivity *statement);

static void ask_whom(struct chapter *c, const struct effectivity *statement)
{
	struct whom whom;

	assert_ok(whom_count(c->store, c->catalogue, statement, &whom));
	assert_int_equal(whom.counts[0] + whom.counts[1] + whom.counts[2], KITS);
	assert_true(whom.counts[TRUTH_TRUE] > 0);
}

static void ask_like(struct chapter *c, const struct effectivity *statement)
{
	struct whom_like like;

	assert_ok(whom_like_report(c->store, c->catalogue, c->report, statement, &like));
	assert_true(like.like > like.not_looked && like.not_looked > 0);
}

static void ask_findings(struct chapter *c, const struct effectivity *statement)
{
	const struct finding_row *rows;
	const struct finding *counting;
	struct finding *findings;
	struct findings_tally tally;
	size_t count;

	(void)statement;
	assert_ok(finding_list(c->store, c->arena, c->report, &rows, &count));
	assert_int_equal(count, FOUND_ON);
	findings = ARENA_ARRAY(c->arena, struct finding, count);
	for (size_t i = 0; i < count; i++)
		findings[i] = (struct finding){rows[i].answer, rows[i].kit.v, rows[i].author.v,
		                               rows[i].facts};
	assert_ok(findings_pick(c->arena, findings, count, &counting, &count));
	assert_ok(findings_tally(c->arena, counting, count, &tally));
	assert_int_equal(tally.looked, FOUND_ON);
	assert_int_equal(rows[0].facts->n_parts, PARTS);
}

static void ask_repeats(struct chapter *c, const struct effectivity *statement)
{
	const char *const part = "WH-7-7";
	const struct report_row *rows;
	size_t count;

	(void)statement;
	assert_ok(report_like(c->store, c->arena, "Whimbrel", make_words(c->arena, 30),
	                      &(struct text_list){&part, 1}, 5, &rows, &count));
	assert_int_equal(count, 5);
}

static void search_with(struct chapter *c, const struct report_query *query)
{
	const struct report_row *rows;
	size_t count;
	int64_t total;

	assert_ok(report_search(c->store, c->arena, query, &rows, &count, &total));
	assert_true(count > 0 && total > 0);
}

static void ask_newest(struct chapter *c, const struct effectivity *statement)
{
	(void)statement;
	search_with(c, &report_query_all);
}

static void ask_words(struct chapter *c, const struct effectivity *statement)
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
	"2012-04\n"
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

static void ask(struct chapter *c, const struct question *question)
{
	const struct effectivity *statement = NULL;
	struct statement_fault fault;

	assert_ok(effectivity_parse(c->kept, question->statement, strlen(question->statement),
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
	static struct chapter c;

	if (argc != 2) {
		fprintf(stderr, "usage: bench_whom FILE\n");
		return 2;
	}
	c.arena = arena_new();
	c.kept = arena_new();
	assert_ok(store_open(argv[1], &c.store));
	assert_ok(catalogue_build(c.kept, NULL, 0, &c.catalogue));
	fill(&c);
	for (size_t i = 0; i < sizeof questions / sizeof *questions; i++)
		ask(&c, &questions[i]);
	store_close(c.store);
	arena_free(c.kept);
	arena_free(c.arena);
	return 0;
}
