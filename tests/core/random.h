/* random.h - random kits and random statements, in a plain form of their own.
 *
 * The plain form knows nothing of core: the text of a statement, the text of a
 * kit's facts and the truth of each single condition are all made from it, so
 * that the last is an oracle for what core makes of the first two. Truth comes
 * by enumeration: of the days that a date may stand for, of the ways in which
 * a list of parts may be completed.
 */
#ifndef TESTS_CORE_RANDOM_H
#define TESTS_CORE_RANDOM_H

#include "build.h"

struct plain_part {
	int number; /* -1: of unknown number */
	int serial, lot;
};

/* In all numbers -1 is unknown. Dates: "" unknown, "never", or as in ISO 8601. */
struct plain_kit {
	int model, serial, hours, landings; /* hours in tenths */
	char dates[3][11];                  /* purchased, plans, first flight */
	int options[2];
	int subkits[2];
	char shipped[2][11];
	struct plain_part parts[2];
	int n_parts;
	bool parts_known, notices_known, steps_known;
	bool notices[2], steps[2]; /* listed */
};

struct plain_range {
	enum range_form form;
	int from, to;
	char from_day[11], to_day[11];
};

struct plain_condition {
	enum condition_kind kind;
	bool negated;
	enum part_detail detail;
	int names[3];
	bool series[3];
	int n_names;
	struct plain_range ranges[3];
	int n_ranges;
};

#define PLAIN_MOST 5 /* groups, and conditions in a group */

struct plain_statement {
	int n_groups;
	int n_conditions[PLAIN_MOST];
	struct plain_condition conditions[PLAIN_MOST][PLAIN_MOST];
};

struct plain_kit plain_random_kit(uint64_t *seed);
/* Gives every fact that is not known, or known in part, a whole value, except
 * those whose name as fact_print writes it is kept. */
typedef bool plain_keep_fn(const void *context, const char *fact);
void plain_complete(struct plain_kit *kit, uint64_t *seed, plain_keep_fn *keep,
                    const void *context);
const char *plain_facts_text(struct arena *arena, const struct plain_kit *kit);

struct plain_statement plain_random_statement(uint64_t *seed);
const char *plain_statement_text(struct arena *arena, const struct plain_statement *statement);

/* A condition is true when any of its columns is: one for each of its names,
 * or else for each of its ranges. "not" is left to whoever joins them. */
int plain_columns(const struct plain_condition *condition);
enum truth plain_truth(const struct plain_condition *condition, int column,
                       const struct plain_kit *kit);

#endif
