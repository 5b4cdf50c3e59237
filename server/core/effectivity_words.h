/* effectivity_words.h - the words of the statement language, in one table.
 *
 * Shared by parser and printer only. A new condition begins with a row here.
 */
#ifndef CORE_EFFECTIVITY_WORDS_H
#define CORE_EFFECTIVITY_WORDS_H

#include "core/effectivity.h"

/* What the values of a condition are: names, or ranges over one table. */
enum range_table { TABLE_NONE, TABLE_NAMES, TABLE_SERIALS, TABLE_DATES, TABLE_NUMBERS };

struct condition_words {
	const char *keyword;
	enum range_table table;
	const char *expected; /* for a missing name */
	const char *before;   /* the sentence: "with option X" */
	const char *negated;  /* "without option X" */
	const char *after;
};

extern const struct condition_words effectivity_words[CONDITION_KINDS];

#endif
