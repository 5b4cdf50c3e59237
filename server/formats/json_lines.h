/* json_lines.h - build lines as a JSON file, "fairlead line 1" of seed/FORMAT.md. */
#ifndef FORMATS_JSON_LINES_H
#define FORMATS_JSON_LINES_H

#include "core/line.h"
#include "formats/json_reader.h"

struct json_lines {
	const struct line_entry *lines;
	size_t count;
};

/* Reads a whole file and checks every line as line_make does. The reader says
 * what is wrong first and where. */
void json_read_lines(struct json_reader *reader, const json_t *file, struct json_lines *out);

/* One line as an object of the file. New reference; NULL when memory ran out. */
json_t *json_from_line(const struct line_entry *line);

#endif
