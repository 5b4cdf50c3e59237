/* Compliance times: the language, the trade's rules, published directives. */
#include "build.h"

#include <sqlite3.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "core/quantity.h"
#include "core/standing.h"
#include "due_directives.h"

static struct arena *arena;

static int set_up(void **state)
{
	(void)state;
	arena = arena_new();
	return arena ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	arena_free(arena);
	return 0;
}

/* ---- kits from short texts ---- */

#define MOST 8

static char *next_piece(char **rest, const char *mark)
{
	char *piece = *rest ? strsep(rest, mark) : NULL;

	return piece ? piece + strspn(piece, " ") : NULL;
}

static bool read_hours(const char *text, int64_t *out)
{
	if (!text || strcmp(text, "-") == 0)
		return false;
	if (hours_parse(text, strlen(text), out) != ST_OK)
		fail_msg("not hours: %s", text);
	return true;
}

/* "1971-10-13 1210 annual inspection; ..." */
static void read_log(const char *text, struct kit_use *use)
{
	struct use_entry *log = ARENA_ARRAY(arena, struct use_entry, MOST);
	char *rest = text ? arena_string(arena, text) : NULL, *entry;

	use->log = log;
	while ((entry = next_piece(&rest, ";"))) {
		struct use_entry *e = &log[use->n_log++];

		e->day = make_day(next_piece(&entry, " "));
		e->has[USE_HOURS] = read_hours(next_piece(&entry, " "), &e->total[USE_HOURS]);
		e->event = make_name(arena, entry);
	}
}

/* "annual inspection = 1268; oil change = 2016-11-10" */
static void read_planned(const char *text, struct kit_use *use)
{
	struct planned_event *planned = ARENA_ARRAY(arena, struct planned_event, MOST);
	char *rest = text ? arena_string(arena, text) : NULL, *entry;

	use->planned = planned;
	while ((entry = next_piece(&rest, ";"))) {
		struct planned_event *p = &planned[use->n_planned++];
		const char *value;

		p->event = make_name(arena, next_piece(&entry, "="));
		value = next_piece(&entry, "=");
		p->has_day = strchr(value, '-') != NULL;
		if (p->has_day)
			p->day = make_day(value);
		else
			p->has_hours = read_hours(value, &p->hours);
	}
}

static struct kit_use read_use(const char *log, const char *planned)
{
	struct kit_use use = {.n_log = 0};

	read_log(log, &use);
	read_planned(planned, &use);
	return use;
}

/* "SB-1 2016-03-04 120.5; ..." */
static const struct record *read_done(const char *text, size_t *count)
{
	struct record *records = ARENA_ARRAY(arena, struct record, MOST);
	char *rest = text ? arena_string(arena, text) : NULL, *entry;

	for (*count = 0; (entry = next_piece(&rest, ";")); (*count)++) {
		struct record *r = &records[*count];

		*r = (struct record){.id = {(int64_t)*count + 1}};
		r->notice = make_name(arena, next_piece(&entry, " "));
		r->revision = r->part = r->position = make_name(arena, NULL);
		r->done = make_date(next_piece(&entry, " "));
		r->has_hours = read_hours(next_piece(&entry, " "), &r->hours);
	}
	return records;
}

/* One notice with a compliance time, and one that may terminate it. */
static const struct catalogue *read_catalogue(const char *number, const char *issued,
                                              const char *statement, const char *terminated_by)
{
	struct name *ended = ARENA_NEW(arena, struct name);
	struct notice notices[2] = {{.id = {1},
	                             .number = make_name(arena, number),
	                             .issuer = "",
	                             .title = "",
	                             .issued = make_date(issued),
	                             .effectivity = make_statement(arena, "all"),
	                             .due = make_due(arena, statement)}};
	const struct catalogue *catalogue = NULL;

	*ended = make_name(arena, number);
	notices[0].revision = make_name(arena, NULL);
	notices[1] = notices[0];
	notices[1].id.v = 2;
	notices[1].number = make_name(arena, terminated_by ? terminated_by : "OTHER");
	notices[1].due = NULL;
	notices[1].terminates = ended;
	notices[1].n_terminates = terminated_by != NULL;
	assert_int_equal(catalogue_build(arena, notices, 2, &catalogue), ST_OK);
	return catalogue;
}

struct short_kit {
	const char *facts, *log, *planned, *done;
};

static struct standing stand(const struct catalogue *catalogue, const struct short_kit *k,
                             const char *today)
{
	struct kit_use use = read_use(k->log, k->planned);
	struct kit_state kit;
	size_t count;
	const struct record *records = read_done(k->done, &count);

	assert_int_equal(
	        kit_state_make(arena, make_facts(arena, k->facts), records, count, &use, &kit),
	        ST_OK);
	return standing_decide(catalogue, catalogue_find_id(catalogue, (struct notice_id){1}), &kit,
	                       make_day(today));
}

/* ---- published directives ---- */

static void check_probe(const struct due_directive *d, const struct due_probe *p)
{
	const struct catalogue *catalogue =
	        read_catalogue(d->number, d->issued, d->statement, d->terminates);
	struct short_kit kit = {p->facts, p->log, p->planned, p->done};
	struct standing standing = stand(catalogue, &kit, d->issued);
	struct text words = TEXT_EMPTY;

	if (standing.due.state != DUE_NONE)
		due_words(&standing.due, &words);
	if (!p->due ? words.len > 0 : strncmp(text_string(&words), p->due, strlen(p->due)) != 0)
		fail_msg("%s\n%s\nis due \"%s\", not \"%s\": %s", d->source, p->facts,
		         text_string(&words), p->due ? p->due : "never", p->why);
	text_free(&words);
}

static void every_directive_gives_its_time(void **state)
{
	size_t probes = 0;

	(void)state;
	for (size_t i = 0; i < ROWS(due_directives); i++)
		for (const struct due_probe *p = due_directives[i].probes; p->facts; p++) {
			check_probe(&due_directives[i], p);
			arena_reset(arena);
			probes++;
		}
	assert_int_equal(probes, 41);
}

static void every_directive_is_in_its_normal_form(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(due_directives); i++) {
		struct text out = TEXT_EMPTY;

		due_print(make_due(arena, due_directives[i].statement), &out);
		assert_string_equal(text_string(&out), due_directives[i].statement);
		text_free(&out);
	}
}

/* ---- the trade's rules ---- */

#define HUNDRED "by 100 hours total\nallow 10 hours\nthen\nevery 100 hours\nallow 10 hours"
#define FLYING "first-flight 2001-06-01; hours "

static const struct {
	const char *why, *statement;
	struct short_kit kit;
	const char *today;
	enum due_state state;
	const char *words;
} rules[] = {
        /* 14 CFR 91.409(b): not more than 10 hours en route, the excess counts in the next */
        {"100 hours, not yet",
         HUNDRED,
         {FLYING "99.9", NULL, NULL, NULL},
         "2002-01-01",
         DUE_AHEAD,
         "by 100 hours. Up to 10 hours over are allowed to reach a place where it can be done."},
        {"on the hour",
         HUNDRED,
         {FLYING "100", NULL, NULL, NULL},
         "2002-01-01",
         DUE_AHEAD,
         "by 100 hours."},
        {"en route",
         HUNDRED,
         {FLYING "100.01", NULL, NULL, NULL},
         "2002-01-01",
         DUE_NOW,
         "by 100 hours."},
        {"at the end of the ten hours",
         HUNDRED,
         {FLYING "110", NULL, NULL, NULL},
         "2002-01-01",
         DUE_NOW,
         "by 100 hours."},
        {"over the ten hours",
         HUNDRED,
         {FLYING "110.01", NULL, NULL, NULL},
         "2002-01-01",
         DUE_OVER,
         "by 100 hours."},
        {"due 100, done at 110, next due 200",
         HUNDRED,
         {FLYING "120", NULL, NULL, "SB-1 2002-02-01 110"},
         "2002-03-01",
         DUE_AHEAD,
         "by 200 hours."},
        {"done early at 90, next due 190",
         HUNDRED,
         {FLYING "120", NULL, NULL, "SB-1 2002-02-01 90"},
         "2002-03-01",
         DUE_AHEAD,
         "by 190 hours."},
        {"done at 110 and at 205, next due 300",
         HUNDRED,
         {FLYING "210", NULL, NULL, "SB-1 2002-02-01 110; SB-1 2002-06-01 205"},
         "2002-07-01",
         DUE_AHEAD,
         "by 300 hours."},
        {"entered in the other order",
         HUNDRED,
         {FLYING "210", NULL, NULL, "SB-1 2002-06-01 205; SB-1 2002-02-01 110"},
         "2002-07-01",
         DUE_AHEAD,
         "by 300 hours."},
        {"two of one day, in order of entry",
         HUNDRED,
         {FLYING "210", NULL, NULL, "SB-1 2002-06-01 110; SB-1 2002-06-01 205"},
         "2002-07-01",
         DUE_AHEAD,
         "by 300 hours."},
        {"done at 110 and early at 150, next due 250",
         HUNDRED,
         {FLYING "210", NULL, NULL, "SB-1 2002-02-01 110; SB-1 2002-06-01 150"},
         "2002-07-01",
         DUE_AHEAD,
         "by 250 hours."},
        {"without an allowance the next counts from when it was done",
         "by 100 hours total\nthen\nevery 100 hours",
         {FLYING "120", NULL, NULL, "SB-1 2002-02-01 110"},
         "2002-03-01",
         DUE_AHEAD,
         "by 210 hours."},
        /* calendar months: 14 CFR 91.409(a), FAA usage */
        {"6 June 2014 is good through 30 June 2015",
         "then\nevery 12 calendar months",
         {"", NULL, NULL, "SB-1 2014-06-06"},
         "2015-06-30",
         DUE_AHEAD,
         "by 30 June 2015."},
        {"and not a day longer",
         "then\nevery 12 calendar months",
         {"", NULL, NULL, "SB-1 2014-06-06"},
         "2015-07-01",
         DUE_OVER,
         "by 30 June 2015."},
        {"24 calendar months",
         "then\nevery 24 calendar months",
         {"", NULL, NULL, "SB-1 2014-02-01"},
         "2015-07-01",
         DUE_AHEAD,
         "by 29 February 2016."},
        /* months to the same day: java.time documentation, see tests/core/date.c */
        {"a month from 31 March",
         "within 1 month of 2007-03-31",
         {"", NULL, NULL, NULL},
         "2007-04-30",
         DUE_AHEAD,
         "by 30 April 2007."},
        {"a month from 31 January",
         "within 1 month of 2011-01-31",
         {"", NULL, NULL, NULL},
         "2011-03-01",
         DUE_OVER,
         "by 28 February 2011."},
        {"in a leap year",
         "within 1 month of 2020-01-31",
         {"", NULL, NULL, NULL},
         "2020-02-29",
         DUE_AHEAD,
         "by 29 February 2020."},
        {"four months",
         "within 4 months of 2013-10-31",
         {"", NULL, NULL, NULL},
         "2014-01-01",
         DUE_AHEAD,
         "by 28 February 2014."},
        {"a year from a leap day",
         "within 1 year of 2016-02-29",
         {"", NULL, NULL, NULL},
         "2017-01-01",
         DUE_AHEAD,
         "by 28 February 2017."},
        {"days",
         "within 90 days of 1975-01-02",
         {"", NULL, NULL, NULL},
         "1975-04-03",
         DUE_OVER,
         "by 2 April 1975."},
        /* the builder's own moments */
        {"a step not built",
         "before step W-3",
         {"steps known", NULL, NULL, NULL},
         "2024-01-01",
         DUE_AHEAD,
         "before step W-3."},
        {"a step built",
         "before step W-3",
         {"step W-3", NULL, NULL, NULL},
         "2024-01-01",
         DUE_OVER,
         "before step W-3."},
        {"a step not known",
         "before step W-3",
         {"", NULL, NULL, NULL},
         "2024-01-01",
         DUE_UNTOLD,
         "before step W-3. Cannot be told in full without: whether step W-3 is built."},
        {"not flown",
         "before first flight",
         {"first-flight never", NULL, NULL, NULL},
         "2024-01-01",
         DUE_AHEAD,
         "before the first flight."},
        {"flown",
         "before first flight",
         {"first-flight 2023", NULL, NULL, NULL},
         "2024-01-01",
         DUE_OVER,
         "before the first flight."},
        {"flown or not",
         "before first flight",
         {"", NULL, NULL, NULL},
         "2024-01-01",
         DUE_UNTOLD,
         "before the first flight. Cannot be told in full without: first flight."},
        {"before the next flight, now",
         "before next flight",
         {"", NULL, NULL, NULL},
         "2024-01-01",
         DUE_NOW,
         "before the next flight."},
        {"from the first flight, hours",
         "within 25 hours of first flight",
         {"first-flight 2023-05-01; hours 26", NULL, NULL, NULL},
         "2024-01-01",
         DUE_OVER,
         "by 25 hours."},
        {"not flown: the time does not run",
         "within 25 hours of first flight",
         {"first-flight never", NULL, NULL, NULL},
         "2024-01-01",
         DUE_AHEAD,
         "at a time not known."},
        {"first flight not known",
         "within 6 months of first flight",
         {"", NULL, NULL, NULL},
         "2024-01-01",
         DUE_UNTOLD,
         "at a time not known. Cannot be told in full without: first flight."},
        {"from purchase, known to the month: from its first day",
         "within 1 month of purchase",
         {"purchased 2016-04", NULL, NULL, NULL},
         "2016-05-01",
         DUE_AHEAD,
         "by 1 May 2016."},
        {"purchase not known",
         "within 1 month of purchase",
         {"", NULL, NULL, NULL},
         "2016-05-01",
         DUE_UNTOLD,
         "at a time not known. Cannot be told in full without: purchase date."},
        {"hours at purchase of a kit that had not flown",
         "within 10 hours of purchase",
         {"purchased 2016; first-flight 2018; hours 11", NULL, NULL, NULL},
         "2019-05-01",
         DUE_OVER,
         "by 10 hours."},
        {"total landings",
         "by 300 landings total",
         {"landings 301", NULL, NULL, NULL},
         "2016-05-01",
         DUE_OVER,
         "by 300 landings."},
        {"landings not known",
         "by 1 landing total",
         {"", NULL, NULL, NULL},
         "2016-05-01",
         DUE_UNTOLD,
         "by 1 landing. Cannot be told in full without: number of landings."},
        {"landings at a day not known",
         "within 5 landings of 2016-01-02",
         {"landings 30", NULL, NULL, NULL},
         "2016-05-01",
         DUE_UNTOLD,
         "at a time not known. Cannot be told in full without: total landings on 2 January 2016."},
        /* hours at the start: nothing is guessed */
        {"no entry of the day",
         "within 50 hours of 2016-03-04",
         {"hours 100", "2016-03-01 90; 2016-04-01 100", NULL, NULL},
         "2016-05-01",
         DUE_UNTOLD,
         "at a time not known. Cannot be told in full without: total hours on 4 March 2016."},
        {"entries around it that agree",
         "within 50 hours of 2016-03-04",
         {"hours 100", "2016-03-01 100; 2016-04-01 100", NULL, NULL},
         "2016-05-01",
         DUE_AHEAD,
         "by 150 hours."},
        {"two entries of the day: the smaller",
         "within 50 hours of 2016-03-04",
         {"hours 100", "2016-03-04 98; 2016-03-04 100", NULL, NULL},
         "2016-05-01",
         DUE_AHEAD,
         "by 148 hours."},
        {"entries without hours say nothing",
         "within 50 hours of 2016-03-04",
         {"hours 100", "2016-03-04 - annual inspection", NULL, NULL},
         "2016-05-01",
         DUE_UNTOLD,
         "at a time not known. Cannot be told in full without: total hours on 4 March 2016."},
        {"before the first flight it had none",
         "within 50 hours of 2016-03-04",
         {"first-flight 2017; hours 51", NULL, NULL, NULL},
         "2018-05-01",
         DUE_OVER,
         "by 50 hours."},
        {"the record's own hours are not known, the log's are",
         "then\nevery 50 hours",
         {"hours 100", "2016-03-04 60", NULL, "SB-1 2016-03-04 -"},
         "2016-05-01",
         DUE_AHEAD,
         "by 110 hours."},
        {"neither",
         "then\nevery 50 hours\nevery 12 months\nwhichever first",
         {"hours 100", NULL, NULL, "SB-1 2016-03-04 -"},
         "2016-05-01",
         DUE_UNTOLD,
         "by 4 March 2017. Cannot be told in full without: total hours when it was last done."},
        {"what is known can be overdue alone",
         "then\nevery 50 hours\nevery 12 months\nwhichever first",
         {"hours 100", NULL, NULL, "SB-1 2016-03-04 -"},
         "2017-03-05",
         DUE_OVER,
         "by 4 March 2017."},
        {"hours of the kit not known",
         "by 50 hours total",
         {"", NULL, NULL, NULL},
         "2016-05-01",
         DUE_UNTOLD,
         "by 50 hours. Cannot be told in full without: total time in hours."},
        /* whichever last */
        {"of two, the last not passed",
         "by 2016-01-01\nby 50 hours total\nwhichever last",
         {"hours 10", NULL, NULL, NULL},
         "2016-05-01",
         DUE_AHEAD,
         "by 1 January 2016 or 50 hours, whichever comes last."},
        {"both passed",
         "by 2016-01-01\nby 50 hours total\nwhichever last",
         {"hours 51", NULL, NULL, NULL},
         "2016-05-01",
         DUE_OVER,
         "by 1 January 2016 or 50 hours, whichever comes last."},
        {"one passed, the other not known",
         "by 2016-01-01\nby 50 hours total\nwhichever last",
         {"", NULL, NULL, NULL},
         "2016-05-01",
         DUE_UNTOLD,
         "by 1 January 2016 or 50 hours, whichever comes last."},
        {"one ahead settles it",
         "by 2017-01-01\nby 50 hours total\nwhichever last",
         {"", NULL, NULL, NULL},
         "2016-05-01",
         DUE_AHEAD,
         "by 1 January 2017 or 50 hours, whichever comes last."},
        /* events */
        {"an event passed after the issue",
         "before next annual inspection",
         {"", "2016-03-04 90 annual inspection", NULL, NULL},
         "2016-05-01",
         DUE_OVER,
         "by 4 March 2016."},
        {"an event before the issue does not count",
         "before next annual inspection",
         {"", "2014-03-04 90 annual inspection", NULL, NULL},
         "2016-05-01",
         DUE_UNTOLD,
         "before the next annual inspection. Cannot be told in full without: when the next annual "
         "inspection is."},
        {"the event at which it was done does not count",
         "then\nbefore next annual inspection",
         {"", "2016-03-04 90 annual inspection", NULL, "SB-1 2016-03-04 90"},
         "2016-05-01",
         DUE_UNTOLD,
         "before the next annual"},
        {"no such event in the log",
         "within 5 hours of last fan installation",
         {"hours 5", NULL, NULL, NULL},
         "2016-05-01",
         DUE_UNTOLD,
         "at a time not known. Cannot be told in full without: when the last fan installation "
         "was."},
        {"that notice was never done",
         "within 5 hours of notice SB-7",
         {"hours 5", NULL, NULL, NULL},
         "2016-05-01",
         DUE_UNTOLD,
         "at a time not known. Cannot be told in full without: when notice SB-7 was done."},
        {"the last time that it was done",
         "within 5 days of notice SB-7",
         {"hours 5", NULL, NULL, "SB-7 2016-02-01 3; SB-7 2015-02-01 2"},
         "2016-02-03",
         DUE_AHEAD,
         "by 6 February 2016."},
        /* cases */
        {"the case that is true",
         "if option tailwheel\nby 2016-01-01\notherwise\nby 2017-01-01",
         {"option tailwheel = yes", NULL, NULL, NULL},
         "2016-05-01",
         DUE_OVER,
         "by 1 January 2016."},
        {"the other",
         "if option tailwheel\nby 2016-01-01\notherwise\nby 2017-01-01",
         {"option tailwheel = no", NULL, NULL, NULL},
         "2016-05-01",
         DUE_AHEAD,
         "by 1 January 2017."},
        {"not known which",
         "if option tailwheel\nby 2016-01-01\notherwise\nby 2017-01-01",
         {"", NULL, NULL, NULL},
         "2016-05-01",
         DUE_UNTOLD,
         "at a time not known. Cannot be told in full without: whether it has option tailwheel."},
        {"none of them",
         "if model Whimbrel\nby 2016-01-01",
         {"model Curlew", NULL, NULL, NULL},
         "2016-05-01",
         DUE_NONE,
         NULL},
        {"the second of three cases",
         "if option a\nby 2016-01-01\nif option b\nby 2016-06-01\notherwise\nby 2017-01-01",
         {"option a = no; option b = yes", NULL, NULL, NULL},
         "2016-05-01",
         DUE_AHEAD,
         "by 1 June 2016."},
        {"an event planned by day alone puts nothing off",
         "by 100 hours total\nallow 10 hours to next wash",
         {"hours 90", NULL, "wash = 2016-06-01", NULL},
         "2016-05-01",
         DUE_AHEAD,
         "by 100 hours."},
        {"an event planned before the limit puts nothing off",
         "by 100 hours total\nallow 10 hours to next wash",
         {"hours 90", NULL, "wash = 95", NULL},
         "2016-05-01",
         DUE_AHEAD,
         "by 100 hours."},
        {"another event puts nothing off",
         "by 100 hours total\nallow 10 hours to next wash",
         {"hours 90", NULL, "weighing = 105", NULL},
         "2016-05-01",
         DUE_AHEAD,
         "by 100 hours."},
        {"an allowance does not help what is counted in landings",
         "by 100 hours total\nby 5 landings total\nwhichever first\nallow 10 hours",
         {"hours 90; landings 6", NULL, NULL, NULL},
         "2016-05-01",
         DUE_OVER,
         "by 100 hours or 5 landings, whichever comes first. Up to 10 hours over"},
        {"done over the allowance without hours",
         HUNDRED,
         {FLYING "120", NULL, NULL, "SB-1 2002-02-01 -"},
         "2002-03-01",
         DUE_UNTOLD,
         "at a time not known. Cannot be told in full without: total hours when"},
        {"a first time by date has no hours to take off",
         "by 2002-01-01\nthen\nevery 100 hours\nallow 10 hours",
         {FLYING "120", NULL, NULL, "SB-1 2002-02-01 110"},
         "2002-03-01",
         DUE_AHEAD,
         "by 210 hours."},
        {"a planned event by day and hours, whichever is first",
         "before next wash",
         {"hours 9", NULL, "wash = 10", NULL},
         "2016-05-01",
         DUE_AHEAD,
         "by 10 hours."},
        {"no limits at all", "", {"", NULL, NULL, NULL}, "2016-05-01", DUE_NONE, NULL},
        {"repeats only: nothing runs before the first time",
         "then\nevery 5 days",
         {"", NULL, NULL, NULL},
         "2016-05-01",
         DUE_NONE,
         NULL},
};

/* The reason names when it is due. */
static void the_reason_says_when(void **state)
{
	static const struct {
		const char *statement;
		struct short_kit kit;
		const char *words; /* part of it */
	} rows[] = {
	        {"by 2016-06-01", {""}, "1 of 1 line left. Due by 1 June 2016."},
	        {"by 2016-04-01", {""}, "left. Overdue, it was due by 1 April 2016."},
	        {"", {""}, "1 of 1 line left."},
	        {"then\nevery 12 months",
	         {"", NULL, NULL, "SB-1 2016-01-01"},
	         "Last done on 1 January 2016; due again by 1 January 2017."},
	        {"then\nevery 3 months",
	         {"", NULL, NULL, "SB-1 2016-01-01"},
	         "overdue, it was due by 1 April 2016."},
	        {"then\nbefore next flight",
	         {"", NULL, NULL, "SB-1 2016-01-01"},
	         "; due now, before the next flight."},
	        {"then\nwithin 5 hours of last wash",
	         {"", NULL, NULL, "SB-1 2016-01-01"},
	         "Every affected line is closed by a record"},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		const struct catalogue *catalogue =
		        read_catalogue("SB-1", "2015-01-01", rows[i].statement, NULL);
		const struct catalogue_entry *entry =
		        catalogue_find_id(catalogue, (struct notice_id){1});
		struct kit_state kit = {.facts = make_facts(arena, rows[i].kit.facts)};
		struct standing standing = stand(catalogue, &rows[i].kit, "2016-05-01");
		struct text words = TEXT_EMPTY;

		standing_reason(entry, &standing, &kit, &words);
		if (!strstr(text_string(&words), rows[i].words))
			fail_msg("\"%s\" lacks \"%s\"", text_string(&words), rows[i].words);
		text_free(&words);
		arena_reset(arena);
	}
}

static void every_rule_holds(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(rules); i++) {
		const struct catalogue *catalogue =
		        read_catalogue("SB-1", "2015-01-01", rules[i].statement, NULL);
		struct standing s = stand(catalogue, &rules[i].kit, rules[i].today);
		struct text words = TEXT_EMPTY;

		if (s.due.state != DUE_NONE)
			due_words(&s.due, &words);
		if (s.due.state != rules[i].state || s.overdue != (s.due.state == DUE_OVER) ||
		    (rules[i].words &&
		     strncmp(text_string(&words), rules[i].words, strlen(rules[i].words)) != 0))
			fail_msg("%s: state %d, \"%s\"", rules[i].why, s.due.state,
			         text_string(&words));
		text_free(&words);
		arena_reset(arena);
	}
}

/* ---- the language ---- */

static void faults_are_told_by_place(void **state)
{
	static const struct {
		const char *text;
		unsigned line, column;
		const char *expected; /* part of it */
	} faults[] = {
	        {"whenever", 1, 1, "within, before, by"},
	        {"\n  soon", 2, 3, "within, before, by"},
	        {"within", 1, 7, "hours, landings"},
	        {"within 10", 1, 10, "hours, landings"},
	        {"within ten hours of issue", 1, 8, "hours from 0.01 to 99999"},
	        {"within 0 hours of issue", 1, 8, "hours from 0.01"},
	        {"within 1.234 hours of issue", 1, 8, "hours from 0.01"},
	        {"within 100000 hours of issue", 1, 8, "hours from 0.01"},
	        {"within 1.5 landings of issue", 1, 8, "a whole number from 1"},
	        {"within -1 days of issue", 1, 8, "a whole number from 1 to 36500"},
	        {"within 36501 days of issue", 1, 8, "36500"},
	        {"within 1201 months of issue", 1, 8, "1200"},
	        {"within 101 years of issue", 1, 8, "100"},
	        {"within 10 weeks of issue", 1, 11, "hours, landings"},
	        {"within 10 calendar days of issue", 1, 11, "calendar months"},
	        {"within 10 calendar", 1, 11, "calendar months"},
	        {"within 10 hours", 1, 16, "\"of\""},
	        {"within 10 hours from issue", 1, 17, "\"of\""},
	        {"within 10 hours of", 1, 19, "issue, a date"},
	        {"within 10 hours of yore", 1, 20, "issue, a date"},
	        {"within 10 hours of 2016-04", 1, 20, "issue, a date"},
	        {"within 10 hours of 2016-02-30", 1, 20, "issue, a date"},
	        {"within 10 hours of issue B", 1, 26, "the end of the line"},
	        {"within 10 hours of first", 1, 25, "\"flight\""},
	        {"within 10 hours of first flight 3", 1, 33, "the end"},
	        {"within 10 hours of notice", 1, 26, "the number of a notice"},
	        {"within 10 hours of last", 1, 24, "an event"},
	        {"within 10 hours of last "
	         "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx"
	         "xxxxxxxxxxxxx",
	         1, 25, "at most 80"},
	        {"before", 1, 7, "step, first flight"},
	        {"before noon", 1, 8, "step, first flight"},
	        {"before step", 1, 12, "a step code"},
	        {"before first", 1, 13, "\"flight\""},
	        {"before first light", 1, 14, "\"flight\""},
	        {"before first flight of all", 1, 21, "the end"},
	        {"before next", 1, 12, "flight, or an event"},
	        {"by", 1, 3, "hours, landings"},
	        {"by Easter", 1, 10, "hours, landings"},
	        {"by 2016-13-01", 1, 4, "or a date such as"},
	        {"by 2016-12", 1, 4, "or a date such as"},
	        {"by 2016-12-01 at noon", 1, 15, "the end"},
	        {"by 10 days total", 1, 4, "hours or landings in total"},
	        {"by 10 hours", 1, 12, "\"total\""},
	        {"by 10 hours total time", 1, 19, "the end"},
	        {"every 10 hours", 1, 1, "\"then\" above"},
	        {"then", 1, 5, "every, \"before next\""},
	        {"then now", 1, 6, "the end"},
	        {"then\nthen", 2, 1, "one line"},
	        {"then\nevery", 2, 6, "hours, landings"},
	        {"then\nevery 10 hours of issue", 2, 16, "the end"},
	        {"then\nwithin 10 hours of issue", 2, 1, "below \"then\""},
	        {"then\nby 2016-01-01", 2, 1, "below \"then\""},
	        {"then\nbefore first flight", 2, 8, "\"next\""},
	        {"then\nbefore step W-3", 2, 8, "\"next\""},
	        {"then\nonce", 2, 1, "every, \"before next\""},
	        {"by 2016-01-01\nbefore next flight", 2, 19, "whichever first"},
	        {"by 2016-01-01\nbefore next flight\nthen\nevery 1 day", 3, 1, "whichever first"},
	        {"whichever first", 1, 1, "two limits"},
	        {"by 2016-01-01\nwhichever first", 2, 1, "two limits"},
	        {"by 2016-01-01\nbefore next flight\nwhichever", 3, 10, "first or last"},
	        {"by 2016-01-01\nbefore next flight\nwhichever suits", 3, 11, "first or last"},
	        {"by 2016-01-01\nbefore next flight\nwhichever first of all", 3, 17, "the end"},
	        {"by 2016-01-01\nbefore next flight\nwhichever first\nwhichever last", 4, 1,
	         "two limits"},
	        {"by 2016-01-01\nbefore next flight\nwhichever first\nby 2017-01-01", 4, 1,
	         "above"},
	        {"allow 10 hours", 1, 1, "a limit in hours"},
	        {"by 2016-01-01\nallow 10 hours", 2, 1, "a limit in hours"},
	        {"by 10 hours total\nallow 10 days", 2, 7, "an allowance in hours"},
	        {"by 10 hours total\nallow", 2, 6, "hours, landings"},
	        {"by 10 hours total\nallow 1 hour for lunch", 2, 14, "\"to\""},
	        {"by 10 hours total\nallow 1 hour to my taste", 2, 17, "\"next\""},
	        {"by 10 hours total\nallow 1 hour to next", 2, 21, "an event"},
	        {"by 10 hours total\nallow 1 hour\nallow 2 hours", 3, 1, "one allowance only"},
	        {"if", 1, 3, "model"},
	        {"if  colour red", 1, 5, "model"},
	        {"if model", 1, 9, "a model name"},
	        {"if model A", 1, 11, "within, before"},
	        {"if model A\nif model B\nby 2016-01-01", 2, 1, "within, before"},
	        {"by 2016-01-01\nif model A", 2, 1, "\"if\" above"},
	        {"otherwise", 1, 1, "first a line \"if\""},
	        {"if model A\nby 2016-01-01\notherwise\nby 2017-01-01\notherwise", 5, 1,
	         "first a line"},
	        {"if model A\nby 2016-01-01\notherwise now", 3, 11, "the end"},
	        {"if model A\nby 2016-01-01\notherwise", 3, 10, "within, before"},
	        {"by 2016-01-01\n\x01", 2, 1, "plain text"},
	        {"b\xC3y", 1, 2, "plain text"},
	        {"avant \xC3\xA9t\xC3\xA9", 1, 1, "within, before"},
	        {"before \xC3\xA9t\xC3\xA9", 1, 8, "step, first"},
	        {"before next \xC3\xA9t\xC3\xA9\nby \xC3\xA9t\xC3\xA9 hours", 2, 4, "hours from"},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(faults); i++) {
		const struct due_statement *due = NULL;
		struct statement_fault fault;

		if (due_parse(arena, faults[i].text, strlen(faults[i].text), &due, &fault) !=
		            ST_INVALID ||
		    due || fault.line != faults[i].line || fault.column != faults[i].column ||
		    !strstr(fault.expected, faults[i].expected))
			fail_msg("%s\nline %u, column %u: expected %s", faults[i].text, fault.line,
			         fault.column, fault.expected);
	}
}

static void a_text_too_long_is_refused(void **state)
{
	char text[DUE_LONGEST + 2];
	const struct due_statement *due = NULL;
	struct statement_fault fault;

	(void)state;
	memset(text, '\n', sizeof text);
	assert_int_equal(due_parse(arena, text, DUE_LONGEST + 1, &due, &fault), ST_INVALID);
	assert_string_equal(fault.expected, "at most 4000 bytes");
	assert_int_equal(due_parse(arena, text, DUE_LONGEST, &due, &fault), ST_OK);
	assert_int_equal(due->count, 0);
}

static void statements_print_back_and_in_words(void **state)
{
	static const struct {
		const char *typed, *normal, *sentence;
	} rows[] = {
	        {" \n\t\n", "", ""},
	        {"WITHIN  50 Hours OF Issue\r\n", "within 50 hours of issue\n",
	         "Due within 50 hours of issue."},
	        {"within 1 hour of purchase", "within 1 hour of purchase\n",
	         "Due within 1 hour of purchase."},
	        {"within 1 hours of 2016-04-17", "within 1 hour of 2016-04-17\n",
	         "Due within 1 hour of 17 April 2016."},
	        {"before step W-3\nbefore first flight\nbefore next flight\nwhichever first",
	         "before step W-3\nbefore first flight\nbefore next flight\nwhichever first\n",
	         "Due before step W-3, before first flight or before next flight, whichever comes "
	         "first."},
	        {"by 0.5 hours total\nby 1 landing total\nby 2016-01-02\nwhichever last",
	         "by 0.5 hours total\nby 1 landing total\nby 2016-01-02\nwhichever last\n",
	         "Due by 0.5 hours total, by 1 landing total or by 2 January 2016, whichever comes "
	         "last."},
	        {"then\nevery 2 years\nevery 1 calendar month\nwhichever last",
	         "then\nevery 2 years\nevery 1 calendar month\nwhichever last\n",
	         "Due again every 2 years or every 1 calendar month, whichever comes last."},
	        {"within 3 months of first flight\nthen\nwithin 5 days of last heavy landing",
	         "within 3 months of first flight\nthen\nwithin 5 days of last heavy landing\n",
	         "Due within 3 months of first flight. Then again within 5 days of last heavy "
	         "landing."},
	        {"if not option tailwheel\nbefore next flight\notherwise\nwithin 2 days of notice "
	         "SB-2",
	         "if not option tailwheel\nbefore next flight\notherwise\nwithin 2 days of notice "
	         "SB-2\n",
	         "If not option tailwheel: due before next flight. Otherwise due within 2 days of "
	         "notice SB-2."},
	        {"by 100 hours total\nallow 10 hours", "by 100 hours total\nallow 10 hours\n",
	         "Due by 100 hours total. The hours may be exceeded by up to 10 hours to reach a "
	         "place where it can be done; what is flown over is taken off the next interval."},
	        {"by 100 hours total\nallow 1 hours to next  annual inspection",
	         "by 100 hours total\nallow 1 hour to next annual inspection\n",
	         "Due by 100 hours total. The hours may be exceeded by up to 1 hour where it then "
	         "falls together with the next annual inspection."},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		const struct due_statement *due = make_due(arena, rows[i].typed);
		struct text normal = TEXT_EMPTY, again = TEXT_EMPTY, sentence = TEXT_EMPTY;

		due_print(due, &normal);
		assert_string_equal(text_string(&normal), rows[i].normal);
		due_print(make_due(arena, text_string(&normal)), &again);
		assert_string_equal(text_string(&again), rows[i].normal);
		due_sentence(due, &sentence);
		assert_string_equal(text_string(&sentence), rows[i].sentence);
		text_free(&normal);
		text_free(&again);
		text_free(&sentence);
	}
}

static void note_event(void *context, const struct name *event)
{
	text_printf(context, "%s;", event->text);
}

static void it_names_the_events_that_it_waits_for(void **state)
{
	struct text out = TEXT_EMPTY;
	const struct due_statement *due =
	        make_due(arena, "by 10 hours total\nbefore next oil change\nwhichever first\n"
	                        "allow 1 hour to next weighing\nthen\nbefore next wash");

	(void)state;
	due_events(due, note_event, &out);
	assert_string_equal(text_string(&out), "oil change;weighing;wash;");
	text_free(&out);
	assert_true(due_repeats(due));
	assert_false(due_repeats(NULL));
	assert_false(due_counts(due, USE_HOURS));
	assert_true(due_counts(make_due(arena, "then\nevery 3 landings"), USE_LANDINGS));
	assert_false(due_counts(make_due(arena, "then\nevery 3 landings"), USE_HOURS));
	assert_false(due_counts(NULL, USE_HOURS));
}

/* ---- dates against SQLite's ---- */

static day_number sqlite_day(sqlite3_stmt *stmt, const char *from, const char *shift)
{
	sqlite3_bind_text(stmt, 1, from, -1, SQLITE_STATIC);
	sqlite3_bind_text(stmt, 2, shift, -1, SQLITE_STATIC);
	assert_int_equal(sqlite3_step(stmt), SQLITE_ROW);
	day_number day = sqlite3_column_int(stmt, 0);

	sqlite3_reset(stmt);
	return day;
}

static day_number computed_day(const char *from, int amount, const char *unit)
{
	char text[80];
	struct kit_use use = {.n_log = 0};
	struct facts facts = {.has_hours = false};
	struct due_kit kit = {.facts = &facts, .use = &use, .issued = make_date(from)};
	struct due_time due;

	snprintf(text, sizeof text, "within %d %s of issue", amount, unit);
	due = due_first(make_due(arena, text), &kit);
	assert_true(due.has_day);
	return due.day;
}

/* Days, months and calendar months from every day of four years around a leap
 * day; SQLite's "+N months" overflows into the next month where Fairlead stays at the end, so
 * months are compared for days up to the 28th, and the ends through "start of month". */
static void dates_agree_with_sqlite(void **state)
{
	sqlite3 *db;
	sqlite3_stmt *stmt, *end;

	(void)state;
	assert_int_equal(sqlite3_open(":memory:", &db), SQLITE_OK);
	assert_int_equal(
	        sqlite3_prepare_v2(db, "SELECT julianday(?1, ?2) - 2440587.5", -1, &stmt, NULL),
	        SQLITE_OK);
	assert_int_equal(sqlite3_prepare_v2(
	                         db,
	                         "SELECT julianday(?1, 'start of month', ?2, '-1 day') - 2440587.5",
	                         -1, &end, NULL),
	                 SQLITE_OK);
	for (day_number day = day_from_civil(2022, 1, 1); day <= day_from_civil(2025, 12, 31);
	     day++) {
		static const int amounts[] = {1, 2, 6, 11, 12, 13, 24, 37};
		char from[DATE_TEXT_SIZE], shift[40];

		date_print(date_of_day(day), from);
		for (size_t i = 0; i < ROWS(amounts); i++) {
			day_number last;

			snprintf(shift, sizeof shift, "+%d days", amounts[i]);
			assert_int_equal(computed_day(from, amounts[i], "days"),
			                 sqlite_day(stmt, from, shift));
			snprintf(shift, sizeof shift, "+%d months", amounts[i] + 1);
			last = sqlite_day(end, from, shift);
			assert_int_equal(computed_day(from, amounts[i], "calendar months"), last);
			snprintf(shift, sizeof shift, "+%d months", amounts[i]);
			if (strcmp(from + 8, "28") <= 0)
				assert_int_equal(computed_day(from, amounts[i], "months"),
				                 sqlite_day(stmt, from, shift));
			else
				assert_true(computed_day(from, amounts[i], "months") <= last);
		}
		arena_reset(arena);
	}
	sqlite3_finalize(stmt);
	sqlite3_finalize(end);
	sqlite3_close(db);
}

/* ---- laws ---- */

/* "Whichever first" is never later than either limit alone, "last" never earlier. */
static void whichever_keeps_its_order(void **state)
{
	static const char *const lines[] = {"by 2016-06-01",
	                                    "by 100 hours total",
	                                    "by 30 landings total",
	                                    "within 50 hours of 2016-01-01",
	                                    "before next flight",
	                                    "before first flight",
	                                    "before step W-3",
	                                    "before next wash",
	                                    "within 3 months of purchase"};
	static const char *const kits[] = {
	        "", "hours 99; landings 31; purchased 2016-03; step W-3; first-flight never",
	        "hours 200; first-flight 2015-05; landings 2; steps known"};
	static const char *const days[] = {"2016-05-31", "2016-06-30"};

	(void)state;
	for (size_t n = 0; n < ROWS(lines) * ROWS(lines) * ROWS(kits) * ROWS(days); n++) {
		const char *a = lines[n % ROWS(lines)], *b = lines[n / ROWS(lines) % ROWS(lines)];
		const char *facts = kits[n / (ROWS(lines) * ROWS(lines)) % ROWS(kits)];
		struct kit_use use = {.n_log = 0};
		struct due_kit kit = {
		        .facts = make_facts(arena, facts),
		        .use = &use,
		        .issued = make_date("2016-01-01"),
		        .today = make_day(days[n / (ROWS(lines) * ROWS(lines) * ROWS(kits))])};
		struct due_time one = due_first(make_due(arena, a), &kit);
		struct due_time two = due_first(make_due(arena, b), &kit);
		struct due_time first = due_first(
		        make_due(arena, arena_printf(arena, "%s\n%s\nwhichever first", a, b)),
		        &kit);
		struct due_time last = due_first(
		        make_due(arena, arena_printf(arena, "%s\n%s\nwhichever last", a, b)), &kit);

		assert_int_equal(first.state, one.state > two.state ? one.state : two.state);
		assert_int_equal(last.state, one.state < two.state ? one.state : two.state);
		if (one.has_day && two.has_day) {
			assert_int_equal(first.day, one.day < two.day ? one.day : two.day);
			assert_int_equal(last.day, one.day > two.day ? one.day : two.day);
		}
		arena_reset(arena);
	}
}

static void lacks_are_named_once_and_some_only(void **state)
{
	struct kit_use use = {.n_log = 0};
	struct facts facts = {.has_hours = false};
	struct due_kit kit = {.facts = &facts, .use = &use, .issued = make_date("2016-01-01")};
	struct due_time due = due_first(
	        make_due(arena,
	                 "by 10 hours total\nby 20 hours total\nby 3 landings total\nbefore next "
	                 "a\nbefore next b\nbefore next c\nwhichever first"),
	        &kit);

	(void)state;
	assert_int_equal(due.n_lacks, DUE_LACKS_MOST);
	assert_int_equal(due.lacks[1].fact.kind, FACT_LANDINGS);
	assert_string_equal(due.lacks[3].about.text, "b");
	assert_string_equal(due.event->text, "a");
}

/* ---- the log ---- */

static void totals_that_go_back_are_told(void **state)
{
	static const struct {
		const char *day;
		int64_t total;
		bool back;
		int64_t least, most;
	} rows[] = {
	        {"2016-01-01", 0, false, 0, 1000},
	        {"2016-01-01", 1001, true, 0, 1000},
	        {"2016-02-01", 999, true, 1000, 2000},
	        {"2016-02-01", 1000, false, 1000, 2000},
	        {"2016-02-15", 2000, false, 1000, 2000},
	        {"2016-02-15", 2001, true, 1000, 2000},
	        {"2016-03-01", 1999, true, 2000, INT64_MAX},
	        {"2017-03-01", 9999, false, 2000, INT64_MAX},
	};
	struct kit_use use = read_use("2016-02-01 10; 2016-02-10 - wash; 2016-03-01 20", NULL);

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		int64_t least, most;

		assert_int_equal(use_goes_back(&use, USE_HOURS, make_day(rows[i].day),
		                               rows[i].total, &least, &most),
		                 rows[i].back);
		assert_int_equal(least, rows[i].least);
		assert_int_equal(most, rows[i].most);
	}
}

/* ---- memory ---- */

#define LONG                                                                                       \
	"if model Whimbrel\nbefore step W-3\nbefore next wash\nwhichever last\nthen\nwithin 5 "    \
	"hours "                                                                                   \
	"of last swim\nevery 3 months\nwhichever first\nallow 1 hour to next "                     \
	"sail\notherwise\nwithin "                                                                 \
	"3 hours of notice SB-2"

static bool try_parse(struct arena *room)
{
	const struct due_statement *due = NULL;
	struct statement_fault fault;

	return due_parse(room, LONG, strlen(LONG), &due, &fault) == ST_OK;
}

static bool try_words(void *context)
{
	struct due_time due = {.state = DUE_UNTOLD,
	                       .has_day = true,
	                       .n_lacks = 1,
	                       .lacks = {{.kind = DUE_LACK_TOTAL_THEN}}};
	struct text out = TEXT_EMPTY;
	bool fine;

	due_print(context, &out);
	due_sentence(context, &out);
	due_words(&due, &out);
	fine = !text_failed(&out);
	text_free(&out);
	return fine;
}

static void every_allocation_may_fail(void **state)
{
	const struct due_statement *due = make_due(arena, LONG);

	(void)state;
	try_each_place(try_parse);
	try_each_allocation(try_words, (void *)(uintptr_t)due, false);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(every_directive_gives_its_time),
	        cmocka_unit_test(every_directive_is_in_its_normal_form),
	        cmocka_unit_test(the_reason_says_when),
	        cmocka_unit_test(every_rule_holds),
	        cmocka_unit_test(faults_are_told_by_place),
	        cmocka_unit_test(a_text_too_long_is_refused),
	        cmocka_unit_test(statements_print_back_and_in_words),
	        cmocka_unit_test(it_names_the_events_that_it_waits_for),
	        cmocka_unit_test(dates_agree_with_sqlite),
	        cmocka_unit_test(whichever_keeps_its_order),
	        cmocka_unit_test(lacks_are_named_once_and_some_only),
	        cmocka_unit_test(totals_that_go_back_are_told),
	        cmocka_unit_test(every_allocation_may_fail),
	};
	return cmocka_run_group_tests(tests, set_up, tear_down);
}
