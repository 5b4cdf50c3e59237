/* kits.h - builders' kits: facts, marks of reading. Records are in records.h.
 *
 * A kit's version goes up with each change of its facts, records, name or
 * marks of reading: pages of a kit are fresh as long as it is the same.
 */
#ifndef STORE_KITS_H
#define STORE_KITS_H

#include "core/facts.h"
#include "core/notice.h"
#include "store/bounds.h"
#include "store/lines.h"
#include "store/members.h"

#define KIT_NAME_LONGEST 80 /* characters */

struct kit_id {
	int64_t v; /* 0: none */
};

struct kit {
	struct kit_id id;
	struct member_id owner;
	const char *owner_name;
	const char *name;
	int64_t version;
	int64_t made_at;
	int64_t records;     /* how many */
	bool counted_in;     /* in the chapter's shopping list */
	bool shown;          /* other members may see how far it is (under_way.h) */
	bool named;          /* stewards see it by name where a notice concerns it */
	struct line_id line; /* build line of its model; v 0: there is none */
	int64_t line_version;
};

/* ST_CONFLICT: no such member, or the name is empty or too long. */
enum status kit_add(struct store *store, struct member_id owner, const char *name, int64_t now,
                    struct kit_id *out) MUST_CHECK;
/* ST_MISSING for all that read or change one kit. */
enum status kit_read(struct store *store, struct arena *arena, struct kit_id id,
                     struct kit *out) MUST_CHECK;
enum status kit_owner(struct store *store, struct kit_id id, struct member_id *out) MUST_CHECK;
enum status kit_facts(struct store *store, struct arena *arena, struct kit_id id,
                      struct facts *out) MUST_CHECK;
/* Replaces all facts but hours and landings, which follow from the log
 * (kit_log.h); dates of steps that are not done are left out. Lists may name a
 * thing once only (ST_CONFLICT); parts may repeat. ST_LIMIT: a list is longer
 * than KIT_LIST_LONGEST. */
enum status kit_set_facts(struct store *store, struct kit_id id,
                          const struct facts *facts) MUST_CHECK;
enum status kit_rename(struct store *store, struct kit_id id, const char *name) MUST_CHECK;
/* Findings on it stay, with its facts as they were then (reports.h). */
enum status kit_remove(struct store *store, struct kit_id id) MUST_CHECK;
enum status kit_set_shown(struct store *store, struct kit_id id, bool shown) MUST_CHECK;
enum status kit_set_named(struct store *store, struct kit_id id, bool named) MUST_CHECK;
/* One member's, in order of making. */
enum status kit_list(struct store *store, struct arena *arena, struct member_id owner,
                     const struct kit **out, size_t *count) MUST_CHECK;
enum status kit_count(struct store *store, int64_t *out) MUST_CHECK;

/* Visits every kit with its facts, in order of making; both are gone after
 * the visit, and what the visit put into the arena with them. Stops early,
 * with ST_OK, when it returns false. It must neither
 * change the store nor read facts of kits with this connection. */
typedef bool kit_visit_fn(void *context, const struct kit *kit, const struct facts *facts,
                          struct arena *arena);
enum status kits_each(struct store *store, kit_visit_fn *visit, void *context) MUST_CHECK;

/* Lists of facts, and hours with landings, that cost a look of their own. */
enum {
	KIT_OPTIONS = 1 << 0,
	KIT_SUBKITS = 1 << 1,
	KIT_PARTS = 1 << 2,
	KIT_NOTICES = 1 << 3, /* as the builder stated them; records apart */
	KIT_STEPS = 1 << 4,
	KIT_STEP_DATES = 1 << 5,
	KIT_STEP_PLANS = 1 << 6,
	KIT_USE = 1 << 7
};
#define KIT_EVERYTHING 0xFFU
#define KIT_STEPS_NAMED 8

/* What is to be read of kits besides their single facts. Up to KIT_STEPS_NAMED
 * steps may be named: then of the steps built only these are read, by their
 * folded names. What is not read looks as if nothing were listed. */
struct kit_lists {
	unsigned which;
	const struct name *steps;
	size_t n_steps; /* 0: every step, if KIT_STEPS is in which; more than are named: likewise */
	/* Asked before each visit, with the single facts: are the lists of this kit
	 * wanted? NULL: those of every kit are. Gets the context of the visit. */
	bool (*wanted)(void *context, const struct facts *single);
};

/* As kits_each, for a question that looks at a few facts only. */
enum status kits_each_with(struct store *store, const struct kit_lists *lists, kit_visit_fn *visit,
                           void *context) MUST_CHECK;

/* Goes up whenever a kit is made, changed or removed: what is counted over all
 * kits stays true as long as it is the same. */
enum status kits_generation(struct store *store, int64_t *out) MUST_CHECK;

/* Kits made, changed or removed since that generation, in order of id. */
enum status kits_changed(struct store *store, struct arena *arena, int64_t since,
                         const struct kit_id **out, size_t *count) MUST_CHECK;

/* Every kit as it stands, in order of id, for who keeps something for each. */
struct kit_at {
	struct kit_id id;
	int64_t version;
	bool counted_in;
};
enum status kits_at(struct store *store, struct arena *arena, const struct kit_at **out,
                    size_t *count) MUST_CHECK;

/* Steps built, one way to change them without the other facts. A step that is
 * marked already keeps its date unless there is a new one. ST_MISSING: no such
 * kit; ST_LIMIT: the list would grow longer than KIT_LIST_LONGEST. */
enum status kit_mark_steps(struct store *store, struct kit_id id, const struct name *steps,
                           size_t count, const struct date_fact *done) MUST_CHECK;
enum status kit_unmark_steps(struct store *store, struct kit_id id, const struct name *steps,
                             size_t count) MUST_CHECK;
/* Are these all the steps that are built? */
enum status kit_set_steps_known(struct store *store, struct kit_id id, bool known) MUST_CHECK;

/* Marks of reading: the builder has read this revision of the notice. */
struct reading {
	struct notice_id notice;
	struct revision_id revision;
	int64_t read_at;
};

/* A later mark replaces an earlier one. ST_CONFLICT: no such kit or notice. */
enum status reading_mark(struct store *store, struct kit_id kit, struct notice_id notice,
                         struct revision_id revision, int64_t now) MUST_CHECK;
/* ST_MISSING: there was no mark. */
enum status reading_unmark(struct store *store, struct kit_id kit,
                           struct notice_id notice) MUST_CHECK;
/* In order of notice id. */
enum status reading_list(struct store *store, struct arena *arena, struct kit_id kit,
                         const struct reading **out, size_t *count) MUST_CHECK;

#endif
