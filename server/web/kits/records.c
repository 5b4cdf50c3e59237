/* records.c - all records of a kit, newest first, and whether their chain of
 * hashes still holds.
 */
#include "web/kits/kit_page.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/kits/record_view.h"
#include "web/http/respond.h"

static json_t *chain_words(const struct chain_fault *fault, enum status status)
{
	if (status == ST_OK)
		return json_false();
	if (fault->kind == CHAIN_CHANGED)
		return json_sprintf(
		        "Record %lld is not what was entered. Nothing in Fairlead changes "
		        "a record: the database was written by other means.",
		        (long long)fault->place);
	if (fault->kind == CHAIN_MISSING)
		return json_sprintf(
		        "A record is missing at place %lld. Nothing in Fairlead removes "
		        "one: the database was written by other means.",
		        (long long)fault->place);
	return json_sprintf("After record %lld the count of records does not fit. The database was "
	                    "written by other means.",
	                    (long long)fault->place - 1);
}

static json_t *newest_first(const struct kit_view *view)
{
	json_t *list = json_array();

	for (size_t i = view->n_records; list && i > 0; i--)
		list = present_append(list, record_present(view, i - 1));
	return list;
}

static enum status show_records(struct context *c, const struct kit_view *view)
{
	struct chain_fault fault = {.place = 0};
	int64_t checked = 0;
	enum status status = record_verify(c->store, view->kit.id, &checked, &fault);

	if (status != ST_OK && status != ST_INVALID)
		return status;
	return kit_respond(c, &view->kit, "kit_records.html", "Records of work",
	                   json_pack("{s:o, s:i, s:o, s:b}", "records", newest_first(view), "count",
	                             (int)view->n_records, "broken", chain_words(&fault, status),
	                             "in_records", 1));
}

enum status page_records(struct context *c)
{
	return kit_page(c, show_records);
}
