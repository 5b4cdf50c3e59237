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
	case ST_DENIED:
		return "it is to be brought up to date, but was changed outside the program; "
		       "nothing was done. \"fairlead verify\" says what was changed; "
		       "deploy/README.md, what to do";
	case ST_LIMIT:
		return "it is to be brought up to date, but no copy of it could be made beside "
		       "it before; nothing was done. Make room on the disk, then start again";
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

static char *copy_of(const char *text)
{
	struct text copy = TEXT_EMPTY;

	text_add(&copy, text);
	if (!text_failed(&copy))
		return copy.at;
	text_free(&copy);
	return NULL;
}

struct store *database_open_to_look(const char *place, char **path, int64_t *version)
{
	struct stat found;
	bool folder = stat(place, &found) == 0 && S_ISDIR(found.st_mode);
	struct store *store = NULL;
	enum status status;

	*path = folder ? database_path(place) : copy_of(place);
	status = *path ? store_open_to_look(*path, &store, version) : ST_NOMEM;
	if (status == ST_OK)
		return store;
	if (status == ST_MISSING && folder)
		command_failed("there is no database in %s", place);
	else if (status == ST_MISSING)
		command_failed("there is no %s", place);
	else if (status == ST_INVALID)
		command_failed("%s is no sound database of this program: it is empty, half "
		               "written or something else",
		               *path);
	else
		command_failed("cannot open %s: %s", *path ? *path : place, why_not(status));
	return NULL;
}
