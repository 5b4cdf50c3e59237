/* backup.h - copies of the running database, and the proof that it is sound. */
#ifndef STORE_BACKUP_H
#define STORE_BACKUP_H

#include "store/copy_file.h"
#include "store/records.h"
#include "store/seals.h"

/* One consistent copy while others work; its size in bytes. Whatever goes wrong,
 * and whoever ends the program, nothing is left at the path but a whole copy;
 * PATH.b2 is its digest (copy_file.h). ST_CONFLICT: there is a file at the path
 * already; it is left as it is. ST_BUSY: somebody else is making that copy. */
enum status backup_to(struct store *store, const char *path, int64_t *size) MUST_CHECK;

/* Puts what a whole copy holds in the place of all that the database holds, as one
 * change. ST_INVALID: the copy is not what its digest says, or is none of ours;
 * ST_CONFLICT: another version of the program made it. The connection is in no
 * transaction. */
enum status backup_take(struct store *store, const char *path) MUST_CHECK;

struct verify_report {
	const char *database; /* "" or the first fault that SQLite names; borrowed from the arena */
	bool chain_broken;
	struct chain_fault chain; /* meaningful when chain_broken */
	int64_t records;          /* records checked and found to fit */
	struct seal_report seals; /* what was changed outside the program */
};

/* PRAGMA integrity_check, foreign keys, every chain of records, every seal.
 * ST_OK: sound; ST_INVALID: not, and *out says what; it is filled in both
 * cases. Changes nothing. */
enum status backup_verify(struct store *store, struct arena *arena,
                          struct verify_report *out) MUST_CHECK;

/* The quick part of it: all seals but those of files. ST_INVALID as above. */
enum status backup_look(struct store *store, struct seal_report *out) MUST_CHECK;

/* Takes the database as it stands: what was told to be changed is told no more. */
enum status backup_seal_anew(struct store *store) MUST_CHECK;

#endif
