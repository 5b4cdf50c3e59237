#include "fixture.h"

#include <string.h>

static int64_t found(struct world *w, const struct notice_query *query)
{
	const struct notice_row *rows;
	size_t count;
	int64_t total = -1;

	assert_ok(notice_search(w->store, w->arena, query, &rows, &count, &total));
	assert_true((int64_t)count <= total);
	return total;
}

static int64_t with_words(struct world *w, const char *words)
{
	struct notice_query query = notice_query_all;

	query.words = words;
	return found(w, &query);
}

static void import_one(struct world *w, struct revision_content content)
{
	struct notice_id id;

	assert_ok(notice_import(w->store, &(struct notice_import){&content, 1, "", ""}, w->sam, NOW,
	                        &id));
}

/* Two more beside HF-SB-1 (2016) and HF-SB-2 (2014). */
static void add_more(struct world *w)
{
	struct line_text line = {"NK-77/B", "", "NK-78", DISPOSE_SCRAP, "", ""};
	struct revision_content other = content_of("NK-2", "", "2019-06-01");

	other.issuer = "Nordkeel Props";
	other.kind = KIND_SAFETY_DIRECTIVE;
	other.force = FORCE_OPTIONAL;
	other.title = "Straßen-Spinner caf\xC3\xA9";
	other.problem = "Cracks 100% of them_all.";
	other.action = "Scrap.";
	other.effectivity = "part NK-77/B";
	other.lines = &line;
	other.n_lines = 1;
	import_one(w, other);
	other.number = "NK-3";
	other.issued = "2019";
	other.force = FORCE_RECOMMENDED;
	other.issuer = "NORDKEEL props";
	import_one(w, other);
}

static void words_are_found(void **state)
{
	struct world *w = *state;
	static const struct {
		const char *words;
		int64_t total;
	} rows[] = {
	        {"", 4},
	        {"   ", 4},
	        {"bushing", 2},
	        {"BUSHI", 2},
	        {"bushing  bronze", 2},
	        {"bushing spinner", 0},
	        {"cafe", 2},
	        {"CAF\xC3\x89", 2},
	        {"HF-SB", 2},
	        {"hf-sb-1", 1},
	        {"sb 2", 2},
	        {"2207", 2},
	        {"207-1", 2},
	        {"WH-2207-3", 2},
	        {"77/b", 2},
	        {"harrowfen", 2},
	        {"zebra", 0},
	        {"letter", 0},
	};

	add_more(w);
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		if (with_words(w, rows[i].words) != rows[i].total)
			fail_msg("%s: %d", rows[i].words, (int)with_words(w, rows[i].words));
}

/* None of these may reach the query language of FTS5 (its syntax: SQLite's
 * documentation, "FTS5 Full-text Query Syntax"): each is answered. */
static void hostile_words_are_only_words(void **state)
{
	struct world *w = *state;
	static const struct {
		const char *words;
		int64_t total;
	} rows[] = {
	        {"\"", 0},
	        {"\"\"", 0},
	        {"\" OR \"", 0},
	        {"'; DROP TABLE notices; --", 0},
	        {"*", 0},
	        {"bushing*", 2},
	        {"bush\"ing", 0},
	        {"\"bushing\"", 2},
	        {"AND", 0},
	        {"bushing AND", 0},
	        {"bushing OR zebra", 0},
	        {"NOT bushing", 0},
	        {"NEAR(bushing tube, 2)", 0},
	        {"title:bushing", 0},
	        {"{title}", 0},
	        {"title : bushing", 0},
	        {"^bushing", 2},
	        {"bushing + tube", 2},
	        {"(bushing", 2},
	        {"bushing)", 2},
	        {"-", 2},
	        {"--", 0},
	        {"%", 0},
	        {"_", 0},
	        {"\xF0\x9F\x9B\xA9", 0},
	        {"\xF0\x9F\x9B\xA9 bushing", 0},
	        {"\xE2\x80\xAE", 0},
	        {"\xFF\xFE", 0},
	        {"\\", 0},
	        {"?1", 2},
	};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct notice_query query = notice_query_all;
		const char *words = rows[i].words;

		if (with_words(w, words) != rows[i].total)
			fail_msg("%s: %d", words, (int)with_words(w, words));
		query.model = words;
		query.part = words;
		query.issuer = words;
		assert_in_range(found(w, &query), 0, 2);
	}
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM notices"), 4);
}

static void very_many_words_are_answered(void **state)
{
	struct world *w = *state;
	char words[20001];

	for (size_t i = 0; i < sizeof words - 1; i++)
		words[i] = i % 2 ? ' ' : '"';
	words[sizeof words - 1] = '\0';
	assert_int_equal(with_words(w, words), 0);
	memset(words, 'a', sizeof words - 1);
	assert_int_equal(with_words(w, words), 0);
	for (size_t i = 0; i < sizeof words - 1; i++)
		words[i] = i % 2 ? ' ' : 'b';
	assert_int_equal(with_words(w, words), 2);
}

static void filters_hold_together(void **state)
{
	struct world *w = *state;
	struct notice_query query = notice_query_all;

	add_more(w);
	query.kind = KIND_SAFETY_DIRECTIVE;
	assert_int_equal(found(w, &query), 2);
	query.force = FORCE_OPTIONAL;
	assert_int_equal(found(w, &query), 1);
	query.kind = KIND_PLANS_CHANGE;
	assert_int_equal(found(w, &query), 0);
	query = notice_query_all;
	query.issuer = "nordkeel  PROPS";
	assert_int_equal(found(w, &query), 2);
	query.issuer = "nordkeel";
	assert_int_equal(found(w, &query), 0);
	query = notice_query_all;
	query.year = 2019;
	assert_int_equal(found(w, &query), 2);
	query.year = 201;
	assert_int_equal(found(w, &query), 0);
	query = notice_query_all;
	query.model = "whimb";
	assert_int_equal(found(w, &query), 2);
	query.model = "bushing";
	assert_int_equal(found(w, &query), 0);
	query.model = "***";
	assert_int_equal(found(w, &query), 0);
	query = notice_query_all;
	query.part = "k-7";
	assert_int_equal(found(w, &query), 2);
	query.part = "spinner";
	assert_int_equal(found(w, &query), 0);
	query.part = "nk-78";
	query.words = "bushing";
	assert_int_equal(found(w, &query), 0);
}

static void assert_order(struct world *w, enum notice_order order, const char *expected)
{
	struct notice_query query = notice_query_all;
	const struct notice_row *rows;
	size_t count;
	int64_t total;
	struct text numbers = TEXT_EMPTY;

	query.order = order;
	assert_ok(notice_search(w->store, w->arena, &query, &rows, &count, &total));
	for (size_t i = 0; i < count; i++)
		text_printf(&numbers, "%s ", rows[i].number);
	assert_string_equal(text_string(&numbers), expected);
	text_free(&numbers);
}

static void orders_are_as_named(void **state)
{
	struct world *w = *state;

	add_more(w);
	assert_order(w, ORDER_ISSUED, "NK-2 NK-3 HF-SB-1 HF-SB-2 ");
	assert_order(w, ORDER_NUMBER, "HF-SB-1 HF-SB-2 NK-2 NK-3 ");
	assert_order(w, ORDER_FORCE, "HF-SB-1 HF-SB-2 NK-3 NK-2 ");
}

static void pages_join_without_gap(void **state)
{
	struct world *w = *state;
	struct notice_query query = notice_query_all;
	const struct notice_row *rows;
	size_t count;
	int64_t total;

	add_more(w);
	query.order = ORDER_NUMBER;
	query.page = (struct page){3, 0};
	assert_ok(notice_search(w->store, w->arena, &query, &rows, &count, &total));
	assert_int_equal(count, 3);
	assert_int_equal(total, 4);
	query.page.offset = 3;
	assert_ok(notice_search(w->store, w->arena, &query, &rows, &count, &total));
	assert_int_equal(count, 1);
	assert_string_equal(rows[0].number, "NK-3");
	query.page.offset = 4000;
	assert_ok(notice_search(w->store, w->arena, &query, &rows, &count, &total));
	assert_int_equal(count, 0);
	assert_int_equal(total, 4);
}

static void rows_tell_what_a_list_shows(void **state)
{
	struct world *w = *state;
	struct notice_query query = notice_query_all;
	const struct notice_row *rows;
	size_t count;
	int64_t total;

	query.words = "hf-sb-2";
	assert_ok(notice_search(w->store, w->arena, &query, &rows, &count, &total));
	assert_int_equal(count, 1);
	assert_int_equal(rows[0].id.v, w->two.v);
	assert_string_equal(rows[0].title, "Elevator tube bushing");
	assert_string_equal(rows[0].issued, "2014");
	assert_string_equal(rows[0].cancelled_on, "2014");
	assert_string_equal(rows[0].editor_name, "sam");
	assert_int_equal(rows[0].state, REVISION_PUBLISHED);
	assert_true(rows[0].current);
}

static void only_the_current_revision_is_found(void **state)
{
	struct world *w = *state;
	struct revision_content content = content_of("HF-SB-1", "B", "2018");
	struct revision_id id;
	bool stale;

	content.title = "Zebra stripes";
	content.problem = "";
	content.action = "";
	content.n_lines = 0;
	assert_ok(draft_new_revision(w->store, w->one, w->sue, NOW, &id));
	assert_ok(draft_save(w->store, id, 1, &content, w->sue, NOW, &stale));
	assert_int_equal(with_words(w, "zebra"), 0);
	assert_ok(draft_submit(w->store, id, w->sue, NOW));
	assert_ok(draft_publish(w->store, id, 2, w->sam, NOW));
	assert_int_equal(with_words(w, "zebra"), 1);
	assert_int_equal(with_words(w, "bushing"), 1);
	assert_int_equal(with_words(w, "2207"), 1);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, world_make, world_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(words_are_found),
	        TEST(hostile_words_are_only_words),
	        TEST(very_many_words_are_answered),
	        TEST(filters_hold_together),
	        TEST(orders_are_as_named),
	        TEST(pages_join_without_gap),
	        TEST(rows_tell_what_a_list_shows),
	        TEST(only_the_current_revision_is_found),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
