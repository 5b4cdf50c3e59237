#include "web/html/bound_words.h"

#include <inttypes.h>
#include <stdio.h>

void bound_words(const struct bound_row *row, char out[BOUND_WORDS_SIZE])
{
	snprintf(out, BOUND_WORDS_SIZE, "At most %" PRId64 " %s for %s%s. %s", row->limit,
	         row->what, row->of, row->within ? " within a day" : "", row->then);
}
