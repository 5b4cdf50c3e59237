/* Reports: written, removed, merged, read one by one. Lists are in
 * report_search.c, findings in findings.c.
 *
 * Merging keeps reports as leaves of the one that they are read with
 * (merged_into), so that reading needs no recursion; merged_first remembers the
 * tree, so that parting a report takes along what came with it and nothing
 * else. The words of reports that stand by themselves are indexed by hand:
 * no trigger may touch an FTS table.
 */
#include "base/text.h"
#include "store/calls.h"
#include "store/report_sql.h"

#define BY_MEMBER "EXISTS (SELECT 1 FROM members WHERE id = ?2 AND NOT disabled AND "
#define STANDS "r.removed_at = 0 AND r.merged_into IS NULL"

enum {
	SQL_TWICE,
	SQL_ADD,
	SQL_EDIT,
	SQL_SET_CREDIT,
	SQL_SET_FINDERS_CREDIT,
	SQL_CLEAR_PARTS,
	SQL_ADD_PART,
	SQL_PARTS,
	SQL_INDEX,
	SQL_UNINDEX,
	SQL_TOUCH,
	SQL_MAY_CHANGE,
	SQL_MAY_STEER,
	SQL_MAY_PUT_BACK,
	SQL_MAY_PART,
	SQL_STANDING,
	SQL_INTO,
	SQL_REMOVE,
	SQL_PUT_BACK,
	SQL_MERGE,
	SQL_PART,
	SQL_LINK,
	SQL_LOG,
	SQL_LOG_REPORT,
	SQL_LOG_LINK,
	SQL_READ,
	SQL_MERGED,
	SQL_MERGED_PARTS,
	SQL_BY,
	SQL_BY_PARTS,
	SQL_LOG_LIST,
	SQL_COUNT
};

#define ADD_TO_LOG "INSERT INTO report_log (report_id, at, member_id, act, remark) "

static const char *const texts[SQL_COUNT] = {
        [SQL_TWICE] = "SELECT id FROM reports WHERE id IN (SELECT id FROM reports"
                      " WHERE author = ?1 ORDER BY id DESC LIMIT " TWICE_AMONG ")"
                      " AND removed_at = 0 AND made_at BETWEEN ?2 - " TWICE_WITHIN " AND ?2"
                      " AND title = ?3 AND seen = ?4 AND EXISTS (SELECT 1 FROM findings f"
                      " WHERE f.report_id = reports.id AND f.kit = ?5) ORDER BY id LIMIT 1",
        [SQL_ADD] = "INSERT INTO reports (title, model, model_key, step, step_key, zone, seen,"
                    " look, severity, effectivity, author, credit, made_at)"
                    " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
        [SQL_EDIT] = "UPDATE reports SET title = ?1, model = ?2, model_key = ?3, step = ?4,"
                     " step_key = ?5, zone = ?6, seen = ?7, look = ?8, severity = ?9,"
                     " effectivity = ?10, edited_at = ?12 WHERE id = ?11",
        [SQL_SET_CREDIT] = "UPDATE reports SET credit = ?2 WHERE id = ?1 AND author = ?3"
                           " AND removed_at = 0",
        [SQL_SET_FINDERS_CREDIT] = "UPDATE findings SET credit = ?2 WHERE report_id = ?1"
                                   " AND author = ?3",
        [SQL_CLEAR_PARTS] = "DELETE FROM report_parts WHERE report_id = ?1",
        [SQL_ADD_PART] = "INSERT INTO report_parts (report_id, place, part, part_key)"
                         " VALUES (?1, ?2, ?3, ?4)",
        [SQL_PARTS] = "SELECT part FROM report_parts WHERE report_id = ?1 ORDER BY place",
        [SQL_INDEX] = "INSERT INTO report_search (rowid, title, seen, look, parts)"
                      " SELECT id, title, seen, look, coalesce((SELECT group_concat(part, ' ')"
                      " FROM report_parts WHERE report_id = r.id), '')"
                      " FROM reports r WHERE id = ?1 AND " STANDS,
        [SQL_UNINDEX] = "DELETE FROM report_search WHERE rowid = ?1",
        [SQL_TOUCH] = "UPDATE reports SET version = version + 1 WHERE id = ?1"
                      " OR id = (SELECT merged_into FROM reports WHERE id = ?1)",
        [SQL_MAY_CHANGE] = "SELECT " BY_MEMBER "(role >= 1 OR id = r.author)) FROM reports r"
                           " WHERE r.id = ?1 AND " STANDS,
        [SQL_MAY_STEER] = "SELECT " BY_MEMBER "role >= 1) FROM reports r"
                          " WHERE r.id = ?1 AND " STANDS,
        [SQL_MAY_PUT_BACK] = "SELECT " BY_MEMBER "role >= 1) FROM reports r"
                             " WHERE r.id = ?1 AND r.removed_at <> 0",
        [SQL_MAY_PART] = "SELECT " BY_MEMBER "role >= 1) FROM reports r"
                         " WHERE r.id = ?1 AND r.merged_into IS NOT NULL",
        [SQL_STANDING] = "SELECT merged_into IS NULL FROM reports WHERE id = ?1"
                         " AND removed_at = 0",
        [SQL_INTO] = "SELECT merged_into FROM reports WHERE id = ?1",
        [SQL_REMOVE] = "UPDATE reports SET removed_at = ?2, removed_by = ?3, remove_reason = ?4"
                       " WHERE id = ?1",
        [SQL_PUT_BACK] = "UPDATE reports SET removed_at = 0, removed_by = NULL,"
                         " remove_reason = '' WHERE id = ?1",
        [SQL_MERGE] = "UPDATE reports SET version = version + 1, merged_into = ?2,"
                      " merged_first = iif(id = ?1, ?2, merged_first)"
                      " WHERE id = ?1 OR merged_into = ?1",
        [SQL_PART] = "WITH RECURSIVE branch (id) AS (SELECT ?1 UNION ALL"
                     " SELECT r.id FROM branch b JOIN reports r ON r.merged_first = b.id)"
                     " UPDATE reports SET version = version + 1,"
                     " merged_into = nullif(?1, id),"
                     " merged_first = iif(id = ?1, NULL, merged_first)"
                     " WHERE id IN (SELECT id FROM branch)",
        [SQL_LINK] = "UPDATE reports SET notice_id = ?2 WHERE id = ?1 AND notice_id IS NOT ?2",
        [SQL_LOG] = ADD_TO_LOG "VALUES (?1, ?2, ?3, ?4, ?5)",
        /* By its number: a title that is removed later must not stand here. */
        [SQL_LOG_REPORT] = ADD_TO_LOG "SELECT ?1, ?2, ?3, ?4, 'field report ' || id"
                                      " FROM reports WHERE id = ?5",
        [SQL_LOG_LINK] = ADD_TO_LOG "SELECT ?1, ?2, ?3, ?4, number FROM notices WHERE id = ?5",
        [SQL_READ] = "SELECT " REPORT_COLUMNS ", r.seen, r.look" FROM_REPORTS "WHERE r.id = ?1",
        [SQL_MERGED] = "SELECT " REPORT_COLUMNS ", r.seen, r.look" FROM_REPORTS
                       "WHERE r.merged_into = ?1 ORDER BY r.id",
        [SQL_MERGED_PARTS] = "SELECT p.report_id, p.part FROM reports r JOIN report_parts p"
                             " ON p.report_id = r.id WHERE r.merged_into = ?1"
                             " ORDER BY p.report_id, p.place",
        [SQL_BY] = "SELECT " REPORT_COLUMNS ", r.seen, r.look" FROM_REPORTS
                   "WHERE r.author = ?1 ORDER BY r.id",
        [SQL_BY_PARTS] = "SELECT p.report_id, p.part FROM reports r JOIN report_parts p"
                         " ON p.report_id = r.id WHERE r.author = ?1"
                         " ORDER BY p.report_id, p.place",
        [SQL_LOG_LIST] = "SELECT l.at, l.act, coalesce(m.name, 'removed member'), l.remark"
                         " FROM report_log l LEFT JOIN members m ON m.id = l.member_id"
                         " WHERE l.report_id = ?1 ORDER BY l.id DESC",
};

const struct sql_set report_sql = {SET_REPORTS, SQL_COUNT, texts};

const char *severity_words(enum severity severity)
{
	static const char *const words[SEVERITIES] = {
	        [SEVERITY_DANGER] = "could be dangerous: look before the next flight",
	        [SEVERITY_GROWS] = "grows worse if it is left: look soon",
	        [SEVERITY_WORK] = "makes work: look before you build over it",
	        [SEVERITY_GOOD_TO_KNOW] = "good to know",
	};

	return words[severity];
}

const char *report_act_words(enum report_act act)
{
	static const char *const words[REPORT_ACTS] = {
	        [REPORT_EDITED] = "edited",
	        [REPORT_REMOVED] = "removed",
	        [REPORT_PUT_BACK] = "put back",
	        [REPORT_MERGED] = "merged into another",
	        [REPORT_PARTED] = "parted again",
	        [REPORT_LINKED] = "linked to a notice",
	        [REPORT_UNLINKED] = "link to a notice taken away",
	        [REPORT_REMARK_REMOVED] = "remark of an answer removed",
	};

	return words[act];
}

static struct query start_of(struct store *store, size_t which, struct arena *arena,
                             struct report_id id)
{
	struct query q = query_start(store, &report_sql, which, arena);

	bind_int(&q, id.v);
	return q;
}

static enum status run_of(struct store *store, size_t which, struct report_id id)
{
	struct query q = start_of(store, which, NULL, id);

	return query_run(&q);
}

enum status report_touch(struct store *store, struct report_id id)
{
	return run_of(store, SQL_TOUCH, id);
}

/* May this member do it? ST_MISSING when the report is not as it must be for that. */
static enum status check_may(struct store *store, size_t which, struct report_id id,
                             struct member_id by)
{
	struct query q = start_of(store, which, NULL, id);
	int64_t may = 0;
	enum status status;

	bind_int(&q, by.v);
	status = query_int(&q, &may);
	return status == ST_OK && !may ? ST_DENIED : status;
}

static enum status reindex(struct store *store, struct report_id id)
{
	enum status status = run_of(store, SQL_UNINDEX, id);

	return status == ST_OK ? run_of(store, SQL_INDEX, id) : status;
}

/* The log -------------------------------------------------------------------- */

/* Who did what to which report, when. */
struct deed {
	struct report_id id;
	struct member_id by;
	int64_t at;
	enum report_act act;
};

static struct query start_log(struct store *store, size_t which, const struct deed *deed)
{
	struct query q = start_of(store, which, NULL, deed->id);

	bind_int(&q, deed->at);
	bind_int(&q, deed->by.v);
	bind_int(&q, deed->act);
	return q;
}

static enum status log_deed(struct store *store, const struct deed *deed, const char *remark)
{
	struct query q = start_log(store, SQL_LOG, deed);

	bind_text(&q, remark);
	return query_run(&q);
}

/* Names another thing in the log: a report and a notice by its number. ST_MISSING: there is none.
 */
static enum status log_other(struct store *store, size_t which, const struct deed *deed, int64_t id)
{
	struct query q = start_log(store, which, deed);

	bind_int(&q, id);
	return query_run_one(&q);
}

/* Reading -------------------------------------------------------------------- */

void report_read_head(struct query *q, struct report *report)
{
	struct report_content *content = &report->content;

	report->id.v = read_int(q);
	report->author.v = read_int(q);
	report->author_name = read_text(q);
	report->credit = (enum credit)read_int(q);
	report->made_at = read_int(q);
	report->edited_at = read_int(q);
	report->version = read_int(q);
	content->severity = (enum severity)read_int(q);
	report->notice.v = read_int(q);
	report->notice_number = read_text(q);
	report->notice_stands = read_int(q) != 0;
	report->merged_into.v = read_int(q);
	report->removed_at = read_int(q);
	report->removed_by = read_text(q);
	content->title = read_text(q);
	content->model = read_text(q);
	content->step = read_text(q);
	content->zone = read_text(q);
	report->remove_reason = read_text(q);
	content->effectivity = read_text(q);
	content->seen = content->look = "";
}

static void read_whole(struct query *q, void *row)
{
	struct report *report = row;

	report_read_head(q, report);
	report->content.seen = read_text(q);
	report->content.look = read_text(q);
}

static void read_label(struct query *q, void *row)
{
	*(const char **)row = read_text(q);
}

static enum status read_report(struct store *store, struct arena *arena, struct report_id id,
                               struct report *out)
{
	struct query q = start_of(store, SQL_READ, arena, id);
	struct report report = {.id = {0}};
	struct rows parts = {0};
	enum status status;

	if (query_found(&q))
		read_whole(&q, &report);
	status = query_end(&q);
	if (status != ST_OK)
		return status;
	q = start_of(store, SQL_PARTS, arena, id);
	status = query_rows(&q, read_label, sizeof(const char *), &parts);
	if (status != ST_OK)
		return status;
	report.content.parts = (struct text_list){parts.at, parts.count};
	*out = report;
	return ST_OK;
}

enum status report_read(struct store *store, struct arena *arena, struct report_id id,
                        struct report *out)
{
	enum status status = act_begin_reading(store);

	if (status != ST_OK)
		return status;
	return act_end(store, read_report(store, arena, id, out));
}

static void read_log_entry(struct query *q, void *row)
{
	struct report_log_entry *entry = row;

	entry->at = read_int(q);
	entry->act = (enum report_act)read_int(q);
	entry->by = read_text(q);
	entry->remark = read_text(q);
}

enum status report_log(struct store *store, struct arena *arena, struct report_id id,
                       const struct report_log_entry **out, size_t *count)
{
	struct query q = start_of(store, SQL_LOG_LIST, arena, id);
	struct rows rows = {0};
	enum status status = query_rows(&q, read_log_entry, sizeof(struct report_log_entry), &rows);

	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

/* Whole reports by one statement, their parts by the next; both by an id. */
static enum status read_wholes(struct store *store, struct arena *arena, size_t which, int64_t id,
                               struct rows *rows)
{
	struct query q = query_start(store, &report_sql, which, arena);
	enum status status;
	struct report *reports;

	bind_int(&q, id);
	status = query_rows(&q, read_whole, sizeof(struct report), rows);
	reports = rows->at;
	if (status != ST_OK)
		return status;
	q = query_start(store, &report_sql, which + 1, arena);
	bind_int(&q, id);
	for (size_t i = 0; i < rows->count; i++) {
		struct rows parts = {0};

		query_rows_of(&q, reports[i].id.v, read_label, sizeof(const char *), &parts);
		reports[i].content.parts = (struct text_list){parts.at, parts.count};
	}
	return query_end(&q);
}

static enum status list_wholes(struct store *store, struct arena *arena, size_t which, int64_t id,
                               const struct report **out, size_t *count)
{
	struct rows rows = {0};
	enum status status = act_begin_reading(store);

	if (status == ST_OK)
		status = act_end(store, read_wholes(store, arena, which, id, &rows));
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

enum status report_merged(struct store *store, struct arena *arena, struct report_id id,
                          const struct report **out, size_t *count)
{
	return list_wholes(store, arena, SQL_MERGED, id.v, out, count);
}

enum status report_list_by(struct store *store, struct arena *arena, struct member_id author,
                           const struct report **out, size_t *count)
{
	return list_wholes(store, arena, SQL_BY, author.v, out, count);
}

/* Writing -------------------------------------------------------------------- */

static void bind_content(struct query *q, const struct report_content *content)
{
	bind_text(q, content->title);
	bind_name_text(q, content->model);
	bind_name_text(q, content->step);
	bind_text(q, content->zone);
	bind_text(q, content->seen);
	bind_text(q, content->look);
	bind_int(q, content->severity);
	bind_text(q, content->effectivity);
}

static enum status set_parts(struct store *store, struct report_id id,
                             const struct text_list *parts)
{
	enum status status = bound_fits(store, BOUND_REPORT_PARTS_MOST, (int64_t)parts->count);

	if (status == ST_OK)
		status = run_of(store, SQL_CLEAR_PARTS, id);
	for (size_t i = 0; status == ST_OK && i < parts->count; i++) {
		struct query q = start_of(store, SQL_ADD_PART, NULL, id);

		bind_int(&q, (int64_t)i);
		bind_name_text(&q, parts->at[i]);
		status = query_run(&q);
	}
	return status == ST_OK ? reindex(store, id) : status;
}

static enum status insert(struct store *store, const struct report_content *content,
                          struct member_id author, enum credit credit, int64_t now,
                          struct report_id *out)
{
	struct query q = query_start(store, &report_sql, SQL_ADD, NULL);
	enum status status;

	bind_content(&q, content);
	bind_int(&q, author.v);
	bind_int(&q, credit);
	bind_int(&q, now);
	status = query_insert(&q, &out->v);
	return status == ST_OK ? set_parts(store, *out, &content->parts) : status;
}

/* ST_MISSING: the member made no such report just now. */
static enum status find_twice(struct store *store, const struct report_content *content,
                              const struct finding_entry *own, int64_t now, struct report_id *out)
{
	struct query q = query_start(store, &report_sql, SQL_TWICE, NULL);

	bind_int(&q, own->author.v);
	bind_int(&q, now);
	bind_text(&q, content->title);
	bind_text(&q, content->seen);
	bind_int(&q, own->kit.v);
	return query_int(&q, &out->v);
}

static enum status add_new(struct store *store, const struct report_content *content,
                           struct finding_entry *own, int64_t now)
{
	struct finding_id finding;
	enum status status = bound_room(store, BOUND_REPORTS_A_DAY, own->author.v, 1, now);

	if (status == ST_OK)
		status = insert(store, content, own->author, own->credit, now, &own->report);
	return status == ST_OK ? finding_add(store, own, now, &finding) : status;
}

enum status report_add(struct store *store, const struct report_content *content, struct kit_id kit,
                       struct member_id author, enum credit credit, int64_t now,
                       struct report_id *out)
{
	struct finding_entry own = {.kit = kit,
	                            .author = author,
	                            .answer = ANSWER_FOUND,
	                            .credit = credit,
	                            .remark = ""};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = find_twice(store, content, &own, now, &own.report);
	if (status == ST_MISSING)
		status = add_new(store, content, &own, now);
	status = act_end(store, status);
	if (status == ST_OK)
		*out = own.report;
	return status;
}

static void say_words(const struct report_content *content, struct text *out)
{
	const char *const lines[][2] = {
	        {"title", content->title},
	        {"model", content->model},
	        {"step", content->step},
	        {"zone", content->zone},
	        {"severity", severity_words(content->severity)},
	        {"kits that could have it", content->effectivity},
	        {"what was seen", content->seen},
	        {"how to look", content->look},
	};

	for (size_t i = 0; i < sizeof lines / sizeof *lines; i++)
		if (*lines[i][1])
			text_printf(out, "%s: %s\n", lines[i][0], lines[i][1]);
	for (size_t i = 0; i < content->parts.count; i++)
		text_printf(out, "part: %s\n", content->parts.at[i]);
}

/* The words before the edit. */
static enum status log_words(struct store *store, struct arena *arena, const struct deed *deed)
{
	struct text words = TEXT_EMPTY;
	struct report report;
	enum status status = read_report(store, arena, deed->id, &report);

	if (status != ST_OK)
		return status;
	say_words(&report.content, &words);
	status = text_failed(&words) ? ST_NOMEM : log_deed(store, deed, text_string(&words));
	text_free(&words);
	return status;
}

static enum status edit(struct store *store, struct arena *arena, const struct deed *deed,
                        const struct report_content *content)
{
	enum status status = check_may(store, SQL_MAY_CHANGE, deed->id, deed->by);
	struct query q;

	if (status == ST_OK)
		status = bound_room(store, BOUND_REPORT_EDITS_MOST, deed->id.v, 1, deed->at);
	if (status == ST_OK)
		status = log_words(store, arena, deed);
	if (status != ST_OK)
		return status;
	q = query_start(store, &report_sql, SQL_EDIT, NULL);
	bind_content(&q, content);
	bind_int(&q, deed->id.v);
	bind_int(&q, deed->at);
	status = query_run(&q);
	if (status == ST_OK)
		status = set_parts(store, deed->id, &content->parts);
	return status == ST_OK ? report_touch(store, deed->id) : status;
}

enum status report_edit(struct store *store, struct report_id id,
                        const struct report_content *content, struct member_id by, int64_t now)
{
	struct arena *arena = arena_new();
	enum status status = arena ? act_begin(store) : ST_NOMEM;

	if (status == ST_OK)
		status = act_end(store, edit(store, arena,
		                             &(struct deed){id, by, now, REPORT_EDITED}, content));
	arena_free(arena);
	return status;
}

static struct query start_credit(struct store *store, size_t which, struct report_id id,
                                 enum credit credit, struct member_id author)
{
	struct query q = query_start(store, &report_sql, which, NULL);

	bind_int(&q, id.v);
	bind_int(&q, credit);
	bind_int(&q, author.v);
	return q;
}

static enum status set_credit(struct store *store, struct report_id id, enum credit credit,
                              struct member_id author)
{
	struct query q = start_credit(store, SQL_SET_CREDIT, id, credit, author);
	enum status status = query_run_one(&q);

	if (status != ST_OK)
		return status;
	q = start_credit(store, SQL_SET_FINDERS_CREDIT, id, credit, author);
	status = query_run(&q);
	return status == ST_OK ? report_touch(store, id) : status;
}

enum status report_set_credit(struct store *store, struct report_id id, enum credit credit,
                              struct member_id author)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, set_credit(store, id, credit, author));
}

static enum status take_off(struct store *store, const struct deed *deed, const char *reason)
{
	enum status status = check_may(store, SQL_MAY_CHANGE, deed->id, deed->by);
	struct query q;

	if (status != ST_OK)
		return status;
	q = start_of(store, SQL_REMOVE, NULL, deed->id);
	bind_int(&q, deed->at);
	bind_int(&q, deed->by.v);
	bind_text(&q, reason);
	status = query_run(&q);
	if (status == ST_OK)
		status = reindex(store, deed->id);
	if (status == ST_OK)
		status = log_deed(store, deed, reason);
	if (status == ST_OK)
		status = calls_report_removed(store, deed->id, deed->by, deed->at);
	return status == ST_OK ? report_touch(store, deed->id) : status;
}

enum status report_remove(struct store *store, struct report_id id, struct member_id by,
                          const char *reason, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, take_off(store, &(struct deed){id, by, now, REPORT_REMOVED}, reason));
}

static enum status put_back(struct store *store, const struct deed *deed)
{
	enum status status = check_may(store, SQL_MAY_PUT_BACK, deed->id, deed->by);

	if (status == ST_OK)
		status = run_of(store, SQL_PUT_BACK, deed->id);
	if (status == ST_OK)
		status = reindex(store, deed->id);
	if (status == ST_OK)
		status = log_deed(store, deed, "");
	return status == ST_OK ? report_touch(store, deed->id) : status;
}

enum status report_put_back(struct store *store, struct report_id id, struct member_id by,
                            int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, put_back(store, &(struct deed){id, by, now, REPORT_PUT_BACK}));
}

/* Merging -------------------------------------------------------------------- */

/* Does it stand, and by itself? */
static enum status check_into(struct store *store, struct report_id into)
{
	struct query q = start_of(store, SQL_STANDING, NULL, into);
	int64_t by_itself = 0;
	enum status status = query_int(&q, &by_itself);

	return status == ST_OK && !by_itself ? ST_CONFLICT : status;
}

static enum status merge(struct store *store, const struct deed *deed, struct report_id into)
{
	enum status status = check_may(store, SQL_MAY_STEER, deed->id, deed->by);
	struct query q;

	if (status == ST_OK)
		status = deed->id.v == into.v ? ST_CONFLICT : check_into(store, into);
	if (status == ST_OK)
		status = log_other(store, SQL_LOG_REPORT, deed, into.v);
	if (status != ST_OK)
		return status;
	q = start_of(store, SQL_MERGE, NULL, deed->id);
	bind_int(&q, into.v);
	status = query_run(&q);
	if (status == ST_OK)
		status = reindex(store, deed->id);
	if (status == ST_OK)
		status = findings_recount(store, into);
	return status == ST_OK ? report_touch(store, into) : status;
}

enum status report_merge(struct store *store, struct report_id id, struct report_id into,
                         struct member_id by, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, merge(store, &(struct deed){id, by, now, REPORT_MERGED}, into));
}

static enum status read_into(struct store *store, struct report_id id, struct report_id *out)
{
	struct query q = start_of(store, SQL_INTO, NULL, id);

	return query_int(&q, &out->v);
}

static enum status part(struct store *store, const struct deed *deed)
{
	struct report_id from = {0};
	enum status status = check_may(store, SQL_MAY_PART, deed->id, deed->by);

	if (status == ST_OK)
		status = read_into(store, deed->id, &from);
	if (status == ST_OK)
		status = log_other(store, SQL_LOG_REPORT, deed, from.v);
	if (status == ST_OK)
		status = run_of(store, SQL_PART, deed->id);
	if (status == ST_OK)
		status = reindex(store, deed->id);
	if (status == ST_OK)
		status = findings_recount(store, deed->id);
	if (status == ST_OK)
		status = findings_recount(store, from);
	return status == ST_OK ? report_touch(store, from) : status;
}

enum status report_part(struct store *store, struct report_id id, struct member_id by, int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, part(store, &(struct deed){id, by, now, REPORT_PARTED}));
}

/* Linking -------------------------------------------------------------------- */

static enum status link_notice(struct store *store, const struct deed *deed,
                               struct notice_id notice)
{
	enum status status = check_may(store, SQL_MAY_STEER, deed->id, deed->by);
	struct query q;

	if (status == ST_OK)
		status = notice.v ? log_other(store, SQL_LOG_LINK, deed, notice.v)
		                  : log_deed(store, deed, "");
	if (status != ST_OK)
		return status;
	q = start_of(store, SQL_LINK, NULL, deed->id);
	bind_id_or_null(&q, notice.v);
	status = query_run_one(&q);
	return status == ST_OK ? report_touch(store, deed->id) : status;
}

enum status report_link(struct store *store, struct report_id id, struct notice_id notice,
                        struct member_id by, int64_t now)
{
	struct deed deed = {id, by, now, notice.v ? REPORT_LINKED : REPORT_UNLINKED};
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	return act_end(store, link_notice(store, &deed, notice));
}
