#include "web/credentials.h"

#include <string.h>
#include <strings.h>

#include "base/utf8.h"

/* At most so many failures within so many seconds. */
struct window {
	int64_t seconds;
	int64_t most;
};

#define WINDOWS 2
static const struct window login_windows[WINDOWS] = {{60, 5}, {900, 15}};
static const struct window address_windows[WINDOWS] = {{60, 20}, {900, 60}};

static enum status check_windows(struct context *c, const char *who, const struct window *windows,
                                 int64_t *wait)
{
	for (size_t i = 0; i < WINDOWS; i++) {
		int64_t failures = 0;
		enum status status =
		        sign_in_failures(c->store, who, c->now - windows[i].seconds, &failures);

		if (status != ST_OK)
			return status;
		if (failures >= windows[i].most) {
			*wait = windows[i].seconds;
			return ST_LIMIT;
		}
	}
	return ST_OK;
}

/* The names under which failures are counted. A member named like an address
 * shares no count with it. */
struct counted {
	const char *login, *address;
};

static enum status name_counts(struct context *c, const char *login, struct counted *out)
{
	out->login = arena_printf(c->arena, "login %s", login);
	out->address = arena_printf(c->arena, "address %.100s", c->request->peer);
	return out->login && out->address ? ST_OK : ST_NOMEM;
}

static enum status count_failure(struct context *c, const struct counted *counted)
{
	enum status status = sign_in_failed(c->store, counted->login, c->now);

	if (status == ST_OK)
		status = sign_in_failed(c->store, counted->address, c->now);
	return status == ST_OK ? ST_MISSING : status;
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
	struct counted counted;
	bool fits = false;
	enum status status = name_counts(c, login, &counted);

	if (status == ST_OK)
		status = check_windows(c, counted.login, login_windows, wait);
	if (status == ST_OK)
		status = check_windows(c, counted.address, address_windows, wait);
	if (status == ST_OK)
		status = find_fitting(c, login, password, &found, &fits);
	if (status != ST_OK)
		return status;
	if (!fits)
		return count_failure(c, &counted);
	*out = found;
	return sign_in_forget(c->store, counted.login);
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
