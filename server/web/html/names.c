#include "web/html/names.h"

static const char *name_or(const struct context *c, const char *name, const char *what)
{
	return c->member || !*name ? name : what;
}

const char *name_of_member(const struct context *c, const char *name)
{
	return name_or(c, name, "a member");
}

const char *name_of_steward(const struct context *c, const char *name)
{
	return name_or(c, name, "a steward");
}

const char *name_of_admin(const struct context *c, const char *name)
{
	return name_or(c, name, "an admin");
}

bool name_is_open(const struct context *c, enum credit credit)
{
	return credit == CREDIT_EVERYBODY || (credit == CREDIT_MEMBERS && c->member);
}

const char *name_chosen(const struct context *c, struct member_id who, const char *name,
                        enum credit credit)
{
	if (c->member && c->member->id.v == who.v)
		return "you";
	return name_is_open(c, credit) ? name : "a member";
}
