/* possible.h - the kits that a statement concerns or may concern, kept in memory.
 *
 * To find them takes a pass over all kits; an answer to a report changes nothing
 * of it. So they are kept, for a few statements, under the text of the statement,
 * the generation of the kits, and that of the notices.
 */
#ifndef WEB_CHAPTER_POSSIBLE_H
#define WEB_CHAPTER_POSSIBLE_H

#include "web/http/context.h"
#include "web/chapter/whom.h"

struct possible_cache;
struct possible_cache *possible_cache_new(void);        /* owned; NULL: memory ran out */
void possible_cache_free(struct possible_cache *cache); /* NULL is allowed */

/* Kits like a report's, as whom_like: text is its statement as written, statement
 * the same compiled; looked in order of id. What the store says; ST_NOMEM. */
enum status possible_like(const struct context *c, const char *text,
                          const struct effectivity *statement, const struct kit_id *looked,
                          size_t n_looked, struct whom_like *out) MUST_CHECK;

#endif
