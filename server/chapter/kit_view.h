/* kit_view.h - one kit as its pages see it: facts, records, marks of reading,
 * and every notice of the catalogue put on one of eight piles by its standing.
 *
 * The facts are borrowed from memory (kits.h), the rest is read; then every
 * notice is decided once, which costs some 50 ns for each. The piles are lists
 * in the order of the page; a standing is decided again for what is shown.
 */
#ifndef CHAPTER_KIT_VIEW_H
#define CHAPTER_KIT_VIEW_H

#include "chapter/kits.h"
#include "core/moment.h"
#include "core/question.h"
#include "core/shopping.h"
#include "core/standing.h"
#include "store/kit_log.h"
#include "store/kits.h"
#include "store/records.h"

/* Every notice lies on exactly one. */
enum kit_pile {
	PILE_LEFT, /* open, or repeating and overdue: standing_is_left */
	PILE_ASK,
	PILE_REPEATING, /* and not due yet */
	PILE_DONE,
	PILE_CONFORMS,
	PILE_IN_THE_PLANS,
	PILE_REPLACED,
	PILE_NOT_EFFECTIVE
};
#define KIT_PILES 8

struct kit_view {
	const struct held_kit *held; /* kit_view_done gives it back */
	struct kit kit;
	struct facts facts;           /* notices_done follows from the records */
	const struct record *records; /* all, in order of entry */
	size_t n_records;
	struct kit_use use; /* the log that counts, and events to come */
	struct kit_state state;
	const struct reading *readings; /* in order of notice id */
	size_t n_readings;
	const struct catalogue *catalogue;
	day_number today;
	/* Indexes of catalogue entries: mandatory first, then required notices
	 * before those that need them, then by date of issue and number. */
	const uint32_t *pile[KIT_PILES];
	size_t piled[KIT_PILES];
	/* What the pile of what is left asks for, in its order, and what of it the
	 * kit holds; the builder's entries, oldest first; records to ask about. */
	const struct parts_book *parts;
	const struct stock_entry *stock;
	size_t n_stock;
	const struct wanted *wanted;
	size_t n_wanted;
	const struct taken_ask *asks;
	size_t n_asks;
	const struct question *questions; /* best first */
	size_t n_questions;
	const struct line *line;   /* build line of its model; NULL: there is none */
	struct plan plan;          /* with a line: for pile[PILE_LEFT], in its order */
	const uint32_t *by_moment; /* with a line: pile[PILE_LEFT] in the order of its moments */
};

enum kit_pile kit_pile_of(const struct standing *standing);

/* Decides again; cheap for one notice. entry is of view->catalogue. */
struct standing kit_view_standing(const struct kit_view *view, const struct catalogue_entry *entry);

/* Has its builder read the notice: not, in an earlier revision, or as it is now? */
enum kit_reading { READING_NOT, READING_REVISED, READING_DONE };
enum kit_reading kit_view_reading(const struct kit_view *view, const struct notice *notice);

/* Decides everything, into work->arena; kit_view_done after use, failed or not.
 * What the store says; ST_MISSING: no such kit; ST_NOMEM. Whose kit it is, is not
 * asked. */
enum status kit_view_load(const struct work *work, struct kit_id id,
                          struct kit_view *out) MUST_CHECK;
void kit_view_done(struct kit_view *view);

/* The model's line, compiled into the arena. ST_MISSING: it has none.
 * ST_INVALID: what is stored breaks a rule of line_make; ST_NOMEM. */
enum status line_load(struct store *store, struct arena *arena, struct line_id id, struct line *out,
                      int64_t *version) MUST_CHECK;

/* Where the notice stands in the plan; false: there is no line, or it is not left to do. */
bool kit_plan_find(const struct kit_view *view, const struct catalogue_entry *entry, size_t *out);

/* The entry of the plan's i-th notice. */
const struct catalogue_entry *kit_plan_entry(const struct kit_view *view, size_t i);

/* What one notice asks for: a run of view->wanted; none unless it is left. */
const struct wanted *kit_view_wanted(const struct kit_view *view,
                                     const struct catalogue_entry *entry, size_t *count);

#endif
