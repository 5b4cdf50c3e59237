/* multipart.c - reading multipart/form-data (RFC 7578, framing RFC 2046 5.1.1).
 *
 * A body is: dash-boundary, part, (CRLF dash-boundary, part)..., CRLF
 * dash-boundary "--". A part is header lines, an empty line, contents. The
 * whole body is in memory; contents are borrowed from it, NUL-ended copies are
 * made of fields only, which take no more room than in a form without files.
 * Of a part's header only Content-Disposition matters.
 */
#include <string.h>

#include "web/http/http.h"

#define BOUNDARY_LONGEST 70 /* RFC 2046 section 5.1.1 */

struct span {
	const char *at;
	size_t len;
};

struct reader {
	struct arena *arena;
	struct span rest;      /* of the body */
	struct span delimiter; /* CRLF and dash-boundary */
	struct http_field *fields;
	struct http_upload *uploads;
	size_t n_fields, n_uploads;
	size_t words; /* bytes of the fields */
};

static const char *find(struct span in, const char *what, size_t len)
{
	return memmem(in.at, in.len, what, len);
}

static struct span from(struct span span, const char *at)
{
	return (struct span){at, span.len - (size_t)(at - span.at)};
}

/* Value of a parameter such as boundary=x or name="x"; at NULL when absent.
 * Browsers write a quote in a name as %22 (WHATWG HTML), so none is escaped. */
static struct span parameter(struct span header, const char *key)
{
	size_t len = strlen(key);

	for (size_t i = 1; i + len < header.len; i++) {
		const char *at = header.at + i;
		const char *value = at + len;
		size_t left = header.len - i - len;
		const char *end;

		if (strncasecmp(at, key, len) != 0 || !strchr("; \t", at[-1]))
			continue;
		if (value[0] == '"') {
			end = memchr(value + 1, '"', left - 1);
			return end ? (struct span){value + 1, (size_t)(end - value - 1)}
			           : (struct span){NULL, 0};
		}
		for (end = value; end < value + left && !strchr("; \t\r\n", *end); end++)
			;
		return (struct span){value, (size_t)(end - value)};
	}
	return (struct span){NULL, 0};
}

static enum status make_delimiter(struct reader *reader, const char *content_type)
{
	struct span type = {content_type, strlen(content_type)};
	struct span boundary = parameter(type, "boundary=");
	char *delimiter;

	if (!boundary.at || boundary.len == 0 || boundary.len > BOUNDARY_LONGEST)
		return ST_INVALID;
	delimiter = arena_printf(reader->arena, "\r\n--%.*s", (int)boundary.len, boundary.at);
	if (!delimiter)
		return ST_NOMEM;
	reader->delimiter = (struct span){delimiter, strlen(delimiter)};
	return ST_OK;
}

/* The Content-Disposition line among a part's header lines. */
static struct span disposition(struct span head)
{
	static const char field[] = "Content-Disposition:";

	while (head.len > 0) {
		const char *end = find(head, "\r\n", 2);
		size_t len = end ? (size_t)(end - head.at) : head.len;

		if (len >= sizeof field - 1 && strncasecmp(head.at, field, sizeof field - 1) == 0)
			return (struct span){head.at, len};
		head = from(head, head.at + len + (end ? 2 : 0));
	}
	return (struct span){NULL, 0};
}

static enum status keep_field(struct reader *reader, const char *name, struct span value)
{
	char *copy;

	if (reader->n_fields == HTTP_FIELDS_MOST || value.len > HTTP_WORDS_MOST - reader->words)
		return ST_LIMIT;
	copy = arena_copy(reader->arena, value.at, value.len);
	if (!copy)
		return ST_NOMEM;
	reader->words += value.len;
	reader->fields[reader->n_fields++] = (struct http_field){name, copy, value.len};
	return ST_OK;
}

/* A file input without a file comes as an empty one without a name: dropped. */
static enum status keep_upload(struct reader *reader, const char *name, struct span filename,
                               struct span bytes)
{
	char *copy = arena_copy(reader->arena, filename.at, filename.len);

	if (!copy)
		return ST_NOMEM;
	if (filename.len == 0 && bytes.len == 0)
		return ST_OK;
	if (reader->n_uploads == HTTP_FILES_MOST)
		return ST_LIMIT;
	reader->uploads[reader->n_uploads++] =
	        (struct http_upload){name, copy, bytes.at, bytes.len};
	return ST_OK;
}

static enum status read_part(struct reader *reader, struct span part)
{
	const char *blank = find(part, "\r\n\r\n", 4);
	struct span line = {NULL, 0};
	struct span name, filename, contents;
	char *copy;

	if (!blank)
		return ST_INVALID;
	line = disposition((struct span){part.at, (size_t)(blank - part.at)});
	contents = from(part, blank + 4);
	name = line.at ? parameter(line, "name=") : line;
	filename = parameter(line, "filename=");
	/* Names are kept as strings: one that goes on behind a NUL would be cut there. */
	if (!name.at || memchr(name.at, '\0', name.len) ||
	    (filename.at && memchr(filename.at, '\0', filename.len)))
		return ST_INVALID;
	copy = arena_copy(reader->arena, name.at, name.len);
	if (!copy)
		return ST_NOMEM;
	return filename.at ? keep_upload(reader, copy, filename, contents)
	                   : keep_field(reader, copy, contents);
}

/* rest begins behind a delimiter: "--" ends the body, CRLF begins a part. */
static enum status read_parts(struct reader *reader)
{
	for (;;) {
		struct span rest = reader->rest;
		const char *end;
		enum status status;

		if (rest.len >= 2 && memcmp(rest.at, "--", 2) == 0)
			return ST_OK;
		if (rest.len < 2 || memcmp(rest.at, "\r\n", 2) != 0)
			return ST_INVALID;
		rest = from(rest, rest.at + 2);
		end = find(rest, reader->delimiter.at, reader->delimiter.len);
		if (!end)
			return ST_INVALID;
		status = read_part(reader, (struct span){rest.at, (size_t)(end - rest.at)});
		if (status != ST_OK)
			return status;
		reader->rest = from(rest, end + reader->delimiter.len);
	}
}

enum status http_multipart(struct arena *arena, const char *content_type, const char *at,
                           size_t len, struct http_fields *fields, struct http_uploads *uploads)
{
	struct reader reader = {.arena = arena};
	enum status status = make_delimiter(&reader, content_type);
	const char *first = NULL;

	if (status != ST_OK)
		return status;
	/* The first dash-boundary has no CRLF before it. */
	if (len >= reader.delimiter.len - 2)
		first = at;
	if (!first || memcmp(first, reader.delimiter.at + 2, reader.delimiter.len - 2) != 0)
		return ST_INVALID;
	reader.rest = (struct span){at + reader.delimiter.len - 2, len - reader.delimiter.len + 2};
	reader.fields = ARENA_ARRAY(arena, struct http_field, HTTP_FIELDS_MOST);
	reader.uploads = ARENA_ARRAY(arena, struct http_upload, HTTP_FILES_MOST);
	if (!reader.fields || !reader.uploads)
		return ST_NOMEM;
	status = read_parts(&reader);
	if (status != ST_OK)
		return status;
	*fields = (struct http_fields){reader.fields, reader.n_fields};
	*uploads = (struct http_uploads){reader.uploads, reader.n_uploads};
	return ST_OK;
}
