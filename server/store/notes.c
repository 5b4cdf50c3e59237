/* Notes. Their words are kept twice: as typed, and in an FTS5 table whose rowid
 * is the note's id. Triggers may not write there (the schema is not trusted), so
 * whoever changes words here changes them in both, in one act.
 */
#include "store/notes.h"

#include <string.h>

#include "store/calls.h"
#include "store/news.h"
#include "store/sql.h"
#include "store/words.h"

/* ?1 is the reader in each of them. */
#define COLUMNS(text)                                                                              \
	"SELECT t.id, t.about, t.notice_id, n.number, t.model, t.name, t.answers, t.author,"       \
	" coalesce(a.name, 'removed member'), t.written_at, t.edited_at, " text ", t.helped,"      \
	" EXISTS (SELECT 1 FROM note_helped h WHERE h.note_id = t.id AND h.member_id = ?1),"       \
	" (SELECT count(*) FROM notes b WHERE b.answers = t.id), t.removed_at,"                    \
	" CASE WHEN t.removed_at = 0 THEN '' ELSE coalesce(r.name, 'removed member') END"
#define JOINED                                                                                     \
	" LEFT JOIN notices n ON n.id = t.notice_id LEFT JOIN members a ON a.id = t.author"        \
	" LEFT JOIN members r ON r.id = t.removed_by "
#define FROM_NOTES COLUMNS("t.text") " FROM notes t" JOINED

/* First notes of a page, and ?2 of the newest answers to each. */
#define LIST(subject, order, shown_order)                                                          \
	"WITH first AS (SELECT id, helped FROM notes WHERE " subject                               \
	" AND answers IS NULL ORDER BY " order " LIMIT ?3 OFFSET ?4),"                             \
	" shown AS (SELECT id, id AS first, helped, 0 AS back FROM first UNION ALL"                \
	" SELECT b.id, f.id, f.helped, row_number() OVER (PARTITION BY f.id ORDER BY b.id DESC)"   \
	" FROM first f JOIN notes b ON b.answers = f.id) " COLUMNS(                                \
	        "t.text") " FROM shown s JOIN notes t ON t.id = s.id" JOINED                       \
	                  "WHERE s.back <= ?2 ORDER BY " shown_order ", t.id"
#define LIST_HELPED(subject) LIST(subject, "helped DESC, id DESC", "s.helped DESC, s.first DESC")
#define LIST_NEWEST(subject) LIST(subject, "id DESC", "s.first DESC")

enum {
	SQL_TWICE,
	SQL_ANSWER_TWICE,
	SQL_ADD,
	SQL_ANSWER,
	SQL_TO_TELL,
	SQL_WORDS_IN,
	SQL_WORDS_CHANGE,
	SQL_MAY_EDIT,
	SQL_KEEP_WORDS,
	SQL_EDIT,
	SQL_MAY_REMOVE,
	SQL_REMOVE,
	SQL_REMOVE_WORDS,
	SQL_REMOVE_BEFORE,
	SQL_REMOVE_PICTURES,
	SQL_REMOVE_HELPED,
	SQL_MAY_HELP,
	SQL_HELPED,
	SQL_HELPED_NOT,
	SQL_FORGET_WORDS,
	SQL_FORGET_BEFORE,
	SQL_FORGET_PICTURES,
	SQL_FORGET_ANSWERS,
	SQL_FORGET_UNANSWERED,
	SQL_FORGET_HELPED,
	SQL_FORGET_REST,
	SQL_LIST, /* and the next three: in both orders, on a notice and of a name */
	SQL_LIST_OF_NAME,
	SQL_LIST_NEWEST,
	SQL_LIST_NEWEST_OF_NAME,
	SQL_TOTAL,
	SQL_TOTAL_OF_NAME,
	SQL_READ,
	SQL_ANSWERS,
	SQL_ANSWERS_TOTAL,
	SQL_LIST_BY,
	SQL_TOTAL_BY,
	SQL_HISTORY,
	SQL_HISTORY_TOTAL,
	SQL_FIND,
	SQL_FIND_TOTAL,
	SQL_LATEST, /* and the next: of any author, of one */
	SQL_LATEST_BY,
	SQL_LATEST_TOTAL,
	SQL_LATEST_BY_TOTAL,
	SQL_COUNT
};

#define ON_NOTICE "notice_id = ?5"
#define ON_NAME "about = ?5 AND model_key = ?6 AND name_key = ?7 AND name_key <> ''"
#define OF_AUTHOR "(SELECT id FROM notes WHERE author = ?1)"
/* Members of a set are looked up in the list of matches, never the other way
 * round: each look into the words would begin the whole search anew. */
#define FOUND                                                                                      \
	"WHERE note_search MATCH ?2 AND"                                                           \
	" (?3 = 0 OR +note_search.rowid IN (SELECT id FROM notes WHERE author = ?3))"
#define LATEST COLUMNS("''") ", substr(t.text, 1, 200) FROM notes t" JOINED "WHERE t.text <> ''"
#define LATEST_PAGE " ORDER BY t.id DESC LIMIT ?2 OFFSET ?3"

#define TWICE                                                                                      \
	"SELECT id FROM notes WHERE id IN (SELECT id FROM notes WHERE author = ?1"                 \
	" ORDER BY id DESC LIMIT " TWICE_AMONG ") AND removed_at = 0 AND text = ?2"                \
	" AND written_at BETWEEN ?3 - " TWICE_WITHIN " AND ?3 AND "

static const char *const texts[SQL_COUNT] = {
        [SQL_TWICE] = TWICE "answers IS NULL AND about = ?4 AND notice_id IS ?5"
                            " AND model_key = ?6 AND name_key = ?7 ORDER BY id LIMIT 1",
        [SQL_ANSWER_TWICE] = TWICE "answers = (SELECT coalesce(answers, id) FROM notes"
                                   " WHERE id = ?4) ORDER BY id LIMIT 1",
        [SQL_ADD] = "INSERT INTO notes (about, notice_id, model, model_key, name, name_key,"
                    " author, text, written_at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        [SQL_ANSWER] = "INSERT INTO notes (about, notice_id, model, model_key, name, name_key,"
                       " answers, author, text, written_at)"
                       " SELECT about, notice_id, model, model_key, name, name_key,"
                       " coalesce(answers, id), ?2, ?3, ?4 FROM notes"
                       " WHERE id = ?1 AND removed_at = 0",
        [SQL_TO_TELL] = "SELECT DISTINCT author, notice_id FROM notes WHERE author IS NOT NULL"
                        " AND author <> ?2"
                        " AND id IN (?1, (SELECT answers FROM notes WHERE id = ?1))",
        [SQL_WORDS_IN] = "INSERT INTO note_search (rowid, text) VALUES (?1, ?2)",
        [SQL_WORDS_CHANGE] = "UPDATE note_search SET text = ?2 WHERE rowid = ?1",
        [SQL_MAY_EDIT] = "SELECT EXISTS (SELECT 1 FROM members WHERE id = ?2 AND NOT disabled"
                         " AND id = t.author) FROM notes t WHERE t.id = ?1 AND t.removed_at = 0",
        [SQL_KEEP_WORDS] = "INSERT INTO note_words_before (note_id, until, text, place)"
                           " SELECT id, ?2, text,"
                           " (SELECT count(*) FROM note_words_before WHERE note_id = ?1)"
                           " FROM notes WHERE id = ?1 AND text <> ?3",
        [SQL_EDIT] = "UPDATE notes SET edited_at = ?2, text = ?3 WHERE id = ?1",
        [SQL_MAY_REMOVE] = "SELECT EXISTS (SELECT 1 FROM members WHERE id = ?2 AND NOT disabled"
                           " AND (role >= 1 OR id = t.author))"
                           " FROM notes t WHERE t.id = ?1 AND t.removed_at = 0",
        [SQL_REMOVE] = "UPDATE notes SET text = '', removed_by = ?2, removed_at = ?3 WHERE id = ?1",
        [SQL_REMOVE_WORDS] = "DELETE FROM note_search WHERE rowid = ?1",
        [SQL_REMOVE_BEFORE] = "DELETE FROM note_words_before WHERE note_id = ?1",
        [SQL_REMOVE_PICTURES] = "DELETE FROM pictures WHERE note_id = ?1",
        [SQL_REMOVE_HELPED] = "DELETE FROM note_helped WHERE note_id = ?1",
        [SQL_MAY_HELP] = "SELECT author IS NOT ?2 FROM notes WHERE id = ?1 AND removed_at = 0",
        [SQL_HELPED] = "INSERT OR IGNORE INTO note_helped (note_id, member_id) VALUES (?1, ?2)",
        [SQL_HELPED_NOT] = "DELETE FROM note_helped WHERE note_id = ?1 AND member_id = ?2",
        [SQL_FORGET_WORDS] = "DELETE FROM note_search WHERE rowid IN " OF_AUTHOR,
        [SQL_FORGET_BEFORE] = "DELETE FROM note_words_before WHERE note_id IN " OF_AUTHOR,
        [SQL_FORGET_PICTURES] = "DELETE FROM pictures WHERE note_id IN " OF_AUTHOR,
        [SQL_FORGET_ANSWERS] = "DELETE FROM notes WHERE author = ?1 AND answers IS NOT NULL",
        [SQL_FORGET_UNANSWERED] = "DELETE FROM notes WHERE author = ?1 AND NOT EXISTS"
                                  " (SELECT 1 FROM notes b WHERE b.answers = notes.id)",
        [SQL_FORGET_HELPED] = "DELETE FROM note_helped WHERE note_id IN " OF_AUTHOR,
        [SQL_FORGET_REST] = "UPDATE notes SET text = '', removed_at = ?2"
                            " WHERE author = ?1 AND removed_at = 0",
        [SQL_LIST] = LIST_HELPED(ON_NOTICE),
        [SQL_LIST_OF_NAME] = LIST_HELPED(ON_NAME),
        [SQL_LIST_NEWEST] = LIST_NEWEST(ON_NOTICE),
        [SQL_LIST_NEWEST_OF_NAME] = LIST_NEWEST(ON_NAME),
        [SQL_TOTAL] = "SELECT count(*) FROM notes WHERE notice_id = ?1 AND answers IS NULL",
        [SQL_TOTAL_OF_NAME] = "SELECT count(*) FROM notes WHERE about = ?1 AND model_key = ?2"
                              " AND name_key = ?3 AND name_key <> '' AND answers IS NULL",
        [SQL_READ] = FROM_NOTES "WHERE t.id = ?2",
        [SQL_ANSWERS] = FROM_NOTES "WHERE t.answers = ?2 ORDER BY t.id LIMIT ?3 OFFSET ?4",
        [SQL_ANSWERS_TOTAL] = "SELECT count(*) FROM notes WHERE answers = ?1",
        [SQL_LIST_BY] = FROM_NOTES "WHERE t.author = ?1 ORDER BY t.id LIMIT ?2 OFFSET ?3",
        [SQL_TOTAL_BY] = "SELECT count(*) FROM notes WHERE author = ?1",
        [SQL_HISTORY] = "SELECT until, text FROM note_words_before WHERE note_id = ?1"
                        " ORDER BY place DESC LIMIT ?2 OFFSET ?3",
        [SQL_HISTORY_TOTAL] = "SELECT count(*) FROM note_words_before WHERE note_id = ?1",
        [SQL_FIND] = COLUMNS("''") ", snippet(note_search, 0, char(2), char(3), '…', 24)"
                                   " FROM note_search CROSS JOIN notes t"
                                   " ON t.id = note_search.rowid" JOINED FOUND
                                   " ORDER BY note_search.rowid DESC LIMIT ?4 OFFSET ?5",
        /* ?1 is not used */
        [SQL_FIND_TOTAL] = "SELECT count(*) FROM (SELECT 1 FROM note_search " FOUND " LIMIT ?4)",
        [SQL_LATEST] = LATEST LATEST_PAGE,
        [SQL_LATEST_BY] = LATEST " AND t.author = ?4" LATEST_PAGE,
        [SQL_LATEST_TOTAL] = "SELECT count(*) FROM (SELECT 1 FROM notes WHERE text <> '' LIMIT ?1)",
        [SQL_LATEST_BY_TOTAL] = "SELECT count(*) FROM (SELECT 1 FROM notes WHERE text <> ''"
                                " AND author = ?2 LIMIT ?1)",
};

const struct sql_set note_sql = {SET_NOTES, SQL_COUNT, texts};

static struct query start(struct store *store, size_t which, struct arena *arena)
{
	return query_start(store, &note_sql, which, arena);
}

struct note_subject note_on_notice(struct notice_id notice)
{
	return (struct note_subject){NOTE_ON_NOTICE, notice, "", ""};
}

static bool is_on_notice(const struct note_subject *of)
{
	return of->about == NOTE_ON_NOTICE;
}

/* A number of the statement, and one or two ids. */
static enum status run(struct store *store, size_t which, int64_t a)
{
	struct query q = start(store, which, NULL);

	bind_int(&q, a);
	return query_run(&q);
}

static enum status run_two(struct store *store, size_t which, int64_t a, int64_t b)
{
	struct query q = start(store, which, NULL);

	bind_int(&q, a);
	bind_int(&q, b);
	return query_run(&q);
}

/* Of two: the note and the member who would do something with it. */
static enum status check_may(struct store *store, size_t which, struct note_id id,
                             struct member_id by)
{
	struct query q = start(store, which, NULL);
	int64_t may = 0;
	enum status status;

	bind_int(&q, id.v);
	bind_int(&q, by.v);
	status = query_int(&q, &may);
	return status == ST_OK && !may ? ST_DENIED : status;
}

/* Writing ------------------------------------------------------------------- */

static enum status put_words(struct store *store, size_t which, struct note_id id, const char *text)
{
	struct query q = start(store, which, NULL);

	bind_int(&q, id.v);
	bind_text(&q, text);
	return query_run(&q);
}

static enum status add(struct store *store, const struct note_subject *of, struct member_id author,
                       const char *text, int64_t now, struct note_id *out)
{
	struct query q = start(store, SQL_ADD, NULL);

	bind_int(&q, of->about);
	bind_id_or_null(&q, of->notice.v);
	bind_name_text(&q, of->model);
	bind_name_text(&q, of->name);
	bind_int(&q, author.v);
	bind_text(&q, text);
	bind_int(&q, now);
	return query_insert(&q, &out->v);
}

static struct query start_twice(struct store *store, size_t which, struct member_id author,
                                const char *text, int64_t now)
{
	struct query q = start(store, which, NULL);

	bind_int(&q, author.v);
	bind_text(&q, text);
	bind_int(&q, now);
	return q;
}

/* ST_MISSING: the member wrote no such note just now. */
static enum status find_twice(struct store *store, const struct note_subject *of,
                              struct member_id author, const char *text, int64_t now,
                              struct note_id *out)
{
	struct query q = start_twice(store, SQL_TWICE, author, text, now);

	bind_int(&q, of->about);
	bind_id_or_null(&q, of->notice.v);
	bind_key_of(&q, of->model);
	bind_key_of(&q, of->name);
	return query_int(&q, &out->v);
}

static enum status add_new(struct store *store, const struct note_subject *of,
                           struct member_id author, const char *text, int64_t now,
                           struct note_id *out)
{
	enum status status = bound_room(store, BOUND_NOTES_A_DAY, author.v, 1, now);

	if (status == ST_OK)
		status = add(store, of, author, text, now, out);
	return status == ST_OK ? put_words(store, SQL_WORDS_IN, *out, text) : status;
}

enum status note_add(struct store *store, const struct note_subject *of, struct member_id author,
                     const char *text, int64_t now, struct note_id *out)
{
	struct note_id id = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = find_twice(store, of, author, text, now, &id);
	if (status == ST_MISSING)
		status = add_new(store, of, author, text, now, &id);
	status = act_end(store, status);
	if (status == ST_OK)
		*out = id;
	return status;
}

static enum status answer(struct store *store, struct note_id id, struct member_id author,
                          const char *text, int64_t now, struct note_id *out)
{
	struct query q = start(store, SQL_ANSWER, NULL);

	bind_int(&q, id.v);
	bind_int(&q, author.v);
	bind_text(&q, text);
	bind_int(&q, now);
	return query_insert(&q, &out->v);
}

/* The author of what was answered, and of the first note where that is another. */
static enum status tell_authors(struct store *store, struct note_id answered, struct note_id added,
                                struct member_id by, int64_t now)
{
	struct news_entry news[2];
	struct query q = start(store, SQL_TO_TELL, NULL);
	size_t count = 0;
	enum status status;

	bind_int(&q, answered.v);
	bind_int(&q, by.v);
	while (count < 2 && query_row(&q)) {
		news[count] = (struct news_entry){
		        .kind = NEWS_ANSWER, .note = added, .from = by, .words = ""};
		news[count].member.v = read_int(&q);
		news[count++].notice.v = read_int(&q);
	}
	status = query_end(&q);
	for (size_t i = 0; status == ST_OK && i < count; i++)
		status = news_add(store, &news[i], now);
	return status;
}

static enum status find_answer_twice(struct store *store, struct note_id id,
                                     struct member_id author, const char *text, int64_t now,
                                     struct note_id *out)
{
	struct query q = start_twice(store, SQL_ANSWER_TWICE, author, text, now);

	bind_int(&q, id.v);
	return query_int(&q, &out->v);
}

static enum status answer_new(struct store *store, struct note_id id, struct member_id author,
                              const char *text, int64_t now, struct note_id *out)
{
	enum status status = bound_room(store, BOUND_NOTES_A_DAY, author.v, 1, now);

	if (status == ST_OK)
		status = answer(store, id, author, text, now, out);
	if (status == ST_OK)
		status = put_words(store, SQL_WORDS_IN, *out, text);
	return status == ST_OK ? tell_authors(store, id, *out, author, now) : status;
}

enum status note_answer(struct store *store, struct note_id id, struct member_id author,
                        const char *text, int64_t now, struct note_id *out)
{
	struct note_id added = {0};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = find_answer_twice(store, id, author, text, now, &added);
	if (status == ST_MISSING)
		status = answer_new(store, id, author, text, now, &added);
	status = act_end(store, status);
	if (status == ST_OK)
		*out = added;
	return status;
}

/* ST_MISSING: these are the words that stand there. */
static enum status change_words(struct store *store, size_t which, struct note_id id,
                                const char *text, int64_t now)
{
	struct query q = start(store, which, NULL);

	bind_int(&q, id.v);
	bind_int(&q, now);
	bind_text(&q, text);
	return query_run_one(&q);
}

static enum status edit(struct store *store, struct note_id id, const char *text, int64_t now)
{
	enum status status = change_words(store, SQL_KEEP_WORDS, id, text, now);

	if (status == ST_MISSING)
		return ST_OK;
	if (status == ST_OK)
		status = bound_room(store, BOUND_NOTE_EDITS_MOST, id.v, 0, now);
	if (status == ST_OK)
		status = change_words(store, SQL_EDIT, id, text, now);
	return status == ST_OK ? put_words(store, SQL_WORDS_CHANGE, id, text) : status;
}

enum status note_edit(struct store *store, struct note_id id, struct member_id by, const char *text,
                      int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = check_may(store, SQL_MAY_EDIT, id, by);
	if (status == ST_OK)
		status = edit(store, id, text, now);
	return act_end(store, status);
}

static enum status take_words(struct store *store, struct note_id id, struct member_id by,
                              int64_t now)
{
	struct query q = start(store, SQL_REMOVE, NULL);
	enum status status;

	bind_int(&q, id.v);
	bind_int(&q, by.v);
	bind_int(&q, now);
	status = query_run(&q);
	for (size_t which = SQL_REMOVE_WORDS; status == ST_OK && which <= SQL_REMOVE_HELPED;
	     which++)
		status = run(store, which, id.v);
	return status;
}

enum status note_remove(struct store *store, struct note_id id, struct member_id by, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = check_may(store, SQL_MAY_REMOVE, id, by);
	if (status == ST_OK)
		status = take_words(store, id, by, now);
	if (status == ST_OK)
		status = calls_note_removed(store, id, by, now);
	return act_end(store, status);
}

enum status note_set_helped(struct store *store, struct note_id id, struct member_id member,
                            bool helped)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = check_may(store, SQL_MAY_HELP, id, member);
	if (status == ST_OK)
		status = run_two(store, helped ? SQL_HELPED : SQL_HELPED_NOT, id.v, member.v);
	if (status == ST_OK && helped)
		status = bound_room(store, BOUND_HELPED_MOST, member.v, 0, 0);
	return act_end(store, status);
}

/* Answers first, so that a note that only its author answered goes as well. */
enum status notes_forget_author(struct store *store, struct member_id author, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	for (size_t which = SQL_FORGET_WORDS; status == ST_OK && which <= SQL_FORGET_HELPED;
	     which++)
		status = run(store, which, author.v);
	if (status == ST_OK)
		status = calls_author_removed(store, author, now);
	if (status == ST_OK)
		status = run_two(store, SQL_FORGET_REST, author.v, now);
	return act_end(store, status);
}

/* Reading ------------------------------------------------------------------- */

static void read_note(struct query *q, void *row)
{
	struct note *note = row;

	note->id.v = read_int(q);
	note->of.about = (enum note_about)read_int(q);
	note->of.notice.v = read_int(q);
	note->number = read_text(q);
	note->of.model = read_text(q);
	note->of.name = read_text(q);
	note->answers.v = read_int(q);
	note->author.v = read_int(q);
	note->author_name = read_text(q);
	note->written_at = read_int(q);
	note->edited_at = read_int(q);
	note->text = read_text(q);
	note->helped = read_int(q);
	note->helped_reader = read_int(q) != 0;
	note->n_answers = read_int(q);
	note->removed_at = read_int(q);
	note->removed_by = read_text(q);
}

/* What a query and its count gather, as a list of notes. */
static enum status notes_page(struct query *q, struct query *count_all, const struct note **out,
                              size_t *count, int64_t *total)
{
	struct rows rows = {0};
	enum status status = query_page(q, count_all, read_note, sizeof(struct note), &rows, total);

	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

static void bind_subject(struct query *q, const struct note_subject *of)
{
	if (is_on_notice(of)) {
		bind_int(q, of->notice.v);
	} else {
		bind_int(q, of->about);
		bind_key_of(q, of->model);
		bind_key_of(q, of->name);
	}
}

enum status note_list(struct store *store, struct arena *arena, const struct note_query *query,
                      const struct note **out, size_t *count, int64_t *total)
{
	size_t of_name = is_on_notice(&query->of) ? 0 : 1;
	size_t list = query->order == NOTES_NEWEST ? SQL_LIST_NEWEST : SQL_LIST;
	struct query q = start(store, list + of_name, arena);
	struct query all = start(store, SQL_TOTAL + of_name, NULL);

	bind_int(&q, query->reader.v);
	bind_int(&q, query->answers);
	bind_page(&q, query->page);
	bind_subject(&q, &query->of);
	bind_subject(&all, &query->of);
	return notes_page(&q, &all, out, count, total);
}

enum status note_read(struct store *store, struct arena *arena, struct note_id id,
                      struct member_id reader, struct note *out)
{
	struct query q = start(store, SQL_READ, arena);
	struct note note = {.id = {0}};

	bind_int(&q, reader.v);
	bind_int(&q, id.v);
	if (query_found(&q))
		read_note(&q, &note);
	if (q.status == ST_OK)
		*out = note;
	return query_end(&q);
}

enum status note_answers(struct store *store, struct arena *arena, struct note_id id,
                         struct member_id reader, struct page page, const struct note **out,
                         size_t *count, int64_t *total)
{
	struct query q = start(store, SQL_ANSWERS, arena);
	struct query all = start(store, SQL_ANSWERS_TOTAL, NULL);

	bind_int(&q, reader.v);
	bind_int(&q, id.v);
	bind_page(&q, page);
	bind_int(&all, id.v);
	return notes_page(&q, &all, out, count, total);
}

enum status note_list_by(struct store *store, struct arena *arena, struct member_id author,
                         struct page page, const struct note **out, size_t *count, int64_t *total)
{
	struct query q = start(store, SQL_LIST_BY, arena);
	struct query all = start(store, SQL_TOTAL_BY, NULL);

	bind_int(&q, author.v);
	bind_page(&q, page);
	bind_int(&all, author.v);
	return notes_page(&q, &all, out, count, total);
}

static void read_before(struct query *q, void *row)
{
	struct note_before *before = row;

	before->until = read_int(q);
	before->text = read_text(q);
}

enum status note_history(struct store *store, struct arena *arena, struct note_id id,
                         struct page page, const struct note_before **out, size_t *count,
                         int64_t *total)
{
	struct query q = start(store, SQL_HISTORY, arena);
	struct query all = start(store, SQL_HISTORY_TOTAL, NULL);
	struct rows rows = {0};
	enum status status;

	bind_int(&q, id.v);
	bind_page(&q, page);
	bind_int(&all, id.v);
	status = query_page(&q, &all, read_before, sizeof(struct note_before), &rows, total);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

/* Search -------------------------------------------------------------------- */

static void read_found(struct query *q, void *row)
{
	struct note_found *found = row;

	read_note(q, &found->note);
	found->excerpt = read_text(q);
}

static void bind_find(struct query *q, const struct note_search *search, const char *match)
{
	bind_int(q, 0);
	bind_text(q, match);
	bind_int(q, search->author.v);
}

static enum status find(struct store *store, struct arena *arena, const struct note_search *search,
                        const char *match, struct rows *rows, int64_t *total)
{
	struct query q = start(store, SQL_FIND, arena);
	struct query all = start(store, SQL_FIND_TOTAL, NULL);

	bind_find(&q, search, match);
	bind_page(&q, search->page);
	bind_find(&all, search, match);
	bind_int(&all, NOTES_COUNTED + 1);
	return query_page(&q, &all, read_found, sizeof(struct note_found), rows, total);
}

static enum status latest(struct store *store, struct arena *arena,
                          const struct note_search *search, struct rows *rows, int64_t *total)
{
	size_t by = search->author.v ? 1 : 0;
	struct query q = start(store, SQL_LATEST + by, arena);
	struct query all = start(store, SQL_LATEST_TOTAL + by, NULL);

	bind_int(&q, 0);
	bind_page(&q, search->page);
	bind_int(&all, NOTES_COUNTED + 1);
	if (by) {
		bind_int(&q, search->author.v);
		bind_int(&all, search->author.v);
	}
	return query_page(&q, &all, read_found, sizeof(struct note_found), rows, total);
}

/* Words of which none could be found, such as "+", find nothing. */
static bool asks_for_words(const char *words)
{
	return words[strspn(words, " \t\r\n")] != '\0';
}

enum status note_find(struct store *store, struct arena *arena, const struct note_search *search,
                      const struct note_found **out, size_t *count, int64_t *total)
{
	struct text match = TEXT_EMPTY;
	struct rows rows = {0};
	enum status status = ST_OK;

	words_match(search->words, &match);
	if (text_failed(&match))
		status = ST_NOMEM;
	else if (match.len)
		status = find(store, arena, search, text_string(&match), &rows, total);
	else if (!asks_for_words(search->words))
		status = latest(store, arena, search, &rows, total);
	else
		*total = 0;
	text_free(&match);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}
