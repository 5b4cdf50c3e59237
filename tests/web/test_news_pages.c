/* test_news_pages.c - news from its making in the rounds to its pages: what
 * concerns a kit reaches its builder once, what does not reaches nobody.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support.h"
#include "web_support.h"

#include "base/text.h"
#include "store/kit_log.h"
#include "store/news.h"
#include "store/notices.h"
#include "store/records.h"
#include "store/reports.h"
#include "store/settings.h"
#include "store/under_way.h"
#include "web/http/app_parts.h"
#include "chapter/news_round.h"

#define HOSTILE "\"><script>alert(1)</script>"
#define DAY 86400

struct world {
	struct web *web;
	struct arena *arena;
};

static struct facts facts_of(struct arena *arena, const char *model)
{
	struct facts facts = {.parts_known = true, .notices_known = true, .steps_known = true};

	assert_int_equal(name_make(arena, model, strlen(model), &facts.model), ST_OK);
	return facts;
}

/* Ann builds a Whimbrel, Ben a Whimbrel T; both have been told of all. */
static int set_up(void **state)
{
	struct world *ch = calloc(1, sizeof *ch);
	struct facts ann, ben;

	assert_non_null(ch);
	ch->web = web_new(NULL, 0, NULL, 0);
	ch->arena = arena_new();
	assert_non_null(ch->arena);
	ann = facts_of(ch->arena, "Whimbrel");
	ben = facts_of(ch->arena, "Whimbrel T");
	assert_int_equal(kit_set_facts(web_store(ch->web), web_kit(ch->web, ANN), &ann), ST_OK);
	assert_int_equal(kit_set_facts(web_store(ch->web), web_kit(ch->web, BEN), &ben), ST_OK);
	assert_int_equal(app_round(web_app(ch->web)), ST_OK);
	*state = ch;
	return 0;
}

static int tear_down(void **state)
{
	struct world *ch = *state;

	web_free(ch->web);
	arena_free(ch->arena);
	free(ch);
	return 0;
}

static struct revision_content content_of(const char *number, const char *effectivity)
{
	struct revision_content content = revision_content_empty;

	content.number = number;
	content.issuer = "Harrowfen";
	content.issued = "2026-01";
	content.title = "Tube of " HOSTILE;
	content.effectivity = effectivity;
	content.action = "1. Look at it.";
	content.problem = "It can rub.";
	content.force = FORCE_MANDATORY;
	return content;
}

static struct notice_id publish(struct world *ch, const struct revision_content *content)
{
	struct notice_import import = {content, 1, "", ""};
	struct notice_id id;

	assert_int_equal(notice_import(web_store(ch->web), &import, web_member(ch->web, STEWARD),
	                               WEB_START, &id),
	                 ST_OK);
	return id;
}

static void revise(struct world *ch, struct notice_id id, struct revision_content *content,
                   const char *label)
{
	struct store *store = web_store(ch->web);
	struct member_id by = web_member(ch->web, STEWARD);
	struct revision_id draft;
	bool stale;

	assert_int_equal(draft_new_revision(store, id, by, WEB_START, &draft), ST_OK);
	content->revision = label;
	assert_int_equal(draft_save(store, draft, 1, content, by, WEB_START, &stale), ST_OK);
	assert_int_equal(draft_submit(store, draft, by, WEB_START), ST_OK);
	assert_int_equal(draft_publish(store, draft, 2, web_member(ch->web, ADMIN), WEB_START),
	                 ST_OK);
}

static void go_round(struct world *ch)
{
	assert_int_equal(app_round(web_app(ch->web)), ST_OK);
}

/* All of a member's news, newest first. */
static size_t news_of(struct world *ch, enum who who, const struct news **out)
{
	size_t count;

	assert_int_equal(news_list(web_store(ch->web), ch->arena, web_member(ch->web, who), 0, 99,
	                           out, &count),
	                 ST_OK);
	return count;
}

static void assert_news(struct world *ch, enum who who, size_t count, enum news_kind kind,
                        const char *words)
{
	const struct news *news;

	go_round(ch);
	assert_int_equal(news_of(ch, who, &news), count);
	assert_int_equal(news->kind, kind);
	if (!strstr(news->words, words))
		fail_msg("no \"%s\" in: %s", words, news->words);
}

/* ---- the rounds ---- */

static void the_first_round_tells_nothing(void **state)
{
	struct world *ch = *state;
	struct revision_content content = content_of("HB-1", "all");
	struct facts facts = facts_of(ch->arena, "Whimbrel");
	const struct news *news;
	struct kit_id kit;

	publish(ch, &content);
	go_round(ch);
	assert_int_equal(
	        kit_add(web_store(ch->web), web_member(ch->web, ADMIN), "Late", WEB_START, &kit),
	        ST_OK);
	go_round(ch);
	assert_int_equal(kit_set_facts(web_store(ch->web), kit, &facts), ST_OK);
	go_round(ch);
	assert_int_equal(news_of(ch, ADMIN, &news), 0);
}

static void a_new_notice_reaches_those_whom_it_concerns(void **state)
{
	struct world *ch = *state;
	struct revision_content content = content_of("HB-1", "model Whimbrel T");
	const struct news *news;

	publish(ch, &content);
	assert_news(ch, BEN, 1, NEWS_NEW, "Standing for this kit: open. ");
	news_of(ch, BEN, &news);
	assert_true(news->mandatory && !news->seen);
	assert_int_equal(news->kit.v, web_kit(ch->web, BEN).v);
	assert_string_equal(news->notice_number, "HB-1");
	assert_int_equal(news_of(ch, ANN, &news), 0);
	assert_int_equal(news_of(ch, STEWARD, &news), 0);
	go_round(ch);
	assert_int_equal(news_of(ch, BEN, &news), 1);
}

static void what_cannot_be_told_is_news_too(void **state)
{
	struct world *ch = *state;
	struct revision_content content = content_of("HB-1", "serial WH-1 thru WH-9");

	publish(ch, &content);
	assert_news(ch, ANN, 1, NEWS_NEW, "Standing for this kit: ask. ");
}

static void a_revision_and_a_cancellation_are_told(void **state)
{
	struct world *ch = *state;
	struct revision_content content = content_of("HB-1", "model Whimbrel");
	struct notice_id id = publish(ch, &content);
	const struct news *news;

	go_round(ch);
	revise(ch, id, &content, "B");
	assert_news(ch, ANN, 2, NEWS_REVISED, "Now revision B. Standing for this kit: open. ");
	assert_int_equal(notice_cancel(web_store(ch->web), id, "2026-09", "wrong part",
	                               web_member(ch->web, STEWARD), WEB_START),
	                 ST_OK);
	assert_news(ch, ANN, 3, NEWS_CANCELLED, "The issuer cancelled it on");
	assert_int_equal(news_of(ch, BEN, &news), 0);
}

static void a_draft_is_no_news(void **state)
{
	struct world *ch = *state;
	struct revision_content content = content_of("HB-1", "all");
	struct revision_id draft;
	const struct news *news;

	assert_int_equal(draft_new_notice(web_store(ch->web), &content,
	                                  web_member(ch->web, STEWARD), WEB_START, &draft),
	                 ST_OK);
	go_round(ch);
	assert_int_equal(news_of(ch, ANN, &news), 0);
}

static void a_replacing_notice_changes_the_standing(void **state)
{
	struct world *ch = *state;
	struct revision_content content = content_of("HB-1", "model Whimbrel");
	struct revision_content later = content_of("HB-2", "model Whimbrel");
	const char *number = "HB-1";
	const struct news *news;

	publish(ch, &content);
	go_round(ch);
	later.supersedes = (struct text_list){&number, 1};
	publish(ch, &later);
	go_round(ch);
	assert_int_equal(news_of(ch, ANN, &news), 3);
	assert_int_equal(news[0].kind, NEWS_NEW);
	assert_string_equal(news[0].notice_number, "HB-2");
	assert_int_equal(news[1].kind, NEWS_STANDING);
	assert_non_null(strstr(news[1].words, "it was open, now it is replaced. Replaced by "));
	assert_false(news[1].mandatory);
}

static void own_work_is_no_news_but_a_day_that_passes_is(void **state)
{
	struct world *ch = *state;
	struct revision_content content = content_of("HB-1", "model Whimbrel");
	struct facts facts = facts_of(ch->arena, "Whimbrel");
	const struct news *news;

	content.due = "within 3 calendar months of first flight";
	publish(ch, &content);
	go_round(ch);
	assert_int_equal(news_of(ch, ANN, &news), 1);
	facts.first_flight.state = DATE_KNOWN;
	assert_int_equal(date_parse("2026-09-20", 10, &facts.first_flight.date), ST_OK);
	assert_int_equal(kit_set_facts(web_store(ch->web), web_kit(ch->web, ANN), &facts), ST_OK);
	go_round(ch);
	assert_int_equal(news_of(ch, ANN, &news), 1);
	web_set_now(WEB_START + 30 * DAY);
	go_round(ch);
	assert_int_equal(news_of(ch, ANN, &news), 1);
	web_set_now(WEB_START + 150 * DAY);
	assert_news(ch, ANN, 2, NEWS_STANDING, "it was open, now it is open, overdue");
	web_set_now(WEB_START);
}

/* Each SQL step of a round fails once; the round is begun again, and each thing
 * is told once. */
struct turn {
	int64_t place;
	size_t fail_at;
};

static enum status go_on(struct work *work, void *context)
{
	struct turn *turn = context;
	enum status status;

	store_fail_step(work->store, turn->fail_at);
	do
		status = news_round_kits(work, &turn->place);
	while (status == ST_OK && turn->place);
	return status;
}

static enum status one_turn(struct world *ch, size_t fail_at)
{
	struct work work = work_at(web_app(ch->web)->chapter, ch->arena);
	struct turn turn = {0, fail_at};
	int64_t generation;

	work.store = web_store(ch->web);
	assert_int_equal(setting_generation(work.store, &generation), ST_OK);
	return work_with_notices(&work, generation, go_on, &turn);
}

static void a_round_that_fails_tells_each_thing_once(void **state)
{
	struct world *ch = *state;
	struct revision_content content = content_of("HB-1", "all");
	struct notice_id id = publish(ch, &content);
	const struct news *news;
	size_t fail_at = 0;
	char label[20];
	bool failed;

	go_round(ch);
	do {
		snprintf(label, sizeof label, "R%zu", ++fail_at);
		revise(ch, id, &content, label);
		(void)!one_turn(ch, fail_at);
		failed = store_step_failed(web_store(ch->web));
		store_fail_step(web_store(ch->web), 0);
		assert_int_equal(one_turn(ch, 0), ST_OK);
		assert_true(news_of(ch, ANN, &news) == (fail_at < 98 ? fail_at + 1 : 99));
		assert_non_null(strstr(news[0].words, label));
		assert_true(news_of(ch, BEN, &news) == (fail_at < 98 ? fail_at + 1 : 99));
		arena_reset(ch->arena);
	} while (failed);
	assert_true(fail_at > 30);
}

/* ---- reports ---- */

static struct report_id report_by(struct world *ch, enum who who, const char *title)
{
	struct report_content content = {.title = title,
	                                 .model = "Whimbrel",
	                                 .step = "",
	                                 .zone = "",
	                                 .seen = "A crack.",
	                                 .look = "With a glass.",
	                                 .effectivity = "model Whimbrel"};
	struct report_id id;

	assert_int_equal(report_add(web_store(ch->web), &content, web_kit(ch->web, who),
	                            web_member(ch->web, who), CREDIT_MEMBERS, WEB_START, &id),
	                 ST_OK);
	return id;
}

static void answer(struct world *ch, struct report_id report, enum who who,
                   enum finding_answer what, enum credit credit)
{
	struct finding_entry entry = {
	        report, web_kit(ch->web, who), web_member(ch->web, who), what, credit, ""};
	struct finding_id id;

	assert_int_equal(finding_add(web_store(ch->web), &entry, WEB_START, &id), ST_OK);
}

static void an_answer_reaches_the_reporter(void **state)
{
	struct world *ch = *state;
	struct report_id report = report_by(ch, ANN, "Crack");
	const struct news *news;

	assert_int_equal(news_of(ch, ANN, &news), 0); /* her own finding is no news to her */
	answer(ch, report, BEN, ANSWER_NOT_THERE, CREDIT_MEMBERS);
	answer(ch, report, BEN, ANSWER_NOT_THERE, CREDIT_NOBODY);
	answer(ch, report, ANN, ANSWER_FOUND, CREDIT_MEMBERS);
	assert_int_equal(news_of(ch, ANN, &news), 2);
	assert_int_equal(news[1].kind, NEWS_FINDING);
	assert_string_equal(news[1].words, "looked, not there");
	assert_string_equal(news[1].from_name, "Ben Builder");
	assert_string_equal(news[1].report_title, "Crack");
	assert_string_equal(news[0].from_name, ""); /* who wants not to be named is not */
	assert_int_equal(news_of(ch, BEN, &news), 0);
}

static size_t states_told(struct world *ch, enum who who, const struct news **out)
{
	size_t count = 0, all;

	go_round(ch);
	all = news_of(ch, who, out);
	for (size_t i = 0; i < all; i++)
		count += (*out)[i].kind == NEWS_STATE;
	return count;
}

static void another_state_reaches_reporter_and_finders(void **state)
{
	struct world *ch = *state;
	struct report_id report = report_by(ch, ANN, "Crack");
	struct revision_content content = content_of("HB-9", "model Nobody");
	struct notice_id notice;
	const struct news *news;

	assert_int_equal(states_told(ch, ANN, &news), 0);
	answer(ch, report, BEN, ANSWER_FOUND, CREDIT_MEMBERS);
	assert_int_equal(states_told(ch, ANN, &news), 1);
	assert_non_null(strstr(news->words, "From single report to confirmed. Found by 2"));
	assert_int_equal(states_told(ch, BEN, &news), 1);
	assert_int_equal(states_told(ch, STEWARD, &news), 0);
	notice = publish(ch, &content);
	assert_int_equal(report_link(web_store(ch->web), report, notice,
	                             web_member(ch->web, STEWARD), WEB_START),
	                 ST_OK);
	assert_int_equal(states_told(ch, ANN, &news), 2);
	assert_non_null(strstr(news->words, "From confirmed to settled"));
	assert_int_equal(notice_cancel(web_store(ch->web), notice, "2026-09", "wrong",
	                               web_member(ch->web, STEWARD), WEB_START),
	                 ST_OK);
	assert_int_equal(states_told(ch, BEN, &news), 3);
	assert_int_equal(states_told(ch, BEN, &news), 3);
}

/* What a steward has taken away is not read in old news either. */
static void news_of_a_removed_report_does_not_say_its_title(void **state)
{
	struct world *ch = *state;
	struct report_id report = report_by(ch, BEN, "Crack");
	const struct news *news;

	answer(ch, report, ANN, ANSWER_FOUND, CREDIT_MEMBERS);
	go_round(ch);
	assert_true(news_of(ch, ANN, &news) > 0);
	assert_string_equal(news->report_title, "Crack");
	assert_int_equal(report_remove(web_store(ch->web), report, web_member(ch->web, STEWARD),
	                               "x", WEB_START),
	                 ST_OK);
	assert_true(news_of(ch, ANN, &news) > 0);
	assert_string_equal(news->report_title, "a report that was removed");
	assert_false(web_holds(web_get(ch->web, ANN, "/news"), "Crack"));
	assert_int_equal(report_put_back(web_store(ch->web), report, web_member(ch->web, STEWARD),
	                                 WEB_START),
	                 ST_OK);
	assert_true(web_holds(web_get(ch->web, ANN, "/news"), "Crack"));
}

static void a_merged_report_is_told_to_its_reporter(void **state)
{
	struct world *ch = *state;
	struct report_id one = report_by(ch, ANN, "Crack"), two = report_by(ch, BEN, "Flaw");
	struct member_id by = web_member(ch->web, STEWARD);
	const struct news *news;

	go_round(ch);
	assert_int_equal(report_merge(web_store(ch->web), two, one, by, WEB_START), ST_OK);
	assert_int_equal(states_told(ch, BEN, &news), 2); /* and the other is confirmed by it */
	assert_int_equal(states_told(ch, ANN, &news), 1);
	assert_int_equal(report_part(web_store(ch->web), two, by, WEB_START), ST_OK);
	assert_int_equal(states_told(ch, BEN, &news), 3);
	assert_non_null(strstr(news->words, "It stands by itself again: single report."));
}

static void a_new_report_reaches_those_whom_it_concerns(void **state)
{
	struct world *ch = *state;
	struct report_id report =
	        report_by(ch, BEN, "Crack"); /* of a Whimbrel T, on model Whimbrel */
	const struct news *news;

	assert_int_equal(kit_add(web_store(ch->web), web_member(ch->web, ADMIN), "Unsaid",
	                         WEB_START, &(struct kit_id){0}),
	                 ST_OK);
	assert_news(ch, ANN, 1, NEWS_REPORT, "It concerns this kit: ");
	news_of(ch, ANN, &news);
	assert_int_equal(news->report.v, report.v);
	assert_int_equal(news->kit.v, web_kit(ch->web, ANN).v);
	assert_string_equal(news->from_name, "Ben Builder");
	assert_true(news->mandatory); /* could be dangerous */
	assert_news(ch, ADMIN, 1, NEWS_REPORT, "It cannot be told whether");
	assert_int_equal(news_of(ch, BEN, &news), 0); /* not concerned, and the reporter */
	go_round(ch);
	assert_int_equal(news_of(ch, ANN, &news), 1);
}

/* Once, whether nobody was told before or everybody was. */
static void reports_that_come_back_are_told_of_once(void **state)
{
	struct world *ch = *state;
	struct store *store = web_store(ch->web);
	struct member_id steward = web_member(ch->web, STEWARD);
	struct report_id removed = report_by(ch, BEN, "Crack"), merged = report_by(ch, BEN, "Rust");
	const struct news *news;

	assert_int_equal(report_remove(store, removed, steward, "why", WEB_START), ST_OK);
	assert_int_equal(
	        report_merge(store, merged, report_by(ch, BEN, "Rust too"), steward, WEB_START),
	        ST_OK);
	for (int i = 0; i < 5; i++)
		go_round(ch);
	assert_int_equal(news_of(ch, ANN, &news), 1);
	assert_string_equal(news->report_title, "Rust too");
	assert_int_equal(report_put_back(store, removed, steward, WEB_START), ST_OK);
	for (int i = 0; i < 3; i++)
		go_round(ch);
	assert_int_equal(news_of(ch, ANN, &news), 2);
	assert_int_equal(news->report.v, removed.v);
	assert_int_equal(report_part(store, merged, steward, WEB_START), ST_OK);
	for (int i = 0; i < 3; i++)
		go_round(ch);
	assert_int_equal(news_of(ch, ANN, &news), 3);
	assert_int_equal(news->report.v, merged.v);
	assert_int_equal(report_remove(store, removed, steward, "why", WEB_START), ST_OK);
	assert_int_equal(report_put_back(store, removed, steward, WEB_START), ST_OK);
	for (int i = 0; i < 3; i++)
		go_round(ch);
	assert_int_equal(news_of(ch, ANN, &news), 3);
}

static void a_reporter_is_not_told_of_the_own_report(void **state)
{
	struct world *ch = *state;
	struct report_id removed = report_by(ch, ANN, "Crack");
	const struct news *news;

	report_by(ch, ANN, "Flaw");
	assert_int_equal(report_remove(web_store(ch->web), removed, web_member(ch->web, ANN), "x",
	                               WEB_START),
	                 ST_OK);
	go_round(ch);
	for (enum who who = ANN; who <= ADMIN; who++)
		assert_int_equal(news_of(ch, who, &news), 0);
}

/* ---- the page ---- */

static void an_empty_page_says_what_will_come(void **state)
{
	struct world *ch = *state;
	const struct response *r = web_get(ch->web, ANN, "/news");

	assert_int_equal(r->status, 200);
	assert_true(web_holds(r, "Nothing is new for you."));
	assert_false(web_holds(r, "All read"));
	assert_false(web_holds(r, "class=\"count\""));
}

static void only_members_have_news(void **state)
{
	struct world *ch = *state;

	assert_int_equal(web_get(ch->web, VISITOR, "/news")->status, 303);
	assert_int_equal(web_post(ch->web, VISITOR, "/news/seen", "up_to=1")->status, 403);
	for (enum who who = ANN; who <= ADMIN; who++)
		assert_int_equal(web_get(ch->web, who, "/news")->status, 200);
}

static void news_stay_new_until_all_is_read(void **state)
{
	struct world *ch = *state;
	struct revision_content content = content_of("HB-1", "model Whimbrel");
	const struct response *r;
	const struct news *news;
	char form[40];

	publish(ch, &content);
	go_round(ch);
	for (int i = 0; i < 2; i++) { /* opening it marks nothing */
		r = web_get(ch->web, ANN, "/news");
		assert_true(web_holds(r, "HB-1"));
		assert_true(web_holds(r, "Standing for this kit: open. "));
		assert_true(web_holds(r, "All read"));
		assert_true(web_holds(r, "<b class=\"count\">1"));
		assert_false(web_holds(r, HOSTILE));
	}
	assert_true(web_holds(web_get(ch->web, ANN, "/kits"), "<b class=\"count\">1"));
	assert_false(web_holds(web_get(ch->web, BEN, "/news"), "HB-1"));
	news_of(ch, ANN, &news);
	snprintf(form, sizeof form, "up_to=%lld", (long long)news->id);
	assert_int_equal(web_post(ch->web, BEN, "/news/seen", form)->status, 303);
	assert_true(web_holds(web_get(ch->web, ANN, "/news"), "All read"));
	r = web_post(ch->web, ANN, "/news/seen", form);
	assert_int_equal(r->status, 303);
	assert_string_equal(web_header(r, "Location"), "/news?said=news-seen");
	r = web_get(ch->web, ANN, "/news");
	assert_false(web_holds(r, "All read"));
	assert_false(web_holds(r, "class=\"count\""));
	assert_true(web_holds(r, "HB-1"));
}

static void bad_marks_change_nothing(void **state)
{
	static const char *const bad[] = {"", "up_to=", "up_to=x", "up_to=-1", "up_to=0"};
	struct world *ch = *state;
	struct revision_content content = content_of("HB-1", "all");

	publish(ch, &content);
	go_round(ch);
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		assert_int_equal(web_post(ch->web, ANN, "/news/seen", bad[i])->status, 400);
	assert_int_equal(web_post(ch->web, ANN, "/news/seen", "up_to=99999")->status, 303);
	assert_true(web_holds(web_get(ch->web, ANN, "/news"), "All read"));
	assert_int_equal(web_get(ch->web, ANN, "/news?before=x")->status, 422);
}

/* Nobody has gone round since: the page shows it all the same, and keeps nothing. */
static void the_page_is_not_behind(void **state)
{
	struct world *ch = *state;
	struct revision_content content = content_of("HB-1", "model Whimbrel");
	const struct news *news;

	publish(ch, &content);
	assert_true(web_holds(web_get(ch->web, ANN, "/news"), "HB-1"));
	assert_false(web_holds(web_get(ch->web, BEN, "/news"), "HB-1"));
	assert_int_equal(news_of(ch, ANN, &news), 0);
}

/* A kept page of the kit shows the number of now. */
static void kept_pages_count_anew(void **state)
{
	struct world *ch = *state;
	struct news_entry entry = {.member = web_member(ch->web, ANN), .words = "x"};
	char path[40];

	snprintf(path, sizeof path, "/kits/%lld", (long long)web_kit(ch->web, ANN).v);
	assert_false(web_holds(web_get(ch->web, ANN, path), "class=\"count\""));
	for (int i = 1; i <= 12; i++) {
		char count[40];

		snprintf(count, sizeof count, "<b class=\"count\">%d%s<", i < 10 ? i : 9,
		         i < 10 ? "" : "+");
		assert_int_equal(news_add(web_store(ch->web), &entry, WEB_START), ST_OK);
		assert_true(web_holds(web_get(ch->web, ANN, path), count));
	}
}

static void older_news_are_a_page_on(void **state)
{
	struct world *ch = *state;
	struct news_entry entry = {.member = web_member(ch->web, ANN)};
	const struct response *r;
	const struct news *news;
	char path[60], words[20];

	for (int i = 1; i <= 60; i++) {
		snprintf(words, sizeof words, "word%02d", i);
		entry.words = words;
		assert_int_equal(news_add(web_store(ch->web), &entry, WEB_START), ST_OK);
	}
	r = web_get(ch->web, ANN, "/news");
	assert_true(web_holds(r, "word60") && web_holds(r, "word11") && !web_holds(r, "word10"));
	news_of(ch, ANN, &news);
	snprintf(path, sizeof path, "/news?before=%lld", (long long)news[49].id);
	assert_true(web_holds(r, path));
	r = web_get(ch->web, ANN, path);
	assert_true(web_holds(r, "word10") && web_holds(r, "word01") && !web_holds(r, "word11"));
	assert_false(web_holds(r, "All read"));
	assert_false(web_holds(r, "Older news"));
}

/* ---- kits under way ---- */

/* Of Ann's kit. */
static const char *kit_path(struct world *ch, const char *before, const char *after)
{
	static char path[60];

	snprintf(path, sizeof path, "%s/%lld%s", before, (long long)web_kit(ch->web, ANN).v, after);
	return path;
}

static void show_kit(struct world *ch, const char *form)
{
	assert_int_equal(web_post(ch->web, ANN, kit_path(ch, "/kits", "/shown"), form)->status,
	                 303);
}

static void a_kit_is_seen_when_its_builder_says_so(void **state)
{
	struct world *ch = *state;
	const struct response *r;

	assert_true(web_holds(web_get(ch->web, BEN, "/under-way"), "No builder shows a kit yet."));
	assert_false(web_holds(web_get(ch->web, BEN, "/under-way"), "0 to 0"));
	assert_int_equal(web_get(ch->web, BEN, kit_path(ch, "/under-way", ""))->status, 404);
	assert_true(
	        web_holds(web_get(ch->web, ANN, kit_path(ch, "/kits", "")), "Let others see it"));
	show_kit(ch, "shown=yes");
	assert_true(web_holds(web_get(ch->web, ANN, kit_path(ch, "/kits", "")), "Show it no more"));
	r = web_get(ch->web, BEN, "/under-way");
	assert_true(web_holds(r, "Ann Builder") && web_holds(r, "Whimbrel"));
	assert_int_equal(web_get(ch->web, BEN, kit_path(ch, "/under-way", ""))->status, 200);
	assert_true(web_holds(web_get(ch->web, ANN, kit_path(ch, "/under-way", "")),
	                      "as other members see it"));
	assert_int_equal(web_get(ch->web, VISITOR, "/under-way")->status, 303);
	show_kit(ch, "shown=no");
	assert_int_equal(web_get(ch->web, BEN, kit_path(ch, "/under-way", ""))->status, 404);
}

static void others_cannot_show_a_kit(void **state)
{
	static const char *const bad[] = {"", "shown=", "shown=maybe", "shown=1"};
	struct world *ch = *state;

	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		assert_int_equal(
		        web_post(ch->web, ANN, kit_path(ch, "/kits", "/shown"), bad[i])->status,
		        400);
	assert_int_equal(
	        web_post(ch->web, BEN, kit_path(ch, "/kits", "/shown"), "shown=yes")->status, 404);
	assert_true(web_holds(web_get(ch->web, BEN, "/under-way"), "No builder shows a kit yet."));
}

static void no_serial_number_is_seen(void **state)
{
	struct world *ch = *state;
	struct facts facts = facts_of(ch->arena, "Whimbrel");

	facts.has_serial = true;
	assert_int_equal(serial_make(ch->arena, "WH-0777", 7, &facts.serial), ST_OK);
	assert_int_equal(kit_set_facts(web_store(ch->web), web_kit(ch->web, ANN), &facts), ST_OK);
	show_kit(ch, "shown=yes");
	assert_false(web_holds(web_get(ch->web, BEN, kit_path(ch, "/under-way", "")), "WH-0777"));
}

static void kits_are_found_by_words(void **state)
{
	static const struct {
		const char *q;
		bool found;
	} rows[] = {{"whim", true}, {"ANN", true},   {"Kit", true},
	            {"ben", false}, {"%25_", false}, {"", true}};
	struct world *ch = *state;
	char path[60];

	show_kit(ch, "shown=yes");
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		snprintf(path, sizeof path, "/under-way?q=%s", rows[i].q);
		if (web_holds(web_get(ch->web, BEN, path), "Ann Builder") != rows[i].found)
			fail_msg("q=%s", rows[i].q);
	}
}

static unsigned point(struct world *ch, enum who who, const char *form)
{
	return web_post(ch->web, who, kit_path(ch, "/under-way", "/point"), form)->status;
}

static void a_notice_is_pointed_out_once(void **state)
{
	struct world *ch = *state;
	struct revision_content content = content_of("HB-1", "model Nobody");
	struct notice_id id = publish(ch, &content);
	const struct news *news;
	char form[80];

	show_kit(ch, "shown=yes");
	snprintf(form, sizeof form, "/under-way/%lld?notice=%lld",
	         (long long)web_kit(ch->web, ANN).v, (long long)id.v);
	assert_true(web_holds(web_get(ch->web, BEN, form), "You point out"));
	snprintf(form, sizeof form, "notice=%lld&words=Look+at+the+tube.", (long long)id.v);
	assert_int_equal(point(ch, ANN, form), 403); /* her own */
	assert_int_equal(point(ch, VISITOR, form), 403);
	assert_int_equal(point(ch, BEN, form), 303);
	assert_int_equal(news_of(ch, ANN, &news), 1);
	assert_int_equal(news->kind, NEWS_POINTED);
	assert_string_equal(news->from_name, "Ben Builder");
	assert_string_equal(news->words, "Look at the tube.");
	assert_int_equal(point(ch, BEN, form), 422);
	assert_int_equal(point(ch, STEWARD, form), 303);
	assert_true(web_holds(web_get(ch->web, ANN, "/news"), "have you seen this?"));
	show_kit(ch, "shown=no");
	assert_int_equal(point(ch, ADMIN, form), 404);
	assert_int_equal(news_of(ch, ANN, &news), 2);
}

static void kits_of_disabled_builders_are_not_shown(void **state)
{
	struct world *ch = *state;
	const char *path;

	show_kit(ch, "shown=yes");
	path = kit_path(ch, "/under-way", "");
	assert_int_equal(web_get(ch->web, BEN, path)->status, 200);
	assert_int_equal(member_set_disabled(web_store(ch->web), web_member(ch->web, ANN), true),
	                 ST_OK);
	assert_int_equal(web_get(ch->web, BEN, path)->status, 404);
	assert_int_equal(web_get(ch->web, STEWARD, path)->status, 404);
	assert_int_equal(member_set_disabled(web_store(ch->web), web_member(ch->web, ANN), false),
	                 ST_OK);
	assert_int_equal(web_get(ch->web, BEN, path)->status, 200);
}

static void bad_pointing_changes_nothing(void **state)
{
	struct world *ch = *state;
	struct revision_content content = content_of("HB-1", "model Nobody");
	struct notice_id id = publish(ch, &content);
	struct report_id report = report_by(ch, BEN, "Flaw");
	static char longer[POINT_WORDS_LONGEST + 60];
	const struct news *news;
	char form[80];
	int length;

	show_kit(ch, "shown=yes");
	assert_int_equal(point(ch, BEN, ""), 422);
	assert_int_equal(point(ch, BEN, "words=x"), 422);
	assert_int_equal(point(ch, BEN, "words=x&notice=99"), 404);
	assert_int_equal(point(ch, BEN, "words=x&report=99"), 404);
	assert_int_equal(point(ch, BEN, "words=x&kit=1"), 400);
	snprintf(form, sizeof form, "notice=%lld&words=+", (long long)id.v);
	assert_int_equal(point(ch, BEN, form), 422);
	length = snprintf(longer, sizeof longer, "notice=%lld&words=", (long long)id.v);
	memset(longer + length, 'x', POINT_WORDS_LONGEST + 1);
	assert_int_equal(point(ch, BEN, longer), 422);
	snprintf(form, sizeof form, "report=%lld&words=x", (long long)report.v);
	assert_int_equal(report_remove(web_store(ch->web), report, web_member(ch->web, STEWARD),
	                               "twice", WEB_START),
	                 ST_OK);
	assert_int_equal(point(ch, BEN, form), 404);
	assert_int_equal(news_of(ch, ANN, &news), 0);
}

static void a_member_points_out_so_many_a_day(void **state)
{
	struct world *ch = *state;
	const struct news *news;
	char text[60];

	show_kit(ch, "shown=yes");
	for (int i = 0; i <= POINTS_A_DAY; i++) {
		struct report_id report;

		snprintf(text, sizeof text, "Flaw %d", i);
		report = report_by(ch, i % 2 ? ANN : BEN, text); /* each so many a day */
		snprintf(text, sizeof text, "report=%lld&words=x", (long long)report.v);
		web_set_now(WEB_START + i * 60);
		assert_int_equal(point(ch, BEN, text), i < POINTS_A_DAY ? 303 : 422);
	}
	assert_int_equal(news_of(ch, ANN, &news), POINTS_A_DAY);
	web_set_now(WEB_START + DAY + 1);
	assert_int_equal(point(ch, BEN, text), 303);
	web_set_now(WEB_START);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(the_first_round_tells_nothing),
	        TEST(a_new_notice_reaches_those_whom_it_concerns),
	        TEST(what_cannot_be_told_is_news_too),
	        TEST(a_revision_and_a_cancellation_are_told),
	        TEST(a_draft_is_no_news),
	        TEST(a_replacing_notice_changes_the_standing),
	        TEST(own_work_is_no_news_but_a_day_that_passes_is),
	        TEST(a_round_that_fails_tells_each_thing_once),
	        TEST(an_answer_reaches_the_reporter),
	        TEST(another_state_reaches_reporter_and_finders),
	        TEST(news_of_a_removed_report_does_not_say_its_title),
	        TEST(a_merged_report_is_told_to_its_reporter),
	        TEST(a_new_report_reaches_those_whom_it_concerns),
	        TEST(reports_that_come_back_are_told_of_once),
	        TEST(a_reporter_is_not_told_of_the_own_report),
	        TEST(an_empty_page_says_what_will_come),
	        TEST(only_members_have_news),
	        TEST(news_stay_new_until_all_is_read),
	        TEST(bad_marks_change_nothing),
	        TEST(the_page_is_not_behind),
	        TEST(kept_pages_count_anew),
	        TEST(older_news_are_a_page_on),
	        TEST(a_kit_is_seen_when_its_builder_says_so),
	        TEST(others_cannot_show_a_kit),
	        TEST(no_serial_number_is_seen),
	        TEST(kits_are_found_by_words),
	        TEST(a_notice_is_pointed_out_once),
	        TEST(kits_of_disabled_builders_are_not_shown),
	        TEST(bad_pointing_changes_nothing),
	        TEST(a_member_points_out_so_many_a_day),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
