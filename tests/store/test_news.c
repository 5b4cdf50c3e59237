/* News of members, and what the builder of a kit has been told. */
#include "fixture.h"

#include <string.h>

#include "store/news.h"

static struct news_entry entry_of(const struct world *w, enum news_kind kind, const char *words)
{
	return (struct news_entry){
	        .member = w->bob, .kind = kind, .kit = w->kit, .notice = w->one, .words = words};
}

static void add(struct world *w, const char *words)
{
	struct news_entry entry = entry_of(w, NEWS_NEW, words);

	assert_ok(news_add(w->store, &entry, NOW));
}

/* As bob's session tells it. */
static int64_t unseen(struct world *w)
{
	struct session session;

	assert_ok(session_find(w->store, w->arena, &w->session, NOW, &session));
	assert_int_equal(session.member.id.v, w->bob.v);
	return session.unseen;
}

static void news_are_read_back(void **state)
{
	struct world *w = *state;
	struct news_entry entry = entry_of(w, NEWS_POINTED, "Look at the flange.");
	const struct news *news;
	size_t count;

	entry.from = w->sam;
	entry.mandatory = true;
	assert_ok(news_add(w->store, &entry, NOW + 7));
	assert_ok(news_add(
	        w->store,
	        &(struct news_entry){
	                .member = w->bob, .kind = NEWS_ANSWER, .note = w->note, .words = ""},
	        NOW + 8));
	assert_ok(news_list(w->store, w->arena, w->bob, 0, 9, &news, &count));
	assert_int_equal(count, 2);
	assert_int_equal(news[0].kind, NEWS_ANSWER);
	assert_int_equal(news[0].note.v, w->note.v);
	assert_int_equal(news[0].kit.v + news[0].notice.v + news[0].report.v, 0);
	assert_string_equal(news[0].kit_name, "");
	assert_string_equal(news[0].notice_number, "");
	assert_string_equal(news[0].from_name, "");
	assert_int_equal(news[1].at, NOW + 7);
	assert_true(news[1].mandatory && !news[1].seen);
	assert_string_equal(news[1].kit_name, "Blue one");
	assert_string_equal(news[1].notice_number, "HF-SB-1");
	assert_string_equal(news[1].from_name, "sam");
	assert_string_equal(news[1].words, "Look at the flange.");
	assert_ok(news_list(w->store, w->arena, w->sam, 0, 9, &news, &count));
	assert_int_equal(count, 0);
}

static void bad_news_are_refused(void **state)
{
	struct world *w = *state;
	static char longer[NEWS_WORDS_LONGEST + 2];
	struct news_entry good = entry_of(w, NEWS_NEW, "");
	struct news_entry rows[] = {good, good, good, good, good, good};

	memset(longer, 'x', sizeof longer - 1);
	rows[0].member.v = 99;
	rows[1].kit.v = 99;
	rows[2].notice.v = 99;
	rows[3].report.v = 99;
	rows[4].note.v = 99;
	rows[5].words = longer;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_int_equal(news_add(w->store, &rows[i], NOW), ST_CONFLICT);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM news"), 0);
	good.words = longer + 1;
	assert_ok(news_add(w->store, &good, NOW));
}

static void lists_go_back_from_an_id(void **state)
{
	struct world *w = *state;
	const struct news *news;
	int64_t before = 0;
	size_t count, total = 0;

	for (int i = 0; i < 7; i++)
		add(w, "");
	do {
		assert_ok(news_list(w->store, w->arena, w->bob, before, 3, &news, &count));
		for (size_t i = 0; i < count; i++) {
			assert_true(!before || news[i].id < before);
			before = news[i].id;
		}
		total += count;
	} while (count == 3);
	assert_int_equal(total, 7);
}

static void what_is_seen_stays_seen(void **state)
{
	struct world *w = *state;
	const struct news *news;
	size_t count;

	for (int i = 0; i < 3; i++)
		add(w, "");
	assert_ok(news_list(w->store, w->arena, w->bob, 0, 9, &news, &count));
	assert_int_equal(unseen(w), 3);
	assert_ok(news_mark_seen(w->store, w->sam, news[0].id)); /* not his */
	assert_ok(news_mark_seen(w->store, w->bob, news[0].id + 50));
	assert_int_equal(unseen(w), 3);
	assert_ok(news_mark_seen(w->store, w->bob, news[1].id));
	assert_int_equal(unseen(w), 1);
	assert_ok(news_mark_seen(w->store, w->bob, news[2].id)); /* does not go back */
	assert_int_equal(unseen(w), 1);
	assert_ok(news_list(w->store, w->arena, w->bob, 0, 9, &news, &count));
	assert_true(!news[0].seen && news[1].seen && news[2].seen);
	for (int i = 0; i < 2 * NEWS_COUNTED; i++)
		add(w, "");
	assert_int_equal(unseen(w), NEWS_COUNTED);
}

static void mail_takes_each_once(void **state)
{
	struct world *w = *state;
	struct news_entry entry = entry_of(w, NEWS_NEW, "danger");
	const struct news *news;
	size_t count;

	add(w, "first");
	entry.mandatory = true;
	assert_ok(news_add(w->store, &entry, NOW));
	add(w, "last");
	assert_ok(news_to_mail(w->store, w->arena, w->bob, true, 9, &news, &count));
	assert_int_equal(count, 1);
	assert_string_equal(news[0].words, "danger");
	assert_ok(news_set_mailed(w->store, w->bob, true, news[0].id));
	assert_ok(news_to_mail(w->store, w->arena, w->bob, false, 9, &news, &count));
	assert_int_equal(count, 2);
	assert_string_equal(news[0].words, "first");
	assert_ok(news_set_mailed(w->store, w->bob, false, news[0].id));
	assert_ok(news_to_mail(w->store, w->arena, w->bob, false, 9, &news, &count));
	assert_int_equal(count, 1);
	assert_string_equal(news[0].words, "last");
}

static const struct told two_rows[2] = {{{1}, {2}, STANDING_OPEN, true},
                                        {{2}, {3}, STANDING_ASK, false}};

static struct told_step step_of(const struct world *w)
{
	return (struct told_step){
	        .kit = w->kit, .after = {4, 5, 20000}, .rows = two_rows, .n_rows = 2};
}

static void what_was_told_is_read_back(void **state)
{
	struct world *w = *state;
	struct told_step step = step_of(w);
	struct told_mark mark = {7, 7, 7};
	const struct told *rows;
	size_t count;

	assert_ok(told_read(w->store, w->arena, w->kit, &mark, &rows, &count));
	assert_int_equal(count, 0);
	assert_int_equal(mark.generation + mark.version + mark.day, 0);
	assert_ok(told_replace(w->store, &step, NOW));
	assert_ok(told_read(w->store, w->arena, w->kit, &mark, &rows, &count));
	assert_true(told_equal(rows, count, two_rows, 2));
	assert_int_equal(mark.generation, 4);
	assert_int_equal(mark.version, 5);
	assert_int_equal(mark.day, 20000);
	assert_int_equal(told_read(w->store, w->arena, (struct kit_id){99}, &mark, &rows, &count),
	                 ST_MISSING);
}

static void a_step_is_taken_once(void **state)
{
	struct world *w = *state;
	struct news_entry entry = entry_of(w, NEWS_STANDING, "why");
	struct told_step step = step_of(w);

	step.news = &entry;
	step.n_news = 1;
	assert_ok(told_replace(w->store, &step, NOW));
	assert_int_equal(told_replace(w->store, &step, NOW), ST_CONFLICT);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM news"), 1);
	step.before = step.after;
	step.after.day++;
	step.rows_stay = true;
	step.n_news = 0;
	assert_ok(told_replace(w->store, &step, NOW));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM told"), 2);
	step.kit.v = 99;
	assert_int_equal(told_replace(w->store, &step, NOW), ST_MISSING);
}

static void a_step_with_bad_news_is_not_taken(void **state)
{
	struct world *w = *state;
	struct news_entry entries[2] = {entry_of(w, NEWS_NEW, ""), entry_of(w, NEWS_NEW, "")};
	struct told_step step = step_of(w);
	struct text before = TEXT_EMPTY, after = TEXT_EMPTY;

	entries[1].notice.v = 99;
	step.news = entries;
	step.n_news = 2;
	dump_database(w->store, &before);
	assert_int_equal(told_replace(w->store, &step, NOW), ST_CONFLICT);
	dump_database(w->store, &after);
	assert_string_equal(text_string(&before), text_string(&after));
	text_free(&before);
	text_free(&after);
}

static size_t stale(struct world *w, int64_t generation, day_number day, int64_t after)
{
	const struct kit_id *kits;
	size_t count;

	assert_ok(told_stale(w->store, w->arena, generation, day, (struct kit_id){after}, 9, &kits,
	                     &count));
	return count;
}

static void kits_go_stale(void **state)
{
	struct world *w = *state;
	struct told_step step = step_of(w);

	assert_int_equal(stale(w, 4, 20000, 0), 2); /* never told: both */
	assert_int_equal(stale(w, 4, 20000, w->kit.v), 1);
	step.after.version = sql_number(w->store, "SELECT version FROM kits WHERE id = 1");
	assert_ok(told_replace(w->store, &step, NOW));
	assert_int_equal(stale(w, 4, 20000, 0), 1);
	assert_int_equal(stale(w, 5, 20000, 0), 2);
	assert_int_equal(stale(w, 4, 20001, 0), 2);
	assert_ok(kit_rename(w->store, w->kit, "Blue"));
	assert_int_equal(stale(w, 4, 20000, 0), 2);
}

static void news_go_with_what_they_are_about(void **state)
{
	struct world *w = *state;
	struct told_step step = step_of(w);
	struct news_entry entry = entry_of(w, NEWS_ANSWER, "");

	add(w, "of the kit");
	entry.kit.v = 0;
	entry.from = w->sam;
	assert_ok(news_add(w->store, &entry, NOW));
	assert_ok(told_replace(w->store, &step, NOW));
	assert_ok(member_remove(w->store, w->sam, NOW)); /* who only pointed it out */
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM news"), 2);
	assert_ok(kit_remove(w->store, w->kit));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM news"), 1);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM told"), 0);
	assert_ok(member_remove(w->store, w->bob, NOW));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM news"), 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, world_make, world_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(news_are_read_back),
	        TEST(bad_news_are_refused),
	        TEST(lists_go_back_from_an_id),
	        TEST(what_is_seen_stays_seen),
	        TEST(mail_takes_each_once),
	        TEST(what_was_told_is_read_back),
	        TEST(a_step_is_taken_once),
	        TEST(a_step_with_bad_news_is_not_taken),
	        TEST(kits_go_stale),
	        TEST(news_go_with_what_they_are_about),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
