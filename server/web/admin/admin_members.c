/* admin_members.c - members, their roles, whether they may come in, and their leaving. */
#include <strings.h>

#include "store/kits.h"
#include "store/second_factors.h"
#include "web/account/credentials.h"
#include "web/http/outside.h"
#include "web/admin/admin.h"
#include "web/html/present.h"
#include "web/html/qr.h"
#include "web/http/respond.h"

#define MEMBER_ROWS 100

const struct input role_inputs[] = {
        {"role", "Role", INPUT_CHOICE, .required = true, .choices = role_names}, INPUTS_END};

const struct input member_remove_inputs[] = {
        {"login", "Login of the member", INPUT_LINE, .required = true, .longest = LOGIN_LONGEST},
        PASSWORD_INPUT("password_now", "Your own password"),
        INPUTS_END};

/* ---- the list ---- */

static json_t *member_row(const struct member *member)
{
	return json_pack("{s:I, s:s, s:s, s:s, s:b, s:o}", "id", (json_int_t)member->id.v, "login",
	                 member->login, "name", member->name, "role", role_words(member->role),
	                 "disabled", member->disabled, "joined", present_time(member->joined_at));
}

enum status page_members(struct context *c)
{
	struct page page = list_page(c, MEMBER_ROWS);
	const struct member *members = NULL;
	size_t count = 0;
	int64_t total = 0;
	json_t *rows = json_array();
	enum status status = member_list(c->store, c->arena, page, &members, &count, &total);

	for (size_t i = 0; status == ST_OK && i < count; i++)
		rows = present_append(rows, member_row(&members[i]));
	if (status != ST_OK) {
		json_decref(rows);
		return status;
	}
	return respond_page(
	        c, "admin_members.html", "Members",
	        json_pack("{s:o, s:o, s:b}", "members", rows, "pager",
	                  present_pager("/admin/members", &c->request->query, &page, total),
	                  "in_account", 1));
}

/* ---- one member ---- */

static enum status show(struct context *c, const struct member *member, const struct form *form)
{
	const struct kit *kits = NULL;
	size_t count = 0;
	struct second_factor factor = {.confirmed_at = 0};
	enum status status = second_read(c->store, member->id, &factor);

	if (status == ST_OK || status == ST_MISSING)
		status = kit_list(c->store, c->arena, member->id, &kits, &count);
	if (status != ST_OK)
		return status;
	return respond_page(c, "admin_member.html", member->name,
	                    json_pack("{s:o, s:o, s:i, s:b, s:b, s:b}", "person",
	                              member_row(member), "form", form_view(form), "kits",
	                              (int)count, "self", member->id.v == c->member->id.v, "code",
	                              factor.confirmed_at != 0, "in_account", 1));
}

static enum status find(struct context *c, struct member *out)
{
	return member_read(c->store, c->arena, (struct member_id){context_id(c, "id")}, out);
}

static enum status show_as_stored(struct context *c, const struct member *member)
{
	struct form *form = form_blank(c->arena, role_inputs);

	if (!form)
		return ST_NOMEM;
	form_set(form, "role", role_words(member->role));
	return show(c, member, form);
}

enum status page_member(struct context *c)
{
	struct member member;
	enum status status = find(c, &member);

	return status == ST_OK ? show_as_stored(c, &member) : status;
}

/* Admins who are none any more may not see the members' pages. */
static enum status go_back(struct context *c, const struct member *member, bool still_admin)
{
	if (member->id.v == c->member->id.v && !still_admin)
		return respond_redirect(c, "/?said=saved");
	return respond_redirect(c, "/admin/members/%lld?said=saved", (long long)member->id.v);
}

enum status act_member_role(struct context *c)
{
	int role = form_choice(c->form, "role");
	struct member member;
	enum status status = find(c, &member);

	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show(c, &member, c->form);
	status = member_set_role(c->store, member.id, (enum role)role);
	if (status == ST_DENIED) {
		form_fail(c->form, "role", "must stay: this is the last admin");
		return show(c, &member, c->form);
	}
	return status == ST_OK ? go_back(c, &member, role == ROLE_ADMIN) : status;
}

static enum status set_disabled(struct context *c, bool disabled)
{
	struct member member;
	enum status status = find(c, &member);

	if (status == ST_OK)
		status = member_set_disabled(c->store, member.id, disabled);
	if (status == ST_DENIED)
		return respond_error(c, 403, "This is the last admin: make another one first.");
	return status == ST_OK ? go_back(c, &member, !disabled) : status;
}

enum status act_member_disable(struct context *c)
{
	return set_disabled(c, true);
}

enum status act_member_enable(struct context *c)
{
	return set_disabled(c, false);
}

/* ---- a lost authenticator ---- */

enum status act_member_code_off(struct context *c)
{
	struct member member;
	enum status status = find(c, &member);

	if (status == ST_OK)
		status = second_end(c->store, member.id);
	return status == ST_OK ? go_back(c, &member, true) : status;
}

/* ---- leaving, on request ---- */

static enum status show_remove(struct context *c, const struct member *member,
                               const struct form *form)
{
	const struct kit *kits = NULL;
	size_t count = 0;
	int64_t records = 0;
	enum status status = kit_list(c->store, c->arena, member->id, &kits, &count);

	if (status != ST_OK)
		return status;
	for (size_t i = 0; i < count; i++)
		records += kits[i].records;
	return respond_page(c, "admin_member_remove.html", "Remove a member",
	                    json_pack("{s:o, s:o, s:i, s:I, s:b}", "person", member_row(member),
	                              "form", form_view(form), "kits", (int)count, "records",
	                              (json_int_t)records, "in_account", 1));
}

/* Oneself goes by the page of one's own account. */
static enum status find_other(struct context *c, struct member *out, bool *answered)
{
	enum status status = find(c, out);

	*answered = status == ST_OK && out->id.v == c->member->id.v;
	return *answered ? respond_redirect(c, "/account/remove") : status;
}

enum status page_member_remove(struct context *c)
{
	struct form *form = form_blank(c->arena, member_remove_inputs);
	struct member member;
	bool answered = false;
	enum status status = find_other(c, &member, &answered);

	if (status != ST_OK || answered)
		return status;
	return form ? show_remove(c, &member, form) : ST_NOMEM;
}

enum status act_member_remove(struct context *c)
{
	struct member member;
	bool answered = false;
	enum status status = find_other(c, &member, &answered);

	if (status != ST_OK || answered)
		return status;
	if (form_given(c->form, "login") &&
	    strcasecmp(form_text(c->form, "login"), member.login) != 0)
		form_fail(c->form, "login", "is another one's");
	if (form_ok(c->form))
		status = credentials_check_now(c, &answered);
	if (status != ST_OK || answered)
		return status;
	if (!form_ok(c->form))
		return show_remove(c, &member, c->form);
	status = member_remove(c->store, member.id, c->now);
	return status == ST_OK ? respond_redirect(c, "/admin/members?said=member-removed") : status;
}

/* ---- a forgotten password ---- */

static enum status show_reset(struct context *c, const struct member *member, const char *token)
{
	const char *link = "";
	enum status status = outside_link(c, "new-password", token, &link);

	if (status != ST_OK)
		return status;
	return respond_page(c, "admin_reset_made.html", "A link for a new password",
	                    json_pack("{s:o, s:s, s:o, s:o, s:b}", "person", member_row(member),
	                              "reset_link", link, "qr", qr_view(link), "expires",
	                              present_time(c->now + RESET_SECONDS), "in_account", 1));
}

enum status act_member_reset(struct context *c)
{
	struct member member;
	struct hash hash;
	char token[TOKEN_SIZE];
	enum status status = find(c, &member);

	if (status != ST_OK)
		return status;
	token_make(token);
	hash = hash_of(token, TOKEN_LENGTH);
	status = reset_offer(c->store, member.id, &hash, c->now + RESET_SECONDS);
	return status == ST_OK ? show_reset(c, &member, token) : status;
}
