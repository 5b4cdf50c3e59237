/* Field reports, findings, and facts of kits as they were. */
#include "fixture.h"

#include <stdio.h>
#include <string.h>

static int64_t version_of(struct world *w, struct report_id id)
{
	struct report report;

	assert_ok(report_read(w->store, w->arena, id, &report));
	return report.version;
}

static struct report read_of(struct world *w, struct report_id id)
{
	struct report report;

	assert_ok(report_read(w->store, w->arena, id, &report));
	return report;
}

static struct report_id add_report(struct world *w, const char *title, const char *part)
{
	struct report_content content = report_of(title, part);
	struct report_id id;

	assert_ok(report_add(w->store, &content, w->kit, w->bob, CREDIT_MEMBERS, NOW, &id));
	return id;
}

/* A member with one kit of this model; the login is used for both. */
static struct kit_id add_kit(struct world *w, const char *login, const char *model,
                             struct member_id *owner)
{
	struct facts facts = {.model = name_of(w->arena, model)};
	struct kit_id kit;

	assert_ok(member_add(w->store, &(struct member_entry){login, login, "p", ROLE_BUILDER}, NOW,
	                     owner));
	assert_ok(kit_add(w->store, *owner, login, NOW, &kit));
	assert_ok(kit_set_facts(w->store, kit, &facts));
	return kit;
}

static enum status answer(struct world *w, struct report_id report, struct kit_id kit,
                          struct member_id author, enum finding_answer answer)
{
	struct finding_entry entry = {.report = report,
	                              .kit = kit,
	                              .author = author,
	                              .answer = answer,
	                              .credit = CREDIT_MEMBERS,
	                              .remark = "By lamp."};
	struct finding_id id;

	return finding_add(w->store, &entry, NOW + 50, &id);
}

static size_t findings_on(struct world *w, struct report_id id, const struct finding_row **out)
{
	size_t count = 0;

	assert_ok(finding_list(w->store, w->arena, id, out, &count));
	return count;
}

/* ---- writing and reading ---- */

static void a_report_reads_back(void **state)
{
	struct world *w = *state;
	const struct report report = read_of(w, w->report);
	const struct finding_row *findings;

	assert_int_equal(report.id.v, w->report.v);
	assert_int_equal(report.author.v, w->bob.v);
	assert_string_equal(report.author_name, "Bob");
	assert_int_equal(report.credit, CREDIT_EVERYBODY);
	assert_int_equal(report.made_at, NOW);
	assert_int_equal(report.edited_at, 0);
	assert_string_equal(report.content.title, "Loose rivets in the tube bushing");
	assert_string_equal(report.content.model, "Whimbrel T");
	assert_string_equal(report.content.step, "14-4");
	assert_string_equal(report.content.zone, "tail box");
	assert_string_equal(report.content.seen, "The rivets in the tube bushing turn.");
	assert_string_equal(report.content.look, "Lamp and mirror through the hole.");
	assert_int_equal(report.content.severity, SEVERITY_GROWS);
	assert_string_equal(report.content.effectivity, "model Whimbrel T");
	assert_int_equal(report.content.parts.count, 2);
	assert_string_equal(report.content.parts.at[0], "WH-2207-1");
	assert_int_equal(report.notice.v, 0);
	assert_string_equal(report.notice_number, "");
	assert_false(report.notice_stands);
	assert_int_equal(report.merged_into.v, 0);
	assert_int_equal(report.removed_at, 0);
	assert_string_equal(report.removed_by, "");
	assert_int_equal(findings_on(w, w->report, &findings), 2);
	assert_int_equal(findings[0].answer, ANSWER_FOUND);
	assert_int_equal(findings[0].kit.v, w->kit.v);
	assert_int_equal(findings[0].credit, CREDIT_EVERYBODY);
	assert_string_equal(findings[0].remark, "");
	assert_int_equal(findings[1].answer, ANSWER_NOT_THERE);
	assert_string_equal(findings[1].remark, "All **tight**.");
	assert_string_equal(findings[1].author_name, "Bob");
	assert_int_equal(findings[1].at, NOW + 2);
}

struct refusal {
	const char *name;
	void (*spoil)(struct report_content *content);
	enum status status;
};

static char too_long[20002];

static void no_title(struct report_content *c)
{
	c->title = "";
}
static void long_title(struct report_content *c)
{
	c->title = too_long + sizeof too_long - 202;
}
static void no_model(struct report_content *c)
{
	c->model = " ";
}
static void nothing_seen(struct report_content *c)
{
	c->seen = "";
}
static void much_seen(struct report_content *c)
{
	c->seen = too_long;
}
static void long_look(struct report_content *c)
{
	c->look = too_long;
}
static void no_statement(struct report_content *c)
{
	c->effectivity = "";
}
static void no_severity(struct report_content *c)
{
	c->severity = (enum severity)SEVERITIES;
}
static void same_part_twice(struct report_content *c)
{
	static const char *const parts[] = {"wh-1", "WH-1"};

	c->parts = (struct text_list){parts, 2};
}
static void blank_part(struct report_content *c)
{
	static const char *const part = "  ";

	c->parts = (struct text_list){&part, 1};
}
static void many_parts(struct report_content *c)
{
	static char numbers[REPORT_PARTS_MOST + 1][8];
	static const char *parts[REPORT_PARTS_MOST + 1];

	for (size_t i = 0; i <= REPORT_PARTS_MOST; i++) {
		snprintf(numbers[i], sizeof numbers[i], "P%zu", i);
		parts[i] = numbers[i];
	}
	c->parts = (struct text_list){parts, REPORT_PARTS_MOST + 1};
}

static const struct refusal refusals[] = {
        {"no title", no_title, ST_CONFLICT},
        {"title of 201", long_title, ST_CONFLICT},
        {"no model", no_model, ST_CONFLICT},
        {"nothing seen", nothing_seen, ST_CONFLICT},
        {"too much seen", much_seen, ST_CONFLICT},
        {"too much on looking", long_look, ST_CONFLICT},
        {"no statement", no_statement, ST_CONFLICT},
        {"no such severity", no_severity, ST_CONFLICT},
        {"a part twice", same_part_twice, ST_CONFLICT},
        {"a blank part", blank_part, ST_CONFLICT},
        {"51 parts", many_parts, ST_LIMIT},
};

static void bad_reports_are_refused(void **state)
{
	struct world *w = *state;
	struct text before = TEXT_EMPTY, after = TEXT_EMPTY;

	memset(too_long, 'x', sizeof too_long - 1);
	dump_database(w->store, &before);
	for (size_t i = 0; i < sizeof refusals / sizeof *refusals; i++) {
		struct report_content content = report_of("Title", "WH-1");
		struct report_id id = {7};

		refusals[i].spoil(&content);
		if (report_add(w->store, &content, w->kit, w->bob, CREDIT_NOBODY, NOW, &id) !=
		            refusals[i].status ||
		    report_edit(w->store, w->report, &content, w->bob, NOW) != refusals[i].status)
			fail_msg("%s", refusals[i].name);
		assert_int_equal(id.v, 7);
	}
	dump_database(w->store, &after);
	assert_string_equal(text_string(&before), text_string(&after));
	text_free(&before);
	text_free(&after);
}

static void a_form_sent_twice_adds_one_report(void **state)
{
	struct world *w = *state;
	struct report_content content = report_of("Twice", "WH-1");
	struct report_id first = add_report(w, "Twice", "WH-1"), id = {0};
	int64_t findings = sql_number(w->store, "SELECT count(*) FROM findings");

	assert_ok(report_add(w->store, &content, w->kit, w->bob, CREDIT_MEMBERS, NOW + 60, &id));
	assert_int_equal(id.v, first.v);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM findings"), findings);
	content.seen = "Another thing.";
	assert_ok(report_add(w->store, &content, w->kit, w->bob, CREDIT_MEMBERS, NOW + 60, &id));
	assert_int_not_equal(id.v, first.v);
	content = report_of("Twice", "WH-1");
	assert_ok(report_add(w->store, &content, w->kit, w->bob, CREDIT_MEMBERS, NOW + 61, &id));
	assert_int_not_equal(id.v, first.v);
}

static void a_member_reports_and_answers_so_much_a_day(void **state)
{
	struct world *w = *state;
	struct report_content content = report_of("One more", "WH-1");
	struct member_id owner;
	struct kit_id kit = add_kit(w, "una", "Whimbrel", &owner);
	struct finding_entry entry = {.report = w->report,
	                              .kit = kit,
	                              .author = owner,
	                              .answer = ANSWER_NOT_THERE,
	                              .remark = ""};
	struct report_id id = {7};
	struct finding_id finding = {7};
	char title[20];

	for (int i = 0; i < REPORTS_A_DAY; i++) {
		snprintf(title, sizeof title, "Report %d", i);
		content.title = title;
		assert_ok(report_add(w->store, &content, kit, owner, CREDIT_NOBODY, NOW, &id));
	}
	content.title = "One more";
	id.v = 7;
	assert_int_equal(
	        report_add(w->store, &content, kit, owner, CREDIT_NOBODY, NOW + 86399, &id),
	        ST_LIMIT);
	assert_int_equal(id.v, 7);
	for (int i = REPORTS_A_DAY; i < FINDINGS_A_DAY; i++)
		assert_ok(finding_add(w->store, &entry, NOW, &finding));
	assert_int_equal(finding_add(w->store, &entry, NOW + 86399, &finding), ST_LIMIT);
	assert_ok(finding_add(w->store, &entry, NOW + 86400, &finding));
	assert_ok(report_add(w->store, &content, kit, owner, CREDIT_NOBODY, NOW + 86400, &id));
	assert_ok(finding_add(w->store, &entry, YEAR_BACK, &finding));
	assert_ok(report_add(w->store, &content, kit, owner, CREDIT_NOBODY, YEAR_BACK, &id));
}

static void a_kit_must_be_the_reporters_own(void **state)
{
	struct world *w = *state;
	struct report_content content = report_of("Title", "WH-1");
	struct report_id id = {7};

	assert_int_equal(report_add(w->store, &content, w->kit, w->sam, CREDIT_NOBODY, NOW, &id),
	                 ST_DENIED);
	assert_int_equal(report_add(w->store, &content, (struct kit_id){99}, w->bob, CREDIT_NOBODY,
	                            NOW, &id),
	                 ST_MISSING);
	assert_int_equal(answer(w, w->report, w->kit, w->sam, ANSWER_FOUND), ST_DENIED);
	assert_int_equal(answer(w, w->report, (struct kit_id){99}, w->bob, ANSWER_FOUND),
	                 ST_MISSING);
	assert_int_equal(answer(w, (struct report_id){99}, w->kit, w->bob, ANSWER_FOUND),
	                 ST_MISSING);
	assert_int_equal(answer(w, w->removed, w->kit, w->bob, ANSWER_FOUND), ST_MISSING);
	assert_int_equal(answer(w, w->merged, w->kit, w->bob, ANSWER_FOUND), ST_MISSING);
	assert_int_equal(id.v, 7);
}

/* ---- who may ---- */

enum deed_kind { EDIT, CREDIT, REMOVE, PUT_BACK, MERGE, PART, LINK, UNREMARK, DEEDS };

static enum status try_deed(struct world *w, enum deed_kind kind, struct member_id by)
{
	struct report_content content = report_of("New title", "WH-1");

	switch (kind) {
	case EDIT:
		return report_edit(w->store, w->report, &content, by, NOW);
	case CREDIT:
		/* Who is not its author has no such report. */
		return report_set_credit(w->store, w->report, CREDIT_NOBODY, by) == ST_OK
		               ? ST_OK
		               : ST_DENIED;
	case REMOVE:
		return report_remove(w->store, w->report, by, "why", NOW);
	case PUT_BACK:
		return report_put_back(w->store, w->removed, by, NOW);
	case MERGE:
		return report_merge(w->store, w->repeat, w->report, by, NOW);
	case PART:
		return report_part(w->store, w->merged, by, NOW);
	case LINK:
		return report_link(w->store, w->report, w->one, by, NOW);
	default:
		return finding_remove_remark(w->store, w->finding, by, NOW);
	}
}

/* Rows: what; columns: another builder, the author, a steward, an admin, a disabled steward. */
static void who_may_do_what(void **state)
{
	static const bool may[DEEDS][5] = {
	        [EDIT] = {false, true, true, true, false},
	        [CREDIT] = {false, true, false, false, false},
	        [REMOVE] = {false, true, true, true, false},
	        [PUT_BACK] = {false, false, true, true, false},
	        [MERGE] = {false, false, true, true, false},
	        [PART] = {false, false, true, true, false},
	        [LINK] = {false, false, true, true, false},
	        [UNREMARK] = {false, true, true, true, false},
	};
	struct world *w = *state;
	struct member_id other;

	add_kit(w, "cleo", "Whimbrel", &other);
	assert_ok(member_set_disabled(w->store, w->sue, true));
	for (int kind = 0; kind < DEEDS; kind++) {
		const struct member_id who[5] = {other, w->bob, w->sam, w->ann, w->sue};

		for (size_t i = 0; i < 5; i++) {
			assert_ok(store_begin(w->store));
			if (try_deed(w, kind, who[i]) != (may[kind][i] ? ST_OK : ST_DENIED))
				fail_msg("deed %d by %zu", kind, i);
			store_rollback(w->store);
		}
	}
}

static void credit_is_the_authors_to_change(void **state)
{
	struct world *w = *state;
	const struct finding_row *findings;
	struct report before, after;
	size_t count;

	assert_ok(report_read(w->store, w->arena, w->report, &before));
	assert_ok(report_set_credit(w->store, w->report, CREDIT_EVERYBODY, w->bob));
	assert_ok(report_read(w->store, w->arena, w->report, &after));
	assert_int_equal(after.credit, CREDIT_EVERYBODY);
	assert_true(after.version > before.version);
	assert_ok(finding_list(w->store, w->arena, w->report, &findings, &count));
	assert_int_equal(findings[0].credit, CREDIT_EVERYBODY);
	assert_int_equal(report_set_credit(w->store, w->removed, CREDIT_NOBODY, w->bob),
	                 ST_MISSING);
}

static void what_is_not_so_is_missing(void **state)
{
	struct world *w = *state;
	struct report_content content = report_of("Title", "WH-1");
	const struct report_id none = {99};
	struct report report;

	assert_int_equal(report_read(w->store, w->arena, none, &report), ST_MISSING);
	assert_int_equal(report_edit(w->store, none, &content, w->sam, NOW), ST_MISSING);
	assert_int_equal(report_edit(w->store, w->removed, &content, w->sam, NOW), ST_MISSING);
	assert_int_equal(report_edit(w->store, w->merged, &content, w->sam, NOW), ST_MISSING);
	assert_int_equal(report_remove(w->store, w->removed, w->sam, "", NOW), ST_MISSING);
	assert_int_equal(report_remove(w->store, w->merged, w->sam, "", NOW), ST_MISSING);
	assert_int_equal(report_put_back(w->store, w->report, w->sam, NOW), ST_MISSING);
	assert_int_equal(report_merge(w->store, w->merged, w->report, w->sam, NOW), ST_MISSING);
	assert_int_equal(report_merge(w->store, w->removed, w->report, w->sam, NOW), ST_MISSING);
	assert_int_equal(report_merge(w->store, w->report, w->removed, w->sam, NOW), ST_MISSING);
	assert_int_equal(report_merge(w->store, w->report, none, w->sam, NOW), ST_MISSING);
	assert_int_equal(report_merge(w->store, w->report, w->report, w->sam, NOW), ST_CONFLICT);
	assert_int_equal(report_merge(w->store, w->report, w->merged, w->sam, NOW), ST_CONFLICT);
	assert_int_equal(report_part(w->store, w->report, w->sam, NOW), ST_MISSING);
	assert_int_equal(report_link(w->store, w->report, (struct notice_id){99}, w->sam, NOW),
	                 ST_MISSING);
	assert_int_equal(report_link(w->store, w->report, (struct notice_id){0}, w->sam, NOW),
	                 ST_MISSING);
	assert_int_equal(finding_remove_remark(w->store, (struct finding_id){99}, w->sam, NOW),
	                 ST_MISSING);
	assert_int_equal(finding_remove_remark(w->store, (struct finding_id){1}, w->sam, NOW),
	                 ST_MISSING);
}

/* ---- the log ---- */

static void the_words_before_stay_in_the_log(void **state)
{
	struct world *w = *state;
	struct report_content content = report_of("Loose rivets", "WH-9");
	const struct report_log_entry *log;
	const int64_t before = version_of(w, w->report);
	size_t count;

	content.step = "";
	assert_ok(report_edit(w->store, w->report, &content, w->sam, NOW + 7));
	assert_int_equal(version_of(w, w->report), before + 1);
	assert_int_equal(read_of(w, w->report).edited_at, NOW + 7);
	assert_string_equal(read_of(w, w->report).content.title, "Loose rivets");
	assert_string_equal(read_of(w, w->report).content.parts.at[0], "WH-9");
	assert_ok(report_remove(w->store, w->report, w->bob, "mistaken", NOW + 8));
	assert_ok(report_put_back(w->store, w->report, w->sue, NOW + 9));
	assert_ok(finding_remove_remark(w->store, w->finding, w->sue, NOW + 10));
	assert_ok(member_remove(w->store, w->sue, NOW));
	assert_ok(report_log(w->store, w->arena, w->report, &log, &count));
	assert_int_equal(count, 4);
	assert_int_equal(log[0].act, REPORT_REMARK_REMOVED);
	assert_string_equal(log[0].by, "removed member");
	assert_int_equal(log[1].act, REPORT_PUT_BACK);
	assert_int_equal(log[2].act, REPORT_REMOVED);
	assert_string_equal(log[2].remark, "mistaken");
	assert_string_equal(log[2].by, "Bob");
	assert_int_equal(log[2].at, NOW + 8);
	assert_int_equal(log[3].act, REPORT_EDITED);
	assert_string_equal(log[3].by, "sam");
	assert_string_equal(log[3].remark, "title: Loose rivets in the tube bushing\n"
	                                   "model: Whimbrel T\n"
	                                   "step: 14-4\n"
	                                   "zone: tail box\n"
	                                   "severity: grows worse if it is left: look soon\n"
	                                   "kits that could have it: model Whimbrel T\n"
	                                   "what was seen: The rivets in the tube bushing turn.\n"
	                                   "how to look: Lamp and mirror through the hole.\n"
	                                   "part: WH-2207-1\n"
	                                   "part: WH-41\n");
	assert_int_equal(version_of(w, w->report), before + 4);
}

static void the_longest_words_fit_into_the_log(void **state)
{
	struct world *w = *state;
	struct report_content content = report_of("Title", "WH-1");

	memset(too_long, 'x', sizeof too_long - 1);
	content.title = too_long + sizeof too_long - 201;
	content.seen = content.look = content.effectivity = too_long + 1;
	assert_ok(report_edit(w->store, w->report, &content, w->bob, NOW));
	assert_ok(report_edit(w->store, w->report, &content, w->bob, NOW));
}

static void a_removed_report_says_who_and_why(void **state)
{
	struct world *w = *state;
	struct report report = read_of(w, w->removed);

	assert_int_equal(report.removed_at, NOW + 1);
	assert_string_equal(report.removed_by, "Bob");
	assert_string_equal(report.remove_reason, "twice");
	assert_string_equal(report.content.title, "Bushing moves by hand");
	assert_ok(report_put_back(w->store, w->removed, w->sam, NOW));
	report = read_of(w, w->removed);
	assert_int_equal(report.removed_at, 0);
	assert_string_equal(report.removed_by, "");
	assert_string_equal(report.remove_reason, "");
}

/* ---- facts as they were ---- */

static void say_date(struct text *out, const struct date_fact *fact)
{
	text_printf(out, " %d/%d/%d", (int)fact->state, fact->date.first, fact->date.last);
}

/* Everything that a snapshot keeps, as a text to compare. */
static void say_facts(const struct facts *f, struct text *out)
{
	text_printf(out, "%s %s", f->model.text, f->has_serial ? f->serial.text : "-");
	say_date(out, &f->purchased);
	say_date(out, &f->plans);
	say_date(out, &f->first_flight);
	text_printf(out, " %d:%lld %d:%lld %d\n", f->has_hours, (long long)f->hours,
	            f->has_landings, (long long)f->landings, f->parts_known);
	for (size_t i = 0; i < f->n_options; i++)
		text_printf(out, "option %s %d\n", f->options[i].name.text, f->options[i].fitted);
	for (size_t i = 0; i < f->n_subkits; i++) {
		text_printf(out, "subkit %s %d", f->subkits[i].code.text, f->subkits[i].received);
		say_date(out, &f->subkits[i].shipped);
	}
	for (size_t i = 0; i < f->n_parts; i++)
		text_printf(out, "\npart %s %s %s %s", f->parts[i].number.text,
		            f->parts[i].position.text,
		            f->parts[i].has_serial ? f->parts[i].serial.text : "-",
		            f->parts[i].has_lot ? f->parts[i].lot.text : "-");
}

static void assert_same_facts(const struct facts *a, const struct facts *b)
{
	struct text one = TEXT_EMPTY, other = TEXT_EMPTY;

	say_facts(a, &one);
	say_facts(b, &other);
	assert_string_equal(text_string(&one), text_string(&other));
	text_free(&one);
	text_free(&other);
}

/* All that a finding's kit was, looked up by the finding. */
static struct facts facts_of(struct world *w, const struct finding_row *finding)
{
	struct facts facts;

	assert_ok(finding_facts(w->store, w->arena, finding->id, &facts));
	return facts;
}

/* What findings are split by, as a text to compare. */
static void say_splitting(const struct facts *f, struct text *out)
{
	text_add(out, f->has_serial ? f->serial.text : "-");
	say_date(out, &f->purchased);
	say_date(out, &f->plans);
	for (size_t i = 0; i < f->n_options; i++)
		text_printf(out, "\noption %s %d", f->options[i].name.text, f->options[i].fitted);
	for (size_t i = 0; i < f->n_parts; i++)
		text_printf(out, "\npart %s %s", f->parts[i].number.text,
		            f->parts[i].has_lot ? f->parts[i].lot.text : "-");
}

static void a_list_tells_what_findings_are_split_by(void **state)
{
	struct world *w = *state;
	const struct finding_row *findings;
	size_t count = findings_on(w, w->report, &findings);

	assert_int_equal(findings[0].facts->n_parts, 2);
	assert_true(findings[0].facts->n_options > 0 && findings[0].facts->has_serial);
	for (size_t i = 0; i < count; i++) {
		struct text listed = TEXT_EMPTY, all = TEXT_EMPTY;
		struct facts facts = facts_of(w, &findings[i]);

		say_splitting(findings[i].facts, &listed);
		say_splitting(&facts, &all);
		assert_string_equal(text_string(&listed), text_string(&all));
		text_free(&listed);
		text_free(&all);
	}
}

static void a_finding_keeps_the_facts_as_they_were(void **state)
{
	struct world *w = *state;
	struct facts then, kept, other = {.model = name_of(w->arena, "Whimbrel")};
	const struct finding_row *findings;

	assert_ok(kit_facts(w->store, w->arena, w->kit, &then));
	assert_true(then.has_hours && then.n_parts == 2 && then.n_subkits == 2);
	assert_int_equal(findings_on(w, w->report, &findings), 2);
	kept = facts_of(w, &findings[0]);
	assert_same_facts(&kept, &then);
	assert_false(kept.steps_known || kept.notices_known);
	assert_ok(kit_set_facts(w->store, w->kit, &other));
	kept = facts_of(w, &findings[0]);
	assert_same_facts(&kept, &then);
	assert_ok(kit_remove(w->store, w->kit));
	assert_int_equal(findings_on(w, w->report, &findings), 2);
	kept = facts_of(w, &findings[0]);
	assert_same_facts(&kept, &then);
	kept = facts_of(w, &findings[1]);
	assert_string_equal(kept.model.text, "");
	assert_int_equal(finding_facts(w->store, w->arena, (struct finding_id){9999}, &kept),
	                 ST_MISSING);
}

static void one_version_of_a_kit_is_kept_once(void **state)
{
	struct world *w = *state;
	const struct finding_row *findings;
	struct facts first, last;

	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM kit_snapshots"), 2);
	assert_ok(answer(w, w->report, w->kit, w->bob, ANSWER_FOUND));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM kit_snapshots"), 2);
	assert_ok(kit_rename(w->store, w->kit, "Red one"));
	assert_ok(answer(w, w->report, w->kit, w->bob, ANSWER_NOT_THERE));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM kit_snapshots"), 3);
	assert_int_equal(findings_on(w, w->report, &findings), 4);
	first = facts_of(w, &findings[0]);
	last = facts_of(w, &findings[3]);
	assert_same_facts(&first, &last);
	assert_int_equal(last.n_parts, 2);
}

/* ---- what counts ---- */

static struct report_row row_of(struct world *w, struct report_id id)
{
	const struct report_row *rows;
	size_t count;
	int64_t total;

	assert_ok(report_search(w->store, w->arena, &report_query_all, &rows, &count, &total));
	for (size_t i = 0; i < count; i++)
		if (rows[i].report.id.v == id.v)
			return rows[i];
	return (struct report_row){.tally = {.found = SIZE_MAX}};
}

static void assert_tally(struct world *w, struct report_id id, const struct findings_tally *wanted)
{
	const struct findings_tally tally = row_of(w, id).tally;

	assert_int_equal(tally.found, wanted->found);
	assert_int_equal(tally.not_there, wanted->not_there);
	assert_int_equal(tally.does_not_fit, wanted->does_not_fit);
	assert_int_equal(tally.looked, wanted->looked);
	assert_int_equal(tally.finders, wanted->finders);
	assert_int_equal(tally.lookers, wanted->lookers);
}

static void a_later_answer_of_a_kit_replaces(void **state)
{
	struct world *w = *state;
	const struct finding_row *findings;
	struct member_id cleo;
	struct kit_id kit = add_kit(w, "cleo", "Whimbrel T", &cleo);
	const int64_t before = version_of(w, w->report);

	assert_tally(w, w->report, &(struct findings_tally){1, 1, 0, 2, 1, 0});
	assert_ok(answer(w, w->report, kit, cleo, ANSWER_NOT_THERE));
	assert_tally(w, w->report, &(struct findings_tally){1, 2, 0, 3, 1, 1});
	assert_ok(answer(w, w->report, kit, cleo, ANSWER_DOES_NOT_FIT));
	assert_tally(w, w->report, &(struct findings_tally){1, 1, 1, 2, 1, 0});
	assert_ok(answer(w, w->report, kit, cleo, ANSWER_FOUND));
	assert_tally(w, w->report, &(struct findings_tally){2, 1, 0, 3, 2, 0});
	assert_int_equal(findings_on(w, w->report, &findings), 5);
	assert_string_equal(findings[2].remark, "By lamp.");
	assert_int_equal(version_of(w, w->report), before + 3);
}

static void removing_people_and_kits_changes_no_count(void **state)
{
	struct world *w = *state;
	const struct findings_tally before = row_of(w, w->report).tally;
	const struct finding_row *findings;
	struct report report;

	assert_ok(kit_remove(w->store, w->bare_kit));
	assert_tally(w, w->report, &before);
	assert_ok(member_remove(w->store, w->bob, NOW));
	assert_tally(w, w->report, &before);
	report = read_of(w, w->report);
	assert_string_equal(report.author_name, "removed member");
	assert_int_equal(report.credit, CREDIT_NOBODY);
	assert_string_equal(report.content.title, "Loose rivets in the tube bushing");
	assert_int_equal(findings_on(w, w->report, &findings), 2);
	assert_string_equal(findings[0].author_name, "removed member");
	assert_int_equal(findings[0].credit, CREDIT_NOBODY);
	assert_string_equal(findings[1].remark, "All **tight**.");
	assert_int_equal(findings[1].author.v, w->bob.v);
	assert_string_equal(read_of(w, w->removed).removed_by, "removed member");
}

/* ---- merging ---- */

static void merged_reports_are_read_together(void **state)
{
	struct world *w = *state;
	const struct finding_row *findings;
	const struct report *merged;
	const struct report_log_entry *log;
	const int64_t before = version_of(w, w->report), child = version_of(w, w->merged);
	size_t count;

	assert_ok(report_merge(w->store, w->repeat, w->report, w->sam, NOW + 5));
	/* The bare kit was found by the repeat, then looked at in vain. */
	assert_tally(w, w->report, &(struct findings_tally){1, 1, 0, 2, 1, 0});
	assert_int_equal(findings_on(w, w->report, &findings), 4);
	assert_int_equal(findings[1].report.v, w->repeat.v);
	assert_int_equal(findings[2].report.v, w->merged.v);
	assert_ok(report_merged(w->store, w->arena, w->report, &merged, &count));
	assert_int_equal(count, 2);
	assert_int_equal(merged[0].id.v, w->repeat.v);
	assert_string_equal(merged[1].content.seen, "The rivets in the tube bushing turn again.");
	assert_string_equal(merged[1].content.parts.at[0], "WH-2208");
	assert_int_equal(merged[1].content.parts.count, 2);
	assert_int_equal(read_of(w, w->merged).merged_into.v, w->report.v);
	assert_int_equal(version_of(w, w->report), before + 1);
	assert_int_equal(version_of(w, w->merged), child + 1);
	assert_int_equal(row_of(w, w->repeat).tally.found, SIZE_MAX);
	assert_ok(report_log(w->store, w->arena, w->repeat, &log, &count));
	assert_int_equal(log[0].act, REPORT_MERGED);
	assert_string_equal(log[0].remark, "field report 1");
	assert_ok(finding_remove_remark(w->store, w->finding, w->bob, NOW));
	assert_int_equal(version_of(w, w->report), before + 2);
}

static void a_change_of_a_merged_report_shows_in_the_other(void **state)
{
	struct world *w = *state;
	struct finding_entry entry = {.report = w->repeat,
	                              .kit = w->kit,
	                              .author = w->bob,
	                              .answer = ANSWER_FOUND,
	                              .remark = "Here too."};
	struct finding_id id;
	int64_t before;

	assert_ok(finding_add(w->store, &entry, NOW, &id));
	assert_ok(report_merge(w->store, w->repeat, w->report, w->sam, NOW));
	before = version_of(w, w->report);
	assert_ok(finding_remove_remark(w->store, id, w->bob, NOW));
	assert_int_equal(version_of(w, w->report), before + 1);
}

/* A parted report takes along what came with it, and that alone. */
static void parting_undoes_a_merge(void **state)
{
	struct world *w = *state;
	const struct findings_tally one = row_of(w, w->report).tally,
	                            other = row_of(w, w->repeat).tally;
	struct report_id third = add_report(w, "Third", "WH-3");

	assert_ok(report_merge(w->store, third, w->report, w->sam, NOW));
	assert_ok(report_merge(w->store, w->repeat, w->report, w->sam, NOW));
	assert_ok(report_part(w->store, w->repeat, w->sam, NOW));
	assert_int_equal(read_of(w, w->repeat).merged_into.v, 0);
	assert_int_equal(read_of(w, w->merged).merged_into.v, w->repeat.v);
	assert_int_equal(read_of(w, third).merged_into.v, w->report.v);
	assert_tally(w, w->repeat, &other);
	assert_ok(report_part(w->store, third, w->sam, NOW));
	assert_tally(w, w->report, &one);
}

static void what_followed_can_be_parted_by_itself(void **state)
{
	struct world *w = *state;

	assert_ok(report_merge(w->store, w->repeat, w->report, w->sam, NOW));
	assert_ok(report_part(w->store, w->merged, w->sam, NOW));
	assert_int_equal(read_of(w, w->merged).merged_into.v, 0);
	assert_int_equal(read_of(w, w->repeat).merged_into.v, w->report.v);
	assert_ok(report_part(w->store, w->repeat, w->sam, NOW));
	assert_int_equal(read_of(w, w->merged).merged_into.v, 0);
}

#define MANY 8

/* The tallies of all reports that stand by themselves. */
static void say_tallies(struct world *w, struct text *out)
{
	const struct report_row *rows;
	size_t count;
	int64_t total;

	assert_ok(report_search(w->store, w->arena, &report_query_all, &rows, &count, &total));
	for (size_t i = 0; i < count; i++)
		text_printf(out, "%lld: %zu %zu %zu %zu %zu\n", (long long)rows[i].report.id.v,
		            rows[i].tally.found, rows[i].tally.not_there,
		            rows[i].tally.does_not_fit, rows[i].tally.finders,
		            rows[i].tally.lookers);
}

/* Merges at random, then parts in the other order: every tally is as it was
 * at each step. */
static void merging_and_parting_again_gives_the_same(void **state)
{
	struct world *w = *state;
	uint64_t seed = 20231114;
	struct report_id reports[MANY];
	struct kit_id kits[MANY];
	struct member_id owners[MANY];

	for (size_t i = 0; i < MANY; i++) {
		char login[8];

		snprintf(login, sizeof login, "m%zu", i);
		kits[i] = add_kit(w, login, "Whimbrel T", &owners[i]);
		reports[i] = add_report(w, login, "WH-1");
	}
	for (size_t i = 0; i < 60; i++) {
		size_t kit = next_random(&seed) % MANY;

		assert_ok(answer(w, reports[next_random(&seed) % MANY], kits[kit], owners[kit],
		                 (enum finding_answer)(next_random(&seed) % FINDING_ANSWERS)));
	}
	for (size_t round = 0; round < 20; round++) {
		struct text tallies[MANY], now = TEXT_EMPTY;
		size_t done = 0;
		struct report_id merged[MANY];

		for (size_t i = 0; i < MANY * 2 && done < MANY - 1; i++) {
			struct report_id from = reports[next_random(&seed) % MANY],
			                 into = reports[next_random(&seed) % MANY];
			struct text before = TEXT_EMPTY;

			say_tallies(w, &before);
			if (report_merge(w->store, from, into, w->sam, NOW) != ST_OK) {
				text_free(&before);
				continue;
			}
			merged[done] = from;
			tallies[done++] = before;
		}
		assert_true(done > 2);
		while (done > 0) {
			assert_ok(report_part(w->store, merged[--done], w->sam, NOW));
			text_clear(&now);
			say_tallies(w, &now);
			assert_string_equal(text_string(&now), text_string(&tallies[done]));
			text_free(&tallies[done]);
		}
		text_free(&now);
	}
}

/* ---- notices ---- */

static void a_notice_settles_it_while_it_stands(void **state)
{
	struct world *w = *state;
	struct report report;
	const struct report_log_entry *log;
	int64_t before;
	size_t count;

	assert_ok(report_link(w->store, w->report, w->one, w->sam, NOW));
	assert_int_equal(report_link(w->store, w->report, w->one, w->sam, NOW), ST_MISSING);
	report = read_of(w, w->report);
	assert_int_equal(report.notice.v, w->one.v);
	assert_string_equal(report.notice_number, "HF-SB-1");
	assert_true(report.notice_stands);
	assert_ok(notice_cancel(w->store, w->one, "2024", "wrong", w->sue, NOW));
	assert_false(read_of(w, w->report).notice_stands);
	assert_ok(report_link(w->store, w->report, (struct notice_id){0}, w->sam, NOW));
	assert_int_equal(read_of(w, w->report).notice.v, 0);
	assert_ok(report_log(w->store, w->arena, w->report, &log, &count));
	assert_int_equal(log[0].act, REPORT_UNLINKED);
	assert_int_equal(log[1].act, REPORT_LINKED);
	assert_string_equal(log[1].remark, "HF-SB-1");
	/* A draft does not settle it, and takes the link along when it goes. */
	assert_ok(report_link(w->store, w->report, (struct notice_id){3}, w->sam, NOW));
	assert_string_equal(read_of(w, w->report).notice_number, "HF-SB-3");
	assert_false(read_of(w, w->report).notice_stands);
	before = version_of(w, w->report);
	assert_ok(draft_discard(w->store, w->draft, w->sam, NOW));
	assert_int_equal(read_of(w, w->report).notice.v, 0);
	assert_true(version_of(w, w->report) > before);
}

/* ---- lists ---- */

struct search_case {
	const char *words, *model, *part, *step;
	int state;
	bool by_bob, of_one;
	const char *wanted; /* r: the report, p: its repeat, t: a third; in order */
};

static const struct search_case searches[] = {
        {"", "", "", "", -1, false, false, "tpr"},
        {"loose", "", "", "", -1, false, false, "r"},
        {"LOO riv", "", "", "", -1, false, false, "r"},
        {"bushing", "", "", "", -1, false, false, "tpr"},
        {"mirror", "", "", "", -1, false, false, "tpr"},
        {"wh-220", "", "", "", -1, false, false, "pr"},
        {"2208", "", "", "", -1, false, false, "p"},
        {"loose nut", "", "", "", -1, false, false, ""},
        {"\"", "", "", "", -1, false, false, ""},
        {"AND", "", "", "", -1, false, false, "tpr"},
        {"title:loose", "", "", "", -1, false, false, ""},
        {"", "whimbrel  t", "", "", -1, false, false, "pr"},
        {"", "Whimbrel", "", "", -1, false, false, "t"},
        {"", "Whim", "", "", -1, false, false, ""},
        {"", "", "wh-41", "", -1, false, false, "tpr"},
        {"", "", "WH-4", "", -1, false, false, ""},
        {"", "", "", "14-4", -1, false, false, "tpr"},
        {"", "", "", "14", -1, false, false, ""},
        {"", "", "", "", REPORT_SINGLE, false, false, "tp"},
        {"", "", "", "", REPORT_CONFIRMED, false, false, ""},
        {"", "", "", "", REPORT_SETTLED, false, false, "r"},
        {"", "", "", "", -1, true, false, "pr"},
        {"", "", "", "", -1, false, true, "r"},
        {"loose", "Whimbrel", "", "", -1, false, false, ""},
};

static struct report_id third_report(struct world *w)
{
	struct report_content content = report_of("Bushing and nut", "WH-3");
	struct member_id cleo;
	struct report_id id;
	struct kit_id kit = add_kit(w, "cleo", "Whimbrel", &cleo);

	content.model = "Whimbrel";
	content.severity = SEVERITY_DANGER;
	assert_ok(report_add(w->store, &content, kit, cleo, CREDIT_MEMBERS, NOW, &id));
	return id;
}

static void say_rows(struct world *w, const struct report_row *rows, size_t count,
                     struct report_id third, char *out)
{
	for (size_t i = 0; i < count; i++) {
		int64_t id = rows[i].report.id.v;

		*out++ = id == w->report.v   ? 'r'
		         : id == w->repeat.v ? 'p'
		         : id == third.v     ? 't'
		                             : '?';
	}
	*out = '\0';
}

static void everything_asked_for_must_hold(void **state)
{
	struct world *w = *state;
	struct report_id third = third_report(w);
	char found[60];

	assert_ok(report_link(w->store, w->report, w->one, w->sam, NOW));
	for (size_t i = 0; i < sizeof searches / sizeof *searches; i++) {
		const struct search_case *row = &searches[i];
		struct report_query query = report_query_all;
		const struct report_row *rows;
		size_t count;
		int64_t total;

		query.words = row->words;
		query.model = row->model;
		query.part = row->part;
		query.step = row->step;
		query.state = row->state;
		query.author = row->by_bob ? w->bob : query.author;
		query.notice = row->of_one ? w->one : query.notice;
		assert_ok(report_search(w->store, w->arena, &query, &rows, &count, &total));
		say_rows(w, rows, count, third, found);
		if (strcmp(found, row->wanted) != 0 || total != (int64_t)count)
			fail_msg("search %zu: %s, not %s", i, found, row->wanted);
	}
}

static void lists_come_in_order_and_pages(void **state)
{
	static const char *const wanted[] = {
	        [REPORTS_NEWEST] = "tpr", [REPORTS_WORST] = "tpr", [REPORTS_LOOKED] = "rtp"};
	struct world *w = *state;
	struct report_id third = third_report(w);
	struct report_query query = report_query_all;
	const struct report_row *rows;
	char found[60];
	size_t count;
	int64_t total;

	for (int order = REPORTS_NEWEST; order <= REPORTS_LOOKED; order++) {
		query.order = (enum report_order)order;
		assert_ok(report_search(w->store, w->arena, &query, &rows, &count, &total));
		say_rows(w, rows, count, third, found);
		assert_string_equal(found, wanted[order]);
	}
	query.order = REPORTS_NEWEST;
	query.page = (struct page){1, 1};
	assert_ok(report_search(w->store, w->arena, &query, &rows, &count, &total));
	say_rows(w, rows, count, third, found);
	assert_string_equal(found, "p");
	assert_int_equal(total, 3);
}

static void a_state_is_that_of_the_findings(void **state)
{
	struct world *w = *state;
	struct report_query query = report_query_all;
	const struct report_row *rows;
	struct member_id cleo, dan;
	struct kit_id kit = add_kit(w, "cleo", "Whimbrel T", &cleo),
	              other = add_kit(w, "dan", "Whimbrel T", &dan);
	size_t count;
	int64_t total;

	query.state = REPORT_CONFIRMED;
	assert_ok(answer(w, w->report, kit, cleo, ANSWER_FOUND));
	assert_ok(report_search(w->store, w->arena, &query, &rows, &count, &total));
	assert_int_equal(total, 1);
	assert_int_equal(rows[0].report.id.v, w->report.v);
	assert_int_equal(report_state_of(&rows[0].tally, rows[0].report.notice_stands),
	                 REPORT_CONFIRMED);
	query.state = REPORT_DISPUTED;
	assert_ok(answer(w, w->report, kit, cleo, ANSWER_NOT_THERE));
	assert_ok(answer(w, w->report, other, dan, ANSWER_NOT_THERE));
	assert_ok(report_search(w->store, w->arena, &query, &rows, &count, &total));
	assert_int_equal(total, 1);
}

static void words_follow_what_is_written(void **state)
{
	struct world *w = *state;
	struct report_query query = report_query_all;
	struct report_content content = report_of("Canopy latch", "WH-77");
	const struct report_row *rows;
	size_t count;
	int64_t total;

	query.words = "latch";
	assert_ok(report_edit(w->store, w->report, &content, w->bob, NOW));
	assert_ok(report_search(w->store, w->arena, &query, &rows, &count, &total));
	assert_int_equal(total, 1);
	query.words = "loose";
	assert_ok(report_search(w->store, w->arena, &query, &rows, &count, &total));
	assert_int_equal(total, 0);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM report_search"), 2);
	assert_ok(report_remove(w->store, w->report, w->bob, "", NOW));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM report_search"), 1);
	assert_ok(report_put_back(w->store, w->report, w->sam, NOW));
	assert_ok(report_part(w->store, w->merged, w->sam, NOW));
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM report_search"), 3);
}

struct like_case {
	const char *model, *words, *part, *wanted;
};

static const struct like_case likes[] = {
        {"Whimbrel T", "loose rivets", "", "rp"},
        {"Whimbrel T", "rivets", "", "rp"},
        {"whimbrel t", "a bushing that is loose", "", "rp"},
        {"Whimbrel T", "moves", "", "p"},
        {"Whimbrel T", "", "wh-2208", "p"},
        {"Whimbrel T", "loose rivets", "WH-2208", "pr"},
        {"Whimbrel", "loose rivets", "WH-2208", "t"},
        {"Whimbrel T", "", "", ""},
        {"", "loose rivets", "WH-2208", ""},
        {"Whimbrel T", "canopy", "WH-2", ""},
        {"Whimbrel T", "the", "", ""},
        {"Whimbrel T", "\"(loose* NEAR( AND ) {title}:\\' -- ;", "\"%_", "r"},
        {"Whimbrel T", "\xc3\x9c\xc3\x9c\xff\xfe rivets", "\xff", "rp"},
        {"Whimbrel T", "NEAR OR NOT", "", ""},
};

static void likely_repeats_are_found(void **state)
{
	struct world *w = *state;
	struct report_id third = third_report(w);
	char found[60];

	for (size_t i = 0; i < sizeof likes / sizeof *likes; i++) {
		const struct like_case *row = &likes[i];
		const struct report_row *rows;
		size_t count;

		assert_ok(report_like(w->store, w->arena, row->model, row->words,
		                      &(struct text_list){&row->part, *row->part != '\0'}, 5, &rows,
		                      &count));
		say_rows(w, rows, count, third, found);
		if (strcmp(found, row->wanted) != 0)
			fail_msg("like %zu: %s, not %s", i, found, row->wanted);
	}
}

static void no_more_repeats_than_asked_for(void **state)
{
	struct world *w = *state;
	const char *const part = "WH-41";
	const struct text_list parts = {&part, 1};
	const struct report_row *rows;
	size_t count;

	assert_ok(
	        report_like(w->store, w->arena, "Whimbrel T", "rivets", &parts, 1, &rows, &count));
	assert_int_equal(count, 1);
	assert_int_equal(rows[0].report.id.v, w->repeat.v);
	assert_ok(
	        report_like(w->store, w->arena, "Whimbrel T", "rivets", &parts, 9, &rows, &count));
	assert_int_equal(count, 2);
}

static void words_are_all_there(void **state)
{
	(void)state;
	for (int i = 0; i < SEVERITIES; i++)
		assert_true(*severity_words((enum severity)i) != '\0');
	for (int i = 0; i < REPORT_ACTS; i++)
		assert_true(*report_act_words((enum report_act)i) != '\0');
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, world_make, world_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(a_report_reads_back),
	        TEST(bad_reports_are_refused),
	        TEST(a_form_sent_twice_adds_one_report),
	        TEST(a_member_reports_and_answers_so_much_a_day),
	        TEST(a_kit_must_be_the_reporters_own),
	        TEST(who_may_do_what),
	        TEST(credit_is_the_authors_to_change),
	        TEST(what_is_not_so_is_missing),
	        TEST(the_words_before_stay_in_the_log),
	        TEST(the_longest_words_fit_into_the_log),
	        TEST(a_removed_report_says_who_and_why),
	        TEST(a_finding_keeps_the_facts_as_they_were),
	        TEST(a_list_tells_what_findings_are_split_by),
	        TEST(one_version_of_a_kit_is_kept_once),
	        TEST(a_later_answer_of_a_kit_replaces),
	        TEST(removing_people_and_kits_changes_no_count),
	        TEST(merged_reports_are_read_together),
	        TEST(a_change_of_a_merged_report_shows_in_the_other),
	        TEST(parting_undoes_a_merge),
	        TEST(what_followed_can_be_parted_by_itself),
	        TEST(merging_and_parting_again_gives_the_same),
	        TEST(a_notice_settles_it_while_it_stands),
	        TEST(everything_asked_for_must_hold),
	        TEST(lists_come_in_order_and_pages),
	        TEST(a_state_is_that_of_the_findings),
	        TEST(words_follow_what_is_written),
	        TEST(likely_repeats_are_found),
	        TEST(no_more_repeats_than_asked_for),
	        cmocka_unit_test(words_are_all_there),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
