/* public_notice.c - one notice as published: its current revision, each
 * earlier one, what changed between two of them, and the files attached.
 */
#include <string.h>

#include "store/kits.h"
#include "store/notices.h"
#include "web/http/context.h"
#include "web/html/notes_view.h"
#include "web/notices/public.h"
#include "web/reports/reports_parts.h"
#include "web/html/present.h"
#include "web/html/present_diff.h"
#include "web/http/respond.h"

const struct input differences_inputs[] = {{"from", "Earlier revision", INPUT_ID}, INPUTS_END};

/* All published revisions of a notice, newest first. */
struct history {
	const struct notice_row *rows;
	size_t count;
};

static json_t *revision_row(const struct notice_row *rows, size_t count, size_t i)
{
	long long notice = (long long)rows[i].id.v, id = (long long)rows[i].revision_id.v;
	json_t *differences =
	        i + 1 < count ? json_sprintf("/notices/%lld/revisions/%lld/differences", notice, id)
	                      : json_false();

	return json_pack("{s:o, s:o, s:b, s:o, s:o}", "words",
	                 present_revision_words(rows[i].revision), "issued",
	                 present_date_text(rows[i].issued), "current", rows[i].current, "url",
	                 rows[i].current ? json_sprintf("/notices/%lld", notice)
	                                 : json_sprintf("/notices/%lld/revisions/%lld", notice, id),
	                 "differences_url", differences);
}

static json_t *history_view(const struct history *history)
{
	json_t *view = json_array();

	for (size_t i = 0; view && i < history->count; i++)
		view = present_append(view, revision_row(history->rows, history->count, i));
	return view;
}

/* NULL when the statement of an old revision does not compile any more. */
static const struct effectivity *statement_of(const struct context *c,
                                              const struct revision *revision)
{
	const struct effectivity *statement = NULL;
	struct statement_fault fault;
	const char *text = revision->content.effectivity;

	if (effectivity_parse(c->arena, text, strlen(text), &statement, &fault) != ST_OK)
		return NULL;
	return statement;
}

/* Where the notice stands for each kit of the member who reads. */
static enum status kits_view(const struct context *c, struct notice_id notice, json_t **out)
{
	const struct kit *kits = NULL;
	size_t count = 0;
	enum status status = ST_OK;
	json_t *view;

	if (c->session)
		status = kit_list(c->store, c->arena, c->member->id, &kits, &count);
	if (status != ST_OK)
		return status;
	view = json_array();
	for (size_t i = 0; view && i < count; i++)
		view = present_append(view, json_pack("{s:s, s:o}", "name", kits[i].name, "url",
		                                      json_sprintf("/kits/%lld/notices/%lld",
		                                                   (long long)kits[i].id.v,
		                                                   (long long)notice.v)));
	*out = view;
	return view ? ST_OK : ST_NOMEM;
}

static json_t *notice_view(const struct context *c, const struct revision *revision,
                           const struct history *history)
{
	json_t *view = present_revision(c, revision, statement_of(c, revision), NULL);

	view = present_set(view, "in_notices", json_true());
	view = present_set(view, "old", json_boolean(!revision->current));
	view = present_set(view, "revisions", history_view(history));
	view = present_set(view, "has_history", json_boolean(history->count > 1));
	view = present_set(view, "point_url",
	                   json_sprintf("/under-way?notice=%lld", (long long)revision->notice.v));
	view = present_set(view, "board_url",
	                   json_sprintf("/board/notices/%lld", (long long)revision->notice.v));
	return present_set(view, "current_url",
	                   json_sprintf("/notices/%lld", (long long)revision->notice.v));
}

/* What members have said of it, and how it stands for their kits. */
static json_t *with_members(struct context *c, struct notice_id notice, json_t *view,
                            enum status *status)
{
	const struct note_subject of = note_on_notice(notice);
	json_t *kits = NULL, *notes = NULL, *reports = NULL;

	*status = kits_view(c, notice, &kits);
	if (*status == ST_OK)
		*status = report_linked_view(c, notice, &reports);
	if (*status == ST_OK)
		*status = notes_view(c, &of, (struct kit_id){0}, &notes);
	if (*status != ST_OK) {
		json_decref(kits);
		json_decref(reports);
		json_decref(view);
		return NULL;
	}
	view = present_set(view, "has_kits", json_boolean(json_array_size(kits) > 0));
	view = present_set(view, "reports", reports);
	return present_set(present_set(view, "kits", kits), "notes", notes);
}

static enum status respond_notice(struct context *c, const struct revision *revision)
{
	struct history history = {NULL, 0};
	const char *title =
	        arena_printf(c->arena, "%s %s", revision->content.number, revision->content.title);
	json_t *view = NULL;
	enum status status =
	        revision_list(c->store, c->arena, revision->notice, &history.rows, &history.count);

	if (status == ST_OK && !title)
		status = ST_NOMEM;
	if (status == ST_OK)
		view = with_members(c, revision->notice, notice_view(c, revision, &history),
		                    &status);
	return status == ST_OK ? respond_page(c, "notice.html", title, view) : status;
}

static struct notice_id notice_of(const struct context *c)
{
	return (struct notice_id){context_id(c, "notice")};
}

enum status page_notice(struct context *c)
{
	struct revision revision;
	enum status status = notice_current(c->store, c->arena, notice_of(c), &revision);

	return status == ST_OK ? respond_notice(c, &revision) : status;
}

/* A published revision of the notice of this address; drafts are not here. */
static enum status read_published(const struct context *c, int64_t id, struct revision *out)
{
	struct revision revision;
	enum status status = revision_read(c->store, c->arena, (struct revision_id){id}, &revision);

	if (status != ST_OK)
		return status;
	if (revision.notice.v != notice_of(c).v || revision.state != REVISION_PUBLISHED)
		return ST_MISSING;
	*out = revision;
	return ST_OK;
}

enum status page_revision(struct context *c)
{
	struct revision revision;
	enum status status = read_published(c, context_id(c, "revision"), &revision);

	return status == ST_OK ? respond_notice(c, &revision) : status;
}

/* ---- differences ---- */

/* The one asked for, else the one published before. ST_MISSING: it is the first. */
static enum status earlier_id(const struct context *c, int64_t later, int64_t *out)
{
	struct history history = {NULL, 0};
	enum status status =
	        revision_list(c->store, c->arena, notice_of(c), &history.rows, &history.count);

	if (status != ST_OK)
		return status;
	for (size_t i = 0; i + 1 < history.count; i++)
		if (history.rows[i].revision_id.v == later) {
			*out = history.rows[i + 1].revision_id.v;
			return ST_OK;
		}
	return ST_MISSING;
}

static json_t *side_view(const struct revision *revision)
{
	return json_pack("{s:o, s:o, s:o}", "words",
	                 present_revision_words(revision->content.revision), "issued",
	                 present_date_text(revision->content.issued), "url",
	                 json_sprintf("/notices/%lld/revisions/%lld", (long long)revision->notice.v,
	                              (long long)revision->id.v));
}

static enum status respond_differences(struct context *c, const struct revision *before,
                                       const struct revision *after)
{
	json_t *view = present_differences(c->arena, &before->content, &after->content);
	const char *title = arena_printf(c->arena, "%s: what changed", after->content.number);

	view = present_set(view, "before", side_view(before));
	view = present_set(view, "after", side_view(after));
	view = present_set(view, "number", json_string(after->content.number));
	view = present_set(view, "in_notices", json_true());
	view = present_set(view, "current_url",
	                   json_sprintf("/notices/%lld", (long long)after->notice.v));
	return respond_page(c, "differences_page.html", title ? title : "", view);
}

enum status page_differences(struct context *c)
{
	struct revision before, after;
	int64_t from = form_number(c->form, "from");
	enum status status = read_published(c, context_id(c, "revision"), &after);

	if (!form_ok(c->form))
		return ST_INVALID;
	if (status == ST_OK && from == 0)
		status = earlier_id(c, after.id.v, &from);
	if (status == ST_OK)
		status = read_published(c, from, &before);
	return status == ST_OK ? respond_differences(c, &before, &after) : status;
}

/* ---- files ---- */

/* Only plain pictures are shown in place; all else is saved first. */
static bool shows_in_place(const char *mime)
{
	static const char *const shown[] = {"image/png", "image/jpeg", "image/webp", "image/gif"};

	for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++)
		if (strcmp(shown[i], mime) == 0)
			return true;
	return false;
}

static bool is_plain(char c)
{
	return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
	       c == '-' || c == '_' || c == '.';
}

/* A file name that no header and no file system can misread. */
static const char *plain_name(struct arena *arena, const char *name)
{
	char *plain = arena_string(arena, name);

	for (char *at = plain; at && *at; at++)
		if (!is_plain(*at) || (at == plain && *at == '.'))
			*at = '_';
	return plain;
}

static const char *safe_type(const char *mime)
{
	if (shows_in_place(mime))
		return mime;
	return strcmp(mime, "application/pdf") == 0 ? mime : "application/octet-stream";
}

/* Files of drafts are for stewards. */
static bool may_read(const struct context *c, const struct attachment *attachment)
{
	return attachment->notice.v == notice_of(c).v &&
	       (attachment->published || context_may(c, ROLE_STEWARD));
}

enum status page_attachment(struct context *c)
{
	struct attachment_id id = {context_id(c, "file")};
	struct attachment attachment;
	const void *bytes = NULL;
	const char *name = NULL;
	enum status status = attachment_read(c->store, c->arena, id, &attachment, &bytes);

	if (status != ST_OK)
		return status;
	if (!may_read(c, &attachment))
		return ST_MISSING;
	if (!shows_in_place(attachment.mime)) {
		name = plain_name(c->arena, attachment.name);
		if (!name)
			return ST_NOMEM;
	}
	return respond_bytes(c, safe_type(attachment.mime), bytes, (size_t)attachment.size,
	                     attachment.published ? CACHE_PUBLIC : CACHE_PRIVATE, name);
}
