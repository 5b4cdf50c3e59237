#include "chapter/catalogue_holder.h"

#include <pthread.h>

#include "base/mem.h"
#include "store/notices.h"
#include "store/parts.h"

struct held {
	struct held_catalogue shown; /* first, so that a borrower's pointer leads back */
	struct arena *arena;
	size_t borrowers; /* the holder counts as one */
};

/* lock guards current and the counts and is held for moments only; loading
 * lets one thread read the notices while others wait for it or use the old. */
struct catalogue_holder {
	pthread_mutex_t lock;
	pthread_mutex_t loading;
	struct held *current;
};

struct catalogue_holder *catalogue_holder_new(void)
{
	struct catalogue_holder *holder = mem_zero(sizeof *holder);

	if (!holder)
		return NULL;
	pthread_mutex_init(&holder->lock, NULL);
	pthread_mutex_init(&holder->loading, NULL);
	return holder;
}

static void free_held(struct held *held)
{
	if (!held)
		return;
	arena_free(held->arena);
	mem_free(held);
}

void catalogue_holder_free(struct catalogue_holder *holder)
{
	if (!holder)
		return;
	free_held(holder->current);
	pthread_mutex_destroy(&holder->loading);
	pthread_mutex_destroy(&holder->lock);
	mem_free(holder);
}

/* The held one if it is new enough, counted; else NULL. */
static struct held *borrow_current(struct catalogue_holder *holder, int64_t generation)
{
	struct held *held;

	pthread_mutex_lock(&holder->lock);
	held = holder->current;
	if (held && held->shown.generation < generation)
		held = NULL;
	if (held)
		held->borrowers++;
	pthread_mutex_unlock(&holder->lock);
	return held;
}

static void give_back(struct catalogue_holder *holder, struct held *held)
{
	bool last;

	pthread_mutex_lock(&holder->lock);
	last = --held->borrowers == 0;
	pthread_mutex_unlock(&holder->lock);
	if (last)
		free_held(held);
}

static enum status fill(struct held *held, struct store *store)
{
	const struct notice *notices = NULL;
	size_t count = 0;
	enum status status =
	        notice_load(store, held->arena, &notices, &count, &held->shown.generation);

	if (status == ST_OK)
		status = catalogue_build(held->arena, notices, count, &held->shown.catalogue);
	if (status == ST_OK)
		status = parts_load(store, held->arena, &held->shown.parts);
	return status;
}

static enum status load(struct store *store, struct held **out)
{
	struct held *held = mem_zero(sizeof *held);
	enum status status = ST_NOMEM;

	if (!held)
		return ST_NOMEM;
	held->arena = arena_new();
	if (held->arena)
		status = fill(held, store);
	if (status != ST_OK) {
		free_held(held);
		return status;
	}
	held->borrowers = 1;
	*out = held;
	return ST_OK;
}

static void swap(struct catalogue_holder *holder, struct held *held)
{
	struct held *old;

	pthread_mutex_lock(&holder->lock);
	old = holder->current;
	holder->current = held;
	pthread_mutex_unlock(&holder->lock);
	if (old)
		give_back(holder, old);
}

enum status catalogue_borrow(struct catalogue_holder *holder, struct store *store,
                             int64_t generation, struct held_catalogue **out)
{
	struct held *held = borrow_current(holder, generation);
	enum status status = ST_OK;

	if (!held) {
		struct held *loaded = NULL;

		pthread_mutex_lock(&holder->loading);
		held = borrow_current(holder, generation);
		if (!held)
			status = load(store, &loaded);
		if (loaded) {
			loaded->borrowers++;
			held = loaded;
			swap(holder, loaded);
		}
		pthread_mutex_unlock(&holder->loading);
	}
	if (status == ST_OK)
		*out = &held->shown;
	return status;
}

struct held_catalogue *catalogue_again(struct catalogue_holder *holder, struct held_catalogue *held)
{
	pthread_mutex_lock(&holder->lock);
	((struct held *)held)->borrowers++;
	pthread_mutex_unlock(&holder->lock);
	return held;
}

void catalogue_return(struct catalogue_holder *holder, struct held_catalogue *held)
{
	if (held)
		give_back(holder, (struct held *)held);
}
