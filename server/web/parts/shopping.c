/* shopping.c - what must be got: the list of one kit, and of all kits whose
 * builders agree to be counted, as it was worked out last (chapter_list.h).
 * Nothing of a kit but its numbers is shown.
 */
#include <stdio.h>

#include "base/text.h"
#include "store/parts.h"
#include "formats/csv.h"
#include "web/kits/kit_page.h"
#include "web/html/cut_plan.h"
#include "formats/json_text.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/html/present_parts.h"
#include "web/http/respond.h"
#include "chapter/chapter_list.h"

/* ---- rows as view and as a table ---- */

static json_t *amount_or_false(int64_t thousandths, const struct name *unit)
{
	return thousandths ? present_amount(thousandths, unit) : json_false();
}

static void list_notices(const struct shopping_row *row, struct text *out)
{
	for (unsigned i = 0; i < row->notices; i++)
		text_printf(out, "%s%s", i ? ", " : "", row->entries[i]->notice.number.text);
}

static json_t *notices_view(const struct shopping_row *row)
{
	struct text out = TEXT_EMPTY;

	list_notices(row, &out);
	return json_take_text(&out);
}

static json_t *row_view(const struct shopping_row *row)
{
	bool other = !name_equal(&row->number, &row->asked);

	return json_pack("{s:s, s:o, s:o, s:o, s:b, s:o, s:i}", "number", row->number.text, "asked",
	                 other ? json_string(row->asked.text) : json_false(), "lacking",
	                 amount_or_false(row->lacking, &row->unit), "uncertain",
	                 amount_or_false(row->uncertain, &row->unit), "unstated", row->unstated > 0,
	                 "notices", notices_view(row), "kits", (int)row->kits);
}

static json_t *rows_view(const struct shopping *shopping)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < shopping->n_rows; i++)
		list = present_append(list, row_view(&shopping->rows[i]));
	return present_some("rows", list);
}

static json_t *cutting_url(const struct name *stock)
{
	struct text out = TEXT_EMPTY;

	text_add(&out, "/shopping/cutting?stock=");
	http_escape(&out, stock->text);
	return json_take_text(&out);
}

/* One row for each stock: its lengths together. */
static json_t *stock_view(const struct shopping *shopping, size_t *i)
{
	const struct shopping_cut *first = &shopping->cuts[*i];
	struct text words = TEXT_EMPTY;

	for (; *i < shopping->n_cuts && name_equal(&shopping->cuts[*i].stock, &first->stock);
	     ++*i) {
		const struct cut cut = {shopping->cuts[*i].length, shopping->cuts[*i].count};

		if (words.len)
			text_add(&words, ", ");
		present_cuts(&cut, 1, &words);
	}
	return json_pack("{s:s, s:s, s:o, s:o}", "stock", first->stock.text, "item", first->item,
	                 "lengths", json_take_text(&words), "cutting_url",
	                 cutting_url(&first->stock));
}

static json_t *cuts_view(const struct shopping *shopping)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < shopping->n_cuts;)
		list = present_append(list, stock_view(shopping, &i));
	return present_some("stocks", list);
}

static void print_amount(int64_t thousandths, struct text *out)
{
	const struct name none = {.text = ""};

	text_clear(out);
	if (thousandths)
		amount_print(thousandths, &none, out);
}

static void csv_part(const struct shopping_row *row, struct text *out)
{
	struct text lacking = TEXT_EMPTY, uncertain = TEXT_EMPTY, notices = TEXT_EMPTY;
	char kits[16];

	print_amount(row->lacking, &lacking);
	print_amount(row->uncertain, &uncertain);
	list_notices(row, &notices);
	snprintf(kits, sizeof kits, "%u", row->kits);
	csv_row(out, (const char *[]){row->number.text,
	                              name_equal(&row->number, &row->asked) ? "" : row->asked.text,
	                              text_string(&lacking), text_string(&uncertain),
	                              name_is_empty(&row->unit) ? "" : row->unit.text,
	                              row->unstated ? "quantity not stated" : "",
	                              text_string(&notices), kits, NULL});
	if (text_failed(&lacking) || text_failed(&uncertain) || text_failed(&notices))
		out->failed = true;
	text_free(&lacking);
	text_free(&uncertain);
	text_free(&notices);
}

static void csv_cut(const struct shopping_cut *cut, struct text *out)
{
	struct text length = TEXT_EMPTY;
	char count[16];

	text_add(&length, "cut to ");
	length_print(cut->length, &length);
	snprintf(count, sizeof count, "%u", cut->count);
	csv_row(out, (const char *[]){cut->stock.text, "", count, "", "", text_string(&length), "",
	                              "", NULL});
	if (text_failed(&length))
		out->failed = true;
	text_free(&length);
}

static enum status respond_csv(struct context *c, const struct shopping *shopping)
{
	static const char *const head[] = {"order",        "asked for", "quantity",
	                                   "perhaps more", "unit",      "remark",
	                                   "notices",      "kits",      NULL};
	struct text out = TEXT_EMPTY;
	const char *copy;
	size_t len;

	csv_row(&out, head);
	for (size_t i = 0; i < shopping->n_rows; i++)
		csv_part(&shopping->rows[i], &out);
	for (size_t i = 0; i < shopping->n_cuts; i++)
		csv_cut(&shopping->cuts[i], &out);
	len = out.len;
	copy = text_failed(&out) ? NULL : arena_copy(c->arena, text_string(&out), len);
	text_free(&out);
	if (!copy)
		return ST_NOMEM;
	return respond_bytes(c, "text/csv; charset=utf-8; header=present", copy, len, CACHE_PRIVATE,
	                     "shopping.csv");
}

/* ---- one kit ---- */

/* Own lengths come to those of notices. */
static enum status add_own_lengths(struct context *c, struct kit_id kit, struct shopping *shopping)
{
	const struct kit_length *lengths;
	size_t count;
	enum status status = kit_length_list(c->store, c->arena, kit, &lengths, &count);

	for (size_t i = 0; status == ST_OK && i < count; i++) {
		const struct cut *cuts;
		struct cuts_fault fault;
		size_t n;

		if (lengths[i].use != LENGTH_WANTED)
			continue;
		status = cuts_parse(c->arena, lengths[i].cut, &cuts, &n, &fault);
		if (status == ST_OK)
			shopping_add_cuts(c->arena, shopping, &lengths[i].stock, lengths[i].remark,
			                  cuts, n);
	}
	return status;
}

static enum status shop_for(struct context *c, const struct kit_view *view,
                            struct shopping *shopping)
{
	enum status status;

	shopping_add(c->arena, shopping, 0, view->wanted, view->n_wanted);
	status = add_own_lengths(c, view->kit.id, shopping);
	if (status == ST_OK && shopping->failed)
		status = ST_NOMEM;
	if (status == ST_OK)
		shopping_sort(shopping);
	return status;
}

static json_t *address(const struct kit_view *view, const char *page)
{
	return json_sprintf("/kits/%lld/%s", (long long)view->kit.id.v, page);
}

static enum status show_kit(struct context *c, const struct kit_view *view)
{
	struct shopping shopping = {0};
	enum status status = shop_for(c, view, &shopping);

	if (status != ST_OK)
		return status;
	return kit_respond(
	        c, &view->kit, "kit_shopping.html", "Shopping list",
	        json_pack("{s:o, s:o, s:b, s:i, s:s, s:i, s:o, s:o, s:b, s:b}", "parts",
	                  rows_view(&shopping), "cuts", cuts_view(&shopping), "counted_in",
	                  view->kit.counted_in, "left", (int)view->piled[PILE_LEFT], "left_word",
	                  view->piled[PILE_LEFT] == 1 ? "notice" : "notices", "ask",
	                  (int)view->piled[PILE_ASK], "csv_url", address(view, "shopping.csv"),
	                  "counted_path", address(view, "parts/counted-in"), "chapter_list", 0,
	                  "in_parts", 1));
}

enum status page_kit_shopping(struct context *c)
{
	return kit_page(c, show_kit);
}

static enum status kit_csv(struct context *c, const struct kit_view *view)
{
	struct shopping shopping = {0};
	enum status status = shop_for(c, view, &shopping);

	return status == ST_OK ? respond_csv(c, &shopping) : status;
}

enum status page_kit_shopping_csv(struct context *c)
{
	return kit_page(c, kit_csv);
}

/* ---- the chapter ---- */

#define LOOK_AGAIN "3" /* seconds */

/* The first list takes a while: the page says how far it is and loads itself again. */
static enum status show_working(struct context *c, const struct chapter_look *look)
{
	enum status status =
	        respond_page(c, "shopping_working.html", "Shopping list of the chapter",
	                     json_pack("{s:b, s:I, s:I}", "begun", look->todo > 0, "done",
	                               (json_int_t)look->done, "todo", (json_int_t)look->todo));

	response_header(c->arena, c->response, "Refresh", LOOK_AGAIN);
	c->response->cache = CACHE_NEVER;
	return status;
}

static enum status refuse_for_now(struct context *c, const struct chapter_look *look)
{
	(void)look;
	response_header(c->arena, c->response, "Retry-After", LOOK_AGAIN);
	return respond_error(c, 503,
	                     "The list is being worked out. Load it again in a few seconds.");
}

typedef enum status list_fn(struct context *c, const struct chapter_look *look);

static enum status with_list(struct context *c, list_fn *show, list_fn *wait)
{
	struct work work = context_work(c);
	struct chapter_look look;
	enum status status = chapter_list_look(&work, &look);

	if (status != ST_OK)
		return status;
	status = (look.sum ? show : wait)(c, &look);
	chapter_list_give_back(&work, look.sum);
	return status;
}

/* "now", "12 minutes ago" */
static json_t *age_words(int64_t seconds)
{
	static const struct {
		int64_t seconds;
		const char *one, *many;
	} units[] = {{86400, "day", "days"}, {3600, "hour", "hours"}, {60, "minute", "minutes"}};

	for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
		int64_t count = seconds / units[i].seconds;

		if (count > 0)
			return json_sprintf("%lld %s ago", (long long)count,
			                    count == 1 ? units[i].one : units[i].many);
	}
	return json_string("now");
}

/* {"kits", "all", "as_of", "fresh"} */
static json_t *look_view(const struct context *c, const struct chapter_look *look)
{
	return json_pack("{s:I, s:I, s:o, s:b}", "kits", (json_int_t)look->sum->kits, "all",
	                 (json_int_t)look->sum->all, "as_of", age_words(c->now - look->sum->at),
	                 "fresh", look->fresh);
}

static enum status show_list(struct context *c, const struct chapter_look *look)
{
	const struct shopping *shopping = &look->sum->shopping;

	return respond_page(c, "shopping.html", "Shopping list of the chapter",
	                    json_pack("{s:o, s:o, s:o, s:b}", "parts", rows_view(shopping), "cuts",
	                              cuts_view(shopping), "look", look_view(c, look),
	                              "chapter_list", 1));
}

enum status page_shopping(struct context *c)
{
	return with_list(c, show_list, show_working);
}

static enum status show_csv(struct context *c, const struct chapter_look *look)
{
	return respond_csv(c, &look->sum->shopping);
}

enum status page_shopping_csv(struct context *c)
{
	return with_list(c, show_csv, refuse_for_now);
}

static void gather_stock(struct cut_gathering *g, const struct shopping *shopping,
                         const struct name *stock)
{
	for (size_t i = 0; i < shopping->n_cuts; i++) {
		const struct cut cut = {shopping->cuts[i].length, shopping->cuts[i].count};

		if (name_equal(&shopping->cuts[i].stock, stock))
			cut_add_pieces(g, &cut, 1);
	}
}

/* All lengths of one stock that the counted kits want, cut from what is on sale. */
static enum status plan_for_all(struct context *c, const struct chapter_sum *sum, json_t **planned,
                                json_t **fault)
{
	struct cut_gathering *g = ARENA_NEW(c->arena, struct cut_gathering);
	struct name stock = form_name(c->form, "stock");
	struct cutting_saw saw;

	if (!g)
		return ST_NOMEM;
	if (!cut_read_saw(c->form, &saw) || !form_ok(c->form))
		return ST_OK;
	gather_stock(g, &sum->shopping, &stock);
	cut_add_sale(g, sum->parts, &stock);
	return cut_plan(c->arena, g, &saw, planned, fault);
}

static enum status show_cutting(struct context *c, const struct chapter_look *look)
{
	json_t *planned = json_false(), *fault = json_false();
	enum status status = plan_for_all(c, look->sum, &planned, &fault);

	if (status != ST_OK) {
		json_decref(planned);
		json_decref(fault);
		return status;
	}
	return respond_page(
	        c, "shopping_cutting.html", "Cutting plan of the chapter",
	        json_pack("{s:s, s:o, s:o, s:o, s:o, s:b}", "code",
	                  form_given(c->form, "stock") ? form_text(c->form, "stock") : "one stock",
	                  "look", look_view(c, look), "plan", planned, "fault", fault, "saw",
	                  form_view(cut_saw_form(c->arena, c->form)), "in_kits", 1));
}

enum status page_shopping_cutting(struct context *c)
{
	return with_list(c, show_cutting, show_working);
}
