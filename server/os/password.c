#include "os/password.h"

#include <sodium.h>
#include <string.h>

#define PASSES 2
#define MEMORY (19U * 1024U * 1024U)

_Static_assert(PASSWORD_HASH_SIZE >= crypto_pwhash_STRBYTES, "a hash must fit");

/* Of the same cost as those that are made. */
const char password_of_nobody[crypto_pwhash_STRBYTES] =
        "$argon2id$v=19$m=19456,t=2,p=1$"
        "bm9ib2R5IGtub3dzIGl0IQ$"
        "q1Wm3Z5b3bq6bZyKJ2Zb0mJZyJm1xk6S8b9Yk1n5b1E";

enum status password_hash(const char *password, char out[PASSWORD_HASH_SIZE])
{
	char hash[crypto_pwhash_STRBYTES];

	if (crypto_pwhash_str_alg(hash, password, strlen(password), PASSES, MEMORY,
	                          crypto_pwhash_ALG_ARGON2ID13) != 0)
		return ST_NOMEM;
	memcpy(out, hash, sizeof hash);
	return ST_OK;
}

bool password_fits(const char *hash, const char *password)
{
	bool fits = crypto_pwhash_str_verify(hash ? hash : password_of_nobody, password,
	                                     strlen(password)) == 0;

	return hash && fits;
}
