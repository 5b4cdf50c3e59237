#include <string.h>

#include "web/html/form_parts.h"

static const struct form_value nothing = {.typed = "", .text = "", .choice = -1};

static json_t *option_view(const char *value, const char *typed)
{
	return json_pack("{s:s, s:b}", "value", value, "selected", strcmp(value, typed) == 0);
}

/* The blank choice stands first while nothing is chosen, or may be. */
static json_t *options_view(const struct input *input, const char *typed)
{
	json_t *options = json_array();
	int failed = 0;

	if (!input->choices)
		return options;
	if (!input->required || typed[0] == '\0')
		failed |= json_array_append_new(options, option_view("", typed));
	for (size_t i = 0; input->choices[i]; i++)
		failed |= json_array_append_new(options, option_view(input->choices[i], typed));
	if (failed) {
		json_decref(options);
		return NULL;
	}
	return options;
}

static json_t *id_of(const struct input *input, size_t row)
{
	return input->repeated ? json_sprintf("%s-%zu", input->name, row + 1)
	                       : json_string(input->name);
}

static json_t *value_view(const struct input *input, size_t row, const struct form_value *value)
{
	json_t *error = value->error ? json_string(value->error) : json_false();

	return json_pack("{s:s, s:s, s:o, s:s, s:o, s:b, s:i, s:b, s:o, s:s*}", "name", input->name,
	                 "label", input->label, "id", id_of(input, row), "value", value->typed,
	                 "error", error, "required", input->required, "longest",
	                 (int)input->longest, "ticked", value->number != 0, "options",
	                 options_view(input, value->typed), "hint", input->hint);
}

static const struct form_value *row_or_nothing(const struct form_entry *entry, size_t row)
{
	return row < entry->count ? &entry->rows[row] : &nothing;
}

static json_t *fault_view(const struct input *input, size_t row, const char *words)
{
	return json_pack("{s:o, s:s}", "anchor", id_of(input, row), "words", words);
}

/* One field of many files. */
static json_t *files_view(const struct form_entry *entry)
{
	const struct input *input = entry->input;
	json_t *faults = json_array();
	int failed = 0;

	for (size_t i = 0; i < entry->count; i++)
		if (entry->rows[i].error)
			failed |= json_array_append_new(faults,
			                                fault_view(input, i, entry->rows[i].error));
	if (failed) {
		json_decref(faults);
		return NULL;
	}
	return json_pack("{s:s, s:s, s:s, s:b, s:b, s:o}", "name", input->name, "id", input->name,
	                 "label", input->label, "required", input->required, "again",
	                 entry->count > 0, "faults", faults);
}

static json_t *entry_view(const struct form_entry *entry)
{
	json_t *rows;

	if (entry->input->repeated && entry->input->kind == INPUT_FILE)
		return files_view(entry);
	if (!entry->input->repeated)
		return value_view(entry->input, 0, row_or_nothing(entry, 0));
	rows = json_array();
	for (size_t i = 0; i < entry->count; i++)
		if (json_array_append_new(rows, value_view(entry->input, i, &entry->rows[i]))) {
			json_decref(rows);
			return NULL;
		}
	return rows;
}

static json_t *errors_view(const struct form *form)
{
	json_t *errors = json_array();
	int failed = 0;

	for (const struct form_fault *fault = form->faults; fault; fault = fault->next)
		failed |= json_array_append_new(
		        errors, json_pack("{s:s, s:s}", "anchor", "form", "words", fault->words));
	for (size_t i = 0; i < form->count; i++) {
		const struct form_entry *entry = &form->entries[i];

		for (size_t row = 0; row < entry->count; row++)
			if (entry->rows[row].error)
				failed |= json_array_append_new(
				        errors,
				        fault_view(entry->input, row, entry->rows[row].error));
	}
	if (failed) {
		json_decref(errors);
		return NULL;
	}
	return errors;
}

json_t *form_view(const struct form *form)
{
	json_t *view = json_object();
	int failed = arena_failed(form->arena);

	for (size_t i = 0; i < form->count; i++)
		failed |= json_object_set_new(view, form->entries[i].input->name,
		                              entry_view(&form->entries[i]));
	failed |= json_object_set_new(view, "errors", errors_view(form));
	failed |= json_object_set_new(view, "failed", json_boolean(form->failed));
	if (failed) {
		json_decref(view);
		return NULL;
	}
	return view;
}

/* Rows up to the last one that holds something. */
static size_t filled_rows(const struct form *form, const char *name)
{
	const struct form_entry *entry = form_find(form, name);
	size_t count = form_count(form, name);

	while (count > 0 && !row_or_nothing(entry, count - 1)->typed[0] &&
	       !row_or_nothing(entry, count - 1)->error)
		count--;
	return count;
}

static size_t longest_list(const struct form *form, const char *const *names)
{
	size_t longest = 0;

	for (; *names; names++)
		if (filled_rows(form, *names) > longest)
			longest = filled_rows(form, *names);
	return longest;
}

static json_t *row_view(const struct form *form, const char *const *names, size_t row)
{
	json_t *view = json_object();
	int failed = json_object_set_new(view, "row", json_integer((json_int_t)row + 1));

	for (; *names; names++) {
		const struct form_entry *entry = form_find(form, *names);

		failed |= json_object_set_new(
		        view, *names, value_view(entry->input, row, row_or_nothing(entry, row)));
	}
	if (failed) {
		json_decref(view);
		return NULL;
	}
	return view;
}

json_t *form_rows_view(const struct form *form, const char *const *names, size_t spare)
{
	json_t *rows = json_array();
	size_t count = longest_list(form, names) + spare;

	for (size_t i = 0; i < count; i++)
		if (json_array_append_new(rows, row_view(form, names, i))) {
			json_decref(rows);
			return NULL;
		}
	return rows;
}
