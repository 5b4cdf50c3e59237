/* input.c - one field: from raw bytes to a typed value or an error in words.
 *
 * Every kind goes the same way: clean copy for showing again, check of the
 * characters, blanks trimmed, presence, length, and then its reader from the
 * table. A reader sees trimmed text that is not empty.
 */
#include <assert.h>
#include <string.h>

#include "base/text.h"
#include "base/utf8.h"
#include "os/password.h"
#include "os/token.h"
#include "web/html/form_parts.h"

#define LINE_LONGEST 200
#define TEXT_LONGEST 20000
#define FILE_LONGEST (10 * 1024 * 1024)
#define FILE_NAME_SHOWN 60 /* bytes */
#define DIGITS_MOST 15

struct reading {
	struct arena *arena;
	const struct input *input;
	struct form_value *value; /* text is set */
	size_t len;               /* of value->text */
};

static enum status fault(struct reading *r, const char *words)
{
	r->value->error = arena_printf(r->arena, "%s %s", r->input->label, words);
	return r->value->error ? ST_OK : ST_NOMEM;
}

static enum status read_words(struct reading *r)
{
	(void)r;
	return ST_OK;
}

static enum status read_name(struct reading *r)
{
	return name_make(r->arena, r->value->text, r->len, &r->value->name);
}

/* A date may be written as people do; what is kept and shown again is the one
 * form. */
static enum status take_date(struct reading *r, bool whole, const char *words)
{
	enum status status = date_read(r->value->text, r->len, &r->value->date);
	char room[DATE_TEXT_SIZE];

	if (status == ST_MISSING)
		return fault(r, "can be two days; write it as 2017-09-24");
	if (status == ST_INVALID || (whole && r->value->date.precision != DATE_DAY))
		return fault(r, words);
	if (status != ST_OK)
		return status;
	date_print(r->value->date, room);
	r->value->text = arena_copy(r->arena, room, strlen(room));
	return r->value->text ? ST_OK : ST_NOMEM;
}

static enum status read_date(struct reading *r)
{
	return take_date(r, false, "must be a date such as 2017, 2017-09 or 2017-09-24");
}

static enum status read_day(struct reading *r)
{
	return take_date(r, true, "must be a whole date such as 2017-09-24");
}

/* Digits with at most `decimals` of them behind a point, as a whole number of
 * the smallest unit. */
static bool parse_decimal(const char *text, unsigned decimals, int64_t *out)
{
	bool negative = text[0] == '-';
	const char *at = text + negative;
	size_t whole = strspn(at, "0123456789");
	size_t behind = at[whole] == '.' ? strspn(at + whole + 1, "0123456789") : 0;
	const char *end = at + whole + (at[whole] == '.') + behind;
	int64_t number = 0;

	if (whole == 0 || whole > DIGITS_MOST || *end || behind > decimals ||
	    (at[whole] == '.' && behind == 0))
		return false;
	for (; at < end; at++)
		if (*at != '.')
			number = number * 10 + (*at - '0');
	for (; behind < decimals; behind++)
		number *= 10;
	*out = negative ? -number : number;
	return true;
}

static bool in_limits(const struct input *input, int64_t number)
{
	if (input->min == 0 && input->max == 0)
		return number >= 0;
	return number >= input->min && number <= input->max;
}

static enum status limit_fault(struct reading *r, int64_t unit)
{
	const struct input *input = r->input;

	if (input->min == 0 && input->max == 0)
		return fault(r, "must not be below 0");
	r->value->error =
	        arena_printf(r->arena, "%s must be from %lld to %lld", input->label,
	                     (long long)(input->min / unit), (long long)(input->max / unit));
	return r->value->error ? ST_OK : ST_NOMEM;
}

static enum status read_number(struct reading *r)
{
	if (!parse_decimal(r->value->text, 0, &r->value->number))
		return fault(r, "must be a whole number");
	return in_limits(r->input, r->value->number) ? ST_OK : limit_fault(r, 1);
}

static enum status read_hours(struct reading *r)
{
	if (!parse_decimal(r->value->text, 2, &r->value->number))
		return fault(r, "must be a number of hours such as 120 or 120.25");
	return in_limits(r->input, r->value->number) ? ST_OK : limit_fault(r, 100);
}

static enum status read_id(struct reading *r)
{
	if (!parse_decimal(r->value->text, 0, &r->value->number) || r->value->number <= 0)
		return fault(r, "is not one of those on offer");
	return ST_OK;
}

static enum status read_serial(struct reading *r)
{
	enum serial_fault found = serial_check(r->value->text, r->len, NULL);

	if (found != SERIAL_FINE)
		return fault(r, serial_fault_words(found));
	return serial_make(r->arena, r->value->text, r->len, &r->value->serial);
}

/* What a parser of several lines found. */
static enum status say_fault(struct reading *r, enum status status)
{
	struct form_value *value = r->value;

	if (status != ST_INVALID)
		return status;
	value->error =
	        arena_printf(r->arena, "%s, line %u, column %u: expected %s", r->input->label,
	                     value->fault.line, value->fault.column, value->fault.expected);
	return value->error ? ST_OK : ST_NOMEM;
}

/* What is kept, and shown again, is the one form of what was typed. */
static enum status read_statement(struct reading *r)
{
	struct form_value *value = r->value;
	struct text form = TEXT_EMPTY;
	enum status status = say_fault(r, effectivity_parse(r->arena, value->text, r->len,
	                                                    &value->statement, &value->fault));

	if (status != ST_OK || value->error)
		return status;
	effectivity_print(value->statement, &form);
	while (form.len && form.at[form.len - 1] == '\n')
		form.len--;
	value->text = form.failed ? NULL : arena_copy(r->arena, form.at, form.len);
	text_free(&form);
	return value->text ? ST_OK : ST_NOMEM;
}

static enum status read_due(struct reading *r)
{
	struct form_value *value = r->value;

	return say_fault(r, due_parse(r->arena, value->text, r->len, &value->due, &value->fault));
}

static enum status read_choice(struct reading *r)
{
	assert(r->input->choices);
	for (int i = 0; r->input->choices[i]; i++)
		if (strcmp(r->input->choices[i], r->value->text) == 0) {
			r->value->choice = i;
			return ST_OK;
		}
	return fault(r, "is not one of those on offer");
}

static enum status read_flag(struct reading *r)
{
	r->value->number = strcmp(r->value->text, "yes") == 0;
	return r->value->number ? ST_OK : fault(r, "must be ticked or left alone");
}

static enum status read_token(struct reading *r)
{
	return token_well_formed(r->value->text) ? ST_OK : fault(r, "is incomplete");
}

struct kind {
	enum status (*read)(struct reading *r); /* NULL: no text, blank or not, stands for one */
	unsigned longest; /* characters, where the row of the table names none */
	bool lines;       /* may hold line ends */
	bool secret;      /* never trimmed, never shown again */
};

static const struct kind kinds[INPUT_KINDS] = {
        [INPUT_LINE] = {read_words, LINE_LONGEST, false, false},
        [INPUT_TEXT] = {read_words, TEXT_LONGEST, true, false},
        [INPUT_NAME] = {read_name, NAME_LONGEST, false, false},
        [INPUT_DATE] = {read_date, LINE_LONGEST, false, false},
        [INPUT_DAY] = {read_day, LINE_LONGEST, false, false},
        [INPUT_NUMBER] = {read_number, LINE_LONGEST, false, false},
        [INPUT_HOURS] = {read_hours, LINE_LONGEST, false, false},
        [INPUT_SERIAL] = {read_serial, SERIAL_LONGEST, false, false},
        [INPUT_STATEMENT] = {read_statement, EFFECTIVITY_LONGEST, true, false},
        [INPUT_DUE] = {read_due, DUE_LONGEST, true, false},
        [INPUT_CHOICE] = {read_choice, LINE_LONGEST, false, false},
        [INPUT_FLAG] = {read_flag, LINE_LONGEST, false, false},
        [INPUT_ID] = {read_id, LINE_LONGEST, false, false},
        [INPUT_PASSWORD] = {read_words, PASSWORD_LONGEST, false, true},
        [INPUT_FILE] = {NULL, FILE_LONGEST, false, false},
        [INPUT_TOKEN] = {read_token, LINE_LONGEST, false, true},
};

/* Steps over the character at which utf8_check stopped. */
static size_t skip_refused(const char *at, size_t left, enum utf8_fault found)
{
	size_t n = 1;

	if (found != UTF8_MALFORMED)
		while (n < left && ((unsigned char)at[n] & 0xC0) == 0x80)
			n++;
	return n;
}

const char *input_showable(struct arena *arena, const char *at, size_t len)
{
	struct text out = TEXT_EMPTY;
	const char *copy = NULL;

	while (len > 0) {
		size_t fine = 0;
		enum utf8_fault found = utf8_check(at, len, &fine);

		text_add_bytes(&out, at, fine);
		if (found != UTF8_FINE) {
			text_add(&out, "\xEF\xBF\xBD");
			fine += skip_refused(at + fine, len - fine, found);
		}
		at += fine;
		len -= fine;
	}
	if (!text_failed(&out))
		copy = arena_string(arena, text_string(&out));
	text_free(&out);
	return copy;
}

/* CR LF and CR become LF, as HTML forms send CR LF for every line end. */
static char *unify_line_ends(struct arena *arena, const char *at, size_t len)
{
	char *copy = arena_array(arena, len + 1, 1);
	char *to = copy;

	for (size_t i = 0; copy && i < len; i++) {
		if (at[i] == '\r' && i + 1 < len && at[i + 1] == '\n')
			continue;
		*to++ = at[i] == '\r' ? '\n' : at[i];
	}
	return copy;
}

static bool is_blank(char c)
{
	return c == ' ' || c == '\t' || c == '\n';
}

/* Blanks go at both ends, but before the first line of a text with lines only
 * whole empty lines stay too: a fault's line and column must fit what was typed. */
static void trim(char **text, bool lines)
{
	size_t len = strlen(*text);

	while (len > 0 && is_blank((*text)[len - 1]))
		(*text)[--len] = '\0';
	while (!lines && is_blank(**text))
		(*text)++;
}

static enum status check_length(struct reading *r, size_t longest)
{
	r->value->error = arena_printf(r->arena, "%s is longer than %zu characters",
	                               r->input->label, longest);
	return r->value->error ? ST_OK : ST_NOMEM;
}

/* The text is well-formed and trimmed. */
static enum status read_text(struct reading *r)
{
	const struct kind *kind = &kinds[r->input->kind];
	size_t longest = r->input->longest ? r->input->longest : kind->longest;
	enum status status;

	if (r->len == 0)
		return r->input->required ? fault(r, "is needed") : ST_OK;
	if (!kind->lines && strchr(r->value->text, '\n'))
		return fault(r, "must be one line");
	if (utf8_length(r->value->text) > longest)
		return check_length(r, longest);
	status = kind->read(r);
	if (status == ST_OK && !r->value->error)
		r->value->given = true;
	return status;
}

static void forget_value(struct form_value *value)
{
	value->text = "";
	value->number = 0;
	value->choice = -1;
	value->statement = NULL;
	value->due = NULL;
}

static struct reading begin(struct arena *arena, const struct input *input,
                            struct form_value *value)
{
	*value = (struct form_value){.typed = "", .text = "", .choice = -1};
	return (struct reading){arena, input, value, 0};
}

enum status input_read(struct arena *arena, const struct input *input,
                       const struct http_field *field, struct form_value *value)
{
	const struct kind *kind = &kinds[input->kind];
	struct reading r = begin(arena, input, value);
	enum utf8_fault found = utf8_check(field->value, field->len, NULL);
	char *text;
	enum status status;

	if (!kind->read)
		return fault(&r, "must be a file");
	text = unify_line_ends(arena, field->value, field->len);
	value->typed = kind->secret ? "" : input_showable(arena, field->value, field->len);
	if (!text || !value->typed)
		return ST_NOMEM;
	if (found != UTF8_FINE)
		return fault(&r, utf8_fault_words(found));
	if (!kind->secret)
		trim(&text, kind->lines);
	value->text = text;
	r.len = strlen(text);
	status = read_text(&r);
	if (!value->given)
		forget_value(value);
	return status;
}

const char *input_file_name(struct arena *arena, const struct http_upload *upload)
{
	const char *name = upload->filename;
	size_t len;

	for (const char *at = name; *at; at++)
		if (*at == '/' || *at == '\\')
			name = at + 1;
	len = strlen(name);
	if (len > FILE_NAME_SHOWN)
		len = FILE_NAME_SHOWN;
	while (len > 0 && ((unsigned char)name[len] & 0xC0) == 0x80)
		len--; /* not in the middle of a character */
	return input_showable(arena, name, len);
}

/* Of many files it is told which. */
static enum status file_fault(struct reading *r, const struct http_upload *upload,
                              const char *words)
{
	const char *name = r->input->repeated ? input_file_name(r->arena, upload) : NULL;

	if (name)
		words = arena_printf(r->arena, "“%s” %s", name, words);
	return words ? fault(r, words) : ST_NOMEM;
}

enum status input_read_file(struct arena *arena, const struct input *input,
                            const struct http_upload *upload, struct form_value *value)
{
	size_t longest = input->longest ? input->longest : FILE_LONGEST;
	struct reading r = begin(arena, input, value);

	assert(input->kind == INPUT_FILE);
	if (upload->len == 0)
		return file_fault(&r, upload, "is an empty file");
	if (upload->len > longest) {
		const char *words = arena_printf(arena, "is larger than %zu kB", longest / 1024);

		return words ? file_fault(&r, upload, words) : ST_NOMEM;
	}
	value->file = upload;
	value->given = true;
	return ST_OK;
}

enum status input_absent(struct arena *arena, const struct input *input, struct form_value *value)
{
	struct reading r = begin(arena, input, value);

	return input->required ? fault(&r, "is needed") : ST_OK;
}
