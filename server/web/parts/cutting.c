/* cutting.c - lengths to cut of one stock, from a kit's open notices and the
 * builder's own, and the bars to cut them from (web/html/cut_plan.h).
 */
#include <string.h>

#include "base/text.h"
#include "store/parts.h"
#include "web/kits/kit_page.h"
#include "web/html/cut_plan.h"
#include "formats/json_text.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/html/present_parts.h"
#include "web/http/respond.h"

static const char *const uses[] = {"wanted", "on hand", NULL};

const struct input cutting_inputs[] = {
        {"code", "Stock code", INPUT_NAME, .required = true},
        {"use", "These lengths are", INPUT_CHOICE, .required = true, .choices = uses},
        {"cut", "Lengths", INPUT_LINE, .required = true, .longest = 500},
        {"remark", "Remark", INPUT_LINE, .longest = PARTS_REMARK_LONGEST},
        INPUTS_END};

/* ---- gathering ---- */

static void gather_notices(struct cut_gathering *g, const struct kit_view *view,
                           const struct name *stock)
{
	for (size_t i = 0; i < view->n_wanted; i++) {
		const struct wanted *w = &view->wanted[i];

		if (w->material && name_equal(&w->need.number, stock))
			cut_add_pieces(g, w->material->cuts, w->material->n_cuts);
	}
}

static enum status gather_own(struct context *c, struct cut_gathering *g, const struct name *stock,
                              const struct kit_length *lengths, size_t count)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < count; i++) {
		const struct cut *cuts;
		struct cuts_fault fault;
		size_t n;

		if (!name_equal(&lengths[i].stock, stock))
			continue;
		status = cuts_parse(c->arena, lengths[i].cut, &cuts, &n, &fault);
		if (status != ST_OK)
			break;
		if (lengths[i].use == LENGTH_WANTED)
			cut_add_pieces(g, cuts, n);
		for (size_t k = 0; lengths[i].use == LENGTH_ON_HAND && k < n; k++)
			cut_add_bar(g, cuts[k].length, cuts[k].count, 0);
	}
	return status;
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
	return present_some("lengths", list);
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
	return present_some("stocks", list);
}

static struct form *own_form(const struct context *c)
{
	struct form *form;

	if (c->route->inputs == cutting_inputs)
		return c->form;
	form = form_blank(c->arena, cutting_inputs);
	if (form && c->route->inputs == cut_query && form_given(c->form, "stock"))
		form_set(form, "code", form_text(c->form, "stock"));
	return form;
}

static enum status plan_stock(struct context *c, const struct kit_view *view,
                              const struct kit_length *lengths, size_t count, json_t **planned,
                              json_t **fault)
{
	struct cut_gathering *g = ARENA_NEW(c->arena, struct cut_gathering);
	struct name stock = form_name(c->form, "stock");
	struct cutting_saw saw;
	enum status status;

	if (!g)
		return ST_NOMEM;
	if (!cut_read_saw(c->form, &saw) || !form_ok(c->form))
		return ST_OK;
	gather_notices(g, view, &stock);
	cut_add_sale(g, view->parts, &stock);
	status = gather_own(c, g, &stock, lengths, count);
	return status == ST_OK ? cut_plan(c->arena, g, &saw, planned, fault) : status;
}

static enum status show_cutting(struct context *c, const struct kit_view *view)
{
	bool asked = c->route->inputs == cut_query && form_given(c->form, "stock");
	const struct kit_length *lengths;
	json_t *planned = json_false(), *fault = json_false();
	struct form *own = own_form(c), *saw;
	size_t count;
	enum status status = kit_length_list(c->store, c->arena, view->kit.id, &lengths, &count);

	if (status == ST_OK && asked)
		status = plan_stock(c, view, lengths, count, &planned, &fault);
	saw = cut_saw_form(c->arena, c->route->inputs == cut_query ? c->form : NULL);
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
	status = form_bound(c->form, c->store, status);
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_cutting(c, view);
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
