/* board.c - the drawing board itself: what is being drafted, what waits for a
 * second pair of eyes, and where to begin.
 */
#include "web/board/board.h"

#include <string.h>

#include "store/calls.h"
#include "web/board/board_parts.h"
#include "web/http/respond.h"
#include "chapter/whom.h"

#define DRAFTS_SHOWN 200
#define FOUND_SHOWN 20
#define LOG_SHOWN 50
#define LOG_SEARCHED 30 /* entries of one notice in which its handing over is looked for */

const struct input board_query[] = {{"words", "Number or words", INPUT_LINE, .longest = 100},
                                    INPUTS_END};
const struct input board_log_query[] = {{"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000},
                                        INPUTS_END};

/* ---- what is on the board ---- */

/* Who handed it over, and when: words for the list. */
static enum status waits_since(const struct context *c, const struct notice_row *row, json_t **out)
{
	const struct log_entry *entries;
	size_t count, i = 0;
	int64_t total;
	enum status status = log_list(c->store, c->arena, row->id, (struct page){LOG_SEARCHED, 0},
	                              &entries, &count, &total);

	if (status != ST_OK)
		return status;
	while (i < count && entries[i].act != ACT_SUBMITTED)
		i++;
	*out = i < count ? json_pack("{s:s, s:o}", "by", entries[i].by, "at",
	                             board_time(entries[i].at))
	                 : json_pack("{s:s, s:o}", "by", row->editor_name, "at",
	                             board_time(row->edited_at));
	return *out ? ST_OK : ST_NOMEM;
}

static json_t *draft_row(const struct context *c, const struct notice_row *row, json_t *waits)
{
	long long id = (long long)row->revision_id.v;
	bool checking = row->state == REVISION_CHECKING;
	bool follows = catalogue_find_id(c->catalogue, row->id) != NULL;
	json_t *view = present_row(row);

	view = present_set(view, "revision", board_label(row->revision, follows));
	view = present_set(
	        view, "url",
	        json_sprintf(checking ? "/board/drafts/%lld/check" : "/board/drafts/%lld", id));
	view = present_set(view, "editor", json_string(row->editor_name));
	view = present_set(view, "edited", board_time(row->edited_at));
	return present_set(view, "waits", waits);
}

/* Drafts go into *drafts, what waits for checking into *waiting. */
static enum status sort_rows(const struct context *c, const struct notice_row *rows, size_t count,
                             json_t **drafts, json_t **waiting)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < count; i++) {
		json_t **pile = rows[i].state == REVISION_CHECKING ? waiting : drafts;
		json_t *waits = json_false();

		if (pile == waiting)
			status = waits_since(c, &rows[i], &waits);
		if (status == ST_OK)
			*pile = present_append(*pile, draft_row(c, &rows[i], waits));
		if (status == ST_OK && !*pile)
			status = ST_NOMEM;
	}
	return status;
}

/* Published notices that are found, each leading to its page on the board. */
static enum status find_notices(const struct context *c, json_t **out)
{
	struct notice_query query = notice_query_all;
	const struct notice_row *rows;
	size_t count;
	int64_t total;
	json_t *list;
	enum status status;

	query.words = form_text(c->form, "words");
	query.page.limit = FOUND_SHOWN;
	status = notice_search(c->store, c->arena, &query, &rows, &count, &total);
	if (status != ST_OK)
		return status;
	list = json_array();
	for (size_t i = 0; list && i < count; i++)
		list = present_append(list, present_set(present_row(&rows[i]), "url",
		                                        json_sprintf("/board/notices/%lld",
		                                                     (long long)rows[i].id.v)));
	*out = json_pack("{s:b, s:I, s:b, s:o}", "has_rows", count > 0, "total", (json_int_t)total,
	                 "more", total > (int64_t)count, "rows", list);
	return *out ? ST_OK : ST_NOMEM;
}

static enum status search_if_asked(const struct context *c, json_t **out)
{
	*out = json_false();
	return form_given(c->form, "words") ? find_notices(c, out) : ST_OK;
}

static json_t *rows_or_false(json_t *rows)
{
	json_t *view =
	        rows && json_array_size(rows) ? json_pack("{s:O}", "rows", rows) : json_false();

	json_decref(rows);
	return view;
}

static json_t *calls_words(int64_t waiting)
{
	if (waiting == 0)
		return json_false();
	return json_sprintf("%lld %s", (long long)waiting, waiting == 1 ? "waits" : "wait");
}

enum status page_board(struct context *c)
{
	json_t *drafts = json_array(), *waiting = json_array(), *found = NULL;
	const struct notice_row *rows;
	size_t count = 0;
	int64_t total = 0, calls = 0;
	enum status status = draft_list(c->store, c->arena, (struct page){DRAFTS_SHOWN, 0}, &rows,
	                                &count, &total);

	if (status == ST_OK)
		status = calls_waiting(c->store, &calls);
	if (status == ST_OK)
		status =
		        drafts && waiting ? sort_rows(c, rows, count, &drafts, &waiting) : ST_NOMEM;
	if (status == ST_OK)
		status = search_if_asked(c, &found);
	if (status != ST_OK) {
		json_decref(drafts);
		json_decref(waiting);
		return status;
	}
	return board_respond(c, "board.html", "Drawing board",
	                     json_pack("{s:o, s:b, s:o, s:o, s:o, s:o, s:o}", "calls",
	                               calls_words(calls), "clear", total == 0, "drafts",
	                               rows_or_false(drafts), "waiting", rows_or_false(waiting),
	                               "left_out",
	                               total > (int64_t)count ? json_integer(total - (int64_t)count)
	                                                      : json_false(),
	                               "form", form_view(c->form), "found", found));
}

/* ---- one notice ---- */

static struct notice_id notice_of(const struct context *c)
{
	return (struct notice_id){context_id(c, "notice")};
}

/* Its current revision, else its draft. ST_MISSING. */
static enum status read_notice(const struct context *c, struct revision *out)
{
	struct revision_id draft;
	enum status status = notice_current(c->store, c->arena, notice_of(c), out);

	if (status != ST_MISSING)
		return status;
	status = draft_of(c->store, notice_of(c), &draft);
	return status == ST_OK ? revision_read(c->store, c->arena, draft, out) : status;
}

/* The draft as "draft", false when there is none. */
static enum status draft_view(const struct context *c, json_t **out)
{
	struct revision_id id;
	struct revision draft;
	enum status status = draft_of(c->store, notice_of(c), &id);

	*out = json_false();
	if (status == ST_MISSING)
		return ST_OK;
	if (status == ST_OK)
		status = revision_read(c->store, c->arena, id, &draft);
	if (status == ST_OK)
		*out = board_draft(&draft);
	return status == ST_OK && !*out ? ST_NOMEM : status;
}

static json_t *notice_view(const struct revision *revision)
{
	long long id = (long long)revision->notice.v;
	const struct revision_content *content = &revision->content;

	return json_pack("{s:s, s:s, s:o, s:o, s:b, s:o, s:o, s:o, s:o}", "number", content->number,
	                 "name", content->title, "force", present_force(content->force), "words",
	                 present_revision_words(content->revision), "published",
	                 revision->notice_published, "cancelled",
	                 present_date_text(revision->cancelled_on), "notice_url",
	                 json_sprintf("/notices/%lld", id), "revise_path",
	                 json_sprintf("/board/notices/%lld/revise", id), "cancel_url",
	                 json_sprintf("/board/notices/%lld/cancel", id));
}

/* How many kits the published notice concerns, with the address of the list; false
 * while nothing is published. */
static enum status whom_view(const struct context *c, json_t **out)
{
	const struct catalogue_entry *entry = catalogue_find_id(c->catalogue, notice_of(c));
	struct work work = context_work(c);
	struct whom whom;
	enum status status;

	*out = json_false();
	if (!entry || entry->notice.cancelled)
		return ST_OK;
	status = whom_count(&work, entry->notice.effectivity, &whom);
	if (status != ST_OK)
		return status;
	*out = json_pack("{s:I, s:I, s:o}", "concerned", (json_int_t)whom.counts[TRUTH_TRUE],
	                 "untold", (json_int_t)whom.counts[TRUTH_UNKNOWN], "url",
	                 json_sprintf("/board/notices/%lld/kits", (long long)notice_of(c).v));
	return *out ? ST_OK : ST_NOMEM;
}

enum status page_board_notice(struct context *c)
{
	int64_t number = form_given(c->form, "page") ? form_number(c->form, "page") : 1;
	struct page page = {LOG_SHOWN, (number - 1) * LOG_SHOWN};
	struct revision revision;
	json_t *draft = NULL, *log = NULL, *whom = NULL, *view;
	int64_t total = 0;
	enum status status = read_notice(c, &revision);

	if (status == ST_OK)
		status = draft_view(c, &draft);
	if (status == ST_OK)
		status = whom_view(c, &whom);
	if (status == ST_OK)
		status = board_log(c, revision.notice, page, &log, &total);
	if (status != ST_OK) {
		json_decref(draft);
		json_decref(whom);
		return status;
	}
	view = present_set(notice_view(&revision), "draft", draft);
	view = present_set(view, "whom", whom);
	view = present_set(view, "log", log);
	view = present_set(view, "pager",
	                   present_pager(c->request->path, &c->request->query, &page, total));
	return board_respond(c, "board_notice.html",
	                     arena_printf(c->arena, "%s on the board", revision.content.number),
	                     view);
}

enum status act_revise(struct context *c)
{
	struct revision_id id;
	enum status status = draft_new_revision(c->store, notice_of(c), c->member->id, c->now, &id);
	bool made = status == ST_OK;

	if (status == ST_CONFLICT) /* somebody has begun one already */
		status = draft_of(c->store, notice_of(c), &id);
	if (status != ST_OK)
		return status;
	return respond_redirect(c,
	                        made ? "/board/drafts/%lld?said=revision-begun"
	                             : "/board/drafts/%lld?said=revision-there",
	                        (long long)id.v);
}

/* ---- cancelling ---- */

const struct input cancel_inputs[] = {
        {"on", "Cancelled on", INPUT_DATE, .required = true},
        {"reason", "Reason", INPUT_TEXT, .required = true, .longest = 2000},
        {"sure", "The issuer has cancelled this notice; nothing more is to be done for it",
         INPUT_FLAG},
        INPUTS_END};

static enum status show_cancel(struct context *c)
{
	struct revision revision;
	json_t *form;
	enum status status = notice_current(c->store, c->arena, notice_of(c), &revision);

	if (status == ST_OK && revision.cancelled_on[0])
		status = ST_CONFLICT;
	if (status != ST_OK)
		return status;
	form = present_hint(board_form(c, cancel_inputs), "on", "2026, 2026-04 or 2026-04-17");
	return board_respond(c, "board_cancel.html",
	                     arena_printf(c->arena, "Cancel %s", revision.content.number),
	                     present_set(notice_view(&revision), "form", form));
}

enum status page_cancel(struct context *c)
{
	return show_cancel(c);
}

enum status act_cancel(struct context *c)
{
	enum status status;

	if (!form_flag(c->form, "sure"))
		form_fail(c->form, "sure", "must be ticked");
	if (form_given(c->form, "on") && form_date(c->form, "on").date.first > c->today)
		form_fail(c->form, "on", "must not lie ahead");
	if (!form_ok(c->form))
		return show_cancel(c);
	status = notice_cancel(c->store, notice_of(c), form_text(c->form, "on"),
	                       form_text(c->form, "reason"), c->member->id, c->now);
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/board/notices/%lld?said=notice-cancelled",
	                        (long long)notice_of(c).v);
}
