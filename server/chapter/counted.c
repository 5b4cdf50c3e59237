#include "chapter/counted.h"

#include <assert.h>
#include <pthread.h>

#include "base/mem.h"

struct counted_cache {
	struct counted_limits limits;
	counted_free_fn *free_kept;
	pthread_mutex_t lock; /* guards all below and the counts of what is kept */
	uint64_t tick;
	size_t bytes;
	struct counted *slots[COUNTED_MOST];
};

struct counted_cache *counted_cache_new(struct counted_limits limits, counted_free_fn *free_kept)
{
	struct counted_cache *cache = mem_zero(sizeof *cache);

	assert(limits.most >= 1 && limits.most <= COUNTED_MOST);
	if (!cache)
		return NULL;
	cache->limits = limits;
	cache->free_kept = free_kept;
	pthread_mutex_init(&cache->lock, NULL);
	return cache;
}

void counted_cache_free(struct counted_cache *cache)
{
	if (!cache)
		return;
	for (size_t i = 0; i < cache->limits.most; i++)
		if (cache->slots[i])
			cache->free_kept(cache->slots[i]);
	pthread_mutex_destroy(&cache->lock);
	mem_free(cache);
}

/* In the three below the lock is held. */

static void drop(struct counted_cache *cache, struct counted **slot)
{
	struct counted *kept = *slot;

	*slot = NULL;
	cache->bytes -= arena_used(kept->arena);
	if (--kept->borrowers == 0)
		cache->free_kept(kept);
}

/* The slot of that id, NULL when it has none. */
static struct counted **find_slot(struct counted_cache *cache, int64_t id)
{
	for (size_t i = 0; i < cache->limits.most; i++)
		if (cache->slots[i] && cache->slots[i]->id == id)
			return &cache->slots[i];
	return NULL;
}

/* An empty slot, or the one that was longest at rest. */
static struct counted **resting_slot(struct counted_cache *cache)
{
	struct counted **found = &cache->slots[0];

	for (size_t i = 0; i < cache->limits.most; i++) {
		if (!cache->slots[i])
			return &cache->slots[i];
		if (cache->slots[i]->used < (*found)->used)
			found = &cache->slots[i];
	}
	return found;
}

struct counted *counted_borrow(struct counted_cache *cache, int64_t id, counted_fresh_fn *fresh,
                               const void *wanted)
{
	struct counted **slot, *kept = NULL;

	pthread_mutex_lock(&cache->lock);
	slot = find_slot(cache, id);
	if (slot && fresh(*slot, wanted)) {
		kept = *slot;
		kept->borrowers++;
		kept->used = ++cache->tick;
	}
	pthread_mutex_unlock(&cache->lock);
	return kept;
}

void counted_give_back(struct counted_cache *cache, struct counted *borrowed)
{
	bool last;

	pthread_mutex_lock(&cache->lock);
	last = --borrowed->borrowers == 0;
	pthread_mutex_unlock(&cache->lock);
	if (last)
		cache->free_kept(borrowed);
}

void counted_keep(struct counted_cache *cache, struct counted *made)
{
	size_t size = arena_used(made->arena);
	struct counted **slot;

	if (size > cache->limits.largest)
		return;
	pthread_mutex_lock(&cache->lock);
	slot = find_slot(cache, made->id);
	if (!slot)
		slot = resting_slot(cache);
	if (*slot)
		drop(cache, slot);
	*slot = made;
	made->borrowers++;
	made->used = ++cache->tick;
	cache->bytes += size;
	for (size_t i = 0; cache->bytes > cache->limits.bytes && i < cache->limits.most; i++)
		if (cache->slots[i] && cache->slots[i] != made)
			drop(cache, &cache->slots[i]);
	pthread_mutex_unlock(&cache->lock);
}
