/* test_kit_pages.c - the pages of builders, through app_handle: the list that
 * leaves nothing off, facts, answers, reading, records, notes, the statement;
 * and everything that a form may hold but should not.
 */
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support.h"
#include "web_support.h"

#include "base/text.h"
#include "store/notices.h"
#include "store/parts.h"
#include "store/records.h"
#include "chapter/kit_view.h"
#include "web/http/app_parts.h"

#define HOSTILE "\"><script>alert(1)</script>"

/* ---- a chapter with a few notices ---- */

static const struct line_text both_hands[] = {
        {"WH-1", "left", "WH-1-5", DISPOSE_REPLACE, "", ""},
        {"WH-1", "right", "WH-1-5", DISPOSE_REPLACE, "", HOSTILE},
};

struct seed {
	const char *number, *revision, *issued, *title, *effectivity;
	enum force force;
	const struct line_text *lines;
	size_t n_lines;
	const char *requires;
	const char *due; /* NULL: no limits */
	const char *cancelled;
	const char *first_revision; /* of the first of two revisions; NULL: only one */
};

static const struct seed seeds[] = {
        {"HB-1", "", "2018-03", "Bushing can rub the tube", "all", FORCE_MANDATORY, both_hands, 2,
         NULL, NULL, "", NULL},
        {"HB-2", "", "2017", "Travel after the bushing", "all", FORCE_MANDATORY, NULL, 0, "HB-1",
         NULL, "", NULL},
        {"HB-3", "", "2019", "Tail spring", "option tailwheel", FORCE_RECOMMENDED, NULL, 0, NULL,
         NULL, "", NULL},
        {"HB-4", "", "2016-05-02", "Nose leg", "model Whimbrel T", FORCE_OPTIONAL, NULL, 0, NULL,
         NULL, "", NULL},
        {"HB-5", "", "2015", "Look at the mount", "all", FORCE_RECOMMENDED, NULL, 0, NULL,
         "then\nevery 50 hours\nevery 12 calendar months\nwhichever first", "", NULL},
        {"HB-6", "A", "2020-01", "Fuel vent", "all", FORCE_OPTIONAL, NULL, 0, NULL, NULL, "",
         "original"},
        {"HB-7", "", "2017", "Withdrawn by its issuer", "all", FORCE_MANDATORY, NULL, 0, NULL, NULL,
         "2013-02", NULL},
        {"HB-8", "", "2014", HOSTILE, "serial WH-1 thru WH-9", FORCE_MANDATORY, NULL, 0, NULL, NULL,
         "", NULL},
};
#define SEEDS (sizeof seeds / sizeof seeds[0])

struct world {
	struct web *web;
	struct arena *arena;
	struct notice_id notices[SEEDS];
};

static void publish(struct world *ch, size_t i)
{
	const struct seed *seed = &seeds[i];
	struct revision_content both[2] = {revision_content_empty, revision_content_empty};
	struct revision_content *content = &both[1];
	struct notice_import notice = {content, 1, seed->cancelled,
	                               seed->cancelled[0] ? "why" : ""};

	content->number = seed->number;
	content->issuer = "Harrowfen";
	content->revision = seed->revision;
	content->issued = seed->issued;
	content->title = seed->title;
	content->effectivity = seed->effectivity;
	content->action = "1. Do it.\n2. Look at it.";
	content->problem = HOSTILE;
	content->compliance = "Before the next flight.";
	content->force = seed->force;
	content->due = seed->due ? seed->due : "";
	content->lines = seed->lines;
	content->n_lines = seed->n_lines;
	content->requires = (struct text_list){&seed->requires, seed->requires ? 1 : 0};
	if (seed->first_revision) {
		both[0] = *content;
		both[0].revision = seed->first_revision;
		both[0].issued = "2011";
		notice.revisions = both;
		notice.n_revisions = 2;
	}
	assert_int_equal(notice_import(web_store(ch->web), &notice, web_member(ch->web, STEWARD),
	                               WEB_START, &ch->notices[i]),
	                 ST_OK);
}

static int set_up(void **state)
{
	struct world *ch = calloc(1, sizeof *ch);

	assert_non_null(ch);
	ch->web = web_new(NULL, 0, NULL, 0);
	ch->arena = arena_new();
	assert_non_null(ch->arena);
	for (size_t i = 0; i < SEEDS; i++)
		publish(ch, i);
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

/* ---- asking ---- */

/* Path of a page of Ann's kit. */
static const char *at(struct world *ch, const char *page)
{
	static char path[200];

	snprintf(path, sizeof path, "/kits/%lld%s", (long long)web_kit(ch->web, ANN).v, page);
	return path;
}

static const char *at_notice(struct world *ch, size_t i, const char *page)
{
	char rest[120];

	snprintf(rest, sizeof rest, "/notices/%lld%s", (long long)ch->notices[i].v, page);
	return at(ch, rest);
}

static const struct response *get(struct world *ch, const char *path)
{
	return web_get(ch->web, ANN, path);
}

static const struct response *post(struct world *ch, const char *path, const char *body)
{
	return web_post(ch->web, ANN, path, body);
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

static int64_t version(struct world *ch)
{
	struct kit kit;

	assert_int_equal(kit_read(web_store(ch->web), ch->arena, web_kit(ch->web, ANN), &kit),
	                 ST_OK);
	return kit.version;
}

static struct facts facts_now(struct world *ch)
{
	struct facts facts;

	assert_int_equal(kit_facts(web_store(ch->web), ch->arena, web_kit(ch->web, ANN), &facts),
	                 ST_OK);
	return facts;
}

static size_t records_now(struct world *ch, const struct record **out)
{
	size_t count = 0;

	assert_int_equal(
	        record_list(web_store(ch->web), ch->arena, web_kit(ch->web, ANN), out, &count),
	        ST_OK);
	return count;
}

/* The value of a hidden field. */
static const char *hidden(const struct response *response, const char *name)
{
	static char value[100];
	char mark[100];
	const char *found;
	size_t len;

	snprintf(mark, sizeof mark, "name=\"%s\" value=\"", name);
	found = memmem(response->body, response->len, mark, strlen(mark));
	assert_non_null(found);
	found += strlen(mark);
	len = strcspn(found, "\"");
	assert_true(len < sizeof value);
	memcpy(value, found, len);
	value[len] = '\0';
	return value;
}

/* ---- every page ---- */

static const char *const pages[] = {
        "",        "?standing=all", "?standing=not-effective", "/facts",
        "/name",   "/reading",      "/reading?list=yes",       "/records",
        "/remove", "/statement"};

static void test_pages_are_for_the_owner_only(void **state)
{
	struct world *ch = *state;

	for (size_t i = 0; i < sizeof pages / sizeof pages[0]; i++) {
		const char *path = at(ch, pages[i]);

		assert_int_equal(web_get(ch->web, BEN, path)->status, 404);
		assert_int_equal(web_get(ch->web, STEWARD, path)->status, 404);
		assert_int_equal(web_get(ch->web, VISITOR, path)->status, 303);
		assert_int_equal(web_get(ch->web, ANN, path)->status, 200);
	}
	for (size_t i = 0; i < SEEDS; i++) {
		assert_int_equal(get(ch, at_notice(ch, i, ""))->status, 200);
		assert_int_equal(get(ch, at_notice(ch, i, "/record"))->status, 200);
		assert_int_equal(web_get(ch->web, BEN, at_notice(ch, i, ""))->status, 404);
	}
	assert_int_equal(get(ch, at(ch, "/notices/9999"))->status, 404);
	assert_int_equal(get(ch, at(ch, "/notices/9999/record"))->status, 404);
	assert_int_equal(get(ch, at_notice(ch, 0, "/record?revision=9999"))->status, 404);
}

static void test_hostile_words_are_shown_as_words(void **state)
{
	struct world *ch = *state;

	assert_int_equal(kit_rename(web_store(ch->web), web_kit(ch->web, ANN), HOSTILE), ST_OK);
	for (size_t i = 0; i < sizeof pages / sizeof pages[0]; i++) {
		const struct response *response = get(ch, at(ch, pages[i]));

		assert_int_equal(response->status, 200);
		expect_lacks(response, "<script>alert");
		expect_holds(response, "&lt;script&gt;alert");
	}
	for (size_t i = 0; i < SEEDS; i++)
		expect_lacks(get(ch, at_notice(ch, i, "")), "<script>alert");
}

/* ---- the list ---- */

/* Numbers in the counters, in order; their sum. */
static unsigned counters(const struct response *response, unsigned out[KIT_PILES])
{
	const char *list = strstr(response->body, "class=\"counts\"");
	unsigned sum = 0;

	assert_non_null(list);
	for (unsigned i = 0; i < KIT_PILES; i++) {
		list = strstr(list, "<b>");
		assert_non_null(list);
		list += 3;
		out[i] = (unsigned)strtoul(list, NULL, 10);
		sum += out[i];
	}
	return sum;
}

static void test_counters_add_up_to_all_notices(void **state)
{
	struct world *ch = *state;
	unsigned count[KIT_PILES];
	const struct response *response = get(ch, at(ch, ""));

	assert_int_equal(counters(response, count), SEEDS);
	assert_int_equal(count[PILE_LEFT], 4); /* HB-1 2 5 6 */
	assert_int_equal(count[PILE_ASK], 3);  /* HB-3 4 8 */
	assert_int_equal(count[PILE_NOT_EFFECTIVE], 1);
}

/* Every counter leads to as many rows as it counts. */
static void test_each_counter_leads_to_its_notices(void **state)
{
	static const char *const words[KIT_PILES] = {"left",     "ask",          "repeating",
	                                             "done",     "conforms",     "in-the-plans",
	                                             "replaced", "not-effective"};
	struct world *ch = *state;
	unsigned count[KIT_PILES];

	counters(get(ch, at(ch, "")), count);
	for (unsigned pile = 0; pile < KIT_PILES; pile++) {
		const struct response *response;
		char query[60];
		unsigned rows = 0;

		snprintf(query, sizeof query, "?standing=%s", words[pile]);
		response = get(ch, at(ch, query));
		assert_int_equal(response->status, 200);
		for (const char *row = response->body; (row = strstr(row, "<a class=\"to\""));
		     row++)
			rows++;
		assert_int_equal(rows, count[pile]);
	}
}

static void expect_order(const struct response *response, const char *const *numbers)
{
	const char *before = response->body;

	for (; *numbers; numbers++) {
		char mark[40];
		const char *found;

		snprintf(mark, sizeof mark, "<span class=\"num\">%s", *numbers);
		found = strstr(before, mark);
		if (!found)
			fail_msg("%s does not come in its place", *numbers);
		before = found;
	}
}

static void test_order_is_force_then_requirement_then_date(void **state)
{
	static const char *const weight[] = {"HB-1", "HB-2", "HB-5", "HB-6", NULL};
	static const char *const newest[] = {"HB-6", "HB-1", "HB-2", "HB-5", NULL};
	static const char *const number[] = {"HB-1", "HB-2", "HB-3", "HB-4", "HB-5", NULL};
	struct world *ch = *state;

	expect_order(get(ch, at(ch, "")), weight);
	expect_order(get(ch, at(ch, "?standing=left&order=date")), newest);
	expect_order(get(ch, at(ch, "?standing=all&order=number")), number);
	expect_holds(get(ch, at(ch, "")), "<b>First:</b>");
	expect_holds(get(ch, at(ch, "")), "2 of 2 lines left");
	expect_holds(get(ch, at(ch, "")), "Before the next flight.");
}

static void test_search_in_the_list(void **state)
{
	struct world *ch = *state;

	expect_holds(get(ch, at(ch, "?words=wh-1-5")), "To do: 1 ");
	expect_holds(get(ch, at(ch, "?words=BUSHING++travel")), "To do: 1 ");
	expect_holds(get(ch, at(ch, "?words=bushing+vent")), "None of these holds all");
	expect_holds(get(ch, at(ch, "?words=%22%3E%3Cscript%3E")), "&quot;&gt;&lt;script&gt;");
	assert_int_equal(get(ch, at(ch, "?standing=bogus"))->status, 422);
	assert_int_equal(get(ch, at(ch, "?order=random()"))->status, 422);
	assert_int_equal(get(ch, at(ch, "?page=0"))->status, 422);
	assert_int_equal(get(ch, at(ch, "?page=-1"))->status, 422);
	assert_int_equal(get(ch, at(ch, "?page=99"))->status, 200);
	assert_int_equal(get(ch, at(ch, "?unknown=1"))->status, 400);
	assert_int_equal(get(ch, at(ch, "?words=%FF"))->status, 422);
}

static void test_list_follows_every_change(void **state)
{
	struct world *ch = *state;
	struct facts facts;
	unsigned count[KIT_PILES];

	counters(get(ch, at(ch, "")), count);
	facts = facts_now(ch);
	assert_int_equal(name_make(ch->arena, "Whimbrel", 8, &facts.model), ST_OK);
	assert_int_equal(kit_set_facts(web_store(ch->web), web_kit(ch->web, ANN), &facts), ST_OK);
	counters(get(ch, at(ch, "")), count);
	assert_int_equal(count[PILE_ASK], 2);
	assert_int_equal(count[PILE_NOT_EFFECTIVE], 2);
	assert_int_equal(notice_cancel(web_store(ch->web), ch->notices[5], "2026-02", "mistaken",
	                               web_member(ch->web, STEWARD), WEB_START),
	                 ST_OK);
	counters(get(ch, at(ch, "")), count);
	assert_int_equal(count[PILE_LEFT], 3);
	assert_int_equal(count[PILE_NOT_EFFECTIVE], 3);
}

/* ---- the next question ---- */

static void test_question_is_asked_and_answered(void **state)
{
	struct world *ch = *state;
	const struct response *response = get(ch, at(ch, ""));

	expect_holds(response, "What would help most to know");
	assert_string_equal(hidden(response, "fact"), "serial"); /* the only mandatory one */
	response = post(ch, at(ch, "/answer"), "fact=serial&answer=WH-5");
	assert_int_equal(response->status, 303);
	assert_string_equal(facts_now(ch).serial.text, "WH-5");
	response = post(ch, at(ch, "/answer"), "fact=option+tailwheel&answer=no");
	assert_int_equal(response->status, 303);
	assert_int_equal(facts_now(ch).n_options, 1);
	assert_false(facts_now(ch).options[0].fitted);
	response = post(ch, at(ch, "/answer"), "fact=serial&answer=WH-6");
	expect_holds(response, "");
	assert_non_null(strstr(web_header(response, "Location"), "question-gone"));
	assert_string_equal(facts_now(ch).serial.text, "WH-5");
}

static void test_bad_answers_change_nothing(void **state)
{
	static const char *const bodies[] = {
	        "fact=serial&answer=",
	        "fact=serial&answer=--",
	        "fact=serial&answer=%3F",
	        "fact=serial&answer=%00WH-5",
	        "fact=serial",
	        "fact=option+tailwheel&answer=maybe",
	        "fact=option+tailwheel&answer=%22%3E%3Cscript%3Ealert(1)%3C/script%3E",
	};
	struct world *ch = *state;
	int64_t before = version(ch);

	for (size_t i = 0; i < sizeof bodies / sizeof bodies[0]; i++) {
		const struct response *response = post(ch, at(ch, "/answer"), bodies[i]);

		if (response->status != 422)
			fail_msg("%s answers %u", bodies[i], response->status);
		expect_lacks(response, "<script>alert");
		assert_int_equal(version(ch), before);
	}
	assert_int_equal(post(ch, at(ch, "/answer"), "fact=nonsense&answer=yes")->status, 303);
	assert_int_equal(post(ch, at(ch, "/answer"), "fact=serial&answer=WH-5&more=1")->status,
	                 400);
	assert_int_equal(
	        web_post(ch->web, BEN, at(ch, "/answer"), "fact=serial&answer=WH-5")->status, 404);
	assert_int_equal(version(ch), before);
}

/* ---- facts ---- */

static const struct response *save_facts(struct world *ch, const char *fields)
{
	char body[2000];

	snprintf(body, sizeof body, "seen=%s&act=save&%s",
	         hidden(get(ch, at(ch, "/facts")), "seen"), fields);
	return post(ch, at(ch, "/facts"), body);
}

static void test_all_facts_are_kept_as_typed(void **state)
{
	struct world *ch = *state;
	const struct response *response = save_facts(
	        ch,
	        "model=Whimbrel&serial=WH-0100&purchased=2017&plans=2017-09&not_flown=yes"
	        "&option=tailwheel&option_state=fitted&option=trim&option_state="
	        "&option=&option_state=&subkit=1&subkit_state=&subkit_shipped=2013-05"
	        "&subkit=2&subkit_state=not+received&subkit_shipped=&subkit=3&subkit_state=received"
	        "&subkit_shipped=&part=E-1&part_position=&part_serial=77&part_lot=&part=WH-2"
	        "&part_position=left&part_serial=&part_lot=B12&part=&part_position=&part_serial="
	        "&part_lot=&parts_known=yes&steps=W-1,+W-2%0D%0AW-3,W-1&plan_step=W-2"
	        "&plan_date=2010&plan_step=&plan_date=");
	struct facts facts = facts_now(ch);

	assert_int_equal(response->status, 303);
	assert_string_equal(facts.model.text, "Whimbrel");
	assert_int_equal(facts.purchased.date.precision, DATE_YEAR);
	assert_int_equal(facts.first_flight.state, DATE_NEVER);
	assert_false(facts.has_hours);        /* these are in the log */
	assert_int_equal(facts.n_options, 1); /* what is not known is not kept */
	assert_int_equal(facts.n_subkits, 3);
	assert_true(facts.subkits[0].received); /* a date says so */
	assert_int_equal(facts.subkits[1].shipped.state, DATE_NEVER);
	assert_int_equal(facts.subkits[2].shipped.state, DATE_UNKNOWN);
	assert_int_equal(facts.n_parts, 2);
	assert_true(facts.parts_known);
	assert_false(facts.steps_known);
	assert_int_equal(facts.n_steps_done, 3);
	assert_int_equal(facts.n_step_plans, 1);
	response = get(ch, at(ch, "/facts"));
	expect_holds(response, "value=\"WH-0100\"");
	expect_holds(response, "W-1, W-2, W-3");
}

struct bad_facts {
	const char *fields, *words;
};

static const struct bad_facts bad_facts[] = {
        {"purchased=2017-13", "Purchased must be a date"},
        {"purchased=2017-02-30", "Purchased must be a date"},
        {"purchased=24.29.2017", "Purchased must be a date"},
        {"purchased=5/9/2017", "Purchased can be two days"},
        {"purchased=2027", "Purchased must not be in the future"},
        {"plans=2026-10", "Plans issue must not be in the future"},
        {"first_flight=2026-09-22", "First flight must not be in the future"},
        {"first_flight=2020&not_flown=yes", "yet “Not flown yet” is ticked"},
        {"not_flown=maybe", "Not flown yet must be ticked or left alone"},
        {"serial=--", "Kit serial number"},
        {"serial=%E2%80%AEWH-1", "Kit serial number"},
        {"serial=%C0%AF1", "Kit serial number"},
        {"serial=WH-1%00", "Kit serial number"},
        {"model=%FF%FE", "Model"},
        {"model=a%00b", "Model"},
        {"model=012345678901234567890123456789012345678901234567890123456789012345678901234567890",
         "Model is longer"},
        {"option=&option_state=fitted", "Option is needed"},
        {"option=a&option_state=fitted&option=A&option_state=not+fitted", "stands here twice"},
        {"option=a&option_state=perhaps", "is not one of those on offer"},
        {"subkit=&subkit_state=received&subkit_shipped=", "Sub-kit is needed"},
        {"subkit=&subkit_state=&subkit_shipped=2017", "Sub-kit is needed"},
        {"subkit=1&subkit_state=not+received&subkit_shipped=2017", "the sub-kit is not received"},
        {"subkit=1&subkit_state=received&subkit_shipped=2026-12", "must not be in the future"},
        {"part=&part_position=left&part_serial=&part_lot=", "Part number is needed"},
        {"part=X&part_position=&part_serial=--&part_lot=", "Serial number"},
        {"part=X&part_position=&part_serial=&part_lot=%3C%3E", "Lot"},
        {"steps=012345678901234567890123456789012345678901234567890123456789012345678901234567890",
         "Steps built holds a code longer"},
        {"plan_step=&plan_date=2017", "Step is needed"},
        {"plan_step=W-1&plan_date=2017&plan_step=w-1&plan_date=2018", "stands here twice"},
        {"plan_step=W-1&plan_date=soon", "Built from plans of must be a date"},
        {"act=delete", "was sent more than once"},
};

static void test_bad_facts_change_nothing_and_stay_as_typed(void **state)
{
	struct world *ch = *state;
	int64_t before = version(ch);

	for (size_t i = 0; i < sizeof bad_facts / sizeof bad_facts[0]; i++) {
		const struct response *response;
		char fields[400];

		snprintf(fields, sizeof fields, "%s%s", bad_facts[i].fields,
		         strncmp(bad_facts[i].fields, "model", 5) ? "&model=My+model+%26" : "");
		response = save_facts(ch, fields);
		if (response->status != 422)
			fail_msg("%s answers %u", bad_facts[i].fields, response->status);
		expect_holds(response, bad_facts[i].words);
		if (strncmp(bad_facts[i].fields, "model", 5) != 0)
			expect_holds(response, "value=\"My model &amp;\"");
		assert_int_equal(version(ch), before);
	}
	assert_int_equal(save_facts(ch, "colour=red")->status, 400);
	assert_int_equal(version(ch), before);
}

static const struct {
	const char *act, *open, *row; /* the section that it opens, its last row */
} more_rows[] = {
        {"options", "<details id=\"options\" open>", "id=\"option-8\""},
        {"subkits", "<details id=\"subkits\" open>", "id=\"subkit-8\""},
        {"parts", "<details id=\"parts\" open>", "id=\"part-9\""},
        {"steps", "<details id=\"building\" open>", "id=\"plan_step-8\""},
};

static void test_more_rows_saves_nothing_and_keeps_what_was_typed(void **state)
{
	struct world *ch = *state;
	int64_t before = version(ch);

	for (size_t i = 0; i < sizeof more_rows / sizeof more_rows[0]; i++) {
		const struct response *response;
		char fields[200];

		snprintf(fields, sizeof fields,
		         "seen=x&act=%s&model=Typed&part=P-1&part_position=left", more_rows[i].act);
		response = post(ch, at(ch, "/facts"), fields);
		assert_int_equal(response->status, 200);
		expect_holds(response, "value=\"Typed\"");
		expect_holds(response, "value=\"P-1\"");
		for (size_t k = 0; k < sizeof more_rows / sizeof more_rows[0]; k++) {
			assert_int_equal(web_holds(response, more_rows[k].open), k == i);
			assert_int_equal(web_holds(response, more_rows[k].row), k == i);
		}
		assert_int_equal(version(ch), before);
	}
	assert_int_equal(save_facts(ch, "act=rows")->status, 422);
}

/* What is wrong or waits for an answer must not be folded away. */
static void test_sections_open_where_something_is_to_be_done(void **state)
{
	struct world *ch = *state;
	const struct response *response = save_facts(ch, "part=X&part_serial=%3F");

	assert_int_equal(response->status, 422);
	expect_holds(response, "<details id=\"parts\" open>");
	expect_holds(response, "<details id=\"building\">");
	response = save_facts(ch, "plan_step=X&plan_date=2017-13");
	expect_holds(response, "<details id=\"building\" open>");
	expect_holds(response, "<details id=\"parts\">");
	response = post(ch, at(ch, "/facts"), "act=parts&option=tailwheel&option_state=");
	expect_holds(response, "<details id=\"options\" open>");
	expect_holds(response, "1 asked about");
	response = post(ch, at(ch, "/facts"), "act=parts&option=tailwheel&option_state=fitted");
	expect_holds(response, "<details id=\"options\">");
	expect_holds(response, "1 entered");
}

static void test_facts_changed_elsewhere_are_not_overwritten_unseen(void **state)
{
	struct world *ch = *state;
	const struct response *response;
	char body[300], seen[100];

	snprintf(seen, sizeof seen, "%s", hidden(get(ch, at(ch, "/facts")), "seen"));
	assert_int_equal(save_facts(ch, "model=Whimbrel")->status, 303);
	snprintf(body, sizeof body, "seen=%s&act=save&model=Whimbrel+T", seen);
	response = post(ch, at(ch, "/facts"), body);
	assert_int_equal(response->status, 422);
	expect_holds(response, "changed elsewhere");
	expect_holds(response, "value=\"Whimbrel T\"");
	assert_string_equal(facts_now(ch).model.text, "Whimbrel");
	snprintf(body, sizeof body, "seen=%s&act=save&model=Whimbrel+T", hidden(response, "seen"));
	assert_int_equal(post(ch, at(ch, "/facts"), body)->status, 303);
	assert_string_equal(facts_now(ch).model.text, "Whimbrel T");
}

static void test_marks_of_reading_do_not_disturb_the_facts_form(void **state)
{
	struct world *ch = *state;
	char body[300];

	snprintf(body, sizeof body, "seen=%s&act=save&model=Whimbrel",
	         hidden(get(ch, at(ch, "/facts")), "seen"));
	assert_int_equal(reading_mark(web_store(ch->web), web_kit(ch->web, ANN), ch->notices[0],
	                              (struct revision_id){1}, WEB_START),
	                 ST_OK);
	assert_int_equal(post(ch, at(ch, "/facts"), body)->status, 303);
}

/* ---- reading ---- */

static const struct response *mark(struct world *ch, const char *act, size_t i, const char *more)
{
	char body[100];

	snprintf(body, sizeof body, "act=%s&notice=%lld%s", act, (long long)ch->notices[i].v, more);
	return post(ch, at(ch, "/reading"), body);
}

static void test_backlog_is_read_one_by_one(void **state)
{
	struct world *ch = *state;
	const struct response *response = get(ch, at(ch, "/reading"));

	expect_holds(response, "0 of 7 read");
	expect_holds(response, "HB-1 ");
	expect_holds(response, "Reading is not doing");
	assert_int_equal(mark(ch, "read", 0, "")->status, 303);
	response = get(ch, at(ch, "/reading"));
	expect_holds(response, "1 of 7 read");
	expect_holds(response, "<h2>HB-2");
	assert_int_equal(mark(ch, "unread", 0, "")->status, 303);
	assert_int_equal(mark(ch, "unread", 0, "")->status, 303); /* twice is no harm */
	expect_holds(get(ch, at(ch, "/reading")), "0 of 7 read");
	for (size_t i = 0; i < SEEDS; i++)
		assert_int_equal(mark(ch, "read", i, "&list=yes")->status, 303);
	response = get(ch, at(ch, "/reading"));
	expect_holds(response, "7 of 7 read");
	expect_holds(response, "Every notice is read");
	assert_int_equal(records_now(ch, &(const struct record *){NULL}), 0);
}

static void test_bad_marks(void **state)
{
	struct world *ch = *state;
	int64_t before = version(ch);

	assert_int_equal(post(ch, at(ch, "/reading"), "act=read&notice=9999")->status, 404);
	assert_int_equal(post(ch, at(ch, "/reading"), "act=read&notice=0")->status, 400);
	assert_int_equal(post(ch, at(ch, "/reading"), "act=read&notice=x")->status, 400);
	assert_int_equal(post(ch, at(ch, "/reading"), "act=burn&notice=1")->status, 400);
	assert_int_equal(post(ch, at(ch, "/reading"), "")->status, 400);
	assert_int_equal(web_post(ch->web, BEN, at(ch, "/reading"), "act=read&notice=1")->status,
	                 404);
	assert_int_equal(version(ch), before);
}

/* A revision after the mark is new again. */
static void test_what_was_revised_is_to_be_read_again(void **state)
{
	struct world *ch = *state;
	const struct notice_row *rows = NULL;
	size_t count = 0;

	assert_int_equal(
	        revision_list(web_store(ch->web), ch->arena, ch->notices[5], &rows, &count), ST_OK);
	assert_int_equal(count, 2);
	assert_int_equal(reading_mark(web_store(ch->web), web_kit(ch->web, ANN), ch->notices[5],
	                              rows[1].revision_id, WEB_START),
	                 ST_OK);
	expect_holds(get(ch, at(ch, "")), "revised since you read it");
	expect_holds(get(ch, at(ch, "/reading")), "0 of 7 read");
}

/* ---- records ---- */

static const struct response *record(struct world *ch, size_t notice, const char *fields)
{
	const struct response *form = get(ch, at_notice(ch, notice, "/record"));
	char body[1000], revision[30];

	snprintf(revision, sizeof revision, "%s", hidden(form, "revision"));
	snprintf(body, sizeof body, "seen=%s&revision=%s&%s", hidden(form, "seen"), revision,
	         fields);
	return post(ch, at_notice(ch, notice, "/record"), body);
}

static void test_work_is_recorded_line_by_line(void **state)
{
	struct world *ch = *state;
	const struct record *records = NULL;
	const struct response *response;

	response = record(ch, 0, "line=2&done=2024-05&method=Bushing+fitted&by=Ann");
	assert_int_equal(response->status, 303);
	assert_int_equal(records_now(ch, &records), 1);
	assert_string_equal(records[0].position.text, "right");
	expect_holds(get(ch, at(ch, "")), "1 of 2 lines left");
	response = get(ch, at_notice(ch, 0, ""));
	expect_holds(response, "done May 2024 by Ann");
	response = record(ch, 0,
	                  "line=1&line=1&done=2024-06-01&method=Other+side&by=Ann&hours=12.5"
	                  "&landings=3&remarks=None&signed_as=Builder");
	assert_int_equal(response->status, 303);
	assert_int_equal(records_now(ch, &records), 2); /* the same line twice is one */
	assert_int_equal(records[1].hours, 1250);
	expect_lacks(get(ch, at(ch, "")), "<span class=\"num\">HB-1");
	expect_holds(get(ch, at(ch, "?standing=done")), "<span class=\"num\">HB-1");
}

static const struct bad_facts bad_records[] = {
        {"done=2024&method=m&by=a", "Line must be chosen"},
        {"line=3&done=2024&method=m&by=a", "is not one of this revision"},
        {"line=0&done=2024&method=m&by=a", "is not one of those on offer"},
        {"line=x&done=2024&method=m&by=a", "is not one of those on offer"},
        {"line=99999999999999999999&done=2024&method=m&by=a", "Line"},
        {"line=1&method=m&by=a", "Done on is needed"},
        {"line=1&done=2024-13&method=m&by=a", "Done on must be a date"},
        {"line=1&done=2026-09-22&method=m&by=a", "Done on must not be in the future"},
        {"line=1&done=2027&method=m&by=a", "Done on must not be in the future"},
        {"line=1&done=2024&by=a", "How it was done is needed"},
        {"line=1&done=2024&method=+++&by=a", "How it was done is needed"},
        {"line=1&done=2024&method=m", "Done by is needed"},
        {"line=1&done=2024&method=m&by=%E2%80%AEa", "Done by"},
        {"line=1&done=2024&method=m%00&by=a", "How it was done"},
        {"line=1&done=2024&method=m&by=a&hours=-3", "Total hours"},
        {"line=1&done=2024&method=m&by=a&landings=many", "Landings"},
        {"line=1&done=2017&method=m&by=a", "must be ticked: the revision was issued on March 2018"},
};

static void test_bad_records_are_refused(void **state)
{
	struct world *ch = *state;
	const struct record *records = NULL;

	for (size_t i = 0; i < sizeof bad_records / sizeof bad_records[0]; i++) {
		const struct response *response = record(ch, 0, bad_records[i].fields);

		if (response->status != 422)
			fail_msg("%s answers %u", bad_records[i].fields, response->status);
		expect_holds(response, bad_records[i].words);
		assert_int_equal(records_now(ch, &records), 0);
	}
	assert_int_equal(record(ch, 0, "line=1&done=2017&method=m&by=a&early=yes")->status, 303);
	assert_int_equal(records_now(ch, &records), 1);
}

static void test_second_tap_enters_nothing(void **state)
{
	struct world *ch = *state;
	const struct record *records = NULL;
	const struct response *response = get(ch, at_notice(ch, 0, "/record"));
	char body[300], again[300];

	snprintf(body, sizeof body, "seen=%s&line=1&done=2024&method=m&by=a",
	         hidden(response, "seen"));
	assert_int_equal(post(ch, at_notice(ch, 0, "/record"), body)->status, 303);
	response = post(ch, at_notice(ch, 0, "/record"), body);
	assert_int_equal(response->status, 422);
	expect_holds(response, "by a second tap");
	assert_int_equal(records_now(ch, &records), 1);
	snprintf(again, sizeof again, "seen=%s&line=1&done=2024&method=m&by=a",
	         hidden(response, "seen"));
	assert_int_equal(post(ch, at_notice(ch, 0, "/record"), again)->status, 303);
	assert_int_equal(records_now(ch, &records), 2);
}

static void test_hours_that_fall_need_a_tick(void **state)
{
	struct world *ch = *state;
	const struct record *records = NULL;
	const struct response *response;

	assert_int_equal(
	        record(ch, 4, "line=1&done=2024-05-02&method=m&by=a&hours=100&landings=80")->status,
	        303);
	response = record(ch, 4, "line=1&done=2024-06-02&method=m&by=a&hours=90");
	assert_int_equal(response->status, 422);
	expect_holds(response, "do not fit the record for HB-5 of 2 May 2024");
	assert_int_equal(record(ch, 4, "line=1&done=2024-04-02&method=m&by=a&hours=110")->status,
	                 422);
	assert_int_equal(record(ch, 4, "line=1&done=2024-06-02&method=m&by=a&landings=7")->status,
	                 422);
	assert_int_equal(record(ch, 4, "line=1&done=2024-04-02&method=m&by=a&hours=90")->status,
	                 303);
	assert_int_equal(records_now(ch, &records), 2);
	assert_int_equal(
	        record(ch, 4, "line=1&done=2024-06-02&method=m&by=a&hours=2&lower=yes")->status,
	        303);
	assert_int_equal(records_now(ch, &records), 3);
}

static void test_earlier_revision_is_recorded_but_does_not_close(void **state)
{
	struct world *ch = *state;
	const struct notice_row *rows = NULL;
	const struct record *records = NULL;
	size_t count = 0;
	char body[300];

	assert_int_equal(
	        revision_list(web_store(ch->web), ch->arena, ch->notices[5], &rows, &count), ST_OK);
	snprintf(body, sizeof body, "seen=0&revision=%lld&line=1&done=2017&method=m&by=a",
	         (long long)rows[1].revision_id.v);
	assert_int_equal(post(ch, at_notice(ch, 5, "/record"), body)->status, 303);
	assert_int_equal(records_now(ch, &records), 1);
	assert_string_equal(records[0].revision.text, "original");
	expect_holds(get(ch, at(ch, "")), "Done to an earlier revision only.");
	snprintf(body, sizeof body, "seen=1&revision=%lld&line=1&done=2017&method=m&by=a",
	         (long long)rows[1].revision_id.v);
	/* A revision of another notice is none of this one. */
	assert_int_equal(post(ch, at_notice(ch, 0, "/record"), body)->status, 404);
}

static const char *at_record(struct world *ch, const struct record *of, const char *page)
{
	char rest[80];

	snprintf(rest, sizeof rest, "/records/%lld%s", (long long)of->id.v, page);
	return at(ch, rest);
}

static void test_a_record_is_corrected_by_a_further_one(void **state)
{
	struct world *ch = *state;
	const struct record *records = NULL;
	const struct response *response;

	record(ch, 0, "line=1&done=2024-05-02&method=first&by=Ann");
	records_now(ch, &records);
	expect_holds(get(ch, at_record(ch, &records[0], "/correct")), "first");
	response = post(ch, at_record(ch, &records[0], "/correct"), "done=2024&method=&by=Ann");
	assert_int_equal(response->status, 422);
	response = post(ch, at_record(ch, &records[0], "/correct"),
	                "done=2024-05-03&method=second&by=Ann");
	assert_int_equal(response->status, 303);
	assert_int_equal(records_now(ch, &records), 2);
	assert_int_equal(records[1].corrects.v, records[0].id.v);
	assert_string_equal(records[1].position.text, "left");
	response = get(ch, at(ch, "/records"));
	expect_holds(response, "Counts no more");
	expect_holds(response, "none was changed");
	response = post(ch, at_record(ch, &records[0], "/correct"), "done=2024&method=x&by=Ann");
	assert_non_null(strstr(web_header(response, "Location"), "corrected-already"));
	assert_int_equal(records_now(ch, &records), 2);
}

static void test_withdrawing_opens_the_line_again(void **state)
{
	struct world *ch = *state;
	const struct record *records = NULL;

	record(ch, 0, "line=1&line=2&done=2024-05-02&method=m&by=Ann");
	expect_lacks(get(ch, at(ch, "")), "<span class=\"num\">HB-1");
	records_now(ch, &records);
	assert_int_equal(post(ch, at_record(ch, &records[1], "/withdraw"), "remarks=")->status,
	                 422);
	assert_int_equal(
	        post(ch, at_record(ch, &records[1], "/withdraw"), "remarks=Wrong+side")->status,
	        303);
	assert_int_equal(records_now(ch, &records), 3);
	assert_true(records[2].withdraws);
	expect_holds(get(ch, at(ch, "")), "1 of 2 lines left");
	/* What withdraws cannot be withdrawn, nor what is withdrawn. */
	assert_int_equal(post(ch, at_record(ch, &records[2], "/withdraw"), "remarks=x")->status,
	                 303);
	assert_int_equal(post(ch, at_record(ch, &records[1], "/withdraw"), "remarks=x")->status,
	                 303);
	assert_int_equal(records_now(ch, &records), 3);
	assert_int_equal(get(ch, at(ch, "/records/9999/correct"))->status, 404);
	assert_int_equal(web_get(ch->web, BEN, at_record(ch, &records[0], "/correct"))->status,
	                 404);
}

/* ---- the statement ---- */

static void test_statement_names_every_notice_with_its_reason(void **state)
{
	struct world *ch = *state;
	const struct response *response;

	record(ch, 0,
	       "line=1&line=2&done=2024-05-02&method=Bushing+fitted&by=Ann+B&hours=10.5"
	       "&signed_as=Repairman+123");
	record(ch, 4, "line=1&done=2026-05-02&method=Looked+at&by=Ann+B&hours=40");
	response = get(ch, at(ch, "/statement"));
	for (size_t i = 0; i < SEEDS; i++) {
		char mark[40];

		snprintf(mark, sizeof mark, "<span class=\"num\">%s</span>", seeds[i].number);
		expect_holds(response, mark);
	}
	expect_holds(response, "The issuer cancelled it on February 2013.");
	expect_holds(response, "Bushing fitted");
	expect_holds(response, "10.5 hours");
	expect_holds(response, "by Ann B, Repairman 123");
	expect_holds(response, "next action due by 31 May 2027 or 90 hours");
	expect_holds(response, "Signature");
	expect_holds(response, "licensed inspector");
}

/* ---- kits ---- */

static void test_kits_are_added_renamed_and_removed(void **state)
{
	struct world *ch = *state;
	const struct response *response = post(ch, "/kits", "name=Second+%26+last");
	const struct kit *kits = NULL;
	size_t count = 0;

	assert_int_equal(response->status, 303);
	response = get(ch, "/kits");
	expect_holds(response, "Second &amp; last");
	expect_holds(response, "4 to do");
	assert_int_equal(post(ch, "/kits", "name=")->status, 422);
	assert_int_equal(post(ch, "/kits", "name=a%0Ab")->status, 422);
	assert_int_equal(post(ch, at(ch, "/name"), "name=")->status, 422);
	assert_int_equal(post(ch, at(ch, "/name"), "name=New+name")->status, 303);
	expect_holds(get(ch, at(ch, "")), "<h1>New name</h1>");
	assert_int_equal(post(ch, at(ch, "/remove"), "")->status, 422);
	assert_int_equal(post(ch, at(ch, "/remove"), "sure=no")->status, 422);
	assert_int_equal(web_post(ch->web, BEN, at(ch, "/remove"), "sure=yes")->status, 404);
	assert_int_equal(get(ch, at(ch, ""))->status, 200);
	assert_int_equal(post(ch, at(ch, "/remove"), "sure=yes")->status, 303);
	assert_int_equal(get(ch, at(ch, ""))->status, 404);
	assert_int_equal(
	        kit_list(web_store(ch->web), ch->arena, web_member(ch->web, ANN), &kits, &count),
	        ST_OK);
	assert_int_equal(count, 1);
}

/* A chapter without notices: every page still says what to do. */
static void test_pages_of_an_empty_chapter(void **state)
{
	struct web *web = web_new(NULL, 0, NULL, 0);
	struct world ch = {.web = web};

	(void)state;
	for (size_t i = 0; i < sizeof pages / sizeof pages[0]; i++)
		assert_int_equal(get(&ch, at(&ch, pages[i]))->status, 200);
	expect_holds(get(&ch, at(&ch, "")), "has published no notice yet");
	web_free(web);
}

/* At the limit the form says so, keeps what was typed, and makes nothing; a button says
 * it on a page of its own. */
static void test_a_bound_is_told(void **state)
{
	struct world *ch = *state;
	const struct response *response;
	struct kit_id id;

	while (kit_add(web_store(ch->web), web_member(ch->web, ANN), "More", WEB_START, &id) ==
	       ST_OK)
		;
	response = post(ch, "/kits", "name=Kept+as+typed");
	assert_int_equal(response->status, 422);
	expect_holds(response, "At most 50 kits for a member. Remove one that you need no more.");
	expect_holds(response, "Kept as typed");
	assert_int_equal(kit_remove(web_store(ch->web), id), ST_OK);
	assert_int_equal(post(ch, "/kits", "name=Kept+as+typed")->status, 303);
}

/* ---- the cache ---- */

/* More kits than the cache has room for: each is still decided for itself. */
static void test_many_kits_are_told_apart(void **state)
{
	struct world *ch = *state;
	struct facts facts = {.model = {.text = NULL}};
	const struct response *response;
	unsigned rows = 0;

	assert_int_equal(name_make(ch->arena, "Whimbrel T", 10, &facts.model), ST_OK);
	for (unsigned i = 0; i < 90; i++) {
		struct kit_id id;

		assert_int_equal(kit_add(web_store(ch->web),
		                         web_member(ch->web, i % 4 < 2 ? ANN : BEN), "More",
		                         WEB_START, &id),
		                 ST_OK);
		if (i % 2)
			assert_int_equal(kit_set_facts(web_store(ch->web), id, &facts), ST_OK);
	}
	for (unsigned round = 0; round < 2; round++) {
		rows = 0;
		for (unsigned who = 0; who < 2; who++) {
			response = web_get(ch->web, who ? BEN : ANN, "/kits");
			for (const char *at_row = response->body;
			     (at_row = strstr(at_row, "5 to do")); at_row++)
				rows++;
		}
		assert_int_equal(rows, 45); /* HB-4 concerns the Whimbrel T */
	}
}

#define READERS 4
#define READS 150

struct reader {
	struct world *ch;
	char path[200], cookie[100];
	unsigned good;
};

static void *read_list(void *context)
{
	struct reader *reader = context;
	struct arena *arena = arena_new();

	for (unsigned i = 0; arena && i < READS; i++) {
		struct request request = {
		        .method = HTTP_GET, .path = reader->path, .peer = "192.0.2.1"};
		struct response response;

		request.headers.cookie = reader->cookie;
		request.headers.host = "fairlead.test";
		app_handle(web_app(reader->ch->web), &request, arena, &response);
		reader->good += response.status == 200 &&
		                memmem(response.body, response.len, "class=\"counts\"", 14) != NULL;
		arena_reset(arena);
	}
	arena_free(arena);
	return NULL;
}

/* Threads share views while each change of the kit makes a new one. */
static void test_readers_share_views_that_change_under_them(void **state)
{
	struct world *ch = *state;
	struct reader readers[READERS];
	pthread_t threads[READERS];

	for (unsigned i = 0; i < READERS; i++) {
		readers[i] = (struct reader){.ch = ch};
		snprintf(readers[i].path, sizeof readers[i].path, "%s", at(ch, ""));
		snprintf(readers[i].cookie, sizeof readers[i].cookie, "%s",
		         web_cookie(ch->web, ANN));
		assert_int_equal(pthread_create(&threads[i], NULL, read_list, &readers[i]), 0);
	}
	for (unsigned i = 0; i < 60; i++) {
		enum status status =
		        kit_rename(web_store(ch->web), web_kit(ch->web, ANN), i % 2 ? "A" : "B");

		assert_true(status == ST_OK || status == ST_BUSY);
	}
	for (unsigned i = 0; i < READERS; i++) {
		pthread_join(threads[i], NULL);
		assert_int_equal(readers[i].good, READS);
	}
}

/* ---- memory ---- */

struct loading {
	struct world *ch;
	const struct catalogue *catalogue;
	const struct parts_book *parts;
};

static bool load(void *context)
{
	struct loading *loading = context;
	struct arena *arena = arena_new();
	struct kit_view view;
	enum status status = ST_NOMEM;

	if (arena)
		status = kit_view_load(&(struct work){.chapter = web_app(loading->ch->web)->chapter,
		                                      .store = web_store(loading->ch->web),
		                                      .arena = arena,
		                                      .catalogue = loading->catalogue,
		                                      .parts = loading->parts,
		                                      .today = 20000},
		                       web_kit(loading->ch->web, ANN), &view);
	if (arena)
		kit_view_done(&view);
	arena_free(arena);
	assert_true(status == ST_OK || status == ST_NOMEM);
	return status == ST_OK;
}

static void test_a_view_survives_any_lack_of_memory(void **state)
{
	struct loading loading = {.ch = *state};
	const struct notice *notices = NULL;
	size_t count = 0;
	int64_t generation;

	record(loading.ch, 0, "line=1&done=2024&method=m&by=a");
	assert_int_equal(notice_load(web_store(loading.ch->web), loading.ch->arena, &notices,
	                             &count, &generation),
	                 ST_OK);
	assert_int_equal(catalogue_build(loading.ch->arena, notices, count, &loading.catalogue),
	                 ST_OK);
	assert_int_equal(parts_load(web_store(loading.ch->web), loading.ch->arena, &loading.parts),
	                 ST_OK);
	try_each_allocation(load, &loading, false);
}

/* Two sides: neither is chosen ahead, but the one that the address names. */
static void no_side_is_chosen_ahead(void **state)
{
	struct world *ch = *state;

	expect_lacks(get(ch, at_notice(ch, 0, "/record")), "name=\"line\" value=\"1\" checked");
	expect_holds(get(ch, at_notice(ch, 0, "/record?line=2")), "value=\"2\" checked");
	expect_lacks(get(ch, at_notice(ch, 0, "/record?line=2")), "value=\"1\" checked");
}

#define PAGE_TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        PAGE_TEST(no_side_is_chosen_ahead),
	        PAGE_TEST(test_pages_are_for_the_owner_only),
	        PAGE_TEST(test_hostile_words_are_shown_as_words),
	        PAGE_TEST(test_counters_add_up_to_all_notices),
	        PAGE_TEST(test_each_counter_leads_to_its_notices),
	        PAGE_TEST(test_order_is_force_then_requirement_then_date),
	        PAGE_TEST(test_search_in_the_list),
	        PAGE_TEST(test_list_follows_every_change),
	        PAGE_TEST(test_question_is_asked_and_answered),
	        PAGE_TEST(test_bad_answers_change_nothing),
	        PAGE_TEST(test_all_facts_are_kept_as_typed),
	        PAGE_TEST(test_bad_facts_change_nothing_and_stay_as_typed),
	        PAGE_TEST(test_more_rows_saves_nothing_and_keeps_what_was_typed),
	        PAGE_TEST(test_sections_open_where_something_is_to_be_done),
	        PAGE_TEST(test_facts_changed_elsewhere_are_not_overwritten_unseen),
	        PAGE_TEST(test_marks_of_reading_do_not_disturb_the_facts_form),
	        PAGE_TEST(test_backlog_is_read_one_by_one),
	        PAGE_TEST(test_bad_marks),
	        PAGE_TEST(test_what_was_revised_is_to_be_read_again),
	        PAGE_TEST(test_work_is_recorded_line_by_line),
	        PAGE_TEST(test_bad_records_are_refused),
	        PAGE_TEST(test_second_tap_enters_nothing),
	        PAGE_TEST(test_hours_that_fall_need_a_tick),
	        PAGE_TEST(test_earlier_revision_is_recorded_but_does_not_close),
	        PAGE_TEST(test_a_record_is_corrected_by_a_further_one),
	        PAGE_TEST(test_withdrawing_opens_the_line_again),
	        PAGE_TEST(test_statement_names_every_notice_with_its_reason),
	        PAGE_TEST(test_kits_are_added_renamed_and_removed),
	        cmocka_unit_test(test_pages_of_an_empty_chapter),
	        PAGE_TEST(test_a_bound_is_told),
	        PAGE_TEST(test_many_kits_are_told_apart),
	        PAGE_TEST(test_readers_share_views_that_change_under_them),
	        PAGE_TEST(test_a_view_survives_any_lack_of_memory),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
