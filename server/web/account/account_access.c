/* account_access.c - who may act for a member: browsers (sessions) and
 * programs (tokens). Each list shows and ends only the member's own.
 */
#include "web/account/account.h"

#include "web/html/present.h"
#include "web/http/respond.h"

#define SECONDS_OF_DAY INT64_C(86400)

static const char *const lives[] = {"30 days", "90 days", "365 days", NULL};
static const int64_t life_days[] = {30, 90, 365};
_Static_assert(sizeof lives / sizeof lives[0] == sizeof life_days / sizeof life_days[0] + 1,
               "days for each choice");

const struct input token_inputs[] = {
        {"label", "What it is for", INPUT_LINE, .required = true, .longest = LABEL_LONGEST},
        {"life", "Ends after", INPUT_CHOICE, .required = true, .choices = lives},
        INPUTS_END};

/* ---- sessions ---- */

static json_t *session_view(const struct context *c, const struct session *session)
{
	return json_pack("{s:I, s:s, s:o, s:o, s:b}", "id", (json_int_t)session->id.v, "label",
	                 session->label, "made", present_time(session->made_at), "seen",
	                 present_time(session->seen_at), "this_one",
	                 session->id.v == c->session->id.v);
}

enum status page_sessions(struct context *c)
{
	const struct session *sessions = NULL;
	size_t count = 0;
	json_t *rows = json_array();
	enum status status =
	        session_list(c->store, c->arena, c->member->id, c->now, &sessions, &count);

	for (size_t i = 0; i < count; i++)
		rows = present_append(rows, session_view(c, &sessions[i]));
	if (status != ST_OK) {
		json_decref(rows);
		return status;
	}
	return respond_page(c, "account_sessions.html", "Where you are signed in",
	                    json_pack("{s:o, s:b, s:b}", "sessions", rows, "several", count > 1,
	                              "in_account", 1));
}

enum status act_session_end(struct context *c)
{
	enum status status =
	        session_end(c->store, c->member->id, (struct session_id){context_id(c, "session")});

	return status == ST_OK ? respond_redirect(c, "/account/sessions?said=session-ended")
	                       : status;
}

enum status act_sessions_end(struct context *c)
{
	enum status status = session_end_others(c->store, c->member->id, c->session->id);

	return status == ST_OK ? respond_redirect(c, "/account/sessions?said=session-ended")
	                       : status;
}

/* ---- tokens ---- */

static json_t *token_view(const struct context *c, const struct api_token *token)
{
	bool ended = token->ends_at <= c->now;

	return json_pack("{s:I, s:s, s:o, s:o, s:b, s:b}", "id", (json_int_t)token->id.v, "label",
	                 token->label, "made", present_time(token->made_at), "ends",
	                 present_time(token->ends_at), "ended", ended, "soon",
	                 !ended && token->ends_at <= c->now + TOKEN_TOLD_BEFORE);
}

enum status tokens_ending(struct context *c, json_t **out)
{
	const struct api_token *tokens = NULL;
	size_t count = 0;
	json_t *rows = json_array();
	enum status status = api_token_list(c->store, c->arena, c->member->id, &tokens, &count);

	for (size_t i = 0; i < count; i++)
		if (tokens[i].ends_at <= c->now + TOKEN_TOLD_BEFORE)
			rows = present_append(rows, token_view(c, &tokens[i]));
	if (status == ST_OK)
		*out = rows;
	else
		json_decref(rows);
	return status;
}

static enum status show_tokens(struct context *c, const struct form *form)
{
	const struct api_token *tokens = NULL;
	size_t count = 0;
	json_t *rows = json_array();
	enum status status = api_token_list(c->store, c->arena, c->member->id, &tokens, &count);

	for (size_t i = 0; i < count; i++)
		rows = present_append(rows, token_view(c, &tokens[i]));
	if (status != ST_OK) {
		json_decref(rows);
		return status;
	}
	return respond_page(c, "account_tokens.html", "Tokens for programs",
	                    json_pack("{s:o, s:o, s:b}", "form",
	                              present_hint(form_view(form), "label",
	                                           "A name for your own list: \"hangar display\"."),
	                              "tokens", rows, "in_account", 1));
}

enum status page_tokens(struct context *c)
{
	struct form *form = form_blank(c->arena, token_inputs);

	if (!form)
		return ST_NOMEM;
	form_set(form, "life", lives[1]);
	return show_tokens(c, form);
}

static enum status make_token(struct context *c)
{
	const char *label = form_text(c->form, "label");
	int64_t ends_at = c->now + life_days[form_choice(c->form, "life")] * SECONDS_OF_DAY;
	char token[TOKEN_SIZE];
	struct hash hash;
	struct api_token_id id;
	enum status status;

	token_make(token);
	hash = hash_of(token, TOKEN_LENGTH);
	status = api_token_add(c->store, c->member->id, &hash, label, c->now, ends_at, &id);
	status = form_bound(c->form, c->store, status);
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_tokens(c, c->form);
	return respond_page(c, "account_token_made.html", "A new token",
	                    json_pack("{s:s, s:s, s:o, s:b}", "secret", token, "label", label,
	                              "ends", present_time(ends_at), "in_account", 1));
}

enum status act_token_make(struct context *c)
{
	return form_ok(c->form) ? make_token(c) : show_tokens(c, c->form);
}

enum status act_token_revoke(struct context *c)
{
	enum status status = api_token_revoke(c->store, c->member->id,
	                                      (struct api_token_id){context_id(c, "id")});

	return status == ST_OK ? respond_redirect(c, "/account/tokens?said=token-ended") : status;
}
