/* fuzz_due.c - compliance times.
 *
 * Any text parses or is refused with a place and what was expected. What was
 * parsed prints in a form that parses to the same form, and can be computed
 * and said of a kit of which nothing is known.
 */
#include "core/due.h"
#include "fuzz.h"

static void check_time(const struct due_statement *due)
{
	struct facts facts = {.model = {0}};
	struct kit_use use = {.n_log = 0};
	struct due_kit kit = {
	        .facts = &facts, .use = &use, .issued = date_of_day(15000), .today = 16000};
	struct use_moment done = {.has_day = true, .day = 15500};
	struct due_time first = due_first(due, &kit);
	struct due_time again = due_again(due, &kit, &done, &first);
	struct text out = TEXT_EMPTY;

	must(first.n_lacks <= DUE_LACKS_MOST, "lacks fit");
	due_merge(&first, &again);
	due_words(&first, &out);
	must(out.len > 0, "a time can be said");
	text_clear(&out);
	due_sentence(due, &out);
	must((out.len > 0) == (due->count > 0), "limits can be said");
	text_free(&out);
}

static void check_print(struct arena *arena, const struct due_statement *due)
{
	const struct due_statement *again = NULL;
	struct statement_fault fault;
	struct text first = TEXT_EMPTY;
	struct text second = TEXT_EMPTY;

	due_print(due, &first);
	/* The printed form may be longer than what may be typed. */
	if (first.len <= DUE_LONGEST) {
		must(due_parse(arena, text_string(&first), first.len, &again, &fault) == ST_OK,
		     "what is printed can be parsed");
		due_print(again, &second);
		must(strcmp(text_string(&first), text_string(&second)) == 0,
		     "the printed form is the one normal form");
	}
	text_free(&first);
	text_free(&second);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
	struct arena *arena = arena_new();
	const struct due_statement *due = NULL;
	struct statement_fault fault = {.line = 0};
	char *text = malloc(len ? len : 1);

	must(arena && text, "there is memory");
	if (len)
		memcpy(text, bytes, len);
	if (due_parse(arena, text, len, &due, &fault) == ST_OK) {
		check_time(due);
		check_print(arena, due);
	} else {
		must(fault.line > 0 && fault.column > 0 && fault.expected[0],
		     "a fault has a place and what was expected");
	}
	free(text);
	arena_free(arena);
	return 0;
}
