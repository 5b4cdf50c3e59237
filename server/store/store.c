/* Opening and closing connections, and the pool.
 *
 * The journal is a write-ahead log, so that readers never wait; every commit
 * reaches the disk (synchronous FULL), because a record that was shown as kept
 * must be.
 */
#include "store/store.h"

#include <assert.h>
#include <pthread.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/text.h"
#include "store/seals.h"
#include "store/upgrade.h"

static const struct sql_set *const sets[SQL_SETS] = {
        [SET_STORE] = &store_sql,
        [SET_MEMBERS] = &member_sql,
        [SET_ACTS] = &act_sql,
        [SET_BOUNDS] = &bound_sql,
        [SET_ADDRESSES] = &address_sql,
        [SET_SECOND_FACTORS] = &second_factor_sql,
        [SET_SETTINGS] = &setting_sql,
        [SET_NOTICES] = &notice_sql,
        [SET_REVISIONS] = &revision_sql,
        [SET_ATTACHMENTS] = &attachment_sql,
        [SET_CATALOGUE] = &catalogue_sql,
        [SET_SEARCH] = &search_sql,
        [SET_KITS] = &kit_sql,
        [SET_LINES] = &line_sql,
        [SET_PARTS] = &parts_sql,
        [SET_RECORDS] = &record_sql,
        [SET_NOTES] = &note_sql,
        [SET_FILES] = &file_sql,
        [SET_NEWS] = &news_sql,
        [SET_UNDER_WAY] = &under_way_sql,
        [SET_PICTURES] = &picture_sql,
        [SET_CALLS] = &call_sql,
        [SET_REPORTS] = &report_sql,
        [SET_REPORT_SEARCH] = &report_search_sql,
        [SET_FINDINGS] = &finding_sql,
        [SET_SNAPSHOTS] = &snapshot_sql,
        [SET_FEED_LINKS] = &feed_link_sql,
        [SET_MAIL] = &mail_sql,
        [SET_OUTBOX] = &outbox_sql,
        [SET_KIT_LOG] = &kit_log_sql,
        [SET_SEALS] = &seal_sql,
        [SET_COPIES] = &copies_sql,
        [SET_BACKUP] = &backup_sql,
};

/* Temporary tables and journals of statements stay in memory: a service that
 * has dropped its rights can open files in its own folder only.
 * The schema is not trusted to call functions with side effects, and ordinary
 * SQL cannot damage the file. */
static enum status guard(struct store *store)
{
	sqlite3_extended_result_codes(store->db, 1);
	store_set_patience(store, STORE_PATIENCE);
	sqlite3_db_config(store->db, SQLITE_DBCONFIG_DEFENSIVE, 1, (int *)NULL);
	sqlite3_db_config(store->db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, (int *)NULL);
	sqlite3_db_config(store->db, SQLITE_DBCONFIG_DQS_DML, 0, (int *)NULL);
	sqlite3_db_config(store->db, SQLITE_DBCONFIG_DQS_DDL, 0, (int *)NULL);
	return seal_functions(store->db);
}

static enum status set_up(struct store *store, const char *path)
{
	int64_t version = 0;
	enum status status = guard(store);

	if (status == ST_OK)
		status = upgrade_identify(store, &version);
	if (status == ST_OK)
		status = upgrade_exec(store, "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
		                             "PRAGMA foreign_keys = ON;"
		                             "PRAGMA temp_store = MEMORY");
	return status == ST_OK ? upgrade_run(store, path) : status;
}

int store_set_patience(struct store *store, int milliseconds)
{
	int before = store->patience;

	store->patience = milliseconds;
	sqlite3_busy_timeout(store->db, milliseconds);
	return before;
}

static bool make_room(struct store *store)
{
	store->scratch = arena_new();
	if (!store->scratch || !arena_array(store->scratch, 1, 1))
		return false;
	for (size_t i = 0; i < SQL_SETS; i++) {
		store->kept[i] = mem_zero(sets[i]->count * sizeof(sqlite3_stmt *));
		if (!store->kept[i])
			return false;
	}
	return true;
}

static enum status connect(const char *path, int flags, struct store **out)
{
	struct store *store = mem_zero(sizeof *store);
	enum status status = ST_NOMEM;

	if (store && make_room(store))
		status = status_of_opening(
		        sqlite3_open_v2(path, &store->db, flags | SQLITE_OPEN_NOMUTEX, NULL));
	if (status == ST_OK)
		*out = store;
	else
		store_close(store);
	return status;
}

static enum status give(struct store *store, enum status status, struct store **out)
{
	if (status == ST_OK)
		*out = store;
	else
		store_close(store);
	return status;
}

enum status store_open(const char *path, struct store **out)
{
	struct store *store = NULL;
	enum status status = connect(path, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, &store);

	return status == ST_OK ? give(store, set_up(store, path), out) : status;
}

/* To look only ---------------------------------------------------------------- */

static bool has_bytes(const char *path, const char *ending)
{
	struct text name = TEXT_EMPTY;
	struct stat found;
	bool has;

	text_printf(&name, "%s%s", path, ending);
	has = !text_failed(&name) && stat(text_string(&name), &found) == 0 && found.st_size > 0;
	text_free(&name);
	return has;
}

/* "file:..." of the path, and how to open it so that nothing is changed or left
 * behind. Without a -wal the file is all there is, and is taken as it stands. A
 * -wal without -shm is what a program left that was killed: it is read with the
 * index in memory, since nobody else has it open. With both somebody may be at
 * work, and the locks are kept. */
static void look_address(struct text *out, const char *path)
{
	const char *how = "mode=ro&immutable=1";

	if (has_bytes(path, "-wal"))
		how = has_bytes(path, "-shm") ? "mode=ro" : "mode=ro&vfs=unix-none";
	text_add(out, "file:");
	for (const char *at = path; *at; at++)
		if (strchr("%?#", *at))
			text_printf(out, "%%%02x", (unsigned)*at);
		else
			text_add_char(out, *at);
	text_printf(out, "?%s", how);
}

static enum status set_up_look(struct store *store, bool alone, int64_t *version)
{
	enum status status = guard(store);

	if (status == ST_OK && alone)
		status = upgrade_exec(store, "PRAGMA locking_mode = EXCLUSIVE");
	if (status == ST_OK)
		status = upgrade_exec(store, "PRAGMA temp_store = MEMORY;"
		                             "PRAGMA cell_size_check = ON");
	if (status == ST_OK)
		status = upgrade_identify(store, version);
	store->read_only = true;
	return status == ST_OK && *version == 0 ? ST_INVALID : status;
}

enum status store_open_to_look(const char *path, struct store **out, int64_t *version)
{
	struct text address = TEXT_EMPTY;
	struct store *store = NULL;
	bool alone = has_bytes(path, "-wal") && !has_bytes(path, "-shm");
	enum status status = access(path, F_OK) == 0 ? ST_OK : ST_MISSING;

	if (status == ST_OK && (!has_bytes(path, "") || has_bytes(path, "-journal")))
		status = ST_INVALID;
	look_address(&address, path);
	if (status == ST_OK && text_failed(&address))
		status = ST_NOMEM;
	if (status == ST_OK)
		status = connect(text_string(&address), SQLITE_OPEN_READONLY | SQLITE_OPEN_URI,
		                 &store);
	text_free(&address);
	return status == ST_OK ? give(store, set_up_look(store, alone, version), out) : status;
}

static void close_set(struct store *store, size_t i)
{
	for (size_t which = 0; store->kept[i] && which < sets[i]->count; which++)
		sqlite3_finalize(store->kept[i][which]);
	mem_free(store->kept[i]);
}

void store_close(struct store *store)
{
	if (!store)
		return;
	assert(!store->began_file && store->acts == 0);
	for (size_t i = 0; i < SQL_SETS; i++)
		close_set(store, i);
	if (sqlite3_close(store->db) != SQLITE_OK)
		assert(!"a statement was left behind");
	arena_free(store->scratch);
	mem_free(store);
}

/* Not PRAGMA query_only: setting it makes SQLite prepare every kept statement
 * anew. Each statement passes query_start, which asks SQLite whether it writes. */
enum status store_set_read_only(struct store *store, bool on)
{
	store->read_only = on;
	return ST_OK;
}

void store_act_for(struct store *store, int64_t member, int64_t now)
{
	store->doer = member;
	store->bound_met = NULL;
	store->doer_now = now;
}

/* The pool ------------------------------------------------------------------ */

struct store_pool {
	pthread_mutex_t lock;
	pthread_cond_t given;
	size_t size; /* connections in all */
	size_t free; /* the first of them here, ready to be taken */
	struct store *stores[];
};

static enum status fill(struct store_pool *pool, const char *path, size_t connections)
{
	while (pool->size < connections) {
		enum status status = store_open(path, &pool->stores[pool->size]);

		if (status != ST_OK)
			return status;
		pool->size++;
	}
	return ST_OK;
}

enum status store_pool_new(const char *path, size_t connections, struct store_pool **out)
{
	struct store_pool *pool = mem_zero(sizeof *pool + connections * sizeof(struct store *));
	enum status status;

	assert(connections > 0);
	if (!pool)
		return ST_NOMEM;
	pthread_mutex_init(&pool->lock, NULL);
	pthread_cond_init(&pool->given, NULL);
	status = fill(pool, path, connections);
	pool->free = pool->size;
	if (status == ST_OK)
		*out = pool;
	else
		store_pool_free(pool);
	return status;
}

void store_pool_free(struct store_pool *pool)
{
	if (!pool)
		return;
	assert(pool->free == pool->size);
	for (size_t i = 0; i < pool->size; i++)
		store_close(pool->stores[i]);
	pthread_cond_destroy(&pool->given);
	pthread_mutex_destroy(&pool->lock);
	mem_free(pool);
}

struct store *store_take(struct store_pool *pool)
{
	struct store *store;

	pthread_mutex_lock(&pool->lock);
	while (pool->free == 0)
		pthread_cond_wait(&pool->given, &pool->lock);
	store = pool->stores[--pool->free];
	pthread_mutex_unlock(&pool->lock);
	return store;
}

void store_give(struct store_pool *pool, struct store *store)
{
	store_rollback(store);
	(void)!store_set_read_only(store, false);
	store_act_for(store, 0, 0);
	store_set_patience(store, STORE_PATIENCE);
	pthread_mutex_lock(&pool->lock);
	assert(pool->free < pool->size);
	pool->stores[pool->free++] = store;
	pthread_cond_signal(&pool->given);
	pthread_mutex_unlock(&pool->lock);
}
