/* question.h - which unknown fact would help most to know?
 *
 * Every fact that some undecided notice waits for is counted: how many notices
 * it helps to settle, how many of these are mandatory, and how many wait for
 * it alone. Order: mandatory ones first, then all, then those that wait for
 * nothing else, then by name. A fact that can change no answer is never
 * among them.
 */
#ifndef CORE_QUESTION_H
#define CORE_QUESTION_H

#include "core/catalogue.h"

struct question {
	struct fact fact;
	unsigned mandatory; /* undecided mandatory notices that it helps to settle */
	unsigned notices;   /* all of these */
	unsigned alone;     /* of these, waiting for nothing else */
};

/* Best first, borrowed from the arena; ST_NOMEM. */
enum status questions_rank(struct arena *arena, const struct catalogue *catalogue,
                           const struct facts *facts, const struct question **out,
                           size_t *count) MUST_CHECK;

#endif
