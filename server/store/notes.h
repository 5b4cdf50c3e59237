/* notes.h - free words of members on a notice, a step or a part.
 *
 * A note may be answered; answers go one level deep: who answers an answer
 * answers the note that it hangs on. Its author may change the words, and what
 * stood there before stays readable. A note that is removed leaves a trace:
 * that there was one, who took it away and when; its words, their history, its
 * pictures and its thanks go for good, its answers stay.
 */
#ifndef STORE_NOTES_H
#define STORE_NOTES_H

#include "core/notice.h"
#include "store/bounds.h"
#include "store/members.h"

#define NOTE_LONGEST 10000 /* characters */
#define NOTES_COUNTED 1000 /* a search counts no further than one more */

struct note_id {
	int64_t v; /* 0: none */
};

enum note_about { NOTE_ON_NOTICE, NOTE_ON_STEP, NOTE_ON_PART };

/* What a note is about. Steps and parts are named as typed, need not be in any
 * list, and are the same whatever their letter case. */
struct note_subject {
	enum note_about about;
	struct notice_id notice; /* v 0: a step or a part */
	const char *model;       /* of a step, else "" */
	const char *name;        /* code of the step, number of the part; "" for a notice */
};
struct note_subject note_on_notice(struct notice_id notice);

struct note {
	struct note_id id;
	struct note_subject of;
	const char *number;      /* of the notice; "" */
	struct note_id answers;  /* the note that it answers; v 0: a first one */
	struct member_id author; /* v 0: a removed member */
	const char *author_name; /* "removed member" */
	int64_t written_at;
	int64_t edited_at;      /* 0: as first written */
	const char *text;       /* CommonMark as typed; "" when removed */
	int64_t helped;         /* members whom it helped */
	bool helped_reader;     /* the reader is one of them */
	int64_t n_answers;      /* that it has */
	int64_t removed_at;     /* 0: stands */
	const char *removed_by; /* name; "" while it stands */
};

/* Sent twice, the same text by the same author on the same thing within 60 seconds, it is
 * added once and both times has the first one's id: answers too.
 * ST_CONFLICT: no such notice or member, or the text is empty or too long; ST_LIMIT:
 * NOTES_A_DAY within a day already. */
enum status note_add(struct store *store, const struct note_subject *of, struct member_id author,
                     const char *text, int64_t now, struct note_id *out) MUST_CHECK;
/* The authors of the note and of the one it hangs on have news of it. ST_MISSING:
 * no such note, or it is removed; ST_CONFLICT and ST_LIMIT as above. */
enum status note_answer(struct store *store, struct note_id id, struct member_id author,
                        const char *text, int64_t now, struct note_id *out) MUST_CHECK;
/* The same words change nothing. ST_MISSING as above; ST_DENIED: `by` is not its
 * author; ST_CONFLICT: the text is empty or too long. */
enum status note_edit(struct store *store, struct note_id id, struct member_id by, const char *text,
                      int64_t now) MUST_CHECK;
/* Takes the words away and keeps the trace; calls for a steward that wait for it are closed.
 * ST_MISSING: no such note, or it is removed already; ST_DENIED: `by` is neither its author nor
 * a steward. */
enum status note_remove(struct store *store, struct note_id id, struct member_id by,
                        int64_t now) MUST_CHECK;
/* Twice the same is once. ST_MISSING as above; ST_DENIED: it is the member's own. */
enum status note_set_helped(struct store *store, struct note_id id, struct member_id member,
                            bool helped) MUST_CHECK;

/* For member_remove: the member's notes go; of those that others have answered
 * the trace stays. */
enum status notes_forget_author(struct store *store, struct member_id author,
                                int64_t now) MUST_CHECK;

/* Reading. reader v 0: nobody in particular. */

enum note_order { NOTES_MOST_HELPED, NOTES_NEWEST }; /* of the first, the newest of equals first */
struct note_query {
	struct note_subject of;
	enum note_order order;
	struct member_id reader;
	int64_t answers; /* so many of the newest answers to each */
	struct page page;
};
/* First notes in that order, each followed by its newest answers, oldest of
 * them first; removed ones as traces. total counts the first ones. */
enum status note_list(struct store *store, struct arena *arena, const struct note_query *query,
                      const struct note **out, size_t *count, int64_t *total) MUST_CHECK;
/* ST_MISSING. Removed ones too. */
enum status note_read(struct store *store, struct arena *arena, struct note_id id,
                      struct member_id reader, struct note *out) MUST_CHECK;
/* Answers to one note, oldest first. */
enum status note_answers(struct store *store, struct arena *arena, struct note_id id,
                         struct member_id reader, struct page page, const struct note **out,
                         size_t *count, int64_t *total) MUST_CHECK;
/* By one member, oldest first, for the download of own data. */
enum status note_list_by(struct store *store, struct arena *arena, struct member_id author,
                         struct page page, const struct note **out, size_t *count,
                         int64_t *total) MUST_CHECK;

struct note_before {
	int64_t until; /* when these words were replaced */
	const char *text;
};
/* Earlier words, the latest first; none when the note is removed. */
enum status note_history(struct store *store, struct arena *arena, struct note_id id,
                         struct page page, const struct note_before **out, size_t *count,
                         int64_t *total) MUST_CHECK;

#define NOTE_HIT_BEGINS '\x02' /* in an excerpt, round each word that was found */
#define NOTE_HIT_ENDS '\x03'
struct note_found {
	struct note note;    /* text is not filled in */
	const char *excerpt; /* words round what was found, or the beginning */
};
struct note_search {
	const char *words;       /* each begins a word of the note; "": any */
	struct member_id author; /* v 0: any */
	struct page page;
};
/* Those that stand, newest first, answers too. total: at most NOTES_COUNTED + 1,
 * which says "more". */
enum status note_find(struct store *store, struct arena *arena, const struct note_search *search,
                      const struct note_found **out, size_t *count, int64_t *total) MUST_CHECK;

#endif
