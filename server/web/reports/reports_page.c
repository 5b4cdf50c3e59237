/* reports_page.c - one field report, in the order of need: how bad, found on how
 * many, what was seen, how to look, your own answer, the numbers, what others
 * found; the title block last, as on a drawing.
 *
 * A report that was merged into another shows a line and a link, and is answered
 * there. Of one that was removed its trace stays; the words are for stewards.
 */
#include "web/reports/reports.h"

#include <string.h>

#include "base/text.h"
#include "web/html/drawing.h"
#include "formats/json_text.h"
#include "web/html/markdown.h"
#include "web/reports/reports_answer.h"
#include "web/reports/reports_parts.h"
#include "web/html/picture_view.h"
#include "chapter/whom.h"
#include "web/html/findings_view.h"
#include "web/html/names.h"
#include "web/html/present.h"
#include "web/html/present_facts.h"
#include "web/http/respond.h"

#define PAGE_FINDINGS 50

const struct input report_page_inputs[] = {{"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000},
                                           INPUTS_END};

/* What of the sheet one page shows, with all its pictures. */
struct part {
	const struct report_sheet *sheet;
	const struct effectivity *statement; /* NULL: it does not compile */
	size_t from, to;                     /* findings, counted from the newest */
	struct finding_row *rows;            /* these, with names as they are now and all facts */
	const struct picture_row *pictures;
	size_t n_pictures;
};

/* ---- addresses ---- */

static json_t *part_link(const char *number)
{
	struct text url = TEXT_EMPTY;

	text_add(&url, "/part?number=");
	http_escape(&url, number);
	return json_pack("{s:s, s:o}", "number", number, "url", json_take_text(&url));
}

static json_t *parts_view(const struct text_list *parts)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < parts->count; i++)
		list = present_append(list, part_link(parts->at[i]));
	return list;
}

static json_t *step_view(const struct report_content *content)
{
	struct text url = TEXT_EMPTY;

	if (!content->step[0])
		return json_false();
	text_add(&url, "/step?model=");
	http_escape(&url, content->model);
	text_add(&url, "&code=");
	http_escape(&url, content->step);
	return json_pack("{s:s, s:o}", "code", content->step, "url", json_take_text(&url));
}

/* ---- what it adds up to ---- */

/* Is there a draft to be made of it? */
static bool may_draw_up(const struct context *c, const struct report *report)
{
	return context_may(c, ROLE_STEWARD) && !report->removed_at && !report->merged_into.v &&
	       !report->notice.v;
}

/* False where the statement does not compile. */
static enum status kits_left(struct context *c, const struct part *part, json_t **out)
{
	const struct report_sheet *sheet = part->sheet;
	struct work work = context_work(c);
	const struct kit_id *possible = NULL;
	struct whom_like kits = {0, 0};
	size_t count = 0;
	enum status status = ST_OK;

	if (part->statement)
		status = whom_possible(&work, part->statement, &possible, &count);
	if (status != ST_OK)
		return status;
	kits = whom_like(possible, count, sheet->looked, sheet->n_looked);
	*out = part->statement
	               ? json_pack("{s:I, s:I, s:b, s:b}", "left", (json_int_t)kits.not_looked,
	                           "all", (json_int_t)kits.like, "one", kits.like == 1, "one_left",
	                           kits.not_looked == 1)
	               : json_false();
	return *out ? ST_OK : ST_NOMEM;
}

/* ---- findings ---- */

/* Adds {"parts": ...} of markdown.h. */
static enum status add_words(json_t *view, const char *text)
{
	json_t *words = NULL;
	enum status status = markdown_view(text, &words);

	if (status == ST_OK && json_object_update(view, words) != 0)
		status = ST_NOMEM;
	json_decref(words);
	return status;
}

static json_t *remark_url(const struct context *c, const struct report *report,
                          const struct finding_row *row)
{
	if (!row->remark[0] || !c->member ||
	    (c->member->id.v != row->author.v && !context_may(c, ROLE_STEWARD)))
		return json_false();
	return json_sprintf("/reports/%lld/findings/%lld/remove", (long long)report->id.v,
	                    (long long)row->id.v);
}

static json_t *finding_head(const struct context *c, const struct report_sheet *sheet,
                            const struct effectivity *statement, const struct finding_row *row,
                            bool counts)
{
	const struct facts *facts = row->facts;
	bool elsewhere = row->report.v != sheet->report.id.v;

	return json_pack("{s:I, s:s, s:s, s:b, s:s, s:o, s:o, s:o, s:o, s:o}", "id",
	                 (json_int_t)row->id.v, "answer", finding_answer_words(row->answer), "css",
	                 row->answer == ANSWER_FOUND ? "found" : "", "counts", counts, "who",
	                 name_chosen(c, row->author, row->author_name, row->credit), "at",
	                 present_time(row->at), "model",
	                 facts ? present_name(&facts->model) : json_false(), "facts",
	                 c->member ? report_facts_short(&sheet->report, statement, facts)
	                           : json_false(),
	                 "elsewhere",
	                 elsewhere ? json_pack("{s:I, s:o}", "id", (json_int_t)row->report.v, "url",
	                                       report_url(row->report, ""))
	                           : json_false(),
	                 "remove_url", remark_url(c, &sheet->report, row));
}

static enum status read_pictures(struct context *c, struct part *part)
{
	size_t count = part->to - part->from + 1;
	struct picture_of *of = ARENA_ARRAY(c->arena, struct picture_of, count);

	if (!of)
		return ST_NOMEM;
	of[0].report = part->sheet->report.id;
	for (size_t i = 0; i + 1 < count; i++)
		of[i + 1].finding = part->rows[i].id;
	return picture_list(c->store, c->arena, of, count, &part->pictures, &part->n_pictures);
}

static enum status finding_view(const struct context *c, const struct part *part, size_t i,
                                json_t **out)
{
	const struct finding_row *row = &part->rows[i];
	size_t place = part->sheet->n_rows - 1 - part->from - i;
	struct picture_of of = {.finding = row->id};
	json_t *view =
	        finding_head(c, part->sheet, part->statement, row, part->sheet->counts[place]);
	enum status status;

	view = present_set(view, "pictures",
	                   picture_view(c, part->pictures, part->n_pictures, &of, row->author));
	status = view ? add_words(view, row->remark) : ST_NOMEM;
	if (status == ST_OK)
		*out = view;
	else
		json_decref(view);
	return status;
}

/* Newest first. */
static enum status answers_given(const struct context *c, const struct part *part, json_t **out)
{
	json_t *list = json_array();
	enum status status = list ? ST_OK : ST_NOMEM;

	for (size_t i = 0; status == ST_OK && i < part->to - part->from; i++) {
		json_t *view = NULL;

		status = finding_view(c, part, i, &view);
		if (status == ST_OK)
			list = present_append(list, view);
		if (!list)
			status = ST_NOMEM;
	}
	if (status == ST_OK)
		*out = list;
	else
		json_decref(list);
	return status;
}

/* ---- the report itself ---- */

/* The reporter's own finding comes first; its kit as it was is for members. */
static enum status reporter_facts(const struct context *c, const struct report_sheet *sheet,
                                  json_t **out)
{
	struct finding_row row;
	enum status status = ST_OK;
	size_t i = 0;

	while (i < sheet->n_rows && sheet->rows[i].report.v != sheet->report.id.v)
		i++;
	*out = NULL;
	if (c->member && i < sheet->n_rows) {
		row = sheet->rows[i];
		status = report_facts_whole(c->store, c->arena, &row);
		if (status == ST_OK)
			*out = json_pack("{s:o}", "list", present_facts(row.facts));
	} else {
		*out = json_false();
	}
	return status == ST_OK && !*out ? ST_NOMEM : status;
}

static json_t *statement_view(const struct report *report, const struct effectivity *statement)
{
	struct text words = TEXT_EMPTY;

	if (!statement)
		return json_pack("{s:b, s:b, s:s}", "words", 0, "drawing", 0, "text",
		                 report->content.effectivity);
	effectivity_sentence(statement, &words);
	return json_pack("{s:o, s:o, s:s}", "words", json_take_text(&words), "drawing",
	                 drawing_view(statement, NULL), "text", report->content.effectivity);
}

static json_t *notice_view(const struct report *report)
{
	if (!report->notice.v)
		return json_false();
	return json_pack("{s:s, s:b, s:o}", "number", report->notice_number, "stands",
	                 report->notice_stands, "url",
	                 json_sprintf("/notices/%lld", (long long)report->notice.v));
}

static json_t *content_view(const struct context *c, const struct report_sheet *sheet,
                            const struct effectivity *statement)
{
	const struct report *report = &sheet->report;
	const struct report_content *content = &report->content;

	return json_pack("{s:I, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:s, s:o, s:o, s:o}",
	                 "id", (json_int_t)report->id.v, "name", content->title, "model",
	                 content->model, "step", step_view(content), "zone",
	                 present_text(content->zone), "parts", parts_view(&content->parts),
	                 "severity", report_severity(content->severity), "seen",
	                 present_prose(content->seen), "look", present_prose(content->look),
	                 "effectivity", statement_view(report, statement), "reporter",
	                 name_chosen(c, report->author, report->author_name, report->credit),
	                 "made", present_time(report->made_at), "edited",
	                 report->edited_at ? present_time(report->edited_at) : json_false(),
	                 "notice", notice_view(report));
}

/* ---- merged ---- */

/* The title of one that was removed is for stewards, as are its other words. */
static json_t *link_view(const struct context *c, const struct report *report)
{
	bool read = !report->removed_at || context_may(c, ROLE_STEWARD);

	return json_pack("{s:I, s:o, s:o}", "id", (json_int_t)report->id.v, "title",
	                 read ? json_string(report->content.title) : json_false(), "url",
	                 report_url(report->id, ""));
}

static enum status merged_into_view(struct context *c, const struct report *report, json_t **out)
{
	struct report into;
	enum status status;

	*out = NULL;
	if (report->merged_into.v) {
		status = report_read(c->store, c->arena, report->merged_into, &into);
		if (status != ST_OK)
			return status;
		*out = link_view(c, &into);
	} else {
		*out = json_false();
	}
	return *out ? ST_OK : ST_NOMEM;
}

static enum status merged_view(struct context *c, const struct report *report, json_t **out)
{
	const struct report *merged = NULL;
	size_t count = 0;
	json_t *list;
	enum status status = report_merged(c->store, c->arena, report->id, &merged, &count);

	if (status != ST_OK)
		return status;
	list = json_array();
	for (size_t i = 0; list && i < count; i++)
		list = present_append(list, link_view(c, &merged[i]));
	*out = list;
	return list ? ST_OK : ST_NOMEM;
}

/* ---- what the caller may do ---- */

static json_t *when(bool holds, struct report_id id, const char *page)
{
	return holds ? report_url(id, page) : json_false();
}

static json_t *acts_view(const struct context *c, const struct report *report)
{
	bool stands = report->removed_at == 0;
	bool theirs = stands && report_is_theirs(c, report);
	bool steward = context_may(c, ROLE_STEWARD);
	bool alone = steward && stands && !report->merged_into.v;
	bool own = c->member && c->member->id.v == report->author.v;

	return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "edit_url",
	                 when(theirs, report->id, "/edit"), "remove_url",
	                 when(theirs, report->id, "/remove"), "put_back_url",
	                 when(steward && !stands, report->id, "/put-back"), "merge_url",
	                 when(alone, report->id, "/merge"), "part_url",
	                 when(steward && report->merged_into.v, report->id, "/part"), "link_url",
	                 when(alone, report->id, "/link"), "advisory_url",
	                 when(may_draw_up(c, report), report->id, "/advisory"), "call_url",
	                 when(c->member && stands && !steward && !own, report->id, "/call"),
	                 "log_url", when(c->member, report->id, "/log"));
}

/* ---- the page ---- */

/* Members are told who removed it and why; its words are for stewards. */
static enum status respond_removed(struct context *c, const struct report *report)
{
	return report_respond(
	        c, "reports_removed.html",
	        arena_printf(c->arena, "Field report %lld", (long long)report->id.v),
	        json_pack("{s:I, s:o, s:s, s:o}", "id", (json_int_t)report->id.v, "removed",
	                  present_time(report->removed_at), "by",
	                  name_of_member(c, report->removed_by), "reason",
	                  c->member ? present_text(report->remove_reason) : json_false()));
}

struct page_parts {
	json_t *facts, *findings, *answers, *into, *merged, *left;
};

static void drop_parts(struct page_parts *parts)
{
	json_decref(parts->facts);
	json_decref(parts->findings);
	json_decref(parts->answers);
	json_decref(parts->into);
	json_decref(parts->merged);
	json_decref(parts->left);
}

static enum status read_page_parts(struct context *c, struct part *part, struct page_parts *out)
{
	const struct report_sheet *sheet = part->sheet;
	const struct report *report = &sheet->report;
	enum status status =
	        report_rows_now(c->store, c->arena, sheet, part->from, part->to, &part->rows);

	for (size_t i = 0; status == ST_OK && i < part->to - part->from; i++)
		status = report_facts_whole(c->store, c->arena, &part->rows[i]);
	if (status == ST_OK)
		status = reporter_facts(c, sheet, &out->facts);
	if (status == ST_OK)
		status = read_pictures(c, part);
	if (status == ST_OK)
		status = answers_given(c, part, &out->findings);
	if (status == ST_OK)
		status = answers_view(c, sheet, part->statement, &out->answers);
	if (status == ST_OK)
		status = merged_into_view(c, report, &out->into);
	if (status == ST_OK)
		status = merged_view(c, report, &out->merged);
	if (status == ST_OK)
		status = kits_left(c, part, &out->left);
	return status;
}

static json_t *page_view(struct context *c, const struct part *part, struct page page,
                         const struct page_parts *parts)
{
	const struct report_sheet *sheet = part->sheet;
	const struct report *report = &sheet->report;
	struct picture_of of = {.report = report->id};
	json_t *view = content_view(c, sheet, part->statement);

	view = present_set(view, "pictures",
	                   picture_view(c, part->pictures, part->n_pictures, &of, report->author));
	view = present_set(view, "has_parts", json_boolean(report->content.parts.count > 0));
	view = present_set(view, "facts", json_incref(parts->facts));
	view = present_set(view, "state", report_state(sheet->state));
	view = present_set(view, "tally", report_tally_words(&sheet->tally));
	view = present_set(view, "sums",
	                   findings_view(&sheet->tally, sheet->has_split ? &sheet->split : NULL,
	                                 sheet->report.notice_stands));
	view = present_set(view, "split_shown", json_boolean(c->member != NULL));
	view = present_set(view, "draft_url",
	                   may_draw_up(c, report) ? report_url(report->id, "/advisory?hint=yes")
	                                          : json_false());
	view = present_set(view, "acts", acts_view(c, report));
	view = present_set(view, "counted",
	                   json_boolean(!report->removed_at && !report->merged_into.v));
	view = present_set(view, "removed", json_boolean(report->removed_at != 0));
	view = present_set(view, "remove_reason", present_text(report->remove_reason));
	view = present_set(view, "pager",
	                   sheet->n_rows > PAGE_FINDINGS
	                           ? present_pager(c->request->path, &c->request->query, &page,
	                                           (int64_t)sheet->n_rows)
	                           : json_false());
	view = present_set(view, "findings", json_incref(parts->findings));
	view = present_set(view, "answers", json_incref(parts->answers));
	view = present_set(view, "into", json_incref(parts->into));
	view = present_set(view, "merged",
	                   json_array_size(parts->merged)
	                           ? json_pack("{s:O}", "reports", parts->merged)
	                           : json_false());
	return present_set(view, "left", json_incref(parts->left));
}

static struct part part_of(const struct context *c, const struct report_sheet *sheet,
                           struct page page)
{
	size_t n = sheet->n_rows, from = (size_t)page.offset, left;

	from = from < n ? from : n;
	left = n - from;
	return (struct part){.sheet = sheet,
	                     .statement = report_statement(c->arena, &sheet->report),
	                     .from = from,
	                     .to = from + (left < PAGE_FINDINGS ? left : PAGE_FINDINGS)};
}

static enum status show_report(struct context *c, const struct report_sheet *sheet, void *context)
{
	const struct page *page = context;
	const struct report *report = &sheet->report;
	struct part part = part_of(c, sheet, *page);
	struct page_parts parts = {NULL};
	json_t *view = NULL;
	enum status status;

	if (report->removed_at && !context_may(c, ROLE_STEWARD))
		return respond_removed(c, report);
	status = read_page_parts(c, &part, &parts);
	if (status == ST_OK)
		view = page_view(c, &part, *page, &parts);
	drop_parts(&parts);
	if (status != ST_OK)
		return status;
	return report_respond(c, "report.html",
	                      arena_printf(c->arena, "Field report %lld: %s",
	                                   (long long)report->id.v, report->content.title),
	                      view);
}

enum status page_report(struct context *c)
{
	int64_t number = form_given(c->form, "page") ? form_number(c->form, "page") : 1;
	struct page page = {PAGE_FINDINGS, (number - 1) * PAGE_FINDINGS};

	if (!form_ok(c->form))
		return ST_INVALID;
	return report_with_sheet(c, report_captured(c), show_report, &page);
}
