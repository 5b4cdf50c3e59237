#include "crowd.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct mail_words words = {"Subject", "Body"};

static struct member_id add_builder(struct world *w, const char *login)
{
	struct member_id id;

	assert_ok(member_add(w->store, &(struct member_entry){login, login, "$hash$", ROLE_BUILDER},
	                     NOW, &id));
	return id;
}

static void add_session(struct world *w, struct member_id member, const char *token,
                        int64_t idle_until, int64_t ends_at)
{
	struct session_entry entry = {.member = member,
	                              .token = token_hash(token),
	                              .label = token,
	                              .idle_until = idle_until,
	                              .ends_at = ends_at};
	struct session_id id;

	assert_ok(session_add(w->store, &entry, NOW, &id));
}

static struct invite_id add_invite(struct world *w, const char *token)
{
	struct invite_entry entry = {.token = token_hash(token),
	                             .role = ROLE_STEWARD,
	                             .label = token,
	                             .made_by = w->ann,
	                             .expires_at = NOW + 100};
	struct invite_id id;

	assert_ok(invite_add(w->store, &entry, NOW, &id));
	return id;
}

/* One that counts, with recovery codes; the chapter's key is the same each time. */
static void add_second_factor(struct world *w, struct member_id member)
{
	static const unsigned char secret[SECOND_SECRET_SIZE] = "12345678901234567890";
	struct hash codes[RECOVERY_CODES];

	for (size_t i = 0; i < RECOVERY_CODES; i++)
		codes[i] = hash_of(&i, sizeof i);
	assert_ok(second_begin(w->store, member, secret, NOW));
	assert_ok(second_confirm(w->store, member, 9, codes, w->session_id, NOW));
	assert_ok(address_note(w->store, member, "192.0.2.1", NOW));
	assert_ok(address_note(w->store, member, "192.0.2.2", NOW - ADDRESS_KNOWN_FOR));
}

/* Three invites more: open, used, taken back. */
static void add_doors(struct world *w)
{
	const struct hash used = token_hash("used");
	const struct hash tokens[] = {token_hash("dan's"),       token_hash("dan's other"),
	                              token_hash("bob's other"), token_hash("bob's feed"),
	                              token_hash("dan's feed"),  token_hash("dan's reset")};
	struct api_token_id id;

	add_invite(w, "open");
	add_invite(w, "used");
	assert_ok(member_register(w->store, &used,
	                          &(struct member_entry){"eve", "eve", "$hash$", ROLE_BUILDER}, NOW,
	                          &w->other.eve));
	assert_ok(member_set_role(w->store, w->other.eve, ROLE_BUILDER));
	assert_ok(setting_set_text(w->store, SETTING_KEY, "of the crowd"));
	add_second_factor(w, w->sam);
	add_second_factor(w, w->other.eve);
	assert_ok(
	        second_begin(w->store, w->sue, (const unsigned char *)"one that waits there", NOW));
	assert_ok(second_begin(w->store, w->other.dan, (const unsigned char *)"dan's that waits so",
	                       NOW));
	assert_ok(invite_revoke(w->store, add_invite(w, "taken back")));
	add_session(w, w->other.dan, "dan", NOW + 100, NOW + 200);
	add_session(w, w->other.dan, "dan's phone", NOW + 100, NOW + 200);
	add_session(w, w->other.dan, "idle too long", NOW - 10, NOW + 200);
	add_session(w, w->other.eve, "at its end", NOW + 100, NOW - 10);
	add_session(w, w->bob, "bob's phone", NOW + 100, NOW + 200);
	assert_ok(
	        api_token_add(w->store, w->other.dan, &tokens[0], "script", NOW, NOW + 1000, &id));
	assert_ok(api_token_add(w->store, w->other.dan, &tokens[1], "other", NOW, NOW + 1000, &id));
	assert_ok(api_token_add(w->store, w->bob, &tokens[2], "other", NOW, NOW + 1000, &id));
	assert_ok(feed_link_make(w->store, w->bob, &tokens[3], NOW));
	assert_ok(feed_link_make(w->store, w->other.dan, &tokens[4], NOW));
	assert_ok(reset_offer(w->store, w->other.dan, &tokens[5], NOW + 9));
	assert_ok(sign_in_failed(w->store, "bob", NOW - 90000));
	assert_ok(sign_in_failed(w->store, "dan", NOW));
	assert_ok(sign_in_failed(w->store, "dan", NOW - 90000));
	assert_ok(setting_set_text(w->store, SETTING_CHAPTER, "Chapter"));
	assert_ok(setting_set_text(w->store, SETTING_ADDRESS, "https://example.org"));
}

static void add_log_twice(struct world *w)
{
	struct kit_log_row row = {
	        .entry = {.day = NOW / 86400 - 3, .has = {true, true}, .total = {11000, 8}},
	        .entered_by = "dan",
	        .entered_at = NOW};
	struct planned_event planned = {
	        .event = name_of(w->arena, "wash"), .has_day = true, .day = NOW / 86400 + 30};

	assert_ok(kit_log_add(w->store, w->other.kit, &row, &row.corrects));
	row.entry.total[USE_LANDINGS] = 9;
	assert_ok(kit_log_add(w->store, w->other.kit, &row, &row.id));
	assert_ok(kit_plan_event(w->store, w->other.kit, &planned));
	assert_ok(kit_plan_event(w->store, w->kit, &planned));
	planned.event = name_of(w->arena, "annual inspection");
	assert_ok(kit_plan_event(w->store, w->other.kit, &planned));
}

static void add_lists(struct world *w)
{
	const struct name steps[] = {name_of(w->arena, "14-4"), name_of(w->arena, "14-3"),
	                             name_of(w->arena, "15-1")};
	const struct date_fact no_date = {0};
	struct record record = record_of(w->arena, "HF-SB-1", "WH-2207-1");
	struct stock_entry entry = stock_of(w->arena, "WH-2207-1", STOCK_USED);
	const struct kit_length length = {.use = LENGTH_WANTED,
	                                  .stock = name_of(w->arena, "AA-1"),
	                                  .cut = "2 x 3 in",
	                                  .remark = ""};
	struct record_id id;

	assert_ok(kit_mark_steps(w->store, w->kit, &steps[2], 1, &no_date));
	assert_ok(kit_mark_steps(w->store, w->other.bare_kit, steps, 3, &no_date));
	/* A notice done that is named like a step done. */
	sql_exec(w->store, "INSERT INTO kit_names (kit_id, list, place, name, name_key)"
	                   " VALUES (1, 1, 7, '14-3', '14-3')");
	assert_ok(record_append(w->store, w->other.kit, &record, &id));
	assert_ok(record_append(w->store, w->other.kit, &record, &id));
	assert_ok(reading_mark(w->store, w->kit, w->two, w->one_first, NOW));
	assert_ok(reading_mark(w->store, w->other.kit, w->one, w->one_first, NOW));
	assert_ok(reading_mark(w->store, w->other.kit, w->two, w->one_first, NOW));
	assert_ok(kit_stock_add(w->store, w->kit, &entry, NOW));
	assert_ok(kit_length_add(w->store, w->kit, &length));
	for (int i = 0; i < 2; i++) {
		assert_ok(kit_stock_add(w->store, w->other.kit, &entry, NOW));
		assert_ok(kit_length_add(w->store, w->other.kit, &length));
	}
}

static void add_told(struct world *w)
{
	const struct told rows[] = {{w->one, w->one_current, STANDING_OPEN, false},
	                            {w->two, w->one_first, STANDING_OPEN, true}};
	const struct kit_id kits[] = {w->kit, w->bare_kit, w->other.kit};
	struct told_step step = {.after = {1, 1, 1}, .rows = rows, .n_rows = 2};

	for (size_t i = 0; i < 3; i++) {
		step.kit = kits[i];
		assert_ok(told_replace(w->store, &step, NOW));
	}
	/* The operation that compares anew begins from the start. */
	sql_exec(w->store, "UPDATE kits SET told_generation = 0, told_version = 0, told_day = 0"
	                   " WHERE id = 1");
}

static void add_other_kits(struct world *w)
{
	struct facts facts = facts_full(w->arena);
	struct line_entry line = line_entry_of(w->arena, "Whimbrel");
	struct line_id id;

	assert_ok(line_save(w->store, &line, 0, w->sam, NOW, &id));
	assert_ok(kit_add(w->store, w->other.dan, "Red one", NOW, &w->other.kit));
	assert_ok(kit_add(w->store, w->other.dan, "Bare red one", NOW, &w->other.bare_kit));
	assert_ok(kit_set_facts(w->store, w->other.kit, &facts));
	assert_ok(kit_set_shown(w->store, w->other.kit, true));
	add_log_twice(w);
	add_lists(w);
	add_told(w);
}

/* A draft and one in checking, both of another notice, and the draft of a
 * notice that is published. */
static void add_drafts(struct world *w)
{
	struct revision_content draft = content_of("HF-SB-5", "", "2017");
	struct revision_content checking = content_of("HF-SB-6", "", "2018");
	struct attachment_entry file = {"sheet.pdf", "application/pdf", "%PDF", 4};
	struct attachment_entry other = {"other.pdf", "application/pdf", "%PDF-", 5};
	struct revision_id id;
	struct attachment_id attachment;

	assert_ok(draft_new_notice(w->store, &draft, w->sue, NOW, &id));
	assert_ok(attachment_add(w->store, id, &file, w->sue, NOW, &attachment));
	assert_ok(attachment_add(w->store, w->draft, &other, w->sam, NOW, &attachment));
	assert_ok(draft_new_notice(w->store, &checking, w->sue, NOW, &id));
	assert_ok(draft_submit(w->store, id, w->sue, NOW));
	assert_ok(draft_new_revision(w->store, w->two, w->sue, NOW, &w->other.next));
}

static const struct picture_entry picture = {
        "the tube", {"image/jpeg", 4, 3, "jpeg", 4}, {"image/jpeg", 2, 1, "little", 6}};

static void add_other_notes(struct world *w)
{
	const struct note_subject step = {NOTE_ON_STEP, {0}, "Whimbrel T", "14-3"};
	struct note_id other;
	struct call_id call;

	assert_ok(note_add(w->store, &w->on_one, w->other.dan, "Fits **badly**.", NOW,
	                   &w->other.note));
	assert_ok(note_edit(w->store, w->other.note, w->other.dan, "Fits.", NOW + 1));
	assert_ok(note_edit(w->store, w->note, w->bob, "Fits **well** now.", NOW + 1));
	assert_ok(
	        note_add(w->store, &step, w->other.dan, "Drill last.", NOW + 200, &w->other.step));
	assert_ok(note_answer(w->store, w->other.note, w->bob, "Same here.", NOW + 2,
	                      &w->other.answer));
	assert_ok(note_answer(w->store, w->note, w->other.dan, "Not here.", NOW + 3, &other));
	assert_ok(note_add(w->store, &w->on_one, w->other.dan, "Wrong.", NOW + 400,
	                   &w->other.removed));
	assert_ok(call_add(w->store, &(struct call_to){.note = w->other.removed}, w->other.eve, "?",
	                   NOW, &call));
	assert_ok(note_answer(w->store, w->other.removed, w->bob, "So it is.", NOW + 400, &other));
	assert_ok(note_remove(w->store, w->other.removed, w->other.dan, NOW + 401));
	assert_ok(note_set_helped(w->store, w->note, w->other.dan, true));
	assert_ok(note_set_helped(w->store, w->note, w->other.eve, true));
	assert_ok(note_set_helped(w->store, w->other.note, w->bob, true));
	assert_ok(note_set_helped(w->store, w->other.note, w->other.eve, true));
	assert_ok(pictures_add(w->store, &(struct picture_of){.note = w->other.note}, w->other.dan,
	                       &picture, 1, NOW));
	assert_ok(pictures_add(w->store, &(struct picture_of){.note = w->note}, w->bob, &picture, 1,
	                       NOW));
	assert_ok(call_add(w->store, &(struct call_to){.note = w->other.note}, w->bob, "Is it?",
	                   NOW, &call));
	assert_ok(call_add(w->store, &(struct call_to){.note = w->note}, w->other.dan, "Is it?",
	                   NOW, &call));
	assert_ok(call_close(w->store, call, w->sam, false, "It is.", NOW));
	assert_ok(call_add(w->store, &(struct call_to){.note = w->note}, w->other.eve, "Is it?",
	                   NOW, &call));
}

static void add_other_reports(struct world *w)
{
	struct report_content content = report_of("Cracked spacer", "WH-43");
	struct finding_entry entry = {.report = w->report,
	                              .kit = w->other.bare_kit,
	                              .author = w->other.dan,
	                              .answer = ANSWER_FOUND,
	                              .credit = CREDIT_MEMBERS,
	                              .remark = "Two of four."};
	struct report_id removed;
	struct finding_id id;
	struct call_id call;

	assert_ok(report_add(w->store, &content, w->other.kit, w->other.dan, CREDIT_MEMBERS, NOW,
	                     &w->other.report));
	content.seen = "The spacer has a crack."; /* not the same form again */
	assert_ok(report_add(w->store, &content, w->other.kit, w->other.dan, CREDIT_MEMBERS, NOW,
	                     &removed));
	assert_ok(report_remove(w->store, removed, w->sam, "twice", NOW));
	assert_ok(finding_add(w->store, &entry, NOW + 3, &w->other.finding));
	entry.report = w->other.report;
	assert_ok(finding_add(w->store, &entry, NOW + 3, &id));
	entry.kit = w->kit;
	entry.author = w->bob;
	assert_ok(finding_add(w->store, &entry, NOW + 4, &id));
	assert_ok(pictures_add(w->store, &(struct picture_of){.report = w->report}, w->bob,
	                       &picture, 1, NOW));
	assert_ok(pictures_add(w->store, &(struct picture_of){.finding = w->other.finding},
	                       w->other.dan, &picture, 1, NOW));
	for (int i = 0; i < 2; i++) {
		assert_ok(call_add(w->store, &(struct call_to){.report = w->report}, w->other.dan,
		                   "rude", NOW, &call));
		if (i == 0)
			assert_ok(call_close(w->store, call, w->sam, false, "Not so.", NOW));
	}
	assert_ok(call_add(w->store, &(struct call_to){.report = w->other.report}, w->bob, "rude",
	                   NOW, &call));
}

struct outbox_id mail_in(struct world *w, enum mail_state state)
{
	char sql[80];

	snprintf(sql, sizeof sql, "SELECT max(id) FROM outbox WHERE state = %d", (int)state);
	return (struct outbox_id){sql_number(w->store, sql)};
}

static struct outbox_id take_mail(struct world *w, const char *token)
{
	struct hash hash = token_hash(token);
	struct outbox_mail mail;

	assert_ok(outbox_take(w->store, w->arena, &hash, NOW, &mail));
	return mail.id;
}

/* A confirmed address, and a mail in each state. */
static void add_mails_of(struct world *w, struct member_id member, const char *address,
                         const char *const tokens[4])
{
	struct hash confirm = token_hash(tokens[0]);
	struct outbox_entry entry = {.member = member,
	                             .address = address,
	                             .kind = MAIL_WEEKLY,
	                             .words = words,
	                             .upto = INT64_MAX};

	assert_ok(mail_address_set(w->store, member, address, &words, NOW));
	assert_ok(outbox_end(w->store, take_mail(w, tokens[0]), MAIL_SENT, "", NOW));
	assert_ok(mail_confirm(w->store, &confirm, NOW));
	for (int i = 0; i < 4; i++)
		assert_ok(outbox_add(w->store, &entry, NOW));
	assert_ok(outbox_end(w->store, take_mail(w, tokens[1]), MAIL_GIVEN_UP, "550", NOW));
	assert_ok(outbox_end(w->store, take_mail(w, tokens[2]), MAIL_UNSURE, "lost", NOW));
	take_mail(w, tokens[3]);
}

static void add_mail(struct world *w)
{
	static const char *const sue[] = {"confirm", "given up", "unsure", "in hand"};
	static const char *const dan[] = {"dan's confirm", "dan's given up", "dan's unsure",
	                                  "dan's in hand"};
	struct outbox_entry gone;

	add_mails_of(w, w->other.dan, "dan@example.org", dan);
	/* Waits no more while the other's are taken. */
	sql_exec(w->store, "UPDATE outbox SET next_at = next_at + 100 WHERE state = 0");
	add_mails_of(w, w->sue, "sue@example.org", sue);
	sql_exec(w->store, "UPDATE outbox SET next_at = next_at + 100 WHERE state = 0");
	assert_ok(mail_address_set(w->store, w->sam, "sam@example.org", &words, NOW));
	take_mail(w, "asked");
	assert_ok(mail_address_set(w->store, w->other.eve, "eve@example.org", &words, NOW));
	take_mail(w, "eve asked");
	/* To an address that is another's now. */
	gone = (struct outbox_entry){w->sue, "old@example.org", MAIL_WEEKLY, words, 0};
	assert_ok(outbox_add(w->store, &gone, NOW - 200));
	sql_exec(w->store, "UPDATE outbox SET next_at = made_at WHERE state = 0");
	assert_ok(mail_set_choices(w->store, w->other.eve, false, false));
}

static void add_news(struct world *w)
{
	const struct member_id members[] = {w->bob, w->other.dan, w->sue, w->sam, w->other.eve};
	struct news_entry entry = {.kind = NEWS_NEW, .words = "why"};

	for (int mandatory = 0; mandatory < 2; mandatory++)
		for (size_t i = 0; i < 5; i++) {
			entry.member = members[i];
			entry.mandatory = mandatory;
			entry.notice = w->one;
			assert_ok(news_add(w->store, &entry, NOW));
			assert_ok(news_add(w->store, &entry, NOW + 1));
		}
	assert_ok(point_out(w->store, &(struct pointing){w->other.kit, w->bob, w->two, {0}, "look"},
	                    NOW));
	assert_ok(point_out(w->store, &(struct pointing){w->kit, w->other.dan, w->two, {0}, "look"},
	                    NOW));
}

/* The book of parts has more than what an operation takes away. */
static void add_more_parts(struct world *w)
{
	struct number_change change = {name_of(w->arena, "WH-9"), name_of(w->arena, "WH-10")};
	struct stock_length length = {.text = "72 in"};
	struct stock_code stock = {name_of(w->arena, "AA-2"), "tube", &length, 1};
	const struct parts_source source = {NULL, &change, &stock, 0, 1, 1};

	assert_ok(parts_import(w->store, &source));
}

int crowd_make(void **state)
{
	struct world *w;

	world_make(state);
	w = *state;
	w->other.dan = add_builder(w, "dan");
	add_doors(w);
	add_drafts(w);
	add_other_kits(w);
	add_more_parts(w);
	add_other_notes(w);
	add_other_reports(w);
	add_mail(w);
	add_news(w);
	return 0;
}
