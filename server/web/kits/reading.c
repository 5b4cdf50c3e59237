/* reading.c - the backlog, read through once: one notice at a time, or as a
 * list. Reading is not doing: a mark says only that the builder knows of the
 * notice, and in which revision.
 *
 * Order: what applies, then what cannot be told, then what is settled, last
 * what is not effective. Progress counts all but these last.
 */
#include "base/text.h"
#include "web/kits/kit_page.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/http/respond.h"

const struct input reading_inputs[] = {{"list", "As a list", INPUT_FLAG},
                                       {"after", "After", INPUT_ID},
                                       {"marked", "Just marked", INPUT_ID},
                                       {"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000},
                                       INPUTS_END};

static const char *const acts[] = {"read", "unread", NULL};
enum { ACT_READ, ACT_UNREAD };

const struct input reading_post_inputs[] = {
        {"notice", "Notice", INPUT_ID, .required = true},
        {"act", "What to do", INPUT_CHOICE, .required = true, .choices = acts},
        {"list", "As a list", INPUT_FLAG},
        {"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000},
        INPUTS_END};

#define PAGE_ROWS 60

/* ---- walking the piles ---- */

static const enum kit_pile order[KIT_PILES] = {PILE_LEFT,     PILE_ASK,          PILE_REPEATING,
                                               PILE_DONE,     PILE_CONFORMS,     PILE_IN_THE_PLANS,
                                               PILE_REPLACED, PILE_NOT_EFFECTIVE};

struct walk {
	const struct kit_view *view;
	unsigned pile; /* place in order */
	size_t at;
};

/* The next entry, NULL at the end; *pile gets where it lies. */
static const struct catalogue_entry *walk_next(struct walk *walk, enum kit_pile *pile)
{
	while (walk->pile < KIT_PILES) {
		*pile = order[walk->pile];
		if (walk->at < walk->view->piled[*pile])
			return &walk->view->catalogue->entries[walk->view->pile[*pile][walk->at++]];
		walk->pile++;
		walk->at = 0;
	}
	return NULL;
}

struct progress {
	unsigned read, total;
	unsigned beside_read, beside; /* not effective ones */
};

static struct progress measure(const struct kit_view *view)
{
	struct walk walk = {.view = view};
	struct progress progress = {0};
	const struct catalogue_entry *entry;
	enum kit_pile pile;

	while ((entry = walk_next(&walk, &pile))) {
		bool read = kit_view_reading(view, &entry->notice) == READING_DONE;

		if (pile == PILE_NOT_EFFECTIVE) {
			progress.beside++;
			progress.beside_read += read;
		} else {
			progress.total++;
			progress.read += read;
		}
	}
	return progress;
}

static json_t *progress_view(const struct kit_view *view)
{
	struct progress p = measure(view);

	return json_pack("{s:i, s:i, s:i, s:i, s:b}", "read", (int)p.read, "total", (int)p.total,
	                 "beside_read", (int)p.beside_read, "beside", (int)p.beside, "finished",
	                 p.read == p.total);
}

/* The first unread notice, or the first behind the one with that id. Going past
 * the end begins anew, so that what was skipped comes again. */
static const struct catalogue_entry *next_unread(const struct kit_view *view, int64_t after)
{
	struct walk walk = {.view = view};
	const struct catalogue_entry *entry, *first = NULL;
	bool passed = after == 0;
	enum kit_pile pile;

	while ((entry = walk_next(&walk, &pile))) {
		bool unread = kit_view_reading(view, &entry->notice) != READING_DONE;

		if (unread && passed)
			return entry;
		if (unread && !first)
			first = entry;
		if (entry->notice.id.v == after)
			passed = true;
	}
	return first;
}

/* ---- one at a time ---- */

/* The notice that was marked just now, for taking it back; false when none. */
static json_t *marked_view(struct context *c, const struct kit_view *view)
{
	struct notice_id id = {form_number(c->form, "marked")};
	const struct catalogue_entry *entry = catalogue_find_id(view->catalogue, id);

	if (!entry || kit_view_reading(view, &entry->notice) != READING_DONE)
		return json_false();
	return json_pack("{s:s, s:I, s:s}", "number", entry->notice.number.text, "id",
	                 (json_int_t)id.v, "title", entry->notice.title);
}

static enum status add_words(struct context *c, const struct catalogue_entry *entry, json_t **view)
{
	struct revision revision;
	enum status status =
	        revision_read(c->store, c->arena, entry->notice.revision_id, &revision);

	if (status != ST_OK)
		return status;
	*view = present_set(*view, "problem", present_prose(revision.content.problem));
	*view = present_set(*view, "action", present_prose(revision.content.action));
	*view = present_set(*view, "compliance_words", present_text(revision.content.compliance));
	return ST_OK;
}

static enum status show_one(struct context *c, const struct kit_view *view)
{
	const struct catalogue_entry *entry = next_unread(view, form_number(c->form, "after"));
	json_t *notice = entry ? kit_row(view, entry) : json_false();
	enum status status = ST_OK;

	if (entry) {
		notice = present_set(notice, "id", json_integer((json_int_t)entry->notice.id.v));
		notice = present_set(notice, "skip_url",
		                     json_sprintf("/kits/%lld/reading?after=%lld",
		                                  (long long)view->kit.id.v,
		                                  (long long)entry->notice.id.v));
		status = add_words(c, entry, &notice);
	}
	if (status != ST_OK) {
		json_decref(notice);
		return status;
	}
	return kit_respond(c, &view->kit, "kit_reading.html", "Read the backlog",
	                   json_pack("{s:o, s:o, s:o, s:b}", "notice", notice, "progress",
	                             progress_view(view), "marked", marked_view(c, view),
	                             "in_reading", 1));
}

/* ---- as a list ---- */

static json_t *reading_row(const struct kit_view *view, const struct catalogue_entry *entry,
                           enum kit_pile pile)
{
	json_t *row = present_entry(entry);
	bool read = kit_view_reading(view, &entry->notice) == READING_DONE;

	row = present_set(row, "id", json_integer((json_int_t)entry->notice.id.v));
	row = present_set(row, "url",
	                  json_sprintf("/kits/%lld/notices/%lld", (long long)view->kit.id.v,
	                               (long long)entry->notice.id.v));
	row = present_set(row, "pile", json_string(kit_pile_words(pile)));
	row = present_set(row, "revised",
	                  json_boolean(kit_view_reading(view, &entry->notice) == READING_REVISED));
	return present_set(row, "read", json_boolean(read));
}

static json_t *reading_rows(const struct kit_view *view, const struct page *page)
{
	struct walk walk = {.view = view};
	json_t *rows = json_array();
	const struct catalogue_entry *entry;
	enum kit_pile pile;

	for (int64_t i = 0; rows && (entry = walk_next(&walk, &pile)); i++) {
		if (i >= page->offset + page->limit)
			break;
		if (i >= page->offset)
			rows = present_append(rows, reading_row(view, entry, pile));
	}
	return rows;
}

static enum status show_list(struct context *c, const struct kit_view *view)
{
	int64_t number = form_given(c->form, "page") ? form_number(c->form, "page") : 1;
	struct page page = {PAGE_ROWS, (number - 1) * PAGE_ROWS};
	bool long_list = view->catalogue->count > PAGE_ROWS;
	json_t *pager = long_list ? present_pager(c->request->path, &c->request->query, &page,
	                                          (int64_t)view->catalogue->count)
	                          : json_false();

	return kit_respond(c, &view->kit, "kit_reading_list.html", "The backlog as a list",
	                   json_pack("{s:o, s:o, s:o, s:I, s:b}", "rows", reading_rows(view, &page),
	                             "progress", progress_view(view), "pager", pager, "page",
	                             (json_int_t)number, "in_reading", 1));
}

static enum status show_reading(struct context *c, const struct kit_view *view)
{
	return form_flag(c->form, "list") ? show_list(c, view) : show_one(c, view);
}

enum status page_reading(struct context *c)
{
	return kit_page(c, show_reading);
}

/* ---- marks ---- */

/* A mark that is not there needs no taking back. */
static enum status mark(struct context *c, const struct kit_view *view,
                        const struct catalogue_entry *entry)
{
	enum status status;

	if (form_choice(c->form, "act") == ACT_READ)
		return reading_mark(c->store, view->kit.id, entry->notice.id,
		                    entry->notice.revision_id, c->now);
	status = reading_unmark(c->store, view->kit.id, entry->notice.id);
	return status == ST_MISSING ? ST_OK : status;
}

static enum status go_on(struct context *c, const struct kit_view *view,
                         const struct catalogue_entry *entry)
{
	long long kit = (long long)view->kit.id.v, notice = (long long)entry->notice.id.v;

	if (form_flag(c->form, "list"))
		return respond_redirect(
		        c, "/kits/%lld/reading?list=yes&page=%lld#n%lld", kit,
		        form_given(c->form, "page") ? (long long)form_number(c->form, "page") : 1LL,
		        notice);
	if (form_choice(c->form, "act") == ACT_READ)
		return respond_redirect(c, "/kits/%lld/reading?after=%lld&marked=%lld", kit, notice,
		                        notice);
	return respond_redirect(c, "/kits/%lld/reading", kit);
}

static enum status take_mark(struct context *c, const struct kit_view *view)
{
	struct notice_id id = {form_number(c->form, "notice")};
	const struct catalogue_entry *entry = catalogue_find_id(view->catalogue, id);
	enum status status;

	if (!form_ok(c->form))
		return ST_INVALID;
	if (!entry)
		return ST_MISSING;
	status = mark(c, view, entry);
	return status == ST_OK ? go_on(c, view, entry) : status;
}

enum status act_reading(struct context *c)
{
	return kit_page(c, take_mark);
}
