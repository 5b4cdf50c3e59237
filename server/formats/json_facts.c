#include "formats/json_facts.h"

#include "formats/json_text.h"

#define KEY(key, ...) #key,
static const char *const fact_keys[] = {SINGLE_FACTS(KEY) KNOWN_LISTS(KEY) "options",
                                        "subkits",
                                        "parts",
                                        "notices_done",
                                        "steps_done",
                                        "step_plans",
                                        "step_dates",
                                        NULL};

static const char *const part_keys[] = {"number", "serial", "lot", "position", NULL};
static const char *const subkit_keys[] = {"shipped", NULL};

/* Room for an array or object of facts; NULL and a fault when memory ran out. */
static void *room(struct json_reader *reader, size_t count, size_t size)
{
	void *at = arena_array(reader->arena, count, size);

	if (!at)
		reader->status = ST_NOMEM;
	return at;
}

/* Members of an object; the iterator's type lacks const. */
static void *first_member(const json_t *object)
{
	return json_object_iter((json_t *)(uintptr_t)object);
}

static void *next_member(const json_t *object, void *at)
{
	return json_object_iter_next((json_t *)(uintptr_t)object, at);
}

static bool read_bool(struct json_reader *reader, const json_t *value)
{
	if (!json_is_boolean(value))
		json_fail(reader, "must be true or false");
	return json_is_true(value);
}

static void read_options(struct json_reader *reader, const json_t *object, struct facts *out)
{
	const json_t *list = json_read_object(reader, object, "options");
	struct option_fact *options = room(reader, json_object_size(list), sizeof *options);
	size_t mark = json_enter(reader, "options");

	for (void *at = first_member(list); at && json_reader_ok(reader);
	     at = next_member(list, at)) {
		size_t inner = json_enter(reader, json_object_iter_key(at));
		struct option_fact *option = &options[out->n_options++];

		option->name = json_name_of_text(reader, json_object_iter_key(at));
		option->fitted = read_bool(reader, json_object_iter_value(at));
		json_leave(reader, inner);
	}
	json_leave(reader, mark);
	out->options = options;
}

/* true, false, or {"shipped": DATE} */
static void read_subkit(struct json_reader *reader, const json_t *value, struct subkit_fact *out)
{
	if (json_is_object(value)) {
		if (!json_check_keys(reader, value, subkit_keys))
			return;
		json_need(reader, value, "shipped");
		out->received = true;
		out->shipped = json_read_date(reader, value, "shipped");
	} else if (json_is_boolean(value)) {
		out->received = json_is_true(value);
		out->shipped.state = out->received ? DATE_UNKNOWN : DATE_NEVER;
	} else {
		json_fail(reader, "must be true, false or {\"shipped\": date}");
	}
}

static void read_subkits(struct json_reader *reader, const json_t *object, struct facts *out)
{
	const json_t *list = json_read_object(reader, object, "subkits");
	struct subkit_fact *subkits = room(reader, json_object_size(list), sizeof *subkits);
	size_t mark = json_enter(reader, "subkits");

	for (void *at = first_member(list); at && json_reader_ok(reader);
	     at = next_member(list, at)) {
		size_t inner = json_enter(reader, json_object_iter_key(at));
		struct subkit_fact *subkit = &subkits[out->n_subkits++];

		subkit->code = json_name_of_text(reader, json_object_iter_key(at));
		read_subkit(reader, json_object_iter_value(at), subkit);
		json_leave(reader, inner);
	}
	json_leave(reader, mark);
	out->subkits = subkits;
}

static void read_part(struct json_reader *reader, const json_t *value, void *out)
{
	struct part_fact *part = out;

	part->number = json_read_name(reader, value, "number");
	part->position = json_read_name(reader, value, "position");
	part->has_serial = json_read_serial(reader, value, "serial", &part->serial);
	part->has_lot = json_read_serial(reader, value, "lot", &part->lot);
}

static const struct json_elements parts_list = {"parts", sizeof(struct part_fact), SIZE_MAX,
                                                part_keys, read_part};

static void read_step_plans(struct json_reader *reader, const json_t *object, struct facts *out)
{
	const json_t *list = json_read_object(reader, object, "step_plans");
	struct step_plans *steps = room(reader, json_object_size(list), sizeof *steps);
	size_t mark = json_enter(reader, "step_plans");

	for (void *at = first_member(list); at && json_reader_ok(reader);
	     at = next_member(list, at)) {
		size_t inner = json_enter(reader, json_object_iter_key(at));
		struct step_plans *step = &steps[out->n_step_plans++];

		step->step = json_name_of_text(reader, json_object_iter_key(at));
		step->plans = json_date_of(reader, json_object_iter_value(at));
		json_leave(reader, inner);
	}
	json_leave(reader, mark);
	out->step_plans = steps;
}

static bool is_done(const struct facts *facts, const struct name *step)
{
	return facts_step_built(facts, step) == TRUTH_TRUE;
}

static void read_step_dates(struct json_reader *reader, const json_t *object, struct facts *out)
{
	const json_t *list = json_read_object(reader, object, "step_dates");
	struct step_date *steps = room(reader, json_object_size(list), sizeof *steps);
	size_t mark = json_enter(reader, "step_dates");

	for (void *at = first_member(list); at && json_reader_ok(reader);
	     at = next_member(list, at)) {
		size_t inner = json_enter(reader, json_object_iter_key(at));
		struct step_date *step = &steps[out->n_step_dates++];

		step->step = json_name_of_text(reader, json_object_iter_key(at));
		step->done = json_date_of(reader, json_object_iter_value(at));
		if (json_reader_ok(reader) && !is_done(out, &step->step))
			json_fail(reader, "is not among steps_done");
		json_leave(reader, inner);
	}
	json_leave(reader, mark);
	out->step_dates = steps;
}

/* Is the list under key complete? What known says; in files older than that
 * key a list that is there is complete. */
static bool list_known(struct json_reader *reader, const json_t *object, const char *key,
                       const char *known)
{
	const json_t *said = json_object_get(object, known);

	return said && !json_is_null(said) ? json_read_flag(reader, object, known)
	                                   : json_read_array(reader, object, key) != NULL;
}

static void read_single(struct json_reader *reader, const json_t *object,
                        const struct fact_field *field, struct facts *out)
{
	void *at = fact_at(out, field);
	const char *key = field->key;

	switch (field->form) {
	case FORM_NAME:
		*(struct name *)at = json_read_name(reader, object, key);
		break;
	case FORM_SERIAL:
		fact_set_known(out, field, json_read_serial(reader, object, key, at));
		break;
	case FORM_FLIGHT:
		if (json_is_false(json_object_get(object, key))) {
			((struct date_fact *)at)->state = DATE_NEVER;
			break;
		}
		/* fall through */
	case FORM_DATE:
		*(struct date_fact *)at = json_read_date(reader, object, key);
		break;
	case FORM_HOURS:
		fact_set_known(out, field, json_read_hours(reader, object, key, at));
		break;
	case FORM_COUNT:
		fact_set_known(out, field, json_read_count(reader, object, key, at));
		break;
	}
}

void json_read_facts(struct json_reader *reader, const json_t *object, struct facts *out)
{
	*out = (struct facts){.has_serial = false};
	if (!json_check_keys(reader, object, fact_keys))
		return;
	for (size_t i = 0; i < FACT_FIELDS; i++)
		read_single(reader, object, &fact_fields[i], out);
	read_options(reader, object, out);
	read_subkits(reader, object, out);
	out->parts = json_read_elements(reader, object, &parts_list, &out->n_parts);
	out->parts_known = json_read_flag(reader, object, "parts_known");
	out->notices_done = json_read_names(reader, object, "notices_done", &out->n_notices_done);
	out->notices_known = list_known(reader, object, "notices_done", "notices_known");
	out->steps_done = json_read_names(reader, object, "steps_done", &out->n_steps_done);
	out->steps_known = list_known(reader, object, "steps_done", "steps_known");
	read_step_plans(reader, object, out);
	read_step_dates(reader, object, out);
}

/* ---- writing ---- */

static json_t *date_json(const struct date_fact *fact)
{
	char room_[DATE_TEXT_SIZE];

	if (fact->state == DATE_NEVER)
		return json_false();
	date_print(fact->date, room_);
	return json_string(room_);
}

/* Adds unless the date is not known. */
static int set_date(json_t *object, const char *key, const struct date_fact *fact)
{
	return fact->state == DATE_UNKNOWN ? 0 : json_object_set_new(object, key, date_json(fact));
}

static int set_name(json_t *object, const char *key, const struct name *name)
{
	return name_is_empty(name) ? 0 : json_object_set_new(object, key, json_string(name->text));
}

static int set_serial(json_t *object, const char *key, bool has, const struct serial *serial)
{
	return has ? json_object_set_new(object, key, json_string(serial->text)) : 0;
}

static json_t *options_json(const struct facts *facts)
{
	json_t *object = json_object();

	for (size_t i = 0; i < facts->n_options; i++)
		json_object_set_new(object, facts->options[i].name.text,
		                    json_boolean(facts->options[i].fitted));
	return object;
}

static json_t *subkits_json(const struct facts *facts)
{
	json_t *object = json_object();

	for (size_t i = 0; i < facts->n_subkits; i++) {
		const struct subkit_fact *subkit = &facts->subkits[i];
		json_t *value = subkit->received && subkit->shipped.state == DATE_KNOWN
		                        ? json_pack("{s:o}", "shipped", date_json(&subkit->shipped))
		                        : json_boolean(subkit->received);

		json_object_set_new(object, subkit->code.text, value);
	}
	return object;
}

static json_t *parts_json(const struct facts *facts)
{
	json_t *list = json_array();

	for (size_t i = 0; i < facts->n_parts; i++) {
		const struct part_fact *part = &facts->parts[i];
		json_t *object = json_object();

		set_name(object, "number", &part->number);
		set_name(object, "position", &part->position);
		set_serial(object, "serial", part->has_serial, &part->serial);
		set_serial(object, "lot", part->has_lot, &part->lot);
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *names_json(const struct name *names, size_t count)
{
	json_t *list = json_array();

	for (size_t i = 0; i < count; i++)
		json_array_append_new(list, json_string(names[i].text));
	return list;
}

static json_t *step_plans_json(const struct facts *facts)
{
	json_t *object = json_object();

	for (size_t i = 0; i < facts->n_step_plans; i++)
		set_date(object, facts->step_plans[i].step.text, &facts->step_plans[i].plans);
	return object;
}

static json_t *step_dates_json(const struct facts *facts)
{
	json_t *object = json_object();

	for (size_t i = 0; i < facts->n_step_dates; i++)
		set_date(object, facts->step_dates[i].step.text, &facts->step_dates[i].done);
	return object;
}

static int set_single(json_t *object, const struct facts *facts, const struct fact_field *field)
{
	const void *value = fact_in(facts, field);
	bool known = fact_known(facts, field);
	int64_t total;

	switch (field->form) {
	case FORM_NAME:
		return set_name(object, field->key, value);
	case FORM_SERIAL:
		return set_serial(object, field->key, known, value);
	case FORM_DATE:
	case FORM_FLIGHT:
		return set_date(object, field->key, value);
	case FORM_HOURS:
	case FORM_COUNT:
		break;
	}
	total = *(const int64_t *)value;
	if (!known)
		return 0;
	return json_object_set_new(object, field->key,
	                           field->form == FORM_HOURS ? json_real((double)total / 100)
	                                                     : json_integer(total));
}

json_t *json_from_facts(const struct facts *facts)
{
	json_t *object = json_object();
	int failed = object ? 0 : -1;

	for (size_t i = 0; i < FACT_FIELDS; i++)
		failed |= set_single(object, facts, &fact_fields[i]);
	failed |= json_object_set_new(object, "options", options_json(facts));
	failed |= json_object_set_new(object, "subkits", subkits_json(facts));
	failed |= json_object_set_new(object, "parts", parts_json(facts));
	failed |= json_object_set_new(object, "parts_known", json_boolean(facts->parts_known));
	failed |= json_object_set_new(object, "notices_done",
	                              names_json(facts->notices_done, facts->n_notices_done));
	failed |= json_object_set_new(object, "notices_known", json_boolean(facts->notices_known));
	failed |= json_object_set_new(object, "steps_done",
	                              names_json(facts->steps_done, facts->n_steps_done));
	failed |= json_object_set_new(object, "steps_known", json_boolean(facts->steps_known));
	failed |= json_object_set_new(object, "step_plans", step_plans_json(facts));
	failed |= json_object_set_new(object, "step_dates", step_dates_json(facts));
	if (failed) {
		json_decref(object);
		return NULL;
	}
	return object;
}

/* ---- what is missing ---- */

static void add_need(void *context, const struct fact *fact)
{
	struct text text = TEXT_EMPTY;
	json_t *needs = context, *name, *other;
	size_t i;

	fact_print(fact, &text);
	name = json_take_text(&text);
	json_array_foreach(needs, i, other) if (json_equal(name, other))
	{
		json_decref(name);
		return;
	}
	json_array_append_new(needs, name);
}

json_t *json_needs(const struct effectivity *statement, const struct facts *facts)
{
	json_t *needs = json_array();

	effectivity_needs(statement, facts, add_need, needs);
	return needs;
}
