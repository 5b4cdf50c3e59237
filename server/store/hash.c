#include "store/hash.h"

#include <assert.h>
#include <sodium.h>

_Static_assert(HASH_SIZE == crypto_generichash_BYTES, "BLAKE2b-256");

struct hash hash_of_two(const void *first, size_t first_len, const void *second, size_t second_len)
{
	crypto_generichash_state state;
	struct hash out;

	crypto_generichash_init(&state, NULL, 0, HASH_SIZE);
	crypto_generichash_update(&state, first, first_len);
	crypto_generichash_update(&state, second, second_len);
	crypto_generichash_final(&state, out.v, HASH_SIZE);
	return out;
}

struct hash hash_of(const void *at, size_t len)
{
	return hash_of_two(at, len, "", 0);
}

struct hash hash_keyed(const void *key, size_t key_len, const void *at, size_t len)
{
	struct hash out;

	assert(key_len <= crypto_generichash_KEYBYTES_MAX);
	crypto_generichash(out.v, HASH_SIZE, at, len, key, key_len);
	return out;
}
