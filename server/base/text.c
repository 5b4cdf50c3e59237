#include "base/text.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"

static bool make_room(struct text *text, size_t more)
{
	size_t room = text->room ? text->room : 64;
	char *at;

	if (text->failed || more >= SIZE_MAX / 2 - text->len) {
		text->failed = true;
		return false;
	}
	if (text->len + more + 1 <= text->room)
		return true;
	while (room < text->len + more + 1)
		room *= 2;
	at = mem_resize(text->at, room);
	if (!at) {
		text->failed = true;
		return false;
	}
	text->at = at;
	text->room = room;
	return true;
}

void text_add_bytes(struct text *text, const char *at, size_t len)
{
	if (!make_room(text, len))
		return;
	if (len)
		memcpy(text->at + text->len, at, len);
	text->len += len;
	text->at[text->len] = '\0';
}

void text_add(struct text *text, const char *string)
{
	text_add_bytes(text, string, strlen(string));
}

void text_add_char(struct text *text, char c)
{
	text_add_bytes(text, &c, 1);
}

void text_printf(struct text *text, const char *format, ...)
{
	va_list args;
	va_list again;
	int len;

	va_start(args, format);
	va_copy(again, args);
	len = vsnprintf(NULL, 0, format, args);
	if (len < 0)
		text->failed = true;
	else if (make_room(text, (size_t)len)) {
		vsnprintf(text->at + text->len, (size_t)len + 1, format, again);
		text->len += (size_t)len;
	}
	va_end(again);
	va_end(args);
}

void text_clear(struct text *text)
{
	text->len = 0;
	if (text->at)
		text->at[0] = '\0';
}

void text_free(struct text *text)
{
	mem_free(text->at);
	*text = TEXT_EMPTY;
}

bool text_failed(const struct text *text)
{
	return text->failed;
}

const char *text_string(const struct text *text)
{
	return text->at && !text->failed ? text->at : "";
}
