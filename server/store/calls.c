#include "store/calls.h"

#include "store/sql.h"
#include "store/bounds.h"

#define CALL_COLUMNS                                                                               \
	"SELECT c.id, c.note_id, c.report_id, coalesce(m.name, 'removed member'), c.at, c.reason," \
	" c.closed_at, CASE WHEN c.closed_at = 0 THEN '' ELSE coalesce(s.name, 'removed member')"  \
	" END, c.outcome, a.id, coalesce(a.name, 'removed member'), coalesce(t.text, p.title),"    \
	" coalesce(t.removed_at, p.removed_at) FROM steward_calls c"                               \
	" LEFT JOIN members m ON m.id = c.member_id LEFT JOIN members s ON s.id = c.closed_by"     \
	" LEFT JOIN notes t ON t.id = c.note_id LEFT JOIN reports p ON p.id = c.report_id"         \
	" LEFT JOIN members a ON a.id = coalesce(t.author, p.author) "

enum {
	SQL_MAY_CALL_NOTE,
	SQL_MAY_CALL_REPORT,
	SQL_HAS_CALLED,
	SQL_ADD,
	SQL_MAY_CLOSE,
	SQL_CLOSE,
	SQL_STANDING,
	SQL_READ,
	SQL_LIST,
	SQL_TOTAL,
	SQL_WAITING,
	SQL_NOTE_REMOVED,
	SQL_REPORT_REMOVED,
	SQL_AUTHOR_REMOVED,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_MAY_CALL_NOTE] = "SELECT author IS NOT ?2 FROM notes WHERE id = ?1 AND removed_at = 0",
        [SQL_MAY_CALL_REPORT] =
                "SELECT author IS NOT ?2 FROM reports WHERE id = ?1 AND removed_at = 0",
        [SQL_HAS_CALLED] = "SELECT EXISTS (SELECT 1 FROM steward_calls WHERE closed_at = 0"
                           " AND (note_id = ?1 OR report_id = ?2) AND member_id = ?3)",
        [SQL_ADD] = "INSERT INTO steward_calls (note_id, report_id, member_id, reason, at)"
                    " VALUES (?1, ?2, ?3, ?4, ?5)",
        [SQL_MAY_CLOSE] = "SELECT EXISTS (SELECT 1 FROM members WHERE id = ?2 AND NOT disabled"
                          " AND role >= 1) FROM steward_calls WHERE id = ?1 AND closed_at = 0",
        [SQL_CLOSE] = "UPDATE steward_calls SET closed_at = ?2, closed_by = ?3, outcome = ?4"
                      " WHERE id = ?1",
        [SQL_STANDING] = "SELECT t.id, p.id FROM steward_calls c"
                         " LEFT JOIN notes t ON t.id = c.note_id AND t.removed_at = 0"
                         " LEFT JOIN reports p ON p.id = c.report_id AND p.removed_at = 0"
                         " WHERE c.id = ?1",
        [SQL_READ] = CALL_COLUMNS "WHERE c.id = ?1",
        [SQL_LIST] = CALL_COLUMNS "ORDER BY c.closed_at <> 0,"
                                  " CASE WHEN c.closed_at = 0 THEN c.id END,"
                                  " c.closed_at DESC, c.id DESC LIMIT ?1 OFFSET ?2",
        [SQL_TOTAL] = "SELECT count(*) FROM steward_calls",
        [SQL_WAITING] = "SELECT count(*) FROM steward_calls WHERE closed_at = 0",
        [SQL_NOTE_REMOVED] = "UPDATE steward_calls SET closed_at = ?2, closed_by = ?3,"
                             " outcome = CASE ?3 WHEN (SELECT author FROM notes WHERE id = ?1)"
                             " THEN 'Its author removed the note.' ELSE 'The note was removed.' END"
                             " WHERE note_id = ?1 AND closed_at = 0",
        [SQL_REPORT_REMOVED] =
                "UPDATE steward_calls SET closed_at = ?2, closed_by = ?3,"
                " outcome = CASE ?3 WHEN (SELECT author FROM reports WHERE id = ?1)"
                " THEN 'Its author removed the report.' ELSE 'The report was removed.' END"
                " WHERE report_id = ?1 AND closed_at = 0",
        [SQL_AUTHOR_REMOVED] = "UPDATE steward_calls SET closed_at = ?2,"
                               " outcome = 'The note went with the account of its author.'"
                               " WHERE closed_at = 0 AND note_id IN"
                               " (SELECT id FROM notes WHERE author = ?1)",
};

const struct sql_set call_sql = {SET_CALLS, SQL_COUNT, texts};

static struct query start(struct store *store, size_t which, struct arena *arena)
{
	return query_start(store, &call_sql, which, arena);
}

/* Calling ------------------------------------------------------------------- */

static enum status check_may(struct store *store, size_t which, int64_t what, struct member_id by)
{
	struct query q = start(store, which, NULL);
	int64_t may = 0;
	enum status status;

	bind_int(&q, what);
	bind_int(&q, by.v);
	status = query_int(&q, &may);
	return status == ST_OK && !may ? ST_DENIED : status;
}

static enum status check_may_call(struct store *store, const struct call_to *to,
                                  struct member_id member)
{
	if (to->note.v)
		return check_may(store, SQL_MAY_CALL_NOTE, to->note.v, member);
	return check_may(store, SQL_MAY_CALL_REPORT, to->report.v, member);
}

static void bind_to(struct query *q, const struct call_to *to)
{
	bind_id_or_null(q, to->note.v);
	bind_id_or_null(q, to->report.v);
}

static enum status check_first_call(struct store *store, const struct call_to *to,
                                    struct member_id member)
{
	struct query q = start(store, SQL_HAS_CALLED, NULL);
	int64_t has = 0;
	enum status status;

	bind_to(&q, to);
	bind_int(&q, member.v);
	status = query_int(&q, &has);
	return status == ST_OK && has ? ST_CONFLICT : status;
}

static enum status add(struct store *store, const struct call_to *to, struct member_id member,
                       const char *reason, int64_t now, struct call_id *out)
{
	struct query q = start(store, SQL_ADD, NULL);

	bind_to(&q, to);
	bind_int(&q, member.v);
	bind_text(&q, reason);
	bind_int(&q, now);
	return query_insert(&q, &out->v);
}

enum status call_add(struct store *store, const struct call_to *to, struct member_id member,
                     const char *reason, int64_t now, struct call_id *out)
{
	struct call_id id = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = check_may_call(store, to, member);
	if (status == ST_OK)
		status = check_first_call(store, to, member);
	if (status == ST_OK)
		status = bound_room(store, BOUND_CALLS_A_DAY, member.v, 1, now);
	if (status == ST_OK)
		status = add(store, to, member, reason, now, &id);
	status = act_end(store, status);
	if (status == ST_OK)
		*out = id;
	return status;
}

/* Closing ------------------------------------------------------------------- */

static enum status close_one(struct store *store, struct call_id id, struct member_id by,
                             const char *outcome, int64_t now)
{
	struct query q = start(store, SQL_CLOSE, NULL);

	bind_int(&q, id.v);
	bind_int(&q, now);
	bind_int(&q, by.v);
	bind_text(&q, outcome);
	return query_run_one(&q);
}

/* What the call is about, if it still stands; else both ids are 0. */
static enum status read_standing(struct store *store, struct call_id id, struct call_to *out)
{
	struct query q = start(store, SQL_STANDING, NULL);

	bind_int(&q, id.v);
	if (query_found(&q)) {
		out->note.v = read_int(&q);
		out->report.v = read_int(&q);
	}
	return query_end(&q);
}

static enum status remove_it(struct store *store, struct call_id id, struct member_id by,
                             const char *outcome, int64_t now)
{
	struct call_to to = {{0}, {0}};
	enum status status = read_standing(store, id, &to);

	if (status == ST_OK && to.note.v)
		return note_remove(store, to.note, by, now);
	if (status == ST_OK && to.report.v)
		return report_remove(store, to.report, by, outcome, now);
	return status;
}

/* Closed before the note or the report goes: then these words stand, not those of
 * calls_note_removed and calls_report_removed. */
enum status call_close(struct store *store, struct call_id id, struct member_id by, bool take_away,
                       const char *outcome, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = check_may(store, SQL_MAY_CLOSE, id.v, by);
	if (status == ST_OK)
		status = close_one(store, id, by, outcome, now);
	if (status == ST_OK && take_away)
		status = remove_it(store, id, by, outcome, now);
	return act_end(store, status);
}

static enum status close_gone(struct store *store, size_t which, int64_t what, struct member_id by,
                              int64_t now)
{
	struct query q = start(store, which, NULL);

	bind_int(&q, what);
	bind_int(&q, now);
	bind_int(&q, by.v);
	return query_run(&q);
}

enum status calls_note_removed(struct store *store, struct note_id note, struct member_id by,
                               int64_t now)
{
	return close_gone(store, SQL_NOTE_REMOVED, note.v, by, now);
}

enum status calls_report_removed(struct store *store, struct report_id report, struct member_id by,
                                 int64_t now)
{
	return close_gone(store, SQL_REPORT_REMOVED, report.v, by, now);
}

enum status calls_author_removed(struct store *store, struct member_id author, int64_t now)
{
	struct query q = start(store, SQL_AUTHOR_REMOVED, NULL);

	bind_int(&q, author.v);
	bind_int(&q, now);
	return query_run(&q);
}

/* Reading ------------------------------------------------------------------- */

static void read_call(struct query *q, void *row)
{
	struct call *call = row;

	call->id.v = read_int(q);
	call->to.note.v = read_int(q);
	call->to.report.v = read_int(q);
	call->caller = read_text(q);
	call->at = read_int(q);
	call->reason = read_text(q);
	call->closed_at = read_int(q);
	call->closed_by = read_text(q);
	call->outcome = read_text(q);
	call->author.v = read_int(q);
	call->author_name = read_text(q);
	call->words = read_text(q);
	call->removed = read_int(q) != 0;
}

enum status call_read(struct store *store, struct arena *arena, struct call_id id, struct call *out)
{
	struct query q = start(store, SQL_READ, arena);
	struct call call = {.id = {0}};

	bind_int(&q, id.v);
	if (query_found(&q))
		read_call(&q, &call);
	if (q.status == ST_OK)
		*out = call;
	return query_end(&q);
}

enum status call_list(struct store *store, struct arena *arena, struct page page,
                      const struct call **out, size_t *count, int64_t *total)
{
	struct query q = start(store, SQL_LIST, arena);
	struct query all = start(store, SQL_TOTAL, NULL);
	struct rows rows = {0};
	enum status status;

	bind_page(&q, page);
	status = query_page(&q, &all, read_call, sizeof(struct call), &rows, total);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

enum status calls_waiting(struct store *store, int64_t *out)
{
	struct query q = start(store, SQL_WAITING, NULL);

	return query_int(&q, out);
}
