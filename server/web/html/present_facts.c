#include "web/html/present_facts.h"

#include "base/text.h"
#include "formats/json_text.h"
#include "web/html/present.h"

struct fact_list {
	const struct facts *facts;
	json_t *list;
};

static void add_list(struct fact_list *list, const char *words, struct text *value)
{
	if (value->len == 0)
		text_add(value, "not known");
	list->list = present_append(list->list, json_pack("{s:s, s:o}", "words", words, "value",
	                                                  json_take_text(value)));
}

static void add_part(struct text *text, const struct part_fact *part)
{
	text_printf(text, "%s%s", text->len ? "; " : "",
	            name_is_empty(&part->number) ? "number not known" : part->number.text);
	if (!name_is_empty(&part->position))
		text_printf(text, " %s", part->position.text);
	if (part->has_serial)
		text_printf(text, " serial %s", part->serial.text);
	if (part->has_lot)
		text_printf(text, " lot %s", part->lot.text);
}

static void add_parts(struct fact_list *list)
{
	struct text text = TEXT_EMPTY;

	for (size_t i = 0; i < list->facts->n_parts; i++)
		add_part(&text, &list->facts->parts[i]);
	if (text.len)
		text_add(&text, list->facts->parts_known ? " (complete)" : " (not complete)");
	add_list(list, "parts fitted", &text);
}

static void add_options(struct fact_list *list)
{
	struct text text = TEXT_EMPTY;

	for (size_t i = 0; i < list->facts->n_options; i++) {
		const struct option_fact *option = &list->facts->options[i];

		text_printf(&text, "%s%s%s", i ? ", " : "", option->fitted ? "" : "not ",
		            option->name.text);
	}
	add_list(list, "options", &text);
}

static void add_subkits(struct fact_list *list)
{
	struct text text = TEXT_EMPTY;

	for (size_t i = 0; i < list->facts->n_subkits; i++) {
		const struct subkit_fact *subkit = &list->facts->subkits[i];
		char shipped[DATE_WORDS_SIZE];

		text_printf(&text, "%s%s%s", i ? "; " : "", subkit->code.text,
		            subkit->received ? "" : " not received");
		if (subkit->received && subkit->shipped.state == DATE_KNOWN) {
			date_words(subkit->shipped.date, shipped);
			text_printf(&text, " shipped %s", shipped);
		}
	}
	add_list(list, "sub-kits", &text);
}

json_t *present_facts(const struct facts *facts)
{
	struct fact_list list = {facts, json_array()};

	for (size_t i = 0; i < FACT_FIELDS; i++) {
		struct text value = TEXT_EMPTY;

		fact_field_value(facts, &fact_fields[i], &value);
		add_list(&list, fact_fields[i].words, &value);
	}
	add_subkits(&list);
	add_options(&list);
	add_parts(&list);
	return list.list;
}
