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

static void load_image(sqlite3 *db, const char *schema, struct image image)
{
	assert_int_equal(
	        sqlite3_deserialize(db, schema, image.at, image.size, image.size,
	                            SQLITE_DESERIALIZE_FREEONCLOSE | SQLITE_DESERIALIZE_RESIZEABLE),
	        SQLITE_OK);
}

struct copy *copy_take(struct store *store)
{
	struct copy *copy = calloc(1, sizeof *copy);

	assert_non_null(copy);
	assert_int_equal(sqlite3_open(":memory:", &copy->db), SQLITE_OK);
	load_image(copy->db, "main", image_of(store->db));
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

/* Columns of a table: "c1, c2" forms of what an SQL text needs of them. */
struct columns {
	struct text key;     /* of a: its columns with / between, of bytes the first four */
	struct text same;    /* a."k1" IS b."k1" AND ... */
	struct text told;    /* of a new row */
	struct text changed; /* of a row that was there */
};

static void columns_free(struct columns *c)
{
	text_free(&c->key);
	text_free(&c->same);
	text_free(&c->told);
	text_free(&c->changed);
}

/* The first 60 characters of a value; bytes in hexadecimal digits, 8 of them. */
#define VALUE                                                                                      \
	"CASE typeof(a.\"%s\") WHEN 'blob' THEN 'x' || substr(hex(a.\"%s\"), 1, 8)"                \
	" WHEN 'null' THEN 'NULL' ELSE substr(replace(a.\"%s\", char(10), ' '), 1, 60) END"

static void add_column(struct columns *c, const char *name)
{
	text_printf(&c->told, " || iif(coalesce(a.\"%s\", 0) IN (0, ''), '', ' %s=' || " VALUE ")",
	            name, name, name, name, name);
	text_printf(&c->changed, " || iif(a.\"%s\" IS b.\"%s\", '', ' %s=' || " VALUE ")", name,
	            name, name, name, name, name);
}

static void add_key(struct columns *c, const char *name)
{
	bool first = text_string(&c->key)[0] == '\0';

	text_printf(&c->key,
	            "%siif(typeof(a.\"%s\") = 'blob', substr(hex(a.\"%s\"), 1, 8), a.\"%s\")",
	            first ? "" : " || '/' || ", name, name, name);
	text_printf(&c->same, "%sa.\"%s\" IS b.\"%s\"", first ? "" : " AND ", name, name);
}

static void columns_of(sqlite3 *db, const char *table, struct columns *c)
{
	sqlite3_stmt *stmt;

	assert_int_equal(sqlite3_prepare_v2(db, "SELECT name, pk FROM pragma_table_info(?1)", -1,
	                                    &stmt, NULL),
	                 SQLITE_OK);
	sqlite3_bind_text(stmt, 1, table, -1, SQLITE_STATIC);
	while (sqlite3_step(stmt) == SQLITE_ROW) {
		const char *name = (const char *)sqlite3_column_text(stmt, 0);

		if (sqlite3_column_int(stmt, 1))
			add_key(c, name);
		else
			add_column(c, name);
	}
	sqlite3_finalize(stmt);
	if (text_string(&c->key)[0] == '\0')
		add_key(c, "rowid");
}

static void add_rows(sqlite3 *db, struct text *out, const struct text *sql)
{
	sqlite3_stmt *stmt;

	assert_false(text_failed(sql));
	if (sqlite3_prepare_v2(db, text_string(sql), -1, &stmt, NULL) != SQLITE_OK)
		fail_msg("%s: %s", text_string(sql), sqlite3_errmsg(db));
	while (sqlite3_step(stmt) == SQLITE_ROW)
		text_printf(out, "%s\n", (const char *)sqlite3_column_text(stmt, 0));
	assert_int_equal(sqlite3_finalize(stmt), SQLITE_OK);
}

static void table_changes(sqlite3 *db, const char *table, struct text *out)
{
	struct columns c = {TEXT_EMPTY, TEXT_EMPTY, TEXT_EMPTY, TEXT_EMPTY};
	struct text sql = TEXT_EMPTY;

	columns_of(db, table, &c);
	text_printf(&sql,
	            "SELECT '%s -' || %s FROM before.\"%s\" a WHERE NOT EXISTS"
	            " (SELECT 1 FROM main.\"%s\" b WHERE %s)"
	            " UNION ALL SELECT '%s +' || %s %s FROM main.\"%s\" a WHERE NOT EXISTS"
	            " (SELECT 1 FROM before.\"%s\" b WHERE %s)",
	            table, text_string(&c.key), table, table, text_string(&c.same), table,
	            text_string(&c.key), text_string(&c.told), table, table, text_string(&c.same));
	if (text_string(&c.changed)[0])
		text_printf(&sql,
		            " UNION ALL SELECT '%s ~' || %s || changed FROM (SELECT a.*%s"
		            " '' %s AS changed FROM main.\"%s\" a JOIN before.\"%s\" b ON %s) a"
		            " WHERE changed <> ''",
		            table, text_string(&c.key),
		            strstr(text_string(&c.key), "\"rowid\"") ? ", a.rowid AS rowid," : ",",
		            text_string(&c.changed), table, table, text_string(&c.same));
	text_add(&sql, " ORDER BY 1");
	add_rows(db, out, &sql);
	columns_free(&c);
	text_free(&sql);
}

/* Tables that SQLite keeps for itself follow from the others. */
#define TABLES                                                                                     \
	"SELECT name FROM pragma_table_list WHERE schema = 'main' AND type IN ('table', "          \
	"'virtual')"                                                                               \
	" AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' AND name <> 'report_words' ORDER BY name"

void copy_changes(const struct copy *copy, struct store *store, struct text *out)
{
	sqlite3_stmt *tables;
	sqlite3 *db;

	assert_int_equal(sqlite3_open(":memory:", &db), SQLITE_OK);
	assert_int_equal(sqlite3_exec(db, "ATTACH ':memory:' AS before", NULL, NULL, NULL),
	                 SQLITE_OK);
	load_image(db, "main", image_of(store->db));
	load_image(db, "before", image_of(copy->db));
	assert_int_equal(sqlite3_prepare_v2(db, TABLES, -1, &tables, NULL), SQLITE_OK);
	while (sqlite3_step(tables) == SQLITE_ROW)
		table_changes(db, (const char *)sqlite3_column_text(tables, 0), out);
	sqlite3_finalize(tables);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
	assert_false(text_failed(out));
}

static bool same_pages(sqlite3 *one, sqlite3 *other)
{
	struct image a = image_of(one), b = image_of(other);
	bool same = a.size == b.size && memcmp(a.at, b.at, (size_t)a.size) == 0;

	sqlite3_free(a.at);
	sqlite3_free(b.at);
	return same;
}

bool copy_same(const struct copy *copy, struct store *store)
{
	struct text changes = TEXT_EMPTY;
	bool same = same_pages(copy->db, store->db);

	if (!same) {
		copy_changes(copy, store, &changes);
		same = text_string(&changes)[0] == '\0';
		text_free(&changes);
	}
	return same;
}
