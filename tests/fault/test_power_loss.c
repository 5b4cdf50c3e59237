/* Power is lost in the midst of the store's work, at any write, sync or cut of a
 * file (disk.h): afterwards the database opens, every byte of it is sound, and it
 * holds each act that was acknowledged before, and of the one under way all or
 * nothing.
 *
 *     test_power_loss [WORD [LOSSES]]     tests with the word in their name; 60 losses
 *
 * The acts are the store's own operations (tests/store/operations.h), in another
 * order each time, in a process that ends with the power. What should be there
 * is told by the same acts in a database in memory. That a loss would be seen is
 * shown with syncs switched off: acknowledged acts are then gone.
 */
#include "disk.h"
#include "operations.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#define DATABASE "/fairlead.db"
#define NEW "/new.db"
#define LEFT "/left"     /* the folder for what a loss has left */
#define ACTS 24          /* before each loss, at most */
#define EVENTS_OF_ACT 40 /* about what one asks of the disk */

static size_t losses = 60;

/* What the process that loses its power leaves: the disk, and how far it came. */
static FILE *left;
static size_t *acknowledged; /* shared */

static struct world *world;
static struct store *on_disk;          /* the same, on the disk that is going to lose power */
static size_t writers[512], n_writers; /* operations that change something */

/* Everything of one loss that chance decides. */
struct plan {
	size_t acts[ACTS];
	size_t before; /* the loss comes after that many acts, some events on */
	size_t events;
	enum disk_loss loss;
	uint64_t seed;
	const char *pragma; /* "": all is as the server sets it */
	bool often;         /* the log goes into the file after a few pages already */
};

static struct plan plan_of(uint64_t seed, const char *pragma)
{
	struct plan plan = {.seed = seed, .pragma = pragma};

	for (size_t i = 0; i < ACTS; i++)
		plan.acts[i] = writers[next_random(&seed) % n_writers];
	plan.before = next_random(&seed) % ACTS;
	plan.events = 1 + next_random(&seed) % EVENTS_OF_ACT;
	plan.loss = next_random(&seed) % DISK_LOSSES;
	plan.often = next_random(&seed) % 2;
	return plan;
}

static enum status act(size_t which)
{
	struct arena *arena = arena_new();
	enum status status;

	store_act_for(world->store, world->ann.v, NOW);
	status = operations[which].run(world, arena);
	arena_free(arena);
	return status;
}

static int rows_changed(void)
{
	return sqlite3_total_changes(world->store->db);
}

/* What operations change something, tried on the world once each. */
static void find_writers(void)
{
	n_writers = 0;
	for (size_t i = 0; i < operations_count; i++) {
		int before = rows_changed();

		if (operations[i].prepare)
			continue; /* works behind the store's back */
		assert_ok(store_begin(world->store));
		if (act(i) == ST_OK && rows_changed() > before)
			writers[n_writers++] = i;
		store_rollback(world->store);
	}
	assert_true(n_writers > 100);
}

static int set_up(void **state)
{
	struct store *in_memory;
	unsigned char *image;
	sqlite3_int64 len;

	disk_install();
	crowd_make(state);
	world = *state;
	in_memory = world->store;
	assert_int_equal(sqlite3_exec(in_memory->db, "VACUUM", NULL, NULL, NULL), SQLITE_OK);
	image = sqlite3_serialize(in_memory->db, "main", &len, 0);
	disk_put(DATABASE, image, (size_t)len);
	sqlite3_free(image);
	assert_ok(store_open(DATABASE, &on_disk));
	world->store = on_disk;
	find_writers();
	world->store = in_memory;
	left = tmpfile();
	acknowledged = mmap(NULL, sizeof *acknowledged, PROT_READ | PROT_WRITE,
	                    MAP_SHARED | MAP_ANONYMOUS, -1, 0);
	assert_non_null(left);
	assert_true(acknowledged != MAP_FAILED);
	return 0;
}

static int clear(void **state)
{
	store_close(on_disk);
	disk_clear("/");
	munmap(acknowledged, sizeof *acknowledged);
	fclose(left);
	return world_end(state);
}

/* ---- in the process that loses its power ---- */

static void power_is_gone(void)
{
	disk_save(left);
	_exit(0);
}

static void set(const char *pragma)
{
	if (sqlite3_exec(on_disk->db, pragma, NULL, NULL, NULL) != SQLITE_OK)
		_exit(1);
}

static void work(const struct plan *plan)
{
	set(plan->pragma);
	if (plan->often)
		set("PRAGMA wal_autocheckpoint = 40");
	world->store = on_disk;
	disk_lose_at(0, plan->loss, plan->seed, power_is_gone);
	for (size_t i = 0; i < ACTS; i++) {
		if (i == plan->before)
			disk_lose_at(plan->events, plan->loss, plan->seed, power_is_gone);
		(void)!act(plan->acts[i]); /* some are refused, by what others did */
		++*acknowledged;
	}
	disk_lose();
}

/* ---- and in the one that looks at what is left ---- */

static void lose_power(const struct plan *plan, void (*run)(const struct plan *plan))
{
	int code = 0;
	pid_t child;

	rewind(left);
	assert_int_equal(ftruncate(fileno(left), 0), 0);
	*acknowledged = 0;
	fflush(NULL);
	child = fork();
	if (child == 0)
		run(plan);
	assert_true(child > 0);
	assert_int_equal(waitpid(child, &code, 0), child);
	assert_int_equal(code, 0);
	rewind(left);
	disk_load(left, LEFT);
}

/* Its pages, and all that is sealed in them. */
static bool is_sound(struct store *store)
{
	struct seal_report report = {.shown = 0};
	sqlite3_stmt *check;
	bool sound;

	if (sqlite3_prepare_v2(store->db, "PRAGMA integrity_check", -1, &check, NULL) != SQLITE_OK)
		return false;
	sound = sqlite3_step(check) == SQLITE_ROW &&
	        strcmp((const char *)sqlite3_column_text(check, 0), "ok") == 0;
	sqlite3_finalize(check);
	return sound && seals_check(store, SEAL_WITH_FILES, &report) == ST_OK;
}

/* Does the store hold so many acts of the plan, or one more? */
static bool holds_acts(struct store *store, const struct plan *plan)
{
	struct copy *copy = copy_take(store);
	bool same;

	assert_ok(store_begin(world->store));
	for (size_t i = 0; i < *acknowledged; i++)
		(void)!act(plan->acts[i]);
	same = copy_same(copy, world->store);
	if (!same && *acknowledged < ACTS) {
		(void)!act(plan->acts[*acknowledged]);
		same = copy_same(copy, world->store);
	}
	store_rollback(world->store);
	copy_free(copy);
	return same;
}

struct outcome {
	size_t acts, broken, lost;
};

/* Loses power once, and counts what became of it. */
static void try_plan(const struct plan *plan, struct outcome *outcome)
{
	struct store *store = NULL;

	lose_power(plan, work);
	outcome->acts += *acknowledged;
	if (store_open(LEFT DATABASE, &store) != ST_OK || !is_sound(store)) {
		outcome->broken++;
	} else if (!holds_acts(store, plan)) {
		outcome->lost++;
	}
	store_close(store);
	disk_clear(LEFT);
}

static struct outcome try_plans(size_t count, const char *pragma)
{
	struct outcome outcome = {0, 0, 0};

	for (size_t i = 0; i < count; i++) {
		const struct plan plan = plan_of(i, pragma);

		try_plan(&plan, &outcome);
	}
	print_message("%zu losses of power, %s: %zu acknowledged acts; "
	              "databases broken %zu, acts missing in %zu\n",
	              count, pragma[0] ? pragma : "as the server writes", outcome.acts,
	              outcome.broken, outcome.lost);
	return outcome;
}

static void acknowledged_acts_outlast_the_power(void **state)
{
	struct outcome outcome = try_plans(losses, "");

	(void)state;
	assert_true(outcome.acts > losses);
	assert_int_equal(outcome.broken, 0);
	assert_int_equal(outcome.lost, 0);
}

static void without_syncs_the_loss_is_seen(void **state)
{
	struct outcome outcome = try_plans(12, "PRAGMA synchronous = OFF");

	(void)state;
	assert_true(outcome.broken + outcome.lost > 6);
}

/* ---- the first start ---- */

static void start(const struct plan *plan)
{
	struct store *store;

	disk_lose_at(plan->events, plan->loss, plan->seed, power_is_gone);
	if (store_open(NEW, &store) != ST_OK)
		_exit(1);
	++*acknowledged;
	disk_lose();
}

static void a_first_start_that_lost_its_power_is_made_good(void **state)
{
	size_t starts = 0;

	(void)state;
	for (*acknowledged = 0; *acknowledged == 0; starts++) {
		struct plan plan = plan_of(starts, "");
		struct store *store;
		int64_t version;

		plan.events = 1 + starts * 47;
		lose_power(&plan, start);
		assert_ok(store_open(LEFT NEW, &store));
		assert_ok(store_file_version(store, &version));
		assert_int_equal(version, store_version());
		assert_true(is_sound(store));
		store_close(store);
		disk_clear(LEFT);
	}
	print_message("%zu losses of power during a first start, each made good\n", starts);
	assert_true(starts > 8);
}

int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(acknowledged_acts_outlast_the_power),
	        cmocka_unit_test(without_syncs_the_loss_is_seen),
	        cmocka_unit_test(a_first_start_that_lost_its_power_is_made_good),
	};

	struct CMUnitTest chosen[sizeof tests / sizeof *tests];
	size_t n = 0;

	if (argc > 2)
		losses = strtoul(argv[2], NULL, 10);
	for (size_t i = 0; i < sizeof tests / sizeof *tests; i++)
		if (argc < 2 || strstr(tests[i].name, argv[1]))
			chosen[n++] = tests[i];
	if (n == 0) {
		fprintf(stderr, "no test is named like %s\n", argv[1]);
		return 1;
	}
	return _cmocka_run_group_tests("power loss", chosen, n, set_up, clear);
}
