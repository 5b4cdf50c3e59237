#include "web/notes_view.h"

#include "store/notes.h"
#include "web/markdown.h"
#include "web/present.h"

#define NOTES_SHOWN 50

/* Its author may, and every steward. */
static bool may_remove(const struct context *c, const struct note *note)
{
	return c->member && (c->member->id.v == note->author.v || context_may(c, ROLE_STEWARD));
}

static json_t *remove_url(const struct context *c, const struct note *note)
{
	if (note->removed_at || !may_remove(c, note))
		return json_false();
	return json_sprintf("/notices/%lld/notes/%lld/remove", (long long)note->of.notice.v,
	                    (long long)note->id.v);
}

/* Adds what the note says: {"parts": ...} of markdown.h. */
static enum status add_words(json_t *view, const char *text)
{
	json_t *words = NULL;
	enum status status = markdown_view(text, &words);

	if (status != ST_OK)
		return status;
	status = json_object_update(view, words) == 0 ? ST_OK : ST_NOMEM;
	json_decref(words);
	return status;
}

/* Members are told who wrote; what they are called is not for the whole world. */
static const char *name_for_reader(const struct context *c, const char *name)
{
	return c->member ? name : "a member";
}

enum status note_view(const struct context *c, const struct note *note, json_t **out)
{
	json_t *removed_by =
	        note->removed_at ? json_string(name_for_reader(c, note->removed_by)) : json_false();
	json_t *view = json_pack("{s:I, s:s, s:o, s:o, s:o}", "id", (json_int_t)note->id.v,
	                         "author", name_for_reader(c, note->author_name), "written",
	                         present_time(note->written_at), "removed_by", removed_by,
	                         "remove_url", remove_url(c, note));
	enum status status = view ? add_words(view, note->text) : ST_NOMEM;

	if (status == ST_OK)
		*out = view;
	else
		json_decref(view);
	return status;
}

enum status note_views(const struct context *c, const struct note *notes, size_t count,
                       json_t **out)
{
	json_t *list = json_array();
	enum status status = list ? ST_OK : ST_NOMEM;

	for (size_t i = 0; status == ST_OK && i < count; i++) {
		json_t *view = NULL;

		status = note_view(c, &notes[i], &view);
		if (status == ST_OK)
			list = present_append(list, view);
		if (!list)
			status = ST_NOMEM;
	}
	if (status == ST_OK)
		*out = list;
	else
		json_decref(list);
	return status;
}

static json_t *add_url(const struct context *c, struct notice_id notice)
{
	if (!c->member)
		return json_false();
	return json_sprintf("/notices/%lld/notes", (long long)notice.v);
}

static json_t *frame(const struct context *c, struct notice_id notice, struct kit_id kit,
                     json_t *list, int64_t total)
{
	json_t *kit_field = kit.v ? json_sprintf("%lld", (long long)kit.v) : json_string("");

	return json_pack("{s:o, s:I, s:b, s:o, s:o, s:o}", "list", list, "total", (json_int_t)total,
	                 "more", total > NOTES_SHOWN, "add_url", add_url(c, notice), "kit_field",
	                 kit_field, "all_url",
	                 json_sprintf("/notices/%lld/notes", (long long)notice.v));
}

enum status notes_view(struct context *c, struct notice_id notice, struct kit_id kit, json_t **out)
{
	struct note_query query = {.of = note_on_notice(notice), .page = {NOTES_SHOWN, 0}};
	const struct note *notes = NULL;
	json_t *list = NULL;
	size_t count = 0;
	int64_t total = 0;
	enum status status = note_list(c->store, c->arena, &query, &notes, &count, &total);

	if (status == ST_OK)
		status = note_views(c, notes, count, &list);
	if (status != ST_OK)
		return status;
	*out = frame(c, notice, kit, list, total);
	return *out ? ST_OK : ST_NOMEM;
}
