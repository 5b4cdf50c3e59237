/* plan_view.h - the moments of a kit's notices, as pages show them.
 *
 * As in present.h every json_t is a new reference, NULL when memory ran out.
 */
#ifndef WEB_KITS_PLAN_VIEW_H
#define WEB_KITS_PLAN_VIEW_H

#include "chapter/kit_view.h"
#include "web/html/line_figure.h"

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

#endif
