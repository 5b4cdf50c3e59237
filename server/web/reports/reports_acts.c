/* reports_acts.c - what is done to a report after it was made: removed and put
 * back, merged and parted, linked to a notice; a steward called; the log.
 *
 * Whoever may not act is told so by the store (ST_DENIED).
 */
#include "web/reports/reports.h"

#include <string.h>

#include "base/text.h"
#include "store/calls.h"
#include "web/board/board_parts.h"
#include "web/reports/reports_parts.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define REASON_LONGEST 2000 /* characters */
#define MERGE_SHOWN 20

const struct input report_remove_inputs[] = {
        {"reason", "Reason", INPUT_TEXT, .required = true, .longest = REASON_LONGEST}, INPUTS_END};

const struct input report_merge_query[] = {
        {"q", "Words, part number, or number of a report", INPUT_LINE, .longest = 200},
        {"into", "Report", INPUT_ID},
        INPUTS_END};

const struct input report_merge_inputs[] = {{"into", "Report", INPUT_ID, .required = true},
                                            INPUTS_END};

const struct input report_link_inputs[] = {{"number", "Number of the notice", INPUT_NAME},
                                           INPUTS_END};

const struct input report_call_inputs[] = {
        {"reason", "Why", INPUT_TEXT, .required = true, .longest = REASON_LONGEST}, INPUTS_END};

/* ---- in common ---- */

static json_t *head_view(const struct report *report)
{
	return json_pack("{s:I, s:s, s:o}", "id", (json_int_t)report->id.v, "title",
	                 report->content.title, "url", report_url(report->id, ""));
}

/* The page of an act, with the form as it was sent, or blank. */
static enum status show_act(struct context *c, const struct report *report, const char *template,
                            const char *words, const struct input *inputs, json_t *more)
{
	json_t *view =
	        json_pack("{s:o, s:o}", "report", head_view(report), "form", board_form(c, inputs));

	view = present_set(view, "more", more ? more : json_false());
	return report_respond(
	        c, template,
	        arena_printf(c->arena, "%s field report %lld", words, (long long)report->id.v),
	        view);
}

static enum status read_report(struct context *c, struct report *out)
{
	return report_read(c->store, c->arena, report_captured(c), out);
}

/* Pages that only their author and stewards may act on. */
static enum status read_theirs(struct context *c, struct report *out)
{
	enum status status = read_report(c, out);

	if (status == ST_OK && !report_is_theirs(c, out))
		return ST_DENIED;
	return status;
}

static enum status back(struct context *c, enum status status, const char *said)
{
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/reports/%lld?said=%s", (long long)report_captured(c).v, said);
}

/* ---- removed, put back ---- */

enum status page_report_remove(struct context *c)
{
	struct report report;
	enum status status = read_theirs(c, &report);

	if (status == ST_OK && report.removed_at)
		status = ST_MISSING;
	if (status != ST_OK)
		return status;
	return show_act(c, &report, "reports_remove.html", "Remove", report_remove_inputs, NULL);
}

enum status act_report_remove(struct context *c)
{
	if (!form_ok(c->form))
		return page_report_remove(c);
	return back(c,
	            report_remove(c->store, report_captured(c), c->member->id,
	                          form_text(c->form, "reason"), c->now),
	            "report-removed");
}

enum status act_report_put_back(struct context *c)
{
	return back(c, report_put_back(c->store, report_captured(c), c->member->id, c->now),
	            "report-put-back");
}

/* ---- merged, parted ---- */

/* A number that is typed is the report of that number. */
static int64_t typed_id(const char *words)
{
	int64_t id = 0;

	for (; *words; words++) {
		if (*words < '0' || *words > '9' || id > 999999999999)
			return 0;
		id = id * 10 + (*words - '0');
	}
	return id;
}

static json_t *candidate(const struct report *from, struct report_id id, const char *title,
                         const char *model)
{
	return json_pack("{s:I, s:s, s:s, s:o}", "id", (json_int_t)id.v, "title", title, "model",
	                 model, "url",
	                 json_sprintf("/reports/%lld/merge?into=%lld", (long long)from->id.v,
	                              (long long)id.v));
}

static enum status find_candidates(struct context *c, const struct report *from, json_t **out)
{
	struct report_query query = report_query_all;
	const struct report_row *rows = NULL;
	size_t count = 0;
	int64_t total = 0;
	json_t *list;
	enum status status;

	query.words = form_text(c->form, "q");
	query.page = (struct page){MERGE_SHOWN, 0};
	status = report_search(c->store, c->arena, &query, &rows, &count, &total);
	if (status != ST_OK)
		return status;
	list = json_array();
	for (size_t i = 0; list && i < count; i++)
		if (rows[i].report.id.v != from->id.v)
			list = present_append(list, candidate(from, rows[i].report.id,
			                                      rows[i].report.content.title,
			                                      rows[i].report.content.model));
	*out = list;
	return list ? ST_OK : ST_NOMEM;
}

static enum status show_search(struct context *c, const struct report *report)
{
	json_t *list = NULL;
	bool asked = form_given(c->form, "q");
	enum status status = asked ? find_candidates(c, report, &list) : ST_OK;

	if (status != ST_OK)
		return status;
	return show_act(c, report, "reports_merge.html", "Merge", report_merge_query,
	                json_pack("{s:o, s:b, s:b}", "rows", list ? list : json_array(), "asked",
	                          asked, "into", 0));
}

/* What will happen, in words, before it does. */
static enum status show_confirm(struct context *c, const struct report_sheet *into, void *context)
{
	const struct report *report = context, *other = &into->report;

	if (other->removed_at || other->merged_into.v || other->id.v == report->id.v)
		return ST_MISSING;
	return show_act(
	        c, report, "reports_merge.html", "Merge", report_merge_query,
	        json_pack("{s:o, s:b, s:o}", "rows", json_array(), "asked", 0, "into",
	                  json_pack("{s:o, s:o, s:b}", "report", head_view(other), "tally",
	                            report_tally_words(&into->tally), "same_model",
	                            strcasecmp(other->content.model, report->content.model) == 0)));
}

static enum status confirm_merge(struct context *c, struct report *report, int64_t into)
{
	enum status status = report_with_sheet(c, (struct report_id){into}, show_confirm, report);

	if (status != ST_MISSING)
		return status;
	form_fail(c->form, "", "There is no other report %lld that stands by itself.",
	          (long long)into);
	return show_search(c, report);
}

enum status page_report_merge(struct context *c)
{
	struct report report;
	int64_t into = form_number(c->form, "into");
	enum status status = read_report(c, &report);

	if (status == ST_OK && (report.removed_at || report.merged_into.v))
		status = ST_MISSING;
	if (status != ST_OK)
		return status;
	if (!into)
		into = typed_id(form_text(c->form, "q"));
	return into ? confirm_merge(c, &report, into) : show_search(c, &report);
}

enum status act_report_merge(struct context *c)
{
	struct report_id into = {form_number(c->form, "into")};

	if (!form_ok(c->form))
		return ST_INVALID;
	return back(c, report_merge(c->store, report_captured(c), into, c->member->id, c->now),
	            "report-merged");
}

enum status act_report_part(struct context *c)
{
	return back(c, report_part(c->store, report_captured(c), c->member->id, c->now),
	            "report-parted");
}

/* ---- linked ---- */

enum status page_report_link(struct context *c)
{
	struct report report;
	enum status status = read_report(c, &report);
	json_t *linked;

	if (status == ST_OK && (report.removed_at || report.merged_into.v))
		status = ST_MISSING;
	if (status != ST_OK)
		return status;
	linked = json_pack("{s:o}", "linked", present_text(report.notice_number));
	return show_act(c, &report, "reports_link.html", "Link", report_link_inputs, linked);
}

/* No number takes the link away. */
enum status act_report_link(struct context *c)
{
	struct notice_id notice = {0};
	enum status status = ST_OK;

	if (form_ok(c->form) && form_given(c->form, "number"))
		status = notice_find(c->store, form_name(c->form, "number").text, &notice);
	if (status == ST_MISSING) {
		form_fail(c->form, "number", "is no notice of this chapter");
		status = ST_OK;
	}
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return page_report_link(c);
	return back(c, report_link(c->store, report_captured(c), notice, c->member->id, c->now),
	            notice.v ? "report-linked" : "report-unlinked");
}

/* ---- a steward called ---- */

enum status page_report_call(struct context *c)
{
	struct report report;
	enum status status = read_report(c, &report);

	if (status == ST_OK && report.removed_at)
		status = ST_MISSING;
	if (status != ST_OK)
		return status;
	return show_act(c, &report, "reports_call.html", "Call a steward to", report_call_inputs,
	                NULL);
}

/* The same call once only, as long as it waits. */
enum status act_report_call(struct context *c)
{
	struct call_to to = {.report = report_captured(c)};
	struct call_id id;
	enum status status;

	if (!form_ok(c->form))
		return page_report_call(c);
	status = call_add(c->store, &to, c->member->id, form_text(c->form, "reason"), c->now, &id);
	if (status == ST_CONFLICT) {
		form_fail(c->form, "", "You have called already; a steward will come.");
		return page_report_call(c);
	}
	status = form_bound(c->form, c->store, status);
	if (!form_ok(c->form))
		return page_report_call(c);
	return back(c, status, "steward-called");
}

/* ---- the log ---- */

/* Earlier words were changed for a reason: their author and stewards read them. */
static json_t *log_row(const struct report_log_entry *entry, bool words)
{
	return json_pack("{s:o, s:s, s:s, s:o}", "at", board_time(entry->at), "act",
	                 report_act_words(entry->act), "by", entry->by, "remark",
	                 present_text(entry->act == REPORT_EDITED && !words ? "" : entry->remark));
}

enum status page_report_log(struct context *c)
{
	const struct report_log_entry *entries = NULL;
	struct report report;
	size_t count = 0;
	bool words;
	json_t *list;
	enum status status = read_report(c, &report);

	if (status == ST_OK && report.removed_at && !context_may(c, ROLE_STEWARD))
		status = ST_MISSING;
	if (status == ST_OK)
		status = report_log(c->store, c->arena, report.id, &entries, &count);
	if (status != ST_OK)
		return status;
	words = context_may(c, ROLE_STEWARD) || report.author.v == c->member->id.v;
	list = json_array();
	for (size_t i = 0; list && i < count; i++)
		list = present_append(list, log_row(&entries[i], words));
	return report_respond(c, "reports_log.html",
	                      arena_printf(c->arena, "What was done to field report %lld",
	                                   (long long)report.id.v),
	                      json_pack("{s:o, s:o, s:b}", "report", head_view(&report), "log",
	                                list, "any", count > 0));
}
