/* input.h - declared inputs: what a form may hold, checked before a handler runs.
 *
 * A route names a table of inputs, ended by a row without a name. Every field
 * is checked for well-formed text, trimmed, measured and read by its kind;
 * handlers get typed values and never see raw fields. A field that the table
 * does not name is an error of its own (400), except "token", which the
 * dispatcher takes.
 *
 *     static const struct input inputs[] = {
 *             {"name", "Name of the kit", INPUT_LINE, .required = true, .longest = 60},
 *             {"purchased", "Purchased", INPUT_DATE},
 *             {"part", "Part number", INPUT_NAME, .repeated = true},
 *             INPUTS_END};
 *
 * A handler: read form_ok; if not, show the form again as typed. form_fail
 * adds what only the handler can find (a duplicate, a circle).
 */
#ifndef WEB_HTML_INPUT_H
#define WEB_HTML_INPUT_H

#include <jansson.h>

#include "core/date.h"
#include "core/due.h"
#include "core/effectivity.h"
#include "core/name.h"
#include "core/serial.h"
#include "store/bounds.h"
#include "web/http/http.h"

enum input_kind {
	INPUT_LINE,      /* one line of text; blanks trimmed */
	INPUT_TEXT,      /* text with paragraphs; line ends become \n */
	INPUT_NAME,      /* a name as core knows it: model, part number, code */
	INPUT_DATE,      /* a date, perhaps only to the month or year */
	INPUT_DAY,       /* a whole date */
	INPUT_NUMBER,    /* a whole number from min to max */
	INPUT_HOURS,     /* at most two decimals; the value is hundredths; min, max also */
	INPUT_SERIAL,    /* a serial or lot number */
	INPUT_STATEMENT, /* an effectivity statement; the value is parsed */
	INPUT_DUE,       /* a compliance time as limits; the value is parsed */
	INPUT_CHOICE,    /* one of the words in choices */
	INPUT_FLAG,      /* ticked or not */
	INPUT_ID,        /* a decimal id above 0 */
	INPUT_PASSWORD,  /* not trimmed, never shown again */
	INPUT_FILE,      /* an uploaded file; longest counts bytes */
	INPUT_TOKEN      /* a secret in the form of os/token.h */
};
#define INPUT_KINDS (INPUT_TOKEN + 1)

struct input {
	const char *name;
	const char *label; /* as the form shows it; begins every error text */
	enum input_kind kind;
	bool required;
	bool repeated;              /* many values, in order: the rows of a list */
	unsigned longest;           /* characters; 0: the usual limit of the kind */
	int64_t min, max;           /* both 0: any that is not negative */
	const char *const *choices; /* INPUT_CHOICE: words, ended by NULL */
	const char *hint;           /* what helps to fill it in; NULL: nothing */
};
#define INPUTS_END                                                                                 \
	{                                                                                          \
		.name = NULL                                                                       \
	}

/* One value. given: it was there and not blank; only then the typed members
 * count. An invalid value has an error and is not given. */
struct form_value {
	bool given;
	const char *typed; /* as typed, for showing again; never NULL */
	const char *error; /* in words, NULL when fine */
	const char *text;  /* checked and trimmed, "" when not given */
	struct name name;
	struct date date;
	struct serial serial;
	int64_t number; /* NUMBER, HOURS (hundredths), ID */
	int choice;     /* index in choices, -1 when none */
	const struct effectivity *statement;
	const struct due_statement *due;
	struct statement_fault fault; /* STATEMENT, DUE in error: line 0 when not from the parser */
	const struct http_upload *file; /* FILE, when given; text is a fault there, never a file */
};

/* The name of a file as its field's faults show it: what the browser says behind
 * the last slash, of up to 60 bytes, fit to be shown. NULL when memory ran out. */
const char *input_file_name(struct arena *arena, const struct http_upload *upload);

struct form;

/* Reads the fields and files by the table (NULL: no inputs). ST_INVALID when a
 * field is unknown: *unknown gets its name, cleaned for showing; NULL lets
 * unknown ones pass. Faults of values are no failure: see form_ok. ST_NOMEM. */
enum status form_read(struct arena *arena, const struct input *inputs,
                      const struct http_fields *fields, const struct http_uploads *uploads,
                      struct form **out, const char **unknown) MUST_CHECK;

/* A form to fill in, nothing given; NULL when memory ran out. */
struct form *form_blank(struct arena *arena, const struct input *inputs);

/* Fills in a value for showing: text as a user would type it; NULL: nothing.
 * A repeated input gets one more row. Flags take "yes" or "". */
void form_set(struct form *form, const char *name, const char *text);
void form_set_number(struct form *form, const char *name, int64_t number);
void form_set_hours(struct form *form, const char *name, int64_t hundredths);
void form_set_date(struct form *form, const char *name, const struct date_fact *fact);
void form_set_flag(struct form *form, const char *name, bool ticked);

/* No faults so far? */
bool form_ok(const struct form *form);

/* Adds a fault to an input, or to a row of it; "" as name: to the whole form.
 * The first fault of a value stays. Words without the label: "is taken". */
void form_fail(struct form *form, const char *name, const char *format, ...) PRINTF_LIKE(3, 4);
void form_fail_row(struct form *form, const char *name, size_t row, const char *format, ...)
        PRINTF_LIKE(4, 5);
/* What came of storing it. ST_LIMIT of a bound (store/bounds.h) becomes a fault of the
 * whole form, and ST_OK; every other status is given back. */
enum status form_bound(struct form *form, const struct store *store, enum status status) MUST_CHECK;

/* Values. The name must be in the table (asserted). The plain ones read row 0. */
size_t form_count(const struct form *form, const char *name); /* rows sent, blank ones too */
const struct form_value *form_value(const struct form *form, const char *name, size_t row);
bool form_given(const struct form *form, const char *name);
const char *form_text(const struct form *form, const char *name);      /* "" when not given */
struct name form_name(const struct form *form, const char *name);      /* empty when not given */
struct date_fact form_date(const struct form *form, const char *name); /* unknown when not given */
day_number form_day(const struct form *form, const char *name);        /* 0 when not given */
int64_t form_number(const struct form *form, const char *name);        /* 0 when not given */
int form_choice(const struct form *form, const char *name);            /* -1 when not given */
bool form_flag(const struct form *form, const char *name);
const struct http_upload *form_file(const struct form *form, const char *name); /* or NULL */

/* For templates: an object with a member for each input by its name, and
 * "errors": [{"anchor", "words"}...], "failed": true or false. New reference, NULL
 * when memory ran out. Each input is
 *   {"name", "label", "id", "value", "error" (false or words), "required", "longest",
 *    "ticked", "options": [{"value", "selected"}], "hint" (left out when there is none)}
 * A repeated one is an array of these, with ids like part-2; but many files are one
 * field: {"name", "label", "id", "required", "again" (were files sent, so that they must
 * be chosen again?), "faults": [{"anchor", "words"}...]}. */
json_t *form_view(const struct form *form);

/* Rows of inputs that are repeated together: [{"row": 1, "part": {...}, "lot": {...}}...],
 * with `spare` blank rows more. names ends with NULL. */
json_t *form_rows_view(const struct form *form, const char *const *names, size_t spare);

#endif
