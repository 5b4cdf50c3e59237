/* length.h - lengths as a shop writes them, kept exactly, and lists of cuts.
 *
 * A length is a whole number of nanometres: 1 inch is 25.4 mm exactly (since
 * 1 July 1959; NIST Handbook 44, appendix C), so that 1/64 inch is 396,875 nm
 * and nothing is rounded between inches and millimetres.
 *
 * Written: "14 1/2 in", "6 ft", "6 ft 3 1/4 in", "0.5 in", "360 mm", "2 m"; also
 * 6' 3" and the words inch, foot and so on. Fractions have a power of two up
 * to 64 below the line, decimals at most four places.
 */
#ifndef CORE_LENGTH_H
#define CORE_LENGTH_H

#include <stdbool.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/text.h"

#define LENGTH_INCH INT64_C(25400000)
#define LENGTH_MOST INT64_C(100000000000) /* 100 m */
#define CUTS_MOST 60                      /* different lengths in one list */
#define CUT_COUNT_MOST 300

struct length {
	int64_t nm;  /* 0 to LENGTH_MOST */
	bool metric; /* as it was written, for printing it so */
};

/* ST_INVALID for anything else; a minus is read as no length. */
enum status length_parse(const char *text, size_t len, struct length *out) MUST_CHECK;

/* "14 1/2 in", "0.0313 in", "360 mm"; what inches cannot say exactly in four
 * places is printed in millimetres. */
void length_print(struct length length, struct text *out);

struct cut {
	struct length length; /* above 0 */
	unsigned count;       /* 1 to CUT_COUNT_MOST */
};

struct cuts_fault {
	size_t column; /* from 1, bytes */
	const char *words;
};

/* "2 x 14 1/2 in, 6 in": borrowed from the arena. ST_INVALID with *fault
 * filled in; ST_NOMEM. */
enum status cuts_parse(struct arena *arena, const char *text, const struct cut **out, size_t *count,
                       struct cuts_fault *fault) MUST_CHECK;

#endif
