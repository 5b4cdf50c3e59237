#include "web/http/http.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <string.h>

#include "base/text.h"
#include "base/utf8.h"

static int hex_digit(char c)
{
	if (c >= '0' && c <= '9')
		return c - '0';
	if (c >= 'a' && c <= 'f')
		return c - 'a' + 10;
	if (c >= 'A' && c <= 'F')
		return c - 'A' + 10;
	return -1;
}

/* One byte from an escape at %, -1 when it is none. */
static int escaped_byte(const char *at, size_t left)
{
	int high = left > 2 ? hex_digit(at[1]) : -1;
	int low = left > 2 ? hex_digit(at[2]) : -1;

	return high < 0 || low < 0 ? -1 : high * 16 + low;
}

/* Decodes escapes and, in forms, plus signs; the copy is never longer. */
static enum status decode(struct arena *arena, const char *at, size_t len, bool plus,
                          const char **out, size_t *out_len)
{
	char *copy = arena_array(arena, len + 1, 1);
	size_t n = 0;

	if (!copy)
		return ST_NOMEM;
	for (size_t i = 0; i < len; i++) {
		int byte = (unsigned char)at[i];

		if (at[i] == '%') {
			byte = escaped_byte(at + i, len - i);
			i += 2;
		} else if (plus && at[i] == '+') {
			byte = ' ';
		}
		if (byte < 0)
			return ST_INVALID;
		copy[n++] = (char)byte;
	}
	*out = copy;
	*out_len = n;
	return ST_OK;
}

static bool has_dot_segment(const char *path)
{
	while ((path = strchr(path, '/'))) {
		size_t len = strcspn(++path, "/");

		if ((len == 1 && path[0] == '.') || (len == 2 && path[0] == '.' && path[1] == '.'))
			return true;
	}
	return false;
}

enum status http_path(struct arena *arena, const char *raw, const char **out)
{
	const char *path = NULL;
	size_t len = 0;
	enum status status = decode(arena, raw, strlen(raw), false, &path, &len);

	if (status != ST_OK)
		return status;
	if (path[0] != '/' || utf8_check(path, len, NULL) != UTF8_FINE || strpbrk(path, "\t\r\n"))
		return ST_INVALID;
	if (has_dot_segment(path))
		return ST_INVALID;
	*out = path;
	return ST_OK;
}

static size_t count_pairs(const char *at, size_t len)
{
	size_t count = 0;

	for (size_t i = 0; i < len; i++)
		count += at[i] != '&' && (i == 0 || at[i - 1] == '&');
	return count;
}

static enum status decode_pair(struct arena *arena, const char *at, size_t len,
                               struct http_field *field)
{
	const char *equals = memchr(at, '=', len);
	size_t name_len = equals ? (size_t)(equals - at) : len;
	const char *value = equals ? equals + 1 : at + len;
	size_t decoded = 0;
	enum status status = decode(arena, at, name_len, true, &field->name, &decoded);

	if (status == ST_OK && strlen(field->name) != decoded)
		status = ST_INVALID; /* a NUL in a name */
	if (status == ST_OK)
		status = decode(arena, value, (size_t)(at + len - value), true, &field->value,
		                &field->len);
	return status;
}

enum status http_urlencoded(struct arena *arena, const char *at, size_t len,
                            struct http_fields *out)
{
	size_t count = count_pairs(at, len);
	struct http_field *fields;
	size_t n = 0;

	if (count > HTTP_FIELDS_MOST)
		return ST_LIMIT;
	fields = ARENA_ARRAY(arena, struct http_field, count);
	if (!fields)
		return ST_NOMEM;
	for (const char *end = at + len; at < end;) {
		const char *amp = memchr(at, '&', (size_t)(end - at));
		const char *stop = amp ? amp : end;
		enum status status = ST_OK;

		if (stop > at)
			status = decode_pair(arena, at, (size_t)(stop - at), &fields[n++]);
		if (status != ST_OK)
			return status;
		at = stop + 1;
	}
	*out = (struct http_fields){fields, n};
	return ST_OK;
}

/* Is the media type, parameters apart, this one? (RFC 9110 section 8.3.1) */
static bool is_type(const char *content_type, const char *type)
{
	size_t len = strlen(type);

	return strncasecmp(content_type, type, len) == 0 &&
	       (content_type[len] == '\0' || strchr("; \t", content_type[len]));
}

enum status http_body(struct arena *arena, struct request *request, const char *at, size_t len)
{
	const char *type = request->headers.content_type;

	if (len == 0)
		return ST_OK;
	if (type && is_type(type, "application/x-www-form-urlencoded"))
		return http_urlencoded(arena, at, len, &request->form);
	if (type && is_type(type, "multipart/form-data"))
		return http_multipart(arena, type, at, len, &request->form, &request->uploads);
	return ST_INVALID;
}

/* The next name=value of a Cookie field; *at moves behind it. */
static bool next_cookie(const char **at, const char **name, size_t *name_len, const char **value,
                        size_t *value_len)
{
	*name = *at + strspn(*at, "; ");
	*name_len = strcspn(*name, "=;");
	if ((*name)[0] == '\0')
		return false;
	*value = *name + *name_len + ((*name)[*name_len] == '=');
	*value_len = strcspn(*value, "; ");
	*at = *value + strcspn(*value, ";");
	return true;
}

const char *http_cookie(struct arena *arena, const char *header, const char *name)
{
	const char *at = header ? header : "";
	const char *key, *value;
	size_t key_len, value_len;
	const char *found = NULL;

	while (next_cookie(&at, &key, &key_len, &value, &value_len)) {
		if (key_len != strlen(name) || memcmp(key, name, key_len) != 0)
			continue;
		if (found)
			return NULL;
		found = arena_copy(arena, value, value_len);
	}
	return found;
}

/* The weight of "gzip;q=0": one that is not acceptable. at is behind the name. */
static bool weighs_nothing(const char *at, const char *end)
{
	static const char blank[] = " \t";

	at += strspn(at, blank);
	if (*at != ';')
		return false;
	at++;
	at += strspn(at, blank);
	if (strncasecmp(at, "q=0", 3) != 0)
		return false;
	at += 3;
	at += strspn(at, ".0");
	at += strspn(at, blank);
	return at == end;
}

bool http_accepts_coding(const char *accept_encoding, const char *coding)
{
	const char *at = accept_encoding ? accept_encoding : "";
	bool any = false;

	while (*at) {
		size_t len, whole;

		at += strspn(at, ", \t");
		len = strcspn(at, ",; \t");
		whole = strcspn(at, ",");
		if (len == strlen(coding) && strncasecmp(at, coding, len) == 0)
			return !weighs_nothing(at + len, at + whole);
		if (len == 1 && *at == '*')
			any = !weighs_nothing(at + len, at + whole);
		at += whole;
	}
	return any;
}

bool http_lists_etag(const char *if_none_match, const char *etag)
{
	size_t len = strlen(etag);
	const char *at = if_none_match;

	if (strcmp(at, "*") == 0)
		return true;
	while (*at) {
		at += strspn(at, ", \t");
		if (strncmp(at, "W/", 2) == 0)
			at += 2;
		if (strncmp(at, etag, len) == 0 && strchr(", \t", at[len]))
			return true;
		at += strcspn(at, ",");
	}
	return false;
}

const char *http_first(const struct http_fields *fields, const char *name)
{
	for (size_t i = 0; i < fields->count; i++)
		if (strcmp(fields->at[i].name, name) == 0)
			return fields->at[i].value;
	return NULL;
}

static bool is_unreserved(char c)
{
	return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
	       c == '-' || c == '.' || c == '_' || c == '~';
}

void http_escape(struct text *out, const char *value)
{
	for (; *value; value++) {
		if (is_unreserved(*value))
			text_add_char(out, *value);
		else
			text_printf(out, "%%%02X", (unsigned)(unsigned char)*value);
	}
}

void response_header(struct arena *arena, struct response *response, const char *name,
                     const char *value)
{
	struct http_header *header = ARENA_NEW(arena, struct http_header);
	char *copy = arena_string(arena, value);
	char *to = copy;

	if (!header || !copy)
		return;
	for (const char *from = copy; *from; from++)
		if ((unsigned char)*from >= 0x20 && *from != 0x7F)
			*to++ = *from;
	*to = '\0';
	*header = (struct http_header){name, copy, response->headers};
	response->headers = header;
}

/* A browser takes a backslash for a slash and drops tabs and line ends. */
bool http_is_local_path(const char *path)
{
	if (path[0] != '/' || path[1] == '/')
		return false;
	for (; *path; path++)
		if (*path == '\\' || (unsigned char)*path <= 0x20 || *path == 0x7F)
			return false;
	return true;
}

const char *http_caller(struct arena *arena, const char *address)
{
	char text[INET6_ADDRSTRLEN] = "";
	const char *copy;
	struct in6_addr six;

	if (inet_pton(AF_INET6, address, &six) != 1) {
		copy = arena_string(arena, address);
	} else if (IN6_IS_ADDR_V4MAPPED(&six)) {
		inet_ntop(AF_INET, &six.s6_addr[12], text, sizeof text);
		copy = arena_string(arena, text);
	} else {
		memset(&six.s6_addr[8], 0, 8);
		inet_ntop(AF_INET6, &six, text, sizeof text);
		copy = arena_printf(arena, "%s/64", text);
	}
	return copy ? copy : "";
}

const char *http_phrase(unsigned status)
{
	static const struct {
		unsigned status;
		const char *phrase;
	} phrases[] = {
	        {200, "OK"},
	        {303, "See Other"},
	        {304, "Not Modified"},
	        {400, "Bad Request"},
	        {401, "Unauthorized"},
	        {403, "Forbidden"},
	        {404, "Not Found"},
	        {405, "Method Not Allowed"},
	        {409, "Conflict"},
	        {413, "Content Too Large"},
	        {414, "URI Too Long"},
	        {422, "Unprocessable Content"},
	        {429, "Too Many Requests"},
	        {431, "Request Header Fields Too Large"},
	        {500, "Internal Server Error"},
	        {503, "Service Unavailable"},
	};

	for (size_t i = 0; i < sizeof phrases / sizeof phrases[0]; i++)
		if (phrases[i].status == status)
			return phrases[i].phrase;
	return "";
}
