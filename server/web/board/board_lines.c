/* board_lines.c - build lines on the drawing board: which there are, one of
 * them, and a form for one step.
 *
 * The form of a step carries the version of the line that it was filled from,
 * its section and the step that it stands behind; so it serves for a new step,
 * a changed or moved one, a new section and a new line. What is saved is always
 * the whole line, checked as an imported file is (core/line.h).
 */
#include <string.h>

#include "base/text.h"
#include "store/lines.h"
#include "formats/json_lines.h"
#include "formats/json_text.h"
#include "web/board/line_edit.h"
#include "web/board/board.h"
#include "web/board/board_parts.h"
#include "web/http/respond.h"

const struct input line_step_query[] = {
        {"code", "Code", INPUT_NAME}, {"after", "Behind step", INPUT_NAME}, INPUTS_END};

const struct input line_step_inputs[] = {
        {"version", "Version of the line", INPUT_NUMBER},
        {"was", "Code before", INPUT_NAME},
        {"model", "Model", INPUT_NAME},
        {"section", "Section code", INPUT_NAME, .required = true},
        {"section_title", "Section title", INPUT_LINE, .longest = LINE_TITLE_LONGEST},
        {"after", "Stands behind step", INPUT_NAME},
        {"code", "Step code", INPUT_NAME, .required = true},
        {"title", "What is done", INPUT_LINE, .required = true, .longest = LINE_TITLE_LONGEST},
        {"hours", "Hours of work", INPUT_HOURS, .required = true, .min = 0, .max = LINE_HOURS_MOST},
        {"hours_to_open", "Hours to open and close again", INPUT_HOURS, .min = 0,
         .max = LINE_HOURS_MOST},
        {"parts", "Parts", INPUT_TEXT},
        {"needs", "Steps needed first", INPUT_TEXT},
        {"works_in", "Works in the zones", INPUT_TEXT},
        {"closes", "Closes the zones", INPUT_TEXT},
        INPUTS_END};

const struct input line_step_out_inputs[] = {
        {"version", "Version of the line", INPUT_NUMBER, .required = true},
        {"was", "Code", INPUT_NAME, .required = true},
        INPUTS_END};

const struct input line_remove_inputs[] = {
        {"version", "Version of the line", INPUT_NUMBER, .required = true},
        {"sure", "Yes, remove the whole line", INPUT_FLAG, .required = true},
        INPUTS_END};

/* ---- the lines ---- */

static json_t *line_url(struct line_id id, const char *page)
{
	return json_sprintf("/board/lines/%lld%s", (long long)id.v, page);
}

static json_t *head_view(const struct line_head *head)
{
	return json_pack("{s:s, s:I, s:I, s:o, s:o, s:s, s:o, s:o, s:o, s:I}", "model", head->model,
	                 "sections", (json_int_t)head->sections, "steps", (json_int_t)head->steps,
	                 "hours", present_hours(head->hours), "edited", board_time(head->edited_at),
	                 "editor", head->editor, "url", line_url(head->id, ""), "step_url",
	                 line_url(head->id, "/step"), "remove_url", line_url(head->id, "/remove"),
	                 "version", (json_int_t)head->version);
}

enum status page_lines(struct context *c)
{
	const struct line_head *heads;
	size_t count;
	json_t *list = json_array();
	enum status status = line_list(c->store, c->arena, &heads, &count);

	for (size_t i = 0; status == ST_OK && list && i < count; i++)
		list = present_append(list, head_view(&heads[i]));
	if (status != ST_OK) {
		json_decref(list);
		return status;
	}
	return board_respond(c, "board_lines.html", "Build lines",
	                     json_pack("{s:o}", "lines", list));
}

/* ---- one line ---- */

static json_t *names_text(const struct name *names, size_t count)
{
	struct text text = TEXT_EMPTY;

	for (size_t i = 0; i < count; i++)
		text_printf(&text, "%s%s", i ? ", " : "", names[i].text);
	return count ? json_take_text(&text) : json_false();
}

static json_t *step_url(struct context *c, struct line_id id, const char *field,
                        const struct name *code)
{
	const struct http_fields none = {.count = 0};
	const char *path = arena_printf(c->arena, "/board/lines/%lld/step", (long long)id.v);

	return path ? present_url_with(path, &none, field, code->text) : NULL;
}

static json_t *step_view(struct context *c, struct line_id id, const struct step_entry *step)
{
	return json_pack("{s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o}", "code", step->code.text,
	                 "title", step->title, "hours", present_hours(step->hours), "needs",
	                 names_text(step->needs, step->n_needs), "works_in",
	                 names_text(step->works_in, step->n_works_in), "closes",
	                 names_text(step->closes, step->n_closes), "url",
	                 step_url(c, id, "code", &step->code), "after_url",
	                 step_url(c, id, "after", &step->code));
}

static json_t *section_view(struct context *c, struct line_id id,
                            const struct section_entry *section)
{
	json_t *steps = json_array();

	for (size_t i = 0; steps && i < section->n_steps; i++)
		steps = present_append(steps, step_view(c, id, &section->steps[i]));
	return json_pack("{s:s, s:s, s:o}", "code", section->code.text, "title", section->title,
	                 "steps", steps);
}

static json_t *sections_view(struct context *c, struct line_id id, const struct line_entry *entry)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < entry->n_sections; i++)
		list = present_append(list, section_view(c, id, &entry->sections[i]));
	return list;
}

static struct line_id captured(const struct context *c)
{
	return (struct line_id){context_id(c, "line")};
}

static enum status show_one(struct context *c)
{
	struct line_head head;
	struct line_entry entry;
	enum status status = line_read(c->store, c->arena, captured(c), &head, &entry);
	json_t *form;

	if (status != ST_OK)
		return status;
	form = form_view(c->form);
	return board_respond(c, "board_line.html",
	                     arena_printf(c->arena, "Build line of %s", head.model),
	                     json_pack("{s:o, s:o, s:o, s:o}", "line", head_view(&head), "sections",
	                               sections_view(c, head.id, &entry), "form", form, "file_url",
	                               line_url(head.id, "/file")));
}

enum status page_line(struct context *c)
{
	c->form = form_blank(c->arena, line_remove_inputs);
	return c->form ? show_one(c) : ST_NOMEM;
}

/* The same form that a file to take in has. */
enum status page_line_file(struct context *c)
{
	struct line_head head;
	struct line_entry entry;
	enum status status = line_read(c->store, c->arena, captured(c), &head, &entry);

	if (status != ST_OK)
		return status;
	return respond_json_file(c,
	                         json_pack("{s:s, s:[o]}", "format", "fairlead line 1", "lines",
	                                   json_from_line(&entry)),
	                         "line.json");
}

enum status act_line_remove(struct context *c)
{
	enum status status;

	if (!form_ok(c->form))
		return show_one(c);
	status = line_remove(c->store, captured(c), form_number(c->form, "version"));
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/board/lines?said=removed");
}

/* ---- the form of a step ---- */

/* What the form is about. */
struct desk {
	bool is_new; /* a new line: there is no head yet */
	struct line_head head;
	struct line_entry entry;
};

static enum status load_desk(struct context *c, bool is_new, struct desk *desk)
{
	*desk = (struct desk){.is_new = is_new};
	return is_new ? ST_OK
	              : line_read(c->store, c->arena, captured(c), &desk->head, &desk->entry);
}

static json_t *fields_view(const struct context *c)
{
	json_t *form = form_view(c->form);

	form = present_hint(form, "section", "A code that is not there yet begins a new section");
	form = present_hint(form, "section_title", "Left empty: as it is");
	form = present_hint(form, "after", "Left empty: first of its section");
	form = present_hint(form, "hours_to_open", "Left empty: twice the hours of work");
	form = present_hint(form, "parts", "Several: one in each line, or with commas between");
	form = present_hint(form, "works_in",
	                    "A zone is a short name in plain words, like left wing box");
	return present_hint(form, "closes",
	                    "What nobody can reach any more without undoing this step");
}

static enum status show_step(struct context *c, const struct desk *desk)
{
	const char *was = form_count(c->form, "was") ? form_value(c->form, "was", 0)->typed : "";
	json_t *path =
	        desk->is_new ? json_string("/board/lines/new") : line_url(desk->head.id, "/step");

	return board_respond(
	        c, "board_step.html", desk->is_new ? "A new build line" : "A step of a build line",
	        json_pack("{s:b, s:o, s:o, s:b, s:o, s:o}", "is_new", desk->is_new, "line",
	                  desk->is_new ? json_false() : head_view(&desk->head), "form",
	                  fields_view(c), "changes", was[0] != '\0', "post_url", path, "out_url",
	                  line_url(desk->head.id, "/step/remove")));
}

static void fill_names(struct form *form, const char *field, const struct name *names, size_t count)
{
	struct text text = TEXT_EMPTY;

	for (size_t i = 0; i < count; i++)
		text_printf(&text, "%s%s", i ? "\n" : "", names[i].text);
	form_set(form, field, text_string(&text));
	text_free(&text);
}

static void fill_step(struct form *form, const struct step_entry *step)
{
	form_set(form, "was", step->code.text);
	form_set(form, "code", step->code.text);
	form_set(form, "title", step->title);
	form_set_hours(form, "hours", step->hours);
	if (step->hours_to_open >= 0)
		form_set_hours(form, "hours_to_open", step->hours_to_open);
	fill_names(form, "parts", step->parts, step->n_parts);
	fill_names(form, "needs", step->needs, step->n_needs);
	fill_names(form, "works_in", step->works_in, step->n_works_in);
	fill_names(form, "closes", step->closes, step->n_closes);
}

/* The step of that code, with its place; or a place behind another one. */
static enum status fill_form(struct form *form, const struct line_entry *entry,
                             const struct name *code, const struct name *after)
{
	for (size_t i = 0; i < entry->n_sections; i++)
		for (size_t k = 0; k < entry->sections[i].n_steps; k++) {
			const struct step_entry *step = &entry->sections[i].steps[k];
			bool is_it = name_equal(&step->code, code);

			if (!is_it && !name_equal(&step->code, after))
				continue;
			form_set(form, "section", entry->sections[i].code.text);
			if (is_it)
				fill_step(form, step);
			if (!is_it)
				form_set(form, "after", step->code.text);
			else if (k > 0)
				form_set(form, "after", step[-1].code.text);
			return ST_OK;
		}
	return name_is_empty(code) && name_is_empty(after) ? ST_OK : ST_MISSING;
}

enum status page_line_step(struct context *c)
{
	struct desk desk;
	struct form *query = c->form;
	struct name code = form_name(query, "code"), after = form_name(query, "after");
	enum status status = load_desk(c, false, &desk);

	if (status != ST_OK)
		return status;
	c->form = form_blank(c->arena, line_step_inputs);
	if (!c->form)
		return ST_NOMEM;
	form_set_number(c->form, "version", desk.head.version);
	status = fill_form(c->form, &desk.entry, &code, &after);
	return status == ST_OK ? show_step(c, &desk) : status;
}

enum status page_line_new(struct context *c)
{
	const struct desk desk = {.is_new = true};

	c->form = form_blank(c->arena, line_step_inputs);
	return c->form ? show_step(c, &desk) : ST_NOMEM;
}

/* ---- saving ---- */

/* Names in lines or between commas. */
static const struct name *read_names(struct context *c, const char *field, size_t *count)
{
	const char *text = form_text(c->form, field);
	struct name *names = ARENA_ARRAY(c->arena, struct name, strlen(text) / 2 + 1);

	*count = 0;
	while (names && *text) {
		size_t len = strcspn(text, ",\n");
		struct name name;

		if (name_make(c->arena, text, len, &name) != ST_OK)
			return NULL;
		if (name.len > NAME_LONGEST)
			form_fail(c->form, field, "has a name that is too long");
		if (!name_is_empty(&name))
			names[(*count)++] = name;
		text += len + (text[len] != '\0');
	}
	return names;
}

static enum status read_step(struct context *c, struct step_entry *out)
{
	*out = (struct step_entry){.code = form_name(c->form, "code"),
	                           .title = form_text(c->form, "title"),
	                           .hours = form_number(c->form, "hours"),
	                           .hours_to_open = form_given(c->form, "hours_to_open")
	                                                    ? form_number(c->form, "hours_to_open")
	                                                    : LINE_HOURS_NOT_STATED};
	out->parts = read_names(c, "parts", &out->n_parts);
	out->needs = read_names(c, "needs", &out->n_needs);
	out->works_in = read_names(c, "works_in", &out->n_works_in);
	out->closes = read_names(c, "closes", &out->n_closes);
	return out->parts && out->needs && out->works_in && out->closes ? ST_OK : ST_NOMEM;
}

/* At the field when the fault is in the step of the form, else at the whole. */
static void tell_fault(struct context *c, const struct line_entry *entry,
                       const struct line_fault *fault)
{
	struct name code = form_name(c->form, "code");
	const struct name *at = fault->depth == LINE_FAULT_STEP
	                                ? &entry->sections[fault->section].steps[fault->step].code
	                                : NULL;

	if (at && name_equal(at, &code))
		form_fail(c->form, fault->key, "%s", fault->words);
	else if (at)
		form_fail(c->form, "", "Step %s, %s: %s", at->text, fault->key, fault->words);
	else
		form_fail(c->form, "", "%s: %s", fault->key, fault->words);
}

static enum status check_line(struct context *c, const struct line_entry *entry)
{
	struct line line;
	struct line_fault fault;
	enum status status = line_make(c->arena, entry, &line, &fault);

	if (status != ST_INVALID)
		return status;
	tell_fault(c, entry, &fault);
	return ST_OK;
}

static enum status make_entry(struct context *c, const struct desk *desk, struct line_entry *out)
{
	struct step_place place = {form_name(c->form, "section"),
	                           form_text(c->form, "section_title"),
	                           form_name(c->form, "after")};
	struct name was = form_name(c->form, "was");
	struct step_entry step;
	const char *key = "", *words = "";
	enum status status = read_step(c, &step);

	if (status == ST_OK)
		status = line_edit_put(c->arena, &desk->entry, &was, &place, &step, out, &key,
		                       &words);
	if (status == ST_INVALID) {
		form_fail(c->form, key, "%s", words);
		return ST_OK;
	}
	return status;
}

static enum status store_line(struct context *c, const struct desk *desk, int64_t seen,
                              const struct line_entry *entry, struct line_id *out)
{
	enum status status;

	*out = desk->head.id;
	status = entry->n_sections ? line_save(c->store, entry, seen, c->member->id, c->now, out)
	                           : line_remove(c->store, desk->head.id, seen);
	if (status != ST_CONFLICT)
		return form_bound(c->form, c->store, status);
	form_fail(c->form, "",
	          desk->is_new ? "There is a build line for this model already"
	                       : "The build line was changed elsewhere after you opened this form; "
	                         "open it again");
	return ST_OK;
}

/* Checks and stores what came of a change, and answers. */
static enum status finish(struct context *c, const struct desk *desk, int64_t seen,
                          const struct line_entry *entry)
{
	struct line_id id = {0};
	enum status status = ST_OK;

	if (form_ok(c->form) && entry->n_sections)
		status = check_line(c, entry);
	if (status == ST_OK && form_ok(c->form))
		status = store_line(c, desk, seen, entry, &id);
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_step(c, desk);
	return entry->n_sections
	               ? respond_redirect(c, "/board/lines/%lld?said=saved", (long long)id.v)
	               : respond_redirect(c, "/board/lines?said=removed");
}

static enum status take_step(struct context *c, struct desk *desk)
{
	int64_t seen = desk->is_new ? 0 : form_number(c->form, "version");
	struct line_entry entry = {.n_sections = 0};
	enum status status = ST_OK;

	if (desk->is_new) {
		desk->entry.model = form_name(c->form, "model");
		if (form_ok(c->form) && name_is_empty(&desk->entry.model))
			form_fail(c->form, "model", "is needed");
	}
	if (form_ok(c->form))
		status = make_entry(c, desk, &entry);
	return status == ST_OK ? finish(c, desk, seen, &entry) : status;
}

enum status act_line_step(struct context *c)
{
	struct desk desk;
	enum status status = load_desk(c, false, &desk);

	return status == ST_OK ? take_step(c, &desk) : status;
}

enum status act_line_new(struct context *c)
{
	struct desk desk = {.is_new = true};

	return take_step(c, &desk);
}

/* When others need the step it stays, and its form says so. */
enum status act_line_step_out(struct context *c)
{
	static const struct name none = {.text = ""};
	int64_t seen = form_number(c->form, "version");
	struct name was = form_name(c->form, "was");
	struct line_entry entry = {.n_sections = 0};
	struct desk desk;
	enum status status = form_ok(c->form) ? load_desk(c, false, &desk) : ST_INVALID;

	if (status == ST_OK)
		status = line_edit_remove(c->arena, &desk.entry, &was, &entry);
	if (status != ST_OK)
		return status;
	c->form = form_blank(c->arena, line_step_inputs);
	if (!c->form)
		return ST_NOMEM;
	form_set_number(c->form, "version", seen);
	status = fill_form(c->form, &desk.entry, &was, &none);
	return status == ST_OK ? finish(c, &desk, seen, &entry) : status;
}
