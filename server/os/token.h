/* token.h - secrets handed to one holder: sessions, invites, API tokens.
 *
 * A token is 32 random bytes written as base64url without padding (RFC 4648
 * section 5): 43 characters. The database keeps only its digest, so that a
 * stolen database opens no door.
 */
#ifndef OS_TOKEN_H
#define OS_TOKEN_H

#include <stdbool.h>

#include "os/digest.h"

#define TOKEN_BYTES 32
#define TOKEN_LENGTH 43
#define TOKEN_SIZE (TOKEN_LENGTH + 1)

/* A new token, ended with NUL. */
void token_make(char out[TOKEN_SIZE]);

/* Writes 32 given bytes as a token does. */
void token_print(const unsigned char bytes[TOKEN_BYTES], char out[TOKEN_SIZE]);

/* Has the text the form of a token? Asked before any look into the database. */
bool token_well_formed(const char *text);

/* What the database keeps. */
struct digest token_digest(const char *text);

#endif
