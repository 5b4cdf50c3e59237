/* app.h - the web service as a whole, without its socket.
 *
 * Owns what requests share: the store's pool of connections, the compiled
 * templates, the routes, the limits and the current catalogue. Everything in
 * it is either immutable or locks itself; app_handle may run in several
 * threads at once.
 */
#ifndef WEB_HTTP_APP_H
#define WEB_HTTP_APP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/embedded.h"
#include "web/http/http.h"

struct helper; /* os/helper.h */
struct route;
struct mail_setup; /* chapter/mail_round.h */

struct app_config {
	const char *database;       /* path of the database file */
	const char *found_at_start; /* faults of the database, a line each; NULL or "": none */
	const struct embedded_file *views, *statics;
	size_t views_count, statics_count;
	const struct route *routes;
	size_t routes_count;
	unsigned readers;        /* threads of the web, httpd_threads; 0: as many as ever */
	bool demo;               /* the sign-in page offers a builder, a steward, an admin */
	bool secure;             /* served over TLS, here or by a proxy: __Host- cookie, HSTS */
	bool trust_proxy;        /* the last X-Forwarded-For address is the caller's */
	const char *base_url;    /* "https://fairlead.example", no slash at the end; for links */
	int64_t (*now)(void);    /* seconds; NULL: the machine's clock */
	int64_t (*steady)(void); /* milliseconds that only go on; NULL: the machine's */
	const struct mail_setup *mail; /* NULL: this box sends none */
	const char *standby;           /* folder of copies: this box stands by; NULL: it does not */
	struct helper *pictures;       /* with picture_helper_rules; NULL: none are taken */
};

struct app;

/* The config's members are borrowed for the app's life. ST_INVALID when a
 * template or the route table is faulty (the log says where), ST_IO when the
 * database does not open, ST_NOMEM. */
enum status app_new(const struct app_config *config, struct app **out) MUST_CHECK;
void app_free(struct app *app); /* NULL is allowed; no request may be running */

/* Begins the work in the background (rounds.h, picture_shop.h); app_free ends it. ST_NOMEM. */
enum status app_start_rounds(struct app *app) MUST_CHECK;
/* All that the background would do now, in the caller's thread. The first failure. */
enum status app_round(struct app *app) MUST_CHECK;

const struct app_config *app_config(const struct app *app);

/* Answers a request; never fails, but may answer 500. The response and all in
 * it is borrowed from the arena, the app and the binary. Pictures are made in the
 * caller's thread. */
void app_handle(struct app *app, const struct request *request, struct arena *arena,
                struct response *response);

/* May it have to wait, for others who write or for pictures? Then app_leave it. */
bool app_takes_time(struct app *app, const struct request *request, struct arena *arena);
/* Answers it in another thread, and calls done(with) from there; or, when too many wait
 * already, at once. All given is left alone until then. */
void app_leave(struct app *app, const struct request *request, struct arena *arena,
               struct response *response, void (*done)(void *), void *with);
/* Lets go of all that wait; what comes later does not wait. Before the threads that
 * call the app are ended. */
void app_stop_waiting(struct app *app);

/* Bytes of body that this request may send; asked before the first is read. 0
 * when the address takes none. announced: bytes by its head, SIZE_MAX if it does not
 * say. More than BODY_SMALL is taken only from who has a session and may call the
 * address: who may not is answered as app_handle would, and turned_away->status is
 * then no longer 0. */
size_t app_body_limit(struct app *app, const struct request *request, size_t announced,
                      struct arena *arena, struct response *turned_away);

/* An answer to what never reaches app_handle: a bad path or head (400), a body over
 * the limit (413), an address or a head that is too long (414, 431), a body that does
 * not read (400), too many bodies at once (503). */
void app_refuse(struct app *app, unsigned status, const struct request *request,
                struct arena *arena, struct response *response);

#endif
