/* Pages about mail, the links in mails, and what is written and sent, with a
 * server that is a function of the test's.
 */
#include "web_support.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support.h"

#include "store/mail.h"
#include "store/news.h"
#include "chapter/mail_round.h"

#define DAY 86400
#define SENT_MOST 20

/* ---- the server ---- */

static struct {
	char to[80];
	char text[8192]; /* the message, soft breaks of lines taken out */
} sent[SENT_MOST];
static size_t n_sent;
static enum mail_outcome answer;
static bool there; /* is there a server that answers at all? */

static void keep(char *out, size_t size, const char *at)
{
	size_t n = 0;

	while (*at && n < size - 1)
		if (strncmp(at, "=\r\n", 3) == 0)
			at += 3;
		else
			out[n++] = *at++;
	out[n] = '\0';
}

static enum mail_outcome go(void *context, const struct mail_letter *letter,
                            char fault[MAIL_FAULT_SIZE])
{
	(void)context;
	assert_true(n_sent < SENT_MOST);
	assert_string_equal(letter->from, "box@example.org");
	snprintf(sent[n_sent].to, sizeof sent->to, "%s", letter->to);
	keep(sent[n_sent].text, sizeof sent->text, letter->message);
	n_sent++;
	snprintf(fault, MAIL_FAULT_SIZE, "%s said <the server>", there ? "451" : "nothing");
	return answer;
}

static const struct mail_server server = {.url = "smtp://mail.example.org"};
static const struct mail_setup setup = {.server = &server, .from = "box@example.org", .way = go};

static struct web *web;

static int set_up(void **state)
{
	(void)state;
	n_sent = 0;
	answer = MAIL_ACCEPTED;
	there = true;
	web_set_mail(&setup);
	web = web_new(NULL, 0, NULL, 0);
	return 0;
}

static int set_up_without(void **state)
{
	set_up(state);
	web_free(web);
	web_set_mail(NULL);
	web = web_new(NULL, 0, NULL, 0);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	web_free(web);
	return 0;
}

/* ---- helpers ---- */

static void round_about(void)
{
	assert_int_equal(app_round(web_app(web)), ST_OK);
}

/* The path of the link to /mail/<what>/ in the last mail. */
static const char *link_of(const char *what)
{
	static char path[120];
	char start[40];
	const char *at;

	assert_true(n_sent > 0);
	snprintf(start, sizeof start, "http://fairlead.test/mail/%s/", what);
	at = strstr(sent[n_sent - 1].text, start);
	assert_non_null(at);
	snprintf(path, sizeof path, "%.*s", (int)strcspn(at + 20, "\r\n>"), at + 20);
	return path;
}

static struct mail_address address_of(enum who who)
{
	static struct arena *arena;
	struct mail_address address = {.address = ""};
	enum status status;

	arena_free(arena);
	arena = arena_new();
	status = mail_address_read(web_store(web), arena, web_member(web, who), &address);
	assert_true(status == ST_OK || status == ST_MISSING);
	return address;
}

static void set_address(enum who who, const char *encoded)
{
	assert_int_equal(web_post(web, who, "/account/mail", encoded)->status, 303);
	round_about();
}

static void confirm(enum who who, const char *encoded)
{
	set_address(who, encoded);
	assert_int_equal(web_post(web, VISITOR, link_of("confirm"), "x")->status, 400);
	assert_int_equal(web_post(web, VISITOR, link_of("confirm"), "")->status, 303);
	assert_true(address_of(who).confirmed_at > 0);
}

static void tell(enum who who, bool mandatory, const char *words)
{
	const struct news_entry entry = {.member = web_member(web, who),
	                                 .kind = NEWS_STANDING,
	                                 .mandatory = mandatory,
	                                 .words = words};

	assert_int_equal(news_add(web_store(web), &entry, WEB_START), ST_OK);
}

/* ---- without a server ---- */

static void without_a_server_pages_say_so(void **state)
{
	const struct response *r;

	(void)state;
	r = web_get(web, ANN, "/account/mail");
	assert_int_equal(r->status, 200);
	assert_true(web_holds(r, "Mail is not set up on this box"));
	assert_true(web_holds(r, "--mail-from"));
	assert_false(web_holds(r, "action=\"/account/mail\""));
	r = web_post(web, ANN, "/account/mail", "address=ann%40example.org");
	assert_int_equal(r->status, 422);
	assert_string_equal(address_of(ANN).address, "");
	assert_true(web_holds(web_get(web, ADMIN, "/admin/mail"), "Mail is not set up"));
	tell(ANN, true, "why");
	round_about();
	assert_int_equal(n_sent, 0);
}

/* ---- the account's page ---- */

static void bad_addresses_are_refused_at_their_place(void **state)
{
	static const char *const bad[] = {
	        "",
	        "address=",
	        "address=ann",
	        "address=ann%40example",
	        "address=ann%40example.org%2Cben%40example.org",
	        "address=ann%40example.org%0D%0ABcc%3A+ben%40example.org",
	        "address=%3Cann%40example.org%3E",
	        "address=%C3%A4nn%40example.org",
	        "address=ann%40example.org&address=ben%40example.org",
	};

	(void)state;
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		const struct response *r = web_post(web, ANN, "/account/mail", bad[i]);

		if (r->status != 422 || !web_holds(r, "Not taken yet"))
			fail_msg("%s: %u", bad[i], r->status);
		assert_string_equal(address_of(ANN).address, "");
	}
	assert_true(web_holds(web_post(web, ANN, "/account/mail", "address=ann%40%3Cb%3E"),
	                      "value=\"ann@&lt;b&gt;\""));
	assert_int_equal(web_post(web, ANN, "/account/mail", "address=a%40b.c&x=1")->status, 400);
	round_about();
	assert_int_equal(n_sent, 0);
}

static void who_is_signed_out_has_no_page(void **state)
{
	(void)state;
	assert_int_equal(web_get(web, VISITOR, "/account/mail")->status, 303);
	assert_int_equal(web_post(web, VISITOR, "/account/mail", "address=a%40b.c")->status, 403);
	assert_int_equal(web_post(web, VISITOR, "/account/mail/remove", "")->status, 403);
	assert_int_equal(web_post(web, ANN, "/account/mail/choices", "")->status, 404);
}

static void an_address_is_asked_before_it_is_used(void **state)
{
	char path[120];

	(void)state;
	assert_int_equal(n_sent, 0);
	set_address(ANN, "address=+ann%40example.org+");
	assert_int_equal(n_sent, 1);
	assert_string_equal(sent[0].to, "ann@example.org");
	assert_non_null(strstr(sent[0].text, "login ann"));
	assert_null(strstr(sent[0].text, "List-Unsubscribe"));
	assert_true(web_holds(web_get(web, ANN, "/account/mail"), "not confirmed yet"));
	/* Programs that open every link of a mail confirm nothing. */
	snprintf(path, sizeof path, "%s", link_of("confirm"));
	for (enum who who = VISITOR; who <= ADMIN; who++) {
		const struct response *r = web_get(web, who, path);

		assert_int_equal(r->status, 200);
		assert_true(web_holds(r, "ann@example.org"));
		assert_string_equal(web_header(r, "Cache-Control"), "no-store");
	}
	assert_int_equal(address_of(ANN).confirmed_at, 0);
	/* Nor does a page elsewhere that sends the form. */
	assert_int_equal(web_send(web, VISITOR,
	                          &(struct request){.method = HTTP_POST,
	                                            .headers = {.sec_fetch_site = "cross-site"}},
	                          path, "")
	                         ->status,
	                 403);
	assert_int_equal(web_post(web, VISITOR, path, "")->status, 303);
	assert_int_equal(address_of(ANN).confirmed_at, WEB_START);
	assert_int_equal(web_post(web, VISITOR, path, "")->status, 404);
	assert_int_equal(web_get(web, ANN, path)->status, 404);
	assert_true(web_holds(web_get(web, ANN, "/account/mail"), "What comes"));
}

static void links_that_do_not_work_say_so(void **state)
{
	static const char *const bad[] = {
	        "/mail/confirm/x", "/mail/stop/x",
	        "/mail/confirm/AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA",
	        "/mail/stop/AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"};

	(void)state;
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		assert_int_equal(web_get(web, VISITOR, bad[i])->status, 404);
		assert_int_equal(web_post(web, VISITOR, bad[i], "")->status, 404);
		assert_true(web_holds(web_get(web, ANN, bad[i]), "This link does not work"));
	}
}

static void choices_and_removal_are_kept(void **state)
{
	(void)state;
	confirm(BEN, "address=ben%40example.org");
	assert_int_equal(web_post(web, BEN, "/account/mail/choices", "weekly=yes")->status, 303);
	assert_false(address_of(BEN).at_once);
	assert_true(address_of(BEN).weekly);
	assert_int_equal(web_post(web, BEN, "/account/mail/choices", "weekly=perhaps")->status,
	                 303);
	assert_true(web_holds(web_get(web, BEN, "/account/data"), "\"ben@example.org\""));
	assert_int_equal(web_post(web, BEN, "/account/mail/remove", "")->status, 303);
	assert_true(web_holds(web_get(web, BEN, "/account/data"), "\"mail\": null"));
	assert_string_equal(address_of(BEN).address, "");
	assert_int_equal(web_post(web, BEN, "/account/mail/remove", "")->status, 303);
}

static void one_asks_only_so_often(void **state)
{
	const struct response *r;

	(void)state;
	for (int i = 0; i < MAIL_QUESTIONS_A_DAY; i++)
		set_address(ANN, "address=somebody%40example.org");
	assert_int_equal(n_sent, MAIL_QUESTIONS_A_DAY);
	r = web_post(web, ANN, "/account/mail", "address=another%40example.org");
	assert_int_equal(r->status, 422);
	assert_true(web_holds(r, "within a day"));
	assert_string_equal(address_of(ANN).address, "somebody@example.org");
}

/* ---- what is written ---- */

/* As a row that cannot be worked on would: the database takes no mail to her. */
static void take_none_for(enum who who)
{
	char sql[200];
	sqlite3 *db;

	snprintf(sql, sizeof sql,
	         "CREATE TRIGGER none BEFORE INSERT ON outbox WHEN NEW.member_id = %lld"
	         " BEGIN SELECT RAISE(ABORT, 'none'); END",
	         (long long)web_member(web, who).v);
	assert_int_equal(sqlite3_open(web_database(web), &db), SQLITE_OK);
	assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
	sqlite3_close(db);
}

static void a_mail_that_cannot_be_written_keeps_no_other_waiting(void **state)
{
	(void)state;
	confirm(ANN, "address=ann%40example.org");
	confirm(BEN, "address=ben%40example.org");
	assert_true(web_member(web, ANN).v < web_member(web, BEN).v);
	take_none_for(ANN);
	tell(ANN, true, "of ann");
	tell(BEN, true, "of ben");
	n_sent = 0;
	assert_int_not_equal(app_round(web_app(web)), ST_OK);
	assert_int_equal(n_sent, 1);
	assert_string_equal(sent[0].to, "ben@example.org");
}

/* A member's report is no notice: nothing makes it mandatory. */
static void reports_of_danger_are_not_called_mandatory(void **state)
{
	const struct report_content content = {.title = "Cracked tube",
	                                       .model = "Whimbrel",
	                                       .step = "",
	                                       .zone = "",
	                                       .seen = "A crack.",
	                                       .look = "",
	                                       .severity = SEVERITY_DANGER,
	                                       .effectivity = "all"};
	struct news_entry entry = {.member = web_member(web, ANN),
	                           .kind = NEWS_REPORT,
	                           .mandatory = true,
	                           .kit = web_kit(web, ANN),
	                           .words = "It concerns this kit."};

	(void)state;
	confirm(ANN, "address=ann%40example.org");
	assert_int_equal(report_add(web_store(web), &content, web_kit(web, BEN),
	                            web_member(web, BEN), CREDIT_NOBODY, WEB_START, &entry.report),
	                 ST_OK);
	assert_int_equal(news_tell_report(web_store(web), entry.report, &entry, 1, WEB_START),
	                 ST_OK);
	n_sent = 0;
	round_about();
	assert_int_equal(n_sent, 1);
	assert_non_null(strstr(sent[0].text, "Subject: Could be dangerous: Cracked tube\r\n"));
	assert_non_null(strstr(sent[0].text, "COULD BE DANGEROUS, for the kit"));
	assert_null(strstr(sent[0].text, "MANDATORY"));
	/* Beside a notice each keeps its own head. */
	entry.member = web_member(web, BEN);
	confirm(BEN, "address=ben%40example.org");
	n_sent = 0;
	assert_int_equal(news_add(web_store(web), &entry, WEB_START), ST_OK);
	tell(BEN, true, "of a notice");
	for (int i = 0; i < 3; i++)
		round_about();
	assert_int_equal(n_sent, 1);
	assert_non_null(
	        strstr(sent[0].text, "2 news for your kits, 1 of them mandatory, 1 perhaps"));
	assert_non_null(strstr(sent[0].text, "COULD BE DANGEROUS, for the kit"));
	assert_non_null(strstr(sent[0].text, "MANDATORY\r\n"));
}

static void mandatory_news_go_at_once_in_one_mail_and_once(void **state)
{
	(void)state;
	confirm(ANN, "address=ann%40example.org");
	tell(ANN, true, "first reason");
	tell(ANN, true, "second reason \xc2\xbd");
	tell(ANN, false, "weekly reason");
	tell(BEN, true, "of ben");
	round_about();
	assert_int_equal(n_sent, 2);
	assert_string_equal(sent[1].to, "ann@example.org");
	assert_non_null(strstr(sent[1].text, "Subject: Mandatory: 2 news for your kits\r\n"));
	assert_non_null(strstr(sent[1].text, "first reason"));
	assert_non_null(strstr(sent[1].text, "second reason =C2=BD"));
	assert_null(strstr(sent[1].text, "weekly reason"));
	assert_null(strstr(sent[1].text, "of ben"));
	assert_non_null(strstr(sent[1].text, "Fairlead informs."));
	assert_non_null(
	        strstr(sent[1].text, "List-Unsubscribe:\r\n <http://fairlead.test/mail/stop/"));
	for (int i = 0; i < 3; i++)
		round_about();
	assert_int_equal(n_sent, 2);
	/* The rest a week after the address was confirmed, with what has come since. */
	tell(ANN, true, "third reason");
	web_set_now(WEB_START + 7 * DAY);
	round_about();
	assert_int_equal(n_sent, 3);
	assert_non_null(strstr(sent[2].text, "Subject: 2 news for your kits, 1 of them mandatory"));
	assert_non_null(strstr(sent[2].text, "weekly reason"));
	assert_non_null(strstr(sent[2].text, "third reason"));
	assert_null(strstr(sent[2].text, "first reason"));
	web_set_now(WEB_START + 14 * DAY);
	round_about();
	assert_int_equal(n_sent, 3); /* nothing to say */
}

static void what_was_seen_on_the_page_is_left_out(void **state)
{
	(void)state;
	confirm(ANN, "address=ann%40example.org");
	tell(ANN, false, "seen reason");
	assert_int_equal(news_mark_seen(web_store(web), web_member(web, ANN), 1), ST_OK);
	tell(ANN, false, "new reason");
	web_set_now(WEB_START + 7 * DAY);
	round_about();
	assert_int_equal(n_sent, 2);
	assert_null(strstr(sent[1].text, "seen reason"));
	assert_non_null(strstr(sent[1].text, "new reason"));
}

/* No text of a user's begins a field or a link of its own. */
static void words_of_users_stay_words(void **state)
{
	const char *head_end;

	(void)state;
	confirm(ANN, "address=ann%40example.org");
	assert_int_equal(web_post(web, ADMIN, "/admin/settings",
	                          "chapter=%22Hill%22+%3Cx%40y.z%3E%2C+Bcc%3A+a%40b.c")
	                         ->status,
	                 303);
	tell(ANN, true, "line\n\nBcc: ben@example.org\n.\nnext");
	round_about();
	assert_int_equal(n_sent, 2);
	head_end = strstr(sent[1].text, "\r\n\r\n");
	assert_non_null(head_end);
	for (const char *at = strstr(sent[1].text, "Bcc:"); at; at = strstr(at + 1, "Bcc:"))
		assert_true(at > head_end);
	assert_null(strstr(sent[1].text, "<x@y.z>\r\n "));
}

/* ---- stop ---- */

static void a_link_stops_it_without_a_session(void **state)
{
	struct request from_elsewhere = {
	        .method = HTTP_POST,
	        .headers = {.sec_fetch_site = "cross-site", .origin = "https://mail.example"}};
	const struct response *r;
	char path[120];

	(void)state;
	confirm(ANN, "address=ann%40example.org");
	tell(ANN, true, "why");
	round_about();
	snprintf(path, sizeof path, "%s", link_of("stop"));
	for (enum who who = VISITOR; who <= ADMIN; who++) {
		r = web_get(web, who, path);
		assert_int_equal(r->status, 200);
		assert_string_equal(web_header(r, "Cache-Control"), "no-store");
	}
	assert_true(address_of(ANN).at_once && address_of(ANN).weekly);
	r = web_send(web, VISITOR, &from_elsewhere, path, "x=1");
	assert_int_equal(r->status, 400);
	assert_true(address_of(ANN).at_once);
	/* RFC 8058 section 3.2 */
	from_elsewhere = (struct request){
	        .method = HTTP_POST,
	        .headers = {.sec_fetch_site = "cross-site", .origin = "https://mail.example"}};
	r = web_send(web, BEN, &from_elsewhere, path, "List-Unsubscribe=One-Click");
	assert_int_equal(r->status, 200);
	assert_true(web_holds(r, "No more mail"));
	assert_false(address_of(ANN).at_once || address_of(ANN).weekly);
	tell(ANN, true, "later");
	web_set_now(WEB_START + 30 * DAY);
	round_about();
	assert_int_equal(n_sent, 2);
	assert_int_equal(web_post(web, VISITOR, path, "")->status, 200);
}

/* The one address that takes a form from anywhere is that one. */
static void no_other_form_comes_from_elsewhere(void **state)
{
	size_t open = 0;

	(void)state;
	for (size_t i = 0; i < routes_count; i++)
		if (routes[i].flags & R_BY_TOKEN) {
			open++;
			assert_string_equal(routes[i].pattern, "/mail/stop/{token:text}");
		}
	assert_int_equal(open, 1);
}

/* ---- what an admin sees ---- */

static void what_became_of_a_mail_is_shown_to_admins(void **state)
{
	static const struct {
		enum mail_outcome answer;
		const char *state;
		bool again;
	} table[] = {
	        {MAIL_ACCEPTED, "None: every mail has gone out", false},
	        {MAIL_REFUSED, ">given up<", true},
	        {MAIL_LATER, ">waiting<", false},
	        {MAIL_UNSURE_SENT, ">unsure<", false},
	};

	for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
		const struct response *r;

		tear_down(state);
		set_up(state);
		answer = table[i].answer;
		set_address(ANN, "address=ann%40example.org");
		assert_int_equal(n_sent, 1);
		round_about();
		assert_int_equal(n_sent, 1); /* not at once again, whatever it was */
		r = web_get(web, ADMIN, "/admin/mail");
		assert_int_equal(r->status, 200);
		assert_true(web_holds(r, table[i].state));
		assert_int_equal(web_holds(r, "said &lt;the server&gt;"), i > 0);
		assert_int_equal(web_holds(r, "/again\""), table[i].again);
		for (enum who who = VISITOR; who <= STEWARD; who++) {
			assert_int_equal(web_get(web, who, "/admin/mail")->status,
			                 who == VISITOR ? 303 : 403);
			assert_int_equal(web_post(web, who, "/admin/mail/1/again", "")->status,
			                 403);
		}
		answer = MAIL_ACCEPTED;
		assert_int_equal(web_post(web, ADMIN, "/admin/mail/1/again", "")->status,
		                 table[i].again ? 303 : 404);
		round_about();
		assert_int_equal(n_sent, table[i].again ? 2 : 1);
	}
}

/* A server that is not there is asked once a round, not once a mail. */
static void a_dead_server_is_asked_once_a_round(void **state)
{
	(void)state;
	assert_int_equal(web_post(web, ANN, "/account/mail", "address=a%40b.c")->status, 303);
	assert_int_equal(web_post(web, BEN, "/account/mail", "address=b%40b.c")->status, 303);
	answer = MAIL_LATER;
	there = false;
	round_about();
	assert_int_equal(n_sent, 1);
	round_about();
	assert_int_equal(n_sent, 2);
	round_about();
	assert_int_equal(n_sent, 2);
	/* One that puts each off answers at least: all have their turn. */
	there = true;
	web_set_now(WEB_START + DAY);
	round_about();
	assert_int_equal(n_sent, 4);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	static const struct CMUnitTest tests[] = {
	        cmocka_unit_test_setup_teardown(without_a_server_pages_say_so, set_up_without,
	                                        tear_down),
	        TEST(bad_addresses_are_refused_at_their_place),
	        TEST(who_is_signed_out_has_no_page),
	        TEST(an_address_is_asked_before_it_is_used),
	        TEST(links_that_do_not_work_say_so),
	        TEST(choices_and_removal_are_kept),
	        TEST(one_asks_only_so_often),
	        TEST(a_mail_that_cannot_be_written_keeps_no_other_waiting),
	        TEST(reports_of_danger_are_not_called_mandatory),
	        TEST(mandatory_news_go_at_once_in_one_mail_and_once),
	        TEST(what_was_seen_on_the_page_is_left_out),
	        TEST(words_of_users_stay_words),
	        TEST(a_link_stops_it_without_a_session),
	        TEST(no_other_form_comes_from_elsewhere),
	        TEST(what_became_of_a_mail_is_shown_to_admins),
	        TEST(a_dead_server_is_asked_once_a_round),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
