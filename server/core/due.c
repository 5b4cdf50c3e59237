/* When work is due: each limit gives a time of its own, then a part adds them
 * up by its rule. A time has a state and, as far as they are known, the last
 * day and the last totals that are in time.
 */
#include "core/due.h"

bool due_repeats(const struct due_statement *statement)
{
	for (size_t i = 0; statement && i < statement->count; i++)
		if (statement->cases[i].again.count)
			return true;
	return false;
}

bool due_counts(const struct due_statement *statement, enum use_counter counter)
{
	uint8_t unit = counter == USE_HOURS ? UNIT_HOURS : UNIT_LANDINGS;

	for (size_t i = 0; statement && i < statement->count; i++) {
		const struct due_part *again = &statement->cases[i].again;

		for (size_t k = 0; k < again->count; k++)
			if (again->limits[k].kind == DUE_LIMIT_SPAN &&
			    again->limits[k].unit == unit)
				return true;
	}
	return false;
}

static void part_events(const struct due_part *part, due_event_fn *visit, void *context)
{
	for (size_t i = 0; i < part->count; i++)
		if (part->limits[i].kind == DUE_LIMIT_EVENT)
			visit(context, &part->limits[i].about);
	if (part->meet.len)
		visit(context, &part->meet);
}

void due_events(const struct due_statement *statement, due_event_fn *visit, void *context)
{
	for (size_t i = 0; i < statement->count; i++) {
		part_events(&statement->cases[i].first, visit, context);
		part_events(&statement->cases[i].again, visit, context);
	}
}

/* ---- what is lacking ---- */

static bool same_lack(const struct due_lack *a, const struct due_lack *b)
{
	if (a->kind != b->kind || a->counter != b->counter || a->day != b->day)
		return false;
	return a->kind == DUE_LACK_FACT ? fact_equal(&a->fact, &b->fact)
	                                : name_same(&a->about, &b->about);
}

static void add_lack(struct due_time *due, const struct due_lack *lack)
{
	for (unsigned i = 0; i < due->n_lacks; i++)
		if (same_lack(&due->lacks[i], lack))
			return;
	if (due->n_lacks < DUE_LACKS_MOST)
		due->lacks[due->n_lacks++] = *lack;
}

static struct due_time untold(const struct due_lack *lack)
{
	struct due_time due = {.state = DUE_UNTOLD};

	add_lack(&due, lack);
	return due;
}

static struct due_time untold_fact(enum fact_kind kind)
{
	return untold(&(struct due_lack){.kind = DUE_LACK_FACT, .fact = {.kind = kind}});
}

/* ---- adding up ---- */

/* Of two states when the earlier or the later limit counts; DUE_NONE does not count. */
static enum due_state join_states(enum due_state a, enum due_state b, bool last)
{
	if (a == DUE_NONE || b == DUE_NONE)
		return a == DUE_NONE ? b : a;
	return (a < b) == last ? a : b;
}

static void join_number(bool *has, int64_t *number, bool other_has, int64_t other, bool last)
{
	if (!other_has || (*has && (*number > other) == last))
		return;
	*has = true;
	*number = other;
}

static void join(struct due_time *into, const struct due_time *other, bool last)
{
	int64_t day = into->day;

	into->state = join_states(into->state, other->state, last);
	join_number(&into->has_day, &day, other->has_day, other->day, last);
	into->day = (day_number)day;
	for (unsigned i = 0; i < USE_COUNTERS; i++)
		join_number(&into->has[i], &into->total[i], other->has[i], other->total[i], last);
	into->next_flight |= other->next_flight;
	into->first_flight |= other->first_flight;
	into->step = into->step ? into->step : other->step;
	into->event = into->event ? into->event : other->event;
	into->allowed = into->allowed ? into->allowed : other->allowed;
	for (unsigned i = 0; i < other->n_lacks; i++)
		add_lack(into, &other->lacks[i]);
}

void due_merge(struct due_time *into, const struct due_time *other)
{
	into->last |= other->last;
	join(into, other, false);
}

/* ---- one limit ---- */

/* What all limits of a part are computed from. */
struct terms {
	const struct due_kit *kit;
	const struct due_part *part;
	const struct use_moment *done; /* NULL: never */
	const struct due_time *before; /* NULL: not known */
};

static struct due_time due_on(const struct terms *t, day_number day)
{
	return (struct due_time){
	        .state = t->kit->today > day ? DUE_OVER : DUE_AHEAD, .has_day = true, .day = day};
}

/* The total may be put off to an event that is planned within the allowance. */
static int64_t put_off(const struct terms *t, int64_t total)
{
	const struct planned_event *event = use_planned(t->kit->use, &t->part->meet);

	if (event && event->has_hours && event->hours > total &&
	    event->hours <= total + t->part->allowed)
		return event->hours;
	return total;
}

static struct due_time due_at(const struct terms *t, enum use_counter counter, int64_t total)
{
	struct due_time due = {.state = DUE_AHEAD};
	bool to_a_place = counter == USE_HOURS && !t->part->meet.len;
	int64_t now;
	bool known = counter == USE_HOURS ? facts_hours(t->kit->facts, &now)
	                                  : facts_landings(t->kit->facts, &now);

	if (!known)
		due = untold_fact(counter == USE_HOURS ? FACT_HOURS : FACT_LANDINGS);
	if (counter == USE_HOURS && t->part->allowed && t->part->meet.len)
		total = put_off(t, total);
	due.allowed = to_a_place ? t->part->allowed : 0;
	due.has[counter] = true;
	due.total[counter] = total;
	if (known && now > total)
		due.state = now > total + due.allowed ? DUE_OVER : DUE_NOW;
	return due;
}

static enum use_counter counter_of(const struct due_limit *limit)
{
	return limit->unit == UNIT_LANDINGS ? USE_LANDINGS : USE_HOURS;
}

/* Fills what the log knows of the day. */
static void look_up(const struct due_kit *kit, struct use_moment *m)
{
	for (unsigned i = 0; i < USE_COUNTERS; i++)
		if (!m->has[i])
			m->has[i] = use_on(kit->use, kit->facts, i, m->day, &m->total[i]);
}

static struct use_moment moment_of_day(const struct due_kit *kit, day_number day)
{
	struct use_moment m = {.has_day = true, .day = day};

	look_up(kit, &m);
	return m;
}

struct use_moment due_moment(const struct due_kit *kit, const struct record *record)
{
	struct use_moment m = {.has_day = true,
	                       .day = record->done.first,
	                       .has = {record->has_hours, record->has_landings},
	                       .total = {record->hours, record->landings}};

	if (record->done.precision == DATE_DAY)
		look_up(kit, &m);
	return m;
}

static const struct record *last_record(const struct due_kit *kit, const struct name *notice)
{
	const struct record *found = NULL;

	for (size_t i = 0; i < kit->n_records; i++)
		if (name_equal(&kit->records[i]->notice, notice) &&
		    (!found || kit->records[i]->done.last >= found->done.last))
			found = kit->records[i];
	return found;
}

/* Where a span starts. False: *why is the time as it then stands. */
static bool start_of_fact(const struct terms *t, const struct date_fact *fact, enum fact_kind kind,
                          struct use_moment *out, struct due_time *why)
{
	if (fact->state == DATE_KNOWN) {
		*out = moment_of_day(t->kit, fact->date.first);
		return true;
	}
	*why = fact->state == DATE_NEVER ? (struct due_time){.state = DUE_AHEAD}
	                                 : untold_fact(kind);
	return false;
}

static bool start_of_flight(const struct terms *t, struct use_moment *out, struct due_time *why)
{
	const struct facts *facts = t->kit->facts;

	if (!start_of_fact(t, &facts->first_flight, FACT_FIRST_FLIGHT, out, why))
		return false;
	for (unsigned i = 0; i < USE_COUNTERS; i++) {
		out->has[i] = true;
		out->total[i] = 0;
	}
	return true;
}

static bool start_of_notice(const struct terms *t, const struct due_limit *limit,
                            struct use_moment *out, struct due_time *why)
{
	const struct record *record = last_record(t->kit, &limit->about);

	if (record)
		*out = due_moment(t->kit, record);
	else
		*why = untold(&(struct due_lack){.kind = DUE_LACK_NOTICE, .about = limit->about});
	return record != NULL;
}

/* Below "then" only an event after the work counts. */
static bool start_of_event(const struct terms *t, const struct due_limit *limit,
                           struct use_moment *out, struct due_time *why)
{
	const struct use_entry *entry = use_last_event(t->kit->use, &limit->about);

	if (entry && t->done && entry->day <= t->done->day)
		entry = NULL;
	if (entry) {
		*out = (struct use_moment){true,
		                           entry->day,
		                           {entry->has[USE_HOURS], entry->has[USE_LANDINGS]},
		                           {entry->total[USE_HOURS], entry->total[USE_LANDINGS]}};
		look_up(t->kit, out);
		return true;
	}
	*why = t->done ? (struct due_time){.state = DUE_NONE}
	               : untold(&(struct due_lack){.kind = DUE_LACK_LAST_EVENT,
	                                           .about = limit->about});
	return false;
}

/* Done over a time with an allowance: the excess is taken off. */
static struct use_moment start_of_work(const struct terms *t)
{
	struct use_moment m = *t->done;
	const struct due_time *before = t->before;

	if (before && before->allowed && before->has[USE_HOURS] && m.has[USE_HOURS] &&
	    m.total[USE_HOURS] > before->total[USE_HOURS])
		m.total[USE_HOURS] = before->total[USE_HOURS];
	return m;
}

static bool find_start(const struct terms *t, const struct due_limit *limit, struct use_moment *out,
                       struct due_time *why)
{
	switch ((enum due_start)limit->start) {
	case START_DONE:
		*out = start_of_work(t);
		return true;
	case START_ISSUE:
		*out = moment_of_day(t->kit, t->kit->issued.first);
		return true;
	case START_DAY:
		*out = moment_of_day(t->kit, limit->day);
		return true;
	case START_PURCHASE:
		return start_of_fact(t, &t->kit->facts->purchased, FACT_PURCHASED, out, why);
	case START_FIRST_FLIGHT:
		return start_of_flight(t, out, why);
	case START_NOTICE:
		return start_of_notice(t, limit, out, why);
	case START_EVENT:
		break;
	}
	return start_of_event(t, limit, out, why);
}

static struct due_time span_by_counter(const struct terms *t, const struct due_limit *limit,
                                       const struct use_moment *start)
{
	enum use_counter counter = counter_of(limit);

	if (start->has[counter])
		return due_at(t, counter, start->total[counter] + limit->amount);
	if (limit->start == START_DONE)
		return untold(&(struct due_lack){.kind = DUE_LACK_TOTAL_THEN, .counter = counter});
	return untold(&(struct due_lack){
	        .kind = DUE_LACK_TOTAL_ON, .counter = counter, .day = start->day});
}

static day_number end_of_span(const struct due_limit *limit, day_number start)
{
	int amount = (int)limit->amount;

	switch ((enum due_unit)limit->unit) {
	case UNIT_MONTHS:
		return day_add_months(start, amount);
	case UNIT_CALENDAR_MONTHS:
		return day_end_of_month_after(start, amount);
	case UNIT_YEARS:
		return day_add_months(start, 12 * amount);
	case UNIT_DAYS:
	case UNIT_HOURS: /* these two end by a counter, see span_by_counter */
	case UNIT_LANDINGS:
		break;
	}
	return start + amount;
}

static struct due_time span_time(const struct terms *t, const struct due_limit *limit)
{
	struct use_moment start;
	struct due_time why;

	if (!find_start(t, limit, &start, &why))
		return why;
	if (limit->unit == UNIT_HOURS || limit->unit == UNIT_LANDINGS)
		return span_by_counter(t, limit, &start);
	return due_on(t, end_of_span(limit, start.day));
}

static struct due_time step_time(const struct terms *t, const struct due_limit *limit)
{
	enum truth built = facts_step_built(t->kit->facts, &limit->about);
	struct due_time due = {.state = built == TRUTH_TRUE ? DUE_OVER : DUE_AHEAD};

	if (built == TRUTH_UNKNOWN)
		due = untold(&(struct due_lack){
		        .kind = DUE_LACK_FACT, .fact = {.kind = FACT_STEP, .about = limit->about}});
	due.step = &limit->about;
	return due;
}

static struct due_time first_flight_time(const struct terms *t)
{
	enum date_state flown = t->kit->facts->first_flight.state;
	struct due_time due = {.state = flown == DATE_KNOWN ? DUE_OVER : DUE_AHEAD};

	if (flown == DATE_UNKNOWN)
		due = untold_fact(FACT_FIRST_FLIGHT);
	due.first_flight = true;
	return due;
}

static struct due_time planned_time(const struct terms *t, const struct planned_event *planned)
{
	struct due_time due = {.state = DUE_NONE}, other;

	if (planned->has_day)
		due = due_on(t, planned->day);
	if (planned->has_hours) {
		other = due_at(t, USE_HOURS, planned->hours);
		join(&due, &other, false);
	}
	return due;
}

/* It has passed when the log names the event after the work or the issue. */
static struct due_time event_time(const struct terms *t, const struct due_limit *limit)
{
	const struct use_entry *logged = use_last_event(t->kit->use, &limit->about);
	const struct planned_event *planned = use_planned(t->kit->use, &limit->about);
	day_number since = t->done ? t->done->day : t->kit->issued.last;
	struct due_time due;

	if (logged && logged->day > since)
		return (struct due_time){.state = DUE_OVER, .has_day = true, .day = logged->day};
	if (planned)
		return planned_time(t, planned);
	due = untold(&(struct due_lack){.kind = DUE_LACK_NEXT_EVENT, .about = limit->about});
	due.event = &limit->about;
	return due;
}

static struct due_time limit_time(const struct terms *t, const struct due_limit *limit)
{
	switch ((enum due_limit_kind)limit->kind) {
	case DUE_LIMIT_STEP:
		return step_time(t, limit);
	case DUE_LIMIT_FIRST_FLIGHT:
		return first_flight_time(t);
	case DUE_LIMIT_NEXT_FLIGHT:
		return (struct due_time){.state = DUE_NOW, .next_flight = true};
	case DUE_LIMIT_EVENT:
		return event_time(t, limit);
	case DUE_LIMIT_SPAN:
		return span_time(t, limit);
	case DUE_LIMIT_TOTAL:
		return due_at(t, counter_of(limit), limit->amount);
	case DUE_LIMIT_DAY:
		break;
	}
	return due_on(t, limit->day);
}

/* ---- parts and cases ---- */

static struct due_time part_time(const struct terms *t)
{
	struct due_time due = {.state = DUE_NONE, .last = t->part->last};

	for (size_t i = 0; i < t->part->count; i++) {
		struct due_time one = limit_time(t, &t->part->limits[i]);

		join(&due, &one, t->part->last);
	}
	return due;
}

static void add_wanted(void *due, const struct fact *fact)
{
	add_lack(due, &(struct due_lack){.kind = DUE_LACK_FACT, .fact = *fact});
}

/* The case for this kit. NULL: none, or *why says what it hangs on. */
static const struct due_case *find_case(const struct due_statement *statement,
                                        const struct due_kit *kit, struct due_time *why)
{
	*why = (struct due_time){.state = DUE_NONE};
	for (size_t i = 0; statement && i < statement->count; i++) {
		const struct due_case *c = &statement->cases[i];
		enum truth truth =
		        c->condition ? effectivity_decide(c->condition, kit->facts) : TRUTH_TRUE;

		if (truth == TRUTH_TRUE)
			return c;
		if (truth == TRUTH_FALSE)
			continue;
		why->state = DUE_UNTOLD;
		effectivity_needs(c->condition, kit->facts, add_wanted, why);
		return NULL;
	}
	return NULL;
}

struct due_time due_first(const struct due_statement *statement, const struct due_kit *kit)
{
	struct due_time why;
	const struct due_case *c = find_case(statement, kit, &why);

	return c ? part_time(&(struct terms){kit, &c->first, NULL, NULL}) : why;
}

struct due_time due_again(const struct due_statement *statement, const struct due_kit *kit,
                          const struct use_moment *done, const struct due_time *before)
{
	struct due_time why;
	const struct due_case *c = find_case(statement, kit, &why);

	return c ? part_time(&(struct terms){kit, &c->again, done, before}) : why;
}
