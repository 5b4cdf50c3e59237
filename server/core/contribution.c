#include "core/contribution.h"

#include <assert.h>
#include <stdalign.h>
#include <string.h>

/* ---- of one kit ---- */

static uint32_t want_of(const struct wanted *wanted)
{
	const struct notice *notice = &wanted->entry->notice;
	uint32_t line = 0;

	if (wanted->material)
		return (uint32_t)(wanted->material - notice->material);
	while (!name_same(&notice->lines[line].replacement, &wanted->need.number))
		line++;
	return (uint32_t)notice->n_material + line;
}

static bool is_cut(const struct wanted *wanted)
{
	return wanted->material && wanted->material->n_cuts > 0;
}

enum status contribution_make(struct arena *arena, const struct catalogue *catalogue,
                              const struct wanted *wanted, size_t count, struct contribution *out)
{
	struct contribution_row *rows = ARENA_ARRAY(arena, struct contribution_row, count);
	size_t n = 0;

	if (!rows)
		return ST_NOMEM;
	for (size_t i = 0; i < count; i++) {
		const struct wanted *w = &wanted[i];
		struct contribution_row row = {
		        .entry = (uint32_t)(w->entry - catalogue->entries),
		        .want = want_of(w) & INT32_MAX,
		};

		if (!is_cut(w) && w->supply.state == SUPPLY_HAVE)
			continue;
		if (!is_cut(w)) {
			row.unstated = w->need.amount.thousandths == 0;
			row.lacking = w->supply.lacking;
			row.uncertain = w->supply.most - w->supply.sure;
		}
		rows[n++] = row;
	}
	*out = (struct contribution){.rows = rows, .n_rows = n};
	return ST_OK;
}

size_t contribution_size(const struct contribution *from)
{
	size_t size = sizeof *from + from->n_rows * sizeof *from->rows +
	              from->n_cuts * sizeof *from->cuts;

	for (size_t i = 0; i < from->n_cuts; i++)
		size += strlen(from->cuts[i].stock) + strlen(from->cuts[i].item) + 2;
	return size;
}

static const char *copy_words(char **at, const char *words)
{
	size_t len = strlen(words) + 1;
	char *copy = memcpy(*at, words, len);

	*at += len;
	return copy;
}

struct contribution *contribution_copy(const struct contribution *from, void *block)
{
	struct contribution *copy = block;
	struct contribution_row *rows = (struct contribution_row *)(copy + 1);
	struct contribution_cut *cuts = (struct contribution_cut *)(rows + from->n_rows);
	char *words = (char *)(cuts + from->n_cuts);

	static_assert(sizeof *copy % alignof(struct contribution_row) == 0 &&
	                      sizeof *rows % alignof(struct contribution_cut) == 0,
	              "the parts follow each other without gaps");
	*copy = (struct contribution){rows, cuts, from->n_rows, from->n_cuts};
	if (from->n_rows)
		memcpy(rows, from->rows, from->n_rows * sizeof *rows);
	for (size_t i = 0; i < from->n_cuts; i++) {
		cuts[i] = from->cuts[i];
		cuts[i].stock = copy_words(&words, from->cuts[i].stock);
		cuts[i].item = copy_words(&words, from->cuts[i].item);
	}
	return copy;
}

/* ---- of all ---- */

struct want_sum {
	uint32_t row;  /* of the list, from 1; 0: none yet */
	uint32_t kits; /* that want its lengths */
};

enum status contribution_sum_begin(struct arena *arena, const struct catalogue *catalogue,
                                   const struct parts_book *book, struct contribution_sum *out)
{
	uint32_t *first = ARENA_ARRAY(arena, uint32_t, catalogue->count);
	struct want_sum *wants;
	uint32_t count = 0;

	for (size_t i = 0; first && i < catalogue->count; i++) {
		const struct notice *notice = &catalogue->entries[i].notice;

		first[i] = count;
		count += (uint32_t)(notice->n_material + notice->n_lines);
	}
	wants = ARENA_ARRAY(arena, struct want_sum, count);
	if (!first || !wants)
		return ST_NOMEM;
	*out = (struct contribution_sum){.arena = arena,
	                                 .catalogue = catalogue,
	                                 .book = book,
	                                 .first = first,
	                                 .wants = wants};
	return ST_OK;
}

/* Looked up once for a want, whatever the number of kits. */
static bool find_row(struct contribution_sum *sum, const struct contribution_row *row,
                     struct want_sum *want)
{
	const struct catalogue_entry *entry = &sum->catalogue->entries[row->entry];
	size_t n_material = entry->notice.n_material;
	struct shopping_ask ask = {.entry = entry};
	uint32_t at;

	if (row->want < n_material) {
		const struct notice_material *material = &entry->notice.material[row->want];

		ask.number = &material->number;
		ask.unit = &material->amount.unit;
		ask.item = material->item;
	} else {
		static const struct name pieces = {.text = ""};

		ask.number = &entry->notice.lines[row->want - n_material].replacement;
		ask.unit = &pieces;
		ask.item = ask.number->text;
	}
	ask.order = parts_book_latest(sum->book, ask.number);
	if (!shopping_place(sum->arena, &sum->shopping, &ask, &at))
		return false;
	want->row = at + 1;
	return true;
}

static bool is_cut_row(const struct contribution_sum *sum, const struct contribution_row *row)
{
	const struct notice *notice = &sum->catalogue->entries[row->entry].notice;

	return row->want < notice->n_material && notice->material[row->want].n_cuts > 0;
}

static void add_cuts(struct contribution_sum *sum, const struct contribution *kit)
{
	for (size_t i = 0; i < kit->n_cuts && !sum->shopping.failed; i++) {
		const struct contribution_cut *own = &kit->cuts[i];
		const struct cut cut = {own->length, own->count};
		const char *item = "";
		struct name stock;

		if (name_make(sum->arena, own->stock, strlen(own->stock), &stock) != ST_OK ||
		    !(item = arena_string(sum->arena, own->item)))
			sum->shopping.failed = true;
		else
			shopping_add_cuts(sum->arena, &sum->shopping, &stock, item, &cut, 1);
	}
}

void contribution_add(struct contribution_sum *sum, const struct contribution *kit)
{
	struct shopping *shopping = &sum->shopping;

	for (size_t i = 0; i < kit->n_rows && !shopping->failed; i++) {
		const struct contribution_row *row = &kit->rows[i];
		struct want_sum *want = &sum->wants[sum->first[row->entry] + row->want];

		if (is_cut_row(sum, row))
			want->kits++;
		else if (!want->row && !find_row(sum, row, want))
			shopping->failed = true;
		else
			shopping_count(&shopping->rows[want->row - 1], sum->kits, row->lacking,
			               row->uncertain, row->unstated);
	}
	add_cuts(sum, kit);
	sum->kits++;
}

/* The lengths that notices ask for, so many times as kits want them. */
static void add_wanted_cuts(struct contribution_sum *sum, size_t i)
{
	const struct notice *notice = &sum->catalogue->entries[i].notice;

	for (size_t m = 0; m < notice->n_material; m++) {
		const struct notice_material *material = &notice->material[m];
		unsigned kits = sum->wants[sum->first[i] + m].kits;

		for (size_t k = 0; kits && k < material->n_cuts; k++) {
			const struct cut cut = {material->cuts[k].length,
			                        material->cuts[k].count * kits};

			shopping_add_cuts(sum->arena, &sum->shopping, &material->number,
			                  material->item, &cut, 1);
		}
	}
}

enum status contribution_sum_end(struct contribution_sum *sum)
{
	for (size_t i = 0; i < sum->catalogue->count; i++)
		add_wanted_cuts(sum, i);
	if (sum->shopping.failed)
		return ST_NOMEM;
	shopping_sort(&sum->shopping);
	return ST_OK;
}
