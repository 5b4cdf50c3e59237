/* fact_form.h - facts that are one value each as fields of a form, by the rows of
 * core/facts.h: an input is named as its key. */
#ifndef WEB_HTML_FACT_FORM_H
#define WEB_HTML_FACT_FORM_H

#include "core/facts.h"
#include "core/quantity.h"
#include "web/html/input.h"

#define INPUT_OF_NAME INPUT_NAME
#define INPUT_OF_SERIAL INPUT_SERIAL
#define INPUT_OF_DATE INPUT_DATE
#define INPUT_OF_FLIGHT INPUT_DATE
#define INPUT_OF_HOURS INPUT_HOURS, .max = 100LL * QUANTITY_MOST + 99
#define INPUT_OF_COUNT INPUT_NUMBER, .max = QUANTITY_MOST

/* Rows for a table of inputs: KEPT_FACTS(FACT_INPUT), LOGGED_FACTS(FACT_INPUT). The
 * API names a field by its key in what it says of it. */
#define FACT_INPUT(key, kind, label, words, never, help)                                           \
	{#key, label, INPUT_OF_##kind, .hint = (help)},
#define FACT_API_INPUT(key, kind, ...) {#key, #key, INPUT_OF_##kind},

/* Fills in each fact that the form has an input for; from it, likewise. An input
 * not_flown, ticked, says of FLIGHT that it is not made yet. */
void form_set_facts(struct form *form, const struct facts *facts);
void form_read_facts(const struct form *form, struct facts *facts);

/* The fields of a form_view for templates: kept facts but for flying, or logged ones:
 * [{...field, "is_date", "is_number"}...]. New reference, NULL when memory ran out. */
json_t *form_fact_fields(const json_t *view, bool logged);

#endif
