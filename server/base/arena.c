#include "base/arena.h"

#include <assert.h>
#include <stdalign.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"

#define CHUNK_SIZE 16384

struct chunk {
	struct chunk *next;
	size_t size;
	size_t used;
	alignas(max_align_t) char bytes[];
};

struct arena {
	struct chunk *newest;
	size_t total;
	bool failed;
};

static struct chunk *chunk_new(struct arena *arena, size_t size)
{
	struct chunk *chunk = mem_alloc(sizeof *chunk + size);

	if (!chunk)
		return NULL;
	chunk->next = arena->newest;
	chunk->size = size;
	chunk->used = 0;
	arena->newest = chunk;
	arena->total += size;
	return chunk;
}

struct arena *arena_new(void)
{
	return mem_zero(sizeof(struct arena));
}

static void free_chunks(struct chunk *chunk)
{
	while (chunk) {
		struct chunk *next = chunk->next;

		mem_free(chunk);
		chunk = next;
	}
}

void arena_free(struct arena *arena)
{
	if (!arena)
		return;
	free_chunks(arena->newest);
	mem_free(arena);
}

void arena_reset(struct arena *arena)
{
	struct chunk *kept = arena->newest;

	arena->failed = false;
	if (!kept)
		return;
	free_chunks(kept->next);
	kept->next = NULL;
	kept->used = 0;
	arena->total = kept->size;
	if (kept->size > 4 * CHUNK_SIZE) {
		free_chunks(kept);
		arena->newest = NULL;
		arena->total = 0;
	}
}

static void *take(struct arena *arena, size_t size)
{
	size_t align = alignof(max_align_t);
	size_t need = (size + align - 1) / align * align;
	struct chunk *chunk = arena->newest;

	if (need < size)
		return NULL;
	if (!chunk || chunk->size - chunk->used < need)
		chunk = chunk_new(arena, need > CHUNK_SIZE ? need : CHUNK_SIZE);
	if (!chunk)
		return NULL;
	chunk->used += need;
	return chunk->bytes + chunk->used - need;
}

void *arena_array(struct arena *arena, size_t count, size_t size)
{
	void *at = NULL;

	assert(size > 0);
	if (count == 0)
		count = 1;
	if (count <= SIZE_MAX / size)
		at = take(arena, count * size);
	if (!at) {
		arena->failed = true;
		return NULL;
	}
	return memset(at, 0, count * size);
}

char *arena_copy(struct arena *arena, const char *at, size_t len)
{
	char *copy = len < SIZE_MAX ? arena_array(arena, len + 1, 1) : NULL;

	if (copy && len)
		memcpy(copy, at, len);
	return copy;
}

char *arena_string(struct arena *arena, const char *text)
{
	return arena_copy(arena, text, strlen(text));
}

char *arena_printf(struct arena *arena, const char *format, ...)
{
	va_list args;
	va_list again;
	int len;
	char *out = NULL;

	va_start(args, format);
	va_copy(again, args);
	len = vsnprintf(NULL, 0, format, args);
	if (len >= 0)
		out = arena_array(arena, (size_t)len + 1, 1);
	if (out)
		vsnprintf(out, (size_t)len + 1, format, again);
	va_end(again);
	va_end(args);
	return out;
}

bool arena_failed(const struct arena *arena)
{
	return arena->failed;
}

size_t arena_used(const struct arena *arena)
{
	return arena->total;
}
