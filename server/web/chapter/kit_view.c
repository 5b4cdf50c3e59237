#include "web/chapter/kit_view.h"

#include <assert.h>
#include <pthread.h>
#include <stddef.h>
#include <stdlib.h>

#include "base/mem.h"
#include "store/parts.h"
#include "web/http/app_parts.h"
#include "web/chapter/kit_plan.h"

#define CACHE_KITS 64
#define CACHE_BYTES ((size_t)32 * 1024 * 1024)

/* ---- deciding ---- */

enum kit_pile kit_pile_of(const struct standing *standing)
{
	static const enum kit_pile piles[STANDING_KINDS] = {
	        [STANDING_NOT_EFFECTIVE] = PILE_NOT_EFFECTIVE,
	        [STANDING_ASK] = PILE_ASK,
	        [STANDING_REPLACED] = PILE_REPLACED,
	        [STANDING_IN_THE_PLANS] = PILE_IN_THE_PLANS,
	        [STANDING_CONFORMS] = PILE_CONFORMS,
	        [STANDING_DONE] = PILE_DONE,
	        [STANDING_REPEATING] = PILE_REPEATING,
	        [STANDING_OPEN] = PILE_LEFT,
	};

	return standing_is_left(standing) ? PILE_LEFT : piles[standing->kind];
}

struct standing kit_view_standing(const struct kit_view *view, const struct catalogue_entry *entry)
{
	return standing_decide(view->catalogue, entry, &view->state, view->today);
}

static int by_weight(const void *a, const void *b, void *context)
{
	const struct kit_view *view = context;
	uint32_t i = *(const uint32_t *)a, k = *(const uint32_t *)b;
	const struct catalogue_entry *x = &view->catalogue->entries[i];
	const struct catalogue_entry *y = &view->catalogue->entries[k];

	if (x->notice.force != y->notice.force)
		return x->notice.force < y->notice.force ? -1 : 1;
	if (x->rank != y->rank)
		return x->rank < y->rank ? -1 : 1;
	if (x->notice.issued.first != y->notice.issued.first)
		return x->notice.issued.first < y->notice.issued.first ? -1 : 1;
	return (i > k) - (i < k); /* entries are in order of number */
}

/* One list for all piles: counted, laid end to end, filled, sorted. */
static enum status pile_up(struct arena *arena, struct kit_view *view)
{
	size_t count = view->catalogue->count;
	uint8_t *piles = ARENA_ARRAY(arena, uint8_t, count);
	uint32_t *list = ARENA_ARRAY(arena, uint32_t, count);
	uint32_t *at[KIT_PILES];

	if (!piles || !list)
		return ST_NOMEM;
	for (size_t i = 0; i < count; i++) {
		struct standing standing = kit_view_standing(view, &view->catalogue->entries[i]);

		piles[i] = (uint8_t)kit_pile_of(&standing);
		view->piled[piles[i]]++;
	}
	for (unsigned pile = 0; pile < KIT_PILES; pile++) {
		view->pile[pile] = at[pile] = list;
		list += view->piled[pile];
	}
	for (uint32_t i = 0; i < count; i++)
		*at[piles[i]]++ = i;
	for (unsigned pile = 0; pile < KIT_PILES; pile++)
		qsort_r(at[pile] - view->piled[pile], view->piled[pile], sizeof **at, by_weight,
		        view);
	return ST_OK;
}

static enum status decide_parts(struct arena *arena, struct kit_view *view)
{
	enum status status = wanted_list(arena, view->parts, view->catalogue, view->pile[PILE_LEFT],
	                                 view->piled[PILE_LEFT], &view->state, view->stock,
	                                 view->n_stock, &view->wanted, &view->n_wanted);

	if (status == ST_OK)
		status = taken_asks(arena, view->parts, view->catalogue, &view->state, view->stock,
		                    view->n_stock, &view->asks, &view->n_asks);
	return status;
}

const struct wanted *kit_view_wanted(const struct kit_view *view,
                                     const struct catalogue_entry *entry, size_t *count)
{
	size_t first = 0, last;

	while (first < view->n_wanted && view->wanted[first].entry != entry)
		first++;
	for (last = first; last < view->n_wanted && view->wanted[last].entry == entry;)
		last++;
	*count = last - first;
	return view->wanted + first;
}

static enum status decide(struct arena *arena, struct kit_view *view)
{
	enum status status = kit_state_make(arena, &view->facts, view->records, view->n_records,
	                                    &view->use, &view->state);

	if (status == ST_OK)
		status = standing_fill_done(arena, view->catalogue, &view->state, &view->facts);
	if (status == ST_OK)
		status = pile_up(arena, view);
	if (status == ST_OK)
		status = decide_parts(arena, view);
	if (status == ST_OK)
		status = questions_rank(arena, view->catalogue, &view->facts, &view->questions,
		                        &view->n_questions);
	return status;
}

/* out stays where it is: its state points to its facts. */
static enum status load_all(struct store *store, struct arena *arena, struct kit_id id,
                            struct kit_view *out)
{
	enum status status = kit_read(store, arena, id, &out->kit);

	if (status == ST_OK)
		status = kit_facts(store, arena, id, &out->facts);
	if (status == ST_OK)
		status = kit_log_use(store, arena, id, &out->use);
	if (status == ST_OK)
		status = record_list(store, arena, id, &out->records, &out->n_records);
	if (status == ST_OK)
		status = reading_list(store, arena, id, &out->readings, &out->n_readings);
	if (status == ST_OK)
		status = kit_stock_list(store, arena, id, &out->stock, &out->n_stock);
	if (status == ST_OK)
		status = decide(arena, out);
	return status == ST_OK ? kit_plan_load(store, arena, out) : status;
}

/* All of one state, whoever writes meanwhile. */
enum status kit_view_load(struct store *store, struct arena *arena,
                          const struct catalogue *catalogue, const struct parts_book *parts,
                          struct kit_id id, day_number today, struct kit_view *out)
{
	enum status status = store_begin_reading(store);

	if (status != ST_OK)
		return status;
	*out = (struct kit_view){.catalogue = catalogue, .parts = parts, .today = today};
	return store_end_reading(store, load_all(store, arena, id, out));
}

/* ---- reading ---- */

static int by_notice(const void *key, const void *at)
{
	int64_t id = ((const struct notice_id *)key)->v;
	int64_t other = ((const struct reading *)at)->notice.v;

	return (id > other) - (id < other);
}

enum kit_reading kit_view_reading(const struct kit_view *view, const struct notice *notice)
{
	const struct reading *reading = NULL;

	if (view->n_readings)
		reading = bsearch(&notice->id, view->readings, view->n_readings, sizeof *reading,
		                  by_notice);
	if (!reading)
		return READING_NOT;
	return reading->revision.v == notice->revision_id.v ? READING_DONE : READING_REVISED;
}

/* ---- the cache ---- */

#define PARTS_MOST 4

struct kept_part {
	kit_part_fn *make;
	json_t *part;
};

struct held_kit {
	struct counted kept; /* by the kit's id; first, so that the cache's pointer leads here */
	struct kit_view view;
	int64_t generation;
	pthread_mutex_t lock; /* guards parts */
	struct kept_part parts[PARTS_MOST];
	struct kept_page *page; /* at most some 60 kB, not counted in bytes */
};

static struct held_kit *held_in(struct counted *kept)
{
	return (struct held_kit *)kept;
}

static void free_held(struct counted *kept)
{
	struct held_kit *held = held_in(kept);

	for (unsigned i = 0; i < PARTS_MOST; i++)
		json_decref(held->parts[i].part);
	kept_page_free(held->page);
	pthread_mutex_destroy(&held->lock);
	arena_free(kept->arena);
	mem_free(held);
}

struct counted_cache *kit_cache_new(void)
{
	return counted_cache_new((struct counted_limits){CACHE_KITS, CACHE_BYTES, CACHE_BYTES / 4},
	                         free_held);
}

static bool same_versions(const struct kit *a, const struct kit *b)
{
	return a->version == b->version && a->line.v == b->line.v &&
	       a->line_version == b->line_version;
}

/* What a view must be of to be fresh. */
struct wanted_kit {
	const struct context *c;
	const struct kit *kit;
};

static bool fits(const struct counted *kept, const void *wanted)
{
	const struct held_kit *held = (const struct held_kit *)kept;
	const struct wanted_kit *want = wanted;
	const struct context *c = want->c;

	return same_versions(&held->view.kit, want->kit) && held->generation == c->generation &&
	       held->view.catalogue == c->catalogue && held->view.today == c->today;
}

static enum status load(struct context *c, struct kit_id id, struct held_kit **out)
{
	struct held_kit *held = mem_zero(sizeof *held);
	enum status status = ST_NOMEM;

	if (!held)
		return ST_NOMEM;
	pthread_mutex_init(&held->lock, NULL);
	held->generation = c->generation;
	held->kept = (struct counted){.id = id.v, .arena = arena_new(), .borrowers = 1};
	held->page = kept_page_new();
	if (held->kept.arena && held->page)
		status = kit_view_load(c->store, held->kept.arena, c->catalogue, c->parts, id,
		                       c->today, &held->view);
	if (status == ST_OK)
		*out = held;
	else
		free_held(&held->kept);
	return status;
}

enum status kit_with_view(struct context *c, struct kit_id id, kit_use_fn *use, void *context)
{
	struct counted_cache *cache = c->app->kits;
	struct held_kit *held;
	struct kit kit;
	struct wanted_kit wanted = {c, &kit};
	enum status status = kit_read(c->store, c->arena, id, &kit);

	if (status != ST_OK)
		return status;
	held = held_in(counted_borrow(cache, id.v, fits, &wanted));
	if (!held) {
		status = load(c, id, &held);
		if (status != ST_OK)
			return status;
		counted_keep(cache, &held->kept);
	}
	status = use(c, &held->view, context);
	counted_give_back(cache, &held->kept);
	return status;
}

static enum status call_page(struct context *c, const struct kit_view *view, void *page)
{
	return (*(kit_page_fn *const *)page)(c, view);
}

enum status kit_page(struct context *c, kit_page_fn *page)
{
	return kit_with_view(c, (struct kit_id){context_id(c, "kit")}, call_page, &page);
}

/* ---- kept parts ---- */

static struct held_kit *held_of(const struct kit_view *view)
{
	return (struct held_kit *)(void *)((uintptr_t)view - offsetof(struct held_kit, view));
}

struct kept_page *kit_view_page(const struct kit_view *view)
{
	return held_of(view)->page;
}

json_t *kit_view_keep(const struct kit_view *view, kit_part_fn *make)
{
	struct held_kit *held = held_of(view);
	json_t *part = NULL;

	pthread_mutex_lock(&held->lock);
	for (unsigned i = 0; i < PARTS_MOST; i++) {
		struct kept_part *kept = &held->parts[i];

		if (!kept->part)
			*kept = (struct kept_part){make, make(view)};
		if (kept->make == make) {
			part = json_incref(kept->part);
			break;
		}
	}
	assert(part || !held->parts[PARTS_MOST - 1].part);
	pthread_mutex_unlock(&held->lock);
	return part;
}
