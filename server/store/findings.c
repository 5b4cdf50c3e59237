/* Findings: added, counted, read with the facts as they were.
 *
 * What counts of them is core's to say. The tally is kept with the report that
 * they are read with and made anew whenever these are others: lists of reports
 * read it and never the findings.
 */
#include "store/news.h"
#include "store/report_sql.h"

#define LISTING(facts)                                                                             \
	"SELECT f.id, f.report_id, f.kit, f.author, coalesce(m.name, 'removed member'),"           \
	" iif(m.id IS NULL, 0, f.credit), f.answer, f.at, f.remark, " facts                        \
	" FROM findings f JOIN kit_snapshots s ON s.id = f.snapshot_id"                            \
	" LEFT JOIN members m ON m.id = f.author "

enum {
	SQL_STANDS,
	SQL_KIT_OWNER,
	SQL_ADD,
	SQL_MAY_REMOVE_REMARK,
	SQL_REMOVE_REMARK,
	SQL_LOG_REMARK,
	SQL_ANSWERS,
	SQL_SET_TALLY,
	SQL_LIST,
	SQL_LIST_BY,
	SQL_FACTS,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_STANDS] =
                "SELECT 1 FROM reports WHERE id = ?1 AND removed_at = 0 AND merged_into IS NULL",
        [SQL_KIT_OWNER] = "SELECT owner FROM kits WHERE id = ?1",
        [SQL_ADD] = "INSERT INTO findings (report_id, kit, author, snapshot_id, answer, credit,"
                    " at, remark) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        [SQL_MAY_REMOVE_REMARK] =
                "SELECT report_id, EXISTS (SELECT 1 FROM members WHERE id = ?2 AND NOT disabled"
                " AND (role >= 1 OR id = f.author)) FROM findings f WHERE id = ?1 AND remark <> ''",
        [SQL_REMOVE_REMARK] = "UPDATE findings SET remark = '' WHERE id = ?1",
        [SQL_LOG_REMARK] = "INSERT INTO report_log (report_id, at, member_id, act, remark)"
                           " VALUES (?1, ?2, ?3, ?4, '')",
        [SQL_ANSWERS] = "SELECT answer, kit, author FROM findings WHERE report_id IN " READ_TOGETHER
                        " ORDER BY id",
        [SQL_SET_TALLY] = "UPDATE reports SET found = ?2, not_there = ?3, does_not_fit = ?4,"
                          " finders = ?5, lookers = ?6, findings_say = ?7 WHERE id = ?1",
        [SQL_LIST] =
                LISTING(SPLITTING_COLUMNS) "WHERE f.report_id IN " READ_TOGETHER " ORDER BY f.id",
        [SQL_LIST_BY] = LISTING(SNAPSHOT_COLUMNS) "WHERE f.author = ?1 ORDER BY f.id",
        [SQL_FACTS] = "SELECT " SNAPSHOT_COLUMNS " FROM findings f"
                      " JOIN kit_snapshots s ON s.id = f.snapshot_id WHERE f.id = ?1",
};

const struct sql_set finding_sql = {SET_FINDINGS, SQL_COUNT, texts};

static struct query start_of(struct store *store, size_t which, struct arena *arena, int64_t id)
{
	struct query q = query_start(store, &finding_sql, which, arena);

	bind_int(&q, id);
	return q;
}

/* The tally ------------------------------------------------------------------ */

static void read_answer(struct query *q, void *row)
{
	struct finding *finding = row;

	finding->answer = (enum finding_answer)read_int(q);
	finding->kit = read_int(q);
	finding->member = read_int(q);
}

static enum status set_tally(struct store *store, struct report_id id,
                             const struct findings_tally *tally)
{
	struct query q = start_of(store, SQL_SET_TALLY, NULL, id.v);

	bind_int(&q, (int64_t)tally->found);
	bind_int(&q, (int64_t)tally->not_there);
	bind_int(&q, (int64_t)tally->does_not_fit);
	bind_int(&q, (int64_t)tally->finders);
	bind_int(&q, (int64_t)tally->lookers);
	bind_int(&q, report_state_of(tally, false));
	return query_run_one(&q);
}

static enum status recount(struct store *store, struct arena *arena, struct report_id id)
{
	struct query q = start_of(store, SQL_ANSWERS, arena, id.v);
	struct rows rows = {0};
	const struct finding *counting;
	struct findings_tally tally;
	size_t count;
	enum status status = query_rows(&q, read_answer, sizeof(struct finding), &rows);

	if (status == ST_OK)
		status = findings_pick(arena, rows.at, rows.count, &counting, &count);
	if (status == ST_OK)
		status = findings_tally(arena, counting, count, &tally);
	return status == ST_OK ? set_tally(store, id, &tally) : status;
}

enum status findings_recount(struct store *store, struct report_id id)
{
	struct arena *arena = arena_new();
	enum status status = arena ? recount(store, arena, id) : ST_NOMEM;

	arena_free(arena);
	return status;
}

/* Adding --------------------------------------------------------------------- */

static enum status check_own_kit(struct store *store, struct kit_id kit, struct member_id author)
{
	struct query q = start_of(store, SQL_KIT_OWNER, NULL, kit.v);
	int64_t owner = 0;
	enum status status = query_int(&q, &owner);

	return status == ST_OK && owner != author.v ? ST_DENIED : status;
}

static enum status insert(struct store *store, const struct finding_entry *entry, int64_t snapshot,
                          int64_t now, struct finding_id *out)
{
	struct query q = start_of(store, SQL_ADD, NULL, entry->report.v);

	bind_int(&q, entry->kit.v);
	bind_int(&q, entry->author.v);
	bind_int(&q, snapshot);
	bind_int(&q, entry->answer);
	bind_int(&q, entry->credit);
	bind_int(&q, now);
	bind_text(&q, entry->remark);
	return query_insert(&q, &out->v);
}

static enum status check_stands(struct store *store, struct report_id id)
{
	struct query q = start_of(store, SQL_STANDS, NULL, id.v);
	int64_t stands;

	return query_int(&q, &stands);
}

static enum status add(struct store *store, const struct finding_entry *entry, int64_t now,
                       struct finding_id *out)
{
	int64_t snapshot = 0;
	enum status status = check_stands(store, entry->report);

	if (status == ST_OK)
		status = check_own_kit(store, entry->kit, entry->author);
	if (status == ST_OK)
		status = bound_room(store, BOUND_FINDINGS_A_DAY, entry->author.v, 1, now);
	if (status == ST_OK)
		status = snapshot_take(store, entry->kit, now, &snapshot);
	if (status == ST_OK)
		status = insert(store, entry, snapshot, now, out);
	if (status == ST_OK)
		status = findings_recount(store, entry->report);
	if (status == ST_OK)
		status = news_add_finding(store, entry->report, entry->author,
		                          entry->credit != CREDIT_NOBODY,
		                          finding_answer_words(entry->answer), now);
	return status == ST_OK ? report_touch(store, entry->report) : status;
}

enum status finding_add(struct store *store, const struct finding_entry *entry, int64_t now,
                        struct finding_id *out)
{
	struct finding_id id = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = act_end(store, add(store, entry, now, &id));
	if (status == ST_OK)
		*out = id;
	return status;
}

/* Taking a remark away ------------------------------------------------------- */

static enum status check_may_remove(struct store *store, struct finding_id id, struct member_id by,
                                    struct report_id *out)
{
	struct query q = start_of(store, SQL_MAY_REMOVE_REMARK, NULL, id.v);
	bool may = false;

	bind_int(&q, by.v);
	if (query_found(&q)) {
		out->v = read_int(&q);
		may = read_int(&q) != 0;
	}
	return q.status == ST_OK && !may ? (query_end(&q), ST_DENIED) : query_end(&q);
}

static enum status log_remark(struct store *store, struct report_id report, struct member_id by,
                              int64_t now)
{
	struct query q = start_of(store, SQL_LOG_REMARK, NULL, report.v);

	bind_int(&q, now);
	bind_int(&q, by.v);
	bind_int(&q, REPORT_REMARK_REMOVED);
	return query_run(&q);
}

static enum status remove_remark(struct store *store, struct finding_id id, struct member_id by,
                                 int64_t now)
{
	struct report_id report = {0};
	enum status status = check_may_remove(store, id, by, &report);
	struct query q;

	if (status != ST_OK)
		return status;
	q = start_of(store, SQL_REMOVE_REMARK, NULL, id.v);
	status = query_run_one(&q);
	if (status == ST_OK)
		status = log_remark(store, report, by, now);
	return status == ST_OK ? report_touch(store, report) : status;
}

enum status finding_remove_remark(struct store *store, struct finding_id id, struct member_id by,
                                  int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, remove_remark(store, id, by, now));
}

/* Reading -------------------------------------------------------------------- */

typedef void facts_read_fn(struct query *q, struct facts *facts);

static void read_finding(struct query *q, struct finding_row *row, facts_read_fn *read_facts)
{
	struct facts *facts = ARENA_NEW(q->arena, struct facts);

	row->id.v = read_int(q);
	row->report.v = read_int(q);
	row->kit.v = read_int(q);
	row->author.v = read_int(q);
	row->author_name = read_text(q);
	row->credit = (enum credit)read_int(q);
	row->answer = (enum finding_answer)read_int(q);
	row->at = read_int(q);
	row->remark = read_text(q);
	if (facts)
		read_facts(q, facts);
	else
		q->status = ST_NOMEM;
	row->facts = facts;
}

static void read_whole(struct query *q, void *row)
{
	read_finding(q, row, snapshot_read);
}

static void read_splitting(struct query *q, void *row)
{
	read_finding(q, row, snapshot_read_splitting);
}

static enum status list_of(struct store *store, struct arena *arena, size_t which, int64_t id,
                           query_read_fn *read, const struct finding_row **out, size_t *count)
{
	struct query q = start_of(store, which, arena, id);
	struct rows rows = {0};
	enum status status = query_rows(&q, read, sizeof(struct finding_row), &rows);

	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

enum status finding_list(struct store *store, struct arena *arena, struct report_id id,
                         const struct finding_row **out, size_t *count)
{
	return list_of(store, arena, SQL_LIST, id.v, read_splitting, out, count);
}

enum status finding_list_by(struct store *store, struct arena *arena, struct member_id author,
                            const struct finding_row **out, size_t *count)
{
	return list_of(store, arena, SQL_LIST_BY, author.v, read_whole, out, count);
}

enum status finding_facts(struct store *store, struct arena *arena, struct finding_id id,
                          struct facts *out)
{
	struct query q = start_of(store, SQL_FACTS, arena, id.v);
	struct facts facts = {.has_serial = false};
	enum status status;

	if (query_found(&q))
		snapshot_read(&q, &facts);
	status = query_end(&q);
	if (status == ST_OK)
		*out = facts;
	return status;
}
