/* test_present.c - presenters and drawings: each view fills its partial, and
 * says what the struct says.
 */
#include <string.h>

#include "support.h"

#include "base/mem.h"
#include "base/text.h"
#include "web/html/drawing.h"
#include "web/html/due_view.h"
#include "web/html/present.h"
#include "web/http/context.h"
#include "web/html/tmpl.h"

extern const struct embedded_file views_files[];
extern const size_t views_files_count;

static struct tmpl_set *views;

static int compile_views(void **state)
{
	struct tmpl_fault fault = {.words = ""};
	enum status status = tmpl_set_new(views_files, views_files_count, &views, &fault);

	(void)state;
	if (status != ST_OK)
		print_error("%s:%u:%u: %s\n", fault.file, fault.line, fault.column, fault.words);
	return status == ST_OK ? 0 : -1;
}

static int free_views(void **state)
{
	(void)state;
	tmpl_set_free(views);
	return 0;
}

/* Fills a partial with a view, which it takes; the page is freed by the caller. */
static struct text fill(const char *partial, json_t *view)
{
	struct text page = TEXT_EMPTY;
	struct tmpl_fault fault = {.words = ""};
	enum status status;

	assert_non_null(view);
	status = tmpl_render(views, partial, view, &page, &fault);
	if (status != ST_OK)
		print_error("%s:%u: %s\n", fault.file, fault.line, fault.words);
	assert_int_equal(status, ST_OK);
	json_decref(view);
	return page;
}

static void assert_holds(const struct text *page, const char *words)
{
	if (!strstr(text_string(page), words))
		print_error("no \"%s\" in:\n%s\n", words, text_string(page));
	assert_non_null(strstr(text_string(page), words));
}

static void assert_lacks(const struct text *page, const char *words)
{
	if (strstr(text_string(page), words))
		print_error("\"%s\" in:\n%s\n", words, text_string(page));
	assert_null(strstr(text_string(page), words));
}

static const struct effectivity *parse(struct arena *arena, const char *text)
{
	const struct effectivity *statement = NULL;
	struct statement_fault fault;

	assert_int_equal(effectivity_parse(arena, text, strlen(text), &statement, &fault), ST_OK);
	return statement;
}

static struct text draw(struct arena *arena, const char *statement, const struct facts *facts)
{
	return fill("effectivity.html", drawing_view(parse(arena, statement), facts));
}

static void test_prose_has_steps_bullets_and_paragraphs(void **state)
{
	static const struct {
		const char *text, *wanted, *unwanted;
	} rows[] = {
	        {"One.\ntwo\n\nThree.", "One.\ntwo</p>", "<li>"},
	        {"1. Drill.\n2. Deburr.", "<span class=\"step-tag\">2</span>", "<p"},
	        {"1. Drill.\nfrom below\n2. Go", "Drill.\nfrom below</span>", "<p"},
	        {"Do:\n1. Drill.\n\nThen rest.", "Then rest.</p>", "Drill.</p>"},
	        {"- a\n- b", "<li class=\"lines\">b</li>", "- b"},
	        {"1.5 inches of angle", "1.5 inches of angle</p>", "step-tag"},
	        {"2019. A year.", "2019. A year.</p>", "step-tag"},
	        {"1.", "1.</p>", "step-tag"},
	        {"<b>\"&'", "&lt;b&gt;&quot;&amp;&#39;</p>", "<b>"},
	        {"\n \n\nlast", "last</p>", "<p class=\"lines\"></p>"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct text page = fill("prose.html", present_prose(rows[i].text));

		assert_holds(&page, rows[i].wanted);
		assert_lacks(&page, rows[i].unwanted);
		text_free(&page);
	}
}

static void test_blank_prose_is_false(void **state)
{
	json_t *view = present_prose(" \n\t\n");

	(void)state;
	assert_true(json_is_false(view));
	json_decref(view);
}

static void test_limits_in_words(void **state)
{
	static const struct {
		const char *text, *words;
	} rows[] = {
	        {"then\nevery 50 hours", "Due again every 50 hours."},
	        {"within 1 hour of issue", "Due within 1 hour of issue."},
	        {"", NULL},
	        {" \n", NULL},
	        {"within", NULL}, /* a fault is said elsewhere */
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		json_t *view = due_sentence_view(rows[i].text);

		if (rows[i].words)
			assert_string_equal(json_string_value(view), rows[i].words);
		else
			assert_true(json_is_false(view));
		json_decref(view);
	}
}

static void test_limits_read_back(void **state)
{
	static const struct {
		const char *text, *key, *words; /* words NULL: true */
	} rows[] = {
	        {"", "empty", NULL},
	        {"Within 2 Hour of ISSUE", "words", "Due within 2 hours of issue."},
	        {"within 2 hours of issue", "normal", "within 2 hours of issue\n"},
	        {"then\nevery", "fault",
	         "Line 2, column 6: expected hours, landings, days, months, calendar months or "
	         "years"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		json_t *view = due_back_view(rows[i].text);
		json_t *value = json_object_get(json_object_get(view, "due_back"), rows[i].key);

		if (rows[i].words)
			assert_string_equal(json_string_value(value), rows[i].words);
		else
			assert_true(json_is_true(value));
		json_decref(view);
	}
}

static bool try_back(void *text)
{
	json_t *view = due_back_view(text);
	bool fine = view != NULL;

	json_decref(view);
	return fine;
}

static void test_reading_back_may_run_out_of_memory(void **state)
{
	char fine[] = "within 2 hours of issue", fault[] = "within";

	(void)state;
	try_each_allocation(try_back, fine, false);
	try_each_allocation(try_back, fault, false);
}

static void test_pager_keeps_the_filter(void **state)
{
	static const struct http_field fields[] = {
	        {"q", "a&b <c>", 7}, {"page", "2", 1}, {"kind", "", 0}};
	const struct http_fields query = {fields, 3};
	const struct page page = {10, 10};
	json_t *view = present_pager("/notices", &query, &page, 25);

	(void)state;
	assert_string_equal(json_string_value(json_object_get(view, "next_url")),
	                    "/notices?q=a%26b%20%3Cc%3E&page=3");
	assert_string_equal(json_string_value(json_object_get(view, "previous_url")),
	                    "/notices?q=a%26b%20%3Cc%3E&page=1");
	assert_int_equal(json_integer_value(json_object_get(view, "from")), 11);
	assert_int_equal(json_integer_value(json_object_get(view, "to")), 20);
	json_decref(view);
}

static void test_another_group_begins_at_its_first_page(void **state)
{
	static const struct http_field fields[] = {
	        {"q", "a", 1}, {"page", "2", 1}, {"show", "x", 1}};
	const struct http_fields query = {fields, 3};
	json_t *url = present_url_with("/check", &query, "show", "not effective");

	(void)state;
	assert_string_equal(json_string_value(url), "/check?q=a&show=not%20effective");
	json_decref(url);
}

static void test_pager_ends(void **state)
{
	static const struct {
		struct page page;
		int64_t total;
		bool before, after;
		int from, to;
	} rows[] = {
	        {{10, 0}, 0, false, false, 0, 0},    {{10, 0}, 10, false, false, 1, 10},
	        {{10, 0}, 11, false, true, 1, 10},   {{10, 10}, 11, true, false, 11, 11},
	        {{10, 90}, 11, true, false, 11, 11},
	};
	const struct http_fields none = {NULL, 0};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		json_t *view = present_pager("/x", &none, &rows[i].page, rows[i].total);

		assert_int_equal(json_is_string(json_object_get(view, "previous_url")),
		                 rows[i].before);
		assert_int_equal(json_is_string(json_object_get(view, "next_url")), rows[i].after);
		assert_int_equal(json_integer_value(json_object_get(view, "from")), rows[i].from);
		assert_int_equal(json_integer_value(json_object_get(view, "to")), rows[i].to);
		json_decref(view);
	}
}

static void test_row_shows_hostile_words_as_words(void **state)
{
	const struct notice_row row = {.id = {7},
	                               .number = "\"><script>",
	                               .revision = "<i>",
	                               .issuer = "'&",
	                               .title = "\"><script>alert(1)</script>",
	                               .issued = "2017-09",
	                               .cancelled_on = ""};
	struct text page = fill("rows.html", json_pack("{s:[o]}", "rows", present_row(&row)));

	(void)state;
	assert_lacks(&page, "<script");
	assert_lacks(&page, "<i>");
	assert_holds(&page, "href=\"/notices/7\"");
	assert_holds(&page, "<time datetime=\"2017-09\">September 2017</time>");
	assert_lacks(&page, "cancelled");
	text_free(&page);
}

static void test_drawing_of_serials(void **state)
{
	struct arena *arena = arena_new();
	struct text page =
	        draw(arena, "serial WH-0100 thru WH-0200, WH-0300, WH-0400 and on", NULL);

	(void)state;
	/* From 100 to 400 on a scale from 40 to 300: 200 lies at 40 + 260 / 3. */
	assert_holds(&page, "<line class=\"solid\" x1=\"40\" y1=\"25\" x2=\"127\" y2=\"25\"/>");
	assert_holds(&page, "<line class=\"solid\" x1=\"213\" y1=\"54\" x2=\"213\" y2=\"66\"/>");
	assert_holds(&page, "x1=\"300\" y1=\"93\" x2=\"334\" y2=\"93\"");
	assert_holds(&page, "WH-0400 and on</text>");
	assert_lacks(&page, "This kit");
	assert_lacks(&page, "holds");
	text_free(&page);
	arena_free(arena);
}

static void test_drawing_marks_the_kit(void **state)
{
	struct arena *arena = arena_new();
	struct facts facts = {.has_serial = true};
	struct text page;

	(void)state;
	assert_int_equal(serial_make(arena, "WH-0150", 7, &facts.serial), ST_OK);
	page = draw(arena, "serial WH-0100 thru WH-0200", &facts);
	assert_holds(&page, "<path class=\"here-mark\"");
	assert_holds(&page, "This kit: WH-0150</text>");
	assert_holds(&page, ">holds<");
	text_free(&page);
	/* Another shape lies on no scale. */
	assert_int_equal(serial_make(arena, "T-150", 5, &facts.serial), ST_OK);
	page = draw(arena, "serial WH-0100 thru WH-0200", &facts);
	assert_lacks(&page, "here-mark");
	assert_holds(&page, ">does not hold<");
	text_free(&page);
	arena_free(arena);
}

static void test_partial_date_is_a_span(void **state)
{
	static const struct {
		const char *date;
		bool span, mark;
	} rows[] = {{"2017", true, false},
	            {"2017-09", true, false},
	            {"2017-09-24", false, true},
	            {NULL, false, false}};
	struct arena *arena = arena_new();

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct facts facts = {.purchased = {.state = DATE_UNKNOWN}};
		struct text page;

		if (rows[i].date) {
			facts.purchased.state = DATE_KNOWN;
			assert_int_equal(date_parse(rows[i].date, strlen(rows[i].date),
			                            &facts.purchased.date),
			                 ST_OK);
		}
		page = draw(arena, "purchased 2011 thru 2013-06\nor\nplans before 2014", &facts);
		assert_int_equal(strstr(text_string(&page), "here-span") != NULL, rows[i].span);
		assert_int_equal(strstr(text_string(&page), "here-mark") != NULL, rows[i].mark);
		assert_holds(&page, "before 2014</text>");
		text_free(&page);
	}
	arena_free(arena);
}

static void test_every_kind_of_condition_draws(void **state)
{
	static const char *const statements[] = {
	        "all",
	        "model Whimbrel, Whimbrel T\nserial up to WH-0120",
	        "not serial WH-0101 thru WH-0110",
	        "purchased before 2017\nplans 2017-09",
	        "first-flight after 2017\nsubkit 4\nshipped 4 2017 and on",
	        "option tailwheel\nnot option \"floats\"",
	        "part WH-2207-1 lot 3 thru 9, 12\npart X serial L-1-76 thru L-9-76",
	        "notice HB-1\nstep EMP-01\nhours 10 thru 20.5\nlandings up to 100",
	        "serial A-1 thru A-9, B-1 thru B-9, C-7",
	};
	struct arena *arena = arena_new();
	struct facts nothing = {.has_serial = false};

	(void)state;
	for (size_t i = 0; i < sizeof statements / sizeof statements[0]; i++) {
		struct text page = draw(arena, statements[i], NULL);

		text_free(&page);
		page = draw(arena, statements[i], &nothing);
		text_free(&page);
	}
	arena_free(arena);
}

struct drawn {
	const struct effectivity *statement;
	const struct facts *facts;
};

static bool try_drawing(void *context)
{
	const struct drawn *drawn = context;
	json_t *view = drawing_view(drawn->statement, drawn->facts);

	json_decref(view);
	return view != NULL;
}

static void test_drawing_when_memory_runs_out(void **state)
{
	struct arena *arena = arena_new();
	struct facts facts = {.has_serial = true};
	struct drawn drawn = {
	        parse(arena, "serial WH-1 thru WH-9, WH-20\npart P lot 2\nor\nplans 2017"), &facts};

	(void)state;
	assert_int_equal(serial_make(arena, "WH-5", 4, &facts.serial), ST_OK);
	try_each_allocation(try_drawing, &drawn, false);
	arena_free(arena);
}

static bool try_revision(void *context)
{
	const struct revision *revision = context;
	const struct context c = {.now = 0};
	json_t *view = present_revision(&c, revision, NULL, NULL);

	json_decref(view);
	return view != NULL;
}

static void test_revision_when_memory_runs_out(void **state)
{
	static const struct line_text lines[] = {
	        {"P-1", "left", "P-2", DISPOSE_REPLACE, "3 thru 9", "look twice"}};
	static const struct material_text material[] = {{"rivet", "16", "", "", ""}};
	static const char *const others[] = {"HB-1", "HB-2"};
	struct revision revision = {.content = {.number = "HB-3",
	                                        .issuer = "Harrowfen",
	                                        .revision = "",
	                                        .title = "Short",
	                                        .problem = "One.\n\n1. Two\n2. Three\n\n- four",
	                                        .action = "",
	                                        .compliance = "",
	                                        .source = "",
	                                        .effectivity = "",
	                                        .issued = "",
	                                        .plans_carry = ""},
	                            .publisher_name = "",
	                            .editor_name = "Ann",
	                            .cancelled_on = "2020",
	                            .cancel_reason = "withdrawn"};

	(void)state;
	revision.content.lines = lines;
	revision.content.n_lines = 1;
	revision.content.material = material;
	revision.content.n_material = 1;
	revision.content.supersedes = (struct text_list){others, 2};
	revision.content.due = "then\nevery 50 hours";
	try_each_allocation(try_revision, &revision, false);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(test_prose_has_steps_bullets_and_paragraphs),
	        cmocka_unit_test(test_blank_prose_is_false),
	        cmocka_unit_test(test_limits_in_words),
	        cmocka_unit_test(test_limits_read_back),
	        cmocka_unit_test(test_reading_back_may_run_out_of_memory),
	        cmocka_unit_test(test_pager_keeps_the_filter),
	        cmocka_unit_test(test_another_group_begins_at_its_first_page),
	        cmocka_unit_test(test_pager_ends),
	        cmocka_unit_test(test_row_shows_hostile_words_as_words),
	        cmocka_unit_test(test_drawing_of_serials),
	        cmocka_unit_test(test_drawing_marks_the_kit),
	        cmocka_unit_test(test_partial_date_is_a_span),
	        cmocka_unit_test(test_every_kind_of_condition_draws),
	        cmocka_unit_test(test_drawing_when_memory_runs_out),
	        cmocka_unit_test(test_revision_when_memory_runs_out),
	};

	json_set_alloc_funcs(mem_alloc, mem_free); /* Jansson's memory fails with ours */
	return cmocka_run_group_tests(tests, compile_views, free_views);
}
