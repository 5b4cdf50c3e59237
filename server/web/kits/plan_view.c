#include "web/kits/plan_view.h"

#include "base/text.h"
#include "formats/json_text.h"
#include "web/html/present.h"

/* ---- words ---- */

static json_t *short_words(const struct kit_view *view, size_t i)
{
	struct text text = TEXT_EMPTY;

	moment_short(view->line, &view->plan.moments[i], &text);
	return json_take_text(&text);
}

json_t *kit_moment_short(const struct kit_view *view, const struct catalogue_entry *entry)
{
	size_t i;

	return kit_plan_find(view, entry, &i) ? short_words(view, i) : json_false();
}

static const char *moment_css(enum moment_kind kind)
{
	static const char *const css[MOMENT_KINDS] = {
	        [MOMENT_FOLD_IN] = "fold-in",   [MOMENT_BEFORE] = "before",
	        [MOMENT_BURIED] = "buried",     [MOMENT_CANNOT_TELL] = "cannot-tell",
	        [MOMENT_ANY_TIME] = "any-time",
	};

	return css[kind];
}

static json_t *sentence(const struct kit_view *view, const struct moment *moment)
{
	struct text text = TEXT_EMPTY;

	moment_sentence(view->line, moment, &text);
	return json_take_text(&text);
}

/* ---- steps and notices ---- */

static json_t *section_url(const struct kit_view *view, uint32_t section)
{
	return json_sprintf("/kits/%lld/line/%u", (long long)view->kit.id.v, section + 1);
}

json_t *kit_step_view(const struct kit_view *view, uint32_t step)
{
	const struct line_step *at = &view->line->steps[step];
	const struct section_entry *section = &view->line->entry->sections[at->section];

	return json_pack("{s:s, s:s, s:o, s:o, s:s, s:o}", "code", at->entry->code.text, "title",
	                 at->entry->title, "hours", present_hours(at->entry->hours), "open_hours",
	                 present_hours(line_hours_to_open(view->line, step)), "section",
	                 section->title, "section_url", section_url(view, at->section));
}

json_t *kit_steps_view(const struct kit_view *view, const uint64_t *set)
{
	json_t *list = json_array();

	for (uint32_t s = step_set_next(view->line, set, 0); list && s != LINE_NO_STEP;
	     s = step_set_next(view->line, set, s + 1))
		list = present_append(list, kit_step_view(view, s));
	return list;
}

json_t *kit_plan_link(const struct kit_view *view, size_t i)
{
	const struct notice *notice = &kit_plan_entry(view, i)->notice;

	return json_pack("{s:s, s:s, s:o, s:o, s:o, s:I}", "number", notice->number.text, "title",
	                 notice->title, "url",
	                 json_sprintf("/kits/%lld/notices/%lld", (long long)view->kit.id.v,
	                              (long long)notice->id.v),
	                 "force", present_force(notice->force), "short", short_words(view, i), "id",
	                 (json_int_t)notice->id.v);
}

static json_t *beside(const struct kit_view *view, size_t i)
{
	json_t *list = json_array();

	for (size_t k = 0; list && k < view->plan.count; k++)
		if (plan_serves(&view->plan, i, k))
			list = present_append(list, kit_plan_link(view, k));
	return list;
}

json_t *kit_moment_view(const struct kit_view *view, const struct catalogue_entry *entry)
{
	const struct moment *moment;
	size_t i;

	if (!kit_plan_find(view, entry, &i))
		return json_false();
	moment = &view->plan.moments[i];
	return json_pack("{s:s, s:s, s:o, s:b, s:o, s:o, s:o, s:o, s:o}", "word",
	                 moment_words(moment->kind), "css", moment_css(moment->kind), "sentence",
	                 sentence(view, moment), "buried", moment->kind == MOMENT_BURIED, "opening",
	                 present_some("steps", kit_steps_view(view, moment->open)), "beside",
	                 present_some("notices", beside(view, i)), "together_url",
	                 json_sprintf("/kits/%lld/together?notice=%lld", (long long)view->kit.id.v,
	                              (long long)entry->notice.id.v),
	                 "line_url", json_sprintf("/kits/%lld/line", (long long)view->kit.id.v),
	                 "figure", line_figure(view->line, &view->plan.progress, moment));
}
