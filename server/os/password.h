/* password.h - passwords, kept as Argon2id hashes (RFC 9106) through libsodium.
 *
 * Cost: 19 MiB, 2 passes, 1 lane: the least of the equal settings in the OWASP
 * Password Storage Cheat Sheet. About 30 ms on a small box.
 */
#ifndef OS_PASSWORD_H
#define OS_PASSWORD_H

#include <stdbool.h>

#include "base/status.h"

#define PASSWORD_HASH_SIZE 128 /* the hash as text, NUL included */
#define PASSWORD_SHORTEST 10   /* characters */
#define PASSWORD_LONGEST 200

/* ST_NOMEM. */
enum status password_hash(const char *password, char out[PASSWORD_HASH_SIZE]) MUST_CHECK;

/* Does the password fit the hash? A NULL hash (no such member) never fits but
 * takes as long, so that the time tells nobody who is a member. */
bool password_fits(const char *hash, const char *password);

/* What is checked in place of a NULL hash: nobody knows its password. */
extern const char password_of_nobody[];

#endif
