/* calls.c - calling a steward to a note, and the queue of calls. */
#include "store/calls.h"

#include "web/board/board_parts.h"
#include "web/notes/note_parts.h"
#include "web/notes/notes.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define PAGE_CALLS 20

static const char *const acts[] = {"leave", "take away", NULL};

const struct input call_inputs[] = {
        {"reason", "Reason", INPUT_TEXT, .required = true, .longest = CALL_WORDS_LONGEST},
        {"kit", "Kit", INPUT_ID},
        INPUTS_END};
const struct input calls_query[] = {{"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000},
                                    INPUTS_END};
const struct input call_close_inputs[] = {
        {"outcome", "What you did", INPUT_TEXT, .required = true, .longest = CALL_WORDS_LONGEST},
        {"act", "What to do", INPUT_CHOICE, .required = true, .choices = acts},
        INPUTS_END};

/* ---- calling ---- */

static enum status show_call_form(struct context *c, const struct note *note)
{
	json_t *form =
	        present_hint(form_view(c->form), "reason",
	                     "What should the stewards look at? They read it with your name.");

	return note_respond(c, note, "note_call.html", "Call a steward",
	                    json_pack("{s:o}", "form", form));
}

/* The note, when it stands and is another's. */
static enum status others_note(const struct context *c, struct note *out)
{
	struct note note;
	enum status status = note_standing(c, &note);

	if (status == ST_OK && note.author.v == c->member->id.v)
		return ST_DENIED;
	if (status == ST_OK)
		*out = note;
	return status;
}

enum status page_note_call(struct context *c)
{
	long long kit = (long long)note_kit(c).v;
	struct note note;
	enum status status = others_note(c, &note);

	if (status != ST_OK)
		return status;
	c->form = form_blank(c->arena, call_inputs);
	if (!c->form)
		return ST_NOMEM;
	if (kit)
		form_set_number(c->form, "kit", kit);
	return show_call_form(c, &note);
}

enum status act_note_call(struct context *c)
{
	struct note note;
	struct call_id id;
	enum status status = others_note(c, &note);

	if (status == ST_OK && !form_ok(c->form))
		return show_call_form(c, &note);
	if (status == ST_OK)
		status = call_add(c->store, &(struct call_to){.note = note.id}, c->member->id,
		                  form_text(c->form, "reason"), c->now, &id);
	if (status == ST_CONFLICT) {
		form_fail(c->form, "",
		          "You have called a steward to this note already. The call "
		          "still waits; there is no need for another.");
		return show_call_form(c, &note);
	}
	status = form_bound(c->form, c->store, status);
	if (!form_ok(c->form))
		return show_call_form(c, &note);
	return status == ST_OK ? note_done(c, note.id, "steward-called") : status;
}

/* ---- the queue ---- */

static json_t *to_url(const struct call *call)
{
	if (call->to.note.v)
		return json_sprintf("/notes/%lld", (long long)call->to.note.v);
	return json_sprintf("/reports/%lld", (long long)call->to.report.v);
}

static json_t *closed_view(const struct call *call)
{
	if (!call->closed_at)
		return json_false();
	return json_pack("{s:s, s:o, s:s}", "by", call->closed_by, "at",
	                 board_time(call->closed_at), "outcome", call->outcome);
}

static json_t *call_view(const struct call *call)
{
	return json_pack("{s:o, s:s, s:s, s:o, s:s, s:o, s:s, s:o, s:b, s:o}", "url",
	                 json_sprintf("/board/calls/%lld", (long long)call->id.v), "what",
	                 call->to.note.v ? "a note" : "a report", "caller", call->caller, "at",
	                 board_time(call->at), "reason", call->reason, "to_url", to_url(call),
	                 "author", call->author_name, "words", present_text(call->words), "removed",
	                 call->removed, "closed", closed_view(call));
}

enum status page_calls(struct context *c)
{
	int64_t number = form_given(c->form, "page") ? form_number(c->form, "page") : 1;
	struct page page = {PAGE_CALLS, (number - 1) * PAGE_CALLS};
	const struct call *calls = NULL;
	size_t count = 0;
	int64_t total = 0;
	json_t *list;
	enum status status = call_list(c->store, c->arena, page, &calls, &count, &total);

	if (status != ST_OK)
		return status;
	list = json_array();
	for (size_t i = 0; list && i < count; i++)
		list = present_append(list, call_view(&calls[i]));
	return board_respond(
	        c, "board_calls.html", "Calls for a steward",
	        json_pack("{s:o, s:b, s:o}", "calls", list, "any", count > 0, "pager",
	                  present_pager(c->request->path, &c->request->query, &page, total)));
}

static enum status show_call(struct context *c, const struct call *call)
{
	json_t *form = present_hint(board_form(c, call_close_inputs), "outcome",
	                            "Kept with the call, for the other stewards.");

	return board_respond(c, "board_call.html", "A call for a steward",
	                     json_pack("{s:o, s:o}", "call", call_view(call), "form", form));
}

enum status page_call(struct context *c)
{
	struct call call;
	enum status status =
	        call_read(c->store, c->arena, (struct call_id){context_id(c, "call")}, &call);

	return status == ST_OK ? show_call(c, &call) : status;
}

enum status act_call_close(struct context *c)
{
	struct call_id id = {context_id(c, "call")};
	bool take_away = form_choice(c->form, "act") == 1;
	struct call call = {.closed_at = 0};
	enum status status = call_read(c->store, c->arena, id, &call);

	if (status == ST_OK && !form_ok(c->form) && !call.closed_at)
		return show_call(c, &call);
	if (status == ST_OK)
		status = call_close(c->store, id, c->member->id, take_away,
		                    form_text(c->form, "outcome"), c->now);
	if (status == ST_MISSING && call.closed_at)
		return respond_redirect(c, "/board/calls?said=call-closed-already");
	return status == ST_OK ? respond_redirect(c, "/board/calls?said=%s",
	                                          take_away ? "call-taken-away" : "call-left")
	                       : status;
}
