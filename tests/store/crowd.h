/* crowd.h - a chapter with at least two of everything, for tests of what an
 * operation leaves alone.
 *
 * Beside the world of fixture.h, which the operations work on, stand the
 * builders dan and eve with things of every kind, and of each thing that has
 * states at least one in each state. What dan has is like what bob has, so that
 * a term that is missing in a statement hits it.
 */
#ifndef TESTS_STORE_CROWD_H
#define TESTS_STORE_CROWD_H

#include "fixture.h"

#include "store/acts.h"
#include "store/addresses.h"
#include "store/mail.h"
#include "store/news.h"
#include "store/second_factors.h"
#include "store/under_way.h"

int crowd_make(void **state); /* cmocka set-up, as world_make; world_end ends it */

/* Mail with that state, the newest. */
struct outbox_id mail_in(struct world *w, enum mail_state state);

/* A copy of a whole database, to go back to and to compare with. Owned:
 * copy_free. */
struct copy;
struct copy *copy_take(struct store *store);
void copy_restore(const struct copy *copy, struct store *store); /* no transaction open */
bool copy_same(const struct copy *copy, struct store *store);
void copy_free(struct copy *copy);

/* Rows that are there no more, new ones and changed ones, a line each:
 * "table -key", "table +key column=value ...", "table ~key column=value ...".
 * What a row holds is told as far as it is not 0, empty or NULL. */
void copy_changes(const struct copy *copy, struct store *store, struct text *out);

#endif
