/* reports_advisory.c - a chapter advisory drawn up from a field report.
 *
 * The draft takes over what the report and its findings say; the steward edits
 * it like any other, and another one checks and publishes it. The report is
 * linked to it at once, and is settled when it is published.
 */
#include "web/reports/reports.h"

#include <string.h>

#include "base/text.h"
#include "base/utf8.h"
#include "store/settings.h"
#include "formats/json_text.h"
#include "web/reports/reports_parts.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define NUMBERS_TRIED 1000
#define SOURCE_LONGEST 500 /* characters, as the form of a draft has it */

static const char *const statements[] = {"report", "hint", NULL};

const struct input report_advisory_query[] = {{"hint", "The hint", INPUT_FLAG}, INPUTS_END};

const struct input report_advisory_inputs[] = {
        {"number", "Number", INPUT_NAME, .required = true},
        {"title", "Title", INPUT_LINE, .required = true, .longest = TITLE_LONGEST},
        {"statement", "Kits that it concerns", INPUT_CHOICE, .choices = statements},
        INPUTS_END};

/* ---- what is proposed ---- */

/* The first number of the year that is free: CA-2026-1. */
static enum status propose_number(const struct context *c, const char **out)
{
	int year, month, day;

	day_to_civil(c->today, &year, &month, &day);
	for (int n = 1; n <= NUMBERS_TRIED; n++) {
		struct notice_id id;
		const char *number = arena_printf(c->arena, "CA-%d-%d", year, n);
		enum status status = number ? notice_find(c->store, number, &id) : ST_NOMEM;

		if (status == ST_MISSING) {
			*out = number;
			return ST_OK;
		}
		if (status != ST_OK)
			return status;
	}
	*out = "";
	return ST_OK;
}

/* What a draft is made of. */
struct basis {
	const struct report_sheet *sheet;
	const char *narrowed; /* the statement that the hint proposes; NULL: there is none */
};

/* The report's model, then the line of the split; NULL when that is no statement. */
static const char *narrow(struct arena *arena, const char *model, const struct split *split)
{
	struct text line = TEXT_EMPTY;
	const struct effectivity *statement;
	struct statement_fault fault;
	const char *text = NULL;

	split_statement(split, &line);
	if (line.len && !text_failed(&line))
		text = arena_printf(arena, "model %s\n%s", model, text_string(&line));
	text_free(&line);
	if (text && effectivity_parse(arena, text, strlen(text), &statement, &fault) != ST_OK)
		return NULL;
	return text;
}

static enum status find_hint(struct arena *arena, struct basis *basis)
{
	struct split split;
	bool hint = false;
	enum status status = report_split(arena, basis->sheet, &split, &hint);

	basis->narrowed = hint ? narrow(arena, basis->sheet->report.content.model, &split) : NULL;
	return status;
}

static json_t *choice(const char *id, const char *value, const char *words, const char *statement,
                      bool chosen)
{
	return json_pack("{s:s, s:s, s:s, s:s, s:b}", "id", id, "value", value, "words", words,
	                 "statement", statement, "chosen", chosen);
}

static json_t *choices_view(const struct basis *basis, const char *typed)
{
	bool hint = basis->narrowed && strcmp(typed, "hint") == 0;
	json_t *list = json_array();

	list = present_append(list, choice("statement-1", "report", "as the report has it",
	                                   basis->sheet->report.content.effectivity, !hint));
	if (list && basis->narrowed)
		list = present_append(list, choice("statement-2", "hint",
		                                   "narrowed as the hint proposes; it is no "
		                                   "finding, so look at it twice",
		                                   basis->narrowed, hint));
	return list;
}

/* ---- the draft ---- */

static const char *take(struct arena *arena, struct text *text)
{
	const char *copy = text_failed(text) ? NULL : arena_string(arena, text_string(text));

	text_free(text);
	return copy;
}

/* What was seen, then the findings in numbers. */
static const char *problem_of(struct arena *arena, const struct report_sheet *sheet)
{
	const struct findings_tally *tally = &sheet->tally;
	struct text text = TEXT_EMPTY;

	text_printf(&text, "%s\n\nFound on %zu of %zu kits looked at", sheet->report.content.seen,
	            tally->found, tally->looked);
	if (tally->does_not_fit)
		text_printf(&text, "; %zu more answered that it does not fit their kit",
		            tally->does_not_fit);
	text_add(&text, ". Those who find a fault answer more often than those who do not.");
	return take(arena, &text);
}

/* Those who want everybody to read their name are named; the others are counted. */
static bool is_named(const struct finding_row *rows, size_t i)
{
	const struct finding_row *row = &rows[i];

	if (row->answer != ANSWER_FOUND || row->credit != CREDIT_EVERYBODY)
		return false;
	for (size_t k = 0; k < i; k++)
		if (rows[k].author.v == row->author.v && rows[k].credit == CREDIT_EVERYBODY &&
		    rows[k].answer == ANSWER_FOUND)
			return false;
	return true;
}

static const char *source_of(struct arena *arena, const struct report_sheet *sheet,
                             const struct finding_row *rows)
{
	struct text text = TEXT_EMPTY;
	size_t named = 0;

	text_printf(&text, "Field report %lld", (long long)sheet->report.id.v);
	for (size_t i = 0; i < sheet->n_rows; i++) {
		size_t len = text.len;

		if (!is_named(rows, i) || len + strlen(rows[i].author_name) + 40 > SOURCE_LONGEST)
			continue;
		text_printf(&text, "%s%s", named++ ? ", " : ", found by ", rows[i].author_name);
	}
	if (named && sheet->tally.finders > named)
		text_printf(&text, " and %zu more", sheet->tally.finders - named);
	else if (!named)
		text_printf(&text, ", found by %zu %s", sheet->tally.finders,
		            sheet->tally.finders == 1 ? "member" : "members");
	return take(arena, &text);
}

static struct line_text *lines_of(struct arena *arena, const struct text_list *parts)
{
	struct line_text *lines = ARENA_ARRAY(arena, struct line_text, parts->count);

	for (size_t i = 0; lines && i < parts->count; i++)
		lines[i] = (struct line_text){.part = parts->at[i],
		                              .position = "",
		                              .replacement = "",
		                              .disposition = DISPOSE_INSPECT,
		                              .lots = "",
		                              .remark = ""};
	return lines;
}

static enum status draft_content(struct context *c, const struct basis *basis,
                                 struct revision_content *out)
{
	const struct report_sheet *sheet = basis->sheet;
	const struct report_content *content = &sheet->report.content;
	const char **steps = ARENA_ARRAY(c->arena, const char *, 1);
	struct finding_row *rows = NULL;
	const char *chapter = "";
	bool hint = basis->narrowed && form_choice(c->form, "statement") == 1;
	enum status status = setting_text(c->store, c->arena, SETTING_CHAPTER, &chapter);

	if (status == ST_OK)
		status = report_rows_now(c->store, c->arena, sheet, 0, sheet->n_rows, &rows);
	if (status != ST_OK)
		return status;
	*out = revision_content_empty;
	out->kind = KIND_CHAPTER_ADVISORY;
	out->force = FORCE_RECOMMENDED;
	out->issuer = chapter;
	out->number = form_name(c->form, "number").text;
	out->title = form_text(c->form, "title");
	out->problem = problem_of(c->arena, sheet);
	out->action = content->look;
	out->effectivity = hint ? basis->narrowed : content->effectivity;
	out->source = source_of(c->arena, sheet, rows);
	out->lines = lines_of(c->arena, &content->parts);
	out->n_lines = content->parts.count;
	if (steps && content->step[0]) {
		steps[0] = content->step;
		out->steps = (struct text_list){steps, 1};
	}
	return steps && out->problem && out->source && out->lines ? ST_OK : ST_NOMEM;
}

/* ---- the page ---- */

/* ST_MISSING: it does not stand by itself; ST_CONFLICT: there is a notice. */
static enum status read_basis(struct context *c, const struct report_sheet *sheet,
                              struct basis *out)
{
	const struct report *report = &sheet->report;

	out->sheet = sheet;
	if (report->removed_at || report->merged_into.v)
		return ST_MISSING;
	return report->notice.v ? ST_CONFLICT : find_hint(c->arena, out);
}

static enum status show(struct context *c, const struct basis *basis)
{
	const struct report *report = &basis->sheet->report;
	json_t *view = json_pack(
	        "{s:o, s:o, s:o, s:o}", "report",
	        json_pack("{s:I, s:s, s:o}", "id", (json_int_t)report->id.v, "title",
	                  report->content.title, "url", report_url(report->id, "")),
	        "form", form_view(c->form), "tally", report_tally_words(&basis->sheet->tally),
	        "choices", choices_view(basis, form_value(c->form, "statement", 0)->typed));

	return report_respond(c, "reports_advisory.html", "Draw up an advisory", view);
}

static enum status propose(struct context *c, const struct report_sheet *sheet, void *context)
{
	bool hint = form_flag(c->form, "hint");
	const char *number = "";
	struct basis basis;
	enum status status = read_basis(c, sheet, &basis);

	(void)context;
	if (status == ST_OK)
		status = propose_number(c, &number);
	if (status != ST_OK) /* one that is linked has no such page */
		return status == ST_CONFLICT ? ST_MISSING : status;
	c->form = form_blank(c->arena, report_advisory_inputs);
	if (!c->form)
		return ST_NOMEM;
	form_set(c->form, "number", number);
	form_set(c->form, "title", sheet->report.content.title);
	form_set(c->form, "statement", hint ? "hint" : "report");
	return show(c, &basis);
}

enum status page_report_advisory(struct context *c)
{
	return report_with_sheet(c, report_captured(c), propose, NULL);
}

/* The draft and the link, or neither. */
static enum status draw_up(struct context *c, const struct report_sheet *sheet,
                           const struct revision_content *content, struct revision_id *out)
{
	struct revision_id id = {0};
	struct revision draft;
	enum status status = store_begin(c->store);

	if (status == ST_OK)
		status = draft_new_notice(c->store, content, c->member->id, c->now, &id);
	if (status == ST_OK)
		status = revision_read(c->store, c->arena, id, &draft);
	if (status == ST_OK)
		status = report_link(c->store, sheet->report.id, draft.notice, c->member->id,
		                     c->now);
	if (status == ST_OK)
		status = store_commit(c->store);
	if (status == ST_OK)
		*out = id;
	store_rollback(c->store);
	return status;
}

/* The findings in numbers are left off where both would be too long for a draft. */
static enum status draw_up_typed(struct context *c, const struct basis *basis,
                                 struct revision_id *out)
{
	struct revision_content content;
	enum status status = draft_content(c, basis, &content);

	if (status != ST_OK)
		return status;
	if (utf8_length(content.problem) > PROSE_LONGEST)
		content.problem = basis->sheet->report.content.seen;
	return draw_up(c, basis->sheet, &content, out);
}

static enum status take_typed(struct context *c, const struct report_sheet *sheet, void *context)
{
	struct basis basis;
	struct revision_id id = {0};
	enum status status = read_basis(c, sheet, &basis);

	(void)context;
	if (status != ST_OK)
		return status;
	if (form_ok(c->form))
		status = form_bound(c->form, c->store, draw_up_typed(c, &basis, &id));
	if (status == ST_CONFLICT) {
		form_fail(c->form, "number", "is taken: choose another one");
		status = ST_OK;
	}
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show(c, &basis);
	return respond_redirect(c, "/board/drafts/%lld?said=advisory-drawn-up", (long long)id.v);
}

enum status act_report_advisory(struct context *c)
{
	return report_with_sheet(c, report_captured(c), take_typed, NULL);
}
