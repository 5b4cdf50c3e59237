/* Runs of letters and digits, and three answers to "is it the same?". Nothing
 * here allocates: texts are short. */
#include "core/marks.h"

#include <assert.h>
#include <string.h>
#include <utf8proc.h>

#define WORD 5 /* letters from which on a word may be mistyped and still be meant */
#define WORD_LONGEST 40
#define SLIPS 2 /* letters wrong, missing or too many */
#define DIGITS_MOST 18

/* ---- cleaning ---- */

/* The character that stands for a code point; itself if there is none, 0 for
 * what cannot be seen: soft hyphen, zero width blank and joiners. */
static utf8proc_int32_t plain(utf8proc_int32_t point)
{
	if (point == 0xAD || (point >= 0x200B && point <= 0x200D) || point == 0x2060 ||
	    point == 0xFEFF)
		return 0;
	if (point == 0x2212) /* the minus sign */
		return '-';
	switch (utf8proc_category(point)) {
	case UTF8PROC_CATEGORY_PD:
		return '-';
	case UTF8PROC_CATEGORY_ZS:
	case UTF8PROC_CATEGORY_ZL:
	case UTF8PROC_CATEGORY_ZP:
		return ' ';
	default:
		return point;
	}
}

static bool is_blank(utf8proc_int32_t c)
{
	return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

size_t marks_clean(const char *text, size_t len, char *out)
{
	const utf8proc_uint8_t *at = (const utf8proc_uint8_t *)text;
	size_t used = 0;

	for (size_t i = 0; i < len;) {
		utf8proc_int32_t point = at[i];
		utf8proc_ssize_t step = 1;

		if (at[i] >= 0x80) {
			step = utf8proc_iterate(at + i, (utf8proc_ssize_t)(len - i), &point);
			/* What is not UTF-8 is kept as it is: the doors refuse it elsewhere. */
			if (step > 0)
				point = plain(point);
		}
		if (step <= 0) {
			out[used++] = text[i++];
			continue;
		}
		if (is_blank(point) || point == '-') {
			if (point == '-' || (used && out[used - 1] != ' '))
				out[used++] = point == '-' ? '-' : ' ';
		} else if (point) {
			memcpy(out + used, text + i, (size_t)step);
			used += (size_t)step;
		}
		i += (size_t)step;
	}
	if (used && out[used - 1] == ' ')
		used--;
	out[used] = '\0';
	return used;
}

/* ---- runs ---- */

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

/* Letters of other scripts than ASCII count as letters. */
static bool is_letter(char c)
{
	return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (unsigned char)c >= 0x80;
}

static char upper(char c)
{
	return c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c;
}

static void read_run(struct mark_run *run, const char *at, size_t len)
{
	run->digits = is_digit(*at);
	run->wide = (uint8_t)len;
	while (run->digits && len > 1 && *at == '0') {
		at++;
		len--;
	}
	run->at = at;
	run->len = (uint8_t)len;
	run->value = 0;
	for (size_t i = 0; run->digits && i < len; i++)
		run->value = run->value * 10 + (uint64_t)(at[i] - '0');
}

/* Two marks on end, dashes and blanks apart, are a mark of their own. */
static char join_marks(char before, char c)
{
	if (before == '\0' || before == ' ')
		return c;
	return c == ' ' || c == before ? before : '?';
}

void marks_read(const char *text, size_t len, struct marks *out)
{
	char before = '\0';

	out->count = 0;
	out->over = false;
	for (size_t i = 0; i < len && !out->over;) {
		size_t end = i;

		while (end < len &&
		       (is_digit(text[i]) ? is_digit(text[end]) : is_letter(text[end])))
			end++;
		if (end == i) {
			before = join_marks(before, text[i++]);
			continue;
		}
		if (out->count == MARKS_MOST || end - i > UINT8_MAX) {
			out->over = true;
			break;
		}
		out->run[out->count].before = out->count ? before : '\0';
		read_run(&out->run[out->count], text + i, end - i);
		out->over = out->run[out->count].digits && out->run[out->count].len > DIGITS_MOST;
		out->count++;
		before = '\0';
		i = end;
	}
}

/* ---- one run ---- */

static bool same_letters(const struct mark_run *a, const struct mark_run *b)
{
	if (a->len != b->len)
		return false;
	for (unsigned i = 0; i < a->len; i++)
		if (upper(a->at[i]) != upper(b->at[i]))
			return false;
	return true;
}

/* I to XXXIX, as in Mk II; 0 when it is no such numeral. */
static uint64_t roman(const struct mark_run *run)
{
	static const struct {
		const char *digits;
		unsigned value;
	} steps[] = {{"X", 10}, {"IX", 9}, {"V", 5}, {"IV", 4}, {"I", 1}};
	unsigned i = 0, step = 0, value = 0, in_step = 0;

	while (i < run->len && step < sizeof steps / sizeof *steps) {
		size_t len = strlen(steps[step].digits);

		if (run->len - i >= len && upper(run->at[i]) == steps[step].digits[0] &&
		    (len == 1 || upper(run->at[i + 1]) == steps[step].digits[1])) {
			value += steps[step].value;
			i += (unsigned)len;
			if (++in_step < 3 && steps[step].digits[0] != 'V' && len == 1)
				continue;
		}
		step++;
		in_step = 0;
	}
	return i == run->len ? value : 0;
}

/* A numeral is a word of its own: X in 172X is a letter. */
static bool is_numeral(const struct mark_run *letters, const struct mark_run *digits)
{
	return letters->before == ' ' && digits->before == ' ' && roman(letters) == digits->value;
}

bool mark_equal(const struct mark_run *a, const struct mark_run *b)
{
	if (a->digits && b->digits)
		return a->value == b->value;
	if (a->digits || b->digits)
		return a->digits ? is_numeral(b, a) : is_numeral(a, b);
	return same_letters(a, b);
}

/* Letters to change, put in or leave out (V. Levenshtein's distance, by the
 * usual row of sums): at most SLIPS of them? */
static bool nearly(const struct mark_run *a, const struct mark_run *b)
{
	unsigned row[WORD_LONGEST + 1];

	if (a->digits || b->digits || a->len < WORD || b->len < WORD || a->len > WORD_LONGEST ||
	    b->len > WORD_LONGEST)
		return false;
	for (unsigned k = 0; k <= b->len; k++)
		row[k] = k;
	for (unsigned i = 0; i < a->len; i++) {
		unsigned corner = row[0];

		row[0] = i + 1;
		for (unsigned k = 0; k < b->len; k++) {
			unsigned change = corner + (upper(a->at[i]) != upper(b->at[k]));
			unsigned other = (row[k] < row[k + 1] ? row[k] : row[k + 1]) + 1;

			corner = row[k + 1];
			row[k + 1] = change < other ? change : other;
		}
	}
	return row[b->len] <= SLIPS;
}

static bool equal_or_nearly(const struct mark_run *a, const struct mark_run *b)
{
	return mark_equal(a, b) || nearly(a, b);
}

/* ---- looks ---- */

static const char looks[] = "O0I1B8S5Z2G6Q0L1";

char marks_look(char letter)
{
	for (const char *pair = looks; *pair; pair += 2)
		if (pair[0] == upper(letter))
			return pair[1];
	return '\0';
}

char marks_letter(char digit)
{
	for (const char *pair = looks; *pair; pair += 2)
		if (pair[1] == digit)
			return pair[0];
	return '\0';
}

static char look_of(char c)
{
	char look = marks_look(c);

	return look ? look : upper(c);
}

/* The letters and digits of all runs, one after the other, as they look. */
struct look {
	const struct marks *marks;
	unsigned run, at;
	bool no_zeros;
};

#define ANY_DIGIT '?'

/* XX in the midst of a number stands for any digits. */
static bool stands_for_digits(const struct marks *marks, unsigned i)
{
	const struct mark_run *run = &marks->run[i];

	return run->len > 1 && !run->before && i > 0 && marks->run[i - 1].digits &&
	       upper(run->at[0]) == 'X' && upper(run->at[run->len - 1]) == 'X';
}

/* '\0' behind the last. */
static char next_look(struct look *look)
{
	while (look->run < look->marks->count) {
		const struct mark_run *run = &look->marks->run[look->run];
		char c;

		if (look->at == run->len) {
			look->run++;
			look->at = 0;
			continue;
		}
		c = look_of(run->at[look->at++]);
		if (stands_for_digits(look->marks, look->run))
			return ANY_DIGIT;
		if (c != '0' || !look->no_zeros)
			return c;
	}
	return '\0';
}

/* Do they look the same, marks left out? Where numbers are run together zeros
 * count for nothing, since those in front of one are in the midst of another. */
static bool look_alike(const struct marks *printed, const struct marks *typed, bool no_zeros)
{
	struct look x = {.marks = printed, .no_zeros = no_zeros};
	struct look y = {.marks = typed, .no_zeros = no_zeros};
	char c, d;

	do {
		c = next_look(&x);
		d = next_look(&y);
	} while (c && (c == d || (c == ANY_DIGIT && is_digit(d))));
	return c == d;
}

uint32_t marks_letters(const char *text, size_t len)
{
	uint32_t set = 0;
	bool digit = false;
	unsigned letters = 0;

	for (size_t i = 0; i < len; i++) {
		char c = look_of(text[i]);

		letters = is_letter(text[i]) ? letters + 1 : 0;
		if (c == ' ' || letters == WORD || (letters > 1 && c == 'X'))
			return MARKS_WORDY;
		digit = digit || is_digit(text[i]);
		if (is_digit(c) && c != '0')
			set |= 1U << (c - '1');
		else if (c >= 'A' && c <= 'Z')
			set |= 1U << (9 + (c - 'A') % 20);
		else if (is_letter(c))
			set |= 1U << 29;
	}
	return digit ? set : MARKS_WORDY;
}

/* ---- two texts ---- */

static bool aligned(const struct marks *a, const struct marks *b)
{
	bool same = a->count == b->count;

	for (unsigned i = 0; same && i < a->count; i++)
		same = a->run[i].digits == b->run[i].digits || mark_equal(&a->run[i], &b->run[i]);
	return same;
}

/* The dash before a last letter may be left out where another mark shows which
 * is the number: WH-0120-R and WH-0120R, but not 415-C and 415C. */
static bool last_letter(const struct marks *marks, unsigned i)
{
	bool marked = false;

	for (unsigned k = 1; k < i; k++)
		marked = marked || marks->run[k].before;
	return marked && i + 1 == marks->count && marks->run[i - 1].digits &&
	       !marks->run[i].digits && marks->run[i].len == 1;
}

static bool is_joint(char c)
{
	return c == ' ' || c == '-';
}

bool marks_agree(const struct marks *a, const struct marks *b)
{
	unsigned count = a->count < b->count ? a->count : b->count;

	for (unsigned i = 1; i < count; i++) {
		char x = a->run[i].before, y = b->run[i].before;

		if (x == y || (is_joint(x) && is_joint(y)))
			continue;
		if ((!x || !y) && is_joint(x ? x : y) && last_letter(a, i) && last_letter(b, i))
			continue;
		return false;
	}
	return true;
}

bool marks_styled(const struct marks *a, const struct marks *b)
{
	return !a->over && !b->over && a->count > 1 && aligned(a, b) &&
	       mark_equal(&a->run[0], &b->run[0]) && marks_agree(a, b);
}

/* Is every run of the shorter in the longer, in order? */
static bool embeds(const struct marks *shorter, const struct marks *longer)
{
	unsigned k = 0;

	for (unsigned i = 0; i < longer->count && k < shorter->count; i++)
		k += equal_or_nearly(&shorter->run[k], &longer->run[i]);
	return k == shorter->count;
}

/* T, II, 2 or Mk, as they stand behind a model's name. */
static bool is_designation(const struct mark_run *run)
{
	return run->before == ' ' &&
	       (run->digits || run->len == 1 || roman(run) > 0 ||
	        (run->len == 2 && upper(run->at[0]) == 'M' && upper(run->at[1]) == 'K'));
}

/* Whimbrel T or Whimbrel Mk II beside Whimbrel, Kite 15 B beside Kite 15: another
 * model, not a name with something left out. */
static bool is_variant(const struct marks *name, const struct marks *longer)
{
	const struct mark_run *word = &name->run[name->count - 1];

	if (longer->count <= name->count || (word->digits ? word->before != ' ' : word->len < WORD))
		return false;
	for (unsigned i = 0; i < longer->count; i++) {
		const struct mark_run *run = &longer->run[i];

		if (i < name->count ? !mark_equal(run, &name->run[i]) : !is_designation(run))
			return false;
	}
	return true;
}

static bool is_words(const struct marks *marks)
{
	for (unsigned i = 0; i < marks->count; i++)
		if (marks->run[i].digits || (i && marks->run[i].before != ' '))
			return false;
	return true;
}

/* Letters alone, blanks or not between them: Whimbrel T and WhimbrelT. */
static bool same_words(const struct marks *a, const struct marks *b)
{
	unsigned i = 0, k = 0, at_i = 0, at_k = 0;

	if (!is_words(a) || !is_words(b))
		return false;
	while (i < a->count && k < b->count) {
		if (upper(a->run[i].at[at_i++]) != upper(b->run[k].at[at_k++]))
			return false;
		if (at_i == a->run[i].len) {
			i++;
			at_i = 0;
		}
		if (at_k == b->run[k].len) {
			k++;
			at_k = 0;
		}
	}
	return i == a->count && k == b->count;
}

enum truth marks_same(const struct marks *printed, const struct marks *typed)
{
	bool is_aligned = aligned(printed, typed), all = true, numbers = is_aligned;

	if (printed->over || typed->over || printed->count == 0 || typed->count == 0)
		return TRUTH_UNKNOWN;
	if (is_aligned) {
		for (unsigned i = 0; i < typed->count; i++) {
			bool equal = mark_equal(&printed->run[i], &typed->run[i]);

			all = all && equal;
			numbers = numbers && (equal || !typed->run[i].digits);
		}
		if (all)
			return marks_agree(printed, typed) ? TRUTH_TRUE : TRUTH_UNKNOWN;
	} else if (same_words(printed, typed)) {
		return TRUTH_TRUE;
	} else if (is_variant(printed, typed) || is_variant(typed, printed)) {
		return TRUTH_FALSE;
	}
	if (embeds(printed, typed) || embeds(typed, printed) || look_alike(printed, typed, false) ||
	    ((!is_aligned || numbers) && look_alike(printed, typed, true)))
		return TRUTH_UNKNOWN;
	return TRUTH_FALSE;
}

enum truth marks_in_series(const struct marks *printed, const struct marks *typed)
{
	struct marks head = *typed;

	if (printed->over || typed->over || printed->count == 0 || typed->count == 0)
		return TRUTH_UNKNOWN;
	if (typed->count > printed->count)
		head.count = printed->count;
	if (marks_same(printed, &head) != TRUTH_FALSE)
		return marks_same(printed, &head);
	if (is_variant(typed, printed))
		return TRUTH_FALSE;
	/* The series of A may or may not take in AB. */
	if (head.count == printed->count) {
		struct mark_run *last = &head.run[head.count - 1];
		const struct mark_run *end = &printed->run[head.count - 1];

		if (!last->digits && !end->digits && last->len > end->len) {
			last->len = end->len;
			if (marks_same(printed, &head) == TRUTH_TRUE)
				return TRUTH_UNKNOWN;
		}
	}
	return embeds(printed, typed) || embeds(typed, printed) ? TRUTH_UNKNOWN : TRUTH_FALSE;
}
