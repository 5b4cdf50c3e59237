/* mail.h - a member's address for mail, the links in mails, and what an admin
 * sees of the outbox.
 */
#ifndef WEB_ACCOUNT_MAIL_H
#define WEB_ACCOUNT_MAIL_H

#include "web/http/context.h"

extern const struct input mail_inputs[];
extern const struct input mail_choice_inputs[];
extern const struct input mail_stop_inputs[];

enum status page_mail(struct context *c);
enum status act_mail(struct context *c); /* an address, or the same once more */
enum status act_mail_choices(struct context *c);
enum status act_mail_remove(struct context *c);

/* By links in mails: {token} is the right. Programs that look at every link of a
 * mail only GET, so that a GET changes nothing. */
enum status page_mail_confirm(struct context *c);
enum status act_mail_confirm(struct context *c);
enum status page_mail_stop(struct context *c);
enum status act_mail_stop(struct context *c); /* by its button, or one click (RFC 8058) */

enum status page_outbox(struct context *c);
enum status act_outbox_again(struct context *c); /* {mail} */

#endif
