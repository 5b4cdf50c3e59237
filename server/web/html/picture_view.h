/* picture_view.h - pictures on a page: small ones that lead to the large ones. */
#ifndef WEB_HTML_PICTURE_VIEW_H
#define WEB_HTML_PICTURE_VIEW_H

#include <jansson.h>

#include "store/pictures.h"
#include "web/http/context.h"

/* For {{#pictures}}{{>pictures.html}}{{/pictures}}: those of `rows` (picture_list of
 * several things) that are on one of them, in their order, and what the caller may do
 * with them. author: who wrote what they are on; v 0: nothing is offered here.
 *   {"any", "list": [{"url", "small_url", "width", "height", "alt", "words" (false when
 *    not said, or said of the one before), "number", "remove_url" (or false)}...],
 *    "add_url" (or false)}
 * New reference; NULL when memory ran out. */
json_t *picture_view(const struct context *c, const struct picture_row *rows, size_t count,
                     const struct picture_of *of, struct member_id author);

/* The picture's page to remove it is for its author and for stewards. */
bool picture_may_remove(const struct context *c, const struct picture_row *row);

#endif
