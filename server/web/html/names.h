/* names.h - who reads whose name: the one rule, for pages, feeds and the API.
 *
 * Members, by a session or a token, read each other's names. Visitors read what
 * somebody is, "a member" or "a steward", unless that member has chosen that
 * everybody may read the name, as can be done with field reports and answers.
 * What a name stands in is asked for here and nowhere else.
 */
#ifndef WEB_HTML_NAMES_H
#define WEB_HTML_NAMES_H

#include "store/reports.h"
#include "web/http/context.h"

/* The name, or to visitors what its owner is; "" stays so. Borrowed. */
const char *name_of_member(const struct context *c, const char *name);
const char *name_of_steward(const struct context *c, const char *name);
const char *name_of_admin(const struct context *c, const char *name);

/* May the caller read the name of somebody who has chosen so? */
bool name_is_open(const struct context *c, enum credit credit);

/* The name as its owner has chosen; "you" to its owner, "a member" to whoever may
 * not read it. Borrowed. */
const char *name_chosen(const struct context *c, struct member_id who, const char *name,
                        enum credit credit);

#endif
