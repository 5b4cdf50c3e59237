#include "os/disk.h"

#include <sys/statvfs.h>

enum status disk_room(const char *path, int64_t *bytes)
{
	struct statvfs found;

	if (statvfs(path, &found) != 0)
		return ST_IO;
	*bytes = (int64_t)found.f_bavail * (int64_t)found.f_frsize;
	return ST_OK;
}
