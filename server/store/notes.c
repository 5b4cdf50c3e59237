#include "store/notes.h"

#include "store/sql.h"

#define NOTE_COLUMNS                                                                               \
	"SELECT t.id, t.notice_id, n.number, t.author, a.name, t.written_at, t.text, "             \
	"t.removed_at,"                                                                            \
	" CASE WHEN t.removed_at = 0 THEN '' ELSE coalesce(r.name, 'removed member') END"          \
	" FROM notes t JOIN notices n ON n.id = t.notice_id JOIN members a ON a.id = t.author"     \
	" LEFT JOIN members r ON r.id = t.removed_by "

enum {
	SQL_ADD,
	SQL_MAY_REMOVE,
	SQL_REMOVE,
	SQL_LIST,
	SQL_LIST_BY,
	SQL_TOTAL,
	SQL_TOTAL_BY,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_ADD] =
                "INSERT INTO notes (notice_id, author, text, written_at) VALUES (?1, ?2, ?3, ?4)",
        [SQL_MAY_REMOVE] = "SELECT EXISTS (SELECT 1 FROM members WHERE id = ?2 AND NOT disabled"
                           " AND (role >= 1 OR id = t.author))"
                           " FROM notes t WHERE t.id = ?1 AND t.removed_at = 0",
        [SQL_REMOVE] = "UPDATE notes SET text = '', removed_by = ?2, removed_at = ?3 WHERE id = ?1",
        [SQL_LIST] = NOTE_COLUMNS "WHERE t.notice_id = ?1 ORDER BY t.id LIMIT ?2 OFFSET ?3",
        [SQL_LIST_BY] = NOTE_COLUMNS "WHERE t.author = ?1 ORDER BY t.id LIMIT ?2 OFFSET ?3",
        [SQL_TOTAL] = "SELECT count(*) FROM notes WHERE notice_id = ?1",
        [SQL_TOTAL_BY] = "SELECT count(*) FROM notes WHERE author = ?1",
};

const struct sql_set note_sql = {SET_NOTES, SQL_COUNT, texts};

enum status note_add(struct store *store, struct notice_id notice, struct member_id author,
                     const char *text, int64_t now, struct note_id *out)
{
	struct query q = query_start(store, &note_sql, SQL_ADD, NULL);

	bind_int(&q, notice.v);
	bind_int(&q, author.v);
	bind_text(&q, text);
	bind_int(&q, now);
	return query_insert(&q, &out->v);
}

static enum status check_may_remove(struct store *store, struct note_id id, struct member_id by)
{
	struct query q = query_start(store, &note_sql, SQL_MAY_REMOVE, NULL);
	int64_t may = 0;
	enum status status;

	bind_int(&q, id.v);
	bind_int(&q, by.v);
	status = query_int(&q, &may);
	return status == ST_OK && !may ? ST_DENIED : status;
}

static enum status remove_words(struct store *store, struct note_id id, struct member_id by,
                                int64_t now)
{
	struct query q = query_start(store, &note_sql, SQL_REMOVE, NULL);

	bind_int(&q, id.v);
	bind_int(&q, by.v);
	bind_int(&q, now);
	return query_run_one(&q);
}

enum status note_remove(struct store *store, struct note_id id, struct member_id by, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = check_may_remove(store, id, by);
	if (status == ST_OK)
		status = remove_words(store, id, by, now);
	return act_end(store, status);
}

static void read_note(struct query *q, void *row)
{
	struct note *note = row;

	note->id.v = read_int(q);
	note->notice.v = read_int(q);
	note->number = read_text(q);
	note->author.v = read_int(q);
	note->author_name = read_text(q);
	note->written_at = read_int(q);
	note->text = read_text(q);
	note->removed_at = read_int(q);
	note->removed_by = read_text(q);
}

static enum status list_page(struct query *q, struct query *count_all, int64_t of, struct page page,
                             const struct note **out, size_t *count, int64_t *total)
{
	struct rows rows = {0};
	enum status status;

	bind_int(q, of);
	bind_page(q, page);
	bind_int(count_all, of);
	status = query_page(q, count_all, read_note, sizeof(struct note), &rows, total);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

enum status note_list(struct store *store, struct arena *arena, struct notice_id notice,
                      struct page page, const struct note **out, size_t *count, int64_t *total)
{
	struct query q = query_start(store, &note_sql, SQL_LIST, arena);
	struct query all = query_start(store, &note_sql, SQL_TOTAL, NULL);

	return list_page(&q, &all, notice.v, page, out, count, total);
}

enum status note_list_by(struct store *store, struct arena *arena, struct member_id author,
                         struct page page, const struct note **out, size_t *count, int64_t *total)
{
	struct query q = query_start(store, &note_sql, SQL_LIST_BY, arena);
	struct query all = query_start(store, &note_sql, SQL_TOTAL_BY, NULL);

	return list_page(&q, &all, author.v, page, out, count, total);
}
