/* mem.h - all memory of the program goes through this one pair of hooks.
 *
 * The hooks exist so that tests can make the n-th allocation fail. They are
 * the only mutable file-scope state in the libraries; set them before the
 * first thread starts.
 */
#ifndef BASE_MEM_H
#define BASE_MEM_H

#include <stddef.h>

/* Like realloc (at may be NULL): NULL on failure, the old block untouched. */
typedef void *mem_realloc_fn(void *at, size_t size);
typedef void mem_free_fn(void *at);

/* Replaces both hooks; NULL, NULL brings back the C library's. */
void mem_set_hooks(mem_realloc_fn *resize, mem_free_fn *release);

/* size > 0. Owned by the caller, who gives it to mem_free. NULL when out. */
void *mem_alloc(size_t size);
void *mem_zero(size_t size);
void *mem_resize(void *at, size_t size);
void mem_free(void *at); /* NULL is allowed */

#endif
