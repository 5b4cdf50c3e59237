/* routes.c - the table of routes: what the rooms answer, one behind the other.
 *
 * The rows of a room stand in the room, in its routes.inc: add a page there.
 * They are put together here by the preprocessor, so that the table is one
 * constant array. tests/web/routes.mjs prints which handler, file and template
 * answer an address.
 */
#include "web/board/draft_form.h"
#include "web/html/cut_plan.h"
#include "web/http/health.h"
#include "web/http/page_static.h"
#include "web/account/account.h"
#include "web/admin/admin.h"
#include "web/api/api.h"
#include "web/board/board.h"
#include "web/news/feeds.h"
#include "web/kits/kit_pages.h"
#include "web/notes/notes.h"
#include "web/news/news.h"
#include "web/notes/picture_pages.h"
#include "web/account/mail.h"
#include "web/notices/public.h"
#include "web/reports/reports.h"
#include "web/account/sign_in.h"
#include "web/http/route.h"

const struct route routes[] = {
#include "web/account/routes.inc"
#include "web/admin/routes.inc"
#include "web/api/routes.inc"
#include "web/board/routes.inc"
#include "web/http/routes.inc"
#include "web/kits/routes.inc"
#include "web/line/routes.inc"
#include "web/news/routes.inc"
#include "web/notes/routes.inc"
#include "web/notices/routes.inc"
#include "web/parts/routes.inc"
#include "web/reports/routes.inc"
};
const size_t routes_count = sizeof routes / sizeof routes[0];
