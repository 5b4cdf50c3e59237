/* Facts in one block: what comes out says the same as what went in, points into
 * the block alone, and the size asked for is the size that is used. */
#include "build.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "core/pack.h"

static const char *const kits[] = {
        "",
        "model Whimbrel",
        "model WHIMBREL; serial WH-0101",
        "model Whimbrel T; serial S/N (WH-1,120); purchased 2017-04; plans 2016; first-flight "
        "never; "
        "hours 120.5; landings 30; option tailwheel = yes; option Parachute = no; subkit E = no; "
        "subkit W = 2017-04; part WH-2207-1 | at left | lot 3 | serial 17; part ? | serial 17; "
        "part WH-8101; notice HB-2017-01; step W-3; step W-4; plans of W-3 = 2015; "
        "date of W-3 = 2016-02-03; parts known; notices known; steps known",
};

static const char *const statements[] = {
        "model Whimbrel",
        "model Whimbrel series\nserial WH-0100 thru WH-2000",
        "purchased after 2017-03\nplans before 2017",
        "option tailwheel\nnot option parachute",
        "subkit W\nshipped W 2017",
        "part WH-2207-1 lot 1 thru 9\nor\npart WH-2207-1 serial 17",
        "notice HB-2017-01\nstep W-4",
        "hours before 200\nlandings 30",
};

static void check_inside(const void *at, const char *block, size_t size)
{
	if (at)
		assert_true((const char *)at >= block && (const char *)at < block + size);
}

static void check_name(const struct name *name, const char *block, size_t size)
{
	check_inside(name->text, block, size);
	check_inside(name->key, block, size);
}

static void check_facts(const struct facts *facts, const char *block, size_t size)
{
	check_name(&facts->model, block, size);
	check_inside(facts->serial.text, block, size);
	check_inside(facts->serial.bare, block, size);
	for (size_t i = 0; i < facts->n_options; i++)
		check_name(&facts->options[i].name, block, size);
	for (size_t i = 0; i < facts->n_subkits; i++)
		check_name(&facts->subkits[i].code, block, size);
	for (size_t i = 0; i < facts->n_parts; i++) {
		check_name(&facts->parts[i].number, block, size);
		check_name(&facts->parts[i].position, block, size);
		check_inside(facts->parts[i].serial.text, block, size);
		check_inside(facts->parts[i].lot.bare, block, size);
	}
	for (size_t i = 0; i < facts->n_notices_done; i++)
		check_name(&facts->notices_done[i], block, size);
	for (size_t i = 0; i < facts->n_steps_done; i++)
		check_name(&facts->steps_done[i], block, size);
	for (size_t i = 0; i < facts->n_step_plans; i++)
		check_name(&facts->step_plans[i].step, block, size);
	for (size_t i = 0; i < facts->n_step_dates; i++)
		check_name(&facts->step_dates[i].step, block, size);
}

static void reasons(const struct facts *facts, struct text *out)
{
	struct arena *arena = arena_new();

	for (size_t i = 0; i < ROWS(statements); i++) {
		effectivity_reason(make_statement(arena, statements[i]), facts, out);
		text_add_char(out, '\n');
	}
	arena_free(arena);
}

static void a_packed_kit_says_the_same(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(kits); i++) {
		struct arena *arena = arena_new();
		struct facts *facts = make_facts(arena, kits[i]);
		struct record record = {.notice = make_name(arena, "HB-2017-02"),
		                        .revision = make_name(arena, "A"),
		                        .part = make_name(arena, "WH-2207-1"),
		                        .position = make_name(arena, "left")};
		struct text before = TEXT_EMPTY, after = TEXT_EMPTY;
		const struct record *records = NULL;
		struct facts packed;
		size_t size = pack_kit(NULL, facts, &record, i > 0, NULL, NULL);
		char *block = malloc(size + 1);

		assert_non_null(block);
		assert_int_equal(pack_kit(block, facts, &record, i > 0, &packed, &records), size);
		reasons(facts, &before);
		check_facts(&packed, block, size);
		if (i > 0) {
			check_inside(records, block, size);
			check_name(&records->notice, block, size);
			assert_string_equal(records->position.text, "left");
		}
		arena_free(arena); /* and with it all that was copied from */
		reasons(&packed, &after);
		assert_string_equal(text_string(&after), text_string(&before));
		text_free(&before);
		text_free(&after);
		free(block);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {cmocka_unit_test(a_packed_kit_says_the_same)};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
