/* contribution.h - what one kit adds to the shopping list of its chapter.
 *
 * To decide a kit costs time that grows with the notices; to add up what it lacks
 * costs next to none. So what a kit adds is worked out once, as rows that are
 * small enough to be kept for every kit, and the list of the chapter is summed from
 * them.
 *
 * A row says by indexes which want of which notice it is: it holds with the
 * catalogue and the book of parts that it was made with, for the kit as it was
 * and for that day. What a want asks for is looked up when it is summed, once for
 * all kits.
 */
#ifndef CORE_CONTRIBUTION_H
#define CORE_CONTRIBUTION_H

#include "core/shopping.h"

/* 24 bytes: 10,000 kits with 100 of them are 24 MB. */
struct contribution_row {
	uint32_t entry;        /* of the catalogue */
	uint32_t want : 31;    /* material by index, then lines by index: what replaces them */
	uint32_t unstated : 1; /* a need without a number */
	int64_t lacking;       /* thousandths, as in struct shopping_row; none of lengths to cut */
	int64_t uncertain;
};

/* Lengths that the builder wants to cut besides. */
struct contribution_cut {
	const char *stock;
	const char *item;
	struct length length;
	unsigned count;
};

struct contribution {
	const struct contribution_row *rows;
	const struct contribution_cut *cuts;
	size_t n_rows, n_cuts;
};

/* The rows of what a kit wants, as wanted_list gives it; what it has in any case is
 * left out. No cuts. ST_NOMEM. */
enum status contribution_make(struct arena *arena, const struct catalogue *catalogue,
                              const struct wanted *wanted, size_t count,
                              struct contribution *out) MUST_CHECK;

/* Bytes of one block that holds all of it, and the copy into such a block, aligned
 * as for any type. The copy begins the block. */
size_t contribution_size(const struct contribution *from);
struct contribution *contribution_copy(const struct contribution *from, void *block);

struct contribution_sum {
	struct arena *arena;
	const struct catalogue *catalogue;
	const struct parts_book *book;
	struct shopping shopping;
	uint32_t *first;        /* of each entry: its first want */
	struct want_sum *wants; /* of all entries */
	size_t kits;            /* added so far */
};

/* Borrows all. What is summed lives in the arena, the catalogue and the book. ST_NOMEM. */
enum status contribution_sum_begin(struct arena *arena, const struct catalogue *catalogue,
                                   const struct parts_book *book,
                                   struct contribution_sum *out) MUST_CHECK;
/* One kit more. Memory that runs out is told at the end. Nothing is borrowed. */
void contribution_add(struct contribution_sum *sum, const struct contribution *kit);
/* sum->shopping is complete and in order. ST_NOMEM. */
enum status contribution_sum_end(struct contribution_sum *sum) MUST_CHECK;

#endif
