/* json_place.h - where in a JSON text a JSON Pointer (RFC 6901) points.
 *
 * Jansson keeps no places, so the text is walked again when a fault is to be
 * shown. The text is known to be valid JSON.
 */
#ifndef FORMATS_JSON_PLACE_H
#define FORMATS_JSON_PLACE_H

#include <stddef.h>

/* Line and column (characters, from 1) of the value, or of the nearest value
 * around it that exists. */
void json_place_find(const char *text, size_t len, const char *pointer, unsigned *line,
                     unsigned *column);

#endif
