/* disk.h - a disk in memory that can lose power, as SQLite's default VFS.
 *
 * What is written is read back at once, as from the kernel's memory, but it is
 * on the disk only once the file is synced. When power goes, each write since
 * then may be there or not, or in part; those of before are there. What a disk
 * is trusted with is what SQLite's own "unix" VFS trusts it with: that bytes
 * beside those written stay as they were (SQLITE_IOCAP_POWERSAFE_OVERWRITE),
 * and that a file that has been synced is found by its name.
 *
 * One process with one connection to a file: locks are always granted.
 */
#ifndef TESTS_FAULT_DISK_H
#define TESTS_FAULT_DISK_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

enum disk_loss {
	LOSE_ALL,     /* no unsynced write is there */
	LOSE_WRITES,  /* some whole writes are */
	LOSE_SECTORS, /* some sectors of 512 bytes of some writes are: torn pages */
	LOSE_GARBAGE, /* and some are neither what was nor what was written */
	DISK_LOSSES
};

void disk_install(void);

/* A file that is on the disk for good. */
void disk_put(const char *name, const void *at, size_t len);

/* Power goes at the n-th write, sync, cut or removal from now on, or when
 * disk_lose is called; what is left depends on the seed. lost() never returns. */
void disk_lose_at(size_t n, enum disk_loss loss, uint64_t seed, void (*lost)(void));
void disk_lose(void);

/* All files there are; and back again, into a folder. */
void disk_save(FILE *out);
void disk_load(FILE *in, const char *folder);
void disk_clear(const char *folder); /* no file in it is open */

#endif
