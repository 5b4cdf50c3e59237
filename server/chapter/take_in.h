/* take_in.h - a file of any of our formats into the database.
 *
 * The "format" key of the file says which it is; each format has its reader,
 * which takes a file whole or refuses it whole. A new format is one more row
 * of the table in take_in.c.
 */
#ifndef CHAPTER_TAKE_IN_H
#define CHAPTER_TAKE_IN_H

#include "store/members.h"
#include "formats/json_reader.h"

struct taken {
	size_t count;
	const char *what; /* "notice", "build lines": in words, for that count; borrowed */
	const char *path; /* where what was taken in can be seen */
};

/* ST_INVALID: reader->fault says what is wrong and where; nothing is stored. A
 * file whose format is not known is told so at /format. */
enum status take_in(struct store *store, struct json_reader *reader, const char *text, size_t len,
                    struct member_id by, int64_t now, struct taken *out) MUST_CHECK;

#endif
