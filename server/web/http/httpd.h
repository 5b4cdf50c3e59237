/* httpd.h - the socket side: libmicrohttpd in front of app_handle.
 *
 * A small pool of polling threads; a slow or idle peer costs a connection but
 * no thread. Limits: connections in all and by address (door.h), seconds of
 * silence, of a head, of a body, of an answer, bytes of head and body. A head that
 * reads in two ways is refused (head.h).
 *
 * Who may send a body is asked when its head has come: only small ones are taken
 * from callers without a session. A body is collected in memory up to its route's
 * limit. One that is refused is read and dropped, so that its sender hears why, and
 * counts for nothing; unless it asked first (Expect: 100-continue), or is beyond
 * all measure: then the connection is closed at once.
 */
#ifndef WEB_HTTP_HTTPD_H
#define WEB_HTTP_HTTPD_H

#include "web/http/app.h"

struct httpd_config {
	const char *address; /* IPv4 or IPv6 literal, "127.0.0.1" */
	uint16_t port;       /* 0: any free one */
	unsigned threads;    /* 0: as many as suit the machine */
	unsigned idle;       /* seconds of silence until a connection is closed; 0: 20 */
	unsigned head;       /* seconds from a request line to the end of its head; 0: 10 */
	unsigned slow; /* seconds for a body or an answer beside what its length gives; 0: 30 */
	size_t bodies_most; /* bytes of all large bodies held at once, half of it for one
	                       caller; 0: 128 MiB. Beyond: 503 */
};

struct httpd;

/* How many threads it will have: 4 to 8. */
unsigned httpd_threads(unsigned wanted);

/* Starts serving. ST_INVALID: not an address; ST_IO: the port is taken; ST_LIMIT:
 * too few files may be open at once (the log says how many it takes). */
enum status httpd_start(struct app *app, const struct httpd_config *config,
                        struct httpd **out) MUST_CHECK;

uint16_t httpd_port(const struct httpd *httpd);

/* Takes no more requests, waits for the handlers that run, closes. NULL is allowed. */
void httpd_stop(struct httpd *httpd);

#endif
