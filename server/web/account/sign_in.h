/* sign_in.h - coming in and going out: sign-in, sign-out, joining by an invite, a
 * new password by a reset link. */
#ifndef WEB_ACCOUNT_SIGN_IN_H
#define WEB_ACCOUNT_SIGN_IN_H

#include "web/http/context.h"

extern const struct input sign_in_query[];
extern const struct input sign_in_inputs[];
extern const struct input sign_in_code_inputs[];
extern const struct input demo_inputs[];
extern const struct input join_inputs[];
extern const struct input reset_inputs[];

enum status page_sign_in(struct context *c);
enum status act_sign_in(struct context *c);
/* The second step of those who have a second factor. */
enum status act_sign_in_code(struct context *c);
/* Signs in as a builder, a steward or an admin of the demonstration; elsewhere
 * there is no such address. */
enum status act_sign_in_demo(struct context *c);
enum status act_sign_out(struct context *c);

/* Has the member a second factor that counts? */
enum status sign_in_needs_code(struct context *c, struct member_id member, bool *out) MUST_CHECK;

/* {token}: of an invite. */
enum status page_join(struct context *c);
enum status act_join(struct context *c);

/* {token}: of a reset link. */
enum status page_reset(struct context *c);
enum status act_reset(struct context *c);

#endif
