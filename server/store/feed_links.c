#include "store/feed_links.h"

#include "store/sql.h"

enum { SQL_MAKE, SQL_MADE, SQL_END, SQL_FIND, SQL_COUNT };

static const char *const texts[SQL_COUNT] = {
        [SQL_MAKE] = "INSERT INTO feed_links (member_id, token, made_at) VALUES (?1, ?2, ?3)"
                     " ON CONFLICT (member_id) DO UPDATE SET token = ?2, made_at = ?3",
        [SQL_MADE] = "SELECT made_at FROM feed_links WHERE member_id = ?1",
        [SQL_END] = "DELETE FROM feed_links WHERE member_id = ?1",
        [SQL_FIND] = "SELECT m.id FROM feed_links l JOIN members m ON m.id = l.member_id"
                     " WHERE l.token = ?1 AND NOT m.disabled",
};

const struct sql_set feed_link_sql = {SET_FEED_LINKS, SQL_COUNT, texts};

static struct query start_of(struct store *store, size_t which, struct member_id member)
{
	struct query q = query_start(store, &feed_link_sql, which, NULL);

	bind_int(&q, member.v);
	return q;
}

enum status feed_link_make(struct store *store, struct member_id member, const struct hash *token,
                           int64_t now)
{
	struct query q = start_of(store, SQL_MAKE, member);

	bind_hash(&q, token);
	bind_int(&q, now);
	return query_run(&q);
}

enum status feed_link_made(struct store *store, struct member_id member, int64_t *out)
{
	struct query q = start_of(store, SQL_MADE, member);

	return query_int(&q, out);
}

enum status feed_link_end(struct store *store, struct member_id member)
{
	struct query q = start_of(store, SQL_END, member);

	return query_run_one(&q);
}

enum status feed_link_find(struct store *store, const struct hash *token, struct member_id *out)
{
	struct query q = query_start(store, &feed_link_sql, SQL_FIND, NULL);

	bind_hash(&q, token);
	return query_int(&q, &out->v);
}
