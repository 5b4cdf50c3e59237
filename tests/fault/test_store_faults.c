/* Every operation of the store (tests/store/operations.h), with each of its SQL
 * steps and each of its allocations failing once. A failure must be told, must
 * leave the database as it was and must leave no memory behind; afterwards the
 * operation works.
 *
 *     test_store_faults [WORD]     only tests with the word in their name
 */
#include "operations.h"

#include <stdio.h>
#include <string.h>

/* The operations work on one world, which goes back to how it was made. */
static struct world *world;
static struct copy *fresh;

static int set_up(void **state)
{
	crowd_make(state);
	world = *state;
	fresh = copy_take(world->store);
	return 0;
}

static int clear(void **state)
{
	copy_free(fresh);
	return world_end(state);
}

/* How the database is when the operation begins. What it is given fits into the
 * room that the world's arena has, so that the operation's own allocations fail
 * alone. Owned: copy_free. */
static struct copy *make_ready(const struct operation *operation)
{
	arena_reset(world->arena);
	copy_restore(fresh, world->store);
	if (operation->prepare)
		operation->prepare(world);
	return copy_take(world->store);
}

/* Fails the 1st, 2nd, ... step until the operation gets through. One that looks at
 * every row of the database takes thousands of alike steps: past the first hundred
 * fewer and fewer of them are tried. */
static void fail_steps(const struct operation *operation, const struct copy *before)
{
	struct arena *arena = arena_new();
	struct store *store = world->store;
	size_t n = 0;
	enum status status;

	do {
		n += 1 + n / 100;
		store_fail_step(store, n);
		status = operation->run(world, arena);
		if (store_step_failed(store)) {
			if (status != ST_IO)
				fail_msg("%s, step %zu: %s", operation->name, n,
				         status_words(status));
			assert_int_equal(!sqlite3_get_autocommit(store->db),
			                 store->began_file != NULL);
			if (!copy_same(before, store))
				fail_msg("%s, step %zu: has changed the database", operation->name,
				         n);
		}
	} while (store_step_failed(store));
	store_fail_step(store, 0);
	if (status != ST_OK)
		fail_msg("%s: %s", operation->name, status_words(status));
	assert_true(n > 1);
	arena_free(arena);
}

static void a_failing_step_changes_nothing(void **state)
{
	(void)state;
	for (size_t i = 0; i < operations_count; i++) {
		struct copy *before = make_ready(&operations[i]);

		fail_steps(&operations[i], before);
		copy_free(before);
	}
}

/* The same inside a transaction of the caller's, which stays open and can
 * still be committed. */
static void a_failure_leaves_the_callers_transaction(void **state)
{
	struct store *store = world->store;

	(void)state;
	for (size_t i = 0; i < operations_count; i++) {
		struct copy *before;

		copy_free(make_ready(&operations[i]));
		assert_ok(store_begin(store));
		assert_ok(setting_set_text(store, SETTING_ADDRESS, "kept"));
		before = copy_take(store);
		fail_steps(&operations[i], before);
		copy_free(before);
		assert_ok(store_commit(store));
		assert_int_equal(
		        sql_number(store, "SELECT count(*) FROM settings WHERE value = 'kept'"), 1);
	}
}

/* Runs it with the n-th allocation failing; false: it has fewer. */
static bool fail_allocation(const struct operation *operation, const struct copy *before, size_t n,
                            bool persistent)
{
	enum status status = ST_NOMEM;
	struct arena *arena;
	bool reached;

	fail_memory(n, persistent);
	arena = arena_new();
	if (arena)
		status = operation->run(world, arena);
	arena_free(arena);
	reached = fail_memory_end();
	assert_int_equal(memory_outstanding(), 0);
	if (status != (reached ? ST_NOMEM : ST_OK))
		fail_msg("%s, allocation %zu: %s", operation->name, n, status_words(status));
	if (reached && !copy_same(before, world->store))
		fail_msg("%s, allocation %zu: has changed the database", operation->name, n);
	return reached;
}

static void a_failing_allocation_changes_nothing(void **state)
{
	(void)state;
	for (size_t i = 0; i < operations_count; i++)
		for (int persistent = 0; persistent < 2; persistent++) {
			struct copy *before = make_ready(&operations[i]);
			size_t n = 1;

			while (fail_allocation(&operations[i], before, n, persistent))
				n++;
			copy_free(before);
		}
}

static bool open_and_close(void *context)
{
	struct store *store = NULL;
	enum status status = store_open(":memory:", &store);

	(void)context;
	store_close(store);
	return status == ST_OK;
}

static bool open_pool(void *context)
{
	struct store_pool *pool = NULL;
	enum status status = store_pool_new(":memory:", 2, &pool);

	(void)context;
	store_pool_free(pool);
	return status == ST_OK;
}

static void opening_survives_failing_memory(void **state)
{
	(void)state;
	try_each_allocation(open_and_close, NULL, false);
	try_each_allocation(open_pool, NULL, false);
}

int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(a_failing_step_changes_nothing),
	        cmocka_unit_test(a_failure_leaves_the_callers_transaction),
	        cmocka_unit_test(a_failing_allocation_changes_nothing),
	        cmocka_unit_test(opening_survives_failing_memory),
	};

	struct CMUnitTest chosen[sizeof tests / sizeof *tests];
	size_t n = 0;

	for (size_t i = 0; i < sizeof tests / sizeof *tests; i++)
		if (argc < 2 || strstr(tests[i].name, argv[1]))
			chosen[n++] = tests[i];
	if (n == 0) {
		fprintf(stderr, "no test is named like %s\n", argv[1]);
		return 1;
	}
	return _cmocka_run_group_tests("store faults", chosen, n, set_up, clear);
}
