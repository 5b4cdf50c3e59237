#include "chapter/chapter_list.h"

#include <pthread.h>
#include <string.h>

#include "base/mem.h"
#include "chapter/catalogue_holder.h"
#include "chapter/chapter.h"
#include "chapter/rounds.h"
#include "core/contribution.h"
#include "store/kit_log.h"
#include "store/kits.h"
#include "store/parts.h"
#include "store/records.h"
#include "store/store.h"

#define KITS_A_PIECE 32
/* What kits add is kept up to so many bytes. Kits beyond that are decided each time:
 * that costs work in the background, never more memory. */
#define KEPT_MOST ((size_t)48 * 1024 * 1024)

/* What a list is of. */
struct state {
	int64_t notices, kits; /* generations; the first is of packing lists too */
	day_number day;
};

struct kept_sum {
	struct chapter_sum sum; /* first, so that a borrower's pointer leads here */
	struct state of;
	struct arena *arena;
	struct held_catalogue *held;
	size_t borrowers; /* the list counts as one */
};

struct kept_kit {
	int64_t id, version;       /* version 0: to be decided */
	struct contribution *adds; /* NULL: not counted in, or to be decided */
};

struct chapter_list {
	struct chapter *chapter;
	pthread_mutex_t lock; /* guards the next four */
	bool asked;
	size_t done, todo;
	struct kept_sum *current;    /* NULL: none yet */
	pthread_mutex_t working;     /* held by the round: guards all below */
	struct held_catalogue *held; /* that the kits below were decided with; NULL: none were */
	struct state of;
	struct kept_kit *kits; /* in order of id */
	size_t n_kits;
	size_t kept;             /* bytes of what they add */
	struct kept_sum *making; /* of the kits up to where the work is; NULL: none begun */
	struct contribution_sum sum;
};

struct chapter_list *chapter_list_new(struct chapter *chapter)
{
	struct chapter_list *list = mem_zero(sizeof *list);

	if (!list)
		return NULL;
	list->chapter = chapter;
	pthread_mutex_init(&list->lock, NULL);
	pthread_mutex_init(&list->working, NULL);
	return list;
}

static void forget(struct chapter_list *list, struct kept_kit *kit)
{
	if (kit->adds)
		list->kept -= contribution_size(kit->adds);
	mem_free(kit->adds);
	kit->adds = NULL;
}

static void free_kits(struct chapter_list *list)
{
	for (size_t i = 0; i < list->n_kits; i++)
		forget(list, &list->kits[i]);
	mem_free(list->kits);
	list->kits = NULL;
	list->n_kits = 0;
}

static void free_sum(struct chapter *chapter, struct kept_sum *kept)
{
	arena_free(kept->arena);
	catalogue_return(chapter->catalogues, kept->held);
	mem_free(kept);
}

void chapter_list_free(struct chapter_list *list)
{
	if (!list)
		return;
	if (list->current)
		free_sum(list->chapter, list->current);
	if (list->making)
		free_sum(list->chapter, list->making);
	free_kits(list);
	catalogue_return(list->chapter->catalogues, list->held);
	pthread_mutex_destroy(&list->working);
	pthread_mutex_destroy(&list->lock);
	mem_free(list);
}

/* ---- looking ---- */

static bool same(const struct state *a, const struct state *b)
{
	return a->notices == b->notices && a->kits == b->kits && a->day == b->day;
}

static enum status state_now(const struct work *w, struct state *out)
{
	*out = (struct state){.notices = w->generation, .day = w->today};
	return kits_generation(w->store, &out->kits);
}

enum status chapter_list_look(const struct work *w, struct chapter_look *out)
{
	struct chapter_list *list = w->chapter->list;
	struct state now;
	enum status status = state_now(w, &now);

	if (status != ST_OK)
		return status;
	pthread_mutex_lock(&list->lock);
	*out = (struct chapter_look){.done = list->done, .todo = list->todo};
	if (list->current) {
		list->current->borrowers++;
		out->sum = &list->current->sum;
		out->fresh = same(&list->current->of, &now);
	}
	if (!out->fresh)
		list->asked = true;
	pthread_mutex_unlock(&list->lock);
	if (!out->fresh)
		rounds_wake(w->chapter->lists);
	return ST_OK;
}

static void give_back(struct chapter_list *list, struct kept_sum *kept)
{
	bool last;

	pthread_mutex_lock(&list->lock);
	last = --kept->borrowers == 0;
	pthread_mutex_unlock(&list->lock);
	if (last)
		free_sum(list->chapter, kept);
}

void chapter_list_give_back(const struct work *w, const struct chapter_sum *sum)
{
	if (sum)
		give_back(w->chapter->list, (struct kept_sum *)(uintptr_t)sum);
}

/* ---- one kit ---- */

/* Into the arena of its visit: what of the kit says what it wants. */
struct wanting_kit {
	struct kit kit;
	struct facts facts;
	struct kit_state state;
	struct kit_use use;
	const struct record *records;
	const struct stock_entry *stock;
	const struct kit_length *lengths;
	size_t n_records, n_stock, n_lengths;
};

static enum status read_kit(struct store *store, struct arena *arena, struct kit_id id,
                            struct wanting_kit *out)
{
	enum status status = kit_read(store, arena, id, &out->kit);

	if (status != ST_OK || !out->kit.counted_in)
		return status;
	status = kit_facts(store, arena, id, &out->facts);
	if (status == ST_OK)
		status = record_list(store, arena, id, &out->records, &out->n_records);
	if (status == ST_OK)
		status = kit_log_use(store, arena, id, &out->use);
	if (status == ST_OK)
		status = kit_stock_list(store, arena, id, &out->stock, &out->n_stock);
	if (status == ST_OK)
		status = kit_length_list(store, arena, id, &out->lengths, &out->n_lengths);
	return status;
}

static enum status find_left(const struct chapter_list *list, struct arena *arena,
                             struct wanting_kit *kit, uint32_t **left, size_t *count)
{
	const struct catalogue *catalogue = list->held->catalogue;
	enum status status = kit_state_make(arena, &kit->facts, kit->records, kit->n_records,
	                                    &kit->use, &kit->state);

	if (status == ST_OK)
		status = standing_fill_done(arena, catalogue, &kit->state, &kit->facts);
	if (status != ST_OK)
		return status;
	*left = ARENA_ARRAY(arena, uint32_t, catalogue->count);
	if (!*left)
		return ST_NOMEM;
	*count = 0;
	for (uint32_t i = 0; i < catalogue->count; i++) {
		struct standing standing = standing_decide(catalogue, &catalogue->entries[i],
		                                           &kit->state, list->of.day);

		if (standing_is_left(&standing))
			(*left)[(*count)++] = i;
	}
	return ST_OK;
}

/* The builder's own lengths come to those of notices. */
static enum status add_own_cuts(struct arena *arena, const struct wanting_kit *kit,
                                struct contribution *adds)
{
	struct contribution_cut *list = NULL;
	size_t count = 0, room = 0;

	for (size_t i = 0; i < kit->n_lengths; i++) {
		const struct kit_length *length = &kit->lengths[i];
		const struct cut *cuts = NULL;
		struct cuts_fault fault;
		size_t n = 0;

		if (length->use != LENGTH_WANTED)
			continue;
		if (cuts_parse(arena, length->cut, &cuts, &n, &fault) == ST_NOMEM)
			return ST_NOMEM;
		if (count + n > room) {
			struct contribution_cut *more =
			        ARENA_ARRAY(arena, struct contribution_cut, room = 2 * (count + n));

			if (!more)
				return ST_NOMEM;
			if (count)
				memcpy(more, list, count * sizeof *list);
			list = more;
		}
		for (size_t k = 0; k < n; k++)
			list[count++] = (struct contribution_cut){
			        length->stock.text, length->remark, cuts[k].length, cuts[k].count};
	}
	adds->cuts = list;
	adds->n_cuts = count;
	return ST_OK;
}

static enum status decide(const struct chapter_list *list, struct arena *arena,
                          struct wanting_kit *kit, struct contribution *adds)
{
	const struct catalogue *catalogue = list->held->catalogue;
	const struct wanted *wanted = NULL;
	uint32_t *left = NULL;
	size_t n_left, count = 0;
	enum status status = find_left(list, arena, kit, &left, &n_left);

	if (status == ST_OK)
		status = wanted_list(arena, list->held->parts, catalogue, left, n_left, &kit->state,
		                     kit->stock, kit->n_stock, &wanted, &count);
	if (status == ST_OK)
		status = contribution_make(arena, catalogue, wanted, count, adds);
	return status == ST_OK ? add_own_cuts(arena, kit, adds) : status;
}

static enum status keep(struct chapter_list *list, const struct contribution *adds,
                        struct kept_kit *kept, int64_t version)
{
	size_t size = contribution_size(adds);
	void *block;

	if (list->kept + size > KEPT_MOST)
		return ST_OK;
	block = mem_alloc(size);
	if (!block)
		return ST_NOMEM;
	kept->adds = contribution_copy(adds, block);
	kept->version = version;
	list->kept += size;
	return ST_OK;
}

/* One kit, all of one state, into the sum. A kit that is gone adds nothing. */
static enum status decide_kit(struct chapter_list *list, struct store *store, struct arena *arena,
                              struct kept_kit *kept)
{
	struct wanting_kit kit = {.kit = {.id = {kept->id}}};
	struct contribution adds = {.n_rows = 0};
	enum status status = store_begin_reading(store);

	if (status != ST_OK)
		return status;
	status = store_end_reading(store, read_kit(store, arena, kit.kit.id, &kit));
	if (status == ST_OK && kit.kit.counted_in) {
		status = decide(list, arena, &kit, &adds);
		if (status == ST_OK)
			contribution_add(&list->sum, &adds);
		if (status == ST_OK)
			status = keep(list, &adds, kept, kit.kit.version);
	}
	return status == ST_MISSING ? ST_OK : status;
}

/* ---- the work as a whole ---- */

static bool holds(const struct chapter_list *list, const struct work *w)
{
	return list->held && list->of.notices == w->generation && list->of.day == w->today;
}

/* Notices, packing lists or day are others: nothing holds any more. */
static enum status begin_anew(struct chapter_list *list, const struct work *w)
{
	struct held_catalogue *held = NULL;
	enum status status =
	        catalogue_borrow(w->chapter->catalogues, w->store, w->generation, &held);

	if (status != ST_OK)
		return status;
	free_kits(list);
	catalogue_return(w->chapter->catalogues, list->held);
	list->held = held;
	list->of = (struct state){.notices = held->generation, .day = w->today};
	return ST_OK;
}

/* What is kept of a kit that has not changed stays; both lists are in order of id. */
static void take_over(struct chapter_list *list, struct kept_kit *next, const struct kit_at *kits,
                      size_t count)
{
	size_t old = 0;

	for (size_t i = 0; i < count; i++) {
		next[i] = (struct kept_kit){kits[i].id.v, 0, NULL};
		while (old < list->n_kits && list->kits[old].id < next[i].id)
			old++;
		if (old < list->n_kits && list->kits[old].id == next[i].id &&
		    list->kits[old].version == kits[i].version) {
			next[i] = list->kits[old];
			list->kits[old].adds = NULL;
		}
		if (!kits[i].counted_in)
			next[i].version = kits[i].version;
	}
	free_kits(list);
	list->kits = next;
	list->n_kits = count;
}

static void say(struct chapter_list *list, size_t done, size_t todo)
{
	pthread_mutex_lock(&list->lock);
	list->done = done;
	list->todo = todo;
	pthread_mutex_unlock(&list->lock);
}

static enum status begin_sum(struct chapter_list *list, const struct work *w)
{
	struct kept_sum *made = mem_zero(sizeof *made);

	if (!made)
		return ST_NOMEM;
	if (list->making)
		free_sum(w->chapter, list->making);
	list->making = made;
	made->borrowers = 1;
	made->held = catalogue_again(w->chapter->catalogues, list->held);
	made->arena = arena_new();
	if (!made->arena)
		return ST_NOMEM;
	return contribution_sum_begin(made->arena, made->held->catalogue, made->held->parts,
	                              &list->sum);
}

/* Which kits there are, and which of them have changed. */
static enum status begin(struct chapter_list *list, const struct work *w)
{
	const struct kit_at *kits = NULL;
	struct kept_kit *next;
	size_t count = 0;
	enum status status = holds(list, w) ? ST_OK : begin_anew(list, w);

	if (status == ST_OK)
		status = kits_generation(w->store, &list->of.kits);
	if (status == ST_OK)
		status = kits_at(w->store, w->arena, &kits, &count);
	if (status != ST_OK)
		return status;
	next = mem_zero((count + 1) * sizeof *next);
	if (!next)
		return ST_NOMEM;
	take_over(list, next, kits, count);
	say(list, 0, count);
	return begin_sum(list, w);
}

/* From that place on; *at gets the first kit that is left. */
static enum status decide_some(struct chapter_list *list, const struct work *w, size_t *at)
{
	enum status status = ST_OK;
	size_t i = *at;

	for (int decided = 0; status == ST_OK && i < list->n_kits && decided < KITS_A_PIECE; i++) {
		struct arena *arena;

		if (list->kits[i].adds)
			contribution_add(&list->sum, list->kits[i].adds);
		if (list->kits[i].version)
			continue;
		decided++;
		arena = arena_new();
		status = arena ? decide_kit(list, w->store, arena, &list->kits[i]) : ST_NOMEM;
		arena_free(arena);
	}
	say(list, i, list->n_kits);
	*at = i;
	return status;
}

static enum status publish(struct chapter_list *list, const struct work *w)
{
	struct kept_sum *made = list->making, *old;
	enum status status = contribution_sum_end(&list->sum);

	if (status != ST_OK)
		return status;
	made->sum = (struct chapter_sum){.shopping = list->sum.shopping,
	                                 .kits = list->sum.kits,
	                                 .all = list->n_kits,
	                                 .at = w->now,
	                                 .parts = made->held->parts};
	made->of = list->of;
	list->making = NULL;
	pthread_mutex_lock(&list->lock);
	old = list->current;
	list->current = made;
	pthread_mutex_unlock(&list->lock);
	if (old)
		give_back(list, old);
	return ST_OK;
}

static bool is_asked(struct chapter_list *list)
{
	bool asked;

	pthread_mutex_lock(&list->lock);
	asked = list->asked;
	list->asked = false;
	pthread_mutex_unlock(&list->lock);
	return asked;
}

/* place: the next kit, from 1. Begins again when the notices change on the way. */
static enum status work(struct chapter_list *list, const struct work *w, int64_t *place)
{
	size_t at = *place ? (size_t)*place - 1 : 0;
	enum status status = ST_OK;

	if (*place == 0 && !is_asked(list))
		return ST_OK;
	if (*place == 0 || !holds(list, w)) {
		at = 0;
		status = begin(list, w);
	}
	if (status == ST_OK)
		status = decide_some(list, w, &at);
	*place = status == ST_OK && at < list->n_kits ? (int64_t)at + 1 : 0;
	return status == ST_OK && *place == 0 ? publish(list, w) : status;
}

enum status chapter_list_round(const struct work *w, int64_t *place)
{
	struct chapter_list *list = w->chapter->list;
	enum status status;

	pthread_mutex_lock(&list->working);
	status = work(list, w, place);
	pthread_mutex_unlock(&list->working);
	return status;
}
