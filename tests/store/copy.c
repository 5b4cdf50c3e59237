/* Copies are databases in memory of their own. Two are compared page by page,
 * and only if these differ row by row: a change that was taken back may leave
 * other bytes in pages that are free.
 */
#include "crowd.h"

#include <stdlib.h>
#include <string.h>

struct copy {
	sqlite3 *db;
};

struct image {
	unsigned char *at;
	sqlite3_int64 size;
};

/* Works inside a transaction, too. Owned: sqlite3_free(at). */
static struct image image_of(sqlite3 *db)
{
	struct image image;

	image.at = sqlite3_serialize(db, "main", &image.size, 0);
	assert_non_null(image.at);
	return image;
}

struct copy *copy_take(struct store *store)
{
	struct copy *copy = calloc(1, sizeof *copy);
	struct image image;

	assert_non_null(copy);
	assert_int_equal(sqlite3_open(":memory:", &copy->db), SQLITE_OK);
	image = image_of(store->db);
	image.at[18] = image.at[19] = 1; /* memory has no write-ahead log */
	assert_int_equal(
	        sqlite3_deserialize(copy->db, "main", image.at, image.size, image.size,
	                            SQLITE_DESERIALIZE_FREEONCLOSE | SQLITE_DESERIALIZE_RESIZEABLE),
	        SQLITE_OK);
	return copy;
}

void copy_restore(const struct copy *copy, struct store *store)
{
	sqlite3_backup *backup = sqlite3_backup_init(store->db, "main", copy->db, "main");

	assert_non_null(backup);
	assert_int_equal(sqlite3_backup_step(backup, -1), SQLITE_DONE);
	assert_int_equal(sqlite3_backup_finish(backup), SQLITE_OK);
}

void copy_free(struct copy *copy)
{
	sqlite3_close(copy->db);
	free(copy);
}

/* Of a table: what to select, the key first, as one text; of bytes in it the first four. */
static void select_of(sqlite3 *db, const char *table, struct text *sql)
{
	struct text key = TEXT_EMPTY, columns = TEXT_EMPTY;
	sqlite3_stmt *stmt;

	assert_int_equal(sqlite3_prepare_v2(db, "SELECT name, pk FROM pragma_table_info(?1)", -1,
	                                    &stmt, NULL),
	                 SQLITE_OK);
	sqlite3_bind_text(stmt, 1, table, -1, SQLITE_STATIC);
	while (sqlite3_step(stmt) == SQLITE_ROW) {
		const char *name = (const char *)sqlite3_column_text(stmt, 0);

		if (sqlite3_column_int(stmt, 1))
			text_printf(
			        &key,
			        "%siif(typeof(\"%s\") = 'blob', substr(hex(\"%s\"), 1, 8), \"%s\")",
			        key.len ? " || '/' || " : "", name, name, name);
		else
			text_printf(&columns, ", \"%s\"", name);
	}
	sqlite3_finalize(stmt);
	text_printf(sql, "SELECT CAST(%s AS TEXT)%s FROM \"%s\" ORDER BY 1",
	            key.len ? text_string(&key) : "rowid", text_string(&columns), table);
	text_free(&key);
	text_free(&columns);
}

/* One side of a comparison. */
struct side {
	sqlite3_stmt *rows;
	bool row; /* stands on one */
};

static void next(struct side *side)
{
	side->row = sqlite3_step(side->rows) == SQLITE_ROW;
}

static struct side side_of(sqlite3 *db, const struct text *sql)
{
	struct side side;

	assert_false(text_failed(sql));
	if (sqlite3_prepare_v2(db, text_string(sql), -1, &side.rows, NULL) != SQLITE_OK)
		fail_msg("%s: %s", text_string(sql), sqlite3_errmsg(db));
	next(&side);
	return side;
}

static const char *key_of(const struct side *side)
{
	return (const char *)sqlite3_column_text(side->rows, 0);
}

static bool same_value(const struct side *a, const struct side *b, int column)
{
	int len = sqlite3_column_bytes(a->rows, column);

	return sqlite3_column_type(a->rows, column) == sqlite3_column_type(b->rows, column) &&
	       len == sqlite3_column_bytes(b->rows, column) &&
	       (len == 0 || memcmp(sqlite3_column_blob(a->rows, column),
	                           sqlite3_column_blob(b->rows, column), (size_t)len) == 0);
}

/* " column=value": the first 60 bytes of a text, of bytes the first four. */
static void add_value(const struct side *side, int column, struct text *out)
{
	const char *value = (const char *)sqlite3_column_blob(side->rows, column);

	text_printf(out, " %s=", sqlite3_column_name(side->rows, column));
	if (sqlite3_column_type(side->rows, column) == SQLITE_NULL)
		text_add(out, "NULL");
	else if (sqlite3_column_type(side->rows, column) != SQLITE_BLOB)
		for (int i = 0; i < sqlite3_column_bytes(side->rows, column) && i < 60; i++)
			text_add_char(out, value[i] == '\n' ? ' ' : value[i]);
	else
		for (int i = 0; i < sqlite3_column_bytes(side->rows, column) && i < 4; i++)
			text_printf(out, "%02X", (unsigned char)value[i]);
}

static bool is_nothing(const struct side *side, int column)
{
	return sqlite3_column_type(side->rows, column) == SQLITE_INTEGER
	               ? sqlite3_column_int64(side->rows, column) == 0
	               : sqlite3_column_bytes(side->rows, column) == 0;
}

static void add_new_row(const char *table, const struct side *after, struct text *out)
{
	text_printf(out, "%s +%s", table, key_of(after));
	for (int i = 1; i < sqlite3_column_count(after->rows); i++)
		if (!is_nothing(after, i))
			add_value(after, i, out);
	text_add_char(out, '\n');
}

static void add_changed_row(const char *table, const struct side *before, const struct side *after,
                            struct text *out)
{
	bool changed = false;

	for (int i = 1; i < sqlite3_column_count(after->rows); i++) {
		if (same_value(before, after, i))
			continue;
		if (!changed)
			text_printf(out, "%s ~%s", table, key_of(after));
		changed = true;
		add_value(after, i, out);
	}
	text_add(out, changed ? "\n" : "");
}

static void table_changes(sqlite3 *from, sqlite3 *to, const char *table, struct text *out)
{
	struct text sql = TEXT_EMPTY;
	struct side before, after;

	select_of(from, table, &sql);
	before = side_of(from, &sql);
	after = side_of(to, &sql);
	while (before.row || after.row) {
		int order = !before.row  ? 1
		            : !after.row ? -1
		                         : strcmp(key_of(&before), key_of(&after));

		if (order < 0)
			text_printf(out, "%s -%s\n", table, key_of(&before));
		else if (order > 0)
			add_new_row(table, &after, out);
		else
			add_changed_row(table, &before, &after, out);
		if (order <= 0)
			next(&before);
		if (order >= 0)
			next(&after);
	}
	sqlite3_finalize(before.rows);
	sqlite3_finalize(after.rows);
	text_free(&sql);
}

/* Tables that SQLite keeps for itself follow from the others; so do the seals, which
 * world_end holds to them. */
#define TABLES                                                                                     \
	"SELECT name FROM pragma_table_list WHERE schema = 'main' AND type IN ('table', "          \
	"'virtual')"                                                                               \
	" AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' AND name NOT IN ('report_words', 'seals', "   \
	"'chains')"                                                                                \
	" ORDER BY name"

static bool same_pages(sqlite3 *one, sqlite3 *other)
{
	struct image a = image_of(one), b = image_of(other);
	bool same = a.size == b.size && memcmp(a.at, b.at, (size_t)a.size) == 0;

	sqlite3_free(a.at);
	sqlite3_free(b.at);
	return same;
}

void copy_changes(const struct copy *copy, struct store *store, struct text *out)
{
	sqlite3_stmt *tables;

	if (same_pages(copy->db, store->db))
		return;
	assert_int_equal(sqlite3_prepare_v2(copy->db, TABLES, -1, &tables, NULL), SQLITE_OK);
	while (sqlite3_step(tables) == SQLITE_ROW)
		table_changes(copy->db, store->db, (const char *)sqlite3_column_text(tables, 0),
		              out);
	sqlite3_finalize(tables);
	assert_false(text_failed(out));
}

bool copy_same(const struct copy *copy, struct store *store)
{
	struct text changes = TEXT_EMPTY;
	bool same;

	copy_changes(copy, store, &changes);
	same = text_string(&changes)[0] == '\0';
	text_free(&changes);
	return same;
}
