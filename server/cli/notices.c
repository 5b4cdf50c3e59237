/* import: a file of any of our formats; export: notices as a file. */
#include "cli/command.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "cli/database.h"
#include "os/clock.h"
#include "chapter/notice_import.h"
#include "chapter/take_in.h"

#define FILE_LARGEST (256u * 1024 * 1024)

/* The whole file; "-" is standard input. */
static enum status read_file(const char *path, struct text *out)
{
	FILE *file = strcmp(path, "-") == 0 ? stdin : fopen(path, "rb");
	char block[65536];
	size_t got;

	if (!file)
		return ST_IO;
	while ((got = fread(block, 1, sizeof block, file)) > 0 && out->len < FILE_LARGEST)
		text_add_bytes(out, block, got);
	if (ferror(file) || out->len >= FILE_LARGEST)
		text_clear(out);
	if (file != stdin)
		fclose(file);
	return text_failed(out) ? ST_NOMEM : out->len ? ST_OK : ST_IO;
}

static int say_fault(const char *path, const struct json_fault *fault)
{
	return command_failed("%s:%u:%u: %s: %s; nothing was imported", path, fault->line,
	                      fault->column, fault->place[0] ? fault->place : "/", fault->words);
}

/* The first admin answers for what the command line imports; nobody, {0}, while
 * there is none. */
static enum status find_admin(struct store *store, struct arena *arena, struct member_id *out)
{
	const struct page page = {1000, 0};
	const struct member *members;
	size_t count;
	int64_t total;
	enum status status = member_list(store, arena, page, &members, &count, &total);

	if (status != ST_OK)
		return status;
	for (size_t i = 0; i < count && out->v == 0; i++)
		if (members[i].role == ROLE_ADMIN && !members[i].disabled)
			*out = members[i].id;
	return ST_OK;
}

static int import_text(struct store *store, const char *path, const struct text *text)
{
	struct arena *arena = arena_new();
	struct json_reader reader;
	struct member_id by = {0};
	struct taken taken;
	enum status status;

	if (!arena)
		return command_failed("out of memory");
	json_reader_start(&reader, arena);
	status = find_admin(store, arena, &by);
	if (status == ST_OK)
		status = take_in(store, &reader, text_string(text), text->len, by, clock_now(),
		                 &taken);
	if (status == ST_OK)
		printf("imported %zu %s\n", taken.count, taken.what);
	else if (reader.status == ST_INVALID)
		say_fault(path, &reader.fault);
	else
		command_failed("cannot import: %s", status_words(status));
	arena_free(arena);
	return status == ST_OK ? 0 : 1;
}

int command_import(const struct command_args *args)
{
	struct text text = TEXT_EMPTY;
	struct store *store;
	int result = 1;

	if (read_file(args->file, &text) != ST_OK) {
		text_free(&text);
		return command_failed("cannot read %s, or it is empty or too large", args->file);
	}
	store = database_open(args->data);
	if (store)
		result = import_text(store, args->file, &text);
	store_close(store);
	text_free(&text);
	return result;
}

int command_export(const struct command_args *args)
{
	struct store *store = database_open_existing(args->data);
	struct arena *arena = arena_new();
	json_t *file = NULL;
	bool printed;

	printed = store && arena && notices_export(store, arena, &file) == ST_OK &&
	          json_dumpf(file, stdout, JSON_INDENT(1)) == 0 && putchar('\n') == '\n' &&
	          fflush(stdout) == 0;
	json_decref(file);
	arena_free(arena);
	if (store && !printed)
		command_failed("cannot export");
	store_close(store);
	return printed ? 0 : 1;
}
