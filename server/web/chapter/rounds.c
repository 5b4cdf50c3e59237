#include "web/chapter/rounds.h"

#include <pthread.h>
#include <time.h>

#include "base/mem.h"
#include "os/log.h"
#include "store/settings.h"
#include "web/http/app_parts.h"
#include "web/chapter/mail_round.h"
#include "web/chapter/news_round.h"

#define REST_SECONDS 60

const struct round rounds[] = {
        {"news of kits", news_round_kits},
        {"news of new reports", news_round_reports},
        {"news of the states of reports", news_round_states},
        {"mails written", mail_round_write},
        {"mails sent", mail_round_send},
};
const size_t rounds_count = sizeof rounds / sizeof rounds[0];

struct rounds {
	struct app *app;
	pthread_t thread;
	bool started;
	pthread_mutex_t lock; /* guards all below */
	pthread_cond_t woken;
	bool wanted, ending;
};

struct rounds *rounds_new(struct app *app)
{
	struct rounds *made = mem_zero(sizeof *made);
	pthread_condattr_t attributes;

	if (!made)
		return NULL;
	made->app = app;
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
static enum status with_catalogue(struct context *c, const struct round *round, int64_t *place)
{
	struct held_catalogue *held = NULL;
	int64_t generation = 0;
	enum status status = setting_generation(c->store, &generation);

	if (status == ST_OK)
		status = catalogue_borrow(c->app->catalogues, c->store, generation, &held);
	if (status != ST_OK)
		return status;
	c->catalogue = held->catalogue;
	c->parts = held->parts;
	c->generation = held->generation;
	status = round->run(c, place);
	catalogue_return(c->app->catalogues, held);
	return status;
}

static enum status do_piece(struct rounds *made, struct arena *arena, const struct round *round,
                            int64_t *place)
{
	struct context context = context_bare(made->app, NULL, arena, NULL);
	enum status status;

	context.store = store_take(made->app->pool);
	status = with_catalogue(&context, round, place);
	store_give(made->app->pool, context.store);
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

	for (size_t i = 0; arena && i < rounds_count; i++) {
		enum status status = run_one(made, arena, &rounds[i]);

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
