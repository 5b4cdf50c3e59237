#include "store/backup.h"

#include "store/copy_file.h"
#include "store/sql.h"

enum { SQL_INTEGRITY, SQL_FOREIGN_KEYS, SQL_COUNT };

static const char *const texts[SQL_COUNT] = {
        [SQL_INTEGRITY] = "PRAGMA integrity_check(1)",
        [SQL_FOREIGN_KEYS] =
                "SELECT format('a row of %s belongs to nothing in %s', \"table\", parent)"
                " FROM pragma_foreign_key_check LIMIT 1",
};

const struct sql_set backup_sql = {SET_BACKUP, SQL_COUNT, texts};

enum status backup_to(struct store *store, const char *path, int64_t *size)
{
	return copy_file_make(store->db, path, size);
}

enum status backup_take(struct store *store, const char *path)
{
	struct copy_digest digest;
	struct store *copy = NULL;
	int64_t version = 0;
	enum status status = copy_digest_check(path, &digest);

	if (status == ST_OK)
		status = store_open_to_look(path, &copy, &version);
	if (status == ST_OK && version != store_version())
		status = ST_CONFLICT;
	if (status == ST_OK)
		status = copy_file_over(copy->db, store->db);
	store_close(copy);
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

static enum status check_file(struct store *store, struct arena *arena, const char **fault)
{
	enum status status = check_integrity(store, arena, fault);

	return status == ST_OK && !**fault ? check_foreign_keys(store, arena, fault) : status;
}

/* Reading a damaged file fails sooner or later; then what was found till there is told. */
enum status backup_verify(struct store *store, struct arena *arena, struct verify_report *out)
{
	struct verify_report report = {.database = ""};
	enum status status = check_file(store, arena, &report.database);
	enum status chain = ST_OK, seals = ST_OK;

	if (status == ST_OK)
		chain = record_verify(store, (struct kit_id){0}, &report.records, &report.chain);
	if (status == ST_OK)
		seals = seals_check(store, SEAL_WITH_FILES, &report.seals);
	report.chain_broken = chain == ST_INVALID;
	if (chain == ST_NOMEM || seals == ST_NOMEM)
		status = ST_NOMEM;
	else if (status == ST_OK && (*report.database || report.chain_broken || report.seals.found))
		status = ST_INVALID;
	else if (status == ST_OK)
		status = chain != ST_OK ? chain : seals;
	if (status == ST_OK || status == ST_INVALID)
		*out = report;
	return status;
}

enum status backup_look(struct store *store, struct seal_report *out)
{
	*out = (struct seal_report){.shown = 0};
	return seals_check(store, SEAL_ALL_BUT_FILES, out);
}

enum status backup_seal_anew(struct store *store)
{
	return seal_all(store);
}
