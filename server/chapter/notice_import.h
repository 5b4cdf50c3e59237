/* notice_import.h - a file of notices into the database, whole or not at all. */
#ifndef CHAPTER_NOTICE_IMPORT_H
#define CHAPTER_NOTICE_IMPORT_H

#include "store/notices.h"
#include "formats/json_reader.h"

/* Reads the text and stores every notice as published by `by` in one
 * transaction of its own. ST_INVALID: reader->fault says what is wrong and
 * where; nothing is stored. *count gets how many notices there were. */
enum status notices_import(struct store *store, struct json_reader *reader, const char *text,
                           size_t len, struct member_id by, int64_t now, size_t *count) MUST_CHECK;

/* All published notices with all their revisions; new reference in *out. */
enum status notices_export(struct store *store, struct arena *arena, json_t **out) MUST_CHECK;

#endif
