/* kits.h - facts and records of all kits, in memory.
 *
 * What a statement says of every kit, and what one kit's pages begin with, is a
 * walk over memory and no query. A kit is held as one immutable block and is
 * replaced as a whole when it has changed, whoever changed it; borrowers keep the
 * block that they got. What has changed is taken up before kits are looked at:
 * nothing while the database's counter of changes stands, else the kits that it
 * names. So the first look reads all kits, every other one a handful.
 *
 * Memory: about the size of the facts as text, twice; the bench prints it.
 */
#ifndef CHAPTER_KITS_H
#define CHAPTER_KITS_H

#include "chapter/work.h"
#include "core/facts.h"
#include "core/record.h"
#include "store/kits.h"

/* One kit of one version. */
struct held_kit {
	struct kit_id id;
	struct member_id owner;
	int64_t version;
	bool named;                   /* stewards may see it by name */
	struct facts facts;           /* as its builder gave them, notices_done too */
	const struct record *records; /* all, in order of entry */
	size_t n_records;
};

struct kits;
struct kits *kits_new(void);       /* owned, empty; NULL: memory ran out */
void kits_free(struct kits *kits); /* all given back; NULL is allowed */

/* The facts that belong to the kit as kit_read has just read it in the same
 * transaction; given back with kits_return. What the store says; ST_NOMEM. */
enum status kits_borrow(const struct work *work, const struct kit *kit,
                        const struct held_kit **out) MUST_CHECK;
void kits_return(const struct held_kit *held);

/* Visits every kit as the database has it now, in order of id. False ends the
 * visit, with ST_OK. It must not write, borrow or visit kits. What the store
 * says; ST_NOMEM. */
typedef bool kits_visit_fn(void *context, const struct held_kit *kit);
enum status kits_visit(const struct work *work, kits_visit_fn *visit, void *context) MUST_CHECK;

/* For measures: kits held, and bytes of them. */
size_t kits_held(struct kits *kits, size_t *bytes);

#endif
