/* The one GET that writes: one row that is there for it alone and stays as
 * large, so that a disk which takes nothing is seen before a member's form is.
 * However often strangers ask, it writes once in five seconds, and it takes no
 * turn before anybody's form: when the database is locked, it is being written.
 * Its route is bare, so that it answers also when no page can be made. */
#include "web/http/health.h"

#include <pthread.h>

#include "base/mem.h"
#include "os/disk.h"
#include "os/log.h"
#include "web/http/app_parts.h"
#include "web/http/respond.h"

#define ROOM_LEAST (1024 * 1024) /* bytes; a page with pictures would not fit */

struct health {
	pthread_mutex_t lock; /* guards all below */
	bool looked;
	int64_t at;
	const char *why; /* "" when all is well; a literal */
};

struct health *health_new(void)
{
	struct health *made = mem_zero(sizeof *made);

	if (made) {
		pthread_mutex_init(&made->lock, NULL);
		made->why = "";
	}
	return made;
}

void health_free(struct health *health)
{
	if (!health)
		return;
	pthread_mutex_destroy(&health->lock);
	mem_free(health);
}

static const char *look_at(struct store *store, const char *path, int64_t now)
{
	int64_t room = 0;
	enum status status;

	if (store_has_moved(store))
		return "the database is not at its place any more";
	if (disk_room(path, &room) == ST_OK && room < ROOM_LEAST)
		return "the disk is full";
	status = store_try_write(store, now);
	if (status != ST_OK && status != ST_BUSY)
		return "the database takes no writes";
	return "";
}

static const char *look(struct context *c)
{
	struct store *store = store_take(c->app->chapter->pool);
	const char *why = look_at(store, app_config(c->app)->database, c->now);

	store_give(c->app->chapter->pool, store);
	return why;
}

/* One caller looks; those who come meanwhile are told what was found before. */
static const char *find_why(struct context *c)
{
	struct health *health = c->app->health;
	const char *why;
	bool mine;

	pthread_mutex_lock(&health->lock);
	mine = !health->looked || c->now < health->at || c->now >= health->at + HEALTH_SECONDS;
	if (mine) {
		health->at = c->now;
		health->looked = true;
	}
	why = health->why;
	pthread_mutex_unlock(&health->lock);
	if (!mine)
		return why;
	if (c->app->chapter->standby) /* who asks wants to know of the newest copy */
		rounds_wake(c->app->chapter->rounds);
	why = look(c);
	pthread_mutex_lock(&health->lock);
	if (why[0] && why != health->why)
		log_line(LOG_LEVEL_TROUBLE, "%s", why);
	health->why = why;
	pthread_mutex_unlock(&health->lock);
	return why;
}

enum status page_health(struct context *c)
{
	const char *why = find_why(c);
	enum status status;

	char room[AS_OF_SIZE];
	const char *as_of = respond_as_of(c, room) ? room : NULL;

	if (!why[0])
		return respond_json(c, json_pack("{s:s, s:s*}", "status", "ok", "as_of", as_of),
		                    CACHE_NEVER);
	status = respond_json(
	        c, json_pack("{s:s, s:s, s:s*}", "status", "trouble", "why", why, "as_of", as_of),
	        CACHE_NEVER);
	c->response->status = 503;
	return status;
}
