/* statics.h - static files: each has an address that names its content, so
 * that a browser keeps it for good and asks anew only when it has changed.
 *
 * They are compressed once, at the start, for the browsers that take it. Pages
 * are not: compressed beside what the reader typed, the length of a page would
 * tell of the secrets in it.
 */
#ifndef WEB_HTTP_STATICS_H
#define WEB_HTTP_STATICS_H

#include <jansson.h>

#include "base/embedded.h"
#include "base/status.h"

struct static_file {
	const struct embedded_file *file;
	const char *type; /* media type by the end of the name */
	const char *key;  /* fairlead_css for fairlead.css */
	const char *url;  /* /static/fairlead.css?v=0123456789abcdef */
	const char *tag;  /* 0123456789abcdef: names the content */
	const char *etag; /* the same with quotes */
	/* Compressed as "gzip"; NULL when that does not make it smaller. */
	const char *gzip;
	size_t gzip_len;
	const char *gzip_etag;
};

struct statics;

/* The table is borrowed. ST_NOMEM. */
enum status statics_new(const struct embedded_file *files, size_t count,
                        struct statics **out) MUST_CHECK;
void statics_free(struct statics *statics); /* NULL is allowed */

const struct static_file *statics_find(const struct statics *statics, const char *name);

/* {key: url, ...} for templates; new reference, NULL when memory ran out. */
json_t *statics_view(const struct statics *statics);

#endif
