/* effectivity.h - the statement of which kits or parts a notice concerns.
 *
 * Text that a volunteer can type from a bulletin and read back:
 *
 *     model      Whimbrel, Whimbrel T
 *     serial     WH-0101 thru WH-0145, WH-0150, WH-0160 and on
 *     purchased  before 2017-09
 *     not option tailwheel
 *     or
 *     part       WH-2207-1 lot 3 thru 9
 *
 * Each line is a condition; all lines of a group hold together; groups are
 * joined by a line "or"; "not" turns a line round; commas within a line mean
 * any of these; empty lines mean nothing. A name may be followed by "series":
 * any name that begins so. Names, serials and lots that kits give are compared
 * with those printed as marks.h says: what may be the same in another writing
 * is unknown. Dates and numbers take D, D thru D, D and on,
 * up to D, before D, after D.
 *
 * A parsed statement is compact and immutable: groups of conditions over
 * shared tables of names and ranges. Deciding walks it without allocating;
 * cost is linear in conditions and, for each, in the facts of its kind.
 */
#ifndef CORE_EFFECTIVITY_H
#define CORE_EFFECTIVITY_H

#include "base/arena.h"
#include "base/text.h"
#include "core/facts.h"
#include "core/slice.h"
#include "core/truth.h"

#define EFFECTIVITY_LONGEST 20000 /* bytes of one statement */

enum condition_kind {
	COND_ALL,
	COND_MODEL,
	COND_SERIAL,
	COND_PURCHASED,
	COND_PLANS,
	COND_FIRST_FLIGHT,
	COND_SUBKIT,
	COND_SHIPPED,
	COND_OPTION,
	COND_PART,
	COND_NOTICE,
	COND_STEP,
	COND_HOURS,
	COND_LANDINGS
};
#define CONDITION_KINDS (COND_LANDINGS + 1)

/* How a range was written, so that it prints the same. */
enum range_form { RANGE_ONE, RANGE_THRU, RANGE_AND_ON, RANGE_UP_TO, RANGE_BEFORE, RANGE_AFTER };

struct name_pattern {
	struct name name;
	bool series;
};

struct date_span { /* a range of dates as written and as days */
	enum range_form form;
	struct date from, to;
	struct day_range days;
};

struct number_span { /* hundredths for hours, whole for landings */
	enum range_form form;
	int64_t from, to;    /* as written */
	int64_t first, last; /* closed; INT64_MIN / INT64_MAX when open */
};

enum part_detail { PART_ANY, PART_SERIAL, PART_LOT };

/* Kept small: deciding many statements is bound by memory. */
struct condition {
	uint8_t kind;   /* enum condition_kind */
	uint8_t detail; /* enum part_detail; COND_PART only */
	bool negated;
	uint32_t line;          /* 1 for the first line of the text */
	uint32_t name, range;   /* first in statement->names, in serials, dates or numbers */
	uint16_t names, ranges; /* how many; a statement is too short for more */
};

struct condition_group {
	uint32_t condition, conditions; /* first and count */
};

struct effectivity {
	const struct condition_group *groups;
	const struct condition *conditions;
	const struct name_pattern *names;
	const struct serial_range *serials;
	const struct date_span *dates;
	const struct number_span *numbers;
	uint32_t n_groups, n_conditions, n_names, n_serials, n_dates, n_numbers;
};

/* Parses len bytes. ST_INVALID fills *fault (out untouched); ST_NOMEM. The
 * result is borrowed from the arena. */
enum status effectivity_parse(struct arena *arena, const char *text, size_t len,
                              const struct effectivity **out,
                              struct statement_fault *fault) MUST_CHECK;

/* Affected lots on a line of a notice, as a statement writes them: "3 thru 9,
 * 12". Blank text gives none. Otherwise as effectivity_parse. */
enum status effectivity_parse_lots(struct arena *arena, const char *text, size_t len,
                                   const struct serial_range **out, size_t *count,
                                   struct statement_fault *fault) MUST_CHECK;

/* Prints it in the one normal form; parsing that gives the same statement. */
void effectivity_print(const struct effectivity *statement, struct text *out);

/* One English sentence: "Applies to kits of model Whimbrel or Whimbrel T, with
 * serial number WH-0101 thru WH-0145, purchased before September 2017." */
void effectivity_sentence(const struct effectivity *statement, struct text *out);

/* One condition as a line of the normal form, "not" included, without newline. */
void condition_print(const struct effectivity *statement, const struct condition *condition,
                     struct text *out);

/* Allocates nothing. */
enum truth effectivity_decide(const struct effectivity *statement, const struct facts *facts);
enum truth condition_decide(const struct effectivity *statement, const struct condition *condition,
                            const struct facts *facts);
enum truth group_decide(const struct effectivity *statement, const struct condition_group *group,
                        const struct facts *facts);

/* Visits the facts that would help to settle an undecided statement: those
 * lacking in undecided conditions of groups that no known line has ruled out.
 * Calls visit once for each (a fact may come twice); none when decided. */
typedef void effectivity_need_fn(void *context, const struct fact *fact);
void effectivity_needs(const struct effectivity *statement, const struct facts *facts,
                       effectivity_need_fn *visit, void *context);

/* The facts that one condition looks at, whether known or not. */
void condition_facts(const struct effectivity *statement, const struct condition *condition,
                     const struct facts *facts, effectivity_need_fn *visit, void *context);

/* The kinds of facts that any of its lines looks at: 1u << enum fact_kind. */
unsigned effectivity_fact_kinds(const struct effectivity *statement);

/* Why: one sentence that names the deciding lines and facts. For true: the
 * group that holds; for false: in each group the first line that fails; for
 * unknown: the facts wanted. */
void effectivity_reason(const struct effectivity *statement, const struct facts *facts,
                        struct text *out);

#endif
