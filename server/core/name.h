/* name.h - names that people type: models, part numbers, options, codes.
 *
 * Two names are equal when they differ only in letter case (ASCII) and in runs
 * of blanks. A name keeps the text as typed for showing and a folded key for
 * comparing.
 */
#ifndef CORE_NAME_H
#define CORE_NAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

#define NAME_LONGEST 80 /* characters; longer names are refused at every door */

struct name {
	const char *text; /* blanks trimmed and squeezed, else as typed */
	const char *key;  /* folded to upper case */
	uint32_t len;     /* bytes of text and of key */
	uint32_t hash;    /* of key */
};

/* Borrowed from the arena; ST_NOMEM. An empty text gives the empty name. */
enum status name_make(struct arena *arena, const char *text, size_t len,
                      struct name *out) MUST_CHECK;

/* The empty name stands for "not known" and equals nothing, not even itself. */
bool name_equal(const struct name *a, const struct name *b);
/* Like name_equal, but two empty names are the same: for labels that may be absent. */
bool name_same(const struct name *a, const struct name *b);
bool name_is_empty(const struct name *name);

/* Does the name begin with prefix? ("172N" begins with "172") */
bool name_begins(const struct name *name, const struct name *prefix);

/* Order of keys, for sorting and bsearch. */
int name_compare(const struct name *a, const struct name *b);

#endif
