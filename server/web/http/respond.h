/* respond.h - the ways to answer. Each fills c->response and returns a status
 * that the handler passes on: `return respond_page(c, ...)`.
 *
 * Handlers never write HTML, JSON text or header fields. Cache class, ETag and
 * security headers follow from who asks and are set by these and by seal.c.
 */
#ifndef WEB_HTTP_RESPOND_H
#define WEB_HTTP_RESPOND_H

#include <jansson.h>

#include "web/http/context.h"

/* Fills views/<template> with the view (stolen, NULL counts as memory having
 * run out) and what every page has, at the top level:
 *   "title"    the given title
 *   "member"   false, or {"name", "login", "steward", "admin", "news" (how much
 *              of it is new, or false)}
 *   "token"    value of the hidden field "token" of every POST form, "" for visitors
 *   "said"     false, or the message that ?said=word asks for (said.c)
 *   "here_path" path of this page, for links that come back
 *   "chapter"  name of the chapter, "" until it is set
 *   "demo"     true when this is the demonstration
 *   "standby"  on a box that stands by: of when its copy is (respond_as_of)
 *   "static"   address of each static file: static.fairlead_css for fairlead.css
 * Status 200, or 422 when c->form has faults. */
enum status respond_page(struct context *c, const char *template, const char *title,
                         json_t *view) MUST_CHECK;

/* The same for a member's page that shows nothing but what the key names
 * (page_cache.h): make is called only when no such page is kept. */
typedef enum status view_fn(struct context *c, const void *from, json_t **out);
enum status respond_kept(struct context *c, const char *key, const char *template,
                         const char *title, view_fn *make, const void *from) MUST_CHECK;

/* 303 to a path of this site, printed into; only ids, words of the program and
 * what url_ functions made go into the arguments. Afterwards the browser may
 * reload without sending the form again. */
enum status respond_redirect(struct context *c, const char *format, ...)
        PRINTF_LIKE(2, 3) MUST_CHECK;

/* 200 with application/json (body stolen, NULL counts as memory having run out). */
enum status respond_json(struct context *c, json_t *body, enum cache_class cache) MUST_CHECK;

/* 200 with views/<template> filled with the view alone (stolen, NULL counts as
 * memory having run out): what is no page, such as a feed. */
enum status respond_filled(struct context *c, const char *type, const char *template, json_t *view,
                           enum cache_class cache) MUST_CHECK;

/* JSON as a file of that name to save, laid out for reading; never kept by
 * caches. */
enum status respond_json_file(struct context *c, json_t *body, const char *name) MUST_CHECK;

/* 200 with bytes that live in the arena or the binary. download: NULL shows it
 * in the browser, else the file name to save under (letters, digits, . - _). */
enum status respond_bytes(struct context *c, const char *type, const char *bytes, size_t len,
                          enum cache_class cache, const char *download) MUST_CHECK;

/* An error: a page, or application/problem+json (RFC 9457) under /api/. words:
 * one or two sentences for the reader. */
enum status respond_error(struct context *c, unsigned status, const char *words) MUST_CHECK;

/* 403 for a form whose session has ended or is another by now. The words that
 * were typed stand on the page to be copied, since nothing else keeps them. */
enum status respond_form_refused(struct context *c, const char *words) MUST_CHECK;

/* 503 with Retry-After. A form without files or secrets can be sent again from the
 * page; of others the words that were typed stand there. */
enum status respond_busy(struct context *c, const char *words) MUST_CHECK;

/* 429 with Retry-After, in seconds. */
enum status respond_wait(struct context *c, int64_t seconds) MUST_CHECK;

/* 400 with application/problem+json for a query of the API that has faults:
 * "errors" lists each as {"field", "reason"}. */
enum status respond_invalid(struct context *c) MUST_CHECK;

/* The message for a word, NULL when the table in said.c has none. */
const char *said_words(const char *word);

/* On a box that stands by: when the copy that it serves was made, as in
 * 2017-09-24T14:02Z, or "never". False on a chapter's own box. */
#define AS_OF_SIZE 24
bool respond_as_of(const struct context *c, char out[AS_OF_SIZE]);

#endif
