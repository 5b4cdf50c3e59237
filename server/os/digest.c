#include "os/digest.h"

#include <sodium.h>

struct digest digest_of(const void *at, size_t len)
{
	struct digest digest;

	crypto_generichash(digest.bytes, DIGEST_SIZE, at, len, NULL, 0);
	return digest;
}

struct digest digest_keyed(const void *key, size_t key_len, const void *at, size_t len)
{
	struct digest digest;
	struct digest short_key;

	if (key_len > crypto_generichash_KEYBYTES_MAX) {
		short_key = digest_of(key, key_len);
		key = short_key.bytes;
		key_len = DIGEST_SIZE;
	}
	crypto_generichash(digest.bytes, DIGEST_SIZE, at, len, key, key_len);
	return digest;
}

bool digest_equal(const struct digest *a, const struct digest *b)
{
	return sodium_memcmp(a->bytes, b->bytes, DIGEST_SIZE) == 0;
}

void digest_hex(const struct digest *digest, char out[DIGEST_HEX_SIZE])
{
	sodium_bin2hex(out, DIGEST_HEX_SIZE, digest->bytes, DIGEST_SIZE);
}
