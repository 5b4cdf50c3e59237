/* kit_due.c - what is due on a kit, and about when: every notice with a limit
 * that runs, the most pressing first. Each limit shows what remains, and where
 * the log tells it the day on which the counter will reach it, with the spread.
 * Below stand the events to come that limits wait for, to be planned.
 */
#include <stdlib.h>
#include <strings.h>

#include "base/text.h"
#include "core/forecast.h"
#include "core/quantity.h"
#include "store/store.h"
#include "web/kits/kit_page.h"
#include "web/html/due_view.h"
#include "formats/json_text.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/http/respond.h"

const struct input kit_due_inputs[] = {
        {"event", "Event", INPUT_NAME, .required = true},
        {"day", "On", INPUT_DAY},
        {"hours", "Or at total hours", INPUT_HOURS, .min = 0, .max = 999999999},
        INPUTS_END};

/* ---- remaining, and the forecast ---- */

static void add_hours(struct text *out, int64_t hundredths)
{
	hours_print(hundredths, out);
	text_add(out, hundredths == 100 ? " hour" : " hours");
}

static void add_count(struct text *out, int64_t count, const char *unit)
{
	text_printf(out, "%lld %s%s", (long long)count, unit, count == 1 ? "" : "s");
}

static void add_day(struct text *out, day_number day)
{
	char room[DATE_WORDS_SIZE];

	date_words(date_of_day(day), room);
	text_add(out, room);
}

static json_t *remaining_words(int64_t left, void add(struct text *, int64_t))
{
	struct text text = TEXT_EMPTY;

	text_add(&text, left < 0 ? "over by " : "");
	add(&text, left < 0 ? -left : left);
	text_add(&text, left < 0 ? "" : " left");
	return json_take_text(&text);
}

static void add_days(struct text *out, int64_t days)
{
	add_count(out, days, "day");
}

static void add_landings(struct text *out, int64_t landings)
{
	add_count(out, landings, "landing");
}

static void say_spread(const struct forecast *f, struct text *out)
{
	if (f->has_earliest && f->has_latest) {
		text_add(out, ", between ");
		add_day(out, f->earliest);
		text_add(out, " and ");
		add_day(out, f->latest);
		text_add(out, " nine times of ten if use goes on as logged");
	} else if (f->has_earliest) {
		text_add(out, ", not before ");
		add_day(out, f->earliest);
		text_add(out, " and with no latest day: use strays too much");
	} else {
		text_add(out, ", with a spread that has no end: use strays too much");
	}
}

static json_t *forecast_words(const struct kit_view *view, enum use_counter counter, int64_t limit)
{
	struct forecast f = forecast_limit(&view->use, counter, limit);
	struct text text = TEXT_EMPTY;

	if (f.state == FORECAST_FEW)
		return json_string("No date yet: that takes three entries of different days in "
		                   "the log.");
	if (f.state == FORECAST_NO_USE)
		return json_string("No date: the log shows no use.");
	if (f.state == FORECAST_FAR)
		return json_string("No date within a hundred years at the use in the log.");
	text_add(&text, "About ");
	add_day(&text, f.day > view->today ? f.day : view->today);
	say_spread(&f, &text);
	text_add_char(&text, '.');
	return json_take_text(&text);
}

static json_t *day_limit(const struct kit_view *view, day_number day)
{
	struct text words = TEXT_EMPTY;

	add_day(&words, day);
	return json_pack("{s:o, s:o, s:b}", "limit", json_take_text(&words), "remaining",
	                 remaining_words((int64_t)day - view->today, add_days), "forecast", 0);
}

static json_t *counter_limit(const struct kit_view *view, enum use_counter counter, int64_t limit)
{
	void (*const add)(struct text *, int64_t) = counter == USE_HOURS ? add_hours : add_landings;
	struct text words = TEXT_EMPTY;
	int64_t now = 0;
	bool known = counter == USE_HOURS ? facts_hours(&view->facts, &now)
	                                  : facts_landings(&view->facts, &now);
	bool ahead = known && now <= limit;

	add(&words, limit);
	return json_pack("{s:o, s:o, s:o}", "limit", json_take_text(&words), "remaining",
	                 known ? remaining_words(limit - now, add) : json_false(), "forecast",
	                 ahead ? forecast_words(view, counter, limit) : json_false());
}

static json_t *limits_view(const struct kit_view *view, const struct due_time *due)
{
	json_t *list = json_array();

	if (due->has_day)
		list = present_append(list, day_limit(view, due->day));
	for (unsigned i = 0; list && i < USE_COUNTERS; i++)
		if (due->has[i])
			list = present_append(list, counter_limit(view, i, due->total[i]));
	return list;
}

/* ---- the list ---- */

struct due_row {
	const struct catalogue_entry *entry;
	struct due_time due;
	day_number by; /* the fixed or forecast day that orders it */
};

static day_number day_of(const struct kit_view *view, const struct due_time *due)
{
	day_number day = DAY_LAST;
	bool fixed;

	forecast_due(&view->use, due, &day, &fixed);
	return day;
}

/* Overdue, due now, cannot be told, ahead; of these the earliest. */
static int by_need(const void *a, const void *b)
{
	const struct due_row *x = a, *y = b;

	if (x->due.state != y->due.state)
		return x->due.state > y->due.state ? -1 : 1;
	if (x->by != y->by)
		return x->by < y->by ? -1 : 1;
	return name_compare(&x->entry->notice.number, &y->entry->notice.number);
}

static enum status collect(struct context *c, const struct kit_view *view, struct due_row **out,
                           size_t *count)
{
	struct due_row *rows = ARENA_ARRAY(c->arena, struct due_row, view->catalogue->count);

	if (!rows)
		return ST_NOMEM;
	*count = 0;
	for (size_t i = 0; i < view->catalogue->count; i++) {
		const struct catalogue_entry *entry = &view->catalogue->entries[i];
		struct standing standing;

		if (!entry->notice.due)
			continue;
		standing = kit_view_standing(view, entry);
		if (standing.due.state == DUE_NONE)
			continue;
		rows[(*count)++] =
		        (struct due_row){entry, standing.due, day_of(view, &standing.due)};
	}
	qsort(rows, *count, sizeof *rows, by_need);
	*out = rows;
	return ST_OK;
}

static json_t *row_view(const struct kit_view *view, const struct due_row *row)
{
	static const char *const states[] = {[DUE_NONE] = "",
	                                     [DUE_AHEAD] = "not due yet",
	                                     [DUE_UNTOLD] = "cannot be told",
	                                     [DUE_NOW] = "due now",
	                                     [DUE_OVER] = "overdue"};
	json_t *view_row = kit_row(view, row->entry);

	view_row = present_set(view_row, "state", json_string(states[row->due.state]));
	view_row = present_set(view_row, "pressing", json_boolean(row->due.state >= DUE_NOW));
	view_row = present_set(view_row, "due", due_time_view(&row->due));
	return present_set(view_row, "limits", limits_view(view, &row->due));
}

/* ---- events to come ---- */

struct events {
	struct context *c;
	const struct kit_view *view;
	json_t *list;
};

/* Filled with what is planned for the event. */
static struct form *form_of_event(struct arena *arena, const struct kit_view *view,
                                  const struct name *event)
{
	const struct planned_event *planned = use_planned(&view->use, event);
	struct form *form = form_blank(arena, kit_due_inputs);

	if (!form)
		return NULL;
	form_set(form, "event", event->text);
	if (planned && planned->has_day)
		form_set_date(form, "day",
		              &(struct date_fact){DATE_KNOWN, date_of_day(planned->day)});
	if (planned && planned->has_hours)
		form_set_hours(form, "hours", planned->hours);
	return form;
}

/* Each event has a form of its own: ids are told apart by its place. */
static json_t *with_ids(json_t *fields, size_t place)
{
	static const char *const names[] = {"day", "hours"};
	int failed = !fields;

	for (size_t i = 0; !failed && i < sizeof names / sizeof names[0]; i++)
		failed |= json_object_set_new(json_object_get(fields, names[i]), "id",
		                              json_sprintf("%s-%zu", names[i], place));
	if (!failed)
		return fields;
	json_decref(fields);
	return NULL;
}

/* The one that was sent and has a fault comes back as typed. */
static json_t *event_view(struct events *events, const struct name *event)
{
	struct form *form = events->c->form;
	struct name sent = form_name(form, "event");
	bool is_sent = name_equal(&sent, event);

	if (!is_sent)
		form = form_of_event(events->c->arena, events->view, event);
	if (!form)
		return NULL;
	return json_pack("{s:s, s:o}", "name", event->text, "fields",
	                 is_sent ? form_view(form)
	                         : with_ids(form_view(form), json_array_size(events->list) + 1));
}

static void add_event(void *context, const struct name *event)
{
	struct events *events = context;
	json_t *other;
	size_t i;

	json_array_foreach(events->list, i, other)
	{
		const char *name = json_string_value(json_object_get(other, "name"));

		if (strcasecmp(name, event->text) == 0)
			return;
	}
	if (events->list)
		events->list = present_append(events->list, event_view(events, event));
}

/* Those that the listed notices wait for. */
static json_t *events_view(struct context *c, const struct kit_view *view,
                           const struct due_row *rows, size_t count)
{
	struct events events = {c, view, json_array()};

	for (size_t i = 0; events.list && i < count; i++)
		due_events(rows[i].entry->notice.due, add_event, &events);
	return events.list;
}

/* ---- the page ---- */

static enum status show_due(struct context *c, const struct kit_view *view)
{
	struct due_row *rows = NULL;
	size_t count = 0;
	json_t *list;
	enum status status = collect(c, view, &rows, &count);

	if (status != ST_OK)
		return status;
	list = json_array();
	for (size_t i = 0; list && i < count; i++)
		list = present_append(list, row_view(view, &rows[i]));
	return kit_respond(c, &view->kit, "kit_due.html",
	                   arena_printf(c->arena, "What is due on %s", view->kit.name),
	                   json_pack("{s:o, s:o, s:o, s:b}", "form", form_view(c->form), "rows",
	                             list, "waiting",
	                             present_some("events", events_view(c, view, rows, count)),
	                             "in_due", 1));
}

static enum status new_page(struct context *c, const struct kit_view *view)
{
	c->form = form_blank(c->arena, kit_due_inputs);
	return c->form ? show_due(c, view) : ST_NOMEM;
}

enum status page_kit_due(struct context *c)
{
	return kit_page(c, new_page);
}

static enum status take_plan(struct context *c, const struct kit_view *view)
{
	struct planned_event event = {.event = form_name(c->form, "event"),
	                              .has_day = form_given(c->form, "day"),
	                              .has_hours = form_given(c->form, "hours"),
	                              .day = form_day(c->form, "day"),
	                              .hours = form_number(c->form, "hours")};
	enum status status = ST_OK;

	if (event.has_day && event.day < c->today)
		form_fail(c->form, "day", "lies behind: enter what was done in the log");
	if (form_ok(c->form))
		status = form_bound(c->form, c->store,
		                    kit_plan_event(c->store, view->kit.id, &event));
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_due(c, view);
	return respond_redirect(c, "/kits/%lld/due?said=planned", (long long)view->kit.id.v);
}

enum status act_kit_due(struct context *c)
{
	return kit_page(c, take_plan);
}
