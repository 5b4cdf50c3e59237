/* under_way.c - kits whose builders let other members see how far they are, and
 * pointing out to them what lies ahead: "have you seen this?"
 *
 * Shown are name, model, the build line and the notices whose last good moment comes next;
 * never a serial number, a date or a record. What is to be pointed out comes with
 * the query, from the page of a notice or a report, or from the list of the kit itself.
 */
#include "store/under_way.h"

#include "web/kits/kit_page.h"
#include "web/kits/plan_view.h"
#include "web/kits/kit_parts.h"
#include "web/news/news.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define PAGE_KITS 50
#define STEPS_SHOWN 5
#define NOTICES_SHOWN 10

static const char *const yes_no[] = {"yes", "no", NULL};
const struct input kit_shown_inputs[] = {
        {"shown", "Shown", INPUT_CHOICE, .choices = yes_no},
        {"named", "Named to stewards", INPUT_CHOICE, .choices = yes_no},
        INPUTS_END};

const struct input under_way_query[] = {{"q", "Name, model or builder", INPUT_LINE, .longest = 100},
                                        {"notice", "Notice", INPUT_ID},
                                        {"report", "Report", INPUT_ID},
                                        {"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000},
                                        INPUTS_END};

const struct input under_way_kit_query[] = {
        {"notice", "Notice", INPUT_ID}, {"report", "Report", INPUT_ID}, INPUTS_END};

const struct input point_inputs[] = {{"words", "What you saw coming", INPUT_TEXT, .required = true,
                                      .longest = POINT_WORDS_LONGEST},
                                     {"notice", "Notice", INPUT_ID},
                                     {"report", "Report", INPUT_ID},
                                     INPUTS_END};

/* ---- letting it be seen ---- */

/* Each button of the kit's page says one of the two. */
enum status act_kit_shown(struct context *c)
{
	struct kit_id kit = {context_id(c, "kit")};
	enum status status = ST_INVALID;

	if (form_ok(c->form) && form_given(c->form, "shown"))
		status = kit_set_shown(c->store, kit, form_choice(c->form, "shown") == 0);
	else if (form_ok(c->form) && form_given(c->form, "named"))
		status = kit_set_named(c->store, kit, form_choice(c->form, "named") == 0);
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/kits/%lld?said=saved#shown", (long long)kit.v);
}

/* ---- what is pointed out ---- */

static json_t *thing(const char *number, const char *title, const char *field, int64_t id)
{
	return json_pack("{s:o, s:s, s:s, s:I, s:o}", "number", present_text(number), "title",
	                 title, "field", field, "id", (json_int_t)id, "url",
	                 json_sprintf("/%ss/%lld", field, (long long)id));
}

/* The notice or report of the form or query; false when there is none. ST_MISSING: it
 * is not there to be read. */
static enum status find_thing(struct context *c, json_t **out)
{
	struct notice_id notice = {form_given(c->form, "notice") ? form_number(c->form, "notice")
	                                                         : 0};
	struct report_id id = {form_given(c->form, "report") ? form_number(c->form, "report") : 0};
	const struct catalogue_entry *entry = catalogue_find_id(c->catalogue, notice);
	struct report report;
	enum status status = ST_OK;

	if (notice.v && !entry)
		return ST_MISSING;
	if (notice.v) {
		*out = thing(entry->notice.number.text, entry->notice.title, "notice", notice.v);
		return ST_OK;
	}
	if (!id.v) {
		*out = json_false();
		return ST_OK;
	}
	status = report_read(c->store, c->arena, id, &report);
	if (status == ST_OK && report.removed_at)
		status = ST_MISSING;
	if (status == ST_OK)
		*out = thing("", report.content.title, "report", id.v);
	return status;
}

/* "?notice=3", "?report=4", "" */
static const char *thing_query(struct context *c, const json_t *thing_view)
{
	const char *field = json_string_value(json_object_get(thing_view, "field"));

	if (!field)
		return "";
	return arena_printf(c->arena, "?%s=%lld", field,
	                    (long long)json_integer_value(json_object_get(thing_view, "id")));
}

/* ---- the list ---- */

static json_t *shown_view(const struct shown_kit *kit, const char *query)
{
	return json_pack("{s:s, s:s, s:o, s:o}", "name", kit->name, "builder", kit->owner_name,
	                 "model", present_text(kit->model), "url",
	                 json_sprintf("/under-way/%lld%s", (long long)kit->id.v, query));
}

enum status page_under_way(struct context *c)
{
	int64_t number = form_given(c->form, "page") ? form_number(c->form, "page") : 1;
	struct page page = {PAGE_KITS, (number - 1) * PAGE_KITS};
	const struct shown_kit *kits = NULL;
	json_t *rows = json_array(), *about = NULL;
	const char *query;
	size_t count = 0;
	int64_t total = 0;
	enum status status = find_thing(c, &about);

	if (status == ST_OK)
		status = shown_list(c->store, c->arena, form_text(c->form, "q"), page, &kits,
		                    &count, &total);
	if (status != ST_OK) {
		json_decref(about);
		json_decref(rows);
		return status;
	}
	query = thing_query(c, about);
	for (size_t i = 0; i < count; i++)
		rows = present_append(rows, query ? shown_view(&kits[i], query) : NULL);
	return respond_page(
	        c, "under_way.html", "Kits under way",
	        json_pack("{s:o, s:o, s:o, s:b, s:o, s:b}", "rows", rows, "thing", about, "form",
	                  form_view(c->form), "searched", form_given(c->form, "q"), "pager",
	                  total ? present_pager(c->request->path, &c->request->query, &page, total)
	                        : json_false(),
	                  "in_kits", 1));
}

/* ---- one kit ---- */

static json_t *next_steps(const struct kit_view *view)
{
	const struct line_progress *p = &view->plan.progress;
	json_t *list = json_array();
	unsigned shown = 0;

	for (uint32_t s = p->here; s < view->line->count && shown < STEPS_SHOWN; s++)
		if (!step_set_has(p->done, s)) {
			list = present_append(list, kit_step_view(view, s));
			shown++;
		}
	return list;
}

static json_t *coming_view(const struct kit_view *view, size_t i)
{
	const struct notice *notice = &kit_plan_entry(view, i)->notice;

	return json_pack("{s:s, s:s, s:o, s:o, s:o, s:o}", "number", notice->number.text, "title",
	                 notice->title, "force", present_force(notice->force), "when",
	                 kit_moment_short(view, kit_plan_entry(view, i)), "url",
	                 json_sprintf("/notices/%lld", (long long)notice->id.v), "point_url",
	                 json_sprintf("/under-way/%lld?notice=%lld#form", (long long)view->kit.id.v,
	                              (long long)notice->id.v));
}

/* What is ahead, in the order of building: its last good moment is still to come. */
static json_t *coming(const struct kit_view *view)
{
	json_t *list = json_array();
	unsigned shown = 0;

	for (size_t k = 0; k < view->plan.count && shown < NOTICES_SHOWN; k++) {
		size_t i = view->plan.order[k];
		enum moment_kind kind = view->plan.moments[i].kind;

		if (kind != MOMENT_FOLD_IN && kind != MOMENT_BEFORE)
			continue;
		list = present_append(list, coming_view(view, i));
		shown++;
	}
	return list;
}

static json_t *line_part(const struct kit_view *view)
{
	const struct line_progress *p = &view->plan.progress;

	if (!view->line)
		return json_false();
	return json_pack("{s:o, s:i, s:i, s:o, s:o, s:o, s:o}", "figure",
	                 line_figure(view->line, p, NULL), "done", (int)p->steps_done, "total",
	                 (int)view->line->count, "hours", present_hours(p->hours_done), "all_hours",
	                 present_hours(p->hours_all), "next",
	                 present_some("steps", next_steps(view)), "coming",
	                 present_some("notices", coming(view)));
}

static enum status show_kit(struct context *c, const struct kit_view *view, void *about)
{
	bool own = view->kit.owner.v == c->member->id.v;

	return respond_page(
	        c, "under_way_kit.html", arena_printf(c->arena, "%s under way", view->kit.name),
	        json_pack("{s:s, s:s, s:o, s:o, s:O, s:b, s:o, s:o, s:b}", "name", view->kit.name,
	                  "builder", view->kit.owner_name, "model",
	                  present_name(&view->facts.model), "line", line_part(view), "thing", about,
	                  "own", own, "form", form_view(c->form), "point_url",
	                  json_sprintf("/under-way/%lld/point", (long long)view->kit.id.v),
	                  "in_kits", 1));
}

/* The kit, when its builder lets it be seen and may sign in, as in the list. */
static enum status find_shown(struct context *c, struct kit *kit)
{
	struct member owner;
	enum status status =
	        kit_read(c->store, c->arena, (struct kit_id){context_id(c, "kit")}, kit);

	if (status == ST_OK && !kit->shown)
		status = ST_MISSING;
	if (status == ST_OK)
		status = member_read(c->store, c->arena, kit->owner, &owner);
	return status == ST_OK && owner.disabled ? ST_MISSING : status;
}

/* Steals what is pointed out. */
static enum status show_form(struct context *c, json_t *about)
{
	struct kit kit;
	enum status status = find_shown(c, &kit);

	if (status == ST_OK)
		status = kit_with_view(c, kit.id, show_kit, about);
	json_decref(about);
	return status;
}

/* What is to be pointed out comes with the query. */
enum status page_under_way_kit(struct context *c)
{
	json_t *about = NULL;
	enum status status = find_thing(c, &about);

	if (status != ST_OK)
		return status;
	c->form = form_blank(c->arena, point_inputs);
	if (c->form)
		return show_form(c, about);
	json_decref(about);
	return ST_NOMEM;
}

/* What the store refuses, in words on the form; true: it was shown again. */
static bool explain(struct context *c, enum status status)
{
	if (status == ST_CONFLICT) {
		form_fail(c->form, "", "You have pointed this out to this builder already.");
		return true;
	}
	return form_bound(c->form, c->store, status) == ST_OK && !form_ok(c->form);
}

static enum status try_point(struct context *c)
{
	struct pointing pointing = {.kit = {context_id(c, "kit")},
	                            .from = c->member->id,
	                            .words = form_text(c->form, "words")};

	if (form_given(c->form, "notice"))
		pointing.notice.v = form_number(c->form, "notice");
	else
		pointing.report.v = form_number(c->form, "report");
	return point_out(c->store, &pointing, c->now);
}

enum status act_point(struct context *c)
{
	json_t *about = NULL;
	enum status status = find_thing(c, &about);

	if (status != ST_OK)
		return status;
	if (json_is_false(about))
		form_fail(c->form, "", "Choose first what to point out: a notice or a report.");
	if (form_ok(c->form))
		status = try_point(c);
	if (!form_ok(c->form) || explain(c, status))
		return show_form(c, about);
	json_decref(about);
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/under-way/%lld?said=pointed-out",
	                        (long long)context_id(c, "kit"));
}
