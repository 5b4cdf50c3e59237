#include "core/moment.h"
#include "core/quantity.h"

static void add_step(const struct line *line, uint32_t step, struct text *out)
{
	const struct step_entry *entry = line->steps[step].entry;

	text_printf(out, "%s (%s)", entry->code.text, entry->title);
}

static void add_hours(int64_t hours, struct text *out)
{
	hours_print(hours, out);
	text_add(out, hours == 100 ? " hour" : " hours");
}

static void add_count(uint32_t count, struct text *out)
{
	text_printf(out, "%u step%s", count, count == 1 ? "" : "s");
}

static void add_left(const struct moment *moment, struct text *out)
{
	char date[DATE_WORDS_SIZE];

	if (moment->left.steps == 0) {
		text_add(out, " All that it needs is built.");
		return;
	}
	text_add(out, " Until then ");
	add_count(moment->left.steps, out);
	text_add(out, " with ");
	add_hours(moment->left.hours, out);
	text_printf(out, " of work that it needs %s left", moment->left.steps == 1 ? "is" : "are");
	if (moment->left.has_date) {
		date_words(date_of_day(moment->left.date), date);
		text_printf(out, ", at your pace until about %s", date);
	}
	text_add(out, ".");
}

static void add_late(const struct moment *moment, struct text *out)
{
	if (moment->n_late == 0)
		return;
	text_add(out, " Left until all is built, ");
	add_count(moment->n_late, out);
	text_add(out, " would have to be opened: ");
	add_hours(moment->late_hours, out);
	text_add(out, ".");
}

static void add_fold_in(const struct line *line, const struct moment *moment, struct text *out)
{
	text_add(out, "Not built yet: fold it in at step ");
	add_step(line, moment->at, out);
	text_add(out, ".");
	add_left(moment, out);
	add_late(moment, out);
}

static void add_before(const struct line *line, const struct moment *moment, struct text *out)
{
	text_add(out, "Built, and nothing covers it yet: do it before step ");
	add_step(line, moment->at, out);
	text_add(out, ".");
	add_left(moment, out);
	add_late(moment, out);
}

static void add_buried(const struct line *line, const struct moment *moment, struct text *out)
{
	text_add(out, "Buried: the last good moment was before step ");
	add_step(line, moment->at, out);
	text_printf(out, ". %s", moment->lack == LACK_PROGRESS ? "At least " : "");
	add_count(moment->n_open, out);
	text_printf(out, " must be opened again, %s",
	            moment->lack == LACK_PROGRESS ? "at least " : "");
	add_hours(moment->open_hours, out);
	text_add(out, "; in time it would have cost none of them.");
	if (moment->dearer == LINE_NO_STEP)
		return;
	text_add(out, " Step ");
	add_step(line, moment->dearer, out);
	text_add(out, " will add to that.");
}

static void add_cannot_tell(const struct moment *moment, struct text *out)
{
	static const char *const words[] = {
	        [LACK_NOTHING] = "",
	        [LACK_STEPS] = "Cannot tell when: the notice names no step of the build line.",
	        [LACK_LINE_STEPS] =
	                "Cannot tell when: the build line has none of the steps that it names.",
	        [LACK_SOME_STEPS] =
	                "Cannot tell when: nothing covers the steps that the build line "
	                "has, but it does not have all that the notice names.",
	        [LACK_PROGRESS] = "Cannot tell when: it is not said whether all that is built is "
	                          "marked on the build line.",
	};

	text_add(out, words[moment->lack]);
}

void moment_sentence(const struct line *line, const struct moment *moment, struct text *out)
{
	switch (moment->kind) {
	case MOMENT_FOLD_IN:
		add_fold_in(line, moment, out);
		break;
	case MOMENT_BEFORE:
		add_before(line, moment, out);
		break;
	case MOMENT_BURIED:
		add_buried(line, moment, out);
		break;
	case MOMENT_CANNOT_TELL:
		add_cannot_tell(moment, out);
		return;
	case MOMENT_ANY_TIME:
		text_add(out, "Built, and no step of the build line covers it: any time will do.");
		break;
	}
	if (moment->n_strange)
		text_printf(out,
		            " The build line does not have %u of the steps that the notice names: "
		            "for these it cannot be told.",
		            moment->n_strange);
}

void moment_short(const struct line *line, const struct moment *moment, struct text *out)
{
	switch (moment->kind) {
	case MOMENT_FOLD_IN:
		text_printf(out, "fold in at %s", line->steps[moment->at].entry->code.text);
		break;
	case MOMENT_BEFORE:
		text_printf(out, "before %s closes it", line->steps[moment->at].entry->code.text);
		break;
	case MOMENT_BURIED:
		text_add(out, "buried: open ");
		add_count(moment->n_open, out);
		text_add(out, ", ");
		add_hours(moment->open_hours, out);
		break;
	case MOMENT_CANNOT_TELL:
	case MOMENT_ANY_TIME:
		text_add(out, moment_words(moment->kind));
		break;
	}
}
