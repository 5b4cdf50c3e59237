#include "store/sql.h"

#include <assert.h>
#include <limits.h>
#include <string.h>

static enum status status_of(int code)
{
	switch (code & 0xFF) {
	case SQLITE_OK:
	case SQLITE_ROW:
	case SQLITE_DONE:
		return ST_OK;
	case SQLITE_CONSTRAINT:
		return ST_CONFLICT;
	case SQLITE_BUSY:
	case SQLITE_LOCKED:
		return ST_BUSY;
	case SQLITE_NOMEM:
		return ST_NOMEM;
	case SQLITE_READONLY:
		return ST_DENIED;
	case SQLITE_TOOBIG:
		return ST_LIMIT;
	default:
		return ST_IO;
	}
}

static void note_code(struct query *q, int code)
{
	if (q->status == ST_OK)
		q->status = status_of(code);
}

bool store_has_moved(struct store *store)
{
	int moved = 0;

	return sqlite3_file_control(store->db, "main", SQLITE_FCNTL_HAS_MOVED, &moved) ==
	               SQLITE_OK &&
	       moved;
}

/* Nothing is written into a file that is at its path no more: it would be gone
 * with the last one that has it open. Within a transaction the commit asks. */
static int may_write(struct store *store)
{
	if (store->read_only)
		return SQLITE_READONLY;
	if (sqlite3_get_autocommit(store->db) && store_has_moved(store))
		return SQLITE_IOERR;
	return SQLITE_OK;
}

struct query query_start(struct store *store, const struct sql_set *set, size_t which,
                         struct arena *arena)
{
	struct query q = {.store = store, .arena = arena};
	sqlite3_stmt **kept = &store->kept[set->index][which];

	assert(which < set->count && set->texts[which]);
	if (!*kept)
		note_code(&q, sqlite3_prepare_v3(store->db, set->texts[which], -1,
		                                 SQLITE_PREPARE_PERSISTENT, kept, NULL));
	q.stmt = *kept;
	assert(!q.stmt || !sqlite3_stmt_busy(q.stmt));
	if (q.stmt && !sqlite3_stmt_readonly(q.stmt))
		note_code(&q, may_write(store));
	return q;
}

void bind_int(struct query *q, int64_t value)
{
	if (q->status == ST_OK)
		note_code(q, sqlite3_bind_int64(q->stmt, ++q->bound, value));
}

void bind_null(struct query *q)
{
	if (q->status == ST_OK)
		note_code(q, sqlite3_bind_null(q->stmt, ++q->bound));
}

void bind_int_if(struct query *q, bool has, int64_t value)
{
	if (has)
		bind_int(q, value);
	else
		bind_null(q);
}

void bind_id_or_null(struct query *q, int64_t id)
{
	bind_int_if(q, id != 0, id);
}

void bind_text(struct query *q, const char *text)
{
	if (q->status == ST_OK)
		note_code(q, sqlite3_bind_text(q->stmt, ++q->bound, text, -1, SQLITE_STATIC));
}

void bind_bytes(struct query *q, const void *at, size_t len)
{
	if (q->status == ST_OK)
		note_code(q, sqlite3_bind_blob64(q->stmt, ++q->bound, at, len, SQLITE_STATIC));
}

void bind_hash(struct query *q, const struct hash *hash)
{
	bind_bytes(q, hash->v, HASH_SIZE);
}

void bind_label(struct query *q, const struct name *name)
{
	bind_text(q, name->len ? name->text : "");
}

void bind_name(struct query *q, const struct name *name)
{
	bind_label(q, name);
	bind_text(q, name->len ? name->key : "");
}

static void bind_copy(struct query *q, const char *text, size_t len)
{
	if (q->status == ST_OK)
		note_code(q, sqlite3_bind_text64(q->stmt, ++q->bound, text, len, SQLITE_TRANSIENT,
		                                 SQLITE_UTF8));
}

/* The name of a text, valid until the scratch arena is next used. */
static struct name scratch_name(struct query *q, const char *text)
{
	struct name name = {.text = "", .key = ""};

	arena_reset(q->store->scratch);
	if (q->status == ST_OK)
		q->status = name_make(q->store->scratch, text, strlen(text), &name);
	return name;
}

void bind_name_text(struct query *q, const char *text)
{
	struct name name = scratch_name(q, text);

	bind_copy(q, name.text, name.len);
	bind_copy(q, name.key, name.len);
}

void bind_key_of(struct query *q, const char *text)
{
	struct name name = scratch_name(q, text);

	bind_copy(q, name.key, name.len);
}

void bind_date(struct query *q, struct date date)
{
	char text[DATE_TEXT_SIZE];

	date_print(date, text);
	bind_copy(q, text, strlen(text));
}

void bind_date_fact(struct query *q, const struct date_fact *fact)
{
	if (fact->state == DATE_KNOWN)
		bind_date(q, fact->date);
	else
		bind_text(q, fact->state == DATE_NEVER ? "never" : "");
}

void bind_page(struct query *q, struct page page)
{
	assert(page.limit >= 1 && page.limit <= 1000 && page.offset >= 0);
	bind_int(q, page.limit);
	bind_int(q, page.offset);
}

static int step(struct query *q)
{
	struct store *store = q->store;

	assert(q->bound == sqlite3_bind_parameter_count(q->stmt));
	if (store->fail_in && --store->fail_in == 0) {
		store->step_failed = true;
		return SQLITE_FULL;
	}
	return sqlite3_step(q->stmt);
}

bool query_row(struct query *q)
{
	int code;

	q->row = false;
	if (q->status != ST_OK)
		return false;
	code = step(q);
	note_code(q, code);
	q->column = 0;
	q->row = code == SQLITE_ROW;
	return q->row;
}

bool query_found(struct query *q)
{
	if (query_row(q))
		return true;
	if (q->status == ST_OK)
		q->status = ST_MISSING;
	return false;
}

/* The number of the column to read, or -1 when there is none to read from. */
static int next_column(struct query *q)
{
	assert(q->status != ST_OK || (q->row && q->column < sqlite3_column_count(q->stmt)));
	return q->status == ST_OK ? q->column++ : -1;
}

int64_t read_int(struct query *q)
{
	int column = next_column(q);

	return column < 0 ? 0 : sqlite3_column_int64(q->stmt, column);
}

bool read_is_null(struct query *q)
{
	return q->status == ST_OK && sqlite3_column_type(q->stmt, q->column) == SQLITE_NULL;
}

bool read_int_if(struct query *q, int64_t *out)
{
	bool has = !read_is_null(q);

	*out = read_int(q);
	return has && q->status == ST_OK;
}

/* Borrowed from SQLite until the next step; "" after a fault and for NULL. */
static const char *column_text(struct query *q, size_t *len)
{
	int column = next_column(q);
	const char *text = "";

	*len = 0;
	if (column >= 0 && sqlite3_column_type(q->stmt, column) != SQLITE_NULL) {
		text = (const char *)sqlite3_column_text(q->stmt, column);
		*len = (size_t)sqlite3_column_bytes(q->stmt, column);
	}
	if (!text)
		q->status = ST_NOMEM;
	return text ? text : "";
}

const char *read_text(struct query *q)
{
	size_t len;
	const char *text = column_text(q, &len);
	char *copy = len ? arena_copy(q->arena, text, len) : NULL;

	if (len && !copy)
		q->status = ST_NOMEM;
	return copy ? copy : "";
}

const void *read_bytes(struct query *q, size_t *len)
{
	int column = next_column(q);
	const void *at;

	*len = 0;
	if (column < 0)
		return "";
	at = sqlite3_column_blob(q->stmt, column);
	*len = (size_t)sqlite3_column_bytes(q->stmt, column);
	at = arena_copy(q->arena, at ? at : "", *len);
	if (!at)
		q->status = ST_NOMEM;
	return at ? at : "";
}

void read_fixed(struct query *q, void *out, size_t len)
{
	int column = next_column(q);
	const void *at = column < 0 ? NULL : sqlite3_column_blob(q->stmt, column);

	memset(out, 0, len);
	if (at && (size_t)sqlite3_column_bytes(q->stmt, column) == len)
		memcpy(out, at, len);
	else if (column >= 0)
		q->status = ST_IO;
}

struct name read_name(struct query *q)
{
	struct name name = {.text = "", .key = ""};
	size_t len;
	const char *text = column_text(q, &len);

	if (q->status == ST_OK)
		q->status = name_make(q->arena, text, len, &name);
	return name;
}

/* What the store wrote always reads back; anything else is a damaged file. */
static void expect_sound(struct query *q, enum status status)
{
	if (q->status == ST_OK && status != ST_OK)
		q->status = status == ST_NOMEM ? ST_NOMEM : ST_IO;
}

struct date_fact date_fact_of_text(struct query *q, const char *text, size_t len)
{
	struct date_fact fact = {.state = DATE_UNKNOWN};

	if (len == 5 && memcmp(text, "never", 5) == 0) {
		fact.state = DATE_NEVER;
	} else if (len > 0) {
		expect_sound(q, date_parse(text, len, &fact.date));
		fact.state = DATE_KNOWN;
	}
	return fact;
}

struct date_fact read_date_fact(struct query *q)
{
	size_t len;
	const char *text = column_text(q, &len);

	return date_fact_of_text(q, text, len);
}

struct date read_date(struct query *q)
{
	struct date_fact fact = read_date_fact(q);

	if (fact.state != DATE_KNOWN)
		expect_sound(q, ST_INVALID);
	return fact.date;
}

bool read_serial(struct query *q, struct serial *out)
{
	size_t len;
	const char *text = column_text(q, &len);

	if (len > 0)
		expect_sound(q, serial_make(q->arena, text, len, out));
	return len > 0;
}

enum status query_end(struct query *q)
{
	if (q->stmt) {
		sqlite3_reset(q->stmt);
		sqlite3_clear_bindings(q->stmt);
	}
	q->row = false;
	return q->status;
}

enum status query_run(struct query *q)
{
	while (query_row(q))
		continue;
	return query_end(q);
}

enum status query_run_one(struct query *q)
{
	enum status status = query_run(q);

	return status == ST_OK && sqlite3_changes(q->store->db) == 0 ? ST_MISSING : status;
}

enum status query_insert(struct query *q, int64_t *id)
{
	enum status status = query_run_one(q);

	if (status == ST_OK)
		*id = sqlite3_last_insert_rowid(q->store->db);
	return status;
}

enum status query_int(struct query *q, int64_t *out)
{
	int64_t value = 0;

	if (query_found(q))
		value = read_int(q);
	if (q->status == ST_OK)
		*out = value;
	return query_end(q);
}

bool query_of(struct query *q, int64_t owner)
{
	if (!q->row && q->column == 0)
		query_row(q);
	while (q->row && sqlite3_column_int64(q->stmt, 0) < owner)
		query_row(q);
	q->column = 1;
	return q->status == ST_OK && q->row && sqlite3_column_int64(q->stmt, 0) == owner;
}

int64_t query_peek(struct query *q)
{
	return q->row ? sqlite3_column_int64(q->stmt, q->column) : 0;
}

void query_pass(struct query *q)
{
	query_row(q);
	q->column = 1; /* a walk that has ended must not begin again */
}

enum status rows_reserve(struct arena *arena, struct rows *rows, size_t size, size_t count)
{
	void *at = arena_array(arena, count, size);

	if (!at)
		return ST_NOMEM;
	if (rows->count)
		memcpy(at, rows->at, rows->count * size);
	rows->at = at;
	rows->room = count;
	return ST_OK;
}

/* Most lists of a notice or kit hold one or two things. */
static bool grow(struct arena *arena, struct rows *rows, size_t size)
{
	return rows_reserve(arena, rows, size, rows->room ? rows->room * 2 : 2) == ST_OK;
}

void *rows_add(struct arena *arena, struct rows *rows, size_t size)
{
	if (rows->count == rows->room && !grow(arena, rows, size))
		return NULL;
	return (char *)rows->at + size * rows->count++;
}

static void add_row(struct query *q, query_read_fn *read, size_t size, struct rows *rows)
{
	void *row = rows_add(q->arena, rows, size);

	if (row)
		read(q, row);
	else
		q->status = ST_NOMEM;
}

enum status query_rows(struct query *q, query_read_fn *read, size_t size, struct rows *rows)
{
	while (query_row(q))
		add_row(q, read, size, rows);
	return query_end(q);
}

enum status query_page(struct query *q, struct query *count_all, query_read_fn *read, size_t size,
                       struct rows *rows, int64_t *total)
{
	enum status status = query_rows(q, read, size, rows);
	int64_t all = 0;
	enum status counted = query_int(count_all, &all);

	if (status == ST_OK)
		status = counted;
	if (status == ST_OK)
		*total = all;
	return status;
}

void query_rows_of(struct query *q, int64_t owner, query_read_fn *read, size_t size,
                   struct rows *rows)
{
	while (query_of(q, owner)) {
		add_row(q, read, size, rows);
		query_pass(q);
	}
}

/* Acts ---------------------------------------------------------------------- */

enum { SQL_BEGIN, SQL_BEGIN_READING, SQL_COMMIT, SQL_SAVEPOINT, SQL_RELEASE, SQL_TRY, SQL_COUNT };

static const char *const texts[SQL_COUNT] = {
        [SQL_BEGIN] = "BEGIN IMMEDIATE", [SQL_BEGIN_READING] = "BEGIN",
        [SQL_COMMIT] = "COMMIT",         [SQL_SAVEPOINT] = "SAVEPOINT act",
        [SQL_RELEASE] = "RELEASE act",   [SQL_TRY] = "UPDATE trial SET at = ?1",
};

const struct sql_set store_sql = {SET_STORE, SQL_COUNT, texts};

static enum status run(struct store *store, size_t which)
{
	struct query q = query_start(store, &store_sql, which, NULL);

	return query_run(&q);
}

/* Undoing never goes through the kept statements, nor through the test seam:
 * it must work when nothing else does. */
static void undo(struct store *store, const char *sql)
{
	if (!sqlite3_get_autocommit(store->db))
		sqlite3_exec(store->db, sql, NULL, NULL, NULL);
}

static enum status begin(struct store *store, size_t which)
{
	bool inner = store->began_file || store->acts > 0;
	enum status status = run(store, inner ? SQL_SAVEPOINT : which);

	if (status == ST_OK)
		store->acts++;
	return status;
}

enum status act_begin(struct store *store)
{
	return begin(store, SQL_BEGIN);
}

enum status act_begin_reading(struct store *store)
{
	return begin(store, SQL_BEGIN_READING);
}

static enum status commit(struct store *store)
{
	return store_has_moved(store) ? ST_IO : run(store, SQL_COMMIT);
}

enum status act_end(struct store *store, enum status status)
{
	bool inner = store->began_file || store->acts > 1;

	assert(store->acts > 0);
	store->acts--;
	if (status == ST_OK)
		status = inner ? run(store, SQL_RELEASE) : commit(store);
	if (status != ST_OK)
		undo(store, inner ? "ROLLBACK TO act; RELEASE act" : "ROLLBACK");
	return status;
}

enum status store_try_write(struct store *store, int64_t now)
{
	int patience = store_set_patience(store, STORE_NO_PATIENCE);
	struct query q;
	enum status status;

	q = query_start(store, &store_sql, SQL_TRY, NULL);
	bind_int(&q, now);
	status = query_run_one(&q);
	store_set_patience(store, patience);
	return status;
}

enum status store_begin_reading(struct store *store)
{
	return act_begin_reading(store);
}

enum status store_end_reading(struct store *store, enum status status)
{
	return act_end(store, status);
}

enum status store_begin_at(struct store *store, const char *file, int line)
{
	enum status status;

	assert(!store->began_file && store->acts == 0);
	status = run(store, SQL_BEGIN);
	if (status != ST_OK)
		return status;
	store->began_file = file;
	store->began_line = line;
	return ST_OK;
}

void store_rollback(struct store *store)
{
	assert(store->acts == 0);
	undo(store, "ROLLBACK");
	store->began_file = NULL;
}

enum status store_commit(struct store *store)
{
	enum status status = ST_IO; /* SQLite has given the transaction up by itself */

	assert(store->began_file && store->acts == 0);
	if (!sqlite3_get_autocommit(store->db))
		status = commit(store);
	store_rollback(store);
	return status;
}

void store_fail_step(struct store *store, size_t n)
{
	store->fail_in = n;
	store->step_failed = false;
}

bool store_step_failed(const struct store *store)
{
	return store->step_failed;
}
