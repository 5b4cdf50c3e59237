/* Text that is fit to be kept: RFC 3629, held against the C library's iconv. */
#include "support.h"

#include <iconv.h>
#include <string.h>

#include "base/utf8.h"

/* Faults from RFC 3629 sections 3, 4 and 10 and from Unicode's Bidi_Control
 * (PropList.txt; the twelve characters from memory). */
static const struct {
	const char *text;
	size_t len;
	enum utf8_fault fault;
	size_t where;
} rows[] = {
        {"", 0, UTF8_FINE, 0},
        {"plain\ttext\r\n", 12, UTF8_FINE, 12},
        {"\xC3\xA9t\xC3\xA9", 5, UTF8_FINE, 5},
        {"\xF4\x8F\xBF\xBF", 4, UTF8_FINE, 4}, /* U+10FFFF */
        {"\xEF\xBF\xBF", 3, UTF8_FINE, 3},
        {"a\0b", 3, UTF8_CONTROL, 1},
        {"bell\a", 5, UTF8_CONTROL, 4},
        {"\x1B[2J", 4, UTF8_CONTROL, 0},
        {"\x7F", 1, UTF8_CONTROL, 0},
        {"\xC2\x80", 2, UTF8_CONTROL, 0},
        {"\xC2\x9F", 2, UTF8_CONTROL, 0},
        {"\xC2\xA0", 2, UTF8_FINE, 2},
        {"x\xD8\x9C", 3, UTF8_DIRECTION, 1},           /* U+061C */
        {"\xE2\x80\x8E", 3, UTF8_DIRECTION, 0},        /* U+200E */
        {"\xE2\x80\x8F", 3, UTF8_DIRECTION, 0},        /* U+200F */
        {"ab\xE2\x80\xAA", 5, UTF8_DIRECTION, 2},      /* U+202A */
        {"ab\xE2\x80\xAE", 5, UTF8_DIRECTION, 2},      /* U+202E */
        {"\xE2\x81\xA6", 3, UTF8_DIRECTION, 0},        /* U+2066 */
        {"\xE2\x81\xA9", 3, UTF8_DIRECTION, 0},        /* U+2069 */
        {"\xE2\x80\x8D", 3, UTF8_FINE, 3},             /* U+200D joins, turns nothing */
        {"\xE2\x80\xAF", 3, UTF8_FINE, 3},             /* U+202F */
        {"\xE2\x81\xA5\xE2\x81\xAA", 6, UTF8_FINE, 6}, /* U+2065, U+206A */
        {"\x80", 1, UTF8_MALFORMED, 0},                /* a follower alone */
        {"ok\xBF", 3, UTF8_MALFORMED, 2},
        {"\xC0\x80", 2, UTF8_MALFORMED, 0}, /* overlong NUL, RFC 3629 section 10 */
        {"\xC0\xAF", 2, UTF8_MALFORMED, 0}, /* overlong slash */
        {"\xC1\xBF", 2, UTF8_MALFORMED, 0},
        {"\xE0\x80\xAF", 3, UTF8_MALFORMED, 0},
        {"\xE0\x9F\xBF", 3, UTF8_MALFORMED, 0},
        {"\xF0\x80\x80\xAF", 4, UTF8_MALFORMED, 0},
        {"\xF0\x8F\xBF\xBF", 4, UTF8_MALFORMED, 0},
        {"\xED\xA0\x80", 3, UTF8_MALFORMED, 0}, /* a surrogate */
        {"\xED\xBF\xBF", 3, UTF8_MALFORMED, 0},
        {"\xF4\x90\x80\x80", 4, UTF8_MALFORMED, 0}, /* above U+10FFFF */
        {"\xF5\x80\x80\x80", 4, UTF8_MALFORMED, 0},
        {"\xFE", 1, UTF8_MALFORMED, 0},
        {"\xFF", 1, UTF8_MALFORMED, 0},
        {"a\xC3", 2, UTF8_MALFORMED, 1}, /* cut short */
        {"\xE2\x80", 2, UTF8_MALFORMED, 0},
        {"\xF4\x8F\xBF", 3, UTF8_MALFORMED, 0},
        {"\xC3(", 2, UTF8_MALFORMED, 0},
        {"\xE2(\xA1", 3, UTF8_MALFORMED, 0},
        {"\xE2\x82(", 3, UTF8_MALFORMED, 0},
};

static void faults_are_named_and_placed(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		size_t where = 99;

		assert_int_equal(utf8_check(rows[i].text, rows[i].len, &where), rows[i].fault);
		assert_int_equal(where, rows[i].where);
		assert_int_equal(utf8_check(rows[i].text, rows[i].len, NULL), rows[i].fault);
	}
}

static bool iconv_takes(iconv_t to_utf32, const unsigned char *bytes, size_t len)
{
	char copy[8], out[64];
	char *in = copy, *to = out;
	size_t left = len, room = sizeof out;

	memcpy(copy, bytes, len);
	iconv(to_utf32, NULL, NULL, NULL, NULL);
	return iconv(to_utf32, &in, &left, &to, &room) != (size_t)-1;
}

/* Well-formed or not: every pair of bytes, and random fours that begin high. */
static void agrees_with_the_c_library(void **state)
{
	iconv_t to_utf32 = iconv_open("UTF-32LE", "UTF-8");
	uint64_t seed = 3;

	(void)state;
	assert_true(to_utf32 != (iconv_t)-1);
	for (unsigned i = 0; i < 65536 + 300000; i++) {
		uint64_t r = i < 65536 ? i : next_random(&seed);
		unsigned char bytes[4] = {(unsigned char)(r >> 8), (unsigned char)r,
		                          (unsigned char)(r >> 16), (unsigned char)(r >> 24)};
		size_t len = i < 65536 ? 2 : 4;
		bool malformed;

		if (i >= 65536) {
			bytes[0] |= 0xE0;
			for (int k = 1; k < 4 && r >> 40 & 7; k++)
				bytes[k] = (unsigned char)(0x80 | (bytes[k] & 0x3F));
		}
		/* Controls and marks may hide a later fault: replace what is first found. */
		malformed = utf8_check((const char *)bytes, len, NULL) == UTF8_MALFORMED;
		if (utf8_check((const char *)bytes, len, NULL) == UTF8_FINE || malformed)
			assert_int_equal(!malformed, iconv_takes(to_utf32, bytes, len));
	}
	iconv_close(to_utf32);
}

static void length_counts_characters(void **state)
{
	static const struct {
		const char *text;
		size_t length;
	} lengths[] = {{"", 0},
	               {"abc", 3},
	               {"\xC3\xA9", 1},
	               {"\xE2\x82\xAC!", 2},
	               {"\xF0\x9F\x9B\xA9\xF0\x9F\x9B\xA9", 2}};

	(void)state;
	for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++)
		assert_int_equal(utf8_length(lengths[i].text), lengths[i].length);
}

static void each_fault_has_words_of_its_own(void **state)
{
	(void)state;
	for (int a = UTF8_FINE; a <= UTF8_DIRECTION; a++)
		for (int b = UTF8_FINE; b < a; b++)
			assert_string_not_equal(utf8_fault_words((enum utf8_fault)a),
			                        utf8_fault_words((enum utf8_fault)b));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(faults_are_named_and_placed),
	        cmocka_unit_test(agrees_with_the_c_library),
	        cmocka_unit_test(length_counts_characters),
	        cmocka_unit_test(each_fault_has_words_of_its_own),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
