#include "formats/json_text.h"

json_t *json_take_text(struct text *text)
{
	json_t *string = text_failed(text) ? NULL : json_string(text_string(text));

	text_free(text);
	return string;
}
