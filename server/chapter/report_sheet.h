/* report_sheet.h - field reports with what their findings add up to, kept in memory.
 *
 * Reading two thousand findings with the facts of their kits takes longer than
 * all else on a report's page, so the outcome is kept: a bounded, counted
 * cache, keyed by report, its version, and whether a notice stands for it. The
 * report itself is read anew each time. Names in the rows are those of when
 * they were read: report_rows_now gives those of now for what is shown.
 */
#ifndef CHAPTER_REPORT_SHEET_H
#define CHAPTER_REPORT_SHEET_H

#include "store/reports.h"
#include "chapter/work.h"
#include "core/findings.h"

/* A report with all that its findings, and those of reports merged into it, add up to. */
struct report_sheet {
	struct counted *held; /* to be given back */
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
	struct split split; /* that separates best, if has_split */
	bool has_split;
};

/* To be given back with report_sheet_return. What the store says; ST_MISSING: no
 * such report; ST_NOMEM. */
enum status report_sheet_borrow(const struct work *work, struct report_id id,
                                struct report_sheet *out) MUST_CHECK;
void report_sheet_return(const struct work *work, const struct report_sheet *sheet);

/* The rows from `from` up to `to` (not included), counted from the newest, with names
 * and credit as they are now. to <= n_rows. Borrowed from the arena. ST_NOMEM. */
enum status report_rows_now(struct store *store, struct arena *arena,
                            const struct report_sheet *sheet, size_t from, size_t to,
                            struct finding_row **out) MUST_CHECK;
/* Gives a row, borrowed from the arena, all facts of its kit as they were. ST_NOMEM. */
enum status report_facts_whole(struct store *store, struct arena *arena,
                               struct finding_row *row) MUST_CHECK;

/* The cache, owned by struct chapter. */
struct counted_cache *report_cache_new(void); /* owned: counted_cache_free; NULL: memory ran out */

#endif
