#include "store/words.h"

#include <ctype.h>
#include <stdbool.h>

static bool is_blank(char c)
{
	return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

/* Could the tokenizer find a word in it? Marks alone are none. */
static bool has_word(const char *at, size_t len)
{
	for (size_t i = 0; i < len; i++)
		if (isalnum((unsigned char)at[i]) || (unsigned char)at[i] >= 0x80)
			return true;
	return false;
}

static void add_quoted(struct text *out, const char *at, size_t len)
{
	text_add(out, out->len ? " AND \"" : "\"");
	for (size_t i = 0; i < len; i++) {
		if (at[i] == '"')
			text_add_char(out, '"');
		text_add_char(out, at[i]);
	}
	text_add(out, "\"*");
}

void words_match(const char *text, struct text *out)
{
	size_t words = 0;

	while (*text && words < WORDS_MOST) {
		size_t len = 0;

		while (is_blank(*text))
			text++;
		while (text[len] && !is_blank(text[len]))
			len++;
		if (has_word(text, len)) {
			add_quoted(out, text, len);
			words++;
		}
		text += len;
	}
}
