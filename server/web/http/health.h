/* health.h - can the box keep what members send? */
#ifndef WEB_HTTP_HEALTH_H
#define WEB_HTTP_HEALTH_H

#include "web/http/context.h"

struct health;                   /* what the last look found; locks itself */
struct health *health_new(void); /* NULL: out of memory */
void health_free(struct health *health);

/* GET /health: 200 {"status": "ok"}, or 503 {"status": "trouble", "why": TEXT}.
 * Looks, and writes a little, at most every HEALTH_SECONDS; in between it says
 * what was found last. */
#define HEALTH_SECONDS 5
enum status page_health(struct context *c);

#endif
