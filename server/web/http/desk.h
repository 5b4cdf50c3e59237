/* desk.h - where forms that change something are handled, away from all readers.
 *
 * Who writes waits for whoever else writes: another form, a round in the
 * background, a program outside that holds the database. On one of the web's threads
 * that wait would hold up every connection of that thread, readers too. So
 * such a request is put aside (httpd.c) and handled by one of the desk's few threads,
 * in the order of arrival; the web's threads only read.
 *
 * DESK_PLACES wait at most, DESK_PLACES_OF_ONE of one caller; who finds no place is
 * told at once. Who has one waits for others' changes until DESK_PATIENCE after coming,
 * and is told then: so the last one hears as soon as the first.
 */
#ifndef WEB_HTTP_DESK_H
#define WEB_HTTP_DESK_H

#include <stdbool.h>
#include <stdint.h>

#define DESK_THREADS 4
#define DESK_PLACES 64
#define DESK_PLACES_OF_ONE 16
#define DESK_PATIENCE 5000      /* milliseconds */
#define DESK_PATIENCE_LEAST 250 /* of who has waited longer than that for a thread */

/* Part of what the caller keeps until work or turn_away has been called. */
struct desk_task {
	const char *caller;                        /* borrowed; what is counted as one */
	void (*work)(struct desk_task *task);      /* in one of the desk's threads */
	void (*turn_away)(struct desk_task *task); /* the desk is closed, or full */
	int64_t came;                              /* by clock_steady; all below is the desk's */
	struct desk_task *next;
};

struct desk;

struct desk *desk_new(void);        /* no thread yet; NULL: memory ran out */
void desk_free(struct desk *desk);  /* NULL is allowed; after desk_close */
void desk_close(struct desk *desk); /* who is at work ends it; all others are turned away */

/* Any thread; turn_away may be called from it. */
void desk_leave(struct desk *desk, struct desk_task *task);
/* The same for one that was at the desk and went away for a while: it has a place. */
void desk_leave_again(struct desk *desk, struct desk_task *task);

/* Milliseconds that a change may yet wait. */
int desk_patience(const struct desk_task *task);

#endif
