/* routes.c - the table of routes. Add a page here: one row; its handler is
 * declared in the header of its page_ file. Kept in order of address.
 */
#include "web/page_static.h"
#include "web/pages/api.h"
#include "web/route.h"

const struct route routes[] = {
        {HTTP_GET, "/api/v1/check", CALL_ANYONE, api_check, api_check_inputs, 0},
        {HTTP_GET, "/api/v1/kits/{kit}/records", CALL_TOKEN_OWNER, api_kit_records, NULL, 0},
        {HTTP_GET, "/api/v1/kits/{kit}/standings", CALL_TOKEN_OWNER, api_kit_standings,
         api_standings_inputs, 0},
        {HTTP_GET, "/api/v1/notices", CALL_ANYONE, api_notices, api_notices_inputs, 0},
        {HTTP_GET, "/api/v1/notices/{notice}", CALL_ANYONE, api_notice, NULL, 0},
        {HTTP_GET, "/api/v1/openapi.json", CALL_ANYONE, api_description, NULL, 0},
        {HTTP_GET, "/health", CALL_ANYONE, page_health, NULL, 0},
        {HTTP_GET, "/static/{file:rest}", CALL_ANYONE, page_static, static_inputs, R_BARE},
};
const size_t routes_count = sizeof routes / sizeof routes[0];
