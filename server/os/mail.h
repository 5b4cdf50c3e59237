/* mail.h - handing one message to one mail server (SMTP, RFC 5321), by libcurl.
 *
 * TLS is asked of every server but one on this machine itself, unless who runs
 * the box allows to go without: with smtps:// from the first byte, with
 * smtp:// by STARTTLS (RFC 3207), and a server that does not offer it gets
 * nothing. Certificates are checked. No other protocol, proxy or redirect is
 * ever followed.
 *
 * What became of a message is told in four words, because a mail must never go
 * out twice: once the last byte of it is on its way and no answer comes, nobody
 * can know, and that is MAIL_UNSURE_SENT, which is not "try again".
 */
#ifndef OS_MAIL_H
#define OS_MAIL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

#define MAIL_ADDRESS_LONGEST 254       /* bytes; RFC 5321 section 4.5.3.1.3, without < and > */
#define MAIL_LONGEST ((size_t)1 << 20) /* bytes of a message */
#define MAIL_FAULT_SIZE 300

struct mail_server {
	const char *url;      /* smtp://HOST[:PORT] or smtps://HOST[:PORT], nothing behind it */
	const char *user;     /* NULL: no sign-in; then password counts for nothing */
	const char *password; /* never NULL with a user */
	bool plain;           /* smtp:// to another machine may go without TLS */
	unsigned seconds;     /* for one message, everything in it; 0: 120 */
};

struct mail_letter {
	const char *from;    /* both: mail_address_ok */
	const char *to;      /* */
	const char *message; /* RFC 5322, lines end with CR LF */
	size_t len;
};

enum mail_outcome {
	MAIL_ACCEPTED,   /* the server has taken it over */
	MAIL_REFUSED,    /* for good: 5yz to the recipient or to the message */
	MAIL_LATER,      /* not taken: 4yz, no server, no TLS, sign-in refused, stopped */
	MAIL_UNSURE_SENT /* all of it went out, and the connection ended without an answer */
};

/* Makes libcurl ready; once, before the first thread starts. ST_IO. */
enum status mail_start(void) MUST_CHECK;

/* What is wrong with the server as it is set up, in words that follow "the
 * mail server"; NULL when nothing is. Borrowed. */
const char *mail_server_fault(const struct mail_server *server);

/* A mailbox as nearly all are: a dot-atom of ASCII (RFC 5322 section 3.2.3) of
 * at most 64 bytes, @, and a domain of two or more labels of letters, digits
 * and inner hyphens (RFC 1035 section 2.3.1), of which the last is not all
 * digits. No quoted names, comments, address literals or other alphabets,
 * although RFC 5321 and 6531 know them. */
bool mail_address_ok(const char *address);

/* May a long wait end? Asked about once a second, in the caller's thread. */
typedef bool mail_end_fn(void *context);

/* Waits until it is done; ended early when `end` (NULL: never) says so, but not
 * while the answer to a whole message is due. fault gets, unless accepted, what
 * was said last, in printable ASCII: the server's line, which begins with its
 * code, or libcurl's words, which begin with no digit. The server has no fault,
 * the letter is at most MAIL_LONGEST. Several threads may call it. */
enum mail_outcome mail_hand_over(const struct mail_server *server, const struct mail_letter *letter,
                                 mail_end_fn *end, void *context, char fault[MAIL_FAULT_SIZE]);

#endif
