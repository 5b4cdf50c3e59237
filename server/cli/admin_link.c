/* admin-link: a new password for an admin who has nobody to ask. */
#include "cli/command.h"

#include <stdio.h>

#include "cli/database.h"
#include "os/clock.h"
#include "os/token.h"
#include "store/members.h"
#include "store/second_factors.h"
#include "store/settings.h"

#define LINK_SECONDS (2 * INT64_C(86400))

static enum status find_admin(struct store *store, struct arena *arena, const char *login,
                              struct member *out)
{
	enum status status = member_find(store, arena, login, out);

	if (status == ST_MISSING)
		command_failed("nobody here has the login %s", login);
	else if (status == ST_OK && (out->role != ROLE_ADMIN || out->disabled))
		command_failed("%s is %s; an admin makes the link on the page of the member", login,
		               out->disabled ? "shut out" : "no admin");
	else if (status == ST_OK)
		return ST_OK;
	else
		command_failed("cannot read the members: %s", status_words(status));
	return ST_DENIED;
}

/* Both or neither. */
static enum status make_link(struct store *store, struct member_id member, bool code_off,
                             const char *token, int64_t now)
{
	struct hash hash = hash_of(token, TOKEN_LENGTH);
	enum status status = store_begin(store);

	if (status != ST_OK)
		return status;
	status = reset_offer(store, member, &hash, now + LINK_SECONDS);
	if (status == ST_OK && code_off) {
		status = second_end(store, member);
		if (status == ST_MISSING) /* there is none */
			status = ST_OK;
	}
	if (status == ST_OK)
		return store_commit(store);
	store_rollback(store);
	return status;
}

static int print_link(struct store *store, struct arena *arena, const struct command_args *args)
{
	int64_t now = clock_now();
	const char *address = "";
	struct member member;
	char token[TOKEN_SIZE];
	enum status status = find_admin(store, arena, args->file, &member);

	if (status != ST_OK)
		return 1;
	token_make(token);
	store_act_for(store, 0, now);
	status = setting_text(store, arena, SETTING_ADDRESS, &address);
	if (status == ST_OK)
		status = make_link(store, member.id, args->code_off, token, now);
	if (status != ST_OK)
		return command_failed("cannot make the link: %s", status_words(status));
	printf("new password for %s: %s/new-password/%s\n", member.login,
	       *address ? address : "http://127.0.0.1:8080", token);
	if (!*address)
		printf("(put the address by which you reach this box in place of "
		       "127.0.0.1:8080)\n");
	return 0;
}

int command_admin_link(const struct command_args *args)
{
	struct store *store = database_open_existing(args->data);
	struct arena *arena = arena_new();
	int result = 1;

	if (store && arena)
		result = print_link(store, arena, args);
	arena_free(arena);
	store_close(store);
	return result;
}
