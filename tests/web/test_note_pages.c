/* Pages of notes: on a notice, a step, a part; answers, editing with history,
 * removal, thanks, search, calls for a steward. As every caller, with bad rows.
 */
#include "web_support.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "store/calls.h"
#include "store/lines.h"
#include "store/notices.h"
#include "store/parts.h"
#include "store/reports.h"

struct board {
	struct web *web;
	struct arena *arena;
	struct notice_id notice;
	struct note_subject on_notice;
	struct note_id ann, ben, answer; /* the last by Ben, to Ann's */
};

static const struct note_subject on_part = {NOTE_ON_PART, {0}, "", "WH-2207/1 é"};
static const struct note_subject on_step = {NOTE_ON_STEP, {0}, "Whimbrel T", "14-4"};
#define PART_PATH "/part?number=WH-2207%2F1%20%C3%A9"
#define STEP_PATH "/step?model=Whimbrel%20T&code=14-4"

static struct name name_of(struct board *b, const char *text)
{
	struct name name = {.text = ""};

	assert_int_equal(name_make(b->arena, text, strlen(text), &name), ST_OK);
	return name;
}

static void publish(struct board *b)
{
	static const struct line_text lines[] = {{.part = "WH-2207/1 é",
	                                          .position = "left",
	                                          .disposition = DISPOSE_REPLACE,
	                                          .replacement = "WH-2207-2",
	                                          .lots = "",
	                                          .remark = ""}};
	static const char *const steps[] = {"14-4"};
	struct revision_content content = revision_content_empty;
	const struct notice_import import = {
	        .revisions = &content, .n_revisions = 1, .cancelled_on = "", .cancel_reason = ""};

	content.number = "SB-1";
	content.issuer = "Harrowfen";
	content.title = "Bronze <bushing>";
	content.action = "Replace it.";
	content.effectivity = "model Whimbrel T";
	content.issued = "2018";
	content.lines = lines;
	content.n_lines = 1;
	content.steps = (struct text_list){steps, 1};
	assert_int_equal(notice_import(web_store(b->web), &import, web_member(b->web, STEWARD),
	                               WEB_START, &b->notice),
	                 ST_OK);
}

/* A line of Whimbrel T with one step, and a later number of its part. */
static void add_line_and_change(struct board *b)
{
	const struct name part = name_of(b, "WH-2207/1 é");
	const struct step_entry step = {.code = name_of(b, "14-4"),
	                                .title = "Rivet the tail",
	                                .hours = 100,
	                                .hours_to_open = LINE_HOURS_NOT_STATED,
	                                .parts = &part,
	                                .n_parts = 1};
	const struct section_entry section = {name_of(b, "14"), "Tail", &step, 1};
	const struct line_entry line = {name_of(b, "Whimbrel T"), &section, 1};
	const struct number_change change = {part, name_of(b, "WH-2207-2")};
	const struct parts_source source = {.changes = &change, .n_changes = 1};
	struct line_id id;

	assert_int_equal(
	        line_save(web_store(b->web), &line, 0, web_member(b->web, STEWARD), WEB_START, &id),
	        ST_OK);
	assert_int_equal(parts_import(web_store(b->web), &source), ST_OK);
}

static struct note_id add(struct board *b, const struct note_subject *of, enum who who,
                          const char *text)
{
	struct note_id id;

	assert_int_equal(
	        note_add(web_store(b->web), of, web_member(b->web, who), text, WEB_START, &id),
	        ST_OK);
	return id;
}

static int set_up(void **state)
{
	struct board *b = calloc(1, sizeof *b);

	assert_non_null(b);
	b->web = web_new(NULL, 0, NULL, 0);
	b->arena = arena_new();
	publish(b);
	add_line_and_change(b);
	b->on_notice = note_on_notice(b->notice);
	b->ann = add(b, &b->on_notice, ANN, "of *Ann* <script>");
	b->ben = add(b, &on_part, BEN, "of Ben");
	assert_int_equal(note_answer(web_store(b->web), b->ann, web_member(b->web, BEN),
	                             "answer of Ben", WEB_START, &b->answer),
	                 ST_OK);
	*state = b;
	return 0;
}

static int tear_down(void **state)
{
	struct board *b = *state;

	web_free(b->web);
	arena_free(b->arena);
	free(b);
	return 0;
}

/* ---- asking ---- */

static const char *path_of(const char *before, int64_t id, const char *after)
{
	static char path[200];

	snprintf(path, sizeof path, "%s/%lld%s", before, (long long)id, after);
	return path;
}

static const char *note_path(struct note_id id, const char *after)
{
	return path_of("/notes", id.v, after);
}

static void expect_holds(const struct response *response, const char *text)
{
	if (!web_holds(response, text))
		fail_msg("no \"%s\" in: %.*s", text, (int)response->len, response->body);
}

static void expect_lacks(const struct response *response, const char *text)
{
	if (web_holds(response, text))
		fail_msg("\"%s\" stands in: %.*s", text, (int)response->len, response->body);
}

static void expect_goes(const struct response *response, const char *location)
{
	assert_int_equal(response->status, 303);
	assert_string_equal(web_header(response, "Location"), location);
}

static struct note note_now(struct board *b, struct note_id id)
{
	struct note note;

	assert_int_equal(note_read(web_store(b->web), b->arena, id, (struct member_id){0}, &note),
	                 ST_OK);
	return note;
}

static int64_t count_on(struct board *b, const struct note_subject *of)
{
	const struct note *notes;
	size_t count;
	int64_t total;
	struct note_query query = {.of = *of, .page = {1, 0}};

	assert_int_equal(note_list(web_store(b->web), b->arena, &query, &notes, &count, &total),
	                 ST_OK);
	return total;
}

/* ---- where notes stand ---- */

static void notes_are_shown_to_all(void **state)
{
	struct board *b = *state;
	char list[140], notice[100];

	snprintf(notice, sizeof notice, "/notices/%lld", (long long)b->notice.v);
	snprintf(list, sizeof list, "%s/notes", notice);
	const struct {
		const char *path, *words;
	} rows[] = {{notice, "of <em>Ann</em> &lt;script&gt;"},
	            {list, "of <em>Ann</em> &lt;script&gt;"},
	            {list, "answer of Ben"},
	            {PART_PATH, "of Ben"},
	            {"/part?number=wh-2207%2F1%20%C3%A9", "of Ben"},
	            {STEP_PATH, "No notes here."},
	            {"/notes", "answer of Ben"}};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		for (int who = VISITOR; who < WHOS; who++) {
			const struct response *r = web_get(b->web, (enum who)who, rows[i].path);

			assert_int_equal(r->status, 200);
			expect_holds(r, rows[i].words);
			expect_lacks(r, "<script>of");
			if (who == VISITOR) {
				expect_lacks(r, "Ann Builder");
				expect_lacks(r, "Ben Builder");
				expect_lacks(r, "Add a note");
			}
		}
	expect_holds(web_get(b->web, BEN, list), "<b>Ann Builder</b>");
	expect_holds(web_get(b->web, VISITOR, list), "<b>a member</b>");
}

static void notes_are_added_where_they_belong(void **state)
{
	struct board *b = *state;
	long long notice = (long long)b->notice.v, kit = (long long)web_kit(b->web, ANN).v;
	char notice_notes[60], with_kit[60], to_notice[100], to_kit[100];

	snprintf(notice_notes, sizeof notice_notes, "/notices/%lld/notes", notice);
	snprintf(with_kit, sizeof with_kit, "text=a&kit=%lld", kit);
	snprintf(to_notice, sizeof to_notice, "/notices/%lld?said=note-added#note-4", notice);
	snprintf(to_kit, sizeof to_kit, "/kits/%lld/notices/%lld?said=note-added#note-5", kit,
	         notice);
	expect_goes(web_post(b->web, ANN, notice_notes, "text=*mine*&kit="), to_notice);
	/* The same form pressed twice adds nothing more. */
	expect_goes(web_post(b->web, ANN, notice_notes, "text=*mine*&kit="), to_notice);
	expect_goes(web_post(b->web, ANN, notice_notes, with_kit), to_kit);
	expect_goes(web_post(b->web, BEN, "/part/notes", "number=WH-2207%2F1+%C3%A9&text=b"),
	            PART_PATH "&said=note-added#note-6");
	expect_goes(web_post(b->web, BEN, "/step/notes", "model=Whimbrel+T&code=14-4&text=c"),
	            STEP_PATH "&said=note-added#note-7");
	assert_int_equal(count_on(b, &b->on_notice), 3);
	assert_int_equal(count_on(b, &on_part), 2);
	assert_int_equal(count_on(b, &on_step), 1);
	expect_holds(web_get(b->web, VISITOR, STEP_PATH), "<p>c</p>");
	snprintf(to_kit, sizeof to_kit, "/kits/%lld/notices/%lld", kit, notice);
	expect_holds(web_get(b->web, ANN, to_kit), "<em>mine</em>");
}

static void bad_notes_are_refused(void **state)
{
	struct board *b = *state;
	char notice_notes[60];
	static char longest[NOTE_LONGEST + 50] = "number=WH-2207%2F1+%C3%A9&text=";
	const struct {
		const char *path, *body, *holds;
		unsigned status;
	} rows[] = {
	        {notice_notes, "text=", "Note is needed", 422},
	        {notice_notes, "text=+%0A", "Note is needed", 422},
	        {notice_notes, "text=%FF", "", 422},
	        {notice_notes, "", "", 422},
	        {notice_notes, "text=kept&kit=x", "kept</textarea>", 422},
	        {notice_notes, "text=a&number=1", "", 400},
	        {"/notices/9999/notes", "text=a", "", 404},
	        {"/part/notes", "text=kept", "kept</textarea>", 422},
	        {"/part/notes", "number=X-1&text=", "name=\"number\" value=\"X-1\"", 422},
	        {"/part/notes", longest, "", 422},
	        {"/step/notes", "model=W&code=&text=kept", "kept</textarea>", 422},
	        {"/step/notes", "model=&code=1&text=kept", "name=\"code\" value=\"1\"", 422},
	        {"/step/notes", "model=W&code=1", "name=\"model\" value=\"W\"", 422},
	};
	const struct note_subject w1 = {NOTE_ON_STEP, {0}, "W", "1"};

	snprintf(notice_notes, sizeof notice_notes, "/notices/%lld/notes", (long long)b->notice.v);
	memset(longest + strlen(longest), 'x', NOTE_LONGEST + 1);
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		const struct response *r = web_post(b->web, ANN, rows[i].path, rows[i].body);

		assert_int_equal(r->status, rows[i].status);
		expect_holds(r, rows[i].holds);
	}
	assert_int_equal(count_on(b, &b->on_notice), 1);
	assert_int_equal(count_on(b, &on_part), 1);
	assert_int_equal(count_on(b, &w1), 0);
}

static void enough_for_a_day_is_said_on_the_form(void **state)
{
	struct board *b = *state;
	const struct response *r;
	char text[20];

	for (int i = 0; i < NOTES_A_DAY; i++) {
		snprintf(text, sizeof text, "note %d", i);
		add(b, &on_part, STEWARD, text);
	}
	r = web_post(b->web, STEWARD, "/part/notes", "number=WH-2207%2F1+%C3%A9&text=kept+words");
	assert_int_equal(r->status, 422);
	expect_holds(r, "At most 100 notes and answers for a member within a day. Keep");
	expect_holds(r, "kept words");
	r = web_post(b->web, STEWARD, note_path(b->ben, "/answer"), "text=kept+answer");
	assert_int_equal(r->status, 422);
	expect_holds(r, "At most 100 notes and answers for a member within a day");
	expect_holds(r, "kept answer");
}

static void only_members_write(void **state)
{
	struct board *b = *state;
	const struct {
		const char *act, *body;
	} rows[] = {{"/answer", "text=a"},
	            {"/edit", "text=a"},
	            {"/remove", ""},
	            {"/call", "reason=a"},
	            {"/helped", "helped=yes"}};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		const char *path = note_path(b->ann, rows[i].act);

		assert_int_equal(web_post(b->web, VISITOR, path, rows[i].body)->status, 403);
	}
	assert_int_equal(web_get(b->web, VISITOR, note_path(b->ann, "/history"))->status, 303);
	assert_int_equal(web_get(b->web, VISITOR, "/board/calls")->status, 303);
	assert_string_equal(note_now(b, b->ann).text, "of *Ann* <script>");
}

/* ---- the order ---- */

static const char *place_of(const struct response *r, const char *text)
{
	const char *at = memmem(r->body, r->len, text, strlen(text));

	assert_non_null(at);
	return at;
}

static void what_helped_comes_first(void **state)
{
	struct board *b = *state;
	struct note_id later = add(b, &on_part, ANN, "a later one");
	const struct response *r = web_get(b->web, VISITOR, PART_PATH);

	assert_true(place_of(r, "a later one") < place_of(r, "of Ben"));
	expect_goes(web_post(b->web, ANN, note_path(b->ben, "/helped"), "helped=yes&kit=&back="),
	            PART_PATH "&said=note-helped#note-2");
	web_post(b->web, STEWARD, note_path(b->ben, "/helped"), "helped=yes");
	r = web_get(b->web, ANN, PART_PATH);
	assert_true(place_of(r, "of Ben") < place_of(r, "a later one"));
	expect_holds(r, "helped 2 members");
	expect_holds(r, "Take back that it helped");
	r = web_get(b->web, ANN, PART_PATH "&order=newest");
	assert_true(place_of(r, "a later one") < place_of(r, "of Ben"));
	expect_goes(web_post(b->web, ANN, note_path(b->ben, "/helped"), "helped=no&back=alone"),
	            "/notes/2?said=note-helped-not#note-2");
	expect_holds(web_get(b->web, ANN, PART_PATH), "helped one member");
	assert_int_equal(note_now(b, later).helped, 0);
}

static void bad_thanks_are_refused(void **state)
{
	struct board *b = *state;
	const struct {
		enum who who;
		int64_t note;
		const char *body;
		unsigned status;
	} rows[] = {{ANN, b->ann.v, "helped=yes", 403},
	            {ANN, 99, "helped=yes", 404},
	            {BEN, b->ann.v, "helped=maybe", 400},
	            {BEN, b->ann.v, "", 400},
	            {BEN, b->ann.v, "helped=yes&back=elsewhere", 400},
	            {BEN, b->ann.v, "helped=yes&more=1", 400}};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_int_equal(web_post(b->web, rows[i].who,
		                          path_of("/notes", rows[i].note, "/helped"), rows[i].body)
		                         ->status,
		                 rows[i].status);
	assert_int_equal(note_now(b, b->ann).helped, 0);
	expect_lacks(web_get(b->web, ANN, note_path(b->ann, "")), "/notes/1/helped");
}

static void long_lists_show_their_beginning_and_the_newest(void **state)
{
	struct board *b = *state;
	char notice[60], list[100], text[20];
	const struct response *r;

	snprintf(notice, sizeof notice, "/notices/%lld", (long long)b->notice.v);
	snprintf(list, sizeof list, "%s/notes?order=newest&page=2", notice);
	for (int i = 0; i < 12; i++) {
		snprintf(text, sizeof text, "number %d.", i);
		assert_int_equal(note_set_helped(web_store(b->web),
		                                 add(b, &b->on_notice, ANN, text),
		                                 web_member(b->web, BEN), true),
		                 ST_OK);
	}
	add(b, &b->on_notice, ANN, "fresh.");
	r = web_get(b->web, VISITOR, notice);
	expect_holds(r, "number 11.");
	expect_lacks(r, "number 1.");
	expect_holds(r, "The newest");
	assert_true(place_of(r, "number 2.") < place_of(r, "fresh."));
	expect_holds(r, "All 14 notes");
	for (int i = 0; i < 12; i++) {
		snprintf(text, sizeof text, "more %d.", i);
		add(b, &b->on_notice, ANN, text);
	}
	r = web_get(b->web, VISITOR, list);
	expect_holds(r, "21 to 26 of 26");
	expect_holds(r, "of <em>Ann</em>");
	assert_int_equal(web_get(b->web, VISITOR, notice)->status, 200);
}

static void long_notes_are_cut_in_lists(void **state)
{
	struct board *b = *state;
	static char text[6000];

	memset(text, 'x', sizeof text - 10);
	for (size_t i = 40; i < sizeof text - 10; i += 40)
		text[i] = ' ';
	strcpy(text + sizeof text - 10, " the end");
	struct note_id id = add(b, &on_part, ANN, text);

	expect_lacks(web_get(b->web, VISITOR, PART_PATH), "the end");
	expect_holds(web_get(b->web, VISITOR, PART_PATH), "All of this note");
	expect_holds(web_get(b->web, VISITOR, note_path(id, "")), "the end");
}

/* ---- one note, and answers ---- */

static void a_note_stands_with_its_answers(void **state)
{
	struct board *b = *state;
	const struct response *r = web_get(b->web, VISITOR, note_path(b->ann, ""));
	char url[60];

	assert_int_equal(r->status, 200);
	expect_holds(r, "A note on SB-1 Bronze &lt;bushing&gt;");
	expect_holds(r, "id=\"note-3\"");
	expect_lacks(r, "Answer this note");
	r = web_get(b->web, ANN, note_path(b->answer, ""));
	expect_holds(r, "id=\"note-1\"");
	expect_holds(r, "id=\"note-3\"");
	expect_holds(r, "Answer this note");
	snprintf(url, sizeof url, "?kit=%lld", (long long)web_kit(b->web, ANN).v);
	r = web_get(b->web, ANN, note_path(b->ann, url));
	snprintf(url, sizeof url, "href=\"/kits/%lld/notices/%lld\"",
	         (long long)web_kit(b->web, ANN).v, (long long)b->notice.v);
	expect_holds(r, url);
	assert_int_equal(web_get(b->web, VISITOR, "/notes/99")->status, 404);
	assert_int_equal(web_get(b->web, VISITOR, "/notes/x")->status, 404);
	assert_int_equal(web_get(b->web, VISITOR, "/notes/1?kit=x")->status, 422);
	assert_int_equal(web_get(b->web, VISITOR, "/notes/1?more=1")->status, 400);
}

static void answers_are_added(void **state)
{
	struct board *b = *state;
	static const char *const bad[] = {"text=", "", "text=%FF"};

	assert_int_equal(web_get(b->web, STEWARD, note_path(b->answer, "/answer"))->status, 200);
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		assert_int_equal(
		        web_post(b->web, STEWARD, note_path(b->ann, "/answer"), bad[i])->status,
		        422);
	expect_holds(web_post(b->web, STEWARD, note_path(b->ann, "/answer"), "text=kept&kit=x"),
	             "kept</textarea>");
	expect_goes(web_post(b->web, STEWARD, note_path(b->answer, "/answer"), "text=so&kit=7"),
	            "/notes/4?kit=7&said=answer-added#note-4");
	assert_int_equal(note_now(b, (struct note_id){4}).answers.v, b->ann.v);
	assert_int_equal(web_post(b->web, STEWARD, "/notes/99/answer", "text=a")->status, 404);
	assert_int_equal(web_post(b->web, ANN, note_path(b->ann, "/remove"), "kit=")->status, 303);
	assert_int_equal(web_post(b->web, ANN, note_path(b->ann, "/answer"), "text=a")->status,
	                 404);
	assert_int_equal(web_get(b->web, ANN, note_path(b->ann, "/answer"))->status, 404);
	expect_holds(web_get(b->web, ANN, note_path(b->ann, "")), "answer of Ben");
}

/* ---- editing ---- */

static void authors_edit_and_members_read_the_history(void **state)
{
	struct board *b = *state;
	const struct response *r = web_get(b->web, ANN, note_path(b->ann, "/edit"));

	expect_holds(r, "of *Ann* &lt;script&gt;</textarea>");
	expect_goes(web_post(b->web, ANN, note_path(b->ann, "/edit"), "text=better&kit="),
	            "/notes/1?said=note-edited#note-1");
	r = web_get(b->web, BEN, note_path(b->ann, ""));
	expect_holds(r, "edited <time");
	expect_holds(r, "/notes/1/history");
	expect_lacks(web_get(b->web, VISITOR, note_path(b->ann, "")), "/notes/1/history");
	r = web_get(b->web, BEN, note_path(b->ann, "/history"));
	expect_holds(r, "of <em>Ann</em> &lt;script&gt;");
	expect_holds(r, "better");
	assert_int_equal(web_post(b->web, ANN, note_path(b->ann, "/remove"), "")->status, 303);
	assert_int_equal(web_get(b->web, ANN, note_path(b->ann, "/history"))->status, 404);
}

static void bad_edits_are_refused(void **state)
{
	struct board *b = *state;
	const struct {
		enum who who;
		int64_t note;
		const char *body;
		unsigned status;
	} rows[] = {{BEN, b->ann.v, "text=x", 403},   {STEWARD, b->ann.v, "text=x", 403},
	            {ADMIN, b->ann.v, "text=x", 403}, {ANN, 99, "text=x", 404},
	            {ANN, b->ann.v, "text=", 422},    {ANN, b->ann.v, "text=%FF", 422},
	            {ANN, b->ann.v, "words=x", 400},  {ANN, b->ann.v, "text=x&kit=y", 422}};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_int_equal(web_post(b->web, rows[i].who,
		                          path_of("/notes", rows[i].note, "/edit"), rows[i].body)
		                         ->status,
		                 rows[i].status);
	assert_int_equal(web_get(b->web, BEN, note_path(b->ann, "/edit"))->status, 403);
	assert_string_equal(note_now(b, b->ann).text, "of *Ann* <script>");
	assert_int_equal(note_now(b, b->ann).edited_at, 0);
}

/* ---- removing ---- */

static void authors_and_stewards_remove(void **state)
{
	struct board *b = *state;

	assert_int_equal(web_get(b->web, BEN, note_path(b->ann, "/remove"))->status, 403);
	assert_int_equal(web_post(b->web, BEN, note_path(b->ann, "/remove"), "")->status, 403);
	assert_int_equal(web_get(b->web, ANN, note_path(b->ann, "/remove"))->status, 200);
	expect_goes(web_post(b->web, ANN, note_path(b->ann, "/remove"), "kit=4"),
	            "/notes/1?kit=4&said=note-removed#note-1");
	assert_int_equal(web_post(b->web, ANN, note_path(b->ann, "/remove"), "")->status, 404);
	assert_int_equal(web_get(b->web, ANN, note_path(b->ann, "/remove"))->status, 404);
	assert_int_equal(web_post(b->web, STEWARD, note_path(b->ben, "/remove"), "")->status, 303);
	expect_holds(web_get(b->web, ANN, PART_PATH), "Removed by Sue Steward");
	expect_holds(web_get(b->web, VISITOR, PART_PATH), "Removed by a member");
	expect_lacks(web_get(b->web, ANN, PART_PATH), "of Ben");
}

/* ---- search ---- */

static void notes_are_searched(void **state)
{
	struct board *b = *state;
	const struct {
		enum who who;
		const char *query, *holds;
	} rows[] = {{VISITOR, "?words=answ", "<b>answer</b> of Ben"},
	            {VISITOR, "?words=answ", "Answer to a note on SB-1"},
	            {VISITOR, "?words=of+ben", "2 found"},
	            {VISITOR, "", "3 found"},
	            {VISITOR, "?words=nothing", "Nothing found"},
	            {VISITOR, "?words=%2B", "Nothing found"},
	            {VISITOR, "?words=script", "&lt;<b>script</b>&gt;"},
	            {VISITOR, "?mine=yes", "3 found"},
	            {BEN, "?mine=yes", "2 found"},
	            {ADMIN, "?mine=yes", "You have written no note yet"},
	            {BEN, "?mine=yes&words=ann", "Nothing found"},
	            {ANN, "?words=ben&page=2", "Nothing found"},
	            {BEN, "?words=part", "Nothing found"}};
	static const char *const bad[] = {"?page=0", "?page=x", "?mine=perhaps", "?words=%FF"};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char path[100];
		const struct response *r;

		snprintf(path, sizeof path, "/notes%s", rows[i].query);
		r = web_get(b->web, rows[i].who, path);
		assert_int_equal(r->status, 200);
		expect_holds(r, rows[i].holds);
	}
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		char path[100];

		snprintf(path, sizeof path, "/notes%s", bad[i]);
		assert_int_equal(web_get(b->web, ANN, path)->status, 422);
	}
	expect_lacks(web_get(b->web, VISITOR, "/notes"), "Only mine");
}

/* ---- what is known of a part, of a step ---- */

static void parts_and_steps_are_known(void **state)
{
	struct board *b = *state;
	char notice[60];
	const struct {
		const char *path, *holds;
	} rows[] = {{PART_PATH, "affected part: replace (left)"},
	            {PART_PATH, notice},
	            {PART_PATH, "href=\"/part?number=WH-2207-2\""},
	            {"/part?number=WH-2207-2", "takes the place of WH-2207/1 é"},
	            {"/part?number=WH-2207-2", "It took the place of"},
	            {"/part?number=NONE-1", "None."},
	            {"/part", "What is known of a part"},
	            {"/part?number=", "What is known of a part"},
	            {STEP_PATH, "Rivet the tail"},
	            {STEP_PATH, "affected step"},
	            {STEP_PATH, "href=\"" PART_PATH "\""},
	            {"/step?model=Whimbrel&code=14-4", "No build line"},
	            {"/step?model=Whimbrel&code=14-4", "None."},
	            {"/step?model=Whimbrel+T&code=99", "No build line"},
	            {"/step?code=14-4", "href=\"/step?model=Whimbrel%20T&amp;code=14-4\""},
	            {"/step?code=99", "What is known of a step"},
	            {"/step", "What is known of a step"},
	            {"/step?model=Whimbrel", "What is known of a step"}};
	static const char *const bad[] = {"/part?number=%FF", "/part?number=A&page=0",
	                                  "/part?number=A&order=x", "/step?model=W&code=%FF"};

	snprintf(notice, sizeof notice, "href=\"/notices/%lld\"", (long long)b->notice.v);
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		const struct response *r = web_get(b->web, i % 2 ? VISITOR : ANN, rows[i].path);

		assert_int_equal(r->status, 200);
		expect_holds(r, rows[i].holds);
	}
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		assert_int_equal(web_get(b->web, VISITOR, bad[i])->status, 422);
	snprintf(notice, sizeof notice, "/notices/%lld", (long long)b->notice.v);
	expect_holds(web_get(b->web, VISITOR, notice), "href=\"" PART_PATH "\"");
	expect_holds(web_get(b->web, VISITOR, notice), "href=\"/step?code=14-4\"");
}

static void reports_are_known_with_their_part_and_step(void **state)
{
	struct board *b = *state;
	static const char *const parts[] = {"wh-2207/1 é"};
	const struct report_content content = {.title = "Crack <at the tube>",
	                                       .model = "whimbrel t",
	                                       .step = "14-4",
	                                       .zone = "",
	                                       .seen = "A crack.",
	                                       .look = "",
	                                       .severity = SEVERITY_WORK,
	                                       .effectivity = "all",
	                                       .parts = {parts, 1}};
	static const char *const others[] = {"/part?number=WH-2207", "/step?model=W&code=14-4",
	                                     "/step?model=Whimbrel+T&code=14"};
	struct report_id id;

	expect_lacks(web_get(b->web, ANN, PART_PATH), "Field reports on it");
	assert_int_equal(report_add(web_store(b->web), &content, web_kit(b->web, ANN),
	                            web_member(b->web, ANN), CREDIT_NOBODY, WEB_START, &id),
	                 ST_OK);
	expect_holds(web_get(b->web, VISITOR, PART_PATH), "Crack &lt;at the tube&gt;");
	expect_holds(web_get(b->web, VISITOR, STEP_PATH), "Crack &lt;at the tube&gt;");
	for (size_t i = 0; i < sizeof others / sizeof *others; i++)
		expect_lacks(web_get(b->web, ANN, others[i]), "Field reports on it");
}

/* ---- for programs ---- */

static void programs_read_notes(void **state)
{
	struct board *b = *state;
	const struct {
		const char *query;
		unsigned status;
	} rows[] = {{"", 200},         {"?order=newest", 200}, {"?limit=1&offset=1", 200},
	            {"?limit=0", 400}, {"?order=best", 400},   {"?offset=-1", 400},
	            {"?mine=yes", 400}};
	char path[100];
	const struct response *r;

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		snprintf(path, sizeof path, "/api/v1/notices/%lld/notes%s", (long long)b->notice.v,
		         rows[i].query);
		assert_int_equal(web_api(b->web, BEN, path)->status, rows[i].status);
	}
	snprintf(path, sizeof path, "/api/v1/notices/%lld/notes", (long long)b->notice.v);
	r = web_api(b->web, BEN, path);
	expect_holds(r, "\"author\":\"Ann Builder\"");
	expect_holds(r, "\"answers_total\":1");
	assert_int_equal(r->cache, CACHE_PRIVATE);
	r = web_get(b->web, ANN, path); /* a cookie is no token */
	expect_holds(r, "\"author\":\"a member\"");
	expect_lacks(r, "Ann Builder");
	expect_lacks(r, "Ben Builder");
	assert_int_equal(r->cache, CACHE_PUBLIC);
	assert_int_equal(web_api(b->web, BEN, "/api/v1/notices/99/notes")->status, 404);
}

/* ---- calls for a steward ---- */

static int64_t waiting(struct board *b)
{
	int64_t count;

	assert_int_equal(calls_waiting(web_store(b->web), &count), ST_OK);
	return count;
}

static void members_call_a_steward(void **state)
{
	struct board *b = *state;
	const struct {
		enum who who;
		int64_t note;
		const char *body;
		unsigned status;
	} rows[] = {{ANN, b->ann.v, "reason=mine", 403},
	            {BEN, 99, "reason=x", 404},
	            {BEN, b->ann.v, "reason=", 422},
	            {BEN, b->ann.v, "", 422},
	            {BEN, b->ann.v, "reason=x&a=b", 400}};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_int_equal(web_post(b->web, rows[i].who,
		                          path_of("/notes", rows[i].note, "/call"), rows[i].body)
		                         ->status,
		                 rows[i].status);
	assert_int_equal(waiting(b), 0);
	assert_int_equal(web_get(b->web, ANN, note_path(b->ann, "/call"))->status, 403);
	assert_int_equal(web_get(b->web, BEN, note_path(b->ann, "/call"))->status, 200);
	expect_goes(web_post(b->web, BEN, note_path(b->ann, "/call"), "reason=Rude+%3Cb%3E&kit="),
	            "/notes/1?said=steward-called#note-1");
	assert_int_equal(waiting(b), 1);
	expect_holds(web_post(b->web, BEN, note_path(b->ann, "/call"), "reason=again"),
	             "You have called a steward");
	assert_int_equal(waiting(b), 1);
	expect_holds(web_get(b->web, STEWARD, "/board"), "Calls for a steward: 1 waits");
}

static void stewards_close_calls(void **state)
{
	struct board *b = *state;
	const struct response *r;

	web_post(b->web, BEN, note_path(b->ann, "/call"), "reason=Rude+%3Cb%3E");
	web_post(b->web, STEWARD, note_path(b->ann, "/call"), "reason=Odd");
	assert_int_equal(web_get(b->web, BEN, "/board/calls")->status, 403);
	assert_int_equal(web_get(b->web, BEN, "/board/calls/1")->status, 403);
	assert_int_equal(web_post(b->web, BEN, "/board/calls/1", "act=leave&outcome=x")->status,
	                 403);
	r = web_get(b->web, STEWARD, "/board/calls");
	expect_holds(r, "Rude &lt;b&gt;");
	expect_holds(r, "Ben Builder called to a note by Ann Builder");
	r = web_get(b->web, STEWARD, "/board/calls/1");
	expect_holds(r, "of *Ann* &lt;script&gt;");
	expect_holds(r, "Take it away");
	assert_int_equal(web_post(b->web, STEWARD, "/board/calls/1", "act=leave")->status, 422);
	expect_holds(web_post(b->web, STEWARD, "/board/calls/1", "outcome=kept"),
	             "kept</textarea>");
	assert_int_equal(web_post(b->web, STEWARD, "/board/calls/1", "act=burn&outcome=x")->status,
	                 422);
	assert_int_equal(web_post(b->web, STEWARD, "/board/calls/9", "act=leave&outcome=x")->status,
	                 404);
	expect_goes(web_post(b->web, STEWARD, "/board/calls/1", "act=leave&outcome=It+is+so."),
	            "/board/calls?said=call-left");
	assert_string_equal(note_now(b, b->ann).text, "of *Ann* <script>");
	expect_goes(web_post(b->web, ADMIN, "/board/calls/1", "act=take+away&outcome=x"),
	            "/board/calls?said=call-closed-already");
	expect_goes(web_post(b->web, ADMIN, "/board/calls/2", "act=take+away&outcome=Gone."),
	            "/board/calls?said=call-taken-away");
	assert_string_equal(note_now(b, b->ann).text, "");
	r = web_get(b->web, STEWARD, "/board/calls/1");
	expect_holds(r, "It is so.");
	expect_holds(r, "It is removed by now.");
	expect_lacks(r, "Close the call");
	assert_int_equal(waiting(b), 0);
	assert_int_equal(web_get(b->web, STEWARD, "/board/calls/99")->status, 404);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(notes_are_shown_to_all),
	        TEST(notes_are_added_where_they_belong),
	        TEST(bad_notes_are_refused),
	        TEST(enough_for_a_day_is_said_on_the_form),
	        TEST(only_members_write),
	        TEST(what_helped_comes_first),
	        TEST(bad_thanks_are_refused),
	        TEST(long_lists_show_their_beginning_and_the_newest),
	        TEST(long_notes_are_cut_in_lists),
	        TEST(a_note_stands_with_its_answers),
	        TEST(answers_are_added),
	        TEST(authors_edit_and_members_read_the_history),
	        TEST(bad_edits_are_refused),
	        TEST(authors_and_stewards_remove),
	        TEST(notes_are_searched),
	        TEST(parts_and_steps_are_known),
	        TEST(reports_are_known_with_their_part_and_step),
	        TEST(programs_read_notes),
	        TEST(members_call_a_steward),
	        TEST(stewards_close_calls),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
