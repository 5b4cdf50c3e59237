/* tmpl.h - pages from files: a Mustache subset without a raw tag, over Jansson.
 *
 *     {{name}}           text, a number, true or false, with & < > " ' escaped
 *     {{a.b}} {{.}}      a member of a member; the thing at hand
 *     {{#x}}..{{/x}}     once for each element of an array; once, with x as the
 *                        thing at hand, for any other value; not at all for
 *                        false, null, 0, "", [] and a name that is missing
 *     {{^x}}..{{/x}}     just when {{#x}} would not
 *     {{>file.html}}     another file of the set with what is at hand here; a
 *                        file may hold itself
 *     {{! words }}       nothing
 *
 * The first part of a name is looked up in what is at hand, then outwards; the
 * further parts only in what it named. A tag other than {{name}} that stands
 * alone takes its whole line with it. Whitespace follows the Mustache
 * specification (github.com/mustache/spec: interpolation, sections, inverted,
 * partials, comments). What the specification has and this has not: the raw
 * tags {{{x}}} and {{&x}}, other delimiters, lambdas, inheritance.
 *
 * {{x}} of a name that is missing fails: a page with a hole in it is a bug.
 * Of null it prints nothing, so that a presenter says "none" on purpose.
 *
 * Escaping is right in text and in quoted attributes, so a lint refuses a file
 * in which a tag stands anywhere else: in script, style or comments, in the
 * name of an element or attribute, in an unquoted value, in on...= and style=.
 * A value at the start of href, src, action and their like must be an address
 * that the presenter made or checked: its name ends in url, path or link, or
 * lies below "static". Sections may hold whole attributes; a section ends in
 * the same kind of place where it began, and a file ends outside of elements'
 * tags, so that leaving out or repeating a part cannot move the rest.
 */
#ifndef WEB_HTML_TMPL_H
#define WEB_HTML_TMPL_H

#include <stdbool.h>
#include <stddef.h>

#include <jansson.h>

#include "base/embedded.h"
#include "base/status.h"
#include "base/text.h"

#define TMPL_NESTED_SECTIONS 32    /* in one file */
#define TMPL_NESTED_VALUES 200     /* sections and partials within each other when filled */
#define TMPL_MOST_PASSES 2000000   /* section bodies filled for one page */
#define TMPL_LONGEST_PAGE 16000000 /* bytes */

struct tmpl_fault {
	char file[64];
	unsigned line, column; /* from 1, of the tag or the place; columns count characters */
	char words[160];
};

struct tmpl_set; /* immutable, shared by all threads */

/* Compiles every file; names are those of the files ("notice.html"). The
 * bytes are borrowed and must outlive the set. ST_INVALID fills *fault;
 * ST_NOMEM. Owned by the caller. */
enum status tmpl_set_new(const struct embedded_file *files, size_t count, struct tmpl_set **out,
                         struct tmpl_fault *fault) MUST_CHECK;
void tmpl_set_free(struct tmpl_set *set); /* NULL is allowed */

/* Adds the file filled with view (an object, borrowed) to *out. ST_MISSING: no
 * such file, or a name in it that the view lacks; ST_INVALID: a name that is
 * an object or array where text is wanted; ST_LIMIT: one of the limits above;
 * these three fill *fault. ST_NOMEM: out has failed. On failure *out holds a
 * part of the page; do not send it. */
enum status tmpl_render(const struct tmpl_set *set, const char *name, const json_t *view,
                        struct text *out, struct tmpl_fault *fault) MUST_CHECK;

/* Adds len bytes with & < > " ' escaped. */
void tmpl_escape(struct text *out, const char *at, size_t len);

/* Is this an address that somebody typed and that we link to: absolute, http
 * or https, without blanks, control characters or backslashes? */
bool url_is_http(const char *url);

#endif
