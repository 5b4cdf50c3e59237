/* credentials.h - passwords: tried, chosen anew.
 *
 * Guessing is slowed by counts that the store keeps: of failures for one login
 * from one address, for one login, and from one address. A login that nobody
 * has is treated as one that somebody has, in words and in time.
 *
 * The count for one login would let strangers keep its owner out, again and again,
 * from a handful of addresses. So it is not asked where the login has signed in from
 * the address before (store/addresses.h), nor within a session of that login: there the
 * count for the two together alone holds, which nobody elsewhere can fill. Addresses
 * rather than a cookie that marks a known device: a browser that forgets its cookies,
 * and a second one in the same house, go on too, nothing is left on a device that
 * is handed on, and what the box remembers it can forget, as it does when the
 * password changes. A phone on the road, whose address is new each day, is
 * served by its session, which lasts.
 */
#ifndef WEB_ACCOUNT_CREDENTIALS_H
#define WEB_ACCOUNT_CREDENTIALS_H

#include "os/password.h"
#include "web/http/context.h"

/* A password field of a table of inputs. */
#define PASSWORD_INPUT(name, label)                                                                \
	{                                                                                          \
		name, label, INPUT_PASSWORD, .required = true, .longest = PASSWORD_LONGEST         \
	}
/* The two rows of a form in which a password is chosen. */
#define NEW_PASSWORD_INPUTS                                                                        \
	PASSWORD_INPUT("password", "New password"),                                                \
	        PASSWORD_INPUT("password_again", "New password again")

#define NEW_PASSWORD_HINT                                                                          \
	"At least 10 characters, at most 200. Three or four words that do not belong together "    \
	"make a good one."

/* Do login and password fit an active member? ST_OK: *out is the member.
 * ST_MISSING: no; it has been counted. ST_LIMIT: too many failures lately; *wait
 * gets the seconds after which to try again. The route must have R_WRITES. */
enum status credentials_try(struct context *c, const char *login, const char *password,
                            struct member *out, int64_t *wait) MUST_CHECK;

/* Does the form's "password_now" fit the caller's? A wrong one is a fault of the form.
 * After too many, or a failure, *answered or the status say so: go no further. */
enum status credentials_check_now(struct context *c, bool *answered) MUST_CHECK;

/* Does the text fit the member's second factor: a code of an authenticator, or a
 * recovery code? It is used up then. ST_MISSING: no; it has been counted. ST_LIMIT:
 * too many wrong ones lately; *wait as above. R_WRITES. */
enum status credentials_try_code(struct context *c, const struct member *member, const char *text,
                                 int64_t *wait) MUST_CHECK;

/* What is kept of a recovery code, however it is typed: letter case, blanks and hyphens
 * do not count. */
struct hash credentials_hash_code(const char *text);

/* Adds faults to "password" and "password_again" of a form: too short, equal to
 * the login, not the same twice. */
void credentials_check_new(struct form *form, const char *login);

/* The hash of the form's new password, in the request's arena. ST_NOMEM. */
enum status credentials_hash(struct context *c, const char **out) MUST_CHECK;

#endif
