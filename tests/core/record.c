/* The form of a record that the chain hashes: no two different records share it. */
#include "build.h"

#include <string.h>

#include "core/record.h"

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

static const char *form_of(const struct record *record)
{
	struct text out = TEXT_EMPTY;
	const char *copy;

	record_canonical(record, &out);
	assert_false(text_failed(&out));
	copy = arena_string(arena, text_string(&out));
	text_free(&out);
	return copy;
}

static struct record plain_record(void)
{
	struct name none = make_name(arena, NULL);

	return (struct record){.id = {1},
	                       .notice = make_name(arena, "SB-1"),
	                       .revision = none,
	                       .part = none,
	                       .position = none,
	                       .done = make_date("2019-05-01"),
	                       .method = "",
	                       .by = "",
	                       .signed_as = "",
	                       .remarks = "",
	                       .entered_by = ""};
}

static void the_form_is_kept_for_ever(void **state)
{
	struct record r = plain_record();

	(void)state;
	/* A change of this form breaks every chain that exists. */
	assert_string_equal(form_of(&r), "=1,=0,=0,4:SB-1,0:,0:,0:,10:2019-05-01,0:,0:,0:,?,?,0:,0:"
	                                 ",=0,");
	r.corrects.v = 7;
	r.withdraws = true;
	r.revision = make_name(arena, "B");
	r.has_hours = true;
	r.hours = 12050;
	r.has_landings = true;
	r.done = make_date("2019");
	r.remarks = "a,b";
	r.entered_at = -1;
	assert_string_equal(form_of(&r), "=1,=7,=1,4:SB-1,1:B,0:,0:,4:2019,0:,0:,0:,=12050,=0,3:a,b"
	                                 ",0:,=-1,");
}

/* Texts made to run over into the next field, and equal but for their cut. */
static const char *const tricky[] = {"", "0:,", "a", "a,", "1:a,", ",", "?,", "=0,", "a,1:b", "b"};

/* Fills every field with one of few values; the choices go to key. */
static struct record random_record(uint64_t *seed, char *key)
{
	struct record r = plain_record();
	const char **texts[] = {&r.method, &r.by, &r.signed_as, &r.remarks, &r.entered_by};
	struct name *names[] = {&r.notice, &r.revision, &r.part, &r.position};
	static const char *const dates[] = {"2019", "2019-01", "2019-01-01"};

	for (size_t i = 0; i < ROWS(texts); i++, key++) {
		*key = (char)('0' + next_random(seed) % 3);
		*texts[i] = tricky[(i + (size_t)(*key - '0') * 3) % ROWS(tricky)];
	}
	for (size_t i = 0; i < ROWS(names); i++, key++) {
		*key = (char)('0' + next_random(seed) % 2);
		*names[i] = make_name(arena, *key == '0' ? "" : tricky[1 + i]);
	}
	r.done = make_date(dates[(*key++ = (char)('0' + next_random(seed) % 3)) - '0']);
	r.has_hours = (*key++ = (char)('0' + next_random(seed) % 2)) == '1';
	r.has_landings = (*key++ = (char)('0' + next_random(seed) % 2)) == '1';
	r.withdraws = (*key++ = (char)('0' + next_random(seed) % 2)) == '1';
	r.entered_at = (*key++ = (char)('0' + next_random(seed) % 2)) == '1';
	*key = '\0';
	return r;
}

static void no_two_records_share_a_form(void **state)
{
	uint64_t seed = 43;

	(void)state;
	for (int i = 0; i < 60000; i++) {
		char a_key[20], b_key[20];
		struct record a = random_record(&seed, a_key), b;
		uint64_t again = seed;

		b = random_record(i % 4 ? &seed : &again, b_key);
		assert_int_equal(strcmp(a_key, b_key) == 0, strcmp(form_of(&a), form_of(&b)) == 0);
		arena_reset(arena);
	}
}

/* Every field by itself changes the form. */
static void each_field_changes_the_form(void **state)
{
	struct record plain = plain_record(), others[16];
	size_t n = 0;

	(void)state;
	for (size_t i = 0; i < ROWS(others); i++)
		others[i] = plain;
	others[n++].id.v = 2;
	others[n++].corrects.v = 1;
	others[n++].withdraws = true;
	others[n++].notice = make_name(arena, "SB-2");
	others[n++].revision = make_name(arena, "A");
	others[n++].part = make_name(arena, "A");
	others[n++].position = make_name(arena, "A");
	others[n++].done = make_date("2019-05");
	others[n++].method = "A";
	others[n++].by = "A";
	others[n++].signed_as = "A";
	others[n++].has_hours = true;
	others[n++].has_landings = true;
	others[n++].remarks = "A";
	others[n++].entered_by = "A";
	others[n++].entered_at = 1;
	assert_int_equal(n, ROWS(others));
	for (size_t i = 0; i < n; i++) {
		assert_string_not_equal(form_of(&others[i]), form_of(&plain));
		for (size_t k = 0; k < i; k++)
			assert_string_not_equal(form_of(&others[i]), form_of(&others[k]));
	}
}

static void corrected_and_withdrawn_records_do_not_count(void **state)
{
	static const struct {
		int corrects[5];
		bool withdraws[5], counts[5];
	} rows[] = {
	        {{0, 0, 0, 0, 0}, {0}, {1, 1, 1, 1, 1}},
	        {{0, 1, 0, 0, 0}, {0}, {0, 1, 1, 1, 1}},
	        {{0, 1, 2, 3, 4}, {0}, {0, 0, 0, 0, 1}},
	        {{0, 1, 1, 0, 0}, {0}, {0, 1, 1, 1, 1}},
	        {{0, 0, 1, 0, 0}, {0, 0, 1}, {0, 1, 0, 1, 1}},
	        {{0, 0, 1, 3, 0}, {0, 0, 1}, {0, 1, 0, 1, 1}},
	        {{0, 0, 99, 0, 0}, {0}, {1, 1, 1, 1, 1}},
	};

	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		struct record records[5];

		for (int k = 0; k < 5; k++) {
			records[k] = plain_record();
			records[k].id.v = k + 1;
			records[k].corrects.v = rows[i].corrects[k];
			records[k].withdraws = rows[i].withdraws[k];
		}
		for (size_t k = 0; k < 5; k++)
			assert_int_equal(record_counts(records, 5, k), rows[i].counts[k]);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(the_form_is_kept_for_ever),
	        cmocka_unit_test(no_two_records_share_a_form),
	        cmocka_unit_test(each_field_changes_the_form),
	        cmocka_unit_test(corrected_and_withdrawn_records_do_not_count),
	};
	return cmocka_run_group_tests(tests, set_up, tear_down);
}
