/* addresses.h - from which addresses a login has signed in.
 *
 * Wrong passwords from elsewhere must not keep an owner out: whoever comes from an
 * address of this list is counted apart (web/account/credentials.h). Kept as keyed hashes,
 * the latest ADDRESSES_MOST of each login, each for ADDRESS_KNOWN_FOR seconds.
 */
#ifndef STORE_ADDRESSES_H
#define STORE_ADDRESSES_H

#include "store/bounds.h"
#include "store/members.h"

#define ADDRESS_KNOWN_FOR (180 * INT64_C(86400))

/* false for a login that nobody has. */
enum status address_known(struct store *store, const char *login, const char *address, int64_t now,
                          bool *out) MUST_CHECK;
/* Notes a sign-in from there. ST_CONFLICT: no such member. */
enum status address_note(struct store *store, struct member_id member, const char *address,
                         int64_t now) MUST_CHECK;
enum status addresses_forget(struct store *store, struct member_id member) MUST_CHECK;
enum status addresses_sweep(struct store *store, int64_t now) MUST_CHECK;

#endif
