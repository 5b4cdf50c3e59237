#include "web/chapter/whom.h"

#include <string.h>

#include "core/standing.h"
#include "store/records.h"

/* ---- one pass ---- */

struct pass {
	struct store *store;
	const struct catalogue *catalogue;
	const struct effectivity *statement;
	bool asks_for_notices, asks_for_use;
	whom_visit_fn *visit;
	void *context;
	enum truth early; /* by the single facts alone */
	enum status status;
};

#define ABOUT(kind) (1U << FACT_##kind)

static const struct {
	unsigned kinds, list;
} lists_of[] = {
        {ABOUT(OPTION), KIT_OPTIONS},
        {ABOUT(SUBKIT) | ABOUT(SHIPPED), KIT_SUBKITS},
        {ABOUT(PART) | ABOUT(PART_SERIAL) | ABOUT(PART_LOT), KIT_PARTS},
        {ABOUT(STEP), KIT_STEPS},
        {ABOUT(HOURS) | ABOUT(LANDINGS), KIT_USE},
};

/* The steps that a statement names; more than can be named are not told apart. */
static void name_steps(const struct effectivity *statement, struct name *steps,
                       struct kit_lists *lists)
{
	for (uint32_t i = 0; i < statement->n_conditions; i++) {
		const struct condition *c = &statement->conditions[i];

		for (uint32_t k = 0; c->kind == COND_STEP && k < c->names; k++) {
			if (lists->n_steps < KIT_STEPS_NAMED)
				steps[lists->n_steps] = statement->names[c->name + k].name;
			lists->n_steps++;
		}
	}
	lists->steps = steps;
}

/* What of the records the statement wants: notices that they close. */
static enum status decide_by_records(struct pass *pass, const struct kit *kit, struct facts *facts,
                                     struct arena *arena, enum truth *out)
{
	const struct record *records = NULL;
	struct kit_state state;
	size_t count = 0;
	enum status status = ST_OK;

	if (kit->records > 0)
		status = record_list(pass->store, arena, kit->id, &records, &count);
	if (status == ST_OK)
		status = kit_state_make(arena, facts, records, count, NULL, &state);
	if (status == ST_OK)
		status = standing_fill_done(arena, pass->catalogue, &state, facts);
	if (status == ST_OK)
		*out = effectivity_decide(pass->statement, facts);
	return status;
}

/* A list that is not read may hold anything. What is decided without stays so,
 * but for hours and landings: of a kit that has not flown these count as none
 * unless its log says otherwise. */
static bool wants_lists(void *context, const struct facts *single)
{
	struct pass *pass = context;
	struct facts facts = *single;

	facts.parts_known = facts.notices_known = facts.steps_known = false;
	pass->early = pass->asks_for_use && facts.first_flight.state == DATE_NEVER
	                      ? TRUTH_UNKNOWN
	                      : effectivity_decide(pass->statement, &facts);
	return pass->early == TRUTH_UNKNOWN;
}

static bool decide_kit(void *context, const struct kit *kit, const struct facts *stored,
                       struct arena *arena)
{
	struct pass *pass = context;
	struct facts facts = *stored;
	enum truth answer = pass->early;

	facts.notices_known = false; /* by records alone */
	if (answer == TRUTH_UNKNOWN)
		answer = effectivity_decide(pass->statement, &facts);
	if (answer == TRUTH_UNKNOWN && pass->asks_for_notices)
		pass->status = decide_by_records(pass, kit, &facts, arena, &answer);
	return pass->status == ST_OK && pass->visit(pass->context, kit, &facts, answer);
}

enum status whom_each(struct store *store, const struct catalogue *catalogue,
                      const struct effectivity *statement, whom_visit_fn *visit, void *context)
{
	const unsigned kinds = effectivity_fact_kinds(statement);
	struct pass pass = {.store = store,
	                    .catalogue = catalogue,
	                    .statement = statement,
	                    .asks_for_notices = kinds & ABOUT(NOTICE),
	                    .asks_for_use = kinds & (ABOUT(HOURS) | ABOUT(LANDINGS)),
	                    .visit = visit,
	                    .context = context};
	struct kit_lists lists = {.wanted = wants_lists};
	struct name steps[KIT_STEPS_NAMED];
	enum status status;

	for (size_t i = 0; i < sizeof lists_of / sizeof *lists_of; i++)
		if (kinds & lists_of[i].kinds)
			lists.which |= lists_of[i].list;
	name_steps(statement, steps, &lists);
	status = kits_each_with(store, &lists, decide_kit, &pass);
	return status == ST_OK ? pass.status : status;
}

/* ---- counts and lists ---- */

static bool count_kit(void *context, const struct kit *kit, const struct facts *facts,
                      enum truth answer)
{
	struct whom *whom = context;

	(void)kit;
	(void)facts;
	whom->counts[answer]++;
	return true;
}

enum status whom_count(struct store *store, const struct catalogue *catalogue,
                       const struct effectivity *statement, struct whom *out)
{
	struct whom whom = {{0}};
	enum status status = whom_each(store, catalogue, statement, count_kit, &whom);

	if (status == ST_OK)
		*out = whom;
	return status;
}

struct listing {
	struct arena *arena;
	enum truth answer;
	struct page page;
	struct whom_kit *kits; /* room for a page */
	size_t count;
	struct whom all;
};

static bool list_kit(void *context, const struct kit *kit, const struct facts *facts,
                     enum truth answer)
{
	struct listing *listing = context;
	int64_t before = listing->all.counts[answer]++;

	if (answer != listing->answer || before < listing->page.offset ||
	    before - listing->page.offset >= listing->page.limit)
		return true;
	listing->kits[listing->count++] = (struct whom_kit){
	        .id = kit->id,
	        .owner = kit->owner,
	        .name = arena_string(listing->arena, kit->name),
	        .owner_name = arena_string(listing->arena, kit->owner_name),
	        .model = arena_string(listing->arena, facts->model.len ? facts->model.text : ""),
	        .serial = arena_string(listing->arena, facts->has_serial ? facts->serial.text : ""),
	};
	return !arena_failed(listing->arena);
}

enum status whom_list(struct store *store, struct arena *arena, const struct catalogue *catalogue,
                      const struct effectivity *statement, enum truth answer, struct page page,
                      const struct whom_kit **out, size_t *count, struct whom *all)
{
	struct listing listing = {
	        .arena = arena,
	        .answer = answer,
	        .page = page,
	        .kits = ARENA_ARRAY(arena, struct whom_kit, (size_t)page.limit),
	};
	enum status status = ST_NOMEM;

	if (listing.kits)
		status = whom_each(store, catalogue, statement, list_kit, &listing);
	if (status == ST_OK && arena_failed(arena))
		status = ST_NOMEM;
	if (status != ST_OK)
		return status;
	*out = listing.kits;
	*count = listing.count;
	*all = listing.all;
	return ST_OK;
}

/* ---- kits that could be concerned, and not yet looked at ---- */

struct gathering {
	struct arena *arena;
	struct kit_id *kits;
	size_t count, room;
};

static bool make_room(struct gathering *g)
{
	size_t room = g->room ? g->room * 2 : 64;
	struct kit_id *kits = ARENA_ARRAY(g->arena, struct kit_id, room);

	if (!kits)
		return false;
	if (g->count)
		memcpy(kits, g->kits, g->count * sizeof *kits);
	g->kits = kits;
	g->room = room;
	return true;
}

static bool gather_kit(void *context, const struct kit *kit, const struct facts *facts,
                       enum truth answer)
{
	struct gathering *g = context;

	(void)facts;
	if (answer == TRUTH_FALSE)
		return true;
	if (g->count == g->room && !make_room(g))
		return false;
	g->kits[g->count++] = kit->id;
	return true;
}

enum status whom_possible(struct store *store, struct arena *arena,
                          const struct catalogue *catalogue, const struct effectivity *statement,
                          const struct kit_id **out, size_t *count)
{
	struct gathering g = {.arena = arena};
	enum status status = whom_each(store, catalogue, statement, gather_kit, &g);

	if (status == ST_OK && arena_failed(arena))
		status = ST_NOMEM;
	if (status != ST_OK)
		return status;
	*out = g.kits;
	*count = g.count;
	return ST_OK;
}

struct whom_like whom_like(const struct kit_id *possible, size_t count, const struct kit_id *looked,
                           size_t n_looked)
{
	struct whom_like like = {(int64_t)count, (int64_t)count};
	size_t at = 0;

	for (size_t i = 0; i < count; i++) {
		while (at < n_looked && looked[at].v < possible[i].v)
			at++;
		like.not_looked -= at < n_looked && looked[at].v == possible[i].v;
	}
	return like;
}
