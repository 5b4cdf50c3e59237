/* seal.h - what every response gets last: caching, ETag and 304, and the
 * header fields that tell browsers what pages of Fairlead may do.
 */
#ifndef WEB_HTTP_SEAL_H
#define WEB_HTTP_SEAL_H

#include "web/http/http.h"

/* secure: served over TLS. Turns a 200 into a 304 when the request's
 * If-None-Match lists the body's tag. */
void seal_response(struct arena *arena, const struct request *request, bool secure,
                   struct response *response);

/* The tag of a body, with quotes, in the arena; NULL when memory ran out. */
const char *seal_etag(struct arena *arena, const char *body, size_t len);

#endif
