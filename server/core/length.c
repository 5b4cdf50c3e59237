/* A number is read as a fraction of whole numbers and multiplied with its
 * unit; what then is no whole number of nanometres is refused. */
#include "core/length.h"

#include <string.h>

#define FINEST 64  /* below the line of a fraction */
#define DECIMALS 4 /* places */
#define DIGITS 6   /* of a whole number */
#define SIXTY_FOURTH (LENGTH_INCH / 64)

struct unit {
	const char *word;
	int64_t nm;
	bool metric;
};

/* Longer words before those that they begin with. */
static const struct unit units[] = {
        {"inches", LENGTH_INCH, false},
        {"inch", LENGTH_INCH, false},
        {"in", LENGTH_INCH, false},
        {"\"", LENGTH_INCH, false},
        {"feet", 12 * LENGTH_INCH, false},
        {"foot", 12 * LENGTH_INCH, false},
        {"ft", 12 * LENGTH_INCH, false},
        {"'", 12 * LENGTH_INCH, false},
        {"mm", 1000000, true},
        {"cm", 10000000, true},
        {"m", 1000000000, true},
};
#define UNITS (sizeof units / sizeof *units)

struct scan {
	const char *at, *end;
};

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

static char lower(char c)
{
	return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool is_letter(char c)
{
	return lower(c) >= 'a' && lower(c) <= 'z';
}

static void skip_blanks(struct scan *s)
{
	while (s->at < s->end && (*s->at == ' ' || *s->at == '\t'))
		s->at++;
}

static bool take(struct scan *s, char c)
{
	if (s->at == s->end || *s->at != c)
		return false;
	s->at++;
	return true;
}

/* Digits, at most so many; their number in *digits. */
static bool read_whole(struct scan *s, size_t most, int64_t *value, size_t *digits)
{
	const char *begin = s->at;

	*value = 0;
	for (; s->at < s->end && is_digit(*s->at); s->at++) {
		if ((size_t)(s->at - begin) == most)
			return false;
		*value = *value * 10 + (*s->at - '0');
	}
	*digits = (size_t)(s->at - begin);
	return *digits > 0;
}

static bool read_below(struct scan *s, int64_t *below)
{
	size_t digits;

	return read_whole(s, 2, below, &digits) && *below >= 2 && *below <= FINEST &&
	       (*below & (*below - 1)) == 0;
}

/* After a whole number: the fraction of "14 1/2", if one follows. */
static bool read_mixed(struct scan *s, int64_t *above, int64_t *below)
{
	struct scan ahead = *s;
	int64_t part;
	size_t digits;

	skip_blanks(&ahead);
	if (ahead.at == s->at || !read_whole(&ahead, 2, &part, &digits) || !take(&ahead, '/'))
		return true;
	if (!read_below(&ahead, below) || part >= *below)
		return false;
	*above = *above * *below + part;
	*s = ahead;
	return true;
}

static bool read_decimals(struct scan *s, int64_t *above, int64_t *below)
{
	int64_t part;
	size_t digits;

	if (!read_whole(s, DECIMALS, &part, &digits))
		return false;
	for (; digits > 0; digits--)
		*below *= 10;
	*above = *above * *below + part;
	return true;
}

/* "14", "14 1/2", "1/2", "0.5", ".5" as above / below. */
static bool read_number(struct scan *s, int64_t *above, int64_t *below)
{
	size_t digits;

	*below = 1;
	if (!read_whole(s, DIGITS, above, &digits))
		return digits == 0 && take(s, '.') && read_decimals(s, above, below);
	if (take(s, '.'))
		return read_decimals(s, above, below);
	if (take(s, '/'))
		return read_below(s, below);
	return read_mixed(s, above, below);
}

static const struct unit *read_unit(struct scan *s)
{
	for (size_t i = 0; i < UNITS; i++) {
		size_t len = strlen(units[i].word), k = 0;

		while (k < len && s->at + k < s->end && lower(s->at[k]) == units[i].word[k])
			k++;
		if (k < len ||
		    (is_letter(units[i].word[0]) && s->at + k < s->end && is_letter(s->at[k])))
			continue;
		s->at += len;
		return &units[i];
	}
	return NULL;
}

/* One number with its unit. */
static bool read_term(struct scan *s, struct length *out, const struct unit **unit)
{
	int64_t above, below;

	if (!read_number(s, &above, &below))
		return false;
	skip_blanks(s);
	*unit = read_unit(s);
	if (!*unit || (*unit)->nm % below)
		return false;
	*out = (struct length){(*unit)->nm / below * above, (*unit)->metric};
	return out->nm <= LENGTH_MOST;
}

/* A length, up to where no more of it follows. */
static bool read_length(struct scan *s, struct length *out)
{
	const struct unit *unit, *second;
	struct length inches;

	skip_blanks(s);
	if (!read_term(s, out, &unit))
		return false;
	skip_blanks(s);
	if (unit->nm != 12 * LENGTH_INCH || s->at == s->end || !is_digit(*s->at))
		return true;
	if (!read_term(s, &inches, &second) || second->nm != LENGTH_INCH ||
	    inches.nm >= 12 * LENGTH_INCH)
		return false;
	out->nm += inches.nm;
	skip_blanks(s);
	return out->nm <= LENGTH_MOST;
}

enum status length_parse(const char *text, size_t len, struct length *out)
{
	struct scan s = {text, text + len};
	struct length length;

	if (!read_length(&s, &length) || s.at != s.end)
		return ST_INVALID;
	*out = length;
	return ST_OK;
}

/* ---- printing ---- */

/* value / 10^places without zeros at the end. */
static void print_decimal(int64_t value, unsigned places, const char *unit, struct text *out)
{
	int64_t scale = 1;

	for (unsigned i = 0; i < places; i++)
		scale *= 10;
	for (; places && value % 10 == 0; places--) {
		value /= 10;
		scale /= 10;
	}
	text_printf(out, "%lld", (long long)(value / scale));
	if (places)
		text_printf(out, ".%0*lld", (int)places, (long long)(value % scale));
	text_printf(out, " %s", unit);
}

static void print_fraction(int64_t sixty_fourths, struct text *out)
{
	int64_t whole = sixty_fourths / 64, above = sixty_fourths % 64, below = 64;

	for (; above && above % 2 == 0; above /= 2)
		below /= 2;
	if (whole || !above)
		text_printf(out, "%lld", (long long)whole);
	if (whole && above)
		text_add_char(out, ' ');
	if (above)
		text_printf(out, "%lld/%lld", (long long)above, (long long)below);
	text_add(out, " in");
}

void length_print(struct length length, struct text *out)
{
	const int64_t last_place = LENGTH_INCH / 10000;

	if (!length.metric && length.nm % SIXTY_FOURTH == 0)
		print_fraction(length.nm / SIXTY_FOURTH, out);
	else if (!length.metric && length.nm % last_place == 0)
		print_decimal(length.nm / last_place, 4, "in", out);
	else
		print_decimal(length.nm, 6, "mm", out);
}

/* ---- lists of cuts ---- */

/* "2 x ", if it stands there; else 1. */
static bool read_count(struct scan *s, unsigned *count)
{
	struct scan ahead = *s;
	int64_t value;
	size_t digits;

	*count = 1;
	if (!read_whole(&ahead, DIGITS, &value, &digits))
		return true;
	skip_blanks(&ahead);
	if (!take(&ahead, 'x') && !take(&ahead, 'X'))
		return true;
	*s = ahead;
	*count = (unsigned)value;
	return value >= 1 && value <= CUT_COUNT_MOST;
}

/* NULL: a cut stands there; else what is wrong with it. */
static const char *read_cut(struct scan *s, struct cut *out)
{
	skip_blanks(s);
	if (!read_count(s, &out->count))
		return "how many must be 1 to 300";
	skip_blanks(s);
	if (!read_length(s, &out->length))
		return "is no length; write it like 14 1/2 in or 360 mm";
	if (out->length.nm == 0)
		return "a length must be above 0";
	return NULL;
}

static size_t commas(const char *text)
{
	size_t count = 0;

	for (; (text = strchr(text, ',')) != NULL; text++)
		count++;
	return count;
}

static enum status at_fault(const struct scan *s, const char *text, const char *words,
                            struct cuts_fault *fault)
{
	*fault = (struct cuts_fault){(size_t)(s->at - text) + 1, words};
	return ST_INVALID;
}

enum status cuts_parse(struct arena *arena, const char *text, const struct cut **out, size_t *count,
                       struct cuts_fault *fault)
{
	struct scan s = {text, text + strlen(text)};
	size_t room = commas(text) + 1, used = 0;
	struct cut *cuts;

	if (room > CUTS_MOST)
		return at_fault(&s, text, "holds more than 60 lengths", fault);
	cuts = ARENA_ARRAY(arena, struct cut, room);
	if (!cuts)
		return ST_NOMEM;
	do {
		struct scan begin = s;
		const char *words = read_cut(&s, &cuts[used++]);

		if (words) {
			skip_blanks(&begin);
			return at_fault(&begin, text, words, fault);
		}
	} while (take(&s, ','));
	if (s.at != s.end)
		return at_fault(&s, text, "a comma is expected between two lengths", fault);
	*out = cuts;
	*count = used;
	return ST_OK;
}
