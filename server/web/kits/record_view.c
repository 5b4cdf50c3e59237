#include "web/kits/record_view.h"

#include "web/kits/kit_parts.h"

json_t *record_line_words(const struct name *part, const struct name *position)
{
	const char *number = name_is_empty(part) ? "the whole notice" : part->text;

	if (name_is_empty(position))
		return json_string(number);
	return json_sprintf("%s %s", number, position->text);
}

static json_t *link_to(const struct kit_view *view, size_t i)
{
	if (i == view->n_records)
		return json_false();
	return json_pack("{s:i, s:o}", "place", (int)i + 1, "url",
	                 json_sprintf("/kits/%lld/records#r%lld", (long long)view->kit.id.v,
	                              (long long)view->records[i].id.v));
}

/* Place of the record with that id; n_records when there is none. */
static size_t place_of(const struct kit_view *view, struct record_id id)
{
	size_t i = 0;

	while (i < view->n_records && (id.v == 0 || view->records[i].id.v != id.v))
		i++;
	return i;
}

static size_t place_of_correction(const struct kit_view *view, size_t of)
{
	size_t i = of + 1;

	while (i < view->n_records && view->records[i].corrects.v != view->records[of].id.v)
		i++;
	return i < view->n_records ? i : view->n_records;
}

static json_t *action_url(const struct kit_view *view, size_t i, bool open, const char *action)
{
	if (!open)
		return json_false();
	return json_sprintf("/kits/%lld/records/%lld/%s", (long long)view->kit.id.v,
	                    (long long)view->records[i].id.v, action);
}

static json_t *notice_url(const struct kit_view *view, const struct name *number)
{
	const struct catalogue_entry *entry = catalogue_find(view->catalogue, number);

	if (!entry)
		return json_false();
	return json_sprintf("/kits/%lld/notices/%lld", (long long)view->kit.id.v,
	                    (long long)entry->notice.id.v);
}

static json_t *work_view(const struct record *record)
{
	const char *revision = name_is_empty(&record->revision) ? "" : record->revision.text;

	return json_pack(
	        "{s:s, s:o, s:o, s:o, s:s, s:s, s:o, s:o, s:o, s:o, s:s, s:o}", "number",
	        record->notice.text, "revision", present_revision_words(revision), "line",
	        record_line_words(&record->part, &record->position), "done",
	        present_date(&record->done), "method", record->method, "by", record->by,
	        "signed_as", present_text(record->signed_as), "hours",
	        record->has_hours ? present_hours(record->hours) : json_false(), "landings",
	        record->has_landings ? json_integer((json_int_t)record->landings) : json_false(),
	        "remarks", present_text(record->remarks), "entered_by", record->entered_by,
	        "entered", present_time(record->entered_at));
}

json_t *record_present(const struct kit_view *view, size_t i)
{
	const struct record *record = &view->records[i];
	size_t correction = place_of_correction(view, i);
	bool counts = correction == view->n_records && !record->withdraws;
	json_t *one = work_view(record);

	one = present_set(one, "id", json_integer((json_int_t)record->id.v));
	one = present_set(one, "place", json_integer((json_int_t)i + 1));
	one = present_set(one, "counts", json_boolean(counts));
	one = present_set(one, "withdraws", json_boolean(record->withdraws));
	one = present_set(one, "corrects", link_to(view, place_of(view, record->corrects)));
	one = present_set(one, "corrected_by", link_to(view, correction));
	one = present_set(one, "notice_url", notice_url(view, &record->notice));
	one = present_set(one, "correct_url", action_url(view, i, counts, "correct"));
	return present_set(one, "withdraw_url", action_url(view, i, counts, "withdraw"));
}

json_t *record_history(const struct kit_view *view, const struct name *number)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < view->n_records; i++)
		if (name_equal(&view->records[i].notice, number))
			list = present_append(list, record_present(view, i));
	return list;
}
