/* test_diff.c - differences against worked cases, an oracle, and their law:
 * what is kept and taken out is the old text, what is kept and put in the new.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support.h"

#include "base/text.h"
#include "core/diff.h"

static void print_parts(const struct diff_part *parts, size_t count, struct text *out)
{
	static const char *const marks[] = {"", "[-", "[+"};

	for (size_t i = 0; i < count; i++) {
		text_add(out, marks[parts[i].kind]);
		text_add_bytes(out, parts[i].at, parts[i].len);
		text_add(out, parts[i].kind == DIFF_SAME ? "" : "]");
	}
}

static void test_cases(void **state)
{
	static const struct {
		const char *before, *after, *wanted;
	} rows[] = {
	        {"", "", ""},
	        {"a", "", "[-a]"},
	        {"", "a b", "[+a b]"},
	        {"same words", "same words", "same words"},
	        {"the left bolt", "the right bolt", "the [-left][+right] bolt"},
	        {"drill #40", "drill #30", "drill [-#40][+#30]"},
	        {"a b c", "a c", "a [-b ]c"},
	        {"a c", "a b c", "a [+b ]c"},
	        {"a", "a b", "a[+ b]"},
	        {"a  b", "a b", "a[-  ][+ ]b"},
	        {"1. x\n2. y", "1. x\n2. z\n3. y", "1. x\n2. [+z\n3. ]y"},
	        {"a\n\nb", "a\nb", "a\n[-\n]b"},
	        {"x x x", "x x", "x x[- x]"},
	        {"caf\xC3\xA9 now", "caf\xC3\xA8 now", "[-caf\xC3\xA9][+caf\xC3\xA8] now"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct arena *arena = arena_new();
		struct text told = TEXT_EMPTY;
		const struct diff_part *parts = NULL;
		size_t count = 0;

		assert_int_equal(diff_words(arena, rows[i].before, rows[i].after, &parts, &count),
		                 ST_OK);
		print_parts(parts, count, &told);
		assert_string_equal(text_string(&told), rows[i].wanted);
		text_free(&told);
		arena_free(arena);
	}
}

/* Puts one of the two texts together again. */
static void rebuild(const struct diff_part *parts, size_t count, enum diff_kind without,
                    struct text *out)
{
	for (size_t i = 0; i < count; i++)
		if (parts[i].kind != without)
			text_add_bytes(out, parts[i].at, parts[i].len);
}

static void assert_law(const char *before, const char *after, const struct diff_part *parts,
                       size_t count)
{
	struct text old = TEXT_EMPTY, new = TEXT_EMPTY;

	rebuild(parts, count, DIFF_IN, &old);
	rebuild(parts, count, DIFF_OUT, &new);
	assert_string_equal(text_string(&old), before);
	assert_string_equal(text_string(&new), after);
	for (size_t i = 0; i < count; i++)
		assert_true(parts[i].len > 0);
	for (size_t i = 1; i < count; i++) {
		assert_int_not_equal(parts[i].kind, parts[i - 1].kind);
		assert_false(parts[i].kind == DIFF_OUT && parts[i - 1].kind == DIFF_IN);
	}
	text_free(&old);
	text_free(&new);
}

/* The longest common subsequence of two texts of one-letter words, by trying
 * both ways at each step: slow and plainly right. */
static size_t longest(const char *a, const char *b)
{
	size_t x, y;

	if (!*a || !*b)
		return 0;
	if (*a == *b)
		return 1 + longest(a + 1, b + 1);
	x = longest(a + 1, b);
	y = longest(a, b + 1);
	return x > y ? x : y;
}

static void random_letters(uint64_t *seed, char *out)
{
	size_t len = next_random(seed) % 8;

	for (size_t i = 0; i < len; i++)
		out[i] = (char)('a' + next_random(seed) % 3);
	out[len] = '\0';
}

/* Each letter a line, so that words and their ends are the tokens. */
static void as_lines(const char *letters, char *out)
{
	for (; *letters; letters++) {
		*out++ = *letters;
		*out++ = '\n';
	}
	*out = '\0';
}

static size_t letters_kept(const struct diff_part *parts, size_t count)
{
	size_t kept = 0;

	for (size_t i = 0; i < count; i++)
		for (size_t k = 0; parts[i].kind == DIFF_SAME && k < parts[i].len; k++)
			kept++;
	return kept;
}

static void test_law_and_length_on_random_texts(void **state)
{
	uint64_t seed = 20170924;

	(void)state;
	for (int n = 0; n < 3000; n++) {
		struct arena *arena = arena_new();
		char a[16], b[16], before[32], after[32];
		const struct diff_part *parts = NULL;
		size_t count = 0;

		random_letters(&seed, a);
		random_letters(&seed, b);
		as_lines(a, before);
		as_lines(b, after);
		assert_int_equal(diff_words(arena, before, after, &parts, &count), ST_OK);
		assert_law(before, after, parts, count);
		/* At least the letters in common with their line ends are kept. */
		assert_true(letters_kept(parts, count) >= 2 * longest(a, b));
		arena_free(arena);
	}
}

/* Words enough to outgrow the table: by lines, then as a whole. */
static void long_text(struct text *out, unsigned words, const char *end, unsigned salt)
{
	for (unsigned i = 0; i < words; i++)
		text_printf(out, "w%u%s", i * salt, i % 10 == 9 ? end : " ");
}

static void test_long_texts_stay_lawful(void **state)
{
	static const char *const ends[] = {"\n", " "};

	(void)state;
	for (size_t i = 0; i < 2; i++) {
		struct arena *arena = arena_new();
		struct text before = TEXT_EMPTY, after = TEXT_EMPTY;
		const struct diff_part *parts = NULL;
		size_t count = 0;

		long_text(&before, 3000, ends[i], 1);
		long_text(&after, 3000, ends[i], 2);
		assert_int_equal(diff_words(arena, text_string(&before), text_string(&after),
		                            &parts, &count),
		                 ST_OK);
		assert_law(text_string(&before), text_string(&after), parts, count);
		assert_true(arena_used(arena) < 8000000);
		text_free(&before);
		text_free(&after);
		arena_free(arena);
	}
}

static bool try_diff(void *context)
{
	struct arena *arena = arena_new();
	const struct diff_part *parts = NULL;
	size_t count = 0;
	bool done = arena && diff_words(arena, "a b c", context, &parts, &count) == ST_OK;

	arena_free(arena);
	return done;
}

static void test_memory_runs_out(void **state)
{
	char after[] = "a x c";

	(void)state;
	try_each_allocation(try_diff, after, false);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(test_cases),
	        cmocka_unit_test(test_law_and_length_on_random_texts),
	        cmocka_unit_test(test_long_texts_stay_lawful),
	        cmocka_unit_test(test_memory_runs_out),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
