/* csv_tool.c - writes rows as CSV for the comparison with Python's reader.
 *
 * Standard input: for each row its number of fields, for each field its length
 * in bytes, a line end and the bytes. Standard output: the table.
 */
#include <stdio.h>
#include <stdlib.h>

#include "formats/csv.h"

#define FIELDS_MOST 16
#define FIELD_MOST 4096

static char fields[FIELDS_MOST][FIELD_MOST];

static void read_field(char *field)
{
	unsigned len;

	if (scanf("%u", &len) != 1 || len >= FIELD_MOST || getchar() != '\n' ||
	    fread(field, 1, len, stdin) != len)
		exit(2);
	field[len] = '\0';
}

int main(void)
{
	struct text out = TEXT_EMPTY;
	unsigned count;

	while (scanf("%u", &count) == 1 && count < FIELDS_MOST) {
		const char *row[FIELDS_MOST] = {NULL};

		for (unsigned i = 0; i < count; i++) {
			read_field(fields[i]);
			row[i] = fields[i];
		}
		csv_row(&out, row);
	}
	fwrite(text_string(&out), 1, out.len, stdout);
	text_free(&out);
	return 0;
}
