/* catalogue_holder.h - the catalogue that all requests share.
 *
 * Immutable and counted: a request borrows it, and a newer one takes its place
 * when the database's generation counter differs from the held one's. The old
 * one is freed by its last borrower. Also sees what another process imported.
 */
#ifndef WEB_CATALOGUE_HOLDER_H
#define WEB_CATALOGUE_HOLDER_H

#include "core/catalogue.h"

struct store;
struct catalogue_holder;
struct held_catalogue;

struct catalogue_holder *catalogue_holder_new(void); /* owned; NULL: memory ran out */
void catalogue_holder_free(struct catalogue_holder *holder);

/* The current catalogue, read anew if need be; returned with catalogue_return.
 * What the store says when reading fails; ST_NOMEM. */
enum status catalogue_borrow(struct catalogue_holder *holder, struct store *store,
                             struct held_catalogue **out) MUST_CHECK;
void catalogue_return(struct catalogue_holder *holder, struct held_catalogue *held);

const struct catalogue *held_catalogue_of(const struct held_catalogue *held);

#endif
