/* What each operation of the store changes, and nothing beside it.
 *
 * Every operation is called in a chapter with at least two of everything
 * (crowd.h), and the whole database is compared with what it was before, row by
 * row. writes.txt says for each operation which rows may go, come and change,
 * and to what: a row of somebody else's that is hit fails the test, and so does
 * one that should have changed. An operation that only reads has no lines; one that is
 * refused has the reason, after "!", and no others.
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
	struct copy *fresh;
};

static void stage_set(struct stage *stage)
{
	void *state;

	crowd_make(&state);
	stage->w = state;
	stage->fresh = copy_take(stage->w->store);
}

static void stage_clear(struct stage *stage)
{
	void *state = stage->w;

	copy_free(stage->fresh);
	world_end(&state);
}

/* "name", then what changed, a line each after a tab. Inside a transaction that is
 * rolled back, so that the next one finds everything as it was. */
static void try_operation(struct stage *stage, const struct operation *operation, struct text *out)
{
	struct arena *arena = arena_new();
	struct text changes = TEXT_EMPTY;
	struct store *store = stage->w->store;
	struct copy *before = stage->fresh;
	enum status status;

	store_act_for(store, stage->w->ann.v, NOW);
	if (operation->prepare) {
		operation->prepare(stage->w);
		before = copy_take(store);
	}
	assert_ok(store_begin(store));
	status = operation->run(stage->w, arena);
	copy_changes(before, store, &changes);
	store_rollback(store);
	if (operation->prepare) {
		copy_free(before);
		copy_restore(stage->fresh, store);
	}
	text_printf(out, "%s\n", operation->name);
	if (status != ST_OK)
		text_printf(out, "\t! %s\n", status_words(status));
	for (const char *at = text_string(&changes); *at; at = strchr(at, '\n') + 1)
		text_printf(out, "\t%.*s\n", (int)strcspn(at, "\n"), at);
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

/* ---- what is refused ---- */

#define REFUSED(name, call)                                                                        \
	static enum status no_##name(struct world *w, struct arena *arena)                         \
	{                                                                                          \
		(void)arena;                                                                       \
		return (call);                                                                     \
	}

static const struct mail_words words = {"Subject", "Body"};

REFUSED(close_closed_call, call_close(w->store, (struct call_id){4}, w->sam, true, "again", NOW))
REFUSED(end_no_feed_link, feed_link_end(w->store, w->sam))
REFUSED(remove_no_remark, finding_remove_remark(w->store, (struct finding_id){1}, w->sam, NOW))
REFUSED(remove_remark_of_dan, finding_remove_remark(w->store, w->other.finding, w->bob, NOW))
REFUSED(submit_twice, draft_submit(w->store, w->checking, w->sam, NOW))
REFUSED(submit_published, draft_submit(w->store, w->one_current, w->sam, NOW))
REFUSED(send_back_draft, draft_send_back(w->store, w->draft, w->sam, "lots", NOW))
REFUSED(send_back_published, draft_send_back(w->store, w->one_current, w->sam, "lots", NOW))
REFUSED(publish_published, draft_publish(w->store, w->one_current, 1, w->sue, NOW))
REFUSED(discard_published, draft_discard(w->store, w->one_current, w->sue, NOW))
REFUSED(discard_old_revision, draft_discard(w->store, w->one_first, w->sue, NOW))
REFUSED(cancel_twice, notice_cancel(w->store, w->two, "2020", "again", w->sue, NOW))
REFUSED(cancel_draft, notice_cancel(w->store, (struct notice_id){3}, "2020", "no", w->sue, NOW))
REFUSED(revoke_used_invite, invite_revoke(w->store, (struct invite_id){3}))
REFUSED(revoke_revoked_invite, invite_revoke(w->store, (struct invite_id){4}))
REFUSED(end_session_of_bob, session_end(w->store, w->other.dan, w->session_id))
REFUSED(revoke_token_of_bob, api_token_revoke(w->store, w->other.dan, w->token_id))
REFUSED(set_credit_of_bob, report_set_credit(w->store, w->report, CREDIT_NOBODY, w->other.dan))
REFUSED(set_credit_of_removed, report_set_credit(w->store, w->removed, CREDIT_EVERYBODY, w->bob))
REFUSED(link_to_nothing, report_link(w->store, w->report, (struct notice_id){0}, w->sam, NOW))
REFUSED(put_back_standing, report_put_back(w->store, w->report, w->sam, NOW))
REFUSED(part_unmerged, report_part(w->store, w->report, w->sam, NOW))
REFUSED(end_mail_not_in_hand, outbox_end(w->store, mail_in(w, MAIL_WAITING), MAIL_SENT, "", NOW))
REFUSED(delay_mail_not_in_hand,
        outbox_end(w->store, mail_in(w, MAIL_GIVEN_UP), MAIL_WAITING, "451", NOW))
REFUSED(try_again_unsure, outbox_again(w->store, mail_in(w, MAIL_UNSURE), NOW))
REFUSED(try_again_waiting, outbox_again(w->store, mail_in(w, MAIL_WAITING), NOW))
REFUSED(no_choices_without_address, mail_set_choices(w->store, w->bob, true, true))
REFUSED(no_address_to_remove, mail_address_remove(w->store, w->bob))
REFUSED(same_address_again, mail_address_set(w->store, w->sue, "sue@example.org", &words, NOW))
REFUSED(unmark_what_is_not_read, reading_unmark(w->store, w->bare_kit, w->one))
REFUSED(remove_stock_of_dan, kit_stock_remove(w->store, w->kit, 3))
REFUSED(remove_length_of_dan, kit_length_remove(w->store, w->kit, 3))
REFUSED(remove_other_line, line_remove(w->store, w->line, 7))
REFUSED(remove_no_list, parts_remove(w->store, PARTS_LIST, "none"))
REFUSED(edit_note_of_dan, note_edit(w->store, w->other.note, w->bob, "Not so.", NOW))
REFUSED(remove_note_of_dan, note_remove(w->store, w->other.note, w->bob, NOW))
REFUSED(remove_note_twice, note_remove(w->store, w->other.removed, w->other.dan, NOW))
REFUSED(remove_report_twice, report_remove(w->store, w->removed, w->bob, "twice", NOW))
REFUSED(help_oneself, note_set_helped(w->store, w->note, w->bob, true))
REFUSED(touch_no_session, session_touch(w->store, (struct session_id){99}, NOW, NOW + 9))
REFUSED(tell_report_twice, news_tell_report(w->store, w->report, NULL, 0, NOW))
REFUSED(delay_unwanted_not_in_hand,
        outbox_end(w->store, mail_in(w, MAIL_GIVEN_UP), MAIL_WAITING, "451", NOW))
REFUSED(stop_by_no_token, mail_stop(w->store, &w->invite))

static enum status no_confirm_too_late(struct world *w, struct arena *arena)
{
	struct hash token = token_hash("asked");

	(void)arena;
	return mail_confirm(w->store, &token, NOW + MAIL_CONFIRM_SECONDS);
}

static enum status no_confirm_when_disabled(struct world *w, struct arena *arena)
{
	struct hash token = token_hash("asked");

	(void)arena;
	return mail_confirm(w->store, &token, NOW);
}

static void report_is_told(struct world *w)
{
	sql_exec(w->store, "UPDATE reports SET told = 1 WHERE id = 1");
}

static void addresses_changed(struct world *w)
{
	sql_exec(w->store, "UPDATE mail_addresses SET address = 'new.' || address");
}

static void disable_sam(struct world *w)
{
	sql_exec(w->store, "UPDATE members SET disabled = 1 WHERE id = 2");
}

static enum status no_save_stale(struct world *w, struct arena *arena)
{
	struct revision_content content = content_of("HF-SB-3", "x", "2020");
	bool stale;

	(void)arena;
	return draft_save(w->store, w->draft, 1, &content, w->sue, NOW, &stale);
}

static enum status no_tell_state_twice(struct world *w, struct arena *arena)
{
	struct report_change change = {.id = w->report, .told = 2, .now = 1};

	(void)arena;
	return news_tell_state(w->store, &change, "why", NOW);
}

static enum status no_told_meanwhile(struct world *w, struct arena *arena)
{
	struct told_step step = {.kit = w->kit, .before = {9, 9, 9}, .after = {1, 2, 3}};

	(void)arena;
	return told_replace(w->store, &step, NOW);
}

#define NO(name)                                                                                   \
	{                                                                                          \
#name, NULL, no_##name, NULL                                                       \
	}

static const struct operation refusals[] = {
        {"delay_unwanted_not_in_hand", NULL, no_delay_unwanted_not_in_hand, addresses_changed},
        {"tell_report_twice", NULL, no_tell_report_twice, report_is_told},
        {"confirm_when_disabled", NULL, no_confirm_when_disabled, disable_sam},
        NO(close_closed_call),
        NO(end_no_feed_link),
        NO(remove_no_remark),
        NO(remove_remark_of_dan),
        NO(submit_twice),
        NO(submit_published),
        NO(send_back_draft),
        NO(send_back_published),
        NO(publish_published),
        NO(discard_published),
        NO(discard_old_revision),
        NO(cancel_twice),
        NO(cancel_draft),
        NO(revoke_used_invite),
        NO(revoke_revoked_invite),
        NO(end_session_of_bob),
        NO(revoke_token_of_bob),
        NO(set_credit_of_bob),
        NO(set_credit_of_removed),
        NO(link_to_nothing),
        NO(put_back_standing),
        NO(part_unmerged),
        NO(end_mail_not_in_hand),
        NO(delay_mail_not_in_hand),
        NO(try_again_unsure),
        NO(try_again_waiting),
        NO(no_choices_without_address),
        NO(no_address_to_remove),
        NO(same_address_again),
        NO(unmark_what_is_not_read),
        NO(remove_stock_of_dan),
        NO(remove_length_of_dan),
        NO(remove_other_line),
        NO(remove_no_list),
        NO(edit_note_of_dan),
        NO(remove_note_of_dan),
        NO(remove_note_twice),
        NO(remove_report_twice),
        NO(help_oneself),
        NO(touch_no_session),
        NO(stop_by_no_token),
        NO(confirm_too_late),
        NO(save_stale),
        NO(tell_state_twice),
        NO(told_meanwhile),
};

/* ---- trying ---- */

/* Adds what was found; false: it is not what is said. */
static bool is_as_said(struct stage *stage, const struct operation *operation, const char *said,
                       struct text *all)
{
	char *expected = lines_of(said, operation->name);
	struct text found = TEXT_EMPTY;
	bool same;

	try_operation(stage, operation, &found);
	same = expected && strcmp(expected, text_string(&found)) == 0;
	if (!same) /* cmocka cuts long texts */
		fprintf(stderr, "said:\n%sfound:\n%s", expected ? expected : "",
		        text_string(&found));
	text_add(all, text_string(&found));
	text_free(&found);
	free(expected);
	return same;
}

static void operations_change_what_is_said(void **state)
{
	char *said = file_text(SAID);
	struct text all = TEXT_EMPTY;
	struct stage stage;
	size_t wrong = 0;

	(void)state;
	stage_set(&stage);
	for (size_t i = 0; i < operations_count; i++)
		wrong += !is_as_said(&stage, &operations[i], said, &all);
	text_add(&all, "\n");
	for (size_t i = 0; i < sizeof refusals / sizeof *refusals; i++)
		wrong += !is_as_said(&stage, &refusals[i], said, &all);
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
        "store_end_reading",   "backup_to",  /* SQLite's own interface for copies: test_store.c, */
        "backup_take",                       /* and cli/standby.mjs */
        "store_file_version",  "bound_fits", /* asks no database: test_bounds.c */
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
