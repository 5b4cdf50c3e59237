/* board_book.c - the book of parts: packing lists, numbers that took the place
 * of others, stock that is cut. Stewards take in files and look at what is
 * there; a list or number that is wrong is taken out or replaced by a file.
 */
#include "base/text.h"
#include "store/parts.h"
#include "web/html/excerpt.h"
#include "chapter/json_parts.h"
#include "formats/json_text.h"
#include "web/board/board.h"
#include "web/board/board_parts.h"
#include "chapter/parts_import.h"
#include "web/html/present_parts.h"
#include "web/http/respond.h"

#define FILE_LARGEST (10 * 1024 * 1024)

static const char *const kinds[] = {"list", "number", "stock", NULL}; /* enum parts_kind */

const struct input book_query[] = {{"list", "Packing list", INPUT_NAME}, INPUTS_END};
const struct input book_file_inputs[] = {
        {"file", "File of packing lists", INPUT_FILE, .required = true, .longest = FILE_LARGEST},
        INPUTS_END};
const struct input book_remove_inputs[] = {
        {"kind", "What", INPUT_CHOICE, .required = true, .choices = kinds},
        {"name", "Name", INPUT_NAME, .required = true},
        INPUTS_END};

static json_t *models_view(const struct packing_list *list)
{
	struct text out = TEXT_EMPTY;

	for (size_t i = 0; i < list->n_models; i++)
		text_printf(&out, "%s%s", i ? ", " : "", list->models[i].text);
	return json_take_text(&out);
}

static json_t *date_or_false(const struct date_fact *fact)
{
	return fact->state == DATE_KNOWN ? present_date(&fact->date) : json_false();
}

static json_t *list_address(const struct packing_list *list)
{
	struct text out = TEXT_EMPTY;

	text_add(&out, "/board/parts?list=");
	http_escape(&out, list->name.text);
	return json_take_text(&out);
}

static json_t *list_view(const struct packing_list *list)
{
	return json_pack("{s:s, s:s, s:s, s:o, s:o, s:o, s:I, s:o}", "name", list->name.text,
	                 "subkit", list->subkit.text, "about", list->title, "models",
	                 models_view(list), "from", date_or_false(&list->from), "to",
	                 date_or_false(&list->to), "count", (json_int_t)list->n_parts, "url",
	                 list_address(list));
}

static json_t *lists_view(const struct parts_book *book)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < book->n_lists; i++)
		list = present_append(list, list_view(&book->lists[i]));
	return board_list(list);
}

static json_t *packed_view(const struct packed_part *part)
{
	return json_pack("{s:o, s:s, s:o, s:o}", "bag", present_text(part->bag), "part",
	                 part->number.text, "amount", present_amount(part->quantity, &part->unit),
	                 "remark", present_text(part->remark));
}

/* The list that was asked for, whole. */
static json_t *open_view(const struct context *c)
{
	struct name name = {.text = ""};

	if (c->route->inputs == book_query)
		name = form_name(c->form, "list");
	for (size_t i = 0; i < c->parts->n_lists; i++) {
		const struct packing_list *list = &c->parts->lists[i];
		json_t *rows;

		if (!name_equal(&list->name, &name))
			continue;
		rows = json_array();
		for (size_t k = 0; rows && k < list->n_parts; k++)
			rows = present_append(rows, packed_view(&list->parts[k]));
		return json_pack("{s:o, s:o}", "head", list_view(list), "packed", rows);
	}
	return json_false();
}

static json_t *changes_view(const struct parts_book *book)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < book->n_changes; i++) {
		const struct number_change *change = &book->changes[i];
		const struct name *latest = parts_book_latest(book, &change->old);

		list = present_append(list, json_pack("{s:s, s:s, s:o}", "old", change->old.text,
		                                      "later", change->later.text, "latest",
		                                      name_equal(latest, &change->later)
		                                              ? json_false()
		                                              : json_string(latest->text)));
	}
	return board_list(list);
}

static json_t *lengths_view(const struct stock_code *stock)
{
	struct text out = TEXT_EMPTY;

	for (size_t i = 0; i < stock->n_lengths; i++) {
		text_printf(&out, "%s%s", i ? ", " : "", stock->lengths[i].text);
		if (stock->lengths[i].has_price)
			text_printf(&out, " for %lld.%02lld",
			            (long long)(stock->lengths[i].price / 100),
			            (long long)(stock->lengths[i].price % 100));
	}
	return json_take_text(&out);
}

static json_t *stock_view(const struct parts_book *book)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < book->n_stock; i++)
		list = present_append(list,
		                      json_pack("{s:s, s:s, s:o}", "code", book->stock[i].code.text,
		                                "about", book->stock[i].title, "lengths",
		                                lengths_view(&book->stock[i])));
	return board_list(list);
}

static enum status show_book(struct context *c, const struct json_fault *fault)
{
	return board_respond(
	        c, "board_book.html", "Book of parts",
	        json_pack("{s:o, s:o, s:o, s:o, s:o, s:o}", "form",
	                  present_hint(board_form(c, book_file_inputs), "file",
	                               "JSON, format “fairlead parts 1”"),
	                  "fault",
	                  excerpt_of_fault(fault,
	                                   fault ? form_value(c->form, "file", 0)->file : NULL),
	                  "lists", lists_view(c->parts), "opened", open_view(c), "changes",
	                  changes_view(c->parts), "stock", stock_view(c->parts)));
}

enum status page_book(struct context *c)
{
	return show_book(c, NULL);
}

enum status act_book(struct context *c)
{
	const struct http_upload *file = form_file(c->form, "file");
	struct json_reader reader;
	struct json_fault fault;
	size_t count = 0;
	enum status status;

	if (!form_ok(c->form))
		return show_book(c, NULL);
	json_reader_start(&reader, c->arena);
	status = parts_take_in(c->store, &reader, file->bytes, file->len, c->member->id, c->now,
	                       &count);
	if (status == ST_INVALID && reader.status == ST_INVALID) {
		fault = reader.fault;
		form_fail(c->form, "file", "%s%s%s: %s",
		          fault.line ? "is refused at the place shown" : "is refused",
		          fault.place[0] ? " " : "", fault.place, fault.words);
		return show_book(c, &fault);
	}
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/board/parts?said=saved");
}

enum status act_book_remove(struct context *c)
{
	enum status status;

	if (!form_ok(c->form))
		return ST_INVALID;
	status = parts_remove(c->store, (enum parts_kind)form_choice(c->form, "kind"),
	                      form_text(c->form, "name"));
	return status == ST_OK ? respond_redirect(c, "/board/parts?said=book-removed") : status;
}

enum status page_book_file(struct context *c)
{
	return respond_json_file(c, json_from_parts(c->parts), "parts.json");
}
