#include "store/news.h"

#include "store/report_sql.h"

/* Through the index news_member: no row that is not handed out is read. */
#define NEWS_COLUMNS                                                                               \
	"SELECT w.id, w.member_id, w.at, w.kind, w.mandatory, w.id <= m.news_seen,"                \
	" coalesce(w.kit_id, 0), coalesce(w.notice_id, 0), coalesce(w.report_id, 0),"              \
	" coalesce(w.note_id, 0), coalesce(k.name, ''), coalesce(n.number, ''),"                   \
	" coalesce(v.title, ''), iif(r.removed_at > 0, 'a report that was removed',"               \
	" coalesce(r.title, '')), coalesce(f.name, ''), w.words"                                   \
	" FROM news w JOIN members m ON m.id = w.member_id"                                        \
	" LEFT JOIN kits k ON k.id = w.kit_id LEFT JOIN notices n ON n.id = w.notice_id"           \
	" LEFT JOIN revisions v ON v.id = n.current_revision"                                      \
	" LEFT JOIN reports r ON r.id = w.report_id LEFT JOIN members f ON f.id = w.from_member "

/* The state that is to be told of the report r with the notice n; 4: merged. */
#define STATE_TO_TELL                                                                              \
	"iif(r.merged_into IS NOT NULL, 4,"                                                        \
	" iif(n.current_revision IS NOT NULL AND n.cancelled_on = '', 3, r.findings_say))"

enum {
	SQL_ADD,
	SQL_LIST,
	SQL_MARK_SEEN,
	SQL_TO_MAIL,
	SQL_SET_MAILED,
	SQL_MARK,
	SQL_SET_MARK,
	SQL_TOLD,
	SQL_CLEAR_TOLD,
	SQL_ADD_TOLD,
	SQL_STALE,
	SQL_STALE_OF,
	SQL_REPORTS_NEW,
	SQL_TELL_REPORT,
	SQL_ADD_FINDING,
	SQL_CHANGED,
	SQL_SET_STATE,
	SQL_TELL_STATE,
	SQL_TELL_MERGED,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_ADD] = "INSERT INTO news (member_id, at, kind, mandatory, kit_id, notice_id,"
                    " report_id, note_id, from_member, words)"
                    " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
        [SQL_LIST] = NEWS_COLUMNS "WHERE w.member_id = ?1 AND w.id < ?2"
                                  " ORDER BY w.id DESC LIMIT ?3",
        [SQL_MARK_SEEN] = "UPDATE members SET news_seen = ?2 WHERE id = ?1 AND news_seen < ?2"
                          " AND EXISTS (SELECT 1 FROM news WHERE member_id = ?1 AND id = ?2)",
        [SQL_TO_MAIL] = NEWS_COLUMNS "WHERE w.member_id = ?1 AND w.mailed = 0"
                                     " AND w.mandatory >= ?2 ORDER BY w.id LIMIT ?3",
        [SQL_SET_MAILED] = "UPDATE news SET mailed = 1 WHERE member_id = ?1 AND mailed = 0"
                           " AND mandatory >= ?2 AND id <= ?3",
        [SQL_MARK] = "SELECT told_generation, told_version, told_day FROM kits WHERE id = ?1",
        [SQL_SET_MARK] = "UPDATE kits SET told_generation = ?2, told_version = ?3, told_day = ?4"
                         " WHERE id = ?1",
        [SQL_TOLD] = "SELECT notice_id, revision_id, standing, overdue FROM told"
                     " WHERE kit_id = ?1 ORDER BY notice_id",
        [SQL_CLEAR_TOLD] = "DELETE FROM told WHERE kit_id = ?1",
        [SQL_ADD_TOLD] = "INSERT INTO told (kit_id, notice_id, revision_id, standing, overdue)"
                         " VALUES (?1, ?2, ?3, ?4, ?5)",
        [SQL_STALE] = "SELECT id FROM kits WHERE id > ?3 AND (told_version <> version"
                      " OR told_generation <> ?1 OR told_day <> ?2) ORDER BY id LIMIT ?4",
        [SQL_STALE_OF] = "SELECT id FROM kits WHERE owner = ?3 AND (told_version <> version"
                         " OR told_generation <> ?1 OR told_day <> ?2) ORDER BY id",
        [SQL_REPORTS_NEW] = "SELECT id FROM reports WHERE told = 0 AND id > ?1"
                            " AND removed_at = 0 AND merged_into IS NULL"
                            " ORDER BY id LIMIT ?2",
        [SQL_TELL_REPORT] = "UPDATE reports SET told = 1 WHERE id = ?1 AND told = 0",
        [SQL_ADD_FINDING] =
                "INSERT INTO news (member_id, at, kind, mandatory, report_id, from_member, words)"
                " SELECT DISTINCT m.id, ?3, ?5, 0, ?1, iif(?4, ?2, NULL), ?6"
                " FROM reports r JOIN members m ON m.id = r.author"
                " WHERE m.id <> ?2 AND r.id IN " READ_TOGETHER,
        /* The three places where a state can have changed; each has an index. */
        [SQL_CHANGED] = "SELECT r.id, r.told_state, " STATE_TO_TELL ", r.found, r.not_there,"
                        " r.does_not_fit, r.finders, r.lookers, coalesce(r.merged_into, 0)"
                        " FROM reports r LEFT JOIN notices n ON n.id = r.notice_id"
                        " WHERE r.id > ?1 AND r.id IN"
                        " (SELECT id FROM reports WHERE told_state <> findings_say UNION"
                        " SELECT id FROM reports WHERE notice_id > 0 UNION"
                        " SELECT id FROM reports WHERE merged_into IS NOT NULL)"
                        " AND r.removed_at = 0 AND r.told_state <> " STATE_TO_TELL
                        " ORDER BY r.id LIMIT ?2",
        [SQL_SET_STATE] = "UPDATE reports SET told_state = ?2 WHERE id = ?1 AND told_state = ?3",
        [SQL_TELL_STATE] =
                "INSERT INTO news (member_id, at, kind, mandatory, report_id, words)"
                " SELECT m.id, ?2, ?3, 0, ?1, ?4 FROM members m WHERE m.id IN"
                " (SELECT author FROM reports WHERE id IN " READ_TOGETHER
                " UNION SELECT author FROM findings WHERE report_id IN " READ_TOGETHER ")",
        [SQL_TELL_MERGED] =
                "INSERT INTO news (member_id, at, kind, mandatory, report_id, words)"
                " SELECT m.id, ?2, ?3, 0, ?1, ?4 FROM reports r JOIN members m ON m.id = r.author"
                " WHERE r.id = ?1",
};

const struct sql_set news_sql = {SET_NEWS, SQL_COUNT, texts};

static const char *const kinds[NEWS_KINDS] = {
        [NEWS_NEW] = "new notice",
        [NEWS_REVISED] = "revised",
        [NEWS_CANCELLED] = "cancelled",
        [NEWS_STANDING] = "standing changed",
        [NEWS_ANSWER] = "answer to your note",
        [NEWS_FINDING] = "answer to your report",
        [NEWS_STATE] = "state of a report",
        [NEWS_REPORT] = "new field report",
        [NEWS_POINTED] = "have you seen this?",
};

const char *news_kind_words(enum news_kind kind)
{
	return kinds[kind];
}

static struct query start(struct store *store, size_t which, struct arena *arena)
{
	return query_start(store, &news_sql, which, arena);
}

/* Statements whose first parameter is an id. */
static struct query start_of(struct store *store, size_t which, struct arena *arena, int64_t id)
{
	struct query q = start(store, which, arena);

	bind_int(&q, id);
	return q;
}

/* News ---------------------------------------------------------------------- */

enum status news_add(struct store *store, const struct news_entry *entry, int64_t now)
{
	struct query q = start_of(store, SQL_ADD, NULL, entry->member.v);

	bind_int(&q, now);
	bind_int(&q, entry->kind);
	bind_int(&q, entry->mandatory);
	bind_id_or_null(&q, entry->kit.v);
	bind_id_or_null(&q, entry->notice.v);
	bind_id_or_null(&q, entry->report.v);
	bind_id_or_null(&q, entry->note.v);
	bind_id_or_null(&q, entry->from.v);
	bind_text(&q, entry->words);
	return query_run(&q);
}

static enum status add_all(struct store *store, const struct news_entry *news, size_t count,
                           int64_t now)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < count; i++)
		status = news_add(store, &news[i], now);
	return status;
}

static void read_news(struct query *q, void *row)
{
	struct news *news = row;

	news->id = read_int(q);
	news->member.v = read_int(q);
	news->at = read_int(q);
	news->kind = (enum news_kind)read_int(q);
	news->mandatory = read_int(q) != 0;
	news->seen = read_int(q) != 0;
	news->kit.v = read_int(q);
	news->notice.v = read_int(q);
	news->report.v = read_int(q);
	news->note.v = read_int(q);
	news->kit_name = read_text(q);
	news->notice_number = read_text(q);
	news->notice_title = read_text(q);
	news->report_title = read_text(q);
	news->from_name = read_text(q);
	news->words = read_text(q);
}

static enum status list_of(struct query *q, const struct news **out, size_t *count)
{
	struct rows rows = {0};
	enum status status = query_rows(q, read_news, sizeof(struct news), &rows);

	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

enum status news_list(struct store *store, struct arena *arena, struct member_id member,
                      int64_t before, size_t most, const struct news **out, size_t *count)
{
	struct query q = start_of(store, SQL_LIST, arena, member.v);

	bind_int(&q, before ? before : INT64_MAX);
	bind_int(&q, (int64_t)most);
	return list_of(&q, out, count);
}

enum status news_mark_seen(struct store *store, struct member_id member, int64_t up_to)
{
	struct query q = start_of(store, SQL_MARK_SEEN, NULL, member.v);

	bind_int(&q, up_to);
	return query_run(&q);
}

enum status news_to_mail(struct store *store, struct arena *arena, struct member_id member,
                         bool mandatory_only, size_t most, const struct news **out, size_t *count)
{
	struct query q = start_of(store, SQL_TO_MAIL, arena, member.v);

	bind_int(&q, mandatory_only);
	bind_int(&q, (int64_t)most);
	return list_of(&q, out, count);
}

enum status news_set_mailed(struct store *store, struct member_id member, bool mandatory_only,
                            int64_t up_to)
{
	struct query q = start_of(store, SQL_SET_MAILED, NULL, member.v);

	bind_int(&q, mandatory_only);
	bind_int(&q, up_to);
	return query_run(&q);
}

/* What builders have been told ---------------------------------------------- */

static enum status read_mark(struct store *store, struct kit_id kit, struct told_mark *out)
{
	struct query q = start_of(store, SQL_MARK, NULL, kit.v);
	struct told_mark mark = {0};

	if (query_found(&q)) {
		mark.generation = read_int(&q);
		mark.version = read_int(&q);
		mark.day = (day_number)read_int(&q);
	}
	if (q.status == ST_OK)
		*out = mark;
	return query_end(&q);
}

static void read_told(struct query *q, void *row)
{
	struct told *told = row;

	told->notice.v = read_int(q);
	told->revision.v = read_int(q);
	told->standing = (enum standing_kind)read_int(q);
	told->overdue = read_int(q) != 0;
}

static enum status read_rows(struct store *store, struct arena *arena, struct kit_id kit,
                             struct rows *rows)
{
	struct query q = start_of(store, SQL_TOLD, arena, kit.v);

	return query_rows(&q, read_told, sizeof(struct told), rows);
}

enum status told_read(struct store *store, struct arena *arena, struct kit_id kit,
                      struct told_mark *mark, const struct told **out, size_t *count)
{
	struct told_mark found = {0};
	struct rows rows = {0};
	enum status status = act_begin_reading(store);

	if (status != ST_OK)
		return status;
	status = read_mark(store, kit, &found);
	if (status == ST_OK)
		status = read_rows(store, arena, kit, &rows);
	status = act_end(store, status);
	if (status != ST_OK)
		return status;
	*mark = found;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

static enum status set_mark(struct store *store, struct kit_id kit, const struct told_mark *mark)
{
	struct query q = start_of(store, SQL_SET_MARK, NULL, kit.v);

	bind_int(&q, mark->generation);
	bind_int(&q, mark->version);
	bind_int(&q, mark->day);
	return query_run_one(&q);
}

static enum status add_told(struct store *store, struct kit_id kit, const struct told *told)
{
	struct query q = start_of(store, SQL_ADD_TOLD, NULL, kit.v);

	bind_int(&q, told->notice.v);
	bind_int(&q, told->revision.v);
	bind_int(&q, told->standing);
	bind_int(&q, told->overdue);
	return query_run(&q);
}

static enum status set_rows(struct store *store, const struct told_step *step)
{
	struct query q = start_of(store, SQL_CLEAR_TOLD, NULL, step->kit.v);
	enum status status = query_run(&q);

	for (size_t i = 0; status == ST_OK && i < step->n_rows; i++)
		status = add_told(store, step->kit, &step->rows[i]);
	return status;
}

static bool same_mark(const struct told_mark *a, const struct told_mark *b)
{
	return a->generation == b->generation && a->version == b->version && a->day == b->day;
}

static enum status take_step(struct store *store, const struct told_step *step, int64_t now)
{
	struct told_mark found = {0};
	enum status status = read_mark(store, step->kit, &found);

	if (status == ST_OK && !same_mark(&found, &step->before))
		status = ST_CONFLICT;
	if (status == ST_OK)
		status = set_mark(store, step->kit, &step->after);
	if (status == ST_OK && !step->rows_stay)
		status = set_rows(store, step);
	if (status == ST_OK)
		status = add_all(store, step->news, step->n_news, now);
	return status;
}

enum status told_replace(struct store *store, const struct told_step *step, int64_t now)
{
	enum status status = act_begin(store);

	return status == ST_OK ? act_end(store, take_step(store, step, now)) : status;
}

static void read_kit_id(struct query *q, void *row)
{
	((struct kit_id *)row)->v = read_int(q);
}

static enum status list_kits(struct query *q, const struct kit_id **out, size_t *count)
{
	struct rows rows = {0};
	enum status status = query_rows(q, read_kit_id, sizeof(struct kit_id), &rows);

	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

enum status told_stale(struct store *store, struct arena *arena, int64_t generation, day_number day,
                       struct kit_id after, size_t most, const struct kit_id **out, size_t *count)
{
	struct query q = start_of(store, SQL_STALE, arena, generation);

	bind_int(&q, day);
	bind_int(&q, after.v);
	bind_int(&q, (int64_t)most);
	return list_kits(&q, out, count);
}

enum status told_stale_of(struct store *store, struct arena *arena, struct member_id owner,
                          int64_t generation, day_number day, const struct kit_id **out,
                          size_t *count)
{
	struct query q = start_of(store, SQL_STALE_OF, arena, generation);

	bind_int(&q, day);
	bind_int(&q, owner.v);
	return list_kits(&q, out, count);
}

/* Reports ------------------------------------------------------------------- */

static void read_report_id(struct query *q, void *row)
{
	((struct report_id *)row)->v = read_int(q);
}

enum status news_reports_new(struct store *store, struct arena *arena, struct report_id after,
                             size_t most, const struct report_id **out, size_t *count)
{
	struct query q = start_of(store, SQL_REPORTS_NEW, arena, after.v);
	struct rows rows = {0};
	enum status status;

	bind_int(&q, (int64_t)most);
	status = query_rows(&q, read_report_id, sizeof(struct report_id), &rows);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

static enum status mark_told(struct store *store, struct report_id report)
{
	struct query q = start_of(store, SQL_TELL_REPORT, NULL, report.v);
	enum status status = query_run_one(&q);

	return status == ST_MISSING ? ST_CONFLICT : status;
}

enum status news_tell_report(struct store *store, struct report_id report,
                             const struct news_entry *news, size_t n_news, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = mark_told(store, report);
	if (status == ST_OK)
		status = add_all(store, news, n_news, now);
	return act_end(store, status);
}

enum status news_add_finding(struct store *store, struct report_id report, struct member_id by,
                             bool named, const char *words, int64_t now)
{
	struct query q = start_of(store, SQL_ADD_FINDING, NULL, report.v);

	bind_int(&q, by.v);
	bind_int(&q, now);
	bind_int(&q, named);
	bind_int(&q, NEWS_FINDING);
	bind_text(&q, words);
	return query_run(&q);
}

static void read_change(struct query *q, void *row)
{
	struct report_change *change = row;

	change->id.v = read_int(q);
	change->told = (int)read_int(q);
	change->now = (int)read_int(q);
	change->tally.found = (size_t)read_int(q);
	change->tally.not_there = (size_t)read_int(q);
	change->tally.does_not_fit = (size_t)read_int(q);
	change->tally.finders = (size_t)read_int(q);
	change->tally.lookers = (size_t)read_int(q);
	change->tally.looked = change->tally.found + change->tally.not_there;
	change->into.v = read_int(q);
}

enum status news_reports_changed(struct store *store, struct arena *arena, struct report_id after,
                                 size_t most, const struct report_change **out, size_t *count)
{
	struct query q = start_of(store, SQL_CHANGED, arena, after.v);
	struct rows rows = {0};
	enum status status;

	bind_int(&q, (int64_t)most);
	status = query_rows(&q, read_change, sizeof(struct report_change), &rows);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

static enum status set_state(struct store *store, const struct report_change *change)
{
	struct query q = start_of(store, SQL_SET_STATE, NULL, change->id.v);
	enum status status;

	bind_int(&q, change->now);
	bind_int(&q, change->told);
	status = query_run_one(&q);
	return status == ST_MISSING ? ST_CONFLICT : status;
}

static enum status add_state(struct store *store, const struct report_change *change,
                             const char *words, int64_t now)
{
	bool merged = change->now == REPORT_TOLD_MERGED;
	struct query q =
	        start_of(store, merged ? SQL_TELL_MERGED : SQL_TELL_STATE, NULL, change->id.v);

	bind_int(&q, now);
	bind_int(&q, NEWS_STATE);
	bind_text(&q, words);
	return query_run(&q);
}

enum status news_tell_state(struct store *store, const struct report_change *change,
                            const char *words, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = set_state(store, change);
	if (status == ST_OK)
		status = add_state(store, change, words, now);
	return act_end(store, status);
}
