/* parts_import.h - a file of packing lists into the database, whole or not at all. */
#ifndef CHAPTER_PARTS_IMPORT_H
#define CHAPTER_PARTS_IMPORT_H

#include "store/members.h"
#include "formats/json_reader.h"

/* Reads the text and puts what it holds in place of what is there by the same
 * name. ST_INVALID: reader->fault says what is wrong and where; nothing is
 * stored. *count gets how many packing lists, numbers and stock codes there
 * were. by and now are not kept. */
enum status parts_take_in(struct store *store, struct json_reader *reader, const char *text,
                          size_t len, struct member_id by, int64_t now, size_t *count) MUST_CHECK;

#endif
