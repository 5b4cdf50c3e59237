/* facts.h - what is known of one kit.
 *
 * Every fact may be unknown: an empty name, a false has_ flag, a DATE_UNKNOWN,
 * an entry that is absent. Lists are complete only where a _known flag says
 * so; then what is not on the list is known to be absent. The struct borrows
 * all it points to and is filled by facts_ functions into an arena, or by
 * hand.
 */
#ifndef CORE_FACTS_H
#define CORE_FACTS_H

#include "core/date.h"
#include "core/name.h"
#include "core/serial.h"

struct option_fact {
	struct name name;
	bool fitted;
};

struct subkit_fact {
	struct name code;
	bool received;
	struct date_fact shipped; /* DATE_NEVER when not received */
};

struct part_fact {
	struct name number;   /* empty: some part of unknown number */
	struct name position; /* empty: not said */
	bool has_serial;
	bool has_lot;
	struct serial serial;
	struct serial lot;
};

/* A step built from other plans than the kit's plans issue. */
struct step_plans {
	struct name step;
	struct date_fact plans;
};

/* When a step was done. */
struct step_date {
	struct name step;
	struct date_fact done;
};

struct facts {
	struct name model;
	bool has_serial;
	bool has_engine_serial;
	bool has_hours;
	bool has_landings;
	bool parts_known;   /* parts lists every fitted part that has a number */
	bool notices_known; /* notices_done is complete */
	bool steps_known;   /* steps_done is complete */
	struct serial serial;
	struct serial engine_serial;
	struct date_fact purchased;
	struct date_fact plans;
	struct date_fact first_flight; /* DATE_NEVER: not flown yet */
	int64_t hours;                 /* hundredths of an hour, total time */
	int64_t landings;
	const struct option_fact *options;
	const struct subkit_fact *subkits;
	const struct part_fact *parts;
	const struct name *notices_done;
	const struct name *steps_done;
	const struct step_plans *step_plans;
	const struct step_date *step_dates; /* of steps in steps_done */
	size_t n_options, n_subkits, n_parts, n_notices_done, n_steps_done, n_step_plans,
	        n_step_dates;
};

/* The facts that are one value each, described once. A row is
 *
 *     X(key, kind, label, words, never, hint)
 *
 * key: the member of struct facts, the column, and the key in files, forms and the
 * API. kind: of enum fact_form without FORM_; it fixes the member's type, and all
 * kinds but names and dates have a member has_KEY beside it. label: at a field of a
 * form; words: within a sentence; never: what a DATE_NEVER says, NULL where
 * nobody can say it; hint: at a field. Whatever reads, keeps or shows facts
 * walks the rows: a new fact is a member, a row, its column in a migration (of
 * kits and of kit_snapshots), a line in static/openapi.json, and a test. */
#define KEPT_FACTS(X)                                                                              \
	X(model, NAME, "Model", "model", NULL, "As the maker writes it")                           \
	X(serial, SERIAL, "Kit serial number", "kit serial number", NULL,                          \
	  "It stands on the packing lists and the data plate")                                     \
	X(purchased, DATE, "Purchased", "purchase date", "not bought",                             \
	  "2017, 2017-09 or 2017-09-24. Leave it empty when not known.")                           \
	X(plans, DATE, "Plans issue", "plans issue", "no plans",                                   \
	  "The date printed on the plans, as above")                                               \
	X(engine_serial, SERIAL, "Engine serial number", "engine serial number", NULL,             \
	  "It stands on the engine's data plate")                                                  \
	X(first_flight, FLIGHT, "First flight", "first flight", "not made yet",                    \
	  "2017, 2017-09 or 2017-09-24. Leave it empty when not known.")
/* Totals, which follow from the log of a kit of the chapter (store/kit_log.h). */
#define LOGGED_FACTS(X)                                                                            \
	X(hours, HOURS, "Total hours", "total time in hours", NULL, "Total time, such as 120.5")   \
	X(landings, COUNT, "Landings", "number of landings", NULL, "A whole number")
#define SINGLE_FACTS(X) KEPT_FACTS(X) LOGGED_FACTS(X)
/* Is the list complete? A flag of struct facts, a column, a key in files; and the list. */
#define KNOWN_LISTS(X)                                                                             \
	X(parts_known, parts) X(notices_known, notices_done) X(steps_known, steps_done)

enum fact_form {
	FORM_NAME,
	FORM_SERIAL,
	FORM_DATE,
	FORM_FLIGHT, /* a date, or not yet: false in files */
	FORM_HOURS,  /* hundredths */
	FORM_COUNT
};

#define FIELD_ROW(key, ...) FIELD_##key,
enum { SINGLE_FACTS(FIELD_ROW) FACT_FIELDS };
#undef FIELD_ROW

struct fact_field {
	const char *key;
	enum fact_form form;
	const char *label, *words, *never, *hint;
	size_t at;  /* offset of the member of struct facts */
	size_t has; /* offset of the flag that it is known; not for names and dates */
	bool logged;
};
extern const struct fact_field fact_fields[FACT_FIELDS];

/* The members that a field describes. */
void *fact_at(struct facts *facts, const struct fact_field *field);
const void *fact_in(const struct facts *facts, const struct fact_field *field);
bool fact_known(const struct facts *facts, const struct fact_field *field);
/* Only for those that have a flag (asserted). */
void fact_set_known(struct facts *facts, const struct fact_field *field, bool known);

/* Facts that can be asked for. */
enum fact_kind {
	FACT_MODEL,
	FACT_SERIAL,
	FACT_PURCHASED,
	FACT_PLANS,
	FACT_FIRST_FLIGHT,
	FACT_SUBKIT,      /* about: code */
	FACT_SHIPPED,     /* about: code */
	FACT_OPTION,      /* about: option */
	FACT_PART,        /* about: part number: is one fitted? */
	FACT_PART_SERIAL, /* about: part number */
	FACT_PART_LOT,    /* about: part number */
	FACT_NOTICE,      /* about: notice number */
	FACT_STEP,        /* about: step code */
	FACT_HOURS,
	FACT_LANDINGS
};
#define FACT_KINDS (FACT_LANDINGS + 1)

struct fact {
	enum fact_kind kind;
	struct name about; /* empty for the kinds without one */
	bool series;       /* every name that begins with about: parts only */
};

/* Whose value the fact is; NULL when it is one of a list. */
const struct fact_field *fact_field_of(enum fact_kind kind);

bool fact_equal(const struct fact *a, const struct fact *b);

/* Short name as the statement writes it: "serial", "option tailwheel",
 * "part WH-2207-1 lot". For programs. */
struct text;
void fact_print(const struct fact *fact, struct text *out);

/* For people: "kit serial number", "lot of part WH-2207-1". */
void fact_words(const struct fact *fact, struct text *out);

/* As what is missing: "kit serial number", "whether part WH-2207-1 is fitted". */
void fact_wanted(const struct fact *fact, struct text *out);

/* A question: "What is the serial number on the kit's data plate or packing list?" */
void fact_question(const struct fact *fact, struct text *out);

/* Does the kit name something by a name or number that was written by hand, and
 * may have been meant otherwise? */
bool fact_is_written(const struct facts *facts, const struct fact *fact);

/* What the kit says of it: "WH-0100", "September 2017", "not known". */
void fact_field_value(const struct facts *facts, const struct fact_field *field, struct text *out);

/* What the kit says of it: "WH-0100", "September 2017", "not fitted", "not known". */
void fact_value(const struct facts *facts, const struct fact *fact, struct text *out);

const struct option_fact *facts_option(const struct facts *facts, const struct name *name);
const struct subkit_fact *facts_subkit(const struct facts *facts, const struct name *code);

/* Total time and landings; an aircraft that has not flown has none. False when not known. */
bool facts_hours(const struct facts *facts, int64_t *hundredths);
bool facts_landings(const struct facts *facts, int64_t *landings);

/* Was the notice done, is the step built? Unknown when not listed and the list is not complete. */
enum truth facts_notice_done(const struct facts *facts, const struct name *number);
enum truth facts_step_built(const struct facts *facts, const struct name *step);

/* When the step was done; unknown when not said. */
struct date_fact facts_step_date(const struct facts *facts, const struct name *step);

/* The plans that a step was built from, or will be: its own if noted, else the kit's. */
const struct date_fact *facts_plans_of_step(const struct facts *facts, const struct name *step);

#endif
