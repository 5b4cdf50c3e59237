#include "chapter/picture_shop.h"

#include <assert.h>
#include <pthread.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "os/log.h"

/* ---- in the worker ---- */

/* What goes before a job's bytes, and before each picture of an answer. */
struct order_head {
	bool sheet;
};
struct answer_head {
	enum status status;
	struct picture made[2]; /* without bytes */
};

/* Whatever it answers, the memory ends with the process. */
static bool work(const void *job, size_t size, struct text *answer)
{
	struct arena *arena = arena_new();
	struct answer_head head = {.status = ST_NOMEM};
	const char *bytes = (const char *)job + sizeof(struct order_head);
	struct order_head order;

	if (size < sizeof order)
		return false;
	memcpy(&order, job, sizeof order);
	size -= sizeof order;
	if (arena)
		head.status = order.sheet ? picture_clean(arena, bytes, size, &head.made[0])
		                          : picture_clean_two(arena, bytes, size, &head.made[0],
		                                              &head.made[1]);
	text_add_bytes(answer, (const char *)&head, sizeof head);
	for (size_t i = 0; head.status == ST_OK && i < (order.sheet ? 1 : 2); i++)
		text_add_bytes(answer, head.made[i].bytes, head.made[i].size);
	return true;
}

const struct helper_rules picture_helper_rules = {work, SHOP_MEMORY, SHOP_SECONDS, 0};

/* ---- one picture ---- */

/* The worker may have been taken over by what it opened: only what is a picture of
 * the size that was asked for is taken. */
static bool is_fit(const struct picture *picture, unsigned side)
{
	struct picture_head head;

	return picture_kind_of(picture->bytes, picture->size) == picture->kind &&
	       (picture->kind == PICTURE_JPEG || picture->kind == PICTURE_PNG) &&
	       picture_head_read(picture->bytes, picture->size, &head) &&
	       head.width == picture->width && head.height == picture->height &&
	       head.width <= side && head.height <= side && head.orientation == 1;
}

static enum status read_picture(struct arena *arena, struct text *rest, unsigned side,
                                struct picture *picture)
{
	if (picture->size > rest->len)
		return ST_DENIED;
	picture->bytes = arena_copy(arena, rest->at, picture->size);
	rest->at += picture->size;
	rest->len -= picture->size;
	if (!picture->bytes)
		return ST_NOMEM;
	return is_fit(picture, side) ? ST_OK : ST_DENIED;
}

static enum status read_answer(struct arena *arena, const struct text *answer,
                               struct picture_order *order)
{
	struct answer_head head;
	struct text rest = *answer;
	enum status status;

	if (rest.len < sizeof head)
		return ST_DENIED;
	memcpy(&head, rest.at, sizeof head);
	if (order->sheet)
		head.made[1] = (struct picture){.kind = PICTURE_NONE};
	rest.at += sizeof head;
	rest.len -= sizeof head;
	if (head.status == ST_INVALID || head.status == ST_LIMIT)
		return head.status;
	if (head.status != ST_OK)
		return ST_DENIED; /* out of its own memory: that is its limit */
	status = read_picture(arena, &rest, order->sheet ? PICTURE_SIDE : PICTURE_LARGE,
	                      &head.made[0]);
	if (status == ST_OK && !order->sheet)
		status = read_picture(arena, &rest, PICTURE_SMALL, &head.made[1]);
	if (status == ST_OK)
		memcpy(order->made, head.made, sizeof head.made);
	return status;
}

static enum status make_one(struct helper *helper, struct arena *arena, struct picture_order *order)
{
	const struct order_head head = {order->sheet};
	const struct helper_part parts[] = {{&head, sizeof head}, {order->bytes, order->size}};
	struct text answer = TEXT_EMPTY;
	enum status status = helper ? helper_ask(helper, parts, 2, &answer) : ST_IO;

	if (status == ST_OK)
		status = read_answer(arena, &answer, order);
	text_free(&answer);
	return status;
}

/* ---- jobs ---- */

struct picture_job {
	struct arena *arena;
	struct picture_order *orders;
	size_t count;
	size_t made; /* so many of them, in order */
	int64_t member;
	int64_t pixels;
	void (*done)(void *with);
	void *with;
	struct picture_job *next; /* in the shop */
};

struct picture_job *picture_job_new(struct arena *arena, int64_t member, int64_t pixels,
                                    struct picture_order *orders, size_t count)
{
	struct picture_job *job = ARENA_NEW(arena, struct picture_job);

	if (job)
		*job = (struct picture_job){.arena = arena,
		                            .orders = orders,
		                            .count = count,
		                            .member = member,
		                            .pixels = pixels};
	return job;
}

const struct picture_order *picture_job_order(const struct picture_job *job, size_t number)
{
	assert(number < job->count);
	return &job->orders[number];
}

size_t picture_job_count(const struct picture_job *job)
{
	return job->count;
}

static void make_next(struct helper *helper, struct picture_job *job)
{
	struct picture_order *order = &job->orders[job->made];

	order->status = make_one(helper, job->arena, order);
	if (order->status == ST_IO)
		log_line(LOG_LEVEL_TROUBLE, "no picture can be opened: the process for it has died "
		                            "too often within a minute, or is gone");
	job->made++;
}

/* ---- the shop ---- */

struct picture_shop {
	struct helper *helper;
	pthread_t thread;
	pthread_mutex_t lock; /* guards all below */
	pthread_cond_t woken;
	struct picture_job *first; /* who is next; those behind it have waited less */
	size_t count;              /* of all that wait, with the one at work */
	int64_t pixels;            /* of these */
	int64_t at_work;           /* its member; 0: none */
	bool closed;
	bool started; /* of its owner's thread alone */
};

struct picture_shop *picture_shop_new(struct helper *helper)
{
	struct picture_shop *shop = mem_zero(sizeof *shop);

	if (!shop)
		return NULL;
	shop->helper = helper;
	pthread_mutex_init(&shop->lock, NULL);
	pthread_cond_init(&shop->woken, NULL);
	return shop;
}

void picture_shop_do(struct picture_shop *shop, struct picture_job *job)
{
	while (job->made < job->count)
		make_next(shop->helper, job);
}

static void send_back(struct picture_job *job)
{
	for (; job->made < job->count; job->made++)
		job->orders[job->made].status = ST_BUSY;
	job->done(job->with);
}

static void add_last(struct picture_shop *shop, struct picture_job *job)
{
	struct picture_job **end = &shop->first;

	while (*end)
		end = &(*end)->next;
	job->next = NULL;
	*end = job;
}

/* NULL: it is closed. */
static struct picture_job *take_first(struct picture_shop *shop)
{
	struct picture_job *job = NULL;

	pthread_mutex_lock(&shop->lock);
	while (!shop->first && !shop->closed)
		pthread_cond_wait(&shop->woken, &shop->lock);
	if (!shop->closed) {
		job = shop->first;
		shop->first = job->next;
		shop->at_work = job->member;
	}
	pthread_mutex_unlock(&shop->lock);
	return job;
}

/* Back behind the others, until all of it is made. */
static void put_back(struct picture_shop *shop, struct picture_job *job)
{
	bool ready = job->made == job->count;

	pthread_mutex_lock(&shop->lock);
	shop->at_work = 0;
	if (ready) {
		shop->count--;
		shop->pixels -= job->pixels;
	} else {
		add_last(shop, job);
	}
	pthread_mutex_unlock(&shop->lock);
	if (ready)
		job->done(job->with);
}

static void *keep_shop(void *at)
{
	struct picture_shop *shop = at;
	struct picture_job *job;

	while ((job = take_first(shop))) {
		make_next(shop->helper, job);
		put_back(shop, job);
	}
	return NULL;
}

enum status picture_shop_start(struct picture_shop *shop)
{
	assert(!shop->started);
	shop->started = pthread_create(&shop->thread, NULL, keep_shop, shop) == 0;
	return shop->started ? ST_OK : ST_NOMEM;
}

static bool has_one(const struct picture_shop *shop, int64_t member)
{
	for (const struct picture_job *job = shop->first; job; job = job->next)
		if (job->member == member)
			return true;
	return shop->at_work == member;
}

static bool admit(struct picture_shop *shop, struct picture_job *job)
{
	if (shop->closed || shop->count == SHOP_PLACES || has_one(shop, job->member) ||
	    job->pixels > SHOP_PIXELS - shop->pixels)
		return false;
	add_last(shop, job);
	shop->count++;
	shop->pixels += job->pixels;
	pthread_cond_signal(&shop->woken);
	return true;
}

void picture_shop_leave(struct picture_shop *shop, struct picture_job *job, void (*done)(void *),
                        void *with)
{
	bool admitted;

	job->done = done;
	job->with = with;
	pthread_mutex_lock(&shop->lock);
	admitted = admit(shop, job);
	pthread_mutex_unlock(&shop->lock);
	if (!admitted)
		send_back(job);
}

void picture_shop_close(struct picture_shop *shop)
{
	struct picture_job *job, *next;

	pthread_mutex_lock(&shop->lock);
	shop->closed = true;
	pthread_cond_signal(&shop->woken);
	pthread_mutex_unlock(&shop->lock);
	if (shop->started)
		pthread_join(shop->thread, NULL);
	shop->started = false;
	for (job = shop->first; job; job = next) {
		next = job->next;
		send_back(job);
	}
	shop->first = NULL;
}

void picture_shop_free(struct picture_shop *shop)
{
	if (!shop)
		return;
	assert(!shop->started && !shop->first);
	pthread_cond_destroy(&shop->woken);
	pthread_mutex_destroy(&shop->lock);
	mem_free(shop);
}
