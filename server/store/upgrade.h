/* upgrade.h - is a file ours, of which version, and bringing it up to date;
 * not for other layers. */
#ifndef STORE_UPGRADE_H
#define STORE_UPGRADE_H

#include "store/sql.h"

/* What an opening that failed means for its caller. */
enum status status_of_opening(int code);

/* Any SQL of ours that gives nothing back. */
enum status upgrade_exec(struct store *store, const char *sql) MUST_CHECK;

/* Is it ours, or empty and then *version 0? Reads only. ST_INVALID: neither;
 * ST_CONFLICT: a newer program wrote it. */
enum status upgrade_identify(struct store *store, int64_t *version) MUST_CHECK;

/* Runs the migrations that the file has not been through, all or none, after a
 * copy of it to FOLDER/fairlead-version-NNNN-DATE.db; of such copies the newest
 * three stay. ST_DENIED: its seals do not fit (seals.h); ST_LIMIT: the copy
 * could not be made. */
enum status upgrade_run(struct store *store, const char *path) MUST_CHECK;

#endif
