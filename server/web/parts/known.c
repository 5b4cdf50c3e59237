/* known.c - what the chapter knows of a part, and of a step of a build line:
 * notices that touch it, numbers before and after, field reports, the notes of
 * members.
 *
 * A part need not stand in any list, nor a step in any line: what members say
 * of it is shown all the same.
 */
#include "base/text.h"
#include "store/lines.h"
#include "formats/json_text.h"
#include "web/kits/plan_view.h"
#include "web/notes/note_parts.h"
#include "web/notes/notes.h"
#include "web/reports/reports_parts.h"
#include "web/html/picture_form.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define NOTICES_SHOWN 50
#define REPORTS_SHOWN 20

const struct input part_query[] = {
        {"number", "Part number", INPUT_NAME}, NOTES_LIST_INPUTS, INPUTS_END};
const struct input step_query[] = {{"model", "Model", INPUT_NAME},
                                   {"code", "Step", INPUT_NAME},
                                   NOTES_LIST_INPUTS,
                                   INPUTS_END};
#define KIT_AND_TEXT                                                                               \
	{"kit", "Kit", INPUT_ID},                                                                  \
	{                                                                                          \
		"text", "Note", INPUT_TEXT, .required = true, .longest = NOTE_LONGEST              \
	}
const struct input part_note_inputs[] = {{"number", "Part number", INPUT_NAME, .required = true},
                                         KIT_AND_TEXT,
                                         PICTURE_INPUTS,
                                         INPUTS_END};
const struct input step_note_inputs[] = {{"model", "Model", INPUT_NAME, .required = true},
                                         {"code", "Step", INPUT_NAME, .required = true},
                                         KIT_AND_TEXT,
                                         PICTURE_INPUTS,
                                         INPUTS_END};

/* ---- notices that touch it ---- */

static void add_why(struct text *why, const char *words, const char *more)
{
	text_printf(why, "%s%s%s", why->len ? "; " : "", words, more);
}

/* Adds how the notice touches the part; nothing when it does not. */
static void part_touched(const struct notice *notice, const struct name *part, struct text *why)
{
	for (size_t i = 0; i < notice->n_lines; i++) {
		const struct notice_line *line = &notice->lines[i];

		if (name_equal(&line->part, part)) {
			add_why(why, "affected part: ", disposition_words(line->disposition));
			if (!name_is_empty(&line->position))
				text_printf(why, " (%s)", line->position.text);
		}
		if (name_equal(&line->replacement, part))
			add_why(why, "takes the place of ", line->part.text);
	}
	for (size_t i = 0; i < notice->n_material; i++)
		if (name_equal(&notice->material[i].number, part))
			add_why(why, "material", "");
}

/* The same of a step of a model: not if the notice is not effective for it. */
static void step_touched(const struct notice *notice, const struct name *model,
                         const struct name *code, struct text *why)
{
	struct facts facts = {.model = *model};

	for (size_t i = 0; i < notice->n_steps; i++)
		if (name_equal(&notice->steps[i], code) &&
		    effectivity_decide(notice->effectivity, &facts) != TRUTH_FALSE)
			add_why(why, "affected step", "");
}

/* model empty: a part, else a step of it. */
static json_t *notices_view(const struct context *c, const struct name *model,
                            const struct name *name)
{
	json_t *rows = json_array();
	int64_t total = 0;

	for (size_t i = 0; rows && i < c->catalogue->count; i++) {
		const struct catalogue_entry *entry = &c->catalogue->entries[i];
		struct text why = TEXT_EMPTY;

		if (name_is_empty(model))
			part_touched(&entry->notice, name, &why);
		else
			step_touched(&entry->notice, model, name, &why);
		if (why.len && total++ < NOTICES_SHOWN)
			rows = present_append(rows, present_set(present_entry(entry), "why",
			                                        json_take_text(&why)));
		else
			text_free(&why);
	}
	return json_pack("{s:b, s:o, s:o}", "any", total > 0, "rows", rows, "left_out",
	                 total > NOTICES_SHOWN ? json_integer(total - NOTICES_SHOWN)
	                                       : json_false());
}

/* ---- field reports on it ---- */

/* Of a step, or of a part: model empty. */
static enum status reports_view(const struct context *c, const struct name *model,
                                const struct name *name, json_t **out)
{
	struct report_query query = report_query_all;
	const struct report_row *rows = NULL;
	size_t count = 0;
	int64_t total = 0;
	enum status status;

	if (name_is_empty(model)) {
		query.part = name->text;
	} else {
		query.model = model->text;
		query.step = name->text;
	}
	query.page = (struct page){REPORTS_SHOWN, 0};
	status = report_search(c->store, c->arena, &query, &rows, &count, &total);
	if (status != ST_OK)
		return status;
	*out = count == 0 ? json_false()
	                  : json_pack("{s:o, s:o}", "rows", report_rows(rows, count), "left_out",
	                              total > REPORTS_SHOWN ? json_integer(total - REPORTS_SHOWN)
	                                                    : json_false());
	return *out ? ST_OK : ST_NOMEM;
}

/* ---- a part ---- */

static json_t *number_link(const char *number)
{
	return json_pack("{s:s, s:o}", "number", number, "url", present_part_url(number));
}

/* Numbers whose place it took. */
static json_t *earlier_numbers(const struct parts_book *book, const struct name *number)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < book->n_changes; i++)
		if (name_equal(&book->changes[i].later, number))
			list = present_append(list, number_link(book->changes[i].old.text));
	return list;
}

static const struct name no_model = {.text = "", .key = ""};

static json_t *part_view(const struct context *c, const struct name *number, json_t *reports,
                         json_t *notes)
{
	const struct name *later = parts_book_later(c->parts, number);
	json_t *earlier = earlier_numbers(c->parts, number);
	bool any = json_array_size(earlier) > 0;

	return json_pack("{s:s, s:o, s:o, s:b, s:o, s:o, s:o}", "number", number->text, "later",
	                 later ? number_link(later->text) : json_false(), "earlier", earlier,
	                 "has_earlier", any, "notices", notices_view(c, &no_model, number),
	                 "reports", reports, "notes", notes);
}

static struct note_subject part_subject(const struct context *c)
{
	return (struct note_subject){NOTE_ON_PART, {0}, "", form_text(c->form, "number")};
}

/* Nothing asked for yet, or what cannot be a number: the form to look one up. */
static enum status ask_part(struct context *c)
{
	return respond_page(c, "part.html", "Look up a part",
	                    json_pack("{s:b, s:o, s:b}", "known", 0, "form", form_view(c->form),
	                              "in_notices", 1));
}

enum status page_part(struct context *c)
{
	struct name number = form_name(c->form, "number");
	struct note_subject of;
	json_t *notes = NULL, *reports = NULL;
	enum status status;

	if (!form_ok(c->form) || name_is_empty(&number))
		return ask_part(c);
	of = part_subject(c);
	status = reports_view(c, &no_model, &number, &reports);
	if (status == ST_OK)
		status = notes_list_view(c, &of, &notes);
	if (status != ST_OK) {
		json_decref(reports);
		return status;
	}
	return respond_page(c, "part.html", arena_printf(c->arena, "Part %s", number.text),
	                    json_pack("{s:o, s:o, s:b}", "known",
	                              part_view(c, &number, reports, notes), "form",
	                              form_view(c->form), "in_notices", 1));
}

enum status act_part_note(struct context *c)
{
	struct note_subject of = part_subject(c);

	return note_add_here(c, &of);
}

/* ---- a step ---- */

/* What the model's line says of it; false when it has no line, or no such step. */
static enum status line_step_view(const struct context *c, const struct name *model,
                                  const struct name *code, json_t **out)
{
	struct line_id id;
	struct line line;
	int64_t version;
	uint32_t step;
	const struct step_entry *entry;
	json_t *parts;
	enum status status = line_of_model(c->store, model, &id);

	if (status == ST_OK)
		status = line_load(c->store, c->arena, id, &line, &version);
	step = status == ST_OK ? line_find(&line, code) : LINE_NO_STEP;
	if (step == LINE_NO_STEP) {
		*out = json_false();
		return status == ST_MISSING ? ST_OK : status;
	}
	entry = line.steps[step].entry;
	parts = json_array();
	for (size_t i = 0; parts && i < entry->n_parts; i++)
		parts = present_append(parts, number_link(entry->parts[i].text));
	*out = json_pack("{s:s, s:s, s:s, s:b, s:o}", "title", entry->title, "section",
	                 line.entry->sections[line.steps[step].section].code.text, "heading",
	                 line.entry->sections[line.steps[step].section].title, "has_parts",
	                 entry->n_parts > 0, "parts", parts);
	return *out ? ST_OK : ST_NOMEM;
}

/* Models whose lines have the step, for one who does not say which is meant. */
static enum status models_view(const struct context *c, const struct name *code, json_t **out)
{
	const struct line_head *heads = NULL;
	size_t count = 0;
	json_t *list = json_array();
	enum status status = line_list(c->store, c->arena, &heads, &count);

	for (size_t i = 0; status == ST_OK && list && i < count; i++) {
		struct line line;
		int64_t version;

		status = line_load(c->store, c->arena, heads[i].id, &line, &version);
		if (status == ST_OK && line_find(&line, code) != LINE_NO_STEP)
			list = present_append(
			        list, json_pack("{s:s, s:o}", "model", heads[i].model, "url",
			                        present_step_url(heads[i].model, code->text)));
	}
	if (status == ST_OK && !list)
		status = ST_NOMEM;
	if (status == ST_OK)
		*out = list;
	else
		json_decref(list);
	return status;
}

static struct note_subject step_subject(const struct context *c)
{
	return (struct note_subject){
	        NOTE_ON_STEP, {0}, form_text(c->form, "model"), form_text(c->form, "code")};
}

static enum status ask_step(struct context *c, const struct name *code)
{
	json_t *models = json_array();
	enum status status = ST_OK;

	if (!name_is_empty(code)) {
		json_decref(models);
		status = models_view(c, code, &models);
	}
	if (status != ST_OK)
		return status;
	return respond_page(c, "step.html", "Look up a step",
	                    json_pack("{s:b, s:b, s:o, s:o, s:b}", "known", 0, "has_models",
	                              json_array_size(models) > 0, "models", models, "form",
	                              form_view(c->form), "in_notices", 1));
}

static enum status show_step(struct context *c, const struct name *model, const struct name *code)
{
	struct note_subject of = step_subject(c);
	json_t *notes = NULL, *step = NULL, *reports = NULL;
	enum status status = line_step_view(c, model, code, &step);

	if (status == ST_OK)
		status = reports_view(c, model, code, &reports);
	if (status == ST_OK)
		status = notes_list_view(c, &of, &notes);
	if (status != ST_OK) {
		json_decref(step);
		json_decref(reports);
		return status;
	}
	return respond_page(c, "step.html",
	                    arena_printf(c->arena, "Step %s of %s", code->text, model->text),
	                    json_pack("{s:{s:s, s:s, s:o, s:o, s:o, s:o}, s:o, s:b}", "known",
	                              "model", model->text, "code", code->text, "step", step,
	                              "notices", notices_view(c, model, code), "reports", reports,
	                              "notes", notes, "form", form_view(c->form), "in_notices", 1));
}

enum status page_step(struct context *c)
{
	struct name model = form_name(c->form, "model"), code = form_name(c->form, "code");

	if (!form_ok(c->form) || name_is_empty(&model) || name_is_empty(&code))
		return ask_step(c, &code);
	return show_step(c, &model, &code);
}

enum status act_step_note(struct context *c)
{
	struct note_subject of = step_subject(c);

	return note_add_here(c, &of);
}
