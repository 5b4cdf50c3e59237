#include "chapter/whom.h"

#include <string.h>

#include "core/standing.h"

/* ---- one pass ---- */

struct pass {
	const struct work *work;
	struct arena *arena; /* of one kit */
	const struct effectivity *statement;
	bool asks_for_notices;
	whom_visit_fn *visit;
	void *context;
	enum status status;
};

/* What of the records the statement wants: notices that they close. */
static enum status decide_by_records(struct pass *pass, const struct held_kit *kit,
                                     struct facts *facts, enum truth *out)
{
	struct kit_state state;
	enum status status =
	        kit_state_make(pass->arena, facts, kit->records, kit->n_records, NULL, &state);

	if (status == ST_OK)
		status = standing_fill_done(pass->arena, pass->work->catalogue, &state, facts);
	if (status == ST_OK)
		*out = effectivity_decide(pass->statement, facts);
	arena_reset(pass->arena);
	return status;
}

static bool decide_kit(void *context, const struct held_kit *kit)
{
	struct pass *pass = context;
	struct facts facts = kit->facts;
	enum truth answer;

	facts.n_notices_done = 0; /* by records alone */
	facts.notices_known = false;
	answer = effectivity_decide(pass->statement, &facts);
	if (answer == TRUTH_UNKNOWN && pass->asks_for_notices)
		pass->status = decide_by_records(pass, kit, &facts, &answer);
	return pass->status == ST_OK && pass->visit(pass->context, kit, answer);
}

enum status whom_each(const struct work *work, const struct effectivity *statement,
                      whom_visit_fn *visit, void *context)
{
	struct pass pass = {.work = work,
	                    .arena = arena_new(),
	                    .statement = statement,
	                    .asks_for_notices =
	                            effectivity_fact_kinds(statement) & (1U << FACT_NOTICE),
	                    .visit = visit,
	                    .context = context};
	enum status status = pass.arena ? kits_visit(work, decide_kit, &pass) : ST_NOMEM;

	arena_free(pass.arena);
	return status == ST_OK ? pass.status : status;
}

/* ---- counts and lists ---- */

static bool count_kit(void *context, const struct held_kit *kit, enum truth answer)
{
	struct whom *whom = context;

	whom->counts[answer]++;
	whom->named[answer] += kit->named;
	return true;
}

enum status whom_count(const struct work *work, const struct effectivity *statement,
                       struct whom *out)
{
	struct whom whom = {.counts = {0}};
	enum status status = whom_each(work, statement, count_kit, &whom);

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

static bool list_kit(void *context, const struct held_kit *kit, enum truth answer)
{
	struct listing *listing = context;
	int64_t before = listing->all.named[answer];
	const struct facts *facts = &kit->facts;

	count_kit(&listing->all, kit, answer);
	if (!kit->named || answer != listing->answer || before < listing->page.offset ||
	    before - listing->page.offset >= listing->page.limit)
		return true;
	listing->kits[listing->count++] = (struct whom_kit){
	        .id = kit->id,
	        .owner = kit->owner,
	        .model = arena_string(listing->arena, facts->model.len ? facts->model.text : ""),
	        .serial = arena_string(listing->arena, facts->has_serial ? facts->serial.text : ""),
	};
	return !arena_failed(listing->arena);
}

/* Names of kits and owners, as they are now. */
static enum status name_kits(const struct work *work, struct listing *listing)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < listing->count; i++) {
		struct whom_kit *listed = &listing->kits[i];
		struct kit kit = {.name = "", .owner_name = ""};

		status = kit_read(work->store, work->arena, listed->id, &kit);
		listed->name = kit.name;
		listed->owner_name = kit.owner_name;
		if (status == ST_MISSING) /* removed just now */
			status = ST_OK;
	}
	return status;
}

enum status whom_list(const struct work *work, const struct effectivity *statement,
                      enum truth answer, struct page page, const struct whom_kit **out,
                      size_t *count, struct whom *all)
{
	struct listing listing = {
	        .arena = work->arena,
	        .answer = answer,
	        .page = page,
	        .kits = ARENA_ARRAY(work->arena, struct whom_kit, (size_t)page.limit),
	};
	enum status status = ST_NOMEM;

	if (listing.kits)
		status = whom_each(work, statement, list_kit, &listing);
	if (status == ST_OK)
		status = arena_failed(work->arena) ? ST_NOMEM : name_kits(work, &listing);
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

static bool gather_kit(void *context, const struct held_kit *kit, enum truth answer)
{
	struct gathering *g = context;

	if (answer == TRUTH_FALSE)
		return true;
	if (g->count == g->room && !make_room(g))
		return false;
	g->kits[g->count++] = kit->id;
	return true;
}

enum status whom_possible(const struct work *work, const struct effectivity *statement,
                          const struct kit_id **out, size_t *count)
{
	struct gathering g = {.arena = work->arena};
	enum status status = whom_each(work, statement, gather_kit, &g);

	if (status == ST_OK && arena_failed(work->arena))
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
