/* standing.h - where one notice stands for one kit.
 *
 * Rules in this order: not effective, ask, replaced, in the plans, conforms,
 * done, repeating, open. Plans dated after a notice prove nothing: only the
 * issuer's statement that plans from some issue carry the change does.
 * Having done the work never changes effectivity. Deciding allocates nothing.
 */
#ifndef CORE_STANDING_H
#define CORE_STANDING_H

#include "core/catalogue.h"
#include "core/record.h"

enum standing_kind {
	STANDING_NOT_EFFECTIVE,
	STANDING_ASK,
	STANDING_REPLACED,
	STANDING_IN_THE_PLANS,
	STANDING_CONFORMS,
	STANDING_DONE,
	STANDING_REPEATING,
	STANDING_OPEN
};
#define STANDING_KINDS 8

extern const char *const standing_kinds[STANDING_KINDS + 1]; /* in words, then NULL */
const char *standing_words(enum standing_kind kind);         /* "in the plans"; borrowed */

/* One kit: its facts, its log, and the records that count, ordered by notice
 * number and then as they were entered. */
struct kit_state {
	const struct facts *facts;
	const struct record *const *records;
	size_t n_records;
	struct kit_use use;
};

/* From all records of a kit in order of entry; borrowed from the arena and
 * from facts, records and log (NULL: none). ST_NOMEM. */
enum status kit_state_make(struct arena *arena, const struct facts *facts,
                           const struct record *records, size_t n_records,
                           const struct kit_use *use, struct kit_state *out) MUST_CHECK;

struct standing {
	enum standing_kind kind;
	bool cancelled;      /* not effective because the issuer cancelled it */
	bool overdue;        /* open or repeating, and the limit has passed */
	bool terminated;     /* done because of `other`, a terminating action */
	bool reopened;       /* open although it was done to a revision that no longer counts */
	unsigned lines;      /* affected lines, at least 1 */
	unsigned left;       /* of these, not closed */
	struct due_time due; /* open or repeating: when the next action is due */
	const struct catalogue_entry *other; /* superseding or terminating notice */
	const struct record *last;           /* latest record that counts, NULL if none */
};

/* today: for repeats. */
struct standing standing_decide(const struct catalogue *catalogue,
                                const struct catalogue_entry *entry, const struct kit_state *kit,
                                day_number today);

/* How one line is closed. */
enum line_state {
	LINE_OPEN,
	LINE_RECORDED,
	LINE_PART_FITTED,  /* the replacement is fitted */
	LINE_OTHER_LOT,    /* the part fitted is of a lot that is not affected */
	LINE_NOTHING_TO_DO /* use as is */
};

/* line: index below max(1, n_lines). *by gets the record for LINE_RECORDED. */
enum line_state standing_line(const struct catalogue_entry *entry, size_t line,
                              const struct kit_state *kit, const struct record **by);

/* Must it be acted on: open, or repeating and overdue? */
bool standing_is_left(const struct standing *standing);

/* The reason in words, naming the fact and the condition. */
void standing_reason(const struct catalogue_entry *entry, const struct standing *standing,
                     const struct kit_state *kit, struct text *out);

/* Sets facts->notices_done to the listed notices whose every line is closed by
 * a record that still counts, and notices_known: what is not recorded here is
 * not done. Borrowed from the arena; ST_NOMEM. */
enum status standing_fill_done(struct arena *arena, const struct catalogue *catalogue,
                               const struct kit_state *kit, struct facts *facts) MUST_CHECK;

#endif
