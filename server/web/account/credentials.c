#include "web/account/credentials.h"

#include <ctype.h>
#include <string.h>
#include <strings.h>

#include "base/utf8.h"
#include "os/totp.h"
#include "store/addresses.h"
#include "store/second_factors.h"
#include "web/http/respond.h"

/* Under what names failures are counted. No login shares a count with another
 * thing: each name begins with its kind. */
enum { COUNT_PAIR, COUNT_LOGIN, COUNT_ADDRESS };
#define COUNTS (COUNT_ADDRESS + 1)

struct counted {
	const char *who[COUNTS];
	bool known; /* the login has signed in from there before */
};

/* At most so many failures within so many seconds. One address is held off
 * from one login early; a login as a whole late, so that a stranger elsewhere
 * cannot easily keep its owner out. */
static const struct window {
	int count;
	int64_t seconds, most;
} windows[] = {
        {COUNT_PAIR, 60, 5},     {COUNT_PAIR, 900, 15},    {COUNT_LOGIN, 900, 50},
        {COUNT_ADDRESS, 60, 20}, {COUNT_ADDRESS, 900, 60},
};

static enum status check_windows(struct context *c, const struct counted *counted, int64_t *wait)
{
	for (size_t i = 0; i < sizeof windows / sizeof windows[0]; i++) {
		const struct window *window = &windows[i];
		int64_t failures = 0;
		enum status status;

		if (counted->known && window->count == COUNT_LOGIN)
			continue;
		status = sign_in_failures(c->store, counted->who[window->count],
		                          c->now - window->seconds, c->now, &failures);
		if (status != ST_OK)
			return status;
		if (failures >= window->most) {
			*wait = window->seconds;
			return ST_LIMIT;
		}
	}
	return ST_OK;
}

static enum status is_known(struct context *c, const char *login, bool *out)
{
	if (!c->member || strcasecmp(c->member->login, login) != 0)
		return address_known(c->store, login, c->request->peer, c->now, out);
	*out = true;
	return ST_OK;
}

static enum status name_counts(struct context *c, const char *login, struct counted *out)
{
	const char *peer = c->request->peer;

	out->who[COUNT_PAIR] = arena_printf(c->arena, "pair %.60s %s", peer, login);
	out->who[COUNT_LOGIN] = arena_printf(c->arena, "login %s", login);
	out->who[COUNT_ADDRESS] = arena_printf(c->arena, "address %.60s", peer);
	return arena_failed(c->arena) ? ST_NOMEM : is_known(c, login, &out->known);
}

static enum status count_failure(struct context *c, const struct counted *counted)
{
	enum status status = ST_OK;

	for (size_t i = 0; i < COUNTS && status == ST_OK; i++)
		status = sign_in_failed(c->store, counted->who[i], c->now);
	return status == ST_OK ? ST_MISSING : status;
}

/* What came from the address as a whole still counts: one login of one's own
 * must not make room for guessing others. Nor must an owner who comes and goes from a
 * known address make room for those who guess elsewhere. */
static enum status forget_failures(struct context *c, const struct counted *counted)
{
	enum status status = sign_in_forget(c->store, counted->who[COUNT_PAIR]);

	if (status != ST_OK || counted->known)
		return status;
	return sign_in_forget(c->store, counted->who[COUNT_LOGIN]);
}

/* No such member, and a member without a password, take as long as any other. */
static enum status find_fitting(struct context *c, const char *login, const char *password,
                                struct member *out, bool *fits)
{
	const char *hash = NULL;
	enum status status = member_password(c->store, c->arena, login, out, &hash);

	if (status != ST_OK && status != ST_MISSING)
		return status;
	if (hash && hash[0] != '$')
		hash = NULL;
	*fits = password_fits(hash, password) && !out->disabled;
	return ST_OK;
}

enum status credentials_try(struct context *c, const char *login, const char *password,
                            struct member *out, int64_t *wait)
{
	struct member found = {.id = {0}};
	struct counted counted = {.known = false};
	bool fits = false;
	enum status status = name_counts(c, login, &counted);

	if (status == ST_OK)
		status = check_windows(c, &counted, wait);
	if (status == ST_OK)
		status = find_fitting(c, login, password, &found, &fits);
	if (status != ST_OK)
		return status;
	if (!fits)
		return count_failure(c, &counted);
	*out = found;
	return forget_failures(c, &counted);
}

enum status credentials_check_now(struct context *c, bool *answered)
{
	struct member member;
	int64_t wait = 0;
	enum status status = credentials_try(c, c->member->login,
	                                     form_text(c->form, "password_now"), &member, &wait);

	*answered = status == ST_LIMIT;
	if (status == ST_LIMIT)
		return respond_wait(c, wait);
	if (status != ST_MISSING)
		return status;
	form_fail(c->form, "password_now", "is not right");
	return ST_OK;
}

/* Codes ----------------------------------------------------------------------- */

#define CODE_LONGEST 40

/* Three codes of a million fit at a time: 30 tries a day find one in 30 years. Who
 * tries knows the password, so this keeps out nobody who has not lost it. */
static const struct window code_windows[] = {{0, 60, 5}, {0, 900, 10}, {0, 86400, 30}};

/* Letters and digits alone, letters small. */
static void plain_code(const char *text, char out[CODE_LONGEST + 1])
{
	size_t len = 0;

	for (; *text && len < CODE_LONGEST; text++)
		if (isalnum((unsigned char)*text))
			out[len++] = (char)tolower((unsigned char)*text);
	out[len] = '\0';
}

struct hash credentials_hash_code(const char *text)
{
	char plain[CODE_LONGEST + 1];

	plain_code(text, plain);
	return hash_of(plain, strlen(plain));
}

static enum status use_code(struct context *c, const struct member *member, const char *text)
{
	struct second_factor factor;
	struct hash hash = credentials_hash_code(text);
	char plain[CODE_LONGEST + 1];
	int64_t step = 0;
	enum status status = second_read(c->store, member->id, &factor);

	plain_code(text, plain);
	if (status == ST_OK && totp_fits(factor.secret, plain, c->now, &step))
		return second_use_step(c->store, member->id, step);
	return status == ST_OK ? second_use_code(c->store, member->id, &hash) : status;
}

enum status credentials_try_code(struct context *c, const struct member *member, const char *text,
                                 int64_t *wait)
{
	const char *who = arena_printf(c->arena, "code %s", member->login);
	enum status status = who ? ST_OK : ST_NOMEM;

	for (size_t i = 0; status == ST_OK && i < sizeof code_windows / sizeof *code_windows; i++) {
		int64_t failures = 0;

		*wait = code_windows[i].seconds;
		status = sign_in_failures(c->store, who, c->now - *wait, c->now, &failures);
		if (status == ST_OK && failures >= code_windows[i].most)
			status = ST_LIMIT;
	}
	if (status == ST_OK)
		status = use_code(c, member, text);
	if (status != ST_MISSING)
		return status;
	status = sign_in_failed(c->store, who, c->now);
	return status == ST_OK ? ST_MISSING : status;
}

void credentials_check_new(struct form *form, const char *login)
{
	const char *password = form_text(form, "password");

	if (!form_given(form, "password"))
		return;
	if (utf8_length(password) < PASSWORD_SHORTEST)
		form_fail(form, "password", "is shorter than %d characters", PASSWORD_SHORTEST);
	else if (strcasecmp(password, login) == 0)
		form_fail(form, "password", "must not be the login");
	else if (form_given(form, "password_again") &&
	         strcmp(password, form_text(form, "password_again")) != 0)
		form_fail(form, "password_again", "is not the same as the first");
}

enum status credentials_hash(struct context *c, const char **out)
{
	char *hash = ARENA_ARRAY(c->arena, char, PASSWORD_HASH_SIZE);

	if (!hash || password_hash(form_text(c->form, "password"), hash) != ST_OK)
		return ST_NOMEM;
	*out = hash;
	return ST_OK;
}
