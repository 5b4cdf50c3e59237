/* What programs read without signing in: the feed of notices for anybody, and
 * by a member's link the calendar. Other programs take these apart in
 * tests/http/feeds.mjs. Today is 21 September 2026. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support.h"
#include "web_support.h"

#include "os/token.h"
#include "store/feed_links.h"
#include "store/kit_log.h"
#include "store/news.h"
#include "store/notices.h"
#include "store/records.h"
#include "store/settings.h"
#include "chapter/take_in.h"

#define HOSTILE "]]><script>\"'&amp;\xF0\x9F\x9B\xA9"
#define ESCAPED "]]&gt;&lt;script&gt;&quot;&#39;&amp;amp;\xF0\x9F\x9B\xA9"

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

static struct revision_content content_of(const char *number, const char *title)
{
	struct revision_content content = revision_content_empty;

	content.number = number;
	content.issuer = "Harrowfen";
	content.title = title;
	content.problem = "The bushing is too small.";
	content.action = "1. Look.";
	content.issued = "2026-01-02";
	content.effectivity = "all";
	return content;
}

static struct notice_id import(struct web *web, const struct revision_content *revisions,
                               size_t count, const char *cancelled_on)
{
	struct notice_id id = {0};

	assert_int_equal(notice_import(web_store(web),
	                               &(struct notice_import){revisions, count, cancelled_on,
	                                                       *cancelled_on ? "Withdrawn." : ""},
	                               web_member(web, STEWARD), WEB_START, &id),
	                 ST_OK);
	return id;
}

static struct notice_id publish(struct web *web, const char *number, const char *due)
{
	struct revision_content content = content_of(number, "Bushing " HOSTILE);

	content.due = due;
	return import(web, &content, 1, "");
}

static size_t count_of(const char *text, const char *what)
{
	size_t count = 0;

	for (; (text = strstr(text, what)) != NULL; text++)
		count++;
	return count;
}

static void assert_holds(const struct response *response, const char *words)
{
	if (!web_holds(response, words))
		fail_msg("no \"%s\" in\n%.*s", words, (int)response->len, response->body);
}

static void assert_lacks(const struct response *response, const char *words)
{
	if (web_holds(response, words))
		fail_msg("\"%s\" in\n%.*s", words, (int)response->len, response->body);
}

/* ---- the feed of notices ---- */

static const char notices_feed[] = "/notices.atom";

static void test_everybody_reads_the_same_feed(void **state)
{
	char *first;

	publish(*state, "HB-1", "");
	first = strdup(web_get(*state, VISITOR, notices_feed)->body);
	for (enum who who = VISITOR; who < WHOS; who++) {
		const struct response *response = web_get(*state, who, notices_feed);

		assert_int_equal(response->status, 200);
		assert_string_equal(response->type, "application/atom+xml; charset=utf-8");
		assert_string_equal(response->body, first);
		assert_string_equal(web_header(response, "Cache-Control"), "public, max-age=60");
	}
	free(first);
	assert_int_equal(web_get(*state, VISITOR, "/notices.atom?page=2")->status, 400);
	assert_int_equal(web_post(*state, ANN, notices_feed, "")->status, 405);
}

static void test_an_empty_feed_is_one(void **state)
{
	const struct response *response = web_get(*state, VISITOR, notices_feed);

	assert_int_equal(response->status, 200);
	assert_lacks(response, "<entry>");
	assert_holds(response, "<updated>1970-01-01T00:00:00Z</updated>");
	assert_holds(response, "Fairlead informs.");
}

static void test_words_of_a_notice_stay_words(void **state)
{
	const struct response *response;

	publish(*state, "HB-1 " HOSTILE, "");
	response = web_get(*state, VISITOR, notices_feed);
	assert_holds(response, "<title>HB-1 " ESCAPED ": Bushing " ESCAPED "</title>");
	assert_lacks(response, "<script");
	assert_holds(response, "Issued 2 January 2026 by Harrowfen: mandatory service bulletin.");
	assert_holds(response, "The bushing is too small.");
	assert_holds(response, "<link rel=\"alternate\" type=\"text/html\" "
	                       "href=\"http://fairlead.test/notices/1\"/>");
	assert_holds(response, "<updated>2026-09-21T14:13:20Z</updated>");
}

static void draft(struct web *web, struct notice_id id, const char *label, bool publish_it)
{
	struct revision_content content = content_of("HB-1", "Bronze bushing");
	struct revision_id revision;
	bool stale;

	content.revision = label;
	assert_int_equal(draft_new_revision(web_store(web), id, web_member(web, STEWARD),
	                                    WEB_START + 60, &revision),
	                 ST_OK);
	assert_int_equal(draft_save(web_store(web), revision, 1, &content, web_member(web, STEWARD),
	                            WEB_START + 60, &stale),
	                 ST_OK);
	if (!publish_it)
		return;
	assert_int_equal(
	        draft_submit(web_store(web), revision, web_member(web, STEWARD), WEB_START + 60),
	        ST_OK);
	assert_int_equal(
	        draft_publish(web_store(web), revision, 2, web_member(web, ADMIN), WEB_START + 60),
	        ST_OK);
}

static void test_what_is_drafted_is_not_told(void **state)
{
	struct notice_id id = publish(*state, "HB-1", "");

	draft(*state, id, "A", false);
	assert_lacks(web_get(*state, STEWARD, notices_feed), "Bronze bushing");
}

static void test_each_revision_and_cancellation_is_an_entry(void **state)
{
	struct web *web = *state;
	struct notice_id id = publish(web, "HB-1", "");
	const struct response *response;
	char first[80];

	response = web_get(web, VISITOR, notices_feed);
	snprintf(first, sizeof first, "%.54s", strstr(strstr(response->body, "<entry>"), "<id>"));
	draft(web, id, "A", true);
	assert_int_equal(notice_cancel(web_store(web), id, "2026-09", "Ribs were right.",
	                               web_member(web, ADMIN), WEB_START + 120),
	                 ST_OK);
	response = web_get(web, VISITOR, notices_feed);
	assert_int_equal(count_of(response->body, "<entry>"), 3);
	assert_holds(response, "<title>Cancelled: HB-1: Bronze bushing</title>");
	assert_holds(response, "no kit is asked to do it any more. Ribs were right.");
	assert_holds(response, "<title>HB-1 revision A: Bronze bushing</title>");
	assert_holds(response,
	             "/notices/1/revisions/1\"/>"); /* the first, which A took the place of */
	assert_holds(response, first);              /* its name has stayed */
	assert_holds(response, "<updated>2026-09-21T14:15:20Z</updated>");
	assert_true(strstr(response->body, "Cancelled:") < strstr(response->body, "revision A"));
}

static void test_the_feed_is_no_longer_for_more_notices(void **state)
{
	char number[20];

	for (int i = 0; i < 53; i++) {
		snprintf(number, sizeof number, "HB-%d", i);
		publish(*state, number, "");
	}
	assert_int_equal(count_of(web_get(*state, VISITOR, notices_feed)->body, "<entry>"), 50);
	assert_holds(web_get(*state, VISITOR, notices_feed), "HB-52:");
	assert_lacks(web_get(*state, VISITOR, notices_feed), "HB-2:");
}

static void test_a_feed_that_is_known_is_not_sent_again(void **state)
{
	struct request request = {.method = HTTP_GET};
	char tag[80];

	publish(*state, "HB-1", "");
	snprintf(tag, sizeof tag, "%s", web_header(web_get(*state, VISITOR, notices_feed), "ETag"));
	assert_int_equal(strlen(tag), 34);
	request.headers.if_none_match = tag;
	assert_int_equal(web_send(*state, VISITOR, &request, notices_feed, NULL)->status, 304);
	publish(*state, "HB-2", "");
	assert_int_equal(web_send(*state, VISITOR, &request, notices_feed, NULL)->status, 200);
}

/* Names and addresses of entries: the names stay when the box moves. */
static void test_names_stay_when_the_address_changes(void **state)
{
	const struct response *response;
	char name[80], entry[80];

	publish(*state, "HB-1", "");
	response = web_get(*state, VISITOR, notices_feed);
	snprintf(name, sizeof name, "%.54s", strstr(response->body, "<id>"));
	snprintf(entry, sizeof entry, "%.54s", strstr(strstr(response->body, "<entry>"), "<id>"));
	assert_int_equal(
	        setting_set_text(web_store(*state), SETTING_ADDRESS, "https://new.example"), ST_OK);
	assert_int_equal(setting_set_text(web_store(*state), SETTING_CHAPTER, "Marsh & <Fen>"),
	                 ST_OK);
	response = web_get(*state, VISITOR, notices_feed);
	assert_holds(response, name);
	assert_holds(response, entry);
	assert_lacks(response, "fairlead.test");
	assert_holds(response, "href=\"https://new.example/notices/1\"");
	assert_holds(response, "<author><name>Marsh &amp; &lt;Fen&gt;</name></author>");
}

static void test_pages_of_notices_name_the_feed(void **state)
{
	static const char link[] = "<link rel=\"alternate\" type=\"application/atom+xml\" "
	                           "title=\"Notices\" href=\"/notices.atom\">";

	publish(*state, "HB-1", "");
	assert_holds(web_get(*state, VISITOR, "/notices"), link);
	assert_holds(web_get(*state, ANN, "/notices/1"), link);
	assert_lacks(web_get(*state, VISITOR, "/about"), link);
}

/* ---- a member's link ---- */

/* The address on the page that shows it once: http://fairlead.test/calendar/<token>. */
static void take_token(const struct response *response, const char *place, char out[TOKEN_SIZE])
{
	char before[60];
	const char *at;

	snprintf(before, sizeof before, ">http://fairlead.test/%s/", place);
	at = strstr(response->body, before);
	assert_non_null(at);
	memcpy(out, at + strlen(before), TOKEN_LENGTH);
	out[TOKEN_LENGTH] = '\0';
	assert_true(token_well_formed(out));
}

static void make_link(struct web *web, enum who who, char out[TOKEN_SIZE])
{
	const struct response *response = web_post(web, who, "/account/links", "");
	char same[TOKEN_SIZE];

	assert_int_equal(response->status, 200);
	assert_string_equal(web_header(response, "Cache-Control"), "no-store");
	take_token(response, "calendar", out);
	take_token(response, "feed", same);
	assert_string_equal(out, same);
	assert_int_equal(count_of(response->body, "<svg viewBox=\"-4"), 2);
	assert_holds(response, "data-copy=\"feed-address\"");
}

static const struct response *calendar(struct web *web, enum who who, const char *token)
{
	char target[120];

	snprintf(target, sizeof target, "/calendar/%s", token);
	return web_get(web, who, target);
}

static void test_a_link_is_shown_once_and_read_by_anybody_who_has_it(void **state)
{
	char token[TOKEN_SIZE], *first;

	publish(*state, "HB-1", "by 2026-10-01");
	make_link(*state, ANN, token);
	assert_lacks(web_get(*state, ANN, "/account/links"), token);
	assert_holds(web_get(*state, ANN, "/account/links"), "21 September 2026");
	first = strdup(calendar(*state, VISITOR, token)->body);
	for (enum who who = VISITOR; who < WHOS; who++) {
		const struct response *response = calendar(*state, who, token);

		assert_int_equal(response->status, 200);
		assert_string_equal(response->type, "text/calendar; charset=utf-8");
		assert_string_equal(response->body, first);
		assert_string_equal(web_header(response, "Cache-Control"), "no-store");
		assert_string_equal(web_header(response, "ETag"), "");
	}
	free(first);
}

static void test_what_opens_nothing_is_missing(void **state)
{
	static const char *const rows[] = {
	        "/calendar/AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA",
	        "/calendar/AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA",
	        "/calendar/AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA",
	        "/calendar/AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA.ics",
	        "/calendar/%3Cscript%3E",
	        "/calendar/'%20OR%201=1",
	        "/calendar/1",
	        "/calendar",
	};
	struct web *web = *state;
	char token[TOKEN_SIZE], bearer[TOKEN_SIZE];
	char *missing = strdup(web_get(web, VISITOR, rows[0])->body);

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response = web_get(web, VISITOR, rows[i]);

		assert_int_equal(response->status, 404);
		assert_string_equal(response->body, missing);
	}
	/* Tokens of other doors do not open this one, nor this one's theirs. */
	snprintf(bearer, sizeof bearer, "%s", web_bearer(web, ANN) + strlen("Bearer "));
	assert_string_equal(calendar(web, VISITOR, bearer)->body, missing);
	make_link(web, ANN, token);
	token[0] = token[0] == 'A' ? 'B' : 'A';
	assert_string_equal(calendar(web, VISITOR, token)->body, missing);
	free(missing);
}

static void test_a_new_link_ends_the_old_one(void **state)
{
	char old[TOKEN_SIZE], new[TOKEN_SIZE], ben[TOKEN_SIZE];

	make_link(*state, ANN, old);
	make_link(*state, BEN, ben);
	make_link(*state, ANN, new);
	assert_int_equal(calendar(*state, ANN, old)->status, 404);
	assert_int_equal(calendar(*state, VISITOR, new)->status, 200);
	assert_int_equal(web_post(*state, ANN, "/account/links/end", "")->status, 303);
	assert_int_equal(calendar(*state, ANN, new)->status, 404);
	assert_int_equal(calendar(*state, VISITOR, ben)->status, 200);
	assert_int_equal(web_post(*state, ANN, "/account/links/end", "")->status, 303);
	assert_holds(web_get(*state, ANN, "/account/links"), "no such addresses yet");
}

static void test_a_link_dies_with_its_member(void **state)
{
	struct web *web = *state;
	char token[TOKEN_SIZE];

	make_link(web, ANN, token);
	assert_int_equal(member_set_disabled(web_store(web), web_member(web, ANN), true), ST_OK);
	assert_int_equal(calendar(web, VISITOR, token)->status, 404);
	assert_int_equal(member_set_disabled(web_store(web), web_member(web, ANN), false), ST_OK);
	assert_int_equal(calendar(web, VISITOR, token)->status, 200);
	assert_int_equal(member_remove(web_store(web), web_member(web, ANN), WEB_START), ST_OK);
	assert_int_equal(calendar(web, VISITOR, token)->status, 404);
}

static void test_only_members_make_links(void **state)
{
	struct web *web = *state;
	struct request bare = {.method = HTTP_POST};
	int64_t made;

	assert_int_equal(web_get(web, VISITOR, "/account/links")->status, 303);
	assert_int_equal(web_post(web, VISITOR, "/account/links", "")->status, 403);
	assert_int_equal(web_post(web, VISITOR, "/account/links/end", "")->status, 403);
	assert_int_equal(web_send(web, ANN, &bare, "/account/links", "")->status, 403);
	assert_int_equal(web_post(web, ANN, "/account/links", "token2=x")->status, 400);
	assert_int_equal(feed_link_made(web_store(web), web_member(web, ANN), &made), ST_MISSING);
	for (enum who who = ANN; who < WHOS; who++)
		assert_int_equal(web_get(web, who, "/account/links")->status, 200);
}

/* ---- a member's news ---- */

static const struct response *feed(struct web *web, enum who who, const char *token)
{
	char target[120];

	snprintf(target, sizeof target, "/feed/%s", token);
	return web_get(web, who, target);
}

static void tell(struct web *web, enum who who, struct news_entry entry)
{
	entry.member = web_member(web, who);
	assert_int_equal(news_add(web_store(web), &entry, WEB_START + 60), ST_OK);
}

static void test_news_are_entries(void **state)
{
	struct web *web = *state;
	struct notice_id id = publish(web, "HB-1", "");
	char token[TOKEN_SIZE], url[100];
	const struct response *response;

	tell(web, ANN,
	     (struct news_entry){.kind = NEWS_STANDING,
	                         .kit = web_kit(web, ANN),
	                         .notice = id,
	                         .words = "Open: " HOSTILE});
	tell(web, ANN,
	     (struct news_entry){.kind = NEWS_POINTED,
	                         .notice = id,
	                         .from = web_member(web, BEN),
	                         .words = "Look."});
	make_link(web, ANN, token);
	response = feed(web, VISITOR, token);
	assert_int_equal(response->status, 200);
	assert_string_equal(response->type, "application/atom+xml; charset=utf-8");
	assert_string_equal(web_header(response, "Cache-Control"), "no-store");
	assert_int_equal(count_of(response->body, "<entry>"), 2);
	assert_holds(response, "<title>Standing changed: HB-1 Bushing " ESCAPED " (Kit)</title>");
	assert_holds(response, "<summary>Open: " ESCAPED "\nFairlead informs.");
	assert_holds(response, "<title>Have you seen this?: HB-1 Bushing " ESCAPED "</title>");
	assert_holds(response, "<summary>From Ben Builder.\nLook.\n");
	assert_holds(response, "<updated>2026-09-21T14:14:20Z</updated>");
	assert_holds(response, "href=\"http://fairlead.test/notices/1\"");
	snprintf(url, sizeof url, "href=\"http://fairlead.test/kits/%lld/notices/1\"",
	         (long long)web_kit(web, ANN).v);
	assert_holds(response, url);
	assert_lacks(response, token); /* who passes the feed on passes no address on */
}

static void test_news_of_others_are_not_told(void **state)
{
	struct web *web = *state;
	struct notice_id id = publish(web, "HB-1", "");
	char ann[TOKEN_SIZE], ben[TOKEN_SIZE];

	tell(web, ANN,
	     (struct news_entry){
	             .kind = NEWS_NEW, .kit = web_kit(web, ANN), .notice = id, .words = ""});
	make_link(web, ANN, ann);
	make_link(web, BEN, ben);
	assert_holds(feed(web, VISITOR, ann), "<title>New notice: HB-1");
	assert_lacks(feed(web, VISITOR, ben), "<entry>");
	assert_lacks(feed(web, ANN, ben), "<entry>");
	assert_int_equal(web_post(web, ANN, "/account/links", "")->status, 200);
	assert_int_equal(feed(web, ANN, ann)->status, 404);
	assert_int_equal(member_set_disabled(web_store(web), web_member(web, BEN), true), ST_OK);
	assert_int_equal(feed(web, VISITOR, ben)->status, 404);
	assert_int_equal(web_get(web, VISITOR, "/feed/x")->status, 404);
}

static void test_a_feed_of_news_is_no_longer_for_more(void **state)
{
	struct notice_id id = publish(*state, "HB-1", "");
	char token[TOKEN_SIZE];

	for (int i = 0; i < 60; i++)
		tell(*state, ANN,
		     (struct news_entry){.kind = NEWS_NEW, .notice = id, .words = "W"});
	make_link(*state, ANN, token);
	assert_int_equal(count_of(feed(*state, VISITOR, token)->body, "<entry>"), 50);
}

/* ---- the calendar ---- */

/* Of ANN, unfolded: lines end with CRLF. Borrowed until the next one. */
static const char *unfolded(struct web *web, const char *token)
{
	static char out[100000];
	const struct response *response = calendar(web, VISITOR, token);
	size_t len = 0;

	assert_int_equal(response->status, 200);
	for (const char *at = response->body; *at;) {
		if (strncmp(at, "\r\n ", 3) == 0) {
			at += 3;
			continue;
		}
		assert_true(len + 1 < sizeof out);
		out[len++] = *at++;
	}
	out[len] = '\0';
	return out;
}

static void expect(const char *text, const char *words)
{
	if (!strstr(text, words))
		fail_msg("no \"%s\" in\n%s", words, text);
}

static void test_due_days_are_events(void **state)
{
	static const struct {
		const char *due, *lines; /* NULL: no event */
	} rows[] = {
	        {"by 2026-10-01",
	         "DTSTART;VALUE=DATE:20261001\r\nTRANSP:TRANSPARENT\r\nSUMMARY:Due: "},
	        {"by 2026-09-21",
	         "DTSTART;VALUE=DATE:20260921\r\nTRANSP:TRANSPARENT\r\nSUMMARY:Due: "},
	        {"by 2026-09-20",
	         "DTSTART;VALUE=DATE:20260920\r\nTRANSP:TRANSPARENT\r\nSUMMARY:Overdue: "},
	        {"within 12 calendar months of issue", "DTSTART;VALUE=DATE:20270131"},
	        {"within 8 months of issue", "DTSTART;VALUE=DATE:20260902"},
	        {"within 100 years of 2150-01-01", NULL}, /* beyond any calendar of ours */
	        {"", NULL},
	        {"before next flight", NULL},
	        {"before first flight", NULL},
	        {"within 50 hours of issue", NULL}, /* the log is empty */
	        {"by 100 hours total", NULL},
	        {"before next annual inspection", NULL},
	};
	struct web *web = *state;

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const char *text;
		char token[TOKEN_SIZE];

		web_free(web);
		*state = web = web_new(NULL, 0, NULL, 0);
		publish(web, "HB-1", rows[i].due);
		make_link(web, ANN, token);
		text = unfolded(web, token);
		if (rows[i].lines)
			expect(text, rows[i].lines);
		assert_int_equal(count_of(text, "BEGIN:VEVENT"), rows[i].lines ? 1 : 0);
		expect(text, rows[i].lines ? "Notices without a day now: 0." : "day now: 1.");
	}
}

static void test_an_event_tells_why_and_cautions(void **state)
{
	struct web *web = *state;
	char token[TOKEN_SIZE], url[100], *first;
	const char *text;

	publish(web, "HB-1", "by 2026-10-01");
	make_link(web, ANN, token);
	text = unfolded(web, token);
	expect(text, "SUMMARY:Due: HB-1 Bushing ]]><script>\"'&amp\\;\xF0\x9F\x9B\xA9 (Kit)\r\n");
	expect(text, "Due by 1 October 2026.");
	expect(text, "Fairlead informs.");
	expect(text, "CATEGORIES:mandatory\r\n");
	expect(text, "DTSTAMP:20260921T141320Z\r\n");
	snprintf(url, sizeof url, "URL:http://fairlead.test/kits/%lld/notices/1\r\n",
	         (long long)web_kit(web, ANN).v);
	expect(text, url);
	assert_null(strstr(text, "BEGIN:VALARM"));
	/* The same names the next day. */
	first = strdup(strstr(text, "BEGIN:VEVENT\r\nUID:"));
	web_set_now(WEB_START + 86400);
	assert_int_equal(strncmp(strstr(unfolded(web, token), "BEGIN:VEVENT\r\nUID:"), first, 54),
	                 0);
	free(first);
}

static void set_model(struct web *web, enum who who, const char *model)
{
	struct facts facts = {.has_serial = false};
	struct arena *arena = arena_new();

	assert_int_equal(name_make(arena, model, strlen(model), &facts.model), ST_OK);
	assert_int_equal(kit_set_facts(web_store(web), web_kit(web, who), &facts), ST_OK);
	arena_free(arena);
}

static void test_only_the_members_own_kits_are_told_of(void **state)
{
	struct web *web = *state;
	struct revision_content content = content_of("HB-7", "Whimbrel only");
	struct kit_id id;
	char ann[TOKEN_SIZE], ben[TOKEN_SIZE], sue[TOKEN_SIZE];

	content.effectivity = "model Whimbrel";
	content.due = "by 2026-10-01";
	import(web, &content, 1, "");
	set_model(web, ANN, "Whimbrel");
	set_model(web, BEN, "Avocet");
	make_link(web, ANN, ann);
	make_link(web, BEN, ben);
	make_link(web, STEWARD, sue);
	expect(unfolded(web, ann), "HB-7");
	assert_null(strstr(unfolded(web, ben), "HB-7"));
	assert_int_equal(count_of(unfolded(web, sue), "BEGIN:VJOURNAL"), 1);
	assert_null(strstr(unfolded(web, sue), "VEVENT"));
	assert_int_equal(
	        kit_add(web_store(web), web_member(web, BEN), "Second, kit; \\n", WEB_START, &id),
	        ST_OK);
	assert_int_equal(kit_rename(web_store(web), web_kit(web, ANN), "Blue, one; \\n"), ST_OK);
	expect(unfolded(web, ann), "(Blue\\, one\\; \\\\n)\r\n");
	assert_null(strstr(unfolded(web, ann), "Second"));
}

static void post_kit(struct web *web, const char *page, const char *body)
{
	const struct response *response;
	char target[100];

	snprintf(target, sizeof target, "/kits/%lld/%s", (long long)web_kit(web, ANN).v, page);
	response = web_post(web, ANN, target, body);
	if (response->status != 303)
		fail_msg("%s: %u %s", body, response->status, response->body);
}

static void test_hours_that_are_logged_give_an_estimate(void **state)
{
	struct web *web = *state;
	char token[TOKEN_SIZE];
	const char *text;

	publish(web, "HB-1", "by 40 hours total\nby 2026-12-31\nwhichever first");
	make_link(web, ANN, token);
	expect(unfolded(web, token), "DTSTART;VALUE=DATE:20261231\r\n");
	post_kit(web, "log", "day=2026-09-01&hours=10"); /* one hour a day */
	post_kit(web, "log", "day=2026-09-11&hours=20");
	post_kit(web, "log", "day=2026-09-21&hours=30");
	text = unfolded(web, token);
	expect(text, "DTSTART;VALUE=DATE:20261001\r\nTRANSP:TRANSPARENT\r\n"
	             "SUMMARY:Estimate\\, due: HB-1");
	expect(text, "The day is an estimate\\, by the use in the log");
	/* Flown over: no day on which it was due is known, so it stands today. */
	web_set_now(WEB_START + 2 * 86400);
	post_kit(web, "log", "day=2026-09-23&hours=41");
	text = unfolded(web, token);
	expect(text, "DTSTART;VALUE=DATE:20260923\r\nTRANSP:TRANSPARENT\r\nSUMMARY:Overdue: HB-1");
	assert_int_equal(count_of(text, "BEGIN:VEVENT"), 1);
}

/* Ribs that a skin closes in; paint that closes the skin in. */
static const char line_file[] =
        "{\"format\": \"fairlead line 1\", \"lines\": [{\"model\": \"Whimbrel\", \"sections\": ["
        "{\"code\": \"W\", \"title\": \"Wing\", \"steps\": ["
        "{\"code\": \"W-1\", \"title\": \"Ribs\", \"hours\": 10, \"works_in\": [\"box\"]},"
        "{\"code\": \"W-2\", \"title\": \"Seat\", \"hours\": 10},"
        "{\"code\": \"W-3\", \"title\": \"Rail\", \"hours\": 10},"
        "{\"code\": \"W-4\", \"title\": \"Spar\", \"hours\": 10, \"needs\": [\"W-1\"]},"
        "{\"code\": \"W-5\", \"title\": \"Skin\", \"hours\": 20, \"needs\": [\"W-4\"],"
        " \"closes\": [\"box\"]}]}]}]}";

static void add_line(struct web *web)
{
	struct arena *arena = arena_new();
	struct json_reader reader;
	struct taken taken;

	json_reader_start(&reader, arena);
	assert_int_equal(take_in(web_store(web), &reader, line_file, sizeof line_file - 1,
	                         web_member(web, STEWARD), WEB_START, &taken),
	                 ST_OK);
	arena_free(arena);
}

static void test_last_good_moments_are_estimates(void **state)
{
	static const char *const steps[] = {"W-1"};
	struct web *web = *state;
	struct revision_content content = content_of("HB-9", "Rib rivets");
	char token[TOKEN_SIZE];
	const char *text;

	content.steps = (struct text_list){steps, 1};
	import(web, &content, 1, "");
	add_line(web);
	set_model(web, ANN, "Whimbrel");
	make_link(web, ANN, token);
	assert_null(strstr(unfolded(web, token), "VEVENT")); /* no pace yet: no day */
	post_kit(web, "line", "section=1&done=W-1&on=2026-09-01");
	post_kit(web, "line", "section=1&done=W-2&on=2026-09-11");
	post_kit(web, "line", "section=1&done=W-3&on=2026-09-21"); /* an hour a day */
	post_kit(web, "line", "act=all");
	text = unfolded(web, token);
	/* Ten hours of the spar are left before the skin closes the box. */
	expect(text, "DTSTART;VALUE=DATE:20261001\r\nTRANSP:TRANSPARENT\r\n"
	             "SUMMARY:Estimate\\, last good moment: HB-9 Rib rivets (Kit)\r\n");
	expect(text, "do it before step W-5 (Skin)");
	expect(text, "Notices without a day now: 0.");
	post_kit(web, "line", "section=1&act=section");
	assert_null(strstr(unfolded(web, token), "VEVENT")); /* buried: the moment is past */
}

static void add_record(struct web *web, const char *number)
{
	struct record record = {.done = date_of_day(WEB_START / 86400 - 1),
	                        .method = "Looked",
	                        .by = "Ann",
	                        .signed_as = "",
	                        .remarks = "",
	                        .entered_by = "Ann",
	                        .entered_at = WEB_START};
	struct arena *arena = arena_new();
	struct record_id id;

	assert_int_equal(name_make(arena, number, strlen(number), &record.notice), ST_OK);
	assert_int_equal(record_append(web_store(web), web_kit(web, ANN), &record, &id), ST_OK);
	arena_free(arena);
}

static void test_what_is_done_leaves_the_calendar(void **state)
{
	struct web *web = *state;
	char token[TOKEN_SIZE];

	publish(web, "HB-1", "by 2026-10-01\nthen\nevery 1 years");
	publish(web, "HB-2", "by 2026-10-01");
	make_link(web, ANN, token);
	assert_int_equal(count_of(unfolded(web, token), "BEGIN:VEVENT"), 2);
	add_record(web, "HB-1");
	add_record(web, "HB-2");
	expect(unfolded(web, token), "DTSTART;VALUE=DATE:20270920\r\n"); /* again in a year */
	assert_int_equal(count_of(unfolded(web, token), "BEGIN:VEVENT"), 1);
}

#define PAGE_TEST(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        PAGE_TEST(test_everybody_reads_the_same_feed),
	        PAGE_TEST(test_an_empty_feed_is_one),
	        PAGE_TEST(test_words_of_a_notice_stay_words),
	        PAGE_TEST(test_what_is_drafted_is_not_told),
	        PAGE_TEST(test_each_revision_and_cancellation_is_an_entry),
	        PAGE_TEST(test_the_feed_is_no_longer_for_more_notices),
	        PAGE_TEST(test_a_feed_that_is_known_is_not_sent_again),
	        PAGE_TEST(test_names_stay_when_the_address_changes),
	        PAGE_TEST(test_pages_of_notices_name_the_feed),
	        PAGE_TEST(test_a_link_is_shown_once_and_read_by_anybody_who_has_it),
	        PAGE_TEST(test_what_opens_nothing_is_missing),
	        PAGE_TEST(test_a_new_link_ends_the_old_one),
	        PAGE_TEST(test_a_link_dies_with_its_member),
	        PAGE_TEST(test_only_members_make_links),
	        PAGE_TEST(test_news_are_entries),
	        PAGE_TEST(test_news_of_others_are_not_told),
	        PAGE_TEST(test_a_feed_of_news_is_no_longer_for_more),
	        PAGE_TEST(test_due_days_are_events),
	        PAGE_TEST(test_an_event_tells_why_and_cautions),
	        PAGE_TEST(test_only_the_members_own_kits_are_told_of),
	        PAGE_TEST(test_hours_that_are_logged_give_an_estimate),
	        PAGE_TEST(test_last_good_moments_are_estimates),
	        PAGE_TEST(test_what_is_done_leaves_the_calendar),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
