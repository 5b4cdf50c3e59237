/* A file is two texts of bytes: what is seen, and what is kept; and the writes
 * that lead from the second to the first, in their order. A sync forgets these.
 */
#include "disk.h"

#include <assert.h>
#include <sqlite3.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define FILES_MOST 8
#define NAME_MOST 128
#define SECTOR 512
#define REGIONS_MOST 64

struct bytes {
	unsigned char *at;
	size_t len;
};

/* A write, or where at is NULL a cut to that length. */
struct change {
	size_t offset;
	struct bytes bytes;
};

struct file {
	char name[NAME_MOST]; /* "": this place is free */
	bool is_kept;         /* is it found after a loss? */
	struct bytes seen, kept;
	struct change *changes;
	size_t count, room;
	void *regions[REGIONS_MOST]; /* the index of a write-ahead log, never on the disk */
};

struct handle {
	sqlite3_file base;
	struct file *file;
	bool deletes; /* when it is closed */
};

static struct file files[FILES_MOST];
static struct {
	size_t events; /* until power goes; 0: it stays */
	enum disk_loss loss;
	uint64_t seed;
	void (*lost)(void);
} power;

static void *needed(void *at)
{
	if (!at)
		abort();
	return at;
}

/* splitmix64 */
static uint64_t draw(void)
{
	uint64_t z = power.seed += 0x9e3779b97f4a7c15U;

	z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9U;
	z = (z ^ (z >> 27)) * 0x94d049bb133111ebU;
	return z ^ (z >> 31);
}

static bool chance(void)
{
	return draw() >> 63;
}

/* ---- bytes ---- */

static void set_len(struct bytes *bytes, size_t len)
{
	if (len > bytes->len) {
		bytes->at = needed(realloc(bytes->at, len));
		memset(bytes->at + bytes->len, 0, len - bytes->len);
	}
	bytes->len = len;
}

static void set_part(struct bytes *bytes, size_t offset, const unsigned char *at, size_t len)
{
	if (offset + len > bytes->len)
		set_len(bytes, offset + len);
	if (len > 0)
		memcpy(bytes->at + offset, at, len);
}

static void clear(struct bytes *bytes)
{
	free(bytes->at);
	*bytes = (struct bytes){NULL, 0};
}

static void copy_to(struct bytes *to, const struct bytes *from)
{
	clear(to);
	if (from->len > 0)
		set_part(to, 0, from->at, from->len);
}

/* ---- files ---- */

static struct file *find(const char *name)
{
	for (size_t i = 0; i < FILES_MOST; i++)
		if (strcmp(files[i].name, name) == 0)
			return &files[i];
	return NULL;
}

/* The changes are on the disk, or lost. */
static void forget_changes(struct file *file)
{
	for (size_t i = 0; i < file->count; i++)
		clear(&file->changes[i].bytes);
	file->count = 0;
}

static void release(struct file *file)
{
	forget_changes(file);
	free(file->changes);
	clear(&file->seen);
	clear(&file->kept);
	for (size_t i = 0; i < REGIONS_MOST; i++)
		free(file->regions[i]);
	memset(file, 0, sizeof *file);
}

static struct file *make(const char *name)
{
	struct file *file = needed(find(""));

	assert(strlen(name) < NAME_MOST);
	strcpy(file->name, name);
	return file;
}

static void note_change(struct file *file, size_t offset, const unsigned char *at, size_t len)
{
	struct change change = {offset, {NULL, 0}};

	if (at)
		set_part(&change.bytes, 0, at, len);
	if (file->count == file->room) {
		file->room = file->room ? file->room * 2 : 16;
		file->changes = needed(realloc(file->changes, file->room * sizeof change));
	}
	file->changes[file->count++] = change;
}

/* ---- the loss ---- */

static void keep_sectors(struct file *file, const struct change *change)
{
	for (size_t done = 0; done < change->bytes.len;) {
		size_t offset = change->offset + done;
		size_t len = SECTOR - offset % SECTOR;

		if (len > change->bytes.len - done)
			len = change->bytes.len - done;
		if (chance())
			set_part(&file->kept, offset, change->bytes.at + done, len);
		else if (power.loss == LOSE_GARBAGE && draw() % 8 == 0)
			for (size_t i = 0; i < len; i++)
				set_part(&file->kept, offset + i, &(unsigned char){draw() & 255},
				         1);
		done += len;
	}
}

static void lose_changes(struct file *file)
{
	for (size_t i = 0; i < file->count && power.loss != LOSE_ALL; i++) {
		const struct change *change = &file->changes[i];

		if (power.loss >= LOSE_SECTORS && change->bytes.at)
			keep_sectors(file, change);
		else if (chance() && change->bytes.at)
			set_part(&file->kept, change->offset, change->bytes.at, change->bytes.len);
		else if (chance() && !change->bytes.at)
			set_len(&file->kept, change->offset);
	}
	forget_changes(file);
	/* A name that no sync has kept may have come onto the disk by itself. */
	if (!file->is_kept && (power.loss == LOSE_ALL || chance()))
		release(file);
	else
		copy_to(&file->seen, &file->kept);
}

void disk_lose(void)
{
	void (*lost)(void) = power.lost;

	power.lost = NULL;
	for (size_t i = 0; i < FILES_MOST; i++)
		if (files[i].name[0])
			lose_changes(&files[i]);
	lost();
}

void disk_lose_at(size_t n, enum disk_loss loss, uint64_t seed, void (*lost)(void))
{
	power.events = n;
	power.loss = loss;
	power.seed = seed;
	power.lost = lost;
}

/* Comes before each thing that the disk is told to do. */
static void event(void)
{
	if (power.events > 0 && --power.events == 0)
		disk_lose();
}

/* ---- what SQLite calls ---- */

static struct file *file_of(sqlite3_file *base)
{
	return ((struct handle *)base)->file;
}

static int disk_close(sqlite3_file *base)
{
	struct handle *handle = (struct handle *)base;

	if (handle->deletes)
		release(handle->file);
	return SQLITE_OK;
}

static int disk_read(sqlite3_file *base, void *to, int amount, sqlite3_int64 offset)
{
	const struct bytes *seen = &file_of(base)->seen;
	size_t at = (size_t)offset, len = (size_t)amount, there = 0;

	if (at < seen->len)
		there = seen->len - at < len ? seen->len - at : len;
	if (there > 0)
		memcpy(to, seen->at + at, there);
	memset((char *)to + there, 0, len - there);
	return there == len ? SQLITE_OK : SQLITE_IOERR_SHORT_READ;
}

static int disk_write(sqlite3_file *base, const void *from, int amount, sqlite3_int64 offset)
{
	struct file *file = file_of(base);

	note_change(file, (size_t)offset, from, (size_t)amount);
	event();
	set_part(&file->seen, (size_t)offset, from, (size_t)amount);
	return SQLITE_OK;
}

static int disk_truncate(sqlite3_file *base, sqlite3_int64 size)
{
	struct file *file = file_of(base);

	note_change(file, (size_t)size, NULL, 0);
	event();
	set_len(&file->seen, (size_t)size);
	return SQLITE_OK;
}

static int disk_sync(sqlite3_file *base, int flags)
{
	struct file *file = file_of(base);

	(void)flags;
	event();
	copy_to(&file->kept, &file->seen);
	file->is_kept = true;
	forget_changes(file);
	return SQLITE_OK;
}

static int disk_size(sqlite3_file *base, sqlite3_int64 *size)
{
	*size = (sqlite3_int64)file_of(base)->seen.len;
	return SQLITE_OK;
}

static int disk_lock(sqlite3_file *base, int level)
{
	(void)base, (void)level;
	return SQLITE_OK;
}

static int disk_is_reserved(sqlite3_file *base, int *is)
{
	(void)base;
	*is = 0;
	return SQLITE_OK;
}

static int disk_control(sqlite3_file *base, int what, void *with)
{
	(void)base, (void)what, (void)with;
	return SQLITE_NOTFOUND;
}

static int disk_sector(sqlite3_file *base)
{
	(void)base;
	return 4096;
}

static int disk_character(sqlite3_file *base)
{
	(void)base;
	return SQLITE_IOCAP_POWERSAFE_OVERWRITE;
}

static int disk_map(sqlite3_file *base, int region, int size, int extend, void volatile **out)
{
	struct file *file = file_of(base);

	assert(region < REGIONS_MOST);
	if (!file->regions[region] && extend)
		file->regions[region] = needed(calloc(1, (size_t)size));
	*out = file->regions[region];
	return SQLITE_OK;
}

static int disk_map_lock(sqlite3_file *base, int offset, int n, int flags)
{
	(void)base, (void)offset, (void)n, (void)flags;
	return SQLITE_OK;
}

static void disk_map_barrier(sqlite3_file *base)
{
	(void)base;
}

static int disk_unmap(sqlite3_file *base, int removes)
{
	struct file *file = file_of(base);

	for (size_t i = 0; removes && i < REGIONS_MOST; i++) {
		free(file->regions[i]);
		file->regions[i] = NULL;
	}
	return SQLITE_OK;
}

static const sqlite3_io_methods methods = {
        .iVersion = 2,
        .xClose = disk_close,
        .xRead = disk_read,
        .xWrite = disk_write,
        .xTruncate = disk_truncate,
        .xSync = disk_sync,
        .xFileSize = disk_size,
        .xLock = disk_lock,
        .xUnlock = disk_lock,
        .xCheckReservedLock = disk_is_reserved,
        .xFileControl = disk_control,
        .xSectorSize = disk_sector,
        .xDeviceCharacteristics = disk_character,
        .xShmMap = disk_map,
        .xShmLock = disk_map_lock,
        .xShmBarrier = disk_map_barrier,
        .xShmUnmap = disk_unmap,
};

static int disk_open(sqlite3_vfs *vfs, const char *name, sqlite3_file *base, int flags,
                     int *out_flags)
{
	struct handle *handle = (struct handle *)base;
	struct file *file = name ? find(name) : NULL;

	(void)vfs;
	base->pMethods = NULL;
	if (!file && !(flags & SQLITE_OPEN_CREATE))
		return SQLITE_CANTOPEN;
	handle->file = file ? file : make(name ? name : "of no name");
	handle->deletes = flags & SQLITE_OPEN_DELETEONCLOSE;
	base->pMethods = &methods;
	if (out_flags)
		*out_flags = flags;
	return SQLITE_OK;
}

/* A removal is on the disk at once. */
static int disk_remove(sqlite3_vfs *vfs, const char *name, int and_sync)
{
	struct file *file = find(name);

	(void)vfs, (void)and_sync;
	if (!file)
		return SQLITE_IOERR_DELETE_NOENT;
	event();
	release(file);
	return SQLITE_OK;
}

static int disk_access(sqlite3_vfs *vfs, const char *name, int flags, int *out)
{
	const struct file *file = find(name);

	(void)vfs;
	*out = file && (flags != SQLITE_ACCESS_EXISTS || file->seen.len > 0);
	return SQLITE_OK;
}

static int disk_full_name(sqlite3_vfs *vfs, const char *name, int room, char *out)
{
	(void)vfs;
	assert((int)strlen(name) < room);
	strcpy(out, name);
	return SQLITE_OK;
}

void disk_install(void)
{
	static sqlite3_vfs disk;

	disk = *sqlite3_vfs_find(NULL); /* time, sleep and random numbers are the machine's */
	disk.zName = "disk";
	disk.szOsFile = sizeof(struct handle);
	disk.mxPathname = NAME_MOST;
	disk.xOpen = disk_open;
	disk.xDelete = disk_remove;
	disk.xAccess = disk_access;
	disk.xFullPathname = disk_full_name;
	sqlite3_vfs_register(&disk, 1);
}

/* ---- from and to the tests ---- */

void disk_put(const char *name, const void *at, size_t len)
{
	struct file *file = find(name);

	if (file)
		release(file);
	file = make(name);
	set_part(&file->seen, 0, at, len);
	copy_to(&file->kept, &file->seen);
	file->is_kept = true;
}

void disk_clear(const char *folder)
{
	for (size_t i = 0; i < FILES_MOST; i++)
		if (strncmp(files[i].name, folder, strlen(folder)) == 0)
			release(&files[i]);
}

void disk_save(FILE *out)
{
	for (size_t i = 0; i < FILES_MOST; i++)
		if (files[i].name[0]) {
			fwrite(files[i].name, NAME_MOST, 1, out);
			fwrite(&files[i].seen.len, sizeof files[i].seen.len, 1, out);
			fwrite(files[i].seen.at, 1, files[i].seen.len, out);
		}
	fflush(out);
}

void disk_load(FILE *in, const char *folder)
{
	char name[2 * NAME_MOST];
	size_t len, begin = strlen(folder);

	strcpy(name, folder);
	while (fread(name + begin, NAME_MOST, 1, in) == 1 && fread(&len, sizeof len, 1, in) == 1) {
		unsigned char *at = needed(malloc(len + 1));

		if (fread(at, 1, len, in) != len)
			abort();
		disk_put(name, at, len);
		free(at);
	}
}
