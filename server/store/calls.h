/* calls.h - members call a steward to look at a note or a report; the queue.
 *
 * A call waits until a steward closes it with words of what was done. Calls
 * are kept.
 */
#ifndef STORE_CALLS_H
#define STORE_CALLS_H

#include "store/notes.h"
#include "store/reports.h"

#define CALL_WORDS_LONGEST 2000 /* characters, of reason and outcome */

struct call_id {
	int64_t v; /* 0: none */
};

/* What a steward is called to: exactly one id is not 0. */
struct call_to {
	struct note_id note;
	struct report_id report;
};

struct call {
	struct call_id id;
	struct call_to to;
	const char *caller; /* name; "removed member" */
	int64_t at;
	const char *reason;
	int64_t closed_at;     /* 0: waits */
	const char *closed_by; /* name; "" while it waits */
	const char *outcome;   /* "" while it waits */
	/* Of the note or the report, as it is now. */
	struct member_id author; /* v 0: removed */
	const char *author_name; /* "removed member" */
	const char *words;       /* of the note; title of the report; "" of a removed note */
	bool removed;
};

/* ST_MISSING: no such note or report, or it is removed; ST_DENIED: it is the
 * member's own; ST_CONFLICT: the member has called already and it waits, or the
 * reason is empty or too long. */
enum status call_add(struct store *store, const struct call_to *to, struct member_id member,
                     const char *reason, int64_t now, struct call_id *out) MUST_CHECK;

/* Closes it; `outcome` is not empty. take_away: the note or the report is removed
 * as well (if it still stands), a report with the outcome as its reason. ST_MISSING: no such call,
 * or it is closed; ST_DENIED: `by` is no steward. */
enum status call_close(struct store *store, struct call_id id, struct member_id by, bool take_away,
                       const char *outcome, int64_t now) MUST_CHECK;

/* ST_MISSING. */
enum status call_read(struct store *store, struct arena *arena, struct call_id id,
                      struct call *out) MUST_CHECK;
/* Those that wait, longest first; then the closed ones, latest first. */
enum status call_list(struct store *store, struct arena *arena, struct page page,
                      const struct call **out, size_t *count, int64_t *total) MUST_CHECK;
enum status calls_waiting(struct store *store, int64_t *out) MUST_CHECK;

/* For notes.c and reports.c: what calls waited for is gone. */
enum status calls_note_removed(struct store *store, struct note_id note, struct member_id by,
                               int64_t now) MUST_CHECK;
enum status calls_report_removed(struct store *store, struct report_id report, struct member_id by,
                                 int64_t now) MUST_CHECK;
enum status calls_author_removed(struct store *store, struct member_id author,
                                 int64_t now) MUST_CHECK;

#endif
