/* notes.c - adding and removing notes on a notice, and the list of all of them. */
#include "web/notes_view.h"
#include "web/pages/kit_pages.h"
#include "web/pages/kit_parts.h"
#include "web/respond.h"

const struct input note_inputs[] = {
        {"text", "Note", INPUT_TEXT, .required = true, .longest = NOTE_LONGEST},
        {"kit", "Kit", INPUT_ID},
        INPUTS_END};

const struct input notes_inputs[] = {{"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000},
                                     INPUTS_END};

#define PAGE_NOTES 50

/* ---- all notes on a notice ---- */

static json_t *notice_link(const struct catalogue_entry *entry)
{
	return json_pack("{s:s, s:s, s:o}", "number", entry->notice.number.text, "title",
	                 entry->notice.title, "url",
	                 json_sprintf("/notices/%lld", (long long)entry->notice.id.v));
}

enum status page_notes(struct context *c)
{
	int64_t number = form_given(c->form, "page") ? form_number(c->form, "page") : 1;
	struct note_query query = {.page = {PAGE_NOTES, (number - 1) * PAGE_NOTES}};
	const struct catalogue_entry *entry = NULL;
	const struct note *notes = NULL;
	size_t count = 0;
	int64_t total = 0;
	json_t *list = NULL;
	enum status status = kit_entry(c, &entry);

	if (status == ST_OK) {
		query.of = note_on_notice(entry->notice.id);
		status = note_list(c->store, c->arena, &query, &notes, &count, &total);
	}
	if (status == ST_OK)
		status = note_views(c, notes, count, &list);
	if (status != ST_OK)
		return status;
	return respond_page(
	        c, "note_list.html", "Notes",
	        json_pack("{s:o, s:o, s:o}", "notice", notice_link(entry), "list", list, "pager",
	                  present_pager(c->request->path, &c->request->query, &query.page, total)));
}

/* ---- adding ---- */

static enum status show_form(struct context *c, const struct catalogue_entry *entry)
{
	return respond_page(
	        c, "note_form.html", "Add a note",
	        json_pack("{s:o, s:o}", "notice", notice_link(entry), "form", form_view(c->form)));
}

enum status page_note_add(struct context *c)
{
	const struct catalogue_entry *entry = NULL;
	long long kit = (long long)form_number(c->form, "kit");
	struct note_subject of;
	struct note_id id;
	enum status status = kit_entry(c, &entry);

	if (status == ST_OK && !form_ok(c->form))
		return show_form(c, entry);
	if (status == ST_OK) {
		of = note_on_notice(entry->notice.id);
		status = note_add(c->store, &of, c->member->id, form_text(c->form, "text"), c->now,
		                  &id);
	}
	if (status != ST_OK)
		return status;
	if (kit)
		return respond_redirect(c, "/kits/%lld/notices/%lld?said=note-added#note-%lld", kit,
		                        (long long)entry->notice.id.v, (long long)id.v);
	return respond_redirect(c, "/notices/%lld?said=note-added#note-%lld",
	                        (long long)entry->notice.id.v, (long long)id.v);
}

/* ---- removing ---- */

/* The note that {note} captures, when it stands and the caller may remove it. */
static enum status find_note(struct context *c, struct notice_id notice, json_t **out)
{
	struct note_id id = {context_id(c, "note")};
	struct note note;
	enum status status = note_read(c->store, c->arena, id, c->member->id, &note);

	if (status == ST_OK && (note.removed_at || note.of.notice.v != notice.v))
		status = ST_MISSING;
	return status == ST_OK ? note_view(c, &note, out) : status;
}

enum status page_note_remove(struct context *c)
{
	const struct catalogue_entry *entry = NULL;
	json_t *note = NULL;
	enum status status = kit_entry(c, &entry);

	if (status == ST_OK)
		status = find_note(c, entry->notice.id, &note);
	if (status != ST_OK)
		return status;
	if (json_is_false(json_object_get(note, "remove_url"))) {
		json_decref(note);
		return ST_DENIED;
	}
	return respond_page(c, "note_remove.html", "Remove this note?",
	                    json_pack("{s:o, s:o}", "notice", notice_link(entry), "note", note));
}

enum status page_note_remove_post(struct context *c)
{
	struct note_id id = {context_id(c, "note")};
	enum status status = note_remove(c->store, id, c->member->id, c->now);

	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/notices/%lld?said=note-removed#notes",
	                        (long long)context_id(c, "notice"));
}
