/* moment.h - when a notice must be done on one kit, and what it costs later.
 *
 * A notice names affected steps. Where they stand on the build line and what
 * is built of it give the moment:
 *
 *     fold in       no affected step is built yet: build the first one, `at`, so
 *     before        built, and nothing built covers them yet; `at` is the first
 *                   step to come that will: the last good moment is before it
 *     buried        something built covers them: `open` are the steps to open
 *                   again; what covers these, too, and so on
 *     any time      built, and no step of the line ever covers them
 *     cannot tell   `lack` says why
 *
 * The worst one decides: one buried step makes a notice buried. Nothing is
 * guessed in the builder's favour: an affected step that is not built but lies
 * behind a closed zone is buried; steps that the line does not know are
 * counted (n_strange); as long as the builder has not said that all that is
 * built is marked, only "buried" is certain, and may grow.
 *
 * Doing a step never makes a notice cheaper, and the joint cost of several
 * never exceeds the sum, because openings are unions of sets.
 */
#ifndef CORE_MOMENT_H
#define CORE_MOMENT_H

#include "base/text.h"
#include "core/facts.h"
#include "core/line.h"
#include "core/notice.h"

/* In the order of a list. */
enum moment_kind {
	MOMENT_FOLD_IN,
	MOMENT_BEFORE,
	MOMENT_BURIED,
	MOMENT_CANNOT_TELL,
	MOMENT_ANY_TIME
};
#define MOMENT_KINDS 5

enum moment_lack {
	LACK_NOTHING,
	LACK_STEPS,      /* the notice names none */
	LACK_LINE_STEPS, /* the line knows none of those named */
	LACK_SOME_STEPS, /* it knows some, which nothing ever covers; the others might be */
	LACK_PROGRESS    /* the builder has not said that all that is built is marked */
};

/* "fold in", "before it is closed", "buried", ...; borrowed. */
const char *moment_words(enum moment_kind kind);

/* Whole sentences for the notice's page; a few words for a list. */
struct moment;
void moment_sentence(const struct line *line, const struct moment *moment, struct text *out);
void moment_short(const struct line *line, const struct moment *moment, struct text *out);

/* What is built, and how fast. */
#define PACE_STEPS 3 /* dated to the day; no pace from fewer */

struct line_progress {
	const uint64_t *done;
	bool known; /* what is not in done is not built */
	uint32_t steps_done;
	int64_t hours_done, hours_all; /* hundredths, as estimated in the line */
	uint32_t here;                 /* the first step in order that is not built; LINE_NO_STEP */
	/* The hours of the dated steps after the first day, and the days since. */
	uint32_t n_dated;
	bool has_pace;
	int64_t pace_hours;
	int32_t pace_days;
};

/* today: dates after it do not count for the pace. ST_NOMEM. */
enum status progress_make(struct arena *arena, const struct line *line, const struct facts *facts,
                          day_number today, struct line_progress *out) MUST_CHECK;

/* Work left until `step` can be begun: what it needs and is not built. */
struct work_left {
	uint32_t steps;
	int64_t hours; /* hundredths, one after the other */
	int64_t path;  /* the longest chain of needs in it: with many hands not less than this */
	bool has_date;
	day_number date; /* today and the days that the hours take at this builder's pace */
};

/* ST_NOMEM. */
enum status progress_left(struct arena *arena, const struct line *line,
                          const struct line_progress *progress, uint32_t step, day_number today,
                          struct work_left *out) MUST_CHECK;

struct moment {
	enum moment_kind kind;
	enum moment_lack lack; /* with buried: LACK_PROGRESS or LACK_NOTHING */
	/* Fold in: that step. Before: the step that covers. Buried: the step done that covered
	 * it first. Otherwise LINE_NO_STEP. */
	uint32_t at;
	struct work_left left;    /* until at: fold in and before */
	const uint64_t *affected; /* steps of the line that the notice names */
	const uint64_t *open;     /* steps to open again: empty unless buried */
	uint32_t n_affected, n_strange;
	uint32_t n_open;
	int64_t open_hours;
	uint32_t dearer; /* the next step in order that would add to what is to be opened */
	/* If it is left until all is built. */
	uint32_t n_late;
	int64_t late_hours;
};

/* All moments of a kit for a list of notices. */
struct plan {
	const struct line *line;
	struct line_progress progress;
	const struct moment *moments; /* as the notices given */
	const uint32_t *order; /* indexes: what is ahead first, in the order of building; then
	                        * buried, fewest hours first; cannot tell; any time */
	size_t count;
};

/* Borrows line and notices. Notices that come first stay first where moments
 * are equal. ST_NOMEM. */
enum status plan_make(struct arena *arena, const struct line *line, const struct facts *facts,
                      const struct notice *const *notices, size_t count, day_number today,
                      struct plan *out) MUST_CHECK;

/* While it is open: is `other` served by what is opened for `one`? For a
 * notice that is to be done before a step: must the other be done before the
 * same one? */
bool plan_serves(const struct plan *plan, size_t one, size_t other);

/* The joint cost of a choice of notices: what all of them need opened is
 * opened once. */
struct joint_cost {
	const uint64_t *open;
	uint32_t n_open;
	int64_t hours; /* of the union */
	int64_t sum;   /* of each on its own */
	size_t buried, unsure;
};

/* chosen: indexes of notices, each once. unsure: how many cannot be told. ST_NOMEM. */
enum status plan_joint(struct arena *arena, const struct plan *plan, const size_t *chosen,
                       size_t count, struct joint_cost *out) MUST_CHECK;

#endif
