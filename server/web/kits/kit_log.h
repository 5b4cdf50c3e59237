/* kit_log.h - entering into a kit's log, for its page and for answers to questions. */
#ifndef WEB_KITS_KIT_LOG_H
#define WEB_KITS_KIT_LOG_H

#include "store/kit_log.h"
#include "web/http/context.h"

struct log_fault {
	const char *field; /* "day", "hours", "landings"; NULL: none */
	const char *words; /* without the label; in the request's arena */
};

/* Inside the caller's transaction: adds the entry, signed by the member that
 * asks, unless its day lies ahead or its totals go back; *fault then says so and nothing
 * is added. row->entered_by and entered_at are filled in here. As kit_log_add. */
enum status kit_log_enter(struct context *c, struct kit_id kit, struct kit_log_row *row,
                          struct log_fault *fault) MUST_CHECK;

#endif
