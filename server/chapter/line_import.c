#include "chapter/line_import.h"

#include "formats/json_lines.h"
#include "store/acts.h"

static enum status store_all(struct store *store, const struct json_lines *file,
                             struct member_id by, int64_t now)
{
	enum status status = store_begin(store);

	for (size_t i = 0; status == ST_OK && i < file->count; i++) {
		struct line_id id;

		status = line_save(store, &file->lines[i], LINE_ANY_VERSION, by, now, &id);
	}
	if (status == ST_OK)
		status = acts_add_import(store, file->count, "build line", "build lines");
	if (status == ST_OK)
		return store_commit(store);
	store_rollback(store);
	return status;
}

enum status lines_import(struct store *store, struct json_reader *reader, const char *text,
                         size_t len, struct member_id by, int64_t now, size_t *count)
{
	struct json_lines file;
	json_t *value = json_reader_parse(reader, text, len);

	if (!value)
		return reader->status;
	json_read_lines(reader, value, &file);
	json_decref(value);
	json_reader_locate(reader, text, len);
	if (!json_reader_ok(reader))
		return reader->status;
	*count = file.count;
	return store_all(store, &file, by, now);
}
