/* test_people_pages.c - coming in, one's own account, running the chapter:
 * through app_handle, as a browser would, and as somebody who means harm.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "support.h"
#include "web_support.h"

#include "os/digest.h"
#include "core/date.h"
#include "store/copies.h"
#include "store/notes.h"
#include "store/notices.h"
#include "store/records.h"
#include "store/settings.h"
#include "web/http/browser.h"
#include "web/html/qr.h"
#include "web/http/session.h"

#define NEW_PASSWORD "seven dull rivets"

static int set_up(void **state)
{
	*state = web_new(NULL, 0, NULL, 0);
	return 0;
}

static int tear_down(void **state)
{
	web_free(*state);
	return 0;
}

/* ---- a browser with a cookie of its own ---- */

struct browser {
	char cookie[100];
	char token[TOKEN_SIZE]; /* of its forms */
};

/* The cookie that the answer sets, as a browser sends it back. */
static void take_cookie(const struct response *response, struct browser *out)
{
	const char *set = web_header(response, "Set-Cookie");
	size_t len = strcspn(set, ";");

	assert_true(len > 0 && len < sizeof out->cookie);
	memcpy(out->cookie, set, len);
	out->cookie[len] = '\0';
}

static const struct response *browse(struct web *web, const struct browser *browser,
                                     const char *target)
{
	struct request request = {.method = HTTP_GET, .headers = {.cookie = browser->cookie}};

	return web_send(web, VISITOR, &request, target, NULL);
}

static void take_form_token(struct web *web, struct browser *browser)
{
	static const char before[] = "name=\"token\" value=\"";
	const struct response *response = browse(web, browser, "/account");
	const char *at = strstr(response->body, before);

	assert_int_equal(response->status, 200);
	assert_non_null(at);
	memcpy(browser->token, at + strlen(before), TOKEN_LENGTH);
	browser->token[TOKEN_LENGTH] = '\0';
}

static const struct response *submit(struct web *web, const struct browser *browser,
                                     const char *target, const char *fields)
{
	struct request request = {
	        .method = HTTP_POST,
	        .headers = {.cookie = browser->cookie, .sec_fetch_site = "same-origin"}};
	char body[2000];

	snprintf(body, sizeof body, "%s&token=%s", fields, browser->token);
	return web_send(web, VISITOR, &request, target, body);
}

static struct browser sign_in(struct web *web, const char *fields)
{
	const struct response *response = web_post(web, VISITOR, "/sign-in", fields);
	struct browser browser = {.cookie = ""};

	assert_int_equal(response->status, 303);
	take_cookie(response, &browser);
	take_form_token(web, &browser);
	return browser;
}

#define ANN_FIELDS "login=ann&password=correct+horse+battery"

static bool is_signed_in(struct web *web, const char *cookie)
{
	struct browser browser = {.cookie = ""};

	snprintf(browser.cookie, sizeof browser.cookie, "%s", cookie);
	return browse(web, &browser, "/account")->status == 200;
}

static int64_t members_of(struct web *web)
{
	int64_t count = 0;

	assert_int_equal(member_count(web_store(web), &count), ST_OK);
	return count;
}

/* ---- signing in ---- */

static void right_password_opens_a_session(void **state)
{
	struct web *web = *state;
	const struct response *response = web_post(web, VISITOR, "/sign-in", ANN_FIELDS);
	const char *cookie = web_header(response, "Set-Cookie");

	assert_int_equal(response->status, 303);
	assert_string_equal(web_header(response, "Location"), "/?said=signed-in");
	/* ASVS 3.3.2 and 3.3.4: SameSite, HttpOnly. */
	assert_non_null(strstr(cookie, "; HttpOnly"));
	assert_non_null(strstr(cookie, "; SameSite=Lax"));
	sign_in(web, "login=ANN&password=correct+horse+battery");
}

static void only_own_pages_come_next(void **state)
{
	static const struct {
		const char *next, *location;
	} rows[] = {
	        {"/kits/3", "/kits/3"},
	        {"%2Fkits%2F3", "/kits/3"},
	        {"", "/?said=signed-in"},
	        {"//elsewhere.example", "/?said=signed-in"},
	        {"/%5Celsewhere.example", "/?said=signed-in"},
	        {"https://elsewhere.example/", "/?said=signed-in"},
	        {"javascript:alert(1)", "/?said=signed-in"},
	        {"kits", "/?said=signed-in"},
	};
	char fields[200];

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response;

		snprintf(fields, sizeof fields, ANN_FIELDS "&next=%s", rows[i].next);
		response = web_post(*state, VISITOR, "/sign-in", fields);
		assert_int_equal(response->status, 303);
		assert_string_equal(web_header(response, "Location"), rows[i].location);
	}
}

static void page_keeps_where_to_go_next(void **state)
{
	const struct response *response = web_get(*state, VISITOR, "/sign-in?next=%2Fkits%2F3");

	assert_int_equal(response->status, 200);
	assert_true(web_holds(response, "name=\"next\" value=\"/kits/3\""));
	assert_int_equal(response->cache, CACHE_NEVER);
	assert_int_equal(web_get(*state, ANN, "/sign-in")->status, 303);
}

static void wrong_ones_get_one_message(void **state)
{
	static const char words[] = "Login and password do not fit together.";
	static const char *const rows[] = {
	        "login=ann&password=correct+horse+batterz",
	        "login=nobody&password=correct+horse+battery",
	        "login=ann&password=*",
	        "login=bare&password=*",
	        "login=ben&password=correct+horse+battery", /* shut out */
	        "login=%C3%A4nn&password=correct+horse+battery",
	        "login=%22%3E%3Cscript%3E&password=%22%3E%3Cscript%3E",
	};
	struct web *web = *state;
	struct member_entry bare = {"bare", "Bare", "*", ROLE_BUILDER};
	struct member_id id;

	assert_int_equal(member_add(web_store(web), &bare, WEB_START, &id), ST_OK);
	assert_int_equal(member_set_disabled(web_store(web), web_member(web, BEN), true), ST_OK);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response = web_post(web, VISITOR, "/sign-in", rows[i]);

		assert_int_equal(response->status, 422);
		assert_true(web_holds(response, words));
		assert_false(web_holds(response, "horse"));
		assert_false(web_holds(response, "><script>"));
		assert_string_equal(web_header(response, "Set-Cookie"), "");
	}
}

static void faulty_fields_are_named(void **state)
{
	static const struct {
		const char *fields, *words;
	} rows[] = {
	        {"", "Login is needed"},
	        {"login=ann", "Password is needed"},
	        {"login=ann&password=", "Password is needed"},
	        {"login=a%00nn&password=x", "Login holds"},
	        {"login=a%E2%80%AEnn&password=x", "Login holds"},
	        {"login=%C0%AFnn&password=x", "Login holds"},
	        {"login=0123456789012345678901234567890123456789x&password=x",
	         "Login is longer than 40 characters"},
	};

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response =
		        web_post(*state, VISITOR, "/sign-in", rows[i].fields);

		assert_int_equal(response->status, 422);
		assert_true(web_holds(response, rows[i].words));
	}
	assert_int_equal(web_post(*state, VISITOR, "/sign-in", ANN_FIELDS "&admin=1")->status, 400);
}

static void guessing_one_account_is_slowed(void **state)
{
	static const char *const logins[] = {"ann", "nobody"};
	struct web *web = *state;
	char fields[100];

	for (size_t i = 0; i < 2; i++) {
		const struct response *response;

		snprintf(fields, sizeof fields, "login=%s&password=wrong", logins[i]);
		for (int n = 0; n < 5; n++)
			assert_int_equal(web_post(web, VISITOR, "/sign-in", fields)->status, 422);
		snprintf(fields, sizeof fields, "login=%s&password=correct+horse+battery",
		         logins[i]);
		response = web_post(web, VISITOR, "/sign-in", fields);
		assert_int_equal(response->status, 429);
		assert_string_equal(web_header(response, "Retry-After"), "60");
	}
	web_set_now(WEB_START + 61);
	sign_in(web, ANN_FIELDS);
}

static void success_forgets_failures(void **state)
{
	for (int round = 0; round < 3; round++) {
		for (int n = 0; n < 4; n++)
			assert_int_equal(
			        web_post(*state, VISITOR, "/sign-in", "login=ann&password=wrong")
			                ->status,
			        422);
		sign_in(*state, ANN_FIELDS);
	}
}

/* Set back by a year, neither what was counted in memory nor what was kept bars
 * anybody; set on by one, nothing is given away: the address still waits. */
static void setting_the_clock_bars_nobody(void **state)
{
	static const int64_t steps[] = {-365 * 86400, 365 * 86400, -3600, 3600};
	struct web *web = *state;

	for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
		web_set_now(WEB_START + (int64_t)i * 1000);
		for (int n = 0; n < 5; n++)
			assert_int_equal(
			        web_post(web, VISITOR, "/sign-in", "login=ann&password=wrong")
			                ->status,
			        422);
		assert_int_equal(web_post(web, VISITOR, "/sign-in", ANN_FIELDS)->status, 429);
		web_step_clock(WEB_START + steps[i]);
		sign_in(web, ANN_FIELDS);
		web_step_clock(WEB_START + (int64_t)i * 1000);
	}
}

static void the_limits_go_by_time_that_passed(void **state)
{
	struct web *web = *state;
	unsigned status = 0;
	int tries = 0;

	while (tries < 100 && status != 429) {
		char fields[60];

		snprintf(fields, sizeof fields, "login=nobody%d&password=wrong", tries++);
		if (tries % 10 == 0) /* the windows of failures must not be what refuses */
			assert_int_equal(members_sweep(web_store(web), WEB_START + 2 * 86400),
			                 ST_OK);
		status = web_post(web, VISITOR, "/sign-in", fields)->status;
	}
	assert_int_equal(tries, 31);
	web_step_clock(WEB_START + 365 * 86400);
	assert_int_equal(web_post(web, VISITOR, "/sign-in", ANN_FIELDS)->status, 429);
	web_step_clock(WEB_START - 365 * 86400);
	assert_int_equal(web_post(web, VISITOR, "/sign-in", ANN_FIELDS)->status, 429);
	web_set_now(WEB_START - 365 * 86400 + 6);
	assert_int_equal(web_post(web, VISITOR, "/sign-in", ANN_FIELDS)->status, 303);
}

static const struct response *guess_from(struct web *web, const char *peer, const char *fields)
{
	struct request request = {
	        .method = HTTP_POST, .peer = peer, .headers = {.sec_fetch_site = "same-origin"}};

	return web_send(web, VISITOR, &request, "/sign-in", fields);
}

static void guessing_from_one_address_is_slowed(void **state)
{
	char fields[100];

	for (int n = 0; n < 20; n++) {
		snprintf(fields, sizeof fields, "login=login%d&password=wrong", n);
		assert_int_equal(guess_from(*state, "192.0.2.7", fields)->status, 422);
	}
	assert_int_equal(guess_from(*state, "192.0.2.7", ANN_FIELDS)->status, 429);
	assert_int_equal(guess_from(*state, "192.0.2.8", ANN_FIELDS)->status, 303);
}

static void a_stranger_does_not_keep_the_owner_out(void **state)
{
	for (int n = 0; n < 5; n++)
		assert_int_equal(
		        guess_from(*state, "192.0.2.7", "login=ann&password=wrong")->status, 422);
	assert_int_equal(guess_from(*state, "192.0.2.7", ANN_FIELDS)->status, 429);
	assert_int_equal(guess_from(*state, "192.0.2.8", ANN_FIELDS)->status, 303);
}

static void guessing_from_many_addresses_is_slowed(void **state)
{
	char peer[40];

	for (int n = 0; n < 50; n++) {
		snprintf(peer, sizeof peer, "2001:db8::%d", n);
		assert_int_equal(guess_from(*state, peer, "login=ann&password=wrong")->status, 422);
	}
	assert_int_equal(guess_from(*state, "192.0.2.8", ANN_FIELDS)->status, 429);
	web_set_now(WEB_START + 901);
	assert_int_equal(guess_from(*state, "192.0.2.8", ANN_FIELDS)->status, 303);
}

static void guess_from_afar(struct web *web, const char *login)
{
	char peer[40], fields[80];

	snprintf(fields, sizeof fields, "login=%s&password=wrong", login);
	for (int n = 0; n < 52; n++) {
		snprintf(peer, sizeof peer, "198.51.100.%d", n / 4);
		guess_from(web, peer, fields);
	}
}

/* 52 wrong passwords from 13 addresses: who has signed in from here before goes on. */
static void an_owner_goes_on_from_a_known_address(void **state)
{
	struct web *web = *state;

	assert_int_equal(guess_from(web, "192.0.2.8", ANN_FIELDS)->status, 303);
	for (int round = 0; round < 3; round++) {
		guess_from_afar(web, "ann");
		assert_int_equal(guess_from(web, "192.0.2.9", ANN_FIELDS)->status, 429);
		assert_int_equal(guess_from(web, "192.0.2.8", ANN_FIELDS)->status, 303);
		/* Which makes no room for those who guess elsewhere. */
		assert_int_equal(guess_from(web, "192.0.2.9", ANN_FIELDS)->status, 429);
	}
	/* It is known for this login alone. */
	guess_from_afar(web, "ada");
	assert_int_equal(
	        guess_from(web, "192.0.2.8", "login=ada&password=correct+horse+battery")->status,
	        429);
}

static void a_known_address_has_a_limit_of_its_own(void **state)
{
	struct web *web = *state;

	assert_int_equal(guess_from(web, "192.0.2.8", ANN_FIELDS)->status, 303);
	for (int n = 0; n < 5; n++)
		assert_int_equal(guess_from(web, "192.0.2.8", "login=ann&password=wrong")->status,
		                 422);
	assert_int_equal(guess_from(web, "192.0.2.8", ANN_FIELDS)->status, 429);
}

/* A session proves enough to change the password wherever it has come to. */
static void guessing_elsewhere_does_not_stop_a_session(void **state)
{
	struct web *web = *state;
	struct browser here = sign_in(web, ANN_FIELDS);

	guess_from_afar(web, "ann");
	assert_int_equal(submit(web, &here, "/account/password",
	                        "password_now=wrong&password=seven+dull+rivets"
	                        "&password_again=seven+dull+rivets")
	                         ->status,
	                 422);
}

/* ASVS 7.2.4: a new token at each sign-in. */
static void a_planted_cookie_is_not_taken_up(void **state)
{
	struct request request = {.method = HTTP_POST,
	                          .headers = {.sec_fetch_site = "same-origin"}};
	struct browser planted = {.cookie = ""};
	struct browser got = {.cookie = ""};
	char token[TOKEN_SIZE];
	const struct response *response;

	token_make(token);
	snprintf(planted.cookie, sizeof planted.cookie, "session=%s", token);
	request.headers.cookie = planted.cookie;
	response = web_send(*state, VISITOR, &request, "/sign-in", ANN_FIELDS);
	assert_int_equal(response->status, 303);
	take_cookie(response, &got);
	assert_string_not_equal(got.cookie, planted.cookie);
	assert_false(is_signed_in(*state, planted.cookie));
	assert_true(is_signed_in(*state, got.cookie));
}

static void signing_out_ends_the_session(void **state)
{
	struct web *web = *state;
	const struct response *response = web_post(web, ANN, "/sign-out", "");

	assert_int_equal(response->status, 303);
	assert_non_null(strstr(web_header(response, "Set-Cookie"), "session=; Path=/; Max-Age=0"));
	assert_false(is_signed_in(web, web_cookie(web, ANN)));
	assert_true(is_signed_in(web, web_cookie(web, BEN)));
	assert_int_equal(web_post(web, VISITOR, "/sign-out", "")->status, 303);
}

static void demonstration_lets_in_and_others_do_not(void **state)
{
	static const struct member_entry people[] = {
	        {"tobias", "Tobias", "*", ROLE_BUILDER},
	        {"maren", "Maren", "*", ROLE_STEWARD},
	        {"odo", "Odo", "*", ROLE_ADMIN},
	};
	static const char *const fields[] = {"as=builder", "as=steward", "as=admin"};
	struct web *web = *state;
	struct app_config config = *app_config(web_app(web));
	struct app *demo = NULL;
	struct arena *arena = arena_new();

	for (size_t i = 0; i < 3; i++) {
		struct member_id id;

		assert_int_equal(member_add(web_store(web), &people[i], WEB_START, &id), ST_OK);
		assert_int_equal(web_post(web, VISITOR, "/sign-in/demo", fields[i])->status, 404);
	}
	config.demo = true;
	assert_int_equal(app_new(&config, &demo), ST_OK);
	for (size_t i = 0; i < 3; i++) {
		const struct http_field field = {"as", fields[i] + 3, strlen(fields[i] + 3)};
		struct request request = {.method = HTTP_POST,
		                          .path = "/sign-in/demo",
		                          .form = {&field, 1},
		                          .peer = "192.0.2.1",
		                          .headers = {.sec_fetch_site = "same-origin"}};
		struct response response;
		struct browser browser = {.cookie = ""};

		app_handle(demo, &request, arena, &response);
		assert_int_equal(response.status, 303);
		take_cookie(&response, &browser);
		assert_true(web_holds(browse(web, &browser, "/account"), people[i].name));
	}
	assert_false(web_holds(web_get(web, VISITOR, "/sign-in"), "/sign-in/demo"));
	arena_free(arena);
	app_free(demo);
}

/* ---- who may, and whose form ---- */

/* The address of a row with an id in place of its capture. */
static void fill_pattern(const char *pattern, char *out, size_t size)
{
	const char *open = strchr(pattern, '{');
	const char *close = open ? strchr(open, '}') : NULL;

	if (open)
		snprintf(out, size, "%.*s1%s", (int)(open - pattern), pattern, close + 1);
	else
		snprintf(out, size, "%s", pattern);
}

static const struct response *call(struct web *web, enum who who, const struct route *route)
{
	char target[200];

	fill_pattern(route->pattern, target, sizeof target);
	return route->method == HTTP_GET ? web_get(web, who, target)
	                                 : web_post(web, who, target, "");
}

static void only_admins_run_the_chapter(void **state)
{
	size_t seen = 0;

	for (size_t i = 0; i < routes_count; i++) {
		const struct route *route = &routes[i];

		if (strncmp(route->pattern, "/admin", 6) != 0)
			continue;
		seen++;
		assert_int_equal(call(*state, ANN, route)->status, 403);
		assert_int_equal(call(*state, STEWARD, route)->status, 403);
		assert_int_equal(call(*state, VISITOR, route)->status,
		                 route->method == HTTP_GET ? 303 : 403);
		if (route->method == HTTP_GET)
			assert_int_equal(call(*state, ADMIN, route)->status, 200);
	}
	assert_true(seen >= 12);
}

static unsigned send_form(struct web *web, const char *target, const char *token, const char *site)
{
	struct request request = {.method = HTTP_POST, .headers = {.sec_fetch_site = site}};
	char body[100] = "";

	if (token)
		snprintf(body, sizeof body, "token=%s", token);
	return web_send(web, ADMIN, &request, target, body)->status;
}

static void forms_of_others_are_refused(void **state)
{
	struct web *web = *state;
	size_t seen = 0;

	for (size_t i = 0; i < routes_count; i++) {
		const char *own = web_form_token(web, ADMIN);
		char target[200];

		if (routes[i].method != HTTP_POST || routes[i].caller == CALL_GUEST ||
		    (strncmp(routes[i].pattern, "/a", 2) != 0 &&
		     strcmp(routes[i].pattern, "/sign-out") != 0))
			continue;
		seen++;
		web_set_now(WEB_START + (int64_t)seen * 60); /* few tries a minute are allowed */
		fill_pattern(routes[i].pattern, target, sizeof target);
		assert_int_equal(send_form(web, target, NULL, "same-origin"), 403);
		assert_int_equal(send_form(web, target, "", "same-origin"), 403);
		assert_int_equal(send_form(web, target, web_form_token(web, ANN), "same-origin"),
		                 403);
		assert_int_equal(send_form(web, target, own, "cross-site"), 403);
		assert_int_equal(send_form(web, target, own, "same-site"), 403);
	}
	assert_true(seen >= 14);
	assert_true(is_signed_in(web, web_cookie(web, ADMIN)));
}

static void forms_of_guests_come_from_this_site(void **state)
{
	struct request request = {.method = HTTP_POST, .headers = {.sec_fetch_site = "cross-site"}};

	assert_int_equal(web_send(*state, VISITOR, &request, "/sign-in", ANN_FIELDS)->status, 403);
	request.headers.sec_fetch_site = NULL;
	request.headers.origin = "https://elsewhere.example";
	assert_int_equal(web_send(*state, VISITOR, &request, "/sign-in", ANN_FIELDS)->status, 403);
}

/* ---- joining ---- */

#define JOIN_FIELDS                                                                                \
	"login=dora&name=Dora+Dent&password=seven+dull+rivets&password_again=seven+dull+rivets"

struct link {
	char path[80];
	struct invite_id id;
};

static struct link invite(struct web *web, enum role role, int64_t expires_at)
{
	struct invite_entry entry = {.role = role,
	                             .label = "for Dora",
	                             .made_by = web_member(web, ADMIN),
	                             .expires_at = expires_at};
	struct link link;
	char token[TOKEN_SIZE];

	token_make(token);
	entry.token = hash_of(token, TOKEN_LENGTH);
	assert_int_equal(invite_add(web_store(web), &entry, WEB_START, &link.id), ST_OK);
	snprintf(link.path, sizeof link.path, "/join/%s", token);
	return link;
}

static void an_invite_makes_one_member(void **state)
{
	struct web *web = *state;
	struct link link = invite(web, ROLE_STEWARD, WEB_START + 100);
	const struct response *response = web_get(web, VISITOR, link.path);
	struct browser browser = {.cookie = ""};

	assert_int_equal(response->status, 200);
	assert_int_equal(response->cache, CACHE_NEVER);
	assert_true(web_holds(response, "an admin") && !web_holds(response, "Ada Admin"));
	assert_true(web_holds(response, "for Dora"));
	assert_true(web_holds(response, "steward"));
	response = web_post(web, VISITOR, link.path, JOIN_FIELDS);
	assert_int_equal(response->status, 303);
	take_cookie(response, &browser);
	assert_true(web_holds(browse(web, &browser, "/account"), "Dora Dent"));
	assert_true(web_holds(browse(web, &browser, "/account"), "steward"));
	assert_int_equal(members_of(web), 5);
	assert_int_equal(web_get(web, VISITOR, link.path)->status, 404);
	assert_int_equal(
	        web_post(web, VISITOR, link.path,
	                 "login=eve&name=Eve&password=0123456789&password_again=0123456789")
	                ->status,
	        404);
	assert_int_equal(members_of(web), 5);
	sign_in(web, "login=dora&password=seven+dull+rivets");
}

static void dead_links_get_one_clear_page(void **state)
{
	struct web *web = *state;
	struct link late = invite(web, ROLE_BUILDER, WEB_START);
	struct link revoked = invite(web, ROLE_BUILDER, WEB_START + 100);
	const char *const paths[] = {
	        late.path,
	        revoked.path,
	        "/join/AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA",
	        "/join/AAAA",
	        "/join/%22%3E%3Cscript%3E",
	};

	assert_int_equal(invite_revoke(web_store(web), revoked.id), ST_OK);
	for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
		const struct response *response = web_get(web, VISITOR, paths[i]);

		assert_int_equal(response->status, 404);
		assert_true(web_holds(response, "Ask whoever sent it for a new one"));
		assert_int_equal(web_post(web, VISITOR, paths[i], JOIN_FIELDS)->status, 404);
	}
	assert_int_equal(members_of(web), 4);
}

static void faulty_registrations_change_nothing(void **state)
{
#define PASSWORDS "&password=seven+dull+rivets&password_again=seven+dull+rivets"
	static const struct {
		const char *fields, *words;
	} rows[] = {
	        {"login=ANN&name=Another" PASSWORDS, "Login is taken"},
	        {"login=a&name=Another" PASSWORDS, "Login must be"},
	        {"login=do+ra&name=Another" PASSWORDS, "Login must be"},
	        {"login=d%C3%B6ra&name=Another" PASSWORDS, "Login must be"},
	        {"login=%22%3E%3Cscript%3E&name=Another" PASSWORDS, "Login must be"},
	        {"login=do%E2%80%AEra&name=Another" PASSWORDS, "Login holds"},
	        {"login=do%00ra&name=Another" PASSWORDS, "Login holds"},
	        {"login=&name=Another" PASSWORDS, "Login is needed"},
	        {"login=dora&name=" PASSWORDS, "Your name is needed"},
	        {"login=dora&name=D%0Ara" PASSWORDS, "Your name must be one line"},
	        {"login=dora&name=%C0%AF" PASSWORDS, "Your name holds"},
	        {"login=dora&name=Dora", "New password is needed"},
	        {"login=dora&name=Dora&password=012345678&password_again=012345678",
	         "New password is shorter than 10 characters"},
	        /* Nine characters of two bytes each are still nine. */
	        {"login=dora&name=Dora&password=%C3%A4%C3%A4%C3%A4%C3%A4%C3%A4%C3%A4%C3%A4%C3%A4%"
	         "C3%"
	         "A4&password_again=x",
	         "New password is shorter than 10 characters"},
	        {"login=doradoradora&name=Dora&password=DORAdoradora&password_again=DORAdoradora",
	         "New password must not be the login"},
	        {"login=dora&name=Dora&password=seven+dull+rivets&password_again=seven+dull+rivet",
	         "New password again is not the same"},
	};
	struct web *web = *state;
	struct link link = invite(web, ROLE_BUILDER, WEB_START + 100);

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response = web_post(web, VISITOR, link.path, rows[i].fields);

		assert_int_equal(response->status, 422);
		assert_true(web_holds(response, rows[i].words));
		assert_false(web_holds(response, "rivets"));
		assert_false(web_holds(response, "\"><script>"));
	}
	assert_int_equal(members_of(web), 4);
	assert_int_equal(web_post(web, VISITOR, link.path, JOIN_FIELDS)->status, 303);
}

static void what_was_typed_stays_in_the_form(void **state)
{
	struct link link = invite(*state, ROLE_BUILDER, WEB_START + 100);
	const struct response *response = web_post(
	        *state, VISITOR, link.path, "login=dora&name=%22%3E%3Cb%3EDora" PASSWORDS "x");

	assert_int_equal(response->status, 422);
	assert_true(web_holds(response, "value=\"dora\""));
	assert_true(web_holds(response, "value=\"&quot;&gt;&lt;b&gt;Dora\""));
}

/* The link that serve prints is hashed by the store's function; sessions and
 * tokens are looked up by either. */
static void both_hashes_of_a_token_agree(void **state)
{
	(void)state;
	for (int i = 0; i < 20; i++) {
		char token[TOKEN_SIZE];
		struct hash hash;
		struct digest digest;

		token_make(token);
		hash = hash_of(token, TOKEN_LENGTH);
		digest = token_digest(token);
		assert_memory_equal(hash.v, digest.bytes, HASH_SIZE);
	}
}

/* ---- one's own account ---- */

static void a_hostile_name_is_kept_as_words(void **state)
{
	const struct response *response;

	assert_int_equal(
	        web_post(*state, ANN, "/account", "name=%22%3E%3Cscript%3Ealert(1)%3C/script%3E")
	                ->status,
	        303);
	response = web_get(*state, ANN, "/account");
	assert_true(web_holds(response, "&quot;&gt;&lt;script&gt;alert(1)"));
	assert_false(web_holds(response, "<script>alert"));
	response = web_get(*state, ADMIN, "/admin/members");
	assert_true(web_holds(response, "&lt;script&gt;alert(1)"));
	assert_false(web_holds(response, "<script>alert"));
}

#define TEN "0123456789"

static void faulty_names_change_nothing(void **state)
{
	static const char *const rows[] = {
	        "",           "name=",
	        "name=+++",   "name=a%0Ab",
	        "name=a%00b", "name=%E2%80%AEb",
	        "name=%FF",   "name=" TEN TEN TEN TEN TEN TEN TEN TEN "x",
	};

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_int_equal(web_post(*state, ANN, "/account", rows[i])->status, 422);
	assert_true(web_holds(web_get(*state, ANN, "/account"), "value=\"Ann Builder\""));
}

#define CHANGE_FIELDS                                                                              \
	"password_now=correct+horse+battery&password=seven+dull+rivets"                            \
	"&password_again=seven+dull+rivets"

static void a_new_password_turns_the_session(void **state)
{
	struct web *web = *state;
	struct browser here = sign_in(web, ANN_FIELDS);
	struct browser after = {.cookie = ""};
	const struct response *response = submit(web, &here, "/account/password", CHANGE_FIELDS);

	assert_int_equal(response->status, 303);
	take_cookie(response, &after);
	assert_false(is_signed_in(web, here.cookie));
	assert_true(is_signed_in(web, after.cookie));
	assert_int_equal(web_post(web, VISITOR, "/sign-in", ANN_FIELDS)->status, 422);
	sign_in(web, "login=ann&password=seven+dull+rivets");
}

/* ASVS 7.4.3: the others end with it. */
static void a_new_password_ends_other_sessions(void **state)
{
	struct web *web = *state;
	struct browser here = sign_in(web, ANN_FIELDS);
	struct browser there = sign_in(web, ANN_FIELDS);
	struct browser after = {.cookie = ""};
	const struct response *response = submit(web, &here, "/account/password", CHANGE_FIELDS);

	assert_int_equal(response->status, 303);
	take_cookie(response, &after);
	assert_true(is_signed_in(web, after.cookie));
	assert_false(is_signed_in(web, there.cookie));
	assert_true(is_signed_in(web, web_cookie(web, BEN)));
}

static void a_new_password_needs_the_old(void **state)
{
	static const struct {
		const char *fields, *words;
	} rows[] = {
	        {"", "Password in use is needed"},
	        {"password_now=wrong&password=seven+dull+rivets&password_again=seven+dull+rivets",
	         "Password in use is not right"},
	        {"password_now=correct+horse+battery&password=short&password_again=short",
	         "New password is shorter"},
	        {"password_now=correct+horse+battery&password=seven+dull+rivets&password_again=a",
	         "New password again is not the same"},
	};

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response =
		        web_post(*state, ANN, "/account/password", rows[i].fields);

		assert_int_equal(response->status, 422);
		assert_true(web_holds(response, rows[i].words));
		assert_false(web_holds(response, "rivets"));
		assert_false(web_holds(response, "horse"));
	}
	sign_in(*state, ANN_FIELDS);
}

static void a_stolen_session_cannot_guess_the_password(void **state)
{
	const char *wrong = "password_now=wrong&password=seven+dull+rivets"
	                    "&password_again=seven+dull+rivets";

	for (int i = 0; i < 5; i++)
		assert_int_equal(web_post(*state, ANN, "/account/password", wrong)->status, 422);
	assert_int_equal(web_post(*state, ANN, "/account/password", CHANGE_FIELDS)->status, 429);
	assert_int_equal(web_post(*state, ANN, "/account/remove",
	                          "login=ann&password_now=correct+horse+battery")
	                         ->status,
	                 429);
}

static struct session_id session_of(struct web *web, enum who who)
{
	struct arena *arena = arena_new();
	const struct session *sessions = NULL;
	struct session_id id;
	size_t count = 0;

	assert_int_equal(session_list(web_store(web), arena, web_member(web, who), WEB_START,
	                              &sessions, &count),
	                 ST_OK);
	assert_true(count > 0);
	id = sessions[count - 1].id; /* the oldest: the one that the support made */
	arena_free(arena);
	return id;
}

static void only_own_sessions_can_be_ended(void **state)
{
	struct web *web = *state;
	struct browser here = sign_in(web, ANN_FIELDS);
	char target[80];

	snprintf(target, sizeof target, "/account/sessions/%lld/end",
	         (long long)session_of(web, BEN).v);
	assert_int_equal(submit(web, &here, target, "")->status, 404);
	assert_true(is_signed_in(web, web_cookie(web, BEN)));
	snprintf(target, sizeof target, "/account/sessions/%lld/end",
	         (long long)session_of(web, ANN).v);
	assert_int_equal(submit(web, &here, target, "")->status, 303);
	assert_false(is_signed_in(web, web_cookie(web, ANN)));
	assert_true(is_signed_in(web, here.cookie));
	assert_int_equal(submit(web, &here, target, "")->status, 404);
}

static void all_others_can_be_ended_at_once(void **state)
{
	struct web *web = *state;
	struct browser here = sign_in(web, ANN_FIELDS);
	struct browser there = sign_in(web, ANN_FIELDS);

	assert_int_equal(submit(web, &here, "/account/sessions/end-others", "")->status, 303);
	assert_true(is_signed_in(web, here.cookie));
	assert_false(is_signed_in(web, there.cookie));
	assert_false(is_signed_in(web, web_cookie(web, ANN)));
	assert_true(is_signed_in(web, web_cookie(web, BEN)));
}

static void sessions_are_told_apart(void **state)
{
	struct request request = {
	        .method = HTTP_POST,
	        .headers = {.sec_fetch_site = "same-origin",
	                    .user_agent = "Mozilla/5.0 (Android 14; Mobile; rv:128.0) Gecko/128.0 "
	                                  "Firefox/128.0 <script>"}};
	struct browser browser = {.cookie = ""};
	const struct response *response =
	        web_send(*state, VISITOR, &request, "/sign-in", ANN_FIELDS);

	take_cookie(response, &browser);
	response = browse(*state, &browser, "/account/sessions");
	assert_true(web_holds(response, "Firefox on Android"));
	assert_true(web_holds(response, "This is the one that you use now."));
	assert_false(web_holds(response, "<script>"));
}

/* The token that the page shows between the marks of its line. */
static void read_secret(const struct response *response, char out[TOKEN_SIZE])
{
	static const char before[] = "<p class=\"statement\">";
	const char *at = strstr(response->body, before);

	assert_non_null(at);
	memcpy(out, at + strlen(before), TOKEN_LENGTH);
	out[TOKEN_LENGTH] = '\0';
	assert_true(token_well_formed(out));
}

static enum status find_token(struct web *web, const char *token, struct member_id *out)
{
	struct arena *arena = arena_new();
	struct hash hash = hash_of(token, TOKEN_LENGTH);
	struct member member = {.id = {0}};
	enum status status = api_token_find(web_store(web), arena, &hash, WEB_START, &member);

	*out = member.id;
	arena_free(arena);
	return status;
}

static struct api_token_id newest_token(struct web *web, enum who who)
{
	struct arena *arena = arena_new();
	const struct api_token *tokens = NULL;
	struct api_token_id id;
	size_t count = 0;

	assert_int_equal(
	        api_token_list(web_store(web), arena, web_member(web, who), &tokens, &count),
	        ST_OK);
	assert_true(count > 0);
	id = tokens[count - 1].id;
	arena_free(arena);
	return id;
}

static void a_token_is_shown_once_and_works(void **state)
{
	struct web *web = *state;
	const struct response *response =
	        web_post(web, ANN, "/account/tokens", "label=%3Cb%3Ehangar&life=90+days");
	struct member_id owner;
	char secret[TOKEN_SIZE];

	assert_int_equal(response->status, 200);
	assert_int_equal(response->cache, CACHE_NEVER);
	read_secret(response, secret);
	assert_int_equal(find_token(web, secret, &owner), ST_OK);
	assert_int_equal(owner.v, web_member(web, ANN).v);
	response = web_get(web, ANN, "/account/tokens");
	assert_true(web_holds(response, "&lt;b&gt;hangar"));
	assert_false(web_holds(response, secret));
}

static void only_own_tokens_can_be_ended(void **state)
{
	struct web *web = *state;
	char secret[TOKEN_SIZE];
	char target[80];
	struct member_id owner;

	read_secret(web_post(web, BEN, "/account/tokens", "label=mine&life=30+days"), secret);
	snprintf(target, sizeof target, "/account/tokens/%lld/end",
	         (long long)newest_token(web, BEN).v);
	assert_int_equal(web_post(web, ANN, target, "")->status, 404);
	assert_int_equal(web_post(web, ADMIN, target, "")->status, 404);
	assert_int_equal(find_token(web, secret, &owner), ST_OK);
	assert_int_equal(web_post(web, BEN, target, "")->status, 303);
	assert_int_equal(find_token(web, secret, &owner), ST_MISSING);
}

static void tokens_are_not_without_number(void **state)
{
	static const char *const rows[] = {"label=x",
	                                   "label=x&life=",
	                                   "label=x&life=90",
	                                   "label=x&life=a+year",
	                                   "label=x&life=36500+days",
	                                   "life=90+days"};

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_int_equal(web_post(*state, ANN, "/account/tokens", rows[i])->status, 422);
	assert_int_equal(web_post(*state, ANN, "/account/tokens", "label=&life=90+days")->status,
	                 422);
	for (int i = 0; i < 49; i++) /* one is there */
		assert_int_equal(
		        web_post(*state, ANN, "/account/tokens", "label=x&life=365+days")->status,
		        200);
	assert_int_equal(web_post(*state, ANN, "/account/tokens", "label=x&life=365+days")->status,
	                 422);
}

/* On the pages of tokens, account and news, from two weeks before; to its member alone. */
static void the_end_of_a_token_is_told_before(void **state)
{
	static const char *const pages[] = {"/account", "/news", "/account/tokens"};
	static const struct {
		int64_t day;
		bool told;
		const char *words;
	} rows[] = {{9, false, ""},
	            {15, false, ""},
	            {16, true, "ends"},
	            {28, true, "ends"},
	            {30, true, "ended"}};
	struct web *web = *state;
	char secret[TOKEN_SIZE];

	read_secret(web_post(web, BEN, "/account/tokens", "label=Hangar+clock&life=30+days"),
	            secret);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		char marked[80];

		web_set_now(WEB_START + rows[i].day * 86400);
		snprintf(marked, sizeof marked, "<strong>Hangar clock</strong> %s on",
		         rows[i].words);
		for (size_t p = 0; p < 2; p++) {
			assert_int_equal(web_holds(web_get(web, BEN, pages[p]), marked),
			                 rows[i].told);
			assert_false(web_holds(web_get(web, ANN, pages[p]), "Hangar clock"));
		}
		assert_int_equal(web_holds(web_get(web, BEN, pages[2]), "ends soon"),
		                 rows[i].told && rows[i].day < 30);
		assert_int_equal(web_holds(web_get(web, BEN, pages[2]), ">ended</span>"),
		                 rows[i].day >= 30);
	}
}

/* ---- own data ---- */

static struct name name_of(const char *text)
{
	static struct arena *arena; /* for the life of the test */
	struct name name;

	if (!arena)
		arena = arena_new();
	assert_int_equal(name_make(arena, text, strlen(text), &name), ST_OK);
	return name;
}

/* A notice, a note by each builder on it, two records on each kit. */
static struct notice_id add_work(struct web *web)
{
	struct revision_content content = revision_content_empty;
	const struct notice_import import = {
	        .revisions = &content, .n_revisions = 1, .cancelled_on = "", .cancel_reason = ""};
	struct record record = {.notice = name_of("SB-1"),
	                        .revision = name_of("A"),
	                        .done = date_of_day(day_from_civil(2026, 5, 4)),
	                        .method = "as printed",
	                        .by = "me",
	                        .signed_as = "",
	                        .has_hours = true,
	                        .hours = 12025,
	                        .remarks = "first",
	                        .entered_by = "me",
	                        .entered_at = WEB_START};
	struct notice_id notice;

	content.number = "SB-1";
	content.issuer = "Harrowfen";
	content.revision = "A";
	content.title = "Bronze bushing";
	content.action = "Replace it.";
	content.effectivity = "all";
	content.issued = "2018";
	assert_int_equal(notice_import(web_store(web), &import, web_member(web, STEWARD), WEB_START,
	                               &notice),
	                 ST_OK);
	for (enum who who = ANN; who <= BEN; who++) {
		struct record_id id;
		struct note_subject of = note_on_notice(notice);
		struct note_id note;

		record.corrects.v = 0;
		assert_int_equal(record_append(web_store(web), web_kit(web, who), &record, &id),
		                 ST_OK);
		record.corrects = id;
		assert_int_equal(record_append(web_store(web), web_kit(web, who), &record, &id),
		                 ST_OK);
		assert_int_equal(note_add(web_store(web), &of, web_member(web, who),
		                          who == ANN ? "of Ann" : "of Ben", WEB_START, &note),
		                 ST_OK);
	}
	return notice;
}

static const char *string_at(const json_t *object, const char *key)
{
	const char *text = json_string_value(json_object_get(object, key));

	assert_non_null(text);
	return text;
}

static void own_data_is_whole_and_only_own(void **state)
{
	struct web *web = *state;
	const struct response *response;
	json_error_t error;
	json_t *file, *kit, *record, *note;

	add_work(web);
	response = web_get(web, ANN, "/account/data");
	assert_int_equal(response->status, 200);
	assert_int_equal(response->cache, CACHE_NEVER);
	assert_string_equal(web_header(response, "Content-Disposition"),
	                    "attachment; filename=\"fairlead-own-data.json\"");
	assert_false(web_holds(response, "Ben"));
	assert_false(web_holds(response, "argon2"));
	file = json_loadb(response->body, response->len, JSON_REJECT_DUPLICATES, &error);
	assert_non_null(file);
	assert_string_equal(string_at(json_object_get(file, "member"), "login"), "ann");
	assert_int_equal(json_array_size(json_object_get(file, "kits")), 1);
	kit = json_array_get(json_object_get(file, "kits"), 0);
	assert_true(json_is_object(json_object_get(kit, "facts")));
	assert_int_equal(json_array_size(json_object_get(kit, "records")), 2);
	record = json_array_get(json_object_get(kit, "records"), 1);
	assert_string_equal(string_at(record, "notice"), "SB-1");
	assert_string_equal(string_at(record, "done"), "2026-05-04");
	assert_int_equal(json_integer_value(json_object_get(record, "corrects")), 1);
	assert_true(json_number_value(json_object_get(record, "hours")) == 120.25);
	/* RFC 3339; the time by: date -u -d @1790000000 */
	assert_string_equal(string_at(record, "entered"), "2026-09-21T14:13:20Z");
	note = json_array_get(json_object_get(file, "notes"), 0);
	assert_string_equal(string_at(note, "text"), "of Ann");
	json_decref(file);
}

/* ---- leaving ---- */

static int64_t notes_on(struct web *web, struct notice_id notice)
{
	struct note_query query = {.of = note_on_notice(notice), .page = {1000, 0}};
	struct arena *arena = arena_new();
	const struct note *notes;
	size_t count = 0;
	int64_t standing = 0, total;

	assert_int_equal(note_list(web_store(web), arena, &query, &notes, &count, &total), ST_OK);
	for (size_t i = 0; i < count; i++)
		standing += notes[i].removed_at == 0;
	arena_free(arena);
	return standing;
}

static size_t records_of(struct web *web, enum who who)
{
	struct arena *arena = arena_new();
	const struct record *records = NULL;
	size_t count = 0;

	assert_int_equal(record_list(web_store(web), arena, web_kit(web, who), &records, &count),
	                 ST_OK);
	arena_free(arena);
	return count;
}

static void leaving_takes_everything_along(void **state)
{
	struct web *web = *state;
	struct notice_id notice = add_work(web);
	struct member_id owner;
	const struct response *response;

	assert_true(web_holds(web_get(web, ANN, "/account/remove"), "work done (2)"));
	response = web_post(web, ANN, "/account/remove",
	                    "login=Ann&password_now=correct+horse+battery");
	assert_int_equal(response->status, 303);
	assert_string_equal(web_header(response, "Location"), "/?said=account-removed");
	assert_non_null(strstr(web_header(response, "Set-Cookie"), "session=; Path=/; Max-Age=0"));
	assert_false(is_signed_in(web, web_cookie(web, ANN)));
	assert_int_equal(members_of(web), 3);
	assert_int_equal(kit_owner(web_store(web), web_kit(web, ANN), &owner), ST_MISSING);
	assert_int_equal(records_of(web, ANN), 0);
	assert_int_equal(records_of(web, BEN), 2);
	assert_int_equal(notes_on(web, notice), 1);
	assert_int_equal(web_post(web, VISITOR, "/sign-in", ANN_FIELDS)->status, 422);
}

static void leaving_is_meant(void **state)
{
	static const struct {
		const char *fields, *words;
	} rows[] = {
	        {"", "is needed"},
	        {"login=ann", "Password is needed"},
	        {"login=ben&password_now=correct+horse+battery", "is not yours"},
	        {"login=ann&password_now=wrong", "Password is not right"},
	};

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response =
		        web_post(*state, ANN, "/account/remove", rows[i].fields);

		assert_int_equal(response->status, 422);
		assert_true(web_holds(response, rows[i].words));
		assert_false(web_holds(response, "horse"));
	}
	assert_int_equal(members_of(*state), 4);
}

static void the_last_admin_stays(void **state)
{
	struct web *web = *state;
	const struct response *response = web_post(web, ADMIN, "/account/remove",
	                                           "login=ada&password_now=correct+horse+battery");
	char target[80];

	assert_int_equal(response->status, 422);
	assert_true(web_holds(response, "You are the last admin."));
	snprintf(target, sizeof target, "/admin/members/%lld/role",
	         (long long)web_member(web, ADMIN).v);
	response = web_post(web, ADMIN, target, "role=builder");
	assert_int_equal(response->status, 422);
	assert_true(web_holds(response, "this is the last admin"));
	snprintf(target, sizeof target, "/admin/members/%lld/disable",
	         (long long)web_member(web, ADMIN).v);
	assert_int_equal(web_post(web, ADMIN, target, "")->status, 403);
	assert_true(is_signed_in(web, web_cookie(web, ADMIN)));
	assert_int_equal(web_get(web, ADMIN, "/admin")->status, 200);
}

/* ---- running the chapter ---- */

static void roles_are_given(void **state)
{
	static const char *const bad[] = {"", "role=", "role=owner", "role=ADMIN", "role=2"};
	struct web *web = *state;
	char target[80];

	snprintf(target, sizeof target, "/admin/members/%lld/role",
	         (long long)web_member(web, ANN).v);
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
		assert_int_equal(web_post(web, ADMIN, target, bad[i])->status, 422);
	assert_int_equal(web_get(web, ANN, "/admin")->status, 403);
	assert_int_equal(web_post(web, ADMIN, target, "role=admin")->status, 303);
	assert_int_equal(web_get(web, ANN, "/admin")->status, 200);
	assert_int_equal(web_post(web, ADMIN, "/admin/members/999/role", "role=admin")->status,
	                 404);
}

/* ASVS 7.4.2: all sessions end when the account is disabled. */
static void who_is_shut_out_is_out_at_once(void **state)
{
	struct web *web = *state;
	char out[80], in[80];

	snprintf(out, sizeof out, "/admin/members/%lld/disable", (long long)web_member(web, ANN).v);
	snprintf(in, sizeof in, "/admin/members/%lld/enable", (long long)web_member(web, ANN).v);
	assert_int_equal(web_post(web, ADMIN, out, "")->status, 303);
	assert_false(is_signed_in(web, web_cookie(web, ANN)));
	assert_int_equal(web_post(web, VISITOR, "/sign-in", ANN_FIELDS)->status, 422);
	assert_int_equal(web_post(web, ADMIN, in, "")->status, 303);
	sign_in(web, ANN_FIELDS);
}

/* Where the link leads that the page shows. */
static void read_link(const struct response *response, char path[80])
{
	static const char before[] = "<p class=\"statement\">http://fairlead.test";
	const char *at = strstr(response->body, before);

	assert_int_equal(response->status, 200);
	assert_int_equal(response->cache, CACHE_NEVER);
	assert_non_null(at);
	at += strlen(before);
	snprintf(path, 80, "%.*s", (int)strcspn(at, "<"), at);
}

static void offer_reset(struct web *web, enum who who, char path[80])
{
	char target[80];

	snprintf(target, sizeof target, "/admin/members/%lld/reset",
	         (long long)web_member(web, who).v);
	read_link(web_post(web, ADMIN, target, ""), path);
}

#define RESET_FIELDS "password=seven+dull+rivets&password_again=seven+dull+rivets"

static void a_forgotten_password_is_set_anew_once(void **state)
{
	struct web *web = *state;
	struct browser browser = {.cookie = ""};
	const struct response *response;
	char path[80];

	offer_reset(web, ANN, path);
	assert_true(is_signed_in(web, web_cookie(web, ANN)));
	response = web_get(web, VISITOR, path);
	assert_int_equal(response->status, 200);
	assert_int_equal(response->cache, CACHE_NEVER);
	assert_int_equal(
	        web_post(web, VISITOR, path, "password=short&password_again=short")->status, 422);
	response = web_post(web, VISITOR, path, RESET_FIELDS);
	assert_int_equal(response->status, 303);
	take_cookie(response, &browser);
	assert_true(web_holds(browse(web, &browser, "/account"), "Ann Builder"));
	assert_false(is_signed_in(web, web_cookie(web, ANN)));
	assert_true(is_signed_in(web, web_cookie(web, BEN)));
	assert_int_equal(web_post(web, VISITOR, path, RESET_FIELDS)->status, 404);
	assert_int_equal(web_post(web, VISITOR, "/sign-in", ANN_FIELDS)->status, 422);
	sign_in(web, "login=ann&password=seven+dull+rivets");
}

static void dead_reset_links_change_nothing(void **state)
{
	struct web *web = *state;
	char first[80], second[80], shut_out[80];

	offer_reset(web, ANN, first);
	offer_reset(web, ANN, second);
	offer_reset(web, BEN, shut_out);
	assert_int_equal(member_set_disabled(web_store(web), web_member(web, BEN), true), ST_OK);
	assert_int_equal(web_post(web, VISITOR, first, RESET_FIELDS)->status, 404);
	assert_int_equal(web_post(web, VISITOR, shut_out, RESET_FIELDS)->status, 404);
	assert_int_equal(web_post(web, VISITOR, "/new-password/x", RESET_FIELDS)->status, 404);
	assert_int_equal(web_get(web, VISITOR, second)->status, 200);
	web_set_now(WEB_START + 2 * 86400);
	assert_int_equal(web_post(web, VISITOR, second, RESET_FIELDS)->status, 404);
	sign_in(web, ANN_FIELDS);
}

static void another_password_ends_a_reset_link(void **state)
{
	char path[80];

	offer_reset(*state, ANN, path);
	assert_int_equal(web_post(*state, ANN, "/account/password", CHANGE_FIELDS)->status, 303);
	assert_int_equal(web_get(*state, VISITOR, path)->status, 404);
}

static void an_invite_is_shown_once_and_works(void **state)
{
	struct web *web = *state;
	const struct response *response =
	        web_post(web, ADMIN, "/admin/invites", "role=builder&label=%3Ci%3EDora&days=14");
	char path[80];

	read_link(response, path);
	assert_true(web_holds(response, "<path fill=\"#000000\" d=\"M0 0h7v1h-7z"));
	response = web_get(web, ADMIN, "/admin/invites");
	assert_true(web_holds(response, "&lt;i&gt;Dora"));
	assert_false(web_holds(response, path));
	assert_int_equal(web_get(web, VISITOR, path)->status, 200);
	assert_int_equal(web_post(web, ADMIN, "/admin/invites/1/take-back", "")->status, 303);
	assert_int_equal(web_get(web, VISITOR, path)->status, 404);
	assert_int_equal(web_post(web, ADMIN, "/admin/invites/1/take-back", "")->status, 404);
}

static void faulty_invites_are_not_made(void **state)
{
	static const char *const rows[] = {
	        "",
	        "role=builder",
	        "role=builder&days=0",
	        "role=builder&days=61",
	        "role=builder&days=ten",
	        "role=owner&days=14",
	        "days=14",
	        "role=builder&days=14&label=%E2%80%AE",
	};
	struct arena *arena = arena_new();
	const struct invite *invites = NULL;
	size_t count = 0;
	int64_t total = -1;

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_int_equal(web_post(*state, ADMIN, "/admin/invites", rows[i])->status, 422);
	assert_int_equal(invite_list(web_store(*state), arena, (struct page){10, 0}, &invites,
	                             &count, &total),
	                 ST_OK);
	assert_int_equal(total, 0);
	arena_free(arena);
}

static void settings_are_kept(void **state)
{
	struct web *web = *state;
	bool one_steward = false;
	const struct response *response;

	assert_int_equal(web_post(web, ADMIN, "/admin/settings",
	                          "chapter=%3Cb%3EFen+End&address=https://fen.example:8443"
	                          "&one_steward=yes")
	                         ->status,
	                 303);
	response = web_get(web, VISITOR, "/sign-in");
	assert_true(web_holds(response, "&lt;b&gt;Fen End"));
	assert_int_equal(setting_flag(web_store(web), SETTING_ONE_STEWARD, &one_steward), ST_OK);
	assert_true(one_steward);
	response = web_post(web, ADMIN, "/admin/invites", "role=builder&days=14");
	assert_true(web_holds(response, "https://fen.example:8443/join/"));
	assert_int_equal(web_post(web, ADMIN, "/admin/settings", "chapter=&address=")->status, 303);
	assert_int_equal(setting_flag(web_store(web), SETTING_ONE_STEWARD, &one_steward), ST_OK);
	assert_false(one_steward);
}

static void faulty_settings_change_nothing(void **state)
{
	static const char *const rows[] = {
	        "chapter=a%0Ab",
	        "chapter=a%00",
	        "address=fen.example",
	        "address=https://",
	        "address=https:///join",
	        "address=https://fen.example/",
	        "address=https://fen.example/x",
	        "address=https://fen.example?x",
	        "address=https://ann@fen.example",
	        "address=javascript:alert(1)",
	        "address=ftp://fen.example",
	        "address=https://fen+example",
	        "one_steward=1",
	};

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		char fields[200];

		snprintf(fields, sizeof fields, "%s%s", rows[i],
		         strncmp(rows[i], "chapter", 7) == 0 ? "" : "&chapter=Changed");
		assert_int_equal(web_post(*state, ADMIN, "/admin/settings", fields)->status, 422);
	}
	assert_true(web_holds(web_get(*state, ADMIN, "/admin/settings"),
	                      "id=\"chapter\" name=\"chapter\" value=\"\""));
}

static void the_log_and_the_state_are_shown(void **state)
{
	struct web *web = *state;
	const struct response *response;

	assert_true(web_holds(web_get(web, ADMIN, "/admin/log"), "Nothing of that kind"));
	add_work(web);
	assert_int_equal(web_post(web, ADMIN, "/admin/settings", "chapter=Fen")->status, 303);
	response = web_get(web, ADMIN, "/admin/log");
	assert_true(web_holds(response, "changed a setting: name of the chapter"));
	assert_true(web_holds(response, "Ada"));
	assert_int_equal(web_get(web, ADMIN, "/admin/log?page=0")->status, 422);
	assert_int_equal(web_get(web, ADMIN, "/admin/log?page=1000000")->status, 200);
	response = web_post(web, ADMIN, "/admin/verify", "");
	assert_int_equal(response->status, 200);
	assert_true(web_holds(response, "The database is sound. Records checked: 4"));
}

/* What is known of copies, from none to one that failed after a good one. */
static void the_last_copy_and_its_age_are_shown(void **state)
{
	struct web *web = *state;
	struct copy_entry good = {WEB_START - 3 * 3600, 2500000, "/copies/one.db", ""};
	struct copy_entry late = {WEB_START - 50 * 3600, 2500000, "/copies/two.db", ""};
	struct copy_entry bad = {WEB_START - 3600, 0, "/copies/three.db", "the disk is <full>"};
	const struct response *response = web_get(web, ADMIN, "/admin");

	assert_true(web_holds(response, "No copy has been made yet"));
	assert_int_equal(copy_enter(web_store(web), &good), ST_OK);
	response = web_get(web, ADMIN, "/admin");
	assert_true(web_holds(response, "3 hours ago, 2.5 MB, /copies/one.db"));
	assert_false(web_holds(response, "failed or is not sound"));
	assert_false(web_holds(response, "hours old"));
	assert_int_equal(copy_enter(web_store(web), &late), ST_OK);
	assert_true(web_holds(web_get(web, ADMIN, "/admin"), "is 50 hours old"));
	assert_int_equal(copy_enter(web_store(web), &bad), ST_OK);
	response = web_get(web, ADMIN, "/admin");
	assert_true(web_holds(response, "the disk is &lt;full&gt;"));
	assert_true(web_holds(response, "/copies/two.db"));
}

/* Nothing tells a visitor who is a member. */
static void members_are_not_told_to_visitors(void **state)
{
	static const char *const targets[] = {"/sign-in", "/account", "/admin/members",
	                                      "/admin/members/1", "/account/data"};

	for (size_t i = 0; i < sizeof targets / sizeof targets[0]; i++) {
		const struct response *response = web_get(*state, VISITOR, targets[i]);

		assert_false(web_holds(response, "Builder"));
		assert_false(web_holds(response, "ann"));
	}
}

/* ---- codes and browsers ---- */

#define SIDE_MOST 177

static void fill_modules(const char *shape, char modules[SIDE_MOST][SIDE_MOST])
{
	int x, y, run, len;

	while (sscanf(shape, "M%d %dh%dv1h-%*dz%n", &x, &y, &run, &len) == 3) {
		for (int i = 0; i < run; i++)
			modules[y][x + i] = 1;
		shape += len;
	}
	assert_string_equal(shape, "");
}

/* ISO/IEC 18004: a side of 17 + 4 v modules; a finder pattern, 7 by 7, in three
 * corners; a timing pattern in row and column 6 that begins and ends dark. */
static void codes_have_the_marks_of_the_standard(void **state)
{
	static const char *const finder[] = {"1111111", "1000001", "1011101", "1011101",
	                                     "1011101", "1000001", "1111111"};
	static char modules[SIDE_MOST][SIDE_MOST];
	json_t *view =
	        qr_view("https://fen.example/join/AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA");
	int side = (int)json_integer_value(json_object_get(view, "size"));

	(void)state;
	assert_non_null(view);
	assert_true(side >= 21 && (side - 17) % 4 == 0);
	fill_modules(string_at(view, "shape"), modules);
	for (int y = 0; y < 7; y++)
		for (int x = 0; x < 7; x++) {
			int wanted = finder[y][x] == '1';

			assert_int_equal(modules[y][x], wanted);
			assert_int_equal(modules[y][side - 7 + x], wanted);
			assert_int_equal(modules[side - 7 + y][x], wanted);
		}
	for (int i = 8; i < side - 8; i++) {
		assert_int_equal(modules[6][i], i % 2 == 0);
		assert_int_equal(modules[i][6], i % 2 == 0);
	}
	json_decref(view);
}

/* The remainder by the generator of the BCH (15,5) code. */
static unsigned bch_remainder(unsigned word)
{
	for (int bit = 14; bit >= 10; bit--)
		if (word >> bit & 1)
			word ^= 0x537U << (bit - 10);
	return word;
}

/* ISO/IEC 18004, format information (places and numbers from memory): 15 bits
 * around the corner at the top left, masked; the first two tell the error
 * correction, 00 being M. A code turned about its diagonal fails this. */
static void codes_say_their_error_correction(void **state)
{
	static const struct {
		int x, y;
	} places[15] = {{0, 8}, {1, 8}, {2, 8}, {3, 8}, {4, 8}, {5, 8}, {7, 8}, {8, 8},
	                {8, 7}, {8, 5}, {8, 4}, {8, 3}, {8, 2}, {8, 1}, {8, 0}};
	static char modules[SIDE_MOST][SIDE_MOST];
	json_t *view = qr_view("https://fen.example/join/");
	unsigned word = 0;

	(void)state;
	assert_non_null(view);
	fill_modules(string_at(view, "shape"), modules);
	for (size_t i = 0; i < 15; i++)
		word = word << 1 | (unsigned)modules[places[i].y][places[i].x];
	word ^= 0x5412;
	assert_int_equal(bch_remainder(word), 0);
	assert_int_equal(word >> 13, 0);
	json_decref(view);
}

static void too_long_a_text_has_no_code(void **state)
{
	char text[3001];

	(void)state;
	memset(text, 'a', sizeof text - 1);
	text[sizeof text - 1] = '\0';
	assert_null(qr_view(text));
}

static void browsers_are_named_in_words(void **state)
{
	static const struct {
		const char *user_agent, *label;
	} rows[] = {
	        {NULL, "A browser or program without a name"},
	        {"", "A browser or program without a name"},
	        {"curl/7.88.1", "A browser or program without a name"},
	        {"\"><script>", "A browser or program without a name"},
	        {"Mozilla/5.0 (X11; Linux x86_64; rv:128.0) Gecko/20100101 Firefox/128.0",
	         "Firefox on Linux"},
	        {"Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 (KHTML, like Gecko) "
	         "Chrome/126.0.0.0 Mobile Safari/537.36",
	         "Chrome on Android"},
	        {"Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15 "
	         "(KHTML, like Gecko) Version/17.5 Mobile/15E148 Safari/604.1",
	         "Safari on an iPhone"},
	        {"Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) "
	         "Chrome/126.0.0.0 Safari/537.36 Edg/126.0.0.0",
	         "Edge on Windows"},
	        {"Mozilla/5.0 (Something) New/1", "A browser"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_string_equal(browser_label(rows[i].user_agent), rows[i].label);
}

#define PAGE_TEST(f) cmocka_unit_test_setup_teardown(f, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        PAGE_TEST(right_password_opens_a_session),
	        PAGE_TEST(only_own_pages_come_next),
	        PAGE_TEST(page_keeps_where_to_go_next),
	        PAGE_TEST(wrong_ones_get_one_message),
	        PAGE_TEST(faulty_fields_are_named),
	        PAGE_TEST(guessing_one_account_is_slowed),
	        PAGE_TEST(success_forgets_failures),
	        PAGE_TEST(setting_the_clock_bars_nobody),
	        PAGE_TEST(the_limits_go_by_time_that_passed),
	        PAGE_TEST(guessing_from_one_address_is_slowed),
	        PAGE_TEST(a_stranger_does_not_keep_the_owner_out),
	        PAGE_TEST(guessing_from_many_addresses_is_slowed),
	        PAGE_TEST(an_owner_goes_on_from_a_known_address),
	        PAGE_TEST(a_known_address_has_a_limit_of_its_own),
	        PAGE_TEST(guessing_elsewhere_does_not_stop_a_session),
	        PAGE_TEST(a_planted_cookie_is_not_taken_up),
	        PAGE_TEST(signing_out_ends_the_session),
	        PAGE_TEST(demonstration_lets_in_and_others_do_not),
	        PAGE_TEST(only_admins_run_the_chapter),
	        PAGE_TEST(forms_of_others_are_refused),
	        PAGE_TEST(forms_of_guests_come_from_this_site),
	        PAGE_TEST(an_invite_makes_one_member),
	        PAGE_TEST(dead_links_get_one_clear_page),
	        PAGE_TEST(faulty_registrations_change_nothing),
	        PAGE_TEST(what_was_typed_stays_in_the_form),
	        cmocka_unit_test(both_hashes_of_a_token_agree),
	        PAGE_TEST(a_hostile_name_is_kept_as_words),
	        PAGE_TEST(faulty_names_change_nothing),
	        PAGE_TEST(a_new_password_turns_the_session),
	        PAGE_TEST(a_new_password_ends_other_sessions),
	        PAGE_TEST(a_new_password_needs_the_old),
	        PAGE_TEST(a_stolen_session_cannot_guess_the_password),
	        PAGE_TEST(only_own_sessions_can_be_ended),
	        PAGE_TEST(all_others_can_be_ended_at_once),
	        PAGE_TEST(sessions_are_told_apart),
	        PAGE_TEST(a_token_is_shown_once_and_works),
	        PAGE_TEST(only_own_tokens_can_be_ended),
	        PAGE_TEST(tokens_are_not_without_number),
	        PAGE_TEST(the_end_of_a_token_is_told_before),
	        PAGE_TEST(own_data_is_whole_and_only_own),
	        PAGE_TEST(leaving_takes_everything_along),
	        PAGE_TEST(leaving_is_meant),
	        PAGE_TEST(the_last_admin_stays),
	        PAGE_TEST(roles_are_given),
	        PAGE_TEST(who_is_shut_out_is_out_at_once),
	        PAGE_TEST(a_forgotten_password_is_set_anew_once),
	        PAGE_TEST(dead_reset_links_change_nothing),
	        PAGE_TEST(another_password_ends_a_reset_link),
	        PAGE_TEST(an_invite_is_shown_once_and_works),
	        PAGE_TEST(faulty_invites_are_not_made),
	        PAGE_TEST(settings_are_kept),
	        PAGE_TEST(faulty_settings_change_nothing),
	        PAGE_TEST(the_log_and_the_state_are_shown),
	        PAGE_TEST(the_last_copy_and_its_age_are_shown),
	        PAGE_TEST(members_are_not_told_to_visitors),
	        cmocka_unit_test(codes_have_the_marks_of_the_standard),
	        cmocka_unit_test(codes_say_their_error_correction),
	        cmocka_unit_test(too_long_a_text_has_no_code),
	        cmocka_unit_test(browsers_are_named_in_words),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
