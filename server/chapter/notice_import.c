#include "chapter/notice_import.h"

#include "store/acts.h"
#include "chapter/json_notices.h"

static enum status load_catalogue(struct store *store, struct arena *arena,
                                  const struct catalogue **out)
{
	const struct notice *notices;
	size_t count;
	int64_t generation;
	enum status status = notice_load(store, arena, &notices, &count, &generation);

	return status == ST_OK ? catalogue_build(arena, notices, count, out) : status;
}

static enum status store_all(struct store *store, const struct json_notices *file,
                             struct member_id by, int64_t now)
{
	enum status status = store_begin(store);

	for (size_t i = 0; status == ST_OK && i < file->count; i++) {
		struct notice_id id;

		status = notice_import(store, &file->notices[i], by, now, &id);
	}
	if (status == ST_OK)
		status = acts_add_import(store, file->count, "notice", "notices");
	if (status == ST_OK)
		return store_commit(store);
	store_rollback(store);
	return status;
}

enum status notices_import(struct store *store, struct json_reader *reader, const char *text,
                           size_t len, struct member_id by, int64_t now, size_t *count)
{
	const struct catalogue *known;
	struct json_notices file;
	json_t *value;
	enum status status = load_catalogue(store, reader->arena, &known);

	if (status != ST_OK)
		return status;
	value = json_reader_parse(reader, text, len);
	if (!value)
		return reader->status;
	json_read_notices(reader, value, known, &file);
	json_decref(value);
	json_reader_locate(reader, text, len);
	if (!json_reader_ok(reader))
		return reader->status;
	*count = file.count;
	return store_all(store, &file, by, now);
}

/* One notice with its revisions, oldest first; the store lists newest first. */
static enum status export_notice(struct store *store, struct arena *arena, struct notice_id id,
                                 json_t *list)
{
	const struct notice_row *rows;
	struct revision *revisions;
	size_t count;
	enum status status = revision_list(store, arena, id, &rows, &count);

	if (status != ST_OK)
		return status;
	revisions = ARENA_ARRAY(arena, struct revision, count);
	if (!revisions)
		return ST_NOMEM;
	for (size_t i = 0; status == ST_OK && i < count; i++)
		status =
		        revision_read(store, arena, rows[count - 1 - i].revision_id, &revisions[i]);
	if (status == ST_OK && json_array_append_new(list, json_from_notice(revisions, count)) != 0)
		status = ST_NOMEM;
	return status;
}

enum status notices_export(struct store *store, struct arena *arena, json_t **out)
{
	json_t *list = json_array();
	const struct notice *notices;
	size_t count = 0;
	int64_t generation;
	enum status status = notice_load(store, arena, &notices, &count, &generation);

	for (size_t i = 0; status == ST_OK && i < count; i++)
		status = export_notice(store, arena, notices[i].id, list);
	if (status != ST_OK) {
		json_decref(list);
		return status;
	}
	*out = json_pack("{s:s, s:o}", "format", "fairlead notices 1", "notices", list);
	return *out ? ST_OK : ST_NOMEM;
}
