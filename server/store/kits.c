/* Facts are read by one walk for each list over a range of kits, all in order
 * of kit id: of one kit when both ends are its id, of all for kits_each. So
 * reading every kit costs a handful of statements however many there are, and
 * none for a list that nobody asks for.
 * kits.model is squeezed when it is stored; upper() folds ASCII letters, as the
 * keys of names are folded.
 */
#include "store/kits.h"

#include "store/fact_rows.h"
#include "store/sql.h"

#define KIT_COLUMNS                                                                                \
	"SELECT k.id, k.owner, m.name, k.name, k.version, k.made_at, k.records, k.counted_in,"     \
	" k.shown, k.named,"                                                                       \
	" coalesce(l.id, 0), coalesce(l.version, 0)"
#define FACT_COLUMNS KEPT_FACTS(OF_KIT) KNOWN_LISTS(OF_KIT)
#define SET_COLUMN(key, ...) ", " #key " = ?"
#define FROM_KITS                                                                                  \
	" FROM kits k JOIN members m ON m.id = k.owner"                                            \
	" LEFT JOIN lines l ON l.model_key = upper(k.model) "
#define OF_RANGE "WHERE kit_id BETWEEN ?1 AND ?2 ORDER BY kit_id, place"

enum {
	SQL_ADD,
	SQL_READ,
	SQL_OWNER,
	SQL_RENAME,
	SQL_SET_SHOWN,
	SQL_SET_NAMED,
	SQL_REMOVE,
	SQL_LIST,
	SQL_TOTAL,
	SQL_GENERATION,
	SQL_CHANGED,
	SQL_AT,
	SQL_TOUCH,
	SQL_FACTS,
	SQL_USE,
	SQL_SET_FACTS,
	SQL_OPTIONS,
	SQL_SUBKITS,
	SQL_PARTS,
	SQL_STEPS,
	SQL_STEPS_NAMED,
	SQL_NOTICES,
	SQL_STEP_PLANS,
	SQL_STEP_DATES,
	SQL_CLEAR_OPTIONS,
	SQL_CLEAR_SUBKITS,
	SQL_CLEAR_PARTS,
	SQL_CLEAR_NAMES,
	SQL_CLEAR_STEP_PLANS,
	SQL_ADD_OPTION,
	SQL_ADD_SUBKIT,
	SQL_ADD_PART,
	SQL_ADD_NOTICE,
	SQL_ADD_STEP,
	SQL_ADD_STEP_PLANS,
	SQL_MARK_STEP,
	SQL_UNMARK_STEP,
	SQL_SET_STEPS_KNOWN,
	SQL_MARK,
	SQL_UNMARK,
	SQL_MARKS,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_ADD] = "INSERT INTO kits (owner, name, made_at) VALUES (?1, ?2, ?3)",
        [SQL_READ] = KIT_COLUMNS FROM_KITS "WHERE k.id = ?1",
        [SQL_OWNER] = "SELECT owner FROM kits WHERE id = ?1",
        [SQL_RENAME] = "UPDATE kits SET name = ?2, version = version + 1 WHERE id = ?1",
        [SQL_SET_SHOWN] = "UPDATE kits SET shown = ?2, version = version + 1 WHERE id = ?1",
        [SQL_SET_NAMED] = "UPDATE kits SET named = ?2, version = version + 1 WHERE id = ?1",
        [SQL_REMOVE] = "DELETE FROM kits WHERE id = ?1",
        [SQL_LIST] = KIT_COLUMNS FROM_KITS "WHERE k.owner = ?1 ORDER BY k.id",
        [SQL_GENERATION] = "SELECT value FROM kits_generation",
        [SQL_CHANGED] = "SELECT kit_id FROM kit_changes WHERE at > ?1 ORDER BY kit_id",
        [SQL_TOTAL] = "SELECT count(*) FROM kits",
        [SQL_AT] = "SELECT id, version, counted_in FROM kits ORDER BY id",
        [SQL_TOUCH] = "UPDATE kits SET version = version + 1 WHERE id = ?1",
        [SQL_FACTS] =
                KIT_COLUMNS FACT_COLUMNS FROM_KITS "WHERE k.id BETWEEN ?1 AND ?2 ORDER BY k.id",
        [SQL_USE] = "SELECT k.id" LOGGED_FACTS(OF_LOG) " FROM kits k WHERE k.id = ?1",
        [SQL_SET_FACTS] = "UPDATE kits SET version = version + 1" KEPT_FACTS(SET_COLUMN)
                KNOWN_LISTS(SET_COLUMN) " WHERE id = ?",
        [SQL_OPTIONS] = "SELECT kit_id, name, fitted FROM kit_options " OF_RANGE,
        [SQL_SUBKITS] = "SELECT kit_id, code, received, shipped FROM kit_subkits " OF_RANGE,
        [SQL_PARTS] = "SELECT kit_id, number, position, serial, lot FROM kit_parts " OF_RANGE,
        [SQL_STEPS] = "SELECT kit_id, name FROM kit_names"
                      " WHERE kit_id BETWEEN ?1 AND ?2 AND list = 0 ORDER BY kit_id, place",
        /* The key in place of the name: the index has it. */
        [SQL_STEPS_NAMED] = "SELECT k.id, n.name_key FROM kits k CROSS JOIN kit_names n"
                            " ON n.kit_id = k.id AND n.list = 0 AND n.name_key IN"
                            " (?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)"
                            " WHERE k.id BETWEEN ?1 AND ?2 ORDER BY k.id",
        [SQL_NOTICES] = "SELECT kit_id, name FROM kit_names"
                        " WHERE kit_id BETWEEN ?1 AND ?2 AND list = 1 ORDER BY kit_id, place",
        [SQL_STEP_PLANS] = "SELECT kit_id, step, plans FROM kit_step_plans " OF_RANGE,
        [SQL_STEP_DATES] = "SELECT kit_id, name, done FROM kit_names"
                           " WHERE kit_id BETWEEN ?1 AND ?2 AND list = 0 AND done <> ''"
                           " ORDER BY kit_id, place",
        [SQL_CLEAR_OPTIONS] = "DELETE FROM kit_options WHERE kit_id = ?1",
        [SQL_CLEAR_SUBKITS] = "DELETE FROM kit_subkits WHERE kit_id = ?1",
        [SQL_CLEAR_PARTS] = "DELETE FROM kit_parts WHERE kit_id = ?1",
        [SQL_CLEAR_NAMES] = "DELETE FROM kit_names WHERE kit_id = ?1",
        [SQL_CLEAR_STEP_PLANS] = "DELETE FROM kit_step_plans WHERE kit_id = ?1",
        [SQL_ADD_OPTION] = "INSERT INTO kit_options (kit_id, place, name, name_key, fitted)"
                           " VALUES (?1, ?2, ?3, ?4, ?5)",
        [SQL_ADD_SUBKIT] =
                "INSERT INTO kit_subkits (kit_id, place, code, code_key, received, shipped)"
                " VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        [SQL_ADD_PART] = "INSERT INTO kit_parts (kit_id, place, number, position, serial, lot)"
                         " VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        [SQL_ADD_NOTICE] = "INSERT INTO kit_names (kit_id, place, list, name, name_key)"
                           " VALUES (?1, ?2, 1, ?3, ?4)",
        [SQL_ADD_STEP] = "INSERT INTO kit_names (kit_id, place, list, name, name_key, done)"
                         " VALUES (?1, ?2, 0, ?3, ?4, ?5)",
        [SQL_ADD_STEP_PLANS] = "INSERT INTO kit_step_plans (kit_id, place, step, step_key, plans)"
                               " VALUES (?1, ?2, ?3, ?4, ?5)",
        [SQL_MARK_STEP] =
                "INSERT INTO kit_names (kit_id, place, list, name, name_key, done) VALUES (?1,"
                " (SELECT coalesce(max(place), -1) + 1 FROM kit_names WHERE kit_id = ?1"
                " AND list = 0), 0, ?2, ?3, ?4) ON CONFLICT (kit_id, list, name_key)"
                " DO UPDATE SET done = iif(excluded.done <> '', excluded.done, done)",
        [SQL_UNMARK_STEP] = "DELETE FROM kit_names WHERE kit_id = ?1 AND list = 0"
                            " AND name_key = ?2",
        [SQL_SET_STEPS_KNOWN] =
                "UPDATE kits SET version = version + 1, steps_known = ?2 WHERE id = ?1",
        [SQL_MARK] = "INSERT INTO readings (kit_id, notice_id, revision_id, read_at)"
                     " VALUES (?1, ?2, ?3, ?4) ON CONFLICT (kit_id, notice_id) DO UPDATE"
                     " SET revision_id = excluded.revision_id, read_at = excluded.read_at",
        [SQL_UNMARK] = "DELETE FROM readings WHERE kit_id = ?1 AND notice_id = ?2",
        [SQL_MARKS] = "SELECT notice_id, revision_id, read_at FROM readings WHERE kit_id = ?1"
                      " ORDER BY notice_id",
};

const struct sql_set kit_sql = {SET_KITS, SQL_COUNT, texts};

static struct query start(struct store *store, size_t which, struct arena *arena)
{
	return query_start(store, &kit_sql, which, arena);
}

/* Statements whose only parameter is a kit. */
static struct query start_of(struct store *store, size_t which, struct arena *arena,
                             struct kit_id id)
{
	struct query q = start(store, which, arena);

	bind_int(&q, id.v);
	return q;
}

static enum status touch(struct store *store, struct kit_id id)
{
	struct query q = start_of(store, SQL_TOUCH, NULL, id);

	return query_run_one(&q);
}

/* Kits ---------------------------------------------------------------------- */

static enum status add(struct store *store, struct member_id owner, const char *name, int64_t now,
                       struct kit_id *out)
{
	struct query q = start(store, SQL_ADD, NULL);

	bind_int(&q, owner.v);
	bind_text(&q, name);
	bind_int(&q, now);
	return query_insert(&q, &out->v);
}

enum status kit_add(struct store *store, struct member_id owner, const char *name, int64_t now,
                    struct kit_id *out)
{
	struct kit_id id = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = bound_room(store, BOUND_KITS_MOST, owner.v, 1, now);
	if (status == ST_OK)
		status = add(store, owner, name, now, &id);
	status = act_end(store, status);
	if (status == ST_OK)
		*out = id;
	return status;
}

static void read_kit(struct query *q, void *row)
{
	struct kit *kit = row;

	kit->id.v = read_int(q);
	kit->owner.v = read_int(q);
	kit->owner_name = read_text(q);
	kit->name = read_text(q);
	kit->version = read_int(q);
	kit->made_at = read_int(q);
	kit->records = read_int(q);
	kit->counted_in = read_int(q) != 0;
	kit->shown = read_int(q) != 0;
	kit->named = read_int(q) != 0;
	kit->line.v = read_int(q);
	kit->line_version = read_int(q);
}

enum status kit_read(struct store *store, struct arena *arena, struct kit_id id, struct kit *out)
{
	struct query q = start_of(store, SQL_READ, arena, id);
	struct kit kit = {.id = {0}};

	if (query_found(&q))
		read_kit(&q, &kit);
	if (q.status == ST_OK)
		*out = kit;
	return query_end(&q);
}

enum status kit_owner(struct store *store, struct kit_id id, struct member_id *out)
{
	struct query q = start_of(store, SQL_OWNER, NULL, id);

	return query_int(&q, &out->v);
}

enum status kit_rename(struct store *store, struct kit_id id, const char *name)
{
	struct query q = start_of(store, SQL_RENAME, NULL, id);

	bind_text(&q, name);
	return query_run_one(&q);
}

static enum status set_flag(struct store *store, size_t which, struct kit_id id, bool on)
{
	struct query q = start_of(store, which, NULL, id);

	bind_int(&q, on);
	return query_run_one(&q);
}

enum status kit_set_shown(struct store *store, struct kit_id id, bool shown)
{
	return set_flag(store, SQL_SET_SHOWN, id, shown);
}

enum status kit_set_named(struct store *store, struct kit_id id, bool named)
{
	return set_flag(store, SQL_SET_NAMED, id, named);
}

enum status kit_remove(struct store *store, struct kit_id id)
{
	struct query q = start_of(store, SQL_REMOVE, NULL, id);

	return query_run_one(&q);
}

enum status kit_list(struct store *store, struct arena *arena, struct member_id owner,
                     const struct kit **out, size_t *count)
{
	struct query q = start(store, SQL_LIST, arena);
	struct rows rows = {0};
	enum status status;

	bind_int(&q, owner.v);
	status = query_rows(&q, read_kit, sizeof(struct kit), &rows);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

enum status kit_count(struct store *store, int64_t *out)
{
	struct query q = start(store, SQL_TOTAL, NULL);

	return query_int(&q, out);
}

/* Reading facts ------------------------------------------------------------- */

/* Kits and what is read of them. */
struct range {
	int64_t first, last;
	struct kit_lists lists;
};

static struct query start_range(struct store *store, size_t which, struct arena *arena,
                                const struct range *range)
{
	struct query q = start(store, which, arena);

	bind_int(&q, range->first);
	bind_int(&q, range->last);
	return q;
}

/* A walk that ends at once when nobody asks for the list. */
static struct query start_list(struct store *store, size_t which, struct arena *arena,
                               const struct range *range, unsigned list)
{
	if (range->lists.which & list)
		return start_range(store, which, arena, range);
	return (struct query){.store = store, .status = ST_OK, .column = 1};
}

static struct query start_steps(struct store *store, struct arena *arena, const struct range *range)
{
	const struct kit_lists *lists = &range->lists;
	struct query q;

	if (lists->n_steps == 0 || lists->n_steps > KIT_STEPS_NAMED)
		return start_list(store, SQL_STEPS, arena, range, KIT_STEPS);
	q = start_range(store, SQL_STEPS_NAMED, arena, range);
	for (size_t i = 0; i < KIT_STEPS_NAMED; i++)
		if (i < lists->n_steps)
			bind_text(&q, lists->steps[i].key);
		else
			bind_null(&q);
	return q;
}

/* One walk for the kits themselves, one for each list of facts. Hours and
 * landings are looked up for each kit: a walk would work them out for those of
 * which they are not wanted too. */
enum { OPTIONS, SUBKITS, PARTS, STEPS, NOTICES, STEP_PLANS, STEP_DATES, LISTS };

struct kit_walk {
	struct store *store;
	struct range range;
	struct query kits;
	struct query list[LISTS];
	enum status use; /* of looking up hours and landings */
};

static struct kit_walk walk_start(struct store *store, struct arena *arena,
                                  const struct range *range)
{
	return (struct kit_walk){
	        .store = store,
	        .range = *range,
	        .kits = start_range(store, SQL_FACTS, arena, range),
	        .list = {
	                [OPTIONS] = start_list(store, SQL_OPTIONS, arena, range, KIT_OPTIONS),
	                [SUBKITS] = start_list(store, SQL_SUBKITS, arena, range, KIT_SUBKITS),
	                [PARTS] = start_list(store, SQL_PARTS, arena, range, KIT_PARTS),
	                [STEPS] = start_steps(store, arena, range),
	                [NOTICES] = start_list(store, SQL_NOTICES, arena, range, KIT_NOTICES),
	                [STEP_PLANS] =
	                        start_list(store, SQL_STEP_PLANS, arena, range, KIT_STEP_PLANS),
	                [STEP_DATES] =
	                        start_list(store, SQL_STEP_DATES, arena, range, KIT_STEP_DATES),
	        }};
}

static enum status walk_end(struct kit_walk *walk)
{
	enum status status = query_end(&walk->kits);

	if (status == ST_OK)
		status = walk->use;
	for (size_t i = 0; i < LISTS; i++) {
		enum status ended = query_end(&walk->list[i]);

		if (status == ST_OK)
			status = ended;
	}
	return status;
}

static bool walk_failed(const struct kit_walk *walk)
{
	for (size_t i = 0; i < LISTS; i++)
		if (walk->list[i].status != ST_OK)
			return true;
	return walk->kits.status != ST_OK || walk->use != ST_OK;
}

static void read_option(struct query *q, void *row)
{
	struct option_fact *option = row;

	option->name = read_name(q);
	option->fitted = read_int(q) != 0;
}

static void read_subkit(struct query *q, void *row)
{
	struct subkit_fact *subkit = row;

	subkit->code = read_name(q);
	subkit->received = read_int(q) != 0;
	subkit->shipped = read_date_fact(q);
}

static void read_part(struct query *q, void *row)
{
	struct part_fact *part = row;

	part->number = read_name(q);
	part->position = read_name(q);
	part->has_serial = read_serial(q, &part->serial);
	part->has_lot = read_serial(q, &part->lot);
}

static void read_listed_name(struct query *q, void *row)
{
	*(struct name *)row = read_name(q);
}

static void read_step_plans(struct query *q, void *row)
{
	struct step_plans *step = row;

	step->step = read_name(q);
	step->plans = read_date_fact(q);
}

static void read_step_date(struct query *q, void *row)
{
	struct step_date *step = row;

	step->step = read_name(q);
	step->done = read_date_fact(q);
}

static void read_single_facts(struct query *q, struct facts *facts)
{
	for (size_t i = 0; i < FACT_FIELDS; i++)
		if (!fact_fields[i].logged)
			read_fact(q, &fact_fields[i], facts);
	facts->parts_known = read_int(q) != 0;
	facts->notices_known = read_int(q) != 0;
	facts->steps_known = read_int(q) != 0;
}

static enum status read_use(struct store *store, struct kit_id id, struct facts *facts)
{
	struct query q = start_of(store, SQL_USE, NULL, id);

	if (query_found(&q)) {
		read_int(&q);
		for (size_t i = 0; i < FACT_FIELDS; i++)
			if (fact_fields[i].logged)
				read_fact(&q, &fact_fields[i], facts);
	}
	return query_end(&q);
}

#define READ_LIST(walk, list_of, id, read, facts, member)                                          \
	do {                                                                                       \
		struct rows rows = {0};                                                            \
		query_rows_of(&(walk)->list[list_of], (id), (read), sizeof *(facts)->member,       \
		              &rows);                                                              \
		(facts)->member = rows.at;                                                         \
		(facts)->n_##member = rows.count;                                                  \
	} while (0)

static void read_lists(struct kit_walk *walk, struct kit_id id, struct facts *facts)
{
	if (walk->range.lists.which & KIT_USE)
		walk->use = read_use(walk->store, id, facts);
	READ_LIST(walk, OPTIONS, id.v, read_option, facts, options);
	READ_LIST(walk, SUBKITS, id.v, read_subkit, facts, subkits);
	READ_LIST(walk, PARTS, id.v, read_part, facts, parts);
	READ_LIST(walk, STEPS, id.v, read_listed_name, facts, steps_done);
	READ_LIST(walk, NOTICES, id.v, read_listed_name, facts, notices_done);
	READ_LIST(walk, STEP_PLANS, id.v, read_step_plans, facts, step_plans);
	READ_LIST(walk, STEP_DATES, id.v, read_step_date, facts, step_dates);
}

static void read_single(struct query *q, struct kit *kit, struct facts *facts)
{
	*kit = (struct kit){.id = {0}};
	*facts = (struct facts){.model = {.text = NULL}};
	read_kit(q, kit);
	read_single_facts(q, facts);
}

/* The next kit; false at the end or after a fault. */
static bool walk_next(struct kit_walk *walk, void *context, struct kit *kit, struct facts *facts)
{
	const struct kit_lists *lists = &walk->range.lists;

	if (!query_row(&walk->kits))
		return false;
	read_single(&walk->kits, kit, facts);
	if (walk->kits.status == ST_OK && (!lists->wanted || lists->wanted(context, facts)))
		read_lists(walk, kit->id, facts);
	return !walk_failed(walk);
}

static enum status read_facts(struct store *store, struct arena *arena, struct kit_id id,
                              struct facts *out)
{
	const struct range range = {id.v, id.v, {.which = KIT_EVERYTHING}};
	struct kit_walk walk = walk_start(store, arena, &range);
	struct kit kit;
	struct facts facts;
	bool found = walk_next(&walk, NULL, &kit, &facts);
	enum status status = walk_end(&walk);

	if (status == ST_OK && !found)
		status = ST_MISSING;
	if (status == ST_OK)
		*out = facts;
	return status;
}

enum status kit_facts(struct store *store, struct arena *arena, struct kit_id id, struct facts *out)
{
	enum status status = act_begin_reading(store);

	if (status != ST_OK)
		return status;
	return act_end(store, read_facts(store, arena, id, out));
}

static enum status visit_all(struct store *store, struct arena *arena,
                             const struct kit_lists *lists, kit_visit_fn *visit, void *context)
{
	const struct range range = {1, INT64_MAX, *lists};
	struct kit_walk walk = walk_start(store, arena, &range);
	struct kit kit;
	struct facts facts;

	while (walk_next(&walk, context, &kit, &facts) && visit(context, &kit, &facts, arena))
		arena_reset(arena);
	return walk_end(&walk);
}

enum status kits_each_with(struct store *store, const struct kit_lists *lists, kit_visit_fn *visit,
                           void *context)
{
	struct arena *arena = arena_new();
	enum status status = arena ? act_begin_reading(store) : ST_NOMEM;

	if (status == ST_OK)
		status = act_end(store, visit_all(store, arena, lists, visit, context));
	arena_free(arena);
	return status;
}

enum status kits_each(struct store *store, kit_visit_fn *visit, void *context)
{
	return kits_each_with(store, &(struct kit_lists){.which = KIT_EVERYTHING}, visit, context);
}

enum status kits_generation(struct store *store, int64_t *out)
{
	struct query q = start(store, SQL_GENERATION, NULL);

	return query_int(&q, out);
}

static void read_kit_id(struct query *q, void *row)
{
	((struct kit_id *)row)->v = read_int(q);
}

enum status kits_changed(struct store *store, struct arena *arena, int64_t since,
                         const struct kit_id **out, size_t *count)
{
	struct query q = start(store, SQL_CHANGED, arena);
	struct rows rows = {0};
	enum status status;

	bind_int(&q, since);
	status = query_rows(&q, read_kit_id, sizeof(struct kit_id), &rows);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

static void read_at(struct query *q, void *row)
{
	struct kit_at *kit = row;

	kit->id.v = read_int(q);
	kit->version = read_int(q);
	kit->counted_in = read_int(q) != 0;
}

enum status kits_at(struct store *store, struct arena *arena, const struct kit_at **out,
                    size_t *count)
{
	struct query q = start(store, SQL_AT, arena);
	struct rows rows = {0};
	enum status status = query_rows(&q, read_at, sizeof(struct kit_at), &rows);

	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

/* Writing facts ------------------------------------------------------------- */

static enum status set_single_facts(struct store *store, struct kit_id id,
                                    const struct facts *facts)
{
	struct query q = start(store, SQL_SET_FACTS, NULL);

	for (size_t i = 0; i < FACT_FIELDS; i++)
		if (!fact_fields[i].logged)
			bind_fact(&q, &fact_fields[i], facts);
	bind_int(&q, facts->parts_known);
	bind_int(&q, facts->notices_known);
	bind_int(&q, facts->steps_known);
	bind_int(&q, id.v);
	return query_run_one(&q);
}

static enum status clear_lists(struct store *store, struct kit_id id)
{
	enum status status = ST_OK;

	for (size_t which = SQL_CLEAR_OPTIONS; status == ST_OK && which <= SQL_CLEAR_STEP_PLANS;
	     which++) {
		struct query q = start_of(store, which, NULL, id);

		status = query_run(&q);
	}
	return status;
}

static struct query start_item(struct store *store, size_t which, struct kit_id id, size_t place)
{
	struct query q = start_of(store, which, NULL, id);

	bind_int(&q, (int64_t)place);
	return q;
}

static enum status add_options(struct store *store, struct kit_id id, const struct facts *facts)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < facts->n_options; i++) {
		struct query q = start_item(store, SQL_ADD_OPTION, id, i);

		bind_name(&q, &facts->options[i].name);
		bind_int(&q, facts->options[i].fitted);
		status = query_run(&q);
	}
	return status;
}

static enum status add_subkits(struct store *store, struct kit_id id, const struct facts *facts)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < facts->n_subkits; i++) {
		struct query q = start_item(store, SQL_ADD_SUBKIT, id, i);

		bind_name(&q, &facts->subkits[i].code);
		bind_int(&q, facts->subkits[i].received);
		bind_date_fact(&q, &facts->subkits[i].shipped);
		status = query_run(&q);
	}
	return status;
}

static enum status add_parts(struct store *store, struct kit_id id, const struct facts *facts)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < facts->n_parts; i++) {
		const struct part_fact *part = &facts->parts[i];
		struct query q = start_item(store, SQL_ADD_PART, id, i);

		bind_label(&q, &part->number);
		bind_label(&q, &part->position);
		bind_text(&q, part->has_serial ? part->serial.text : "");
		bind_text(&q, part->has_lot ? part->lot.text : "");
		status = query_run(&q);
	}
	return status;
}

static enum status add_steps(struct store *store, struct kit_id id, const struct facts *facts)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < facts->n_steps_done; i++) {
		struct query q = start_item(store, SQL_ADD_STEP, id, i);
		struct date_fact done = facts_step_date(facts, &facts->steps_done[i]);

		bind_name(&q, &facts->steps_done[i]);
		bind_date_fact(&q, &done);
		status = query_run(&q);
	}
	return status;
}

static enum status add_notices(struct store *store, struct kit_id id, const struct facts *facts)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < facts->n_notices_done; i++) {
		struct query q = start_item(store, SQL_ADD_NOTICE, id, i);

		bind_name(&q, &facts->notices_done[i]);
		status = query_run(&q);
	}
	return status;
}

static enum status add_step_plans(struct store *store, struct kit_id id, const struct facts *facts)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < facts->n_step_plans; i++) {
		struct query q = start_item(store, SQL_ADD_STEP_PLANS, id, i);

		bind_name(&q, &facts->step_plans[i].step);
		bind_date_fact(&q, &facts->step_plans[i].plans);
		status = query_run(&q);
	}
	return status;
}

static enum status set_facts(struct store *store, struct kit_id id, const struct facts *facts)
{
	enum status status = set_single_facts(store, id, facts);

	if (status == ST_OK)
		status = clear_lists(store, id);
	if (status == ST_OK)
		status = add_options(store, id, facts);
	if (status == ST_OK)
		status = add_subkits(store, id, facts);
	if (status == ST_OK)
		status = add_parts(store, id, facts);
	if (status == ST_OK)
		status = add_steps(store, id, facts);
	if (status == ST_OK)
		status = add_notices(store, id, facts);
	if (status == ST_OK)
		status = add_step_plans(store, id, facts);
	return status;
}

static enum status check_lists(struct store *store, const struct facts *facts)
{
	const size_t counts[] = {facts->n_options,    facts->n_subkits,      facts->n_parts,
	                         facts->n_steps_done, facts->n_notices_done, facts->n_step_plans};
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < sizeof counts / sizeof *counts; i++)
		status = bound_fits(store, BOUND_KIT_LIST_LONGEST, (int64_t)counts[i]);
	return status;
}

enum status kit_set_facts(struct store *store, struct kit_id id, const struct facts *facts)
{
	enum status status = check_lists(store, facts);

	if (status == ST_OK)
		status = act_begin(store);
	if (status != ST_OK)
		return status;
	return act_end(store, set_facts(store, id, facts));
}

/* Steps built --------------------------------------------------------------- */

static enum status mark_steps(struct store *store, struct kit_id id, const struct name *steps,
                              size_t count, const struct date_fact *done)
{
	enum status status = touch(store, id);

	for (size_t i = 0; status == ST_OK && i < count; i++) {
		struct query q = start_of(store, SQL_MARK_STEP, NULL, id);

		bind_name(&q, &steps[i]);
		bind_date_fact(&q, done);
		status = query_run(&q);
	}
	return status == ST_OK ? bound_room(store, BOUND_KIT_LIST_LONGEST, id.v, 0, 0) : status;
}

enum status kit_mark_steps(struct store *store, struct kit_id id, const struct name *steps,
                           size_t count, const struct date_fact *done)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, mark_steps(store, id, steps, count, done));
}

static enum status unmark_steps(struct store *store, struct kit_id id, const struct name *steps,
                                size_t count)
{
	enum status status = touch(store, id);

	for (size_t i = 0; status == ST_OK && i < count; i++) {
		struct query q = start_of(store, SQL_UNMARK_STEP, NULL, id);

		bind_key_of(&q, steps[i].text);
		status = query_run(&q);
	}
	return status;
}

enum status kit_unmark_steps(struct store *store, struct kit_id id, const struct name *steps,
                             size_t count)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, unmark_steps(store, id, steps, count));
}

enum status kit_set_steps_known(struct store *store, struct kit_id id, bool known)
{
	struct query q = start_of(store, SQL_SET_STEPS_KNOWN, NULL, id);

	bind_int(&q, known);
	return query_run_one(&q);
}

/* Marks of reading ---------------------------------------------------------- */

static enum status mark(struct store *store, struct kit_id kit, const struct reading *reading)
{
	struct query q = start_of(store, SQL_MARK, NULL, kit);

	bind_int(&q, reading->notice.v);
	bind_int(&q, reading->revision.v);
	bind_int(&q, reading->read_at);
	return query_run(&q);
}

enum status reading_mark(struct store *store, struct kit_id kit, struct notice_id notice,
                         struct revision_id revision, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = mark(store, kit, &(struct reading){notice, revision, now});
	if (status == ST_OK)
		status = touch(store, kit);
	return act_end(store, status);
}

static enum status unmark(struct store *store, struct kit_id kit, struct notice_id notice)
{
	struct query q = start_of(store, SQL_UNMARK, NULL, kit);

	bind_int(&q, notice.v);
	return query_run_one(&q);
}

enum status reading_unmark(struct store *store, struct kit_id kit, struct notice_id notice)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = unmark(store, kit, notice);
	if (status == ST_OK)
		status = touch(store, kit);
	return act_end(store, status);
}

static void read_reading(struct query *q, void *row)
{
	struct reading *reading = row;

	reading->notice.v = read_int(q);
	reading->revision.v = read_int(q);
	reading->read_at = read_int(q);
}

enum status reading_list(struct store *store, struct arena *arena, struct kit_id kit,
                         const struct reading **out, size_t *count)
{
	struct query q = start_of(store, SQL_MARKS, arena, kit);
	struct rows rows = {0};
	enum status status = query_rows(&q, read_reading, sizeof(struct reading), &rows);

	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}
