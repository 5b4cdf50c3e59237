/* outside.h - this box's address as others reach it, for links that leave a page. */
#ifndef WEB_HTTP_OUTSIDE_H
#define WEB_HTTP_OUTSIDE_H

#include "web/http/context.h"

/* Where the reader of a link will reach this box, without a slash at its end:
 * what an admin set, else what the program was told at its start, else as the
 * caller names it. In the request's arena. */
enum status outside_address(struct context *c, const char **out) MUST_CHECK;

/* <outside address>/<place>/<token>, in the request's arena. */
enum status outside_link(struct context *c, const char *place, const char *token,
                         const char **out) MUST_CHECK;

#endif
