/* report_cache.h - field reports with what their findings add up to, kept in memory.
 *
 * Reading two thousand findings with the facts of their kits takes longer than
 * all else on a report's page, so the outcome is kept: a bounded, counted
 * cache, keyed by report, its version, and whether a notice stands for it. The
 * report itself is read anew each time. Names in the rows are those of when
 * they were read: report_rows_now gives those of now for what is shown.
 */
#ifndef WEB_CHAPTER_REPORT_CACHE_H
#define WEB_CHAPTER_REPORT_CACHE_H

#include <jansson.h>

#include "store/reports.h"
#include "web/http/context.h"
#include "web/chapter/counted.h"

/* A report with all that its findings, and those of reports merged into it, add up to. */
struct report_sheet {
	struct report report;
	const struct finding_row *rows; /* oldest first; of their facts as finding_list */
	size_t n_rows;
	const bool *counts;             /* for each row */
	const struct finding *findings; /* those that count */
	size_t n_findings;
	struct findings_tally tally;
	enum report_state state;
	const struct kit_id *looked; /* kits whose answer that counts is a look, by id */
	size_t n_looked;
	json_t *sums; /* findings_view; nobody may change it */
};

/* Borrows the sheet for the call of use; passes on what that returns. What the
 * store says; ST_MISSING: no such report. */
typedef enum status report_use_fn(struct context *c, const struct report_sheet *sheet,
                                  void *context);
enum status report_with_sheet(struct context *c, struct report_id id, report_use_fn *use,
                              void *context) MUST_CHECK;

/* The rows from `from` up to `to` (not included), counted from the newest, with names
 * and credit as they are now. to <= n_rows. Borrowed from c's arena. ST_NOMEM. */
enum status report_rows_now(const struct context *c, const struct report_sheet *sheet, size_t from,
                            size_t to, struct finding_row **out) MUST_CHECK;
/* Gives a row, borrowed from c's arena, all facts of its kit as they were. ST_NOMEM. */
enum status report_facts_whole(const struct context *c, struct finding_row *row) MUST_CHECK;

/* The cache, owned by struct app. */
struct counted_cache *report_cache_new(void); /* owned: counted_cache_free; NULL: memory ran out */

#endif
