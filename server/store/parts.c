/* The book is read by one walk over each of its tables. */
#include "store/parts.h"

#include <string.h>

#include "store/acts.h"
#include "store/settings.h"
#include "store/sql.h"

enum {
	SQL_LISTS,
	SQL_MODELS,
	SQL_PARTS,
	SQL_CHANGES,
	SQL_STOCK,
	SQL_LENGTHS,
	SQL_REMOVE_LIST,
	SQL_REMOVE_CHANGE,
	SQL_REMOVE_STOCK,
	SQL_ADD_LIST,
	SQL_ADD_MODEL,
	SQL_ADD_PART,
	SQL_ADD_CHANGE,
	SQL_ADD_STOCK,
	SQL_ADD_LENGTH,
	SQL_ENTRIES,
	SQL_ADD_ENTRY,
	SQL_REMOVE_ENTRY,
	SQL_KIT_LENGTHS,
	SQL_ADD_KIT_LENGTH,
	SQL_REMOVE_KIT_LENGTH,
	SQL_TOUCH,
	SQL_COUNTED_IN,
	SQL_COUNT
};

static const char *const texts[SQL_COUNT] = {
        [SQL_LISTS] = "SELECT id, name, subkit, title, valid_from, valid_to FROM packing_lists"
                      " ORDER BY id",
        [SQL_MODELS] = "SELECT list_id, model FROM packing_list_models ORDER BY list_id, place",
        [SQL_PARTS] = "SELECT list_id, bag, part, quantity, unit, remark FROM packing_list_parts"
                      " ORDER BY list_id, place",
        [SQL_CHANGES] = "SELECT old, later FROM number_changes ORDER BY old_key",
        [SQL_STOCK] = "SELECT id, code, title FROM stock_codes ORDER BY id",
        [SQL_LENGTHS] =
                "SELECT stock_id, length, price FROM stock_lengths ORDER BY stock_id, place",
        [SQL_REMOVE_LIST] = "DELETE FROM packing_lists WHERE name_key = ?1",
        [SQL_REMOVE_CHANGE] = "DELETE FROM number_changes WHERE old_key = ?1",
        [SQL_REMOVE_STOCK] = "DELETE FROM stock_codes WHERE code_key = ?1",
        [SQL_ADD_LIST] = "INSERT INTO packing_lists (name, name_key, subkit, title, valid_from,"
                         " valid_to) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        [SQL_ADD_MODEL] = "INSERT INTO packing_list_models (list_id, place, model, model_key)"
                          " VALUES (?1, ?2, ?3, ?4)",
        [SQL_ADD_PART] = "INSERT INTO packing_list_parts (list_id, place, bag, part, quantity,"
                         " unit, remark) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        [SQL_ADD_CHANGE] = "INSERT INTO number_changes (old, old_key, later) VALUES (?1, ?2, ?3)",
        [SQL_ADD_STOCK] = "INSERT INTO stock_codes (code, code_key, title) VALUES (?1, ?2, ?3)",
        [SQL_ADD_LENGTH] = "INSERT INTO stock_lengths (stock_id, place, length, price)"
                           " VALUES (?1, ?2, ?3, ?4)",
        [SQL_ENTRIES] = "SELECT id, part, unit, act, quantity, coalesce(record_id, 0), remark,"
                        " entered_at FROM kit_stock WHERE kit_id = ?1 ORDER BY id",
        /* A record of another kit gives no row: the entry is refused. */
        [SQL_ADD_ENTRY] = "INSERT INTO kit_stock (kit_id, part, unit, act, quantity, record_id,"
                          " remark, entered_at) SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8"
                          " WHERE ?6 IS NULL OR EXISTS"
                          " (SELECT 1 FROM records WHERE id = ?6 AND kit_id = ?1)",
        [SQL_REMOVE_ENTRY] = "DELETE FROM kit_stock WHERE kit_id = ?1 AND id = ?2",
        [SQL_KIT_LENGTHS] = "SELECT id, use, stock, cut, remark FROM kit_lengths WHERE kit_id = ?1"
                            " ORDER BY id",
        [SQL_ADD_KIT_LENGTH] = "INSERT INTO kit_lengths (kit_id, use, stock, cut, remark)"
                               " VALUES (?1, ?2, ?3, ?4, ?5)",
        [SQL_REMOVE_KIT_LENGTH] = "DELETE FROM kit_lengths WHERE kit_id = ?1 AND id = ?2",
        [SQL_TOUCH] = "UPDATE kits SET version = version + 1 WHERE id = ?1",
        [SQL_COUNTED_IN] = "UPDATE kits SET version = version + 1, counted_in = ?2 WHERE id = ?1",
};

const struct sql_set parts_sql = {SET_PARTS, SQL_COUNT, texts};

static struct query start(struct store *store, size_t which, struct arena *arena)
{
	return query_start(store, &parts_sql, which, arena);
}

static struct query start_of(struct store *store, size_t which, struct arena *arena, int64_t id)
{
	struct query q = start(store, which, arena);

	bind_int(&q, id);
	return q;
}

/* Reading the book ---------------------------------------------------------- */

struct book_walk {
	struct query lists, models, parts;
};

static void read_listed_name(struct query *q, void *row)
{
	*(struct name *)row = read_name(q);
}

static void read_packed(struct query *q, void *row)
{
	struct packed_part *part = row;

	part->bag = read_text(q);
	part->number = read_name(q);
	part->quantity = read_int(q);
	part->unit = read_name(q);
	part->remark = read_text(q);
}

static void read_list(struct book_walk *walk, struct packing_list *list)
{
	struct query *q = &walk->lists;
	int64_t id = read_int(q);
	struct rows models = {0}, parts = {0};

	list->name = read_name(q);
	list->subkit = read_name(q);
	list->title = read_text(q);
	list->from = read_date_fact(q);
	list->to = read_date_fact(q);
	list->shipped.first = list->from.state == DATE_KNOWN ? list->from.date.first : DAY_FIRST;
	list->shipped.last = list->to.state == DATE_KNOWN ? list->to.date.last : DAY_LAST;
	query_rows_of(&walk->models, id, read_listed_name, sizeof(struct name), &models);
	list->models = models.at;
	list->n_models = models.count;
	query_rows_of(&walk->parts, id, read_packed, sizeof(struct packed_part), &parts);
	list->parts = parts.at;
	list->n_parts = parts.count;
}

static enum status worse(enum status a, enum status b)
{
	return a != ST_OK ? a : b;
}

static enum status load_lists(struct store *store, struct arena *arena, struct parts_source *out)
{
	struct book_walk walk = {start(store, SQL_LISTS, arena), start(store, SQL_MODELS, arena),
	                         start(store, SQL_PARTS, arena)};
	struct rows rows = {0};
	enum status status;

	while (query_row(&walk.lists)) {
		struct packing_list *list = rows_add(arena, &rows, sizeof *list);

		if (list)
			read_list(&walk, list);
		else
			walk.lists.status = ST_NOMEM;
	}
	status = query_end(&walk.lists);
	status = worse(status, query_end(&walk.models));
	status = worse(status, query_end(&walk.parts));
	out->lists = rows.at;
	out->n_lists = rows.count;
	return status;
}

static void read_change(struct query *q, void *row)
{
	struct number_change *change = row;

	change->old = read_name(q);
	change->later = read_name(q);
}

static enum status load_changes(struct store *store, struct arena *arena, struct parts_source *out)
{
	struct query q = start(store, SQL_CHANGES, arena);
	struct rows rows = {0};
	enum status status = query_rows(&q, read_change, sizeof(struct number_change), &rows);

	out->changes = rows.at;
	out->n_changes = rows.count;
	return status;
}

static void read_length(struct query *q, void *row)
{
	struct stock_length *length = row;

	length->text = read_text(q);
	length->has_price = read_int_if(q, &length->price);
	if (q->status == ST_OK)
		q->status = length_parse(length->text, strlen(length->text), &length->length);
}

static enum status load_stock(struct store *store, struct arena *arena, struct parts_source *out)
{
	struct query q = start(store, SQL_STOCK, arena);
	struct query lengths = start(store, SQL_LENGTHS, arena);
	struct rows rows = {0};
	enum status status;

	while (query_row(&q)) {
		struct stock_code *stock = rows_add(arena, &rows, sizeof *stock);
		struct rows list = {0};
		int64_t id;

		if (!stock) {
			q.status = ST_NOMEM;
			break;
		}
		id = read_int(&q);
		stock->code = read_name(&q);
		stock->title = read_text(&q);
		query_rows_of(&lengths, id, read_length, sizeof(struct stock_length), &list);
		stock->lengths = list.at;
		stock->n_lengths = list.count;
	}
	status = query_end(&q);
	out->stock = rows.at;
	out->n_stock = rows.count;
	return worse(status, query_end(&lengths));
}

static enum status load_source(struct store *store, struct arena *arena, struct parts_source *out)
{
	enum status status = load_lists(store, arena, out);

	if (status == ST_OK)
		status = load_changes(store, arena, out);
	return status == ST_OK ? load_stock(store, arena, out) : status;
}

enum status parts_load(struct store *store, struct arena *arena, const struct parts_book **out)
{
	struct parts_source source = {0};
	enum status status = act_begin_reading(store);

	if (status != ST_OK)
		return status;
	status = act_end(store, load_source(store, arena, &source));
	return status == ST_OK ? parts_book_build(arena, &source, out, NULL) : status;
}

/* Writing the book ---------------------------------------------------------- */

static const size_t removals[] = {[PARTS_LIST] = SQL_REMOVE_LIST,
                                  [PARTS_CHANGE] = SQL_REMOVE_CHANGE,
                                  [PARTS_STOCK] = SQL_REMOVE_STOCK};

static enum status remove_named(struct store *store, enum parts_kind kind, const char *name)
{
	struct query q = start(store, removals[kind], NULL);

	bind_key_of(&q, name);
	return query_run_one(&q);
}

/* What is not there yet need not go. */
static enum status make_way(struct store *store, enum parts_kind kind, const struct name *name)
{
	enum status status = remove_named(store, kind, name->text);

	return status == ST_MISSING ? ST_OK : status;
}

static enum status add_models(struct store *store, int64_t id, const struct packing_list *list)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < list->n_models; i++) {
		struct query q = start_of(store, SQL_ADD_MODEL, NULL, id);

		bind_int(&q, (int64_t)i);
		bind_name(&q, &list->models[i]);
		status = query_run(&q);
	}
	return status;
}

static enum status add_packed(struct store *store, int64_t id, const struct packing_list *list)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < list->n_parts; i++) {
		const struct packed_part *part = &list->parts[i];
		struct query q = start_of(store, SQL_ADD_PART, NULL, id);

		bind_int(&q, (int64_t)i);
		bind_text(&q, part->bag);
		bind_label(&q, &part->number);
		bind_int(&q, part->quantity);
		bind_label(&q, &part->unit);
		bind_text(&q, part->remark);
		status = query_run(&q);
	}
	return status;
}

static enum status add_list(struct store *store, const struct packing_list *list)
{
	struct query q = start(store, SQL_ADD_LIST, NULL);
	int64_t id = 0;
	enum status status;

	bind_name(&q, &list->name);
	bind_label(&q, &list->subkit);
	bind_text(&q, list->title);
	bind_date_fact(&q, &list->from);
	bind_date_fact(&q, &list->to);
	status = query_insert(&q, &id);
	if (status == ST_OK)
		status = add_models(store, id, list);
	return status == ST_OK ? add_packed(store, id, list) : status;
}

static enum status add_change(struct store *store, const struct number_change *change)
{
	struct query q = start(store, SQL_ADD_CHANGE, NULL);

	bind_name(&q, &change->old);
	bind_label(&q, &change->later);
	return query_run(&q);
}

static enum status add_stock(struct store *store, const struct stock_code *stock)
{
	struct query q = start(store, SQL_ADD_STOCK, NULL);
	int64_t id = 0;
	enum status status;

	bind_name(&q, &stock->code);
	bind_text(&q, stock->title);
	status = query_insert(&q, &id);
	for (size_t i = 0; status == ST_OK && i < stock->n_lengths; i++) {
		q = start_of(store, SQL_ADD_LENGTH, NULL, id);
		bind_int(&q, (int64_t)i);
		bind_text(&q, stock->lengths[i].text);
		bind_int_if(&q, stock->lengths[i].has_price, stock->lengths[i].price);
		status = query_run(&q);
	}
	return status;
}

/* First everything makes way, then everything is added: a name that stands
 * twice in the source breaks a rule of the table. */
static enum status write_source(struct store *store, const struct parts_source *source)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < source->n_lists; i++)
		status = make_way(store, PARTS_LIST, &source->lists[i].name);
	for (size_t i = 0; status == ST_OK && i < source->n_changes; i++)
		status = make_way(store, PARTS_CHANGE, &source->changes[i].old);
	for (size_t i = 0; status == ST_OK && i < source->n_stock; i++)
		status = make_way(store, PARTS_STOCK, &source->stock[i].code);
	for (size_t i = 0; status == ST_OK && i < source->n_lists; i++)
		status = add_list(store, &source->lists[i]);
	for (size_t i = 0; status == ST_OK && i < source->n_changes; i++)
		status = add_change(store, &source->changes[i]);
	for (size_t i = 0; status == ST_OK && i < source->n_stock; i++)
		status = add_stock(store, &source->stock[i]);
	return status;
}

static bool lists_overlap(const struct parts_source *source)
{
	for (size_t i = 0; i < source->n_lists; i++)
		for (size_t k = 0; k < i; k++)
			if (packing_lists_overlap(&source->lists[k], &source->lists[i]))
				return true;
	return false;
}

/* The book as it now stands. */
static enum status check_lists(struct store *store, struct arena *arena)
{
	struct parts_source source = {0};
	const struct parts_book *book;
	enum status status = load_source(store, arena, &source);

	if (status == ST_OK)
		status = parts_book_build(arena, &source, &book, NULL);
	if (status == ST_INVALID || (status == ST_OK && lists_overlap(&source)))
		return ST_CONFLICT;
	return status;
}

static enum status import(struct store *store, struct arena *arena,
                          const struct parts_source *source)
{
	enum status status = write_source(store, source);

	if (status == ST_OK)
		status = check_lists(store, arena);
	return status == ST_OK ? setting_generation_up(store) : status;
}

/* What a file brought may stand there already: counted when it is in. */
static enum status check_book(struct store *store)
{
	static const enum bound all[] = {BOUND_PACKING_LISTS_MOST, BOUND_NUMBER_CHANGES_MOST,
	                                 BOUND_STOCK_CODES_MOST};
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < sizeof all / sizeof *all; i++)
		status = bound_room(store, all[i], 0, 0, 0);
	return status;
}

enum status parts_import(struct store *store, const struct parts_source *source)
{
	struct arena *arena = arena_new();
	enum status status = arena ? act_begin(store) : ST_NOMEM;
	bool began = status == ST_OK;

	if (status == ST_OK)
		status = import(store, arena, source);
	if (status == ST_OK)
		status = check_book(store);
	if (status == ST_OK)
		status = acts_add_import(
		        store, source->n_lists + source->n_changes + source->n_stock,
		        "entry of the book of parts", "entries of the book of parts");
	if (began)
		status = act_end(store, status);
	arena_free(arena);
	return status;
}

enum status parts_remove(struct store *store, enum parts_kind kind, const char *name)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = remove_named(store, kind, name);
	if (status == ST_OK)
		status = setting_generation_up(store);
	if (status == ST_OK)
		status = acts_add(store, &(struct act_line){DID_PARTS_REMOVE, .subject = name});
	return act_end(store, status);
}

/* A kit's own entries ------------------------------------------------------- */

static enum status touch(struct store *store, struct kit_id kit)
{
	struct query q = start_of(store, SQL_TOUCH, NULL, kit.v);

	return query_run_one(&q);
}

static void read_entry(struct query *q, void *row)
{
	struct stock_entry *entry = row;

	entry->id = read_int(q);
	entry->number = read_name(q);
	entry->unit = read_name(q);
	entry->act = (enum stock_act)read_int(q);
	entry->quantity = read_int(q);
	entry->record = read_int(q);
	entry->remark = read_text(q);
	entry->entered_at = read_int(q);
}

enum status kit_stock_list(struct store *store, struct arena *arena, struct kit_id kit,
                           const struct stock_entry **out, size_t *count)
{
	struct query q = start_of(store, SQL_ENTRIES, arena, kit.v);
	struct rows rows = {0};
	enum status status = query_rows(&q, read_entry, sizeof(struct stock_entry), &rows);

	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

static enum status insert_entry(struct store *store, struct kit_id kit,
                                const struct stock_entry *entry, int64_t now)
{
	struct query q = start_of(store, SQL_ADD_ENTRY, NULL, kit.v);
	enum status status;

	bind_label(&q, &entry->number);
	bind_label(&q, &entry->unit);
	bind_int(&q, entry->act);
	bind_int(&q, entry->quantity);
	bind_id_or_null(&q, entry->record);
	bind_text(&q, entry->remark);
	bind_int(&q, now);
	status = query_run_one(&q);
	return status == ST_MISSING ? ST_CONFLICT : status;
}

enum status kit_stock_add(struct store *store, struct kit_id kit, const struct stock_entry *entry,
                          int64_t now)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = touch(store, kit);
	if (status == ST_OK)
		status = bound_room(store, BOUND_KIT_STOCK_MOST, kit.v, 1, now);
	if (status == ST_OK)
		status = insert_entry(store, kit, entry, now);
	return act_end(store, status);
}

/* Of a kit, by its id. */
static enum status remove_of_kit(struct store *store, size_t which, struct kit_id kit, int64_t id)
{
	enum status status = act_begin(store);
	struct query q;

	if (status != ST_OK)
		return status;
	q = start_of(store, which, NULL, kit.v);
	bind_int(&q, id);
	status = query_run_one(&q);
	if (status == ST_OK)
		status = touch(store, kit);
	return act_end(store, status);
}

enum status kit_stock_remove(struct store *store, struct kit_id kit, int64_t entry)
{
	return remove_of_kit(store, SQL_REMOVE_ENTRY, kit, entry);
}

static void read_kit_length(struct query *q, void *row)
{
	struct kit_length *length = row;

	length->id = read_int(q);
	length->use = (enum length_use)read_int(q);
	length->stock = read_name(q);
	length->cut = read_text(q);
	length->remark = read_text(q);
}

enum status kit_length_list(struct store *store, struct arena *arena, struct kit_id kit,
                            const struct kit_length **out, size_t *count)
{
	struct query q = start_of(store, SQL_KIT_LENGTHS, arena, kit.v);
	struct rows rows = {0};
	enum status status = query_rows(&q, read_kit_length, sizeof(struct kit_length), &rows);

	if (status != ST_OK)
		return status;
	*out = rows.at;
	*count = rows.count;
	return ST_OK;
}

static enum status insert_length(struct store *store, struct kit_id kit,
                                 const struct kit_length *length)
{
	struct query q = start_of(store, SQL_ADD_KIT_LENGTH, NULL, kit.v);

	bind_int(&q, length->use);
	bind_label(&q, &length->stock);
	bind_text(&q, length->cut);
	bind_text(&q, length->remark);
	return query_run(&q);
}

enum status kit_length_add(struct store *store, struct kit_id kit, const struct kit_length *length)
{
	enum status status = act_begin(store);

	if (status != ST_OK)
		return status;
	status = touch(store, kit);
	if (status == ST_OK)
		status = bound_room(store, BOUND_KIT_LENGTHS_MOST, kit.v, 1, 0);
	if (status == ST_OK)
		status = insert_length(store, kit, length);
	return act_end(store, status);
}

enum status kit_length_remove(struct store *store, struct kit_id kit, int64_t id)
{
	return remove_of_kit(store, SQL_REMOVE_KIT_LENGTH, kit, id);
}

enum status kit_set_counted_in(struct store *store, struct kit_id kit, bool on)
{
	struct query q = start_of(store, SQL_COUNTED_IN, NULL, kit.v);

	bind_int(&q, on);
	return query_run_one(&q);
}
