/* work.h - what a piece of work on the chapter is given.
 *
 * A request, a step of a background job and a command all see the chapter the
 * same way: through one connection, with the notices and packing lists of one
 * generation, at one moment. Everything is borrowed for as long as the piece of
 * work lasts; what it makes goes into its arena.
 */
#ifndef CHAPTER_WORK_H
#define CHAPTER_WORK_H

#include <stdint.h>

#include "base/arena.h"
#include "core/catalogue.h"
#include "core/date.h"
#include "core/holdings.h"

struct chapter;
struct store;

struct work {
	struct chapter *chapter;
	struct store *store;
	struct arena *arena;
	const struct catalogue *catalogue; /* all current notices */
	const struct parts_book *parts;    /* packing lists and stock */
	int64_t generation;                /* of both */
	int64_t now;                       /* seconds since 1970-01-01 UTC */
	day_number today;                  /* local day */
};

#endif
