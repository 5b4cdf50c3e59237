/* The second factor at sign-in, the log of acts as a page, a member removed by an admin. */
#include "support.h"

#include <stdio.h>
#include <string.h>

#include "os/token.h"
#include "os/totp.h"
#include "store/acts.h"
#include "store/second_factors.h"
#include "web/http/session.h"
#include "web_support.h"

static int set_up(void **state)
{
	web_set_now(WEB_START);
	*state = web_new(NULL, 0, NULL, 0);
	return 0;
}

static int tear_down(void **state)
{
	web_free(*state);
	return 0;
}

#define PASSWORD "password_now=correct+horse+battery"
#define ANN_FIELDS "login=ann&password=correct+horse+battery"

static const char *code_at(struct web *web, enum who who, int64_t now)
{
	static char code[16];
	struct second_factor factor;

	assert_int_equal(second_read(web_store(web), web_member(web, who), &factor), ST_OK);
	snprintf(code, sizeof code, "%06u",
	         totp_number(factor.secret, TOTP_SECRET_SIZE, (uint64_t)(now / 30)) % 1000000);
	return code;
}

static const struct response *send_code(struct web *web, enum who who, const char *target,
                                        const char *code)
{
	char fields[200];

	snprintf(fields, sizeof fields, PASSWORD "&code=%s", code);
	return web_post(web, who, target,
	                strstr(target, "confirm") ? fields + strlen(PASSWORD "&") : fields);
}

/* Turned on at WEB_START, with the code of then; recovery gets the first recovery code. */
static void turn_on(struct web *web, enum who who, char recovery[16])
{
	const struct response *response = web_post(web, who, "/account/code", PASSWORD);
	const char *at;

	assert_int_equal(response->status, 303);
	response = send_code(web, who, "/account/code/confirm", code_at(web, who, WEB_START));
	assert_int_equal(response->status, 200);
	assert_int_equal(response->cache, CACHE_NEVER);
	at = strstr(response->body, "<li class=\"num\">");
	assert_non_null(at);
	snprintf(recovery, 16, "%.11s", at + strlen("<li class=\"num\">"));
}

/* The password alone: the page of the code, whose ticket comes back. */
static void first_step(struct web *web, const char *fields, char ticket[200])
{
	static const char before[] = "name=\"ticket\" value=\"";
	const struct response *response = web_post(web, VISITOR, "/sign-in", fields);
	const char *at = strstr(response->body, before);

	assert_int_equal(response->status, 200);
	assert_string_equal(web_header(response, "Set-Cookie"), "");
	assert_non_null(at);
	at += strlen(before);
	snprintf(ticket, 200, "%.*s", (int)strcspn(at, "\""), at);
}

static const struct response *second_step(struct web *web, const char *ticket, const char *code)
{
	char fields[400];

	snprintf(fields, sizeof fields, "ticket=%s&code=%s&next=%%2Fkits", ticket, code);
	return web_post(web, VISITOR, "/sign-in/code", fields);
}

static void a_code_is_asked_for_once_it_is_on(void **state)
{
	struct web *web = *state;
	char recovery[16], ticket[200];
	const struct response *response;

	turn_on(web, ANN, recovery);
	first_step(web, ANN_FIELDS, ticket);
	/* The one that turned it on is used; so is one that let in. */
	assert_int_equal(second_step(web, ticket, code_at(web, ANN, WEB_START))->status, 422);
	response = second_step(web, ticket, code_at(web, ANN, WEB_START + 30));
	assert_int_equal(response->status, 303);
	assert_string_equal(web_header(response, "Location"), "/kits");
	assert_non_null(strstr(web_header(response, "Set-Cookie"), "session="));
	assert_int_equal(second_step(web, ticket, code_at(web, ANN, WEB_START + 30))->status, 422);
	/* Others sign in as before. */
	assert_int_equal(
	        web_post(web, VISITOR, "/sign-in", "login=ben&password=correct+horse+battery")
	                ->status,
	        303);
}

static void recovery_codes_let_in_once(void **state)
{
	struct web *web = *state;
	char recovery[16], typed[24], ticket[200];

	turn_on(web, ANN, recovery);
	first_step(web, ANN_FIELDS, ticket);
	snprintf(typed, sizeof typed, "+%.5s+%s+", recovery, recovery + 6); /* as people type */
	assert_int_equal(second_step(web, ticket, typed)->status, 303);
	first_step(web, ANN_FIELDS, ticket);
	assert_int_equal(second_step(web, ticket, recovery)->status, 422);
	assert_true(web_holds(web_get(web, ANN, "/account/code"), "<strong>9</strong> of 10"));
}

static void tickets_hold_for_one_and_for_a_while(void **state)
{
	static const char *const bad[] = {
	        "",    "x",   "1.2.3",    "1.99999999999.x", "-1.1.1", "999999999999999999999.1.1",
	        "%00", "1..", "%E2%80%AE"};
	struct web *web = *state;
	char recovery[16], ticket[200], other[200];

	turn_on(web, ANN, recovery);
	turn_on(web, BEN, recovery);
	first_step(web, ANN_FIELDS, ticket);
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
		assert_int_equal(second_step(web, bad[i], recovery)->status, 422);
	/* Ann's ticket does not go with Ben's number, nor for longer. */
	snprintf(other, sizeof other, "%lld%s", (long long)web_member(web, BEN).v,
	         strchr(ticket, '.'));
	assert_int_equal(second_step(web, other, recovery)->status, 422);
	snprintf(other, sizeof other, "%lld.%lld%s", (long long)web_member(web, ANN).v,
	         (long long)WEB_START + 99999, strrchr(ticket, '.'));
	assert_int_equal(second_step(web, other, code_at(web, ANN, WEB_START + 30))->status, 422);
	web_set_now(WEB_START + 600);
	assert_true(web_holds(second_step(web, ticket, code_at(web, ANN, WEB_START + 600)),
	                      "Sign in again"));
	/* Another password ends it, and so does being shut out. */
	first_step(web, ANN_FIELDS, ticket);
	assert_int_equal(member_set_password(web_store(web), web_member(web, ANN), "$other"),
	                 ST_OK);
	assert_int_equal(second_step(web, ticket, code_at(web, ANN, WEB_START + 600))->status, 422);
	first_step(web, "login=ben&password=correct+horse+battery", ticket);
	assert_int_equal(member_set_disabled(web_store(web), web_member(web, BEN), true), ST_OK);
	assert_int_equal(second_step(web, ticket, code_at(web, BEN, WEB_START + 600))->status, 422);
}

static void codes_cannot_be_guessed(void **state)
{
	struct web *web = *state;
	char recovery[16], ticket[200];

	turn_on(web, ANN, recovery);
	first_step(web, ANN_FIELDS, ticket);
	for (int i = 0; i < 5; i++)
		assert_int_equal(second_step(web, ticket, "123")->status, 422);
	assert_int_equal(second_step(web, ticket, recovery)->status, 429);
	first_step(web, ANN_FIELDS, ticket); /* a new ticket is no new try */
	assert_int_equal(second_step(web, ticket, recovery)->status, 429);
	web_set_now(WEB_START + 61);
	assert_int_equal(second_step(web, ticket, recovery)->status, 303);
}

static void it_is_on_only_when_proved(void **state)
{
	static const char *const wrong[] = {"", "000", "abcdef", "12345678"};
	struct web *web = *state;
	const struct response *response;
	char *secret;

	assert_true(web_holds(web_get(web, ANN, "/account/code"), ">Begin</button>"));
	assert_int_equal(web_post(web, ANN, "/account/code", "password_now=wrong")->status, 422);
	assert_int_equal(web_post(web, ANN, "/account/code", "")->status, 422);
	assert_int_equal(web_post(web, ANN, "/account/code/confirm", "code=1")->status, 303);
	assert_int_equal(web_post(web, ANN, "/account/code", PASSWORD)->status, 303);
	response = web_get(web, ANN, "/account/code");
	assert_int_equal(response->cache, CACHE_NEVER);
	assert_true(web_holds(response, "<svg"));
	assert_true(web_holds(response, "otpauth://totp/Fairlead:ann?secret="));
	secret = strstr(response->body, "?secret=");
	assert_int_equal(strspn(secret + 8, "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"), 32);
	for (size_t i = 0; i < 4; i++)
		assert_int_equal(send_code(web, ANN, "/account/code/confirm", wrong[i])->status,
		                 422);
	/* It does not count yet. */
	assert_int_equal(web_post(web, VISITOR, "/sign-in", ANN_FIELDS)->status, 303);
	assert_int_equal(web_post(web, ANN, "/account/code/end", "")->status, 303);
	assert_true(web_holds(web_get(web, ANN, "/account/code"), ">Begin</button>"));
}

static void ending_it_takes_password_and_code(void **state)
{
	struct web *web = *state;
	char recovery[16];
	const struct response *response;

	turn_on(web, ANN, recovery);
	response = web_get(web, ANN, "/account/code");
	assert_false(web_holds(response, "otpauth"));
	assert_int_equal(web_post(web, ANN, "/account/code/end", "")->status, 422);
	assert_int_equal(web_post(web, ANN, "/account/code/end", PASSWORD)->status, 422);
	assert_int_equal(web_post(web, ANN, "/account/code/end", "password_now=no&code=1")->status,
	                 422);
	assert_int_equal(send_code(web, ANN, "/account/code/end", "000")->status, 422);
	assert_int_equal(send_code(web, ANN, "/account/code/recovery", "000")->status, 422);
	response = send_code(web, ANN, "/account/code/recovery", recovery);
	assert_int_equal(response->status, 200);
	assert_false(web_holds(response, recovery));
	assert_int_equal(
	        send_code(web, ANN, "/account/code/end", code_at(web, ANN, WEB_START + 30))->status,
	        303);
	assert_int_equal(web_post(web, VISITOR, "/sign-in", ANN_FIELDS)->status, 303);
}

static void an_admin_takes_it_off(void **state)
{
	struct web *web = *state;
	char recovery[16], target[80];

	turn_on(web, ANN, recovery);
	snprintf(target, sizeof target, "/admin/members/%lld/code-off",
	         (long long)web_member(web, ANN).v);
	assert_int_equal(web_post(web, BEN, target, "")->status, 403);
	assert_int_equal(web_post(web, STEWARD, target, "")->status, 403);
	assert_int_equal(web_post(web, ADMIN, target, "")->status, 303);
	assert_int_equal(web_post(web, ADMIN, target, "")->status, 404);
	assert_int_equal(web_post(web, VISITOR, "/sign-in", ANN_FIELDS)->status, 303);
	assert_true(web_holds(web_get(web, ADMIN, "/admin/log?what=passwords+and+codes"),
	                      "turned the code at sign-in off of Ann Builder"));
}

/* A link for a new password does not go round the code. */
static void a_reset_link_asks_for_the_code_too(void **state)
{
	struct web *web = *state;
	char recovery[16], token[TOKEN_SIZE], target[80];
	const struct response *response;
	struct hash hash;

	turn_on(web, ANN, recovery);
	token_make(token);
	hash = hash_of(token, TOKEN_LENGTH);
	assert_int_equal(reset_offer(web_store(web), web_member(web, ANN), &hash, WEB_START + 99),
	                 ST_OK);
	snprintf(target, sizeof target, "/new-password/%s", token);
	response = web_post(web, VISITOR, target,
	                    "password=seven+dull+rivets&password_again=seven+dull+rivets");
	assert_int_equal(response->status, 303);
	assert_string_equal(web_header(response, "Set-Cookie"), "");
	assert_non_null(strstr(web_header(response, "Location"), "/sign-in"));
}

/* ---- the log ---- */

static void the_log_shows_and_narrows(void **state)
{
	static const struct {
		const char *query;
		unsigned status;
		bool role, setting;
	} rows[] = {
	        {"", 200, true, true},
	        {"?what=members+and+roles", 200, true, false},
	        {"?what=settings+and+mail", 200, false, true},
	        {"?what=files+of+notices", 200, false, false},
	        {"?by=ada", 200, true, true},
	        {"?by=ADA&whom=ann", 200, true, false},
	        {"?by=ann", 200, false, false},
	        {"?from=2026-09-21&to=2026-09-21", 200, true, true},
	        {"?from=2026-09-22", 200, false, false},
	        {"?to=2026-09-20", 200, false, false},
	        {"?page=2", 200, false, false},
	        {"?by=nobody", 422, false, false},
	        {"?whom=nobody", 422, false, false},
	        {"?what=everything", 422, false, false},
	        {"?from=2026", 422, false, false},
	        {"?from=2026-09-22&to=2026-09-20", 422, false, false},
	        {"?page=0", 422, false, false},
	        {"?colour=red", 400, false, false},
	};
	struct web *web = *state;
	char target[80];

	snprintf(target, sizeof target, "/admin/members/%lld/role",
	         (long long)web_member(web, ANN).v);
	assert_int_equal(web_post(web, ADMIN, target, "role=steward")->status, 303);
	assert_int_equal(web_post(web, ADMIN, "/admin/settings", "chapter=%3Cb%3EFen")->status,
	                 303);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response;

		snprintf(target, sizeof target, "/admin/log%s", rows[i].query);
		response = web_get(web, ADMIN, target);
		if (response->status != rows[i].status ||
		    web_holds(response, "changed the role of Ann Builder") != rows[i].role ||
		    web_holds(response, "changed a setting: name of the chapter") !=
		            rows[i].setting)
			fail_msg("%s: %u", target, response->status);
		assert_false(web_holds(response, "<b>Fen"));
	}
	assert_int_equal(web_get(web, STEWARD, "/admin/log")->status, 403);
	assert_int_equal(web_get(web, BEN, "/admin/log")->status, 403);
	assert_int_equal(web_get(web, VISITOR, "/admin/log")->status, 303);
}

/* ---- removal ---- */

static void an_admin_removes_a_member(void **state)
{
	static const struct {
		const char *fields, *words;
	} bad[] = {
	        {"", "Login of the member is needed"},
	        {"login=ann", "Your own password is needed"},
	        {"login=ann&" PASSWORD, "Login of the member is another one"},
	        {"login=ben&password_now=wrong", "Your own password is not right"},
	};
	struct web *web = *state;
	char target[80];
	const struct response *response;
	struct member member;
	struct arena *arena = arena_new();

	snprintf(target, sizeof target, "/admin/members/%lld/remove",
	         (long long)web_member(web, BEN).v);
	assert_int_equal(web_get(web, STEWARD, target)->status, 403);
	assert_int_equal(web_post(web, STEWARD, target, "login=ben&" PASSWORD)->status, 403);
	assert_int_equal(web_post(web, ANN, target, "login=ben&" PASSWORD)->status, 403);
	assert_int_equal(web_get(web, ADMIN, "/admin/members/999/remove")->status, 404);
	response = web_get(web, ADMIN, target);
	assert_int_equal(response->status, 200);
	assert_true(web_holds(response, "removed member"));
	for (size_t i = 0; i < 4; i++) {
		response = web_post(web, ADMIN, target, bad[i].fields);
		assert_int_equal(response->status, 422);
		assert_true(web_holds(response, bad[i].words));
	}
	assert_int_equal(member_read(web_store(web), arena, web_member(web, BEN), &member), ST_OK);
	assert_int_equal(web_post(web, ADMIN, target, "login=BEN&" PASSWORD)->status, 303);
	assert_int_equal(member_read(web_store(web), arena, web_member(web, BEN), &member),
	                 ST_MISSING);
	assert_int_equal(member_read(web_store(web), arena, web_member(web, ANN), &member), ST_OK);
	response = web_get(web, ADMIN, "/admin/log");
	assert_true(web_holds(response, "<strong>removed a member</strong>"));
	assert_false(web_holds(response, "Ben"));
	/* Oneself goes by one's own page. */
	snprintf(target, sizeof target, "/admin/members/%lld/remove",
	         (long long)web_member(web, ADMIN).v);
	response = web_post(web, ADMIN, target, "login=ada&" PASSWORD);
	assert_string_equal(web_header(response, "Location"), "/account/remove");
	assert_int_equal(member_read(web_store(web), arena, web_member(web, ADMIN), &member),
	                 ST_OK);
	arena_free(arena);
}

#define PAGE_TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        PAGE_TEST(a_code_is_asked_for_once_it_is_on),
	        PAGE_TEST(recovery_codes_let_in_once),
	        PAGE_TEST(tickets_hold_for_one_and_for_a_while),
	        PAGE_TEST(codes_cannot_be_guessed),
	        PAGE_TEST(it_is_on_only_when_proved),
	        PAGE_TEST(ending_it_takes_password_and_code),
	        PAGE_TEST(an_admin_takes_it_off),
	        PAGE_TEST(a_reset_link_asks_for_the_code_too),
	        PAGE_TEST(the_log_shows_and_narrows),
	        PAGE_TEST(an_admin_removes_a_member),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
