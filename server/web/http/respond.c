#include "web/http/respond.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "base/text.h"
#include "chapter/standby.h"
#include "os/log.h"
#include "store/news.h"
#include "store/settings.h"
#include "web/http/app_parts.h"
#include "web/html/present.h"

#define LOCATION_LONGEST 2000

static bool is_api(const struct context *c)
{
	return strncmp(c->request->path, "/api/", 5) == 0;
}

static enum status answer(struct context *c, unsigned status, const char *type, const char *body,
                          size_t len, enum cache_class cache)
{
	struct response *response = c->response;

	response->status = status;
	response->type = type;
	response->body = body;
	response->len = len;
	response->cache = cache;
	return ST_OK;
}

/* How much news waits, in the drawer of every page: "3", "9+", or false. */
static json_t *unseen_view(const struct context *c)
{
	int64_t count = c->session ? c->session->unseen : 0;

	if (count >= NEWS_COUNTED)
		return json_sprintf("%d+", NEWS_COUNTED - 1);
	return count ? json_sprintf("%d", (int)count) : json_false();
}

static json_t *member_view(const struct context *c)
{
	if (!c->member)
		return json_false();
	return json_pack("{s:s, s:s, s:b, s:b, s:o}", "name", c->member->name, "login",
	                 c->member->login, "steward", context_may(c, ROLE_STEWARD), "admin",
	                 context_may(c, ROLE_ADMIN), "news", unseen_view(c));
}

static json_t *said_view(const struct context *c)
{
	const char *word = http_first(&c->request->query, "said");
	const char *words = word ? said_words(word) : NULL;

	return words ? json_string(words) : json_false();
}

/* A page without the chapter's name is better than none. */
static const char *chapter_name(const struct context *c)
{
	const char *name = "";

	if (c->store && setting_text(c->store, c->arena, SETTING_CHAPTER, &name) != ST_OK)
		log_line(LOG_LEVEL_WARNING, "the chapter's name could not be read");
	return name;
}

bool respond_as_of(const struct context *c, char out[AS_OF_SIZE])
{
	struct standby *standby = c->app->chapter->standby;
	time_t as_of = standby ? (time_t)standby_as_of(standby) : 0;
	struct tm parts;

	if (!standby)
		return false;
	if (as_of == 0 || !gmtime_r(&as_of, &parts) ||
	    strftime(out, AS_OF_SIZE, "%Y-%m-%dT%H:%MZ", &parts) == 0)
		strcpy(out, "never");
	return true;
}

/* NULL on the first box. */
static json_t *standby_view(const struct context *c)
{
	char as_of[AS_OF_SIZE];

	return respond_as_of(c, as_of) ? json_string(as_of) : NULL;
}

/* What every page has. */
static json_t *dress_view(const struct context *c, const char *title)
{
	char token[TOKEN_SIZE];

	session_form_token(c, token);
	return json_pack("{s:s, s:o, s:s, s:o, s:s, s:s, s:b, s:o, s:o*}", "title", title, "member",
	                 member_view(c), "token", token, "said", said_view(c), "here_path",
	                 c->request->path, "chapter", chapter_name(c), "demo",
	                 app_config(c->app)->demo, "static", statics_view(c->app->statics),
	                 "standby", standby_view(c));
}

static enum status render(struct context *c, const char *template, const json_t *view,
                          const char **out, size_t *len)
{
	struct tmpl_fault fault = {.words = ""};
	struct text page = TEXT_EMPTY;
	enum status status = tmpl_render(c->app->views, template, view, &page, &fault);

	if (status != ST_OK && status != ST_NOMEM) {
		log_line(LOG_LEVEL_TROUBLE, "%s, line %u: %s", fault.file, fault.line, fault.words);
		status = ST_IO;
	}
	if (status == ST_OK) {
		*len = page.len;
		*out = arena_copy(c->arena, text_string(&page), page.len);
		status = *out && !text_failed(&page) ? ST_OK : ST_NOMEM;
	}
	text_free(&page);
	return status;
}

static const char html[] = "text/html; charset=utf-8";

/* Steals the view, borrows the dress. */
static enum status respond_dressed(struct context *c, unsigned code, const char *template,
                                   json_t *dress, json_t *view, enum cache_class cache)
{
	const char *page = NULL;
	size_t len = 0;
	enum status status = ST_NOMEM;

	if (view && dress && json_object_update_missing(view, dress) == 0)
		status = render(c, template, view, &page, &len);
	json_decref(view);
	if (status != ST_OK)
		return status;
	return answer(c, code, html, page, len, cache);
}

static enum status respond_view(struct context *c, unsigned code, const char *template,
                                const char *title, json_t *view, enum cache_class cache)
{
	json_t *dress = dress_view(c, title);
	enum status status = respond_dressed(c, code, template, dress, view, cache);

	json_decref(dress);
	return status;
}

enum status respond_page(struct context *c, const char *template, const char *title, json_t *view)
{
	bool faulty = c->form && !form_ok(c->form);
	enum cache_class cache = c->member ? CACHE_PRIVATE : CACHE_PUBLIC;

	if (c->request->method == HTTP_POST || c->route->flags & R_SECRET)
		cache = CACHE_NEVER;
	return respond_view(c, faulty ? 422 : 200, template, title, view, cache);
}

enum status respond_kept(struct context *c, const char *key, const char *template,
                         const char *title, view_fn *make, const void *from)
{
	json_t *dress = dress_view(c, title), *view = NULL;
	enum status status;

	assert(c->request->method != HTTP_POST && c->member && !(c->route->flags & R_SECRET));
	if (dress && !c->app->chapter->standby &&
	    page_cache_find(c->app->pages, key, dress, c->arena, c->response)) {
		json_decref(dress);
		return answer(c, 200, html, c->response->body, c->response->len, CACHE_PRIVATE);
	}
	status = make(c, from, &view);
	if (status == ST_OK)
		status = respond_dressed(c, 200, template, dress, view, CACHE_PRIVATE);
	if (status == ST_OK && !c->app->chapter->standby)
		page_cache_put(c->app->pages, key, dress, c->response);
	json_decref(dress);
	return status;
}

enum status respond_filled(struct context *c, const char *type, const char *template, json_t *view,
                           enum cache_class cache)
{
	const char *body = NULL;
	size_t len = 0;
	enum status status = view ? render(c, template, view, &body, &len) : ST_NOMEM;

	json_decref(view);
	return status == ST_OK ? answer(c, 200, type, body, len, cache) : status;
}

/* A Location is ASCII without blanks (RFC 9110 section 10.2.2). */
static const char *escape_location(struct context *c, const char *path)
{
	struct text out = TEXT_EMPTY;
	const char *copy = NULL;

	for (; *path; path++) {
		if ((unsigned char)*path > 0x20 && (unsigned char)*path < 0x7F)
			text_add_char(&out, *path);
		else
			text_printf(&out, "%%%02X", (unsigned)(unsigned char)*path);
	}
	if (!text_failed(&out))
		copy = arena_string(c->arena, text_string(&out));
	text_free(&out);
	return copy;
}

enum status respond_redirect(struct context *c, const char *format, ...)
{
	char path[LOCATION_LONGEST];
	const char *location;
	int len;
	va_list args;

	va_start(args, format);
	len = vsnprintf(path, sizeof path, format, args);
	va_end(args);
	if (len < 0 || (size_t)len >= sizeof path || path[0] != '/' || path[1] == '/')
		return ST_INVALID;
	location = escape_location(c, path);
	if (!location)
		return ST_NOMEM;
	response_header(c->arena, c->response, "Location", location);
	return answer(c, 303, NULL, "", 0, CACHE_NEVER);
}

/* A number goes out as it came in: 0.95, and not the digits of its binary
 * neighbour (every decimal of 15 digits survives a double, IEEE 754). */
#define DECIMALS JSON_REAL_PRECISION(15)

static int add_dumped(const char *at, size_t len, void *text)
{
	text_add_bytes(text, at, len);
	return text_failed(text) ? -1 : 0;
}

static enum status dump_laid_out(struct context *c, unsigned code, const char *type, json_t *body,
                                 enum cache_class cache, size_t layout)
{
	struct text out = TEXT_EMPTY;
	const char *copy = NULL;
	size_t len;

	if (body && json_dump_callback(body, add_dumped, &out, layout) == 0)
		copy = arena_copy(c->arena, text_string(&out), out.len);
	len = out.len;
	text_free(&out);
	json_decref(body);
	return copy ? answer(c, code, type, copy, len, cache) : ST_NOMEM;
}

static enum status dump(struct context *c, unsigned code, const char *type, json_t *body,
                        enum cache_class cache)
{
	return dump_laid_out(c, code, type, body, cache, JSON_COMPACT | DECIMALS);
}

enum status respond_json(struct context *c, json_t *body, enum cache_class cache)
{
	return dump(c, 200, "application/json", body, cache);
}

/* A file to save, not a page to show. */
static enum status save_under(struct context *c, const char *name)
{
	const char *disposition = arena_printf(c->arena, "attachment; filename=\"%s\"", name);

	if (!disposition)
		return ST_NOMEM;
	response_header(c->arena, c->response, "Content-Disposition", disposition);
	return ST_OK;
}

enum status respond_json_file(struct context *c, json_t *body, const char *name)
{
	if (save_under(c, name) != ST_OK) {
		json_decref(body);
		return ST_NOMEM;
	}
	return dump_laid_out(c, 200, "application/json", body, CACHE_NEVER,
	                     JSON_INDENT(2) | DECIMALS);
}

enum status respond_bytes(struct context *c, const char *type, const char *bytes, size_t len,
                          enum cache_class cache, const char *download)
{
	if (download && save_under(c, download) != ST_OK)
		return ST_NOMEM;
	return answer(c, 200, type, bytes, len, cache);
}

static const char *error_title(unsigned status)
{
	static const struct {
		unsigned status;
		const char *title;
	} titles[] = {
	        {400, "This cannot be read"},
	        {401, "Who is calling?"},
	        {403, "Not for you"},
	        {404, "Not here"},
	        {405, "Not this way"},
	        {409, "Changed meanwhile"},
	        {413, "Too large"},
	        {414, "Too long an address"},
	        {429, "Too many at once"},
	        {431, "Too large a head"},
	        {500, "Something went wrong"},
	        {503, "Busy just now"},
	};

	for (size_t i = 0; i < sizeof titles / sizeof titles[0]; i++)
		if (titles[i].status == status)
			return titles[i].title;
	return "Something went wrong";
}

/* errors is stolen; NULL: none to list. */
static enum status respond_problem(struct context *c, unsigned status, const char *words,
                                   json_t *errors)
{
	json_t *problem = json_pack("{s:s, s:s, s:i, s:s, s:o*}", "type", "about:blank", "title",
	                            http_phrase(status), "status", (int)status, "detail", words,
	                            "errors", errors);

	return dump(c, status, "application/problem+json", problem, CACHE_NEVER);
}

enum status respond_invalid(struct context *c)
{
	json_t *view = form_view(c->form);
	json_t *errors = json_array(), *error;
	size_t i;

	json_array_foreach(json_object_get(view, "errors"), i, error) json_array_append_new(
	        errors, json_pack("{s:O, s:O}", "field", json_object_get(error, "anchor"), "reason",
	                          json_object_get(error, "words")));
	json_decref(view);
	return respond_problem(c, 400, "Some fields of the query are faulty.", errors);
}

static enum status error_page(struct context *c, unsigned status, const char *words)
{
	json_t *view = json_pack("{s:i, s:s}", "status", (int)status, "words", words);

	return respond_view(c, status, "error.html", error_title(status), view, CACHE_NEVER);
}

/* Whatever fails while an error is told, the words still get out. */
enum status respond_error(struct context *c, unsigned status, const char *words)
{
	enum status done =
	        is_api(c) ? respond_problem(c, status, words, NULL) : error_page(c, status, words);

	if (done != ST_OK)
		done = answer(c, status, "text/plain; charset=utf-8", words, strlen(words),
		              CACHE_NEVER);
	return done;
}

/* Words, not numbers and choices; never what is secret. */
static bool worth_giving_back(const struct http_field *field)
{
	return !strstr(field->name, "password") && strcmp(field->name, "token") != 0 &&
	       strpbrk(field->value, " \n");
}

static json_t *typed_words(const struct context *c)
{
	const struct http_fields *fields = &c->request->form;
	json_t *typed = json_array();

	for (size_t i = 0; i < fields->count; i++)
		if (worth_giving_back(&fields->at[i]))
			json_array_append_new(typed, json_pack("{s:i, s:s}", "number", (int)i + 1,
			                                       "words", fields->at[i].value));
	return typed;
}

enum status respond_form_refused(struct context *c, const char *words)
{
	enum status done;
	json_t *view;

	if (is_api(c))
		return respond_error(c, 403, words);
	view = json_pack("{s:s, s:b, s:b, s:o}", "words", words, "signed_out", !c->member,
	                 "send_again", 0, "typed", typed_words(c));
	present_set(view, "any", json_boolean(json_array_size(json_object_get(view, "typed"))));
	done = respond_view(c, 403, "refused.html",
	                    c->member ? "This form is too old" : "You are signed out", view,
	                    CACHE_NEVER);
	return done == ST_OK ? done : respond_error(c, 403, words);
}

/* All of a form, to be sent once more as it came, by its own token; NULL when it has what
 * no page may hold, or files. */
static json_t *form_again(const struct context *c)
{
	const struct http_fields *fields = &c->request->form;
	json_t *again;

	if (c->request->method != HTTP_POST || c->request->uploads.count)
		return NULL;
	again = json_array();
	for (size_t i = 0; i < fields->count; i++) {
		const char *name = fields->at[i].name;

		if (strstr(name, "password") || strstr(name, "code")) {
			json_decref(again);
			return NULL;
		}
		json_array_append_new(
		        again, json_pack("{s:s, s:s}", "name", name, "value", fields->at[i].value));
	}
	return again;
}

enum status respond_busy(struct context *c, const char *words)
{
	json_t *again = NULL, *typed, *view;
	enum status done;

	response_header(c->arena, c->response, "Retry-After", "5");
	if (is_api(c) || c->request->method != HTTP_POST)
		return respond_error(c, 503, words);
	again = form_again(c);
	typed = again ? json_array() : typed_words(c);
	view = json_pack("{s:s, s:b, s:b, s:b, s:o*, s:o}", "words", words, "signed_out", 0, "any",
	                 json_array_size(typed) > 0, "send_again", again != NULL, "again", again,
	                 "typed", typed);
	done = respond_view(c, 503, "refused.html", error_title(503), view, CACHE_NEVER);
	return done == ST_OK ? done : respond_error(c, 503, words);
}

enum status respond_wait(struct context *c, int64_t seconds)
{
	char text[32];

	snprintf(text, sizeof text, "%lld", (long long)seconds);
	response_header(c->arena, c->response, "Retry-After", text);
	return respond_error(c, 429,
	                     "Too many tries in a short time. Wait a little, then try again.");
}
