#include "web/kits/record_checks.h"

#include <string.h>

static void check_day(struct form *form, day_number today, const char *issued)
{
	struct date_fact done = form_date(form, "done");
	struct date date;
	char words[DATE_WORDS_SIZE];

	if (done.state != DATE_KNOWN)
		return;
	if (done.date.first > today)
		form_fail(form, "done", "must not be in the future");
	if (date_parse(issued, strlen(issued), &date) != ST_OK || done.date.last >= date.first)
		return;
	date_words(date, words);
	if (!form_flag(form, "early"))
		form_fail(form, "early",
		          "must be ticked: the revision was issued on %s. Work done earlier "
		          "counts only if it meets that revision in full",
		          words);
}

/* Does the count fall between the two days? */
static bool falls(const struct record *other, int64_t others, struct date done, int64_t count)
{
	bool earlier = other->done.last <= done.first;
	bool later = other->done.first > done.last;

	return (earlier && others > count) || (later && others < count);
}

/* The first record that the hours or landings of the form do not fit; NULL: none. */
static const struct record *misfit(const struct form *form, const struct kit_view *view,
                                   struct record_id corrects)
{
	struct date done = form_date(form, "done").date;

	for (size_t i = 0; i < view->state.n_records; i++) {
		const struct record *record = view->state.records[i];
		bool hours = form_given(form, "hours") && record->has_hours;
		bool landings = form_given(form, "landings") && record->has_landings;

		if (record->id.v == corrects.v)
			continue;
		if (hours && falls(record, record->hours, done, form_number(form, "hours")))
			return record;
		if (landings &&
		    falls(record, record->landings, done, form_number(form, "landings")))
			return record;
	}
	return NULL;
}

static void check_counts(struct form *form, const struct kit_view *view, struct record_id corrects)
{
	const struct record *record;
	char words[DATE_WORDS_SIZE];

	if (!form_given(form, "done") || form_flag(form, "lower"))
		return;
	record = misfit(form, view, corrects);
	if (!record)
		return;
	date_words(record->done, words);
	form_fail(form, "lower",
	          "must be ticked: they do not fit the record for %s of %s. Hours and landings do "
	          "not run backwards: look at the meter and at that record first",
	          record->notice.text, words);
}

void record_check(struct form *form, const struct kit_view *view, day_number today,
                  const char *issued, struct record_id corrects)
{
	check_day(form, today, issued);
	check_counts(form, view, corrects);
}
