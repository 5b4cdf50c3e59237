/* api_reports.c - field reports for programs.
 *
 * Anybody may read them. Names and facts of kits follow the rule of the pages: a
 * call with a token reads what members read; without one a finding has the
 * model of its kit and no other fact, and there is no split.
 */
#include "web/api/api.h"

#include <string.h>

#include "base/text.h"
#include "web/html/findings_view.h"
#include "formats/json_facts.h"
#include "formats/json_text.h"
#include "web/api/api_view.h"
#include "web/reports/reports_parts.h"
#include "web/html/names.h"
#include "web/http/respond.h"

const struct input api_reports_inputs[] = {
        {"q", "q", INPUT_LINE, .longest = 200},
        {"model", "model", INPUT_LINE, .longest = 80},
        {"part", "part", INPUT_LINE, .longest = 80},
        {"state", "state", INPUT_CHOICE, .choices = report_states},
        API_PAGING,
        INPUTS_END};

const struct input api_report_inputs[] = {API_PAGING, INPUTS_END};

/* ---- in common ---- */

static json_t *text_or_null(const char *text)
{
	return *text ? json_string(text) : json_null();
}

static json_t *notice_json(const struct report *report)
{
	if (!report->notice.v)
		return json_null();
	return json_pack("{s:s, s:b, s:o}", "number", report->notice_number, "stands",
	                 report->notice_stands, "url",
	                 json_sprintf("/api/v1/notices/%lld", (long long)report->notice.v));
}

static json_t *id_or_null(int64_t id)
{
	return id ? json_integer(id) : json_null();
}

/* Pages of members are theirs alone. */
static enum cache_class cache_of(const struct context *c)
{
	return c->member ? CACHE_PRIVATE : CACHE_PUBLIC;
}

static json_t *head_json(const struct report *report, const struct findings_tally *tally,
                         enum report_state state)
{
	const struct report_content *content = &report->content;

	return json_pack("{s:I, s:o, s:s, s:s, s:o, s:o, s:s, s:s, s:I, s:I, s:I, s:I, s:o}", "id",
	                 (json_int_t)report->id.v, "url",
	                 json_sprintf("/api/v1/reports/%lld", (long long)report->id.v), "title",
	                 content->title, "model", content->model, "step",
	                 text_or_null(content->step), "zone", text_or_null(content->zone),
	                 "severity", severity_words(content->severity), "state",
	                 report_state_words(state), "found", (json_int_t)tally->found, "looked",
	                 (json_int_t)tally->looked, "does_not_fit", (json_int_t)tally->does_not_fit,
	                 "made_at", (json_int_t)report->made_at, "notice", notice_json(report));
}

/* ---- the list ---- */

enum status api_reports(struct context *c)
{
	struct report_query query = report_query_all;
	const struct report_row *rows = NULL;
	size_t count = 0;
	int64_t total = 0;
	json_t *list;
	enum status status;

	if (!form_ok(c->form))
		return respond_invalid(c);
	query.words = form_text(c->form, "q");
	query.model = form_text(c->form, "model");
	query.part = form_text(c->form, "part");
	query.state = form_choice(c->form, "state");
	query.page = api_page(c->form);
	status = report_search(c->store, c->arena, &query, &rows, &count, &total);
	if (status != ST_OK)
		return status;
	list = json_array();
	for (size_t i = 0; i < count; i++)
		json_array_append_new(
		        list,
		        head_json(&rows[i].report, &rows[i].tally,
		                  report_state_of(&rows[i].tally, rows[i].report.notice_stands)));
	api_links(c, query.page, total);
	return respond_json(c,
	                    json_pack("{s:I, s:o, s:s}", "total", (json_int_t)total, "reports",
	                              list, "caution", api_caution),
	                    CACHE_PUBLIC);
}

/* ---- one report ---- */

static enum status split_json(const struct context *c, const struct report_sheet *sheet,
                              json_t **out)
{
	struct text words = TEXT_EMPTY, statement = TEXT_EMPTY;
	struct split split;
	bool hint = false;
	enum status status = c->member ? report_split(c->arena, sheet, &split, &hint) : ST_OK;

	*out = json_null();
	if (status != ST_OK || !hint)
		return status;
	split_words(&split, &words);
	split_statement(&split, &statement);
	*out = json_pack("{s:o, s:o, s:f, s:f, s:I}", "words", json_take_text(&words), "statement",
	                 json_take_text(&statement), "p", split.p, "corrected_p", split.corrected,
	                 "tried", (json_int_t)split.tried);
	return ST_OK;
}

static json_t *tally_json(const struct findings_tally *tally)
{
	struct interval limits =
	        findings_interval(tally->found, tally->looked, FINDINGS_CONFIDENCE);

	return json_pack("{s:I, s:I, s:I, s:I, s:I, s:I, s:{s:f, s:f, s:f}}", "found",
	                 (json_int_t)tally->found, "not_there", (json_int_t)tally->not_there,
	                 "does_not_fit", (json_int_t)tally->does_not_fit, "looked",
	                 (json_int_t)tally->looked, "finders", (json_int_t)tally->finders,
	                 "lookers", (json_int_t)tally->lookers, "interval", "confidence",
	                 FINDINGS_CONFIDENCE, "low", limits.low, "high", limits.high);
}

static json_t *name_or_null(const struct context *c, struct member_id who, const char *name,
                            enum credit credit)
{
	if (name_is_open(c, credit) || (c->member && c->member->id.v == who.v))
		return json_string(name);
	return json_null();
}

static json_t *finding_json(const struct context *c, const struct finding_row *row, bool counts)
{
	const struct facts *facts = row->facts;

	return json_pack("{s:I, s:I, s:s, s:b, s:I, s:o, s:s, s:o, s:o}", "id",
	                 (json_int_t)row->id.v, "report", (json_int_t)row->report.v, "answer",
	                 finding_answer_words(row->answer), "counts", counts, "at",
	                 (json_int_t)row->at, "by",
	                 name_or_null(c, row->author, row->author_name, row->credit), "remark",
	                 row->remark, "model",
	                 facts && !name_is_empty(&facts->model) ? json_string(facts->model.text)
	                                                        : json_null(),
	                 "facts", c->member && facts ? json_from_facts(facts) : json_null());
}

/* Newest first. */
static enum status findings_json(const struct context *c, const struct report_sheet *sheet,
                                 struct page page, json_t **out)
{
	size_t n = sheet->n_rows, from = (size_t)page.offset, to;
	struct finding_row *rows = NULL;
	json_t *list;
	enum status status;

	from = from < n ? from : n;
	to = n - from < (size_t)page.limit ? n : from + (size_t)page.limit;
	status = report_rows_now(c->store, c->arena, sheet, from, to, &rows);
	for (size_t i = from; status == ST_OK && i < to; i++)
		status = report_facts_whole(c->store, c->arena, &rows[i - from]);
	if (status != ST_OK)
		return status;
	list = json_array();
	for (size_t i = from; i < to; i++)
		json_array_append_new(list,
		                      finding_json(c, &rows[i - from], sheet->counts[n - 1 - i]));
	*out = list;
	return list ? ST_OK : ST_NOMEM;
}

static json_t *names_json(const struct text_list *names)
{
	json_t *list = json_array();

	for (size_t i = 0; i < names->count; i++)
		json_array_append_new(list, json_string(names->at[i]));
	return list;
}

static json_t *sentence_json(struct arena *arena, const struct report *report)
{
	const struct effectivity *statement = report_statement(arena, report);
	struct text text = TEXT_EMPTY;

	if (!statement)
		return json_null();
	effectivity_sentence(statement, &text);
	return json_take_text(&text);
}

static json_t *reason_json(const struct report_sheet *sheet)
{
	struct text text = TEXT_EMPTY;

	report_state_reason(&sheet->tally, sheet->report.notice_stands, &text);
	return json_take_text(&text);
}

static json_t *report_json(struct context *c, const struct report_sheet *sheet, json_t *split,
                           json_t *findings)
{
	const struct report *report = &sheet->report;
	const struct report_content *content = &report->content;
	json_t *more = json_pack(
	        "{s:s, s:s, s:o, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:I, s:o, s:s}", "seen",
	        content->seen, "look", content->look, "parts", names_json(&content->parts),
	        "effectivity", content->effectivity, "effectivity_sentence",
	        sentence_json(c->arena, report), "by",
	        name_or_null(c, report->author, report->author_name, report->credit), "merged_into",
	        id_or_null(report->merged_into.v), "state_reason", reason_json(sheet), "tally",
	        tally_json(&sheet->tally), "split", split, "findings_total",
	        (json_int_t)sheet->n_rows, "findings", findings, "caution", api_caution);
	json_t *view = head_json(report, &sheet->tally, sheet->state);

	if (view && more && json_object_update(view, more) == 0) {
		json_decref(more);
		return view;
	}
	json_decref(view);
	json_decref(more);
	return NULL;
}

static enum status show_report(struct context *c, const struct report_sheet *sheet, void *context)
{
	const struct page *page = context;
	json_t *split = NULL, *findings = NULL;
	enum status status;

	if (sheet->report.removed_at)
		return ST_MISSING;
	status = split_json(c, sheet, &split);
	if (status != ST_OK)
		return status;
	status = findings_json(c, sheet, *page, &findings);
	if (status != ST_OK) {
		json_decref(split);
		return status;
	}
	api_links(c, *page, (int64_t)sheet->n_rows);
	return respond_json(c, report_json(c, sheet, split, findings), cache_of(c));
}

enum status api_report(struct context *c)
{
	struct page page = api_page(c->form);

	if (!form_ok(c->form))
		return respond_invalid(c);
	return report_with_sheet(c, report_captured(c), show_report, &page);
}
