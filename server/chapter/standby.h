/* standby.h - on a box that stands by: the newest copy of the first box's database.
 *
 * Copies arrive in a folder, each under a name of its own when it is whole
 * (deploy/send-copy.sh). Once a minute the newest is looked at; one that is not
 * served yet, and is what its digest says, takes the place of what is served, as one
 * change of the database: who reads meanwhile reads the one or the other. Nothing
 * else changes anything on such a box, so there is nothing to lose.
 */
#ifndef CHAPTER_STANDBY_H
#define CHAPTER_STANDBY_H

#include "chapter/rounds.h"

struct standby;

struct standby *standby_new(const char *folder); /* borrowed; NULL: memory ran out */
void standby_free(struct standby *standby);      /* NULL is allowed */

/* When the copy that is served was made, in seconds; 0 before the first. Any thread. */
int64_t standby_as_of(struct standby *standby);

/* A round (rounds.h): takes up the newest copy if it is another. */
enum status standby_round(const struct work *work, int64_t *place) MUST_CHECK;

#endif
