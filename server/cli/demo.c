/* The demonstration: the files of seed/ into a database.
 *
 * Members of the demonstration have no password; the sign-in page of a server
 * started with --demo lets a visitor in as one of them.
 */
#include "cli/demo.h"

#include <string.h>

#include "cli/demo_parts.h"
#include "core/quantity.h"
#include "os/log.h"
#include "store/kit_log.h"
#include "store/parts.h"
#include "store/settings.h"
#include "formats/json_facts.h"
#include "chapter/json_notices.h"
#include "chapter/json_parts.h"
#include "chapter/line_import.h"
#include "chapter/notice_import.h"
#include "chapter/parts_import.h"

#define SECONDS_OF_DAY 86400
#define NO_PASSWORD "*"

extern const struct embedded_file seed_files[];
extern const size_t seed_files_count;

const struct embedded_file *demo_file(const char *name)
{
	return embedded_find(seed_files, seed_files_count, name);
}

static const char *const demo_keys[] = {"format", "members", "drafts", "kits", "notes", NULL};
static const char *const member_keys[] = {"login", "name", "role", NULL};
static const char *const log_keys[] = {"day", "hours", "landings", "event", NULL};
static const char *const kit_keys[] = {"owner", "name",      "facts",      "log",   "records",
                                       "read",  "stock_log", "counted_in", "shown", NULL};
static const char *const stock_keys[] = {"part", "what", "quantity", "unit", "remark", NULL};
static const char *const note_keys[] = {"by",      "on",   "notice", "model",    "step", "part",
                                        "answers", "text", "helped", "pictures", NULL};
static const char *const record_keys[] = {
        "notice",    "revision", "part",     "position", "done",     "method",    "by",
        "signed_as", "hours",    "landings", "remarks",  "corrects", "withdraws", NULL};

void demo_add_each(struct filling *f, const json_t *object, const char *key, add_fn *add)
{
	const json_t *list = json_read_array(&f->reader, object, key);
	size_t mark = json_enter(&f->reader, key);

	for (size_t i = 0; i < json_array_size(list) && json_reader_ok(&f->reader); i++) {
		size_t inner = json_enter_index(&f->reader, i);

		add(f, json_array_get(list, i));
		json_leave(&f->reader, inner);
	}
	json_leave(&f->reader, mark);
}

void demo_take(struct filling *f, enum status status)
{
	if (f->reader.status == ST_OK)
		f->reader.status = status;
}

struct member_id demo_member(struct filling *f, const char *login)
{
	struct member member = {.id = {0}};

	if (json_reader_ok(&f->reader))
		demo_take(f, member_find(f->store, f->reader.arena, login, &member));
	return member.id;
}

struct notice_id demo_notice(struct filling *f, const char *number)
{
	struct notice_id id = {0};

	if (json_reader_ok(&f->reader))
		demo_take(f, notice_find(f->store, number, &id));
	return id;
}

int64_t demo_noon(const struct filling *f, struct date date)
{
	int64_t at = (int64_t)date.last * SECONDS_OF_DAY + SECONDS_OF_DAY / 2;

	return at < f->now ? at : f->now;
}

/* ---- the parts of the file ---- */

static void add_member(struct filling *f, const json_t *value)
{
	struct member_entry entry = {.password = NO_PASSWORD};
	struct member_id id;

	if (!json_check_keys(&f->reader, value, member_keys))
		return;
	entry.login = json_read_line(&f->reader, value, "login", LOGIN_LONGEST);
	entry.name = json_read_line(&f->reader, value, "name", MEMBER_NAME_LONGEST);
	if (!role_from_words(json_read_line(&f->reader, value, "role", 20), &entry.role))
		json_fail_at(&f->reader, "role", "must be builder, steward or admin");
	if (json_reader_ok(&f->reader))
		demo_take(f, member_add(f->store, &entry, f->now, &id));
}

static void read_record(struct filling *f, const json_t *value, struct record *out)
{
	struct json_reader *r = &f->reader;

	out->notice = json_read_name(r, value, "notice");
	out->revision = json_read_name(r, value, "revision");
	out->part = json_read_name(r, value, "part");
	out->position = json_read_name(r, value, "position");
	out->done = json_read_date(r, value, "done").date;
	out->method = json_read_text(r, value, "method", 2000);
	out->by = json_read_line(r, value, "by", 80);
	out->signed_as = json_read_line(r, value, "signed_as", 80);
	out->remarks = json_read_text(r, value, "remarks", 2000);
	out->has_hours = json_read_hours(r, value, "hours", &out->hours);
	out->has_landings = json_read_count(r, value, "landings", &out->landings);
	out->withdraws = json_read_flag(r, value, "withdraws");
	out->entered_by = out->by;
	out->entered_at = demo_noon(f, out->done);
}

/* "corrects" counts the records of this kit from 1. */
static void add_record(struct filling *f, const json_t *value)
{
	struct record record = {.id = {0}};
	int64_t corrects = 0;

	if (!json_check_keys(&f->reader, value, record_keys))
		return;
	read_record(f, value, &record);
	if (json_read_count(&f->reader, value, "corrects", &corrects)) {
		if (corrects < 1 || (size_t)corrects > f->records)
			json_fail_at(&f->reader, "corrects", "names no earlier record");
		else
			record.corrects = f->record[corrects - 1];
	}
	if (json_reader_ok(&f->reader))
		demo_take(f, record_append(f->store, f->kit, &record, &f->record[f->records++]));
}

static void add_records(struct filling *f, const json_t *kit)
{
	size_t count = json_array_size(json_object_get(kit, "records"));

	f->records = 0;
	f->record = ARENA_ARRAY(f->reader.arena, struct record_id, count);
	if (f->record)
		demo_add_each(f, kit, "records", add_record);
	else
		demo_take(f, ST_NOMEM);
}

static void add_log_row(struct filling *f, const struct use_entry *entry)
{
	struct kit_log_row row = {.entry = *entry,
	                          .entered_by = "Demonstration",
	                          .entered_at = demo_noon(f, date_of_day(entry->day))};
	struct kit_log_id id;

	if (json_reader_ok(&f->reader))
		demo_take(f, kit_log_add(f->store, f->kit, &row, &id));
}

static void add_log_entry(struct filling *f, const json_t *value)
{
	struct json_reader *r = &f->reader;
	struct use_entry entry = {.day = 0};

	if (!json_check_keys(r, value, log_keys))
		return;
	json_need(r, value, "day");
	entry.day = json_read_date(r, value, "day").date.first;
	entry.has[USE_HOURS] = json_read_hours(r, value, "hours", &entry.total[USE_HOURS]);
	entry.has[USE_LANDINGS] = json_read_count(r, value, "landings", &entry.total[USE_LANDINGS]);
	entry.event = json_read_name(r, value, "event");
	add_log_row(f, &entry);
}

/* Hours and landings among the facts are what the counters show today. */
static void log_facts(struct filling *f, const struct facts *facts)
{
	struct use_entry entry = {.day = (day_number)(f->now / SECONDS_OF_DAY),
	                          .has = {facts->has_hours, facts->has_landings},
	                          .total = {facts->hours, facts->landings}};

	if (facts->has_hours || facts->has_landings)
		add_log_row(f, &entry);
}

static void mark_read(struct filling *f, const json_t *value)
{
	struct name number = json_name_of(&f->reader, value);
	struct revision revision;
	struct notice_id notice = demo_notice(f, number.text);

	if (json_reader_ok(&f->reader))
		demo_take(f, notice_current(f->store, f->reader.arena, notice, &revision));
	if (json_reader_ok(&f->reader))
		demo_take(f, reading_mark(f->store, f->kit, notice, revision.id, f->now));
}

static void add_stock(struct filling *f, const json_t *value)
{
	struct json_reader *r = &f->reader;
	struct stock_entry entry = {.number = json_read_name(r, value, "part")};
	const char *unit = json_read_line(r, value, "unit", NAME_LONGEST);

	if (!json_check_keys(r, value, stock_keys))
		return;
	if (!stock_act_from_words(json_read_line(r, value, "what", 20), &entry.act))
		json_fail_at(r, "what", "must be counted, got, used or lost");
	entry.quantity = json_read_quantity(r, value, "quantity", entry.act == STOCK_COUNTED);
	entry.remark = json_read_line(r, value, "remark", PARTS_REMARK_LONGEST);
	if (json_reader_ok(r))
		demo_take(f, amount_unit(r->arena, unit, &entry.unit));
	if (json_reader_ok(r))
		demo_take(f, kit_stock_add(f->store, f->kit, &entry, f->now));
}

static void add_kit(struct filling *f, const json_t *value)
{
	struct facts facts;
	struct member_id owner;
	const char *name;
	size_t mark;

	if (!json_check_keys(&f->reader, value, kit_keys))
		return;
	owner = demo_member(f, json_read_line(&f->reader, value, "owner", LOGIN_LONGEST));
	name = json_read_line(&f->reader, value, "name", KIT_NAME_LONGEST);
	mark = json_enter(&f->reader, "facts");
	json_read_facts(&f->reader, json_object_get(value, "facts"), &facts);
	json_leave(&f->reader, mark);
	if (!json_reader_ok(&f->reader))
		return;
	demo_take(f, kit_add(f->store, owner, name, f->now, &f->kit));
	if (json_reader_ok(&f->reader))
		demo_take(f, kit_set_facts(f->store, f->kit, &facts));
	demo_add_each(f, value, "log", add_log_entry);
	log_facts(f, &facts);
	add_records(f, value);
	demo_add_each(f, value, "read", mark_read);
	demo_add_each(f, value, "stock_log", add_stock);
	if (json_read_flag(&f->reader, value, "counted_in") && json_reader_ok(&f->reader))
		demo_take(f, kit_set_counted_in(f->store, f->kit, true));
	if (json_read_flag(&f->reader, value, "shown") && json_reader_ok(&f->reader))
		demo_take(f, kit_set_shown(f->store, f->kit, true));
}

/* What the note is about: a notice, or a step of a model, or a part. */
static struct note_subject read_subject(struct filling *f, const json_t *value)
{
	struct json_reader *r = &f->reader;
	const char *notice = json_read_line(r, value, "notice", NAME_LONGEST);
	struct note_subject of = {.model = json_read_name(r, value, "model").text};

	if (*notice)
		return note_on_notice(demo_notice(f, notice));
	of.about = *of.model ? NOTE_ON_STEP : NOTE_ON_PART;
	of.name = json_read_name(r, value, *of.model ? "step" : "part").text;
	if (!*of.name)
		json_fail(r, "names no notice, step or part");
	return of;
}

/* "answers" counts the notes of the file from 1. */
static enum status put_note(struct filling *f, const json_t *value, struct member_id author,
                            int64_t at, struct note_id *out)
{
	const char *text = json_read_text(&f->reader, value, "text", NOTE_LONGEST);
	struct note_subject of;
	int64_t answers = 0;

	if (json_read_count(&f->reader, value, "answers", &answers)) {
		if (answers >= 1 && (size_t)answers <= f->notes)
			return note_answer(f->store, f->note[answers - 1], author, text, at, out);
		json_fail_at(&f->reader, "answers", "names no earlier note");
	} else {
		of = read_subject(f, value);
	}
	return json_reader_ok(&f->reader) ? note_add(f->store, &of, author, text, at, out)
	                                  : f->reader.status;
}

static void add_helped(struct filling *f, const json_t *value)
{
	struct member_id member = demo_member(f, json_name_of(&f->reader, value).text);

	if (json_reader_ok(&f->reader))
		demo_take(f, note_set_helped(f->store, f->note[f->notes - 1], member, true));
}

static void add_note(struct filling *f, const json_t *value)
{
	struct picture_of of = {.note = {0}};
	struct member_id author;
	int64_t at;

	if (!json_check_keys(&f->reader, value, note_keys))
		return;
	author = demo_member(f, json_read_line(&f->reader, value, "by", LOGIN_LONGEST));
	at = demo_noon(f, json_read_date(&f->reader, value, "on").date);
	if (json_reader_ok(&f->reader))
		demo_take(f, put_note(f, value, author, at, &of.note));
	if (!json_reader_ok(&f->reader))
		return;
	f->note[f->notes++] = of.note;
	demo_add_pictures(f, &of, author, value);
	demo_add_each(f, value, "helped", add_helped);
}

/* The first of them has been handed to its checker. */
static void add_drafts(struct filling *f, const json_t *file)
{
	static const struct catalogue none = {.count = 0};
	json_t *drafts = json_read_object(&f->reader, file, "drafts")
	                         ? json_object_get(file, "drafts")
	                         : NULL;
	struct member_id steward = demo_member(f, DEMO_STEWARD);
	struct json_notices read = {.count = 0};
	size_t mark = json_enter(&f->reader, "drafts");
	struct revision_id id;

	if (drafts)
		json_read_notices(&f->reader, drafts, &none, &read);
	for (size_t i = 0; i < read.count && json_reader_ok(&f->reader); i++) {
		demo_take(f, draft_new_notice(f->store, read.notices[i].revisions, steward, f->now,
		                              &id));
		if (i == 0 && json_reader_ok(&f->reader))
			demo_take(f, draft_submit(f->store, id, steward, f->now));
	}
	json_leave(&f->reader, mark);
}

static void add_notes(struct filling *f, const json_t *file)
{
	size_t count = json_array_size(json_object_get(file, "notes"));

	f->note = ARENA_ARRAY(f->reader.arena, struct note_id, count);
	if (f->note)
		demo_add_each(f, file, "notes", add_note);
	else
		demo_take(f, ST_NOMEM);
}

/* ---- the whole ---- */

/* Stores parts of demo.json, all or none of them. */
static void store_parts(struct filling *f, const json_t *file,
                        void (*add)(struct filling *, const json_t *))
{
	demo_take(f, store_begin(f->store));
	add(f, file);
	if (json_reader_ok(&f->reader))
		demo_take(f, store_commit(f->store));
	else
		store_rollback(f->store);
}

static void add_members(struct filling *f, const json_t *file)
{
	demo_add_each(f, file, "members", add_member);
}

static void add_kits_and_notes(struct filling *f, const json_t *file)
{
	add_drafts(f, file);
	demo_add_each(f, file, "kits", add_kit);
	add_notes(f, file);
	if (json_reader_ok(&f->reader))
		demo_take(f, setting_set_flag(f->store, SETTING_DEMO, true));
	if (json_reader_ok(&f->reader))
		demo_take(f, setting_set_text(f->store, SETTING_CHAPTER, "Fenside chapter"));
}

static void import_notices(struct filling *f)
{
	const struct embedded_file *file = demo_file("notices.json");
	struct member_id steward = demo_member(f, DEMO_STEWARD);
	size_t count;

	if (json_reader_ok(&f->reader))
		demo_take(f, notices_import(f->store, &f->reader, file->bytes, file->len, steward,
		                            f->now, &count));
}

/* A demonstration may do without. */
static void import_lines(struct filling *f)
{
	const struct embedded_file *file = demo_file("lines.json");
	struct member_id steward = demo_member(f, DEMO_STEWARD);
	size_t count;

	if (file && json_reader_ok(&f->reader))
		demo_take(f, lines_import(f->store, &f->reader, file->bytes, file->len, steward,
		                          f->now, &count));
}

static void import_parts(struct filling *f)
{
	const struct embedded_file *file = demo_file("parts.json");
	struct member_id steward = demo_member(f, DEMO_STEWARD);
	size_t count;

	if (file && json_reader_ok(&f->reader))
		demo_take(f, parts_take_in(f->store, &f->reader, file->bytes, file->len, steward,
		                           f->now, &count));
}

static void fill_reports(struct filling *f)
{
	const struct embedded_file *file = demo_file("reports.json");
	json_t *value = json_reader_ok(&f->reader)
	                        ? json_reader_parse(&f->reader, file->bytes, file->len)
	                        : NULL;

	if (value)
		store_parts(f, value, demo_add_reports);
	json_decref(value);
	demo_read_old_news(f);
}

static void fill(struct filling *f)
{
	const struct embedded_file *file = demo_file("demo.json");
	json_t *value = json_reader_parse(&f->reader, file->bytes, file->len);

	if (value && json_check_keys(&f->reader, value, demo_keys)) {
		store_parts(f, value, add_members);
		import_notices(f);
		import_lines(f);
		import_parts(f);
		store_parts(f, value, add_kits_and_notes);
		fill_reports(f);
	}
	json_decref(value);
	if (!json_reader_ok(&f->reader))
		log_line(LOG_LEVEL_TROUBLE, "demo: %s: %s: %s", f->reader.fault.place,
		         f->reader.fault.words, status_words(f->reader.status));
}

static enum status is_empty(struct store *store, bool *empty)
{
	int64_t members, generation;
	enum status status = member_count(store, &members);

	if (status == ST_OK)
		status = setting_generation(store, &generation);
	if (status == ST_OK)
		*empty = members == 0 && generation == 0;
	return status;
}

enum status demo_fill(struct store *store, int64_t now)
{
	struct filling f = {.store = store, .now = now};
	bool filled = false, empty = false;
	struct arena *arena;
	enum status status = setting_flag(store, SETTING_DEMO, &filled);

	if (status != ST_OK || filled)
		return status;
	status = is_empty(store, &empty);
	if (status != ST_OK || !empty)
		return status == ST_OK ? ST_CONFLICT : status;
	arena = arena_new();
	if (!arena)
		return ST_NOMEM;
	json_reader_start(&f.reader, arena);
	fill(&f);
	arena_free(arena);
	return f.reader.status;
}
