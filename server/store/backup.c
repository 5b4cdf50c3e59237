#include "store/backup.h"

#include <errno.h>
#include <fcntl.h>
#include <unistd.h>

#include "store/sql.h"

enum { SQL_INTEGRITY, SQL_FOREIGN_KEYS, SQL_COUNT };

static const char *const texts[SQL_COUNT] = {
        [SQL_INTEGRITY] = "PRAGMA integrity_check(1)",
        [SQL_FOREIGN_KEYS] =
                "SELECT format('a row of %s belongs to nothing in %s', \"table\", parent)"
                " FROM pragma_foreign_key_check LIMIT 1",
};

const struct sql_set backup_sql = {SET_BACKUP, SQL_COUNT, texts};

/* Copies ---------------------------------------------------------------------- */

static enum status status_of_copy(int code)
{
	switch (code & 0xFF) {
	case SQLITE_DONE:
		return ST_OK;
	case SQLITE_BUSY:
	case SQLITE_LOCKED:
		return ST_BUSY;
	case SQLITE_NOMEM:
		return ST_NOMEM;
	default:
		return ST_IO;
	}
}

/* All pages in one step: one state of the database. */
static enum status copy_pages(struct store *store, sqlite3 *to)
{
	sqlite3_backup *backup = sqlite3_backup_init(to, "main", store->db, "main");
	int code;

	if (!backup)
		return ST_IO;
	code = sqlite3_backup_step(backup, -1);
	sqlite3_backup_finish(backup);
	return status_of_copy(code);
}

static enum status copy_into(struct store *store, const char *path)
{
	sqlite3 *to = NULL;
	enum status status = ST_IO;

	if (sqlite3_open_v2(path, &to, SQLITE_OPEN_READWRITE, NULL) == SQLITE_OK)
		status = copy_pages(store, to);
	sqlite3_close(to);
	return status;
}

/* The new file is made here and not by SQLite, so that no other file can be
 * overwritten, and readable by its owner alone: it holds members' data. */
enum status backup_to(struct store *store, const char *path)
{
	int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
	enum status status;

	if (fd < 0)
		return errno == EEXIST ? ST_CONFLICT : ST_IO;
	close(fd);
	status = copy_into(store, path);
	if (status != ST_OK)
		unlink(path);
	return status;
}

/* Proof ----------------------------------------------------------------------- */

static enum status check_integrity(struct store *store, struct arena *arena, const char **fault)
{
	struct query q = query_start(store, &backup_sql, SQL_INTEGRITY, arena);

	if (query_found(&q))
		*fault = read_text(&q);
	if (q.status == ST_OK && (*fault)[0] == 'o' && (*fault)[1] == 'k' && !(*fault)[2])
		*fault = "";
	return query_end(&q);
}

static enum status check_foreign_keys(struct store *store, struct arena *arena, const char **fault)
{
	struct query q = query_start(store, &backup_sql, SQL_FOREIGN_KEYS, arena);

	if (query_row(&q))
		*fault = read_text(&q);
	return query_end(&q);
}

enum status backup_verify(struct store *store, struct arena *arena, struct verify_report *out)
{
	struct verify_report report = {.database = ""};
	enum status status = check_integrity(store, arena, &report.database);

	if (status == ST_OK && !*report.database)
		status = check_foreign_keys(store, arena, &report.database);
	if (status == ST_OK)
		status = record_verify(store, (struct kit_id){0}, &report.records, &report.chain);
	report.chain_broken = status == ST_INVALID;
	if (status != ST_OK && status != ST_INVALID)
		return status;
	*out = report;
	return report.chain_broken || *report.database ? ST_INVALID : ST_OK;
}
