/* The operations themselves; the table is at the end. */
#include "operations.h"

#include <stdio.h>
#include <string.h>

#define PAGE ((struct page){9, 0})

/* An operation that asks for no arena. */
#define WRITING(name, call)                                                                        \
	static enum status op_##name(struct world *w, struct arena *arena)                         \
	{                                                                                          \
		(void)arena;                                                                       \
		return (call);                                                                     \
	}

/* One that reads a whole list, or a page of one. */
#define LISTING(name, type, call)                                                                  \
	static enum status op_##name(struct world *w, struct arena *arena)                         \
	{                                                                                          \
		const struct type *list;                                                           \
		size_t count;                                                                      \
		int64_t total;                                                                     \
                                                                                                   \
		(void)total;                                                                       \
		return (call);                                                                     \
	}

static const struct act_filter all_acts = {ACTS_ALL, {0}, {0}, 0, INT64_MAX};
static const unsigned char factor_secret[SECOND_SECRET_SIZE] = "12345678901234567890";
static const struct hash factor_codes[RECOVERY_CODES] = {{{0}}, {{1}}, {{2}}, {{3}}, {{4}},
                                                         {{5}}, {{6}}, {{7}}, {{8}}, {{9}}};
static struct member_entry new_member = {"new", "N", "p", ROLE_BUILDER};
static struct attachment_entry new_file = {"b.png", "image/png", "png", 3};

static const struct picture_entry new_pictures[2] = {
        {"one", {"image/jpeg", 2, 1, "large", 5}, {"image/png", 1, 1, "small", 5}},
        {"", {"image/jpeg", 2, 1, "other", 5}, {"image/png", 1, 1, "small", 5}}};

static const struct kit_log_row new_entry = {
        .entry = {.day = NOW / 86400, .has = {true, true}, .total = {20000, 90}},
        .entered_by = "Bob",
        .entered_at = NOW};
static const struct planned_event no_wash = {.event = {"wash", "WASH", 4, 1}};
static const struct planned_event next_wash = {
        .event = {"wash", "WASH", 4, 1}, .has_hours = true, .hours = 20000};

static const struct name tail_model = {"Whimbrel T", "WHIMBREL T", 10, 1};
static const struct name tail_step = {"14-4", "14-4", 4, 1}, done_step = {"14-3", "14-3", 4, 1};

static int64_t newest_news(struct world *w, struct member_id member)
{
	char sql[80];

	snprintf(sql, sizeof sql, "SELECT max(id) FROM news WHERE member_id = %d", (int)member.v);
	return sql_number(w->store, sql);
}

WRITING(member_add, member_add(w->store, &new_member, NOW, &(struct member_id){0}))
WRITING(member_register,
        member_register(w->store, &w->invite, &new_member, NOW, &(struct member_id){0}))
WRITING(member_remove, member_remove(w->store, w->bob, NOW))
WRITING(feed_link_make, feed_link_make(w->store, w->bob, &w->invite, NOW))
WRITING(member_disable, member_set_disabled(w->store, w->bob, true))
WRITING(reset_offer, reset_offer(w->store, w->bob, &w->invite, NOW + 9))
WRITING(reset_use, reset_use(w->store, &w->reset, "new", NOW, &(struct member_id){0}))
LISTING(member_list, member, member_list(w->store, arena, PAGE, &list, &count, &total))
LISTING(invite_list, invite, invite_list(w->store, arena, PAGE, &list, &count, &total))
LISTING(session_list, session, session_list(w->store, arena, w->bob, NOW, &list, &count))
WRITING(draft_new_revision,
        draft_new_revision(w->store, w->one, w->sam, NOW, &(struct revision_id){0}))
WRITING(kit_log_add, kit_log_add(w->store, w->kit, &new_entry, &(struct kit_log_id){0}))
WRITING(kit_plan_event, kit_plan_event(w->store, w->kit, &next_wash))
WRITING(kit_forget_event, kit_plan_event(w->store, w->kit, &no_wash))
LISTING(kit_log_list, kit_log_row, kit_log_list(w->store, arena, w->kit, &list, &count))
WRITING(draft_submit, draft_submit(w->store, w->draft, w->sam, NOW))
WRITING(draft_send_back, draft_send_back(w->store, w->checking, w->sam, "lots", NOW))
WRITING(draft_publish, draft_publish(w->store, w->checking, 1, w->sue, NOW))
WRITING(draft_discard, draft_discard(w->store, w->draft, w->sue, NOW))
WRITING(notice_cancel, notice_cancel(w->store, w->one, "2020", "replaced", w->sue, NOW))
WRITING(attachment_add,
        attachment_add(w->store, w->draft, &new_file, w->sue, NOW, &(struct attachment_id){0}))
WRITING(attachment_remove, attachment_remove(w->store, w->attachment, w->sue, NOW))
LISTING(revision_list, notice_row, revision_list(w->store, arena, w->one, &list, &count))
LISTING(draft_list, notice_row, draft_list(w->store, arena, PAGE, &list, &count, &total))
LISTING(notice_load, notice, notice_load(w->store, arena, &list, &count, &total))
LISTING(latest_list, latest_notice, latest_list(w->store, arena, 9, &list, &count))
LISTING(log_list, log_entry, log_list(w->store, arena, w->one, PAGE, &list, &count, &total))
WRITING(bound_room, bound_room(w->store, BOUND_KITS_MOST, w->bob.v, 1, NOW))
WRITING(bound_room_day, bound_room(w->store, BOUND_NOTES_A_DAY, w->bob.v, 1, NOW))
WRITING(kit_add, kit_add(w->store, w->bob, "Third", NOW, &(struct kit_id){0}))
LISTING(kit_list, kit, kit_list(w->store, arena, w->bob, &list, &count))
WRITING(kit_remove, kit_remove(w->store, w->kit))
WRITING(reading_mark, reading_mark(w->store, w->kit, w->one, w->one_first, NOW + 7))
WRITING(reading_unmark, reading_unmark(w->store, w->kit, w->one))
LISTING(reading_list, reading, reading_list(w->store, arena, w->kit, &list, &count))
LISTING(record_list, record, record_list(w->store, arena, w->kit, &list, &count))
WRITING(record_verify,
        record_verify(w->store, (struct kit_id){0}, &(int64_t){0}, &(struct chain_fault){0}))
WRITING(line_remove, line_remove(w->store, w->line, 1))
WRITING(line_of_model, line_of_model(w->store, &tail_model, &(struct line_id){0}))
LISTING(line_list, line_head, line_list(w->store, arena, &list, &count))
WRITING(kit_mark_steps, kit_mark_steps(w->store, w->kit, &tail_step, 1, &(struct date_fact){0}))
WRITING(kit_unmark_steps, kit_unmark_steps(w->store, w->kit, &done_step, 1))
WRITING(kit_set_steps_known, kit_set_steps_known(w->store, w->kit, false))
WRITING(note_add, note_add(w->store, &w->on_one, w->bob, "text", NOW, &(struct note_id){0}))
WRITING(note_answer, note_answer(w->store, w->note, w->sam, "text", NOW, &(struct note_id){0}))
WRITING(note_edit, note_edit(w->store, w->note, w->bob, "other", NOW))
WRITING(note_remove, note_remove(w->store, w->note, w->bob, NOW))
WRITING(pictures_add,
        pictures_add(w->store, &(struct picture_of){.note = w->note}, w->bob, new_pictures, 2, NOW))
WRITING(pictures_day, pictures_day(w->store, w->bob, 1, NOW))
WRITING(picture_remove, picture_remove(w->store, w->picture, w->bob))
LISTING(picture_list, picture_row,
        picture_list(w->store, arena, &(struct picture_of){.note = w->note}, 1, &list, &count))
LISTING(picture_list_by, picture_row, picture_list_by(w->store, arena, w->bob, &list, &count))
WRITING(note_set_helped, note_set_helped(w->store, w->note, w->sam, true))
LISTING(note_list, note,
        note_list(w->store, arena, &(struct note_query){.of = w->on_one, .page = PAGE}, &list,
                  &count, &total))
LISTING(note_list_part, note,
        note_list(w->store, arena,
                  &(struct note_query){.of = {NOTE_ON_PART, {0}, "", "WH-1"}, .page = PAGE}, &list,
                  &count, &total))
LISTING(note_answers, note,
        note_answers(w->store, arena, w->note, w->bob, PAGE, &list, &count, &total))
LISTING(note_history, note_before,
        note_history(w->store, arena, w->note, PAGE, &list, &count, &total))
LISTING(note_find, note_found,
        note_find(w->store, arena, &(struct note_search){"fits", {0}, PAGE}, &list, &count, &total))
LISTING(note_latest, note_found,
        note_find(w->store, arena, &(struct note_search){"", w->bob, PAGE}, &list, &count, &total))
WRITING(call_add, call_add(w->store, &(struct call_to){.note = w->note}, w->sam, "rude", NOW,
                           &(struct call_id){0}))
LISTING(call_list, call, call_list(w->store, arena, PAGE, &list, &count, &total))
WRITING(calls_waiting, calls_waiting(w->store, &(int64_t){0}))

static enum status op_note_read(struct world *w, struct arena *arena)
{
	struct note note;

	return note_read(w->store, arena, w->note, w->bob, &note);
}

static enum status op_call_close(struct world *w, struct arena *arena)
{
	(void)arena;
	return call_close(w->store, w->call, w->sue, true, "gone", NOW);
}

static enum status op_call_read(struct world *w, struct arena *arena)
{
	struct call call;

	return call_read(w->store, arena, w->call, &call);
}

static enum status op_picture_read(struct world *w, struct arena *arena)
{
	struct picture_row row;

	return picture_read(w->store, arena, w->picture, false, &row);
}

static enum status op_picture_bytes(struct world *w, struct arena *arena)
{
	struct picture_size size;

	return picture_bytes(w->store, arena, w->picture, true, false, &size);
}

WRITING(report_remove, report_remove(w->store, w->report, w->bob, "twice", NOW))
WRITING(report_put_back, report_put_back(w->store, w->removed, w->sam, NOW))
WRITING(report_merge, report_merge(w->store, w->repeat, w->report, w->sam, NOW))
WRITING(report_part, report_part(w->store, w->merged, w->sam, NOW))
WRITING(report_link, report_link(w->store, w->report, w->one, w->sam, NOW))
WRITING(finding_remove_remark, finding_remove_remark(w->store, w->finding, w->bob, NOW))
LISTING(finding_list, finding_row, finding_list(w->store, arena, w->report, &list, &count))
LISTING(report_log, report_log_entry, report_log(w->store, arena, w->repeat, &list, &count))
LISTING(report_merged, report, report_merged(w->store, arena, w->report, &list, &count))
LISTING(report_list_by, report, report_list_by(w->store, arena, w->bob, &list, &count))
WRITING(finding_facts, finding_facts(w->store, arena, (struct finding_id){1},
                                     &(struct facts){.parts_known = false}))
LISTING(finding_list_by, finding_row, finding_list_by(w->store, arena, w->bob, &list, &count))

static enum status op_report_add(struct world *w, struct arena *arena)
{
	struct report_content content = report_of("Nut lacks its pin", "WH-7");
	struct report_id id;

	(void)arena;
	return report_add(w->store, &content, w->kit, w->bob, CREDIT_MEMBERS, NOW, &id);
}

static enum status op_report_edit(struct world *w, struct arena *arena)
{
	struct report_content content = report_of("Nut lacks its pin", "WH-7");

	(void)arena;
	return report_edit(w->store, w->report, &content, w->bob, NOW);
}

WRITING(report_set_credit, report_set_credit(w->store, w->report, CREDIT_NOBODY, w->bob))

/* The kit has a new version, so that its facts are copied. */
static enum status op_finding_add(struct world *w, struct arena *arena)
{
	struct finding_entry entry = {.report = w->repeat,
	                              .kit = w->kit,
	                              .author = w->bob,
	                              .answer = ANSWER_FOUND,
	                              .remark = "Here too."};
	struct finding_id id;

	(void)arena;
	return finding_add(w->store, &entry, NOW, &id);
}

static enum status op_report_read(struct world *w, struct arena *arena)
{
	struct report report;

	return report_read(w->store, arena, w->report, &report);
}

static enum status op_report_search(struct world *w, struct arena *arena)
{
	struct report_query query = report_query_all;
	const struct report_row *rows;
	size_t count;
	int64_t total;

	query.words = "bushi";
	return report_search(w->store, arena, &query, &rows, &count, &total);
}

static enum status op_report_like(struct world *w, struct arena *arena)
{
	static const char *const part = "WH-2208";
	const struct report_row *rows;
	size_t count;

	return report_like(w->store, arena, "Whimbrel T", "the tube bushing",
	                   &(struct text_list){&part, 1}, 5, &rows, &count);
}

static const struct told told_rows[1] = {{{1}, {2}, STANDING_OPEN, false}};

WRITING(news_add,
        news_add(w->store, &(struct news_entry){.member = w->bob, .kit = w->kit, .words = ""}, NOW))
WRITING(news_mark_seen, news_mark_seen(w->store, w->bob, newest_news(w, w->bob)))
WRITING(news_set_mailed, news_set_mailed(w->store, w->bob, false, 9))
LISTING(news_list, news, news_list(w->store, arena, w->bob, 0, 9, &list, &count))
LISTING(news_to_mail, news, news_to_mail(w->store, arena, w->bob, false, 9, &list, &count))
LISTING(told_stale, kit_id, told_stale(w->store, arena, 1, 1, (struct kit_id){0}, 9, &list, &count))
LISTING(news_reports_new, report_id,
        news_reports_new(w->store, arena, (struct report_id){0}, 9, &list, &count))
LISTING(news_reports_changed, report_change,
        news_reports_changed(w->store, arena, (struct report_id){0}, 9, &list, &count))

WRITING(kit_set_shown, kit_set_shown(w->store, w->kit, false))
WRITING(kit_set_named, kit_set_named(w->store, w->kit, true))
LISTING(shown_list, shown_kit, shown_list(w->store, arena, "blue", PAGE, &list, &count, &total))
LISTING(told_stale_of, kit_id, told_stale_of(w->store, arena, w->bob, 1, 1, &list, &count))
WRITING(news_tell_report, news_tell_report(w->store, w->report, NULL, 0, NOW))
WRITING(news_tell_state,
        news_tell_state(w->store, &(struct report_change){.id = w->report, .now = 1}, "why", NOW))

static enum status op_point_out(struct world *w, struct arena *arena)
{
	struct pointing pointing = {w->kit, w->sam, w->one, {0}, "look"};

	(void)arena;
	return point_out(w->store, &pointing, NOW);
}

static enum status op_told_read(struct world *w, struct arena *arena)
{
	struct told_mark mark;
	const struct told *rows;
	size_t count;

	return told_read(w->store, arena, w->kit, &mark, &rows, &count);
}

static enum status op_told_replace(struct world *w, struct arena *arena)
{
	struct news_entry entry = {.member = w->bob, .notice = w->one, .words = "why"};
	struct told_step step = {.kit = w->kit,
	                         .after = {1, 2, 3},
	                         .rows = told_rows,
	                         .n_rows = 1,
	                         .news = &entry,
	                         .n_news = 1};

	(void)arena;
	return told_replace(w->store, &step, NOW);
}

static enum status op_member_password(struct world *w, struct arena *arena)
{
	struct member member;
	const char *password;

	return member_password(w->store, arena, "bob", &member, &password);
}

static enum status op_session_find(struct world *w, struct arena *arena)
{
	struct session session;

	return session_find(w->store, arena, &w->session, NOW, &session);
}

static enum status op_feed_link_find(struct world *w, struct arena *arena)
{
	struct member_id id;
	enum status status = feed_link_find(w->store, &w->session, &id);

	(void)arena;
	return status == ST_MISSING ? ST_OK : status;
}

static enum status op_setting(struct world *w, struct arena *arena)
{
	const char *text;

	return setting_text(w->store, arena, SETTING_ADDRESS, &text);
}

static enum status op_draft_new_notice(struct world *w, struct arena *arena)
{
	struct revision_content content = content_of("NEW-1", "", "2020");
	struct revision_id id;

	(void)arena;
	return draft_new_notice(w->store, &content, w->sam, NOW, &id);
}

static enum status op_draft_save(struct world *w, struct arena *arena)
{
	struct revision_content content = content_of("HF-SB-3", "x", "2020");
	bool stale;

	(void)arena;
	return draft_save(w->store, w->draft, 3, &content, w->sue, NOW, &stale);
}

static enum status op_notice_import(struct world *w, struct arena *arena)
{
	struct revision_content pair[2] = {content_of("NEW-1", "", "2015"),
	                                   content_of("NEW-1", "A", "2016")};
	struct notice_id id;

	(void)arena;
	return notice_import(w->store, &(struct notice_import){pair, 2, "2020", "old"}, w->sam, NOW,
	                     &id);
}

static enum status op_attachment_read(struct world *w, struct arena *arena)
{
	struct attachment attachment;
	const void *bytes;

	return attachment_read(w->store, arena, w->attachment, &attachment, &bytes);
}

static enum status op_revision_read(struct world *w, struct arena *arena)
{
	struct revision revision;

	return revision_read(w->store, arena, w->draft, &revision);
}

static enum status op_notice_search(struct world *w, struct arena *arena)
{
	struct notice_query query = notice_query_all;
	const struct notice_row *rows;
	size_t count;
	int64_t total;

	query.words = "bushi";
	query.model = "whim";
	return notice_search(w->store, arena, &query, &rows, &count, &total);
}

static enum status op_issuer_list(struct world *w, struct arena *arena)
{
	struct text_list issuers;

	return issuer_list(w->store, arena, &issuers);
}

static enum status op_kit_facts(struct world *w, struct arena *arena)
{
	struct facts facts;

	return kit_facts(w->store, arena, w->kit, &facts);
}

static enum status op_kit_log_use(struct world *w, struct arena *arena)
{
	struct kit_use use;

	return kit_log_use(w->store, arena, w->kit, &use);
}

static enum status op_kit_set_facts(struct world *w, struct arena *arena)
{
	static const struct name name = {"winter kit", "WINTER KIT", 10, 1};
	struct option_fact option = {name, true};
	struct subkit_fact subkit = {.code = name, .received = true};
	struct part_fact part = {.number = name};
	struct step_plans plans = {.step = name};
	struct facts facts = {.options = &option,
	                      .subkits = &subkit,
	                      .parts = &part,
	                      .steps_done = &name,
	                      .notices_done = &name,
	                      .step_plans = &plans,
	                      .n_options = 1,
	                      .n_subkits = 1,
	                      .n_parts = 1,
	                      .n_steps_done = 1,
	                      .n_notices_done = 1,
	                      .n_step_plans = 1};

	(void)arena;
	return kit_set_facts(w->store, w->kit, &facts);
}

static bool look(void *context, const struct kit *kit, const struct facts *facts,
                 struct arena *arena)
{
	(void)context;
	(void)arena;
	return kit->id.v > 0 && facts->n_parts < 9;
}

static bool want(void *context, const struct facts *single)
{
	(void)context;
	return single->has_serial;
}

static const struct kit_lists some_lists = {
        .which = KIT_USE | KIT_PARTS, .steps = &done_step, .n_steps = 1, .wanted = want};

WRITING(kits_each, kits_each(w->store, look, NULL))
WRITING(kits_each_with, kits_each_with(w->store, &some_lists, look, NULL))
WRITING(kits_generation, kits_generation(w->store, &(int64_t){0}))
LISTING(kits_changed, kit_id, kits_changed(w->store, arena, 0, &list, &count))

static enum status op_kits_at(struct world *w, struct arena *arena)
{
	const struct kit_at *list;
	size_t count;

	return kits_at(w->store, arena, &list, &count);
}

static enum status op_record_append(struct world *w, struct arena *arena)
{
	struct record record = {.notice = {"HF-SB-1", "HF-SB-1", 7, 1},
	                        .corrects = {2},
	                        .method = "replaced",
	                        .by = "Bob",
	                        .signed_as = "",
	                        .remarks = "",
	                        .entered_by = "Bob"};
	struct record_id id;

	(void)arena;
	return record_append(w->store, w->kit, &record, &id);
}

static enum status op_line_save(struct world *w, struct arena *arena)
{
	struct line_entry entry = line_entry_of(w->arena, "Whimbrel T");
	struct line_id id;

	(void)arena;
	entry.n_sections = 1;
	return line_save(w->store, &entry, 1, w->sue, NOW, &id);
}

static enum status op_line_add(struct world *w, struct arena *arena)
{
	struct line_entry entry = line_entry_of(w->arena, "Curlew");
	struct line_id id;

	(void)arena;
	return line_save(w->store, &entry, 0, w->sue, NOW, &id);
}

static enum status op_line_read(struct world *w, struct arena *arena)
{
	struct line_entry entry;
	struct line_head head;

	return line_read(w->store, arena, w->line, &head, &entry);
}

static enum status op_parts_load(struct world *w, struct arena *arena)
{
	const struct parts_book *book;

	return parts_load(w->store, arena, &book);
}

static enum status op_parts_import(struct world *w, struct arena *arena)
{
	const struct parts_source source = parts_of(w->arena);

	(void)arena;
	return parts_import(w->store, &source);
}

static enum status op_kit_stock_add(struct world *w, struct arena *arena)
{
	struct stock_entry entry = stock_of(w->arena, "WH-41", STOCK_COUNTED);

	(void)arena;
	entry.record = w->record.v;
	return kit_stock_add(w->store, w->kit, &entry, NOW);
}

static enum status op_kit_length_add(struct world *w, struct arena *arena)
{
	const struct kit_length length = {
	        .stock = name_of(w->arena, "AA-1"), .cut = "3 in", .remark = ""};

	(void)arena;
	return kit_length_add(w->store, w->kit, &length);
}

WRITING(parts_remove, parts_remove(w->store, PARTS_LIST, "PL-04 A"))
LISTING(kit_stock_list, stock_entry, kit_stock_list(w->store, arena, w->kit, &list, &count))
WRITING(kit_stock_remove, kit_stock_remove(w->store, w->kit, 1))
LISTING(kit_length_list, kit_length, kit_length_list(w->store, arena, w->kit, &list, &count))
WRITING(kit_length_remove, kit_length_remove(w->store, w->kit, 1))
WRITING(kit_set_counted_in, kit_set_counted_in(w->store, w->kit, true))

static enum status op_backup_verify(struct world *w, struct arena *arena)
{
	struct verify_report report;

	return backup_verify(w->store, arena, &report);
}

static enum status op_backup_look(struct world *w, struct arena *arena)
{
	struct seal_report report;

	(void)arena;
	return backup_look(w->store, &report);
}

WRITING(backup_seal_anew, backup_seal_anew(w->store))
WRITING(store_try_write, store_try_write(w->store, NOW))
WRITING(copy_enter, copy_enter(w->store, &(struct copy_entry){NOW, 4096, "/copies/one.db", "cut"}))
WRITING(copies_told, copies_told(w->store))

static enum status op_copies_read(struct world *w, struct arena *arena)
{
	struct copies copies;

	return copies_read(w->store, arena, &copies);
}

static enum status op_copy_untold(struct world *w, struct arena *arena)
{
	struct copy_entry entry;

	return copy_untold(w->store, arena, &entry);
}

/* Mail ---- sue has an address; one mail waits, one is in hand, one given up */

static const struct mail_words words = {"Subject", "Body"};

static struct outbox_entry mail_of(struct world *w)
{
	return (struct outbox_entry){.member = w->sue,
	                             .address = "sue@example.org",
	                             .kind = MAIL_WEEKLY,
	                             .words = words,
	                             .upto = INT64_MAX};
}

static enum status op_mail_confirm(struct world *w, struct arena *arena)
{
	struct hash token = token_hash("asked");

	(void)arena;
	return mail_confirm(w->store, &token, NOW);
}

static enum status op_mail_confirm_find(struct world *w, struct arena *arena)
{
	struct hash token = token_hash("asked");
	struct member_id member;
	const char *address;

	return mail_confirm_find(w->store, arena, &token, NOW, &member, &address);
}

static enum status op_mail_stop(struct world *w, struct arena *arena)
{
	struct hash token = token_hash("in hand");

	(void)arena;
	return mail_stop(w->store, &token);
}

static enum status op_mail_stop_find(struct world *w, struct arena *arena)
{
	struct hash token = token_hash("in hand");
	const char *address;

	return mail_stop_find(w->store, arena, &token, &address);
}

static enum status op_mail_address_read(struct world *w, struct arena *arena)
{
	struct mail_address address;

	return mail_address_read(w->store, arena, w->sue, &address);
}

static enum status op_mail_due_next(struct world *w, struct arena *arena)
{
	struct mail_due due;

	return mail_due_next(w->store, arena, (struct member_id){0}, NOW, &due);
}

static enum status op_outbox_add(struct world *w, struct arena *arena)
{
	struct outbox_entry entry = mail_of(w);

	(void)arena;
	return outbox_add(w->store, &entry, NOW);
}

static enum status op_outbox_take(struct world *w, struct arena *arena)
{
	struct hash token = token_hash("t");
	struct outbox_mail mail;

	return outbox_take(w->store, arena, &token, NOW, &mail);
}

/* The question is the second one in hand. */
static enum status op_outbox_later(struct world *w, struct arena *arena)
{
	(void)arena;
	return outbox_end(w->store, mail_in(w, MAIL_IN_HAND), MAIL_WAITING, "451", NOW);
}

static enum status op_outbox_count(struct world *w, struct arena *arena)
{
	struct outbox_counts counts;

	(void)arena;
	return outbox_count(w->store, NOW, &counts);
}

WRITING(mail_address_set, mail_address_set(w->store, w->sue, "susan@example.org", &words, NOW))
WRITING(mail_set_choices, mail_set_choices(w->store, w->sue, false, true))
WRITING(mail_address_remove, mail_address_remove(w->store, w->sue))
WRITING(outbox_sent, outbox_end(w->store, mail_in(w, MAIL_IN_HAND), MAIL_SENT, "", NOW))
WRITING(outbox_recover, outbox_recover(w->store, NOW + OUTBOX_KEPT))
WRITING(outbox_again, outbox_again(w->store, mail_in(w, MAIL_GIVEN_UP), NOW))
LISTING(outbox_list, outbox_mail, outbox_list(w->store, arena, PAGE, &list, &count, &total))

#define READING(name, type, call)                                                                  \
	static enum status op_##name(struct world *w, struct arena *arena)                         \
	{                                                                                          \
		struct type out;                                                                   \
                                                                                                   \
		(void)arena;                                                                       \
		return (call);                                                                     \
	}

static const struct session_entry new_session = {
        .label = "other", .idle_until = NOW + 1, .ends_at = NOW + 2};

WRITING(calls_note_removed, calls_note_removed(w->store, w->note, w->sue, NOW))
WRITING(calls_report_removed, calls_report_removed(w->store, w->report, w->bob, NOW))
WRITING(calls_author_removed, calls_author_removed(w->store, w->bob, NOW))
WRITING(notes_forget_author, notes_forget_author(w->store, w->bob, NOW))
WRITING(news_add_finding, news_add_finding(w->store, w->report, w->sue, true, "found", NOW))
WRITING(feed_link_made, feed_link_made(w->store, w->bob, &(int64_t){0}))
WRITING(feed_link_end, feed_link_end(w->store, w->bob))
READING(kit_read, kit, kit_read(w->store, arena, w->kit, &out))
READING(kit_owner, member_id, kit_owner(w->store, w->kit, &out))
WRITING(kit_rename, kit_rename(w->store, w->kit, "Green one"))
WRITING(kit_count, kit_count(w->store, &(int64_t){0}))
READING(member_read, member, member_read(w->store, arena, w->bob, &out))
READING(member_find, member, member_find(w->store, arena, "bob", &out))
WRITING(member_set_password, member_set_password(w->store, w->bob, "new"))
WRITING(member_set_name, member_set_name(w->store, w->bob, "Robert"))
WRITING(member_set_role, member_set_role(w->store, w->sam, ROLE_ADMIN))
WRITING(member_count, member_count(w->store, &(int64_t){0}))
READING(invite_find, invite, invite_find(w->store, arena, &w->invite, NOW, &out))
WRITING(invite_revoke, invite_revoke(w->store, w->invite_id))
READING(reset_find, member, reset_find(w->store, arena, &w->reset, NOW, &out))
WRITING(session_touch, session_touch(w->store, w->session_id, NOW + 5, NOW + 50))
WRITING(session_end, session_end(w->store, w->bob, w->session_id))
WRITING(session_end_others, session_end_others(w->store, w->bob, w->session_id))
WRITING(session_end_all, session_end_others(w->store, w->bob, (struct session_id){0}))
LISTING(api_token_list, api_token, api_token_list(w->store, arena, w->bob, &list, &count))
WRITING(api_token_revoke, api_token_revoke(w->store, w->bob, w->token_id))
READING(api_token_find, member, api_token_find(w->store, arena, &w->token, NOW, &out))
WRITING(sign_in_failed, sign_in_failed(w->store, "bob", NOW + 1))
WRITING(sign_in_failures, sign_in_failures(w->store, "bob", NOW - 9, NOW, &(int64_t){0}))
WRITING(sign_in_forget, sign_in_forget(w->store, "bob"))
WRITING(members_sweep, members_sweep(w->store, NOW))
WRITING(members_sweep_late, members_sweep(w->store, NOW + INT64_C(60) * 86400))
WRITING(member_demote, member_set_role(w->store, w->sam, ROLE_BUILDER))
WRITING(address_known, address_known(w->store, "sam", "192.0.2.1", NOW, &(bool){false}))
WRITING(address_note, address_note(w->store, w->sam, "192.0.2.9", NOW))
WRITING(addresses_forget, addresses_forget(w->store, w->sam))
WRITING(addresses_sweep, addresses_sweep(w->store, NOW))
WRITING(acts_add, acts_add(w->store, &(struct act_line){DID_LINE, w->bob, "one", "two"}))
WRITING(acts_add_import, acts_add_import(w->store, 2, "notice", "notices"))
LISTING(acts_list, act_row, acts_list(w->store, arena, &all_acts, PAGE, &list, &count, &total))
WRITING(second_begin, second_begin(w->store, w->bob, factor_secret, NOW))
WRITING(second_begin_anew, second_begin(w->store, w->sue, factor_secret, NOW + 1))
WRITING(second_confirm,
        second_confirm(w->store, w->sue, 9, factor_codes, (struct session_id){0}, NOW))
READING(second_read, second_factor, second_read(w->store, w->sam, &out))
WRITING(second_use_step, second_use_step(w->store, w->sam, 99))
WRITING(second_codes_anew, second_codes_anew(w->store, w->sam, factor_codes))
WRITING(second_end, second_end(w->store, w->sam))
LISTING(note_list_by, note, note_list_by(w->store, arena, w->bob, PAGE, &list, &count, &total))
READING(notice_current, revision, notice_current(w->store, arena, w->one, &out))
READING(notice_find, notice_id, notice_find(w->store, "hf-sb-1", &out))
READING(draft_of, revision_id,
        draft_of(w->store,
                 (struct notice_id){sql_number(
                         w->store, "SELECT notice_id FROM revisions WHERE state = 0 LIMIT 1")},
                 &out))
WRITING(setting_set_text, setting_set_text(w->store, SETTING_CHAPTER, "Other"))
WRITING(setting_flag, setting_flag(w->store, SETTING_ONE_STEWARD, &(bool){false}))
WRITING(setting_set_flag, setting_set_flag(w->store, SETTING_ONE_STEWARD, true))
WRITING(setting_generation, setting_generation(w->store, &(int64_t){0}))
WRITING(setting_generation_up, setting_generation_up(w->store))
WRITING(finding_remove_remark_by_steward, finding_remove_remark(w->store, w->finding, w->sue, NOW))
WRITING(outbox_recover_soon, outbox_recover(w->store, NOW + 1))
WRITING(news_set_mailed_mandatory, news_set_mailed(w->store, w->bob, true, 99))
WRITING(note_unhelp, note_set_helped(w->store, w->note, w->other.eve, false))
WRITING(calls_note_removed_of_dan, calls_note_removed(w->store, w->other.note, w->other.dan, NOW))
WRITING(calls_report_removed_of_dan,
        calls_report_removed(w->store, w->other.report, w->other.dan, NOW))
WRITING(parts_remove_change, parts_remove(w->store, PARTS_CHANGE, "WH-2207-1"))
WRITING(parts_remove_stock, parts_remove(w->store, PARTS_STOCK, "AA-1"))
WRITING(draft_discard_next, draft_discard(w->store, w->other.next, w->sue, NOW))

static enum status op_session_add(struct world *w, struct arena *arena)
{
	struct session_entry entry = new_session;
	struct session_id id;

	(void)arena;
	entry.member = w->bob;
	entry.token = token_hash("another");
	return session_add(w->store, &entry, NOW, &id);
}

static enum status op_api_token_add(struct world *w, struct arena *arena)
{
	struct hash token = token_hash("another");
	struct api_token_id id;

	(void)arena;
	return api_token_add(w->store, w->bob, &token, "other", NOW, NOW + 9, &id);
}

static enum status op_second_use_code(struct world *w, struct arena *arena)
{
	const size_t number = 1; /* crowd.c */
	struct hash code = hash_of(&number, sizeof number);

	(void)arena;
	return second_use_code(w->store, w->sam, &code);
}

static enum status op_invite_add(struct world *w, struct arena *arena)
{
	struct invite_entry entry = {.token = token_hash("another"), .label = "for Fay"};
	struct invite_id id;

	(void)arena;
	entry.made_by = w->ann;
	return invite_add(w->store, &entry, NOW, &id);
}

/* Who has handed out an invite and a link, beside those that ann has. */
static void make_sam_admin(struct world *w)
{
	struct invite_entry entry = {.token = token_hash("of sam"),
	                             .label = "for Fay",
	                             .made_by = w->sam,
	                             .expires_at = NOW + 9};
	struct hash link = token_hash("sam's link");
	struct invite_id id;

	assert_ok(member_set_role(w->store, w->sam, ROLE_ADMIN));
	assert_ok(invite_add(w->store, &entry, NOW, &id));
	sql_exec(w->store,
	         "INSERT INTO invites (token, role, label, first_admin, made_by, made_at,"
	         " expires_at, used_at, used_by) VALUES"
	         " (zeroblob(32), 0, 'used', 0, 2, 1700000000, 1700000009, 1700000000, 5)");
	store_act_for(w->store, w->sam.v, NOW);
	assert_ok(reset_offer(w->store, w->bob, &link, NOW + 9));
	store_act_for(w->store, w->ann.v, NOW);
}

/* Sam has all addresses that are kept, and eve as many that are newer. */
static void addresses_full(struct world *w)
{
	sql_exec(w->store,
	         "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 20)"
	         " INSERT INTO known_addresses (member_id, address, seen_at)"
	         " SELECT m.id, CAST(printf('%02d%02d%028d', m.id, i, 0) AS BLOB),"
	         " iif(m.id = 2, 1699000000, 1699900000) + i"
	         " FROM n JOIN members m ON m.id IN (2, 6)");
}

/* Where nobody is a member yet. */
static void no_members(struct world *w)
{
	sql_exec(w->store,
	         "DELETE FROM members;"
	         "INSERT INTO invites (token, role, label, first_admin, made_at, expires_at)"
	         " VALUES (randomblob(32), 2, '', 1, 1700000000, 1700000009)");
}

static enum status op_invite_first_admin(struct world *w, struct arena *arena)
{
	struct hash token = token_hash("first again");

	(void)arena;
	return invite_first_admin(w->store, &token, NOW, NOW + 9);
}

static enum status op_pictures_room(struct world *w, struct arena *arena)
{
	struct picture_of of = {.note = w->note};
	struct report_id report;
	size_t room;

	(void)arena;
	return pictures_room(w->store, &of, w->bob, &room, &report);
}

/* ---- the same operations on what is otherwise ---- */

WRITING(notes_forget_author_dan, notes_forget_author(w->store, w->other.dan, NOW))
WRITING(report_set_credit_merged, report_set_credit(w->store, w->merged, CREDIT_EVERYBODY, w->bob))
WRITING(draft_publish_next, draft_publish(w->store, w->other.next, 2, w->sam, NOW))
WRITING(mail_set_choices_again, mail_set_choices(w->store, w->sue, true, true))
WRITING(news_mark_seen_before, news_mark_seen(w->store, w->bob, 1))
WRITING(news_mark_seen_of_dan, news_mark_seen(w->store, w->bob, newest_news(w, w->other.dan)))
WRITING(pictures_add_report, pictures_add(w->store, &(struct picture_of){.report = w->merged},
                                          w->bob, new_pictures, 1, NOW))
WRITING(picture_remove_finding, picture_remove(w->store, (struct picture_id){5}, w->sue))
WRITING(outbox_unwanted, outbox_end(w->store, mail_in(w, MAIL_IN_HAND), MAIL_WAITING, "451", NOW))

static enum status op_mail_confirm_eve(struct world *w, struct arena *arena)
{
	struct hash token = token_hash("eve asked");

	(void)arena;
	return mail_confirm(w->store, &token, NOW);
}

static enum status op_draft_save_next(struct world *w, struct arena *arena)
{
	struct revision_content content = content_of("OTHER", "B", "2020");
	bool stale;

	(void)arena;
	return draft_save(w->store, w->other.next, 1, &content, w->sue, NOW, &stale);
}

static void next_in_checking(struct world *w)
{
	struct revision_content content = content_of("HF-SB-2", "B", "2020");
	bool stale;

	assert_ok(draft_save(w->store, w->other.next, 1, &content, w->sue, NOW, &stale));
	assert_ok(draft_submit(w->store, w->other.next, w->sue, NOW));
}

static void at_once_only(struct world *w)
{
	assert_ok(mail_set_choices(w->store, w->sue, true, false));
}

static void all_seen(struct world *w)
{
	assert_ok(news_mark_seen(w->store, w->bob, newest_news(w, w->bob)));
}

/* Everybody has another address now; eve's old one is sam's. */
static void moved_away(struct world *w)
{
	sql_exec(w->store, "UPDATE mail_addresses SET address = iif(member_id = 2,"
	                   " 'eve@example.org', 'new.' || address)");
}

/* A question to bob is next; eve has named the same address. */
static void question_to_bob(struct world *w)
{
	sql_exec(w->store, "DELETE FROM outbox WHERE state = 0");
	assert_ok(mail_address_set(w->store, w->bob, "bob@example.org", &words, NOW));
	sql_exec(w->store, "UPDATE mail_addresses SET address = 'bob@example.org'"
	                   " WHERE address = 'eve@example.org'");
}

static void old_question_to_bob(struct world *w)
{
	question_to_bob(w);
	sql_exec(w->store, "UPDATE mail_addresses SET address = 'other@example.org'"
	                   " WHERE member_id = 4");
}

static void answered_question_to_bob(struct world *w)
{
	question_to_bob(w);
	sql_exec(w->store, "UPDATE mail_addresses SET confirmed_at = 1 WHERE member_id = 4");
}

#define AS(name, function)                                                                         \
	{                                                                                          \
#name, #function, op_##name, NULL                                                  \
	}
#define OP(name) AS(name, name)

const struct operation operations[] = {
        OP(member_add),
        OP(member_register),
        OP(member_remove),
        OP(feed_link_make),
        AS(member_disable, member_set_disabled),
        OP(reset_offer),
        OP(reset_use),
        OP(member_list),
        OP(invite_list),
        OP(session_list),
        OP(draft_new_revision),
        OP(kit_log_add),
        OP(kit_plan_event),
        AS(kit_forget_event, kit_plan_event),
        OP(kit_log_list),
        OP(draft_submit),
        OP(draft_send_back),
        OP(draft_publish),
        OP(draft_discard),
        OP(notice_cancel),
        OP(attachment_add),
        OP(attachment_remove),
        OP(revision_list),
        OP(draft_list),
        OP(notice_load),
        OP(latest_list),
        OP(log_list),
        OP(kit_add),
        OP(kit_list),
        OP(kit_remove),
        OP(reading_mark),
        OP(reading_unmark),
        OP(reading_list),
        OP(record_list),
        OP(record_verify),
        OP(line_remove),
        OP(line_of_model),
        OP(line_list),
        OP(kit_mark_steps),
        OP(kit_unmark_steps),
        OP(kit_set_steps_known),
        OP(note_add),
        OP(note_answer),
        OP(note_edit),
        OP(note_remove),
        OP(pictures_add),
        OP(pictures_day),
        OP(picture_remove),
        OP(picture_list),
        OP(picture_list_by),
        OP(note_set_helped),
        OP(note_list),
        AS(note_list_part, note_list),
        OP(note_answers),
        OP(note_history),
        OP(note_find),
        AS(note_latest, note_find),
        OP(call_add),
        OP(call_list),
        OP(calls_waiting),
        OP(note_read),
        OP(call_close),
        OP(call_read),
        OP(picture_read),
        OP(picture_bytes),
        OP(report_remove),
        OP(report_put_back),
        OP(report_merge),
        OP(report_part),
        OP(report_link),
        OP(finding_remove_remark),
        OP(finding_list),
        OP(report_log),
        OP(report_merged),
        OP(report_list_by),
        OP(finding_facts),
        OP(finding_list_by),
        OP(report_add),
        OP(report_edit),
        OP(report_set_credit),
        OP(finding_add),
        OP(report_read),
        OP(report_search),
        OP(report_like),
        OP(news_add),
        OP(news_mark_seen),
        OP(news_set_mailed),
        OP(news_list),
        OP(news_to_mail),
        OP(told_stale),
        OP(news_reports_new),
        OP(news_reports_changed),
        OP(kit_set_shown),
        OP(kit_set_named),
        OP(shown_list),
        OP(told_stale_of),
        OP(news_tell_report),
        OP(news_tell_state),
        OP(point_out),
        OP(told_read),
        OP(told_replace),
        OP(member_password),
        OP(session_find),
        OP(feed_link_find),
        AS(setting, setting_text),
        OP(draft_new_notice),
        OP(draft_save),
        OP(notice_import),
        OP(attachment_read),
        OP(revision_read),
        OP(notice_search),
        OP(issuer_list),
        OP(kit_facts),
        OP(kit_log_use),
        OP(kit_set_facts),
        OP(kits_each),
        OP(kits_each_with),
        OP(kits_generation),
        OP(kits_changed),
        OP(kits_at),
        OP(record_append),
        OP(line_save),
        AS(line_add, line_save),
        OP(line_read),
        OP(parts_load),
        OP(parts_import),
        OP(kit_stock_add),
        OP(kit_length_add),
        OP(parts_remove),
        OP(kit_stock_list),
        OP(kit_stock_remove),
        OP(kit_length_list),
        OP(kit_length_remove),
        OP(kit_set_counted_in),
        OP(backup_verify),
        OP(backup_look),
        OP(backup_seal_anew),
        OP(store_try_write),
        OP(copy_enter),
        OP(copies_told),
        OP(copies_read),
        OP(copy_untold),
        OP(mail_confirm),
        OP(mail_confirm_find),
        OP(mail_stop),
        OP(mail_stop_find),
        OP(mail_address_read),
        OP(mail_due_next),
        OP(outbox_add),
        OP(outbox_take),
        AS(outbox_later, outbox_end),
        OP(outbox_count),
        OP(mail_address_set),
        OP(mail_set_choices),
        OP(mail_address_remove),
        AS(outbox_sent, outbox_end),
        OP(outbox_recover),
        OP(outbox_again),
        OP(outbox_list),
        OP(calls_note_removed),
        OP(calls_report_removed),
        OP(calls_author_removed),
        OP(notes_forget_author),
        OP(news_add_finding),
        OP(feed_link_made),
        OP(feed_link_end),
        OP(kit_read),
        OP(kit_owner),
        OP(kit_rename),
        OP(kit_count),
        OP(member_read),
        OP(member_find),
        OP(member_set_password),
        OP(member_set_name),
        OP(member_set_role),
        OP(member_count),
        OP(invite_find),
        OP(invite_revoke),
        OP(reset_find),
        OP(session_touch),
        OP(session_end),
        OP(session_end_others),
        AS(session_end_all, session_end_others),
        OP(api_token_list),
        OP(api_token_revoke),
        OP(api_token_find),
        OP(sign_in_failed),
        OP(sign_in_failures),
        OP(sign_in_forget),
        OP(members_sweep),
        AS(members_sweep_late, members_sweep),
        {"member_demote", "member_set_role", op_member_demote, make_sam_admin},
        OP(address_known),
        OP(address_note),
        {"address_note_full", "address_note", op_address_note, addresses_full},
        OP(addresses_forget),
        OP(addresses_sweep),
        OP(acts_add),
        OP(acts_add_import),
        OP(acts_list),
        OP(second_begin),
        AS(second_begin_anew, second_begin),
        OP(second_confirm),
        OP(second_read),
        OP(second_use_step),
        OP(second_use_code),
        OP(second_codes_anew),
        OP(second_end),
        OP(note_list_by),
        OP(notice_current),
        OP(notice_find),
        OP(draft_of),
        OP(setting_set_text),
        OP(setting_flag),
        OP(setting_set_flag),
        OP(setting_generation),
        OP(setting_generation_up),
        AS(finding_remove_remark_by_steward, finding_remove_remark),
        AS(outbox_recover_soon, outbox_recover),
        AS(news_set_mailed_mandatory, news_set_mailed),
        AS(note_unhelp, note_set_helped),
        AS(calls_note_removed_of_dan, calls_note_removed),
        AS(calls_report_removed_of_dan, calls_report_removed),
        AS(parts_remove_change, parts_remove),
        AS(parts_remove_stock, parts_remove),
        AS(draft_discard_next, draft_discard),
        OP(session_add),
        OP(api_token_add),
        OP(bound_room),
        OP(bound_room_day),
        OP(invite_add),
        {"invite_first_admin", "invite_first_admin", op_invite_first_admin, no_members},
        OP(pictures_room),
        AS(notes_forget_author_dan, notes_forget_author),
        AS(mail_confirm_eve, mail_confirm),
        AS(report_set_credit_merged, report_set_credit),
        AS(news_mark_seen_of_dan, news_mark_seen),
        AS(pictures_add_report, pictures_add),
        AS(picture_remove_finding, picture_remove),
        AS(draft_save_next, draft_save),
        {"draft_publish_next", "draft_publish", op_draft_publish_next, next_in_checking},
        {"mail_set_choices_again", "mail_set_choices", op_mail_set_choices_again, at_once_only},
        {"news_mark_seen_before", "news_mark_seen", op_news_mark_seen_before, all_seen},
        {"outbox_unwanted", "outbox_end", op_outbox_unwanted, moved_away},
        {"outbox_take_question", "outbox_take", op_outbox_take, question_to_bob},
        {"outbox_take_old_question", "outbox_take", op_outbox_take, old_question_to_bob},
        {"outbox_take_answered", "outbox_take", op_outbox_take, answered_question_to_bob},
};
const size_t operations_count = sizeof operations / sizeof *operations;
