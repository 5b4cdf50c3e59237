#include "web/reports/reports_parts.h"

#include <string.h>

#include "base/text.h"
#include "formats/json_text.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define LINKED_SHOWN 10 /* reports on the page of a notice */

const char *const report_severities[] = {"danger", "grows", "work", "good to know", NULL};
const char *const report_credits[] = {"nobody", "members", "everybody", NULL};
const char *const report_answers[] = {"found", "not there", "does not fit", NULL};

/* ---- reading ---- */

enum status report_split(struct arena *arena, const struct report_sheet *sheet, struct split *out,
                         bool *hint)
{
	struct split split;
	bool any = false;
	enum status status =
	        findings_split(arena, sheet->findings, sheet->n_findings, &split, &any);

	if (status != ST_OK)
		return status;
	*hint = any && split.corrected <= SPLIT_HINT;
	if (*hint)
		*out = split;
	return ST_OK;
}

struct report_id report_captured(const struct context *c)
{
	return (struct report_id){context_id(c, "report")};
}

bool report_is_theirs(const struct context *c, const struct report *report)
{
	return c->member && (c->member->id.v == report->author.v || context_may(c, ROLE_STEWARD));
}

const struct effectivity *report_statement(struct arena *arena, const struct report *report)
{
	const char *text = report->content.effectivity;
	const struct effectivity *statement = NULL;
	struct statement_fault fault;

	if (effectivity_parse(arena, text, strlen(text), &statement, &fault) != ST_OK)
		return NULL;
	return statement;
}

/* ---- words ---- */

json_t *report_url(struct report_id id, const char *page)
{
	return json_sprintf("/reports/%lld%s", (long long)id.v, page);
}

json_t *report_new_url(struct kit_id kit, const char *step, const char *part)
{
	struct text url = TEXT_EMPTY;

	text_printf(&url, "/reports/new?kit=%lld", (long long)kit.v);
	if (step) {
		text_add(&url, "&step=");
		http_escape(&url, step);
	}
	if (part) {
		text_add(&url, "&part=");
		http_escape(&url, part);
	}
	return json_take_text(&url);
}

json_t *report_tally_words(const struct findings_tally *tally)
{
	if (tally->looked == 0)
		return json_string("no kit looked at that counts");
	return json_sprintf("found on %zu of %zu %s looked at", tally->found, tally->looked,
	                    tally->looked == 1 ? "kit" : "kits");
}

json_t *report_severity(enum severity severity)
{
	static const char *const css[] = {[SEVERITY_DANGER] = "mandatory",
	                                  [SEVERITY_GROWS] = "recommended",
	                                  [SEVERITY_WORK] = "optional",
	                                  [SEVERITY_GOOD_TO_KNOW] = "optional"};

	return json_pack("{s:s, s:s}", "word", severity_words(severity), "css", css[severity]);
}

json_t *report_state(enum report_state state)
{
	static const char *const css[] = {[REPORT_SINGLE] = "optional",
	                                  [REPORT_CONFIRMED] = "mandatory",
	                                  [REPORT_DISPUTED] = "recommended",
	                                  [REPORT_SETTLED] = "cancelled"};

	return json_pack("{s:s, s:s}", "word", report_state_words(state), "css", css[state]);
}

/* ---- rows ---- */

json_t *report_row(const struct report_row *row)
{
	const struct report *report = &row->report;
	enum report_state state = report_state_of(&row->tally, report->notice_stands);

	return json_pack(
	        "{s:I, s:o, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o}", "id",
	        (json_int_t)report->id.v, "url", report_url(report->id, ""), "title",
	        report->content.title, "model", report->content.model, "step",
	        present_text(report->content.step), "zone", present_text(report->content.zone),
	        "severity", report_severity(report->content.severity), "state", report_state(state),
	        "tally", report_tally_words(&row->tally), "made", present_time(report->made_at));
}

json_t *report_rows(const struct report_row *rows, size_t count)
{
	json_t *view = json_array();

	for (size_t i = 0; view && i < count; i++)
		view = present_append(view, report_row(&rows[i]));
	return view;
}

enum status report_linked_view(struct context *c, struct notice_id notice, json_t **out)
{
	struct report_query query = report_query_all;
	const struct report_row *rows = NULL;
	size_t count = 0;
	int64_t total = 0;
	enum status status;

	query.notice = notice;
	query.page = (struct page){LINKED_SHOWN, 0};
	status = report_search(c->store, c->arena, &query, &rows, &count, &total);
	if (status != ST_OK)
		return status;
	*out = count == 0 ? json_false()
	                  : json_pack("{s:o, s:o}", "rows", report_rows(rows, count), "more_url",
	                              total > LINKED_SHOWN ? json_sprintf("/reports?notice=%lld",
	                                                                  (long long)notice.v)
	                                                   : json_false());
	return *out ? ST_OK : ST_NOMEM;
}

/* ---- choices ---- */

static json_t *choice(const char *prefix, size_t i, const char *value, const char *words,
                      const char *typed)
{
	return json_pack("{s:o, s:s, s:s, s:b}", "id", json_sprintf("%s-%zu", prefix, i + 1),
	                 "value", value, "words", words, "chosen", strcmp(value, typed) == 0);
}

json_t *report_severity_choices(const char *typed)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < SEVERITIES; i++)
		list = present_append(list, choice("severity", i, report_severities[i],
		                                   severity_words((enum severity)i), typed));
	return list;
}

json_t *report_credit_choices(const char *prefix, const char *typed)
{
	static const char *const words[] = {"nobody reads my name", "members read my name",
	                                    "everybody reads my name"};
	json_t *list = json_array();

	for (size_t i = 0; list && i < CREDITS; i++)
		list = present_append(list, choice(prefix, i, report_credits[i], words[i], typed));
	return list;
}

json_t *report_answer_choices(const char *prefix, const char *typed)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < FINDING_ANSWERS; i++)
		list = present_append(list,
		                      choice(prefix, i, report_answers[i],
		                             finding_answer_words((enum finding_answer)i), typed));
	return list;
}

/* ---- facts that matter ---- */

struct fact_line {
	const struct facts *facts;
	struct text out;
	struct fact said[16]; /* what stands in it already */
	size_t n_said;
};

static bool is_said(const struct fact_line *line, const struct fact *fact)
{
	for (size_t i = 0; i < line->n_said; i++)
		if (fact_equal(&line->said[i], fact))
			return true;
	return line->n_said == sizeof line->said / sizeof line->said[0];
}

/* What is not known is worth no word here. */
static void say(void *context, const struct fact *fact)
{
	struct fact_line *line = context;
	struct text value = TEXT_EMPTY;

	if (fact->kind == FACT_MODEL || is_said(line, fact))
		return;
	line->said[line->n_said++] = *fact;
	fact_value(line->facts, fact, &value);
	if (value.len && strcmp(text_string(&value), "not known") != 0) {
		text_add(&line->out, line->out.len ? "; " : "");
		fact_words(fact, &line->out);
		text_printf(&line->out, " %s", text_string(&value));
	}
	text_free(&value);
}

static void say_lots(struct fact_line *line, const struct report *report)
{
	for (size_t i = 0; i < report->content.parts.count; i++)
		for (size_t k = 0; k < line->facts->n_parts; k++) {
			const struct part_fact *part = &line->facts->parts[k];

			if (strcasecmp(part->number.text, report->content.parts.at[i]) != 0 ||
			    !part->has_lot)
				continue;
			say(line, &(struct fact){.kind = FACT_PART_LOT, .about = part->number});
		}
}

json_t *report_facts_short(const struct report *report, const struct effectivity *statement,
                           const struct facts *facts)
{
	static const enum fact_kind kinds[] = {FACT_SERIAL, FACT_PURCHASED, FACT_PLANS, FACT_HOURS};
	struct fact_line line = {.facts = facts};

	if (!facts)
		return json_false();
	for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
		say(&line, &(struct fact){.kind = kinds[i]});
	say_lots(&line, report);
	for (uint32_t i = 0; statement && i < statement->n_conditions; i++)
		condition_facts(statement, &statement->conditions[i], facts, say, &line);
	if (line.out.len || text_failed(&line.out))
		return json_take_text(&line.out);
	text_free(&line.out);
	return json_false();
}

/* ---- pages ---- */

enum status report_respond(struct context *c, const char *template, const char *title, json_t *view)
{
	if (!title) {
		json_decref(view);
		return ST_NOMEM;
	}
	return respond_page(c, template, title, present_set(view, "in_reports", json_true()));
}

enum status report_with_sheet(struct context *c, struct report_id id, report_use_fn *use,
                              void *context)
{
	struct work work = context_work(c);
	struct report_sheet sheet;
	enum status status = report_sheet_borrow(&work, id, &sheet);

	if (status != ST_OK)
		return status;
	status = use(c, &sheet, context);
	report_sheet_return(&work, &sheet);
	return status;
}
