#include "os/totp.h"

#include <nettle/hmac.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>

uint32_t totp_number(const void *secret, size_t len, uint64_t counter)
{
	struct hmac_sha1_ctx hmac;
	uint8_t mac[SHA1_DIGEST_SIZE];
	uint8_t bytes[8];
	const uint8_t *at;

	for (size_t i = 0; i < sizeof bytes; i++)
		bytes[i] = (uint8_t)(counter >> (56 - 8 * i));
	hmac_sha1_set_key(&hmac, len, secret);
	hmac_sha1_update(&hmac, sizeof bytes, bytes);
	hmac_sha1_digest(&hmac, sizeof mac, mac);
	at = mac + (mac[SHA1_DIGEST_SIZE - 1] & 15);
	return (uint32_t)(at[0] & 127) << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3];
}

bool totp_fits(const unsigned char secret[TOTP_SECRET_SIZE], const char *code, int64_t now,
               int64_t *step)
{
	bool fits = false;

	if (strlen(code) != TOTP_DIGITS || now < TOTP_STEP)
		return false;
	for (int64_t at = now / TOTP_STEP - 1; at <= now / TOTP_STEP + 1; at++) {
		char wanted[16];

		snprintf(wanted, sizeof wanted, "%06u",
		         totp_number(secret, TOTP_SECRET_SIZE, (uint64_t)at) % 1000000);
		if (sodium_memcmp(wanted, code, TOTP_DIGITS) == 0) {
			fits = true;
			*step = at;
		}
	}
	return fits;
}

void base32_print(const unsigned char *at, size_t len, char *out)
{
	static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";
	unsigned bits = 0;
	unsigned held = 0; /* bits not written yet */

	for (size_t i = 0; i < len; i++) {
		bits = (bits << 8 | at[i]) & 0xFFFF;
		for (held += 8; held >= 5; held -= 5)
			*out++ = letters[bits >> (held - 5) & 31];
	}
	if (held)
		*out++ = letters[bits << (5 - held) & 31];
	*out = '\0';
}
