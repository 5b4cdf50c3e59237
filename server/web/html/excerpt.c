#include "web/html/excerpt.h"

#include <string.h>

#include "base/arena.h"
#include "base/text.h"
#include "web/html/form_parts.h"
#include "web/html/present.h"

#define BEFORE 22 /* characters shown before the mark, so that it fits on a phone */
#define SHOWN 34  /* and in all */

/* The line, without its end; empty behind the last one. */
static const char *find_line(const char *text, const char *end, unsigned line, size_t *len)
{
	const char *stop;

	for (; line > 1 && text; line--) {
		text = memchr(text, '\n', (size_t)(end - text));
		text = text ? text + 1 : NULL;
	}
	if (!text)
		text = end;
	stop = memchr(text, '\n', (size_t)(end - text));
	*len = (size_t)((stop ? stop : end) - text);
	return text;
}

/* The first byte behind `count` characters. */
static const char *skip(const char *at, unsigned count)
{
	for (; count > 0 && *at; count--)
		do
			at++;
		while (((unsigned char)*at & 0xC0) == 0x80);
	return at;
}

static void add_part(struct text *out, const char *line, unsigned column)
{
	unsigned first = column > BEFORE ? column - BEFORE : 1;
	const char *from = skip(line, first - 1), *to = skip(from, SHOWN);

	text_add(out, first > 1 ? "…" : "");
	for (; from < to; from++)
		text_add_char(out, *from == '\t' || *from == '\r' ? ' ' : *from);
	text_add(out, *to ? "…" : "");
}

static void add_caret(struct text *out, unsigned column)
{
	unsigned blanks = column > BEFORE ? BEFORE + 1 : column;

	for (unsigned i = 1; i < blanks; i++)
		text_add_char(out, ' ');
	text_add_char(out, '^');
}

json_t *excerpt_view(const char *text, size_t len, unsigned line, unsigned column)
{
	struct arena *arena = arena_new();
	struct text words = TEXT_EMPTY, caret = TEXT_EMPTY;
	size_t line_len = 0;
	const char *at = find_line(text, text + len, line, &line_len);
	const char *shown = arena ? input_showable(arena, at, line_len) : NULL;
	json_t *view = NULL;

	if (shown) {
		add_part(&words, shown, column);
		add_caret(&caret, column);
	}
	if (shown && !text_failed(&words) && !text_failed(&caret))
		view = json_pack("{s:i, s:s, s:s}", "line", (int)line, "words", text_string(&words),
		                 "caret", text_string(&caret));
	text_free(&words);
	text_free(&caret);
	arena_free(arena);
	return view;
}

json_t *excerpt_of_fault(const struct json_fault *fault, const struct http_upload *file)
{
	if (!fault || fault->line == 0)
		return json_false();
	return json_pack("{s:i, s:i, s:o, s:o}", "at_line", (int)fault->line, "column",
	                 (int)fault->column, "place", present_text(fault->place), "excerpt",
	                 excerpt_view(file->bytes, file->len, fault->line, fault->column));
}
