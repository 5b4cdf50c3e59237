/* kit_together.c - several notices counted together, and the line in another order.
 *
 * Both are questions without consequences: nothing is stored.
 */
#include "base/text.h"
#include "formats/json_text.h"
#include "web/kits/kit_page.h"
#include "web/kits/plan_view.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/http/respond.h"

const struct input kit_together_inputs[] = {{"notice", "Notice", INPUT_ID, .repeated = true},
                                            INPUTS_END};

const struct input kit_what_if_inputs[] = {
        {"step", "Step to move", INPUT_NAME}, {"after", "Put it behind", INPUT_NAME}, INPUTS_END};

/* ---- several notices ---- */

static bool is_chosen(struct context *c, int64_t notice)
{
	for (size_t i = 0; i < form_count(c->form, "notice"); i++)
		if (form_value(c->form, "notice", i)->number == notice)
			return true;
	return false;
}

static json_t *choice_row(struct context *c, const struct kit_view *view, size_t i)
{
	int64_t id = kit_plan_entry(view, i)->notice.id.v;

	return present_set(kit_plan_link(view, i), "ticked", json_boolean(is_chosen(c, id)));
}

/* In the order of the list. */
static json_t *choices_view(struct context *c, const struct kit_view *view)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < view->plan.count; i++)
		list = present_append(list, choice_row(c, view, view->plan.order[i]));
	return list;
}

static enum status find_cost(struct context *c, const struct kit_view *view,
                             struct joint_cost *cost, size_t *count)
{
	size_t *chosen = ARENA_ARRAY(c->arena, size_t, view->plan.count);

	*count = 0;
	if (!chosen)
		return ST_NOMEM;
	for (size_t i = 0; i < view->plan.count; i++)
		if (is_chosen(c, kit_plan_entry(view, i)->notice.id.v))
			chosen[(*count)++] = i;
	return plan_joint(c->arena, &view->plan, chosen, *count, cost);
}

static json_t *cost_view(const struct kit_view *view, const struct joint_cost *cost, size_t count)
{
	if (count == 0)
		return json_false();
	return json_pack("{s:i, s:i, s:i, s:i, s:o, s:o, s:o, s:o}", "count", (int)count, "buried",
	                 (int)cost->buried, "unsure", (int)cost->unsure, "steps", (int)cost->n_open,
	                 "hours", present_hours(cost->hours), "sum", present_hours(cost->sum),
	                 "saved", present_hours(cost->sum - cost->hours), "opening",
	                 present_some("steps", kit_steps_view(view, cost->open)));
}

static enum status show_together(struct context *c, const struct kit_view *view)
{
	struct joint_cost cost;
	size_t count;
	enum status status;

	if (!view->line)
		return ST_MISSING;
	status = find_cost(c, view, &cost, &count);
	if (status != ST_OK)
		return status;
	return kit_respond(c, &view->kit, "kit_together.html", "Several notices together",
	                   json_pack("{s:o, s:o, s:o, s:o, s:b}", "choices", choices_view(c, view),
	                             "cost", cost_view(view, &cost, count), "together_url",
	                             json_sprintf("/kits/%lld/together", (long long)view->kit.id.v),
	                             "form", form_view(c->form), "in_line", 1));
}

enum status page_kit_together(struct context *c)
{
	return kit_page(c, show_together);
}

/* ---- another order ---- */

/* Where the step goes: behind another, or to the front. */
static bool read_move(struct context *c, const struct line *line, uint32_t *step, uint32_t *to)
{
	struct name code = form_name(c->form, "step"), after = form_name(c->form, "after");
	uint32_t behind = form_given(c->form, "after") ? line_find(line, &after) : 0;

	*step = line_find(line, &code);
	if (*step == LINE_NO_STEP)
		form_fail(c->form, "step", "is not on the build line");
	if (behind == LINE_NO_STEP)
		form_fail(c->form, "after", "is not on the build line");
	if (!form_ok(c->form))
		return false;
	if (behind == *step && form_given(c->form, "after"))
		form_fail(c->form, "after", "is the step itself");
	*to = 0;
	if (form_given(c->form, "after"))
		*to = line->place[behind] + (line->place[behind] < line->place[*step]);
	return form_ok(c->form);
}

static json_t *short_of(const struct plan *plan, size_t i)
{
	struct text text = TEXT_EMPTY;

	moment_short(plan->line, &plan->moments[i], &text);
	return json_take_text(&text);
}

static bool same_moment(const struct moment *a, const struct moment *b)
{
	return a->kind == b->kind && a->at == b->at && a->open_hours == b->open_hours &&
	       a->late_hours == b->late_hours;
}

static json_t *changes_view(const struct kit_view *view, const struct plan *moved)
{
	json_t *list = json_array();

	for (size_t k = 0; list && k < view->plan.count; k++) {
		size_t i = moved->order[k];
		json_t *row;

		if (same_moment(&view->plan.moments[i], &moved->moments[i]))
			continue;
		row = present_set(kit_plan_link(view, i), "then", short_of(moved, i));
		row = present_set(row, "late_before",
		                  present_hours(view->plan.moments[i].late_hours));
		list = present_append(
		        list,
		        present_set(row, "late_then", present_hours(moved->moments[i].late_hours)));
	}
	return list;
}

/* Steps that would stand before one that they need. */
static json_t *broken_view(const struct kit_view *view, const struct line *moved)
{
	json_t *list = json_array();

	for (uint32_t s = 0; list && s < moved->count; s++) {
		uint32_t needed = line_needs_later(moved, s);

		if (needed != LINE_NO_STEP)
			list = present_append(list, json_pack("{s:o, s:o}", "step",
			                                      kit_step_view(view, s), "needed",
			                                      kit_step_view(view, needed)));
	}
	return present_some("rows", list);
}

static enum status moved_plan(struct context *c, const struct kit_view *view,
                              const struct line *moved, struct plan *out)
{
	const struct notice **notices =
	        ARENA_ARRAY(c->arena, const struct notice *, view->plan.count);

	if (!notices)
		return ST_NOMEM;
	for (size_t i = 0; i < view->plan.count; i++)
		notices[i] = &kit_plan_entry(view, i)->notice;
	return plan_make(c->arena, moved, &view->facts, notices, view->plan.count, view->today,
	                 out);
}

static enum status try_move(struct context *c, const struct kit_view *view, uint32_t step,
                            uint32_t to, json_t **out)
{
	struct line moved;
	struct plan plan;
	enum status status = line_reorder(c->arena, view->line, step, to, &moved);

	if (status == ST_OK)
		status = moved_plan(c, view, &moved, &plan);
	if (status == ST_OK)
		*out = json_pack("{s:o, s:o, s:o, s:o}", "step", kit_step_view(view, step),
		                 "changes", present_some("rows", changes_view(view, &plan)),
		                 "broken", broken_view(view, &moved), "figure",
		                 line_figure(&moved, &plan.progress, NULL));
	return status;
}

static json_t *step_codes(const struct line *line)
{
	json_t *list = json_array();

	for (uint32_t i = 0; list && i < line->count; i++)
		list = present_append(list, json_string(line->steps[i].entry->code.text));
	return list;
}

static enum status show_what_if(struct context *c, const struct kit_view *view)
{
	json_t *outcome = json_false();
	uint32_t step, to;
	enum status status = ST_OK;

	if (!view->line)
		return ST_MISSING;
	if (form_ok(c->form) && form_given(c->form, "step") && read_move(c, view->line, &step, &to))
		status = try_move(c, view, step, to, &outcome);
	if (status != ST_OK)
		return status;
	return kit_respond(c, &view->kit, "kit_what_if.html", "Another order",
	                   json_pack("{s:o, s:o, s:o, s:o, s:b}", "outcome", outcome, "codes",
	                             step_codes(view->line), "form",
	                             present_hint(form_view(c->form), "after",
	                                          "Left empty: at the very beginning"),
	                             "what_if_url",
	                             json_sprintf("/kits/%lld/what-if", (long long)view->kit.id.v),
	                             "in_line", 1));
}

enum status page_kit_what_if(struct context *c)
{
	return kit_page(c, show_what_if);
}
