/* head.h - is the head of a request written so that it reads one way only?
 *
 * A head that two readers understand differently lets one of them be deceived by
 * the other: about where a request ends, whom it is for, who sends it. What RFC
 * 9112 leaves no doubt about is refused, and the connection ends, since nobody
 * knows where its next request would begin.
 */
#ifndef WEB_HTTP_HEAD_H
#define WEB_HTTP_HEAD_H

#include "base/status.h"
#include "web/http/http.h"

struct head_field {
	const char *name, *value; /* NUL-ended, in the bytes that came */
	size_t name_len, value_len;
};

struct head {
	const char *method;
	const char *target;  /* as on the request line */
	const char *version; /* "HTTP/1.1" */
	const struct head_field *fields;
	size_t count;
};

/* ST_OK, or ST_INVALID for what must be refused. */
enum status head_check(const struct head *head) MUST_CHECK;

/* The fields that Fairlead reads. */
struct request_headers head_read(const struct head *head);

#endif
