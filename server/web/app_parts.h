/* app_parts.h - the inside of the app, for the plumbing of web only. */
#ifndef WEB_APP_PARTS_H
#define WEB_APP_PARTS_H

#include "web/app.h"
#include "web/catalogue_holder.h"
#include "web/context.h"
#include "web/kit_view.h"
#include "web/limits.h"
#include "web/possible.h"
#include "web/report_cache.h"
#include "web/rounds.h"
#include "web/statics.h"
#include "web/tmpl.h"

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

/* A context without store, member or route: enough for respond_error. */
struct context context_bare(struct app *app, const struct request *request, struct arena *arena,
                            struct response *response);

#endif
