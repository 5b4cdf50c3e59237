#include "fixture.h"

#include <stdio.h>
#include <string.h>

#include "store/backup.h"
#include "store/news.h"

#define NOBODY ((struct member_id){99})
#define NO_NOTE ((struct note_id){99})

static const struct note_subject on_step = {NOTE_ON_STEP, {0}, "Whimbrel T", "14-4"};
static const struct note_subject on_part = {NOTE_ON_PART, {0}, "", "WH-2207-1"};

static struct note_id add(struct world *w, const struct note_subject *of, struct member_id by,
                          const char *text)
{
	struct note_id id = {0};

	assert_ok(note_add(w->store, of, by, text, NOW, &id));
	return id;
}

static struct note_id answer(struct world *w, struct note_id to, struct member_id by,
                             const char *text)
{
	struct note_id id = {0};

	assert_ok(note_answer(w->store, to, by, text, NOW, &id));
	return id;
}

static struct note read_note(struct world *w, struct note_id id)
{
	struct note note;

	assert_ok(note_read(w->store, w->arena, id, w->sue, &note));
	return note;
}

/* Their ids in order, as "3 1 2", so that a row of a table can say it. */
static const char *listed(struct world *w, const struct note_query *query)
{
	const struct note *notes;
	size_t count;
	int64_t total;
	static char out[200];

	assert_ok(note_list(w->store, w->arena, query, &notes, &count, &total));
	out[0] = '\0';
	for (size_t i = 0; i < count; i++)
		snprintf(out + strlen(out), sizeof out - strlen(out), "%s%lld", i ? " " : "",
		         (long long)notes[i].id.v);
	return out;
}

static size_t found(struct world *w, const char *words, struct member_id author)
{
	const struct note_found *list;
	size_t count;
	int64_t total;
	struct note_search search = {words, author, {50, 0}};

	assert_ok(note_find(w->store, w->arena, &search, &list, &count, &total));
	assert_int_equal(count, total);
	return count;
}

/* ---- subjects ---- */

static void notes_read_back(void **state)
{
	struct world *w = *state;
	struct note note = read_note(w, w->note);

	assert_int_equal(note.of.about, NOTE_ON_NOTICE);
	assert_int_equal(note.of.notice.v, w->one.v);
	assert_string_equal(note.number, "HF-SB-1");
	assert_int_equal(note.author.v, w->bob.v);
	assert_string_equal(note.author_name, "Bob");
	assert_int_equal(note.written_at, NOW);
	assert_int_equal(note.edited_at, 0);
	assert_int_equal(note.answers.v, 0);
	assert_string_equal(note.text, "Fits **well**.");
	note = read_note(w, add(w, &on_step, w->sam, "Rivet it wet."));
	assert_int_equal(note.of.about, NOTE_ON_STEP);
	assert_int_equal(note.of.notice.v, 0);
	assert_string_equal(note.number, "");
	assert_string_equal(note.of.model, "Whimbrel T");
	assert_string_equal(note.of.name, "14-4");
	note = read_note(w, add(w, &on_part, w->sam, "Mine was short."));
	assert_int_equal(note.of.about, NOTE_ON_PART);
	assert_string_equal(note.of.model, "");
	assert_string_equal(note.of.name, "WH-2207-1");
	assert_int_equal(note_read(w->store, w->arena, NO_NOTE, w->bob, &note), ST_MISSING);
}

static void subjects_are_told_apart(void **state)
{
	struct world *w = *state;
	static const struct note_subject small = {NOTE_ON_STEP, {0}, "whimbrel t", "14-4"};
	static const struct note_subject other_model = {NOTE_ON_STEP, {0}, "Whimbrel", "14-4"};
	static const struct note_subject other_step = {NOTE_ON_STEP, {0}, "Whimbrel T", "14-5"};
	static const struct note_subject as_part = {NOTE_ON_PART, {0}, "", "14-4"};
	static const struct note_subject part_small = {NOTE_ON_PART, {0}, "", "wh-2207-1"};
	struct note_subject two = note_on_notice(w->two);
	const struct {
		const struct note_subject *of;
		const char *expected;
	} rows[] = {{&w->on_one, "1"}, {&on_step, "2"},    {&small, "2"},
	            {&on_part, "3"},   {&part_small, "3"}, {&other_model, ""},
	            {&other_step, ""}, {&as_part, ""},     {&two, ""}};

	add(w, &on_step, w->sam, "a");
	add(w, &on_part, w->sam, "b");
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_string_equal(
		        listed(w, &(struct note_query){.of = *rows[i].of, .page = {9, 0}}),
		        rows[i].expected);
}

static void bad_notes_are_refused(void **state)
{
	struct world *w = *state;
	static char longer[NOTE_LONGEST + 2];
	char long_name[82];
	struct note_subject none = note_on_notice((struct notice_id){99});
	struct note_subject both = on_part, bare = on_part, no_code = on_step, long_part = on_part;
	struct note_subject no_model = on_step;
	struct note_id id = {7};

	memset(longer, 'x', sizeof longer - 1);
	memset(long_name, 'x', 81);
	long_name[81] = '\0';
	both.notice = w->one;
	bare.name = "";
	no_code.name = "";
	no_model.model = "";
	long_part.name = long_name;
	const struct {
		const struct note_subject *of;
		struct member_id by;
		const char *text;
	} rows[] = {{&w->on_one, w->bob, ""},  {&w->on_one, w->bob, longer},
	            {&none, w->bob, "x"},      {&w->on_one, NOBODY, "x"},
	            {&both, w->bob, "x"},      {&bare, w->bob, "x"},
	            {&no_code, w->bob, "x"},   {&no_model, w->bob, "x"},
	            {&long_part, w->bob, "x"}, {&on_part, w->bob, ""}};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_int_equal(note_add(w->store, rows[i].of, rows[i].by, rows[i].text, NOW, &id),
		                 ST_CONFLICT);
	assert_int_equal(id.v, 7);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM notes"), 1);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM note_search"), 1);
	assert_ok(note_add(w->store, &w->on_one, w->bob, longer + 1, NOW, &id));
}

/* ---- answers ---- */

static void answers_go_one_level_deep(void **state)
{
	struct world *w = *state;
	struct note_id first = add(w, &on_step, w->bob, "Is it so?");
	struct note_id a = answer(w, first, w->sam, "Yes.");
	struct note_id b = answer(w, a, w->sue, "No.");
	struct note note = read_note(w, b);
	const struct note *notes;
	size_t count;
	int64_t total;

	assert_int_equal(note.answers.v, first.v);
	assert_int_equal(note.of.about, NOTE_ON_STEP);
	assert_string_equal(note.of.model, "Whimbrel T");
	assert_string_equal(note.of.name, "14-4");
	assert_int_equal(read_note(w, first).n_answers, 2);
	assert_ok(note_answers(w->store, w->arena, first, w->bob, (struct page){1, 1}, &notes,
	                       &count, &total));
	assert_int_equal(count, 1);
	assert_int_equal(total, 2);
	assert_int_equal(notes[0].id.v, b.v);
}

static void bad_answers_are_refused(void **state)
{
	struct world *w = *state;
	static char longer[NOTE_LONGEST + 2];
	struct note_id gone = add(w, &on_part, w->bob, "gone"), id = {7};
	const struct {
		struct note_id to;
		struct member_id by;
		const char *text;
		enum status expected;
	} rows[] = {{NO_NOTE, w->bob, "x", ST_MISSING},
	            {gone, w->bob, "x", ST_MISSING},
	            {w->note, w->bob, "", ST_CONFLICT},
	            {w->note, NOBODY, "x", ST_CONFLICT},
	            {w->note, w->bob, longer, ST_CONFLICT}};

	memset(longer, 'x', sizeof longer - 1);
	assert_ok(note_remove(w->store, gone, w->bob, NOW));
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_int_equal(
		        note_answer(w->store, rows[i].to, rows[i].by, rows[i].text, NOW, &id),
		        rows[i].expected);
	assert_int_equal(id.v, 7);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM notes"), 2);
}

static void answers_follow_their_note(void **state)
{
	struct world *w = *state;
	struct note_query query = {.of = w->on_one, .answers = 2, .page = {9, 0}};

	add(w, &w->on_one, w->sam, "two");           /* 2 */
	answer(w, w->note, w->sam, "a");             /* 3 */
	answer(w, (struct note_id){2}, w->sam, "b"); /* 4 */
	answer(w, w->note, w->sam, "c");             /* 5 */
	answer(w, w->note, w->sam, "d");             /* 6: only the newest two are shown */
	assert_string_equal(listed(w, &query), "2 4 1 5 6");
	query.order = NOTES_NEWEST;
	assert_string_equal(listed(w, &query), "2 4 1 5 6");
	query.page = (struct page){1, 1};
	assert_string_equal(listed(w, &query), "1 5 6");
	query.answers = 0;
	assert_string_equal(listed(w, &query), "1");
	query.page = (struct page){9, 2};
	assert_string_equal(listed(w, &query), "");
}

/* Who was told, in order: "4<2 " is bob, of sam's answer. */
static const char *told(struct world *w)
{
	static char out[100];
	const struct member_id members[] = {w->ann, w->sam, w->sue, w->bob};

	out[0] = '\0';
	for (size_t i = 0; i < 4; i++) {
		const struct news *list;
		size_t count;

		assert_ok(news_list(w->store, w->arena, members[i], 0, 9, &list, &count));
		for (size_t k = 0; k < count; k++) {
			if (list[k].kind != NEWS_ANSWER)
				continue;
			assert_int_equal(read_note(w, list[k].note).answers.v, w->note.v);
			assert_int_equal(list[k].notice.v, w->one.v);
			snprintf(out + strlen(out), sizeof out - strlen(out), "%lld<%s ",
			         (long long)members[i].v, list[k].from_name);
		}
	}
	return out;
}

static void authors_hear_of_answers(void **state)
{
	struct world *w = *state;
	struct note_id first, second;

	first = answer(w, w->note, w->sam, "To bob.");
	assert_string_equal(told(w), "4<sam ");
	answer(w, w->note, w->bob, "To himself.");
	assert_string_equal(told(w), "4<sam ");
	second = answer(w, first, w->sue, "To sam, and bob hears of it.");
	assert_string_equal(told(w), "2<sue 4<sue 4<sam ");
	answer(w, second, w->bob, "To sue.");
	assert_string_equal(told(w), "2<sue 3<Bob 4<sue 4<sam ");
	assert_ok(note_remove(w->store, w->note, w->bob, NOW));
	answer(w, second, w->ann, "To sue; the first one is a trace, whose author hears still.");
	assert_string_equal(told(w), "2<sue 3<ann 3<Bob 4<ann 4<sue 4<sam ");
}

/* ---- editing ---- */

static void edited_notes_keep_their_history(void **state)
{
	struct world *w = *state;
	const struct note_before *before;
	struct note note;
	struct verify_report report;
	size_t count;
	int64_t total;

	assert_ok(note_edit(w->store, w->note, w->bob, "Fits *badly*.", NOW + 5));
	assert_ok(note_edit(w->store, w->note, w->bob, "Fits not.", NOW + 6));
	assert_ok(note_edit(w->store, w->note, w->bob, "Fits not.", NOW + 7));
	note = read_note(w, w->note);
	assert_string_equal(note.text, "Fits not.");
	assert_int_equal(note.written_at, NOW);
	assert_int_equal(note.edited_at, NOW + 6);
	assert_ok(note_history(w->store, w->arena, w->note, (struct page){9, 0}, &before, &count,
	                       &total));
	assert_int_equal(count, 2);
	assert_int_equal(total, 2);
	assert_string_equal(before[0].text, "Fits *badly*.");
	assert_int_equal(before[0].until, NOW + 6);
	assert_string_equal(before[1].text, "Fits **well**.");
	assert_int_equal(before[1].until, NOW + 5);
	assert_ok(note_history(w->store, w->arena, w->note, (struct page){1, 1}, &before, &count,
	                       &total));
	assert_int_equal(count, 1);
	assert_string_equal(before[0].text, "Fits **well**.");
	assert_int_equal(found(w, "badly", (struct member_id){0}), 0);
	assert_int_equal(found(w, "not", (struct member_id){0}), 1);
	assert_ok(backup_verify(w->store, w->arena, &report));
}

static void only_authors_edit(void **state)
{
	struct world *w = *state;
	static char longer[NOTE_LONGEST + 2];
	const struct {
		struct note_id id;
		struct member_id by;
		const char *text;
		enum status expected;
	} rows[] = {{w->note, w->sue, "x", ST_DENIED},  {w->note, w->ann, "x", ST_DENIED},
	            {w->note, NOBODY, "x", ST_DENIED},  {NO_NOTE, w->bob, "x", ST_MISSING},
	            {w->note, w->bob, "", ST_CONFLICT}, {w->note, w->bob, longer, ST_CONFLICT}};

	memset(longer, 'x', sizeof longer - 1);
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_int_equal(note_edit(w->store, rows[i].id, rows[i].by, rows[i].text, NOW),
		                 rows[i].expected);
	assert_ok(member_set_disabled(w->store, w->bob, true));
	assert_int_equal(note_edit(w->store, w->note, w->bob, "x", NOW), ST_DENIED);
	assert_ok(member_set_disabled(w->store, w->bob, false));
	assert_ok(note_remove(w->store, w->note, w->bob, NOW));
	assert_int_equal(note_edit(w->store, w->note, w->bob, "x", NOW), ST_MISSING);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM note_words_before"), 0);
}

/* ---- removing ---- */

static void notes_keep_a_trace(void **state)
{
	struct world *w = *state;
	struct note_id a = answer(w, w->note, w->sam, "Mine too."), second;
	struct note note;

	assert_ok(note_edit(w->store, w->note, w->bob, "secret", NOW));
	assert_ok(note_set_helped(w->store, w->note, w->sam, true));
	second = add(w, &w->on_one, w->sam, "Second.");
	assert_int_equal(note_remove(w->store, second, w->bob, NOW), ST_DENIED);
	assert_int_equal(note_remove(w->store, NO_NOTE, w->bob, NOW), ST_MISSING);
	assert_ok(note_remove(w->store, w->note, w->sue, NOW + 2));
	assert_int_equal(note_remove(w->store, w->note, w->sue, NOW + 3), ST_MISSING);
	note = read_note(w, w->note);
	assert_string_equal(note.text, "");
	assert_string_equal(note.removed_by, "sue");
	assert_int_equal(note.removed_at, NOW + 2);
	assert_string_equal(note.author_name, "Bob");
	assert_int_equal(note.helped, 0);
	assert_int_equal(note.n_answers, 1);
	assert_string_equal(read_note(w, a).text, "Mine too.");
	assert_string_equal(read_note(w, second).removed_by, "");
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM note_words_before"), 0);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM note_helped"), 0);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM pictures"), 0);
	assert_int_equal(found(w, "secret", (struct member_id){0}), 0);
	assert_ok(member_remove(w->store, w->sue, NOW));
	assert_string_equal(read_note(w, second).removed_by, "");
	assert_ok(note_read(w->store, w->arena, w->note, w->bob, &note));
	assert_string_equal(note.removed_by, "removed member");
}

static void authors_remove_their_own_notes(void **state)
{
	struct world *w = *state;

	assert_ok(member_set_disabled(w->store, w->bob, true));
	assert_int_equal(note_remove(w->store, w->note, w->bob, NOW), ST_DENIED);
	assert_ok(member_set_disabled(w->store, w->bob, false));
	assert_ok(note_remove(w->store, w->note, w->bob, NOW));
}

static void notes_of_removed_members(void **state)
{
	struct world *w = *state;
	struct note_id lonely = add(w, &on_part, w->bob, "lonely"), by_sam, own, trace;
	struct note note;

	by_sam = add(w, &on_part, w->sam, "kept");
	answer(w, by_sam, w->bob, "goes");
	own = add(w, &on_step, w->bob, "answered by its author alone");
	answer(w, own, w->bob, "goes too");
	trace = add(w, &on_step, w->bob, "removed before");
	answer(w, w->note, w->sam, "kept answer");
	assert_ok(note_edit(w->store, w->note, w->bob, "other words", NOW));
	assert_ok(note_remove(w->store, trace, w->bob, NOW));
	assert_ok(note_set_helped(w->store, w->note, w->sam, true));
	assert_ok(note_set_helped(w->store, by_sam, w->bob, true));
	assert_ok(member_remove(w->store, w->bob, NOW + 8));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM notes"), 3);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM note_search"), 2);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM note_words_before"), 0);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM note_helped"), 0);
	note = read_note(w, w->note);
	assert_string_equal(note.text, "");
	assert_string_equal(note.author_name, "removed member");
	assert_string_equal(note.removed_by, "removed member");
	assert_int_equal(note.author.v, 0);
	assert_int_equal(note.removed_at, NOW + 8);
	assert_int_equal(note.helped, 0);
	assert_int_equal(read_note(w, by_sam).n_answers, 0);
	assert_int_equal(read_note(w, by_sam).helped, 0);
	assert_int_equal(note_read(w->store, w->arena, lonely, w->sam, &note), ST_MISSING);
	assert_int_equal(note_read(w->store, w->arena, own, w->sam, &note), ST_MISSING);
}

/* ---- this helped ---- */

static void thanks_are_counted_once(void **state)
{
	struct world *w = *state;
	struct note note;

	for (int i = 0; i < 2; i++)
		assert_ok(note_set_helped(w->store, w->note, w->sue, true));
	assert_ok(note_set_helped(w->store, w->note, w->sam, true));
	note = read_note(w, w->note);
	assert_int_equal(note.helped, 2);
	assert_true(note.helped_reader);
	assert_ok(note_read(w->store, w->arena, w->note, w->bob, &note));
	assert_false(note.helped_reader);
	for (int i = 0; i < 2; i++)
		assert_ok(note_set_helped(w->store, w->note, w->sue, false));
	assert_int_equal(read_note(w, w->note).helped, 1);
	assert_false(read_note(w, w->note).helped_reader);
	assert_ok(member_remove(w->store, w->sam, NOW));
	assert_int_equal(read_note(w, w->note).helped, 0);
}

static void bad_thanks_are_refused(void **state)
{
	struct world *w = *state;

	assert_int_equal(note_set_helped(w->store, w->note, w->bob, true), ST_DENIED);
	assert_int_equal(note_set_helped(w->store, NO_NOTE, w->sue, true), ST_MISSING);
	assert_int_equal(note_set_helped(w->store, w->note, NOBODY, true), ST_CONFLICT);
	assert_ok(note_remove(w->store, w->note, w->bob, NOW));
	assert_int_equal(note_set_helped(w->store, w->note, w->sue, true), ST_MISSING);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM note_helped"), 0);
}

static void what_helped_most_comes_first(void **state)
{
	struct world *w = *state;
	struct note_query query = {.of = w->on_one, .page = {9, 0}};
	struct note_id two = add(w, &w->on_one, w->sam, "two");
	struct note_id three = add(w, &w->on_one, w->sam, "three");

	add(w, &w->on_one, w->sam, "four");
	assert_ok(note_set_helped(w->store, w->note, w->sue, true));
	assert_ok(note_set_helped(w->store, two, w->sue, true));
	assert_ok(note_set_helped(w->store, two, w->bob, true));
	assert_ok(note_set_helped(w->store, three, w->ann, true));
	assert_string_equal(listed(w, &query), "2 3 1 4");
	query.order = NOTES_NEWEST;
	assert_string_equal(listed(w, &query), "4 3 2 1");
	assert_ok(note_remove(w->store, two, w->sam, NOW));
	query.order = NOTES_MOST_HELPED;
	assert_string_equal(listed(w, &query), "3 1 4 2");
}

/* ---- search ---- */

static void words_find_notes(void **state)
{
	struct world *w = *state;
	const struct {
		const char *words;
		bool of_sam;
		size_t expected;
	} rows[] = {{"rib", false, 2},      {"RIB", false, 2},
	            {"ri", false, 2},       {"rib nose", false, 1},
	            {"nose rib", false, 1}, {"ose", false, 0},
	            {"rib", true, 1},       {"", false, 4},
	            {"  ", false, 4},       {"", true, 2},
	            {"+ -", false, 0},      {"\"rib", false, 2},
	            {"rib*", false, 2},     {"rib OR well", false, 0},
	            {"text:rib", false, 0}, {"brucke", false, 1},
	            {"Brücke", false, 1},   {"well", true, 0},
	            {"NOT", false, 0},      {"(rib)", false, 2}};

	add(w, &on_step, w->sam, "The nose rib of the left side.");
	add(w, &on_part, w->sue, "Ribs are short.");
	add(w, &on_part, w->sam, "Die Brücke.");
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_int_equal(
		        found(w, rows[i].words, rows[i].of_sam ? w->sam : (struct member_id){0}),
		        rows[i].expected);
}

static void found_notes_come_newest_first_with_their_words(void **state)
{
	struct world *w = *state;
	struct note_search search = {"rib", {0}, {1, 0}};
	const struct note_found *list;
	size_t count;
	int64_t total;

	add(w, &on_step, w->sam, "The rib.");
	answer(w, w->note, w->sam, "A rib, too.");
	assert_ok(note_find(w->store, w->arena, &search, &list, &count, &total));
	assert_int_equal(count, 1);
	assert_int_equal(total, 2);
	assert_int_equal(list[0].note.id.v, 3);
	assert_int_equal(list[0].note.answers.v, w->note.v);
	assert_string_equal(list[0].note.number, "HF-SB-1");
	assert_string_equal(list[0].note.text, "");
	assert_string_equal(list[0].excerpt, "A \x02rib\x03, too.");
	search.page.offset = 1;
	assert_ok(note_find(w->store, w->arena, &search, &list, &count, &total));
	assert_int_equal(list[0].note.id.v, 2);
	search = (struct note_search){"", {0}, {1, 0}};
	assert_ok(note_find(w->store, w->arena, &search, &list, &count, &total));
	assert_string_equal(list[0].excerpt, "A rib, too.");
}

static void counting_ends_above_its_limit(void **state)
{
	struct world *w = *state;
	struct note_search search = {"word", {0}, {5, 0}};
	const struct note_found *list;
	struct note_id id;
	size_t count;
	int64_t total;

	for (int i = 0; i < NOTES_COUNTED + 9; i++) /* no more a day than a member may */
		assert_ok(note_add(w->store, &on_part, w->sam, "word", NOW + i * 1000, &id));
	assert_ok(note_find(w->store, w->arena, &search, &list, &count, &total));
	assert_int_equal(total, NOTES_COUNTED + 1);
	search.author = w->sam;
	assert_ok(note_find(w->store, w->arena, &search, &list, &count, &total));
	assert_int_equal(total, NOTES_COUNTED + 1);
	search.words = "";
	assert_ok(note_find(w->store, w->arena, &search, &list, &count, &total));
	assert_int_equal(total, NOTES_COUNTED + 1);
	search.author.v = 0;
	assert_ok(note_find(w->store, w->arena, &search, &list, &count, &total));
	assert_int_equal(total, NOTES_COUNTED + 1);
}

static void a_form_sent_twice_adds_one_note(void **state)
{
	struct world *w = *state;
	struct note_id first = add(w, &on_part, w->sam, "Same."), id = {0};
	struct note_id answered = answer(w, w->note, w->sam, "Same.");
	int64_t notes = sql_number(w->store, "SELECT count(*) FROM notes");
	int64_t news = sql_number(w->store, "SELECT count(*) FROM news");

	assert_ok(note_add(w->store, &on_part, w->sam, "Same.", NOW + 60, &id));
	assert_int_equal(id.v, first.v);
	assert_ok(note_answer(w->store, w->note, w->sam, "Same.", NOW + 60, &id));
	assert_int_equal(id.v, answered.v);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM notes"), notes);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM news"), news);
	assert_int_not_equal(add(w, &on_step, w->sam, "Same.").v, first.v);
	assert_int_not_equal(add(w, &on_part, w->sue, "Same.").v, first.v);
	assert_int_not_equal(add(w, &on_part, w->sam, "Other.").v, first.v);
	assert_int_not_equal(answer(w, first, w->sam, "Same.").v, answered.v);
	assert_ok(note_add(w->store, &on_part, w->sam, "Same.", NOW + 61, &id));
	assert_int_not_equal(id.v, first.v);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM notes"), notes + 5);
}

/* Also by stewards; answers count, and so does what was removed. */
static void a_member_writes_so_many_a_day(void **state)
{
	struct world *w = *state;
	struct note_id id = {0};
	char text[20];

	for (int i = 0; i < NOTES_A_DAY - 1; i++) {
		snprintf(text, sizeof text, "note %d", i);
		id = add(w, i % 2 ? &on_part : &on_step, w->sam, text);
	}
	assert_ok(note_remove(w->store, id, w->sam, NOW));
	id = answer(w, w->note, w->sam, "the last");
	assert_int_equal(note_add(w->store, &on_part, w->sam, "x", NOW + 86399, &id), ST_LIMIT);
	assert_int_equal(note_answer(w->store, w->note, w->sam, "x", NOW + 86399, &id), ST_LIMIT);
	add(w, &on_part, w->sue, "of another");
	assert_ok(note_add(w->store, &on_part, w->sam, "x", NOW + 86400, &id));
	assert_ok(note_add(w->store, &on_part, w->sam, "x", YEAR_BACK, &id));
}

/* ---- calls for a steward ---- */

static struct call_id call(struct world *w, struct note_id note, struct member_id by)
{
	struct call_id id = {0};

	assert_ok(call_add(w->store, &(struct call_to){.note = note}, by, "Rude.", NOW, &id));
	return id;
}

static struct call read_call(struct world *w, struct call_id id)
{
	struct call out;

	assert_ok(call_read(w->store, w->arena, id, &out));
	return out;
}

static int64_t waiting(struct world *w)
{
	int64_t count = -1;

	assert_ok(calls_waiting(w->store, &count));
	return count;
}

static void add_report(struct world *w)
{
	sql_exec(w->store,
	         "INSERT INTO reports (id, author, credit, made_at, title, model, model_key, step,"
	         " step_key, zone, seen, look, severity, effectivity) VALUES (5, 4, 0, 1, 'Crack',"
	         " 'W', 'W', '', '', '', 'x', '', 0, 'all')");
	assert_int_equal(w->bob.v, 4);
}

static void calls_read_back(void **state)
{
	struct world *w = *state;
	struct call_id id = call(w, w->note, w->sam), on_report = {0};
	struct call out = read_call(w, id);

	assert_int_equal(out.to.note.v, w->note.v);
	assert_int_equal(out.to.report.v, 0);
	assert_string_equal(out.caller, "sam");
	assert_string_equal(out.reason, "Rude.");
	assert_string_equal(out.words, "Fits **well**.");
	assert_string_equal(out.author_name, "Bob");
	assert_int_equal(out.at, NOW);
	assert_int_equal(out.closed_at, 0);
	assert_string_equal(out.closed_by, "");
	assert_false(out.removed);
	add_report(w);
	assert_ok(call_add(w->store, &(struct call_to){.report = {5}}, w->sam, "Wrong.", NOW,
	                   &on_report));
	out = read_call(w, on_report);
	assert_int_equal(out.to.report.v, 5);
	assert_string_equal(out.words, "Crack");
	assert_string_equal(out.author_name, "Bob");
	assert_int_equal(waiting(w), 3);
	assert_int_equal(call_read(w->store, w->arena, (struct call_id){99}, &out), ST_MISSING);
}

static void bad_calls_are_refused(void **state)
{
	struct world *w = *state;
	static char longer[CALL_WORDS_LONGEST + 2];
	struct note_id gone = add(w, &on_part, w->bob, "gone");
	struct call_id id = {7};
	const struct {
		struct call_to to;
		struct member_id by;
		const char *reason;
		enum status expected;
	} rows[] = {{{.note = w->note}, w->bob, "mine", ST_DENIED},
	            {{.note = NO_NOTE}, w->sam, "x", ST_MISSING},
	            {{.note = gone}, w->sam, "x", ST_MISSING},
	            {{.report = {99}}, w->sam, "x", ST_MISSING},
	            {{.report = {5}}, w->bob, "mine", ST_DENIED},
	            {{.note = w->note}, w->sam, "", ST_CONFLICT},
	            {{.note = w->note}, w->sam, longer, ST_CONFLICT},
	            {{.note = w->note}, NOBODY, "x", ST_CONFLICT},
	            {{.note = w->note}, w->sue, "again", ST_CONFLICT}};

	memset(longer, 'x', sizeof longer - 1);
	add_report(w);
	assert_ok(note_remove(w->store, gone, w->bob, NOW));
	call(w, w->note, w->sue);
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_int_equal(
		        call_add(w->store, &rows[i].to, rows[i].by, rows[i].reason, NOW, &id),
		        rows[i].expected);
	assert_int_equal(id.v, 7);
	assert_int_equal(waiting(w), 2);
}

static void stewards_close_calls(void **state)
{
	struct world *w = *state;
	struct call_id first = call(w, w->note, w->sam), other = call(w, w->note, w->sue);
	struct call out;

	assert_int_equal(call_close(w->store, first, w->bob, true, "x", NOW), ST_DENIED);
	assert_int_equal(call_close(w->store, first, NOBODY, true, "x", NOW), ST_DENIED);
	assert_int_equal(call_close(w->store, (struct call_id){99}, w->sue, true, "x", NOW),
	                 ST_MISSING);
	assert_ok(call_close(w->store, first, w->sue, false, "It may stay.", NOW + 1));
	assert_int_equal(call_close(w->store, first, w->sue, false, "x", NOW), ST_MISSING);
	assert_string_equal(read_note(w, w->note).text, "Fits **well**.");
	out = read_call(w, first);
	assert_int_equal(out.closed_at, NOW + 1);
	assert_string_equal(out.closed_by, "sue");
	assert_string_equal(out.outcome, "It may stay.");
	first = call(w, w->note, w->sam); /* closed, so one may call anew */
	assert_ok(call_close(w->store, first, w->ann, true, "Taken away.", NOW + 2));
	assert_string_equal(read_note(w, w->note).text, "");
	assert_string_equal(read_note(w, w->note).removed_by, "ann");
	assert_string_equal(read_call(w, first).outcome, "Taken away.");
	assert_true(read_call(w, first).removed);
	assert_string_equal(read_call(w, other).outcome, "The note was removed.");
	assert_int_equal(waiting(w), 0);
}

static void stewards_take_reports_away(void **state)
{
	struct world *w = *state;
	struct call_id id = {0};

	add_report(w);
	assert_ok(call_add(w->store, &(struct call_to){.report = {5}}, w->sam, "Wrong.", NOW, &id));
	assert_ok(call_close(w->store, id, w->sue, true, "Nothing of it is so.", NOW + 1));
	assert_true(read_call(w, id).removed);
	assert_int_equal(sql_number(w->store, "SELECT removed_by FROM reports WHERE id = 5"),
	                 w->sue.v);
	assert_int_equal(sql_number(w->store, "SELECT remove_reason = 'Nothing of it is so.'"
	                                      " FROM reports WHERE id = 5"),
	                 1);
}

static void calls_end_with_their_report(void **state)
{
	struct world *w = *state;
	struct call_id mine = {0}, other = {0}, on_note = call(w, w->note, w->sam);
	const struct call_to to = {.report = w->report}, to_other = {.report = w->repeat};

	assert_ok(call_add(w->store, &to, w->sam, "Wrong.", NOW, &mine));
	assert_ok(call_add(w->store, &to_other, w->sam, "Wrong.", NOW, &other));
	assert_ok(report_remove(w->store, w->report, w->bob, "mine", NOW + 3));
	assert_int_equal(read_call(w, mine).closed_at, NOW + 3);
	assert_string_equal(read_call(w, mine).closed_by, "Bob");
	assert_string_equal(read_call(w, mine).outcome, "Its author removed the report.");
	assert_int_equal(read_call(w, other).closed_at, 0);
	assert_ok(report_remove(w->store, w->repeat, w->sue, "twice", NOW + 4));
	assert_string_equal(read_call(w, other).outcome, "The report was removed.");
	assert_int_equal(read_call(w, on_note).closed_at, 0);
}

static void calls_end_with_their_note(void **state)
{
	struct world *w = *state;
	struct call_id removed = call(w, w->note, w->sam), forgotten;
	struct note_id other = add(w, &on_part, w->bob, "x");

	assert_ok(note_remove(w->store, w->note, w->bob, NOW));
	assert_string_equal(read_call(w, removed).outcome, "Its author removed the note.");
	answer(w, other, w->sue, "kept");
	forgotten = call(w, other, w->sam);
	assert_ok(member_remove(w->store, w->bob, NOW + 1));
	assert_string_equal(read_call(w, forgotten).outcome,
	                    "The note went with the account of its author.");
	assert_string_equal(read_call(w, forgotten).author_name, "removed member");
	assert_ok(member_remove(w->store, w->sam, NOW + 1));
	assert_string_equal(read_call(w, forgotten).caller, "removed member");
	/* The note that nobody had answered went, and the call on it. */
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM steward_calls"), 1);
}

static void calls_that_wait_come_first(void **state)
{
	struct world *w = *state;
	struct note_id other = add(w, &on_part, w->bob, "x");
	struct call_id ids[5] = {call(w, w->note, w->sam), call(w, w->note, w->sue),
	                         call(w, other, w->sam), call(w, other, w->sue), w->call};
	static const int expected[] = {4, 1, 3, 0, 2};
	const struct call *list;
	size_t count;
	int64_t total;

	assert_ok(call_close(w->store, ids[2], w->sue, false, "x", NOW + 1));
	assert_ok(call_close(w->store, ids[0], w->sue, false, "x", NOW + 2));
	assert_ok(call_list(w->store, w->arena, (struct page){9, 0}, &list, &count, &total));
	assert_int_equal(count, 5);
	for (size_t i = 0; i < count; i++)
		assert_int_equal(list[i].id.v, ids[expected[i]].v);
	assert_ok(call_list(w->store, w->arena, (struct page){1, 1}, &list, &count, &total));
	assert_int_equal(count, 1);
	assert_int_equal(total, 5);
	assert_int_equal(list[0].id.v, ids[1].v);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, world_make, world_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(notes_read_back),
	        TEST(subjects_are_told_apart),
	        TEST(bad_notes_are_refused),
	        TEST(answers_go_one_level_deep),
	        TEST(bad_answers_are_refused),
	        TEST(answers_follow_their_note),
	        TEST(authors_hear_of_answers),
	        TEST(edited_notes_keep_their_history),
	        TEST(only_authors_edit),
	        TEST(notes_keep_a_trace),
	        TEST(authors_remove_their_own_notes),
	        TEST(notes_of_removed_members),
	        TEST(thanks_are_counted_once),
	        TEST(bad_thanks_are_refused),
	        TEST(what_helped_most_comes_first),
	        TEST(words_find_notes),
	        TEST(found_notes_come_newest_first_with_their_words),
	        TEST(counting_ends_above_its_limit),
	        TEST(a_form_sent_twice_adds_one_note),
	        TEST(a_member_writes_so_many_a_day),
	        TEST(calls_read_back),
	        TEST(bad_calls_are_refused),
	        TEST(stewards_close_calls),
	        TEST(stewards_take_reports_away),
	        TEST(calls_end_with_their_report),
	        TEST(calls_end_with_their_note),
	        TEST(calls_that_wait_come_first),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
