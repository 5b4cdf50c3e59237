/* diff.h - what changed between two texts, word by word.
 *
 * Texts are cut into words and runs of blanks; a longest common subsequence
 * (the textbook table, quadratic) tells what both hold. What is the same at
 * the head and the tail is set aside first. Where the table would grow beyond
 * DIFF_CELLS, the texts are cut into lines instead, and where these are still
 * too many, all of the middle counts as changed.
 */
#ifndef CORE_DIFF_H
#define CORE_DIFF_H

#include "base/arena.h"

#define DIFF_CELLS 1000000 /* four bytes each */

enum diff_kind { DIFF_SAME, DIFF_OUT, DIFF_IN };

/* A stretch of one of the texts: of the old one for DIFF_OUT, else of the new. */
struct diff_part {
	enum diff_kind kind;
	const char *at; /* borrowed, not ended with NUL */
	size_t len;     /* above 0 */
};

/* Parts in order: SAME and OUT together are the old text, SAME and IN the new.
 * No two neighbours are of one kind, and OUT stands before IN. The array is
 * borrowed from the arena; ST_NOMEM. */
enum status diff_words(struct arena *arena, const char *before, const char *after,
                       const struct diff_part **out, size_t *count) MUST_CHECK;

#endif
