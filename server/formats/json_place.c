#include "formats/json_place.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

struct walk {
	const char *at, *end;
};

static void skip_blanks(struct walk *w)
{
	while (w->at < w->end && strchr(" \t\r\n,:", *w->at))
		w->at++;
}

/* Behind the closing quote of the string at w. */
static void skip_string(struct walk *w)
{
	for (w->at++; w->at < w->end && *w->at != '"'; w->at++)
		if (*w->at == '\\')
			w->at++;
	if (w->at < w->end)
		w->at++;
}

/* Behind the value at w, brackets counted outside of strings. */
static void skip_value(struct walk *w)
{
	int depth = 0;

	do {
		char c = *w->at;

		if (c == '"') {
			skip_string(w);
		} else {
			depth += (c == '{' || c == '[') - (c == '}' || c == ']');
			w->at++;
			if (depth == 0 && c != '}' && c != ']')
				while (w->at < w->end && !strchr(" \t\r\n,]}", *w->at))
					w->at++;
		}
	} while (w->at < w->end && depth > 0);
}

/* Does the key at w (a JSON string) equal the reference token? Keys of our
 * formats hold no escapes; one that does is not found, its object is. */
static bool is_key(const struct walk *w, const char *token, size_t len)
{
	const char *key = w->at + 1;

	for (size_t i = 0; i < len; i++, key++) {
		char c = token[i];

		if (c == '~' && i + 1 < len)
			c = token[++i] == '0' ? '~' : '/';
		if (key >= w->end || *key != c)
			return false;
	}
	return key < w->end && *key == '"';
}

static bool enter_object(struct walk *w, const char *token, size_t len)
{
	w->at++;
	for (skip_blanks(w); w->at < w->end && *w->at == '"'; skip_blanks(w)) {
		bool found = is_key(w, token, len);

		skip_string(w);
		skip_blanks(w);
		if (found)
			return true;
		skip_value(w);
	}
	return false;
}

static bool enter_array(struct walk *w, const char *token)
{
	unsigned long index = strtoul(token, NULL, 10);

	w->at++;
	for (skip_blanks(w); w->at < w->end && *w->at != ']'; skip_blanks(w)) {
		if (index-- == 0)
			return true;
		skip_value(w);
	}
	return false;
}

static bool enter(struct walk *w, const char *token, size_t len)
{
	if (w->at < w->end && *w->at == '{')
		return enter_object(w, token, len);
	if (w->at < w->end && *w->at == '[')
		return enter_array(w, token);
	return false;
}

void json_place_find(const char *text, size_t len, const char *pointer, unsigned *line,
                     unsigned *column)
{
	struct walk w = {text, text + len};
	const char *found;

	skip_blanks(&w);
	found = w.at;
	while (*pointer == '/') {
		size_t token = strcspn(++pointer, "/");

		if (!enter(&w, pointer, token))
			break;
		found = w.at;
		pointer += token;
	}
	*line = 1;
	*column = 1;
	for (const char *c = text; c < found; c++) {
		*column = *c == '\n' ? 1 : *column + (((unsigned char)*c & 0xC0) != 0x80);
		*line += *c == '\n';
	}
}
