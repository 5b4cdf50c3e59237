/* markdown_tool.c - notes by us and by MD4C's own HTML renderer.
 *
 * Reads JSON Lines {"text": TEXT} from standard input and writes for each
 * {"ours": HTML or null when refused, "reference": HTML}.
 */
#include <stdio.h>
#include <stdlib.h>

#include <md4c-html.h>

#include "note_page.h"

static void take(const MD_CHAR *at, MD_SIZE len, void *context)
{
	text_add_bytes(context, at, len);
}

static json_t *answer(const struct tmpl_set *set, const json_t *text)
{
	struct text ours = TEXT_EMPTY;
	struct text reference = TEXT_EMPTY;
	bool refused = note_page(set, json_string_value(text), &ours) != ST_OK;
	json_t *result;

	md_html(json_string_value(text), (MD_SIZE)json_string_length(text), take, &reference,
	        MD_FLAG_NOHTML | MD_FLAG_PERMISSIVEURLAUTOLINKS, 0);
	result = json_pack("{s:s?, s:s}", "ours", refused ? NULL : text_string(&ours), "reference",
	                   text_string(&reference));
	text_free(&ours);
	text_free(&reference);
	return result;
}

int main(void)
{
	struct tmpl_set *set = note_set_new();
	json_error_t error;
	json_t *request;

	while ((request = json_loadf(stdin, JSON_DISABLE_EOF_CHECK, &error))) {
		json_t *result = answer(set, json_object_get(request, "text"));

		json_dumpf(result, stdout, JSON_COMPACT);
		putchar('\n');
		json_decref(result);
		json_decref(request);
	}
	tmpl_set_free(set);
	return 0;
}
