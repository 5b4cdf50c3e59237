#include "core/facts.h"

#include <assert.h>
#include <stddef.h>

#include "base/text.h"
#include "core/quantity.h"

/* Does each row name its member's type? */
#define TYPE_OF_NAME struct name
#define TYPE_OF_SERIAL struct serial
#define TYPE_OF_DATE struct date_fact
#define TYPE_OF_FLIGHT struct date_fact
#define TYPE_OF_HOURS int64_t
#define TYPE_OF_COUNT int64_t
#define CHECK_TYPE(key, kind, ...)                                                                 \
	_Static_assert(_Generic(((struct facts *)NULL)->key, TYPE_OF_##kind : 1, default : 0),     \
	               "its row names another type: " #key);
SINGLE_FACTS(CHECK_TYPE)

#define NO_FLAG SIZE_MAX
#define HAS_NAME(key) NO_FLAG
#define HAS_SERIAL(key) offsetof(struct facts, has_##key)
#define HAS_DATE(key) NO_FLAG
#define HAS_FLIGHT(key) NO_FLAG
#define HAS_HOURS(key) offsetof(struct facts, has_##key)
#define HAS_COUNT(key) offsetof(struct facts, has_##key)
#define FIELD(key, kind, label, words, never, hint, logged)                                        \
	{#key,                                                                                     \
	 FORM_##kind,                                                                              \
	 label,                                                                                    \
	 words,                                                                                    \
	 never,                                                                                    \
	 hint,                                                                                     \
	 offsetof(struct facts, key),                                                              \
	 HAS_##kind(key),                                                                          \
	 logged},
#define KEPT_FIELD(...) FIELD(__VA_ARGS__, false)
#define LOGGED_FIELD(...) FIELD(__VA_ARGS__, true)

const struct fact_field fact_fields[FACT_FIELDS] = {KEPT_FACTS(KEPT_FIELD)
                                                            LOGGED_FACTS(LOGGED_FIELD)};

void *fact_at(struct facts *facts, const struct fact_field *field)
{
	return (char *)facts + field->at;
}

const void *fact_in(const struct facts *facts, const struct fact_field *field)
{
	return (const char *)facts + field->at;
}

bool fact_known(const struct facts *facts, const struct fact_field *field)
{
	switch (field->form) {
	case FORM_NAME:
		return !name_is_empty(fact_in(facts, field));
	case FORM_DATE:
	case FORM_FLIGHT:
		return ((const struct date_fact *)fact_in(facts, field))->state != DATE_UNKNOWN;
	case FORM_SERIAL:
	case FORM_HOURS:
	case FORM_COUNT:
		break;
	}
	return *(const bool *)((const char *)facts + field->has);
}

void fact_set_known(struct facts *facts, const struct fact_field *field, bool known)
{
	assert(field->has != NO_FLAG);
	*(bool *)((char *)facts + field->has) = known;
}

/* How each kind of fact is printed, named, wanted and asked. %s: what it is
 * about. Words of a field's fact are the field's. Wanted is NULL where it reads
 * like the name. */
static const struct {
	const char *print;
	const struct fact_field *field;
	const char *words;
	const char *wanted;
	const char *question;
} kinds[FACT_KINDS] = {
        [FACT_MODEL] = {"model", &fact_fields[FIELD_model], .question = "Which model is the kit?"},
        [FACT_SERIAL] =
                {"serial", &fact_fields[FIELD_serial],
                 .question = "What is the kit's serial number? It stands on the packing lists."},
        [FACT_PURCHASED] =
                {"purchased", &fact_fields[FIELD_purchased],
                 .question = "When was the kit bought? A month is worth more than a year, a day "
                             "more than a month."},
        [FACT_PLANS] = {"plans", &fact_fields[FIELD_plans],
                        .question = "Which date is printed on the plans?"},
        [FACT_FIRST_FLIGHT] = {"first-flight", &fact_fields[FIELD_first_flight],
                               .question = "When did it first fly, or has it not flown yet?"},
        [FACT_SUBKIT] = {"subkit %s", NULL, "sub-kit %s", "whether sub-kit %s was received",
                         "Have you received sub-kit %s?"},
        [FACT_SHIPPED] = {"shipped %s", NULL, "shipping date of sub-kit %s", NULL,
                          "When was sub-kit %s shipped? The date stands on its packing list."},
        [FACT_OPTION] = {"option %s", NULL, "option %s", "whether it has option %s",
                         "Is the option %s fitted or planned?"},
        [FACT_PART] = {"part %s", NULL, "part %s", "whether part %s is fitted",
                       "Is part %s fitted, or are all fitted parts listed?"},
        [FACT_PART_SERIAL] = {"part %s serial", NULL, "serial number of part %s", NULL,
                              "What is the serial number of part %s?"},
        [FACT_PART_LOT] = {"part %s lot", NULL, "lot of part %s", NULL,
                           "Which lot is part %s from?"},
        [FACT_NOTICE] = {"notice %s", NULL, "notice %s", "whether notice %s was done",
                         "Has notice %s been done?"},
        [FACT_STEP] = {"step %s", NULL, "step %s", "whether step %s is built",
                       "Is step %s built already?"},
        [FACT_HOURS] = {"hours", &fact_fields[FIELD_hours],
                        .question = "How many hours has it flown?"},
        [FACT_LANDINGS] = {"landings", &fact_fields[FIELD_landings],
                           .question = "How many landings has it made?"},
};

const struct fact_field *fact_field_of(enum fact_kind kind)
{
	return kinds[kind].field;
}

static void add_about(struct text *out, const char *pattern, const struct fact *fact)
{
	for (; *pattern; pattern++) {
		if (pattern[0] == '%' && pattern[1] == 's') {
			text_add(out, fact->about.text ? fact->about.text : "");
			text_add(out, fact->series ? " series" : "");
			pattern++;
		} else {
			text_add_char(out, *pattern);
		}
	}
}

bool fact_equal(const struct fact *a, const struct fact *b)
{
	return a->kind == b->kind && a->series == b->series && name_same(&a->about, &b->about);
}

void fact_print(const struct fact *fact, struct text *out)
{
	add_about(out, kinds[fact->kind].print, fact);
}

void fact_words(const struct fact *fact, struct text *out)
{
	const struct fact_field *field = kinds[fact->kind].field;

	add_about(out, field ? field->words : kinds[fact->kind].words, fact);
}

void fact_wanted(const struct fact *fact, struct text *out)
{
	const char *wanted = kinds[fact->kind].wanted;

	if (wanted)
		add_about(out, wanted, fact);
	else
		fact_words(fact, out);
}

void fact_question(const struct fact *fact, struct text *out)
{
	add_about(out, kinds[fact->kind].question, fact);
}

const struct option_fact *facts_option(const struct facts *facts, const struct name *name)
{
	for (size_t i = 0; i < facts->n_options; i++)
		if (name_equal(&facts->options[i].name, name))
			return &facts->options[i];
	return NULL;
}

const struct subkit_fact *facts_subkit(const struct facts *facts, const struct name *code)
{
	for (size_t i = 0; i < facts->n_subkits; i++)
		if (name_equal(&facts->subkits[i].code, code))
			return &facts->subkits[i];
	return NULL;
}

bool facts_hours(const struct facts *facts, int64_t *hundredths)
{
	bool unflown = facts->first_flight.state == DATE_NEVER;

	*hundredths = facts->has_hours ? facts->hours : 0;
	return facts->has_hours || unflown;
}

bool facts_landings(const struct facts *facts, int64_t *landings)
{
	bool unflown = facts->first_flight.state == DATE_NEVER;

	*landings = facts->has_landings ? facts->landings : 0;
	return facts->has_landings || unflown;
}

static enum truth listed(const struct name *names, size_t count, bool complete,
                         const struct name *name)
{
	for (size_t i = 0; i < count; i++)
		if (name_equal(&names[i], name))
			return TRUTH_TRUE;
	return complete ? TRUTH_FALSE : TRUTH_UNKNOWN;
}

enum truth facts_notice_done(const struct facts *facts, const struct name *number)
{
	return listed(facts->notices_done, facts->n_notices_done, facts->notices_known, number);
}

enum truth facts_step_built(const struct facts *facts, const struct name *step)
{
	return listed(facts->steps_done, facts->n_steps_done, facts->steps_known, step);
}

struct date_fact facts_step_date(const struct facts *facts, const struct name *step)
{
	for (size_t i = 0; i < facts->n_step_dates; i++)
		if (name_equal(&facts->step_dates[i].step, step))
			return facts->step_dates[i].done;
	return (struct date_fact){.state = DATE_UNKNOWN};
}

const struct date_fact *facts_plans_of_step(const struct facts *facts, const struct name *step)
{
	for (size_t i = 0; i < facts->n_step_plans; i++)
		if (name_equal(&facts->step_plans[i].step, step))
			return &facts->step_plans[i].plans;
	return &facts->plans;
}

static void add_date(struct text *out, const struct date_fact *fact, const char *never)
{
	char words[DATE_WORDS_SIZE];

	if (fact->state == DATE_KNOWN) {
		date_words(fact->date, words);
		text_add(out, words);
	} else {
		text_add(out, fact->state == DATE_NEVER ? never : "not known");
	}
}

static void add_answer(struct text *out, enum truth answer, const char *yes, const char *no)
{
	static const char *const unknown = "not known";

	text_add(out, answer == TRUTH_TRUE ? yes : answer == TRUTH_FALSE ? no : unknown);
}

static void add_subkit(struct text *out, const struct subkit_fact *subkit)
{
	add_answer(out, subkit ? truth_of(subkit->received) : TRUTH_UNKNOWN, "received",
	           "not received");
}

static void add_shipped(struct text *out, const struct subkit_fact *subkit)
{
	static const struct date_fact unknown = {.state = DATE_UNKNOWN};

	add_date(out, subkit ? &subkit->shipped : &unknown, "not received");
}

/* Is it, or may it be, the part that the fact is about? A part without a number
 * is not looked at. */
static enum truth is_about(const struct part_fact *part, const struct fact *fact)
{
	if (name_is_empty(&part->number))
		return TRUTH_FALSE;
	return fact->series ? name_in_series(&fact->about, &part->number)
	                    : name_like(&fact->about, &part->number);
}

/* One fitted part: that it is, or its serial or lot. */
static void add_part(const struct part_fact *part, const struct fact *fact, struct text *out)
{
	bool has = fact->kind == FACT_PART_LOT ? part->has_lot : part->has_serial;

	if (fact->series || is_about(part, fact) != TRUTH_TRUE)
		text_printf(out, "%s ", part->number.text);
	if (fact->kind == FACT_PART)
		text_add(out, "fitted");
	else if (has)
		text_add(out, fact->kind == FACT_PART_LOT ? part->lot.text : part->serial.text);
	else
		text_add(out, "not known");
}

/* A part of unknown number may be any part. */
static bool all_numbers_known(const struct facts *facts)
{
	for (size_t i = 0; i < facts->n_parts; i++)
		if (name_is_empty(&facts->parts[i].number))
			return false;
	return facts->parts_known;
}

static void add_parts(const struct facts *facts, const struct fact *fact, struct text *out)
{
	unsigned found = 0;

	for (size_t i = 0; i < facts->n_parts; i++) {
		if (is_about(&facts->parts[i], fact) == TRUTH_FALSE)
			continue;
		text_add(out, found++ ? ", " : "");
		add_part(&facts->parts[i], fact, out);
	}
	if (!found)
		text_add(out, all_numbers_known(facts) ? "not fitted" : "not known");
}

static void add_total(struct text *out, const struct facts *facts, const struct fact_field *field)
{
	bool unflown = field->logged && facts->first_flight.state == DATE_NEVER;
	int64_t total = fact_known(facts, field) ? *(const int64_t *)fact_in(facts, field) : 0;

	if (!fact_known(facts, field) && !unflown)
		text_add(out, "not known");
	else if (field->form == FORM_HOURS)
		hours_print(total, out);
	else
		text_printf(out, "%lld", (long long)total);
}

void fact_field_value(const struct facts *facts, const struct fact_field *field, struct text *out)
{
	const void *value = fact_in(facts, field);
	bool known = fact_known(facts, field);

	switch (field->form) {
	case FORM_NAME:
		text_add(out, known ? ((const struct name *)value)->text : "not known");
		break;
	case FORM_SERIAL:
		text_add(out, known ? ((const struct serial *)value)->text : "not known");
		break;
	case FORM_DATE:
	case FORM_FLIGHT:
		add_date(out, value, field->never);
		break;
	case FORM_HOURS:
	case FORM_COUNT:
		add_total(out, facts, field);
		break;
	}
}

/* Is a part written down that may be the one asked for, or, if its serial or lot
 * is, that for each that may be it? */
static bool is_part_written(const struct facts *facts, const struct fact *fact)
{
	bool any = false;

	for (size_t i = 0; i < facts->n_parts; i++) {
		const struct part_fact *part = &facts->parts[i];

		if (is_about(part, fact) == TRUTH_FALSE ||
		    (fact->kind == FACT_PART && is_about(part, fact) == TRUTH_TRUE))
			continue;
		if ((fact->kind == FACT_PART_LOT && !part->has_lot) ||
		    (fact->kind == FACT_PART_SERIAL && !part->has_serial))
			return false;
		any = true;
	}
	return any;
}

bool fact_is_written(const struct facts *facts, const struct fact *fact)
{
	switch (fact->kind) {
	case FACT_MODEL:
		return !name_is_empty(&facts->model);
	case FACT_SERIAL:
		return facts->has_serial;
	case FACT_PART:
	case FACT_PART_SERIAL:
	case FACT_PART_LOT:
		return is_part_written(facts, fact);
	case FACT_PURCHASED:
	case FACT_PLANS:
	case FACT_FIRST_FLIGHT:
	case FACT_SUBKIT:
	case FACT_SHIPPED:
	case FACT_OPTION:
	case FACT_NOTICE:
	case FACT_STEP:
	case FACT_HOURS:
	case FACT_LANDINGS:
		break; /* chosen, or a date or number that is read one way */
	}
	return false;
}

void fact_value(const struct facts *facts, const struct fact *fact, struct text *out)
{
	const struct option_fact *option;

	switch (fact->kind) {
	case FACT_MODEL:
	case FACT_SERIAL:
	case FACT_PURCHASED:
	case FACT_PLANS:
	case FACT_FIRST_FLIGHT:
	case FACT_HOURS:
	case FACT_LANDINGS:
		fact_field_value(facts, fact_field_of(fact->kind), out);
		break;
	case FACT_SUBKIT:
		add_subkit(out, facts_subkit(facts, &fact->about));
		break;
	case FACT_SHIPPED:
		add_shipped(out, facts_subkit(facts, &fact->about));
		break;
	case FACT_OPTION:
		option = facts_option(facts, &fact->about);
		add_answer(out, option ? truth_of(option->fitted) : TRUTH_UNKNOWN, "fitted",
		           "not fitted");
		break;
	case FACT_PART:
	case FACT_PART_SERIAL:
	case FACT_PART_LOT:
		add_parts(facts, fact, out);
		break;
	case FACT_NOTICE:
		add_answer(out, facts_notice_done(facts, &fact->about), "done", "not done");
		break;
	case FACT_STEP:
		add_answer(out, facts_step_built(facts, &fact->about), "built", "not built");
		break;
	}
}
