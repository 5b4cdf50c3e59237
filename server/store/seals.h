/* seals.h - hashes that show whether the database was changed outside the
 * program; not for other layers, which ask backup.h.
 *
 * Every table is sealed but those named at the foot of the list in seals.c.
 * For each thing that rows belong to (a kit, a revision, a member) and each
 * table the store keeps one seal: the BLAKE2b-256 hashes of its rows, XORed.
 * Triggers keep the seals in the same transaction as the rows. They work on
 * what changes alone, so a seal that does not fit stays so, whatever is
 * written later, until somebody has looked and calls seal_all. A program that
 * does not bring the two functions seal_row and seal_xor cannot write at all
 * without taking the triggers off, which is seen too.
 *
 * A log that is only added to can be chained as well: each entry's hash covers
 * the one before, so that a change tells the very entry. Columns that refer to
 * other tables (who did it) are left out of the chain, since they are emptied
 * when a member goes; their seal covers them.
 *
 * To seal a new table, add its row to SEALED in seals.c; for a log with ids,
 * to CHAINED too. Nothing else is to be done: the upgrade makes the triggers.
 * No statement may say REPLACE on a sealed table, because SQLite then takes
 * rows out without asking the triggers.
 *
 * These are guards against failing disks and careless hands. Who can write the
 * file and knows this text can make seals that fit.
 */
#ifndef STORE_SEALS_H
#define STORE_SEALS_H

#include "base/text.h"
#include "store/store.h"

struct sqlite3;

/* Gives a connection the functions that the triggers call. */
enum status seal_functions(struct sqlite3 *db) MUST_CHECK;

/* Takes the triggers off; without them tables may change their columns. */
enum status seals_off(struct store *store) MUST_CHECK;
/* Puts them on, for the columns that there are now. */
enum status seals_on(struct store *store) MUST_CHECK;
/* Takes all that stands in the database as it is and seals it anew. In one act. */
enum status seal_all(struct store *store) MUST_CHECK;

struct seal_fault {
	const char *of;   /* "kit", "" for the table as a whole; never freed */
	int64_t owner;    /* its id */
	const char *what; /* "options"; "" for the thing itself */
	int64_t entry;    /* of a chained log: the first that does not fit; else 0 */
	bool off;         /* the triggers are not there */
};

#define SEAL_FAULTS_SHOWN 20

struct seal_report {
	struct seal_fault faults[SEAL_FAULTS_SHOWN];
	size_t shown;
	int64_t found; /* in all */
	int64_t rows;  /* looked at */
};

enum seal_part {
	SEAL_ALL_BUT_FILES, /* quick: 10,000 kits in about a second */
	SEAL_WITH_FILES
};

/* Adds to *out, which the caller has zeroed. ST_INVALID: something does not
 * fit. What a version of this program before seals wrote has none and fits. */
enum status seals_check(struct store *store, enum seal_part part,
                        struct seal_report *out) MUST_CHECK;

/* "kit 12, options: changed outside the program" */
void seal_fault_words(const struct seal_fault *fault, struct text *out);

#endif
