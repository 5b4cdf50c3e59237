/* name.h - names that people type: models, part numbers, options, codes.
 *
 * Two names are equal when they differ only in letter case, in runs of blanks
 * and in the kind of dash: a label that people give and find again. Whether a
 * name that was typed is the one that a notice prints is another question, with
 * three answers: name_like. A name keeps its text for showing and a
 * folded key for comparing.
 */
#ifndef CORE_NAME_H
#define CORE_NAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "core/truth.h"

#define NAME_LONGEST 80 /* characters; longer names are refused at every door */

struct name {
	const char *text; /* as typed, dashes and blanks made one kind (marks_clean) */
	const char *key;  /* folded to upper case, byte for byte as long */
	uint32_t len;     /* bytes of text and of key */
	uint32_t hash;    /* of key */
	uint32_t letters; /* see marks_letters */
};

/* Borrowed from the arena; ST_NOMEM. An empty text gives the empty name. */
enum status name_make(struct arena *arena, const char *text, size_t len,
                      struct name *out) MUST_CHECK;

/* The empty name stands for "not known" and equals nothing, not even itself. */
bool name_equal(const struct name *a, const struct name *b);
/* Like name_equal, but two empty names are the same: for labels that may be absent. */
bool name_same(const struct name *a, const struct name *b);
bool name_is_empty(const struct name *name);

/* Is `typed` the name that was printed: the same, another, or unclear (see
 * marks.h)? The empty name is not known. */
enum truth name_like(const struct name *printed, const struct name *typed);

/* Does `typed` belong to the series that begins as printed? ("172N" to "172") */
enum truth name_in_series(const struct name *printed, const struct name *typed);

/* Are both written in one style (marks_styled), as 172K and 172L are? */
bool name_styled(const struct name *a, const struct name *b);

/* Order of keys, for sorting and bsearch. */
int name_compare(const struct name *a, const struct name *b);

#endif
