/* sign_in.c - sign in with login and password, or in a demonstration at a
 * touch; sign out.
 *
 * A wrong login and a wrong password get the same words, so that nobody learns
 * here who is a member.
 */
#include "web/account/sign_in.h"

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

static const char *const demo_roles[] = {"builder", "steward", "admin", NULL};
const struct input demo_inputs[] = {
        {"as", "Role", INPUT_CHOICE, .required = true, .choices = demo_roles},
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
	return status == ST_OK ? go_on(c, member.id) : status;
}

enum status act_sign_in_demo(struct context *c)
{
	static const char *const logins[] = {"tobias", "maren", "odo"}; /* as in demo_roles */
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
