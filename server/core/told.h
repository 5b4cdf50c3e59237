/* told.h - what is new to the builder of a kit: the difference between what the
 * builder has been told of each notice and what is so now.
 *
 * What has been told is kept for each notice that is not "not effective"; a
 * notice of which nothing is kept was not effective, or not there. The rules:
 *
 *  - The first comparison of a kit gives no news: everything would be new.
 *  - A notice that was not effective and is not now: never news.
 *  - Not told of before, and the list of notices changed: a new notice.
 *  - Another revision is current: revised, whatever its standing.
 *  - Told of, and cancelled since: cancelled.
 *  - Any other standing, or overdue since: the standing changed.
 *
 * What the builder does is no news to the builder: when the kit changed and the
 * list of notices did not, standings that changed are the builder's own work and are
 * passed over. What became overdue while the day changed is news all the same:
 * days pass by themselves. When kit and list both changed nobody can tell which
 * of them did it; then it is told.
 */
#ifndef CORE_TOLD_H
#define CORE_TOLD_H

#include "core/standing.h"

/* Of one notice. */
struct told {
	struct notice_id notice;
	struct revision_id revision; /* current one then; may be gone */
	enum standing_kind standing;
	bool overdue;
};

/* One notice of the list as it is now. */
struct told_now {
	struct told so;
	bool cancelled;
};

/* What changed since the builder was last told. */
struct told_since {
	bool first; /* never told of anything yet */
	bool list;  /* the notices: another generation */
	bool kit;   /* its facts or records: another version */
	bool day;
};

enum told_kind { TOLD_NEW, TOLD_REVISED, TOLD_CANCELLED, TOLD_STANDING };
#define TOLD_KINDS 4

struct told_change {
	enum told_kind kind;
	size_t now;              /* index of the notice */
	enum standing_kind from; /* TOLD_NEW: not effective */
	bool from_overdue;
};

/* Both lists in order of notice id, each notice once. In order of the list now;
 * borrowed from the arena. ST_NOMEM. Cost: the sum of the two lengths. */
enum status told_changes(struct arena *arena, const struct told *told, size_t n_told,
                         const struct told_now *now, size_t n_now, struct told_since since,
                         const struct told_change **out, size_t *count) MUST_CHECK;

/* What is to be kept once all that has been told: those of the list that are
 * not "not effective". Borrowed from the arena. ST_NOMEM. */
enum status told_after(struct arena *arena, const struct told_now *now, size_t n_now,
                       const struct told **out, size_t *count) MUST_CHECK;

bool told_equal(const struct told *a, size_t n_a, const struct told *b, size_t n_b);

#endif
