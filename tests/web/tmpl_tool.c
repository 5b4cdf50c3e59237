/* tmpl_tool.c - fills templates for the comparison with a reference.
 *
 * Reads JSON Lines {"files": {name: text}, "view": {...}} from standard input,
 * fills "main" of each and writes one line for each: {"page": text} or
 * {"fault": words}.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "web/html/tmpl.h"

#define MOST_FILES 16

static size_t collect(json_t *files, struct embedded_file *out)
{
	const char *name;
	json_t *text;
	size_t count = 0;

	json_object_foreach(files, name, text)
	{
		if (count == MOST_FILES)
			break;
		out[count++] = (struct embedded_file){name, json_string_value(text),
		                                      json_string_length(text)};
	}
	return count;
}

static json_t *answer(json_t *request)
{
	struct embedded_file files[MOST_FILES];
	size_t count = collect(json_object_get(request, "files"), files);
	struct tmpl_set *set = NULL;
	struct tmpl_fault fault = {.words = "memory ran out"};
	struct text page = TEXT_EMPTY;
	json_t *result = NULL;

	if (tmpl_set_new(files, count, &set, &fault) == ST_OK &&
	    tmpl_render(set, "main", json_object_get(request, "view"), &page, &fault) == ST_OK)
		result = json_pack("{s:s}", "page", text_string(&page));
	else
		result = json_pack("{s:s}", "fault", fault.words);
	text_free(&page);
	tmpl_set_free(set);
	return result;
}

int main(void)
{
	json_error_t error;
	json_t *request;

	while ((request = json_loadf(stdin, JSON_DISABLE_EOF_CHECK, &error))) {
		json_t *result = answer(request);

		json_dumpf(result, stdout, JSON_COMPACT);
		putchar('\n');
		json_decref(result);
		json_decref(request);
	}
	return 0;
}
