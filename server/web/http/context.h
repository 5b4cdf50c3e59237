/* context.h - all that a handler is given; it lives as long as the request. */
#ifndef WEB_HTTP_CONTEXT_H
#define WEB_HTTP_CONTEXT_H

#include "chapter/work.h"
#include "web/http/app.h"
#include "web/http/http.h"
#include "web/html/input.h"
#include "web/http/route.h"
#include "web/http/session.h"

struct context {
	struct app *app;
	struct store *store; /* this request's own connection; read-only unless R_WRITES */
	struct arena *arena;
	const struct request *request;
	struct response *response;
	const struct route *route;
	struct captures captures;
	const struct session *session; /* NULL for a visitor and for programs */
	const struct member *member;   /* who calls, by session or bearer token; NULL: a visitor */
	bool token_faulty;             /* a bearer token was sent that is wrong, ended or revoked */
	struct form *form;             /* the route's inputs, read; never NULL in a handler */
	const struct catalogue *catalogue; /* all current notices, for this request */
	const struct parts_book *parts;    /* the chapter's packing lists and stock */
	int64_t generation;                /* of both */
	int64_t now;                       /* seconds since 1970-01-01 UTC */
	day_number today;                  /* local day */
};

/* What a piece of work on the chapter is given, for the functions of chapter/. */
struct work context_work(const struct context *c);

/* Milliseconds of a clock that only goes on, for limits. */
int64_t context_steady(const struct context *c);

/* A context without store, member or route: enough for respond_error. */
struct context context_bare(struct app *app, const struct request *request, struct arena *arena,
                            struct response *response);

/* What is captured under that name; the pattern must have it (asserted). */
int64_t context_id(const struct context *c, const char *name);
const char *context_capture(const struct context *c, const char *name);

/* Is the caller a member whose role includes this one? */
bool context_may(const struct context *c, enum role role);

/* A handler returns ST_OK when it has answered. For anything else the
 * dispatcher makes the error page: ST_MISSING 404, ST_DENIED 403, ST_CONFLICT
 * 409, ST_INVALID 400, ST_LIMIT 413, ST_BUSY 503, ST_NOMEM and ST_IO 500. */

#endif
