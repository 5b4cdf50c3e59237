/* http.h - a request and its response as plain data.
 *
 * Nothing here knows a socket: tests fill a struct request by hand, the server
 * fills it in httpd.c. All lives in the request's arena. Texts end with NUL,
 * but a hostile one may hold NUL within: then len is larger than strlen says,
 * and input.c refuses it.
 */
#ifndef WEB_HTTP_HTTP_H
#define WEB_HTTP_HTTP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

enum http_method { HTTP_GET, HTTP_HEAD, HTTP_POST, HTTP_OTHER };

#define HTTP_FIELDS_MOST 2000        /* fields of one query or form */
#define HTTP_FILES_MOST 20           /* files of one form */
#define HTTP_WORDS_MOST (512 * 1024) /* bytes of what one form holds beside files */

struct http_field {
	const char *name;
	const char *value;
	size_t len; /* bytes of value */
};

struct http_fields {
	const struct http_field *at; /* in the order of arrival */
	size_t count;
};

struct http_upload {
	const char *name;     /* of the field */
	const char *filename; /* as the browser says; never used as a path */
	const char *bytes;
	size_t len;
};

struct http_uploads {
	const struct http_upload *at;
	size_t count;
};

/* Header fields that Fairlead reads; NULL when the request has none. */
struct request_headers {
	const char *accept_encoding;
	const char *authorization;
	const char *content_type;
	const char *cookie;
	const char *forwarded_for; /* X-Forwarded-For; used only behind a trusted proxy */
	const char *host;
	const char *if_none_match;
	const char *origin;
	const char *sec_fetch_site;
	const char *user_agent;
};

struct picture_job; /* web/picture_shop.h */

struct request {
	enum http_method method;
	const char *path; /* percent-decoded, begins with / */
	struct http_fields query;
	struct http_fields form;
	struct http_uploads uploads;
	struct request_headers headers;
	const char *peer;                   /* who calls, as limits count it: http_caller */
	const struct picture_job *pictures; /* made of its files; NULL: it is handled first */
	int patience; /* milliseconds that it waits for others' changes; 0: as the store does */
};

/* How long an answer may be kept, and by whom. */
enum cache_class {
	CACHE_NEVER,   /* no-store: sign-in, secrets, errors */
	CACHE_PRIVATE, /* the reader's own browser, asked again each time: pages of members */
	CACHE_OWN,     /* the reader's own browser, for a month: pictures, which never change */
	CACHE_PUBLIC,  /* anybody, for a minute: visitors' pages, the API */
	CACHE_FOREVER  /* named by its content: static files */
};

struct http_header {
	const char *name;
	const char *value;
	struct http_header *next;
};

struct response {
	unsigned status;              /* 0: not answered yet */
	struct picture_job *pictures; /* what must be made first: then handle it again */
	const char *type;
	const char *body; /* borrowed: from the arena or from the binary */
	size_t len;
	enum cache_class cache;
	const char *etag;            /* of the body, with quotes; NULL: made of the body */
	struct http_header *headers; /* further ones, in no order */
};

/* Percent-decodes a path. ST_INVALID for a bad escape, a NUL or other control
 * character, malformed UTF-8, and for the segments "." and "..". ST_NOMEM. */
enum status http_path(struct arena *arena, const char *raw, const char **out) MUST_CHECK;

/* Decodes len bytes of application/x-www-form-urlencoded (WHATWG URL), of a
 * body or of a query. ST_INVALID for a bad escape, ST_LIMIT, ST_NOMEM. */
enum status http_urlencoded(struct arena *arena, const char *at, size_t len,
                            struct http_fields *out) MUST_CHECK;

/* Reads a body of multipart/form-data (RFC 7578) with that content type; parts
 * with a file name become uploads, the others fields. ST_INVALID, ST_LIMIT,
 * ST_NOMEM. Contents are borrowed from the body. */
enum status http_multipart(struct arena *arena, const char *content_type, const char *at,
                           size_t len, struct http_fields *fields,
                           struct http_uploads *uploads) MUST_CHECK;

/* Puts a body of either kind into request->form and uploads, by its content
 * type. ST_INVALID when it is neither (an empty body may be any), else as above. */
enum status http_body(struct arena *arena, struct request *request, const char *at,
                      size_t len) MUST_CHECK;

/* The value of a cookie (RFC 6265 section 4.2.1), NULL when absent or when it
 * comes twice; borrowed from the arena. */
const char *http_cookie(struct arena *arena, const char *header, const char *name);

/* Does an Accept-Encoding field allow the coding (RFC 9110 section 12.5.3)?
 * NULL allows none: then bytes go out as they are. */
bool http_accepts_coding(const char *accept_encoding, const char *coding);

/* Does an If-None-Match field list the tag (with its quotes), by weak
 * comparison (RFC 9110 section 13.1.2)? */
bool http_lists_etag(const char *if_none_match, const char *etag);

/* First value of a field, NULL when absent. */
const char *http_first(const struct http_fields *fields, const char *name);

/* Appends with everything percent-encoded but letters, digits and - . _ ~
 * (RFC 3986 section 2.3): safe as a path segment and as a query value. */
struct text;
void http_escape(struct text *out, const char *value);

/* Adds a header field. Control characters in the value (CR and LF among them)
 * are left out, so that no value can begin another field. Nothing is added when
 * memory ran out; the arena says so. */
void response_header(struct arena *arena, struct response *response, const char *name,
                     const char *value);

/* May a browser be sent there: a path of this site, not "//elsewhere"? For
 * where to go on after signing in. */
bool http_is_local_path(const char *path);

/* Whom limits count as one caller. Of an IPv6 address the first 64 bits, in
 * which one household has all its addresses (RFC 6177 section 2); an IPv4 one
 * in IPv6 clothes (RFC 4291 section 2.5.5.2) as IPv4. Anything else as it is.
 * Never NULL: "" when memory ran out, and the arena says so. */
const char *http_caller(struct arena *arena, const char *address);

/* "Not Found"; "" for a status that Fairlead never sends. */
const char *http_phrase(unsigned status);

#endif
