/* notes.c - one note: adding it, answering, editing, removing, thanks, history.
 *
 * Whoever wrote something is led back to where it stands: a first note to the
 * page of what it is about, the rest to the page of the note. "kit" goes along
 * from page to page, so that a builder who came from a kit finds back there.
 */
#include "web/notes/notes.h"

#include <string.h>

#include "web/html/markdown.h"
#include "web/kits/kit_parts.h"
#include "web/notes/note_parts.h"
#include "web/html/picture_form.h"
#include "web/http/respond.h"

#define TEXT                                                                                       \
	{                                                                                          \
		"text", "Note", INPUT_TEXT, .required = true, .longest = NOTE_LONGEST              \
	}
#define KIT                                                                                        \
	{                                                                                          \
		"kit", "Kit", INPUT_ID                                                             \
	}
#define PAGE                                                                                       \
	{                                                                                          \
		"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000                              \
	}

static const char *const answers[] = {"yes", "no", NULL};
static const char *const backs[] = {"alone", NULL};

const struct input notes_inputs[] = {NOTES_LIST_INPUTS, INPUTS_END};
const struct input note_inputs[] = {TEXT, KIT, PICTURE_INPUTS, INPUTS_END};
const struct input note_text_inputs[] = {TEXT, KIT, INPUTS_END};
const struct input note_query_inputs[] = {KIT, PAGE, INPUTS_END};
const struct input note_remove_inputs[] = {KIT, INPUTS_END};
const struct input note_helped_inputs[] = {
        {"helped", "Whether it helped", INPUT_CHOICE, .required = true, .choices = answers},
        {"back", "Where to go", INPUT_CHOICE, .choices = backs},
        KIT,
        INPUTS_END};

#define PAGE_ANSWERS 50
#define PAGE_HISTORY 20

/* ---- what the pages have in common ---- */

enum status note_here(const struct context *c, struct note *out)
{
	struct member_id reader = c->member ? c->member->id : (struct member_id){0};

	return note_read(c->store, c->arena, (struct note_id){context_id(c, "note")}, reader, out);
}

enum status note_standing(const struct context *c, struct note *out)
{
	struct note note;
	enum status status = note_here(c, &note);

	if (status == ST_OK && note.removed_at)
		return ST_MISSING;
	if (status == ST_OK)
		*out = note;
	return status;
}

struct kit_id note_kit(const struct context *c)
{
	return (struct kit_id){form_number(c->form, "kit")};
}

static json_t *subject_view(const struct context *c, const struct note *note)
{
	const char *words = note_subject_words(c, &note->of);
	const char *path = note_subject_path(c, &note->of, note_kit(c));

	return words && path ? json_pack("{s:s, s:s}", "words", words, "url", path) : NULL;
}

enum status note_respond(struct context *c, const struct note *note, const char *template,
                         const char *title, json_t *view)
{
	struct notes_place place = {.kit = note_kit(c), .plain = true};
	json_t *list = NULL;
	enum status status = note_views(c, note, 1, &place, &list);

	if (status != ST_OK) {
		json_decref(view);
		return status;
	}
	view = present_set(view, "note", json_incref(json_array_get(list, 0)));
	json_decref(list);
	return respond_page(c, template, title,
	                    present_set(view, "subject", subject_view(c, note)));
}

enum status note_done(struct context *c, struct note_id id, const char *said)
{
	long long kit = (long long)note_kit(c).v, note = (long long)id.v;

	if (kit)
		return respond_redirect(c, "/notes/%lld?kit=%lld&said=%s#note-%lld", note, kit,
		                        said, note);
	return respond_redirect(c, "/notes/%lld?said=%s#note-%lld", note, said, note);
}

/* Back to what it is about, at the note. */
static enum status back_to_subject(struct context *c, const struct note_subject *of,
                                   struct note_id id, const char *said)
{
	const char *path = note_subject_path(c, of, note_kit(c));

	if (!path)
		return ST_NOMEM;
	return respond_redirect(c, "%s%csaid=%s#note-%lld", path, strchr(path, '?') ? '&' : '?',
	                        said, (long long)id.v);
}

/* ---- all on a notice ---- */

enum status page_notes(struct context *c)
{
	const struct catalogue_entry *entry = NULL;
	struct note_subject of;
	json_t *view = NULL;
	enum status status = kit_entry(c, &entry);

	if (status != ST_OK)
		return status;
	of = note_on_notice(entry->notice.id);
	status = notes_list_view(c, &of, &view);
	if (status != ST_OK)
		return status;
	return respond_page(
	        c, "note_list.html", "Notes",
	        json_pack("{s:o, s:o, s:b}", "notes", view, "notice",
	                  json_pack("{s:s, s:s, s:o}", "number", entry->notice.number.text, "title",
	                            entry->notice.title, "url",
	                            json_sprintf("/notices/%lld", (long long)entry->notice.id.v)),
	                  "in_notices", 1));
}

/* ---- adding ---- */

/* The hidden fields of a form that was sent, to send them again. */
static json_t *sent_fields(const struct context *c)
{
	json_t *list = json_array();

	for (const struct input *input = c->route->inputs; list && input->name; input++)
		if (input->kind == INPUT_ID || input->kind == INPUT_NAME)
			list = present_append(list,
			                      json_pack("{s:s, s:s}", "name", input->name, "value",
			                                form_text(c->form, input->name)));
	return list;
}

static enum status add_text(struct context *c, const struct note_subject *of,
                            struct note_id answered, struct note_id *out)
{
	const char *text = form_text(c->form, "text");

	if (answered.v)
		return note_answer(c->store, answered, c->member->id, text, c->now, out);
	return note_add(c->store, of, c->member->id, text, c->now, out);
}

/* A note, or an answer to one, with its pictures, or neither. */
static enum status add_all(struct context *c, const struct note_subject *of,
                           struct note_id answered, struct note_id *out)
{
	struct picture_of on = {.note = {0}};
	enum status status = store_begin(c->store);

	if (status == ST_OK)
		status = add_text(c, of, answered, &on.note);
	if (status == ST_OK)
		status = pictures_keep_once(c, &on);
	if (status == ST_OK)
		status = store_commit(c->store);
	if (status != ST_OK) {
		store_rollback(c->store);
		return status;
	}
	*out = on.note;
	return ST_OK;
}

static enum status show_add(struct context *c, const struct note_subject *of)
{
	return respond_page(c, "note_form.html", "Add a note",
	                    json_pack("{s:s, s:s, s:o, s:o}", "words", note_subject_words(c, of),
	                              "url", note_subject_path(c, of, note_kit(c)), "hidden",
	                              sent_fields(c), "form", form_view(c->form)));
}

enum status note_add_here(struct context *c, const struct note_subject *of)
{
	struct note_id id = {0};
	enum status status = pictures_look(c, PICTURES_MOST);

	if (status != ST_OK)
		return status;
	if (form_ok(c->form))
		status = add_all(c, of, (struct note_id){0}, &id);
	status = form_bound(c->form, c->store, status);
	if (!form_ok(c->form))
		return show_add(c, of);
	return status == ST_OK ? back_to_subject(c, of, id, "note-added") : status;
}

enum status act_note_add(struct context *c)
{
	const struct catalogue_entry *entry = NULL;
	struct note_subject of;
	enum status status = kit_entry(c, &entry);

	if (status != ST_OK)
		return status;
	of = note_on_notice(entry->notice.id);
	return note_add_here(c, &of);
}

/* ---- one note ---- */

/* The first note and a page of its answers, or the one answer that is asked for. */
struct thread {
	struct note *notes; /* the first one first */
	size_t count;
	struct page page;
	int64_t total;
	bool one_answer;
};

static enum status read_answers(const struct context *c, struct thread *t, struct note_id first)
{
	int64_t number = form_given(c->form, "page") ? form_number(c->form, "page") : 1;
	struct member_id reader = c->member ? c->member->id : (struct member_id){0};
	const struct note *list = NULL;
	size_t count = 0;
	enum status status;

	t->page = (struct page){PAGE_ANSWERS, (number - 1) * PAGE_ANSWERS};
	status = note_answers(c->store, c->arena, first, reader, t->page, &list, &count, &t->total);
	if (status == ST_OK && count)
		memcpy(t->notes + 1, list, count * sizeof *list);
	t->count = 1 + count;
	return status;
}

static enum status read_thread(const struct context *c, struct thread *t)
{
	struct member_id reader = c->member ? c->member->id : (struct member_id){0};
	enum status status;

	t->notes = ARENA_ARRAY(c->arena, struct note, PAGE_ANSWERS + 1);
	if (!t->notes)
		return ST_NOMEM;
	status = note_here(c, &t->notes[0]);
	if (status != ST_OK)
		return status;
	t->one_answer = t->notes[0].answers.v != 0;
	if (!t->one_answer)
		return read_answers(c, t, t->notes[0].id);
	t->notes[1] = t->notes[0];
	t->count = 2;
	status = note_read(c->store, c->arena, t->notes[1].answers, reader, &t->notes[0]);
	t->total = t->notes[0].n_answers;
	return status;
}

static json_t *first_url(const struct context *c, const struct note *first)
{
	long long kit = (long long)note_kit(c).v;

	if (kit)
		return json_sprintf("/notes/%lld?kit=%lld", (long long)first->id.v, kit);
	return json_sprintf("/notes/%lld", (long long)first->id.v);
}

/* The form below it; not under a note that is gone. */
static json_t *answer_form(const struct context *c, const struct note *first)
{
	if (!c->member || first->removed_at)
		return json_false();
	return json_pack("{s:o, s:[{s:s, s:s}], s:o}", "url",
	                 json_sprintf("/notes/%lld/answer", (long long)first->id.v), "hidden",
	                 "name", "kit", "value", form_text(c->form, "kit"), "fields",
	                 picture_blank_fields(c->arena));
}

static json_t *thread_view(const struct context *c, const struct thread *t, json_t *list)
{
	json_t *first = json_array_get(list, 0);
	json_t *pager = t->one_answer ? json_false()
	                              : present_pager(c->request->path, &c->request->query,
	                                              &t->page, t->total);
	json_t *view =
	        json_pack("{s:O, s:o, s:b, s:o, s:o, s:o}", "list", list, "subject",
	                  subject_view(c, &t->notes[0]), "many", t->total > PAGE_ANSWERS, "pager",
	                  pager, "all",
	                  t->one_answer && t->total > 1
	                          ? json_pack("{s:o, s:I}", "url", first_url(c, &t->notes[0]),
	                                      "total", (json_int_t)t->total)
	                          : json_false(),
	                  "answer", answer_form(c, &t->notes[0]));

	if (first && json_object_set_new(first, "earlier", json_false()) != 0) {
		json_decref(view);
		view = NULL;
	}
	json_decref(list);
	return view;
}

enum status page_note(struct context *c)
{
	struct notes_place place = {.kit = note_kit(c), .alone = true};
	struct thread thread = {.notes = NULL};
	json_t *list = NULL;
	enum status status = read_thread(c, &thread);

	if (status == ST_OK)
		status = note_views(c, thread.notes, thread.count, &place, &list);
	if (status != ST_OK)
		return status;
	return respond_page(c, "note_alone.html", "A note", thread_view(c, &thread, list));
}

/* ---- answering ---- */

static enum status show_answer(struct context *c, const struct note *note)
{
	json_t *form = present_hint(form_view(c->form), "text",
	                            "It goes below the note, and its author hears of it.");

	return note_respond(c, note, "note_answer.html", "Answer a note",
	                    json_pack("{s:o}", "form", form));
}

/* A blank form of a page whose own inputs are another table. */
static void blank_form(struct context *c, const struct input *inputs)
{
	long long kit = (long long)note_kit(c).v;

	c->form = form_blank(c->arena, inputs);
	if (c->form && kit)
		form_set_number(c->form, "kit", kit);
}

enum status page_answer(struct context *c)
{
	struct note note;
	enum status status = note_standing(c, &note);

	if (status != ST_OK)
		return status;
	blank_form(c, note_inputs);
	return c->form ? show_answer(c, &note) : ST_NOMEM;
}

enum status act_answer(struct context *c)
{
	struct note note;
	struct note_id id = {0};
	enum status status = note_standing(c, &note);

	if (status == ST_OK)
		status = pictures_look(c, PICTURES_MOST);
	if (status != ST_OK)
		return status;
	if (form_ok(c->form))
		status = add_all(c, &note.of, note.id, &id);
	status = form_bound(c->form, c->store, status);
	if (!form_ok(c->form))
		return show_answer(c, &note);
	return status == ST_OK ? note_done(c, id, "answer-added") : status;
}

/* ---- editing ---- */

static enum status show_edit(struct context *c, const struct note *note)
{
	json_t *form = present_hint(form_view(c->form), "text",
	                            "What stood here before stays readable to members.");

	return note_respond(c, note, "note_edit.html", "Edit your note",
	                    json_pack("{s:o}", "form", form));
}

/* The note, when it stands and is the caller's. */
static enum status own_note(const struct context *c, struct note *out)
{
	struct note note;
	enum status status = note_standing(c, &note);

	if (status == ST_OK && note.author.v != c->member->id.v)
		return ST_DENIED;
	if (status == ST_OK)
		*out = note;
	return status;
}

enum status page_note_edit(struct context *c)
{
	struct note note;
	enum status status = own_note(c, &note);

	if (status != ST_OK)
		return status;
	blank_form(c, note_text_inputs);
	if (!c->form)
		return ST_NOMEM;
	form_set(c->form, "text", note.text);
	return show_edit(c, &note);
}

enum status act_note_edit(struct context *c)
{
	struct note note;
	enum status status = own_note(c, &note);

	if (status == ST_OK && !form_ok(c->form))
		return show_edit(c, &note);
	if (status == ST_OK)
		status = form_bound(c->form, c->store,
		                    note_edit(c->store, note.id, c->member->id,
		                              form_text(c->form, "text"), c->now));
	if (status == ST_OK && !form_ok(c->form))
		return show_edit(c, &note);
	return status == ST_OK ? note_done(c, note.id, "note-edited") : status;
}

static json_t *before_view(const struct note_before *before)
{
	json_t *view = NULL;

	if (markdown_view(before->text, &view) != ST_OK)
		return NULL;
	return present_set(view, "until", present_time(before->until));
}

enum status page_note_history(struct context *c)
{
	int64_t number = form_given(c->form, "page") ? form_number(c->form, "page") : 1;
	struct page page = {PAGE_HISTORY, (number - 1) * PAGE_HISTORY};
	const struct note_before *before = NULL;
	struct note note;
	size_t count = 0;
	int64_t total = 0;
	json_t *list;
	enum status status = note_standing(c, &note);

	if (status == ST_OK)
		status = note_history(c->store, c->arena, note.id, page, &before, &count, &total);
	if (status != ST_OK)
		return status;
	list = json_array();
	for (size_t i = 0; list && i < count; i++)
		list = present_append(list, before_view(&before[i]));
	return note_respond(
	        c, &note, "note_history.html", "Earlier words of a note",
	        json_pack("{s:o, s:b, s:o}", "before", list, "any", total > 0, "pager",
	                  present_pager(c->request->path, &c->request->query, &page, total)));
}

/* ---- removing ---- */

enum status page_note_remove(struct context *c)
{
	struct note note;
	enum status status = note_standing(c, &note);

	if (status == ST_OK && note.author.v != c->member->id.v && !context_may(c, ROLE_STEWARD))
		status = ST_DENIED;
	if (status != ST_OK)
		return status;
	return note_respond(c, &note, "note_remove.html", "Remove this note?",
	                    json_pack("{s:s}", "kit", form_text(c->form, "kit")));
}

enum status act_note_remove(struct context *c)
{
	struct note_id id = {context_id(c, "note")};
	enum status status =
	        form_ok(c->form) ? note_remove(c->store, id, c->member->id, c->now) : ST_INVALID;

	return status == ST_OK ? note_done(c, id, "note-removed") : status;
}

/* ---- this helped ---- */

enum status act_note_helped(struct context *c)
{
	bool helped = form_choice(c->form, "helped") == 0;
	const char *said = helped ? "note-helped" : "note-helped-not";
	struct note note;
	enum status status = note_standing(c, &note);

	if (status == ST_OK && !form_ok(c->form))
		status = ST_INVALID;
	if (status == ST_OK)
		status = note_set_helped(c->store, note.id, c->member->id, helped);
	if (status != ST_OK)
		return status;
	if (form_choice(c->form, "back") == 0)
		return note_done(c, note.id, said);
	return back_to_subject(c, &note.of, note.id, said);
}
