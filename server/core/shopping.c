#include "core/shopping.h"

#include <stdlib.h>
#include <string.h>

/* ---- what a kit wants ---- */

static bool is_replaced(const struct notice_line *line)
{
	return line->disposition == DISPOSE_REPLACE && !name_is_empty(&line->replacement);
}

static bool is_open(const struct catalogue_entry *entry, size_t line, const struct kit_state *kit)
{
	const struct record *by;

	return standing_line(entry, line, kit, &by) == LINE_OPEN;
}

/* Lines that this number replaces, and how many of them are open. */
static size_t lines_replaced_by(const struct catalogue_entry *entry, const struct name *number,
                                const struct kit_state *kit, size_t *open)
{
	size_t lines = 0;

	*open = 0;
	for (size_t i = 0; i < entry->notice.n_lines; i++) {
		const struct notice_line *line = &entry->notice.lines[i];

		if (!is_replaced(line) || !name_equal(&line->replacement, number))
			continue;
		lines++;
		*open += is_open(entry, i, kit);
	}
	return lines;
}

static bool material_names(const struct notice *notice, const struct name *number)
{
	for (size_t i = 0; i < notice->n_material; i++)
		if (name_equal(&notice->material[i].number, number))
			return true;
	return false;
}

/* The share of the open lines, rounded up to whole pieces where it is in pieces. */
static int64_t share_of(int64_t quantity, size_t open, size_t lines)
{
	int64_t share = quantity * (int64_t)open / (int64_t)lines;
	int64_t part = share % AMOUNT_ONE;

	return part && quantity % AMOUNT_ONE == 0 ? share - part + AMOUNT_ONE : share;
}

struct wanting {
	const struct kit_state *kit;
	struct wanted *list;
	size_t count;
};

static void want_material(struct wanting *w, const struct catalogue_entry *entry,
                          const struct notice_material *material)
{
	struct wanted wanted = {.entry = entry, .material = material, .item = material->item};
	size_t open, lines = lines_replaced_by(entry, &material->number, w->kit, &open);

	wanted.need = (struct need){.number = material->number, .amount = material->amount};
	if (lines > 0 && open == 0)
		return;
	if (lines > 0)
		wanted.need.amount.thousandths =
		        share_of(wanted.need.amount.thousandths, open, lines);
	w->list[w->count++] = wanted;
}

/* Lines that share a replacement ask for it together, at the first of them. */
static void want_replacement(struct wanting *w, const struct catalogue_entry *entry, size_t i)
{
	const struct notice_line *line = &entry->notice.lines[i];
	struct wanted wanted = {.entry = entry, .item = line->replacement.text};
	size_t open;

	if (!is_replaced(line) || material_names(&entry->notice, &line->replacement))
		return;
	for (size_t k = 0; k < i; k++)
		if (is_replaced(&entry->notice.lines[k]) &&
		    name_equal(&entry->notice.lines[k].replacement, &line->replacement))
			return;
	(void)lines_replaced_by(entry, &line->replacement, w->kit, &open);
	if (open == 0)
		return;
	wanted.need = (struct need){line->replacement, {(int64_t)open * AMOUNT_ONE, {0}}, 0};
	w->list[w->count++] = wanted;
}

static void want_notice(struct wanting *w, const struct catalogue_entry *entry)
{
	for (size_t i = 0; i < entry->notice.n_lines; i++)
		want_replacement(w, entry, i);
	for (size_t i = 0; i < entry->notice.n_material; i++)
		want_material(w, entry, &entry->notice.material[i]);
}

/* Lengths to cut are planned apart: as a need they ask for nothing. */
static struct need need_of(const struct wanted *wanted)
{
	if (wanted->material && wanted->material->n_cuts)
		return (struct need){.number = {.text = ""}};
	return wanted->need;
}

static enum status supply_all(struct arena *arena, const struct parts_book *book,
                              const struct wanting *w, const struct stock_entry *entries,
                              size_t n_entries)
{
	struct need *needs = ARENA_ARRAY(arena, struct need, w->count);
	const struct supply *supplies;
	enum status status;

	if (!needs)
		return ST_NOMEM;
	for (size_t i = 0; i < w->count; i++)
		needs[i] = need_of(&w->list[i]);
	status = supplies_share(arena, book, w->kit->facts, entries, n_entries, needs, w->count,
	                        &supplies);
	for (size_t i = 0; status == ST_OK && i < w->count; i++)
		w->list[i].supply = supplies[i];
	return status;
}

enum status wanted_list(struct arena *arena, const struct parts_book *book,
                        const struct catalogue *catalogue, const uint32_t *left, size_t n_left,
                        const struct kit_state *kit, const struct stock_entry *entries,
                        size_t n_entries, const struct wanted **out, size_t *count)
{
	struct wanting w = {.kit = kit};
	size_t most = 0;
	enum status status;

	for (size_t i = 0; i < n_left; i++)
		most += catalogue->entries[left[i]].notice.n_material +
		        catalogue->entries[left[i]].notice.n_lines;
	w.list = ARENA_ARRAY(arena, struct wanted, most);
	if (!w.list)
		return ST_NOMEM;
	for (size_t i = 0; i < n_left; i++)
		want_notice(&w, &catalogue->entries[left[i]]);
	status = supply_all(arena, book, &w, entries, n_entries);
	if (status != ST_OK)
		return status;
	*out = w.list;
	*count = w.count;
	return ST_OK;
}

/* ---- was it taken from there? ---- */

static const struct notice_line *line_of(const struct catalogue_entry *entry,
                                         const struct record *record)
{
	for (size_t i = 0; i < entry->notice.n_lines; i++)
		if (name_same(&entry->notice.lines[i].part, &record->part) &&
		    name_same(&entry->notice.lines[i].position, &record->position))
			return &entry->notice.lines[i];
	return NULL;
}

static bool is_answered(const struct record *record, const struct stock_entry *entries,
                        size_t n_entries)
{
	for (size_t i = 0; i < n_entries; i++)
		if (entries[i].record == record->id.v)
			return true;
	return false;
}

/* The number, or one that took its place, of which the kit may hold a piece. */
static const struct name *may_hold(const struct parts_book *book, const struct facts *facts,
                                   const struct stock_entry *entries, size_t n_entries,
                                   const struct name *number)
{
	const struct name pieces = {.text = ""};

	for (; number; number = parts_book_later(book, number))
		if (holding_of(book, facts, entries, n_entries, number, &pieces).most > 0)
			return number;
	return NULL;
}

enum status taken_asks(struct arena *arena, const struct parts_book *book,
                       const struct catalogue *catalogue, const struct kit_state *kit,
                       const struct stock_entry *entries, size_t n_entries,
                       const struct taken_ask **out, size_t *count)
{
	struct taken_ask *asks = ARENA_ARRAY(arena, struct taken_ask, kit->n_records);
	size_t used = 0;

	if (!asks)
		return ST_NOMEM;
	for (size_t i = 0; i < kit->n_records; i++) {
		const struct record *record = kit->records[i];
		const struct catalogue_entry *entry = catalogue_find(catalogue, &record->notice);
		const struct notice_line *line = entry ? line_of(entry, record) : NULL;
		const struct name *number;

		if (!line || !is_replaced(line) || is_answered(record, entries, n_entries))
			continue;
		number = may_hold(book, kit->facts, entries, n_entries, &line->replacement);
		if (number)
			asks[used++] = (struct taken_ask){record, *number};
	}
	*out = asks;
	*count = used;
	return ST_OK;
}

/* ---- the list ---- */

static uint32_t *find_slot(struct shopping *s, const struct name *number, const struct name *unit)
{
	uint32_t hash = number->hash * 31 + (name_is_empty(unit) ? 0 : unit->hash);
	size_t at = hash & (s->n_slots - 1);

	while (s->slots[at]) {
		const struct shopping_row *row = &s->rows[s->slots[at] - 1];

		if (name_same(&row->number, number) && name_same(&row->unit, unit))
			break;
		at = (at + 1) & (s->n_slots - 1);
	}
	return &s->slots[at];
}

/* Room for one row more: rows double, and slots are four times as many. */
static bool grow(struct arena *arena, struct shopping *s)
{
	size_t room = s->room ? s->room * 2 : 32;
	struct shopping_row *rows;
	uint32_t *slots;

	if (s->n_rows < s->room)
		return true;
	rows = ARENA_ARRAY(arena, struct shopping_row, room);
	slots = ARENA_ARRAY(arena, uint32_t, room * 4);
	if (!rows || !slots)
		return false;
	if (s->n_rows)
		memcpy(rows, s->rows, s->n_rows * sizeof *rows);
	s->rows = rows;
	s->slots = slots;
	s->room = room;
	s->n_slots = room * 4;
	for (size_t i = 0; i < s->n_rows; i++)
		*find_slot(s, &rows[i].number, &rows[i].unit) = (uint32_t)i + 1;
	return true;
}

/* Doubles its room at each power of two. */
static bool add_notice(struct arena *arena, struct shopping_row *row,
                       const struct catalogue_entry *entry)
{
	for (unsigned i = row->notices; i-- > 0;)
		if (row->entries[i] == entry)
			return true;
	if ((row->notices & (row->notices - 1)) == 0) {
		size_t room = row->notices ? row->notices * 2u : 1;
		const struct catalogue_entry **grown =
		        ARENA_ARRAY(arena, const struct catalogue_entry *, room);

		if (!grown)
			return false;
		if (row->notices)
			memcpy(grown, row->entries, row->notices * sizeof *grown);
		row->entries = grown;
	}
	row->entries[row->notices++] = entry;
	return true;
}

bool shopping_place(struct arena *arena, struct shopping *s, const struct shopping_ask *ask,
                    uint32_t *row)
{
	uint32_t *slot;

	if (!grow(arena, s))
		return false;
	slot = find_slot(s, ask->order, ask->unit);
	if (!*slot) {
		s->rows[s->n_rows] = (struct shopping_row){.number = *ask->order,
		                                           .asked = *ask->number,
		                                           .item = ask->item,
		                                           .unit = *ask->unit};
		*slot = (uint32_t)++s->n_rows;
	}
	*row = *slot - 1;
	return add_notice(arena, &s->rows[*row], ask->entry);
}

void shopping_count(struct shopping_row *row, size_t kit, int64_t lacking, int64_t uncertain,
                    bool unstated)
{
	row->lacking += lacking;
	row->uncertain += uncertain;
	row->unstated += unstated;
	row->kits += row->last_kit != kit + 1;
	row->last_kit = kit + 1;
}

static bool add_row(struct arena *arena, struct shopping *s, size_t kit, const struct wanted *w)
{
	const struct shopping_ask ask = {w->entry, &w->need.number, w->supply.order,
	                                 &w->need.amount.unit, w->item};
	uint32_t row;

	if (!shopping_place(arena, s, &ask, &row))
		return false;
	shopping_count(&s->rows[row], kit, w->supply.lacking, w->supply.most - w->supply.sure,
	               w->need.amount.thousandths == 0);
	return true;
}

static uint32_t *find_cut(struct shopping *s, const struct name *stock, int64_t nm)
{
	size_t at = (stock->hash ^ (uint64_t)nm * UINT64_C(0x9E3779B97F4A7C15) >> 32) &
	            (s->n_cut_slots - 1);

	while (s->cut_slots[at]) {
		const struct shopping_cut *cut = &s->cuts[s->cut_slots[at] - 1];

		if (name_equal(&cut->stock, stock) && cut->length.nm == nm)
			break;
		at = (at + 1) & (s->n_cut_slots - 1);
	}
	return &s->cut_slots[at];
}

/* As for rows. */
static bool grow_cuts(struct arena *arena, struct shopping *s)
{
	size_t room = s->cut_room ? s->cut_room * 2 : 16;
	struct shopping_cut *cuts;
	uint32_t *slots;

	if (s->n_cuts < s->cut_room)
		return true;
	cuts = ARENA_ARRAY(arena, struct shopping_cut, room);
	slots = ARENA_ARRAY(arena, uint32_t, room * 4);
	if (!cuts || !slots)
		return false;
	if (s->n_cuts)
		memcpy(cuts, s->cuts, s->n_cuts * sizeof *cuts);
	s->cuts = cuts;
	s->cut_slots = slots;
	s->cut_room = room;
	s->n_cut_slots = room * 4;
	for (size_t i = 0; i < s->n_cuts; i++)
		*find_cut(s, &cuts[i].stock, cuts[i].length.nm) = (uint32_t)i + 1;
	return true;
}

static bool add_cut(struct arena *arena, struct shopping *s, const struct shopping_cut *cut)
{
	uint32_t *slot;

	if (!grow_cuts(arena, s))
		return false;
	slot = find_cut(s, &cut->stock, cut->length.nm);
	if (*slot) {
		s->cuts[*slot - 1].count += cut->count;
	} else {
		s->cuts[s->n_cuts] = *cut;
		*slot = (uint32_t)++s->n_cuts;
	}
	return true;
}

void shopping_add_cuts(struct arena *arena, struct shopping *shopping, const struct name *stock,
                       const char *item, const struct cut *cuts, size_t count)
{
	for (size_t i = 0; i < count && !shopping->failed; i++)
		shopping->failed = !add_cut(
		        arena, shopping,
		        &(struct shopping_cut){*stock, item, cuts[i].length, cuts[i].count});
}

void shopping_add(struct arena *arena, struct shopping *shopping, size_t kit,
                  const struct wanted *wanted, size_t count)
{
	for (size_t i = 0; i < count && !shopping->failed; i++) {
		const struct wanted *w = &wanted[i];

		if (w->material && w->material->n_cuts)
			shopping_add_cuts(arena, shopping, &w->need.number, w->item,
			                  w->material->cuts, w->material->n_cuts);
		else if (w->supply.state != SUPPLY_HAVE)
			shopping->failed = !add_row(arena, shopping, kit, w);
	}
}

static int by_number(const void *a, const void *b)
{
	const struct shopping_row *x = a, *y = b;
	int order = name_compare(&x->number, &y->number);

	return order ? order : name_compare(&x->unit, &y->unit);
}

static int by_stock(const void *a, const void *b)
{
	const struct shopping_cut *x = a, *y = b;
	int order = name_compare(&x->stock, &y->stock);

	return order ? order : (x->length.nm < y->length.nm) - (x->length.nm > y->length.nm);
}

void shopping_sort(struct shopping *shopping)
{
	if (shopping->n_rows)
		qsort(shopping->rows, shopping->n_rows, sizeof *shopping->rows, by_number);
	if (shopping->n_cuts)
		qsort(shopping->cuts, shopping->n_cuts, sizeof *shopping->cuts, by_stock);
	shopping->n_slots = shopping->n_cut_slots = 0;
}
