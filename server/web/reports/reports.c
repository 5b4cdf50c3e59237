/* reports.c - the list of field reports: searched, narrowed, sorted. */
#include "web/reports/reports.h"

#include "base/text.h"
#include "web/reports/reports_parts.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define PAGE_ROWS 30

/* In the order of the enumerations. */
static const char *const orders[] = {"newest first", "worst first", "most looked at first", NULL};

const struct input reports_inputs[] = {{"q", "Words or part number", INPUT_LINE, .longest = 200},
                                       {"model", "Model", INPUT_LINE, .longest = NAME_LONGEST},
                                       {"part", "Part number", INPUT_LINE, .longest = NAME_LONGEST},
                                       {"step", "Step", INPUT_LINE, .longest = NAME_LONGEST},
                                       {"state", "State", INPUT_CHOICE, .choices = report_states},
                                       {"notice", "Notice", INPUT_ID},
                                       {"mine", "Only what I reported", INPUT_FLAG},
                                       {"order", "Order", INPUT_CHOICE, .choices = orders},
                                       {"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000},
                                       INPUTS_END};

static struct report_query query_of(const struct context *c)
{
	const struct form *form = c->form;
	int64_t page = form_number(form, "page");
	int order = form_choice(form, "order");
	struct report_query query = report_query_all;

	query.words = form_text(form, "q");
	query.model = form_text(form, "model");
	query.part = form_text(form, "part");
	query.step = form_text(form, "step");
	query.state = form_choice(form, "state");
	query.notice = (struct notice_id){form_number(form, "notice")};
	if (c->member && form_flag(form, "mine"))
		query.author = c->member->id;
	query.order = order < 0 ? REPORTS_NEWEST : (enum report_order)order;
	query.page = (struct page){PAGE_ROWS, page > 0 ? (page - 1) * PAGE_ROWS : 0};
	return query;
}

/* Is the list narrowed by more than the search box? Then the filters stand open. */
static bool is_filtered(const struct form *form)
{
	static const char *const names[] = {"model", "part",   "step", "state",
	                                    "order", "notice", "mine"};

	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
		if (form_value(form, names[i], 0)->typed[0])
			return true;
	return false;
}

/* The notice that the list is of, or false. */
static json_t *notice_view(const struct context *c, struct notice_id id)
{
	const struct catalogue_entry *entry = id.v ? catalogue_find_id(c->catalogue, id) : NULL;

	if (!entry)
		return json_false();
	return json_pack("{s:s, s:s, s:o}", "number", entry->notice.number.text, "title",
	                 entry->notice.title, "url",
	                 json_sprintf("/notices/%lld", (long long)id.v));
}

static enum status find_rows(struct context *c, const struct report_query *query,
                             const struct report_row **rows, size_t *count, int64_t *total)
{
	if (!form_ok(c->form))
		return ST_OK;
	return report_search(c->store, c->arena, query, rows, count, total);
}

enum status page_reports(struct context *c)
{
	struct report_query query = query_of(c);
	const struct report_row *rows = NULL;
	size_t count = 0;
	int64_t total = 0;
	bool filtered = is_filtered(c->form);
	bool whole = !filtered && !form_value(c->form, "q", 0)->typed[0];
	enum status status = find_rows(c, &query, &rows, &count, &total);

	if (status != ST_OK)
		return status;
	return report_respond(
	        c, "reports.html", "Field reports",
	        json_pack("{s:o, s:b, s:b, s:b, s:b, s:o, s:I, s:o, s:o}", "rows",
	                  report_rows(rows, count), "any", count > 0, "none_yet", whole, "filtered",
	                  filtered, "faulty", !form_ok(c->form), "form", form_view(c->form),
	                  "found", (json_int_t)total, "of_notice", notice_view(c, query.notice),
	                  "pager",
	                  present_pager("/reports", &c->request->query, &query.page, total)));
}
