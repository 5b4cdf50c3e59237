/* One column for each fact that is one value, read and bound by its kind. */
#include "store/fact_rows.h"

void read_fact(struct query *q, const struct fact_field *field, struct facts *facts)
{
	void *at = fact_at(facts, field);

	switch (field->form) {
	case FORM_NAME:
		*(struct name *)at = read_name(q);
		break;
	case FORM_SERIAL:
		fact_set_known(facts, field, read_serial(q, at));
		break;
	case FORM_DATE:
	case FORM_FLIGHT:
		*(struct date_fact *)at = read_date_fact(q);
		break;
	case FORM_HOURS:
	case FORM_COUNT:
		fact_set_known(facts, field, read_int_if(q, at));
		break;
	}
}

void bind_fact(struct query *q, const struct fact_field *field, const struct facts *facts)
{
	const void *value = fact_in(facts, field);
	bool known = fact_known(facts, field);

	switch (field->form) {
	case FORM_NAME:
		bind_label(q, value);
		break;
	case FORM_SERIAL:
		bind_text(q, known ? ((const struct serial *)value)->text : "");
		break;
	case FORM_DATE:
	case FORM_FLIGHT:
		bind_date_fact(q, value);
		break;
	case FORM_HOURS:
	case FORM_COUNT:
		bind_int_if(q, known, *(const int64_t *)value);
		break;
	}
}
