/* Lists of notices, and the search.
 *
 * Words are looked up in an FTS5 table of the current revisions (words.h).
 * Numbers are looked up by a plain search within the folded numbers of each
 * notice, so that any part of a number finds it; at 10,000 notices that costs a
 * few milliseconds.
 */
#include <stdio.h>
#include <string.h>

#include "store/revisions.h"
#include "store/words.h"

#define ROW_COLUMNS                                                                                \
	"SELECT n.id, r.id, n.number, r.label, n.issuer, r.title, n.kind, r.force, r.state, "      \
	"r.issued,"                                                                                \
	" n.cancelled_on, r.published_at, r.edited_at, coalesce(e.name, 'removed member'),"        \
	" coalesce(n.current_revision = r.id, 0)"
#define FROM_REVISIONS                                                                             \
	" FROM revisions r JOIN notices n ON n.id = r.notice_id LEFT JOIN members e ON e.id = "    \
	"r.editor "
/* ?1 words for FTS5, ?2 the same folded, ?3 part folded, ?4 issuer folded, ?5
 * model for FTS5, ?6 is a model given, ?7 kind, ?8 force, ?9 year. */
#define MATCHING                                                                                   \
	" FROM notices n JOIN revisions r ON r.id = n.current_revision"                            \
	" LEFT JOIN members e ON e.id = r.editor"                                                  \
	" WHERE (?2 = '' OR n.id IN (SELECT notice_id FROM notice_numbers"                         \
	" WHERE instr(number_key, ?2)) OR (?1 <> '' AND n.id IN"                                   \
	" (SELECT rowid FROM notice_words WHERE notice_words MATCH ?1)))"                          \
	" AND (?3 = '' OR n.id IN (SELECT notice_id FROM notice_numbers"                           \
	" WHERE instr(number_key, ?3)))"                                                           \
	" AND (?4 = '' OR n.issuer_key = ?4)"                                                      \
	" AND (NOT ?6 OR (?5 <> '' AND n.id IN"                                                    \
	" (SELECT rowid FROM notice_words WHERE notice_words MATCH ?5)))"                          \
	" AND (?7 < 0 OR n.kind = ?7) AND (?8 < 0 OR r.force = ?8)"                                \
	" AND (?9 = '' OR substr(r.issued, 1, 4) = ?9)"

/* It was not cancelled here later on, which has an entry of its own. */
#define CANCELLED_WHEN_IMPORTED                                                                    \
	"(l.act = 7 AND n.cancelled_on <> '' AND NOT EXISTS (SELECT 1 FROM notice_log c"           \
	" WHERE c.notice_id = n.id AND c.act = 6))"

enum {
	SQL_INDEX_CLEAR_WORDS,
	SQL_INDEX_CLEAR_NUMBERS,
	SQL_INDEX_WORDS,
	SQL_INDEX_NUMBERS,
	SQL_SEARCH,
	SQL_SEARCH_COUNT,
	SQL_REVISIONS,
	SQL_DRAFTS,
	SQL_DRAFTS_COUNT,
	SQL_ISSUERS,
	SQL_LOG,
	SQL_LOG_COUNT,
	SQL_LATEST,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_INDEX_CLEAR_WORDS] = "DELETE FROM notice_words WHERE rowid = ?1",
        [SQL_INDEX_CLEAR_NUMBERS] = "DELETE FROM notice_numbers WHERE notice_id = ?1",
        [SQL_INDEX_WORDS] =
                "INSERT INTO notice_words (rowid, number, title, problem, action, issuer, parts,"
                " effectivity) SELECT n.id, n.number, r.title, r.problem, r.action, n.issuer,"
                " coalesce((SELECT group_concat(part || ' ' || replacement, ' ') FROM "
                "revision_lines"
                " WHERE revision_id = r.id), ''), r.effectivity"
                " FROM notices n JOIN revisions r ON r.id = n.current_revision WHERE n.id = ?1",
        [SQL_INDEX_NUMBERS] =
                "INSERT INTO notice_numbers (notice_id, number_key)"
                " SELECT id, number_key FROM notices WHERE id = ?1"
                " UNION SELECT n.id, l.part_key FROM notices n JOIN revision_lines l"
                " ON l.revision_id = n.current_revision WHERE n.id = ?1 AND l.part_key <> ''"
                " UNION SELECT n.id, upper(l.replacement) FROM notices n JOIN revision_lines l"
                " ON l.revision_id = n.current_revision WHERE n.id = ?1 AND l.replacement <> ''",
        [SQL_SEARCH] = ROW_COLUMNS MATCHING
        " ORDER BY CASE ?10 WHEN 2 THEN r.force END, CASE ?10 WHEN 1 THEN n.number_key END,"
        " r.issued DESC, n.number_key LIMIT ?11 OFFSET ?12",
        [SQL_SEARCH_COUNT] = "SELECT count(*)" MATCHING,
        [SQL_REVISIONS] = ROW_COLUMNS FROM_REVISIONS "WHERE r.notice_id = ?1 AND r.state = 2"
                                                     " ORDER BY r.id DESC",
        [SQL_DRAFTS] = ROW_COLUMNS FROM_REVISIONS "WHERE r.state < 2 ORDER BY r.edited_at DESC,"
                                                  " r.id DESC LIMIT ?1 OFFSET ?2",
        [SQL_DRAFTS_COUNT] = "SELECT count(*) FROM revisions WHERE state < 2",
        [SQL_ISSUERS] = "SELECT min(issuer) FROM notices WHERE current_revision IS NOT NULL"
                        " GROUP BY issuer_key ORDER BY issuer_key",
        [SQL_LOG] = "SELECT l.at, l.act, coalesce(m.name, 'removed member'), l.number, l.label, "
                    "l.remark"
                    " FROM notice_log l LEFT JOIN members m ON m.id = l.member_id"
                    " WHERE ?1 = 0 OR l.notice_id = ?1 ORDER BY l.id DESC LIMIT ?2 OFFSET ?3",
        [SQL_LOG_COUNT] = "SELECT count(*) FROM notice_log WHERE ?1 = 0 OR notice_id = ?1",
        [SQL_LATEST] =
                "SELECT l.id, l.at, l.act = 6 OR " CANCELLED_WHEN_IMPORTED ", n.id, r.id,"
                " n.number, r.label, n.issuer, n.kind, r.force, r.issued, r.title,"
                " CASE WHEN length(r.problem) > 600 THEN substr(r.problem, 1, 599) || char(8230)"
                " ELSE r.problem END,"
                " CASE WHEN l.act = 6 THEN l.remark WHEN " CANCELLED_WHEN_IMPORTED
                " THEN n.cancel_reason ELSE '' END,"
                " coalesce(n.current_revision = r.id, 0)"
                " FROM notice_log l CROSS JOIN notices n ON n.id = l.notice_id"
                " JOIN revisions r ON r.notice_id = n.id AND r.label = l.label AND r.state = 2"
                " WHERE l.act IN (4, 6, 7) ORDER BY l.id DESC LIMIT ?1",
};

const struct sql_set search_sql = {SET_SEARCH, SQL_COUNT, texts};

const struct notice_query notice_query_all = {
        .words = "",
        .part = "",
        .issuer = "",
        .model = "",
        .kind = -1,
        .force = -1,
        .order = ORDER_ISSUED,
        .page = {50, 0},
};

static struct query start(struct store *store, size_t which, struct arena *arena)
{
	return query_start(store, &search_sql, which, arena);
}

enum status search_index(struct store *store, struct notice_id id)
{
	enum status status = ST_OK;

	for (size_t which = SQL_INDEX_CLEAR_WORDS; status == ST_OK && which <= SQL_INDEX_NUMBERS;
	     which++) {
		struct query q = start(store, which, NULL);

		bind_int(&q, id.v);
		status = query_run(&q);
	}
	return status;
}

/* Rows ---------------------------------------------------------------------- */

static void read_row(struct query *q, void *at)
{
	struct notice_row *row = at;

	row->id.v = read_int(q);
	row->revision_id.v = read_int(q);
	row->number = read_text(q);
	row->revision = read_text(q);
	row->issuer = read_text(q);
	row->title = read_text(q);
	row->kind = (enum notice_kind)read_int(q);
	row->force = (enum force)read_int(q);
	row->state = (enum revision_state)read_int(q);
	row->issued = read_text(q);
	row->cancelled_on = read_text(q);
	row->published_at = read_int(q);
	row->edited_at = read_int(q);
	row->editor_name = read_text(q);
	row->current = read_int(q) != 0;
}

enum status revision_list(struct store *store, struct arena *arena, struct notice_id id,
                          const struct notice_row **out, size_t *count)
{
	struct query q = start(store, SQL_REVISIONS, arena);
	struct rows rows = {0};
	enum status status;

	bind_int(&q, id.v);
	status = query_rows(&q, read_row, sizeof(struct notice_row), &rows);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

enum status draft_list(struct store *store, struct arena *arena, struct page page,
                       const struct notice_row **out, size_t *count, int64_t *total)
{
	struct query q = start(store, SQL_DRAFTS, arena);
	struct query all = start(store, SQL_DRAFTS_COUNT, NULL);
	struct rows rows = {0};
	enum status status;

	bind_page(&q, page);
	status = query_page(&q, &all, read_row, sizeof(struct notice_row), &rows, total);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

static void read_issuer(struct query *q, void *row)
{
	*(const char **)row = read_text(q);
}

enum status issuer_list(struct store *store, struct arena *arena, struct text_list *out)
{
	struct query q = start(store, SQL_ISSUERS, arena);
	struct rows rows = {0};
	enum status status = query_rows(&q, read_issuer, sizeof(const char *), &rows);

	if (status == ST_OK)
		*out = (struct text_list){rows.at, rows.count};
	return status;
}

static void read_log_entry(struct query *q, void *row)
{
	struct log_entry *entry = row;

	entry->at = read_int(q);
	entry->act = (enum log_act)read_int(q);
	entry->by = read_text(q);
	entry->number = read_text(q);
	entry->revision = read_text(q);
	entry->remark = read_text(q);
}

enum status log_list(struct store *store, struct arena *arena, struct notice_id notice,
                     struct page page, const struct log_entry **out, size_t *count, int64_t *total)
{
	struct query q = start(store, SQL_LOG, arena);
	struct query all = start(store, SQL_LOG_COUNT, NULL);
	struct rows rows = {0};
	enum status status;

	bind_int(&q, notice.v);
	bind_page(&q, page);
	bind_int(&all, notice.v);
	status = query_page(&q, &all, read_log_entry, sizeof(struct log_entry), &rows, total);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

static void read_latest(struct query *q, void *row)
{
	struct latest_notice *latest = row;

	latest->entry = read_int(q);
	latest->at = read_int(q);
	latest->cancelled = read_int(q) != 0;
	latest->id.v = read_int(q);
	latest->revision_id.v = read_int(q);
	latest->number = read_text(q);
	latest->revision = read_text(q);
	latest->issuer = read_text(q);
	latest->kind = (enum notice_kind)read_int(q);
	latest->force = (enum force)read_int(q);
	latest->issued = read_text(q);
	latest->title = read_text(q);
	latest->problem = read_text(q);
	latest->reason = read_text(q);
	latest->current = read_int(q) != 0;
}

enum status latest_list(struct store *store, struct arena *arena, int64_t limit,
                        const struct latest_notice **out, size_t *count)
{
	struct query q = start(store, SQL_LATEST, arena);
	struct rows rows = {0};
	enum status status;

	bind_int(&q, limit);
	status = query_rows(&q, read_latest, sizeof(struct latest_notice), &rows);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

/* Search -------------------------------------------------------------------- */

/* The FTS5 queries of a search; texts live until the search has ended. */
struct matches {
	struct text words;
	struct text model;
};

static enum status matches_make(const struct notice_query *query, struct matches *out)
{
	struct text model = TEXT_EMPTY;

	words_match(query->words, &out->words);
	words_match(query->model, &model);
	if (model.len)
		text_printf(&out->model, "{effectivity} : (%s)", text_string(&model));
	out->model.failed |= text_failed(&model);
	text_free(&model);
	return text_failed(&out->words) || text_failed(&out->model) ? ST_NOMEM : ST_OK;
}

static void bind_matching(struct query *q, const struct notice_query *query,
                          const struct matches *matches, const char *year)
{
	bind_text(q, text_string(&matches->words));
	bind_key_of(q, query->words);
	bind_key_of(q, query->part);
	bind_key_of(q, query->issuer);
	bind_text(q, text_string(&matches->model));
	bind_int(q, *query->model != '\0');
	bind_int(q, query->kind);
	bind_int(q, query->force);
	bind_text(q, year);
}

static enum status search(struct store *store, struct arena *arena,
                          const struct notice_query *query, const struct matches *matches,
                          struct rows *rows, int64_t *total)
{
	struct query q = start(store, SQL_SEARCH, arena);
	struct query all = start(store, SQL_SEARCH_COUNT, NULL);
	char year[12] = "";

	if (query->year > 0)
		snprintf(year, sizeof year, "%04d", query->year);
	bind_matching(&q, query, matches, year);
	bind_int(&q, query->order);
	bind_page(&q, query->page);
	bind_matching(&all, query, matches, year);
	return query_page(&q, &all, read_row, sizeof(struct notice_row), rows, total);
}

enum status notice_search(struct store *store, struct arena *arena,
                          const struct notice_query *query, const struct notice_row **out,
                          size_t *count, int64_t *total)
{
	struct matches matches = {TEXT_EMPTY, TEXT_EMPTY};
	struct rows rows = {0};
	enum status status = matches_make(query, &matches);

	if (status == ST_OK)
		status = search(store, arena, query, &matches, &rows, total);
	text_free(&matches.words);
	text_free(&matches.model);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}
