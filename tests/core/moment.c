/* When a notice must be done, and what it costs later. */
#include "build_line.h"

#include "base/text.h"

#include <string.h>

/* A wing whose box is closed by a skin, which is covered by paint, which the
 * fairing hides; a tank that two covers close; a seat that nothing covers. */
#define LINE                                                                                       \
	"# W Wing; RIBS 10 in box; TANK 4 in box,tank; LEFT 2 needs TANK closes tank in cover;"    \
	"RIGHT 2/3 needs TANK closes tank in cover; SKIN 20/50 needs RIBS in outside closes box;"  \
	"# F Finish; SEAT 5 in cabin; WIRES 6 in floor; PAINT 30/40 needs SKIN,LEFT in gap "       \
	"closes outside; FLOOR 3 needs WIRES closes floor; FAIRING 1 needs PAINT closes gap"

struct scene {
	struct arena *arena;
	const struct line *line;
	struct plan plan;
};

#define NOTICES_MOST 8

/* Steps of the notices, each between two semicolons: "RIBS, TANK; SEAT". */
static const struct notice *const *make_notices(struct arena *arena, const char *text,
                                                size_t *count)
{
	struct notice *notices = ARENA_ARRAY(arena, struct notice, NOTICES_MOST);
	const struct notice **list = ARENA_ARRAY(arena, const struct notice *, NOTICES_MOST);
	char *copy = arena_string(arena, text), *save, *inner;

	*count = 0;
	for (char *part = strtok_r(copy, ";", &save); part; part = strtok_r(NULL, ";", &save)) {
		struct notice *notice = &notices[*count];
		struct name *steps = ARENA_ARRAY(arena, struct name, 8);

		for (char *code = strtok_r(part, ",", &inner); code;
		     code = strtok_r(NULL, ",", &inner)) {
			steps[notice->n_steps] = make_name(arena, code);
			notice->n_steps += !name_is_empty(&steps[notice->n_steps]);
		}
		notice->steps = steps;
		list[(*count)++] = notice;
	}
	return list;
}

static struct scene play(const char *facts, const char *notices)
{
	struct scene scene = {.arena = arena_new()};
	size_t count;
	const struct notice *const *list = make_notices(scene.arena, notices, &count);

	scene.line = make_line(scene.arena, LINE);
	assert_int_equal(plan_make(scene.arena, scene.line, make_facts(scene.arena, facts), list,
	                           count, make_day("2020-06-01"), &scene.plan),
	                 ST_OK);
	return scene;
}

static const char *code_of(const struct scene *scene, uint32_t step)
{
	return step == LINE_NO_STEP ? "-" : scene->line->steps[step].entry->code.text;
}

/* ---- one notice ---- */

static const struct {
	const char *facts;
	const char *steps;
	enum moment_kind kind;
	enum moment_lack lack;
	const char *at;
	const char *open;
	int open_hours;
	const char *dearer;
	int late_hours;
} moments[] = {
        /* Nothing is built: build it so from the start. */
        {"steps known", "RIBS", MOMENT_FOLD_IN, LACK_NOTHING, "RIBS", "", 0, "-", 92},
        {"steps known", "SKIN, TANK", MOMENT_FOLD_IN, LACK_NOTHING, "TANK", "", 0, "-", 99},
        /* Built and open. */
        {"steps known; step RIBS", "RIBS", MOMENT_BEFORE, LACK_NOTHING, "SKIN", "", 0, "-", 92},
        {"steps known; step RIBS; step TANK", "TANK", MOMENT_BEFORE, LACK_NOTHING, "LEFT", "", 0,
         "-", 99},
        /* One affected step built, one not: the last good moment of the built one. */
        {"steps known; step RIBS", "RIBS, SEAT", MOMENT_BEFORE, LACK_NOTHING, "SKIN", "", 0, "-",
         92},
        {"steps known; step SEAT", "SEAT", MOMENT_ANY_TIME, LACK_NOTHING, "-", "", 0, "-", 0},
        /* Buried once, twice, three deep. */
        {"steps known; step RIBS; step SKIN", "RIBS", MOMENT_BURIED, LACK_NOTHING, "SKIN", "SKIN",
         50, "PAINT", 92},
        {"steps known; step RIBS; step SKIN; step PAINT", "RIBS", MOMENT_BURIED, LACK_NOTHING,
         "SKIN", "SKIN PAINT", 90, "FAIRING", 92},
        {"steps known; step RIBS; step SKIN; step PAINT; step FAIRING", "RIBS", MOMENT_BURIED,
         LACK_NOTHING, "SKIN", "SKIN PAINT FAIRING", 92, "-", 92},
        /* Two covers of one zone are both opened: nobody knows which may stay. */
        {"steps known; step TANK; step LEFT; step RIGHT", "TANK", MOMENT_BURIED, LACK_NOTHING,
         "LEFT", "LEFT RIGHT", 7, "SKIN", 99},
        /* One buried step buries the notice. */
        {"steps known; step RIBS; step SKIN", "SEAT, RIBS", MOMENT_BURIED, LACK_NOTHING, "SKIN",
         "SKIN", 50, "PAINT", 92},
        /* Not built, but its zone is closed already. */
        {"steps known; step SKIN", "RIBS", MOMENT_BURIED, LACK_NOTHING, "SKIN", "SKIN", 50, "PAINT",
         92},
        /* A cover that is affected itself is opened, too. */
        {"steps known; step RIBS; step SKIN", "RIBS, SKIN", MOMENT_BURIED, LACK_NOTHING, "SKIN",
         "SKIN", 50, "PAINT", 92},
        /* Codes are names: letter case and blanks do not matter. */
        {"steps known; step ribs", "Ribs", MOMENT_BEFORE, LACK_NOTHING, "SKIN", "", 0, "-", 92},
        /* What is not known is never taken for good. */
        {"step RIBS", "RIBS", MOMENT_CANNOT_TELL, LACK_PROGRESS, "-", "", 0, "-", 92},
        {"", "SEAT", MOMENT_CANNOT_TELL, LACK_PROGRESS, "-", "", 0, "-", 0},
        {"step RIBS; step SKIN", "RIBS", MOMENT_BURIED, LACK_PROGRESS, "SKIN", "SKIN", 50, "PAINT",
         92},
        {"steps known", " ", MOMENT_CANNOT_TELL, LACK_STEPS, "-", "", 0, "-", 0},
        {"steps known", "KEEL", MOMENT_CANNOT_TELL, LACK_LINE_STEPS, "-", "", 0, "-", 0},
        {"steps known; step SEAT", "SEAT, KEEL", MOMENT_CANNOT_TELL, LACK_SOME_STEPS, "-", "", 0,
         "-", 0},
        {"steps known; step RIBS", "RIBS, KEEL", MOMENT_BEFORE, LACK_NOTHING, "SKIN", "", 0, "-",
         92},
};

static void each_notice_has_its_moment(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(moments); i++) {
		struct scene scene = play(moments[i].facts, moments[i].steps);
		const struct moment *m = &scene.plan.moments[0];
		const char *open = step_set_text(scene.arena, scene.line, m->open);

		if (m->kind != moments[i].kind || strcmp(open, moments[i].open) != 0)
			fail_msg("%s: %s: %s, open %s", moments[i].facts, moments[i].steps,
			         moment_words(m->kind), open);
		assert_int_equal(m->lack, moments[i].lack);
		assert_string_equal(code_of(&scene, m->at), moments[i].at);
		assert_string_equal(code_of(&scene, m->dearer), moments[i].dearer);
		assert_int_equal(m->open_hours, moments[i].open_hours * 100);
		assert_int_equal(m->late_hours, moments[i].late_hours * 100);
		arena_free(scene.arena);
	}
}

static void steps_that_the_line_does_not_know_are_counted(void **state)
{
	struct scene scene = play("steps known", "RIBS, KEEL, MAST");

	(void)state;
	assert_int_equal(scene.plan.moments[0].n_affected, 1);
	assert_int_equal(scene.plan.moments[0].n_strange, 2);
	arena_free(scene.arena);
}

/* ---- progress, pace and what is left ---- */

static void work_left_counts_only_what_is_needed(void **state)
{
	struct scene scene = play("steps known; step RIBS", "PAINT; SEAT");
	const struct work_left *left = &scene.plan.moments[0].left;

	(void)state;
	/* PAINT needs SKIN 20 (RIBS is done) and LEFT 2, which needs TANK 4. */
	assert_int_equal(left->steps, 3);
	assert_int_equal(left->hours, 2600);
	assert_int_equal(left->path, 2000); /* two builders: SKIN beside TANK and LEFT */
	assert_false(left->has_date);
	assert_int_equal(scene.plan.moments[1].left.steps, 0);
	assert_int_equal(scene.plan.progress.steps_done, 1);
	assert_int_equal(scene.plan.progress.hours_done, 1000);
	assert_int_equal(scene.plan.progress.hours_all, 8300);
	assert_string_equal(code_of(&scene, scene.plan.progress.here), "TANK");
	arena_free(scene.arena);
}

static const struct {
	const char *facts;
	const char *date; /* until PAINT can begin; NULL: none */
} paces[] = {
        /* 4 and 2 hours in the 12 days after the first: half an hour a day; 22 left. */
        {"steps known; step RIBS; step TANK; step LEFT; date of RIBS = 2020-05-01; "
         "date of TANK = 2020-05-07; date of LEFT = 2020-05-13",
         "2020-07-11"},
        /* The same, whatever else is dated, and wherever it stands: a step to come, one of no
         * line, a month, a day to come. */
        {"steps known; step RIBS; step TANK; step LEFT; step KEEL; step SEAT; step WIRES; "
         "date of PAINT = 2020-05-02; date of RIBS = 2020-05-01; date of KEEL = 2020-05-03; "
         "date of TANK = 2020-05-07; date of SEAT = 2020-05; date of WIRES = 2020-07-01; "
         "date of LEFT = 2020-05-13; date of PAINT = 2020-05-14",
         "2020-07-11"},
        {"steps known; step RIBS; step TANK; step LEFT; date of RIBS = 2020-05-01; "
         "date of TANK = 2020-05-13",
         NULL}, /* only two */
        {"steps known; step RIBS; step TANK; step LEFT; date of RIBS = 2020-05-01; "
         "date of TANK = 2020-05-01; date of LEFT = 2020-05-01",
         NULL}, /* all on one day */
        {"steps known; step RIBS; step TANK; step LEFT; date of RIBS = 2020-05-01; "
         "date of TANK = 2020-05; date of LEFT = 2020-05-13",
         NULL}, /* a month is no day */
        {"steps known; step RIBS; step TANK; step LEFT; date of RIBS = 2020-05-01; "
         "date of TANK = 2020-05-07; date of LEFT = 2020-06-02",
         NULL}, /* in the future */
        {"steps known; step RIBS; step TANK; date of RIBS = 2020-05-01; "
         "date of TANK = 2020-05-07; date of LEFT = 2020-05-13",
         NULL}, /* dated, but not done */
        {"steps known; step RIBS; step TANK; step LEFT; date of RIBS = 2020-05-01; "
         "date of TANK = 2020-05-07; date of KEEL = 2020-05-13",
         NULL}, /* not of the line */
        {"step RIBS; step TANK; step LEFT; date of RIBS = 2020-05-01; "
         "date of TANK = 2020-05-07; date of LEFT = 2020-05-13",
         NULL}, /* perhaps more is built */
        {"steps known; step RIBS; step LEFT; step RIGHT; date of RIBS = 1950-05-01; "
         "date of LEFT = 1950-05-02; date of RIGHT = 2020-05-13",
         NULL}, /* further off than a century */
};

static void the_date_follows_from_the_builders_pace(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(paces); i++) {
		struct scene scene = play(paces[i].facts, "PAINT");
		struct work_left left;

		assert_int_equal(progress_left(scene.arena, scene.line, &scene.plan.progress,
		                               scene.plan.moments[0].affected[0] ? 7 : 0,
		                               make_day("2020-06-01"), &left),
		                 ST_OK);
		if (left.has_date != (paces[i].date != NULL))
			fail_msg("%s", paces[i].facts);
		if (paces[i].date)
			assert_int_equal(left.date, make_day(paces[i].date));
		arena_free(scene.arena);
	}
}

static void all_built_leaves_no_place(void **state)
{
	struct scene scene = play("steps known; step RIBS; step TANK; step LEFT; step RIGHT; "
	                          "step SKIN; step SEAT; step WIRES; step PAINT; step FLOOR; "
	                          "step FAIRING; step KEEL",
	                          "RIBS");

	(void)state;
	assert_int_equal(scene.plan.progress.here, LINE_NO_STEP);
	assert_int_equal(scene.plan.progress.steps_done, 10);
	assert_int_equal(scene.plan.moments[0].dearer, LINE_NO_STEP);
	arena_free(scene.arena);
}

/* ---- several notices ---- */

static const char *order_text(const struct scene *scene)
{
	char *out = arena_string(scene->arena, "");

	for (size_t i = 0; i < scene->plan.count; i++)
		out = arena_printf(scene->arena, "%s%u", out, scene->plan.order[i]);
	return out;
}

static void the_list_is_ordered_by_moment(void **state)
{
	struct scene scene = play("steps known; step RIBS; step TANK; step LEFT; step RIGHT; "
	                          "step SKIN; step SEAT; step WIRES",
	                          "SEAT; KEEL; RIBS; TANK; FLOOR; WIRES; SKIN; FLOOR");

	(void)state;
	/* Ahead: SKIN (before PAINT), then what the FLOOR step brings: fold in and
	 * before stand in one row. Buried: TANK opens more than RIBS. */
	assert_string_equal(order_text(&scene), "64572310");
	arena_free(scene.arena);
}

static void an_opening_serves_others(void **state)
{
	struct scene scene = play("steps known; step RIBS; step TANK; step LEFT; step RIGHT; "
	                          "step SKIN; step WIRES",
	                          "TANK; RIBS; RIBS, TANK; WIRES; WIRES, FLOOR; SEAT");
	const size_t chosen[] = {0, 1, 3};
	struct joint_cost cost;

	(void)state;
	assert_true(plan_serves(&scene.plan, 0, 1));  /* the skin is off anyway */
	assert_false(plan_serves(&scene.plan, 1, 0)); /* the tank covers are not */
	assert_true(plan_serves(&scene.plan, 0, 2));
	assert_false(plan_serves(&scene.plan, 0, 0));
	assert_true(plan_serves(&scene.plan, 3, 4)); /* both before the floor */
	assert_false(plan_serves(&scene.plan, 3, 5));
	assert_false(plan_serves(&scene.plan, 0, 3));
	assert_int_equal(plan_joint(scene.arena, &scene.plan, chosen, 3, &cost), ST_OK);
	assert_string_equal(step_set_text(scene.arena, scene.line, cost.open), "LEFT RIGHT SKIN");
	assert_int_equal(cost.hours, 5700);
	assert_int_equal(cost.sum, 10700);
	assert_int_equal(cost.buried, 2);
	assert_int_equal(cost.unsure, 0);
	arena_free(scene.arena);
}

static void every_moment_has_words(void **state)
{
	(void)state;
	for (unsigned kind = 0; kind < MOMENT_KINDS; kind++)
		assert_true(strlen(moment_words(kind)) > 0);
}

/* ---- words ---- */

static const struct {
	const char *facts, *steps, *brief, *sentence;
} told[] = {
        {"steps known", "RIBS", "fold in at RIBS",
         "Not built yet: fold it in at step RIBS (step RIBS). All that it needs is built. Left "
         "until all is built, 3 steps would have to be opened: 92 hours."},
        {"steps known; step RIBS", "SEAT", "fold in at SEAT",
         "Not built yet: fold it in at step SEAT (step SEAT). All that it needs is built."},
        {"steps known; step RIBS; step TANK; step LEFT; date of RIBS = 2020-05-01; date of TANK = "
         "2020-05-07; date of LEFT = 2020-05-13",
         "PAINT, KEEL", "fold in at PAINT",
         "Not built yet: fold it in at step PAINT (step PAINT). Until then 1 step with 20 hours of "
         "work that it needs is left, at your pace until about 11 July 2020. Left until all is "
         "built, 1 step would have to be opened: 2 hours. The build line does not have 1 of the "
         "steps that the notice names: for these it cannot be told."},
        {"steps known; step RIBS", "FAIRING, PAINT", "fold in at PAINT",
         "Not built yet: fold it in at step PAINT (step PAINT). Until then 3 steps with 26 hours "
         "of "
         "work that it needs are left. Left until all is built, 1 step would have to be opened: 2 "
         "hours."},
        {"steps known; step RIBS; step TANK; step RIGHT; step LEFT; step SKIN; step PAINT; "
         "step FAIRING; step KEEL",
         "PAINT", "buried: open 1 step, 2 hours",
         "Buried: the last good moment was before step FAIRING (step FAIRING). 1 step must be "
         "opened again, 2 hours; in time it would have cost none of them."},
        {"steps known; step WIRES", "WIRES", "before FLOOR closes it",
         "Built, and nothing covers it yet: do it before step FLOOR (step FLOOR). All that it "
         "needs is built. Left until all is built, 1 step would have to be opened: 6 hours."},
        {"steps known; step RIBS; step SKIN", "RIBS", "buried: open 1 step, 50 hours",
         "Buried: the last good moment was before step SKIN (step SKIN). 1 step must be opened "
         "again, 50 hours; in time it would have cost none of them. Step PAINT (step PAINT) will "
         "add to that."},
        {"step RIBS; step SKIN; step PAINT; step FAIRING", "RIBS", "buried: open 3 steps, 92 hours",
         "Buried: the last good moment was before step SKIN (step SKIN). At least 3 steps must be "
         "opened again, at least 92 hours; in time it would have cost none of them."},
        {"steps known; step SEAT", "SEAT", "any time",
         "Built, and no step of the build line covers it: any time will do."},
        {"", "SEAT", "cannot tell when",
         "Cannot tell when: it is not said whether all that is built is marked on the build line."},
        {"steps known", "", "cannot tell when",
         "Cannot tell when: the notice names no step of the build line."},
        {"steps known", "KEEL", "cannot tell when",
         "Cannot tell when: the build line has none of the steps that it names."},
        {"steps known; step SEAT", "SEAT, KEEL", "cannot tell when",
         "Cannot tell when: nothing covers the steps that the build line has, but it does not have "
         "all that the notice names."},
};

static void each_moment_is_told_in_words(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(told); i++) {
		struct scene scene = play(told[i].facts, told[i].steps[0] ? told[i].steps : " ");
		const struct moment *moment = &scene.plan.moments[0];
		struct text brief = TEXT_EMPTY, sentence = TEXT_EMPTY;

		moment_short(scene.line, moment, &brief);
		moment_sentence(scene.line, moment, &sentence);
		assert_string_equal(text_string(&brief), told[i].brief);
		assert_string_equal(text_string(&sentence), told[i].sentence);
		text_free(&brief);
		text_free(&sentence);
		arena_free(scene.arena);
	}
}

static void an_hour_is_one(void **state)
{
	struct arena *arena = arena_new();
	const struct line *line = make_line(arena, "A 1 in box; B 1/1 closes box");
	const struct facts *facts = make_facts(arena, "steps known; step A; step B");
	size_t count;
	const struct notice *const *notices = make_notices(arena, "A", &count);
	struct text text = TEXT_EMPTY;
	struct plan plan;

	(void)state;
	assert_int_equal(plan_make(arena, line, facts, notices, count, 0, &plan), ST_OK);
	moment_short(line, &plan.moments[0], &text);
	assert_string_equal(text_string(&text), "buried: open 1 step, 1 hour");
	text_free(&text);
	arena_free(arena);
}

static void a_step_has_the_date_that_was_given(void **state)
{
	struct arena *arena = arena_new();
	const struct facts *facts =
	        make_facts(arena, "step A; step B; date of A = 2020-05; date of B = 2022");
	struct name a = make_name(arena, "a"), c = make_name(arena, "C");

	(void)state;
	assert_int_equal(facts_step_date(facts, &a).date.first, make_day("2020-05-01"));
	assert_int_equal(facts_step_date(facts, &c).state, DATE_UNKNOWN);
	arena_free(arena);
}

/* ---- properties on random lines ---- */

#define RANDOM_STEPS 90
#define RANDOM_NOTICES 12

struct random_scene {
	struct arena *arena;
	struct line line;
	struct facts facts;
	struct name *done;
	const struct notice *notices[RANDOM_NOTICES];
	struct plan plan;
};

static void random_scene(struct random_scene *s, uint64_t *seed)
{
	struct line_fault fault;

	*s = (struct random_scene){.arena = arena_new(), .facts = {.steps_known = true}};
	assert_int_equal(line_make(s->arena, random_line_entry(s->arena, seed, RANDOM_STEPS, 10),
	                           &s->line, &fault),
	                 ST_OK);
	s->done = ARENA_ARRAY(s->arena, struct name, RANDOM_STEPS);
	s->facts.steps_done = s->done;
	for (unsigned i = 0; i < RANDOM_NOTICES; i++) {
		struct notice *notice = ARENA_NEW(s->arena, struct notice);
		struct name *steps = ARENA_ARRAY(s->arena, struct name, 3);

		notice->n_steps = 1 + next_random(seed) % 3;
		for (size_t k = 0; k < notice->n_steps; k++)
			steps[k] = s->line.steps[next_random(seed) % RANDOM_STEPS].entry->code;
		notice->steps = steps;
		s->notices[i] = notice;
	}
}

static void decide(struct random_scene *s)
{
	assert_int_equal(
	        plan_make(s->arena, &s->line, &s->facts, s->notices, RANDOM_NOTICES, 0, &s->plan),
	        ST_OK);
}

/* Steps in a random order, one after the other: what was dear stays so. */
static void doing_a_step_never_makes_a_notice_cheaper(void **state)
{
	uint64_t seed = 20260101;

	(void)state;
	for (unsigned round = 0; round < 20; round++) {
		struct random_scene s;

		random_scene(&s, &seed);
		decide(&s);
		for (uint32_t i = 0; i < RANDOM_STEPS; i++) {
			struct plan before = s.plan;

			s.done[s.facts.n_steps_done++] =
			        s.line.steps[(i * 37 + round) % RANDOM_STEPS].entry->code;
			decide(&s);
			for (unsigned k = 0; k < RANDOM_NOTICES; k++) {
				const struct moment *m = &s.plan.moments[k];

				assert_true(m->open_hours >= before.moments[k].open_hours);
				assert_true(m->open_hours <= m->late_hours);
				assert_int_equal(m->late_hours, before.moments[k].late_hours);
			}
		}
		arena_free(s.arena);
	}
}

/* The step that is told to make it dearer does so. */
static void what_makes_it_dearer_does(void **state)
{
	uint64_t seed = 7;
	unsigned seen = 0;

	(void)state;
	for (unsigned round = 0; round < 60; round++) {
		struct random_scene s;
		struct plan before;

		random_scene(&s, &seed);
		for (uint32_t i = 0; i < RANDOM_STEPS; i += 1 + (uint32_t)next_random(&seed) % 2)
			s.done[s.facts.n_steps_done++] = s.line.steps[i].entry->code;
		decide(&s);
		before = s.plan;
		for (unsigned k = 0; k < RANDOM_NOTICES; k++) {
			uint32_t dearer = before.moments[k].dearer;

			if (dearer == LINE_NO_STEP)
				continue;
			s.done[s.facts.n_steps_done++] = s.line.steps[dearer].entry->code;
			decide(&s);
			s.facts.n_steps_done--;
			assert_true(s.plan.moments[k].n_open > before.moments[k].n_open);
			seen++;
		}
		arena_free(s.arena);
	}
	assert_true(seen > 100);
}

static void the_union_never_exceeds_the_sum(void **state)
{
	uint64_t seed = 99;

	(void)state;
	for (unsigned round = 0; round < 50; round++) {
		struct random_scene s;
		int64_t last = 0;
		size_t chosen[RANDOM_NOTICES];

		random_scene(&s, &seed);
		for (uint32_t i = 0; i < RANDOM_STEPS; i++)
			if (next_random(&seed) % 4)
				s.done[s.facts.n_steps_done++] = s.line.steps[i].entry->code;
		decide(&s);
		for (size_t k = 0; k < RANDOM_NOTICES; k++) {
			struct joint_cost cost;

			chosen[k] = k;
			assert_int_equal(plan_joint(s.arena, &s.plan, chosen, k + 1, &cost), ST_OK);
			assert_true(cost.hours <= cost.sum);
			assert_true(cost.hours >= last);
			assert_true(cost.hours >= s.plan.moments[k].open_hours);
			last = cost.hours;
		}
		arena_free(s.arena);
	}
}

/* Whoever is served is free of charge, and nobody else. */
static void what_an_opening_serves_costs_nothing_more(void **state)
{
	uint64_t seed = 3;

	(void)state;
	for (unsigned round = 0; round < 30; round++) {
		struct random_scene s;

		random_scene(&s, &seed);
		for (uint32_t i = 0; i < RANDOM_STEPS; i++)
			if (next_random(&seed) % 4)
				s.done[s.facts.n_steps_done++] = s.line.steps[i].entry->code;
		decide(&s);
		for (size_t a = 0; a < RANDOM_NOTICES; a++)
			for (size_t b = 0; b < RANDOM_NOTICES; b++) {
				const size_t pair[] = {a, b};
				struct joint_cost cost;
				bool both = s.plan.moments[a].kind == MOMENT_BURIED &&
				            s.plan.moments[b].kind == MOMENT_BURIED && a != b;

				if (!both)
					continue;
				assert_int_equal(plan_joint(s.arena, &s.plan, pair, 2, &cost),
				                 ST_OK);
				assert_int_equal(plan_serves(&s.plan, a, b),
				                 cost.n_open == s.plan.moments[a].n_open);
			}
		arena_free(s.arena);
	}
}

/* ---- memory ---- */

static struct scene kept;

static bool plan_once(struct arena *arena)
{
	struct facts facts = {.steps_known = true};
	struct name step = {"RIBS", "RIBS", 4, 0};
	struct notice notice = {.steps = &step, .n_steps = 1};
	const struct notice *list[] = {&notice};
	const size_t chosen[] = {0};
	struct work_left left;
	struct joint_cost cost;
	struct plan plan;
	enum status status = plan_make(arena, kept.line, &facts, list, 1, 0, &plan);

	if (status == ST_OK)
		status = plan_joint(arena, &plan, chosen, 1, &cost);
	if (status == ST_OK)
		status = progress_left(arena, kept.line, &plan.progress, 2, 0, &left);
	return status == ST_OK;
}

static void each_call_for_memory_may_fail(void **state)
{
	(void)state;
	kept = play("", "RIBS");
	try_each_place(plan_once);
	arena_free(kept.arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(each_notice_has_its_moment),
	        cmocka_unit_test(steps_that_the_line_does_not_know_are_counted),
	        cmocka_unit_test(work_left_counts_only_what_is_needed),
	        cmocka_unit_test(the_date_follows_from_the_builders_pace),
	        cmocka_unit_test(all_built_leaves_no_place),
	        cmocka_unit_test(the_list_is_ordered_by_moment),
	        cmocka_unit_test(an_opening_serves_others),
	        cmocka_unit_test(every_moment_has_words),
	        cmocka_unit_test(each_moment_is_told_in_words),
	        cmocka_unit_test(an_hour_is_one),
	        cmocka_unit_test(a_step_has_the_date_that_was_given),
	        cmocka_unit_test(doing_a_step_never_makes_a_notice_cheaper),
	        cmocka_unit_test(what_makes_it_dearer_does),
	        cmocka_unit_test(the_union_never_exceeds_the_sum),
	        cmocka_unit_test(what_an_opening_serves_costs_nothing_more),
	        cmocka_unit_test(each_call_for_memory_may_fail),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
