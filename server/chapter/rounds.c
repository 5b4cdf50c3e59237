#include "chapter/rounds.h"

#include <pthread.h>
#include <time.h>

#include "base/mem.h"
#include "os/log.h"
#include "store/settings.h"
#include "chapter/chapter.h"

#define REST_SECONDS 60

struct rounds {
	struct chapter *chapter;
	const struct round *table;
	size_t count;
	pthread_t thread;
	bool started;
	pthread_mutex_t lock; /* guards all below */
	pthread_cond_t woken;
	bool wanted, ending;
};

struct rounds *rounds_new(struct chapter *chapter, const struct round *table, size_t count)
{
	struct rounds *made = mem_zero(sizeof *made);
	pthread_condattr_t attributes;

	if (!made)
		return NULL;
	made->chapter = chapter;
	made->table = table;
	made->count = count;
	made->wanted = true; /* whatever was left undone before */
	pthread_mutex_init(&made->lock, NULL);
	pthread_condattr_init(&attributes);
	pthread_condattr_setclock(&attributes, CLOCK_MONOTONIC);
	pthread_cond_init(&made->woken, &attributes);
	pthread_condattr_destroy(&attributes);
	return made;
}

bool rounds_end(struct rounds *made)
{
	bool ending;

	pthread_mutex_lock(&made->lock);
	ending = made->ending;
	pthread_mutex_unlock(&made->lock);
	return ending;
}

void rounds_wake(struct rounds *made)
{
	pthread_mutex_lock(&made->lock);
	made->wanted = true;
	pthread_cond_signal(&made->woken);
	pthread_mutex_unlock(&made->lock);
}

/* ---- one round ---- */

/* The context is made anew for each piece of work: notices and day may have
 * changed since the last. */
struct piece {
	const struct round *round;
	int64_t *place;
};

static enum status run_piece(struct work *work, void *piece)
{
	const struct piece *at = piece;

	return at->round->run(work, at->place);
}

static enum status do_piece(struct rounds *made, struct arena *arena, const struct round *round,
                            int64_t *place)
{
	struct work work = work_at(made->chapter, arena);
	struct piece piece = {round, place};
	int64_t generation = 0;
	enum status status;

	work_connect(&work);
	status = setting_generation(work.store, &generation);
	if (status == ST_OK)
		status = work_with_notices(&work, generation, run_piece, &piece);
	work_disconnect(&work);
	arena_reset(arena);
	return status;
}

/* A piece that fails is passed over when it says where to go on: one row that cannot
 * be worked on keeps no other waiting. */
static enum status run_one(struct rounds *made, struct arena *arena, const struct round *round)
{
	int64_t place = 0;
	enum status first = ST_OK;

	do {
		int64_t before = place;
		enum status status = do_piece(made, arena, round, &place);

		if (status == ST_OK)
			continue;
		log_line(LOG_LEVEL_TROUBLE, "%s: %s; tried again in the next round", round->name,
		         status_words(status));
		if (first == ST_OK)
			first = status;
		if (place == before)
			place = 0;
	} while (place && !rounds_end(made));
	return first;
}

enum status rounds_run(struct rounds *made)
{
	struct arena *arena = arena_new();
	enum status first = arena ? ST_OK : ST_NOMEM;

	for (size_t i = 0; arena && i < made->count; i++) {
		enum status status = run_one(made, arena, &made->table[i]);

		if (first == ST_OK)
			first = status;
	}
	arena_free(arena);
	return first;
}

/* ---- the thread ---- */

/* False when it is time to end. */
static bool wait_for_work(struct rounds *made)
{
	struct timespec until;
	int waited = 0;
	bool ending;

	clock_gettime(CLOCK_MONOTONIC, &until);
	until.tv_sec += REST_SECONDS;
	pthread_mutex_lock(&made->lock);
	while (!made->wanted && !made->ending && waited == 0)
		waited = pthread_cond_timedwait(&made->woken, &made->lock, &until);
	made->wanted = false;
	ending = made->ending;
	pthread_mutex_unlock(&made->lock);
	return !ending;
}

static void *go_round(void *made)
{
	while (wait_for_work(made))
		(void)!rounds_run(made); /* failures are logged */
	return NULL;
}

enum status rounds_start(struct rounds *made)
{
	if (pthread_create(&made->thread, NULL, go_round, made) != 0)
		return ST_NOMEM;
	made->started = true;
	return ST_OK;
}

void rounds_free(struct rounds *made)
{
	if (!made)
		return;
	pthread_mutex_lock(&made->lock);
	made->ending = true;
	pthread_cond_signal(&made->woken);
	pthread_mutex_unlock(&made->lock);
	if (made->started)
		pthread_join(made->thread, NULL);
	pthread_cond_destroy(&made->woken);
	pthread_mutex_destroy(&made->lock);
	mem_free(made);
}
