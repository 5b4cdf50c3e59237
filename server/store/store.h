/* store.h - one connection to the database, the pool of them, transactions.
 *
 * The store keeps everything that a chapter knows in one SQLite file. Callers
 * see typed ids, core structs and enum status; no SQL leaves this layer. A
 * connection belongs to one thread at a time: take it from the pool, give it
 * back.
 *
 * Every function of the store passes these up, besides what its comment
 * names: ST_NOMEM, ST_BUSY (the database stayed locked, store_set_patience),
 * ST_IO (disk or file at fault). A rule of the database that a value breaks
 * (length, form, a value used twice, a thing that does not exist) is
 * ST_CONFLICT. A function that changes more than one row is all or nothing,
 * inside the caller's transaction too.
 *
 * Unless said otherwise texts given are borrowed for the call, never NULL, well-formed
 * UTF-8; times are seconds since 1970-01-01 UTC; what comes out is borrowed
 * from the arena given.
 */
#ifndef STORE_STORE_H
#define STORE_STORE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/status.h"

struct store;

/* Opens or makes the file and brings it up to this program's version.
 * ST_INVALID: not a database of this program; ST_CONFLICT: written by a newer
 * version of it; of one to be brought up to date ST_DENIED: it was changed
 * outside the program (seals.h), ST_LIMIT: no copy of it could be made beside it
 * before. Each is left untouched. Owned: store_close. */
enum status store_open(const char *path, struct store **out) MUST_CHECK;

/* Opens the file to be read alone, whatever its version, and leaves it and its
 * folder as they were. ST_MISSING: there is none; ST_INVALID: empty, half written
 * or not ours; ST_CONFLICT: a newer program wrote it. Owned: store_close. */
enum status store_open_to_look(const char *path, struct store **out, int64_t *version) MUST_CHECK;
void store_close(struct store *store); /* NULL is allowed; no transaction open */

/* Number of the newest migration that this program holds. */
int store_version(void);
/* Of how many migrations is the file that is open? */
enum status store_file_version(struct store *store, int64_t *out) MUST_CHECK;

/* Is the file at its path no more, or another there? Then every write fails. */
bool store_has_moved(struct store *store);
/* Writes a little that stays as large, to its end on the disk: ST_OK when the
 * database takes what members send. ST_BUSY: another writes just now, so it does. */
enum status store_try_write(struct store *store, int64_t now) MUST_CHECK;

/* While on, every change fails with ST_DENIED: a second wall for requests
 * that only read. */
enum status store_set_read_only(struct store *store, bool on) MUST_CHECK;

/* For whom the connection acts from now on, and when, as the log of acts tells it
 * (acts.h): a member's id; 0, as at first: the box's own command line. */
void store_act_for(struct store *store, int64_t member, int64_t now);

/* How long, in milliseconds, a change waits for another that holds the database
 * before it is ST_BUSY; gives back what it was. Without patience not at all: for what may as
 * well be left undone. */
#define STORE_PATIENCE 5000
#define STORE_NO_PATIENCE 0
int store_set_patience(struct store *store, int milliseconds);

/* Transactions do not nest. begin takes the write lock at once. A commit that
 * fails has rolled back. rollback without one open is a no-op, so that one
 * clean-up serves all exits. */
#define store_begin(store) store_begin_at((store), __FILE__, __LINE__)
enum status store_begin_at(struct store *store, const char *file, int line) MUST_CHECK;
enum status store_commit(struct store *store) MUST_CHECK;
void store_rollback(struct store *store);

/* What is read between the two is one state of the whole database, whoever
 * writes meanwhile. They pair up inside one call and may nest. The second gives back
 * status, or why the end failed. */
enum status store_begin_reading(struct store *store) MUST_CHECK;
enum status store_end_reading(struct store *store, enum status status) MUST_CHECK;

/* Paging of lists. */
struct page {
	int64_t limit;  /* 1 to 1000 */
	int64_t offset; /* from 0 */
};

/* A fixed number of connections, handed to threads one at a time. */
struct store_pool;
enum status store_pool_new(const char *path, size_t connections,
                           struct store_pool **out) MUST_CHECK;
void store_pool_free(struct store_pool *pool); /* all given back; NULL is allowed */

/* Waits until one is free. Never NULL. */
struct store *store_take(struct store_pool *pool);
/* Rolls back what is still open, allows changes again, acts for nobody, is patient. */
void store_give(struct store_pool *pool, struct store *store);

/* Test seam: the n-th SQL step from now on (1 = the next) of this connection
 * fails as a full disk does, once; 0 ends it. */
void store_fail_step(struct store *store, size_t n);
bool store_step_failed(const struct store *store); /* was that step reached? */

#endif
