/* mail_text.h - one message as the text that goes over the wire (RFC 5322).
 *
 * Plain text in UTF-8, quoted-printable (RFC 2045 section 6.7), so that no line
 * is longer than 76 characters whatever a notice says. Subjects and names that
 * are not plain ASCII become encoded words (RFC 2047). What a member typed can
 * never begin a header field: control characters become blanks before anything
 * is written, and broken UTF-8 becomes "?".
 */
#ifndef FORMATS_MAIL_TEXT_H
#define FORMATS_MAIL_TEXT_H

#include <stdint.h>

#include "base/text.h"

struct mail_message {
	const char *from;      /* address, as mail_address_ok (os/mail.h) takes it */
	const char *from_name; /* shown before it; "" for none */
	const char *to;        /* address, likewise */
	const char *subject;   /* not empty */
	const char *body;      /* UTF-8 with \n; ends as it likes */
	int64_t id;            /* of the outbox row: names the message together with made_at, */
	int64_t made_at;       /* the same however often it is tried */
	int64_t now;           /* for Date */
	const char *stop_url;  /* where one ends such mail (RFC 2369); NULL: no such fields. With
	                        * https also by one click (RFC 8058) */
};

/* Adds head, empty line and body, with CR LF. */
void mail_text(struct text *out, const struct mail_message *message);

/* Parts of it, for the tests: a field with unstructured text, folded; a body. */
void mail_text_words(struct text *out, const char *field, const char *words);
void mail_text_body(struct text *out, const char *body);

#endif
