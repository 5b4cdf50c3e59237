/* kit_line.c - the build line of a kit: what is built, marked with one tap.
 *
 * All sections stand in a list, and the steps of one of them, so that the page
 * stays small. A tap changes one step, a section, or all up to a section; the
 * answer offers to undo exactly what it changed, as a mask of steps that counts
 * only for the version of the line that it was made from.
 *
 * A step may be marked although what it needs is not: real builds do it. The
 * page then says so as long as it is so.
 */
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "store/kits.h"
#include "formats/json_text.h"
#include "web/kits/kit_page.h"
#include "web/kits/plan_view.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/http/respond.h"

#define WARNINGS_SHOWN 5
#define MASK_LONGEST (LINE_STEPS_MOST / 4 + 1)

const struct input kit_line_inputs[] = {
        {"section", "Section", INPUT_NUMBER, .min = 1, .max = LINE_SECTIONS_MOST},
        {"undo", "What to undo", INPUT_LINE, .longest = MASK_LONGEST},
        {"version", "Version of the line", INPUT_NUMBER},
        INPUTS_END};

static const char *const acts[] = {"section", "clear", "upto", "undo", "all", "not-all", NULL};
enum { ACT_SECTION, ACT_CLEAR, ACT_UP_TO, ACT_UNDO, ACT_ALL, ACT_NOT_ALL };

const struct input kit_line_post_inputs[] = {
        {"section", "Section", INPUT_NUMBER, .min = 1, .max = LINE_SECTIONS_MOST},
        {"done", "Step", INPUT_NAME},
        {"undone", "Step", INPUT_NAME},
        {"act", "What to do", INPUT_CHOICE, .choices = acts},
        {"on", "Done on", INPUT_DATE},
        {"undo", "What to undo", INPUT_LINE, .longest = MASK_LONGEST},
        {"version", "Version of the line", INPUT_NUMBER},
        INPUTS_END};

/* ---- masks: a hexadecimal digit for four steps ---- */

static const char digits[] = "0123456789abcdef";

static const char *mask_text(struct arena *arena, const struct line *line, const uint64_t *set)
{
	size_t len = (line->count + 3) / 4;
	char *out = arena_array(arena, len + 1, 1);

	for (size_t i = 0; out && i < len; i++)
		out[i] = digits[(set[i / 16] >> (i % 16 * 4)) & 15];
	return out;
}

/* False when the text is no mask of this line. */
static bool mask_read(const struct line *line, const char *text, uint64_t *set)
{
	size_t len = strlen(text);

	if (len != (line->count + 3) / 4)
		return false;
	for (size_t i = 0; i < len; i++) {
		const char *digit = strchr(digits, text[i]);

		if (!digit)
			return false;
		set[i / 16] |= (uint64_t)(digit - digits) << (i % 16 * 4);
	}
	return line->count % 64 == 0 || set[line->words - 1] >> (line->count % 64) == 0;
}

/* ---- showing ---- */

static uint32_t chosen_section(const struct kit_view *view, int64_t asked)
{
	uint32_t here = view->plan.progress.here;

	if (asked >= 1 && (size_t)asked <= view->line->entry->n_sections)
		return (uint32_t)asked - 1;
	return here == LINE_NO_STEP ? 0 : view->line->steps[here].section;
}

static json_t *done_on(const struct kit_view *view, const struct name *code)
{
	struct date_fact done = facts_step_date(&view->facts, code);

	return done.state == DATE_KNOWN ? present_date(&done.date) : json_false();
}

static json_t *covering(const struct kit_view *view, uint32_t step)
{
	const uint64_t *covers = line_row(view->line, view->line->covered_by, step);
	struct text text = TEXT_EMPTY;

	for (uint32_t s = step_set_next(view->line, covers, 0); s != LINE_NO_STEP;
	     s = step_set_next(view->line, covers, s + 1))
		if (step_set_has(view->plan.progress.done, s))
			text_printf(&text, "%s%s", text.len ? ", " : "",
			            view->line->steps[s].entry->code.text);
	if (text.len || text_failed(&text))
		return json_take_text(&text);
	text_free(&text);
	return json_false();
}

static json_t *step_row(const struct kit_view *view, uint32_t step)
{
	json_t *row = kit_step_view(view, step);

	row = present_set(row, "done", json_boolean(step_set_has(view->plan.progress.done, step)));
	row = present_set(row, "on", done_on(view, &view->line->steps[step].entry->code));
	return present_set(row, "covered", covering(view, step));
}

static json_t *step_rows(const struct kit_view *view, uint32_t section)
{
	json_t *list = json_array();

	for (uint32_t s = view->line->section_from[section];
	     list && s < view->line->section_from[section + 1]; s++)
		list = present_append(list, step_row(view, s));
	return list;
}

static json_t *section_row(const struct kit_view *view, uint32_t section, bool open)
{
	const struct section_entry *entry = &view->line->entry->sections[section];
	int done = 0;
	int64_t hours = 0;

	for (uint32_t s = view->line->section_from[section];
	     s < view->line->section_from[section + 1]; s++) {
		done += step_set_has(view->plan.progress.done, s);
		hours += view->line->steps[s].entry->hours;
	}
	return json_pack(
	        "{s:i, s:s, s:s, s:i, s:i, s:o, s:b, s:b, s:b, s:o, s:o, s:o}", "number",
	        (int)section + 1, "code", entry->code.text, "title", entry->title, "done", done,
	        "total", (int)entry->n_steps, "hours", present_hours(hours), "all",
	        done == (int)entry->n_steps, "some", done > 0, "open", open, "url",
	        json_sprintf("/kits/%lld/line?section=%u", (long long)view->kit.id.v, section + 1),
	        "before_url",
	        json_sprintf("/kits/%lld/line/%u", (long long)view->kit.id.v, section + 1), "steps",
	        open ? present_some("rows", step_rows(view, section)) : json_false());
}

static json_t *section_rows(const struct kit_view *view, uint32_t chosen)
{
	json_t *list = json_array();

	for (uint32_t i = 0; list && i < view->line->entry->n_sections; i++)
		list = present_append(list, section_row(view, i, i == chosen));
	return list;
}

/* Steps that are marked while one that they need is not. */
static json_t *warnings_view(const struct kit_view *view)
{
	const struct line *line = view->line;
	const uint64_t *done = view->plan.progress.done;
	json_t *list = json_array();
	int more = 0;

	for (uint32_t s = step_set_next(line, done, 0); list && s != LINE_NO_STEP;
	     s = step_set_next(line, done, s + 1))
		for (size_t k = 0; list && k < line->steps[s].entry->n_needs; k++) {
			uint32_t needed = line->steps[s].needs[k];

			if (step_set_has(done, needed))
				continue;
			if (json_array_size(list) < WARNINGS_SHOWN)
				list = present_append(list,
				                      json_pack("{s:o, s:o}", "step",
				                                kit_step_view(view, s), "needed",
				                                kit_step_view(view, needed)));
			else
				more++;
		}
	if (!list || json_array_size(list) > 0)
		return json_pack("{s:o, s:i}", "rows", list, "more", more);
	json_decref(list);
	return json_false();
}

static json_t *pace_view(const struct line_progress *progress)
{
	if (!progress->has_pace)
		return json_false();
	return json_pack("{s:o, s:i}", "hours", present_hours(progress->pace_hours), "days",
	                 (int)progress->pace_days);
}

/* What the query of the page asks for; after a faulty tap there is none. */
struct asked {
	int64_t section; /* 0: the one at the kit's place */
	const char *undo;
	int64_t version;
};

static json_t *undo_view(const struct asked *asked, const struct kit_view *view)
{
	uint64_t set[LINE_STEPS_MOST / 64 + 1] = {0};

	if (asked->version != view->kit.line_version || !mask_read(view->line, asked->undo, set))
		return json_false();
	return json_pack("{s:s, s:I}", "mask", asked->undo, "version", (json_int_t)asked->version);
}

static json_t *progress_view(const struct kit_view *view)
{
	const struct line_progress *p = &view->plan.progress;

	return json_pack("{s:i, s:i, s:o, s:o, s:b, s:o, s:i}", "done", (int)p->steps_done, "total",
	                 (int)view->line->count, "hours", present_hours(p->hours_done), "all_hours",
	                 present_hours(p->hours_all), "known", p->known, "pace", pace_view(p),
	                 "dated", (int)p->n_dated);
}

/* A model without a line, or no model at all. */
static json_t *no_line(const struct kit_view *view)
{
	return json_pack("{s:b, s:o, s:b}", "line", 0, "model", present_name(&view->facts.model),
	                 "in_line", 1);
}

static json_t *line_page(struct context *c, const struct kit_view *view, const struct asked *asked)
{
	uint32_t section = chosen_section(view, asked->section);
	json_t *form = form_view(c->form);

	return json_pack("{s:o, s:o, s:o, s:o, s:o, s:i, s:o, s:o, s:b}", "line",
	                 json_pack("{s:o, s:o, s:o, s:o}", "figure",
	                           line_figure(view->line, &view->plan.progress, NULL), "progress",
	                           progress_view(view), "warnings", warnings_view(view), "undo",
	                           undo_view(asked, view)),
	                 "sections", section_rows(view, section), "what_if_url",
	                 json_sprintf("/kits/%lld/what-if", (long long)view->kit.id.v),
	                 "together_url",
	                 json_sprintf("/kits/%lld/together", (long long)view->kit.id.v), "model",
	                 present_name(&view->facts.model), "section", (int)section + 1, "date",
	                 json_incref(json_object_get(form, "on")), "form", form, "in_line", 1);
}

static enum status show_line(struct context *c, const struct kit_view *view,
                             const struct asked *asked)
{
	return kit_respond(c, &view->kit, "kit_line.html",
	                   arena_printf(c->arena, "Build line of %s", view->kit.name),
	                   view->line ? line_page(c, view, asked) : no_line(view));
}

/* The form of the page is that of its POST. A query with a fault asks for nothing. */
static enum status show_blank(struct context *c, const struct kit_view *view)
{
	struct asked asked = {.undo = ""};

	if (form_ok(c->form))
		asked = (struct asked){form_number(c->form, "section"), form_text(c->form, "undo"),
		                       form_number(c->form, "version")};
	c->form = form_blank(c->arena, kit_line_post_inputs);
	return c->form ? show_line(c, view, &asked) : ST_NOMEM;
}

enum status page_kit_line(struct context *c)
{
	return kit_page(c, show_blank);
}

/* ---- marking ---- */

/* What a tap asks for. */
struct change {
	uint64_t set[LINE_STEPS_MOST / 64 + 1];
	bool undone; /* unmark them */
};

static void add_sections(const struct line *line, uint32_t first, uint32_t last, uint64_t *set)
{
	for (uint32_t s = line->section_from[first]; s < line->section_from[last + 1]; s++)
		step_set_add(set, s);
}

static void choose_step(struct context *c, const struct kit_view *view, const char *field,
                        struct change *out)
{
	struct name code = form_name(c->form, field);
	uint32_t step = line_find(view->line, &code);

	if (step == LINE_NO_STEP)
		form_fail(c->form, field, "%s is not on the build line", code.text);
	else
		step_set_add(out->set, step);
}

static void choose_undo(struct context *c, const struct kit_view *view, struct change *out)
{
	if (form_number(c->form, "version") != view->kit.line_version ||
	    !mask_read(view->line, form_text(c->form, "undo"), out->set))
		form_fail(c->form, "undo", "no longer fits the build line");
}

static void choose_sections(struct context *c, const struct kit_view *view, int act,
                            struct change *out)
{
	int64_t number = form_number(c->form, "section");

	if (number < 1 || (size_t)number > view->line->entry->n_sections)
		form_fail(c->form, "section", "is not on the build line");
	else
		add_sections(view->line, act == ACT_UP_TO ? 0 : (uint32_t)number - 1,
		             (uint32_t)number - 1, out->set);
}

static void choose(struct context *c, const struct kit_view *view, struct change *out)
{
	int act = form_choice(c->form, "act");

	out->undone = form_given(c->form, "undone") || act == ACT_CLEAR || act == ACT_UNDO;
	if (form_given(c->form, "done") + form_given(c->form, "undone") + (act >= 0) != 1)
		form_fail(c->form, "", "Tap one button at a time");
	else if (act < 0)
		choose_step(c, view, out->undone ? "undone" : "done", out);
	else if (act == ACT_UNDO)
		choose_undo(c, view, out);
	else
		choose_sections(c, view, act, out);
	if (form_given(c->form, "on") && form_date(c->form, "on").date.first > c->today)
		form_fail(c->form, "on", "lies in the future");
}

/* Only what changes is kept in the set: this is what an undo takes back. */
static void keep_changes(const struct kit_view *view, struct change *change)
{
	for (uint32_t w = 0; w < view->line->words; w++)
		change->set[w] &=
		        change->undone ? view->plan.progress.done[w] : ~view->plan.progress.done[w];
}

/* A date given again is taken over for a step that is marked already. */
static enum status store_change(struct context *c, const struct kit_view *view,
                                const struct change *change)
{
	struct name *names = ARENA_ARRAY(c->arena, struct name, view->line->count);
	struct date_fact on = form_date(c->form, "on");
	size_t count = 0;

	if (!names)
		return ST_NOMEM;
	for (uint32_t s = step_set_next(view->line, change->set, 0); s != LINE_NO_STEP;
	     s = step_set_next(view->line, change->set, s + 1))
		names[count++] = view->line->steps[s].entry->code;
	return change->undone ? kit_unmark_steps(c->store, view->kit.id, names, count)
	                      : kit_mark_steps(c->store, view->kit.id, names, count, &on);
}

static enum status answer(struct context *c, const struct kit_view *view,
                          const struct change *change, bool can_undo)
{
	const char *said = change->undone ? "steps-unmarked" : "steps-marked";
	uint32_t section = chosen_section(view, form_number(c->form, "section")) + 1;
	const char *mask = mask_text(c->arena, view->line, change->set);

	if (!mask)
		return ST_NOMEM;
	if (!can_undo)
		return respond_redirect(c, "/kits/%lld/line?section=%u&said=%s",
		                        (long long)view->kit.id.v, section, said);
	return respond_redirect(c, "/kits/%lld/line?section=%u&undo=%s&version=%lld&said=%s",
	                        (long long)view->kit.id.v, section, mask,
	                        (long long)view->kit.line_version, said);
}

static enum status set_known(struct context *c, const struct kit_view *view, bool known)
{
	enum status status = kit_set_steps_known(c->store, view->kit.id, known);

	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/kits/%lld/line?said=saved", (long long)view->kit.id.v);
}

static enum status take_line(struct context *c, const struct kit_view *view)
{
	int act = form_choice(c->form, "act");
	struct change change = {.undone = false};
	const struct asked asked = {form_number(c->form, "section"), "", 0};
	enum status status;

	if (!view->line) /* gone since the page was made: the page says so */
		return respond_redirect(c, "/kits/%lld/line", (long long)view->kit.id.v);
	if (form_ok(c->form) && (act == ACT_ALL || act == ACT_NOT_ALL))
		return set_known(c, view, act == ACT_ALL);
	if (form_ok(c->form))
		choose(c, view, &change);
	if (!form_ok(c->form))
		return show_line(c, view, &asked);
	if (!form_given(c->form, "done") || change.undone)
		keep_changes(view, &change);
	status = store_change(c, view, &change);
	return status == ST_OK ? answer(c, view, &change, !change.undone) : status;
}

enum status act_kit_line(struct context *c)
{
	return kit_page(c, take_line);
}
