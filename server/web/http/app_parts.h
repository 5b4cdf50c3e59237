/* app_parts.h - the inside of the app, for the plumbing of web only. */
#ifndef WEB_HTTP_APP_PARTS_H
#define WEB_HTTP_APP_PARTS_H

#include "web/http/app.h"
#include "web/chapter/catalogue_holder.h"
#include "web/http/context.h"
#include "web/chapter/kit_view.h"
#include "web/http/limits.h"
#include "web/chapter/possible.h"
#include "web/chapter/report_cache.h"
#include "web/chapter/rounds.h"
#include "web/http/statics.h"
#include "web/html/tmpl.h"

struct app {
	struct app_config config;
	struct store_pool *pool;
	struct tmpl_set *views;
	struct statics *statics;
	struct router *router;
	struct limits *limits;
	struct catalogue_holder *catalogues;
	struct counted_cache *kits;
	struct counted_cache *reports;
	struct possible_cache *possible;
	struct rounds *rounds;
};

/* Everything from a request to a filled response, sealed; dispatch.c. */
void dispatch(struct app *app, const struct request *request, struct arena *arena,
              struct response *response);

/* Does a member with a session send this, who may call the address? Looks at the
 * head alone. Whoever is turned away whatever the body says is answered: the
 * response's status is then no longer 0. */
bool dispatch_early(struct app *app, const struct request *request, struct arena *arena,
                    struct response *response);

/* A context without store, member or route: enough for respond_error. */
struct context context_bare(struct app *app, const struct request *request, struct arena *arena,
                            struct response *response);

#endif
