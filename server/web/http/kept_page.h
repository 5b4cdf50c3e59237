/* kept_page.h - a rendered page, kept for the next time that it is asked for.
 *
 * It is handed out only when what every page shows (respond.h: title, member,
 * token, message ...) is exactly as it was when the page was rendered; all
 * else that the page shows must not change as long as the kept page lives.
 * Locks itself.
 */
#ifndef WEB_HTTP_KEPT_PAGE_H
#define WEB_HTTP_KEPT_PAGE_H

#include <jansson.h>

#include "web/http/http.h"

struct kept_page;

struct kept_page *kept_page_new(void);       /* owned, empty; NULL: memory ran out */
void kept_page_free(struct kept_page *kept); /* NULL is allowed */

/* Body and ETag of the page rendered with that dress, copied into the arena.
 * False when there is none, or no room for it. */
bool kept_page_find(struct kept_page *kept, const json_t *dress, struct arena *arena,
                    struct response *out);

/* Takes the place of what was kept; copies the body and keeps a reference to
 * the dress, which nobody may change any more. Does nothing when memory runs
 * out: the page is rendered again the next time. */
void kept_page_put(struct kept_page *kept, json_t *dress, const struct response *page);

#endif
