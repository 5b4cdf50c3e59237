/* atom.h - feeds in Atom (RFC 4287), for programs that look for news.
 *
 * A feed is filled into views/feed.xml by the same filler as pages are: its
 * escaping of & < > " ' is what XML 1.0 sections 2.4 and 2.3 ask for in text
 * and in quoted attributes, and its lint holds values to these places. So
 * there is no second escaper, and none that could be forgotten. What escaping
 * cannot help is left out before: characters that XML 1.0 section 2.2 forbids.
 *
 * Kept of RFC 4287: feed and entries each have one id (an IRI that never
 * changes), title and updated (section 4.1), the feed has an author for all
 * entries, dates are RFC 3339, titles and summaries are plain text (3.1.1.1).
 */
#ifndef WEB_HTML_ATOM_H
#define WEB_HTML_ATOM_H

#include <jansson.h>

#include "web/http/context.h"

struct atom_entry {
	const char *id; /* an IRI */
	const char *title, *summary;
	const char *category; /* one word; NULL: none */
	const char *url;      /* the page about it, absolute */
	int64_t updated;      /* seconds since 1970-01-01 UTC */
};

struct atom_feed {
	const char *id, *title, *subtitle, *author;
	const char *self_url;             /* NULL: not told, for its address is a secret */
	const char *page_url;             /* the same to read in a browser */
	const struct atom_entry *entries; /* newest first; the first one dates the feed */
	size_t count;
};

/* Text as XML may hold it: without control characters other than tab and line
 * ends, and without U+FFFE and U+FFFF. New reference; NULL when memory ran out. */
json_t *atom_text(const char *text);

/* The view of views/feed.xml. New reference; NULL when memory ran out. */
json_t *atom_view(const struct atom_feed *feed);

/* 200 with the feed. */
enum status respond_atom(struct context *c, const struct atom_feed *feed,
                         enum cache_class cache) MUST_CHECK;

#endif
