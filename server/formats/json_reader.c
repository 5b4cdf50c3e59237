#include "formats/json_reader.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "core/quantity.h"
#include "formats/json_place.h"

void json_reader_start(struct json_reader *reader, struct arena *arena)
{
	*reader = (struct json_reader){.arena = arena};
}

bool json_reader_ok(const struct json_reader *reader)
{
	return reader->status == ST_OK;
}

__attribute__((format(printf, 3, 0))) static void
set_fault(struct json_reader *reader, const char *key, const char *format, va_list args)
{
	if (!json_reader_ok(reader))
		return;
	reader->status = ST_INVALID;
	memcpy(reader->fault.place, reader->path, sizeof reader->fault.place);
	if (key) {
		size_t mark = json_enter(reader, key);

		memcpy(reader->fault.place, reader->path, sizeof reader->fault.place);
		json_leave(reader, mark);
	}
	vsnprintf(reader->fault.words, sizeof reader->fault.words, format, args);
}

void json_fail(struct json_reader *reader, const char *format, ...)
{
	va_list args;

	va_start(args, format);
	set_fault(reader, NULL, format, args);
	va_end(args);
}

void json_fail_at(struct json_reader *reader, const char *key, const char *format, ...)
{
	va_list args;

	va_start(args, format);
	set_fault(reader, key, format, args);
	va_end(args);
}

static void set_status(struct json_reader *reader, enum status status)
{
	if (json_reader_ok(reader) && status != ST_OK)
		reader->status = status;
}

json_t *json_reader_parse(struct json_reader *reader, const char *text, size_t len)
{
	json_error_t error;
	json_t *value = json_loadb(text, len, JSON_REJECT_DUPLICATES | JSON_DECODE_ANY, &error);

	if (value)
		return value;
	if (json_error_code(&error) == json_error_out_of_memory) {
		set_status(reader, ST_NOMEM);
		return NULL;
	}
	json_fail(reader, "%s", error.text);
	reader->fault.line = error.line > 0 ? (unsigned)error.line : 1;
	reader->fault.column = error.column > 0 ? (unsigned)error.column : 1;
	return NULL;
}

void json_reader_locate(struct json_reader *reader, const char *text, size_t len)
{
	if (reader->status == ST_INVALID && reader->fault.line == 0)
		json_place_find(text, len, reader->fault.place, &reader->fault.line,
		                &reader->fault.column);
}

/* ---- where we are ---- */

/* Appends a reference token; ~ and / are written ~0 and ~1 (RFC 6901). */
size_t json_enter(struct json_reader *reader, const char *key)
{
	size_t mark = reader->path_len;
	size_t at = mark;

	if (at + 2 >= sizeof reader->path)
		return mark;
	reader->path[at++] = '/';
	for (; *key && at + 3 < sizeof reader->path; key++) {
		if (*key == '~' || *key == '/') {
			reader->path[at++] = '~';
			reader->path[at++] = *key == '~' ? '0' : '1';
		} else {
			reader->path[at++] = *key;
		}
	}
	reader->path[at] = '\0';
	reader->path_len = at;
	return mark;
}

size_t json_enter_index(struct json_reader *reader, size_t index)
{
	char digits[24];

	snprintf(digits, sizeof digits, "%zu", index);
	return json_enter(reader, digits);
}

void json_leave(struct json_reader *reader, size_t mark)
{
	reader->path_len = mark;
	reader->path[mark] = '\0';
}

/* ---- objects ---- */

static bool is_among(const char *key, const char *const *keys)
{
	for (; *keys; keys++)
		if (strcmp(*keys, key) == 0)
			return true;
	return false;
}

bool json_check_keys(struct json_reader *reader, const json_t *object, const char *const *keys)
{
	const char *key;
	json_t *value;

	if (!json_is_object(object)) {
		json_fail(reader, "must be an object");
		return false;
	}
	/* The iterator's type lacks const; nothing is changed. */
	json_object_foreach((json_t *)(uintptr_t)object, key, value) if (!is_among(key, keys))
	{
		json_fail(reader, "has an unknown key \"%.60s\"", key);
		return false;
	}
	return json_reader_ok(reader);
}

/* The member if it is there and of that type; a fault when of another. */
static const json_t *member(struct json_reader *reader, const json_t *object, const char *key,
                            bool fits, const char *must)
{
	const json_t *value = json_object_get(object, key);

	if (!value || json_is_null(value))
		return NULL;
	if (fits)
		return value;
	json_fail_at(reader, key, "must be %s", must);
	return NULL;
}

const json_t *json_read_array(struct json_reader *reader, const json_t *object, const char *key)
{
	return member(reader, object, key, json_is_array(json_object_get(object, key)), "an array");
}

const json_t *json_read_object(struct json_reader *reader, const json_t *object, const char *key)
{
	return member(reader, object, key, json_is_object(json_object_get(object, key)),
	              "an object");
}

void json_need(struct json_reader *reader, const json_t *object, const char *key)
{
	const json_t *value = json_object_get(object, key);

	if (!value || json_is_null(value) ||
	    (json_is_string(value) && json_string_length(value) == 0))
		json_fail_at(reader, key, "is needed");
}

/* ---- texts ---- */

static const char *check_text(struct json_reader *reader, const json_t *value, bool one_line,
                              size_t longest)
{
	const char *text = json_string_value(value);
	enum utf8_fault fault;
	const char *copy;

	if (!text) {
		json_fail(reader, "must be a text");
		return "";
	}
	fault = utf8_check(text, json_string_length(value), NULL);
	if (fault != UTF8_FINE)
		json_fail(reader, "%s", utf8_fault_words(fault));
	if (one_line && strchr(text, '\n'))
		json_fail(reader, "must be one line");
	if (utf8_length(text) > longest)
		json_fail(reader, "is longer than %zu characters", longest);
	if (!json_reader_ok(reader))
		return "";
	copy = arena_string(reader->arena, text);
	set_status(reader, copy ? ST_OK : ST_NOMEM);
	return copy ? copy : "";
}

static const char *read_text(struct json_reader *reader, const json_t *object, const char *key,
                             bool one_line, size_t longest)
{
	const json_t *value = json_object_get(object, key);
	const char *text = "";
	size_t mark = json_enter(reader, key);

	if (value && !json_is_null(value))
		text = check_text(reader, value, one_line, longest);
	json_leave(reader, mark);
	return text;
}

const char *json_read_line(struct json_reader *reader, const json_t *object, const char *key,
                           size_t longest)
{
	return read_text(reader, object, key, true, longest);
}

const char *json_read_text(struct json_reader *reader, const json_t *object, const char *key,
                           size_t longest)
{
	return read_text(reader, object, key, false, longest);
}

struct name json_name_of_text(struct json_reader *reader, const char *text)
{
	struct name name = {.text = "", .key = ""};
	enum utf8_fault fault = utf8_check(text, strlen(text), NULL);

	if (fault != UTF8_FINE)
		json_fail(reader, "%s", utf8_fault_words(fault));
	else if (utf8_length(text) > NAME_LONGEST)
		json_fail(reader, "is longer than %d characters", NAME_LONGEST);
	else if (strpbrk(text, ",\n\t"))
		json_fail(reader, "may hold no comma and no line end");
	else
		set_status(reader, name_make(reader->arena, text, strlen(text), &name));
	return name;
}

struct name json_name_of(struct json_reader *reader, const json_t *value)
{
	if (json_is_string(value))
		return json_name_of_text(reader, json_string_value(value));
	json_fail(reader, "must be a text");
	return (struct name){.text = "", .key = ""};
}

struct name json_read_name(struct json_reader *reader, const json_t *object, const char *key)
{
	const json_t *value = json_object_get(object, key);
	struct name name = {.text = "", .key = ""};
	size_t mark = json_enter(reader, key);

	if (value && !json_is_null(value))
		name = json_name_of(reader, value);
	json_leave(reader, mark);
	return name;
}

bool json_read_serial(struct json_reader *reader, const json_t *object, const char *key,
                      struct serial *out)
{
	const char *text = json_read_line(reader, object, key, NAME_LONGEST);
	enum serial_fault fault;

	if (!*text)
		return false;
	fault = serial_check(text, strlen(text), NULL);
	if (fault != SERIAL_FINE) {
		json_fail_at(reader, key, "%s", serial_fault_words(fault));
		return false;
	}
	set_status(reader, serial_make(reader->arena, text, strlen(text), out));
	return json_reader_ok(reader);
}

/* ---- dates, flags, numbers ---- */

struct date_fact json_date_of(struct json_reader *reader, const json_t *value)
{
	struct date_fact fact = {.state = DATE_UNKNOWN};

	if (json_is_string(value) &&
	    date_parse(json_string_value(value), json_string_length(value), &fact.date) == ST_OK)
		fact.state = DATE_KNOWN;
	else
		json_fail(reader, "must be a date such as 2017, 2017-09 or 2017-09-24");
	return fact;
}

struct date_fact json_read_date(struct json_reader *reader, const json_t *object, const char *key)
{
	const json_t *value = json_object_get(object, key);
	struct date_fact fact = {.state = DATE_UNKNOWN};
	size_t mark = json_enter(reader, key);

	if (value && !json_is_null(value))
		fact = json_date_of(reader, value);
	json_leave(reader, mark);
	return fact;
}

bool json_read_flag(struct json_reader *reader, const json_t *object, const char *key)
{
	return json_is_true(member(reader, object, key,
	                           json_is_boolean(json_object_get(object, key)), "true or false"));
}

bool json_read_hours(struct json_reader *reader, const json_t *object, const char *key,
                     int64_t *hundredths)
{
	const json_t *value = member(reader, object, key,
	                             json_is_number(json_object_get(object, key)), "a number");
	double exact = json_number_value(value) * 100;
	double whole = floor(exact + 0.5);

	if (!value)
		return false;
	if (exact < 0 || exact > QUANTITY_MOST * 100.0 || fabs(exact - whole) > 1e-6) {
		json_fail_at(reader, key, "must be hours with at most two decimals, not negative");
		return false;
	}
	*hundredths = (int64_t)whole;
	return true;
}

bool json_read_count(struct json_reader *reader, const json_t *object, const char *key,
                     int64_t *out)
{
	const json_t *value =
	        member(reader, object, key, json_is_integer(json_object_get(object, key)),
	               "a whole number");

	if (!value)
		return false;
	if (json_integer_value(value) < 0 || json_integer_value(value) > QUANTITY_MOST) {
		json_fail_at(reader, key, "must be from 0 to %d", QUANTITY_MOST);
		return false;
	}
	*out = json_integer_value(value);
	return true;
}

/* ---- arrays ---- */

const void *json_read_elements(struct json_reader *reader, const json_t *object,
                               const struct json_elements *elements, size_t *count)
{
	const json_t *list = json_read_array(reader, object, elements->key);
	char *at = arena_array(reader->arena, json_array_size(list), elements->size);
	size_t mark = json_enter(reader, elements->key);

	set_status(reader, at ? ST_OK : ST_NOMEM);
	if (json_array_size(list) > elements->most)
		json_fail(reader, "has more than %zu entries", elements->most);
	for (size_t i = 0; i < json_array_size(list) && json_reader_ok(reader); i++) {
		const json_t *value = json_array_get(list, i);
		size_t inner = json_enter_index(reader, i);

		if (!elements->keys || json_check_keys(reader, value, elements->keys))
			elements->read(reader, value, at + i * elements->size);
		json_leave(reader, inner);
	}
	json_leave(reader, mark);
	*count = json_array_size(list);
	return at;
}

static void read_name(struct json_reader *reader, const json_t *value, void *out)
{
	*(struct name *)out = json_name_of(reader, value);
}

const struct name *json_read_names(struct json_reader *reader, const json_t *object,
                                   const char *key, size_t *count)
{
	const struct json_elements names = {key, sizeof(struct name), SIZE_MAX, NULL, read_name};

	return json_read_elements(reader, object, &names, count);
}
