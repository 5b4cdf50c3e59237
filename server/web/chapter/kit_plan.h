/* kit_plan.h - the build line and the moments as pages of a kit show them.
 *
 * A kit's view holds the compiled line of its model and the plan for what is
 * left to do, both made with it. As in present.h every json_t is a new
 * reference, NULL when memory ran out.
 */
#ifndef WEB_CHAPTER_KIT_PLAN_H
#define WEB_CHAPTER_KIT_PLAN_H

#include "web/chapter/kit_view.h"

/* The model's line, compiled into the arena. ST_MISSING: it has none.
 * ST_INVALID: what is stored breaks a rule of line_make; ST_NOMEM. */
enum status line_load(struct store *store, struct arena *arena, struct line_id id, struct line *out,
                      int64_t *version) MUST_CHECK;

/* Fills view->line and view->plan, or leaves them NULL and empty when the
 * model has no line. The view's piles are made. */
enum status kit_plan_load(struct store *store, struct arena *arena,
                          struct kit_view *view) MUST_CHECK;

/* Where the notice stands in the plan; false: there is no line, or it is not left to do. */
bool kit_plan_find(const struct kit_view *view, const struct catalogue_entry *entry, size_t *out);

/* The entry of the plan's i-th notice. */
const struct catalogue_entry *kit_plan_entry(const struct kit_view *view, size_t i);

/* "before EMP-05 closes it": one string, false when there is no plan for the notice. */
json_t *kit_moment_short(const struct kit_view *view, const struct catalogue_entry *entry);

/* For moment.html: {"word", "css", "sentence", "strange", "open" (steps, or
 * false), "beside" (notices, or false), "together_url", "figure", ...}; false when
 * there is no plan for the notice. */
json_t *kit_moment_view(const struct kit_view *view, const struct catalogue_entry *entry);

/* {"code", "title", "hours", "section", "section_url"} */
json_t *kit_step_view(const struct kit_view *view, uint32_t step);

/* A list of such, in the line's numbering. */
json_t *kit_steps_view(const struct kit_view *view, const uint64_t *set);

/* {"number", "title", "url", "force", "short"} of the plan's i-th notice. */
json_t *kit_plan_link(const struct kit_view *view, size_t i);

/* The whole line for line_figure.html; moment may be NULL. */
json_t *line_figure(const struct line *line, const struct line_progress *progress,
                    const struct moment *moment);

#endif
