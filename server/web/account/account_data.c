/* account_data.c - a member's own data as one file.
 *
 * Kits, facts and records are written as in seed/FORMAT.md, with what the
 * database adds (when entered, by whom); "corrects" is the n-th record of the
 * kit. Passwords and tokens are kept only as hashes and are not given out.
 */
#include "store/kit_log.h"
#include "store/kits.h"
#include "store/mail.h"
#include "store/notes.h"
#include "store/pictures.h"
#include "store/records.h"
#include "formats/json_facts.h"
#include "web/account/account.h"
#include "web/reports/reports_parts.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define NOTES_AT_ONCE 1000

/* ---- records ---- */

static int set_text(json_t *object, const char *key, const char *text)
{
	return text[0] ? json_object_set_new(object, key, json_string(text)) : 0;
}

static int set_work(json_t *object, const struct record *record)
{
	char done[DATE_TEXT_SIZE];
	int failed = 0;

	date_print(record->done, done);
	failed |= set_text(object, "notice", record->notice.text);
	failed |= json_object_set_new(object, "revision", json_string(record->revision.text));
	failed |= set_text(object, "part", record->part.text);
	failed |= set_text(object, "position", record->position.text);
	failed |= set_text(object, "done", done);
	failed |= set_text(object, "method", record->method);
	failed |= set_text(object, "by", record->by);
	failed |= set_text(object, "signed_as", record->signed_as);
	failed |= set_text(object, "remarks", record->remarks);
	failed |= set_text(object, "entered_by", record->entered_by);
	return failed;
}

static int64_t place_of(const struct record *records, size_t count, struct record_id id)
{
	for (size_t i = 0; i < count; i++)
		if (records[i].id.v == id.v)
			return (int64_t)i + 1;
	return 0;
}

static json_t *record_json(const struct record *records, size_t count, size_t i)
{
	const struct record *record = &records[i];
	json_t *object = json_object();
	int failed = set_work(object, record);

	if (record->has_hours)
		failed |= json_object_set_new(object, "hours",
		                              json_real((double)record->hours / 100));
	if (record->has_landings)
		failed |= json_object_set_new(object, "landings", json_integer(record->landings));
	if (record->corrects.v != 0)
		failed |= json_object_set_new(
		        object, "corrects",
		        json_integer(place_of(records, count, record->corrects)));
	if (record->withdraws)
		failed |= json_object_set_new(object, "withdraws", json_true());
	failed |= json_object_set_new(object, "entered", present_utc(record->entered_at));
	if (!failed)
		return object;
	json_decref(object);
	return NULL;
}

static enum status records_json(struct context *c, struct kit_id kit, json_t **out)
{
	const struct record *records = NULL;
	size_t count = 0;
	json_t *list = json_array();
	enum status status = record_list(c->store, c->arena, kit, &records, &count);

	for (size_t i = 0; i < count; i++)
		list = present_append(list, record_json(records, count, i));
	*out = list;
	return status;
}

/* ---- the log ---- */

static json_t *entry_json(const struct kit_log_row *row)
{
	char day[DATE_TEXT_SIZE];
	json_t *object;
	int failed;

	date_print(date_of_day(row->entry.day), day);
	object = json_pack("{s:s, s:b, s:s, s:o}", "day", day, "counts", row->counts, "entered_by",
	                   row->entered_by, "entered", present_utc(row->entered_at));
	failed = object ? 0 : -1;
	if (row->entry.has[USE_HOURS])
		failed |= json_object_set_new(object, "hours",
		                              json_real((double)row->entry.total[USE_HOURS] / 100));
	if (row->entry.has[USE_LANDINGS])
		failed |= json_object_set_new(object, "landings",
		                              json_integer(row->entry.total[USE_LANDINGS]));
	if (!name_is_empty(&row->entry.event))
		failed |= json_object_set_new(object, "event", json_string(row->entry.event.text));
	if (!failed)
		return object;
	json_decref(object);
	return NULL;
}

/* Newest first, what counts no more too. */
static enum status log_json(struct context *c, struct kit_id kit, json_t **out)
{
	const struct kit_log_row *rows = NULL;
	size_t count = 0;
	json_t *list = json_array();
	enum status status = kit_log_list(c->store, c->arena, kit, &rows, &count);

	for (size_t i = 0; i < count; i++)
		list = present_append(list, entry_json(&rows[i]));
	*out = list;
	return status;
}

/* ---- marks of reading ---- */

static const char *number_of(const struct context *c, struct notice_id notice)
{
	const struct catalogue_entry *entry = catalogue_find_id(c->catalogue, notice);

	return entry ? entry->notice.number.text : "";
}

static enum status readings_json(struct context *c, struct kit_id kit, json_t **out)
{
	const struct reading *readings = NULL;
	size_t count = 0;
	json_t *list = json_array();
	enum status status = reading_list(c->store, c->arena, kit, &readings, &count);

	for (size_t i = 0; i < count; i++)
		list = present_append(list, json_pack("{s:s, s:o}", "notice",
		                                      number_of(c, readings[i].notice), "on",
		                                      present_utc(readings[i].read_at)));
	*out = list;
	return status;
}

/* ---- kits ---- */

static enum status kit_json(struct context *c, const struct kit *kit, json_t **out)
{
	json_t *records = NULL;
	json_t *log = NULL;
	json_t *readings = NULL;
	struct facts facts;
	enum status status = kit_facts(c->store, c->arena, kit->id, &facts);

	if (status == ST_OK)
		status = records_json(c, kit->id, &records);
	if (status == ST_OK)
		status = log_json(c, kit->id, &log);
	if (status == ST_OK)
		status = readings_json(c, kit->id, &readings);
	if (status != ST_OK) {
		json_decref(records);
		json_decref(log);
		json_decref(readings);
		return status;
	}
	*out = json_pack("{s:s, s:o, s:o, s:o, s:o, s:o}", "name", kit->name, "made",
	                 present_utc(kit->made_at), "facts", json_from_facts(&facts), "records",
	                 records, "log", log, "read", readings);
	return *out ? ST_OK : ST_NOMEM;
}

static enum status kits_json(struct context *c, json_t **out)
{
	const struct kit *kits = NULL;
	size_t count = 0;
	json_t *list = json_array();
	enum status status = kit_list(c->store, c->arena, c->member->id, &kits, &count);

	for (size_t i = 0; status == ST_OK && i < count; i++) {
		json_t *kit = NULL;

		status = kit_json(c, &kits[i], &kit);
		if (status == ST_OK)
			list = present_append(list, kit);
	}
	*out = list;
	return status;
}

/* ---- notes ---- */

/* What it is about, under the names of seed/FORMAT.md. */
static int set_subject(json_t *object, const struct note *note)
{
	if (note->of.about == NOTE_ON_NOTICE)
		return set_text(object, "notice", note->number);
	if (note->of.about == NOTE_ON_PART)
		return set_text(object, "part", note->of.name);
	return set_text(object, "model", note->of.model) | set_text(object, "step", note->of.name);
}

static json_t *note_json(const struct note *note, json_t *earlier)
{
	json_t *object = json_pack(
	        "{s:I, s:s, s:o, s:o, s:o, s:b, s:I, s:o}", "id", (json_int_t)note->id.v, "text",
	        note->text, "written", present_utc(note->written_at), "edited",
	        note->edited_at ? present_utc(note->edited_at) : json_null(), "answers",
	        note->answers.v ? json_integer(note->answers.v) : json_null(), "removed",
	        note->removed_at != 0, "helped", (json_int_t)note->helped, "earlier", earlier);

	if (object && set_subject(object, note) == 0)
		return object;
	json_decref(object);
	return NULL;
}

/* Its words before, the latest first. */
static enum status earlier_json(struct context *c, const struct note *note, json_t **out)
{
	struct page page = {NOTES_AT_ONCE, 0};
	const struct note_before *before = NULL;
	size_t count = 0;
	int64_t total = 0;
	json_t *list = json_array();
	enum status status = ST_OK;

	if (note->edited_at)
		status = note_history(c->store, c->arena, note->id, page, &before, &count, &total);
	for (size_t i = 0; status == ST_OK && i < count; i++)
		list = present_append(list, json_pack("{s:s, s:o}", "text", before[i].text, "until",
		                                      present_utc(before[i].until)));
	*out = list;
	return status;
}

/* Adds what was read of them. */
static enum status add_notes(struct context *c, const struct note *notes, size_t count,
                             json_t **list)
{
	enum status status = ST_OK;

	for (size_t i = 0; status == ST_OK && i < count; i++) {
		json_t *earlier = NULL;

		status = earlier_json(c, &notes[i], &earlier);
		if (status == ST_OK)
			*list = present_append(*list, note_json(&notes[i], earlier));
		else
			json_decref(earlier);
	}
	return status;
}

static enum status notes_json(struct context *c, json_t **out)
{
	struct page page = {NOTES_AT_ONCE, 0};
	const struct note *notes = NULL;
	size_t count = 0;
	int64_t total = 0;
	json_t *list = json_array();
	enum status status;

	do {
		status = note_list_by(c->store, c->arena, c->member->id, page, &notes, &count,
		                      &total);
		if (status == ST_OK)
			status = add_notes(c, notes, count, &list);
		page.offset += NOTES_AT_ONCE;
	} while (status == ST_OK && page.offset < total);
	*out = list;
	return status;
}

/* ---- pictures ---- */

/* The pictures themselves are at their addresses. */
static json_t *picture_json(const struct picture_row *row)
{
	const char *page = row->of.note.v ? "/notes/" : "/reports/";
	int64_t on = row->of.note.v ? row->of.note.v : row->on_report.v;

	return json_pack("{s:o, s:o, s:s, s:s, s:I, s:I, s:I}", "address",
	                 json_sprintf("/pictures/%lld", (long long)row->id.v), "on",
	                 json_sprintf("%s%lld", page, (long long)on), "shows", row->words, "type",
	                 row->large.mime, "width", (json_int_t)row->large.width, "height",
	                 (json_int_t)row->large.height, "bytes", (json_int_t)row->large.size);
}

static enum status pictures_json(struct context *c, json_t **out)
{
	const struct picture_row *rows = NULL;
	size_t count = 0;
	json_t *list = json_array();
	enum status status = picture_list_by(c->store, c->arena, c->member->id, &rows, &count);

	for (size_t i = 0; i < count; i++)
		list = present_append(list, picture_json(&rows[i]));
	*out = list;
	return status;
}

/* ---- field reports and findings ---- */

static json_t *texts_json(const struct text_list *texts)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < texts->count; i++)
		list = present_append(list, json_string(texts->at[i]));
	return list;
}

static json_t *report_json(const struct report *report)
{
	const struct report_content *content = &report->content;

	return json_pack("{s:I, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:o, s:o, s:o, s:b}",
	                 "id", (json_int_t)report->id.v, "title", content->title, "model",
	                 content->model, "step", content->step, "zone", content->zone, "seen",
	                 content->seen, "look", content->look, "severity",
	                 severity_words(content->severity), "effectivity", content->effectivity,
	                 "name_read_by", report_credits[report->credit], "parts",
	                 texts_json(&content->parts), "made", present_utc(report->made_at),
	                 "edited", report->edited_at ? present_utc(report->edited_at) : json_null(),
	                 "removed", report->removed_at != 0);
}

static enum status reports_json(struct context *c, json_t **out)
{
	const struct report *reports = NULL;
	size_t count = 0;
	json_t *list = json_array();
	enum status status = report_list_by(c->store, c->arena, c->member->id, &reports, &count);

	for (size_t i = 0; i < count; i++)
		list = present_append(list, report_json(&reports[i]));
	*out = list;
	return status;
}

static json_t *finding_json(const struct finding_row *row)
{
	return json_pack("{s:I, s:I, s:s, s:s, s:s, s:o, s:o}", "report", (json_int_t)row->report.v,
	                 "kit", (json_int_t)row->kit.v, "answer", finding_answer_words(row->answer),
	                 "remark", row->remark, "name_read_by", report_credits[row->credit], "at",
	                 present_utc(row->at), "facts", json_from_facts(row->facts));
}

static enum status findings_json(struct context *c, json_t **out)
{
	const struct finding_row *rows = NULL;
	size_t count = 0;
	json_t *list = json_array();
	enum status status = finding_list_by(c->store, c->arena, c->member->id, &rows, &count);

	for (size_t i = 0; i < count; i++)
		list = present_append(list, finding_json(&rows[i]));
	*out = list;
	return status;
}

/* ---- the file ---- */

static json_t *member_json(const struct member *member)
{
	return json_pack("{s:s, s:s, s:s, s:o}", "login", member->login, "name", member->name,
	                 "role", role_words(member->role), "joined",
	                 present_utc(member->joined_at));
}

/* null when no address was given. */
static enum status mail_json(struct context *c, json_t **out)
{
	struct mail_address mail;
	enum status status = mail_address_read(c->store, c->arena, c->member->id, &mail);

	if (status == ST_OK)
		*out = json_pack("{s:s, s:b, s:b, s:b}", "address", mail.address, "confirmed",
		                 mail.confirmed_at != 0, "at_once", mail.at_once, "weekly",
		                 mail.weekly);
	else if (status == ST_MISSING)
		*out = json_null();
	return status == ST_MISSING ? ST_OK : status;
}

enum status page_account_data(struct context *c)
{
	json_t *kits = NULL, *notes = NULL, *pictures = NULL, *reports = NULL, *findings = NULL;
	json_t *mail = NULL;
	enum status status = kits_json(c, &kits);

	if (status == ST_OK)
		status = notes_json(c, &notes);
	if (status == ST_OK)
		status = pictures_json(c, &pictures);
	if (status == ST_OK)
		status = reports_json(c, &reports);
	if (status == ST_OK)
		status = findings_json(c, &findings);
	if (status == ST_OK)
		status = mail_json(c, &mail);
	if (status != ST_OK) {
		json_decref(kits);
		json_decref(notes);
		json_decref(pictures);
		json_decref(reports);
		json_decref(findings);
		return status;
	}
	return respond_json_file(c,
	                         json_pack("{s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}",
	                                   "format", "fairlead own data 1", "made",
	                                   present_utc(c->now), "member", member_json(c->member),
	                                   "kits", kits, "notes", notes, "pictures", pictures,
	                                   "reports", reports, "findings", findings, "mail", mail),
	                         "fairlead-own-data.json");
}
