/* The catalogue and the next question, against plain searches of the same list. */
#include "build.h"

#include <stdio.h>
#include <string.h>

#include "core/question.h"

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

static struct notice make_notice(const char *number, int64_t id)
{
	return (struct notice){.id = {id},
	                       .number = make_name(arena, number),
	                       .revision = make_name(arena, NULL),
	                       .issuer = "Harrowfen",
	                       .title = "",
	                       .effectivity = make_statement(arena, "all")};
}

/* Names from a text with blanks between them. */
static const struct name *make_names(const char *text, size_t *count)
{
	struct name *names = ARENA_ARRAY(arena, struct name, 20);
	char *save, *copy = arena_string(arena, text);

	*count = 0;
	for (char *word = strtok_r(copy, " ", &save); word; word = strtok_r(NULL, " ", &save))
		names[(*count)++] = make_name(arena, word);
	return names;
}

static const struct catalogue *build(const struct notice *notices, size_t count)
{
	const struct catalogue *catalogue = NULL;

	assert_int_equal(catalogue_build(arena, notices, count, &catalogue), ST_OK);
	return catalogue;
}

/* ---- lookups ---- */

static void lookups_agree_with_searching(void **state)
{
	struct notice notices[200];
	const struct catalogue *catalogue;
	uint64_t seed = 6;

	(void)state;
	for (size_t i = 0; i < 200; i++) {
		char number[30];

		/* Unique, in no order; ids scattered. */
		snprintf(number, sizeof number, "%c%u-%zu", (int)('A' + next_random(&seed) % 26),
		         (unsigned)(next_random(&seed) % 50), i);
		notices[i] = make_notice(number, (int64_t)(i * 7919 % 1009) + 1);
	}
	catalogue = build(notices, 200);
	assert_int_equal(catalogue->count, 200);
	for (size_t i = 1; i < 200; i++)
		assert_true(name_compare(&catalogue->entries[i - 1].notice.number,
		                         &catalogue->entries[i].notice.number) < 0);
	for (size_t i = 0; i < 200; i++) {
		const struct catalogue_entry *entry = catalogue_find(catalogue, &notices[i].number);

		assert_non_null(entry);
		assert_int_equal(entry->notice.id.v, notices[i].id.v);
		assert_ptr_equal(catalogue_find_id(catalogue, notices[i].id), entry);
	}
	for (int64_t id = -1; id < 1100; id++) {
		size_t found = 0;

		for (size_t i = 0; i < 200; i++)
			found += notices[i].id.v == id;
		assert_int_equal(catalogue_find_id(catalogue, (struct notice_id){id}) != NULL,
		                 found);
	}
}

static void what_is_not_listed_is_not_found(void **state)
{
	static const char *const absent[] = {"", "A", "SB", "SB-", "SB-10", "SB-1A", "zzz", "SB 1"};
	struct notice notices[] = {make_notice("SB-1", 1), make_notice("SB-2", 2)};
	const struct catalogue *some = build(notices, 2), *none = build(notices, 0);

	(void)state;
	for (size_t i = 0; i < ROWS(absent); i++) {
		struct name name = make_name(arena, absent[i]);

		assert_null(catalogue_find(some, &name));
		assert_null(catalogue_find(none, &name));
	}
	assert_null(catalogue_find_id(none, (struct notice_id){1}));
}

static void two_notices_never_share_a_number(void **state)
{
	struct notice notices[] = {make_notice("SB-1", 1), make_notice("SB-2", 2),
	                           make_notice("sb-1", 3)};
	const struct catalogue *catalogue = NULL;

	(void)state;
	assert_int_equal(catalogue_build(arena, notices, 3, &catalogue), ST_CONFLICT);
	assert_int_equal(catalogue_build_unranked(arena, notices, 3, &catalogue), ST_CONFLICT);
	assert_null(catalogue);
}

/* ---- links ---- */

static void chains_of_supersession_name_each_next(void **state)
{
	struct notice notices[] = {make_notice("A", 1), make_notice("B", 2), make_notice("C", 3),
	                           make_notice("D", 4)};
	const struct catalogue *catalogue;

	(void)state;
	notices[1].supersedes = make_names("A", &notices[1].n_supersedes);
	notices[2].supersedes = make_names("B", &notices[2].n_supersedes);
	notices[3].supersedes = make_names("A C X", &notices[3].n_supersedes);
	notices[3].terminates = make_names("A B", &notices[3].n_terminates);
	notices[2].terminates = make_names("A", &notices[2].n_terminates);
	notices[2].cancelled = true; /* its links no longer count */
	catalogue = build(notices, 4);
	assert_int_equal(catalogue->entries[0].n_superseded_by, 2);
	assert_int_equal(catalogue->entries[0].superseded_by[0], 1);
	assert_int_equal(catalogue->entries[0].superseded_by[1], 3);
	assert_int_equal(catalogue->entries[1].n_superseded_by, 0);
	assert_int_equal(catalogue->entries[2].n_superseded_by, 1);
	assert_int_equal(catalogue->entries[3].n_superseded_by, 0);
	assert_int_equal(catalogue->entries[0].n_terminated_by, 1);
	assert_int_equal(catalogue->entries[1].n_terminated_by, 1);
	assert_int_equal(catalogue->entries[1].terminated_by[0], 3);
}

/* Random graphs without circles: notice i requires some of those before it in
 * a hidden order. Each rank is one more than the highest required. */
static void ranks_put_the_required_first(void **state)
{
	uint64_t seed = 12;

	(void)state;
	for (int round = 0; round < 200; round++) {
		struct notice notices[30];
		const struct catalogue *catalogue;

		for (size_t i = 0; i < 30; i++) {
			char number[10], wanted[200] = "", one[20];

			snprintf(number, sizeof number, "%zu", i * 17 % 31); /* the hidden order */
			notices[i] = make_notice(number, (int64_t)i + 1);
			for (int k = 0; i && k < 3 && next_random(&seed) % 3; k++) {
				snprintf(one, sizeof one, "%zu ",
				         (size_t)(next_random(&seed) % i) * 17 % 31);
				strcat(wanted, one);
			}
			strcat(wanted, next_random(&seed) % 9 ? "" : "not-listed");
			notices[i].requires = make_names(wanted, &notices[i].n_requires);
		}
		catalogue = build(notices, 30);
		for (size_t i = 0; i < 30; i++) {
			const struct catalogue_entry *entry = &catalogue->entries[i];
			uint32_t rank = 0;

			for (uint32_t k = 0; k < entry->n_requires; k++) {
				uint32_t below = catalogue->entries[entry->requires[k]].rank + 1;

				rank = below > rank ? below : rank;
			}
			assert_int_equal(entry->rank, rank);
		}
		arena_reset(arena);
	}
}

/* ---- circles ---- */

static const struct {
	const char *links[5]; /* what A, B, C, D, E name */
	int cancelled;        /* index, -1 none */
	const char *from, *targets;
	const char *circle; /* NULL: none */
} circles[] = {
        {{"", "", "", "", ""}, -1, "A", "", NULL},
        {{"", "", "", "", ""}, -1, "A", "B C", NULL},
        {{"", "", "", "", ""}, -1, "A", "A", "A"},
        {{"", "", "", "", ""}, -1, "A", "B a", "A"},
        {{"", "A", "", "", ""}, -1, "A", "B", "B"},
        {{"", "A", "", "", ""}, -1, "A", "C D B E", "B"},
        {{"", "C", "D", "E", "A"}, -1, "A", "B", "B"},
        {{"", "C", "D", "E", ""}, -1, "A", "B", NULL},
        {{"", "C", "D", "E", "A"}, 2, "A", "B", "B"}, /* through a cancelled one */
        {{"", "C D", "E", "E", ""}, -1, "A", "B C D E", NULL},
        {{"", "X", "", "", ""}, -1, "A", "B X", NULL},
        {{"", "X", "", "", ""}, -1, "X", "B", "B"},   /* X is not listed yet */
        {{"", "", "D", "C", ""}, -1, "A", "C", NULL}, /* a circle elsewhere */
        {{"", "A A", "B", "", ""}, -1, "A", "C C", "C"},
};

static void circles_are_found_and_named(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(circles); i++)
		for (int link = LINK_SUPERSEDES; link <= LINK_REQUIRES; link++) {
			struct notice notices[5];
			const struct catalogue *catalogue = NULL;
			const struct name *circle = NULL, *targets;
			struct name from = make_name(arena, circles[i].from);
			size_t count;

			for (int k = 0; k < 5; k++) {
				notices[k] = make_notice((char[]){(char)('A' + k), '\0'}, k + 1);
				notices[k].cancelled = k == circles[i].cancelled;
				if (link == LINK_SUPERSEDES)
					notices[k].supersedes = make_names(
					        circles[i].links[k], &notices[k].n_supersedes);
				else
				notices[k].requires =
				        make_names(circles[i].links[k], &notices[k].n_requires);
			}
			assert_int_equal(catalogue_build_unranked(arena, notices, 5, &catalogue),
			                 ST_OK);
			targets = make_names(circles[i].targets, &count);
			assert_int_equal(catalogue_check_circle(arena, catalogue,
			                                        (enum notice_link)link, &from,
			                                        targets, count, &circle),
			                 circles[i].circle ? ST_INVALID : ST_OK);
			if (circles[i].circle)
				assert_string_equal(circle->key, circles[i].circle);
			else
				assert_null(circle);
		}
}

static void a_circle_of_requirements_has_no_ranks(void **state)
{
	struct notice notices[] = {make_notice("A", 1), make_notice("B", 2), make_notice("C", 3)};
	const struct catalogue *catalogue = NULL;

	(void)state;
	notices[0].requires = make_names("B", &notices[0].n_requires);
	notices[1].requires = make_names("C", &notices[1].n_requires);
	notices[2].requires = make_names("A", &notices[2].n_requires);
	assert_int_equal(catalogue_build(arena, notices, 3, &catalogue), ST_INVALID);
	assert_null(catalogue);
	notices[2].requires = make_names("C", &notices[2].n_requires);
	assert_int_equal(catalogue_build(arena, notices, 3, &catalogue), ST_INVALID);
}

/* ---- questions ---- */

struct asked {
	const char *statement;
	enum force force;
	bool cancelled;
};

static const struct {
	const char *why;
	struct asked notices[6];
	const char *facts;
	const char *order; /* fact (mandatory/notices/alone), best first */
} questions[] = {
        {"nothing to ask", {{"all", FORCE_MANDATORY, false}}, "", ""},
        {"decided notices ask for nothing",
         {{"model X\nserial WH-1", FORCE_MANDATORY, false}},
         "model Y",
         ""},
        {"one fact", {{"model X", FORCE_OPTIONAL, false}}, "", "model (0/1/1)"},
        {"mandatory ones come first",
         {{"option a", FORCE_OPTIONAL, false},
          {"option a", FORCE_RECOMMENDED, false},
          {"option b", FORCE_MANDATORY, false}},
         "",
         "option b (1/1/1), option a (0/2/2)"},
        {"then what helps more notices",
         {{"option a", FORCE_MANDATORY, false},
          {"option b", FORCE_MANDATORY, false},
          {"option b", FORCE_OPTIONAL, false}},
         "",
         "option b (1/2/2), option a (1/1/1)"},
        {"then what is wanted alone",
         {{"option a\noption b", FORCE_OPTIONAL, false},
          {"option a\noption c", FORCE_OPTIONAL, false},
          {"option d", FORCE_OPTIONAL, false},
          {"option d\noption e", FORCE_OPTIONAL, false}},
         "",
         "option d (0/2/1), option a (0/2/0), option b (0/1/0), option c (0/1/0), option e "
         "(0/1/0)"},
        {"then by kind and name",
         {{"option b, a", FORCE_OPTIONAL, false}, {"serial WH-1\nmodel X", FORCE_OPTIONAL, false}},
         "",
         "model (0/1/0), serial (0/1/0), option a (0/1/0), option b (0/1/0)"},
        {"a notice counts once, however often it asks",
         {{"option a\nor\noption a\npurchased 2017\nor\nnot option a", FORCE_MANDATORY, false}},
         "purchased 2018",
         "option a (1/1/1)"},
        {"a line that a known fact rules out asks for nothing",
         {{"model X\noption a\nor\noption b", FORCE_OPTIONAL, false}},
         "model Y",
         "option b (0/1/1)"},
        {"a cancelled notice asks for nothing", {{"model X", FORCE_MANDATORY, true}}, "", ""},
        {"a date known too roughly is asked for again",
         {{"purchased after 2017-04", FORCE_MANDATORY, false},
          {"purchased 2016", FORCE_MANDATORY, false}},
         "purchased 2017",
         "purchased (1/1/1)"},
        {"a series is one question",
         {{"part X series lot 3", FORCE_OPTIONAL, false}, {"part X lot 3", FORCE_OPTIONAL, false}},
         "part X; parts known",
         "part X lot (0/1/1), part X series lot (0/1/1)"},
};

static const char *list_questions(const struct catalogue *catalogue, const struct facts *facts)
{
	const struct question *list;
	struct text out = TEXT_EMPTY;
	const char *copy;
	size_t count;

	assert_int_equal(questions_rank(arena, catalogue, facts, &list, &count), ST_OK);
	for (size_t i = 0; i < count; i++) {
		text_add(&out, i ? ", " : "");
		fact_print(&list[i].fact, &out);
		text_printf(&out, " (%u/%u/%u)", list[i].mandatory, list[i].notices, list[i].alone);
	}
	copy = arena_string(arena, text_string(&out));
	text_free(&out);
	return copy;
}

static void the_best_question_comes_first(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(questions); i++) {
		struct notice notices[6];
		size_t count = 0;

		for (; count < 6 && questions[i].notices[count].statement; count++) {
			const struct asked *asked = &questions[i].notices[count];

			notices[count] = make_notice((char[]){(char)('A' + count), '\0'},
			                             (int64_t)count + 1);
			notices[count].effectivity = make_statement(arena, asked->statement);
			notices[count].force = asked->force;
			notices[count].cancelled = asked->cancelled;
		}
		assert_string_equal(list_questions(build(notices, count),
		                                   make_facts(arena, questions[i].facts)),
		                    questions[i].order);
	}
}

/* Many facts: the list grows, and loses nothing. */
static void many_questions_are_all_kept(void **state)
{
	struct notice notices[60];
	const struct question *list;
	size_t count;

	(void)state;
	for (size_t i = 0; i < 60; i++) {
		char text[60];

		snprintf(text, sizeof text, "option o%zu\noption o%zu", i, (i + 1) % 60);
		notices[i] = make_notice(text, (int64_t)i + 1);
		notices[i].effectivity = make_statement(arena, text);
	}
	assert_int_equal(
	        questions_rank(arena, build(notices, 60), make_facts(arena, ""), &list, &count),
	        ST_OK);
	assert_int_equal(count, 60);
	for (size_t i = 0; i < 60; i++) {
		assert_int_equal(list[i].notices, 2);
		assert_int_equal(list[i].alone, 0);
	}
}

/* ---- memory ---- */

static struct notice linked[4];
static const struct catalogue *linked_catalogue;
static struct facts nothing;

static bool build_linked(struct arena *room)
{
	const struct catalogue *catalogue = NULL;
	enum status status = catalogue_build(room, linked, 4, &catalogue);

	assert_int_equal(catalogue != NULL, status == ST_OK);
	return status == ST_OK;
}

static bool check_linked(struct arena *room)
{
	const struct name *circle;

	return catalogue_check_circle(room, linked_catalogue, LINK_REQUIRES, &linked[0].number,
	                              &linked[3].number, 1, &circle) == ST_OK;
}

static bool rank_linked(struct arena *room)
{
	const struct question *list;
	size_t count;

	return questions_rank(room, linked_catalogue, &nothing, &list, &count) == ST_OK;
}

static void every_allocation_may_fail(void **state)
{
	struct text many = TEXT_EMPTY;

	(void)state;
	for (int i = 0; i < 4; i++)
		linked[i] = make_notice((char[]){(char)('A' + i), '\0'}, i + 1);
	linked[1].requires = make_names("A", &linked[1].n_requires);
	linked[2].supersedes = make_names("A B", &linked[2].n_supersedes);
	linked[3].terminates = make_names("A B C", &linked[3].n_terminates);
	for (int i = 0; i < 20; i++)
		text_printf(&many, "option o%d\n", i);
	linked[0].effectivity = make_statement(arena, text_string(&many));
	text_free(&many);
	linked_catalogue = build(linked, 4);
	try_each_place(build_linked);
	try_each_place(check_linked);
	try_each_place(rank_linked);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(lookups_agree_with_searching),
	        cmocka_unit_test(what_is_not_listed_is_not_found),
	        cmocka_unit_test(two_notices_never_share_a_number),
	        cmocka_unit_test(chains_of_supersession_name_each_next),
	        cmocka_unit_test(ranks_put_the_required_first),
	        cmocka_unit_test(circles_are_found_and_named),
	        cmocka_unit_test(a_circle_of_requirements_has_no_ranks),
	        cmocka_unit_test(the_best_question_comes_first),
	        cmocka_unit_test(many_questions_are_all_kept),
	        cmocka_unit_test(every_allocation_may_fail),
	};
	return cmocka_run_group_tests(tests, set_up, tear_down);
}
