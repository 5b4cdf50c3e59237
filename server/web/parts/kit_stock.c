/* kit_stock.c - parts on hand: what the packing lists say that a kit holds, and
 * what its builder counted, got, used or lost.
 *
 * A record that puts in a part does not use it up by itself: the page asks, and
 * the answer is an entry that names the record.
 */
#include <string.h>

#include "base/text.h"
#include "store/parts.h"
#include "formats/json_text.h"
#include "web/kits/kit_page.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/html/present_parts.h"
#include "web/http/respond.h"

static const char *const acts[] = {"counted", "got", "used", "lost", NULL};

const struct input kit_stock_query[] = {{"part", "Part number", INPUT_NAME}, INPUTS_END};

const struct input kit_stock_inputs[] = {
        {"part", "Part number", INPUT_NAME, .required = true},
        {"what", "What happened", INPUT_CHOICE, .required = true, .choices = acts},
        {"quantity", "How many", INPUT_LINE, .required = true, .longest = 40},
        {"remark", "Remark", INPUT_LINE, .longest = PARTS_REMARK_LONGEST},
        INPUTS_END};

static const char *const taken[] = {"yes", "no", NULL};
enum { TAKEN_YES, TAKEN_NO };

const struct input kit_taken_inputs[] = {
        {"record", "Record", INPUT_ID, .required = true},
        {"taken", "Taken from here", INPUT_CHOICE, .required = true, .choices = taken},
        INPUTS_END};

const struct input counted_in_inputs[] = {
        {"counted_in", "Count what this kit lacks in the chapter's shopping list", INPUT_FLAG},
        INPUTS_END};

/* ---- parts of the page ---- */

static json_t *entry_view(const struct kit_view *view, const struct stock_entry *entry)
{
	return json_pack("{s:s, s:s, s:o, s:o, s:o, s:b, s:o}", "number", entry->number.text,
	                 "what", stock_act_words(entry->act), "amount",
	                 entry->quantity ? present_amount(entry->quantity, &entry->unit)
	                                 : json_string("none"),
	                 "remark", present_text(entry->remark), "at",
	                 present_time(entry->entered_at), "answers", entry->record != 0, "back_url",
	                 json_sprintf("/kits/%lld/parts/%lld/take-back", (long long)view->kit.id.v,
	                              (long long)entry->id));
}

/* Newest first. */
static json_t *log_view(const struct kit_view *view)
{
	json_t *list = json_array();

	for (size_t i = view->n_stock; list && i-- > 0;)
		list = present_append(list, entry_view(view, &view->stock[i]));
	return present_some("entries", list);
}

static json_t *ask_view(const struct kit_view *view, const struct taken_ask *ask)
{
	const struct name pieces = {.text = ""};

	return json_pack("{s:s, s:s, s:o, s:o, s:I}", "number", ask->number.text, "notice",
	                 ask->record->notice.text, "done", present_date(&ask->record->done),
	                 "places", present_places(view, &ask->number, &pieces), "record",
	                 (json_int_t)ask->record->id.v);
}

static json_t *asks_view(const struct kit_view *view)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < view->n_asks; i++)
		list = present_append(list, ask_view(view, &view->asks[i]));
	return present_some("asks", list);
}

/* What is held of one number in one unit: "4", "0 to 4". */
static json_t *held_view(const struct kit_view *view, const struct name *number,
                         const struct name *unit)
{
	struct holding holding =
	        holding_of(view->parts, &view->facts, view->stock, view->n_stock, number, unit);
	struct text amount = TEXT_EMPTY, settles = TEXT_EMPTY;

	amount_print(holding.sure, unit, &amount);
	if (holding.most != holding.sure) {
		text_add(&amount, " to ");
		amount_print(holding.most, unit, &amount);
	}
	if (holding.settles_known)
		fact_wanted(&holding.settles, &settles);
	return json_pack("{s:o, s:b, s:o, s:o}", "amount", json_take_text(&amount), "counted",
	                 holding.counted, "places", present_places(view, number, unit), "settles",
	                 holding.settles_known ? json_take_text(&settles) : json_false());
}

/* A row for each unit that the lists or the builder know of that number. */
static json_t *looked_up(const struct context *c, const struct kit_view *view)
{
	struct name number = form_name(c->form, "part"), pieces = {.text = ""};
	json_t *rows = json_array();
	const struct name *last = &pieces;

	if (name_is_empty(&number)) {
		json_decref(rows);
		return json_false();
	}
	rows = present_append(rows, held_view(view, &number, &pieces));
	for (size_t i = 0; rows && i < view->parts->n_places; i++) {
		const struct packed_part *part = view->parts->places[i].part;

		if (!name_equal(&part->number, &number) || name_same(&part->unit, last))
			continue;
		last = &part->unit;
		rows = present_append(rows, held_view(view, &number, last));
	}
	return json_pack("{s:s, s:o, s:o, s:s, s:b}", "number", number.text, "known_url",
	                 present_part_url(number.text), "rows", rows, "latest",
	                 parts_book_latest(view->parts, &number)->text, "replaced",
	                 !name_equal(parts_book_latest(view->parts, &number), &number));
}

/* The form as it was sent, or a blank one for the number that was looked up. */
static struct form *entry_form(const struct context *c)
{
	struct form *form;

	if (c->route->inputs == kit_stock_inputs)
		return c->form;
	form = form_blank(c->arena, kit_stock_inputs);
	if (form && c->route->inputs == kit_stock_query && form_given(c->form, "part"))
		form_set(form, "part", form_text(c->form, "part"));
	return form;
}

static json_t *form_part(const struct context *c)
{
	struct form *form = entry_form(c);

	return present_hint(form ? form_view(form) : NULL, "quantity",
	                    "A number, with its unit if it is not in pieces: 4, 3 ft");
}

static json_t *lists_view(const struct kit_view *view)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < view->parts->n_lists; i++) {
		const struct packing_list *packing = &view->parts->lists[i];
		struct fact settles;
		enum truth applies = packing_list_applies(packing, &view->facts, &settles);

		if (applies == TRUTH_FALSE)
			continue;
		list = present_append(list, json_pack("{s:s, s:s, s:s, s:I, s:b}", "subkit",
		                                      packing->subkit.text, "title", packing->title,
		                                      "name", packing->name.text, "parts",
		                                      (json_int_t)packing->n_parts, "sure",
		                                      applies == TRUTH_TRUE));
	}
	return present_some("lists", list);
}

static enum status show_stock(struct context *c, const struct kit_view *view)
{
	bool looking = c->route->inputs == kit_stock_query;

	return kit_respond(
	        c, &view->kit, "kit_parts.html", "Parts on hand",
	        json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:b, s:b}", "form", form_part(c), "log",
	                  log_view(view), "to_answer", asks_view(view), "looked",
	                  looking ? looked_up(c, view) : json_false(), "needs",
	                  present_wanted_list(view, view->wanted, view->n_wanted), "packed",
	                  lists_view(view), "counted_in", view->kit.counted_in, "in_parts", 1));
}

enum status page_kit_stock(struct context *c)
{
	return kit_page(c, show_stock);
}

/* ---- entries ---- */

static enum status read_entry(struct context *c, struct stock_entry *out)
{
	const char *quantity = form_text(c->form, "quantity");
	struct amount amount = {0};
	enum status status = amount_read(c->arena, quantity, &amount);
	bool none = strcmp(quantity, "0") == 0;

	if (status != ST_OK)
		return status;
	if (form_given(c->form, "quantity") && amount.thousandths == 0 &&
	    !(none && form_choice(c->form, "what") == STOCK_COUNTED))
		form_fail(c->form, "quantity", "must begin with a number above 0, as in 4 or 3 ft");
	if (name_is_empty(&amount.unit))
		amount.unit.text = "";
	*out = (struct stock_entry){.number = form_name(c->form, "part"),
	                            .unit = amount.unit,
	                            .act = (enum stock_act)(form_choice(c->form, "what") < 0
	                                                            ? 0
	                                                            : form_choice(c->form, "what")),
	                            .quantity = amount.thousandths,
	                            .remark = form_text(c->form, "remark")};
	return ST_OK;
}

static enum status enter(struct context *c, const struct kit_view *view)
{
	struct stock_entry entry;
	enum status status = read_entry(c, &entry);

	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_stock(c, view);
	status = kit_stock_add(c->store, view->kit.id, &entry, c->now);
	status = form_bound(c->form, c->store, status);
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_stock(c, view);
	return respond_redirect(c, "/kits/%lld/parts?said=stock-entered",
	                        (long long)view->kit.id.v);
}

enum status act_kit_stock(struct context *c)
{
	return kit_page(c, enter);
}

/* One used, or none: an answer either way, which names the record. */
static enum status answer(struct context *c, const struct kit_view *view)
{
	bool used = form_choice(c->form, "taken") == TAKEN_YES;
	struct stock_entry entry = {.unit = {.text = ""}, .act = STOCK_USED, .remark = ""};
	enum status status = ST_MISSING;

	if (!form_ok(c->form))
		return ST_INVALID;
	entry.record = form_number(c->form, "record");
	entry.quantity = used ? AMOUNT_ONE : 0;
	for (size_t i = 0; i < view->n_asks; i++)
		if (view->asks[i].record->id.v == entry.record) {
			entry.number = view->asks[i].number;
			status = ST_OK;
		}
	if (status == ST_OK)
		status = kit_stock_add(c->store, view->kit.id, &entry, c->now);
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/kits/%lld/parts?said=stock-entered",
	                        (long long)view->kit.id.v);
}

enum status act_kit_taken(struct context *c)
{
	return kit_page(c, answer);
}

enum status act_kit_stock_back(struct context *c)
{
	struct kit_id kit = {context_id(c, "kit")};
	enum status status = kit_stock_remove(c->store, kit, context_id(c, "stock"));

	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/kits/%lld/parts?said=stock-back", (long long)kit.v);
}

enum status act_kit_counted_in(struct context *c)
{
	struct kit_id kit = {context_id(c, "kit")};
	enum status status;

	if (!form_ok(c->form))
		return ST_INVALID;
	status = kit_set_counted_in(c->store, kit, form_flag(c->form, "counted_in"));
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/kits/%lld/shopping?said=counted-in", (long long)kit.v);
}
