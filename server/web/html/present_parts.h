/* present_parts.h - what notices ask a kit for, and what of it lies where.
 *
 * As in present.h: new references, NULL when memory ran out.
 */
#ifndef WEB_HTML_PRESENT_PARTS_H
#define WEB_HTML_PRESENT_PARTS_H

#include <jansson.h>

#include "chapter/kit_view.h"

/* "2", "3 ft", "not stated". */
json_t *present_amount(int64_t thousandths, const struct name *unit);

/* "sub-kit 4, bag 1107; sub-kit 7": where the lists say that a number lies that
 * may be in this kit; false when nowhere. */
json_t *present_places(const struct kit_view *view, const struct name *number,
                       const struct name *unit);

/* One thing wanted, for wanted.html: {"item", "number" (when it is another),
 * "amount", "state", "css", "words" (have it, may have it, order it), "settles"
 * (what to find out, or false), "facts_url", "cuts" (words or false),
 * "cutting_url", "look_url", "notice", "notice_url"}. */
json_t *present_wanted(const struct kit_view *view, const struct wanted *wanted);

/* All that one notice asks for; false when it asks for nothing. */
json_t *present_wanted_list(const struct kit_view *view, const struct wanted *wanted, size_t count);

/* The same as one sentence for a list of notices; false when it asks for nothing. */
json_t *present_wanted_short(const struct kit_view *view, const struct wanted *wanted,
                             size_t count);

/* "2 x 14 1/2 in, 6 in" */
void present_cuts(const struct cut *cuts, size_t count, struct text *out);

/* An address of a kit's page about a part or stock, the name escaped: "/kits/3/parts?part=A-1". */
json_t *present_look_url(const struct kit *kit, const char *page, const char *field,
                         const struct name *name);

#endif
