/* Findings: which count, the state of a report, the exact interval, Fisher's
 * test, and the best split, which a search without shortcuts must agree with.
 * SciPy is asked about random tables by findings-compare.py. */
#include <float.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "build.h"

#include "core/findings.h"

static struct arena *arena;

static int open_arena(void **state)
{
	(void)state;
	arena = arena_new();
	return arena ? 0 : -1;
}

static int close_arena(void **state)
{
	(void)state;
	arena_free(arena);
	return 0;
}

/* ---- findings from short texts ---- */

#define MOST 64

/* One letter an answer: + found, - not there, x does not fit; then kit and member. */
static size_t read_findings(const char *text, struct finding *out)
{
	size_t n = 0;
	char letter;
	long long kit, member;
	int used;

	for (; sscanf(text, " %c%lld/%lld%n", &letter, &kit, &member, &used) == 3; text += used) {
		assert_true(n < MOST);
		out[n++] = (struct finding){letter == '+'   ? ANSWER_FOUND
		                            : letter == '-' ? ANSWER_NOT_THERE
		                                            : ANSWER_DOES_NOT_FIT,
		                            kit, member, NULL};
	}
	return n;
}

static void the_latest_of_each_kit_counts(void **state)
{
	static const struct {
		const char *findings, *counts;
	} rows[] = {
	        {"", ""},
	        {"+1/1", "y"},
	        {"+1/1 -1/1", "ny"},
	        {"+1/1 +2/1 -1/1", "nyy"},
	        {"+1/1 x1/1 +1/1", "nny"},
	        {"+2/1 -1/2 x2/1 +1/2 +3/3", "nnyyy"},
	        {"+0/1 +-1/1 +0/2", "nyy"},
	        {"+9223372036854775807/1 +-9223372036854775807/1", "yy"},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct finding findings[MOST];
		const struct finding *picked, *again;
		bool counts[MOST];
		size_t n = read_findings(rows[i].findings, findings), kept, same;

		assert_int_equal(n, strlen(rows[i].counts));
		assert_int_equal(findings_that_count(arena, findings, n, counts), ST_OK);
		for (size_t k = 0; k < n; k++)
			assert_int_equal(counts[k], rows[i].counts[k] == 'y');
		assert_int_equal(findings_pick(arena, findings, n, &picked, &kept), ST_OK);
		/* Counting again changes nothing. */
		assert_int_equal(findings_pick(arena, picked, kept, &again, &same), ST_OK);
		assert_int_equal(same, kept);
		for (size_t k = 0; k < kept; k++)
			assert_int_equal(again[k].kit, picked[k].kit);
	}
}

/* ---- tally and state ---- */

static void states_go_by_rule(void **state)
{
	static const struct {
		const char *findings;
		bool settled;
		const char *state, *reason;
	} rows[] = {
	        {"", false, "single report", "Found by nobody."},
	        {"", true, "settled", "A published notice stands for it. Found by nobody."},
	        {"+1/1", false, "single report", "Found by 1 member on 1 kit."},
	        {"+1/1 +2/1", false, "single report", "Found by 1 member on 2 kits."},
	        {"+1/1 +2/1 +3/1 +4/1", false, "single report", "Found by 1 member on 4 kits."},
	        {"+1/1 +2/2", false, "confirmed", "Found by 2 members on 2 kits."},
	        {"+1/1 +2/2 +3/2", true, "settled",
	         "A published notice stands for it. Found by 2 members on 3 kits."},
	        {"+1/1 -2/2", false, "single report",
	         "Found by 1 member on 1 kit; not there on 1 kit; looked for in vain by 1 member."},
	        {"+1/1 -2/1 -3/1", false, "single report",
	         "Found by 1 member on 1 kit; not there on 2 kits."},
	        {"+1/1 -2/2 -3/2", false, "single report",
	         "Found by 1 member on 1 kit; not there on 2 kits; looked for in vain by 1 "
	         "member."},
	        {"+1/1 -2/2 -3/3", false, "disputed",
	         "Found by 1 member on 1 kit; not there on 2 kits; looked for in vain by 2 "
	         "members."},
	        {"-1/1", false, "disputed",
	         "Found by nobody; not there on 1 kit; looked for in vain by 1 member."},
	        {"-1/1 -2/2", true, "settled",
	         "A published notice stands for it. Found by nobody; not there on 2 kits; looked "
	         "for "
	         "in vain by 2 members."},
	        {"+1/1 +2/2 -3/3 -4/4 -5/5", false, "confirmed",
	         "Found by 2 members on 2 kits; not there on 3 kits; looked for in vain by 3 "
	         "members."},
	        {"x1/1 x2/2", false, "single report", "Found by nobody."},
	        {"+1/1 x2/2 x3/3", false, "single report", "Found by 1 member on 1 kit."},
	        {"-1/1 x2/2", false, "disputed",
	         "Found by nobody; not there on 1 kit; looked for in vain by 1 member."},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct finding findings[MOST];
		struct findings_tally tally;
		struct text reason = TEXT_EMPTY;
		size_t n = read_findings(rows[i].findings, findings);

		assert_int_equal(findings_tally(arena, findings, n, &tally), ST_OK);
		assert_int_equal(tally.found + tally.not_there, tally.looked);
		assert_int_equal(tally.looked + tally.does_not_fit, n);
		assert_string_equal(report_state_words(report_state_of(&tally, rows[i].settled)),
		                    rows[i].state);
		report_state_reason(&tally, rows[i].settled, &reason);
		assert_string_equal(text_string(&reason), rows[i].reason);
		text_free(&reason);
	}
}

/* Nobody's second kit, and no order of the answers, changes the state. */
static void states_do_not_hang_on_order(void **state)
{
	uint64_t seed = 11;

	(void)state;
	for (unsigned round = 0; round < 500; round++) {
		struct finding findings[MOST];
		struct findings_tally before, after;
		size_t n = 1 + next_random(&seed) % 12;

		for (size_t i = 0; i < n; i++)
			findings[i] =
			        (struct finding){next_random(&seed) % FINDING_ANSWERS, (int64_t)i,
			                         (int64_t)(next_random(&seed) % 4), NULL};
		assert_int_equal(findings_tally(arena, findings, n, &before), ST_OK);
		for (size_t i = n; i > 1; i--) {
			size_t k = next_random(&seed) % i;
			struct finding held = findings[k];

			findings[k] = findings[i - 1];
			findings[i - 1] = held;
		}
		assert_int_equal(findings_tally(arena, findings, n, &after), ST_OK);
		assert_memory_equal(&before, &after, sizeof before);
		assert_true(before.finders <= before.found);
		assert_true(before.finders + before.lookers <= before.looked);
		assert_int_equal(report_state_of(&before, true), REPORT_SETTLED);
	}
}

static void words_go_both_ways(void **state)
{
	static const char *const wrong[] = {"",          "found",        "Found it",
	                                    "found it ", "confirmed by", "x"};
	enum finding_answer answer;

	(void)state;
	for (int i = 0; i < FINDING_ANSWERS; i++) {
		assert_true(finding_answer_from_words(finding_answer_words((enum finding_answer)i),
		                                      &answer));
		assert_int_equal(answer, i);
	}
	for (size_t i = 0; i < ROWS(wrong); i++)
		assert_false(finding_answer_from_words(wrong[i], &answer));
	assert_int_equal(answer, FINDING_ANSWERS - 1);
}

/* ---- the interval ---- */

/* Newcombe, Statistics in Medicine 17 (1998) 857-872, table I: four proportions and
 * their exact limits. NIST/SEMATECH e-Handbook 7.2.4.2: 4 of 20 at 90 %. The rule of three
 * (BMJ 311 (1995) 619) is the one-sided 95 % limit of none in n, 1 - 0.05^(1/n): the upper
 * limit at 90 %. The others were computed from the definition. */
static void intervals_are_those_of_the_tables(void **state)
{
	static const struct {
		size_t k, n;
		double confidence, low, high, near;
	} rows[] = {
	        {81, 263, 0.95, 0.2527, 0.3676, 0.00005},
	        {15, 148, 0.95, 0.0578, 0.1617, 0.00005},
	        {0, 20, 0.95, 0, 0.1684, 0.00005},
	        {1, 29, 0.95, 0.0009, 0.1776, 0.00005},
	        {4, 20, 0.90, 0.071354, 0.401028, 0.0000005},
	        {23, 60, 0.95, 0.2607, 0.5179, 0.00005},
	        {3, 8, 0.95, 0.0852, 0.7551, 0.00005},
	        {0, 1, 0.95, 0, 0.9750, 0.00005},
	        {1, 1, 0.95, 0.0250, 1, 0.00005},
	        {2, 100, 0.95, 0.0024, 0.0704, 0.00005},
	        {0, 30, 0.90, 0, 0.0950, 0.00005},
	        {0, 100, 0.90, 0, 0.0295, 0.00005},
	        {0, 0, 0.95, 0, 1, 0},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct interval interval =
		        findings_interval(rows[i].k, rows[i].n, rows[i].confidence);

		assert_float_equal(interval.low, rows[i].low, rows[i].near);
		assert_float_equal(interval.high, rows[i].high, rows[i].near);
	}
}

/* With none or all found the limits are powers: 1 - (alpha/2)^(1/n). */
static void ends_of_the_interval_have_a_formula(void **state)
{
	static const size_t sizes[] = {1, 2, 7, 100, 2000, 1000000};
	static const double confidences[] = {0.5, 0.9, 0.95, 0.99, 0.999999};

	(void)state;
	for (size_t i = 0; i < ROWS(sizes); i++)
		for (size_t k = 0; k < ROWS(confidences); k++) {
			double power = pow((1 - confidences[k]) / 2, 1 / (double)sizes[i]);
			struct interval none = findings_interval(0, sizes[i], confidences[k]);
			struct interval all = findings_interval(sizes[i], sizes[i], confidences[k]);

			assert_true(none.low == 0 && all.high == 1);
			assert_float_equal(none.high, 1 - power, 1e-11);
			assert_float_equal(all.low, power, 1e-11);
		}
}

static void check_interval_laws(size_t n, double confidence)
{
	struct interval before = {-1, 0};

	for (size_t k = 0; k <= n; k++) {
		struct interval interval = findings_interval(k, n, confidence);
		struct interval mirror = findings_interval(n - k, n, confidence);
		double share = (double)k / (double)n;

		assert_true(interval.low >= 0 && interval.low <= share);
		assert_true(share <= interval.high && interval.high <= 1);
		assert_true(interval.low >= before.low && interval.high > before.high);
		assert_float_equal(interval.low, 1 - mirror.high, 1e-12);
		assert_float_equal(interval.high, 1 - mirror.low, 1e-12);
		before = interval;
	}
}

/* Beta(230, 2) at 0.005 is among what a published quantile of beta gives up on. */
static void intervals_keep_their_laws(void **state)
{
	static const double confidences[] = {0.8, 0.95, 0.99};

	(void)state;
	for (size_t i = 0; i < ROWS(confidences); i++) {
		for (size_t n = 1; n <= 40; n++)
			check_interval_laws(n, confidences[i]);
		check_interval_laws(231, confidences[i]);
	}
}

/* ---- Fisher's test ---- */

/* The tea tasting of Fisher, The Design of Experiments (1935), chapter 2: 4 cups of each
 * kind, counts 1, 16, 36, 16, 1 of 70. 8 2 / 1 5: SciPy documentation, older example (from
 * memory); 1 9 / 11 3: common teaching example (from memory). The rest follows from the
 * definition. */
static void fisher_is_that_of_the_tables(void **state)
{
	static const struct {
		size_t a, b, c, d;
		double p, near;
	} rows[] = {
	        {4, 0, 0, 4, 2.0 / 70, 1e-12},
	        {0, 4, 4, 0, 2.0 / 70, 1e-12},
	        {3, 1, 1, 3, 34.0 / 70, 1e-12},
	        {1, 3, 3, 1, 34.0 / 70, 1e-12},
	        {2, 2, 2, 2, 1, 1e-12},
	        {8, 2, 1, 5, 0.0350, 0.00005},
	        {1, 9, 11, 3, 0.002759, 0.0000005},
	        {0, 0, 0, 0, 1, 0},
	        {5, 0, 0, 0, 1, 1e-12},
	        {0, 0, 3, 4, 1, 1e-12},
	        {3, 0, 4, 0, 1, 1e-12},
	        {0, 3, 0, 4, 1, 1e-12},
	        {1, 0, 0, 1, 1, 1e-12},
	        {1, 0, 0, 9, 0.1, 1e-12},
	        {1, 0, 0, 999999, 1e-6, 1e-14},
	        {3000, 3000, 3000, 3000, 1, 1e-9},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++)
		assert_float_equal(fisher_two_sided(rows[i].a, rows[i].b, rows[i].c, rows[i].d),
		                   rows[i].p, rows[i].near);
	assert_true(fisher_two_sided(5000, 0, 0, 5000) == DBL_MIN);
}

static double choose(size_t n, size_t k)
{
	double ways = 1;

	for (size_t i = 1; i <= k; i++)
		ways = ways * (double)(n - k + i) / (double)i;
	return ways;
}

/* From the definition, with whole numbers that doubles hold. */
static double plain_fisher(size_t a, size_t b, size_t c, size_t d)
{
	size_t row = a + b, column = a + c, all = a + b + c + d;
	double own = choose(row, a) * choose(all - row, c), sum = 0;

	for (size_t x = 0; x <= row && x <= column; x++) {
		double ways;

		if (all + x < row + column)
			continue;
		ways = choose(row, x) * choose(all - row, column - x);
		if (ways <= own * (1 + 1e-7))
			sum += ways;
	}
	return sum / choose(all, column);
}

static void fisher_is_the_definition(void **state)
{
	enum { SIDE = 9 };

	(void)state;
	for (size_t i = 0; i < SIDE * SIDE * SIDE * SIDE; i++) {
		size_t a = i % SIDE, b = i / SIDE % SIDE, c = i / SIDE / SIDE % SIDE,
		       d = i / SIDE / SIDE / SIDE;
		double p = fisher_two_sided(a, b, c, d);

		assert_true(p > 0 && p <= 1);
		assert_float_equal(p, plain_fisher(a, b, c, d), 1e-10);
		assert_float_equal(p, fisher_two_sided(c, d, a, b), 1e-10);
		assert_float_equal(p, fisher_two_sided(a, c, b, d), 1e-10);
	}
}

/* ---- the split ---- */

struct kits {
	struct finding findings[MOST];
	size_t n;
};

/* Lines of the form "+ facts" or "- facts" or "x facts"; "+" alone: facts not known. */
static struct kits read_kits(const char *text)
{
	struct kits kits = {.n = 0};

	while (*text) {
		size_t len = strcspn(text, "\n");
		struct finding *finding = &kits.findings[kits.n];

		assert_true(kits.n < MOST);
		finding->answer = *text == '+'   ? ANSWER_FOUND
		                  : *text == '-' ? ANSWER_NOT_THERE
		                                 : ANSWER_DOES_NOT_FIT;
		finding->kit = finding->member = (int64_t)kits.n++;
		if (len > 1)
			finding->facts = make_facts(arena, arena_copy(arena, text + 2, len - 2));
		text += len + (text[len] == '\n');
	}
	return kits;
}

#define SERIALS_CLUSTER                                                                            \
	"+ serial WH-0101\n+ serial WH-0102\n+ serial WH-0103\n+ serial WH-0104\n"                 \
	"- serial WH-0110\n- serial WH-0111\n- serial WH-0112\n- serial WH-0113\n"

static void splits_say_what_they_are(void **state)
{
	static const struct {
		const char *kits;
		const char *statement; /* NULL: no split */
		size_t found, looked, other_found, other_looked, left_out, tried;
	} rows[] = {
	        {"", NULL},
	        {"+\n+\n+\n+\n-\n-\n-\n-\n", NULL},
	        {"+ serial WH-1\n+ serial WH-2\n+ serial WH-3\n- serial WH-4\n- serial WH-5\n- "
	         "serial "
	         "WH-6\n- serial WH-7\n",
	         NULL},
	        {"+ serial WH-1\n+ serial WH-2\n+ serial WH-3\n- serial WH-4\n- serial WH-5\n- "
	         "serial "
	         "WH-6\n- serial WH-7\nx serial WH-8\n",
	         NULL},
	        {"+ serial A-1\n+ serial B-2\n+ serial C-3\n- serial D-4\n- serial E-5\n- serial "
	         "F-6\n- serial G-7\n- serial 5\n",
	         NULL},
	        {"+ serial 7\n+ serial 7\n+ serial 7\n- serial 7\n- serial 07\n- serial 7\n- "
	         "serial "
	         "7\n- serial 7\n",
	         NULL},
	        {"+ purchased 2017\n+ purchased 2017\n+ purchased 2017\n- purchased 2017-03\n- "
	         "purchased 2017-04\n- purchased 2017-04\n- purchased 2017\n- first-flight never\n",
	         "purchased up to 2017-03-31", 0, 1, 0, 2, 5, 1},
	        {"+ purchased never\n+ plans never\n+ model X\n- hours 5\n- parts known\n- part ? "
	         "| lot "
	         "3\n- part ? | lot 4\n- part A\n",
	         NULL},
	        {SERIALS_CLUSTER, "serial up to WH-0104", 4, 4, 0, 4, 0, 7},
	        {SERIALS_CLUSTER "x serial WH-0099\nx serial WH-0001\n", "serial up to WH-0104", 4,
	         4, 0, 4, 0, 7},
	        {SERIALS_CLUSTER "-\n+ serial ZZ-1\n", "serial up to WH-0104", 4, 4, 0, 4, 2, 7},
	        {"- serial WH-9\n- serial WH-10\n- serial WH-11\n- serial WH-12\n+ serial "
	         "WH-100\n+ "
	         "serial WH-101\n+ serial WH-102\n+ serial WH-103\n",
	         "serial WH-100 and on", 4, 4, 0, 4, 0, 7},
	        {"+ purchased 2017-04-01\n+ purchased 2017-04\n+ purchased 2016\n+ purchased "
	         "2017-02-03\n- purchased 2017-05-02\n- purchased 2018\n- purchased 2019-02\n- "
	         "purchased 2020\n",
	         "purchased up to 2017-04-30", 4, 4, 0, 4, 0, 7},
	        {"- purchased 2015-01-05\n- purchased 2015-01-06\n- purchased 2015-02\n- purchased "
	         "2015\n+ purchased 2015-05-01\n+ purchased 2017\n+ purchased 2017-03\n+ purchased "
	         "2017-04-09\n",
	         "purchased 2015-05-01 and on", 4, 4, 0, 3, 1, 6},
	        {"+ plans 2017\n+ plans 2017\n+ plans 2017\n+ plans 2017\n- plans 2018\n- plans "
	         "2018\n- plans 2018\n- plans 2018\n",
	         "plans up to 2017-12-31", 4, 4, 0, 4, 0, 1},
	        {"+ option tailwheel = yes\n+ option tailwheel = yes\n+ option tailwheel = yes\n+ "
	         "option tailwheel = yes\n- option tailwheel = no\n- option tailwheel = no\n- "
	         "option "
	         "tailwheel = no\n- option Tailwheel = no\n",
	         "option tailwheel", 4, 4, 0, 4, 0, 1},
	        {"- option lights = yes\n- option lights = yes\n- option lights = yes\n- option "
	         "lights "
	         "= yes\n+ option lights = no\n+ option lights = no\n+ option lights = no\n+ model "
	         "X\n",
	         "not option lights", 3, 3, 0, 4, 1, 1},
	        {"+ part P | lot 3\n+ part P | lot 4\n+ part P | lot 5\n+ part P | lot 5\n- part P "
	         "| "
	         "lot 6\n- part P | lot 7\n- part P | lot 10\n- part P | lot 11\n",
	         "part P lot up to 5", 4, 4, 0, 4, 0, 6},
	        /* Two such parts: on both sides, on one, one without a lot, of two shapes. */
	        {"+ part P | lot 3; part P | lot 4\n+ part P | lot 4\n+ part P | lot 5\n+ part P | "
	         "lot 5\n- part P | lot 6; part P | lot 3\n- part P | lot 7; part P\n- part P | "
	         "lot "
	         "10; part P | lot B-4\n- part P; part P | lot 11\n- part P | lot 8\n- part P | "
	         "lot "
	         "9\n",
	         "part P lot up to 5", 4, 4, 0, 3, 3, 5},
	        /* A bad issue between good ones; two that are cut off already. */
	        {"- plans 2017-01\n- plans 2017-01\n- plans 2018\n- plans 2018-06\n+ plans "
	         "2019-05\n+ plans 2019-05\n+ plans 2019-05\n+ plans 2019-05-02\n- plans "
	         "2022-09\n- plans 2022-09\n- plans 2024-02\n- plans 2024-02\n",
	         "plans 2019-05", 4, 4, 0, 8, 0, 11},
	        {"- plans 2017-01\n- plans 2017-01\n- plans 2017-01\n- plans 2017-01\n+ plans "
	         "2019-05-02\n+ plans 2019-05-02\n+ plans 2019-05-02\n+ plans 2019-05-02\n- "
	         "plans 2022\n- plans 2022\n- plans 2022\n- plans 2022\n",
	         "plans 2019-05-02", 4, 4, 0, 8, 0, 3},
	        {"- plans 2017-01\n- plans 2017-01\n- plans 2017-01\n- plans 2017-01\n+ plans "
	         "2019-05\n+ plans 2019-05\n+ plans 2019-05\n+ plans 2019-05\n",
	         "plans 2019-05-01 and on", 4, 4, 0, 4, 0, 1},
	        /* A good one between bad ones. */
	        {"+ plans 2017\n+ plans 2017\n+ plans 2017\n- plans 2019\n- plans 2019\n- plans "
	         "2019\n+ plans 2022\n+ plans 2022\n",
	         "not plans 2019", 5, 5, 0, 3, 0, 3},
	        /* Left out: an issue that holds the bad one, none, none yet. */
	        {"- plans 2017-01\n- plans 2017-01\n- plans 2017-01\n+ plans 2019\n+ plans "
	         "2019-05\n+ plans 2019-05\n+ plans 2019-05\n+ plans 2019-05-31\n- plans "
	         "2019-06\n- plans 2019-06\n- plans 2019-06\n+\n+ plans never\n",
	         "plans 2019-05", 4, 4, 0, 6, 3, 4},
	        /* Purchases have an order only. */
	        {"- purchased 2017\n- purchased 2017\n- purchased 2017\n+ purchased 2019\n+ "
	         "purchased 2019\n+ purchased 2019\n- purchased 2022\n- purchased 2022\n- "
	         "purchased 2022\n",
	         "purchased 2019-01-01 and on", 3, 6, 0, 3, 0, 2},
	        /* The serial's split is equal, but comes first. */
	        {"+ serial 1; plans 2016\n+ serial 2; plans 2016\n+ serial 3; plans 2016\n+ serial "
	         "4; "
	         "plans 2016\n- serial 5; plans 2017\n- serial 6; plans 2017\n- serial 7; plans "
	         "2017\n- "
	         "serial 8; plans 2017\n",
	         "serial up to 4", 4, 4, 0, 4, 0, 8},
	        /* Equal splits of two shapes: the first by name. */
	        {"- serial B-3\n- serial B-4\n+ serial B-1\n+ serial B-2\n+ serial A-1\n+ serial "
	         "A-2\n- serial A-3\n- serial A-4\n",
	         "serial up to A-2", 2, 2, 0, 2, 4, 6},
	        {"+ serial A-1\n+ serial A-2\n- serial A-3\n- serial A-4\n- serial B-3\n- serial "
	         "B-4\n+ serial B-1\n+ serial B-2\n",
	         "serial up to A-2", 2, 2, 0, 2, 4, 6},
	        {"- serial C-3\n- serial C-4\n+ serial C-1\n+ serial C-2\n+ serial G-1\n+ serial "
	         "G-2\n- serial G-3\n- serial G-4\n",
	         "serial up to C-2", 2, 2, 0, 2, 4, 6},
	        /* Nothing found: every p is 1, and the first cut is as good as any. */
	        {"- serial 1\n- serial 2\n- serial 3\n- serial 4\n- serial 5\n- serial 6\n- serial "
	         "7\n- serial 8\n",
	         "serial up to 1", 0, 1, 0, 7, 0, 7},
	        /* Names that no statement can hold. */
	        {"+ option a, b = yes\n+ option a, b = yes\n+ option a, b = yes\n+ option a, b = "
	         "yes\n- option a, b = no\n- option a, b = no\n- option a, b = no\n- option a, b = "
	         "no\n",
	         "", 4, 4, 0, 4, 0, 1},
	        {"+ part P lot | lot 1\n+ part P lot | lot 1\n+ part P lot | lot 1\n+ part P lot | "
	         "lot "
	         "1\n- part P lot | lot 2\n- part P lot | lot 2\n- part P lot | lot 2\n- part P "
	         "lot | "
	         "lot 2\n",
	         "", 4, 4, 0, 4, 0, 1},
	        {"+ part P series | lot 1\n+ part P series | lot 1\n+ part P series | lot 1\n+ "
	         "part P "
	         "series | lot 1\n- part P series | lot 2\n- part P series | lot 2\n- part P "
	         "series | "
	         "lot 2\n- part P series | lot 2\n",
	         "", 4, 4, 0, 4, 0, 1},
	        {"+ part lot | lot 1\n+ part lot | lot 1\n+ part lot | lot 1\n+ part lot | lot "
	         "1\n- "
	         "part lot | lot 2\n- part lot | lot 2\n- part lot | lot 2\n- part lot | lot 2\n",
	         "part lot lot up to 1", 4, 4, 0, 4, 0, 1},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct kits kits = read_kits(rows[i].kits);
		struct split split;
		struct text statement = TEXT_EMPTY;
		bool any = true, inside;

		assert_int_equal(findings_split(arena, kits.findings, kits.n, &split, &any), ST_OK);
		if (any != (rows[i].statement != NULL))
			fail_msg("row %zu: %s", i, any ? "a split" : "no split");
		if (!any)
			continue;
		inside = split.cluster_inside;
		split_statement(&split, &statement);
		assert_string_equal(text_string(&statement), rows[i].statement);
		assert_int_equal(inside ? split.inside_found : split.outside_found, rows[i].found);
		assert_int_equal(inside ? split.inside_looked : split.outside_looked,
		                 rows[i].looked);
		assert_int_equal(inside ? split.outside_found : split.inside_found,
		                 rows[i].other_found);
		assert_int_equal(inside ? split.outside_looked : split.inside_looked,
		                 rows[i].other_looked);
		assert_int_equal(split.left_out, rows[i].left_out);
		assert_int_equal(split.tried, rows[i].tried);
		text_free(&statement);
	}
}

/* A chance is never told smaller than it is, nor by a whole thousandth larger. */
static void chances_are_rounded_up(void **state)
{
	static const struct {
		double chance;
		const char *words;
	} rows[] = {
	        {0, "in fewer than 1 of 1000 "},     {0.0009, "in fewer than 1 of 1000 "},
	        {0.001, "in at most 1 of 1000 "},    {0.00101, "in at most 2 of 1000 "},
	        {0.0019, "in at most 2 of 1000 "},   {0.0121, "in at most 13 of 1000 "},
	        {0.0129, "in at most 13 of 1000 "},  {0.25, "in at most 250 of 1000 "},
	        {0.2501, "in at most 251 of 1000 "}, {0.9991, "in at most 1000 of 1000 "},
	        {1, "in at most 1000 of 1000 "},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct split split = {.kind = SPLIT_OPTION,
		                      .about = {"lights", "LIGHTS", 6, 1},
		                      .corrected = rows[i].chance,
		                      .tried = 1};
		struct text words = TEXT_EMPTY;

		split_words(&split, &words);
		if (!strstr(text_string(&words), rows[i].words))
			fail_msg("%g: %s", rows[i].chance, text_string(&words));
		text_free(&words);
	}
}

static void splits_are_told_as_hints(void **state)
{
	static const struct {
		const char *kits, *words;
	} rows[] = {
	        {SERIALS_CLUSTER,
	         "Perhaps it clusters: found on 4 of 4 kits with serial number up to WH-0104, on 0 "
	         "of "
	         "4 kits with serial number WH-0110 and on. Chance alone would make so sharp a "
	         "split "
	         "in at most 200 of 1000 such reports (Fisher's exact test, corrected for the 7 "
	         "splits tried). This is a hint where to look, not a finding."},
	        {"+ plans 2017\n+ plans 2017\n+ plans 2017\n+ plans 2017\n- plans 2018\n- plans "
	         "2018\n- plans 2018\n-\n-\n",
	         "Perhaps it clusters: found on 4 of 4 kits with plans issued up to 31 December "
	         "2017, "
	         "on 0 of 3 kits with plans issued on 1 January 2018 or later. Left out: 2 kits "
	         "whose "
	         "plans issue cannot tell the side. Chance alone would make so sharp a split in at "
	         "most 29 of 1000 such reports (Fisher's exact test, corrected for the 1 split "
	         "tried). This is a hint where to look, not a finding."},
	        {"- plans 2017-01\n- plans 2017-01\n- plans 2017-01\n- plans 2017-01\n+ plans "
	         "2019-05\n+ plans 2019-05\n+ plans 2019-05\n+ plans 2019-05\n- plans 2022\n- "
	         "plans 2022\n- plans 2022\n- plans 2022\n- plans 2019\n",
	         "Perhaps it clusters: found on 4 of 4 kits with plans of May 2019, on 0 of 8 kits "
	         "with plans of another issue than May 2019. Left out: 1 kit whose plans issue "
	         "cannot tell the side. Chance alone would make so sharp a split in at most 11 of "
	         "1000 such reports (Fisher's exact test, corrected for the 5 splits tried). This "
	         "is a hint where to look, not a finding."},
	        {"+ plans 2017\n+ plans 2017\n+ plans 2017\n- plans 2019-05-02\n- plans "
	         "2019-05-02\n- plans 2019-05-02\n+ plans 2022\n+ plans 2022\n",
	         "Perhaps it clusters: found on 5 of 5 kits with plans of another issue than 2 May "
	         "2019, on 0 of 3 kits with plans of 2 May 2019. Chance alone would make so sharp "
	         "a "
	         "split in at most 54 of 1000 such reports (Fisher's exact test, corrected for the "
	         "3 splits tried). This is a hint where to look, not a finding."},
	        {"- option lights = yes\n- option lights = yes\n- option lights = yes\n- option "
	         "lights "
	         "= yes\n- option lights = yes\n- option lights = yes\n- option lights = yes\n+ "
	         "option "
	         "lights = no\n",
	         "Perhaps it clusters: found on 1 of 1 kit without option lights, on 0 of 7 kits "
	         "with "
	         "option lights. Chance alone would make so sharp a split in at most 125 of 1000 "
	         "such "
	         "reports (Fisher's exact test, corrected for the 1 split tried). This is a hint "
	         "where "
	         "to look, not a finding."},
	        {"- purchased 2015\n- purchased 2015\n- purchased 2015\n- purchased 2015\n- "
	         "purchased "
	         "2015\n- purchased 2015\n- purchased 2015\n- purchased 2015\n+ purchased "
	         "2017-02\n+ "
	         "purchased 2017-02\n+ purchased 2017-02\n+ purchased 2017-02\n+ purchased "
	         "2017-02\n+ "
	         "purchased 2017-02\n+ purchased 2017-02\n+ purchased 2017-02\n+\n",
	         "Perhaps it clusters: found on 8 of 8 kits bought on 1 February 2017 or later, on "
	         "0 "
	         "of 8 kits bought up to 31 December 2015. Left out: 1 kit whose purchase date "
	         "cannot "
	         "tell the side. Chance alone would make so sharp a split in fewer than 1 of 1000 "
	         "such "
	         "reports (Fisher's exact test, corrected for the 1 split tried). This is a hint "
	         "where "
	         "to look, not a finding."},
	        {"+ part P | lot 1\n+ part P | lot 1\n+ part P | lot 1\n+ part P | lot 1\n- part P "
	         "| "
	         "lot 2\n- part P | lot 2\n- part P | lot 2\n- part P | lot 2\n",
	         "Perhaps it clusters: found on 4 of 4 kits with part P of lot up to 1, on 0 of 4 "
	         "kits "
	         "with part P of lot 2 and on. Chance alone would make so sharp a split in at most "
	         "29 "
	         "of 1000 such reports (Fisher's exact test, corrected for the 1 split tried). "
	         "This is "
	         "a hint where to look, not a finding."},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct kits kits = read_kits(rows[i].kits);
		struct split split;
		struct text words = TEXT_EMPTY;
		bool any = false;

		assert_int_equal(findings_split(arena, kits.findings, kits.n, &split, &any), ST_OK);
		assert_true(any);
		split_words(&split, &words);
		assert_string_equal(text_string(&words), rows[i].words);
		text_free(&words);
	}
}

/* ---- against a search without shortcuts ---- */

enum side { LEFT_OUT, INSIDE, OUTSIDE };

/* One cut of one kind: between the values up to a serial or a day, or within an
 * issue, and the rest. */
struct cut {
	enum split_kind kind;
	struct name about;
	const struct serial *serial;
	day_number day;
	struct date issue;
};

static enum side side_of_issue(const struct date_fact *fact, struct date issue)
{
	if (fact->state != DATE_KNOWN)
		return LEFT_OUT;
	if (fact->date.first >= issue.first && fact->date.last <= issue.last)
		return INSIDE;
	return fact->date.last < issue.first || fact->date.first > issue.last ? OUTSIDE : LEFT_OUT;
}

static enum side side_of_date(const struct date_fact *fact, day_number day)
{
	if (fact->state != DATE_KNOWN)
		return LEFT_OUT;
	return fact->date.last <= day ? INSIDE : fact->date.first > day ? OUTSIDE : LEFT_OUT;
}

static bool is_lot_of(const struct part_fact *part, const struct name *number)
{
	return name_equal(&part->number, number);
}

static enum side side_of_lots(const struct facts *facts, const struct cut *cut)
{
	bool inside = false, outside = false;

	for (size_t i = 0; i < facts->n_parts; i++) {
		const struct part_fact *part = &facts->parts[i];

		if (!is_lot_of(part, &cut->about))
			continue;
		if (!part->has_lot)
			return LEFT_OUT;
		if (!serial_comparable(&part->lot, cut->serial))
			continue;
		if (serial_compare(&part->lot, cut->serial) <= 0)
			inside = true;
		else
			outside = true;
	}
	return inside == outside ? LEFT_OUT : inside ? INSIDE : OUTSIDE;
}

static enum side side_of(const struct facts *facts, const struct cut *cut)
{
	const struct option_fact *option;

	if (!facts)
		return LEFT_OUT;
	switch (cut->kind) {
	case SPLIT_SERIAL:
		if (!facts->has_serial || !serial_comparable(&facts->serial, cut->serial))
			return LEFT_OUT;
		return serial_compare(&facts->serial, cut->serial) <= 0 ? INSIDE : OUTSIDE;
	case SPLIT_PURCHASED:
		return side_of_date(&facts->purchased, cut->day);
	case SPLIT_PLANS:
		return side_of_date(&facts->plans, cut->day);
	case SPLIT_ISSUE:
		return side_of_issue(&facts->plans, cut->issue);
	case SPLIT_OPTION:
		option = facts_option(facts, &cut->about);
		return !option ? LEFT_OUT : option->fitted ? INSIDE : OUTSIDE;
	default:
		return side_of_lots(facts, cut);
	}
}

static bool same_cut(const struct cut *a, const struct cut *b)
{
	if (a->kind != b->kind || !name_same(&a->about, &b->about) || a->day != b->day ||
	    a->issue.first != b->issue.first || a->issue.last != b->issue.last)
		return false;
	return !a->serial || (serial_comparable(a->serial, b->serial) &&
	                      serial_compare(a->serial, b->serial) == 0);
}

#define MOST_CUTS 4000

struct search {
	struct cut cuts[MOST_CUTS];
	size_t n;
};

static void add_cut(struct search *search, struct cut cut)
{
	for (size_t i = 0; i < search->n; i++)
		if (same_cut(&search->cuts[i], &cut))
			return;
	assert_true(search->n < MOST_CUTS);
	search->cuts[search->n++] = cut;
}

static void add_lot_cuts(struct search *search, const struct facts *facts)
{
	for (size_t i = 0; i < facts->n_parts; i++) {
		const struct part_fact *part = &facts->parts[i];
		struct cut cut = {.kind = SPLIT_LOT, .about = part->number, .serial = &part->lot};

		if (!part->has_lot || name_is_empty(&part->number))
			continue;
		for (size_t k = 0; k < facts->n_parts; k++)
			if (is_lot_of(&facts->parts[k], &part->number) && facts->parts[k].has_lot &&
			    serial_comparable(&facts->parts[k].lot, cut.serial) &&
			    serial_compare(&facts->parts[k].lot, cut.serial) > 0)
				cut.serial = &facts->parts[k].lot;
		if (side_of_lots(facts, &cut) == INSIDE)
			add_cut(search, cut);
	}
}

static void add_cuts(struct search *search, const struct facts *facts)
{
	static const struct name none = {.text = ""};
	const struct date *purchased = &facts->purchased.date, *plans = &facts->plans.date;

	if (facts->has_serial)
		add_cut(search, (struct cut){.kind = SPLIT_SERIAL,
		                             .about = none,
		                             .serial = &facts->serial});
	if (facts->purchased.state == DATE_KNOWN)
		add_cut(search, (struct cut){.kind = SPLIT_PURCHASED,
		                             .about = none,
		                             .day = purchased->last});
	if (facts->plans.state == DATE_KNOWN) {
		add_cut(search,
		        (struct cut){.kind = SPLIT_PLANS, .about = none, .day = plans->last});
		add_cut(search, (struct cut){.kind = SPLIT_ISSUE, .about = none, .issue = *plans});
	}
	for (size_t i = 0; i < facts->n_options; i++)
		add_cut(search,
		        (struct cut){.kind = SPLIT_OPTION, .about = facts->options[i].name});
	add_lot_cuts(search, facts);
}

struct sides {
	size_t found[3], looked[3];
	double p;
};

static struct sides weigh(const struct kits *kits, const struct cut *cut)
{
	struct sides sides = {{0}, {0}, 1};

	for (size_t i = 0; i < kits->n; i++) {
		const struct finding *finding = &kits->findings[i];
		enum side side = side_of(finding->facts, cut);

		if (finding->answer == ANSWER_DOES_NOT_FIT)
			continue;
		sides.looked[side]++;
		sides.found[side] += finding->answer == ANSWER_FOUND;
	}
	sides.p = plain_fisher(sides.found[INSIDE], sides.looked[INSIDE] - sides.found[INSIDE],
	                       sides.found[OUTSIDE], sides.looked[OUTSIDE] - sides.found[OUTSIDE]);
	return sides;
}

/* Both sides have kits; an issue has others before it and behind. */
static bool is_tried(const struct kits *kits, const struct cut *cut, const struct sides *sides)
{
	bool before = false, behind = false;

	if (cut->kind != SPLIT_ISSUE)
		return sides->looked[INSIDE] && sides->looked[OUTSIDE];
	for (size_t i = 0; i < kits->n; i++) {
		const struct finding *finding = &kits->findings[i];

		if (finding->answer == ANSWER_DOES_NOT_FIT ||
		    side_of(finding->facts, cut) != OUTSIDE)
			continue;
		if (finding->facts->plans.date.first > cut->issue.last)
			behind = true;
		else
			before = true;
	}
	return before && behind;
}

/* Holds for each kit of the cluster's side, for none of the other; of an issue it is
 * known of each kit not left out. */
static void check_statement(const struct kits *kits, const struct split *split,
                            const struct cut *cut)
{
	struct text text = TEXT_EMPTY;
	const struct effectivity *statement;
	enum side cluster = split->cluster_inside ? INSIDE : OUTSIDE;

	split_statement(split, &text);
	statement = make_statement(arena, text_string(&text));
	for (size_t i = 0; i < kits->n; i++) {
		const struct facts *facts = kits->findings[i].facts;
		enum side side = side_of(facts, cut);

		if (kits->findings[i].answer == ANSWER_DOES_NOT_FIT)
			continue; /* between the sides, perhaps */
		if (side == cluster)
			assert_int_equal(effectivity_decide(statement, facts), TRUTH_TRUE);
		else if (side != LEFT_OUT)
			assert_int_not_equal(effectivity_decide(statement, facts), TRUTH_TRUE);
		if (split->kind == SPLIT_ISSUE && side != cluster && side != LEFT_OUT)
			assert_int_equal(effectivity_decide(statement, facts), TRUTH_FALSE);
	}
	text_free(&text);
}

static struct cut cut_of(const struct split *split)
{
	bool has_serial = split->kind == SPLIT_SERIAL || split->kind == SPLIT_LOT;

	return (struct cut){split->kind, split->about, has_serial ? &split->last : NULL,
	                    split->last_day, split->issue};
}

static void check_counts(const struct split *split, const struct sides *sides)
{
	assert_int_equal(split->inside_found, sides->found[INSIDE]);
	assert_int_equal(split->inside_looked, sides->looked[INSIDE]);
	assert_int_equal(split->outside_found, sides->found[OUTSIDE]);
	assert_int_equal(split->outside_looked, sides->looked[OUTSIDE]);
	assert_int_equal(split->left_out, sides->looked[LEFT_OUT]);
	assert_int_equal(split->cluster_inside,
	                 split->inside_found * split->outside_looked >=
	                         split->outside_found * split->inside_looked);
}

/* No cut is better, none as good leaves fewer out, and as many were tried. */
static void check_split(const struct kits *kits, const struct split *split, bool any)
{
	static struct search search;
	struct cut cut = any ? cut_of(split) : (struct cut){0};
	struct sides best;
	size_t tried = 0;

	search.n = 0;
	for (size_t i = 0; i < kits->n; i++)
		if (kits->findings[i].facts && kits->findings[i].answer != ANSWER_DOES_NOT_FIT)
			add_cuts(&search, kits->findings[i].facts);
	best = weigh(kits, &cut);
	for (size_t i = 0; i < search.n; i++) {
		struct sides sides = weigh(kits, &search.cuts[i]);

		if (!is_tried(kits, &search.cuts[i], &sides))
			continue;
		tried++;
		assert_true(any && sides.p >= best.p * (1 - 1e-6));
		if (sides.p <= best.p * (1 + 1e-8))
			assert_true(sides.looked[LEFT_OUT] >= best.looked[LEFT_OUT]);
	}
	assert_int_equal(any, tried > 0);
	if (!any)
		return;
	check_counts(split, &best);
	assert_float_equal(split->p, best.p, best.p * 1e-9);
	assert_int_equal(split->tried, tried);
	assert_float_equal(split->corrected, fmin(1, split->p * (double)tried), 1e-15);
	assert_true(split->p > 0 && split->corrected >= split->p && split->corrected <= 1);
	check_statement(kits, split, &cut);
}

/* A sentence for make_facts, with few different values, so that many are equal. */
static const struct facts *random_facts(uint64_t *seed)
{
	static const char *const dates[] = {"2017",    "2017-03",    "2017-04-17", "2018-01",
	                                    "2016-12", "2017-04-18", "never",      "2017-04"};
	static const char *const lots[] = {" | lot 3", " | lot 04", " | lot 9-1", " | lot 9-2",
	                                   "",         " | lot 7",  " | lot B-2"};
	struct text text = TEXT_EMPTY;
	const struct facts *facts;
	uint64_t r = next_random(seed);

	text_add(&text, "model X");
	if (r % 8)
		text_printf(&text, "; serial %s-%u", r / 8 % 5 ? "WH" : "Z",
		            (unsigned)(r / 64 % 30));
	r = next_random(seed);
	if (r % 4)
		text_printf(&text, "; purchased %s", dates[r / 4 % ROWS(dates)]);
	if (r / 64 % 4)
		text_printf(&text, "; plans %s", dates[r / 256 % ROWS(dates)]);
	for (unsigned i = 0; i < 2; i++)
		if (r >> (20 + i) & 1)
			text_printf(&text, "; option o%u = %s", i,
			            r >> (24 + i) & 1 ? "yes" : "no");
	for (unsigned i = 0; i < (r >> 32) % 4; i++) {
		r = next_random(seed);
		text_printf(&text, "; part %s%s", r % 9 ? r % 3 ? "P" : "Q-1" : "?",
		            lots[r / 9 % ROWS(lots)]);
	}
	facts = make_facts(arena, text_string(&text));
	text_free(&text);
	return facts;
}

static struct kits random_kits(uint64_t *seed)
{
	struct kits kits = {.n = next_random(seed) % MOST};
	unsigned clustered = next_random(seed) % 2;

	for (size_t i = 0; i < kits.n; i++) {
		struct finding *finding = &kits.findings[i];
		uint64_t r = next_random(seed);
		bool likely;

		*finding = (struct finding){.kit = (int64_t)i, .member = (int64_t)(r % 5)};
		if (r / 8 % 12)
			finding->facts = random_facts(seed);
		likely = clustered && finding->facts && finding->facts->has_serial &&
		         finding->facts->serial.counter[0] < 12;
		finding->answer = r / 128 % 9 == 0                  ? ANSWER_DOES_NOT_FIT
		                  : r / 2048 % 8 < (likely ? 8 : 1) ? ANSWER_FOUND
		                                                    : ANSWER_NOT_THERE;
	}
	return kits;
}

static void shuffle(struct kits *kits, uint64_t *seed)
{
	for (size_t i = kits->n; i > 1; i--) {
		size_t k = next_random(seed) % i;
		struct finding held = kits->findings[k];

		kits->findings[k] = kits->findings[i - 1];
		kits->findings[i - 1] = held;
	}
}

static void check_same(const struct split *a, const struct split *b)
{
	struct cut cut = cut_of(a), other = cut_of(b);

	assert_true(same_cut(&cut, &other));
	assert_int_equal(a->inside_looked, b->inside_looked);
	assert_int_equal(a->outside_looked, b->outside_looked);
	assert_true(a->p == b->p);
	assert_int_equal(a->tried, b->tried);
}

static void splits_are_the_best_of_all(void **state)
{
	uint64_t seed = 20261125;
	size_t hints = 0, seen[SPLIT_KINDS] = {0};

	(void)state;
	for (unsigned round = 0; round < 1500; round++) {
		struct kits kits = random_kits(&seed);
		struct split split, again;
		bool any = false, still = false;
		size_t looked = 0;

		for (size_t i = 0; i < kits.n; i++)
			looked += kits.findings[i].answer != ANSWER_DOES_NOT_FIT;
		assert_int_equal(findings_split(arena, kits.findings, kits.n, &split, &any), ST_OK);
		if (looked < SPLIT_LEAST_LOOKED)
			assert_false(any);
		else
			check_split(&kits, &split, any);
		shuffle(&kits, &seed);
		assert_int_equal(findings_split(arena, kits.findings, kits.n, &again, &still),
		                 ST_OK);
		assert_int_equal(any, still);
		if (any) {
			check_same(&split, &again);
			hints += split.corrected <= SPLIT_HINT;
			seen[split.kind]++;
		}
		arena_reset(arena);
	}
	/* The rounds reach what they are to try. */
	assert_true(hints > 100);
	for (unsigned i = 0; i < SPLIT_KINDS; i++)
		assert_true(seen[i] > 20);
}

/* ---- memory ---- */

static struct kits ten_kits; /* made while there is memory */

static bool split_once(struct arena *room)
{
	struct split split;
	bool any = false;
	enum status status = findings_split(room, ten_kits.findings, ten_kits.n, &split, &any);

	assert_true(status == ST_OK || status == ST_NOMEM);
	assert_int_equal(any, status == ST_OK);
	return status == ST_OK;
}

static bool count_once(struct arena *room)
{
	struct finding findings[MOST];
	struct findings_tally tally;
	const struct finding *picked;
	size_t n = read_findings("+1/1 -2/2 -1/3", findings), kept;

	return findings_pick(room, findings, n, &picked, &kept) == ST_OK &&
	       findings_tally(room, picked, kept, &tally) == ST_OK;
}

static void memory_may_run_out(void **state)
{
	(void)state;
	ten_kits = read_kits(SERIALS_CLUSTER "+ part P | lot 3; purchased 2017; option a = yes\n"
	                                     "- part P | lot 4; option a = no\n");
	try_each_place(split_once);
	try_each_place(count_once);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(the_latest_of_each_kit_counts),
	        cmocka_unit_test(states_go_by_rule),
	        cmocka_unit_test(states_do_not_hang_on_order),
	        cmocka_unit_test(words_go_both_ways),
	        cmocka_unit_test(intervals_are_those_of_the_tables),
	        cmocka_unit_test(ends_of_the_interval_have_a_formula),
	        cmocka_unit_test(intervals_keep_their_laws),
	        cmocka_unit_test(fisher_is_that_of_the_tables),
	        cmocka_unit_test(fisher_is_the_definition),
	        cmocka_unit_test(splits_say_what_they_are),
	        cmocka_unit_test(chances_are_rounded_up),
	        cmocka_unit_test(splits_are_told_as_hints),
	        cmocka_unit_test(splits_are_the_best_of_all),
	        cmocka_unit_test(memory_may_run_out),
	};
	return cmocka_run_group_tests(tests, open_arena, close_arena);
}
