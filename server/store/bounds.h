/* bounds.h - how much of each thing a member may make or hold.
 *
 * One table. Whatever can be made again and again, or grow, has a row; the operation
 * that makes it asks for room in the transaction that makes it, and nothing else
 * decides. Limits are generous: who builds an aircraft does not meet them; they keep
 * one member, or a program in a member's name, from filling the box. Lengths of texts
 * are no rows: they stand beside each column, in the migrations.
 *
 * An operation that meets its limit returns ST_LIMIT, has changed nothing, and the
 * connection knows which row it was (store_act_for begins anew). Where something old may go in its
 * place it does not refuse; the row says so.
 */
#ifndef STORE_BOUNDS_H
#define STORE_BOUNDS_H

#include <stddef.h>
#include <stdint.h>

#include "store/store.h"

#define BOUND_DAY 86400 /* seconds, for rows that count what was made within them */

/* ROW(name of the limit, limit, within seconds or 0, what, of what, what to do then) */
#define BOUNDS(ROW)                                                                                \
	ROW(KITS_MOST, 50, 0, "kits", "a member", "Remove one that you need no more.")             \
	ROW(KIT_LIST_LONGEST, 2000, 0, "entries in one list of facts",                             \
	    "a kit (options, sub-kits, parts, steps, notices done, plans of steps: each)",         \
	    "Take out what no longer counts.")                                                     \
	ROW(KIT_STOCK_MOST, 5000, 0, "entries of parts counted, got and used", "a kit",            \
	    "Take back entries that you need no more.")                                            \
	ROW(KIT_LENGTHS_MOST, 200, 0, "rows of lengths, wanted and on hand", "a kit",              \
	    "Remove rows that you need no more.")                                                  \
	ROW(KIT_LOG_MOST, 10000, 0, "entries of hours, landings and events", "a kit",              \
	    "Enter fewer totals, one a month; taking one back still works.")                       \
	ROW(KIT_EVENTS_MOST, 200, 0, "events to come", "a kit", "Clear one that is over.")         \
	ROW(RECORDS_MOST, 5000, 0, "records and corrections", "a kit",                             \
	    "Keep further records on paper, and tell your admin; withdrawing one still works.")    \
	ROW(NOTES_A_DAY, 100, BOUND_DAY, "notes and answers", "a member",                          \
	    "Keep what you typed here and send it again tomorrow.")                                \
	ROW(NOTE_EDITS_MOST, 100, 0, "changes of the words", "a note",                             \
	    "Write an answer to it that says what is new.")                                        \
	ROW(HELPED_MOST, 5000, 0, "marks that a note helped", "a member",                          \
	    "Take some back on notes that you need no more.")                                      \
	ROW(PICTURES_MOST, 6, 0, "pictures", "a note, report or finding",                          \
	    "Remove one first, or write another note.")                                            \
	ROW(PICTURES_A_DAY, 60, BOUND_DAY, "pictures", "a member",                                 \
	    "Send them tomorrow, or the words without them.")                                      \
	ROW(CALLS_A_DAY, 20, BOUND_DAY, "calls for a steward", "a member",                         \
	    "Speak to a steward, or call again tomorrow.")                                         \
	ROW(REPORTS_A_DAY, 20, BOUND_DAY, "field reports", "a member",                             \
	    "Keep what you typed here and send it again tomorrow.")                                \
	ROW(REPORT_PARTS_MOST, 50, 0, "part numbers", "a field report",                            \
	    "Name the parts in which it was seen; write of the others in words.")                  \
	ROW(REPORT_EDITS_MOST, 100, 0, "changes of the words", "a field report",                   \
	    "Add a finding that says what is new.")                                                \
	ROW(FINDINGS_A_DAY, 100, BOUND_DAY, "findings, those of own reports too", "a member",      \
	    "Keep what you typed here and send it again tomorrow.")                                \
	ROW(POINTS_A_DAY, 20, BOUND_DAY, "notices and reports pointed out to others", "a member",  \
	    "Try again tomorrow.")                                                                 \
	ROW(MAIL_QUESTIONS_A_DAY, 5, BOUND_DAY, "questions to a mail address", "a member",         \
	    "Look for the mails that have gone out already, or try again tomorrow.")               \
	ROW(API_TOKENS_MOST, 50, 0, "tokens for programs", "a member", "End some first.")          \
	ROW(SESSIONS_MOST, 100, 0, "devices signed in", "a member",                                \
	    "The one used longest ago is signed out.")                                             \
	ROW(ADDRESSES_MOST, 20, 0, "addresses signed in from, as hashes", "a member",              \
	    "The one used longest ago is forgotten.")                                              \
	ROW(INVITES_A_DAY, 200, BOUND_DAY, "invites", "an admin", "Make the rest tomorrow.")       \
	ROW(DRAFTS_MOST, 200, 0, "drafts saved last, open or in checking", "a steward",            \
	    "Publish some, or discard those that lead nowhere.")                                   \
	ROW(REVISION_LIST_LONGEST, 500, 0, "entries in one list",                                  \
	    "a revision (lines, material, steps, links: each)",                                    \
	    "Split the notice, or join entries.")                                                  \
	ROW(ATTACHMENTS_MOST, 20, 0, "files", "a revision", "Remove one first.")                   \
	ROW(ATTACHMENT_LARGEST, 10485760, 0, "bytes", "a file of a notice",                        \
	    "Make it smaller, or split it.")                                                       \
	ROW(LINES_MOST, 200, 0, "build lines", "the chapter",                                      \
	    "Remove that of a model which nobody builds.")                                         \
	ROW(PACKING_LISTS_MOST, 5000, 0, "packing lists", "the book of parts",                     \
	    "Remove those that no kit of your members was packed by.")                             \
	ROW(NUMBER_CHANGES_MOST, 20000, 0, "changes of part numbers", "the book of parts",         \
	    "Remove those that no list needs.")                                                    \
	ROW(STOCK_CODES_MOST, 5000, 0, "stock codes", "the book of parts",                         \
	    "Remove those that nobody gets any more.")

#define BOUND_LIMIT(name, limit, within, what, of, then) name = (limit),
enum { BOUNDS(BOUND_LIMIT) BOUND_LIMITS_END };
#undef BOUND_LIMIT

#define BOUND_NAME(name, limit, within, what, of, then) BOUND_##name,
enum bound { BOUNDS(BOUND_NAME) BOUNDS_COUNT };
#undef BOUND_NAME

struct bound_row {
	const char *name;
	int64_t limit;
	int64_t within; /* seconds; 0: at any time */
	const char *what;
	const char *of;
	const char *then; /* what a member can do; where old ones go: what goes */
};
extern const struct bound_row bounds[BOUNDS_COUNT];

/* The row that the last ST_LIMIT since store_act_for was about. NULL: about none. */
const struct bound_row *bound_met(const struct store *store);

/* For the store's own operations. Room for so many more of what belongs to `of` (a
 * member, a kit, a note, ...: the row says; 0 for the chapter)? ST_LIMIT. `now` is
 * looked at where the row counts within a time; what lies ahead of it does not count. */
enum status bound_room(struct store *store, enum bound bound, int64_t of, int64_t more,
                       int64_t now) MUST_CHECK;
/* The same, of a number that the operation knows. */
enum status bound_fits(struct store *store, enum bound bound, int64_t count) MUST_CHECK;

#endif
