/* slice.h - a part of a text that is being read, how parsers walk it, and how
 * they say where it is at fault.
 *
 * Slices borrow from the text. Blanks are spaces, tabs and carriage returns;
 * keywords are compared without regard to letter case.
 */
#ifndef CORE_SLICE_H
#define CORE_SLICE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

struct slice {
	const char *at;
	size_t len;
};

struct slice slice_trim(struct slice s);

/* Cuts off everything up to the first `mark`; rest->at is NULL after the last. */
struct slice slice_cut(struct slice *rest, char mark);

/* Takes the next word; empty at the end, then pointing there. */
struct slice slice_word(struct slice *rest);

/* Is it this word? word is in lower case. */
bool slice_is(struct slice s, const char *word);

struct statement_fault {
	unsigned line, column; /* from 1; columns count characters */
	char expected[160];    /* "a date such as 2017, 2017-09 or 2017-09-24" */
};

/* Fills *fault and returns ST_INVALID. at lies in the line. */
enum status slice_fail(struct statement_fault *fault, struct slice line, unsigned number,
                       const char *at, const char *expected);

/* Before anything else: ST_INVALID when the text is longer than that many
 * bytes or holds characters that no statement may hold. */
enum status slice_check(struct slice text, size_t longest,
                        struct statement_fault *fault) MUST_CHECK;

#endif
