/* findings.h - what the answers to a field report add up to.
 *
 * A report says that a fault was found on a kit. Builders of other kits answer:
 * found it; looked, not there; does not fit my kit. Of one kit the latest
 * answer counts. What follows is computed from the answers that count:
 *
 *  - found of looked, with the exact (Clopper-Pearson) interval. Whoever finds
 *    a fault answers more often: the interval tells of the answers, not of all
 *    kits, and whoever shows it says so.
 *  - the state of the report, by rule.
 *  - the split of the looked-at kits that separates found from not there best,
 *    by Fisher's exact test, corrected for the number of splits tried. A hint,
 *    never a finding.
 *
 * "Does not fit" is no look. Kits are told apart by id, members too; both may
 * be gone by now.
 */
#ifndef CORE_FINDINGS_H
#define CORE_FINDINGS_H

#include "base/arena.h"
#include "base/text.h"
#include "core/facts.h"

enum finding_answer { ANSWER_FOUND, ANSWER_NOT_THERE, ANSWER_DOES_NOT_FIT };
#define FINDING_ANSWERS 3

/* "found it", "looked, not there", "does not fit my kit"; borrowed. */
const char *finding_answer_words(enum finding_answer answer);
/* The other way; false for other words. */
bool finding_answer_from_words(const char *words, enum finding_answer *out);

struct finding {
	enum finding_answer answer;
	int64_t kit;
	int64_t member;
	const struct facts *facts; /* of the kit as they were; NULL: not known */
};

/* findings in order of time: sets counts[i] for the latest of each kit. Uses
 * the arena for work; ST_NOMEM. Cost n log n. */
enum status findings_that_count(struct arena *arena, const struct finding *findings, size_t n,
                                bool *counts) MUST_CHECK;

/* Keeps those that count, in their order. Borrowed from the arena. ST_NOMEM. */
enum status findings_pick(struct arena *arena, const struct finding *findings, size_t n,
                          const struct finding **out, size_t *count) MUST_CHECK;

/* From findings that count. */
struct findings_tally {
	size_t found, not_there, does_not_fit; /* kits */
	size_t looked;                         /* found + not_there */
	size_t finders, lookers; /* different members who found it; who only looked in vain */
};
/* ST_NOMEM (counting members takes work space). */
enum status findings_tally(struct arena *arena, const struct finding *findings, size_t n,
                           struct findings_tally *out) MUST_CHECK;

enum report_state { REPORT_SINGLE, REPORT_CONFIRMED, REPORT_DISPUTED, REPORT_SETTLED };
#define REPORT_STATES 4

extern const char *const report_states[REPORT_STATES + 1]; /* in words, then NULL */
const char *report_state_words(enum report_state state);   /* "single report"; borrowed */

/* The first of these rules that holds:
 *   settled        a published notice stands for it
 *   confirmed      at least two members found it: a member's own kits do not
 *                  confirm the member's own report
 *   disputed       at least two members looked in vain; or one did, and nobody
 *                  found it
 *   single report  anything else
 * Who found it on one kit and not on another is a finder only. */
enum report_state report_state_of(const struct findings_tally *tally, bool settled);
/* Why, in words with the numbers: "Found by 3 members on 4 kits; not there on 2
 * kits; looked for in vain by 2 members." */
void report_state_reason(const struct findings_tally *tally, bool settled, struct text *out);

/* Exact two-sided interval of a proportion (Clopper and Pearson, Biometrika 26
 * (1934) 404): low is the alpha/2 quantile of Beta(k, n-k+1), high the 1-alpha/2
 * quantile of Beta(k+1, n-k), alpha = 1 - confidence; k = 0 gives low 0, k = n
 * high 1; n = 0: 0 to 1. k <= n; 0 < confidence < 1 (asserted). Within
 * 1e-10 for n up to 100,000. */
struct interval {
	double low, high;
};
struct interval findings_interval(size_t k, size_t n, double confidence);

/* The natural logarithm of n!. */
double log_factorial(size_t n);

/* Fisher's exact test of the table a b / c d (Fisher, 1934): the sum of the
 * probabilities, with all margins fixed, of every table that is no more
 * probable than this one (relative tolerance 1e-7, as R and SciPy have it).
 * Greater than 0 and at most 1; a sum too small for a double is DBL_MIN. */
double fisher_two_sided(size_t a, size_t b, size_t c, size_t d);

#define SPLIT_LEAST_LOOKED 8 /* fewer looked-at kits show no split */
#define SPLIT_HINT 0.05      /* a corrected p above this is no hint */

enum split_kind {
	SPLIT_SERIAL,
	SPLIT_PURCHASED,
	SPLIT_PLANS, /* earlier issues of the plans and later ones */
	SPLIT_ISSUE, /* one issue of the plans and all others */
	SPLIT_OPTION,
	SPLIT_LOT
};
#define SPLIT_KINDS 6

/* Kits on one side and on the other. What has an order is cut in two between
 * neighbours: `inside` are those up to `last`. Options: inside are those that
 * have it. One issue of the plans: inside are those whose plans are of `issue`, all
 * the days that they may be of in it. Left out of a cut is a kit whose side it
 * cannot tell:
 *   SERIAL, LOT       the number is not known, or is of another shape
 *   PURCHASED, PLANS  the day is not known, or may be before the cut and behind it
 *   ISSUE             the day is not known, or may be in the issue and out of it
 *   LOT               the kit has several of the part with lots on both sides, or
 *                     one whose lot is not known
 *   OPTION            nobody said whether it has it */
struct split {
	enum split_kind kind;
	struct name about; /* option, or part whose lots they are; else empty */
	size_t inside_found, inside_looked;
	size_t outside_found, outside_looked;
	size_t left_out;  /* of the looked-at kits */
	double p;         /* of this split alone */
	double corrected; /* min(1, p times the number of splits tried) (Bonferroni) */
	size_t tried;
	bool cluster_inside;           /* is the larger share inside? */
	struct serial last, next;      /* SERIAL, LOT: last inside, first outside */
	day_number last_day, next_day; /* PURCHASED, PLANS: likewise */
	struct date issue;             /* ISSUE: as a kit has it, perhaps a partial date */
};

/* The best split of findings that count: the smallest p; of equal ones (to a
 * relative 1e-7) that with fewer left out, then the first in the order of enum
 * split_kind, of names, of shapes and of the cut. Tried is every cut behind
 * the last day or number of a kit, and every option, that leaves kits on both
 * sides; shapes of serial numbers each by themselves; and every issue of the plans
 * by itself that has others before and behind it (the first and the last issue are
 * cut off already).
 *
 * *out gets it, and is untouched with *any false: fewer than SPLIT_LEAST_LOOKED
 * kits were looked at, or there is nothing to split by. Whether it is a hint is
 * the caller's to ask: corrected <= SPLIT_HINT. ST_NOMEM. Borrows from the facts.
 * Cost: sorting of each kind of value, then a handful of operations a cut. */
enum status findings_split(struct arena *arena, const struct finding *findings, size_t n,
                           struct split *out, bool *any) MUST_CHECK;

/* The side with the larger share as a line of an effectivity statement, to be
 * put below the line `model`: "serial up to WH-0145", "purchased 2017-09-24 and
 * on", "plans 2014-05", "not option tailwheel". The open side stays open. It parses
 * (core/effectivity.h) and holds for every kit of that side. Adds nothing where
 * the name cannot be written in a statement (it has a comma, say). */
void split_statement(const struct split *split, struct text *out);

/* The two sides as words behind "kits": "with serial number up to WH-0145", "with
 * plans of May 2014", "with plans of another issue than May 2014". */
void split_side_words(const struct split *split, bool inside, struct text *out);
/* The same without the name of the fact: "up to WH-0145", "2017-09-24 and
 * on", "plans 2014-05", "other plans", "with option tailwheel". */
void split_side_brief(const struct split *split, bool inside, struct text *out);

/* As a hint, with the numbers: "Perhaps it clusters: found on 7 of 8 kits with
 * serial number up to WH-0145, on 1 of 9 kits with serial number WH-0150 and on.
 * ..." */
void split_words(const struct split *split, struct text *out);

#endif
