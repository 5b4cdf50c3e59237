/* serial.h - serial and lot numbers, compared run by run.
 *
 * Two things are done with them. Put in order, for drawings and statistics, they
 * have a shape and a counter: the counter begins at the first digits after the
 * first mark or, where no digits follow a mark, at the last digits (WH-0101
 * counts 101 under WH-, 28-7505009 counts 7505009 under 28-).
 *
 * Held against a range that a notice prints, they have three answers (marks.h).
 * What counts in a range is what differs between its ends: 101 thru 145 in
 * WH-0101 thru WH-0145, 45 thru 120 in 045/2011 thru 120/2011, 100 thru 6182 in
 * L-100-76A thru L-6182-76A. Everything else must be the same: where it is not,
 * the serial lies outside or, if it could be the same written in another way
 * with a number inside, it is unclear. Where two runs differ, a serial is
 * inside when each of its numbers is, outside when it is outside in either
 * order of reading, and unclear between. With one end open the last number
 * counts if it is plainly the counter; else both orders of reading must agree.
 *
 * What a kit says of itself is taken as it is written, "not legible" too: that
 * is unclear to every range. What a notice prints must have something to count.
 */
#ifndef CORE_SERIAL_H
#define CORE_SERIAL_H

#include "core/marks.h"
#include "core/name.h"
#include "core/truth.h"

#define SERIAL_LONGEST 40 /* bytes */
#define SERIAL_COUNTERS 4 /* runs of digits from the counter on */
#define SERIAL_DIGITS 18  /* digits in one run, leading zeros apart */

struct serial {
	struct name shape; /* prefix, and the rest with # for each run of digits */
	uint64_t counter[SERIAL_COUNTERS];
	uint8_t counters; /* 0: nothing to count */
	bool plain;       /* the counter is the only number, or plainly so */
	const char *text; /* as typed, dashes and blanks made one kind */
	const char *bare; /* what is compared: without "S/N", brackets around it, 1,120 as 1120 */
};

struct serial_range {
	struct serial first; /* text NULL: open downwards */
	struct serial last;  /* text NULL: open upwards; never both open */
};

enum serial_fault {
	SERIAL_FINE = 0,
	SERIAL_EMPTY,
	SERIAL_CHARACTER, /* printed: a blank, another script, or a mark that serials do not have */
	SERIAL_NO_DIGIT,  /* nothing to count; for what a kit says: nor a letter */
	SERIAL_TOO_LONG
};

/* What is wrong with len bytes as what a kit says of itself; *where gets the byte offset. */
enum serial_fault serial_check(const char *text, size_t len, size_t *where);
/* The same for what a notice prints; a lot may also be a letter or two.
 * where: not NULL. */
enum serial_fault serial_check_printed(const char *text, size_t len, bool lot, size_t *where);
const char *serial_fault_words(enum serial_fault fault); /* borrowed */

/* ST_INVALID when serial_check finds fault; ST_NOMEM. Borrowed from the arena. */
enum status serial_make(struct arena *arena, const char *text, size_t len,
                        struct serial *out) MUST_CHECK;

/* In the order of statistics. */
bool serial_comparable(const struct serial *a, const struct serial *b);
/* <0, 0, >0; both comparable (asserted). */
int serial_compare(const struct serial *a, const struct serial *b);

enum range_fault {
	RANGE_FINE = 0,
	RANGE_STYLE, /* the ends are not written in one style */
	RANGE_ORDER  /* the last comes before the first */
};

/* What is wrong with a range that has both ends. */
enum range_fault serial_range_check(const struct serial_range *range);

/* Does it lie in the range? Unknown when that is unclear. */
enum truth serial_in_range(const struct serial *serial, const struct serial_range *range);

/* Does it lie in one of them? What is written in the very style of one of them
 * is not unclear to the others: 31P-110 is none of 31-2 thru 31-752 where
 * 31P-1 thru 31P-109 stands beside it. */
enum truth serial_in_any(const struct serial *serial, const struct serial_range *ranges,
                         size_t count);

#endif
