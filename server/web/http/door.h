/* door.h - who comes in, and how long each may take for what.
 *
 * One thread accepts connections, gives each a place, and hands its socket on to
 * whoever serves it. That one says what a connection is at; each stage has a time
 * in which it must end. A connection that is late is shut down, and its place is
 * free again when its server has closed it.
 *
 * When the house is nearly full, those who only wait make room for newcomers: of
 * the address that holds most places, the connection that has waited longest. So
 * who takes many places takes them from themselves. While no place is free, nobody
 * is turned away: newcomers wait in the kernel's queue.
 */
#ifndef WEB_HTTP_DOOR_H
#define WEB_HTTP_DOOR_H

#include <stdbool.h>
#include <stdint.h>
#include <sys/socket.h>

#include "base/status.h"

struct door;
struct place;

enum door_stage {
	DOOR_WAITING, /* for a request: new, or between two */
	DOOR_HEAD,    /* a request line has come, its fields have not all */
	DOOR_BODY,    /* a body is on its way */
	DOOR_ANSWER   /* worked on and sent: makes room for nobody */
};

struct door_setup {
	struct sockaddr_storage at;
	unsigned places;
	unsigned per_address; /* places that one address may hold */
	unsigned first;       /* seconds until a new connection must have sent a request line */
	/* Takes the socket and closes it in the end, whatever happens; false: at once. */
	bool (*serve)(void *context, int fd, const struct sockaddr *from, socklen_t len);
	void *context;
};

/* Listens. ST_IO: the port is taken; ST_NOMEM. */
enum status door_new(const struct door_setup *setup, struct door **out) MUST_CHECK;
/* Lets newcomers in from now on. ST_NOMEM. */
enum status door_begin(struct door *door) MUST_CHECK;

/* Lets nobody in any more; the places stay until door_free. */
void door_shut(struct door *door);
/* When every connection is closed. NULL is allowed. */
void door_free(struct door *door);

uint16_t door_port(const struct door *door);

/* The place of a socket that serve was given; NULL when it has none any more. */
struct place *door_place(struct door *door, int fd);
/* Before the socket is closed. */
void door_leave(struct door *door, struct place *place);

/* The connection is at that stage from now on, for so many seconds at most.
 * place may be NULL. */
void door_stage(struct door *door, struct place *place, enum door_stage stage, unsigned seconds);

#endif
