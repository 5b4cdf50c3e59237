/* notice.h - one published change or warning, as the core sees it.
 *
 * A notice is told apart by its number, which is unique in the chapter. What
 * counts is its current published revision; earlier revisions matter only
 * where the current one says that work done to them needs no further action.
 * Everything is borrowed from the arena or catalogue that filled it.
 */
#ifndef CORE_NOTICE_H
#define CORE_NOTICE_H

#include "core/amount.h"
#include "core/date.h"
#include "core/due.h"
#include "core/effectivity.h"
#include "core/length.h"
#include "core/name.h"

struct notice_id {
	int64_t v; /* 0: none */
};

struct revision_id {
	int64_t v;
};

enum notice_kind {
	KIND_SERVICE_BULLETIN,
	KIND_SERVICE_LETTER,
	KIND_SAFETY_DIRECTIVE,
	KIND_PLANS_CHANGE,
	KIND_CHAPTER_ADVISORY
};
#define NOTICE_KINDS 5

enum force { FORCE_MANDATORY, FORCE_RECOMMENDED, FORCE_OPTIONAL }; /* in order of weight */
#define FORCES 3

enum disposition {
	DISPOSE_REWORK,
	DISPOSE_REPLACE,
	DISPOSE_SCRAP,
	DISPOSE_USE_AS_IS,
	DISPOSE_INSPECT
};
#define DISPOSITIONS 5

/* Trade words: "service bulletin", "mandatory", "use as is"; borrowed. */
/* In words, by their values; NULL behind the last, as choices of a form want it. */
extern const char *const notice_kinds[NOTICE_KINDS + 1];
extern const char *const notice_forces[FORCES + 1];
extern const char *const notice_dispositions[DISPOSITIONS + 1];
const char *notice_kind_words(enum notice_kind kind);
const char *force_words(enum force force);
const char *disposition_words(enum disposition disposition);
/* The other way; false for other words. Letter case does not matter. */
bool notice_kind_from_words(const char *words, enum notice_kind *out);
bool force_from_words(const char *words, enum force *out);
bool disposition_from_words(const char *words, enum disposition *out);

/* An affected part. Left and right are two lines. */
struct notice_line {
	struct name part;     /* old part number; empty: the notice as a whole */
	struct name position; /* "left"; empty when there is only one */
	struct name replacement;
	enum disposition disposition;
	const struct serial_range *lots; /* affected lots; none: every lot */
	size_t n_lots;
	const char *lots_text; /* as typed, "" when none */
	const char *remark;    /* "" when none */
};

/* Material that the notice asks for. */
struct notice_material {
	const char *item;       /* as typed */
	struct name number;     /* part number or stock code to look up: as given, else the item */
	struct amount amount;   /* not counted where lengths are cut */
	const char *quantity;   /* as typed, "" when none */
	const struct cut *cuts; /* lengths to be cut of that stock, may be none */
	size_t n_cuts;
};

/* An earlier revision that the issuer lets count: "no further action if done to revision A". */
struct revision_credit {
	struct name revision;
	const struct notice_line *lines;
	size_t n_lines;
};

struct notice {
	struct notice_id id;
	struct revision_id revision_id;
	struct name number;
	struct name revision; /* may be empty: the original issue without a letter */
	const char *issuer;
	const char *title;
	const char *compliance; /* compliance time in words; "" or NULL when none is given */
	enum notice_kind kind;
	enum force force;
	struct date issued;
	const char *effectivity_text;
	const struct effectivity *effectivity;
	const struct notice_line *lines; /* none: the notice counts as one line */
	size_t n_lines;
	const struct notice_material *material; /* may be none */
	size_t n_material;
	const struct name *steps; /* affected steps, may be none */
	size_t n_steps;
	struct date_fact
	        plans_carry; /* plans from this issue carry the change, as the issuer states */
	const struct due_statement *due; /* the compliance time computed; NULL: not given */
	const struct name *supersedes, *requires, *terminates; /* numbers of other notices */
	size_t n_supersedes, n_requires, n_terminates;
	const struct revision_credit *credits;
	size_t n_credits;
	bool cancelled;
	struct date cancelled_on;
	day_number published_on; /* in this chapter's list */
};

#endif
