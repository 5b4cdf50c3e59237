/* admin_invites.c - links by which new members join.
 *
 * The database keeps only a hash, so the link is shown once, as text and as a
 * code on a sheet to print; who loses it makes another.
 */
#include "web/http/outside.h"
#include "web/admin/admin.h"
#include "web/html/present.h"
#include "web/html/qr.h"
#include "web/http/respond.h"

#define INVITE_ROWS 50
#define DAYS_MOST 60
#define DAYS_USUAL 14
#define SECONDS_OF_DAY 86400

const struct input invite_inputs[] = {
        {"role", "Joins as", INPUT_CHOICE, .required = true, .choices = role_names},
        {"label", "For whom", INPUT_LINE, .longest = LABEL_LONGEST},
        {"days", "Good for how many days", INPUT_NUMBER, .required = true, .min = 1,
         .max = DAYS_MOST},
        INPUTS_END};

/* ---- the list ---- */

static const char *state_words(const struct context *c, const struct invite *invite)
{
	if (invite->used_at != 0)
		return "used";
	if (invite->revoked)
		return "taken back";
	return invite->expires_at > c->now ? "open" : "run out";
}

static json_t *invite_view(const struct context *c, const struct invite *invite)
{
	bool open = invite->used_at == 0 && !invite->revoked && invite->expires_at > c->now;

	return json_pack("{s:I, s:s, s:o, s:o, s:o, s:o, s:s, s:b, s:o}", "id",
	                 (json_int_t)invite->id.v, "role", role_words(invite->role), "label",
	                 present_text(invite->label), "made_by", present_text(invite->made_by),
	                 "made", present_time(invite->made_at), "expires",
	                 present_time(invite->expires_at), "state", state_words(c, invite), "open",
	                 open, "used_by", present_text(invite->used_by));
}

static enum status show(struct context *c, const struct page *page, const struct form *form)
{
	const struct invite *invites = NULL;
	size_t count = 0;
	int64_t total = 0;
	json_t *rows = json_array();
	enum status status = invite_list(c->store, c->arena, *page, &invites, &count, &total);

	for (size_t i = 0; status == ST_OK && i < count; i++)
		rows = present_append(rows, invite_view(c, &invites[i]));
	if (status != ST_OK) {
		json_decref(rows);
		return status;
	}
	return respond_page(
	        c, "admin_invites.html", "Invites",
	        json_pack("{s:o, s:o, s:o, s:b}", "invites", rows, "form",
	                  present_hint(form_view(form), "label",
	                               "A name for your own list; who opens the link sees it."),
	                  "pager", present_pager("/admin/invites", &c->request->query, page, total),
	                  "in_account", 1));
}

enum status page_invites(struct context *c)
{
	struct form *form = form_blank(c->arena, invite_inputs);
	struct page page = list_page(c, INVITE_ROWS);

	if (!form)
		return ST_NOMEM;
	form_set(form, "role", role_words(ROLE_BUILDER));
	form_set_number(form, "days", DAYS_USUAL);
	return show(c, &page, form);
}

/* ---- a new one ---- */

static enum status show_made(struct context *c, const struct invite_entry *entry, const char *token)
{
	const char *link = "";
	enum status status = outside_link(c, "join", token, &link);

	if (status != ST_OK)
		return status;
	return respond_page(c, "admin_invite_made.html", "A new invite",
	                    json_pack("{s:s, s:o, s:s, s:o, s:o, s:b}", "invite_link", link, "qr",
	                              qr_view(link), "role", role_words(entry->role), "label",
	                              present_text(entry->label), "expires",
	                              present_time(entry->expires_at), "in_account", 1));
}

enum status act_invite_make(struct context *c)
{
	struct invite_entry entry = {.label = form_text(c->form, "label"),
	                             .made_by = c->member->id};
	struct page first = {INVITE_ROWS, 0};
	char token[TOKEN_SIZE];
	struct invite_id id;
	enum status status;

	if (!form_ok(c->form))
		return show(c, &first, c->form);
	token_make(token);
	entry.role = (enum role)form_choice(c->form, "role");
	entry.token = hash_of(token, TOKEN_LENGTH);
	entry.expires_at = c->now + form_number(c->form, "days") * SECONDS_OF_DAY;
	status = form_bound(c->form, c->store, invite_add(c->store, &entry, c->now, &id));
	if (!form_ok(c->form))
		return show(c, &first, c->form);
	return status == ST_OK ? show_made(c, &entry, token) : status;
}

enum status act_invite_revoke(struct context *c)
{
	enum status status = invite_revoke(c->store, (struct invite_id){context_id(c, "id")});

	return status == ST_OK ? respond_redirect(c, "/admin/invites?said=invite-taken-back")
	                       : status;
}
