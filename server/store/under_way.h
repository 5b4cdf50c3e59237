/* under_way.h - kits whose builders let other members see how far they are, and
 * what others point out to them.
 */
#ifndef STORE_UNDER_WAY_H
#define STORE_UNDER_WAY_H

#include "store/bounds.h"
#include "store/kits.h"
#include "store/reports.h"

#define POINT_WORDS_LONGEST 500 /* characters */

struct shown_kit {
	struct kit_id id;
	const char *name, *owner_name;
	const char *model; /* "" when not known */
};

/* Kits that are shown and whose name, model or builder's name holds the words, in
 * order of name. "": all. Builders who may not sign in are left out. */
enum status shown_list(struct store *store, struct arena *arena, const char *words,
                       struct page page, const struct shown_kit **out, size_t *count,
                       int64_t *total) MUST_CHECK;

/* One of notice and report. The builder has news of it. ST_MISSING: no such kit, or
 * it is not shown; ST_DENIED: it is the member's own; ST_CONFLICT: the member pointed
 * the same thing out before; ST_LIMIT: POINTS_A_DAY within a day already. */
struct pointing {
	struct kit_id kit;
	struct member_id from;
	struct notice_id notice; /* v 0: a report */
	struct report_id report;
	const char *words;
};
enum status point_out(struct store *store, const struct pointing *pointing, int64_t now) MUST_CHECK;

#endif
