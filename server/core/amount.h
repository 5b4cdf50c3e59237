/* amount.h - how much of a thing, as bulletins and packing lists write it.
 *
 * What begins with a number is counted, in the unit that follows: "16", "3 ft",
 * "1/2 pint", "2.5 qt". Anything else ("as required") is kept as words and not
 * counted. Pieces have many names (pcs, each, off ...): their unit is empty.
 * Amounts are kept in thousandths.
 */
#ifndef CORE_AMOUNT_H
#define CORE_AMOUNT_H

#include "base/text.h"
#include "core/name.h"

#define AMOUNT_ONE 1000
#define AMOUNT_MOST (INT64_C(1000000) * AMOUNT_ONE)

struct amount {
	int64_t thousandths; /* above 0 when counted; 0: not counted */
	struct name unit;    /* empty: pieces */
};

/* Never fails for its form: what cannot be counted is not. ST_NOMEM. */
enum status amount_read(struct arena *arena, const char *text, struct amount *out) MUST_CHECK;

/* The unit alone; words for pieces give the empty name. ST_NOMEM. */
enum status amount_unit(struct arena *arena, const char *text, struct name *out) MUST_CHECK;

/* "16", "3 ft", "0.5 pint" */
void amount_print(int64_t thousandths, const struct name *unit, struct text *out);

#endif
