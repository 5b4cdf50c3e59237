/* whom.h - whom of the chapter a statement concerns.
 *
 * Every kit is decided once, in a walk over the facts in memory (kits.h).
 * Whether an earlier notice was done follows from the kit's records, as on its
 * own pages, and not from what its builder listed: `notice N` is true when the
 * records close every line of N, else false. Records are looked at for those
 * kits alone that are not told without.
 */
#ifndef CHAPTER_WHOM_H
#define CHAPTER_WHOM_H

#include "chapter/kits.h"
#include "core/effectivity.h"

/* One kit with what the statement says of it; gone after the visit. False ends
 * the pass. As kits_visit_fn it must not write, borrow or visit kits. */
typedef bool whom_visit_fn(void *context, const struct held_kit *kit, enum truth answer);

/* Visits every kit, those that are not concerned too, in order of making. What
 * the store says; ST_NOMEM. */
enum status whom_each(const struct work *work, const struct effectivity *statement,
                      whom_visit_fn *visit, void *context) MUST_CHECK;

#define WHOM_ANSWERS 3 /* of enum truth */

/* Kits by answer, of enum truth. */
struct whom {
	int64_t counts[WHOM_ANSWERS];
	int64_t named[WHOM_ANSWERS]; /* of these, those whose builders let stewards see them */
};
enum status whom_count(const struct work *work, const struct effectivity *statement,
                       struct whom *out) MUST_CHECK;

/* One kit of a list, for stewards: its builder agreed to it. */
struct whom_kit {
	struct kit_id id;
	struct member_id owner;
	const char *name, *owner_name;
	const char *model, *serial; /* "" when not known */
};
/* One page of the kits with this answer whose builders agreed, in order of making, and
 * the counts of all. Borrowed from work->arena. */
enum status whom_list(const struct work *work, const struct effectivity *statement,
                      enum truth answer, struct page page, const struct whom_kit **out,
                      size_t *count, struct whom *all) MUST_CHECK;

/* Kits that the statement concerns or may concern: it is true of them or cannot be
 * told. In order of id; borrowed from work->arena. */
enum status whom_possible(const struct work *work, const struct effectivity *statement,
                          const struct kit_id **out, size_t *count) MUST_CHECK;

/* Kits like a report's: the possible ones of its statement. Not looked: the latest
 * answer of the kit is no look. Both lists in order of id; cost: a walk over both. */
struct whom_like {
	int64_t like, not_looked;
};
struct whom_like whom_like(const struct kit_id *possible, size_t count, const struct kit_id *looked,
                           size_t n_looked);

#endif
