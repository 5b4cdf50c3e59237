#include "web/http/door.h"

#include <errno.h>
#include <netinet/in.h>
#include <poll.h>
#include <pthread.h>
#include <string.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include "base/mem.h"
#include "os/clock.h"
#include "os/log.h"

#define QUEUE 1024     /* newcomers that the kernel keeps waiting */
#define TICK 500       /* milliseconds between two looks for who is late */
#define OUT_OF_AIR 100 /* milliseconds without accepting after the system refused */

struct peer {
	struct in6_addr address; /* IPv4 as mapped */
	unsigned places;         /* 0: this entry is free */
};

struct place {
	int fd; /* -1: free */
	struct peer *peer;
	enum door_stage stage;
	int64_t since, until; /* clock_steady */
	bool shut;            /* told to end, not closed yet */
};

struct door {
	struct door_setup setup;
	int listener;
	int bell; /* eventfd: a place came free, or the door shuts */
	pthread_t thread;
	bool begun;
	pthread_mutex_t lock; /* of all below */
	bool shutting;
	unsigned taken; /* places */
	unsigned going; /* of these, told to end */
	struct peer *peers;
	struct place *places; /* setup.places each */
};

static struct in6_addr address_of(const struct sockaddr *from)
{
	struct in6_addr address = IN6ADDR_ANY_INIT;

	if (from->sa_family == AF_INET6) {
		address = ((const struct sockaddr_in6 *)(const void *)from)->sin6_addr;
		/* One household has the first 64 bits (RFC 6177 section 2). */
		if (!IN6_IS_ADDR_V4MAPPED(&address))
			memset(&address.s6_addr[8], 0, 8);
	} else if (from->sa_family == AF_INET) {
		address.s6_addr[10] = address.s6_addr[11] = 0xFF;
		memcpy(&address.s6_addr[12],
		       &((const struct sockaddr_in *)(const void *)from)->sin_addr, 4);
	}
	return address;
}

/* The entry of an address, a free one if it has none: there are as many as places. */
static struct peer *peer_of(struct door *door, const struct in6_addr *address)
{
	struct peer *free = NULL;

	for (unsigned i = 0; i < door->setup.places; i++) {
		struct peer *peer = &door->peers[i];

		if (peer->places == 0)
			free = free ? free : peer;
		else if (IN6_ARE_ADDR_EQUAL(&peer->address, address))
			return peer;
	}
	return free;
}

static void free_place(struct door *door, struct place *place)
{
	place->peer->places--;
	door->taken--;
	door->going -= place->shut;
	*place = (struct place){.fd = -1};
}

static void take_place(struct door *door, int fd, struct peer *peer, const struct in6_addr *address)
{
	struct place *place = door->places;
	int64_t now = clock_steady();

	/* A socket of that number is still here only if its server lost it unsaid. */
	for (unsigned i = 0; i < door->setup.places; i++)
		if (door->places[i].fd == fd)
			free_place(door, &door->places[i]);
	while (place->fd >= 0)
		place++;
	peer->address = *address;
	peer->places++;
	*place = (struct place){fd, peer, DOOR_WAITING, now, now + door->setup.first * 1000, false};
	door->taken++;
}

static void send_away(struct door *door, struct place *place)
{
	place->shut = true;
	door->going++;
	shutdown(place->fd, SHUT_RDWR);
}

static bool makes_room(const struct place *place)
{
	return place->fd >= 0 && !place->shut && place->stage != DOOR_ANSWER;
}

static bool makes_room_before(const struct place *a, const struct place *b)
{
	if (a->peer->places != b->peer->places)
		return a->peer->places > b->peer->places;
	return a->since < b->since;
}

/* One of that address (NULL: of any) has to go; false when none is free to. */
static bool make_room(struct door *door, const struct peer *of)
{
	struct place *first = NULL;

	for (unsigned i = 0; i < door->setup.places; i++) {
		struct place *place = &door->places[i];

		if (makes_room(place) && (!of || place->peer == of) &&
		    (!first || makes_room_before(place, first)))
			first = place;
	}
	if (first)
		send_away(door, first);
	return first != NULL;
}

/* One place of eight is kept free as far as others can make room. */
static bool nearly_full(const struct door *door)
{
	return door->taken - door->going >= door->setup.places - (door->setup.places + 7) / 8;
}

static bool let_in(struct door *door, int fd, const struct sockaddr *from)
{
	struct in6_addr address = address_of(from);
	struct peer *peer;
	bool welcome;

	pthread_mutex_lock(&door->lock);
	peer = peer_of(door, &address);
	welcome = peer->places < door->setup.per_address || make_room(door, peer);
	if (welcome) {
		if (nearly_full(door))
			make_room(door, NULL);
		take_place(door, fd, peer, &address);
	}
	pthread_mutex_unlock(&door->lock);
	return welcome;
}

/* One newcomer. false: the system has no more to give, or nobody is there. */
static bool accept_one(struct door *door)
{
	struct sockaddr_storage from = {.ss_family = AF_UNSPEC};
	struct sockaddr *at = (struct sockaddr *)&from;
	socklen_t len = sizeof from;
	int fd = accept4(door->listener, at, &len, SOCK_NONBLOCK | SOCK_CLOEXEC);

	if (fd < 0)
		return errno == ECONNABORTED || errno == EINTR;
	if (!let_in(door, fd, at))
		close(fd);
	else if (!door->setup.serve(door->setup.context, fd, at, len))
		door_leave(door, door_place(door, fd));
	return true;
}

static bool has_room(struct door *door)
{
	bool room;

	pthread_mutex_lock(&door->lock);
	room = door->taken < door->setup.places;
	pthread_mutex_unlock(&door->lock);
	return room;
}

/* As many as there is room for. false: the system refused. */
static bool accept_some(struct door *door)
{
	while (has_room(door))
		if (!accept_one(door)) {
			if (errno == EAGAIN || errno == EWOULDBLOCK)
				return true;
			log_line(LOG_LEVEL_TROUBLE, "no newcomer can be let in: %s",
			         strerror(errno));
			return false;
		}
	return true;
}

static void send_the_late_away(struct door *door, int64_t now)
{
	pthread_mutex_lock(&door->lock);
	for (unsigned i = 0; i < door->setup.places; i++) {
		struct place *place = &door->places[i];

		if (place->fd >= 0 && !place->shut && place->until <= now)
			send_away(door, place);
	}
	pthread_mutex_unlock(&door->lock);
}

static bool is_shutting(struct door *door)
{
	bool shutting;

	pthread_mutex_lock(&door->lock);
	shutting = door->shutting;
	pthread_mutex_unlock(&door->lock);
	return shutting;
}

/* Waits for a newcomer (if there is room), for the bell, or for the next look. */
static bool wait_for_some(struct door *door, bool breathless)
{
	struct pollfd wait[] = {{.fd = door->bell, .events = POLLIN},
	                        {.fd = door->listener, .events = POLLIN}};
	uint64_t rung;
	bool room = !breathless && has_room(door);

	poll(wait, room ? 2 : 1, breathless ? OUT_OF_AIR : TICK);
	if (wait[0].revents && read(door->bell, &rung, sizeof rung) < 0)
		return false; /* rung by somebody else meanwhile: as good */
	return room && wait[1].revents;
}

static void *keep_door(void *argument)
{
	struct door *door = argument;
	int64_t looked_at = clock_steady();
	bool breathless = false;

	while (!is_shutting(door)) {
		bool come = wait_for_some(door, breathless);
		int64_t now = clock_steady();

		breathless = come && !accept_some(door);
		if (breathless) {
			pthread_mutex_lock(&door->lock);
			make_room(door, NULL);
			pthread_mutex_unlock(&door->lock);
		}
		if (now - looked_at >= TICK) {
			send_the_late_away(door, now);
			log_tick(now);
			looked_at = now;
		}
	}
	return NULL;
}

static enum status listen_at(const struct sockaddr_storage *at, int *out)
{
	static const int on = 1;
	socklen_t len = at->ss_family == AF_INET6 ? sizeof(struct sockaddr_in6)
	                                          : sizeof(struct sockaddr_in);
	int fd = socket(at->ss_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);

	if (fd < 0)
		return ST_IO;
	setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
	if (at->ss_family == AF_INET6)
		setsockopt(fd, IPPROTO_IPV6, IPV6_V6ONLY, &on, sizeof on);
	if (bind(fd, (const struct sockaddr *)at, len) != 0 || listen(fd, QUEUE) != 0) {
		close(fd);
		return ST_IO;
	}
	*out = fd;
	return ST_OK;
}

static enum status furnish(struct door *door)
{
	unsigned count = door->setup.places;

	door->peers = mem_zero(count * sizeof *door->peers);
	door->places = mem_zero(count * sizeof *door->places);
	if (!door->peers || !door->places)
		return ST_NOMEM;
	for (unsigned i = 0; i < count; i++)
		door->places[i].fd = -1;
	door->bell = eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC);
	if (door->bell < 0)
		return ST_IO;
	return listen_at(&door->setup.at, &door->listener);
}

enum status door_begin(struct door *door)
{
	if (pthread_create(&door->thread, NULL, keep_door, door) != 0)
		return ST_NOMEM;
	door->begun = true;
	return ST_OK;
}

enum status door_new(const struct door_setup *setup, struct door **out)
{
	struct door *door = mem_zero(sizeof *door);
	enum status status;

	if (!door)
		return ST_NOMEM;
	door->setup = *setup;
	door->listener = door->bell = -1;
	pthread_mutex_init(&door->lock, NULL);
	status = furnish(door);
	if (status != ST_OK) {
		door_free(door);
		return status;
	}
	*out = door;
	return ST_OK;
}

static void ring(const struct door *door)
{
	static const uint64_t once = 1;

	if (write(door->bell, &once, sizeof once) < 0)
		return; /* full of rings already */
}

void door_shut(struct door *door)
{
	pthread_mutex_lock(&door->lock);
	door->shutting = true;
	pthread_mutex_unlock(&door->lock);
	ring(door);
	if (door->begun)
		pthread_join(door->thread, NULL);
	close(door->listener);
	door->listener = -1;
}

void door_free(struct door *door)
{
	if (!door)
		return;
	if (door->listener >= 0)
		close(door->listener);
	if (door->bell >= 0)
		close(door->bell);
	pthread_mutex_destroy(&door->lock);
	mem_free(door->peers);
	mem_free(door->places);
	mem_free(door);
}

uint16_t door_port(const struct door *door)
{
	struct sockaddr_storage at = {.ss_family = AF_UNSPEC};
	socklen_t len = sizeof at;

	getsockname(door->listener, (struct sockaddr *)&at, &len);
	return ntohs(at.ss_family == AF_INET6 ? ((struct sockaddr_in6 *)&at)->sin6_port
	                                      : ((struct sockaddr_in *)&at)->sin_port);
}

struct place *door_place(struct door *door, int fd)
{
	struct place *found = NULL;

	pthread_mutex_lock(&door->lock);
	for (unsigned i = 0; i < door->setup.places && !found; i++)
		if (door->places[i].fd == fd)
			found = &door->places[i];
	pthread_mutex_unlock(&door->lock);
	return found;
}

void door_leave(struct door *door, struct place *place)
{
	bool full;

	if (!place)
		return;
	pthread_mutex_lock(&door->lock);
	full = door->taken == door->setup.places;
	free_place(door, place);
	pthread_mutex_unlock(&door->lock);
	if (full)
		ring(door);
}

void door_stage(struct door *door, struct place *place, enum door_stage stage, unsigned seconds)
{
	int64_t now = clock_steady();

	if (!place)
		return;
	pthread_mutex_lock(&door->lock);
	place->stage = stage;
	place->since = now;
	place->until = now + (int64_t)seconds * 1000;
	pthread_mutex_unlock(&door->lock);
}
