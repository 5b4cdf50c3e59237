#include "store/kit_log.h"

#include "store/sql.h"
#include "store/bounds.h"

#define ROW_COLUMNS                                                                                \
	"l.id, coalesce(l.corrects, 0), l.withdraws, l.day, l.hours, l.landings, l.event,"         \
	" l.entered_by, l.entered_at, c.id IS NULL AND l.withdraws = 0"
#define FROM_LOG " FROM kit_log l LEFT JOIN kit_log c ON c.corrects = l.id WHERE l.kit_id = ?1"

enum {
	SQL_HAS,
	SQL_ADD,
	SQL_TOUCH,
	SQL_LIST,
	SQL_USE,
	SQL_PLANNED,
	SQL_PLAN,
	SQL_FORGET,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_HAS] = "SELECT 1 FROM kit_log WHERE kit_id = ?1 AND id = ?2",
        [SQL_ADD] = "INSERT INTO kit_log (kit_id, corrects, withdraws, day, hours, landings, event,"
                    " event_key, entered_by, entered_at)"
                    " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
        [SQL_TOUCH] = "UPDATE kits SET version = version + 1 WHERE id = ?1",
        [SQL_LIST] = "SELECT " ROW_COLUMNS FROM_LOG " ORDER BY l.day DESC, l.id DESC",
        [SQL_USE] = "SELECT " ROW_COLUMNS FROM_LOG " AND c.id IS NULL AND l.withdraws = 0"
                    " ORDER BY l.day, l.hours, l.landings, l.id",
        [SQL_PLANNED] = "SELECT event, day, hours FROM kit_planned WHERE kit_id = ?1"
                        " ORDER BY event_key",
        [SQL_PLAN] = "INSERT INTO kit_planned (kit_id, event, event_key, day, hours)"
                     " VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT (kit_id, event_key) DO UPDATE"
                     " SET event = excluded.event, day = excluded.day, hours = excluded.hours",
        [SQL_FORGET] = "DELETE FROM kit_planned WHERE kit_id = ?1 AND event_key = ?2",
};

const struct sql_set kit_log_sql = {SET_KIT_LOG, SQL_COUNT, texts};

static struct query start_of(struct store *store, size_t which, struct arena *arena,
                             struct kit_id kit)
{
	struct query q = query_start(store, &kit_log_sql, which, arena);

	bind_int(&q, kit.v);
	return q;
}

static enum status touch(struct store *store, struct kit_id kit)
{
	struct query q = start_of(store, SQL_TOUCH, NULL, kit);

	return query_run_one(&q);
}

/* Adding -------------------------------------------------------------------- */

static enum status check_corrects(struct store *store, struct kit_id kit, struct kit_log_id id)
{
	struct query q;
	int64_t found;

	if (!id.v)
		return ST_OK;
	q = start_of(store, SQL_HAS, NULL, kit);
	bind_int(&q, id.v);
	return query_int(&q, &found);
}

static enum status insert(struct store *store, struct kit_id kit, const struct kit_log_row *row,
                          struct kit_log_id *out)
{
	const struct use_entry *entry = &row->entry;
	struct query q = start_of(store, SQL_ADD, NULL, kit);

	bind_id_or_null(&q, row->corrects.v);
	bind_int(&q, row->withdraws);
	bind_date(&q, date_of_day(entry->day));
	bind_int_if(&q, entry->has[USE_HOURS], entry->total[USE_HOURS]);
	bind_int_if(&q, entry->has[USE_LANDINGS], entry->total[USE_LANDINGS]);
	bind_name_text(&q, name_is_empty(&entry->event) ? "" : entry->event.text);
	bind_text(&q, row->entered_by);
	bind_int(&q, row->entered_at);
	return query_insert(&q, &out->v);
}

enum status kit_log_add(struct store *store, struct kit_id kit, const struct kit_log_row *row,
                        struct kit_log_id *out)
{
	struct kit_log_id id = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = touch(store, kit);
	if (status == ST_OK)
		status = check_corrects(store, kit, row->corrects);
	if (status == ST_OK && !row->withdraws) /* each goes once */
		status = bound_room(store, BOUND_KIT_LOG_MOST, kit.v, 1, row->entered_at);
	if (status == ST_OK)
		status = insert(store, kit, row, &id);
	status = act_end(store, status);
	if (status == ST_OK)
		*out = id;
	return status;
}

/* Reading ------------------------------------------------------------------- */

static void read_row(struct query *q, void *at)
{
	struct kit_log_row *row = at;
	struct use_entry *entry = &row->entry;

	row->id.v = read_int(q);
	row->corrects.v = read_int(q);
	row->withdraws = read_int(q) != 0;
	entry->day = read_date(q).first;
	entry->has[USE_HOURS] = read_int_if(q, &entry->total[USE_HOURS]);
	entry->has[USE_LANDINGS] = read_int_if(q, &entry->total[USE_LANDINGS]);
	entry->event = read_name(q);
	row->entered_by = read_text(q);
	row->entered_at = read_int(q);
	row->counts = read_int(q) != 0;
}

enum status kit_log_list(struct store *store, struct arena *arena, struct kit_id kit,
                         const struct kit_log_row **out, size_t *count)
{
	struct query q = start_of(store, SQL_LIST, arena, kit);
	struct rows rows = {0};
	enum status status = query_rows(&q, read_row, sizeof(struct kit_log_row), &rows);

	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

static void read_entry(struct query *q, void *at)
{
	struct kit_log_row row = {.id = {0}};

	read_row(q, &row);
	*(struct use_entry *)at = row.entry;
}

static void read_planned(struct query *q, void *at)
{
	struct planned_event *planned = at;
	struct date_fact day;

	planned->event = read_name(q);
	day = read_date_fact(q);
	planned->has_day = day.state == DATE_KNOWN;
	planned->day = day.date.first;
	planned->has_hours = read_int_if(q, &planned->hours);
}

static enum status read_use(struct store *store, struct arena *arena, struct kit_id kit,
                            struct kit_use *out)
{
	struct query q = start_of(store, SQL_USE, arena, kit);
	struct rows log = {0}, planned = {0};
	enum status status = query_rows(&q, read_entry, sizeof(struct use_entry), &log);

	if (status != ST_OK)
		return status;
	q = start_of(store, SQL_PLANNED, arena, kit);
	status = query_rows(&q, read_planned, sizeof(struct planned_event), &planned);
	if (status != ST_OK)
		return status;
	*out = (struct kit_use){log.at, planned.at, log.count, planned.count};
	return ST_OK;
}

enum status kit_log_use(struct store *store, struct arena *arena, struct kit_id kit,
                        struct kit_use *out)
{
	enum status status = act_begin_reading(store);

	if (status != ST_OK)
		return status;
	return act_end(store, read_use(store, arena, kit, out));
}

/* Events to come ------------------------------------------------------------ */

static enum status plan(struct store *store, struct kit_id kit, const struct planned_event *event)
{
	bool planned = event->has_day || event->has_hours;
	struct query q = start_of(store, planned ? SQL_PLAN : SQL_FORGET, NULL, kit);

	if (!planned) {
		bind_key_of(&q, event->event.text);
		return query_run(&q);
	}
	bind_name(&q, &event->event);
	if (event->has_day)
		bind_date(&q, date_of_day(event->day));
	else
		bind_text(&q, "");
	bind_int_if(&q, event->has_hours, event->hours);
	return query_run(&q);
}

enum status kit_plan_event(struct store *store, struct kit_id kit,
                           const struct planned_event *event)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = touch(store, kit);
	if (status == ST_OK)
		status = plan(store, kit, event);
	if (status == ST_OK)
		status = bound_room(store, BOUND_KIT_EVENTS_MOST, kit.v, 0, 0);
	return act_end(store, status);
}
