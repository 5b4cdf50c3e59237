/* files.h - bytes of attachments and pictures, kept once however often they
 * come; not for other layers. The last name takes the bytes along (triggers of
 * the tables that name them).
 */
#ifndef STORE_FILES_H
#define STORE_FILES_H

#include "store/sql.h"

/* *id: of the row in files that holds these bytes, new or there already.
 * ST_CONFLICT: none, or more than 10 MiB. */
enum status file_keep(struct store *store, const void *bytes, size_t size, int64_t *id) MUST_CHECK;

#endif
