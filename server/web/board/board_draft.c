/* board_draft.c - the form in which a notice is typed from the issuer's sheet.
 *
 * The form carries the edit number that it was filled from. When somebody
 * saved in between, nothing is saved: the form comes back as typed, beside what
 * was saved and what differs, with the newer edit number, so that sending it
 * again is a decision.
 */
#include "web/board/board.h"

#include <string.h>

#include "web/html/concern.h"
#include "web/html/due_view.h"
#include "web/board/board_parts.h"
#include "web/html/present_diff.h"
#include "web/http/respond.h"

#define SPARE_ROWS 1
#define MORE_ROWS 5

const struct input read_due_inputs[] = {{"due", "Time limits", INPUT_TEXT, .longest = DUE_LONGEST},
                                        INPUTS_END};
const struct input read_back_inputs[] = {{"effectivity", "Effectivity statement", INPUT_STATEMENT},
                                         INPUTS_END};

/* What the page shows besides the form. */
struct desk {
	struct draft_base base;
	struct revision_content content; /* as typed, or as stored */
	bool sent;                       /* the form came back from the browser */
	json_t *newer;                   /* somebody saved in between; NULL: nobody */
};

static const char *path_of(const struct context *c, const struct desk *desk)
{
	if (!desk->base.revision.id.v)
		return "/board/new";
	return arena_printf(c->arena, "/board/drafts/%lld", (long long)desk->base.revision.id.v);
}

static json_t *fixed_view(const struct revision *revision)
{
	const struct revision_content *content = &revision->content;

	if (!revision->notice_published)
		return json_false();
	return json_pack("{s:s, s:s, s:o}", "number", content->number, "issuer", content->issuer,
	                 "kind", present_kind(content->kind));
}

static enum draft_act act_of(const struct context *c)
{
	int act = form_choice(c->form, "act");

	return act < 0 ? DRAFT_SAVE : (enum draft_act)act;
}

/* The panel beside the statement: filled when it was asked for, or stands in the draft. */
static enum status read_back_of(const struct context *c, const struct desk *desk, json_t **out)
{
	struct form_value typed = *form_value(c->form, "effectivity", 0);

	if (!desk->sent && desk->content.effectivity[0]) {
		const char *text = desk->content.effectivity;
		enum status status = effectivity_parse(c->arena, text, strlen(text),
		                                       &typed.statement, &typed.fault);

		typed.given = status == ST_OK;
		if (status == ST_INVALID)
			typed.error = arena_printf(c->arena, "Line %u, column %u: expected %s",
			                           typed.fault.line, typed.fault.column,
			                           typed.fault.expected);
	}
	return read_back_view(c, &typed, out);
}

/* The limits read back, as typed or as they stand in the draft. */
static json_t *due_back_part(const struct context *c)
{
	json_t *view = due_back_view(form_value(c->form, "due", 0)->typed);
	json_t *part = json_incref(json_object_get(view, "due_back"));

	json_decref(view);
	return part;
}

static json_t *desk_view(const struct context *c, const struct desk *desk, json_t *read_back)
{
	bool known = desk->base.revision.id.v != 0;
	bool rows = desk->sent && act_of(c) == DRAFT_ROWS;
	json_t *view = draft_form_view(c->form, &desk->base, rows ? MORE_ROWS : SPARE_ROWS);
	const char *path = path_of(c, desk);

	view = present_set(view, "read_back", read_back);
	view = present_set(view, "due_back", due_back_part(c));
	view = present_set(view, "submit_path", path ? json_string(path) : NULL);
	view = present_set(view, "fixed", fixed_view(&desk->base.revision));
	view = present_set(view, "draft", known ? board_draft(&desk->base.revision) : json_false());
	view = present_set(view, "newer", desk->newer ? json_incref(desk->newer) : json_false());
	view = present_set(view, "missing",
	                   known || desk->sent
	                           ? board_list(draft_missing(c, &desk->base, &desk->content))
	                           : json_false());
	return present_set(view, "warnings",
	                   known || desk->sent ? board_list(draft_warnings(c, &desk->content))
	                                       : json_false());
}

static enum status show(struct context *c, const struct desk *desk)
{
	json_t *read_back = NULL;
	const char *title = "A new notice";
	enum status status = read_back_of(c, desk, &read_back);

	if (status != ST_OK)
		return status;
	if (desk->base.revision.id.v)
		title = arena_printf(c->arena, "Draft of %s", desk->base.revision.content.number);
	return board_respond(c, "draft.html", title, desk_view(c, desk, read_back));
}

/* ---- a new notice ---- */

static struct desk empty_desk(void)
{
	return (struct desk){.base.revision.content = revision_content_empty,
	                     .content = revision_content_empty};
}

enum status page_draft_new(struct context *c)
{
	struct desk desk = empty_desk();

	c->form = draft_form_fill(c->arena, &desk.base);
	return c->form ? show(c, &desk) : ST_NOMEM;
}

static enum status respond_saved(struct context *c, struct revision_id id)
{
	static const char *const ways[] = {
	        [DRAFT_SAVE] = "", [DRAFT_SHEET] = "/check", [DRAFT_FILES] = "/files"};

	return respond_redirect(c, "/board/drafts/%lld%s?said=draft-saved", (long long)id.v,
	                        ways[act_of(c)]);
}

/* Does the button only want to see something? */
static bool only_looks(const struct context *c)
{
	return act_of(c) == DRAFT_READ || act_of(c) == DRAFT_ROWS;
}

/* The number belongs to another notice: say so where it stands. */
static enum status fail_number(struct context *c, const struct desk *desk)
{
	struct notice_id id = {0};
	enum status status = notice_find(c->store, desk->content.number, &id);

	if (status == ST_MISSING || id.v == desk->base.revision.notice.v)
		form_fail(c->form, "",
		          "The database refused what was typed: a field breaks a rule.");
	else if (status == ST_OK)
		form_fail(c->form, "number",
		          "is taken: the chapter has this notice already. Begin a new revision "
		          "of it on the drawing board");
	return status == ST_MISSING ? ST_OK : status;
}

enum status act_draft_new(struct context *c)
{
	struct desk desk = empty_desk();
	struct revision_id id;
	enum status status = draft_form_read(c, c->form, &desk.base, &desk.content);

	desk.sent = true;
	if (status != ST_OK)
		return status;
	if (only_looks(c) || !form_ok(c->form))
		return show(c, &desk);
	status = form_bound(c->form, c->store,
	                    draft_new_notice(c->store, &desk.content, c->member->id, c->now, &id));
	if (status == ST_OK && form_ok(c->form))
		return respond_saved(c, id);
	if (status == ST_CONFLICT)
		status = fail_number(c, &desk);
	return status == ST_OK ? show(c, &desk) : status;
}

/* ---- a draft that is there ---- */

static enum status read_desk(struct context *c, struct desk *desk)
{
	struct revision_id id = {context_id(c, "revision")};

	*desk = empty_desk();
	return draft_base_read(c, id, &desk->base);
}

enum status page_draft(struct context *c)
{
	struct desk desk;
	enum status status = read_desk(c, &desk);

	if (status != ST_OK)
		return status;
	desk.content = desk.base.revision.content;
	c->form = draft_form_fill(c->arena, &desk.base);
	return c->form ? show(c, &desk) : ST_NOMEM;
}

/* Nothing was saved. The next try is made from what stands there now. */
static enum status show_newer(struct context *c, struct desk *desk)
{
	const struct revision *now = &desk->base.revision;
	json_t *view;
	enum status status = draft_base_read(c, now->id, &desk->base);

	if (status != ST_OK)
		return status;
	view = present_differences(c->arena, &now->content, &desk->content);
	view = present_set(view, "by", json_string(now->editor_name));
	view = present_set(view, "at", board_time(now->edited_at));
	if (!view)
		return ST_NOMEM;
	desk->newer = view;
	form_fail(c->form, "", "%s saved this draft while you were typing.", now->editor_name);
	form_set_number(c->form, "edit", now->edit);
	status = show(c, desk);
	json_decref(view);
	return status;
}

static enum status save(struct context *c, struct desk *desk)
{
	const struct revision *stored = &desk->base.revision;
	bool stale = false;
	enum status status = draft_save(c->store, stored->id, form_number(c->form, "edit"),
	                                &desk->content, c->member->id, c->now, &stale);

	if (status == ST_OK)
		return respond_saved(c, stored->id);
	if (status != ST_CONFLICT)
		return status;
	if (stale)
		return show_newer(c, desk);
	status = fail_number(c, desk);
	return status == ST_OK ? show(c, desk) : status;
}

/* What was typed for a draft that is gone is not lost with it. */
static void fail_gone(struct context *c, struct desk *desk)
{
	*desk = empty_desk();
	form_fail(c->form, "",
	          "This draft is no longer on the board: it was published or discarded while you "
	          "were typing. What you typed is below; saving it makes a new draft.");
}

enum status act_draft_save(struct context *c)
{
	struct desk desk;
	enum status status = read_desk(c, &desk);

	if (status == ST_MISSING) {
		fail_gone(c, &desk);
		status = ST_OK;
	}
	if (status == ST_OK)
		status = draft_form_read(c, c->form, &desk.base, &desk.content);
	if (status != ST_OK)
		return status;
	desk.sent = true;
	if (only_looks(c) || !form_ok(c->form))
		return show(c, &desk);
	return save(c, &desk);
}

/* ---- the statement read back while it is typed ---- */

enum status act_read_back(struct context *c)
{
	json_t *view = NULL;
	enum status status = read_back_view(c, form_value(c->form, "effectivity", 0), &view);

	return status == ST_OK ? respond_page(c, "read_back.html", "Read back", view) : status;
}

enum status act_read_due(struct context *c)
{
	json_t *view = due_back_view(form_value(c->form, "due", 0)->typed);

	return view ? respond_page(c, "due_back.html", "Read back", view) : ST_NOMEM;
}
