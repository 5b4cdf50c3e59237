#include "chapter/kit_view.h"

#include <stdlib.h>

#include "store/parts.h"
#include "store/store.h"

/* ---- deciding ---- */

enum kit_pile kit_pile_of(const struct standing *standing)
{
	static const enum kit_pile piles[STANDING_KINDS] = {
	        [STANDING_NOT_EFFECTIVE] = PILE_NOT_EFFECTIVE,
	        [STANDING_ASK] = PILE_ASK,
	        [STANDING_REPLACED] = PILE_REPLACED,
	        [STANDING_IN_THE_PLANS] = PILE_IN_THE_PLANS,
	        [STANDING_CONFORMS] = PILE_CONFORMS,
	        [STANDING_DONE] = PILE_DONE,
	        [STANDING_REPEATING] = PILE_REPEATING,
	        [STANDING_OPEN] = PILE_LEFT,
	};

	return standing_is_left(standing) ? PILE_LEFT : piles[standing->kind];
}

struct standing kit_view_standing(const struct kit_view *view, const struct catalogue_entry *entry)
{
	return standing_decide(view->catalogue, entry, &view->state, view->today);
}

static int by_weight(const void *a, const void *b, void *context)
{
	const struct kit_view *view = context;
	uint32_t i = *(const uint32_t *)a, k = *(const uint32_t *)b;
	const struct catalogue_entry *x = &view->catalogue->entries[i];
	const struct catalogue_entry *y = &view->catalogue->entries[k];

	if (x->notice.force != y->notice.force)
		return x->notice.force < y->notice.force ? -1 : 1;
	if (x->rank != y->rank)
		return x->rank < y->rank ? -1 : 1;
	if (x->notice.issued.first != y->notice.issued.first)
		return x->notice.issued.first < y->notice.issued.first ? -1 : 1;
	return (i > k) - (i < k); /* entries are in order of number */
}

/* One list for all piles: counted, laid end to end, filled, sorted. */
static enum status pile_up(struct arena *arena, struct kit_view *view)
{
	size_t count = view->catalogue->count;
	uint8_t *piles = ARENA_ARRAY(arena, uint8_t, count);
	uint32_t *list = ARENA_ARRAY(arena, uint32_t, count);
	uint32_t *at[KIT_PILES];

	if (!piles || !list)
		return ST_NOMEM;
	for (size_t i = 0; i < count; i++) {
		struct standing standing = kit_view_standing(view, &view->catalogue->entries[i]);

		piles[i] = (uint8_t)kit_pile_of(&standing);
		view->piled[piles[i]]++;
	}
	for (unsigned pile = 0; pile < KIT_PILES; pile++) {
		view->pile[pile] = at[pile] = list;
		list += view->piled[pile];
	}
	for (uint32_t i = 0; i < count; i++)
		*at[piles[i]]++ = i;
	for (unsigned pile = 0; pile < KIT_PILES; pile++)
		qsort_r(at[pile] - view->piled[pile], view->piled[pile], sizeof **at, by_weight,
		        view);
	return ST_OK;
}

static enum status decide_parts(struct arena *arena, struct kit_view *view)
{
	enum status status = wanted_list(arena, view->parts, view->catalogue, view->pile[PILE_LEFT],
	                                 view->piled[PILE_LEFT], &view->state, view->stock,
	                                 view->n_stock, &view->wanted, &view->n_wanted);

	if (status == ST_OK)
		status = taken_asks(arena, view->parts, view->catalogue, &view->state, view->stock,
		                    view->n_stock, &view->asks, &view->n_asks);
	return status;
}

const struct wanted *kit_view_wanted(const struct kit_view *view,
                                     const struct catalogue_entry *entry, size_t *count)
{
	size_t first = 0, last;

	while (first < view->n_wanted && view->wanted[first].entry != entry)
		first++;
	for (last = first; last < view->n_wanted && view->wanted[last].entry == entry;)
		last++;
	*count = last - first;
	return view->wanted + first;
}

static enum status decide(struct arena *arena, struct kit_view *view)
{
	enum status status = kit_state_make(arena, &view->facts, view->records, view->n_records,
	                                    &view->use, &view->state);

	if (status == ST_OK)
		status = standing_fill_done(arena, view->catalogue, &view->state, &view->facts);
	if (status == ST_OK)
		status = pile_up(arena, view);
	if (status == ST_OK)
		status = decide_parts(arena, view);
	if (status == ST_OK)
		status = questions_rank(arena, view->catalogue, &view->facts, &view->questions,
		                        &view->n_questions);
	return status;
}

/* ---- the plan ---- */

const struct catalogue_entry *kit_plan_entry(const struct kit_view *view, size_t i)
{
	return &view->catalogue->entries[view->pile[PILE_LEFT][i]];
}

bool kit_plan_find(const struct kit_view *view, const struct catalogue_entry *entry, size_t *out)
{
	uint32_t at = (uint32_t)(entry - view->catalogue->entries);

	for (size_t i = 0; view->line && i < view->plan.count; i++)
		if (view->pile[PILE_LEFT][i] == at) {
			*out = i;
			return true;
		}
	return false;
}

enum status line_load(struct store *store, struct arena *arena, struct line_id id, struct line *out,
                      int64_t *version)
{
	struct line_entry *entry = ARENA_NEW(arena, struct line_entry);
	struct line_head head;
	struct line_fault fault;
	enum status status = entry ? line_read(store, arena, id, &head, entry) : ST_NOMEM;

	if (status == ST_OK)
		status = line_make(arena, entry, out, &fault);
	if (status == ST_OK)
		*version = head.version;
	return status;
}

static enum status make_plan(struct arena *arena, struct kit_view *view)
{
	size_t count = view->piled[PILE_LEFT];
	const struct notice **notices = ARENA_ARRAY(arena, const struct notice *, count);
	uint32_t *by_moment = ARENA_ARRAY(arena, uint32_t, count);
	enum status status;

	if (!notices || !by_moment)
		return ST_NOMEM;
	for (size_t i = 0; i < count; i++)
		notices[i] = &kit_plan_entry(view, i)->notice;
	status = plan_make(arena, view->line, &view->facts, notices, count, view->today,
	                   &view->plan);
	for (size_t i = 0; status == ST_OK && i < count; i++)
		by_moment[i] = view->pile[PILE_LEFT][view->plan.order[i]];
	view->by_moment = by_moment;
	return status;
}

/* A line that was removed or changed since the kit was read makes a view that
 * its reader throws away: the version tells. */
static enum status load_plan(struct store *store, struct arena *arena, struct kit_view *view)
{
	struct line *line;
	enum status status;

	if (view->kit.line.v == 0)
		return ST_OK;
	line = ARENA_NEW(arena, struct line);
	status = line ? line_load(store, arena, view->kit.line, line, &view->kit.line_version)
	              : ST_NOMEM;
	if (status == ST_MISSING)
		return ST_OK;
	view->line = line;
	return status == ST_OK ? make_plan(arena, view) : status;
}

/* ---- loading ---- */

/* out stays where it is: its state points to its facts. */
static enum status load_all(const struct work *work, struct kit_id id, struct kit_view *out)
{
	struct store *store = work->store;
	struct arena *arena = work->arena;
	enum status status = kit_read(store, arena, id, &out->kit);

	if (status == ST_OK)
		status = kits_borrow(work, &out->kit, &out->held);
	if (status != ST_OK)
		return status;
	out->facts = out->held->facts;
	out->records = out->held->records;
	out->n_records = out->held->n_records;
	status = kit_log_use(store, arena, id, &out->use);
	if (status == ST_OK)
		status = reading_list(store, arena, id, &out->readings, &out->n_readings);
	if (status == ST_OK)
		status = kit_stock_list(store, arena, id, &out->stock, &out->n_stock);
	if (status == ST_OK)
		status = decide(arena, out);
	return status == ST_OK ? load_plan(store, arena, out) : status;
}

/* All of one state, whoever writes meanwhile. */
enum status kit_view_load(const struct work *work, struct kit_id id, struct kit_view *out)
{
	enum status status;

	*out = (struct kit_view){
	        .catalogue = work->catalogue, .parts = work->parts, .today = work->today};
	status = store_begin_reading(work->store);
	if (status != ST_OK)
		return status;
	return store_end_reading(work->store, load_all(work, id, out));
}

void kit_view_done(struct kit_view *view)
{
	if (view->held)
		kits_return(view->held);
	view->held = NULL;
}

/* ---- reading ---- */

static int by_notice(const void *key, const void *at)
{
	int64_t id = ((const struct notice_id *)key)->v;
	int64_t other = ((const struct reading *)at)->notice.v;

	return (id > other) - (id < other);
}

enum kit_reading kit_view_reading(const struct kit_view *view, const struct notice *notice)
{
	const struct reading *reading = NULL;

	if (view->n_readings)
		reading = bsearch(&notice->id, view->readings, view->n_readings, sizeof *reading,
		                  by_notice);
	if (!reading)
		return READING_NOT;
	return reading->revision.v == notice->revision_id.v ? READING_DONE : READING_REVISED;
}
