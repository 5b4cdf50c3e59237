#include "support.h"

#include <stdlib.h>

#include "base/mem.h"

static struct {
	size_t countdown;
	bool persistent;
	bool reached;
	size_t outstanding;
} plan;

static bool should_fail(void)
{
	if (plan.reached && plan.persistent)
		return true;
	if (plan.countdown == 0 || --plan.countdown > 0)
		return false;
	plan.reached = true;
	return true;
}

static void *failing_realloc(void *at, size_t size)
{
	void *block;

	if (should_fail())
		return NULL;
	block = realloc(at, size);
	if (block && !at)
		plan.outstanding++;
	return block;
}

static void counting_free(void *at)
{
	plan.outstanding--;
	free(at);
}

void fail_memory(size_t n, bool persistent)
{
	plan.countdown = n;
	plan.persistent = persistent;
	plan.reached = false;
	plan.outstanding = 0;
	mem_set_hooks(failing_realloc, counting_free);
}

bool fail_memory_end(void)
{
	mem_set_hooks(NULL, NULL);
	return plan.reached;
}

size_t memory_outstanding(void)
{
	return plan.outstanding;
}

static bool attempt_once(bool (*attempt)(void *), void *context, bool may_succeed, size_t n,
                         bool persistent)
{
	bool succeeded;
	bool reached;

	fail_memory(n, persistent);
	succeeded = attempt(context);
	reached = fail_memory_end();
	assert_int_equal(memory_outstanding(), 0);
	if (reached && !may_succeed)
		assert_false(succeeded);
	if (!reached)
		assert_true(succeeded);
	return reached;
}

void try_each_allocation(bool (*attempt)(void *context), void *context, bool may_succeed)
{
	for (size_t n = 1; n < 100000; n++) {
		bool reached = attempt_once(attempt, context, may_succeed, n, false);

		reached |= attempt_once(attempt, context, may_succeed, n, true);
		if (!reached)
			return;
	}
	fail_msg("the attempt never passed");
}

uint64_t next_random(uint64_t *seed)
{
	uint64_t z = (*seed += 0x9E3779B97F4A7C15U);

	z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9U;
	z = (z ^ (z >> 27)) * 0x94D049BB133111EBU;
	return z ^ (z >> 31);
}
