#include "web/html/picture_view.h"

#include <string.h>

#include "web/html/present.h"

static bool same(const struct picture_of *a, const struct picture_of *b)
{
	return a->note.v == b->note.v && a->report.v == b->report.v && a->finding.v == b->finding.v;
}

bool picture_may_remove(const struct context *c, const struct picture_row *row)
{
	bool own = c->member && c->member->id.v == row->author.v && !row->removed;

	return own || context_may(c, ROLE_STEWARD);
}

static json_t *url_of(const struct picture_row *row, const char *rest)
{
	return json_sprintf("/pictures/%lld%s", (long long)row->id.v, rest);
}

/* before: the words of the one before it. */
static json_t *row_view(const struct picture_row *row, size_t number, const char *before,
                        bool may_remove)
{
	bool said = row->words[0] != '\0';
	json_t *alt = said ? json_string(row->words) : json_sprintf("Picture %zu", number);
	json_t *words =
	        said && strcmp(row->words, before) != 0 ? json_string(row->words) : json_false();
	json_t *remove = may_remove ? url_of(row, "/remove") : json_false();

	return json_pack("{s:o, s:o, s:I, s:I, s:o, s:o, s:o, s:I}", "url", url_of(row, ""),
	                 "small_url", url_of(row, "/small"), "width", (json_int_t)row->small.width,
	                 "height", (json_int_t)row->small.height, "alt", alt, "words", words,
	                 "remove_url", remove, "number", (json_int_t)number);
}

/* Where its author adds some. */
static json_t *add_url(const struct picture_of *of)
{
	if (of->note.v)
		return json_sprintf("/notes/%lld/pictures", (long long)of->note.v);
	if (of->report.v)
		return json_sprintf("/reports/%lld/pictures", (long long)of->report.v);
	return json_sprintf("/findings/%lld/pictures", (long long)of->finding.v);
}

json_t *picture_view(const struct context *c, const struct picture_row *rows, size_t count,
                     const struct picture_of *of, struct member_id author)
{
	bool own = c->member && c->member->id.v == author.v;
	const char *before = "";
	json_t *list = json_array();
	size_t number = 0;

	for (size_t i = 0; i < count; i++) {
		if (!same(&rows[i].of, of))
			continue;
		list = present_append(list, row_view(&rows[i], ++number, before,
		                                     author.v && picture_may_remove(c, &rows[i])));
		before = rows[i].words;
	}
	return json_pack("{s:b, s:o, s:o}", "any", number > 0, "list", list, "add_url",
	                 own && number < PICTURES_MOST ? add_url(of) : json_false());
}
