/* Who may call each address, and what each row of the table lets its handler do,
 * against what is written here by hand: by method and beginning of the address, the
 * exceptions first. Nothing here is read from the column that it tests.
 *
 * Handlers are replaced by one that only says whom it was called for, so that the
 * way to each is walked as it stands. The last test puts each wrong caller into each row
 * and lets none pass: what would slip through here shows there. Flags are compared whole. */
#include "support.h"

#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "web/http/context.h"
#include "web/http/respond.h"
#include "web_support.h"

/* What comes of a call. The letters stand for what a caller meets. */
#define KNOWN 'I'       /* let in, as the member that they are */
#define NAMELESS 'N'    /* let in as nobody in particular */
#define HOME 'H'        /* a member sent to the start page */
#define SIGN_IN 'S'     /* sent to sign in; a form is refused with its words given back */
#define FORBIDDEN 'F'   /* told that it is for others */
#define MISSING 'M'     /* told that there is no such page */
#define NEEDS_TOKEN 'T' /* told to send a token, or that theirs is none */

enum door { PUBLIC, BARE, SIGNED_OUT, MEMBERS, OWNER, STEWARDS, ADMINS, PROGRAM, OWNERS_PROGRAM };

/* Callers in the order of the columns: by browser a visitor, the owner of {kit}, another
 * builder with a kit, a steward, an admin; by program the owner, the other builder, the
 * steward, the admin, and one whose token is nobody's. */
static const char *const met[] = {
        [PUBLIC] = "NIIII NNNNN",  [BARE] = "NNNNN NNNNN",    [SIGNED_OUT] = "NHHHH NNNNN",
        [MEMBERS] = "SIIII SSSSS", [OWNER] = "SIMMM SSSSS",   [STEWARDS] = "SFFII SSSSS",
        [ADMINS] = "SFFFI SSSSS",  [PROGRAM] = "NNNNN IIIIT", [OWNERS_PROGRAM] = "TTTTT IMMMT",
};
#define COLUMNS 11 /* with the blank between */

/* The first line that fits a row says what is right for it. A star stands for any end. */
static const struct {
	const char *methods; /* "" for both */
	const char *pattern;
	enum door door;
} doors[] = {
        {"GET", "/", PUBLIC},
        {"GET", "/about", PUBLIC},
        {"GET", "/health", BARE}, /* answers while the database does not */
        {"GET", "/static/*", BARE},
        /* An account is its member's; which of their things, handlers say. */
        {"", "/account*", MEMBERS},
        {"", "/admin*", ADMINS},
        /* Programs: what is public needs no token, what is of a kit its owner's. */
        {"GET", "/api/v1/openapi.json", PUBLIC},
        {"GET", "/api/v1/kits/{kit}/*", OWNERS_PROGRAM},
        {"GET", "/api/v1/check", PROGRAM},
        {"GET", "/api/v1/models/*", PROGRAM},
        {"GET", "/api/v1/notices*", PROGRAM},
        {"GET", "/api/v1/reports*", PROGRAM},
        /* The stewards' desk; bringing in a whole file of notices is the admins'. */
        {"", "/board/import", ADMINS},
        {"", "/board*", STEWARDS},
        /* Who knows the address may. */
        {"GET", "/calendar/{token:text}", PUBLIC},
        {"GET", "/feed/{token:text}", PUBLIC},
        {"", "/mail/confirm/{token:text}", PUBLIC},
        {"", "/mail/stop/{token:text}", PUBLIC},
        /* Ways in are for those who are outside, the way out for anybody. */
        {"", "/join/*", SIGNED_OUT},
        {"", "/new-password/*", SIGNED_OUT},
        {"", "/sign-in*", SIGNED_OUT},
        {"POST", "/sign-out", PUBLIC},
        /* Kits are their owners' alone; members see of others what those show. */
        {"", "/kits", MEMBERS},
        {"", "/kits/{kit}*", OWNER},
        {"GET", "/shopping*", MEMBERS},
        {"", "/under-way*", MEMBERS},
        {"", "/news*", MEMBERS},
        /* Anybody reads what the chapter publishes; members alone say something. */
        {"GET", "/check", PUBLIC},
        {"GET", "/notes", PUBLIC},
        {"GET", "/notes/{note}", PUBLIC},
        {"", "/notes/{note}/*", MEMBERS},
        {"POST", "/notices/{notice}/notes", MEMBERS},
        {"GET", "/notices*", PUBLIC},
        {"GET", "/part", PUBLIC},
        {"POST", "/part/notes", MEMBERS},
        {"GET", "/step", PUBLIC},
        {"POST", "/step/notes", MEMBERS},
        {"GET", "/pictures/{picture}", PUBLIC},
        {"GET", "/pictures/{picture}/small", PUBLIC},
        {"", "/pictures/{picture}/remove", MEMBERS},
        {"", "/findings/{finding}/pictures", MEMBERS},
        /* What becomes of a report is for stewards. */
        {"GET", "/reports", PUBLIC},
        {"GET", "/reports/{report}", PUBLIC},
        {"", "/reports/{report}/advisory", STEWARDS},
        {"", "/reports/{report}/link", STEWARDS},
        {"", "/reports/{report}/merge", STEWARDS},
        {"POST", "/reports/{report}/part", STEWARDS},
        {"POST", "/reports/{report}/put-back", STEWARDS},
        {"", "/reports/*", MEMBERS},
};
#define DOORS (sizeof doors / sizeof doors[0])

/* Which rows have a flag, and why. A form changes something unless it is named here. */
static const struct {
	const char *methods;
	const char *pattern;
	unsigned with, without;
} flags[] = {
        {"POST", "*", R_WRITES, 0},
        /* These only look: what was sent comes back with a preview or a verdict. */
        {"POST", "/admin/verify", 0, R_WRITES},
        {"POST", "/board/read-back", 0, R_WRITES},
        {"POST", "/board/read-back-due", 0, R_WRITES},
        {"POST", "/reports/like", 0, R_WRITES},
        {"POST", "/reports/read-back", 0, R_WRITES},
        /* A password or a code of the second factor can be tried here. */
        {"POST", "/sign-in", R_GUARDED, 0},
        {"POST", "/sign-in/code", R_GUARDED, 0},
        {"POST", "/account/code", R_GUARDED, 0},
        {"POST", "/account/code/confirm", R_GUARDED, 0},
        {"POST", "/account/code/end", R_GUARDED, 0},
        {"POST", "/account/code/recovery", R_GUARDED, 0},
        {"POST", "/account/password", R_GUARDED, 0},
        {"POST", "/account/remove", R_GUARDED, 0},
        {"POST", "/admin/members/{id}/remove", R_GUARDED, 0},
        /* A token that came on paper or by mail can be tried, and a member be made. */
        {"POST", "/join/{token:text}", R_GUARDED, 0},
        {"POST", "/new-password/{token:text}", R_GUARDED, 0},
        {"POST", "/mail/confirm/{token:text}", R_GUARDED, 0},
        /* Sends mail to an address that was typed. */
        {"POST", "/account/mail", R_GUARDED, 0},
        /* The address is a secret, or the page shows or takes one. */
        {"GET", "/calendar/{token:text}", R_SECRET, 0},
        {"GET", "/feed/{token:text}", R_SECRET, 0},
        {"GET", "/join/{token:text}", R_SECRET, 0},
        {"GET", "/mail/confirm/{token:text}", R_SECRET, 0},
        {"GET", "/mail/stop/{token:text}", R_SECRET, 0},
        {"GET", "/new-password/{token:text}", R_SECRET, 0},
        {"GET", "/account/code", R_SECRET, 0},
        {"GET", "/account/tokens", R_SECRET, 0},
        {"GET", "/sign-in", R_SECRET, 0},
        /* RFC 8058: mail programs send it by themselves. */
        {"POST", "/mail/stop/{token:text}", R_BY_TOKEN, 0},
        /* Files of stewards and admins; photos of members. */
        {"POST", "/board/drafts/{revision}/files", R_UPLOADS, 0},
        {"POST", "/board/import", R_UPLOADS, 0},
        {"POST", "/board/parts", R_UPLOADS, 0},
        {"POST", "/findings/{finding}/pictures", R_PICTURES, 0},
        {"POST", "/notes/{note}/answer", R_PICTURES, 0},
        {"POST", "/notes/{note}/pictures", R_PICTURES, 0},
        {"POST", "/notices/{notice}/notes", R_PICTURES, 0},
        {"POST", "/part/notes", R_PICTURES, 0},
        {"POST", "/step/notes", R_PICTURES, 0},
        {"POST", "/reports/new", R_PICTURES, 0},
        {"POST", "/reports/{report}/findings", R_PICTURES, 0},
        {"POST", "/reports/{report}/pictures", R_PICTURES, 0},
        /* Needs nothing of the chapter. */
        {"GET", "/health", R_BARE, 0},
        {"GET", "/static/{file:rest}", R_BARE, 0},
};
#define FLAGS (sizeof flags / sizeof flags[0])

static struct route *table; /* a copy of the program's, with says_whom for handler */
static struct web *web;

static enum status says_whom(struct context *c)
{
	return respond_json(c, json_pack("{s:s}", "login", c->member ? c->member->login : "-"),
	                    CACHE_PUBLIC);
}

static int set_up(void **state)
{
	(void)state;
	table = mem_zero(routes_count * sizeof *table);
	if (!table)
		return -1;
	for (size_t i = 0; i < routes_count; i++) {
		table[i] = routes[i];
		table[i].handler = says_whom;
	}
	web = web_new(table, routes_count, NULL, 0);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	web_free(web);
	mem_free(table);
	return 0;
}

static bool fits(const char *methods, const char *pattern, const struct route *row)
{
	const char *star = strchr(pattern, '*');

	if (*methods && strcmp(methods, row->method == HTTP_POST ? "POST" : "GET") != 0)
		return false;
	return star ? strncmp(row->pattern, pattern, (size_t)(star - pattern)) == 0
	            : strcmp(row->pattern, pattern) == 0;
}

/* The line of doors for a row; DOORS when nothing was written down for it. */
static size_t door_of(const struct route *row)
{
	size_t i = 0;

	while (i < DOORS && !fits(doors[i].methods, doors[i].pattern, row))
		i++;
	return i;
}

static unsigned flags_of(const struct route *row)
{
	unsigned all = 0;

	for (size_t i = 0; i < FLAGS; i++)
		if (fits(flags[i].methods, flags[i].pattern, row))
			all = (all | flags[i].with) & ~flags[i].without;
	return all;
}

/* An address of the row, with that kit. */
static const char *address_of(const struct route *row, struct kit_id kit)
{
	static char out[200];
	size_t len = 0;

	for (const char *at = row->pattern; *at; at++) {
		size_t capture = at[0] == '{' ? strcspn(at, "}") : 0;
		long long id = strncmp(at, "{kit}", strlen("{kit}")) == 0 ? (long long)kit.v : 1;

		if (capture)
			len += (size_t)snprintf(out + len, sizeof out - len, "%lld", id);
		else
			out[len++] = *at;
		at += capture;
	}
	out[len] = '\0';
	return out;
}

/* A peer of its own for each call, so that limits stay out of the way. */
static const char *next_peer(void)
{
	static unsigned n;
	static char peer[20];

	n++;
	snprintf(peer, sizeof peer, "10.%u.%u.%u", n >> 16 & 255, n >> 8 & 255, n & 255);
	return peer;
}

static char meeting(const struct response *r)
{
	switch (r->status) {
	case 200:
		return web_holds(r, "\"login\":\"-\"") ? NAMELESS : KNOWN;
	case 303:
		return strcmp(web_header(r, "Location"), "/") == 0 ? HOME : SIGN_IN;
	case 401:
		return NEEDS_TOKEN;
	case 403:
		return web_holds(r, "ask an admin") ? FORBIDDEN : SIGN_IN;
	case 404:
		return MISSING;
	default:
		return '?';
	}
}

/* Calls a row as the column says, owner being the one whose kit it is. */
static char call(const struct route *row, enum who owner, size_t column)
{
	const enum who whos[] = {VISITOR, owner, owner == ANN ? BEN : ANN, STEWARD, ADMIN};
	bool program = column >= WHOS;
	enum who who = whos[program ? (column - WHOS) % WHOS : column];
	struct request request = {.method = row->method,
	                          .peer = next_peer(),
	                          .headers = {.sec_fetch_site = "same-origin"}};
	char body[100] = "";

	if (program)
		request.headers.authorization =
		        who == VISITOR ? "Bearer nobodys" : web_bearer(web, who);
	else if (row->method == HTTP_POST && who != VISITOR)
		snprintf(body, sizeof body, "token=%s", web_form_token(web, who));
	return meeting(web_send(web, program ? VISITOR : who, &request,
	                        address_of(row, web_kit(web, owner)), body));
}

/* Does everybody meet at the row what is written down? Tells the first who does not. */
static bool callers_are_right(const struct route *row, bool tell)
{
	/* Columns to the order of call: programs' own visitor has nobody's token. */
	static const size_t calls[COLUMNS] = {0, 1, 2, 3, 4, 0, 6, 7, 8, 9, 5};
	const char *right = met[doors[door_of(row)].door];
	enum who last = strstr(row->pattern, "{kit}") ? BEN : ANN;

	for (enum who owner = ANN; owner <= last; owner++)
		for (size_t i = 0; i < COLUMNS; i++) {
			char got = right[i] == ' ' ? ' ' : call(row, owner, calls[i]);

			if (got == right[i])
				continue;
			if (tell)
				print_error("%s %s, column %zu of \"%s\": %c\n",
				            row->method == HTTP_POST ? "POST" : "GET", row->pattern,
				            i, right, got);
			return false;
		}
	return true;
}

static void test_each_row_has_an_expectation(void **state)
{
	size_t used[DOORS] = {0};

	(void)state;
	for (size_t i = 0; i < routes_count; i++) {
		size_t door = door_of(&routes[i]);

		if (door == DOORS)
			fail_msg("say in this test who may call %s", routes[i].pattern);
		used[door]++;
	}
	for (size_t i = 0; i < DOORS; i++)
		if (!used[i])
			fail_msg("no row for %s %s", doors[i].methods, doors[i].pattern);
}

static void test_each_flag_has_its_row(void **state)
{
	(void)state;
	for (size_t i = 0; i < FLAGS; i++) {
		bool found = false;

		for (size_t j = 0; j < routes_count && !found; j++)
			found = fits(flags[i].methods, flags[i].pattern, &routes[j]);
		if (!found)
			fail_msg("no row for %s %s", flags[i].methods, flags[i].pattern);
	}
}

static void test_who_may_call_each_address(void **state)
{
	bool right = true;

	(void)state;
	for (size_t i = 0; i < routes_count; i++)
		right &= callers_are_right(&table[i], true);
	assert_true(right);
}

static void test_what_each_row_may(void **state)
{
	bool right = true;

	(void)state;
	for (size_t i = 0; i < routes_count; i++) {
		if (routes[i].flags == flags_of(&routes[i]))
			continue;
		print_error("%s %s has the flags %#x, not %#x\n",
		            routes[i].method == HTTP_POST ? "POST" : "GET", routes[i].pattern,
		            routes[i].flags, flags_of(&routes[i]));
		right = false;
	}
	assert_true(right);
}

/* A capability is a secret wherever it stands: no list is needed to know that. */
static void test_an_address_with_a_token_is_never_kept(void **state)
{
	(void)state;
	for (size_t i = 0; i < routes_count; i++)
		if (routes[i].method == HTTP_GET && strstr(routes[i].pattern, "{token:text}"))
			assert_true(routes[i].flags & R_SECRET);
}

/* Large bodies are for those who may send the form, and known before they come. */
static void test_who_may_send_much(void **state)
{
	struct arena *arena = arena_new();

	(void)state;
	assert_non_null(arena);
	for (size_t i = 0; i < routes_count; i++)
		for (enum who who = VISITOR; who <= ADMIN && table[i].method == HTTP_POST; who++) {
			struct response away = {.status = 0};
			struct request request = {.method = HTTP_POST,
			                          .path = address_of(&table[i], web_kit(web, ANN)),
			                          .peer = next_peer(),
			                          .headers = {.host = "fairlead.test"}};
			size_t most = flags_of(&table[i]) & R_PICTURES  ? BODY_PICTURES
			              : flags_of(&table[i]) & R_UPLOADS ? BODY_UPLOADS
			                                                : BODY_FORM;
			bool known = met[doors[door_of(&table[i])].door][who] == KNOWN;

			request.headers.cookie = who == VISITOR ? NULL : web_cookie(web, who);
			assert_int_equal(
			        app_body_limit(web_app(web), &request, SIZE_MAX, arena, &away),
			        known ? most : BODY_SMALL);
			arena_reset(arena);
		}
	arena_free(arena);
}

static bool names_a_kit(enum caller caller)
{
	return caller == CALL_KIT_OWNER || caller == CALL_TOKEN_OWNER;
}

/* The row is changed where the router finds it. A row that needs nothing of the chapter
 * asks for no caller, and one without {kit} has no owner to ask for. */
static void test_no_wrong_caller_passes(void **state)
{
	size_t tried = 0;

	(void)state;
	for (size_t i = 0; i < routes_count; i++) {
		enum caller right = table[i].caller;

		for (enum caller caller = 0; caller < CALLERS; caller++) {
			if (caller == right || table[i].flags & R_BARE ||
			    (names_a_kit(caller) && !strstr(table[i].pattern, "{kit}")))
				continue;
			table[i].caller = caller;
			if (callers_are_right(&table[i], false))
				fail_msg("%s passes with caller %d", table[i].pattern, caller);
			tried++;
		}
		table[i].caller = right;
	}
	print_message("%zu wrong callers, all caught\n", tried);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(test_each_row_has_an_expectation),
	        cmocka_unit_test(test_each_flag_has_its_row),
	        cmocka_unit_test(test_who_may_call_each_address),
	        cmocka_unit_test(test_what_each_row_may),
	        cmocka_unit_test(test_an_address_with_a_token_is_never_kept),
	        cmocka_unit_test(test_who_may_send_much),
	        cmocka_unit_test(test_no_wrong_caller_passes),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
