/* counted.h - a bounded cache of things that several threads read at once.
 *
 * What is kept never changes and lives in an arena of its own; borrowers are
 * counted, and what has left the cache goes with the last of them. A thing has
 * an id; whether it is still fresh is for the borrower to say. Room is made by the
 * one that was longest at rest.
 */
#ifndef CHAPTER_COUNTED_H
#define CHAPTER_COUNTED_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

/* Begins a struct that is kept; whoever makes it sets id, arena and borrowers to 1. */
struct counted {
	int64_t id;
	struct arena *arena;
	size_t borrowers; /* the cache counts as one */
	uint64_t used;    /* tick of the last use */
};

/* Gives back all of it, the arena too. */
typedef void counted_free_fn(struct counted *kept);
typedef bool counted_fresh_fn(const struct counted *kept, const void *wanted);

#define COUNTED_MOST 64 /* things in one cache */

struct counted_limits {
	size_t most;    /* things, up to COUNTED_MOST (asserted) */
	size_t bytes;   /* of their arenas together */
	size_t largest; /* bytes of one: a larger one is not kept */
};

struct counted_cache;
/* Owned; NULL: memory ran out. */
struct counted_cache *counted_cache_new(struct counted_limits limits, counted_free_fn *free_kept);
void counted_cache_free(struct counted_cache *cache); /* all given back; NULL is allowed */

/* The one of that id, when there is one and it is fresh, else NULL. To be given back. */
struct counted *counted_borrow(struct counted_cache *cache, int64_t id, counted_fresh_fn *fresh,
                               const void *wanted);
/* Keeps what the caller has just made, in place of an earlier one of that id; the
 * caller gives it back all the same. */
void counted_keep(struct counted_cache *cache, struct counted *made);
void counted_give_back(struct counted_cache *cache, struct counted *borrowed);

#endif
