/* page_cache.h - rendered pages, kept for the next time that they are asked for.
 *
 * A page is kept under a key that names all that it shows: whose page, and the
 * version of everything on it. Besides, it is handed out only when what every
 * page shows (respond.h: title, member, token, message ...) is exactly as it
 * was when the page was rendered. Bounded; the one longest at rest makes room.
 * Locks itself.
 */
#ifndef WEB_HTTP_PAGE_CACHE_H
#define WEB_HTTP_PAGE_CACHE_H

#include <jansson.h>

#include "web/http/http.h"

struct page_cache;

struct page_cache *page_cache_new(void);        /* owned, empty; NULL: memory ran out */
void page_cache_free(struct page_cache *cache); /* NULL is allowed */

/* Body and ETag of the page rendered with that dress, copied into the arena.
 * False when there is none, or no room for it. */
bool page_cache_find(struct page_cache *cache, const char *key, const json_t *dress,
                     struct arena *arena, struct response *out);

/* Copies key and body and keeps a reference to the dress, which nobody may
 * change any more. Does nothing when memory runs out or the page is too large:
 * it is rendered again the next time. */
void page_cache_put(struct page_cache *cache, const char *key, json_t *dress,
                    const struct response *page);

#endif
