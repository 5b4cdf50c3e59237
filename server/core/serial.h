/* serial.h - serial and lot numbers, compared run by run.
 *
 * A serial is letters, digits and the marks - / . _ without blanks. Its
 * counter begins at the first digits after the first mark or, where no digits
 * follow a mark, at the last digits: WH-0101 counts 101 under the prefix WH-,
 * 28-7505009 counts 7505009 under 28-, L-6182-76 counts (6182, 76) under L-,
 * 177RG0001 counts 1 under 177RG. Letters match whatever their case, digits
 * compare as numbers. Serials of another prefix or shape cannot be compared:
 * they lie outside a range, not in doubt.
 */
#ifndef CORE_SERIAL_H
#define CORE_SERIAL_H

#include "core/name.h"
#include "core/truth.h"

#define SERIAL_LONGEST 40 /* bytes */
#define SERIAL_COUNTERS 4 /* runs of digits from the counter on */
#define SERIAL_DIGITS 18  /* digits in one run, leading zeros apart */

struct serial {
	struct name shape; /* prefix, and the rest with # for each run of digits */
	uint64_t counter[SERIAL_COUNTERS];
	unsigned counters;
	const char *text; /* as typed */
};

struct serial_range {
	struct serial first; /* text NULL: open downwards */
	struct serial last;  /* text NULL: open upwards; never both open */
};

enum serial_fault {
	SERIAL_FINE = 0,
	SERIAL_EMPTY,
	SERIAL_CHARACTER, /* a blank, another script, or a mark that serials do not have */
	SERIAL_NO_DIGIT,
	SERIAL_TOO_LONG
};

/* What is wrong with len bytes as a serial; *where gets the byte offset. */
enum serial_fault serial_check(const char *text, size_t len, size_t *where);
const char *serial_fault_words(enum serial_fault fault); /* borrowed */

/* ST_INVALID when serial_check finds fault; ST_NOMEM. Borrowed from the arena. */
enum status serial_make(struct arena *arena, const char *text, size_t len,
                        struct serial *out) MUST_CHECK;

bool serial_comparable(const struct serial *a, const struct serial *b);
/* <0, 0, >0; both comparable (asserted). */
int serial_compare(const struct serial *a, const struct serial *b);
bool serial_in_range(const struct serial *serial, const struct serial_range *range);

#endif
