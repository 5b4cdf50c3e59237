/* draft_form.h - a notice being drafted, as one form.
 *
 * The form and struct revision_content hold the same; this is the way between
 * them. A draft may be incomplete: what is broken is a fault of the form, what
 * is not there yet is only listed. Rows of parts and material without any word
 * in them do not count. An original issue without a label goes by the words
 * "original issue" in the list of earlier revisions that still count.
 */
#ifndef WEB_BOARD_DRAFT_FORM_H
#define WEB_BOARD_DRAFT_FORM_H

#include "store/notices.h"
#include "web/http/context.h"

enum draft_act { DRAFT_SAVE, DRAFT_SHEET, DRAFT_FILES, DRAFT_READ, DRAFT_ROWS };

extern const struct input draft_inputs[];

/* What the form depends on besides its fields. */
struct draft_base {
	struct revision revision;         /* as stored; content empty and id 0 for a new notice */
	const struct notice_row *earlier; /* published revisions, newest first */
	size_t n_earlier;
};

/* For a draft of the store. ST_MISSING: no such draft. */
enum status draft_base_read(const struct context *c, struct revision_id id,
                            struct draft_base *out) MUST_CHECK;

/* The form filled from a content; NULL when memory ran out. */
struct form *draft_form_fill(struct arena *arena, const struct draft_base *base);

/* What the form says. Adds a fault for what only the whole shows: half-empty
 * rows, lots, the same part twice, unknown labels, circles. */
enum status draft_form_read(const struct context *c, struct form *form,
                            const struct draft_base *base, struct revision_content *out) MUST_CHECK;

/* The form for the page: "form", "parts", "material_rows", "credits", with
 * `spare` blank rows more. New reference; NULL when memory ran out. */
json_t *draft_form_view(const struct form *form, const struct draft_base *base, size_t spare);

/* What keeps a content from being published, circles too, as sentences; and what
 * its editor should look at again. New references; NULL when memory ran out. */
json_t *draft_missing(const struct context *c, const struct draft_base *base,
                      const struct revision_content *content);
json_t *draft_warnings(const struct context *c, const struct revision_content *content);

#endif
