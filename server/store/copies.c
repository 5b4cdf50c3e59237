#include "store/copies.h"

#include "store/sql.h"

enum { SQL_ENTER, SQL_SWEEP, SQL_GOOD, SQL_LAST, SQL_UNTOLD, SQL_TOLD, SQL_COUNT };

static const char *const texts[SQL_COUNT] = {
        [SQL_ENTER] = "INSERT INTO copies (at, size, path, fault) VALUES (?1, ?2, ?3,"
                      " substr(?4, 1, 500))",
        /* However many fail, the last good one stays known. */
        [SQL_SWEEP] = "DELETE FROM copies WHERE id <= (SELECT max(id) FROM copies) - 50"
                      " AND id <> (SELECT max(id) FROM copies WHERE fault = '')",
        [SQL_GOOD] = "SELECT at, size, path, fault FROM copies WHERE fault = ''"
                     " ORDER BY id DESC LIMIT 1",
        [SQL_LAST] = "SELECT at, size, path, fault FROM copies ORDER BY id DESC LIMIT 1",
        [SQL_UNTOLD] = "SELECT at, size, path, fault FROM copies"
                       " WHERE id = (SELECT max(id) FROM copies) AND fault <> '' AND told = 0",
        [SQL_TOLD] = "UPDATE copies SET told = 1 WHERE told = 0",
};

const struct sql_set copies_sql = {SET_COPIES, SQL_COUNT, texts};

static enum status run(struct store *store, size_t which)
{
	struct query q = query_start(store, &copies_sql, which, NULL);

	return query_run(&q);
}

static enum status enter(struct store *store, const struct copy_entry *entry)
{
	struct query q = query_start(store, &copies_sql, SQL_ENTER, NULL);

	bind_int(&q, entry->at);
	bind_int(&q, entry->size);
	bind_text(&q, entry->path);
	bind_text(&q, entry->fault);
	return query_run(&q);
}

enum status copy_enter(struct store *store, const struct copy_entry *entry)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = enter(store, entry);
	if (status == ST_OK)
		status = run(store, SQL_SWEEP);
	return act_end(store, status);
}

static enum status read_one(struct store *store, size_t which, struct arena *arena,
                            struct copy_entry *out)
{
	struct query q = query_start(store, &copies_sql, which, arena);

	if (query_found(&q)) {
		out->at = read_int(&q);
		out->size = read_int(&q);
		out->path = read_text(&q);
		out->fault = read_text(&q);
	}
	return query_end(&q);
}

enum status copies_read(struct store *store, struct arena *arena, struct copies *out)
{
	struct copies copies = {{.path = "", .fault = ""}, {.path = "", .fault = ""}};
	enum status status = read_one(store, SQL_GOOD, arena, &copies.good);

	if (status == ST_OK || status == ST_MISSING)
		status = read_one(store, SQL_LAST, arena, &copies.last);
	if (status == ST_MISSING)
		status = ST_OK;
	if (status == ST_OK)
		*out = copies;
	return status;
}

enum status copy_untold(struct store *store, struct arena *arena, struct copy_entry *out)
{
	return read_one(store, SQL_UNTOLD, arena, out);
}

enum status copies_told(struct store *store)
{
	return run(store, SQL_TOLD);
}
