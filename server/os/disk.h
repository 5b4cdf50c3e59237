/* disk.h - how much room is there where the data lie? */
#ifndef OS_DISK_H
#define OS_DISK_H

#include <stdint.h>

#include "base/status.h"

/* Bytes that this user may still write on the disk of that file or folder. ST_IO. */
enum status disk_room(const char *path, int64_t *bytes) MUST_CHECK;

#endif
