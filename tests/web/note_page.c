#include "note_page.h"

#include <stdio.h>
#include <stdlib.h>

#include "web/html/markdown.h"

static char template[16384];

struct tmpl_set *note_set_new(void)
{
	const char *path = TESTS_DIR "/../server/web/notes/note_words.html";
	FILE *file = fopen(path, "rb");
	size_t len = file ? fread(template, 1, sizeof template - 1, file) : 0;
	struct embedded_file view = {"note_words.html", template, len};
	struct tmpl_set *set = NULL;
	struct tmpl_fault fault = {.words = "cannot be read"};

	if (!file || tmpl_set_new(&view, 1, &set, &fault) != ST_OK) {
		fprintf(stderr, "%s:%u:%u: %s\n", path, fault.line, fault.column, fault.words);
		exit(1);
	}
	fclose(file);
	return set;
}

enum status note_page(const struct tmpl_set *set, const char *text, struct text *out)
{
	json_t *view;
	struct tmpl_fault fault;
	enum status status = markdown_view(text, &view);

	if (status)
		return status;
	status = tmpl_render(set, "note_words.html", view, out, &fault);
	json_decref(view);
	return status;
}
