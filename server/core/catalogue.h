/* catalogue.h - all current notices of the chapter, compiled and cross-linked.
 *
 * Built once from an array of notices, then immutable; it is shared by all
 * threads and replaced as a whole when a notice is published. Holds: notices
 * in order of number; for each, which notice supersedes it, which terminate
 * it, and its place in the order of requirements. Lookups cost O(log n).
 */
#ifndef CORE_CATALOGUE_H
#define CORE_CATALOGUE_H

#include "core/notice.h"

struct catalogue_entry {
	struct notice notice;
	const uint32_t *superseded_by; /* indexes; live (not cancelled) notices only */
	const uint32_t *terminated_by;
	const uint32_t *requires; /* those of the required numbers that are listed */
	uint32_t n_superseded_by, n_terminated_by, n_requires;
	uint32_t rank; /* required notices have a smaller rank than those that need them */
};

struct catalogue {
	const struct catalogue_entry *entries; /* ordered by number */
	size_t count;
	const uint32_t *by_id; /* indexes ordered by notice id */
};

/* Copies the array, borrows what the notices point to; all in the arena.
 * ST_CONFLICT when two share a number; ST_INVALID when requirements run in a
 * circle; ST_NOMEM. */
enum status catalogue_build(struct arena *arena, const struct notice *notices, size_t count,
                            const struct catalogue **out) MUST_CHECK;

/* The same without ranks (all 0), so that it takes circles too: for finding
 * them with catalogue_check_circle. */
enum status catalogue_build_unranked(struct arena *arena, const struct notice *notices,
                                     size_t count, const struct catalogue **out) MUST_CHECK;

/* NULL when not listed. */
const struct catalogue_entry *catalogue_find(const struct catalogue *catalogue,
                                             const struct name *number);
const struct catalogue_entry *catalogue_find_id(const struct catalogue *catalogue,
                                                struct notice_id id);

/* Would links from -> targets close a circle, given the links of all others?
 * ST_OK: no. ST_INVALID: yes, and *circle names the target (or from itself)
 * that leads back; borrowed from targets. ST_NOMEM. */
enum notice_link { LINK_SUPERSEDES, LINK_REQUIRES };
enum status catalogue_check_circle(struct arena *arena, const struct catalogue *catalogue,
                                   enum notice_link link, const struct name *from,
                                   const struct name *targets, size_t count,
                                   const struct name **circle) MUST_CHECK;

#endif
