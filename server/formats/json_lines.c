#include "formats/json_lines.h"

#include <string.h>

static const char *const file_keys[] = {"format", "lines", NULL};
static const char *const line_keys[] = {"model", "sections", NULL};
static const char *const section_keys[] = {"code", "title", "steps", NULL};
static const char *const step_keys[] = {
        "code", "title", "hours", "hours_to_open", "parts", "needs", "works_in", "closes", NULL};

/* ---- reading ---- */

static void read_step(struct json_reader *reader, const json_t *value, void *to)
{
	struct step_entry *out = to;

	json_need(reader, value, "hours");
	out->code = json_read_name(reader, value, "code");
	out->title = json_read_line(reader, value, "title", LINE_TITLE_LONGEST);
	json_read_hours(reader, value, "hours", &out->hours);
	if (!json_read_hours(reader, value, "hours_to_open", &out->hours_to_open))
		out->hours_to_open = LINE_HOURS_NOT_STATED;
	out->parts = json_read_names(reader, value, "parts", &out->n_parts);
	out->needs = json_read_names(reader, value, "needs", &out->n_needs);
	out->works_in = json_read_names(reader, value, "works_in", &out->n_works_in);
	out->closes = json_read_names(reader, value, "closes", &out->n_closes);
}

static const struct json_elements steps_list = {"steps", sizeof(struct step_entry), SIZE_MAX,
                                                step_keys, read_step};

static void read_section(struct json_reader *reader, const json_t *value, void *to)
{
	struct section_entry *out = to;

	out->code = json_read_name(reader, value, "code");
	out->title = json_read_line(reader, value, "title", LINE_TITLE_LONGEST);
	out->steps = json_read_elements(reader, value, &steps_list, &out->n_steps);
}

static const struct json_elements sections_list = {"sections", sizeof(struct section_entry),
                                                   SIZE_MAX, section_keys, read_section};

static void fail_by(struct json_reader *reader, const struct line_fault *fault)
{
	size_t mark = reader->path_len;

	if (fault->depth >= LINE_FAULT_SECTION) {
		json_enter(reader, "sections");
		json_enter_index(reader, fault->section);
	}
	if (fault->depth >= LINE_FAULT_STEP) {
		json_enter(reader, "steps");
		json_enter_index(reader, fault->step);
	}
	json_enter(reader, fault->key);
	if (fault->in_list)
		json_enter_index(reader, fault->item);
	json_fail(reader, "%s", fault->words);
	json_leave(reader, mark);
}

static void check(struct json_reader *reader, const struct line_entry *entry)
{
	struct line line;
	struct line_fault fault;
	enum status status = line_make(reader->arena, entry, &line, &fault);

	if (status == ST_INVALID)
		fail_by(reader, &fault);
	else
		reader->status = status;
}

static void read_line(struct json_reader *reader, const json_t *value, void *to)
{
	struct line_entry *out = to;

	out->model = json_read_name(reader, value, "model");
	out->sections = json_read_elements(reader, value, &sections_list, &out->n_sections);
	if (json_reader_ok(reader))
		check(reader, out);
}

static const struct json_elements lines_list = {"lines", sizeof(struct line_entry), SIZE_MAX,
                                                line_keys, read_line};

static void check_models(struct json_reader *reader, const struct json_lines *file)
{
	for (size_t i = 0; i < file->count && json_reader_ok(reader); i++) {
		size_t mark = json_enter_index(reader, i);

		for (size_t k = 0; k < i; k++)
			if (name_equal(&file->lines[k].model, &file->lines[i].model))
				json_fail_at(reader, "model", "the file has two lines for %s",
				             file->lines[i].model.text);
		json_leave(reader, mark);
	}
}

void json_read_lines(struct json_reader *reader, const json_t *file, struct json_lines *out)
{
	size_t mark;

	*out = (struct json_lines){NULL, 0};
	if (!json_check_keys(reader, file, file_keys))
		return;
	if (strcmp(json_read_line(reader, file, "format", 40), "fairlead line 1") != 0)
		json_fail_at(reader, "format", "must be \"fairlead line 1\"");
	json_need(reader, file, "lines");
	out->lines = json_read_elements(reader, file, &lines_list, &out->count);
	mark = json_enter(reader, "lines");
	check_models(reader, out);
	json_leave(reader, mark);
}

/* ---- writing ---- */

static int set_names(json_t *object, const char *key, const struct name *names, size_t count)
{
	json_t *list;

	if (count == 0)
		return 0;
	list = json_array();
	for (size_t i = 0; i < count; i++)
		json_array_append_new(list, json_string(names[i].text));
	return json_object_set_new(object, key, list);
}

static json_t *step_json(const struct step_entry *step)
{
	json_t *object = json_pack("{s:s, s:s, s:f}", "code", step->code.text, "title", step->title,
	                           "hours", (double)step->hours / 100);
	int failed = object ? 0 : -1;

	if (step->hours_to_open >= 0)
		failed |= json_object_set_new(object, "hours_to_open",
		                              json_real((double)step->hours_to_open / 100));
	failed |= set_names(object, "parts", step->parts, step->n_parts);
	failed |= set_names(object, "needs", step->needs, step->n_needs);
	failed |= set_names(object, "works_in", step->works_in, step->n_works_in);
	failed |= set_names(object, "closes", step->closes, step->n_closes);
	if (failed) {
		json_decref(object);
		return NULL;
	}
	return object;
}

static json_t *section_json(const struct section_entry *section)
{
	json_t *steps = json_array();

	for (size_t i = 0; i < section->n_steps; i++)
		if (json_array_append_new(steps, step_json(&section->steps[i])) != 0) {
			json_decref(steps);
			return NULL;
		}
	return json_pack("{s:s, s:s, s:o}", "code", section->code.text, "title", section->title,
	                 "steps", steps);
}

json_t *json_from_line(const struct line_entry *line)
{
	json_t *sections = json_array();

	for (size_t i = 0; i < line->n_sections; i++)
		if (json_array_append_new(sections, section_json(&line->sections[i])) != 0) {
			json_decref(sections);
			return NULL;
		}
	return json_pack("{s:s, s:o}", "model", line->model.text, "sections", sections);
}
