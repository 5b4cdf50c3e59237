/* Facts of kits as they were. A snapshot is copied from the kit's tables within
 * SQLite, once for each version of a kit that a finding names. Its lists are
 * packed, each into one text: whoever reads a report reads the facts of thousands
 * of kits, and nobody ever looks for one of them by what is on a list.
 *
 * Packed: fields end with US (0x1F), the last of a row with RS (0x1E), the marks
 * that ASCII has for this; no name that a person types holds them.
 */
#include <string.h>

#include "store/fact_rows.h"
#include "store/report_sql.h"

#define US " || char(31) || "
#define PACKED(row, table)                                                                         \
	"coalesce((SELECT group_concat(packed, '') FROM (SELECT " row " || char(30) AS packed"     \
	" FROM " table " WHERE kit_id = k.id ORDER BY place)), '')"

enum { SQL_TAKE, SQL_TAKEN, SQL_COUNT };

#define COLUMNS                                                                                    \
	"kit, kit_version, taken_at" SINGLE_FACTS(COLUMN) ", parts_known, options, subkits, parts"
#define PACKED_OPTIONS PACKED("name" US "fitted", "kit_options")
#define PACKED_SUBKITS PACKED("code" US "received" US "shipped", "kit_subkits")
#define PACKED_PARTS PACKED("number" US "position" US "serial" US "lot", "kit_parts")
#define VALUES "k.id, k.version, ?2" KEPT_FACTS(OF_KIT) LOGGED_FACTS(OF_LOG) ", k.parts_known"

static const char *const texts[SQL_COUNT] = {
        [SQL_TAKE] = "INSERT INTO kit_snapshots (" COLUMNS ") SELECT " VALUES ", " PACKED_OPTIONS
                     ", " PACKED_SUBKITS ", " PACKED_PARTS " FROM kits k WHERE k.id = ?1"
                     " ON CONFLICT (kit, kit_version) DO NOTHING",
        [SQL_TAKEN] = "SELECT s.id FROM kits k JOIN kit_snapshots s ON s.kit = k.id"
                      " AND s.kit_version = k.version WHERE k.id = ?1",
};

const struct sql_set snapshot_sql = {SET_SNAPSHOTS, SQL_COUNT, texts};

enum status snapshot_take(struct store *store, struct kit_id kit, int64_t now, int64_t *out)
{
	struct query q = query_start(store, &snapshot_sql, SQL_TAKE, NULL);
	enum status status;

	bind_int(&q, kit.v);
	bind_int(&q, now);
	status = query_run(&q);
	if (status != ST_OK)
		return status;
	q = query_start(store, &snapshot_sql, SQL_TAKEN, NULL);
	bind_int(&q, kit.v);
	return query_int(&q, out);
}

/* Unpacking ------------------------------------------------------------------ */

struct packed {
	struct query *q; /* keeps the first fault */
	const char *at;  /* what is left of the text */
};

struct field {
	const char *at;
	size_t len;
};

static struct field next_field(struct packed *packed)
{
	struct field field = {packed->at, strcspn(packed->at, "\x1f\x1e")};

	packed->at += field.len + (packed->at[field.len] != '\0');
	return field;
}

static void note(struct packed *packed, enum status status)
{
	if (packed->q->status == ST_OK && status != ST_OK)
		packed->q->status = status == ST_NOMEM ? ST_NOMEM : ST_IO;
}

static struct name next_name(struct packed *packed)
{
	struct name name = {.text = "", .key = ""};
	struct field field = next_field(packed);

	note(packed, name_make(packed->q->arena, field.at, field.len, &name));
	return name;
}

static bool next_flag(struct packed *packed)
{
	return *next_field(packed).at == '1';
}

static bool next_serial(struct packed *packed, struct serial *out)
{
	struct field field = next_field(packed);

	if (field.len)
		note(packed, serial_make(packed->q->arena, field.at, field.len, out));
	return field.len > 0;
}

static struct date_fact next_date(struct packed *packed)
{
	struct field field = next_field(packed);

	return date_fact_of_text(packed->q, field.at, field.len);
}

/* Room for as many as the text has rows; NULL for none and when memory ran out. */
static void *room_for(struct packed *packed, size_t size, size_t *count)
{
	void *room;

	*count = 0;
	for (const char *at = packed->at; (at = strchr(at, '\x1e')) != NULL; at++)
		++*count;
	room = *count ? arena_array(packed->q->arena, *count, size) : NULL;
	if (*count && !room) {
		note(packed, ST_NOMEM);
		*count = 0;
	}
	return room;
}

static void unpack_options(struct query *q, struct facts *facts)
{
	struct packed packed = {q, read_text(q)};
	struct option_fact *options = room_for(&packed, sizeof *options, &facts->n_options);

	for (size_t i = 0; i < facts->n_options; i++) {
		options[i].name = next_name(&packed);
		options[i].fitted = next_flag(&packed);
	}
	facts->options = options;
}

static void unpack_subkits(struct query *q, struct facts *facts)
{
	struct packed packed = {q, read_text(q)};
	struct subkit_fact *subkits = room_for(&packed, sizeof *subkits, &facts->n_subkits);

	for (size_t i = 0; i < facts->n_subkits; i++) {
		subkits[i].code = next_name(&packed);
		subkits[i].received = next_flag(&packed);
		subkits[i].shipped = next_date(&packed);
	}
	facts->subkits = subkits;
}

/* Without positions and serial numbers where only lots are wanted. */
static void unpack_parts(struct query *q, bool lots_only, struct facts *facts)
{
	struct packed packed = {q, read_text(q)};
	struct part_fact *parts = room_for(&packed, sizeof *parts, &facts->n_parts);

	for (size_t i = 0; i < facts->n_parts; i++) {
		parts[i].number = next_name(&packed);
		if (lots_only) {
			next_field(&packed);
			next_field(&packed);
		} else {
			parts[i].position = next_name(&packed);
			parts[i].has_serial = next_serial(&packed, &parts[i].serial);
		}
		parts[i].has_lot = next_serial(&packed, &parts[i].lot);
	}
	facts->parts = parts;
}

void snapshot_read(struct query *q, struct facts *facts)
{
	for (size_t i = 0; i < FACT_FIELDS; i++)
		read_fact(q, &fact_fields[i], facts);
	facts->parts_known = read_int(q) != 0;
	unpack_options(q, facts);
	unpack_subkits(q, facts);
	unpack_parts(q, false, facts);
}

void snapshot_read_splitting(struct query *q, struct facts *facts)
{
	facts->has_serial = read_serial(q, &facts->serial);
	facts->purchased = read_date_fact(q);
	facts->plans = read_date_fact(q);
	unpack_options(q, facts);
	unpack_parts(q, true, facts);
}
