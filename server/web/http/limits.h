/* limits.h - how often one address may try.
 *
 * Token buckets in a table of fixed size in memory: each key's bucket refills
 * steadily and is emptied by tries. (Failed sign-ins of one account are counted
 * by the store, see store/members.h.) When the table is full, the bucket that
 * was longest at rest makes room. Keys are kept as keyed digests only. Safe
 * for use by several threads.
 */
#ifndef WEB_HTTP_LIMITS_H
#define WEB_HTTP_LIMITS_H

#include <stdint.h>

#include "base/status.h"

enum limit_kind {
	LIMIT_POST,    /* any form: 300 at once, five a second */
	LIMIT_GUARDED, /* sign-in and registration: 30 at once, one in 6 s */
	LIMIT_PIXELS   /* millions of pixels that a member sends: 150 at once, 150 a minute */
};
#define LIMIT_KINDS 3
#define LIMIT_PIXELS_BURST 150

struct limits;

/* Owned; NULL when memory ran out. */
struct limits *limits_new(void);
void limits_free(struct limits *limits); /* NULL is allowed */

/* Takes one try at a time in milliseconds of a clock that only goes on
 * (clock_steady). ST_LIMIT when none is left: *wait gets the seconds until there
 * is one. */
enum status limits_take(struct limits *limits, enum limit_kind kind, const char *key, int64_t at,
                        int64_t *wait) MUST_CHECK;
/* As many tries at once as amount says, no more than the bucket holds. */
enum status limits_take_many(struct limits *limits, enum limit_kind kind, const char *key,
                             int64_t amount, int64_t at, int64_t *wait) MUST_CHECK;
/* Takes back what was taken and not used. */
void limits_give_back(struct limits *limits, enum limit_kind kind, const char *key, int64_t amount);

#endif
