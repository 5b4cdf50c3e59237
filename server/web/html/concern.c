#include "web/html/concern.h"

#include <string.h>

#include "base/text.h"
#include "core/standing.h"
#include "store/kits.h"
#include "web/html/drawing.h"
#include "web/html/excerpt.h"
#include "web/html/present.h"
#include "chapter/whom.h"

struct census {
	struct kit_id listed[WHOM_ANSWERS][CONCERN_LISTED];
	struct whom all;
	json_t *kits[WHOM_ANSWERS];
};

static bool count_kit(void *context, const struct held_kit *kit, enum truth answer)
{
	struct census *census = context;
	int64_t before = census->all.named[answer];

	census->all.counts[answer]++;
	if (kit->named && before < CONCERN_LISTED)
		census->listed[answer][before] = kit->id;
	census->all.named[answer] += kit->named;
	return true;
}

/* Names of those that are listed, as they are now. */
static enum status name_kits(const struct context *c, struct census *census, enum truth answer)
{
	enum status status = ST_OK;

	census->kits[answer] = json_array();
	for (int64_t i = 0; status == ST_OK && i < CONCERN_LISTED && i < census->all.named[answer];
	     i++) {
		struct kit kit = {.name = "a kit removed just now", .owner_name = ""};

		status = kit_read(c->store, c->arena, census->listed[answer][i], &kit);
		if (status == ST_MISSING)
			status = ST_OK;
		census->kits[answer] = present_append(
		        census->kits[answer],
		        json_pack("{s:s, s:s}", "name", kit.name, "owner", kit.owner_name));
	}
	return status;
}

static json_t *answer_view(const struct census *census, enum truth answer)
{
	int64_t count = census->all.counts[answer];
	int64_t more = count - (int64_t)json_array_size(census->kits[answer]);

	return json_pack("{s:o, s:I, s:O, s:b, s:o}", "answer", present_truth(answer), "count",
	                 (json_int_t)count, "kits", census->kits[answer], "has_kits", count > 0,
	                 "more", more > 0 ? json_integer(more) : json_false());
}

static json_t *census_view(const struct census *census)
{
	const int64_t *counts = census->all.counts;
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
	struct work work = context_work(c);
	struct census census = {.all = {.counts = {0}}};
	enum status status = whom_each(&work, statement, count_kit, &census);

	for (unsigned answer = 0; status == ST_OK && answer < WHOM_ANSWERS; answer++)
		status = name_kits(c, &census, (enum truth)answer);
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
	struct arena *arena; /* of one kit */
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

static enum status look_at_records(struct recall *recall, const struct held_kit *kit)
{
	const struct facts *facts = &kit->facts;
	struct kit_state state;
	struct standing standing;
	enum status status =
	        kit_state_make(recall->arena, facts, kit->records, kit->n_records, NULL, &state);

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

static bool recall_kit(void *context, const struct held_kit *kit)
{
	struct recall *recall = context;

	if (kit->n_records > 0)
		recall->status = look_at_records(recall, kit);
	arena_reset(recall->arena);
	return recall->status == ST_OK;
}

enum status concern_reopened(const struct context *c, struct notice_id notice,
                             const struct revision_content *content,
                             const struct effectivity *statement, struct reopened *out)
{
	struct reopened found = {0, 0};
	struct work work = context_work(c);
	struct recall recall = {.c = c,
	                        .arena = arena_new(),
	                        .entry = catalogue_find_id(c->catalogue, notice),
	                        .content = content,
	                        .statement = statement,
	                        .out = &found};
	enum status status = recall.arena ? ST_OK : ST_NOMEM;

	if (status == ST_OK && recall.entry)
		status = kits_visit(&work, recall_kit, &recall);
	if (status == ST_OK)
		status = recall.status;
	arena_free(recall.arena);
	if (status == ST_OK)
		*out = found;
	return status;
}
