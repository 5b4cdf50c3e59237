/* calendar.c - days that matter on a member's kits, as a calendar of all-day events.
 *
 * Of each notice that is left to do or comes again, at most two: the day by
 * which it is due, and on the build line the last good moment. A day that
 * follows from the log's use or from the builder's pace is an estimate and
 * says so, first thing. What is overdue stands on the day on which it was due,
 * or today where the limit has no day. What has no day at all is counted in
 * words, so that nobody takes the calendar for the whole list.
 */
#include "base/text.h"
#include "core/forecast.h"
#include "store/settings.h"
#include "formats/icalendar.h"
#include "web/kits/plan_view.h"
#include "web/kits/kit_page.h"
#include "web/http/outside.h"
#include "web/api/api_view.h"
#include "web/news/feeds.h"
#include "web/http/respond.h"
#include "os/uuid.h"

struct calendar {
	const char *chapter; /* its id */
	const char *address;
	struct text out;
	size_t undated; /* notices that have no day */
};

/* One day of one notice for one kit. */
struct dated {
	const struct kit_view *view;
	const struct catalogue_entry *entry;
	const char *kind; /* "due" or "moment", of its id */
	const char *lead; /* what the summary begins with */
	day_number day;
	struct text words; /* why that day */
};

static bool is_day(day_number day)
{
	return day >= day_from_civil(1900, 1, 1) && day <= day_from_civil(2199, 12, 31);
}

/* ---- one event ---- */

static const char *id_of(const struct context *c, const struct calendar *calendar,
                         const struct dated *dated)
{
	const char *name =
	        arena_printf(c->arena, "kit/%lld/notice/%lld/%s", (long long)dated->view->kit.id.v,
	                     (long long)dated->entry->notice.id.v, dated->kind);

	return name ? uuid_of(c->arena, calendar->chapter, name) : NULL;
}

/* Gives the words of the day back. */
static enum status add_event(struct context *c, struct calendar *calendar, struct dated *dated)
{
	const struct notice *notice = &dated->entry->notice;
	const struct kit *kit = &dated->view->kit;
	struct ical_event event = {
	        .uid = id_of(c, calendar, dated),
	        .stamp = c->now,
	        .day = dated->day,
	        .summary = arena_printf(c->arena, "%s %s %s (%s)", dated->lead, notice->number.text,
	                                notice->title, kit->name),
	        .description =
	                arena_printf(c->arena, "%s\n%s", text_string(&dated->words), api_caution),
	        .category = force_words(notice->force),
	        .url = arena_printf(c->arena, "%s/kits/%lld/notices/%lld", calendar->address,
	                            (long long)kit->id.v, (long long)notice->id.v),
	};
	bool failed = text_failed(&dated->words) || arena_failed(c->arena);

	text_free(&dated->words);
	if (failed)
		return ST_NOMEM;
	ical_event(&calendar->out, &event);
	return text_failed(&calendar->out) ? ST_NOMEM : ST_OK;
}

/* ---- when it is due ---- */

/* The day, and what the summary begins with; false: it has none. */
static bool find_due(const struct kit_view *view, const struct due_time *due, struct dated *out)
{
	bool over = due->state == DUE_OVER;
	bool fixed = true;
	bool found = forecast_due(&view->use, due, &out->day, &fixed);

	if (over && !(found && fixed)) {
		out->day = view->today;
		found = fixed = true;
	}
	if (!fixed && out->day < view->today)
		out->day = view->today;
	out->lead = over ? "Overdue:" : fixed ? "Due:" : "Estimate, due:";
	if (!fixed)
		text_add(&out->words, "The day is an estimate, by the use in the log: the limit "
		                      "is what stands in hours and landings. ");
	return due->state != DUE_NONE && found && is_day(out->day);
}

static enum status add_due(struct context *c, struct calendar *calendar,
                           const struct kit_view *view, const struct catalogue_entry *entry,
                           bool *added)
{
	struct dated dated = {.view = view, .entry = entry, .kind = "due", .words = TEXT_EMPTY};
	struct standing standing = kit_view_standing(view, entry);

	if (!find_due(view, &standing.due, &dated)) {
		text_free(&dated.words);
		return ST_OK;
	}
	*added = true;
	standing_reason(entry, &standing, &view->state, &dated.words);
	return add_event(c, calendar, &dated);
}

/* ---- the last good moment ---- */

static enum status add_moment(struct context *c, struct calendar *calendar,
                              const struct kit_view *view, const struct catalogue_entry *entry,
                              bool *added)
{
	struct dated dated = {.view = view,
	                      .entry = entry,
	                      .kind = "moment",
	                      .lead = "Estimate, last good moment:",
	                      .words = TEXT_EMPTY};
	const struct moment *moment;
	size_t i;

	if (!kit_plan_find(view, entry, &i))
		return ST_OK;
	moment = &view->plan.moments[i];
	if (moment->kind > MOMENT_BEFORE || !moment->left.has_date || !is_day(moment->left.date))
		return ST_OK;
	*added = true;
	dated.day = moment->left.date;
	text_add(&dated.words, "The day is an estimate at your own pace and moves as you build. ");
	moment_sentence(view->line, moment, &dated.words);
	return add_event(c, calendar, &dated);
}

/* ---- all kits ---- */

static enum status add_pile(struct context *c, struct calendar *calendar,
                            const struct kit_view *view, enum kit_pile pile)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < view->piled[pile]; i++) {
		const struct catalogue_entry *entry =
		        &view->catalogue->entries[view->pile[pile][i]];
		bool added = false;

		status = add_due(c, calendar, view, entry, &added);
		if (status == ST_OK)
			status = add_moment(c, calendar, view, entry, &added);
		calendar->undated += !added;
	}
	return status;
}

static enum status add_kit(struct context *c, const struct kit_view *view, void *calendar)
{
	enum status status = add_pile(c, calendar, view, PILE_LEFT);

	return status == ST_OK ? add_pile(c, calendar, view, PILE_REPEATING) : status;
}

static enum status add_kits(struct context *c, struct calendar *calendar, struct member_id member)
{
	const struct kit *kits = NULL;
	size_t count = 0;
	enum status status = kit_list(c->store, c->arena, member, &kits, &count);

	for (size_t i = 0; status == ST_OK && i < count; i++)
		status = kit_with_view(c, kits[i].id, add_kit, calendar);
	return status;
}

static const char about[] = "Days by which notices are due on your kits, and last good moments on "
                            "the build line. What has no day is not in it: your kits' pages hold "
                            "the whole list.";

static enum status add_note(struct context *c, struct calendar *calendar, struct member_id member)
{
	const char *name = arena_printf(c->arena, "member/%lld/calendar", (long long)member.v);
	struct ical_event note = {
	        .uid = name ? uuid_of(c->arena, calendar->chapter, name) : NULL,
	        .stamp = c->now,
	        .summary = "What this calendar shows",
	        .description = arena_printf(c->arena, "%s\nNotices without a day now: %zu.\n%s",
	                                    about, calendar->undated, api_caution),
	        .url = arena_printf(c->arena, "%s/kits", calendar->address),
	};

	if (arena_failed(c->arena))
		return ST_NOMEM;
	ical_note(&calendar->out, &note);
	return ST_OK;
}

static enum status fill(struct context *c, struct calendar *calendar, struct member_id member)
{
	enum status status = setting_text(c->store, c->arena, SETTING_ID, &calendar->chapter);

	if (status == ST_OK)
		status = outside_address(c, &calendar->address);
	if (status != ST_OK)
		return status;
	ical_begin(&calendar->out, "Dates of my kits", about);
	status = add_kits(c, calendar, member);
	if (status == ST_OK)
		status = add_note(c, calendar, member);
	ical_end(&calendar->out);
	return status;
}

enum status page_calendar(struct context *c)
{
	struct calendar calendar = {.chapter = "", .out = TEXT_EMPTY};
	struct member_id member;
	const char *copy = NULL;
	enum status status = feed_member(c, &member);

	if (status != ST_OK)
		return status;
	status = fill(c, &calendar, member);
	if (status == ST_OK && !text_failed(&calendar.out))
		copy = arena_copy(c->arena, text_string(&calendar.out), calendar.out.len);
	if (status == ST_OK && !copy)
		status = ST_NOMEM;
	if (status == ST_OK)
		status = respond_bytes(c, "text/calendar; charset=utf-8", copy, calendar.out.len,
		                       CACHE_NEVER, NULL);
	text_free(&calendar.out);
	return status;
}
