/* parts.h - packing lists, numbers that took the place of others, stock that is
 * cut; and what a builder counted, got, used or lost, and wants to cut.
 *
 * The book of parts is the chapter's and hangs on the generation of the
 * notices (settings.h): each change of it raises that, so that whoever keeps
 * the catalogue takes both anew. A kit's own entries raise its version.
 */
#ifndef STORE_PARTS_H
#define STORE_PARTS_H

#include "core/holdings.h"
#include "store/bounds.h"
#include "store/kits.h"

#define PARTS_LISTS_MOST 1000    /* packing lists, changes, stock codes in one file: each */
#define PARTS_IN_LIST_MOST 5000  /* parts in one packing list */
#define PARTS_REMARK_LONGEST 500 /* characters */
#define PARTS_TITLE_LONGEST 200  /* characters */

/* The whole book, built. */
enum status parts_load(struct store *store, struct arena *arena,
                       const struct parts_book **out) MUST_CHECK;

/* Adds what the source holds; what is there by the same name, old number or
 * code is replaced. ST_CONFLICT: two lists overlap, a name stands twice in the
 * source, numbers run in a circle; nothing is changed then. */
enum status parts_import(struct store *store, const struct parts_source *source) MUST_CHECK;

enum parts_kind { PARTS_LIST, PARTS_CHANGE, PARTS_STOCK };
/* By name, old number, code. ST_MISSING. */
enum status parts_remove(struct store *store, enum parts_kind kind, const char *name) MUST_CHECK;

/* A kit's own entries, oldest first. */
enum status kit_stock_list(struct store *store, struct arena *arena, struct kit_id kit,
                           const struct stock_entry **out, size_t *count) MUST_CHECK;
/* ST_MISSING: no such kit; ST_CONFLICT: no such record of this kit, or a limit
 * is broken; ST_LIMIT: too many. */
enum status kit_stock_add(struct store *store, struct kit_id kit, const struct stock_entry *entry,
                          int64_t now) MUST_CHECK;
/* Takes an entry back. ST_MISSING: no such entry of this kit. */
enum status kit_stock_remove(struct store *store, struct kit_id kit, int64_t entry) MUST_CHECK;

enum length_use { LENGTH_WANTED, LENGTH_ON_HAND };

struct kit_length {
	int64_t id;
	enum length_use use;
	struct name stock;
	const char *cut; /* list of lengths, as core/length.h reads it */
	const char *remark;
};

/* In order of entry. */
enum status kit_length_list(struct store *store, struct arena *arena, struct kit_id kit,
                            const struct kit_length **out, size_t *count) MUST_CHECK;
/* ST_MISSING, ST_CONFLICT and ST_LIMIT as for stock. */
enum status kit_length_add(struct store *store, struct kit_id kit,
                           const struct kit_length *length) MUST_CHECK;
enum status kit_length_remove(struct store *store, struct kit_id kit, int64_t id) MUST_CHECK;

/* Does the kit count in the chapter's shopping list? ST_MISSING. */
enum status kit_set_counted_in(struct store *store, struct kit_id kit, bool on) MUST_CHECK;

#endif
