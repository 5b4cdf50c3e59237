/* What each operation of the store changes, and nothing beside it.
 *
 * Every operation is called in a chapter with at least two of everything
 * (crowd.h), and the whole database is compared with what it was before, row by
 * row. writes.txt says for each operation which rows may go, come and change,
 * and to what: a row of somebody else's that is hit fails the test, and so does
 * one that should have changed. An operation that only reads has no lines.
 *
 * After a change that is meant, read what differs, then write the list anew:
 *
 *     WRITES=tests/store/writes.txt build/test_writes
 *
 * The operations are held to the headers, so that a new function of the store
 * without a place in operations.c fails here.
 */
#include "operations.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SAID TESTS_DIR "/store/writes.txt"
#define HEADERS TESTS_DIR "/../server/store"

static char *file_text(const char *path)
{
	FILE *file = fopen(path, "rb");
	struct text text = TEXT_EMPTY;
	char piece[4096];
	size_t n;

	if (!file)
		fail_msg("%s cannot be read", path);
	while ((n = fread(piece, 1, sizeof piece, file)) > 0)
		text_add_bytes(&text, piece, n);
	fclose(file);
	assert_false(text_failed(&text));
	assert_non_null(text.at);
	return text.at;
}

struct stage {
	struct world *w;
	struct crowd crowd;
	struct copy *fresh;
};

static void stage_set(struct stage *stage)
{
	void *state;

	crowd_make(&state, &stage->crowd);
	stage->w = state;
	stage->fresh = copy_take(stage->w->store);
}

static void stage_clear(struct stage *stage)
{
	void *state = stage->w;

	copy_free(stage->fresh);
	world_end(&state);
}

/* "name", then what changed, a line each after a tab. */
static void try_operation(struct stage *stage, const struct operation *operation, struct text *out)
{
	struct arena *arena = arena_new();
	struct text changes = TEXT_EMPTY;
	struct copy *before;
	enum status status;

	copy_restore(stage->fresh, stage->w->store);
	if (operation->prepare)
		operation->prepare(stage->w);
	before = copy_take(stage->w->store);
	status = operation->run(stage->w, arena);
	copy_changes(before, stage->w->store, &changes);
	text_printf(out, "%s\n", operation->name);
	if (status != ST_OK)
		text_printf(out, "\t! %s\n", status_words(status));
	for (const char *at = text_string(&changes); *at; at = strchr(at, '\n') + 1)
		text_printf(out, "\t%.*s\n", (int)strcspn(at, "\n"), at);
	copy_free(before);
	text_free(&changes);
	arena_free(arena);
}

/* The lines of one operation in the list, its name first. NULL: it has none.
 * Owned: free. */
static char *lines_of(const char *said, const char *name)
{
	size_t len = strlen(name);

	for (const char *at = said; at && *at; at = strchr(at, '\n') + 1) {
		const char *end = at + len + 1;

		if (strncmp(at, name, len) != 0 || at[len] != '\n')
			continue;
		while (*end == '\t')
			end = strchr(end, '\n') + 1;
		return strndup(at, (size_t)(end - at));
	}
	return NULL;
}

/* Where a person asks for the list. */
static void keep_list(const struct text *all)
{
	const char *path = getenv("WRITES");
	FILE *file = path ? fopen(path, "wb") : NULL;

	if (!file)
		return;
	fputs(text_string(all), file);
	fclose(file);
}

static void operations_change_what_is_said(void **state)
{
	char *said = file_text(SAID);
	struct text all = TEXT_EMPTY;
	struct stage stage;
	size_t wrong = 0;

	(void)state;
	stage_set(&stage);
	for (size_t i = 0; i < operations_count; i++) {
		char *expected = lines_of(said, operations[i].name);
		struct text found = TEXT_EMPTY;

		try_operation(&stage, &operations[i], &found);
		if (!expected || strcmp(expected, text_string(&found)) != 0) {
			wrong++;
			print_error("said:\n%sfound:\n%s", expected ? expected : "",
			            text_string(&found));
		}
		text_add(&all, text_string(&found));
		text_free(&found);
		free(expected);
	}
	stage_clear(&stage);
	free(said);
	keep_list(&all);
	text_free(&all);
	assert_int_equal(wrong, 0);
}

/* ---- completeness ---- */

/* Ends of transactions, and what is not made of statements. */
static const char *const apart[] = {
        "store_set_read_only", "store_begin_at", "store_commit", "store_begin_reading",
        "store_end_reading",   "backup_to", /* SQLite's own interface for copies: test_store.c */
};

static bool is_tried(const char *function, size_t len)
{
	for (size_t i = 0; i < sizeof apart / sizeof *apart; i++)
		if (strlen(apart[i]) == len && strncmp(apart[i], function, len) == 0)
			return true;
	for (size_t i = 0; i < operations_count; i++)
		if (strlen(operations[i].function) == len &&
		    strncmp(operations[i].function, function, len) == 0)
			return true;
	return false;
}

/* Functions of a header whose first parameter is the store; returns how many. */
static size_t look_at_header(const char *name, size_t *lacking)
{
	static const char opening[] = "\nenum status ", store[] = "(struct store *store";
	char path[512];
	char *text;
	size_t count = 0;

	snprintf(path, sizeof path, HEADERS "/%s", name);
	text = file_text(path);
	/* What the layer keeps to itself is tried by what calls it. */
	if (!strstr(text, "not for other layers"))
		for (char *at = strstr(text, opening); at; at = strstr(at, opening)) {
			size_t len;

			at += strlen(opening);
			len = strcspn(at, "(");
			if (strncmp(at + len, store, strlen(store)) != 0)
				continue;
			count++;
			if (is_tried(at, len))
				continue;
			++*lacking;
			print_error("%s: %.*s is not in operations.c\n", name, (int)len, at);
		}
	free(text);
	return count;
}

static void every_function_of_the_headers_is_tried(void **state)
{
	DIR *folder = opendir(HEADERS);
	size_t lacking = 0, count = 0;

	(void)state;
	assert_non_null(folder);
	for (struct dirent *entry = readdir(folder); entry; entry = readdir(folder)) {
		size_t len = strlen(entry->d_name);

		if (len > 2 && strcmp(entry->d_name + len - 2, ".h") == 0)
			count += look_at_header(entry->d_name, &lacking);
	}
	closedir(folder);
	assert_true(count > 180); /* there were 187 when this was written */
	assert_int_equal(lacking, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(operations_change_what_is_said),
	        cmocka_unit_test(every_function_of_the_headers_is_tried),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
