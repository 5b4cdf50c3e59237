/* tmpl.c - sets of templates, and filling them.
 *
 * Filling walks the operations of a file over a stack of values at hand. It
 * allocates nothing but the text of the page. Values are added in runs between
 * the characters to escape.
 */
#include "web/html/tmpl_parts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/mem.h"

#define LONGEST_INDENT 256

struct filler {
	const struct tmpl_set *set;
	const struct tmpl_file *file; /* the one being filled */
	struct text *out;
	struct tmpl_fault *fault;
	const json_t *at_hand[TMPL_NESTED_VALUES + 1];
	unsigned n_at_hand;
	unsigned nested; /* sections and partials being filled */
	unsigned passes;
	size_t indent_from, indent_to; /* what is written before each line, of: */
	char indent[LONGEST_INDENT];
};

static enum status fill(struct filler *f, uint32_t from, uint32_t to);

const struct tmpl_file *tmpl_find(const struct tmpl_set *set, const char *name)
{
	for (size_t i = 0; i < set->count; i++)
		if (strcmp(set->files[i].name, name) == 0)
			return &set->files[i];
	return NULL;
}

static enum status compile_files(struct tmpl_set *set, const struct embedded_file *files,
                                 struct tmpl_fault *fault)
{
	enum status status = ST_OK;

	for (size_t i = 0; i < set->count; i++)
		set->files[i].name = files[i].name;
	for (size_t i = 0; i < set->count && status == ST_OK; i++)
		status = tmpl_compile(set, &files[i], &set->files[i], fault);
	return status;
}

enum status tmpl_set_new(const struct embedded_file *files, size_t count, struct tmpl_set **out,
                         struct tmpl_fault *fault)
{
	struct tmpl_set *set = mem_zero(sizeof *set);
	enum status status = ST_NOMEM;

	if (!set)
		return ST_NOMEM;
	set->arena = arena_new();
	if (!set->arena)
		goto failed;
	set->files = ARENA_ARRAY(set->arena, struct tmpl_file, count);
	if (!set->files)
		goto failed;
	set->count = count;
	status = compile_files(set, files, fault);
	if (status)
		goto failed;
	*out = set;
	return ST_OK;
failed:
	tmpl_set_free(set);
	return status;
}

void tmpl_set_free(struct tmpl_set *set)
{
	if (!set)
		return;
	arena_free(set->arena);
	mem_free(set);
}

/* For each byte: how it is written, NULL for itself. */
static const char *const escapes[256] = {
        ['&'] = "&amp;", ['<'] = "&lt;", ['>'] = "&gt;", ['"'] = "&quot;", ['\''] = "&#39;"};

void tmpl_escape(struct text *out, const char *at, size_t len)
{
	const char *end = at + len;
	const char *run = at;

	for (; at < end; at++) {
		const char *written = escapes[(unsigned char)*at];

		if (!written)
			continue;
		text_add_bytes(out, run, (size_t)(at - run));
		text_add(out, written);
		run = at + 1;
	}
	text_add_bytes(out, run, (size_t)(end - run));
}

static enum status fail(const struct filler *f, const struct tmpl_op *op, enum status status,
                        const char *words)
{
	const char *last = op->n_words ? op->words[op->n_words - 1].at : ".";

	tmpl_fault_set(f->fault, f->file->name, op->line, op->column, "%.80s: %s",
	               op->kind == OP_PARTIAL ? f->set->files[op->target].name : last, words);
	return status;
}

/* The value that op names, NULL when there is none. */
static const json_t *look_up(const struct filler *f, const struct tmpl_op *op)
{
	const json_t *value = NULL;

	if (op->n_words == 0)
		return f->at_hand[f->n_at_hand - 1];
	for (unsigned i = f->n_at_hand; i > 0 && !value; i--)
		value = json_object_getn(f->at_hand[i - 1], op->words[0].at, op->words[0].len);
	for (uint32_t i = 1; i < op->n_words && value; i++)
		value = json_object_getn(value, op->words[i].at, op->words[i].len);
	return value;
}

static void add_integer(struct text *out, json_int_t value)
{
	char digits[24];
	char *at = digits + sizeof digits;
	unsigned long long left =
	        value < 0 ? 0 - (unsigned long long)value : (unsigned long long)value;

	do
		*--at = (char)('0' + left % 10);
	while (left /= 10);
	if (value < 0)
		*--at = '-';
	text_add_bytes(out, at, (size_t)(digits + sizeof digits - at));
}

/* As few digits as name the number. */
static void add_real(struct text *out, double value)
{
	char digits[40];

	snprintf(digits, sizeof digits, "%.15g", value);
	if (strtod(digits, NULL) != value)
		snprintf(digits, sizeof digits, "%.17g", value);
	text_add(out, digits);
}

static enum status fill_value(struct filler *f, const struct tmpl_op *op)
{
	const json_t *value = look_up(f, op);

	if (!value)
		return fail(f, op, ST_MISSING, "the view has no such name");
	switch (json_typeof(value)) {
	case JSON_STRING:
		tmpl_escape(f->out, json_string_value(value), json_string_length(value));
		return ST_OK;
	case JSON_INTEGER:
		add_integer(f->out, json_integer_value(value));
		return ST_OK;
	case JSON_REAL:
		add_real(f->out, json_real_value(value));
		return ST_OK;
	case JSON_TRUE:
		text_add(f->out, "true");
		return ST_OK;
	case JSON_FALSE:
		text_add(f->out, "false");
		return ST_OK;
	case JSON_NULL:
		return ST_OK;
	default:
		return fail(f, op, ST_INVALID, "an object or array where text is wanted");
	}
}

static bool holds(const json_t *value)
{
	if (!value)
		return false;
	switch (json_typeof(value)) {
	case JSON_OBJECT:
	case JSON_TRUE:
		return true;
	case JSON_ARRAY:
		return json_array_size(value) > 0;
	case JSON_STRING:
		return json_string_length(value) > 0;
	case JSON_INTEGER:
		return json_integer_value(value) != 0;
	case JSON_REAL:
		return json_real_value(value) < 0 || json_real_value(value) > 0;
	default:
		return false;
	}
}

/* Fills what lies between a section's op and its end; value may be NULL for
 * nothing new at hand. */
static enum status fill_body(struct filler *f, const struct tmpl_op *op, const json_t *value)
{
	uint32_t first = (uint32_t)(op - f->file->ops) + 1;
	enum status status;

	if (f->nested == TMPL_NESTED_VALUES)
		return fail(f, op, ST_LIMIT, "sections and files within each other without end");
	if (f->passes++ == TMPL_MOST_PASSES || f->out->len > TMPL_LONGEST_PAGE)
		return fail(f, op, ST_LIMIT, "the page grows without end");
	f->nested++;
	if (value)
		f->at_hand[f->n_at_hand++] = value;
	status = fill(f, first, op->target);
	if (value)
		f->n_at_hand--;
	f->nested--;
	return status;
}

static enum status fill_section(struct filler *f, const struct tmpl_op *op)
{
	const json_t *value = look_up(f, op);
	enum status status = ST_OK;

	if (!holds(value))
		return ST_OK;
	if (json_is_true(value))
		return fill_body(f, op, NULL);
	if (!json_is_array(value))
		return fill_body(f, op, value);
	for (size_t i = 0; i < json_array_size(value) && status == ST_OK; i++)
		status = fill_body(f, op, json_array_get(value, i));
	return status;
}

static enum status fill_inverted(struct filler *f, const struct tmpl_op *op)
{
	return holds(look_up(f, op)) ? ST_OK : fill_body(f, op, NULL);
}

/* A partial alone on its line adds the blanks before it to the indentation;
 * one within a line begins without any. */
static enum status indent(struct filler *f, const struct tmpl_op *op)
{
	if (!op->alone)
		f->indent_from = f->indent_to;
	if (op->len > LONGEST_INDENT - f->indent_to)
		return fail(f, op, ST_LIMIT, "indented too far");
	if (op->len)
		memcpy(f->indent + f->indent_to, op->text, op->len);
	f->indent_to += op->len;
	return ST_OK;
}

static enum status fill_partial(struct filler *f, const struct tmpl_op *op)
{
	const struct tmpl_file *holder = f->file;
	size_t from = f->indent_from;
	size_t to = f->indent_to;
	enum status status;

	if (f->nested == TMPL_NESTED_VALUES || f->passes++ == TMPL_MOST_PASSES)
		return fail(f, op, ST_LIMIT, "files within each other without end");
	status = indent(f, op);
	if (status)
		return status;
	f->nested++;
	f->file = &f->set->files[op->target];
	status = fill(f, 0, f->file->count);
	f->file = holder;
	f->nested--;
	f->indent_from = from;
	f->indent_to = to;
	return status;
}

static void add_indent(struct filler *f)
{
	text_add_bytes(f->out, f->indent + f->indent_from, f->indent_to - f->indent_from);
}

/* Text with the indentation before each line that is not empty. */
static void add_indented(struct filler *f, const struct tmpl_op *op)
{
	const char *at = op->text;
	const char *end = at + op->len;
	bool line_start = op->line_start;

	while (at < end) {
		const char *newline = memchr(at, '\n', (size_t)(end - at));
		const char *next = newline ? newline + 1 : end;

		if (line_start && *at != '\n')
			add_indent(f);
		text_add_bytes(f->out, at, (size_t)(next - at));
		line_start = true;
		at = next;
	}
}

static void fill_text(struct filler *f, const struct tmpl_op *op)
{
	if (f->indent_to > f->indent_from)
		add_indented(f, op);
	else
		text_add_bytes(f->out, op->text, op->len);
}

static enum status fill(struct filler *f, uint32_t from, uint32_t to)
{
	enum status status = ST_OK;

	for (uint32_t i = from; i < to && status == ST_OK; i++) {
		const struct tmpl_op *op = &f->file->ops[i];

		switch (op->kind) {
		case OP_TEXT:
			fill_text(f, op);
			break;
		case OP_INDENT:
			add_indent(f);
			break;
		case OP_VALUE:
			status = fill_value(f, op);
			break;
		case OP_SECTION:
			status = fill_section(f, op);
			i = op->target;
			break;
		case OP_INVERTED:
			status = fill_inverted(f, op);
			i = op->target;
			break;
		case OP_PARTIAL:
			status = fill_partial(f, op);
			break;
		case OP_END:
			break;
		}
	}
	return status;
}

enum status tmpl_render(const struct tmpl_set *set, const char *name, const json_t *view,
                        struct text *out, struct tmpl_fault *fault)
{
	struct filler f = {.set = set, .out = out, .fault = fault};
	enum status status;

	f.file = tmpl_find(set, name);
	if (!f.file) {
		tmpl_fault_set(fault, name, 1, 1, "there is no file of that name");
		return ST_MISSING;
	}
	f.at_hand[f.n_at_hand++] = view;
	status = fill(&f, 0, f.file->count);
	return status == ST_OK && text_failed(out) ? ST_NOMEM : status;
}

bool url_is_http(const char *url)
{
	if (strncasecmp(url, "http://", 7) != 0 && strncasecmp(url, "https://", 8) != 0)
		return false;
	url = strchr(url, '/') + 2;
	if (*url == '/' || *url == '\0')
		return false;
	for (; *url; url++)
		if ((unsigned char)*url <= ' ' || *url == 0x7F || *url == '\\')
			return false;
	return true;
}
