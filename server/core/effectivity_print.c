/* Statements back into text: the normal form, and one English sentence. */
#include "core/effectivity_words.h"

#include "core/quantity.h"

const struct condition_words effectivity_words[CONDITION_KINDS] = {
        [COND_ALL] = {"all", TABLE_NONE, "", "of every kind", "", ""},
        [COND_MODEL] = {"model", TABLE_NAMES, "a model name", "of model ", "of other models than ",
                        ""},
        [COND_SERIAL] = {"serial", TABLE_SERIALS, "", "with serial number ",
                         "with another serial number than ", ""},
        [COND_PURCHASED] = {"purchased", TABLE_DATES, "", "purchased ", "not purchased ", ""},
        [COND_PLANS] = {"plans", TABLE_DATES, "", "with plans issued ", "with plans not issued ",
                        ""},
        [COND_FIRST_FLIGHT] = {"first-flight", TABLE_DATES, "", "first flown ", "not first flown ",
                               ""},
        [COND_SUBKIT] = {"subkit", TABLE_NAMES, "a sub-kit code", "with sub-kit ",
                         "without sub-kit ", " received"},
        [COND_SHIPPED] = {"shipped", TABLE_DATES, "a sub-kit code and a date", "with sub-kit ",
                          "without sub-kit ", ""},
        [COND_OPTION] = {"option", TABLE_NAMES, "the name of an option", "with option ",
                         "without option ", ""},
        [COND_PART] = {"part", TABLE_NAMES, "a part number", "with part ", "without part ",
                       " fitted"},
        [COND_NOTICE] = {"notice", TABLE_NAMES, "a notice number", "after notice ",
                         "before notice ", " was done"},
        [COND_STEP] = {"step", TABLE_NAMES, "a step code", "with step ", "without step ", " built"},
        [COND_HOURS] = {"hours", TABLE_NUMBERS, "", "with total hours ",
                        "with total hours other than ", ""},
        [COND_LANDINGS] = {"landings", TABLE_NUMBERS, "", "with landings ",
                           "with landings other than ", ""},
};

/* ---- values, each as the statement writes it or in words ---- */

/* Prints one end of the i-th range. */
typedef void print_end_fn(const struct effectivity *s, const struct condition *c, uint32_t i,
                          bool second, struct text *out);

static void serial_end(const struct effectivity *s, const struct condition *c, uint32_t i,
                       bool second, struct text *out)
{
	const struct serial_range *range = &s->serials[c->range + i];
	bool last = second || !range->first.text;

	text_add(out, last ? range->last.text : range->first.text);
}

static void date_end(const struct effectivity *s, const struct condition *c, uint32_t i,
                     bool second, struct text *out)
{
	const struct date_span *span = &s->dates[c->range + i];
	char room[DATE_TEXT_SIZE];

	date_print(second ? span->to : span->from, room);
	text_add(out, room);
}

static void date_end_words(const struct effectivity *s, const struct condition *c, uint32_t i,
                           bool second, struct text *out)
{
	const struct date_span *span = &s->dates[c->range + i];
	char room[DATE_WORDS_SIZE];

	date_words(second ? span->to : span->from, room);
	text_add(out, room);
}

static void number_end(const struct effectivity *s, const struct condition *c, uint32_t i,
                       bool second, struct text *out)
{
	const struct number_span *span = &s->numbers[c->range + i];
	int64_t value = second ? span->to : span->from;

	if (c->kind == COND_HOURS)
		hours_print(value, out);
	else
		text_printf(out, "%lld", (long long)value);
}

static enum range_form serial_form(const struct serial_range *range)
{
	if (!range->first.text)
		return RANGE_UP_TO;
	if (!range->last.text)
		return RANGE_AND_ON;
	return range->first.text == range->last.text ? RANGE_ONE : RANGE_THRU;
}

static enum range_form form_of(const struct effectivity *s, const struct condition *c, uint32_t i)
{
	switch (effectivity_words[c->kind].table) {
	case TABLE_DATES:
		return s->dates[c->range + i].form;
	case TABLE_NUMBERS:
		return s->numbers[c->range + i].form;
	case TABLE_SERIALS:
	case TABLE_NAMES: /* of parts, lots and serial numbers */
	case TABLE_NONE:
		break;
	}
	return serial_form(&s->serials[c->range + i]);
}

static void print_range(const struct effectivity *s, const struct condition *c, uint32_t i,
                        print_end_fn *print_end, struct text *out)
{
	enum range_form form = form_of(s, c, i);

	text_add(out, form == RANGE_UP_TO    ? "up to "
	              : form == RANGE_BEFORE ? "before "
	              : form == RANGE_AFTER  ? "after "
	                                     : "");
	print_end(s, c, i, false, out);
	if (form == RANGE_THRU) {
		text_add(out, " thru ");
		print_end(s, c, i, true, out);
	}
	text_add(out, form == RANGE_AND_ON ? " and on" : "");
}

/* What stands between item i and the one before it. */
static const char *joint(uint32_t i, uint32_t count, const char *last)
{
	return i == 0 ? "" : i + 1 == count ? last : ", ";
}

static void print_ranges(const struct effectivity *s, const struct condition *c,
                         print_end_fn *print_end, const char *last, struct text *out)
{
	for (uint32_t i = 0; i < c->ranges; i++) {
		text_add(out, joint(i, c->ranges, last));
		print_range(s, c, i, print_end, out);
	}
}

static void print_names(const struct effectivity *s, const struct condition *c, const char *last,
                        struct text *out)
{
	for (uint32_t i = 0; i < c->names; i++) {
		text_add(out, joint(i, c->names, last));
		text_add(out, s->names[c->name + i].name.text);
		text_add(out, s->names[c->name + i].series ? " series" : "");
	}
}

static print_end_fn *end_printer(enum condition_kind kind)
{
	switch (effectivity_words[kind].table) {
	case TABLE_DATES:
		return date_end;
	case TABLE_NUMBERS:
		return number_end;
	case TABLE_SERIALS:
	case TABLE_NAMES: /* of parts, lots and serial numbers */
	case TABLE_NONE:
		break;
	}
	return serial_end;
}

/* ---- the normal form ---- */

void condition_print(const struct effectivity *statement, const struct condition *condition,
                     struct text *out)
{
	text_add(out, condition->negated ? "not " : "");
	text_add(out, effectivity_words[condition->kind].keyword);
	text_add(out, condition->names ? " " : "");
	print_names(statement, condition, ", ", out);
	if (condition->kind == COND_PART && condition->detail != PART_ANY)
		text_add(out, condition->detail == PART_LOT ? " lot" : " serial");
	text_add(out, condition->ranges ? " " : "");
	print_ranges(statement, condition, end_printer(condition->kind), ", ", out);
}

void effectivity_print(const struct effectivity *statement, struct text *out)
{
	for (uint32_t g = 0; g < statement->n_groups; g++) {
		const struct condition_group *group = &statement->groups[g];

		text_add(out, g ? "or\n" : "");
		for (uint32_t c = 0; c < group->conditions; c++) {
			condition_print(statement, &statement->conditions[group->condition + c],
			                out);
			text_add_char(out, '\n');
		}
	}
}

/* ---- the sentence ---- */

static void say_date_ranges(const struct effectivity *s, const struct condition *c,
                            struct text *out)
{
	for (uint32_t i = 0; i < c->ranges; i++) {
		enum range_form form = form_of(s, c, i);
		bool whole = s->dates[c->range + i].from.precision == DATE_DAY;

		text_add(out, joint(i, c->ranges, " or "));
		text_add(out, form == RANGE_ONE      ? (whole ? "on " : "in ")
		              : form == RANGE_THRU   ? "from "
		              : form == RANGE_AND_ON ? "from "
		                                     : "");
		print_range(s, c, i, date_end_words, out);
	}
}

static void say_values(const struct effectivity *s, const struct condition *c, struct text *out)
{
	print_names(s, c, " or ", out);
	if (c->kind == COND_PART && c->detail != PART_ANY)
		text_add(out, c->detail == PART_LOT ? " of lot " : " with serial number ");
	if (c->kind == COND_SHIPPED)
		text_add(out, " shipped ");
	if (effectivity_words[c->kind].table == TABLE_DATES)
		say_date_ranges(s, c, out);
	else
		print_ranges(s, c, end_printer(c->kind), " or ", out);
}

static void say_group(const struct effectivity *s, const struct condition_group *group,
                      struct text *out)
{
	for (uint32_t i = 0; i < group->conditions; i++) {
		const struct condition *c = &s->conditions[group->condition + i];
		const struct condition_words *words = &effectivity_words[c->kind];

		text_add(out, i ? ", " : " ");
		text_add(out, c->negated ? words->negated : words->before);
		say_values(s, c, out);
		text_add(out, words->after);
	}
}

void effectivity_sentence(const struct effectivity *statement, struct text *out)
{
	text_add(out, "Applies to kits");
	for (uint32_t g = 0; g < statement->n_groups; g++) {
		text_add(out, g ? "; or to kits" : "");
		say_group(statement, &statement->groups[g], out);
	}
	text_add_char(out, '.');
}
