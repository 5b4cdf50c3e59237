/* notes.h - free words of members on notices. */
#ifndef STORE_NOTES_H
#define STORE_NOTES_H

#include "core/notice.h"
#include "store/members.h"

#define NOTE_LONGEST 10000 /* characters */

struct note_id {
	int64_t v;
};

struct note {
	struct note_id id;
	struct notice_id notice;
	const char *number; /* of the notice */
	struct member_id author;
	const char *author_name;
	int64_t written_at;
	const char *text;       /* CommonMark as typed; "" when removed */
	int64_t removed_at;     /* 0: stands */
	const char *removed_by; /* name; "" while it stands */
};

/* ST_CONFLICT: no such notice or member, or the text is empty or too long. */
enum status note_add(struct store *store, struct notice_id notice, struct member_id author,
                     const char *text, int64_t now, struct note_id *out) MUST_CHECK;
/* Takes the words away and keeps the trace. ST_MISSING: no such note, or it
 * is removed already; ST_DENIED: `by` is neither its author nor a steward. */
enum status note_remove(struct store *store, struct note_id id, struct member_id by,
                        int64_t now) MUST_CHECK;
/* On one notice, newest last, removed ones as traces. */
enum status note_list(struct store *store, struct arena *arena, struct notice_id notice,
                      struct page page, const struct note **out, size_t *count,
                      int64_t *total) MUST_CHECK;
/* By one member, oldest first, for the download of own data. */
enum status note_list_by(struct store *store, struct arena *arena, struct member_id author,
                         struct page page, const struct note **out, size_t *count,
                         int64_t *total) MUST_CHECK;

#endif
