#include "store/under_way.h"

#include "store/news.h"
#include "store/sql.h"

/* Whether a builder may sign in, and whether the words are somewhere in it. */
#define FROM_SHOWN                                                                                 \
	" FROM kits k JOIN members m ON m.id = k.owner WHERE k.shown = 1 AND NOT m.disabled AND"   \
	" (?1 = '' OR instr(upper(k.name || char(10) || k.model || char(10) || m.name),"           \
	" upper(?1)) > 0)"

enum { SQL_LIST, SQL_TOTAL, SQL_OWNER, SQL_BEFORE, SQL_COUNT };

static const char *const texts[SQL_COUNT] = {
        [SQL_LIST] = "SELECT k.id, k.name, m.name, k.model" FROM_SHOWN
                     " ORDER BY k.name, k.id LIMIT ?2 OFFSET ?3",
        [SQL_TOTAL] = "SELECT count(*)" FROM_SHOWN,
        [SQL_OWNER] = "SELECT k.owner FROM kits k JOIN members m ON m.id = k.owner"
                      " WHERE k.id = ?1 AND k.shown = 1 AND NOT m.disabled",
        [SQL_BEFORE] = "SELECT count(*) FROM news WHERE from_member = ?1 AND kind = ?2"
                       " AND kit_id = ?3 AND coalesce(notice_id, 0) = ?4"
                       " AND coalesce(report_id, 0) = ?5",
};

const struct sql_set under_way_sql = {SET_UNDER_WAY, SQL_COUNT, texts};

static struct query start(struct store *store, size_t which, struct arena *arena)
{
	return query_start(store, &under_way_sql, which, arena);
}

static void read_shown(struct query *q, void *row)
{
	struct shown_kit *kit = row;

	kit->id.v = read_int(q);
	kit->name = read_text(q);
	kit->owner_name = read_text(q);
	kit->model = read_text(q);
}

enum status shown_list(struct store *store, struct arena *arena, const char *words,
                       struct page page, const struct shown_kit **out, size_t *count,
                       int64_t *total)
{
	struct query q = start(store, SQL_LIST, arena), all = start(store, SQL_TOTAL, NULL);
	struct rows rows = {0};
	enum status status;

	bind_text(&q, words);
	bind_page(&q, page);
	bind_text(&all, words);
	status = query_page(&q, &all, read_shown, sizeof(struct shown_kit), &rows, total);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

static enum status find_owner(struct store *store, struct kit_id kit, struct member_id *out)
{
	struct query q = start(store, SQL_OWNER, NULL);

	bind_int(&q, kit.v);
	return query_int(&q, &out->v);
}

static enum status check_once(struct store *store, const struct pointing *pointing)
{
	struct query q = start(store, SQL_BEFORE, NULL);
	int64_t count = 0;
	enum status status;

	bind_int(&q, pointing->from.v);
	bind_int(&q, NEWS_POINTED);
	bind_int(&q, pointing->kit.v);
	bind_int(&q, pointing->notice.v);
	bind_int(&q, pointing->report.v);
	status = query_int(&q, &count);
	return status == ST_OK && count ? ST_CONFLICT : status;
}

static enum status point(struct store *store, const struct pointing *pointing, int64_t now)
{
	struct news_entry entry = {.kind = NEWS_POINTED,
	                           .kit = pointing->kit,
	                           .notice = pointing->notice,
	                           .report = pointing->report,
	                           .from = pointing->from,
	                           .words = pointing->words};
	enum status status = find_owner(store, pointing->kit, &entry.member);

	if (status == ST_OK && entry.member.v == pointing->from.v)
		status = ST_DENIED;
	if (status == ST_OK)
		status = check_once(store, pointing);
	if (status == ST_OK)
		status = bound_room(store, BOUND_POINTS_A_DAY, pointing->from.v, 1, now);
	return status == ST_OK ? news_add(store, &entry, now) : status;
}

enum status point_out(struct store *store, const struct pointing *pointing, int64_t now)
{
	enum status status = act_begin(store);

	return status == ST_OK ? act_end(store, point(store, pointing, now)) : status;
}
