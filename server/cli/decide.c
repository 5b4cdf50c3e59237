/* decide: effectivity without a database. JSON Lines in, JSON Lines out.
 *
 * Each line stands alone; memory is given back after each, so that it stays
 * flat however many there are. A faulty line gets an error in its place and
 * the next one is read. Empty lines are passed over.
 */
#include "cli/command.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/effectivity.h"
#include "formats/json_facts.h"
#include "formats/json_text.h"

static const char *const truth_answers[] = {
        [TRUTH_FALSE] = "does not apply",
        [TRUTH_UNKNOWN] = "cannot tell",
        [TRUTH_TRUE] = "applies",
};

static const char *const line_answers[] = {
        [TRUTH_FALSE] = "fails",
        [TRUTH_UNKNOWN] = "lacks",
        [TRUTH_TRUE] = "holds",
};

typedef void print_fn(const struct fact *fact, struct text *out);

static json_t *fact_json(const struct fact *fact)
{
	struct text text = TEXT_EMPTY;

	fact_print(fact, &text);
	return json_take_text(&text);
}

/* ---- groups ---- */

struct fact_values {
	const struct facts *facts;
	json_t *list;
};

static void add_fact_value(void *context, const struct fact *fact)
{
	struct fact_values *values = context;
	struct text value = TEXT_EMPTY;

	fact_value(values->facts, fact, &value);
	json_array_append_new(values->list, json_pack("{s:o, s:o}", "fact", fact_json(fact),
	                                              "value", json_take_text(&value)));
}

static json_t *line_json(const struct effectivity *statement, const struct condition *condition,
                         const struct facts *facts)
{
	struct fact_values values = {facts, json_array()};
	struct text text = TEXT_EMPTY;

	condition_print(statement, condition, &text);
	condition_facts(statement, condition, facts, add_fact_value, &values);
	return json_pack("{s:i, s:o, s:s, s:o}", "line", (int)condition->line, "text",
	                 json_take_text(&text), "answer",
	                 line_answers[condition_decide(statement, condition, facts)], "facts",
	                 values.list);
}

static json_t *groups_json(const struct effectivity *statement, const struct facts *facts)
{
	json_t *groups = json_array();

	for (uint32_t g = 0; g < statement->n_groups; g++) {
		const struct condition_group *group = &statement->groups[g];
		json_t *lines = json_array();

		for (uint32_t c = 0; c < group->conditions; c++)
			json_array_append_new(
			        lines,
			        line_json(statement, &statement->conditions[group->condition + c],
			                  facts));
		json_array_append_new(
		        groups, json_pack("{s:s, s:o}", "answer",
		                          truth_answers[group_decide(statement, group, facts)],
		                          "lines", lines));
	}
	return groups;
}

/* ---- one line ---- */

static json_t *answer_json(const struct effectivity *statement, const struct facts *facts)
{
	struct text reason = TEXT_EMPTY;

	effectivity_reason(statement, facts, &reason);
	return json_pack("{s:s, s:o, s:o, s:o}", "answer",
	                 truth_answers[effectivity_decide(statement, facts)], "needs",
	                 json_needs(statement, facts), "reason", json_take_text(&reason), "groups",
	                 groups_json(statement, facts));
}

static json_t *statement_error(const struct statement_fault *fault)
{
	return json_pack("{s:{s:i, s:i, s:s}}", "error", "line", (int)fault->line, "column",
	                 (int)fault->column, "expected", fault->expected);
}

/* Faults of the case itself: not JSON, a fact of a wrong type. */
static json_t *case_error(const struct json_reader *reader)
{
	return json_pack("{s:{s:s, s:i, s:i, s:s}}", "error", "place", reader->fault.place, "line",
	                 (int)reader->fault.line, "column", (int)reader->fault.column, "reason",
	                 reader->fault.words);
}

static json_t *decide_case(struct json_reader *reader, const json_t *value)
{
	static const char *const keys[] = {"statement", "facts", NULL};
	const struct effectivity *statement;
	struct statement_fault fault;
	struct facts facts;
	const char *text;
	size_t mark;
	enum status status;

	if (!json_check_keys(reader, value, keys))
		return NULL;
	text = json_string_value(json_object_get(value, "statement"));
	if (!text)
		json_fail_at(reader, "statement", "must be a text");
	if (!json_is_object(json_object_get(value, "facts")))
		json_fail_at(reader, "facts", "must be an object");
	mark = json_enter(reader, "facts");
	json_read_facts(reader, json_object_get(value, "facts"), &facts);
	json_leave(reader, mark);
	if (!json_reader_ok(reader))
		return NULL;
	status = effectivity_parse(reader->arena, text,
	                           json_string_length(json_object_get(value, "statement")),
	                           &statement, &fault);
	if (status == ST_INVALID)
		return statement_error(&fault);
	return status == ST_OK ? answer_json(statement, &facts) : NULL;
}

static json_t *decide_line(struct arena *arena, const char *line, size_t len)
{
	struct json_reader reader;
	json_t *value, *answer = NULL;

	json_reader_start(&reader, arena);
	value = json_reader_parse(&reader, line, len);
	if (value)
		answer = decide_case(&reader, value);
	json_decref(value);
	if (answer || reader.status != ST_INVALID)
		return answer;
	json_reader_locate(&reader, line, len);
	return case_error(&reader);
}

static bool is_empty(const char *line, size_t len)
{
	return strspn(line, " \t\r\n") >= len;
}

static bool print_answer(struct arena *arena, const char *line, size_t len)
{
	json_t *answer = decide_line(arena, line, len);
	bool printed =
	        answer && json_dumpf(answer, stdout, JSON_COMPACT) == 0 && putchar('\n') == '\n';

	json_decref(answer);
	return printed;
}

int command_decide(const struct command_args *args)
{
	struct arena *arena = arena_new();
	char *line = NULL;
	size_t room = 0;
	ssize_t len;
	bool going = arena != NULL;

	(void)args;
	while (going && (len = getline(&line, &room, stdin)) > 0) {
		if (!is_empty(line, (size_t)len))
			going = print_answer(arena, line, (size_t)len);
		arena_reset(arena);
	}
	free(line);
	arena_free(arena);
	going = going && !ferror(stdin) && fflush(stdout) == 0;
	return going ? 0 : command_failed("decide stopped: %s", strerror(errno));
}
