/* The parser of effectivity statements.
 *
 * Works line by line. The tables are sized beforehand by counting commas for
 * each kind of line, so that nothing is ever moved; the rest is one pass that
 * stops at the first fault and says where it is and what was expected.
 */
#include "core/effectivity.h"

#include <stdio.h>
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

static enum status fail_at(struct parser *p, const char *at, const char *expected)
{
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

static enum status add_names(struct parser *p, struct condition *cond, struct slice list)
{
	bool may_be_series = cond->kind == COND_MODEL || cond->kind == COND_PART;
	enum status status = ST_OK;

	while (status == ST_OK && list.at)
		status = add_name(p, cond, slice_trim(slice_cut(&list, ',')), may_be_series);
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

static enum status read_range_tail(struct parser *p, struct slice rest, struct raw_range *raw)
{
	struct slice word = slice_word(&rest);

	if (word.len == 0) {
		raw->form = RANGE_ONE;
		return ST_OK;
	}
	if (slice_is(word, "thru") || slice_is(word, "through")) {
		raw->form = RANGE_THRU;
		raw->to = slice_word(&rest);
		return expect_end(p, rest);
	}
	if (slice_is(word, "and")) {
		raw->form = RANGE_AND_ON;
		word = slice_word(&rest);
		if (slice_is(word, "on"))
			return expect_end(p, rest);
		return fail_at(p, word.at, "\"on\", as in \"and on\"");
	}
	return fail_at(p, word.at, "thru, \"and on\", a comma or the end of the line");
}

static enum status read_range(struct parser *p, struct slice item, struct raw_range *raw)
{
	struct slice rest = item;
	struct slice word = slice_word(&rest);

	*raw = (struct raw_range){.form = RANGE_ONE, .from = word};
	if (slice_is(word, "up")) {
		word = slice_word(&rest);
		if (!slice_is(word, "to"))
			return fail_at(p, word.at, "\"to\", as in \"up to\"");
		raw->form = RANGE_UP_TO;
	} else if (slice_is(word, "before")) {
		raw->form = RANGE_BEFORE;
	} else if (slice_is(word, "after")) {
		raw->form = RANGE_AFTER;
	} else {
		return read_range_tail(p, rest, raw);
	}
	raw->from = slice_word(&rest);
	return expect_end(p, rest);
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

static enum status add_serial_range(struct parser *p, bool lot, const struct raw_range *raw)
{
	struct serial_range range = {.first = {.text = NULL}};
	enum status status;

	if (raw->form == RANGE_BEFORE || raw->form == RANGE_AFTER)
		return fail_at(p, raw->from.at,
		               "\"up to\" or \"and on\" with the first or last number concerned");
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
	if (date_parse(word.at, word.len, out) == ST_OK)
		return ST_OK;
	return fail_at(p, word.at, "a date such as 2017, 2017-09 or 2017-09-24");
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

	while (status == ST_OK && list.at) {
		struct raw_range raw;

		status = read_range(p, slice_trim(slice_cut(&list, ',')), &raw);
		if (status != ST_OK)
			break;
		if (table == TABLE_DATES)
			status = add_date_span(p, &raw);
		else if (table == TABLE_NUMBERS)
			status = add_number_span(p, cond->kind == COND_HOURS, &raw);
		else
			status = add_serial_range(p, cond->detail == PART_LOT, &raw);
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

static bool find_kind(struct slice word, uint8_t *out)
{
	for (uint8_t kind = 0; kind < CONDITION_KINDS; kind++)
		if (slice_is(word, effectivity_words[kind].keyword)) {
			*out = kind;
			return true;
		}
	return false;
}

/* The keyword of a line and whether "not" stands before it. */
static struct slice read_keyword(struct slice *rest, bool *negated)
{
	struct slice word = slice_word(rest);

	*negated = slice_is(word, "not");
	return *negated ? slice_word(rest) : word;
}

static uint32_t *range_counter(struct effectivity *out, enum range_table table)
{
	return table == TABLE_DATES     ? &out->n_dates
	       : table == TABLE_NUMBERS ? &out->n_numbers
	                                : &out->n_serials;
}

static enum status read_condition(struct parser *p)
{
	struct condition *cond = &p->conditions[p->out->n_conditions];
	struct slice rest = p->line;
	struct slice word = read_keyword(&rest, &cond->negated);
	enum status status;

	if (!find_kind(word, &cond->kind))
		return fail_at(
		        p, word.at,
		        "all, model, serial, purchased, plans, first-flight, subkit, shipped, "
		        "option, part, notice, step, hours, landings, or a line \"or\"");
	cond->line = p->line_number;
	cond->name = p->out->n_names;
	cond->range = *range_counter(p->out, effectivity_words[cond->kind].table);
	status = read_values(p, cond, slice_trim(rest));
	if (status != ST_OK)
		return status;
	p->out->n_conditions++;
	p->groups[p->out->n_groups].conditions++;
	return ST_OK;
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

/* Items of a list: one more than commas. */
static void count_items(struct slice list, size_t *count)
{
	*count = 1;
	for (size_t i = 0; i < list.len; i++)
		*count += list.at[i] == ',';
}

static void count_line(struct slice line, struct sizes *sizes)
{
	uint8_t kind;
	bool negated;
	struct slice rest = line;
	size_t items;

	count_items(line, &items);
	sizes->lines++;
	sizes->groups += is_or(line);
	if (!find_kind(read_keyword(&rest, &negated), &kind))
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
