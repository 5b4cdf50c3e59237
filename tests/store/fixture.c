#include "fixture.h"

#include <stdlib.h>
#include <string.h>

struct name name_of(struct arena *arena, const char *text)
{
	struct name name;

	assert_ok(name_make(arena, text, strlen(text), &name));
	return name;
}

static struct serial serial_of(struct arena *arena, const char *text)
{
	struct serial serial;

	assert_ok(serial_make(arena, text, strlen(text), &serial));
	return serial;
}

static struct date_fact date_of(const char *text)
{
	struct date_fact fact = {.state = DATE_KNOWN};

	assert_ok(date_parse(text, strlen(text), &fact.date));
	return fact;
}

struct hash token_hash(const char *token)
{
	return hash_of(token, strlen(token));
}

struct revision_content content_of(const char *number, const char *label, const char *issued)
{
	static const struct line_text lines[] = {
	        {"WH-2207-1", "left", "WH-2207-3", DISPOSE_REPLACE, "3 thru 9", "look for cracks"},
	        {"WH-2207-1", "right", "WH-2207-3", DISPOSE_REPLACE, "", ""},
	};
	static const struct material_text material[] = {
	        {"Bolt", "2", "from the bag", "AN3-5A", ""},
	        {"Angle", "", "", "WH-AA-1", "2 x 14 1/2 in"}};
	static const char *const steps[] = {"14-3", "14-4"};
	static const char *const requires[] = {"HF-SB-9"};
	struct revision_content content = revision_content_empty;

	content.number = number;
	content.issuer = "Harrowfen";
	content.kind = KIND_SERVICE_BULLETIN;
	content.revision = label;
	content.title = "Elevator tube bushing";
	content.problem = "The bushing can rub the control tube.";
	content.action = "Fit the bronze bushing.";
	content.compliance = "Before first flight.";
	content.source = "Harrowfen letter";
	content.effectivity = "model Whimbrel\nserial WH-0101 thru WH-0145";
	content.force = FORCE_MANDATORY;
	content.issued = issued;
	content.plans_carry = "2019-05";
	content.due = "then\nevery 50 hours\nevery 12 calendar months\nwhichever first";
	content.lines = lines;
	content.n_lines = 2;
	content.material = material;
	content.n_material = 2;
	content.steps = (struct text_list){steps, 2};
	content.requires = (struct text_list){requires, 1};
	return content;
}

struct report_content report_of(const char *title, const char *part)
{
	/* One for each of the calls that a test may hold at once. */
	static const char *parts[8][2];
	static size_t next;
	const char **own = parts[next++ % 8];

	own[0] = part;
	own[1] = "WH-41";
	return (struct report_content){.title = title,
	                               .model = "Whimbrel T",
	                               .step = "14-4",
	                               .zone = "tail box",
	                               .seen = "The rivets in the tube bushing turn.",
	                               .look = "Lamp and mirror through the hole.",
	                               .severity = SEVERITY_GROWS,
	                               .effectivity = "model Whimbrel T",
	                               .parts = {own, 2}};
}

struct record record_of(struct arena *arena, const char *notice, const char *part)
{
	return (struct record){
	        .notice = name_of(arena, notice),
	        .revision = name_of(arena, "A"),
	        .part = name_of(arena, part),
	        .position = name_of(arena, "left"),
	        .done = date_of("2019-05").date,
	        .method = "replaced",
	        .by = "Bob Wren",
	        .signed_as = "",
	        .has_hours = true,
	        .hours = 12350,
	        .remarks = "",
	        .entered_by = "Bob",
	        .entered_at = NOW,
	};
}

/* Two sections; 14-4 needs and closes over 14-3. */
struct line_entry line_entry_of(struct arena *arena, const char *model)
{
	struct section_entry *sections = ARENA_ARRAY(arena, struct section_entry, 2);
	struct step_entry *steps = ARENA_ARRAY(arena, struct step_entry, 3);
	struct name *names = ARENA_ARRAY(arena, struct name, 4);

	names[0] = name_of(arena, "WH-2207-1");
	names[1] = name_of(arena, "WH-2208");
	names[2] = name_of(arena, "tail box");
	names[3] = name_of(arena, "14-3");
	steps[0] = (struct step_entry){.code = names[3],
	                               .title = "Spars and ribs",
	                               .hours = 1250,
	                               .hours_to_open = LINE_HOURS_NOT_STATED,
	                               .parts = names,
	                               .n_parts = 2,
	                               .works_in = &names[2],
	                               .n_works_in = 1};
	steps[1] = (struct step_entry){.code = name_of(arena, "14-4"),
	                               .title = "Skins",
	                               .hours = 900,
	                               .hours_to_open = 2200,
	                               .needs = &names[3],
	                               .n_needs = 1,
	                               .closes = &names[2],
	                               .n_closes = 1};
	steps[2] = (struct step_entry){
	        .code = name_of(arena, "15-1"), .title = "Canopy", .hours_to_open = 0};
	sections[0] = (struct section_entry){name_of(arena, "14"), "Tail", steps, 2};
	sections[1] = (struct section_entry){name_of(arena, "15"), "Cabin", steps + 2, 1};
	return (struct line_entry){name_of(arena, model), sections, 2};
}

static void fill_lists(struct arena *arena, struct facts *facts)
{
	struct option_fact *options = ARENA_ARRAY(arena, struct option_fact, 2);
	struct subkit_fact *subkits = ARENA_ARRAY(arena, struct subkit_fact, 2);
	struct part_fact *parts = ARENA_ARRAY(arena, struct part_fact, 2);
	struct name *names = ARENA_ARRAY(arena, struct name, 2);
	struct step_plans *step_plans = ARENA_ARRAY(arena, struct step_plans, 1);
	struct step_date *step_dates = ARENA_ARRAY(arena, struct step_date, 1);

	options[0] = (struct option_fact){name_of(arena, "tailwheel"), true};
	options[1] = (struct option_fact){name_of(arena, "Night lights"), false};
	subkits[0] = (struct subkit_fact){name_of(arena, "4"), true, date_of("2013-02-28")};
	subkits[1] = (struct subkit_fact){name_of(arena, "5"), false, {.state = DATE_NEVER}};
	parts[0] = (struct part_fact){.number = name_of(arena, "WH-2207-1"),
	                              .position = name_of(arena, "left"),
	                              .has_lot = true,
	                              .lot = serial_of(arena, "7")};
	parts[1] = (struct part_fact){.number = name_of(arena, "WH-2207-1"),
	                              .has_serial = true,
	                              .serial = serial_of(arena, "L-6182-76")};
	names[0] = name_of(arena, "14-3");
	names[1] = name_of(arena, "HF-SB-0");
	step_plans[0] = (struct step_plans){name_of(arena, "14-3"), date_of("2020")};
	facts->options = options;
	facts->subkits = subkits;
	facts->parts = parts;
	facts->steps_done = &names[0];
	facts->notices_done = &names[1];
	facts->step_plans = step_plans;
	step_dates[0] = (struct step_date){names[0], date_of("2019-07-06")};
	facts->step_dates = step_dates;
}

struct facts facts_full(struct arena *arena)
{
	struct facts facts = {
	        .model = name_of(arena, "Whimbrel T"),
	        .has_serial = true,
	        .serial = serial_of(arena, "WH-0102"),
	        .has_hours = true,
	        .hours = 12350,
	        .has_landings = true,
	        .landings = 0,
	        .parts_known = true,
	        .steps_known = true,
	        .purchased = date_of("2014-04"),
	        .plans = date_of("2011"),
	        .first_flight = {.state = DATE_NEVER},
	        .n_options = 2,
	        .n_subkits = 2,
	        .n_parts = 2,
	        .n_steps_done = 1,
	        .n_notices_done = 1,
	        .n_step_plans = 1,
	        .n_step_dates = 1,
	};

	fill_lists(arena, &facts);
	return facts;
}

static struct member_id add_member(struct world *w, const char *login, enum role role)
{
	struct member_id id;

	assert_ok(member_add(w->store, &(struct member_entry){login, login, "$hash$", role}, NOW,
	                     &id));
	return id;
}

static void add_people(struct world *w)
{
	struct session_entry session = {.token = token_hash("session"),
	                                .label = "a browser",
	                                .idle_until = NOW + 100,
	                                .ends_at = NOW + 200};
	struct invite_entry invite = {.token = token_hash("invite"),
	                              .role = ROLE_BUILDER,
	                              .label = "for Cleo",
	                              .expires_at = NOW + 100};

	w->ann = add_member(w, "ann", ROLE_ADMIN);
	w->sam = add_member(w, "sam", ROLE_STEWARD);
	w->sue = add_member(w, "sue", ROLE_STEWARD);
	w->bob = add_member(w, "Bob", ROLE_BUILDER);
	w->invite = invite.token;
	w->session = session.token;
	w->token = token_hash("token");
	invite.made_by = w->ann;
	session.member = w->bob;
	assert_ok(invite_add(w->store, &invite, NOW, &w->invite_id));
	w->reset = token_hash("offered");
	assert_ok(reset_offer(w->store, w->bob, &w->reset, NOW + 9));
	assert_ok(session_add(w->store, &session, NOW, &w->session_id));
	assert_ok(api_token_add(w->store, w->bob, &w->token, "my script", NOW, NOW + 1000,
	                        &w->token_id));
	assert_ok(sign_in_failed(w->store, "bob", NOW));
}

static void add_notices(struct world *w)
{
	static const char *const credits[] = {""};
	struct revision_content pair[2] = {content_of("HF-SB-1", "", "2015-03-01"),
	                                   content_of("HF-SB-1", "A", "2016-03-01")};
	struct revision_content other = content_of("HF-SB-2", "", "2014");
	struct revision_content draft = content_of("HF-SB-3", "", "2017");
	struct revision_content checking = content_of("HF-SB-4", "", "2018");
	struct attachment_entry file = {"sheet.pdf", "application/pdf", "%PDF", 4};

	pair[1].credits = (struct text_list){credits, 1};
	assert_ok(notice_import(w->store, &(struct notice_import){pair, 2, "", ""}, w->sam, NOW,
	                        &w->one));
	assert_ok(notice_import(w->store,
	                        &(struct notice_import){&other, 1, "2014", "withdrawn by issuer"},
	                        w->sam, NOW, &w->two));
	w->one_first.v = 1;
	w->one_current.v = 2;
	assert_ok(draft_new_notice(w->store, &draft, w->sam, NOW, &w->draft));
	assert_ok(attachment_add(w->store, w->draft, &file, w->sam, NOW, &w->attachment));
	assert_ok(draft_new_notice(w->store, &checking, w->sam, NOW, &w->checking));
	assert_ok(draft_submit(w->store, w->checking, w->sam, NOW));
}

/* What the facts say of hours and landings, and an entry that is corrected. */
static void add_log(struct world *w, const struct facts *facts)
{
	struct kit_log_row row = {.entry = {.day = NOW / 86400 - 10,
	                                    .has = {true, true},
	                                    .total = {facts->hours - 100, 7},
	                                    .event = name_of(w->arena, "annual inspection")},
	                          .entered_by = "Bob",
	                          .entered_at = NOW};
	struct planned_event planned = {.event = name_of(w->arena, "annual inspection"),
	                                .has_day = true,
	                                .day = NOW / 86400 + 300};

	assert_ok(kit_log_add(w->store, w->kit, &row, &w->log_first));
	row.corrects = w->log_first;
	row.entry.total[USE_LANDINGS] = 0;
	assert_ok(kit_log_add(w->store, w->kit, &row, &w->log_last));
	row.corrects.v = 0;
	row.entry.day += 5;
	row.entry.total[USE_HOURS] = facts->hours;
	row.entry.event = name_of(w->arena, "");
	assert_ok(kit_log_add(w->store, w->kit, &row, &w->log_last));
	assert_ok(kit_plan_event(w->store, w->kit, &planned));
}

static void add_note(struct world *w)
{
	struct picture_size size = {"image/jpeg", 4, 3, "jpeg", 4};
	struct picture_entry picture = {"the bushing", size, size};
	struct picture_of of = {{0}, {0}, {0}};

	w->on_one = note_on_notice(w->one);
	assert_ok(note_add(w->store, &w->on_one, w->bob, "Fits **well**.", NOW, &w->note));
	assert_ok(call_add(w->store, &(struct call_to){.note = w->note}, w->ann, "Is it so?", NOW,
	                   &w->call));
	of.note = w->note;
	assert_ok(pictures_add(w->store, &of, w->bob, &picture, 1, NOW));
	w->picture.v = 1;
}

static void add_kits(struct world *w)
{
	struct facts facts = facts_full(w->arena);
	struct record record = record_of(w->arena, "HF-SB-1", "WH-2207-1");
	struct line_entry line = line_entry_of(w->arena, "whimbrel t");

	assert_ok(line_save(w->store, &line, 0, w->sam, NOW, &w->line));
	assert_ok(kit_add(w->store, w->bob, "Blue one", NOW, &w->kit));
	assert_ok(kit_add(w->store, w->bob, "Bare one", NOW, &w->bare_kit));
	assert_ok(kit_set_facts(w->store, w->kit, &facts));
	assert_ok(kit_set_shown(w->store, w->kit, true));
	add_log(w, &facts);
	assert_ok(record_append(w->store, w->kit, &record, &w->record));
	assert_ok(record_append(w->store, w->kit, &record, &w->last_record));
	record.corrects = w->record;
	record.withdraws = true;
	assert_ok(record_append(w->store, w->kit, &record, &w->last_record));
	assert_ok(reading_mark(w->store, w->kit, w->one, w->one_current, NOW));
	add_note(w);
}

static struct packing_list list_of(struct arena *arena, const char *name, const char *from,
                                   const char *to)
{
	struct packing_list list = {.name = name_of(arena, name),
	                            .subkit = name_of(arena, "4"),
	                            .title = "Fuselage",
	                            .n_models = 2,
	                            .n_parts = 2};
	struct name *models = ARENA_ARRAY(arena, struct name, 2);
	struct packed_part *parts = ARENA_ARRAY(arena, struct packed_part, 2);

	models[0] = name_of(arena, "Whimbrel");
	models[1] = name_of(arena, "Whimbrel T");
	parts[0] = (struct packed_part){name_of(arena, "WH-2207-1"), name_of(arena, ""), 2000,
	                                "1107", "left and right"};
	parts[1] =
	        (struct packed_part){name_of(arena, "WH-41"), name_of(arena, "ft"), 2500, "", ""};
	list.models = models;
	list.parts = parts;
	if (from && date_parse(from, strlen(from), &list.from.date) == ST_OK)
		list.from.state = DATE_KNOWN;
	if (to && date_parse(to, strlen(to), &list.to.date) == ST_OK)
		list.to.state = DATE_KNOWN;
	return list;
}

struct parts_source parts_of(struct arena *arena)
{
	struct packing_list *lists = ARENA_ARRAY(arena, struct packing_list, 2);
	struct number_change *change = ARENA_NEW(arena, struct number_change);
	struct stock_code *stock = ARENA_NEW(arena, struct stock_code);
	struct stock_length *lengths = ARENA_ARRAY(arena, struct stock_length, 2);

	lists[0] = list_of(arena, "PL-04 A", NULL, "2013-12");
	lists[1] = list_of(arena, "PL-04 B", "2014", NULL);
	*change = (struct number_change){name_of(arena, "WH-2207-1"), name_of(arena, "WH-2207-2")};
	lengths[0] = (struct stock_length){.text = "72 in", .has_price = true, .price = 1450};
	lengths[1] = (struct stock_length){.text = "3 m"};
	*stock = (struct stock_code){name_of(arena, "AA-1"), "angle", lengths, 2};
	return (struct parts_source){lists, change, stock, 2, 1, 1};
}

struct stock_entry stock_of(struct arena *arena, const char *number, enum stock_act act)
{
	return (struct stock_entry){.number = name_of(arena, number),
	                            .unit = name_of(arena, ""),
	                            .act = act,
	                            .quantity = 1000,
	                            .remark = ""};
}

static void add_parts(struct world *w)
{
	const struct parts_source source = parts_of(w->arena);
	const struct stock_entry entry = stock_of(w->arena, "WH-2207-1", STOCK_USED);
	const struct kit_length length = {.use = LENGTH_WANTED,
	                                  .stock = name_of(w->arena, "AA-1"),
	                                  .cut = "2 x 3 in",
	                                  .remark = ""};

	assert_ok(parts_import(w->store, &source));
	assert_ok(kit_stock_add(w->store, w->kit, &entry, NOW));
	assert_ok(kit_length_add(w->store, w->kit, &length));
}

static void add_reports(struct world *w)
{
	struct report_content first = report_of("Loose rivets in the tube bushing", "WH-2207-1");
	struct report_content second = report_of("Bushing moves by hand", "WH-2208");
	struct finding_entry entry = {.kit = w->bare_kit,
	                              .author = w->bob,
	                              .answer = ANSWER_NOT_THERE,
	                              .credit = CREDIT_MEMBERS,
	                              .remark = "All **tight**."};

	assert_ok(report_add(w->store, &first, w->kit, w->bob, CREDIT_EVERYBODY, NOW, &w->report));
	assert_ok(report_add(w->store, &second, w->bare_kit, w->bob, CREDIT_NOBODY, NOW + 1,
	                     &w->repeat));
	second.seen = "The rivets in the tube bushing turn again."; /* not the same form again */
	assert_ok(report_add(w->store, &second, w->bare_kit, w->bob, CREDIT_NOBODY, NOW + 1,
	                     &w->merged));
	second.seen = "The rivets in the tube bushing turn still.";
	assert_ok(report_merge(w->store, w->merged, w->repeat, w->sam, NOW + 1));
	assert_ok(report_add(w->store, &second, w->bare_kit, w->bob, CREDIT_NOBODY, NOW + 1,
	                     &w->removed));
	assert_ok(report_remove(w->store, w->removed, w->bob, "twice", NOW + 1));
	entry.report = w->report;
	assert_ok(finding_add(w->store, &entry, NOW + 2, &w->finding));
}

int world_make(void **state)
{
	struct world *w = calloc(1, sizeof *w);

	assert_non_null(w);
	w->arena = arena_new();
	assert_non_null(w->arena);
	assert_ok(store_open(":memory:", &w->store));
	add_people(w);
	add_notices(w);
	add_kits(w);
	add_parts(w);
	add_reports(w);
	assert_ok(copy_enter(w->store, &(struct copy_entry){NOW, 9, "/copies/good.db", ""}));
	assert_ok(copy_enter(w->store, &(struct copy_entry){NOW, 0, "/copies/bad.db", "full"}));
	*state = w;
	return 0;
}

void assert_sealed(struct store *store)
{
	struct seal_report report = {.shown = 0};
	struct text words = TEXT_EMPTY;
	enum status status = seals_check(store, SEAL_WITH_FILES, &report);

	for (size_t i = 0; i < report.shown; i++)
		seal_fault_words(&report.faults[i], &words);
	if (status != ST_OK)
		fail_msg("%s: %s", status_words(status), text_string(&words));
}

int world_end(void **state)
{
	struct world *w = *state;

	assert_sealed(w->store);
	store_close(w->store);
	arena_free(w->arena);
	free(w);
	return 0;
}

static int dump_row(void *context, int columns, char **values, char **names)
{
	struct text *out = context;

	for (int i = 0; i < columns; i++)
		text_printf(out, "%s=%s|", names[i], values[i] ? values[i] : "NULL");
	text_add_char(out, '\n');
	return 0;
}

static void dump_table(struct store *store, const char *table, struct text *out)
{
	char *sql = sqlite3_mprintf("SELECT * FROM %Q", table);

	text_printf(out, "-- %s\n", table);
	assert_int_equal(sqlite3_exec(store->db, sql, dump_row, out, NULL), SQLITE_OK);
	sqlite3_free(sql);
}

void dump_database(struct store *store, struct text *out)
{
	sqlite3_stmt *tables;

	assert_int_equal(sqlite3_prepare_v2(store->db,
	                                    "SELECT name FROM sqlite_schema WHERE type = 'table'"
	                                    " ORDER BY name",
	                                    -1, &tables, NULL),
	                 SQLITE_OK);
	while (sqlite3_step(tables) == SQLITE_ROW)
		dump_table(store, (const char *)sqlite3_column_text(tables, 0), out);
	sqlite3_finalize(tables);
	assert_false(text_failed(out));
}

void sql_exec(struct store *store, const char *sql)
{
	char *fault = NULL;

	if (sqlite3_exec(store->db, sql, NULL, NULL, &fault) != SQLITE_OK)
		fail_msg("%s: %s", sql, fault);
}

int64_t sql_number(struct store *store, const char *sql)
{
	sqlite3_stmt *stmt;
	int64_t number;

	assert_int_equal(sqlite3_prepare_v2(store->db, sql, -1, &stmt, NULL), SQLITE_OK);
	assert_int_equal(sqlite3_step(stmt), SQLITE_ROW);
	number = sqlite3_column_int64(stmt, 0);
	sqlite3_finalize(stmt);
	return number;
}
