#include "os/token.h"

#include <sodium.h>
#include <string.h>

#include "os/random.h"

#define FORM sodium_base64_VARIANT_URLSAFE_NO_PADDING

void token_make(char out[TOKEN_SIZE])
{
	unsigned char bytes[TOKEN_BYTES];

	random_bytes(bytes, sizeof bytes);
	token_print(bytes, out);
	sodium_memzero(bytes, sizeof bytes);
}

void token_print(const unsigned char bytes[TOKEN_BYTES], char out[TOKEN_SIZE])
{
	sodium_bin2base64(out, TOKEN_SIZE, bytes, TOKEN_BYTES, FORM);
}

bool token_well_formed(const char *text)
{
	static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
	                              "0123456789-_";

	return strspn(text, letters) == TOKEN_LENGTH && text[TOKEN_LENGTH] == '\0';
}

struct digest token_digest(const char *text)
{
	return digest_of(text, strlen(text));
}
