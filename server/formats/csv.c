#include "formats/csv.h"

#include <string.h>

static void add_field(struct text *out, const char *field)
{
	bool quoted = strpbrk(field, ",\"\r\n") != NULL;

	if (quoted)
		text_add_char(out, '"');
	if (*field && strchr("=+-@\t\r", *field))
		text_add_char(out, '\'');
	for (; *field; field++) {
		if (*field == '"')
			text_add_char(out, '"');
		text_add_char(out, *field);
	}
	if (quoted)
		text_add_char(out, '"');
}

void csv_row(struct text *out, const char *const *fields)
{
	for (size_t i = 0; fields[i]; i++) {
		if (i)
			text_add_char(out, ',');
		add_field(out, fields[i]);
	}
	text_add(out, "\r\n");
}
