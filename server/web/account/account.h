/* account.h - what a member sees and changes of their own. */
#ifndef WEB_ACCOUNT_ACCOUNT_H
#define WEB_ACCOUNT_ACCOUNT_H

#include "web/http/context.h"

extern const struct input account_inputs[];
extern const struct input password_inputs[];
extern const struct input remove_inputs[];
extern const struct input token_inputs[];
extern const struct input code_begin_inputs[], code_inputs[], code_end_inputs[];

enum status page_account(struct context *c);
enum status act_account(struct context *c); /* another name */
enum status page_password(struct context *c);
enum status act_password(struct context *c);
enum status page_account_remove(struct context *c);
enum status act_account_remove(struct context *c);

/* The second factor. */
enum status page_code(struct context *c);
enum status act_code_begin(struct context *c);
enum status act_code_confirm(struct context *c);
enum status act_code_end(struct context *c);
enum status act_code_recovery(struct context *c);

enum status page_sessions(struct context *c);
enum status act_session_end(struct context *c); /* {session} */
enum status act_sessions_end(struct context *c);
enum status page_tokens(struct context *c);
/* Those of the caller that end within TOKEN_TOLD_BEFORE seconds, or have: what the pages
 * of the account and of news tell in time. New reference. */
#define TOKEN_TOLD_BEFORE (14 * INT64_C(86400))
enum status tokens_ending(struct context *c, json_t **out) MUST_CHECK;
enum status act_token_make(struct context *c);
enum status act_token_revoke(struct context *c); /* {id} */

/* Everything that the database holds by and of the member, as one JSON file. */
enum status page_account_data(struct context *c);

#endif
