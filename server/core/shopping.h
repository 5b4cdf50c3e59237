/* shopping.h - what the open notices of kits ask for, and what of it must be got.
 *
 * A notice asks for its material and, for each line that is still open and to
 * be replaced, for the replacement, unless a row of the material names that
 * number; replacements come first. Where material is a replacement and some of its lines are
 * closed, only the share of the open lines is asked for; of other material nobody knows what the
 * work done so far took, so all of it is. Lengths of stock are a list of their own, for cutting.h.
 *
 * Rows of a shopping list add up needs of one number in one unit, over the
 * notices of a kit or over many kits.
 */
#ifndef CORE_SHOPPING_H
#define CORE_SHOPPING_H

#include "core/holdings.h"
#include "core/standing.h"

/* One thing that one notice asks a kit for. */
struct wanted {
	const struct catalogue_entry *entry;
	const struct notice_material *material; /* NULL: the replacement of a line */
	const char *item;                       /* words for it */
	struct need need;                       /* nothing to count where lengths are cut */
	struct supply supply;
};

/* Everything that the listed notices ask for, in their order; nothing is
 * promised twice. left holds indexes of entries. ST_NOMEM. */
enum status wanted_list(struct arena *arena, const struct parts_book *book,
                        const struct catalogue *catalogue, const uint32_t *left, size_t n_left,
                        const struct kit_state *kit, const struct stock_entry *entries,
                        size_t n_entries, const struct wanted **out, size_t *count) MUST_CHECK;

/* A record that put in a part which the kit may hold: was it taken from there? */
struct taken_ask {
	const struct record *record;
	struct name number;
};

/* Records that count, on lines to be replaced by a number which the kit holds,
 * and that no entry answers yet. ST_NOMEM. */
enum status taken_asks(struct arena *arena, const struct parts_book *book,
                       const struct catalogue *catalogue, const struct kit_state *kit,
                       const struct stock_entry *entries, size_t n_entries,
                       const struct taken_ask **out, size_t *count) MUST_CHECK;

struct shopping_row {
	struct name number; /* to order */
	struct name asked;  /* the first number or item that was asked for */
	const char *item;   /* words of the first that asked */
	struct name unit;
	int64_t lacking;                        /* thousandths, to be got in any case */
	int64_t uncertain;                      /* more, if what may be held is not */
	unsigned unstated;                      /* needs without a number: "as required" */
	unsigned kits;                          /* that need it */
	unsigned notices;                       /* different ones */
	const struct catalogue_entry **entries; /* these */
	size_t last_kit;                        /* for counting kits: index + 1 */
};

struct shopping_cut {
	struct name stock;
	const char *item;
	struct length length;
	unsigned count;
};

struct shopping {
	struct shopping_row *rows;
	size_t n_rows;
	struct shopping_cut *cuts; /* each stock and length once */
	size_t n_cuts;
	size_t room, cut_room, n_slots, n_cut_slots;
	uint32_t *slots, *cut_slots;
	bool failed; /* memory ran out */
};

/* Adds what one kit wants and lacks. Start from zeroes; kit tells kits apart. */
void shopping_add(struct arena *arena, struct shopping *shopping, size_t kit,
                  const struct wanted *wanted, size_t count);
void shopping_add_cuts(struct arena *arena, struct shopping *shopping, const struct name *stock,
                       const char *item, const struct cut *cuts, size_t count);

/* The same in two steps, for who adds up many kits (contribution.h). The index of
 * the row that such a need goes to, made if there is none; its notice is noted
 * there. False: memory ran out. */
struct shopping_ask {
	const struct catalogue_entry *entry;
	const struct name *number; /* as asked for */
	const struct name *order;
	const struct name *unit;
	const char *item;
};
bool shopping_place(struct arena *arena, struct shopping *shopping, const struct shopping_ask *ask,
                    uint32_t *row) MUST_CHECK;
void shopping_count(struct shopping_row *row, size_t kit, int64_t lacking, int64_t uncertain,
                    bool unstated);

/* Rows in order of number and unit, cuts in order of stock, longest first;
 * nothing can be added after it. */
void shopping_sort(struct shopping *shopping);

#endif
