/* reports_answer.c - found it; looked, not there; does not fit my kit.
 *
 * A builder answers for one kit, and its facts are taken along as they are now.
 * An answer to a report that was merged goes to the one that it was merged into.
 */
#include "web/reports/reports_answer.h"

#include <stdio.h>
#include <string.h>

#include "web/reports/reports.h"
#include "web/html/picture_form.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define KITS_SHOWN 12 /* forms on the page; with more, the others answer from their own page */

const struct input finding_inputs[] = {
        {"kit", "Kit", INPUT_ID, .required = true},
        {"answer", "Your answer", INPUT_CHOICE, .required = true, .choices = report_answers},
        {"remark", "Remark", INPUT_TEXT, .longest = FINDING_REMARK_LONGEST},
        {"credit", "Who reads your name", INPUT_CHOICE, .choices = report_credits},
        PICTURE_INPUTS,
        INPUTS_END};

/* ---- the forms on the report's page ---- */

static json_t *fits_words(const struct effectivity *statement, const struct facts *facts)
{
	static const char *const words[] = {
	        [TRUTH_FALSE] = "By the report's statement it is none of those that could have it.",
	        [TRUTH_UNKNOWN] = "Whether it could have it cannot be told from its facts.",
	        [TRUTH_TRUE] = "By the report's statement it could have it."};

	return statement ? json_string(words[effectivity_decide(statement, facts)]) : json_false();
}

/* What was answered for the kit last: that is what counts. */
static json_t *before_view(const struct report_sheet *sheet, struct kit_id kit)
{
	for (size_t i = sheet->n_rows; i-- > 0;)
		if (sheet->rows[i].kit.v == kit.v)
			return json_pack("{s:s, s:o}", "answer",
			                 finding_answer_words(sheet->rows[i].answer), "at",
			                 present_time(sheet->rows[i].at));
	return json_false();
}

/* The fields for pictures, with ids of their own: there is a form for each kit. */
static json_t *picture_fields(struct context *c, struct kit_id kit)
{
	static const char *const names[] = {"pictures", "picture_words"};
	const struct form *blank = form_blank(c->arena, finding_inputs);
	json_t *view = blank ? form_view(blank) : NULL;

	for (size_t i = 0; view && i < sizeof names / sizeof names[0]; i++)
		if (json_object_set_new(json_object_get(view, names[i]), "id",
		                        json_sprintf("%s-%lld", names[i], (long long)kit.v)) != 0) {
			json_decref(view);
			return NULL;
		}
	return view;
}

static struct report_id answered_at(const struct report *report)
{
	return report->merged_into.v ? report->merged_into : report->id;
}

/* The form stands open for a kit of the model that was not answered for. */
static bool is_waited_for(const struct report_sheet *sheet, const struct facts *facts,
                          const json_t *before)
{
	return json_is_false(before) && !name_is_empty(&facts->model) &&
	       strcasecmp(facts->model.text, sheet->report.content.model) == 0;
}

static enum status kit_form(struct context *c, const struct report_sheet *sheet,
                            const struct effectivity *statement, const struct kit *kit,
                            json_t **out)
{
	char answer[40], credit[40];
	struct facts facts;
	json_t *before;
	enum status status = kit_facts(c->store, c->arena, kit->id, &facts);

	if (status != ST_OK)
		return status;
	snprintf(answer, sizeof answer, "answer-%lld", (long long)kit->id.v);
	snprintf(credit, sizeof credit, "credit-%lld", (long long)kit->id.v);
	before = before_view(sheet, kit->id);
	*out = json_pack(
	        "{s:I, s:s, s:o, s:o, s:o, s:b, s:o, s:o, s:o, s:o, s:o, s:o}", "kit_id",
	        (json_int_t)kit->id.v, "name", kit->name, "model", present_name(&facts.model),
	        "facts", report_facts_short(&sheet->report, statement, &facts), "fits",
	        fits_words(statement, &facts), "open", is_waited_for(sheet, &facts, before),
	        "before", before, "choices", report_answer_choices(answer, ""), "credits",
	        report_credit_choices(credit, report_credits[CREDIT_MEMBERS]), "url",
	        report_url(answered_at(&sheet->report), "/findings"), "ask_url",
	        json_sprintf("/kits/%lld/reports/%lld/ask", (long long)kit->id.v,
	                     (long long)sheet->report.id.v),
	        "fields", picture_fields(c, kit->id));
	return *out ? ST_OK : ST_NOMEM;
}

static enum status kit_forms(struct context *c, const struct report_sheet *sheet,
                             const struct effectivity *statement, json_t *list)
{
	const struct kit *kits = NULL;
	size_t count = 0;
	enum status status = kit_list(c->store, c->arena, c->member->id, &kits, &count);

	for (size_t i = 0; status == ST_OK && i < count && i < KITS_SHOWN; i++) {
		json_t *form = NULL;

		status = kit_form(c, sheet, statement, &kits[i], &form);
		if (status == ST_OK && json_array_append_new(list, form) != 0)
			status = ST_NOMEM;
	}
	return status;
}

enum status answers_view(struct context *c, const struct report_sheet *sheet,
                         const struct effectivity *statement, json_t **out)
{
	json_t *list = json_array();
	enum status status = list ? ST_OK : ST_NOMEM;

	if (status == ST_OK && c->member && !sheet->report.removed_at)
		status = kit_forms(c, sheet, statement, list);
	if (status == ST_OK) {
		*out = c->member && !sheet->report.removed_at
		               ? json_pack("{s:O, s:b}", "kits", list, "any",
		                           json_array_size(list) > 0)
		               : json_false();
		status = *out ? ST_OK : ST_NOMEM;
	}
	json_decref(list);
	return status;
}

/* ---- an answer ---- */

static enum status show_form(struct context *c, const struct report *report)
{
	json_t *view = json_pack(
	        "{s:I, s:s, s:o, s:o, s:o, s:o}", "id", (json_int_t)report->id.v, "name",
	        report->content.title, "url", report_url(report->id, ""), "form",
	        form_view(c->form), "choices",
	        report_answer_choices("answer", form_value(c->form, "answer", 0)->typed), "credits",
	        report_credit_choices("credit", form_value(c->form, "credit", 0)->typed));

	return report_respond(
	        c, "reports_answer.html",
	        arena_printf(c->arena, "Answer to field report %lld", (long long)report->id.v),
	        view);
}

/* The answer with its pictures, or neither. */
static enum status add_all(struct context *c, const struct finding_entry *entry,
                           struct finding_id *out)
{
	struct picture_of of = {.finding = {0}};
	enum status status = store_begin(c->store);

	if (status == ST_OK)
		status = finding_add(c->store, entry, c->now, &of.finding);
	if (status == ST_OK)
		status = pictures_keep(c, &of);
	if (status == ST_OK)
		status = store_commit(c->store);
	if (status == ST_OK)
		*out = of.finding;
	store_rollback(c->store);
	return status;
}

static enum status store_answer(struct context *c, const struct report *report)
{
	int credit = form_choice(c->form, "credit");
	struct finding_entry entry = {.report = answered_at(report),
	                              .kit = {form_number(c->form, "kit")},
	                              .author = c->member->id,
	                              .answer = (enum finding_answer)form_choice(c->form, "answer"),
	                              .credit = credit < 0 ? CREDIT_MEMBERS : (enum credit)credit,
	                              .remark = form_text(c->form, "remark")};
	struct finding_id id = {0};
	enum status status = add_all(c, &entry, &id);

	status = form_bound(c->form, c->store, status);
	if (!form_ok(c->form))
		return show_form(c, report);
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/reports/%lld?said=finding-added#finding-%lld",
	                        (long long)entry.report.v, (long long)id.v);
}

enum status act_finding(struct context *c)
{
	struct report report;
	enum status status = report_read(c->store, c->arena, report_captured(c), &report);

	if (status == ST_OK && report.removed_at)
		status = ST_MISSING;
	if (status == ST_OK)
		status = pictures_look(c, PICTURES_MOST);
	if (status != ST_OK)
		return status;
	return form_ok(c->form) ? store_answer(c, &report) : show_form(c, &report);
}

/* The remark goes; the answer stays. It must be of the report of this address. */
enum status act_finding_remark(struct context *c)
{
	struct report_id report = report_captured(c);
	struct finding_id id = {context_id(c, "finding")};
	const struct finding_row *rows = NULL;
	size_t count = 0;
	bool found = false;
	enum status status = finding_list(c->store, c->arena, report, &rows, &count);

	for (size_t i = 0; status == ST_OK && i < count; i++)
		found |= rows[i].id.v == id.v;
	if (status == ST_OK)
		status = found ? finding_remove_remark(c->store, id, c->member->id, c->now)
		               : ST_MISSING;
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/reports/%lld?said=remark-removed#finding-%lld",
	                        (long long)report.v, (long long)id.v);
}
