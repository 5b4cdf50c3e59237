/* mail.c - the addresses; the outbox is in outbox.c. */
#include "store/mail.h"

#include "store/sql.h"

enum {
	SQL_READ,
	SQL_SAME,
	SQL_SET,
	SQL_ASK,
	SQL_DROP,
	SQL_PASS_OVER,
	SQL_CHOICES,
	SQL_REMOVE,
	SQL_CONFIRM_FIND,
	SQL_CONFIRM_NEWS,
	SQL_CONFIRM,
	SQL_STOP_FIND,
	SQL_STOP_DROP,
	SQL_STOP,
	SQL_DUE,
	SQL_COUNT
};

#define CONFIRMABLE                                                                                \
	"FROM mail_addresses a JOIN members m ON m.id = a.member_id"                               \
	" WHERE a.confirm_token = ?1 AND a.confirm_until > ?2"                                     \
	" AND a.confirm_until <= ?2 + " TEXT_OF(MAIL_CONFIRM_SECONDS) " + " AHEAD_MOST             \
	                                                              " AND NOT m.disabled"

static const char *const texts[SQL_COUNT] = {
        [SQL_READ] = "SELECT address, confirmed_at, at_once, weekly, digest_at"
                     " FROM mail_addresses WHERE member_id = ?1",
        /* Confirmed already? */
        [SQL_SAME] = "SELECT count(*) FROM mail_addresses"
                     " WHERE member_id = ?1 AND address = ?2 AND confirmed_at > 0",
        [SQL_SET] = "INSERT INTO mail_addresses (member_id, address) VALUES (?1, ?2)"
                    " ON CONFLICT (member_id) DO UPDATE SET address = excluded.address,"
                    " confirm_token = NULL, confirm_until = 0, confirmed_at = 0, digest_at = 0",
        [SQL_ASK] = "INSERT INTO outbox (member_id, address, kind, subject, body, made_at, state,"
                    " next_at) VALUES (?1, ?2, 0, ?3, ?4, ?5, 0, ?5)",
        /* One that is in hand cannot be called back. */
        [SQL_DROP] = "DELETE FROM outbox WHERE member_id = ?1 AND state IN (0, 3)",
        [SQL_PASS_OVER] = "UPDATE news SET mailed = 1 WHERE member_id = ?1 AND mailed = 0"
                          " AND EXISTS (SELECT 1 FROM mail_addresses a WHERE a.member_id = ?1"
                          " AND NOT a.weekly AND NOT (a.at_once AND news.mandatory))",
        [SQL_CHOICES] = "UPDATE mail_addresses SET at_once = ?2, weekly = ?3 WHERE member_id = ?1",
        [SQL_REMOVE] = "DELETE FROM mail_addresses WHERE member_id = ?1",
        [SQL_CONFIRM_FIND] = "SELECT a.member_id, a.address " CONFIRMABLE,
        [SQL_CONFIRM_NEWS] = "UPDATE news SET mailed = 1 WHERE mailed = 0"
                             " AND member_id = (SELECT a.member_id " CONFIRMABLE ")",
        [SQL_CONFIRM] = "UPDATE mail_addresses SET confirm_token = NULL, confirmed_at = ?2,"
                        " digest_at = ?2 WHERE member_id = (SELECT a.member_id " CONFIRMABLE ")",
        [SQL_STOP_FIND] = "SELECT address FROM outbox WHERE stop_token = ?1",
        [SQL_STOP_DROP] = "DELETE FROM outbox WHERE state IN (0, 3) AND (member_id, address) ="
                          " (SELECT member_id, address FROM outbox WHERE stop_token = ?1)",
        [SQL_STOP] = "UPDATE mail_addresses SET at_once = 0, weekly = 0"
                     " WHERE (member_id, address) ="
                     " (SELECT member_id, address FROM outbox WHERE stop_token = ?1)",
        [SQL_DUE] = "SELECT a.member_id, a.address, a.weekly AND (a.digest_at <= ?2 OR a.digest_at "
                    "> ?4) AS due"
                    " FROM mail_addresses a JOIN members m ON m.id = a.member_id"
                    " WHERE a.confirmed_at > 0 AND NOT m.disabled"
                    " AND EXISTS (SELECT 1 FROM news n WHERE n.member_id = a.member_id"
                    " AND n.mailed = 0 AND n.id > m.news_seen AND"
                    " (due OR (a.at_once AND n.mandatory"
                    " AND NOT EXISTS (SELECT 1 FROM outbox o WHERE o.member_id = a.member_id"
                    " AND o.kind = 1 AND o.made_at > ?1 AND o.made_at <= ?4))))"
                    " AND a.member_id > ?3 ORDER BY a.member_id LIMIT 1",
};

const struct sql_set mail_sql = {SET_MAIL, SQL_COUNT, texts};

static struct query start(struct store *store, size_t which, struct arena *arena)
{
	return query_start(store, &mail_sql, which, arena);
}

static enum status run_for(struct store *store, size_t which, struct member_id member)
{
	struct query q = start(store, which, NULL);

	bind_int(&q, member.v);
	return query_run(&q);
}

/* ---- an address ---- */

enum status mail_address_read(struct store *store, struct arena *arena, struct member_id member,
                              struct mail_address *out)
{
	struct query q = start(store, SQL_READ, arena);
	struct mail_address address = {.address = ""};

	bind_int(&q, member.v);
	if (query_found(&q)) {
		address.address = read_text(&q);
		address.confirmed_at = read_int(&q);
		address.at_once = read_int(&q) != 0;
		address.weekly = read_int(&q) != 0;
		address.digest_at = read_int(&q);
	}
	if (q.status == ST_OK)
		*out = address;
	return query_end(&q);
}

static enum status is_confirmed(struct store *store, struct member_id member, const char *address,
                                bool *out)
{
	struct query q = start(store, SQL_SAME, NULL);
	int64_t count = 0;
	enum status status;

	bind_int(&q, member.v);
	bind_text(&q, address);
	status = query_int(&q, &count);
	if (status == ST_OK)
		*out = count > 0;
	return status;
}

static enum status set_address(struct store *store, struct member_id member, const char *address)
{
	struct query q = start(store, SQL_SET, NULL);

	bind_int(&q, member.v);
	bind_text(&q, address);
	return query_run(&q);
}

static enum status ask(struct store *store, struct member_id member, const char *address,
                       const struct mail_words *question, int64_t now)
{
	struct query q = start(store, SQL_ASK, NULL);

	bind_int(&q, member.v);
	bind_text(&q, address);
	bind_text(&q, question->subject);
	bind_text(&q, question->body);
	bind_int(&q, now);
	return query_run(&q);
}

static enum status replace_address(struct store *store, struct member_id member,
                                   const char *address, const struct mail_words *question,
                                   int64_t now)
{
	bool confirmed = false;
	enum status status = is_confirmed(store, member, address, &confirmed);

	if (status != ST_OK || confirmed)
		return status;
	status = bound_room(store, BOUND_MAIL_QUESTIONS_A_DAY, member.v, 1, now);
	if (status == ST_OK)
		status = set_address(store, member, address);
	if (status == ST_OK)
		status = run_for(store, SQL_DROP, member);
	return status == ST_OK ? ask(store, member, address, question, now) : status;
}

enum status mail_address_set(struct store *store, struct member_id member, const char *address,
                             const struct mail_words *question, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, replace_address(store, member, address, question, now));
}

static enum status set_choices(struct store *store, struct member_id member, bool at_once,
                               bool weekly)
{
	struct query q = start(store, SQL_CHOICES, NULL);

	bind_int(&q, member.v);
	bind_int(&q, at_once);
	bind_int(&q, weekly);
	return query_run_one(&q);
}

enum status mail_set_choices(struct store *store, struct member_id member, bool at_once,
                             bool weekly)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = run_for(store, SQL_PASS_OVER, member);
	if (status == ST_OK)
		status = set_choices(store, member, at_once, weekly);
	return act_end(store, status);
}

static enum status remove_address(struct store *store, struct member_id member)
{
	struct query q = start(store, SQL_REMOVE, NULL);

	bind_int(&q, member.v);
	return query_run_one(&q);
}

enum status mail_address_remove(struct store *store, struct member_id member)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = remove_address(store, member);
	if (status == ST_OK)
		status = run_for(store, SQL_DROP, member);
	return act_end(store, status);
}

/* ---- links ---- */

enum status mail_confirm_find(struct store *store, struct arena *arena, const struct hash *token,
                              int64_t now, struct member_id *member, const char **address)
{
	struct query q = start(store, SQL_CONFIRM_FIND, arena);
	int64_t id = 0;
	const char *text = "";

	bind_hash(&q, token);
	bind_int(&q, now);
	if (query_found(&q)) {
		id = read_int(&q);
		text = read_text(&q);
	}
	if (q.status == ST_OK) {
		member->v = id;
		*address = text;
	}
	return query_end(&q);
}

static struct query start_confirm(struct store *store, size_t which, const struct hash *token,
                                  int64_t now)
{
	struct query q = start(store, which, NULL);

	bind_hash(&q, token);
	bind_int(&q, now);
	return q;
}

enum status mail_confirm(struct store *store, const struct hash *token, int64_t now)
{
	struct query q;
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	q = start_confirm(store, SQL_CONFIRM_NEWS, token, now);
	status = query_run(&q);
	if (status == ST_OK) {
		q = start_confirm(store, SQL_CONFIRM, token, now);
		status = query_run_one(&q);
	}
	return act_end(store, status);
}

enum status mail_stop_find(struct store *store, struct arena *arena, const struct hash *token,
                           const char **address)
{
	struct query q = start(store, SQL_STOP_FIND, arena);
	const char *text = "";

	bind_hash(&q, token);
	if (query_found(&q))
		text = read_text(&q);
	if (q.status == ST_OK)
		*address = text;
	return query_end(&q);
}

static enum status run_by(struct store *store, size_t which, const struct hash *token)
{
	struct query q = start(store, which, NULL);

	bind_hash(&q, token);
	return query_run(&q);
}

static enum status stop(struct store *store, const struct hash *token)
{
	struct query q = start(store, SQL_STOP_FIND, NULL);
	enum status status;

	bind_hash(&q, token);
	query_found(&q);
	status = query_end(&q);
	if (status == ST_OK)
		status = run_by(store, SQL_STOP, token);
	return status == ST_OK ? run_by(store, SQL_STOP_DROP, token) : status;
}

enum status mail_stop(struct store *store, const struct hash *token)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, stop(store, token));
}

/* ---- what is to be written ---- */

enum status mail_due_next(struct store *store, struct arena *arena, struct member_id after,
                          int64_t now, struct mail_due *out)
{
	struct query q = start(store, SQL_DUE, arena);
	struct mail_due due = {.address = ""};

	bind_int(&q, now - MAIL_AT_ONCE_GAP);
	bind_int(&q, now - MAIL_WEEK);
	bind_int(&q, after.v);
	bind_int(&q, now);
	if (query_found(&q)) {
		due.member.v = read_int(&q);
		due.address = read_text(&q);
		due.weekly = read_int(&q) != 0;
	}
	if (q.status == ST_OK)
		*out = due;
	return query_end(&q);
}
