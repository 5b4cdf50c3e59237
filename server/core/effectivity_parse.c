/* The parser of effectivity statements.
 *
 * Works line by line. The tables are sized beforehand by counting commas for
 * each kind of line, so that nothing is ever moved; the rest is one pass that
 * stops at the first fault and says where it is and what was expected.
 */
#include "core/effectivity.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "core/effectivity_words.h"
#include "core/quantity.h"
#include "core/slice.h"

struct parser {
	struct arena *arena;
	struct effectivity *out;
	struct condition_group *groups;
	struct condition *conditions;
	struct name_pattern *names;
	struct serial_range *serials;
	struct date_span *dates;
	struct number_span *numbers;
	struct slice line;
	unsigned line_number;
	struct statement_fault *fault;
};

/* What was put together from two items stands nowhere in the line. */
static enum status fail_at(struct parser *p, const char *at, const char *expected)
{
	if (at < p->line.at || at > p->line.at + p->line.len)
		at = p->line.at + p->line.len;
	return slice_fail(p->fault, p->line, p->line_number, at, expected);
}

/* ---- names ---- */

static enum status add_name(struct parser *p, struct condition *cond, struct slice item,
                            bool may_be_series)
{
	struct name_pattern *pattern = &p->names[p->out->n_names];
	struct slice rest = item, last = {item.at, 0}, word;
	enum status status;

	word = slice_word(&rest);
	if (cond->kind == COND_PART && cond->names &&
	    (slice_is(word, "serial") || slice_is(word, "lot")))
		return fail_at(p, word.at, effectivity_words[cond->kind].expected);
	last = word;
	while ((word = slice_word(&rest)).len)
		last = word;
	pattern->series = may_be_series && last.at > item.at && slice_is(last, "series");
	if (pattern->series)
		item = slice_trim((struct slice){item.at, (size_t)(last.at - item.at)});
	if (item.len == 0)
		return fail_at(p, item.at, effectivity_words[cond->kind].expected);
	status = name_make(p->arena, item.at, item.len, &pattern->name);
	if (status != ST_OK)
		return status;
	if (utf8_length(pattern->name.text) > NAME_LONGEST)
		return fail_at(p, item.at, "a name of at most 80 characters");
	p->out->n_names++;
	cond->names++;
	return ST_OK;
}

/* ---- lists ---- */

/* Takes the words of the phrase, which stand with one blank between them; a
 * colon or a full stop may follow. */
static bool take_phrase(struct slice *rest, const char *phrase)
{
	struct slice left = *rest;

	while (*phrase) {
		size_t len = strcspn(phrase, " ");
		char wanted[24];
		struct slice word = slice_word(&left);

		snprintf(wanted, sizeof wanted, "%.*s", (int)len, phrase);
		phrase += len + (phrase[len] == ' ');
		if (!*phrase && word.len == len + 1 && strchr(":.", word.at[len]))
			word.len--;
		if (!slice_is(word, wanted))
			return false;
	}
	*rest = left;
	return true;
}

/* Phrases that bulletins use, with what they mean. */
struct phrase {
	const char *words;
	enum range_form form;
};

static const struct phrase before_value[] = {
        {"up to and including", RANGE_UP_TO},
        {"up to", RANGE_UP_TO},
        {"before", RANGE_BEFORE},
        {"prior to", RANGE_BEFORE},
        {"earlier than", RANGE_BEFORE},
        {"less than", RANGE_BEFORE},
        {"below", RANGE_BEFORE},
        {"after", RANGE_AFTER},
        {"later than", RANGE_AFTER},
        {"more than", RANGE_AFTER},
        {"above", RANGE_AFTER},
        {"over", RANGE_AFTER},
};

static const struct phrase behind_value[] = {
        {"and on", RANGE_AND_ON},     {"and up", RANGE_AND_ON},    {"and onwards", RANGE_AND_ON},
        {"and onward", RANGE_AND_ON}, {"and later", RANGE_AND_ON}, {"and subsequent", RANGE_AND_ON},
        {"and above", RANGE_AND_ON},  {"or later", RANGE_AND_ON},  {"or more", RANGE_AND_ON},
        {"or above", RANGE_AND_ON},   {"onwards", RANGE_AND_ON},   {"onward", RANGE_AND_ON},
        {"and below", RANGE_UP_TO},   {"and prior", RANGE_UP_TO},  {"and earlier", RANGE_UP_TO},
        {"or earlier", RANGE_UP_TO},  {"or less", RANGE_UP_TO},    {"or below", RANGE_UP_TO},
};
#define PHRASES(table) (sizeof(table) / sizeof *(table))

static bool take_any(struct slice *rest, const struct phrase *table, size_t count,
                     enum range_form *form)
{
	for (size_t i = 0; i < count; i++)
		if (take_phrase(rest, table[i].words)) {
			*form = table[i].form;
			return true;
		}
	return false;
}

static struct slice up_to_here(struct slice from, const char *end)
{
	return slice_trim((struct slice){from.at, (size_t)(end - from.at)});
}

/* Cuts the next item off a list: commas part them, and so do "and" and "or"
 * between two of them, and the stroke in WH-2207-1/-2. */
static struct slice cut_item(struct slice *list, bool words)
{
	struct slice item = *list, rest, word;
	bool between;

	rest = slice_cut(list, ',');
	item = rest;
	if (!words)
		return slice_trim(item);
	if (!take_phrase(&rest, "and"))
		(void)take_phrase(&rest, "or");
	item = slice_trim(rest);
	between = take_phrase(&rest, "between");
	while (rest = slice_trim(rest), rest.len) {
		enum range_form form;
		struct slice here = rest;
		const char *stroke;

		if (take_any(&rest, behind_value, PHRASES(behind_value), &form) ||
		    take_any(&rest, before_value, PHRASES(before_value), &form))
			continue;
		word = slice_word(&rest);
		stroke = memchr(word.at, '/', word.len);
		if (stroke && stroke > word.at && stroke + 1 < word.at + word.len &&
		    stroke[1] == '-') {
			rest = (struct slice){stroke + 1, 0};
			here.at = stroke;
		} else if (here.at == item.at ||
		           (!slice_is(word, "and") && !slice_is(word, "or"))) {
			continue;
		} else if (between && slice_is(word, "and")) {
			between = false;
			continue;
		}
		/* What is left of the list begins behind the word. */
		if (list->at)
			list->len += (size_t)(list->at - rest.at);
		else
			list->len = (size_t)(item.at + item.len - rest.at);
		list->at = rest.at;
		return up_to_here(item, here.at);
	}
	return item;
}

static bool all_digits(struct slice s)
{
	for (size_t i = 0; i < s.len; i++)
		if (s.at[i] < '0' || s.at[i] > '9')
			return false;
	return s.len > 0;
}

/* "-0109" behind WH-0107 is WH-0109, and in "WH-0107 thru 0109", written as
 * wide, it is so too: the text before the last number is said once. */
static enum status fill_in(struct parser *p, struct slice last, bool bare, struct slice *item)
{
	const char *dash = last.len ? memrchr(last.at, '-', last.len) : NULL;
	struct slice number = *item;
	char *whole;

	if (!dash)
		return ST_OK;
	if (item->len > 1 && item->at[0] == '-') {
		number.at++;
		number.len--;
	} else if (!bare || !all_digits(*item) ||
	           item->len != (size_t)(last.at + last.len - dash) - 1 ||
	           !all_digits((struct slice){dash + 1, item->len})) {
		return ST_OK;
	}
	whole = arena_printf(p->arena, "%.*s%.*s", (int)(dash + 1 - last.at), last.at,
	                     (int)number.len, number.at);
	if (!whole)
		return ST_NOMEM;
	*item = (struct slice){whole, strlen(whole)};
	return ST_OK;
}

static struct slice slice_of(const char *text)
{
	return (struct slice){text, text ? strlen(text) : 0};
}

static enum status add_names(struct parser *p, struct condition *cond, struct slice list)
{
	bool may_be_series = cond->kind == COND_MODEL || cond->kind == COND_PART;
	enum status status = ST_OK;

	while (status == ST_OK && list.at) {
		struct slice item = cut_item(&list, may_be_series);
		const char *last = cond->names ? p->names[p->out->n_names - 1].name.text : NULL;

		if (may_be_series)
			status = fill_in(p, slice_of(last), false, &item);
		if (status == ST_OK)
			status = add_name(p, cond, item, may_be_series);
	}
	return status;
}

/* ---- ranges ---- */

/* One item of a list of ranges, taken apart but not yet understood. */
struct raw_range {
	enum range_form form;
	struct slice from; /* the only value, except for thru */
	struct slice to;
};

static enum status expect_end(struct parser *p, struct slice rest)
{
	struct slice word = slice_word(&rest);

	return word.len ? fail_at(p, word.at, "a comma or the end of the line") : ST_OK;
}

/* A value is a word; a date may take up to three. */
static struct slice take_value(enum range_table table, struct slice *rest)
{
	struct slice ends[3], left = *rest, word = slice_word(&left), value = word;
	struct date date;
	unsigned words = 0;

	if (table != TABLE_DATES) {
		*rest = left;
		return word;
	}
	for (left = *rest; words < 3 && (word = slice_word(&left)).len; words++)
		ends[words] = left;
	while (words > 1) {
		struct slice longer = up_to_here(slice_trim(*rest), ends[words - 1].at);

		if (date_read(longer.at, longer.len, &date) != ST_INVALID) {
			*rest = ends[words - 1];
			return longer;
		}
		words--;
	}
	left = *rest;
	slice_word(&left);
	*rest = left;
	return value;
}

static bool take_thru(struct slice *rest, bool between)
{
	return take_phrase(rest, "thru") || take_phrase(rest, "through") ||
	       take_phrase(rest, "to") || take_phrase(rest, "-") ||
	       take_phrase(rest, "\xE2\x80\x93") || (between && take_phrase(rest, "and"));
}

static enum status read_range(struct parser *p, enum range_table table, struct slice item,
                              struct raw_range *raw)
{
	struct slice rest = item, word;
	bool between = take_phrase(&rest, "between");

	*raw = (struct raw_range){.form = RANGE_ONE};
	if (!between && !take_phrase(&rest, "from") &&
	    take_any(&rest, before_value, PHRASES(before_value), &raw->form)) {
		raw->from = take_value(table, &rest);
		return expect_end(p, rest);
	}
	raw->from = take_value(table, &rest);
	if (take_thru(&rest, between)) {
		raw->form = RANGE_THRU;
		raw->to = take_value(table, &rest);
		(void)(take_phrase(&rest, "inclusive") || take_phrase(&rest, "incl"));
		return expect_end(p, rest);
	}
	if (take_any(&rest, behind_value, PHRASES(behind_value), &raw->form))
		return expect_end(p, rest);
	word = slice_word(&rest);
	if (word.len == 0)
		return ST_OK;
	return fail_at(p, word.at, "thru, \"and on\", a comma or the end of the line");
}

static enum status read_serial(struct parser *p, bool lot, struct slice word, struct serial *out)
{
	char expected[120];
	size_t where = 0;
	enum serial_fault fault = serial_check_printed(word.at, word.len, lot, &where);

	if (fault == SERIAL_FINE)
		return serial_make(p->arena, word.at, word.len, out);
	if (fault == SERIAL_EMPTY)
		return fail_at(p, word.at, "a serial or lot number");
	snprintf(expected, sizeof expected, "a serial or lot number; this %s",
	         serial_fault_words(fault));
	return fail_at(p, word.at + where, expected);
}

static enum status check_serial_range(struct parser *p, const struct raw_range *raw,
                                      const struct serial_range *range)
{
	switch (serial_range_check(range)) {
	case RANGE_STYLE:
		return fail_at(p, raw->to.at,
		               "an end written in the same style as the start; write two ranges");
	case RANGE_ORDER:
		return fail_at(p, raw->to.at, "an end that is not before the start");
	case RANGE_FINE:
		break;
	}
	return ST_OK;
}

/* "before WH-0120" is "up to WH-0119", "after" it "WH-0121 and on": where it is
 * plain which number counts. */
static enum status add_neighbour(struct parser *p, bool lot, const struct raw_range *raw)
{
	struct serial_range *range = &p->serials[p->out->n_serials];
	struct serial serial;
	char text[SERIAL_LONGEST + 2];
	size_t len, digits = 0;
	unsigned long long value;
	enum status status = read_serial(p, lot, raw->from, &serial);

	if (status != ST_OK)
		return status;
	len = strlen(serial.bare);
	while (digits < len && serial.bare[len - 1 - digits] >= '0' &&
	       serial.bare[len - 1 - digits] <= '9')
		digits++;
	value = digits ? strtoull(serial.bare + len - digits, NULL, 10) : 0;
	if (!serial.plain || (raw->form == RANGE_BEFORE && value == 0))
		return fail_at(p, raw->from.at,
		               "\"up to\" or \"and on\" with the first or last number concerned");
	value += raw->form == RANGE_BEFORE ? -1ULL : 1ULL;
	snprintf(text, sizeof text, "%.*s%0*llu", (int)(len - digits), serial.bare, (int)digits,
	         value);
	*range = (struct serial_range){.first = {.text = NULL}};
	status = serial_make(p->arena, text, strlen(text),
	                     raw->form == RANGE_BEFORE ? &range->last : &range->first);
	p->out->n_serials += status == ST_OK;
	return status;
}

static enum status add_serial_range(struct parser *p, const struct condition *cond,
                                    struct raw_range *raw)
{
	const struct serial_range *before =
	        cond->ranges ? &p->serials[p->out->n_serials - 1] : NULL;
	bool lot = cond->detail == PART_LOT;
	struct serial_range range = {.first = {.text = NULL}};
	const char *last = !before             ? NULL
	                   : before->last.text ? before->last.text
	                                       : before->first.text;
	enum status status = fill_in(p, slice_of(last), false, &raw->from);

	if (status == ST_OK && raw->form == RANGE_THRU)
		status = fill_in(p, raw->from, true, &raw->to);
	if (status != ST_OK)
		return status;
	if (raw->form == RANGE_BEFORE || raw->form == RANGE_AFTER)
		return add_neighbour(p, lot, raw);
	status = read_serial(p, lot, raw->from,
	                     raw->form == RANGE_UP_TO ? &range.last : &range.first);
	if (status == ST_OK && raw->form == RANGE_ONE)
		range.last = range.first;
	if (status == ST_OK && raw->form == RANGE_THRU)
		status = read_serial(p, lot, raw->to, &range.last);
	if (status == ST_OK && raw->form == RANGE_THRU)
		status = check_serial_range(p, raw, &range);
	if (status == ST_OK)
		p->serials[p->out->n_serials++] = range;
	return status;
}

static enum status read_date(struct parser *p, struct slice word, struct date *out)
{
	enum status status = date_read(word.at, word.len, out);

	if (status == ST_OK)
		return ST_OK;
	return fail_at(p, word.at,
	               status == ST_MISSING ? "a date that can be but one day, such as 2017-09-24"
	                                    : "a date such as 2017, 2017-09 or 2017-09-24");
}

static struct day_range days_of(const struct date_span *span)
{
	switch (span->form) {
	case RANGE_THRU:
		return (struct day_range){span->from.first, span->to.last};
	case RANGE_AND_ON:
		return (struct day_range){span->from.first, DAY_LAST};
	case RANGE_UP_TO:
		return (struct day_range){DAY_FIRST, span->from.last};
	case RANGE_BEFORE:
		return (struct day_range){DAY_FIRST, span->from.first - 1};
	case RANGE_AFTER:
		return (struct day_range){span->from.last + 1, DAY_LAST};
	case RANGE_ONE:
		break;
	}
	return (struct day_range){span->from.first, span->from.last};
}

static enum status add_date_span(struct parser *p, const struct raw_range *raw)
{
	struct date_span span = {.form = raw->form};
	enum status status = read_date(p, raw->from, &span.from);

	if (status == ST_OK && raw->form == RANGE_THRU) {
		status = read_date(p, raw->to, &span.to);
		if (status == ST_OK && span.to.last < span.from.first)
			status = fail_at(p, raw->to.at, "an end that is not before the start");
	}
	if (status != ST_OK)
		return status;
	span.days = days_of(&span);
	p->dates[p->out->n_dates++] = span;
	return ST_OK;
}

static enum status read_number(struct parser *p, bool hours, struct slice word, int64_t *out)
{
	enum status status =
	        hours ? hours_parse(word.at, word.len, out) : count_parse(word.at, word.len, out);

	if (status == ST_OK)
		return ST_OK;
	return fail_at(p, word.at, hours ? "hours such as 100 or 1210.5" : "a whole number");
}

static void close_numbers(struct number_span *span)
{
	span->first = INT64_MIN;
	span->last = INT64_MAX;
	if (span->form == RANGE_ONE || span->form == RANGE_THRU || span->form == RANGE_AND_ON)
		span->first = span->from;
	if (span->form == RANGE_AFTER)
		span->first = span->from + 1;
	if (span->form == RANGE_ONE || span->form == RANGE_UP_TO)
		span->last = span->from;
	if (span->form == RANGE_THRU)
		span->last = span->to;
	if (span->form == RANGE_BEFORE)
		span->last = span->from - 1;
}

static enum status add_number_span(struct parser *p, bool hours, const struct raw_range *raw)
{
	struct number_span span = {.form = raw->form};
	enum status status = read_number(p, hours, raw->from, &span.from);

	if (status == ST_OK && raw->form == RANGE_THRU) {
		status = read_number(p, hours, raw->to, &span.to);
		if (status == ST_OK && span.to < span.from)
			status = fail_at(p, raw->to.at, "an end that is not before the start");
	}
	if (status != ST_OK)
		return status;
	close_numbers(&span);
	p->numbers[p->out->n_numbers++] = span;
	return ST_OK;
}

static enum status add_ranges(struct parser *p, struct condition *cond, struct slice list)
{
	enum range_table table = effectivity_words[cond->kind].table;
	enum status status = ST_OK;

	for (const char *at = list.at; table == TABLE_NUMBERS && at + 2 < list.at + list.len; at++)
		if (isdigit((unsigned char)at[0]) && at[1] == ',' && isdigit((unsigned char)at[2]))
			return fail_at(p, at + 1,
			               "numbers without a comma in them, or a blank behind it");
	while (status == ST_OK && list.at) {
		struct slice item = cut_item(&list, true);
		struct raw_range raw;

		status = read_range(p, table, item, &raw);
		if (status != ST_OK)
			break;
		if (table == TABLE_DATES)
			status = add_date_span(p, &raw);
		else if (table == TABLE_NUMBERS)
			status = add_number_span(p, cond->kind == COND_HOURS, &raw);
		else
			status = add_serial_range(p, cond, &raw);
		cond->ranges++;
	}
	return status;
}

/* ---- lines ---- */

/* "part NUMBER, ... [serial|lot RANGES]": the detail begins at the first of
 * those words that has a number before it. */
static enum status read_part(struct parser *p, struct condition *cond, struct slice rest)
{
	struct slice names = slice_trim(rest), after = names, word;

	while ((word = slice_word(&after)).len) {
		if (word.at == names.at)
			continue;
		if (slice_is(word, "serial"))
			cond->detail = PART_SERIAL;
		else if (slice_is(word, "lot"))
			cond->detail = PART_LOT;
		else
			continue;
		names.len = (size_t)(word.at - names.at);
		break;
	}
	enum status status = add_names(p, cond, names);

	if (status == ST_OK && cond->detail != PART_ANY)
		status = add_ranges(p, cond, after);
	return status;
}

static enum status read_shipped(struct parser *p, struct condition *cond, struct slice rest)
{
	struct slice code = slice_word(&rest);
	const char *comma = memchr(code.at, ',', code.len);
	enum status status;

	if (comma)
		return fail_at(p, comma, "one sub-kit code, then a date");
	status = add_name(p, cond, code, false);
	return status == ST_OK ? add_ranges(p, cond, rest) : status;
}

static enum status read_all(struct parser *p, const struct condition *cond, struct slice rest)
{
	if (cond->negated)
		return fail_at(p, p->line.at, "\"all\" without \"not\"");
	return expect_end(p, rest);
}

static enum status read_values(struct parser *p, struct condition *cond, struct slice rest)
{
	switch ((enum condition_kind)cond->kind) {
	case COND_ALL:
		return read_all(p, cond, rest);
	case COND_PART:
		return read_part(p, cond, rest);
	case COND_SHIPPED:
		return read_shipped(p, cond, rest);
	case COND_MODEL:
	case COND_SUBKIT:
	case COND_OPTION:
	case COND_NOTICE:
	case COND_STEP:
		return add_names(p, cond, rest);
	case COND_SERIAL:
	case COND_PURCHASED:
	case COND_PLANS:
	case COND_FIRST_FLIGHT:
	case COND_HOURS:
	case COND_LANDINGS:
		break;
	}
	return add_ranges(p, cond, rest);
}

/* Other words for the keywords, as bulletins print them. */
static const struct {
	const char *words;
	enum condition_kind kind;
} also_called[] = {
        {"all kits", COND_ALL},
        {"all aircraft", COND_ALL},
        {"models", COND_MODEL},
        {"serial numbers", COND_SERIAL},
        {"serial number", COND_SERIAL},
        {"serial nos", COND_SERIAL},
        {"serial no", COND_SERIAL},
        {"serials", COND_SERIAL},
        {"s/n", COND_SERIAL},
        {"bought", COND_PURCHASED},
        {"plans dated", COND_PLANS},
        {"plans issued", COND_PLANS},
        {"first flight", COND_FIRST_FLIGHT},
        {"first flown", COND_FIRST_FLIGHT},
        {"sub-kits", COND_SUBKIT},
        {"sub-kit", COND_SUBKIT},
        {"subkits", COND_SUBKIT},
        {"options", COND_OPTION},
        {"part numbers", COND_PART},
        {"part number", COND_PART},
        {"part nos", COND_PART},
        {"part no", COND_PART},
        {"parts", COND_PART},
        {"p/n", COND_PART},
        {"notices", COND_NOTICE},
        {"steps", COND_STEP},
};

/* The keyword of a line and whether "not" stands before it. */
static bool read_keyword(struct slice *rest, bool *negated, uint8_t *kind)
{
	*negated = take_phrase(rest, "not");
	for (size_t i = 0; i < sizeof also_called / sizeof *also_called; i++)
		if (take_phrase(rest, also_called[i].words)) {
			*kind = (uint8_t)also_called[i].kind;
			return true;
		}
	for (*kind = 0; *kind < CONDITION_KINDS; (*kind)++)
		if (take_phrase(rest, effectivity_words[*kind].keyword))
			return true;
	return false;
}

static uint32_t *range_counter(struct effectivity *out, enum range_table table)
{
	return table == TABLE_DATES     ? &out->n_dates
	       : table == TABLE_NUMBERS ? &out->n_numbers
	                                : &out->n_serials;
}

static enum status add_condition(struct parser *p, uint8_t kind, bool negated, struct slice values)
{
	struct condition *cond = &p->conditions[p->out->n_conditions];
	enum status status;

	*cond = (struct condition){.kind = kind, .negated = negated, .line = p->line_number};
	cond->name = p->out->n_names;
	cond->range = *range_counter(p->out, effectivity_words[kind].table);
	status = read_values(p, cond, slice_trim(values));
	if (status != ST_OK)
		return status;
	p->out->n_conditions++;
	p->groups[p->out->n_groups].conditions++;
	return ST_OK;
}

/* Cuts off what stands behind "except"; empty when nothing does. */
static struct slice cut_exception(struct slice *values)
{
	struct slice rest = *values;

	while (rest = slice_trim(rest), rest.len) {
		const char *here = rest.at;

		if (take_phrase(&rest, "except") || take_phrase(&rest, "excluding")) {
			*values = up_to_here(*values, here);
			if (values->len && values->at[values->len - 1] == ',')
				values->len--;
			return slice_trim(rest);
		}
		slice_word(&rest);
	}
	return (struct slice){values->at + values->len, 0};
}

/* "serial A thru B except C" is two conditions: serial A thru B, not serial C.
 * Not so for parts, where both must be about one part. */
static enum status read_condition(struct parser *p)
{
	struct slice rest = p->line, except;
	bool negated;
	uint8_t kind;
	enum status status;

	if (!read_keyword(&rest, &negated, &kind))
		return fail_at(
		        p, slice_trim(rest).at,
		        "all, model, serial, purchased, plans, first-flight, subkit, shipped, "
		        "option, part, notice, step, hours, landings, or a line \"or\"");
	except = cut_exception(&rest);
	if (except.len &&
	    (negated || kind == COND_PART || kind == COND_SHIPPED || kind == COND_ALL))
		return fail_at(p, except.at, "no \"except\" here; write what does count");
	status = add_condition(p, kind, negated, rest);
	return status == ST_OK && except.len ? add_condition(p, kind, true, except) : status;
}

static enum status close_group(struct parser *p, const char *at)
{
	if (p->groups[p->out->n_groups].conditions == 0)
		return fail_at(p, at, "a condition such as \"model Whimbrel\" or \"all\"");
	p->out->n_groups++;
	p->groups[p->out->n_groups].condition = p->out->n_conditions;
	return ST_OK;
}

static bool is_or(struct slice line)
{
	return slice_is(slice_trim(line), "or");
}

static enum status read_lines(struct parser *p, struct slice text)
{
	enum status status = ST_OK;

	while (status == ST_OK && text.at) {
		p->line = slice_cut(&text, '\n');
		p->line_number++;
		if (is_or(p->line))
			status = close_group(p, p->line.at);
		else if (slice_trim(p->line).len)
			status = read_condition(p);
	}
	return status == ST_OK ? close_group(p, p->line.at + p->line.len) : status;
}

/* ---- tables ---- */

struct sizes {
	size_t lines, groups, names, serials, dates, numbers;
};

/* Items of a list: at most one more than commas and blanks and strokes, each of
 * which may part two. */
static void count_items(struct slice list, size_t *count)
{
	*count = 1;
	for (size_t i = 0; i < list.len; i++)
		*count += strchr(", \t/", list.at[i]) != NULL;
}

static void count_line(struct slice line, struct sizes *sizes)
{
	uint8_t kind;
	bool negated;
	struct slice rest = line;
	size_t items;

	count_items(line, &items);
	sizes->lines += 2; /* one more for an exception */
	sizes->groups += is_or(line);
	if (!read_keyword(&rest, &negated, &kind))
		return;
	if (effectivity_words[kind].table == TABLE_NAMES || kind == COND_SHIPPED)
		sizes->names += items;
	if (effectivity_words[kind].table == TABLE_DATES)
		sizes->dates += items;
	if (effectivity_words[kind].table == TABLE_NUMBERS)
		sizes->numbers += items;
	if (effectivity_words[kind].table == TABLE_SERIALS || kind == COND_PART)
		sizes->serials += items;
}

static bool make_tables(struct parser *p, struct slice text)
{
	struct sizes sizes = {.groups = 2}; /* one more stays open behind the last */

	while (text.at)
		count_line(slice_cut(&text, '\n'), &sizes);
	p->out = ARENA_NEW(p->arena, struct effectivity);
	p->groups = ARENA_ARRAY(p->arena, struct condition_group, sizes.groups);
	p->conditions = ARENA_ARRAY(p->arena, struct condition, sizes.lines);
	p->names = ARENA_ARRAY(p->arena, struct name_pattern, sizes.names);
	p->serials = ARENA_ARRAY(p->arena, struct serial_range, sizes.serials);
	p->dates = ARENA_ARRAY(p->arena, struct date_span, sizes.dates);
	p->numbers = ARENA_ARRAY(p->arena, struct number_span, sizes.numbers);
	return p->out && p->groups && p->conditions && p->names && p->serials && p->dates &&
	       p->numbers;
}

static void join_tables(const struct parser *p)
{
	p->out->groups = p->groups;
	p->out->conditions = p->conditions;
	p->out->names = p->names;
	p->out->serials = p->serials;
	p->out->dates = p->dates;
	p->out->numbers = p->numbers;
}

enum status effectivity_parse(struct arena *arena, const char *text, size_t len,
                              const struct effectivity **out, struct statement_fault *fault)
{
	struct parser p = {.arena = arena, .fault = fault};
	struct slice all = {text, len};
	enum status status = slice_check(all, EFFECTIVITY_LONGEST, fault);

	if (status != ST_OK)
		return status;
	if (!make_tables(&p, all))
		return ST_NOMEM;
	status = read_lines(&p, all);
	if (status != ST_OK)
		return status;
	join_tables(&p);
	*out = p.out;
	return ST_OK;
}

enum status effectivity_parse_lots(struct arena *arena, const char *text, size_t len,
                                   const struct serial_range **out, size_t *count,
                                   struct statement_fault *fault)
{
	struct effectivity tables = {.n_serials = 0};
	struct condition condition = {.kind = COND_PART, .detail = PART_LOT};
	struct parser p = {.arena = arena, .fault = fault, .out = &tables};
	struct slice all = {text, len};
	struct sizes sizes = {.lines = 0};
	enum status status = slice_check(all, EFFECTIVITY_LONGEST, fault);

	if (status != ST_OK)
		return status;
	count_items(all, &sizes.serials);
	p.serials = ARENA_ARRAY(arena, struct serial_range, sizes.serials);
	if (!p.serials)
		return ST_NOMEM;
	p.line = all;
	p.line_number = 1;
	if (slice_trim(all).len)
		status = add_ranges(&p, &condition, all);
	if (status != ST_OK)
		return status;
	*out = p.serials;
	*count = tables.n_serials;
	return ST_OK;
}
