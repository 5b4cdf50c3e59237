#include "chapter/standby.h"

#include <dirent.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/mem.h"
#include "chapter/chapter.h"
#include "os/log.h"
#include "store/backup.h"

#define NAME_SIZE 256

struct standby {
	const char *folder;
	char served[NAME_SIZE]; /* the rounds' thread alone */
	_Atomic int64_t as_of;
};

struct standby *standby_new(const char *folder)
{
	struct standby *made = mem_zero(sizeof *made);

	if (made)
		made->folder = folder;
	return made;
}

void standby_free(struct standby *standby)
{
	mem_free(standby);
}

int64_t standby_as_of(struct standby *standby)
{
	return atomic_load(&standby->as_of);
}

static bool is_copy(const char *name)
{
	size_t len = strlen(name);

	return len < NAME_SIZE && len > 3 && strncmp(name, "fairlead-", 9) == 0 &&
	       strcmp(name + len - 3, ".db") == 0;
}

/* Names hold the time, so that the last by name is the newest; "" if there is none. */
static enum status find_newest(const char *folder, char newest[NAME_SIZE])
{
	DIR *dir = opendir(folder);
	const struct dirent *entry;

	newest[0] = '\0';
	if (!dir)
		return ST_IO;
	while ((entry = readdir(dir)))
		if (is_copy(entry->d_name) && strcmp(entry->d_name, newest) > 0)
			strcpy(newest, entry->d_name);
	closedir(dir);
	return ST_OK;
}

static enum status take(struct standby *standby, struct store *store, const char *name)
{
	char path[4096];
	struct stat found;
	enum status status;

	if (snprintf(path, sizeof path, "%s/%s", standby->folder, name) >= (int)sizeof path ||
	    stat(path, &found) != 0)
		return ST_IO;
	status = backup_take(store, path);
	if (status != ST_OK)
		return status;
	strcpy(standby->served, name);
	atomic_store(&standby->as_of, (int64_t)found.st_mtime);
	return ST_OK;
}

enum status standby_round(const struct work *work, int64_t *place)
{
	struct standby *standby = work->chapter->standby;
	char newest[NAME_SIZE];
	enum status status = find_newest(standby->folder, newest);

	*place = 0;
	if (status != ST_OK || !newest[0] || strcmp(newest, standby->served) == 0)
		return status;
	status = take(standby, work->store, newest);
	if (status != ST_OK)
		log_line(LOG_LEVEL_TROUBLE, "the copy %s is not taken up: %s", newest,
		         status == ST_INVALID    ? "it is not what its digest says"
		         : status == ST_CONFLICT ? "another version of the program made it"
		                                 : status_words(status));
	return status;
}
