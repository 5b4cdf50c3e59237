/* test_steward_pages.c - the drawing board: drafting, checking, publishing,
 * files, taking in: through app_handle, as a browser would, and as somebody
 * who means harm. What is refused must leave the database as it was.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "support.h"
#include "web_support.h"

#include "base/mem.h"
#include "base/text.h"
#include "core/date.h"
#include "store/kits.h"
#include "store/notices.h"
#include "store/records.h"
#include "store/settings.h"
#include "chapter/json_notices.h"

#define HEAD "number=HF-SB-1&kind=service+bulletin&force=mandatory"
#define WHOLE                                                                                      \
	"issuer=Harrowfen&issued=2020-01-05&title=Bronze+bushing&work=1.+Replace+it"               \
	"&effectivity=model+Whimbrel"

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

/* ---- is the database as it was? ---- */

/* Every act on notices is logged, and no entry ever goes. */
struct mark {
	int64_t log, drafts, generation, edits;
};

static struct mark mark_of(struct web *web)
{
	struct arena *arena = arena_new();
	const struct log_entry *entries;
	const struct notice_row *rows;
	struct mark mark = {0};
	size_t count;

	assert_int_equal(log_list(web_store(web), arena, (struct notice_id){0}, (struct page){1, 0},
	                          &entries, &count, &mark.log),
	                 ST_OK);
	assert_int_equal(draft_list(web_store(web), arena, (struct page){100, 0}, &rows, &count,
	                            &mark.drafts),
	                 ST_OK);
	for (size_t i = 0; i < count; i++)
		mark.edits += rows[i].edited_at + rows[i].state;
	assert_int_equal(setting_generation(web_store(web), &mark.generation), ST_OK);
	arena_free(arena);
	return mark;
}

static void assert_unchanged(struct web *web, struct mark before)
{
	struct mark after = mark_of(web);

	assert_memory_equal(&before, &after, sizeof before);
}

/* ---- steps that many tests take ---- */

static int64_t number_behind(const char *text, const char *before)
{
	const char *at = strstr(text, before);

	assert_non_null(at);
	return strtoll(at + strlen(before), NULL, 10);
}

/* Posts and expects to be sent on; the id of the draft that it leads to. */
static int64_t saved(struct web *web, enum who who, const char *path, const char *fields)
{
	const struct response *response = web_post(web, who, path, fields);

	if (response->status != 303)
		print_error("%s %s: %u\n%.*s\n", path, fields, response->status, (int)response->len,
		            response->body);
	assert_int_equal(response->status, 303);
	return number_behind(web_header(response, "Location"), "/board/drafts/");
}

static const char *path_of(int64_t draft, const char *act)
{
	static char path[120];

	snprintf(path, sizeof path, "/board/drafts/%lld%s", (long long)draft, act);
	return path;
}

static void hand_over(struct web *web, int64_t draft)
{
	assert_int_equal(web_post(web, STEWARD, path_of(draft, "/submit"), "")->status, 303);
}

static const struct response *publish(struct web *web, enum who who, int64_t draft, int edit)
{
	char fields[60];

	snprintf(fields, sizeof fields, "edit=%d&compared=yes", edit);
	return web_post(web, who, path_of(draft, "/publish"), fields);
}

/* Drafted by the steward, published by the admin. */
static struct notice_id published(struct web *web, const char *fields)
{
	int64_t draft = saved(web, STEWARD, "/board/new", fields);
	const struct response *response;

	hand_over(web, draft);
	response = publish(web, ADMIN, draft, 1);
	assert_int_equal(response->status, 303);
	return (struct notice_id){number_behind(web_header(response, "Location"), "/notices/")};
}

static void assert_holds(const struct response *response, const char *words)
{
	if (!web_holds(response, words))
		print_error("\"%s\" is not in:\n%.*s\n", words, (int)response->len, response->body);
	assert_true(web_holds(response, words));
}

/* ---- who may ---- */

static const char *const addresses[] = {
        "/board",
        "/board/new",
        "/board/notices.json",
        "/board?words=bushing",
};

static void test_only_stewards_see_the_board(void **state)
{
	struct web *web = *state;

	for (size_t i = 0; i < sizeof addresses / sizeof addresses[0]; i++) {
		assert_int_equal(web_get(web, VISITOR, addresses[i])->status, 303);
		assert_int_equal(web_get(web, ANN, addresses[i])->status, 403);
		assert_int_equal(web_get(web, STEWARD, addresses[i])->status, 200);
		assert_int_equal(web_get(web, ADMIN, addresses[i])->status, 200);
	}
}

/* A file goes in without a second pair of eyes: no steward may do that alone. */
static void test_only_admins_take_in_files(void **state)
{
	struct web *web = *state;

	assert_int_equal(web_get(web, VISITOR, "/board/import")->status, 303);
	assert_int_equal(web_get(web, ANN, "/board/import")->status, 403);
	assert_int_equal(web_get(web, STEWARD, "/board/import")->status, 403);
	assert_false(web_holds(web_get(web, STEWARD, "/board"), "/board/import"));
	assert_int_equal(web_get(web, ADMIN, "/board/import")->status, 200);
	assert_holds(web_get(web, ADMIN, "/board"), "/board/import");
}

static void test_builders_change_nothing(void **state)
{
	static const char *const acts[] = {"",           "/submit",  "/publish",
	                                   "/send-back", "/discard", "/files"};
	struct web *web = *state;
	int64_t draft = saved(web, STEWARD, "/board/new", HEAD "&" WHOLE);
	struct mark before = mark_of(web);

	for (size_t i = 0; i < sizeof acts / sizeof acts[0]; i++) {
		assert_int_equal(web_post(web, ANN, path_of(draft, acts[i]), HEAD)->status, 403);
		assert_int_equal(web_post(web, VISITOR, path_of(draft, acts[i]), HEAD)->status,
		                 403);
	}
	assert_int_equal(web_get(web, ANN, path_of(draft, "/check"))->status, 403);
	assert_int_equal(web_post(web, ANN, "/board/read-back", "effectivity=all")->status, 403);
	assert_unchanged(web, before);
}

static void test_an_empty_board_says_what_to_do(void **state)
{
	struct web *web = *state;
	const struct response *response = web_get(web, STEWARD, "/board");

	assert_holds(response, "No draft lies here");
	assert_holds(response, "Nothing waits");
	assert_holds(response, "href=\"/board/new\"");
}

/* ---- what is typed ---- */

static void test_fields_that_are_refused(void **state)
{
	static const struct {
		const char *fields, *words;
	} rows[] = {
	        {"kind=service+bulletin&force=optional", "Number is needed"},
	        {"number=+&kind=service+bulletin&force=optional", "Number is needed"},
	        {"number=X&force=optional", "Kind is needed"},
	        {"number=X&kind=service+bulletin", "Force is needed"},
	        {"number=X&kind=recipe&force=optional", "Kind is not one of those on offer"},
	        {"number=X&kind=service+bulletin&force=huge", "Force is not one of those on offer"},
	        {HEAD "&issued=2017-13", "Issued must be a date"},
	        {HEAD "&issued=2017-02-30", "Issued must be a date"},
	        {HEAD "&issued=yesterday", "Issued must be a date"},
	        {HEAD "&plans_carry=2017-1", "Plans that carry it must be a date"},
	        {HEAD "&due=within+10+hours",
	         "Time limits, line 1, column 16: expected &quot;of&quot;"},
	        {HEAD "&due=then", "Time limits, line 1, column 5: expected every"},
	        {HEAD "&due=by+2017-02-30", "Time limits, line 1, column 4: expected hours or"},
	        {HEAD "&due=by+2017-02-03%0Abefore+next+flight", "whichever first"},
	        {HEAD "&due=then%0Aevery+0+hours", "Time limits, line 2, column 7: expected hours"},
	        {HEAD "&title=a%0Ab", "Title must be one line"},
	        {HEAD "&title=a%00b", "Title holds a control character"},
	        {HEAD "&problem=a%E2%80%AEb", "holds a hidden mark that turns the direction"},
	        {HEAD "&work=%C0%AF", "What to do holds bytes that are not valid UTF-8"},
	        {HEAD "&number=Y", "Number was sent more than once"},
	        {HEAD "&effectivity=serial+WH-1+til+WH-9",
	         "Effectivity statement, line 1, column 13: expected"},
	        {HEAD "&effectivity=model+Whimbrel%0D%0A%0D%0Aseriel+WH-1", "line 3, column 1"},
	        {HEAD "&effectivity=serial+WH+1", "Effectivity statement, line 1, column"},
	        {HEAD "&effectivity=serial+%D0%92-1", "Effectivity statement, line 1, column 8"},
	        {HEAD "&position=left&disposition=rework", "Part number is needed in this row"},
	        {HEAD "&part=A&disposition=", "To do is needed in this row"},
	        {HEAD "&part=A&disposition=burn", "To do is not one of those on offer"},
	        {HEAD "&part=A&disposition=rework&lots=3+til+9", "Lots at column 3: expected"},
	        {HEAD "&part=A&disposition=rework&lots=x-y", "Lots at column 1: expected"},
	        {HEAD "&part=A&disposition=rework&part=a&disposition=scrap",
	         "stands in another row already"},
	        {HEAD "&item=&quantity=3", "Item is needed in this row"},
	        {HEAD "&credit=Z", "names no earlier revision"},
	        {HEAD "&requires=hf-sb-1", "To be done first names this notice itself"},
	        {HEAD "&supersedes=A,HF-SB-1", "Supersedes names this notice itself"},
	        {HEAD "&edit=x", "Version must be a whole number"},
	        {HEAD "&act=fly", "What to do is not one of those on offer"},
	};
	struct web *web = *state;
	struct mark before = mark_of(web);

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response =
		        web_post(web, STEWARD, "/board/new", rows[i].fields);

		if (response->status != 422)
			print_error("%s\n", rows[i].fields);
		assert_int_equal(response->status, 422);
		assert_holds(response, rows[i].words);
		assert_unchanged(web, before);
	}
}

static void test_fields_that_nobody_asked_for(void **state)
{
	struct web *web = *state;
	struct mark before = mark_of(web);

	assert_int_equal(web_post(web, STEWARD, "/board/new", HEAD "&state=2")->status, 400);
	assert_int_equal(web_post(web, STEWARD, "/board/new", HEAD "&publisher=1")->status, 400);
	assert_unchanged(web, before);
}

static void test_a_refused_form_comes_back_as_typed(void **state)
{
	struct web *web = *state;
	const struct response *response = web_post(
	        web, STEWARD, "/board/new",
	        HEAD "&issued=2017-13&title=Kept+title&problem=Kept+problem&part=P-1&position=left"
	             "&disposition=scrap&lots=4&item=Rivet&quantity=16&requires=R-1");

	assert_int_equal(response->status, 422);
	assert_holds(response, "value=\"2017-13\"");
	assert_holds(response, "value=\"Kept title\"");
	assert_holds(response, "Kept problem</textarea>");
	assert_holds(response, "value=\"P-1\"");
	assert_holds(response, "<option value=\"scrap\" selected>");
	assert_holds(response, "value=\"Rivet\"");
	assert_holds(response, "R-1</textarea>");
}

/* The line at fault, and a mark under the place. */
static void test_a_faulty_line_is_shown(void **state)
{
	static const struct {
		const char *fields, *excerpt;
	} rows[] = {
	        {HEAD "&effectivity=model+Whimbrel%0Aserial+WH-1+til+9",
	         "serial WH-1 til 9\n            ^"},
	        {HEAD "&part=A&disposition=rework&lots=3+til+9", "3 til 9\n  ^"},
	        {HEAD "&effectivity=%3Cscript%3E", "&lt;script&gt;\n^"},
	        {HEAD "&effectivity=model+Whimbrel,+Whimbrel+T%0Amodel+Whimbrel,+Whimbrel+T,+,+X",
	         "\xE2\x80\xA6"},
	};
	struct web *web = *state;

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_holds(web_post(web, STEWARD, "/board/new", rows[i].fields), rows[i].excerpt);
}

static void test_hostile_words_stay_words(void **state)
{
#define EVIL "%22%3E%3Cscript%3Ealert(1)%3C/script%3E%27"
	struct web *web = *state;
	int64_t draft = saved(web, STEWARD, "/board/new",
	                      "number=" EVIL "&kind=service+bulletin&force=optional&issuer=" EVIL
	                      "&revision=" EVIL "&title=" EVIL "&problem=" EVIL "&work=" EVIL
	                      "&compliance=" EVIL "&part=" EVIL "&position=" EVIL
	                      "&disposition=scrap&replacement=" EVIL "&part_remark=" EVIL
	                      "&item=" EVIL "&quantity=" EVIL "&item_remark=" EVIL "&steps=" EVIL
	                      "&requires=" EVIL "x&supersedes=" EVIL "y&terminates=" EVIL
	                      "z&source=" EVIL "&effectivity=all&issued=2020");
	static const char *const pages[] = {"", "/check", "/files"};
	static const char *const others[] = {"/board", ("/board?words=" EVIL), "/board/notices/1"};

	for (size_t i = 0; i < sizeof pages / sizeof pages[0]; i++) {
		const struct response *response = web_get(web, STEWARD, path_of(draft, pages[i]));

		assert_int_equal(response->status, 200);
		assert_false(web_holds(response, "<script>alert"));
		assert_holds(response, "&lt;script&gt;alert(1)");
	}
	for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
		const struct response *response = web_get(web, STEWARD, others[i]);

		assert_int_equal(response->status, 200);
		assert_false(web_holds(response, "<script>alert"));
	}
#undef EVIL
}

static void test_a_draft_may_be_incomplete(void **state)
{
	struct web *web = *state;
	int64_t draft = saved(web, STEWARD, "/board/new", HEAD);
	struct mark before = mark_of(web);
	const struct response *response = web_get(web, STEWARD, path_of(draft, ""));

	assert_int_equal(response->status, 200);
	assert_holds(response, "Missing before it can be published");
	assert_holds(response, "The date of issue.");
	assert_holds(response, "The effectivity statement");
	response = web_post(web, STEWARD, path_of(draft, "/submit"), "");
	assert_int_equal(response->status, 422);
	assert_holds(response, "The draft is not complete yet");
	assert_unchanged(web, before);
}

static void test_everything_typed_is_stored_and_shown_again(void **state)
{
	struct web *web = *state;
	struct arena *arena = arena_new();
	int64_t draft = saved(
	        web, STEWARD, "/board/new",
	        HEAD
	        "&" WHOLE "&revision=A&problem=It+bent&compliance=Before+flight&due=then%0Aevery+"
	        "50.5+hours%0Aevery+12+months%0A"
	        "whichever+first&part=P-1&position=left"
	        "&disposition=replace&replacement=P-2&lots=3+thru+9&part_remark=both"
	        "&part=&position=&disposition=&replacement=&lots=&part_remark="
	        "&part=P-1&position=right&disposition=use+as+is&replacement=&lots=&part_remark="
	        "&item=Rivet&quantity=16&item_remark=soft&steps=FU-1,+FU-2%0AFU-1"
	        "&plans_carry=2019-03&supersedes=OLD-1&requires=R-1&terminates=T-1"
	        "&source=Letter+7");
	const struct response *response;
	struct revision r;

	assert_int_equal(revision_read(web_store(web), arena, (struct revision_id){draft}, &r),
	                 ST_OK);
	assert_string_equal(r.content.number, "HF-SB-1");
	assert_int_equal(r.content.kind, KIND_SERVICE_BULLETIN);
	assert_int_equal(r.content.force, FORCE_MANDATORY);
	assert_string_equal(r.content.revision, "A");
	assert_string_equal(r.content.action, "1. Replace it");
	assert_string_equal(r.content.due,
	                    "then\nevery 50.5 hours\nevery 12 months\nwhichever first");
	assert_int_equal(r.content.n_lines, 2); /* the blank row does not count */
	assert_string_equal(r.content.lines[0].lots, "3 thru 9");
	assert_string_equal(r.content.lines[1].position, "right");
	assert_int_equal(r.content.lines[1].disposition, DISPOSE_USE_AS_IS);
	assert_int_equal(r.content.n_material, 1);
	assert_int_equal(r.content.steps.count, 2); /* said twice counts once */
	assert_string_equal(r.content.steps.at[1], "FU-2");
	assert_string_equal(r.content.requires.at[0], "R-1");
	assert_string_equal(r.content.plans_carry, "2019-03");
	response = web_get(web, STEWARD, path_of(draft, ""));
	assert_holds(response, "every 50.5 hours");
	assert_holds(response, "value=\"3 thru 9\"");
	assert_holds(response, "<option value=\"use as is\" selected>");
	assert_holds(response, "FU-1\nFU-2</textarea>");
	assert_holds(response, "<option value=\"service bulletin\" selected>");
	assert_holds(response, "Applies to kits of model Whimbrel");
	arena_free(arena);
}

static void test_buttons_that_only_look_save_nothing(void **state)
{
	struct web *web = *state;
	struct mark before = mark_of(web);
	const struct response *response =
	        web_post(web, STEWARD, "/board/new", HEAD "&effectivity=model+Whimbrel&act=read");

	assert_int_equal(response->status, 200);
	assert_holds(response, "Applies to kits of model Whimbrel");
	response = web_post(web, STEWARD, "/board/new", HEAD "&act=rows&part=P&disposition=scrap");
	assert_int_equal(response->status, 200);
	assert_holds(response, "id=\"part-6\"");
	assert_unchanged(web, before);
}

static void test_a_number_is_given_once(void **state)
{
	struct web *web = *state;
	int64_t draft = saved(web, STEWARD, "/board/new", HEAD);
	int64_t other = saved(web, STEWARD, "/board/new",
	                      "number=OTHER&kind=service+letter&force=optional");
	struct mark before = mark_of(web);
	const struct response *response = web_post(
	        web, ADMIN, "/board/new", "number=hf-sb-1&kind=service+letter&force=optional");

	assert_int_equal(response->status, 422);
	assert_holds(response, "Number is taken");
	response = web_post(web, STEWARD, path_of(other, ""),
	                    "edit=1&number=HF-sb-1&kind=service+letter&force=optional");
	assert_int_equal(response->status, 422);
	assert_holds(response, "Number is taken");
	assert_unchanged(web, before);
	assert_true(draft != other);
}

static void test_links_run_in_no_circle(void **state)
{
	static const struct {
		const char *fields, *words;
	} rows[] = {
	        {"requires=B", "To be done first runs in a circle: B leads back"},
	        {"requires=X%0Ab", "To be done first runs in a circle"},
	        {"supersedes=C", "Supersedes runs in a circle: C leads back"},
	};
	struct web *web = *state;
	char fields[200];
	int64_t draft;
	struct mark before;

	published(web, "number=B&kind=service+letter&force=optional&requires=HF-SB-1&" WHOLE);
	published(web, "number=C&kind=service+letter&force=optional&supersedes=HF-SB-1&" WHOLE);
	before = mark_of(web);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response;

		snprintf(fields, sizeof fields, HEAD "&%s", rows[i].fields);
		response = web_post(web, STEWARD, "/board/new", fields);
		assert_int_equal(response->status, 422);
		assert_holds(response, rows[i].words);
	}
	assert_unchanged(web, before);
	draft = saved(web, STEWARD, "/board/new", HEAD "&requires=NOWHERE");
	assert_holds(web_get(web, STEWARD, path_of(draft, "")),
	             "To be done first: no notice NOWHERE is published here.");
}

/* Both were fine when they were saved; the second must not close the circle. */
static void test_a_circle_is_found_when_publishing_too(void **state)
{
	struct web *web = *state;
	int64_t one = saved(web, STEWARD, "/board/new", HEAD "&requires=B&" WHOLE);
	int64_t two = saved(web, STEWARD, "/board/new",
	                    "number=B&kind=service+letter&force=optional&requires=HF-SB-1&" WHOLE);
	const struct response *response;
	struct mark before;

	hand_over(web, one);
	hand_over(web, two);
	assert_int_equal(publish(web, ADMIN, one, 1)->status, 303);
	before = mark_of(web);
	response = publish(web, ADMIN, two, 1);
	assert_int_equal(response->status, 422);
	assert_holds(response, "Notices to be done first that do not lead back");
	assert_unchanged(web, before);
}

/* ---- two editors ---- */

static void test_the_second_of_two_editors_is_told(void **state)
{
	struct web *web = *state;
	struct arena *arena = arena_new();
	int64_t draft = saved(web, STEWARD, "/board/new", HEAD "&title=First+words");
	const struct response *response;
	struct mark before;
	struct revision r;

	saved(web, ADMIN, path_of(draft, ""), "edit=1&" HEAD "&title=Words+of+Ada");
	before = mark_of(web);
	response = web_post(web, STEWARD, path_of(draft, ""),
	                    "edit=1&number=HF-SB-7&kind=service+bulletin&force=mandatory"
	                    "&title=Words+of+Sue&problem=Mine+only");
	assert_int_equal(response->status, 422);
	assert_holds(response, "<del>HF-SB-1</del><ins>HF-SB-7</ins>");
	assert_holds(response, "Ada Admin saved this draft while you were typing.");
	assert_holds(response, "Saved meanwhile by Ada Admin, at ");
	assert_holds(response, "<del>Ada</del><ins>Sue</ins>");
	assert_holds(response, "value=\"Words of Sue\"");
	assert_holds(response, "Mine only</textarea>");
	assert_holds(response, "name=\"edit\" value=\"2\"");
	assert_unchanged(web, before);
	saved(web, STEWARD, path_of(draft, ""), "edit=2&" HEAD "&title=Words+of+Sue");
	assert_int_equal(revision_read(web_store(web), arena, (struct revision_id){draft}, &r),
	                 ST_OK);
	assert_string_equal(r.content.title, "Words of Sue");
	arena_free(arena);
}

static void test_words_for_a_draft_that_is_gone_are_kept(void **state)
{
	struct web *web = *state;
	int64_t draft = saved(web, STEWARD, "/board/new", HEAD);
	const struct response *response;

	assert_int_equal(web_post(web, ADMIN, path_of(draft, "/discard"), "sure=yes")->status, 303);
	response = web_post(web, STEWARD, path_of(draft, ""), "edit=1&" HEAD "&title=My+words");
	assert_int_equal(response->status, 422);
	assert_holds(response, "no longer on the board");
	assert_holds(response, "value=\"My words\"");
	assert_holds(response, "action=\"/board/new\"");
	assert_int_equal(web_get(web, STEWARD, path_of(draft, ""))->status, 404);
}

/* ---- checking and publishing ---- */

static void test_who_may_publish_what(void **state)
{
	static const struct {
		bool alone, handed_over;
		enum who who;
		const char *fields;
		unsigned status;
		const char *words;
	} rows[] = {
	        {false, true, STEWARD, "edit=1&compared=yes", 422, "You saved this draft last"},
	        {false, false, STEWARD, "edit=1&compared=yes", 422, "You saved this draft last"},
	        {false, false, ADMIN, "edit=1&compared=yes", 422, "has not been handed over"},
	        {false, true, ADMIN, "edit=1", 422, "must be ticked"},
	        {false, true, ADMIN, "compared=yes", 422, "Version is needed"},
	        {false, true, ADMIN, "edit=2&compared=yes", 422, "Nothing is published"},
	        {false, true, ADMIN, "edit=x&compared=yes", 422, "Version must be a whole number"},
	        {true, true, STEWARD, "edit=1", 422, "must be ticked"},
	        {true, false, STEWARD, "edit=7&compared=yes", 422, "Nothing is published"},
	        {false, true, ANN, "edit=1&compared=yes", 403, "for others"},
	        {false, true, ADMIN, "edit=1&compared=yes", 303, ""},
	        {true, true, STEWARD, "edit=1&compared=yes", 303, ""},
	        {true, false, STEWARD, "edit=1&compared=yes", 303, ""},
	};
	struct web *web = *state;

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response;
		struct mark before;
		char fields[200];
		int64_t draft;

		snprintf(fields, sizeof fields,
		         "number=N-%zu&kind=plans+change&force=optional&" WHOLE, i);
		draft = saved(web, STEWARD, "/board/new", fields);
		if (rows[i].handed_over)
			hand_over(web, draft);
		assert_int_equal(
		        setting_set_flag(web_store(web), SETTING_ONE_STEWARD, rows[i].alone),
		        ST_OK);
		before = mark_of(web);
		response = web_post(web, rows[i].who, path_of(draft, "/publish"), rows[i].fields);
		if (response->status != rows[i].status)
			print_error("row %zu: %u\n", i, response->status);
		assert_int_equal(response->status, rows[i].status);
		assert_holds(response, rows[i].words);
		if (rows[i].status != 303)
			assert_unchanged(web, before);
		else
			assert_int_equal(mark_of(web).generation, before.generation + 1);
	}
}

static void test_the_check_sheet_shows_all_that_is_compared(void **state)
{
	struct web *web = *state;
	int64_t draft = saved(web, STEWARD, "/board/new",
	                      HEAD "&" WHOLE "&part=P-1&position=left&disposition=scrap");
	const struct response *response;

	hand_over(web, draft);
	response = web_get(web, ADMIN, path_of(draft, "/check"));
	assert_holds(response, "Handed over for checking");
	assert_holds(response, "Applies to kits of model Whimbrel");
	assert_holds(response, "P-1");
	assert_holds(response, "Of 2 kits in the chapter");
	assert_holds(response, "Publish to the chapter");
	assert_holds(response, "Send it back");
	assert_holds(response, "<strong>submitted</strong> by Sue Steward");
	response = web_get(web, STEWARD, path_of(draft, "/check"));
	assert_holds(response, "You saved this draft last, so somebody else must check it");
	assert_false(web_holds(response, "Publish to the chapter"));
	assert_int_equal(web_get(web, VISITOR, "/notices/1")->status, 404);
	response = web_get(web, ADMIN, "/board");
	assert_holds(response, "handed over by Sue Steward at ");
}

static void test_sending_back(void **state)
{
	struct web *web = *state;
	int64_t draft = saved(web, STEWARD, "/board/new", HEAD "&" WHOLE);
	struct mark before = mark_of(web);
	const struct response *response =
	        web_post(web, ADMIN, path_of(draft, "/send-back"), "remark=Wrong+date");

	assert_int_equal(response->status, 422); /* not handed over */
	assert_unchanged(web, before);
	hand_over(web, draft);
	before = mark_of(web);
	response = web_post(web, ADMIN, path_of(draft, "/send-back"), "remark=+");
	assert_int_equal(response->status, 422);
	assert_holds(response, "What is to be put right is needed");
	assert_unchanged(web, before);
	response = web_post(web, ADMIN, path_of(draft, "/send-back"), "remark=Wrong+date");
	assert_int_equal(response->status, 303);
	assert_holds(web_get(web, STEWARD, path_of(draft, "/check")), "Wrong date");
}

static void test_saving_takes_a_draft_back_from_its_checker(void **state)
{
	struct web *web = *state;
	int64_t draft = saved(web, STEWARD, "/board/new", HEAD "&" WHOLE);

	hand_over(web, draft);
	assert_holds(web_get(web, STEWARD, path_of(draft, "")), "This is with its checker");
	saved(web, STEWARD, path_of(draft, ""), "edit=1&" HEAD "&" WHOLE);
	assert_int_equal(publish(web, ADMIN, draft, 1)->status, 422);
	hand_over(web, draft);
	assert_int_equal(publish(web, ADMIN, draft, 1)->status, 422); /* read before it was saved */
	assert_int_equal(publish(web, ADMIN, draft, 2)->status, 303);
}

static void test_discarding(void **state)
{
	struct web *web = *state;
	int64_t draft = saved(web, STEWARD, "/board/new", HEAD);
	struct mark before = mark_of(web);

	assert_int_equal(web_post(web, STEWARD, path_of(draft, "/discard"), "")->status, 422);
	assert_unchanged(web, before);
	assert_int_equal(web_post(web, STEWARD, path_of(draft, "/discard"), "sure=yes")->status,
	                 303);
	assert_int_equal(mark_of(web).drafts, 0);
	assert_int_equal(web_post(web, STEWARD, path_of(draft, "/submit"), "")->status, 404);
}

/* ---- new revisions ---- */

/* Ann's kit has done HF-SB-1 to its original issue. */
static void record_work(struct web *web)
{
	struct arena *arena = arena_new();
	struct record record = {.method = "replaced",
	                        .by = "Ann",
	                        .signed_as = "",
	                        .remarks = "",
	                        .entered_by = "Ann",
	                        .entered_at = WEB_START,
	                        .done = date_of_day(day_from_civil(2020, 2, 1))};
	struct facts facts = {0};
	struct record_id id;

	assert_int_equal(name_make(arena, "Whimbrel", 8, &facts.model), ST_OK);
	assert_int_equal(kit_set_facts(web_store(web), web_kit(web, ANN), &facts), ST_OK);
	assert_int_equal(name_make(arena, "HF-SB-1", 7, &record.notice), ST_OK);
	assert_int_equal(name_make(arena, "", 0, &record.revision), ST_OK);
	assert_int_equal(name_make(arena, "", 0, &record.part), ST_OK);
	assert_int_equal(name_make(arena, "", 0, &record.position), ST_OK);
	assert_int_equal(record_append(web_store(web), web_kit(web, ANN), &record, &id), ST_OK);
	arena_free(arena);
}

static void test_a_new_revision(void **state)
{
	struct web *web = *state;
	struct arena *arena = arena_new();
	struct notice_id notice = published(web, HEAD "&" WHOLE);
	const struct response *response;
	struct revision r;
	char path[80];
	int64_t draft;

	record_work(web);
	snprintf(path, sizeof path, "/board/notices/%lld/revise", (long long)notice.v);
	draft = saved(web, STEWARD, path, "");
	assert_int_equal(saved(web, ADMIN, path, ""), draft); /* there is one at a time */
	response = web_get(web, STEWARD, path_of(draft, ""));
	assert_holds(response, "These stay as they were published");
	assert_false(web_holds(response, "name=\"number\""));
	assert_holds(response, "so this one needs one");
	saved(web, STEWARD, path_of(draft, ""),
	      "edit=1&number=EVIL&kind=safety+directive&force=optional&revision="
	      "A&" WHOLE);
	assert_int_equal(revision_read(web_store(web), arena, (struct revision_id){draft}, &r),
	                 ST_OK);
	assert_string_equal(r.content.number, "HF-SB-1");
	assert_string_equal(r.content.issuer, "Harrowfen");
	assert_int_equal(r.content.kind, KIND_SERVICE_BULLETIN);
	response = web_get(web, ADMIN, path_of(draft, "/check"));
	assert_holds(response, "What it changes against the original issue");
	assert_holds(response, "<del>mandatory</del><ins>optional</ins>");
	assert_holds(response, "Kits that have done this notice: 1.");
	assert_holds(response, "have it open again: <strong>1</strong>");
	saved(web, STEWARD, path_of(draft, ""),
	      "edit=2&force=optional&revision=A&credit=original+issue&" WHOLE);
	response = web_get(web, ADMIN, path_of(draft, "/check"));
	assert_holds(response, "have it open again: <strong>0</strong>");
	hand_over(web, draft);
	assert_int_equal(publish(web, ADMIN, draft, 3)->status, 303);
	arena_free(arena);
}

static void test_a_label_is_given_once(void **state)
{
	struct web *web = *state;
	struct notice_id notice = published(web, HEAD "&revision=A&" WHOLE);
	const struct response *response;
	char path[80];
	int64_t draft;

	snprintf(path, sizeof path, "/board/notices/%lld/revise", (long long)notice.v);
	draft = saved(web, STEWARD, path, "");
	saved(web, STEWARD, path_of(draft, ""), "edit=1&force=optional&revision=a&" WHOLE);
	response = web_post(web, STEWARD, path_of(draft, "/submit"), "");
	assert_int_equal(response->status, 422);
	assert_holds(response, "this one is taken by an earlier revision");
}

static void test_cancelling(void **state)
{
	static const struct {
		const char *fields, *words;
	} rows[] = {
	        {"reason=Gone&sure=yes", "Cancelled on is needed"},
	        {"on=2020-13&reason=Gone&sure=yes", "Cancelled on must be a date"},
	        {"on=2030&reason=Gone&sure=yes", "must not lie ahead"},
	        {"on=2020&sure=yes", "Reason is needed"},
	        {"on=2020&reason=Gone", "must be ticked"},
	        {"on=2020&reason=a%00b&sure=yes", "Reason holds a control character"},
	};
	struct web *web = *state;
	struct notice_id notice = published(web, HEAD "&" WHOLE);
	struct mark before = mark_of(web);
	char path[80];

	snprintf(path, sizeof path, "/board/notices/%lld/cancel", (long long)notice.v);
	assert_int_equal(web_get(web, STEWARD, path)->status, 200);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response = web_post(web, STEWARD, path, rows[i].fields);

		assert_int_equal(response->status, 422);
		assert_holds(response, rows[i].words);
		assert_unchanged(web, before);
	}
	assert_int_equal(web_post(web, STEWARD, path, "on=2020&reason=Gone&sure=yes")->status, 303);
	assert_int_equal(web_get(web, STEWARD, path)->status, 409); /* it is already */
	snprintf(path, sizeof path, "/board/notices/%lld", (long long)notice.v);
	assert_holds(web_get(web, STEWARD, path), "<strong>cancelled</strong> by Sue Steward");
	assert_false(web_holds(web_get(web, STEWARD, path), "kits of the chapter"));
	assert_int_equal(web_get(web, STEWARD, "/board/notices/999")->status, 404);
	assert_int_equal(web_get(web, STEWARD, "/board/notices/999/cancel")->status, 404);
	assert_int_equal(web_post(web, STEWARD, "/board/notices/999/revise", "")->status, 404);
}

/* ---- read back ---- */

static void test_reading_back(void **state)
{
	static const struct {
		const char *fields;
		unsigned status;
		const char *words;
	} rows[] = {
	        {"effectivity=model+Whimbrel", 200, "Applies to kits of model Whimbrel"},
	        {"effectivity=serial+WH-1+thru+WH-9", 200, "<svg class=\"scale\""},
	        {"effectivity=all", 200, "Of 2 kits in the chapter"},
	        {"effectivity=notice+HF-SB-1", 200,
	         "<b class=\"figure\">2</b> <span class=\"standing not-effective\">"},
	        {"effectivity=+Model+whimbrel", 200, "model whimbrel\n</pre>"},
	        {"effectivity=", 200, "the statement will stand here"},
	        {"", 200, "the statement will stand here"},
	        {"effectivity=mudel+X", 422, "line 1, column 1: expected"},
	        {"effectivity=mudel+X", 422, "mudel X\n^"},
	        {"effectivity=%3Cscript%3E", 422, "&lt;script&gt;"},
	        {"effectivity=all&number=1", 400, "does not know"},
	};
	struct web *web = *state;
	struct mark before = mark_of(web);

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response =
		        web_post(web, STEWARD, "/board/read-back", rows[i].fields);

		assert_int_equal(response->status, rows[i].status);
		assert_holds(response, rows[i].words);
		if (rows[i].status != 400)
			assert_false(web_holds(response, "<html"));
	}
	assert_unchanged(web, before);
}

static void test_stewards_see_whom_a_notice_concerns(void **state)
{
	struct web *web = *state;
	struct arena *arena = arena_new();
	struct facts facts = {0};
	struct revision_content content = revision_content_empty;
	struct notice_id notice;
	char path[80], query[120];

	assert_int_equal(name_make(arena, "Whimbrel", 8, &facts.model), ST_OK);
	assert_int_equal(kit_set_facts(web_store(web), web_kit(web, ANN), &facts), ST_OK);
	content.number = "HF-SB-7";
	content.issuer = "Harrowfen";
	content.title = "Bushing";
	content.action = "1. Do it.";
	content.issued = "2020";
	content.effectivity = "model Whimbrel";
	assert_int_equal(notice_import(web_store(web), &(struct notice_import){&content, 1, "", ""},
	                               web_member(web, STEWARD), WEB_START, &notice),
	                 ST_OK);
	snprintf(path, sizeof path, "/board/notices/%lld", (long long)notice.v);
	assert_holds(web_get(web, STEWARD, path),
	             "Concerns 1 kits of the chapter; cannot be told for 1.");
	snprintf(path, sizeof path, "/board/notices/%lld/kits", (long long)notice.v);
	/* Counted until its builder says otherwise. */
	assert_false(web_holds(web_get(web, STEWARD, path), "Ann Builder"));
	assert_holds(web_get(web, STEWARD, path), "1 kits are counted, not named");
	snprintf(query, sizeof query, "/kits/%lld/shown", (long long)web_kit(web, ANN).v);
	assert_int_equal(web_post(web, ANN, query, "named=maybe")->status, 400);
	assert_int_equal(web_post(web, BEN, query, "named=yes")->status, 404);
	assert_int_equal(web_post(web, ANN, query, "named=yes")->status, 303);
	assert_holds(web_get(web, STEWARD, path), "Ann Builder: Kit");
	assert_holds(web_get(web, STEWARD, path), "0 kits are counted, not named");
	assert_false(web_holds(web_get(web, STEWARD, path), "Ben Builder"));
	snprintf(query, sizeof query, "%s?answer=cannot+tell", path);
	assert_false(web_holds(web_get(web, ADMIN, query), "Ben Builder"));
	assert_int_equal(kit_set_named(web_store(web), web_kit(web, BEN), true), ST_OK);
	assert_holds(web_get(web, ADMIN, query), "Ben Builder: Kit");
	assert_holds(web_get(web, ADMIN, query), "model not known");
	assert_int_equal(kit_set_named(web_store(web), web_kit(web, BEN), false), ST_OK);
	assert_false(web_holds(web_get(web, ADMIN, query), "Ben Builder"));
	assert_int_equal(web_get(web, ANN, path)->status, 403);
	snprintf(query, sizeof query, "%s?answer=no", path);
	assert_int_equal(web_get(web, STEWARD, query)->status, 422);
	assert_int_equal(web_get(web, STEWARD, "/board/notices/999/kits")->status, 404);
	arena_free(arena);
}

static void test_kits_are_counted_by_answer(void **state)
{
	struct web *web = *state;
	struct arena *arena = arena_new();
	struct facts facts = {0};
	const struct response *response;

	assert_int_equal(name_make(arena, "Whimbrel", 8, &facts.model), ST_OK);
	assert_int_equal(kit_set_facts(web_store(web), web_kit(web, ANN), &facts), ST_OK);
	response = web_post(web, STEWARD, "/board/read-back", "effectivity=model+Whimbrel");
	assert_holds(response, "<b class=\"figure\">1</b> <span class=\"standing applies\">");
	assert_holds(response, "<b class=\"figure\">1</b> <span class=\"standing cannot-tell\">");
	assert_holds(response, "<b class=\"figure\">0</b> <span class=\"standing not-effective\">");
	assert_holds(response, "1 not named here");
	assert_false(web_holds(response, "Ann Builder"));
	assert_int_equal(kit_set_named(web_store(web), web_kit(web, ANN), true), ST_OK);
	response = web_post(web, STEWARD, "/board/read-back", "effectivity=model+Whimbrel");
	assert_holds(response, "Ann Builder: Kit");
	assert_holds(response, "1 not named here"); /* Ben's */
	arena_free(arena);
}

/* ---- files ---- */

static const struct response *upload(struct web *web, enum who who, const char *target,
                                     const struct http_upload *file)
{
	struct http_uploads uploads = {file, file ? 1 : 0};
	struct request request = {.method = HTTP_POST,
	                          .uploads = uploads,
	                          .headers = {.sec_fetch_site = "same-origin"}};
	char body[100];

	snprintf(body, sizeof body, "token=%s", web_form_token(web, who));
	return web_send(web, who, &request, target, body);
}

#define BYTES(text) text, sizeof(text) - 1
/* A PNG of one pixel. */
#define PNG                                                                                        \
	"\x89PNG\r\n\x1A\n\0\0\0\rIHDR\0\0\0\1\0\0\0\1\10\2\0\0\0\x90\x77\x53\xDE\0\0\0\x0C"       \
	"IDAT\x08\xD7\x63\xF8\xCF\xC0\0\0\3\1\1\0\x18\xDD\x8D\xB0\0\0\0\0IEND\xAE\x42\x60\x82"
#define PDF "%PDF-1.4\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF\n"
#define HUGE_PNG                                                                                   \
	"\x89PNG\r\n\x1A\n\0\0\0\rIHDR\0\0\xEA\x60\0\0\xEA\x60\10\2\0\0\0\x90\x77\x53\xDE\0\0\0\0"

static void test_files_that_are_refused(void **state)
{
	static const struct {
		struct http_upload file;
		const char *words;
	} rows[] = {
	        {{"file", "a.pdf", BYTES("")}, "File is an empty file"},
	        {{"file", "a.pdf", BYTES("<html></html>")}, "is neither a PDF nor"},
	        {{"file", "a.svg", BYTES("<svg/>")}, "is neither a PDF nor"},
	        {{"file", "a.gif", BYTES("GIF89a")}, "is neither a PDF nor"},
	        {{"file", "a.pdf", BYTES("%PDF-1.4\n1 0 obj\n")}, "is a PDF that is cut short"},
	        {{"file", "a.pdf", BYTES(" " PDF)}, "is neither a PDF nor"},
	        {{"file", "a.pdf", BYTES(PNG)}, "ends in .pdf, but holds a PNG picture"},
	        {{"file", "a.JPEG", BYTES(PNG)}, "ends in .jpg, but holds a PNG picture"},
	        {{"file", "a.png", BYTES(PDF)}, "ends in .png, but holds a PDF"},
	        {{"file", "a.png", PNG, 30}, "is damaged or cut short"},
	        {{"file", "a.png", PNG, sizeof(PNG) - 20}, "is damaged or cut short"},
	        {{"file", "a.jpg", BYTES("\xFF\xD8\xFF\xE0\0\4ab")}, "is damaged or cut short"},
	        {{"file", "a.png", BYTES(HUGE_PNG)}, "pixels, more than are taken"},
	};
	struct web *web = *state;
	int64_t draft = saved(web, STEWARD, "/board/new", HEAD "&" WHOLE);
	struct mark before = mark_of(web);
	const struct response *response;

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		response = upload(web, STEWARD, path_of(draft, "/files"), &rows[i].file);
		assert_int_equal(response->status, 422);
		assert_holds(response, rows[i].words);
		assert_unchanged(web, before);
	}
	response = upload(web, STEWARD, path_of(draft, "/files"), NULL);
	assert_int_equal(response->status, 422);
	assert_holds(response, "File is needed");
	assert_unchanged(web, before);
}

static void test_files_that_are_taken(void **state)
{
	static const struct {
		struct http_upload file;
		const char *name;
	} rows[] = {
	        {{"file", "Sheet 1.pdf", BYTES(PDF)}, "Sheet 1.pdf"},
	        {{"file", "C:\\my\\photo.PNG", BYTES(PNG)}, "photo.png"},
	        {{"file", "../../etc/passwd", BYTES(PNG)}, "passwd.png"},
	        {{"file", "", BYTES(PDF)}, "sheet.pdf"},
	        {{"file", "\xFF\xFE.pdf", BYTES(PDF)}, "sheet.pdf"},
	        {{"file",
	          "a\xE2\x80\xAE"
	          "fdp.pdf",
	          BYTES(PDF)},
	         "sheet.pdf"},
	        {{"file", ".pdf", BYTES(PDF)}, "sheet.pdf"},
	};
	struct web *web = *state;
	struct arena *arena = arena_new();
	int64_t draft = saved(web, STEWARD, "/board/new", HEAD "&" WHOLE);
	const struct response *response;
	struct revision r;
	char path[100];

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		response = upload(web, STEWARD, path_of(draft, "/files"), &rows[i].file);
		assert_int_equal(response->status, 303);
	}
	assert_int_equal(revision_read(web_store(web), arena, (struct revision_id){draft}, &r),
	                 ST_OK);
	assert_int_equal(r.n_attachments, sizeof rows / sizeof rows[0]);
	for (size_t i = 0; i < r.n_attachments; i++)
		assert_string_equal(r.attachments[i].name, rows[i].name);
	assert_holds(web_get(web, STEWARD, path_of(draft, "/files")), "Take off photo.png");
	snprintf(path, sizeof path, "/notices/%lld/files/%lld", (long long)r.notice.v,
	         (long long)r.attachments[0].id.v);
	response = web_get(web, STEWARD, path);
	assert_int_equal(response->status, 200);
	assert_non_null(strstr(web_header(response, "Content-Disposition"), "attachment"));
	assert_string_equal(web_header(response, "X-Content-Type-Options"), "nosniff");
	assert_int_equal(web_get(web, ANN, path)->status, 404); /* a draft's */
	arena_free(arena);
}

static void test_files_come_off_their_own_draft_only(void **state)
{
	static const struct http_upload file = {"file", "a.pdf", BYTES(PDF)};
	struct web *web = *state;
	struct arena *arena = arena_new();
	int64_t draft = saved(web, STEWARD, "/board/new", HEAD "&" WHOLE);
	int64_t other = saved(web, STEWARD, "/board/new",
	                      "number=OTHER&kind=service+letter&force=optional");
	struct revision r;
	struct mark before;
	char act[80];

	assert_int_equal(upload(web, STEWARD, path_of(draft, "/files"), &file)->status, 303);
	assert_int_equal(revision_read(web_store(web), arena, (struct revision_id){draft}, &r),
	                 ST_OK);
	snprintf(act, sizeof act, "/files/%lld/remove", (long long)r.attachments[0].id.v);
	before = mark_of(web);
	assert_int_equal(web_post(web, STEWARD, path_of(other, act), "")->status, 404);
	assert_unchanged(web, before);
	hand_over(web, draft);
	before = mark_of(web);
	assert_int_equal(web_post(web, STEWARD, path_of(draft, act), "")->status, 404);
	assert_int_equal(upload(web, STEWARD, path_of(draft, "/files"), &file)->status, 422);
	assert_unchanged(web, before);
	web_post(web, ADMIN, path_of(draft, "/send-back"), "remark=x");
	assert_int_equal(web_post(web, STEWARD, path_of(draft, act), "")->status, 303);
	arena_free(arena);
}

/* A checker who loaded the sheet before a file was added has not read it. */
static void test_a_file_added_since_is_not_published_unread(void **state)
{
	static const struct http_upload file = {"file", "a.pdf", BYTES(PDF)};
	struct web *web = *state;
	int64_t draft = saved(web, STEWARD, "/board/new", HEAD "&" WHOLE);
	const struct response *response;

	assert_int_equal(upload(web, STEWARD, path_of(draft, "/files"), &file)->status, 303);
	hand_over(web, draft);
	response = publish(web, ADMIN, draft, 1);
	assert_int_equal(response->status, 422);
	assert_holds(response, "Nothing is published");
	assert_int_equal(publish(web, ADMIN, draft, 2)->status, 303);
}

/* ---- files of notices ---- */

#define GOOD_FILE                                                                                  \
	"{\"format\": \"fairlead notices 1\", \"notices\": [{\"number\": \"IM-1\", \"issuer\": "   \
	"\"Harrowfen\", \"kind\": \"service letter\", \"revisions\": [{\"revision\": \"\", "       \
	"\"issued\": \"2015\", \"title\": \"T\", \"force\": \"optional\", \"action\": \"Do\", "    \
	"\"effectivity\": \"all\"}]}]}"

static void test_files_of_notices_that_are_refused(void **state)
{
	static const struct {
		struct http_upload file;
		const char *words, *place;
	} rows[] = {
	        {{"file", "n.json", BYTES("")}, "File is an empty file", ""},
	        {{"file", "n.json", BYTES("{")}, "is refused", "Line 1, column"},
	        {{"file", "n.json", BYTES("{}\n")}, "is refused", ""},
	        {{"file", "n.json", BYTES("{\"format\": \"fairlead notices 1\",\n \"notes\": []}")},
	         "is refused",
	         "Line "},
	        {{"file", "n.json",
	          BYTES("{\"format\": \"fairlead notices 1\",\n \"notices\": "
	                "[{\"number\": \"<script>\",\n \"kind\": \"recipe\"}]}")},
	         "is refused",
	         "Line "},
	        {{"file", "n.json", BYTES("\xFF\xFE{}")}, "is refused", ""},
	        {{"file", "n.json", BYTES("{\"a\": 1, \"a\": 2}")}, "is refused", ""},
	        {{"file", "n.pdf", BYTES(PDF)}, "is refused", "%PDF-1.4"},
	};
	struct web *web = *state;
	struct mark before = mark_of(web);

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response =
		        upload(web, ADMIN, "/board/import", &rows[i].file);

		assert_int_equal(response->status, 422);
		assert_holds(response, rows[i].words);
		assert_holds(response, rows[i].place);
		assert_false(web_holds(response, "<script>\""));
		assert_unchanged(web, before);
	}
}

static void test_a_file_of_notices_goes_in_once_and_comes_out(void **state)
{
	static const struct http_upload file = {"file", "n.json", BYTES(GOOD_FILE)};
	struct web *web = *state;
	const struct response *response = upload(web, ADMIN, "/board/import", &file);
	struct mark before;

	assert_int_equal(response->status, 200);
	assert_holds(response, "1 notice is taken in");
	before = mark_of(web);
	response = upload(web, ADMIN, "/board/import", &file);
	assert_int_equal(response->status, 422);
	assert_holds(response, "/notices/0/number");
	assert_unchanged(web, before);
	response = web_get(web, STEWARD, "/board/notices.json");
	assert_int_equal(response->status, 200);
	assert_holds(response, "\"number\": \"IM-1\"");
	assert_string_equal(response->type, "application/json");
	response = web_get(web, STEWARD, "/board?words=IM-1");
	assert_holds(response, "/board/notices/");
}

/* ---- memory that runs out ---- */

static unsigned answer_without_memory(struct web *web, const struct request *request, size_t n,
                                      bool *reached)
{
	struct arena *arena = arena_new();
	struct response response;

	fail_memory(n, false);
	app_handle(web_app(web), request, arena, &response);
	*reached = fail_memory_end();
	arena_free(arena);
	return response.status;
}

/* Whichever allocation fails, Jansson's too, there is an answer, and nothing changes. */
static void test_memory_may_run_out_anywhere(void **state)
{
	static const struct {
		enum http_method method;
		const char *path, *body;
		unsigned status;
	} rows[] = {
	        {HTTP_GET, "/board", "", 200},
	        {HTTP_GET, "/board/drafts/1", "", 200},
	        {HTTP_GET, "/board/drafts/1/check", "", 200},
	        {HTTP_GET, "/board/drafts/1/files", "", 200},
	        {HTTP_GET, "/board/notices/1", "", 200},
	        {HTTP_GET, "/board/notices.json", "", 200},
	        {HTTP_POST, "/board/new",
	         HEAD "&act=read&part=A&disposition=scrap&lots=x-y&requires=HF-SB-1&steps=1,2"
	              "&effectivity=model+W%0Aserial",
	         422},
	        {HTTP_POST, "/board/read-back", "effectivity=serial+WH-1+thru+WH-9", 200},
	        {HTTP_POST, "/board/drafts/1", "edit=9&" HEAD "&title=Stale", 422},
	        {HTTP_POST, "/board/drafts/1/publish", "edit=1", 422},
	};
	struct web *web = *state;
	struct arena *arena = arena_new();
	int64_t now = WEB_START;
	struct mark before;

	saved(web, STEWARD, "/board/new", HEAD "&" WHOLE "&part=A&disposition=scrap&item=Rivet");
	before = mark_of(web);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct request request = {.method = rows[i].method,
		                          .path = rows[i].path,
		                          .peer = "192.0.2.1",
		                          .headers = {.sec_fetch_site = "same-origin",
		                                      .cookie = web_cookie(web, STEWARD),
		                                      .host = "fairlead.test"}};
		const char *body =
		        arena_printf(arena, "%s%stoken=%s", rows[i].body,
		                     rows[i].body[0] ? "&" : "", web_form_token(web, STEWARD));
		bool reached = true;

		assert_int_equal(http_urlencoded(arena, body, strlen(body), &request.form), ST_OK);
		for (size_t n = 1; reached; n += 1 + n / 40) {
			unsigned status;

			web_set_now(++now); /* posts are few a second */
			status = answer_without_memory(web, &request, n, &reached);
			/* A cookie that cannot be read makes a visitor: sent to sign in. */
			if (status != rows[i].status && (!reached || status < 303))
				print_error("%s at %zu: %u\n", rows[i].path, n, status);
			assert_true(status == rows[i].status || (reached && status >= 303));
		}
		assert_unchanged(web, before);
	}
	arena_free(arena);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

/* ---- a long file ---- */

/* Bytes that are held for a file of so many notices, each requiring the one before. */
static size_t held_for(int count)
{
	static const struct catalogue none = {.count = 0};
	struct arena *arena = arena_new();
	struct json_reader reader;
	struct json_notices read;
	struct text text = TEXT_EMPTY;
	json_t *file;
	size_t held;

	json_reader_start(&reader, arena);
	text_add(&text, "{\"format\": \"fairlead notices 1\", \"notices\": [");
	for (int i = 0; i < count; i++)
		text_printf(&text,
		            "%s{\"number\": \"HF-%d\", \"issuer\": \"Harrowfen\", \"kind\": "
		            "\"service bulletin\", \"revisions\": [{\"revision\": \"\", "
		            "\"issued\": \"2017-09\", \"title\": \"T\", \"force\": \"mandatory\", "
		            "\"action\": \"A\", \"effectivity\": \"model Whimbrel\", "
		            "\"requires\": [\"HF-%d\"]}]}",
		            i ? ", " : "", i, i - 1);
	text_add(&text, "]}");
	file = json_reader_parse(&reader, text_string(&text), text.len);
	assert_non_null(file);
	json_read_notices(&reader, file, &none, &read);
	if (!json_reader_ok(&reader))
		fail_msg("%s: %s", reader.fault.place, reader.fault.words);
	assert_int_equal(read.count, count);
	held = arena_used(arena);
	json_decref(file);
	text_free(&text);
	arena_free(arena);
	return held;
}

static void test_a_file_is_held_in_step_with_its_length(void **state)
{
	size_t some = held_for(500), many = held_for(2000);

	(void)state;
	if (many > some * 5)
		fail_msg("500 notices take %zu bytes, 2,000 take %zu", some, many);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(test_only_stewards_see_the_board),
	        TEST(test_only_admins_take_in_files),
	        TEST(test_builders_change_nothing),
	        TEST(test_an_empty_board_says_what_to_do),
	        TEST(test_fields_that_are_refused),
	        TEST(test_fields_that_nobody_asked_for),
	        TEST(test_a_refused_form_comes_back_as_typed),
	        TEST(test_a_faulty_line_is_shown),
	        TEST(test_hostile_words_stay_words),
	        TEST(test_a_draft_may_be_incomplete),
	        TEST(test_everything_typed_is_stored_and_shown_again),
	        TEST(test_buttons_that_only_look_save_nothing),
	        TEST(test_a_number_is_given_once),
	        TEST(test_links_run_in_no_circle),
	        TEST(test_a_circle_is_found_when_publishing_too),
	        TEST(test_a_file_is_held_in_step_with_its_length),
	        TEST(test_the_second_of_two_editors_is_told),
	        TEST(test_words_for_a_draft_that_is_gone_are_kept),
	        TEST(test_who_may_publish_what),
	        TEST(test_the_check_sheet_shows_all_that_is_compared),
	        TEST(test_sending_back),
	        TEST(test_saving_takes_a_draft_back_from_its_checker),
	        TEST(test_discarding),
	        TEST(test_a_new_revision),
	        TEST(test_a_label_is_given_once),
	        TEST(test_cancelling),
	        TEST(test_reading_back),
	        TEST(test_kits_are_counted_by_answer),
	        TEST(test_stewards_see_whom_a_notice_concerns),
	        TEST(test_files_that_are_refused),
	        TEST(test_files_that_are_taken),
	        TEST(test_files_come_off_their_own_draft_only),
	        TEST(test_a_file_added_since_is_not_published_unread),
	        TEST(test_files_of_notices_that_are_refused),
	        TEST(test_a_file_of_notices_goes_in_once_and_comes_out),
	        TEST(test_memory_may_run_out_anywhere),
	};

	json_set_alloc_funcs(mem_alloc, mem_free);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
