/* Requests as data: paths, forms, cookies, tags, uploads, header fields. */
#include "support.h"

#include <string.h>

#include "base/text.h"
#include "web/http/http.h"
#include "web/http/seal.h"

#define STR(text) text, sizeof(text) - 1

static struct arena *arena;

static int set_up(void **state)
{
	(void)state;
	arena = arena_new();
	return arena ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	arena_free(arena);
	return 0;
}

static void test_paths(void **state)
{
	static const struct {
		const char *raw, *path; /* NULL: refused */
	} rows[] = {
	        {"/", "/"},
	        {"/kits/3", "/kits/3"},
	        {"/a%20b", "/a b"},
	        {"/a+b", "/a+b"},
	        {"/%C3%A9", "/\xC3\xA9"},
	        {"/a..b/...", "/a..b/..."},
	        {"", NULL},
	        {"kits", NULL},
	        {"http://elsewhere/", NULL},
	        {"*", NULL},
	        {"/%", NULL},
	        {"/%4", NULL},
	        {"/%4g", NULL},
	        {"/%zz", NULL},
	        {"/a%00b", NULL},
	        {"/a%0Ab", NULL},
	        {"/a%0Db", NULL},
	        {"/a%09b", NULL},
	        {"/a%7Fb", NULL},
	        {"/%C0%AF", NULL},        /* overlong slash */
	        {"/%C0%AE%C0%AE/", NULL}, /* overlong dots */
	        {"/%ED%A0%80", NULL},     /* surrogate */
	        {"/%FF", NULL},
	        {"/\xC3", NULL},
	        {"/static/../secret", NULL},
	        {"/..", NULL},
	        {"/.", NULL},
	        {"/./a", NULL},
	        {"/a/%2e%2e/b", NULL},
	        {"/a%2f..%2fb", NULL},
	        {"/a/..", NULL},
	        {"/%E2%80%AEtxt", NULL}, /* turns the direction of text */
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const char *path = NULL;
		enum status status = http_path(arena, rows[i].raw, &path);

		if (rows[i].path) {
			assert_int_equal(status, ST_OK);
			assert_string_equal(path, rows[i].path);
		} else {
			assert_int_equal(status, ST_INVALID);
			assert_null(path);
		}
	}
}

/* Names and values joined for comparing: "a=1|b=2|". */
static void joined(const struct http_fields *fields, struct text *out)
{
	text_clear(out);
	for (size_t i = 0; i < fields->count; i++) {
		text_printf(out, "%s=", fields->at[i].name);
		text_add_bytes(out, fields->at[i].value, fields->at[i].len);
		text_add_char(out, '|');
	}
}

static void test_urlencoded(void **state)
{
	static const struct {
		const char *raw;
		size_t len;
		const char *fields; /* NULL: refused */
	} rows[] = {
	        {STR(""), ""},
	        {STR("a=1"), "a=1|"},
	        {STR("a=1&b=2&a=3"), "a=1|b=2|a=3|"},
	        {STR("a"), "a=|"},
	        {STR("=x"), "=x|"},
	        {STR("a=b=c"), "a=b=c|"},
	        {STR("&&a=1&&"), "a=1|"},
	        {STR("a=1+2%2B3"), "a=1 2+3|"},
	        {STR("a=%C3%A9"), "a=\xC3\xA9|"},
	        {STR("a%26b=%3D"), "a&b==|"},
	        {STR("a=%"), NULL},
	        {STR("a=%1"), NULL},
	        {STR("a=%xy"), NULL},
	        {STR("%=1"), NULL},
	        {STR("a%00b=1"), NULL},
	};
	struct text text = TEXT_EMPTY;

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct http_fields fields = {NULL, 0};
		enum status status = http_urlencoded(arena, rows[i].raw, rows[i].len, &fields);

		assert_int_equal(status, rows[i].fields ? ST_OK : ST_INVALID);
		joined(&fields, &text);
		assert_string_equal(text_string(&text), rows[i].fields ? rows[i].fields : "");
	}
	text_free(&text);
}

static void test_a_nul_in_a_value_is_kept_for_the_input_to_refuse(void **state)
{
	struct http_fields fields;

	(void)state;
	assert_int_equal(http_urlencoded(arena, STR("a=x%00y"), &fields), ST_OK);
	assert_int_equal(fields.at[0].len, 3);
	assert_memory_equal(fields.at[0].value, "x\0y", 4);
}

static void test_too_many_fields_are_refused(void **state)
{
	struct text text = TEXT_EMPTY;
	struct http_fields fields;

	(void)state;
	for (int i = 0; i < HTTP_FIELDS_MOST; i++)
		text_add(&text, "a=&");
	assert_int_equal(http_urlencoded(arena, text.at, text.len, &fields), ST_OK);
	assert_int_equal(fields.count, HTTP_FIELDS_MOST);
	text_add(&text, "a=");
	assert_int_equal(http_urlencoded(arena, text.at, text.len, &fields), ST_LIMIT);
	text_free(&text);
}

static void test_escape_and_decode_are_inverse(void **state)
{
	uint64_t seed = 7;

	(void)state;
	for (int round = 0; round < 2000; round++) {
		char bytes[20] = "";
		struct text text = TEXT_EMPTY;
		struct http_fields fields;
		size_t len = next_random(&seed) % sizeof bytes;

		for (size_t i = 0; i + 1 < len; i++)
			bytes[i] = (char)(1 + next_random(&seed) % 255);
		text_add(&text, "a=");
		http_escape(&text, bytes);
		assert_null(strpbrk(text_string(&text), "&+ \r\n\"<>"));
		assert_int_equal(http_urlencoded(arena, text.at, text.len, &fields), ST_OK);
		assert_string_equal(fields.at[0].value, bytes);
		text_free(&text);
		arena_reset(arena);
	}
}

static void test_cookies(void **state)
{
	static const struct {
		const char *header, *value; /* of session; NULL: none */
	} rows[] = {
	        {"session=abc", "abc"},
	        {"a=1; session=abc; b=2", "abc"},
	        {"a=1;session=abc", "abc"},
	        {"session=", ""},
	        {"session=a=b", "a=b"},
	        {"", NULL},
	        {"xsession=abc", NULL},
	        {"sessio=abc", NULL},
	        {"session", ""},
	        {"Session=abc", NULL},
	        {"session=abc; session=def", NULL}, /* one of them was planted: which? */
	        {";;; ;", NULL},
	        {"=;=", NULL},
	};

	(void)state;
	assert_null(http_cookie(arena, NULL, "session"));
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const char *value = http_cookie(arena, rows[i].header, "session");

		if (rows[i].value)
			assert_string_equal(value, rows[i].value);
		else
			assert_null(value);
	}
}

/* RFC 9110 section 8.8.3.2 gives the table of weak comparison, 13.1.2 the use. */
static void test_if_none_match(void **state)
{
	static const struct {
		const char *list, *tag;
		bool listed;
	} rows[] = {
	        {"\"1\"", "\"1\"", true},
	        {"W/\"1\"", "\"1\"", true},
	        {"\"0\", \"1\"", "\"1\"", true},
	        {"\"0\",W/\"1\" ,\"2\"", "\"1\"", true},
	        {"*", "\"1\"", true},
	        {"\"2\"", "\"1\"", false},
	        {"W/\"2\"", "\"1\"", false},
	        {"\"11\"", "\"1\"", false},
	        {"1", "\"1\"", false},
	        {"\"1", "\"1\"", false},
	        {"", "\"1\"", false},
	        {"w/\"1\"", "\"1\"", false},
	        {",,,", "\"1\"", false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_int_equal(http_lists_etag(rows[i].list, rows[i].tag), rows[i].listed);
}

/* RFC 9110 section 12.5.3, with its examples of the field. */
static void test_codings_that_a_browser_accepts(void **state)
{
	static const struct {
		const char *field;
		bool accepted;
	} rows[] = {
	        {"compress, gzip", true},
	        {"*", true},
	        {"compress;q=0.5, gzip;q=1.0", true},
	        {"gzip;q=1.0, identity; q=0.5, *;q=0", true},
	        {"gzip, deflate, br, zstd", true},
	        {"GZip", true},
	        {"gzip ; q=0.001", true},
	        {"*;q=0, gzip", true},
	        {"", false},
	        {"identity", false},
	        {"gzip;q=0", false},
	        {"gzip;q=0.000", false},
	        {"gzip ; Q=0.0 , br", false},
	        {"gzip;q=0, *", false},
	        {"*;q=0", false},
	        {"gzipped, x-gzip, gz", false},
	        {", ,;q=1,", false},
	        {NULL, false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		if (http_accepts_coding(rows[i].field, "gzip") != rows[i].accepted)
			fail_msg("%s", rows[i].field);
}

static void test_local_paths(void **state)
{
	static const char *const good[] = {"/", "/kits/3", "/a?b=c#d", "/a//b"};
	static const char *const bad[] = {"",         "kits",  "//elsewhere",   "/\\elsewhere",
	                                  "http://x", "/a\nb", "/\t/elsewhere", "javascript:x",
	                                  "/a b"};

	(void)state;
	for (size_t i = 0; i < sizeof good / sizeof good[0]; i++)
		assert_true(http_is_local_path(good[i]));
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
		assert_false(http_is_local_path(bad[i]));
}

/* Addresses of RFC 3849 and RFC 5737, which are for documents. */
static void test_callers(void **state)
{
	static const struct {
		const char *address, *caller;
	} rows[] = {
	        {"192.0.2.7", "192.0.2.7"},
	        {"::ffff:192.0.2.7", "192.0.2.7"},
	        {"2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"},
	        {"2001:DB8:1:2::9", "2001:db8:1:2::/64"},
	        {"2001:db8:1:3::9", "2001:db8:1:3::/64"},
	        {"::1", "::/64"},
	        {"", ""},
	        {"unix:", "unix:"},
	        {"192.0.2.7, 192.0.2.8", "192.0.2.7, 192.0.2.8"},
	        {"2001:db8::1%eth0", "2001:db8::1%eth0"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_string_equal(http_caller(arena, rows[i].address), rows[i].caller);
}

static void test_a_header_value_cannot_begin_another(void **state)
{
	struct response response = {.status = 200};

	(void)state;
	response_header(arena, &response, "Location", "/a\r\nSet-Cookie: b\x7F");
	assert_string_equal(response.headers->value, "/aSet-Cookie: b");
}

#define TYPE "multipart/form-data; boundary=XX"
#define PART(disposition) "Content-Disposition: form-data; " disposition "\r\n"

static void test_multipart(void **state)
{
	static const char body[] = "--XX\r\n" PART(
	        "name=\"a\"") "\r\nline 1\r\nline 2\r\n--XX\r\n"
	                      "content-disposition: form-data; name=\"file\"; "
	                      "filename=\"b.pdf\"\r\n"
	                      "Content-Type: application/pdf\r\n\r\n%PDF\0--X\r\n--XX\r\n" PART(
	                              "name=none; filename=\"\"") "\r\n\r\n--XX--\r\n";
	struct request request = {.headers = {.content_type = TYPE}};

	(void)state;
	assert_int_equal(http_body(arena, &request, STR(body)), ST_OK);
	assert_int_equal(request.form.count, 1);
	assert_string_equal(request.form.at[0].name, "a");
	assert_string_equal(request.form.at[0].value, "line 1\r\nline 2");
	assert_int_equal(request.uploads.count, 1);
	assert_string_equal(request.uploads.at[0].name, "file");
	assert_string_equal(request.uploads.at[0].filename, "b.pdf");
	assert_int_equal(request.uploads.at[0].len, 8);
	assert_memory_equal(request.uploads.at[0].bytes, "%PDF\0--X", 8);
}

static void test_name_and_filename_are_told_apart(void **state)
{
	static const char body[] = "--XX\r\n" PART("filename=\"f\"; name=\"n\"") "\r\nx\r\n--XX--";
	struct request request = {.headers = {.content_type = TYPE}};

	(void)state;
	assert_int_equal(http_body(arena, &request, STR(body)), ST_OK);
	assert_string_equal(request.uploads.at[0].name, "n");
	assert_string_equal(request.uploads.at[0].filename, "f");
}

static void test_faulty_bodies_are_refused(void **state)
{
	static const struct {
		const char *type, *body;
		size_t len;
	} rows[] = {
	        {NULL, STR("a=1")},
	        {"text/plain", STR("a=1")},
	        {"application/x-www-form-urlencodedX", STR("a=1")},
	        {"application/json", STR("{}")},
	        {"multipart/form-data", STR("--XX--")},
	        {"multipart/form-data; boundary=", STR("----")},
	        {"multipart/form-data; boundary=\"XX", STR("--XX--")},
	        {TYPE, STR("-")},
	        {TYPE, STR("--XY--")},
	        {TYPE, STR("--XX")},
	        {TYPE, STR("--XX\r\n")},
	        {TYPE, STR("--XX\r\n\r\n")},
	        {TYPE, STR("--XX\r\n" PART("name=\"a\"") "\r\nx")},
	        {TYPE, STR("--XX\r\n" PART("name=\"a\"") "x\r\n--XX--")},
	        {TYPE, STR("--XX\r\n" PART("noname=\"a\"") "\r\nx\r\n--XX--")},
	        {TYPE, STR("--XX\r\n" PART("name=\"a") "\r\nx\r\n--XX--")},
	        {TYPE, STR("--XX\r\nOther: a\r\n\r\nx\r\n--XX--")},
	        {TYPE, STR("--XX\r\n" PART("name=\"a\0b\"") "\r\nx\r\n--XX--")},
	        {TYPE, STR("--XX\r\n" PART("name=\"a\"") "\r\nx\r\n--XX?")},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct request request = {.headers = {.content_type = rows[i].type}};
		enum status status = http_body(arena, &request, rows[i].body, rows[i].len);

		if (status != ST_INVALID)
			print_error("row %zu was taken\n", i);
		assert_int_equal(status, ST_INVALID);
		assert_int_equal(request.form.count + request.uploads.count, 0);
	}
}

/* Words of len bytes in one part and of one in the next, or a file of that size. */
static enum status read_large(const char *disposition, size_t len)
{
	struct request request = {.headers = {.content_type = TYPE}};
	char *words = ARENA_ARRAY(arena, char, len + 1);

	memset(words, 'x', len);
	words[len] = '\0';
	words = arena_printf(arena, "--XX\r\n%s\r\n%s\r\n--XX\r\n%s\r\ny\r\n--XX--", disposition,
	                     words, PART("name=\"b\""));
	return http_body(arena, &request, words, strlen(words));
}

static void test_words_beside_files_have_a_limit(void **state)
{
	(void)state;
	assert_int_equal(read_large(PART("name=\"a\""), HTTP_WORDS_MOST - 1), ST_OK);
	assert_int_equal(read_large(PART("name=\"a\""), HTTP_WORDS_MOST), ST_LIMIT);
	assert_int_equal(read_large(PART("name=\"a\""), HTTP_WORDS_MOST + 1), ST_LIMIT);
	assert_int_equal(read_large(PART("name=\"a\"; filename=\"f\""), HTTP_WORDS_MOST + 1),
	                 ST_OK);
}

/* Any body of boundary pieces is taken or refused, never read beyond its end
 * (the sanitizers watch). */
static void test_random_multipart_bodies(void **state)
{
	static const char *const pieces[] = {
	        "--XX",      "\r\n",     "\r\n--XX", "--", "name=\"a\"", "\"", PART("name=\"a\""),
	        "filename=", "\r\n\r\n", "x"};
	uint64_t seed = 11;

	(void)state;
	for (int round = 0; round < 20000; round++) {
		struct text text = TEXT_EMPTY;
		struct request request = {.headers = {.content_type = TYPE}};
		enum status status;

		for (size_t n = 1 + next_random(&seed) % 12; n > 0; n--)
			text_add(&text, pieces[next_random(&seed) % 10]);
		status = http_body(arena, &request, text.at, text.len);
		assert_true(status == ST_OK || status == ST_INVALID);
		text_free(&text);
		if (round % 16 == 0)
			arena_reset(arena);
	}
}

static const char *sealed_header(const struct response *response, const char *name)
{
	for (const struct http_header *at = response->headers; at; at = at->next)
		if (strcmp(at->name, name) == 0)
			return at->value;
	return "";
}

static struct response seal(enum http_method method, enum cache_class cache, bool secure,
                            const char *if_none_match)
{
	struct request request = {.method = method, .headers = {.if_none_match = if_none_match}};
	struct response response = {
	        .status = 200, .type = "text/plain", .body = "abc", .len = 3, .cache = cache};

	seal_response(arena, &request, secure, &response);
	return response;
}

static void test_every_response_carries_the_security_fields(void **state)
{
	struct response response = seal(HTTP_GET, CACHE_PRIVATE, false, NULL);

	(void)state;
	assert_memory_equal(sealed_header(&response, "Content-Security-Policy"),
	                    "default-src 'none'; ", 20);
	assert_string_equal(sealed_header(&response, "X-Content-Type-Options"), "nosniff");
	assert_string_equal(sealed_header(&response, "Referrer-Policy"), "same-origin");
	assert_string_equal(sealed_header(&response, "Strict-Transport-Security"), "");
	assert_string_equal(sealed_header(&response, "Cache-Control"), "private, no-cache");
	response = seal(HTTP_GET, CACHE_NEVER, true, NULL);
	assert_string_equal(sealed_header(&response, "Strict-Transport-Security"),
	                    "max-age=31536000");
	assert_string_equal(sealed_header(&response, "Cache-Control"), "no-store");
}

static void test_a_known_tag_gives_304(void **state)
{
	struct response first = seal(HTTP_GET, CACHE_PRIVATE, false, NULL);
	const char *tag = sealed_header(&first, "ETag");
	struct response again = seal(HTTP_GET, CACHE_PRIVATE, false, tag);

	(void)state;
	/* b2sum -l 256 of "abc", the first 32 digits */
	assert_string_equal(tag, "\"bddd813c634239723171ef3fee98579b\"");
	assert_int_equal(first.status, 200);
	assert_int_equal(again.status, 304);
	assert_int_equal(again.len, 0);
	assert_string_equal(sealed_header(&again, "ETag"), tag);
	assert_string_equal(sealed_header(&again, "Content-Type"), "");
	assert_int_equal(seal(HTTP_HEAD, CACHE_PUBLIC, false, tag).status, 304);
	assert_int_equal(seal(HTTP_GET, CACHE_PRIVATE, false, "\"other\"").status, 200);
	assert_int_equal(seal(HTTP_POST, CACHE_PRIVATE, false, tag).status, 200);
	assert_int_equal(seal(HTTP_GET, CACHE_NEVER, false, tag).status, 200);
}

static bool decode_all(void *context)
{
	struct arena *own = arena_new();
	struct request request = {.headers = {.content_type = TYPE}};
	static const char body[] = "--XX\r\n" PART("name=\"a\"") "\r\nx\r\n--XX--";
	const char *path = NULL;
	bool fine = own && http_path(own, "/a", &path) == ST_OK &&
	            http_urlencoded(own, STR("a=1&b=2"), &request.query) == ST_OK &&
	            http_body(own, &request, STR(body)) == ST_OK;

	(void)context;
	arena_free(own);
	return fine;
}

static void test_running_out_of_memory(void **state)
{
	(void)state;
	try_each_allocation(decode_all, NULL, false);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(test_paths),
	        cmocka_unit_test(test_urlencoded),
	        cmocka_unit_test(test_a_nul_in_a_value_is_kept_for_the_input_to_refuse),
	        cmocka_unit_test(test_too_many_fields_are_refused),
	        cmocka_unit_test(test_escape_and_decode_are_inverse),
	        cmocka_unit_test(test_cookies),
	        cmocka_unit_test(test_if_none_match),
	        cmocka_unit_test(test_codings_that_a_browser_accepts),
	        cmocka_unit_test(test_local_paths),
	        cmocka_unit_test(test_callers),
	        cmocka_unit_test(test_a_header_value_cannot_begin_another),
	        cmocka_unit_test(test_multipart),
	        cmocka_unit_test(test_words_beside_files_have_a_limit),
	        cmocka_unit_test(test_name_and_filename_are_told_apart),
	        cmocka_unit_test(test_faulty_bodies_are_refused),
	        cmocka_unit_test(test_random_multipart_bodies),
	        cmocka_unit_test(test_every_response_carries_the_security_fields),
	        cmocka_unit_test(test_a_known_tag_gives_304),
	        cmocka_unit_test(test_running_out_of_memory),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
