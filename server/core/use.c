#include "core/use.h"

/* Had it not flown by the end of that day? */
static bool before_first_flight(const struct facts *facts, day_number day)
{
	return facts->first_flight.state == DATE_NEVER ||
	       (facts->first_flight.state == DATE_KNOWN && day < facts->first_flight.date.first);
}

bool use_on(const struct kit_use *use, const struct facts *facts, enum use_counter counter,
            day_number day, int64_t *total)
{
	const struct use_entry *before = NULL, *after = NULL;

	for (size_t i = 0; i < use->n_log && !after; i++) {
		const struct use_entry *entry = &use->log[i];

		if (!entry->has[counter])
			continue;
		if (entry->day < day)
			before = entry;
		else
			after = entry;
	}
	if (after &&
	    (after->day == day || (before && before->total[counter] == after->total[counter]))) {
		*total = after->total[counter];
		return true;
	}
	if (!before_first_flight(facts, day))
		return false;
	*total = 0;
	return true;
}

const struct use_entry *use_last_event(const struct kit_use *use, const struct name *event)
{
	for (size_t i = use->n_log; i-- > 0;)
		if (name_equal(&use->log[i].event, event))
			return &use->log[i];
	return NULL;
}

const struct planned_event *use_planned(const struct kit_use *use, const struct name *event)
{
	for (size_t i = 0; i < use->n_planned; i++)
		if (name_equal(&use->planned[i].event, event))
			return &use->planned[i];
	return NULL;
}

bool use_goes_back(const struct kit_use *use, enum use_counter counter, day_number day,
                   int64_t total, int64_t *least, int64_t *most)
{
	*least = 0;
	*most = INT64_MAX;
	for (size_t i = 0; i < use->n_log; i++) {
		const struct use_entry *entry = &use->log[i];

		if (!entry->has[counter])
			continue;
		if (entry->day <= day) {
			*least = entry->total[counter];
		} else {
			*most = entry->total[counter];
			break;
		}
	}
	return total < *least || total > *most;
}
