/* test_statics.c - static files as they are and compressed: zlib's own inflate
 * must bring back every byte.
 */
#include <string.h>
#define ZLIB_CONST /* it does not write to what it reads */
#include <zlib.h>

#include "support.h"
#include "web_support.h"

#include "web/http/files.h"
#include "web/http/statics.h"

/* The bytes of a gzip file; false when it is not one, or not of that length. */
static bool unpack(const char *at, size_t len, char *out, size_t wanted)
{
	z_stream stream = {.next_in = (const Bytef *)at, .avail_in = (uInt)len};
	int code;

	assert_int_equal(inflateInit2(&stream, 15 + 16), Z_OK);
	stream.next_out = (Bytef *)out;
	stream.avail_out = (uInt)wanted;
	code = inflate(&stream, Z_FINISH);
	inflateEnd(&stream);
	return code == Z_STREAM_END && stream.total_out == wanted;
}

static void expect_same(const char *at, size_t len, const struct embedded_file *file)
{
	char *plain = test_malloc(file->len);

	assert_true(unpack(at, len, plain, file->len));
	assert_memory_equal(plain, file->bytes, file->len);
	test_free(plain);
}

static void test_compressed_files_unpack_to_the_same(void **state)
{
	struct statics *statics;
	size_t compressed = 0;

	(void)state;
	assert_int_equal(statics_new(static_files, static_files_count, &statics), ST_OK);
	for (size_t i = 0; i < static_files_count; i++) {
		const struct static_file *file = statics_find(statics, static_files[i].name);

		if (!file->gzip)
			continue;
		assert_true(file->gzip_len < file->file->len);
		assert_string_not_equal(file->gzip_etag, file->etag);
		expect_same(file->gzip, file->gzip_len, file->file);
		compressed++;
	}
	assert_true(compressed >= 2); /* style and script */
	statics_free(statics);
}

static void test_what_does_not_shrink_stays_as_it_is(void **state)
{
	static const struct embedded_file files[] = {
	        {.name = "empty.txt", .bytes = "", .len = 0},
	        {.name = "short.txt", .bytes = "x", .len = 1},
	        {.name = "mixed.txt", .bytes = "q8#Zr!0vLw", .len = 10},
	};
	struct statics *statics;

	(void)state;
	assert_int_equal(statics_new(files, 3, &statics), ST_OK);
	for (size_t i = 0; i < 3; i++)
		assert_null(statics_find(statics, files[i].name)->gzip);
	statics_free(statics);
}

static const struct response *ask(struct web *web, const char *coding, const char *tag)
{
	struct request request = {.method = HTTP_GET,
	                          .headers = {.accept_encoding = coding, .if_none_match = tag}};

	return web_send(web, VISITOR, &request, "/static/fairlead.css", NULL);
}

static void test_a_browser_gets_what_it_takes(void **state)
{
	struct web *web = web_new(NULL, 0, NULL, 0);
	const struct embedded_file *file =
	        embedded_find(static_files, static_files_count, "fairlead.css");
	const struct response *page = ask(web, NULL, NULL);
	char plain_tag[80], tag[80];

	(void)state;
	assert_int_equal(page->status, 200);
	assert_int_equal(page->len, file->len);
	assert_string_equal(web_header(page, "Content-Encoding"), "");
	strcpy(plain_tag, web_header(page, "ETag"));
	page = ask(web, "gzip, br", NULL);
	assert_int_equal(page->status, 200);
	assert_string_equal(web_header(page, "Content-Encoding"), "gzip");
	expect_same(page->body, page->len, file);
	strcpy(tag, web_header(page, "ETag"));
	assert_string_not_equal(tag, plain_tag);
	assert_int_equal(ask(web, "gzip, br", tag)->status, 304);
	assert_int_equal(ask(web, NULL, plain_tag)->status, 304);
	assert_int_equal(ask(web, "br;q=1, gzip;q=0", tag)->status, 200);
	web_free(web);
}

/* Pages hold a token and what was typed; see statics.h. */
static void test_pages_are_never_compressed(void **state)
{
	static const char *const paths[] = {"/", "/notices?q=bushing", "/kits"};
	struct web *web = web_new(NULL, 0, NULL, 0);

	(void)state;
	for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
		struct request request = {.method = HTTP_GET,
		                          .headers = {.accept_encoding = "gzip"}};
		const struct response *page = web_send(web, ANN, &request, paths[i], NULL);

		assert_int_equal(page->status, 200);
		assert_string_equal(web_header(page, "Content-Encoding"), "");
	}
	web_free(web);
}

static bool make_statics(void *context)
{
	struct statics *statics = NULL;
	enum status status = statics_new(static_files, static_files_count, &statics);

	(void)context;
	statics_free(statics);
	return status == ST_OK;
}

/* Without memory for compressing, files go out as they are. */
static void test_lack_of_memory_leaves_nothing_behind(void **state)
{
	(void)state;
	try_each_allocation(make_statics, NULL, true);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(test_compressed_files_unpack_to_the_same),
	        cmocka_unit_test(test_what_does_not_shrink_stays_as_it_is),
	        cmocka_unit_test(test_a_browser_gets_what_it_takes),
	        cmocka_unit_test(test_pages_are_never_compressed),
	        cmocka_unit_test(test_lack_of_memory_leaves_nothing_behind),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
