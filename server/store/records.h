/* records.h - records of work, append only, each chained to the one before.
 *
 * Of every record the store keeps BLAKE2b-256 over the hash of the kit's
 * record before (zeros for the first) and record_canonical(). The kit keeps
 * how many there are and the last hash, so that a record changed, taken out
 * or cut off at the end can be shown. Triggers refuse every change; a kit's
 * records go only with the kit.
 */
#ifndef STORE_RECORDS_H
#define STORE_RECORDS_H

#include "core/record.h"
#include "store/kits.h"

/* record->id is not used; entered_at is the caller's now. ST_MISSING: no such
 * kit, or `corrects` is no record of this kit; ST_CONFLICT: that record is
 * corrected already, or a field is too long. */
enum status record_append(struct store *store, struct kit_id kit, const struct record *record,
                          struct record_id *out) MUST_CHECK;
/* All of one kit in order of entry; none for a kit that does not exist. */
enum status record_list(struct store *store, struct arena *arena, struct kit_id kit,
                        const struct record **out, size_t *count) MUST_CHECK;

enum chain_fault_kind {
	CHAIN_CHANGED, /* the record or its hash is not what was entered */
	CHAIN_MISSING, /* a record is not there any more */
	CHAIN_CUT      /* records are gone at the end, or stand there that were never entered */
};

struct chain_fault {
	enum chain_fault_kind kind;
	struct kit_id kit;
	struct record_id record; /* the first that does not fit; 0 for CHAIN_CUT at the very end */
	int64_t place;           /* n-th of its kit, from 1 */
};

/* Recomputes the chain of one kit (ST_MISSING when there is no such kit), or
 * of all with kit.v 0, and fills in how many records fitted. ST_INVALID: does
 * not fit; *fault says where first. */
enum status record_verify(struct store *store, struct kit_id kit, int64_t *checked,
                          struct chain_fault *fault) MUST_CHECK;

#endif
