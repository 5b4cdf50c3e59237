/* bound_words.h - tells a member which limit was met, and what to do then. */
#ifndef WEB_HTML_BOUND_WORDS_H
#define WEB_HTML_BOUND_WORDS_H

#include "store/bounds.h"

#define BOUND_WORDS_SIZE 300

/* "At most 50 kits for a member. Remove one that you need no more." */
void bound_words(const struct bound_row *row, char out[BOUND_WORDS_SIZE]);

#endif
