/* build.h - core's values from short texts, so that tables of tests read well.
 *
 * Everything lives in the arena. A text that cannot be read fails the test.
 */
#ifndef TESTS_CORE_BUILD_H
#define TESTS_CORE_BUILD_H

#include "support.h"

#include "core/due.h"
#include "core/effectivity.h"
#include "core/facts.h"

#define ROWS(table) (sizeof(table) / sizeof(table)[0])

struct name make_name(struct arena *arena, const char *text); /* NULL: the empty name */
struct serial make_serial(struct arena *arena, const char *text);
struct date make_date(const char *text);
struct date_fact make_date_fact(const char *text); /* a date, "never" or NULL for unknown */
day_number make_day(const char *text);             /* a whole date */
const struct effectivity *make_statement(struct arena *arena, const char *text);
const struct due_statement *make_due(struct arena *arena, const char *text);

/* Facts, one entry between each two semicolons:
 *
 *     model Whimbrel; serial WH-0101; purchased 2017-04; plans 2016; first-flight never;
 *     hours 120.5; landings 30; option tailwheel = yes; subkit E = no; subkit W = 2017-04;
 *     part WH-2207-1 | at left | lot 3 | serial 17; part ? | serial 17; notice SB-1;
 *     step W-3; plans of W-3 = 2015; date of W-3 = 2016-02-03; parts known; notices known; steps
 * known
 */
struct facts *make_facts(struct arena *arena, const char *text);

/* Runs attempt with ever more room left in the arena and none beyond, until it
 * passes: so each single call for memory in it fails once. attempt returns
 * whether it had enough; it must leave nothing outside the arena. */
void try_each_place(bool (*attempt)(struct arena *arena));

/* "applies", "does not apply", "cannot tell" */
enum truth make_truth(const char *words);

#endif
