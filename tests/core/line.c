/* The build line: what is refused and where; needs, covers, order. */
#include "build_line.h"

#include <string.h>

/* ---- what is refused ---- */

static const struct {
	const char *text;
	enum line_depth depth;
	size_t section, step;
	const char *key;
	int item; /* -1: not in a list */
	const char *words;
} refused[] = {
        {"", LINE_FAULT_WHOLE, 0, 0, "sections", -1, "at least one section"},
        {"# W Wings", LINE_FAULT_SECTION, 0, 0, "steps", -1, "section W has no steps"},
        {"# W Wings; A 1; # w More; B 1", LINE_FAULT_SECTION, 1, 0, "code", -1,
         "section w stands twice"},
        {"# W ; A 1", LINE_FAULT_SECTION, 0, 0, "title", -1, "is needed"},
        {"A 1; # W Wings; a 1", LINE_FAULT_STEP, 1, 0, "code", -1, "step a stands twice"},
        {"A 1; B 10000", LINE_FAULT_STEP, 0, 1, "hours", -1, "0 to 9999"},
        {"A 1; B 1/9999.5", LINE_FAULT_STEP, 0, 1, "hours_to_open", -1, "0 to 9999"},
        {"A 1; B 1 needs A,a", LINE_FAULT_STEP, 0, 1, "needs", 1, "a stands twice"},
        {"A 1 parts P-1, ,P-2", LINE_FAULT_STEP, 0, 0, "parts", 1, "is empty"},
        {"A 1 in left,Left", LINE_FAULT_STEP, 0, 0, "works_in", 1, "Left stands twice"},
        {"A 1 in left; B 1 closes left,LEFT", LINE_FAULT_STEP, 0, 1, "closes", 1,
         "LEFT stands twice"},
        {"A 1; B 1 needs A,C", LINE_FAULT_STEP, 0, 1, "needs", 1, "no step is called C"},
        {"A 1 needs A", LINE_FAULT_STEP, 0, 0, "needs", 0, "cannot need itself"},
        {"A 1; B 1 needs C; C 1 needs A", LINE_FAULT_STEP, 0, 1, "needs", 0,
         "step C stands later in the line; put it before B"},
        {"A 1 needs B; B 1 needs A", LINE_FAULT_STEP, 0, 0, "needs", 0,
         "in a circle: A is needed by B, that by A"},
        {"A 1; B 1 needs A,D; C 1 needs B; D 1 needs C,X", LINE_FAULT_STEP, 0, 1, "needs", 1,
         "in a circle: B is needed by C, that by D, that by B"},
        {"A 1 closes left", LINE_FAULT_STEP, 0, 0, "closes", 0,
         "no other step works in the zone \"left\""},
        {"A 1 in right; B 1 in left closes right,left", LINE_FAULT_STEP, 0, 1, "closes", 1,
         "no other step works in the zone \"left\""},
};

static void a_faulty_line_is_refused_with_its_place(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(refused); i++) {
		struct arena *arena = arena_new();
		struct line line = {.count = 77};
		struct line_fault fault;
		enum status status =
		        line_make(arena, make_line_entry(arena, refused[i].text), &line, &fault);

		if (status != ST_INVALID)
			fail_msg("taken: %s", refused[i].text);
		if (!strstr(fault.words, refused[i].words))
			fail_msg("%s: %s", refused[i].text, fault.words);
		assert_string_equal(fault.key, refused[i].key);
		assert_int_equal(fault.depth, refused[i].depth);
		assert_int_equal(fault.section, refused[i].section);
		assert_int_equal(fault.step, refused[i].step);
		assert_int_equal(fault.in_list, refused[i].item >= 0);
		assert_int_equal(fault.item, refused[i].item < 0 ? 0 : refused[i].item);
		assert_int_equal(line.count, 77);
		arena_free(arena);
	}
}

static void assert_refused(struct arena *arena, const struct line_entry *entry, const char *key,
                           const char *words)
{
	struct line line;
	struct line_fault fault;

	assert_int_equal(line_make(arena, entry, &line, &fault), ST_INVALID);
	assert_string_equal(fault.key, key);
	assert_non_null(strstr(fault.words, words));
}

/* What no text of build_line.h can say. */
static void empty_names_and_titles_are_refused(void **state)
{
	struct arena *arena = arena_new();
	struct line_entry *entry = make_line_entry(arena, "A 1");
	struct section_entry section = entry->sections[0];
	struct step_entry step = section.steps[0];
	const struct line_entry bad = {entry->model, &section, 1};

	(void)state;
	section.steps = &step;
	assert_refused(arena, &(struct line_entry){make_name(arena, " "), &section, 1}, "model",
	               "needed");
	section.code = make_name(arena, "");
	assert_refused(arena, &bad, "code", "needed");
	section.code = make_name(arena, "W");
	step.title = "";
	assert_refused(arena, &bad, "title", "needed");
	step.title = "x";
	step.hours = -1;
	assert_refused(arena, &bad, "hours", "0 to 9999");
	step.hours = 1;
	step.code = make_name(arena, "");
	assert_refused(arena, &bad, "code", "needed");
	arena_free(arena);
}

static void limits_are_told(void **state)
{
	struct arena *arena = arena_new();
	struct line_entry *entry = make_line_entry(arena, "A 1");
	struct step_entry *steps = ARENA_ARRAY(arena, struct step_entry, LINE_STEPS_MOST + 1);
	struct section_entry *sections =
	        ARENA_ARRAY(arena, struct section_entry, LINE_SECTIONS_MOST + 1);
	struct name *names = ARENA_ARRAY(arena, struct name, LINE_ZONES_MOST + 1);
	struct line_entry large = {entry->model, sections, 1};
	struct line line;
	struct line_fault fault;

	(void)state;
	for (size_t i = 0; i <= LINE_STEPS_MOST; i++) {
		steps[i] = entry->sections[0].steps[0];
		steps[i].code = make_name(arena, arena_printf(arena, "S%zu", i));
		names[i] = make_name(arena, arena_printf(arena, "Z%zu", i));
	}
	for (size_t i = 0; i <= LINE_SECTIONS_MOST; i++)
		sections[i] = (struct section_entry){names[i], "t", steps, 1};
	large.n_sections = LINE_SECTIONS_MOST + 1;
	assert_refused(arena, &large, "sections", "at most 100 sections");
	large.n_sections = 1;
	sections[0].n_steps = LINE_STEPS_MOST + 1;
	assert_refused(arena, &large, "sections", "at most 1000 steps");
	sections[0].n_steps = LINE_STEPS_MOST;
	steps[0].works_in = names;
	steps[0].n_works_in = LINE_LIST_MOST + 1;
	assert_refused(arena, &large, "works_in", "at most 100 entries");
	for (size_t i = 0; i < 11; i++) {
		steps[i].works_in = names + i * LINE_LIST_MOST;
		steps[i].n_works_in = i < 10 ? LINE_LIST_MOST : 1;
	}
	assert_refused(arena, &large, "works_in", "at most 1000 zones");
	steps[10].n_works_in = 0;
	assert_int_equal(line_make(arena, &large, &line, &fault), ST_OK);
	assert_int_equal(line.n_zones, LINE_ZONES_MOST);
	arena_free(arena);
}

/* A circle so long that its words are cut. */
static void a_long_circle_is_cut(void **state)
{
	struct arena *arena = arena_new();
	struct line_fault fault;
	struct line line;
	const char *text = "STEP-000 1 needs STEP-040";

	(void)state;
	for (int i = 1; i <= 40; i++)
		text = arena_printf(arena, "%s; STEP-%03d 1 needs STEP-%03d", text, i, i - 1);
	assert_int_equal(line_make(arena, make_line_entry(arena, text), &line, &fault), ST_INVALID);
	assert_non_null(strstr(fault.words, "STEP-000 is needed by STEP-001"));
	assert_non_null(strstr(fault.words, "..."));
	arena_free(arena);
}

/* ---- what it holds ---- */

#define WING                                                                                       \
	"# W Wing; RIBS 10 in box; SKIN 20/50 needs RIBS in outside closes box;"                   \
	"# P Paint; TIP 2 in outside; PAINT 30 needs SKIN closes outside; LAMP 1 in outside"

static const char *row_text(struct arena *arena, const struct line *line, const uint64_t *rows,
                            const char *code)
{
	struct name name = make_name(arena, code);

	return step_set_text(arena, line, line_row(line, rows, line_find(line, &name)));
}

static void needs_and_covers_are_sets(void **state)
{
	struct arena *arena = arena_new();
	const struct line *line = make_line(arena, WING);
	struct name name = make_name(arena, "nothing");

	(void)state;
	assert_int_equal(line->count, 5);
	assert_int_equal(line->n_zones, 2);
	assert_int_equal(line->section_from[1], 2);
	assert_int_equal(line->section_from[2], 5);
	assert_string_equal(row_text(arena, line, line->needs_all, "paint"), "RIBS SKIN");
	assert_string_equal(row_text(arena, line, line->needs_all, "TIP"), "");
	assert_string_equal(row_text(arena, line, line->covered_by, "RIBS"), "SKIN");
	assert_string_equal(row_text(arena, line, line->covered_by, "TIP"), "PAINT");
	assert_string_equal(row_text(arena, line, line->covered_by, "LAMP"), ""); /* stands later */
	assert_int_equal(line_find(line, &name), LINE_NO_STEP);
	assert_int_equal(line_hours_to_open(line, 0), 2000); /* twice 10 hours */
	assert_int_equal(line_hours_to_open(line, 1), 5000);
	arena_free(arena);
}

static void another_order_changes_what_covers(void **state)
{
	struct arena *arena = arena_new();
	const struct line *line = make_line(arena, WING);
	struct line moved, back;

	(void)state;
	assert_int_equal(line_reorder(arena, line, 4, 1, &moved), ST_OK); /* LAMP early */
	assert_int_equal(moved.place[4], 1);
	assert_int_equal(moved.order[4], 3);
	assert_string_equal(row_text(arena, &moved, moved.covered_by, "LAMP"), "PAINT");
	assert_int_equal(line_needs_later(&moved, 3), LINE_NO_STEP);
	assert_int_equal(line_reorder(arena, &moved, 4, 4, &back), ST_OK);
	assert_memory_equal(back.order, line->order, 5 * sizeof *line->order);
	assert_memory_equal(back.covered_by, line->covered_by, 5 * sizeof *line->covered_by);
	assert_int_equal(line_reorder(arena, line, 3, 0, &moved), ST_OK); /* paint first */
	assert_int_equal(line_needs_later(&moved, 3), 1);
	assert_string_equal(row_text(arena, &moved, moved.covered_by, "TIP"), "");
	arena_free(arena);
}

static void sets_are_walked_over_words(void **state)
{
	struct arena *arena = arena_new();
	uint64_t seed = 5;
	struct line line;
	struct line_fault fault;
	uint64_t *set;

	(void)state;
	assert_int_equal(line_make(arena, random_line_entry(arena, &seed, 200, 9), &line, &fault),
	                 ST_OK);
	set = step_set_new(arena, &line);
	assert_int_equal(step_set_next(&line, set, 0), LINE_NO_STEP);
	step_set_add(set, 63);
	step_set_add(set, 199);
	assert_int_equal(step_set_next(&line, set, 0), 63);
	assert_int_equal(step_set_next(&line, set, 64), 199);
	assert_int_equal(step_set_next(&line, set, 200), LINE_NO_STEP);
	arena_free(arena);
}

/* A set has room for every step, also where a word of 64 is just full or begun. */
static void a_set_has_room_for_every_step(void **state)
{
	static const uint32_t counts[] = {1, 63, 64, 65, 127, 128, 129, 193, 961};
	uint64_t seed = 3;

	(void)state;
	for (size_t i = 0; i < ROWS(counts); i++) {
		struct arena *arena = arena_new();
		uint32_t last = counts[i] - 1;
		struct line_fault fault;
		struct line line;
		uint64_t *set;

		assert_int_equal(line_make(arena, random_line_entry(arena, &seed, counts[i], 3),
		                           &line, &fault),
		                 ST_OK);
		assert_int_equal(line.words, last / 64 + 1);
		set = step_set_new(arena, &line);
		step_set_add(set, last);
		assert_int_equal(step_set_next(&line, set, 0), last);
		assert_int_equal(step_set_next(&line, set, last), last);
		assert_int_equal(step_set_next(&line, set, last + 1), LINE_NO_STEP);
		arena_free(arena);
	}
}

/* ---- memory ---- */

static const struct line_entry *kept_entry;

static bool make_kept(struct arena *arena)
{
	struct line_fault fault;
	struct line line, moved;
	enum status status = line_make(arena, kept_entry, &line, &fault);

	if (status == ST_OK)
		status = line_reorder(arena, &line, 1, 0, &moved);
	return status != ST_NOMEM;
}

static void each_call_for_memory_may_fail(void **state)
{
	struct arena *arena = arena_new();

	(void)state;
	kept_entry = make_line_entry(arena, WING);
	try_each_place(make_kept);
	kept_entry = make_line_entry(arena, "A 1 needs B; B 1 needs A");
	try_each_place(make_kept);
	arena_free(arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(a_faulty_line_is_refused_with_its_place),
	        cmocka_unit_test(empty_names_and_titles_are_refused),
	        cmocka_unit_test(limits_are_told),
	        cmocka_unit_test(a_long_circle_is_cut),
	        cmocka_unit_test(needs_and_covers_are_sets),
	        cmocka_unit_test(another_order_changes_what_covers),
	        cmocka_unit_test(sets_are_walked_over_words),
	        cmocka_unit_test(a_set_has_room_for_every_step),
	        cmocka_unit_test(each_call_for_memory_may_fail),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
