/* Compliance times back into text: the normal form, a sentence, a computed time. */
#include "core/due_words.h"

#include "core/quantity.h"

const struct unit_words due_units[DUE_UNITS] = {
        [UNIT_HOURS] = {"hour", "hours", 9999999},
        [UNIT_LANDINGS] = {"landing", "landings", QUANTITY_MOST},
        [UNIT_DAYS] = {"day", "days", 36500},
        [UNIT_MONTHS] = {"month", "months", 1200},
        [UNIT_CALENDAR_MONTHS] = {"calendar month", "calendar months", 1200},
        [UNIT_YEARS] = {"year", "years", 100},
};

/* How dates are written: as typed, or in words. */
typedef void print_day_fn(day_number day, struct text *out);

static void day_as_typed(day_number day, struct text *out)
{
	char room[DATE_TEXT_SIZE];

	date_print(date_of_day(day), room);
	text_add(out, room);
}

static void day_in_words(day_number day, struct text *out)
{
	char room[DATE_WORDS_SIZE];

	date_words(date_of_day(day), room);
	text_add(out, room);
}

static void add_amount(int64_t amount, uint8_t unit, struct text *out)
{
	int64_t one = unit == UNIT_HOURS ? 100 : 1;

	if (unit == UNIT_HOURS)
		hours_print(amount, out);
	else
		text_printf(out, "%lld", (long long)amount);
	text_printf(out, " %s", amount == one ? due_units[unit].one : due_units[unit].many);
}

static void add_start(const struct due_limit *limit, print_day_fn *print_day, struct text *out)
{
	switch ((enum due_start)limit->start) {
	case START_DONE: /* never printed: "every" says it */
	case START_ISSUE:
		text_add(out, "issue");
		break;
	case START_DAY:
		print_day(limit->day, out);
		break;
	case START_PURCHASE:
		text_add(out, "purchase");
		break;
	case START_FIRST_FLIGHT:
		text_add(out, "first flight");
		break;
	case START_NOTICE:
		text_printf(out, "notice %s", limit->about.text);
		break;
	case START_EVENT:
		text_printf(out, "last %s", limit->about.text);
		break;
	}
}

static void add_span(const struct due_limit *limit, print_day_fn *print_day, struct text *out)
{
	text_add(out, limit->start == START_DONE ? "every " : "within ");
	add_amount(limit->amount, limit->unit, out);
	if (limit->start == START_DONE)
		return;
	text_add(out, " of ");
	add_start(limit, print_day, out);
}

static void add_limit(const struct due_limit *limit, print_day_fn *print_day, struct text *out)
{
	switch ((enum due_limit_kind)limit->kind) {
	case DUE_LIMIT_STEP:
		text_printf(out, "before step %s", limit->about.text);
		break;
	case DUE_LIMIT_FIRST_FLIGHT:
		text_add(out, "before first flight");
		break;
	case DUE_LIMIT_NEXT_FLIGHT:
		text_add(out, "before next flight");
		break;
	case DUE_LIMIT_EVENT:
		text_printf(out, "before next %s", limit->about.text);
		break;
	case DUE_LIMIT_SPAN:
		add_span(limit, print_day, out);
		break;
	case DUE_LIMIT_TOTAL:
		text_add(out, "by ");
		add_amount(limit->amount, limit->unit, out);
		text_add(out, " total");
		break;
	case DUE_LIMIT_DAY:
		text_add(out, "by ");
		print_day(limit->day, out);
		break;
	}
}

/* ---- the normal form ---- */

static void print_part(const struct due_part *part, struct text *out)
{
	for (size_t i = 0; i < part->count; i++) {
		add_limit(&part->limits[i], day_as_typed, out);
		text_add_char(out, '\n');
	}
	if (part->count > 1)
		text_add(out, part->last ? "whichever last\n" : "whichever first\n");
	if (!part->allowed)
		return;
	text_add(out, "allow ");
	add_amount(part->allowed, UNIT_HOURS, out);
	if (part->meet.len)
		text_printf(out, " to next %s", part->meet.text);
	text_add_char(out, '\n');
}

void due_print(const struct due_statement *statement, struct text *out)
{
	for (size_t i = 0; i < statement->count; i++) {
		const struct due_case *c = &statement->cases[i];

		if (c->condition) {
			text_add(out, "if ");
			condition_print(c->condition, &c->condition->conditions[0], out);
			text_add_char(out, '\n');
		} else if (i) {
			text_add(out, "otherwise\n");
		}
		print_part(&c->first, out);
		text_add(out, c->again.count ? "then\n" : "");
		print_part(&c->again, out);
	}
}

/* ---- the sentence ---- */

static void say_part(const struct due_part *part, struct text *out)
{
	for (size_t i = 0; i < part->count; i++) {
		text_add(out, i == 0 ? "" : i + 1 == part->count ? " or " : ", ");
		add_limit(&part->limits[i], day_in_words, out);
	}
	if (part->count > 1)
		text_add(out, part->last ? ", whichever comes last" : ", whichever comes first");
	text_add_char(out, '.');
	if (!part->allowed)
		return;
	text_add(out, " The hours may be exceeded by up to ");
	add_amount(part->allowed, UNIT_HOURS, out);
	if (part->meet.len)
		text_printf(out, " where it then falls together with the next %s.",
		            part->meet.text);
	else
		text_add(out, " to reach a place where it can be done; what is flown over is taken "
		              "off the next interval.");
}

static void say_case(const struct due_case *c, bool alone, struct text *out)
{
	if (c->condition) {
		text_add(out, "If ");
		condition_print(c->condition, &c->condition->conditions[0], out);
		text_add(out, ": due ");
	} else {
		text_add(out, alone ? "Due " : "Otherwise due ");
	}
	if (c->first.count)
		say_part(&c->first, out);
	if (c->again.count) {
		text_add(out, c->first.count ? " Then again " : "again ");
		say_part(&c->again, out);
	}
}

void due_sentence(const struct due_statement *statement, struct text *out)
{
	for (size_t i = 0; i < statement->count; i++) {
		text_add(out, i ? " " : "");
		say_case(&statement->cases[i], statement->count == 1, out);
	}
}

/* ---- a computed time ---- */

void due_lack_words(const struct due_lack *lack, struct text *out)
{
	const char *counter = lack->counter == USE_HOURS ? "hours" : "landings";

	switch (lack->kind) {
	case DUE_LACK_FACT:
		fact_wanted(&lack->fact, out);
		break;
	case DUE_LACK_TOTAL_ON:
		text_printf(out, "total %s on ", counter);
		day_in_words(lack->day, out);
		break;
	case DUE_LACK_TOTAL_THEN:
		text_printf(out, "total %s when it was last done", counter);
		break;
	case DUE_LACK_NOTICE:
		text_printf(out, "when notice %s was done", lack->about.text);
		break;
	case DUE_LACK_LAST_EVENT:
		text_printf(out, "when the last %s was", lack->about.text);
		break;
	case DUE_LACK_NEXT_EVENT:
		text_printf(out, "when the next %s is", lack->about.text);
		break;
	}
}

/* "" before the first of several, " or " before the others. */
static const char *joint(unsigned *said)
{
	return (*said)++ ? " or " : "";
}

static void say_before(const struct due_time *due, struct text *out, unsigned *said)
{
	if (due->next_flight)
		text_printf(out, "%sbefore the next flight", joint(said));
	if (due->first_flight)
		text_printf(out, "%sbefore the first flight", joint(said));
	if (due->step)
		text_printf(out, "%sbefore step %s", joint(said), due->step->text);
	if (due->event)
		text_printf(out, "%sbefore the next %s", joint(said), due->event->text);
}

static void say_totals(const struct due_time *due, struct text *out, unsigned *said)
{
	text_add(out, due->has_day || due->has[USE_HOURS] || due->has[USE_LANDINGS] ? "by " : "");
	if (due->has_day) {
		text_add(out, joint(said));
		day_in_words(due->day, out);
	}
	if (due->has[USE_HOURS]) {
		text_add(out, joint(said));
		add_amount(due->total[USE_HOURS], UNIT_HOURS, out);
	}
	if (due->has[USE_LANDINGS]) {
		text_add(out, joint(said));
		add_amount(due->total[USE_LANDINGS], UNIT_LANDINGS, out);
	}
}

void due_words(const struct due_time *due, struct text *out)
{
	unsigned said = 0;

	say_totals(due, out, &said);
	say_before(due, out, &said);
	text_add(out, said > 1 ? due->last ? ", whichever comes last." : ", whichever comes first."
	              : said   ? "."
	                       : "at a time not known.");
	if (due->allowed) {
		text_add(out, " Up to ");
		add_amount(due->allowed, UNIT_HOURS, out);
		text_add(out, " over are allowed to reach a place where it can be done.");
	}
	if (due->n_lacks == 0)
		return;
	text_add(out, " Cannot be told in full without: ");
	for (unsigned i = 0; i < due->n_lacks; i++) {
		text_add(out, i ? "; " : "");
		due_lack_words(&due->lacks[i], out);
	}
	text_add_char(out, '.');
}
