#include "cli/database.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/text.h"
#include "cli/command.h"

char *database_path(const char *folder)
{
	struct text path = TEXT_EMPTY;

	text_printf(&path, "%s/fairlead.db", folder);
	if (!text_failed(&path))
		return path.at;
	text_free(&path);
	return NULL;
}

static const char *why_not(enum status status)
{
	switch (status) {
	case ST_INVALID:
		return "it is not a database of this program";
	case ST_CONFLICT:
		return "it was written by a newer version of this program";
	default:
		return status_words(status);
	}
}

static struct store *open_at(const char *path)
{
	struct store *store = NULL;
	enum status status = store_open(path, &store);

	if (status == ST_OK)
		return store;
	command_failed("cannot open %s: %s", path, why_not(status));
	return NULL;
}

struct store *database_open(const char *folder)
{
	char *path = database_path(folder);
	struct store *store = NULL;

	if (mkdir(folder, 0700) != 0 && errno != EEXIST)
		command_failed("cannot make %s: %s", folder, strerror(errno));
	else if (path)
		store = open_at(path);
	mem_free(path);
	return store;
}

struct store *database_open_existing(const char *folder)
{
	char *path = database_path(folder);
	struct store *store = NULL;

	if (path && access(path, F_OK) != 0)
		command_failed("there is no database in %s", folder);
	else if (path)
		store = open_at(path);
	mem_free(path);
	return store;
}
