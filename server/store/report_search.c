/* Lists of reports: searched and filtered, likely repeats, which kits were looked at.
 *
 * A row brings the tally that is kept with each report, so that a list costs
 * no look at findings; an index holds all that decides which rows a page has.
 * What a person types never reaches FTS5's query language (words.h). For likely
 * repeats any word in common will do. What tells reports apart are the words that
 * few of them have: a word that many have says next to nothing, and ranking all
 * of these would cost the time.
 */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "store/report_sql.h"
#include "store/words.h"

#define LIKE_LOOKED_UP 16    /* longest words of a text, of which it is asked how many have them */
#define LIKE_WORDS 4         /* rarest of these, by which likely repeats are found */
#define LIKE_WORD_SHORTEST 4 /* bytes */
#define LIKE_MANY 200        /* reports: a word that more have must be in few of them */
#define LIKE_FEW 8           /* one of so many */

#define STANDS "r.removed_at = 0 AND r.merged_into IS NULL"
/* enum report_state; 3: settled by the notice n. */
#define STATE "iif(n.current_revision IS NOT NULL AND n.cancelled_on = '', 3, r.findings_say)"
#define ROW_COLUMNS                                                                                \
	"SELECT " REPORT_COLUMNS ", r.found, r.not_there, r.does_not_fit, r.finders, r.lookers"
/* ?1 words for FTS5, ?2 the same folded, ?3 model, ?4 part, ?5 step folded, ?6
 * state, ?7 author, ?8 notice. */
#define MATCHING                                                                                   \
	"WHERE " STANDS " AND (?2 = ''"                                                            \
	" OR (?1 <> '' AND r.id IN"                                                                \
	" (SELECT rowid FROM report_search WHERE report_search MATCH ?1))"                         \
	" OR r.id IN (SELECT report_id FROM report_parts WHERE instr(part_key, ?2)))"              \
	" AND (?3 = '' OR r.model_key = ?3)"                                                       \
	" AND (?4 = '' OR r.id IN (SELECT report_id FROM report_parts WHERE part_key = ?4))"       \
	" AND (?5 = '' OR r.step_key = ?5) AND (?6 < 0 OR " STATE " = ?6)"                         \
	" AND (?7 = 0 OR r.author = ?7) AND (?8 = 0 OR r.notice_id = ?8)"

/* ?9: enum report_order. */
#define IN_ORDER                                                                                   \
	" ORDER BY CASE ?9 WHEN 1 THEN r.severity WHEN 2 THEN -(r.found + r.not_there) END,"       \
	" r.id DESC"

enum {
	SQL_SEARCH,
	SQL_SEARCH_COUNT,
	SQL_ROW,
	SQL_SAME_PART,
	SQL_SAME_WORDS,
	SQL_WORD,
	SQL_INDEXED,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_SEARCH] = ROW_COLUMNS FROM_REPORTS
        "WHERE r.id IN (SELECT r.id FROM reports r LEFT JOIN notices n"
        " ON n.id = r.notice_id " MATCHING IN_ORDER " LIMIT ?10 OFFSET ?11)" IN_ORDER,
        [SQL_SEARCH_COUNT] = "SELECT count(*) FROM reports r LEFT JOIN notices n"
                             " ON n.id = r.notice_id " MATCHING,
        [SQL_ROW] = ROW_COLUMNS FROM_REPORTS "WHERE r.id = ?1",
        [SQL_SAME_PART] = "SELECT r.id FROM report_parts p JOIN reports r ON r.id = p.report_id"
                          " WHERE p.part_key = ?1 AND r.model_key = ?2 AND " STANDS
                          " ORDER BY r.id DESC LIMIT ?3",
        [SQL_SAME_WORDS] = "SELECT s.rowid FROM report_search s JOIN reports r ON r.id = s.rowid"
                           " WHERE report_search MATCH ?1 AND r.model_key = ?2 AND " STANDS
                           " ORDER BY s.rank LIMIT ?3",
        [SQL_WORD] = ("SELECT coalesce((SELECT doc FROM report_words"
                      " WHERE term = lower(CAST(?1 AS TEXT))), 0)"),
        [SQL_INDEXED] = "SELECT coalesce(max(id), 0) FROM reports",
};

const struct sql_set report_search_sql = {SET_REPORT_SEARCH, SQL_COUNT, texts};

const struct report_query report_query_all = {
        .words = "",
        .model = "",
        .part = "",
        .step = "",
        .state = -1,
        .page = {50, 0},
};

static struct query start(struct store *store, size_t which, struct arena *arena)
{
	return query_start(store, &report_search_sql, which, arena);
}

static void read_row(struct query *q, void *at)
{
	struct report_row *row = at;
	struct findings_tally *tally = &row->tally;

	report_read_head(q, &row->report);
	tally->found = (size_t)read_int(q);
	tally->not_there = (size_t)read_int(q);
	tally->does_not_fit = (size_t)read_int(q);
	tally->finders = (size_t)read_int(q);
	tally->lookers = (size_t)read_int(q);
	tally->looked = tally->found + tally->not_there;
}

/* Search --------------------------------------------------------------------- */

static void bind_matching(struct query *q, const struct report_query *query, const char *words)
{
	bind_text(q, words);
	bind_key_of(q, query->words);
	bind_key_of(q, query->model);
	bind_key_of(q, query->part);
	bind_key_of(q, query->step);
	bind_int(q, query->state);
	bind_int(q, query->author.v);
	bind_int(q, query->notice.v);
}

static enum status search(struct store *store, struct arena *arena,
                          const struct report_query *query, const char *words, struct rows *rows,
                          int64_t *total)
{
	struct query q = start(store, SQL_SEARCH, arena);
	struct query all = start(store, SQL_SEARCH_COUNT, NULL);

	bind_matching(&q, query, words);
	bind_int(&q, query->order);
	bind_page(&q, query->page);
	bind_matching(&all, query, words);
	return query_page(&q, &all, read_row, sizeof(struct report_row), rows, total);
}

enum status report_search(struct store *store, struct arena *arena,
                          const struct report_query *query, const struct report_row **out,
                          size_t *count, int64_t *total)
{
	struct text words = TEXT_EMPTY;
	struct rows rows = {0};
	enum status status;

	words_match(query->words, &words);
	status = text_failed(&words)
	                 ? ST_NOMEM
	                 : search(store, arena, query, text_string(&words), &rows, total);
	text_free(&words);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

/* Likely repeats ------------------------------------------------------------- */

struct word {
	const char *at;
	size_t len;
	int64_t reports; /* that have it */
};

struct word_list {
	struct word at[LIKE_LOOKED_UP];
	size_t count;
};

static bool in_word(char c)
{
	return isalnum((unsigned char)c) || (unsigned char)c >= 0x80;
}

/* Puts the word among the longest so far; of equal ones the first stay. */
static void keep_word(struct word_list *words, struct word word)
{
	size_t place;

	for (size_t i = 0; i < words->count; i++)
		if (words->at[i].len == word.len &&
		    strncasecmp(words->at[i].at, word.at, word.len) == 0)
			return;
	if (words->count < LIKE_LOOKED_UP)
		words->count++;
	else if (words->at[LIKE_LOOKED_UP - 1].len >= word.len)
		return;
	place = words->count - 1;
	for (; place > 0 && words->at[place - 1].len < word.len; place--)
		words->at[place] = words->at[place - 1];
	words->at[place] = word;
}

static void find_words(const char *text, struct word_list *out)
{
	while (*text) {
		struct word word = {text, 0, 0};

		while (in_word(word.at[word.len]))
			word.len++;
		if (word.len >= LIKE_WORD_SHORTEST)
			keep_word(out, word);
		text += word.len ? word.len : 1;
	}
}

static bool is_ascii(const struct word *word)
{
	for (size_t i = 0; i < word->len; i++)
		if ((unsigned char)word->at[i] >= 0x80)
			return false;
	return true;
}

/* In how many reports is each? Of a word with letters beyond ASCII it cannot be
 * told here how the tokenizer folds it: it counts as rare. */
static enum status count_words(struct store *store, struct word_list *words)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < words->count; i++) {
		struct query q;

		words->at[i].reports = 1;
		if (!is_ascii(&words->at[i]))
			continue;
		q = start(store, SQL_WORD, NULL);
		bind_bytes(&q, words->at[i].at, words->at[i].len);
		status = query_int(&q, &words->at[i].reports);
	}
	return status;
}

static int compare_rarity(const void *a, const void *b)
{
	const struct word *x = a, *y = b;

	if (x->reports != y->reports)
		return x->reports < y->reports ? -1 : 1;
	return (x->len < y->len) - (x->len > y->len);
}

/* The words by which repeats are found, any of which will do, as a query of
 * FTS5; "" when there is none. */
static enum status any_word(struct store *store, const char *text, struct text *out)
{
	struct word_list words = {.count = 0};
	int64_t all = 0;
	struct query q = start(store, SQL_INDEXED, NULL);
	enum status status = query_int(&q, &all);

	find_words(text, &words);
	if (status == ST_OK)
		status = count_words(store, &words);
	if (status != ST_OK)
		return status;
	qsort(words.at, words.count, sizeof *words.at, compare_rarity);
	for (size_t i = 0, used = 0; i < words.count && used < LIKE_WORDS; i++) {
		const struct word *word = &words.at[i];

		if (word->reports == 0 ||
		    (word->reports > LIKE_MANY && word->reports > all / LIKE_FEW))
			continue;
		text_add(out, used++ ? " OR \"" : "\"");
		text_add_bytes(out, word->at, word->len);
		text_add_char(out, '"');
	}
	return text_failed(out) ? ST_NOMEM : ST_OK;
}

static bool has_id(const struct rows *ids, int64_t id)
{
	const int64_t *at = ids->at;

	for (size_t i = 0; i < ids->count; i++)
		if (at[i] == id)
			return true;
	return false;
}

/* Binds the rest of the query and adds the ids that are not there yet. */
static enum status add_ids(struct query *q, const char *model, size_t most, struct rows *ids)
{
	bind_key_of(q, model);
	bind_int(q, (int64_t)most);
	while (ids->count < most && query_row(q)) {
		int64_t id = read_int(q), *place;

		if (q->status != ST_OK || has_id(ids, id))
			continue;
		place = rows_add(q->arena, ids, sizeof *place);
		if (place)
			*place = id;
		else
			q->status = ST_NOMEM;
	}
	return query_end(q);
}

static enum status find_by_words(struct store *store, struct arena *arena, const char *model,
                                 const char *words, size_t most, struct rows *ids)
{
	struct text any = TEXT_EMPTY;
	enum status status = any_word(store, words, &any);

	if (status == ST_OK && any.len) {
		struct query q = start(store, SQL_SAME_WORDS, arena);

		bind_text(&q, text_string(&any));
		status = add_ids(&q, model, most, ids);
	}
	text_free(&any);
	return status;
}

static enum status find_like(struct store *store, struct arena *arena, const char *model,
                             const char *words, const struct text_list *parts, size_t most,
                             struct rows *ids)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < parts->count && i < REPORT_PARTS_MOST; i++) {
		struct query q = start(store, SQL_SAME_PART, arena);

		bind_key_of(&q, parts->at[i]);
		status = add_ids(&q, model, most, ids);
	}
	return status == ST_OK ? find_by_words(store, arena, model, words, most, ids) : status;
}

static enum status read_rows(struct store *store, struct arena *arena, const struct rows *ids,
                             struct rows *rows)
{
	const int64_t *id = ids->at;
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < ids->count; i++) {
		struct query q = start(store, SQL_ROW, arena);

		bind_int(&q, id[i]);
		status = query_rows(&q, read_row, sizeof(struct report_row), rows);
	}
	return status;
}

static enum status like(struct store *store, struct arena *arena, const char *model,
                        const char *words, const struct text_list *parts, size_t most,
                        struct rows *rows)
{
	struct rows ids = {0};
	enum status status = act_begin_reading(store);

	if (status != ST_OK)
		return status;
	status = find_like(store, arena, model, words, parts, most, &ids);
	if (status == ST_OK)
		status = read_rows(store, arena, &ids, rows);
	return act_end(store, status);
}

enum status report_like(struct store *store, struct arena *arena, const char *model,
                        const char *words, const struct text_list *parts, size_t most,
                        const struct report_row **out, size_t *count)
{
	struct rows rows = {0};
	enum status status = like(store, arena, model, words, parts, most, &rows);

	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}
