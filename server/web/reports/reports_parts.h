/* reports_parts.h - what the pages of field reports have in common, and the API
 * with them. As in present.h every json_t is a new reference, NULL when memory
 * ran out.
 *
 * Who reads what: the words of a report, answers and remarks are public. Facts
 * of kits are for members, and so is the split that separates best: it names one,
 * a serial number or a date. A name is shown as its owner wished (names.h).
 */
#ifndef WEB_REPORTS_REPORTS_PARTS_H
#define WEB_REPORTS_REPORTS_PARTS_H

#include <jansson.h>

#include "web/http/context.h"
#include "chapter/report_sheet.h"

/* The split that separates best, when it is a hint: *hint false, *out untouched when not. ST_NOMEM.
 */
enum status report_split(struct arena *arena, const struct report_sheet *sheet, struct split *out,
                         bool *hint) MUST_CHECK;

/* The id that {report} captures. */
struct report_id report_captured(const struct context *c);

/* May the caller change it: its author, or a steward? */
bool report_is_theirs(const struct context *c, const struct report *report);

/* "/reports/12" and what follows it. */
json_t *report_url(struct report_id id, const char *page);

/* Where a fault seen on the kit is reported; step and part: NULL when not said. */
json_t *report_new_url(struct kit_id kit, const char *step, const char *part);

/* "found on 4 of 9 kits looked at" */
json_t *report_tally_words(const struct findings_tally *tally);

/* {"word", "css"}: in plain words; css is the weight of the rule beside it. */
json_t *report_severity(enum severity severity);
/* {"word", "css"} for stamp.html. */
json_t *report_state(enum report_state state);

/* For reports_rows.html: {"id", "url", "title", "model", "step", "zone", "severity", "state",
 * "tally", "made"}; a list of them. */
json_t *report_row(const struct report_row *row);
json_t *report_rows(const struct report_row *rows, size_t count);

/* Reports linked to a notice, for reports_linked.html: {"rows", "more_url" (or false)}; false
 * when there is none. New reference in *out. What the store says; ST_NOMEM. */
enum status report_linked_view(struct context *c, struct notice_id notice, json_t **out) MUST_CHECK;

/* Short words of a form for severity, credit and answer, ended by NULL, in the
 * order of the enums; what stands beside the radio button. */
extern const char *const report_severities[];
extern const char *const report_credits[];
extern const char *const report_answers[];
/* Choices for choices.html: [{"id", "value", "words", "chosen"}...]; typed: what is chosen. */
json_t *report_severity_choices(const char *typed);
json_t *report_credit_choices(const char *prefix, const char *typed);
json_t *report_answer_choices(const char *prefix, const char *typed);

/* The facts that matter for a report in one line: "WH-0123, purchased September 2017,
 * lot 4 of WH-2207-1". What is not known is left out; false when nothing is known. */
json_t *report_facts_short(const struct report *report, const struct effectivity *statement,
                           const struct facts *facts);

/* The statement of a report; NULL when it does not compile (any more). */
const struct effectivity *report_statement(struct arena *arena, const struct report *report);

/* A page of reports: "in_reports" is added to the view, which is stolen. */
enum status report_respond(struct context *c, const char *template, const char *title,
                           json_t *view) MUST_CHECK;

/* Borrows the sheet for the call of use; passes on what that returns. What the
 * store says; ST_MISSING: no such report. */
typedef enum status report_use_fn(struct context *c, const struct report_sheet *sheet,
                                  void *context);
enum status report_with_sheet(struct context *c, struct report_id id, report_use_fn *use,
                              void *context) MUST_CHECK;

#endif
