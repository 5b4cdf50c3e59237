/* Decisions a second on one core: compiled statements against the same rules
 * as SQL in SQLite, one prepared statement a rule, facts bound as parameters
 * and NULL for unknown. Prints both rates of each of several rounds.
 *
 * With a file name it writes rules, facts and answers as JSON, for the
 * comparison in decide.mjs, and prints its own rates alone; all facts are
 * known then.
 *
 * All must give the same answers, else the bench ends with a failure.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <jansson.h>
#include <sqlite3.h>

#include "core/effectivity.h"
#include "support.h"

#define RULES 10000
#define KITS 50
#define MODELS 6
#define OPTIONS 5
#define ROUNDS 7

/* One rule in the three notations. */
struct rule {
	struct text statement;
	struct text sql;
	json_t *logic;
};

/* Facts of a kit as the SQL sees them; -1 is unknown. */
struct kit {
	int model;
	int serial;
	int bought_first, bought_last;
	int plans_first, plans_last;
	int option[OPTIONS];
};

static uint64_t seed = 20261125;

static int pick(int count)
{
	return (int)(next_random(&seed) % (uint64_t)count);
}

/* Of this process: what else runs on the machine does not count. */
static double cpu_seconds(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

/* ---- conditions ---- */

static json_t *var(const char *name)
{
	return json_pack("{s:s}", "var", name);
}

static json_t *model_rule(struct rule *rule)
{
	int first = pick(MODELS), second = pick(MODELS);

	text_printf(&rule->statement, "model M%d, M%d\n", first, second);
	text_printf(&rule->sql, "(?1 IN (%d,%d))", first, second);
	return json_pack("{s:[o, [i, i]]}", "in", var("model"), first, second);
}

static json_t *serial_rule(struct rule *rule)
{
	json_t *any = json_array();
	int ranges = 1 + pick(3);

	text_add(&rule->statement, "serial ");
	text_add(&rule->sql, "(");
	for (int i = 0; i < ranges; i++) {
		int from = 100 + pick(300), to = from + pick(60);

		text_printf(&rule->statement, "%sWH-%04d thru WH-%04d", i ? ", " : "", from, to);
		text_printf(&rule->sql, "%s?2 BETWEEN %d AND %d", i ? " OR " : "", from, to);
		json_array_append_new(any,
		                      json_pack("{s:[i, o, i]}", "<=", from, var("serial"), to));
	}
	text_add_char(&rule->statement, '\n');
	text_add_char(&rule->sql, ')');
	return json_pack("{s:o}", "or", any);
}

/* "purchased after 2017-09", "plans up to 2015": parameters first, first + 1. */
static json_t *date_rule(struct rule *rule, const char *word, int parameter)
{
	int year = 2009 + pick(15), month = 1 + pick(12);
	day_number end = day_from_civil(year, month, month_length(year, month));
	bool after = pick(2);
	char first[32], last[32];

	snprintf(first, sizeof first, "%s_first", word);
	snprintf(last, sizeof last, "%s_last", word);
	text_printf(&rule->statement, "%s %s %04d-%02d\n", word, after ? "after" : "up to", year,
	            month);
	text_printf(&rule->sql,
	            after ? "(CASE WHEN ?%d > %d THEN 1 WHEN ?%d <= %d THEN 0 END)"
	                  : "(CASE WHEN ?%d > %d THEN 0 WHEN ?%d <= %d THEN 1 END)",
	            parameter, end, parameter + 1, end);
	return after ? json_pack("{s:[o, i]}", ">", var(first), end)
	             : json_pack("{s:[o, i]}", "<=", var(last), end);
}

static json_t *option_rule(struct rule *rule)
{
	int option = pick(OPTIONS);
	bool negated = pick(3) == 0;
	char name[16];

	snprintf(name, sizeof name, "option%d", option);
	text_printf(&rule->statement, "%soption option%d\n", negated ? "not " : "", option);
	text_printf(&rule->sql, "(%s?%d)", negated ? "NOT " : "", 7 + option);
	return json_pack("{s:[o, i]}", "==", var(name), negated ? 0 : 1);
}

static json_t *condition(struct rule *rule, int kind)
{
	switch (kind) {
	case 0:
		return model_rule(rule);
	case 1:
		return serial_rule(rule);
	case 2:
		return date_rule(rule, "purchased", 3);
	case 3:
		return date_rule(rule, "plans", 5);
	default:
		return option_rule(rule);
	}
}

static struct rule make_rule(void)
{
	struct rule rule = {TEXT_EMPTY, TEXT_EMPTY, NULL};
	json_t *any = json_array();
	int groups = 1 + pick(2);

	text_add(&rule.sql, "SELECT ");
	for (int g = 0; g < groups; g++) {
		json_t *every = json_array();
		int lines = 1 + pick(3);

		text_add(&rule.statement, g ? "or\n" : "");
		text_add(&rule.sql, g ? " OR (" : "(");
		json_array_append_new(every, condition(&rule, 0));
		for (int l = 0; l < lines; l++) {
			text_add(&rule.sql, " AND ");
			json_array_append_new(every, condition(&rule, 1 + pick(4)));
		}
		text_add_char(&rule.sql, ')');
		json_array_append_new(any, json_pack("{s:o}", "and", every));
	}
	rule.logic = json_pack("{s:o}", "or", any);
	return rule;
}

/* ---- kits ---- */

static void pick_dates(bool known, int *first, int *last)
{
	int year = 2009 + pick(16), month = 1 + pick(12);
	bool whole_year = pick(5) == 0;

	*first = *last = -1;
	if (!known)
		return;
	*first = day_from_civil(year, whole_year ? 1 : month, 1);
	*last = day_from_civil(year, whole_year ? 12 : month,
	                       month_length(year, whole_year ? 12 : month));
}

static struct kit make_kit(bool all_known)
{
	struct kit kit;

	kit.model = all_known || pick(10) ? pick(MODELS) : -1;
	kit.serial = all_known || pick(6) ? 100 + pick(350) : -1;
	pick_dates(all_known || pick(4), &kit.bought_first, &kit.bought_last);
	pick_dates(all_known || pick(4), &kit.plans_first, &kit.plans_last);
	for (int i = 0; i < OPTIONS; i++)
		kit.option[i] = all_known || pick(3) ? pick(2) : -1;
	if (all_known) {
		kit.bought_first = kit.bought_last;
		kit.plans_first = kit.plans_last;
	}
	return kit;
}

static struct name make_name(struct arena *arena, const char *text)
{
	struct name name = {.len = 0};

	assert_int_equal(name_make(arena, text, strlen(text), &name), ST_OK);
	return name;
}

static struct date_fact date_of(int first, int last)
{
	struct date_fact fact = {first < 0 ? DATE_UNKNOWN : DATE_KNOWN, {first, last, DATE_DAY}};

	return fact;
}

static struct facts make_facts(struct arena *arena, const struct kit *kit)
{
	struct facts facts = {.has_serial = kit->serial >= 0};
	struct option_fact *options = ARENA_ARRAY(arena, struct option_fact, OPTIONS);
	char text[32];

	if (kit->model >= 0) {
		snprintf(text, sizeof text, "M%d", kit->model);
		facts.model = make_name(arena, text);
	}
	snprintf(text, sizeof text, "WH-%04d", kit->serial);
	if (facts.has_serial)
		assert_int_equal(serial_make(arena, text, strlen(text), &facts.serial), ST_OK);
	facts.purchased = date_of(kit->bought_first, kit->bought_last);
	facts.plans = date_of(kit->plans_first, kit->plans_last);
	for (int i = 0; i < OPTIONS; i++) {
		snprintf(text, sizeof text, "option%d", i);
		if (kit->option[i] >= 0)
			options[facts.n_options++] =
			        (struct option_fact){make_name(arena, text), kit->option[i]};
	}
	facts.options = options;
	return facts;
}

static json_t *kit_json(const struct kit *kit)
{
	json_t *object = json_pack("{s:i, s:i, s:i, s:i, s:i, s:i}", "model", kit->model, "serial",
	                           kit->serial, "purchased_first", kit->bought_first,
	                           "purchased_last", kit->bought_last, "plans_first",
	                           kit->plans_first, "plans_last", kit->plans_last);
	char name[16];

	for (int i = 0; i < OPTIONS; i++) {
		snprintf(name, sizeof name, "option%d", i);
		json_object_set_new(object, name, json_integer(kit->option[i]));
	}
	return object;
}

/* ---- measuring ---- */

static void bind_int(sqlite3_stmt *statement, int at, int value)
{
	if (value < 0)
		sqlite3_bind_null(statement, at);
	else
		sqlite3_bind_int(statement, at, value);
}

/* A parameter that the rule does not name is out of range, which is harmless. */
static void bind_kit(sqlite3_stmt *statement, const struct kit *kit)
{
	bind_int(statement, 1, kit->model);
	bind_int(statement, 2, kit->serial);
	bind_int(statement, 3, kit->bought_first);
	bind_int(statement, 4, kit->bought_last);
	bind_int(statement, 5, kit->plans_first);
	bind_int(statement, 6, kit->plans_last);
	for (int i = 0; i < OPTIONS; i++)
		bind_int(statement, 7 + i, kit->option[i]);
}

static enum truth step_truth(sqlite3_stmt *statement)
{
	enum truth truth = TRUTH_UNKNOWN;

	if (sqlite3_step(statement) == SQLITE_ROW &&
	    sqlite3_column_type(statement, 0) != SQLITE_NULL)
		truth = truth_of(sqlite3_column_int(statement, 0));
	sqlite3_reset(statement);
	return truth;
}

static double run_core(const struct effectivity **rules, const struct facts *facts,
                       unsigned char *answers)
{
	double start = cpu_seconds();

	for (int k = 0; k < KITS; k++)
		for (int r = 0; r < RULES; r++)
			answers[k * RULES + r] =
			        (unsigned char)effectivity_decide(rules[r], &facts[k]);
	return KITS * (double)RULES / (cpu_seconds() - start);
}

static double run_sqlite(sqlite3_stmt **rules, const struct kit *kits, unsigned char *answers)
{
	double start = cpu_seconds();

	for (int k = 0; k < KITS; k++)
		for (int r = 0; r < RULES; r++) {
			bind_kit(rules[r], &kits[k]);
			answers[k * RULES + r] = (unsigned char)step_truth(rules[r]);
		}
	return KITS * (double)RULES / (cpu_seconds() - start);
}

static void write_json(const char *path, const struct rule *rules, const struct kit *kits,
                       const unsigned char *answers)
{
	json_t *logic = json_array(), *facts = json_array(), *expected = json_array();
	json_t *file;

	for (int r = 0; r < RULES; r++)
		json_array_append(logic, rules[r].logic);
	for (int k = 0; k < KITS; k++)
		json_array_append_new(facts, kit_json(&kits[k]));
	for (int i = 0; i < KITS * RULES; i++)
		json_array_append_new(expected, json_integer(answers[i] == TRUTH_TRUE));
	file = json_pack("{s:o, s:o, s:o}", "rules", logic, "facts", facts, "expected", expected);
	assert_int_equal(json_dump_file(file, path, JSON_COMPACT), 0);
	json_decref(file);
}

static struct rule rules[RULES];
static const struct effectivity *compiled[RULES];
static sqlite3_stmt *prepared[RULES];
static unsigned char ours[KITS * RULES], theirs[KITS * RULES];

static void prepare_rules(struct arena *arena, sqlite3 *db)
{
	struct statement_fault fault;

	for (int r = 0; r < RULES; r++) {
		rules[r] = make_rule();
		assert_int_equal(effectivity_parse(arena, rules[r].statement.at,
		                                   rules[r].statement.len, &compiled[r], &fault),
		                 ST_OK);
		assert_int_equal(sqlite3_prepare_v3(db, rules[r].sql.at, -1,
		                                    SQLITE_PREPARE_PERSISTENT, &prepared[r], NULL),
		                 SQLITE_OK);
	}
}

int main(int argc, char **argv)
{
	bool all_known = argc > 1;
	struct arena *arena = arena_new();
	struct kit kits[KITS];
	struct facts facts[KITS];
	sqlite3 *db;

	assert_int_equal(sqlite3_open(":memory:", &db), SQLITE_OK);
	prepare_rules(arena, db);
	for (int k = 0; k < KITS; k++) {
		kits[k] = make_kit(all_known);
		facts[k] = make_facts(arena, &kits[k]);
	}
	run_core(compiled, facts, ours); /* warm */
	if (all_known)
		write_json(argv[1], rules, kits, ours);
	for (int round = 0; round < ROUNDS; round++) {
		printf("%.0f", run_core(compiled, facts, ours));
		if (!all_known) {
			printf(" %.0f", run_sqlite(prepared, kits, theirs));
			assert_memory_equal(ours, theirs, sizeof ours);
		}
		printf("\n");
	}
	return 0;
}
