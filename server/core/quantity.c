#include "core/quantity.h"

#include <stdbool.h>
#include <string.h>

static bool all_digits(const char *text, size_t len)
{
	for (size_t i = 0; i < len; i++)
		if (text[i] < '0' || text[i] > '9')
			return false;
	return len > 0;
}

enum status count_parse(const char *text, size_t len, int64_t *out)
{
	int64_t value = 0;

	if (len > 7 || !all_digits(text, len))
		return ST_INVALID;
	for (size_t i = 0; i < len; i++)
		value = value * 10 + (text[i] - '0');
	*out = value;
	return ST_OK;
}

enum status hours_parse(const char *text, size_t len, int64_t *out)
{
	const char *point = memchr(text, '.', len);
	size_t whole = point ? (size_t)(point - text) : len;
	size_t decimals = point ? len - whole - 1 : 0;
	int64_t value;

	if (count_parse(text, whole, &value) != ST_OK)
		return ST_INVALID;
	if (point && (decimals > 2 || !all_digits(point + 1, decimals)))
		return ST_INVALID;
	value *= 100;
	if (decimals >= 1)
		value += 10 * (point[1] - '0');
	if (decimals == 2)
		value += point[2] - '0';
	*out = value;
	return ST_OK;
}

void hours_print(int64_t hours, struct text *out)
{
	text_printf(out, "%lld", (long long)(hours / 100));
	if (hours % 100)
		text_printf(out, ".%lld", (long long)(hours / 10 % 10));
	if (hours % 10)
		text_printf(out, "%lld", (long long)(hours % 10));
}
