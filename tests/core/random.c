#include "random.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"

static const char *const models[] = {"Whimbrel", "Whimbrel T", "Curlew"};
static const char *const parts[] = {"WH-22-1", "WH-22-2", "WH-31-1"};
static const char *const options[] = {"tailwheel", "wing locker"};
static const char *const subkits[] = {"E1", "W2"};
static const char *const notices[] = {"SB-1", "SL-2"};
static const char *const steps[] = {"W-3", "T-4"};
static const char *const model_series = "Whimbrel", *const part_series = "WH-22";

static int below(uint64_t *seed, int limit)
{
	return (int)(next_random(seed) % (uint64_t)limit);
}

static bool one_in(uint64_t *seed, int n)
{
	return below(seed, n) == 0;
}

static int or_unknown(uint64_t *seed, int limit)
{
	return one_in(seed, 3) ? -1 : below(seed, limit);
}

/* ---- days, counted here and not by core ---- */

#define YEAR_FIRST 2010
#define YEARS 3

static int length_of(int year, int month)
{
	if (month == 2)
		return year % 4 == 0 ? 29 : 28; /* right from 1901 to 2099 */
	return month == 4 || month == 6 || month == 9 || month == 11 ? 30 : 31;
}

static void random_day(uint64_t *seed, size_t len, char *out)
{
	int year = YEAR_FIRST + below(seed, YEARS), month = 1 + below(seed, 12);
	char room[40];

	snprintf(room, sizeof room, "%04d-%02d-%02d", year, month,
	         1 + below(seed, length_of(year, month)));
	room[len] = '\0';
	memcpy(out, room, len + 1);
}

static size_t random_precision(uint64_t *seed)
{
	static const size_t lengths[] = {4, 7, 10};

	return lengths[below(seed, 3)];
}

static void random_date(uint64_t *seed, char *out)
{
	if (one_in(seed, 5))
		out[0] = '\0';
	else if (one_in(seed, 8))
		strcpy(out, "never");
	else
		random_day(seed, random_precision(seed), out);
}

/* Fills in what the text leaves open. */
static void complete_date(uint64_t *seed, char *date)
{
	char day[11];

	if (strcmp(date, "never") == 0)
		return;
	do
		random_day(seed, 10, day);
	while (strncmp(day, date, strlen(date)) != 0);
	memcpy(date, day, sizeof day);
}

/* ---- kits ---- */

struct plain_kit plain_random_kit(uint64_t *seed)
{
	struct plain_kit kit = {.model = or_unknown(seed, 3),
	                        .serial = or_unknown(seed, 40),
	                        .hours = or_unknown(seed, 300),
	                        .landings = or_unknown(seed, 30),
	                        .n_parts = below(seed, 3),
	                        .parts_known = one_in(seed, 2),
	                        .notices_known = one_in(seed, 2),
	                        .steps_known = one_in(seed, 2)};

	for (int i = 0; i < 3; i++)
		random_date(seed, kit.dates[i]);
	for (int i = 0; i < 2; i++) {
		kit.options[i] = or_unknown(seed, 2);
		kit.subkits[i] = or_unknown(seed, 2);
		if (kit.subkits[i] == 1 && !one_in(seed, 4))
			random_day(seed, random_precision(seed), kit.shipped[i]);
		kit.parts[i] = (struct plain_part){or_unknown(seed, 3), or_unknown(seed, 30),
		                                   or_unknown(seed, 10)};
		kit.notices[i] = one_in(seed, 3);
		kit.steps[i] = one_in(seed, 3);
	}
	return kit;
}

struct completing {
	uint64_t *seed;
	plain_keep_fn *keep;
	const void *context;
};

static bool may_fill(const struct completing *c, const char *kind, const char *about)
{
	char fact[80];

	snprintf(fact, sizeof fact, "%s%s%s", kind, *about ? " " : "", about);
	return !c->keep || !c->keep(c->context, fact);
}

static void fill(const struct completing *c, const char *kind, const char *about, int limit,
                 int *value)
{
	if (*value < 0 && may_fill(c, kind, about))
		*value = below(c->seed, limit);
}

/* Receipt and shipping date are one entry, and are kept together. */
static void fill_subkit(const struct completing *c, struct plain_kit *kit, int i)
{
	if (!may_fill(c, "subkit", subkits[i]) || !may_fill(c, "shipped", subkits[i]))
		return;
	if (kit->subkits[i] < 0)
		kit->subkits[i] = below(c->seed, 2);
	if (kit->subkits[i] == 1)
		complete_date(c->seed, kit->shipped[i]);
}

/* A list is completed as a whole, and only when nothing of its kind is kept. */
static bool may_fill_all(const struct completing *c, const char *kind, const char *const *names,
                         size_t count)
{
	bool may = true;

	for (size_t i = 0; i < count; i++)
		may = may && may_fill(c, kind, names[i]);
	return may;
}

static void fill_parts(const struct completing *c, struct plain_kit *kit)
{
	static const char *const details[] = {"", " serial", " lot"};
	static const char *const numbers[] = {"WH-22-1", "WH-22-2", "WH-31-1", "WH-22 series"};
	bool may = true;

	for (size_t i = 0; i < ROWS(numbers) * ROWS(details); i++) {
		char fact[40];

		snprintf(fact, sizeof fact, "%s%s", numbers[i / ROWS(details)],
		         details[i % ROWS(details)]);
		may = may && may_fill(c, "part", fact);
	}
	if (!may)
		return;
	kit->parts_known = true;
	for (int i = 0; i < 2; i++) {
		struct plain_part *part = &kit->parts[i];

		part->number = part->number < 0 ? below(c->seed, 3) : part->number;
		part->serial = part->serial < 0 ? below(c->seed, 30) : part->serial;
		part->lot = part->lot < 0 ? below(c->seed, 10) : part->lot;
	}
}

void plain_complete(struct plain_kit *kit, uint64_t *seed, plain_keep_fn *keep, const void *context)
{
	static const char *const dates[] = {"purchased", "plans", "first-flight"};
	struct completing c = {seed, keep, context};

	fill(&c, "model", "", 3, &kit->model);
	fill(&c, "serial", "", 40, &kit->serial);
	if (strcmp(kit->dates[2], "never") != 0) { /* else they are known to be 0 */
		fill(&c, "hours", "", 300, &kit->hours);
		fill(&c, "landings", "", 30, &kit->landings);
	}
	for (int i = 0; i < 3; i++)
		if (may_fill(&c, dates[i], ""))
			complete_date(seed, kit->dates[i]);
	for (int i = 0; i < 2; i++) {
		fill(&c, "option", options[i], 2, &kit->options[i]);
		fill_subkit(&c, kit, i);
		if (!kit->notices[i] && !kit->notices_known && may_fill(&c, "notice", notices[i]))
			kit->notices[i] = one_in(seed, 2);
		if (!kit->steps[i] && !kit->steps_known && may_fill(&c, "step", steps[i]))
			kit->steps[i] = one_in(seed, 2);
	}
	if (may_fill_all(&c, "notice", notices, ROWS(notices)))
		kit->notices_known = true;
	if (may_fill_all(&c, "step", steps, ROWS(steps)))
		kit->steps_known = true;
	fill_parts(&c, kit);
}

/* ---- facts as text ---- */

static void add_serial(struct text *out, int serial)
{
	text_printf(out, serial < 30 ? "WH-%04d" : "WT-%d", serial % 30);
}

static void add_date(struct text *out, const char *key, const char *date)
{
	if (*date)
		text_printf(out, "%s %s; ", key, date);
}

static void add_parts(struct text *out, const struct plain_kit *kit)
{
	for (int i = 0; i < kit->n_parts; i++) {
		const struct plain_part *part = &kit->parts[i];

		text_printf(out, "part %s", part->number < 0 ? "?" : parts[part->number]);
		if (part->serial >= 0) {
			text_add(out, " | serial ");
			add_serial(out, part->serial);
		}
		if (part->lot >= 0)
			text_printf(out, " | lot %d", part->lot);
		text_add(out, "; ");
	}
}

static void add_subkit(struct text *out, const struct plain_kit *kit, int i)
{
	if (kit->subkits[i] >= 0)
		text_printf(out, "subkit %s = %s; ", subkits[i],
		            *kit->shipped[i] && kit->subkits[i] ? kit->shipped[i]
		            : kit->subkits[i]                   ? "yes"
		                                                : "no");
}

const char *plain_facts_text(struct arena *arena, const struct plain_kit *kit)
{
	struct text out = TEXT_EMPTY;
	const char *copy;

	if (kit->model >= 0)
		text_printf(&out, "model %s; ", models[kit->model]);
	if (kit->serial >= 0) {
		text_add(&out, "serial ");
		add_serial(&out, kit->serial);
		text_add(&out, "; ");
	}
	add_date(&out, "purchased", kit->dates[0]);
	add_date(&out, "plans", kit->dates[1]);
	add_date(&out, "first-flight", kit->dates[2]);
	if (kit->hours >= 0)
		text_printf(&out, "hours %d.%d; ", kit->hours / 10, kit->hours % 10);
	if (kit->landings >= 0)
		text_printf(&out, "landings %d; ", kit->landings);
	for (int i = 0; i < 2; i++) {
		if (kit->options[i] >= 0)
			text_printf(&out, "option %s = %s; ", options[i],
			            kit->options[i] ? "yes" : "no");
		add_subkit(&out, kit, i);
		if (kit->notices[i])
			text_printf(&out, "notice %s; ", notices[i]);
		if (kit->steps[i])
			text_printf(&out, "step %s; ", steps[i]);
	}
	add_parts(&out, kit);
	text_add(&out, kit->parts_known ? "parts known; " : "");
	text_add(&out, kit->notices_known ? "notices known; " : "");
	text_add(&out, kit->steps_known ? "steps known; " : "");
	copy = arena_string(arena, text_string(&out));
	text_free(&out);
	return copy;
}

/* ---- statements ---- */

struct vocabulary {
	const char *keyword;
	const char *const *names;
	size_t n_names;
	bool dates, numbers, serials;
};

static const struct vocabulary vocabulary[CONDITION_KINDS] = {
        [COND_ALL] = {"all", NULL, 0, false, false, false},
        [COND_MODEL] = {"model", models, ROWS(models), false, false, false},
        [COND_SERIAL] = {"serial", NULL, 0, false, false, true},
        [COND_PURCHASED] = {"purchased", NULL, 0, true, false, false},
        [COND_PLANS] = {"plans", NULL, 0, true, false, false},
        [COND_FIRST_FLIGHT] = {"first-flight", NULL, 0, true, false, false},
        [COND_SUBKIT] = {"subkit", subkits, ROWS(subkits), false, false, false},
        [COND_SHIPPED] = {"shipped", subkits, ROWS(subkits), true, false, false},
        [COND_OPTION] = {"option", options, ROWS(options), false, false, false},
        [COND_PART] = {"part", parts, ROWS(parts), false, false, false},
        [COND_NOTICE] = {"notice", notices, ROWS(notices), false, false, false},
        [COND_STEP] = {"step", steps, ROWS(steps), false, false, false},
        [COND_HOURS] = {"hours", NULL, 0, false, true, false},
        [COND_LANDINGS] = {"landings", NULL, 0, false, true, false},
};

static int two_in_order(uint64_t *seed, int limit, int *first)
{
	int a = below(seed, limit), b = below(seed, limit);

	*first = a < b ? a : b;
	return a < b ? b : a;
}

static struct plain_range random_range(uint64_t *seed, const struct plain_condition *c)
{
	struct plain_range range = {.form = (enum range_form)below(seed, RANGE_AFTER + 1)};
	bool dates = vocabulary[c->kind].dates, numbers = vocabulary[c->kind].numbers;
	int bottom = 0, limit = c->kind == COND_HOURS ? 300 : c->kind == COND_LANDINGS ? 30 : 10;

	if (!dates && !numbers)
		range.form = (enum range_form)below(seed, RANGE_UP_TO + 1);
	if (!dates && !numbers && c->detail != PART_LOT) {
		limit = 30;
		bottom = one_in(seed, 4) ? 30 : 0; /* the other prefix, numbers 30 to 39 */
		limit = bottom ? 10 : 30;
	}
	range.to = bottom + two_in_order(seed, limit, &range.from);
	range.from += bottom;
	if (!dates)
		return range;
	random_day(seed, random_precision(seed), range.from_day);
	do
		random_day(seed, random_precision(seed), range.to_day);
	while (strncmp(range.from_day, range.to_day,
	               strlen(range.from_day) < strlen(range.to_day) ? strlen(range.from_day)
	                                                             : strlen(range.to_day)) > 0);
	return range;
}

static struct plain_condition random_condition(uint64_t *seed)
{
	struct plain_condition c = {
	        .kind = (enum condition_kind)(one_in(seed, 40) ? COND_ALL
	                                                       : 1 + below(seed, COND_LANDINGS))};
	const struct vocabulary *words = &vocabulary[c.kind];
	bool may_be_series = c.kind == COND_MODEL || c.kind == COND_PART;

	c.negated = c.kind != COND_ALL && one_in(seed, 3);
	if (c.kind == COND_PART)
		c.detail = (enum part_detail)below(seed, PART_LOT + 1);
	if (words->n_names)
		c.n_names = c.kind == COND_SHIPPED ? 1 : 1 + below(seed, 3);
	for (int i = 0; i < c.n_names; i++) {
		c.names[i] = below(seed, (int)words->n_names);
		c.series[i] = may_be_series && one_in(seed, 4);
	}
	if (words->dates || words->numbers || words->serials || c.detail != PART_ANY)
		c.n_ranges = 1 + below(seed, 3);
	for (int i = 0; i < c.n_ranges; i++)
		c.ranges[i] = random_range(seed, &c);
	return c;
}

struct plain_statement plain_random_statement(uint64_t *seed)
{
	struct plain_statement s = {.n_groups = 1 + below(seed, 3)};

	for (int g = 0; g < s.n_groups; g++) {
		s.n_conditions[g] = 1 + below(seed, PLAIN_MOST);
		for (int i = 0; i < s.n_conditions[g]; i++)
			s.conditions[g][i] = random_condition(seed);
	}
	return s;
}

static const char *name_text(const struct plain_condition *c, int i)
{
	if (c->series[i])
		return c->kind == COND_PART ? part_series : model_series;
	return vocabulary[c->kind].names[c->names[i]];
}

static void add_end(struct text *out, const struct plain_condition *c, const char *day, int value)
{
	if (vocabulary[c->kind].dates)
		text_add(out, day);
	else if (c->kind == COND_HOURS && value % 10)
		text_printf(out, "%d.%d", value / 10, value % 10);
	else if (c->kind == COND_HOURS)
		text_printf(out, "%d", value / 10);
	else if (c->kind == COND_LANDINGS || c->detail == PART_LOT)
		text_printf(out, "%d", value);
	else
		add_serial(out, value);
}

static void add_range(struct text *out, const struct plain_condition *c,
                      const struct plain_range *range)
{
	static const char *const before[] = {
	        [RANGE_ONE] = "",         [RANGE_THRU] = "",          [RANGE_AND_ON] = "",
	        [RANGE_UP_TO] = "up to ", [RANGE_BEFORE] = "before ", [RANGE_AFTER] = "after "};

	text_add(out, before[range->form]);
	add_end(out, c, range->from_day, range->from);
	if (range->form == RANGE_THRU) {
		text_add(out, " thru ");
		add_end(out, c, range->to_day, range->to);
	}
	text_add(out, range->form == RANGE_AND_ON ? " and on" : "");
}

static void add_condition(struct text *out, const struct plain_condition *c)
{
	text_printf(out, "%s%s", c->negated ? "not " : "", vocabulary[c->kind].keyword);
	for (int i = 0; i < c->n_names; i++)
		text_printf(out, "%s%s%s", i ? ", " : " ", name_text(c, i),
		            c->series[i] ? " series" : "");
	if (c->detail != PART_ANY)
		text_add(out, c->detail == PART_LOT ? " lot" : " serial");
	for (int i = 0; i < c->n_ranges; i++) {
		text_add(out, i ? ", " : " ");
		add_range(out, c, &c->ranges[i]);
	}
	text_add_char(out, '\n');
}

const char *plain_statement_text(struct arena *arena, const struct plain_statement *s)
{
	struct text out = TEXT_EMPTY;
	const char *copy;

	for (int g = 0; g < s->n_groups; g++) {
		text_add(&out, g ? "or\n" : "");
		for (int i = 0; i < s->n_conditions[g]; i++)
			add_condition(&out, &s->conditions[g][i]);
	}
	copy = arena_string(arena, text_string(&out));
	text_free(&out);
	return copy;
}

/* ---- the oracle ---- */

static bool value_in(const struct plain_range *range, int value)
{
	switch (range->form) {
	case RANGE_ONE:
		return value == range->from;
	case RANGE_THRU:
		return value >= range->from && value <= range->to;
	case RANGE_AND_ON:
		return value >= range->from;
	case RANGE_UP_TO:
		return value <= range->from;
	case RANGE_BEFORE:
		return value < range->from;
	case RANGE_AFTER:
		break;
	}
	return value > range->from;
}

/* Serials of the other prefix are from 30 on. */
static bool serial_in(const struct plain_range *range, int serial)
{
	return (serial < 30) == (range->from < 30) && value_in(range, serial);
}

/* ISO texts compare like the days that they name, so that a day cut to the
 * length of a partial date tells whether it comes before, within or after. */
static bool day_in(const struct plain_range *range, const char *day)
{
	int from = strncmp(day, range->from_day, strlen(range->from_day));
	int to = strncmp(day, range->to_day, strlen(range->to_day));

	if (range->form == RANGE_THRU)
		return from >= 0 && to <= 0;
	return value_in(&(struct plain_range){.form = range->form, .from = 0}, from);
}

static enum truth sum_up(int inside, int all)
{
	return inside == all ? TRUTH_TRUE : inside ? TRUTH_UNKNOWN : TRUTH_FALSE;
}

/* All days from which kits take their dates, as text, made at the first call. */
static const char (*all_days(int *count))[40]
{
	static char days[YEARS * 366][40];
	static int made;

	*count = made;
	if (made)
		return (const char(*)[40])days;
	for (int y = YEAR_FIRST; y < YEAR_FIRST + YEARS; y++)
		for (int m = 1; m <= 12; m++)
			for (int d = 1; d <= length_of(y, m); d++)
				snprintf(days[made++], sizeof days[0], "%04d-%02d-%02d", y, m, d);
	*count = made;
	return (const char(*)[40])days;
}

/* Every day that the date may stand for. */
static enum truth date_truth(const struct plain_range *range, const char *date)
{
	int inside = 0, all = 0, count;
	const char(*days)[40] = all_days(&count);

	if (strcmp(date, "never") == 0)
		return TRUTH_FALSE;
	if (!*date)
		return TRUTH_UNKNOWN;
	for (int i = 0; i < count; i++) {
		if (memcmp(days[i], date, strlen(date)) != 0)
			continue;
		all++;
		inside += day_in(range, days[i]);
	}
	return sum_up(inside, all);
}

/* May this fitted part be one that is meant; must it be? */
static void part_chances(const struct plain_condition *c, int column, const struct plain_part *part,
                         bool *may, bool *must)
{
	int value = c->detail == PART_LOT ? part->lot : part->serial;
	bool number = part->number >= 0 &&
	              (c->series[column]
	                       ? strncmp(parts[part->number], part_series, strlen(part_series)) == 0
	                       : part->number == c->names[column]);
	bool detail = c->detail == PART_ANY;

	for (int i = 0; i < c->n_ranges && value >= 0; i++)
		detail = detail || (c->detail == PART_LOT ? value_in(&c->ranges[i], value)
		                                          : serial_in(&c->ranges[i], value));
	*must = number && detail;
	*may = (number || part->number < 0) && (detail || (value < 0 && c->detail != PART_ANY));
}

/* Every way to complete the list: each doubtful part meant or not, and one
 * more that is meant, if the list may lack some. */
static enum truth part_truth(const struct plain_condition *c, int column,
                             const struct plain_kit *kit)
{
	bool may_be = !kit->parts_known, must_be = false;

	for (int i = 0; i < kit->n_parts; i++) {
		bool may, must;

		part_chances(c, column, &kit->parts[i], &may, &must);
		may_be = may_be || may;
		must_be = must_be || must;
	}
	return must_be ? TRUTH_TRUE : may_be ? TRUTH_UNKNOWN : TRUTH_FALSE;
}

static enum truth of_three(int value)
{
	return value < 0 ? TRUTH_UNKNOWN : truth_of(value);
}

static enum truth listed(bool is_listed, bool complete)
{
	return is_listed ? TRUTH_TRUE : complete ? TRUTH_FALSE : TRUTH_UNKNOWN;
}

int plain_columns(const struct plain_condition *c)
{
	if (c->kind == COND_ALL)
		return 1;
	return c->n_names && c->kind != COND_SHIPPED ? c->n_names : c->n_ranges;
}

static enum truth shipped_truth(const struct plain_range *range, const struct plain_kit *kit,
                                int subkit)
{
	if (kit->subkits[subkit] < 0)
		return TRUTH_UNKNOWN;
	return kit->subkits[subkit] ? date_truth(range, kit->shipped[subkit]) : TRUTH_FALSE;
}

/* What has not flown has neither hours nor landings. */
static enum truth number_truth(const struct plain_range *range, const struct plain_kit *kit,
                               int value)
{
	if (value < 0 && strcmp(kit->dates[2], "never") == 0)
		value = 0;
	return value < 0 ? TRUTH_UNKNOWN : truth_of(value_in(range, value));
}

enum truth plain_truth(const struct plain_condition *c, int column, const struct plain_kit *kit)
{
	const struct plain_range *range = &c->ranges[column];
	int name = c->names[column];

	switch (c->kind) {
	case COND_ALL:
		return TRUTH_TRUE;
	case COND_MODEL:
		if (kit->model < 0)
			return TRUTH_UNKNOWN;
		return truth_of(c->series[column] ? kit->model < 2 : kit->model == name);
	case COND_SERIAL:
		return kit->serial < 0 ? TRUTH_UNKNOWN : truth_of(serial_in(range, kit->serial));
	case COND_PURCHASED:
		return date_truth(range, kit->dates[0]);
	case COND_PLANS:
		return date_truth(range, kit->dates[1]);
	case COND_FIRST_FLIGHT:
		return date_truth(range, kit->dates[2]);
	case COND_SUBKIT:
		return of_three(kit->subkits[name]);
	case COND_SHIPPED:
		return shipped_truth(range, kit, c->names[0]);
	case COND_OPTION:
		return of_three(kit->options[name]);
	case COND_PART:
		return part_truth(c, column, kit);
	case COND_NOTICE:
		return listed(kit->notices[name], kit->notices_known);
	case COND_STEP:
		return listed(kit->steps[name], kit->steps_known);
	case COND_HOURS:
		return number_truth(range, kit, kit->hours);
	case COND_LANDINGS:
		break;
	}
	return number_truth(range, kit, kit->landings);
}
