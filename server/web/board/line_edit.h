/* line_edit.h - one step put into a build line, moved, or taken out.
 *
 * Works on entries as typed; the outcome is a new entry that borrows from the
 * old one. What holds for the whole line is checked afterwards by line_make.
 */
#ifndef WEB_BOARD_LINE_EDIT_H
#define WEB_BOARD_LINE_EDIT_H

#include "core/line.h"

struct step_place {
	struct name section;       /* code; one that is not there becomes a new section */
	const char *section_title; /* "": as it is */
	struct name after;         /* step that it stands behind; empty: first of its section */
};

/* was: code of the step before; empty for a new one. Needs of other steps
 * follow a new code; sections without a step go. ST_INVALID: *key ("after",
 * "section_title", "was") and *words (static) say why; ST_NOMEM. */
enum status line_edit_put(struct arena *arena, const struct line_entry *entry,
                          const struct name *was, const struct step_place *place,
                          const struct step_entry *step, struct line_entry *out, const char **key,
                          const char **words) MUST_CHECK;

/* n_sections is 0 when it was the last one. ST_MISSING: there is no such step. */
enum status line_edit_remove(struct arena *arena, const struct line_entry *entry,
                             const struct name *code, struct line_entry *out) MUST_CHECK;

#endif
