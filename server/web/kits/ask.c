/* ask.c - "Ask the maker": on one page what a kit maker's support will want to
 * know: the kit's facts, the notice or report in short, what is asked. To print,
 * or to copy as plain text. What is asked stays in the address; nothing is
 * stored or sent.
 */
#include "web/kits/kit_page.h"
#include "web/reports/reports.h"

#include "base/text.h"
#include "core/quantity.h"
#include "formats/json_text.h"
#include "web/kits/kit_parts.h"
#include "web/reports/reports_parts.h"
#include "web/html/present_facts.h"
#include "web/http/respond.h"

#define QUESTION_LONGEST 2000 /* characters: it stands in the address */

const struct input ask_inputs[] = {
        {"question", "What you ask", INPUT_TEXT, .longest = QUESTION_LONGEST}, INPUTS_END};

/* What the question is about, as present values (stolen). */
struct subject {
	const char *brief; /* "HB-1"; not stolen */
	json_t *name;      /* "Notice HB-1 revision A, issued March 2018" */
	json_t *title;
	json_t *lines; /* [{"words", "value"}...]: in short */
	json_t *url;   /* where it is read */
};

static json_t *line(const char *words, json_t *value)
{
	return json_pack("{s:s, s:o}", "words", words, "value", value);
}

/* ---- the kit ---- */

static void add_hours(struct text *out, int64_t hundredths)
{
	hours_print(hundredths, out);
	text_add(out, hundredths == 100 ? " hour" : " hours");
}

/* How far it is built by its model's line; false without one. */
static json_t *progress_view(const struct kit_view *view)
{
	const struct line_progress *progress = &view->plan.progress;
	struct text words = TEXT_EMPTY;

	if (!view->line)
		return json_false();
	text_printf(&words, "%u of %u steps marked as built%s, ", progress->steps_done,
	            view->line->count, progress->known ? "" : " (perhaps more)");
	add_hours(&words, progress->hours_done);
	text_add(&words, " of ");
	hours_print(progress->hours_all, &words);
	text_add(&words, " as the line estimates them");
	return json_take_text(&words);
}

static json_t *kit_lines(const struct kit_view *view)
{
	json_t *list = present_facts(&view->facts);
	json_t *progress = progress_view(view);

	if (json_is_string(progress))
		return present_append(list, line("progress", progress));
	json_decref(progress);
	return list;
}

/* ---- the block of plain text ---- */

static void add_lines(struct text *out, const json_t *lines)
{
	const json_t *at;
	size_t i;

	json_array_foreach((json_t *)(uintptr_t)lines, i, at)
	        text_printf(out, "%s: %s\n", json_string_value(json_object_get(at, "words")),
	                    json_string_value(json_object_get(at, "value")));
}

static json_t *block_view(const json_t *kit, const struct subject *subject, const char *question)
{
	struct text out = TEXT_EMPTY;

	text_printf(&out, "About: %s\n%s\n\n", json_string_value(subject->name),
	            json_string_value(subject->title));
	text_printf(&out, "Question:\n%s\n\n", question[0] ? question : "(not written yet)");
	text_add(&out, "The kit:\n");
	add_lines(&out, kit);
	text_add(&out, "\nIn short:\n");
	add_lines(&out, subject->lines);
	return json_take_text(&out);
}

/* ---- the page ---- */

static void drop(struct subject *subject)
{
	json_decref(subject->name);
	json_decref(subject->title);
	json_decref(subject->lines);
	json_decref(subject->url);
}

static enum status respond_ask(struct context *c, const struct kit_view *view,
                               struct subject *subject)
{
	const char *question = form_value(c->form, "question", 0)->typed;
	json_t *form = present_hint(form_view(c->form), "question",
	                            "What you see, what you want to know, what you have tried");
	json_t *kit = kit_lines(view), *page = NULL;

	if (subject->brief && subject->name && subject->title && subject->lines && subject->url &&
	    kit)
		page = json_pack("{s:O, s:O, s:O, s:O, s:o, s:O, s:o, s:s, s:o, s:s}", "about",
		                 subject->name, "name", subject->title, "short", subject->lines,
		                 "about_url", subject->url, "form", form, "facts", kit, "block",
		                 block_view(kit, subject, question), "question", question,
		                 "printed", present_day(c->today), "owner", c->member->name);
	else
		json_decref(form);
	json_decref(kit);
	drop(subject);
	return kit_respond(c, &view->kit, "ask.html",
	                   arena_printf(c->arena, "Ask the maker about %s for %s",
	                                subject->brief ? subject->brief : "", view->kit.name),
	                   page);
}

/* ---- about a notice ---- */

static json_t *notice_name(const struct notice *notice)
{
	char issued[DATE_WORDS_SIZE];

	date_words(notice->issued, issued);
	if (name_is_empty(&notice->revision))
		return json_sprintf("%s %s, issued %s", notice->issuer, notice->number.text,
		                    issued);
	return json_sprintf("%s %s revision %s, issued %s", notice->issuer, notice->number.text,
	                    notice->revision.text, issued);
}

static json_t *notice_lines(const struct kit_view *view, const struct catalogue_entry *entry)
{
	struct standing standing = kit_view_standing(view, entry);
	json_t *list = json_array();

	list = present_append(list, line("force", json_string(force_words(entry->notice.force))));
	if (list)
		list = present_append(list, line("standing for this kit",
		                                 json_string(standing_words(standing.kind))));
	return list ? present_append(list, line("because", kit_reason(view, entry, &standing)))
	            : NULL;
}

static enum status show_notice(struct context *c, const struct kit_view *view)
{
	const struct catalogue_entry *entry = NULL;
	struct subject subject;
	enum status status = kit_entry(c, &entry);

	if (status != ST_OK)
		return status;
	subject = (struct subject){.brief = entry->notice.number.text,
	                           .name = notice_name(&entry->notice),
	                           .title = json_string(entry->notice.title),
	                           .lines = notice_lines(view, entry),
	                           .url = json_sprintf("/kits/%lld/notices/%lld",
	                                               (long long)view->kit.id.v,
	                                               (long long)entry->notice.id.v)};
	return respond_ask(c, view, &subject);
}

enum status page_ask_notice(struct context *c)
{
	return kit_page(c, show_notice);
}

/* ---- about a report ---- */

static json_t *own_answer(const struct kit_view *view, const struct report_sheet *sheet)
{
	for (size_t i = sheet->n_rows; i-- > 0;)
		if (sheet->rows[i].kit.v == view->kit.id.v)
			return json_sprintf("%s%s%s", finding_answer_words(sheet->rows[i].answer),
			                    sheet->rows[i].remark[0] ? ": " : "",
			                    sheet->rows[i].remark);
	return json_string("not looked yet");
}

static json_t *report_lines(const struct kit_view *view, const struct report_sheet *sheet)
{
	const struct report_content *content = &sheet->report.content;
	struct text parts = TEXT_EMPTY;
	json_t *list = json_array();

	for (size_t i = 0; i < content->parts.count; i++)
		text_printf(&parts, "%s%s", i ? ", " : "", content->parts.at[i]);
	if (parts.len)
		list = present_append(list, line("parts", json_take_text(&parts)));
	else
		text_free(&parts);
	if (list && content->step[0])
		list = present_append(list, line("step", json_string(content->step)));
	if (list)
		list = present_append(list, line("seen", json_string(content->seen)));
	if (list)
		list = present_append(list, line("by others", report_tally_words(&sheet->tally)));
	return list ? present_append(list, line("on this kit", own_answer(view, sheet))) : NULL;
}

static enum status ask_about(struct context *c, const struct report_sheet *sheet, void *context)
{
	const struct kit_view *view = context;
	struct subject subject;

	if (sheet->report.removed_at)
		return ST_MISSING;
	subject = (struct subject){
	        .brief = arena_printf(c->arena, "field report %lld", (long long)sheet->report.id.v),
	        .name = json_sprintf("field report %lld of our chapter, %s",
	                             (long long)sheet->report.id.v,
	                             report_state_words(sheet->state)),
	        .title = json_string(sheet->report.content.title),
	        .lines = report_lines(view, sheet),
	        .url = report_url(sheet->report.id, "")};
	return respond_ask(c, view, &subject);
}

static enum status show_report(struct context *c, const struct kit_view *view)
{
	return report_with_sheet(c, report_captured(c), ask_about, (void *)(uintptr_t)view);
}

enum status page_ask_report(struct context *c)
{
	return kit_page(c, show_report);
}
