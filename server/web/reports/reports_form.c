/* reports_form.c - reporting a fault, and wording a report anew.
 *
 * The model of a report is that of the kit on which the fault was seen. Before
 * a new one is stored, reports that it may repeat are shown: while it is typed
 * where scripts run, else once above the form, until a tick says that it is
 * another thing. The statement of the kits that could have it is prefilled with
 * the model, and read back as a sentence.
 */
#include "web/reports/reports.h"

#include <string.h>

#include "base/text.h"
#include "base/utf8.h"
#include "web/html/concern.h"
#include "web/reports/reports_parts.h"
#include "web/html/picture_form.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define SPARE_PARTS 1
#define MORE_PARTS 4
#define LIKE_SHOWN 5

enum report_button { BUTTON_STORE, BUTTON_READ, BUTTON_ROWS };
static const char *const buttons[] = {"store", "read", "rows", NULL};

const struct input report_new_query[] = {{"kit", "Kit", INPUT_ID},
                                         {"step", "Step", INPUT_NAME},
                                         {"part", "Part number", INPUT_NAME},
                                         INPUTS_END};

/* What is typed of a report, the first time and when it is worded anew. */
#define REPORT_INPUTS                                                                              \
	{"act", "What to do", INPUT_CHOICE, .choices = buttons},                                   \
	        {"title", "What it is, in a few words", INPUT_LINE, .required = true,              \
	         .longest = TITLE_LONGEST},                                                        \
	        {"part", "Part number", INPUT_NAME, .repeated = true},                             \
	        {"step", "Step of the build line", INPUT_NAME}, {"zone", "Zone", INPUT_NAME},      \
	        {"seen", "What was seen", INPUT_TEXT, .required = true, .longest = PROSE_LONGEST}, \
	        {"look", "How to look", INPUT_TEXT, .longest = PROSE_LONGEST},                     \
	        {"severity", "How bad", INPUT_CHOICE, .required = true,                            \
	         .choices = report_severities},                                                    \
	{                                                                                          \
		"effectivity", "Kits that could have it", INPUT_STATEMENT                          \
	}

const struct input report_inputs[] = {
        {"kit", "Seen on", INPUT_ID},
        REPORT_INPUTS,
        {"credit", "Who reads your name", INPUT_CHOICE, .choices = report_credits},
        {"another", "It is another thing", INPUT_FLAG},
        PICTURE_INPUTS,
        INPUTS_END};

const struct input report_edit_inputs[] = {
        REPORT_INPUTS,
        {"credit", "Who reads your name", INPUT_CHOICE, .choices = report_credits},
        INPUTS_END};

const struct input report_like_inputs[] = {
        {"kit", "Kit", INPUT_ID},
        {"title", "Title", INPUT_LINE, .longest = TITLE_LONGEST},
        {"part", "Part number", INPUT_NAME, .repeated = true},
        {"seen", "What was seen", INPUT_TEXT, .longest = PROSE_LONGEST},
        {"another", "It is another thing", INPUT_FLAG},
        INPUTS_END};

const struct input report_read_back_inputs[] = {
        {"effectivity", "Kits that could have it", INPUT_STATEMENT}, INPUTS_END};

/* ---- kits of the member ---- */

struct own_kits {
	const struct kit *at;
	size_t count;
	const struct kit *chosen; /* NULL: none, or one that is not theirs */
};

static enum status own_kits(const struct context *c, int64_t wanted, struct own_kits *out)
{
	struct own_kits kits = {.chosen = NULL};
	enum status status = kit_list(c->store, c->arena, c->member->id, &kits.at, &kits.count);

	if (status != ST_OK)
		return status;
	for (size_t i = 0; i < kits.count; i++)
		if (kits.at[i].id.v == wanted)
			kits.chosen = &kits.at[i];
	if (!kits.chosen && !wanted && kits.count == 1)
		kits.chosen = &kits.at[0];
	*out = kits;
	return ST_OK;
}

/* Model of a kit; "" when it is not known, or there is no kit. */
static enum status model_of(const struct context *c, const struct kit *kit, const char **out)
{
	struct facts facts;
	enum status status;

	*out = "";
	if (!kit)
		return ST_OK;
	status = kit_facts(c->store, c->arena, kit->id, &facts);
	if (status == ST_OK && !name_is_empty(&facts.model))
		*out = facts.model.text;
	return status;
}

/* "model Whimbrel", where that reads as a statement; else "all". */
static const char *statement_for(struct arena *arena, const char *model)
{
	const char *text = arena_printf(arena, "model %s", model);
	const struct effectivity *statement;
	struct statement_fault fault;

	if (!text || effectivity_parse(arena, text, strlen(text), &statement, &fault) != ST_OK)
		return "all";
	return text;
}

/* ---- the page ---- */

struct sheet {
	struct own_kits kits;
	const char *model;
	const struct report *old; /* NULL: a new one */
	json_t *like;             /* rows of what it may repeat, or NULL */
};

static json_t *kits_view(const struct own_kits *kits)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < kits->count; i++)
		list = present_append(list, json_pack("{s:I, s:s, s:b}", "id",
		                                      (json_int_t)kits->at[i].id.v, "name",
		                                      kits->at[i].name, "selected",
		                                      kits->chosen == &kits->at[i]));
	return list;
}

static json_t *with_hints(json_t *form)
{
	form = present_hint(form, "title", "As you would call it across the hangar");
	form = present_hint(form, "step", "Its code, such as EMP-05");
	form = present_hint(form, "zone", "As the build line names it, or in your words");
	form = present_hint(form, "seen",
	                    "What is wrong, where, and how it showed. Lines that begin with - "
	                    "make a list");
	form = present_hint(form, "look",
	                    "So that another builder can find it or rule it out: what to open, "
	                    "what to measure");
	return present_hint(form, "effectivity",
	                    "One condition on a line, such as model, serial, purchased, option. "
	                    "Left empty: the model of your kit");
}

/* The statement read back as a sentence and a drawing; no kits of others are named. */
static json_t *read_back_part(const struct context *c)
{
	struct form_value value = *form_value(c->form, "effectivity", 0);
	json_t *view, *part;

	if (!value.given && !value.error && value.typed[0])
		value.given = effectivity_parse(c->arena, value.typed, strlen(value.typed),
		                                &value.statement, &value.fault) == ST_OK;
	view = read_back_plain(&value);
	part = json_incref(json_object_get(view, "statement"));
	json_decref(view);
	return part;
}

static bool is_own(const struct context *c, const struct report *report)
{
	return report->author.v == c->member->id.v;
}

static json_t *form_part(const struct context *c, const struct sheet *sheet)
{
	static const char *const part_row[] = {"part", NULL};
	bool rows = form_choice(c->form, "act") == BUTTON_ROWS;
	const struct form_value *typed = form_value(c->form, "effectivity", 0);
	json_t *view = json_pack(
	        "{s:o, s:o, s:o, s:o, s:o}", "form", with_hints(form_view(c->form)), "parts",
	        form_rows_view(c->form, part_row, rows ? MORE_PARTS : SPARE_PARTS), "severities",
	        report_severity_choices(form_value(c->form, "severity", 0)->typed), "credits",
	        report_credit_choices("credit", form_value(c->form, "credit", 0)->typed),
	        "read_back", read_back_part(c));

	view = present_set(view, "has_credits", json_boolean(!sheet->old || is_own(c, sheet->old)));

	return present_set(view, "statement_open",
	                   json_boolean(typed->error || sheet->old ||
	                                form_choice(c->form, "act") == BUTTON_READ));
}

static json_t *like_part(const struct sheet *sheet)
{
	if (!sheet->like)
		return json_false();
	return json_pack("{s:O}", "rows", sheet->like);
}

static enum status show(struct context *c, const struct sheet *sheet)
{
	const struct report *old = sheet->old;
	json_t *view = form_part(c, sheet);

	view = present_set(view, "kits", kits_view(&sheet->kits));
	view = present_set(view, "has_kits", json_boolean(sheet->kits.count > 0));
	view = present_set(view, "one_kit", json_boolean(sheet->kits.count == 1));
	view = present_set(view, "like", like_part(sheet));
	view = present_set(view, "model", present_text(sheet->model));
	view = present_set(view, "old",
	                   old ? json_pack("{s:I, s:o}", "id", (json_int_t)old->id.v, "url",
	                                   report_url(old->id, ""))
	                       : json_false());
	return report_respond(c, "reports_form.html",
	                      old ? arena_printf(c->arena, "Field report %lld in other words",
	                                         (long long)old->id.v)
	                          : "Report a fault",
	                      view);
}

/* ---- a blank one ---- */

static void prefill(struct context *c, const struct form *query, const struct sheet *sheet)
{
	c->form = form_blank(c->arena, report_inputs);
	if (!c->form)
		return;
	if (sheet->kits.chosen)
		form_set_number(c->form, "kit", sheet->kits.chosen->id.v);
	if (form_given(query, "part"))
		form_set(c->form, "part", form_name(query, "part").text);
	if (form_given(query, "step"))
		form_set(c->form, "step", form_name(query, "step").text);
	if (sheet->model[0])
		form_set(c->form, "effectivity", statement_for(c->arena, sheet->model));
	form_set(c->form, "credit", report_credits[CREDIT_MEMBERS]);
}

enum status page_report_new(struct context *c)
{
	struct sheet sheet = {.like = NULL};
	const struct form *query = c->form;
	enum status status;

	if (!form_ok(query))
		return ST_INVALID;
	status = own_kits(c, form_number(query, "kit"), &sheet.kits);
	if (status == ST_OK)
		status = model_of(c, sheet.kits.chosen, &sheet.model);
	if (status != ST_OK)
		return status;
	prefill(c, query, &sheet);
	return c->form ? show(c, &sheet) : ST_NOMEM;
}

/* ---- what was typed ---- */

static enum status read_parts(const struct context *c, struct text_list *out)
{
	size_t rows = form_count(c->form, "part");
	const char **parts = ARENA_ARRAY(c->arena, const char *, rows);
	size_t count = 0;

	if (!parts)
		return ST_NOMEM;
	for (size_t i = 0; i < rows; i++) {
		const struct form_value *value = form_value(c->form, "part", i);
		bool twice = false;

		for (size_t k = 0; value->given && k < count; k++)
			twice |= strcasecmp(parts[k], value->name.text) == 0;
		if (value->given && !twice)
			parts[count++] = value->name.text;
	}
	*out = (struct text_list){parts, count};
	return ST_OK;
}

static enum status read_content(struct context *c, const char *model, struct report_content *out)
{
	const struct form *form = c->form;
	int severity = form_choice(form, "severity");

	*out = (struct report_content){
	        .title = form_text(form, "title"),
	        .model = model,
	        .step = form_given(form, "step") ? form_name(form, "step").text : "",
	        .zone = form_given(form, "zone") ? form_name(form, "zone").text : "",
	        .seen = form_text(form, "seen"),
	        .look = form_text(form, "look"),
	        .severity = severity < 0 ? SEVERITY_GOOD_TO_KNOW : (enum severity)severity,
	        .effectivity = form_given(form, "effectivity") ? form_text(form, "effectivity")
	                                                       : statement_for(c->arena, model)};
	return read_parts(c, &out->parts);
}

static void check_parts(struct context *c, const struct report_content *content)
{
	if (content->parts.count > REPORT_PARTS_MOST)
		form_fail(c->form, "", "A report names at most %d part numbers.",
		          REPORT_PARTS_MOST);
}

static void check_kit(struct context *c, const struct sheet *sheet)
{
	if (!sheet->kits.count)
		form_fail(c->form, "kit", "names no kit of yours: add one first");
	else if (!sheet->kits.chosen)
		form_fail(c->form, "kit", "wants one of your kits: choose it");
	else if (!sheet->model[0])
		form_fail(c->form, "kit",
		          "names a kit whose model is not known: enter its facts first");
}

/* ---- what it may repeat ---- */

static enum status find_like(struct context *c, const char *model, const struct text_list *parts,
                             json_t **out)
{
	const struct report_row *rows = NULL;
	size_t count = 0;
	const char *words = arena_printf(c->arena, "%s %s", form_text(c->form, "title"),
	                                 form_text(c->form, "seen"));
	enum status status = words ? ST_OK : ST_NOMEM;

	*out = NULL;
	if (status == ST_OK && model[0])
		status = report_like(c->store, c->arena, model, words, parts, LIKE_SHOWN, &rows,
		                     &count);
	if (status == ST_OK && count > 0) {
		*out = report_rows(rows, count);
		status = *out ? ST_OK : ST_NOMEM;
	}
	return status;
}

enum status act_report_like(struct context *c)
{
	struct own_kits kits = {.chosen = NULL};
	struct text_list parts = {NULL, 0};
	const char *model = "";
	json_t *rows = NULL;
	enum status status = own_kits(c, form_number(c->form, "kit"), &kits);

	if (status == ST_OK)
		status = model_of(c, kits.chosen, &model);
	if (status == ST_OK)
		status = read_parts(c, &parts);
	if (status == ST_OK)
		status = find_like(c, model, &parts, &rows);
	if (status != ST_OK)
		return status;
	return respond_page(c, "reports_like.html", "Reports like it",
	                    json_pack("{s:o, s:o}", "form", form_view(c->form), "like",
	                              rows ? json_pack("{s:o}", "rows", rows) : json_false()));
}

enum status act_report_read_back(struct context *c)
{
	return respond_page(c, "reports_read_back.html", "Read back",
	                    read_back_plain(form_value(c->form, "effectivity", 0)));
}

/* ---- storing ---- */

static bool only_looks(const struct context *c)
{
	int act = form_choice(c->form, "act");

	return act == BUTTON_READ || act == BUTTON_ROWS;
}

/* The report with its pictures, or neither. */
static enum status add_all(struct context *c, const struct sheet *sheet,
                           const struct report_content *content, struct report_id *out)
{
	int credit = form_choice(c->form, "credit");
	struct picture_of of = {.report = {0}};
	enum status status = store_begin(c->store);

	if (status == ST_OK)
		status = report_add(c->store, content, sheet->kits.chosen->id, c->member->id,
		                    credit < 0 ? CREDIT_MEMBERS : (enum credit)credit, c->now,
		                    &of.report);
	if (status == ST_OK)
		status = pictures_keep_once(c, &of);
	if (status == ST_OK)
		status = store_commit(c->store);
	if (status == ST_OK)
		*out = of.report;
	store_rollback(c->store);
	return status;
}

static enum status store_new(struct context *c, struct sheet *sheet,
                             const struct report_content *content)
{
	struct report_id id = {0};
	enum status status = pictures_look(c, PICTURES_MOST);

	if (status != ST_OK)
		return status;
	if (form_ok(c->form))
		status = add_all(c, sheet, content, &id);
	status = form_bound(c->form, c->store, status);
	if (!form_ok(c->form))
		return show(c, sheet);
	if (status == ST_CONFLICT) {
		form_fail(c->form, "",
		          "The database refused what was typed: a field breaks a rule.");
		return show(c, sheet);
	}
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/reports/%lld?said=reported", (long long)id.v);
}

static enum status read_new(struct context *c, struct sheet *sheet, struct report_content *content)
{
	enum status status = own_kits(c, form_number(c->form, "kit"), &sheet->kits);

	if (status == ST_OK)
		status = model_of(c, sheet->kits.chosen, &sheet->model);
	if (status == ST_OK)
		status = read_content(c, sheet->model, content);
	if (status != ST_OK)
		return status;
	check_kit(c, sheet);
	check_parts(c, content);
	return ST_OK;
}

/* Asked once the rest is right; with the answer the question stays on the page, ticked. */
static enum status ask_whether_new(struct context *c, struct sheet *sheet,
                                   const struct report_content *content)
{
	bool another = form_flag(c->form, "another");
	enum status status;

	if (!another && (!form_ok(c->form) || only_looks(c)))
		return ST_OK;
	status = find_like(c, sheet->model, &content->parts, &sheet->like);
	if (status == ST_OK && sheet->like && !another)
		form_fail(c->form, "another",
		          "than the reports above? Then tick this. Else answer one of those");
	return status;
}

enum status act_report_new(struct context *c)
{
	struct sheet sheet = {.like = NULL};
	struct report_content content;
	enum status status = read_new(c, &sheet, &content);

	if (status == ST_OK)
		status = ask_whether_new(c, &sheet, &content);
	if (status == ST_OK)
		status = form_ok(c->form) && !only_looks(c) ? store_new(c, &sheet, &content)
		                                            : show(c, &sheet);
	json_decref(sheet.like);
	return status;
}

/* ---- other words ---- */

static void fill(struct form *form, const struct report_content *content)
{
	form_set(form, "title", content->title);
	for (size_t i = 0; i < content->parts.count; i++)
		form_set(form, "part", content->parts.at[i]);
	form_set(form, "step", content->step);
	form_set(form, "zone", content->zone);
	form_set(form, "seen", content->seen);
	form_set(form, "look", content->look);
	form_set(form, "severity", report_severities[content->severity]);
	form_set(form, "effectivity", content->effectivity);
}

/* ST_MISSING: it is removed. ST_DENIED: somebody else's. */
static enum status read_theirs(struct context *c, struct report *out)
{
	enum status status = report_read(c->store, c->arena, report_captured(c), out);

	if (status != ST_OK)
		return status;
	if (!report_is_theirs(c, out))
		return ST_DENIED;
	return out->removed_at ? ST_MISSING : ST_OK;
}

enum status page_report_edit(struct context *c)
{
	struct report report;
	struct sheet sheet = {.old = &report};
	enum status status = read_theirs(c, &report);

	if (status != ST_OK)
		return status;
	sheet.model = report.content.model;
	c->form = form_blank(c->arena, report_edit_inputs);
	if (!c->form)
		return ST_NOMEM;
	fill(c->form, &report.content);
	form_set(c->form, "credit", report_credits[report.credit]);
	return show(c, &sheet);
}

/* A steward edits words; how a reporter is named is the reporter's to say. */
static enum status store_edit(struct context *c, const struct report *report,
                              const struct report_content *content)
{
	int credit = form_choice(c->form, "credit");
	enum status status = store_begin(c->store);

	if (status == ST_OK)
		status = report_edit(c->store, report->id, content, c->member->id, c->now);
	if (status == ST_OK && credit >= 0 && is_own(c, report))
		status =
		        report_set_credit(c->store, report->id, (enum credit)credit, c->member->id);
	if (status == ST_OK)
		status = store_commit(c->store);
	store_rollback(c->store);
	return status;
}

enum status act_report_edit(struct context *c)
{
	struct report report;
	struct report_content content;
	struct sheet sheet = {.old = &report};
	enum status status = read_theirs(c, &report);

	if (status != ST_OK)
		return status;
	sheet.model = report.content.model;
	status = read_content(c, report.content.model, &content);
	if (status != ST_OK)
		return status;
	check_parts(c, &content);
	if (only_looks(c) || !form_ok(c->form))
		return show(c, &sheet);
	status = form_bound(c->form, c->store, store_edit(c, &report, &content));
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show(c, &sheet);
	return respond_redirect(c, "/reports/%lld?said=report-edited", (long long)report.id.v);
}
