/* fuzz_statement.c - effectivity statements.
 *
 * Any text parses or is refused with a place inside it and what was expected.
 * What was parsed prints in a form that parses to the same form, and can be
 * said, decided and explained of a kit of which nothing is known.
 */
#include "core/effectivity.h"
#include "fuzz.h"

static void check_words(const struct effectivity *statement)
{
	struct facts facts = {.model = {0}};
	struct text out = TEXT_EMPTY;
	enum truth truth = effectivity_decide(statement, &facts);

	must(truth == TRUTH_FALSE || truth == TRUTH_UNKNOWN || truth == TRUTH_TRUE,
	     "truth has three values");
	effectivity_sentence(statement, &out);
	must(out.len > 0, "a statement can be said");
	text_clear(&out);
	effectivity_reason(statement, &facts, &out);
	must(out.len > 0, "an answer has a reason");
	text_free(&out);
}

/* Printing once and printing what that parses to are the same. */
static void check_print(struct arena *arena, const struct effectivity *statement)
{
	const struct effectivity *again = NULL;
	struct statement_fault fault;
	struct text first = TEXT_EMPTY;
	struct text second = TEXT_EMPTY;

	effectivity_print(statement, &first);
	/* The printed form may be longer than what may be typed. */
	if (first.len <= EFFECTIVITY_LONGEST) {
		must(effectivity_parse(arena, first.at, first.len, &again, &fault) == ST_OK,
		     "what is printed can be parsed");
		effectivity_print(again, &second);
		must(strcmp(text_string(&first), text_string(&second)) == 0,
		     "the printed form is the one normal form");
	}
	text_free(&first);
	text_free(&second);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
	struct arena *arena = arena_new();
	const struct effectivity *statement = NULL;
	struct statement_fault fault = {.line = 0};
	char *text = malloc(len ? len : 1);

	must(arena && text, "there is memory");
	if (len)
		memcpy(text, bytes, len);
	if (effectivity_parse(arena, text, len, &statement, &fault) == ST_OK) {
		check_words(statement);
		check_print(arena, statement);
	} else {
		must(fault.line > 0 && fault.column > 0 && fault.expected[0],
		     "a fault has a place and what was expected");
	}
	free(text);
	arena_free(arena);
	return 0;
}
