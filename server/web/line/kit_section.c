/* kit_section.c - "before you start section N": one sheet for the next hours in
 * the shop, made to be printed. What must be folded in, what this section would
 * cover, what members noted, the parts and the material.
 */
#include <stdlib.h>

#include "base/text.h"
#include "store/notes.h"
#include "store/notices.h"
#include "formats/json_text.h"
#include "web/kits/kit_page.h"
#include "web/kits/plan_view.h"
#include "web/html/notes_view.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/reports/reports_parts.h"
#include "web/html/present_parts.h"
#include "web/http/respond.h"

#define NOTES_SHOWN 3

static bool in_section(const struct line *line, uint32_t step, uint32_t section)
{
	return step != LINE_NO_STEP && line->steps[step].section == section;
}

/* Does it name a step here, is here its last good moment, or would this section add to its cost? */
static bool concerns(const struct line *line, const struct moment *moment, uint32_t section)
{
	for (uint32_t s = line->section_from[section]; s < line->section_from[section + 1]; s++)
		if (step_set_has(moment->affected, s))
			return true;
	return (moment->kind != MOMENT_BURIED && in_section(line, moment->at, section)) ||
	       in_section(line, moment->dearer, section);
}

/* ---- one notice ---- */

/* The notes that helped most, without their answers. */
static enum status add_notes(struct context *c, struct notice_id notice, json_t **row)
{
	static const struct notes_place place = {.plain = true};
	struct note_query query = {.of = note_on_notice(notice), .page = {NOTES_SHOWN, 0}};
	const struct note *notes;
	struct note standing[NOTES_SHOWN];
	size_t count = 0, n_standing = 0;
	int64_t total;
	json_t *list = NULL;
	enum status status = note_list(c->store, c->arena, &query, &notes, &count, &total);

	for (size_t i = 0; i < count; i++)
		if (!notes[i].removed_at)
			standing[n_standing++] = notes[i];
	if (status == ST_OK)
		status = note_views(c, standing, n_standing, &place, &list);
	if (status != ST_OK)
		return status;
	*row = present_set(*row, "notes", present_some("list", list));
	return *row ? ST_OK : ST_NOMEM;
}

static json_t *sentence(const struct kit_view *view, size_t i)
{
	struct text text = TEXT_EMPTY;

	moment_sentence(view->line, &view->plan.moments[i], &text);
	return json_take_text(&text);
}

/* What of the material lies where: "have it: sub-kit 4, bag 1107". */
static json_t *whereabouts(const struct kit_view *view, const struct catalogue_entry *entry)
{
	size_t count;
	const struct wanted *wanted = kit_view_wanted(view, entry, &count);

	return present_wanted_short(view, wanted, count);
}

static enum status add_notice(struct context *c, const struct kit_view *view, size_t i,
                              json_t **list)
{
	const struct catalogue_entry *entry = kit_plan_entry(view, i);
	json_t *row = present_set(kit_plan_link(view, i), "sentence", sentence(view, i));
	struct revision revision;
	enum status status =
	        revision_read(c->store, c->arena, entry->notice.revision_id, &revision);

	if (status == ST_OK) {
		row = present_set(row, "whereabouts", whereabouts(view, entry));
		row = present_set(
		        row, "needs",
		        present_some("material", present_material(revision.content.material,
		                                                  revision.content.n_material)));
		status = row ? add_notes(c, entry->notice.id, &row) : ST_NOMEM;
	}
	if (status != ST_OK) {
		json_decref(row);
		return status;
	}
	*list = present_append(*list, row);
	return *list ? ST_OK : ST_NOMEM;
}

static enum status notices_view(struct context *c, const struct kit_view *view, uint32_t section,
                                json_t **out)
{
	json_t *list = json_array();
	enum status status = list ? ST_OK : ST_NOMEM;

	for (size_t i = 0; status == ST_OK && i < view->plan.count; i++) {
		size_t at = view->plan.order[i];

		if (concerns(view->line, &view->plan.moments[at], section))
			status = add_notice(c, view, at, &list);
	}
	if (status != ST_OK) {
		json_decref(list);
		return status;
	}
	*out = list;
	return ST_OK;
}

/* ---- steps and parts ---- */

static json_t *names_text(const struct name *names, size_t count)
{
	struct text text = TEXT_EMPTY;

	for (size_t i = 0; i < count; i++)
		text_printf(&text, "%s%s", i ? ", " : "", names[i].text);
	if (count)
		return json_take_text(&text);
	return json_false();
}

static json_t *steps_view(const struct kit_view *view, uint32_t section)
{
	const struct line *line = view->line;
	json_t *list = json_array();

	for (uint32_t s = line->section_from[section]; list && s < line->section_from[section + 1];
	     s++) {
		const struct step_entry *entry = line->steps[s].entry;
		json_t *row = kit_step_view(view, s);

		row = present_set(row, "done",
		                  json_boolean(step_set_has(view->plan.progress.done, s)));
		row = present_set(row, "known_url",
		                  present_step_url(line->entry->model.text, entry->code.text));
		row = present_set(row, "parts", names_text(entry->parts, entry->n_parts));
		row = present_set(row, "report_url",
		                  report_new_url(view->kit.id, entry->code.text, NULL));
		list = present_append(
		        list,
		        present_set(row, "closes", names_text(entry->closes, entry->n_closes)));
	}
	return list;
}

/* What the section needs from others and is not built. */
static json_t *first_view(const struct kit_view *view, uint32_t section)
{
	const struct line *line = view->line;
	uint64_t first[LINE_STEPS_MOST / 64 + 1] = {0};

	for (uint32_t s = line->section_from[section]; s < line->section_from[section + 1]; s++)
		for (uint32_t w = 0; w < line->words; w++)
			first[w] |= line_row(line, line->needs_all, s)[w] &
			            ~view->plan.progress.done[w];
	for (uint32_t s = line->section_from[section]; s < line->section_from[section + 1]; s++)
		first[s / 64] &= ~((uint64_t)1 << (s % 64));
	return present_some("steps", kit_steps_view(view, first));
}

static int by_name(const void *a, const void *b)
{
	return name_compare(*(const struct name *const *)a, *(const struct name *const *)b);
}

static json_t *part_view(const struct kit_view *view, const struct name *number)
{
	static const struct name pieces = {.text = "", .key = ""};

	return json_pack("{s:s, s:o, s:o, s:o}", "number", number->text, "url",
	                 present_part_url(number->text), "places",
	                 present_places(view, number, &pieces), "report_url",
	                 report_new_url(view->kit.id, NULL, number->text));
}

/* Part numbers of the steps to come, each once, and where the packing lists have them. */
static json_t *parts_view(struct context *c, const struct kit_view *view, uint32_t section)
{
	const struct line *line = view->line;
	uint32_t from = line->section_from[section], to = line->section_from[section + 1];
	const struct name **parts =
	        ARENA_ARRAY(c->arena, const struct name *, (size_t)(to - from) * LINE_LIST_MOST);
	json_t *list = json_array();
	size_t count = 0;

	for (uint32_t s = from; parts && s < to; s++)
		for (size_t k = 0; k < line->steps[s].entry->n_parts; k++)
			if (!step_set_has(view->plan.progress.done, s))
				parts[count++] = &line->steps[s].entry->parts[k];
	if (parts)
		qsort(parts, count, sizeof *parts, by_name);
	for (size_t i = 0; list && i < count; i++)
		if (i == 0 || !name_equal(parts[i], parts[i - 1]))
			list = present_append(list, part_view(view, parts[i]));
	return present_some("numbers", parts ? list : NULL);
}

/* ---- the page ---- */

static json_t *section_view(struct context *c, const struct kit_view *view, uint32_t section,
                            json_t *notices)
{
	const struct section_entry *entry = &view->line->entry->sections[section];

	return json_pack(
	        "{s:i, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:i, s:b}", "number", (int)section + 1,
	        "code", entry->code.text, "heading", entry->title, "notices", notices, "steps",
	        steps_view(view, section), "before", first_view(view, section), "parts",
	        parts_view(c, view, section), "back_url",
	        json_sprintf("/kits/%lld/line?section=%u", (long long)view->kit.id.v, section + 1),
	        "count", (int)json_array_size(notices), "in_line", 1);
}

static enum status show_section(struct context *c, const struct kit_view *view)
{
	int64_t number = context_id(c, "section");
	json_t *notices = NULL;
	enum status status;

	if (!view->line || (size_t)number > view->line->entry->n_sections)
		return ST_MISSING;
	status = notices_view(c, view, (uint32_t)number - 1, &notices);
	if (status != ST_OK)
		return status;
	return kit_respond(c, &view->kit, "kit_section.html",
	                   arena_printf(c->arena, "Before you start section %u", (unsigned)number),
	                   section_view(c, view, (uint32_t)number - 1, notices));
}

enum status page_kit_section(struct context *c)
{
	return kit_page(c, show_section);
}
