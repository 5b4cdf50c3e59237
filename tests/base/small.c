/* The small parts of base: the pair of memory hooks, status words, embedded files. */
#include "support.h"

#include <stdlib.h>
#include <string.h>

#include "base/embedded.h"
#include "base/mem.h"
#include "base/status.h"

static void zeroed_memory_is_zero(void **state)
{
	unsigned char *at = mem_zero(500);

	(void)state;
	for (size_t i = 0; i < 500; i++)
		assert_int_equal(at[i], 0);
	at = mem_resize(at, 1000);
	assert_non_null(at);
	mem_free(at);
	mem_free(NULL);
}

static void hooks_see_every_call(void **state)
{
	void *at;

	(void)state;
	fail_memory(0, false);
	at = mem_alloc(10);
	assert_int_equal(memory_outstanding(), 1);
	at = mem_resize(at, 20);
	assert_int_equal(memory_outstanding(), 1);
	mem_free(at);
	mem_free(NULL);
	assert_int_equal(memory_outstanding(), 0);
	assert_false(fail_memory_end());
}

static void the_planned_allocation_fails(void **state)
{
	void *at;

	(void)state;
	fail_memory(2, false);
	at = mem_alloc(10);
	assert_non_null(at);
	assert_null(mem_resize(at, 20));
	at = mem_resize(at, 30); /* once only: the block was left untouched */
	assert_non_null(at);
	mem_free(at);
	assert_true(fail_memory_end());
	fail_memory(1, true);
	assert_null(mem_zero(10));
	assert_null(mem_alloc(10));
	assert_true(fail_memory_end());
}

static void each_status_has_words_of_its_own(void **state)
{
	(void)state;
	for (int a = ST_OK; a <= ST_IO; a++)
		for (int b = ST_OK; b < a; b++)
			assert_string_not_equal(status_words((enum status)a),
			                        status_words((enum status)b));
	assert_string_equal(status_words((enum status)(ST_IO + 1)), "unknown status");
}

static void embedded_files_are_found_by_their_whole_name(void **state)
{
	static const struct embedded_file table[] = {
	        {"a.css", "1", 1}, {"b/c.html", "22", 2}, {"b/d.html", "333", 3}};
	static const char *const absent[] = {"", "a", "a.cs", "a.css ", "b", "b/", "A.css", "z"};

	(void)state;
	for (size_t i = 0; i < 3; i++)
		assert_ptr_equal(embedded_find(table, 3, table[i].name), &table[i]);
	for (size_t i = 0; i < sizeof absent / sizeof absent[0]; i++)
		assert_null(embedded_find(table, 3, absent[i]));
	assert_null(embedded_find(table, 0, "a.css"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(zeroed_memory_is_zero),
	        cmocka_unit_test(hooks_see_every_call),
	        cmocka_unit_test(the_planned_allocation_fails),
	        cmocka_unit_test(each_status_has_words_of_its_own),
	        cmocka_unit_test(embedded_files_are_found_by_their_whole_name),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
