/* join.c - registering by an invite: whoever holds the link becomes a member.
 *
 * A link that is used, taken back, run out or never was gets one answer.
 */
#include <ctype.h>
#include <string.h>

#include "web/account/credentials.h"
#include "web/account/sign_in.h"
#include "web/html/names.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define LOGIN_SHORTEST 2
#define LOGIN_MARKS ".-_@+"

const struct input join_inputs[] = {
        {"login", "Login", INPUT_LINE, .required = true, .longest = LOGIN_LONGEST},
        {"name", "Your name", INPUT_LINE, .required = true, .longest = MEMBER_NAME_LONGEST},
        NEW_PASSWORD_INPUTS,
        INPUTS_END};

/* The invite of {token}. ST_MISSING. */
static enum status find_invite(struct context *c, struct hash *hash, struct invite *out)
{
	const char *token = context_capture(c, "token");

	if (!token_well_formed(token))
		return ST_MISSING;
	*hash = hash_of(token, TOKEN_LENGTH);
	return invite_find(c->store, c->arena, hash, c->now, out);
}

static enum status refuse_link(struct context *c, enum status found)
{
	if (found != ST_MISSING)
		return found;
	return respond_error(c, 404,
	                     "This link does not work. It has been used or taken back, has "
	                     "run out, or is not complete. Ask whoever sent it for a new one.");
}

static json_t *hinted_form(const struct form *form)
{
	json_t *view = present_hint(form_view(form), "password", NEW_PASSWORD_HINT);

	view = present_hint(view, "login",
	                    "For signing in: 2 to 40 letters a to z, digits and " LOGIN_MARKS
	                    ", no blanks.");
	return present_hint(view, "name", "As other members see it beside your notes.");
}

static enum status show(struct context *c, const struct invite *invite, const struct form *form)
{
	return respond_page(c, "join.html", "Join",
	                    json_pack("{s:o, s:s, s:o, s:o, s:o}", "form", hinted_form(form),
	                              "role", role_words(invite->role), "invited_by",
	                              present_text(name_of_admin(c, invite->made_by)), "label",
	                              present_text(invite->label), "expires",
	                              present_time(invite->expires_at)));
}

enum status page_join(struct context *c)
{
	struct form *form = form_blank(c->arena, join_inputs);
	struct invite invite;
	struct hash hash;
	enum status status = find_invite(c, &hash, &invite);

	if (!form)
		return ST_NOMEM;
	return status == ST_OK ? show(c, &invite, form) : refuse_link(c, status);
}

/* Few marks, so that no two logins look alike. */
static bool is_plain_login(const char *login)
{
	for (const char *at = login; *at; at++)
		if (!isalnum((unsigned char)*at) && !strchr(LOGIN_MARKS, *at))
			return false;
	return strlen(login) >= LOGIN_SHORTEST;
}

static void check(struct form *form)
{
	const char *login = form_text(form, "login");

	if (form_given(form, "login") && !is_plain_login(login))
		form_fail(form, "login",
		          "must be 2 or more letters a to z, digits and " LOGIN_MARKS);
	credentials_check_new(form, login);
}

static enum status enter(struct context *c, const struct hash *invite, struct member_id *out)
{
	struct member_entry entry = {.login = form_text(c->form, "login"),
	                             .name = form_text(c->form, "name")};
	enum status status = credentials_hash(c, &entry.password);

	return status == ST_OK ? member_register(c->store, invite, &entry, c->now, out) : status;
}

enum status act_join(struct context *c)
{
	struct member_id member;
	struct invite invite;
	struct hash hash;
	enum status status = find_invite(c, &hash, &invite);

	if (status != ST_OK)
		return refuse_link(c, status);
	check(c->form);
	if (!form_ok(c->form))
		return show(c, &invite, c->form);
	status = enter(c, &hash, &member);
	if (status == ST_CONFLICT) {
		form_fail(c->form, "login", "is taken; choose another");
		return show(c, &invite, c->form);
	}
	if (status != ST_OK)
		return refuse_link(c, status);
	status = session_open(c, member);
	return status == ST_OK ? respond_redirect(c, "/?said=joined") : status;
}
