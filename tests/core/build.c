#include "build.h"

#include <string.h>

#include "core/quantity.h"

#define MOST 40 /* entries of one kind */

struct name make_name(struct arena *arena, const char *text)
{
	struct name name;

	text = text ? text : "";
	assert_int_equal(name_make(arena, text, strlen(text), &name), ST_OK);
	return name;
}

struct serial make_serial(struct arena *arena, const char *text)
{
	struct serial serial;

	if (serial_make(arena, text, strlen(text), &serial) != ST_OK)
		fail_msg("not a serial: %s", text);
	return serial;
}

struct date make_date(const char *text)
{
	struct date date;

	if (date_parse(text, strlen(text), &date) != ST_OK)
		fail_msg("not a date: %s", text);
	return date;
}

struct date_fact make_date_fact(const char *text)
{
	if (!text)
		return (struct date_fact){.state = DATE_UNKNOWN};
	if (strcmp(text, "never") == 0)
		return (struct date_fact){.state = DATE_NEVER};
	return (struct date_fact){DATE_KNOWN, make_date(text)};
}

day_number make_day(const char *text)
{
	struct date date = make_date(text);

	assert_int_equal(date.precision, DATE_DAY);
	return date.first;
}

const struct due_statement *make_due(struct arena *arena, const char *text)
{
	const struct due_statement *due = NULL;
	struct statement_fault fault;

	if (due_parse(arena, text, strlen(text), &due, &fault) != ST_OK)
		fail_msg("line %u, column %u: expected %s\n%s", fault.line, fault.column,
		         fault.expected, text);
	return due;
}

const struct effectivity *make_statement(struct arena *arena, const char *text)
{
	const struct effectivity *statement = NULL;
	struct statement_fault fault;

	if (effectivity_parse(arena, text, strlen(text), &statement, &fault) != ST_OK)
		fail_msg("line %u, column %u: expected %s\n%s", fault.line, fault.column,
		         fault.expected, text);
	return statement;
}

void try_each_place(bool (*attempt)(struct arena *arena))
{
	const size_t chunk = 16384, step = 16;
	bool passed = false;

	for (size_t left = 0; !passed && left < chunk; left += step) {
		struct arena *arena = arena_new();

		assert_non_null(arena_array(arena, chunk - left, 1));
		fail_memory(1, true);
		passed = attempt(arena);
		assert_int_equal(fail_memory_end(), !passed);
		assert_int_equal(arena_failed(arena), !passed);
		arena_free(arena);
	}
	assert_true(passed);
}

enum truth make_truth(const char *words)
{
	if (strcmp(words, "applies") == 0)
		return TRUTH_TRUE;
	if (strcmp(words, "does not apply") == 0)
		return TRUTH_FALSE;
	assert_string_equal(words, "cannot tell");
	return TRUTH_UNKNOWN;
}

struct reading {
	struct arena *arena;
	struct facts facts;
	struct option_fact *options;
	struct subkit_fact *subkits;
	struct part_fact *parts;
	struct name *notices;
	struct name *steps;
	struct step_plans *step_plans;
	struct step_date *step_dates;
};

/* The rest of entry behind its first words; NULL when it begins otherwise. */
static const char *behind(const char *entry, const char *words)
{
	size_t len = strlen(words);

	return strncmp(entry, words, len) == 0 && entry[len] == ' ' ? entry + len + 1 : NULL;
}

/* Cuts entry at " = "; the right side. */
static const char *right_side(char *entry)
{
	char *equals = strstr(entry, " = ");

	if (!equals)
		fail_msg("no \" = \" in: %s", entry);
	*equals = '\0';
	return equals + 3;
}

static bool is_yes(const char *value)
{
	assert_true(strcmp(value, "yes") == 0 || strcmp(value, "no") == 0);
	return value[0] == 'y';
}

static void read_subkit(struct reading *r, char *entry)
{
	const char *value = right_side(entry);
	struct subkit_fact *subkit = &r->subkits[r->facts.n_subkits++];

	subkit->code = make_name(r->arena, entry);
	if (value[0] == 'y' || value[0] == 'n') {
		subkit->received = is_yes(value);
		subkit->shipped.state = subkit->received ? DATE_UNKNOWN : DATE_NEVER;
	} else {
		subkit->received = true;
		subkit->shipped = make_date_fact(value);
	}
}

static void read_part(struct reading *r, char *entry)
{
	struct part_fact *part = &r->parts[r->facts.n_parts++];
	char *save;
	char *piece = strtok_r(entry, "|", &save);

	part->number = make_name(
	        r->arena, strcmp(piece, "?") == 0 || strcmp(piece, "? ") == 0 ? NULL : piece);
	part->position = make_name(r->arena, NULL);
	while ((piece = strtok_r(NULL, "|", &save))) {
		char *end = piece + strlen(piece);
		const char *value;

		piece += piece[0] == ' ';
		if (end[-1] == ' ')
			end[-1] = '\0';
		if ((value = behind(piece, "at"))) {
			part->position = make_name(r->arena, value);
		} else if ((value = behind(piece, "lot"))) {
			part->has_lot = true;
			part->lot = make_serial(r->arena, value);
		} else if ((value = behind(piece, "serial"))) {
			part->has_serial = true;
			part->serial = make_serial(r->arena, value);
		} else {
			fail_msg("not a detail of a part: %s", piece);
		}
	}
}

static bool read_flag(struct facts *facts, const char *entry)
{
	if (strcmp(entry, "parts known") == 0)
		return facts->parts_known = true;
	if (strcmp(entry, "notices known") == 0)
		return facts->notices_known = true;
	if (strcmp(entry, "steps known") == 0)
		return facts->steps_known = true;
	return false;
}

static void read_field(struct reading *r, const struct fact_field *field, const char *value)
{
	void *at = fact_at(&r->facts, field);

	switch (field->form) {
	case FORM_NAME:
		*(struct name *)at = make_name(r->arena, value);
		return;
	case FORM_DATE:
	case FORM_FLIGHT:
		*(struct date_fact *)at = make_date_fact(value);
		return;
	case FORM_SERIAL:
		*(struct serial *)at = make_serial(r->arena, value);
		break;
	case FORM_HOURS:
		assert_int_equal(hours_parse(value, strlen(value), at), ST_OK);
		break;
	case FORM_COUNT:
		assert_int_equal(count_parse(value, strlen(value), at), ST_OK);
		break;
	}
	fact_set_known(&r->facts, field, true);
}

/* "first-flight 2017": the key of a fact with - for _, and its value. */
static bool read_single(struct reading *r, const char *entry)
{
	for (size_t i = 0; i < FACT_FIELDS; i++) {
		char *words = arena_string(r->arena, fact_fields[i].key);
		const char *value;

		for (char *at = words; (at = strchr(at, '_')) != NULL;)
			*at = '-';
		value = behind(entry, words);
		if (value) {
			read_field(r, &fact_fields[i], value);
			return true;
		}
	}
	return false;
}

static void read_listed(struct reading *r, char *entry)
{
	struct facts *facts = &r->facts;
	const char *value;

	if ((value = behind(entry, "option"))) {
		struct option_fact *option = &r->options[facts->n_options++];

		option->fitted = is_yes(right_side(entry));
		option->name = make_name(r->arena, value);
	} else if (behind(entry, "subkit")) {
		read_subkit(r, entry + strlen("subkit "));
	} else if (behind(entry, "part")) {
		read_part(r, entry + strlen("part "));
	} else if ((value = behind(entry, "notice"))) {
		r->notices[facts->n_notices_done++] = make_name(r->arena, value);
	} else if ((value = behind(entry, "step"))) {
		r->steps[facts->n_steps_done++] = make_name(r->arena, value);
	} else {
		fail_msg("not a fact: %s", entry);
	}
}

static void read_entry(struct reading *r, char *entry)
{
	const char *step = behind(entry, "plans of");
	const char *dated = behind(entry, "date of");

	if (dated) {
		struct step_date *date = &r->step_dates[r->facts.n_step_dates++];

		date->done = make_date_fact(right_side(entry));
		date->step = make_name(r->arena, dated);
	} else if (step) {
		struct step_plans *plans = &r->step_plans[r->facts.n_step_plans++];

		plans->plans = make_date_fact(right_side(entry));
		plans->step = make_name(r->arena, step);
	} else if (!read_flag(&r->facts, entry) && !read_single(r, entry)) {
		read_listed(r, entry);
	}
}

struct facts *make_facts(struct arena *arena, const char *text)
{
	struct reading r = {.arena = arena};
	char *copy = arena_string(arena, text), *save;
	struct facts *facts = ARENA_NEW(arena, struct facts);

	r.facts.model = make_name(arena, NULL);
	r.options = ARENA_ARRAY(arena, struct option_fact, MOST);
	r.subkits = ARENA_ARRAY(arena, struct subkit_fact, MOST);
	r.parts = ARENA_ARRAY(arena, struct part_fact, MOST);
	r.notices = ARENA_ARRAY(arena, struct name, MOST);
	r.steps = ARENA_ARRAY(arena, struct name, MOST);
	r.step_plans = ARENA_ARRAY(arena, struct step_plans, MOST);
	r.step_dates = ARENA_ARRAY(arena, struct step_date, MOST);
	for (char *entry = strtok_r(copy, ";", &save); entry; entry = strtok_r(NULL, ";", &save)) {
		entry += strspn(entry, " ");
		if (*entry)
			read_entry(&r, entry);
	}
	*facts = r.facts;
	facts->options = r.options;
	facts->subkits = r.subkits;
	facts->parts = r.parts;
	facts->notices_done = r.notices;
	facts->steps_done = r.steps;
	facts->step_plans = r.step_plans;
	facts->step_dates = r.step_dates;
	return facts;
}
