/* The whole plan of one kit on one core: every moment, opening, order, what
 * each opening serves, and the joint cost of all, for a line of 400 steps and
 * 300 open notices. Prints milliseconds of each of several rounds.
 *
 * With a file name it first writes the line, what is built, the notices and
 * the openings as JSON, for the comparison with NetworkX in plan.py.
 */
#include <stdio.h>
#include <time.h>

#include <jansson.h>

#include "build_line.h"

#define STEPS 400
#define ZONES 40
#define NOTICES 300
#define ROUNDS 31

struct bench {
	struct arena *arena;
	struct line line;
	struct facts facts;
	const struct notice *notices[NOTICES];
};

static double cpu_seconds(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static void make_notices(struct bench *b, uint64_t *seed)
{
	for (unsigned i = 0; i < NOTICES; i++) {
		struct notice *notice = ARENA_NEW(b->arena, struct notice);
		struct name *steps = ARENA_ARRAY(b->arena, struct name, 4);

		notice->n_steps = 1 + next_random(seed) % 4;
		for (size_t k = 0; k < notice->n_steps; k++)
			steps[k] = b->line.steps[next_random(seed) % STEPS].entry->code;
		notice->steps = steps;
		b->notices[i] = notice;
	}
}

/* Two thirds are built, three of them dated. */
static void make_kit(struct bench *b)
{
	struct name *done = ARENA_ARRAY(b->arena, struct name, STEPS);
	struct step_date *dates = ARENA_ARRAY(b->arena, struct step_date, 3);

	b->facts.steps_known = true;
	for (uint32_t i = 0; i < STEPS * 2 / 3; i++)
		done[b->facts.n_steps_done++] = b->line.steps[i].entry->code;
	for (uint32_t i = 0; i < 3; i++)
		dates[i] = (struct step_date){
		        done[i], {DATE_KNOWN, date_of_day((day_number)(19000 + 30 * i))}};
	b->facts.steps_done = done;
	b->facts.step_dates = dates;
	b->facts.n_step_dates = 3;
}

static void plan_once(struct bench *b, struct arena *arena, struct plan *plan, size_t *served)
{
	size_t all[NOTICES];
	struct joint_cost cost;

	assert_int_equal(plan_make(arena, &b->line, &b->facts, b->notices, NOTICES, 20000, plan),
	                 ST_OK);
	*served = 0;
	for (size_t i = 0; i < NOTICES; i++) {
		all[i] = i;
		for (size_t k = 0; k < NOTICES; k++)
			*served += plan_serves(plan, i, k);
	}
	assert_int_equal(plan_joint(arena, plan, all, NOTICES, &cost), ST_OK);
	assert_true(cost.hours <= cost.sum);
}

/* ---- for the comparison ---- */

static json_t *names_json(const struct name *names, size_t count)
{
	json_t *list = json_array();

	for (size_t i = 0; i < count; i++)
		json_array_append_new(list, json_string(names[i].text));
	return list;
}

static json_t *set_json(const struct line *line, const uint64_t *set)
{
	json_t *list = json_array();

	for (uint32_t s = step_set_next(line, set, 0); s != LINE_NO_STEP;
	     s = step_set_next(line, set, s + 1))
		json_array_append_new(list, json_string(line->steps[s].entry->code.text));
	return list;
}

static void write_json(const struct bench *b, const struct plan *plan, const char *file)
{
	json_t *steps = json_array(), *notices = json_array(), *open = json_array(), *all;

	for (uint32_t i = 0; i < b->line.count; i++) {
		const struct step_entry *s = b->line.steps[i].entry;

		json_array_append_new(steps,
		                      json_pack("{s:s, s:o, s:o}", "code", s->code.text, "in",
		                                names_json(s->works_in, s->n_works_in), "closes",
		                                names_json(s->closes, s->n_closes)));
	}
	for (unsigned i = 0; i < NOTICES; i++) {
		json_array_append_new(notices,
		                      names_json(b->notices[i]->steps, b->notices[i]->n_steps));
		json_array_append_new(open, set_json(&b->line, plan->moments[i].open));
	}
	all = json_pack("{s:o, s:o, s:o, s:o}", "steps", steps, "done",
	                names_json(b->facts.steps_done, b->facts.n_steps_done), "notices", notices,
	                "open", open);
	assert_int_equal(json_dump_file(all, file, 0), 0);
	json_decref(all);
}

int main(int argc, char **argv)
{
	struct bench b = {.arena = arena_new()};
	struct arena *arena = arena_new();
	struct line_fault fault;
	struct plan plan;
	uint64_t seed = 20261125;
	size_t served;

	assert_int_equal(line_make(b.arena, random_line_entry(b.arena, &seed, STEPS, ZONES),
	                           &b.line, &fault),
	                 ST_OK);
	make_notices(&b, &seed);
	make_kit(&b);
	plan_once(&b, arena, &plan, &served);
	if (argc > 1)
		write_json(&b, &plan, argv[1]);
	for (unsigned round = 0; round < ROUNDS; round++) {
		double start = cpu_seconds();

		arena_reset(arena);
		plan_once(&b, arena, &plan, &served);
		printf("%.3f\n", (cpu_seconds() - start) * 1e3);
	}
	arena_free(arena);
	arena_free(b.arena);
	return 0;
}
