/* Builds the links between notices: one pass counts them, one fills them. */
#include "core/catalogue.h"

#include <stdlib.h>

/* The lists of numbers that notices name each other by. */
struct links {
	const struct name *names;
	size_t count;
};

static struct links links_of(const struct notice *notice, enum notice_link link)
{
	if (link == LINK_SUPERSEDES)
		return (struct links){notice->supersedes, notice->n_supersedes};
	return (struct links){notice->requires, notice->n_requires};
}

static int by_number(const void *a, const void *b)
{
	const struct catalogue_entry *x = a, *y = b;

	return name_compare(&x->notice.number, &y->notice.number);
}

/* First entry whose number is not before `number`. */
static size_t lower_bound(const struct catalogue *catalogue, const struct name *number)
{
	size_t low = 0, high = catalogue->count;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (name_compare(&catalogue->entries[middle].notice.number, number) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

const struct catalogue_entry *catalogue_find(const struct catalogue *catalogue,
                                             const struct name *number)
{
	size_t at = lower_bound(catalogue, number);

	if (at == catalogue->count || !name_equal(&catalogue->entries[at].notice.number, number))
		return NULL;
	return &catalogue->entries[at];
}

const struct catalogue_entry *catalogue_find_id(const struct catalogue *catalogue,
                                                struct notice_id id)
{
	size_t low = 0, high = catalogue->count;

	while (low < high) {
		size_t middle = low + (high - low) / 2;
		const struct catalogue_entry *entry = &catalogue->entries[catalogue->by_id[middle]];

		if (entry->notice.id.v == id.v)
			return entry;
		if (entry->notice.id.v < id.v)
			low = middle + 1;
		else
			high = middle;
	}
	return NULL;
}

/* ---- back links: which notices name this one ---- */

struct back_links {
	uint32_t **lists; /* one for each entry */
	uint32_t *counts;
};

typedef struct links links_fn(const struct notice *notice);

static struct links superseded(const struct notice *notice)
{
	return links_of(notice, LINK_SUPERSEDES);
}

static struct links terminated(const struct notice *notice)
{
	return (struct links){notice->terminates, notice->n_terminates};
}

static void count_or_fill(const struct catalogue *catalogue, links_fn *links_from,
                          struct back_links *back, bool fill)
{
	for (uint32_t i = 0; i < catalogue->count; i++) {
		const struct notice *notice = &catalogue->entries[i].notice;
		struct links links = links_from(notice);

		for (size_t k = 0; k < links.count && !notice->cancelled; k++) {
			const struct catalogue_entry *to =
			        catalogue_find(catalogue, &links.names[k]);
			size_t target;

			if (!to)
				continue;
			target = (size_t)(to - catalogue->entries);
			if (fill)
				back->lists[target][back->counts[target]] = i;
			back->counts[target]++;
		}
	}
}

static enum status make_back_links(struct arena *arena, const struct catalogue *catalogue,
                                   links_fn *links_from, struct back_links *back)
{
	back->lists = ARENA_ARRAY(arena, uint32_t *, catalogue->count);
	back->counts = ARENA_ARRAY(arena, uint32_t, catalogue->count);
	if (!back->lists || !back->counts)
		return ST_NOMEM;
	count_or_fill(catalogue, links_from, back, false);
	for (size_t i = 0; i < catalogue->count; i++) {
		back->lists[i] =
		        back->counts[i] ? ARENA_ARRAY(arena, uint32_t, back->counts[i]) : NULL;
		if (back->counts[i] && !back->lists[i])
			return ST_NOMEM;
		back->counts[i] = 0;
	}
	count_or_fill(catalogue, links_from, back, true);
	return ST_OK;
}

static enum status link_back(struct arena *arena, const struct catalogue *catalogue,
                             struct catalogue_entry *entries)
{
	struct back_links over, ends;
	enum status status = make_back_links(arena, catalogue, superseded, &over);

	if (status == ST_OK)
		status = make_back_links(arena, catalogue, terminated, &ends);
	for (size_t i = 0; status == ST_OK && i < catalogue->count; i++) {
		entries[i].superseded_by = over.lists[i];
		entries[i].n_superseded_by = over.counts[i];
		entries[i].terminated_by = ends.lists[i];
		entries[i].n_terminated_by = ends.counts[i];
	}
	return status;
}

/* ---- order of requirements ---- */

static enum status link_requirements(struct arena *arena, const struct catalogue *catalogue,
                                     struct catalogue_entry *entry)
{
	uint32_t *list;

	if (entry->notice.n_requires == 0)
		return ST_OK;
	list = ARENA_ARRAY(arena, uint32_t, entry->notice.n_requires);
	if (!list)
		return ST_NOMEM;
	for (size_t k = 0; k < entry->notice.n_requires; k++) {
		const struct catalogue_entry *to =
		        catalogue_find(catalogue, &entry->notice.requires[k]);

		if (to)
			list[entry->n_requires++] = (uint32_t)(to - catalogue->entries);
	}
	entry->requires = list;
	return ST_OK;
}

/* Ranks grow until every notice lies behind all that it requires. Chains are
 * short, so a few rounds do; more rounds than notices mean a circle. */
static enum status rank_entries(struct catalogue_entry *entries, size_t count)
{
	bool changed = true;

	for (size_t round = 0; changed && round <= count; round++) {
		changed = false;
		for (size_t i = 0; i < count; i++)
			for (uint32_t k = 0; k < entries[i].n_requires; k++) {
				uint32_t needed = entries[entries[i].requires[k]].rank + 1;

				if (entries[i].rank < needed) {
					entries[i].rank = needed;
					changed = true;
				}
			}
	}
	return changed ? ST_INVALID : ST_OK;
}

static int by_notice_id(const void *a, const void *b, void *context)
{
	const struct catalogue_entry *entries = context;
	int64_t x = entries[*(const uint32_t *)a].notice.id.v;
	int64_t y = entries[*(const uint32_t *)b].notice.id.v;

	return (x > y) - (x < y);
}

static enum status index_ids(struct arena *arena, struct catalogue *catalogue,
                             struct catalogue_entry *entries)
{
	uint32_t *ids = ARENA_ARRAY(arena, uint32_t, catalogue->count);

	if (!ids)
		return ST_NOMEM;
	for (uint32_t i = 0; i < catalogue->count; i++)
		ids[i] = i;
	qsort_r(ids, catalogue->count, sizeof *ids, by_notice_id, entries);
	catalogue->by_id = ids;
	return ST_OK;
}

static bool has_duplicates(const struct catalogue *catalogue)
{
	for (size_t i = 1; i < catalogue->count; i++)
		if (name_equal(&catalogue->entries[i - 1].notice.number,
		               &catalogue->entries[i].notice.number))
			return true;
	return false;
}

/* Everything but the ranks; *entries stays writable for them. */
static enum status build_links(struct arena *arena, const struct notice *notices, size_t count,
                               struct catalogue **out, struct catalogue_entry **entries)
{
	struct catalogue *catalogue = ARENA_NEW(arena, struct catalogue);
	enum status status;

	*entries = ARENA_ARRAY(arena, struct catalogue_entry, count);
	if (!catalogue || !*entries)
		return ST_NOMEM;
	for (size_t i = 0; i < count; i++)
		(*entries)[i].notice = notices[i];
	qsort(*entries, count, sizeof **entries, by_number);
	catalogue->entries = *entries;
	catalogue->count = count;
	*out = catalogue;
	if (has_duplicates(catalogue))
		return ST_CONFLICT;
	status = index_ids(arena, catalogue, *entries);
	if (status == ST_OK)
		status = link_back(arena, catalogue, *entries);
	for (size_t i = 0; status == ST_OK && i < count; i++)
		status = link_requirements(arena, catalogue, &(*entries)[i]);
	return status;
}

enum status catalogue_build_unranked(struct arena *arena, const struct notice *notices,
                                     size_t count, const struct catalogue **out)
{
	struct catalogue *catalogue;
	struct catalogue_entry *entries;
	enum status status = build_links(arena, notices, count, &catalogue, &entries);

	if (status == ST_OK)
		*out = catalogue;
	return status;
}

enum status catalogue_build(struct arena *arena, const struct notice *notices, size_t count,
                            const struct catalogue **out)
{
	struct catalogue *catalogue;
	struct catalogue_entry *entries;
	enum status status = build_links(arena, notices, count, &catalogue, &entries);

	if (status == ST_OK)
		status = rank_entries(entries, count);
	if (status == ST_OK)
		*out = catalogue;
	return status;
}

/* ---- circles ---- */

struct search {
	const struct catalogue *catalogue;
	enum notice_link link;
	const struct name *from;
	bool *seen;
	uint32_t *queue;
	size_t queued;
};

/* Queues the targets not seen yet; true when one of them is where we began. */
static bool reach(struct search *search, const struct name *targets, size_t count)
{
	for (size_t k = 0; k < count; k++) {
		const struct catalogue_entry *entry =
		        catalogue_find(search->catalogue, &targets[k]);
		uint32_t at;

		if (name_equal(&targets[k], search->from))
			return true;
		if (!entry)
			continue;
		at = (uint32_t)(entry - search->catalogue->entries);
		if (!search->seen[at]) {
			search->seen[at] = true;
			search->queue[search->queued++] = at;
		}
	}
	return false;
}

static bool leads_back(struct search *search, const struct name *target)
{
	bool back = reach(search, target, 1);

	for (size_t i = 0; !back && i < search->queued; i++) {
		const struct notice *notice = &search->catalogue->entries[search->queue[i]].notice;
		struct links links = links_of(notice, search->link);

		back = reach(search, links.names, links.count);
	}
	return back;
}

enum status catalogue_check_circle(struct arena *arena, const struct catalogue *catalogue,
                                   enum notice_link link, const struct name *from,
                                   const struct name *targets, size_t count,
                                   const struct name **circle)
{
	struct search search = {.catalogue = catalogue, .link = link, .from = from};

	search.seen = ARENA_ARRAY(arena, bool, catalogue->count);
	search.queue = ARENA_ARRAY(arena, uint32_t, catalogue->count);
	if (!search.seen || !search.queue)
		return ST_NOMEM;
	for (size_t k = 0; k < count; k++)
		if (leads_back(&search, &targets[k])) {
			*circle = &targets[k];
			return ST_INVALID;
		}
	return ST_OK;
}
