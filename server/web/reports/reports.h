/* reports.h - the pages of field reports: handlers and inputs, as routes.inc names them. */
#ifndef WEB_REPORTS_REPORTS_H
#define WEB_REPORTS_REPORTS_H

#include "web/http/route.h"

/* reports.c: all of them, with search and filters. */
extern const struct input reports_inputs[];
handler_fn page_reports;

/* reports_form.c: a new one, another wording, what may be the same, the statement read back. */
extern const struct input report_new_query[], report_inputs[], report_edit_inputs[],
        report_like_inputs[], report_read_back_inputs[];
handler_fn page_report_new, act_report_new, page_report_edit, act_report_edit, act_report_like,
        act_report_read_back;

/* reports_page.c: one of them. */
extern const struct input report_page_inputs[];
handler_fn page_report;

/* reports_answer.c: the answer of another builder. */
extern const struct input finding_inputs[];
handler_fn act_finding, act_finding_remark;

/* reports_acts.c: removed, put back, merged, parted, linked; a steward called; the log. */
extern const struct input report_remove_inputs[], report_merge_query[], report_merge_inputs[],
        report_link_inputs[], report_call_inputs[];
handler_fn page_report_remove, act_report_remove, act_report_put_back, page_report_merge,
        act_report_merge, act_report_part, page_report_link, act_report_link, page_report_call,
        act_report_call, page_report_log;

/* reports_advisory.c: a chapter advisory drawn up from it. */
extern const struct input report_advisory_query[], report_advisory_inputs[];
handler_fn page_report_advisory, act_report_advisory;

/* ask.c: one page for the kit maker's support. */
extern const struct input ask_inputs[];
handler_fn page_ask_notice, page_ask_report;

#endif
