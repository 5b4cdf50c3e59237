/* totp.h - codes of authenticator programs: RFC 6238 over HMAC-SHA-1, six digits, a
 * step of 30 seconds, as all of them can.
 */
#ifndef OS_TOTP_H
#define OS_TOTP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define TOTP_SECRET_SIZE 20 /* bytes: as long as the hash (RFC 4226 section 4) */
#define TOTP_DIGITS 6
#define TOTP_STEP 30 /* seconds */
#define BASE32_SIZE(bytes) (((bytes) + 4) / 5 * 8 + 1)

/* The number that a counter gives, below 2^31; a code is its last digits (RFC 4226
 * section 5.3). */
uint32_t totp_number(const void *secret, size_t len, uint64_t counter);

/* Is the text the code of this half minute, of the one before or of the next (clocks
 * differ)? *step: of which; the latest, should two have the same. */
bool totp_fits(const unsigned char secret[TOTP_SECRET_SIZE], const char *code, int64_t now,
               int64_t *step);

/* RFC 4648 section 6 without padding, ended with NUL, into BASE32_SIZE(len) bytes. */
void base32_print(const unsigned char *at, size_t len, char *out);

#endif
