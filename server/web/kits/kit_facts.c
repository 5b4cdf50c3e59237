/* kit_facts.c - everything that is known of a kit, in one form.
 *
 * Any fact may be left out: unknown is not no. The form carries a digest of
 * the facts that it was filled from. When somebody else saved other facts in
 * between, nothing is saved: the form comes back as typed, with the new digest,
 * so that sending it again is a decision. Marks of reading and records do not
 * disturb it.
 *
 * Reading the form is in kit_facts_read.c.
 */
#include "web/kits/kit_page.h"
#include "web/kits/kit_facts.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "os/digest.h"
#include "store/store.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/http/respond.h"

/* All but the first ask for more rows of one section. */
static const char *const acts[] = {"save", "options", "subkits", "parts", "steps", NULL};
enum { ACT_SAVE, ACT_OPTIONS, ACT_SUBKITS, ACT_PARTS, ACT_STEPS };

#define SPARE_ROWS 2
#define MORE_ROWS 8

const char *const kit_option_states[] = {"fitted", "not fitted", NULL};
const char *const kit_subkit_states[] = {"received", "not received", NULL};

const struct input kit_facts_inputs[] = {
        {"seen", "State of the facts", INPUT_LINE, .longest = DIGEST_HEX_SIZE},
        {"act", "What to do", INPUT_CHOICE, .choices = acts},
        KIT_FACTS_INPUTS,
        INPUTS_END};

static const char *const option_row[] = {"option", "option_state", NULL};
static const char *const subkit_row[] = {"subkit", "subkit_state", "subkit_shipped", NULL};
static const char *const part_row[] = {"part", "part_position", "part_serial", "part_lot", NULL};
static const char *const plan_row[] = {"plan_step", "plan_date", NULL};

/* A part of the form that is folded away until it is wanted. */
struct section {
	const char *name;
	const char *const *row;    /* fields of each row; the first says what it is about */
	const char *state;         /* of a row that only needs an answer it is blank; NULL: none */
	const char *const *beside; /* fields outside the rows */
	int act;                   /* what asks for more rows */
};

static const char *const nothing_beside[] = {NULL};
static const char *const beside_parts[] = {"parts_known", NULL};
static const char *const beside_plans[] = {"steps", "steps_known", NULL};

static const struct section sections[] = {
        {"options", option_row, "option_state", nothing_beside, ACT_OPTIONS},
        {"subkits", subkit_row, "subkit_state", nothing_beside, ACT_SUBKITS},
        {"parts", part_row, NULL, beside_parts, ACT_PARTS},
        {"building", plan_row, NULL, beside_plans, ACT_STEPS},
};

/* ---- from facts to the form ---- */

static const char *name_text(const struct name *name)
{
	return name_is_empty(name) ? "" : name->text;
}

static void fill_options(struct form *form, const struct facts *facts)
{
	for (size_t i = 0; i < facts->n_options; i++) {
		form_set(form, "option", facts->options[i].name.text);
		form_set(form, "option_state", kit_option_states[facts->options[i].fitted ? 0 : 1]);
	}
}

static void fill_subkits(struct form *form, const struct facts *facts)
{
	for (size_t i = 0; i < facts->n_subkits; i++) {
		form_set(form, "subkit", facts->subkits[i].code.text);
		form_set(form, "subkit_state",
		         kit_subkit_states[facts->subkits[i].received ? 0 : 1]);
		form_set_date(form, "subkit_shipped", &facts->subkits[i].shipped);
	}
}

static void fill_parts(struct form *form, const struct facts *facts)
{
	for (size_t i = 0; i < facts->n_parts; i++) {
		const struct part_fact *part = &facts->parts[i];

		form_set(form, "part", name_text(&part->number));
		form_set(form, "part_position", name_text(&part->position));
		form_set(form, "part_serial", part->has_serial ? part->serial.text : "");
		form_set(form, "part_lot", part->has_lot ? part->lot.text : "");
	}
}

static void fill_steps(struct form *form, const struct facts *facts)
{
	struct text text = TEXT_EMPTY;

	for (size_t i = 0; i < facts->n_steps_done; i++)
		text_printf(&text, "%s%s", i ? ", " : "", facts->steps_done[i].text);
	form_set(form, "steps", text_string(&text));
	text_free(&text);
	for (size_t i = 0; i < facts->n_step_plans; i++) {
		form_set(form, "plan_step", facts->step_plans[i].step.text);
		form_set_date(form, "plan_date", &facts->step_plans[i].plans);
	}
}

/* Every value as it is shown, each with its length before it. */
static void digest_form(const struct form *form, char out[DIGEST_HEX_SIZE])
{
	struct text text = TEXT_EMPTY;
	struct digest digest;

	for (const struct input *input = kit_facts_inputs + 2; input->name; input++)
		for (size_t i = 0; i < form_count(form, input->name); i++) {
			const char *typed = form_value(form, input->name, i)->typed;

			text_printf(&text, "%s %zu %s\n", input->name, strlen(typed), typed);
		}
	digest = digest_of(text_string(&text), text.len);
	digest_hex(&digest, out);
	text_free(&text);
}

static struct form *form_of_facts(struct arena *arena, const struct facts *facts,
                                  char digest[DIGEST_HEX_SIZE])
{
	struct form *form = form_blank(arena, kit_facts_inputs);

	if (!form)
		return NULL;
	form_set_facts(form, facts);
	form_set_flag(form, "parts_known", facts->parts_known);
	form_set_flag(form, "steps_known", facts->steps_known);
	fill_options(form, facts);
	fill_subkits(form, facts);
	fill_parts(form, facts);
	fill_steps(form, facts);
	digest_form(form, digest);
	return arena_failed(arena) ? NULL : form;
}

/* ---- what the notices ask about ---- */

static bool has_subkit_row(const struct form *form, const char *code)
{
	for (size_t i = 0; i < form_count(form, "subkit"); i++)
		if (strcmp(form_value(form, "subkit", i)->typed, code) == 0)
			return true;
	return false;
}

/* Rows that only need an answer, for what open questions are about. */
static void suggest_rows(struct form *form, const struct kit_view *view)
{
	for (size_t i = 0; i < view->n_questions; i++) {
		const struct fact *fact = &view->questions[i].fact;
		bool subkit = fact->kind == FACT_SUBKIT || fact->kind == FACT_SHIPPED;

		if (fact->kind == FACT_OPTION)
			form_set(form, "option", fact->about.text);
		else if (subkit && !has_subkit_row(form, fact->about.text))
			form_set(form, "subkit", fact->about.text);
	}
}

static bool has_string(const json_t *list, const char *text)
{
	size_t i;
	json_t *item;

	json_array_foreach(list, i, item)
	{
		if (strcmp(json_string_value(item), text) == 0)
			return true;
	}
	return false;
}

static json_t *asked_about(const struct kit_view *view, enum fact_kind from, enum fact_kind to)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < view->n_questions; i++) {
		const struct fact *fact = &view->questions[i].fact;

		if (fact->kind >= from && fact->kind <= to && !has_string(list, fact->about.text))
			list = present_append(list, json_string(fact->about.text));
	}
	return list;
}

/* Models that notices name, for the field's list of suggestions. */
static json_t *models_view(const struct kit_view *view)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < view->catalogue->count; i++) {
		const struct effectivity *s = view->catalogue->entries[i].notice.effectivity;

		for (uint32_t k = 0; list && k < s->n_conditions; k++) {
			const struct condition *c = &s->conditions[k];

			if (c->kind != COND_MODEL)
				continue;
			for (uint32_t n = c->name; list && n < c->name + c->names; n++)
				if (!s->names[n].series && !has_string(list, s->names[n].name.text))
					list = present_append(list,
					                      json_string(s->names[n].name.text));
		}
	}
	return list;
}

/* ---- the page ---- */

static bool has_fault(const struct form *form, const char *const *names)
{
	for (; *names; names++)
		for (size_t i = 0; i < form_count(form, *names); i++)
			if (form_value(form, *names, i)->error)
				return true;
	return false;
}

static bool is_typed(const struct form *form, const char *name, size_t row)
{
	return row < form_count(form, name) && form_value(form, name, row)->typed[0];
}

static json_t *count_or_false(int count)
{
	return count ? json_integer(count) : json_false();
}

/* {"open", "given", "asked" (counts, false for none), "rows"}: open when there is
 * something to put right, to answer or to add. */
static json_t *section_view(const struct form *form, const struct section *section)
{
	bool more = form_choice(form, "act") == section->act;
	int given = 0, asked = 0;

	for (size_t i = 0; i < form_count(form, section->row[0]); i++) {
		if (!is_typed(form, section->row[0], i))
			continue;
		if (section->state && !is_typed(form, section->state, i))
			asked++;
		else
			given++;
	}
	return json_pack("{s:b, s:o, s:o, s:o}", "open",
	                 more || asked || has_fault(form, section->row) ||
	                         has_fault(form, section->beside),
	                 "given", count_or_false(given), "asked", count_or_false(asked), "rows",
	                 form_rows_view(form, section->row, more ? MORE_ROWS : SPARE_ROWS));
}

static enum status show_facts(struct context *c, const struct kit_view *view)
{
	json_t *form = form_view(c->form);
	json_t *page = json_pack(
	        "{s:o, s:o, s:o, s:o, s:o, s:b}", "kept", form_fact_fields(form, false), "form",
	        form, "named_models", present_some("models", models_view(view)), "named_parts",
	        present_some("asked", asked_about(view, FACT_PART, FACT_PART_LOT)), "named_steps",
	        present_some("asked", asked_about(view, FACT_STEP, FACT_STEP)), "in_facts", 1);

	for (size_t i = 0; i < sizeof sections / sizeof sections[0]; i++)
		page = present_set(page, sections[i].name, section_view(c->form, &sections[i]));
	return kit_respond(c, &view->kit, "kit_facts.html", "Facts of the kit", page);
}

static enum status new_form(struct context *c, const struct kit_view *view)
{
	char digest[DIGEST_HEX_SIZE];
	struct facts facts;
	enum status status = kit_facts(c->store, c->arena, view->kit.id, &facts);

	if (status != ST_OK)
		return status;
	c->form = form_of_facts(c->arena, &facts, digest);
	if (!c->form)
		return ST_NOMEM;
	form_set(c->form, "seen", digest);
	suggest_rows(c->form, view);
	return show_facts(c, view);
}

enum status page_kit_facts(struct context *c)
{
	return kit_page(c, new_form);
}

/* ---- saving ---- */

/* Inside the transaction: does the form still start from what is stored? */
static enum status check_seen(struct context *c, struct facts *stored)
{
	char digest[DIGEST_HEX_SIZE];

	if (!form_of_facts(c->arena, stored, digest))
		return ST_NOMEM;
	if (strcmp(digest, form_text(c->form, "seen")) != 0)
		form_fail(c->form, "",
		          "The facts of this kit were changed elsewhere after you opened this "
		          "form. What you typed is kept below and not saved. Save it again to put "
		          "it in place of what is stored now.");
	form_set(c->form, "seen", digest);
	return ST_OK;
}

static enum status store_facts(struct context *c, struct kit_id id)
{
	struct facts facts;
	enum status status = kit_facts(c->store, c->arena, id, &facts);

	if (status == ST_OK)
		status = check_seen(c, &facts);
	if (status == ST_OK && form_ok(c->form))
		status = kit_facts_read(c->arena, c->form, c->today, &facts);
	if (status == ST_OK && form_ok(c->form))
		status = form_bound(c->form, c->store, kit_set_facts(c->store, id, &facts));
	return status;
}

static enum status save(struct context *c, struct kit_id id)
{
	enum status status = store_begin(c->store);

	if (status == ST_OK)
		status = store_facts(c, id);
	if (status == ST_OK && form_ok(c->form))
		status = store_commit(c->store);
	store_rollback(c->store);
	return status;
}

static enum status take_facts(struct context *c, const struct kit_view *view)
{
	enum status status = ST_OK;

	if (form_choice(c->form, "act") > ACT_SAVE)
		return show_facts(c, view);
	if (form_ok(c->form))
		status = save(c, view->kit.id);
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_facts(c, view);
	return respond_redirect(c, "/kits/%lld?said=facts-saved", (long long)view->kit.id.v);
}

enum status act_kit_facts(struct context *c)
{
	return kit_page(c, take_facts);
}
