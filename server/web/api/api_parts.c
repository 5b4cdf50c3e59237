/* api_parts.c - what the open notices of a kit take, and what of it is held. */
#include "base/text.h"
#include "formats/json_text.h"
#include "web/kits/kit_page.h"
#include "web/api/api.h"
#include "web/api/api_view.h"
#include "web/html/present.h"
#include "web/html/present_parts.h"
#include "web/http/respond.h"

static const char *const states[] = {
        [SUPPLY_HAVE] = "have", [SUPPLY_MAY_HAVE] = "may have", [SUPPLY_SHORT] = "short"};

static json_t *quantity(int64_t thousandths)
{
	return thousandths % AMOUNT_ONE ? json_real((double)thousandths / AMOUNT_ONE)
	                                : json_integer(thousandths / AMOUNT_ONE);
}

static json_t *places(const struct kit_view *view, const struct wanted *w)
{
	json_t *list = json_array();
	const struct packed_place *place;
	size_t count = 0;

	if (name_is_empty(&w->supply.from))
		return list;
	place = parts_book_places(view->parts, &w->supply.from, &w->need.amount.unit, &count);
	for (size_t i = 0; list && i < count; i++) {
		struct fact settles;
		enum truth applies = packing_list_applies(place[i].list, &view->facts, &settles);

		if (applies != TRUTH_FALSE)
			list = present_append(list, json_pack("{s:s, s:s, s:s, s:o, s:b}", "subkit",
			                                      place[i].list->subkit.text, "list",
			                                      place[i].list->name.text, "bag",
			                                      place[i].part->bag, "quantity",
			                                      quantity(place[i].part->quantity),
			                                      "sure", applies == TRUTH_TRUE));
	}
	return list;
}

static json_t *settles(const struct supply *supply)
{
	struct text out = TEXT_EMPTY;

	if (!supply->settles_known)
		return json_null();
	fact_print(&supply->settles, &out);
	return json_take_text(&out);
}

static json_t *cuts(const struct wanted *w)
{
	struct text out = TEXT_EMPTY;

	if (!w->material || w->material->n_cuts == 0)
		return json_null();
	present_cuts(w->material->cuts, w->material->n_cuts, &out);
	return json_take_text(&out);
}

static json_t *wanted_json(const struct kit_view *view, const struct wanted *w)
{
	bool cut = w->material && w->material->n_cuts > 0;
	const char *unit = name_is_empty(&w->need.amount.unit) ? "" : w->need.amount.unit.text;

	return json_pack(
	        "{s:s, s:s, s:s, s:o, s:s, s:o, s:s, s:o, s:o, s:o, s:s, s:b, s:o, s:o}", "notice",
	        w->entry->notice.number.text, "item", w->item, "part", w->need.number.text,
	        "quantity",
	        w->need.amount.thousandths ? quantity(w->need.amount.thousandths) : json_null(),
	        "unit", unit, "cut", cuts(w), "state", cut ? "to be cut" : states[w->supply.state],
	        "have", quantity(w->supply.sure), "may_have",
	        quantity(w->supply.most - w->supply.sure), "lacking", quantity(w->supply.lacking),
	        "order", cut ? w->need.number.text : w->supply.order->text, "counted",
	        w->supply.counted, "places", places(view, w), "settles", settles(&w->supply));
}

static enum status show(struct context *c, const struct kit_view *view, void *context)
{
	json_t *list = json_array();

	(void)context;
	for (size_t i = 0; list && i < view->n_wanted; i++)
		list = present_append(list, wanted_json(view, &view->wanted[i]));
	return respond_json(c,
	                    json_pack("{s:I, s:o, s:s}", "total", (json_int_t)view->n_wanted,
	                              "wanted", list, "caution", api_caution),
	                    CACHE_PRIVATE);
}

enum status api_kit_parts(struct context *c)
{
	return kit_with_view(c, (struct kit_id){context_id(c, "kit")}, show, NULL);
}
