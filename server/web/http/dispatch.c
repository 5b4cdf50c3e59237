/* dispatch.c - from a request to a sealed response, or to pictures that are made first.
 *
 * In this order, each step in one place: find the row; slow down; find who
 * calls; may they?; is the form theirs?; read the inputs; borrow the catalogue;
 * run the handler, on a read-only store unless the row writes; turn what it
 * returns into an error; seal.
 */
#include <assert.h>
#include <string.h>

#include "base/text.h"
#include "os/clock.h"
#include "os/log.h"
#include "store/bounds.h"
#include "store/kits.h"
#include "store/settings.h"
#include "store/store.h"
#include "web/html/bound_words.h"
#include "web/http/app_parts.h"
#include "web/http/respond.h"
#include "web/http/seal.h"

#define NEXT_LONGEST 500 /* bytes of where to go on after signing in */

/* What the guard says of a caller. */
enum verdict { PASS, SIGN_IN, SIGNED_IN_ALREADY, NO_TOKEN, BAD_TOKEN, NOT_ALLOWED, NOT_HERE };

struct rule {
	bool token;     /* called by programs with a bearer token, not by browsers */
	bool guest;     /* members are sent away */
	bool member;    /* visitors are sent to sign in */
	bool owner;     /* {kit} must be the caller's */
	enum role role; /* least role */
};

static const struct rule rules[CALLERS] = {
        [CALL_ANYONE] = {.member = false},
        [CALL_GUEST] = {.guest = true},
        [CALL_MEMBER] = {.member = true},
        [CALL_KIT_OWNER] = {.member = true, .owner = true},
        [CALL_STEWARD] = {.member = true, .role = ROLE_STEWARD},
        [CALL_ADMIN] = {.member = true, .role = ROLE_ADMIN},
        [CALL_ANY_TOKEN] = {.token = true},
        [CALL_TOKEN] = {.token = true, .member = true},
        [CALL_TOKEN_OWNER] = {.token = true, .member = true, .owner = true},
};

static enum status judge_owner(const struct context *c, enum verdict *out)
{
	struct member_id owner = {0};
	enum status status = kit_owner(c->store, (struct kit_id){context_id(c, "kit")}, &owner);

	if (status == ST_MISSING || (status == ST_OK && owner.v != c->member->id.v)) {
		*out = NOT_HERE;
		return ST_OK;
	}
	return status;
}

static enum status judge(const struct context *c, enum verdict *out)
{
	const struct rule *rule = &rules[c->route->caller];

	*out = PASS;
	if (c->token_faulty)
		*out = BAD_TOKEN;
	else if (rule->guest && c->member)
		*out = SIGNED_IN_ALREADY;
	else if (rule->member && !c->member)
		*out = rule->token ? NO_TOKEN : SIGN_IN;
	else if (rule->member && c->member->role < rule->role)
		*out = NOT_ALLOWED;
	else if (rule->owner)
		return judge_owner(c, out);
	return ST_OK;
}

static enum status send_to_sign_in(struct context *c)
{
	struct text next = TEXT_EMPTY;
	enum status status = ST_NOMEM;

	if (c->request->method == HTTP_POST)
		return respond_form_refused(
		        c, "Your session has ended. Sign in, then send the form again.");
	http_escape(&next, c->request->path);
	if (next.len > NEXT_LONGEST)
		text_clear(&next);
	if (!text_failed(&next))
		status = respond_redirect(c, "/sign-in?next=%s", text_string(&next));
	text_free(&next);
	return status;
}

static enum status ask_for_token(struct context *c)
{
	response_header(c->arena, c->response, "WWW-Authenticate", "Bearer");
	return respond_error(c, 401,
	                     "This address needs the header Authorization: Bearer and a "
	                     "token. Members make tokens on the page of their account.");
}

/* RFC 6750 section 3.1. Never taken for a call without a token: its caller would
 * get less than they asked for and not hear why. */
static enum status refuse_token(struct context *c)
{
	response_header(c->arena, c->response, "WWW-Authenticate",
	                "Bearer error=\"invalid_token\"");
	return respond_error(c, 401,
	                     "This token is not one of Fairlead's, or it has been ended. Make "
	                     "a new one on the page of your account, or leave the header "
	                     "Authorization out.");
}

static enum status respond_missing(struct context *c)
{
	return respond_error(c, 404, "There is no such page, or it is not yours to see.");
}

static enum status turn_away(struct context *c, enum verdict verdict)
{
	switch (verdict) {
	case SIGN_IN:
		return send_to_sign_in(c);
	case SIGNED_IN_ALREADY:
		return respond_redirect(c, "/");
	case NO_TOKEN:
		return ask_for_token(c);
	case BAD_TOKEN:
		return refuse_token(c);
	case NOT_ALLOWED:
		return respond_error(c, 403,
		                     "This page is for others in the chapter: ask an admin.");
	case NOT_HERE:
	case PASS:
		break;
	}
	return respond_missing(c);
}

/* At a button: forms with fields show themselves again (form_bound). */
static enum status respond_bound(struct context *c, const struct bound_row *row)
{
	char words[BOUND_WORDS_SIZE];

	bound_words(row, words);
	return respond_error(c, row->within ? 429 : 409, words);
}

static enum status respond_failure(struct context *c, enum status failure)
{
	static const struct {
		unsigned status;
		const char *words;
	} failures[] = {
	        [ST_OK] = {500, "The page gave no answer."},
	        [ST_NOMEM] = {500, "The box is out of memory. Try again in a little while."},
	        [ST_INVALID] = {400, "The request breaks a rule."},
	        [ST_MISSING] = {404, "There is no such page, or it is not yours to see."},
	        [ST_CONFLICT] = {409, "Somebody changed this meanwhile. Look at it again first."},
	        [ST_DENIED] = {403, "This is not allowed."},
	        [ST_BUSY] = {503, "Others are being served just now. Try again in a moment."},
	        [ST_LIMIT] = {413, "This is larger than Fairlead takes."},
	        [ST_IO] = {500, "The box could not read or write its data."},
	};
	const struct bound_row *bound =
	        failure == ST_LIMIT && c->store ? bound_met(c->store) : NULL;
	unsigned code = failures[failure].status;

	if (bound)
		return respond_bound(c, bound);
	if (code >= 500)
		log_line(LOG_LEVEL_TROUBLE, "%s answered: %s",
		         c->route ? c->route->pattern : "no route", status_words(failure));
	if (failure == ST_BUSY)
		return respond_busy(c, failures[failure].words);
	return respond_error(c, code, failures[failure].words);
}

/* Fields without the one of that name, which is the dispatcher's. */
static enum status fields_without(struct arena *arena, const struct http_fields *fields,
                                  const char *name, struct http_fields *out)
{
	struct http_field *kept = ARENA_ARRAY(arena, struct http_field, fields->count);
	size_t count = 0;

	if (!kept)
		return ST_NOMEM;
	for (size_t i = 0; i < fields->count; i++)
		if (strcmp(fields->at[i].name, name) != 0)
			kept[count++] = fields->at[i];
	*out = (struct http_fields){kept, count};
	return ST_OK;
}

/* ST_INVALID has been answered. */
static enum status read_inputs(struct context *c)
{
	static const struct http_uploads none = {NULL, 0};
	bool post = c->request->method == HTTP_POST;
	bool open = !post && c->route->flags & R_OPEN_QUERY;
	struct http_fields fields = {NULL, 0};
	const char *unknown = "";
	enum status status = fields_without(c->arena, post ? &c->request->form : &c->request->query,
	                                    post ? "token" : "said", &fields);

	if (status == ST_OK)
		status = form_read(c->arena, c->route->inputs, &fields,
		                   post ? &c->request->uploads : &none, &c->form,
		                   open ? NULL : &unknown);
	return status;
}

static enum status refuse_unknown(struct context *c)
{
	return respond_error(c, 400, "The request holds a field that this page does not know.");
}

static enum status run_handler(struct context *c)
{
	bool writes = c->route->flags & R_WRITES;
	enum status status = ST_OK;

	if (c->store && !writes)
		status = store_set_read_only(c->store, true);
	if (c->store)
		store_act_for(c->store, c->member ? c->member->id.v : 0, c->now);
	if (status == ST_OK)
		status = c->route->handler(c);
	if (c->response->pictures) /* it changed nothing, and is called again */
		return ST_OK;
	if (status == ST_OK && arena_failed(c->arena))
		status = ST_NOMEM;
	if (status != ST_OK || c->response->status == 0)
		return respond_failure(c, status);
	if (writes)
		rounds_wake(c->app->chapter->rounds);
	return ST_OK;
}

static enum status with_inputs(struct context *c)
{
	enum status status = read_inputs(c);

	if (status == ST_INVALID)
		return refuse_unknown(c);
	return status == ST_OK ? run_handler(c) : respond_failure(c, status);
}

/* A member's session tells the generation; others ask for it. */
static enum status find_generation(const struct context *c, int64_t *out)
{
	if (!c->session)
		return setting_generation(c->store, out);
	*out = c->session->generation;
	return ST_OK;
}

static enum status use_notices(struct work *work, void *context)
{
	struct context *c = context;

	c->catalogue = work->catalogue;
	c->parts = work->parts;
	c->generation = work->generation;
	return with_inputs(c);
}

static enum status with_catalogue(struct context *c)
{
	struct work work = context_work(c);
	int64_t generation = 0;
	enum status status = find_generation(c, &generation);

	if (status == ST_OK)
		status = work_with_notices(&work, generation, use_notices, c);
	return status == ST_OK ? ST_OK : respond_failure(c, status);
}

static enum status identify(struct context *c)
{
	return rules[c->route->caller].token ? session_identify_bearer(c) : session_identify(c);
}

/* Was a POST sent by a page of this site? Not asked where the address holds a
 * token that by itself gives the right to what the POST does, and nothing else
 * does (R_BY_TOKEN): mail programs send such a POST by themselves (RFC 8058).
 * That is safe, because another site gains nothing by having a member's browser
 * send it: it would have to know the token, and who knows it needs no browser of
 * the member's. What such a handler does may follow from the token alone, never
 * from c->member. */
static bool is_ours(const struct context *c)
{
	return c->request->method != HTTP_POST || c->route->flags & R_BY_TOKEN ||
	       session_owns_form(c);
}

static enum status guarded(struct context *c)
{
	enum verdict verdict = PASS;
	enum status status = identify(c);

	if (status == ST_OK)
		status = judge(c, &verdict);
	if (status != ST_OK)
		return respond_failure(c, status);
	if (verdict != PASS)
		return turn_away(c, verdict);
	if (!is_ours(c))
		return respond_form_refused(c,
		                            "This form did not come from a page of this site, or "
		                            "it is too old. Load the page again, then send it.");
	return with_catalogue(c);
}

static enum status with_store(struct context *c)
{
	enum status status;

	c->store = store_take(c->app->chapter->pool);
	if (c->request->patience)
		store_set_patience(c->store, c->request->patience);
	status = guarded(c);
	store_give(c->app->chapter->pool, c->store);
	c->store = NULL;
	return status;
}

static enum status slow_down(struct context *c, int64_t *wait)
{
	int64_t at = context_steady(c);
	enum status status = ST_OK;

	if (c->request->method != HTTP_POST || c->request->pictures)
		return ST_OK;
	if (c->route->flags & R_GUARDED)
		status = limits_take(c->app->limits, LIMIT_GUARDED, c->request->peer, at, wait);
	if (status == ST_OK)
		status = limits_take(c->app->limits, LIMIT_POST, c->request->peer, at, wait);
	return status;
}

/* Every answer of a box that stands by says of when it is. */
static void say_as_of(struct context *c)
{
	char as_of[AS_OF_SIZE];
	const char *kept =
	        respond_as_of(c, as_of) ? arena_copy(c->arena, as_of, strlen(as_of)) : NULL;

	if (kept)
		response_header(c->arena, c->response, "As-Of", kept);
}

static enum status refuse_change(struct context *c)
{
	response_header(c->arena, c->response, "Retry-After", "60");
	return respond_error(c, 503,
	                     "This box stands by for the chapter's own and changes nothing. Send "
	                     "the form to the chapter's own address.");
}

static enum status follow_route(struct context *c)
{
	int64_t wait = 0;

	say_as_of(c);
	if (c->app->chapter->standby && c->request->method == HTTP_POST)
		return refuse_change(c);

	if (slow_down(c, &wait) != ST_OK)
		return respond_wait(c, wait);
	return c->route->flags & R_BARE ? with_inputs(c) : with_store(c);
}

static enum status find_route(struct context *c)
{
	const char *allow = "";
	enum status status = router_find(c->app->router, c->arena, c->request->method,
	                                 c->request->path, &c->route, &c->captures, &allow);

	if (status == ST_OK)
		return follow_route(c);
	if (status != ST_DENIED)
		return status == ST_MISSING ? respond_missing(c) : respond_failure(c, status);
	response_header(c->arena, c->response, "Allow", allow);
	return respond_error(c, 405, "This address does not take that method.");
}

bool dispatch_early(struct app *app, const struct request *request, struct arena *arena,
                    struct response *response)
{
	struct context c = context_bare(app, request, arena, response);
	enum verdict verdict = PASS;
	const char *allow = "";
	enum status status = router_find(app->router, arena, request->method, request->path,
	                                 &c.route, &c.captures, &allow);

	if (status != ST_OK || c.route->flags & R_BARE)
		return false;
	c.store = store_take(app->chapter->pool);
	status = identify(&c);
	if (status == ST_OK)
		status = judge(&c, &verdict);
	if (status == ST_OK && verdict != PASS)
		status = turn_away(&c, verdict);
	if (status != ST_OK)
		status = respond_failure(&c, status);
	store_give(app->chapter->pool, c.store);
	if (response->status)
		seal_response(arena, request, app->config.secure, response);
	return status == ST_OK && c.session && verdict == PASS;
}

void dispatch_busy(struct app *app, const struct request *request, struct arena *arena,
                   struct response *response)
{
	struct context context = context_bare(app, request, arena, response);

	if (respond_failure(&context, ST_BUSY) == ST_OK)
		seal_response(arena, request, app->config.secure, response);
}

void dispatch(struct app *app, const struct request *request, struct arena *arena,
              struct response *response)
{
	struct context context = context_bare(app, request, arena, response);

	if (find_route(&context) != ST_OK)
		respond_failure(&context, ST_NOMEM);
	if (!response->pictures)
		seal_response(arena, request, app->config.secure, response);
}
