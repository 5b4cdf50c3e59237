/* A file is ours when its application id says so, or when it is empty. Its
 * user_version is the number of migrations that it has been through.
 *
 * Before the first of them runs, a copy is put beside the file, so that the
 * program of before can be gone back to. All that are wanting run in one transaction, so that an
 * upgrade that fails leaves the file as it was. The seals are looked at before, since afterwards
 * they are made anew and would hide what was changed; their triggers are off
 * meanwhile, so that a migration may change any table.
 */
#include "store/upgrade.h"

#include <glob.h>
#include <libgen.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/embedded.h"
#include "store/copy_file.h"
#include "store/seals.h"

#define APPLICATION_ID 0x46724C64 /* "FrLd" */
#define COPIES_KEPT 3

extern const struct embedded_file migration_files[];
extern const size_t migration_files_count;

int store_version(void)
{
	return (int)migration_files_count;
}

enum status status_of_opening(int code)
{
	switch (code & 0xFF) {
	case SQLITE_OK:
		return ST_OK;
	case SQLITE_NOTADB:
		return ST_INVALID;
	case SQLITE_BUSY:
		return ST_BUSY;
	case SQLITE_NOMEM:
		return ST_NOMEM;
	default:
		return ST_IO;
	}
}

static int take_number(void *out, int columns, char **values, char **names)
{
	(void)columns;
	(void)names;
	*(int64_t *)out = values[0] ? strtoll(values[0], NULL, 10) : 0;
	return 0;
}

static enum status number(struct store *store, const char *sql, int64_t *out)
{
	return status_of_opening(sqlite3_exec(store->db, sql, take_number, out, NULL));
}

enum status upgrade_exec(struct store *store, const char *sql)
{
	return status_of_opening(sqlite3_exec(store->db, sql, NULL, NULL, NULL));
}

enum status store_file_version(struct store *store, int64_t *out)
{
	return number(store, "PRAGMA user_version", out);
}

enum status upgrade_identify(struct store *store, int64_t *version)
{
	int64_t id = 0;
	int64_t things = 0;
	enum status status = number(store, "PRAGMA application_id", &id);

	if (status == ST_OK)
		status = store_file_version(store, version);
	if (status == ST_OK)
		status = number(store, "SELECT count(*) FROM sqlite_schema", &things);
	if (status != ST_OK)
		return status;
	if (id != APPLICATION_ID && (id != 0 || *version != 0 || things != 0))
		return ST_INVALID;
	return *version > store_version() ? ST_CONFLICT : ST_OK;
}

/* The copy before ------------------------------------------------------------- */

/* FOLDER/fairlead-version- */
static enum status copies_begin(const char *path, struct text *out)
{
	struct text copy = TEXT_EMPTY;

	text_add(&copy, path);
	if (!text_failed(&copy))
		text_printf(out, "%s/fairlead-version-", dirname(copy.at));
	text_free(&copy);
	return text_failed(out) || text_failed(&copy) ? ST_NOMEM : ST_OK;
}

/* Their names are in the order of version and date. */
static void remove_old_copies(const char *begin)
{
	struct text pattern = TEXT_EMPTY;
	glob_t found = {.gl_pathc = 0};

	text_printf(&pattern, "%s*.db", begin);
	if (!text_failed(&pattern) && glob(text_string(&pattern), 0, NULL, &found) == 0) {
		for (size_t i = 0; i + COPIES_KEPT < found.gl_pathc; i++) {
			text_clear(&pattern);
			text_printf(&pattern, "%s.b2", found.gl_pathv[i]);
			unlink(found.gl_pathv[i]);
			unlink(text_string(&pattern));
		}
		globfree(&found);
	}
	text_free(&pattern);
}

/* Read by a connection of its own: this one holds the lock, so that nobody writes
 * between the copy and the upgrade. */
static enum status copy_as(const char *path, const char *copy)
{
	sqlite3 *db = NULL;
	int64_t size;
	enum status status = ST_LIMIT;

	if (sqlite3_open_v2(path, &db, SQLITE_OPEN_READWRITE, NULL) == SQLITE_OK)
		status = copy_file_make(db, copy, &size);
	sqlite3_close(db);
	return status == ST_OK || status == ST_NOMEM ? status : ST_LIMIT;
}

static enum status copy_before(struct store *store, const char *path, int64_t version)
{
	struct text begin = TEXT_EMPTY, copy = TEXT_EMPTY;
	int64_t date = 0;
	enum status status = number(store, "SELECT strftime('%Y%m%d%H%M%S', 'now')", &date);

	if (status == ST_OK)
		status = copies_begin(path, &begin);
	text_printf(&copy, "%s%04lld-%lld.db", text_string(&begin), (long long)version,
	            (long long)date);
	if (status == ST_OK)
		status = text_failed(&copy) ? ST_NOMEM : copy_as(path, text_string(&copy));
	if (status == ST_OK)
		remove_old_copies(text_string(&begin));
	text_free(&copy);
	text_free(&begin);
	return status;
}

/* The upgrade ----------------------------------------------------------------- */

static enum status check_seals(struct store *store)
{
	struct seal_report report = {.shown = 0};
	enum status status = seals_check(store, SEAL_WITH_FILES, &report);

	return status == ST_INVALID ? ST_DENIED : status;
}

static enum status mark_version(struct store *store)
{
	char sql[96];

	snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d",
	         APPLICATION_ID, store_version());
	return upgrade_exec(store, sql);
}

static enum status migrate(struct store *store, const char *path, int64_t version)
{
	enum status status = version > 0 ? check_seals(store) : ST_OK;

	if (status == ST_OK && version > 0)
		status = copy_before(store, path, version);
	if (status == ST_OK)
		status = seals_off(store);
	for (; status == ST_OK && version < store_version(); version++)
		status = upgrade_exec(store, migration_files[version].bytes);
	if (status == ST_OK)
		status = seals_on(store);
	if (status == ST_OK)
		status = seal_all(store);
	return status == ST_OK ? mark_version(store) : status;
}

enum status upgrade_run(struct store *store, const char *path)
{
	int64_t version = 0;
	enum status status = store_file_version(store, &version);

	if (status != ST_OK || version == store_version())
		return status;
	status = act_begin(store);
	if (status != ST_OK)
		return status;
	/* Another process may have done it while this one waited. */
	status = store_file_version(store, &version);
	if (status == ST_OK && version < store_version())
		status = migrate(store, path, version);
	return act_end(store, status);
}
