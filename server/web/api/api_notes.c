/* api_notes.c - the notes on a notice for programs.
 *
 * Anybody may read them. Names follow the rule of the pages: a call with a
 * token reads what members read, one without reads "a member".
 */
#include "web/api/api.h"

#include "store/notes.h"
#include "web/html/names.h"
#include "web/html/notes_view.h"
#include "web/api/api_view.h"
#include "web/kits/kit_parts.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define ANSWERS_MOST 100 /* to one note; the newest of them */

static const char *const orders[] = {"helped", "newest", NULL};

const struct input api_notes_inputs[] = {
        {"order", "order", INPUT_CHOICE, .choices = orders}, API_PAGING, INPUTS_END};

static json_t *time_or_null(int64_t at)
{
	return at ? json_integer((json_int_t)at) : json_null();
}

static json_t *note_json(const struct context *c, const struct note *note)
{
	return json_pack(
	        "{s:I, s:o, s:s, s:I, s:o, s:s, s:I, s:o, s:o}", "id", (json_int_t)note->id.v,
	        "url", json_sprintf("/notes/%lld", (long long)note->id.v), "author",
	        name_of_member(c, note->author_name), "written_at", (json_int_t)note->written_at,
	        "edited_at", time_or_null(note->edited_at), "text", note->text, "helped",
	        (json_int_t)note->helped, "removed_at", time_or_null(note->removed_at),
	        "removed_by",
	        note->removed_at ? json_string(name_of_member(c, note->removed_by)) : json_null());
}

/* Answers go into the note that they follow. */
static json_t *notes_json(const struct context *c, const struct note *notes, size_t count)
{
	json_t *list = json_array(), *first = NULL;

	for (size_t i = 0; list && i < count; i++) {
		json_t *one = note_json(c, &notes[i]);

		if (notes[i].answers.v) {
			if (json_array_append_new(json_object_get(first, "answers"), one) != 0)
				list = present_append(list, NULL);
			continue;
		}
		one = present_set(one, "answers_total",
		                  json_integer((json_int_t)notes[i].n_answers));
		first = present_set(one, "answers", json_array());
		list = present_append(list, first);
	}
	return list;
}

enum status api_notice_notes(struct context *c)
{
	struct note_query query = {.answers = ANSWERS_MOST};
	const struct catalogue_entry *entry = NULL;
	const struct note *notes = NULL;
	size_t count = 0;
	int64_t total = 0;
	enum status status = kit_entry(c, &entry);

	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return respond_invalid(c);
	query.of = note_on_notice(entry->notice.id);
	query.order = form_choice(c->form, "order") == 1 ? NOTES_NEWEST : NOTES_MOST_HELPED;
	query.page = api_page(c->form);
	status = note_list(c->store, c->arena, &query, &notes, &count, &total);
	if (status != ST_OK)
		return status;
	api_links(c, query.page, total);
	return respond_json(c,
	                    json_pack("{s:I, s:o, s:s}", "total", (json_int_t)total, "notes",
	                              notes_json(c, notes, count), "caution", api_caution),
	                    c->member ? CACHE_PRIVATE : CACHE_PUBLIC);
}
