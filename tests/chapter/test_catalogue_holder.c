/* The shared catalogue: read once, kept while borrowed, replaced when the
 * notices have changed, whoever changed them. */
#include "support.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "store/notices.h"
#include "store/settings.h"
#include "chapter/catalogue_holder.h"

#define READERS 4
#define NOTICES 20

static struct {
	char folder[64], path[80];
	struct store *store;
	struct member_id steward;
	struct catalogue_holder *holder;
} world;

static int set_up(void **state)
{
	static const struct member_entry steward = {"sue", "Sue", "no hash", ROLE_STEWARD};

	(void)state;
	snprintf(world.folder, sizeof world.folder, "/tmp/fairlead-holder-XXXXXX");
	assert_non_null(mkdtemp(world.folder));
	snprintf(world.path, sizeof world.path, "%s/db", world.folder);
	assert_int_equal(store_open(world.path, &world.store), ST_OK);
	assert_int_equal(member_add(world.store, &steward, 1, &world.steward), ST_OK);
	world.holder = catalogue_holder_new();
	return world.holder ? 0 : -1;
}

static int tear_down(void **state)
{
	char path[90];
	static const char *const ends[] = {"", "-wal", "-shm"};

	(void)state;
	catalogue_holder_free(world.holder);
	store_close(world.store);
	for (size_t i = 0; i < 3; i++) {
		snprintf(path, sizeof path, "%s%s", world.path, ends[i]);
		unlink(path);
	}
	rmdir(world.folder);
	return 0;
}

static void publish(int number)
{
	struct revision_content content = revision_content_empty;
	struct notice_import import = {&content, 1, "", ""};
	struct notice_id id;
	char text[20];

	snprintf(text, sizeof text, "HF-SB-%d", number);
	content.number = text;
	content.issuer = "Harrowfen";
	content.title = "A bushing";
	content.action = "Look at it.";
	content.effectivity = "all";
	content.issued = "2018-03-01";
	assert_int_equal(notice_import(world.store, &import, world.steward, 2, &id), ST_OK);
}

static int64_t generation_of(struct store *store)
{
	int64_t generation = 0;

	assert_int_equal(setting_generation(store, &generation), ST_OK);
	return generation;
}

static struct held_catalogue *borrow(void)
{
	struct held_catalogue *held = NULL;

	assert_int_equal(
	        catalogue_borrow(world.holder, world.store, generation_of(world.store), &held),
	        ST_OK);
	return held;
}

static void test_unchanged_notices_are_read_once(void **state)
{
	struct held_catalogue *first = borrow();
	struct held_catalogue *second = borrow();

	(void)state;
	assert_ptr_equal(first, second);
	assert_int_equal(first->catalogue->count, 0);
	catalogue_return(world.holder, first);
	catalogue_return(world.holder, second);
	catalogue_return(world.holder, NULL);
}

static void test_a_borrower_keeps_what_it_has(void **state)
{
	struct held_catalogue *old, *new;

	(void)state;
	publish(1);
	old = borrow();
	publish(2);
	new = borrow();
	assert_int_equal(old->catalogue->count, 1);
	assert_int_equal(new->catalogue->count, 2);
	assert_true(new->generation > old->generation);
	assert_string_equal(old->catalogue->entries[0].notice.number.text, "HF-SB-1");
	catalogue_return(world.holder, old);
	assert_string_equal(new->catalogue->entries[1].notice.number.text, "HF-SB-2");
	catalogue_return(world.holder, new);
}

/* Borrows until the last notice is there; a count that falls is a fault. */
static void *read_on(void *faults)
{
	struct store *store = NULL;
	size_t seen = 0;

	if (store_open(world.path, &store) != ST_OK)
		++*(int *)faults;
	while (store && seen < NOTICES) {
		struct held_catalogue *held = NULL;
		int64_t generation = 0;

		if (setting_generation(store, &generation) != ST_OK ||
		    catalogue_borrow(world.holder, store, generation, &held) != ST_OK) {
			++*(int *)faults;
			break;
		}
		if (held->generation < generation || held->catalogue->count < seen)
			++*(int *)faults;
		seen = held->catalogue->count;
		catalogue_return(world.holder, held);
	}
	store_close(store);
	return NULL;
}

static void test_threads_read_while_notices_are_published(void **state)
{
	pthread_t threads[READERS];
	int faults[READERS] = {0};

	(void)state;
	for (int i = 0; i < READERS; i++)
		assert_int_equal(pthread_create(&threads[i], NULL, read_on, &faults[i]), 0);
	for (int i = 1; i <= NOTICES; i++)
		publish(i);
	for (int i = 0; i < READERS; i++) {
		pthread_join(threads[i], NULL);
		assert_int_equal(faults[i], 0);
	}
}

static void test_a_failed_reading_leaves_the_old_one(void **state)
{
	struct held_catalogue *held = borrow();
	struct held_catalogue *none = NULL;

	(void)state;
	publish(1);
	store_fail_step(world.store, 1);
	assert_int_equal(catalogue_borrow(world.holder, world.store, held->generation + 1, &none),
	                 ST_IO);
	store_fail_step(world.store, 0);
	assert_null(none);
	catalogue_return(world.holder, held);
	held = borrow();
	assert_int_equal(held->catalogue->count, 1);
	catalogue_return(world.holder, held);
}

int main(void)
{
#define FRESH(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
	const struct CMUnitTest tests[] = {
	        FRESH(test_unchanged_notices_are_read_once),
	        FRESH(test_a_borrower_keeps_what_it_has),
	        FRESH(test_threads_read_while_notices_are_published),
	        FRESH(test_a_failed_reading_leaves_the_old_one),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
