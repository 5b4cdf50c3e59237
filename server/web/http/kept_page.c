#include "web/http/kept_page.h"

#include <pthread.h>

#include "base/mem.h"
#include "web/http/seal.h"

struct kept_page {
	pthread_mutex_t lock; /* guards all below */
	json_t *dress;        /* NULL: empty */
	struct arena *arena;  /* of body and etag */
	const char *body, *etag;
	size_t len;
};

struct kept_page *kept_page_new(void)
{
	struct kept_page *kept = mem_zero(sizeof *kept);

	if (kept)
		pthread_mutex_init(&kept->lock, NULL);
	return kept;
}

void kept_page_free(struct kept_page *kept)
{
	if (!kept)
		return;
	json_decref(kept->dress);
	arena_free(kept->arena);
	pthread_mutex_destroy(&kept->lock);
	mem_free(kept);
}

static bool copy_out(const struct kept_page *kept, struct arena *arena, struct response *out)
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

bool kept_page_find(struct kept_page *kept, const json_t *dress, struct arena *arena,
                    struct response *out)
{
	bool found;

	pthread_mutex_lock(&kept->lock);
	found = kept->dress && json_equal(kept->dress, dress) && copy_out(kept, arena, out);
	pthread_mutex_unlock(&kept->lock);
	return found;
}

/* The copy is made outside the lock, so that readers do not wait for it. */
void kept_page_put(struct kept_page *kept, json_t *dress, const struct response *page)
{
	struct arena *arena = arena_new(), *old_arena;
	const char *body = arena ? arena_copy(arena, page->body, page->len) : NULL;
	const char *etag = body ? seal_etag(arena, page->body, page->len) : NULL;
	json_t *old_dress;

	if (!etag) {
		arena_free(arena);
		return;
	}
	pthread_mutex_lock(&kept->lock);
	old_arena = kept->arena;
	old_dress = kept->dress;
	kept->arena = arena;
	kept->dress = json_incref(dress);
	kept->body = body;
	kept->etag = etag;
	kept->len = page->len;
	pthread_mutex_unlock(&kept->lock);
	json_decref(old_dress);
	arena_free(old_arena);
}
