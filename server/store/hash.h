/* hash.h - BLAKE2b-256 (RFC 7693), for tokens, files and the chain of records. */
#ifndef STORE_HASH_H
#define STORE_HASH_H

#include <stddef.h>

#define HASH_SIZE 32

struct hash {
	unsigned char v[HASH_SIZE];
};

/* What is stored of a token: never the token itself. */
struct hash hash_of(const void *at, size_t len);

/* A code that nobody without the key, of up to 64 bytes, can make or compare. */
struct hash hash_keyed(const void *key, size_t key_len, const void *at, size_t len);

/* Over one after the other. */
struct hash hash_of_two(const void *first, size_t first_len, const void *second, size_t second_len);

#endif
