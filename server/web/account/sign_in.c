/* sign_in.c - sign in with login and password, or in a demonstration at a
 * touch; sign out.
 *
 * A wrong login and a wrong password get the same words, so that nobody learns
 * here who is a member.
 */
#include "web/account/sign_in.h"

#include <stdio.h>
#include <string.h>

#include "os/digest.h"
#include "store/second_factors.h"
#include "store/settings.h"

#include "web/account/credentials.h"
#include "web/http/respond.h"

#define NEXT_INPUT                                                                                 \
	{                                                                                          \
		"next", "Next page", INPUT_LINE, .longest = 500                                    \
	}

const struct input sign_in_query[] = {NEXT_INPUT, INPUTS_END};
const struct input sign_in_inputs[] = {
        {"login", "Login", INPUT_LINE, .required = true, .longest = LOGIN_LONGEST},
        PASSWORD_INPUT("password", "Password"),
        NEXT_INPUT,
        INPUTS_END};

enum status sign_in_needs_code(struct context *c, struct member_id member, bool *out)
{
	struct second_factor factor = {.confirmed_at = 0};
	enum status status = second_read(c->store, member, &factor);

	if (status == ST_OK || status == ST_MISSING)
		*out = factor.confirmed_at != 0;
	return status == ST_MISSING ? ST_OK : status;
}

const struct input demo_inputs[] = {
        {"as", "Role", INPUT_CHOICE, .required = true, .choices = role_names},
        NEXT_INPUT,
        INPUTS_END};

static enum status show(struct context *c, const struct form *form)
{
	return respond_page(c, "sign_in.html", "Sign in",
	                    json_pack("{s:o, s:b}", "form", form_view(form), "in_account", 1));
}

enum status page_sign_in(struct context *c)
{
	struct form *form = form_blank(c->arena, sign_in_inputs);

	if (!form)
		return ST_NOMEM;
	form_set(form, "next", form_text(c->form, "next"));
	return show(c, form);
}

/* ---- the second step ----
 *
 * Between the two the form carries a ticket: who it is and until when, with a code
 * over both and the password's hash that only this box can make. So nothing is kept of
 * a sign-in that is half done, and another password ends it.
 */

#define TICKET_SECONDS 600

const struct input sign_in_code_inputs[] = {
        {"ticket", "Sign-in", INPUT_LINE, .required = true, .longest = 120},
        {"code", "Code", INPUT_LINE, .required = true, .longest = 40},
        NEXT_INPUT,
        INPUTS_END};

static enum status make_ticket(struct context *c, const struct member *member, int64_t until,
                               const char **out)
{
	const char *key = "";
	const char *password = "";
	const char *words;
	struct digest digest;
	struct member same;
	char code[TOKEN_SIZE];
	enum status status = setting_text(c->store, c->arena, SETTING_KEY, &key);

	if (status == ST_OK)
		status = member_password(c->store, c->arena, member->login, &same, &password);
	if (status != ST_OK)
		return status;
	words = arena_printf(c->arena, "sign-in %lld %lld %s", (long long)member->id.v,
	                     (long long)until, password);
	if (!words)
		return ST_NOMEM;
	digest = digest_keyed(key, strlen(key), words, strlen(words));
	token_print(digest.bytes, code);
	*out = arena_printf(c->arena, "%lld.%lld.%s", (long long)member->id.v, (long long)until,
	                    code);
	return *out ? ST_OK : ST_NOMEM;
}

/* ST_MISSING: it is none, or too old, or its member may not come in any more. */
static enum status read_ticket(struct context *c, struct member *out)
{
	const char *ticket = form_text(c->form, "ticket");
	const char *wanted = "";
	long long id = 0;
	long long until = 0;
	struct digest a, b;
	enum status status;

	if (sscanf(ticket, "%18lld.%18lld.", &id, &until) != 2 || until <= c->now)
		return ST_MISSING;
	status = member_read(c->store, c->arena, (struct member_id){id}, out);
	if (status == ST_OK && out->disabled)
		status = ST_MISSING;
	if (status == ST_OK)
		status = make_ticket(c, out, until, &wanted);
	if (status != ST_OK)
		return status;
	a = digest_of(ticket, strlen(ticket));
	b = digest_of(wanted, strlen(wanted));
	return digest_equal(&a, &b) ? ST_OK : ST_MISSING;
}

static enum status ask_for_code(struct context *c, const struct form *form)
{
	return respond_page(c, "sign_in_code.html", "Code",
	                    json_pack("{s:o, s:b}", "form", form_view(form), "in_account", 1));
}

static enum status begin_second_step(struct context *c, const struct member *member)
{
	struct form *form = form_blank(c->arena, sign_in_code_inputs);
	const char *ticket = "";
	enum status status = make_ticket(c, member, c->now + TICKET_SECONDS, &ticket);

	if (status != ST_OK || !form)
		return status == ST_OK ? ST_NOMEM : status;
	form_set(form, "ticket", ticket);
	form_set(form, "next", form_text(c->form, "next"));
	return ask_for_code(c, form);
}

static enum status begin_again(struct context *c)
{
	struct form *form = form_blank(c->arena, sign_in_inputs);

	if (!form)
		return ST_NOMEM;
	form_set(form, "next", form_text(c->form, "next"));
	form_fail(form, "", "That took too long, or something has changed. Sign in again.");
	form_fail(c->form, "ticket", "is over");
	return show(c, form);
}

/* To where the member wanted to go, never to another site. */
static enum status go_on(struct context *c, struct member_id member)
{
	const char *next = form_text(c->form, "next");
	enum status status = session_open(c, member);

	if (status != ST_OK)
		return status;
	return respond_redirect(c, "%s", http_is_local_path(next) ? next : "/?said=signed-in");
}

enum status act_sign_in(struct context *c)
{
	struct member member;
	bool second = false;
	int64_t wait = 0;
	enum status status;

	if (!form_ok(c->form))
		return show(c, c->form);
	status = credentials_try(c, form_text(c->form, "login"), form_text(c->form, "password"),
	                         &member, &wait);
	if (status == ST_LIMIT)
		return respond_wait(c, wait);
	if (status == ST_MISSING) {
		form_fail(c->form, "", "Login and password do not fit together.");
		return show(c, c->form);
	}
	if (status == ST_OK)
		status = members_sweep(c->store, c->now);
	if (status == ST_OK)
		status = sign_in_needs_code(c, member.id, &second);
	if (status != ST_OK)
		return status;
	return second ? begin_second_step(c, &member) : go_on(c, member.id);
}

enum status act_sign_in_code(struct context *c)
{
	struct member member;
	int64_t wait = 0;
	enum status status = read_ticket(c, &member);

	if (status == ST_MISSING)
		return begin_again(c);
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return ask_for_code(c, c->form);
	status = credentials_try_code(c, &member, form_text(c->form, "code"), &wait);
	if (status == ST_LIMIT)
		return respond_wait(c, wait);
	if (status == ST_MISSING) {
		form_fail(c->form, "code", "is not right, or was used already");
		return ask_for_code(c, c->form);
	}
	return status == ST_OK ? go_on(c, member.id) : status;
}

enum status act_sign_in_demo(struct context *c)
{
	static const char *const logins[ROLES] = {
	        [ROLE_BUILDER] = "tobias", [ROLE_STEWARD] = "maren", [ROLE_ADMIN] = "odo"};
	struct member member;
	enum status status;

	if (!app_config(c->app)->demo)
		return ST_MISSING;
	if (!form_ok(c->form))
		return ST_INVALID;
	status = member_find(c->store, c->arena, logins[form_choice(c->form, "as")], &member);
	if (status == ST_OK && member.disabled)
		status = ST_DENIED;
	return status == ST_OK ? go_on(c, member.id) : status;
}

enum status act_sign_out(struct context *c)
{
	enum status status = session_close(c);

	return status == ST_OK ? respond_redirect(c, "/?said=signed-out") : status;
}
