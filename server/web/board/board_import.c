/* board_import.c - files of the formats of seed/FORMAT.md in, notices out.
 *
 * What is taken in counts as published at once. So only an admin does it, who
 * may also allow one steward to publish alone.
 */
#include "web/board/board.h"

#include "base/text.h"
#include "web/html/excerpt.h"
#include "chapter/notice_import.h"
#include "web/board/board_parts.h"
#include "web/http/respond.h"
#include "chapter/take_in.h"

#define FILE_LARGEST (10 * 1024 * 1024)

const struct input import_inputs[] = {
        {"file", "File", INPUT_FILE, .required = true, .longest = FILE_LARGEST}, INPUTS_END};

static enum status show_import(struct context *c, const struct json_fault *fault, json_t *taken)
{
	json_t *form = present_hint(board_form(c, import_inputs), "file",
	                            "JSON, as another Fairlead or “fairlead export” writes it");

	return board_respond(
	        c, "board_import.html", "Take in a file",
	        json_pack("{s:o, s:o, s:o}", "form", form, "fault",
	                  excerpt_of_fault(fault,
	                                   fault ? form_value(c->form, "file", 0)->file : NULL),
	                  "taken", taken));
}

enum status page_import(struct context *c)
{
	return show_import(c, NULL, json_false());
}

enum status act_import(struct context *c)
{
	const struct http_upload *file = form_file(c->form, "file");
	struct json_reader reader;
	struct json_fault fault;
	struct taken taken;
	enum status status;

	if (!form_ok(c->form))
		return show_import(c, NULL, json_false());
	json_reader_start(&reader, c->arena);
	status = take_in(c->store, &reader, file->bytes, file->len, c->member->id, c->now, &taken);
	if (status == ST_INVALID && reader.status == ST_INVALID) {
		fault = reader.fault;
		form_fail(c->form, "file", "is refused: %s%s%s", fault.place,
		          fault.place[0] ? " " : "", fault.words);
		return show_import(c, &fault, json_false());
	}
	if (status != ST_OK)
		return status;
	return show_import(c, NULL,
	                   json_pack("{s:I, s:s, s:b, s:s}", "count", (json_int_t)taken.count,
	                             "what", taken.what, "one", taken.count == 1, "url",
	                             taken.path));
}

enum status page_export(struct context *c)
{
	json_t *file = NULL;
	enum status status = notices_export(c->store, c->arena, &file);

	return status == ST_OK ? respond_json_file(c, file, "notices.json") : status;
}
