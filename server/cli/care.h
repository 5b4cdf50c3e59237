/* care.h - what serve asks of the database before it listens. */
#ifndef CLI_CARE_H
#define CLI_CARE_H

#include "base/text.h"
#include "store/store.h"

/* Looks at the seals, all but those of files, and says in the log what it found;
 * a line for each fault into out, nothing when all fit. */
void care_at_start(struct store *store, struct text *out);

#endif
