/* fixture.h - a small chapter in memory, for the tests of the store. */
#ifndef TESTS_STORE_FIXTURE_H
#define TESTS_STORE_FIXTURE_H

#include "support.h"

#include "base/text.h"
#include "store/backup.h"
#include "store/calls.h"
#include "store/copies.h"
#include "store/feed_links.h"
#include "store/kit_log.h"
#include "store/kits.h"
#include "store/lines.h"
#include "store/members.h"
#include "store/notes.h"
#include "store/notices.h"
#include "store/parts.h"
#include "store/pictures.h"
#include "store/records.h"
#include "store/reports.h"
#include "store/seals.h"
#include "store/settings.h"
#include "store/sql.h"
#include "store/store.h"

#define NOW 1700000000 /* seconds; 2023-11-14 */
#define YEAR (365 * 86400)
#define YEAR_BACK (NOW - YEAR) /* the clock was set back: all that is there lies ahead */

#define assert_ok(call) assert_int_equal((call), ST_OK)

/* Three members (ann: admin, sam and sue: stewards, bob: builder), two kits of
 * bob's, the first with facts and three records, shown to
 * others, and the notices
 *   HF-SB-1  published, revisions "" and "A" (A credits ""), two lines
 *   HF-SB-2  published and cancelled
 *   HF-SB-3  a draft by sam, with one attachment
 *   HF-SB-4  by sam, in checking
 * and a build line for Whimbrel T, the first kit's model, and four reports of
 * bob's: on the first kit, with an answer from the second; on the second, with
 * another merged into it; and a removed one.
 */
struct world {
	struct store *store;
	struct arena *arena;
	struct member_id ann, sam, sue, bob;
	struct kit_id kit, bare_kit;
	struct line_id line;
	struct record_id record, last_record;
	struct kit_log_id log_first, log_last; /* corrected by another; the newest */
	struct notice_id one, two;
	struct revision_id one_first, one_current, draft, checking;
	struct attachment_id attachment;
	struct note_id note;
	struct picture_id picture;  /* on that note */
	struct note_subject on_one; /* the first notice */
	struct call_id call;        /* by ann, on the note */
	struct report_id report, repeat, merged, removed;
	struct finding_id finding; /* with a remark */
	struct hash invite, reset, session, token;
	struct session_id session_id;
	struct invite_id invite_id;
	struct api_token_id token_id;
	/* Of others; by crowd_make (crowd.h) alone. */
	struct {
		struct member_id dan, eve;
		struct kit_id kit, bare_kit;        /* dan's */
		struct note_id note, removed, step; /* dan's: on the first notice, on a step */
		struct note_id answer;              /* bob's, to dan's note */
		struct revision_id next;            /* a draft of HF-SB-2, which is published */
		struct report_id report;            /* dan's */
		struct finding_id finding;          /* dan's, on bob's report */
	} other;
};

int world_make(void **state); /* cmocka set-up: *state is a struct world */
int world_end(void **state);  /* after assert_sealed */

/* Do all seals fit? Says which do not. */
void assert_sealed(struct store *store);

struct name name_of(struct arena *arena, const char *text);
struct hash token_hash(const char *token);
struct revision_content content_of(const char *number, const char *label, const char *issued);
struct report_content report_of(const char *title, const char *part);
struct record record_of(struct arena *arena, const char *notice, const char *part);
struct line_entry line_entry_of(struct arena *arena, const char *model);
/* Two lists of sub-kit 4, a change, an angle; borrowed from the arena. */
struct parts_source parts_of(struct arena *arena);
struct stock_entry stock_of(struct arena *arena, const char *number, enum stock_act act);
struct facts facts_full(struct arena *arena); /* every kind of fact */

/* Every row of every table, for comparing. Owned by text. */
void dump_database(struct store *store, struct text *out);

/* Runs SQL behind the store's back. */
void sql_exec(struct store *store, const char *sql);
int64_t sql_number(struct store *store, const char *sql);

#endif
