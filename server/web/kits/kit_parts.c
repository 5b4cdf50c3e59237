#include "web/kits/kit_parts.h"

#include <string.h>

#include "base/text.h"
#include "web/html/due_view.h"
#include "formats/json_text.h"
#include "web/kits/plan_view.h"
#include "web/reports/reports_parts.h"
#include "web/html/present_parts.h"
#include "web/http/respond.h"

#define SHORT_WORDS 200 /* bytes of a compliance time in a list */

static json_t *kit_address(const struct kit *kit, const char *page)
{
	return json_sprintf("/kits/%lld%s", (long long)kit->id.v, page);
}

json_t *kit_present(const struct kit *kit)
{
	return json_pack(
	        "{s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o,"
	        " s:o, s:o, s:o, s:o, s:b, s:b, s:o, s:o}",
	        "name", kit->name, "log_url", kit_address(kit, "/log"), "due_url",
	        kit_address(kit, "/due"), "url", kit_address(kit, ""), "facts_url",
	        kit_address(kit, "/facts"), "reading_url", kit_address(kit, "/reading"),
	        "records_url", kit_address(kit, "/records"), "line_url", kit_address(kit, "/line"),
	        "statement_url", kit_address(kit, "/statement"), "answer_url",
	        kit_address(kit, "/answer"), "rename_url", kit_address(kit, "/name"), "remove_url",
	        kit_address(kit, "/remove"), "all_url", kit_address(kit, "?standing=all"),
	        "ask_url", kit_address(kit, "?standing=ask"), "reading_list_url",
	        kit_address(kit, "/reading?list=yes"), "parts_url", kit_address(kit, "/parts"),
	        "taken_url", kit_address(kit, "/parts/taken"), "shopping_url",
	        kit_address(kit, "/shopping"), "cutting_url", kit_address(kit, "/cutting"),
	        "report_url", report_new_url(kit->id, NULL, NULL), "shown", kit->shown, "named",
	        kit->named, "set_shown_url", kit_address(kit, "/shown"), "shown_url",
	        json_sprintf("/under-way/%lld", (long long)kit->id.v));
}

json_t *kit_frame(const struct kit *kit, json_t *view)
{
	return present_set(present_set(view, "kit", kit_present(kit)), "in_kits", json_true());
}

enum status kit_respond(struct context *c, const struct kit *kit, const char *template,
                        const char *title, json_t *view)
{
	return respond_page(c, template, title, kit_frame(kit, view));
}

/* ---- piles ---- */

static const struct {
	const char *words, *address;
} piles[KIT_PILES] = {
        [PILE_LEFT] = {"to do", "left"},
        [PILE_ASK] = {"cannot tell yet", "ask"},
        [PILE_REPEATING] = {"repeating, not due", "repeating"},
        [PILE_DONE] = {"done", "done"},
        [PILE_CONFORMS] = {"conforms", "conforms"},
        [PILE_IN_THE_PLANS] = {"in the plans", "in-the-plans"},
        [PILE_REPLACED] = {"replaced", "replaced"},
        [PILE_NOT_EFFECTIVE] = {"not effective", "not-effective"},
};

const char *kit_pile_words(enum kit_pile pile)
{
	return piles[pile].words;
}

const char *kit_pile_address(enum kit_pile pile)
{
	return piles[pile].address;
}

/* ---- one notice ---- */

json_t *kit_reason(const struct kit_view *view, const struct catalogue_entry *entry,
                   const struct standing *standing)
{
	struct text text = TEXT_EMPTY;

	standing_reason(entry, standing, &view->state, &text);
	return json_take_text(&text);
}

/* In a list the lines left stand on their own. */
static json_t *short_reason(const struct kit_view *view, const struct catalogue_entry *entry,
                            const struct standing *standing)
{
	struct text text = TEXT_EMPTY;

	if (standing->kind != STANDING_OPEN)
		return kit_reason(view, entry, standing);
	effectivity_reason(entry->notice.effectivity, &view->facts, &text);
	return json_take_text(&text);
}

static json_t *notice_address(const struct kit_view *view, const struct notice *notice,
                              const char *page)
{
	return json_sprintf("/kits/%lld/notices/%lld%s", (long long)view->kit.id.v,
	                    (long long)notice->id.v, page);
}

static json_t *first_link(const struct kit_view *view, const struct catalogue_entry *needed,
                          const struct standing *standing)
{
	return json_pack("{s:s, s:s, s:o, s:s}", "number", needed->notice.number.text, "title",
	                 needed->notice.title, "url", notice_address(view, &needed->notice, ""),
	                 "standing", standing_words(standing->kind));
}

json_t *kit_first(const struct kit_view *view, const struct catalogue_entry *entry)
{
	json_t *list = json_array();

	for (uint32_t i = 0; list && i < entry->n_requires; i++) {
		const struct catalogue_entry *needed =
		        &view->catalogue->entries[entry->requires[i]];
		struct standing standing = kit_view_standing(view, needed);

		if (standing_is_left(&standing) || standing.kind == STANDING_ASK)
			list = present_append(list, first_link(view, needed, &standing));
	}
	if (!list || json_array_size(list) > 0)
		return list;
	json_decref(list);
	return json_false();
}

/* Cut at a blank, whole characters only. */
static json_t *shortened(const char *words)
{
	size_t len = SHORT_WORDS;

	if (!words || strlen(words) <= SHORT_WORDS)
		return present_text(words ? words : "");
	while (len > 0 && words[len] != ' ' && words[len] != '\n')
		len--;
	if (len == 0)
		for (len = SHORT_WORDS; ((unsigned char)words[len] & 0xC0) == 0x80;)
			len--;
	return json_sprintf("%.*s ...", (int)len, words);
}

static json_t *lines_left(const struct standing *standing)
{
	if (standing->kind != STANDING_OPEN)
		return json_false();
	return json_sprintf("%u of %u %s left", standing->left, standing->lines,
	                    standing->lines == 1 ? "line" : "lines");
}

static json_t *reading_mark_words(const struct kit_view *view, const struct notice *notice)
{
	static const char *const words[] = {
	        [READING_NOT] = "not read yet",
	        [READING_REVISED] = "revised since you read it",
	        [READING_DONE] = "",
	};

	if (view->n_readings == 0)
		return json_false(); /* nothing is read yet: the page says so once */
	return present_text(words[kit_view_reading(view, notice)]);
}

static json_t *material_words(const struct kit_view *view, const struct catalogue_entry *entry)
{
	size_t count;
	const struct wanted *wanted = kit_view_wanted(view, entry, &count);

	return present_wanted_short(view, wanted, count);
}

json_t *kit_row(const struct kit_view *view, const struct catalogue_entry *entry)
{
	const struct notice *notice = &entry->notice;
	struct standing standing = kit_view_standing(view, entry);
	json_t *row = present_entry(entry);

	row = present_set(row, "url", notice_address(view, notice, ""));
	row = present_set(row, "record_url", notice_address(view, notice, "/record"));
	row = present_set(row, "can_record", json_boolean(standing_is_left(&standing)));
	row = present_set(row, "why", short_reason(view, entry, &standing));
	row = present_set(row, "standing", present_standing(standing.kind));
	row = present_set(row, "lines", lines_left(&standing));
	row = present_set(row, "compliance", shortened(notice->compliance));
	row = present_set(row, "moment", kit_moment_short(view, entry));
	row = present_set(row, "overdue", json_boolean(standing.overdue));
	row = present_set(row, "due_now", json_boolean(standing.due.state == DUE_NOW));
	row = present_set(row, "due", due_time_view(&standing.due));
	row = present_set(row, "reopened", json_boolean(standing.reopened));
	row = present_set(row, "mark", reading_mark_words(view, notice));
	row = present_set(row, "material", material_words(view, entry));
	return present_set(row, "first", kit_first(view, entry));
}

enum status kit_entry(const struct context *c, const struct catalogue_entry **out)
{
	struct notice_id id = {context_id(c, "notice")};
	const struct catalogue_entry *entry = catalogue_find_id(c->catalogue, id);

	if (!entry)
		return ST_MISSING;
	*out = entry;
	return ST_OK;
}
