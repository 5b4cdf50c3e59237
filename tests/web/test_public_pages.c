/* test_public_pages.c - what anybody may read, as the browser gets it.
 *
 * Hostile words stand in every field of a notice; no page may hand them on as
 * markup. What is not published is not there for visitors.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support.h"
#include "web_support.h"

#include "store/notices.h"
#include "web/http/files.h"

#define HOSTILE "\"><script>alert(1)</script>'&"
#define FIRST_LOAD 60000 /* bytes of a page with its style sheet, script and icon */

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

static struct revision_content content_of(const char *number, const char *effectivity)
{
	struct revision_content content = revision_content_empty;

	content.number = number;
	content.issuer = "Harrowfen";
	content.title = "Bushing";
	content.action = "1. Look.";
	content.issued = "2018-03";
	content.effectivity = effectivity;
	return content;
}

static struct notice_id publish(struct web *web, const struct revision_content *revisions,
                                size_t count, const char *cancelled_on)
{
	const struct notice_import notice = {revisions, count, cancelled_on, HOSTILE};
	struct notice_id id = {0};

	assert_int_equal(
	        notice_import(web_store(web), &notice, web_member(web, STEWARD), WEB_START, &id),
	        ST_OK);
	return id;
}

static struct notice_id publish_one(struct web *web, const char *number, const char *effectivity)
{
	struct revision_content content = content_of(number, effectivity);

	return publish(web, &content, 1, "");
}

static const struct response *get_notice(struct web *web, enum who who, struct notice_id id,
                                         const char *rest)
{
	char target[200];

	snprintf(target, sizeof target, "/notices/%lld%s", (long long)id.v, rest);
	return web_get(web, who, target);
}

static struct revision_id current_of(struct web *web, struct notice_id id)
{
	struct arena *arena = arena_new();
	struct revision revision;
	struct revision_id out;

	assert_int_equal(notice_current(web_store(web), arena, id, &revision), ST_OK);
	out = revision.id;
	arena_free(arena);
	return out;
}

static void assert_page(const struct response *response, unsigned status)
{
	const char *first = strstr(response->body, "<h1");

	if (response->status != status)
		print_error("%s\n", response->body);
	assert_int_equal(response->status, status);
	assert_non_null(first);
	assert_null(strstr(first + 1, "<h1"));
	assert_false(web_holds(response, "<script>alert"));
	assert_false(web_holds(response, "style=\""));
	assert_true(web_holds(response, "Fairlead informs."));
}

static void test_pages_of_an_empty_folder(void **state)
{
	static const char *const targets[] = {"/", "/about", "/notices", "/check"};
	char kit[40];

	for (size_t i = 0; i < sizeof targets / sizeof targets[0]; i++)
		assert_page(web_get(*state, VISITOR, targets[i]), 200);
	assert_true(web_holds(web_get(*state, VISITOR, "/"), "No notice has been published yet"));
	assert_false(web_holds(web_get(*state, STEWARD, "/"), "Set the chapter up"));
	assert_true(web_holds(web_get(*state, ADMIN, "/"), "Set the chapter up"));
	assert_true(web_holds(web_get(*state, VISITOR, "/notices"), "has been published yet"));
	assert_false(web_holds(web_get(*state, VISITOR, "/notices"), "Nothing found"));
	snprintf(kit, sizeof kit, "/kits/%lld", (long long)web_kit(*state, ANN).v);
	assert_true(web_holds(web_get(*state, ANN, kit), "has published no notice yet"));
	assert_false(web_holds(web_get(*state, ANN, kit), "begin reading"));
}

static void test_hostile_words_stay_words(void **state)
{
	static const struct line_text lines[] = {
	        {HOSTILE, HOSTILE, HOSTILE, DISPOSE_REPLACE, "", HOSTILE}};
	static const struct material_text material[] = {
	        {HOSTILE, HOSTILE, HOSTILE, HOSTILE, "2 x 3 in"}};
	static const char *const names[] = {HOSTILE " 2"};
	const struct text_list list = {names, 1};
	struct revision_content content[2] = {content_of(HOSTILE, "all"),
	                                      content_of(HOSTILE, "all")};
	static const char *const targets[] = {"/", "/notices", "/notices?q=%22%3E%3Cscript%3Ealert",
	                                      "/check?model=%22%3E%3Cscript%3Ealert(1)"};
	struct revision_content *second = &content[1];
	struct notice_id id;
	char differences[80];

	second->revision = "<b>A";
	second->issuer = second->title = second->problem = second->action = HOSTILE;
	second->compliance = second->source = HOSTILE;
	second->lines = lines;
	second->n_lines = 1;
	second->material = material;
	second->n_material = 1;
	second->steps = second->requires = second->terminates = list;
	content[0].issuer = HOSTILE;
	id = publish(*state, content, 2, "2020");
	for (size_t i = 0; i < sizeof targets / sizeof targets[0]; i++)
		assert_page(web_get(*state, VISITOR, targets[i]), 200);
	assert_page(get_notice(*state, VISITOR, id, ""), 200);
	assert_true(web_holds(get_notice(*state, VISITOR, id, ""), "&lt;script&gt;alert(1)"));
	assert_true(web_holds(get_notice(*state, VISITOR, id, ""), ">Cancelled<"));
	snprintf(differences, sizeof differences, "/revisions/%lld/differences",
	         (long long)current_of(*state, id).v);
	assert_page(get_notice(*state, VISITOR, id, differences), 200);
	assert_true(web_holds(get_notice(*state, VISITOR, id, differences), "<ins>"));
}

static void test_bad_queries(void **state)
{
	static const struct {
		const char *target;
		unsigned status;
	} rows[] = {
	        {"/notices?year=abc", 422},
	        {"/notices?year=1899", 422},
	        {"/notices?kind=letter+bomb", 422},
	        {"/notices?force=strong", 422},
	        {"/notices?order=up", 422},
	        {"/notices?page=0", 422},
	        {"/notices?page=99999999999999999999", 422},
	        {"/notices?q=a&q=b", 422},
	        {"/notices?q=%E2%80%AEx", 422},
	        {"/notices?q=%00", 422},
	        {"/notices?q=%C0%AF", 422},
	        {"/notices?colour=red", 400},
	        {"/notices/x", 404},
	        {"/notices/0", 404},
	        {"/notices/1", 404},
	        {"/notices/1/revisions/1", 404},
	        {"/notices/1/revisions/1/differences", 404},
	        {"/notices/1/files/1", 404},
	        {"/check?serial=%3F%3F", 422},
	        {"/check?purchased=2017-13", 422},
	        {"/check?purchased=2199", 422},
	        {"/check?hours=-1", 422},
	        {"/check?option=x&option_state=perhaps", 422},
	        {"/check?option_state=fitted", 422},
	        {"/check?first_flight=2017&not_flown=yes", 422},
	        {"/check?show=everything", 422},
	        {"/check?wings=2", 400},
	        {"/notices?q=OR+AND+%22(*", 200},
	        {"/notices?q='%3B+DROP+TABLE+notices", 200},
	};

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *response = web_get(*state, VISITOR, rows[i].target);

		if (response->status != rows[i].status)
			print_error("%s\n", rows[i].target);
		assert_page(response, rows[i].status);
	}
}

static void test_what_was_typed_comes_back_with_its_fault(void **state)
{
	const struct response *response =
	        web_get(*state, VISITOR, "/check?serial=%3F%3F&model=Whimbrel");

	assert_int_equal(response->status, 422);
	assert_true(web_holds(response, "value=\"??\""));
	assert_true(web_holds(response, "value=\"Whimbrel\""));
	assert_true(web_holds(response, "id=\"serial-error\""));
	assert_true(web_holds(response, "aria-invalid=\"true\""));
	assert_true(web_holds(response, "href=\"#serial\""));
}

static void test_what_holds_a_fault_stands_open(void **state)
{
	static const struct {
		const char *target;
		bool open;
	} rows[] = {
	        {"/check?model=W", false},
	        {"/check?option=x&option_state=", false},
	        {"/check?option=x&option_state=fitted", true},
	        {"/check?option_state=fitted", true},
	        {"/check?part_serial=%3F", true},
	        {"/check?parts_known=yes", true},
	        {"/check?steps=EMP-01", true},
	};

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_int_equal(
		        web_holds(web_get(*state, VISITOR, rows[i].target), "<details open>"),
		        rows[i].open);
}

static void test_list_is_paged_and_keeps_its_filter(void **state)
{
	const struct response *response;
	char number[16];

	for (int i = 0; i < 35; i++) {
		snprintf(number, sizeof number, "HB-%d", 100 + i);
		publish_one(*state, number, "all");
	}
	response = web_get(*state, VISITOR, "/notices?kind=service+bulletin&order=by+number");
	assert_true(web_holds(response, "35 found"));
	assert_true(web_holds(response, "HB-100<") && web_holds(response, "HB-129<"));
	assert_false(web_holds(response, "HB-130<"));
	assert_true(web_holds(response, "href=\"/notices?kind=service%20bulletin&amp;"
	                                "order=by%20number&amp;page=2\""));
	response = web_get(*state, VISITOR, "/notices?order=by+number&page=2");
	assert_true(web_holds(response, "HB-130<") && web_holds(response, "HB-134<"));
	assert_false(web_holds(response, "HB-129<"));
	assert_true(web_holds(web_get(*state, VISITOR, "/notices?q=hb-1&page=9"), "35 found"));
	assert_true(web_holds(web_get(*state, VISITOR, "/notices?q=nowhere"), "Nothing found"));
}

static void test_drafts_are_not_for_visitors(void **state)
{
	struct revision_content content = content_of("HB-9", "all");
	struct web *web = *state;
	struct attachment_entry entry = {"a.png", "image/png", "png", 3};
	struct attachment_id file;
	struct revision_id draft;
	struct notice_id id;
	char target[60];

	assert_int_equal(draft_new_notice(web_store(web), &content, web_member(web, STEWARD),
	                                  WEB_START, &draft),
	                 ST_OK);
	assert_int_equal(attachment_add(web_store(web), draft, &entry, web_member(web, STEWARD),
	                                WEB_START, &file),
	                 ST_OK);
	assert_int_equal(notice_find(web_store(web), "HB-9", &id), ST_OK);
	assert_int_equal(get_notice(web, VISITOR, id, "")->status, 404);
	snprintf(target, sizeof target, "/revisions/%lld", (long long)draft.v);
	assert_int_equal(get_notice(web, VISITOR, id, target)->status, 404);
	snprintf(target, sizeof target, "/files/%lld", (long long)file.v);
	assert_int_equal(get_notice(web, VISITOR, id, target)->status, 404);
	assert_int_equal(get_notice(web, ANN, id, target)->status, 404);
	assert_int_equal(get_notice(web, STEWARD, id, target)->status, 200);
	assert_false(web_holds(web_get(web, VISITOR, "/notices"), "HB-9"));
}

static void test_names_of_stewards_are_for_members(void **state)
{
	static const enum who members[] = {ANN, STEWARD, ADMIN};
	struct notice_id id = publish_one(*state, "HB-1", "all");
	const struct response *response = get_notice(*state, VISITOR, id, "");

	assert_true(web_holds(response, "by a steward; published by a steward"));
	assert_false(web_holds(response, "Sue Steward"));
	assert_false(web_holds(response, "Ada Admin"));
	for (size_t i = 0; i < sizeof members / sizeof members[0]; i++)
		assert_true(web_holds(get_notice(*state, members[i], id, ""), "published by Sue"));
}

static void test_revisions_belong_to_their_notice(void **state)
{
	struct notice_id one = publish_one(*state, "HB-1", "all");
	struct notice_id two = publish_one(*state, "HB-2", "all");
	char target[80];

	snprintf(target, sizeof target, "/revisions/%lld", (long long)current_of(*state, one).v);
	assert_page(get_notice(*state, VISITOR, one, target), 200);
	assert_page(get_notice(*state, VISITOR, two, target), 404);
	snprintf(target, sizeof target, "/revisions/%lld/differences?from=%lld",
	         (long long)current_of(*state, one).v, (long long)current_of(*state, two).v);
	assert_page(get_notice(*state, VISITOR, one, target), 404);
	/* There is nothing before the first revision. */
	snprintf(target, sizeof target, "/revisions/%lld/differences",
	         (long long)current_of(*state, one).v);
	assert_page(get_notice(*state, VISITOR, one, target), 404);
}

static void test_earlier_revision_says_so(void **state)
{
	struct revision_content content[2] = {content_of("HB-1", "all"), content_of("HB-1", "all")};
	struct arena *arena = arena_new();
	const struct notice_row *rows;
	struct notice_id id;
	size_t count;
	char target[60];

	content[1].revision = "A";
	id = publish(*state, content, 2, "");
	assert_int_equal(revision_list(web_store(*state), arena, id, &rows, &count), ST_OK);
	assert_int_equal(count, 2);
	snprintf(target, sizeof target, "/revisions/%lld", (long long)rows[1].revision_id.v);
	assert_true(web_holds(get_notice(*state, VISITOR, id, target), "An earlier revision."));
	assert_false(web_holds(get_notice(*state, VISITOR, id, ""), "An earlier revision."));
	arena_free(arena);
}

static void test_files_are_sent_so_that_nothing_runs(void **state)
{
	static const struct {
		const char *name, *mime, *type, *disposition;
	} rows[] = {
	        {"a.png", "image/png", "image/png", ""},
	        {"s 1\"\r\n.pdf", "application/pdf", "application/pdf",
	         "attachment; filename=\"s_1___.pdf\""},
	        {"x.html", "text/html", "application/octet-stream",
	         "attachment; filename=\"x.html\""},
	        {"x.svg", "image/svg+xml", "application/octet-stream",
	         "attachment; filename=\"x.svg\""},
	        {".hidden", "application/x-sh", "application/octet-stream",
	         "attachment; filename=\"_hidden\""},
	};

	struct web *web = *state;
	struct member_id by = web_member(web, STEWARD);
	struct revision_content content = content_of("HB-1", "all");
	struct revision_id draft;
	struct notice_id id;

	assert_int_equal(draft_new_notice(web_store(web), &content, by, WEB_START, &draft), ST_OK);
	assert_int_equal(notice_find(web_store(web), "HB-1", &id), ST_OK);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct attachment_entry entry = {rows[i].name, rows[i].mime, "bytes", 5};
		const struct response *response;
		struct attachment_id file;
		char target[40];

		assert_int_equal(
		        attachment_add(web_store(web), draft, &entry, by, WEB_START, &file), ST_OK);
		snprintf(target, sizeof target, "/files/%lld", (long long)file.v);
		response = get_notice(web, STEWARD, id, target);
		assert_int_equal(response->status, 200);
		assert_string_equal(response->type, rows[i].type);
		assert_string_equal(web_header(response, "Content-Disposition"),
		                    rows[i].disposition);
		assert_string_equal(web_header(response, "X-Content-Type-Options"), "nosniff");
	}
}

static void test_check_answers_in_three_ways(void **state)
{
	const struct response *response;

	publish_one(*state, "HB-YES", "model Whimbrel");
	publish_one(*state, "HB-ASK", "purchased after 2017-09");
	publish_one(*state, "HB-NOT", "serial WH-0200 and on");
	response = web_get(*state, VISITOR, "/check?model=Whimbrel&serial=WH-0100&purchased=2017");
	assert_page(response, 200);
	assert_true(web_holds(response, "1 Apply to this kit"));
	assert_true(web_holds(response, "1 Cannot be told yet"));
	assert_true(web_holds(response, "1 Not effective for this kit"));
	assert_true(web_holds(response, "HB-YES<") && web_holds(response, "HB-ASK<"));
	/* What is not effective is counted, and one step away. */
	assert_false(web_holds(response, "HB-NOT<"));
	assert_true(web_holds(response, "show=not%20effective"));
	response =
	        web_get(*state, VISITOR, "/check?model=Whimbrel&serial=WH-0100&show=not+effective");
	assert_true(web_holds(response, "HB-NOT<") && web_holds(response, "WH-0100"));
	assert_false(web_holds(response, "HB-YES<"));
}

static void test_check_stores_nothing(void **state)
{
	struct web *web = *state;
	int64_t before, after;

	assert_int_equal(kit_count(web_store(web), &before), ST_OK);
	assert_int_equal(web_get(web, ANN, "/check?model=Whimbrel&serial=WH-0100")->status, 200);
	assert_int_equal(kit_count(web_store(web), &after), ST_OK);
	assert_int_equal(before, after);
}

/* What every page brings along. */
static size_t size_of_statics(void)
{
	static const char *const names[] = {"fairlead.css", "fairlead.js", "icon.svg"};
	size_t size = 0;

	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
		const struct embedded_file *file =
		        embedded_find(static_files, static_files_count, names[i]);

		assert_non_null(file);
		size += file->len;
	}
	return size;
}

static void test_first_load_is_small(void **state)
{
	static const char *const targets[] = {"/", "/notices", "/check?model=Whimbrel", "/about"};
	char number[16];

	for (int i = 0; i < 100; i++) {
		snprintf(number, sizeof number, "HB-%d", 100 + i);
		publish_one(*state, number, "model Whimbrel\nserial WH-0101 thru WH-0199");
	}
	for (size_t i = 0; i < sizeof targets / sizeof targets[0]; i++)
		assert_true(web_get(*state, VISITOR, targets[i])->len + size_of_statics() <
		            FIRST_LOAD);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test_setup_teardown(test_names_of_stewards_are_for_members, set_up,
	                                        tear_down),
	        cmocka_unit_test_setup_teardown(test_pages_of_an_empty_folder, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_hostile_words_stay_words, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_bad_queries, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_what_was_typed_comes_back_with_its_fault,
	                                        set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_what_holds_a_fault_stands_open, set_up,
	                                        tear_down),
	        cmocka_unit_test_setup_teardown(test_list_is_paged_and_keeps_its_filter, set_up,
	                                        tear_down),
	        cmocka_unit_test_setup_teardown(test_drafts_are_not_for_visitors, set_up,
	                                        tear_down),
	        cmocka_unit_test_setup_teardown(test_revisions_belong_to_their_notice, set_up,
	                                        tear_down),
	        cmocka_unit_test_setup_teardown(test_earlier_revision_says_so, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_files_are_sent_so_that_nothing_runs, set_up,
	                                        tear_down),
	        cmocka_unit_test_setup_teardown(test_check_answers_in_three_ways, set_up,
	                                        tear_down),
	        cmocka_unit_test_setup_teardown(test_check_stores_nothing, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_first_load_is_small, set_up, tear_down),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
