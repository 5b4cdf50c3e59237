#include "web/chapter/possible.h"

#include <pthread.h>
#include <string.h>

#include "base/mem.h"
#include "web/http/app_parts.h"

#define STATEMENTS 16 /* kept; each with 8 bytes for a kit, or twice that */

/* The kits of one statement; all but the arena are borrowed from it. */
struct possible {
	struct arena *arena; /* NULL: nothing is kept here */
	const char *text;
	int64_t kits_at, notices_at; /* generations */
	const struct kit_id *kits;
	size_t count;
	uint64_t used; /* tick of the last use */
};

struct possible_cache {
	pthread_mutex_t lock; /* guards all below */
	uint64_t tick;
	struct possible slots[STATEMENTS];
};

struct possible_cache *possible_cache_new(void)
{
	struct possible_cache *cache = mem_zero(sizeof *cache);

	if (cache)
		pthread_mutex_init(&cache->lock, NULL);
	return cache;
}

void possible_cache_free(struct possible_cache *cache)
{
	if (!cache)
		return;
	for (unsigned i = 0; i < STATEMENTS; i++)
		arena_free(cache->slots[i].arena);
	pthread_mutex_destroy(&cache->lock);
	mem_free(cache);
}

static bool is_of(const struct possible *kept, const struct possible *wanted)
{
	return kept->arena && strcmp(kept->text, wanted->text) == 0;
}

static bool is_fresh(const struct possible *kept, const struct possible *wanted)
{
	return is_of(kept, wanted) && kept->kits_at == wanted->kits_at &&
	       kept->notices_at == wanted->notices_at;
}

/* That of the statement, or the one longest at rest. The lock is held. */
static struct possible *slot_for(struct possible_cache *cache, const struct possible *wanted)
{
	struct possible *found = &cache->slots[0];

	for (unsigned i = 0; i < STATEMENTS; i++) {
		if (is_of(&cache->slots[i], wanted))
			return &cache->slots[i];
		if (cache->slots[i].used < found->used)
			found = &cache->slots[i];
	}
	return found;
}

/* Counts within the lock: a walk over some thousand ids. False: it is not kept, or not fresh. */
static bool count_kept(struct possible_cache *cache, const struct possible *wanted,
                       const struct kit_id *looked, size_t n_looked, struct whom_like *out)
{
	struct possible *kept;
	bool fresh;

	pthread_mutex_lock(&cache->lock);
	kept = slot_for(cache, wanted);
	fresh = is_fresh(kept, wanted);
	if (fresh) {
		*out = whom_like(kept->kits, kept->count, looked, n_looked);
		kept->used = ++cache->tick;
	}
	pthread_mutex_unlock(&cache->lock);
	return fresh;
}

static void keep(struct possible_cache *cache, const struct possible *found)
{
	struct possible *slot, old;

	pthread_mutex_lock(&cache->lock);
	slot = slot_for(cache, found);
	old = *slot;
	*slot = *found;
	slot->used = ++cache->tick;
	pthread_mutex_unlock(&cache->lock);
	arena_free(old.arena);
}

static enum status find(const struct context *c, const struct effectivity *statement,
                        struct possible *found)
{
	const char *text = arena_string(found->arena, found->text);

	if (!text)
		return ST_NOMEM;
	found->text = text;
	return whom_possible(c->store, found->arena, c->catalogue, statement, &found->kits,
	                     &found->count);
}

static enum status find_and_keep(const struct context *c, const struct effectivity *statement,
                                 struct possible *found, const struct kit_id *looked,
                                 size_t n_looked, struct whom_like *out)
{
	enum status status;

	found->arena = arena_new();
	status = found->arena ? find(c, statement, found) : ST_NOMEM;
	if (status != ST_OK) {
		arena_free(found->arena);
		return status;
	}
	*out = whom_like(found->kits, found->count, looked, n_looked);
	keep(c->app->possible, found);
	return ST_OK;
}

/* The generations are read first: what changes meanwhile is found the next time. */
enum status possible_like(const struct context *c, const char *text,
                          const struct effectivity *statement, const struct kit_id *looked,
                          size_t n_looked, struct whom_like *out)
{
	struct possible wanted = {.text = text, .notices_at = c->generation};
	enum status status = kits_generation(c->store, &wanted.kits_at);

	if (status != ST_OK || count_kept(c->app->possible, &wanted, looked, n_looked, out))
		return status;
	return find_and_keep(c, statement, &wanted, looked, n_looked, out);
}
