/* Facts of kits as they were. A snapshot is copied from the kit's tables within
 * SQLite, once for each version of a kit that a finding names. It is read as
 * kits.c reads kits: one walk for each list, all in order of the snapshot's id.
 */
#include "store/fact_rows.h"
#include "store/report_sql.h"

#define NAMED "IN (SELECT snapshot_id FROM findings WHERE report_id IN " READ_TOGETHER ")"
#define LIST_OF(columns, table)                                                                    \
	"SELECT snapshot_id, " columns " FROM " table " WHERE snapshot_id " NAMED                  \
	" ORDER BY snapshot_id, place"

enum {
	SQL_TAKE,
	SQL_TAKEN,
	SQL_TAKE_OPTIONS,
	SQL_TAKE_SUBKITS,
	SQL_TAKE_PARTS,
	SQL_LIST,
	SQL_OPTIONS,
	SQL_SUBKITS,
	SQL_PARTS,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_TAKE] = "INSERT INTO kit_snapshots (kit, kit_version, taken_at, model, serial,"
                     " purchased, plans, first_flight, hours, landings, parts_known)"
                     " SELECT k.id, k.version, ?2, k.model, k.serial, k.purchased, k.plans,"
                     " k.first_flight, " NEWEST(hours) ", " NEWEST(
                             landings) ", k.parts_known"
                                       " FROM kits k WHERE k.id = ?1 ON CONFLICT (kit, "
                                       "kit_version) DO NOTHING",
        [SQL_TAKEN] = "SELECT s.id FROM kits k JOIN kit_snapshots s ON s.kit = k.id"
                      " AND s.kit_version = k.version WHERE k.id = ?1",
        [SQL_TAKE_OPTIONS] = "INSERT INTO snapshot_options (snapshot_id, place, name, fitted)"
                             " SELECT ?2, place, name, fitted FROM kit_options"
                             " WHERE kit_id = ?1",
        [SQL_TAKE_SUBKITS] =
                "INSERT INTO snapshot_subkits (snapshot_id, place, code, received, shipped)"
                " SELECT ?2, place, code, received, shipped FROM kit_subkits WHERE kit_id = ?1",
        [SQL_TAKE_PARTS] =
                "INSERT INTO snapshot_parts (snapshot_id, place, number, position, serial, lot)"
                " SELECT ?2, place, number, position, serial, lot FROM kit_parts"
                " WHERE kit_id = ?1",
        [SQL_LIST] = "SELECT id, model, serial, purchased, plans, first_flight, hours, landings,"
                     " parts_known FROM kit_snapshots WHERE id " NAMED " ORDER BY id",
        [SQL_OPTIONS] = LIST_OF("name, fitted", "snapshot_options"),
        [SQL_SUBKITS] = LIST_OF("code, received, shipped", "snapshot_subkits"),
        [SQL_PARTS] = LIST_OF("number, position, serial, lot", "snapshot_parts"),
};

const struct sql_set snapshot_sql = {SET_SNAPSHOTS, SQL_COUNT, texts};

static struct query start_of(struct store *store, size_t which, struct arena *arena, int64_t id)
{
	struct query q = query_start(store, &snapshot_sql, which, arena);

	bind_int(&q, id);
	return q;
}

/* Taking -------------------------------------------------------------------- */

static enum status take_lists(struct store *store, struct kit_id kit, int64_t snapshot)
{
	enum status status = ST_OK;

	for (size_t which = SQL_TAKE_OPTIONS; status == ST_OK && which <= SQL_TAKE_PARTS; which++) {
		struct query q = start_of(store, which, NULL, kit.v);

		bind_int(&q, snapshot);
		status = query_run(&q);
	}
	return status;
}

enum status snapshot_take(struct store *store, struct kit_id kit, int64_t now, int64_t *out)
{
	struct query q = start_of(store, SQL_TAKE, NULL, kit.v);
	enum status taken, status;

	bind_int(&q, now);
	taken = query_run_one(&q); /* ST_MISSING: it is there already, or the kit is not */
	if (taken != ST_OK && taken != ST_MISSING)
		return taken;
	q = start_of(store, SQL_TAKEN, NULL, kit.v);
	status = query_int(&q, out);
	return status == ST_OK && taken == ST_OK ? take_lists(store, kit, *out) : status;
}

/* Reading ------------------------------------------------------------------- */

struct snapshot_walk {
	struct query snapshots, options, subkits, parts;
};

static void read_snapshot(struct query *q, struct snapshot *snapshot)
{
	struct facts *facts = &snapshot->facts;

	snapshot->id = read_int(q);
	facts->model = read_name(q);
	facts->has_serial = read_serial(q, &facts->serial);
	facts->purchased = read_date_fact(q);
	facts->plans = read_date_fact(q);
	facts->first_flight = read_date_fact(q);
	facts->has_hours = read_int_if(q, &facts->hours);
	facts->has_landings = read_int_if(q, &facts->landings);
	facts->parts_known = read_int(q) != 0;
}

static void read_lists(struct snapshot_walk *walk, struct snapshot *snapshot)
{
	struct rows options = {0}, subkits = {0}, parts = {0};
	struct facts *facts = &snapshot->facts;

	query_rows_of(&walk->options, snapshot->id, read_option_fact, sizeof(struct option_fact),
	              &options);
	query_rows_of(&walk->subkits, snapshot->id, read_subkit_fact, sizeof(struct subkit_fact),
	              &subkits);
	query_rows_of(&walk->parts, snapshot->id, read_part_fact, sizeof(struct part_fact), &parts);
	facts->options = options.at;
	facts->n_options = options.count;
	facts->subkits = subkits.at;
	facts->n_subkits = subkits.count;
	facts->parts = parts.at;
	facts->n_parts = parts.count;
}

static enum status walk_end(struct snapshot_walk *walk)
{
	struct query *queries[] = {&walk->snapshots, &walk->options, &walk->subkits, &walk->parts};
	enum status status = ST_OK;

	for (size_t i = 0; i < sizeof queries / sizeof *queries; i++) {
		enum status ended = query_end(queries[i]);

		if (status == ST_OK)
			status = ended;
	}
	return status;
}

enum status snapshots_of(struct store *store, struct arena *arena, struct report_id report,
                         const struct snapshot **out, size_t *count)
{
	struct snapshot_walk walk = {
	        .snapshots = start_of(store, SQL_LIST, arena, report.v),
	        .options = start_of(store, SQL_OPTIONS, arena, report.v),
	        .subkits = start_of(store, SQL_SUBKITS, arena, report.v),
	        .parts = start_of(store, SQL_PARTS, arena, report.v),
	};
	struct rows rows = {0};
	enum status status = ST_OK;

	while (status == ST_OK && query_row(&walk.snapshots)) {
		struct snapshot *snapshot = rows_add(arena, &rows, sizeof *snapshot);

		if (snapshot) {
			read_snapshot(&walk.snapshots, snapshot);
			read_lists(&walk, snapshot);
		} else {
			status = ST_NOMEM;
		}
	}
	if (status == ST_OK)
		status = walk_end(&walk);
	else
		(void)walk_end(&walk);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}
