#include "store/members.h"

#include <stdio.h>
#include <strings.h>
#include <string.h>

#include "store/bounds.h"
#include "store/acts.h"
#include "store/addresses.h"
#include "store/feed_links.h"
#include "store/notes.h"
#include "store/news.h"
#include "store/sql.h"

#define MEMBER_COLUMNS "m.id, m.login, m.name, m.role, m.disabled, m.joined_at"
#define INVITE_COLUMNS                                                                             \
	"SELECT i.id, i.role, i.label, CASE WHEN i.first_admin THEN ''"                            \
	" ELSE coalesce(b.name, 'removed member') END,"                                            \
	" CASE WHEN i.used_at = 0 THEN '' ELSE coalesce(u.name, 'removed member') END,"            \
	" i.made_at, i.expires_at, i.used_at, i.revoked FROM invites i"                            \
	" LEFT JOIN members b ON b.id = i.made_by LEFT JOIN members u ON u.id = i.used_by "
_Static_assert(NEWS_COUNTED == 10, "as the limit below");
#define SESSION_COLUMNS                                                                            \
	"SELECT s.id, s.secret, s.made_at, s.seen_at, s.idle_until, s.ends_at, "                   \
	"s.label, " MEMBER_COLUMNS                                                                 \
	", g.value, (SELECT count(*) FROM (SELECT 1 FROM news w WHERE w.member_id = m.id"          \
	" AND w.id > m.news_seen LIMIT 10)) FROM sessions s JOIN members m ON m.id = s.member_id"  \
	" JOIN generation g "

enum {
	SQL_ADD,
	SQL_READ,
	SQL_STANDING,
	SQL_FIND,
	SQL_PASSWORD,
	SQL_SET_PASSWORD,
	SQL_SET_NAME,
	SQL_SET_ROLE,
	SQL_SET_DISABLED,
	SQL_REMOVE,
	SQL_LIST,
	SQL_TOTAL,
	SQL_ADMINS,
	SQL_INVITE_ADD,
	SQL_INVITE_CLEAR_FIRST,
	SQL_INVITE_FIND,
	SQL_INVITE_USE,
	SQL_INVITE_REVOKE,
	SQL_INVITE_OF,
	SQL_INVITE_END_OF,
	SQL_INVITE_LIST,
	SQL_INVITE_TOTAL,
	SQL_RESET_OFFER,
	SQL_RESET_FIND,
	SQL_RESET_CLEAR,
	SQL_RESET_END_OF,
	SQL_SESSION_ADD,
	SQL_SESSION_KEEP,
	SQL_SESSION_FIND,
	SQL_SESSION_TOUCH,
	SQL_SESSION_LIST,
	SQL_SESSION_END,
	SQL_SESSION_END_OTHERS,
	SQL_TOKEN_ADD,
	SQL_TOKEN_LIST,
	SQL_TOKEN_REVOKE,
	SQL_TOKEN_FIND,
	SQL_TOKEN_END_ALL,
	SQL_FAILED_ADD,
	SQL_FAILED_COUNT,
	SQL_FAILED_FORGET,
	SQL_SWEEP_SESSIONS,
	SQL_SWEEP_FAILED,
	SQL_SWEEP_TOKENS,
	SQL_COUNT
};

#define RESET_NOT_AHEAD " AND r.expires_at <= ?2 + " TEXT_OF(RESET_SECONDS) " + " AHEAD_MOST

static const char *const texts[SQL_COUNT] = {
        [SQL_ADD] = "INSERT INTO members (login, login_key, name, password, role, joined_at)"
                    " VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        [SQL_READ] = "SELECT " MEMBER_COLUMNS " FROM members m WHERE m.id = ?1",
        [SQL_STANDING] = "SELECT role, disabled FROM members WHERE id = ?1",
        [SQL_FIND] = "SELECT " MEMBER_COLUMNS " FROM members m WHERE m.login_key = ?1",
        [SQL_PASSWORD] =
                "SELECT " MEMBER_COLUMNS ", m.password FROM members m WHERE m.login_key = ?1",
        [SQL_SET_PASSWORD] = "UPDATE members SET password = ?2 WHERE id = ?1",
        [SQL_SET_NAME] = "UPDATE members SET name = ?2 WHERE id = ?1",
        [SQL_SET_ROLE] = "UPDATE members SET role = ?2 WHERE id = ?1",
        [SQL_SET_DISABLED] = "UPDATE members SET disabled = ?2 WHERE id = ?1",
        [SQL_REMOVE] = "DELETE FROM members WHERE id = ?1",
        [SQL_LIST] =
                "SELECT " MEMBER_COLUMNS " FROM members m ORDER BY m.login_key LIMIT ?1 OFFSET ?2",
        [SQL_TOTAL] = "SELECT count(*) FROM members",
        /* Was there an admin before, and is there one left? */
        [SQL_ADMINS] = "SELECT count(*) FROM members WHERE role = 2 AND NOT disabled",
        [SQL_INVITE_ADD] = "INSERT INTO invites (token, role, label, made_by, expires_at, made_at,"
                           " first_admin) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        [SQL_INVITE_CLEAR_FIRST] = "DELETE FROM invites WHERE first_admin",
        /* Only while who made it may still make one; the first admin's link while
         * there is nobody. */
        [SQL_INVITE_FIND] =
                INVITE_COLUMNS "WHERE i.token = ?1 AND i.expires_at > ?2"
                               " AND i.made_at <= ?2 + " AHEAD_MOST
                               " AND i.used_at = 0 AND NOT i.revoked AND CASE WHEN i.first_admin"
                               " THEN NOT EXISTS (SELECT 1 FROM members)"
                               " ELSE b.role = 2 AND NOT b.disabled END",
        [SQL_INVITE_USE] = "UPDATE invites SET used_at = ?2, used_by = ?3 WHERE id = ?1",
        [SQL_INVITE_REVOKE] = "UPDATE invites SET revoked = 1"
                              " WHERE id = ?1 AND used_at = 0 AND NOT revoked",
        [SQL_INVITE_OF] = "SELECT role, label FROM invites WHERE id = ?1",
        [SQL_INVITE_END_OF] = "UPDATE invites SET revoked = 1"
                              " WHERE made_by = ?1 AND used_at = 0 AND NOT revoked",
        [SQL_INVITE_LIST] = INVITE_COLUMNS "ORDER BY i.id DESC LIMIT ?1 OFFSET ?2",
        [SQL_INVITE_TOTAL] = "SELECT count(*) FROM invites",
        [SQL_RESET_OFFER] =
                "INSERT INTO resets (member_id, token, expires_at, made_by)"
                " SELECT id, ?2, ?3, ?4 FROM members WHERE id = ?1 ON CONFLICT (member_id)"
                " DO UPDATE SET token = excluded.token, expires_at = excluded.expires_at,"
                " made_by = excluded.made_by",
        [SQL_RESET_FIND] =
                "SELECT " MEMBER_COLUMNS " FROM resets r"
                " JOIN members m ON m.id = r.member_id"
                " LEFT JOIN members b ON b.id = r.made_by"
                " WHERE r.token = ?1 AND r.expires_at > ?2" RESET_NOT_AHEAD " AND NOT m.disabled"
                " AND (r.made_by IS NULL OR (b.role = 2 AND NOT b.disabled))",
        [SQL_RESET_CLEAR] = "DELETE FROM resets WHERE member_id = ?1",
        [SQL_RESET_END_OF] = "DELETE FROM resets WHERE made_by = ?1",
        [SQL_SESSION_ADD] =
                "INSERT INTO sessions (member_id, token, secret, label, idle_until, ends_at,"
                " made_at, seen_at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?7)",
        [SQL_SESSION_KEEP] =
                "DELETE FROM sessions WHERE member_id = ?1 AND id NOT IN (SELECT id FROM sessions"
                " WHERE member_id = ?1 ORDER BY id = ?2 DESC, seen_at DESC, id DESC LIMIT ?3)",
        [SQL_SESSION_FIND] = SESSION_COLUMNS "WHERE s.token = ?1 AND s.idle_until > ?2"
                                             " AND s.ends_at > ?2 AND NOT m.disabled"
                                             " AND s.made_at <= ?2 + " AHEAD_MOST,
        [SQL_SESSION_TOUCH] = "UPDATE sessions SET seen_at = ?2, idle_until = ?3 WHERE id = ?1",
        [SQL_SESSION_LIST] =
                SESSION_COLUMNS "WHERE s.member_id = ?1 AND s.idle_until > ?2"
                                " AND s.ends_at > ?2"
                                " AND s.made_at <= ?2 + " AHEAD_MOST " ORDER BY s.id DESC",
        [SQL_SESSION_END] = "DELETE FROM sessions WHERE member_id = ?1 AND id = ?2",
        [SQL_SESSION_END_OTHERS] = "DELETE FROM sessions WHERE member_id = ?1 AND id <> ?2",
        [SQL_TOKEN_ADD] = "INSERT INTO api_tokens (member_id, token, label, made_at, ends_at)"
                          " VALUES (?1, ?2, ?3, ?4, ?5)",
        [SQL_TOKEN_LIST] = "SELECT id, label, made_at, ends_at FROM api_tokens"
                           " WHERE member_id = ?1 ORDER BY id",
        [SQL_TOKEN_REVOKE] = "DELETE FROM api_tokens WHERE member_id = ?1 AND id = ?2",
        [SQL_TOKEN_FIND] =
                "SELECT " MEMBER_COLUMNS " FROM api_tokens t"
                " JOIN members m ON m.id = t.member_id WHERE t.token = ?1 AND t.ends_at > ?2"
                " AND NOT m.disabled",
        [SQL_TOKEN_END_ALL] = "DELETE FROM api_tokens WHERE member_id = ?1",
        [SQL_FAILED_ADD] = "INSERT INTO sign_in_failures (who, at) VALUES (?1, ?2)",
        [SQL_FAILED_COUNT] = "SELECT count(*) FROM sign_in_failures WHERE who = ?1"
                             " AND at >= ?2 AND at <= ?3",
        [SQL_FAILED_FORGET] = "DELETE FROM sign_in_failures WHERE who = ?1",
        [SQL_SWEEP_SESSIONS] = "DELETE FROM sessions WHERE idle_until <= ?1 OR ends_at <= ?1",
        [SQL_SWEEP_TOKENS] = "DELETE FROM api_tokens WHERE ends_at <= ?1 - 2592000",
        [SQL_SWEEP_FAILED] = "DELETE FROM sign_in_failures WHERE at < ?1 - 86400"
                             " OR at > ?1 + " AHEAD_MOST,
};

const struct sql_set member_sql = {SET_MEMBERS, SQL_COUNT, texts};

const char *const role_names[ROLES + 1] = {"builder", "steward", "admin"};

const char *role_words(enum role role)
{
	return role_names[role];
}

bool role_from_words(const char *words, enum role *out)
{
	for (size_t i = 0; i < ROLES; i++) {
		if (strcasecmp(words, role_names[i]) == 0) {
			*out = (enum role)i;
			return true;
		}
	}
	return false;
}

static struct query start(struct store *store, size_t which, struct arena *arena)
{
	return query_start(store, &member_sql, which, arena);
}

static void read_member(struct query *q, void *row)
{
	struct member *member = row;

	member->id.v = read_int(q);
	member->login = read_text(q);
	member->name = read_text(q);
	member->role = (enum role)read_int(q);
	member->disabled = read_int(q) != 0;
	member->joined_at = read_int(q);
}

/* The only row of a query whose columns are a member's. */
static enum status one_member(struct query *q, struct member *out)
{
	struct member member = {.id = {0}};

	if (query_found(q))
		read_member(q, &member);
	if (q->status == ST_OK)
		*out = member;
	return query_end(q);
}

/* Statements that change what belongs to one id. */
static enum status change(struct store *store, size_t which, int64_t id, int64_t value)
{
	struct query q = start(store, which, NULL);

	bind_int(&q, id);
	bind_int(&q, value);
	return query_run_one(&q);
}

static enum status change_text(struct store *store, size_t which, int64_t id, const char *value)
{
	struct query q = start(store, which, NULL);

	bind_int(&q, id);
	bind_text(&q, value);
	return query_run_one(&q);
}

/* Members ------------------------------------------------------------------- */

static enum status add(struct store *store, const struct member_entry *entry, enum role role,
                       int64_t now, struct member_id *out)
{
	struct query q = start(store, SQL_ADD, NULL);

	bind_name_text(&q, entry->login);
	bind_text(&q, entry->name);
	bind_text(&q, entry->password);
	bind_int(&q, role);
	bind_int(&q, now);
	return query_insert(&q, &out->v);
}

enum status member_add(struct store *store, const struct member_entry *entry, int64_t now,
                       struct member_id *out)
{
	return add(store, entry, entry->role, now, out);
}

enum status member_read(struct store *store, struct arena *arena, struct member_id id,
                        struct member *out)
{
	struct query q = start(store, SQL_READ, arena);

	bind_int(&q, id.v);
	return one_member(&q, out);
}

enum status member_find(struct store *store, struct arena *arena, const char *login,
                        struct member *out)
{
	struct query q = start(store, SQL_FIND, arena);

	bind_key_of(&q, login);
	return one_member(&q, out);
}

enum status member_password(struct store *store, struct arena *arena, const char *login,
                            struct member *out, const char **password)
{
	struct query q = start(store, SQL_PASSWORD, arena);
	struct member member = {.id = {0}};
	const char *text = "";

	bind_key_of(&q, login);
	if (query_found(&q)) {
		read_member(&q, &member);
		text = read_text(&q);
	}
	if (q.status == ST_OK) {
		*out = member;
		*password = text;
	}
	return query_end(&q);
}

/* Takes out what belongs to one member; nothing there is as good. */
static enum status clear(struct store *store, size_t which, struct member_id id)
{
	struct query q = start(store, which, NULL);

	bind_int(&q, id.v);
	return query_run(&q);
}

/* Whoever came in with the old password, or by something made with it. */
static enum status end_access(struct store *store, struct member_id id)
{
	enum status status = session_end_others(store, id, (struct session_id){0});

	if (status == ST_OK)
		status = clear(store, SQL_RESET_CLEAR, id);
	if (status == ST_OK)
		status = clear(store, SQL_TOKEN_END_ALL, id);
	if (status == ST_OK)
		status = addresses_forget(store, id);
	if (status == ST_OK)
		status = feed_link_end(store, id);
	return status == ST_MISSING ? ST_OK : status;
}

enum status member_set_password(struct store *store, struct member_id id, const char *password)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = change_text(store, SQL_SET_PASSWORD, id.v, password);
	if (status == ST_OK)
		status = end_access(store, id);
	return act_end(store, status);
}

enum status member_set_name(struct store *store, struct member_id id, const char *name)
{
	return change_text(store, SQL_SET_NAME, id.v, name);
}

static enum status count_rows(struct store *store, size_t which, int64_t *out)
{
	struct query q = start(store, which, NULL);

	return query_int(&q, out);
}

/* Runs inside an act, after the change: an active admin must be left. A
 * member who was none leaves those that there were. */
static enum status check_admin_left(struct store *store, int64_t before)
{
	int64_t after = 0;
	enum status status = count_rows(store, SQL_ADMINS, &after);

	return status == ST_OK && before > 0 && after == 0 ? ST_DENIED : status;
}

/* Invites and links that the member handed out as an admin. */
static enum status end_offers(struct store *store, struct member_id id)
{
	enum status status = clear(store, SQL_INVITE_END_OF, id);

	return status == ST_OK ? clear(store, SQL_RESET_END_OF, id) : status;
}

struct standing_now {
	enum role role;
	bool disabled;
};

static enum status read_standing(struct store *store, struct member_id id, struct standing_now *out)
{
	struct query q = start(store, SQL_STANDING, NULL);

	bind_int(&q, id.v);
	if (query_found(&q)) {
		out->role = (enum role)read_int(&q);
		out->disabled = read_int(&q) != 0;
	}
	return query_end(&q);
}

static enum status set_role(struct store *store, struct member_id id, enum role role)
{
	struct standing_now was = {ROLE_BUILDER, false};
	char remark[64];
	enum status status = read_standing(store, id, &was);

	if (status == ST_OK)
		status = change(store, SQL_SET_ROLE, id.v, role);
	if (status == ST_OK && role != ROLE_ADMIN)
		status = end_offers(store, id);
	if (status != ST_OK || was.role == role)
		return status;
	snprintf(remark, sizeof remark, "from %s to %s", role_words(was.role), role_words(role));
	return acts_add(store, &(struct act_line){DID_ROLE, .whom = id, .remark = remark});
}

static enum status set_disabled(struct store *store, struct member_id id, bool disabled)
{
	struct standing_now was = {ROLE_BUILDER, false};
	enum status status = read_standing(store, id, &was);

	if (status == ST_OK)
		status = change(store, SQL_SET_DISABLED, id.v, disabled);
	if (status == ST_OK && disabled)
		status = end_offers(store, id);
	if (status == ST_OK && disabled)
		status = clear(store, SQL_RESET_CLEAR, id);
	if (status == ST_OK && disabled)
		status = session_end_others(store, id, (struct session_id){0});
	if (status != ST_OK || was.disabled == disabled)
		return status;
	return acts_add(store,
	                &(struct act_line){disabled ? DID_SHUT_OUT : DID_LET_IN, .whom = id});
}

static enum status remove_member(struct store *store, struct member_id id, int64_t now)
{
	bool own = store->doer == id.v;
	struct standing_now was = {ROLE_BUILDER, false};
	enum status status = read_standing(store, id, &was);

	if (status == ST_OK)
		status = end_offers(store, id);
	if (status == ST_OK)
		status = notes_forget_author(store, id, now);
	if (status == ST_OK)
		status = clear(store, SQL_REMOVE, id);
	if (status != ST_OK)
		return status;
	return acts_add(store, &(struct act_line){own ? DID_LEAVE : DID_REMOVE,
	                                          .whom = own ? (struct member_id){0} : id,
	                                          .remark = role_words(was.role)});
}

/* What changes a member begins here, counting the admins, and ends with
 * end_change: the last one stays. */
static enum status begin_change(struct store *store, int64_t *admins)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = count_rows(store, SQL_ADMINS, admins);
	return status == ST_OK ? ST_OK : act_end(store, status);
}

static enum status end_change(struct store *store, int64_t admins, enum status status)
{
	if (status == ST_OK)
		status = check_admin_left(store, admins);
	return act_end(store, status);
}

enum status member_set_role(struct store *store, struct member_id id, enum role role)
{
	int64_t admins = 0;
	enum status status = begin_change(store, &admins);

	return status == ST_OK ? end_change(store, admins, set_role(store, id, role)) : status;
}

enum status member_set_disabled(struct store *store, struct member_id id, bool disabled)
{
	int64_t admins = 0;
	enum status status = begin_change(store, &admins);

	return status == ST_OK ? end_change(store, admins, set_disabled(store, id, disabled))
	                       : status;
}

enum status member_remove(struct store *store, struct member_id id, int64_t now)
{
	int64_t admins = 0;
	enum status status = begin_change(store, &admins);

	return status == ST_OK ? end_change(store, admins, remove_member(store, id, now)) : status;
}

enum status member_list(struct store *store, struct arena *arena, struct page page,
                        const struct member **out, size_t *count, int64_t *total)
{
	struct query q = start(store, SQL_LIST, arena);
	struct query all = start(store, SQL_TOTAL, NULL);
	struct rows rows = {0};
	enum status status;

	bind_page(&q, page);
	status = query_page(&q, &all, read_member, sizeof(struct member), &rows, total);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

enum status member_count(struct store *store, int64_t *out)
{
	return count_rows(store, SQL_TOTAL, out);
}

/* Invites ------------------------------------------------------------------- */

static enum status add_invite(struct store *store, const struct invite_entry *entry,
                              bool first_admin, int64_t now, struct invite_id *out)
{
	struct query q = start(store, SQL_INVITE_ADD, NULL);

	bind_hash(&q, &entry->token);
	bind_int(&q, entry->role);
	bind_text(&q, entry->label);
	bind_id_or_null(&q, entry->made_by.v);
	bind_int(&q, entry->expires_at);
	bind_int(&q, now);
	bind_int(&q, first_admin);
	return query_insert(&q, &out->v);
}

static enum status note_invite(struct store *store, enum act_kind kind, enum role role,
                               const char *label)
{
	return acts_add(store,
	                &(struct act_line){kind, .subject = label, .remark = role_words(role)});
}

enum status invite_add(struct store *store, const struct invite_entry *entry, int64_t now,
                       struct invite_id *out)
{
	struct invite_id id = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = bound_room(store, BOUND_INVITES_A_DAY, entry->made_by.v, 1, now);
	if (status == ST_OK)
		status = add_invite(store, entry, false, now, &id);
	if (status == ST_OK)
		status = note_invite(store, DID_INVITE, entry->role, entry->label);
	status = act_end(store, status);
	if (status == ST_OK)
		*out = id;
	return status;
}

static enum status replace_first_invite(struct store *store, const struct invite_entry *entry,
                                        int64_t now)
{
	struct query q = start(store, SQL_INVITE_CLEAR_FIRST, NULL);
	struct invite_id id;
	int64_t members = 0;
	enum status status = query_run(&q);

	if (status == ST_OK)
		status = member_count(store, &members);
	if (status == ST_OK && members > 0)
		status = ST_CONFLICT;
	return status == ST_OK ? add_invite(store, entry, true, now, &id) : status;
}

enum status invite_first_admin(struct store *store, const struct hash *token, int64_t now,
                               int64_t expires_at)
{
	struct invite_entry entry = {
	        .token = *token, .role = ROLE_ADMIN, .label = "", .expires_at = expires_at};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, replace_first_invite(store, &entry, now));
}

static void read_invite(struct query *q, void *row)
{
	struct invite *invite = row;

	invite->id.v = read_int(q);
	invite->role = (enum role)read_int(q);
	invite->label = read_text(q);
	invite->made_by = read_text(q);
	invite->used_by = read_text(q);
	invite->made_at = read_int(q);
	invite->expires_at = read_int(q);
	invite->used_at = read_int(q);
	invite->revoked = read_int(q) != 0;
}

enum status invite_find(struct store *store, struct arena *arena, const struct hash *token,
                        int64_t now, struct invite *out)
{
	struct query q = start(store, SQL_INVITE_FIND, arena);
	struct invite invite = {.id = {0}};

	bind_hash(&q, token);
	bind_int(&q, now);
	if (query_found(&q))
		read_invite(&q, &invite);
	if (q.status == ST_OK)
		*out = invite;
	return query_end(&q);
}

static enum status revoke(struct store *store, struct arena *arena, struct invite_id id)
{
	struct query q = start(store, SQL_INVITE_REVOKE, NULL);
	struct query of = start(store, SQL_INVITE_OF, arena);
	enum role role = ROLE_BUILDER;
	const char *label = "";
	enum status status;

	bind_int(&q, id.v);
	status = query_run_one(&q);
	if (status == ST_OK) {
		bind_int(&of, id.v);
		if (query_found(&of)) {
			role = (enum role)read_int(&of);
			label = read_text(&of);
		}
		status = query_end(&of);
	}
	return status == ST_OK ? note_invite(store, DID_INVITE_BACK, role, label) : status;
}

enum status invite_revoke(struct store *store, struct invite_id id)
{
	struct arena *arena = arena_new();
	enum status status = arena ? act_begin(store) : ST_NOMEM;

	if (status == ST_OK)
		status = act_end(store, revoke(store, arena, id));
	arena_free(arena);
	return status;
}

enum status invite_list(struct store *store, struct arena *arena, struct page page,
                        const struct invite **out, size_t *count, int64_t *total)
{
	struct query q = start(store, SQL_INVITE_LIST, arena);
	struct query all = start(store, SQL_INVITE_TOTAL, NULL);
	struct rows rows = {0};
	enum status status;

	bind_page(&q, page);
	status = query_page(&q, &all, read_invite, sizeof(struct invite), &rows, total);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

/* Only id and role are read, which need no arena. */
static enum status usable_invite(struct store *store, const struct hash *token, int64_t now,
                                 struct invite *out)
{
	struct query q = start(store, SQL_INVITE_FIND, NULL);

	bind_hash(&q, token);
	bind_int(&q, now);
	if (query_found(&q)) {
		out->id.v = read_int(&q);
		out->role = (enum role)read_int(&q);
	}
	return query_end(&q);
}

static enum status use_invite(struct store *store, struct invite_id id, int64_t now,
                              struct member_id by)
{
	struct query q = start(store, SQL_INVITE_USE, NULL);

	bind_int(&q, id.v);
	bind_int(&q, now);
	bind_int(&q, by.v);
	return query_run_one(&q);
}

enum status member_register(struct store *store, const struct hash *invite,
                            const struct member_entry *entry, int64_t now, struct member_id *out)
{
	struct invite found = {.id = {0}};
	struct member_id id = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = usable_invite(store, invite, now, &found);
	if (status == ST_OK)
		status = add(store, entry, found.role, now, &id);
	if (status == ST_OK)
		status = use_invite(store, found.id, now, id);
	if (status == ST_OK)
		status = acts_add(store,
		                  &(struct act_line){DID_JOIN, .remark = role_words(found.role),
		                                     .by = id, .now = now});
	status = act_end(store, status);
	if (status == ST_OK)
		*out = id;
	return status;
}

/* Reset links --------------------------------------------------------------- */

static enum status offer(struct store *store, struct member_id member, const struct hash *token,
                         int64_t expires_at)
{
	struct query q = start(store, SQL_RESET_OFFER, NULL);

	bind_int(&q, member.v);
	bind_hash(&q, token);
	bind_int(&q, expires_at);
	bind_id_or_null(&q, store->doer);
	return query_run_one(&q);
}

enum status reset_offer(struct store *store, struct member_id member, const struct hash *token,
                        int64_t expires_at)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = offer(store, member, token, expires_at);
	if (status == ST_OK)
		status = acts_add(store, &(struct act_line){DID_RESET_LINK, .whom = member});
	return act_end(store, status);
}

enum status reset_find(struct store *store, struct arena *arena, const struct hash *token,
                       int64_t now, struct member *out)
{
	struct query q = start(store, SQL_RESET_FIND, arena);

	bind_hash(&q, token);
	bind_int(&q, now);
	return one_member(&q, out);
}

/* Only the id, which needs no arena. */
static enum status reset_owner(struct store *store, const struct hash *token, int64_t now,
                               struct member_id *out)
{
	struct query q = start(store, SQL_RESET_FIND, NULL);

	bind_hash(&q, token);
	bind_int(&q, now);
	if (query_found(&q))
		out->v = read_int(&q);
	return query_end(&q);
}

enum status reset_use(struct store *store, const struct hash *token, const char *password,
                      int64_t now, struct member_id *out)
{
	struct member_id id = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = reset_owner(store, token, now, &id);
	if (status == ST_OK)
		status = member_set_password(store, id, password);
	if (status == ST_OK)
		status = acts_add(store, &(struct act_line){DID_RESET, .by = id, .now = now});
	status = act_end(store, status);
	if (status == ST_OK)
		*out = id;
	return status;
}

/* Sessions ------------------------------------------------------------------ */

static enum status add_session(struct store *store, const struct session_entry *entry, int64_t now,
                               struct session_id *out)
{
	struct query q = start(store, SQL_SESSION_ADD, NULL);

	bind_int(&q, entry->member.v);
	bind_hash(&q, &entry->token);
	bind_bytes(&q, entry->secret, SECRET_SIZE);
	bind_text(&q, entry->label);
	bind_int(&q, entry->idle_until);
	bind_int(&q, entry->ends_at);
	bind_int(&q, now);
	return query_insert(&q, &out->v);
}

/* The oldest go. */
static enum status keep_sessions(struct store *store, struct member_id member,
                                 struct session_id added)
{
	struct query q = start(store, SQL_SESSION_KEEP, NULL);

	bind_int(&q, member.v);
	bind_int(&q, added.v);
	bind_int(&q, SESSIONS_MOST);
	return query_run(&q);
}

enum status session_add(struct store *store, const struct session_entry *entry, int64_t now,
                        struct session_id *out)
{
	struct session_id id = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = add_session(store, entry, now, &id);
	if (status == ST_OK)
		status = keep_sessions(store, entry->member, id);
	status = act_end(store, status);
	if (status == ST_OK)
		*out = id;
	return status;
}

static void read_session(struct query *q, void *row)
{
	struct session *session = row;

	session->id.v = read_int(q);
	read_fixed(q, session->secret, SECRET_SIZE);
	session->made_at = read_int(q);
	session->seen_at = read_int(q);
	session->idle_until = read_int(q);
	session->ends_at = read_int(q);
	session->label = read_text(q);
	read_member(q, &session->member);
	session->generation = read_int(q);
	session->unseen = read_int(q);
}

enum status session_find(struct store *store, struct arena *arena, const struct hash *token,
                         int64_t now, struct session *out)
{
	struct query q = start(store, SQL_SESSION_FIND, arena);
	struct session session = {.id = {0}};

	bind_hash(&q, token);
	bind_int(&q, now);
	if (query_found(&q))
		read_session(&q, &session);
	if (q.status == ST_OK)
		*out = session;
	return query_end(&q);
}

enum status session_touch(struct store *store, struct session_id id, int64_t now,
                          int64_t idle_until)
{
	struct query q = start(store, SQL_SESSION_TOUCH, NULL);

	bind_int(&q, id.v);
	bind_int(&q, now);
	bind_int(&q, idle_until);
	return query_run_one(&q);
}

enum status session_list(struct store *store, struct arena *arena, struct member_id member,
                         int64_t now, const struct session **out, size_t *count)
{
	struct query q = start(store, SQL_SESSION_LIST, arena);
	struct rows rows = {0};
	enum status status;

	bind_int(&q, member.v);
	bind_int(&q, now);
	status = query_rows(&q, read_session, sizeof(struct session), &rows);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

enum status session_end(struct store *store, struct member_id member, struct session_id id)
{
	return change(store, SQL_SESSION_END, member.v, id.v);
}

enum status session_end_others(struct store *store, struct member_id member, struct session_id keep)
{
	enum status status = change(store, SQL_SESSION_END_OTHERS, member.v, keep.v);

	return status == ST_MISSING ? ST_OK : status;
}

/* Tokens for programs ------------------------------------------------------- */

static enum status add_token(struct store *store, struct member_id member, const struct hash *token,
                             const char *label, int64_t now, int64_t ends_at,
                             struct api_token_id *out)
{
	struct query q = start(store, SQL_TOKEN_ADD, NULL);

	bind_int(&q, member.v);
	bind_hash(&q, token);
	bind_text(&q, label);
	bind_int(&q, now);
	bind_int(&q, ends_at);
	return query_insert(&q, &out->v);
}

enum status api_token_add(struct store *store, struct member_id member, const struct hash *token,
                          const char *label, int64_t now, int64_t ends_at, struct api_token_id *out)
{
	struct api_token_id id = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = bound_room(store, BOUND_API_TOKENS_MOST, member.v, 1, now);
	if (status == ST_OK)
		status = add_token(store, member, token, label, now, ends_at, &id);
	status = act_end(store, status);
	if (status == ST_OK)
		*out = id;
	return status;
}

static void read_token(struct query *q, void *row)
{
	struct api_token *token = row;

	token->id.v = read_int(q);
	token->label = read_text(q);
	token->made_at = read_int(q);
	token->ends_at = read_int(q);
}

enum status api_token_list(struct store *store, struct arena *arena, struct member_id member,
                           const struct api_token **out, size_t *count)
{
	struct query q = start(store, SQL_TOKEN_LIST, arena);
	struct rows rows = {0};
	enum status status;

	bind_int(&q, member.v);
	status = query_rows(&q, read_token, sizeof(struct api_token), &rows);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

enum status api_token_revoke(struct store *store, struct member_id member, struct api_token_id id)
{
	return change(store, SQL_TOKEN_REVOKE, member.v, id.v);
}

enum status api_token_find(struct store *store, struct arena *arena, const struct hash *token,
                           int64_t now, struct member *out)
{
	struct query q = start(store, SQL_TOKEN_FIND, arena);

	bind_hash(&q, token);
	bind_int(&q, now);
	return one_member(&q, out);
}

/* Failed sign-ins ----------------------------------------------------------- */

enum status sign_in_failed(struct store *store, const char *who, int64_t now)
{
	struct query q = start(store, SQL_FAILED_ADD, NULL);

	bind_key_of(&q, who);
	bind_int(&q, now);
	return query_run(&q);
}

enum status sign_in_failures(struct store *store, const char *who, int64_t since, int64_t now,
                             int64_t *count)
{
	struct query q = start(store, SQL_FAILED_COUNT, NULL);

	bind_key_of(&q, who);
	bind_int(&q, since);
	bind_int(&q, now);
	return query_int(&q, count);
}

enum status sign_in_forget(struct store *store, const char *who)
{
	struct query q = start(store, SQL_FAILED_FORGET, NULL);

	bind_key_of(&q, who);
	return query_run(&q);
}

static enum status sweep(struct store *store, size_t which, int64_t now)
{
	struct query q = start(store, which, NULL);

	bind_int(&q, now);
	return query_run(&q);
}

enum status members_sweep(struct store *store, int64_t now)
{
	static const size_t all[] = {SQL_SWEEP_SESSIONS, SQL_SWEEP_FAILED, SQL_SWEEP_TOKENS};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	for (size_t i = 0; status == ST_OK && i < sizeof all / sizeof all[0]; i++)
		status = sweep(store, all[i], now);
	if (status == ST_OK)
		status = addresses_sweep(store, now);
	return act_end(store, status);
}
