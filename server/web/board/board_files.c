/* board_files.c - sheets and pictures attached to a draft.
 *
 * A file is what its content says. A PDF is kept as it is and only ever
 * downloaded; a picture is written anew (picture.h). A name that promises
 * something else than the content is refused.
 */
#include "web/board/board.h"

#include <string.h>

#include "base/utf8.h"
#include "web/board/board_parts.h"
#include "web/html/picture_form.h"
#include "web/http/respond.h"

#define FILE_NAME_LONGEST 100 /* bytes of a name without its end */
#define PDF_TAIL 1024         /* bytes at the end that must hold the end mark */

const struct input sheet_file_inputs[] = {
        {"file", "File", INPUT_FILE, .required = true, .longest = ATTACHMENT_LARGEST}, INPUTS_END};

/* present_attachments, each with the address that takes it off. */
static json_t *attachments_view(const struct revision *revision)
{
	json_t *list = present_attachments(revision->attachments, revision->n_attachments), *row;
	int failed = 0;
	size_t i;

	json_array_foreach(list, i, row)
	{
		failed |=
		        json_object_set_new(row, "remove_path",
		                            json_sprintf("/board/drafts/%lld/files/%lld/remove",
		                                         (long long)revision->id.v,
		                                         (long long)revision->attachments[i].id.v));
	}
	if (!failed)
		return list;
	json_decref(list);
	return NULL;
}

static enum status show_files(struct context *c)
{
	struct revision_id id = {context_id(c, "revision")};
	struct draft_base base;
	const struct revision *revision = &base.revision;
	json_t *form, *view;
	enum status status = draft_base_read(c, id, &base);

	if (status != ST_OK)
		return status;
	form = present_hint(board_form(c, sheet_file_inputs), "file",
	                    "A PDF, or a JPEG, PNG or WebP picture, of up to 10 MB");
	view = json_pack("{s:o, s:b, s:o, s:o, s:b}", "attachments", attachments_view(revision),
	                 "has_attachments", revision->n_attachments > 0, "form", form, "draft",
	                 board_draft(revision), "open", revision->state == REVISION_DRAFT);
	return board_respond(c, "draft_files.html",
	                     arena_printf(c->arena, "Sheets of %s", revision->content.number),
	                     view);
}

enum status page_files(struct context *c)
{
	return show_files(c);
}

/* ---- what a file is ---- */

enum content { CONTENT_NONE, CONTENT_PDF, CONTENT_JPEG, CONTENT_PNG, CONTENT_WEBP };

static const struct {
	const char *end, *mime, *words;
} contents[] = {
        [CONTENT_NONE] = {"", "", ""},
        [CONTENT_PDF] = {".pdf", "application/pdf", "a PDF"},
        [CONTENT_JPEG] = {".jpg", "image/jpeg", "a JPEG picture"},
        [CONTENT_PNG] = {".png", "image/png", "a PNG picture"},
        [CONTENT_WEBP] = {".webp", "image/webp", "a WebP picture"},
};

/* Ends of names that promise a content. */
static const struct {
	const char *end;
	enum content content;
} promises[] = {
        {".pdf", CONTENT_PDF}, {".jpg", CONTENT_JPEG},  {".jpeg", CONTENT_JPEG},
        {".png", CONTENT_PNG}, {".webp", CONTENT_WEBP},
};

static bool is_pdf(const char *bytes, size_t len)
{
	return len >= 5 && memcmp(bytes, "%PDF-", 5) == 0;
}

/* ISO 32000-1, 7.5.5: the last line of a whole file holds its end mark. */
static bool pdf_ends(const char *bytes, size_t len)
{
	size_t tail = len < PDF_TAIL ? len : PDF_TAIL;

	return memmem(bytes + len - tail, tail, "%%EOF", 5) != NULL;
}

static enum content content_of(const struct http_upload *file)
{
	static const enum content pictures[] = {[PICTURE_NONE] = CONTENT_NONE,
	                                        [PICTURE_JPEG] = CONTENT_JPEG,
	                                        [PICTURE_PNG] = CONTENT_PNG,
	                                        [PICTURE_WEBP] = CONTENT_WEBP};

	if (is_pdf(file->bytes, file->len))
		return CONTENT_PDF;
	return pictures[picture_kind_of(file->bytes, file->len)];
}

/* Length of the name without the end that promises something; *promised gets it. */
static size_t split_name(const char *name, enum content *promised)
{
	size_t len = strlen(name);

	*promised = CONTENT_NONE;
	for (size_t i = 0; i < sizeof promises / sizeof promises[0]; i++) {
		size_t end = strlen(promises[i].end);

		if (len >= end && strcasecmp(name + len - end, promises[i].end) == 0) {
			*promised = promises[i].content;
			return len - end;
		}
	}
	return len;
}

/* The browser's name behind its last slash; "" when it is not fit to be shown. */
static const char *bare_name(const char *name)
{
	for (const char *at = name; *at; at++)
		if (*at == '/' || *at == '\\')
			name = at + 1;
	return utf8_check(name, strlen(name), NULL) == UTF8_FINE && !strpbrk(name, "\n\t") ? name
	                                                                                   : "";
}

/* Not in the middle of a character. */
static size_t cut_length(const char *name, size_t len)
{
	if (len > FILE_NAME_LONGEST)
		len = FILE_NAME_LONGEST;
	while (len > 0 && ((unsigned char)name[len] & 0xC0) == 0x80)
		len--;
	return len;
}

static const char *name_for(struct arena *arena, const char *bare, size_t stem,
                            enum content content)
{
	size_t len = cut_length(bare, stem);

	if (len == 0)
		return arena_printf(arena, "sheet%s", contents[content].end);
	return arena_printf(arena, "%.*s%s", (int)len, bare, contents[content].end);
}

/* ---- taking one in ---- */

/* Fills bytes, size and mime of the entry; faults go to the form. */
static enum status take_picture(struct context *c, struct attachment_entry *entry,
                                enum content *content)
{
	struct picture picture;
	enum status status = picture_take_sheet(c, "file", &picture);

	if (status == ST_OK) {
		*content = picture.kind == PICTURE_PNG ? CONTENT_PNG : CONTENT_JPEG;
		entry->bytes = picture.bytes;
		entry->size = picture.size;
	}
	return status;
}

static void check_pdf(struct context *c, const struct http_upload *file,
                      struct attachment_entry *entry)
{
	if (!pdf_ends(file->bytes, file->len))
		form_fail(c->form, "file", "is a PDF that is cut short: its end mark is missing");
	entry->bytes = file->bytes;
	entry->size = file->len;
}

static enum status read_file(struct context *c, struct attachment_entry *entry)
{
	const struct http_upload *file = form_file(c->form, "file");
	const char *bare = bare_name(file->filename);
	enum content promised, content = content_of(file);
	size_t stem = split_name(bare, &promised);
	enum status status = ST_OK;

	if (content == CONTENT_NONE) {
		form_fail(c->form, "file", "is neither a PDF nor a JPEG, PNG or WebP picture");
		return ST_OK;
	}
	if (promised != CONTENT_NONE && promised != content) {
		form_fail(c->form, "file", "has a name that ends in %s, but holds %s",
		          contents[promised].end, contents[content].words);
		return ST_OK;
	}
	if (content == CONTENT_PDF)
		check_pdf(c, file, entry);
	else
		status = take_picture(c, entry, &content);
	entry->mime = contents[content].mime;
	entry->name = name_for(c->arena, bare, stem, content);
	return status == ST_OK && !entry->name ? ST_NOMEM : status;
}

enum status act_file_add(struct context *c)
{
	struct revision_id draft = {context_id(c, "revision")};
	struct attachment_entry entry;
	struct attachment_id id;
	enum status status = ST_OK;

	if (form_ok(c->form))
		status = read_file(c, &entry);
	if (!form_ok(c->form))
		return show_files(c);
	if (status != ST_OK)
		return status;
	status = attachment_add(c->store, draft, &entry, c->member->id, c->now, &id);
	status = form_bound(c->form, c->store, status);
	if (!form_ok(c->form))
		return show_files(c);
	if (status == ST_MISSING) {
		form_fail(c->form, "",
		          "This draft is with its checker, or gone: it takes no file now.");
		return show_files(c);
	}
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/board/drafts/%lld/files?said=file-added", (long long)draft.v);
}

/* The file must be of the draft of this address. */
enum status act_file_remove(struct context *c)
{
	struct revision_id draft = {context_id(c, "revision")};
	struct attachment_id id = {context_id(c, "file")};
	struct draft_base base;
	enum status status = draft_base_read(c, draft, &base);
	bool found = false;

	for (size_t i = 0; status == ST_OK && i < base.revision.n_attachments; i++)
		found = found || base.revision.attachments[i].id.v == id.v;
	if (status == ST_OK)
		status =
		        found ? attachment_remove(c->store, id, c->member->id, c->now) : ST_MISSING;
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/board/drafts/%lld/files?said=file-removed",
	                        (long long)draft.v);
}
