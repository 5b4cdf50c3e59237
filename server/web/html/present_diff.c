#include "web/html/present_diff.h"

#include <string.h>

#include "base/text.h"
#include "core/diff.h"
#include "core/quantity.h"
#include "web/html/present.h"

typedef void field_fn(const struct revision_content *content, struct text *out);

/* Of the notice: these differ between drafts of one that is not published yet. */
static void number_text(const struct revision_content *content, struct text *out)
{
	text_add(out, content->number);
}

static void issuer_text(const struct revision_content *content, struct text *out)
{
	text_add(out, content->issuer);
}

static void kind_text(const struct revision_content *content, struct text *out)
{
	text_add(out, notice_kind_words(content->kind));
}

static void label_text(const struct revision_content *content, struct text *out)
{
	text_add(out, content->revision[0] ? content->revision : "original issue");
}

static void force_text(const struct revision_content *content, struct text *out)
{
	text_add(out, force_words(content->force));
}

/* ", word value" when there is a value. */
static void add_detail(struct text *out, const char *word, const char *value)
{
	if (value[0])
		text_printf(out, ", %s%s", word, value);
}

static void lines_text(const struct revision_content *content, struct text *out)
{
	for (size_t i = 0; i < content->n_lines; i++) {
		const struct line_text *line = &content->lines[i];

		text_add(out, line->part);
		add_detail(out, "", line->position);
		text_printf(out, ": %s", disposition_words(line->disposition));
		add_detail(out, "replaced by ", line->replacement);
		add_detail(out, "lots ", line->lots);
		add_detail(out, "", line->remark);
		text_add(out, "\n");
	}
}

static void material_text(const struct revision_content *content, struct text *out)
{
	for (size_t i = 0; i < content->n_material; i++) {
		const struct material_text *material = &content->material[i];

		text_add(out, material->item);
		add_detail(out, "", material->part);
		add_detail(out, "", material->quantity);
		add_detail(out, "cut ", material->cut);
		add_detail(out, "", material->remark);
		text_add(out, "\n");
	}
}

static void add_list(const struct text_list *list, struct text *out)
{
	for (size_t i = 0; i < list->count; i++)
		text_printf(out, "%s\n", list->at[i]);
}

static void steps_text(const struct revision_content *content, struct text *out)
{
	add_list(&content->steps, out);
}

static void supersedes_text(const struct revision_content *content, struct text *out)
{
	add_list(&content->supersedes, out);
}

static void requires_text(const struct revision_content *content, struct text *out)
{
	add_list(&content->requires, out);
}

static void terminates_text(const struct revision_content *content, struct text *out)
{
	add_list(&content->terminates, out);
}

static void credits_text(const struct revision_content *content, struct text *out)
{
	for (size_t i = 0; i < content->credits.count; i++)
		text_printf(out, "%s\n",
		            content->credits.at[i][0] ? content->credits.at[i] : "original issue");
}

/* In the order of a notice's page. */
static const struct {
	const char *label;
	field_fn *text;
	const struct revision_text *row; /* in place of the two */
} fields[] = {
        {"Number", number_text},
        {"Issuer", issuer_text},
        {"Kind", kind_text},
        {"Revision", label_text},
        {.row = &revision_texts[REVISION_TEXT_title]},
        {.row = &revision_texts[REVISION_TEXT_issued]},
        {"Force", force_text},
        {.row = &revision_texts[REVISION_TEXT_effectivity]},
        {.row = &revision_texts[REVISION_TEXT_compliance]},
        {.row = &revision_texts[REVISION_TEXT_due]},
        {.row = &revision_texts[REVISION_TEXT_problem]},
        {.row = &revision_texts[REVISION_TEXT_action]},
        {"Affected parts", lines_text},
        {"Material", material_text},
        {"Affected steps", steps_text},
        {.row = &revision_texts[REVISION_TEXT_plans_carry]},
        {"Supersedes", supersedes_text},
        {"Requires first", requires_text},
        {"Ends the repeats of", terminates_text},
        {"Earlier revisions that count", credits_text},
        {.row = &revision_texts[REVISION_TEXT_source]},
};
#define FIELDS (sizeof fields / sizeof fields[0])

static const char *label_of(size_t field)
{
	return fields[field].row ? fields[field].row->name : fields[field].label;
}

static void say(size_t field, const struct revision_content *content, struct text *out)
{
	if (fields[field].row)
		text_add(out, revision_text_of(content, fields[field].row));
	else
		fields[field].text(content, out);
}

static json_t *part_view(const struct diff_part *part)
{
	return json_pack("{s:s%, s:b, s:b}", "text", part->at, part->len, "out",
	                 part->kind == DIFF_OUT, "in", part->kind == DIFF_IN);
}

static json_t *parts_view(struct arena *arena, const char *before, const char *after)
{
	const struct diff_part *parts = NULL;
	size_t count = 0;
	json_t *view;

	if (diff_words(arena, before, after, &parts, &count) != ST_OK)
		return NULL;
	view = json_array();
	for (size_t i = 0; view && i < count; i++)
		view = present_append(view, part_view(&parts[i]));
	return view;
}

static json_t *field_view(struct arena *arena, size_t field, const struct text *before,
                          const struct text *after)
{
	return json_pack("{s:s, s:o}", "label", label_of(field), "parts",
	                 parts_view(arena, text_string(before), text_string(after)));
}

/* What both say goes into *same, by its label; the rest into the list. */
static json_t *compare_field(struct arena *arena, size_t field,
                             const struct revision_content *before,
                             const struct revision_content *after, json_t *list, struct text *same)
{
	struct text old = TEXT_EMPTY, new = TEXT_EMPTY;

	say(field, before, &old);
	say(field, after, &new);
	if (strcmp(text_string(&old), text_string(&new)) != 0)
		list = present_append(list, field_view(arena, field, &old, &new));
	else if (old.len > 0)
		text_printf(same, "%s%s", same->len ? ", " : "", label_of(field));
	same->failed |= text_failed(&old) || text_failed(&new);
	text_free(&old);
	text_free(&new);
	return list;
}

json_t *present_differences(struct arena *arena, const struct revision_content *before,
                            const struct revision_content *after)
{
	json_t *list = json_array(), *view = NULL;
	struct text same = TEXT_EMPTY;

	for (size_t i = 0; list && i < FIELDS; i++)
		list = compare_field(arena, i, before, after, list, &same);
	if (!text_failed(&same))
		view = json_pack("{s:O, s:b, s:o}", "differences", list, "differ",
		                 list && json_array_size(list) > 0, "same",
		                 present_text(text_string(&same)));
	json_decref(list);
	text_free(&same);
	return view;
}
