/* reports_answer.h - the forms by which builders answer a field report. */
#ifndef WEB_REPORTS_REPORTS_ANSWER_H
#define WEB_REPORTS_REPORTS_ANSWER_H

#include "web/reports/reports_parts.h"

/* For report.html, false for visitors and where it was removed: {"kits": [{"id", "name", "facts"
 * (the line that goes with the answer, or false), "fits" (by the report's statement, in words),
 * "open" (does it
 * stand open?), "before" (what was answered for it last, or false), "fields" (of pictures),
 * "choices", "credits", "url", "ask_url"}...]}. New reference in *out. What the store says;
 * ST_NOMEM. */
enum status answers_view(struct context *c, const struct report_sheet *sheet,
                         const struct effectivity *statement, json_t **out) MUST_CHECK;

#endif
