/* api_plan.c - the build line of a model, and the plan of a kit, as the API shows them. */
#include <string.h>

#include "base/text.h"
#include "formats/json_lines.h"
#include "formats/json_text.h"
#include "web/kits/kit_page.h"
#include "web/kits/plan_view.h"
#include "web/api/api.h"
#include "web/api/api_view.h"
#include "web/html/present.h"
#include "web/http/respond.h"

/* ---- a model's line ---- */

enum status api_model_line(struct context *c)
{
	const char *model = context_capture(c, "model");
	struct name name;
	struct line_id id;
	struct line_head head;
	struct line_entry entry;
	enum status status = name_make(c->arena, model, strlen(model), &name);

	if (status == ST_OK)
		status = line_of_model(c->store, &name, &id);
	if (status == ST_OK)
		status = line_read(c->store, c->arena, id, &head, &entry);
	if (status != ST_OK)
		return status;
	return respond_json(c,
	                    json_pack("{s:o, s:I, s:s}", "line", json_from_line(&entry), "version",
	                              (json_int_t)head.version, "caution", api_caution),
	                    CACHE_PUBLIC);
}

/* ---- a kit's plan ---- */

static json_t *hours_json(int64_t hundredths)
{
	return json_real((double)hundredths / 100);
}

static json_t *code_json(const struct line *line, uint32_t step)
{
	return step == LINE_NO_STEP ? json_null() : json_string(line->steps[step].entry->code.text);
}

static json_t *codes_json(const struct line *line, const uint64_t *set)
{
	json_t *list = json_array();

	for (uint32_t s = step_set_next(line, set, 0); s != LINE_NO_STEP;
	     s = step_set_next(line, set, s + 1))
		json_array_append_new(list, code_json(line, s));
	return list;
}

static json_t *day_json(day_number day)
{
	char iso[DATE_TEXT_SIZE];

	date_print(date_of_day(day), iso);
	return json_string(iso);
}

/* null unless the moment is ahead. */
static json_t *left_json(const struct moment *moment)
{
	const struct work_left *left = &moment->left;

	if (moment->kind != MOMENT_FOLD_IN && moment->kind != MOMENT_BEFORE)
		return json_null();
	return json_pack("{s:i, s:o, s:o, s:o}", "steps", (int)left->steps, "hours",
	                 hours_json(left->hours), "longest_chain", hours_json(left->path), "date",
	                 left->has_date ? day_json(left->date) : json_null());
}

static json_t *beside_json(const struct kit_view *view, size_t i)
{
	json_t *list = json_array();

	for (size_t k = 0; k < view->plan.count; k++)
		if (plan_serves(&view->plan, i, k))
			json_array_append_new(
			        list, json_string(kit_plan_entry(view, k)->notice.number.text));
	return list;
}

static json_t *moment_json(const struct kit_view *view, size_t i)
{
	const struct moment *moment = &view->plan.moments[i];
	const struct notice *notice = &kit_plan_entry(view, i)->notice;
	struct text words = TEXT_EMPTY;

	moment_sentence(view->line, moment, &words);
	return json_pack("{s:I, s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:i, s:o, s:o, s:i, s:o}",
	                 "id", (json_int_t)notice->id.v, "number", notice->number.text, "title",
	                 notice->title, "moment", moment_words(moment->kind), "words",
	                 json_take_text(&words), "at", code_json(view->line, moment->at), "left",
	                 left_json(moment), "open", codes_json(view->line, moment->open),
	                 "open_hours", hours_json(moment->open_hours), "steps_if_left",
	                 (int)moment->n_late, "hours_if_left", hours_json(moment->late_hours),
	                 "dearer", code_json(view->line, moment->dearer), "steps_not_on_line",
	                 (int)moment->n_strange, "beside", beside_json(view, i));
}

static json_t *moments_json(const struct kit_view *view)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < view->plan.count; i++)
		list = present_append(list, moment_json(view, view->plan.order[i]));
	return list;
}

static json_t *pace_json(const struct line_progress *progress)
{
	if (!progress->has_pace)
		return json_null();
	return json_pack("{s:o, s:i}", "hours", hours_json(progress->pace_hours), "days",
	                 (int)progress->pace_days);
}

static json_t *progress_json(const struct kit_view *view)
{
	const struct line_progress *p = &view->plan.progress;

	return json_pack("{s:b, s:i, s:i, s:o, s:o, s:o, s:o}", "known", p->known, "steps_done",
	                 (int)p->steps_done, "steps", (int)view->line->count, "hours_done",
	                 hours_json(p->hours_done), "hours", hours_json(p->hours_all), "here",
	                 code_json(view->line, p->here), "pace", pace_json(p));
}

static json_t *line_json(const struct kit_view *view)
{
	return json_pack("{s:s, s:I}", "model", view->line->entry->model.text, "version",
	                 (json_int_t)view->kit.line_version);
}

static enum status show_plan(struct context *c, const struct kit_view *view)
{
	bool has = view->line != NULL;

	return respond_json(c,
	                    json_pack("{s:o, s:o, s:o, s:i, s:s}", "line",
	                              has ? line_json(view) : json_null(), "progress",
	                              has ? progress_json(view) : json_null(), "notices",
	                              has ? moments_json(view) : json_array(), "left",
	                              (int)view->piled[PILE_LEFT], "caution", api_caution),
	                    CACHE_PRIVATE);
}

enum status api_kit_plan(struct context *c)
{
	return kit_page(c, show_plan);
}
