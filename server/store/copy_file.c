#include "store/copy_file.h"

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/mem.h"
#include "store/sql.h"

#define PAGE_MOST 65536
#define PAGE_HASH 8 /* bytes of a page's hash that are kept */
#define FIRST_LINE "BLAKE2b-256 ("

/* Names ----------------------------------------------------------------------- */

/* All names that a copy goes by; texts, owned. */
struct names {
	struct text part, digest, digest_part, folder, base;
};

static void names_free(struct names *names)
{
	text_free(&names->part);
	text_free(&names->digest);
	text_free(&names->digest_part);
	text_free(&names->folder);
	text_free(&names->base);
}

static enum status names_make(const char *path, struct names *out)
{
	struct text copy = TEXT_EMPTY;
	bool failed;

	*out = (struct names){TEXT_EMPTY, TEXT_EMPTY, TEXT_EMPTY, TEXT_EMPTY, TEXT_EMPTY};
	text_printf(&out->part, "%s.part", path);
	text_printf(&out->digest, "%s.b2", path);
	text_printf(&out->digest_part, "%s.b2.part", path);
	text_add(&copy, path);
	if (!text_failed(&copy)) {
		/* basename is that of string.h, which leaves its argument alone. */
		text_add(&out->base, strrchr(path, '/') ? strrchr(path, '/') + 1 : path);
		text_add(&out->folder, dirname(copy.at));
	}
	failed = text_failed(&copy) || text_failed(&out->part) || text_failed(&out->digest) ||
	         text_failed(&out->digest_part) || text_failed(&out->folder) ||
	         text_failed(&out->base);
	text_free(&copy);
	if (failed)
		names_free(out);
	return failed ? ST_NOMEM : ST_OK;
}

/* Digests --------------------------------------------------------------------- */

/* What is said of a file: its hash, and a line for each page. */
struct sums {
	char whole[2 * HASH_SIZE + 1];
	struct text pages;
};

/* The size of a page stands in the header: two bytes, where 1 means 65536. */
static size_t page_size_of(int fd)
{
	unsigned char bytes[2] = {0, 0};
	size_t size;

	if (pread(fd, bytes, sizeof bytes, 16) != (ssize_t)sizeof bytes)
		return 0;
	size = (size_t)bytes[0] << 8 | bytes[1];
	return size == 1 ? PAGE_MOST : size;
}

/* As much as there is, up to size; -1: failed. */
static ssize_t read_page(int fd, unsigned char *page, size_t size, off_t at)
{
	size_t have = 0;

	while (have < size) {
		ssize_t n = pread(fd, page + have, size - have, at + (off_t)have);

		if (n < 0 && errno != EINTR)
			return -1;
		if (n == 0)
			break;
		have += n > 0 ? (size_t)n : 0;
	}
	return (ssize_t)have;
}

static void add_page(struct sums *out, const unsigned char *page, size_t len)
{
	unsigned char hash[HASH_SIZE];
	char hex[2 * PAGE_HASH + 1];

	crypto_generichash(hash, HASH_SIZE, page, len, NULL, 0);
	sodium_bin2hex(hex, sizeof hex, hash, PAGE_HASH);
	text_printf(&out->pages, "# %s\n", hex);
}

static enum status sum_up(int fd, size_t page_size, struct sums *out)
{
	unsigned char *page = mem_zero(PAGE_MOST);
	unsigned char hash[HASH_SIZE];
	crypto_generichash_state state;
	off_t at = 0;
	ssize_t n = page ? 0 : -1;

	crypto_generichash_init(&state, NULL, 0, HASH_SIZE);
	while (page && (n = read_page(fd, page, page_size, at)) > 0) {
		crypto_generichash_update(&state, page, (size_t)n);
		add_page(out, page, (size_t)n);
		at += n;
	}
	crypto_generichash_final(&state, hash, HASH_SIZE);
	sodium_bin2hex(out->whole, sizeof out->whole, hash, HASH_SIZE);
	if (!page || text_failed(&out->pages))
		n = -2;
	mem_free(page);
	if (n == -2)
		return ST_NOMEM;
	return n < 0 ? ST_IO : ST_OK;
}

static enum status write_all(int fd, const char *at, size_t len)
{
	while (len > 0) {
		ssize_t n = write(fd, at, len);

		if (n < 0 && errno != EINTR)
			return ST_IO;
		at += n > 0 ? n : 0;
		len -= n > 0 ? (size_t)n : 0;
	}
	return ST_OK;
}

static enum status write_digest(const struct names *names, size_t page_size,
                                const struct sums *sums)
{
	struct text text = TEXT_EMPTY;
	enum status status = ST_IO;
	int fd = open(text_string(&names->digest_part), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC,
	              0600);

	text_printf(&text, FIRST_LINE "%s) = %s\n# page %zu\n", text_string(&names->base),
	            sums->whole, page_size);
	text_add(&text, text_string(&sums->pages));
	if (text_failed(&text))
		status = ST_NOMEM;
	else if (fd >= 0)
		status = write_all(fd, text_string(&text), text.len);
	if (status == ST_OK && fsync(fd) != 0)
		status = ST_IO;
	if (fd >= 0 && close(fd) != 0 && status == ST_OK)
		status = ST_IO;
	if (status == ST_OK &&
	    rename(text_string(&names->digest_part), text_string(&names->digest)) != 0)
		status = ST_IO;
	text_free(&text);
	return status;
}

static enum status make_digest(int fd, const struct names *names)
{
	struct sums sums = {.pages = TEXT_EMPTY};
	size_t page_size = page_size_of(fd);
	enum status status = page_size ? sum_up(fd, page_size, &sums) : ST_IO;

	if (status == ST_OK)
		status = write_digest(names, page_size, &sums);
	text_free(&sums.pages);
	return status;
}

/* Copies ---------------------------------------------------------------------- */

static enum status status_of_copy(int code)
{
	switch (code & 0xFF) {
	case SQLITE_DONE:
		return ST_OK;
	case SQLITE_BUSY:
	case SQLITE_LOCKED:
		return ST_BUSY;
	case SQLITE_NOMEM:
		return ST_NOMEM;
	default:
		return ST_IO;
	}
}

/* All pages in one step: one state of the database. */
enum status copy_file_over(sqlite3 *from, sqlite3 *to)
{
	sqlite3_backup *backup = sqlite3_backup_init(to, "main", from, "main");
	int code;

	if (!backup)
		return ST_IO;
	code = sqlite3_backup_step(backup, -1);
	sqlite3_backup_finish(backup);
	return status_of_copy(code);
}

/* No journal of its own: a copy that fails is thrown away as a whole. */
static enum status fill(sqlite3 *from, const char *part)
{
	sqlite3 *to = NULL;
	enum status status = ST_IO;

	if (sqlite3_open_v2(part, &to, SQLITE_OPEN_READWRITE, NULL) == SQLITE_OK &&
	    sqlite3_exec(to, "PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF", NULL, NULL,
	                 NULL) == SQLITE_OK)
		status = copy_file_over(from, to);
	if (sqlite3_close(to) != SQLITE_OK && status == ST_OK)
		status = ST_IO;
	return status;
}

static bool is_at(int fd, const char *path)
{
	struct stat here, there;

	return fstat(fd, &here) == 0 && stat(path, &there) == 0 && here.st_dev == there.st_dev &&
	       here.st_ino == there.st_ino;
}

/* Made here and not by SQLite, readable by its owner alone: it holds members'
 * data. One that a killed program left is begun anew, but not one that another
 * program is at, or has given its name meanwhile. */
static enum status take_part(const char *part, int *out)
{
	int fd = open(part, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);

	if (fd < 0)
		return ST_IO;
	if (flock(fd, LOCK_EX | LOCK_NB) != 0 || !is_at(fd, part)) {
		close(fd);
		return ST_BUSY;
	}
	if (ftruncate(fd, 0) != 0) {
		close(fd);
		return ST_IO;
	}
	*out = fd;
	return ST_OK;
}

/* Never over a file that is there. Where the disk's format cannot promise that,
 * it has been looked at before. */
static enum status take_name(const char *part, const char *path)
{
	if (renameat2(AT_FDCWD, part, AT_FDCWD, path, RENAME_NOREPLACE) == 0)
		return ST_OK;
	if ((errno == EINVAL || errno == ENOSYS) && access(path, F_OK) != 0 &&
	    rename(part, path) == 0)
		return ST_OK;
	return errno == EEXIST ? ST_CONFLICT : ST_IO;
}

static enum status sync_folder(const char *folder)
{
	int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
	enum status status = fd >= 0 && fsync(fd) == 0 ? ST_OK : ST_IO;

	if (fd >= 0)
		close(fd);
	return status;
}

static enum status make_part(sqlite3 *from, int fd, const struct names *names, int64_t *size)
{
	struct stat made;
	enum status status = fill(from, text_string(&names->part));

	if (status == ST_OK && (fsync(fd) != 0 || fstat(fd, &made) != 0))
		status = ST_IO;
	if (status == ST_OK)
		*size = made.st_size;
	return status == ST_OK ? make_digest(fd, names) : status;
}

static enum status make(sqlite3 *from, const char *path, const struct names *names, int64_t *size)
{
	int fd = -1;
	enum status status = access(path, F_OK) == 0 ? ST_CONFLICT : ST_OK;

	if (status == ST_OK)
		status = take_part(text_string(&names->part), &fd);
	if (status != ST_OK)
		return status;
	status = make_part(from, fd, names, size);
	if (status == ST_OK)
		status = take_name(text_string(&names->part), path);
	if (status == ST_OK) {
		status = sync_folder(text_string(&names->folder));
	} else {
		unlink(text_string(&names->part));
		unlink(text_string(&names->digest_part));
		if (status != ST_CONFLICT)
			unlink(text_string(&names->digest));
	}
	close(fd);
	return status;
}

enum status copy_file_make(sqlite3 *from, const char *path, int64_t *size)
{
	struct names names;
	enum status status = names_make(path, &names);

	if (status != ST_OK)
		return status;
	status = make(from, path, &names, size);
	names_free(&names);
	return status;
}

/* Checking a digest ----------------------------------------------------------- */

/* The lines of one that was read: the hash of the whole, the first page's line. */
static bool read_digest(char *text, size_t *page_size, const char **whole, char **pages)
{
	char *end = strchr(text, '\n');
	char *hash = end ? strstr(text, ") = ") : NULL;

	if (strncmp(text, FIRST_LINE, strlen(FIRST_LINE)) != 0 || !hash || hash > end)
		return false;
	*end = '\0';
	*whole = hash + 4;
	if (sscanf(end + 1, "# page %zu\n", page_size) != 1 || *page_size < 512 ||
	    *page_size > PAGE_MOST)
		return false;
	*pages = strchr(end + 1, '\n');
	return *pages && ++*pages;
}

static void compare_pages(const char *said, const char *found, struct copy_digest *out)
{
	const size_t line = 2 + 2 * PAGE_HASH + 1;
	size_t has = strlen(said) / line;
	size_t is = strlen(found) / line;

	for (size_t i = 0; i < has || i < is; i++)
		if (i >= has || i >= is || memcmp(said + i * line, found + i * line, line) != 0) {
			if (out->pages++ == 0)
				out->page = (int64_t)i + 1;
		}
}

static enum status compare(int fd, char *text, struct copy_digest *out)
{
	struct sums sums = {.pages = TEXT_EMPTY};
	const char *whole = "";
	char *pages = NULL;
	size_t page_size = 0;
	enum status status = ST_INVALID;

	out->readable = read_digest(text, &page_size, &whole, &pages);
	if (out->readable)
		status = sum_up(fd, page_size, &sums);
	if (out->readable && status == ST_OK) {
		compare_pages(pages, text_string(&sums.pages), out);
		if (strcmp(whole, sums.whole) != 0 || out->pages)
			status = ST_INVALID;
	}
	text_free(&sums.pages);
	return status;
}

static enum status read_file(int fd, struct text *out)
{
	char piece[4096];
	ssize_t n;

	while ((n = read(fd, piece, sizeof piece)) > 0)
		text_add_bytes(out, piece, (size_t)n);
	if (text_failed(out))
		return ST_NOMEM;
	return n < 0 ? ST_IO : ST_OK;
}

enum status copy_digest_check(const char *path, struct copy_digest *out)
{
	struct copy_digest digest = {.there = false};
	struct names names;
	struct text text = TEXT_EMPTY;
	enum status status = names_make(path, &names);
	int file = -1;
	int fd;

	if (status != ST_OK)
		return status;
	fd = open(text_string(&names.digest), O_RDONLY | O_CLOEXEC);
	digest.there = fd >= 0;
	if (digest.there) {
		file = open(path, O_RDONLY | O_CLOEXEC);
		status = file >= 0 ? read_file(fd, &text) : ST_IO;
		if (status == ST_OK)
			status = text.len ? compare(file, text.at, &digest) : ST_INVALID;
	}
	if (file >= 0)
		close(file);
	if (fd >= 0)
		close(fd);
	*out = digest;
	text_free(&text);
	names_free(&names);
	return status;
}
