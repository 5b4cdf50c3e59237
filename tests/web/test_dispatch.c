/* From a request to its answer, without a socket: who may call what, forms and
 * their tokens, inputs, errors, redirects, pages, limits. */
#include "support.h"

#include <stdio.h>
#include <string.h>

#include "store/settings.h"
#include "web/http/context.h"
#include "web/http/respond.h"
#include "web_support.h"

static const struct input name_inputs[] = {
        {"name", "Name", INPUT_LINE, .required = true, .longest = 20},
        INPUTS_END,
};

static enum status says_hello(struct context *c)
{
	return respond_page(c, "page.html", "Hello",
	                    json_pack("{s:o}", "form", form_view(c->form)));
}

static enum status saves_name(struct context *c)
{
	enum status status;

	if (!form_ok(c->form))
		return says_hello(c);
	status = setting_set_text(c->store, SETTING_CHAPTER, form_text(c->form, "name"));
	return status == ST_OK ? respond_redirect(c, "/hello?said=%s", "saved") : status;
}

static enum status tells_json(struct context *c)
{
	const char *login = c->member ? c->member->login : "nobody";

	return respond_json(c, json_pack("{s:s}", "login", login), CACHE_PUBLIC);
}

/* Returns the status whose number is captured. */
static enum status fails(struct context *c)
{
	return (enum status)context_id(c, "status");
}

static enum status signs_in(struct context *c)
{
	struct member member;
	enum status status = member_find(c->store, c->arena, form_text(c->form, "name"), &member);

	if (status == ST_OK)
		status = session_open(c, member.id);
	return status == ST_OK ? respond_redirect(c, "/hello?said=signed-in") : status;
}

static enum status signs_out(struct context *c)
{
	enum status status = session_close(c);

	return status == ST_OK ? respond_redirect(c, "/") : status;
}

static enum status goes(struct context *c)
{
	return respond_redirect(c, "%s", form_text(c->form, "name"));
}

static enum status breaks_a_page(struct context *c)
{
	return respond_page(c, form_text(c->form, "name"), "Broken", json_object());
}

static enum status downloads(struct context *c)
{
	return respond_bytes(c, "application/pdf", "%PDF", 4, CACHE_PRIVATE, "a.pdf");
}

static const struct route table[] = {
        {HTTP_GET, "/hello", CALL_ANYONE, says_hello, NULL, 0},
        {HTTP_POST, "/hello", CALL_ANYONE, saves_name, name_inputs, R_WRITES},
        {HTTP_POST, "/forgot-writes", CALL_ANYONE, saves_name, name_inputs, 0},
        {HTTP_GET, "/guest", CALL_GUEST, says_hello, NULL, 0},
        {HTTP_GET, "/member", CALL_MEMBER, says_hello, NULL, 0},
        {HTTP_POST, "/member", CALL_MEMBER, saves_name, name_inputs, R_WRITES},
        {HTTP_GET, "/kits/{kit}", CALL_KIT_OWNER, says_hello, NULL, 0},
        {HTTP_GET, "/steward", CALL_STEWARD, says_hello, NULL, 0},
        {HTTP_GET, "/admin", CALL_ADMIN, says_hello, NULL, 0},
        {HTTP_GET, "/api/any", CALL_ANYONE, tells_json, name_inputs, R_OPEN_QUERY},
        {HTTP_GET, "/api/known", CALL_ANY_TOKEN, tells_json, NULL, 0},
        {HTTP_GET, "/api/token", CALL_TOKEN, tells_json, NULL, 0},
        {HTTP_GET, "/api/kits/{kit}", CALL_TOKEN_OWNER, tells_json, NULL, 0},
        {HTTP_GET, "/fails/{status}", CALL_ANYONE, fails, NULL, 0},
        {HTTP_GET, "/api/fails/{status}", CALL_ANYONE, fails, NULL, 0},
        {HTTP_POST, "/sign-in", CALL_GUEST, signs_in, name_inputs, R_WRITES | R_GUARDED},
        {HTTP_POST, "/sign-out", CALL_MEMBER, signs_out, NULL, R_WRITES},
        {HTTP_GET, "/goes", CALL_ANYONE, goes, name_inputs, 0},
        {HTTP_GET, "/broken", CALL_ANYONE, breaks_a_page, name_inputs, 0},
        {HTTP_GET, "/secret", CALL_ANYONE, says_hello, NULL, R_SECRET},
        {HTTP_GET, "/download", CALL_MEMBER, downloads, NULL, 0},
};

#define VIEW(name, text)                                                                           \
	{                                                                                          \
		name, text, sizeof(text) - 1                                                       \
	}
static const struct embedded_file views[] = {
        VIEW("error.html", "ERROR {{status}} {{title}}: {{words}}"),
        VIEW("refused.html", "{{title}}|{{#typed}}{{number}}={{words}};{{/typed}}"),
        VIEW("hole.html", "{{nothing}}"),
        VIEW("page.html",
             "{{title}}|{{#member}}{{name}},{{login}}{{#steward}},steward{{/steward}}"
             "{{#admin}},admin{{/admin}}{{/member}}|{{token}}|{{#said}}{{said}}{{/said}}|"
             "{{here_path}}|{{chapter}}|{{#form.name}}{{value}};{{error}}{{/form.name}}"),
};

static struct web *web;

static int set_up(void **state)
{
	(void)state;
	web = web_new(table, sizeof table / sizeof table[0], views, sizeof views / sizeof views[0]);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	web_free(web);
	return 0;
}

/* Every kind of caller against everybody: the status that each gets. */
static void test_who_may_call(void **state)
{
	static const struct {
		const char *target;
		unsigned status[WHOS]; /* visitor, Ann (owner), Ben, steward, admin */
	} rows[] = {
	        {"/hello", {200, 200, 200, 200, 200}},      {"/guest", {200, 303, 303, 303, 303}},
	        {"/member", {303, 200, 200, 200, 200}},     {"/kits/1", {303, 200, 404, 404, 404}},
	        {"/kits/99", {303, 404, 404, 404, 404}},    {"/steward", {303, 403, 403, 200, 200}},
	        {"/admin", {303, 403, 403, 403, 200}},      {"/api/any", {200, 200, 200, 200, 200}},
	        {"/api/token", {401, 401, 401, 401, 401}}, /* a cookie is no token */
	        {"/api/kits/1", {401, 401, 401, 401, 401}}, {"/nowhere", {404, 404, 404, 404, 404}},
	};

	(void)state;
	assert_int_equal(web_kit(web, ANN).v, 1);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		for (enum who who = VISITOR; who <= ADMIN; who++) {
			const struct response *r = web_get(web, who, rows[i].target);

			if (r->status != rows[i].status[who])
				print_error("%s by %d: %u\n", rows[i].target, who, r->status);
			assert_int_equal(r->status, rows[i].status[who]);
		}
}

static void test_who_may_call_with_a_token(void **state)
{
	static const struct {
		const char *target;
		unsigned status[WHOS];
	} rows[] = {
	        {"/api/any", {200, 200, 200, 200, 200}},
	        {"/api/token", {401, 200, 200, 200, 200}},
	        {"/api/kits/1", {401, 200, 404, 404, 404}},
	        {"/api/kits/99", {401, 404, 404, 404, 404}},
	        {"/member", {303, 303, 303, 303, 303}}, /* a token opens no page */
	        {"/kits/1", {303, 303, 303, 303, 303}},
	        {"/admin", {303, 303, 303, 303, 303}},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		for (enum who who = VISITOR; who <= ADMIN; who++)
			assert_int_equal(web_api(web, who, rows[i].target)->status,
			                 rows[i].status[who]);
	assert_true(web_holds(web_api(web, ANN, "/api/token"), "{\"login\":\"ann\"}"));
}

static void test_a_missing_token_is_told_as_rfc_6750_says(void **state)
{
	struct request request = {.method = HTTP_GET, .headers = {.authorization = "Basic YTpi"}};
	const struct response *r = web_send(web, VISITOR, &request, "/api/token", NULL);

	(void)state;
	assert_int_equal(r->status, 401);
	assert_string_equal(web_header(r, "WWW-Authenticate"), "Bearer");
	assert_string_equal(web_header(r, "Content-Type"), "application/problem+json");
}

/* RFC 6750 section 3.1. What is not a bearer token is none, and no fault. */
static void test_a_token_that_is_nobodys_is_never_taken_for_none(void **state)
{
	static const char invalid[] = "Bearer error=\"invalid_token\"";
	static const char other[] = "Bearer AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA";
	const struct {
		const char *authorization;
		unsigned known, needed;
		const char *challenge; /* where a token is needed */
	} rows[] = {
	        {NULL, 200, 401, "Bearer"},           {"", 200, 401, "Bearer"},
	        {"Basic YTpi", 200, 401, "Bearer"},   {"Bearers abc", 200, 401, "Bearer"},
	        {web_bearer(web, ANN), 200, 200, ""}, {"Bearer", 401, 401, invalid},
	        {"Bearer ", 401, 401, invalid},       {"bearer x", 401, 401, invalid},
	        {"Bearer \xFF", 401, 401, invalid},   {other, 401, 401, invalid},
	        {"Bearer a b", 401, 401, invalid},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct request request = {.method = HTTP_GET,
		                          .headers = {.authorization = rows[i].authorization}};
		const struct response *r = web_send(web, VISITOR, &request, "/api/known", NULL);

		assert_int_equal(r->status, rows[i].known);
		if (r->status == 401)
			assert_string_equal(web_header(r, "WWW-Authenticate"), invalid);
		r = web_send(web, VISITOR, &request, "/api/token", NULL);
		assert_int_equal(r->status, rows[i].needed);
		assert_string_equal(web_header(r, "WWW-Authenticate"), rows[i].challenge);
	}
}

static void test_a_visitor_comes_back_after_signing_in(void **state)
{
	(void)state;
	assert_string_equal(web_header(web_get(web, VISITOR, "/member"), "Location"),
	                    "/sign-in?next=%2Fmember");
	assert_string_equal(web_header(web_get(web, ANN, "/guest"), "Location"), "/");
}

static void test_a_page_is_dressed(void **state)
{
	char wanted[300];

	(void)state;
	assert_int_equal(setting_set_text(web_store(web), SETTING_CHAPTER, "Marsh"), ST_OK);
	assert_string_equal(web_get(web, VISITOR, "/hello")->body, "Hello||||/hello|Marsh|");
	snprintf(wanted, sizeof wanted, "Hello|Ada Admin,ada,steward,admin|%s|Saved.|/hello|Marsh|",
	         web_form_token(web, ADMIN));
	assert_string_equal(web_get(web, ADMIN, "/hello?said=saved")->body, wanted);
	assert_string_equal(web_get(web, VISITOR, "/hello?said=%3Cscript%3E")->body,
	                    "Hello||||/hello|Marsh|");
}

static void test_caching_follows_the_caller(void **state)
{
	(void)state;
	assert_string_equal(web_header(web_get(web, VISITOR, "/hello"), "Cache-Control"),
	                    "public, max-age=60");
	assert_string_equal(web_header(web_get(web, ANN, "/hello"), "Cache-Control"),
	                    "private, no-cache");
	assert_string_equal(web_header(web_get(web, ANN, "/hello"), "Vary"),
	                    "Cookie, Authorization");
	assert_string_equal(web_header(web_get(web, VISITOR, "/secret"), "Cache-Control"),
	                    "no-store");
	assert_string_equal(web_header(web_get(web, ANN, "/nowhere"), "Cache-Control"), "no-store");
	assert_string_equal(web_header(web_post(web, ANN, "/member", "name="), "Cache-Control"),
	                    "no-store");
}

static void test_a_form_that_is_fine(void **state)
{
	const struct response *r = web_post(web, ANN, "/member", "name=Marsh");

	(void)state;
	assert_int_equal(r->status, 303);
	assert_string_equal(web_header(r, "Location"), "/hello?said=saved");
	assert_true(web_holds(web_get(web, VISITOR, "/hello"), "Marsh"));
}

static void test_a_faulty_form_comes_back(void **state)
{
	const struct response *r =
	        web_post(web, ANN, "/member", "name=%22%3E%3Cscript%3E+and+more+and+more");

	(void)state;
	assert_int_equal(r->status, 422);
	assert_true(
	        web_holds(r, "&quot;&gt;&lt;script&gt; and more and more;Name is longer than 20"));
	assert_int_equal(web_post(web, ANN, "/member", "")->status, 422);
	assert_false(web_holds(web_get(web, VISITOR, "/hello"), "script"));
}

static void test_unknown_fields_are_refused(void **state)
{
	(void)state;
	assert_int_equal(web_post(web, ANN, "/member", "name=x&role=admin")->status, 400);
	assert_int_equal(web_get(web, ANN, "/hello?x=1")->status, 400);
	assert_int_equal(web_get(web, ANN, "/api/any?name=a&x=1")->status, 200);
}

/* Forms from elsewhere: what a browser, or somebody's script in it, may send. */
static void test_forms_that_are_not_ours(void **state)
{
	static const struct {
		enum who who;
		const char *site, *origin, *host, *body;
		unsigned status;
	} rows[] = {
	        {ANN, "same-origin", "http://fairlead.test", NULL, "name=x&token=", 403},
	        {ANN, "same-origin", NULL, NULL, "name=x", 403},
	        {ANN, "same-origin", NULL, NULL, "name=x&token=wrong", 403},
	        {ANN, "cross-site", NULL, NULL, "TOKEN", 403},
	        {ANN, "same-site", NULL, NULL, "TOKEN", 403},
	        {ANN, "none", NULL, NULL, "TOKEN", 403},
	        {ANN, NULL, "http://elsewhere.test", NULL, "TOKEN", 403},
	        {ANN, NULL, "null", NULL, "TOKEN", 403},
	        {ANN, NULL, "http://fairlead.test.elsewhere.test", NULL, "TOKEN", 403},
	        {ANN, NULL, "http://fairlead.test", NULL, "TOKEN", 303},
	        {ANN, NULL, "http://box.local:8080", "box.local:8080", "TOKEN", 303},
	        {ANN, NULL, NULL, NULL, "TOKEN", 303},
	        {BEN, NULL, NULL, NULL, "TOKEN", 403}, /* Ann's token in Ben's session */
	        {VISITOR, "cross-site", NULL, NULL, "name=x", 403},
	        {VISITOR, NULL, "http://elsewhere.test", NULL, "name=x", 403},
	        {VISITOR, "same-origin", NULL, NULL, "name=x", 303},
	        {VISITOR, NULL, NULL, NULL, "name=x", 303},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct request request = {.method = HTTP_POST,
		                          .headers = {.sec_fetch_site = rows[i].site,
		                                      .origin = rows[i].origin,
		                                      .host = rows[i].host}};
		char body[200];

		snprintf(body, sizeof body, "name=x&token=%s", web_form_token(web, ANN));
		if (strcmp(rows[i].body, "TOKEN") != 0)
			snprintf(body, sizeof body, "%s", rows[i].body);
		if (web_send(web, rows[i].who, &request, "/hello", body)->status != rows[i].status)
			print_error("row %zu\n", i);
		assert_int_equal(web_send(web, rows[i].who, &request, "/hello", body)->status,
		                 rows[i].status);
	}
}

static void test_a_row_without_the_flag_cannot_write(void **state)
{
	(void)state;
	assert_int_equal(web_post(web, ANN, "/forgot-writes", "name=Marsh")->status, 403);
	assert_false(web_holds(web_get(web, VISITOR, "/hello"), "Marsh"));
	/* and the connection writes again for the next */
	assert_int_equal(web_post(web, ANN, "/hello", "name=Marsh")->status, 303);
}

static void test_a_visitors_post_to_members(void **state)
{
	(void)state;
	assert_int_equal(web_post(web, VISITOR, "/member", "name=x")->status, 403);
}

static void expect_refused(const struct response *r, const char *title, const char *words)
{
	char body[200];

	snprintf(body, sizeof body, "%s%s", title, words);
	assert_int_equal(r->status, 403);
	assert_int_equal(r->len, strlen(body));
	assert_memory_equal(r->body, body, r->len);
}

/* A long note must not be lost with the session: words come back, and neither
 * passwords nor choices, which hold no blank, do. */
static void test_a_refused_form_gives_its_words_back(void **state)
{
	static const char typed[] = "text=Cracks+at+both+%3Cribs%3E&name=x&token=a+b&"
	                            "password_again=correct+horse&more=one%0Atwo";
	static const char words[] = "1=Cracks at both &lt;ribs&gt;;5=one\ntwo;";
	struct request old = {.method = HTTP_POST, .headers = {.sec_fetch_site = "same-origin"}};

	(void)state;
	expect_refused(web_post(web, VISITOR, "/member", typed), "You are signed out|", words);
	expect_refused(web_send(web, ANN, &old, "/member", typed), "This form is too old|", words);
	expect_refused(web_post(web, VISITOR, "/member", "name=x"), "You are signed out|", "");
}

static void test_failures_become_errors(void **state)
{
	static const struct {
		enum status status;
		unsigned code;
	} rows[] = {
	        {ST_NOMEM, 500},  {ST_INVALID, 400}, {ST_MISSING, 404}, {ST_CONFLICT, 409},
	        {ST_DENIED, 403}, {ST_BUSY, 503},    {ST_LIMIT, 413},   {ST_IO, 500},
	};
	char target[40];

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *r;

		snprintf(target, sizeof target, "/fails/%d", rows[i].status);
		r = web_get(web, ANN, target);
		assert_int_equal(r->status, rows[i].code);
		assert_memory_equal(r->body, "ERROR ", 6);
		snprintf(target, sizeof target, "/api/fails/%d", rows[i].status);
		r = web_get(web, ANN, target);
		assert_int_equal(r->status, rows[i].code);
		assert_string_equal(web_header(r, "Content-Type"), "application/problem+json");
	}
}

/* RFC 9457 section 3.1: type, title, status, detail. */
static void test_a_problem_has_the_members_of_rfc_9457(void **state)
{
	const struct response *r = web_get(web, VISITOR, "/api/nowhere");
	json_t *problem = json_loadb(r->body, r->len, JSON_REJECT_DUPLICATES, NULL);

	(void)state;
	assert_int_equal(r->status, 404);
	assert_string_equal(json_string_value(json_object_get(problem, "type")), "about:blank");
	assert_string_equal(json_string_value(json_object_get(problem, "title")), "Not Found");
	assert_int_equal(json_integer_value(json_object_get(problem, "status")), 404);
	assert_true(json_is_string(json_object_get(problem, "detail")));
	json_decref(problem);
}

static void test_a_wrong_method_names_the_right_ones(void **state)
{
	struct request request = {.method = HTTP_OTHER};
	const struct response *r = web_send(web, ANN, &request, "/hello", NULL);

	(void)state;
	assert_int_equal(r->status, 405);
	assert_string_equal(web_header(r, "Allow"), "GET, HEAD, POST");
}

static void test_sessions_begin_and_end(void **state)
{
	const struct response *r = web_post(web, VISITOR, "/sign-in", "name=ben");
	char cookie[100];
	struct request request = {.method = HTTP_GET, .headers = {.cookie = cookie}};

	(void)state;
	assert_int_equal(r->status, 303);
	assert_non_null(strstr(web_header(r, "Set-Cookie"), "; Path=/; Max-Age=7776000; HttpOnly; "
	                                                    "SameSite=Lax"));
	snprintf(cookie, sizeof cookie, "%.*s", (int)strcspn(web_header(r, "Set-Cookie"), ";"),
	         web_header(r, "Set-Cookie"));
	assert_true(web_holds(web_send(web, VISITOR, &request, "/member", NULL), "Ben Builder"));
	r = web_post(web, BEN, "/sign-out", "");
	assert_int_equal(r->status, 303);
	assert_non_null(strstr(web_header(r, "Set-Cookie"), "session=; Path=/; Max-Age=0"));
	assert_int_equal(web_get(web, BEN, "/member")->status, 303);
	/* the other session of the same member goes on */
	assert_int_equal(web_send(web, VISITOR, &request, "/member", NULL)->status, 200);
}

static void test_an_idle_session_ends_and_a_used_one_lives(void **state)
{
	const int64_t day = 86400;

	(void)state;
	for (int i = 1; i <= 30; i++) {
		web_set_now(WEB_START + i * 2 * day);
		assert_int_equal(web_get(web, ANN, "/member")->status, 200);
	}
	assert_int_equal(web_get(web, BEN, "/member")->status, 303);
	web_set_now(WEB_START + 91 * day);
	assert_int_equal(web_get(web, ANN, "/member")->status, 303);
}

/* Somebody else holds the database: the page comes all the same, and the mark that
 * the session is in use is made another time. */
static void test_a_page_does_not_wait_for_the_mark_of_use(void **state)
{
	const int64_t day = 86400;

	(void)state;
	web_set_now(WEB_START + 13 * day);
	assert_int_equal(store_begin(web_store(web)), ST_OK);
	assert_int_equal(web_get(web, ANN, "/member")->status, 200);
	store_rollback(web_store(web));
	assert_int_equal(web_get(web, ANN, "/member")->status, 200);
	web_set_now(WEB_START + 26 * day);
	assert_int_equal(web_get(web, ANN, "/member")->status, 200);
}

static void test_strange_cookies_are_visitors(void **state)
{
	static const char *const cookies[] = {"session=",
	                                      "session=x",
	                                      "session=0123456789012345678901234567890123456789012",
	                                      "session=' OR 1=1 --",
	                                      "=",
	                                      "__Host-session=0123"};

	(void)state;
	for (size_t i = 0; i < sizeof cookies / sizeof cookies[0]; i++) {
		struct request request = {.method = HTTP_GET, .headers = {.cookie = cookies[i]}};

		assert_int_equal(web_send(web, VISITOR, &request, "/member", NULL)->status, 303);
	}
}

static void test_redirects_stay_here(void **state)
{
	static const char *const bad[] = {"%2F%2Felsewhere", "http:%2F%2Felsewhere", "kits"};

	(void)state;
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
		char target[60];

		snprintf(target, sizeof target, "/goes?name=%s", bad[i]);
		assert_int_equal(web_get(web, VISITOR, target)->status, 400);
	}
	assert_string_equal(web_header(web_get(web, VISITOR, "/goes?name=%2Fa+%C3%A9"), "Location"),
	                    "/a%20%C3%A9");
}

static void test_a_broken_page_is_an_error_and_not_half_a_page(void **state)
{
	(void)state;
	assert_int_equal(web_get(web, VISITOR, "/broken?name=hole.html")->status, 500);
	assert_int_equal(web_get(web, VISITOR, "/broken?name=none.html")->status, 500);
}

static void test_downloads(void **state)
{
	const struct response *r = web_get(web, ANN, "/download");

	(void)state;
	assert_string_equal(web_header(r, "Content-Disposition"), "attachment; filename=\"a.pdf\"");
	assert_string_equal(web_header(r, "Content-Type"), "application/pdf");
	assert_int_equal(r->len, 4);
}

static void test_guessing_is_slowed_down(void **state)
{
	const struct response *r = NULL;

	(void)state;
	for (int i = 0; i < 30; i++)
		assert_int_equal(web_post(web, VISITOR, "/sign-in", "name=nobody")->status, 404);
	r = web_post(web, VISITOR, "/sign-in", "name=ann");
	assert_int_equal(r->status, 429);
	assert_string_equal(web_header(r, "Retry-After"), "6");
	/* reading goes on, and so do other forms */
	assert_int_equal(web_get(web, VISITOR, "/hello")->status, 200);
	assert_int_equal(web_post(web, ANN, "/member", "name=x")->status, 303);
	web_set_now(WEB_START + 6);
	assert_int_equal(web_post(web, VISITOR, "/sign-in", "name=ann")->status, 303);
}

static void test_a_known_answer_is_not_sent_again(void **state)
{
	char tag[80];
	struct request request = {.method = HTTP_GET, .headers = {.if_none_match = tag}};

	(void)state;
	snprintf(tag, sizeof tag, "W/%s", web_header(web_get(web, ANN, "/api/any"), "ETag"));
	assert_int_equal(web_send(web, ANN, &request, "/api/any", NULL)->status, 304);
	assert_int_equal(web_send(web, BEN, &request, "/api/any", NULL)->status, 200);
}

int main(void)
{
#define FRESH(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
	const struct CMUnitTest tests[] = {
	        FRESH(test_who_may_call),
	        FRESH(test_who_may_call_with_a_token),
	        FRESH(test_a_token_that_is_nobodys_is_never_taken_for_none),
	        FRESH(test_a_missing_token_is_told_as_rfc_6750_says),
	        FRESH(test_a_visitor_comes_back_after_signing_in),
	        FRESH(test_a_page_is_dressed),
	        FRESH(test_caching_follows_the_caller),
	        FRESH(test_a_form_that_is_fine),
	        FRESH(test_a_faulty_form_comes_back),
	        FRESH(test_unknown_fields_are_refused),
	        FRESH(test_forms_that_are_not_ours),
	        FRESH(test_a_row_without_the_flag_cannot_write),
	        FRESH(test_a_visitors_post_to_members),
	        FRESH(test_a_refused_form_gives_its_words_back),
	        FRESH(test_failures_become_errors),
	        FRESH(test_a_problem_has_the_members_of_rfc_9457),
	        FRESH(test_a_wrong_method_names_the_right_ones),
	        FRESH(test_sessions_begin_and_end),
	        FRESH(test_an_idle_session_ends_and_a_used_one_lives),
	        FRESH(test_a_page_does_not_wait_for_the_mark_of_use),
	        FRESH(test_strange_cookies_are_visitors),
	        FRESH(test_redirects_stay_here),
	        FRESH(test_a_broken_page_is_an_error_and_not_half_a_page),
	        FRESH(test_downloads),
	        FRESH(test_guessing_is_slowed_down),
	        FRESH(test_a_known_answer_is_not_sent_again),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
