#include "core/amount.h"

#include <string.h>

#define DIGITS 7

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

static bool read_digits(const char **at, int64_t *value)
{
	const char *begin = *at;

	*value = 0;
	for (; is_digit(**at); ++*at) {
		if (*at - begin == DIGITS)
			return false;
		*value = *value * 10 + (**at - '0');
	}
	return *at > begin;
}

/* Up to three decimals, as thousandths. */
static bool read_decimals(const char **at, int64_t *thousandths)
{
	const char *begin = *at;
	int64_t place = AMOUNT_ONE / 10;

	for (; is_digit(**at); ++*at, place /= 10)
		*thousandths += (**at - '0') * place;
	return *at > begin && *at - begin <= 3;
}

/* above / below, when it is a whole number of thousandths. */
static bool read_fraction(const char **at, int64_t above, int64_t *thousandths)
{
	int64_t below;

	if (!read_digits(at, &below) || below == 0 || above * AMOUNT_ONE % below)
		return false;
	*thousandths += above * AMOUNT_ONE / below;
	return true;
}

/* "1 1/2": the fraction, if one follows the whole number. */
static bool read_mixed(const char **at, int64_t *thousandths)
{
	const char *ahead = *at;
	int64_t above;

	if (*ahead != ' ')
		return true;
	ahead++;
	if (!read_digits(&ahead, &above) || *ahead != '/')
		return true;
	*at = ahead + 1;
	return read_fraction(at, above, thousandths);
}

/* The number that text begins with; where it ends in *end. */
static bool read_number(const char *text, const char **end, int64_t *thousandths)
{
	const char *at = text;
	int64_t whole;

	*thousandths = 0;
	if (!read_digits(&at, &whole))
		return false;
	if (*at == '/') {
		at++;
		*end = at;
		return read_fraction(end, whole, thousandths);
	}
	*thousandths = whole * AMOUNT_ONE;
	*end = at;
	if (*at != '.')
		return read_mixed(end, thousandths);
	++*end;
	return read_decimals(end, thousandths);
}

/* A number that goes on as "3-4" or "1,000" or "2x" is none that we know. */
static bool ends_number(char c)
{
	return c == '\0' || c == ' ' || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

enum status amount_unit(struct arena *arena, const char *text, struct name *out)
{
	static const char *const pieces[] = {"PC",     "PCS",  "PCS.",  "PC.",  "PIECE",
	                                     "PIECES", "EACH", "EA",    "EA.",  "OFF",
	                                     "X",      "PART", "PARTS", "UNIT", "UNITS"};
	enum status status = name_make(arena, text, strlen(text), out);

	for (size_t i = 0; status == ST_OK && i < sizeof pieces / sizeof *pieces; i++)
		if (strcmp(out->key, pieces[i]) == 0)
			return name_make(arena, "", 0, out);
	return status;
}

enum status amount_read(struct arena *arena, const char *text, struct amount *out)
{
	struct amount amount = {0};
	const char *end;
	enum status status = ST_OK;

	text += strspn(text, " \t");
	if (read_number(text, &end, &amount.thousandths) && ends_number(*end) &&
	    amount.thousandths > 0 && amount.thousandths <= AMOUNT_MOST)
		status = amount_unit(arena, end, &amount.unit);
	else
		amount.thousandths = 0;
	if (status == ST_OK)
		*out = amount;
	return status;
}

void amount_print(int64_t thousandths, const struct name *unit, struct text *out)
{
	int64_t part = thousandths % AMOUNT_ONE;

	text_printf(out, "%lld", (long long)(thousandths / AMOUNT_ONE));
	if (part % 10)
		text_printf(out, ".%03lld", (long long)part);
	else if (part % 100)
		text_printf(out, ".%02lld", (long long)(part / 10));
	else if (part)
		text_printf(out, ".%lld", (long long)(part / 100));
	if (!name_is_empty(unit))
		text_printf(out, " %s", unit->text);
}
