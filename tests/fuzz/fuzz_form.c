/* fuzz_form.c - the form reader with the inputs that each route declares.
 *
 * The bytes are a shape and values, which NUL separates; every route of the program
 * gets them, in its own fields: dates where numbers are wanted, files where text is,
 * many where one is. What is read well has the kind that its table says, text of
 * members is well formed and within its length, and any form can be shown again.
 */
#include "base/utf8.h"
#include "fuzz.h"
#include "web/html/input.h"
#include "web/http/route.h"

#define VALUES_MOST 16
#define FIELDS_MOST 400

enum shape {
	SHAPE_REPEATED = 1, /* each field three times */
	SHAPE_FILES = 2,    /* each field also as a file */
	SHAPE_ONLY_FILES = 4
};

struct values {
	struct http_field at[VALUES_MOST];
	size_t count;
};

static void split(const char *bytes, size_t len, struct values *out)
{
	out->count = 0;
	while (out->count < VALUES_MOST) {
		const char *end = len ? memchr(bytes, '\0', len) : NULL;
		size_t n = end ? (size_t)(end - bytes) : len;

		out->at[out->count++] = (struct http_field){"", bytes, n};
		if (!end)
			return;
		bytes += n + 1;
		len -= n + 1;
	}
}

static bool in_range(const struct input *input, int64_t number)
{
	if (input->min == 0 && input->max == 0)
		return number >= 0;
	return number >= input->min && number <= input->max;
}

static size_t choices_of(const struct input *input)
{
	size_t count = 0;

	while (input->choices && input->choices[count])
		count++;
	return count;
}

static void check_value(const struct input *input, const struct form_value *value)
{
	must(value->typed != NULL && value->text != NULL, "texts are never NULL");
	must(!value->given || !value->error, "what is faulty is not given");
	if (!value->given)
		return;
	switch (input->kind) {
	case INPUT_LINE:
	case INPUT_TEXT:
		must(utf8_check(value->text, strlen(value->text), NULL) == UTF8_FINE,
		     "text is well formed");
		must(input->kind == INPUT_TEXT || !strpbrk(value->text, "\r\n"),
		     "a line is one line");
		break;
	case INPUT_NUMBER:
	case INPUT_HOURS:
		must(in_range(input, value->number), "a number is in its range");
		break;
	case INPUT_ID:
		must(value->number > 0, "an id is above 0");
		break;
	case INPUT_CHOICE:
		must(value->choice >= 0 && (size_t)value->choice < choices_of(input),
		     "a choice is one of the words");
		break;
	case INPUT_STATEMENT:
		must(value->statement != NULL, "a statement is parsed");
		break;
	case INPUT_DUE:
		must(value->due != NULL, "a compliance time is parsed");
		break;
	case INPUT_FILE:
		must(value->file != NULL, "a file is a file, no text is one");
		break;
	default:
		break;
	}
}

static void check_form(const struct input *inputs, const struct form *form)
{
	json_t *view;

	for (const struct input *input = inputs; input && input->name; input++) {
		size_t rows = form_count(form, input->name);

		must(rows <= 1 || input->repeated || !form_ok(form), "one field has one value");
		for (size_t row = 0; row < rows; row++)
			check_value(input, form_value(form, input->name, row));
	}
	view = form_view(form);
	must(view != NULL, "a form can be shown again");
	json_decref(view);
}

static void fill(struct arena *arena, const struct route *route, const struct values *values,
                 unsigned shape)
{
	static struct http_field fields[FIELDS_MOST];
	static struct http_upload files[HTTP_FILES_MOST];
	struct http_fields all = {fields, 0};
	struct http_uploads uploads = {files, 0};
	size_t next = 0;
	struct form *form = NULL;

	for (const struct input *input = route->inputs; input && input->name; input++)
		for (int i = shape & SHAPE_REPEATED ? 3 : 1; i > 0; i--) {
			struct http_field field = values->at[next++ % values->count];

			field.name = input->name;
			if (all.count < FIELDS_MOST && !(shape & SHAPE_ONLY_FILES))
				fields[all.count++] = field;
			if (uploads.count < HTTP_FILES_MOST &&
			    shape & (SHAPE_FILES | SHAPE_ONLY_FILES))
				files[uploads.count++] = (struct http_upload){
				        field.name, field.value, field.value, field.len};
		}
	if (form_read(arena, route->inputs, &all, &uploads, &form, NULL) == ST_OK)
		check_form(route->inputs, form);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
	char *copy = fuzz_string(bytes, len);
	struct arena *arena = arena_new();
	struct values values;

	must(arena != NULL, "there is memory");
	if (len > 1) {
		split(copy + 1, len - 1, &values);
		for (size_t i = 0; i < routes_count; i++) {
			fill(arena, &routes[i], &values, bytes[0]);
			arena_reset(arena);
		}
	}
	arena_free(arena);
	free(copy);
	return 0;
}
