#include "store/records.h"

#include <string.h>

#include "store/sql.h"
#include "store/bounds.h"

#define RECORD_COLUMNS                                                                             \
	"id, corrects, withdraws, notice, revision, part, position, done, method, by, signed_as,"  \
	" hours, landings, remarks, entered_by, entered_at"

enum {
	SQL_HEAD,
	SQL_NEXT_ID,
	SQL_HAS,
	SQL_ADD,
	SQL_SET_HEAD,
	SQL_LIST,
	SQL_HEADS,
	SQL_CHAINS,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_HEAD] = "SELECT records, head FROM kits WHERE id = ?1",
        /* Known before the row is there, because the hash covers it; never used again. */
        [SQL_NEXT_ID] =
                "SELECT 1 + coalesce((SELECT seq FROM sqlite_sequence WHERE name = 'records'), 0)",
        [SQL_HAS] = "SELECT 1 FROM records WHERE kit_id = ?1 AND id = ?2",
        [SQL_ADD] = "INSERT INTO records (kit_id, place, hash, " RECORD_COLUMNS ") VALUES"
                    " (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17,"
                    " ?18, ?19)",
        [SQL_SET_HEAD] =
                "UPDATE kits SET records = ?2, head = ?3, version = version + 1 WHERE id = ?1",
        [SQL_LIST] = "SELECT " RECORD_COLUMNS " FROM records WHERE kit_id = ?1 ORDER BY place",
        [SQL_HEADS] = "SELECT id, records, head FROM kits WHERE id BETWEEN ?1 AND ?2 ORDER BY id",
        [SQL_CHAINS] = "SELECT kit_id, place, hash, " RECORD_COLUMNS
                       " FROM records WHERE kit_id BETWEEN ?1 AND ?2 ORDER BY kit_id, place",
};

const struct sql_set record_sql = {SET_RECORDS, SQL_COUNT, texts};

/* The end of one kit's chain. */
struct head {
	int64_t records;
	struct hash hash;
};

static struct query start_of(struct store *store, size_t which, struct arena *arena,
                             struct kit_id kit)
{
	struct query q = query_start(store, &record_sql, which, arena);

	bind_int(&q, kit.v);
	return q;
}

/* Appending ----------------------------------------------------------------- */

static enum status read_head(struct store *store, struct kit_id kit, struct head *out)
{
	struct query q = start_of(store, SQL_HEAD, NULL, kit);

	if (query_found(&q)) {
		out->records = read_int(&q);
		read_fixed(&q, out->hash.v, HASH_SIZE);
	}
	return query_end(&q);
}

static enum status next_id(struct store *store, struct record_id *out)
{
	struct query q = query_start(store, &record_sql, SQL_NEXT_ID, NULL);

	return query_int(&q, &out->v);
}

static enum status check_corrects(struct store *store, struct kit_id kit, struct record_id id)
{
	struct query q = start_of(store, SQL_HAS, NULL, kit);
	int64_t there;

	bind_int(&q, id.v);
	return query_int(&q, &there);
}

static enum status chain_hash(const struct hash *before, const struct record *record,
                              struct text *scratch, struct hash *out)
{
	text_clear(scratch);
	record_canonical(record, scratch);
	if (text_failed(scratch))
		return ST_NOMEM;
	*out = hash_of_two(before->v, HASH_SIZE, text_string(scratch), scratch->len);
	return ST_OK;
}

static enum status add(struct store *store, struct kit_id kit, const struct record *record,
                       const struct head *head)
{
	struct query q = start_of(store, SQL_ADD, NULL, kit);

	bind_int(&q, head->records);
	bind_hash(&q, &head->hash);
	bind_int(&q, record->id.v);
	bind_id_or_null(&q, record->corrects.v);
	bind_int(&q, record->withdraws);
	bind_label(&q, &record->notice);
	bind_label(&q, &record->revision);
	bind_label(&q, &record->part);
	bind_label(&q, &record->position);
	bind_date(&q, record->done);
	bind_text(&q, record->method);
	bind_text(&q, record->by);
	bind_text(&q, record->signed_as);
	bind_int_if(&q, record->has_hours, record->hours);
	bind_int_if(&q, record->has_landings, record->landings);
	bind_text(&q, record->remarks);
	bind_text(&q, record->entered_by);
	bind_int(&q, record->entered_at);
	return query_run(&q);
}

static enum status set_head(struct store *store, struct kit_id kit, const struct head *head)
{
	struct query q = start_of(store, SQL_SET_HEAD, NULL, kit);

	bind_int(&q, head->records);
	bind_hash(&q, &head->hash);
	return query_run_one(&q);
}

static enum status append(struct store *store, struct kit_id kit, struct record *record)
{
	struct head head = {0};
	struct text scratch = TEXT_EMPTY;
	enum status status = read_head(store, kit, &head);

	if (status == ST_OK && record->corrects.v)
		status = check_corrects(store, kit, record->corrects);
	if (status == ST_OK && !record->withdraws) /* each goes once */
		status = bound_fits(store, BOUND_RECORDS_MOST, head.records + 1);
	if (status == ST_OK)
		status = next_id(store, &record->id);
	if (status == ST_OK)
		status = chain_hash(&head.hash, record, &scratch, &head.hash);
	head.records++;
	if (status == ST_OK)
		status = add(store, kit, record, &head);
	if (status == ST_OK)
		status = set_head(store, kit, &head);
	text_free(&scratch);
	return status;
}

enum status record_append(struct store *store, struct kit_id kit, const struct record *record,
                          struct record_id *out)
{
	struct record entered = *record;
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = act_end(store, append(store, kit, &entered));
	if (status == ST_OK)
		*out = entered.id;
	return status;
}

/* Reading ------------------------------------------------------------------- */

static void read_record(struct query *q, void *row)
{
	struct record *record = row;

	record->id.v = read_int(q);
	record->corrects.v = read_int(q);
	record->withdraws = read_int(q) != 0;
	record->notice = read_name(q);
	record->revision = read_name(q);
	record->part = read_name(q);
	record->position = read_name(q);
	record->done = read_date(q);
	record->method = read_text(q);
	record->by = read_text(q);
	record->signed_as = read_text(q);
	record->has_hours = read_int_if(q, &record->hours);
	record->has_landings = read_int_if(q, &record->landings);
	record->remarks = read_text(q);
	record->entered_by = read_text(q);
	record->entered_at = read_int(q);
}

enum status record_list(struct store *store, struct arena *arena, struct kit_id kit,
                        const struct record **out, size_t *count)
{
	struct query q = start_of(store, SQL_LIST, arena, kit);
	struct rows rows = {0};
	enum status status = query_rows(&q, read_record, sizeof(struct record), &rows);

	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

/* Verifying ----------------------------------------------------------------- */

struct verifier {
	struct query kits;
	struct query records;
	struct arena *arena; /* one record at a time */
	struct text scratch;
	int64_t checked;
	struct chain_fault fault;
	bool broken;
};

static void found_broken(struct verifier *v, enum chain_fault_kind kind, struct kit_id kit,
                         struct record_id record, int64_t place)
{
	v->fault = (struct chain_fault){kind, kit, record, place};
	v->broken = true;
}

/* Does the record at hand follow the chain so far? Moves head on to it. */
static void check_record(struct verifier *v, struct kit_id kit, struct head *head)
{
	struct record record = {.id = {0}};
	struct hash stored;
	struct hash wanted = {{0}};
	int64_t place = read_int(&v->records);

	read_fixed(&v->records, stored.v, HASH_SIZE);
	read_record(&v->records, &record);
	if (v->records.status == ST_OK)
		v->records.status = chain_hash(&head->hash, &record, &v->scratch, &wanted);
	if (v->records.status != ST_OK)
		return;
	head->records++;
	if (place != head->records)
		found_broken(v, CHAIN_MISSING, kit, record.id, head->records);
	else if (memcmp(stored.v, wanted.v, HASH_SIZE) != 0)
		found_broken(v, CHAIN_CHANGED, kit, record.id, place);
	else
		v->checked++;
	head->hash = stored;
	arena_reset(v->arena);
}

static void check_chain(struct verifier *v)
{
	struct kit_id kit = {read_int(&v->kits)};
	struct head kept = {.records = read_int(&v->kits)};
	struct head head = {0};

	read_fixed(&v->kits, kept.hash.v, HASH_SIZE);
	while (!v->broken && query_of(&v->records, kit.v)) {
		check_record(v, kit, &head);
		query_pass(&v->records);
	}
	if (v->broken || v->records.status != ST_OK)
		return;
	if (head.records != kept.records || memcmp(head.hash.v, kept.hash.v, HASH_SIZE) != 0)
		found_broken(v, CHAIN_CUT, kit, (struct record_id){0}, head.records + 1);
}

static enum status verify(struct store *store, struct verifier *v, struct kit_id kit)
{
	int64_t first = kit.v ? kit.v : 1;
	int64_t last = kit.v ? kit.v : INT64_MAX;
	bool any = false;
	enum status status;

	v->kits = start_of(store, SQL_HEADS, NULL, (struct kit_id){first});
	v->records = start_of(store, SQL_CHAINS, v->arena, (struct kit_id){first});
	bind_int(&v->kits, last);
	bind_int(&v->records, last);
	while (!v->broken && v->records.status == ST_OK && query_row(&v->kits)) {
		any = true;
		check_chain(v);
	}
	status = query_end(&v->kits);
	if (query_end(&v->records) != ST_OK && status == ST_OK)
		status = v->records.status;
	if (status == ST_OK && v->broken)
		status = ST_INVALID;
	return status == ST_OK && kit.v && !any ? ST_MISSING : status;
}

enum status record_verify(struct store *store, struct kit_id kit, int64_t *checked,
                          struct chain_fault *fault)
{
	struct verifier v = {.arena = arena_new(), .scratch = TEXT_EMPTY};
	enum status status = v.arena ? act_begin_reading(store) : ST_NOMEM;

	if (status == ST_OK) {
		status = verify(store, &v, kit);
		if (act_end(store, ST_OK) != ST_OK && status == ST_OK)
			status = ST_IO;
	}
	if (status == ST_OK || status == ST_INVALID)
		*checked = v.checked;
	if (status == ST_INVALID)
		*fault = v.fault;
	text_free(&v.scratch);
	arena_free(v.arena);
	return status;
}
