/* backup, verify, reseal: care for the database. */
#include "cli/care.h"

#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "cli/command.h"
#include "cli/database.h"
#include "os/clock.h"
#include "os/log.h"
#include "store/backup.h"
#include "store/copies.h"

/* What is wrong ----------------------------------------------------------------- */

static void add_fault(struct text *out, const char *words)
{
	if (out->len)
		text_add_char(out, '\n');
	text_add(out, words);
}

static void add_chain(struct text *out, const struct chain_fault *fault)
{
	static const char *const what[] = {
	        [CHAIN_CHANGED] = "is not what was entered",
	        [CHAIN_MISSING] = "is missing, or one before it",
	        [CHAIN_CUT] = "does not fit the number of records that were entered",
	};

	add_fault(out, "");
	text_printf(out, "records of kit %lld: the record at place %lld %s",
	            (long long)fault->kit.v, (long long)fault->place, what[fault->kind]);
}

static void add_seals(struct text *out, const struct seal_report *report)
{
	for (size_t i = 0; i < report->shown; i++) {
		add_fault(out, "");
		seal_fault_words(&report->faults[i], out);
	}
	if (report->found > (int64_t)report->shown) {
		add_fault(out, "");
		text_printf(out, "and %lld more", (long long)(report->found - report->shown));
	}
}

static void add_digest(struct text *out, const struct copy_digest *digest)
{
	add_fault(out, "");
	if (!digest->readable)
		text_add(out, "the digest beside the file is damaged itself");
	else
		text_printf(out,
		            "the file is not what its digest says: %lld pages changed, the first "
		            "is page %lld",
		            (long long)digest->pages, (long long)digest->page);
}

static void add_report(struct text *out, const struct verify_report *report)
{
	if (*report->database) {
		add_fault(out, "");
		text_printf(out, "the database is damaged: %s", report->database);
	}
	if (report->chain_broken)
		add_chain(out, &report->chain);
	add_seals(out, &report->seals);
}

static void say_faults(const struct text *faults)
{
	for (const char *at = text_string(faults); *at;) {
		size_t len = strcspn(at, "\n");

		command_failed("%.*s", (int)len, at);
		at += len + (at[len] == '\n');
	}
}

/* Checking ---------------------------------------------------------------------- */

struct findings {
	struct verify_report report;
	struct copy_digest digest;
	struct text faults; /* a line each; owned */
};

static enum status check_store(struct store *store, struct arena *arena, struct findings *out)
{
	enum status status = backup_verify(store, arena, &out->report);

	if (status == ST_INVALID)
		add_report(&out->faults, &out->report);
	else if (status == ST_IO)
		add_fault(&out->faults, "the database is damaged: it cannot be read to its end");
	return status == ST_IO ? ST_INVALID : status;
}

static enum status check(struct store *store, const char *path, struct findings *out)
{
	struct arena *arena = arena_new();
	enum status status = arena ? check_store(store, arena, out) : ST_NOMEM;
	enum status digest = copy_digest_check(path, &out->digest);

	if (digest == ST_INVALID)
		add_digest(&out->faults, &out->digest);
	if (status == ST_OK)
		status = digest;
	if (text_failed(&out->faults))
		status = ST_NOMEM;
	out->report.database = "";
	arena_free(arena);
	return status;
}

static void say_sound(const struct findings *found, int64_t version)
{
	printf("sound: the database, %lld rows against their seals%s, and the chain of %lld "
	       "records\n",
	       (long long)found->report.seals.rows,
	       found->digest.there ? ", every byte against its digest" : "",
	       (long long)found->report.records);
	if (version < store_version())
		printf("it is of version %lld, this program's is %d: serving it brings it up to "
		       "date\n",
		       (long long)version, store_version());
}

int command_verify(const struct command_args *args)
{
	struct findings found = {.faults = TEXT_EMPTY};
	int64_t version = 0;
	char *path = NULL;
	struct store *store = database_open_to_look(args->data, &path, &version);
	enum status status = store ? check(store, path, &found) : ST_IO;

	if (status == ST_OK)
		say_sound(&found, version);
	else if (status == ST_INVALID)
		say_faults(&found.faults);
	else if (store)
		command_failed("cannot verify: %s", status_words(status));
	text_free(&found.faults);
	store_close(store);
	mem_free(path);
	return status == ST_OK ? 0 : 1;
}

int command_reseal(const struct command_args *args)
{
	struct store *store = database_open_existing(args->data);
	enum status status;

	if (!store)
		return 1;
	status = backup_seal_anew(store);
	store_close(store);
	if (status != ST_OK)
		return command_failed("cannot seal anew: %s", status_words(status));
	printf("sealed anew: what the database holds now counts as right\n");
	return 0;
}

void care_at_start(struct store *store, struct text *out)
{
	struct seal_report report;
	enum status status = backup_look(store, &report);

	if (status == ST_OK) {
		log_line(LOG_LEVEL_NOTE, "the database fits its seals: %lld rows looked at",
		         (long long)report.rows);
		return;
	}
	add_seals(out, &report);
	if (!report.found)
		text_printf(out, "the seals cannot be looked at: %s", status_words(status));
	for (const char *at = text_string(out); *at;) {
		size_t len = strcspn(at, "\n");

		log_line(LOG_LEVEL_TROUBLE, "%.*s", (int)len, at);
		at += len + (at[len] == '\n');
	}
}

/* Copies ------------------------------------------------------------------------ */

/* Is the copy, as it lies there, what it should be? */
static enum status check_copy(const char *path, struct findings *out)
{
	struct store *copy = NULL;
	int64_t version = 0;
	enum status status = store_open_to_look(path, &copy, &version);

	if (status == ST_OK)
		status = check(copy, path, out);
	store_close(copy);
	return status;
}

/* An entry that cannot be made takes nothing from the copy. */
static void enter(struct store *store, const char *path, int64_t size, const char *fault)
{
	struct copy_entry entry = {clock_now(), size, path, fault};
	enum status status = copy_enter(store, &entry);

	if (status != ST_OK)
		command_failed("cannot enter this copy in the database: %s", status_words(status));
}

static int copied(struct store *store, const char *path, int64_t size)
{
	struct findings found = {.faults = TEXT_EMPTY};
	enum status status = check_copy(path, &found);

	if (status == ST_OK) {
		printf("copied to %s\n", path);
	} else if (status == ST_INVALID) {
		say_faults(&found.faults);
		command_failed("copied to %s, but the copy is not sound", path);
	} else {
		command_failed("copied to %s, but cannot check it: %s", path, status_words(status));
	}
	if (status != ST_OK && !found.faults.len)
		add_fault(&found.faults, status_words(status));
	enter(store, path, size, text_string(&found.faults));
	text_free(&found.faults);
	return status == ST_OK ? 0 : 1;
}

int command_backup(const struct command_args *args)
{
	struct store *store = database_open_existing(args->data);
	int64_t size = 0;
	enum status status;
	int result;

	if (!store)
		return 1;
	status = backup_to(store, args->file, &size);
	if (status == ST_OK && args->unlisted) {
		printf("copied to %s\n", args->file);
		result = 0;
	} else if (status == ST_OK) {
		result = copied(store, args->file, size);
	} else if (status == ST_CONFLICT) {
		result = command_failed("%s is there already; it was left as it is", args->file);
	} else {
		result = command_failed("cannot copy to %s: %s", args->file, status_words(status));
		if (!args->unlisted)
			enter(store, args->file, 0,
			      "the copy could not be written: is the disk full, or the folder "
			      "gone?");
	}
	store_close(store);
	return result;
}
