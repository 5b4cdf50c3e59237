/* Deciding a statement, and saying why. Nothing here allocates but the text
 * that the reason is added to. */
#include "core/effectivity.h"

#include <string.h>

/* ---- truth of one value ---- */

static enum truth name_matches(const struct name_pattern *pattern, const struct name *name)
{
	return pattern->series ? name_in_series(&pattern->name, name)
	                       : name_like(&pattern->name, name);
}

/* Does the statement itself print this very name, or one in the same style that
 * is another? */
static bool is_told_apart(const struct effectivity *s, const struct name *name)
{
	for (uint32_t i = 0; i < s->n_names; i++)
		if (name_equal(&s->names[i].name, name) ||
		    (name_styled(&s->names[i].name, name) &&
		     name_like(&s->names[i].name, name) == TRUTH_FALSE))
			return true;
	return false;
}

/* HC-82XG-1 begins as the series HC-82X does and may be meant by it: a line that
 * takes the series in takes it in, one that leaves the series out asks. */
static bool begins(const struct name_pattern *pattern, const struct name *name)
{
	return pattern->series && name->len > pattern->name.len &&
	       memcmp(name->key, pattern->name.key, pattern->name.len) == 0;
}

/* Unclear is what may be the printed name in another writing. A name that the
 * statement tells from it is none: PA-31P is not PA-31 where both are printed,
 * and 172L not 172 where 172K is printed beside it. The empty name is not
 * known. */
static enum truth matches(const struct effectivity *s, const struct condition *c,
                          const struct name_pattern *pattern, const struct name *name)
{
	enum truth truth = name_matches(pattern, name);

	if (truth != TRUTH_UNKNOWN || name_is_empty(name))
		return truth;
	if (begins(pattern, name))
		return c->negated ? TRUTH_UNKNOWN : TRUTH_TRUE;
	return is_told_apart(s, name) ? TRUTH_FALSE : TRUTH_UNKNOWN;
}

static enum truth decide_model(const struct effectivity *s, const struct condition *c,
                               const struct name *model)
{
	enum truth truth = TRUTH_FALSE;

	for (uint32_t i = 0; i < c->names && truth != TRUTH_TRUE; i++)
		truth = truth_or(truth, matches(s, c, &s->names[c->name + i], model));
	return truth;
}

static enum truth in_any_range(const struct effectivity *s, const struct condition *c,
                               const struct serial *serial)
{
	return serial_in_any(serial, s->serials + c->range, c->ranges);
}

static enum truth decide_dates(const struct effectivity *s, const struct condition *c,
                               const struct date_fact *fact)
{
	enum truth truth = TRUTH_FALSE;

	for (uint32_t i = 0; i < c->ranges; i++)
		truth = truth_or(truth, date_in_range(fact, s->dates[c->range + i].days));
	return truth;
}

static enum truth decide_number(const struct effectivity *s, const struct condition *c,
                                const struct facts *facts)
{
	int64_t value;
	bool known =
	        c->kind == COND_HOURS ? facts_hours(facts, &value) : facts_landings(facts, &value);

	if (!known)
		return TRUTH_UNKNOWN;
	for (uint32_t i = 0; i < c->ranges; i++) {
		const struct number_span *span = &s->numbers[c->range + i];

		if (value >= span->first && value <= span->last)
			return TRUTH_TRUE;
	}
	return TRUTH_FALSE;
}

/* Does this fitted part meet the detail asked for? */
static enum truth decide_detail(const struct effectivity *s, const struct condition *c,
                                const struct part_fact *part)
{
	bool has = c->detail == PART_LOT ? part->has_lot : part->has_serial;

	if (c->detail == PART_ANY)
		return TRUTH_TRUE;
	if (!has)
		return TRUTH_UNKNOWN;
	return in_any_range(s, c, c->detail == PART_LOT ? &part->lot : &part->serial);
}

/* An entry without a number may be the part; a list that is not complete may
 * lack it. */
static enum truth decide_part(const struct effectivity *s, const struct condition *c,
                              const struct name_pattern *pattern, const struct facts *facts)
{
	enum truth truth = facts->parts_known ? TRUTH_FALSE : TRUTH_UNKNOWN;

	for (size_t i = 0; i < facts->n_parts; i++) {
		const struct part_fact *part = &facts->parts[i];
		enum truth number = matches(s, c, pattern, &part->number);

		if (number != TRUTH_FALSE)
			truth = truth_or(truth, truth_and(number, decide_detail(s, c, part)));
	}
	return truth;
}

static enum truth decide_subkit(const struct facts *facts, const struct name *code)
{
	const struct subkit_fact *subkit = facts_subkit(facts, code);

	return subkit ? truth_of(subkit->received) : TRUTH_UNKNOWN;
}

static enum truth decide_shipped(const struct effectivity *s, const struct condition *c,
                                 const struct facts *facts, const struct name *code)
{
	const struct subkit_fact *subkit = facts_subkit(facts, code);

	return subkit ? decide_dates(s, c, &subkit->shipped) : TRUTH_UNKNOWN;
}

static enum truth decide_option(const struct facts *facts, const struct name *name)
{
	const struct option_fact *option = facts_option(facts, name);

	return option ? truth_of(option->fitted) : TRUTH_UNKNOWN;
}

/* For conditions on a list of names: the truth of one of them. */
static enum truth decide_name(const struct effectivity *s, const struct condition *c, uint32_t i,
                              const struct facts *facts)
{
	const struct name_pattern *pattern = &s->names[c->name + i];

	switch ((enum condition_kind)c->kind) {
	case COND_SUBKIT:
		return decide_subkit(facts, &pattern->name);
	case COND_SHIPPED:
		return decide_shipped(s, c, facts, &pattern->name);
	case COND_OPTION:
		return decide_option(facts, &pattern->name);
	case COND_PART:
		return decide_part(s, c, pattern, facts);
	case COND_NOTICE:
		return facts_notice_done(facts, &pattern->name);
	case COND_STEP:
		return facts_step_built(facts, &pattern->name);
	case COND_ALL:
	case COND_MODEL:
	case COND_SERIAL:
	case COND_PURCHASED:
	case COND_PLANS:
	case COND_FIRST_FLIGHT:
	case COND_HOURS:
	case COND_LANDINGS:
		break; /* no list of names */
	}
	return TRUTH_UNKNOWN;
}

static enum truth decide_any_name(const struct effectivity *s, const struct condition *c,
                                  const struct facts *facts)
{
	enum truth truth = TRUTH_FALSE;

	for (uint32_t i = 0; i < c->names; i++)
		truth = truth_or(truth, decide_name(s, c, i, facts));
	return truth;
}

/* ---- truth of conditions, groups, statements ---- */

static enum truth decide_plain(const struct effectivity *s, const struct condition *c,
                               const struct facts *facts)
{
	switch ((enum condition_kind)c->kind) {
	case COND_ALL:
		return TRUTH_TRUE;
	case COND_MODEL:
		return decide_model(s, c, &facts->model);
	case COND_SERIAL:
		return facts->has_serial ? in_any_range(s, c, &facts->serial) : TRUTH_UNKNOWN;
	case COND_PURCHASED:
		return decide_dates(s, c, &facts->purchased);
	case COND_PLANS:
		return decide_dates(s, c, &facts->plans);
	case COND_FIRST_FLIGHT:
		return decide_dates(s, c, &facts->first_flight);
	case COND_HOURS:
	case COND_LANDINGS:
		return decide_number(s, c, facts);
	case COND_SUBKIT:
	case COND_SHIPPED:
	case COND_OPTION:
	case COND_PART:
	case COND_NOTICE:
	case COND_STEP:
		break;
	}
	return decide_any_name(s, c, facts);
}

enum truth condition_decide(const struct effectivity *statement, const struct condition *condition,
                            const struct facts *facts)
{
	enum truth truth = decide_plain(statement, condition, facts);

	return condition->negated ? truth_not(truth) : truth;
}

enum truth group_decide(const struct effectivity *statement, const struct condition_group *group,
                        const struct facts *facts)
{
	const struct condition *condition = &statement->conditions[group->condition];
	enum truth truth = TRUTH_TRUE;

	for (uint32_t i = 0; i < group->conditions && truth != TRUTH_FALSE; i++)
		truth = truth_and(truth, condition_decide(statement, &condition[i], facts));
	return truth;
}

enum truth effectivity_decide(const struct effectivity *statement, const struct facts *facts)
{
	enum truth truth = TRUTH_FALSE;

	for (uint32_t g = 0; g < statement->n_groups && truth != TRUTH_TRUE; g++)
		truth = truth_or(truth, group_decide(statement, &statement->groups[g], facts));
	return truth;
}

/* ---- facts ---- */

static const enum fact_kind fact_of[CONDITION_KINDS] = {
        [COND_MODEL] = FACT_MODEL,
        [COND_SERIAL] = FACT_SERIAL,
        [COND_PURCHASED] = FACT_PURCHASED,
        [COND_PLANS] = FACT_PLANS,
        [COND_FIRST_FLIGHT] = FACT_FIRST_FLIGHT,
        [COND_SUBKIT] = FACT_SUBKIT,
        [COND_SHIPPED] = FACT_SHIPPED,
        [COND_OPTION] = FACT_OPTION,
        [COND_PART] = FACT_PART,
        [COND_NOTICE] = FACT_NOTICE,
        [COND_STEP] = FACT_STEP,
        [COND_HOURS] = FACT_HOURS,
        [COND_LANDINGS] = FACT_LANDINGS,
};

unsigned effectivity_fact_kinds(const struct effectivity *statement)
{
	unsigned kinds = 0;

	for (uint32_t i = 0; i < statement->n_conditions; i++) {
		const struct condition *c = &statement->conditions[i];

		if (c->kind != COND_ALL)
			kinds |= 1U << fact_of[c->kind];
		if (c->kind == COND_PART && c->detail != PART_ANY)
			kinds |= 1U << (c->detail == PART_LOT ? FACT_PART_LOT : FACT_PART_SERIAL);
	}
	return kinds;
}

/* Of a part: its serial or lot where such a part is fitted, else whether one is. */
static enum fact_kind part_fact_kind(const struct effectivity *s, const struct condition *c,
                                     const struct name_pattern *pattern, const struct facts *facts,
                                     bool only_missing)
{
	for (size_t i = 0; c->detail != PART_ANY && i < facts->n_parts; i++) {
		const struct part_fact *part = &facts->parts[i];
		bool has = c->detail == PART_LOT ? part->has_lot : part->has_serial;

		if (matches(s, c, pattern, &part->number) == TRUTH_TRUE && !(only_missing && has))
			return c->detail == PART_LOT ? FACT_PART_LOT : FACT_PART_SERIAL;
	}
	return FACT_PART;
}

/* Visits the facts of one condition: all of them, or those that are missing. */
static void visit_facts(const struct effectivity *s, const struct condition *c,
                        const struct facts *facts, bool only_missing, effectivity_need_fn *visit,
                        void *context)
{
	struct fact fact = {.kind = fact_of[c->kind]};

	if (c->kind == COND_ALL)
		return;
	if (c->kind == COND_MODEL || c->names == 0) {
		visit(context, &fact);
		return;
	}
	for (uint32_t i = 0; i < c->names; i++) {
		const struct name_pattern *pattern = &s->names[c->name + i];

		if (only_missing && decide_name(s, c, i, facts) != TRUTH_UNKNOWN)
			continue;
		if (c->kind == COND_PART)
			fact.kind = part_fact_kind(s, c, pattern, facts, only_missing);
		fact.about = pattern->name;
		fact.series = pattern->series;
		visit(context, &fact);
	}
}

void condition_facts(const struct effectivity *statement, const struct condition *condition,
                     const struct facts *facts, effectivity_need_fn *visit, void *context)
{
	visit_facts(statement, condition, facts, false, visit, context);
}

typedef void condition_fn(void *context, const struct condition *condition);

/* Visits the undecided lines of groups that no line has ruled out. */
static void each_undecided(const struct effectivity *s, const struct facts *facts,
                           condition_fn *visit, void *context)
{
	if (effectivity_decide(s, facts) != TRUTH_UNKNOWN)
		return;
	for (uint32_t g = 0; g < s->n_groups; g++) {
		const struct condition_group *group = &s->groups[g];

		if (group_decide(s, group, facts) != TRUTH_UNKNOWN)
			continue;
		for (uint32_t i = 0; i < group->conditions; i++) {
			const struct condition *c = &s->conditions[group->condition + i];

			if (condition_decide(s, c, facts) == TRUTH_UNKNOWN)
				visit(context, c);
		}
	}
}

struct need_search {
	const struct effectivity *statement;
	const struct facts *facts;
	effectivity_need_fn *visit;
	void *context;
};

static void visit_missing(void *context, const struct condition *condition)
{
	const struct need_search *search = context;

	visit_facts(search->statement, condition, search->facts, true, search->visit,
	            search->context);
}

void effectivity_needs(const struct effectivity *statement, const struct facts *facts,
                       effectivity_need_fn *visit, void *context)
{
	struct need_search search = {statement, facts, visit, context};

	each_undecided(statement, facts, visit_missing, &search);
}

/* ---- reasons ---- */

struct fact_list {
	const struct facts *facts;
	struct text *out;
	unsigned count;
};

/* "kit serial number is WH-0120" */
static void say_fact(void *context, const struct fact *fact)
{
	struct fact_list *list = context;

	text_add(list->out, list->count++ ? ", " : "");
	fact_words(fact, list->out);
	text_add(list->out, " is ");
	fact_value(list->facts, fact, list->out);
}

static void say_group_holds(const struct effectivity *s, const struct condition_group *group,
                            const struct facts *facts, struct text *out)
{
	struct fact_list list = {.facts = facts, .out = out};

	for (uint32_t i = 0; i < group->conditions; i++)
		condition_facts(s, &s->conditions[group->condition + i], facts, say_fact, &list);
	if (list.count == 0)
		text_add(out, "it concerns every kit");
}

/* "kit serial number is WH-0100, and line 2 says: serial WH-0101 and on" */
static void say_group_fails(const struct effectivity *s, const struct condition_group *group,
                            const struct facts *facts, struct text *out)
{
	const struct condition *c = &s->conditions[group->condition];
	struct fact_list list = {.facts = facts, .out = out};

	while (condition_decide(s, c, facts) != TRUTH_FALSE)
		c++;
	condition_facts(s, c, facts, say_fact, &list);
	text_printf(out, ", and line %u says: ", c->line);
	condition_print(s, c, out);
}

#define NEEDS_NAMED 8

struct need {
	struct fact fact;
	const struct condition *condition; /* the first that wants it */
};

struct need_list {
	const struct effectivity *statement;
	const struct facts *facts;
	struct need needs[NEEDS_NAMED];
	const struct condition *condition; /* being looked at */
	unsigned count;
	bool more;
};

static void collect_need(void *context, const struct fact *fact)
{
	struct need_list *list = context;

	for (unsigned i = 0; i < list->count; i++)
		if (fact_equal(&list->needs[i].fact, fact))
			return;
	if (list->count == NEEDS_NAMED)
		list->more = true;
	else
		list->needs[list->count++] = (struct need){*fact, list->condition};
}

static void collect_needs(void *context, const struct condition *condition)
{
	struct need_list *list = context;

	list->condition = condition;
	visit_facts(list->statement, condition, list->facts, true, collect_need, list);
}

/* A date that is known, but not well enough. */
static const struct date_fact *partial_date(const struct facts *facts, const struct fact *fact)
{
	const struct fact_field *field = fact_field_of(fact->kind);
	const struct subkit_fact *subkit;

	if (field && (field->form == FORM_DATE || field->form == FORM_FLIGHT))
		return fact_in(facts, field);
	if (fact->kind != FACT_SHIPPED)
		return NULL;
	subkit = facts_subkit(facts, &fact->about);
	return subkit ? &subkit->shipped : NULL;
}

/* Known, yet unclear: "(the kit says WH0120, line 2 says: serial WH-0101 and on)" */
static void say_unclear(const struct need_list *list, const struct need *need, struct text *out)
{
	if (!fact_is_written(list->facts, &need->fact))
		return;
	text_add(out, " (the kit says ");
	fact_value(list->facts, &need->fact, out);
	text_printf(out, ", line %u says: ", need->condition->line);
	condition_print(list->statement, need->condition, out);
	text_add_char(out, ')');
}

/* "kit serial number, purchase date (known only as 2017)" */
static void say_needs(const struct effectivity *s, const struct facts *facts, struct text *out)
{
	struct need_list list = {.statement = s, .facts = facts};

	each_undecided(s, facts, collect_needs, &list);
	for (unsigned i = 0; i < list.count; i++) {
		const struct need *need = &list.needs[i];
		const struct date_fact *date = partial_date(facts, &need->fact);

		text_add(out, i ? ", " : "");
		fact_wanted(&need->fact, out);
		if (date && date->state == DATE_KNOWN) {
			text_add(out, " (known only as ");
			fact_value(facts, &need->fact, out);
			text_add_char(out, ')');
		} else if (!date) {
			say_unclear(&list, need, out);
		}
	}
	text_add(out, list.more ? " and more" : "");
}

void effectivity_reason(const struct effectivity *statement, const struct facts *facts,
                        struct text *out)
{
	enum truth truth = effectivity_decide(statement, facts);

	if (truth == TRUTH_UNKNOWN) {
		text_add(out, "Cannot be told without: ");
		say_needs(statement, facts, out);
	} else {
		text_add(out, truth == TRUTH_TRUE ? "Applies because " : "Does not apply because ");
		for (uint32_t g = 0; g < statement->n_groups; g++) {
			const struct condition_group *group = &statement->groups[g];

			if (truth == TRUTH_FALSE) {
				text_add(out, g ? "; " : "");
				say_group_fails(statement, group, facts, out);
			} else if (group_decide(statement, group, facts) == TRUTH_TRUE) {
				say_group_holds(statement, group, facts, out);
				break;
			}
		}
	}
	text_add_char(out, '.');
}
