/* kit_notice.c - one notice as it stands for one kit. In the order of need:
 * what must be done first, what is left, the work itself, why it stands so,
 * the records, the notes; the title block last, as on a drawing.
 */
#include "base/text.h"
#include "web/kits/kit_page.h"
#include "web/html/drawing.h"
#include "web/html/due_view.h"
#include "formats/json_text.h"
#include "web/kits/plan_view.h"
#include "web/html/notes_view.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/kits/record_view.h"
#include "web/reports/reports_parts.h"
#include "web/html/present_parts.h"
#include "web/http/respond.h"

static json_t *sentence_view(const struct effectivity *s)
{
	struct text text = TEXT_EMPTY;

	effectivity_sentence(s, &text);
	return json_take_text(&text);
}

/* ---- lines ---- */

static json_t *line_state_words(enum line_state state, const struct record *by)
{
	static const char *const words[] = {
	        [LINE_OPEN] = "to do",
	        [LINE_RECORDED] = "",
	        [LINE_PART_FITTED] = "nothing to do: the replacement is fitted",
	        [LINE_OTHER_LOT] = "nothing to do: the part fitted is of another lot",
	        [LINE_NOTHING_TO_DO] = "nothing to do: use as it is",
	};
	char date[DATE_WORDS_SIZE];

	if (state != LINE_RECORDED)
		return json_string(words[state]);
	date_words(by->done, date);
	return json_sprintf("done %s by %s", date, by->by);
}

static json_t *record_url(const struct kit_view *view, const struct notice *notice, size_t line)
{
	return json_sprintf("/kits/%lld/notices/%lld/record?line=%zu", (long long)view->kit.id.v,
	                    (long long)notice->id.v, line + 1);
}

static json_t *line_view(const struct kit_view *view, const struct catalogue_entry *entry, size_t i)
{
	static const struct notice_line whole = {.lots_text = "", .remark = ""};
	const struct notice_line *line = entry->notice.n_lines ? &entry->notice.lines[i] : &whole;
	const struct record *by = NULL;
	enum line_state state = standing_line(entry, i, &view->state, &by);
	json_t *disposition =
	        entry->notice.n_lines ? present_disposition(line->disposition) : json_false();

	return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:b, s:o, s:o}", "name",
	                 record_line_words(&line->part, &line->position), "disposition",
	                 disposition, "replacement", present_name(&line->replacement), "lots",
	                 present_text(line->lots_text), "remark", present_text(line->remark),
	                 "state", line_state_words(state, by), "open", state == LINE_OPEN,
	                 "record_url", record_url(view, &entry->notice, i), "known_url",
	                 name_is_empty(&line->part) ? json_false()
	                                            : present_part_url(line->part.text));
}

static json_t *lines_view(const struct kit_view *view, const struct catalogue_entry *entry)
{
	size_t count = entry->notice.n_lines ? entry->notice.n_lines : 1;
	json_t *list = json_array();

	for (size_t i = 0; list && i < count; i++)
		list = present_append(list, line_view(view, entry, i));
	return list;
}

/* ---- the page ---- */

/* Is there work to record: it applies, and is not ended, replaced or in the plans? */
static bool is_workable(const struct standing *standing)
{
	return standing->kind == STANDING_OPEN || standing->kind == STANDING_REPEATING ||
	       standing->kind == STANDING_DONE || standing->kind == STANDING_CONFORMS;
}

static json_t *content_view(const struct kit_view *view, const struct revision *revision)
{
	const struct revision_content *content = &revision->content;

	return json_pack(
	        "{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "problem",
	        present_prose(content->problem), "action", present_prose(content->action),
	        "compliance_words", present_text(content->compliance), "source",
	        present_text(content->source), "needs",
	        present_some("material", present_material(content->material, content->n_material)),
	        "attached",
	        present_some("attachments",
	                     present_attachments(revision->attachments, revision->n_attachments)),
	        "supersedes", present_links(view->catalogue, &content->supersedes), "terminates",
	        present_links(view->catalogue, &content->terminates), "due",
	        due_sentence_view(content->due), "title_block", present_title_block(content, 1, 1),
	        "plans_carry", present_date_text(content->plans_carry));
}

static json_t *standing_part(const struct kit_view *view, const struct catalogue_entry *entry)
{
	struct standing standing = kit_view_standing(view, entry);
	const struct effectivity *s = entry->notice.effectivity;
	bool read = kit_view_reading(view, &entry->notice) == READING_DONE;
	json_t *row = kit_row(view, entry);
	bool before = json_is_array(json_object_get(row, "first"));

	return json_pack("{s:o, s:o, s:o, s:b, s:b, s:o, s:o, s:o, s:o, s:o, s:b, s:b}", "row", row,
	                 "timing", kit_moment_view(view, entry), "reason",
	                 kit_reason(view, entry, &standing), "before", before, "workable",
	                 is_workable(&standing), "lines", lines_view(view, entry), "sentence",
	                 sentence_view(s), "drawing", drawing_view(s, &view->facts), "records",
	                 record_history(view, &entry->notice.number), "id",
	                 json_integer((json_int_t)entry->notice.id.v), "read", read, "is_ask",
	                 standing.kind == STANDING_ASK);
}

static json_t *wanted_view(const struct kit_view *view, const struct catalogue_entry *entry)
{
	size_t count;
	const struct wanted *wanted = kit_view_wanted(view, entry, &count);

	return present_wanted_list(view, wanted, count);
}

static enum status show_notice(struct context *c, const struct kit_view *view)
{
	const struct catalogue_entry *entry = NULL;
	struct note_subject of;
	struct revision revision;
	json_t *notes = NULL, *reports = NULL, *page, *content;
	enum status status = kit_entry(c, &entry);

	if (status == ST_OK)
		status = revision_read(c->store, c->arena, entry->notice.revision_id, &revision);
	if (status == ST_OK) {
		of = note_on_notice(entry->notice.id);
		status = notes_view(c, &of, view->kit.id, &notes);
	}
	if (status == ST_OK)
		status = report_linked_view(c, entry->notice.id, &reports);
	if (status != ST_OK) {
		json_decref(notes);
		return status;
	}
	page = present_set(standing_part(view, entry), "notes", notes);
	page = present_set(page, "reports", reports);
	page = present_set(page, "ask_url",
	                   json_sprintf("/kits/%lld/notices/%lld/ask", (long long)view->kit.id.v,
	                                (long long)entry->notice.id.v));
	page = present_set(page, "wanted_here", wanted_view(view, entry));
	content = content_view(view, &revision);
	page = present_set(page, "content", content);
	return kit_respond(
	        c, &view->kit, "kit_notice.html",
	        arena_printf(c->arena, "%s for %s", entry->notice.number.text, view->kit.name),
	        page);
}

enum status page_kit_notice(struct context *c)
{
	return kit_page(c, show_notice);
}
