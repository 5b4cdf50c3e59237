#include "web/html/cut_plan.h"

#include <string.h>

#include "base/text.h"
#include "formats/json_text.h"
#include "web/html/present.h"
#include "web/html/present_parts.h"

#define DRAWN 340.0 /* width of the longest bar as drawn */
#define LETTER 6.0  /* width of a letter of a label, about */
/* A band saw's kerf and a squared end: common practice, no source. */
#define USUAL_KERF "1/8 in"
#define USUAL_TRIM "1/4 in"

const struct input cut_query[] = {{"stock", "Stock code", INPUT_NAME},
                                  {"kerf", "The saw takes", INPUT_LINE, .longest = 40},
                                  {"trim", "Lost at each end", INPUT_LINE, .longest = 40},
                                  INPUTS_END};

/* ---- gathering ---- */

void cut_add_pieces(struct cut_gathering *g, const struct cut *cuts, size_t count)
{
	for (size_t i = 0; i < count; i++) {
		if (g->n_pieces == CUT_PIECES_MOST) {
			g->too_many = true;
			return;
		}
		g->lengths[g->n_pieces] = cuts[i].length;
		g->pieces[g->n_pieces++] = (struct cutting_piece){cuts[i].length.nm, cuts[i].count};
	}
}

void cut_add_bar(struct cut_gathering *g, struct length length, uint32_t count, int64_t cost)
{
	if (g->n_bars == CUTTING_STOCKS) {
		g->too_many = true;
		return;
	}
	g->bar_lengths[g->n_bars] = length;
	g->on_hand[g->n_bars] = count != CUTTING_ANY;
	g->bars[g->n_bars++] = (struct cutting_stock){length.nm, count, cost};
}

/* A price of nothing would make a bar cost less than one on hand is worth. */
void cut_add_sale(struct cut_gathering *g, const struct parts_book *parts, const struct name *code)
{
	const struct stock_code *stock = parts_book_stock(parts, code);

	g->by_price = stock && stock->n_lengths > 0;
	for (size_t i = 0; stock && i < stock->n_lengths; i++)
		g->by_price =
		        g->by_price && stock->lengths[i].has_price && stock->lengths[i].price > 0;
	for (size_t i = 0; stock && i < stock->n_lengths; i++)
		cut_add_bar(g, stock->lengths[i].length, CUTTING_ANY,
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
static struct length written(const struct cut_gathering *g, int64_t nm)
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
	if (width < LETTER * (double)json_string_length(label)) {
		json_decref(label); /* the words above the drawing name it */
		label = json_false();
	}
	return json_pack("{s:o, s:o, s:o, s:s, s:o}", "x", json_sprintf("%.2f", x), "width",
	                 json_sprintf("%.2f", width), "middle", json_sprintf("%.2f", x + width / 2),
	                 "css", css, "label", label);
}

/* Trim, pieces with the kerf after each, the rest, trim. */
static json_t *boxes_view(const struct cut_gathering *g, const struct cutting_plan *plan,
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

static json_t *cut_words(const struct cut_gathering *g, const struct cutting_plan *plan,
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

static json_t *bar_view(const struct cut_gathering *g, const struct cutting_plan *plan,
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

static json_t *cost_view(const struct cut_gathering *g, int64_t cost)
{
	struct text out = TEXT_EMPTY;

	if (g->by_price)
		text_printf(&out, "%lld.%02lld", (long long)(cost / 100), (long long)(cost % 100));
	else
		length_print((struct length){cost * 1000, g->bar_lengths[0].metric}, &out);
	return json_take_text(&out);
}

static json_t *plan_view(const struct cut_gathering *g, const struct cutting_plan *plan,
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

static json_t *fault_view(const struct cut_gathering *g, const struct cutting_fault *fault)
{
	bool names_piece = fault->kind == CUTTING_TOO_SHORT;

	return json_pack("{s:s, s:o}", "words", fault_words(fault->kind), "length",
	                 names_piece ? length_view(g->lengths[fault->index]) : json_false());
}

enum status cut_plan(struct arena *arena, const struct cut_gathering *g,
                     const struct cutting_saw *saw, json_t **planned, json_t **fault)
{
	const struct cutting_order order = {g->pieces, g->n_pieces, g->bars,
	                                    g->n_bars, *saw,        CUTTING_STEPS};
	struct cutting_fault why = {CUTTING_TOO_MUCH, 0};
	struct cutting_plan made;
	enum status status;

	if (g->n_pieces == 0)
		return ST_OK;
	status = g->too_many ? ST_INVALID : cutting_plan(arena, &order, &made, &why);
	if (status == ST_OK)
		*planned = plan_view(g, &made, saw);
	else if (status == ST_INVALID)
		*fault = fault_view(g, &why);
	return status == ST_INVALID ? ST_OK : status;
}

/* ---- the saw ---- */

static bool read_length(struct form *form, const char *field, const char *usual, int64_t *nm)
{
	const char *text = form_given(form, field) ? form_text(form, field) : usual;
	struct length length;

	if (length_parse(text, strlen(text), &length) != ST_OK) {
		form_fail(form, field, "is no length; write it like 1/8 in or 3 mm");
		return false;
	}
	*nm = length.nm;
	return true;
}

bool cut_read_saw(struct form *form, struct cutting_saw *saw)
{
	bool kerf = read_length(form, "kerf", USUAL_KERF, &saw->kerf);

	return read_length(form, "trim", USUAL_TRIM, &saw->trim) && kerf;
}

struct form *cut_saw_form(struct arena *arena, struct form *asked)
{
	struct form *form = asked ? asked : form_blank(arena, cut_query);

	if (form && !form_value(form, "kerf", 0)->typed[0])
		form_set(form, "kerf", USUAL_KERF);
	if (form && !form_value(form, "trim", 0)->typed[0])
		form_set(form, "trim", USUAL_TRIM);
	return form;
}
