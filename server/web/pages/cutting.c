/* cutting.c - lengths to cut of one stock, from open notices and the builder's
 * own, and the cheapest bars to cut them from.
 *
 * Bars on hand cost nothing and there are only so many; bars to buy cost their
 * price where every length on sale has one, else their length. The plan is
 * worked out in nanometres (core/length.h), so that nothing is rounded.
 */
#include <string.h>

#include "base/text.h"
#include "core/cutting.h"
#include "store/parts.h"
#include "web/json_text.h"
#include "web/pages/kit_pages.h"
#include "web/pages/kit_parts.h"
#include "web/present_parts.h"
#include "web/respond.h"

#define DRAWN 340.0 /* width of the longest bar as drawn */
#define USUAL_KERF "1/8 in"
#define USUAL_TRIM "1/4 in"

static const char *const uses[] = {"wanted", "on hand", NULL};

const struct input cutting_query[] = {{"stock", "Stock code", INPUT_NAME},
                                      {"kerf", "The saw takes", INPUT_LINE, .longest = 40},
                                      {"trim", "Lost at each end", INPUT_LINE, .longest = 40},
                                      INPUTS_END};

const struct input cutting_inputs[] = {
        {"code", "Stock code", INPUT_NAME, .required = true},
        {"use", "These lengths are", INPUT_CHOICE, .required = true, .choices = uses},
        {"cut", "Lengths", INPUT_LINE, .required = true, .longest = 500},
        {"remark", "Remark", INPUT_LINE, .longest = PARTS_REMARK_LONGEST},
        INPUTS_END};

/* ---- gathering ---- */

#define PIECES_MOST 400

struct gathering {
	const struct kit_view *view;
	struct name stock;
	struct cutting_piece pieces[PIECES_MOST];
	struct length lengths[PIECES_MOST];
	size_t n_pieces;
	struct cutting_stock bars[CUTTING_STOCKS];
	struct length bar_lengths[CUTTING_STOCKS];
	bool on_hand[CUTTING_STOCKS];
	size_t n_bars;
	bool by_price;
	bool too_many;
};

static void add_pieces(struct gathering *g, const struct cut *cuts, size_t count)
{
	for (size_t i = 0; i < count; i++) {
		if (g->n_pieces == PIECES_MOST) {
			g->too_many = true;
			return;
		}
		g->lengths[g->n_pieces] = cuts[i].length;
		g->pieces[g->n_pieces++] = (struct cutting_piece){cuts[i].length.nm, cuts[i].count};
	}
}

static void add_bar(struct gathering *g, struct length length, uint32_t count, int64_t cost)
{
	if (g->n_bars == CUTTING_STOCKS) {
		g->too_many = true;
		return;
	}
	g->bar_lengths[g->n_bars] = length;
	g->on_hand[g->n_bars] = count != CUTTING_ANY;
	g->bars[g->n_bars++] = (struct cutting_stock){length.nm, count, cost};
}

static void gather_notices(struct gathering *g)
{
	for (size_t i = 0; i < g->view->n_wanted; i++) {
		const struct wanted *w = &g->view->wanted[i];

		if (w->material && name_equal(&w->need.number, &g->stock))
			add_pieces(g, w->material->cuts, w->material->n_cuts);
	}
}

static enum status gather_own(struct context *c, struct gathering *g,
                              const struct kit_length *lengths, size_t count)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < count; i++) {
		const struct cut *cuts;
		struct cuts_fault fault;
		size_t n;

		if (!name_equal(&lengths[i].stock, &g->stock))
			continue;
		status = cuts_parse(c->arena, lengths[i].cut, &cuts, &n, &fault);
		if (status != ST_OK)
			break;
		if (lengths[i].use == LENGTH_WANTED)
			add_pieces(g, cuts, n);
		for (size_t k = 0; lengths[i].use == LENGTH_ON_HAND && k < n; k++)
			add_bar(g, cuts[k].length, cuts[k].count, 0);
	}
	return status;
}

/* A price of nothing would make a bar cost less than one on hand is worth. */
static void gather_sale(struct gathering *g)
{
	const struct stock_code *stock = parts_book_stock(g->view->parts, &g->stock);

	g->by_price = stock && stock->n_lengths > 0;
	for (size_t i = 0; stock && i < stock->n_lengths; i++)
		g->by_price =
		        g->by_price && stock->lengths[i].has_price && stock->lengths[i].price > 0;
	for (size_t i = 0; stock && i < stock->n_lengths; i++)
		add_bar(g, stock->lengths[i].length, CUTTING_ANY,
		        g->by_price ? stock->lengths[i].price
		                    : (stock->lengths[i].length.nm + 999) / 1000);
}

/* ---- the plan as view ---- */

static json_t *length_view(struct length length)
{
	struct text out = TEXT_EMPTY;

	length_print(length, &out);
	return json_take_text(&out);
}

/* As the pieces of that length were written. */
static struct length written(const struct gathering *g, int64_t nm)
{
	size_t i = 0;

	while (g->pieces[i].length != nm)
		i++;
	return g->lengths[i];
}

struct scale {
	double longest; /* bar, in nm */
	double x;
};

static json_t *box_view(struct scale *scale, int64_t nm, const char *css, json_t *label)
{
	double width = DRAWN * (double)nm / scale->longest, x = scale->x;

	scale->x += width;
	return json_pack("{s:o, s:o, s:o, s:s, s:o}", "x", json_sprintf("%.2f", x), "width",
	                 json_sprintf("%.2f", width), "middle", json_sprintf("%.2f", x + width / 2),
	                 "css", css, "label", label);
}

/* Trim, pieces with the kerf after each, the rest, trim. */
static json_t *boxes_view(const struct gathering *g, const struct cutting_plan *plan,
                          const struct cutting_bar *bar, const struct cutting_saw *saw,
                          double longest)
{
	struct scale scale = {longest, 0};
	json_t *list = json_array();

	if (saw->trim)
		list = present_append(list, box_view(&scale, saw->trim, "lost", json_false()));
	for (size_t i = 0; i < plan->n_pieces; i++)
		for (unsigned k = 0; list && k < bar->count[i]; k++) {
			int64_t nm = plan->pieces[i].length;

			list = present_append(
			        list, box_view(&scale, nm, "piece", length_view(written(g, nm))));
			scale.x += DRAWN * (double)saw->kerf / longest;
		}
	return list;
}

static json_t *cut_words(const struct gathering *g, const struct cutting_plan *plan,
                         const struct cutting_bar *bar)
{
	struct text out = TEXT_EMPTY;

	for (size_t i = 0; i < plan->n_pieces; i++) {
		const struct cut cut = {written(g, plan->pieces[i].length), bar->count[i]};

		if (bar->count[i] == 0)
			continue;
		if (out.len)
			text_add(&out, ", ");
		present_cuts(&cut, 1, &out);
	}
	return json_take_text(&out);
}

static json_t *bar_view(const struct gathering *g, const struct cutting_plan *plan,
                        const struct cutting_bar *bar, const struct cutting_saw *saw,
                        double longest)
{
	struct length left = {bar->left, g->bar_lengths[bar->stock].metric};

	return json_pack("{s:i, s:o, s:b, s:o, s:o, s:o, s:o}", "times", (int)bar->times, "length",
	                 length_view(g->bar_lengths[bar->stock]), "on_hand", g->on_hand[bar->stock],
	                 "cuts", cut_words(g, plan, bar), "left",
	                 bar->left ? length_view(left) : json_false(), "width",
	                 json_sprintf("%.2f", DRAWN * (double)g->bars[bar->stock].length / longest),
	                 "boxes", boxes_view(g, plan, bar, saw, longest));
}

static json_t *cost_view(const struct gathering *g, int64_t cost)
{
	struct text out = TEXT_EMPTY;

	if (g->by_price)
		text_printf(&out, "%lld.%02lld", (long long)(cost / 100), (long long)(cost % 100));
	else
		length_print((struct length){cost * 1000, g->bar_lengths[0].metric}, &out);
	return json_take_text(&out);
}

static json_t *plan_view(const struct gathering *g, const struct cutting_plan *plan,
                         const struct cutting_saw *saw)
{
	json_t *bars = json_array();
	double longest = 1;
	int total = 0;

	for (size_t i = 0; i < plan->n_bars; i++) {
		double length = (double)g->bars[plan->bars[i].stock].length;

		longest = length > longest ? length : longest;
		total += (int)plan->bars[i].times;
	}
	for (size_t i = 0; bars && i < plan->n_bars; i++)
		bars = present_append(bars, bar_view(g, plan, &plan->bars[i], saw, longest));
	return json_pack("{s:o, s:i, s:b, s:b, s:o, s:o}", "bars", bars, "total", total, "proved",
	                 plan->proved, "by_price", g->by_price, "cost", cost_view(g, plan->cost),
	                 "bound", cost_view(g, plan->bound));
}

static const char *fault_words(enum cutting_fault_kind kind)
{
	static const char *const words[] = {
	        [CUTTING_PIECE_LENGTH] = "A length wanted is not above 0.",
	        [CUTTING_STOCK_LENGTH] = "A bar is not longer than 0.",
	        [CUTTING_SAW] = "What the saw takes is out of range.",
	        [CUTTING_TOO_SHORT] = "No bar is long enough for a length wanted:",
	        [CUTTING_TOO_FEW] = "The bars on hand do not hold all lengths, and no length on "
	                            "sale is known.",
	        [CUTTING_NOT_FOUND] = "No plan was found for the bars on hand, nor proved that "
	                              "there is none. Say less at a time.",
	        [CUTTING_TOO_MUCH] = "That is more than can be planned at once: at most 60 "
	                             "lengths, 300 pieces and 20 kinds of bar."};

	return words[kind];
}

static json_t *fault_view(const struct gathering *g, const struct cutting_fault *fault)
{
	bool names_piece = fault->kind == CUTTING_TOO_SHORT;

	return json_pack("{s:s, s:o}", "words", fault_words(fault->kind), "length",
	                 names_piece ? length_view(g->lengths[fault->index]) : json_false());
}

static enum status plan(struct context *c, const struct gathering *g, const struct cutting_saw *saw,
                        json_t **planned, json_t **fault)
{
	const struct cutting_order order = {g->pieces, g->n_pieces, g->bars,
	                                    g->n_bars, *saw,        CUTTING_STEPS};
	struct cutting_fault why = {CUTTING_TOO_MUCH, 0};
	struct cutting_plan made;
	enum status status = g->too_many ? ST_INVALID : cutting_plan(c->arena, &order, &made, &why);

	if (status == ST_OK)
		*planned = plan_view(g, &made, saw);
	else if (status == ST_INVALID)
		*fault = fault_view(g, &why);
	return status == ST_INVALID ? ST_OK : status;
}

/* ---- the page ---- */

static json_t *length_row(const struct kit_view *view, const struct kit_length *length)
{
	return json_pack("{s:s, s:s, s:b, s:o, s:o}", "stock", length->stock.text, "cut",
	                 length->cut, "on_hand", length->use == LENGTH_ON_HAND, "remark",
	                 present_text(length->remark), "remove_url",
	                 json_sprintf("/kits/%lld/cutting/%lld/remove", (long long)view->kit.id.v,
	                              (long long)length->id));
}

static json_t *own_view(const struct kit_view *view, const struct kit_length *lengths, size_t count)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < count; i++)
		list = present_append(list, length_row(view, &lengths[i]));
	return kit_some("lengths", list);
}

/* Stock codes that anything is known of: of notices, own entries, the book. */
static json_t *stocks_view(struct context *c, const struct kit_view *view,
                           const struct kit_length *lengths, size_t count)
{
	struct shopping known = {0};
	const struct cut one = {{1, false}, 1};
	json_t *list = json_array();

	shopping_add(c->arena, &known, 0, view->wanted, view->n_wanted);
	for (size_t i = 0; i < count; i++)
		shopping_add_cuts(c->arena, &known, &lengths[i].stock, "", &one, 1);
	for (size_t i = 0; i < view->parts->n_stock; i++)
		shopping_add_cuts(c->arena, &known, &view->parts->stock[i].code,
		                  view->parts->stock[i].title, &one, 1);
	shopping_sort(&known);
	for (size_t i = 0; list && i < known.n_cuts; i++)
		if (i == 0 || !name_equal(&known.cuts[i].stock, &known.cuts[i - 1].stock))
			list = present_append(
			        list,
			        json_pack("{s:s, s:o}", "code", known.cuts[i].stock.text, "url",
			                  present_look_url(&view->kit, "cutting", "stock",
			                                   &known.cuts[i].stock)));
	if (known.failed) {
		json_decref(list);
		return NULL;
	}
	return kit_some("stocks", list);
}

/* The saw as asked for; a fault stands at its field. */
static bool read_saw(const struct form *form, struct cutting_saw *saw)
{
	const char *kerf = form_given(form, "kerf") ? form_text(form, "kerf") : USUAL_KERF;
	const char *trim = form_given(form, "trim") ? form_text(form, "trim") : USUAL_TRIM;
	struct length length;

	if (length_parse(kerf, strlen(kerf), &length) != ST_OK)
		return false;
	saw->kerf = length.nm;
	if (length_parse(trim, strlen(trim), &length) != ST_OK)
		return false;
	saw->trim = length.nm;
	return true;
}

static void fail_saw(struct form *form)
{
	static const char *const fields[] = {"kerf", "trim"};
	struct length length;

	for (size_t i = 0; i < 2; i++) {
		const char *text = form_text(form, fields[i]);

		if (*text && length_parse(text, strlen(text), &length) != ST_OK)
			form_fail(form, fields[i], "is no length; write it like 1/8 in or 3 mm");
	}
}

static struct form *saw_form(const struct context *c)
{
	struct form *form;

	if (c->route->inputs == cutting_query)
		form = c->form;
	else
		form = form_blank(c->arena, cutting_query);
	if (form && !form_value(form, "kerf", 0)->typed[0])
		form_set(form, "kerf", USUAL_KERF);
	if (form && !form_value(form, "trim", 0)->typed[0])
		form_set(form, "trim", USUAL_TRIM);
	return form;
}

static struct form *own_form(const struct context *c)
{
	struct form *form;

	if (c->route->inputs == cutting_inputs)
		return c->form;
	form = form_blank(c->arena, cutting_inputs);
	if (form && c->route->inputs == cutting_query && form_given(c->form, "stock"))
		form_set(form, "code", form_text(c->form, "stock"));
	return form;
}

static enum status gather(struct context *c, struct gathering *g, const struct kit_length *lengths,
                          size_t count)
{
	gather_notices(g);
	gather_sale(g);
	return gather_own(c, g, lengths, count);
}

static enum status plan_stock(struct context *c, const struct kit_view *view,
                              const struct kit_length *lengths, size_t count, json_t **planned,
                              json_t **fault)
{
	struct gathering *g = ARENA_NEW(c->arena, struct gathering);
	struct cutting_saw saw;
	enum status status;

	if (!g)
		return ST_NOMEM;
	g->view = view;
	g->stock = form_name(c->form, "stock");
	if (!form_ok(c->form) || !read_saw(c->form, &saw))
		return ST_OK;
	status = gather(c, g, lengths, count);
	if (status == ST_OK && g->n_pieces > 0)
		status = plan(c, g, &saw, planned, fault);
	return status;
}

static enum status show_cutting(struct context *c, const struct kit_view *view)
{
	bool asked = c->route->inputs == cutting_query && form_given(c->form, "stock");
	const struct kit_length *lengths;
	json_t *planned = json_false(), *fault = json_false();
	struct form *own = own_form(c), *saw;
	size_t count;
	enum status status = kit_length_list(c->store, c->arena, view->kit.id, &lengths, &count);

	if (c->route->inputs == cutting_query)
		fail_saw(c->form);
	if (status == ST_OK && asked)
		status = plan_stock(c, view, lengths, count, &planned, &fault);
	saw = saw_form(c);
	if (status == ST_OK && (!own || !saw))
		status = ST_NOMEM;
	if (status != ST_OK) {
		json_decref(planned);
		json_decref(fault);
		return status;
	}
	return kit_respond(
	        c, &view->kit, "kit_cutting.html", "Cutting plan",
	        json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:b}", "stock_now",
	                  asked ? json_string(form_text(c->form, "stock")) : json_false(), "plan",
	                  planned, "fault", fault, "saw", form_view(saw), "form",
	                  present_hint(form_view(own), "cut",
	                               "As in 2 x 14 1/2 in, 6 in, or 3 x 360 mm"),
	                  "own", own_view(view, lengths, count), "known",
	                  stocks_view(c, view, lengths, count), "in_parts", 1));
}

enum status page_cutting(struct context *c)
{
	return kit_page(c, show_cutting);
}

static enum status enter(struct context *c, const struct kit_view *view)
{
	const struct cut *cuts;
	struct cuts_fault fault;
	size_t count;
	enum status status = ST_OK;

	if (form_given(c->form, "cut"))
		status = cuts_parse(c->arena, form_text(c->form, "cut"), &cuts, &count, &fault);
	if (status == ST_INVALID)
		form_fail(c->form, "cut", "at column %zu: %s", fault.column, fault.words);
	else if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_cutting(c, view);
	status = kit_length_add(
	        c->store, view->kit.id,
	        &(struct kit_length){.use = (enum length_use)form_choice(c->form, "use"),
	                             .stock = form_name(c->form, "code"),
	                             .cut = form_text(c->form, "cut"),
	                             .remark = form_text(c->form, "remark")});
	if (status == ST_LIMIT) {
		form_fail(c->form, "",
		          "This kit has %d rows of lengths, which is as many as are "
		          "kept",
		          KIT_LENGTHS_MOST);
		return show_cutting(c, view);
	}
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/kits/%lld/cutting?said=length-added",
	                        (long long)view->kit.id.v);
}

enum status act_cutting(struct context *c)
{
	return kit_page(c, enter);
}

enum status act_cutting_remove(struct context *c)
{
	struct kit_id kit = {context_id(c, "kit")};
	enum status status = kit_length_remove(c->store, kit, context_id(c, "length"));

	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/kits/%lld/cutting?said=length-removed", (long long)kit.v);
}
