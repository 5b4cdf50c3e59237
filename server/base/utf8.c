#include "base/utf8.h"

#include <stdbool.h>
#include <stdint.h>

/* Length of the sequence that the first byte announces, with the smallest code
 * point that may be written that long; 0 for a byte that starts nothing. */
static size_t sequence(unsigned char first, uint32_t *bits, uint32_t *least)
{
	if (first < 0x80) {
		*bits = first;
		*least = 0;
		return 1;
	}
	if (first >= 0xC2 && first <= 0xDF) {
		*bits = first & 0x1FU;
		*least = 0x80;
		return 2;
	}
	if (first >= 0xE0 && first <= 0xEF) {
		*bits = first & 0x0FU;
		*least = 0x800;
		return 3;
	}
	if (first >= 0xF0 && first <= 0xF4) {
		*bits = first & 0x07U;
		*least = 0x10000;
		return 4;
	}
	return 0;
}

/* Bytes of one code point at text, 0 when malformed. */
static size_t decode(const unsigned char *text, size_t len, uint32_t *point)
{
	uint32_t least = 0;
	size_t need = sequence(text[0], point, &least);

	if (need == 0 || need > len)
		return 0;
	for (size_t i = 1; i < need; i++) {
		if ((text[i] & 0xC0) != 0x80)
			return 0;
		*point = *point << 6 | (text[i] & 0x3FU);
	}
	if (*point < least || *point > 0x10FFFF || (*point >= 0xD800 && *point <= 0xDFFF))
		return 0;
	return need;
}

static bool is_control(uint32_t point)
{
	return (point < 0x20 && point != '\t' && point != '\n' && point != '\r') ||
	       (point >= 0x7F && point <= 0x9F);
}

static bool is_direction(uint32_t point)
{
	return point == 0x061C || point == 0x200E || point == 0x200F ||
	       (point >= 0x202A && point <= 0x202E) || (point >= 0x2066 && point <= 0x2069);
}

enum utf8_fault utf8_check(const char *text, size_t len, size_t *where)
{
	enum utf8_fault fault = UTF8_FINE;
	size_t at = 0;

	while (at < len) {
		uint32_t point = 0;
		size_t step = decode((const unsigned char *)text + at, len - at, &point);

		if (step == 0)
			fault = UTF8_MALFORMED;
		else if (is_control(point))
			fault = UTF8_CONTROL;
		else if (is_direction(point))
			fault = UTF8_DIRECTION;
		if (fault != UTF8_FINE)
			break;
		at += step;
	}
	if (where)
		*where = at;
	return fault;
}

const char *utf8_fault_words(enum utf8_fault fault)
{
	switch (fault) {
	case UTF8_MALFORMED:
		return "holds bytes that are not valid UTF-8 text";
	case UTF8_CONTROL:
		return "holds a control character";
	case UTF8_DIRECTION:
		return "holds a hidden mark that turns the direction of text";
	case UTF8_FINE:
		break;
	}
	return "is fine";
}

size_t utf8_length(const char *text)
{
	size_t count = 0;

	for (; *text; text++)
		count += ((unsigned char)*text & 0xC0) != 0x80;
	return count;
}
