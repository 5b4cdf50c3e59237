/* test_report_pages.c - field reports through app_handle: reported, answered,
 * worded anew, merged, removed, linked, drawn up; who may, and who reads what;
 * and everything that a form may hold but should not.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "support.h"
#include "web_support.h"

#include "store/notices.h"
#include "store/records.h"
#include "store/reports.h"
#include "store/settings.h"

#define HOSTILE "\"><script>alert(1)</script>"
#define HOSTILE_TYPED "%22%3E%3Cscript%3Ealert(1)%3C/script%3E"
#define ANN_SERIAL "WH-0123"

struct chapter {
	struct web *web;
	struct arena *arena;
	struct kit_id sue_kit; /* the steward builds, too */
	struct notice_id notice;
};

/* ---- a chapter with three kits of one model ---- */

static void give_facts(struct chapter *ch, struct kit_id kit, const char *model, const char *serial)
{
	struct facts facts = {.has_serial = serial[0] != '\0'};

	assert_int_equal(name_make(ch->arena, model, strlen(model), &facts.model), ST_OK);
	if (facts.has_serial)
		assert_int_equal(serial_make(ch->arena, serial, strlen(serial), &facts.serial),
		                 ST_OK);
	assert_int_equal(kit_set_facts(web_store(ch->web), kit, &facts), ST_OK);
}

static struct kit_id add_kit(struct chapter *ch, enum who who, const char *name, const char *serial)
{
	struct kit_id id;

	assert_int_equal(
	        kit_add(web_store(ch->web), web_member(ch->web, who), name, WEB_START, &id), ST_OK);
	give_facts(ch, id, "Whimbrel", serial);
	return id;
}

static void publish(struct chapter *ch)
{
	struct revision_content content = revision_content_empty;
	struct notice_import notice = {&content, 1, "", ""};

	content.number = "HB-1";
	content.issuer = "Harrowfen";
	content.issued = "2018-03";
	content.title = "Bushing can rub the tube";
	content.effectivity = "all";
	assert_int_equal(notice_import(web_store(ch->web), &notice, web_member(ch->web, STEWARD),
	                               WEB_START, &ch->notice),
	                 ST_OK);
}

static int set_up(void **state)
{
	struct chapter *ch = calloc(1, sizeof *ch);

	assert_non_null(ch);
	ch->web = web_new(NULL, 0, NULL, 0);
	ch->arena = arena_new();
	assert_non_null(ch->arena);
	give_facts(ch, web_kit(ch->web, ANN), "Whimbrel", ANN_SERIAL);
	give_facts(ch, web_kit(ch->web, BEN), "Whimbrel", "WH-0200");
	ch->sue_kit = add_kit(ch, STEWARD, "Sue's", "WH-0300");
	publish(ch);
	assert_int_equal(setting_set_text(web_store(ch->web), SETTING_CHAPTER, "Dry Creek"), ST_OK);
	*state = ch;
	return 0;
}

static int tear_down(void **state)
{
	struct chapter *ch = *state;

	web_free(ch->web);
	arena_free(ch->arena);
	free(ch);
	return 0;
}

/* ---- asking ---- */

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

static void expect_status(const struct response *response, unsigned status)
{
	if (response->status != status)
		fail_msg("%u instead of %u: %.*s", response->status, status, (int)response->len,
		         response->body ? response->body : "");
}

static const char *path(int64_t report, const char *page)
{
	static char out[120];

	snprintf(out, sizeof out, "/reports/%lld%s", (long long)report, page);
	return out;
}

static int64_t total_reports(struct chapter *ch)
{
	const struct report_row *rows;
	size_t count;
	int64_t total;

	assert_int_equal(report_search(web_store(ch->web), ch->arena, &report_query_all, &rows,
	                               &count, &total),
	                 ST_OK);
	return total;
}

static size_t total_findings(struct chapter *ch, int64_t report)
{
	const struct finding_row *rows;
	size_t count;

	assert_int_equal(finding_list(web_store(ch->web), ch->arena, (struct report_id){report},
	                              &rows, &count),
	                 ST_OK);
	return count;
}

static struct report read_report(struct chapter *ch, int64_t id)
{
	struct report report;

	assert_int_equal(
	        report_read(web_store(ch->web), ch->arena, (struct report_id){id}, &report), ST_OK);
	return report;
}

/* The id at the end of where a redirect leads. */
static int64_t id_of(const struct response *response)
{
	const char *location = web_header(response, "Location");

	expect_status(response, 303);
	if (strncmp(location, "/reports/", 9) != 0)
		fail_msg("sent to %s", location);
	return strtoll(location + 9, NULL, 10);
}

static const struct response *report_as(struct chapter *ch, enum who who, struct kit_id kit,
                                        const char *fields)
{
	char body[4000];

	snprintf(body, sizeof body, "kit=%lld&%s", (long long)kit.v, fields);
	return web_post(ch->web, who, "/reports/new", body);
}

#define TUBE                                                                                       \
	"title=Tube+rubs+on+the+bushing&seen=A+bright+mark&look=Move+the+stick&severity=grows"     \
	"&part=WH-2207-1&step=EMP-05&zone=tail"

#define FORGOTTEN                                                                                  \
	"title=A+name+to+be+forgotten&seen=A+crack&look=With+a+lamp&severity=grows&step=EMP-05"

static int64_t ann_reports(struct chapter *ch)
{
	return id_of(report_as(ch, ANN, web_kit(ch->web, ANN), TUBE "&another=yes"));
}

static const struct response *answer(struct chapter *ch, enum who who, int64_t report,
                                     struct kit_id kit, const char *fields)
{
	char body[2000];

	snprintf(body, sizeof body, "kit=%lld&%s", (long long)kit.v, fields);
	return web_post(ch->web, who, path(report, "/findings"), body);
}

/* ---- who may ---- */

static void every_caller_at_every_address(void **state)
{
	static const struct {
		const char *page;
		unsigned visitor, ann, ben, steward;
	} rows[] = {
	        {"", 200, 200, 200, 200},
	        {"?page=1", 200, 200, 200, 200},
	        {"?page=2", 200, 200, 200, 200},
	        {"?page=0", 400, 400, 400, 400},
	        {"?page=x", 400, 400, 400, 400},
	        {"?other=1", 400, 400, 400, 400},
	        {"/log", 303, 200, 200, 200},
	        {"/edit", 303, 200, 403, 200},
	        {"/remove", 303, 200, 403, 200},
	        {"/call", 303, 200, 200, 200},
	        {"/merge", 303, 403, 403, 200},
	        {"/merge?q=tube", 303, 403, 403, 200},
	        {"/link", 303, 403, 403, 200},
	        {"/advisory", 303, 403, 403, 200},
	        {"/advisory?hint=yes", 303, 403, 403, 200},
	        {"/put-back", 405, 405, 405, 405},
	        {"/part", 405, 405, 405, 405},
	        {"/findings", 405, 405, 405, 405},
	        {"/nothing", 404, 404, 404, 404},
	};
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const char *at = path(id, rows[i].page);

		expect_status(web_get(ch->web, VISITOR, at), rows[i].visitor);
		expect_status(web_get(ch->web, ANN, at), rows[i].ann);
		expect_status(web_get(ch->web, BEN, at), rows[i].ben);
		expect_status(web_get(ch->web, STEWARD, at), rows[i].steward);
		expect_status(web_get(ch->web, ADMIN, at), rows[i].steward);
	}
	for (enum who who = VISITOR; who <= ADMIN; who++) {
		expect_status(web_get(ch->web, who, "/reports"), 200);
		expect_status(web_get(ch->web, who, path(id + 1, "")), 404);
		expect_status(web_get(ch->web, who, "/reports/0"), 404);
		expect_status(web_get(ch->web, who, "/reports/tube"), 404);
	}
}

static void every_act_by_those_who_may_not(void **state)
{
	static const struct {
		enum who who;
		const char *page, *body;
		unsigned status;
	} rows[] = {
	        {VISITOR, "/edit", TUBE, 403},
	        {BEN, "/edit", TUBE, 403},
	        {VISITOR, "/remove", "reason=x", 403},
	        {BEN, "/remove", "reason=x", 403},
	        {ANN, "/remove", "", 422},
	        {ANN, "/remove", "reason=+", 422},
	        {ANN, "/remove", "reason=a&reason=b", 422},
	        {ANN, "/remove", "reason=a&no=b", 400},
	        {ANN, "/put-back", "", 403},
	        {STEWARD, "/put-back", "", 404},
	        {ANN, "/merge", "into=1", 403},
	        {STEWARD, "/merge", "", 400},
	        {STEWARD, "/merge", "into=x", 400},
	        {STEWARD, "/merge", "into=-1", 400},
	        {STEWARD, "/merge", "into=99", 404},
	        {STEWARD, "/merge", "into=1", 409}, /* itself */
	        {ANN, "/part", "", 403},
	        {STEWARD, "/part", "", 404},
	        {ANN, "/link", "number=HB-1", 403},
	        {STEWARD, "/link", "number=HB-9", 422},
	        {STEWARD, "/link", "number=HB-1&number=HB-2", 422},
	        {ANN, "/advisory", "number=CA-1&title=x", 403},
	        {STEWARD, "/advisory", "number=&title=x", 422},
	        {STEWARD, "/advisory", "number=CA-1&title=", 422},
	        {STEWARD, "/advisory", "number=HB-1&title=x", 422},
	        {STEWARD, "/advisory", "number=hb-1&title=x", 422},
	        {STEWARD, "/advisory", "number=CA-1&title=x&statement=none", 422},
	        {STEWARD, "/advisory", "number=CA-1&title=x&more=1", 400},
	        {VISITOR, "/call", "reason=x", 403},
	        {BEN, "/call", "reason=", 422},
	        {VISITOR, "/findings", "kit=1&answer=found", 403},
	        {BEN, "/findings/1/remove", "", 404},
	        {BEN, "/findings/99/remove", "", 404},
	};
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);
	struct report before = read_report(ch, id);

	assert_int_equal(id, 1);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		expect_status(web_post(ch->web, rows[i].who, path(id, rows[i].page), rows[i].body),
		              rows[i].status);
	assert_int_equal(read_report(ch, id).version, before.version);
	assert_int_equal(total_reports(ch), 1);
}

/* ---- reporting ---- */

static void enough_for_a_day_is_said_on_the_form(void **state)
{
	struct chapter *ch = *state;
	struct kit_id kit = web_kit(ch->web, ANN);
	const struct response *r;
	char fields[100];

	for (int i = 0; i < REPORTS_A_DAY; i++) {
		snprintf(fields, sizeof fields, "title=Mark+%d&seen=x&severity=grows&another=yes",
		         i);
		expect_status(report_as(ch, ANN, kit, fields), 303);
	}
	r = report_as(ch, ANN, kit, TUBE "&another=yes");
	expect_status(r, 422);
	expect_holds(r, "At most 20 field reports for a member within a day. Keep");
}

static void bad_reports_change_nothing_and_come_back_as_typed(void **state)
{
	static const struct {
		const char *body, *words;
	} rows[] = {
	        {"seen=x&severity=work", "What it is, in a few words is needed"},
	        {"title=+&seen=x&severity=work", "What it is, in a few words is needed"},
	        {"title=Typed&severity=work", "What was seen is needed"},
	        {"title=Typed&seen=x", "How bad is needed"},
	        {"title=Typed&seen=x&severity=awful", "How bad"},
	        {"title=Typed&seen=x&severity=work&severity=danger", "more than once"},
	        {"title=Typed&seen=x&severity=work&credit=all", "Who reads your name"},
	        {"title=Typed&seen=x&severity=work&effectivity=serial", "column"},
	        {"title=Typed&seen=x&severity=work&effectivity=model+A%0Anonsense", "line 2"},
	        {"title=Typed&seen=x&severity=work&kit=1", "more than once"},
	        {"title=Ty%00ped&seen=x&severity=work", "What it is"},
	        {"title=%C3%28&seen=x&severity=work", "What it is"},
	};
	struct chapter *ch = *state;
	char parts[3000] = "title=Typed&seen=x&severity=work";

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct response *r = report_as(ch, ANN, web_kit(ch->web, ANN), rows[i].body);

		expect_status(r, 422);
		expect_holds(r, rows[i].words);
		if (strncmp(rows[i].body, "title=Typed", 11) == 0)
			expect_holds(r, "value=\"Typed\"");
	}
	expect_lacks(report_as(ch, ANN, web_kit(ch->web, ANN), "title=Typed&part=&part=&part="),
	             "id=\"part-2\"");
	for (int i = 0; i <= REPORT_PARTS_MOST; i++)
		snprintf(parts + strlen(parts), sizeof parts - strlen(parts), "&part=P-%d", i);
	expect_status(report_as(ch, ANN, web_kit(ch->web, ANN), parts), 422);
	assert_int_equal(total_reports(ch), 0);
}

static void only_own_kits_with_a_model(void **state)
{
	struct chapter *ch = *state;
	struct kit_id nameless;

	assert_int_equal(kit_add(web_store(ch->web), web_member(ch->web, ANN), "No model",
	                         WEB_START, &nameless),
	                 ST_OK);
	expect_holds(report_as(ch, ANN, web_kit(ch->web, BEN), TUBE), "one of your kits");
	expect_holds(report_as(ch, ANN, (struct kit_id){9999}, TUBE), "one of your kits");
	expect_holds(report_as(ch, ANN, nameless, TUBE), "model is not known");
	expect_holds(web_post(ch->web, ANN, "/reports/new", TUBE), "one of your kits");
	expect_holds(web_post(ch->web, ADMIN, "/reports/new", TUBE), "add one first");
	expect_holds(web_get(ch->web, ADMIN, "/reports/new"), "add your kit first");
	assert_int_equal(total_reports(ch), 0);
}

static void the_form_is_filled_from_where_it_was_asked_for(void **state)
{
	struct chapter *ch = *state;
	const struct response *r;
	char at[120];

	snprintf(at, sizeof at, "/reports/new?kit=%lld&step=EMP-05&part=WH-2207-1",
	         (long long)web_kit(ch->web, ANN).v);
	r = web_get(ch->web, ANN, at);
	expect_status(r, 200);
	expect_holds(r, "value=\"EMP-05\"");
	expect_holds(r, "value=\"WH-2207-1\"");
	expect_holds(r, ">\nmodel Whimbrel</textarea>");
	expect_holds(r, "Applies to kits of model Whimbrel");
	r = web_get(ch->web, BEN, at); /* somebody else's kit is none of the choices */
	expect_status(r, 200);
	expect_lacks(r, ">\nmodel Whimbrel</textarea>");
	expect_status(web_get(ch->web, ANN, "/reports/new?kit=x"), 400);
	expect_status(web_get(ch->web, ANN, "/reports/new?seen=x"), 400);
	expect_status(web_get(ch->web, VISITOR, "/reports/new"), 303);
}

static void a_report_is_stored_and_read(void **state)
{
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);
	struct report report = read_report(ch, id);
	const struct response *r = web_get(ch->web, VISITOR, path(id, ""));

	assert_string_equal(report.content.model, "Whimbrel");
	assert_string_equal(report.content.effectivity, "model Whimbrel");
	assert_int_equal(report.content.severity, SEVERITY_GROWS);
	assert_int_equal(report.credit, CREDIT_MEMBERS);
	expect_holds(r, "A bright mark");
	expect_holds(r, "Move the stick");
	expect_holds(r, "/part?number=WH-2207-1");
	expect_holds(r, "/step?model=Whimbrel&amp;code=EMP-05");
	expect_holds(r, "found on 1 of 1 kit looked at");
	expect_holds(r, "single report");
	expect_holds(r, "licensed inspector decide");
	r = web_get(ch->web, VISITOR, "/reports");
	expect_holds(r, "Tube rubs on the bushing");
	expect_holds(r, path(id, ""));
}

static void hostile_words_stay_words(void **state)
{
	struct chapter *ch = *state;
	int64_t id;
	static const char *const pages[] = {"", "/edit", "/log", "/merge", "/link", "/advisory"};

	give_facts(ch, web_kit(ch->web, ANN), HOSTILE, ANN_SERIAL);
	id = id_of(report_as(ch, ANN, web_kit(ch->web, ANN),
	                     "title=" HOSTILE_TYPED "&seen=" HOSTILE_TYPED "&look=" HOSTILE_TYPED
	                     "&step=" HOSTILE_TYPED "&zone=" HOSTILE_TYPED "&part=" HOSTILE_TYPED
	                     "&severity=danger&effectivity=all&credit=everybody"));
	expect_status(
	        answer(ch, BEN, id, web_kit(ch->web, BEN), "answer=found&remark=" HOSTILE_TYPED),
	        303);
	for (size_t i = 0; i < sizeof pages / sizeof pages[0]; i++) {
		const struct response *r = web_get(ch->web, STEWARD, path(id, pages[i]));

		expect_status(r, 200);
		expect_lacks(r, "<script>alert");
	}
	expect_lacks(web_get(ch->web, VISITOR, "/reports"), "<script>alert");
	expect_lacks(web_post(ch->web, ANN, "/reports/read-back", "effectivity=" HOSTILE_TYPED),
	             "<script>alert");
	expect_lacks(report_as(ch, ANN, web_kit(ch->web, ANN), "title=" HOSTILE_TYPED),
	             "<script>alert");
}

/* ---- what it may repeat ---- */

static void what_it_may_repeat_is_shown_once(void **state)
{
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);
	const struct response *r = report_as(ch, BEN, web_kit(ch->web, BEN), TUBE);
	char like[300];

	expect_status(r, 422);
	expect_holds(r, "Has this been reported already?");
	expect_holds(r, path(id, ""));
	expect_holds(r, "name=\"another\"");
	assert_int_equal(total_reports(ch), 1);
	r = report_as(ch, BEN, web_kit(ch->web, BEN), TUBE "&another=yes&act=rows");
	expect_status(r, 200);
	expect_holds(r, "name=\"another\" value=\"yes\" checked");
	id_of(report_as(ch, BEN, web_kit(ch->web, BEN), TUBE "&another=yes"));
	assert_int_equal(total_reports(ch), 2);

	snprintf(like, sizeof like, "kit=%lld&title=tube&seen=rubs&part=wh-2207-1",
	         (long long)web_kit(ch->web, BEN).v);
	r = web_post(ch->web, BEN, "/reports/like", like);
	expect_status(r, 200);
	expect_holds(r, "Tube rubs on the bushing");
	expect_lacks(r, "<html");
	expect_lacks(web_post(ch->web, BEN, "/reports/like", "kit=1&title=tube+rubs"), "Tube");
	expect_lacks(web_post(ch->web, BEN, "/reports/like", ""), "reported already");
	expect_status(web_post(ch->web, VISITOR, "/reports/like", like), 403);
	expect_status(web_post(ch->web, BEN, "/reports/like", "serial=1"), 400);
}

static void a_button_that_only_looks_stores_nothing(void **state)
{
	struct chapter *ch = *state;

	expect_status(report_as(ch, ANN, web_kit(ch->web, ANN), TUBE "&act=read"), 200);
	expect_status(report_as(ch, ANN, web_kit(ch->web, ANN), TUBE "&act=rows"), 200);
	expect_status(report_as(ch, ANN, web_kit(ch->web, ANN), TUBE "&act=burn"), 422);
	assert_int_equal(total_reports(ch), 0);
	expect_holds(web_post(ch->web, ANN, "/reports/read-back",
	                      "effectivity=model+Whimbrel%0Aserial+WH-1+thru+WH-9"),
	             "WH-1 thru WH-9");
	expect_lacks(web_post(ch->web, ANN, "/reports/read-back", "effectivity=all"), "Ben");
	expect_holds(web_post(ch->web, ANN, "/reports/read-back", "effectivity=serial"), "error");
}

/* ---- answers ---- */

static void bad_answers_change_nothing(void **state)
{
	static const struct {
		const char *body;
		unsigned status;
	} rows[] = {
	        {"", 422},
	        {"answer=", 422},
	        {"answer=perhaps", 422},
	        {"answer=found&answer=not+there", 422},
	        {"answer=found&credit=all", 422},
	        {"answer=found&remark=%00", 422},
	        {"answer=found&fact=x", 400},
	        {"answer=found&kit=1", 422},
	};
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);
	char *longer = calloc(1, FINDING_REMARK_LONGEST + 100);

	assert_non_null(longer);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		expect_status(answer(ch, BEN, id, web_kit(ch->web, BEN), rows[i].body),
		              rows[i].status);
	expect_status(answer(ch, BEN, id, web_kit(ch->web, ANN), "answer=found"), 403);
	expect_status(answer(ch, BEN, id, (struct kit_id){9999}, "answer=found"), 404);
	expect_status(answer(ch, BEN, id + 1, web_kit(ch->web, BEN), "answer=found"), 404);
	expect_status(web_post(ch->web, BEN, path(id, "/findings"), "answer=found"), 422);
	snprintf(longer, 100, "kit=%lld&answer=found&remark=", (long long)web_kit(ch->web, BEN).v);
	memset(longer + strlen(longer), 'x', FINDING_REMARK_LONGEST + 1);
	expect_status(web_post(ch->web, BEN, path(id, "/findings"), longer), 422);
	free(longer);
	assert_int_equal(total_findings(ch, id), 1);
}

static void answers_add_up_to_a_state(void **state)
{
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);
	const struct response *r = answer(ch, BEN, id, web_kit(ch->web, BEN),
	                                  "answer=not+there&remark=Looked+*twice*");
	static char first[40];

	expect_status(r, 303);
	r = web_get(ch->web, BEN, path(id, ""));
	expect_holds(r, "found on 1 of 2 kits looked at");
	expect_holds(r, "<em>twice</em>");
	expect_holds(r, "You answered <b>looked, not there</b>");
	/* 3 kits of the model, one of which has not been looked at. */
	expect_holds(r, "3 kits of the chapter could have it");
	expect_holds(r, "<b>1</b> of them has not been looked at");
	add_kit(ch, ANN, "One more", "WH-0400"); /* seen at once */
	expect_holds(web_get(ch->web, BEN, path(id, "")), "<b>2</b> of them have not been");
	/* Exact 95 % interval of 1 of 2: quantiles of Beta(1, 2) and Beta(2, 1) by hand,
	 * 1 - sqrt(.975) = .0126 and sqrt(.975) = .9874. */
	expect_holds(r, "<b>1.3 % and 98.7 %</b>");

	expect_status(answer(ch, BEN, id, web_kit(ch->web, BEN), "answer=found"), 303);
	r = web_get(ch->web, BEN, path(id, ""));
	expect_holds(r, "found on 2 of 2 kits looked at");
	expect_holds(r, "confirmed");
	expect_holds(r, "replaced by a later answer");
	assert_int_equal(total_findings(ch, id), 3);

	snprintf(first, sizeof first, "/findings/2/remove");
	expect_status(web_post(ch->web, ANN, path(id, first), ""), 403);
	expect_status(web_post(ch->web, BEN, path(id, first), ""), 303);
	expect_status(web_post(ch->web, BEN, path(id, first), ""), 404);
	expect_lacks(web_get(ch->web, BEN, path(id, "")), "twice");
}

/* ---- how many could have it ---- */

static void publish_second(struct chapter *ch)
{
	struct revision_content content = revision_content_empty;
	struct notice_import notice = {&content, 1, "", ""};
	struct notice_id id;

	content.number = "HB-2";
	content.issuer = "Harrowfen";
	content.issued = "2019-03";
	content.title = "Rivets of the bushing";
	content.effectivity = "all";
	assert_int_equal(notice_import(web_store(ch->web), &notice, web_member(ch->web, STEWARD),
	                               WEB_START, &id),
	                 ST_OK);
}

/* A report on Ann's kit that tells of kits with this statement. */
static int64_t report_of(struct chapter *ch, const char *statement)
{
	struct report_content content = {.title = "Loose rivets",
	                                 .model = "Whimbrel",
	                                 .step = "",
	                                 .zone = "",
	                                 .seen = statement, /* each its own: none is sent twice */
	                                 .look = "",
	                                 .effectivity = statement};
	struct report_id id;

	assert_int_equal(report_add(web_store(ch->web), &content, web_kit(ch->web, ANN),
	                            web_member(ch->web, ANN), CREDIT_NOBODY, WEB_START, &id),
	                 ST_OK);
	return id.v;
}

static void record_done(struct chapter *ch, struct kit_id kit, const char *notice)
{
	struct name none = {.text = "", .key = ""};
	struct record record = {.revision = none,
	                        .part = none,
	                        .position = none,
	                        .method = "replaced",
	                        .by = "Ben",
	                        .signed_as = "",
	                        .remarks = "",
	                        .entered_by = "Ben",
	                        .entered_at = WEB_START};
	struct record_id id;

	assert_int_equal(name_make(ch->arena, notice, strlen(notice), &record.notice), ST_OK);
	assert_int_equal(date_parse("2020", 4, &record.done), ST_OK);
	assert_int_equal(record_append(web_store(ch->web), kit, &record, &id), ST_OK);
}

static void expect_counts(struct chapter *ch, int64_t id, int all, int left)
{
	const struct response *r = web_get(ch->web, BEN, path(id, ""));
	char all_words[80], left_words[80];

	snprintf(all_words, sizeof all_words, "<p>%d kit%s of the chapter could have it", all,
	         all == 1 ? "" : "s");
	snprintf(left_words, sizeof left_words, "<b>%d</b> of them %s not been looked at", left,
	         left == 1 ? "has" : "have");
	expect_holds(r, all_words);
	expect_holds(r, left_words);
}

static void the_count_of_kits_follows_all_that_changes_it(void **state)
{
	struct chapter *ch = *state;
	int64_t serials = report_of(ch, "serial WH-0100 thru WH-0299"),
	        others = report_of(ch, "serial WH-0300 and on"),
	        closed = report_of(ch, "notice HB-2");
	struct kit_id more;

	/* Ann's WH-0123 is looked at, Ben's WH-0200 is not, Sue's WH-0300 is outside. */
	expect_counts(ch, serials, 2, 1);
	expect_counts(ch, others, 1, 1);
	expect_counts(ch, serials, 2, 1);
	/* A finding, and a later one of the same kit that is no look. */
	expect_status(answer(ch, BEN, serials, web_kit(ch->web, BEN), "answer=not+there"), 303);
	expect_counts(ch, serials, 2, 0);
	expect_status(answer(ch, BEN, serials, web_kit(ch->web, BEN), "answer=does+not+fit"), 303);
	expect_counts(ch, serials, 2, 1);
	/* Kits that are made, changed and removed. */
	more = add_kit(ch, ANN, "One more", "WH-0250");
	expect_counts(ch, serials, 3, 2);
	give_facts(ch, more, "Whimbrel", "WH-0400");
	expect_counts(ch, serials, 2, 1);
	expect_counts(ch, others, 2, 2);
	assert_int_equal(kit_remove(web_store(ch->web), more), ST_OK);
	expect_counts(ch, others, 1, 1);
	/* A notice that records closed before it was published. */
	record_done(ch, web_kit(ch->web, BEN), "HB-2");
	expect_counts(ch, closed, 0, 0);
	publish_second(ch);
	expect_counts(ch, closed, 1, 1);
	/* The statement itself. */
	expect_status(web_post(ch->web, ANN, path(serials, "/edit"),
	                       "title=Loose+rivets&seen=They+turn.&severity=grows"
	                       "&effectivity=serial+WH-0200+and+on"),
	              303);
	expect_counts(ch, serials, 2, 2);
}

static void names_and_facts_are_read_by_those_who_may(void **state)
{
	static const struct {
		const char *credit;
		bool visitor, member;
	} rows[] = {{"nobody", false, false}, {"members", false, true}, {"everybody", true, true}};
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);

	for (size_t i = 0; i < 3; i++) {
		char body[100], api[60];
		const struct response *r;

		snprintf(body, sizeof body, "answer=found&credit=%s", rows[i].credit);
		expect_status(answer(ch, BEN, id, web_kit(ch->web, BEN), body), 303);
		r = web_get(ch->web, VISITOR, path(id, ""));
		assert_int_equal(web_holds(r, "Ben Builder"), rows[i].visitor);
		expect_lacks(r, "WH-0200");
		expect_lacks(r, ANN_SERIAL);
		expect_lacks(r, "Ann Builder");
		r = web_get(ch->web, STEWARD, path(id, ""));
		assert_int_equal(web_holds(r, "Ben Builder"), rows[i].member);
		expect_holds(r, "WH-0200");
		expect_holds(r, ANN_SERIAL);
		expect_holds(r, "Ann Builder");
		snprintf(api, sizeof api, "/api/v1/reports/%lld", (long long)id);
		r = web_api(ch->web, VISITOR, api);
		expect_status(r, 200);
		assert_int_equal(web_holds(r, "Ben Builder"), rows[i].visitor);
		expect_lacks(r, "WH-0200");
		expect_lacks(r, ANN_SERIAL);
		r = web_api(ch->web, STEWARD, api);
		assert_int_equal(web_holds(r, "Ben Builder"), rows[i].member);
		expect_holds(r, "WH-0200");
	}
}

/* What findings add up to is kept in memory; whatever changes is seen at once. */
static void nothing_old_is_shown(void **state)
{
	struct chapter *ch = *state;
	struct store *store = web_store(ch->web);
	int64_t id = ann_reports(ch);

	expect_status(answer(ch, BEN, id, web_kit(ch->web, BEN), "answer=found&credit=everybody"),
	              303);
	expect_holds(web_get(ch->web, VISITOR, path(id, "")), "Ben Builder");
	assert_int_equal(member_set_name(store, web_member(ch->web, BEN), "Benjamin"), ST_OK);
	expect_holds(web_get(ch->web, VISITOR, path(id, "")), "Benjamin");
	expect_holds(web_api(ch->web, VISITOR, "/api/v1/reports/1"), "Benjamin");
	assert_int_equal(report_link(store, (struct report_id){id}, ch->notice,
	                             web_member(ch->web, STEWARD), WEB_START),
	                 ST_OK);
	expect_holds(web_get(ch->web, VISITOR, path(id, "")), "Settled by notice");
	assert_int_equal(notice_cancel(store, ch->notice, "2026-01-01", "mistake",
	                               web_member(ch->web, STEWARD), WEB_START),
	                 ST_OK);
	expect_lacks(web_get(ch->web, VISITOR, path(id, "")), "Settled by notice");
	assert_int_equal(member_remove(store, web_member(ch->web, BEN), WEB_START), ST_OK);
	expect_lacks(web_get(ch->web, VISITOR, path(id, "")), "Benjamin");
	expect_lacks(web_get(ch->web, STEWARD, path(id, "")), "Benjamin");
	expect_lacks(web_api(ch->web, STEWARD, "/api/v1/reports/1"), "Benjamin");
	expect_holds(web_get(ch->web, VISITOR, path(id, "")), "found on 2 of 2 kits");
}

/* 50 findings on a page, newest first. */
static void findings_are_paged(void **state)
{
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);

	for (int i = 0; i < 54; i++) {
		char body[100];

		snprintf(body, sizeof body, "answer=not+there&remark=look+%d+.", i);
		web_set_now(WEB_START + 60 * i);
		expect_status(answer(ch, BEN, id, web_kit(ch->web, BEN), body), 303);
	}
	expect_holds(web_get(ch->web, VISITOR, path(id, "")), "look 53 .");
	expect_lacks(web_get(ch->web, VISITOR, path(id, "")), "look 3 .");
	expect_holds(web_get(ch->web, VISITOR, path(id, "?page=2")), "look 3 .");
	expect_lacks(web_get(ch->web, VISITOR, path(id, "?page=2")), "look 53 .");
	expect_holds(web_get(ch->web, VISITOR, path(id, "?page=2")), "51 to 55 of 55");
	expect_status(web_get(ch->web, VISITOR, path(id, "?page=99999")), 200);
}

/* Found on the five low serials, not on the five high ones: two-sided p of
 * 5 0 / 0 5 is 2/252 = .0079 (Fisher: 10 over 5 is 252 choices, two of them so). */
static void a_cluster_is_a_hint_and_can_be_drawn_up(void **state)
{
	struct chapter *ch = *state;
	struct revision draft;
	struct report report;
	const struct response *r;
	int64_t id;
	char serial[20], api[160];

	give_facts(ch, web_kit(ch->web, ANN), "Whimbrel", "WH-0001");
	id = ann_reports(ch);
	for (int i = 2; i <= 16; i++) {
		enum who who = i % 2 ? BEN : STEWARD;
		struct kit_id kit;

		snprintf(serial, sizeof serial, "WH-%04d", i);
		kit = add_kit(ch, who, "One more", serial);
		expect_status(answer(ch, who, id, kit,
		                     i <= 8 ? "answer=found&credit=everybody"
		                            : "answer=not+there&credit=everybody"),
		              303);
	}
	expect_holds(web_get(ch->web, BEN, path(id, "")), "A hint, no finding");
	expect_holds(web_get(ch->web, BEN, path(id, "")), "serial up to WH-0008");
	expect_lacks(web_get(ch->web, BEN, path(id, "")), "Take it into a draft");
	/* It names a kit's number: not for visitors. */
	snprintf(api, sizeof api, "/api/v1%s", path(id, ""));
	expect_holds(web_api(ch->web, BEN, api), "\"split\":{\"words\":");
	expect_holds(web_api(ch->web, VISITOR, api), "\"split\":null");
	expect_lacks(web_get(ch->web, VISITOR, path(id, "")), "A hint");
	expect_lacks(web_get(ch->web, VISITOR, path(id, "")), "WH-0008");
	expect_lacks(web_api(ch->web, VISITOR, api), "WH-0008");
	expect_holds(web_get(ch->web, STEWARD, path(id, "")), "Take it into a draft");
	expect_holds(web_get(ch->web, STEWARD, path(id, "/advisory?hint=yes")),
	             "value=\"hint\" checked");
	expect_holds(web_get(ch->web, STEWARD, path(id, "/advisory")), "value=\"CA-2026-1\"");
	expect_holds(web_get(ch->web, STEWARD, path(id, "/advisory")),
	             "value=\"Tube rubs on the bushing\"");

	r = web_post(ch->web, STEWARD, path(id, "/advisory"),
	             "number=CA-7&title=Look+at+the+tube&statement=hint");
	expect_status(r, 303);
	report = read_report(ch, id);
	assert_true(report.notice.v != 0);
	assert_false(report.notice_stands);
	assert_string_equal(report.notice_number, "CA-7");
	assert_non_null(strstr(web_header(r, "Location"), "/board/drafts/"));
	assert_int_equal(revision_read(web_store(ch->web), ch->arena,
	                               (struct revision_id){strtoll(
	                                       web_header(r, "Location") + strlen("/board/drafts/"),
	                                       NULL, 10)},
	                               &draft),
	                 ST_OK);
	assert_string_equal(draft.content.title, "Look at the tube");
	assert_string_equal(draft.content.issuer, "Dry Creek");
	assert_string_equal(draft.content.action, "Move the stick");
	assert_int_equal(draft.content.kind, KIND_CHAPTER_ADVISORY);
	assert_int_equal(draft.content.force, FORCE_RECOMMENDED);
	assert_int_equal(draft.content.n_lines, 1);
	assert_string_equal(draft.content.lines[0].part, "WH-2207-1");
	assert_int_equal(draft.content.lines[0].disposition, DISPOSE_INSPECT);
	assert_non_null(strstr(draft.content.effectivity, "model Whimbrel\nserial"));
	assert_non_null(strstr(draft.content.problem, "A bright mark"));
	assert_non_null(strstr(draft.content.problem, "Found on 8 of 16 kits"));
	assert_non_null(strstr(draft.content.source, "Ben Builder"));
	assert_null(strstr(draft.content.source, "Ann Builder")); /* for members only */
	expect_status(web_get(ch->web, STEWARD, path(id, "/advisory")), 404);
	expect_status(web_post(ch->web, STEWARD, path(id, "/advisory"), "number=CA-8&title=x"),
	              409);
}

static void fewer_than_eight_kits_give_no_hint(void **state)
{
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);

	expect_status(answer(ch, BEN, id, web_kit(ch->web, BEN), "answer=not+there"), 303);
	expect_lacks(web_get(ch->web, STEWARD, path(id, "")), "A hint");
	expect_lacks(web_get(ch->web, STEWARD, path(id, "/advisory?hint=yes")), "value=\"hint\"");
}

/* ---- what becomes of it ---- */

static void worded_anew_with_what_stood_before_in_the_log(void **state)
{
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);

	expect_holds(web_get(ch->web, ANN, path(id, "/edit")), "Tube rubs on the bushing");
	expect_status(web_post(ch->web, ANN, path(id, "/edit"), "title=&seen=x&severity=work"),
	              422);
	expect_status(web_post(ch->web, ANN, path(id, "/edit"),
	                       "title=Tube+bent&seen=It+stuck&severity=danger&effectivity=all"),
	              303);
	assert_string_equal(read_report(ch, id).content.title, "Tube bent");
	assert_int_equal(read_report(ch, id).content.parts.count, 0);
	expect_holds(web_get(ch->web, ANN, path(id, "/log")), "A bright mark");
	expect_holds(web_get(ch->web, STEWARD, path(id, "/log")), "A bright mark");
	assert_false(web_holds(web_get(ch->web, BEN, path(id, "/log")), "A bright mark"));
	expect_status(web_post(ch->web, STEWARD, path(id, "/edit"), TUBE), 303);
}

static void a_form_that_is_sent_twice_reports_once(void **state)
{
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);

	assert_int_equal(ann_reports(ch), id);
	assert_int_equal(total_reports(ch), 1);
}

static void its_author_says_anew_who_reads_the_name(void **state)
{
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);

	expect_lacks(web_get(ch->web, VISITOR, path(id, "")), "Ann Builder");
	expect_holds(web_get(ch->web, ANN, path(id, "/edit")), "Who reads your name");
	expect_lacks(web_get(ch->web, STEWARD, path(id, "/edit")), "Who reads your name");
	expect_status(web_post(ch->web, STEWARD, path(id, "/edit"), TUBE "&credit=everybody"), 303);
	expect_lacks(web_get(ch->web, VISITOR, path(id, "")), "Ann Builder");
	expect_status(web_post(ch->web, ANN, path(id, "/edit"), TUBE "&credit=everybody"), 303);
	expect_holds(web_get(ch->web, VISITOR, path(id, "")), "Ann Builder");
	expect_status(web_post(ch->web, ANN, path(id, "/edit"), TUBE "&credit=nobody"), 303);
	expect_lacks(web_get(ch->web, BEN, path(id, "")), "Ann Builder");
}

static void removed_with_a_trace_and_put_back(void **state)
{
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);
	const struct response *r;

	expect_status(web_post(ch->web, ANN, path(id, "/remove"), "reason=My+own+mistake"), 303);
	assert_int_equal(total_reports(ch), 0);
	r = web_get(ch->web, VISITOR, path(id, ""));
	expect_status(r, 200);
	expect_holds(r, "was removed");
	expect_lacks(r, "A bright mark");
	expect_lacks(r, "Ann");
	expect_lacks(r, "My own mistake");
	r = web_get(ch->web, BEN, path(id, ""));
	expect_lacks(r, "A bright mark");
	expect_holds(r, "My own mistake");
	expect_status(web_get(ch->web, BEN, path(id, "/log")), 404);
	expect_status(web_get(ch->web, ANN, path(id, "/edit")), 404);
	expect_status(web_get(ch->web, ANN, path(id, "/remove")), 404);
	expect_status(web_get(ch->web, BEN, path(id, "/call")), 404);
	expect_status(answer(ch, BEN, id, web_kit(ch->web, BEN), "answer=found"), 404);
	expect_holds(web_get(ch->web, STEWARD, path(id, "")), "A bright mark");
	expect_status(web_api(ch->web, STEWARD, "/api/v1/reports/1"), 404);
	expect_status(web_post(ch->web, ANN, path(id, "/put-back"), ""), 403);
	expect_status(web_post(ch->web, STEWARD, path(id, "/put-back"), ""), 303);
	assert_int_equal(total_reports(ch), 1);
}

static void merged_and_parted(void **state)
{
	struct chapter *ch = *state;
	int64_t first = ann_reports(ch);
	int64_t second = id_of(report_as(ch, BEN, web_kit(ch->web, BEN), TUBE "&another=yes"));
	char body[40], page[40];
	const struct response *r;

	snprintf(body, sizeof body, "into=%lld", (long long)first);
	snprintf(page, sizeof page, "/merge?into=%lld", (long long)first);
	expect_holds(web_get(ch->web, STEWARD, path(second, "/merge?q=tube")), page);
	expect_holds(web_get(ch->web, STEWARD, path(second, "/merge?q=nothing")),
	             "No other report");
	expect_holds(web_get(ch->web, STEWARD, path(second, page)), "What will happen");
	expect_status(web_get(ch->web, STEWARD, path(second, "/merge?into=99")), 422);
	expect_status(web_get(ch->web, STEWARD, path(second, "/merge?q=99")), 422);
	expect_status(web_get(ch->web, STEWARD, path(first, page)), 422); /* itself */
	assert_int_equal(total_findings(ch, first), 1);

	expect_status(web_post(ch->web, STEWARD, path(second, "/merge"), body), 303);
	assert_int_equal(total_reports(ch), 1);
	assert_int_equal(total_findings(ch, first), 2);
	r = web_get(ch->web, ANN, path(first, ""));
	expect_holds(r, "found on 2 of 2 kits");
	expect_holds(r, "Reports merged into it");
	r = web_get(ch->web, ANN, path(second, ""));
	expect_holds(r, "Merged.");
	expect_holds(r, path(first, ""));
	/* An answer to the one goes to the other. */
	expect_status(answer(ch, STEWARD, second, ch->sue_kit, "answer=not+there"), 303);
	assert_int_equal(total_findings(ch, first), 3);
	expect_status(web_get(ch->web, STEWARD, path(second, "/merge")), 404);
	expect_status(web_get(ch->web, STEWARD, path(second, "/advisory")), 404);
	expect_status(web_post(ch->web, STEWARD, path(first, "/merge"), "into=2"), 409);

	expect_status(web_post(ch->web, STEWARD, path(second, "/part"), ""), 303);
	assert_int_equal(total_reports(ch), 2);
	expect_lacks(web_get(ch->web, ANN, path(second, "")), "Merged.");
}

/* What was removed is named by its number alone, wherever another is read with it. */
static void title_of_a_removed_one_is_for_stewards(void **state)
{
	static const enum who readers[] = {VISITOR, ANN, BEN};
	static const char *const pages[] = {"", "/log"};
	struct chapter *ch = *state;
	int64_t first = id_of(report_as(ch, ANN, web_kit(ch->web, ANN), FORGOTTEN "&another=yes"));
	int64_t second = id_of(report_as(ch, BEN, web_kit(ch->web, BEN), TUBE "&another=yes"));
	char body[40], number[40];

	snprintf(body, sizeof body, "into=%lld", (long long)first);
	snprintf(number, sizeof number, "field report %lld", (long long)first);
	expect_status(web_post(ch->web, STEWARD, path(second, "/merge"), body), 303);
	expect_holds(web_get(ch->web, VISITOR, path(second, "")), "to be forgotten");
	assert_int_equal(app_round(web_app(ch->web)), ST_OK);
	expect_holds(web_get(ch->web, BEN, "/news"), number);
	expect_status(web_post(ch->web, STEWARD, path(first, "/remove"), "reason=spam"), 303);
	for (size_t i = 0; i < sizeof readers / sizeof readers[0]; i++)
		for (size_t k = 0; k < sizeof pages / sizeof pages[0]; k++)
			expect_lacks(web_get(ch->web, readers[i], path(second, pages[k])),
			             "to be forgotten");
	expect_holds(web_get(ch->web, ANN, path(second, "/log")), number);
	expect_holds(web_get(ch->web, VISITOR, path(second, "")), "which was removed");
	expect_holds(web_get(ch->web, STEWARD, path(second, "")), "to be forgotten");
	expect_lacks(web_get(ch->web, BEN, "/news"), "to be forgotten");
	expect_lacks(web_api(ch->web, BEN, "/api/v1/reports/2"), "to be forgotten");
	expect_lacks(web_get(ch->web, VISITOR, "/reports?q=forgotten"), "to be forgotten");
}

static void linked_to_a_notice_it_is_settled(void **state)
{
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);
	char notice[60], kit_notice[80], list[60];

	snprintf(notice, sizeof notice, "/notices/%lld", (long long)ch->notice.v);
	snprintf(kit_notice, sizeof kit_notice, "/kits/%lld/notices/%lld",
	         (long long)web_kit(ch->web, ANN).v, (long long)ch->notice.v);
	snprintf(list, sizeof list, "/reports?notice=%lld", (long long)ch->notice.v);
	expect_lacks(web_get(ch->web, VISITOR, notice), "Field reports linked");
	expect_status(web_post(ch->web, STEWARD, path(id, "/link"), "number=hb-1"), 303);
	expect_holds(web_get(ch->web, VISITOR, path(id, "")), "Settled by notice");
	expect_holds(web_get(ch->web, VISITOR, notice), "Field reports linked to this notice");
	expect_holds(web_get(ch->web, ANN, kit_notice), "Tube rubs on the bushing");
	expect_holds(web_get(ch->web, VISITOR, list), "Tube rubs on the bushing");
	expect_holds(web_get(ch->web, VISITOR, "/reports?state=settled"), "Tube rubs");
	expect_lacks(web_get(ch->web, VISITOR, "/reports?state=single+report"), "Tube rubs");
	expect_status(web_get(ch->web, STEWARD, path(id, "/advisory")), 404);
	expect_status(web_post(ch->web, STEWARD, path(id, "/link"), ""), 303);
	expect_lacks(web_get(ch->web, VISITOR, path(id, "")), "Settled by notice");
	expect_status(web_post(ch->web, STEWARD, path(id, "/link"), ""), 404);
}

static void a_steward_is_called_once(void **state)
{
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);

	expect_status(web_post(ch->web, BEN, path(id, "/call"), "reason=Names+somebody"), 303);
	expect_status(web_post(ch->web, BEN, path(id, "/call"), "reason=Again"), 422);
	expect_status(web_post(ch->web, ANN, path(id, "/call"), "reason=My+own"), 403);
	expect_lacks(web_get(ch->web, ANN, path(id, "")), "Call a steward");
	expect_holds(web_get(ch->web, BEN, path(id, "")), "Call a steward");
}

/* ---- the list ---- */

static void the_list_is_searched_narrowed_and_sorted(void **state)
{
	static const struct {
		enum who who;
		const char *query;
		unsigned status;
		bool tube, tank;
	} rows[] = {
	        {VISITOR, "", 200, true, true},
	        {VISITOR, "?q=tube", 200, true, false},
	        {VISITOR, "?q=tub+bush", 200, true, false},
	        {VISITOR, "?q=tube+tank", 200, false, false},
	        {VISITOR, "?q=2207", 200, true, false},
	        {VISITOR, "?q=%22%2A%28", 200, false, false}, /* no word in it */
	        {VISITOR, "?model=whimbrel", 200, true, true},
	        {VISITOR, "?model=Whim", 200, false, false},
	        {VISITOR, "?part=wh-2207-1", 200, true, false},
	        {VISITOR, "?part=2207", 200, false, false},
	        {VISITOR, "?step=emp-05", 200, true, false},
	        {VISITOR, "?state=single+report", 200, true, true},
	        {VISITOR, "?state=confirmed", 200, false, false},
	        {VISITOR, "?state=lost", 422, false, false},
	        {VISITOR, "?order=worst+first", 200, true, true},
	        {VISITOR, "?order=most+looked+at+first", 200, true, true},
	        {VISITOR, "?order=best", 422, false, false},
	        {VISITOR, "?page=2", 200, false, false},
	        {VISITOR, "?page=-1", 422, false, false},
	        {VISITOR, "?notice=99", 200, false, false},
	        {VISITOR, "?notice=x", 422, false, false},
	        {VISITOR, "?mine=yes", 200, true, true}, /* says nothing to a visitor */
	        {ANN, "?mine=yes", 200, true, false},
	        {BEN, "?mine=yes", 200, false, true},
	        {ADMIN, "?mine=yes", 200, false, false},
	        {VISITOR, "?sort=new", 400, false, false},
	};
	struct chapter *ch = *state;

	expect_holds(web_get(ch->web, VISITOR, "/reports"), "Nobody has reported a fault yet");
	ann_reports(ch);
	id_of(report_as(ch, BEN, web_kit(ch->web, BEN),
	                "title=Tank+leaks&seen=Wet+seam&severity=danger"));
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		char at[100];
		const struct response *r;

		snprintf(at, sizeof at, "/reports%s", rows[i].query);
		r = web_get(ch->web, rows[i].who, at);
		expect_status(r, rows[i].status);
		if (web_holds(r, "Tube rubs") != rows[i].tube ||
		    web_holds(r, "Tank leaks") != rows[i].tank)
			fail_msg("%s shows others", at);
	}
	expect_holds(web_get(ch->web, VISITOR, "/reports?q=nothing"), "No report like that");
}

/* ---- for programs ---- */

static void programs_read_reports(void **state)
{
	static const struct {
		const char *at;
		unsigned status;
	} bad[] = {{"/api/v1/reports?state=lost", 400},
	           {"/api/v1/reports?limit=0", 400},
	           {"/api/v1/reports?limit=501", 400},
	           {"/api/v1/reports?offset=-1", 400},
	           {"/api/v1/reports?page=1", 400},
	           {"/api/v1/reports/0", 404},
	           {"/api/v1/reports/99", 404},
	           {"/api/v1/reports/1?limit=x", 400},
	           {"/api/v1/reports/1?state=single", 400}};
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);
	const struct response *r = web_api(ch->web, VISITOR, "/api/v1/reports?part=WH-2207-1");
	json_t *body = json_loadb(r->body, r->len, 0, NULL);

	assert_non_null(body);
	assert_int_equal(json_integer_value(json_object_get(body, "total")), 1);
	json_decref(body);
	expect_holds(r, "licensed inspector decide");
	r = web_api(ch->web, VISITOR, "/api/v1/reports/1?limit=1");
	expect_holds(r, "\"confidence\":0.95,");
	body = json_loadb(r->body, r->len, 0, NULL);
	assert_non_null(body);
	assert_int_equal(json_integer_value(json_object_get(body, "id")), id);
	assert_int_equal(json_array_size(json_object_get(body, "findings")), 1);
	assert_true(json_is_null(json_object_get(body, "by")));
	assert_true(json_is_null(json_object_get(body, "split")));
	json_decref(body);
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
		expect_status(web_api(ch->web, VISITOR, bad[i].at), bad[i].status);
	/* A cookie is no token. */
	r = web_get(ch->web, STEWARD, "/api/v1/reports/1");
	expect_lacks(r, "Ann Builder");
	expect_lacks(r, ANN_SERIAL);
}

/* ---- own data ---- */

static void own_reports_and_findings_are_given_out(void **state)
{
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);
	const struct response *r;
	json_t *file;

	expect_status(answer(ch, BEN, id, web_kit(ch->web, BEN), "answer=found&remark=Mine"), 303);
	expect_status(web_post(ch->web, ANN, path(id, "/remove"), "reason=x"), 303);
	r = web_get(ch->web, ANN, "/account/data");
	file = json_loadb(r->body, r->len, 0, NULL);
	assert_non_null(file);
	assert_int_equal(json_array_size(json_object_get(file, "reports")), 1);
	assert_int_equal(json_array_size(json_object_get(file, "findings")), 1);
	assert_true(json_is_true(
	        json_object_get(json_array_get(json_object_get(file, "reports"), 0), "removed")));
	json_decref(file);
	expect_holds(r, "A bright mark");
	expect_holds(r, "WH-2207-1");
	expect_lacks(r, "Mine");
	r = web_get(ch->web, BEN, "/account/data");
	expect_holds(r, "Mine");
	expect_lacks(r, "A bright mark");
}

/* ---- ask the maker ---- */

static void one_page_for_the_maker(void **state)
{
	struct chapter *ch = *state;
	int64_t id = ann_reports(ch);
	const struct response *r;
	char at[200];

	snprintf(at, sizeof at, "/kits/%lld/reports/%lld/ask?question=Is+it+%%3Cb%%3Esafe?",
	         (long long)web_kit(ch->web, ANN).v, (long long)id);
	r = web_get(ch->web, ANN, at);
	expect_status(r, 200);
	expect_holds(r, ANN_SERIAL);
	expect_holds(r, "Is it &lt;b&gt;safe?");
	expect_holds(r, "A bright mark");
	expect_holds(r, "on this kit: found it");
	expect_status(web_get(ch->web, BEN, at), 404);
	expect_status(web_get(ch->web, VISITOR, at), 303);
	snprintf(at, sizeof at, "/kits/%lld/notices/%lld/ask", (long long)web_kit(ch->web, ANN).v,
	         (long long)ch->notice.v);
	r = web_get(ch->web, ANN, at);
	expect_status(r, 200);
	expect_holds(r, "Harrowfen HB-1");
	expect_holds(r, "(not written yet)");
	snprintf(at, sizeof at, "/kits/%lld/reports/99/ask", (long long)web_kit(ch->web, ANN).v);
	expect_status(web_get(ch->web, ANN, at), 404);
	snprintf(at, sizeof at, "/kits/%lld/reports/%lld/ask?asked=x",
	         (long long)web_kit(ch->web, ANN).v, (long long)id);
	expect_status(web_get(ch->web, ANN, at), 400);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
	        TEST(every_caller_at_every_address),
	        TEST(every_act_by_those_who_may_not),
	        TEST(bad_reports_change_nothing_and_come_back_as_typed),
	        TEST(enough_for_a_day_is_said_on_the_form),
	        TEST(only_own_kits_with_a_model),
	        TEST(the_form_is_filled_from_where_it_was_asked_for),
	        TEST(a_report_is_stored_and_read),
	        TEST(hostile_words_stay_words),
	        TEST(what_it_may_repeat_is_shown_once),
	        TEST(a_button_that_only_looks_stores_nothing),
	        TEST(bad_answers_change_nothing),
	        TEST(answers_add_up_to_a_state),
	        TEST(the_count_of_kits_follows_all_that_changes_it),
	        TEST(names_and_facts_are_read_by_those_who_may),
	        TEST(nothing_old_is_shown),
	        TEST(findings_are_paged),
	        TEST(a_cluster_is_a_hint_and_can_be_drawn_up),
	        TEST(fewer_than_eight_kits_give_no_hint),
	        TEST(worded_anew_with_what_stood_before_in_the_log),
	        TEST(a_form_that_is_sent_twice_reports_once),
	        TEST(its_author_says_anew_who_reads_the_name),
	        TEST(removed_with_a_trace_and_put_back),
	        TEST(merged_and_parted),
	        TEST(title_of_a_removed_one_is_for_stewards),
	        TEST(linked_to_a_notice_it_is_settled),
	        TEST(a_steward_is_called_once),
	        TEST(the_list_is_searched_narrowed_and_sorted),
	        TEST(programs_read_reports),
	        TEST(own_reports_and_findings_are_given_out),
	        TEST(one_page_for_the_maker),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
