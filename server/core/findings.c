#include "core/findings.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- words ---- */

static const char *const answers[FINDING_ANSWERS] = {
        [ANSWER_FOUND] = "found it",
        [ANSWER_NOT_THERE] = "looked, not there",
        [ANSWER_DOES_NOT_FIT] = "does not fit my kit",
};

const char *const report_states[REPORT_STATES + 1] = {
        [REPORT_SINGLE] = "single report",
        [REPORT_CONFIRMED] = "confirmed",
        [REPORT_DISPUTED] = "disputed",
        [REPORT_SETTLED] = "settled",
};

const char *finding_answer_words(enum finding_answer answer)
{
	return answers[answer];
}

bool finding_answer_from_words(const char *words, enum finding_answer *out)
{
	for (unsigned i = 0; i < FINDING_ANSWERS; i++)
		if (strcmp(answers[i], words) == 0) {
			*out = (enum finding_answer)i;
			return true;
		}
	return false;
}

const char *report_state_words(enum report_state state)
{
	return report_states[state];
}

/* ---- which count ---- */

/* A kit or a member, and where in the findings. */
struct mention {
	int64_t who;
	size_t at;
};

static int compare_mentions(const void *a, const void *b)
{
	const struct mention *x = a, *y = b;

	if (x->who != y->who)
		return x->who < y->who ? -1 : 1;
	return (x->at > y->at) - (x->at < y->at);
}

enum status findings_that_count(struct arena *arena, const struct finding *findings, size_t n,
                                bool *counts)
{
	struct mention *kits = ARENA_ARRAY(arena, struct mention, n);

	if (!kits)
		return ST_NOMEM;
	for (size_t i = 0; i < n; i++)
		kits[i] = (struct mention){findings[i].kit, i};
	qsort(kits, n, sizeof *kits, compare_mentions);
	for (size_t i = 0; i < n; i++)
		counts[kits[i].at] = i + 1 == n || kits[i + 1].who != kits[i].who;
	return ST_OK;
}

enum status findings_pick(struct arena *arena, const struct finding *findings, size_t n,
                          const struct finding **out, size_t *count)
{
	struct finding *picked = ARENA_ARRAY(arena, struct finding, n);
	bool *counts = ARENA_ARRAY(arena, bool, n);
	size_t kept = 0;

	if (!picked || !counts || findings_that_count(arena, findings, n, counts) != ST_OK)
		return ST_NOMEM;
	for (size_t i = 0; i < n; i++)
		if (counts[i])
			picked[kept++] = findings[i];
	*out = picked;
	*count = kept;
	return ST_OK;
}

/* ---- the tally ---- */

/* Members in order; each counts once, as finder if any of the member's kits had it. */
static void count_members(const struct finding *findings, const struct mention *members, size_t n,
                          struct findings_tally *tally)
{
	for (size_t i = 0; i < n;) {
		int64_t who = members[i].who;
		bool found = false;

		for (; i < n && members[i].who == who; i++)
			found |= findings[members[i].at].answer == ANSWER_FOUND;
		tally->finders += found;
		tally->lookers += !found;
	}
}

enum status findings_tally(struct arena *arena, const struct finding *findings, size_t n,
                           struct findings_tally *out)
{
	struct mention *members = ARENA_ARRAY(arena, struct mention, n);
	struct findings_tally tally = {.found = 0};

	if (!members)
		return ST_NOMEM;
	for (size_t i = 0; i < n; i++) {
		tally.found += findings[i].answer == ANSWER_FOUND;
		tally.not_there += findings[i].answer == ANSWER_NOT_THERE;
		if (findings[i].answer == ANSWER_DOES_NOT_FIT)
			tally.does_not_fit++;
		else
			members[tally.looked++] = (struct mention){findings[i].member, i};
	}
	qsort(members, tally.looked, sizeof *members, compare_mentions);
	count_members(findings, members, tally.looked, &tally);
	*out = tally;
	return ST_OK;
}

/* ---- the state ---- */

enum report_state report_state_of(const struct findings_tally *tally, bool settled)
{
	if (settled)
		return REPORT_SETTLED;
	if (tally->finders >= 2)
		return REPORT_CONFIRMED;
	if (tally->lookers >= 2 || (tally->finders == 0 && tally->lookers == 1))
		return REPORT_DISPUTED;
	return REPORT_SINGLE;
}

static void add_count(struct text *out, size_t count, const char *one)
{
	text_printf(out, "%zu %s%s", count, one, count == 1 ? "" : "s");
}

void report_state_reason(const struct findings_tally *tally, bool settled, struct text *out)
{
	text_add(out, settled ? "A published notice stands for it. " : "");
	text_add(out, tally->finders ? "Found by " : "Found by nobody");
	if (tally->finders) {
		add_count(out, tally->finders, "member");
		text_add(out, " on ");
		add_count(out, tally->found, "kit");
	}
	text_add(out, tally->not_there ? "; not there on " : "");
	if (tally->not_there)
		add_count(out, tally->not_there, "kit");
	text_add(out, tally->lookers ? "; looked for in vain by " : "");
	if (tally->lookers)
		add_count(out, tally->lookers, "member");
	text_add(out, ".");
}

/* ---- the interval ---- */

double log_factorial(size_t n)
{
	int sign; /* lgamma() would keep it in a global */

	return lgamma_r((double)n + 1, &sign);
}

/* The share below k / n of which k or more of n come to pass with the probability `tail` (< 1/2).
 * That is the quantile of Beta(k, n - k + 1): its distribution at x is the sum of the
 * probabilities of k to n out of n (DLMF 8.17.5). At k / n the sum is at least 1/2, since the
 * median of a binomial is not below its rounded mean; up to there each term is smaller than the
 * one before, so that the sum loses nothing and soon ends. Found by halving. */
static double share_below(size_t k, size_t n, double tail)
{
	double low = 0, high = (double)k / (double)n;
	double ways = log_factorial(n) - log_factorial(k) - log_factorial(n - k);

	while (high - low > 1e-13 * high) {
		double x = low + (high - low) / 2, odds = x / (1 - x);
		double term = exp(ways + (double)k * log(x) + (double)(n - k) * log1p(-x)),
		       sum = term;

		for (size_t i = k; i < n && sum <= tail && term > sum * DBL_EPSILON / 8; i++) {
			term *= odds * (double)(n - i) / (double)(i + 1);
			sum += term;
		}
		if (sum < tail)
			low = x;
		else
			high = x;
	}
	return high;
}

struct interval findings_interval(size_t k, size_t n, double confidence)
{
	double tail = (1 - confidence) / 2;

	assert(k <= n && confidence > 0 && confidence < 1);
	return (struct interval){.low = k > 0 ? share_below(k, n, tail) : 0,
	                         .high = k < n ? 1 - share_below(n - k, n, tail) : 1};
}
