/* session.h - who is calling, and the proof that a form is theirs.
 *
 * Cookie: 32 random bytes as a token (os/token.h), named __Host-session when
 * Fairlead is served over TLS, else session; HttpOnly, SameSite=Lax, Path=/.
 * The database keeps its hash. Every form of a signed-in member carries a
 * hidden field "token": a digest keyed by a secret of the session, which
 * another site can neither read nor guess. Forms of the signed-out carry none;
 * there, and for members too, the browser's Sec-Fetch-Site or Origin must say
 * that the form came from this site. A program that sends neither header has
 * no browser's cookies to abuse.
 */
#ifndef WEB_HTTP_SESSION_H
#define WEB_HTTP_SESSION_H

#include "store/members.h"
#include "os/token.h"

struct context;

#define SESSION_IDLE (14 * 86400)    /* seconds without a request that end a session */
#define SESSION_LONGEST (90 * 86400) /* seconds that end it anyway */

/* Begins a session for a member and sets the cookie; the caller's old session
 * ends, and the login is known from this address. The route must have R_WRITES. */
enum status session_open(struct context *c, struct member_id member) MUST_CHECK;

/* Ends the caller's session, if any, and takes the cookie back. R_WRITES. */
enum status session_close(struct context *c) MUST_CHECK;

/* Sets c->session and c->member from the cookie; a visitor keeps NULL. That the
 * session is in use is noted if that can be done at once. */
enum status session_identify(struct context *c) MUST_CHECK;

/* Sets c->member from a bearer token (RFC 6750 section 2.1), or c->token_faulty
 * when what is sent is nobody's; without one, or with another scheme, neither. */
enum status session_identify_bearer(struct context *c) MUST_CHECK;

/* The value of the hidden field of this session's forms; "" for a visitor. */
void session_form_token(const struct context *c, char out[TOKEN_SIZE]);

/* Was this POST sent by a page of this site, and does its token fit the session? */
bool session_owns_form(const struct context *c);

#endif
