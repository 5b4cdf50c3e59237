#include "base/mem.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

static mem_realloc_fn *resize_hook = realloc;
static mem_free_fn *free_hook = free;

void mem_set_hooks(mem_realloc_fn *resize, mem_free_fn *release)
{
	resize_hook = resize ? resize : realloc;
	free_hook = release ? release : free;
}

void *mem_alloc(size_t size)
{
	assert(size > 0);
	return resize_hook(NULL, size);
}

void *mem_zero(size_t size)
{
	void *at = mem_alloc(size);

	if (at)
		memset(at, 0, size);
	return at;
}

void *mem_resize(void *at, size_t size)
{
	assert(size > 0);
	return resize_hook(at, size);
}

void mem_free(void *at)
{
	if (at)
		free_hook(at);
}
