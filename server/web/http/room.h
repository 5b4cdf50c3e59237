/* room.h - room that many share: so much in all, so much for each caller.
 *
 * For the bytes of bodies that are on their way. A caller is a text, such as an
 * address. Safe for use by several threads.
 */
#ifndef WEB_HTTP_ROOM_H
#define WEB_HTTP_ROOM_H

#include <stdbool.h>
#include <stddef.h>

struct room;

/* callers: how many may hold something at once. NULL when memory ran out. */
struct room *room_new(size_t most, size_t most_each, unsigned callers);
void room_free(struct room *room); /* NULL is allowed */

/* Takes so many bytes more for a caller, or nothing: false. */
bool room_take(struct room *room, const char *caller, size_t bytes);
/* Gives back what the caller took; 0 is allowed. */
void room_give(struct room *room, const char *caller, size_t bytes);

#endif
