/* api.h - the read-only JSON API under /api/v1. static/openapi.json tells
 * programs the same; tests hold the two together.
 */
#ifndef WEB_PAGES_API_H
#define WEB_PAGES_API_H

#include "web/context.h"

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

/* api_plan.c */
enum status api_kit_plan(struct context *c);
enum status api_model_line(struct context *c);

#endif
