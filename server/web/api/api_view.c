#include "web/api/api_view.h"

#include "core/effectivity.h"
#include "web/html/due_view.h"
#include "formats/json_facts.h"
#include "chapter/json_notices.h"
#include "formats/json_text.h"

const char api_caution[] =
        "Fairlead informs. The kit maker's current documents, local rules and the licensed "
        "inspector decide.";

static json_t *date_json(const struct date *date)
{
	char room[DATE_TEXT_SIZE];

	date_print(*date, room);
	return json_string(room);
}

static json_t *text_or_null(const char *text)
{
	return *text ? json_string(text) : json_null();
}

static json_t *url_json(struct notice_id id)
{
	return json_sprintf("/api/v1/notices/%lld", (long long)id.v);
}

json_t *api_notice_row(const struct notice_row *row)
{
	return json_pack("{s:I, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:o, s:o}", "id",
	                 (json_int_t)row->id.v, "number", row->number, "issuer", row->issuer,
	                 "revision", row->revision, "title", row->title, "kind",
	                 notice_kind_words(row->kind), "force", force_words(row->force), "issued",
	                 row->issued, "cancelled_on", text_or_null(row->cancelled_on), "url",
	                 url_json(row->id));
}

json_t *api_notice_entry(const struct catalogue_entry *entry)
{
	const struct notice *n = &entry->notice;

	return json_pack(
	        "{s:I, s:s, s:s, s:s, s:s, s:s, s:s, s:o, s:o, s:o}", "id", (json_int_t)n->id.v,
	        "number", n->number.text, "issuer", n->issuer, "revision", n->revision.text,
	        "title", n->title, "kind", notice_kind_words(n->kind), "force",
	        force_words(n->force), "issued", date_json(&n->issued), "cancelled_on",
	        n->cancelled ? date_json(&n->cancelled_on) : json_null(), "url", url_json(n->id));
}

/* ---- one notice ---- */

static json_t *superseders(const struct catalogue *catalogue, const struct catalogue_entry *entry)
{
	json_t *list = json_array();

	for (uint32_t i = 0; i < entry->n_superseded_by; i++)
		json_array_append_new(
		        list,
		        json_string(
		                catalogue->entries[entry->superseded_by[i]].notice.number.text));
	return list;
}

static json_t *sentence(const struct effectivity *statement)
{
	struct text text = TEXT_EMPTY;

	effectivity_sentence(statement, &text);
	return json_take_text(&text);
}

static json_t *attachments(const struct revision *revision)
{
	json_t *list = json_array();

	for (size_t i = 0; i < revision->n_attachments; i++) {
		const struct attachment *file = &revision->attachments[i];

		json_array_append_new(list,
		                      json_pack("{s:s, s:s, s:I, s:o}", "name", file->name, "type",
		                                file->mime, "size", (json_int_t)file->size, "url",
		                                json_sprintf("/notices/%lld/files/%lld",
		                                             (long long)revision->notice.v,
		                                             (long long)file->id.v)));
	}
	return list;
}

/* The current revision is the last. */
json_t *api_notice_whole(const struct catalogue *catalogue, const struct revision *revisions,
                         size_t count)
{
	const struct revision *current = &revisions[count - 1];
	const struct catalogue_entry *entry = catalogue_find_id(catalogue, current->notice);
	json_t *view = json_from_notice(revisions, count);
	int failed = view && entry ? 0 : -1;

	if (!failed)
		failed = json_object_set_new(view, "id", json_integer(current->notice.v)) |
		         json_object_set_new(view, "url", url_json(current->notice)) |
		         json_object_set_new(view, "effectivity_sentence",
		                             sentence(entry->notice.effectivity)) |
		         json_object_set_new(view, "superseded_by", superseders(catalogue, entry)) |
		         json_object_set_new(view, "files", attachments(current)) |
		         json_object_set_new(view, "caution", json_string(api_caution));
	if (!failed)
		return view;
	json_decref(view);
	return NULL;
}

/* ---- standings ---- */

static json_t *needs_of(const struct catalogue_entry *entry, const struct standing *standing,
                        const struct kit_state *kit)
{
	if (standing->kind != STANDING_ASK)
		return json_array();
	return json_needs(entry->notice.effectivity, kit->facts);
}

static json_t *reason_of(const struct catalogue_entry *entry, const struct standing *standing,
                         const struct kit_state *kit)
{
	struct text text = TEXT_EMPTY;

	standing_reason(entry, standing, kit, &text);
	return json_take_text(&text);
}

/* When the next action is due; null where no limit runs. */
static json_t *due_of(const struct standing *standing)
{
	static const char *const states[] = {"none", "ahead", "cannot be told", "now", "overdue"};
	const struct due_time *time = &standing->due;
	json_t *due;

	if (time->state == DUE_NONE)
		return json_null();
	due = json_pack("{s:b, s:s, s:o}", "overdue", standing->overdue, "state",
	                states[time->state], "words", due_time_view(time));
	if (time->has_day) {
		struct date date = date_of_day(time->day);

		json_object_set_new(due, "date", date_json(&date));
	}
	if (time->has[USE_HOURS])
		json_object_set_new(due, "hours", json_real((double)time->total[USE_HOURS] / 100));
	if (time->has[USE_LANDINGS])
		json_object_set_new(due, "landings", json_integer(time->total[USE_LANDINGS]));
	return due;
}

json_t *api_standing(const struct catalogue_entry *entry, const struct standing *standing,
                     const struct kit_state *kit)
{
	return json_pack("{s:o, s:s, s:b, s:o, s:o, s:i, s:i, s:o}", "notice",
	                 api_notice_entry(entry), "standing", standing_words(standing->kind),
	                 "left", standing_is_left(standing), "reason",
	                 reason_of(entry, standing, kit), "needs", needs_of(entry, standing, kit),
	                 "lines", (int)standing->lines, "lines_left", (int)standing->left, "due",
	                 due_of(standing));
}

/* ---- records ---- */

static json_t *number_or_null(bool has, json_t *value)
{
	if (has)
		return value;
	json_decref(value);
	return json_null();
}

static json_t *id_or_null(struct record_id id)
{
	return id.v ? json_integer(id.v) : json_null();
}

json_t *api_record(const struct record *records, size_t count, size_t i)
{
	const struct record *r = &records[i];

	return json_pack(
	        "{s:I, s:s, s:s, s:s, s:s, s:o, s:s, s:s, s:s, s:o, s:o, s:s, s:o, s:b, s:b, s:I}",
	        "id", (json_int_t)r->id.v, "notice", r->notice.text, "revision", r->revision.text,
	        "part", r->part.text, "position", r->position.text, "done", date_json(&r->done),
	        "method", r->method, "by", r->by, "signed_as", r->signed_as, "hours",
	        number_or_null(r->has_hours, json_real((double)r->hours / 100)), "landings",
	        number_or_null(r->has_landings, json_integer(r->landings)), "remarks", r->remarks,
	        "corrects", id_or_null(r->corrects), "withdraws", r->withdraws, "counts",
	        record_counts(records, count, i), "entered_at", (json_int_t)r->entered_at);
}
