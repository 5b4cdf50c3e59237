/* json_reader.h - takes JSON of our own formats apart, strictly.
 *
 * A reader walks a Jansson value and remembers where it is. The first fault
 * sticks, with its place as a JSON Pointer (RFC 6901) and the reason in plain
 * words; after it every read gives the empty value, so that a whole object is
 * read without a check after each field. Unknown keys, wrong types, texts that
 * are too long or hold control characters are faults.
 */
#ifndef FORMATS_JSON_READER_H
#define FORMATS_JSON_READER_H

#include <stdbool.h>
#include <stdint.h>

#include <jansson.h>

#include "base/arena.h"
#include "core/date.h"
#include "core/name.h"
#include "core/serial.h"

#define JSON_PLACE_SIZE 240
#define JSON_WORDS_SIZE 240

struct json_fault {
	char place[JSON_PLACE_SIZE]; /* "/notices/3/issued"; "" is the whole */
	char words[JSON_WORDS_SIZE];
	unsigned line, column; /* in the text, from 1; 0 when there is no text to point at */
};

struct json_reader {
	struct arena *arena; /* what is read lives here */
	enum status status;  /* ST_OK until the first fault: ST_INVALID or ST_NOMEM */
	struct json_fault fault;
	char path[JSON_PLACE_SIZE];
	size_t path_len;
};

void json_reader_start(struct json_reader *reader, struct arena *arena);
bool json_reader_ok(const struct json_reader *reader);

/* Parses text (len bytes) as one JSON value without duplicate keys. New
 * reference; NULL with reader->fault filled, line and column too. */
json_t *json_reader_parse(struct json_reader *reader, const char *text, size_t len);

/* Fills fault.line and column from the text that the value was parsed from. */
void json_reader_locate(struct json_reader *reader, const char *text, size_t len);

/* Goes into a member or element; leave takes what enter returned. */
size_t json_enter(struct json_reader *reader, const char *key);
size_t json_enter_index(struct json_reader *reader, size_t index);
void json_leave(struct json_reader *reader, size_t mark);

/* Sets the fault at the current place, or at a member of it. */
void json_fail(struct json_reader *reader, const char *format, ...) PRINTF_LIKE(2, 3);
void json_fail_at(struct json_reader *reader, const char *key, const char *format, ...)
        PRINTF_LIKE(3, 4);

/* Is it an object with no other keys than these? keys ends with NULL. */
bool json_check_keys(struct json_reader *reader, const json_t *object, const char *const *keys);

/* Members of an object. Absent ones: NULL, "", false, 0, unknown. */
const json_t *json_read_array(struct json_reader *reader, const json_t *object, const char *key);
const json_t *json_read_object(struct json_reader *reader, const json_t *object, const char *key);
const char *json_read_line(struct json_reader *reader, const json_t *object, const char *key,
                           size_t longest); /* one line, characters */
const char *json_read_text(struct json_reader *reader, const json_t *object, const char *key,
                           size_t longest); /* paragraphs */
struct name json_read_name(struct json_reader *reader, const json_t *object, const char *key);
bool json_read_serial(struct json_reader *reader, const json_t *object, const char *key,
                      struct serial *out); /* true when there is one */
struct date_fact json_read_date(struct json_reader *reader, const json_t *object, const char *key);
bool json_read_flag(struct json_reader *reader, const json_t *object, const char *key);
bool json_read_hours(struct json_reader *reader, const json_t *object, const char *key,
                     int64_t *hundredths); /* true when there */
bool json_read_count(struct json_reader *reader, const json_t *object, const char *key,
                     int64_t *out);

/* Strings that are not members: array elements, keys. */
struct name json_name_of(struct json_reader *reader, const json_t *value);
struct name json_name_of_text(struct json_reader *reader, const char *text);
struct date_fact json_date_of(struct json_reader *reader, const json_t *value);

/* A member that is an array of like elements, each read into zeroed room of a
 * size. A longer array than most is a fault. keys: those of an element that is
 * an object, NULL when it is none. */
typedef void json_element_fn(struct json_reader *reader, const json_t *value, void *out);
struct json_elements {
	const char *key;
	size_t size;
	size_t most;
	const char *const *keys;
	json_element_fn *read;
};
const void *json_read_elements(struct json_reader *reader, const json_t *object,
                               const struct json_elements *elements, size_t *count);

/* An array of names. */
const struct name *json_read_names(struct json_reader *reader, const json_t *object,
                                   const char *key, size_t *count);

/* A fault when the member is absent, null or "". */
void json_need(struct json_reader *reader, const json_t *object, const char *key);

#endif
