/* form_parts.h - the inside of a form, for input.c, form.c and form_view.c only. */
#ifndef WEB_HTML_FORM_PARTS_H
#define WEB_HTML_FORM_PARTS_H

#include "web/html/input.h"

struct form_entry {
	const struct input *input;
	struct form_value *rows;
	size_t count, room;
};

struct form_fault { /* of the whole form */
	const char *words;
	struct form_fault *next;
};

struct form {
	struct arena *arena;
	struct form_entry *entries; /* as in the table of inputs */
	size_t count;
	struct form_fault *faults;
	bool failed;
};

/* NULL when the table has no such input. */
struct form_entry *form_find(const struct form *form, const char *name);

/* A blank row more; NULL when memory ran out. */
struct form_value *form_add_row(struct form *form, struct form_entry *entry);

/* Reads one field into a blank value: typed, error, given and the typed members. */
enum status input_read(struct arena *arena, const struct input *input,
                       const struct http_field *field, struct form_value *value) MUST_CHECK;

/* The same for a file. */
enum status input_read_file(struct arena *arena, const struct input *input,
                            const struct http_upload *upload, struct form_value *value) MUST_CHECK;

/* An input that was not sent at all. */
enum status input_absent(struct arena *arena, const struct input *input,
                         struct form_value *value) MUST_CHECK;

/* Text that is safe to show: U+FFFD in place of whatever utf8_check refuses. */
const char *input_showable(struct arena *arena, const char *at, size_t len);

#endif
