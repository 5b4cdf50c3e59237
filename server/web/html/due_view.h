/* due_view.h - compliance times as pages show them. */
#ifndef WEB_HTML_DUE_VIEW_H
#define WEB_HTML_DUE_VIEW_H

#include <jansson.h>

#include "base/arena.h"
#include "core/due.h"

/* The sentence of a compliance time as typed: "Due within 10 hours of issue.";
 * false: none is given, or it has a fault. New reference; NULL when memory ran out. */
json_t *due_sentence_view(const char *text);

/* The same read back while it is typed, over due_back.html: {"due_back": {"empty",
 * "fault", "excerpt", "words", "normal"}}. New reference; NULL when memory ran out. */
json_t *due_back_view(const char *text);

/* "by 31 March 2022 or 130 hours, whichever comes first."; false: no limit runs. */
json_t *due_time_view(const struct due_time *due);

#endif
