#include "web/board/draft_form.h"

#include <string.h>

#include "base/text.h"
#include "base/utf8.h"
#include "web/html/excerpt.h"
#include "web/html/present.h"

#define ORIGINAL "original issue"

static const char *const acts[] = {
        [DRAFT_SAVE] = "save", [DRAFT_SHEET] = "sheet", [DRAFT_FILES] = "files",
        [DRAFT_READ] = "read", [DRAFT_ROWS] = "rows",   NULL};

#define INPUT_OF_LINE(most) INPUT_LINE, .longest = (most)
#define INPUT_OF_PROSE(most) INPUT_TEXT, .longest = (most)
#define INPUT_OF_DATE(most) INPUT_DATE
#define INPUT_OF_STATEMENT(most) INPUT_STATEMENT
#define INPUT_OF_DUE(most) INPUT_DUE
#define TEXT_INPUT(member, key, field, kind, most, name, label, help)                              \
	{field, label, INPUT_OF_##kind(most), .hint = (help)},

const struct input draft_inputs[] = {
        {"act", "What to do", INPUT_CHOICE, .choices = acts},
        {"edit", "Version", INPUT_NUMBER},
        {"number", "Number", INPUT_NAME},
        {"issuer", "Issuer", INPUT_LINE, .longest = NAME_LONGEST},
        {"kind", "Kind", INPUT_CHOICE, .choices = notice_kinds},
        {"revision", "Revision", INPUT_NAME},
        {"force", "Force", INPUT_CHOICE, .required = true, .choices = notice_forces},
        REVISION_TEXTS(TEXT_INPUT){"part", "Part number", INPUT_NAME, .repeated = true},
        {"position", "Position", INPUT_NAME, .repeated = true},
        {"disposition", "To do", INPUT_CHOICE, .repeated = true, .choices = notice_dispositions},
        {"replacement", "Replaced by", INPUT_NAME, .repeated = true},
        {"lots", "Lots", INPUT_LINE, .repeated = true, .longest = 200},
        {"part_remark", "Remark", INPUT_LINE, .repeated = true, .longest = 500},
        {"item", "Item", INPUT_LINE, .repeated = true, .longest = 120},
        {"quantity", "Quantity", INPUT_LINE, .repeated = true, .longest = 40},
        {"item_part", "Part number or stock code", INPUT_NAME, .repeated = true},
        {"cut", "Lengths to cut", INPUT_LINE, .repeated = true, .longest = 500},
        {"item_remark", "Remark on the item", INPUT_LINE, .repeated = true, .longest = 500},
        {"steps", "Affected steps", INPUT_TEXT},
        {"supersedes", "Supersedes", INPUT_TEXT},
        {"requires", "To be done first", INPUT_TEXT},
        {"terminates", "Ends the repeats of", INPUT_TEXT},
        {"credit", "Earlier revisions that count", INPUT_NAME, .repeated = true},
        INPUTS_END};

static const char *const part_row[] = {"part", "position",    "disposition", "replacement",
                                       "lots", "part_remark", NULL};
static const char *const material_row[] = {"item", "quantity",    "item_part",
                                           "cut",  "item_remark", NULL};

enum status draft_base_read(const struct context *c, struct revision_id id, struct draft_base *out)
{
	struct draft_base base = {.n_earlier = 0};
	enum status status = revision_read(c->store, c->arena, id, &base.revision);

	if (status == ST_OK && base.revision.state == REVISION_PUBLISHED)
		status = ST_MISSING;
	if (status == ST_OK)
		status = revision_list(c->store, c->arena, base.revision.notice, &base.earlier,
		                       &base.n_earlier);
	if (status == ST_OK)
		*out = base;
	return status;
}

/* ---- from a content to the form ---- */

static void fill_names(struct form *form, const char *field, const struct text_list *list)
{
	struct text text = TEXT_EMPTY;

	for (size_t i = 0; i < list->count; i++)
		text_printf(&text, "%s%s", i ? "\n" : "", list->at[i]);
	form_set(form, field, text_string(&text));
	text_free(&text);
}

static void fill_texts(struct form *form, const struct revision_content *content)
{
	form_set(form, "number", content->number);
	form_set(form, "issuer", content->issuer);
	form_set(form, "kind", notice_kinds[content->kind]);
	form_set(form, "revision", content->revision);
	form_set(form, "force", notice_forces[content->force]);
	for (size_t i = 0; i < REVISION_TEXT_COUNT; i++)
		form_set(form, revision_texts[i].field,
		         revision_text_of(content, &revision_texts[i]));
}

static void fill_rows(struct form *form, const struct revision_content *content)
{
	for (size_t i = 0; i < content->n_lines; i++) {
		const struct line_text *line = &content->lines[i];

		form_set(form, "part", line->part);
		form_set(form, "position", line->position);
		form_set(form, "disposition", notice_dispositions[line->disposition]);
		form_set(form, "replacement", line->replacement);
		form_set(form, "lots", line->lots);
		form_set(form, "part_remark", line->remark);
	}
	for (size_t i = 0; i < content->n_material; i++) {
		form_set(form, "item", content->material[i].item);
		form_set(form, "quantity", content->material[i].quantity);
		form_set(form, "item_part", content->material[i].part);
		form_set(form, "cut", content->material[i].cut);
		form_set(form, "item_remark", content->material[i].remark);
	}
}

static const char *label_words(const char *label)
{
	return label[0] ? label : ORIGINAL;
}

static void fill_lists(struct form *form, const struct revision_content *content)
{
	fill_names(form, "steps", &content->steps);
	fill_names(form, "supersedes", &content->supersedes);
	fill_names(form, "requires", &content->requires);
	fill_names(form, "terminates", &content->terminates);
	for (size_t i = 0; i < content->credits.count; i++)
		form_set(form, "credit", label_words(content->credits.at[i]));
}

struct form *draft_form_fill(struct arena *arena, const struct draft_base *base)
{
	struct form *form = form_blank(arena, draft_inputs);

	if (!form)
		return NULL;
	form_set_number(form, "edit", base->revision.edit);
	if (base->revision.id.v) {
		fill_texts(form, &base->revision.content);
		fill_rows(form, &base->revision.content);
		fill_lists(form, &base->revision.content);
	}
	return form;
}

/* ---- from the form to a content ---- */

struct reader {
	const struct context *c;
	struct form *form;
	const struct draft_base *base;
	struct revision_content *out;
};

static const char *name_text(const struct form_value *value)
{
	return value->given ? value->name.text : "";
}

static void read_texts(struct reader *r)
{
	const struct form *form = r->form;
	struct revision_content *out = r->out;

	out->revision = name_text(form_value(form, "revision", 0));
	for (size_t i = 0; i < REVISION_TEXT_COUNT; i++)
		*revision_text_at(out, &revision_texts[i]) =
		        form_text(form, revision_texts[i].field);
	if (form_given(form, "force"))
		out->force = (enum force)form_choice(form, "force");
}

/* What belongs to the notice stays as it is once something is published. */
static void read_head(struct reader *r)
{
	const struct revision *stored = &r->base->revision;

	if (stored->notice_published) {
		r->out->number = stored->content.number;
		r->out->issuer = stored->content.issuer;
		r->out->kind = stored->content.kind;
		return;
	}
	r->out->number = name_text(form_value(r->form, "number", 0));
	r->out->issuer = form_text(r->form, "issuer");
	if (form_given(r->form, "kind"))
		r->out->kind = (enum notice_kind)form_choice(r->form, "kind");
	if (!form_value(r->form, "number", 0)->error && !form_given(r->form, "number"))
		form_fail(r->form, "number", "is needed");
	if (!form_value(r->form, "kind", 0)->error && !form_given(r->form, "kind"))
		form_fail(r->form, "kind", "is needed");
}

/* A row counts when anything was typed in it, be it faulty. */
static bool row_is_used(const struct form *form, const char *const *names, size_t row)
{
	for (; *names; names++) {
		const struct form_value *value = form_value(form, *names, row);

		if (value->given || value->error)
			return true;
	}
	return false;
}

static size_t rows_of(const struct form *form, const char *const *names)
{
	size_t most = 0;

	for (; *names; names++)
		if (form_count(form, *names) > most)
			most = form_count(form, *names);
	return most;
}

static void need_in_row(struct form *form, const char *name, size_t row)
{
	if (!form_value(form, name, row)->given)
		form_fail_row(form, name, row, "is needed in this row");
}

static void check_lots(struct reader *r, size_t row, const char *text)
{
	const struct serial_range *lots;
	struct statement_fault fault;
	size_t count;

	if (effectivity_parse_lots(r->c->arena, text, strlen(text), &lots, &count, &fault) ==
	    ST_INVALID)
		form_fail_row(r->form, "lots", row, "at column %u: expected %s", fault.column,
		              fault.expected);
}

static bool same_text(const char *a, const char *b)
{
	return strcasecmp(a, b) == 0;
}

static void check_part_twice(struct reader *r, size_t row, const struct line_text *line)
{
	for (size_t i = 0; i < r->out->n_lines; i++) {
		const struct line_text *other = &r->out->lines[i];

		if (same_text(other->part, line->part) &&
		    same_text(other->position, line->position)) {
			form_fail_row(r->form, "part", row,
			              "stands in another row already, with the same position");
			return;
		}
	}
}

static struct line_text line_of(const struct form *form, size_t row)
{
	int disposition = form_value(form, "disposition", row)->choice;

	return (struct line_text){
	        .part = name_text(form_value(form, "part", row)),
	        .position = name_text(form_value(form, "position", row)),
	        .replacement = name_text(form_value(form, "replacement", row)),
	        .disposition = (enum disposition)(disposition < 0 ? 0 : disposition),
	        .lots = form_value(form, "lots", row)->text,
	        .remark = form_value(form, "part_remark", row)->text,
	};
}

static enum status read_lines(struct reader *r)
{
	size_t rows = rows_of(r->form, part_row);
	struct line_text *lines = ARENA_ARRAY(r->c->arena, struct line_text, rows);

	if (!lines)
		return ST_NOMEM;
	r->out->lines = lines;
	for (size_t row = 0; row < rows; row++) {
		struct line_text line = line_of(r->form, row);

		if (!row_is_used(r->form, part_row, row))
			continue;
		need_in_row(r->form, "part", row);
		need_in_row(r->form, "disposition", row);
		check_lots(r, row, line.lots);
		check_part_twice(r, row, &line);
		lines[r->out->n_lines++] = line;
	}
	return ST_OK;
}

static void check_cuts(struct reader *r, size_t row)
{
	const char *text = form_value(r->form, "cut", row)->text;
	const struct cut *cuts;
	struct cuts_fault fault;
	size_t count;

	if (*text && cuts_parse(r->c->arena, text, &cuts, &count, &fault) == ST_INVALID)
		form_fail_row(r->form, "cut", row, "at column %zu: %s", fault.column, fault.words);
}

static enum status read_material(struct reader *r)
{
	size_t rows = rows_of(r->form, material_row);
	struct material_text *material = ARENA_ARRAY(r->c->arena, struct material_text, rows);

	if (!material)
		return ST_NOMEM;
	r->out->material = material;
	for (size_t row = 0; row < rows; row++) {
		if (!row_is_used(r->form, material_row, row))
			continue;
		need_in_row(r->form, "item", row);
		check_cuts(r, row);
		material[r->out->n_material++] = (struct material_text){
		        .item = form_value(r->form, "item", row)->text,
		        .quantity = form_value(r->form, "quantity", row)->text,
		        .remark = form_value(r->form, "item_remark", row)->text,
		        .part = name_text(form_value(r->form, "item_part", row)),
		        .cut = form_value(r->form, "cut", row)->text};
	}
	return ST_OK;
}

static bool holds(const struct text_list *list, const char *text)
{
	for (size_t i = 0; i < list->count; i++)
		if (same_text(list->at[i], text))
			return true;
	return false;
}

/* One word of a list; a word that stands there twice counts once. */
static enum status add_name(struct reader *r, const char *field, const char *at, size_t len,
                            const char **names, struct text_list *out)
{
	struct name name;

	if (name_make(r->c->arena, at, len, &name) != ST_OK)
		return ST_NOMEM;
	if (name_is_empty(&name) || holds(out, name.text))
		return ST_OK;
	if (utf8_length(name.text) > NAME_LONGEST) {
		form_fail(r->form, field, "names something of more than %d characters",
		          NAME_LONGEST);
		return ST_OK;
	}
	names[out->count++] = name.text;
	return ST_OK;
}

static size_t count_parts(const char *text)
{
	size_t count = 1;

	for (; *text; text++)
		count += *text == ',' || *text == '\n';
	return count;
}

/* Numbers or codes, with commas or line ends between. */
static enum status read_names(struct reader *r, const char *field, struct text_list *out)
{
	const char *at = form_text(r->form, field);
	const char **names = ARENA_ARRAY(r->c->arena, const char *, count_parts(at));
	enum status status = names ? ST_OK : ST_NOMEM;

	out->at = names;
	while (status == ST_OK && *at) {
		size_t len = strcspn(at, ",\n");

		status = add_name(r, field, at, len, names, out);
		at += len + (at[len] != '\0');
	}
	if (status == ST_OK && out->count > REVISION_LIST_LONGEST)
		form_fail(r->form, field, "has more than %d entries", REVISION_LIST_LONGEST);
	return status;
}

/* The published label that the words mean; NULL: none. */
static const char *label_of(const struct draft_base *base, const char *words)
{
	for (size_t i = 0; i < base->n_earlier; i++)
		if (same_text(label_words(base->earlier[i].revision), words))
			return base->earlier[i].revision;
	return NULL;
}

static enum status read_credits(struct reader *r)
{
	size_t count = form_count(r->form, "credit");
	const char **labels = ARENA_ARRAY(r->c->arena, const char *, count);

	if (!labels)
		return ST_NOMEM;
	r->out->credits.at = labels;
	for (size_t i = 0; i < count; i++) {
		const struct form_value *value = form_value(r->form, "credit", i);
		const char *label = value->given ? label_of(r->base, value->name.text) : NULL;

		if (value->given && !label)
			form_fail_row(r->form, "credit", i, "names no earlier revision");
		else if (label && !holds(&r->out->credits, label))
			labels[r->out->credits.count++] = label;
	}
	return ST_OK;
}

static enum status make_names(struct arena *arena, const struct text_list *list,
                              const struct name **out)
{
	struct name *names = ARENA_ARRAY(arena, struct name, list->count);
	enum status status = names ? ST_OK : ST_NOMEM;

	for (size_t i = 0; status == ST_OK && i < list->count; i++)
		status = name_make(arena, list->at[i], strlen(list->at[i]), &names[i]);
	*out = names;
	return status;
}

/* ST_INVALID: the links close a circle, through *circle (NULL: it names itself). */
static enum status find_circle(const struct context *c, const char *number, enum notice_link link,
                               const struct text_list *list, const char **circle)
{
	const struct name *targets, *through = NULL;
	struct name from;
	enum status status = name_make(c->arena, number, strlen(number), &from);

	if (status == ST_OK)
		status = make_names(c->arena, list, &targets);
	if (status == ST_OK)
		status = catalogue_check_circle(c->arena, c->catalogue, link, &from, targets,
		                                list->count, &through);
	if (status == ST_INVALID)
		*circle = name_equal(through, &from) ? NULL : through->text;
	return status;
}

static enum status check_circle(struct reader *r, const char *field, enum notice_link link,
                                const struct text_list *list)
{
	const char *circle = NULL;
	enum status status = find_circle(r->c, r->out->number, link, list, &circle);

	if (status != ST_INVALID)
		return status;
	if (circle)
		form_fail(r->form, field, "runs in a circle: %s leads back to this notice", circle);
	else
		form_fail(r->form, field, "names this notice itself");
	return ST_OK;
}

static enum status read_links(struct reader *r)
{
	struct revision_content *out = r->out;
	enum status status = read_names(r, "steps", &out->steps);

	if (status == ST_OK)
		status = read_names(r, "supersedes", &out->supersedes);
	if (status == ST_OK)
		status = read_names(r, "requires", &out->requires);
	if (status == ST_OK)
		status = read_names(r, "terminates", &out->terminates);
	if (status == ST_OK)
		status = read_credits(r);
	if (status == ST_OK)
		status = check_circle(r, "supersedes", LINK_SUPERSEDES, &out->supersedes);
	if (status == ST_OK)
		status = check_circle(r, "requires", LINK_REQUIRES, &out->requires);
	return status;
}

static void check_lengths(struct reader *r)
{
	if (r->out->n_lines > REVISION_LIST_LONGEST)
		form_fail(r->form, "part", "has more than %d rows", REVISION_LIST_LONGEST);
	if (r->out->n_material > REVISION_LIST_LONGEST)
		form_fail(r->form, "item", "has more than %d rows", REVISION_LIST_LONGEST);
}

enum status draft_form_read(const struct context *c, struct form *form,
                            const struct draft_base *base, struct revision_content *out)
{
	struct reader reader = {c, form, base, out};
	enum status status;

	*out = revision_content_empty;
	read_head(&reader);
	read_texts(&reader);
	status = read_lines(&reader);
	if (status == ST_OK)
		status = read_material(&reader);
	if (status == ST_OK)
		status = read_links(&reader);
	if (status == ST_OK)
		check_lengths(&reader);
	return status;
}

/* ---- the form for the page ---- */

static const struct {
	const char *field, *hint;
} hints[] = {
        {"number", "Needed. As the issuer writes it"},
        {"issuer", "Who published it"},
        {"kind", "Needed"},
        {"revision", "Its letter or number. Leave it empty for an original issue without one"},
        {"steps", "Codes of the build line, with commas or line ends between"},
        {"supersedes", "Numbers of notices that this one replaces"},
        {"requires", "Numbers of notices to be done before this one"},
        {"terminates", "Numbers of notices that need not be repeated once this one is done"},
};

static json_t *with_hints(json_t *view)
{
	for (size_t i = 0; view && i < sizeof hints / sizeof hints[0]; i++)
		view = present_hint(view, hints[i].field, hints[i].hint);
	return view;
}

/* Puts the line at fault beside the field that has it. */
static int point_at(json_t *field, const char *text, unsigned line, unsigned column)
{
	return json_object_set_new(field, "excerpt",
	                           excerpt_view(text, strlen(text), line, column));
}

/* A statement is read back while it is typed; its fault stands beside it. */
static json_t *with_statement(json_t *view, const struct form *form, const char *name,
                              const char *preview)
{
	const struct form_value *value = form_value(form, name, 0);
	json_t *field = json_object_get(view, name);
	int failed = !view;

	failed |= json_object_set_new(field, "preview_url", json_string(preview));
	failed |= json_object_set_new(field, "preview_fields", json_string(name));
	if (value->error && value->fault.line)
		failed |= point_at(field, value->typed, value->fault.line, value->fault.column);
	if (!failed)
		return view;
	json_decref(view);
	return NULL;
}

static unsigned lots_column(const char *typed)
{
	struct arena *arena = arena_new();
	const struct serial_range *lots;
	struct statement_fault fault;
	unsigned column = 0;
	size_t count;

	if (arena && effectivity_parse_lots(arena, typed, strlen(typed), &lots, &count, &fault) ==
	                     ST_INVALID)
		column = fault.column;
	arena_free(arena);
	return column;
}

static json_t *part_rows_view(const struct form *form, size_t spare)
{
	json_t *rows = form_rows_view(form, part_row, spare), *row;
	int failed = 0;
	size_t i;

	json_array_foreach(rows, i, row)
	{
		const struct form_value *value = form_value(form, "lots", i);
		unsigned column = value->error ? lots_column(value->text) : 0;

		if (column)
			failed |= point_at(json_object_get(row, "lots"), value->text, 1, column);
	}
	if (!failed)
		return rows;
	json_decref(rows);
	return NULL;
}

static bool is_ticked(const struct form *form, const char *words)
{
	for (size_t i = 0; i < form_count(form, "credit"); i++)
		if (same_text(form_value(form, "credit", i)->typed, words))
			return true;
	return false;
}

static json_t *credits_view(const struct form *form, const struct draft_base *base)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < base->n_earlier; i++) {
		const char *words = label_words(base->earlier[i].revision);

		list = present_append(
		        list, json_pack("{s:s, s:o, s:o, s:b}", "value", words, "words",
		                        present_revision_words(base->earlier[i].revision), "issued",
		                        present_date_text(base->earlier[i].issued), "ticked",
		                        is_ticked(form, words)));
	}
	return list;
}

static json_t *fields_view(const struct form *form)
{
	json_t *view = with_hints(form_view(form));

	view = with_statement(view, form, "effectivity", "/board/read-back");
	return view ? with_statement(view, form, "due", "/board/read-back-due") : NULL;
}

json_t *draft_form_view(const struct form *form, const struct draft_base *base, size_t spare)
{
	json_t *credits = credits_view(form, base);
	bool has_credits = credits && json_array_size(credits) > 0;

	return json_pack("{s:o, s:o, s:o, s:o, s:b}", "form", fields_view(form), "parts",
	                 part_rows_view(form, spare), "material_rows",
	                 form_rows_view(form, material_row, spare), "credits", credits,
	                 "has_credits", has_credits);
}

/* ---- what is missing, what to look at again ---- */

static json_t *add_words(json_t *list, const char *words)
{
	return list ? present_append(list, json_string(words)) : NULL;
}

static bool label_is_taken(const struct draft_base *base, const char *label)
{
	for (size_t i = 0; i < base->n_earlier; i++)
		if (same_text(base->earlier[i].revision, label))
			return true;
	return false;
}

/* The export of a notice needs these too, so that another chapter can take it. */
static json_t *missing_fields(json_t *list, const struct revision_content *content)
{
	const struct {
		const char *text, *words;
	} needed[] = {
	        {content->issuer, "The issuer: who published it."},
	        {content->issued, "The date of issue."},
	        {content->title, "A title."},
	        {content->action, "What to do."},
	        {content->effectivity,
	         "The effectivity statement: which kits or parts it concerns."},
	};

	for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++)
		if (!needed[i].text[0])
			list = add_words(list, needed[i].words);
	return list;
}

static bool compiles(const struct context *c, const char *text)
{
	const struct effectivity *statement;
	struct statement_fault fault;

	return effectivity_parse(c->arena, text, strlen(text), &statement, &fault) == ST_OK;
}

static bool due_compiles(const struct context *c, const char *text)
{
	const struct due_statement *due;
	struct statement_fault fault;

	return due_parse(c->arena, text, strlen(text), &due, &fault) == ST_OK;
}

/* Circles are looked for again: others may have published since it was saved. */
static json_t *missing_way_out(json_t *list, const struct context *c,
                               const struct revision_content *content, enum notice_link link,
                               const struct text_list *numbers)
{
	const char *circle = NULL;
	enum status status = find_circle(c, content->number, link, numbers, &circle);

	if (status == ST_INVALID)
		return add_words(list,
		                 link == LINK_SUPERSEDES
		                         ? "Notices superseded that do not lead back to this one."
		                         : "Notices to be done first that do not lead back to "
		                           "this one.");
	if (status == ST_OK)
		return list;
	json_decref(list);
	return NULL;
}

json_t *draft_missing(const struct context *c, const struct draft_base *base,
                      const struct revision_content *content)
{
	json_t *list = missing_fields(json_array(), content);

	if (content->effectivity[0] && !compiles(c, content->effectivity))
		list = add_words(list, "An effectivity statement without a fault.");
	if (!due_compiles(c, content->due))
		list = add_words(list, "Time limits without a fault.");
	if (label_is_taken(base, content->revision))
		list = add_words(list, content->revision[0]
		                               ? "A revision label of its own: this one is taken "
		                                 "by an earlier revision."
		                               : "A revision label: the original issue has none, "
		                                 "so this one needs one.");
	list = missing_way_out(list, c, content, LINK_SUPERSEDES, &content->supersedes);
	return missing_way_out(list, c, content, LINK_REQUIRES, &content->requires);
}

static json_t *warn_of_links(json_t *list, const struct context *c, const char *field,
                             const struct text_list *numbers)
{
	for (size_t i = 0; list && i < numbers->count; i++) {
		struct name name;

		if (name_make(c->arena, numbers->at[i], strlen(numbers->at[i]), &name) != ST_OK) {
			json_decref(list);
			return NULL;
		}
		if (!catalogue_find(c->catalogue, &name))
			list = present_append(list,
			                      json_sprintf("%s: no notice %s is published here.",
			                                   field, numbers->at[i]));
	}
	return list;
}

/* Does the date, as far as it is known, lie ahead of today? */
static bool lies_ahead(const struct context *c, const char *text)
{
	struct date date;

	return date_parse(text, strlen(text), &date) == ST_OK && date.first > c->today;
}

json_t *draft_warnings(const struct context *c, const struct revision_content *content)
{
	json_t *list = json_array();

	if (lies_ahead(c, content->issued))
		list = add_words(list, "The date of issue lies ahead.");
	if (content->n_lines == 0)
		list = add_words(list, "No part is named: the notice then counts as one piece of "
		                       "work, left and right together.");
	list = warn_of_links(list, c, "Supersedes", &content->supersedes);
	list = warn_of_links(list, c, "To be done first", &content->requires);
	return warn_of_links(list, c, "Ends the repeats of", &content->terminates);
}
