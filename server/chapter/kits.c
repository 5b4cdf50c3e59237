/* The list is in order of id, and as of one generation of the kits: it holds
 * just what the database held when its counter of changes stood there. It only
 * goes forward: a transaction that sees an older state leaves it alone and reads
 * for itself. Whoever walks it or takes a kit from it holds the lock for
 * reading, whoever changes it for writing; a kit that has been taken lives until
 * its last borrower gives it back. One thread at a time takes up what changed.
 */
#include "chapter/kits.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stddef.h>
#include <string.h>

#include "base/mem.h"
#include "chapter/chapter.h"
#include "core/pack.h"
#include "store/records.h"
#include "store/store.h"

struct block {
	struct held_kit kit; /* first, so that a held kit leads here */
	atomic_size_t users; /* the list counts as one */
	size_t bytes;
	max_align_t room[];
};

struct list {
	struct block **at;
	size_t count, room;
};

struct kits {
	pthread_rwlock_t lock; /* guards list and bytes */
	pthread_mutex_t turn;  /* to take up changes; guards generation */
	struct list list;
	size_t bytes;
	int64_t generation; /* of the kits, that the list is as of; -1: not read yet */
};

struct kits *kits_new(void)
{
	struct kits *kits = mem_zero(sizeof *kits);

	if (!kits)
		return NULL;
	kits->generation = -1;
	pthread_rwlock_init(&kits->lock, NULL);
	pthread_mutex_init(&kits->turn, NULL);
	return kits;
}

static void let_go(struct block *block)
{
	if (atomic_fetch_sub(&block->users, 1) == 1)
		mem_free(block);
}

static void clear(struct list *list)
{
	for (size_t i = 0; i < list->count; i++)
		let_go(list->at[i]);
	mem_free(list->at);
	*list = (struct list){NULL, 0, 0};
}

void kits_free(struct kits *kits)
{
	if (!kits)
		return;
	clear(&kits->list);
	pthread_rwlock_destroy(&kits->lock);
	pthread_mutex_destroy(&kits->turn);
	mem_free(kits);
}

/* ---- the list ---- */

/* Where the kit is, or where it would be. */
static size_t place_of(const struct list *list, int64_t id)
{
	size_t low = 0, high = list->count;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (list->at[middle]->kit.id.v < id)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

static struct block *find(const struct list *list, int64_t id)
{
	size_t i = place_of(list, id);

	return i < list->count && list->at[i]->kit.id.v == id ? list->at[i] : NULL;
}

static bool make_room(struct list *list)
{
	size_t room = list->room ? list->room * 2 : 64;
	struct block **at;

	if (list->count < list->room)
		return true;
	at = mem_resize(list->at, room * sizeof *at);
	if (!at)
		return false;
	list->at = at;
	list->room = room;
	return true;
}

/* Steals the block. The lock is held for writing. */
static enum status put(struct kits *kits, struct block *block)
{
	struct list *list = &kits->list;
	size_t i = place_of(list, block->kit.id.v);

	if (i < list->count && list->at[i]->kit.id.v == block->kit.id.v) {
		kits->bytes -= list->at[i]->bytes;
		let_go(list->at[i]);
	} else if (!make_room(list)) {
		let_go(block);
		return ST_NOMEM;
	} else {
		memmove(list->at + i + 1, list->at + i, (list->count - i) * sizeof *list->at);
		list->count++;
	}
	list->at[i] = block;
	kits->bytes += block->bytes;
	return ST_OK;
}

/* ---- reading ---- */

static struct block *pack(const struct kit *kit, const struct facts *facts,
                          const struct record *records, size_t n_records)
{
	size_t size = pack_kit(NULL, facts, records, n_records, NULL, NULL);
	struct block *block = mem_zero(sizeof *block + size);

	if (!block)
		return NULL;
	block->kit = (struct held_kit){.id = kit->id,
	                               .owner = kit->owner,
	                               .named = kit->named,
	                               .version = kit->version,
	                               .n_records = n_records};
	block->bytes = sizeof *block + size;
	atomic_init(&block->users, 1);
	pack_kit(block->room, facts, records, n_records, &block->kit.facts, &block->kit.records);
	return block;
}

static enum status read_records(struct store *store, struct arena *arena, const struct kit *kit,
                                const struct record **out, size_t *count)
{
	*out = NULL;
	*count = 0;
	return kit->records ? record_list(store, arena, kit->id, out, count) : ST_OK;
}

static enum status read_one(struct store *store, struct arena *arena, struct kit_id id,
                            struct block **out)
{
	const struct record *records;
	struct facts facts;
	struct kit kit;
	size_t count;
	enum status status = kit_read(store, arena, id, &kit);

	if (status == ST_OK)
		status = kit_facts(store, arena, id, &facts);
	if (status == ST_OK)
		status = read_records(store, arena, &kit, &records, &count);
	if (status != ST_OK)
		return status;
	*out = pack(&kit, &facts, records, count);
	return *out ? ST_OK : ST_NOMEM;
}

/* Of one state of the database, in an arena of its own. */
static enum status load_one(struct store *store, struct kit_id id, struct block **out)
{
	struct arena *arena = arena_new();
	struct block *block = NULL;
	enum status status = arena ? store_begin_reading(store) : ST_NOMEM;

	if (status == ST_OK)
		status = store_end_reading(store, read_one(store, arena, id, &block));
	arena_free(arena);
	if (status == ST_OK)
		*out = block;
	else if (block) /* read, but not of one state to its end */
		let_go(block);
	return status;
}

/* ---- following the database ---- */

/* All of them, at the start: one pass over the tables. */
struct pass {
	struct store *store;
	struct kits *kits;
	enum status status;
};

static bool take_up(void *context, const struct kit *kit, const struct facts *facts,
                    struct arena *arena)
{
	struct pass *pass = context;
	const struct record *records;
	struct block *block = NULL;
	size_t count;

	pass->status = read_records(pass->store, arena, kit, &records, &count);
	if (pass->status == ST_OK) {
		block = pack(kit, facts, records, count);
		pass->status = block ? ST_OK : ST_NOMEM;
	}
	if (block) {
		pthread_rwlock_wrlock(&pass->kits->lock);
		pass->status = put(pass->kits, block);
		pthread_rwlock_unlock(&pass->kits->lock);
	}
	return pass->status == ST_OK;
}

static enum status take_up_all(struct kits *kits, struct store *store)
{
	struct pass pass = {store, kits, ST_OK};
	enum status status = kits_each(store, take_up, &pass);

	return status == ST_OK ? pass.status : status;
}

static void drop(struct kits *kits, struct kit_id id)
{
	struct list *list = &kits->list;
	size_t i = place_of(list, id.v);

	if (i == list->count || list->at[i]->kit.id.v != id.v)
		return;
	kits->bytes -= list->at[i]->bytes;
	let_go(list->at[i]);
	list->count--;
	memmove(list->at + i, list->at + i + 1, (list->count - i) * sizeof *list->at);
}

static enum status take_up_one(struct kits *kits, struct store *store, struct kit_id id)
{
	struct block *block = NULL;
	enum status status = load_one(store, id, &block);

	if (status != ST_OK && status != ST_MISSING)
		return status;
	pthread_rwlock_wrlock(&kits->lock);
	if (status == ST_OK)
		status = put(kits, block);
	else
		drop(kits, id);
	pthread_rwlock_unlock(&kits->lock);
	return status == ST_MISSING ? ST_OK : status;
}

static enum status take_up_changed(struct kits *kits, struct store *store, struct arena *arena)
{
	const struct kit_id *changed = NULL;
	size_t count = 0;
	enum status status = kits_changed(store, arena, kits->generation, &changed, &count);

	for (size_t i = 0; status == ST_OK && i < count; i++)
		status = take_up_one(kits, store, changed[i]);
	return status;
}

/* Of one state of the database. A failure half-way leaves the generation as it
 * was: what was taken up already is taken up again the next time. */
static enum status follow(struct kits *kits, struct store *store, struct arena *arena)
{
	int64_t generation = 0;
	enum status status = kits_generation(store, &generation);

	if (status != ST_OK || generation <= kits->generation)
		return status;
	status = kits->generation < 0 ? take_up_all(kits, store)
	                              : take_up_changed(kits, store, arena);
	if (status == ST_OK)
		kits->generation = generation;
	return status;
}

static enum status be_current(struct kits *kits, struct store *store)
{
	struct arena *arena = arena_new();
	enum status status = arena ? ST_OK : ST_NOMEM;

	pthread_mutex_lock(&kits->turn);
	if (status == ST_OK)
		status = store_begin_reading(store);
	if (status == ST_OK)
		status = store_end_reading(store, follow(kits, store, arena));
	pthread_mutex_unlock(&kits->turn);
	arena_free(arena);
	return status;
}

/* ---- one kit ---- */

static struct block *take(struct kits *kits, const struct kit *kit)
{
	struct block *block;

	pthread_rwlock_rdlock(&kits->lock);
	block = find(&kits->list, kit->id.v);
	if (block && block->kit.version == kit->version)
		atomic_fetch_add(&block->users, 1);
	else
		block = NULL;
	pthread_rwlock_unlock(&kits->lock);
	return block;
}

enum status kits_borrow(const struct work *work, const struct kit *kit, const struct held_kit **out)
{
	struct kits *kits = work->chapter->kits;
	struct block *block = take(kits, kit);
	enum status status = ST_OK;

	if (!block) {
		status = be_current(kits, work->store);
		if (status == ST_OK)
			block = take(kits, kit);
	}
	/* Changed again since the caller's state. */
	if (status == ST_OK && !block)
		status = load_one(work->store, kit->id, &block);
	if (status == ST_OK)
		*out = &block->kit;
	return status;
}

void kits_return(const struct held_kit *held)
{
	let_go((struct block *)(uintptr_t)held);
}

/* ---- all kits ---- */

enum status kits_visit(const struct work *work, kits_visit_fn *visit, void *context)
{
	struct kits *kits = work->chapter->kits;
	enum status status = be_current(kits, work->store);

	if (status != ST_OK)
		return status;
	pthread_rwlock_rdlock(&kits->lock);
	for (size_t i = 0; i < kits->list.count; i++)
		if (!visit(context, &kits->list.at[i]->kit))
			break;
	pthread_rwlock_unlock(&kits->lock);
	return ST_OK;
}

size_t kits_held(struct kits *kits, size_t *bytes)
{
	size_t count;

	pthread_rwlock_rdlock(&kits->lock);
	count = kits->list.count;
	*bytes = kits->bytes;
	pthread_rwlock_unlock(&kits->lock);
	return count;
}
