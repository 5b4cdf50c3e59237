/* Pages of a kit in service: its log, and what is due. */
#include "web_support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support.h"

#include "base/arena.h"
#include "base/text.h"
#include "store/kit_log.h"
#include "store/notices.h"
#include "store/records.h"

/* Today is 21 September 2026. */
#define HOSTILE "<script>alert(1)</script>\"'&amp;"

struct shop {
	struct web *web;
	struct arena *arena;
	struct notice_id notice;
};

static void publish(struct shop *s, const char *number, const char *effectivity, const char *due)
{
	struct revision_content content = revision_content_empty;
	struct revision_id id;
	struct revision revision;

	content.number = number;
	content.issuer = "Harrowfen";
	content.title = "Look at the fan " HOSTILE;
	content.issued = "2026-01-01";
	content.effectivity = effectivity;
	content.action = "Look.";
	content.due = due;
	assert_int_equal(draft_new_notice(web_store(s->web), &content, web_member(s->web, STEWARD),
	                                  WEB_START, &id),
	                 ST_OK);
	assert_int_equal(
	        draft_submit(web_store(s->web), id, web_member(s->web, STEWARD), WEB_START), ST_OK);
	assert_int_equal(
	        draft_publish(web_store(s->web), id, 1, web_member(s->web, ADMIN), WEB_START),
	        ST_OK);
	assert_int_equal(revision_read(web_store(s->web), s->arena, id, &revision), ST_OK);
	s->notice = revision.notice;
}

static int set_up(void **state)
{
	struct shop *s = calloc(1, sizeof *s);

	assert_non_null(s);
	s->web = web_new(NULL, 0, NULL, 0);
	s->arena = arena_new();
	assert_non_null(s->arena);
	*state = s;
	return 0;
}

static int tear_down(void **state)
{
	struct shop *s = *state;

	web_free(s->web);
	arena_free(s->arena);
	free(s);
	return 0;
}

static const char *at(struct shop *s, const char *page)
{
	static char path[200];

	snprintf(path, sizeof path, "/kits/%lld%s", (long long)web_kit(s->web, ANN).v, page);
	return path;
}

static const struct response *get(struct shop *s, const char *page)
{
	return web_get(s->web, ANN, at(s, page));
}

static const struct response *post(struct shop *s, const char *page, const char *body)
{
	return web_post(s->web, ANN, at(s, page), body);
}

static void expect(const struct response *response, const char *text)
{
	if (!web_holds(response, text))
		fail_msg("no \"%s\" in: %.*s", text, (int)response->len, response->body);
}

static void enter(struct shop *s, const char *body)
{
	const struct response *response = post(s, "/log", body);

	if (response->status != 303)
		fail_msg("%s answers %u: %.*s", body, response->status, (int)response->len,
		         response->body);
}

static struct facts facts_now(struct shop *s)
{
	struct facts facts;

	assert_int_equal(kit_facts(web_store(s->web), s->arena, web_kit(s->web, ANN), &facts),
	                 ST_OK);
	return facts;
}

static size_t entries_now(struct shop *s, const struct kit_log_row **rows)
{
	size_t count = 0;

	assert_int_equal(
	        kit_log_list(web_store(s->web), s->arena, web_kit(s->web, ANN), rows, &count),
	        ST_OK);
	return count;
}

/* ---- the log ---- */

static void the_newest_entry_is_the_total(void **state)
{
	struct shop *s = *state;

	enter(s, "day=2026-09-01&hours=10.5&landings=12");
	enter(s, "day=2026-09-20&hours=12");
	enter(s, "day=2026-08-01&hours=3&event=annual+inspection");
	assert_int_equal(facts_now(s).hours, 1200);
	assert_int_equal(facts_now(s).landings, 12);
	expect(get(s, "/log"), "10.5</span> hours");
	expect(get(s, "/log"), "annual inspection");
	expect(get(s, "/log"), "2026-09-21"); /* today stands in the form */
	expect(get(s, "/facts"), "/log\">log</a>");
}

static void bad_entries_change_nothing(void **state)
{
	static const struct {
		const char *body, *words;
	} rows[] = {
	        {"day=&hours=20", "Day is needed"},
	        {"hours=20", "Day is needed"},
	        {"day=2026-09&hours=20", "Day must be a whole date"},
	        {"day=2026-02-30&hours=20", "Day must be"},
	        {"day=2026-09-22&hours=20", "Day must not be in the future"},
	        {"day=2199-01-01&hours=20", "Day must not be in the future"},
	        {"day=2026-09-21", "Total hours or landings or an event are needed"},
	        {"day=2026-09-21&hours=-1", "Total hours must be"},
	        {"day=2026-09-21&hours=1.234", "Total hours must be"},
	        {"day=2026-09-21&hours=ten", "Total hours must be"},
	        {"day=2026-09-21&hours=10000000", "Total hours must be"},
	        {"day=2026-09-21&landings=1.5", "Total landings must be a whole number"},
	        {"day=2026-09-21&landings=10000000", "Total landings must be"},
	        {"day=2026-09-21&hours=9.99",
	         "Total hours goes back: the log shows 10 up to that day"},
	        {"day=2026-08-21&hours=10.01",
	         "goes back: the log shows 5 up to that day and 10 after it"},
	        {"day=2026-08-21&hours=4",
	         "goes back: the log shows 5 up to that day and 10 after it"},
	        {"day=2026-09-01&hours=9", "goes back: the log shows 10 up to that day"},
	        {"day=2026-09-21&landings=29", "Total landings goes back: the log shows 30"},
	        {"day=2026-07-01&landings=31",
	         "goes back: the log shows 0 up to that day and 30 after it"},
	        {"day=2026-09-21&event=a%00b", "Event"},
	        {"day=2026-09-21&event="
	         "0123456789012345678901234567890123456789012345678901234567890123"
	         "45678901234567890",
	         "Event is longer than 80"},
	        {"act=forget&day=2026-09-21&hours=20", "What to do is not one of those"},
	};
	struct shop *s = *state;
	const struct kit_log_row *list;

	enter(s, "day=2026-08-01&hours=5");
	enter(s, "day=2026-09-01&hours=10&landings=30");
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response = post(s, "/log", rows[i].body);

		if (response->status != 422 || !web_holds(response, rows[i].words))
			fail_msg("%s answers %u without \"%s\"", rows[i].body, response->status,
			         rows[i].words);
		assert_int_equal(entries_now(s, &list), 2);
	}
	assert_int_equal(post(s, "/log", "day=2026-09-21&hours=20&more=1")->status, 400);
	assert_int_equal(web_post(s->web, BEN, at(s, "/log"), "day=2026-09-21&hours=20")->status,
	                 404);
	assert_int_equal(entries_now(s, &list), 2);
}

static const char *at_entry(struct shop *s, size_t i)
{
	static char page[80];
	const struct kit_log_row *rows;

	assert_true(entries_now(s, &rows) > i);
	snprintf(page, sizeof page, "/log/%lld/correct", (long long)rows[i].id.v);
	return page;
}

static void an_entry_is_corrected_by_a_further_one(void **state)
{
	struct shop *s = *state;
	const struct kit_log_row *rows;
	char page[80];

	enter(s, "day=2026-09-01&hours=10&landings=4&event=wash");
	enter(s, "day=2026-09-11&hours=110");
	snprintf(page, sizeof page, "%s", at_entry(s, 0));
	expect(get(s, page), "value=\"110\"");
	assert_int_equal(post(s, page, "day=2026-09-11&hours=9")->status, 422);
	assert_int_equal(post(s, page, "day=2026-09-22&hours=11")->status, 422);
	assert_int_equal(post(s, page, "day=2026-09-11")->status, 422);
	assert_int_equal(post(s, page, "day=2026-09-11&hours=11")->status, 303);
	assert_int_equal(facts_now(s).hours, 1100);
	assert_int_equal(entries_now(s, &rows), 3);
	expect(get(s, "/log"), "counts no more");
	expect(get(s, "/log"), "correction");
	/* once only */
	assert_non_null(strstr(web_header(post(s, page, "day=2026-09-11&hours=12"), "Location"),
	                       "entry-corrected-already"));
	assert_non_null(strstr(web_header(get(s, page), "Location"), "entry-corrected-already"));
	assert_int_equal(get(s, "/log/9999/correct")->status, 404);
	assert_int_equal(post(s, "/log/9999/correct", "day=2026-09-11&hours=12")->status, 404);
	assert_int_equal(facts_now(s).hours, 1100);
}

static void an_entry_is_withdrawn(void **state)
{
	struct shop *s = *state;

	enter(s, "day=2026-09-01&hours=10&landings=4&event=wash");
	expect(get(s, at_entry(s, 0)), "value=\"wash\"");
	assert_int_equal(post(s, at_entry(s, 0), "act=withdraw&day=2026-09-01")->status, 303);
	assert_false(facts_now(s).has_hours);
	expect(get(s, "/log"), "withdrawal");
	enter(s, "day=2026-09-01&hours=2");
	assert_int_equal(facts_now(s).hours, 200);
}

static void a_question_about_hours_is_answered_into_the_log(void **state)
{
	struct shop *s = *state;
	const struct kit_log_row *rows;

	publish(s, "SB-1", "hours 100 and on", "");
	expect(get(s, ""), "How many hours has it flown?");
	assert_int_equal(post(s, "/answer", "fact=hours&answer=ten")->status, 422);
	assert_int_equal(post(s, "/answer", "fact=hours&answer=120.5")->status, 303);
	assert_int_equal(facts_now(s).hours, 12050);
	assert_int_equal(entries_now(s, &rows), 1);
	assert_int_equal(rows[0].entry.day, WEB_START / 86400);
	assert_string_equal(rows[0].entered_by, "Ann Builder");
}

static void a_question_about_landings_may_not_go_back(void **state)
{
	struct shop *s = *state;
	const struct kit_log_row *rows;

	publish(s, "SB-1", "landings 100 and on", "");
	assert_int_equal(post(s, "/answer", "fact=landings&answer=120")->status, 303);
	assert_int_equal(facts_now(s).landings, 120);
	assert_int_equal(entries_now(s, &rows), 1);
}

/* ---- what is due ---- */

static void nothing_is_due_without_limits(void **state)
{
	struct shop *s = *state;

	publish(s, "SB-1", "all", "");
	expect(get(s, "/due"), "No limit runs");
}

static void limits_are_shown_with_what_remains(void **state)
{
	struct shop *s = *state;

	publish(s, "SB-1", "all",
	        "by 100 hours total\nby 50 landings total\nby 2026-12-31\nwhichever first");
	publish(s, "SB-2", "all", "by 2026-09-20");
	publish(s, "SB-3", "all", "before next flight");
	publish(s, "SB-4", "all", "within 5 hours of 2026-02-03");
	publish(s, "SB-5", "model Curlew", "before next flight");
	enter(s, "day=2026-03-01&hours=10&landings=10");
	enter(s, "day=2026-05-01&hours=20&landings=20");
	expect(get(s, "/due"), "No date yet: that takes three entries");
	enter(s, "day=2026-07-01&hours=30&landings=30");
	expect(get(s, "/due"), "70 hours left");
	expect(get(s, "/due"), "20 landings left");
	expect(get(s, "/due"), "101 days left");
	expect(get(s, "/due"), "over by 1 day");
	expect(get(s, "/due"), "About ");
	expect(get(s, "/due"), "nine times of ten");
	expect(get(s, "/due"), "total hours on 3 February 2026");
	expect(get(s, "/due"), "Due before the next flight.");
	assert_false(web_holds(get(s, "/due"), "SB-5"));
	assert_false(web_holds(get(s, "/due"), "<script>alert"));
	/* the most pressing first */
	const struct response *response = get(s, "/due");
	const char *over = memmem(response->body, response->len, "SB-2", 4);
	const char *now = memmem(response->body, response->len, "SB-3", 4);
	const char *untold = memmem(response->body, response->len, "SB-4", 4);
	const char *ahead = memmem(response->body, response->len, "SB-1", 4);

	assert_true(over && now && untold && ahead && over < now && now < untold && untold < ahead);
	expect(get(s, ""), "<b>Due</b> by 31 December 2026 or 100 hours or 50 landings");
	expect(get(s, ""), "overdue");
	expect(get(s, ""), "due now");
}

static void use_that_strays_has_no_end(void **state)
{
	struct shop *s = *state;

	publish(s, "SB-1", "all", "by 100 hours total");
	enter(s, "day=2026-03-01&hours=0");
	enter(s, "day=2026-03-11&hours=50");
	enter(s, "day=2026-03-12&hours=50");
	enter(s, "day=2026-04-12&hours=50.01");
	expect(get(s, "/due"), "use strays too much");
	enter(s, "day=2026-09-12&hours=100.01");
	expect(get(s, "/due"), "over by 0.01 hours");
}

static void no_use_gives_no_date(void **state)
{
	struct shop *s = *state;

	publish(s, "SB-1", "all", "by 100 hours total");
	enter(s, "day=2026-03-01&hours=7");
	enter(s, "day=2026-03-11&hours=7");
	enter(s, "day=2026-03-12&hours=7");
	expect(get(s, "/due"), "No date: the log shows no use.");
	enter(s, "day=2026-03-13&hours=7.01");
	publish(s, "SB-2", "all", "by 99999 hours total");
	expect(get(s, "/due"), "No date within a hundred years");
}

static void events_are_planned_where_limits_wait(void **state)
{
	static const struct {
		const char *body, *words;
	} bad[] = {
	        {"event=annual+inspection&day=2026-09-20&hours=", "On lies behind"},
	        {"event=annual+inspection&day=2026-13-01&hours=", "On must be"},
	        {"event=annual+inspection&day=2026-12&hours=", "On must be a whole date"},
	        {"event=annual+inspection&day=&hours=-4", "Or at total hours must be"},
	        {"event=&day=2026-12-01&hours=", "Event is needed"},
	        {"day=2026-12-01", "Event is needed"},
	};
	struct shop *s = *state;

	publish(s, "SB-1", "all",
	        "before next annual inspection\nwithin 9 hours of last fan change\nwhichever "
	        "first");
	expect(get(s, "/due"), "when the next annual inspection is");
	expect(get(s, "/due"), "Next annual inspection");
	expect(get(s, "/log"), "annual inspection");
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
		const struct response *response = post(s, "/due", bad[i].body);

		if (response->status != 422 || !web_holds(response, bad[i].words))
			fail_msg("%s answers %u", bad[i].body, response->status);
	}
	assert_int_equal(web_post(s->web, BEN, at(s, "/due"), "event=a&day=2026-12-01")->status,
	                 404);
	assert_int_equal(post(s, "/due", "event=annual+inspection&day=2026-12-01&hours=")->status,
	                 303);
	expect(get(s, "/due"), "Due by 1 December 2026");
	expect(get(s, "/due"), "value=\"2026-12-01\"");
	assert_int_equal(post(s, "/due", "event=annual+inspection&day=&hours=12.5")->status, 303);
	expect(get(s, "/due"), "value=\"12.5\"");
	assert_int_equal(post(s, "/due", "event=Annual+Inspection&day=&hours=")->status, 303);
	expect(get(s, "/due"), "when the next annual inspection is");
}

/* 14 CFR 91.417(a)(2)(v): the time and date when the next action is required. */
static void the_statement_prints_the_next_action(void **state)
{
	struct shop *s = *state;
	char body[300];

	publish(s, "SB-1", "all",
	        "by 2026-12-31\nthen\nevery 100 hours\nevery 12 calendar months\nwhichever first");
	enter(s, "day=2026-09-01&hours=40");
	expect(get(s, "/statement"), "next action due by 31 December 2026.");
	snprintf(body, sizeof body, "/notices/%lld/record", (long long)s->notice.v);
	assert_int_equal(post(s, body, "line=1&done=2026-09-01&method=Looked&by=Ann")->status, 303);
	/* the record gives no hours, the log does */
	expect(get(s, "/statement"), "next action due by 30 September 2027 or 140 hours");
}

static void pages_are_for_the_owner_only(void **state)
{
	static const char *const pages[] = {"/log", "/due"};
	struct shop *s = *state;

	for (size_t i = 0; i < sizeof pages / sizeof pages[0]; i++) {
		assert_int_equal(get(s, pages[i])->status, 200);
		assert_int_equal(web_get(s->web, BEN, at(s, pages[i]))->status, 404);
		assert_int_equal(web_get(s->web, STEWARD, at(s, pages[i]))->status, 404);
		assert_int_equal(web_get(s->web, VISITOR, at(s, pages[i]))->status, 303);
	}
}

static struct shop *trying;

static bool try_due(void *context)
{
	const struct response *response = get(trying, context);

	return response->status == 200;
}

static void memory_may_run_out(void **state)
{
	char due[] = "/due", log[] = "/log";

	trying = *state;
	publish(trying, "SB-1", "all",
	        "by 100 hours total\nby 2026-12-31\nbefore next wash\nwhichever first");
	enter(trying, "day=2026-03-01&hours=1&event=wash");
	enter(trying, "day=2026-04-01&hours=3");
	enter(trying, "day=2026-05-01&hours=4");
	try_each_allocation(try_due, due, true);
	try_each_allocation(try_due, log, true);
}

/* ---- limits read back on the drawing board ---- */

static void limits_are_read_back_while_typed(void **state)
{
	struct shop *s = *state;
	const struct response *response =
	        web_post(s->web, STEWARD, "/board/read-back-due", "due=within+9+hours+of+issue");

	assert_int_equal(response->status, 200);
	expect(response, "Due within 9 hours of issue.");
	expect(web_post(s->web, STEWARD, "/board/read-back-due", "due=within+9"),
	       "Line 1, column 9: expected hours");
	expect(web_post(s->web, STEWARD, "/board/read-back-due", "due="), "will stand here");
	assert_int_equal(web_post(s->web, ANN, "/board/read-back-due", "due=")->status, 403);
	expect(web_get(s->web, STEWARD, "/board/new"), "How limits are written");
}

#define PAGE_TEST(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        PAGE_TEST(the_newest_entry_is_the_total),
	        PAGE_TEST(bad_entries_change_nothing),
	        PAGE_TEST(an_entry_is_corrected_by_a_further_one),
	        PAGE_TEST(an_entry_is_withdrawn),
	        PAGE_TEST(a_question_about_hours_is_answered_into_the_log),
	        PAGE_TEST(a_question_about_landings_may_not_go_back),
	        PAGE_TEST(nothing_is_due_without_limits),
	        PAGE_TEST(limits_are_shown_with_what_remains),
	        PAGE_TEST(use_that_strays_has_no_end),
	        PAGE_TEST(no_use_gives_no_date),
	        PAGE_TEST(events_are_planned_where_limits_wait),
	        PAGE_TEST(the_statement_prints_the_next_action),
	        PAGE_TEST(pages_are_for_the_owner_only),
	        PAGE_TEST(memory_may_run_out),
	        PAGE_TEST(limits_are_read_back_while_typed),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
