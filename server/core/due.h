/* due.h - compliance times: when the work of a notice is due.
 *
 * Text that a steward types from the notice, one limit a line:
 *
 *     within 50 hours of 1971-10-13
 *     before next annual inspection
 *     whichever first
 *     then
 *     every 100 hours
 *     every 12 calendar months
 *     whichever first
 *     allow 10 hours
 *
 * The lines above "then" say when the work is due at first, those below it
 * when again; either may be absent. Where there are several limits the notice
 * says which counts: "whichever first" or "whichever last".
 *
 *     before step CODE | before first flight | before next flight
 *     before next EVENT                  an event that the kit's log names
 *     within N UNIT of START             hours, landings, days, months (to the same
 *                                        day), calendar months (to the end of the
 *                                        month), years
 *     by N hours total | by N landings total | by DATE
 *     every N UNIT                       from when it was last done; below "then"
 *
 * START is issue, a date, purchase, first flight, "notice NUMBER" (when that
 * notice was last done) or "last EVENT". Below "then" only every, before next
 * and "within ... of last EVENT" (once after each event) have a meaning.
 *
 *     allow N hours                      may be exceeded so far, to reach a place where
 *                                        it can be done; what is flown over is taken
 *                                        off the next (14 CFR 91.409(b))
 *     allow N hours to next EVENT        may be put off so far, to fall together
 *
 * A line "if CONDITION", in the words of an effectivity statement, begins a
 * case: what follows counts for kits for which it is true, the first such case
 * deciding; a line "otherwise" begins the last.
 *
 * Nothing is guessed. A limit that counts from a moment whose hours are not
 * known cannot be told, and says which fact it lacks. A moment known only to
 * the month counts from its first day. Deciding allocates nothing.
 */
#ifndef CORE_DUE_H
#define CORE_DUE_H

#include "core/effectivity.h"
#include "core/record.h"
#include "core/use.h"

#define DUE_LONGEST 4000 /* bytes of one statement */

enum due_unit {
	UNIT_HOURS,
	UNIT_LANDINGS,
	UNIT_DAYS,
	UNIT_MONTHS,
	UNIT_CALENDAR_MONTHS,
	UNIT_YEARS
};
#define DUE_UNITS 6

enum due_limit_kind {
	DUE_LIMIT_STEP,         /* about: code */
	DUE_LIMIT_FIRST_FLIGHT, /* before it */
	DUE_LIMIT_NEXT_FLIGHT,
	DUE_LIMIT_EVENT, /* about: before the next one */
	DUE_LIMIT_SPAN,  /* amount and unit from start */
	DUE_LIMIT_TOTAL, /* amount: hours or landings */
	DUE_LIMIT_DAY
};

enum due_start {
	START_DONE, /* "every" */
	START_ISSUE,
	START_DAY,
	START_PURCHASE,
	START_FIRST_FLIGHT,
	START_NOTICE, /* about: number */
	START_EVENT   /* about: event */
};

struct due_limit {
	uint8_t kind;   /* enum due_limit_kind */
	uint8_t unit;   /* enum due_unit */
	uint8_t start;  /* enum due_start */
	int64_t amount; /* hundredths of an hour, else whole; more than 0 */
	day_number day; /* DUE_LIMIT_DAY and START_DAY */
	struct name about;
};

/* What is due at first, or again. */
struct due_part {
	const struct due_limit *limits;
	size_t count;
	bool last;        /* whichever comes last */
	int64_t allowed;  /* hundredths of an hour; 0: no allowance */
	struct name meet; /* the event that the allowance is for; empty: to reach a place */
};

struct due_case {
	const struct effectivity *condition; /* one condition; NULL: every kit */
	struct due_part first, again;
};

struct due_statement { /* no cases: no time is given */
	const struct due_case *cases;
	size_t count;
};

/* Parses len bytes; blank text gives a statement without cases. ST_INVALID
 * fills *fault (out untouched); ST_NOMEM. Borrowed from the arena. */
enum status due_parse(struct arena *arena, const char *text, size_t len,
                      const struct due_statement **out, struct statement_fault *fault) MUST_CHECK;

/* Prints it in the one normal form; parsing that gives the same statement. */
void due_print(const struct due_statement *statement, struct text *out);

/* In English: "Due within 50 hours of 13 October 1971. Then again every 100
 * hours or 12 calendar months, whichever comes first." Empty without cases. */
void due_sentence(const struct due_statement *statement, struct text *out);

/* Does any case say when it is due again? NULL is allowed: no. */
bool due_repeats(const struct due_statement *statement);

/* Do its repeats count this from when it was last done? NULL is allowed: no. */
bool due_counts(const struct due_statement *statement, enum use_counter counter);

/* Visits the names of events to come that the statement waits for. */
typedef void due_event_fn(void *context, const struct name *event);
void due_events(const struct due_statement *statement, due_event_fn *visit, void *context);

/* What a computed time may lack. */
enum due_lack_kind {
	DUE_LACK_FACT,       /* fact */
	DUE_LACK_TOTAL_ON,   /* the counter's total on a day */
	DUE_LACK_TOTAL_THEN, /* the counter's total when it was last done */
	DUE_LACK_NOTICE,     /* about: when that notice was done */
	DUE_LACK_LAST_EVENT, /* about: when it last was */
	DUE_LACK_NEXT_EVENT  /* about: when it comes next */
};

struct due_lack {
	enum due_lack_kind kind;
	enum use_counter counter;
	day_number day;
	struct fact fact;
	struct name about;
};

/* For people: "total hours on 13 October 1971". */
void due_lack_words(const struct due_lack *lack, struct text *out);

enum due_state {
	DUE_NONE,   /* no limit runs */
	DUE_AHEAD,  /* not due yet */
	DUE_UNTOLD, /* a fact is lacking */
	DUE_NOW,    /* before the next flight; or within the allowance */
	DUE_OVER    /* the limit has passed */
};

#define DUE_LACKS_MOST 4

/* When the next action is due. What is known stands in the fields even where
 * something else is lacking. */
struct due_time {
	enum due_state state;
	bool last; /* of several limits the last counts */
	bool has_day;
	bool has[USE_COUNTERS];
	day_number day;              /* the last day that is in time */
	int64_t total[USE_COUNTERS]; /* the last total that is in time */
	bool next_flight, first_flight;
	const struct name *step, *event; /* before it; NULL: none. Borrowed from the statement */
	int64_t allowed;                 /* hundredths over total[USE_HOURS]; 0: none */
	unsigned n_lacks;                /* the first few */
	struct due_lack lacks[DUE_LACKS_MOST];
};

/* The kit for which a time is computed. */
struct due_kit {
	const struct facts *facts;
	const struct kit_use *use;
	const struct record *const *records; /* that count */
	size_t n_records;
	struct date issued; /* of the notice */
	day_number today;
};

/* When the record was done, and the totals then: its own, else what the log
 * shows for that day. */
struct use_moment due_moment(const struct due_kit *kit, const struct record *record);

/* When it is due that was never done. NULL for a statement: no limit. */
struct due_time due_first(const struct due_statement *statement, const struct due_kit *kit);

/* When it is due again. before: the time that was due when it was done, from
 * due_first or due_again; NULL: not known or does not matter. Done early counts
 * from when it was done; done over a time with an allowance counts from the
 * time that was due. */
struct due_time due_again(const struct due_statement *statement, const struct due_kit *kit,
                          const struct use_moment *done, const struct due_time *before);

/* Of several lines of one notice: the more pressing state, the earliest of each kind of limit. */
void due_merge(struct due_time *into, const struct due_time *other);

/* "by 31 March 2022 or 130 hours, whichever comes first."; then what is lacking. */
void due_words(const struct due_time *due, struct text *out);

#endif
