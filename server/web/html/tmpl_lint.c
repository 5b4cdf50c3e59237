/* tmpl_lint.c - does every tag stand where escaping makes it harmless?
 *
 * A small machine follows the HTML of a template character by character, as
 * the tokenizer of the HTML standard does (html.spec.whatwg.org, section 13.2.5),
 * with fewer states. Where that standard forgives, this refuses: templates are
 * ours. A value may stand in LINT_TEXT and LINT_QUOTED only.
 */
#include "web/html/tmpl_parts.h"

#include <string.h>
#include <strings.h>

static bool is_blank(char c)
{
	return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '\f';
}

static char lower(char c)
{
	return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool is_letter(char c)
{
	return lower(c) >= 'a' && lower(c) <= 'z';
}

static void begin_name(char *name, char c)
{
	memset(name, 0, LINT_NAME);
	name[0] = lower(c);
}

static void add_to_name(char *name, char c)
{
	size_t len = strlen(name);

	if (len + 1 < LINT_NAME)
		name[len] = lower(c);
}

static bool listed(const char *const *list, const char *name)
{
	for (; *list; list++)
		if (strcmp(*list, name) == 0)
			return true;
	return false;
}

/* Elements whose content a browser does not read as HTML with entities. */
static bool holds_raw_text(const char *element)
{
	static const char *const raw[] = {"script",   "style",    "iframe",    "xmp", "noembed",
	                                  "noframes", "noscript", "plaintext", NULL};

	return listed(raw, element);
}

static enum lint_value value_of(const char *attribute)
{
	static const char *const addresses[] = {
	        "href",     "src",    "action",      "formaction", "xlink:href",
	        "poster",   "cite",   "data",        "ping",       "background",
	        "manifest", "srcset", "imagesrcset", "longdesc",   NULL};
	static const char *const never[] = {"style", "srcdoc", NULL};

	if (strncmp(attribute, "on", 2) == 0 || listed(never, attribute))
		return LINT_NEVER;
	return listed(addresses, attribute) ? LINT_ADDRESS : LINT_PLAIN;
}

static void end_tag(struct lint *lint)
{
	lint->place = LINT_TEXT;
	lint->matched = 0;
	if (!lint->closing && holds_raw_text(lint->element))
		lint->place = LINT_RAW;
}

static const char *in_text(struct lint *lint, char c)
{
	if (c == '<')
		lint->place = LINT_LESS;
	return NULL;
}

static void begin_element(struct lint *lint, char c, bool closing)
{
	lint->place = LINT_ELEMENT;
	lint->closing = closing;
	begin_name(lint->element, c);
}

static const char *after_less(struct lint *lint, char c)
{
	lint->matched = 0;
	if (is_letter(c))
		begin_element(lint, c, false);
	else if (c == '/')
		lint->place = LINT_LESS_SLASH;
	else if (c == '!')
		lint->place = LINT_DECLARATION;
	else
		return "a < that begins no element: write &lt;";
	return NULL;
}

static const char *after_less_slash(struct lint *lint, char c)
{
	if (!is_letter(c))
		return "a </ that ends no element: write &lt;/";
	begin_element(lint, c, true);
	return NULL;
}

/* What all places inside an element's tag share. */
static bool leaves_name(struct lint *lint, char c, enum lint_place after_blank)
{
	if (is_blank(c))
		lint->place = after_blank;
	else if (c == '/')
		lint->place = LINT_BETWEEN;
	else if (c == '>')
		end_tag(lint);
	else
		return false;
	return true;
}

static const char *in_element(struct lint *lint, char c)
{
	if (!leaves_name(lint, c, LINT_BETWEEN))
		add_to_name(lint->element, c);
	return NULL;
}

static const char *between(struct lint *lint, char c)
{
	if (leaves_name(lint, c, LINT_BETWEEN))
		return NULL;
	if (strchr("=\"'<", c))
		return "an attribute that has no name";
	lint->place = LINT_ATTRIBUTE;
	begin_name(lint->attribute, c);
	return NULL;
}

static const char *in_attribute(struct lint *lint, char c)
{
	if (leaves_name(lint, c, LINT_AFTER_NAME))
		return NULL;
	if (c == '=')
		lint->place = LINT_EQUALS;
	else if (strchr("\"'<", c))
		return "a quote or < in the name of an attribute";
	else
		add_to_name(lint->attribute, c);
	return NULL;
}

static const char *after_name(struct lint *lint, char c)
{
	if (c != '=')
		return between(lint, c);
	lint->place = LINT_EQUALS;
	return NULL;
}

static const char *after_equals(struct lint *lint, char c)
{
	if (is_blank(c))
		return NULL;
	if (c == '>')
		return "an attribute that has no value after =";
	lint->place = c == '"' || c == '\'' ? LINT_QUOTED : LINT_UNQUOTED;
	lint->quote = c;
	lint->at_start = true;
	lint->value = value_of(lint->attribute);
	return NULL;
}

static const char *in_quoted(struct lint *lint, char c)
{
	if (c == lint->quote)
		lint->place = LINT_AFTER_VALUE;
	else if (c != '/' && c != '\\' && (unsigned char)c > ' ')
		lint->at_start = false;
	return NULL;
}

static const char *after_value(struct lint *lint, char c)
{
	return leaves_name(lint, c, LINT_BETWEEN) ? NULL : "a blank is wanted before this";
}

static const char *in_unquoted(struct lint *lint, char c)
{
	if (is_blank(c))
		lint->place = LINT_BETWEEN;
	else if (c == '>')
		end_tag(lint);
	return NULL;
}

static const char *in_declaration(struct lint *lint, char c)
{
	lint->matched = c == '-' ? lint->matched + 1 : 9;
	if (lint->matched == 2)
		lint->place = LINT_COMMENT;
	if (c == '>')
		lint->place = LINT_TEXT;
	return NULL;
}

static const char *in_comment(struct lint *lint, char c)
{
	if (c == '>' && lint->matched >= 2)
		lint->place = LINT_TEXT;
	else if (c != '!' || lint->matched < 2)
		lint->matched = c == '-' ? lint->matched + 1 : 0;
	return NULL;
}

/* Looks for </element. */
static const char *in_raw(struct lint *lint, char c)
{
	char wanted = lint->matched < 2 ? "</"[lint->matched] : lint->element[lint->matched - 2];

	if (lower(c) == wanted)
		lint->matched++;
	else
		lint->matched = c == '<';
	if (lint->matched >= 2 && !lint->element[lint->matched - 2]) {
		lint->place = LINT_ELEMENT;
		lint->closing = true;
	}
	return NULL;
}

const char *lint_text(struct lint *lint, char c)
{
	static const char *(*const steps[])(struct lint *, char) = {
	        [LINT_TEXT] = in_text,
	        [LINT_LESS] = after_less,
	        [LINT_LESS_SLASH] = after_less_slash,
	        [LINT_ELEMENT] = in_element,
	        [LINT_BETWEEN] = between,
	        [LINT_ATTRIBUTE] = in_attribute,
	        [LINT_AFTER_NAME] = after_name,
	        [LINT_EQUALS] = after_equals,
	        [LINT_QUOTED] = in_quoted,
	        [LINT_AFTER_VALUE] = after_value,
	        [LINT_UNQUOTED] = in_unquoted,
	        [LINT_DECLARATION] = in_declaration,
	        [LINT_COMMENT] = in_comment,
	        [LINT_RAW] = in_raw,
	};

	return c ? steps[lint->place](lint, c) : "a NUL";
}

/* Where no tag at all may stand, why not. */
static const char *never_here(const struct lint *lint)
{
	switch (lint->place) {
	case LINT_UNQUOTED:
	case LINT_EQUALS:
		return "a tag in a value without quotes";
	case LINT_DECLARATION:
	case LINT_COMMENT:
		return "a tag in an HTML comment or declaration";
	case LINT_RAW:
		return "a tag in script, style or another element that HTML does not read";
	case LINT_LESS:
	case LINT_LESS_SLASH:
		return "a tag in the name of an element";
	case LINT_QUOTED:
		return lint->value == LINT_NEVER ? "a tag in an on...=, style= or srcdoc="
		                                   " attribute"
		                                 : NULL;
	case LINT_TEXT:
	case LINT_ELEMENT:
	case LINT_BETWEEN:
	case LINT_ATTRIBUTE:
	case LINT_AFTER_NAME:
	case LINT_AFTER_VALUE:
		break;
	}
	return NULL;
}

static bool ends_with(const char *name, size_t len, const char *end)
{
	size_t n = strlen(end);

	return len >= n && memcmp(name + len - n, end, n) == 0;
}

static bool names_address(const char *name, size_t len)
{
	return ends_with(name, len, "url") || ends_with(name, len, "path") ||
	       ends_with(name, len, "link") || (len > 7 && memcmp(name, "static.", 7) == 0);
}

const char *lint_name(const struct lint *lint, const char *name, size_t len)
{
	const char *words = never_here(lint);

	if (words || lint->place == LINT_TEXT)
		return words;
	if (lint->place != LINT_QUOTED)
		return "a tag in the name of an element or attribute";
	if (lint->value == LINT_ADDRESS && lint->at_start && !names_address(name, len))
		return "an address begins with a name that does not end in url, path or link";
	return NULL;
}

const char *lint_partial(const struct lint *lint)
{
	return lint->place == LINT_TEXT ? NULL : "another file may only stand between elements";
}

static bool in_tag(enum lint_place place)
{
	return place == LINT_BETWEEN || place == LINT_AFTER_VALUE;
}

/* What is begun inside an element's tag is over: a name or value can neither
 * go on after a section's border nor be left open by one. */
static void settle(struct lint *lint)
{
	if (lint->place == LINT_ELEMENT || lint->place == LINT_ATTRIBUTE)
		lint->place = LINT_AFTER_VALUE;
	else if (lint->place == LINT_AFTER_NAME)
		lint->place = LINT_BETWEEN;
}

const char *lint_section(struct lint *lint)
{
	const char *words = never_here(lint);

	settle(lint);
	return words;
}

static bool same_place(const struct lint *a, const struct lint *b)
{
	if (a->place == LINT_TEXT || b->place == LINT_TEXT)
		return a->place == b->place;
	if (strcmp(a->element, b->element) != 0 || a->closing != b->closing)
		return false;
	if (a->place == LINT_QUOTED)
		return b->place == LINT_QUOTED && a->quote == b->quote &&
		       strcmp(a->attribute, b->attribute) == 0;
	return in_tag(a->place) && in_tag(b->place);
}

const char *lint_section_end(struct lint *lint, const struct lint *begun)
{
	const char *words = never_here(lint);

	if (words)
		return words;
	settle(lint);
	if (!same_place(lint, begun))
		return "the section ends in another kind of place than it began";
	if (begun->place == LINT_AFTER_VALUE)
		lint->place = LINT_AFTER_VALUE;
	lint->at_start |= begun->at_start;
	return NULL;
}

const char *lint_end(const struct lint *lint)
{
	return lint->place == LINT_TEXT ? NULL : "the file ends inside an element's tag or comment";
}
