/* feeds.h - what programs read of notices, news and dates: Atom and iCalendar.
 *
 * A member's private addresses hold a token (store/feed_links.h). Whoever has one
 * reads as that member, and only what these pages show: no session, no
 * writing. An address that is not known, or no more, is missing like any other.
 */
#ifndef WEB_NEWS_FEEDS_H
#define WEB_NEWS_FEEDS_H

#include "web/http/context.h"

/* Whose {token} it is. ST_MISSING: nobody's, or its member is disabled. */
enum status feed_member(const struct context *c, struct member_id *out) MUST_CHECK;

/* feeds.c: the newest notices for anybody; a member's news. */
enum status page_notices_feed(struct context *c);
enum status page_news_feed(struct context *c); /* {token} */

/* calendar.c: due dates and last good moments of a member's kits. */
enum status page_calendar(struct context *c); /* {token} */

/* account_links.c: the member's link, made, made anew and ended. */
enum status page_links(struct context *c);
enum status act_link_make(struct context *c);
enum status act_link_end(struct context *c);

#endif
