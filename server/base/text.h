/* text.h - growable text with sticky failure.
 *
 * Start from TEXT_EMPTY, add, check once at the end with text_failed. After
 * the first failed allocation every further add does nothing. text_free
 * releases; text_string is borrowed until the next add.
 */
#ifndef BASE_TEXT_H
#define BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

struct text {
	char *at;
	size_t len;
	size_t room;
	bool failed;
};

#define TEXT_EMPTY ((struct text){NULL, 0, 0, false})

void text_add(struct text *text, const char *string);
void text_add_bytes(struct text *text, const char *at, size_t len);
void text_add_char(struct text *text, char c);
void text_printf(struct text *text, const char *format, ...) PRINTF_LIKE(2, 3);
void text_clear(struct text *text); /* empties, keeps the room and the failure */
void text_free(struct text *text);

bool text_failed(const struct text *text);
const char *text_string(const struct text *text); /* NUL-ended; "" when empty or failed */

#endif
