#include "web/http/page_cache.h"

#include <pthread.h>
#include <string.h>

#include "base/mem.h"
#include "web/http/seal.h"

#define PAGES 128
#define LARGEST ((size_t)256 * 1024) /* bytes of one page: 32 MB in all at most */

struct kept {
	struct arena *arena; /* of all below but the dress; NULL: nothing is kept here */
	json_t *dress;
	const char *key, *body, *etag;
	size_t len;
	uint64_t used; /* tick of the last use */
};

struct page_cache {
	pthread_mutex_t lock; /* guards all below */
	uint64_t tick;
	struct kept pages[PAGES];
};

struct page_cache *page_cache_new(void)
{
	struct page_cache *cache = mem_zero(sizeof *cache);

	if (cache)
		pthread_mutex_init(&cache->lock, NULL);
	return cache;
}

static void let_go(struct kept *kept)
{
	json_decref(kept->dress);
	arena_free(kept->arena);
}

void page_cache_free(struct page_cache *cache)
{
	if (!cache)
		return;
	for (size_t i = 0; i < PAGES; i++)
		let_go(&cache->pages[i]);
	pthread_mutex_destroy(&cache->lock);
	mem_free(cache);
}

static bool copy_out(const struct kept *kept, struct arena *arena, struct response *out)
{
	const char *body = arena_copy(arena, kept->body, kept->len);
	const char *etag = arena_string(arena, kept->etag);

	if (!body || !etag)
		return false;
	out->body = body;
	out->etag = etag;
	out->len = kept->len;
	return true;
}

bool page_cache_find(struct page_cache *cache, const char *key, const json_t *dress,
                     struct arena *arena, struct response *out)
{
	bool found = false;

	pthread_mutex_lock(&cache->lock);
	for (size_t i = 0; i < PAGES && !found; i++) {
		struct kept *kept = &cache->pages[i];

		if (!kept->arena || strcmp(kept->key, key) != 0 || !json_equal(kept->dress, dress))
			continue;
		kept->used = ++cache->tick;
		found = copy_out(kept, arena, out);
	}
	pthread_mutex_unlock(&cache->lock);
	return found;
}

/* An empty place, or that of the page longest at rest. The lock is held. */
static struct kept *place_for(struct page_cache *cache)
{
	struct kept *found = &cache->pages[0];

	for (size_t i = 1; i < PAGES && found->arena; i++)
		if (!cache->pages[i].arena || cache->pages[i].used < found->used)
			found = &cache->pages[i];
	return found;
}

/* The copy is made outside the lock, so that readers do not wait for it. */
void page_cache_put(struct page_cache *cache, const char *key, json_t *dress,
                    const struct response *page)
{
	struct kept made = {.arena = page->len <= LARGEST ? arena_new() : NULL, .len = page->len};
	struct kept *place, old;

	if (!made.arena)
		return;
	made.key = arena_string(made.arena, key);
	made.body = arena_copy(made.arena, page->body, page->len);
	made.etag = seal_etag(made.arena, page->body, page->len);
	if (!made.key || !made.body || !made.etag) {
		arena_free(made.arena);
		return;
	}
	made.dress = json_incref(dress);
	pthread_mutex_lock(&cache->lock);
	made.used = ++cache->tick;
	place = place_for(cache);
	old = *place;
	*place = made;
	pthread_mutex_unlock(&cache->lock);
	let_go(&old);
}
