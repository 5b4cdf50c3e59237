#include "web/http/room.h"

#include <assert.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"

#define CALLER_LONGEST 64

struct share {
	char caller[CALLER_LONGEST];
	size_t bytes; /* 0: this entry is free */
};

struct room {
	pthread_mutex_t lock;
	size_t most, most_each;
	size_t taken;
	unsigned count;
	struct share shares[];
};

struct room *room_new(size_t most, size_t most_each, unsigned callers)
{
	struct room *room = mem_zero(sizeof *room + callers * sizeof(struct share));

	if (!room)
		return NULL;
	pthread_mutex_init(&room->lock, NULL);
	room->most = most;
	room->most_each = most_each;
	room->count = callers;
	return room;
}

void room_free(struct room *room)
{
	if (!room)
		return;
	pthread_mutex_destroy(&room->lock);
	mem_free(room);
}

/* The caller's share; one that is free when it holds nothing; NULL when none is. */
static struct share *share_of(struct room *room, const char *caller)
{
	struct share *free = NULL;

	for (unsigned i = 0; i < room->count; i++) {
		struct share *share = &room->shares[i];

		if (share->bytes == 0)
			free = free ? free : share;
		else if (strncmp(share->caller, caller, CALLER_LONGEST - 1) == 0)
			return share;
	}
	return free;
}

bool room_take(struct room *room, const char *caller, size_t bytes)
{
	struct share *share;
	bool fits;

	pthread_mutex_lock(&room->lock);
	share = share_of(room, caller);
	fits = share && bytes <= room->most - room->taken &&
	       bytes <= room->most_each - share->bytes;
	if (fits) {
		snprintf(share->caller, sizeof share->caller, "%s", caller);
		share->bytes += bytes;
		room->taken += bytes;
	}
	pthread_mutex_unlock(&room->lock);
	return fits;
}

void room_give(struct room *room, const char *caller, size_t bytes)
{
	struct share *share;

	if (bytes == 0)
		return;
	pthread_mutex_lock(&room->lock);
	share = share_of(room, caller);
	assert(share && share->bytes >= bytes);
	share->bytes -= bytes;
	room->taken -= bytes;
	pthread_mutex_unlock(&room->lock);
}
