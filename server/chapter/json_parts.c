#include "chapter/json_parts.h"

#include <math.h>
#include <string.h>

#include "store/parts.h"

#define FORMAT "fairlead parts 1"
#define SHARED "has shipping days in common with list "
#define LENGTHS_MOST 20
#define PRICE_MOST 999999999 /* hundredths */

static const char *const file_keys[] = {"format", "lists", "replacements", "stock", NULL};
static const char *const list_keys[] = {"list", "subkit", "title", "models",
                                        "from", "to",     "parts", NULL};
static const char *const part_keys[] = {"bag", "part", "quantity", "unit", "remark", NULL};
static const char *const change_keys[] = {"old", "new", NULL};
static const char *const stock_keys[] = {"code", "title", "lengths", NULL};
static const char *const length_keys[] = {"length", "price", NULL};

/* ---- numbers ---- */

/* A number times scale that is whole, or -1 with a fault. */
static int64_t scaled(struct json_reader *reader, const json_t *object, const char *key,
                      double scale, double most, const char *words)
{
	const json_t *value = json_object_get(object, key);
	double exact = json_number_value(value) * scale;
	double whole = floor(exact + 0.5);

	if (json_is_number(value) && exact >= 0 && exact <= most && fabs(exact - whole) < 1e-6)
		return (int64_t)whole;
	json_fail_at(reader, key, "%s", words);
	return -1;
}

int64_t json_read_quantity(struct json_reader *reader, const json_t *object, const char *key,
                           bool zero)
{
	int64_t quantity =
	        scaled(reader, object, key, AMOUNT_ONE, (double)AMOUNT_MOST,
	               zero ? "must be a number from 0 to 1000000 with at most three decimals"
	                    : "must be a number above 0, at most 1000000, with at most three "
	                      "decimals");

	if (quantity == 0 && !zero)
		json_fail_at(reader, key, "must be above 0");
	return quantity;
}

/* ---- lists ---- */

static void read_model(struct json_reader *reader, const json_t *value, void *out)
{
	struct name *name = out;

	*name = json_name_of(reader, value);
	if (json_reader_ok(reader) && name_is_empty(name))
		json_fail(reader, "must not be empty");
}

static void read_unit(struct json_reader *reader, const json_t *value, struct name *out)
{
	const char *text = json_read_line(reader, value, "unit", NAME_LONGEST);
	enum status status = json_reader_ok(reader) ? amount_unit(reader->arena, text, out) : ST_OK;

	if (status != ST_OK)
		reader->status = status;
}

static void read_part(struct json_reader *reader, const json_t *value, void *out)
{
	struct packed_part *part = out;

	json_need(reader, value, "part");
	part->bag = json_read_line(reader, value, "bag", NAME_LONGEST);
	part->number = json_read_name(reader, value, "part");
	part->quantity = json_read_quantity(reader, value, "quantity", false);
	part->remark = json_read_line(reader, value, "remark", PARTS_REMARK_LONGEST);
	read_unit(reader, value, &part->unit);
}

static const struct json_elements models = {"models", sizeof(struct name), 100, NULL, read_model};
static const struct json_elements parts = {"parts", sizeof(struct packed_part), PARTS_IN_LIST_MOST,
                                           part_keys, read_part};

static void read_days(struct json_reader *reader, const json_t *value, struct packing_list *list)
{
	list->from = json_read_date(reader, value, "from");
	list->to = json_read_date(reader, value, "to");
	list->shipped.first = list->from.state == DATE_KNOWN ? list->from.date.first : DAY_FIRST;
	list->shipped.last = list->to.state == DATE_KNOWN ? list->to.date.last : DAY_LAST;
	if (json_reader_ok(reader) && list->shipped.last < list->shipped.first)
		json_fail_at(reader, "to", "lies before from");
}

static void check_models(struct json_reader *reader, const struct packing_list *list)
{
	if (json_reader_ok(reader) && list->n_models == 0)
		json_fail_at(reader, "models", "must name at least one model");
	for (size_t i = 0; i < list->n_models && json_reader_ok(reader); i++)
		for (size_t k = 0; k < i; k++)
			if (name_equal(&list->models[k], &list->models[i]))
				json_fail_at(reader, "models", "names %s twice",
				             list->models[i].text);
}

static void read_list(struct json_reader *reader, const json_t *value, void *out)
{
	struct packing_list *list = out;

	json_need(reader, value, "list");
	json_need(reader, value, "subkit");
	list->name = json_read_name(reader, value, "list");
	list->subkit = json_read_name(reader, value, "subkit");
	list->title = json_read_line(reader, value, "title", PARTS_TITLE_LONGEST);
	list->models = json_read_elements(reader, value, &models, &list->n_models);
	read_days(reader, value, list);
	check_models(reader, list);
	list->parts = json_read_elements(reader, value, &parts, &list->n_parts);
}

/* ---- replacements, stock ---- */

static void read_change(struct json_reader *reader, const json_t *value, void *out)
{
	struct number_change *change = out;

	json_need(reader, value, "old");
	json_need(reader, value, "new");
	change->old = json_read_name(reader, value, "old");
	change->later = json_read_name(reader, value, "new");
}

static void read_length(struct json_reader *reader, const json_t *value, void *out)
{
	struct stock_length *length = out;

	json_need(reader, value, "length");
	length->text = json_read_line(reader, value, "length", 40);
	if (!json_reader_ok(reader))
		return;
	if (length_parse(length->text, strlen(length->text), &length->length) != ST_OK)
		json_fail_at(reader, "length", "is no length; write it like 72 in or 1800 mm");
	else if (length->length.nm == 0)
		json_fail_at(reader, "length", "must be above 0");
	length->has_price = json_object_get(value, "price") != NULL;
	if (length->has_price)
		length->price = scaled(reader, value, "price", 100, PRICE_MOST,
		                       "must be an amount of money with at most two decimals");
}

static const struct json_elements lengths = {"lengths", sizeof(struct stock_length), LENGTHS_MOST,
                                             length_keys, read_length};

static void read_stock(struct json_reader *reader, const json_t *value, void *out)
{
	struct stock_code *stock = out;

	json_need(reader, value, "code");
	stock->code = json_read_name(reader, value, "code");
	stock->title = json_read_line(reader, value, "title", PARTS_TITLE_LONGEST);
	stock->lengths = json_read_elements(reader, value, &lengths, &stock->n_lengths);
}

static const struct json_elements lists = {"lists", sizeof(struct packing_list), PARTS_LISTS_MOST,
                                           list_keys, read_list};
static const struct json_elements changes = {"replacements", sizeof(struct number_change),
                                             PARTS_LISTS_MOST, change_keys, read_change};
static const struct json_elements stock = {"stock", sizeof(struct stock_code), PARTS_LISTS_MOST,
                                           stock_keys, read_stock};

/* ---- what only the whole shows ---- */

static void fail_entry(struct json_reader *reader, const char *key, size_t i, const char *member,
                       const char *before, const struct name *name, const char *after)
{
	size_t outer = json_enter(reader, key), inner = json_enter_index(reader, i);

	json_fail_at(reader, member, "%s%s%s", before, name->text, after);
	json_leave(reader, inner);
	json_leave(reader, outer);
}

/* Is there a name at i that stands before it, too? name_at gives each. */
typedef const struct name *name_at_fn(const struct parts_source *source, size_t i);

static const struct name *list_name(const struct parts_source *source, size_t i)
{
	return &source->lists[i].name;
}

static const struct name *old_number(const struct parts_source *source, size_t i)
{
	return &source->changes[i].old;
}

static const struct name *stock_name(const struct parts_source *source, size_t i)
{
	return &source->stock[i].code;
}

static void check_twice(struct json_reader *reader, const struct parts_source *source,
                        name_at_fn *name_at, size_t count, const char *key, const char *member)
{
	for (size_t i = 0; i < count && json_reader_ok(reader); i++)
		for (size_t k = 0; k < i && json_reader_ok(reader); k++)
			if (name_equal(name_at(source, i), name_at(source, k)))
				fail_entry(reader, key, i, member, "", name_at(source, i),
				           " stands in the file twice");
}

static bool is_replaced(const struct parts_source *source, const struct packing_list *known)
{
	for (size_t i = 0; i < source->n_lists; i++)
		if (name_equal(&source->lists[i].name, &known->name))
			return true;
	return false;
}

static void check_overlap(struct json_reader *reader, const struct parts_source *source,
                          const struct parts_book *known)
{
	for (size_t i = 0; i < source->n_lists && json_reader_ok(reader); i++) {
		const struct packing_list *list = &source->lists[i];

		for (size_t k = 0; k < i; k++)
			if (packing_lists_overlap(&source->lists[k], list))
				fail_entry(reader, "lists", i, "from", SHARED,
				           &source->lists[k].name, " of the same sub-kit");
		for (size_t k = 0; k < known->n_lists; k++)
			if (packing_lists_overlap(&known->lists[k], list) &&
			    !is_replaced(source, &known->lists[k]))
				fail_entry(reader, "lists", i, "from", SHARED,
				           &known->lists[k].name,
				           " of the same sub-kit, which is there already");
	}
}

static size_t find_change(const struct parts_source *source, const struct name *old)
{
	size_t i = 0;

	while (i < source->n_changes && !name_equal(&source->changes[i].old, old))
		i++;
	return i;
}

/* The changes of the file and those that are there and stay. */
static struct parts_source all_changes(struct json_reader *reader,
                                       const struct parts_source *source,
                                       const struct parts_book *known)
{
	struct number_change *all = ARENA_ARRAY(reader->arena, struct number_change,
	                                        source->n_changes + known->n_changes);
	struct parts_source merged = {.changes = all};

	for (size_t i = 0; all && i < source->n_changes; i++)
		all[merged.n_changes++] = source->changes[i];
	for (size_t i = 0; all && i < known->n_changes; i++)
		if (find_change(source, &known->changes[i].old) == source->n_changes)
			all[merged.n_changes++] = known->changes[i];
	return merged;
}

/* A circle is shown at one of its changes that the file has: with the known
 * ones alone there is none. */
static void check_circle(struct json_reader *reader, const struct parts_source *source,
                         const struct parts_book *known)
{
	const struct number_change *culprit = NULL;
	const struct parts_book *book;
	struct parts_source merged;
	enum status status = ST_NOMEM;

	if (!json_reader_ok(reader))
		return;
	merged = all_changes(reader, source, known);
	if (merged.changes)
		status = parts_book_build(reader->arena, &merged, &book, &culprit);
	if (status != ST_INVALID) {
		reader->status = status;
		return;
	}
	while (find_change(source, &culprit->old) == source->n_changes) {
		size_t next = find_change(&merged, &culprit->later);

		culprit = &merged.changes[next];
	}
	fail_entry(reader, "replacements", find_change(source, &culprit->old), "new",
	           "leads back to ", &culprit->old, " in a circle");
}

void json_read_parts(struct json_reader *reader, const json_t *file, const struct parts_book *known,
                     struct parts_source *out)
{
	struct parts_source source = {0};

	if (!json_check_keys(reader, file, file_keys))
		return;
	if (strcmp(json_read_line(reader, file, "format", 40), FORMAT) != 0)
		json_fail_at(reader, "format", "must be \"" FORMAT "\"");
	source.lists = json_read_elements(reader, file, &lists, &source.n_lists);
	source.changes = json_read_elements(reader, file, &changes, &source.n_changes);
	source.stock = json_read_elements(reader, file, &stock, &source.n_stock);
	check_twice(reader, &source, list_name, source.n_lists, "lists", "list");
	check_twice(reader, &source, old_number, source.n_changes, "replacements", "old");
	check_twice(reader, &source, stock_name, source.n_stock, "stock", "code");
	check_overlap(reader, &source, known);
	check_circle(reader, &source, known);
	if (json_reader_ok(reader))
		*out = source;
}

/* ---- writing ---- */

/* Whole numbers stay whole. */
static json_t *number_json(int64_t value, int64_t scale)
{
	return value % scale ? json_real((double)value / (double)scale)
	                     : json_integer(value / scale);
}

static int set_text(json_t *object, const char *key, const char *text)
{
	return *text ? json_object_set_new(object, key, json_string(text)) : 0;
}

static json_t *packed_json(const struct packed_part *part)
{
	json_t *object = json_pack("{s:s, s:o}", "part", part->number.text, "quantity",
	                           number_json(part->quantity, AMOUNT_ONE));

	if (set_text(object, "bag", part->bag) | set_text(object, "unit", part->unit.text) |
	    set_text(object, "remark", part->remark)) {
		json_decref(object);
		return NULL;
	}
	return object;
}

static int set_date(json_t *object, const char *key, const struct date_fact *fact)
{
	char text[DATE_TEXT_SIZE];

	if (fact->state != DATE_KNOWN)
		return 0;
	date_print(fact->date, text);
	return json_object_set_new(object, key, json_string(text));
}

static json_t *list_json(const struct packing_list *list)
{
	json_t *names = json_array(), *packed = json_array();
	json_t *object;
	int failed = 0;

	for (size_t i = 0; i < list->n_models; i++)
		failed |= json_array_append_new(names, json_string(list->models[i].text));
	for (size_t i = 0; i < list->n_parts; i++)
		failed |= json_array_append_new(packed, packed_json(&list->parts[i]));
	object = json_pack("{s:s, s:s, s:o, s:o}", "list", list->name.text, "subkit",
	                   list->subkit.text, "models", names, "parts", packed);
	failed |= !object || set_text(object, "title", list->title) |
	                             set_date(object, "from", &list->from) |
	                             set_date(object, "to", &list->to);
	if (!failed)
		return object;
	json_decref(object);
	return NULL;
}

static json_t *stock_json(const struct stock_code *code)
{
	json_t *list = json_array();
	int failed = 0;

	for (size_t i = 0; i < code->n_lengths; i++) {
		json_t *length = json_pack("{s:s}", "length", code->lengths[i].text);

		if (code->lengths[i].has_price)
			failed |= json_object_set_new(length, "price",
			                              number_json(code->lengths[i].price, 100));
		failed |= json_array_append_new(list, length);
	}
	if (failed) {
		json_decref(list);
		return NULL;
	}
	return json_pack("{s:s, s:s, s:o}", "code", code->code.text, "title", code->title,
	                 "lengths", list);
}

json_t *json_from_parts(const struct parts_book *book)
{
	json_t *all = json_array(), *numbers = json_array(), *codes = json_array();
	int failed = 0;

	for (size_t i = 0; i < book->n_lists; i++)
		failed |= json_array_append_new(all, list_json(&book->lists[i]));
	for (size_t i = 0; i < book->n_changes; i++)
		failed |= json_array_append_new(numbers, json_pack("{s:s, s:s}", "old",
		                                                   book->changes[i].old.text, "new",
		                                                   book->changes[i].later.text));
	for (size_t i = 0; i < book->n_stock; i++)
		failed |= json_array_append_new(codes, stock_json(&book->stock[i]));
	if (failed) {
		json_decref(all);
		json_decref(numbers);
		json_decref(codes);
		return NULL;
	}
	return json_pack("{s:s, s:o, s:o, s:o}", "format", FORMAT, "lists", all, "replacements",
	                 numbers, "stock", codes);
}
