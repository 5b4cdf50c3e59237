#include "store/acts.h"

#include <stdio.h>

#include "store/notices.h"
#include "store/sql.h"

#define SUBJECT_LONGEST 300 /* characters */

enum { SQL_ADD, SQL_LIST, SQL_TOTAL, SQL_COUNT };

/* ?1, ?2: masks of kinds, of acts and of the log of notices; ?3, ?4: who and whom,
 * 0: anybody; ?5, ?6: times. Imports stand once, as acts. */
#define ACTS_WANTED                                                                                \
	" WHERE ?1 >> a.act & 1 AND (?3 = 0 OR a.by = ?3) AND (?4 = 0 OR a.whom = ?4)"             \
	" AND a.at >= ?5 AND a.at < ?6"
#define NOTICES_WANTED                                                                             \
	" WHERE ?2 >> l.act & 1 AND (?3 = 0 OR l.member_id = ?3) AND ?4 = 0"                       \
	" AND l.at >= ?5 AND l.at < ?6"

static const char *const texts[SQL_COUNT] = {
        [SQL_ADD] = "INSERT INTO acts (act, by, at, whom, subject, remark)"
                    " VALUES (?1, ?2, ?3, ?4, substr(?5, 1, ?6), ?7)",
        [SQL_LIST] =
                "SELECT w.at, w.of_notice, w.act, w.whom, w.subject, w.remark, w.number,"
                " CASE w.by WHEN 0 THEN 'the command line' ELSE coalesce(b.name, 'removed member')"
                " END, coalesce(m.name, 'removed member') FROM ("
                "SELECT a.at, 0 AS of_notice, a.id, a.act, a.by, a.whom, a.subject, a.remark,"
                " '' AS number FROM acts a" ACTS_WANTED " UNION ALL "
                "SELECT l.at, 1, l.id, l.act, coalesce(l.member_id, -1), 0, l.label, l.remark,"
                " l.number FROM notice_log l" NOTICES_WANTED
                " ORDER BY 1 DESC, 2 DESC, 3 DESC LIMIT ?7 OFFSET ?8) w"
                " LEFT JOIN members b ON b.id = w.by LEFT JOIN members m ON m.id = w.whom"
                " ORDER BY w.at DESC, w.of_notice DESC, w.id DESC",
        [SQL_TOTAL] = "SELECT (SELECT count(*) FROM acts a" ACTS_WANTED
                      ") + (SELECT count(*) FROM notice_log l" NOTICES_WANTED ")",
};

const struct sql_set act_sql = {SET_ACTS, SQL_COUNT, texts};

static const char *const kind_words[ACT_KINDS] = {
        [DID_JOIN] = "joined",
        [DID_LEAVE] = "left",
        [DID_REMOVE] = "removed a member",
        [DID_ROLE] = "changed the role of",
        [DID_SHUT_OUT] = "shut out",
        [DID_LET_IN] = "let in again",
        [DID_INVITE] = "made an invite",
        [DID_INVITE_BACK] = "took an invite back",
        [DID_RESET_LINK] = "made a link for a new password of",
        [DID_RESET] = "set a new password by a link",
        [DID_SETTING] = "changed a setting",
        [DID_IMPORT] = "took in a file",
        [DID_LINE] = "saved a build line",
        [DID_LINE_REMOVE] = "removed a build line",
        [DID_PARTS_REMOVE] = "took out of the book of parts",
        [DID_MAIL_AGAIN] = "sent a mail again to",
        [DID_SECOND_ON] = "turned the code at sign-in on",
        [DID_SECOND_OFF] = "turned the code at sign-in off of",
};

#define BIT(kind) (INT64_C(1) << (kind))
#define OF_FILES (BIT(ACT_FILE_ADDED) | BIT(ACT_FILE_REMOVED))
#define OF_NOTICES ((BIT(LOG_ACTS) - 1) & ~BIT(ACT_IMPORTED))

/* Which kinds belong to a group, of acts and of the log of notices. */
static const struct {
	int64_t acts, notices;
} groups[ACT_GROUPS] = {
        [ACTS_ALL] = {BIT(ACT_KINDS) - 1, OF_NOTICES},
        [ACTS_MEMBERS] = {BIT(DID_JOIN) | BIT(DID_LEAVE) | BIT(DID_REMOVE) | BIT(DID_ROLE) |
                                  BIT(DID_SHUT_OUT) | BIT(DID_LET_IN),
                          0},
        [ACTS_INVITES] = {BIT(DID_INVITE) | BIT(DID_INVITE_BACK) | BIT(DID_JOIN), 0},
        [ACTS_PASSWORDS] = {BIT(DID_RESET_LINK) | BIT(DID_RESET) | BIT(DID_SECOND_ON) |
                                    BIT(DID_SECOND_OFF),
                            0},
        [ACTS_SETTINGS] = {BIT(DID_SETTING) | BIT(DID_MAIL_AGAIN), 0},
        [ACTS_IMPORTS] = {BIT(DID_IMPORT), 0},
        [ACTS_FILES] = {0, OF_FILES},
        [ACTS_NOTICES] = {0, OF_NOTICES},
        [ACTS_MODELS] = {BIT(DID_LINE) | BIT(DID_LINE_REMOVE) | BIT(DID_PARTS_REMOVE), 0},
};

enum status acts_add(struct store *store, const struct act_line *line)
{
	struct query q = query_start(store, &act_sql, SQL_ADD, NULL);

	bind_int(&q, line->kind);
	bind_int(&q, line->by.v ? line->by.v : store->doer);
	bind_int(&q, line->now ? line->now : store->doer_now);
	bind_int(&q, line->whom.v);
	bind_text(&q, line->subject ? line->subject : "");
	bind_int(&q, SUBJECT_LONGEST);
	bind_text(&q, line->remark ? line->remark : "");
	return query_run(&q);
}

enum status acts_add_import(struct store *store, size_t count, const char *one, const char *many)
{
	char subject[100];

	snprintf(subject, sizeof subject, "%zu %s", count, count == 1 ? one : many);
	return acts_add(store, &(struct act_line){DID_IMPORT, .subject = subject});
}

static void bind_filter(struct query *q, const struct act_filter *filter)
{
	bind_int(q, groups[filter->group].acts);
	bind_int(q, groups[filter->group].notices);
	bind_int(q, filter->by.v);
	bind_int(q, filter->whom.v);
	bind_int(q, filter->from);
	bind_int(q, filter->until);
}

static void read_act(struct query *q, void *row)
{
	struct act_row *act = row;
	bool of_notice;
	int64_t kind, whom;

	act->at = read_int(q);
	of_notice = read_int(q) != 0;
	kind = read_int(q);
	whom = read_int(q);
	act->subject = read_text(q);
	act->remark = read_text(q);
	act->number = read_text(q);
	act->by = read_text(q);
	act->whom = read_text(q);
	if (whom == 0 || (!of_notice && kind == DID_REMOVE)) /* who was removed is named no more */
		act->whom = "";
	act->did = of_notice ? log_act_words((enum log_act)kind) : kind_words[kind];
}

enum status acts_list(struct store *store, struct arena *arena, const struct act_filter *filter,
                      struct page page, const struct act_row **out, size_t *count, int64_t *total)
{
	struct query q = query_start(store, &act_sql, SQL_LIST, arena);
	struct query all = query_start(store, &act_sql, SQL_TOTAL, NULL);
	struct rows rows = {0};
	enum status status;

	bind_filter(&q, filter);
	bind_page(&q, page);
	bind_filter(&all, filter);
	status = query_page(&q, &all, read_act, sizeof(struct act_row), &rows, total);
	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}
