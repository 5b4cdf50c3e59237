/* sql.h - how the files of the store talk to SQLite; not for other layers.
 *
 * Each aggregate names its statements in one enum and one table of texts, its
 * struct sql_set. A statement is prepared once for a connection and kept. A
 * struct query runs one: bind its parameters in order, then walk its rows and
 * read their columns in order. The first fault sticks: after it every call
 * does nothing, and query_end tells. So an operation reads
 *
 *     struct query q = query_start(store, &kit_sql, SQL_KIT_OWNER, NULL);
 *
 *     bind_int(&q, id.v);
 *     if (query_found(&q))
 *             owner.v = read_int(&q);
 *     return query_end(&q);
 *
 * An act makes several statements all or nothing, inside or outside the
 * caller's transaction.
 */
#ifndef STORE_SQL_H
#define STORE_SQL_H

#include <sqlite3.h>

#include "base/text.h"
#include "core/facts.h"
#include "store/hash.h"
#include "store/store.h"

struct sql_set {
	size_t index; /* where a connection keeps its statements */
	size_t count;
	const char *const *texts;
};

/* Every set; connections make room for all of them. */
enum {
	SET_STORE,
	SET_MEMBERS,
	SET_ACTS,
	SET_BOUNDS,
	SET_ADDRESSES,
	SET_SECOND_FACTORS,
	SET_SETTINGS,
	SET_NOTICES,
	SET_REVISIONS,
	SET_ATTACHMENTS,
	SET_CATALOGUE,
	SET_SEARCH,
	SET_KITS,
	SET_KIT_LOG,
	SET_LINES,
	SET_PARTS,
	SET_RECORDS,
	SET_NOTES,
	SET_FILES,
	SET_PICTURES,
	SET_NEWS,
	SET_UNDER_WAY,
	SET_CALLS,
	SET_REPORTS,
	SET_REPORT_SEARCH,
	SET_FINDINGS,
	SET_SNAPSHOTS,
	SET_FEED_LINKS,
	SET_MAIL,
	SET_OUTBOX,
	SET_SEALS,
	SET_COPIES,
	SET_BACKUP
};
#define SQL_SETS (SET_BACKUP + 1)

extern const struct sql_set store_sql, member_sql, act_sql, bound_sql, address_sql,
        second_factor_sql, setting_sql, notice_sql, revision_sql, attachment_sql, catalogue_sql,
        search_sql, kit_sql, kit_log_sql, line_sql, parts_sql, record_sql, note_sql, call_sql,
        file_sql, picture_sql, news_sql, under_way_sql, report_sql, report_search_sql, finding_sql,
        snapshot_sql, feed_link_sql, mail_sql, outbox_sql, seal_sql, copies_sql, backup_sql;

struct store {
	sqlite3 *db;
	sqlite3_stmt **kept[SQL_SETS];
	struct arena *scratch;  /* for folding names while binding */
	const char *began_file; /* the caller's transaction; NULL when none */
	int began_line;
	unsigned acts;                     /* open now */
	int patience;                      /* milliseconds */
	const struct bound_row *bound_met; /* since whom it acts for was said; bounds.h */
	bool read_only;                    /* statements that change anything are refused */
	int64_t doer; /* a member's id, for the log of acts; 0: the command line */
	int64_t doer_now;
	size_t fail_in; /* test seam: steps until one fails, 0: never */
	bool step_failed;
};

struct query {
	struct store *store;
	sqlite3_stmt *stmt;  /* NULL: failed to prepare */
	struct arena *arena; /* for read_text and the like; NULL when not needed */
	enum status status;
	int bound;
	int column;
	bool row; /* stands on one */
};

struct query query_start(struct store *store, const struct sql_set *set, size_t which,
                         struct arena *arena);

/* Each binds the next parameter. Texts must live until query_end. */
void bind_int(struct query *q, int64_t value);
void bind_id_or_null(struct query *q, int64_t id); /* 0: NULL */
void bind_int_if(struct query *q, bool has, int64_t value);
void bind_null(struct query *q);
void bind_text(struct query *q, const char *text);
void bind_bytes(struct query *q, const void *at, size_t len); /* not copied */
void bind_hash(struct query *q, const struct hash *hash);
void bind_name(struct query *q, const struct name *name); /* text and key: two parameters */
void bind_name_text(struct query *q, const char *text);   /* squeezed, and key: likewise */
void bind_key_of(struct query *q, const char *text);      /* key alone */
void bind_label(struct query *q,
                const struct name *name); /* text alone; an empty name may be zeroed */
void bind_date(struct query *q, struct date date);
void bind_date_fact(struct query *q, const struct date_fact *fact);
void bind_page(struct query *q, struct page page); /* limit and offset */

bool query_row(struct query *q);   /* to the next row; false at the end or on failure */
bool query_found(struct query *q); /* to the only row; ST_MISSING when there is none */

/* Each reads the next column. After a fault: 0, "", empty. */
int64_t read_int(struct query *q);
bool read_is_null(struct query *q); /* of the next column, without going on */
const char *read_text(struct query *q);
const void *read_bytes(struct query *q, size_t *len);
void read_fixed(struct query *q, void *out, size_t len); /* a blob of this length */
struct name read_name(struct query *q);
struct date read_date(struct query *q);
struct date_fact read_date_fact(struct query *q);
/* As stored in a column, from a text that was within one. */
struct date_fact date_fact_of_text(struct query *q, const char *text, size_t len);
bool read_int_if(struct query *q, int64_t *out);       /* false: NULL */
bool read_serial(struct query *q, struct serial *out); /* false: '' */

enum status query_end(struct query *q);
enum status query_run(struct query *q);     /* to the end, and end */
enum status query_run_one(struct query *q); /* likewise; ST_MISSING when it changed no row */
enum status query_insert(struct query *q, int64_t *id); /* likewise, and the new row's id */
enum status query_int(struct query *q, int64_t *out);   /* the only column of the only row */
/* Within so many seconds, and among the member's latest few, the same words on the
 * same thing are a form that was sent twice. */
#define TWICE_WITHIN "60"
#define TWICE_AMONG "10"

/* The clock may have been set back since a row was written. What lies ahead of now
 * counts for nothing, and what was given for a time counts only while it ends
 * no later than what is given now would; this many seconds are forgiven, so that
 * setting a clock right by a little ends nothing. */
#define AHEAD_MOST "86400"

/* A number of a header, in the text of a statement. */
#define TEXT_OF(number) TEXT_OF_EXPANDED(number)
#define TEXT_OF_EXPANDED(number) #number

/* A list that grows in an arena. NULL when memory ran out. */
struct rows {
	void *at;
	size_t count;
	size_t room;
};
void *rows_add(struct arena *arena, struct rows *rows, size_t size);
/* Room for so many from the start, where the number is known. */
enum status rows_reserve(struct arena *arena, struct rows *rows, size_t size,
                         size_t count) MUST_CHECK;

/* Reads the row at hand into a zeroed element. */
typedef void query_read_fn(struct query *q, void *row);
/* Walks to the end and ends; each row becomes one more element of that size. */
enum status query_rows(struct query *q, query_read_fn *read, size_t size, struct rows *rows);
/* The same, and the number that the other query counts. */
enum status query_page(struct query *q, struct query *count_all, query_read_fn *read, size_t size,
                       struct rows *rows, int64_t *total);

/* Rows that belong to something (kit, revision) whose id is their first
 * column, in order of it: true while the row at hand belongs to owner. Rows
 * of owners before it are passed over. Call query_pass after reading one. */
bool query_of(struct query *q, int64_t owner);
int64_t query_peek(struct query *q); /* the number that read_int would read */
void query_pass(struct query *q);
/* All rows at hand of one owner, each one more element. */
void query_rows_of(struct query *q, int64_t owner, query_read_fn *read, size_t size,
                   struct rows *rows);

/* act_end keeps what was done when status is ST_OK, else takes it back;
 * returns status, or why it could not be kept. */
enum status act_begin(struct store *store) MUST_CHECK;
enum status act_begin_reading(struct store *store) MUST_CHECK; /* one state of all tables */
enum status act_end(struct store *store, enum status status) MUST_CHECK;

#endif
