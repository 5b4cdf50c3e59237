/* marks.h - numbers and names as people copy them from plates and papers.
 *
 * A notice prints WH-0120; the builder reads a plate in bad light and types
 * WH 120, wh-0120, WH0120 or 120. An answer "does not apply" hides a notice,
 * so it must never rest on how something was written. Comparing therefore has
 * three results: the same (true), another (false), and unclear (unknown),
 * upon which the builder is asked.
 *
 * What is compared are runs: a text is cut into runs of letters and of digits,
 * each with the mark in front of it. Letters match whatever their case, digits
 * compare as numbers. Then
 *
 *   the same   equal runs, and marks that differ only as blank and dash do, or
 *              as the dash before a last letter that was left out;
 *   unclear    equal runs under other marks; a run more or less on either side
 *              (a prefix, a suffix, a maker's name); digits run together; a
 *              letter that looks like a digit (O and 0, I and 1, B and 8); a
 *              long word that is nearly the same;
 *   another    anything else: other letters, other numbers. Also a word and
 *              the same word with a short designation behind it (Whimbrel and
 *              Whimbrel T are two models).
 *
 * Common practice, no source.
 */
#ifndef CORE_MARKS_H
#define CORE_MARKS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/truth.h"

#define MARKS_MOST 12 /* runs; a longer text is unclear to all but itself */

struct mark_run {
	bool digits;    /* else letters */
	char before;    /* the mark in front: '\0' none, ' ', '-', or another */
	uint8_t len;    /* bytes, without leading zeros */
	uint8_t wide;   /* bytes as written */
	const char *at; /* without leading zeros */
	uint64_t value; /* of digits */
};

struct marks {
	struct mark_run run[MARKS_MOST];
	unsigned count;
	bool over; /* more runs, or digits, than can be told apart */
};

/* Cleans len bytes for showing and for comparing: every kind of dash becomes
 * "-", of blank " ", blanks on end are made one, what cannot be seen (soft
 * hyphens, joiners) goes, as do blanks at the ends. `out` has room for len + 1
 * bytes. The length written. */
size_t marks_clean(const char *text, size_t len, char *out);

/* Cuts len bytes into runs, which borrow the text. */
void marks_read(const char *text, size_t len, struct marks *out);

/* Are two runs equal? A Roman numeral equals its number. */
bool mark_equal(const struct mark_run *a, const struct mark_run *b);

/* Do the marks in front of equal runs say the same? */
bool marks_agree(const struct marks *a, const struct marks *b);

/* Are both written in one style: the same first run, and runs of the same kinds
 * under the same marks behind it? */
bool marks_styled(const struct marks *a, const struct marks *b);

/* Is `typed` what was printed? See above. */
enum truth marks_same(const struct marks *printed, const struct marks *typed);

/* Does `typed` belong to the series that begins as printed: 172N to 172? A
 * letter or a mark must follow, not more of the same number: 1720 does not. */
enum truth marks_in_series(const struct marks *printed, const struct marks *typed);

/* Is a letter one that is taken for a digit, and for which? '\0' if for none. */
char marks_look(char letter);
/* And the letter that a digit is taken for. */
char marks_letter(char digit);

/* Which letters and digits occur, those that look alike as one, 0 apart: bits.
 * Texts that have a digit and no blank can only be the same or unclear where
 * one set holds the other: this spares most comparing. */
#define MARKS_WORDY 0x80000000U /* no digit, or a blank: no such conclusion */
uint32_t marks_letters(const char *text, size_t len);

static inline bool marks_apart(uint32_t a, uint32_t b)
{
	return !((a | b) & MARKS_WORDY) && (a & b) != a && (a & b) != b;
}

#endif
