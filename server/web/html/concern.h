/* concern.h - whom of the chapter a statement would concern, to be shown.
 *
 * One pass over all kits (whom.h). Listed by name are those alone whose builders let
 * stewards see them; the others are counted.
 */
#ifndef WEB_HTML_CONCERN_H
#define WEB_HTML_CONCERN_H

#include <jansson.h>

#include "store/notices.h"
#include "web/http/context.h"

#define CONCERN_LISTED 40 /* kits named under each answer */

/* For concern.html: {"total", "answers": [{"answer": present_truth, "count",
 * "kits": [{"name", "owner"}...], "has_kits", "more": number not named, or false}...] in
 * the order applies, cannot tell, not effective}. New reference in *out. What
 * the store says; ST_NOMEM. */
enum status concern_view(const struct context *c, const struct effectivity *statement,
                         json_t **out) MUST_CHECK;

/* A statement as a steward types it, read back: {"statement": {"empty", "fault":
 * words or false, "excerpt", "words", "normal", "drawing", "concern"}} for
 * read_back.html. New reference in *out. */
enum status read_back_view(const struct context *c, const struct form_value *typed,
                           json_t **out) MUST_CHECK;

/* The same without the kits that it would concern: for those who may not read of
 * kits of others. New reference; NULL when memory ran out. */
json_t *read_back_plain(const struct form_value *typed);

/* How many kits have done the notice by their records, and how many of these
 * the new content would open again: it applies, and a record that counts was
 * made to a revision that it gives no credit to. */
struct reopened {
	int64_t done, again;
};
enum status concern_reopened(const struct context *c, struct notice_id notice,
                             const struct revision_content *content,
                             const struct effectivity *statement, struct reopened *out) MUST_CHECK;

#endif
