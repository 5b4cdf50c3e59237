/* Decisions held against SQLite, and what is asked held against what matters.
 *
 * Strong Kleene logic (S. C. Kleene, Introduction to Metamathematics, 1952,
 * section 64) is the logic of SQL's NULL (ISO/IEC 9075-2; from memory). Each
 * single condition becomes a column with 1, 0 or NULL by the oracle of
 * random.h; SQLite joins the columns with AND, OR and NOT.
 */
#include "random.h"

#include <sqlite3.h>
#include <string.h>

#include "base/text.h"

#define KITS 600
#define STATEMENTS 2600
#define KITS_FOR_EACH 50

static struct {
	struct arena *arena;
	struct plain_kit plain[KITS];
	const struct facts *facts[KITS];
	sqlite3 *db;
} world;

static int set_up(void **state)
{
	uint64_t seed = 9075;

	(void)state;
	world.arena = arena_new();
	for (int i = 0; i < KITS; i++) {
		world.plain[i] = plain_random_kit(&seed);
		world.facts[i] =
		        make_facts(world.arena, plain_facts_text(world.arena, &world.plain[i]));
	}
	return sqlite3_open(":memory:", &world.db);
}

static int tear_down(void **state)
{
	(void)state;
	arena_free(world.arena);
	return sqlite3_close(world.db);
}

/* The statement as an SQL expression over numbered columns. */
static sqlite3_stmt *prepare(const struct plain_statement *s)
{
	struct text sql = TEXT_EMPTY;
	sqlite3_stmt *query = NULL;
	int column = 1;

	text_add(&sql, "SELECT ");
	for (int g = 0; g < s->n_groups; g++) {
		text_add(&sql, g ? " OR (" : "(");
		for (int i = 0; i < s->n_conditions[g]; i++) {
			const struct plain_condition *c = &s->conditions[g][i];

			text_printf(&sql, "%s%s(", i ? " AND " : "", c->negated ? "NOT " : "");
			for (int k = 0; k < plain_columns(c); k++)
				text_printf(&sql, "%s?%d", k ? " OR " : "", column++);
			text_add(&sql, ")");
		}
		text_add(&sql, ")");
	}
	assert_int_equal(sqlite3_prepare_v2(world.db, text_string(&sql), -1, &query, NULL),
	                 SQLITE_OK);
	text_free(&sql);
	return query;
}

static void bind_truth(sqlite3_stmt *query, int column, enum truth truth)
{
	if (truth == TRUTH_UNKNOWN)
		sqlite3_bind_null(query, column);
	else
		sqlite3_bind_int(query, column, truth == TRUTH_TRUE);
}

static enum truth ask_sqlite(sqlite3_stmt *query, const struct plain_statement *s,
                             const struct plain_kit *kit)
{
	enum truth truth;
	int column = 1;

	for (int g = 0; g < s->n_groups; g++)
		for (int i = 0; i < s->n_conditions[g]; i++)
			for (int k = 0; k < plain_columns(&s->conditions[g][i]); k++)
				bind_truth(query, column++,
				           plain_truth(&s->conditions[g][i], k, kit));
	assert_int_equal(sqlite3_step(query), SQLITE_ROW);
	truth = sqlite3_column_type(query, 0) == SQLITE_NULL
	                ? TRUTH_UNKNOWN
	                : truth_of(sqlite3_column_int(query, 0));
	sqlite3_reset(query);
	return truth;
}

static void decisions_agree_with_sqlite(void **state)
{
	struct arena *arena = arena_new();
	uint64_t seed = 1952;
	unsigned seen[3] = {0};

	(void)state;
	for (int i = 0; i < STATEMENTS; i++) {
		struct plain_statement plain = plain_random_statement(&seed);
		const char *text = plain_statement_text(arena, &plain);
		const struct effectivity *statement = make_statement(arena, text);
		sqlite3_stmt *query = prepare(&plain);

		for (int k = 0; k < KITS_FOR_EACH; k++) {
			size_t kit = next_random(&seed) % KITS;
			enum truth truth = effectivity_decide(statement, world.facts[kit]);

			seen[truth]++;
			if (truth != ask_sqlite(query, &plain, &world.plain[kit]))
				fail_msg("decided %d:\n%s\nfor %s", truth, text,
				         plain_facts_text(arena, &world.plain[kit]));
		}
		sqlite3_finalize(query);
		arena_reset(arena);
	}
	print_message("%u false, %u unknown, %u true\n", seen[0], seen[1], seen[2]);
	assert_true(seen[0] + seen[1] + seen[2] >= 100000);
	assert_true(seen[0] > 20000 && seen[1] > 20000 && seen[2] > 5000);
	arena_free(arena);
}

/* ---- needs ---- */

struct need_set {
	char facts[100][60];
	size_t count;
};

static void take_need(void *context, const struct fact *fact)
{
	struct need_set *set = context;
	struct text text = TEXT_EMPTY;

	fact_print(fact, &text);
	assert_true(set->count < ROWS(set->facts) && text.len < sizeof set->facts[0]);
	strcpy(set->facts[set->count++], text_string(&text));
	text_free(&text);
}

static bool is_needed(const void *context, const char *fact)
{
	const struct need_set *set = context;

	for (size_t i = 0; i < set->count; i++)
		if (strcmp(set->facts[i], fact) == 0)
			return true;
	return false;
}

static bool keep_nothing(const void *context, const char *fact)
{
	(void)context;
	(void)fact;
	return false;
}

static void check_needs(struct arena *arena, const char *text, const struct effectivity *statement,
                        size_t kit, uint64_t *seed)
{
	struct need_set needs = {.count = 0};
	enum truth truth = effectivity_decide(statement, world.facts[kit]);

	effectivity_needs(statement, world.facts[kit], take_need, &needs);
	assert_int_equal(needs.count > 0, truth == TRUTH_UNKNOWN);
	for (int k = 0; k < 4; k++) {
		struct plain_kit other = world.plain[kit];
		const char *facts;

		plain_complete(&other, seed, is_needed, &needs);
		facts = plain_facts_text(arena, &other);
		if (effectivity_decide(statement, make_facts(arena, facts)) != truth)
			fail_msg("a fact that was not asked for changed the answer:\n%s\nfrom "
			         "%s\nto "
			         "%s",
			         text, plain_facts_text(arena, &world.plain[kit]), facts);
	}
}

static void what_is_not_needed_changes_nothing(void **state)
{
	struct arena *arena = arena_new();
	uint64_t seed = 42;

	(void)state;
	for (int i = 0; i < 1500; i++) {
		struct plain_statement plain = plain_random_statement(&seed);
		const char *text = plain_statement_text(arena, &plain);
		const struct effectivity *statement = make_statement(arena, text);

		for (int k = 0; k < 3; k++)
			check_needs(arena, text, statement, next_random(&seed) % KITS, &seed);
		arena_reset(arena);
	}
	arena_free(arena);
}

static void a_kit_known_in_full_is_always_decided(void **state)
{
	struct arena *arena = arena_new();
	uint64_t seed = 64;

	(void)state;
	for (int i = 0; i < 3000; i++) {
		struct plain_statement plain = plain_random_statement(&seed);
		struct plain_kit kit = plain_random_kit(&seed);
		const struct effectivity *statement =
		        make_statement(arena, plain_statement_text(arena, &plain));

		plain_complete(&kit, &seed, keep_nothing, NULL);
		assert_int_not_equal(
		        effectivity_decide(statement,
		                           make_facts(arena, plain_facts_text(arena, &kit))),
		        TRUTH_UNKNOWN);
		arena_reset(arena);
	}
	arena_free(arena);
}

/* ---- printing ---- */

/* Letter case of keywords, blanks, empty lines: none of it means anything. */
static const char *untidy(struct arena *arena, const char *text, uint64_t *seed)
{
	struct text out = TEXT_EMPTY;
	const char *copy;
	bool first_word = true;

	for (; *text; text++) {
		if (*text == '\n' || *text == ' ')
			for (uint64_t n = next_random(seed) % 3; n; n--)
				text_add(&out, n % 2 ? " " : "\t");
		if (*text == '\n')
			text_add(&out, next_random(seed) % 4 ? "\r\n" : "\n\n \n");
		else if (first_word && *text >= 'a' && next_random(seed) % 2)
			text_add_char(&out, (char)(*text - 'a' + 'A'));
		else
			text_add_char(&out, *text);
		first_word = *text == '\n' || (first_word && *text != ' ');
	}
	copy = arena_string(arena, text_string(&out));
	text_free(&out);
	return copy;
}

static void assert_prints(struct arena *arena, const char *typed, const char *normal)
{
	struct text out = TEXT_EMPTY;

	effectivity_print(make_statement(arena, typed), &out);
	assert_string_equal(text_string(&out), normal);
	text_free(&out);
}

static void statements_print_as_they_were_written(void **state)
{
	struct arena *arena = arena_new();
	uint64_t seed = 17;

	(void)state;
	for (int i = 0; i < 5000; i++) {
		struct plain_statement plain = plain_random_statement(&seed);
		const char *text = plain_statement_text(arena, &plain);

		assert_prints(arena, text, text);
		assert_prints(arena, untidy(arena, text, &seed), text);
		arena_reset(arena);
	}
	arena_free(arena);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(decisions_agree_with_sqlite),
	        cmocka_unit_test(what_is_not_needed_changes_nothing),
	        cmocka_unit_test(a_kit_known_in_full_is_always_decided),
	        cmocka_unit_test(statements_print_as_they_were_written),
	};
	return cmocka_run_group_tests(tests, set_up, tear_down);
}
