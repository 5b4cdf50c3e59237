#include "core/serial.h"

#include <assert.h>
#include <string.h>
#include <strings.h>

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

/* Lots are also called A, B, AC. */
static bool is_lot_letter(const char *text, size_t len)
{
	return len <= 2 && is_letter(text[0]) && is_letter(text[len - 1]);
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
		after_mark = after_mark || is_mark(text[i]) || text[i] == ' ';
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
	if (len > SERIAL_LONGEST || too_many_digits(text, len))
		return SERIAL_TOO_LONG;
	for (size_t i = 0; i < len; i++)
		if (is_digit(text[i]) || is_letter(text[i]) || (unsigned char)text[i] >= 0x80)
			return SERIAL_FINE;
	return SERIAL_NO_DIGIT;
}

enum serial_fault serial_check_printed(const char *text, size_t len, bool lot, size_t *where)
{
	for (*where = 0; *where < len; (*where)++) {
		char c = text[*where];

		if (!is_letter(c) && !is_digit(c) && !is_mark(c))
			return SERIAL_CHARACTER;
	}
	*where = 0;
	if (len > 0 && counter_start(text, len) == len && !(lot && is_lot_letter(text, len)))
		return SERIAL_NO_DIGIT;
	return serial_check(text, len, where);
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

/* ---- what is compared ---- */

/* What people write in front of a number. */
static const char *const labels[] = {"SERIAL", "S/N",   "SN",     "P/N",  "PN",
                                     "LOT",    "BATCH", "NUMBER", "NO.",  "NO",
                                     "NR.",    "NR",    "CODE",   "DATE", "#"};

/* Bytes of a label and what parts it from the number; 0 if there is none. */
static size_t label_end(const char *text, size_t len)
{
	for (size_t i = 0; i < sizeof labels / sizeof *labels; i++) {
		size_t at = strlen(labels[i]), end;

		if (at >= len || strncasecmp(text, labels[i], at) != 0)
			continue;
		for (end = at; end < len && strchr(" :.#", text[end]);)
			end++;
		if (end < len && (end > at || text[at - 1] == '#' || text[at - 1] == '.'))
			return end;
	}
	return 0;
}

static bool is_bracketed(const char *text, size_t len)
{
	return len > 2 && ((text[0] == '(' && text[len - 1] == ')') ||
	                   (text[0] == '[' && text[len - 1] == ']'));
}

/* Is the comma one between thousands, as in 1,120? */
static bool parts_thousands(const char *text, size_t len, size_t at)
{
	size_t digits = 0, before = at;

	while (before > 0 && is_digit(text[before - 1]))
		before--;
	while (digits < 4 && at + 1 + digits < len && is_digit(text[at + 1 + digits]))
		digits++;
	return at > before && at - before <= 3 && digits == 3;
}

static size_t strip(const char *text, size_t len, char *out)
{
	size_t used = 0, label;

	while ((label = label_end(text, len)) > 0 || is_bracketed(text, len)) {
		size_t cut = label ? label : 1;

		len -= label ? label : 2;
		text += cut;
	}
	for (size_t i = 0; i < len; i++)
		if (text[i] != ',' || !parts_thousands(text, len, i))
			out[used++] = text[i];
	return used;
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
			shape[used++] = text[i] == ' ' ? '-' : text[i];
			i++;
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

#define A_YEAR(value) ((value) >= 1900 && (value) <= 2099)
#define WIDE 4  /* digits of a counter that is plainly one */
#define WIDER 2 /* digits more than any other number has */

/* Is the last number plainly the one that counts? It is much wider than any
 * other, nothing follows it, and it is no year. */
static bool is_plain(const char *bare, size_t len)
{
	struct marks marks;
	const struct mark_run *last;
	bool plain = true;

	marks_read(bare, len, &marks);
	if (marks.over || marks.count == 0)
		return false;
	last = &marks.run[marks.count - 1];
	for (unsigned i = 0; i + 1 < marks.count; i++)
		if (marks.run[i].digits)
			plain = plain && last->wide >= WIDE &&
			        last->wide >= marks.run[i].wide + WIDER && !A_YEAR(last->value);
	return plain && last->digits;
}

enum status serial_make(struct arena *arena, const char *text, size_t len, struct serial *out)
{
	struct serial made = {.counters = 0};
	char shape[SERIAL_LONGEST + 1] = {0}, bare[SERIAL_LONGEST + 1];
	char *kept;
	size_t used, left;
	enum status status;

	if (serial_check(text, len, NULL) != SERIAL_FINE)
		return ST_INVALID;
	kept = arena_array(arena, len + 1, 1);
	if (!kept)
		return ST_NOMEM;
	left = marks_clean(text, len, kept);
	made.text = kept;
	used = strip(kept, left, bare);
	made.bare = used == left ? kept : arena_copy(arena, bare, used);
	if (!made.bare)
		return ST_NOMEM;
	made.plain = is_plain(made.bare, used);
	used = split(made.bare, used, shape, &made);
	status = name_make(arena, shape, used, &made.shape);
	if (status != ST_OK)
		return status;
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

/* ---- ranges ---- */

/* A range cut into runs: what of it counts, and between which values. */
struct reading {
	struct marks first, last; /* an open end is a copy of the other */
	const struct serial_range *range;
	bool counts[MARKS_MOST];
	unsigned counters;
};

static int compare_runs(const struct mark_run *a, const struct mark_run *b)
{
	if (a->digits)
		return (a->value > b->value) - (a->value < b->value);
	return a->len != b->len ? (a->len > b->len) - (a->len < b->len)
	                        : strncasecmp(a->at, b->at, a->len);
}

static void mark_counters(struct reading *reading)
{
	bool open = !reading->range->first.text || !reading->range->last.text;

	for (unsigned i = 0; i < reading->first.count; i++) {
		const struct mark_run *run = &reading->first.run[i];

		/* With one end open every number may be the counter. */
		reading->counts[i] = open ? run->digits || reading->first.count == 1
		                          : compare_runs(run, &reading->last.run[i]) != 0;
		reading->counters += reading->counts[i];
	}
	if (!open || reading->counters < 2 ||
	    !(reading->range->first.text ? &reading->range->first : &reading->range->last)->plain)
		return;
	memset(reading->counts, 0, sizeof reading->counts);
	reading->counts[reading->first.count - 1] = true;
	reading->counters = 1;
}

static void read_serial(const struct serial *serial, struct marks *out)
{
	marks_read(serial->bare, strlen(serial->bare), out);
}

static void read_range(const struct serial_range *range, struct reading *out)
{
	*out = (struct reading){.range = range};
	read_serial(range->first.text ? &range->first : &range->last, &out->first);
	read_serial(range->last.text ? &range->last : &range->first, &out->last);
	mark_counters(out);
}

static bool is_after_first(const struct reading *r, unsigned i, const struct mark_run *run)
{
	return !r->range->first.text || compare_runs(run, &r->first.run[i]) >= 0;
}

static bool is_before_last(const struct reading *r, unsigned i, const struct mark_run *run)
{
	return !r->range->last.text || compare_runs(run, &r->last.run[i]) <= 0;
}

/* Could this run of a serial stand at place i of the range? */
static bool fits(const struct reading *r, unsigned i, const struct mark_run *run)
{
	if (!r->counts[i])
		return mark_equal(&r->first.run[i], run);
	return r->first.run[i].digits == run->digits && is_after_first(r, i, run) &&
	       is_before_last(r, i, run);
}

/* Is the serial within the range when its numbers are read from the left (step
 * 1) or from the right (step -1), as one reads a date or a price? */
static bool within(const struct reading *r, const struct marks *serial, int step)
{
	bool above = !r->range->first.text, below = !r->range->last.text;

	for (int i = step > 0 ? 0 : (int)serial->count - 1; i >= 0 && i < (int)serial->count;
	     i += step) {
		const struct mark_run *run = &serial->run[i];

		if (!r->counts[i])
			continue;
		if (!above && compare_runs(run, &r->first.run[i]) < 0)
			return false;
		if (!below && compare_runs(run, &r->last.run[i]) > 0)
			return false;
		above = above || compare_runs(run, &r->first.run[i]) > 0;
		below = below || compare_runs(run, &r->last.run[i]) < 0;
	}
	return true;
}

static bool rest_is_equal(const struct reading *r, const struct marks *serial)
{
	for (unsigned i = 0; i < serial->count; i++)
		if (!r->counts[i] && !mark_equal(&r->first.run[i], &serial->run[i]))
			return false;
	return true;
}

/* Of a serial written as the range is, the marks apart. */
static enum truth decide_aligned(const struct reading *r, const struct marks *serial)
{
	bool forward, backward, each = true;

	if (!rest_is_equal(r, serial))
		return TRUTH_FALSE;
	forward = within(r, serial, 1);
	backward = within(r, serial, -1);
	for (unsigned i = 0; i < serial->count; i++)
		each = each && fits(r, i, &serial->run[i]);
	if (!forward && !backward)
		return TRUTH_FALSE;
	return (forward && backward) || each ? TRUTH_TRUE : TRUTH_UNKNOWN;
}

static bool is_aligned(const struct marks *a, const struct marks *b)
{
	bool same = a->count == b->count;

	for (unsigned i = 0; same && i < a->count; i++)
		same = a->run[i].digits == b->run[i].digits;
	return same;
}

/* Is every run of the serial in the range's writing, in order, or every run of
 * that in the serial? Then something was left out or added. */
static bool lacks_or_adds(const struct reading *r, const struct marks *serial)
{
	unsigned k = 0, i = 0;

	for (; i < r->first.count && k < serial->count; i++)
		k += fits(r, i, &serial->run[k]);
	if (k == serial->count)
		return true;
	for (i = 0, k = 0; k < serial->count && i < r->first.count; k++)
		i += fits(r, i, &serial->run[k]);
	return i == r->first.count;
}

/* Week and year, or the like, turned round. */
static bool is_turned(const struct reading *r, const struct marks *serial)
{
	if (serial->count < 2 || marks_agree(&r->first, serial))
		return false;
	for (unsigned i = 0; i < serial->count; i++)
		if (!fits(r, i, &serial->run[serial->count - 1 - i]))
			return false;
	return true;
}

/* "unknown", "not legible": no number at all. */
static bool is_words(const struct marks *marks)
{
	for (unsigned i = 0; i < marks->count; i++)
		if (marks->run[i].digits)
			return false;
	return true;
}

/* Drops words from what a kit says: "rebuilt", "not legible" are no code. */
#define A_WORD 4
static bool drop_words(struct marks *marks)
{
	unsigned kept = 0;

	for (unsigned i = 0; i < marks->count; i++)
		if (marks->run[i].digits || marks->run[i].len < A_WORD)
			marks->run[kept++] = marks->run[i];
	if (kept == marks->count)
		return false;
	marks->count = kept;
	return true;
}

static enum truth decide_runs(const struct reading *r, const struct marks *serial)
{
	if (is_aligned(&r->first, serial)) {
		enum truth truth = decide_aligned(r, serial);

		if (truth == TRUTH_TRUE && !marks_agree(&r->first, serial))
			return TRUTH_UNKNOWN;
		return truth == TRUTH_FALSE && is_turned(r, serial) ? TRUTH_UNKNOWN : truth;
	}
	return lacks_or_adds(r, serial) ? TRUTH_UNKNOWN : TRUTH_FALSE;
}

/* A copy with every letter that looks like a digit taken for it, or the other
 * way round. `bare` has room for SERIAL_LONGEST + 1 bytes. */
static void look(const struct serial *serial, bool letters, char *bare, struct serial *out)
{
	*out = *serial;
	if (!serial->text)
		return;
	strcpy(bare, serial->bare);
	for (char *c = bare; *c; c++) {
		char other = letters ? marks_letter(*c) : marks_look(*c);

		*c = other ? other : *c;
	}
	out->bare = bare;
}

/* Only where all runs then stand where they do in the range: otherwise almost
 * anything would fit. */
static bool runs_fit(const struct serial *serial, const struct serial_range *range)
{
	struct reading reading;
	struct marks marks;

	read_serial(serial, &marks);
	read_range(range, &reading);
	return is_aligned(&reading.first, &reading.last) && is_aligned(&reading.first, &marks) &&
	       decide_runs(&reading, &marks) != TRUTH_FALSE;
}

/* A copy without the marks between letters and digits. */
static void squeeze(const struct serial *serial, char *bare, struct serial *out)
{
	size_t used = 0;

	*out = *serial;
	for (const char *at = serial->text ? serial->bare : ""; *at; at++)
		if (is_digit(*at) || is_letter(*at))
			bare[used++] = *at;
	bare[used] = '\0';
	out->bare = bare;
}

/* Would it fit if all were run together? Then its numbers cannot be told apart. */
static bool runs_together(const struct serial *serial, const struct serial_range *range)
{
	char bare[3][SERIAL_LONGEST + 1];
	struct serial_range squeezed;
	struct serial whole;

	squeeze(serial, bare[0], &whole);
	squeeze(&range->first, bare[1], &squeezed.first);
	squeeze(&range->last, bare[2], &squeezed.last);
	return runs_fit(&whole, &squeezed);
}

/* Would it fit if letters and digits that look alike were taken for each other? */
static bool may_look(const struct serial *serial, const struct serial_range *range)
{
	char bare[3][SERIAL_LONGEST + 1];
	struct serial_range looks;
	struct serial looked;

	look(serial, true, bare[0], &looked);
	if (runs_fit(&looked, range))
		return true;
	look(serial, false, bare[0], &looked);
	look(&range->first, false, bare[1], &looks.first);
	look(&range->last, false, bare[2], &looks.last);
	return runs_fit(&looked, &looks);
}

static enum truth decide_written(const struct serial *serial, const struct serial_range *range)
{
	struct reading reading;
	struct marks marks;
	enum truth truth;

	read_serial(serial, &marks);
	read_range(range, &reading);
	if (marks.over || reading.first.over || reading.last.over)
		return TRUTH_UNKNOWN;
	truth = decide_runs(&reading, &marks);
	if (truth != TRUTH_FALSE)
		return truth;
	return (is_words(&marks) && !is_words(&reading.first)) || may_look(serial, range) ||
	                       (!is_aligned(&reading.first, &marks) &&
	                        runs_together(serial, range)) ||
	                       (drop_words(&marks) && decide_runs(&reading, &marks) != TRUTH_FALSE)
	               ? TRUTH_UNKNOWN
	               : TRUTH_FALSE;
}

/* Most serials are written as the range is, with one number. */
enum truth serial_in_range(const struct serial *serial, const struct serial_range *range)
{
	const struct serial *first = range->first.text ? &range->first : &range->last;
	const struct serial *last = range->last.text ? &range->last : &range->first;

	if (serial->counters != 1 || !serial_comparable(serial, first) ||
	    !serial_comparable(serial, last) ||
	    !(first->plain || (range->first.text && range->last.text)))
		return decide_written(serial, range);
	if (range->first.text && serial->counter[0] < first->counter[0])
		return TRUTH_FALSE;
	return truth_of(!range->last.text || serial->counter[0] <= last->counter[0]);
}

static bool has_style(const struct serial *serial, const struct serial_range *range)
{
	struct reading reading;
	struct marks marks;

	read_serial(serial, &marks);
	read_range(range, &reading);
	return is_aligned(&reading.first, &marks) && rest_is_equal(&reading, &marks) &&
	       marks_agree(&reading.first, &marks);
}

enum truth serial_in_any(const struct serial *serial, const struct serial_range *ranges,
                         size_t count)
{
	enum truth truth = TRUTH_FALSE;

	for (size_t i = 0; i < count && truth != TRUTH_TRUE; i++)
		truth = truth_or(truth, serial_in_range(serial, &ranges[i]));
	for (size_t i = 0; i < count && truth == TRUTH_UNKNOWN; i++)
		if (serial_in_range(serial, &ranges[i]) == TRUTH_FALSE &&
		    has_style(serial, &ranges[i]))
			truth = TRUTH_FALSE;
	return truth;
}

enum range_fault serial_range_check(const struct serial_range *range)
{
	struct reading reading;

	read_range(range, &reading);
	if (!is_aligned(&reading.first, &reading.last) ||
	    !marks_agree(&reading.first, &reading.last))
		return RANGE_STYLE;
	for (unsigned i = 0; i < reading.first.count; i++) {
		const struct mark_run *a = &reading.first.run[i], *b = &reading.last.run[i];

		/* Letters count only where nothing else does: lots A thru F. */
		if (!a->digits && reading.counts[i] &&
		    (reading.first.count > 1 || a->len != b->len))
			return RANGE_STYLE;
		if (compare_runs(a, b) != 0)
			return compare_runs(a, b) < 0 ? RANGE_FINE : RANGE_ORDER;
	}
	return RANGE_FINE;
}
