#include "store/bounds.h"

#include "store/news.h"
#include "store/reports.h"
#include "store/sql.h"

#define BOUND_ROW(name, limit, within, what, of, then) {#name, limit, within, what, of, then},
const struct bound_row bounds[BOUNDS_COUNT] = {BOUNDS(BOUND_ROW)};
#undef BOUND_ROW

_Static_assert(NEWS_POINTED == 8 && REPORT_EDITED == 0, "statements below name them by number");

/* When the last but ?2 was made, by the order in which they were: a row that lies
 * ahead of now, ?3, does not count. */
#define LAST(at, rows)                                                                             \
	"SELECT " at " FROM " rows " AND " at " <= ?3 ORDER BY id DESC LIMIT 1 OFFSET ?2"

/* A row within a time has LAST; another counts what there is; those that the operation
 * counts by itself have none. */
static const char *const texts[BOUNDS_COUNT] = {
        [BOUND_KITS_MOST] = "SELECT count(*) FROM kits WHERE owner = ?1",
        [BOUND_KIT_STOCK_MOST] = "SELECT count(*) FROM kit_stock WHERE kit_id = ?1",
        [BOUND_KIT_LENGTHS_MOST] = "SELECT count(*) FROM kit_lengths WHERE kit_id = ?1",
        [BOUND_KIT_LIST_LONGEST] = "SELECT count(*) FROM kit_names WHERE kit_id = ?1 AND list = 0",
        [BOUND_KIT_LOG_MOST] = "SELECT count(*) FROM kit_log WHERE kit_id = ?1",
        [BOUND_KIT_EVENTS_MOST] = "SELECT count(*) FROM kit_planned WHERE kit_id = ?1",
        [BOUND_NOTES_A_DAY] = LAST("written_at", "notes WHERE author = ?1"),
        [BOUND_NOTE_EDITS_MOST] = "SELECT count(*) FROM note_words_before WHERE note_id = ?1",
        [BOUND_HELPED_MOST] = "SELECT count(*) FROM note_helped WHERE member_id = ?1",
        [BOUND_PICTURES_A_DAY] = LAST("added_at", "pictures WHERE added_by = ?1"),
        [BOUND_CALLS_A_DAY] = LAST("at", "steward_calls WHERE member_id = ?1"),
        [BOUND_REPORTS_A_DAY] = LAST("made_at", "reports WHERE author = ?1"),
        [BOUND_REPORT_EDITS_MOST] =
                "SELECT count(*) FROM report_log WHERE report_id = ?1 AND act = 0",
        [BOUND_FINDINGS_A_DAY] = LAST("at", "findings WHERE author = ?1"),
        [BOUND_POINTS_A_DAY] = LAST("at", "news WHERE from_member = ?1 AND kind = 8"),
        [BOUND_MAIL_QUESTIONS_A_DAY] = LAST("made_at", "outbox WHERE member_id = ?1 AND kind = 0"),
        [BOUND_API_TOKENS_MOST] = "SELECT count(*) FROM api_tokens WHERE member_id = ?1",
        [BOUND_INVITES_A_DAY] = LAST("made_at", "invites WHERE made_by = ?1"),
        [BOUND_DRAFTS_MOST] = "SELECT count(*) FROM revisions WHERE editor = ?1 AND state < 2",
        [BOUND_ATTACHMENTS_MOST] = "SELECT count(*) FROM attachments WHERE revision_id = ?1",
        [BOUND_LINES_MOST] = "SELECT count(*) FROM lines WHERE ?1 = 0",
        [BOUND_PACKING_LISTS_MOST] = "SELECT count(*) FROM packing_lists WHERE ?1 = 0",
        [BOUND_NUMBER_CHANGES_MOST] = "SELECT count(*) FROM number_changes WHERE ?1 = 0",
        [BOUND_STOCK_CODES_MOST] = "SELECT count(*) FROM stock_codes WHERE ?1 = 0",
};

const struct sql_set bound_sql = {SET_BOUNDS, BOUNDS_COUNT, texts};

const struct bound_row *bound_met(const struct store *store)
{
	return store->bound_met;
}

enum status bound_fits(struct store *store, enum bound bound, int64_t count)
{
	if (count <= bounds[bound].limit)
		return ST_OK;
	store->bound_met = &bounds[bound];
	return ST_LIMIT;
}

/* ST_MISSING when there are fewer than the limit, less `more`. */
static enum status made_lately(struct query *q, const struct bound_row *row, int64_t more,
                               int64_t now, bool *out)
{
	int64_t at = 0;
	enum status status;

	bind_int(q, row->limit - more);
	bind_int(q, now);
	status = query_int(q, &at);
	*out = status == ST_OK && at > now - row->within;
	return status == ST_MISSING ? ST_OK : status;
}

enum status bound_room(struct store *store, enum bound bound, int64_t of, int64_t more, int64_t now)
{
	const struct bound_row *row = &bounds[bound];
	struct query q = query_start(store, &bound_sql, bound, NULL);
	int64_t count = 0;
	bool full = false;
	enum status status;

	bind_int(&q, of);
	if (row->within && more <= row->limit) {
		status = made_lately(&q, row, more, now, &full);
		count = full ? row->limit : 0;
	} else if (row->within) {
		status = query_end(&q);
	} else {
		status = query_int(&q, &count);
	}
	return status == ST_OK ? bound_fits(store, bound, count + more) : status;
}
