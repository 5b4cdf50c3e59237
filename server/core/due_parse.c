/* The parser of compliance times: line by line, to the first fault. */
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "core/due_words.h"
#include "core/quantity.h"

#define FIRST_LIMIT "within, before, by, \"then\", \"whichever first\", \"allow\" or \"if\""
#define AGAIN_LIMIT                                                                                \
	"every, \"before next\", \"within ... of last\", \"whichever first\" or \"allow\""

struct parser {
	struct arena *arena;
	struct due_statement *out;
	struct due_case *cases;
	struct due_limit *limits;
	size_t n_limits;
	struct due_case *now;  /* the case being read; NULL before the first line */
	struct due_part *part; /* its part being read */
	bool ruled;            /* "whichever" was read for it */
	struct slice line;
	unsigned line_number;
	struct statement_fault *fault;
};

static enum status fail_at(struct parser *p, const char *at, const char *expected)
{
	return slice_fail(p->fault, p->line, p->line_number, at, expected);
}

static bool in_again(const struct parser *p)
{
	return p->part == &p->now->again;
}

/* ---- words ---- */

static enum status expect_end(struct parser *p, struct slice rest)
{
	struct slice word = slice_word(&rest);

	return word.len ? fail_at(p, word.at, "the end of the line") : ST_OK;
}

static enum status expect_word(struct parser *p, struct slice *rest, const char *word)
{
	struct slice found = slice_word(rest);
	char expected[40];

	if (slice_is(found, word))
		return ST_OK;
	snprintf(expected, sizeof expected, "\"%s\"", word);
	return fail_at(p, found.at, expected);
}

static enum status read_name(struct parser *p, struct slice rest, const char *expected,
                             struct name *out)
{
	enum status status;

	rest = slice_trim(rest);
	if (rest.len == 0)
		return fail_at(p, rest.at, expected);
	status = name_make(p->arena, rest.at, rest.len, out);
	if (status == ST_OK && utf8_length(out->text) > NAME_LONGEST)
		return fail_at(p, rest.at, "a name of at most 80 characters");
	return status;
}

/* "30 calendar months": amount and unit. */
static enum status read_unit(struct parser *p, struct slice *rest, uint8_t *unit)
{
	struct slice before = slice_trim(*rest), word = slice_word(rest);
	bool calendar = slice_is(word, "calendar");

	if (calendar)
		word = slice_word(rest);
	for (uint8_t i = 0; i < DUE_UNITS; i++) {
		const char *one = due_units[i].one, *many = due_units[i].many;
		size_t skip = i == UNIT_CALENDAR_MONTHS ? strlen("calendar ") : 0;

		if (calendar == (skip > 0) &&
		    (slice_is(word, one + skip) || slice_is(word, many + skip))) {
			*unit = i;
			return ST_OK;
		}
	}
	return fail_at(p, before.at, "hours, landings, days, months, calendar months or years");
}

static enum status read_number(struct parser *p, struct slice word, uint8_t unit, int64_t *out)
{
	int64_t most = due_units[unit].most;
	enum status status = unit == UNIT_HOURS ? hours_parse(word.at, word.len, out)
	                                        : count_parse(word.at, word.len, out);
	char expected[60];

	if (status == ST_OK && *out > 0 && *out <= most)
		return ST_OK;
	snprintf(expected, sizeof expected, "%s from %s to %lld",
	         unit == UNIT_HOURS ? "hours" : "a whole number", unit == UNIT_HOURS ? "0.01" : "1",
	         (long long)(unit == UNIT_HOURS ? most / 100 : most));
	return fail_at(p, word.at, expected);
}

static enum status read_amount(struct parser *p, struct slice *rest, struct due_limit *limit)
{
	struct slice number = slice_word(rest);
	enum status status = read_unit(p, rest, &limit->unit);

	return status == ST_OK ? read_number(p, number, limit->unit, &limit->amount) : status;
}

static bool read_day(struct slice word, day_number *out)
{
	struct date date;

	if (date_parse(word.at, word.len, &date) != ST_OK || date.precision != DATE_DAY)
		return false;
	*out = date.first;
	return true;
}

/* ---- limits ---- */

static enum status read_start(struct parser *p, struct slice rest, struct due_limit *limit)
{
	struct slice word = slice_word(&rest);
	enum status status;

	limit->start = slice_is(word, "issue")      ? START_ISSUE
	               : slice_is(word, "purchase") ? START_PURCHASE
	               : slice_is(word, "first")    ? START_FIRST_FLIGHT
	               : slice_is(word, "notice")   ? START_NOTICE
	               : slice_is(word, "last")     ? START_EVENT
	                                            : START_DAY;
	if (limit->start == START_NOTICE)
		return read_name(p, rest, "the number of a notice", &limit->about);
	if (limit->start == START_EVENT)
		return read_name(p, rest, "an event such as annual inspection", &limit->about);
	if (limit->start == START_DAY && !read_day(word, &limit->day))
		return fail_at(
		        p, word.at,
		        "issue, a date such as 2017-09-24, purchase, first flight, \"notice\" "
		        "and a number, or \"last\" and an event");
	if (limit->start == START_FIRST_FLIGHT) {
		status = expect_word(p, &rest, "flight");
		if (status != ST_OK)
			return status;
	}
	return expect_end(p, rest);
}

static enum status read_within(struct parser *p, struct slice rest, struct due_limit *limit)
{
	enum status status = read_amount(p, &rest, limit);

	limit->kind = DUE_LIMIT_SPAN;
	if (status == ST_OK)
		status = expect_word(p, &rest, "of");
	if (status == ST_OK)
		status = read_start(p, rest, limit);
	if (status == ST_OK && in_again(p) && limit->start != START_EVENT)
		return fail_at(p, p->line.at, "below \"then\": " AGAIN_LIMIT);
	return status;
}

static enum status read_every(struct parser *p, struct slice rest, struct due_limit *limit)
{
	enum status status = read_amount(p, &rest, limit);

	limit->kind = DUE_LIMIT_SPAN;
	limit->start = START_DONE;
	if (status == ST_OK && !in_again(p))
		return fail_at(p, p->line.at, "a line \"then\" above what is to be repeated");
	return status == ST_OK ? expect_end(p, rest) : status;
}

static enum status read_next(struct parser *p, struct slice rest, struct due_limit *limit)
{
	struct slice name = slice_trim(rest);

	limit->kind = slice_is(name, "flight") ? DUE_LIMIT_NEXT_FLIGHT : DUE_LIMIT_EVENT;
	if (limit->kind == DUE_LIMIT_NEXT_FLIGHT)
		return ST_OK;
	return read_name(p, name, "flight, or an event such as annual inspection", &limit->about);
}

static enum status read_before(struct parser *p, struct slice rest, struct due_limit *limit)
{
	struct slice word = slice_word(&rest);
	enum status status;

	if (slice_is(word, "next"))
		return read_next(p, rest, limit);
	if (in_again(p))
		return fail_at(p, word.at, "\"next\" and flight or an event");
	if (slice_is(word, "step")) {
		limit->kind = DUE_LIMIT_STEP;
		return read_name(p, rest, "a step code", &limit->about);
	}
	if (!slice_is(word, "first"))
		return fail_at(p, word.at,
		               "step, first flight, or \"next\" and flight or an event");
	limit->kind = DUE_LIMIT_FIRST_FLIGHT;
	status = expect_word(p, &rest, "flight");
	return status == ST_OK ? expect_end(p, rest) : status;
}

static enum status read_total(struct parser *p, struct slice rest, struct due_limit *limit)
{
	const char *from = slice_trim(rest).at;
	enum status status = read_amount(p, &rest, limit);

	limit->kind = DUE_LIMIT_TOTAL;
	if (status == ST_OK && limit->unit != UNIT_HOURS && limit->unit != UNIT_LANDINGS)
		return fail_at(p, from, "hours or landings in total, or a date such as 2017-09-24");
	if (status == ST_OK)
		status = expect_word(p, &rest, "total");
	return status == ST_OK ? expect_end(p, rest) : status;
}

static enum status read_by(struct parser *p, struct slice rest, struct due_limit *limit)
{
	struct slice after = rest;
	struct slice word = slice_word(&after);

	if (in_again(p))
		return fail_at(p, p->line.at, "below \"then\": " AGAIN_LIMIT);
	if (!memchr(word.at, '-', word.len))
		return read_total(p, rest, limit);
	limit->kind = DUE_LIMIT_DAY;
	if (!read_day(word, &limit->day))
		return fail_at(p, word.at,
		               "hours or landings in total, or a date such as 2017-09-24");
	return expect_end(p, after);
}

/* ---- the other lines ---- */

/* Ends the part being read: is it whole? */
static enum status close_part(struct parser *p, const char *at, bool may_be_empty)
{
	if (!p->now)
		return ST_OK;
	if (p->part->count == 0 && !may_be_empty)
		return fail_at(p, at, in_again(p) ? AGAIN_LIMIT : FIRST_LIMIT);
	if (p->part->count > 1 && !p->ruled)
		return fail_at(p, at, "first a line \"whichever first\" or \"whichever last\"");
	return ST_OK;
}

static void open_case(struct parser *p, const struct effectivity *condition)
{
	p->now = &p->cases[p->out->count++];
	p->now->condition = condition;
	p->part = &p->now->first;
	p->part->limits = &p->limits[p->n_limits];
	p->ruled = false;
}

/* "if" stands before every other line, "otherwise" after the last of these cases. */
static bool may_begin_case(const struct parser *p, bool otherwise)
{
	return p->now ? p->now->condition != NULL : !otherwise;
}

static enum status read_condition(struct parser *p, struct slice rest)
{
	const struct effectivity *condition = NULL;
	struct statement_fault fault;
	struct slice text = slice_trim(rest);
	enum status status = effectivity_parse(p->arena, text.at, text.len, &condition, &fault);

	if (status == ST_INVALID) {
		struct slice before = {p->line.at, (size_t)(text.at - p->line.at)};

		(void)slice_fail(p->fault, before, p->line_number, text.at, fault.expected);
		p->fault->column += fault.column - 1;
	}
	if (status == ST_OK)
		open_case(p, condition);
	return status;
}

static enum status read_case(struct parser *p, struct slice rest, bool otherwise)
{
	enum status status;

	if (!may_begin_case(p, otherwise))
		return fail_at(p, p->line.at,
		               otherwise ? "first a line \"if\"" : "\"if\" above every other line");
	status = close_part(p, p->line.at, false);
	if (status != ST_OK)
		return status;
	if (!otherwise)
		return read_condition(p, rest);
	open_case(p, NULL);
	return expect_end(p, rest);
}

static enum status read_then(struct parser *p, struct slice rest)
{
	enum status status;

	if (in_again(p))
		return fail_at(p, p->line.at, "one line \"then\" only");
	status = close_part(p, p->line.at, true);
	if (status != ST_OK)
		return status;
	p->part = &p->now->again;
	p->part->limits = &p->limits[p->n_limits];
	p->ruled = false;
	return expect_end(p, rest);
}

static enum status read_rule(struct parser *p, struct slice rest)
{
	struct slice word = slice_word(&rest);

	if (p->part->count < 2 || p->ruled)
		return fail_at(p, p->line.at, "two limits above it, each on its line");
	p->ruled = true;
	p->part->last = slice_is(word, "last");
	if (!p->part->last && !slice_is(word, "first"))
		return fail_at(p, word.at, "first or last");
	return expect_end(p, rest);
}

static bool limits_hours(const struct due_part *part)
{
	for (size_t i = 0; i < part->count; i++)
		if ((part->limits[i].kind == DUE_LIMIT_SPAN ||
		     part->limits[i].kind == DUE_LIMIT_TOTAL) &&
		    part->limits[i].unit == UNIT_HOURS)
			return true;
	return false;
}

static enum status read_allowance(struct parser *p, struct slice rest)
{
	struct due_limit amount = {.amount = 0};
	const char *from = slice_trim(rest).at;
	enum status status;

	if (!limits_hours(p->part) || p->part->allowed)
		return fail_at(p, p->line.at, "a limit in hours above it, and one allowance only");
	status = read_amount(p, &rest, &amount);
	if (status == ST_OK && amount.unit != UNIT_HOURS)
		return fail_at(p, from, "an allowance in hours");
	p->part->allowed = amount.amount;
	if (status != ST_OK || slice_trim(rest).len == 0)
		return status;
	status = expect_word(p, &rest, "to");
	if (status == ST_OK)
		status = expect_word(p, &rest, "next");
	return status == ST_OK
	               ? read_name(p, rest, "an event such as annual inspection", &p->part->meet)
	               : status;
}

typedef enum status read_limit_fn(struct parser *p, struct slice rest, struct due_limit *limit);

static read_limit_fn *limit_reader(struct slice word)
{
	return slice_is(word, "within")   ? read_within
	       : slice_is(word, "before") ? read_before
	       : slice_is(word, "by")     ? read_by
	       : slice_is(word, "every")  ? read_every
	                                  : NULL;
}

static enum status read_limit(struct parser *p, struct slice word, struct slice rest)
{
	read_limit_fn *reader = limit_reader(word);
	enum status status;

	if (!reader)
		return fail_at(p, word.at, in_again(p) ? AGAIN_LIMIT : FIRST_LIMIT);
	if (p->ruled)
		return fail_at(p, word.at, "the limits above \"whichever\"");
	status = reader(p, rest, &p->limits[p->n_limits]);
	if (status != ST_OK)
		return status;
	p->n_limits++;
	p->part->count++;
	return ST_OK;
}

static enum status read_line(struct parser *p)
{
	struct slice rest = p->line;
	struct slice word = slice_word(&rest);

	if (slice_is(word, "if") || slice_is(word, "otherwise"))
		return read_case(p, rest, slice_is(word, "otherwise"));
	if (!p->now)
		open_case(p, NULL);
	if (slice_is(word, "then"))
		return read_then(p, rest);
	if (slice_is(word, "whichever"))
		return read_rule(p, rest);
	if (slice_is(word, "allow"))
		return read_allowance(p, rest);
	return read_limit(p, word, rest);
}

static enum status read_lines(struct parser *p, struct slice text)
{
	enum status status = ST_OK;

	while (status == ST_OK && text.at) {
		p->line = slice_cut(&text, '\n');
		p->line_number++;
		if (slice_trim(p->line).len)
			status = read_line(p);
	}
	return status == ST_OK ? close_part(p, p->line.at + p->line.len, false) : status;
}

static bool make_tables(struct parser *p, struct slice text)
{
	size_t lines = 1;

	for (size_t i = 0; i < text.len; i++)
		lines += text.at[i] == '\n';
	p->out = ARENA_NEW(p->arena, struct due_statement);
	p->cases = ARENA_ARRAY(p->arena, struct due_case, lines);
	p->limits = ARENA_ARRAY(p->arena, struct due_limit, lines);
	return p->out && p->cases && p->limits;
}

enum status due_parse(struct arena *arena, const char *text, size_t len,
                      const struct due_statement **out, struct statement_fault *fault)
{
	struct parser p = {.arena = arena, .fault = fault};
	struct slice all = {text, len};
	enum status status = slice_check(all, DUE_LONGEST, fault);

	if (status != ST_OK)
		return status;
	if (!make_tables(&p, all))
		return ST_NOMEM;
	status = read_lines(&p, all);
	if (status != ST_OK)
		return status;
	p.out->cases = p.cases;
	*out = p.out;
	return ST_OK;
}
