/* kit_answer.c - the question whose answer settles most, answered in place.
 *
 * One table says how each kind of fact is asked for. What cannot be said with
 * one word or one number (which parts are fitted) leads to the form of all
 * facts.
 */
#include "web/kits/kit_page.h"
#include "web/kits/kit_answer.h"

#include <string.h>

#include "base/text.h"
#include "core/quantity.h"
#include "store/store.h"
#include "formats/json_text.h"
#include "web/kits/kit_log.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/http/respond.h"

const struct input kit_answer_inputs[] = {
        {"fact", "Fact", INPUT_LINE, .required = true, .longest = 200},
        {"answer", "Answer", INPUT_LINE, .required = true, .longest = 100},
        INPUTS_END};

/* ---- setting one fact ---- */

struct answer {
	struct arena *arena;
	const struct fact *fact;
	const char *text;
	struct facts *facts;
	day_number today;
	const char *fault; /* what is wrong with the answer */
};

typedef enum status set_fn(struct answer *answer);

static enum status fault(struct answer *answer, const char *words)
{
	answer->fault = words;
	return ST_OK;
}

static bool says(const struct answer *answer, const char *word)
{
	return strcmp(answer->text, word) == 0;
}

static enum status read_date(struct answer *answer, struct date_fact *out)
{
	struct date date;
	enum status status = date_read(answer->text, strlen(answer->text), &date);

	if (status == ST_MISSING)
		return fault(answer, "can be two days; write it as 2017-09-24");
	if (status == ST_INVALID)
		return fault(answer, "must be a date such as 2017, 2017-09 or 2017-09-24");
	if (status == ST_OK && date.first > answer->today)
		return fault(answer, "must not be in the future");
	if (status == ST_OK)
		*out = (struct date_fact){DATE_KNOWN, date};
	return status;
}

static enum status read_serial(struct answer *answer, struct serial *out)
{
	enum serial_fault found = serial_check(answer->text, strlen(answer->text), NULL);

	if (found != SERIAL_FINE)
		return fault(answer, serial_fault_words(found));
	return serial_make(answer->arena, answer->text, strlen(answer->text), out);
}

/* A fact that is one value. */
static enum status set_single(struct answer *answer)
{
	const struct fact_field *field = fact_field_of(answer->fact->kind);
	const char *text = answer->text;
	size_t len = strlen(text);
	void *at = fact_at(answer->facts, field);
	enum status status = ST_OK;

	switch (field->form) {
	case FORM_NAME:
		if (len > NAME_LONGEST)
			return fault(answer, "is too long for a model");
		return name_make(answer->arena, text, len, at);
	case FORM_FLIGHT:
		if (says(answer, "not yet")) {
			*(struct date_fact *)at = (struct date_fact){.state = DATE_NEVER};
			return ST_OK;
		}
		return read_date(answer, at);
	case FORM_DATE:
		return read_date(answer, at);
	case FORM_SERIAL:
		status = read_serial(answer, at);
		break;
	case FORM_HOURS:
		if (hours_parse(text, len, at) != ST_OK)
			return fault(answer, "must be a number of hours such as 120 or 120.25");
		break;
	case FORM_COUNT:
		if (count_parse(text, len, at) != ST_OK)
			return fault(answer, "must be a whole number");
		break;
	}
	fact_set_known(answer->facts, field, status == ST_OK && !answer->fault);
	return status;
}

static enum status set_option(struct answer *answer)
{
	struct facts *facts = answer->facts;
	struct option_fact *list =
	        ARENA_ARRAY(answer->arena, struct option_fact, facts->n_options + 1);

	if (!says(answer, "yes") && !says(answer, "no"))
		return fault(answer, "must be yes or no");
	if (!list)
		return ST_NOMEM;
	if (facts->n_options)
		memcpy(list, facts->options, facts->n_options * sizeof *list);
	list[facts->n_options++] = (struct option_fact){answer->fact->about, says(answer, "yes")};
	facts->options = list;
	return ST_OK;
}

/* The list of sub-kits with this one in it; NULL when memory ran out. */
static struct subkit_fact *subkit_of(struct answer *answer)
{
	struct facts *facts = answer->facts;
	struct subkit_fact *list =
	        ARENA_ARRAY(answer->arena, struct subkit_fact, facts->n_subkits + 1);

	if (!list)
		return NULL;
	if (facts->n_subkits)
		memcpy(list, facts->subkits, facts->n_subkits * sizeof *list);
	facts->subkits = list;
	for (size_t i = 0; i < facts->n_subkits; i++)
		if (name_equal(&list[i].code, &answer->fact->about))
			return &list[i];
	list[facts->n_subkits].code = answer->fact->about;
	return &list[facts->n_subkits++];
}

static enum status set_subkit(struct answer *answer)
{
	struct subkit_fact *subkit;

	if (!says(answer, "yes") && !says(answer, "no"))
		return fault(answer, "must be yes or no");
	subkit = subkit_of(answer);
	if (!subkit)
		return ST_NOMEM;
	subkit->received = says(answer, "yes");
	subkit->shipped.state = subkit->received ? DATE_UNKNOWN : DATE_NEVER;
	return ST_OK;
}

static enum status set_shipped(struct answer *answer)
{
	struct date_fact shipped = {.state = DATE_NEVER};
	struct subkit_fact *subkit;
	enum status status = ST_OK;

	if (!says(answer, "not received"))
		status = read_date(answer, &shipped);
	if (status != ST_OK || answer->fault)
		return status;
	subkit = subkit_of(answer);
	if (!subkit)
		return ST_NOMEM;
	subkit->shipped = shipped;
	subkit->received = shipped.state == DATE_KNOWN;
	return ST_OK;
}

static enum status set_step(struct answer *answer)
{
	struct facts *facts = answer->facts;
	struct name *list = ARENA_ARRAY(answer->arena, struct name, facts->n_steps_done + 1);

	if (!says(answer, "yes"))
		return fault(answer, "must be yes");
	if (!list)
		return ST_NOMEM;
	if (facts->n_steps_done)
		memcpy(list, facts->steps_done, facts->n_steps_done * sizeof *list);
	list[facts->n_steps_done++] = answer->fact->about;
	facts->steps_done = list;
	return ST_OK;
}

/* ---- how each kind is asked ---- */

struct button {
	const char *value, *word;
};

struct asking {
	set_fn *set;              /* NULL: only in the form of all facts */
	const char *typed;        /* hint at a field to type in; NULL: that of the fact's own */
	struct button buttons[2]; /* value NULL: none */
	const char *anchor;       /* in the form of all facts; NULL: the fact's own */
};

#define DATE_HINT "2017, 2017-09 or 2017-09-24"
#define YES_NO                                                                                     \
	{"yes", "Yes"},                                                                            \
	{                                                                                          \
		"no", "No"                                                                         \
	}

static const struct asking askings[FACT_KINDS] = {
        [FACT_MODEL] = {set_single},
        [FACT_SERIAL] = {set_single},
        [FACT_PURCHASED] = {set_single},
        [FACT_PLANS] = {set_single},
        [FACT_FIRST_FLIGHT] = {set_single, .buttons = {{"not yet", "Not flown yet"}}},
        [FACT_HOURS] = {set_single},
        [FACT_LANDINGS] = {set_single},
        [FACT_SUBKIT] = {set_subkit, NULL, {YES_NO}, "subkits"},
        [FACT_SHIPPED] = {set_shipped, DATE_HINT, {{"not received", "Not received"}}, "subkits"},
        [FACT_OPTION] = {set_option, NULL, {YES_NO}, "options"},
        [FACT_PART] = {NULL, NULL, {{NULL, NULL}}, "parts"},
        [FACT_PART_SERIAL] = {NULL, NULL, {{NULL, NULL}}, "parts"},
        [FACT_PART_LOT] = {NULL, NULL, {{NULL, NULL}}, "parts"},
        [FACT_NOTICE] = {NULL, NULL, {{NULL, NULL}}, "form"},
        [FACT_STEP] = {set_step, NULL, {{"yes", "Yes, it is built"}}, "steps"},
};

static json_t *buttons_view(const struct asking *asking)
{
	json_t *list = json_array();

	for (unsigned i = 0; list && i < 2 && asking->buttons[i].value; i++)
		list = present_append(list,
		                      json_pack("{s:s, s:s}", "value", asking->buttons[i].value,
		                                "word", asking->buttons[i].word));
	return list;
}

static json_t *question_view(const struct kit_view *view, const struct question *question)
{
	const struct asking *asking = &askings[question->fact.kind];
	const struct fact_field *field = fact_field_of(question->fact.kind);
	struct text words = TEXT_EMPTY, fact = TEXT_EMPTY;

	fact_question(&question->fact, &words);
	fact_print(&question->fact, &fact);
	return json_pack("{s:o, s:o, s:i, s:b, s:i, s:o, s:o, s:o}", "words",
	                 json_take_text(&words), "fact", json_take_text(&fact), "notices",
	                 (int)question->notices, "several", question->notices != 1, "mandatory",
	                 (int)question->mandatory, "buttons", buttons_view(asking), "typed",
	                 present_text(field ? field->hint : asking->typed), "elsewhere_url",
	                 json_sprintf("/kits/%lld/%s%s", (long long)view->kit.id.v,
	                              field && field->logged ? "log" : "facts#",
	                              field && field->logged ? ""
	                              : field                ? field->key
	                                                     : asking->anchor));
}

json_t *kit_question(const struct kit_view *view)
{
	return view->n_questions ? question_view(view, &view->questions[0]) : json_false();
}

/* ---- taking the answer ---- */

static const struct question *find_question(const struct kit_view *view, const char *printed)
{
	for (size_t i = 0; i < view->n_questions; i++) {
		struct text text = TEXT_EMPTY;
		bool same;

		fact_print(&view->questions[i].fact, &text);
		same = strcmp(text_string(&text), printed) == 0;
		text_free(&text);
		if (same)
			return &view->questions[i];
	}
	return NULL;
}

static enum status show_again(struct context *c, const struct kit_view *view,
                              const struct question *question)
{
	return kit_respond(c, &view->kit, "kit_question_page.html", "One question",
	                   json_pack("{s:o, s:o}", "question", question_view(view, question),
	                             "form", form_view(c->form)));
}

static enum status log_today(struct context *c, struct kit_id kit, enum fact_kind kind,
                             const struct facts *facts)
{
	enum use_counter counter = kind == FACT_HOURS ? USE_HOURS : USE_LANDINGS;
	struct kit_log_row row = {.entry.day = c->today};
	struct log_fault fault;
	enum status status;

	row.entry.has[counter] = true;
	row.entry.total[counter] = kind == FACT_HOURS ? facts->hours : facts->landings;
	status = kit_log_enter(c, kit, &row, &fault);
	if (status == ST_OK && fault.field)
		form_fail(c->form, "answer", "%s", fault.words);
	return status;
}

/* Facts are read again inside the transaction: the view may be older. Logged ones are
 * totals of today. */
static enum status set_fact(struct context *c, const struct kit_view *view,
                            const struct question *question)
{
	const struct fact_field *field = fact_field_of(question->fact.kind);
	struct facts facts;
	struct answer answer = {c->arena, &question->fact, form_text(c->form, "answer"),
	                        &facts,   c->today,        NULL};
	enum status status = kit_facts(c->store, c->arena, view->kit.id, &facts);

	if (status == ST_OK)
		status = askings[question->fact.kind].set(&answer);
	if (status == ST_OK && answer.fault)
		form_fail(c->form, "answer", "%s", answer.fault);
	else if (status == ST_OK && field && field->logged)
		status = log_today(c, view->kit.id, question->fact.kind, &facts);
	else if (status == ST_OK)
		status = kit_set_facts(c->store, view->kit.id, &facts);
	return status;
}

static enum status save(struct context *c, const struct kit_view *view,
                        const struct question *question)
{
	enum status status = store_begin(c->store);

	if (status == ST_OK)
		status = set_fact(c, view, question);
	if (status == ST_OK && form_ok(c->form))
		status = store_commit(c->store);
	store_rollback(c->store);
	return status;
}

static enum status take_answer(struct context *c, const struct kit_view *view)
{
	const struct question *question = find_question(view, form_text(c->form, "fact"));
	long long id = (long long)view->kit.id.v;
	enum status status = ST_OK;

	if (!question || !askings[question->fact.kind].set)
		return respond_redirect(c, "/kits/%lld?said=question-gone", id);
	if (form_ok(c->form))
		status = save(c, view, question);
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_again(c, view, question);
	return respond_redirect(c, "/kits/%lld?said=answered", id);
}

enum status act_kit_answer(struct context *c)
{
	return kit_page(c, take_answer);
}
