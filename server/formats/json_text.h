/* json_text.h - from growable text to a JSON string. */
#ifndef FORMATS_JSON_TEXT_H
#define FORMATS_JSON_TEXT_H

#include <jansson.h>

#include "base/text.h"

/* Ends the text: its string as a new reference, NULL when memory ran out. */
json_t *json_take_text(struct text *text);

#endif
