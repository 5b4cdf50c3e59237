/* catalogue_holder.h - the catalogue and the book of parts that all requests share.
 *
 * Immutable and counted: a request borrows it, and a newer one takes its place
 * when the database's generation counter differs from the held one's. The old
 * one is freed by its last borrower. Also sees what another process imported.
 */
#ifndef CHAPTER_CATALOGUE_HOLDER_H
#define CHAPTER_CATALOGUE_HOLDER_H

#include "core/catalogue.h"
#include "core/holdings.h"

struct store;
struct catalogue_holder;

struct catalogue_holder *catalogue_holder_new(void);         /* owned; NULL: memory ran out */
void catalogue_holder_free(struct catalogue_holder *holder); /* all given back; NULL allowed */

struct held_catalogue {
	const struct catalogue *catalogue;
	const struct parts_book *parts; /* of that generation or newer */
	int64_t generation;
};

/* The catalogue of that generation or a newer one, read from the store if it is
 * not held; given back with catalogue_return. What the store says when reading
 * fails; ST_NOMEM. */
enum status catalogue_borrow(struct catalogue_holder *holder, struct store *store,
                             int64_t generation, struct held_catalogue **out) MUST_CHECK;
/* Borrows once more what the caller has borrowed. */
struct held_catalogue *catalogue_again(struct catalogue_holder *holder,
                                       struct held_catalogue *held);
void catalogue_return(struct catalogue_holder *holder, struct held_catalogue *held);

#endif
