/* kit_view.h - one kit as its pages see it: facts, records, marks of reading,
 * and every notice of the catalogue put on one of eight piles by its standing.
 *
 * Deciding costs time that grows with the catalogue, so the outcome is kept in
 * memory: a bounded, counted cache, keyed by kit, its version, that of its
 * model's build line, the generation of the notices and the day. Any change of one of these makes a
 * new view; a view itself never changes and may be read by several threads. What a page does not
 * show costs it nothing: the piles are lists in the order of the page, and a standing is decided
 * again only for what is shown.
 */
#ifndef WEB_CHAPTER_KIT_VIEW_H
#define WEB_CHAPTER_KIT_VIEW_H

#include <jansson.h>

#include "core/moment.h"
#include "core/question.h"
#include "core/shopping.h"
#include "core/standing.h"
#include "store/kit_log.h"
#include "store/kits.h"
#include "store/records.h"
#include "web/http/context.h"
#include "web/chapter/counted.h"
#include "web/http/kept_page.h"

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

/* Borrows the view of a kit for the call of use; passes on what that returns.
 * What the store says; ST_MISSING: no such kit. Whose kit it is, is not asked. */
typedef enum status kit_use_fn(struct context *c, const struct kit_view *view, void *context);
enum status kit_with_view(struct context *c, struct kit_id id, kit_use_fn *use,
                          void *context) MUST_CHECK;

/* The same for a page about the kit captured as {kit}. */
typedef enum status kit_page_fn(struct context *c, const struct kit_view *view);
enum status kit_page(struct context *c, kit_page_fn *page) MUST_CHECK;

/* A part of a page that depends on nothing but the view is made once and kept
 * with it. New reference; NULL when memory ran out. Whoever gets it must not
 * change it. */
typedef json_t *kit_part_fn(const struct kit_view *view);
json_t *kit_view_keep(const struct kit_view *view, kit_part_fn *make);

/* Where the usual page of the view is kept. Borrowed. */
struct kept_page *kit_view_page(const struct kit_view *view);

/* Decides everything into the arena; for the cache and for tests. What the
 * store says; ST_MISSING: no such kit; ST_NOMEM. */
enum status kit_view_load(struct store *store, struct arena *arena,
                          const struct catalogue *catalogue, const struct parts_book *parts,
                          struct kit_id id, day_number today, struct kit_view *out) MUST_CHECK;

/* What one notice asks for: a run of view->wanted; none unless it is left. */
const struct wanted *kit_view_wanted(const struct kit_view *view,
                                     const struct catalogue_entry *entry, size_t *count);

/* The cache, owned by struct app. */
struct counted_cache *kit_cache_new(void); /* owned: counted_cache_free; NULL: memory ran out */

#endif
