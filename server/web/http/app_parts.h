/* app_parts.h - the inside of the app, for the plumbing of web only. */
#ifndef WEB_HTTP_APP_PARTS_H
#define WEB_HTTP_APP_PARTS_H

#include "web/http/app.h"
#include "chapter/chapter.h"
#include "chapter/rounds.h"
#include "web/http/context.h"
#include "web/http/desk.h"
#include "web/http/health.h"
#include "web/http/limits.h"
#include "web/http/page_cache.h"
#include "chapter/picture_shop.h"
#include "web/http/statics.h"
#include "web/html/tmpl.h"

struct app {
	struct app_config config;
	struct chapter *chapter;
	struct tmpl_set *views;
	struct statics *statics;
	struct router *router;
	struct limits *limits;
	struct health *health;
	struct page_cache *pages;
	struct picture_shop *pictures;
	struct desk *desk;
};

/* Everything from a request to a filled response, sealed; dispatch.c. */
void dispatch(struct app *app, const struct request *request, struct arena *arena,
              struct response *response);

/* An answer to a form for which there is no room just now: it is given back, to be sent
 * again. Asks nothing of the database. */
void dispatch_busy(struct app *app, const struct request *request, struct arena *arena,
                   struct response *response);

/* Does a member with a session send this, who may call the address? Looks at the
 * head alone. Whoever is turned away whatever the body says is answered: the
 * response's status is then no longer 0. */
bool dispatch_early(struct app *app, const struct request *request, struct arena *arena,
                    struct response *response);

#endif
