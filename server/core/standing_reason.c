/* The reason of a standing in words, naming the fact and the condition. */
#include "core/standing.h"

static void add_date(struct text *out, struct date date)
{
	char room[DATE_WORDS_SIZE];

	date_words(date, room);
	text_add(out, room);
}

static void add_notice(struct text *out, const struct notice *notice)
{
	text_printf(out, "%s %s", notice->issuer, notice->number.text);
	if (notice->revision.len)
		text_printf(out, " revision %s", notice->revision.text);
}

static void say_cancelled(const struct notice *notice, struct text *out)
{
	text_add(out, "The issuer cancelled it on ");
	add_date(out, notice->cancelled_on);
	text_add_char(out, '.');
}

static void say_replaced(const struct standing *standing, struct text *out)
{
	text_add(out, "Replaced by ");
	add_notice(out, &standing->other->notice);
	text_printf(out, ": %s.", standing->other->notice.title);
}

static void say_in_the_plans(const struct notice *notice, const struct facts *facts,
                             struct text *out)
{
	text_add(out, "The issuer states that plans from ");
	add_date(out, notice->plans_carry.date);
	text_add(out, " carry the change, and this kit's plans are of ");
	add_date(out, facts->plans.date);
	text_add(out, notice->n_steps ? ", as are those of the affected steps." : ".");
}

/* "WH-2207-1 left: WH-2207-3 is fitted" */
static void say_line(const struct notice *notice, size_t i, enum line_state state, struct text *out)
{
	const struct notice_line *line = &notice->lines[i];

	text_printf(out, "%s%s", i ? "; " : "", line->part.text);
	if (line->position.len)
		text_printf(out, " %s", line->position.text);
	if (state == LINE_PART_FITTED)
		text_printf(out, ": %s is fitted", line->replacement.text);
	else if (state == LINE_OTHER_LOT)
		text_printf(out, ": its lot is outside %s", line->lots_text);
	else
		text_add(out, ": the notice says to use it as it is");
}

static void say_conforms(const struct catalogue_entry *entry, const struct kit_state *kit,
                         struct text *out)
{
	text_add(out, "Every affected line is met already. ");
	for (size_t i = 0; i < entry->notice.n_lines; i++) {
		const struct record *by;

		say_line(&entry->notice, i, standing_line(entry, i, kit, &by), out);
	}
	text_add_char(out, '.');
}

static void say_done(const struct notice *notice, const struct standing *standing, struct text *out)
{
	if (standing->terminated) {
		text_add(out, "Ended by ");
		add_notice(out, &standing->other->notice);
		text_add(out, ", which is done and terminates it.");
		return;
	}
	text_add(out, "Every affected line is closed by a record");
	if (notice->revision.len)
		text_printf(out, " that counts for revision %s", notice->revision.text);
	text_add(out, ", the last of ");
	add_date(out, standing->last->done);
	text_add_char(out, '.');
}

static void say_repeating(const struct standing *standing, struct text *out)
{
	text_add(out, "Last done on ");
	add_date(out, standing->last->done);
	text_add(out, standing->overdue                ? "; overdue, it was due "
	              : standing->due.state == DUE_NOW ? "; due now, "
	                                               : "; due again ");
	due_words(&standing->due, out);
}

static void say_open_due(const struct standing *standing, struct text *out)
{
	if (standing->due.state == DUE_NONE)
		return;
	text_add(out, standing->overdue ? " Overdue, it was due " : " Due ");
	due_words(&standing->due, out);
}

/* Does the notice change parts, so that plans could carry it? */
static bool changes_parts(const struct notice *notice)
{
	for (size_t i = 0; i < notice->n_lines; i++)
		if (notice->lines[i].disposition == DISPOSE_REWORK ||
		    notice->lines[i].disposition == DISPOSE_REPLACE ||
		    notice->lines[i].disposition == DISPOSE_SCRAP)
			return true;
	return false;
}

/* Plans that are newer than the notice tempt a builder to think it is done. */
static bool tempting_plans(const struct notice *notice, const struct facts *facts)
{
	return facts->plans.state == DATE_KNOWN && facts->plans.date.first > notice->issued.last &&
	       notice->plans_carry.state != DATE_KNOWN && changes_parts(notice);
}

static void say_open(const struct catalogue_entry *entry, const struct standing *standing,
                     const struct kit_state *kit, struct text *out)
{
	const struct notice *notice = &entry->notice;

	effectivity_reason(notice->effectivity, kit->facts, out);
	text_printf(out, " %u of %u %s left.", standing->left, standing->lines,
	            standing->lines == 1 ? "line" : "lines");
	say_open_due(standing, out);
	if (standing->reopened)
		text_printf(out,
		            " Work recorded to an earlier revision does not count for "
		            "revision %s.",
		            notice->revision.text);
	if (tempting_plans(notice, kit->facts))
		text_add(out, " Plans dated after the notice prove nothing: the issuer does not "
		              "state that any plans carry the change.");
}

void standing_reason(const struct catalogue_entry *entry, const struct standing *standing,
                     const struct kit_state *kit, struct text *out)
{
	const struct notice *notice = &entry->notice;

	switch (standing->kind) {
	case STANDING_NOT_EFFECTIVE:
		if (standing->cancelled) {
			say_cancelled(notice, out);
			break;
		}
		effectivity_reason(notice->effectivity, kit->facts, out);
		break;
	case STANDING_ASK:
		effectivity_reason(notice->effectivity, kit->facts, out);
		break;
	case STANDING_REPLACED:
		say_replaced(standing, out);
		break;
	case STANDING_IN_THE_PLANS:
		say_in_the_plans(notice, kit->facts, out);
		break;
	case STANDING_CONFORMS:
		say_conforms(entry, kit, out);
		break;
	case STANDING_DONE:
		say_done(notice, standing, out);
		break;
	case STANDING_REPEATING:
		say_repeating(standing, out);
		break;
	case STANDING_OPEN:
		say_open(entry, standing, kit, out);
		break;
	}
}
