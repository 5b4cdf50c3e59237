#include "store/files.h"

enum { SQL_KEEP, SQL_ID, SQL_COUNT };

static const char *const texts[SQL_COUNT] = {
        [SQL_KEEP] = "INSERT INTO files (hash, size, bytes) VALUES (?1, ?2, ?3)"
                     " ON CONFLICT (hash) DO NOTHING",
        [SQL_ID] = "SELECT id FROM files WHERE hash = ?1",
};

const struct sql_set file_sql = {SET_FILES, SQL_COUNT, texts};

enum status file_keep(struct store *store, const void *bytes, size_t size, int64_t *id)
{
	struct hash hash = hash_of(bytes, size);
	struct query keep = query_start(store, &file_sql, SQL_KEEP, NULL);
	struct query find;
	enum status status;

	bind_hash(&keep, &hash);
	bind_int(&keep, (int64_t)size);
	bind_bytes(&keep, bytes, size);
	status = query_run(&keep);
	if (status != ST_OK)
		return status;
	find = query_start(store, &file_sql, SQL_ID, NULL);
	bind_hash(&find, &hash);
	return query_int(&find, id);
}
