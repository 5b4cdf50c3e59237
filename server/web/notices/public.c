/* public.c - the start, the list of notices, and how to read them. */
#include "web/notices/public.h"

#include <string.h>

#include "base/text.h"
#include "store/kits.h"
#include "store/notices.h"
#include "web/http/context.h"
#include "web/notices/notice_search.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define NEWEST 8
#define PAGE_ROWS 30

static const char *const orders[] = {"newest first", "by number", "mandatory first", NULL};

const struct input notices_inputs[] = {
        {"q", "Words or number", INPUT_LINE, .longest = 200},
        {"part", "Part number, or a piece of one", INPUT_LINE, .longest = 80},
        {"kind", "Kind", INPUT_CHOICE, .choices = notice_kinds},
        {"force", "Force", INPUT_CHOICE, .choices = notice_forces},
        {"issuer", "Issuer", INPUT_LINE, .longest = 120},
        {"model", "Model", INPUT_LINE, .longest = 80},
        {"year", "Year of issue", INPUT_NUMBER, .min = 1900, .max = 2199},
        {"order", "Order", INPUT_CHOICE, .choices = orders},
        {"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000},
        INPUTS_END};

static json_t *rows_view(const struct notice_row *rows, size_t count)
{
	json_t *view = json_array();

	for (size_t i = 0; view && i < count; i++)
		view = present_append(view, present_row(&rows[i]));
	return view;
}

/* ---- start ---- */

struct counts {
	int notices, mandatory, cancelled;
	int64_t kits;
};

static enum status count_all(const struct context *c, struct counts *out)
{
	*out = (struct counts){0};
	for (size_t i = 0; i < c->catalogue->count; i++) {
		const struct notice *notice = &c->catalogue->entries[i].notice;

		out->notices++;
		out->cancelled += notice->cancelled;
		out->mandatory += !notice->cancelled && notice->force == FORCE_MANDATORY;
	}
	return kit_count(c->store, &out->kits);
}

enum status page_start(struct context *c)
{
	struct notice_query query = notice_query_all;
	const struct notice_row *rows = NULL;
	size_t count = 0;
	int64_t total = 0;
	struct counts counts;
	enum status status = count_all(c, &counts);

	query.page = (struct page){NEWEST, 0};
	if (status == ST_OK)
		status = notice_search(c->store, c->arena, &query, &rows, &count, &total);
	if (status != ST_OK)
		return status;
	return respond_page(c, "start.html", "Change notices for kit aircraft",
	                    json_pack("{s:o, s:b, s:b, s:i, s:i, s:i, s:I}", "rows",
	                              rows_view(rows, count), "any", count > 0, "set_up",
	                              count == 0 && context_may(c, ROLE_ADMIN), "notices",
	                              counts.notices, "mandatory", counts.mandatory, "cancelled",
	                              counts.cancelled, "kits", (json_int_t)counts.kits));
}

enum status page_about(struct context *c)
{
	return respond_page(c, "about.html", "How to read a notice", json_object());
}

/* ---- the list ---- */

static struct page page_of(const struct form *form)
{
	int64_t page = form_number(form, "page");

	return (struct page){PAGE_ROWS, page > 0 ? (page - 1) * PAGE_ROWS : 0};
}

static json_t *issuers_view(const struct text_list *issuers, const char *chosen)
{
	json_t *view = json_array();

	for (size_t i = 0; view && i < issuers->count; i++)
		view = present_append(view,
		                      json_pack("{s:s, s:b}", "value", issuers->at[i], "selected",
		                                strcmp(issuers->at[i], chosen) == 0));
	return view;
}

/* Is the list narrowed by more than the search box? Then the filters stand open. */
static bool is_filtered(const struct form *form)
{
	static const char *const names[] = {"part",  "kind", "force", "issuer",
	                                    "model", "year", "order"};

	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
		if (form_value(form, names[i], 0)->typed[0])
			return true;
	return false;
}

static json_t *filters_view(const struct form *form, const struct text_list *issuers)
{
	json_t *view = form_view(form);

	view = present_hint(view, "model", "Notices whose effectivity names it");
	view = present_hint(view, "year", "Such as 2018");
	return json_pack("{s:o, s:o, s:b}", "form", view, "issuers",
	                 issuers_view(issuers, form_value(form, "issuer", 0)->typed), "filtered",
	                 is_filtered(form));
}

static enum status find_rows(struct context *c, const struct notice_query *query,
                             const struct notice_row **rows, size_t *count, int64_t *total)
{
	if (!form_ok(c->form))
		return ST_OK;
	return notice_search(c->store, c->arena, query, rows, count, total);
}

enum status page_notices(struct context *c)
{
	struct notice_query query = notice_search_of(c->form, page_of(c->form));
	const struct notice_row *rows = NULL;
	struct text_list issuers = {NULL, 0};
	size_t count = 0;
	int64_t total = 0;
	enum status status = find_rows(c, &query, &rows, &count, &total);

	if (status == ST_OK)
		status = issuer_list(c->store, c->arena, &issuers);
	if (status != ST_OK)
		return status;
	return respond_page(
	        c, "notices.html", "Notices",
	        json_pack("{s:b, s:o, s:b, s:b, s:b, s:I, s:o, s:o}", "in_notices", 1, "rows",
	                  rows_view(rows, count), "any", total > 0, "none_yet",
	                  c->catalogue->count == 0, "faulty", !form_ok(c->form), "found",
	                  (json_int_t)total, "pager",
	                  present_pager("/notices", &c->request->query, &query.page, total),
	                  "filters", filters_view(c->form, &issuers)));
}
