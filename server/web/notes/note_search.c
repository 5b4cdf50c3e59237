/* note_search.c - the search over all notes. */
#include "web/notes/notes.h"

#include <string.h>

#include "web/html/names.h"
#include "web/html/notes_view.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define PAGE_FOUND 20

const struct input note_search_inputs[] = {
        {"words", "Words", INPUT_LINE, .longest = 200},
        {"mine", "Only mine", INPUT_FLAG},
        {"page", "Page", INPUT_NUMBER, .min = 1, .max = NOTES_COUNTED},
        INPUTS_END};

/* The excerpt as [{"hit", "text"}...]. */
static json_t *excerpt_parts(const char *excerpt)
{
	static const char marks[] = {NOTE_HIT_BEGINS, NOTE_HIT_ENDS, '\0'};
	json_t *list = json_array();
	bool hit = false;

	while (list && *excerpt) {
		size_t len = strcspn(excerpt, marks);

		if (len)
			list = present_append(
			        list, json_pack("{s:b, s:s%}", "hit", hit, "text", excerpt, len));
		excerpt += len;
		if (*excerpt)
			hit = *excerpt++ == NOTE_HIT_BEGINS;
	}
	return list;
}

static json_t *found_view(const struct context *c, const struct note_found *found)
{
	const struct note *note = &found->note;

	return json_pack("{s:o, s:s, s:b, s:s, s:o, s:o}", "url",
	                 json_sprintf("/notes/%lld", (long long)note->id.v), "subject",
	                 note_subject_words(c, &note->of), "answer", note->answers.v != 0, "author",
	                 name_of_member(c, note->author_name), "written",
	                 present_time(note->written_at), "excerpt", excerpt_parts(found->excerpt));
}

static json_t *search_view(const struct context *c, const struct note_found *found, size_t count,
                           struct page page, int64_t total)
{
	bool more = total > NOTES_COUNTED, words = form_given(c->form, "words");
	bool mine = c->member && form_flag(c->form, "mine");
	int64_t counted = more ? NOTES_COUNTED : total;
	json_t *list = json_array();

	for (size_t i = 0; list && i < count; i++)
		list = present_append(list, found_view(c, &found[i]));
	return json_pack("{s:o, s:b, s:I, s:b, s:o, s:o, s:b, s:b, s:b}", "list", list, "any",
	                 count > 0, "total", (json_int_t)counted, "more", more, "form",
	                 form_view(c->form), "pager",
	                 present_pager(c->request->path, &c->request->query, &page, counted),
	                 "only_mine", mine && !words, "asked", words, "in_notices", 1);
}

enum status page_note_search(struct context *c)
{
	int64_t number = form_given(c->form, "page") ? form_number(c->form, "page") : 1;
	struct note_search search = {.words = form_text(c->form, "words"),
	                             .page = {PAGE_FOUND, (number - 1) * PAGE_FOUND}};
	const struct note_found *found = NULL;
	size_t count = 0;
	int64_t total = 0;
	enum status status = ST_OK;

	if (c->member && form_flag(c->form, "mine"))
		search.author = c->member->id;
	if (form_ok(c->form))
		status = note_find(c->store, c->arena, &search, &found, &count, &total);
	if (status != ST_OK)
		return status;
	return respond_page(c, "note_search.html", "Notes of members",
	                    search_view(c, found, count, search.page, total));
}
