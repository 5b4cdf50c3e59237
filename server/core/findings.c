#include "core/findings.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_cdf.h>

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

/* The value of Beta(a, b) that leaves that much below it, or above, by halving. GSL's own inverse
 * does not converge for some parameters that occur (0.005 of Beta(230, 2) with GSL 2.7.1) and then
 * calls its error handler, which ends the program; its distribution function has no such path for
 * a, b > 0. */
static double beta_quantile(double tail, bool upper, double a, double b)
{
	double low = 0, high = 1;

	while (high - low > 1e-13 * high) {
		double middle = low + (high - low) / 2;
		bool below = upper ? gsl_cdf_beta_Q(middle, a, b) > tail
		                   : gsl_cdf_beta_P(middle, a, b) < tail;

		if (below)
			low = middle;
		else
			high = middle;
	}
	return high;
}

struct interval findings_interval(size_t k, size_t n, double confidence)
{
	double tail = (1 - confidence) / 2, found = (double)k, not_there = (double)(n - k);
	struct interval interval = {.low = 0, .high = 1};

	assert(k <= n && confidence > 0 && confidence < 1);
	if (k > 0)
		interval.low = beta_quantile(tail, false, found, not_there + 1);
	if (k < n)
		interval.high = beta_quantile(tail, true, found + 1, not_there);
	return interval;
}
