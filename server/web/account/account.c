/* account.c - a member's name, password, and the end of the membership. */
#include "web/account/account.h"

#include <strings.h>

#include "store/kits.h"
#include "web/account/credentials.h"
#include "web/html/present.h"
#include "web/http/respond.h"

const struct input account_inputs[] = {
        {"name", "Your name", INPUT_LINE, .required = true, .longest = MEMBER_NAME_LONGEST},
        INPUTS_END};

const struct input password_inputs[] = {PASSWORD_INPUT("password_now", "Password in use"),
                                        NEW_PASSWORD_INPUTS, INPUTS_END};

const struct input remove_inputs[] = {{"login", "Your login, typed once more", INPUT_LINE,
                                       .required = true, .longest = LOGIN_LONGEST},
                                      PASSWORD_INPUT("password_now", "Password"),
                                      INPUTS_END};

/* ---- name ---- */

static enum status show_account(struct context *c, const struct form *form)
{
	json_t *ending = NULL;
	enum status status = tokens_ending(c, &ending);

	if (status != ST_OK)
		return status;
	return respond_page(c, "account.html", "Account",
	                    json_pack("{s:o, s:s, s:o, s:b, s:o, s:b}", "form",
	                              present_hint(form_view(form), "name",
	                                           "As other members see it beside your notes."),
	                              "role", role_words(c->member->role), "joined",
	                              present_time(c->member->joined_at), "any_ending",
	                              json_array_size(ending) > 0, "ending", ending, "in_account",
	                              1));
}

enum status page_account(struct context *c)
{
	struct form *form = form_blank(c->arena, account_inputs);

	if (!form)
		return ST_NOMEM;
	form_set(form, "name", c->member->name);
	return show_account(c, form);
}

enum status act_account(struct context *c)
{
	enum status status;

	if (!form_ok(c->form))
		return show_account(c, c->form);
	status = member_set_name(c->store, c->member->id, form_text(c->form, "name"));
	return status == ST_OK ? respond_redirect(c, "/account?said=saved") : status;
}

/* ---- password ---- */

static enum status show_password(struct context *c, const struct form *form)
{
	return respond_page(c, "account_password.html", "Another password",
	                    json_pack("{s:o, s:b}", "form",
	                              present_hint(form_view(form), "password", NEW_PASSWORD_HINT),
	                              "in_account", 1));
}

enum status page_password(struct context *c)
{
	struct form *form = form_blank(c->arena, password_inputs);

	return form ? show_password(c, form) : ST_NOMEM;
}

/* All sessions end with the old password, this one too: it begins anew, with another
 * token and another secret. */
static enum status change_password(struct context *c)
{
	const char *hash = NULL;
	enum status status = credentials_hash(c, &hash);

	if (status == ST_OK)
		status = member_set_password(c->store, c->member->id, hash);
	if (status == ST_OK)
		status = session_open(c, c->member->id);
	return status == ST_OK ? respond_redirect(c, "/account?said=password-changed") : status;
}

enum status act_password(struct context *c)
{
	bool answered = false;
	enum status status = ST_OK;

	credentials_check_new(c->form, c->member->login);
	if (form_ok(c->form))
		status = credentials_check_now(c, &answered);
	if (status != ST_OK || answered)
		return status;
	return form_ok(c->form) ? change_password(c) : show_password(c, c->form);
}

/* ---- removal ---- */

static enum status show_remove(struct context *c, const struct form *form)
{
	const struct kit *kits = NULL;
	size_t count = 0;
	int64_t records = 0;
	enum status status = kit_list(c->store, c->arena, c->member->id, &kits, &count);

	if (status != ST_OK)
		return status;
	for (size_t i = 0; i < count; i++)
		records += kits[i].records;
	return respond_page(c, "account_remove.html", "Remove the account",
	                    json_pack("{s:o, s:i, s:I, s:b}", "form", form_view(form), "kits",
	                              (int)count, "records", (json_int_t)records, "in_account", 1));
}

enum status page_account_remove(struct context *c)
{
	struct form *form = form_blank(c->arena, remove_inputs);

	return form ? show_remove(c, form) : ST_NOMEM;
}

static enum status remove_account(struct context *c)
{
	enum status status = member_remove(c->store, c->member->id, c->now);

	if (status == ST_DENIED) {
		form_fail(c->form, "",
		          "You are the last admin. Make another member admin first, then "
		          "remove this account.");
		return show_remove(c, c->form);
	}
	if (status == ST_OK)
		status = session_close(c);
	return status == ST_OK ? respond_redirect(c, "/?said=account-removed") : status;
}

enum status act_account_remove(struct context *c)
{
	bool answered = false;
	enum status status = ST_OK;

	if (form_given(c->form, "login") &&
	    strcasecmp(form_text(c->form, "login"), c->member->login) != 0)
		form_fail(c->form, "login", "is not yours");
	if (form_ok(c->form))
		status = credentials_check_now(c, &answered);
	if (status != ST_OK || answered)
		return status;
	return form_ok(c->form) ? remove_account(c) : show_remove(c, c->form);
}
