#include "web/http/desk.h"

#include <assert.h>
#include <pthread.h>
#include <string.h>

#include "base/mem.h"
#include "os/clock.h"

struct desk {
	pthread_mutex_t lock; /* guards all below */
	pthread_cond_t woken;
	struct desk_task *first; /* who is next */
	struct desk_task **end;
	unsigned waiting; /* in the queue */
	unsigned idle;    /* threads that wait for work */
	unsigned started;
	bool closed;
	pthread_t threads[DESK_THREADS];
};

struct desk *desk_new(void)
{
	struct desk *desk = mem_zero(sizeof *desk);

	if (!desk)
		return NULL;
	desk->end = &desk->first;
	pthread_mutex_init(&desk->lock, NULL);
	pthread_cond_init(&desk->woken, NULL);
	return desk;
}

void desk_free(struct desk *desk)
{
	if (!desk)
		return;
	assert(!desk->first && !desk->started);
	pthread_cond_destroy(&desk->woken);
	pthread_mutex_destroy(&desk->lock);
	mem_free(desk);
}

/* NULL: it is closed. */
static struct desk_task *take_first(struct desk *desk)
{
	struct desk_task *task = NULL;

	pthread_mutex_lock(&desk->lock);
	desk->idle++;
	while (!desk->first && !desk->closed)
		pthread_cond_wait(&desk->woken, &desk->lock);
	desk->idle--;
	if (!desk->closed) {
		task = desk->first;
		desk->first = task->next;
		if (!desk->first)
			desk->end = &desk->first;
		desk->waiting--;
	}
	pthread_mutex_unlock(&desk->lock);
	return task;
}

static void *keep_desk(void *at)
{
	struct desk_task *task;

	while ((task = take_first(at)))
		task->work(task);
	return NULL;
}

/* A thread more while there are fewer idle than tasks; true when there is one at all. */
static bool have_thread(struct desk *desk)
{
	if (desk->idle <= desk->waiting && desk->started < DESK_THREADS &&
	    pthread_create(&desk->threads[desk->started], NULL, keep_desk, desk) == 0)
		desk->started++;
	return desk->started > 0;
}

static bool has_place(const struct desk *desk, const struct desk_task *task)
{
	unsigned same = 0;

	for (const struct desk_task *at = desk->first; at; at = at->next)
		same += strcmp(at->caller, task->caller) == 0;
	return desk->waiting < DESK_PLACES && same < DESK_PLACES_OF_ONE;
}

static void leave(struct desk *desk, struct desk_task *task, bool again)
{
	bool admitted;

	task->came = clock_steady();
	task->next = NULL;
	pthread_mutex_lock(&desk->lock);
	admitted = !desk->closed && (again || has_place(desk, task)) && have_thread(desk);
	if (admitted) {
		*desk->end = task;
		desk->end = &task->next;
		desk->waiting++;
		pthread_cond_signal(&desk->woken);
	}
	pthread_mutex_unlock(&desk->lock);
	if (!admitted)
		task->turn_away(task);
}

void desk_leave(struct desk *desk, struct desk_task *task)
{
	leave(desk, task, false);
}

void desk_leave_again(struct desk *desk, struct desk_task *task)
{
	leave(desk, task, true);
}

int desk_patience(const struct desk_task *task)
{
	int64_t left = task->came + DESK_PATIENCE - clock_steady();

	return left > DESK_PATIENCE_LEAST ? (int)left : DESK_PATIENCE_LEAST;
}

void desk_close(struct desk *desk)
{
	struct desk_task *task, *next;

	pthread_mutex_lock(&desk->lock);
	desk->closed = true;
	pthread_cond_broadcast(&desk->woken);
	pthread_mutex_unlock(&desk->lock);
	for (; desk->started; desk->started--)
		pthread_join(desk->threads[desk->started - 1], NULL);
	task = desk->first;
	desk->first = NULL;
	desk->end = &desk->first;
	desk->waiting = 0;
	for (; task; task = next) {
		next = task->next;
		task->turn_away(task);
	}
}
