/* json_parts.h - the book of parts as a JSON file, "fairlead parts 1" of seed/FORMAT.md. */
#ifndef CHAPTER_JSON_PARTS_H
#define CHAPTER_JSON_PARTS_H

#include "core/holdings.h"
#include "formats/json_reader.h"

/* Reads a whole file: every field; names that stand twice; lists that overlap
 * and numbers that run in a circle, in the file and together with what is known
 * and stays. The reader says what is wrong first and where. */
void json_read_parts(struct json_reader *reader, const json_t *file, const struct parts_book *known,
                     struct parts_source *out);

/* A number above 0 (from 0 when zero is true) with at most three decimals, as thousandths. */
int64_t json_read_quantity(struct json_reader *reader, const json_t *object, const char *key,
                           bool zero);

/* The same file from a book; new reference, NULL when memory ran out. */
json_t *json_from_parts(const struct parts_book *book);

#endif
