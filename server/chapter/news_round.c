#include "chapter/news_round.h"

#include <string.h>

#include "base/utf8.h"
#include "core/findings.h"
#include "os/log.h"
#include "chapter/whom.h"

#define KITS_AT_ONCE 16
#define REPORTS_AT_ONCE 50

/* ---- one kit ---- */

static struct told_now now_of(const struct kit_view *view, const struct catalogue_entry *entry)
{
	struct standing standing = kit_view_standing(view, entry);

	return (struct told_now){.so = {.notice = entry->notice.id,
	                                .revision = entry->notice.revision_id,
	                                .standing = standing.kind,
	                                .overdue = standing.overdue},
	                         .cancelled = standing.cancelled};
}

static const struct catalogue_entry *entry_at(const struct kit_view *view, size_t i)
{
	return &view->catalogue->entries[view->catalogue->by_id[i]];
}

static void say_standing(const struct standing *standing, struct text *out)
{
	text_add(out, standing_words(standing->kind));
	if (standing->overdue)
		text_add(out, ", overdue");
}

/* "Now revision B. It was done, now it is open. ..." */
static void say_change(const struct told_change *change, const struct notice *notice,
                       const struct standing *standing, struct text *out)
{
	struct standing before = {.kind = change->from, .overdue = change->from_overdue};

	if (change->kind == TOLD_CANCELLED)
		return;
	if (change->kind == TOLD_REVISED && notice->revision.len)
		text_printf(out, "Now revision %s. ", notice->revision.text);
	if (change->kind == TOLD_NEW ||
	    (before.kind == standing->kind && before.overdue == standing->overdue)) {
		text_add(out, "Standing for this kit: ");
	} else {
		text_add(out, "Standing for this kit: it was ");
		say_standing(&before, out);
		text_add(out, ", now it is ");
	}
	say_standing(standing, out);
	text_add(out, ". ");
}

/* A reason may list very many lines: the kit's page has them all. */
static void cut_words(struct text *out)
{
	while (utf8_length(text_string(out)) > NEWS_WORDS_LONGEST) {
		while (out->len > 1 && ((unsigned char)out->at[out->len - 1] & 0xC0) == 0x80)
			out->len--;
		out->at[--out->len] = '\0';
	}
}

static const char *words_of(const struct work *work, const struct kit_view *view,
                            const struct told_change *change, const struct catalogue_entry *entry,
                            const struct standing *standing)
{
	struct text out = TEXT_EMPTY;
	const char *copy = NULL;

	say_change(change, &entry->notice, standing, &out);
	standing_reason(entry, standing, &view->state, &out);
	if (!text_failed(&out)) {
		cut_words(&out);
		copy = arena_string(work->arena, text_string(&out));
	}
	text_free(&out);
	return copy;
}

/* Told at once: a mandatory notice that must be acted on, or may have to be. */
static bool is_urgent(const struct told_change *change, const struct notice *notice,
                      const struct standing *standing)
{
	return notice->force == FORCE_MANDATORY && change->kind != TOLD_CANCELLED &&
	       (standing_is_left(standing) || standing->kind == STANDING_ASK);
}

static enum status entry_of(const struct work *work, const struct kit_view *view,
                            const struct told_change *change, struct news_entry *out)
{
	static const enum news_kind kinds[TOLD_KINDS] = {
	        [TOLD_NEW] = NEWS_NEW,
	        [TOLD_REVISED] = NEWS_REVISED,
	        [TOLD_CANCELLED] = NEWS_CANCELLED,
	        [TOLD_STANDING] = NEWS_STANDING,
	};
	const struct catalogue_entry *entry = entry_at(view, change->now);
	struct standing standing = kit_view_standing(view, entry);

	*out = (struct news_entry){.member = view->kit.owner,
	                           .kind = kinds[change->kind],
	                           .mandatory = is_urgent(change, &entry->notice, &standing),
	                           .kit = view->kit.id,
	                           .notice = entry->notice.id,
	                           .words = words_of(work, view, change, entry, &standing)};
	return out->words ? ST_OK : ST_NOMEM;
}

static enum status fill_news(const struct work *work, const struct kit_view *view,
                             const struct told_change *changes, size_t count,
                             struct told_step *step)
{
	struct news_entry *news = ARENA_ARRAY(work->arena, struct news_entry, count);
	enum status status = news ? ST_OK : ST_NOMEM;

	for (size_t i = 0; status == ST_OK && i < count; i++)
		status = entry_of(work, view, &changes[i], &news[i]);
	step->news = news;
	step->n_news = count;
	return status;
}

static struct told_since since_of(const struct told_step *step)
{
	const struct told_mark *a = &step->before, *b = &step->after;

	return (struct told_since){.first = !a->generation && !a->version && !a->day,
	                           .list = a->generation != b->generation,
	                           .kit = a->version != b->version,
	                           .day = a->day != b->day};
}

static enum status compare(const struct work *work, const struct kit_view *view,
                           const struct told *told, size_t n_told, struct told_step *step)
{
	size_t n_now = view->catalogue->count, count = 0;
	struct told_now *now = ARENA_ARRAY(work->arena, struct told_now, n_now);
	const struct told_change *changes = NULL;
	enum status status;

	if (!now)
		return ST_NOMEM;
	for (size_t i = 0; i < n_now; i++)
		now[i] = now_of(view, entry_at(view, i));
	status = told_changes(work->arena, told, n_told, now, n_now, since_of(step), &changes,
	                      &count);
	if (status == ST_OK)
		status = told_after(work->arena, now, n_now, &step->rows, &step->n_rows);
	if (status != ST_OK)
		return status;
	step->rows_stay = told_equal(told, n_told, step->rows, step->n_rows);
	return fill_news(work, view, changes, count, step);
}

enum status news_of_kit(const struct work *work, const struct kit_view *view, struct told_step *out)
{
	struct told_step step = {.kit = view->kit.id,
	                         .after = {work->generation, view->kit.version, view->today}};
	const struct told *told = NULL;
	size_t n_told = 0;
	enum status status =
	        told_read(work->store, work->arena, view->kit.id, &step.before, &told, &n_told);

	if (status == ST_OK)
		status = compare(work, view, told, n_told, &step);
	if (status == ST_OK)
		*out = step;
	return status;
}

/* ---- the rounds ---- */

/* The views of readers are left in peace: this one is not kept. */
static enum status tell_kit(const struct work *work, struct kit_id kit)
{
	struct kit_view view;
	struct told_step step;
	enum status status = kit_view_load(work, kit, &view);

	if (status == ST_OK)
		status = news_of_kit(work, &view, &step);
	if (status == ST_OK)
		status = told_replace(work->store, &step, work->now);
	kit_view_done(&view);
	/* Removed, or told by another process, meanwhile. */
	return status == ST_MISSING || status == ST_CONFLICT ? ST_OK : status;
}

/* One kit that fails does not keep the others from their news. */
enum status news_round_kits(const struct work *work, int64_t *place)
{
	const struct kit_id *kits = NULL;
	size_t count = 0;
	enum status first = told_stale(work->store, work->arena, work->generation, work->today,
	                               (struct kit_id){*place}, KITS_AT_ONCE, &kits, &count);

	*place = 0;
	for (size_t i = 0; i < count; i++) {
		enum status status = tell_kit(work, kits[i]);

		if (status != ST_OK)
			log_line(LOG_LEVEL_TROUBLE, "news of kit %lld: %s", (long long)kits[i].v,
			         status_words(status));
		*place = kits[i].v;
	}
	if (count < KITS_AT_ONCE)
		*place = 0;
	return first;
}

/* ---- the state of reports ---- */

static void say_state(const struct report_change *change, struct text *out)
{
	bool settled = change->now == REPORT_SETTLED;

	if (change->now == REPORT_TOLD_MERGED) {
		text_printf(out, "A steward put it together with field report %lld.",
		            (long long)change->into.v);
		return;
	}
	if (change->told == REPORT_TOLD_MERGED)
		text_add(out, "It stands by itself again: ");
	else
		text_printf(out, "From %s to ",
		            report_state_words((enum report_state)change->told));
	text_printf(out, "%s. ", report_state_words((enum report_state)change->now));
	report_state_reason(&change->tally, settled, out);
}

static enum status tell_state(const struct work *work, const struct report_change *change)
{
	struct text words = TEXT_EMPTY;
	enum status status = ST_NOMEM;

	say_state(change, &words);
	if (!text_failed(&words))
		status = news_tell_state(work->store, change, text_string(&words), work->now);
	text_free(&words);
	return status == ST_CONFLICT ? ST_OK : status; /* told by another process meanwhile */
}

enum status news_round_states(const struct work *work, int64_t *place)
{
	const struct report_change *changes = NULL;
	size_t count = 0;
	enum status status =
	        news_reports_changed(work->store, work->arena, (struct report_id){*place},
	                             REPORTS_AT_ONCE, &changes, &count);

	*place = 0;
	for (size_t i = 0; status == ST_OK && i < count; i++) {
		status = tell_state(work, &changes[i]);
		*place = changes[i].id.v;
	}
	if (status == ST_OK && count < REPORTS_AT_ONCE)
		*place = 0;
	return status;
}

/* ---- new reports ---- */

/* Whom a report concerns, as the pass over the kits finds them. */
struct telling {
	struct arena *arena;
	const struct report *report;
	const char *applies, *perhaps; /* why, in words */
	struct news_entry *at;
	size_t count, room;
	bool failed;
};

static struct news_entry *add_room(struct telling *telling)
{
	struct news_entry *more;

	if (telling->count == telling->room) {
		telling->room = telling->room ? 2 * telling->room : 64;
		more = ARENA_ARRAY(telling->arena, struct news_entry, telling->room);
		if (!more)
			return NULL;
		for (size_t i = 0; i < telling->count; i++)
			more[i] = telling->at[i];
		telling->at = more;
	}
	return &telling->at[telling->count++];
}

/* The reporter knows; for the others each kit is one to look at. */
static bool tell_owner(void *context, const struct held_kit *kit, enum truth answer)
{
	struct telling *telling = context;
	const struct report *report = telling->report;
	struct news_entry *entry;

	if (answer == TRUTH_FALSE || kit->owner.v == report->author.v)
		return true;
	entry = add_room(telling);
	if (entry)
		*entry = (struct news_entry){
		        .member = kit->owner,
		        .kind = NEWS_REPORT,
		        .mandatory = report->content.severity == SEVERITY_DANGER,
		        .kit = kit->id,
		        .report = report->id,
		        .from = report->credit == CREDIT_NOBODY ? (struct member_id){0}
		                                                : report->author,
		        .words = answer == TRUTH_TRUE ? telling->applies : telling->perhaps};
	telling->failed = !entry;
	return entry != NULL;
}

static enum status find_concerned(const struct work *work, struct telling *telling)
{
	const struct report_content *content = &telling->report->content;
	const struct effectivity *statement = NULL;
	struct statement_fault fault;
	const char *severity = severity_words(content->severity);
	enum status status = effectivity_parse(work->arena, content->effectivity,
	                                       strlen(content->effectivity), &statement, &fault);

	if (status != ST_OK)
		return status;
	telling->applies = arena_printf(work->arena, "It concerns this kit: %s.", severity);
	telling->perhaps = arena_printf(
	        work->arena, "It cannot be told whether it concerns this kit: %s.", severity);
	if (!telling->applies || !telling->perhaps)
		return ST_NOMEM;
	status = whom_each(work, statement, tell_owner, telling);
	return status == ST_OK && telling->failed ? ST_NOMEM : status;
}

/* One that was taken away or merged meanwhile is left as not told of: should it be put
 * back or parted again, its turn comes. */
static enum status tell_report(const struct work *work, struct report_id id)
{
	struct report report;
	struct telling telling = {.arena = work->arena, .report = &report};
	enum status status = report_read(work->store, work->arena, id, &report);

	if (status == ST_OK && (report.removed_at || report.merged_into.v))
		return ST_OK;
	if (status == ST_OK)
		status = find_concerned(work, &telling);
	if (status == ST_OK)
		status = news_tell_report(work->store, id, telling.at, telling.count, work->now);
	return status == ST_CONFLICT || status == ST_MISSING ? ST_OK : status;
}

/* One at each call: a pass over all kits is enough for a piece of work. */
enum status news_round_reports(const struct work *work, int64_t *place)
{
	const struct report_id *reports = NULL;
	size_t count = 0;
	enum status status = news_reports_new(work->store, work->arena, (struct report_id){*place},
	                                      1, &reports, &count);

	*place = 0;
	if (status != ST_OK || !count)
		return status;
	*place = reports->v;
	status = tell_report(work, *reports);
	if (status != ST_OK)
		log_line(LOG_LEVEL_TROUBLE, "news of report %lld: %s", (long long)reports->v,
		         status_words(status));
	return ST_OK;
}
