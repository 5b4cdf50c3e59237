/* fuzz_markdown.c - notes.
 *
 * Any text becomes a page in which each < begins one of the few elements of
 * note_words.html, all are closed in order, links do not hold links and lead
 * to http or https.
 */
#include <stdbool.h>
#include <strings.h>

#include "fuzz.h"
#include "note_page.h"
#include "web/html/markdown.h"

#define DEEPEST 64

struct open_elements {
	char name[DEEPEST][16];
	int depth, links;
};

static bool listed(const char *name)
{
	static const char *const names[] = {"p",  "blockquote", "ul", "ol", "li", "pre", "code",
	                                    "em", "strong",     "h4", "h5", "h6", "a"};

	for (size_t i = 0; i < sizeof names / sizeof *names; i++)
		if (strcmp(names[i], name) == 0)
			return true;
	return false;
}

static void check_link(const char *tag, struct open_elements *open)
{
	must(strncasecmp(tag, "<a href=\"http://", 16) == 0 ||
	             strncasecmp(tag, "<a href=\"https://", 17) == 0,
	     "links lead to http or https");
	must(open->links++ == 0, "links do not hold links");
}

static void check_tag(const char *tag, struct open_elements *open)
{
	char name[16] = "";
	bool closing = tag[1] == '/';

	must(sscanf(tag + (closing ? 2 : 1), "%15[a-z0-9]", name) == 1, "elements have names");
	if (strcmp(name, "br") == 0 || strcmp(name, "hr") == 0)
		return;
	must(listed(name), "elements are ours");
	if (closing) {
		must(open->depth > 0 && strcmp(open->name[--open->depth], name) == 0,
		     "elements are closed in order");
		open->links -= strcmp(name, "a") == 0;
		return;
	}
	must(open->depth < DEEPEST, "elements are not nested deep");
	memcpy(open->name[open->depth++], name, sizeof name);
	if (strcmp(name, "a") == 0)
		check_link(tag, open);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
	static struct tmpl_set *set;
	struct open_elements open = {.depth = 0};
	struct text out = TEXT_EMPTY;
	char *note = fuzz_string(bytes, len);
	enum status status;

	if (!set)
		set = note_set_new();
	status = note_page(set, note, &out);
	must(status == ST_OK || status == ST_INVALID ||
	             (status == ST_LIMIT && len > MARKDOWN_LONGEST),
	     "a note is shown or refused");
	for (const char *at = text_string(&out); (at = strchr(at, '<')); at++)
		check_tag(at, &open);
	must(status != ST_OK || open.depth == 0, "elements are closed");
	text_free(&out);
	free(note);
	return 0;
}
