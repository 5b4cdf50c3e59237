/* session.h - who is calling, and the proof that a form is theirs.
 *
 * Cookie: 32 random bytes as a token (os/token.h), named __Host-session when
 * Fairlead is served over TLS, else session; HttpOnly, SameSite=Lax, Path=/.
 * The database keeps its digest. Every form of a signed-in member carries a
 * hidden field "token": a keyed digest of the cookie's token, which another
 * site can neither read nor guess. Forms of the signed-out carry none; there
 * the browser's Sec-Fetch-Site or Origin must say that the form came from this
 * site. A program that sends neither header has no browser's cookies to abuse.
 */
#ifndef WEB_SESSION_H
#define WEB_SESSION_H

#include "base/status.h"
#include "os/token.h"

#include "web/people.h"

struct context;

struct session {
	struct member_id member;
	const char *login;
	const char *name;
	enum role role;
	char form_token[TOKEN_SIZE]; /* value of the hidden field */
};

/* Does the role include the other? An admin is a steward, a steward a builder. */
bool role_includes(enum role role, enum role needed);

/* Begins a session for a member and sets the cookie; the old one, if any, ends. */
enum status session_begin(struct context *c, struct member_id member) MUST_CHECK;

/* Ends the caller's session and takes the cookie back. */
enum status session_end(struct context *c) MUST_CHECK;

/* Finds c->session from the cookie; leaves it NULL for a visitor. */
enum status session_find_caller(struct context *c) MUST_CHECK;

/* Was this POST sent by a page of this site, and does its token fit the session? */
bool session_owns_form(const struct context *c);

#endif
