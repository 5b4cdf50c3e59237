/* kit_log.h - a kit's log of hours and landings, and its events to come.
 *
 * The log is only added to, and is the one place for hours and landings: the
 * newest entry that counts gives the facts of kits.h. An entry that another
 * corrects or withdraws counts no more, and stays. Whether totals go back is
 * asked of core (use_goes_back) by whoever adds, inside a transaction.
 */
#ifndef STORE_KIT_LOG_H
#define STORE_KIT_LOG_H

#include "core/use.h"
#include "store/kits.h"

struct kit_log_id {
	int64_t v; /* 0: none */
};

struct kit_log_row {
	struct kit_log_id id;
	struct kit_log_id corrects; /* v 0: a first entry */
	bool withdraws;             /* with corrects: nothing takes its place */
	bool counts;
	struct use_entry entry;
	const char *entered_by; /* name at the time of entry */
	int64_t entered_at;
};

/* row->id and counts are not used. ST_MISSING: no such kit, or `corrects` is no
 * entry of this kit; ST_CONFLICT: that entry is corrected already, or nothing
 * is said. */
enum status kit_log_add(struct store *store, struct kit_id kit, const struct kit_log_row *row,
                        struct kit_log_id *out) MUST_CHECK;

/* All of one kit, newest day first; none for a kit that does not exist. */
enum status kit_log_list(struct store *store, struct arena *arena, struct kit_id kit,
                         const struct kit_log_row **out, size_t *count) MUST_CHECK;

/* What counts, as core wants it. */
enum status kit_log_use(struct store *store, struct arena *arena, struct kit_id kit,
                        struct kit_use *out) MUST_CHECK;

/* In place of what was planned for it; with neither day nor hours it is planned
 * no more. ST_MISSING: no such kit. */
enum status kit_plan_event(struct store *store, struct kit_id kit,
                           const struct planned_event *event) MUST_CHECK;

#endif
