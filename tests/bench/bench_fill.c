/* Fills a data folder for the benches: bench_fill FOLDER NOTICES KITS NOTES
 *
 * The first kit has LEFT notices to do, whatever the size of the rest; of the
 * others each has a few records. Prints as JSON what the benches need to come
 * in: tokens of a builder's, a steward's and an admin's session, an API token of the
 * builder's, the first kit, and how many kits the builder has.
 *
 *     bench_fill FOLDER NOTICES KITS NOTES REPORTS
 *
 * adds field reports, the first of them with an answer for each kit up to 2,000,
 * and shows every kit to others.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/text.h"
#include "os/clock.h"
#include "os/random.h"
#include "os/token.h"
#include "store/kits.h"
#include "store/members.h"
#include "store/notes.h"
#include "store/notices.h"
#include "store/parts.h"
#include "store/records.h"
#include "store/reports.h"
#include "store/settings.h"
#include "store/store.h"

#define LEFT 60    /* notices left on the first kit */
#define DONE 200   /* that have a record there */
#define ASK 40     /* that cannot be told */
#define CARRIED 40 /* that its plans carry */
#define NAMED (LEFT + DONE + ASK + CARRIED)
#define BUILDERS_KITS 100 /* of the first builder: more than the server keeps decided */
#define KITS_A_MEMBER 2   /* of the others */
#define RECORDS_A_KIT 3
#define SESSION_SECONDS 86400

struct filling {
	struct store *store;
	struct arena *arena;
	int64_t now;
	int64_t notices, kits, notes, reports;
	struct member_id builder, steward, admin;
	struct kit_id first_kit;
};

static void must(enum status status, const char *what)
{
	if (status == ST_OK)
		return;
	fprintf(stderr, "bench_fill: %s: %s\n", what, status_words(status));
	exit(1);
}

static struct name name_of(struct filling *f, const char *text)
{
	struct name name = {.len = 0};

	must(name_make(f->arena, text, strlen(text), &name), text);
	return name;
}

static struct date_fact date_of(const char *text)
{
	struct date_fact fact = {.state = DATE_KNOWN};

	must(date_parse(text, strlen(text), &fact.date), text);
	return fact;
}

/* ---- members and their ways in ---- */

static struct member_id add_member(struct filling *f, const char *login, enum role role)
{
	struct member_entry entry = {.login = login, .name = login, .password = "*", .role = role};
	struct member_id id = {0};

	must(member_add(f->store, &entry, f->now, &id), login);
	return id;
}

static void print_session(struct filling *f, const char *key, struct member_id member)
{
	struct session_entry entry = {.member = member,
	                              .label = "bench",
	                              .idle_until = f->now + SESSION_SECONDS,
	                              .ends_at = f->now + SESSION_SECONDS};
	struct session_id id;
	char token[TOKEN_SIZE];

	token_make(token);
	entry.token = hash_of(token, TOKEN_LENGTH);
	random_bytes(entry.secret, sizeof entry.secret);
	must(session_add(f->store, &entry, f->now, &id), "session");
	printf("\"%s\": \"%s\", ", key, token);
}

static void print_api_token(struct filling *f)
{
	struct api_token_id id;
	struct hash hash;
	char token[TOKEN_SIZE];

	token_make(token);
	hash = hash_of(token, TOKEN_LENGTH);
	must(api_token_add(f->store, f->builder, &hash, "bench", f->now,
	                   f->now + 365 * INT64_C(86400), &id),
	     "token");
	printf("\"api\": \"%s\", ", token);
}

/* ---- notices ---- */

/* Spreads what the first kit is concerned by over all numbers. */
static void number_of(const struct filling *f, int64_t i, char *out, size_t size)
{
	snprintf(out, size, "HF-SB-%05" PRId64, i * 7919 % f->notices + 1);
}

/* Statements that do not hold for the first kit, each for another reason. */
static const char *const elsewhere[] = {
        "model Whimbrel T",
        "model Whimbrel\nserial WH-0201 and on",
        "model Whimbrel\npurchased before 2017-09",
        "model Whimbrel, Whimbrel T\nserial WH-0001 thru WH-0099\nor\npart HF-2207-1 lot 3 thru 9",
        "model Whimbrel\nplans after 2016\nnot option tailwheel",
};

static const char *statement_of(int64_t i)
{
	if (i < LEFT + DONE || (i >= LEFT + DONE + ASK && i < NAMED))
		return "model Whimbrel\nserial WH-0101 thru WH-0145, WH-0150\npurchased after "
		       "2017-09";
	if (i < NAMED)
		return "model Whimbrel\noption long range tanks";
	return elsewhere[i % (int64_t)(sizeof elsewhere / sizeof elsewhere[0])];
}

static void add_notice(struct filling *f, int64_t i)
{
	static const char *const subjects[] = {"Aileron bell crank bracket", "Fuel fitting",
	                                       "Rudder hinge rivets", "Flap motor mount",
	                                       "Main spar web doubler"};
	const struct line_text lines[] = {
	        {"HF-2207-1", "left", "HF-2207-3", DISPOSE_REPLACE, "", ""},
	        {"HF-2207-1", "right", "HF-2207-3", DISPOSE_REPLACE, "", ""},
	};
	const struct material_text material[] = {
	        {"AN470AD4-5 rivet", "12", "", "AN470AD4-5", ""},
	        {"Bracket", "1", "", i % 3 ? "HF-3301-1" : "HF-3302-1", ""},
	        {"Angle", "", "", "AA-1", "2 x 14 1/2 in"},
	};
	struct revision_content content = revision_content_empty;
	struct notice_import import = {&content, 1, "", ""};
	struct notice_id id;
	char number[32], title[100], issued[16];

	number_of(f, i, number, sizeof number);
	snprintf(title, sizeof title, "%s: check and replace, sheet %" PRId64, subjects[i % 5], i);
	snprintf(issued, sizeof issued, "%d-%02d-%02d", (int)(2013 + i % 12), (int)(1 + i % 11),
	         (int)(1 + i % 27));
	content.number = number;
	content.issuer = "Harrowfen";
	content.title = title;
	content.problem = "A bracket of the first lots can crack at the bend.";
	content.action = "Look at the bend with a glass. Replace the bracket when in doubt.";
	content.compliance = "Before the wing is closed, or within the next 25 hours.";
	content.effectivity = statement_of(i);
	content.issued = issued;
	content.force = (enum force)(i % FORCES);
	content.plans_carry = i >= NAMED - CARRIED && i < NAMED ? "2011" : "";
	content.material = material;
	content.n_material = 3;
	content.lines = lines;
	content.n_lines = i >= NAMED - CARRIED && i < NAMED ? 0 : 1 + (size_t)(i % 2);
	must(notice_import(f->store, &import, f->steward, f->now, &id), number);
}

/* ---- packing lists ---- */

#define SUBKITS 8
#define PARTS_A_LIST 150

static struct packing_list list_of(struct filling *f, int64_t i)
{
	struct packed_part *parts = ARENA_ARRAY(f->arena, struct packed_part, PARTS_A_LIST);
	struct name *model = ARENA_NEW(f->arena, struct name);
	struct packing_list list = {.title = "", .models = model, .n_models = 1, .parts = parts};

	if (!parts || !model)
		must(ST_NOMEM, "packing list");
	*model = name_of(f, "Whimbrel");
	list.name = name_of(f, arena_printf(f->arena, "PL-%" PRId64, i));
	list.subkit = name_of(f, arena_printf(f->arena, "%" PRId64, i));
	list.n_parts = PARTS_A_LIST;
	for (int64_t k = 0; k < PARTS_A_LIST; k++)
		parts[k] = (struct packed_part){
		        .number = name_of(
		                f,
		                k == 0   ? "AN470AD4-5"
		                : k == 1 ? "HF-3301-1"
		                         : arena_printf(f->arena, "HF-%" PRId64 "-%" PRId64, i, k)),
		        .unit = name_of(f, ""),
		        .quantity = 40000,
		        .bag = "1107",
		        .remark = ""};
	return list;
}

static void add_book(struct filling *f)
{
	struct packing_list lists[SUBKITS];
	const struct parts_source source = {.lists = lists, .n_lists = SUBKITS};

	for (int64_t i = 0; i < SUBKITS; i++)
		lists[i] = list_of(f, i);
	must(parts_import(f->store, &source), "book of parts");
}

static void add_subkits(struct filling *f, struct facts *facts)
{
	struct subkit_fact *subkits = ARENA_ARRAY(f->arena, struct subkit_fact, SUBKITS);

	if (!subkits)
		must(ST_NOMEM, "sub-kits");
	for (int i = 0; i < SUBKITS; i++)
		subkits[i] = (struct subkit_fact){
		        .code = name_of(f, arena_printf(f->arena, "%d", i)), .received = true};
	facts->subkits = subkits;
	facts->n_subkits = SUBKITS;
}

/* ---- kits ---- */

static struct facts facts_of(struct filling *f, int64_t i)
{
	bool own = i < BUILDERS_KITS; /* all alike, so that any may be asked for */
	struct facts facts = {.has_serial = true, .parts_known = true};
	struct option_fact *tailwheel = ARENA_NEW(f->arena, struct option_fact);
	char serial[32];

	if (!tailwheel)
		must(ST_NOMEM, "facts");
	*tailwheel = (struct option_fact){name_of(f, "tailwheel"), true};
	snprintf(serial, sizeof serial, "WH-%04" PRId64, own ? 120 : 120 + i);
	must(serial_make(f->arena, serial, strlen(serial), &facts.serial), serial);
	facts.model = name_of(f, own || i % 4 ? "Whimbrel" : "Whimbrel T");
	facts.purchased = date_of("2014-06");
	facts.plans = date_of("2017-08");
	facts.options = tailwheel;
	facts.n_options = 1;
	add_subkits(f, &facts);
	return facts;
}

static void add_record(struct filling *f, struct kit_id kit, int64_t notice, const char *position)
{
	struct record record = {.method = "By the bulletin",
	                        .by = "The builder",
	                        .signed_as = "",
	                        .remarks = "",
	                        .entered_by = "The builder",
	                        .entered_at = f->now};
	struct record_id id;
	char number[32];

	number_of(f, notice, number, sizeof number);
	record.notice = name_of(f, number);
	record.revision = (struct name){.text = "", .key = ""};
	record.part = name_of(f, "HF-2207-1");
	record.position = name_of(f, position);
	record.done = date_of("2026-05-01").date;
	must(record_append(f->store, kit, &record, &id), number);
}

/* The first kit has closed every line of DONE notices. */
static void add_records(struct filling *f, struct kit_id kit, int64_t i)
{
	int64_t count = i == 0 ? DONE : RECORDS_A_KIT;

	for (int64_t n = LEFT; n < LEFT + count; n++) {
		add_record(f, kit, n, "left");
		if (n % 2)
			add_record(f, kit, n, "right");
	}
}

static void add_kit(struct filling *f, int64_t i, struct member_id owner)
{
	struct facts facts = facts_of(f, i);
	struct kit_id kit;
	char name[32];

	snprintf(name, sizeof name, "Kit %" PRId64, i + 1);
	must(kit_add(f->store, owner, name, f->now, &kit), name);
	must(kit_set_facts(f->store, kit, &facts), name);
	must(kit_set_counted_in(f->store, kit, true), name);
	add_records(f, kit, i);
	if (i == 0)
		f->first_kit = kit;
}

static void add_kits(struct filling *f)
{
	struct member_id owner = f->builder;
	char login[32];

	for (int64_t i = 0; i < f->kits; i++) {
		if (i >= BUILDERS_KITS && i % KITS_A_MEMBER == 0) {
			snprintf(login, sizeof login, "member%" PRId64, i);
			owner = add_member(f, login, ROLE_BUILDER);
		}
		add_kit(f, i, owner);
		arena_reset(f->arena);
	}
}

/* Words of a note: each of them stands in a known part of the notes, "the" in all,
 * "left" in every second, the number in one alone. Owned by out. */
static void note_words(int64_t i, struct text *out)
{
	static const char *const sides[] = {"left", "right"};
	static const char *const things[] = {"rib",     "bracket", "doubler", "hinge", "spar",
	                                     "fitting", "skin",    "pin",     "horn",  "tube"};
	static const char *const faults[] = {"cracked", "corroded", "short", "bent",  "loose",
	                                     "chafed",  "worn",     "sound", "tight", "marked",
	                                     "dented",  "split",    "rough"};

	text_printf(out,
	            "Found the *%s* %s %s near station %" PRId64 "; the one beside it was %s. "
	            "I put it right as the sheet says, with care, and looked again after some "
	            "hours. Number n%" PRId64 ".",
	            sides[i % 2], things[i % 10], faults[i % 13], 10 + i % 997, faults[i % 7], i);
}

static void add_notes(struct filling *f)
{
	struct text words = TEXT_EMPTY;
	struct note_id id;

	for (int64_t i = 0; i < f->notes; i++) {
		struct note_subject of = note_on_notice((struct notice_id){1 + i % f->notices});

		text_clear(&words);
		note_words(i, &words);
		/* No member may write more than so many a day. */
		must(note_add(f->store, &of, i % 500 ? f->steward : f->builder, text_string(&words),
		              f->now - (f->notes - i) * 1000, &id),
		     "note");
	}
	text_free(&words);
}

/* ---- field reports ---- */

#define FOUND_ON 2000

static struct member_id owner_of(struct filling *f, int64_t kit)
{
	struct member_id owner = {0};

	must(kit_owner(f->store, (struct kit_id){kit}, &owner), "owner");
	return owner;
}

/* No member may send more than so many a day, so each day has a few. */
static void add_report(struct filling *f, int64_t i)
{
	const char *part = arena_printf(f->arena, "HF-%d-%d", (int)(2200 + i % 700), (int)(i % 9));
	struct report_content content = {
	        .title = arena_printf(f->arena, "Loose hinge at station %d", (int)i),
	        .model = i % 2 ? "Whimbrel" : "Whimbrel T",
	        .step = "14-3",
	        .zone = "tail box",
	        .seen = "The hinge moves by hand, with a click at the outer end.",
	        .look = "Lamp and mirror through the lightening hole, then push.",
	        .effectivity = "model Whimbrel, Whimbrel T\nserial WH-0100 thru WH-6000",
	        .parts = {&part, 1}};
	struct kit_id kit = {1 + i % f->kits};
	struct report_id id;

	must(report_add(f->store, &content, kit, owner_of(f, kit.v), CREDIT_MEMBERS,
	                f->now - (f->reports - i) * 86400, &id),
	     "report");
}

static void add_answer(struct filling *f, int64_t kit)
{
	struct finding_entry entry = {.report = {1},
	                              .kit = {kit},
	                              .author = owner_of(f, kit),
	                              .answer = kit % 5 ? ANSWER_NOT_THERE : ANSWER_FOUND,
	                              .remark = "Looked at it with lamp and mirror, from below."};
	struct finding_id id;

	must(finding_add(f->store, &entry, f->now - kit * 1000, &id), "answer");
}

static void add_reports(struct filling *f)
{
	for (int64_t i = 0; i < f->reports; i++) {
		add_report(f, i);
		arena_reset(f->arena);
	}
	for (int64_t kit = 2; f->reports && kit <= f->kits && kit <= FOUND_ON; kit++)
		add_answer(f, kit);
	for (int64_t kit = 1; f->reports && kit <= f->kits; kit++)
		must(kit_set_shown(f->store, (struct kit_id){kit}, true), "shown");
}

/* ---- the whole ---- */

static void fill(struct filling *f)
{
	must(store_begin(f->store), "begin");
	must(setting_set_text(f->store, SETTING_CHAPTER, "Bench chapter"), "setting");
	f->builder = add_member(f, "builder", ROLE_BUILDER);
	f->steward = add_member(f, "steward", ROLE_STEWARD);
	f->admin = add_member(f, "admin", ROLE_ADMIN);
	for (int64_t i = 0; i < f->notices; i++)
		add_notice(f, i);
	add_book(f);
	add_kits(f);
	add_notes(f);
	add_reports(f);
	printf("{");
	print_session(f, "session", f->builder);
	print_session(f, "steward", f->steward);
	print_session(f, "admin", f->admin);
	print_api_token(f);
	printf("\"kit\": %" PRId64 ", \"owned\": %" PRId64 "}\n", f->first_kit.v,
	       f->kits < BUILDERS_KITS ? f->kits : BUILDERS_KITS);
	must(store_commit(f->store), "commit");
}

int main(int argc, char **argv)
{
	struct filling f = {.now = clock_now(), .arena = arena_new()};
	struct text path = TEXT_EMPTY;

	if ((argc != 5 && argc != 6) || !f.arena || random_start() != ST_OK) {
		fprintf(stderr, "usage: bench_fill FOLDER NOTICES KITS NOTES [REPORTS]\n");
		return 2;
	}
	mkdir(argv[1], 0700);
	f.notices = strtoll(argv[2], NULL, 10);
	f.kits = strtoll(argv[3], NULL, 10);
	f.notes = strtoll(argv[4], NULL, 10);
	f.reports = argc == 6 ? strtoll(argv[5], NULL, 10) : 0;
	text_printf(&path, "%s/fairlead.db", argv[1]);
	must(store_open(text_string(&path), &f.store), argv[1]);
	fill(&f);
	store_close(f.store);
	arena_free(f.arena);
	text_free(&path);
	return 0;
}
