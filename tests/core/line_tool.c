/* Reads lines in the form of build_line.h and prints what core makes of them,
 * for comparing with a library of graphs. One line of input:
 *
 *     LINE | steps done, by commas | affected steps, by commas
 *
 * and one line of JSON for each: needs, covers, opening, hours and longest
 * chain left until the last step of the line; or {"refused": words}.
 */
#include "build_line.h"

#include <stdio.h>
#include <string.h>

static void print_set(const struct line *line, const uint64_t *set)
{
	const char *comma = "";

	putchar('[');
	for (uint32_t s = step_set_next(line, set, 0); s != LINE_NO_STEP;
	     s = step_set_next(line, set, s + 1)) {
		printf("%s\"%s\"", comma, line->steps[s].entry->code.text);
		comma = ",";
	}
	putchar(']');
}

static void print_rows(const struct line *line, const char *key, const uint64_t *rows)
{
	printf("\"%s\":{", key);
	for (uint32_t i = 0; i < line->count; i++) {
		printf("%s\"%s\":", i ? "," : "", line->steps[i].entry->code.text);
		print_set(line, line_row(line, rows, i));
	}
	printf("},");
}

static const struct name *read_codes(struct arena *arena, char *text, size_t *count)
{
	struct name *names = ARENA_ARRAY(arena, struct name, LINE_STEPS_MOST);
	char *save;

	*count = 0;
	for (char *code = strtok_r(text, ", \n", &save); code; code = strtok_r(NULL, ", \n", &save))
		names[(*count)++] = make_name(arena, code);
	return names;
}

static void print_plan(struct arena *arena, const struct line *line, const struct facts *facts,
                       const struct notice *notice)
{
	const struct notice *list[] = {notice};
	struct work_left left;
	struct plan plan;

	if (plan_make(arena, line, facts, list, 1, 0, &plan) != ST_OK ||
	    progress_left(arena, line, &plan.progress, line->count - 1, 0, &left) != ST_OK)
		return;
	printf("\"open\":");
	print_set(line, plan.moments[0].open);
	printf(",\"kind\":\"%s\",\"open_hours\":%lld,\"late_hours\":%lld,",
	       moment_words(plan.moments[0].kind), (long long)plan.moments[0].open_hours,
	       (long long)plan.moments[0].late_hours);
	printf("\"left_steps\":%u,\"left_hours\":%lld,\"left_path\":%lld}\n", left.steps,
	       (long long)left.hours, (long long)left.path);
}

static void answer(char *input)
{
	struct arena *arena = arena_new();
	char *text = strsep(&input, "|"), *done = strsep(&input, "|");
	struct facts facts = {.steps_known = true};
	struct notice notice = {.n_steps = 0};
	struct line_fault fault;
	struct line line;

	if (line_make(arena, make_line_entry(arena, text), &line, &fault) != ST_OK) {
		printf("{\"refused\":\"%s\"}\n", fault.words);
		arena_free(arena);
		return;
	}
	facts.steps_done = read_codes(arena, done, &facts.n_steps_done);
	notice.steps = read_codes(arena, input, &notice.n_steps);
	putchar('{');
	print_rows(&line, "needs", line.needs_all);
	print_rows(&line, "covers", line.covered_by);
	print_plan(arena, &line, &facts, &notice);
	arena_free(arena);
}

int main(void)
{
	static char input[1 << 20];

	while (fgets(input, sizeof input, stdin))
		answer(input);
	return 0;
}
