/* fuzz_multipart.c - bodies of multipart/form-data: the first line is the content type,
 * the rest the body.
 *
 * What is read lies within the body and within the stated numbers; names and values of
 * fields end with NUL, and the same bytes read the same again.
 */
#include "fuzz.h"
#include "web/http/http.h"

static void check_fields(const struct http_fields *fields, size_t len)
{
	size_t words = 0;

	must(fields->count <= HTTP_FIELDS_MOST, "no more fields than stated");
	for (size_t i = 0; i < fields->count; i++) {
		must(strlen(fields->at[i].name) <= len, "a name is of the body");
		must(fields->at[i].value[fields->at[i].len] == '\0', "a value ends with NUL");
		words += fields->at[i].len;
	}
	must(words <= HTTP_WORDS_MOST && words <= len, "no more words than stated, and than came");
}

static void check_uploads(const struct http_uploads *uploads, const char *body, size_t len)
{
	must(uploads->count <= HTTP_FILES_MOST, "no more files than stated");
	for (size_t i = 0; i < uploads->count; i++) {
		const struct http_upload *upload = &uploads->at[i];

		must(upload->bytes >= body && upload->bytes + upload->len <= body + len,
		     "a file lies in the body");
		must(strlen(upload->filename) <= len, "a file's name is of the body");
		must(upload->len > 0 || upload->filename[0], "an empty one without a name is none");
	}
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
	struct arena *arena = arena_new();
	char *copy = fuzz_string(bytes, len), *end = memchr(copy, '\n', len);
	struct http_fields fields = {NULL, 0}, again = fields;
	struct http_uploads uploads = {NULL, 0}, uploads_again = uploads;

	must(arena != NULL, "there is memory");
	if (end) {
		const char *body = end + 1;
		size_t rest = len - (size_t)(body - copy);
		enum status status;

		*end = '\0';
		status = http_multipart(arena, copy, body, rest, &fields, &uploads);
		must(status == ST_OK || (fields.count == 0 && uploads.count == 0),
		     "what is refused changes nothing");
		check_fields(&fields, rest);
		check_uploads(&uploads, body, rest);
		must(http_multipart(arena, copy, body, rest, &again, &uploads_again) == status &&
		             again.count == fields.count && uploads_again.count == uploads.count,
		     "the same bytes read the same");
	}
	free(copy);
	arena_free(arena);
	return 0;
}
