/* The pages about the build line, through app_handle, as their callers and with bad rows. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "support.h"
#include "web_support.h"

#include "base/mem.h"
#include "base/text.h"
#include "store/lines.h"
#include "store/notices.h"
#include "chapter/take_in.h"

#define HOSTILE "\"><script>alert(1)</script>"

/* Ribs under a skin under paint; a seat that nothing covers; two sections. */
static const char line_file[] =
        "{\"format\": \"fairlead line 1\", \"lines\": [{\"model\": \"Whimbrel\", \"sections\": ["
        "{\"code\": \"W\", \"title\": \"Wing\", \"steps\": ["
        "{\"code\": \"W-1\", \"title\": \"Ribs <b>\", \"hours\": 10, \"works_in\": [\"box\"],"
        " \"parts\": [\"WH-1\", \"WH-2\"]},"
        "{\"code\": \"W-2\", \"title\": \"Skin\", \"hours\": 20, \"hours_to_open\": 50,"
        " \"needs\": [\"W-1\"], \"works_in\": [\"outside\"], \"closes\": [\"box\"]}]},"
        "{\"code\": \"F\", \"title\": \"Finish\", \"steps\": ["
        "{\"code\": \"F-1\", \"title\": \"Seat\", \"hours\": 5},"
        "{\"code\": \"F-2\", \"title\": \"Paint\", \"hours\": 30, \"needs\": [\"W-2\"],"
        " \"closes\": [\"outside\"]}]}]}]}";

/* Numbers, titles and steps of notices that concern every kit. */
static const struct {
	const char *number, *title;
	const char *const *steps;
	size_t n_steps;
} seeds[] = {
        {"HB-1", "Rib rivets", (const char *const[]){"W-1"}, 1},
        {"HB-2", "Seat rail", (const char *const[]){"F-1"}, 1},
        {"HB-3", HOSTILE, NULL, 0},
        {"HB-4", "Skin joint", (const char *const[]){"W-2"}, 1},
};

static void add_notices(struct web *web)
{
	static const struct material_text material[] = {{"Rivets AN470", "16", "", "", ""}};

	for (size_t i = 0; i < sizeof seeds / sizeof seeds[0]; i++) {
		struct revision_content content = revision_content_empty;
		struct notice_id id;

		content.number = seeds[i].number;
		content.title = seeds[i].title;
		content.issuer = "Harrowfen";
		content.action = "1. Do it.";
		content.effectivity = "all";
		content.issued = "2020-01-02";
		content.force = FORCE_RECOMMENDED;
		content.material = material;
		content.n_material = 1;
		content.steps = (struct text_list){seeds[i].steps, seeds[i].n_steps};
		assert_int_equal(notice_import(web_store(web),
		                               &(struct notice_import){&content, 1, "", ""},
		                               web_member(web, STEWARD), WEB_START, &id),
		                 ST_OK);
	}
}

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

static void set_model(struct web *web, enum who who, const char *model)
{
	struct facts facts = {.has_serial = false};
	struct arena *arena = arena_new();

	assert_int_equal(name_make(arena, model, strlen(model), &facts.model), ST_OK);
	assert_int_equal(kit_set_facts(web_store(web), web_kit(web, who), &facts), ST_OK);
	arena_free(arena);
}

static int set_up(void **state)
{
	struct web *web = web_new(NULL, 0, NULL, 0);

	add_notices(web);
	add_line(web);
	set_model(web, ANN, "whimbrel");
	*state = web;
	return 0;
}

static int tear_down(void **state)
{
	web_free(*state);
	return 0;
}

static const struct response *get(struct web *web, enum who who, const char *page)
{
	char target[300];

	snprintf(target, sizeof target, "/kits/%lld%s", (long long)web_kit(web, ANN).v, page);
	return web_get(web, who, target);
}

static const struct response *post(struct web *web, const char *fields)
{
	char target[80];

	snprintf(target, sizeof target, "/kits/%lld/line", (long long)web_kit(web, ANN).v);
	return web_post(web, ANN, target, fields);
}

static void tap(struct web *web, const char *fields)
{
	assert_int_equal(post(web, fields)->status, 303);
}

static void assert_holds(const struct response *response, const char *words)
{
	if (!web_holds(response, words))
		fail_msg("no \"%s\" in\n%.*s", words, (int)response->len, response->body);
}

static const char *done_text(struct web *web, struct arena *arena)
{
	struct facts facts;
	char *out = arena_string(arena, "");

	assert_int_equal(kit_facts(web_store(web), arena, web_kit(web, ANN), &facts), ST_OK);
	for (size_t i = 0; i < facts.n_steps_done; i++)
		out = arena_printf(arena, "%s%s%s", out, *out ? " " : "", facts.steps_done[i].text);
	return out;
}

static void assert_done(struct web *web, const char *steps)
{
	struct arena *arena = arena_new();

	assert_string_equal(done_text(web, arena), steps);
	arena_free(arena);
}

/* ---- the line ---- */

static void test_the_line_is_shown_by_sections(void **state)
{
	const struct response *response = get(*state, ANN, "/line");

	assert_int_equal(response->status, 200);
	assert_holds(response, "0 of 4 steps built");
	assert_holds(response, "Ribs &lt;b&gt;");
	assert_holds(response, "Is all that is built marked?");
	assert_false(web_holds(response, "Paint")); /* the other section is closed */
	response = get(*state, ANN, "/line?section=2");
	assert_holds(response, "Paint");
	assert_holds(response, "class=\"scale build-line\"");
}

static void test_a_kit_without_a_line_is_told(void **state)
{
	const struct response *response;

	set_model(*state, ANN, "Avocet");
	response = get(*state, ANN, "/line");
	assert_int_equal(response->status, 200);
	assert_holds(response, "no build line for the model Avocet");
	set_model(*state, ANN, "");
	assert_holds(get(*state, ANN, "/line"), "Say first which model");
	assert_int_equal(post(*state, "done=W-1")->status, 303);
	assert_done(*state, "");
	assert_int_equal(get(*state, ANN, "/line/1")->status, 404);
	assert_int_equal(get(*state, ANN, "/together")->status, 404);
	assert_int_equal(get(*state, ANN, "/what-if")->status, 404);
}

static void test_steps_are_marked_with_one_tap(void **state)
{
	const struct response *response;

	tap(*state, "section=1&done=w-1&on=2026-09-01");
	assert_done(*state, "W-1");
	response = get(*state, ANN, "/line?section=1");
	assert_holds(response, "1 September 2026");
	assert_holds(response, "1 of 4 steps built");
	tap(*state, "section=1&act=section");
	assert_done(*state, "W-1 W-2");
	assert_holds(get(*state, ANN, "/line?section=1"), "covered by W-2");
	tap(*state, "section=1&undone=W-2");
	assert_done(*state, "W-1");
	tap(*state, "section=2&act=upto");
	assert_done(*state, "W-1 W-2 F-1 F-2");
	tap(*state, "section=1&act=clear");
	assert_done(*state, "F-1 F-2");
	tap(*state, "act=all");
	assert_false(web_holds(get(*state, ANN, "/line"), "Is all that is built marked?"));
	tap(*state, "act=not-all");
	assert_holds(get(*state, ANN, "/line"), "Is all that is built marked?");
}

/* An undo takes back what the tap changed, and nothing that was there before. */
static void test_an_undo_takes_back_just_that(void **state)
{
	struct web *web = *state;
	const struct response *response;
	char query[200];
	const char *where;

	tap(web, "section=1&done=W-2");
	response = post(web, "section=1&act=section");
	where = strchr(web_header(response, "Location"), '?');
	assert_non_null(where);
	snprintf(query, sizeof query, "/line%s", where);
	assert_done(web, "W-2 W-1");
	assert_holds(get(web, ANN, query), "Undo what was just marked");
	tap(web, "section=1&act=undo&undo=1&version=1");
	assert_done(web, "W-2");
}

static void test_a_step_before_its_needs_is_never_silent(void **state)
{
	const struct response *response;

	tap(*state, "section=2&done=F-2");
	response = get(*state, ANN, "/line?section=1");
	assert_holds(response, "Marked, though what it needs is not");
	assert_holds(response, "F-2 Paint");
	tap(*state, "section=1&act=section");
	assert_false(web_holds(get(*state, ANN, "/line"), "Marked, though"));
}

static const struct {
	const char *fields;
	unsigned status;
	const char *words;
} bad_taps[] = {
        {"", 422, "Tap one button"},
        {"section=1", 422, "Tap one button"},
        {"done=W-1&act=section&section=1", 422, "Tap one button"},
        {"done=W-1&undone=W-1", 422, "Tap one button"},
        {"done=X-9", 422, "X-9 is not on the build line"},
        {"undone=X-9", 422, "is not on the build line"},
        {"done=%22%3E%3Cscript%3E", 422, "is not on the build line"},
        {"done=W-1&on=2026-13", 422, "Done on"},
        {"done=W-1&on=2027-01-01", 422, "lies in the future"},
        {"act=section", 422, "is not on the build line"},
        {"act=section&section=3", 422, "is not on the build line"},
        {"act=section&section=0", 422, "Section"},
        {"act=demolish&section=1", 422, "What to do"},
        {"act=undo&undo=1&version=9", 422, "no longer fits"},
        {"act=undo&undo=zz&version=1", 422, "no longer fits"},
        {"act=undo&undo=f&version=1&colour=red", 400, ""},
        {"act=undo&undo=ff&version=1", 422, "no longer fits"},
        {"act=undo", 422, "no longer fits"},
};

static void test_a_bad_tap_changes_nothing(void **state)
{
	for (size_t i = 0; i < sizeof bad_taps / sizeof bad_taps[0]; i++) {
		const struct response *response = post(*state, bad_taps[i].fields);

		if (response->status != bad_taps[i].status)
			fail_msg("%s: %u", bad_taps[i].fields, response->status);
		assert_holds(response, bad_taps[i].words);
		assert_false(web_holds(response, "<script>alert"));
		assert_done(*state, "");
	}
}

static void test_a_bad_query_is_harmless(void **state)
{
	static const char *const queries[] = {"/line?section=99", "/line?section=-1",
	                                      "/line?undo=xyz&version=1",
	                                      "/line?undo=" HOSTILE "&version=1"};

	for (size_t i = 0; i < sizeof queries / sizeof queries[0]; i++) {
		const struct response *response = get(*state, ANN, queries[i]);

		assert_true(response->status == 200 || response->status == 422);
		assert_false(web_holds(response, "Undo what was"));
		assert_false(web_holds(response, "<script>alert"));
	}
}

static void test_only_the_owner_gets_in(void **state)
{
	static const char *const pages[] = {"/line", "/line/1", "/together", "/what-if"};

	for (size_t i = 0; i < sizeof pages / sizeof pages[0]; i++) {
		assert_int_equal(get(*state, ANN, pages[i])->status, 200);
		assert_int_equal(get(*state, BEN, pages[i])->status, 404);
		assert_int_equal(get(*state, ADMIN, pages[i])->status, 404);
		assert_int_equal(get(*state, VISITOR, pages[i])->status, 303);
	}
}

/* ---- moments ---- */

static const char *at(const struct response *response, const char *words)
{
	const char *found = memmem(response->body, response->len, words, strlen(words));

	if (!found)
		fail_msg("no %s", words);
	return found;
}

static void test_the_list_is_ordered_by_moment(void **state)
{
	const struct response *response;

	tap(*state, "section=1&act=section");
	response = get(*state, ANN, "");
	assert_holds(response, "buried: open 1 step, 50 hours"); /* W-1, whatever else is built */
	assert_holds(response, "cannot tell when");
	tap(*state, "act=all");
	response = get(*state, ANN, "");
	assert_holds(response, "fold in at F-1");
	assert_holds(response, "before F-2 closes it");
	assert_true(at(response, "HB-2") < at(response, "HB-4"));
	assert_true(at(response, "HB-4") < at(response, "HB-1"));
	assert_true(at(response, "HB-1") < at(response, "HB-3"));
	assert_holds(response, "Buried: to be opened again");
	response = get(*state, ANN, "?order=number");
	assert_true(at(response, "HB-1") < at(response, "HB-2"));
	assert_false(web_holds(response, "Buried: to be opened again"));
	response = get(*state, ANN, "?words=HB&order=moment");
	assert_true(at(response, "HB-4") < at(response, "HB-1"));
	assert_int_equal(get(*state, ANN, "?standing=done&order=moment")->status, 200);
}

static void test_a_notice_tells_its_moment(void **state)
{
	const struct response *response;

	tap(*state, "section=2&act=upto");
	tap(*state, "act=all");
	response = get(*state, ANN, "/notices/1");
	assert_holds(response, "The right moment");
	assert_holds(response, "Steps to open again");
	assert_holds(response, "W-2 Skin");
	assert_holds(response, "While it is open");
	assert_holds(response, "HB-4");
	response = get(*state, ANN, "/notices/3");
	assert_holds(response, "names no step of the build line");
}

/* A change of the line makes a new view of the kit. */
static void test_a_changed_line_is_seen_at_once(void **state)
{
	struct web *web = *state;
	struct arena *arena = arena_new();
	struct line_entry entry;
	struct line_head head;
	struct line_id id;

	assert_holds(get(web, ANN, "/line"), "of 4 steps built");
	assert_int_equal(line_read(web_store(web), arena, (struct line_id){1}, &head, &entry),
	                 ST_OK);
	entry.n_sections = 1;
	assert_int_equal(
	        line_save(web_store(web), &entry, 1, web_member(web, STEWARD), WEB_START, &id),
	        ST_OK);
	assert_holds(get(web, ANN, "/line"), "of 2 steps built");
	assert_int_equal(line_remove(web_store(web), id, 2), ST_OK);
	assert_holds(get(web, ANN, "/line"), "no build line");
	arena_free(arena);
}

static void test_the_sheet_before_a_section(void **state)
{
	const struct response *response = get(*state, ANN, "/line/1");

	assert_holds(response, "Before you start section 1: W Wing");
	assert_holds(response, "WH-2");
	assert_holds(response, "HB-1");
	assert_holds(response, "Rivets AN470");
	assert_false(web_holds(response, "HB-2"));
	response = get(*state, ANN, "/line/2");
	assert_holds(response, "needed first");
	assert_holds(response, "HB-2");
	assert_int_equal(get(*state, ANN, "/line/3")->status, 404);
	assert_int_equal(get(*state, ANN, "/line/0")->status, 404);
	assert_int_equal(get(*state, ANN, "/line/first")->status, 404);
}

static void test_several_notices_are_counted_together(void **state)
{
	const struct response *response;

	tap(*state, "section=2&act=upto");
	tap(*state, "act=all");
	response = get(*state, ANN, "/together?notice=1&notice=4");
	assert_holds(response, "2 chosen: 110 hours to open and close");
	assert_holds(response, "would cost 170 hours: 60 saved");
	response = get(*state, ANN, "/together?notice=3&notice=99");
	assert_holds(response, "1 chosen: 0 hours");
	assert_holds(response, "it cannot be told");
	assert_int_equal(get(*state, ANN, "/together?notice=x")->status, 422);
	assert_int_equal(get(*state, ANN, "/together")->status, 200);
}

static const struct {
	const char *query;
	unsigned status;
	const char *words;
} what_ifs[] = {
        {"/what-if", 200, "Nothing is stored"},
        {"/what-if?step=F-1&after=W-1", 200, "No notice that is left"},
        {"/what-if?step=W-2&after=F-2", 200, "Built before what it needs"},
        {"/what-if?step=W-2", 200, "Built before what it needs"},
        {"/what-if?step=f-2&after=", 200, "HB-4"},
        {"/what-if?step=X&after=W-1", 422, "is not on the build line"},
        {"/what-if?step=W-1&after=X", 422, "is not on the build line"},
        {"/what-if?step=W-1&after=w-1", 422, "is the step itself"},
        {"/what-if?step=%3Cscript%3E", 422, "is not on the build line"},
};

static void test_what_if_it_is_built_in_another_order(void **state)
{
	tap(*state, "section=1&act=section");
	tap(*state, "act=all");
	for (size_t i = 0; i < sizeof what_ifs / sizeof what_ifs[0]; i++) {
		const struct response *response = get(*state, ANN, what_ifs[i].query);

		if (response->status != what_ifs[i].status)
			fail_msg("%s: %u", what_ifs[i].query, response->status);
		assert_holds(response, what_ifs[i].words);
	}
}

/* ---- the drawing board ---- */

static const struct response *board_post(struct web *web, const char *page, const char *fields)
{
	char target[80];

	snprintf(target, sizeof target, "/board/lines%s", page);
	return web_post(web, STEWARD, target, fields);
}

/* Every step with what it needs and closes, in order: "W-1 W-2(W-1!box) | ...". */
static const char *line_text(struct web *web, struct arena *arena)
{
	struct line_entry entry;
	struct line_head head;
	char *out = arena_string(arena, "");

	if (line_read(web_store(web), arena, (struct line_id){1}, &head, &entry) != ST_OK)
		return "none";
	for (size_t i = 0; i < entry.n_sections; i++) {
		out = arena_printf(arena, "%s%s%s:", out, i ? " | " : "", entry.sections[i].title);
		for (size_t k = 0; k < entry.sections[i].n_steps; k++) {
			const struct step_entry *step = &entry.sections[i].steps[k];

			out = arena_printf(arena, "%s %s", out, step->code.text);
			if (step->n_needs)
				out = arena_printf(arena, "%s<%s", out, step->needs[0].text);
			if (step->n_closes)
				out = arena_printf(arena, "%s!%s", out, step->closes[0].text);
		}
	}
	return out;
}

static void assert_line(struct web *web, const char *text)
{
	struct arena *arena = arena_new();

	assert_string_equal(line_text(web, arena), text);
	arena_free(arena);
}

#define WHOLE "Wing: W-1 W-2<W-1!box | Finish: F-1 F-2<W-2!outside"

static const struct {
	const char *fields;
	const char *line;
} good_steps[] = {
        {"version=1&section=f&after=F-1&code=F-3&title=Belts&hours=2.5&needs=F-1%0AW-2",
         "Wing: W-1 W-2<W-1!box | Finish: F-1 F-3<F-1 F-2<W-2!outside"},
        {"version=1&section=F&code=F-0&title=Floor&hours=1",
         "Wing: W-1 W-2<W-1!box | Finish: F-0 F-1 F-2<W-2!outside"},
        {"version=1&section=T&section_title=Tail&after=W-2&code=T-1&title=Fin&hours=1",
         "Wing: W-1 W-2<W-1!box | Tail: T-1 | Finish: F-1 F-2<W-2!outside"},
        {"version=1&section=T&section_title=Tail&code=T-1&title=Fin&hours=0&works_in=box",
         "Wing: W-1 W-2<W-1!box | Finish: F-1 F-2<W-2!outside | Tail: T-1"},
        {"version=1&was=W-1&section=W&section_title=Wings&code=W-1a&title=Ribs&hours=3&works_in="
         "box",
         "Wings: W-1a W-2<W-1a!box | Finish: F-1 F-2<W-2!outside"},
        {"version=1&was=F-1&section=W&after=W-1&code=F-1&title=Seat&hours=3",
         "Wing: W-1 F-1 W-2<W-1!box | Finish: F-2<W-2!outside"},
};

static void test_steps_are_edited_on_the_board(void **state)
{
	for (size_t i = 0; i < sizeof good_steps / sizeof good_steps[0]; i++) {
		const struct response *response;

		if (i) {
			tear_down(state);
			set_up(state);
		}
		response = board_post(*state, "/1/step", good_steps[i].fields);
		if (response->status != 303)
			fail_msg("%s: %u %.*s", good_steps[i].fields, response->status,
			         (int)response->len, response->body);
		assert_line(*state, good_steps[i].line);
	}
}

#define STEP "version=1&section=F&code=F-3&title=x&hours=1"

static const struct {
	const char *fields;
	const char *words;
} bad_steps[] = {
        {"version=1", "is needed"},
        {STEP "&after=X-1", "is not on the line"},
        {STEP "&was=X-1", "is not on the line any more"},
        {"version=1&section=N&code=F-3&title=x&hours=1", "is needed for a new section"},
        {"version=2&section=F&code=F-3&title=x&hours=1", "changed elsewhere"},
        {"section=F&code=F-3&title=x&hours=1", "changed elsewhere"},
        {"version=1&section=F&code=w-1&title=x&hours=1", "stands twice"},
        {"version=1&section=F&code=F-3&title=x&hours=many", "Hours of work"},
        {"version=1&section=F&code=F-3&title=x&hours=10000", "Hours of work"},
        {STEP "&hours_to_open=-2", "Hours to open"},
        {STEP "&needs=F-3", "cannot need itself"},
        {STEP "&needs=X", "no step is called X"},
        {STEP "&needs=F-2", "stands later in the line"},
        {STEP "&needs=W-1%2C+w-1", "stands twice"},
        {STEP "&closes=cellar", "no other step works in the zone"},
        {STEP "&works_in=%3Cscript%3Ealert%3C%2Fscript%3E&closes=cellar", "no other step works"},
        {"version=1&was=W-1&section=W&code=W-1&title=x&hours=1", "no other step works in the zone"},
        {"version=1&was=W-2&section=F&after=F-2&code=W-2&title=x&hours=1", "stands later"},
};

static void test_a_faulty_step_changes_nothing(void **state)
{
	for (size_t i = 0; i < sizeof bad_steps / sizeof bad_steps[0]; i++) {
		const struct response *response =
		        board_post(*state, "/1/step", bad_steps[i].fields);

		if (response->status != 422)
			fail_msg("%s: %u", bad_steps[i].fields, response->status);
		assert_holds(response, bad_steps[i].words);
		assert_false(web_holds(response, "<script>alert"));
		assert_line(*state, WHOLE);
	}
	assert_int_equal(board_post(*state, "/9/step", STEP)->status, 404);
	assert_int_equal(board_post(*state, "/1/step/remove", "version=1&was=X")->status, 404);
	assert_int_equal(board_post(*state, "/1/step/remove", "was=F-2")->status, 400);
	assert_holds(board_post(*state, "/1/step/remove", "version=1&was=W-1"),
	             "no step is called W-1");
	assert_holds(board_post(*state, "/1/step/remove", "version=7&was=F-2"),
	             "changed elsewhere");
	assert_line(*state, WHOLE);
}

static void test_a_line_is_begun_shown_and_removed(void **state)
{
	struct web *web = *state;
	const struct response *response;

	assert_holds(web_get(web, STEWARD, "/board/lines"), "Whimbrel");
	assert_holds(web_get(web, STEWARD, "/board/lines/new"), "First step of a new build line");
	response = board_post(web, "/new", "section=A&section_title=All&code=A-1&title=x&hours=1");
	assert_int_equal(response->status, 422);
	response = board_post(
	        web, "/new", "model=WHIMBREL&section=A&section_title=All&code=A-1&title=x&hours=1");
	assert_holds(response, "a build line for this model already");
	response = board_post(web, "/new",
	                      "model=Avocet&section=A&section_title=All&code=A-1&title=x&hours=1");
	assert_int_equal(response->status, 303);
	response = web_get(web, STEWARD, "/board/lines/2");
	assert_holds(response, "Build line of Avocet");
	assert_holds(web_get(web, STEWARD, "/board/lines/1/step?code=w-2"), "value=\"50\"");
	assert_holds(web_get(web, STEWARD, "/board/lines/1/step?after=W-2"), "value=\"W-2\"");
	assert_int_equal(web_get(web, STEWARD, "/board/lines/1/step?code=X")->status, 404);
	assert_int_equal(web_get(web, STEWARD, "/board/lines/9")->status, 404);
	assert_holds(web_get(web, STEWARD, "/board/lines/1/file"), "fairlead line 1");
	assert_int_equal(web_get(web, STEWARD, "/board/lines/9/file")->status, 404);
	assert_int_equal(board_post(web, "/2/remove", "version=1")->status, 422);
	assert_int_equal(board_post(web, "/2/remove", "version=9&sure=yes")->status, 409);
	assert_int_equal(board_post(web, "/2/remove", "version=1&sure=yes")->status, 303);
	assert_int_equal(web_get(web, STEWARD, "/board/lines/2")->status, 404);
	assert_int_equal(web_get(web, ANN, "/board/lines")->status, 403);
}

/* The last step takes its line with it. */
static void test_taking_out_every_step_removes_the_line(void **state)
{
	static const char *const taps[] = {"version=1&was=F-2", "version=2&was=W-2",
	                                   "version=3&was=W-1", "version=4&was=F-1"};

	for (size_t i = 0; i < 4; i++)
		assert_int_equal(board_post(*state, "/1/step/remove", taps[i])->status, 303);
	assert_line(*state, "none");
}

/* ---- programs ---- */

static void test_programs_get_line_and_plan(void **state)
{
	struct web *web = *state;
	char target[80];
	const struct response *response = web_get(web, VISITOR, "/api/v1/models/WHIMBREL/line");

	assert_int_equal(response->status, 200);
	assert_holds(response, "\"code\":\"W-2\"");
	assert_int_equal(web_get(web, VISITOR, "/api/v1/models/Avocet/line")->status, 404);
	tap(web, "section=1&act=section");
	tap(web, "act=all");
	snprintf(target, sizeof target, "/api/v1/kits/%lld/plan", (long long)web_kit(web, ANN).v);
	response = web_api(web, ANN, target);
	assert_holds(response, "\"moment\":\"buried\"");
	assert_holds(response, "\"open\":[\"W-2\"],\"open_hours\":50.0");
	assert_int_equal(web_api(web, BEN, target)->status, 404);
	assert_int_equal(web_get(web, ANN, target)->status, 401);
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

/* Fails one allocation after the other until the request is answered as it should be. */
static void answer_however_scarce(struct web *web, enum who who, const struct request *request,
                                  unsigned status)
{
	static int64_t now = WEB_START;
	bool reached = true;

	for (size_t n = 1; reached; n += 1 + n / 40) {
		unsigned answered;

		web_set_now(++now); /* posts are few a second */
		answered = answer_without_memory(web, request, n, &reached);
		/* A cookie that cannot be read makes a visitor: sent to sign in. */
		if (answered != status && (!reached || answered < 303))
			fail_msg("%s at %zu by %d: %u", request->path, n, (int)who, answered);
	}
}

static const struct {
	enum who who;
	enum http_method method;
	const char *path, *fields;
	unsigned status;
} scarce[] = {
        {ANN, HTTP_GET, "/kits/1", "", 200},
        {ANN, HTTP_GET, "/kits/1", "order=moment&words=HB", 200},
        {ANN, HTTP_GET, "/kits/1/notices/1", "", 200},
        {ANN, HTTP_GET, "/kits/1/line", "undo=1&version=1", 200},
        {ANN, HTTP_GET, "/kits/1/line/1", "", 200},
        {ANN, HTTP_GET, "/kits/1/together", "notice=1&notice=4", 200},
        {ANN, HTTP_GET, "/kits/1/what-if", "step=W-2&after=F-2", 200},
        {ANN, HTTP_POST, "/kits/1/line", "done=X-9&section=1", 422},
        {STEWARD, HTTP_GET, "/board/lines", "", 200},
        {STEWARD, HTTP_GET, "/board/lines/1", "", 200},
        {STEWARD, HTTP_GET, "/board/lines/1/file", "", 200},
        {STEWARD, HTTP_GET, "/board/lines/1/step", "code=W-2", 200},
        {STEWARD, HTTP_POST, "/board/lines/1/step", STEP "&needs=F-2&parts=A,B", 422},
        {STEWARD, HTTP_POST, "/board/lines/1/step/remove", "version=1&was=W-1", 422},
        {VISITOR, HTTP_GET, "/api/v1/models/Whimbrel/line", "", 200},
};

static void test_memory_may_run_out_anywhere(void **state)
{
	struct web *web = *state;
	struct arena *arena = arena_new();

	tap(web, "section=2&act=upto");
	tap(web, "act=all");
	for (size_t i = 0; i < sizeof scarce / sizeof scarce[0]; i++) {
		struct request request = {.method = scarce[i].method,
		                          .path = scarce[i].path,
		                          .peer = "192.0.2.1",
		                          .headers = {.sec_fetch_site = "same-origin",
		                                      .cookie = web_cookie(web, scarce[i].who),
		                                      .host = "fairlead.test"}};
		bool post = scarce[i].method == HTTP_POST;
		const char *fields = post ? arena_printf(arena, "%s&token=%s", scarce[i].fields,
		                                         web_form_token(web, scarce[i].who))
		                          : scarce[i].fields;

		assert_int_equal(http_urlencoded(arena, fields, strlen(fields),
		                                 post ? &request.form : &request.query),
		                 ST_OK);
		answer_however_scarce(web, scarce[i].who, &request, scarce[i].status);
		assert_line(web, WHOLE);
	}
	arena_free(arena);
}

/* Taken in whole or not at all, whichever allocation fails. */
static bool take_in_once(void *context)
{
	struct arena *arena = arena_new();
	struct json_reader reader;
	struct taken taken;
	enum status status = ST_NOMEM;

	if (arena) {
		json_reader_start(&reader, arena);
		status = take_in(web_store(context), &reader, line_file, sizeof line_file - 1,
		                 (struct member_id){0}, WEB_START, &taken);
	}
	arena_free(arena);
	return status == ST_OK;
}

static void test_a_file_survives_any_lack_of_memory(void **state)
{
	try_each_allocation(take_in_once, *state, false);
	assert_line(*state, WHOLE);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(test_the_line_is_shown_by_sections),
	        TEST(test_a_kit_without_a_line_is_told),
	        TEST(test_steps_are_marked_with_one_tap),
	        TEST(test_an_undo_takes_back_just_that),
	        TEST(test_a_step_before_its_needs_is_never_silent),
	        TEST(test_a_bad_tap_changes_nothing),
	        TEST(test_a_bad_query_is_harmless),
	        TEST(test_only_the_owner_gets_in),
	        TEST(test_the_list_is_ordered_by_moment),
	        TEST(test_a_notice_tells_its_moment),
	        TEST(test_a_changed_line_is_seen_at_once),
	        TEST(test_the_sheet_before_a_section),
	        TEST(test_several_notices_are_counted_together),
	        TEST(test_what_if_it_is_built_in_another_order),
	        TEST(test_steps_are_edited_on_the_board),
	        TEST(test_a_faulty_step_changes_nothing),
	        TEST(test_a_line_is_begun_shown_and_removed),
	        TEST(test_taking_out_every_step_removes_the_line),
	        TEST(test_programs_get_line_and_plan),
	        TEST(test_memory_may_run_out_anywhere),
	        TEST(test_a_file_survives_any_lack_of_memory),
	};

	json_set_alloc_funcs(mem_alloc, mem_free);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
