#include "web/html/present_parts.h"

#include <string.h>

#include "base/text.h"
#include "web/http/http.h"
#include "formats/json_text.h"
#include "web/html/present.h"

#define PLACES_SHOWN 4
#define SHORT_SHOWN 3

static void add_amount(int64_t thousandths, const struct name *unit, struct text *out)
{
	if (thousandths)
		amount_print(thousandths, unit, out);
	else
		text_add(out, "not stated");
}

json_t *present_amount(int64_t thousandths, const struct name *unit)
{
	struct text out = TEXT_EMPTY;

	add_amount(thousandths, unit, &out);
	return json_take_text(&out);
}

void present_cuts(const struct cut *cuts, size_t count, struct text *out)
{
	for (size_t i = 0; i < count; i++) {
		if (i)
			text_add(out, ", ");
		if (cuts[i].count > 1)
			text_printf(out, "%u x ", cuts[i].count);
		length_print(cuts[i].length, out);
	}
}

json_t *present_look_url(const struct kit *kit, const char *page, const char *field,
                         const struct name *name)
{
	struct text out = TEXT_EMPTY;

	text_printf(&out, "/kits/%lld/%s?%s=", (long long)kit->id.v, page, field);
	http_escape(&out, name->text);
	return json_take_text(&out);
}

/* ---- where it lies ---- */

static void add_place(const struct packed_place *place, struct text *out)
{
	if (out->len)
		text_add(out, "; ");
	text_printf(out, "sub-kit %s", place->list->subkit.text);
	if (place->part->bag[0])
		text_printf(out, ", bag %s", place->part->bag);
}

/* Lists that do not apply are left out; the same bag of two lists counts once. */
static void add_places(const struct kit_view *view, const struct name *number,
                       const struct name *unit, struct text *out)
{
	size_t count, shown = 0;
	const struct packed_place *places = parts_book_places(view->parts, number, unit, &count);
	const struct packed_place *last = NULL;

	for (size_t i = 0; i < count && shown < PLACES_SHOWN; i++) {
		struct fact settles;

		if (packing_list_applies(places[i].list, &view->facts, &settles) == TRUTH_FALSE)
			continue;
		if (last && name_equal(&last->list->subkit, &places[i].list->subkit) &&
		    strcmp(last->part->bag, places[i].part->bag) == 0)
			continue;
		add_place(&places[i], out);
		last = &places[i];
		shown++;
	}
}

json_t *present_places(const struct kit_view *view, const struct name *number,
                       const struct name *unit)
{
	struct text out = TEXT_EMPTY;

	add_places(view, number, unit, &out);
	if (text_failed(&out) || out.len)
		return json_take_text(&out);
	return json_false();
}

/* ---- words ---- */

static const char *const state_css[] = {
        [SUPPLY_HAVE] = "done", [SUPPLY_MAY_HAVE] = "ask", [SUPPLY_SHORT] = "open"};
static const char *const state_words[] = {[SUPPLY_HAVE] = "you have it",
                                          [SUPPLY_MAY_HAVE] = "you may have it",
                                          [SUPPLY_SHORT] = "order it"};

static bool is_cut(const struct wanted *wanted)
{
	return wanted->material && wanted->material->n_cuts > 0;
}

/* ": sub-kit 4, bag 1107, as WH-2207-2" */
static void add_source(const struct kit_view *view, const struct wanted *w, struct text *out)
{
	struct text places = TEXT_EMPTY;

	add_places(view, &w->supply.from, &w->need.amount.unit, &places);
	if (text_failed(&places))
		out->failed = true;
	if (places.len)
		text_printf(out, ": %s", text_string(&places));
	text_free(&places);
	if (!name_equal(&w->supply.from, &w->need.number))
		text_printf(out, ", as %s, which took its place", w->supply.from.text);
	if (w->supply.counted)
		text_add(out, ", counted by you");
}

static void add_order(const struct wanted *w, struct text *out)
{
	text_add(out, "order ");
	if (w->supply.lacking) {
		amount_print(w->supply.lacking, &w->need.amount.unit, out);
		text_add(out, " of ");
	}
	text_add(out, w->supply.order->text);
	if (!name_equal(w->supply.order, &w->need.number))
		text_printf(out, ", which took the place of %s", w->need.number.text);
}

static void add_words(const struct kit_view *view, const struct wanted *w, struct text *out)
{
	if (w->supply.state != SUPPLY_SHORT) {
		text_add(out, state_words[w->supply.state]);
		add_source(view, w, out);
		return;
	}
	add_order(w, out);
	if (name_is_empty(&w->supply.from))
		return;
	text_add(out, w->supply.sure == w->supply.most ? "; the rest is there"
	                                               : "; the rest may be there");
	add_source(view, w, out);
}

static json_t *words_view(const struct kit_view *view, const struct wanted *w)
{
	struct text out = TEXT_EMPTY;

	add_words(view, w, &out);
	return json_take_text(&out);
}

static json_t *settles_view(const struct supply *supply)
{
	struct text out = TEXT_EMPTY;

	if (!supply->settles_known)
		return json_false();
	fact_wanted(&supply->settles, &out);
	return json_take_text(&out);
}

static json_t *cuts_view(const struct wanted *w)
{
	struct text out = TEXT_EMPTY;

	if (!is_cut(w))
		return json_false();
	present_cuts(w->material->cuts, w->material->n_cuts, &out);
	return json_take_text(&out);
}

static json_t *number_view(const struct wanted *w)
{
	if (strcmp(w->item, w->need.number.text) == 0)
		return json_false();
	return json_string(w->need.number.text);
}

/* As typed where it was typed; counted where it follows from lines. */
static json_t *asked_view(const struct wanted *w)
{
	if (w->need.amount.thousandths)
		return present_amount(w->need.amount.thousandths, &w->need.amount.unit);
	return w->material && w->material->quantity[0] ? json_string(w->material->quantity)
	                                               : json_string("not stated");
}

json_t *present_wanted(const struct kit_view *view, const struct wanted *w)
{
	enum supply_state state = w->supply.state;

	return json_pack("{s:s, s:o, s:o, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:s, s:o}",
	                 "item", w->item, "number", number_view(w), "amount", asked_view(w),
	                 "state", is_cut(w) ? "to be cut" : state_words[state], "css",
	                 is_cut(w) ? "ask" : state_css[state], "words",
	                 is_cut(w) ? json_false() : words_view(view, w), "settles",
	                 is_cut(w) ? json_false() : settles_view(&w->supply), "cuts", cuts_view(w),
	                 "cutting_url",
	                 present_look_url(&view->kit, "cutting", "stock", &w->need.number),
	                 "look_url", present_look_url(&view->kit, "parts", "part", &w->need.number),
	                 "facts_url", json_sprintf("/kits/%lld/facts", (long long)view->kit.id.v),
	                 "notice", w->entry->notice.number.text, "notice_url",
	                 json_sprintf("/kits/%lld/notices/%lld", (long long)view->kit.id.v,
	                              (long long)w->entry->notice.id.v));
}

json_t *present_wanted_list(const struct kit_view *view, const struct wanted *wanted, size_t count)
{
	json_t *list = json_array();

	if (count == 0) {
		json_decref(list);
		return json_false();
	}
	for (size_t i = 0; list && i < count; i++)
		list = present_append(list, present_wanted(view, &wanted[i]));
	return json_pack("{s:o}", "wanted", list);
}

json_t *present_wanted_short(const struct kit_view *view, const struct wanted *wanted, size_t count)
{
	struct text out = TEXT_EMPTY;

	if (count == 0)
		return json_false();
	for (size_t i = 0; i < count && i < SHORT_SHOWN; i++) {
		text_printf(&out, "%s%s: ", i ? ". " : "", wanted[i].item);
		if (is_cut(&wanted[i])) {
			text_add(&out, "cut ");
			present_cuts(wanted[i].material->cuts, wanted[i].material->n_cuts, &out);
		} else {
			add_words(view, &wanted[i], &out);
		}
	}
	if (count > SHORT_SHOWN)
		text_printf(&out, ". And %zu more", count - SHORT_SHOWN);
	text_add(&out, ".");
	return json_take_text(&out);
}
