/* What people do to notices, each act checked, logged, and all or nothing. */
#include "store/notices.h"

#include <string.h>

#include "store/revisions.h"
#include "store/settings.h"

enum {
	SQL_STATE,
	SQL_SUBMIT,
	SQL_SEND_BACK,
	SQL_PUBLISH,
	SQL_MAKE_CURRENT,
	SQL_DISCARD,
	SQL_DISCARD_NOTICE,
	SQL_CANCEL,
	SQL_CURRENT,
	SQL_FIND,
	SQL_DRAFT_OF,
	SQL_LOG_ADD,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_STATE] = "SELECT notice_id, state, edit, coalesce(editor, 0) FROM revisions"
                      " WHERE id = ?1 AND state < 2",
        [SQL_SUBMIT] = "UPDATE revisions SET state = 1 WHERE id = ?1 AND state = 0",
        [SQL_SEND_BACK] = "UPDATE revisions SET state = 0 WHERE id = ?1 AND state = 1",
        [SQL_PUBLISH] = "UPDATE revisions SET state = 2, publisher = ?2, published_at = ?3"
                        " WHERE id = ?1 AND state < 2",
        [SQL_MAKE_CURRENT] = "UPDATE notices SET current_revision = ?2, cancelled_on = '',"
                             " cancel_reason = '' WHERE id = ?1",
        [SQL_DISCARD] = "DELETE FROM revisions WHERE id = ?1 AND state < 2",
        [SQL_DISCARD_NOTICE] = "DELETE FROM notices WHERE id = ?1 AND current_revision IS NULL",
        [SQL_CANCEL] = "UPDATE notices SET cancelled_on = ?2, cancel_reason = ?3 WHERE id = ?1"
                       " AND cancelled_on = '' AND current_revision IS NOT NULL",
        [SQL_CURRENT] = "SELECT current_revision FROM notices WHERE id = ?1"
                        " AND current_revision IS NOT NULL",
        [SQL_FIND] = "SELECT id FROM notices WHERE number_key = ?1",
        [SQL_DRAFT_OF] = "SELECT id FROM revisions WHERE notice_id = ?1 AND state < 2",
        [SQL_LOG_ADD] =
                "INSERT INTO notice_log (notice_id, number, label, act, member_id, at, remark)"
                " SELECT n.id, n.number, r.label, ?2, ?3, ?4, ?5"
                " FROM revisions r JOIN notices n ON n.id = r.notice_id WHERE r.id = ?1",
};

const struct sql_set notice_sql = {SET_NOTICES, SQL_COUNT, texts};

static struct query start_of(struct store *store, size_t which, int64_t id)
{
	struct query q = query_start(store, &notice_sql, which, NULL);

	bind_int(&q, id);
	return q;
}

/* Statements whose only parameter is an id, and that change one row. */
static enum status run_of(struct store *store, size_t which, int64_t id)
{
	struct query q = start_of(store, which, id);

	return query_run_one(&q);
}

static const char *const act_names[LOG_ACTS] = {
        [ACT_DRAFTED] = "drafted",       [ACT_SAVED] = "saved",
        [ACT_SUBMITTED] = "submitted",   [ACT_SENT_BACK] = "sent back",
        [ACT_PUBLISHED] = "published",   [ACT_DISCARDED] = "discarded",
        [ACT_CANCELLED] = "cancelled",   [ACT_IMPORTED] = "imported",
        [ACT_FILE_ADDED] = "file added", [ACT_FILE_REMOVED] = "file removed",
};

const char *log_act_words(enum log_act act)
{
	return act_names[act];
}

enum status log_add(struct store *store, const struct log_line *line)
{
	struct query q = start_of(store, SQL_LOG_ADD, line->revision.v);

	bind_int(&q, line->act);
	bind_id_or_null(&q, line->by.v);
	bind_int(&q, line->now);
	bind_text(&q, line->remark);
	return query_run_one(&q);
}

/* Where a draft stands. ST_MISSING when it is none. */
struct draft_state {
	struct notice_id notice;
	enum revision_state state;
	int64_t edit;
	struct member_id editor; /* 0: a removed member */
};

static enum status read_state(struct store *store, struct revision_id id, struct draft_state *out)
{
	struct query q = start_of(store, SQL_STATE, id.v);

	if (query_found(&q)) {
		out->notice.v = read_int(&q);
		out->state = (enum revision_state)read_int(&q);
		out->edit = read_int(&q);
		out->editor.v = read_int(&q);
	}
	return query_end(&q);
}

/* Drafting ------------------------------------------------------------------ */

static enum status draft_notice(struct store *store, const struct revision_content *content,
                                struct member_id by, int64_t now, struct revision_id *out)
{
	struct revision_origin origin = {.state = REVISION_DRAFT, .by = by, .now = now};
	enum status status = notice_insert(store, content, &origin.notice);

	if (status == ST_OK)
		status = revision_insert(store, &origin, content, out);
	if (status == ST_OK)
		status = bound_room(store, BOUND_DRAFTS_MOST, by.v, 0, now);
	if (status != ST_OK)
		return status;
	return log_add(store, &(struct log_line){*out, ACT_DRAFTED, by, now, ""});
}

enum status draft_new_notice(struct store *store, const struct revision_content *content,
                             struct member_id by, int64_t now, struct revision_id *out)
{
	struct revision_id id = {0};
	enum status status = content_check_limits(store, content);

	if (status == ST_OK)
		status = act_begin(store);
	if (status != ST_OK)
		return status;
	status = act_end(store, draft_notice(store, content, by, now, &id));
	if (status == ST_OK)
		*out = id;
	return status;
}

static enum status draft_copy(struct store *store, const struct revision_origin *origin,
                              struct revision_id *out)
{
	enum status status = revision_copy(store, origin, out);

	if (status == ST_OK)
		status = bound_room(store, BOUND_DRAFTS_MOST, origin->by.v, 0, origin->now);
	if (status != ST_OK)
		return status;
	return log_add(store, &(struct log_line){*out, ACT_DRAFTED, origin->by, origin->now, ""});
}

enum status draft_new_revision(struct store *store, struct notice_id notice, struct member_id by,
                               int64_t now, struct revision_id *out)
{
	struct revision_origin origin = {notice, REVISION_DRAFT, by, now};
	struct revision_id id = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = act_end(store, draft_copy(store, &origin, &id));
	if (status == ST_OK)
		*out = id;
	return status;
}

/* Who saves, and which state of the draft they have seen. */
struct saving {
	struct revision_id id;
	int64_t edit;
	struct member_id by;
	int64_t now;
};

static enum status save(struct store *store, const struct saving *saving,
                        const struct revision_content *content, bool *stale)
{
	struct draft_state draft = {.edit = 0};
	struct revision_origin origin = {
	        .state = REVISION_DRAFT, .by = saving->by, .now = saving->now};
	enum status status = read_state(store, saving->id, &draft);

	if (status != ST_OK)
		return status;
	*stale = draft.edit != saving->edit;
	if (*stale)
		return ST_CONFLICT;
	origin.notice = draft.notice;
	status = notice_update(store, draft.notice, content);
	if (status == ST_OK)
		status = revision_update(store, saving->id, &origin, content);
	if (status != ST_OK)
		return status;
	return log_add(store,
	               &(struct log_line){saving->id, ACT_SAVED, saving->by, saving->now, ""});
}

enum status draft_save(struct store *store, struct revision_id id, int64_t edit,
                       const struct revision_content *content, struct member_id by, int64_t now,
                       bool *stale)
{
	const struct saving saving = {id, edit, by, now};
	enum status status = content_check_limits(store, content);

	*stale = false;
	if (status == ST_OK)
		status = act_begin(store);
	if (status != ST_OK)
		return status;
	return act_end(store, save(store, &saving, content, stale));
}

/* An act that moves one draft to another state. */
static enum status move(struct store *store, size_t which, const struct log_line *line)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = run_of(store, which, line->revision.v);
	if (status == ST_OK)
		status = log_add(store, line);
	return act_end(store, status);
}

enum status draft_submit(struct store *store, struct revision_id id, struct member_id by,
                         int64_t now)
{
	return move(store, SQL_SUBMIT, &(struct log_line){id, ACT_SUBMITTED, by, now, ""});
}

enum status draft_send_back(struct store *store, struct revision_id id, struct member_id by,
                            const char *remark, int64_t now)
{
	return move(store, SQL_SEND_BACK, &(struct log_line){id, ACT_SENT_BACK, by, now, remark});
}

static enum status discard(struct store *store, const struct log_line *line)
{
	struct draft_state draft = {.edit = 0};
	enum status status = read_state(store, line->revision, &draft);

	if (status == ST_OK)
		status = log_add(store, line);
	if (status == ST_OK)
		status = run_of(store, SQL_DISCARD, line->revision.v);
	if (status != ST_OK)
		return status;
	status = run_of(store, SQL_DISCARD_NOTICE, draft.notice.v);
	return status == ST_MISSING ? ST_OK : status; /* published before: it stays */
}

enum status draft_discard(struct store *store, struct revision_id id, struct member_id by,
                          int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, discard(store, &(struct log_line){id, ACT_DISCARDED, by, now, ""}));
}

/* Publishing ---------------------------------------------------------------- */

static enum status check_may_publish(struct store *store, const struct saving *saving,
                                     struct draft_state *draft)
{
	bool alone = false;
	enum status status = read_state(store, saving->id, draft);

	if (status == ST_OK)
		status = setting_flag(store, SETTING_ONE_STEWARD, &alone);
	if (status != ST_OK)
		return status;
	if (draft->state == REVISION_DRAFT && !alone)
		return ST_MISSING;
	if (draft->edit != saving->edit)
		return ST_CONFLICT;
	return draft->editor.v == saving->by.v && !alone ? ST_DENIED : ST_OK;
}

static enum status check_content(struct store *store, struct revision_id id)
{
	struct arena *arena = arena_new();
	struct revision revision;
	enum status status = arena ? revision_read(store, arena, id, &revision) : ST_NOMEM;

	if (status == ST_OK)
		status = content_check_complete(arena, &revision.content);
	arena_free(arena);
	return status;
}

static enum status set_published(struct store *store, const struct saving *saving)
{
	struct query q = start_of(store, SQL_PUBLISH, saving->id.v);

	bind_int(&q, saving->by.v);
	bind_int(&q, saving->now);
	return query_run_one(&q);
}

static enum status make_current(struct store *store, struct notice_id notice, struct revision_id id)
{
	struct query q = start_of(store, SQL_MAKE_CURRENT, notice.v);
	enum status status;

	bind_int(&q, id.v);
	status = query_run_one(&q);
	if (status == ST_OK)
		status = search_index(store, notice);
	return status == ST_OK ? setting_generation_up(store) : status;
}

static enum status publish(struct store *store, const struct saving *saving)
{
	const struct log_line line = {saving->id, ACT_PUBLISHED, saving->by, saving->now, ""};
	struct draft_state draft = {.edit = 0};
	enum status status = check_may_publish(store, saving, &draft);

	if (status == ST_OK)
		status = check_content(store, saving->id);
	if (status == ST_OK)
		status = set_published(store, saving);
	if (status == ST_OK)
		status = make_current(store, draft.notice, saving->id);
	return status == ST_OK ? log_add(store, &line) : status;
}

enum status draft_publish(struct store *store, struct revision_id id, int64_t edit,
                          struct member_id by, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, publish(store, &(struct saving){id, edit, by, now}));
}

/* Cancelling ---------------------------------------------------------------- */

static enum status current_of(struct store *store, struct notice_id id, struct revision_id *out)
{
	struct query q = start_of(store, SQL_CURRENT, id.v);

	return query_int(&q, &out->v);
}

static enum status set_cancelled(struct store *store, struct notice_id id, const char *on,
                                 const char *reason)
{
	struct query q = start_of(store, SQL_CANCEL, id.v);
	struct date date;

	bind_text(&q, on);
	bind_text(&q, reason);
	if (date_parse(on, strlen(on), &date) != ST_OK)
		q.status = ST_INVALID;
	return query_run_one(&q);
}

enum status notice_cancel(struct store *store, struct notice_id id, const char *on,
                          const char *reason, struct member_id by, int64_t now)
{
	struct log_line line = {.act = ACT_CANCELLED, .by = by, .now = now, .remark = reason};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = set_cancelled(store, id, on, reason);
	if (status == ST_OK)
		status = current_of(store, id, &line.revision);
	if (status == ST_OK)
		status = log_add(store, &line);
	if (status == ST_OK)
		status = setting_generation_up(store);
	return act_end(store, status);
}

/* Import -------------------------------------------------------------------- */

static enum status check_import(struct store *store, const struct notice_import *notice)
{
	struct arena *arena = arena_new();
	enum status status = arena && notice->n_revisions ? ST_OK : ST_INVALID;

	if (!arena)
		return ST_NOMEM;
	for (size_t i = 0; status == ST_OK && i < notice->n_revisions; i++) {
		struct revision_content content = notice->revisions[i];

		content.number = notice->revisions[0].number;
		content.issuer = notice->revisions[0].issuer;
		status = content_check_limits(store, &content);
		if (status == ST_OK)
			status = content_check_complete(arena, &content);
		arena_reset(arena);
	}
	arena_free(arena);
	return status;
}

static enum status import_revisions(struct store *store, const struct notice_import *notice,
                                    const struct revision_origin *origin, struct revision_id *last)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < notice->n_revisions; i++)
		status = revision_insert(store, origin, &notice->revisions[i], last);
	return status;
}

static enum status import(struct store *store, const struct notice_import *notice,
                          struct revision_origin *origin)
{
	struct log_line line = {
	        .act = ACT_IMPORTED, .by = origin->by, .now = origin->now, .remark = ""};
	enum status status = notice_insert(store, &notice->revisions[0], &origin->notice);

	if (status == ST_OK)
		status = import_revisions(store, notice, origin, &line.revision);
	if (status == ST_OK)
		status = make_current(store, origin->notice, line.revision);
	if (status == ST_OK && *notice->cancelled_on)
		status = set_cancelled(store, origin->notice, notice->cancelled_on,
		                       notice->cancel_reason);
	return status == ST_OK ? log_add(store, &line) : status;
}

enum status notice_import(struct store *store, const struct notice_import *notice,
                          struct member_id by, int64_t now, struct notice_id *out)
{
	struct revision_origin origin = {{0}, REVISION_PUBLISHED, by, now};
	enum status status = check_import(store, notice);

	if (status == ST_OK)
		status = act_begin(store);
	if (status != ST_OK)
		return status;
	status = act_end(store, import(store, notice, &origin));
	if (status == ST_OK)
		*out = origin.notice;
	return status;
}

/* Finding one --------------------------------------------------------------- */

enum status notice_find(struct store *store, const char *number, struct notice_id *out)
{
	struct query q = query_start(store, &notice_sql, SQL_FIND, NULL);

	bind_key_of(&q, number);
	return query_int(&q, &out->v);
}

enum status draft_of(struct store *store, struct notice_id id, struct revision_id *out)
{
	struct query q = start_of(store, SQL_DRAFT_OF, id.v);

	return query_int(&q, &out->v);
}
