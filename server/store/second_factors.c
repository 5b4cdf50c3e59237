#include "store/second_factors.h"

#include "store/acts.h"
#include "store/sql.h"

enum {
	SQL_READ,
	SQL_BEGIN,
	SQL_CONFIRM,
	SQL_COUNTS,
	SQL_USE_STEP,
	SQL_CODES_END,
	SQL_CODE_ADD,
	SQL_CODE_USE,
	SQL_END,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_READ] = "SELECT secret, confirmed_at, last_step, (SELECT count(*) FROM"
                     " recovery_codes c WHERE c.member_id = f.member_id)"
                     " FROM second_factors f WHERE member_id = ?1",
        [SQL_BEGIN] = "INSERT INTO second_factors (member_id, secret, made_at)"
                      " VALUES (?1, ?2, ?3) ON CONFLICT (member_id) DO UPDATE"
                      " SET secret = excluded.secret, made_at = excluded.made_at"
                      " WHERE confirmed_at = 0",
        [SQL_CONFIRM] = "UPDATE second_factors SET last_step = ?2, confirmed_at = ?3"
                        " WHERE member_id = ?1 AND confirmed_at = 0",
        [SQL_COUNTS] = "SELECT confirmed_at FROM second_factors"
                       " WHERE member_id = ?1 AND confirmed_at > 0",
        [SQL_USE_STEP] = "UPDATE second_factors SET last_step = ?2"
                         " WHERE member_id = ?1 AND confirmed_at > 0 AND last_step < ?2",
        [SQL_CODES_END] = "DELETE FROM recovery_codes WHERE member_id = ?1",
        [SQL_CODE_ADD] = "INSERT INTO recovery_codes (member_id, code) VALUES (?1, ?2)",
        [SQL_CODE_USE] = "DELETE FROM recovery_codes WHERE member_id = ?1 AND code = ?2",
        [SQL_END] = "DELETE FROM second_factors WHERE member_id = ?1 RETURNING confirmed_at",
};

const struct sql_set second_factor_sql = {SET_SECOND_FACTORS, SQL_COUNT, texts};

static struct query start_of(struct store *store, size_t which, struct member_id member)
{
	struct query q = query_start(store, &second_factor_sql, which, NULL);

	bind_int(&q, member.v);
	return q;
}

enum status second_read(struct store *store, struct member_id member, struct second_factor *out)
{
	struct query q = start_of(store, SQL_READ, member);
	struct second_factor factor = {.confirmed_at = 0};

	if (query_found(&q)) {
		read_fixed(&q, factor.secret, SECOND_SECRET_SIZE);
		factor.confirmed_at = read_int(&q);
		factor.last_step = read_int(&q);
		factor.codes_left = read_int(&q);
	}
	if (q.status == ST_OK)
		*out = factor;
	return query_end(&q);
}

enum status second_begin(struct store *store, struct member_id member,
                         const unsigned char secret[SECOND_SECRET_SIZE], int64_t now)
{
	struct query q = start_of(store, SQL_BEGIN, member);
	enum status status;

	bind_bytes(&q, secret, SECOND_SECRET_SIZE);
	bind_int(&q, now);
	status = query_run_one(&q);
	return status == ST_MISSING ? ST_CONFLICT : status;
}

static enum status replace_codes(struct store *store, struct member_id member,
                                 const struct hash codes[RECOVERY_CODES])
{
	struct query q = start_of(store, SQL_CODES_END, member);
	enum status status = query_run(&q);

	for (size_t i = 0; status == ST_OK && i < RECOVERY_CODES; i++) {
		q = start_of(store, SQL_CODE_ADD, member);
		bind_hash(&q, &codes[i]);
		status = query_run(&q);
	}
	return status;
}

static enum status confirm(struct store *store, struct member_id member, int64_t step, int64_t now)
{
	struct query q = start_of(store, SQL_CONFIRM, member);

	bind_int(&q, step);
	bind_int(&q, now);
	return query_run_one(&q);
}

enum status second_confirm(struct store *store, struct member_id member, int64_t step,
                           const struct hash codes[RECOVERY_CODES], struct session_id keep,
                           int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = confirm(store, member, step, now);
	if (status == ST_OK)
		status = replace_codes(store, member, codes);
	if (status == ST_OK)
		status = session_end_others(store, member, keep);
	if (status == ST_OK)
		status = acts_add(store, &(struct act_line){DID_SECOND_ON, .whom = member});
	return act_end(store, status);
}

enum status second_use_step(struct store *store, struct member_id member, int64_t step)
{
	struct query q = start_of(store, SQL_USE_STEP, member);

	bind_int(&q, step);
	return query_run_one(&q);
}

enum status second_use_code(struct store *store, struct member_id member, const struct hash *code)
{
	struct query q = start_of(store, SQL_CODE_USE, member);

	bind_hash(&q, code);
	return query_run_one(&q);
}

enum status second_codes_anew(struct store *store, struct member_id member,
                              const struct hash codes[RECOVERY_CODES])
{
	int64_t confirmed_at = 0;
	struct query q;
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	q = start_of(store, SQL_COUNTS, member);
	status = query_int(&q, &confirmed_at);
	if (status == ST_OK)
		status = replace_codes(store, member, codes);
	return act_end(store, status);
}

static enum status end_and_note(struct store *store, struct member_id member)
{
	struct query q = start_of(store, SQL_END, member);
	int64_t confirmed_at = 0;
	enum status status = query_int(&q, &confirmed_at);

	if (status != ST_OK || confirmed_at == 0)
		return status;
	return acts_add(store, &(struct act_line){DID_SECOND_OFF, .whom = member});
}

enum status second_end(struct store *store, struct member_id member)
{
	enum status status = act_begin(store);

	return status == ST_OK ? act_end(store, end_and_note(store, member)) : status;
}
