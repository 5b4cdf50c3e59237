/* What is news to the builder of a kit: rows by hand, then random sequences
 * against an oracle that looks every notice up anew. No outside source: the
 * rules are this project's (core/told.h). */
#include "build.h"

#include <string.h>

#include "core/told.h"

static struct arena *arena;

static int set_up(void **state)
{
	(void)state;
	arena = arena_new();
	return arena ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	arena_free(arena);
	return 0;
}

#define NO_NEWS (-1)
#define NONE STANDING_NOT_EFFECTIVE
static const struct told_since by_list = {.list = true}, by_kit = {.kit = true},
                               by_day = {.day = true}, by_both = {.list = true, .kit = true},
                               by_kit_and_day = {.kit = true, .day = true},
                               at_first = {.first = true};

struct row {
	const char *what;
	enum standing_kind from; /* NONE: not told of */
	bool from_overdue;
	int64_t from_revision;
	enum standing_kind to;
	bool to_overdue, cancelled;
	const struct told_since *since;
	int kind;
};

static const struct row rows[] = {
        {"never told", NONE, 0, 1, STANDING_OPEN, 0, 0, &at_first, NO_NEWS},
        {"new, concerns", NONE, 0, 1, STANDING_OPEN, 0, 0, &by_list, TOLD_NEW},
        {"new, may concern", NONE, 0, 1, STANDING_ASK, 0, 0, &by_list, TOLD_NEW},
        {"new, does not concern", NONE, 0, 1, NONE, 0, 0, &by_list, NO_NEWS},
        {"new and cancelled", NONE, 0, 1, NONE, 0, 1, &by_list, NO_NEWS},
        {"new while the kit changed too", NONE, 0, 1, STANDING_OPEN, 0, 0, &by_both, TOLD_NEW},
        {"concerns by an own fact", NONE, 0, 1, STANDING_OPEN, 0, 0, &by_kit, NO_NEWS},
        {"concerns by the day", NONE, 0, 1, STANDING_OPEN, 0, 0, &by_day, TOLD_STANDING},
        {"nothing changed", STANDING_OPEN, 0, 1, STANDING_OPEN, 0, 0, &by_list, NO_NEWS},
        {"another list alone", STANDING_DONE, 0, 1, STANDING_DONE, 0, 0, &by_both, NO_NEWS},
        {"revised", STANDING_OPEN, 0, 9, STANDING_OPEN, 0, 0, &by_list, TOLD_REVISED},
        {"revised and opened again", STANDING_DONE, 0, 9, STANDING_OPEN, 0, 0, &by_list,
         TOLD_REVISED},
        {"revised, concerns no more", STANDING_OPEN, 0, 9, NONE, 0, 0, &by_list, TOLD_REVISED},
        {"revised while the kit changed", STANDING_OPEN, 0, 9, STANDING_DONE, 0, 0, &by_both,
         TOLD_REVISED},
        {"cancelled", STANDING_OPEN, 0, 1, NONE, 0, 1, &by_list, TOLD_CANCELLED},
        {"revised and cancelled", STANDING_OPEN, 0, 9, NONE, 0, 1, &by_list, TOLD_CANCELLED},
        {"replaced by another", STANDING_OPEN, 0, 1, STANDING_REPLACED, 0, 0, &by_list,
         TOLD_STANDING},
        {"own work", STANDING_OPEN, 0, 1, STANDING_DONE, 0, 0, &by_kit, NO_NEWS},
        {"own facts", STANDING_ASK, 0, 1, NONE, 0, 0, &by_kit, NO_NEWS},
        {"own work, the next day", STANDING_OPEN, 0, 1, STANDING_DONE, 0, 0, &by_kit_and_day,
         NO_NEWS},
        {"work and list: cannot tell", STANDING_OPEN, 0, 1, STANDING_DONE, 0, 0, &by_both,
         TOLD_STANDING},
        {"overdue by the day", STANDING_OPEN, 0, 1, STANDING_OPEN, 1, 0, &by_day, TOLD_STANDING},
        {"repeats are due", STANDING_REPEATING, 0, 1, STANDING_REPEATING, 1, 0, &by_day,
         TOLD_STANDING},
        {"overdue by the hours entered", STANDING_OPEN, 0, 1, STANDING_OPEN, 1, 0, &by_kit,
         NO_NEWS},
        {"overdue, hours and day", STANDING_OPEN, 0, 1, STANDING_OPEN, 1, 0, &by_kit_and_day,
         TOLD_STANDING},
        {"overdue as before", STANDING_OPEN, 1, 1, STANDING_OPEN, 1, 0, &by_day, NO_NEWS},
        {"in time again", STANDING_REPEATING, 1, 1, STANDING_REPEATING, 0, 0, &by_kit, NO_NEWS},
};

static void rows_by_hand(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		const struct row *r = &rows[i];
		struct told told = {{5}, {r->from_revision}, r->from, r->from_overdue};
		struct told_now now = {{{5}, {1}, r->to, r->to_overdue}, r->cancelled};
		const struct told_change *changes;
		size_t count;

		assert_int_equal(told_changes(arena, &told, r->from != NONE, &now, 1, *r->since,
		                              &changes, &count),
		                 ST_OK);
		if ((int)count != (r->kind != NO_NEWS))
			fail_msg("%s: %zu changes", r->what, count);
		if (count && ((int)changes->kind != r->kind || changes->from != r->from ||
		              changes->from_overdue != r->from_overdue))
			fail_msg("%s: kind %d", r->what, (int)changes->kind);
	}
}

/* Sequences: notices come, are revised and cancelled; the kit and the day
 * change. After each round what was told must equal what is so. */
#define NOTICES 9

struct life {
	struct told_now now[NOTICES];
	bool published[NOTICES];
	struct told told[NOTICES];
	size_t n_told;
	bool first;
	uint64_t seed;
};

static uint64_t below(struct life *life, uint64_t n)
{
	return next_random(&life->seed) % n;
}

static void change_one(struct life *life, struct told_since *since)
{
	size_t i = below(life, NOTICES);
	struct told_now *now = &life->now[i];

	switch (below(life, 5)) {
	case 0: /* published or revised */
		life->published[i] = true;
		since->list = true;
		now->cancelled = false;
		now->so.revision.v++;
		now->so.standing = (enum standing_kind)below(life, STANDING_KINDS);
		now->so.overdue = below(life, 2);
		break;
	case 1:
		since->list = true;
		now->cancelled = true;
		now->so.standing = NONE;
		now->so.overdue = false;
		break;
	case 2: /* another notice replaces it */
		since->list = true;
		now->so.standing = now->cancelled ? NONE : STANDING_REPLACED;
		break;
	case 3:
		since->kit = true;
		now->so.standing =
		        now->cancelled ? NONE : (enum standing_kind)below(life, STANDING_KINDS);
		break;
	default:
		since->day = true;
		now->so.overdue |= now->so.standing == STANDING_OPEN;
	}
}

static size_t list_now(const struct life *life, struct told_now *out)
{
	size_t count = 0;

	for (size_t i = 0; i < NOTICES; i++)
		if (life->published[i])
			out[count++] = life->now[i];
	return count;
}

/* The rules once more, from their sentences. */
static int oracle(const struct life *life, const struct told_now *now, struct told_since since)
{
	const struct told *was = NULL;
	bool own = since.kit && !since.list;

	for (size_t i = 0; i < life->n_told; i++)
		if (life->told[i].notice.v == now->so.notice.v)
			was = &life->told[i];
	if (life->first || (!was && now->so.standing == NONE))
		return NO_NEWS;
	if (!was)
		return own ? NO_NEWS : since.list ? TOLD_NEW : TOLD_STANDING;
	if (now->cancelled && now->so.standing == NONE)
		return TOLD_CANCELLED;
	if (was->revision.v != now->so.revision.v)
		return TOLD_REVISED;
	if (now->so.overdue && !was->overdue)
		return own && !since.day ? NO_NEWS : TOLD_STANDING;
	return was->standing != now->so.standing && !own ? TOLD_STANDING : NO_NEWS;
}

static void check_round(const struct life *life, const struct told_now *now, size_t n_now,
                        struct told_since since)
{
	const struct told_change *changes;
	size_t count, at = 0;

	assert_int_equal(
	        told_changes(arena, life->told, life->n_told, now, n_now, since, &changes, &count),
	        ST_OK);
	for (size_t i = 0; i < n_now; i++) {
		int kind = oracle(life, &now[i], since);

		if (at < count && changes[at].now == i)
			assert_int_equal((int)changes[at++].kind, kind);
		else
			assert_int_equal(NO_NEWS, kind);
	}
	assert_int_equal(at, count);
}

static void tell(struct life *life, const struct told_now *now, size_t n_now)
{
	const struct told *after, *again;
	const struct told_change *changes;
	size_t count, n_again;

	assert_int_equal(told_after(arena, now, n_now, &after, &count), ST_OK);
	memcpy(life->told, after, count * sizeof *after);
	life->n_told = count;
	life->first = false;
	assert_int_equal(told_changes(arena, after, count, now, n_now,
	                              (struct told_since){.list = true, .day = true}, &changes,
	                              &n_again),
	                 ST_OK);
	assert_int_equal(n_again, 0);
	assert_int_equal(told_after(arena, now, n_now, &again, &n_again), ST_OK);
	assert_true(told_equal(after, count, again, n_again));
}

static void sequences_against_the_oracle(void **state)
{
	(void)state;
	for (uint64_t seed = 0; seed < 400; seed++) {
		struct life life = {.first = true, .seed = seed};

		for (size_t i = 0; i < NOTICES; i++)
			life.now[i].so = (struct told){
			        {(int64_t)(3 * i + 1)}, {(int64_t)(100 * i)}, NONE, false};
		for (int round = 0; round < 25; round++) {
			struct told_since since = {.first = life.first};
			struct told_now now[NOTICES];
			size_t n_now;

			for (uint64_t n = below(&life, 4); n > 0; n--)
				change_one(&life, &since);
			n_now = list_now(&life, now);
			check_round(&life, now, n_now, since);
			tell(&life, now, n_now);
		}
		arena_reset(arena);
	}
}

static void rows_are_told_apart(void **state)
{
	const struct told a[2] = {{{1}, {2}, STANDING_OPEN, false},
	                          {{3}, {4}, STANDING_ASK, false}};
	struct told b[2];

	(void)state;
	assert_true(told_equal(a, 2, a, 2));
	assert_true(told_equal(NULL, 0, a, 0));
	assert_false(told_equal(a, 1, a, 2));
	for (int i = 0; i < 4; i++) {
		memcpy(b, a, sizeof a);
		b[1].notice.v += i == 0;
		b[1].revision.v += i == 1;
		b[1].standing = i == 2 ? STANDING_DONE : b[1].standing;
		b[1].overdue = i == 3;
		assert_false(told_equal(a, 2, b, 2));
	}
}

static bool compare_in(struct arena *small)
{
	const struct told told = {{1}, {2}, STANDING_OPEN, false};
	const struct told_now now[2] = {{{{1}, {2}, STANDING_DONE, false}, false},
	                                {{{4}, {5}, STANDING_OPEN, false}, false}};
	const struct told_change *changes = NULL;
	const struct told *after = NULL;
	size_t count = 7;

	if (told_changes(small, &told, 1, now, 2, by_list, &changes, &count) == ST_OK &&
	    told_after(small, now, 2, &after, &count) == ST_OK)
		return true;
	assert_true(!changes || !after);
	return false;
}

static void running_out_of_memory_is_told(void **state)
{
	(void)state;
	try_each_place(compare_in);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(rows_by_hand),
	        cmocka_unit_test(sequences_against_the_oracle),
	        cmocka_unit_test(rows_are_told_apart),
	        cmocka_unit_test(running_out_of_memory_is_told),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
