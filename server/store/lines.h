/* lines.h - build lines, one for each model.
 *
 * The store keeps what was typed; core/line.h checks it before and compiles it
 * afterwards. A line's version goes up with each change, and its id is never
 * used again: pages made from a line are fresh as long as both are the same.
 */
#ifndef STORE_LINES_H
#define STORE_LINES_H

#include "core/line.h"
#include "store/members.h"

struct line_id {
	int64_t v; /* 0: none */
};

struct line_head {
	struct line_id id;
	const char *model;
	int64_t version;
	const char *editor; /* name; "" when nobody is known */
	int64_t edited_at;
	int64_t sections, steps;
	int64_t hours; /* hundredths, of all steps */
};

/* Puts the line in place of the one of its model, or adds it. `seen` is the
 * version that the change starts from: 0 for a model without a line, or
 * LINE_ANY_VERSION. ST_CONFLICT: another version is stored, or the entry
 * breaks a rule of line_make that the database holds, too. by {0}: nobody. */
#define LINE_ANY_VERSION (-1)
enum status line_save(struct store *store, const struct line_entry *entry, int64_t seen,
                      struct member_id by, int64_t now, struct line_id *out) MUST_CHECK;
/* ST_MISSING: no such line; ST_CONFLICT: it has another version. */
enum status line_remove(struct store *store, struct line_id id, int64_t seen) MUST_CHECK;

/* ST_MISSING. */
enum status line_of_model(struct store *store, const struct name *model,
                          struct line_id *out) MUST_CHECK;
enum status line_read(struct store *store, struct arena *arena, struct line_id id,
                      struct line_head *head, struct line_entry *entry) MUST_CHECK;
/* In order of model. */
enum status line_list(struct store *store, struct arena *arena, const struct line_head **out,
                      size_t *count) MUST_CHECK;

#endif
