/* present_diff.h - the differences between two contents of a notice, field by field. */
#ifndef WEB_HTML_PRESENT_DIFF_H
#define WEB_HTML_PRESENT_DIFF_H

#include <jansson.h>

#include "store/notices.h"

/* For differences.html: {"differences": [{"label", "parts": [{"text", "out",
 * "in"}...]}...], "differ", "same": labels of fields that
 * both say alike, or false}. Lists are
 * compared as lines of text. New reference; NULL when memory ran out. The arena
 * is for the work. */
json_t *present_differences(struct arena *arena, const struct revision_content *before,
                            const struct revision_content *after);

#endif
