/* tmpl_compile.c - from the text of a template to operations.
 *
 * One pass cuts the file into text and tags, line by line. At the end of each
 * line it is known whether tags stood alone on it; then the line's own
 * whitespace is dropped, and goes to a partial as indentation. The lint walks
 * along. A second pass joins neighbouring text and links sections to their
 * ends.
 */
#include "web/html/tmpl_parts.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"

struct open_section {
	uint32_t op;
	const char *name;
	size_t len;
	struct lint lint; /* where it began */
};

struct compiler {
	const struct tmpl_set *set;
	const char *file, *at, *end;
	struct tmpl_fault *fault;
	struct tmpl_op *ops;
	uint32_t count;
	unsigned line, column; /* of at */
	uint32_t line_op;      /* first operation of this line */
	unsigned line_tags;    /* tags on this line */
	bool line_ink;         /* this line holds more than blanks and tags that print nothing */
	bool line_begun;
	struct lint lint;
	struct open_section open[TMPL_NESTED_SECTIONS];
	unsigned n_open;
};

struct tag {
	const char *name; /* trimmed */
	size_t len;
	char sign; /* one of ! # ^ / > or 0 for a value */
	const char *end;
};

void tmpl_fault_set(struct tmpl_fault *fault, const char *file, unsigned line, unsigned column,
                    const char *format, ...)
{
	va_list args;

	snprintf(fault->file, sizeof fault->file, "%s", file);
	fault->line = line;
	fault->column = column;
	va_start(args, format);
	vsnprintf(fault->words, sizeof fault->words, format, args);
	va_end(args);
}

static enum status refuse(const struct compiler *c, const char *words)
{
	tmpl_fault_set(c->fault, c->file, c->line, c->column, "%s", words);
	return ST_INVALID;
}

/* Passes over one byte; continuation bytes of UTF-8 are not counted. */
static void step(struct compiler *c)
{
	if (*c->at == '\n') {
		c->line++;
		c->column = 1;
	} else if (((unsigned char)*c->at & 0xC0) != 0x80) {
		c->column++;
	}
	c->at++;
}

static void step_to(struct compiler *c, const char *to)
{
	while (c->at < to)
		step(c);
}

static struct tmpl_op *add_op(struct compiler *c, enum tmpl_op_kind kind)
{
	struct tmpl_op *op = &c->ops[c->count++];

	op->kind = kind;
	op->line = c->line;
	op->column = c->column;
	return op;
}

/* If the line's one tag is a partial, gives it the blanks before it. */
static void indent_partial(struct compiler *c)
{
	const struct tmpl_op *blanks = &c->ops[c->line_op];

	if (c->line_tags != 1)
		return;
	for (uint32_t i = c->line_op; i < c->count; i++) {
		if (c->ops[i].kind != OP_PARTIAL)
			continue;
		c->ops[i].alone = true;
		if (blanks->kind == OP_TEXT) {
			c->ops[i].text = blanks->text;
			c->ops[i].len = blanks->len;
		}
	}
}

static void drop_blanks(struct compiler *c)
{
	uint32_t kept = c->line_op;

	for (uint32_t i = c->line_op; i < c->count; i++) {
		if (c->ops[i].kind == OP_TEXT || c->ops[i].kind == OP_INDENT)
			continue;
		if (c->n_open > 0 && c->open[c->n_open - 1].op == i)
			c->open[c->n_open - 1].op = kept;
		c->ops[kept++] = c->ops[i];
	}
	memset(&c->ops[kept], 0, (c->count - kept) * sizeof *c->ops);
	c->count = kept;
}

static void end_line(struct compiler *c)
{
	if (c->line_tags > 0 && !c->line_ink) {
		indent_partial(c);
		drop_blanks(c);
	}
	c->line_op = c->count;
	c->line_tags = 0;
	c->line_ink = false;
	c->line_begun = false;
}

/* Text up to the end of the line, the next tag or the end of the file. */
static enum status compile_text(struct compiler *c, const char *until)
{
	const char *newline = memchr(c->at, '\n', (size_t)(until - c->at));
	struct tmpl_op *op = add_op(c, OP_TEXT);

	if (newline)
		until = newline + 1;
	op->text = c->at;
	op->len = (size_t)(until - c->at);
	op->line_start = !c->line_begun;
	c->line_begun = true;
	while (c->at < until) {
		const char *words = lint_text(&c->lint, *c->at);

		if (words)
			return refuse(c, words);
		c->line_ink |= !strchr(" \t\r\n", *c->at);
		step(c);
	}
	if (newline)
		end_line(c);
	return ST_OK;
}

static bool is_blank(char c)
{
	return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

/* Reads the tag at c->at without passing over it. */
static enum status read_tag(const struct compiler *c, struct tag *tag)
{
	const char *at = c->at + 2;
	const char *end = memmem(at, (size_t)(c->end - at), "}}", 2);

	if (!end)
		return refuse(c, "a tag that no }} ends");
	tag->end = end + 2;
	while (at < end && is_blank(*at))
		at++;
	tag->sign = at < end && memchr("!#^/>{&=", *at, 8) ? *at++ : '\0';
	if (tag->sign == '{' || tag->sign == '&')
		return refuse(c, "a raw tag: there is none, everything is escaped");
	if (tag->sign == '=')
		return refuse(c, "a change of delimiters: there is none");
	while (at < end && is_blank(*at))
		at++;
	while (end > at && is_blank(end[-1]))
		end--;
	tag->name = at;
	tag->len = (size_t)(end - at);
	return ST_OK;
}

static bool is_name_char(char c)
{
	return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
	       c == '_' || c == '-';
}

/* Length of the word at the start of len bytes. */
static size_t word_length(const char *at, size_t len)
{
	size_t n = 0;

	while (n < len && is_name_char(at[n]))
		n++;
	return n;
}

static bool name_is_well_formed(const char *at, size_t len)
{
	if (len == 1 && *at == '.')
		return true;
	for (;;) {
		size_t n = word_length(at, len);

		if (n == 0)
			return false;
		if (n == len)
			return true;
		if (at[n] != '.')
			return false;
		at += n + 1;
		len -= n + 1;
	}
}

static uint32_t count_dots(const char *at, size_t len)
{
	uint32_t dots = 0;

	for (size_t i = 0; i < len; i++)
		dots += at[i] == '.';
	return dots;
}

/* Cuts a well-formed name at its dots. */
static enum status set_words(struct compiler *c, struct tmpl_op *op, const struct tag *tag)
{
	const char *at = tag->name;
	size_t left = tag->len;
	uint32_t count = count_dots(at, left) + 1;
	struct tmpl_word *words;

	if (left == 1 && *at == '.')
		return ST_OK;
	words = ARENA_ARRAY(c->set->arena, struct tmpl_word, count);
	if (!words)
		return ST_NOMEM;
	for (uint32_t i = 0; i < count; i++) {
		size_t n = word_length(at, left);

		words[i].at = arena_copy(c->set->arena, at, n);
		words[i].len = n;
		at += n + 1;
		left -= i + 1 < count ? n + 1 : n;
	}
	op->words = words;
	op->n_words = count;
	return arena_failed(c->set->arena) ? ST_NOMEM : ST_OK;
}

static enum status compile_value(struct compiler *c, const struct tag *tag)
{
	const char *words = lint_name(&c->lint, tag->name, tag->len);

	c->line_ink = true;
	if (words)
		return refuse(c, words);
	return set_words(c, add_op(c, OP_VALUE), tag);
}

static enum status begin_section(struct compiler *c, const struct tag *tag)
{
	const char *words = lint_section(&c->lint);
	struct open_section *open = &c->open[c->n_open];

	if (words)
		return refuse(c, words);
	if (c->n_open == TMPL_NESTED_SECTIONS)
		return refuse(c, "sections within sections without end");
	open->op = c->count;
	open->name = tag->name;
	open->len = tag->len;
	open->lint = c->lint;
	c->n_open++;
	return set_words(c, add_op(c, tag->sign == '#' ? OP_SECTION : OP_INVERTED), tag);
}

static enum status end_section(struct compiler *c, const struct tag *tag)
{
	const struct open_section *open;
	const char *words;

	if (c->n_open == 0)
		return refuse(c, "the end of a section that was not begun");
	open = &c->open[c->n_open - 1];
	if (open->len != tag->len || memcmp(open->name, tag->name, tag->len) != 0) {
		tmpl_fault_set(c->fault, c->file, c->line, c->column,
		               "the end of another section than %.*s", (int)open->len, open->name);
		return ST_INVALID;
	}
	words = lint_section_end(&c->lint, &open->lint);
	if (words)
		return refuse(c, words);
	c->n_open--;
	add_op(c, OP_END);
	return ST_OK;
}

static enum status compile_partial(struct compiler *c, const struct tag *tag)
{
	const char *words = lint_partial(&c->lint);
	char *name;
	const struct tmpl_file *file;
	struct tmpl_op *op;

	if (words)
		return refuse(c, words);
	name = arena_copy(c->set->arena, tag->name, tag->len);
	if (!name)
		return ST_NOMEM;
	file = tmpl_find(c->set, name);
	if (!file || strlen(name) != tag->len)
		return refuse(c, "there is no file of that name");
	op = add_op(c, OP_PARTIAL);
	op->target = (uint32_t)(file - c->set->files);
	return ST_OK;
}

static enum status compile_by_sign(struct compiler *c, const struct tag *tag)
{
	if (tag->sign == '!')
		return ST_OK;
	if (tag->sign == '>')
		return compile_partial(c, tag);
	if (!name_is_well_formed(tag->name, tag->len))
		return refuse(c, "a name is letters, digits, _ and -, joined by dots");
	if (tag->sign == '/')
		return end_section(c, tag);
	return tag->sign ? begin_section(c, tag) : compile_value(c, tag);
}

static enum status compile_tag(struct compiler *c)
{
	struct tag tag;
	enum status status = read_tag(c, &tag);

	if (status)
		return status;
	if (!c->line_begun)
		add_op(c, OP_INDENT);
	c->line_begun = true;
	c->line_tags++;
	status = compile_by_sign(c, &tag);
	if (status == ST_OK)
		step_to(c, tag.end);
	return status;
}

static enum status compile_all(struct compiler *c)
{
	enum status status = ST_OK;
	const char *words;

	while (status == ST_OK && c->at < c->end) {
		const char *tag = memmem(c->at, (size_t)(c->end - c->at), "{{", 2);

		if (tag == c->at)
			status = compile_tag(c);
		else
			status = compile_text(c, tag ? tag : c->end);
	}
	if (status)
		return status;
	end_line(c);
	if (c->n_open > 0) {
		const struct open_section *open = &c->open[c->n_open - 1];

		tmpl_fault_set(c->fault, c->file, c->ops[open->op].line, c->ops[open->op].column,
		               "section %.*s has no end", (int)open->len, open->name);
		return ST_INVALID;
	}
	words = lint_end(&c->lint);
	return words ? refuse(c, words) : ST_OK;
}

static bool continues(const struct tmpl_op *before, const struct tmpl_op *op)
{
	return before->kind == OP_TEXT && op->kind == OP_TEXT &&
	       before->text + before->len == op->text;
}

/* Joins text to text and tells sections where they end. */
static void link_ops(struct compiler *c)
{
	uint32_t open[TMPL_NESTED_SECTIONS];
	unsigned n_open = 0;
	uint32_t kept = 0;

	for (uint32_t i = 0; i < c->count; i++) {
		struct tmpl_op *op = &c->ops[i];

		if (kept > 0 && continues(&c->ops[kept - 1], op)) {
			c->ops[kept - 1].len += op->len;
			continue;
		}
		if (op->kind == OP_SECTION || op->kind == OP_INVERTED)
			open[n_open++] = kept;
		else if (op->kind == OP_END)
			c->ops[open[--n_open]].target = kept;
		c->ops[kept++] = *op;
	}
	c->count = kept;
}

/* Moves the operations into the set, at their true number. */
static enum status keep_ops(struct compiler *c, struct tmpl_file *out)
{
	struct tmpl_op *ops;

	link_ops(c);
	ops = ARENA_ARRAY(c->set->arena, struct tmpl_op, c->count);
	if (!ops)
		return ST_NOMEM;
	memcpy(ops, c->ops, c->count * sizeof *ops);
	out->ops = ops;
	out->count = c->count;
	return ST_OK;
}

/* Most operations that a file can need: a text for each line and after each
 * tag, and for each tag its own and an OP_INDENT. */
static size_t most_ops(const struct embedded_file *file)
{
	size_t most = 2;

	for (size_t i = 0; i < file->len; i++)
		most += file->bytes[i] == '\n' ? 1 : file->bytes[i] == '{' ? 2 : 0;
	return most;
}

enum status tmpl_compile(const struct tmpl_set *set, const struct embedded_file *file,
                         struct tmpl_file *out, struct tmpl_fault *fault)
{
	struct compiler c = {.set = set,
	                     .file = file->name,
	                     .at = file->bytes,
	                     .end = file->bytes + file->len,
	                     .fault = fault,
	                     .line = 1,
	                     .column = 1};
	enum status status;

	c.ops = mem_zero(most_ops(file) * sizeof *c.ops);
	if (!c.ops)
		return ST_NOMEM;
	status = compile_all(&c);
	if (status == ST_OK)
		status = keep_ops(&c, out);
	mem_free(c.ops);
	return status;
}
