/* csv.h - tables as comma-separated values, RFC 4180: lines end with CR LF; a
 * field with a comma, a quote or a line end stands in quotes, and quotes in it
 * are doubled. A field that a spreadsheet could take for a formula, because it
 * begins with = + - @ or a tab, gets an apostrophe in front (OWASP, CSV
 * Injection: from memory).
 */
#ifndef FORMATS_CSV_H
#define FORMATS_CSV_H

#include "base/text.h"

/* Adds the fields of one row; ends with NULL. */
void csv_row(struct text *out, const char *const *fields);

#endif
