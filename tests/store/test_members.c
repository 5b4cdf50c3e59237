#include "fixture.h"

#include <stdio.h>
#include <string.h>

static void members_read_back(void **state)
{
	struct world *w = *state;
	struct member member;
	const char *password;
	const struct member *list;
	size_t count;
	int64_t total;

	assert_ok(member_find(w->store, w->arena, "BOB", &member));
	assert_int_equal(member.id.v, w->bob.v);
	assert_string_equal(member.login, "Bob");
	assert_int_equal(member.role, ROLE_BUILDER);
	assert_int_equal(member.joined_at, NOW);
	assert_ok(member_password(w->store, w->arena, "bob", &member, &password));
	assert_string_equal(password, "$hash$");
	assert_ok(member_list(w->store, w->arena, (struct page){2, 1}, &list, &count, &total));
	assert_int_equal(count, 2);
	assert_int_equal(total, 4);
	assert_string_equal(list[0].login, "Bob");
	assert_ok(member_count(w->store, &total));
	assert_int_equal(total, 4);
}

static void who_is_not_there_is_missing(void **state)
{
	struct world *w = *state;
	struct member_id nobody = {999};
	struct member member = {.id = {7}};
	const char *password = "untouched";

	assert_int_equal(member_read(w->store, w->arena, nobody, &member), ST_MISSING);
	assert_int_equal(member_find(w->store, w->arena, "", &member), ST_MISSING);
	assert_int_equal(member_find(w->store, w->arena, "' OR 1=1 --", &member), ST_MISSING);
	assert_int_equal(member_password(w->store, w->arena, "x", &member, &password), ST_MISSING);
	assert_int_equal(member_set_password(w->store, nobody, "p"), ST_MISSING);
	assert_int_equal(member_set_name(w->store, nobody, "p"), ST_MISSING);
	assert_int_equal(member_set_role(w->store, nobody, ROLE_ADMIN), ST_MISSING);
	assert_int_equal(member_set_disabled(w->store, nobody, true), ST_MISSING);
	assert_int_equal(member_remove(w->store, nobody, NOW), ST_MISSING);
	assert_int_equal(member.id.v, 7);
	assert_string_equal(password, "untouched");
}

static void bad_entries_are_refused(void **state)
{
	struct world *w = *state;
	static const char long_login[] = "aaaaaaaaaabbbbbbbbbbccccccccccdddddddddde";
	const struct member_entry rows[] = {
	        {"ann", "A", "p", ROLE_BUILDER},      {"ANN", "A", "p", ROLE_BUILDER},
	        {"", "A", "p", ROLE_BUILDER},         {" ", "A", "p", ROLE_BUILDER},
	        {long_login, "A", "p", ROLE_BUILDER}, {"x", "", "p", ROLE_BUILDER},
	        {"x", "A", "", ROLE_BUILDER},         {"x", "A", "p", (enum role)3},
	};
	struct member_id id = {7};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_int_equal(member_add(w->store, &rows[i], NOW, &id), ST_CONFLICT);
	assert_int_equal(id.v, 7);
	assert_ok(member_add(w->store,
	                     &(struct member_entry){long_login + 1, "A", "p", ROLE_BUILDER}, NOW,
	                     &id));
}

static void members_change(void **state)
{
	struct world *w = *state;
	struct member member;
	const char *password;

	assert_ok(member_set_password(w->store, w->bob, "new"));
	assert_ok(member_set_name(w->store, w->bob, "Bob Wren"));
	assert_ok(member_set_role(w->store, w->bob, ROLE_STEWARD));
	assert_ok(member_set_disabled(w->store, w->bob, true));
	assert_ok(member_password(w->store, w->arena, "bob", &member, &password));
	assert_string_equal(password, "new");
	assert_string_equal(member.name, "Bob Wren");
	assert_int_equal(member.role, ROLE_STEWARD);
	assert_true(member.disabled);
	assert_int_equal(member_set_name(w->store, w->bob, ""), ST_CONFLICT);
	assert_int_equal(member_set_role(w->store, w->bob, (enum role) - 1), ST_CONFLICT);
}

static void the_last_admin_stays(void **state)
{
	struct world *w = *state;
	struct member member;

	assert_int_equal(member_remove(w->store, w->ann, NOW), ST_DENIED);
	assert_int_equal(member_set_role(w->store, w->ann, ROLE_STEWARD), ST_DENIED);
	assert_int_equal(member_set_disabled(w->store, w->ann, true), ST_DENIED);
	assert_ok(member_read(w->store, w->arena, w->ann, &member));
	assert_int_equal(member.role, ROLE_ADMIN);
	assert_false(member.disabled);
	assert_ok(member_set_role(w->store, w->sam, ROLE_ADMIN));
	assert_ok(member_remove(w->store, w->ann, NOW));
	assert_int_equal(member_set_role(w->store, w->sam, ROLE_BUILDER), ST_DENIED);
}

static void disabling_ends_sessions_and_tokens(void **state)
{
	struct world *w = *state;
	struct session session;
	struct member member;

	assert_ok(member_set_disabled(w->store, w->bob, true));
	assert_int_equal(session_find(w->store, w->arena, &w->session, NOW, &session), ST_MISSING);
	assert_int_equal(api_token_find(w->store, w->arena, &w->token, NOW, &member), ST_MISSING);
	assert_ok(member_set_disabled(w->store, w->bob, false));
	assert_int_equal(session_find(w->store, w->arena, &w->session, NOW, &session), ST_MISSING);
	assert_ok(api_token_find(w->store, w->arena, &w->token, NOW, &member));
}

static void what_is_a_members_own_goes_along(void **state)
{
	struct world *w = *state;
	static const char *const tables[] = {"kits",      "records", "readings", "kit_options",
	                                     "kit_parts", "notes",   "sessions", "api_tokens"};

	assert_ok(member_remove(w->store, w->bob, NOW));
	for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
		char sql[80];

		snprintf(sql, sizeof sql, "SELECT count(*) FROM %s", tables[i]);
		assert_int_equal(sql_number(w->store, sql), 0);
	}
}

static void what_a_steward_did_stays(void **state)
{
	struct world *w = *state;
	struct revision revision;
	const struct log_entry *log;
	size_t count;
	int64_t total;

	assert_ok(note_remove(w->store, w->note, w->sam, NOW));
	assert_ok(member_remove(w->store, w->sam, NOW));
	assert_ok(notice_current(w->store, w->arena, w->one, &revision));
	assert_string_equal(revision.publisher_name, "removed member");
	assert_string_equal(revision.editor_name, "removed member");
	assert_int_equal(revision.editor.v, 0);
	assert_ok(log_list(w->store, w->arena, w->one, (struct page){9, 0}, &log, &count, &total));
	assert_int_equal(count, 1);
	assert_string_equal(log[0].by, "removed member");
	assert_int_equal(log[0].act, ACT_IMPORTED);
	/* Whoever edited is gone, so anybody else may check. */
	assert_ok(draft_publish(w->store, w->checking, 1, w->sue, NOW));
}

static void invites_are_used_once(void **state)
{
	struct world *w = *state;
	struct member_entry cleo = {"cleo", "Cleo", "p", ROLE_ADMIN};
	struct member_entry ann = {"ann", "Ann", "p", ROLE_ADMIN};
	struct hash unknown = token_hash("nobody's");
	struct member_id id = {7};
	struct member member;
	const struct invite *invites;
	size_t count;
	int64_t total;

	assert_int_equal(member_register(w->store, &unknown, &cleo, NOW, &id), ST_MISSING);
	assert_int_equal(member_register(w->store, &w->invite, &cleo, NOW + 100, &id), ST_MISSING);
	assert_int_equal(member_register(w->store, &w->invite, &ann, NOW, &id), ST_CONFLICT);
	assert_int_equal(id.v, 7);
	assert_ok(member_register(w->store, &w->invite, &cleo, NOW + 1, &id));
	assert_ok(member_read(w->store, w->arena, id, &member));
	assert_int_equal(member.role, ROLE_BUILDER);
	cleo.login = "cleo2";
	assert_int_equal(member_register(w->store, &w->invite, &cleo, NOW, &id), ST_MISSING);
	assert_ok(invite_list(w->store, w->arena, (struct page){9, 0}, &invites, &count, &total));
	assert_int_equal(count, 1);
	assert_string_equal(invites[0].label, "for Cleo");
	assert_string_equal(invites[0].made_by, "ann");
	assert_string_equal(invites[0].used_by, "Cleo");
	assert_int_equal(invites[0].used_at, NOW + 1);
	assert_int_equal(invite_revoke(w->store, w->invite_id), ST_MISSING);
}

static void reset_links_set_a_password_once(void **state)
{
	struct world *w = *state;
	struct hash early = token_hash("early"), late = token_hash("late");
	struct member_id id = {7};
	struct member member;
	const char *password;

	assert_int_equal(reset_offer(w->store, (struct member_id){999}, &early, NOW + 9),
	                 ST_MISSING);
	assert_ok(reset_offer(w->store, w->bob, &early, NOW + 9));
	assert_ok(reset_offer(w->store, w->bob, &late, NOW + 9));
	assert_int_equal(reset_find(w->store, w->arena, &early, NOW, &member), ST_MISSING);
	assert_int_equal(reset_find(w->store, w->arena, &late, NOW + 9, &member), ST_MISSING);
	assert_int_equal(reset_use(w->store, &early, "new", NOW, &id), ST_MISSING);
	assert_int_equal(reset_use(w->store, &late, "new", NOW + 9, &id), ST_MISSING);
	assert_int_equal(id.v, 7);
	assert_ok(reset_find(w->store, w->arena, &late, NOW, &member));
	assert_int_equal(member.id.v, w->bob.v);
	assert_ok(reset_use(w->store, &late, "new", NOW + 8, &id));
	assert_int_equal(id.v, w->bob.v);
	assert_ok(member_password(w->store, w->arena, "bob", &member, &password));
	assert_string_equal(password, "new");
	assert_int_equal(reset_use(w->store, &late, "newer", NOW, &id), ST_MISSING);
}

static void reset_links_end_with_what_they_are_for(void **state)
{
	struct world *w = *state;
	struct hash token = token_hash("reset");
	struct member_id id;

	assert_ok(reset_offer(w->store, w->bob, &token, NOW + 9));
	assert_ok(member_set_disabled(w->store, w->bob, true));
	assert_int_equal(reset_use(w->store, &token, "new", NOW, &id), ST_MISSING);
	assert_ok(member_set_disabled(w->store, w->bob, false));
	assert_ok(member_set_password(w->store, w->bob, "changed"));
	assert_int_equal(reset_use(w->store, &token, "new", NOW, &id), ST_MISSING);
	assert_ok(reset_offer(w->store, w->bob, &token, NOW + 9));
	assert_ok(member_remove(w->store, w->bob, NOW));
	assert_int_equal(reset_use(w->store, &token, "new", NOW, &id), ST_MISSING);
}

static void revoked_invites_are_refused(void **state)
{
	struct world *w = *state;
	struct member_entry cleo = {"cleo", "Cleo", "p", ROLE_BUILDER};
	struct invite invite;
	struct member_id id;

	assert_ok(invite_find(w->store, w->arena, &w->invite, NOW, &invite));
	assert_int_equal(invite.id.v, w->invite_id.v);
	assert_ok(invite_revoke(w->store, w->invite_id));
	assert_int_equal(invite_find(w->store, w->arena, &w->invite, NOW, &invite), ST_MISSING);
	assert_int_equal(member_register(w->store, &w->invite, &cleo, NOW, &id), ST_MISSING);
	assert_int_equal(invite_revoke(w->store, w->invite_id), ST_MISSING);
}

static void the_first_admin_comes_by_the_last_link(void **state)
{
	struct world *w = *state;
	struct member_entry first = {"first", "First", "p", ROLE_BUILDER};
	struct hash old = token_hash("old link");
	struct hash link = token_hash("link");
	struct store *empty;
	struct member_id id;
	struct member member;

	assert_int_equal(invite_first_admin(w->store, &link, NOW, NOW + 9), ST_CONFLICT);
	assert_ok(store_open(":memory:", &empty));
	assert_ok(invite_first_admin(empty, &old, NOW, NOW + 9));
	assert_ok(invite_first_admin(empty, &link, NOW, NOW + 9));
	assert_int_equal(member_register(empty, &old, &first, NOW, &id), ST_MISSING);
	assert_ok(member_register(empty, &link, &first, NOW, &id));
	assert_ok(member_read(empty, w->arena, id, &member));
	assert_int_equal(member.role, ROLE_ADMIN);
	store_close(empty);
}

static void sessions_run_until_their_ends(void **state)
{
	struct world *w = *state;
	struct hash unknown = token_hash("?");
	struct session session;

	assert_int_equal(session_find(w->store, w->arena, &unknown, NOW, &session), ST_MISSING);
	assert_ok(session_find(w->store, w->arena, &w->session, NOW + 99, &session));
	assert_int_equal(session.member.id.v, w->bob.v);
	assert_int_equal(session.member.role, ROLE_BUILDER);
	assert_int_equal(session.generation, 3);
	assert_string_equal(session.label, "a browser");
	assert_int_equal(session_find(w->store, w->arena, &w->session, NOW + 100, &session),
	                 ST_MISSING);
	assert_ok(session_touch(w->store, w->session_id, NOW + 99, NOW + 500));
	assert_ok(session_find(w->store, w->arena, &w->session, NOW + 199, &session));
	assert_int_equal(session.seen_at, NOW + 99);
	assert_int_equal(session_find(w->store, w->arena, &w->session, NOW + 200, &session),
	                 ST_MISSING);
}

static struct session_id another_session(struct world *w, const char *token)
{
	struct session_entry entry = {.member = w->bob,
	                              .token = token_hash(token),
	                              .label = "",
	                              .idle_until = NOW + 100,
	                              .ends_at = NOW + 100};
	struct session_id id = {0};

	assert_ok(session_add(w->store, &entry, NOW, &id));
	return id;
}

static size_t session_count(struct world *w, int64_t now)
{
	const struct session *list;
	size_t count;

	assert_ok(session_list(w->store, w->arena, w->bob, now, &list, &count));
	return count;
}

static void sessions_are_ended_by_their_member(void **state)
{
	struct world *w = *state;
	struct session_id second = another_session(w, "second");

	assert_int_equal(session_count(w, NOW), 2);
	assert_int_equal(session_end(w->store, w->sam, second), ST_MISSING);
	assert_int_equal(session_end(w->store, w->bob, (struct session_id){99}), ST_MISSING);
	assert_ok(session_end(w->store, w->bob, second));
	assert_int_equal(session_count(w, NOW), 1);
	second = another_session(w, "third");
	another_session(w, "fourth");
	assert_ok(session_end_others(w->store, w->bob, second));
	assert_int_equal(session_count(w, NOW), 1);
	assert_ok(session_end_others(w->store, w->bob, second));
	assert_ok(session_end_others(w->store, w->bob, (struct session_id){0}));
	assert_int_equal(session_count(w, NOW), 0);
	assert_int_equal(session_touch(w->store, second, NOW, NOW), ST_MISSING);
}

static void tokens_are_found_and_revoked(void **state)
{
	struct world *w = *state;
	struct member member;
	struct api_token_id id;
	const struct api_token *tokens;
	size_t count;

	assert_ok(api_token_find(w->store, w->arena, &w->token, NOW, &member));
	assert_int_equal(member.id.v, w->bob.v);
	assert_int_equal(api_token_add(w->store, w->bob, &w->token, "again", NOW, NOW + 9, &id),
	                 ST_CONFLICT);
	assert_int_equal(api_token_add(w->store, w->bob, &w->session, "", NOW, NOW + 9, &id),
	                 ST_CONFLICT);
	assert_ok(api_token_list(w->store, w->arena, w->bob, &tokens, &count));
	assert_int_equal(count, 1);
	assert_string_equal(tokens[0].label, "my script");
	assert_int_equal(api_token_revoke(w->store, w->sam, w->token_id), ST_MISSING);
	assert_ok(api_token_revoke(w->store, w->bob, w->token_id));
	assert_int_equal(api_token_find(w->store, w->arena, &w->token, NOW, &member), ST_MISSING);
}

static void a_member_has_one_feed_link(void **state)
{
	struct world *w = *state;
	struct hash old = token_hash("old feed"), new = token_hash("new feed");
	struct member_id id = {7};
	int64_t made = 7;

	assert_int_equal(feed_link_made(w->store, w->bob, &made), ST_MISSING);
	assert_int_equal(feed_link_end(w->store, w->bob), ST_MISSING);
	assert_int_equal(feed_link_find(w->store, &old, &id), ST_MISSING);
	assert_int_equal(feed_link_make(w->store, (struct member_id){999}, &old, NOW), ST_CONFLICT);
	assert_ok(feed_link_make(w->store, w->bob, &old, NOW));
	assert_ok(feed_link_make(w->store, w->bob, &new, NOW + 5));
	assert_int_equal(feed_link_find(w->store, &old, &id), ST_MISSING);
	assert_int_equal(feed_link_make(w->store, w->sam, &new, NOW), ST_CONFLICT);
	assert_int_equal(feed_link_made(w->store, w->sam, &made), ST_MISSING);
	assert_int_equal(id.v, 7);
	assert_int_equal(made, 7);
	assert_ok(feed_link_made(w->store, w->bob, &made));
	assert_int_equal(made, NOW + 5);
	assert_ok(feed_link_find(w->store, &new, &id));
	assert_int_equal(id.v, w->bob.v);
}

static void feed_links_end_with_their_member(void **state)
{
	struct world *w = *state;
	struct hash token = token_hash("feed");
	struct member_id id;

	assert_ok(feed_link_make(w->store, w->bob, &token, NOW));
	assert_int_equal(feed_link_end(w->store, w->sam), ST_MISSING);
	assert_ok(member_set_disabled(w->store, w->bob, true));
	assert_int_equal(feed_link_find(w->store, &token, &id), ST_MISSING);
	assert_ok(member_set_disabled(w->store, w->bob, false));
	assert_ok(feed_link_find(w->store, &token, &id));
	assert_ok(feed_link_end(w->store, w->bob));
	assert_int_equal(feed_link_find(w->store, &token, &id), ST_MISSING);
	assert_ok(feed_link_make(w->store, w->bob, &token, NOW));
	assert_ok(member_remove(w->store, w->bob, NOW));
	assert_int_equal(feed_link_find(w->store, &token, &id), ST_MISSING);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM feed_links"), 0);
}

static void failures_count_until_forgotten(void **state)
{
	struct world *w = *state;
	int64_t count;

	assert_ok(sign_in_failed(w->store, "BOB", NOW + 10));
	assert_ok(sign_in_failures(w->store, "bob", NOW, NOW + 10, &count));
	assert_int_equal(count, 2);
	assert_ok(sign_in_failures(w->store, "bob", NOW + 1, NOW + 10, &count));
	assert_int_equal(count, 1);
	assert_ok(sign_in_forget(w->store, "Bob"));
	assert_ok(sign_in_failures(w->store, "bob", 0, NOW + 10, &count));
	assert_int_equal(count, 0);
	assert_int_equal(sign_in_failed(w->store, "", NOW), ST_CONFLICT);
}

static int64_t failures_at(struct world *w, int64_t now)
{
	int64_t count = -1;

	assert_ok(sign_in_failures(w->store, "bob", now - 900, now, &count));
	return count;
}

/* The fixture made all at NOW: what lies more than a day ahead counts for nothing
 * until its time comes. Less is forgiven where something was given, never
 * where something is barred. */
static void what_lies_ahead_does_not_count(void **state)
{
	static const struct {
		int64_t now;
		enum status given;
		int64_t failures;
	} rows[] = {
	        {NOW, ST_OK, 1},
	        {NOW + 8, ST_OK, 1},
	        {NOW - 1, ST_OK, 0},
	        {NOW - 86400, ST_OK, 0},
	        {NOW - 86401, ST_MISSING, 0},
	        {YEAR_BACK, ST_MISSING, 0},
	        {NOW + YEAR, ST_MISSING, 0},
	};
	struct world *w = *state;
	struct session session;
	struct invite invite;
	struct member member;

	assert_ok(reset_offer(w->store, w->bob, &w->reset, NOW + RESET_SECONDS));
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		int64_t now = rows[i].now;

		assert_int_equal(session_find(w->store, w->arena, &w->session, now, &session),
		                 rows[i].given);
		assert_int_equal(session_count(w, now), rows[i].given == ST_OK);
		assert_int_equal(invite_find(w->store, w->arena, &w->invite, now, &invite),
		                 rows[i].given);
		assert_int_equal(reset_find(w->store, w->arena, &w->reset, now, &member),
		                 rows[i].given);
		assert_int_equal(failures_at(w, now), rows[i].failures);
	}
	assert_ok(members_sweep(w->store, YEAR_BACK));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM sign_in_failures"), 0);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM sessions"), 1);
}

static void sweeping_takes_only_what_is_over(void **state)
{
	struct world *w = *state;

	assert_ok(members_sweep(w->store, NOW + 99));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM sessions"), 1);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM sign_in_failures"), 1);
	assert_ok(members_sweep(w->store, NOW + 86401));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM sessions"), 0);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM sign_in_failures"), 0);
}

static void roles_have_words(void **state)
{
	enum role role = ROLE_BUILDER;

	(void)state;
	assert_string_equal(role_words(ROLE_STEWARD), "steward");
	assert_true(role_from_words("Admin", &role));
	assert_int_equal(role, ROLE_ADMIN);
	assert_false(role_from_words("visitor", &role));
	assert_false(role_from_words("", &role));
	assert_false(role_from_words("admi", &role));
	assert_int_equal(role, ROLE_ADMIN);
}

static void settings_are_kept(void **state)
{
	struct world *w = *state;
	const char *text;
	char longer[502];
	bool on = true;

	assert_ok(setting_text(w->store, w->arena, SETTING_CHAPTER, &text));
	assert_string_equal(text, "");
	assert_ok(setting_flag(w->store, SETTING_DEMO, &on));
	assert_false(on);
	assert_ok(setting_set_text(w->store, SETTING_CHAPTER, "Chapter of the Fen"));
	assert_ok(setting_set_text(w->store, SETTING_CHAPTER, "Fen"));
	assert_ok(setting_text(w->store, w->arena, SETTING_CHAPTER, &text));
	assert_string_equal(text, "Fen");
	assert_ok(setting_set_flag(w->store, SETTING_DEMO, true));
	assert_ok(setting_flag(w->store, SETTING_DEMO, &on));
	assert_true(on);
	assert_ok(setting_set_flag(w->store, SETTING_DEMO, false));
	assert_ok(setting_flag(w->store, SETTING_DEMO, &on));
	assert_false(on);
	memset(longer, 'x', sizeof longer - 1);
	longer[sizeof longer - 1] = '\0';
	assert_int_equal(setting_set_text(w->store, SETTING_CHAPTER, longer), ST_CONFLICT);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, world_make, world_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(members_read_back),
	        TEST(who_is_not_there_is_missing),
	        TEST(bad_entries_are_refused),
	        TEST(members_change),
	        TEST(the_last_admin_stays),
	        TEST(disabling_ends_sessions_and_tokens),
	        TEST(what_is_a_members_own_goes_along),
	        TEST(what_a_steward_did_stays),
	        TEST(invites_are_used_once),
	        TEST(reset_links_set_a_password_once),
	        TEST(reset_links_end_with_what_they_are_for),
	        TEST(revoked_invites_are_refused),
	        TEST(the_first_admin_comes_by_the_last_link),
	        TEST(sessions_run_until_their_ends),
	        TEST(sessions_are_ended_by_their_member),
	        TEST(tokens_are_found_and_revoked),
	        TEST(a_member_has_one_feed_link),
	        TEST(feed_links_end_with_their_member),
	        TEST(failures_count_until_forgotten),
	        TEST(what_lies_ahead_does_not_count),
	        TEST(sweeping_takes_only_what_is_over),
	        cmocka_unit_test(roles_have_words),
	        TEST(settings_are_kept),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
