/* Rows whose every field is empty are spare ones and are passed over; what is
 * left is checked row by row, each fault at its field. */
#include "web/kits/kit_facts.h"

#include <string.h>

#include "store/kits.h"

struct reader {
	struct arena *arena;
	struct form *form;
	day_number today;
	struct facts *facts;
};

static const struct form_value *at(const struct reader *r, const char *name, size_t row)
{
	return form_value(r->form, name, row);
}

/* Does the name stand in an earlier row? */
static bool stands_above(const struct reader *r, const char *name, size_t row)
{
	for (size_t i = 0; i < row; i++)
		if (name_equal(&at(r, name, i)->name, &at(r, name, row)->name))
			return true;
	return false;
}

static struct date_fact date_of(const struct form_value *value)
{
	return (struct date_fact){value->given ? DATE_KNOWN : DATE_UNKNOWN, value->date};
}

/* Nobody has bought, flown or received anything in days to come. */
static void check_past(const struct reader *r, const char *name, size_t row)
{
	const struct form_value *value = at(r, name, row);

	if (value->given && value->date.first > r->today)
		form_fail_row(r->form, name, row, "must not be in the future");
}

static void read_single(const struct reader *r)
{
	for (size_t i = 0; i < FACT_FIELDS; i++)
		if (fact_fields[i].form == FORM_DATE || fact_fields[i].form == FORM_FLIGHT)
			check_past(r, fact_fields[i].key, 0);
	if (form_flag(r->form, "not_flown") && form_given(r->form, "first_flight"))
		form_fail(r->form, "first_flight", "has a date, yet “Not flown yet” is ticked");
	form_read_facts(r->form, r->facts);
	r->facts->parts_known = form_flag(r->form, "parts_known");
	r->facts->steps_known = form_flag(r->form, "steps_known");
}

/* A row needs its name as soon as anything else in it is said. */
static bool has_name(const struct reader *r, const char *name, size_t row, bool said)
{
	if (at(r, name, row)->given) {
		if (stands_above(r, name, row))
			form_fail_row(r->form, name, row, "stands here twice");
		return true;
	}
	if (said)
		form_fail_row(r->form, name, row, "is needed");
	return false;
}

static enum status read_options(const struct reader *r)
{
	size_t rows = form_count(r->form, "option");
	size_t states = form_count(r->form, "option_state");
	size_t count = rows > states ? rows : states;
	struct option_fact *list = ARENA_ARRAY(r->arena, struct option_fact, count);

	if (!list)
		return ST_NOMEM;
	r->facts->options = list;
	r->facts->n_options = 0;
	for (size_t i = 0; i < count; i++) {
		int state = at(r, "option_state", i)->choice;

		if (has_name(r, "option", i, state >= 0) && state >= 0)
			list[r->facts->n_options++] =
			        (struct option_fact){at(r, "option", i)->name, state == 0};
	}
	return ST_OK;
}

static bool subkit_contradicts(const struct reader *r, size_t row)
{
	bool shipped = at(r, "subkit_shipped", row)->given;

	return shipped && at(r, "subkit_state", row)->choice == 1;
}

static enum status read_subkits(const struct reader *r)
{
	size_t count = form_count(r->form, "subkit");
	struct subkit_fact *list;

	if (form_count(r->form, "subkit_state") > count)
		count = form_count(r->form, "subkit_state");
	if (form_count(r->form, "subkit_shipped") > count)
		count = form_count(r->form, "subkit_shipped");
	list = ARENA_ARRAY(r->arena, struct subkit_fact, count);
	if (!list)
		return ST_NOMEM;
	r->facts->subkits = list;
	r->facts->n_subkits = 0;
	for (size_t i = 0; i < count; i++) {
		int state = at(r, "subkit_state", i)->choice;
		struct date_fact shipped = date_of(at(r, "subkit_shipped", i));
		bool said = state >= 0 || shipped.state == DATE_KNOWN;

		check_past(r, "subkit_shipped", i);
		if (subkit_contradicts(r, i))
			form_fail_row(r->form, "subkit_shipped", i,
			              "has a date, yet the sub-kit is not received");
		if (state == 1)
			shipped.state = DATE_NEVER;
		if (has_name(r, "subkit", i, said) && said)
			list[r->facts->n_subkits++] =
			        (struct subkit_fact){at(r, "subkit", i)->name, state != 1, shipped};
	}
	return ST_OK;
}

static size_t count_part_rows(const struct reader *r)
{
	static const char *const names[] = {"part", "part_position", "part_serial", "part_lot"};
	size_t most = 0;

	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
		if (form_count(r->form, names[i]) > most)
			most = form_count(r->form, names[i]);
	return most;
}

/* A part may be of unknown number: then some part with that serial or lot is fitted. */
static enum status read_parts(const struct reader *r)
{
	size_t count = count_part_rows(r);
	struct part_fact *list = ARENA_ARRAY(r->arena, struct part_fact, count);

	if (!list)
		return ST_NOMEM;
	r->facts->parts = list;
	r->facts->n_parts = 0;
	for (size_t i = 0; i < count; i++) {
		struct part_fact part = {.number = at(r, "part", i)->name,
		                         .position = at(r, "part_position", i)->name,
		                         .has_serial = at(r, "part_serial", i)->given,
		                         .has_lot = at(r, "part_lot", i)->given,
		                         .serial = at(r, "part_serial", i)->serial,
		                         .lot = at(r, "part_lot", i)->serial};

		if (at(r, "part", i)->given || part.has_serial || part.has_lot)
			list[r->facts->n_parts++] = part;
		else if (at(r, "part_position", i)->given)
			form_fail_row(r->form, "part", i, "is needed");
	}
	return ST_OK;
}

static bool is_listed(const struct name *list, size_t count, const struct name *name)
{
	for (size_t i = 0; i < count; i++)
		if (name_equal(&list[i], name))
			return true;
	return false;
}

static enum status add_step(const struct reader *r, struct name *list, const char *code, size_t len)
{
	struct facts *facts = r->facts;
	struct name name;
	enum status status = name_make(r->arena, code, len, &name);

	if (status != ST_OK || name_is_empty(&name))
		return status;
	if (name.len > NAME_LONGEST)
		form_fail(r->form, "steps", "holds a code longer than %d characters", NAME_LONGEST);
	else if (facts->n_steps_done == KIT_LIST_LONGEST)
		form_fail(r->form, "steps", "holds more than %d codes", KIT_LIST_LONGEST);
	else if (!is_listed(list, facts->n_steps_done, &name))
		list[facts->n_steps_done++] = name;
	return ST_OK;
}

/* Codes with commas or line ends between; one that stands twice counts once. */
static enum status read_steps(const struct reader *r)
{
	const char *text = form_text(r->form, "steps");
	struct name *list = ARENA_ARRAY(r->arena, struct name, KIT_LIST_LONGEST);
	enum status status = ST_OK;

	if (!list)
		return ST_NOMEM;
	r->facts->steps_done = list;
	r->facts->n_steps_done = 0;
	while (status == ST_OK && *text && form_ok(r->form)) {
		size_t len = strcspn(text, ",\n");

		status = add_step(r, list, text, len);
		text += len + (text[len] != '\0');
	}
	return status;
}

static enum status read_step_plans(const struct reader *r)
{
	size_t rows = form_count(r->form, "plan_step");
	size_t dates = form_count(r->form, "plan_date");
	size_t count = rows > dates ? rows : dates;
	struct step_plans *list = ARENA_ARRAY(r->arena, struct step_plans, count);

	if (!list)
		return ST_NOMEM;
	r->facts->step_plans = list;
	r->facts->n_step_plans = 0;
	for (size_t i = 0; i < count; i++) {
		struct date_fact plans = date_of(at(r, "plan_date", i));

		check_past(r, "plan_date", i);
		if (has_name(r, "plan_step", i, plans.state == DATE_KNOWN))
			list[r->facts->n_step_plans++] =
			        (struct step_plans){at(r, "plan_step", i)->name, plans};
	}
	return ST_OK;
}

enum status kit_facts_read(struct arena *arena, struct form *form, day_number today,
                           struct facts *facts)
{
	struct reader reader = {arena, form, today, facts};
	enum status status;

	read_single(&reader);
	status = read_options(&reader);
	if (status == ST_OK)
		status = read_subkits(&reader);
	if (status == ST_OK)
		status = read_parts(&reader);
	if (status == ST_OK)
		status = read_steps(&reader);
	if (status == ST_OK)
		status = read_step_plans(&reader);
	return status;
}
