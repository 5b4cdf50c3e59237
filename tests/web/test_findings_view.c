/* test_findings_view.c - what findings add up to, as pages say and draw it. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "build.h"

#include "base/mem.h"
#include "base/text.h"
#include "web/html/findings_view.h"
#include "web/html/tmpl.h"

extern const struct embedded_file views_files[];
extern const size_t views_files_count;

/* From findings, as a report's sheet adds them up. */
static enum status sum_up(struct arena *arena, const struct finding *findings, size_t n,
                          bool settled, json_t **out)
{
	struct findings_tally tally;
	struct split split;
	bool any = false;

	if (findings_tally(arena, findings, n, &tally) != ST_OK ||
	    findings_split(arena, findings, n, &split, &any) != ST_OK)
		return ST_NOMEM;
	*out = findings_view(&tally, any ? &split : NULL, settled);
	return *out ? ST_OK : ST_NOMEM;
}

static struct tmpl_set *views;
static struct arena *arena;

static int begin(void **state)
{
	struct tmpl_fault fault = {.words = ""};

	(void)state;
	arena = arena_new();
	if (arena && tmpl_set_new(views_files, views_files_count, &views, &fault) == ST_OK)
		return 0;
	print_error("%s:%u:%u: %s\n", fault.file, fault.line, fault.column, fault.words);
	return -1;
}

static int end(void **state)
{
	(void)state;
	tmpl_set_free(views);
	arena_free(arena);
	return 0;
}

/* found and not there, then kits that they do not fit; each kit of its own member. */
static json_t *view_of(size_t found, size_t not_there, size_t does_not_fit)
{
	size_t n = found + not_there + does_not_fit;
	struct finding *findings = arena_array(arena, n, sizeof *findings);
	json_t *view = NULL;

	for (size_t i = 0; i < n; i++)
		findings[i] = (struct finding){i < found               ? ANSWER_FOUND
		                               : i < found + not_there ? ANSWER_NOT_THERE
		                                                       : ANSWER_DOES_NOT_FIT,
		                               (int64_t)i, (int64_t)i, NULL};
	assert_int_equal(sum_up(arena, findings, n, false, &view), ST_OK);
	return view;
}

static const char *text_of(const json_t *view, const char *name)
{
	const char *text = json_string_value(json_object_get(view, name));

	return text ? text : "(none)";
}

static json_int_t number_of(const json_t *view, const char *name)
{
	assert_true(json_is_integer(json_object_get(view, name)));
	return json_integer_value(json_object_get(view, name));
}

static struct text draw(const json_t *figure)
{
	struct text page = TEXT_EMPTY;
	struct tmpl_fault fault = {.words = ""};
	enum status status = tmpl_render(views, "findings_figure.html", figure, &page, &fault);

	if (status != ST_OK)
		print_error("%s:%u: %s\n", fault.file, fault.line, fault.words);
	assert_int_equal(status, ST_OK);
	return page;
}

/* Exact limits: 81/263, 0/20 and 1/29 from Newcombe, Statistics in Medicine 17 (1998)
 * 857-872, table I; the rest computed from the definition. */
static void shares_are_told_in_words(void **state)
{
	static const struct {
		size_t found, not_there, does_not_fit;
		const char *share, *low, *high, *words;
	} rows[] = {
	        {0, 0, 0, "(none)", "(none)", "(none)", "Nobody has looked yet."},
	        {0, 0, 3, "(none)", "(none)", "(none)", "Nobody has looked yet."},
	        {81, 182, 2, "30.8", "25.3", "36.8",
	         "Found on 81 of 263 kits: 30.8 %, exact 95 % interval 25.3 to 36.8 %."},
	        {0, 20, 0, "0", "0", "16.8",
	         "Found on 0 of 20 kits: 0 %, exact 95 % interval 0 to 16.8 %."},
	        {1, 28, 0, "3.4", "0.1", "17.8",
	         "Found on 1 of 29 kits: 3.4 %, exact 95 % interval 0.1 to 17.8 %."},
	        {1, 0, 0, "100", "2.5", "100",
	         "Found on 1 of 1 kit: 100 %, exact 95 % interval 2.5 to 100 %."},
	        {1, 1999, 0, "0.1", "under 0.1", "0.3",
	         "Found on 1 of 2000 kits: 0.1 %, exact 95 % interval under 0.1 to 0.3 %."},
	        {1999, 1, 0, "over 99.9", "99.7", "over 99.9",
	         "Found on 1999 of 2000 kits: over 99.9 %, exact 95 % interval 99.7 to over 99.9 "
	         "%."},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		json_t *view = view_of(rows[i].found, rows[i].not_there, rows[i].does_not_fit);
		bool looked = rows[i].found + rows[i].not_there;

		assert_string_equal(text_of(view, "share"), rows[i].share);
		assert_string_equal(text_of(view, "low"), rows[i].low);
		assert_string_equal(text_of(view, "high"), rows[i].high);
		assert_string_equal(text_of(view, "words"), rows[i].words);
		assert_int_equal(number_of(view, "found"), rows[i].found);
		assert_int_equal(number_of(view, "not_there"), rows[i].not_there);
		assert_int_equal(number_of(view, "looked"), rows[i].found + rows[i].not_there);
		assert_int_equal(number_of(view, "does_not_fit"), rows[i].does_not_fit);
		assert_int_equal(json_is_object(json_object_get(view, "figure")), looked);
		assert_true(json_is_false(json_object_get(view, "split")));
		assert_non_null(strstr(text_of(view, "caution"), "not of all kits"));
		json_decref(view);
	}
}

static void the_reason_names_the_notice_when_settled(void **state)
{
	struct finding finding = {ANSWER_FOUND, 1, 1, NULL};
	json_t *view = NULL;

	(void)state;
	for (int settled = 0; settled < 2; settled++) {
		assert_int_equal(sum_up(arena, &finding, 1, settled, &view), ST_OK);
		assert_string_equal(text_of(view, "reason"),
		                    settled ? "A published notice stands for it. Found by 1 member "
		                              "on 1 kit."
		                            : "Found by 1 member on 1 kit.");
		json_decref(view);
	}
}

/* The line runs from limit to limit on the scale of 14 to 326, its arrows' tips are
 * there, and the mark is at the share. */
static void check_row(const json_t *row, size_t found, size_t looked)
{
	struct interval interval = findings_interval(found, looked, 0.95);
	long low = 14 + lround(312 * interval.low), high = 14 + lround(312 * interval.high);
	long at = 14 + lround(312.0 * (double)found / (double)looked), x1, y1, x2, x3;
	json_int_t y = number_of(row, "y");

	assert_int_equal(sscanf(text_of(row, "first"), "M%ld %ld", &x1, &y1), 2);
	assert_int_equal(sscanf(text_of(row, "last"), "M%ld", &x2), 1);
	assert_int_equal(sscanf(text_of(row, "mark"), "M%ld", &x3), 1);
	assert_int_equal(x1, low);
	assert_int_equal(y1, y);
	assert_int_equal(x2, high);
	assert_int_equal(x3, at);
	assert_true(number_of(row, "x1") >= 0 && number_of(row, "x1") <= low);
	assert_true(number_of(row, "x2") <= 340 && number_of(row, "x2") >= high);
	if (high - low >= 30)
		assert_true(number_of(row, "x1") == low && number_of(row, "x2") == high);
	else
		assert_true(number_of(row, "x1") == low - 14 && number_of(row, "x2") == high + 14);
}

static void lines_run_from_limit_to_limit(void **state)
{
	static const size_t sizes[] = {1, 2, 3, 8, 17, 29, 100, 2000};

	(void)state;
	for (size_t i = 0; i < ROWS(sizes); i++)
		for (size_t found = 0; found <= sizes[i]; found += 1 + sizes[i] / 20) {
			json_t *view = view_of(found, sizes[i] - found, 0);
			json_t *figure = json_object_get(view, "figure");
			json_t *rows = json_object_get(figure, "rows");
			struct text page = draw(figure);

			assert_int_equal(json_array_size(rows), 1);
			check_row(json_array_get(rows, 0), found, sizes[i]);
			assert_non_null(strstr(text_string(&page), text_of(view, "words")));
			assert_non_null(strstr(text_string(&page), ">100 %</text>"));
			text_free(&page);
			json_decref(view);
			arena_reset(arena);
		}
}

/* Twelve kits in two groups of six: one has it. Of those without it one half may
 * have other facts. */
static struct finding *three_groups(const char *with, const char *without, const char *others)
{
	struct finding *findings = ARENA_ARRAY(arena, struct finding, 12);

	for (int i = 0; i < 12; i++)
		findings[i] = (struct finding){i < 6 ? ANSWER_FOUND : ANSWER_NOT_THERE, i, i,
		                               make_facts(arena, i < 6   ? with
		                                                 : i < 9 ? without
		                                                         : others)};
	return findings;
}

static struct finding *two_groups(const char *with, const char *without)
{
	return three_groups(with, without, without);
}

static void a_split_that_is_a_hint_is_drawn(void **state)
{
	static const struct {
		const char *with, *without;
		const char *statement, *label, *other, *alt;
		const char *others; /* facts of half of those without it; NULL: the same */
	} rows[] = {
	        {"serial WH-0145", "serial WH-0150", "serial up to WH-0145",
	         "6 of 6, up to WH-0145", "0 of 6, WH-0150 and on",
	         "Kits with serial number up to WH-0145, found on 6 of 6 kits: 100 %, exact 95 % "
	         "interval 54.1 to 100 %; kits with serial number WH-0150 and on, found on 0 of 6 "
	         "kits: "
	         "0 %, exact 95 % interval 0 to 45.9 %"},
	        {"purchased 2018-09-28", "purchased 2017", "purchased 2018-09-28 and on",
	         "6 of 6, 2018-09-28 and on", "0 of 6, up to 2017-12-31", "Kits bought "},
	        {"plans 2019-05", "plans 2017-01", "plans 2019-05", "6 of 6, plans 2019-05",
	         "0 of 6, other plans",
	         "Kits with plans of May 2019, found on 6 of 6 kits: 100 %, exact 95 % interval "
	         "54.1 to 100 %; kits with plans of another issue than May 2019, found on 0 of 6 "
	         "kits: 0 %, exact 95 % interval 0 to 45.9 %",
	         "plans 2022-09"},
	        {"option tailwheel = no", "option tailwheel = yes", "not option tailwheel",
	         "6 of 6, without option tailwheel", "0 of 6, with option tailwheel",
	         "Kits without "},
	        {"part WH-1 | lot 3", "part WH-1 | lot 4", "part WH-1 lot up to 3",
	         "6 of 6, up to 3", "0 of 6, 4 and on",
	         "Kits with part WH-1 of lot up to 3, found on "},
	        {"option a, b = yes", "option a, b = no", "(none)", "6 of 6, with option a, b",
	         "0 of 6, without option a, b", "Kits with option a, b, found"},
	        /* 40 characters of two bytes: cut between them. */
	        {"option éééééééééééééééééééééééééééééééééééééééé = yes",
	         "option éééééééééééééééééééééééééééééééééééééééé = no",
	         "option éééééééééééééééééééééééééééééééééééééééé",
	         "6 of 6, with option ééééééééééééé...", "0 of 6, without option éééééééééé...",
	         "Kits with option ééé"},
	        {"option <b>\"& = yes", "option <b>\"& = no", "option <b>\"&",
	         "6 of 6, with option <b>\"&", "0 of 6, without option <b>\"&",
	         "Kits with option <b>"},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		const char *others = rows[i].others ? rows[i].others : rows[i].without;
		json_t *view = NULL, *split, *figure, *lines;
		struct text page;

		assert_int_equal(sum_up(arena, three_groups(rows[i].with, rows[i].without, others),
		                        12, false, &view),
		                 ST_OK);
		split = json_object_get(view, "split");
		figure = json_object_get(split, "figure");
		lines = json_object_get(figure, "rows");
		assert_string_equal(text_of(split, "statement"), rows[i].statement);
		assert_non_null(
		        strstr(text_of(split, "words"), "a hint where to look, not a finding"));
		assert_int_equal(json_array_size(lines), 2);
		check_row(json_array_get(lines, 0), 6, 6);
		check_row(json_array_get(lines, 1), 0, 6);
		assert_string_equal(text_of(json_array_get(lines, 0), "label"), rows[i].label);
		assert_string_equal(text_of(json_array_get(lines, 1), "label"), rows[i].other);
		assert_non_null(strstr(text_of(figure, "alt"), rows[i].alt));
		page = draw(figure);
		assert_null(strstr(text_string(&page), "<b>"));
		text_free(&page);
		json_decref(view);
	}
}

/* One kit of six differs: the best split is no hint. */
static void a_split_that_is_no_hint_is_not_shown(void **state)
{
	struct finding *findings = two_groups("serial 1", "serial 1");
	json_t *view = NULL;

	(void)state;
	findings[0].facts = make_facts(arena, "serial 2");
	assert_int_equal(sum_up(arena, findings, 12, false, &view), ST_OK);
	assert_true(json_is_false(json_object_get(view, "split")));
	json_decref(view);
}

static bool try_view(void *context)
{
	struct arena *own = arena_new();
	json_t *view = NULL;
	enum status status = ST_NOMEM;

	if (own)
		status = sum_up(own, context, 12, true, &view);
	assert_true((view != NULL) == (status == ST_OK));
	json_decref(view);
	arena_free(own);
	return status == ST_OK;
}

static void memory_may_run_out(void **state)
{
	(void)state;
	try_each_allocation(try_view, two_groups("serial 1", "serial 2"), false);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(shares_are_told_in_words),
	        cmocka_unit_test(the_reason_names_the_notice_when_settled),
	        cmocka_unit_test(lines_run_from_limit_to_limit),
	        cmocka_unit_test(a_split_that_is_a_hint_is_drawn),
	        cmocka_unit_test(a_split_that_is_no_hint_is_not_shown),
	        cmocka_unit_test(memory_may_run_out),
	};

	json_set_alloc_funcs(mem_alloc, mem_free); /* Jansson's memory fails with ours */
	return cmocka_run_group_tests(tests, begin, end);
}
