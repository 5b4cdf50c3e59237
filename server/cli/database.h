/* database.h - the database file in a data folder. */
#ifndef CLI_DATABASE_H
#define CLI_DATABASE_H

#include "store/store.h"

/* DIR/fairlead.db; owned by the caller (mem_free), NULL when memory ran out. */
char *database_path(const char *folder);

/* Opens it, made if need be; says why not on standard error. NULL on failure. */
struct store *database_open(const char *folder);

/* Opens it only if it is there. */
struct store *database_open_existing(const char *folder);

/* Opens FILE, or DIR/fairlead.db, to be read alone; says why not. *path is owned
 * by the caller (mem_free). */
struct store *database_open_to_look(const char *place, char **path, int64_t *version);

#endif
