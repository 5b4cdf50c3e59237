/* What ends with a right or with a password, what the log tells of it, which
 * addresses a login is known from, and second factors. */
#include "fixture.h"

#include <stdio.h>
#include <string.h>

#include "store/acts.h"
#include "store/addresses.h"
#include "store/second_factors.h"

static const struct act_filter everything = {ACTS_ALL, {0}, {0}, 0, INT64_MAX};
static const struct page first = {100, 0};

/* A second admin, sam, with an invite and a reset link for bob of his own. */
struct offers {
	struct hash invite, reset;
	struct invite_id id;
};

static struct offers offers_of_sam(struct world *w)
{
	struct offers offers = {token_hash("of sam"), token_hash("for bob"), {0}};
	struct invite_entry entry = {.token = offers.invite,
	                             .role = ROLE_ADMIN,
	                             .label = "for Cleo",
	                             .made_by = w->sam,
	                             .expires_at = NOW + 100};

	assert_ok(member_set_role(w->store, w->sam, ROLE_ADMIN));
	store_act_for(w->store, w->sam.v, NOW);
	assert_ok(invite_add(w->store, &entry, NOW, &offers.id));
	assert_ok(reset_offer(w->store, w->bob, &offers.reset, NOW + 9));
	store_act_for(w->store, w->ann.v, NOW + 1);
	return offers;
}

static bool work(struct world *w, const struct offers *offers)
{
	struct invite invite;
	struct member member;
	enum status invited = invite_find(w->store, w->arena, &offers->invite, NOW, &invite);
	enum status reset = reset_find(w->store, w->arena, &offers->reset, NOW, &member);

	assert_int_equal(invited, reset);
	assert_true(invited == ST_OK || invited == ST_MISSING);
	return invited == ST_OK;
}

enum ending { DEMOTE, DEMOTE_FAR, SHUT_OUT, REMOVE, ENDINGS };

static void end_right(struct world *w, enum ending ending)
{
	switch (ending) {
	case DEMOTE:
		assert_ok(member_set_role(w->store, w->sam, ROLE_STEWARD));
		break;
	case DEMOTE_FAR:
		assert_ok(member_set_role(w->store, w->sam, ROLE_BUILDER));
		break;
	case SHUT_OUT:
		assert_ok(member_set_disabled(w->store, w->sam, true));
		break;
	default:
		assert_ok(member_remove(w->store, w->sam, NOW));
	}
}

static void offers_end_with_the_right_to_make_them(void **state)
{
	static struct member_entry cleo = {"cleo", "Cleo", "p", ROLE_BUILDER};

	(void)state;
	for (enum ending i = DEMOTE; i < ENDINGS; i++) {
		void *world = NULL;
		struct world *w;
		struct offers offers;
		struct member_id id;
		struct invite invite;

		assert_int_equal(world_make(&world), 0);
		w = world;
		offers = offers_of_sam(w);
		assert_true(work(w, &offers));
		end_right(w, i);
		assert_false(work(w, &offers));
		assert_int_equal(member_register(w->store, &offers.invite, &cleo, NOW, &id),
		                 ST_MISSING);
		assert_int_equal(reset_use(w->store, &offers.reset, "new", NOW, &id), ST_MISSING);
		/* Those of others stay. */
		assert_ok(invite_find(w->store, w->arena, &w->invite, NOW, &invite));
		if (i != REMOVE) { /* and no right that comes back brings them back */
			assert_ok(member_set_disabled(w->store, w->sam, false));
			assert_ok(member_set_role(w->store, w->sam, ROLE_ADMIN));
			assert_false(work(w, &offers));
		}
		world_end(&world);
	}
}

/* Whatever took the right away, and however: it is asked at use as well. */
static void offers_are_checked_when_they_are_used(void **state)
{
	static const char *const behind[] = {"UPDATE members SET role = 1 WHERE login = 'sam'",
	                                     "UPDATE members SET disabled = 1 WHERE login = 'sam'"};

	(void)state;
	for (size_t i = 0; i < 2; i++) {
		void *world = NULL;
		struct world *w;
		struct offers offers;

		assert_int_equal(world_make(&world), 0);
		w = world;
		offers = offers_of_sam(w);
		sql_exec(w->store, behind[i]);
		assert_false(work(w, &offers));
		world_end(&world);
	}
}

static void offers_stay_with_the_right(void **state)
{
	struct world *w = *state;
	struct offers offers = offers_of_sam(w);

	assert_ok(member_set_role(w->store, w->sam, ROLE_ADMIN));
	assert_ok(member_set_disabled(w->store, w->sam, false));
	assert_ok(member_set_role(w->store, w->bob, ROLE_STEWARD));
	assert_ok(member_set_disabled(w->store, w->sue, true));
	assert_true(work(w, &offers));
	/* A failing change ends nothing: the last admin stays. */
	assert_ok(member_set_role(w->store, w->ann, ROLE_BUILDER));
	assert_int_equal(member_set_role(w->store, w->sam, ROLE_BUILDER), ST_DENIED);
	assert_int_equal(member_set_disabled(w->store, w->sam, true), ST_DENIED);
	assert_int_equal(member_remove(w->store, w->sam, NOW), ST_DENIED);
	assert_true(work(w, &offers));
}

static void the_first_admins_link_ends_with_the_first_member(void **state)
{
	static struct member_entry one = {"one", "One", "p", ROLE_BUILDER};
	struct world *w = *state;
	struct hash link = token_hash("link");
	struct store *empty = NULL;
	struct invite invite;
	struct member_id id;

	assert_ok(store_open(":memory:", &empty));
	assert_ok(invite_first_admin(empty, &link, NOW, NOW + 9));
	assert_ok(invite_find(empty, w->arena, &link, NOW, &invite));
	assert_ok(member_add(empty, &one, NOW, &id));
	assert_int_equal(invite_find(empty, w->arena, &link, NOW, &invite), ST_MISSING);
	store_close(empty);
}

/* ---- passwords ---- */

static void check_access_ended(struct world *w, const struct hash *feed)
{
	struct session session;
	struct member member;
	struct member_id id;
	bool known = true;

	assert_int_equal(session_find(w->store, w->arena, &w->session, NOW, &session), ST_MISSING);
	assert_int_equal(api_token_find(w->store, w->arena, &w->token, NOW, &member), ST_MISSING);
	assert_int_equal(feed_link_find(w->store, feed, &id), ST_MISSING);
	assert_int_equal(reset_find(w->store, w->arena, &w->reset, NOW, &member), ST_MISSING);
	assert_ok(address_known(w->store, "bob", "192.0.2.1", NOW, &known));
	assert_false(known);
}

/* Things of another member's, which stay. */
static void give_sue(struct world *w, struct hash *token, struct hash *feed)
{
	struct api_token_id id;

	*token = token_hash("token of sue");
	*feed = token_hash("feed of sue");
	assert_ok(api_token_add(w->store, w->sue, token, "hers", NOW, NOW + 1000, &id));
	assert_ok(feed_link_make(w->store, w->sue, feed, NOW));
	assert_ok(address_note(w->store, w->sue, "192.0.2.1", NOW));
}

static void a_password_ends_what_was_made_with_the_old(void **state)
{
	(void)state;
	for (int by_link = 0; by_link < 2; by_link++) {
		struct hash feed = token_hash("feed"), her_token, her_feed;
		void *world = NULL;
		struct world *w;
		struct member member;
		struct member_id id;
		bool known = false;

		assert_int_equal(world_make(&world), 0);
		w = world;
		give_sue(w, &her_token, &her_feed);
		assert_ok(feed_link_make(w->store, w->bob, &feed, NOW));
		assert_ok(address_note(w->store, w->bob, "192.0.2.1", NOW));
		if (by_link)
			assert_ok(reset_use(w->store, &w->reset, "new", NOW, &id));
		else
			assert_ok(member_set_password(w->store, w->bob, "new"));
		check_access_ended(w, &feed);
		assert_ok(api_token_find(w->store, w->arena, &her_token, NOW, &member));
		assert_ok(feed_link_find(w->store, &her_feed, &id));
		assert_ok(address_known(w->store, "sue", "192.0.2.1", NOW, &known));
		assert_true(known);
		world_end(&world);
	}
}

static void tokens_end_on_their_day(void **state)
{
	struct world *w = *state;
	struct member member;

	assert_ok(api_token_find(w->store, w->arena, &w->token, NOW + 999, &member));
	assert_int_equal(api_token_find(w->store, w->arena, &w->token, NOW + 1000, &member),
	                 ST_MISSING);
	/* Shown as ended for a month, then swept. */
	assert_ok(members_sweep(w->store, NOW + 1000 + 30 * 86400 - 1));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM api_tokens"), 1);
	assert_ok(members_sweep(w->store, NOW + 1000 + 30 * 86400));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM api_tokens"), 0);
}

/* ---- addresses ---- */

static bool known_from(struct world *w, const char *login, const char *address, int64_t now)
{
	bool known = false;

	assert_ok(address_known(w->store, login, address, now, &known));
	return known;
}

static void addresses_are_known_by_login(void **state)
{
	struct world *w = *state;

	assert_ok(address_note(w->store, w->bob, "192.0.2.1", NOW));
	assert_true(known_from(w, "BOB", "192.0.2.1", NOW));
	assert_false(known_from(w, "sue", "192.0.2.1", NOW));
	assert_false(known_from(w, "nobody", "192.0.2.1", NOW));
	assert_false(known_from(w, "", "192.0.2.1", NOW));
	assert_false(known_from(w, "bob", "192.0.2.10", NOW));
	assert_false(known_from(w, "bob", "", NOW));
	assert_int_equal(address_note(w->store, (struct member_id){999}, "192.0.2.1", NOW),
	                 ST_CONFLICT);
	/* The address itself is not kept. */
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM known_addresses"
	                                      " WHERE instr(address, '192') > 0"),
	                 0);
}

static void addresses_are_few_and_age(void **state)
{
	struct world *w = *state;
	char address[40];

	assert_ok(address_note(w->store, w->sue, "192.0.2.1", NOW));
	for (int i = 0; i < ADDRESSES_MOST + 5; i++) {
		snprintf(address, sizeof address, "192.0.2.%d", i);
		assert_ok(address_note(w->store, w->bob, address, NOW + i));
	}
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM known_addresses"),
	                 ADDRESSES_MOST + 1);
	assert_false(known_from(w, "bob", "192.0.2.4", NOW + 99));
	assert_true(known_from(w, "bob", "192.0.2.5", NOW + 99));
	assert_true(known_from(w, "sue", "192.0.2.1", NOW + 99));
	assert_true(known_from(w, "bob", "192.0.2.5", NOW + 5 + ADDRESS_KNOWN_FOR - 1));
	assert_false(known_from(w, "bob", "192.0.2.5", NOW + 5 + ADDRESS_KNOWN_FOR));
	assert_ok(address_note(w->store, w->bob, "192.0.2.5", NOW + 100));
	assert_ok(members_sweep(w->store, NOW + 50 + ADDRESS_KNOWN_FOR));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM known_addresses"), 1);
	assert_true(known_from(w, "bob", "192.0.2.5", NOW + 50 + ADDRESS_KNOWN_FOR));
}

/* ---- the log ---- */

static const struct act_row *list(struct world *w, const struct act_filter *filter, size_t *count)
{
	const struct act_row *rows;
	int64_t total;

	assert_ok(acts_list(w->store, w->arena, filter, first, &rows, count, &total));
	assert_int_equal(total, *count);
	return rows;
}

static void acts_tell_who_did_what_to_whom(void **state)
{
	struct world *w = *state;
	struct act_filter filter = everything;
	const struct act_row *rows;
	size_t count;

	store_act_for(w->store, w->ann.v, NOW + 5);
	assert_ok(member_set_role(w->store, w->bob, ROLE_STEWARD));
	assert_ok(member_set_role(w->store, w->bob, ROLE_STEWARD)); /* is no change */
	store_act_for(w->store, w->ann.v, NOW + 6);
	assert_ok(member_set_disabled(w->store, w->bob, true));
	assert_ok(member_set_disabled(w->store, w->bob, true));
	store_act_for(w->store, w->ann.v, NOW + 7);
	assert_ok(setting_set_text(w->store, SETTING_CHAPTER, "Fen"));
	assert_ok(setting_set_text(w->store, SETTING_CHAPTER, "Fen"));
	store_act_for(w->store, 0, NOW + 8);
	assert_ok(setting_set_flag(w->store, SETTING_ONE_STEWARD, true));
	filter.from = NOW + 5;
	rows = list(w, &filter, &count);
	assert_int_equal(count, 4);
	assert_string_equal(rows[0].by, "the command line");
	assert_string_equal(rows[0].subject, "one steward may publish alone");
	assert_string_equal(rows[0].remark, "on");
	assert_int_equal(rows[0].at, NOW + 8);
	assert_string_equal(rows[1].did, "changed a setting");
	assert_string_equal(rows[1].remark, "from \"\" to \"Fen\"");
	assert_string_equal(rows[1].whom, "");
	assert_string_equal(rows[2].did, "shut out");
	assert_string_equal(rows[2].whom, "Bob");
	assert_string_equal(rows[3].by, "ann");
	assert_string_equal(rows[3].did, "changed the role of");
	assert_string_equal(rows[3].remark, "from builder to steward");
	assert_ok(member_remove(w->store, w->bob, NOW));
	rows = list(w, &filter, &count);
	assert_string_equal(rows[3].whom, "removed member");
}

/* What failed is not told. */
static void what_failed_is_not_logged(void **state)
{
	struct world *w = *state;
	int64_t before = sql_number(w->store, "SELECT count(*) FROM acts");

	assert_int_equal(member_set_role(w->store, w->ann, ROLE_STEWARD), ST_DENIED);
	assert_int_equal(member_set_disabled(w->store, (struct member_id){999}, true), ST_MISSING);
	assert_int_equal(member_remove(w->store, w->ann, NOW), ST_DENIED);
	assert_int_equal(invite_revoke(w->store, (struct invite_id){999}), ST_MISSING);
	assert_int_equal(reset_offer(w->store, (struct member_id){999}, &w->session, NOW),
	                 ST_MISSING);
	assert_int_equal(line_remove(w->store, w->line, 99), ST_CONFLICT);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM acts"), before);
}

static void the_log_is_narrowed(void **state)
{
	struct world *w = *state;
	struct hash link = token_hash("another");
	const struct {
		struct act_filter filter;
		int64_t wanted; /* -1: those of the fixture, and these */
	} rows[] = {
	        {{ACTS_MEMBERS, {0}, {0}, NOW + 50, INT64_MAX}, 1},
	        {{ACTS_PASSWORDS, {0}, {0}, NOW + 50, INT64_MAX}, 1},
	        {{ACTS_INVITES, {0}, {0}, NOW + 50, INT64_MAX}, 1},
	        {{ACTS_SETTINGS, {0}, {0}, NOW + 50, INT64_MAX}, 0},
	        {{ACTS_IMPORTS, {0}, {0}, NOW + 50, INT64_MAX}, 1},
	        {{ACTS_NOTICES, {0}, {0}, NOW + 50, INT64_MAX}, 1},
	        {{ACTS_FILES, {0}, {0}, 0, INT64_MAX}, 1},
	        {{ACTS_ALL, {0}, {0}, NOW + 50, INT64_MAX}, 5},
	        {{ACTS_ALL, {0}, w->bob, NOW + 50, INT64_MAX}, 2},
	        {{ACTS_ALL, {0}, w->sue, NOW + 50, INT64_MAX}, 0},
	        {{ACTS_ALL, w->sam, {0}, NOW + 50, INT64_MAX}, 1}, /* of notices */
	        {{ACTS_ALL, w->ann, {0}, NOW + 50, INT64_MAX}, 4},
	        {{ACTS_ALL, {0}, {0}, NOW + 50, NOW + 50}, 0},
	        {{ACTS_ALL, {0}, {0}, NOW + 51, INT64_MAX}, 0},
	};

	store_act_for(w->store, w->ann.v, NOW + 50);
	assert_ok(member_set_role(w->store, w->bob, ROLE_STEWARD));
	assert_ok(reset_offer(w->store, w->bob, &link, NOW + 99));
	assert_ok(invite_revoke(w->store, w->invite_id));
	assert_ok(acts_add_import(w->store, 1, "notice", "notices"));
	assert_ok(draft_submit(w->store, w->draft, w->sam, NOW + 50));
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		size_t count = 0;

		list(w, &rows[i].filter, &count);
		if ((int64_t)count != rows[i].wanted)
			fail_msg("row %zu: %zu entries", i, count);
	}
}

/* The notices that a file brought are in their own log; here stands the file. */
static void an_import_is_one_entry(void **state)
{
	struct world *w = *state;
	const struct act_row *rows;
	size_t count;

	assert_true(sql_number(w->store, "SELECT count(*) FROM notice_log WHERE act = 7") > 1);
	store_act_for(w->store, w->ann.v, NOW + 50);
	assert_ok(acts_add_import(w->store, 40, "notice", "notices"));
	rows = list(w, &everything, &count);
	assert_string_equal(rows[0].did, "took in a file");
	assert_string_equal(rows[0].subject, "40 notices");
	for (size_t i = 1; i < count; i++)
		assert_string_not_equal(rows[i].did, "imported");
}

static void the_log_is_paged(void **state)
{
	struct world *w = *state;
	const struct act_row *all, *some;
	size_t count, got;
	int64_t total;

	all = list(w, &everything, &count);
	assert_true(count > 5);
	for (size_t i = 0; i < count; i += 2) {
		assert_ok(acts_list(w->store, w->arena, &everything, (struct page){2, (int64_t)i},
		                    &some, &got, &total));
		assert_int_equal(total, count);
		assert_int_equal(got, count - i < 2 ? 1 : 2);
		assert_string_equal(some[0].did, all[i].did);
		assert_string_equal(some[0].subject, all[i].subject);
	}
}

static bool refused(struct store *store, const char *sql)
{
	return sqlite3_exec(store->db, sql, NULL, NULL, NULL) != SQLITE_OK;
}

static void the_log_is_only_added_to(void **state)
{
	static const char *const rows[] = {
	        "DELETE FROM acts",
	        "UPDATE acts SET remark = 'x'",
	        "UPDATE acts SET by = 0",
	        "UPDATE acts SET hash = zeroblob(32)",
	        "REPLACE INTO acts (id, at, by, act, whom, subject, remark)"
	        " VALUES (1, 1, 1, 1, 1, '', '')",
	        "INSERT INTO acts (at, by, act, whom, subject, remark) VALUES (1, -1, 1, 1, '', "
	        "'')",
	        "INSERT INTO acts (at, by, act, whom, subject, remark) VALUES (1, 1, 63, 1, '', "
	        "'')",
	        "INSERT INTO acts (at, by, act, whom, subject, remark) VALUES (-1, 1, 1, 1, '', "
	        "'')"};
	struct world *w = *state;

	assert_true(sql_number(w->store, "SELECT count(*) FROM acts WHERE id = 1") == 1);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		if (!refused(w->store, rows[i]))
			fail_msg("not refused: %s", rows[i]);
}

static void the_log_holds_no_secret(void **state)
{
	struct world *w = *state;
	struct hash link = token_hash("a secret link");

	assert_ok(reset_offer(w->store, w->bob, &link, NOW + 99));
	assert_ok(member_set_password(w->store, w->bob, "$a secret$"));
	assert_ok(setting_set_text(w->store, SETTING_KEY, "a secret key"));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM acts WHERE subject || remark"
	                                      " LIKE '%secret%'"),
	                 0);
}

/* What is long is cut rather than refused: the act goes through. */
static void a_long_subject_is_cut(void **state)
{
	struct world *w = *state;
	char name[500];

	memset(name, 'x', sizeof name - 1);
	name[sizeof name - 1] = '\0';
	assert_ok(acts_add(w->store, &(struct act_line){DID_IMPORT, .subject = name}));
	assert_int_equal(sql_number(w->store, "SELECT max(length(subject)) FROM acts"), 300);
}

/* ---- second factors ---- */

static const unsigned char secret[SECOND_SECRET_SIZE] = "12345678901234567890";

static void make_codes(struct hash codes[RECOVERY_CODES], char salt)
{
	char code[3] = {salt, '0', '\0'};

	for (size_t i = 0; i < RECOVERY_CODES; i++, code[1]++)
		codes[i] = hash_of(code, 2);
}

static void confirm(struct world *w, struct member_id member)
{
	struct hash codes[RECOVERY_CODES];

	make_codes(codes, 'a');
	assert_ok(second_begin(w->store, member, secret, NOW));
	assert_ok(second_confirm(w->store, member, 100, codes, (struct session_id){0}, NOW));
}

static void a_second_factor_waits_until_confirmed(void **state)
{
	struct world *w = *state;
	struct second_factor factor;
	struct hash codes[RECOVERY_CODES];
	struct session session;
	const struct member_id nobody = {999};

	make_codes(codes, 'a');
	assert_int_equal(second_read(w->store, w->bob, &factor), ST_MISSING);
	assert_int_equal(second_begin(w->store, nobody, secret, NOW), ST_CONFLICT);
	assert_int_equal(second_confirm(w->store, w->bob, 100, codes, w->session_id, NOW),
	                 ST_MISSING);
	assert_ok(second_begin(w->store, w->bob, (const unsigned char *)"another secret of 20", 1));
	assert_ok(second_begin(w->store, w->bob, secret, NOW));
	assert_ok(second_read(w->store, w->bob, &factor));
	assert_memory_equal(factor.secret, secret, SECOND_SECRET_SIZE);
	assert_int_equal(factor.confirmed_at, 0);
	assert_int_equal(second_use_step(w->store, w->bob, 101), ST_MISSING);
	assert_int_equal(second_codes_anew(w->store, w->bob, codes), ST_MISSING);
	assert_ok(second_confirm(w->store, w->bob, 100, codes, (struct session_id){0}, NOW + 3));
	assert_int_equal(session_find(w->store, w->arena, &w->session, NOW, &session), ST_MISSING);
	assert_ok(second_read(w->store, w->bob, &factor));
	assert_int_equal(factor.confirmed_at, NOW + 3);
	assert_int_equal(factor.codes_left, RECOVERY_CODES);
	assert_int_equal(second_begin(w->store, w->bob, secret, NOW), ST_CONFLICT);
	assert_int_equal(second_confirm(w->store, w->bob, 200, codes, w->session_id, NOW),
	                 ST_MISSING);
}

static void confirming_keeps_the_session_at_hand(void **state)
{
	struct world *w = *state;
	struct hash codes[RECOVERY_CODES];
	struct session session;

	make_codes(codes, 'a');
	assert_ok(second_begin(w->store, w->bob, secret, NOW));
	assert_ok(second_confirm(w->store, w->bob, 100, codes, w->session_id, NOW));
	assert_ok(session_find(w->store, w->arena, &w->session, NOW, &session));
}

static void codes_are_used_once(void **state)
{
	struct world *w = *state;
	struct second_factor factor;
	struct hash codes[RECOVERY_CODES], others[RECOVERY_CODES];

	make_codes(codes, 'a');
	make_codes(others, 'b');
	confirm(w, w->bob);
	confirm(w, w->sue);
	assert_int_equal(second_use_step(w->store, w->bob, 100), ST_MISSING);
	assert_ok(second_use_step(w->store, w->bob, 102));
	assert_int_equal(second_use_step(w->store, w->bob, 102), ST_MISSING);
	assert_int_equal(second_use_step(w->store, w->bob, 101), ST_MISSING);
	assert_ok(second_use_step(w->store, w->sue, 101));
	assert_ok(second_use_code(w->store, w->bob, &codes[3]));
	assert_int_equal(second_use_code(w->store, w->bob, &codes[3]), ST_MISSING);
	assert_int_equal(second_use_code(w->store, w->bob, &others[3]), ST_MISSING);
	assert_int_equal(second_use_code(w->store, w->sam, &codes[4]), ST_MISSING);
	assert_ok(second_use_code(w->store, w->sue, &codes[3]));
	assert_ok(second_codes_anew(w->store, w->bob, others));
	assert_int_equal(second_use_code(w->store, w->bob, &codes[4]), ST_MISSING);
	assert_ok(second_use_code(w->store, w->sue, &codes[4]));
	assert_ok(second_use_code(w->store, w->bob, &others[4]));
	assert_ok(second_read(w->store, w->bob, &factor));
	assert_int_equal(factor.codes_left, RECOVERY_CODES - 1);
	assert_int_equal(factor.last_step, 102);
}

static void turning_it_off_takes_all_of_it(void **state)
{
	struct world *w = *state;
	struct second_factor factor;
	int64_t acts;

	assert_int_equal(second_end(w->store, w->bob), ST_MISSING);
	confirm(w, w->bob);
	confirm(w, w->sue);
	acts = sql_number(w->store, "SELECT count(*) FROM acts");
	assert_ok(second_end(w->store, w->bob));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM acts"), acts + 1);
	assert_int_equal(second_read(w->store, w->bob, &factor), ST_MISSING);
	assert_ok(second_read(w->store, w->sue, &factor));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM recovery_codes"),
	                 RECOVERY_CODES);
	/* One that waits counted for nothing, and is no act. */
	assert_ok(second_begin(w->store, w->bob, secret, NOW));
	assert_ok(second_end(w->store, w->bob));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM acts"), acts + 1);
	assert_ok(member_remove(w->store, w->sue, NOW));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM second_factors"), 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, world_make, world_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(offers_end_with_the_right_to_make_them),
	        cmocka_unit_test(offers_are_checked_when_they_are_used),
	        TEST(offers_stay_with_the_right),
	        TEST(the_first_admins_link_ends_with_the_first_member),
	        cmocka_unit_test(a_password_ends_what_was_made_with_the_old),
	        TEST(tokens_end_on_their_day),
	        TEST(addresses_are_known_by_login),
	        TEST(addresses_are_few_and_age),
	        TEST(acts_tell_who_did_what_to_whom),
	        TEST(what_failed_is_not_logged),
	        TEST(the_log_is_narrowed),
	        TEST(an_import_is_one_entry),
	        TEST(the_log_is_paged),
	        TEST(the_log_is_only_added_to),
	        TEST(the_log_holds_no_secret),
	        TEST(a_long_subject_is_cut),
	        TEST(a_second_factor_waits_until_confirmed),
	        TEST(confirming_keeps_the_session_at_hand),
	        TEST(codes_are_used_once),
	        TEST(turning_it_off_takes_all_of_it),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
