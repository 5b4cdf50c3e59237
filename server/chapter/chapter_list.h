/* chapter_list.h - the shopping list of the chapter, worked out in the background.
 *
 * Deciding thousands of kits takes seconds; no request waits for that, and none
 * pays for it. Whoever looks gets the list that was worked out last, with the time
 * that it is of, or is told how far the first one is; and if something has changed
 * since, asks for another by looking. The round then decides the kits that have
 * changed and adds all up (core/contribution.h): what a kit adds is kept until the
 * kit, the notices, the packing lists or the day change.
 */
#ifndef CHAPTER_CHAPTER_LIST_H
#define CHAPTER_CHAPTER_LIST_H

#include "chapter/work.h"
#include "core/shopping.h"

/* One state of it; never changes. */
struct chapter_sum {
	struct shopping shopping;
	size_t kits; /* counted in */
	size_t all;
	int64_t at; /* when it was added up */
	const struct parts_book *parts;
};

struct chapter_list;
struct chapter_list *chapter_list_new(struct chapter *chapter); /* owned; NULL: memory ran out */
void chapter_list_free(struct chapter_list *list); /* all given back; NULL is allowed */

struct chapter_look {
	const struct chapter_sum *sum; /* NULL: there is none yet */
	bool fresh;                    /* nothing has changed since */
	size_t done, todo;             /* kits, of the work that goes on */
};

/* What there is now; asks for what there is not. Give it back. What the store says. */
enum status chapter_list_look(const struct work *w, struct chapter_look *out) MUST_CHECK;
void chapter_list_give_back(const struct work *w, const struct chapter_sum *sum); /* or NULL */

/* A piece of the work, for rounds.h. */
enum status chapter_list_round(const struct work *w, int64_t *place);

#endif
