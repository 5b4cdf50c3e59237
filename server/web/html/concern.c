#include "web/html/concern.h"

#include <string.h>

#include "base/text.h"
#include "core/standing.h"
#include "store/kits.h"
#include "store/records.h"
#include "web/html/drawing.h"
#include "web/html/excerpt.h"
#include "web/html/present.h"
#include "web/chapter/whom.h"

struct census {
	json_t *kits[WHOM_ANSWERS];
	int64_t counts[WHOM_ANSWERS];
	bool failed;
};

static bool count_kit(void *context, const struct kit *kit, const struct facts *facts,
                      enum truth answer)
{
	struct census *census = context;

	(void)facts;
	if (census->counts[answer]++ < CONCERN_LISTED)
		census->failed |= json_array_append_new(census->kits[answer],
		                                        json_pack("{s:s, s:s}", "name", kit->name,
		                                                  "owner", kit->owner_name)) != 0;
	return !census->failed;
}

static json_t *answer_view(const struct census *census, enum truth answer)
{
	int64_t count = census->counts[answer], more = count - CONCERN_LISTED;

	return json_pack("{s:o, s:I, s:O, s:b, s:o}", "answer", present_truth(answer), "count",
	                 (json_int_t)count, "kits", census->kits[answer], "has_kits", count > 0,
	                 "more", more > 0 ? json_integer(more) : json_false());
}

static json_t *census_view(const struct census *census)
{
	const int64_t *counts = census->counts;
	json_t *answers = json_array();

	answers = present_append(answers, answer_view(census, TRUTH_TRUE));
	if (answers)
		answers = present_append(answers, answer_view(census, TRUTH_UNKNOWN));
	if (answers)
		answers = present_append(answers, answer_view(census, TRUTH_FALSE));
	return json_pack(
	        "{s:I, s:o}", "total",
	        (json_int_t)(counts[TRUTH_FALSE] + counts[TRUTH_UNKNOWN] + counts[TRUTH_TRUE]),
	        "answers", answers);
}

enum status concern_view(const struct context *c, const struct effectivity *statement, json_t **out)
{
	struct census census = {.failed = false};
	enum status status;

	for (size_t i = 0; i < WHOM_ANSWERS; i++) {
		census.kits[i] = json_array();
		census.failed |= !census.kits[i];
	}
	status = census.failed ? ST_NOMEM
	                       : whom_each(c->store, c->catalogue, statement, count_kit, &census);
	if (status == ST_OK && census.failed)
		status = ST_NOMEM;
	if (status == ST_OK) {
		json_t *view = census_view(&census);

		status = view ? ST_OK : ST_NOMEM;
		if (view)
			*out = view;
	}
	for (size_t i = 0; i < WHOM_ANSWERS; i++)
		json_decref(census.kits[i]);
	return status;
}

/* ---- read back ---- */

static json_t *fault_view(const struct form_value *typed)
{
	json_t *excerpt = typed->fault.line ? excerpt_view(typed->typed, strlen(typed->typed),
	                                                   typed->fault.line, typed->fault.column)
	                                    : json_false();

	return json_pack("{s:b, s:s, s:o}", "empty", 0, "fault", typed->error, "excerpt", excerpt);
}

static json_t *statement_view(const struct effectivity *statement, json_t *concern)
{
	struct text words = TEXT_EMPTY, normal = TEXT_EMPTY;
	json_t *view = NULL;

	effectivity_sentence(statement, &words);
	effectivity_print(statement, &normal);
	if (!text_failed(&words) && !text_failed(&normal))
		view = json_pack("{s:b, s:b, s:b, s:s, s:s, s:o, s:O}", "empty", 0, "fault", 0,
		                 "excerpt", 0, "words", text_string(&words), "normal",
		                 text_string(&normal), "drawing", drawing_view(statement, NULL),
		                 "concern", concern);
	text_free(&words);
	text_free(&normal);
	json_decref(concern);
	return view;
}

enum status read_back_view(const struct context *c, const struct form_value *typed, json_t **out)
{
	json_t *concern = NULL, *view;
	enum status status = ST_OK;

	if (typed->error) {
		view = fault_view(typed);
	} else if (!typed->given) {
		view = json_pack("{s:b, s:b}", "empty", 1, "fault", 0);
	} else {
		status = concern_view(c, typed->statement, &concern);
		if (status != ST_OK)
			return status;
		view = statement_view(typed->statement, concern);
	}
	view = json_pack("{s:o}", "statement", view);
	if (!view)
		return ST_NOMEM;
	*out = view;
	return ST_OK;
}

json_t *read_back_plain(const struct form_value *typed)
{
	json_t *view;

	if (typed->error)
		view = fault_view(typed);
	else if (!typed->given)
		view = json_pack("{s:b, s:b, s:b}", "empty", 1, "fault", 0, "words", 0);
	else
		view = statement_view(typed->statement, json_false());
	return json_pack("{s:o}", "statement", view);
}

/* ---- work that a new revision opens again ---- */

struct recall {
	const struct context *c;
	const struct catalogue_entry *entry;
	const struct revision_content *content;
	const struct effectivity *statement;
	struct reopened *out;
	enum status status;
};

static bool gives_credit(const struct revision_content *content, const struct name *revision)
{
	const char *label = name_is_empty(revision) ? "" : revision->text;

	for (size_t i = 0; i < content->credits.count; i++)
		if (strcasecmp(content->credits.at[i], label) == 0)
			return true;
	return false;
}

/* Is any record that counts made to a revision without credit? */
static bool loses_credit(const struct recall *recall, const struct kit_state *state)
{
	for (size_t i = 0; i < state->n_records; i++)
		if (name_equal(&state->records[i]->notice, &recall->entry->notice.number) &&
		    !gives_credit(recall->content, &state->records[i]->revision))
			return true;
	return false;
}

static enum status look_at_records(struct recall *recall, struct kit_id kit,
                                   const struct facts *facts, struct arena *arena)
{
	const struct record *records;
	struct kit_state state;
	struct standing standing;
	size_t count;
	enum status status = record_list(recall->c->store, arena, kit, &records, &count);

	if (status == ST_OK)
		status = kit_state_make(arena, facts, records, count, NULL, &state);
	if (status != ST_OK)
		return status;
	standing = standing_decide(recall->c->catalogue, recall->entry, &state, recall->c->today);
	if (standing.kind != STANDING_DONE && standing.kind != STANDING_REPEATING)
		return ST_OK;
	recall->out->done++;
	if (!standing.terminated && loses_credit(recall, &state) &&
	    effectivity_decide(recall->statement, facts) != TRUTH_FALSE)
		recall->out->again++;
	return ST_OK;
}

static bool recall_kit(void *context, const struct kit *kit, const struct facts *facts,
                       struct arena *arena)
{
	struct recall *recall = context;

	if (kit->records > 0)
		recall->status = look_at_records(recall, kit->id, facts, arena);
	return recall->status == ST_OK;
}

enum status concern_reopened(const struct context *c, struct notice_id notice,
                             const struct revision_content *content,
                             const struct effectivity *statement, struct reopened *out)
{
	struct reopened found = {0, 0};
	struct recall recall = {.c = c,
	                        .entry = catalogue_find_id(c->catalogue, notice),
	                        .content = content,
	                        .statement = statement,
	                        .out = &found};
	enum status status = ST_OK;

	if (recall.entry)
		status = kits_each(c->store, recall_kit, &recall);
	if (status == ST_OK)
		status = recall.status;
	if (status == ST_OK)
		*out = found;
	return status;
}
