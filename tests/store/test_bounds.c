/* Every row of the table of bounds: the last one that fits goes in, the next one is
 * refused, changes nothing and is told by its row. What is there before is put in
 * behind the store's back, so that also large limits are reached at once. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fixture.h"

#include "store/addresses.h"
#include "store/mail.h"
#include "store/under_way.h"

#define NUMBERS                                                                                    \
	"WITH RECURSIVE n(i) AS (SELECT 1 FROM fill WHERE more > 0 UNION ALL SELECT i + 1 FROM n"  \
	" WHERE i < (SELECT more FROM fill)) "
#define OF "(SELECT of FROM fill)"
#define AT "(SELECT now FROM fill)"

/* i: 0 for the one that fits, 1 for the one too many. */
typedef enum status make_fn(struct world *w, int i);

struct row {
	enum bound bound;
	size_t of;           /* place of the id in struct world; NO_ID */
	const char *counted; /* what counts already: FROM ...; NULL: the operation counts it */
	const char *fill;    /* puts in what is missing */
	make_fn *make;
	bool gives_way; /* an old one goes instead */
};
#define NO_ID SIZE_MAX
#define ID(member) offsetof(struct world, member)

#define MAKE(name, call)                                                                           \
	static enum status name(struct world *w, int i)                                            \
	{                                                                                          \
		(void)i;                                                                           \
		return (call);                                                                     \
	}

static struct hash numbered(const char *what, int i)
{
	char text[40];

	snprintf(text, sizeof text, "%s %d", what, i);
	return token_hash(text);
}

static struct name name_numbered(struct world *w, const char *what, size_t i)
{
	char text[40];

	snprintf(text, sizeof text, "%s %zu", what, i);
	return name_of(w->arena, text);
}

static const char *const words[] = {"first", "second"};

MAKE(make_kit, kit_add(w->store, w->bob, "Kit", NOW, &(struct kit_id){0}))
MAKE(make_note, note_add(w->store, &w->on_one, w->bob, words[i], NOW, &(struct note_id){0}))
MAKE(edit_note, note_edit(w->store, w->note, w->bob, words[i], NOW))
MAKE(call, call_add(w->store, &(struct call_to){.report = i ? w->merged : w->report}, w->sam,
                    "rude", NOW, &(struct call_id){0}))
MAKE(point,
     point_out(w->store, &(struct pointing){w->kit, w->sam, i ? w->two : w->one, {0}, "look"}, NOW))
MAKE(ask, mail_address_set(w->store, w->sue, i ? "b@example.org" : "a@example.org",
                           &(struct mail_words){"Is it you?", "Yes?"}, NOW))
MAKE(note_address, address_note(w->store, w->bob, i ? "192.0.2.1" : "192.0.2.2", NOW + 9 + i))
MAKE(attach,
     attachment_add(w->store, w->draft, &(struct attachment_entry){"b.png", "image/png", "png", 3},
                    w->sue, NOW, &(struct attachment_id){0}))

static enum status make_token(struct world *w, int i)
{
	const struct hash token = numbered("token", i);

	return api_token_add(w->store, w->bob, &token, "x", NOW, NOW + 9,
	                     &(struct api_token_id){0});
}

static enum status list_facts(struct world *w, int i)
{
	struct facts facts = facts_full(w->arena);
	size_t count = KIT_LIST_LONGEST + (size_t)i;
	struct part_fact *parts = ARENA_ARRAY(w->arena, struct part_fact, count);

	for (size_t k = 0; k < count; k++)
		parts[k] = (struct part_fact){.number = name_numbered(w, "part", k)};
	facts.parts = parts;
	facts.n_parts = count;
	return kit_set_facts(w->store, w->kit, &facts);
}

static enum status mark_step(struct world *w, int i)
{
	struct name step = name_numbered(w, "mark", (size_t)i);

	return kit_mark_steps(w->store, w->kit, &step, 1, &(struct date_fact){0});
}

static enum status take_stock(struct world *w, int i)
{
	struct stock_entry entry = stock_of(w->arena, "WH-41", STOCK_COUNTED);

	(void)i;
	return kit_stock_add(w->store, w->kit, &entry, NOW);
}

static enum status want_length(struct world *w, int i)
{
	struct kit_length length = {
	        .stock = name_of(w->arena, "AA-1"), .cut = "3 in", .remark = ""};

	(void)i;
	return kit_length_add(w->store, w->kit, &length);
}

static enum status log_hours(struct world *w, int i)
{
	struct kit_log_row row = {.entry = {.day = NOW / 86400 + i,
	                                    .has = {true, true},
	                                    .total = {20000, 90},
	                                    .event = name_of(w->arena, "")},
	                          .entered_by = "Bob",
	                          .entered_at = NOW};

	return kit_log_add(w->store, w->kit, &row, &(struct kit_log_id){0});
}

static enum status plan(struct world *w, int i)
{
	struct planned_event event = {
	        .event = name_numbered(w, "wash", (size_t)i), .has_hours = true, .hours = 20000};

	return kit_plan_event(w->store, w->kit, &event);
}

static enum status record(struct world *w, int i)
{
	struct record record = record_of(w->arena, "HF-SB-1", words[i]);

	return record_append(w->store, w->kit, &record, &(struct record_id){0});
}

static enum status help(struct world *w, int i)
{
	return note_set_helped(w->store, (struct note_id){i ? w->note.v : 9001}, w->sam, true);
}

static enum status add_pictures(struct world *w, const struct picture_of *of, size_t count)
{
	struct picture_entry *entries = ARENA_ARRAY(w->arena, struct picture_entry, count);

	for (size_t k = 0; k < count; k++)
		entries[k] = (struct picture_entry){
		        "one", {"image/jpeg", 2, 1, "large", 5}, {"image/png", 1, 1, "small", 5}};
	return pictures_add(w->store, of, w->bob, entries, count, NOW);
}

MAKE(picture_note,
     add_pictures(w, &(struct picture_of){.finding = w->finding}, PICTURES_MOST + (size_t)i))
MAKE(picture_day, add_pictures(w, &(struct picture_of){.report = w->merged}, 1))

static enum status make_report(struct world *w, int i)
{
	struct report_content content = report_of(words[i], "WH-7");

	return report_add(w->store, &content, w->kit, w->bob, CREDIT_MEMBERS, NOW,
	                  &(struct report_id){0});
}

static enum status name_parts(struct world *w, int i)
{
	struct report_content content = report_of("Many parts", "WH-7");
	const char **parts = ARENA_ARRAY(w->arena, const char *, REPORT_PARTS_MOST + 1);

	for (size_t k = 0; k <= REPORT_PARTS_MOST; k++)
		parts[k] = name_numbered(w, "part", k).text;
	content.parts = (struct text_list){parts, REPORT_PARTS_MOST + (size_t)i};
	return report_edit(w->store, w->report, &content, w->bob, NOW);
}

static enum status edit_report(struct world *w, int i)
{
	struct report_content content = report_of(words[i], "WH-7");

	return report_edit(w->store, w->report, &content, w->bob, NOW);
}

static enum status find(struct world *w, int i)
{
	struct finding_entry entry = {.report = w->repeat,
	                              .kit = w->kit,
	                              .author = w->bob,
	                              .answer = ANSWER_FOUND,
	                              .remark = words[i]};

	return finding_add(w->store, &entry, NOW, &(struct finding_id){0});
}

static enum status sign_in(struct world *w, int i)
{
	struct session_entry entry = {.member = w->bob,
	                              .token = numbered("session", i),
	                              .label = "x",
	                              .idle_until = NOW + 9,
	                              .ends_at = NOW + 99};
	struct session session;
	enum status status = session_add(w->store, &entry, NOW - 9, &(struct session_id){0});

	/* The new one stays, though the others were used later. */
	assert_ok(session_find(w->store, w->arena, &entry.token, NOW, &session));
	return status;
}

static enum status invite(struct world *w, int i)
{
	struct invite_entry entry = {.token = numbered("invite", i),
	                             .label = "x",
	                             .made_by = w->ann,
	                             .expires_at = NOW + 9};

	return invite_add(w->store, &entry, NOW, &(struct invite_id){0});
}

static enum status draft(struct world *w, int i)
{
	struct revision_content content = content_of(i ? "HF-SB-91" : "HF-SB-90", "", "2020");

	return draft_new_notice(w->store, &content, w->sam, NOW, &(struct revision_id){0});
}

MAKE(revise,
     i ? draft_new_revision(w->store, w->one, w->sam, NOW, &(struct revision_id){0}) : draft(w, 0))

static enum status list_steps(struct world *w, int i)
{
	struct revision_content content = content_of("HF-SB-90", "", "2020");
	size_t count = REVISION_LIST_LONGEST + (size_t)i;
	const char **steps = ARENA_ARRAY(w->arena, const char *, count);

	for (size_t k = 0; k < count; k++)
		steps[k] = name_numbered(w, "step", k).text;
	content.steps = (struct text_list){steps, count};
	return draft_new_notice(w->store, &content, w->sam, NOW, &(struct revision_id){0});
}

static enum status attach_large(struct world *w, int i)
{
	struct attachment_entry entry = {"b.bin", "image/png", NULL,
	                                 ATTACHMENT_LARGEST + (size_t)i};
	char *bytes = calloc(entry.size, 1);
	enum status status;

	assert_non_null(bytes);
	entry.bytes = bytes;
	status =
	        attachment_add(w->store, w->draft, &entry, w->sue, NOW, &(struct attachment_id){0});
	free(bytes);
	return status;
}

static enum status make_line(struct world *w, int i)
{
	struct line_entry entry = line_entry_of(w->arena, words[i]);

	return line_save(w->store, &entry, 0, w->sue, NOW, &(struct line_id){0});
}

static enum status import_list(struct world *w, int i)
{
	const struct parts_source all = parts_of(w->arena);
	struct packing_list list = all.lists[0];
	const struct parts_source source = {.lists = &list, .n_lists = 1};

	list.name = name_numbered(w, "PL", (size_t)i);
	list.subkit = name_numbered(w, "sub-kit", (size_t)i);
	return parts_import(w->store, &source);
}

static enum status import_change(struct world *w, int i)
{
	const struct parts_source all = parts_of(w->arena);
	struct number_change change = all.changes[0];
	const struct parts_source source = {.changes = &change, .n_changes = 1};

	change.old = name_numbered(w, "old", (size_t)i);
	return parts_import(w->store, &source);
}

static enum status import_stock(struct world *w, int i)
{
	const struct parts_source all = parts_of(w->arena);
	struct stock_code code = all.stock[0];
	const struct parts_source source = {.stock = &code, .n_stock = 1};

	code.code = name_numbered(w, "code", (size_t)i);
	return parts_import(w->store, &source);
}

static const struct row rows[] = {
        {BOUND_KITS_MOST, ID(bob), "FROM kits WHERE owner = " OF,
         "INSERT INTO kits (owner, name, made_at) SELECT " OF ", 'x', 1 FROM n", make_kit},
        {BOUND_KIT_LIST_LONGEST, NO_ID, NULL, NULL, list_facts},
        {BOUND_KIT_LIST_LONGEST, ID(kit), "FROM kit_names WHERE list = 0 AND kit_id = " OF,
         "INSERT INTO kit_names (kit_id, list, place, name, name_key)"
         " SELECT " OF ", 0, i + 99, 'x ' || i, 'X ' || i FROM n",
         mark_step},
        {BOUND_KIT_STOCK_MOST, ID(kit), "FROM kit_stock WHERE kit_id = " OF,
         "INSERT INTO kit_stock (kit_id, part, unit, act, quantity, remark, entered_at)"
         " SELECT " OF ", 'X', '', 1, 1, '', 1 FROM n",
         take_stock},
        {BOUND_KIT_LENGTHS_MOST, ID(kit), "FROM kit_lengths WHERE kit_id = " OF,
         "INSERT INTO kit_lengths (kit_id, use, stock, cut, remark)"
         " SELECT " OF ", 0, 'AA-1', '3 in', '' FROM n",
         want_length},
        {BOUND_KIT_LOG_MOST, ID(kit), "FROM kit_log WHERE kit_id = " OF,
         "INSERT INTO kit_log (kit_id, withdraws, day, hours, event, event_key, entered_by,"
         " entered_at) SELECT " OF ", 0, '2020-01-01', 1, '', '', 'x', 1 FROM n",
         log_hours},
        {BOUND_KIT_EVENTS_MOST, ID(kit), "FROM kit_planned WHERE kit_id = " OF,
         "INSERT INTO kit_planned (kit_id, event, event_key, day)"
         " SELECT " OF ", 'x ' || i, 'X ' || i, '2030-01-01' FROM n",
         plan},
        {BOUND_RECORDS_MOST, ID(kit), "FROM records WHERE kit_id = " OF,
         "UPDATE kits SET records = records + (SELECT more FROM fill) WHERE id = " OF, record},
        {BOUND_NOTES_A_DAY, ID(bob), "FROM notes WHERE written_at <= " AT " AND author = " OF,
         "INSERT INTO notes (notice_id, author, written_at, text)"
         " SELECT 1, " OF ", " AT ", 'x' FROM n",
         make_note},
        {BOUND_NOTE_EDITS_MOST, ID(note), "FROM note_words_before WHERE note_id = " OF,
         "INSERT INTO note_words_before (note_id, place, until, text)"
         " SELECT " OF ", i + 999, 1, 'x' FROM n",
         edit_note},
        {BOUND_HELPED_MOST, ID(sam), "FROM note_helped WHERE member_id = " OF,
         "INSERT INTO note_helped (note_id, member_id) SELECT i + 10000, " OF " FROM n", help},
        {BOUND_PICTURES_MOST, NO_ID, NULL, NULL, picture_note},
        {BOUND_PICTURES_A_DAY, ID(bob), "FROM pictures WHERE added_by = " OF,
         "INSERT INTO pictures (note_id, place, words, mime, width, height, small_mime,"
         " small_width, small_height, large, small, added_by, added_at)"
         " SELECT 10000 + i, 0, '', mime, 1, 1, small_mime, 1, 1, large, small, " OF ", " AT
         " FROM n, (SELECT * FROM pictures LIMIT 1)",
         picture_day},
        {BOUND_CALLS_A_DAY, ID(sam), "FROM steward_calls WHERE member_id = " OF,
         "INSERT INTO steward_calls (note_id, member_id, at, reason)"
         " SELECT 1, " OF ", " AT ", 'x' FROM n",
         call},
        {BOUND_REPORTS_A_DAY, ID(bob), "FROM reports WHERE made_at <= " AT " AND author = " OF,
         "INSERT INTO reports (author, credit, made_at, model_key, step_key, severity, title,"
         " model, step, zone, effectivity, seen, look) SELECT " OF ", 0, " AT
         ", 'X', '', 0, 'x', 'x', '', '', 'all', 'x', '' FROM n",
         make_report},
        {BOUND_REPORT_PARTS_MOST, NO_ID, NULL, NULL, name_parts},
        {BOUND_REPORT_EDITS_MOST, ID(report), "FROM report_log WHERE act = 0 AND report_id = " OF,
         "INSERT INTO report_log (report_id, at, act, remark) SELECT " OF ", 1, 0, 'x' FROM n",
         edit_report},
        {BOUND_FINDINGS_A_DAY, ID(bob), "FROM findings WHERE at <= " AT " AND author = " OF,
         "INSERT INTO findings (report_id, kit, author, snapshot_id, answer, credit, at, remark)"
         " SELECT report_id, kit, " OF ", snapshot_id, 0, 0, " AT
         ", '' FROM n, (SELECT * FROM findings LIMIT 1)",
         find},
        {BOUND_POINTS_A_DAY, ID(sam), "FROM news WHERE kind = 8 AND from_member = " OF,
         "INSERT INTO news (member_id, at, kind, mandatory, from_member, words)"
         " SELECT 1, " AT ", 8, 0, " OF ", '' FROM n",
         point},
        {BOUND_MAIL_QUESTIONS_A_DAY, ID(sue), "FROM outbox WHERE kind = 0 AND member_id = " OF,
         "INSERT INTO outbox (member_id, address, kind, subject, body, made_at, state, next_at)"
         " SELECT " OF ", 'a@b', 0, 'x', '', " AT ", 2, 1 FROM n",
         ask},
        {BOUND_API_TOKENS_MOST, ID(bob), "FROM api_tokens WHERE member_id = " OF,
         "INSERT INTO api_tokens (member_id, token, label, made_at)"
         " SELECT " OF ", randomblob(32), 'x', 1 FROM n",
         make_token},
        {BOUND_SESSIONS_MOST, ID(bob), "FROM sessions WHERE member_id = " OF,
         "INSERT INTO sessions (member_id, token, secret, label, made_at, seen_at, idle_until,"
         " ends_at) SELECT " OF ", randomblob(32), randomblob(32), 'x', " AT ", " AT
         ", 1, 1 FROM n",
         sign_in, true},
        {BOUND_ADDRESSES_MOST, ID(bob), "FROM known_addresses WHERE member_id = " OF,
         "INSERT INTO known_addresses (member_id, address, seen_at)"
         " SELECT " OF ", randomblob(32), 1 FROM n",
         note_address, true},
        {BOUND_INVITES_A_DAY, ID(ann), "FROM invites WHERE made_by = " OF,
         "INSERT INTO invites (token, role, label, first_admin, made_by, made_at, expires_at)"
         " SELECT randomblob(32), 0, '', 0, " OF ", " AT ", 1 FROM n",
         invite},
        {BOUND_DRAFTS_MOST, ID(sam), "FROM revisions WHERE state < 2 AND editor = " OF,
         "INSERT INTO revisions (notice_id, state, edit, editor, edited_at, label, label_key,"
         " title, problem, action, compliance, source, effectivity, force, issued, plans_carry)"
         " SELECT 10000 + i, 0, 1, " OF ", 1, '', '', '', '', '', '', '', '', 0, '', '' FROM n",
         draft},
        {BOUND_DRAFTS_MOST, ID(sam), "FROM revisions WHERE state < 2 AND editor = " OF,
         "INSERT INTO revisions (notice_id, state, edit, editor, edited_at, label, label_key,"
         " title, problem, action, compliance, source, effectivity, force, issued, plans_carry)"
         " SELECT 10000 + i, 0, 1, " OF ", 1, '', '', '', '', '', '', '', '', 0, '', '' FROM n",
         revise},
        {BOUND_REVISION_LIST_LONGEST, NO_ID, NULL, NULL, list_steps},
        {BOUND_ATTACHMENTS_MOST, ID(draft), "FROM attachments WHERE revision_id = " OF,
         "INSERT INTO attachments (revision_id, file_id, name, mime)"
         " SELECT " OF ", (SELECT min(id) FROM files), 'x', 'image/png' FROM n",
         attach},
        {BOUND_ATTACHMENT_LARGEST, NO_ID, NULL, NULL, attach_large},
        {BOUND_LINES_MOST, NO_ID, "FROM lines",
         "INSERT INTO lines (model, model_key, version, edited_at)"
         " SELECT 'x ' || i, 'X ' || i, 1, 1 FROM n",
         make_line},
        {BOUND_PACKING_LISTS_MOST, NO_ID, "FROM packing_lists",
         "INSERT INTO packing_lists (name, name_key, subkit, title, valid_from, valid_to)"
         " SELECT 'x ' || i, 'X ' || i, 'x ' || i, '', '', '' FROM n",
         import_list},
        {BOUND_NUMBER_CHANGES_MOST, NO_ID, "FROM number_changes",
         "INSERT INTO number_changes (old, old_key, later)"
         " SELECT 'x ' || i, 'X ' || i, 'y' FROM n",
         import_change},
        {BOUND_STOCK_CODES_MOST, NO_ID, "FROM stock_codes",
         "INSERT INTO stock_codes (code, code_key, title)"
         " SELECT 'x ' || i, 'X ' || i, '' FROM n",
         import_stock},
};
#define ROWS (sizeof rows / sizeof *rows)

static int64_t id_of(const struct world *w, size_t place)
{
	int64_t id = 0;

	if (place != NO_ID)
		memcpy(&id, (const char *)w + place, sizeof id);
	return id;
}

static int64_t counted(struct world *w, const struct row *row)
{
	char sql[200];

	snprintf(sql, sizeof sql, "SELECT count(*) %s", row->counted);
	return sql_number(w->store, sql);
}

/* One below the limit. Rows that others hang on, notes and the like, need not be there. */
static void fill(struct world *w, const struct row *row)
{
	char sql[1200];
	int64_t there;

	snprintf(sql, sizeof sql,
	         "CREATE TEMP TABLE IF NOT EXISTS fill (of INTEGER, more INTEGER, now INTEGER);"
	         "DELETE FROM fill; INSERT INTO fill VALUES (%" PRId64 ", 0, %d)",
	         id_of(w, row->of), NOW);
	sql_exec(w->store, sql);
	there = counted(w, row);
	assert_in_range(there, 0, bounds[row->bound].limit - 1);
	snprintf(sql, sizeof sql, "UPDATE fill SET more = %" PRId64,
	         bounds[row->bound].limit - 1 - there);
	sql_exec(w->store, sql);
	snprintf(sql, sizeof sql, "PRAGMA foreign_keys = OFF; " NUMBERS "%s", row->fill);
	sql_exec(w->store, sql);
	if (row->bound == BOUND_HELPED_MOST)
		sql_exec(w->store, "INSERT INTO notes (id, notice_id, author, written_at, text)"
		                   " VALUES (9001, 1, 4, 1, 'x')");
	sql_exec(w->store, "PRAGMA foreign_keys = ON");
}

static void check_row(const struct row *row)
{
	const char *name = bounds[row->bound].name;
	void *state = NULL;
	struct world *w;
	struct text before = TEXT_EMPTY, after = TEXT_EMPTY;
	enum status status;

	assert_int_equal(world_make(&state), 0);
	w = state;
	if (row->counted)
		fill(w, row);
	store_act_for(w->store, w->ann.v, NOW);
	status = row->make(w, 0);
	if (status != ST_OK)
		fail_msg("%s: the last one that fits: %s", name, status_words(status));
	assert_null(bound_met(w->store));
	dump_database(w->store, &before);
	status = row->make(w, 1);
	dump_database(w->store, &after);
	if (row->gives_way) {
		assert_ok(status);
		assert_int_equal(counted(w, row), bounds[row->bound].limit);
	} else {
		if (status != ST_LIMIT)
			fail_msg("%s: one too many: %s", name, status_words(status));
		assert_ptr_equal(bound_met(w->store), &bounds[row->bound]);
		assert_string_equal(text_string(&before), text_string(&after));
	}
	store_act_for(w->store, 0, 0);
	assert_null(bound_met(w->store));
	text_free(&before);
	text_free(&after);
	world_end(&state);
}

static void each_holds_at_its_limit(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS; i++)
		check_row(&rows[i]);
}

static void each_is_tried(void **state)
{
	(void)state;
	for (size_t bound = 0; bound < BOUNDS_COUNT; bound++) {
		size_t tried = 0;

		for (size_t i = 0; i < ROWS; i++)
			tried += rows[i].bound == bound;
		if (!tried)
			fail_msg("%s is not tried", bounds[bound].name);
		assert_true(bounds[bound].limit > 0 && *bounds[bound].what && *bounds[bound].of);
		assert_true(*bounds[bound].then && bounds[bound].within >= 0);
	}
}

/* A day later there is room again; what lies ahead does not count. */
static void a_day_passes(void **state)
{
	struct world *w = *state;
	char text[20];

	for (int i = 0; i < NOTES_A_DAY; i++) {
		snprintf(text, sizeof text, "note %d", i);
		assert_ok(note_add(w->store, &w->on_one, w->sam, text, NOW, &(struct note_id){0}));
	}
	assert_int_equal(bound_room(w->store, BOUND_NOTES_A_DAY, w->sam.v, 1, NOW + 86399),
	                 ST_LIMIT);
	assert_ok(bound_room(w->store, BOUND_NOTES_A_DAY, w->sam.v, 1, NOW + 86400));
	assert_ok(bound_room(w->store, BOUND_NOTES_A_DAY, w->sam.v, 1, YEAR_BACK));
	assert_ok(bound_room(w->store, BOUND_NOTES_A_DAY, w->bob.v, 1, NOW));
	assert_ok(bound_room(w->store, BOUND_NOTES_A_DAY, w->sam.v, NOTES_A_DAY, NOW + 86400));
	assert_int_equal(
	        bound_room(w->store, BOUND_NOTES_A_DAY, w->sam.v, NOTES_A_DAY + 1, NOW + 86400),
	        ST_LIMIT);
}

/* Taking back what was entered goes on at the limit. */
static void withdrawing_goes_on(void **state)
{
	struct world *w = *state;
	struct record record = record_of(w->arena, "HF-SB-1", "first");
	struct kit_log_row row = {.corrects = w->log_last,
	                          .withdraws = true,
	                          .entry = {.day = NOW / 86400, .event = name_of(w->arena, "")},
	                          .entered_by = "Bob",
	                          .entered_at = NOW};

	record.corrects = w->last_record;
	sql_exec(w->store, "UPDATE kits SET records = 5000 WHERE id = 1");
	assert_int_equal(record_append(w->store, w->kit, &record, &(struct record_id){0}),
	                 ST_LIMIT);
	record.withdraws = true;
	assert_ok(record_append(w->store, w->kit, &record, &(struct record_id){0}));
	sql_exec(w->store, "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n"
	                   " WHERE i < 10000) INSERT INTO kit_log (kit_id, withdraws, day, hours,"
	                   " event, event_key, entered_by, entered_at)"
	                   " SELECT 1, 0, '2020-01-01', 1, '', '', 'x', 1 FROM n");
	assert_ok(kit_log_add(w->store, w->kit, &row, &(struct kit_log_id){0}));
}

static void the_handbook_prints_the_table(void **state)
{
	FILE *file = fopen(TESTS_DIR "/../deploy/README.md", "r");
	struct text table = TEXT_EMPTY, book = TEXT_EMPTY;
	char piece[4096];

	(void)state;
	assert_non_null(file);
	for (size_t len; (len = fread(piece, 1, sizeof piece, file)) > 0;)
		text_add_bytes(&book, piece, len);
	fclose(file);
	for (size_t i = 0; i < BOUNDS_COUNT; i++)
		text_printf(&table, "| %s | %" PRId64 " | %s%s | %s |\n", bounds[i].what,
		            bounds[i].limit, bounds[i].of, bounds[i].within ? " within a day" : "",
		            bounds[i].then);
	if (!strstr(text_string(&book), text_string(&table))) {
		print_message("%s", text_string(&table));
		fail_msg("deploy/README.md lacks this table");
	}
	text_free(&table);
	text_free(&book);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(each_holds_at_its_limit),
	        cmocka_unit_test(each_is_tried),
	        cmocka_unit_test_setup_teardown(a_day_passes, world_make, world_end),
	        cmocka_unit_test_setup_teardown(withdrawing_goes_on, world_make, world_end),
	        cmocka_unit_test(the_handbook_prints_the_table),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
