#include "store/addresses.h"

#include <string.h>

#include "store/settings.h"
#include "store/sql.h"

enum { SQL_KNOWN, SQL_NOTE, SQL_BOUND, SQL_FORGET, SQL_SWEEP, SQL_COUNT };

static const char *const texts[SQL_COUNT] = {
        [SQL_KNOWN] = "SELECT count(*) FROM known_addresses a JOIN members m ON m.id = a.member_id"
                      " WHERE m.login_key = ?1 AND a.address = ?2 AND a.seen_at > ?3",
        [SQL_NOTE] = "INSERT INTO known_addresses (member_id, address, seen_at)"
                     " VALUES (?1, ?2, ?3) ON CONFLICT (member_id, address)"
                     " DO UPDATE SET seen_at = excluded.seen_at",
        [SQL_BOUND] = "DELETE FROM known_addresses WHERE member_id = ?1 AND address NOT IN"
                      " (SELECT address FROM known_addresses WHERE member_id = ?1"
                      " ORDER BY seen_at DESC, address LIMIT ?2)",
        [SQL_FORGET] = "DELETE FROM known_addresses WHERE member_id = ?1",
        [SQL_SWEEP] = "DELETE FROM known_addresses WHERE seen_at <= ?1",
};

const struct sql_set address_sql = {SET_ADDRESSES, SQL_COUNT, texts};

static struct query start(struct store *store, size_t which)
{
	return query_start(store, &address_sql, which, NULL);
}

static enum status hash_address(struct store *store, const char *address, struct hash *out)
{
	struct arena *arena = arena_new();
	const char *key = "";
	enum status status = arena ? setting_text(store, arena, SETTING_KEY, &key) : ST_NOMEM;

	if (status == ST_OK)
		*out = hash_keyed(key, strlen(key), address, strlen(address));
	arena_free(arena);
	return status;
}

enum status address_known(struct store *store, const char *login, const char *address, int64_t now,
                          bool *out)
{
	struct hash hash;
	int64_t found = 0;
	struct query q;
	enum status status = hash_address(store, address, &hash);

	if (status != ST_OK)
		return status;
	q = start(store, SQL_KNOWN);
	bind_key_of(&q, login);
	bind_hash(&q, &hash);
	bind_int(&q, now - ADDRESS_KNOWN_FOR);
	status = query_int(&q, &found);
	if (status == ST_OK)
		*out = found > 0;
	return status;
}

static enum status note(struct store *store, struct member_id member, const struct hash *hash,
                        int64_t now)
{
	struct query q = start(store, SQL_NOTE);
	struct query bound = start(store, SQL_BOUND);
	enum status status;

	bind_int(&q, member.v);
	bind_hash(&q, hash);
	bind_int(&q, now);
	status = query_run(&q);
	if (status != ST_OK)
		return status;
	bind_int(&bound, member.v);
	bind_int(&bound, ADDRESSES_MOST);
	return query_run(&bound);
}

enum status address_note(struct store *store, struct member_id member, const char *address,
                         int64_t now)
{
	struct hash hash;
	enum status status = hash_address(store, address, &hash);

	if (status == ST_OK)
		status = act_begin(store);
	return status == ST_OK ? act_end(store, note(store, member, &hash, now)) : status;
}

enum status addresses_forget(struct store *store, struct member_id member)
{
	struct query q = start(store, SQL_FORGET);

	bind_int(&q, member.v);
	return query_run(&q);
}

enum status addresses_sweep(struct store *store, int64_t now)
{
	struct query q = start(store, SQL_SWEEP);

	bind_int(&q, now - ADDRESS_KNOWN_FOR);
	return query_run(&q);
}
