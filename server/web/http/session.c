#include "web/http/session.h"

#include <string.h>

#include "os/random.h"
#include "store/addresses.h"
#include "web/http/browser.h"
#include "web/http/context.h"

#define TOUCH_EVERY 86400 /* seconds between two notes that a session is in use */

static const char *cookie_name(const struct context *c)
{
	return app_config(c->app)->secure ? "__Host-session" : "session";
}

static enum status set_cookie(struct context *c, const char *value, int64_t age)
{
	const char *secure = app_config(c->app)->secure ? "; Secure" : "";
	const char *cookie =
	        arena_printf(c->arena, "%s=%s; Path=/; Max-Age=%lld; HttpOnly; SameSite=Lax%s",
	                     cookie_name(c), value, (long long)age, secure);

	if (!cookie)
		return ST_NOMEM;
	response_header(c->arena, c->response, "Set-Cookie", cookie);
	return ST_OK;
}

/* Ended elsewhere already is as good. */
static enum status end_old(struct context *c)
{
	enum status status = ST_OK;

	if (c->session)
		status = session_end(c->store, c->session->member.id, c->session->id);
	return status == ST_MISSING ? ST_OK : status;
}

enum status session_open(struct context *c, struct member_id member)
{
	struct session_entry entry = {.member = member,
	                              .label = browser_label(c->request->headers.user_agent),
	                              .idle_until = c->now + SESSION_IDLE,
	                              .ends_at = c->now + SESSION_LONGEST};
	struct session_id id;
	char token[TOKEN_SIZE];
	enum status status = end_old(c);

	token_make(token);
	entry.token = hash_of(token, TOKEN_LENGTH);
	random_bytes(entry.secret, sizeof entry.secret);
	if (status == ST_OK)
		status = session_add(c->store, &entry, c->now, &id);
	if (status == ST_OK)
		status = address_note(c->store, member, c->request->peer, c->now);
	if (status == ST_OK)
		status = set_cookie(c, token, SESSION_LONGEST);
	return status;
}

enum status session_close(struct context *c)
{
	enum status status = end_old(c);

	return status == ST_OK ? set_cookie(c, "", 0) : status;
}

/* Once a day is often enough, and spares most requests a write. A page is not kept
 * from its reader because the database cannot be written now: the next request
 * tries again. */
static void touch(struct context *c, const struct session *session)
{
	int64_t left = session->idle_until - c->now;
	int patience;

	/* More than all of it is left: the clock was set back meanwhile. */
	if (left >= SESSION_IDLE - TOUCH_EVERY && left <= SESSION_IDLE)
		return;
	patience = store_set_patience(c->store, STORE_NO_PATIENCE);
	(void)!session_touch(c->store, session->id, c->now, c->now + SESSION_IDLE);
	store_set_patience(c->store, patience);
}

enum status session_identify(struct context *c)
{
	const char *token = http_cookie(c->arena, c->request->headers.cookie, cookie_name(c));
	struct session *session;
	struct hash hash;
	enum status status;

	if (!token || !token_well_formed(token))
		return ST_OK;
	session = ARENA_NEW(c->arena, struct session);
	if (!session)
		return ST_NOMEM;
	hash = hash_of(token, TOKEN_LENGTH);
	status = session_find(c->store, c->arena, &hash, c->now, session);
	if (status != ST_OK)
		return status == ST_MISSING ? ST_OK : status;
	c->session = session;
	c->member = &session->member;
	touch(c, session);
	return ST_OK;
}

/* What follows the scheme, "" when nothing does; NULL for another scheme. */
static const char *bearer_of(const char *authorization)
{
	static const char scheme[] = "Bearer";
	const char *at = authorization;

	if (!at || strncasecmp(at, scheme, sizeof scheme - 1) != 0)
		return NULL;
	at += sizeof scheme - 1;
	return *at && *at != ' ' ? NULL : at + strspn(at, " ");
}

enum status session_identify_bearer(struct context *c)
{
	const char *token = bearer_of(c->request->headers.authorization);
	struct member *member;
	struct hash hash;
	enum status status;

	if (!token)
		return ST_OK;
	c->token_faulty = true;
	if (!token_well_formed(token))
		return ST_OK;
	member = ARENA_NEW(c->arena, struct member);
	if (!member)
		return ST_NOMEM;
	hash = hash_of(token, TOKEN_LENGTH);
	status = api_token_find(c->store, c->arena, &hash, c->now, member);
	if (status == ST_OK)
		c->member = member;
	c->token_faulty = status != ST_OK;
	return status == ST_MISSING ? ST_OK : status;
}

void session_form_token(const struct context *c, char out[TOKEN_SIZE])
{
	static const char purpose[] = "form";
	struct digest digest;

	out[0] = '\0';
	if (!c->session)
		return;
	digest = digest_keyed(c->session->secret, SECRET_SIZE, purpose, sizeof purpose);
	token_print(digest.bytes, out);
}

static bool token_fits(const struct context *c)
{
	const char *sent = http_first(&c->request->form, "token");
	char wanted[TOKEN_SIZE];
	struct digest a, b;

	if (!c->session)
		return true;
	if (!sent)
		return false;
	session_form_token(c, wanted);
	a = token_digest(sent);
	b = token_digest(wanted);
	return digest_equal(&a, &b);
}

/* An Origin is scheme://host[:port] or "null" (RFC 6454 section 7). */
static bool is_own_origin(const struct context *c, const char *origin)
{
	const char *base = app_config(c->app)->base_url;
	const char *host = strstr(origin, "://");

	if (base && strcasecmp(origin, base) == 0)
		return true;
	return host && c->request->headers.host &&
	       strcasecmp(host + 3, c->request->headers.host) == 0;
}

static bool from_this_site(const struct context *c)
{
	const struct request_headers *headers = &c->request->headers;

	if (headers->sec_fetch_site && strcmp(headers->sec_fetch_site, "same-origin") != 0)
		return false;
	return !headers->origin || is_own_origin(c, headers->origin);
}

bool session_owns_form(const struct context *c)
{
	return from_this_site(c) && token_fits(c);
}
