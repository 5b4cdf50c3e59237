/* record_form.c - entering work that was done, and setting a record right.
 *
 * One form serves several lines of a notice at once; each line becomes a
 * record of its own, all or none. The revision worked to is chosen before the
 * lines, because the lines are those of that revision. A record is never
 * edited: a correction is a further one that names it, a withdrawal one that
 * puts nothing in its place.
 *
 * The form carries how many records the kit had when it was opened. When there
 * are more now (a double tap, a second phone) nothing is entered until the
 * builder has looked again.
 */
#include "web/kits/kit_page.h"
#include "web/kits/record_checks.h"

#include <string.h>

#include "store/store.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/kits/record_view.h"
#include "web/http/respond.h"

const struct input record_query_inputs[] = {
        {"line", "Line", INPUT_ID}, {"revision", "Revision", INPUT_ID}, INPUTS_END};

const struct input record_inputs[] = {
        {"seen", "Count of records", INPUT_NUMBER, .min = 0, .max = 1000000000},
        {"revision", "Revision worked to", INPUT_ID},
        {"line", "Line", INPUT_ID, .repeated = true},
        {"done", "Done on", INPUT_DATE, .required = true},
        {"method", "How it was done", INPUT_TEXT, .required = true, .longest = 2000},
        {"by", "Done by", INPUT_LINE, .required = true, .longest = 120},
        {"signed_as", "Signed as", INPUT_LINE, .longest = 120},
        {"hours", "Total hours", INPUT_HOURS, .min = 0, .max = 999999999},
        {"landings", "Landings", INPUT_NUMBER, .min = 0, .max = 9999999},
        {"remarks", "Remarks", INPUT_TEXT, .longest = 5000},
        {"early", "It was done before this revision was issued", INPUT_FLAG},
        {"lower", "The hours or landings are right as they stand here", INPUT_FLAG},
        INPUTS_END};

const struct input withdraw_inputs[] = {
        {"remarks", "Why it is withdrawn", INPUT_TEXT, .required = true, .longest = 5000},
        INPUTS_END};

#define LINES_MOST REVISION_LIST_LONGEST

/* Everything about the work that the form is for. */
struct job {
	const struct kit_view *view;
	const struct catalogue_entry *entry; /* NULL: the notice is not listed any more */
	const struct notice_row *revisions;  /* published, newest first */
	size_t n_revisions;
	const struct notice_row *chosen; /* NULL: none of these */
	struct revision revision;        /* the chosen one, when new work is entered */
	bool ticked[LINES_MOST];
};

static size_t line_count(const struct job *work)
{
	size_t count = work->revision.content.n_lines;

	return count ? count : 1;
}

/* ---- finding ---- */

static const struct notice_row *find_revision(const struct job *work, int64_t id)
{
	for (size_t i = 0; i < work->n_revisions; i++)
		if (work->revisions[i].revision_id.v == id)
			return &work->revisions[i];
	return NULL;
}

static enum status find_work(struct context *c, const struct kit_view *view, int64_t revision,
                             struct job *work)
{
	enum status status;

	*work = (struct job){.view = view};
	status = kit_entry(c, &work->entry);
	if (status == ST_OK)
		status = revision_list(c->store, c->arena, work->entry->notice.id, &work->revisions,
		                       &work->n_revisions);
	if (status != ST_OK)
		return status;
	work->chosen = find_revision(work, revision ? revision : work->entry->notice.revision_id.v);
	if (!work->chosen)
		return ST_MISSING;
	return revision_read(c->store, c->arena, work->chosen->revision_id, &work->revision);
}

/* ---- showing ---- */

static bool is_current(const struct job *work)
{
	return work->chosen->revision_id.v == work->entry->notice.revision_id.v;
}

static bool is_open(const struct job *work, size_t line)
{
	const struct record *by = NULL;

	return !is_current(work) ||
	       standing_line(work->entry, line, &work->view->state, &by) == LINE_OPEN;
}

/* Chosen ahead: the line named in the address, or the only one that there is to
 * do. Never several: whoever did one side and overlooks a tick would record both. */
static void tick_lines(struct job *work, int64_t named)
{
	size_t open = 0;

	for (size_t i = 0; i < line_count(work); i++)
		open += is_open(work, i);
	for (size_t i = 0; i < line_count(work); i++) {
		bool only = open == 1 ? is_open(work, i) : line_count(work) == 1;

		work->ticked[i] = named ? (int64_t)i + 1 == named : only;
	}
}

static json_t *line_name(struct context *c, const struct job *work, size_t i)
{
	static const struct line_text whole = {.part = "", .position = ""};
	const struct line_text *line =
	        work->revision.content.n_lines ? &work->revision.content.lines[i] : &whole;
	struct name part, position;

	if (name_make(c->arena, line->part, strlen(line->part), &part) != ST_OK ||
	    name_make(c->arena, line->position, strlen(line->position), &position) != ST_OK)
		return NULL;
	return record_line_words(&part, &position);
}

static json_t *lines_view(struct context *c, const struct job *work)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < line_count(work); i++) {
		json_t *disposition =
		        work->revision.content.n_lines
		                ? present_disposition(work->revision.content.lines[i].disposition)
		                : json_false();

		list = present_append(list, json_pack("{s:i, s:o, s:o, s:b, s:b}", "value",
		                                      (int)i + 1, "name", line_name(c, work, i),
		                                      "disposition", disposition, "ticked",
		                                      work->ticked[i], "open", is_open(work, i)));
	}
	return list;
}

static json_t *revision_view(const struct job *work, const struct notice_row *row)
{
	return json_pack("{s:I, s:o, s:o, s:b, s:b, s:o}", "value", (json_int_t)row->revision_id.v,
	                 "words", present_revision_words(row->revision), "issued",
	                 present_date_text(row->issued), "current", row->current, "selected",
	                 row == work->chosen, "revision_url",
	                 work->entry ? json_sprintf("/kits/%lld/notices/%lld/record?revision=%lld",
	                                            (long long)work->view->kit.id.v,
	                                            (long long)work->entry->notice.id.v,
	                                            (long long)row->revision_id.v)
	                             : json_false());
}

static json_t *revisions_view(const struct job *work)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < work->n_revisions; i++)
		list = present_append(list, revision_view(work, &work->revisions[i]));
	return list;
}

static json_t *hinted_form(const struct form *form)
{
	json_t *view = form_view(form);

	view = present_hint(view, "done",
	                    "2026-04-17. For old work the month or the year will do.");
	view = present_hint(view, "method", "What was done, and how it was checked");
	view = present_hint(view, "signed_as", "Kind of certificate and its number, if any");
	view = present_hint(view, "hours", "Total time at completion, if it is flying");
	return present_hint(view, "landings", "At completion, if the limit counts landings");
}

/* The confirmations are shown once they are needed. */
static json_t *form_part(const struct form *form)
{
	const struct form_value *early = form_value(form, "early", 0);
	const struct form_value *lower = form_value(form, "lower", 0);

	return json_pack("{s:o, s:b, s:b}", "form", hinted_form(form), "ask_early",
	                 early->error || early->number, "ask_lower", lower->error || lower->number);
}

static enum status show_form(struct context *c, const struct job *work)
{
	const struct notice *notice = &work->entry->notice;
	json_t *page = form_part(c->form);

	page = present_set(page, "notice", kit_row(work->view, work->entry));
	page = present_set(page, "lines", lines_view(c, work));
	page = present_set(page, "line_error", present_text(form_value(c->form, "line", 0)->error));
	page = present_set(page, "revisions", revisions_view(work));
	page = present_set(page, "several", json_boolean(work->n_revisions > 1));
	page = present_set(page, "current", json_boolean(is_current(work)));
	page = present_set(page, "revision", present_revision_words(work->chosen->revision));
	page = present_set(page, "needs_hours", json_boolean(due_counts(notice->due, USE_HOURS)));
	page = present_set(page, "needs_landings",
	                   json_boolean(due_counts(notice->due, USE_LANDINGS)));
	return kit_respond(c, &work->view->kit, "kit_record.html", "Record work", page);
}

static enum status fill_new(struct context *c, const struct job *work)
{
	char today[DATE_TEXT_SIZE];

	c->form = form_blank(c->arena, record_inputs);
	if (!c->form)
		return ST_NOMEM;
	date_print(date_of_day(c->today), today);
	form_set_number(c->form, "seen", work->view->kit.records);
	form_set_number(c->form, "revision", work->chosen->revision_id.v);
	form_set(c->form, "done", today);
	form_set(c->form, "by", c->member->name);
	return ST_OK;
}

static enum status new_record(struct context *c, const struct kit_view *view)
{
	int64_t line = form_number(c->form, "line");
	struct job work;
	enum status status = find_work(c, view, form_number(c->form, "revision"), &work);

	if (status != ST_OK)
		return status;
	tick_lines(&work, line <= (int64_t)line_count(&work) ? line : 0);
	status = fill_new(c, &work);
	return status == ST_OK ? show_form(c, &work) : status;
}

enum status page_record(struct context *c)
{
	return kit_page(c, new_record);
}

/* ---- entering ---- */

static void read_lines(struct context *c, struct job *work)
{
	size_t count = 0;

	for (size_t i = 0; i < form_count(c->form, "line"); i++) {
		const struct form_value *value = form_value(c->form, "line", i);

		if (!value->given)
			continue;
		if (value->number > (int64_t)line_count(work)) {
			form_fail_row(c->form, "line", i, "is not one of this revision");
			continue;
		}
		work->ticked[value->number - 1] = true;
		count++;
	}
	if (count == 0)
		form_fail(c->form, "line", "must be chosen: tick what was done");
}

static struct record common_record(struct context *c)
{
	return (struct record){.done = form_date(c->form, "done").date,
	                       .method = form_text(c->form, "method"),
	                       .by = form_text(c->form, "by"),
	                       .signed_as = form_text(c->form, "signed_as"),
	                       .has_hours = form_given(c->form, "hours"),
	                       .hours = form_number(c->form, "hours"),
	                       .has_landings = form_given(c->form, "landings"),
	                       .landings = form_number(c->form, "landings"),
	                       .remarks = form_text(c->form, "remarks"),
	                       .entered_by = c->member->name,
	                       .entered_at = c->now};
}

static enum status name_of(struct context *c, const char *text, struct name *out)
{
	return name_make(c->arena, text, strlen(text), out);
}

static enum status append_line(struct context *c, const struct job *work, size_t line)
{
	struct record record = common_record(c);
	const struct revision_content *content = &work->revision.content;
	bool whole = content->n_lines == 0;
	struct record_id id;
	enum status status;

	record.notice = work->entry->notice.number;
	status = name_of(c, work->chosen->revision, &record.revision);
	if (status == ST_OK)
		status = name_of(c, whole ? "" : content->lines[line].part, &record.part);
	if (status == ST_OK)
		status = name_of(c, whole ? "" : content->lines[line].position, &record.position);
	if (status == ST_OK)
		status = record_append(c->store, work->view->kit.id, &record, &id);
	return status;
}

/* Inside the transaction. */
static enum status append_all(struct context *c, const struct job *work)
{
	struct kit kit;
	enum status status = kit_read(c->store, c->arena, work->view->kit.id, &kit);

	if (status != ST_OK)
		return status;
	if (kit.records != form_number(c->form, "seen")) {
		form_set_number(c->form, "seen", kit.records);
		form_fail(
		        c->form, "",
		        "Another record of this kit was entered after you opened this form: "
		        "perhaps this very one, by a second tap. Look at the notice first. If the "
		        "work below is still to be entered, send it again.");
		return ST_OK;
	}
	for (size_t i = 0; status == ST_OK && i < line_count(work); i++)
		if (work->ticked[i])
			status = append_line(c, work, i);
	return status;
}

static enum status enter(struct context *c, const struct job *work)
{
	enum status status = store_begin(c->store);

	if (status == ST_OK)
		status = append_all(c, work);
	if (status == ST_OK && form_ok(c->form))
		status = store_commit(c->store);
	store_rollback(c->store);
	return status;
}

static enum status take_record(struct context *c, const struct kit_view *view)
{
	struct job work;
	enum status status = find_work(c, view, form_number(c->form, "revision"), &work);

	if (status != ST_OK)
		return status;
	read_lines(c, &work);
	record_check(c->form, view, c->today, work.chosen->issued, (struct record_id){0});
	if (form_ok(c->form))
		status = form_bound(c->form, c->store, enter(c, &work));
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_form(c, &work);
	return respond_redirect(c, "/kits/%lld/notices/%lld?said=recorded",
	                        (long long)view->kit.id.v, (long long)work.entry->notice.id.v);
}

enum status act_record(struct context *c)
{
	return kit_page(c, take_record);
}

/* ---- correcting ---- */

/* The record that {record} captures, as its place. ST_MISSING. */
static enum status find_record(const struct context *c, const struct kit_view *view, size_t *out)
{
	for (size_t i = 0; i < view->n_records; i++)
		if (view->records[i].id.v == context_id(c, "record")) {
			*out = i;
			return ST_OK;
		}
	return ST_MISSING;
}

static bool still_counts(const struct kit_view *view, size_t i)
{
	return record_counts(view->records, view->n_records, i);
}

static enum status send_to_records(struct context *c, const struct kit_view *view, size_t i,
                                   const char *said)
{
	return respond_redirect(c, "/kits/%lld/records?said=%s#r%lld", (long long)view->kit.id.v,
	                        said, (long long)view->records[i].id.v);
}

/* The notice that the record is for, and the revision that it names. */
static enum status find_corrected(struct context *c, const struct kit_view *view,
                                  const struct record *record, int64_t chosen, struct job *work)
{
	enum status status = ST_OK;

	*work = (struct job){.view = view,
	                     .entry = catalogue_find(view->catalogue, &record->notice)};
	if (work->entry)
		status = revision_list(c->store, c->arena, work->entry->notice.id, &work->revisions,
		                       &work->n_revisions);
	for (size_t i = 0; status == ST_OK && !chosen && i < work->n_revisions; i++) {
		struct name label;

		status = name_of(c, work->revisions[i].revision, &label);
		if (status == ST_OK && name_same(&label, &record->revision))
			work->chosen = &work->revisions[i];
	}
	if (chosen)
		work->chosen = find_revision(work, chosen);
	return status == ST_OK && chosen && !work->chosen ? ST_MISSING : status;
}

static enum status show_correction(struct context *c, const struct job *work, size_t i)
{
	json_t *page = form_part(c->form);

	page = present_set(page, "record", record_present(work->view, i));
	page = present_set(page, "revisions", revisions_view(work));
	page = present_set(page, "has_revisions", json_boolean(work->n_revisions > 0));
	return kit_respond(c, &work->view->kit, "kit_correct.html", "Correct a record", page);
}

static enum status fill_from(struct context *c, const struct record *record)
{
	struct date_fact done = {DATE_KNOWN, record->done};

	c->form = form_blank(c->arena, record_inputs);
	if (!c->form)
		return ST_NOMEM;
	form_set_date(c->form, "done", &done);
	form_set(c->form, "method", record->method);
	form_set(c->form, "by", record->by);
	form_set(c->form, "signed_as", record->signed_as);
	form_set(c->form, "remarks", record->remarks);
	if (record->has_hours)
		form_set_hours(c->form, "hours", record->hours);
	if (record->has_landings)
		form_set_number(c->form, "landings", record->landings);
	return ST_OK;
}

static enum status new_correction(struct context *c, const struct kit_view *view)
{
	struct job work;
	size_t i;
	enum status status = find_record(c, view, &i);

	if (status != ST_OK)
		return status;
	if (!still_counts(view, i))
		return send_to_records(c, view, i, "corrected-already");
	status = find_corrected(c, view, &view->records[i], 0, &work);
	if (status == ST_OK)
		status = fill_from(c, &view->records[i]);
	return status == ST_OK ? show_correction(c, &work, i) : status;
}

enum status page_record_correct(struct context *c)
{
	return kit_page(c, new_correction);
}

/* A record that somebody corrected meanwhile is a conflict to the store. */
static enum status append_correction(struct context *c, const struct job *work,
                                     const struct record *old)
{
	struct record record = common_record(c);
	struct record_id id;
	enum status status = ST_OK;

	record.corrects = old->id;
	record.notice = old->notice;
	record.revision = old->revision;
	record.part = old->part;
	record.position = old->position;
	if (work->chosen)
		status = name_of(c, work->chosen->revision, &record.revision);
	if (status == ST_OK)
		status = record_append(c->store, work->view->kit.id, &record, &id);
	return status;
}

static enum status take_correction(struct context *c, const struct kit_view *view)
{
	struct job work;
	size_t i;
	enum status status = find_record(c, view, &i);

	if (status != ST_OK)
		return status;
	if (!still_counts(view, i))
		return send_to_records(c, view, i, "corrected-already");
	status =
	        find_corrected(c, view, &view->records[i], form_number(c->form, "revision"), &work);
	if (status != ST_OK)
		return status;
	record_check(c->form, view, c->today, work.chosen ? work.chosen->issued : "",
	             view->records[i].id);
	if (!form_ok(c->form))
		return show_correction(c, &work, i);
	status = form_bound(c->form, c->store, append_correction(c, &work, &view->records[i]));
	if (status == ST_OK && !form_ok(c->form))
		return show_correction(c, &work, i);
	return status == ST_OK ? send_to_records(c, view, i, "corrected") : status;
}

enum status act_record_correct(struct context *c)
{
	return kit_page(c, take_correction);
}

/* ---- withdrawing ---- */

static enum status show_withdrawal(struct context *c, const struct kit_view *view, size_t i)
{
	return kit_respond(c, &view->kit, "kit_withdraw.html", "Withdraw a record",
	                   json_pack("{s:o, s:o}", "record", record_present(view, i), "form",
	                             form_view(c->form)));
}

static enum status new_withdrawal(struct context *c, const struct kit_view *view)
{
	size_t i;
	enum status status = find_record(c, view, &i);

	if (status != ST_OK)
		return status;
	if (!still_counts(view, i))
		return send_to_records(c, view, i, "corrected-already");
	c->form = form_blank(c->arena, withdraw_inputs);
	return c->form ? show_withdrawal(c, view, i) : ST_NOMEM;
}

enum status page_record_withdraw(struct context *c)
{
	return kit_page(c, new_withdrawal);
}

/* What was entered is repeated, so that the withdrawal reads on its own. */
static enum status append_withdrawal(struct context *c, const struct kit_view *view,
                                     const struct record *old)
{
	struct record record = *old;
	struct record_id id;

	record.corrects = old->id;
	record.withdraws = true;
	record.remarks = form_text(c->form, "remarks");
	record.entered_by = c->member->name;
	record.entered_at = c->now;
	return record_append(c->store, view->kit.id, &record, &id);
}

static enum status take_withdrawal(struct context *c, const struct kit_view *view)
{
	size_t i;
	enum status status = find_record(c, view, &i);

	if (status != ST_OK)
		return status;
	if (!still_counts(view, i))
		return send_to_records(c, view, i, "corrected-already");
	if (!form_ok(c->form))
		return show_withdrawal(c, view, i);
	status = append_withdrawal(c, view, &view->records[i]);
	return status == ST_OK ? send_to_records(c, view, i, "withdrawn") : status;
}

enum status act_record_withdraw(struct context *c)
{
	return kit_page(c, take_withdrawal);
}
