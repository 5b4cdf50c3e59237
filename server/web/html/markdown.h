/* markdown.h - notes of members: CommonMark to a tree that templates fill.
 *
 * No markup is ever made here. The text becomes a Jansson tree of parts, and
 * views/note_words.html turns each kind of part into an element, with every
 * word escaped by the template filler:
 *
 *     {"parts": [PART, ...]}        the view; fill {{>note_words.html}} over it
 *     {"is": {KIND: true}, "parts": [PART, ...]}    holds others
 *     {"is": {"text": true}, "text": TEXT}          words
 *
 * Kinds: paragraph, quote, list, numbered (with "start"), item, rule,
 * heading4, heading5, heading6, code_block, code, emphasis, strong, link
 * (with "note_url" and "note_title"), break, text.
 *
 * Differences from CommonMark 0.30 (spec.commonmark.org), on purpose:
 *  - raw HTML is words like any other;
 *  - headings begin at the fourth level, since the page has the first three;
 *  - a picture becomes a link to it, inside a link just its words;
 *  - a link whose address url_is_http refuses is just its words;
 *  - bare http:// and https:// addresses are links too;
 *  - of the named entities those of a short list are known, the others are
 *    words; numbers of characters that utf8_check refuses become U+FFFD;
 *  - what is nested deeper than MARKDOWN_DEEPEST joins what holds it.
 */
#ifndef WEB_HTML_MARKDOWN_H
#define WEB_HTML_MARKDOWN_H

#include <jansson.h>

#include "base/status.h"

#define MARKDOWN_LONGEST 50000 /* bytes */
#define MARKDOWN_DEEPEST 16    /* parts within parts */

/* Owned by the caller. ST_LIMIT when longer than MARKDOWN_LONGEST; ST_INVALID
 * when utf8_check finds fault; ST_NOMEM. */
enum status markdown_view(const char *text, json_t **out) MUST_CHECK;

#endif
