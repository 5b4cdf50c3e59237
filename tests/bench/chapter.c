#include "chapter.h"

#include <stdio.h>
#include <string.h>

#include "store/kit_log.h"
#include "support.h"

#define OPTIONS 3
#define SUBKITS 4
#define STEPS 150
#define NOW 1700000000

#define assert_ok(call) assert_int_equal((call), ST_OK)

static uint64_t seed = 20261125;

static int pick(int count)
{
	return (int)(next_random(&seed) % (uint64_t)count);
}

static struct name make_name(struct arena *arena, const char *text)
{
	struct name name = {.len = 0};

	assert_non_null(text);
	assert_ok(name_make(arena, text, strlen(text), &name));
	return name;
}

static struct serial make_serial(struct arena *arena, const char *text)
{
	struct serial serial;

	assert_non_null(text);
	assert_ok(serial_make(arena, text, strlen(text), &serial));
	return serial;
}

/* One in ten is not known, some only to the year. */
static struct date_fact make_date(void)
{
	struct date_fact fact = {.state = DATE_KNOWN};
	char text[16];

	if (pick(10) == 0)
		return (struct date_fact){.state = DATE_UNKNOWN};
	snprintf(text, sizeof text, pick(5) ? "%d-%02d" : "%d", 2009 + pick(15), 1 + pick(12));
	assert_ok(date_parse(text, strlen(text), &fact.date));
	return fact;
}

/* ---- filling ---- */

static void fill_lists(struct arena *arena, struct facts *facts)
{
	struct option_fact *options = ARENA_ARRAY(arena, struct option_fact, OPTIONS);
	struct subkit_fact *subkits = ARENA_ARRAY(arena, struct subkit_fact, SUBKITS);
	struct part_fact *parts = ARENA_ARRAY(arena, struct part_fact, CHAPTER_PARTS);
	struct name *steps = ARENA_ARRAY(arena, struct name, STEPS);

	for (int i = 0; i < OPTIONS; i++)
		options[i] = (struct option_fact){
		        make_name(arena, arena_printf(arena, "option %d", i)), pick(2)};
	for (int i = 0; i < SUBKITS; i++)
		subkits[i] =
		        (struct subkit_fact){make_name(arena, arena_printf(arena, "%d", i + 1)),
		                             pick(10) > 0, make_date()};
	for (int i = 0; i < CHAPTER_PARTS; i++)
		parts[i] = (struct part_fact){
		        .number = make_name(arena, arena_printf(arena, "WH-220%d-1", i)),
		        .position = make_name(arena, i % 2 ? "left" : ""),
		        .has_lot = true,
		        .lot = make_serial(arena, arena_printf(arena, "%d", 1 + pick(20)))};
	for (int i = 0; i < STEPS; i++)
		steps[i] = make_name(arena, arena_printf(arena, "%d-%d", 1 + i / 10, i % 10));
	facts->options = options;
	facts->n_options = OPTIONS;
	facts->subkits = subkits;
	facts->n_subkits = SUBKITS;
	facts->parts = parts;
	facts->n_parts = CHAPTER_PARTS;
	facts->steps_done = steps;
	facts->n_steps_done = (size_t)(STEPS - pick(20));
}

static struct facts make_facts(struct arena *arena, int i)
{
	struct facts facts = {.has_serial = pick(10) > 0, .steps_known = true};

	facts.model = make_name(arena, pick(10) == 0 ? "" : i % 2 ? "Whimbrel" : "Whimbrel T");
	if (facts.has_serial)
		facts.serial = make_serial(arena, arena_printf(arena, "WH-%04d", i));
	facts.purchased = make_date();
	facts.plans = make_date();
	fill_lists(arena, &facts);
	return facts;
}

static void add_kit(struct bench_chapter *c, int i)
{
	struct facts facts = make_facts(c->arena, i);
	const char *name = arena_printf(c->arena, "member%d", i);
	struct member_entry member = {name, name, "*", ROLE_BUILDER};
	struct kit_log_row row = {.entry = {.day = NOW / 86400,
	                                    .has = {true, true},
	                                    .total = {pick(90000), pick(900)},
	                                    .event = make_name(c->arena, "")},
	                          .entered_by = name,
	                          .entered_at = NOW};
	struct kit_log_id log;

	assert_ok(member_add(c->store, &member, NOW, &c->owners[i]));
	assert_ok(kit_add(c->store, c->owners[i], name, NOW, &c->kits[i]));
	assert_ok(kit_set_facts(c->store, c->kits[i], &facts));
	assert_ok(kit_log_add(c->store, c->kits[i], &row, &log));
	arena_reset(c->arena);
}

#define WORDS 3000 /* of the language that reports are written in */
#define WORDS_A_REPORT 60

/* Few words are in most reports, most words in few. */
const char *chapter_words(struct arena *arena, int count)
{
	struct text text = TEXT_EMPTY;
	const char *copy;

	for (int i = 0; i < count; i++) {
		double u = (double)pick(100000) / 100000;

		text_printf(&text, "%sword%d", i ? " " : "", (int)(WORDS * u * u * u));
	}
	copy = arena_string(arena, text_string(&text));
	text_free(&text);
	return copy;
}

static struct report_id add_report(struct bench_chapter *c, int i)
{
	static const char *const things[] = {"bracket", "hinge", "fitting", "doubler", "rivets"};
	const char *const part = arena_printf(c->arena, "WH-%d-%d", i % 700, i % 9);
	struct report_content content = {
	        .title = arena_printf(c->arena, "Loose %s at station %d", things[i % 5], i),
	        .model = i % 2 ? "Whimbrel" : "Whimbrel T",
	        .step = "14-3",
	        .zone = "tail box",
	        .seen = chapter_words(c->arena, WORDS_A_REPORT),
	        .look = "Lamp and mirror through the lightening hole, then push.",
	        .severity = (enum severity)pick(SEVERITIES),
	        .effectivity = "model Whimbrel, Whimbrel T\nserial WH-0100 thru WH-6000",
	        .parts = {&part, 1}};
	struct report_id id;

	assert_ok(report_add(c->store, &content, c->kits[i % CHAPTER_KITS],
	                     c->owners[i % CHAPTER_KITS], CREDIT_MEMBERS, NOW, &id));
	arena_reset(c->arena);
	return id;
}

void chapter_find(struct bench_chapter *c, int i)
{
	struct finding_entry entry = {.report = c->report,
	                              .kit = c->kits[i],
	                              .author = c->owners[i],
	                              .answer = pick(5) ? ANSWER_NOT_THERE : ANSWER_FOUND,
	                              .remark = "Looked at it with lamp and mirror, from below."};
	struct finding_id id;

	assert_ok(finding_add(c->store, &entry, NOW + i, &id));
}

void chapter_fill(struct bench_chapter *c)
{
	assert_ok(store_begin(c->store));
	for (int i = 0; i < CHAPTER_KITS; i++)
		add_kit(c, i);
	c->report = add_report(c, 0);
	for (int i = 1; i < CHAPTER_REPORTS; i++)
		add_report(c, i);
	for (int i = 1; i < CHAPTER_FOUND_ON; i++)
		chapter_find(c, i);
	assert_ok(store_commit(c->store));
}
