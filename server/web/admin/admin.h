/* admin.h - running the chapter's box: members, invites, settings, the log. */
#ifndef WEB_ADMIN_ADMIN_H
#define WEB_ADMIN_ADMIN_H

#include "web/http/context.h"

extern const struct input admin_list_query[];
extern const struct input log_query[];
extern const struct input member_remove_inputs[];
extern const struct input setting_inputs[];
extern const struct input role_inputs[];
extern const struct input invite_inputs[];

enum status page_admin(struct context *c);
enum status act_verify(struct context *c);
enum status page_settings(struct context *c);
enum status act_settings(struct context *c);
enum status page_log(struct context *c);

enum status page_members(struct context *c);
enum status page_member(struct context *c); /* {id} in these */
enum status act_member_role(struct context *c);
enum status act_member_disable(struct context *c);
enum status act_member_enable(struct context *c);

enum status page_member_remove(struct context *c);
enum status act_member_remove(struct context *c);
enum status act_member_code_off(struct context *c); /* no second factor any more */
enum status act_member_reset(struct context *c);    /* a link that sets a new password */

enum status page_invites(struct context *c);
enum status act_invite_make(struct context *c);
enum status act_invite_revoke(struct context *c); /* {id} */

/* The page that ?page=n asks for, of a list with so many rows on each. */
struct page list_page(const struct context *c, int64_t rows);

#endif
