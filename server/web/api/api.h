/* api.h - the read-only JSON API under /api/v1. static/openapi.json tells
 * programs the same; tests hold the two together.
 */
#ifndef WEB_API_API_H
#define WEB_API_API_H

#include "web/http/context.h"

/* Paging of every list (RFC 8288): inputs, the page asked for, the Link field of the answer. */
#define API_PAGE_MOST 500
#define API_PAGING                                                                                 \
	{"limit", "limit", INPUT_NUMBER, .min = 1, .max = API_PAGE_MOST},                          \
	{                                                                                          \
		"offset", "offset", INPUT_NUMBER, .min = 0, .max = 1000000                         \
	}
struct page api_page(const struct form *form);
void api_links(struct context *c, struct page page, int64_t total);

extern const struct input api_notices_inputs[];
extern const struct input api_check_inputs[];
extern const struct input api_standings_inputs[];

enum status api_notices(struct context *c);
enum status api_notice(struct context *c);
enum status api_check(struct context *c);
enum status api_kit_standings(struct context *c);
enum status api_kit_parts(struct context *c); /* api_parts.c */
enum status api_kit_records(struct context *c);
enum status api_description(struct context *c);

/* api_notes.c */
extern const struct input api_notes_inputs[];
enum status api_notice_notes(struct context *c);

/* api_reports.c */
extern const struct input api_reports_inputs[], api_report_inputs[];
enum status api_reports(struct context *c);
enum status api_report(struct context *c);

/* api_plan.c */
enum status api_kit_plan(struct context *c);
enum status api_model_line(struct context *c);

#endif
