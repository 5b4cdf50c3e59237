/* The request arena: aligned, zeroed, kept apart, and honest when memory ends. */
#include "support.h"

#include <stdalign.h>
#include <string.h>

#include "base/arena.h"

static void blocks_are_aligned_zeroed_and_apart(void **state)
{
	struct arena *arena = arena_new();
	unsigned char *blocks[300];
	uint64_t seed = 7;

	(void)state;
	for (size_t i = 0; i < 300; i++) {
		size_t size = 1 + next_random(&seed) % 700;

		blocks[i] = arena_array(arena, size, 1);
		assert_int_equal((uintptr_t)blocks[i] % alignof(max_align_t), 0);
		for (size_t k = 0; k < size; k++)
			assert_int_equal(blocks[i][k], 0);
		memset(blocks[i], (int)(i % 255 + 1), size);
	}
	for (size_t i = 0; i < 300; i++)
		assert_int_equal(blocks[i][0], i % 255 + 1);
	assert_false(arena_failed(arena));
	arena_free(arena);
}

static void nothing_asked_still_gives_a_place(void **state)
{
	struct arena *arena = arena_new();

	(void)state;
	assert_non_null(arena_array(arena, 0, sizeof(int)));
	assert_string_equal(arena_copy(arena, "", 0), "");
	arena_free(arena);
	arena_free(NULL);
}

static void sizes_that_overflow_are_refused(void **state)
{
	static const struct {
		size_t count, size;
	} rows[] = {
	        {SIZE_MAX, 2}, {SIZE_MAX / 2 + 2, 2}, {SIZE_MAX / 2, 3},
	        {2, SIZE_MAX}, {SIZE_MAX, 1},         {SIZE_MAX - 3, 1},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct arena *arena = arena_new();

		assert_null(arena_array(arena, rows[i].count, rows[i].size));
		assert_true(arena_failed(arena));
		assert_non_null(arena_array(arena, 1, 1));
		assert_true(arena_failed(arena));
		arena_reset(arena);
		assert_false(arena_failed(arena));
		arena_free(arena);
	}
}

static void a_copy_of_everything_is_refused(void **state)
{
	struct arena *arena = arena_new();

	(void)state;
	assert_null(arena_copy(arena, "x", SIZE_MAX));
	arena_free(arena);
}

static void texts_are_copied_and_ended(void **state)
{
	struct arena *arena = arena_new();
	char *copy = arena_copy(arena, "drawing", 4);

	(void)state;
	assert_string_equal(copy, "draw");
	assert_string_equal(arena_string(arena, "bench"), "bench");
	assert_string_equal(arena_printf(arena, "%s-%d", "WH", 12), "WH-12");
	arena_free(arena);
}

static void reset_keeps_loops_flat(void **state)
{
	struct arena *arena = arena_new();
	size_t held = 0;

	(void)state;
	arena_reset(arena); /* nothing held yet */
	assert_int_equal(arena_used(arena), 0);
	for (int round = 0; round < 50; round++) {
		for (int i = 0; i < 100; i++)
			assert_non_null(arena_array(arena, 1000, 1));
		arena_reset(arena);
		if (round == 0)
			held = arena_used(arena);
		assert_int_equal(arena_used(arena), held);
	}
	assert_true(held > 0);
	assert_non_null(arena_array(arena, 1000000, 1));
	arena_reset(arena); /* a giant chunk is not kept */
	assert_int_equal(arena_used(arena), 0);
	arena_free(arena);
}

static bool use_arena(void *context)
{
	struct arena *arena = arena_new();
	bool fine = arena != NULL;

	(void)context;
	for (int i = 0; fine && i < 40; i++)
		fine = arena_array(arena, 1000, 1) && arena_printf(arena, "%d", i);
	assert_true(!arena || fine == !arena_failed(arena));
	arena_free(arena);
	return fine;
}

static void every_allocation_may_fail(void **state)
{
	(void)state;
	try_each_allocation(use_arena, NULL, false);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(blocks_are_aligned_zeroed_and_apart),
	        cmocka_unit_test(nothing_asked_still_gives_a_place),
	        cmocka_unit_test(sizes_that_overflow_are_refused),
	        cmocka_unit_test(a_copy_of_everything_is_refused),
	        cmocka_unit_test(texts_are_copied_and_ended),
	        cmocka_unit_test(reset_keeps_loops_flat),
	        cmocka_unit_test(every_allocation_may_fail),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
