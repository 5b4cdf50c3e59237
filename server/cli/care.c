/* backup, verify: care for the database. */
#include "cli/command.h"

#include <stdio.h>

#include "cli/database.h"
#include "store/backup.h"

int command_backup(const struct command_args *args)
{
	struct store *store = database_open_existing(args->data);
	enum status status;

	if (!store)
		return 1;
	status = backup_to(store, args->file);
	store_close(store);
	if (status == ST_CONFLICT)
		return command_failed("%s is there already; it was left as it is", args->file);
	if (status != ST_OK)
		return command_failed("cannot copy to %s: %s", args->file, status_words(status));
	printf("copied to %s\n", args->file);
	return 0;
}

static void say_chain(const struct chain_fault *fault)
{
	static const char *const what[] = {
	        [CHAIN_CHANGED] = "is not what was entered",
	        [CHAIN_MISSING] = "is missing, or one before it",
	        [CHAIN_CUT] = "does not fit the number of records that were entered",
	};

	command_failed("records of kit %lld: the record at place %lld %s", (long long)fault->kit.v,
	               (long long)fault->place, what[fault->kind]);
}

int command_verify(const struct command_args *args)
{
	struct store *store = database_open_existing(args->data);
	struct arena *arena = arena_new();
	struct verify_report report = {.database = ""};
	enum status status = ST_IO;

	if (store && arena)
		status = backup_verify(store, arena, &report);
	if (status == ST_OK)
		printf("sound: the database, and the chain of %lld records\n",
		       (long long)report.records);
	else if (status == ST_INVALID && report.chain_broken)
		say_chain(&report.chain);
	else if (status == ST_INVALID)
		command_failed("the database is damaged: %s", report.database);
	else if (store)
		command_failed("cannot verify: %s", status_words(status));
	store_close(store);
	arena_free(arena);
	return status == ST_OK ? 0 : 1;
}
