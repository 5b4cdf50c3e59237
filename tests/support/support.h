/* support.h - what every test needs: cmocka, and memory that fails on demand. */
#ifndef TESTS_SUPPORT_H
#define TESTS_SUPPORT_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

/* Lets the n-th allocation from now (1 = the next) and, if persistent, every
 * later one fail. n = 0 counts only. */
void fail_memory(size_t n, bool persistent);

/* Ends failing; true if the planned failure was reached. */
bool fail_memory_end(void);

/* Blocks allocated since fail_memory and not yet freed. */
size_t memory_outstanding(void);

/* Runs attempt(context) with the 1st, 2nd, ... allocation failing, once only
 * and from there on, until it passes with no failure reached. attempt returns
 * true on success; on failure it must have cleaned up. Fails the test when
 * blocks stay behind, or when an attempt succeeds although a failure was hit
 * and may_succeed is false. */
void try_each_allocation(bool (*attempt)(void *context), void *context, bool may_succeed);

/* A repeatable random number for property tests: splitmix64, state in *seed. */
uint64_t next_random(uint64_t *seed);

#endif
