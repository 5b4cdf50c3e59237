/* excerpt.h - the line of a text at which a fault was found, with a mark below. */
#ifndef WEB_HTML_EXCERPT_H
#define WEB_HTML_EXCERPT_H

#include <jansson.h>

#include "web/http/http.h"
#include "formats/json_reader.h"

/* {"line", "words", "caret"} for excerpt.html: a part of the line around the
 * column (characters), and blanks up to a mark under it. Line and column count
 * from 1. What cannot be shown becomes U+FFFD. New reference; NULL when memory
 * ran out. */
json_t *excerpt_view(const char *text, size_t len, unsigned line, unsigned column);

/* Where an uploaded file was refused: {"at_line", "column", "place" (or false),
 * "excerpt"}; false for no fault (NULL) or one without a line. */
json_t *excerpt_of_fault(const struct json_fault *fault, const struct http_upload *file);

#endif
