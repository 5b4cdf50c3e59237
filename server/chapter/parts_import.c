#include "chapter/parts_import.h"

#include "store/parts.h"
#include "chapter/json_parts.h"

enum status parts_take_in(struct store *store, struct json_reader *reader, const char *text,
                          size_t len, struct member_id by, int64_t now, size_t *count)
{
	struct parts_source source = {0};
	const struct parts_book *known;
	json_t *value;
	enum status status = parts_load(store, reader->arena, &known);

	(void)by;
	(void)now;
	if (status != ST_OK)
		return status;
	value = json_reader_parse(reader, text, len);
	if (!value)
		return reader->status;
	json_read_parts(reader, value, known, &source);
	json_decref(value);
	json_reader_locate(reader, text, len);
	if (!json_reader_ok(reader))
		return reader->status;
	status = parts_import(store, &source);
	if (status == ST_OK)
		*count = source.n_lists + source.n_changes + source.n_stock;
	return status;
}
