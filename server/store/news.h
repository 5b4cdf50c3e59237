/* news.h - what members are to be told, and what of each kit its builder has
 * been told.
 *
 * News is written once and never changed; its words tell the reason as it was
 * then. It goes with what it is about: kit, notice, report, note, member. What is
 * read of it does not depend on how much of it there is: lists go backwards from
 * an id, and what is not seen yet is counted up to NEWS_COUNTED only.
 */
#ifndef STORE_NEWS_H
#define STORE_NEWS_H

#include "core/told.h"
#include "store/kits.h"
#include "store/notes.h"
#include "store/reports.h"

#define NEWS_WORDS_LONGEST 4000 /* characters */
#define NEWS_COUNTED 10         /* unseen ones are counted no further */

enum news_kind {
	NEWS_NEW,     /* a notice that concerns a kit, or may */
	NEWS_REVISED, /* a notice */
	NEWS_CANCELLED,
	NEWS_STANDING, /* another standing of a notice, or overdue since */
	NEWS_ANSWER,   /* to a note of the member's */
	NEWS_FINDING,  /* on a report of the member's */
	NEWS_STATE,    /* of a report that the member made or answered */
	NEWS_REPORT,   /* a new one, that concerns a kit or may */
	NEWS_POINTED   /* another member points something out */
};
#define NEWS_KINDS 9

/* "new notice", ...; borrowed. */
const char *news_kind_words(enum news_kind kind);

/* To be added; v 0: not of one. words is never NULL. */
struct news_entry {
	struct member_id member; /* whom it is for */
	enum news_kind kind;
	bool mandatory; /* mailed at once */
	struct kit_id kit;
	struct notice_id notice;
	struct report_id report;
	struct note_id note;
	struct member_id from; /* who answered, found or points out */
	const char *words;     /* why, or the message */
};

struct news {
	int64_t id; /* later news has a higher one */
	struct member_id member;
	int64_t at;
	enum news_kind kind;
	bool mandatory;
	bool seen;
	struct kit_id kit; /* v 0 for all of these: none */
	struct notice_id notice;
	struct report_id report;
	struct note_id note;
	const char *kit_name;                     /* "" when none */
	const char *notice_number, *notice_title; /* of its current revision; "" when none */
	const char *report_title;                 /* "" when none */
	const char *from_name; /* "" when none, or a removed member, or one who stays unnamed */
	const char *words;
};

/* ST_CONFLICT: no such member, kit, notice ..., or the words are too long. */
enum status news_add(struct store *store, const struct news_entry *entry, int64_t now) MUST_CHECK;

/* The member's, newest first, from below the id `before` (0: from the newest), at
 * most `most`. */
enum status news_list(struct store *store, struct arena *arena, struct member_id member,
                      int64_t before, size_t most, const struct news **out,
                      size_t *count) MUST_CHECK;
/* All up to this id are seen. An id that is not above what was seen before, or that is
 * none of the member's, changes nothing. */
enum status news_mark_seen(struct store *store, struct member_id member, int64_t up_to) MUST_CHECK;

/* For mail: what was not put into one yet, oldest first, at most `most`. */
enum status news_to_mail(struct store *store, struct arena *arena, struct member_id member,
                         bool mandatory_only, size_t most, const struct news **out,
                         size_t *count) MUST_CHECK;
/* What that gave, up to this id, is in a mail, or not to be. */
enum status news_set_mailed(struct store *store, struct member_id member, bool mandatory_only,
                            int64_t up_to) MUST_CHECK;

/* Kits: what their builders have been told (core/told.h) ------------------- */

/* What was compared last; all 0: never. */
struct told_mark {
	int64_t generation; /* of the notices */
	int64_t version;    /* of the kit */
	day_number day;
};

/* In order of notice id. ST_MISSING: no such kit. */
enum status told_read(struct store *store, struct arena *arena, struct kit_id kit,
                      struct told_mark *mark, const struct told **out, size_t *count) MUST_CHECK;

/* One comparison, kept: the mark, the rows and the news all or nothing. */
struct told_step {
	struct kit_id kit;
	struct told_mark before, after;
	bool rows_stay; /* they are as they were; rows is not used */
	const struct told *rows;
	size_t n_rows;
	const struct news_entry *news;
	size_t n_news;
};
/* ST_CONFLICT: somebody else compared meanwhile (the mark is not `before`).
 * ST_MISSING: no such kit. */
enum status told_replace(struct store *store, const struct told_step *step, int64_t now) MUST_CHECK;

/* Kits whose mark is not of that generation and day, or of an earlier version
 * of the kit: those above `after`, in order, at most `most`. */
enum status told_stale(struct store *store, struct arena *arena, int64_t generation, day_number day,
                       struct kit_id after, size_t most, const struct kit_id **out,
                       size_t *count) MUST_CHECK;

/* Those of one member, all of them. */
enum status told_stale_of(struct store *store, struct arena *arena, struct member_id owner,
                          int64_t generation, day_number day, const struct kit_id **out,
                          size_t *count) MUST_CHECK;

/* Reports ------------------------------------------------------------------- */

/* New ones of which nobody was told, oldest first, above `after`. Those that are removed
 * or merged wait: they are told of once they are put back or parted again. */
enum status news_reports_new(struct store *store, struct arena *arena, struct report_id after,
                             size_t most, const struct report_id **out, size_t *count) MUST_CHECK;
/* Adds news and marks the report as told of, all or nothing. ST_CONFLICT: it is marked
 * already. */
enum status news_tell_report(struct store *store, struct report_id report,
                             const struct news_entry *news, size_t n_news, int64_t now) MUST_CHECK;

/* The reporters of a report, and of those merged into it, have news of an answer
 * by another; called within the act that adds it. named: they may read the name. */
enum status news_add_finding(struct store *store, struct report_id report, struct member_id by,
                             bool named, const char *words, int64_t now) MUST_CHECK;

/* Reports whose state is another than their reporter and those who answered were told. */
struct report_change {
	struct report_id id;
	int told, now;               /* enum report_state, or REPORT_TOLD_MERGED */
	struct findings_tally tally; /* as it counts now */
	struct report_id into;       /* that it is merged into; v 0: none */
};
#define REPORT_TOLD_MERGED 4 /* put together with another */
/* Above `after`, in order, at most `most`; not those that are removed. */
enum status news_reports_changed(struct store *store, struct arena *arena, struct report_id after,
                                 size_t most, const struct report_change **out,
                                 size_t *count) MUST_CHECK;
/* All who are to know have the news, or none; of a merged one its own reporter alone.
 * ST_CONFLICT: told meanwhile. */
enum status news_tell_state(struct store *store, const struct report_change *change,
                            const char *words, int64_t now) MUST_CHECK;

#endif
