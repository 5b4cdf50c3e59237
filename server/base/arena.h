/* arena.h - memory that lives as long as one request, one parse, one catalogue.
 *
 * Blocks are handed out by moving a pointer through chunks; nothing is given
 * back singly, all goes with arena_free or arena_reset. Everything that an
 * arena function returns is borrowed from the arena, aligned for any type and
 * NULL when memory ran out (arena_failed then stays true, so that a caller
 * that builds many things may check once).
 */
#ifndef BASE_ARENA_H
#define BASE_ARENA_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

struct arena;

struct arena *arena_new(void);        /* owned; NULL when memory ran out */
void arena_free(struct arena *arena); /* NULL is allowed */

/* Forgets everything but keeps the first chunk: flat memory in loops. */
void arena_reset(struct arena *arena);

/* Zeroed room for count things of size bytes; count 0 gives a valid pointer. */
void *arena_array(struct arena *arena, size_t count, size_t size);
#define ARENA_NEW(arena, type) ((type *)arena_array((arena), 1, sizeof(type)))
#define ARENA_ARRAY(arena, type, count) ((type *)arena_array((arena), (count), sizeof(type)))

/* Copies of bytes, ended with NUL. */
char *arena_copy(struct arena *arena, const char *at, size_t len);
char *arena_string(struct arena *arena, const char *text);
char *arena_printf(struct arena *arena, const char *format, ...) PRINTF_LIKE(2, 3);

bool arena_failed(const struct arena *arena);
size_t arena_used(const struct arena *arena); /* bytes held, for limits and measures */

#endif
