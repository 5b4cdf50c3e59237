#include "store/seals.h"

#include <sodium.h>
#include <string.h>

#include "store/sql.h"

/* table, column that says whose a row is (0: the table as a whole), and both in
 * words. What a thing itself says stands before what belongs to it. */
#define SEALED(X)                                                                                  \
	X(settings, 0, "", "settings")                                                             \
	X(members, id, "member", "")                                                               \
	X(invites, id, "invite", "")                                                               \
	X(resets, member_id, "member", "link for a new password")                                  \
	X(api_tokens, member_id, "member", "API tokens")                                           \
	X(feed_links, member_id, "member", "feed link")                                            \
	X(known_addresses, member_id, "member", "known addresses")                                 \
	X(second_factors, member_id, "member", "second factor")                                    \
	X(recovery_codes, member_id, "member", "recovery codes")                                   \
	X(acts, 0, "", "log of acts")                                                              \
	X(mail_addresses, member_id, "member", "mail address")                                     \
	X(notices, id, "notice", "")                                                               \
	X(notice_numbers, notice_id, "notice", "numbers to search by")                             \
	X(revisions, id, "revision", "")                                                           \
	X(revision_lines, revision_id, "revision", "affected parts")                               \
	X(revision_material, revision_id, "revision", "material")                                  \
	X(revision_names, revision_id, "revision", "steps and links")                              \
	X(attachments, revision_id, "revision", "attachments")                                     \
	X(files, id, "file", "")                                                                   \
	X(notice_log, 0, "", "log of notices")                                                     \
	X(kits, id, "kit", "details")                                                              \
	X(kit_options, kit_id, "kit", "options")                                                   \
	X(kit_subkits, kit_id, "kit", "sub-kits")                                                  \
	X(kit_parts, kit_id, "kit", "parts")                                                       \
	X(kit_names, kit_id, "kit", "steps and notices done")                                      \
	X(kit_step_plans, kit_id, "kit", "plans of steps")                                         \
	X(kit_log, kit_id, "kit", "log")                                                           \
	X(kit_planned, kit_id, "kit", "planned events")                                            \
	X(kit_stock, kit_id, "kit", "parts on hand")                                               \
	X(kit_lengths, kit_id, "kit", "lengths")                                                   \
	X(readings, kit_id, "kit", "notices read")                                                 \
	X(records, kit_id, "kit", "records")                                                       \
	X(told, kit_id, "kit", "what its builder was told")                                        \
	X(lines, id, "build line", "")                                                             \
	X(line_sections, line_id, "build line", "sections")                                        \
	X(line_steps, line_id, "build line", "steps")                                              \
	X(line_names, line_id, "build line", "parts and needs of steps")                           \
	X(packing_lists, id, "packing list", "")                                                   \
	X(packing_list_models, list_id, "packing list", "models")                                  \
	X(packing_list_parts, list_id, "packing list", "parts")                                    \
	X(number_changes, 0, "", "changes of part numbers")                                        \
	X(stock_codes, id, "stock", "")                                                            \
	X(stock_lengths, stock_id, "stock", "lengths sold")                                        \
	X(notes, id, "note", "")                                                                   \
	X(note_words_before, note_id, "note", "earlier words")                                     \
	X(note_helped, note_id, "note", "whom it helped")                                          \
	X(kit_snapshots, id, "facts of a finding", "")                                             \
	X(reports, id, "report", "")                                                               \
	X(report_parts, report_id, "report", "parts")                                              \
	X(report_log, report_id, "report", "log")                                                  \
	X(findings, report_id, "report", "findings")                                               \
	X(pictures, id, "picture", "")                                                             \
	X(steward_calls, id, "call for a steward", "")                                             \
	X(news, member_id, "member", "news")                                                       \
	X(outbox, member_id, "member", "mails")                                                    \
	X(copies, 0, "", "list of copies")

/* Logs among them that are chained; each has a column id. */
#define CHAINED(X) X(notice_log) X(acts)

/* Not sealed: the two counters of caches; sessions and failed sign-ins, which
 * end by themselves and are written by the minute; the words of the searches,
 * made from what is sealed; the seals. The test of this file holds the list. */

#define ROWS_NAME(table, ...) SQL_ROWS_##table,
#define ROWS_TEXT(table, owner, ...)                                                               \
	[SQL_ROWS_##table] = "SELECT " #owner ", * FROM " #table " ORDER BY 1",
#define ENTRIES_NAME(table) SQL_ENTRIES_##table,
#define ENTRIES_TEXT(table) [SQL_ENTRIES_##table] = "SELECT id, * FROM " #table " ORDER BY id",

enum {
	SEALED(ROWS_NAME) SQL_ROWS_OF_SCHEMA,
	CHAINED(ENTRIES_NAME) SQL_SEALS,
	SQL_ADD_SEAL,
	SQL_CLEAR,
	SQL_LINKS,
	SQL_ADD_LINK,
	SQL_CLEAR_LINKS,
	SQL_ON,
	SQL_TRIGGERS,
	SQL_COLUMNS_OF,
	SQL_OWN_COLUMNS_OF,
	SQL_OWN_COLUMNS,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        SEALED(ROWS_TEXT)
                /* Where a thing begins in the file may change; what SQLite makes for itself, too.
                 */
                [SQL_ROWS_OF_SCHEMA] = "SELECT 0, type, name, tbl_name, sql FROM sqlite_schema"
                                       " WHERE name NOT LIKE 'sqlite_%' ORDER BY 1",
        CHAINED(ENTRIES_TEXT)[SQL_SEALS] =
                "SELECT owner, seal FROM seals WHERE of = ?1 ORDER BY owner",
        [SQL_ADD_SEAL] = "INSERT INTO seals (of, owner, seal) VALUES (?1, ?2, ?3)",
        [SQL_CLEAR] = "DELETE FROM seals",
        [SQL_LINKS] = "SELECT entry, hash FROM chains WHERE of = ?1 ORDER BY entry",
        [SQL_ADD_LINK] = "INSERT INTO chains (of, entry, hash) VALUES (?1, ?2, ?3)",
        [SQL_CLEAR_LINKS] = "DELETE FROM chains",
        /* Three of each table, one more of a chained one. */
        [SQL_ON] = "SELECT count(*) FROM sqlite_schema WHERE type = 'trigger'"
                   " AND tbl_name = ?1 AND name GLOB 'seal_*'",
        [SQL_TRIGGERS] = "SELECT name FROM sqlite_schema WHERE type = 'trigger'"
                         " AND name GLOB 'seal_*' ORDER BY name",
        [SQL_COLUMNS_OF] = "SELECT group_concat(format(', %s.\"%w\"', ?2, name), '')"
                           " FROM (SELECT name FROM pragma_table_info(?1) ORDER BY cid)",
        [SQL_OWN_COLUMNS_OF] = "SELECT group_concat(format(', %s.\"%w\"', ?2, name), '')"
                               " FROM (SELECT name FROM pragma_table_info(?1) WHERE name NOT IN"
                               " (SELECT \"from\" FROM pragma_foreign_key_list(?1)) ORDER BY cid)",
        [SQL_OWN_COLUMNS] = "SELECT name NOT IN"
                            " (SELECT \"from\" FROM pragma_foreign_key_list(?1))"
                            " FROM pragma_table_info(?1) ORDER BY cid",
};

const struct sql_set seal_sql = {SET_SEALS, SQL_COUNT, texts};

static const struct sealed {
	const char *table, *owner, *of, *what;
} sealed[] = {
#define SEALED_ROW(table, owner, of, what) {#table, #owner, of, what},
        SEALED(SEALED_ROW)
        /* The schema, sealed when the triggers are on, changes at an upgrade alone. */
        {"sqlite_schema", "0", "", "schema"}};
#define SEALED_COUNT (sizeof sealed / sizeof sealed[0])
#define TABLES_COUNT (SEALED_COUNT - 1)

static const struct {
	const char *table;
	size_t entries;
} chained[] = {
#define CHAINED_ROW(table) {#table, SQL_ENTRIES_##table},
        CHAINED(CHAINED_ROW)};
#define CHAINED_COUNT (sizeof chained / sizeof chained[0])

/* Hashes of rows -------------------------------------------------------------- */

/* A value is its kind, its length and its bytes, so that no two rows read alike. */
struct value {
	int type; /* as SQLite names it */
	int64_t number;
	const void *bytes;
	uint64_t len;
};

static void hash_number(crypto_generichash_state *state, int type, uint64_t number)
{
	unsigned char bytes[9] = {(unsigned char)type};

	for (int i = 0; i < 8; i++)
		bytes[i + 1] = (unsigned char)(number >> 8 * i);
	crypto_generichash_update(state, bytes, sizeof bytes);
}

static void hash_value(crypto_generichash_state *state, struct value value)
{
	if (value.type == SQLITE_INTEGER) {
		hash_number(state, value.type, (uint64_t)value.number);
		return;
	}
	hash_number(state, value.type, value.len);
	if (value.len)
		crypto_generichash_update(state, value.bytes, value.len);
}

static struct value value_of(sqlite3_value *from)
{
	struct value value = {.type = sqlite3_value_type(from)};

	if (value.type == SQLITE_INTEGER) {
		value.number = sqlite3_value_int64(from);
	} else if (value.type != SQLITE_NULL) {
		value.bytes = sqlite3_value_blob(from); /* of a text: its UTF-8 */
		value.len = (uint64_t)sqlite3_value_bytes(from);
	}
	return value;
}

/* seal_row(value, ...): the first is the table's name, or the hash before. */
static void sql_row(sqlite3_context *context, int count, sqlite3_value **values)
{
	crypto_generichash_state state;
	struct hash hash;

	crypto_generichash_init(&state, NULL, 0, HASH_SIZE);
	for (int i = 0; i < count; i++)
		hash_value(&state, value_of(values[i]));
	crypto_generichash_final(&state, hash.v, HASH_SIZE);
	sqlite3_result_blob(context, hash.v, HASH_SIZE, SQLITE_TRANSIENT);
}

static void add_hash(struct hash *to, const struct hash *hash)
{
	for (size_t i = 0; i < HASH_SIZE; i++)
		to->v[i] ^= hash->v[i];
}

static void sql_xor(sqlite3_context *context, int count, sqlite3_value **values)
{
	struct hash hashes[2];

	for (int i = 0; i < count; i++) {
		const void *at = sqlite3_value_blob(values[i]);

		if (!at || sqlite3_value_bytes(values[i]) != HASH_SIZE) {
			sqlite3_result_error(context, "a seal is damaged", -1);
			return;
		}
		memcpy(hashes[i].v, at, HASH_SIZE);
	}
	add_hash(&hashes[0], &hashes[1]);
	sqlite3_result_blob(context, hashes[0].v, HASH_SIZE, SQLITE_TRANSIENT);
}

enum status seal_functions(sqlite3 *db)
{
	const int flags = SQLITE_UTF8 | SQLITE_DETERMINISTIC | SQLITE_INNOCUOUS;
	int code = sqlite3_create_function_v2(db, "seal_row", -1, flags, NULL, sql_row, NULL, NULL,
	                                      NULL);

	if (code == SQLITE_OK)
		code = sqlite3_create_function_v2(db, "seal_xor", 2, flags, NULL, sql_xor, NULL,
		                                  NULL, NULL);
	return code == SQLITE_OK ? ST_OK : ST_NOMEM;
}

/* Triggers -------------------------------------------------------------------- */

/* Texts of triggers in the making. */
struct maker {
	struct store *store;
	struct arena *arena;
	struct text sql;
	enum status status;
};

/* ", NEW.a, NEW.b"; without columns that refer to other tables when own. */
static const char *columns_of(struct maker *maker, const char *table, const char *row, bool own)
{
	struct query q = query_start(maker->store, &seal_sql,
	                             own ? SQL_OWN_COLUMNS_OF : SQL_COLUMNS_OF, maker->arena);
	const char *list = "";

	bind_text(&q, table);
	bind_text(&q, row);
	if (query_found(&q))
		list = read_text(&q);
	if (query_end(&q) != ST_OK && maker->status == ST_OK)
		maker->status = q.status;
	return list;
}

static void run_text(struct maker *maker)
{
	int code = SQLITE_NOMEM;

	if (maker->status != ST_OK)
		return;
	if (!text_failed(&maker->sql))
		code = sqlite3_exec(maker->store->db, text_string(&maker->sql), NULL, NULL, NULL);
	if (code != SQLITE_OK)
		maker->status = code == SQLITE_NOMEM ? ST_NOMEM : ST_IO;
	text_clear(&maker->sql);
	arena_reset(maker->arena);
}

static void add_owner(struct text *sql, const struct sealed *it, const char *row)
{
	if (it->owner[0] == '0')
		text_add(sql, "0");
	else
		text_printf(sql, "%s.%s", row, it->owner);
}

/* Takes a row into its seal, or out of it: with XOR that is the same. */
static void add_turn(struct maker *maker, const struct sealed *it, const char *row)
{
	struct text *sql = &maker->sql;

	text_printf(sql, "INSERT INTO seals (of, owner, seal) VALUES ('%s', ", it->table);
	add_owner(sql, it, row);
	text_printf(sql, ", seal_row('%s'%s)", it->table, columns_of(maker, it->table, row, false));
	text_add(sql, ") ON CONFLICT (of, owner) DO UPDATE SET seal ="
	              " seal_xor(seal, excluded.seal); ");
}

/* No rows: no seal. */
static void add_sweep(struct text *sql, const struct sealed *it)
{
	text_printf(sql, "DELETE FROM seals WHERE of = '%s' AND owner = ", it->table);
	add_owner(sql, it, "OLD");
	text_add(sql, " AND seal = zeroblob(32); ");
}

static void seal_table(struct maker *maker, const struct sealed *it)
{
	static const struct {
		const char *name, *event;
		bool old, new;
	} triggers[] = {{"added", "INSERT", false, true},
	                {"changed", "UPDATE", true, true},
	                {"removed", "DELETE", true, false}};

	for (size_t i = 0; i < sizeof triggers / sizeof triggers[0]; i++) {
		text_printf(&maker->sql, "CREATE TRIGGER seal_%s_%s AFTER %s ON %s BEGIN ",
		            it->table, triggers[i].name, triggers[i].event, it->table);
		if (triggers[i].old)
			add_turn(maker, it, "OLD");
		if (triggers[i].new)
			add_turn(maker, it, "NEW");
		if (triggers[i].old)
			add_sweep(&maker->sql, it);
		text_add(&maker->sql, "END;");
	}
}

static void chain_table(struct maker *maker, const char *table)
{
	text_printf(&maker->sql,
	            "CREATE TRIGGER seal_%s_chained AFTER INSERT ON %s BEGIN"
	            " INSERT INTO chains (of, entry, hash) VALUES ('%s', NEW.id,"
	            " seal_row(coalesce((SELECT hash FROM chains WHERE of = '%s'"
	            " ORDER BY entry DESC LIMIT 1), zeroblob(32))%s)); END;",
	            table, table, table, table, columns_of(maker, table, "NEW", true));
}

enum status seals_on(struct store *store)
{
	struct maker maker = {.store = store, .arena = arena_new(), .sql = TEXT_EMPTY};

	if (!maker.arena)
		return ST_NOMEM;
	for (size_t i = 0; i < TABLES_COUNT; i++)
		seal_table(&maker, &sealed[i]);
	for (size_t i = 0; i < CHAINED_COUNT; i++)
		chain_table(&maker, chained[i].table);
	run_text(&maker);
	text_free(&maker.sql);
	arena_free(maker.arena);
	return maker.status;
}

enum status seals_off(struct store *store)
{
	struct maker maker = {.store = store, .arena = arena_new(), .sql = TEXT_EMPTY};
	struct query q;

	if (!maker.arena)
		return ST_NOMEM;
	q = query_start(store, &seal_sql, SQL_TRIGGERS, maker.arena);
	while (query_row(&q))
		text_printf(&maker.sql, "DROP TRIGGER %s;", read_text(&q));
	maker.status = query_end(&q);
	run_text(&maker);
	text_free(&maker.sql);
	arena_free(maker.arena);
	return maker.status;
}

static enum status count_triggers(struct store *store, const char *table, int64_t *out)
{
	struct query q = query_start(store, &seal_sql, SQL_ON, NULL);

	bind_text(&q, table);
	return query_int(&q, out);
}

/* Rows as they stand ---------------------------------------------------------- */

static struct value value_in(sqlite3_stmt *stmt, int column)
{
	struct value value = {.type = sqlite3_column_type(stmt, column)};

	if (value.type == SQLITE_INTEGER) {
		value.number = sqlite3_column_int64(stmt, column);
	} else if (value.type != SQLITE_NULL) {
		value.bytes = sqlite3_column_blob(stmt, column);
		value.len = (uint64_t)sqlite3_column_bytes(stmt, column);
	}
	return value;
}

#define COLUMNS_MOST 64

/* Which columns of a table a chain covers. */
struct columns {
	bool own[COLUMNS_MOST];
};

static enum status own_columns(struct store *store, const char *table, struct columns *out)
{
	struct query q = query_start(store, &seal_sql, SQL_OWN_COLUMNS, NULL);

	bind_text(&q, table);
	for (size_t i = 0; i < COLUMNS_MOST && query_row(&q); i++)
		out->own[i] = read_int(&q) != 0;
	return query_end(&q);
}

/* The row at hand, whose first column is its owner; columns NULL: all of it. */
static struct hash hash_row(struct query *q, struct value first, const struct columns *columns)
{
	int count = sqlite3_column_count(q->stmt);
	crypto_generichash_state state;
	struct hash hash;

	crypto_generichash_init(&state, NULL, 0, HASH_SIZE);
	hash_value(&state, first);
	for (int i = 1; i < count; i++)
		if (!columns || (i <= COLUMNS_MOST && columns->own[i - 1]))
			hash_value(&state, value_in(q->stmt, i));
	crypto_generichash_final(&state, hash.v, HASH_SIZE);
	return hash;
}

/* One owner's rows, the first of which is at hand. Leaves the next owner's there. */
static struct hash seal_of_owner(struct query *rows, const char *table, int64_t *seen)
{
	int64_t owner = sqlite3_column_int64(rows->stmt, 0);
	struct hash seal = {{0}};

	do {
		struct value name = {SQLITE_TEXT, 0, table, strlen(table)};
		struct hash hash = hash_row(rows, name, NULL);

		add_hash(&seal, &hash);
		++*seen;
		query_row(rows);
	} while (rows->row && sqlite3_column_int64(rows->stmt, 0) == owner);
	return seal;
}

/* Sealing --------------------------------------------------------------------- */

static enum status add_hash_row(struct store *store, size_t which, const char *of, int64_t id,
                                const struct hash *hash)
{
	struct query q = query_start(store, &seal_sql, which, NULL);

	bind_text(&q, of);
	bind_int(&q, id);
	bind_hash(&q, hash);
	return query_run(&q);
}

static enum status seal_rows(struct store *store, size_t i)
{
	struct query rows = query_start(store, &seal_sql, i, NULL);
	int64_t seen = 0;

	query_row(&rows);
	while (rows.row && rows.status == ST_OK) {
		int64_t owner = sqlite3_column_int64(rows.stmt, 0);
		struct hash seal = seal_of_owner(&rows, sealed[i].table, &seen);

		if (rows.status == ST_OK)
			rows.status =
			        add_hash_row(store, SQL_ADD_SEAL, sealed[i].table, owner, &seal);
	}
	return query_end(&rows);
}

static struct hash next_link(struct query *entries, const struct hash *before,
                             const struct columns *columns)
{
	return hash_row(entries, (struct value){SQLITE_BLOB, 0, before->v, HASH_SIZE}, columns);
}

static enum status chain_rows(struct store *store, size_t i)
{
	struct columns columns = {{false}};
	struct hash hash = {{0}};
	struct query entries;
	enum status status = own_columns(store, chained[i].table, &columns);

	if (status != ST_OK)
		return status;
	entries = query_start(store, &seal_sql, chained[i].entries, NULL);
	while (query_row(&entries)) {
		hash = next_link(&entries, &hash, &columns);
		entries.status = add_hash_row(store, SQL_ADD_LINK, chained[i].table,
		                              sqlite3_column_int64(entries.stmt, 0), &hash);
	}
	return query_end(&entries);
}

static enum status clear(struct store *store, size_t which)
{
	struct query q = query_start(store, &seal_sql, which, NULL);

	return query_run(&q);
}

enum status seal_all(struct store *store)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = clear(store, SQL_CLEAR);
	if (status == ST_OK)
		status = clear(store, SQL_CLEAR_LINKS);
	for (size_t i = 0; status == ST_OK && i < SEALED_COUNT; i++)
		status = seal_rows(store, i);
	for (size_t i = 0; status == ST_OK && i < CHAINED_COUNT; i++)
		status = chain_rows(store, i);
	return act_end(store, status);
}

/* Checking -------------------------------------------------------------------- */

static void found(struct seal_report *report, struct seal_fault fault)
{
	if (report->shown < SEAL_FAULTS_SHOWN)
		report->faults[report->shown++] = fault;
	report->found++;
}

/* Walks rows and seals side by side, both in order of the owner. */
static enum status check_rows(struct store *store, size_t i, struct seal_report *report)
{
	struct query rows = query_start(store, &seal_sql, i, NULL);
	struct query seals = query_start(store, &seal_sql, SQL_SEALS, NULL);
	struct seal_fault fault = {.of = sealed[i].of, .what = sealed[i].what};
	enum status status;

	bind_text(&seals, sealed[i].table);
	query_row(&rows);
	query_row(&seals);
	while ((rows.row || seals.row) && rows.status == ST_OK && seals.status == ST_OK) {
		int64_t of_rows = rows.row ? sqlite3_column_int64(rows.stmt, 0) : INT64_MAX;
		int64_t of_seals = seals.row ? sqlite3_column_int64(seals.stmt, 0) : INT64_MAX;
		struct hash stands = {{0}};
		struct hash kept = {{0}};

		fault.owner = of_rows < of_seals ? of_rows : of_seals;
		if (rows.row && of_rows <= of_seals)
			stands = seal_of_owner(&rows, sealed[i].table, &report->rows);
		if (seals.row && of_seals <= of_rows) {
			(void)read_int(&seals);
			read_fixed(&seals, kept.v, HASH_SIZE);
			query_row(&seals);
		}
		if (rows.status == ST_OK && seals.status == ST_OK &&
		    memcmp(stands.v, kept.v, HASH_SIZE) != 0)
			found(report, fault);
	}
	status = query_end(&rows);
	return query_end(&seals) != ST_OK && status == ST_OK ? seals.status : status;
}

/* The first entry that does not fit is told; what follows it hangs on it. */
static enum status walk_chain(struct query *entries, struct query *links,
                              const struct columns *columns, int64_t *broken)
{
	struct hash hash = {{0}};
	enum status status;

	query_row(entries);
	query_row(links);
	while (!*broken && (entries->row || links->row) && entries->status == ST_OK &&
	       links->status == ST_OK) {
		int64_t entry = entries->row ? sqlite3_column_int64(entries->stmt, 0) : INT64_MAX;
		struct hash kept = {{0}};

		if (entries->row)
			hash = next_link(entries, &hash, columns);
		if (links->row && read_int(links) == entry)
			read_fixed(links, kept.v, HASH_SIZE);
		if (!entries->row || memcmp(hash.v, kept.v, HASH_SIZE) != 0)
			*broken = entries->row ? entry : sqlite3_column_int64(links->stmt, 0);
		if (entries->row)
			query_row(entries);
		if (links->row)
			query_row(links);
	}
	status = query_end(entries);
	return query_end(links) != ST_OK && status == ST_OK ? links->status : status;
}

static enum status check_chain(struct store *store, size_t i, const struct sealed *it,
                               struct seal_report *report)
{
	struct columns columns = {{false}};
	int64_t broken = 0;
	struct query entries, links;
	enum status status = own_columns(store, chained[i].table, &columns);

	if (status != ST_OK)
		return status;
	entries = query_start(store, &seal_sql, chained[i].entries, NULL);
	links = query_start(store, &seal_sql, SQL_LINKS, NULL);
	bind_text(&links, chained[i].table);
	status = walk_chain(&entries, &links, &columns, &broken);
	if (status == ST_OK && broken)
		found(report, (struct seal_fault){it->of, 0, it->what, broken, false});
	return status;
}

/* A table that this file has not got yet, because an earlier version wrote it, has
 * no triggers; nor is it missed then. */
static enum status check_table(struct store *store, size_t i, bool newest,
                               struct seal_report *report)
{
	const struct sealed *it = &sealed[i];
	int64_t wanted = 3;
	int64_t triggers = 0;
	size_t chain = CHAINED_COUNT;
	enum status status = count_triggers(store, it->table, &triggers);

	for (size_t j = 0; j < CHAINED_COUNT; j++)
		if (strcmp(chained[j].table, it->table) == 0)
			chain = j;
	wanted += chain < CHAINED_COUNT;
	if (status != ST_OK || (triggers == 0 && !newest))
		return status;
	if (newest && triggers != wanted)
		found(report, (struct seal_fault){it->of, 0, it->what, 0, true});
	status = check_rows(store, i, report);
	if (status == ST_OK && chain < CHAINED_COUNT && triggers > 3)
		status = check_chain(store, chain, it, report);
	return status;
}

static enum status check_schema(struct store *store, bool newest, struct seal_report *report)
{
	int64_t triggers = 0;
	enum status status = count_triggers(store, sealed[0].table, &triggers);

	if (status != ST_OK || (triggers == 0 && !newest))
		return status;
	return check_rows(store, SQL_ROWS_OF_SCHEMA, report);
}

static enum status is_newest(struct store *store, bool *out)
{
	int64_t version = 0;
	enum status status = store_file_version(store, &version);

	*out = version == store_version();
	return status;
}

enum status seals_check(struct store *store, enum seal_part part, struct seal_report *out)
{
	bool newest = false;
	enum status status = act_begin_reading(store);

	if (status != ST_OK)
		return status;
	status = is_newest(store, &newest);
	for (size_t i = 0; status == ST_OK && i < TABLES_COUNT; i++)
		if (part == SEAL_WITH_FILES || i != SQL_ROWS_files)
			status = check_table(store, i, newest, out);
	if (status == ST_OK)
		status = check_schema(store, newest, out);
	if (act_end(store, ST_OK) != ST_OK && status == ST_OK)
		status = ST_IO;
	return status == ST_OK && out->found ? ST_INVALID : status;
}

void seal_fault_words(const struct seal_fault *fault, struct text *out)
{
	text_add(out, fault->of);
	if (fault->owner)
		text_printf(out, " %lld", (long long)fault->owner);
	text_printf(out, "%s%s", fault->of[0] && fault->what[0] ? ", " : "", fault->what);
	if (fault->entry)
		text_printf(out, ", entry %lld", (long long)fault->entry);
	text_add(out, fault->off ? ": the seals were taken off" : ": changed outside the program");
}
