#include "core/serial.h"

#include <assert.h>
#include <string.h>

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
	return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

static bool is_mark(char c)
{
	return c == '-' || c == '/' || c == '.' || c == '_';
}

/* Index behind the run of digits at `at`. */
static size_t run_end(const char *text, size_t len, size_t at)
{
	while (at < len && is_digit(text[at]))
		at++;
	return at;
}

/* Leading zeros say nothing; 0 itself keeps one digit. */
static size_t skip_zeros(const char *text, size_t at, size_t end)
{
	while (at + 1 < end && text[at] == '0')
		at++;
	return at;
}

/* Where the counter begins (see serial.h); len when there is no digit. */
static size_t counter_start(const char *text, size_t len)
{
	size_t start = len;
	bool after_mark = false;

	for (size_t i = 0; i < len; i++) {
		after_mark = after_mark || is_mark(text[i]);
		if (!is_digit(text[i]))
			continue;
		start = i;
		if (after_mark)
			break;
		i = run_end(text, len, i) - 1;
	}
	return start;
}

static bool too_many_digits(const char *text, size_t len)
{
	unsigned runs = 0;
	size_t start = counter_start(text, len);

	for (size_t i = 0; i < len; i++) {
		size_t end = run_end(text, len, i);

		if (end == i)
			continue;
		runs += i >= start;
		if (end - skip_zeros(text, i, end) > SERIAL_DIGITS || runs > SERIAL_COUNTERS)
			return true;
		i = end - 1;
	}
	return false;
}

enum serial_fault serial_check(const char *text, size_t len, size_t *where)
{
	size_t unused;

	where = where ? where : &unused;
	*where = 0;
	if (len == 0)
		return SERIAL_EMPTY;
	for (*where = 0; *where < len; (*where)++) {
		char c = text[*where];

		if (!is_letter(c) && !is_digit(c) && !is_mark(c))
			return SERIAL_CHARACTER;
	}
	*where = 0;
	if (counter_start(text, len) == len)
		return SERIAL_NO_DIGIT;
	return len > SERIAL_LONGEST || too_many_digits(text, len) ? SERIAL_TOO_LONG : SERIAL_FINE;
}

const char *serial_fault_words(enum serial_fault fault)
{
	static const char *const words[] = {
	        [SERIAL_FINE] = "is fine",
	        [SERIAL_EMPTY] = "is empty",
	        [SERIAL_CHARACTER] = "may hold only letters A to Z, digits and - / . _, no blanks",
	        [SERIAL_NO_DIGIT] = "has no digit",
	        [SERIAL_TOO_LONG] = "is too long for a serial number",
	};
	return words[fault];
}

/* Fills out->counter and writes the shape: the prefix with its numbers bare
 * of leading zeros, and # for each number of the counter. */
static size_t split(const char *text, size_t len, char *shape, struct serial *out)
{
	size_t start = counter_start(text, len);
	size_t used = 0;

	for (size_t i = 0; i < len;) {
		size_t end = run_end(text, len, i);

		if (end == i) {
			shape[used++] = text[i++];
		} else if (i < start) {
			i = skip_zeros(text, i, end);
			memcpy(shape + used, text + i, end - i);
			used += end - i;
			i = end;
		} else {
			uint64_t value = 0;

			for (; i < end; i++)
				value = value * 10 + (uint64_t)(text[i] - '0');
			out->counter[out->counters++] = value;
			shape[used++] = '#';
		}
	}
	return used;
}

enum status serial_make(struct arena *arena, const char *text, size_t len, struct serial *out)
{
	struct serial made = {.counters = 0};
	char shape[SERIAL_LONGEST] = {0};
	size_t used;
	enum status status;

	if (serial_check(text, len, NULL) != SERIAL_FINE)
		return ST_INVALID;
	used = split(text, len, shape, &made);
	status = name_make(arena, shape, used, &made.shape);
	if (status != ST_OK)
		return status;
	made.text = arena_copy(arena, text, len);
	if (!made.text)
		return ST_NOMEM;
	*out = made;
	return ST_OK;
}

bool serial_comparable(const struct serial *a, const struct serial *b)
{
	return name_equal(&a->shape, &b->shape);
}

int serial_compare(const struct serial *a, const struct serial *b)
{
	assert(serial_comparable(a, b));
	for (unsigned i = 0; i < a->counters; i++)
		if (a->counter[i] != b->counter[i])
			return a->counter[i] < b->counter[i] ? -1 : 1;
	return 0;
}

bool serial_in_range(const struct serial *serial, const struct serial_range *range)
{
	const struct serial *end = range->first.text ? &range->first : &range->last;

	if (!serial_comparable(serial, end))
		return false;
	if (range->first.text && serial_compare(serial, &range->first) < 0)
		return false;
	return !range->last.text || serial_compare(serial, &range->last) <= 0;
}
