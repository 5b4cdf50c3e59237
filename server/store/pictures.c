/* Pictures: two files each (files.h), and one of six places of what it is on.
 * A place that becomes free is taken again; the order is that of the ids. */
#include "store/pictures.h"

#include "store/files.h"
#include "store/sql.h"

/* r: the report, also that of a finding. */
#define FROM_PICTURES                                                                              \
	" FROM pictures p JOIN files l ON l.id = p.large JOIN files s ON s.id = p.small"           \
	" LEFT JOIN notes n ON n.id = p.note_id LEFT JOIN findings f ON f.id = p.finding_id"       \
	" LEFT JOIN reports r ON r.id = coalesce(p.report_id, f.report_id) "
#define AUTHOR "coalesce(n.author, f.author, r.author, 0)"
#define REMOVED "coalesce(n.removed_at, r.removed_at) <> 0"
#define LISTED                                                                                     \
	"SELECT p.id, p.note_id, p.report_id, p.finding_id, r.id, " AUTHOR ", " REMOVED            \
	", p.words, p.mime, p.width, p.height, l.size, p.small_mime, p.small_width,"               \
	" p.small_height, s.size" FROM_PICTURES
#define ORDER " ORDER BY p.id"
/* The places that are taken, one bit each. */
#define TAKEN(column, id) "(SELECT sum(1 << place) FROM pictures WHERE " column " = " id ")"
#define READABLE "WHERE p.id = ?1 AND (?2 OR NOT " REMOVED ")"

/* Three of each, in the order of enum kind. */
enum kind { ON_NOTE, ON_REPORT, ON_FINDING };

enum {
	SQL_ROOM,
	SQL_LIST = SQL_ROOM + 3,
	SQL_ADD = SQL_LIST + 3,
	SQL_MAY_REMOVE,
	SQL_REMOVE,
	SQL_REPORT_CHANGED,
	SQL_LIST_BY,
	SQL_READ,
	SQL_LARGE,
	SQL_SMALL,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_ROOM + ON_NOTE] = "SELECT n.author, 0, " TAKEN(
                "note_id", "n.id") " FROM notes n"
                                   " WHERE n.id = ?1 AND n.removed_at = 0",
        [SQL_ROOM + ON_REPORT] = "SELECT r.author, r.id, " TAKEN(
                "report_id", "r.id") " FROM reports r"
                                     " WHERE r.id = ?1 AND r.removed_at = 0",
        [SQL_ROOM + ON_FINDING] = "SELECT f.author, r.id, " TAKEN(
                "finding_id", "f.id") " FROM findings f"
                                      " JOIN reports r ON r.id = f.report_id WHERE f.id = ?1 AND "
                                      "r.removed_at = 0",
        [SQL_LIST + ON_NOTE] = LISTED "WHERE p.note_id = ?1" ORDER,
        [SQL_LIST + ON_REPORT] = LISTED "WHERE p.report_id = ?1" ORDER,
        [SQL_LIST + ON_FINDING] = LISTED "WHERE p.finding_id = ?1" ORDER,
        [SQL_ADD] = "INSERT INTO pictures (note_id, report_id, finding_id, place, words, large,"
                    " mime, width, height, small, small_mime, small_width, small_height, added_by,"
                    " added_at)"
                    " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15)",
        [SQL_MAY_REMOVE] =
                "SELECT r.id, EXISTS (SELECT 1 FROM members m WHERE m.id = ?2 AND NOT m.disabled"
                " AND (m.role >= 1 OR (m.id = " AUTHOR " AND NOT " REMOVED ")))" FROM_PICTURES
                "WHERE p.id = ?1",
        [SQL_REMOVE] = "DELETE FROM pictures WHERE id = ?1",
        [SQL_REPORT_CHANGED] = "UPDATE reports SET version = version + 1"
                               " WHERE id IN (?1, (SELECT merged_into FROM reports WHERE id = ?1))",
        [SQL_LIST_BY] =
                LISTED "WHERE p.note_id IN (SELECT id FROM notes WHERE author = ?1)"
                       " OR p.report_id IN (SELECT id FROM reports WHERE author = ?1)"
                       " OR p.finding_id IN (SELECT id FROM findings WHERE author = ?1)" ORDER,
        [SQL_READ] = LISTED READABLE,
        [SQL_LARGE] = "SELECT p.mime, p.width, p.height, l.size, l.bytes" FROM_PICTURES READABLE,
        [SQL_SMALL] =
                "SELECT p.small_mime, p.small_width, p.small_height, s.size, s.bytes" FROM_PICTURES
                        READABLE,
};

const struct sql_set picture_sql = {SET_PICTURES, SQL_COUNT, texts};

static enum kind kind_of(const struct picture_of *of)
{
	return of->note.v ? ON_NOTE : of->report.v ? ON_REPORT : ON_FINDING;
}

/* One of the three statements from `first` on, with the id bound. */
static struct query start_of(struct store *store, size_t first, struct arena *arena,
                             const struct picture_of *of)
{
	struct query q = query_start(store, &picture_sql, first + kind_of(of), arena);

	bind_int(&q, of->note.v + of->report.v + of->finding.v);
	return q;
}

/* ---- adding ---- */

/* What pictures go on, as it is before they do. */
struct ground {
	int64_t report; /* 0: a note */
	int64_t taken;  /* places, one bit each */
};

static enum status check_ground(struct store *store, const struct picture_of *of,
                                struct member_id by, struct ground *out)
{
	struct query q = start_of(store, SQL_ROOM, NULL, of);
	int64_t author = 0;
	enum status status;

	if (query_found(&q)) {
		author = read_int(&q);
		out->report = read_int(&q);
		out->taken = read_int(&q);
	}
	status = query_end(&q);
	return status == ST_OK && author != by.v ? ST_DENIED : status;
}

/* PICTURES_MOST when there is none. */
static int free_place(int64_t taken)
{
	int place = 0;

	while (place < PICTURES_MOST && taken >> place & 1)
		place++;
	return place;
}

enum status pictures_room(struct store *store, const struct picture_of *of, struct member_id by,
                          size_t *room, struct report_id *report)
{
	struct ground ground = {0, 0};
	size_t free_places = 0;
	enum status status = check_ground(store, of, by, &ground);

	if (status != ST_OK)
		return status;
	for (int place; (place = free_place(ground.taken)) < PICTURES_MOST; free_places++)
		ground.taken |= (int64_t)1 << place;
	*room = free_places;
	report->v = ground.report;
	return ST_OK;
}

static enum status keep_two(struct store *store, const struct picture_entry *picture,
                            int64_t *large, int64_t *small)
{
	enum status status = file_keep(store, picture->large.bytes, picture->large.size, large);

	if (status == ST_OK)
		status = file_keep(store, picture->small.bytes, picture->small.size, small);
	return status;
}

static void bind_size(struct query *q, int64_t file, const struct picture_size *size)
{
	bind_int(q, file);
	bind_text(q, size->mime);
	bind_int(q, size->width);
	bind_int(q, size->height);
}

/* Who adds, and when. */
struct adding {
	struct member_id by;
	int64_t now;
};

static enum status add_one(struct store *store, const struct picture_of *of,
                           const struct picture_entry *picture, int place,
                           const struct adding *adding)
{
	int64_t large = 0, small = 0;
	enum status status = keep_two(store, picture, &large, &small);
	struct query q;

	if (status != ST_OK)
		return status;
	q = query_start(store, &picture_sql, SQL_ADD, NULL);
	bind_id_or_null(&q, of->note.v);
	bind_id_or_null(&q, of->report.v);
	bind_id_or_null(&q, of->finding.v);
	bind_int(&q, place);
	bind_text(&q, picture->words);
	bind_size(&q, large, &picture->large);
	bind_size(&q, small, &picture->small);
	bind_int(&q, adding->by.v);
	bind_int(&q, adding->now);
	return query_run(&q);
}

static enum status report_changed(struct store *store, int64_t report)
{
	struct query q = query_start(store, &picture_sql, SQL_REPORT_CHANGED, NULL);

	bind_int(&q, report);
	return query_run(&q);
}

enum status pictures_day(struct store *store, struct member_id by, size_t count, int64_t now)
{
	return bound_room(store, BOUND_PICTURES_A_DAY, by.v, (int64_t)count, now);
}

static enum status add_all(struct store *store, const struct picture_of *of,
                           const struct adding *adding, const struct picture_entry *pictures,
                           size_t count)
{
	struct ground ground = {0, 0};
	enum status status = check_ground(store, of, adding->by, &ground);

	if (status == ST_OK && count > 0)
		status = pictures_day(store, adding->by, count, adding->now);
	for (size_t i = 0; status == ST_OK && i < count; i++) {
		int place = free_place(ground.taken);

		ground.taken |= (int64_t)1 << place;
		status = bound_fits(store, BOUND_PICTURES_MOST, place + 1);
		if (status == ST_OK)
			status = add_one(store, of, &pictures[i], place, adding);
	}
	return status == ST_OK && ground.report ? report_changed(store, ground.report) : status;
}

enum status pictures_add(struct store *store, const struct picture_of *of, struct member_id by,
                         const struct picture_entry *pictures, size_t count, int64_t now)
{
	const struct adding adding = {by, now};
	enum status status = act_begin(store);

	return status == ST_OK ? act_end(store, add_all(store, of, &adding, pictures, count))
	                       : status;
}

/* ---- removing ---- */

static enum status check_may_remove(struct store *store, struct picture_id id, struct member_id by,
                                    int64_t *report)
{
	struct query q = query_start(store, &picture_sql, SQL_MAY_REMOVE, NULL);
	bool may = false;
	enum status status;

	bind_int(&q, id.v);
	bind_int(&q, by.v);
	if (query_found(&q)) {
		*report = read_int(&q);
		may = read_int(&q) != 0;
	}
	status = query_end(&q);
	return status == ST_OK && !may ? ST_DENIED : status;
}

static enum status remove_row(struct store *store, struct picture_id id)
{
	struct query q = query_start(store, &picture_sql, SQL_REMOVE, NULL);

	bind_int(&q, id.v);
	return query_run_one(&q);
}

enum status picture_remove(struct store *store, struct picture_id id, struct member_id by)
{
	int64_t report = 0;
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = check_may_remove(store, id, by, &report);
	if (status == ST_OK)
		status = remove_row(store, id);
	if (status == ST_OK && report)
		status = report_changed(store, report);
	return act_end(store, status);
}

/* ---- reading ---- */

static void read_size(struct query *q, struct picture_size *size)
{
	size->mime = read_text(q);
	size->width = (unsigned)read_int(q);
	size->height = (unsigned)read_int(q);
	size->size = (size_t)read_int(q);
}

static void read_picture(struct query *q, void *row)
{
	struct picture_row *picture = row;

	picture->id.v = read_int(q);
	picture->of.note.v = read_int(q);
	picture->of.report.v = read_int(q);
	picture->of.finding.v = read_int(q);
	picture->on_report.v = read_int(q);
	picture->author.v = read_int(q);
	picture->removed = read_int(q) != 0;
	picture->words = read_text(q);
	read_size(q, &picture->large);
	read_size(q, &picture->small);
}

enum status picture_list(struct store *store, struct arena *arena, const struct picture_of *of,
                         size_t n_of, const struct picture_row **out, size_t *count)
{
	struct rows rows = {0};
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < n_of; i++) {
		struct query q = start_of(store, SQL_LIST, arena, &of[i]);

		status = query_rows(&q, read_picture, sizeof(struct picture_row), &rows);
	}
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

enum status picture_list_by(struct store *store, struct arena *arena, struct member_id author,
                            const struct picture_row **out, size_t *count)
{
	struct query q = query_start(store, &picture_sql, SQL_LIST_BY, arena);
	struct rows rows = {0};
	enum status status;

	bind_int(&q, author.v);
	status = query_rows(&q, read_picture, sizeof(struct picture_row), &rows);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

static struct query start_readable(struct store *store, size_t which, struct arena *arena,
                                   struct picture_id id, bool steward)
{
	struct query q = query_start(store, &picture_sql, which, arena);

	bind_int(&q, id.v);
	bind_int(&q, steward);
	return q;
}

enum status picture_read(struct store *store, struct arena *arena, struct picture_id id,
                         bool steward, struct picture_row *out)
{
	struct query q = start_readable(store, SQL_READ, arena, id, steward);
	struct picture_row row = {.words = ""};

	if (query_found(&q))
		read_picture(&q, &row);
	if (q.status == ST_OK)
		*out = row;
	return query_end(&q);
}

enum status picture_bytes(struct store *store, struct arena *arena, struct picture_id id,
                          bool small, bool steward, struct picture_size *out)
{
	struct query q = start_readable(store, small ? SQL_SMALL : SQL_LARGE, arena, id, steward);
	struct picture_size size = {.mime = ""};

	if (query_found(&q)) {
		read_size(&q, &size);
		size.bytes = read_bytes(&q, &size.size);
	}
	if (q.status == ST_OK)
		*out = size;
	return query_end(&q);
}
