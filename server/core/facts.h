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
	bool has_hours;
	bool has_landings;
	bool parts_known;   /* parts lists every fitted part that has a number */
	bool notices_known; /* notices_done is complete */
	bool steps_known;   /* steps_done is complete */
	struct serial serial;
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
