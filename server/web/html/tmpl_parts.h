/* tmpl_parts.h - what the compiler, the lint and the filler of templates share.
 *
 * A compiled file is a flat array of operations. A section's body lies between
 * it and its OP_END, whose index it knows.
 */
#ifndef WEB_HTML_TMPL_PARTS_H
#define WEB_HTML_TMPL_PARTS_H

#include <stdint.h>

#include "base/arena.h"
#include "web/html/tmpl.h"

enum tmpl_op_kind {
	OP_TEXT,
	OP_INDENT, /* a line begins here with a tag: write the partial's indentation */
	OP_VALUE,
	OP_SECTION,
	OP_INVERTED,
	OP_END,
	OP_PARTIAL
};

struct tmpl_word {
	const char *at; /* NUL-ended */
	size_t len;
};

struct tmpl_op {
	enum tmpl_op_kind kind;
	bool line_start;               /* OP_TEXT: a line begins with it */
	bool alone;                    /* OP_PARTIAL: on its line */
	uint32_t target;               /* sections: their OP_END; OP_PARTIAL: index of the file */
	uint32_t n_words;              /* of a name; 0 for "." */
	unsigned line, column;         /* of a tag */
	size_t len;                    /* bytes at text */
	const char *text;              /* OP_TEXT; OP_PARTIAL: indentation of its line */
	const struct tmpl_word *words; /* OP_PARTIAL: one, the file */
};

struct tmpl_file {
	const char *name;
	const struct tmpl_op *ops;
	uint32_t count;
};

struct tmpl_set {
	struct arena *arena;
	struct tmpl_file *files;
	size_t count;
};

/* NULL when the set has no such file. */
const struct tmpl_file *tmpl_find(const struct tmpl_set *set, const char *name);

void tmpl_fault_set(struct tmpl_fault *fault, const char *file, unsigned line, unsigned column,
                    const char *format, ...) PRINTF_LIKE(5, 6);

/* Where in HTML the text so far has led. Begins as all zero: between elements. */
enum lint_place {
	LINT_TEXT = 0,
	LINT_LESS,        /* after < */
	LINT_LESS_SLASH,  /* after </ */
	LINT_ELEMENT,     /* in the name of an element */
	LINT_BETWEEN,     /* where an attribute may begin */
	LINT_ATTRIBUTE,   /* in the name of an attribute */
	LINT_AFTER_NAME,  /* blanks after that */
	LINT_EQUALS,      /* after = */
	LINT_QUOTED,      /* in a quoted value */
	LINT_AFTER_VALUE, /* a blank, / or > must follow */
	LINT_UNQUOTED,    /* in a value without quotes */
	LINT_DECLARATION, /* in <!doctype html> */
	LINT_COMMENT,
	LINT_RAW /* in script, style and their like */
};

enum lint_value { LINT_PLAIN, LINT_ADDRESS, LINT_NEVER };

#define LINT_NAME 24 /* longer names are cut */

struct lint {
	enum lint_place place;
	enum lint_value value; /* LINT_QUOTED: what may stand in it */
	bool closing;          /* </element */
	bool at_start;         /* LINT_QUOTED: nothing but / and blanks so far */
	char quote;
	unsigned matched;        /* marks of an ending seen: LINT_COMMENT, LINT_RAW */
	char element[LINT_NAME]; /* lower case */
	char attribute[LINT_NAME];
};

/* Each returns NULL, or in words what is wrong; the state is then useless. */
const char *lint_text(struct lint *lint, char c);
const char *lint_name(const struct lint *lint, const char *name, size_t len);
const char *lint_partial(const struct lint *lint);
const char *lint_section(struct lint *lint);                               /* {{#x}}, {{^x}} */
const char *lint_section_end(struct lint *lint, const struct lint *begun); /* {{/x}} */
const char *lint_end(const struct lint *lint);                             /* of the file */

/* Compiles one file into *out; names of other files are found in set->files,
 * whose names are all set. ST_INVALID fills *fault; ST_NOMEM. */
enum status tmpl_compile(const struct tmpl_set *set, const struct embedded_file *file,
                         struct tmpl_file *out, struct tmpl_fault *fault) MUST_CHECK;

#endif
