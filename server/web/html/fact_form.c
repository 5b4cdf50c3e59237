#include "web/html/fact_form.h"

#include "web/html/form_parts.h"
#include "web/html/present.h"

static void set_fact(struct form *form, const struct fact_field *field, const struct facts *facts)
{
	const void *value = fact_in(facts, field);
	bool known = fact_known(facts, field);

	switch (field->form) {
	case FORM_NAME:
		form_set(form, field->key, known ? ((const struct name *)value)->text : "");
		break;
	case FORM_SERIAL:
		form_set(form, field->key, known ? ((const struct serial *)value)->text : "");
		break;
	case FORM_FLIGHT:
		form_set_flag(form, "not_flown",
		              ((const struct date_fact *)value)->state == DATE_NEVER);
		/* fall through */
	case FORM_DATE:
		form_set_date(form, field->key, value);
		break;
	case FORM_HOURS:
		if (known)
			form_set_hours(form, field->key, *(const int64_t *)value);
		break;
	case FORM_COUNT:
		if (known)
			form_set_number(form, field->key, *(const int64_t *)value);
		break;
	}
}

void form_set_facts(struct form *form, const struct facts *facts)
{
	for (size_t i = 0; i < FACT_FIELDS; i++)
		if (form_find(form, fact_fields[i].key))
			set_fact(form, &fact_fields[i], facts);
}

static void read_fact(const struct form *form, const struct fact_field *field, struct facts *facts)
{
	const struct form_value *value = form_value(form, field->key, 0);
	void *at = fact_at(facts, field);

	switch (field->form) {
	case FORM_NAME:
		*(struct name *)at = form_name(form, field->key);
		break;
	case FORM_SERIAL:
		fact_set_known(facts, field, value->given);
		*(struct serial *)at = value->serial;
		break;
	case FORM_FLIGHT:
		if (form_flag(form, "not_flown")) {
			*(struct date_fact *)at = (struct date_fact){.state = DATE_NEVER};
			break;
		}
		/* fall through */
	case FORM_DATE:
		*(struct date_fact *)at = form_date(form, field->key);
		break;
	case FORM_HOURS:
	case FORM_COUNT:
		fact_set_known(facts, field, value->given);
		*(int64_t *)at = value->number;
		break;
	}
}

void form_read_facts(const struct form *form, struct facts *facts)
{
	for (size_t i = 0; i < FACT_FIELDS; i++)
		if (form_find(form, fact_fields[i].key))
			read_fact(form, &fact_fields[i], facts);
}

json_t *form_fact_fields(const json_t *view, bool logged)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < FACT_FIELDS; i++) {
		const struct fact_field *field = &fact_fields[i];
		json_t *input;

		if (field->logged != logged || field->form == FORM_FLIGHT)
			continue;
		input = json_copy(json_object_get(view, field->key));
		input = present_set(input, "is_date", json_boolean(field->form == FORM_DATE));
		input = present_set(input, "is_number", json_boolean(field->logged));
		list = present_append(list, input);
	}
	return list;
}
