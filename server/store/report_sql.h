/* report_sql.h - what the files of reports and findings share; not for other layers. */
#ifndef STORE_REPORT_SQL_H
#define STORE_REPORT_SQL_H

#include "store/reports.h"
#include "store/sql.h"

/* Columns of a report r in the order of report_read_head; with
 * FROM_REPORTS. The long texts seen and look are not among them. */
#define REPORT_COLUMNS                                                                             \
	"r.id, r.author, coalesce(a.name, 'removed member'), iif(a.id IS NULL, 0, r.credit),"      \
	" r.made_at, r.edited_at, r.version, r.severity, coalesce(r.notice_id, 0),"                \
	" coalesce(n.number, ''), n.current_revision IS NOT NULL AND n.cancelled_on = '',"         \
	" coalesce(r.merged_into, 0), r.removed_at,"                                               \
	" CASE WHEN r.removed_at = 0 THEN '' ELSE coalesce(b.name, 'removed member') END,"         \
	" r.title, r.model, r.step, r.zone, r.remove_reason, r.effectivity"
#define FROM_REPORTS                                                                               \
	" FROM reports r LEFT JOIN members a ON a.id = r.author"                                   \
	" LEFT JOIN notices n ON n.id = r.notice_id LEFT JOIN members b ON b.id = r.removed_by "
/* Reports whose findings are read together: that of ?1 and those merged into it. */
#define READ_TOGETHER "(SELECT ?1 UNION ALL SELECT id FROM reports WHERE merged_into = ?1)"

void report_read_head(struct query *q, struct report *report);

/* The facts of a kit as they are now, with its version: a new snapshot or the
 * one that there is. ST_MISSING: no such kit. */
enum status snapshot_take(struct store *store, struct kit_id kit, int64_t now,
                          int64_t *out) MUST_CHECK;

/* Columns of a snapshot s in the order of snapshot_read, into zeroed facts. */
#define OF_SNAPSHOT(key, ...) "s." #key ", "
#define SNAPSHOT_COLUMNS SINGLE_FACTS(OF_SNAPSHOT) "s.parts_known, s.options, s.subkits, s.parts"
void snapshot_read(struct query *q, struct facts *facts);
/* Those by which findings are split (core/findings.h), and no others. */
#define SPLITTING_COLUMNS "s.serial, s.purchased, s.plans, s.options, s.parts"
void snapshot_read_splitting(struct query *q, struct facts *facts);

/* Counts the findings of a report that stands by itself anew. */
enum status findings_recount(struct store *store, struct report_id id) MUST_CHECK;
/* The report, and that which it is merged into, have changed. */
enum status report_touch(struct store *store, struct report_id id) MUST_CHECK;

#endif
