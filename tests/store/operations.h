/* operations.h - every operation of the store, called once as it should be.
 *
 * Tests that hold for all of them walk this table: a failing step or allocation
 * (tests/fault), rows that a write leaves alone (test_writes.c). test_writes.c
 * holds the table to the store's headers, so that none is forgotten.
 */
#ifndef TESTS_STORE_OPERATIONS_H
#define TESTS_STORE_OPERATIONS_H

#include "crowd.h"

struct operation {
	const char *name;
	const char *function; /* that it calls; several may call one */
	/* On a fresh world of crowd_make: ST_OK. The arena is for what is read. */
	enum status (*run)(struct world *w, struct arena *arena);
	void (*prepare)(struct world *w); /* before it; NULL: nothing to do */
};

extern const struct operation operations[];
extern const size_t operations_count;

#endif
