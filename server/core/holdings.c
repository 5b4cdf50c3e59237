#include "core/holdings.h"

#include <stdlib.h>
#include <string.h>

/* ---- the book ---- */

static int by_place(const void *a, const void *b)
{
	const struct packed_place *x = a, *y = b;
	int order = name_compare(&x->part->number, &y->part->number);

	if (!order)
		order = name_compare(&x->part->unit, &y->part->unit);
	if (!order)
		order = name_compare(&x->list->subkit, &y->list->subkit);
	if (!order)
		order = name_compare(&x->list->name, &y->list->name);
	return order ? order : (x->part > y->part) - (x->part < y->part);
}

static int by_old(const void *a, const void *b)
{
	return name_compare(&((const struct number_change *)a)->old,
	                    &((const struct number_change *)b)->old);
}

static const struct number_change *find_change(const struct parts_book *book,
                                               const struct name *number)
{
	const struct number_change key = {.old = *number};

	if (book->n_changes == 0)
		return NULL;
	return bsearch(&key, book->changes, book->n_changes, sizeof key, by_old);
}

const struct name *parts_book_later(const struct parts_book *book, const struct name *number)
{
	const struct number_change *change = find_change(book, number);

	return change ? &change->later : NULL;
}

static bool has_model(const struct packing_list *list, const struct name *model)
{
	for (size_t i = 0; i < list->n_models; i++)
		if (name_equal(&list->models[i], model))
			return true;
	return false;
}

bool packing_lists_overlap(const struct packing_list *a, const struct packing_list *b)
{
	if (!name_equal(&a->subkit, &b->subkit) || a->shipped.last < b->shipped.first ||
	    b->shipped.last < a->shipped.first)
		return false;
	for (size_t i = 0; i < b->n_models; i++)
		if (has_model(a, &b->models[i]))
			return true;
	return false;
}

static enum status list_places(struct arena *arena, struct parts_book *book)
{
	struct packed_place *places;
	size_t count = 0;

	for (size_t i = 0; i < book->n_lists; i++)
		count += book->lists[i].n_parts;
	places = ARENA_ARRAY(arena, struct packed_place, count);
	if (!places)
		return ST_NOMEM;
	book->places = places;
	book->n_places = count;
	for (size_t i = 0; i < book->n_lists; i++)
		for (size_t k = 0; k < book->lists[i].n_parts; k++)
			*places++ =
			        (struct packed_place){&book->lists[i], &book->lists[i].parts[k]};
	qsort(places - count, count, sizeof *places, by_place);
	return ST_OK;
}

static enum status sort_changes(struct arena *arena, const struct number_change *changes,
                                size_t count, struct parts_book *book)
{
	struct number_change *sorted = ARENA_ARRAY(arena, struct number_change, count);

	if (!sorted)
		return ST_NOMEM;
	if (count)
		memcpy(sorted, changes, count * sizeof *sorted);
	qsort(sorted, count, sizeof *sorted, by_old);
	book->changes = sorted;
	book->n_changes = count;
	return ST_OK;
}

/* Each number leads to one later number at most, so a walk that takes more
 * steps than there are changes has come round: Brent's or Floyd's hare is not
 * needed for lists of this size, but a walk that meets one that was walked
 * before may stop there. */
static const struct number_change *find_circle(const struct parts_book *book, uint8_t *seen)
{
	enum { NEW, ON_THIS_WALK, FINE };

	for (size_t i = 0; i < book->n_changes; i++) {
		const struct number_change *at = &book->changes[i];

		while (at && seen[at - book->changes] == NEW) {
			seen[at - book->changes] = ON_THIS_WALK;
			at = find_change(book, &at->later);
		}
		if (at && seen[at - book->changes] == ON_THIS_WALK)
			return at;
		for (at = &book->changes[i]; at && seen[at - book->changes] == ON_THIS_WALK;
		     at = find_change(book, &at->later))
			seen[at - book->changes] = FINE;
	}
	return NULL;
}

static enum status check_changes(struct arena *arena, const struct parts_book *book,
                                 const struct number_change **culprit)
{
	uint8_t *seen = ARENA_ARRAY(arena, uint8_t, book->n_changes);
	const struct number_change *found = NULL;

	if (!seen)
		return ST_NOMEM;
	for (size_t i = 1; i < book->n_changes && !found; i++)
		if (name_equal(&book->changes[i - 1].old, &book->changes[i].old))
			found = &book->changes[i];
	if (!found)
		found = find_circle(book, seen);
	if (found && culprit)
		*culprit = found;
	return found ? ST_INVALID : ST_OK;
}

enum status parts_book_build(struct arena *arena, const struct parts_source *source,
                             const struct parts_book **out, const struct number_change **culprit)
{
	struct parts_book *book = ARENA_NEW(arena, struct parts_book);
	enum status status;

	if (!book)
		return ST_NOMEM;
	*book = (struct parts_book){.lists = source->lists,
	                            .n_lists = source->n_lists,
	                            .stock = source->stock,
	                            .n_stock = source->n_stock};
	status = list_places(arena, book);
	if (status == ST_OK)
		status = sort_changes(arena, source->changes, source->n_changes, book);
	if (status == ST_OK)
		status = check_changes(arena, book, culprit);
	if (status == ST_OK)
		*out = book;
	return status;
}

const struct stock_code *parts_book_stock(const struct parts_book *book, const struct name *code)
{
	for (size_t i = 0; i < book->n_stock; i++)
		if (name_equal(&book->stock[i].code, code))
			return &book->stock[i];
	return NULL;
}

const struct name *parts_book_latest(const struct parts_book *book, const struct name *number)
{
	for (const struct name *later; (later = parts_book_later(book, number)) != NULL;)
		number = later;
	return number;
}

static int place_order(const struct packed_place *place, const struct name *number,
                       const struct name *unit)
{
	int order = name_compare(&place->part->number, number);

	return order ? order : name_compare(&place->part->unit, unit);
}

const struct packed_place *parts_book_places(const struct parts_book *book,
                                             const struct name *number, const struct name *unit,
                                             size_t *count)
{
	size_t low = 0, high = book->n_places;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (place_order(&book->places[middle], number, unit) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	while (high < book->n_places && place_order(&book->places[high], number, unit) == 0)
		high++;
	*count = high - low;
	return book->places + low;
}

/* ---- what a kit was sent ---- */

static enum truth ask(enum truth answer, enum fact_kind kind, const struct name *about,
                      struct fact *settles)
{
	if (answer == TRUTH_UNKNOWN)
		*settles = (struct fact){.kind = kind, .about = *about};
	return answer;
}

static enum truth model_matches(const struct packing_list *list, const struct facts *facts)
{
	if (name_is_empty(&facts->model))
		return TRUTH_UNKNOWN;
	return truth_of(has_model(list, &facts->model));
}

static bool always(struct day_range range)
{
	return range.first == DAY_FIRST && range.last == DAY_LAST;
}

enum truth packing_list_applies(const struct packing_list *list, const struct facts *facts,
                                struct fact *settles)
{
	const struct subkit_fact *subkit = facts_subkit(facts, &list->subkit);
	const struct name none = {.text = ""};
	enum truth answer = ask(model_matches(list, facts), FACT_MODEL, &none, settles);

	if (answer == TRUTH_FALSE || (subkit && !subkit->received))
		return TRUTH_FALSE;
	if (!subkit)
		return ask(TRUTH_UNKNOWN, FACT_SUBKIT, &list->subkit, settles);
	if (always(list->shipped))
		return answer;
	return truth_and(answer, ask(date_in_range(&subkit->shipped, list->shipped), FACT_SHIPPED,
	                             &list->subkit, settles));
}

/* Days on which the sub-kit may have been shipped. */
static struct day_range may_have_shipped(const struct subkit_fact *subkit)
{
	if (subkit->shipped.state != DATE_KNOWN)
		return (struct day_range){DAY_FIRST, DAY_LAST};
	return (struct day_range){subkit->shipped.date.first, subkit->shipped.date.last};
}

static int64_t days_in(struct day_range a, struct day_range b)
{
	int64_t first = a.first > b.first ? a.first : b.first;
	int64_t last = a.last < b.last ? a.last : b.last;

	return last < first ? 0 : last - first + 1;
}

/* Is there a list for whatever day it was shipped? Lists never overlap, so
 * their days add up. */
static bool covered(const struct parts_book *book, const struct facts *facts,
                    const struct name *code)
{
	const struct subkit_fact *subkit = facts_subkit(facts, code);
	struct day_range days;
	int64_t left;

	if (!subkit || name_is_empty(&facts->model))
		return false;
	days = may_have_shipped(subkit);
	left = days_in(days, days);
	for (size_t i = 0; i < book->n_lists; i++)
		if (name_equal(&book->lists[i].subkit, code) &&
		    has_model(&book->lists[i], &facts->model))
			left -= days_in(book->lists[i].shipped, days);
	return left == 0;
}

/* How many lists of the sub-kit could apply. */
static size_t candidates(const struct parts_book *book, const struct facts *facts,
                         const struct name *code)
{
	size_t count = 0;
	struct fact settles;

	for (size_t i = 0; i < book->n_lists; i++)
		count += name_equal(&book->lists[i].subkit, code) &&
		         packing_list_applies(&book->lists[i], facts, &settles) != TRUTH_FALSE;
	return count;
}

/* What one sub-kit's lists say: the least and the most of those that could apply. */
struct range {
	int64_t least, most;
	size_t lists; /* that hold it and could apply */
};

/* Takes the run of places of one list; returns how many. */
static size_t take_list(const struct packed_place *places, size_t count, const struct facts *facts,
                        struct range *range, struct holding *holding)
{
	const struct packing_list *list = places[0].list;
	struct fact settles;
	enum truth applies = packing_list_applies(list, facts, &settles);
	int64_t sum = 0;
	size_t n = 0;

	for (; n < count && places[n].list == list; n++)
		sum += places[n].part->quantity;
	if (applies == TRUTH_FALSE)
		return n;
	if (range->lists == 0 || sum < range->least)
		range->least = sum;
	if (sum > range->most)
		range->most = sum;
	range->lists++;
	if (applies == TRUTH_UNKNOWN && !holding->settles_known) {
		holding->settles = settles;
		holding->settles_known = true;
	}
	return n;
}

/* Takes the run of places of one sub-kit; returns how many. */
static size_t take_subkit(const struct parts_book *book, const struct packed_place *places,
                          size_t count, const struct facts *facts, struct holding *holding)
{
	const struct name *code = &places[0].list->subkit;
	bool knew = holding->settles_known;
	struct range range = {0};
	size_t n = 0;

	while (n < count && name_equal(&places[n].list->subkit, code))
		n += take_list(places + n, count - n, facts, &range, holding);
	if (range.lists == 0)
		return n;
	if (!covered(book, facts, code) || candidates(book, facts, code) != range.lists)
		range.least = 0;
	if (range.least == range.most)
		holding->settles_known = knew;
	holding->sure += range.least;
	holding->most += range.most;
	return n;
}

static int64_t less(int64_t from, int64_t by)
{
	return from > by ? from - by : 0;
}

static void take_entry(const struct stock_entry *entry, struct holding *holding)
{
	switch (entry->act) {
	case STOCK_COUNTED:
		*holding = (struct holding){
		        .sure = entry->quantity, .most = entry->quantity, .counted = true};
		break;
	case STOCK_GOT:
		holding->sure += entry->quantity;
		holding->most += entry->quantity;
		break;
	case STOCK_USED:
	case STOCK_LOST:
		holding->sure = less(holding->sure, entry->quantity);
		holding->most = less(holding->most, entry->quantity);
		break;
	}
	if (holding->sure == holding->most)
		holding->settles_known = false;
}

struct holding holding_of(const struct parts_book *book, const struct facts *facts,
                          const struct stock_entry *entries, size_t n_entries,
                          const struct name *number, const struct name *unit)
{
	struct holding holding = {0};
	size_t count;
	const struct packed_place *places = parts_book_places(book, number, unit, &count);

	for (size_t i = 0; i < count;)
		i += take_subkit(book, places + i, count - i, facts, &holding);
	for (size_t i = 0; i < n_entries; i++)
		if (name_equal(&entries[i].number, number) && name_same(&entries[i].unit, unit))
			take_entry(&entries[i], &holding);
	return holding;
}

/* ---- words ---- */

static const char *const act_words[STOCK_ACTS] = {
        [STOCK_COUNTED] = "counted",
        [STOCK_GOT] = "got",
        [STOCK_USED] = "used",
        [STOCK_LOST] = "lost",
};

const char *stock_act_words(enum stock_act act)
{
	return act_words[act];
}

bool stock_act_from_words(const char *words, enum stock_act *out)
{
	for (unsigned i = 0; i < STOCK_ACTS; i++)
		if (strcmp(words, act_words[i]) == 0) {
			*out = (enum stock_act)i;
			return true;
		}
	return false;
}

/* ---- sharing ---- */

/* What is left of one number in one unit while needs are served. */
struct pool {
	struct name number, unit;
	struct holding holding; /* as it was */
	int64_t sure, most;     /* left */
};

struct pools {
	struct pool *at;
	size_t count;
	uint32_t *slots; /* index + 1 by hash; 0: free */
	size_t n_slots;  /* a power of two */
};

struct sharing {
	const struct parts_book *book;
	const struct facts *facts;
	const struct stock_entry *entries;
	size_t n_entries;
	struct pools pools;
};

static uint32_t *find_slot(struct pools *pools, const struct name *number, const struct name *unit)
{
	uint32_t hash = number->hash * 31 + (name_is_empty(unit) ? 0 : unit->hash);
	size_t at = hash & (pools->n_slots - 1);

	while (pools->slots[at]) {
		const struct pool *pool = &pools->at[pools->slots[at] - 1];

		if (name_equal(&pool->number, number) && name_same(&pool->unit, unit))
			break;
		at = (at + 1) & (pools->n_slots - 1);
	}
	return &pools->slots[at];
}

/* Twice as many slots as numbers that could be asked for. */
static enum status pools_room(struct arena *arena, const struct parts_book *book,
                              const struct need *needs, size_t n_needs, struct pools *pools)
{
	size_t room = 0;

	for (size_t i = 0; i < n_needs; i++)
		for (const struct name *number = &needs[i].number; number;
		     number = parts_book_later(book, number))
			room++;
	for (pools->n_slots = 2; pools->n_slots < 2 * room;)
		pools->n_slots *= 2;
	pools->at = ARENA_ARRAY(arena, struct pool, room);
	pools->slots = ARENA_ARRAY(arena, uint32_t, pools->n_slots);
	return pools->at && pools->slots ? ST_OK : ST_NOMEM;
}

static struct pool *pool_of(struct sharing *s, const struct name *number, const struct name *unit)
{
	uint32_t *slot = find_slot(&s->pools, number, unit);
	struct pool *pool;

	if (*slot)
		return &s->pools.at[*slot - 1];
	pool = &s->pools.at[s->pools.count++];
	*slot = (uint32_t)s->pools.count;
	pool->number = *number;
	pool->unit = *unit;
	pool->holding = holding_of(s->book, s->facts, s->entries, s->n_entries, number, unit);
	pool->sure = pool->holding.sure;
	pool->most = pool->holding.most;
	return pool;
}

static int64_t draw(int64_t *from, int64_t wanted)
{
	int64_t drawn = *from < wanted ? *from : wanted;

	*from -= drawn;
	return drawn;
}

static void note_source(struct supply *supply, const struct pool *pool)
{
	if (name_is_empty(&supply->from)) {
		supply->from = pool->number;
		supply->counted = pool->holding.counted;
	}
	if (pool->holding.settles_known && !supply->settles_known) {
		supply->settles = pool->holding.settles;
		supply->settles_known = true;
	}
}

/* Words like "as required": one of it would do, and none is taken away. */
static void look_only(struct sharing *s, const struct need *need, struct supply *supply)
{
	for (const struct name *number = &need->number; number;
	     number = parts_book_later(s->book, number)) {
		const struct pool *pool = pool_of(s, number, &need->amount.unit);

		if (pool->most == 0)
			continue;
		note_source(supply, pool);
		supply->most = pool->most;
		supply->sure += pool->sure;
	}
	supply->state = supply->sure ? SUPPLY_HAVE : supply->most ? SUPPLY_MAY_HAVE : SUPPLY_SHORT;
	supply->sure = supply->most = 0;
}

static void serve(struct sharing *s, const struct need *need, struct supply *supply)
{
	int64_t wanted = need->amount.thousandths;

	for (const struct name *number = &need->number; number;
	     number = parts_book_later(s->book, number)) {
		struct pool *pool = pool_of(s, number, &need->amount.unit);

		if (pool->most > 0 && supply->most < wanted)
			note_source(supply, pool);
		supply->sure += draw(&pool->sure, wanted - supply->sure);
		supply->most += draw(&pool->most, wanted - supply->most);
	}
	supply->lacking = wanted - supply->most;
	supply->state = supply->sure == wanted   ? SUPPLY_HAVE
	                : supply->most == wanted ? SUPPLY_MAY_HAVE
	                                         : SUPPLY_SHORT;
}

static void supply_need(struct sharing *s, const struct need *need, struct supply *supply)
{
	supply->state = SUPPLY_SHORT;
	supply->lacking = need->amount.thousandths;
	supply->order = parts_book_latest(s->book, &need->number);
	if (name_is_empty(&need->number))
		return;
	if (need->amount.thousandths == 0)
		look_only(s, need, supply);
	else
		serve(s, need, supply);
	if (supply->state == SUPPLY_HAVE)
		supply->settles_known = false;
}

enum status supplies_share(struct arena *arena, const struct parts_book *book,
                           const struct facts *facts, const struct stock_entry *entries,
                           size_t n_entries, const struct need *needs, size_t n_needs,
                           const struct supply **out)
{
	struct sharing sharing = {book, facts, entries, n_entries, {0}};
	struct supply *supplies = ARENA_ARRAY(arena, struct supply, n_needs);
	enum status status = supplies ? ST_OK : ST_NOMEM;

	if (status == ST_OK)
		status = pools_room(arena, book, needs, n_needs, &sharing.pools);
	if (status != ST_OK)
		return status;
	for (size_t i = 0; i < n_needs; i++)
		supply_need(&sharing, &needs[i], &supplies[i]);
	*out = supplies;
	return ST_OK;
}
