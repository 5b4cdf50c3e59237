/* notices.h - notices with their revisions, from draft to published and cancelled.
 *
 * A notice has a number, an issuer, a kind and revisions. Its newest published
 * revision is the current one. At most one revision at a time is being
 * worked on: a draft, then in checking, then published, or sent back, or
 * discarded. Another steward than the last editor must publish, unless the
 * chapter allows one steward (settings.h).
 *
 * A revision's content is kept as typed; a draft may be incomplete or hold a
 * faulty statement. What is published holds: number, issuer, title, issued
 * and a statement and lots that compile.
 *
 * Links to other notices are by number and need not exist. Who did what and
 * when is kept for ever in the log, also of drafts that were discarded.
 */
#ifndef STORE_NOTICES_H
#define STORE_NOTICES_H

#include "core/notice.h"
#include "store/bounds.h"
#include "store/members.h"

#define TITLE_LONGEST 200   /* characters */
#define PROSE_LONGEST 20000 /* characters of problem, action, compliance */

struct line_text {
	const char *part, *position, *replacement;
	enum disposition disposition;
	const char *lots; /* "3 thru 9", "" for every lot */
	const char *remark;
};

struct material_text {
	const char *item, *quantity, *remark;
	const char *part; /* number or stock code to look up; "": the item is it, or it has none */
	const char *cut;  /* lengths to cut of it, as core/length.h reads them; "" for none */
};

struct text_list {
	const char *const *at;
	size_t count;
};

/* Everything that a steward types. Texts are never NULL, "" when empty. */
/* The texts of a revision, described once. A row is
 *
 *     X(member, key, field, kind, longest, name, label, hint)
 *
 * member: of struct revision_content, and the column; key: in files and the API;
 * field: its input in the form of a draft; kind: of enum revision_text_kind without
 * TEXT_; longest: in characters; name: where revisions are compared; label and
 * hint: at the field. The form, files, SQL and the comparison walk the rows. */
#define REVISION_TEXTS(X)                                                                          \
	X(issued, "issued", "issued", DATE, 0, "Issued", "Issued",                                 \
	  "The date that it bears: 2017, 2017-09 or 2017-09-24")                                   \
	COPIED_TEXTS(X)
/* What a new revision begins with is that of the one before. */
#define COPIED_TEXTS(X)                                                                            \
	X(title, "title", "title", LINE, TITLE_LONGEST, "Title", "Title", NULL)                    \
	X(problem, "problem", "problem", PROSE, PROSE_LONGEST, "Problem", "What is wrong",         \
	  "An empty line begins a new paragraph")                                                  \
	X(action, "action", "work", PROSE, PROSE_LONGEST, "Action", "What to do",                  \
	  "Work steps are lines that begin with 1. 2. 3.")                                         \
	X(effectivity, "effectivity", "effectivity", STATEMENT, EFFECTIVITY_LONGEST,               \
	  "Effectivity", "Effectivity statement",                                                  \
	  "A condition a line, all must hold; a line “or” between groups")                         \
	X(compliance, "compliance", "compliance", PROSE, PROSE_LONGEST, "Compliance time",         \
	  "When, in words", "As the issuer says it: before first flight, within 10 hours")         \
	X(due, "due", "due", DUE, DUE_LONGEST, "Time limits", "Time limits",                       \
	  "The same to be computed, a limit a line; empty when none can be written")               \
	X(plans_carry, "plans_carry", "plans_carry", DATE, 0, "Plans that carry it",               \
	  "Plans that carry it",                                                                   \
	  "Only if the issuer states from which issue of the plans on. Newer plans alone prove "   \
	  "nothing")                                                                               \
	X(source, "published", "source", LINE, 500, "Published in", "Where it was published",      \
	  "Where the chapter can read the original")

enum revision_text_kind {
	TEXT_LINE,
	TEXT_PROSE,
	TEXT_DATE,      /* as typed */
	TEXT_STATEMENT, /* core/effectivity.h */
	TEXT_DUE        /* core/due.h */
};

#define REVISION_TEXT_NAME(member, ...) REVISION_TEXT_##member,
enum { REVISION_TEXTS(REVISION_TEXT_NAME) REVISION_TEXT_COUNT };
#undef REVISION_TEXT_NAME

struct revision_text {
	const char *key, *field, *name;
	enum revision_text_kind kind;
	unsigned longest;
	size_t at; /* offset in struct revision_content of a const char * */
};
extern const struct revision_text revision_texts[REVISION_TEXT_COUNT];

struct revision_content {
	/* Of the notice: once it has been published these stay as they are, and what
	 * is given here is not looked at. */
	const char *number, *issuer;
	enum notice_kind kind;
	/* Of the revision. */
	const char *revision; /* label, "" for an original issue without one */
	const char *title, *problem, *action, *compliance, *source;
	const char *effectivity;
	enum force force;
	const char *issued;      /* date as typed, "" or in one of the forms of date.h */
	const char *plans_carry; /* likewise */
	const char *due;         /* compliance time as a statement of limits, core/due.h */
	const struct line_text *lines;
	size_t n_lines;
	const struct material_text *material;
	size_t n_material;
	struct text_list steps, supersedes, requires, terminates;
	struct text_list credits; /* labels of earlier revisions */
};

/* A content with every text "" and no lists. */
extern const struct revision_content revision_content_empty;

/* The member that a row describes. */
const char **revision_text_at(struct revision_content *content, const struct revision_text *text);
const char *revision_text_of(const struct revision_content *content,
                             const struct revision_text *text);

enum revision_state { REVISION_DRAFT, REVISION_CHECKING, REVISION_PUBLISHED };

struct attachment_id {
	int64_t v;
};

struct attachment {
	struct attachment_id id;
	struct notice_id notice;
	struct revision_id revision;
	bool published; /* its revision is: anybody may read it */
	const char *name;
	const char *mime;
	int64_t size;
	struct hash hash;
};

struct revision {
	struct revision_id id;
	struct notice_id notice;
	enum revision_state state;
	bool current; /* the notice's current revision */
	int64_t edit; /* goes up with each save and each change of the files */
	struct member_id editor;
	const char *editor_name; /* who saved last; "removed member" */
	int64_t edited_at;
	struct member_id publisher;
	const char *publisher_name; /* "" until published */
	int64_t published_at;       /* 0 until then */
	const char *cancelled_on;   /* of the notice: a date, "" when it stands */
	const char *cancel_reason;
	bool notice_published; /* some revision of the notice is published */
	struct revision_content content;
	const struct attachment *attachments;
	size_t n_attachments;
};

/* Writing. ST_MISSING: no such notice or revision, or it is not in the state
 * that the act needs. ST_LIMIT: a list is longer than stated. */

/* ST_CONFLICT: the number is taken, whatever its letter case, or empty. */
enum status draft_new_notice(struct store *store, const struct revision_content *content,
                             struct member_id by, int64_t now, struct revision_id *out) MUST_CHECK;
/* A draft that starts as a copy of the current revision, attachments by
 * reference, without label and date. ST_MISSING: nothing is published;
 * ST_CONFLICT: there is a draft already. */
enum status draft_new_revision(struct store *store, struct notice_id notice, struct member_id by,
                               int64_t now, struct revision_id *out) MUST_CHECK;
/* edit: as it was read. ST_CONFLICT with *stale true: somebody saved in
 * between (read it again and show both); false: the number or the label is
 * taken, or a field breaks a limit. A draft in checking becomes a draft again. */
enum status draft_save(struct store *store, struct revision_id id, int64_t edit,
                       const struct revision_content *content, struct member_id by, int64_t now,
                       bool *stale) MUST_CHECK;
enum status draft_submit(struct store *store, struct revision_id id, struct member_id by,
                         int64_t now) MUST_CHECK;
enum status draft_send_back(struct store *store, struct revision_id id, struct member_id by,
                            const char *remark, int64_t now) MUST_CHECK;
/* From checking, or from a draft where one steward is allowed. edit: what the
 * checker has read. ST_DENIED: `by` saved it last and the chapter asks for
 * two; ST_CONFLICT: somebody saved in between, or the label is taken;
 * ST_INVALID: incomplete, or statement or lots do not compile. Circles are
 * the caller's to refuse (catalogue_circle). A cancelled notice stands again. */
enum status draft_publish(struct store *store, struct revision_id id, int64_t edit,
                          struct member_id by, int64_t now) MUST_CHECK;
/* Goes for good; so does a notice that was never published. */
enum status draft_discard(struct store *store, struct revision_id id, struct member_id by,
                          int64_t now) MUST_CHECK;
/* on: a date. ST_MISSING: not published, or cancelled already. */
enum status notice_cancel(struct store *store, struct notice_id id, const char *on,
                          const char *reason, struct member_id by, int64_t now) MUST_CHECK;

/* A whole notice with its revisions, oldest first, published by `by` (v 0: by
 * nobody, from the command line before there are members). Number,
 * issuer and kind come from the first. ST_CONFLICT: the number is taken, or
 * two labels are the same; ST_INVALID as draft_publish. */
struct notice_import {
	const struct revision_content *revisions;
	size_t n_revisions;       /* at least 1 */
	const char *cancelled_on; /* "" when it stands */
	const char *cancel_reason;
};
enum status notice_import(struct store *store, const struct notice_import *notice,
                          struct member_id by, int64_t now, struct notice_id *out) MUST_CHECK;

/* Attachments of a draft (ST_MISSING when it is none, or in checking).
 * ST_LIMIT: too large, or too many. */
struct attachment_entry {
	const char *name; /* file name to show, 1 to 120 characters */
	const char *mime; /* "application/pdf", "image/png", "image/jpeg" ... */
	const void *bytes;
	size_t size; /* 1 to ATTACHMENT_LARGEST */
};
enum status attachment_add(struct store *store, struct revision_id draft,
                           const struct attachment_entry *entry, struct member_id by, int64_t now,
                           struct attachment_id *out) MUST_CHECK;
enum status attachment_remove(struct store *store, struct attachment_id id, struct member_id by,
                              int64_t now) MUST_CHECK;
/* ST_MISSING. out->size bytes at *bytes. */
enum status attachment_read(struct store *store, struct arena *arena, struct attachment_id id,
                            struct attachment *out, const void **bytes) MUST_CHECK;

/* Reading. ST_MISSING. */
enum status revision_read(struct store *store, struct arena *arena, struct revision_id id,
                          struct revision *out) MUST_CHECK;
/* The current revision, cancelled or not. ST_MISSING when none is published. */
enum status notice_current(struct store *store, struct arena *arena, struct notice_id id,
                           struct revision *out) MUST_CHECK;
/* By number, whatever its letter case; notices that have only a draft too. */
enum status notice_find(struct store *store, const char *number, struct notice_id *out) MUST_CHECK;

/* One row of a list of revisions or notices. */
struct notice_row {
	struct notice_id id;
	struct revision_id revision_id;
	const char *number, *revision, *issuer, *title;
	enum notice_kind kind;
	enum force force;
	enum revision_state state;
	const char *issued;       /* "" in a draft without date */
	const char *cancelled_on; /* "" when it stands */
	int64_t published_at;     /* 0 for drafts */
	int64_t edited_at;
	const char *editor_name;
	bool current;
};

/* Published revisions of one notice, newest first. */
enum status revision_list(struct store *store, struct arena *arena, struct notice_id id,
                          const struct notice_row **out, size_t *count) MUST_CHECK;
/* Drafts and what is in checking, edited last first. */
enum status draft_list(struct store *store, struct arena *arena, struct page page,
                       const struct notice_row **out, size_t *count, int64_t *total) MUST_CHECK;
/* The draft of one notice. ST_MISSING. */
enum status draft_of(struct store *store, struct notice_id id, struct revision_id *out) MUST_CHECK;

enum notice_order { ORDER_ISSUED, ORDER_NUMBER, ORDER_FORCE };

/* Everything given must hold. "" and -1 and 0: any. */
struct notice_query {
	const char *words;  /* every word begins a word of the notice; or a number holds it all */
	const char *part;   /* some part or notice number holds this */
	const char *issuer; /* whole, whatever its letter case */
	const char *model;  /* every word begins a word of the statement */
	int kind;           /* enum notice_kind or -1 */
	int force;          /* enum force or -1 */
	int year;           /* issued in it, or 0 */
	enum notice_order order;
	struct page page;
};

/* A query for everything, newest first, 50 at a time. */
extern const struct notice_query notice_query_all;

/* Current published notices, cancelled ones too. Any text is allowed. */
enum status notice_search(struct store *store, struct arena *arena,
                          const struct notice_query *query, const struct notice_row **out,
                          size_t *count, int64_t *total) MUST_CHECK;
/* Issuers of published notices in order, for a filter. */
enum status issuer_list(struct store *store, struct arena *arena, struct text_list *out) MUST_CHECK;

/* Every published notice as core sees it, cancelled ones too, ready for
 * catalogue_build; and the generation that they belong to. ST_INVALID: one
 * does not compile. */
enum status notice_load(struct store *store, struct arena *arena, const struct notice **out,
                        size_t *count, int64_t *generation) MUST_CHECK;

/* The log. */
enum log_act {
	ACT_DRAFTED,
	ACT_SAVED,
	ACT_SUBMITTED,
	ACT_SENT_BACK,
	ACT_PUBLISHED,
	ACT_DISCARDED,
	ACT_CANCELLED,
	ACT_IMPORTED,
	ACT_FILE_ADDED,
	ACT_FILE_REMOVED
};
#define LOG_ACTS (ACT_FILE_REMOVED + 1)

const char *log_act_words(enum log_act act); /* "sent back"; borrowed */

struct log_entry {
	int64_t at;
	enum log_act act;
	const char *by; /* name, "removed member" */
	const char *number, *revision;
	const char *remark; /* "" when none: reason, file name */
};

/* Newest first; notice.v 0: of all notices, discarded ones too. */
enum status log_list(struct store *store, struct arena *arena, struct notice_id notice,
                     struct page page, const struct log_entry **out, size_t *count,
                     int64_t *total) MUST_CHECK;

/* What anybody may learn of the log: a revision published, or a notice
 * cancelled. An entry stays as it is; of an imported notice it tells the
 * current revision. */
struct latest_notice {
	int64_t entry; /* of the log */
	int64_t at;
	bool cancelled; /* else published */
	struct notice_id id;
	struct revision_id revision_id;
	const char *number, *revision, *issuer, *issued, *title;
	enum notice_kind kind;
	enum force force;
	const char *problem; /* at most 600 characters; one cut short ends in U+2026 */
	const char *reason;  /* of cancelling; "" when published */
	bool current;        /* the revision is */
};

/* The newest so many, newest first; the cost does not grow with the log. */
enum status latest_list(struct store *store, struct arena *arena, int64_t limit,
                        const struct latest_notice **out, size_t *count) MUST_CHECK;

#endif
