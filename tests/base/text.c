/* Growable text: what is added is there, and the first failure sticks. */
#include "support.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"

static void empty_text_reads_as_nothing(void **state)
{
	struct text text = TEXT_EMPTY;

	(void)state;
	assert_string_equal(text_string(&text), "");
	text_clear(&text);
	text_add(&text, "");
	text_add_bytes(&text, "", 0);
	assert_string_equal(text_string(&text), "");
	assert_false(text_failed(&text));
	text_free(&text);
}

/* Against memcpy into a plain buffer, over every size around the doublings. */
static void additions_follow_each_other(void **state)
{
	static char plain[70000];
	struct text text = TEXT_EMPTY;
	size_t len = 0;
	uint64_t seed = 11;

	(void)state;
	while (len < 60000) {
		char piece[40];
		size_t size = next_random(&seed) % sizeof piece;

		memset(piece, 'a' + (int)(len % 26), sizeof piece);
		memcpy(plain + len, piece, size);
		text_add_bytes(&text, piece, size);
		len += size;
		text_add_char(&text, '.');
		plain[len++] = '.';
		text_printf(&text, "%zu", size);
		len += (size_t)sprintf(plain + len, "%zu", size);
		assert_int_equal(text.len, len);
		assert_int_equal(text.at[len], '\0');
	}
	assert_memory_equal(text_string(&text), plain, len);
	text_clear(&text);
	assert_string_equal(text_string(&text), "");
	text_add(&text, "again");
	assert_string_equal(text_string(&text), "again");
	text_free(&text);
	assert_string_equal(text_string(&text), "");
}

static void bytes_may_hold_nul(void **state)
{
	struct text text = TEXT_EMPTY;

	(void)state;
	text_add_bytes(&text, "a\0b", 3);
	assert_int_equal(text.len, 3);
	assert_memory_equal(text.at, "a\0b", 4);
	text_free(&text);
}

static void a_length_that_overflows_fails_for_good(void **state)
{
	struct text text = TEXT_EMPTY;

	(void)state;
	text_add(&text, "kept");
	text_add_bytes(&text, "x", SIZE_MAX / 2);
	assert_true(text_failed(&text));
	text_add(&text, "more");
	assert_int_equal(text.len, 4);
	assert_string_equal(text_string(&text), "");
	text_clear(&text);
	assert_true(text_failed(&text));
	text_free(&text);
	assert_false(text_failed(&text));
}

static bool grow(void *context)
{
	struct text text = TEXT_EMPTY;
	bool fine;

	(void)context;
	for (int i = 0; i < 100; i++) {
		text_add(&text, "line ");
		text_printf(&text, "%d\n", i);
	}
	fine = !text_failed(&text);
	assert_int_equal(fine, strlen(text_string(&text)) > 0);
	text_free(&text);
	return fine;
}

static void every_allocation_may_fail(void **state)
{
	(void)state;
	try_each_allocation(grow, NULL, false);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(empty_text_reads_as_nothing),
	        cmocka_unit_test(additions_follow_each_other),
	        cmocka_unit_test(bytes_may_hold_nul),
	        cmocka_unit_test(a_length_that_overflows_fails_for_good),
	        cmocka_unit_test(every_allocation_may_fail),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
