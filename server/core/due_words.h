/* due_words.h - the words of compliance times, in one place.
 *
 * Shared by parser and printer only.
 */
#ifndef CORE_DUE_WORDS_H
#define CORE_DUE_WORDS_H

#include "core/due.h"

struct unit_words {
	const char *one, *many;
	int64_t most; /* largest amount */
};

extern const struct unit_words due_units[DUE_UNITS];

#endif
