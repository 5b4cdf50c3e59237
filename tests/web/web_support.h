/* web_support.h - the whole web service in a test, without a socket.
 *
 * A fresh database in a folder of its own, with four members who are signed in
 * (ANN and BEN are builders, each with a kit), each with a token for programs.
 *
 *     struct web *web = web_new(NULL, 0, NULL, 0);
 *     const struct response *r = web_post(web, ANN, "/kits", "name=My+kit");
 *     assert_int_equal(r->status, 303);
 */
#ifndef TESTS_WEB_SUPPORT_H
#define TESTS_WEB_SUPPORT_H

#include "base/embedded.h"
#include "store/kits.h"
#include "web/http/app.h"
#include "web/http/http.h"
#include "web/http/route.h"

enum who { VISITOR, ANN, BEN, STEWARD, ADMIN };
#define WHOS 5

#define WEB_PASSWORD "correct horse battery" /* of every member; logins: ann, ben, sue, ada */
#define WEB_START 1790000000                 /* the time when a web is made: 21 September 2026 */

struct web;

/* NULL tables: those of the program. Fails the test when it cannot be made. */
struct web *web_new(const struct route *routes, size_t n_routes, const struct embedded_file *views,
                    size_t n_views);
void web_free(struct web *web);
struct mail_setup;
/* How webs that are made from now on send mail; NULL, as at the start: not at all. */
void web_set_mail(const struct mail_setup *mail);

/* Sends one request; the target is a path with its query, as on a request
 * line. The answer lives until the next request. web_post adds the token of the
 * member's session and Sec-Fetch-Site. */
const struct response *web_get(struct web *web, enum who who, const char *target);
const struct response *web_post(struct web *web, enum who who, const char *target,
                                const char *encoded);
/* With who's bearer token instead of the cookie. */
const struct response *web_api(struct web *web, enum who who, const char *target);
/* As it is, but target and body are decoded, and who's cookie is added. */
const struct response *web_send(struct web *web, enum who who, struct request *request,
                                const char *target, const char *body);

/* A field of the answer's header, "" when absent. */
const char *web_header(const struct response *response, const char *name);
/* Does the body hold that text? */
bool web_holds(const struct response *response, const char *text);

struct app *web_app(struct web *web);
struct store *web_store(struct web *web);  /* a connection of the test's own */
const char *web_database(struct web *web); /* the file */
struct member_id web_member(struct web *web, enum who who);
struct kit_id web_kit(struct web *web, enum who who);      /* of ANN or BEN */
const char *web_form_token(struct web *web, enum who who); /* of the session */
const char *web_cookie(struct web *web, enum who who);     /* "session=..." */
const char *web_bearer(struct web *web, enum who who);     /* "Bearer ..." */
void web_set_now(int64_t now);                             /* for all webs */
void web_step_clock(int64_t now); /* somebody sets the clock: no time passes */

#endif
