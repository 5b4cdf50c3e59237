#include "core/slice.h"

#include <stdio.h>
#include <string.h>

#include "base/utf8.h"

static bool is_blank(char c)
{
	return c == ' ' || c == '\t' || c == '\r';
}

struct slice slice_trim(struct slice s)
{
	while (s.len && is_blank(s.at[0])) {
		s.at++;
		s.len--;
	}
	while (s.len && is_blank(s.at[s.len - 1]))
		s.len--;
	return s;
}

struct slice slice_cut(struct slice *rest, char mark)
{
	const char *end = memchr(rest->at, mark, rest->len);
	struct slice head = *rest;

	if (!end) {
		rest->at = NULL;
		rest->len = 0;
		return head;
	}
	head.len = (size_t)(end - rest->at);
	rest->at = end + 1;
	rest->len -= head.len + 1;
	return head;
}

struct slice slice_word(struct slice *rest)
{
	struct slice word;

	*rest = slice_trim(*rest);
	word = (struct slice){rest->at, 0};
	while (word.len < rest->len && !is_blank(rest->at[word.len]))
		word.len++;
	rest->at += word.len;
	rest->len -= word.len;
	return word;
}

bool slice_is(struct slice s, const char *word)
{
	size_t i = 0;

	for (; i < s.len && word[i]; i++)
		if ((s.at[i] | 0x20) != word[i] && s.at[i] != word[i])
			return false;
	return i == s.len && !word[i];
}

/* Column of at, which lies in the line: characters from 1. */
static unsigned column_of(struct slice line, const char *at)
{
	unsigned column = 1;

	for (const char *c = line.at; c < at; c++)
		column += ((unsigned char)*c & 0xC0) != 0x80;
	return column;
}

enum status slice_fail(struct statement_fault *fault, struct slice line, unsigned number,
                       const char *at, const char *expected)
{
	fault->line = number;
	fault->column = column_of(line, at);
	snprintf(fault->expected, sizeof fault->expected, "%s", expected);
	return ST_INVALID;
}

enum status slice_check(struct slice text, size_t longest, struct statement_fault *fault)
{
	size_t where;
	enum utf8_fault found = utf8_check(text.at, text.len, &where);
	struct slice line = text;
	unsigned number = 1;
	char expected[100];

	if (text.len > longest) {
		snprintf(expected, sizeof expected, "at most %zu bytes", longest);
		return slice_fail(fault, text, 1, text.at, expected);
	}
	if (found == UTF8_FINE)
		return ST_OK;
	for (size_t i = 0; i < where; i++)
		if (text.at[i] == '\n') {
			number++;
			line.at = text.at + i + 1;
		}
	snprintf(expected, sizeof expected, "plain text; this %s", utf8_fault_words(found));
	return slice_fail(fault, line, number, text.at + where, expected);
}
