/* record_view.h - records of work as view data; see present.h for the manners. */
#ifndef WEB_KITS_RECORD_VIEW_H
#define WEB_KITS_RECORD_VIEW_H

#include <jansson.h>

#include "chapter/kit_view.h"

/* "WH-2207-1 left", "the whole notice". */
json_t *record_line_words(const struct name *part, const struct name *position);

/* The i-th record of the kit for record.html: what it says, and how it stands to others:
 * "counts", "corrects" and "corrected_by" ({"place", "url"} or false), "withdraws",
 * "correct_url" and "withdraw_url" (false when it is corrected already). */
json_t *record_present(const struct kit_view *view, size_t i);

/* All records of one notice, oldest first. */
json_t *record_history(const struct kit_view *view, const struct name *number);

#endif
