/* feed_links.h - the link by which a member's programs read news and dates.
 *
 * One for each member: making one ends the one before it. The database keeps
 * only the hash of its token, so a link that is lost is made anew.
 */
#ifndef STORE_FEED_LINKS_H
#define STORE_FEED_LINKS_H

#include "store/members.h"

/* ST_CONFLICT: no such member, or a token that is in use. */
enum status feed_link_make(struct store *store, struct member_id member, const struct hash *token,
                           int64_t now) MUST_CHECK;
/* When it was made. ST_MISSING: the member has none. */
enum status feed_link_made(struct store *store, struct member_id member, int64_t *out) MUST_CHECK;
/* ST_MISSING: the member has none. */
enum status feed_link_end(struct store *store, struct member_id member) MUST_CHECK;
/* Whose it is. ST_MISSING: unknown, or the member is disabled. */
enum status feed_link_find(struct store *store, const struct hash *token,
                           struct member_id *out) MUST_CHECK;

#endif
