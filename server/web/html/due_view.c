#include "web/html/due_view.h"

#include <string.h>

#include "base/text.h"
#include "web/html/excerpt.h"
#include "formats/json_text.h"

json_t *due_time_view(const struct due_time *due)
{
	struct text text = TEXT_EMPTY;

	if (due->state == DUE_NONE)
		return json_false();
	due_words(due, &text);
	return json_take_text(&text);
}

/* Calls make with the statement, or with its fault. */
typedef json_t *make_fn(const char *text, const struct due_statement *due,
                        const struct statement_fault *fault);

static json_t *with_parsed(const char *text, make_fn *make)
{
	struct arena *arena = arena_new();
	const struct due_statement *due = NULL;
	struct statement_fault fault;
	enum status status = arena ? due_parse(arena, text, strlen(text), &due, &fault) : ST_NOMEM;
	json_t *view = status == ST_NOMEM ? NULL : make(text, due, &fault);

	arena_free(arena);
	return view;
}

static json_t *make_sentence(const char *text, const struct due_statement *due,
                             const struct statement_fault *fault)
{
	struct text out = TEXT_EMPTY;

	(void)text;
	(void)fault;
	if (!due || due->count == 0)
		return json_false();
	due_sentence(due, &out);
	return json_take_text(&out);
}

json_t *due_sentence_view(const char *text)
{
	return with_parsed(text, make_sentence);
}

static json_t *fault_view(const char *text, const struct statement_fault *fault)
{
	return json_pack("{s:b, s:o, s:o, s:b}", "empty", 0, "fault",
	                 json_sprintf("Line %u, column %u: expected %s", fault->line, fault->column,
	                              fault->expected),
	                 "excerpt", excerpt_view(text, strlen(text), fault->line, fault->column),
	                 "words", 0);
}

static json_t *make_back(const char *text, const struct due_statement *due,
                         const struct statement_fault *fault)
{
	struct text normal = TEXT_EMPTY;

	if (!due)
		return fault_view(text, fault);
	if (due->count == 0)
		return json_pack("{s:b, s:b, s:b}", "empty", 1, "fault", 0, "words", 0);
	due_print(due, &normal);
	return json_pack("{s:b, s:b, s:o, s:o}", "empty", 0, "fault", 0, "words",
	                 make_sentence(text, due, fault), "normal", json_take_text(&normal));
}

json_t *due_back_view(const char *text)
{
	json_t *view = with_parsed(text, make_back);

	return view ? json_pack("{s:o}", "due_back", view) : NULL;
}
