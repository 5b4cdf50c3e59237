/* test_whom.c - whom a statement concerns: the same answers as on the page of each kit. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support.h"
#include "web_support.h"

#include "store/kit_log.h"
#include "store/notices.h"
#include "store/records.h"
#include "store/reports.h"
#include "chapter/chapter.h"
#include "chapter/kit_view.h"
#include "chapter/whom.h"

#define KITS 60
#define NOTICES 2 /* HB-0 and HB-1, each with one line */

#define assert_ok(call) assert_int_equal((call), ST_OK)

struct world {
	struct web *web;
	struct store *store;
	struct arena *arena;
	const struct catalogue *catalogue;
	const struct parts_book *parts;
	struct kit_id kits[KITS];
	struct chapter chapter; /* of it only the kits in memory */
};

static struct work work_of(struct world *ch, struct arena *arena)
{
	return (struct work){.chapter = &ch->chapter,
	                     .store = ch->store,
	                     .arena = arena,
	                     .catalogue = ch->catalogue,
	                     .parts = ch->parts,
	                     .today = WEB_START / 86400};
}

static uint64_t seed;

static int pick(int count)
{
	return (int)(next_random(&seed) % (uint64_t)count);
}

static struct name name_of(struct arena *arena, const char *text)
{
	struct name name;

	assert_ok(name_make(arena, text, strlen(text), &name));
	return name;
}

static struct date_fact some_date(void)
{
	static const char *const dates[] = {"2015", "2017", "2017-04", "2017-05-01", "2024-11"};
	const char *text = dates[pick(5)];
	struct date_fact fact = {.state = pick(4) ? DATE_KNOWN : DATE_UNKNOWN};

	assert_ok(date_parse(text, strlen(text), &fact.date));
	return fact;
}

static struct facts some_facts(struct arena *arena, int i)
{
	struct option_fact *option = ARENA_NEW(arena, struct option_fact);
	struct subkit_fact *subkit = ARENA_NEW(arena, struct subkit_fact);
	struct part_fact *part = ARENA_NEW(arena, struct part_fact);
	struct name *steps = ARENA_ARRAY(arena, struct name, 3);
	struct facts facts = {.has_serial = pick(4) > 0,
	                      .parts_known = pick(2),
	                      .steps_known = pick(2),
	                      .purchased = some_date(),
	                      .plans = some_date(),
	                      .first_flight = {.state = pick(3) ? DATE_UNKNOWN : DATE_NEVER}};
	const char *serial = arena_printf(arena, "WH-%04d", 100 + i);

	facts.model = name_of(arena, pick(4) == 0 ? "" : pick(2) ? "Whimbrel" : "Whimbrel T");
	assert_ok(serial_make(arena, serial, strlen(serial), &facts.serial));
	*option = (struct option_fact){name_of(arena, "tailwheel"), pick(2)};
	*subkit = (struct subkit_fact){name_of(arena, "4"), pick(2), some_date()};
	*part = (struct part_fact){.number = name_of(arena, pick(3) ? "WH-2207-1" : ""),
	                           .has_lot = pick(2)};
	assert_ok(serial_make(arena, pick(2) ? "4" : "12", 1, &part->lot));
	for (int s = 0; s < 3; s++)
		steps[s] = name_of(arena, arena_printf(arena, "14-%d", 3 * s + pick(3)));
	facts.options = option;
	facts.n_options = (size_t)pick(2);
	facts.subkits = subkit;
	facts.n_subkits = (size_t)pick(2);
	facts.parts = part;
	facts.n_parts = (size_t)pick(2);
	facts.steps_done = steps;
	facts.n_steps_done = (size_t)pick(4);
	return facts;
}

static void add_record(struct world *ch, struct kit_id kit, const char *notice)
{
	struct record record = {.notice = name_of(ch->arena, notice),
	                        .revision = {.text = "", .key = ""},
	                        .part = name_of(ch->arena, "WH-2207-1"),
	                        .position = {.text = "", .key = ""},
	                        .method = "replaced",
	                        .by = "Bob",
	                        .signed_as = "",
	                        .remarks = "",
	                        .entered_by = "Bob",
	                        .entered_at = WEB_START};
	struct record_id id;

	assert_ok(date_parse("2024", 4, &record.done));
	assert_ok(record_append(ch->store, kit, &record, &id));
}

static void add_kit(struct world *ch, int i)
{
	struct facts facts = some_facts(ch->arena, i);
	struct kit_log_row row = {.entry = {.day = WEB_START / 86400,
	                                    .has = {true, pick(2)},
	                                    .total = {pick(200) * 100, pick(50)},
	                                    .event = {.text = "", .key = ""}},
	                          .entered_by = "Bob",
	                          .entered_at = WEB_START};
	struct kit_log_id log;
	struct member_id owner = web_member(ch->web, i % 2 ? ANN : BEN);
	const struct name stated = name_of(ch->arena, "HB-0");

	/* What a builder lists as done counts no more than on the kit's pages. */
	facts.notices_done = &stated;
	facts.n_notices_done = (size_t)pick(2);
	assert_ok(kit_add(ch->store, owner, arena_printf(ch->arena, "kit %d", i), WEB_START,
	                  &ch->kits[i]));
	assert_ok(kit_set_facts(ch->store, ch->kits[i], &facts));
	if (i % 3)
		assert_ok(kit_set_named(ch->store, ch->kits[i], true));
	if (pick(2))
		assert_ok(kit_log_add(ch->store, ch->kits[i], &row, &log));
	for (int n = 0; n < NOTICES; n++)
		if (pick(3) == 0)
			add_record(ch, ch->kits[i], n ? "HB-1" : "HB-0");
}

static void add_notice(struct world *ch, const char *number)
{
	static const struct line_text line = {"WH-2207-1", "", "", DISPOSE_REPLACE, "", ""};
	struct revision_content content = revision_content_empty;
	struct notice_id id;

	content.number = number;
	content.issuer = "Harrowfen";
	content.issued = "2023";
	content.title = "Tube bushing";
	content.action = "1. Do it.";
	content.effectivity = "all";
	content.lines = &line;
	content.n_lines = 1;
	assert_ok(notice_import(ch->store, &(struct notice_import){&content, 1, "", ""},
	                        web_member(ch->web, STEWARD), WEB_START, &id));
}

static int set_up(void **state)
{
	struct world *ch = calloc(1, sizeof *ch);
	const struct notice *notices;
	const struct parts_source no_parts = {.lists = NULL};
	size_t count;
	int64_t generation;

	assert_non_null(ch);
	seed = 20261125;
	ch->web = web_new(NULL, 0, NULL, 0);
	ch->store = web_store(ch->web);
	ch->arena = arena_new();
	assert_non_null(ch->arena);
	assert_ok(kit_remove(ch->store, web_kit(ch->web, ANN)));
	assert_ok(kit_remove(ch->store, web_kit(ch->web, BEN)));
	add_notice(ch, "HB-0");
	add_notice(ch, "HB-1");
	for (int i = 0; i < KITS; i++)
		add_kit(ch, i);
	assert_ok(notice_load(ch->store, ch->arena, &notices, &count, &generation));
	assert_ok(catalogue_build(ch->arena, notices, count, &ch->catalogue));
	assert_ok(parts_book_build(ch->arena, &no_parts, &ch->parts, NULL));
	ch->chapter.kits = kits_new();
	assert_non_null(ch->chapter.kits);
	*state = ch;
	return 0;
}

static int tear_down(void **state)
{
	struct world *ch = *state;

	kits_free(ch->chapter.kits);
	arena_free(ch->arena);
	web_free(ch->web);
	free(ch);
	return 0;
}

static const struct effectivity *statement_of(struct world *ch, const char *text)
{
	const struct effectivity *statement = NULL;
	struct statement_fault fault;

	if (effectivity_parse(ch->arena, text, strlen(text), &statement, &fault) != ST_OK)
		fail_msg("%s: expected %s", text, fault.expected);
	return statement;
}

/* ---- the same as on each kit's page ---- */

static const char *const lines[] = {
        "all",
        "model Whimbrel",
        "model Whimbrel series",
        "serial WH-0100 thru WH-0130",
        "purchased after 2017-04",
        "plans up to 2017",
        "first-flight 2020 and on",
        "subkit 4",
        "shipped 4 before 2018",
        "option tailwheel",
        "part WH-2207-1",
        "part WH-2207-1 lot 3 thru 9",
        "notice HB-0",
        "notice HB-1, HB-0",
        "notice HB-9",
        "step 14-1",
        "step 14-3, 14-4, 14-5",
        "step 14-0, 14-1, 14-2, 14-3, 14-4, 14-5, 14-6, 14-7, 14-8",
        "hours 100 and on",
        "landings up to 20",
};
#define LINES (int)(sizeof lines / sizeof *lines)

static enum truth answer_of_page(struct world *ch, struct kit_id kit,
                                 const struct effectivity *statement)
{
	struct arena *arena = arena_new();
	struct work work = work_of(ch, arena);
	struct kit_view view;
	enum truth answer;

	assert_ok(kit_view_load(&work, kit, &view));
	answer = effectivity_decide(statement, &view.facts);
	kit_view_done(&view);
	arena_free(arena);
	return answer;
}

struct answers {
	struct world *ch;
	enum truth at[KITS];
	int count;
};

static bool take_answer(void *context, const struct held_kit *kit, enum truth answer)
{
	struct answers *answers = context;

	assert_int_equal(kit->id.v, answers->ch->kits[answers->count].v);
	answers->at[answers->count++] = answer;
	return true;
}

static void compare(struct world *ch, const char *text)
{
	const struct effectivity *statement = statement_of(ch, text);
	struct work work = work_of(ch, ch->arena);
	struct answers answers = {.ch = ch};

	assert_ok(whom_each(&work, statement, take_answer, &answers));
	assert_int_equal(answers.count, KITS);
	for (int i = 0; i < KITS; i++)
		if (answers.at[i] != answer_of_page(ch, ch->kits[i], statement))
			fail_msg("%s: kit %d: %d", text, i, (int)answers.at[i]);
}

static void each_line_is_answered_as_on_the_page(void **state)
{
	char negated[120];

	for (int i = 0; i < LINES; i++) {
		compare(*state, lines[i]);
		snprintf(negated, sizeof negated, "not %s", lines[i]);
		if (strcmp(lines[i], "all") != 0)
			compare(*state, negated);
	}
}

static void mixed_lines_are_answered_as_on_the_page(void **state)
{
	for (int round = 0; round < 150; round++) {
		struct text text = TEXT_EMPTY;
		int count = 2 + pick(4);

		for (int i = 0; i < count; i++) {
			int line = 1 + pick(LINES - 1);

			text_printf(&text, "%s%s%s\n", i && pick(3) == 0 ? "or\n" : "",
			            pick(4) ? "" : "not ", lines[line]);
		}
		compare(*state, text_string(&text));
		text_free(&text);
	}
}

/* ---- counts, pages ---- */

static bool is_named(struct world *ch, struct kit_id id)
{
	struct kit kit;

	assert_ok(kit_read(ch->store, ch->arena, id, &kit));
	return kit.named;
}

static void counts_and_pages_agree(void **state)
{
	struct world *ch = *state;
	const struct effectivity *statement = statement_of(ch, "model Whimbrel\noption tailwheel");
	struct work work = work_of(ch, ch->arena);
	struct whom all, paged;

	assert_ok(whom_count(&work, statement, &all));
	assert_int_equal(all.counts[0] + all.counts[1] + all.counts[2], KITS);
	for (int answer = 0; answer < WHOM_ANSWERS; answer++) {
		int64_t seen = 0, last = 0;

		assert_true(all.counts[answer] > 0);
		for (int64_t offset = 0;; offset += 7) {
			const struct whom_kit *kits;
			size_t count;

			assert_ok(whom_list(&work, statement, (enum truth)answer,
			                    (struct page){7, offset}, &kits, &count, &paged));
			assert_memory_equal(&paged, &all, sizeof all);
			for (size_t i = 0; i < count; i++) {
				assert_true(kits[i].id.v > last);
				last = kits[i].id.v;
				assert_true(is_named(ch, kits[i].id));
				assert_true(*kits[i].name && *kits[i].owner_name);
				assert_true(kits[i].owner.v > 0);
			}
			seen += (int64_t)count;
			if (count < 7)
				break;
		}
		assert_int_equal(seen, all.named[answer]);
		assert_in_range(seen, 1, all.counts[answer] - 1);
	}
}

static bool stop_at_third(void *context, const struct held_kit *kit, enum truth answer)
{
	(void)kit;
	(void)answer;
	return ++*(int *)context < 3;
}

static void a_visit_can_end_the_pass(void **state)
{
	struct world *ch = *state;
	struct work work = work_of(ch, ch->arena);
	int visits = 0;

	assert_ok(whom_each(&work, statement_of(ch, "notice HB-0"), stop_at_third, &visits));
	assert_int_equal(visits, 3);
}

/* ---- kits like a report's ---- */

static struct whom_like like_of(struct world *ch, const struct effectivity *statement,
                                const struct kit_id *looked, size_t n_looked)
{
	struct work work = work_of(ch, ch->arena);
	const struct kit_id *possible = NULL;
	size_t count = 0;

	assert_ok(whom_possible(&work, statement, &possible, &count));
	for (size_t i = 1; i < count; i++)
		assert_true(possible[i - 1].v < possible[i].v);
	return whom_like(possible, count, looked, n_looked);
}

static void kits_not_yet_looked_at_are_counted(void **state)
{
	struct world *ch = *state;
	const struct effectivity *statement = statement_of(ch, "serial WH-0110 thru WH-0119");
	const struct kit_id gone = {INT64_MAX};
	struct kit_id looked[KITS + 1];
	struct whom_like like;
	int64_t all = 0;
	int inside = -1;

	for (int i = 0; i < KITS; i++)
		if (answer_of_page(ch, ch->kits[i], statement) != TRUTH_FALSE) {
			inside = i;
			all++;
		}
	assert_true(all >= 2 && all < KITS);
	like = like_of(ch, statement, NULL, 0);
	assert_int_equal(like.like, all);
	assert_int_equal(like.not_looked, all);
	like = like_of(ch, statement, &ch->kits[inside], 1);
	assert_int_equal(like.like, all);
	assert_int_equal(like.not_looked, all - 1);
	/* Looks at kits that the statement does not concern, and at one that is gone. */
	memcpy(looked, ch->kits, sizeof ch->kits);
	looked[KITS] = gone;
	like = like_of(ch, statement, looked, KITS + 1);
	assert_int_equal(like.like, all);
	assert_int_equal(like.not_looked, 0);
	/* A kit that is gone is like none. */
	assert_ok(kit_remove(ch->store, ch->kits[inside]));
	like = like_of(ch, statement, &ch->kits[inside], 1);
	assert_int_equal(like.like, all - 1);
	assert_int_equal(like.not_looked, all - 1);
}

/* ---- memory ---- */

struct trial {
	struct world *ch;
	const struct effectivity *statement;
};

/* With nothing held to begin with. */
static bool try_count(void *context)
{
	struct trial *trial = context;
	struct chapter chapter = {.kits = kits_new()};
	struct work work = work_of(trial->ch, trial->ch->arena);
	struct whom whom;
	enum status status = ST_NOMEM;

	work.chapter = &chapter;
	if (chapter.kits)
		status = whom_count(&work, trial->statement, &whom);
	kits_free(chapter.kits);
	if (status != ST_OK && status != ST_NOMEM)
		fail_msg("%s", status_words(status));
	return status == ST_OK;
}

static void memory_may_run_out(void **state)
{
	struct trial trial = {
	        *state, statement_of(*state, "notice HB-1\noption tailwheel\nhours 1 and on")};

	for (int i = 4; i < KITS; i++)
		assert_ok(kit_remove(trial.ch->store, trial.ch->kits[i]));
	assert_true(try_count(&trial));
	try_each_allocation(try_count, &trial, false);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(each_line_is_answered_as_on_the_page),
	        TEST(mixed_lines_are_answered_as_on_the_page),
	        TEST(counts_and_pages_agree),
	        TEST(a_visit_can_end_the_pass),
	        TEST(kits_not_yet_looked_at_are_counted),
	        TEST(memory_may_run_out),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
