/* reports.h - field reports, the findings of others, and kit facts as they were.
 *
 * A report is made together with its reporter's own finding. Findings are only
 * added; which of them count is core's to say (core/findings.h). A report that
 * repeats another is merged into it: both stay, findings of both are read
 * together. A removed report keeps its trace. Every change of a report or its
 * findings raises its version, and that of the one it is merged into. What other
 * tables say does not: whether its notice stands goes with the generation of the
 * notices (settings.h), names of members with the members.
 *
 * When a member goes, reports, findings and remarks stay, by "removed member",
 * and credit falls back to nobody; when a kit goes, what was found on it stays
 * with the facts as they were. So no tally ever changes but by an answer or a
 * steward's merging.
 */
#ifndef STORE_REPORTS_H
#define STORE_REPORTS_H

#include "core/findings.h"
#include "store/bounds.h"
#include "store/kits.h"
#include "store/notices.h"

#define FINDING_REMARK_LONGEST 5000 /* characters */

struct report_id {
	int64_t v; /* 0: none */
};
struct finding_id {
	int64_t v;
};

/* Who reads the name of a reporter or finder. */
enum credit { CREDIT_NOBODY, CREDIT_MEMBERS, CREDIT_EVERYBODY };
#define CREDITS 3

enum severity { SEVERITY_DANGER, SEVERITY_GROWS, SEVERITY_WORK, SEVERITY_GOOD_TO_KNOW };
#define SEVERITIES 4
/* "could be dangerous: look before the next flight", ...; borrowed. */
const char *severity_words(enum severity severity);

/* What a reporter types. Texts are never NULL. */
struct report_content {
	const char *title;
	const char *model;
	const char *step, *zone; /* "" when not said */
	const char *seen, *look; /* what was seen; how to look */
	enum severity severity;
	const char
	        *effectivity; /* statement of the kits that could have it; parsed by the caller */
	struct text_list parts;
};

struct report {
	struct report_id id;
	struct member_id author;
	const char *author_name; /* "removed member" */
	enum credit credit;
	int64_t made_at, edited_at; /* edited_at 0: as first written */
	int64_t version;
	struct report_content content;
	struct notice_id notice;      /* drawn up from it or linked; v 0: none */
	const char *notice_number;    /* "" when none */
	bool notice_stands;           /* that notice is published and not cancelled: settled */
	struct report_id merged_into; /* v 0: stands by itself */
	int64_t removed_at;           /* 0: stands */
	const char *removed_by, *remove_reason;
};

struct finding_row {
	struct finding_id id;
	struct report_id report; /* that it was an answer to, before merging */
	struct kit_id kit;       /* may be gone */
	struct member_id author;
	const char *author_name; /* "removed member" */
	enum credit credit;
	enum finding_answer answer;
	int64_t at;
	const char *remark;        /* CommonMark; "" for none */
	const struct facts *facts; /* as they were: model, serial, dates, options, sub-kits, parts,
	                              hours, landings; or what of these the reader tells */
};

/* Writing. ST_MISSING: no such report, or it is removed or merged; no such kit.
 * ST_CONFLICT: a text is too long or one that must be is empty, or a part is
 * named twice; ST_LIMIT: more than REPORT_PARTS_MOST parts. */

/* kit: the reporter's own (ST_DENIED when it is not). The finding's remark is "".
 * Sent twice, the same title and words of what was seen on the same kit within 60
 * seconds, it is added once and both times has the first one's id.
 * ST_LIMIT also: REPORTS_A_DAY or FINDINGS_A_DAY within a day already. */
enum status report_add(struct store *store, const struct report_content *content, struct kit_id kit,
                       struct member_id author, enum credit credit, int64_t now,
                       struct report_id *out) MUST_CHECK;
/* By its author or a steward (else ST_DENIED); the words before go into the log. */
enum status report_edit(struct store *store, struct report_id id,
                        const struct report_content *content, struct member_id by,
                        int64_t now) MUST_CHECK;
/* Who reads the author's name on it and on the author's findings of it; by the
 * author alone. ST_MISSING: no such report of theirs, or it is removed. */
enum status report_set_credit(struct store *store, struct report_id id, enum credit credit,
                              struct member_id author) MUST_CHECK;
/* Takes it off the lists, and closes calls for a steward that wait for it; by its
 * author or a steward (else ST_DENIED). */
enum status report_remove(struct store *store, struct report_id id, struct member_id by,
                          const char *reason, int64_t now) MUST_CHECK;
/* By a steward (else ST_DENIED). ST_MISSING: it is not removed. */
enum status report_put_back(struct store *store, struct report_id id, struct member_id by,
                            int64_t now) MUST_CHECK;
/* By a steward. ST_CONFLICT: the same report, or `into` is itself merged. What was merged
 * into `id` follows it. */
enum status report_merge(struct store *store, struct report_id id, struct report_id into,
                         struct member_id by, int64_t now) MUST_CHECK;
/* Takes a merge back, and what came with it along. ST_MISSING: it is not merged. */
enum status report_part(struct store *store, struct report_id id, struct member_id by,
                        int64_t now) MUST_CHECK;
/* By a steward: the notice that settles it, or will when published; v 0: none any more.
 * ST_MISSING also: no such notice, or it is so already. */
enum status report_link(struct store *store, struct report_id id, struct notice_id notice,
                        struct member_id by, int64_t now) MUST_CHECK;

/* kit: the author's own (ST_DENIED when it is not). ST_LIMIT: FINDINGS_A_DAY within
 * a day already. */
struct finding_entry {
	struct report_id report;
	struct kit_id kit;
	struct member_id author;
	enum finding_answer answer;
	enum credit credit;
	const char *remark;
};
enum status finding_add(struct store *store, const struct finding_entry *entry, int64_t now,
                        struct finding_id *out) MUST_CHECK;
/* Takes the remark away, by its author or a steward (else ST_DENIED); the answer
 * stays, and the log says who did it, not what was there. ST_MISSING: no such
 * finding, or it has no remark. Also on reports that are removed or merged. */
enum status finding_remove_remark(struct store *store, struct finding_id id, struct member_id by,
                                  int64_t now) MUST_CHECK;

/* Reading: removed and merged ones too. ST_MISSING. */
enum status report_read(struct store *store, struct arena *arena, struct report_id id,
                        struct report *out) MUST_CHECK;
/* Every finding of a report and of those merged into it, oldest first: one
 * statement however many there are. Of the facts as they were only those that
 * findings are split by (core/findings.h): serial number, purchase date, plans,
 * options, numbers and lots of parts. None for a report that does not exist. */
enum status finding_list(struct store *store, struct arena *arena, struct report_id id,
                         const struct finding_row **out, size_t *count) MUST_CHECK;

/* All facts of a finding's kit as they were: these never change. ST_MISSING. */
enum status finding_facts(struct store *store, struct arena *arena, struct finding_id id,
                          struct facts *out) MUST_CHECK;

/* A member's own for the download of own data, oldest first: reports, removed and merged ones
 * too; findings with the facts as they were. */
enum status report_list_by(struct store *store, struct arena *arena, struct member_id author,
                           const struct report **out, size_t *count) MUST_CHECK;
enum status finding_list_by(struct store *store, struct arena *arena, struct member_id author,
                            const struct finding_row **out, size_t *count) MUST_CHECK;

enum report_act {
	REPORT_EDITED,
	REPORT_REMOVED,
	REPORT_PUT_BACK,
	REPORT_MERGED,
	REPORT_PARTED,
	REPORT_LINKED,
	REPORT_UNLINKED,
	REPORT_REMARK_REMOVED
};
#define REPORT_ACTS 8
const char *report_act_words(enum report_act act);
struct report_log_entry {
	int64_t at;
	enum report_act act;
	const char *by;
	const char *remark;
};
/* Newest first. */
enum status report_log(struct store *store, struct arena *arena, struct report_id id,
                       const struct report_log_entry **out, size_t *count) MUST_CHECK;
/* Reports merged into it, oldest first. */
enum status report_merged(struct store *store, struct arena *arena, struct report_id id,
                          const struct report **out, size_t *count) MUST_CHECK;

/* One row of a list, with the tally of the findings that count, merged ones
 * included; enough for report_state_of. */
struct report_row {
	struct report report; /* content.seen, look and parts are not filled in */
	struct findings_tally tally;
};

enum report_order { REPORTS_NEWEST, REPORTS_WORST, REPORTS_LOOKED };
/* Everything given must hold. "" and -1: any. Removed and merged ones are left out. */
struct report_query {
	const char
	        *words; /* every word begins a word of the report, or a part number holds it all */
	const char *model, *part, *step; /* whole, whatever their letter case */
	int state;                       /* enum report_state or -1 */
	struct member_id author;         /* v 0: any */
	struct notice_id notice;         /* v 0: any */
	enum report_order order;
	struct page page;
};
extern const struct report_query report_query_all;
enum status report_search(struct store *store, struct arena *arena,
                          const struct report_query *query, const struct report_row **out,
                          size_t *count, int64_t *total) MUST_CHECK;
/* Reports that this one may repeat: same model, and a part number in common (newest
 * first) or one of its longest words (best match first). At most `most`. Any text. */
enum status report_like(struct store *store, struct arena *arena, const char *model,
                        const char *words, const struct text_list *parts, size_t most,
                        const struct report_row **out, size_t *count) MUST_CHECK;

#endif
