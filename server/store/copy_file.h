/* copy_file.h - a database written to a file of its own, and the digest beside
 * it; not for other layers, which ask backup.h.
 *
 * A copy comes into being as PATH.part and takes its name when it, its digest
 * and the folder have reached the disk. So whatever ends the program leaves
 * nothing under the name, and the next attempt takes up the .part.
 *
 * PATH.b2 holds BLAKE2b-256 over the file in the form that b2sum checks
 * (b2sum --length 256 --check), then in comment lines the first 8 bytes of
 * BLAKE2b-256 over each page, so that a changed page is named.
 */
#ifndef STORE_COPY_FILE_H
#define STORE_COPY_FILE_H

#include "store/store.h"

struct sqlite3;

/* As one state, while others work. ST_CONFLICT: there is a file at the path
 * already, left as it is; ST_BUSY: another copy to it is being made. */
enum status copy_file_make(struct sqlite3 *from, const char *path, int64_t *size) MUST_CHECK;

/* The same into a database that is open, over all that it holds. */
enum status copy_file_over(struct sqlite3 *from, struct sqlite3 *to) MUST_CHECK;

struct copy_digest {
	bool there;    /* is there one beside the file? */
	bool readable; /* is it in the form above? */
	int64_t pages; /* of the file that differ */
	int64_t page;  /* the first of them, from 1 */
};

/* ST_INVALID: there is one, and the file is not what it says. */
enum status copy_digest_check(const char *path, struct copy_digest *out) MUST_CHECK;

#endif
