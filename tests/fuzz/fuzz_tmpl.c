/* fuzz_tmpl.c - templates: main file, NUL, other file, NUL, view in JSON.
 *
 * Any template compiles or is refused with a place in it; any view fills it or
 * fails in words. Where no template holds a < or quote, no page does.
 */
#include "fuzz.h"
#include "web/html/tmpl.h"

static const uint8_t *part(const uint8_t **at, size_t *left, size_t *len)
{
	const uint8_t *begin = *at;
	const uint8_t *nul = *left ? memchr(begin, '\0', *left) : NULL;

	*len = nul ? (size_t)(nul - begin) : *left;
	*at = begin + *len + (nul ? 1 : 0);
	*left -= *len + (nul ? 1 : 0);
	return begin;
}

static void fill(const struct tmpl_set *set, const char *main_file, const char *other,
                 const json_t *view)
{
	struct tmpl_fault fault = {.words = ""};
	struct text out = TEXT_EMPTY;
	enum status status = tmpl_render(set, "main", view, &out, &fault);

	must(status == ST_OK || (fault.line > 0 && fault.column > 0 && fault.words[0]),
	     "a failure has a place and words");
	for (const char *mark = "<\"'"; *mark; mark++)
		if (!strchr(main_file, *mark) && !strchr(other, *mark))
			must(!strchr(text_string(&out), *mark), "values are escaped");
	text_free(&out);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
	size_t main_len, other_len, view_len;
	const uint8_t *main_at = part(&bytes, &len, &main_len);
	const uint8_t *other_at = part(&bytes, &len, &other_len);
	const uint8_t *view_at = part(&bytes, &len, &view_len);
	char *main_file = fuzz_string(main_at, main_len);
	char *other = fuzz_string(other_at, other_len);
	struct embedded_file files[] = {{"main", main_file, main_len}, {"other", other, other_len}};
	struct tmpl_set *set = NULL;
	struct tmpl_fault fault = {.words = ""};
	json_t *view = json_loadb((const char *)view_at, view_len, 0, NULL);

	if (!json_is_object(view)) {
		json_decref(view);
		view = json_object();
	}
	if (tmpl_set_new(files, 2, &set, &fault) == ST_OK)
		fill(set, main_file, other, view);
	else
		must(fault.line > 0 && fault.column > 0 && fault.words[0], "a fault has a place");
	tmpl_set_free(set);
	json_decref(view);
	free(main_file);
	free(other);
	return 0;
}
