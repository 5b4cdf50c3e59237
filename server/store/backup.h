/* backup.h - copies of the running database, and the proof that it is sound. */
#ifndef STORE_BACKUP_H
#define STORE_BACKUP_H

#include "store/records.h"

/* One consistent copy while others work. ST_CONFLICT: there is a file at the
 * path already; it is left as it is. */
enum status backup_to(struct store *store, const char *path) MUST_CHECK;

struct verify_report {
	const char *database; /* "" or the first fault that SQLite names; borrowed from the arena */
	bool chain_broken;
	struct chain_fault chain; /* meaningful when chain_broken */
	int64_t records;          /* records checked and found to fit */
};

/* PRAGMA integrity_check, foreign keys, every chain of records. ST_OK:
 * sound; ST_INVALID: not, and *out says what; it is filled in both cases. */
enum status backup_verify(struct store *store, struct arena *arena,
                          struct verify_report *out) MUST_CHECK;

#endif
