/* rounds.h - work that nobody waits for: telling of news, sending mail, long lists.
 *
 * One thread goes round a table of functions, with a connection of the pool.
 * It is woken after every request that wrote, and at least once a minute for the
 * change of the day. A function does a small piece of work at each call, so that
 * requests never wait long for the database, and keeps nothing in memory that it
 * cannot do without: what is left undone, by a failure or an end of the program, is
 * found again in the database the next time. A failure is logged, and what failed
 * waits for the next round; all else goes on.
 */
#ifndef CHAPTER_ROUNDS_H
#define CHAPTER_ROUNDS_H

#include "chapter/work.h"

struct chapter;

/* The arena is empty at each call. place: where the call before left off, 0 at the
 * start; to be set to 0 when nothing is left to do now, else the function is called
 * again. After a failure too, when it was moved past what failed. */
typedef enum status round_fn(const struct work *work, int64_t *place);

struct round {
	const char *name; /* for the log */
	round_fn *run;
};

/* The thread, owned by struct chapter. */
struct rounds;
/* Goes round that table, which outlives it: a mail server that does not answer holds up no
 * other table. Owned, no thread yet; NULL: memory ran out. */
struct rounds *rounds_new(struct chapter *chapter, const struct round *table, size_t count);
enum status rounds_start(struct rounds *rounds) MUST_CHECK; /* ST_NOMEM: no thread to be had */
void rounds_wake(struct rounds *rounds);                    /* there may be work */
bool rounds_end(struct rounds *rounds);                     /* shall a long piece of work stop? */
/* Stops the thread after its piece of work. NULL is allowed. */
void rounds_free(struct rounds *rounds);

/* Every function until nothing is left, in the caller's thread. The first
 * failure, after all have had their turn. */
enum status rounds_run(struct rounds *rounds) MUST_CHECK;

#endif
