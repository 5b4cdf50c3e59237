/* route.h - one table of every address that Fairlead answers.
 *
 * A row says all that the dispatcher needs: method, pattern, who may call,
 * which fields come in, flags, handler. HEAD is answered by the GET row.
 *
 * Pattern: literal segments and captures. {kit} takes a decimal id above 0,
 * {word:text} any one segment, {file:rest} all that is left. A literal wins
 * over a capture: /notices/new is never the notice "new". An id that is no
 * number is an unknown address (404).
 */
#ifndef WEB_HTTP_ROUTE_H
#define WEB_HTTP_ROUTE_H

#include "web/http/http.h"
#include "web/html/input.h"

struct context;
typedef enum status handler_fn(struct context *c);

/* Who may call; checked in one place, dispatch.c. Somebody else's kit answers
 * 404 as a missing one does. */
enum caller {
	CALL_ANYONE,
	CALL_GUEST,      /* only the signed-out; members are sent to their start page */
	CALL_MEMBER,     /* anybody signed in */
	CALL_KIT_OWNER,  /* signed in, and {kit} is theirs */
	CALL_STEWARD,    /* stewards and admins */
	CALL_ADMIN,      /* admins */
	CALL_ANY_TOKEN,  /* anybody; whoever sends a bearer token is known by it */
	CALL_TOKEN,      /* a bearer token (RFC 6750) of any member */
	CALL_TOKEN_OWNER /* a bearer token of the owner of {kit} */
};
#define CALLERS (CALL_TOKEN_OWNER + 1)

enum route_flags {
	R_WRITES = 1,     /* changes the database; POST only. Without it the store is read-only */
	R_UPLOADS = 2,    /* takes files: a body of up to BODY_UPLOADS bytes */
	R_GUARDED = 4,    /* sign-in, registration: few tries a minute from one address */
	R_OPEN_QUERY = 8, /* unknown query fields are let pass */
	R_BARE = 16,      /* needs no store, catalogue or member: these are NULL */
	R_SECRET = 32,    /* its pages are never kept: they show a secret or take one */
	R_PICTURES = 64,  /* takes pictures of members: a body of up to BODY_PICTURES bytes */
	R_BY_TOKEN = 128  /* the address itself is the right: no form token, from anywhere */
};

#define BODY_SMALL (64 * 1024)           /* bytes that anybody may send */
#define BODY_FORM HTTP_WORDS_MOST        /* bytes of a form without files */
#define BODY_UPLOADS (12 * 1024 * 1024)  /* of a form with files */
#define BODY_PICTURES (40 * 1024 * 1024) /* of one with six photos as a phone makes them */

struct route {
	enum http_method method; /* HTTP_GET or HTTP_POST */
	const char *pattern;
	enum caller caller;
	handler_fn *handler;
	const struct input *inputs; /* of the form for POST, of the query for GET; NULL: none */
	unsigned flags;
};

/* The table; routes.c puts it together. */
extern const struct route routes[];
extern const size_t routes_count;

#define CAPTURES_MOST 4

struct capture {
	const char *name; /* borrowed from the pattern */
	const char *text;
	int64_t id; /* 0 for a text */
};

struct captures {
	struct capture at[CAPTURES_MOST];
	size_t count;
};

struct router;

/* Compiles a table that outlives the router. ST_INVALID for a bad pattern or
 * two rows for one address (a mistake in the table), ST_NOMEM. */
enum status router_new(const struct route *table, size_t count, struct router **out) MUST_CHECK;
void router_free(struct router *router);

/* The row for a decoded path. ST_MISSING: no such address. ST_DENIED: there is
 * one, for another method; *allow gets those that it has, "GET, HEAD, POST".
 * Captures are copied into the arena. ST_NOMEM. */
enum status router_find(const struct router *router, struct arena *arena, enum http_method method,
                        const char *path, const struct route **out, struct captures *captures,
                        const char **allow) MUST_CHECK;

/* Bytes of body that the row takes; 0 for GET. route may be NULL. */
size_t route_body_limit(const struct route *route);

#endif
