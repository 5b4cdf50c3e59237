/* drawing.h - an effectivity statement as dimension lines.
 *
 * Each range of serials, dates, lots or numbers becomes a dimension line on a
 * scale that is shared by all groups: arrows from first to last, an arrow
 * beyond the scale where an end is open, a tick for a single value. Serials
 * that cannot be compared have scales of their own. A range under "not" is a
 * phantom line. The kit's own place is a solid mark, or a dashed span where its
 * date is known to the month or year only; nothing when it is not known. Other
 * conditions stand as short words. The words of each figure say the same as
 * the figure.
 */
#ifndef WEB_HTML_DRAWING_H
#define WEB_HTML_DRAWING_H

#include <jansson.h>

#include "core/effectivity.h"

#define DRAWING_SPANS 24 /* dimension lines in one figure; the words name all */

/* The view that effectivity.html shows: new reference, NULL when memory ran
 * out. facts: NULL when there is no kit; then conditions carry no answer. */
json_t *drawing_view(const struct effectivity *statement, const struct facts *facts);

#endif
