/* httpd.h - the socket side: libmicrohttpd in front of app_handle.
 *
 * A small pool of polling threads; a slow or idle peer costs a connection but
 * no thread. Limits: connections in all and by address, seconds of silence,
 * bytes of head and body. A body is collected in memory up to its route's
 * limit and refused before that when Content-Length announces more.
 */
#ifndef WEB_HTTPD_H
#define WEB_HTTPD_H

#include "web/app.h"

struct httpd_config {
	const char *address; /* IPv4 or IPv6 literal, "127.0.0.1" */
	uint16_t port;       /* 0: any free one */
	unsigned threads;    /* 0: as many as suit the machine */
	unsigned idle;       /* seconds of silence until a connection is closed; 0: 20 */
};

struct httpd;

/* Starts serving. ST_INVALID: not an address; ST_IO: the port is taken. */
enum status httpd_start(struct app *app, const struct httpd_config *config,
                        struct httpd **out) MUST_CHECK;

uint16_t httpd_port(const struct httpd *httpd);

/* Lets running requests end, then stops. NULL is allowed. */
void httpd_stop(struct httpd *httpd);

#endif
