/* kit_log.c - hours and landings of a kit, day by day: the one place for its
 * totals. An entry is never changed: a correction is a further entry that
 * names it, and what was entered first stays to be read, struck out.
 */
#include "web/kits/kit_page.h"
#include "web/kits/kit_log.h"

#include <strings.h>

#include "base/text.h"
#include "core/quantity.h"
#include "store/store.h"
#include "formats/json_text.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/http/respond.h"

static const char *const acts[] = {"enter", "withdraw", NULL};
enum { ACT_ENTER, ACT_WITHDRAW };

const struct input kit_log_inputs[] = {
        {"act", "What to do", INPUT_CHOICE, .choices = acts},
        {"day", "Day", INPUT_DAY, .required = true},
        {"hours", "Total hours", INPUT_HOURS, .min = 0, .max = 999999999},
        {"landings", "Total landings", INPUT_NUMBER, .min = 0, .max = QUANTITY_MOST},
        {"event", "Event", INPUT_NAME},
        INPUTS_END};

/* ---- entering ---- */

static void print_total(enum use_counter counter, int64_t total, struct text *out)
{
	if (counter == USE_HOURS)
		hours_print(total, out);
	else
		text_printf(out, "%lld", (long long)total);
}

/* Says between which totals it must lie. */
static enum status say_back(struct context *c, enum use_counter counter, int64_t least,
                            int64_t most, struct log_fault *fault)
{
	struct text words = TEXT_EMPTY;

	text_add(&words, "goes back: the log shows ");
	print_total(counter, least, &words);
	text_add(&words, " up to that day");
	if (most != INT64_MAX) {
		text_add(&words, " and ");
		print_total(counter, most, &words);
		text_add(&words, " after it");
	}
	fault->field = counter == USE_HOURS ? "hours" : "landings";
	fault->words = text_failed(&words) ? NULL : arena_string(c->arena, text_string(&words));
	text_free(&words);
	return fault->words ? ST_OK : ST_NOMEM;
}

/* The log that the new entry must fit: what counts, but not what it corrects. */
static enum status use_without(struct context *c, struct kit_id kit, struct kit_log_id corrected,
                               struct kit_use *out)
{
	const struct kit_log_row *rows = NULL;
	struct use_entry *log;
	size_t count = 0, kept = 0;
	enum status status = kit_log_list(c->store, c->arena, kit, &rows, &count);

	if (status != ST_OK)
		return status;
	log = ARENA_ARRAY(c->arena, struct use_entry, count);
	if (!log)
		return ST_NOMEM;
	for (size_t i = count; i-- > 0;) /* the list has the newest first */
		if (rows[i].counts && rows[i].id.v != corrected.v)
			log[kept++] = rows[i].entry;
	*out = (struct kit_use){.log = log, .n_log = kept};
	return ST_OK;
}

static enum status check_totals(struct context *c, const struct kit_use *use,
                                const struct use_entry *entry, struct log_fault *fault)
{
	enum status status = ST_OK;

	for (unsigned i = 0; status == ST_OK && !fault->field && i < USE_COUNTERS; i++) {
		int64_t least, most;

		if (entry->has[i] &&
		    use_goes_back(use, i, entry->day, entry->total[i], &least, &most))
			status = say_back(c, i, least, most, fault);
	}
	return status;
}

enum status kit_log_enter(struct context *c, struct kit_id kit, struct kit_log_row *row,
                          struct log_fault *fault)
{
	struct kit_use use;
	struct kit_log_id id;
	enum status status;

	*fault = (struct log_fault){NULL, NULL};
	if (row->entry.day > c->today) {
		*fault = (struct log_fault){"day", "must not be in the future"};
		return ST_OK;
	}
	status = use_without(c, kit, row->corrects, &use);
	if (status == ST_OK && !row->withdraws)
		status = check_totals(c, &use, &row->entry, fault);
	if (status != ST_OK || fault->field)
		return status;
	row->entered_by = c->member->name;
	row->entered_at = c->now;
	return kit_log_add(c->store, kit, row, &id);
}

/* ---- the page ---- */

static json_t *total_view(const struct use_entry *entry, enum use_counter counter)
{
	struct text text = TEXT_EMPTY;

	if (!entry->has[counter])
		return json_false();
	print_total(counter, entry->total[counter], &text);
	return json_take_text(&text);
}

static json_t *row_view(const struct kit *kit, const struct kit_log_row *row)
{
	return json_pack("{s:o, s:o, s:o, s:o, s:b, s:b, s:b, s:s, s:o, s:o}", "day",
	                 present_day(row->entry.day), "hours", total_view(&row->entry, USE_HOURS),
	                 "landings", total_view(&row->entry, USE_LANDINGS), "event",
	                 present_name(&row->entry.event), "counts", row->counts, "withdrawal",
	                 row->withdraws, "correction", row->corrects.v != 0 && !row->withdraws,
	                 "by", row->entered_by, "at", present_time(row->entered_at), "correct_url",
	                 json_sprintf("/kits/%lld/log/%lld/correct", (long long)kit->id.v,
	                              (long long)row->id.v));
}

struct event_list {
	json_t *list;
};

static void add_event(void *context, const struct name *event)
{
	struct event_list *events = context;
	json_t *other;
	size_t i;

	json_array_foreach(events->list, i, other)
	{
		if (strcasecmp(json_string_value(other), event->text) == 0)
			return;
	}
	if (events->list)
		events->list = present_append(events->list, json_string(event->text));
}

/* Events that limits of notices of this kit wait for. */
static json_t *events_view(const struct kit_view *view)
{
	struct event_list events = {json_array()};

	for (size_t i = 0; events.list && i < view->catalogue->count; i++) {
		const struct catalogue_entry *entry = &view->catalogue->entries[i];

		if (entry->notice.due &&
		    kit_view_standing(view, entry).kind != STANDING_NOT_EFFECTIVE)
			due_events(entry->notice.due, add_event, &events);
	}
	return events.list;
}

static json_t *with_hints(json_t *form)
{
	form = present_hint(form, "day", "2027-04-17. What the counters showed when it ended");
	form = present_hint(form, "hours", "As the counter shows: 120.5");
	form = present_hint(form, "event", "If the day was one: annual inspection, oil change");
	return form;
}

static enum status show_log(struct context *c, const struct kit_view *view)
{
	const struct kit_log_row *rows = NULL;
	size_t count = 0;
	json_t *list;
	enum status status = kit_log_list(c->store, c->arena, view->kit.id, &rows, &count);

	if (status != ST_OK)
		return status;
	list = json_array();
	for (size_t i = 0; list && i < count; i++)
		list = present_append(list, row_view(&view->kit, &rows[i]));
	return kit_respond(
	        c, &view->kit, "kit_log.html", arena_printf(c->arena, "Log of %s", view->kit.name),
	        json_pack("{s:o, s:o, s:o, s:b}", "form", with_hints(form_view(c->form)), "entries",
	                  list, "waited", present_some("events", events_view(view)), "in_log", 1));
}

static enum status new_entry(struct context *c, const struct kit_view *view)
{
	struct date_fact today = {DATE_KNOWN, date_of_day(c->today)};

	c->form = form_blank(c->arena, kit_log_inputs);
	if (!c->form)
		return ST_NOMEM;
	form_set_date(c->form, "day", &today);
	return show_log(c, view);
}

enum status page_kit_log(struct context *c)
{
	return kit_page(c, new_entry);
}

/* ---- taking an entry ---- */

static void read_entry(const struct form *form, struct use_entry *out)
{
	out->day = form_day(form, "day");
	out->has[USE_HOURS] = form_given(form, "hours");
	out->total[USE_HOURS] = form_number(form, "hours");
	out->has[USE_LANDINGS] = form_given(form, "landings");
	out->total[USE_LANDINGS] = form_number(form, "landings");
	out->event = form_name(form, "event");
}

static void need_something(struct form *form, const struct use_entry *entry)
{
	if (form_ok(form) && !entry->has[USE_HOURS] && !entry->has[USE_LANDINGS] &&
	    name_is_empty(&entry->event))
		form_fail(form, "hours",
		          "or landings or an event are needed: the entry says nothing");
}

static enum status enter(struct context *c, struct kit_id kit, struct kit_log_row *row)
{
	struct log_fault fault;
	enum status status = store_begin(c->store);

	if (status == ST_OK)
		status = kit_log_enter(c, kit, row, &fault);
	if (status == ST_OK && fault.field)
		form_fail(c->form, fault.field, "%s", fault.words);
	else if (status == ST_OK)
		status = store_commit(c->store);
	store_rollback(c->store);
	return status;
}

static enum status take_entry(struct context *c, const struct kit_view *view)
{
	struct kit_log_row row = {.id = {0}};
	enum status status = ST_OK;

	read_entry(c->form, &row.entry);
	need_something(c->form, &row.entry);
	if (form_ok(c->form))
		status = form_bound(c->form, c->store, enter(c, view->kit.id, &row));
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_log(c, view);
	return respond_redirect(c, "/kits/%lld/log?said=logged", (long long)view->kit.id.v);
}

enum status act_kit_log(struct context *c)
{
	return kit_page(c, take_entry);
}

/* ---- correcting ---- */

static const struct kit_log_row *find_row(const struct kit_log_row *rows, size_t count,
                                          struct kit_log_id id)
{
	for (size_t i = 0; i < count; i++)
		if (rows[i].id.v == id.v)
			return &rows[i];
	return NULL;
}

/* The entry that {entry} captures. ST_MISSING; ST_CONFLICT: it counts no more. */
static enum status find_entry(struct context *c, const struct kit_view *view,
                              struct kit_log_row *out)
{
	const struct kit_log_row *rows = NULL, *row;
	size_t count = 0;
	enum status status = kit_log_list(c->store, c->arena, view->kit.id, &rows, &count);

	if (status != ST_OK)
		return status;
	row = find_row(rows, count, (struct kit_log_id){context_id(c, "entry")});
	if (!row)
		return ST_MISSING;
	*out = *row;
	return row->counts ? ST_OK : ST_CONFLICT;
}

static enum status send_back(struct context *c, const struct kit_view *view)
{
	return respond_redirect(c, "/kits/%lld/log?said=entry-corrected-already",
	                        (long long)view->kit.id.v);
}

static enum status show_correction(struct context *c, const struct kit_view *view,
                                   const struct kit_log_row *row)
{
	return kit_respond(c, &view->kit, "kit_log_correct.html", "Correct an entry",
	                   json_pack("{s:o, s:o}", "form", with_hints(form_view(c->form)), "entry",
	                             row_view(&view->kit, row)));
}

static enum status new_correction(struct context *c, const struct kit_view *view)
{
	struct kit_log_row row;
	struct date_fact day = {.state = DATE_KNOWN};
	enum status status = find_entry(c, view, &row);

	if (status == ST_CONFLICT)
		return send_back(c, view);
	if (status != ST_OK)
		return status;
	c->form = form_blank(c->arena, kit_log_inputs);
	if (!c->form)
		return ST_NOMEM;
	day.date = date_of_day(row.entry.day);
	form_set_date(c->form, "day", &day);
	if (row.entry.has[USE_HOURS])
		form_set_hours(c->form, "hours", row.entry.total[USE_HOURS]);
	if (row.entry.has[USE_LANDINGS])
		form_set_number(c->form, "landings", row.entry.total[USE_LANDINGS]);
	form_set(c->form, "event", name_is_empty(&row.entry.event) ? "" : row.entry.event.text);
	return show_correction(c, view, &row);
}

enum status page_kit_log_correct(struct context *c)
{
	return kit_page(c, new_correction);
}

static enum status take_correction(struct context *c, const struct kit_view *view)
{
	struct kit_log_row old, row = {.withdraws = form_choice(c->form, "act") == ACT_WITHDRAW};
	enum status status = find_entry(c, view, &old);

	if (status == ST_CONFLICT)
		return send_back(c, view);
	if (status != ST_OK)
		return status;
	row.corrects = old.id;
	if (row.withdraws)
		row.entry.day = old.entry.day;
	else
		read_entry(c->form, &row.entry);
	if (!row.withdraws)
		need_something(c->form, &row.entry);
	if (form_ok(c->form))
		status = form_bound(c->form, c->store, enter(c, view->kit.id, &row));
	if (status != ST_OK)
		return status == ST_CONFLICT ? send_back(c, view) : status;
	if (!form_ok(c->form))
		return show_correction(c, view, &old);
	return respond_redirect(c, "/kits/%lld/log?said=%s", (long long)view->kit.id.v,
	                        row.withdraws ? "entry-withdrawn" : "entry-corrected");
}

enum status act_kit_log_correct(struct context *c)
{
	return kit_page(c, take_correction);
}
