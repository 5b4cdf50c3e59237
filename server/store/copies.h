/* copies.h - what is known of copies of the database: when the last good one
 * was made, and which failed. The command that makes them enters them; the
 * newest fifty are kept. */
#ifndef STORE_COPIES_H
#define STORE_COPIES_H

#include "store/store.h"

struct copy_entry {
	int64_t at;   /* when it ended */
	int64_t size; /* bytes; 0: there is none */
	const char *path;
	const char *fault; /* "" for a good one */
};

struct copies {
	struct copy_entry good; /* the last good one; at 0: none was ever made */
	struct copy_entry last; /* the last one, good or not; at 0 likewise */
};

/* fault is cut where it is longer than the column takes. */
enum status copy_enter(struct store *store, const struct copy_entry *entry) MUST_CHECK;
enum status copies_read(struct store *store, struct arena *arena, struct copies *out) MUST_CHECK;

/* The last one, if it failed and the admins have not been told. ST_MISSING. */
enum status copy_untold(struct store *store, struct arena *arena,
                        struct copy_entry *out) MUST_CHECK;
/* From now on they have been. */
enum status copies_told(struct store *store) MUST_CHECK;

#endif
