/* Addresses and the outbox: what is asked, told, taken in hand and ended. */
#include "fixture.h"

#include <stdio.h>
#include <string.h>

#include "store/mail.h"
#include "store/news.h"

#define DAY 86400
#define HOUR 3600

static const struct mail_words question = {"Is this your address?", "Ask\n"};
static const struct mail_words digest = {"News", "Body\n"};

static enum status set(struct world *w, const char *address, int64_t now)
{
	return mail_address_set(w->store, w->bob, address, &question, now);
}

/* Takes the next one in hand with that token. */
static enum status take(struct world *w, const char *token, int64_t now, struct outbox_mail *out)
{
	struct hash hash = token_hash(token);

	return outbox_take(w->store, w->arena, &hash, now, out);
}

static struct outbox_mail taken(struct world *w, const char *token, int64_t now)
{
	struct outbox_mail mail = {.id = {0}};

	assert_ok(take(w, token, now, &mail));
	return mail;
}

/* An address of bob's, confirmed at that time by the mail that asks. */
static void confirm(struct world *w, const char *address, int64_t now)
{
	struct hash hash = token_hash("confirm");
	struct outbox_mail mail;

	assert_ok(set(w, address, now));
	mail = taken(w, "confirm", now);
	assert_ok(outbox_end(w->store, mail.id, MAIL_SENT, "", now));
	assert_ok(mail_confirm(w->store, &hash, now));
}

static void tell(struct world *w, bool mandatory, int64_t now)
{
	const struct news_entry entry = {.member = w->bob,
	                                 .kind = NEWS_NEW,
	                                 .mandatory = mandatory,
	                                 .kit = w->kit,
	                                 .notice = w->one,
	                                 .words = "why"};

	assert_ok(news_add(w->store, &entry, now));
}

static enum status add(struct world *w, enum mail_kind kind, int64_t now)
{
	const struct outbox_entry entry = {.member = w->bob,
	                                   .address = "bob@example.org",
	                                   .kind = kind,
	                                   .words = digest,
	                                   .upto = INT64_MAX};

	return outbox_add(w->store, &entry, now);
}

static int64_t count(struct world *w, const char *what)
{
	char sql[200];

	snprintf(sql, sizeof sql, "SELECT count(*) FROM %s", what);
	return sql_number(w->store, sql);
}

/* ---- addresses ---- */

static void nothing_goes_to_an_address_before_it_is_confirmed(void **state)
{
	struct world *w = *state;
	struct hash right = token_hash("right"), wrong = token_hash("wrong");
	struct mail_address address;
	struct member_id member;
	struct outbox_mail mail;
	struct mail_due due;
	const char *text;

	assert_int_equal(mail_address_read(w->store, w->arena, w->bob, &address), ST_MISSING);
	assert_ok(set(w, "bob@example.org", NOW));
	tell(w, true, NOW);
	assert_int_equal(mail_due_next(w->store, w->arena, (struct member_id){0}, NOW, &due),
	                 ST_MISSING);
	/* The link works only once the question is in hand: its token is made then. */
	assert_int_equal(mail_confirm(w->store, &right, NOW), ST_MISSING);
	mail = taken(w, "right", NOW);
	assert_int_equal(mail.kind, MAIL_QUESTION);
	assert_string_equal(mail.address, "bob@example.org");
	assert_string_equal(mail.body, "Ask\n");
	assert_int_equal(mail_confirm(w->store, &wrong, NOW), ST_MISSING);
	assert_int_equal(mail_confirm(w->store, &right, NOW + MAIL_CONFIRM_SECONDS), ST_MISSING);
	assert_ok(mail_confirm_find(w->store, w->arena, &right, NOW + 9, &member, &text));
	assert_int_equal(member.v, w->bob.v);
	assert_string_equal(text, "bob@example.org");
	assert_ok(mail_confirm(w->store, &right, NOW + 9));
	assert_int_equal(mail_confirm(w->store, &right, NOW + 9), ST_MISSING);
	assert_ok(mail_address_read(w->store, w->arena, w->bob, &address));
	assert_int_equal(address.confirmed_at, NOW + 9);
	assert_int_equal(address.digest_at, NOW + 9);
	assert_true(address.at_once && address.weekly);
	/* What was there before is not told. */
	assert_int_equal(count(w, "news WHERE mailed = 0"), 0);
}

static void a_question_needs_its_member(void **state)
{
	struct world *w = *state;
	struct hash token = token_hash("q");
	struct member_id member;
	const char *text;

	assert_ok(set(w, "bob@example.org", NOW));
	taken(w, "q", NOW);
	assert_ok(member_set_disabled(w->store, w->bob, true));
	assert_int_equal(mail_confirm_find(w->store, w->arena, &token, NOW, &member, &text),
	                 ST_MISSING);
	assert_int_equal(mail_confirm(w->store, &token, NOW), ST_MISSING);
}

static void another_address_is_asked_anew(void **state)
{
	struct world *w = *state;
	struct hash old = token_hash("old");
	struct mail_address address;

	confirm(w, "bob@example.org", NOW);
	assert_ok(set(w, "bob@example.org", NOW)); /* the same: stays as it is */
	assert_ok(mail_address_read(w->store, w->arena, w->bob, &address));
	assert_int_equal(address.confirmed_at, NOW);
	assert_int_equal(count(w, "outbox WHERE state = 0"), 0);
	tell(w, true, NOW);
	assert_ok(add(w, MAIL_AT_ONCE, NOW));
	assert_ok(set(w, "robert@example.org", NOW));
	taken(w, "old", NOW);
	assert_ok(set(w, "bert@example.org", NOW));
	assert_ok(mail_address_read(w->store, w->arena, w->bob, &address));
	assert_string_equal(address.address, "bert@example.org");
	assert_int_equal(address.confirmed_at, 0);
	assert_int_equal(mail_confirm(w->store, &old, NOW), ST_MISSING);
	/* What waited for the old address is dropped; what is in hand is not. */
	assert_int_equal(count(w, "outbox WHERE state = 0"), 1);
	assert_int_equal(count(w, "outbox WHERE state = 1"), 1);
}

static void strangers_are_not_asked_without_end(void **state)
{
	struct world *w = *state;

	for (int i = 0; i < MAIL_QUESTIONS_A_DAY; i++) {
		assert_ok(set(w, "bob@example.org", NOW));
		assert_ok(outbox_end(w->store, taken(w, "t", NOW).id, MAIL_SENT, "", NOW));
	}
	assert_int_equal(set(w, "bert@example.org", NOW + DAY - 1), ST_LIMIT);
	assert_int_equal(count(w, "mail_addresses WHERE address = 'bob@example.org'"), 1);
	assert_ok(set(w, "bert@example.org", NOW + DAY));
}

static void choices_say_what_is_due(void **state)
{
	static const struct {
		bool at_once, weekly;  /* what bob wants */
		bool mandatory, other; /* what has been told */
		int64_t after;         /* seconds after the address was confirmed */
		int due;               /* -1: nothing; else: weekly? */
	} table[] = {
	        {true, true, false, false, 30 * DAY, -1},
	        {true, true, true, false, 0, 0},
	        {true, true, true, true, 0, 0},
	        {true, true, false, true, 0, -1},
	        {true, true, false, true, 7 * DAY - 1, -1},
	        {true, true, false, true, 7 * DAY, 1},
	        {true, true, true, true, 7 * DAY, 1},
	        {true, false, true, true, 7 * DAY, 0},
	        {true, false, false, true, 7 * DAY, -1},
	        {false, true, true, false, 0, -1},
	        {false, true, true, false, 7 * DAY, 1},
	        {false, false, true, true, 7 * DAY, -1},
	};

	for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
		struct world *w;
		struct mail_due due;
		enum status status;

		world_end(state);
		world_make(state);
		w = *state;
		confirm(w, "bob@example.org", NOW);
		assert_ok(mail_set_choices(w->store, w->bob, table[i].at_once, table[i].weekly));
		if (table[i].mandatory)
			tell(w, true, NOW);
		if (table[i].other)
			tell(w, false, NOW);
		status = mail_due_next(w->store, w->arena, (struct member_id){0},
		                       NOW + table[i].after, &due);
		if (status != (table[i].due < 0 ? ST_MISSING : ST_OK) ||
		    (status == ST_OK && due.weekly != (table[i].due > 0)))
			fail_msg("row %zu: %s", i, status_words(status));
		if (status == ST_OK)
			assert_int_equal(mail_due_next(w->store, w->arena, due.member,
			                               NOW + table[i].after, &due),
			                 ST_MISSING);
	}
}

static void what_is_seen_or_disabled_is_not_due(void **state)
{
	struct world *w = *state;
	struct member_id first = {0};
	struct mail_due due;

	confirm(w, "bob@example.org", NOW);
	tell(w, true, NOW);
	assert_ok(mail_due_next(w->store, w->arena, first, NOW, &due));
	assert_ok(member_set_disabled(w->store, w->bob, true));
	assert_int_equal(mail_due_next(w->store, w->arena, first, NOW, &due), ST_MISSING);
	assert_ok(member_set_disabled(w->store, w->bob, false));
	assert_ok(
	        news_mark_seen(w->store, w->bob, sql_number(w->store, "SELECT max(id) FROM news")));
	assert_int_equal(mail_due_next(w->store, w->arena, first, NOW, &due), ST_MISSING);
}

/* What the choices so far would never have mailed does not come in a heap later. */
static void a_new_choice_begins_now(void **state)
{
	struct world *w = *state;
	struct mail_due due;

	confirm(w, "bob@example.org", NOW);
	assert_ok(mail_set_choices(w->store, w->bob, true, false));
	tell(w, false, NOW);
	tell(w, true, NOW);
	assert_ok(mail_set_choices(w->store, w->bob, true, true));
	assert_int_equal(count(w, "news WHERE mailed = 0 AND mandatory"), 1);
	assert_int_equal(count(w, "news WHERE mailed = 0 AND NOT mandatory"), 0);
	assert_ok(mail_due_next(w->store, w->arena, (struct member_id){0}, NOW, &due));
	assert_int_equal(mail_set_choices(w->store, w->ann, true, true), ST_MISSING);
}

/* ---- the outbox ---- */

static void a_mail_and_its_news_go_together(void **state)
{
	struct world *w = *state;
	struct outbox_entry entry = {.member = w->bob,
	                             .address = "bob@example.org",
	                             .kind = MAIL_AT_ONCE,
	                             .words = digest};
	struct mail_address address;

	confirm(w, "bob@example.org", NOW);
	tell(w, true, NOW);
	tell(w, false, NOW);
	tell(w, true, NOW);
	entry.upto = sql_number(w->store, "SELECT min(id) FROM news");
	assert_ok(outbox_add(w->store, &entry, NOW));
	assert_int_equal(count(w, "news WHERE mailed = 0"), 2);
	assert_ok(mail_address_read(w->store, w->arena, w->bob, &address));
	assert_int_equal(address.digest_at, NOW);
	entry.upto = INT64_MAX;
	assert_ok(outbox_add(w->store, &entry, NOW));
	assert_int_equal(count(w, "news WHERE mailed = 0"), 1);
	assert_ok(add(w, MAIL_WEEKLY, NOW + DAY));
	assert_int_equal(count(w, "news WHERE mailed = 0"), 0);
	assert_ok(mail_address_read(w->store, w->arena, w->bob, &address));
	assert_int_equal(address.digest_at, NOW + DAY);
	/* An empty subject breaks a rule: then nothing is told. */
	tell(w, true, NOW);
	entry.words.subject = "";
	assert_int_equal(outbox_add(w->store, &entry, NOW), ST_CONFLICT);
	assert_int_equal(count(w, "news WHERE mailed = 0"), 1);
}

static void one_mail_at_once_an_hour(void **state)
{
	struct world *w = *state;
	struct member_id first = {0};
	struct mail_due due;

	confirm(w, "bob@example.org", NOW);
	tell(w, true, NOW);
	assert_ok(add(w, MAIL_AT_ONCE, NOW));
	tell(w, true, NOW);
	assert_int_equal(mail_due_next(w->store, w->arena, first, NOW + HOUR - 1, &due),
	                 ST_MISSING);
	assert_ok(mail_due_next(w->store, w->arena, first, NOW + HOUR, &due));
}

static void what_is_in_hand_is_in_nobody_elses(void **state)
{
	struct world *w = *state;
	struct outbox_mail mail, other;

	confirm(w, "bob@example.org", NOW);
	assert_int_equal(take(w, "t", NOW, &other), ST_MISSING);
	assert_ok(add(w, MAIL_AT_ONCE, NOW));
	mail = taken(w, "t", NOW);
	assert_string_equal(mail.subject, "News");
	assert_string_equal(mail.body, "Body\n");
	assert_int_equal(mail.tries, 1);
	assert_int_equal(take(w, "u", NOW, &other), ST_MISSING);
	assert_ok(outbox_end(w->store, mail.id, MAIL_SENT, "", NOW));
	assert_int_equal(take(w, "u", NOW, &other), ST_MISSING);
	/* What has ended does not end again. */
	for (enum mail_state to = MAIL_WAITING; to <= MAIL_UNSURE; to++)
		if (to != MAIL_IN_HAND)
			assert_int_equal(outbox_end(w->store, mail.id, to, "", NOW), ST_MISSING);
	assert_int_equal(count(w, "outbox WHERE state = 2 AND body = ''"), 2);
}

static void a_start_makes_unsure_what_was_in_hand(void **state)
{
	struct world *w = *state;
	struct outbox_mail mail, other;
	struct outbox_counts counts;

	confirm(w, "bob@example.org", NOW);
	assert_ok(add(w, MAIL_AT_ONCE, NOW));
	mail = taken(w, "t", NOW);
	assert_ok(outbox_recover(w->store, NOW + 5));
	assert_int_equal(take(w, "u", NOW + 30 * DAY, &other), ST_MISSING);
	assert_int_equal(outbox_end(w->store, mail.id, MAIL_SENT, "", NOW), ST_MISSING);
	assert_int_equal(outbox_again(w->store, mail.id, NOW), ST_MISSING);
	assert_ok(outbox_count(w->store, NOW + 6, &counts));
	assert_int_equal(counts.unsure, 1);
	assert_int_equal(counts.sent, 1);
	assert_ok(outbox_recover(w->store, NOW + 6 + OUTBOX_KEPT));
	assert_int_equal(count(w, "outbox"), 0);
}

/* 10, 30, 90 minutes, 4.5 and 13.5 hours, then a day each: 4.8 days in all, where
 * RFC 5321 section 4.5.4.1 says "at least 4-5 days". */
static void tries_come_ever_later_and_end(void **state)
{
	static const int64_t waits[OUTBOX_TRIES_MOST - 1] = {600,   1800, 5400, 16200, 48600,
	                                                     86400, DAY,  DAY,  DAY};
	struct world *w = *state;
	struct outbox_mail mail = {.id = {0}};
	int64_t now = NOW;

	confirm(w, "bob@example.org", NOW);
	assert_ok(add(w, MAIL_AT_ONCE, NOW));
	for (size_t i = 0; i < OUTBOX_TRIES_MOST - 1; i++) {
		mail = taken(w, i % 2 ? "t" : "u", now);
		assert_int_equal(mail.tries, i + 1);
		assert_ok(outbox_end(w->store, mail.id, MAIL_WAITING, "451 later", now));
		assert_int_equal(take(w, "v", now + waits[i] - 1, &mail), ST_MISSING);
		now += waits[i];
	}
	mail = taken(w, "v", now);
	assert_ok(outbox_end(w->store, mail.id, MAIL_WAITING, "451 later", now));
	assert_int_equal(count(w, "outbox WHERE state = 3 AND body = 'Body' || char(10)"), 1);
	assert_int_equal(take(w, "x", now + 30 * DAY, &mail), ST_MISSING);
	/* By hand it begins anew. */
	assert_ok(outbox_again(w->store, mail.id, now));
	assert_int_equal(outbox_again(w->store, mail.id, now), ST_MISSING);
	mail = taken(w, "y", now);
	assert_int_equal(mail.tries, 1);
	assert_string_equal(mail.body, "Body\n");
}

static void only_so_many_go_out_in_an_hour(void **state)
{
	struct world *w = *state;
	struct outbox_mail mail;
	char token[20];

	confirm(w, "bob@example.org", NOW); /* the first one */
	for (int i = 0; i < OUTBOX_AN_HOUR; i++)
		assert_ok(add(w, MAIL_AT_ONCE, NOW));
	for (int i = 1; i < OUTBOX_AN_HOUR; i++) {
		snprintf(token, sizeof token, "t%d", i);
		mail = taken(w, token, NOW);
		assert_ok(outbox_end(w->store, mail.id, i % 2 ? MAIL_SENT : MAIL_UNSURE, "", NOW));
	}
	assert_int_equal(take(w, "t", NOW + HOUR - 1, &mail), ST_LIMIT);
	assert_ok(take(w, "t", NOW + HOUR, &mail));
	assert_ok(add(w, MAIL_AT_ONCE, NOW));
	assert_ok(take(w, "u", YEAR_BACK, &mail));
}

/* What the outbox, the weekly mail and the links remember lies ahead: no mail
 * hangs for a year, and no link is good for one. */
static void a_clock_set_back_holds_no_mail_up(void **state)
{
	struct world *w = *state;
	struct hash token = token_hash("question");
	struct outbox_mail mail;
	struct mail_due due;
	struct member_id member;
	const char *address;

	confirm(w, "bob@example.org", NOW);
	assert_ok(mail_set_choices(w->store, w->bob, true, true));
	tell(w, true, NOW);
	assert_ok(add(w, MAIL_WEEKLY, NOW));
	tell(w, true, YEAR_BACK);
	assert_ok(mail_due_next(w->store, w->arena, (struct member_id){0}, YEAR_BACK, &due));
	assert_true(due.weekly);
	assert_ok(mail_set_choices(w->store, w->bob, true, false));
	assert_ok(add(w, MAIL_AT_ONCE, NOW));
	tell(w, true, YEAR_BACK);
	assert_ok(mail_due_next(w->store, w->arena, (struct member_id){0}, YEAR_BACK, &due));
	assert_false(due.weekly);

	for (int i = 1; i < MAIL_QUESTIONS_A_DAY; i++) {
		assert_ok(set(w, "bert@example.org", NOW));
		mail = taken(w, "question", NOW);
		assert_ok(outbox_end(w->store, mail.id, MAIL_SENT, "", NOW));
	}
	assert_int_equal(set(w, "bea@example.org", NOW), ST_LIMIT);
	assert_int_equal(set(w, "bea@example.org", YEAR_BACK), ST_OK);
	mail = taken(w, "question", NOW);
	assert_ok(mail_confirm_find(w->store, w->arena, &token, NOW, &member, &address));
	assert_int_equal(
	        mail_confirm_find(w->store, w->arena, &token, YEAR_BACK, &member, &address),
	        ST_MISSING);
}

static void a_stop_link_stops_it(void **state)
{
	struct world *w = *state;
	struct hash token = token_hash("stop"), other = token_hash("other");
	struct mail_address address;
	struct outbox_mail mail;
	const char *text;

	confirm(w, "bob@example.org", NOW);
	assert_ok(add(w, MAIL_AT_ONCE, NOW));
	assert_ok(add(w, MAIL_WEEKLY, NOW));
	assert_int_equal(mail_stop(w->store, &token), ST_MISSING);
	mail = taken(w, "stop", NOW);
	assert_ok(outbox_end(w->store, mail.id, MAIL_SENT, "", NOW));
	assert_int_equal(mail_stop_find(w->store, w->arena, &other, &text), ST_MISSING);
	assert_ok(mail_stop_find(w->store, w->arena, &token, &text));
	assert_string_equal(text, "bob@example.org");
	for (int i = 0; i < 2; i++) { /* twice is as good */
		assert_ok(mail_stop(w->store, &token));
		assert_ok(mail_address_read(w->store, w->arena, w->bob, &address));
		assert_true(!address.at_once && !address.weekly && address.confirmed_at);
		assert_int_equal(count(w, "outbox WHERE state = 0"), 0);
	}
	/* The link of a mail to an earlier address stops nothing at the new one. */
	confirm(w, "bert@example.org", NOW);
	assert_ok(mail_set_choices(w->store, w->bob, true, true));
	assert_ok(mail_stop(w->store, &token));
	assert_ok(mail_address_read(w->store, w->arena, w->bob, &address));
	assert_true(address.at_once && address.weekly);
}

static void mails_leave_with_the_address_and_the_member(void **state)
{
	struct world *w = *state;
	struct outbox_mail mail;

	confirm(w, "bob@example.org", NOW);
	assert_ok(add(w, MAIL_AT_ONCE, NOW));
	assert_ok(add(w, MAIL_WEEKLY, NOW));
	mail = taken(w, "t", NOW);
	assert_ok(mail_address_remove(w->store, w->bob));
	assert_int_equal(mail_address_remove(w->store, w->bob), ST_MISSING);
	assert_int_equal(count(w, "outbox WHERE state = 0"), 0);
	assert_ok(outbox_end(w->store, mail.id, MAIL_SENT, "", NOW));
	assert_ok(member_remove(w->store, w->bob, NOW));
	assert_int_equal(count(w, "outbox"), 0);
	assert_int_equal(outbox_end(w->store, mail.id, MAIL_SENT, "", NOW), ST_MISSING);
}

/* Whoever reads the first address must not confirm the second, however long its
 * server keeps the first question waiting. */
static void a_late_question_confirms_no_other_address(void **state)
{
	struct world *w = *state;
	struct hash first = token_hash("first"), second = token_hash("second");
	struct outbox_mail mail;
	struct member_id member;
	const char *address;

	for (enum mail_state to = MAIL_WAITING; to <= MAIL_GIVEN_UP; to++) {
		if (to == MAIL_IN_HAND || to == MAIL_SENT)
			continue;
		assert_ok(set(w, "own@example.org", NOW));
		mail = taken(w, "first", NOW);
		assert_ok(set(w, "other@example.org", NOW));
		assert_ok(outbox_end(w->store, mail.id, to, "451 later", NOW));
		assert_int_equal(outbox_again(w->store, mail.id, NOW), ST_MISSING);
		mail = taken(w, "second", NOW + HOUR);
		assert_string_equal(mail.address, "other@example.org");
		assert_int_equal(take(w, "first", NOW + HOUR, &mail), ST_MISSING);
		assert_int_equal(mail_confirm(w->store, &first, NOW + HOUR), ST_MISSING);
		assert_ok(mail_confirm_find(w->store, w->arena, &second, NOW + HOUR, &member,
		                            &address));
		assert_string_equal(address, "other@example.org");
		assert_ok(mail_address_remove(w->store, w->bob));
	}
}

static void what_was_in_hand_at_a_stop_is_not_tried_again(void **state)
{
	struct world *w = *state;
	struct hash stop = token_hash("t");
	struct outbox_mail mail;

	confirm(w, "bob@example.org", NOW);
	for (enum mail_state to = MAIL_WAITING; to <= MAIL_GIVEN_UP; to++) {
		if (to == MAIL_IN_HAND || to == MAIL_SENT)
			continue;
		assert_ok(mail_set_choices(w->store, w->bob, true, true));
		assert_ok(add(w, MAIL_WEEKLY, NOW));
		mail = taken(w, "t", NOW);
		assert_ok(mail_stop(w->store, &stop));
		assert_ok(outbox_end(w->store, mail.id, to, "451 later", NOW));
		assert_int_equal(take(w, "u", NOW + DAY, &mail), ST_MISSING);
		assert_int_equal(count(w, "outbox WHERE state <> 2"), 0);
	}
}

static void an_admin_sees_what_has_not_gone_out(void **state)
{
	static const enum mail_state ends[] = {MAIL_SENT, MAIL_GIVEN_UP, MAIL_UNSURE};
	struct world *w = *state;
	const struct outbox_mail *list;
	struct outbox_counts counts;
	size_t n;
	int64_t total;

	confirm(w, "bob@example.org", NOW);
	for (size_t i = 0; i < 4; i++)
		assert_ok(add(w, MAIL_AT_ONCE, NOW));
	for (size_t i = 0; i < 3; i++)
		assert_ok(
		        outbox_end(w->store, taken(w, &"tuv"[i], NOW).id, ends[i], "550 no", NOW));
	assert_ok(outbox_list(w->store, w->arena, (struct page){2, 0}, &list, &n, &total));
	assert_int_equal(n, 2);
	assert_int_equal(total, 3);
	assert_int_equal(list[0].state, MAIL_WAITING);
	assert_int_equal(list[1].state, MAIL_UNSURE);
	assert_string_equal(list[1].login, "Bob");
	assert_string_equal(list[1].fault, "550 no");
	assert_string_equal(list[1].body, "");
	assert_ok(outbox_count(w->store, NOW + 29 * DAY, &counts));
	assert_int_equal(counts.waiting, 1);
	assert_int_equal(counts.unsure, 1);
	assert_int_equal(counts.given_up, 1);
	assert_int_equal(counts.sent, 2); /* the question too */
	assert_ok(outbox_count(w->store, NOW + 30 * DAY, &counts));
	assert_int_equal(counts.waiting + counts.unsure + counts.given_up + counts.sent, 1);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, world_make, world_end)

int main(void)
{
	static const struct CMUnitTest tests[] = {
	        TEST(nothing_goes_to_an_address_before_it_is_confirmed),
	        TEST(a_question_needs_its_member),
	        TEST(another_address_is_asked_anew),
	        TEST(strangers_are_not_asked_without_end),
	        TEST(choices_say_what_is_due),
	        TEST(what_is_seen_or_disabled_is_not_due),
	        TEST(a_new_choice_begins_now),
	        TEST(a_mail_and_its_news_go_together),
	        TEST(one_mail_at_once_an_hour),
	        TEST(what_is_in_hand_is_in_nobody_elses),
	        TEST(a_start_makes_unsure_what_was_in_hand),
	        TEST(tries_come_ever_later_and_end),
	        TEST(only_so_many_go_out_in_an_hour),
	        TEST(a_clock_set_back_holds_no_mail_up),
	        TEST(a_stop_link_stops_it),
	        TEST(mails_leave_with_the_address_and_the_member),
	        TEST(a_late_question_confirms_no_other_address),
	        TEST(what_was_in_hand_at_a_stop_is_not_tried_again),
	        TEST(an_admin_sees_what_has_not_gone_out),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
