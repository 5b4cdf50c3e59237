#include "chapter/take_in.h"

#include <string.h>

#include "chapter/line_import.h"
#include "chapter/notice_import.h"
#include "chapter/parts_import.h"

typedef enum status import_fn(struct store *store, struct json_reader *reader, const char *text,
                              size_t len, struct member_id by, int64_t now, size_t *count);

static const struct format {
	const char *format;
	import_fn *import;
	const char *one, *many, *path;
} formats[] = {
        {"fairlead notices 1", notices_import, "notice", "notices", "/notices"},
        {"fairlead parts 1", parts_take_in, "entry of the book of parts",
         "entries of the book of parts", "/board/parts"},
        {"fairlead line 1", lines_import, "build line", "build lines", "/board/lines"},
};

static const struct format *find_format(const char *word)
{
	for (size_t i = 0; i < sizeof formats / sizeof *formats; i++)
		if (word && strcmp(formats[i].format, word) == 0)
			return &formats[i];
	return NULL;
}

/* A file that is no JSON, or no object, is refused by the first reader in its own words. */
static enum status recognise(struct json_reader *reader, const char *text, size_t len,
                             const struct format **out)
{
	json_t *file = json_reader_parse(reader, text, len);
	const json_t *word;

	if (!file)
		return reader->status;
	word = json_object_get(file, "format");
	*out = json_is_object(file) ? find_format(json_string_value(word)) : &formats[0];
	if (!*out)
		json_fail_at(reader, "format",
		             "must name a format of a file to take in, like \"%s\" or \"%s\"",
		             formats[0].format, formats[1].format);
	json_decref(file);
	json_reader_locate(reader, text, len);
	return reader->status;
}

enum status take_in(struct store *store, struct json_reader *reader, const char *text, size_t len,
                    struct member_id by, int64_t now, struct taken *out)
{
	const struct format *format = NULL;
	size_t count = 0;
	enum status status = recognise(reader, text, len, &format);

	if (status == ST_OK)
		status = format->import(store, reader, text, len, by, now, &count);
	if (status == ST_OK)
		*out = (struct taken){count, count == 1 ? format->one : format->many, format->path};
	return status;
}
