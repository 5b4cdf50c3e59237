/* board_check.c - the check sheet: a draft as it will be published, with all
 * that a second steward compares before publishing it.
 *
 * Whoever saved a draft last does not publish it, unless the chapter allows
 * one steward. A checker publishes the edit that was read and no other.
 */
#include "web/board/board.h"

#include <string.h>

#include "store/settings.h"
#include "web/html/concern.h"
#include "web/board/board_parts.h"
#include "web/html/present_diff.h"
#include "web/http/respond.h"

const struct input publish_inputs[] = {
        {"edit", "Version", INPUT_NUMBER, .required = true},
        {"compared", "I compared every line with the issuer’s document", INPUT_FLAG},
        INPUTS_END};
const struct input send_back_inputs[] = {
        {"remark", "What is to be put right", INPUT_TEXT, .required = true, .longest = 2000},
        INPUTS_END};
const struct input discard_inputs[] = {{"sure", "Throw this draft away for good", INPUT_FLAG},
                                       INPUTS_END};

struct sheet {
	struct draft_base base;
	const struct effectivity *statement; /* NULL: it does not compile */
	bool alone;                          /* the chapter allows one steward */
	bool own;                            /* the reader saved it last */
	json_t *missing;                     /* borrowed from the view */
};

static enum status read_sheet(const struct context *c, struct sheet *sheet)
{
	const char *text;
	struct statement_fault fault;
	enum status status;

	*sheet = (struct sheet){.statement = NULL};
	status = draft_base_read(c, (struct revision_id){context_id(c, "revision")}, &sheet->base);
	if (status == ST_OK)
		status = setting_flag(c->store, SETTING_ONE_STEWARD, &sheet->alone);
	if (status != ST_OK)
		return status;
	sheet->own = sheet->base.revision.editor.v == c->member->id.v;
	text = sheet->base.revision.content.effectivity;
	status = effectivity_parse(c->arena, text, strlen(text), &sheet->statement, &fault);
	return status == ST_INVALID ? ST_OK : status;
}

static bool is_checking(const struct sheet *sheet)
{
	return sheet->base.revision.state == REVISION_CHECKING;
}

/* ---- the page ---- */

/* {"total", ...} and how much done work it opens again; false without a statement. */
static enum status effects_view(const struct context *c, const struct sheet *sheet,
                                json_t **concern, json_t **again)
{
	const struct revision *revision = &sheet->base.revision;
	struct reopened reopened = {0, 0};
	enum status status;

	*concern = json_false();
	*again = json_false();
	if (!sheet->statement)
		return ST_OK;
	status = concern_view(c, sheet->statement, concern);
	if (status == ST_OK && revision->notice_published)
		status = concern_reopened(c, revision->notice, &revision->content, sheet->statement,
		                          &reopened);
	if (status == ST_OK && revision->notice_published)
		*again = json_pack("{s:I, s:I, s:b, s:b}", "done", (json_int_t)reopened.done,
		                   "again", (json_int_t)reopened.again, "any", reopened.done > 0,
		                   "some", reopened.again > 0);
	return status;
}

/* What it changes against the current revision; false for a first issue. */
static enum status changes_view(const struct context *c, const struct sheet *sheet, json_t **out)
{
	const struct revision *after = &sheet->base.revision;
	struct revision before;
	enum status status;

	*out = json_false();
	if (!after->notice_published)
		return ST_OK;
	status = notice_current(c->store, c->arena, after->notice, &before);
	if (status != ST_OK)
		return status;
	*out = present_differences(c->arena, &before.content, &after->content);
	*out = present_set(*out, "before", present_revision_words(before.content.revision));
	return *out ? ST_OK : ST_NOMEM;
}

/* The acts on the sheet: each a form of its own, and which of them are open. */
static json_t *acts_view(const struct context *c, const struct sheet *sheet, bool complete)
{
	long long id = (long long)sheet->base.revision.id.v;
	bool checking = is_checking(sheet);
	bool may = complete && (sheet->alone || (checking && !sheet->own));

	return json_pack("{s:b, s:b, s:b, s:b, s:o, s:o, s:o, s:I, s:o, s:o, s:o, s:o}",
	                 "hand_over", complete && !checking, "publish", may, "check", checking,
	                 "own", checking && sheet->own && !sheet->alone, "publish_form",
	                 board_form(c, publish_inputs), "send_back_form",
	                 board_form(c, send_back_inputs), "discard_form",
	                 board_form(c, discard_inputs), "edit",
	                 (json_int_t)sheet->base.revision.edit, "submit_path",
	                 json_sprintf("/board/drafts/%lld/submit", id), "publish_path",
	                 json_sprintf("/board/drafts/%lld/publish", id), "send_back_path",
	                 json_sprintf("/board/drafts/%lld/send-back", id), "discard_path",
	                 json_sprintf("/board/drafts/%lld/discard", id));
}

/* A draft that follows a published revision is no original issue, label or not. */
static json_t *with_label(json_t *view, const struct revision *revision)
{
	json_t *label = board_label(revision->content.revision, revision->notice_published);
	json_t *block = json_object_get(view, "title_block");

	if (block && json_object_set(block, "revision", label) == 0)
		return present_set(view, "revision", label);
	json_decref(label);
	json_decref(view);
	return NULL;
}

static json_t *paper_view(const struct context *c, const struct sheet *sheet)
{
	const struct revision *revision = &sheet->base.revision;
	json_t *view = present_revision(c, revision, sheet->statement, NULL);

	view = present_set(view, "old", json_false());
	view = with_label(view, revision);
	view = present_set(view, "draft", board_draft(revision));
	view = present_set(view, "faults", form_view(c->form));
	view = present_set(view, "warnings", board_list(draft_warnings(c, &revision->content)));
	return present_set(view, "current_url",
	                   json_sprintf("/notices/%lld", (long long)revision->notice.v));
}

static enum status show_sheet(struct context *c, const struct sheet *sheet)
{
	const struct revision *revision = &sheet->base.revision;
	json_t *concern = NULL, *again = NULL, *changes = NULL, *log = NULL, *missing, *view;
	bool complete;
	int64_t total;
	enum status status = effects_view(c, sheet, &concern, &again);

	if (status == ST_OK)
		status = changes_view(c, sheet, &changes);
	if (status == ST_OK)
		status = board_log(c, revision->notice, (struct page){BOARD_LOG_SHOWN, 0}, &log,
		                   &total);
	missing = draft_missing(c, &sheet->base, &revision->content);
	complete = missing && json_array_size(missing) == 0;
	view = status == ST_OK ? paper_view(c, sheet) : NULL;
	view = present_set(view, "concern", concern);
	view = present_set(view, "again", again);
	view = present_set(view, "changes", changes);
	view = present_set(view, "log", log);
	view = present_set(view, "missing", board_list(missing));
	view = present_set(view, "acts", acts_view(c, sheet, complete));
	if (status != ST_OK)
		return status;
	return board_respond(c, "draft_check.html",
	                     arena_printf(c->arena, "Check sheet of %s", revision->content.number),
	                     view);
}

enum status page_check_sheet(struct context *c)
{
	struct sheet sheet;
	enum status status = read_sheet(c, &sheet);

	return status == ST_OK ? show_sheet(c, &sheet) : status;
}

/* ---- acts ---- */

/* A fault when something is missing; the sheet lists what. */
static enum status need_complete(struct context *c, const struct sheet *sheet)
{
	json_t *missing = draft_missing(c, &sheet->base, &sheet->base.revision.content);

	if (!missing)
		return ST_NOMEM;
	if (json_array_size(missing) > 0)
		form_fail(c->form, "", "The draft is not complete yet; what is missing is listed.");
	json_decref(missing);
	return ST_OK;
}

static enum status to_board(struct context *c, const char *said)
{
	return respond_redirect(c, "/board?said=%s", said);
}

enum status act_submit(struct context *c)
{
	struct sheet sheet;
	enum status status = read_sheet(c, &sheet);

	if (status == ST_OK)
		status = need_complete(c, &sheet);
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_sheet(c, &sheet);
	status = draft_submit(c->store, sheet.base.revision.id, c->member->id, c->now);
	if (status == ST_MISSING) /* handed over already */
		return to_board(c, "handed-over");
	return status == ST_OK ? to_board(c, "handed-over") : status;
}

static void check_publisher(struct context *c, const struct sheet *sheet)
{
	if (!form_flag(c->form, "compared"))
		form_fail(c->form, "compared", "must be ticked");
	if (form_given(c->form, "edit") &&
	    form_number(c->form, "edit") != sheet->base.revision.edit)
		form_fail(c->form, "",
		          "%s saved this draft after you had loaded it. Nothing is published. "
		          "Compare it again: the sheet below is the newer one.",
		          sheet->base.revision.editor_name);
	if (!sheet->alone && sheet->own)
		form_fail(c->form, "",
		          "You saved this draft last, so somebody else must check and publish it. "
		          "An admin may allow one steward to publish alone.");
	else if (!sheet->alone && !is_checking(sheet))
		form_fail(c->form, "", "The draft has not been handed over for checking.");
}

/* Nothing else may have been published since the circles were looked for. */
static enum status publish_unless_moved(struct context *c, const struct sheet *sheet)
{
	const struct revision *revision = &sheet->base.revision;
	int64_t generation = 0;
	enum status status = store_begin(c->store);

	if (status == ST_OK)
		status = setting_generation(c->store, &generation);
	if (status == ST_OK && generation != c->generation)
		status = ST_CONFLICT;
	if (status == ST_OK)
		status = draft_publish(c->store, revision->id, revision->edit, c->member->id,
		                       c->now);
	if (status == ST_OK)
		return store_commit(c->store);
	store_rollback(c->store);
	return status;
}

enum status act_publish(struct context *c)
{
	struct sheet sheet;
	enum status status = read_sheet(c, &sheet);

	if (status != ST_OK)
		return status;
	check_publisher(c, &sheet);
	status = need_complete(c, &sheet);
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_sheet(c, &sheet);
	status = publish_unless_moved(c, &sheet);
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/notices/%lld?said=published",
	                        (long long)sheet.base.revision.notice.v);
}

enum status act_send_back(struct context *c)
{
	struct sheet sheet;
	enum status status = read_sheet(c, &sheet);

	if (status != ST_OK)
		return status;
	if (!is_checking(&sheet))
		form_fail(c->form, "", "The draft is on the board already.");
	if (!form_ok(c->form))
		return show_sheet(c, &sheet);
	status = draft_send_back(c->store, sheet.base.revision.id, c->member->id,
	                         form_text(c->form, "remark"), c->now);
	return status == ST_OK ? to_board(c, "sent-back") : status;
}

enum status act_discard(struct context *c)
{
	struct sheet sheet;
	enum status status = read_sheet(c, &sheet);

	if (status != ST_OK)
		return status;
	if (!form_flag(c->form, "sure"))
		form_fail(c->form, "sure", "must be ticked");
	if (!form_ok(c->form))
		return show_sheet(c, &sheet);
	status = draft_discard(c->store, sheet.base.revision.id, c->member->id, c->now);
	return status == ST_OK ? to_board(c, "draft-discarded") : status;
}
