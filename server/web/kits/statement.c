/* statement.c - a kit's statement of every notice, for the logbook.
 *
 * For each notice: standing, reason, revision, method, date and hours of
 * completion, when it is due again, who did it (14 CFR 43.9 and
 * 91.417(a)(2)(v)); a notice that is not effective is listed with the reason
 * why not (EASA AMC1 ML.A.305(c)). The kit's facts stand at the head, the
 * cautions and the line for a signature at the end.
 */
#include "base/text.h"
#include "web/kits/kit_page.h"
#include "web/html/due_view.h"
#include "formats/json_text.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/kits/record_view.h"
#include "web/html/present_facts.h"
#include "web/http/respond.h"

/* ---- one notice ---- */

static json_t *records_view(const struct kit_view *view, const struct notice *notice)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < view->n_records; i++)
		if (name_equal(&view->records[i].notice, &notice->number) &&
		    record_counts(view->records, view->n_records, i))
			list = present_append(list, record_present(view, i));
	return list;
}

static json_t *notice_view(const struct kit_view *view, const struct catalogue_entry *entry)
{
	struct standing standing = kit_view_standing(view, entry);
	json_t *row = present_entry(entry);

	row = present_set(row, "standing", present_standing(standing.kind));
	row = present_set(row, "why", kit_reason(view, entry, &standing));
	row = present_set(row, "due", due_time_view(&standing.due));
	row = present_set(row, "overdue", json_boolean(standing.overdue));
	row = present_set(row, "records", records_view(view, &entry->notice));
	return present_set(row, "has_records",
	                   json_boolean(json_array_size(json_object_get(row, "records")) > 0));
}

/* In order of number; those that concern the kit, or may, apart from the others. */
static json_t *notices_view(const struct kit_view *view, bool effective)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < view->catalogue->count; i++) {
		const struct catalogue_entry *entry = &view->catalogue->entries[i];
		struct standing standing = kit_view_standing(view, entry);

		if ((standing.kind != STANDING_NOT_EFFECTIVE) == effective)
			list = present_append(list, notice_view(view, entry));
	}
	return list;
}

/* ---- the page ---- */

static enum status show_statement(struct context *c, const struct kit_view *view)
{
	json_t *page =
	        json_pack("{s:o, s:o, s:o, s:o, s:i, s:i, s:i, s:i, s:s, s:b}", "effective",
	                  notices_view(view, true), "not_effective", notices_view(view, false),
	                  "facts", present_facts(&view->facts), "printed", present_day(c->today),
	                  "total", (int)view->catalogue->count, "left", (int)view->piled[PILE_LEFT],
	                  "ask", (int)view->piled[PILE_ASK], "records", (int)view->n_records,
	                  "owner", c->member->name, "in_statement", 1);

	return kit_respond(c, &view->kit, "statement.html",
	                   arena_printf(c->arena, "Statement of notices for %s", view->kit.name),
	                   page);
}

enum status page_statement(struct context *c)
{
	return kit_page(c, show_statement);
}
