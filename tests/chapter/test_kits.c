/* test_kits.c - kits in memory: always what the database holds, for one and for all. */
#include <pthread.h>
#include <stdio.h>
#include <string.h>

#include "support.h"
#include "web_support.h"

#include "chapter/chapter.h"
#include "chapter/kits.h"
#include "store/kit_log.h"
#include "store/records.h"
#include "store/sql.h"
#include "store/store.h"

#define assert_ok(call) assert_int_equal((call), ST_OK)

struct world {
	struct web *web;
	struct chapter chapter;
	struct work work;
};

static int set_up(void **state)
{
	struct world *w = test_calloc(1, sizeof *w);

	w->web = web_new(NULL, 0, NULL, 0);
	w->chapter.kits = kits_new();
	assert_non_null(w->chapter.kits);
	w->work = (struct work){
	        .chapter = &w->chapter, .store = web_store(w->web), .arena = arena_new()};
	*state = w;
	return 0;
}

static int tear_down(void **state)
{
	struct world *w = *state;

	kits_free(w->chapter.kits);
	arena_free(w->work.arena);
	web_free(w->web);
	test_free(w);
	return 0;
}

static struct name name_of(struct world *w, const char *text)
{
	struct name name;

	assert_ok(name_make(w->work.arena, text, strlen(text), &name));
	return name;
}

static struct kit read_kit(struct world *w, struct kit_id id)
{
	struct kit kit;

	assert_ok(kit_read(w->work.store, w->work.arena, id, &kit));
	return kit;
}

/* ---- the same as the database, after whatever was written ---- */

struct seen {
	struct world *w;
	int64_t last;
	int count;
};

static bool compare(void *context, const struct held_kit *held)
{
	struct seen *seen = context;
	struct kit kit = read_kit(seen->w, held->id);
	const struct record *records;
	struct facts facts;
	size_t count;

	assert_true(held->id.v > seen->last);
	seen->last = held->id.v;
	seen->count++;
	assert_int_equal(held->version, kit.version);
	assert_int_equal(held->owner.v, kit.owner.v);
	assert_ok(kit_facts(seen->w->work.store, seen->w->work.arena, held->id, &facts));
	assert_true(name_same(&held->facts.model, &facts.model));
	assert_int_equal(held->facts.n_steps_done, facts.n_steps_done);
	for (size_t i = 0; i < facts.n_steps_done; i++)
		assert_string_equal(held->facts.steps_done[i].text, facts.steps_done[i].text);
	assert_int_equal(held->facts.n_options, facts.n_options);
	assert_int_equal(held->facts.has_hours, facts.has_hours);
	if (facts.has_hours)
		assert_int_equal(held->facts.hours, facts.hours);
	assert_ok(
	        record_list(seen->w->work.store, seen->w->work.arena, held->id, &records, &count));
	assert_int_equal(held->n_records, count);
	for (size_t i = 0; i < count; i++)
		assert_string_equal(held->records[i].method, records[i].method);
	return true;
}

static void assert_same(struct world *w)
{
	struct seen seen = {.w = w};
	int64_t count;

	assert_ok(kits_visit(&w->work, compare, &seen));
	assert_ok(kit_count(w->work.store, &count));
	assert_int_equal(seen.count, count);
}

static void mark(struct world *w, struct kit_id kit)
{
	struct name step = name_of(w, "W-3");
	struct date_fact done = {.state = DATE_UNKNOWN};

	assert_ok(kit_mark_steps(w->work.store, kit, &step, 1, &done));
}

static void unmark(struct world *w, struct kit_id kit)
{
	struct name step = name_of(w, "W-3");

	assert_ok(kit_unmark_steps(w->work.store, kit, &step, 1));
}

static void set_facts(struct world *w, struct kit_id kit)
{
	struct option_fact option = {name_of(w, "tailwheel"), true};
	struct facts facts = {
	        .model = name_of(w, "Whimbrel T"), .options = &option, .n_options = 1};

	assert_ok(kit_set_facts(w->work.store, kit, &facts));
}

static void log_hours(struct world *w, struct kit_id kit)
{
	struct kit_log_row row = {.entry = {.day = 18000, .has = {true}, .total = {1250}},
	                          .entered_by = "ann",
	                          .entered_at = WEB_START};
	struct kit_log_id id;

	assert_ok(kit_log_add(w->work.store, kit, &row, &id));
}

static void add_record(struct world *w, struct kit_id kit)
{
	struct record_id id;
	struct record record = {.notice = name_of(w, "HB-1"),
	                        .done = date_of_day(18000),
	                        .method = "replaced",
	                        .by = "Ann",
	                        .signed_as = "",
	                        .remarks = "",
	                        .entered_by = "ann",
	                        .entered_at = WEB_START};

	assert_ok(record_append(w->work.store, kit, &record, &id));
}

static void rename_it(struct world *w, struct kit_id kit)
{
	assert_ok(kit_rename(w->work.store, kit, "The blue one"));
}

static void add_another(struct world *w, struct kit_id kit)
{
	struct kit_id made;

	(void)kit;
	assert_ok(kit_add(w->work.store, web_member(w->web, BEN), "Another", WEB_START, &made));
}

static void test_every_change_is_taken_up(void **state)
{
	static void (*const changes[])(struct world *, struct kit_id) = {
	        mark, unmark, set_facts, log_hours, add_record, rename_it, add_another, mark};
	struct world *w = *state;
	struct kit_id kit = web_kit(w->web, ANN);

	assert_same(w);
	for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
		changes[i](w, kit);
		assert_same(w);
		assert_same(w);
	}
	assert_ok(kit_remove(w->work.store, kit));
	assert_same(w);
	add_another(w, kit);
	assert_same(w);
}

/* ---- one kit ---- */

static void test_a_borrowed_kit_stays_as_it_was(void **state)
{
	struct world *w = *state;
	struct kit_id id = web_kit(w->web, ANN);
	struct kit kit = read_kit(w, id);
	const struct held_kit *before, *after, *again;

	assert_ok(kits_borrow(&w->work, &kit, &before));
	assert_int_equal(before->facts.n_steps_done, 0);
	mark(w, id);
	kit = read_kit(w, id);
	assert_ok(kits_borrow(&w->work, &kit, &after));
	assert_int_equal(after->facts.n_steps_done, 1);
	assert_int_equal(before->facts.n_steps_done, 0);
	assert_ok(kits_borrow(&w->work, &kit, &again));
	assert_ptr_equal(again, after);
	assert_ok(kit_remove(w->work.store, id));
	assert_same(w);
	assert_string_equal(after->facts.steps_done[0].text, "W-3");
	kits_return(before);
	kits_return(after);
	kits_return(again);
}

/* A transaction that began before a change sees the kit as it was, and what is
 * held for the others is not turned back. */
static void test_an_older_state_reads_for_itself(void **state)
{
	struct world *w = *state;
	struct kit_id id = web_kit(w->web, ANN);
	struct store *older;
	struct work back = w->work;
	struct kit kit = read_kit(w, id);
	const struct held_kit *held;

	assert_same(w);
	assert_ok(store_open(web_database(w->web), &older));
	back.store = older;
	assert_ok(store_begin_reading(older));
	assert_ok(kit_read(older, w->work.arena, id, &kit)); /* the state is fixed here */
	mark(w, id);
	assert_same(w);
	assert_ok(kits_borrow(&back, &kit, &held));
	assert_int_equal(held->facts.n_steps_done, 0);
	kits_return(held);
	assert_same(w);
	assert_ok(store_end_reading(older, ST_OK));
	store_close(older);
	assert_same(w);
}

/* ---- failures ---- */

static bool count_one(void *context, const struct held_kit *held)
{
	(void)held;
	return ++*(int *)context;
}

/* Each SQL step of taking up fails once; the next visit makes up for it. */
static void test_a_failure_is_made_up_for(void **state)
{
	struct world *w = *state;
	bool done = false;

	assert_same(w);
	for (size_t at = 1; !done; at++) {
		int count = 0;
		enum status status;

		mark(w, web_kit(w->web, ANN));
		rename_it(w, web_kit(w->web, BEN));
		store_fail_step(w->work.store, at);
		status = kits_visit(&w->work, count_one, &count);
		store_fail_step(w->work.store, 0);
		done = status == ST_OK;
		assert_true(done || count == 0);
		assert_same(w);
		unmark(w, web_kit(w->web, ANN));
	}
}

/* ---- threads ---- */

#define READERS 4
#define ROUNDS 200

struct reader {
	struct world *w;
	struct store *store;
	int good;
};

static bool look(void *context, const struct held_kit *held)
{
	struct reader *reader = context;

	for (size_t i = 0; i < held->facts.n_steps_done; i++)
		reader->good += held->facts.steps_done[i].text[0] == 'W' ? 0 : -1000;
	return true;
}

static void *read_all(void *context)
{
	struct reader *reader = context;
	struct work work = reader->w->work;

	work.store = reader->store;
	for (int i = 0; i < ROUNDS; i++)
		reader->good += kits_visit(&work, look, reader) == ST_OK;
	return NULL;
}

static void test_readers_and_a_writer_at_once(void **state)
{
	struct world *w = *state;
	struct reader readers[READERS];
	pthread_t threads[READERS];

	for (int i = 0; i < READERS; i++) {
		readers[i] = (struct reader){.w = w};
		assert_ok(store_open(web_database(w->web), &readers[i].store));
		assert_int_equal(pthread_create(&threads[i], NULL, read_all, &readers[i]), 0);
	}
	for (int i = 0; i < ROUNDS / 4; i++) {
		mark(w, web_kit(w->web, ANN));
		unmark(w, web_kit(w->web, ANN));
	}
	for (int i = 0; i < READERS; i++) {
		pthread_join(threads[i], NULL);
		assert_int_equal(readers[i].good, ROUNDS);
		store_close(readers[i].store);
	}
	assert_same(w);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(test_every_change_is_taken_up),
	        TEST(test_a_borrowed_kit_stays_as_it_was),
	        TEST(test_an_older_state_reads_for_itself),
	        TEST(test_a_failure_is_made_up_for),
	        TEST(test_readers_and_a_writer_at_once),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
