#include "web/http/statics.h"

#include <ctype.h>
#include <string.h>
#define ZLIB_CONST /* it does not write to what it reads */
#include <zlib.h>

#include "base/arena.h"
#include "base/mem.h"
#include "os/digest.h"

#define TAG_DIGITS 16

struct statics {
	struct arena *arena;
	struct static_file *files;
	size_t count;
};

static const char *type_of(const char *name)
{
	static const struct {
		const char *end, *type;
	} types[] = {
	        {".css", "text/css; charset=utf-8"},
	        {".js", "text/javascript; charset=utf-8"},
	        {".svg", "image/svg+xml"},
	        {".png", "image/png"},
	        {".jpg", "image/jpeg"},
	        {".ico", "image/x-icon"},
	        {".woff2", "font/woff2"},
	        {".txt", "text/plain; charset=utf-8"},
	        {".json", "application/json"},
	        {".webmanifest", "application/manifest+json"},
	};
	const char *end = strrchr(name, '.');

	for (size_t i = 0; end && i < sizeof types / sizeof types[0]; i++)
		if (strcmp(end, types[i].end) == 0)
			return types[i].type;
	return "application/octet-stream";
}

static const char *key_of(struct arena *arena, const char *name)
{
	char *key = arena_string(arena, name);

	for (char *at = key; at && *at; at++)
		if (!isalnum((unsigned char)*at))
			*at = '_';
	return key;
}

/* zlib's memory comes through the hooks like all other. */
static void *allocate(void *context, unsigned items, unsigned size)
{
	(void)context;
	return mem_alloc((size_t)items * size);
}

static void release(void *context, void *at)
{
	(void)context;
	mem_free(at);
}

#define GZIP_WINDOW (15 + 16) /* the largest, and gzip's own frame (RFC 1952) */
#define GZIP_MEMORY 9

/* Into room that is smaller than the file: what does not fit is not worth it. */
static void compress_file(struct arena *arena, struct static_file *out)
{
	z_stream stream = {.zalloc = allocate, .zfree = release};
	char *room = arena_array(arena, out->file->len, 1);

	if (!room || out->file->len == 0 ||
	    deflateInit2(&stream, Z_BEST_COMPRESSION, Z_DEFLATED, GZIP_WINDOW, GZIP_MEMORY,
	                 Z_DEFAULT_STRATEGY) != Z_OK)
		return;
	stream.next_in = (const Bytef *)out->file->bytes;
	stream.avail_in = (uInt)out->file->len;
	stream.next_out = (Bytef *)room;
	stream.avail_out = (uInt)out->file->len - 1;
	if (deflate(&stream, Z_FINISH) == Z_STREAM_END) {
		out->gzip = room;
		out->gzip_len = stream.total_out;
	}
	deflateEnd(&stream);
}

static void describe(struct arena *arena, const struct embedded_file *file, struct static_file *out)
{
	struct digest digest = digest_of(file->bytes, file->len);
	char hex[DIGEST_HEX_SIZE];

	digest_hex(&digest, hex);
	*out = (struct static_file){
	        .file = file,
	        .type = type_of(file->name),
	        .key = key_of(arena, file->name),
	        .url = arena_printf(arena, "/static/%s?v=%.*s", file->name, TAG_DIGITS, hex),
	        .tag = arena_copy(arena, hex, TAG_DIGITS),
	        .etag = arena_printf(arena, "\"%.*s\"", TAG_DIGITS, hex),
	        .gzip_etag = arena_printf(arena, "\"%.*s-gzip\"", TAG_DIGITS, hex),
	};
	compress_file(arena, out);
}

enum status statics_new(const struct embedded_file *files, size_t count, struct statics **out)
{
	struct arena *arena = arena_new();
	struct statics *statics = arena ? ARENA_NEW(arena, struct statics) : NULL;

	if (statics) {
		*statics = (struct statics){arena, NULL, count};
		statics->files = ARENA_ARRAY(arena, struct static_file, count);
	}
	for (size_t i = 0; statics && statics->files && i < count; i++)
		describe(arena, &files[i], &statics->files[i]);
	if (!arena || arena_failed(arena)) {
		arena_free(arena);
		return ST_NOMEM;
	}
	*out = statics;
	return ST_OK;
}

void statics_free(struct statics *statics)
{
	if (statics)
		arena_free(statics->arena);
}

const struct static_file *statics_find(const struct statics *statics, const char *name)
{
	for (size_t i = 0; i < statics->count; i++)
		if (strcmp(statics->files[i].file->name, name) == 0)
			return &statics->files[i];
	return NULL;
}

json_t *statics_view(const struct statics *statics)
{
	json_t *view = json_object();

	for (size_t i = 0; i < statics->count; i++)
		if (json_object_set_new(view, statics->files[i].key,
		                        json_string(statics->files[i].url))) {
			json_decref(view);
			return NULL;
		}
	return view;
}
