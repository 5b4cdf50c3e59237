#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "web/html/bound_words.h"
#include "web/html/form_parts.h"

#define FAULT_LONGEST 300 /* bytes of a fault that a handler adds */

struct form *form_blank(struct arena *arena, const struct input *inputs)
{
	struct form *form = ARENA_NEW(arena, struct form);
	size_t count = 0;

	while (inputs && inputs[count].name)
		count++;
	if (!form)
		return NULL;
	*form = (struct form){.arena = arena, .count = count};
	form->entries = ARENA_ARRAY(arena, struct form_entry, count);
	for (size_t i = 0; form->entries && i < count; i++)
		form->entries[i].input = &inputs[i];
	return form->entries ? form : NULL;
}

struct form_entry *form_find(const struct form *form, const char *name)
{
	for (size_t i = 0; i < form->count; i++)
		if (strcmp(form->entries[i].input->name, name) == 0)
			return &form->entries[i];
	return NULL;
}

static bool make_room(struct form *form, struct form_entry *entry)
{
	size_t room = entry->room ? 2 * entry->room : 1;
	struct form_value *rows = ARENA_ARRAY(form->arena, struct form_value, room);

	if (!rows)
		return false;
	if (entry->count)
		memcpy(rows, entry->rows, entry->count * sizeof *rows);
	entry->rows = rows;
	entry->room = room;
	return true;
}

struct form_value *form_add_row(struct form *form, struct form_entry *entry)
{
	struct form_value *value;

	if (entry->count == entry->room && !make_room(form, entry))
		return NULL;
	value = &entry->rows[entry->count++];
	*value = (struct form_value){.typed = "", .text = "", .choice = -1};
	return value;
}

/* A second value of an input that has only one is kept apart and refused. */
static enum status next_row(struct form *form, struct form_entry *entry, struct form_value **out)
{
	if (entry->count > 0 && !entry->input->repeated) {
		form_fail(form, entry->input->name, "was sent more than once");
		*out = ARENA_NEW(form->arena, struct form_value);
	} else {
		*out = form_add_row(form, entry);
	}
	return *out ? ST_OK : ST_NOMEM;
}

static enum status read_field(struct form *form, const struct http_field *field, bool *known)
{
	struct form_entry *entry = form_find(form, field->name);
	struct form_value *value = NULL;
	enum status status;

	*known = entry != NULL;
	if (!entry)
		return ST_OK;
	status = next_row(form, entry, &value);
	if (status == ST_OK)
		status = input_read(form->arena, entry->input, field, value);
	if (status == ST_OK && value->error)
		form->failed = true;
	return status;
}

static enum status read_upload(struct form *form, const struct http_upload *upload, bool *known)
{
	struct form_entry *entry = form_find(form, upload->name);
	struct form_value *value = NULL;
	enum status status;

	*known = entry && entry->input->kind == INPUT_FILE;
	if (!*known)
		return ST_OK;
	status = next_row(form, entry, &value);
	if (status == ST_OK)
		status = input_read_file(form->arena, entry->input, upload, value);
	if (status == ST_OK && value->error)
		form->failed = true;
	return status;
}

/* Inputs that did not come get one blank row; repeated ones none. */
static enum status read_absent(struct form *form)
{
	enum status status = ST_OK;

	for (size_t i = 0; i < form->count && status == ST_OK; i++) {
		struct form_entry *entry = &form->entries[i];
		struct form_value *value;

		if (entry->count > 0)
			continue;
		if (entry->input->repeated) {
			if (entry->input->required)
				form_fail(form, entry->input->name, "is needed");
			continue;
		}
		value = form_add_row(form, entry);
		status = value ? input_absent(form->arena, entry->input, value) : ST_NOMEM;
		if (status == ST_OK && value->error)
			form->failed = true;
	}
	return status;
}

static enum status name_unknown(struct arena *arena, const char *name, const char **unknown)
{
	const char *cleaned = input_showable(arena, name, strlen(name));

	if (!cleaned)
		return ST_NOMEM;
	*unknown = cleaned;
	return ST_INVALID;
}

static enum status read_all(struct form *form, const struct http_fields *fields,
                            const struct http_uploads *uploads, const char **unknown)
{
	enum status status = ST_OK;
	bool known = true;

	for (size_t i = 0; i < fields->count && status == ST_OK; i++) {
		status = read_field(form, &fields->at[i], &known);
		if (status == ST_OK && !known && unknown)
			status = name_unknown(form->arena, fields->at[i].name, unknown);
	}
	for (size_t i = 0; i < uploads->count && status == ST_OK; i++) {
		status = read_upload(form, &uploads->at[i], &known);
		if (status == ST_OK && !known && unknown)
			status = name_unknown(form->arena, uploads->at[i].name, unknown);
	}
	return status == ST_OK ? read_absent(form) : status;
}

enum status form_read(struct arena *arena, const struct input *inputs,
                      const struct http_fields *fields, const struct http_uploads *uploads,
                      struct form **out, const char **unknown)
{
	struct form *form = form_blank(arena, inputs);
	enum status status = form ? read_all(form, fields, uploads, unknown) : ST_NOMEM;

	if (status == ST_OK && arena_failed(arena))
		status = ST_NOMEM;
	if (status == ST_OK)
		*out = form;
	return status;
}

static struct form_entry *entry_of(const struct form *form, const char *name)
{
	struct form_entry *entry = form_find(form, name);

	assert(entry && "the table of inputs has no such name");
	return entry;
}

static struct form_value *row_to_set(struct form *form, const char *name)
{
	struct form_entry *entry = entry_of(form, name);

	if (entry->count > 0 && !entry->input->repeated)
		return &entry->rows[0];
	return form_add_row(form, entry);
}

void form_set(struct form *form, const char *name, const char *text)
{
	struct form_value *value = row_to_set(form, name);
	const char *typed = text ? arena_string(form->arena, text) : "";

	if (!value || !typed)
		return; /* the arena remembers, form_view fails */
	value->typed = typed;
	value->number = typed[0] != '\0';
}

void form_set_number(struct form *form, const char *name, int64_t number)
{
	char text[32];

	snprintf(text, sizeof text, "%lld", (long long)number);
	form_set(form, name, text);
}

void form_set_hours(struct form *form, const char *name, int64_t hundredths)
{
	char text[40];
	int64_t part = hundredths % 100;
	int len = snprintf(text, sizeof text, "%lld", (long long)(hundredths / 100));

	if (part)
		snprintf(text + len, sizeof text - (size_t)len, part % 10 ? ".%02d" : ".%d",
		         (int)(part % 10 ? part : part / 10));
	form_set(form, name, text);
}

void form_set_date(struct form *form, const char *name, const struct date_fact *fact)
{
	char text[DATE_TEXT_SIZE] = "";

	if (fact->state == DATE_KNOWN)
		date_print(fact->date, text);
	form_set(form, name, text);
}

void form_set_flag(struct form *form, const char *name, bool ticked)
{
	form_set(form, name, ticked ? "yes" : "");
}

bool form_ok(const struct form *form)
{
	return !form->failed;
}

static void fail_whole(struct form *form, const char *words)
{
	struct form_fault *fault = ARENA_NEW(form->arena, struct form_fault);

	if (!fault)
		return;
	*fault = (struct form_fault){arena_string(form->arena, words), form->faults};
	form->faults = fault;
}

static void fail_value(struct form *form, struct form_entry *entry, size_t row, const char *words)
{
	while (entry->count <= row)
		if (!form_add_row(form, entry))
			return;
	if (!entry->rows[row].error)
		entry->rows[row].error =
		        arena_printf(form->arena, "%s %s", entry->input->label, words);
	entry->rows[row].given = false;
}

static void fail(struct form *form, const char *name, size_t row, const char *words)
{
	form->failed = true;
	if (name[0] == '\0')
		fail_whole(form, words);
	else
		fail_value(form, entry_of(form, name), row, words);
}

void form_fail(struct form *form, const char *name, const char *format, ...)
{
	char words[FAULT_LONGEST];
	va_list args;

	va_start(args, format);
	vsnprintf(words, sizeof words, format, args);
	va_end(args);
	fail(form, name, 0, words);
}

enum status form_bound(struct form *form, const struct store *store, enum status status)
{
	const struct bound_row *row = status == ST_LIMIT ? bound_met(store) : NULL;
	char words[BOUND_WORDS_SIZE];

	if (!row)
		return status;
	bound_words(row, words);
	form_fail(form, "", "%s", words);
	return ST_OK;
}

void form_fail_row(struct form *form, const char *name, size_t row, const char *format, ...)
{
	char words[FAULT_LONGEST];
	va_list args;

	va_start(args, format);
	vsnprintf(words, sizeof words, format, args);
	va_end(args);
	fail(form, name, row, words);
}

size_t form_count(const struct form *form, const char *name)
{
	return entry_of(form, name)->count;
}

const struct form_value *form_value(const struct form *form, const char *name, size_t row)
{
	static const struct form_value absent = {.typed = "", .text = "", .choice = -1};
	const struct form_entry *entry = entry_of(form, name);

	return row < entry->count ? &entry->rows[row] : &absent;
}

bool form_given(const struct form *form, const char *name)
{
	return form_value(form, name, 0)->given;
}

const char *form_text(const struct form *form, const char *name)
{
	return form_value(form, name, 0)->text;
}

struct name form_name(const struct form *form, const char *name)
{
	return form_value(form, name, 0)->name;
}

struct date_fact form_date(const struct form *form, const char *name)
{
	const struct form_value *value = form_value(form, name, 0);

	return (struct date_fact){value->given ? DATE_KNOWN : DATE_UNKNOWN, value->date};
}

day_number form_day(const struct form *form, const char *name)
{
	const struct form_value *value = form_value(form, name, 0);

	return value->given ? value->date.first : 0;
}

int64_t form_number(const struct form *form, const char *name)
{
	return form_value(form, name, 0)->number;
}

int form_choice(const struct form *form, const char *name)
{
	return form_value(form, name, 0)->choice;
}

bool form_flag(const struct form *form, const char *name)
{
	return form_value(form, name, 0)->number != 0;
}

const struct http_upload *form_file(const struct form *form, const char *name)
{
	return form_value(form, name, 0)->file;
}
