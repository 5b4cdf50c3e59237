/* test_parts_pages.c - parts on hand, shopping lists, cutting plans and the book
 * of parts, through app_handle, with everything that a form may hold but should
 * not; and files of packing lists with their faults.
 */
#include <stdio.h>
#include <string.h>

#include "support.h"
#include "web_support.h"

#include "base/text.h"
#include "store/notices.h"
#include "store/parts.h"
#include "store/records.h"
#include "formats/csv.h"
#include "chapter/parts_import.h"

#define HOSTILE "\"><script>alert(1)</script>"

static const char book[] =
        "{\"format\": \"fairlead parts 1\", \"lists\": ["
        "{\"list\": \"PL-04 A\", \"subkit\": \"4\", \"title\": \"Fuselage\", \"models\":"
        " [\"Whimbrel\"], \"to\": \"2018\", \"parts\": [{\"bag\": \"1107\", \"part\": \"WH-1-5\","
        " \"quantity\": 1}, {\"bag\": \"1108\", \"part\": \"WH-41\", \"quantity\": 2.5,"
        " \"unit\": \"ft\"}]},"
        "{\"list\": \"PL-04 B\", \"subkit\": \"4\", \"models\": [\"Whimbrel\"], \"from\": \"2019\","
        " \"parts\": [{\"bag\": \"1203\", \"part\": \"WH-1-6\", \"quantity\": 2}]}],"
        "\"replacements\": [{\"old\": \"WH-1-5\", \"new\": \"WH-1-6\"}],"
        "\"stock\": [{\"code\": \"AA-1\", \"title\": \"angle\", \"lengths\":"
        " [{\"length\": \"72 in\", \"price\": 14.5}, {\"length\": \"144 in\", \"price\": 26}]}]}";

static const struct line_text lines[] = {
        {"WH-1", "left", "WH-1-5", DISPOSE_REPLACE, "", ""},
        {"WH-1", "right", "WH-1-5", DISPOSE_REPLACE, "", ""},
};
static const struct material_text material[] = {
        {"Rivets", "16", "", "AN470AD4-5", ""},
        {"=HYPERLINK(\"x\")", "as required", "", "", ""},
        {"Angle", "", "", "AA-1", "2 x 14 1/2 in, 6 in"},
};

struct chapter {
	struct web *web;
	struct arena *arena;
	struct notice_id notice;
};

static void take_in_book(struct web *web)
{
	struct arena *arena = arena_new();
	struct json_reader reader;
	size_t count = 0;

	json_reader_start(&reader, arena);
	assert_int_equal(parts_take_in(web_store(web), &reader, book, strlen(book),
	                               (struct member_id){0}, 1, &count),
	                 ST_OK);
	assert_int_equal(count, 4);
	arena_free(arena);
}

static void publish(struct chapter *ch)
{
	struct revision_content content = revision_content_empty;
	const struct notice_import notice = {&content, 1, "", ""};

	content.number = "HB-1";
	content.issuer = "Harrowfen";
	content.issued = "2023-03";
	content.title = "Bushing can rub the tube";
	content.action = "1. Do it.";
	content.effectivity = "all";
	content.lines = lines;
	content.n_lines = 2;
	content.material = material;
	content.n_material = 3;
	assert_int_equal(notice_import(web_store(ch->web), &notice, web_member(ch->web, STEWARD),
	                               WEB_START, &ch->notice),
	                 ST_OK);
}

static int set_up(void **state)
{
	struct chapter *ch = test_malloc(sizeof *ch);

	ch->web = web_new(NULL, 0, NULL, 0);
	ch->arena = arena_new();
	take_in_book(ch->web);
	publish(ch);
	*state = ch;
	return 0;
}

static int tear_down(void **state)
{
	struct chapter *ch = *state;

	web_free(ch->web);
	arena_free(ch->arena);
	test_free(ch);
	return 0;
}

static const char *of_kit(struct chapter *ch, const char *page)
{
	return arena_printf(ch->arena, "/kits/%lld%s", (long long)web_kit(ch->web, ANN).v, page);
}

/* Facts by their short form, for the sub-kit alone. */
static void ship(struct chapter *ch, const char *date)
{
	struct facts facts = {.model = {"Whimbrel", "WHIMBREL", 8, 0}};
	struct subkit_fact subkit = {.received = true};

	assert_int_equal(name_make(ch->arena, "4", 1, &subkit.code), ST_OK);
	assert_int_equal(name_make(ch->arena, "Whimbrel", 8, &facts.model), ST_OK);
	if (date) {
		subkit.shipped.state = DATE_KNOWN;
		assert_int_equal(date_parse(date, strlen(date), &subkit.shipped.date), ST_OK);
	}
	facts.subkits = &subkit;
	facts.n_subkits = 1;
	assert_int_equal(kit_set_facts(web_store(ch->web), web_kit(ch->web, ANN), &facts), ST_OK);
}

static const struct response *get(struct chapter *ch, const char *page)
{
	return web_get(ch->web, ANN, of_kit(ch, page));
}

static const struct response *post(struct chapter *ch, const char *page, const char *encoded)
{
	return web_post(ch->web, ANN, of_kit(ch, page), encoded);
}

static void holds(const struct response *response, const char *text)
{
	if (response->status >= 400 || !web_holds(response, text))
		fail_msg("%u, not held: %s\n%s", response->status, text, response->body);
}

/* ---- have, may have, order ---- */

static void the_list_says_where_it_lies_before_what_to_order(void **state)
{
	struct chapter *ch = *state;

	ship(ch, "2017-04");
	holds(get(ch, ""), "order 1 of WH-1-6, which took the place of WH-1-5; the rest is there: "
	                   "sub-kit 4, bag 1107");
	ship(ch, "2019-04");
	holds(get(ch, ""), "you have it: sub-kit 4, bag 1203, as WH-1-6, which took its place");
	ship(ch, NULL);
	holds(get(ch, arena_printf(ch->arena, "/notices/%lld", (long long)ch->notice.v)),
	      "you may have it");
	holds(get(ch, arena_printf(ch->arena, "/notices/%lld", (long long)ch->notice.v)),
	      "To be sure, say: ");
}

static void entries_change_what_is_held_and_are_taken_back(void **state)
{
	struct chapter *ch = *state;

	ship(ch, "2019-04");
	assert_int_equal(post(ch, "/parts", "part=WH-1-6&what=lost&quantity=1&remark=x")->status,
	                 303);
	holds(get(ch, "/parts"), "order 1 of WH-1-6");
	holds(get(ch, "/parts"), "lost: 1");
	assert_int_equal(post(ch, "/parts", "part=wh-1-5&what=counted&quantity=5+pcs")->status,
	                 303);
	holds(get(ch, "/parts"), "you have it, counted by you");
	holds(get(ch, "/parts?part=wh-1-5"), "counted by you");
	holds(get(ch, "/parts?part=WH-41"), "<b>0</b>");
}

static void take_back_undoes(void **state)
{
	struct chapter *ch = *state;

	ship(ch, "2019-04");
	assert_int_equal(post(ch, "/parts", "part=WH-1-6&what=used&quantity=2")->status, 303);
	holds(get(ch, "/parts"), "order 2 of WH-1-6");
	assert_int_equal(post(ch, "/parts/1/take-back", "")->status, 303);
	holds(get(ch, "/parts"), "you have it");
	assert_int_equal(post(ch, "/parts/1/take-back", "")->status, 404);
	assert_int_equal(web_post(ch->web, BEN, of_kit(ch, "/parts/1/take-back"), "")->status, 404);
}

static void bad_entries_are_refused(void **state)
{
	static const struct {
		const char *encoded;
		unsigned status;
		const char *words;
	} rows[] = {
	        {"", 422, "Part number"},
	        {"part=&what=used&quantity=1", 422, "Part number"},
	        {"part=A&what=stolen&quantity=1", 422, "What happened"},
	        {"part=A&quantity=1", 422, "What happened"},
	        {"part=A&what=used&quantity=", 422, "How many"},
	        {"part=A&what=used&quantity=0", 422, "above 0"},
	        {"part=A&what=used&quantity=-1", 422, "above 0"},
	        {"part=A&what=got&quantity=some", 422, "above 0"},
	        {"part=A&what=lost&quantity=1e9", 422, NULL},
	        {"part=A&what=lost&quantity=10000000", 422, "above 0"},
	        {"part=A&what=used&quantity=1&more=1", 400, NULL},
	        {"part=A&what=counted&quantity=0", 303, NULL},
	};
	struct chapter *ch = *state;

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		const struct response *r = post(ch, "/parts", rows[i].encoded);

		if (r->status != rows[i].status &&
		    !(i == 8 && r->status == 303)) /* "1e9" is one of unit e9 */
			fail_msg("%s: %u", rows[i].encoded, r->status);
		if (rows[i].words)
			assert_true(web_holds(r, rows[i].words));
	}
}

/* A record that puts a part in asks, and takes nothing by itself. */
static void a_record_asks_before_it_uses_a_part_up(void **state)
{
	struct chapter *ch = *state;
	const char *record = of_kit(
	        ch, arena_printf(ch->arena, "/notices/%lld/record", (long long)ch->notice.v));

	ship(ch, "2019-04");
	assert_int_equal(web_post(ch->web, ANN, record, "line=1&done=2024&method=m&by=a")->status,
	                 303);
	holds(get(ch, "/parts"), "Was it taken from here?");
	holds(get(ch, "/parts"), "you have it");
	holds(get(ch, "/parts?part=WH-1-6"), "<b>2</b>");
	assert_int_equal(post(ch, "/parts/taken", "record=1&taken=no")->status, 303);
	assert_false(web_holds(get(ch, "/parts"), "Was it taken from here?"));
	holds(get(ch, "/parts?part=WH-1-6"), "<b>2</b>");
	holds(get(ch, "/parts"), "for a record");
	assert_int_equal(post(ch, "/parts/taken", "record=1&taken=no")->status, 404);
	assert_int_equal(post(ch, "/parts/taken", "record=99&taken=yes")->status, 404);
	assert_int_equal(post(ch, "/parts/taken", "record=1&taken=perhaps")->status, 400);
	assert_int_equal(post(ch, "/parts/taken", "taken=yes")->status, 400);
	assert_int_equal(post(ch, "/parts/counted-in", "counted_in=perhaps")->status, 400);
}

/* ---- shopping ---- */

static const char *body_of(struct chapter *ch, const struct response *response)
{
	assert_int_equal(response->status, 200);
	return arena_copy(ch->arena, response->body, response->len);
}

static void the_shopping_list_is_a_page_and_a_table(void **state)
{
	struct chapter *ch = *state;
	const char *csv;

	ship(ch, "2017-04");
	holds(get(ch, "/shopping"), "WH-1-6");
	holds(get(ch, "/shopping"), "in place of WH-1-5");
	holds(get(ch, "/shopping"), "2 x 14 1/2 in, 6 in");
	holds(get(ch, "/shopping"), "This kit is not counted");
	csv = body_of(ch, get(ch, "/shopping.csv"));
	assert_string_equal(csv,
	                    "order,asked for,quantity,perhaps more,unit,remark,notices,kits\r\n"
	                    "\"'=HYPERLINK(\"\"x\"\")\",,,,,quantity not stated,HB-1,1\r\n"
	                    "AN470AD4-5,,16,,,,HB-1,1\r\n"
	                    "WH-1-6,WH-1-5,1,,,,HB-1,1\r\n"
	                    "AA-1,,2,,,cut to 14 1/2 in,,\r\n"
	                    "AA-1,,1,,,cut to 6 in,,\r\n");
	assert_string_equal(web_header(get(ch, "/shopping.csv"), "Content-Type"),
	                    "text/csv; charset=utf-8; header=present");
}

/* The chapter's list is asked for by looking, worked out by the round, then looked at. */
static const struct response *list(struct chapter *ch, const char *address)
{
	(void)web_get(ch->web, BEN, address);
	assert_int_equal(app_round(web_app(ch->web)), ST_OK);
	return web_get(ch->web, BEN, address);
}

static void the_first_list_is_waited_for(void **state)
{
	struct chapter *ch = *state;
	const struct response *r = web_get(ch->web, BEN, "/shopping.csv");

	assert_int_equal(r->status, 503);
	assert_string_equal(web_header(r, "Retry-After"), "3");
	r = web_get(ch->web, BEN, "/shopping");
	assert_int_equal(r->status, 200);
	holds(r, "being worked out");
	assert_string_equal(web_header(r, "Refresh"), "3");
	assert_string_equal(web_header(r, "Cache-Control"), "no-store");
	holds(web_get(ch->web, BEN, "/shopping/cutting?stock=AA-1"), "being worked out");
	assert_int_equal(app_round(web_app(ch->web)), ST_OK);
	assert_int_equal(web_get(ch->web, BEN, "/shopping.csv")->status, 200);
	r = web_get(ch->web, BEN, "/shopping");
	holds(r, "What 0 of 2 kits lack");
	holds(r, "Worked out now.");
	web_set_now(WEB_START + 7300);
	holds(web_get(ch->web, BEN, "/shopping"), "Worked out 2 hours ago.");
	assert_string_equal(web_header(r, "Refresh"), "");
}

/* No request decides kits: until the round has been, the old list stays, and says so. */
static void an_older_list_says_so(void **state)
{
	static const char old[] = "have changed since";
	struct chapter *ch = *state;

	ship(ch, "2017-04");
	assert_false(web_holds(list(ch, "/shopping"), old));
	assert_int_equal(post(ch, "/parts/counted-in", "counted_in=yes")->status, 303);
	holds(web_get(ch->web, BEN, "/shopping"), old);
	holds(web_get(ch->web, BEN, "/shopping"), "What 0 of 2 kits lack");
	assert_int_equal(web_get(ch->web, BEN, "/shopping.csv")->status, 200);
	assert_int_equal(app_round(web_app(ch->web)), ST_OK);
	assert_false(web_holds(web_get(ch->web, BEN, "/shopping"), old));
	holds(web_get(ch->web, BEN, "/shopping"), "What 1 of 2 kits lack");
	/* The day, the notices and the packing lists count too. */
	web_set_now(WEB_START + 86400);
	holds(web_get(ch->web, BEN, "/shopping"), old);
	assert_false(web_holds(list(ch, "/shopping"), old));
	assert_int_equal(parts_remove(web_store(ch->web), PARTS_LIST, "PL-04 A"), ST_OK);
	holds(web_get(ch->web, BEN, "/shopping"), old);
	assert_false(web_holds(list(ch, "/shopping"), old));
	assert_int_equal(kit_remove(web_store(ch->web), web_kit(ch->web, ANN)), ST_OK);
	holds(web_get(ch->web, BEN, "/shopping"), old);
	holds(list(ch, "/shopping"), "What 0 of 1 kits lack");
}

/* Whatever of a kit changes, the list that follows is the one that a new start makes. */
static void a_changed_kit_is_counted_as_it_is_now(void **state)
{
	static const char *const changes[][2] = {
	        {"/parts/counted-in", "counted_in=yes"},
	        {"/parts", "part=AN470AD4-5&what=got&quantity=3"},
	        {"/cutting", "code=AA-1&use=wanted&cut=2+x+60+in"},
	        {"/cutting/1/remove", ""},
	        {"/parts/1/take-back", ""},
	        {"/parts/counted-in", ""},
	};
	struct chapter *ch = *state;
	const char *before = "";

	ship(ch, "2017-04");
	assert_int_equal(kit_set_counted_in(web_store(ch->web), web_kit(ch->web, BEN), true),
	                 ST_OK);
	before = body_of(ch, list(ch, "/shopping.csv"));
	for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
		const char *after;

		assert_int_equal(post(ch, changes[i][0], changes[i][1])->status, 303);
		after = body_of(ch, list(ch, "/shopping.csv"));
		if (strcmp(before, after) == 0)
			fail_msg("%s %s changed nothing", changes[i][0], changes[i][1]);
		before = after;
	}
}

static void the_chapter_counts_who_agrees(void **state)
{
	struct chapter *ch = *state;

	ship(ch, "2017-04");
	holds(list(ch, "/shopping"), "What 0 of 2 kits lack");
	holds(list(ch, "/shopping"), "Nothing has to be ordered");
	assert_int_equal(post(ch, "/parts/counted-in", "counted_in=yes")->status, 303);
	assert_int_equal(web_post(ch->web, BEN, of_kit(ch, "/parts/counted-in"), "")->status, 404);
	holds(list(ch, "/shopping"), "What 1 of 2 kits lack");
	holds(list(ch, "/shopping"), "AN470AD4-5");
	assert_false(web_holds(list(ch, "/shopping"), "Ann Builder"));
	assert_int_equal(list(ch, "/shopping.csv")->status, 200);
	holds(get(ch, "/shopping"), "This kit is counted");
	assert_int_equal(post(ch, "/parts/counted-in", "")->status, 303);
	holds(list(ch, "/shopping"), "What 0 of 2 kits lack");
}

/* Two kits add up. */
static void the_chapter_adds_up(void **state)
{
	struct chapter *ch = *state;

	ship(ch, "2017-04");
	for (enum who who = ANN; who <= BEN; who++)
		assert_int_equal(
		        kit_set_counted_in(web_store(ch->web), web_kit(ch->web, who), true), ST_OK);
	holds(list(ch, "/shopping.csv"), "AN470AD4-5,,32,,,,HB-1,2\r\n");
	holds(list(ch, "/shopping.csv"), "AA-1,,4,,,cut to 14 1/2 in,,\r\n");
}

static void csv_keeps_to_its_rules(void **state)
{
	static const struct {
		const char *fields[4], *row;
	} rows[] = {
	        {{"a", "b", NULL}, "a,b\r\n"},
	        {{"", "", NULL}, ",\r\n"},
	        {{"a,b", "say \"x\"", NULL}, "\"a,b\",\"say \"\"x\"\"\"\r\n"},
	        {{"two\nlines", "\r", NULL}, "\"two\nlines\",\"'\r\"\r\n"},
	        {{"=1+1", "+1", "-1", NULL}, "'=1+1,'+1,'-1\r\n"},
	        {{"@x", "\tx", "x=1", NULL}, "'@x,'\tx,x=1\r\n"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct text out = TEXT_EMPTY;

		csv_row(&out, rows[i].fields);
		assert_string_equal(text_string(&out), rows[i].row);
		text_free(&out);
	}
}

/* The lengths of all counted kits in one plan; bars on hand stay with their builders. */
static void the_chapter_cuts_together(void **state)
{
	struct chapter *ch = *state;

	ship(ch, "2017-04");
	holds(list(ch, "/shopping/cutting?stock=AA-1"), "Nothing of this stock is wanted");
	for (enum who who = ANN; who <= BEN; who++)
		assert_int_equal(
		        kit_set_counted_in(web_store(ch->web), web_kit(ch->web, who), true), ST_OK);
	holds(list(ch, "/shopping"), "/shopping/cutting?stock=AA-1");
	holds(list(ch, "/shopping/cutting?stock=AA-1"), "4 x 14 1/2 in, 2 x 6 in");
	holds(list(ch, "/shopping/cutting?stock=AA-1"), "No other plan costs less");
	assert_int_equal(post(ch, "/cutting", "code=AA-1&use=wanted&cut=145+in")->status, 303);
	holds(list(ch, "/shopping/cutting?stock=AA-1"), "No bar is long enough");
	assert_int_equal(list(ch, "/shopping/cutting?stock=AA-1&kerf=x")->status, 422);
	assert_int_equal(web_get(ch->web, VISITOR, "/shopping/cutting")->status, 303);
}

/* ---- cutting ---- */

static void lengths_of_notices_and_own_are_planned(void **state)
{
	struct chapter *ch = *state;
	const struct response *r;

	holds(get(ch, "/cutting"), "/cutting?stock=AA-1");
	r = get(ch, "/cutting?stock=AA-1");
	holds(r, "Bars: 1");
	holds(r, "to buy for 14.50");
	holds(r, "No other plan costs less.");
	holds(r, "1 × 72 in");
	holds(r, "2 x 14 1/2 in, 6 in");
	holds(r, "<svg class=\"bar\"");
	assert_int_equal(
	        post(ch, "/cutting", "code=aa-1&use=wanted&cut=2+x+60+in&remark=spars")->status,
	        303);
	holds(get(ch, "/cutting?stock=AA-1&kerf=0+in&trim=0+in"), "to buy for 40.50");
	assert_int_equal(post(ch, "/cutting", "code=AA-1&use=on+hand&cut=3+x+62+in")->status, 303);
	holds(get(ch, "/cutting?stock=AA-1"), "to buy for 0.00");
	holds(get(ch, "/cutting"), "spars");
	holds(get(ch, "/shopping.csv"), "-1,,2,,,cut to 60 in,,\r\n");
	assert_int_equal(post(ch, "/cutting/2/remove", "")->status, 303);
	assert_int_equal(post(ch, "/cutting/2/remove", "")->status, 404);
	assert_int_equal(web_post(ch->web, BEN, of_kit(ch, "/cutting/1/remove"), "")->status, 404);
}

static void what_cannot_be_cut_is_told(void **state)
{
	struct chapter *ch = *state;

	holds(get(ch, "/cutting?stock=NONE"), "Cutting plan");
	assert_int_equal(post(ch, "/cutting", "code=TB-2&use=wanted&cut=3+in")->status, 303);
	holds(get(ch, "/cutting?stock=TB-2"), "No bar is long enough for a length wanted: 3 in");
	assert_int_equal(post(ch, "/cutting", "code=TB-2&use=on+hand&cut=2+in")->status, 303);
	holds(get(ch, "/cutting?stock=TB-2&kerf=0+in&trim=0+in"), "No bar is long enough");
	assert_int_equal(post(ch, "/cutting", "code=AA-1&use=wanted&cut=145+in")->status, 303);
	holds(get(ch, "/cutting?stock=AA-1"), "No bar is long enough for a length wanted: 145 in");
	assert_int_equal(post(ch, "/cutting", "code=TC&use=wanted&cut=3+x+3+in")->status, 303);
	assert_int_equal(post(ch, "/cutting", "code=TC&use=on+hand&cut=2+x+4+in")->status, 303);
	holds(get(ch, "/cutting?stock=TC&kerf=0+in&trim=0+in"), "do not hold all lengths");
	for (int i = 0; i < 2; i++)
		assert_int_equal(post(ch, "/cutting", "code=TD&use=wanted&cut=200+x+3+in")->status,
		                 303);
	assert_int_equal(post(ch, "/cutting", "code=TD&use=on+hand&cut=300+x+4+in")->status, 303);
	holds(get(ch, "/cutting?stock=TD"), "more than can be planned at once");
}

static void bad_lengths_are_refused(void **state)
{
	static const struct {
		const char *encoded, *words;
	} rows[] = {
	        {"", "Stock code"},
	        {"code=A&use=wanted&cut=", "Lengths"},
	        {"code=A&use=wanted&cut=-3+in", "at column 1"},
	        {"code=A&use=wanted&cut=3+in,+0+in", "at column 7"},
	        {"code=A&use=wanted&cut=3", "at column 1"},
	        {"code=A&use=wanted&cut=0+x+3+in", "1 to 300"},
	        {"code=A&use=sold&cut=3+in", "These lengths are"},
	        {"code=A&cut=3+in", "These lengths are"},
	        {"code=&use=wanted&cut=3+in", "Stock code"},
	};
	static const char *const saws[] = {"kerf=-1+in", "kerf=thin", "trim=1", "trim=0.00001+in"};
	struct chapter *ch = *state;

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		const struct response *r = post(ch, "/cutting", rows[i].encoded);

		assert_int_equal(r->status, 422);
		if (!web_holds(r, rows[i].words))
			fail_msg("%s: %s", rows[i].encoded, rows[i].words);
	}
	for (size_t i = 0; i < sizeof saws / sizeof *saws; i++) {
		const struct response *r =
		        get(ch, arena_printf(ch->arena, "/cutting?stock=AA-1&%s", saws[i]));

		assert_int_equal(r->status, 422);
		assert_true(web_holds(r, "is no length"));
	}
}

/* ---- the book ---- */

static const struct response *upload(struct chapter *ch, enum who who, const char *file)
{
	const struct http_upload sent = {"file", "p.json", file, strlen(file)};
	struct request request = {.method = HTTP_POST, .uploads = {&sent, 1}};

	request.headers.sec_fetch_site = "same-origin";
	return web_send(ch->web, who, &request, "/board/parts",
	                arena_printf(ch->arena, "token=%s", web_form_token(ch->web, who)));
}

static void stewards_look_at_the_book_and_take_parts_of_it_out(void **state)
{
	struct chapter *ch = *state;

	holds(web_get(ch->web, STEWARD, "/board/parts"), "PL-04 A");
	holds(web_get(ch->web, STEWARD, "/board/parts"), "72 in for 14.50");
	holds(web_get(ch->web, STEWARD, "/board/parts?list=pl-04+a"), "1108");
	holds(web_get(ch->web, STEWARD, "/board/parts.json"), "fairlead parts 1");
	assert_int_equal(
	        web_post(ch->web, STEWARD, "/board/parts/remove", "kind=list&name=PL-04+A")->status,
	        303);
	assert_false(web_holds(web_get(ch->web, STEWARD, "/board/parts"), "PL-04 A"));
	assert_int_equal(
	        web_post(ch->web, STEWARD, "/board/parts/remove", "kind=list&name=PL-04+A")->status,
	        404);
	assert_int_equal(web_post(ch->web, STEWARD, "/board/parts/remove", "kind=x&name=y")->status,
	                 400);
	assert_int_equal(
	        web_post(ch->web, ANN, "/board/parts/remove", "kind=stock&name=AA-1")->status, 403);
}

static void what_is_saved_is_taken_in_again(void **state)
{
	struct chapter *ch = *state;
	const char *file = body_of(ch, web_get(ch->web, STEWARD, "/board/parts.json"));

	assert_int_equal(upload(ch, STEWARD, file)->status, 303);
	assert_string_equal(body_of(ch, web_get(ch->web, STEWARD, "/board/parts.json")), file);
}

#define LIST(more) "{\"list\": \"X\", \"subkit\": \"9\", \"models\": [\"W\"]" more "}"
#define LISTS(lists) "{\"format\": \"fairlead parts 1\", \"lists\": [" lists "]}"
#define PART(part) LISTS(LIST(", \"parts\": [" part "]"))
#define CHANGES(changes) "{\"format\": \"fairlead parts 1\", \"replacements\": [" changes "]}"
#define STOCK(stock) "{\"format\": \"fairlead parts 1\", \"stock\": [" stock "]}"

static void a_file_with_one_fault_changes_nothing(void **state)
{
	static const struct {
		const char *file, *place, *words;
	} rows[] = {
	        {"", "", ""},
	        {"[]", "", "must be"},
	        {"{}", "/format", "fairlead parts 1"},
	        {"{\"format\": \"fairlead parts 2\"}", "/format", ""},
	        {"{\"format\": \"fairlead parts 1\", \"more\": 1}", "", "more"},
	        {LISTS("1"), "/lists/0", ""},
	        {LISTS("{}"), "/lists/0/list", "is needed"},
	        {LISTS("{\"list\": \"X\"}"), "/lists/0/subkit", "is needed"},
	        {LISTS("{\"list\": \"X\", \"subkit\": \"9\"}"), "/lists/0/models", "at least one"},
	        {LISTS("{\"list\": \"X\", \"subkit\": \"9\", \"models\": [\"\"]}"),
	         "/lists/0/models/0", "empty"},
	        {LISTS("{\"list\": \"X\", \"subkit\": \"9\", \"models\": [\"W\", \"w\"]}"),
	         "/lists/0/models", "twice"},
	        {LISTS(LIST(", \"from\": \"2019\", \"to\": \"2018\"")), "/lists/0/to", "before"},
	        {LISTS(LIST(", \"from\": \"soon\"")), "/lists/0/from", "date"},
	        {LISTS(LIST("") "," LIST("")), "/lists/1/list", "twice"},
	        {LISTS(LIST("") ",{\"list\": \"Y\", \"subkit\": \"9\", \"models\": [\"w\"]}"),
	         "/lists/1/from", "days in common with list X"},
	        {LISTS("{\"list\": \"Y\", \"subkit\": \"4\", \"models\": [\"Whimbrel\"]}"),
	         "/lists/0/from", "there already"},
	        {PART("{\"part\": \"A\"}"), "/lists/0/parts/0/quantity", "above 0"},
	        {PART("{\"quantity\": 1}"), "/lists/0/parts/0/part", "is needed"},
	        {PART("{\"part\": \"A\", \"quantity\": 0}"), "/lists/0/parts/0/quantity",
	         "above 0"},
	        {PART("{\"part\": \"A\", \"quantity\": -1}"), "/lists/0/parts/0/quantity", ""},
	        {PART("{\"part\": \"A\", \"quantity\": \"1\"}"), "/lists/0/parts/0/quantity", ""},
	        {PART("{\"part\": \"A\", \"quantity\": 0.0001}"), "/lists/0/parts/0/quantity", ""},
	        {PART("{\"part\": \"A\", \"quantity\": 1e9}"), "/lists/0/parts/0/quantity", ""},
	        {PART("{\"part\": \"A\", \"quantity\": 1, \"crate\": 2}"), "/lists/0/parts/0", ""},
	        {CHANGES("{\"old\": \"A\"}"), "/replacements/0/new", "is needed"},
	        {CHANGES("{\"old\": \"A\", \"new\": \"a\"}"), "/replacements/0/new", "circle"},
	        {CHANGES("{\"old\": \"A\", \"new\": \"B\"}, {\"old\": \"a\", \"new\": \"C\"}"),
	         "/replacements/1/old", "twice"},
	        {CHANGES("{\"old\": \"WH-1-6\", \"new\": \"WH-1-5\"}"), "/replacements/0/new",
	         "circle"},
	        {CHANGES("{\"old\": \"A\", \"new\": \"B\"}, {\"old\": \"B\", \"new\": \"C\"},"
	                 " {\"old\": \"C\", \"new\": \"A\"}"),
	         "/replacements/", "circle"},
	        {STOCK("{\"title\": \"x\"}"), "/stock/0/code", "is needed"},
	        {STOCK("{\"code\": \"A\"}, {\"code\": \"a\"}"), "/stock/1/code", "twice"},
	        {STOCK("{\"code\": \"A\", \"lengths\": [{}]}"), "/stock/0/lengths/0/length", ""},
	        {STOCK("{\"code\": \"A\", \"lengths\": [{\"length\": \"-6 ft\"}]}"),
	         "/stock/0/lengths/0/length", "is no length"},
	        {STOCK("{\"code\": \"A\", \"lengths\": [{\"length\": \"0 ft\"}]}"),
	         "/stock/0/lengths/0/length", "above 0"},
	        {STOCK("{\"code\": \"A\", \"lengths\": [{\"length\": \"6 ft\", \"price\": -1}]}"),
	         "/stock/0/lengths/0/price", "money"},
	        {STOCK("{\"code\": \"A\", \"lengths\": [{\"length\": \"6 ft\", \"price\": "
	               "0.001}]}"),
	         "/stock/0/lengths/0/price", "money"},
	};
	struct chapter *ch = *state;
	const char *before = body_of(ch, web_get(ch->web, STEWARD, "/board/parts.json"));

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		const struct response *r = upload(ch, STEWARD, rows[i].file);

		if (r->status != 422 || !web_holds(r, rows[i].place) ||
		    !web_holds(r, rows[i].words))
			fail_msg("%s: %u %s", rows[i].file, r->status, r->body);
		assert_string_equal(body_of(ch, web_get(ch->web, STEWARD, "/board/parts.json")),
		                    before);
	}
	assert_int_equal(upload(ch, ANN, book)->status, 403);
}

/* ---- for programs ---- */

static void programs_get_the_same(void **state)
{
	struct chapter *ch = *state;
	const char *path = arena_printf(ch->arena, "/api/v1/kits/%lld/parts",
	                                (long long)web_kit(ch->web, ANN).v);

	ship(ch, "2019-04");
	holds(web_api(ch->web, ANN, path), "\"bag\":\"1203\"");
	holds(web_api(ch->web, ANN, path), "\"state\":\"have\"");
	holds(web_api(ch->web, ANN, path), "\"cut\":\"2 x 14 1/2 in, 6 in\"");
	assert_int_equal(web_api(ch->web, BEN, path)->status, 404);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(the_list_says_where_it_lies_before_what_to_order),
	        TEST(entries_change_what_is_held_and_are_taken_back),
	        TEST(take_back_undoes),
	        TEST(bad_entries_are_refused),
	        TEST(a_record_asks_before_it_uses_a_part_up),
	        TEST(the_shopping_list_is_a_page_and_a_table),
	        TEST(the_first_list_is_waited_for),
	        TEST(an_older_list_says_so),
	        TEST(a_changed_kit_is_counted_as_it_is_now),
	        TEST(the_chapter_counts_who_agrees),
	        TEST(the_chapter_adds_up),
	        TEST(the_chapter_cuts_together),
	        cmocka_unit_test(csv_keeps_to_its_rules),
	        TEST(lengths_of_notices_and_own_are_planned),
	        TEST(what_cannot_be_cut_is_told),
	        TEST(bad_lengths_are_refused),
	        TEST(stewards_look_at_the_book_and_take_parts_of_it_out),
	        TEST(what_is_saved_is_taken_in_again),
	        TEST(a_file_with_one_fault_changes_nothing),
	        TEST(programs_get_the_same),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
