/* revisions.h - content of revisions: what the files on notices share; not for other layers. */
#ifndef STORE_REVISIONS_H
#define STORE_REVISIONS_H

#include "store/notices.h"
#include "store/sql.h"

/* Lists of revision_names, by their number there. */
enum { LIST_STEPS, LIST_SUPERSEDES, LIST_REQUIRES, LIST_TERMINATES, LIST_CREDITS };
#define NAME_LISTS 5

/* Who wrote it, when, and in which state it begins. */
struct revision_origin {
	struct notice_id notice;
	enum revision_state state;
	struct member_id by;
	int64_t now;
};

/* Number, issuer and kind of a new notice. */
enum status notice_insert(struct store *store, const struct revision_content *content,
                          struct notice_id *out) MUST_CHECK;
/* Changes nothing once something is published. */
enum status notice_update(struct store *store, struct notice_id id,
                          const struct revision_content *content) MUST_CHECK;

/* The row and its lists. A published one is published by who wrote it. */
enum status revision_insert(struct store *store, const struct revision_origin *origin,
                            const struct revision_content *content,
                            struct revision_id *out) MUST_CHECK;
enum status revision_update(struct store *store, struct revision_id id,
                            const struct revision_origin *origin,
                            const struct revision_content *content) MUST_CHECK;
/* A draft that starts from the notice's current revision. */
enum status revision_copy(struct store *store, const struct revision_origin *origin,
                          struct revision_id *out) MUST_CHECK;

/* ST_LIMIT when a list is too long. */
enum status content_check_limits(struct store *store,
                                 const struct revision_content *content) MUST_CHECK;
/* May it be published? ST_INVALID when not. Uses the arena. */
enum status content_check_complete(struct arena *arena,
                                   const struct revision_content *content) MUST_CHECK;

/* Walks over the lists of a range of revisions, in order of revision id. */
struct query lines_walk(struct store *store, struct arena *arena, int64_t first, int64_t last);
struct query material_walk(struct store *store, struct arena *arena, int64_t first, int64_t last);
struct query names_walk(struct store *store, struct arena *arena, int64_t first, int64_t last);
void read_line_text(struct query *q, void *row);     /* struct line_text */
void read_material_text(struct query *q, void *row); /* struct material_text */
/* The names in one list of one revision; lists must be taken in order. */
void names_of(struct query *q, int64_t revision, int list, query_read_fn *read, size_t size,
              struct rows *rows);

/* Of one revision, in order of adding. */
enum status attachments_of(struct store *store, struct arena *arena, struct revision_id id,
                           struct revision *out) MUST_CHECK;

/* What the lists and the search find of the notice's current revision. */
enum status search_index(struct store *store, struct notice_id id) MUST_CHECK;

/* An entry about a revision that is there. */
struct log_line {
	struct revision_id revision;
	enum log_act act;
	struct member_id by;
	int64_t now;
	const char *remark;
};
enum status log_add(struct store *store, const struct log_line *line) MUST_CHECK;

#endif
