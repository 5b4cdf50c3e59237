/* line_figure.h - the build line as a drawing: sections, what is covered, your place. */
#ifndef WEB_HTML_LINE_FIGURE_H
#define WEB_HTML_LINE_FIGURE_H

#include <jansson.h>

#include "core/line.h"
#include "core/moment.h"

/* The whole line for line_figure.html; moment may be NULL. */
json_t *line_figure(const struct line *line, const struct line_progress *progress,
                    const struct moment *moment);

#endif
