/* digest.h - BLAKE2b-256 (RFC 7693), plain and keyed, and comparing secrets. */
#ifndef OS_DIGEST_H
#define OS_DIGEST_H

#include <stdbool.h>
#include <stddef.h>

#define DIGEST_SIZE 32
#define DIGEST_HEX_SIZE (2 * DIGEST_SIZE + 1)

struct digest {
	unsigned char bytes[DIGEST_SIZE];
};

struct digest digest_of(const void *at, size_t len);

/* A message authentication code: nobody without the key can make it. Any
 * length of key; one longer than 64 bytes is hashed first. */
struct digest digest_keyed(const void *key, size_t key_len, const void *at, size_t len);

/* Takes the same time wherever the two differ. */
bool digest_equal(const struct digest *a, const struct digest *b);

/* Lower-case hexadecimal, ended with NUL. */
void digest_hex(const struct digest *digest, char out[DIGEST_HEX_SIZE]);

#endif
