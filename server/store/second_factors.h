/* second_factors.h - the second factor of those who have one at sign-in.
 *
 * First it waits: its secret is there to be shown, and counts for nothing until a
 * code proves that an authenticator has it. The secret is kept as it is, since codes
 * are computed from it (os/totp.h). Each code is good once: the half minute of the
 * last one used is kept. Recovery codes, of which only hashes are kept, are good
 * once each in place of a code. Turning it on and off is logged (acts.h).
 */
#ifndef STORE_SECOND_FACTORS_H
#define STORE_SECOND_FACTORS_H

#include "store/members.h"

#define SECOND_SECRET_SIZE 20 /* bytes */
#define RECOVERY_CODES 10

struct second_factor {
	unsigned char secret[SECOND_SECRET_SIZE];
	int64_t confirmed_at; /* 0: waits */
	int64_t last_step;
	int64_t codes_left;
};

/* ST_MISSING: the member has none, not even a waiting one. */
enum status second_read(struct store *store, struct member_id member,
                        struct second_factor *out) MUST_CHECK;
/* Begins one that waits, in place of one that waits. ST_CONFLICT: there is one that
 * counts, or no such member. */
enum status second_begin(struct store *store, struct member_id member,
                         const unsigned char secret[SECOND_SECRET_SIZE], int64_t now) MUST_CHECK;
/* From now on it counts. Sessions begun without it end, but for `keep`.
 * ST_MISSING: there is none that waits. */
enum status second_confirm(struct store *store, struct member_id member, int64_t step,
                           const struct hash codes[RECOVERY_CODES], struct session_id keep,
                           int64_t now) MUST_CHECK;
/* A code of that half minute is used. ST_MISSING: one of it or of a later one was
 * used before, or there is none that counts. */
enum status second_use_step(struct store *store, struct member_id member, int64_t step) MUST_CHECK;
/* ST_MISSING: no such recovery code, or it was used. */
enum status second_use_code(struct store *store, struct member_id member,
                            const struct hash *code) MUST_CHECK;
/* New recovery codes in place of the old. ST_MISSING: there is none that counts. */
enum status second_codes_anew(struct store *store, struct member_id member,
                              const struct hash codes[RECOVERY_CODES]) MUST_CHECK;
/* One that waits, too. ST_MISSING. */
enum status second_end(struct store *store, struct member_id member) MUST_CHECK;

#endif
