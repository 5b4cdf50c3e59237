/* routes.c - the table of routes. Add a page here: one row; its handler is
 * declared in the header of its page_ file. Kept in order of address.
 */
#include "web/page_static.h"
#include "web/route.h"

const struct route routes[] = {
        {HTTP_GET, "/health", CALL_ANYONE, page_health, NULL, 0},
        {HTTP_GET, "/static/{file:rest}", CALL_ANYONE, page_static, static_inputs, R_BARE},
};
const size_t routes_count = sizeof routes / sizeof routes[0];
