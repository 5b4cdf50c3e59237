/* outbox.c - mails from written to ended; see mail.h. */
#include "store/mail.h"

#include "store/acts.h"
#include "store/news.h"
#include "store/sql.h"

/* Seconds until the second try; each further wait is three times as long, to a most. */
#define WAIT_FIRST 600
#define WAIT_MOST 86400
#define SHOWN_SECONDS (30 * 86400)

enum {
	SQL_ADD,
	SQL_NOTE_WEEKLY,
	SQL_LATELY,
	SQL_NEXT,
	SQL_TAKE,
	SQL_TAKE_QUESTION,
	SQL_END,
	SQL_LATER,
	SQL_TRIES,
	SQL_UNWANTED,
	SQL_RECOVER,
	SQL_SWEEP,
	SQL_AGAIN,
	SQL_COUNTS,
	SQL_LIST,
	SQL_TOTAL,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_ADD] = "INSERT INTO outbox (member_id, address, kind, subject, body, made_at, state,"
                    " next_at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, 0, ?6)",
        [SQL_NOTE_WEEKLY] = "UPDATE mail_addresses SET digest_at = ?2 WHERE member_id = ?1",
        [SQL_LATELY] = "SELECT count(*) FROM outbox WHERE ended_at > ?1 - 3600"
                       " AND ended_at <= ?1 AND state IN (2, 4)",
        [SQL_NEXT] = "SELECT o.id, o.member_id, o.address, o.kind, o.subject, o.body, o.made_at,"
                     " o.tries FROM outbox o JOIN members m ON m.id = o.member_id"
                     " WHERE o.state = 0 AND NOT m.disabled"
                     " AND (o.next_at <= ?1 OR o.next_at > ?1 + " TEXT_OF(
                             WAIT_MOST) ")"
                                        " ORDER BY o.kind, o.next_at, o.id LIMIT 1",
        [SQL_TAKE] = "UPDATE outbox SET state = 1, tries = tries + 1, stop_token = ?2"
                     " WHERE id = ?1",
        [SQL_TAKE_QUESTION] = "UPDATE mail_addresses SET confirm_token = ?2, confirm_until = ?3"
                              " WHERE member_id = ?1 AND address = ?4 AND confirmed_at = 0",
        [SQL_END] = "UPDATE outbox SET state = ?2, fault = ?3, ended_at = ?4,"
                    " body = CASE WHEN ?2 = 3 THEN body ELSE '' END"
                    " WHERE id = ?1 AND state = 1",
        [SQL_LATER] = "UPDATE outbox SET state = 0, fault = ?2, next_at = ?3"
                      " WHERE id = ?1 AND state = 1",
        [SQL_TRIES] = "SELECT tries FROM outbox WHERE id = ?1 AND state = 1",
        [SQL_UNWANTED] = "DELETE FROM outbox WHERE id = ?1 AND state = 1 AND NOT EXISTS"
                         " (SELECT 1 FROM mail_addresses a WHERE a.member_id = outbox.member_id"
                         " AND a.address = outbox.address AND CASE outbox.kind"
                         " WHEN 0 THEN a.confirmed_at = 0 ELSE a.at_once OR a.weekly END)",
        [SQL_RECOVER] = "UPDATE outbox SET state = 4, body = '', ended_at = ?1,"
                        " fault = 'Fairlead ended while it was being sent' WHERE state = 1",
        [SQL_SWEEP] = "DELETE FROM outbox WHERE ended_at BETWEEN 1 AND ?1",
        [SQL_AGAIN] = "UPDATE outbox SET state = 0, tries = 0, next_at = ?2, ended_at = 0"
                      " WHERE id = ?1 AND state = 3 RETURNING member_id",
        [SQL_COUNTS] = "SELECT count(*) FILTER (WHERE state < 2),"
                       " count(*) FILTER (WHERE state = 4), count(*) FILTER (WHERE state = 3),"
                       " count(*) FILTER (WHERE state = 2)"
                       " FROM outbox WHERE ended_at = 0 OR ended_at > ?1",
        [SQL_LIST] = "SELECT o.id, o.member_id, m.login, o.address, o.kind, o.state, o.subject,"
                     " o.made_at, o.next_at, o.ended_at, o.tries, o.fault"
                     " FROM outbox o JOIN members m ON m.id = o.member_id"
                     " WHERE o.state IN (0, 3, 4) ORDER BY o.id DESC LIMIT ?1 OFFSET ?2",
        [SQL_TOTAL] = "SELECT count(*) FROM outbox WHERE state IN (0, 3, 4)",
};

const struct sql_set outbox_sql = {SET_OUTBOX, SQL_COUNT, texts};

static struct query start(struct store *store, size_t which, struct arena *arena)
{
	return query_start(store, &outbox_sql, which, arena);
}

/* ---- written ---- */

static enum status note_weekly(struct store *store, struct member_id member, int64_t now)
{
	struct query q = start(store, SQL_NOTE_WEEKLY, NULL);

	bind_int(&q, member.v);
	bind_int(&q, now);
	return query_run(&q);
}

static enum status add(struct store *store, const struct outbox_entry *entry, int64_t now)
{
	struct query q = start(store, SQL_ADD, NULL);

	bind_int(&q, entry->member.v);
	bind_text(&q, entry->address);
	bind_int(&q, entry->kind);
	bind_text(&q, entry->words.subject);
	bind_text(&q, entry->words.body);
	bind_int(&q, now);
	return query_run(&q);
}

enum status outbox_add(struct store *store, const struct outbox_entry *entry, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = news_set_mailed(store, entry->member, entry->kind == MAIL_AT_ONCE, entry->upto);
	if (status == ST_OK && entry->kind == MAIL_WEEKLY)
		status = note_weekly(store, entry->member, now);
	if (status == ST_OK)
		status = add(store, entry, now);
	return act_end(store, status);
}

/* ---- taken in hand ---- */

static enum status check_hour(struct store *store, int64_t now)
{
	struct query q = start(store, SQL_LATELY, NULL);
	int64_t count = 0;
	enum status status;

	bind_int(&q, now);
	status = query_int(&q, &count);
	return status == ST_OK && count >= OUTBOX_AN_HOUR ? ST_LIMIT : status;
}

static enum status find_next(struct store *store, struct arena *arena, int64_t now,
                             struct outbox_mail *out)
{
	struct query q = start(store, SQL_NEXT, arena);

	bind_int(&q, now);
	if (query_found(&q)) {
		out->id.v = read_int(&q);
		out->member.v = read_int(&q);
		out->address = read_text(&q);
		out->kind = (enum mail_kind)read_int(&q);
		out->subject = read_text(&q);
		out->body = read_text(&q);
		out->made_at = read_int(&q);
		out->tries = read_int(&q) + 1;
	}
	return query_end(&q);
}

/* Who reads that address may confirm it, and no other that its member has named since. */
static enum status keep_confirm(struct store *store, const struct outbox_mail *mail,
                                const struct hash *token, int64_t now)
{
	struct query q = start(store, SQL_TAKE_QUESTION, NULL);

	bind_int(&q, mail->member.v);
	bind_hash(&q, token);
	bind_int(&q, now + MAIL_CONFIRM_SECONDS);
	bind_text(&q, mail->address);
	return query_run(&q);
}

static enum status take(struct store *store, struct arena *arena, const struct hash *token,
                        int64_t now, struct outbox_mail *mail)
{
	struct query q;
	enum status status = check_hour(store, now);

	if (status == ST_OK)
		status = find_next(store, arena, now, mail);
	if (status != ST_OK)
		return status;
	if (mail->kind == MAIL_QUESTION)
		status = keep_confirm(store, mail, token, now);
	if (status != ST_OK)
		return status;
	q = start(store, SQL_TAKE, NULL);
	bind_int(&q, mail->id.v);
	if (mail->kind == MAIL_QUESTION)
		bind_null(&q);
	else
		bind_hash(&q, token);
	return query_run_one(&q);
}

enum status outbox_take(struct store *store, struct arena *arena, const struct hash *token,
                        int64_t now, struct outbox_mail *out)
{
	struct outbox_mail mail = {.state = MAIL_IN_HAND, .login = "", .fault = ""};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = act_end(store, take(store, arena, token, now, &mail));
	if (status == ST_OK)
		*out = mail;
	return status;
}

/* ---- ended ---- */

static enum status end(struct store *store, struct outbox_id id, enum mail_state state,
                       const char *fault, int64_t now)
{
	struct query q = start(store, SQL_END, NULL);

	bind_int(&q, id.v);
	bind_int(&q, state);
	bind_text(&q, fault);
	bind_int(&q, now);
	return query_run_one(&q);
}

static int64_t wait_after(int64_t tries)
{
	int64_t wait = WAIT_FIRST;

	while (--tries > 0 && wait < WAIT_MOST)
		wait *= 3;
	return wait < WAIT_MOST ? wait : WAIT_MOST;
}

static enum status put_back(struct store *store, struct outbox_id id, const char *fault,
                            int64_t now)
{
	struct query q = start(store, SQL_TRIES, NULL);
	int64_t tries = 0;
	enum status status;

	bind_int(&q, id.v);
	status = query_int(&q, &tries);
	if (status != ST_OK)
		return status;
	if (tries >= OUTBOX_TRIES_MOST)
		return end(store, id, MAIL_GIVEN_UP, fault, now);
	q = start(store, SQL_LATER, NULL);
	bind_int(&q, id.v);
	bind_text(&q, fault);
	bind_int(&q, now + wait_after(tries));
	return query_run_one(&q);
}

/* Stopped, or another address was named, while it was in hand: as those that
 * waited then, it is dropped. ST_MISSING: it is wanted. */
static enum status drop_unwanted(struct store *store, struct outbox_id id)
{
	struct query q = start(store, SQL_UNWANTED, NULL);

	bind_int(&q, id.v);
	return query_run_one(&q);
}

static enum status end_unsent(struct store *store, struct outbox_id id, enum mail_state state,
                              const char *fault, int64_t now)
{
	enum status status = drop_unwanted(store, id);

	if (status != ST_MISSING)
		return status;
	if (state == MAIL_WAITING)
		return put_back(store, id, fault, now);
	return end(store, id, state, fault, now);
}

enum status outbox_end(struct store *store, struct outbox_id id, enum mail_state state,
                       const char *fault, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	if (state == MAIL_WAITING || state == MAIL_GIVEN_UP)
		return act_end(store, end_unsent(store, id, state, fault, now));
	return act_end(store, end(store, id, state, fault, now));
}

static enum status run_at(struct store *store, size_t which, int64_t time)
{
	struct query q = start(store, which, NULL);

	bind_int(&q, time);
	return query_run(&q);
}

enum status outbox_recover(struct store *store, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = run_at(store, SQL_RECOVER, now);
	if (status == ST_OK)
		status = run_at(store, SQL_SWEEP, now - OUTBOX_KEPT);
	return act_end(store, status);
}

/* ---- looked at ---- */

static enum status try_again(struct store *store, struct outbox_id id, int64_t now,
                             struct member_id *member)
{
	struct query q = start(store, SQL_AGAIN, NULL);

	bind_int(&q, id.v);
	bind_int(&q, now);
	return query_int(&q, &member->v);
}

enum status outbox_again(struct store *store, struct outbox_id id, int64_t now)
{
	struct member_id member = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = try_again(store, id, now, &member);
	if (status == ST_OK)
		status = acts_add(store, &(struct act_line){DID_MAIL_AGAIN, .whom = member});
	return act_end(store, status);
}

enum status outbox_count(struct store *store, int64_t now, struct outbox_counts *out)
{
	struct query q = start(store, SQL_COUNTS, NULL);
	struct outbox_counts counts = {0};

	bind_int(&q, now - SHOWN_SECONDS);
	if (query_found(&q)) {
		counts.waiting = read_int(&q);
		counts.unsure = read_int(&q);
		counts.given_up = read_int(&q);
		counts.sent = read_int(&q);
	}
	if (q.status == ST_OK)
		*out = counts;
	return query_end(&q);
}

static void read_mail(struct query *q, void *row)
{
	struct outbox_mail *mail = row;

	mail->id.v = read_int(q);
	mail->member.v = read_int(q);
	mail->login = read_text(q);
	mail->address = read_text(q);
	mail->kind = (enum mail_kind)read_int(q);
	mail->state = (enum mail_state)read_int(q);
	mail->subject = read_text(q);
	mail->body = "";
	mail->made_at = read_int(q);
	mail->next_at = read_int(q);
	mail->ended_at = read_int(q);
	mail->tries = read_int(q);
	mail->fault = read_text(q);
}

enum status outbox_list(struct store *store, struct arena *arena, struct page page,
                        const struct outbox_mail **out, size_t *count, int64_t *total)
{
	struct query all = start(store, SQL_TOTAL, NULL);
	struct query q = start(store, SQL_LIST, arena);
	struct rows rows = {0};
	enum status status;

	bind_page(&q, page);
	status = query_page(&q, &all, read_mail, sizeof(struct outbox_mail), &rows, total);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}
