/* Where a notice stands for a kit: every rule of standing.h, by table. */
#include "build.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "core/standing.h"

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

/* ---- notices and records from short texts ---- */

#define MOST 8

struct short_notice {
	const char *number, *revision, *statement; /* statement NULL: all */
	const char *lines;   /* "WH-1 | at left | new WH-1A | lots 3 thru 9 | use as is; ..." */
	const char *credits; /* "A: " and its lines; "A" alone: it had no lines */
	const char *carry;   /* plans from this issue carry the change */
	const char *step, *supersedes, *terminates, *requires;
	const char *due;    /* compliance time */
	const char *issued; /* NULL: 2018-06-01 */
	bool cancelled;
};

/* The next entry of a list with ';' or the next piece of an entry with '|',
 * without the blanks around it; NULL at the end. */
static char *next_piece(char **rest, const char *mark)
{
	char *piece = *rest ? strsep(rest, mark) : NULL, *end;

	if (!piece)
		return NULL;
	piece += strspn(piece, " ");
	for (end = piece + strlen(piece); end > piece && end[-1] == ' ';)
		*--end = '\0';
	return piece;
}

static const char *behind(const char *piece, const char *word)
{
	size_t len = strlen(word);

	return strncmp(piece, word, len) == 0 && piece[len] == ' ' ? piece + len + 1 : NULL;
}

static void read_lots(struct notice_line *line, const char *text)
{
	struct statement_fault fault;

	line->lots_text = text;
	assert_int_equal(effectivity_parse_lots(arena, text, strlen(text), &line->lots,
	                                        &line->n_lots, &fault),
	                 ST_OK);
}

static struct notice_line read_line(char *entry)
{
	struct notice_line line = {.lots_text = "", .remark = "", .disposition = DISPOSE_REPLACE};
	char *piece = next_piece(&entry, "|");
	const char *value;

	line.part = make_name(arena, piece);
	line.position = line.replacement = make_name(arena, NULL);
	while ((piece = next_piece(&entry, "|"))) {
		if ((value = behind(piece, "at")))
			line.position = make_name(arena, value);
		else if ((value = behind(piece, "new")))
			line.replacement = make_name(arena, value);
		else if ((value = behind(piece, "lots")))
			read_lots(&line, value);
		else
			assert_true(disposition_from_words(piece, &line.disposition));
	}
	return line;
}

static const struct notice_line *read_lines(const char *text, size_t *count)
{
	struct notice_line *lines = ARENA_ARRAY(arena, struct notice_line, MOST);
	char *rest = text ? arena_string(arena, text) : NULL, *entry;

	for (*count = 0; (entry = next_piece(&rest, ";"));)
		if (*entry)
			lines[(*count)++] = read_line(entry);
	return lines;
}

static const struct revision_credit *read_credit(const char *text)
{
	struct revision_credit *credit = ARENA_NEW(arena, struct revision_credit);
	char *rest = arena_string(arena, text);

	credit->revision = make_name(arena, next_piece(&rest, ":"));
	credit->lines = read_lines(rest, &credit->n_lines);
	return credit;
}

static const struct name *one_name(const char *text, size_t *count)
{
	struct name *name = ARENA_NEW(arena, struct name);

	*name = make_name(arena, text);
	*count = text != NULL;
	return name;
}

static struct notice read_notice(const struct short_notice *s, int64_t id)
{
	struct notice n = {.id = {id},
	                   .number = make_name(arena, s->number),
	                   .revision = make_name(arena, s->revision),
	                   .issuer = "Harrowfen",
	                   .title = "Aileron tube",
	                   .issued = make_date(s->issued ? s->issued : "2018-06-01"),
	                   .effectivity =
	                           make_statement(arena, s->statement ? s->statement : "all"),
	                   .plans_carry = make_date_fact(s->carry),
	                   .due = s->due ? make_due(arena, s->due) : NULL,
	                   .cancelled = s->cancelled,
	                   .cancelled_on = make_date("2020-03-04")};

	n.lines = read_lines(s->lines, &n.n_lines);
	n.steps = one_name(s->step, &n.n_steps);
	n.supersedes = one_name(s->supersedes, &n.n_supersedes);
	n.terminates = one_name(s->terminates, &n.n_terminates);
	n.requires = one_name(s->requires, &n.n_requires);
	if (s->credits) {
		n.credits = read_credit(s->credits);
		n.n_credits = 1;
	}
	return n;
}

static void read_detail(struct record *record, const char *piece)
{
	const char *value;

	if ((value = behind(piece, "at")))
		record->position = make_name(arena, value);
	else if ((value = behind(piece, "part")))
		record->part = make_name(arena, value);
	else if ((value = behind(piece, "rev")))
		record->revision = make_name(arena, value);
	else if ((value = behind(piece, "on")))
		record->done = make_date(value);
	else if ((value = behind(piece, "hours")))
		record->has_hours = true, record->hours = 100 * strtoll(value, NULL, 10);
	else if ((value = behind(piece, "landings")))
		record->has_landings = true, record->landings = strtoll(value, NULL, 10);
	else if ((value = behind(piece, "corrects")))
		record->corrects.v = strtoll(value, NULL, 10);
	else if (strcmp(piece, "withdraws") == 0)
		record->withdraws = true;
	else
		fail_msg("not a detail of a record: %s", piece);
}

/* "SB-1 | rev B | part WH-1 | at left | on 2019-05-01 | hours 120; ..."; ids from 1. */
static const struct record *read_records(const char *text, size_t *count)
{
	struct record *records = ARENA_ARRAY(arena, struct record, MOST);
	char *rest = text ? arena_string(arena, text) : NULL, *entry;

	for (*count = 0; (entry = next_piece(&rest, ";")); (*count)++) {
		struct record *r = &records[*count];
		char *piece = next_piece(&entry, "|");

		*r = (struct record){.id = {(int64_t)*count + 1},
		                     .notice = make_name(arena, piece),
		                     .revision = make_name(arena, NULL),
		                     .part = make_name(arena, NULL),
		                     .position = make_name(arena, NULL),
		                     .done = make_date("2019-05-01"),
		                     .method = "",
		                     .by = "",
		                     .signed_as = "",
		                     .remarks = "",
		                     .entered_by = ""};
		while ((piece = next_piece(&entry, "|")))
			read_detail(r, piece);
	}
	return records;
}

/* ---- the table; the first notice is the one that is asked about ---- */

#define BOTH "WH-1 | at left | new WH-1A; WH-1 | at right | new WH-1A"
#define PAIR "WH-L | new WH-LA; WH-R | new WH-RA"
#define SB1 .number = "SB-1"
#define SB2 .number = "SB-2"

static const struct {
	const char *why;
	struct short_notice notices[3];
	const char *facts, *records, *today; /* today NULL: 2022-01-01 */
	enum standing_kind kind;
	unsigned left, lines;
	bool overdue, reopened;
	const char *reason; /* part of it */
} rows[] = {
        /* not effective, ask */
        {"effectivity is false",
         {{SB1, .statement = "serial WH-0101 and on"}},
         "serial WH-0100",
         NULL,
         NULL,
         STANDING_NOT_EFFECTIVE,
         0,
         1,
         false,
         false,
         "kit serial number is WH-0100, and line 1 says: serial WH-0101 and on"},
        {"effectivity is unknown",
         {{SB1, .statement = "serial WH-0101 and on"}},
         "",
         NULL,
         NULL,
         STANDING_ASK,
         0,
         1,
         false,
         false,
         "Cannot be told without: kit serial number."},
        {"a cancelled notice concerns nobody",
         {{SB1, .cancelled = true}},
         "",
         NULL,
         NULL,
         STANDING_NOT_EFFECTIVE,
         0,
         1,
         false,
         false,
         "The issuer cancelled it on 4 March 2020."},
        {"a record does not make a notice effective",
         {{SB1, .statement = "serial WH-0101 and on"}},
         "serial WH-0100",
         "SB-1",
         NULL,
         STANDING_NOT_EFFECTIVE,
         0,
         1,
         false,
         false,
         "WH-0100"},
        {"a record does not answer an open question",
         {{SB1, .statement = "serial WH-0101 and on"}},
         "",
         "SB-1",
         NULL,
         STANDING_ASK,
         0,
         1,
         false,
         false,
         "kit serial number"},
        /* replaced */
        {"a later notice supersedes it",
         {{SB1}, {SB2, .revision = "C", .supersedes = "SB-1"}},
         "",
         NULL,
         NULL,
         STANDING_REPLACED,
         0,
         1,
         false,
         false,
         "Replaced by Harrowfen SB-2 revision C: Aileron tube."},
        {"of two that supersede it the later issued is named",
         {{SB1},
          {SB2, .supersedes = "SB-1", .issued = "2020"},
          {.number = "SB-3", .supersedes = "SB-1", .issued = "2019"}},
         "",
         NULL,
         NULL,
         STANDING_REPLACED,
         0,
         1,
         false,
         false,
         "Harrowfen SB-2:"},
        {"a cancelled notice supersedes nothing",
         {{SB1}, {SB2, .supersedes = "SB-1", .cancelled = true}},
         "",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1 line left."},
        {"not effective comes before replaced",
         {{SB1, .statement = "model X"}, {SB2, .supersedes = "SB-1"}},
         "model Y",
         NULL,
         NULL,
         STANDING_NOT_EFFECTIVE,
         0,
         1,
         false,
         false,
         "model is Y"},
        {"ask comes before replaced",
         {{SB1, .statement = "model X"}, {SB2, .supersedes = "SB-1"}},
         "",
         NULL,
         NULL,
         STANDING_ASK,
         0,
         1,
         false,
         false,
         "model"},
        {"replaced comes before in the plans, conforms and done",
         {{SB1, .carry = "2019", .lines = "WH-1 | new WH-1A"}, {SB2, .supersedes = "SB-1"}},
         "plans 2020; part WH-1A",
         "SB-1 | part WH-1",
         NULL,
         STANDING_REPLACED,
         0,
         1,
         false,
         false,
         "Replaced"},
        /* in the plans */
        {"plans dated after a notice prove nothing",
         {{SB1, .statement = "purchased after 2017-09", .lines = "WH-1 | new WH-1A"}},
         "purchased 2020; plans 2020",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "Plans dated after the notice prove nothing"},
        {"plans older than the notice tempt nobody",
         {{SB1, .lines = "WH-1 | new WH-1A"}},
         "plans 2018",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "Applies because it concerns every kit. 1 of 1 line left."},
        {"an explicit statement of incorporation does",
         {{SB1, .carry = "2019-03"}},
         "plans 2019-03",
         NULL,
         NULL,
         STANDING_IN_THE_PLANS,
         0,
         1,
         false,
         false,
         "plans from March 2019 carry the change, and this kit's plans are of March 2019"},
        {"plans before the stated issue do not carry it",
         {{SB1, .carry = "2019-03"}},
         "plans 2019-02-28",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"plans that may be older are not taken to carry it",
         {{SB1, .carry = "2019-03"}},
         "plans 2019",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"unknown plans are not taken to carry it",
         {{SB1, .carry = "2019-03"}},
         "",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"an affected step built from older plans keeps it open",
         {{SB1, .carry = "2019-03", .step = "W-3"}},
         "plans 2020; plans of W-3 = 2018",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"an affected step of unknown plans keeps it open",
         {{SB1, .carry = "2019-03", .step = "W-3"}},
         "plans 2020; plans of W-3 = never",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"another step's plans do not matter",
         {{SB1, .carry = "2019-03", .step = "W-3"}},
         "plans 2020; plans of W-4 = 2018",
         NULL,
         NULL,
         STANDING_IN_THE_PLANS,
         0,
         1,
         false,
         false,
         "as are those of the affected steps"},
        {"in the plans comes before conforms and done",
         {{SB1, .carry = "2019", .lines = "WH-1 | new WH-1A"}},
         "plans 2020; part WH-1A",
         "SB-1 | part WH-1",
         NULL,
         STANDING_IN_THE_PLANS,
         0,
         1,
         false,
         false,
         "carry the change"},
        /* conforms */
        {"the new number is fitted",
         {{SB1, .lines = "WH-1 | new WH-1A"}},
         "part WH-1A",
         NULL,
         NULL,
         STANDING_CONFORMS,
         0,
         1,
         false,
         false,
         "WH-1: WH-1A is fitted."},
        {"old and new are both fitted",
         {{SB1, .lines = "WH-1 | new WH-1A"}},
         "part WH-1A; part WH-1",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"a line without a replacement is not met by parts",
         {{SB1, .lines = "WH-1 | rework"}},
         "part WH-9; parts known",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"a replacement of the same number proves nothing",
         {{SB1, .lines = "WH-1 | new WH-1"}},
         "part WH-1",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"a lot outside the affected ones",
         {{SB1, .lines = "WH-1 | lots 3 thru 9, 12"}},
         "part WH-1 | lot 10",
         NULL,
         NULL,
         STANDING_CONFORMS,
         0,
         1,
         false,
         false,
         "WH-1: its lot is outside 3 thru 9, 12."},
        {"a good lot of a number that is replaced by itself",
         {{SB1, .lines = "WH-1 | new WH-1 | lots 3 thru 9"}},
         "part WH-1 | lot 10",
         NULL,
         NULL,
         STANDING_CONFORMS,
         0,
         1,
         false,
         false,
         "WH-1: its lot is outside 3 thru 9."},
        {"an affected lot",
         {{SB1, .lines = "WH-1 | lots 3 thru 9, 12"}},
         "part WH-1 | lot 12",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"a lot that is not known",
         {{SB1, .lines = "WH-1 | lots 3 thru 9"}},
         "part WH-1",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"one good lot beside one affected lot",
         {{SB1, .lines = "WH-1 | lots 3 thru 9"}},
         "part WH-1 | lot 10; part WH-1 | lot 3",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"use as is leaves nothing to do",
         {{SB1, .lines = "WH-1 | use as is"}},
         "",
         NULL,
         NULL,
         STANDING_CONFORMS,
         0,
         1,
         false,
         false,
         "WH-1: the notice says to use it as it is."},
        {"use as is beside a line to replace",
         {{SB1, .lines = "WH-1 | use as is; WH-2 | new WH-2A"}},
         "",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         2,
         false,
         false,
         "1 of 2 lines left"},
        /* left and right are two lines */
        {"parts by their positions",
         {{SB1, .lines = BOTH}},
         "part WH-1A | at left; part WH-1A | at right",
         NULL,
         NULL,
         STANDING_CONFORMS,
         0,
         2,
         false,
         false,
         "WH-1 left: WH-1A is fitted; WH-1 right: WH-1A is fitted."},
        {"one of two by position",
         {{SB1, .lines = BOTH}},
         "part WH-1A | at left",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         2,
         false,
         false,
         "1 of 2 lines left"},
        {"one part without a position never guesses a side",
         {{SB1, .lines = BOTH}},
         "part WH-1A",
         NULL,
         NULL,
         STANDING_OPEN,
         2,
         2,
         false,
         false,
         "2 of 2 lines left"},
        {"two parts without a position meet both lines",
         {{SB1, .lines = BOTH}},
         "part WH-1A; part WH-1A",
         NULL,
         NULL,
         STANDING_CONFORMS,
         0,
         2,
         false,
         false,
         "fitted"},
        {"an old part without a position may be on either side",
         {{SB1, .lines = BOTH}},
         "part WH-1A | at left; part WH-1A | at right; part WH-1",
         NULL,
         NULL,
         STANDING_OPEN,
         2,
         2,
         false,
         false,
         "2 of 2"},
        {"an old part on the other side does not matter to this one",
         {{SB1, .lines = BOTH}},
         "part WH-1A | at left; part WH-1 | at right",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         2,
         false,
         false,
         "1 of 2"},
        {"hands with numbers of their own need no position",
         {{SB1, .lines = PAIR}},
         "part WH-LA",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         2,
         false,
         false,
         "1 of 2"},
        {"one of two done is open",
         {{SB1, .lines = BOTH}},
         "",
         "SB-1 | part WH-1 | at left",
         NULL,
         STANDING_OPEN,
         1,
         2,
         false,
         false,
         "1 of 2 lines left."},
        {"both done is done",
         {{SB1, .lines = BOTH}},
         "",
         "SB-1 | part WH-1 | at left; SB-1 | part WH-1 | at right | on 2019-07",
         NULL,
         STANDING_DONE,
         0,
         2,
         false,
         false,
         "the last of July 2019."},
        {"one done, the other fitted",
         {{SB1, .lines = BOTH}},
         "part WH-1A | at right",
         "SB-1 | part WH-1 | at left",
         NULL,
         STANDING_DONE,
         0,
         2,
         false,
         false,
         "Every affected line is closed"},
        {"the same side twice is still one side",
         {{SB1, .lines = BOTH}},
         "",
         "SB-1 | part WH-1 | at left; SB-1 | part WH-1 | at left",
         NULL,
         STANDING_OPEN,
         1,
         2,
         false,
         false,
         "1 of 2"},
        {"a record without a side closes no side",
         {{SB1, .lines = BOTH}},
         "",
         "SB-1 | part WH-1",
         NULL,
         STANDING_OPEN,
         2,
         2,
         false,
         false,
         "2 of 2"},
        {"a record of another part closes nothing",
         {{SB1, .lines = "WH-1"}},
         "",
         "SB-1 | part WH-2",
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"a record of another notice closes nothing",
         {{SB1}, {SB2}},
         "",
         "SB-2",
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        /* done, revisions */
        {"done as a whole",
         {{SB1}},
         "",
         "SB-1",
         NULL,
         STANDING_DONE,
         0,
         1,
         false,
         false,
         "the last of 1 May 2019."},
        {"done to this revision",
         {{SB1, .revision = "B"}},
         "",
         "SB-1 | rev b",
         NULL,
         STANDING_DONE,
         0,
         1,
         false,
         false,
         "counts for revision B"},
        {"a revision opens it again",
         {{SB1, .revision = "B"}},
         "",
         "SB-1 | rev A",
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         true,
         "Work recorded to an earlier revision does not count for revision B."},
        {"the original issue does not count for revision A",
         {{SB1, .revision = "A"}},
         "",
         "SB-1",
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         true,
         "does not count for revision A"},
        {"unless no further action is needed",
         {{SB1, .revision = "B", .credits = "A"}},
         "",
         "SB-1 | rev A",
         NULL,
         STANDING_DONE,
         0,
         1,
         false,
         false,
         "counts for revision B"},
        {"a credit for A is none for the original issue",
         {{SB1, .revision = "B", .credits = "A"}},
         "",
         "SB-1",
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         true,
         "does not count"},
        {"a credit counts for a line that both share",
         {{SB1, .revision = "B", .lines = "WH-1; WH-2", .credits = "A: WH-1"}},
         "",
         "SB-1 | rev A | part WH-1",
         NULL,
         STANDING_DONE,
         0,
         2,
         false,
         false,
         "counts"},
        {"a credit half done counts for its own half",
         {{SB1, .revision = "B", .lines = BOTH, .credits = "A: " BOTH}},
         "",
         "SB-1 | rev A | part WH-1 | at left",
         NULL,
         STANDING_OPEN,
         1,
         2,
         false,
         false,
         "1 of 2"},
        {"old lines half done give no credit for a line they lack",
         {{SB1, .revision = "B", .lines = "WH-3", .credits = "A: WH-1; WH-2"}},
         "",
         "SB-1 | rev A | part WH-1",
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         true,
         "1 of 1"},
        {"old lines all done give credit for a line they lack",
         {{SB1, .revision = "B", .lines = "WH-3", .credits = "A: WH-1; WH-2"}},
         "",
         "SB-1 | rev A | part WH-2 | on 2019-09; SB-1 | rev A | part WH-1",
         NULL,
         STANDING_DONE,
         0,
         1,
         false,
         false,
         "September 2019"},
        /* records are appended */
        {"a corrected record no longer counts",
         {{SB1, .lines = "WH-1"}},
         "",
         "SB-1 | part WH-1; SB-1 | part WH-2 | corrects 1",
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"the correction counts",
         {{SB1}},
         "",
         "SB-1 | on 2019; SB-1 | on 2020-02-02 | corrects 1",
         NULL,
         STANDING_DONE,
         0,
         1,
         false,
         false,
         "2 February 2020"},
        {"a withdrawn record closes nothing",
         {{SB1}},
         "",
         "SB-1; SB-1 | corrects 1 | withdraws",
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"a corrected correction",
         {{SB1}},
         "",
         "SB-1; SB-1 | corrects 1 | withdraws; SB-1 | on 2022-01-02 | corrects 2",
         NULL,
         STANDING_DONE,
         0,
         1,
         false,
         false,
         "2 January 2022"},
        /* terminating action */
        {"a terminating action that is done ends it",
         {{SB1, .due = "then\nevery 12 calendar months"}, {SB2, .terminates = "SB-1"}},
         "",
         "SB-2",
         NULL,
         STANDING_DONE,
         0,
         1,
         false,
         false,
         "Ended by Harrowfen SB-2, which is done and terminates it."},
        {"one that is not done ends nothing",
         {{SB1, .due = "then\nevery 12 calendar months"}, {SB2, .terminates = "SB-1"}},
         "",
         "SB-1 | on 2019-05-01",
         "2019-06-01",
         STANDING_REPEATING,
         0,
         1,
         false,
         false,
         "due again by 31 May 2020."},
        {"one of two sides of it ends nothing",
         {{SB1}, {SB2, .lines = BOTH, .terminates = "SB-1"}},
         "",
         "SB-2 | part WH-1 | at left",
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"a cancelled one ends nothing",
         {{SB1}, {SB2, .terminates = "SB-1", .cancelled = true}},
         "",
         "SB-2",
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"one done to an older revision ends nothing",
         {{SB1}, {SB2, .revision = "B", .terminates = "SB-1"}},
         "",
         "SB-2 | rev A",
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        /* repeating: calendar months end with their last day (14 CFR 91.409, FAA usage) */
        {"within 12 calendar months",
         {{SB1, .due = "then\nevery 12 calendar months"}},
         "",
         "SB-1 | on 2014-06-06",
         "2015-06-30",
         STANDING_REPEATING,
         0,
         1,
         false,
         false,
         "Last done on 6 June 2014; due again by 30 June 2015."},
        {"the day after is overdue",
         {{SB1, .due = "then\nevery 12 calendar months"}},
         "",
         "SB-1 | on 2014-06-06",
         "2015-07-01",
         STANDING_REPEATING,
         0,
         1,
         true,
         false,
         "overdue, it was due by 30 June 2015."},
        {"a partial date counts from its first day",
         {{SB1, .due = "then\nevery 12 calendar months"}},
         "",
         "SB-1 | on 2014",
         "2015-02-01",
         STANDING_REPEATING,
         0,
         1,
         true,
         false,
         "31 January 2015"},
        {"every 100 hours, on the limit",
         {{SB1, .due = "then\nevery 100 hours"}},
         "hours 1633",
         "SB-1 | hours 1533",
         NULL,
         STANDING_REPEATING,
         0,
         1,
         false,
         false,
         "due again by 1633 hours."},
        {"every 100 hours, over the limit",
         {{SB1, .due = "then\nevery 100 hours"}},
         "hours 1633.01",
         "SB-1 | hours 1533",
         NULL,
         STANDING_REPEATING,
         0,
         1,
         true,
         false,
         "overdue, it was due by 1633 hours."},
        {"hours of the kit not known are not overdue",
         {{SB1, .due = "then\nevery 100 hours"}},
         "",
         "SB-1 | hours 1533",
         NULL,
         STANDING_REPEATING,
         0,
         1,
         false,
         false,
         "1633 hours"},
        {"a record without hours leaves the limit unknown",
         {{SB1, .due = "then\nevery 100 hours"}},
         "hours 9000",
         "SB-1",
         NULL,
         STANDING_REPEATING,
         0,
         1,
         false,
         false,
         "due again at a time not known. Cannot be told in full without: total hours when "
         "it was last done."},
        {"every 50 landings",
         {{SB1, .due = "then\nevery 50 landings"}},
         "landings 151",
         "SB-1 | landings 100",
         NULL,
         STANDING_REPEATING,
         0,
         1,
         true,
         false,
         "150 landings."},
        {"on the last landing",
         {{SB1, .due = "then\nevery 50 landings"}},
         "landings 150",
         "SB-1 | landings 100",
         NULL,
         STANDING_REPEATING,
         0,
         1,
         false,
         false,
         "150 landings."},
        {"landings of the record not known",
         {{SB1, .due = "then\nevery 50 landings\nevery 12 calendar months\nwhichever first"}},
         "landings 151",
         "SB-1 | on 2021-05-01",
         NULL,
         STANDING_REPEATING,
         0,
         1,
         false,
         false,
         "total landings when it was last done."},
        {"whichever comes first",
         {{SB1, .due = "then\nevery 100 hours\nevery 50 landings\nevery 12 calendar "
                       "months\nwhichever first"}},
         "hours 10; landings 500",
         "SB-1 | on 2021-12-01 | hours 5 | landings 100",
         NULL,
         STANDING_REPEATING,
         0,
         1,
         true,
         false,
         "31 December 2022 or 105 hours or 150 landings, whichever comes first."},
        {"the earlier of two lines counts",
         {{SB1, .lines = "WH-1; WH-2",
           .due = "then\nevery 100 hours\nevery 12 calendar months\nwhichever first"}},
         "",
         "SB-1 | part WH-1 | on 2021-06-01 | hours 30; SB-1 | part WH-2 | on 2021-03-01 | hours 60",
         NULL,
         STANDING_REPEATING,
         0,
         2,
         false,
         false,
         "31 March 2022 or 130 hours"},
        {"the latest record of one line counts",
         {{SB1, .due = "then\nevery 12 calendar months"}},
         "",
         "SB-1 | on 2021-05-01; SB-1 | on 2020-05-01",
         NULL,
         STANDING_REPEATING,
         0,
         1,
         false,
         false,
         "31 May 2022"},
        {"a repeating notice never done is open",
         {{SB1, .due = "then\nevery 12 calendar months"}},
         "",
         NULL,
         NULL,
         STANDING_OPEN,
         1,
         1,
         false,
         false,
         "1 of 1"},
        {"a repeating notice that is met does not repeat",
         {{SB1, .due = "then\nevery 12 calendar months", .lines = "WH-1 | new WH-1A"}},
         "part WH-1A",
         NULL,
         NULL,
         STANDING_CONFORMS,
         0,
         1,
         false,
         false,
         "fitted"},
};

static const struct catalogue *read_catalogue(const struct short_notice *short_notices)
{
	const struct catalogue *catalogue = NULL;
	struct notice notices[3];
	size_t count = 0;

	for (; count < 3 && short_notices[count].number; count++)
		notices[count] = read_notice(&short_notices[count], (int64_t)count + 1);
	assert_int_equal(catalogue_build(arena, notices, count, &catalogue), ST_OK);
	return catalogue;
}

static struct kit_state read_kit(const char *facts, const char *text)
{
	struct kit_state kit;
	size_t count;
	const struct record *records = read_records(text, &count);

	assert_int_equal(
	        kit_state_make(arena, make_facts(arena, facts), records, count, NULL, &kit), ST_OK);
	return kit;
}

static void check_lines(const struct catalogue_entry *entry, const struct kit_state *kit,
                        const struct standing *standing)
{
	unsigned open = 0;

	for (unsigned i = 0; i < standing->lines; i++) {
		const struct record *by = NULL;
		enum line_state state = standing_line(entry, i, kit, &by);

		open += state == LINE_OPEN;
		assert_int_equal(by != NULL, state == LINE_RECORDED);
	}
	if (standing->kind >= STANDING_CONFORMS && !standing->terminated)
		assert_int_equal(open, standing->left);
}

static void every_rule_holds(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		const struct catalogue *catalogue = read_catalogue(rows[i].notices);
		const struct catalogue_entry *entry =
		        catalogue_find_id(catalogue, (struct notice_id){1});
		struct kit_state kit = read_kit(rows[i].facts, rows[i].records);
		struct standing standing =
		        standing_decide(catalogue, entry, &kit,
		                        make_day(rows[i].today ? rows[i].today : "2022-01-01"));
		struct text reason = TEXT_EMPTY;

		standing_reason(entry, &standing, &kit, &reason);
		if (standing.kind != rows[i].kind || standing.left != rows[i].left ||
		    standing.lines != rows[i].lines || standing.overdue != rows[i].overdue ||
		    standing.reopened != rows[i].reopened ||
		    !strstr(text_string(&reason), rows[i].reason))
			fail_msg("%s: %s, %u of %u left, overdue %d, reopened %d\n%s", rows[i].why,
			         standing_words(standing.kind), standing.left, standing.lines,
			         standing.overdue, standing.reopened, text_string(&reason));
		assert_int_equal(standing_is_left(&standing),
		                 rows[i].kind == STANDING_OPEN || rows[i].overdue);
		check_lines(entry, &kit, &standing);
		text_free(&reason);
		arena_reset(arena);
	}
}

/* Every standing is reached by some row. */
static void the_table_reaches_every_standing(void **state)
{
	(void)state;
	for (int kind = 0; kind < STANDING_KINDS; kind++) {
		size_t found = 0;

		for (size_t i = 0; i < ROWS(rows); i++)
			found += rows[i].kind == (enum standing_kind)kind;
		assert_true(found >= 3);
	}
}

static void what_is_recorded_is_done_and_nothing_else(void **state)
{
	static const struct short_notice notices[3] = {
	        {SB1, .revision = "B"}, {SB2, .lines = BOTH}, {.number = "SB-3"}};
	struct kit_state kit = read_kit("", "SB-3; SB-1 | rev A; SB-2 | part WH-1 | at left; SB-9; "
	                                    "SB-3; SB-1 | rev B");
	struct facts facts = *make_facts(arena, "");
	struct name names[] = {make_name(arena, "SB-1"), make_name(arena, "SB-2"),
	                       make_name(arena, "SB-3"), make_name(arena, "SB-9")};
	static const enum truth done[] = {TRUTH_TRUE, TRUTH_FALSE, TRUTH_TRUE, TRUTH_FALSE};

	(void)state;
	assert_int_equal(standing_fill_done(arena, read_catalogue(notices), &kit, &facts), ST_OK);
	for (size_t i = 0; i < ROWS(names); i++)
		assert_int_equal(facts_notice_done(&facts, &names[i]), done[i]);
	assert_int_equal(facts.n_notices_done, 2);
}

/* Having done the work never changes effectivity. */
static void a_record_never_changes_effectivity(void **state)
{
	(void)state;
	for (size_t i = 0; i < ROWS(rows); i++) {
		const struct catalogue *catalogue = read_catalogue(rows[i].notices);
		const struct catalogue_entry *entry =
		        catalogue_find_id(catalogue, (struct notice_id){1});
		struct kit_state with = read_kit(rows[i].facts, rows[i].records);
		struct kit_state without = read_kit(rows[i].facts, NULL);
		day_number today = make_day("2022-01-01");
		enum standing_kind a = standing_decide(catalogue, entry, &with, today).kind;
		enum standing_kind b = standing_decide(catalogue, entry, &without, today).kind;

		if (a <= STANDING_IN_THE_PLANS || b <= STANDING_IN_THE_PLANS)
			assert_int_equal(a, b);
		arena_reset(arena);
	}
}

/* ---- memory ---- */

static const struct record *some_records;
static size_t n_some;
static const struct catalogue *some_catalogue;
static struct kit_state some_kit;
static struct facts some_facts;

static bool make_state(struct arena *room)
{
	struct kit_state kit;

	return kit_state_make(room, &some_facts, some_records, n_some, NULL, &kit) == ST_OK;
}

static bool fill_done(struct arena *room)
{
	struct facts facts = some_facts;
	bool fine = standing_fill_done(room, some_catalogue, &some_kit, &facts) == ST_OK;

	assert_int_equal(facts.notices_known, fine);
	return fine;
}

static bool say_reason(void *context)
{
	const struct catalogue_entry *entry = &some_catalogue->entries[0];
	struct standing standing =
	        standing_decide(some_catalogue, entry, &some_kit, make_day("2022-01-01"));
	struct text reason = TEXT_EMPTY;
	bool fine;

	(void)context;
	standing_reason(entry, &standing, &some_kit, &reason);
	fine = !text_failed(&reason);
	text_free(&reason);
	return fine;
}

static void every_allocation_may_fail(void **state)
{
	static const struct short_notice notices[3] = {
	        {SB1, .statement = "purchased 2019", .lines = BOTH, .revision = "B"}};

	(void)state;
	some_records = read_records("SB-1 | rev A; SB-1 | rev B; SB-2", &n_some);
	some_catalogue = read_catalogue(notices);
	some_facts = *make_facts(arena, "purchased 2019; plans 2020");
	assert_int_equal(kit_state_make(arena, &some_facts, some_records, n_some, NULL, &some_kit),
	                 ST_OK);
	try_each_place(make_state);
	try_each_place(fill_done);
	try_each_allocation(say_reason, NULL, false);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(every_rule_holds),
	        cmocka_unit_test(the_table_reaches_every_standing),
	        cmocka_unit_test(what_is_recorded_is_done_and_nothing_else),
	        cmocka_unit_test(a_record_never_changes_effectivity),
	        cmocka_unit_test(every_allocation_may_fail),
	};
	return cmocka_run_group_tests(tests, set_up, tear_down);
}
