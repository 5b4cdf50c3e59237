/* reset.c - a forgotten password set anew by a link that an admin handed over. */
#include "web/account/credentials.h"
#include "web/account/sign_in.h"
#include "web/html/present.h"
#include "web/http/respond.h"

const struct input reset_inputs[] = {NEW_PASSWORD_INPUTS, INPUTS_END};

/* Whose link {token} is. ST_MISSING. */
static enum status find_member(struct context *c, struct hash *hash, struct member *out)
{
	const char *token = context_capture(c, "token");

	if (!token_well_formed(token))
		return ST_MISSING;
	*hash = hash_of(token, TOKEN_LENGTH);
	return reset_find(c->store, c->arena, hash, c->now, out);
}

static enum status refuse_link(struct context *c, enum status found)
{
	if (found != ST_MISSING)
		return found;
	return respond_error(c, 404,
	                     "This link does not work. It has been used, has run out, or is "
	                     "not complete. Ask an admin of the chapter for a new one.");
}

static enum status show(struct context *c, const struct member *member, const struct form *form)
{
	return respond_page(c, "new_password.html", "A new password",
	                    json_pack("{s:o, s:s}", "form",
	                              present_hint(form_view(form), "password", NEW_PASSWORD_HINT),
	                              "login", member->login));
}

enum status page_reset(struct context *c)
{
	struct form *form = form_blank(c->arena, reset_inputs);
	struct member member;
	struct hash hash;
	enum status status = find_member(c, &hash, &member);

	if (!form)
		return ST_NOMEM;
	return status == ST_OK ? show(c, &member, form) : refuse_link(c, status);
}

static enum status change(struct context *c, const struct hash *token)
{
	const char *password = NULL;
	struct member_id member;
	bool second = false;
	enum status status = credentials_hash(c, &password);

	if (status == ST_OK)
		status = reset_use(c->store, token, password, c->now, &member);
	if (status != ST_OK)
		return refuse_link(c, status);
	status = sign_in_needs_code(c, member, &second);
	if (status == ST_OK && second)
		return respond_redirect(c, "/sign-in?said=password-changed-sign-in");
	if (status == ST_OK)
		status = session_open(c, member);
	return status == ST_OK ? respond_redirect(c, "/?said=password-changed") : status;
}

enum status act_reset(struct context *c)
{
	struct member member;
	struct hash hash;
	enum status status = find_member(c, &hash, &member);

	if (status != ST_OK)
		return refuse_link(c, status);
	credentials_check_new(c->form, member.login);
	return form_ok(c->form) ? change(c, &hash) : show(c, &member, c->form);
}
