/* check.c - "would this concern me?": every notice put to the facts that a
 * visitor types. Nothing is stored.
 *
 * Facts come as a query, so that the answer can be kept as a bookmark. Groups
 * are cut short with a link to the whole; none leaves a notice off silently.
 */
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "core/question.h"
#include "core/standing.h"
#include "web/http/context.h"
#include "web/kits/kit_facts.h"
#include "web/notices/public.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define FEW 12       /* notices of a group at first */
#define PAGE_ROWS 40 /* when one group is shown */
#define QUESTIONS 4
#define SPARE_ROWS 2

enum group { GROUP_APPLIES, GROUP_ASK, GROUP_SETTLED, GROUP_NOT_EFFECTIVE };
static const char *const group_words[] = {[GROUP_APPLIES] = "applies",
                                          [GROUP_ASK] = "cannot tell",
                                          [GROUP_SETTLED] = "settled",
                                          [GROUP_NOT_EFFECTIVE] = "not effective",
                                          NULL};
#define GROUPS 4

/* The names are those that kit_facts_read takes, and two more. */
const struct input check_inputs[] = {
        KIT_FACTS_INPUTS,
        LOGGED_FACTS(FACT_INPUT){"show", "Which group", INPUT_CHOICE, .choices = group_words},
        {"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000},
        INPUTS_END};

static const char *const option_row[] = {"option", "option_state", NULL};
static const char *const subkit_row[] = {"subkit", "subkit_state", "subkit_shipped", NULL};
static const char *const part_row[] = {"part", "part_serial", "part_lot", NULL};

/* ---- the form ---- */

static bool has_row(const struct form *form, const char *input, const char *name)
{
	for (size_t i = 0; i < form_count(form, input); i++)
		if (strcmp(form_value(form, input, i)->typed, name) == 0)
			return true;
	return false;
}

static const char *input_for(enum condition_kind kind)
{
	switch (kind) {
	case COND_OPTION:
		return "option";
	case COND_SUBKIT:
	case COND_SHIPPED:
		return "subkit";
	case COND_ALL:
	case COND_MODEL:
	case COND_SERIAL:
	case COND_PURCHASED:
	case COND_PLANS:
	case COND_FIRST_FLIGHT:
	case COND_PART:
	case COND_NOTICE:
	case COND_STEP:
	case COND_HOURS:
	case COND_LANDINGS:
		break; /* has a field of its own, or no rows that only need an answer */
	}
	return NULL;
}

static void suggest_names(struct form *form, const struct effectivity *s,
                          const struct condition *condition)
{
	const char *input = input_for(condition->kind);

	for (uint32_t i = 0; input && i < condition->names; i++) {
		const struct name_pattern *pattern = &s->names[condition->name + i];

		if (!pattern->series && !has_row(form, input, pattern->name.text))
			form_set(form, input, pattern->name.text);
	}
}

/* Rows that only need an answer: the options and sub-kits that notices name. */
static void suggest_rows(struct form *form, const struct catalogue *catalogue)
{
	for (size_t i = 0; i < catalogue->count; i++) {
		const struct effectivity *s = catalogue->entries[i].notice.effectivity;

		for (uint32_t k = 0; k < s->n_conditions; k++)
			suggest_names(form, s, &s->conditions[k]);
	}
}

static bool is_typed(const struct form *form, const char *const *names)
{
	for (; *names; names++)
		for (size_t i = 0; i < form_count(form, *names); i++)
			if (form_value(form, *names, i)->typed[0])
				return true;
	return false;
}

/* What holds an answer, or its fault, stands open. Names are suggested, so that
 * only what stands beside them counts. */
static json_t *open_parts(const struct form *form)
{
	static const char *const steps[] = {"steps", "steps_known", NULL};

	return json_pack("{s:b, s:b, s:b, s:b}", "options", is_typed(form, option_row + 1),
	                 "subkits", is_typed(form, subkit_row + 1), "parts",
	                 is_typed(form, part_row) || form_flag(form, "parts_known"), "steps",
	                 is_typed(form, steps));
}

static json_t *form_part(const struct form *form)
{
	json_t *view = form_view(form);

	return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "kept",
	                 form_fact_fields(view, false), "logged", form_fact_fields(view, true),
	                 "form", view, "open", open_parts(form), "options",
	                 form_rows_view(form, option_row, 0), "subkits",
	                 form_rows_view(form, subkit_row, 0), "parts",
	                 form_rows_view(form, part_row, SPARE_ROWS));
}

/* Was anything asked? Suggested rows say nothing by themselves. */
static bool asks(const struct form *form)
{
	for (const struct input *input = check_inputs; input->name; input++) {
		bool name = input->repeated && strcmp(input->name, "part") != 0 &&
		            input->kind == INPUT_NAME;

		for (size_t i = 0; !name && i < form_count(form, input->name); i++)
			if (form_value(form, input->name, i)->typed[0])
				return true;
	}
	return false;
}

/* ---- the answer ---- */

struct answer {
	const struct catalogue_entry *entry;
	struct standing standing;
	enum group group;
};

struct answers {
	struct answer *at;
	size_t count;
	size_t in_group[GROUPS];
	struct kit_state kit;
};

static enum group group_of(enum standing_kind kind)
{
	switch (kind) {
	case STANDING_NOT_EFFECTIVE:
		return GROUP_NOT_EFFECTIVE;
	case STANDING_ASK:
		return GROUP_ASK;
	case STANDING_REPLACED:
	case STANDING_IN_THE_PLANS:
	case STANDING_CONFORMS:
	case STANDING_DONE:
		return GROUP_SETTLED;
	case STANDING_REPEATING:
	case STANDING_OPEN:
		break;
	}
	return GROUP_APPLIES;
}

/* Mandatory first, then what others require, then the newest. */
static int by_weight(const void *a, const void *b)
{
	const struct catalogue_entry *x = ((const struct answer *)a)->entry;
	const struct catalogue_entry *y = ((const struct answer *)b)->entry;

	if (x->notice.force != y->notice.force)
		return x->notice.force < y->notice.force ? -1 : 1;
	if (x->rank != y->rank)
		return x->rank < y->rank ? -1 : 1;
	if (x->notice.issued.first != y->notice.issued.first)
		return x->notice.issued.first > y->notice.issued.first ? -1 : 1;
	return name_compare(&x->notice.number, &y->notice.number);
}

static enum status answer_all(struct context *c, const struct facts *facts, struct answers *out)
{
	const struct catalogue *catalogue = c->catalogue;
	enum status status = kit_state_make(c->arena, facts, NULL, 0, NULL, &out->kit);

	out->at = ARENA_ARRAY(c->arena, struct answer, catalogue->count);
	if (status != ST_OK || !out->at)
		return ST_NOMEM;
	for (size_t i = 0; i < catalogue->count; i++) {
		const struct catalogue_entry *entry = &catalogue->entries[i];
		struct standing standing = standing_decide(catalogue, entry, &out->kit, c->today);
		enum group group = group_of(standing.kind);

		out->at[out->count++] = (struct answer){entry, standing, group};
		out->in_group[group]++;
	}
	qsort(out->at, out->count, sizeof *out->at, by_weight);
	return ST_OK;
}

/* By effectivity, but where something else has settled it. */
static json_t *reason_view(const struct answer *answer, const struct kit_state *kit)
{
	struct text words = TEXT_EMPTY;
	json_t *view = NULL;

	if (answer->group == GROUP_SETTLED || answer->standing.cancelled)
		standing_reason(answer->entry, &answer->standing, kit, &words);
	else
		effectivity_reason(answer->entry->notice.effectivity, kit->facts, &words);
	if (!text_failed(&words))
		view = json_string(text_string(&words));
	text_free(&words);
	return view;
}

static json_t *answer_view(const struct answer *answer, const struct kit_state *kit)
{
	json_t *view = present_entry(answer->entry);
	json_t *standing = answer->group == GROUP_SETTLED ? present_standing(answer->standing.kind)
	                                                  : json_false();
	json_t *more =
	        json_pack("{s:o, s:o}", "why", reason_view(answer, kit), "standing", standing);

	if (view && more && json_object_update(view, more) == 0) {
		json_decref(more);
		return view;
	}
	json_decref(view);
	json_decref(more);
	return NULL;
}

static json_t *rows_view(const struct answers *answers, enum group group, struct page page)
{
	json_t *rows = json_array();
	int64_t place = 0;

	for (size_t i = 0; rows && i < answers->count; i++) {
		const struct answer *answer = &answers->at[i];

		if (answer->group != group)
			continue;
		if (place >= page.offset && place < page.offset + page.limit)
			rows = present_append(rows, answer_view(answer, &answers->kit));
		place++;
	}
	return rows;
}

static json_t *line_of(enum group group)
{
	static const enum truth answers[GROUPS] = {[GROUP_APPLIES] = TRUTH_TRUE,
	                                           [GROUP_ASK] = TRUTH_UNKNOWN,
	                                           [GROUP_SETTLED] = TRUTH_TRUE,
	                                           [GROUP_NOT_EFFECTIVE] = TRUTH_FALSE};

	return group == GROUP_SETTLED ? json_false() : present_truth(answers[group]);
}

static json_t *group_view(const struct context *c, const struct answers *answers, enum group group,
                          bool whole)
{
	static const char *const titles[GROUPS] = {
	        [GROUP_APPLIES] = "Apply to this kit",
	        [GROUP_ASK] = "Cannot be told yet",
	        [GROUP_SETTLED] = "Cover this kit, and are settled by what you gave",
	        [GROUP_NOT_EFFECTIVE] = "Not effective for this kit"};
	int64_t page = form_number(c->form, "page"), count = (int64_t)answers->in_group[group];
	int64_t few = group == GROUP_NOT_EFFECTIVE ? 0 : FEW;
	struct page part = whole ? (struct page){PAGE_ROWS, page > 0 ? (page - 1) * PAGE_ROWS : 0}
	                         : (struct page){few, 0};
	json_t *rows = rows_view(answers, group, part);
	bool any = json_array_size(rows) > 0;

	return json_pack(
	        "{s:s, s:o, s:I, s:o, s:b, s:b, s:o, s:o}", "title", titles[group], "line",
	        line_of(group), "count", (json_int_t)count, "rows", rows, "any", any, "none",
	        count == 0, "more_url",
	        !whole && count > few
	                ? present_url_with("/check", &c->request->query, "show", group_words[group])
	                : json_false(),
	        "pager",
	        whole && count > 0 ? present_pager("/check", &c->request->query, &part, count)
	                           : json_false());
}

static json_t *groups_view(const struct context *c, const struct answers *answers)
{
	int show = form_choice(c->form, "show");
	json_t *groups = json_array();

	for (int group = 0; groups && group < GROUPS; group++)
		if (show < 0 || show == group)
			groups = present_append(
			        groups, group_view(c, answers, (enum group)group, show == group));
	return groups;
}

static json_t *question_view(const struct question *question)
{
	struct text words = TEXT_EMPTY;
	json_t *view = NULL;

	fact_question(&question->fact, &words);
	if (!text_failed(&words))
		view = json_pack("{s:s, s:i, s:i}", "question", text_string(&words), "notices",
		                 (int)question->notices, "mandatory", (int)question->mandatory);
	text_free(&words);
	return view;
}

static enum status questions_view(struct context *c, const struct facts *facts, json_t **out)
{
	const struct question *questions = NULL;
	size_t count = 0;
	json_t *view;
	enum status status = questions_rank(c->arena, c->catalogue, facts, &questions, &count);

	if (status != ST_OK)
		return status;
	view = json_array();
	for (size_t i = 0; view && i < count && i < QUESTIONS; i++)
		view = present_append(view, question_view(&questions[i]));
	*out = view;
	return view ? ST_OK : ST_NOMEM;
}

static enum status respond_answers(struct context *c, const struct facts *facts)
{
	struct answers answers = {.count = 0};
	json_t *questions = NULL;
	enum status status = answer_all(c, facts, &answers);

	if (status == ST_OK)
		status = questions_view(c, facts, &questions);
	if (status != ST_OK)
		return status;
	suggest_rows(c->form, c->catalogue);
	return respond_page(c, "check.html", "Would this concern me?",
	                    json_pack("{s:b, s:b, s:o, s:o, s:b, s:o, s:b, s:o}", "in_check", 1,
	                              "answered", 1, "entry", form_part(c->form), "groups",
	                              groups_view(c, &answers), "has_questions",
	                              json_array_size(questions) > 0, "questions", questions,
	                              "part_shown", form_choice(c->form, "show") >= 0, "all_url",
	                              present_url_with("/check", &c->request->query, "show", "")));
}

static enum status respond_form(struct context *c)
{
	suggest_rows(c->form, c->catalogue);
	return respond_page(c, "check.html", "Would this concern me?",
	                    json_pack("{s:b, s:b, s:o}", "in_check", 1, "answered", 0, "entry",
	                              form_part(c->form)));
}

enum status page_check(struct context *c)
{
	struct facts facts = {.has_serial = false};
	enum status status = ST_OK;

	if (!asks(c->form))
		return respond_form(c);
	if (form_ok(c->form))
		status = kit_facts_read(c->arena, c->form, c->today, &facts);
	if (status != ST_OK)
		return status;
	return form_ok(c->form) ? respond_answers(c, &facts) : respond_form(c);
}
