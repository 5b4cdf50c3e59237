/* Published airworthiness directives, decided for kits at their edges. Sources
 * stand beside each in directives.h. */
#include "build.h"

#include <string.h>

#include "base/text.h"
#include "directives.h"

static const char *words(enum truth truth)
{
	return truth == TRUTH_TRUE ? "applies" : truth ? "cannot tell" : "does not apply";
}

static void every_probe_gets_the_answer_of_the_directive(void **state)
{
	struct arena *arena = arena_new();
	size_t probes = 0;

	(void)state;
	for (size_t i = 0; i < ROWS(directives); i++) {
		const struct directive *d = &directives[i];
		const struct effectivity *statement = make_statement(arena, d->statement);

		for (const struct probe *p = d->probes; p->facts; p++, probes++) {
			const struct facts *facts = make_facts(arena, p->facts);
			const char *answer = words(effectivity_decide(statement, facts));

			if (strcmp(answer, p->answer) != 0)
				fail_msg("%s\n%s\n%s, not %s: %s", d->source, p->facts, answer,
				         p->answer, p->why);
		}
	}
	assert_int_equal(probes, DIRECTIVES_PROBES);
	arena_free(arena);
}

static void every_statement_is_in_its_normal_form(void **state)
{
	struct arena *arena = arena_new();

	(void)state;
	for (size_t i = 0; i < ROWS(directives); i++) {
		struct text out = TEXT_EMPTY;

		effectivity_print(make_statement(arena, directives[i].statement), &out);
		assert_string_equal(text_string(&out), directives[i].statement);
		text_free(&out);
	}
	arena_free(arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(every_probe_gets_the_answer_of_the_directive),
	        cmocka_unit_test(every_statement_is_in_its_normal_form),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
