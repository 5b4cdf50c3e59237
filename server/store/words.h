/* words.h - what a person types as a query of an FTS5 table; not for other layers.
 *
 * It never reaches FTS5's query language: each word is quoted as a string,
 * with its quotes doubled, and made a prefix.
 */
#ifndef STORE_WORDS_H
#define STORE_WORDS_H

#include "base/text.h"

#define WORDS_MOST 16 /* of one query; more are not looked at */

/* Adds every word of the text as a quoted prefix, all of them asked for;
 * nothing when there is none. A text that has something already goes on. */
void words_match(const char *text, struct text *out);

#endif
