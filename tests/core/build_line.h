/* build_line.h - build lines from short texts. */
#ifndef TESTS_CORE_BUILD_LINE_H
#define TESTS_CORE_BUILD_LINE_H

#include "build.h"

#include "core/moment.h"

/* One section or step between each two semicolons; without a section first
 * there is one "S". Lists are joined by commas:
 *
 *     # W Wings; A 2; B 10.5/30 needs A in left wing, tips closes right wing parts P-1
 *
 * B: hours 10.5, hours to open 30. Titles are "step B". The model is Whimbrel. */
struct line_entry *make_line_entry(struct arena *arena, const char *text);

/* Checked; a fault fails the test. */
struct line *make_line(struct arena *arena, const char *text);

/* Words of a set of steps: "A C", in the line's numbering. */
const char *step_set_text(struct arena *arena, const struct line *line, const uint64_t *set);

/* A random line of `steps` steps named S0, S1, ... : needs of earlier ones,
 * `zones` zones worked in and closed. */
struct line_entry *random_line_entry(struct arena *arena, uint64_t *seed, uint32_t steps,
                                     uint32_t zones);

#endif
