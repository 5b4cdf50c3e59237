#include "web/board/board_parts.h"

#include "web/http/respond.h"

enum status board_respond(struct context *c, const char *template, const char *title, json_t *view)
{
	if (!title) {
		json_decref(view);
		return ST_NOMEM;
	}
	return respond_page(c, template, title, present_set(view, "in_board", json_true()));
}

json_t *board_label(const char *label, bool follows)
{
	if (follows && !label[0])
		return json_string("new revision, no label yet");
	return present_revision_words(label);
}

json_t *board_time(int64_t at)
{
	struct date day = date_of_day((day_number)(at / 86400));
	int minute = (int)(at % 86400 / 60);
	char words[DATE_WORDS_SIZE];

	date_words(day, words);
	return json_sprintf("%02d:%02d UTC on %s", minute / 60, minute % 60, words);
}

json_t *board_draft(const struct revision *revision)
{
	long long id = (long long)revision->id.v;

	return json_pack("{s:s, s:o, s:s, s:o, s:o, s:o, s:o, s:s, s:o, s:b}", "number",
	                 revision->content.number, "words",
	                 board_label(revision->content.revision, revision->notice_published),
	                 "name", revision->content.title, "url",
	                 json_sprintf("/board/drafts/%lld", id), "check_url",
	                 json_sprintf("/board/drafts/%lld/check", id), "files_url",
	                 json_sprintf("/board/drafts/%lld/files", id), "notice_url",
	                 json_sprintf("/board/notices/%lld", (long long)revision->notice.v),
	                 "editor", revision->editor_name, "edited", board_time(revision->edited_at),
	                 "checking", revision->state == REVISION_CHECKING);
}

static json_t *entry_view(const struct log_entry *entry)
{
	return json_pack("{s:o, s:s, s:s, s:o, s:o}", "at", board_time(entry->at), "act",
	                 log_act_words(entry->act), "by", entry->by, "revision",
	                 present_revision_words(entry->revision), "remark",
	                 present_text(entry->remark));
}

enum status board_log(const struct context *c, struct notice_id notice, struct page page,
                      json_t **out, int64_t *total)
{
	const struct log_entry *entries;
	size_t count;
	json_t *list;
	enum status status = log_list(c->store, c->arena, notice, page, &entries, &count, total);

	if (status != ST_OK)
		return status;
	list = json_array();
	for (size_t i = 0; list && i < count; i++)
		list = present_append(list, entry_view(&entries[i]));
	if (!list)
		return ST_NOMEM;
	*out = list;
	return ST_OK;
}

json_t *board_list(json_t *list)
{
	if (list && json_array_size(list) == 0) {
		json_decref(list);
		return json_false();
	}
	return json_pack("{s:o}", "list", list);
}

json_t *board_form(const struct context *c, const struct input *inputs)
{
	struct form *form = c->route->inputs == inputs ? c->form : form_blank(c->arena, inputs);

	return form ? form_view(form) : NULL;
}
