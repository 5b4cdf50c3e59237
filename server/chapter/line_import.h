/* line_import.h - a file of build lines into the database, whole or not at all. */
#ifndef CHAPTER_LINE_IMPORT_H
#define CHAPTER_LINE_IMPORT_H

#include "store/lines.h"
#include "formats/json_reader.h"

/* Reads the text and puts each line in place of its model's, in one
 * transaction of its own. ST_INVALID: reader->fault says what is wrong and
 * where; nothing is stored. *count gets how many lines there were. */
enum status lines_import(struct store *store, struct json_reader *reader, const char *text,
                         size_t len, struct member_id by, int64_t now, size_t *count) MUST_CHECK;

#endif
