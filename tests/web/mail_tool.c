/* mail_tool.c - writes mails for the comparison with Python's email package.
 *
 * Standard input: for each mail the name of its sender, its subject and its
 * body, each as its length in bytes, a line end and the bytes. Standard output:
 * each mail in the same form.
 */
#include <stdio.h>
#include <stdlib.h>

#include "formats/mail_text.h"

#define FIELDS 3
#define FIELD_MOST 65536

static char fields[FIELDS][FIELD_MOST];

static bool read_field(char *field)
{
	unsigned len;

	if (scanf("%u", &len) != 1)
		return false;
	if (len >= FIELD_MOST || getchar() != '\n' || fread(field, 1, len, stdin) != len)
		exit(2);
	field[len] = '\0';
	return true;
}

int main(void)
{
	while (read_field(fields[0]) && read_field(fields[1]) && read_field(fields[2])) {
		const struct mail_message message = {
		        .from = "box@example.org",
		        .from_name = fields[0],
		        .to = "ann@example.org",
		        .subject = fields[1],
		        .body = fields[2],
		        .id = 7,
		        .made_at = 1790000000,
		        .now = 1790000000,
		        .stop_url = "https://fairlead.example/mail/stop/AAAA"};
		struct text out = TEXT_EMPTY;

		mail_text(&out, &message);
		printf("%zu\n", out.len);
		fwrite(text_string(&out), 1, out.len, stdout);
		text_free(&out);
	}
	return 0;
}
