#include "web/http/app.h"

#include "base/mem.h"
#include "os/log.h"
#include "web/http/app_parts.h"
#include "chapter/open.h"
#include "web/http/respond.h"
#include "web/http/seal.h"

static enum status compile_views(struct app *app)
{
	struct tmpl_fault fault = {.words = ""};
	enum status status =
	        tmpl_set_new(app->config.views, app->config.views_count, &app->views, &fault);

	if (status == ST_INVALID)
		log_line(LOG_LEVEL_TROUBLE, "%s, line %u, column %u: %s", fault.file, fault.line,
		         fault.column, fault.words);
	return status;
}

static enum status compile_routes(struct app *app)
{
	enum status status = router_new(app->config.routes, app->config.routes_count, &app->router);

	if (status == ST_INVALID)
		log_line(LOG_LEVEL_TROUBLE, "the table of routes is faulty");
	return status;
}

static enum status set_up(struct app *app)
{
	const struct chapter_config chapter = {.database = app->config.database,
	                                       .readers = app->config.readers,
	                                       .now = app->config.now,
	                                       .base_url = app->config.base_url,
	                                       .mail = app->config.mail,
	                                       .standby = app->config.standby};
	enum status status = compile_routes(app);

	if (status == ST_OK)
		status = compile_views(app);
	if (status == ST_OK)
		status = statics_new(app->config.statics, app->config.statics_count, &app->statics);
	if (status == ST_OK)
		status = chapter_open(&chapter, &app->chapter);
	if (status != ST_OK)
		return status;
	app->limits = limits_new();
	app->health = health_new();
	app->pages = page_cache_new();
	app->pictures = picture_shop_new(app->config.pictures);
	app->desk = desk_new();
	return app->limits && app->health && app->pages && app->pictures && app->desk ? ST_OK
	                                                                              : ST_NOMEM;
}

enum status app_new(const struct app_config *config, struct app **out)
{
	struct app *app = mem_zero(sizeof *app);
	enum status status;

	if (!app)
		return ST_NOMEM;
	app->config = *config;
	status = set_up(app);
	if (status != ST_OK) {
		app_free(app);
		return status;
	}
	*out = app;
	return ST_OK;
}

void app_free(struct app *app)
{
	if (!app)
		return;
	app_stop_waiting(app);
	desk_free(app->desk);
	picture_shop_free(app->pictures);
	chapter_close(app->chapter);
	page_cache_free(app->pages);
	limits_free(app->limits);
	health_free(app->health);
	statics_free(app->statics);
	tmpl_set_free(app->views);
	router_free(app->router);
	mem_free(app);
}

enum status app_start_rounds(struct app *app)
{
	enum status status = rounds_start(app->chapter->rounds);

	if (status == ST_OK)
		status = rounds_start(app->chapter->lists);
	return status == ST_OK ? picture_shop_start(app->pictures) : status;
}

enum status app_round(struct app *app)
{
	enum status status = rounds_run(app->chapter->rounds);
	enum status lists = rounds_run(app->chapter->lists);

	return status == ST_OK ? lists : status;
}

const struct app_config *app_config(const struct app *app)
{
	return &app->config;
}

/* NULL: answered; else what must be made first. */
static struct picture_job *begin(struct app *app, const struct request *request,
                                 struct arena *arena, struct response *response)
{
	*response = (struct response){.status = 0};
	dispatch(app, request, arena, response);
	return response->pictures;
}

void app_handle(struct app *app, const struct request *request, struct arena *arena,
                struct response *response)
{
	struct request again = *request;
	struct picture_job *pictures;

	while ((pictures = begin(app, &again, arena, response))) {
		picture_shop_do(app->pictures, pictures);
		again.pictures = pictures;
	}
}

/* The row that a request goes to; NULL when there is none, or memory ran out. */
static const struct route *route_of(struct app *app, const struct request *request,
                                    struct arena *arena)
{
	const struct route *route = NULL;
	struct captures captures;
	const char *allow = NULL;

	if (router_find(app->router, arena, request->method, request->path, &route, &captures,
	                &allow) != ST_OK)
		return NULL;
	return route;
}

/* ---- what takes time ---- */

struct form {
	struct desk_task task; /* the first, so that one is the other */
	struct app *app;
	struct request request;
	struct arena *arena;
	struct response *response;
	void (*done)(void *with);
	void *with;
};

bool app_takes_time(struct app *app, const struct request *request, struct arena *arena)
{
	const struct route *route = route_of(app, request, arena);

	return route && route->flags & R_WRITES;
}

static void turn_away(struct desk_task *task)
{
	struct form *form = (struct form *)task;

	*form->response = (struct response){.status = 0};
	dispatch_busy(form->app, &form->request, form->arena, form->response);
	form->done(form->with);
}

static void come_again(void *form)
{
	desk_leave_again(((struct form *)form)->app->desk, form);
}

/* Once more when its pictures are made. */
static void work(struct desk_task *task)
{
	struct form *form = (struct form *)task;
	struct picture_job *pictures;

	form->request.patience = desk_patience(task);
	pictures = begin(form->app, &form->request, form->arena, form->response);
	if (!pictures) {
		form->done(form->with);
		return;
	}
	form->request.pictures = pictures;
	picture_shop_leave(form->app->pictures, pictures, come_again, form);
}

void app_leave(struct app *app, const struct request *request, struct arena *arena,
               struct response *response, void (*done)(void *), void *with)
{
	struct form *form = ARENA_NEW(arena, struct form);

	if (!form) {
		app_refuse(app, 500, request, arena, response);
		done(with);
		return;
	}
	*form = (struct form){.task = {request->peer, work, turn_away, 0, NULL},
	                      .app = app,
	                      .request = *request,
	                      .arena = arena,
	                      .response = response,
	                      .done = done,
	                      .with = with};
	desk_leave(app->desk, &form->task);
}

/* The shop first: what waits there goes back to the desk. */
void app_stop_waiting(struct app *app)
{
	if (app->pictures)
		picture_shop_close(app->pictures);
	if (app->desk)
		desk_close(app->desk);
}

size_t app_body_limit(struct app *app, const struct request *request, size_t announced,
                      struct arena *arena, struct response *turned_away)
{
	size_t most = route_body_limit(route_of(app, request, arena));

	if (most <= BODY_SMALL || announced <= BODY_SMALL)
		return most;
	if (announced != SIZE_MAX && announced > most)
		return most; /* too much from anybody */
	return dispatch_early(app, request, arena, turned_away) ? most : BODY_SMALL;
}

static const char *refusal_words(unsigned status)
{
	switch (status) {
	case 413:
		return "What was sent is larger than this page takes.";
	case 414:
		return "The address of this page, with what is asked for, is too long. Ask for "
		       "less at once.";
	case 431:
		return "The head of the request is too large. Delete this site's cookies, then "
		       "try again.";
	case 503:
		return "Too much is being sent at once. Try again in a moment.";
	default:
		return "The request is not written as HTTP wants it.";
	}
}

void app_refuse(struct app *app, unsigned status, const struct request *request,
                struct arena *arena, struct response *response)
{
	const char *words = refusal_words(status);
	struct context context = context_bare(app, request, arena, response);

	*response = (struct response){.status = 0};
	/* An address or method that is not there takes no body: that is what to tell. */
	if (status == 413 && !route_of(app, request, arena))
		dispatch(app, request, arena, response);
	else if (respond_error(&context, status, words) == ST_OK)
		seal_response(arena, request, app->config.secure, response);
}
