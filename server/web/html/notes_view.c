#include "web/html/names.h"
#include "web/html/notes_view.h"

#include <string.h>

#include "web/html/markdown.h"
#include "web/html/picture_form.h"
#include "web/html/picture_view.h"
#include "web/html/present.h"

#define BEGINNING 10    /* notes on a page that is about more than notes */
#define NEWEST 3        /* and of the newest, where these are others */
#define PAGE_NOTES 20   /* on a page of a list */
#define ANSWERS_SHOWN 2 /* of each, the newest */
#define CUT_AT 2000     /* bytes of a note in a list; all of it stands on its own page */

const char *const notes_orders[] = {"helped", "newest", NULL};

/* ---- what a note is about ---- */

const char *note_subject_words(const struct context *c, const struct note_subject *of)
{
	const struct catalogue_entry *entry = NULL;

	if (of->about == NOTE_ON_STEP)
		return arena_printf(c->arena, "step %s of %s", of->name, of->model);
	if (of->about == NOTE_ON_PART)
		return arena_printf(c->arena, "part %s", of->name);
	entry = catalogue_find_id(c->catalogue, of->notice);
	if (!entry)
		return arena_printf(c->arena, "a notice");
	return arena_printf(c->arena, "%s %s", entry->notice.number.text, entry->notice.title);
}

/* Of a step or a part. */
static json_t *name_url(const struct note_subject *of)
{
	if (of->about == NOTE_ON_PART)
		return present_part_url(of->name);
	return present_step_url(of->model, of->name);
}

const char *note_subject_path(const struct context *c, const struct note_subject *of,
                              struct kit_id kit)
{
	long long notice = (long long)of->notice.v;
	json_t *url;
	const char *path = NULL;

	if (of->about == NOTE_ON_NOTICE && kit.v)
		return arena_printf(c->arena, "/kits/%lld/notices/%lld", (long long)kit.v, notice);
	if (of->about == NOTE_ON_NOTICE)
		return arena_printf(c->arena, "/notices/%lld", notice);
	url = name_url(of);
	if (url)
		path = arena_copy(c->arena, json_string_value(url), json_string_length(url));
	json_decref(url);
	return path;
}

/* ---- one note ---- */

static bool is_author(const struct context *c, const struct note *note)
{
	return c->member && c->member->id.v == note->author.v;
}

/* "/notes/5/edit?kit=3" */
static json_t *note_url(const struct note *note, const struct notes_place *place, const char *act)
{
	long long id = (long long)note->id.v, kit = (long long)place->kit.v;

	if (kit)
		return json_sprintf("/notes/%lld%s?kit=%lld", id, act, kit);
	return json_sprintf("/notes/%lld%s", id, act);
}

static json_t *url_if(bool may, const struct note *note, const struct notes_place *place,
                      const char *act)
{
	return may ? note_url(note, place, act) : json_false();
}

static json_t *helped_words(int64_t helped)
{
	if (helped == 0)
		return json_false();
	if (helped == 1)
		return json_string("helped one member");
	return json_sprintf("helped %lld members", (long long)helped);
}

static json_t *help_view(bool may, const struct note *note)
{
	if (!may)
		return json_false();
	return json_pack("{s:o, s:s, s:s}", "url",
	                 json_sprintf("/notes/%lld/helped", (long long)note->id.v), "value",
	                 note->helped_reader ? "no" : "yes", "words",
	                 note->helped_reader ? "Take back that it helped" : "This helped");
}

/* Cut where a line or a word ends, so that no character is split. */
static size_t shown_length(const char *text)
{
	size_t len = strlen(text), at = CUT_AT;

	if (len <= CUT_AT)
		return len;
	while (at > CUT_AT / 2 && text[at] != '\n' && text[at] != ' ')
		at--;
	while (((unsigned char)text[at] & 0xC0) == 0x80)
		at--;
	return at;
}

/* {"parts", "cut"} */
static enum status words_view(const struct context *c, const struct note *note,
                              const struct notes_place *place, json_t **out)
{
	bool whole = place->alone || place->plain;
	size_t len = whole ? strlen(note->text) : shown_length(note->text);
	const char *text = arena_copy(c->arena, note->text, len);
	json_t *view = NULL;
	enum status status = text ? markdown_view(text, &view) : ST_NOMEM;

	if (status != ST_OK)
		return status;
	*out = present_set(view, "cut", json_boolean(note->text[len] != '\0'));
	return *out ? ST_OK : ST_NOMEM;
}

static json_t *acts_view(const struct context *c, const struct note *note,
                         const struct notes_place *place)
{
	bool may = c->member && !note->removed_at && !place->plain;
	bool own = is_author(c, note);
	bool history = c->member && !note->removed_at && note->edited_at && place->alone;

	return json_pack(
	        "{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:s}", "help", help_view(may && !own, note),
	        "answer_url", url_if(may, note, place, "/answer"), "edit_url",
	        url_if(may && own, note, place, "/edit"), "remove_url",
	        url_if(may && (own || context_may(c, ROLE_STEWARD)), note, place, "/remove"),
	        "call_url", url_if(may && !own && place->alone, note, place, "/call"),
	        "history_url", url_if(history, note, place, "/history"), "kit",
	        place->kit.v ? json_integer((json_int_t)place->kit.v) : json_string(""), "back",
	        place->alone ? "alone" : "");
}

static json_t *facts_view(const struct context *c, const struct note *note,
                          const struct notes_place *place)
{
	json_t *removed_by =
	        note->removed_at ? json_string(name_of_member(c, note->removed_by)) : json_false();

	return json_pack("{s:I, s:o, s:s, s:o, s:o, s:o, s:o, s:o, s:b, s:[], s:b}", "id",
	                 (json_int_t)note->id.v, "url", note_url(note, place, ""), "author",
	                 name_of_member(c, note->author_name), "written",
	                 present_time(note->written_at), "edited",
	                 note->edited_at ? present_time(note->edited_at) : json_false(),
	                 "removed_by", removed_by, "removed_on",
	                 note->removed_at ? present_time(note->removed_at) : json_false(), "helped",
	                 helped_words(note->helped), "earlier", 0, "answers", "has_answers", 0);
}

static enum status join(json_t *view, json_t *part)
{
	int failed = view && part ? json_object_update(view, part) : -1;

	json_decref(part);
	return failed ? ST_NOMEM : ST_OK;
}

static enum status one_view(const struct context *c, const struct note *note,
                            const struct notes_place *place, json_t **out)
{
	json_t *words = NULL, *view = NULL;
	enum status status = words_view(c, note, place, &words);

	if (status != ST_OK)
		return status;
	view = facts_view(c, note, place);
	status = join(view, words);
	if (status == ST_OK)
		status = join(view, acts_view(c, note, place));
	if (status == ST_OK)
		*out = view;
	else
		json_decref(view);
	return status;
}

/* ---- pictures ---- */

/* Of all notes that are shown together. */
struct pictures {
	const struct picture_row *rows;
	size_t count;
};

static enum status read_pictures(const struct context *c, const struct note *notes, size_t count,
                                 const struct notes_place *place, struct pictures *out)
{
	struct picture_of *of = ARENA_ARRAY(c->arena, struct picture_of, count);

	if (!of)
		return ST_NOMEM;
	for (size_t i = 0; i < count; i++)
		of[i].note = notes[i].id;
	return picture_list(c->store, c->arena, of, place->plain ? 0 : count, &out->rows,
	                    &out->count);
}

/* On its own page a note's pictures are added and removed. */
static json_t *pictures_view(const struct context *c, const struct pictures *pictures,
                             const struct note *note, const struct notes_place *place)
{
	struct picture_of of = {.note = note->id};
	bool acts = place->alone && !note->removed_at;

	return picture_view(c, pictures->rows, pictures->count, &of,
	                    acts ? note->author : (struct member_id){0});
}

/* Of a note whose answers are all in: are there any, and how many were left out? */
static enum status tell_answers(json_t *view, const struct note *note)
{
	size_t shown = json_array_size(json_object_get(view, "answers"));
	long long left = (long long)note->n_answers - (long long)shown;
	json_t *words;

	if (json_object_set_new(view, "has_answers", json_boolean(shown > 0)) != 0)
		return ST_NOMEM;
	if (left <= 0)
		return ST_OK;
	words = left == 1 ? json_string("One earlier answer")
	                  : json_sprintf("%lld earlier answers", left);
	return words && json_object_set_new(view, "earlier", words) == 0 ? ST_OK : ST_NOMEM;
}

/* Where the next note goes: an answer into the note that it follows. */
static json_t *list_for(json_t *list, const struct note *note)
{
	size_t count = json_array_size(list);

	if (!note->answers.v || count == 0)
		return list;
	return json_object_get(json_array_get(list, count - 1), "answers");
}

static enum status add_views(const struct context *c, const struct note *notes, size_t count,
                             const struct notes_place *place, const struct pictures *pictures,
                             json_t *list)
{
	enum status status = ST_OK;
	size_t first = 0; /* the last first note */

	for (size_t i = 0; status == ST_OK && i < count; i++) {
		json_t *view = NULL, *into = list_for(list, &notes[i]);

		if (into == list)
			first = i;
		status = one_view(c, &notes[i], place, &view);
		if (status == ST_OK) {
			view = present_set(view, "pictures",
			                   pictures_view(c, pictures, &notes[i], place));
			status = json_array_append_new(into, view) == 0 ? ST_OK : ST_NOMEM;
		}
		if (status == ST_OK && (i + 1 == count || !notes[i + 1].answers.v))
			status = tell_answers(json_array_get(list, json_array_size(list) - 1),
			                      &notes[first]);
	}
	return status;
}

enum status note_views(const struct context *c, const struct note *notes, size_t count,
                       const struct notes_place *place, json_t **out)
{
	struct pictures pictures = {NULL, 0};
	json_t *list = json_array();
	enum status status = list ? read_pictures(c, notes, count, place, &pictures) : ST_NOMEM;

	if (status == ST_OK)
		status = add_views(c, notes, count, place, &pictures, list);
	if (status == ST_OK)
		*out = list;
	else
		json_decref(list);
	return status;
}

/* ---- lists ---- */

static json_t *hidden(const char *name, const char *value)
{
	return json_pack("{s:s, s:s}", "name", name, "value", value);
}

/* Address and hidden fields of the form for a new note. */
static json_t *target_view(const struct context *c, const struct note_subject *of,
                           struct kit_id kit)
{
	if (of->about == NOTE_ON_PART)
		return json_pack("{s:s, s:[o]}", "url", "/part/notes", "hidden",
		                 hidden("number", of->name));
	if (of->about == NOTE_ON_STEP)
		return json_pack("{s:s, s:[o, o]}", "url", "/step/notes", "hidden",
		                 hidden("model", of->model), hidden("code", of->name));
	return json_pack(
	        "{s:o, s:[o]}", "url", json_sprintf("/notices/%lld/notes", (long long)of->notice.v),
	        "hidden",
	        hidden("kit", kit.v ? arena_printf(c->arena, "%lld", (long long)kit.v) : ""));
}

static json_t *add_view(const struct context *c, const struct note_subject *of, struct kit_id kit)
{
	if (!c->member)
		return json_false();
	return present_set(target_view(c, of, kit), "fields", picture_blank_fields(c->arena));
}

/* Those of the newest that are not shown already. */
static enum status newest_view(const struct context *c, struct note_query *query,
                               const struct note *shown, size_t n_shown,
                               const struct notes_place *place, json_t **out)
{
	const struct note *notes = NULL;
	struct note *others = ARENA_ARRAY(c->arena, struct note, NEWEST);
	size_t count = 0, n_others = 0;
	int64_t total;
	enum status status;

	query->order = NOTES_NEWEST;
	query->answers = 0;
	query->page.limit = NEWEST;
	status = note_list(c->store, c->arena, query, &notes, &count, &total);
	for (size_t i = 0; status == ST_OK && others && i < count; i++) {
		size_t k = 0;

		while (k < n_shown && shown[k].id.v != notes[i].id.v)
			k++;
		if (k == n_shown)
			others[n_others++] = notes[i];
	}
	if (status == ST_OK && !others)
		status = ST_NOMEM;
	return status == ST_OK ? note_views(c, others, n_others, place, out) : status;
}

/* A query without its page. */
static struct note_query query_of(const struct context *c, const struct note_subject *of)
{
	return (struct note_query){.of = *of,
	                           .reader = c->member ? c->member->id : (struct member_id){0},
	                           .answers = ANSWERS_SHOWN};
}

enum status notes_view(struct context *c, const struct note_subject *of, struct kit_id kit,
                       json_t **out)
{
	struct note_query query = query_of(c, of);
	struct notes_place place = {.kit = kit};
	const struct note *notes = NULL;
	json_t *list = NULL, *newest = json_array();
	size_t count = 0;
	int64_t total = 0;
	enum status status;

	query.page.limit = BEGINNING;
	status = note_list(c->store, c->arena, &query, &notes, &count, &total);
	if (status == ST_OK)
		status = note_views(c, notes, count, &place, &list);
	if (status == ST_OK && total > BEGINNING) {
		json_decref(newest);
		newest = NULL;
		status = newest_view(c, &query, notes, count, &place, &newest);
	}
	if (status != ST_OK) {
		json_decref(list);
		json_decref(newest);
		return status;
	}
	*out = json_pack("{s:o, s:o, s:b, s:I, s:b, s:o, s:o}", "list", list, "newest", newest,
	                 "has_newest", json_array_size(newest) > 0, "total", (json_int_t)total,
	                 "more", total > BEGINNING, "all_url",
	                 json_sprintf("/notices/%lld/notes", (long long)of->notice.v), "add",
	                 add_view(c, of, kit));
	return *out ? ST_OK : ST_NOMEM;
}

static json_t *orders_view(const struct context *c, enum note_order here)
{
	static const char *const words[] = {"Most helpful first", "Newest first"};
	json_t *list = json_array();

	for (int i = 0; list && i < 2; i++)
		list = present_append(
		        list, json_pack("{s:s, s:o, s:b}", "words", words[i], "url",
		                        present_url_with(c->request->path, &c->request->query,
		                                         "order", notes_orders[i]),
		                        "here", (int)here == i));
	return list;
}

enum status notes_list_view(struct context *c, const struct note_subject *of, json_t **out)
{
	static const struct notes_place place = {.kit = {0}};
	int64_t number = form_given(c->form, "page") ? form_number(c->form, "page") : 1;
	struct note_query query = query_of(c, of);
	const struct note *notes = NULL;
	json_t *list = NULL;
	size_t count = 0;
	int64_t total = 0;
	enum status status;

	query.page = (struct page){PAGE_NOTES, (number - 1) * PAGE_NOTES};
	query.order = form_choice(c->form, "order") == 1 ? NOTES_NEWEST : NOTES_MOST_HELPED;
	status = note_list(c->store, c->arena, &query, &notes, &count, &total);
	if (status == ST_OK)
		status = note_views(c, notes, count, &place, &list);
	if (status != ST_OK)
		return status;
	*out = json_pack("{s:o, s:I, s:b, s:o, s:o, s:o}", "list", list, "total", (json_int_t)total,
	                 "many", total > 1, "orders", orders_view(c, query.order), "pager",
	                 present_pager(c->request->path, &c->request->query, &query.page, total),
	                 "add", add_view(c, of, (struct kit_id){0}));
	return *out ? ST_OK : ST_NOMEM;
}
