#include "fixture.h"

#include <string.h>

#include "base/utf8.h"
#include "core/catalogue.h"

static struct revision_id new_draft(struct world *w, const char *number)
{
	struct revision_content content = content_of(number, "", "2020");
	struct revision_id id;

	assert_ok(draft_new_notice(w->store, &content, w->sam, NOW, &id));
	return id;
}

static int64_t generation(struct world *w)
{
	int64_t value;

	assert_ok(setting_generation(w->store, &value));
	return value;
}

static void assert_same_list(const struct text_list *a, const struct text_list *b)
{
	assert_int_equal(a->count, b->count);
	for (size_t i = 0; i < a->count; i++)
		assert_string_equal(a->at[i], b->at[i]);
}

static void assert_same_content(const struct revision_content *a, const struct revision_content *b)
{
	assert_string_equal(a->number, b->number);
	assert_string_equal(a->issuer, b->issuer);
	assert_string_equal(a->revision, b->revision);
	assert_string_equal(a->title, b->title);
	assert_string_equal(a->problem, b->problem);
	assert_string_equal(a->action, b->action);
	assert_string_equal(a->compliance, b->compliance);
	assert_string_equal(a->source, b->source);
	assert_string_equal(a->effectivity, b->effectivity);
	assert_string_equal(a->issued, b->issued);
	assert_string_equal(a->plans_carry, b->plans_carry);
	assert_int_equal(a->kind, b->kind);
	assert_int_equal(a->force, b->force);
	assert_string_equal(a->due, b->due);
	assert_int_equal(a->n_lines, b->n_lines);
	for (size_t i = 0; i < a->n_lines; i++) {
		assert_string_equal(a->lines[i].part, b->lines[i].part);
		assert_string_equal(a->lines[i].position, b->lines[i].position);
		assert_string_equal(a->lines[i].replacement, b->lines[i].replacement);
		assert_string_equal(a->lines[i].lots, b->lines[i].lots);
		assert_string_equal(a->lines[i].remark, b->lines[i].remark);
		assert_int_equal(a->lines[i].disposition, b->lines[i].disposition);
	}
	assert_int_equal(a->n_material, b->n_material);
	for (size_t i = 0; i < a->n_material; i++) {
		assert_string_equal(a->material[i].item, b->material[i].item);
		assert_string_equal(a->material[i].part, b->material[i].part);
		assert_string_equal(a->material[i].cut, b->material[i].cut);
		assert_string_equal(a->material[i].quantity, b->material[i].quantity);
		assert_string_equal(a->material[i].remark, b->material[i].remark);
	}
	assert_same_list(&a->steps, &b->steps);
	assert_same_list(&a->supersedes, &b->supersedes);
	assert_same_list(&a->requires, &b->requires);
	assert_same_list(&a->terminates, &b->terminates);
	assert_same_list(&a->credits, &b->credits);
}

static void a_draft_reads_back_as_typed(void **state)
{
	struct world *w = *state;
	struct revision_content content = content_of("HF-SB-3", "", "2017");
	struct revision revision;

	assert_ok(revision_read(w->store, w->arena, w->draft, &revision));
	assert_same_content(&revision.content, &content);
	assert_int_equal(revision.state, REVISION_DRAFT);
	assert_false(revision.current);
	assert_false(revision.notice_published);
	assert_int_equal(revision.edit, 2);
	assert_int_equal(revision.editor.v, w->sam.v);
	assert_string_equal(revision.editor_name, "sam");
	assert_string_equal(revision.publisher_name, "");
	assert_int_equal(revision.n_attachments, 1);
	assert_string_equal(revision.attachments[0].name, "sheet.pdf");
	assert_false(revision.attachments[0].published);
}

static void an_incomplete_draft_is_kept(void **state)
{
	struct world *w = *state;
	struct revision_content content = revision_content_empty;
	struct revision_id id;
	struct revision revision;

	content.number = "X-1";
	content.effectivity = "serial WH- thru";
	assert_ok(draft_new_notice(w->store, &content, w->sam, NOW, &id));
	assert_ok(revision_read(w->store, w->arena, id, &revision));
	assert_same_content(&revision.content, &content);
}

static void a_number_is_taken_once_whatever_its_case(void **state)
{
	struct world *w = *state;
	static const char *const taken[] = {"HF-SB-1", "hf-sb-1", " Hf-Sb-1 ", "hf-sb-3", "", "  "};
	struct revision_content content;
	struct revision_id id = {77};
	struct notice_id notice = {77};

	for (size_t i = 0; i < sizeof taken / sizeof *taken; i++) {
		content = content_of(taken[i], "", "2020");
		assert_int_equal(draft_new_notice(w->store, &content, w->sam, NOW, &id),
		                 ST_CONFLICT);
		if (i < 4)
			assert_int_equal(notice_import(w->store,
			                               &(struct notice_import){&content, 1, "", ""},
			                               w->sam, NOW, &notice),
			                 ST_CONFLICT);
	}
	assert_int_equal(id.v, 77);
	assert_int_equal(notice.v, 77);
	assert_ok(notice_find(w->store, "hf-sb-1 ", &notice));
	assert_int_equal(notice.v, w->one.v);
	assert_int_equal(notice_find(w->store, "HF-SB-10", &notice), ST_MISSING);
}

static void limits_are_kept(void **state)
{
	struct world *w = *state;
	static const char *const twice[] = {"14-3", " 14-3"};
	char longer[TITLE_LONGEST + 2], too_long[DUE_LONGEST + 2];
	struct revision_content content = content_of("N-1", "", "2020");
	struct revision_id id;

	memset(longer, 'x', sizeof longer - 1);
	longer[sizeof longer - 1] = '\0';
	memset(too_long, 'x', sizeof too_long - 1);
	too_long[sizeof too_long - 1] = '\0';
	content.title = longer;
	assert_int_equal(draft_new_notice(w->store, &content, w->sam, NOW, &id), ST_CONFLICT);
	content.title = longer + 1;
	content.steps = (struct text_list){twice, 2};
	assert_int_equal(draft_new_notice(w->store, &content, w->sam, NOW, &id), ST_CONFLICT);
	content.steps.count = 1;
	content.issued = "yesterday";
	assert_int_equal(draft_new_notice(w->store, &content, w->sam, NOW, &id), ST_CONFLICT);
	content.issued = "";
	content.due = too_long;
	assert_int_equal(draft_new_notice(w->store, &content, w->sam, NOW, &id), ST_CONFLICT);
	content.due = "";
	content.kind = (enum notice_kind)9;
	assert_int_equal(draft_new_notice(w->store, &content, w->sam, NOW, &id), ST_CONFLICT);
	content.kind = KIND_SERVICE_LETTER;
	content.steps.count = REVISION_LIST_LONGEST + 1;
	assert_int_equal(draft_new_notice(w->store, &content, w->sam, NOW, &id), ST_LIMIT);
	content.steps.count = 0;
	assert_ok(draft_new_notice(w->store, &content, w->sam, NOW, &id));
}

static void who_saves_second_is_told(void **state)
{
	struct world *w = *state;
	struct revision_content content = content_of("HF-SB-3b", "x", "2017");
	struct revision revision;
	bool stale = false;

	assert_ok(draft_save(w->store, w->draft, 2, &content, w->sue, NOW + 1, &stale));
	content.title = "Another title";
	assert_int_equal(draft_save(w->store, w->draft, 2, &content, w->sam, NOW + 2, &stale),
	                 ST_CONFLICT);
	assert_true(stale);
	assert_ok(revision_read(w->store, w->arena, w->draft, &revision));
	assert_string_equal(revision.content.title, "Elevator tube bushing");
	assert_string_equal(revision.content.number, "HF-SB-3b");
	assert_int_equal(revision.edit, 3);
	assert_string_equal(revision.editor_name, "sue");
	content.number = "hf-sb-1";
	assert_int_equal(draft_save(w->store, w->draft, 3, &content, w->sam, NOW + 2, &stale),
	                 ST_CONFLICT);
	assert_false(stale);
	assert_int_equal(draft_save(w->store, w->one_current, 1, &content, w->sam, NOW, &stale),
	                 ST_MISSING);
}

static void another_steward_must_publish(void **state)
{
	struct world *w = *state;
	int64_t before = generation(w);
	struct revision revision;

	assert_int_equal(draft_publish(w->store, w->draft, 1, w->sue, NOW), ST_MISSING);
	assert_int_equal(draft_publish(w->store, w->checking, 1, w->sam, NOW), ST_DENIED);
	assert_int_equal(draft_publish(w->store, w->checking, 2, w->sue, NOW), ST_CONFLICT);
	assert_int_equal(generation(w), before);
	assert_ok(draft_publish(w->store, w->checking, 1, w->sue, NOW + 5));
	assert_int_equal(generation(w), before + 1);
	assert_ok(revision_read(w->store, w->arena, w->checking, &revision));
	assert_int_equal(revision.state, REVISION_PUBLISHED);
	assert_true(revision.current);
	assert_string_equal(revision.publisher_name, "sue");
	assert_int_equal(revision.published_at, NOW + 5);
	assert_int_equal(draft_publish(w->store, w->checking, 1, w->sue, NOW), ST_MISSING);
}

static void one_steward_may_publish_where_allowed(void **state)
{
	struct world *w = *state;

	assert_ok(setting_set_flag(w->store, SETTING_ONE_STEWARD, true));
	assert_ok(draft_publish(w->store, w->checking, 1, w->sam, NOW));
	assert_ok(draft_publish(w->store, w->draft, 2, w->sam, NOW));
}

static void what_does_not_compile_is_not_published(void **state)
{
	struct world *w = *state;
	struct line_text line = {"P", "", "", DISPOSE_INSPECT, "3 thru", ""};
	struct revision_content bad[] = {
	        content_of("B-1", "", ""),     content_of("B-1", "", "2017-13"),
	        content_of("B-1", "", "2017"), content_of("B-1", "", "2017"),
	        content_of("B-1", "", "2017"), content_of("B-1", "", "2017"),
	        content_of("B-1", "", "2017"), content_of("B-1", "", "2017"),
	};
	struct revision_id id = new_draft(w, "B-1");
	bool stale;

	bad[2].title = "";
	bad[3].effectivity = "serial";
	bad[4].effectivity = "";
	bad[5].lines = &line;
	bad[5].n_lines = 1;
	bad[6].issuer = "";
	bad[7].plans_carry = "2017-02-30";
	assert_ok(setting_set_flag(w->store, SETTING_ONE_STEWARD, true));
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		assert_ok(draft_save(w->store, id, 1 + (int64_t)i, &bad[i], w->sam, NOW, &stale));
		assert_int_equal(draft_publish(w->store, id, 2 + (int64_t)i, w->sue, NOW),
		                 ST_INVALID);
		assert_int_equal(notice_import(w->store,
		                               &(struct notice_import){&bad[i], 1, "", ""}, w->sam,
		                               NOW, &w->one),
		                 ST_INVALID);
	}
	assert_int_equal(notice_import(w->store, &(struct notice_import){bad, 0, "", ""}, w->sam,
	                               NOW, &w->one),
	                 ST_INVALID);
}

static void a_new_revision_starts_from_the_current_one(void **state)
{
	struct world *w = *state;
	struct attachment_entry file = {"a.png", "image/png", "png", 3};
	struct revision_content expected = content_of("HF-SB-1", "", "");
	struct revision_id id, again;
	struct attachment_id attachment;
	struct revision revision;
	struct revision_content content;
	bool stale;

	assert_ok(draft_new_revision(w->store, w->one, w->sue, NOW, &id));
	assert_int_equal(draft_new_revision(w->store, w->one, w->sue, NOW, &again), ST_CONFLICT);
	assert_ok(draft_of(w->store, w->one, &again));
	assert_int_equal(again.v, id.v);
	assert_ok(revision_read(w->store, w->arena, id, &revision));
	assert_same_content(&revision.content, &expected);
	assert_true(revision.notice_published);
	assert_ok(attachment_add(w->store, id, &file, w->sue, NOW, &attachment));
	content = content_of("ignored", "B", "2018");
	content.issuer = "ignored";
	assert_ok(draft_save(w->store, id, 2, &content, w->sue, NOW, &stale));
	assert_ok(draft_submit(w->store, id, w->sue, NOW));
	assert_ok(draft_publish(w->store, id, 3, w->sam, NOW));
	assert_ok(notice_current(w->store, w->arena, w->one, &revision));
	assert_int_equal(revision.id.v, id.v);
	assert_string_equal(revision.content.number, "HF-SB-1");
	assert_string_equal(revision.content.issuer, "Harrowfen");
	assert_ok(draft_new_revision(w->store, w->one, w->sue, NOW, &id));
	assert_ok(revision_read(w->store, w->arena, id, &revision));
	assert_int_equal(revision.n_attachments, 1);
	assert_int_equal(sql_number(w->store, "SELECT count(*) FROM files WHERE size = 3"), 1);
}

static void a_label_is_published_once(void **state)
{
	struct world *w = *state;
	struct revision_content content = content_of("HF-SB-1", "a", "2018");
	struct revision_id id;
	bool stale;

	assert_ok(draft_new_revision(w->store, w->one, w->sue, NOW, &id));
	assert_ok(draft_save(w->store, id, 1, &content, w->sue, NOW, &stale));
	assert_ok(draft_submit(w->store, id, w->sue, NOW));
	assert_int_equal(draft_publish(w->store, id, 2, w->sam, NOW), ST_CONFLICT);
}

static void checking_can_be_sent_back_and_saved(void **state)
{
	struct world *w = *state;
	struct revision_content content = content_of("HF-SB-4", "", "2018");
	struct revision revision;
	bool stale;

	assert_int_equal(draft_submit(w->store, w->checking, w->sam, NOW), ST_MISSING);
	assert_int_equal(draft_send_back(w->store, w->draft, w->sue, "", NOW), ST_MISSING);
	assert_ok(draft_send_back(w->store, w->checking, w->sue, "lots differ", NOW));
	assert_ok(draft_submit(w->store, w->checking, w->sam, NOW));
	assert_ok(draft_save(w->store, w->checking, 1, &content, w->sue, NOW, &stale));
	assert_ok(revision_read(w->store, w->arena, w->checking, &revision));
	assert_int_equal(revision.state, REVISION_DRAFT);
}

static void discarding_leaves_only_the_log(void **state)
{
	struct world *w = *state;
	struct revision_id id;
	struct notice_id notice;
	const struct log_entry *log;
	size_t count;
	int64_t total;

	assert_ok(draft_discard(w->store, w->draft, w->sue, NOW));
	assert_int_equal(notice_find(w->store, "HF-SB-3", &notice), ST_MISSING);
	assert_int_equal(
	        sql_number(
	                w->store,
	                "SELECT count(*) FROM files WHERE id NOT IN (SELECT large FROM pictures)"),
	        0);
	assert_int_equal(draft_discard(w->store, w->draft, w->sue, NOW), ST_MISSING);
	assert_int_equal(draft_discard(w->store, w->one_current, w->sue, NOW), ST_MISSING);
	assert_ok(draft_new_revision(w->store, w->one, w->sue, NOW, &id));
	assert_ok(draft_discard(w->store, id, w->sue, NOW));
	assert_ok(notice_find(w->store, "HF-SB-1", &notice));
	assert_ok(log_list(w->store, w->arena, (struct notice_id){0}, (struct page){3, 0}, &log,
	                   &count, &total));
	assert_int_equal(count, 3);
	assert_int_equal(log[2].act, ACT_DISCARDED);
	assert_string_equal(log[2].number, "HF-SB-3");
	assert_string_equal(log[2].by, "sue");
	assert_true(total > 3);
}

static void cancelling_happens_once(void **state)
{
	struct world *w = *state;
	int64_t before = generation(w);
	struct notice_id draft_only;
	struct revision revision;

	assert_ok(notice_find(w->store, "HF-SB-3", &draft_only));
	assert_int_equal(notice_cancel(w->store, w->one, "2020-13", "", w->ann, NOW), ST_INVALID);
	assert_int_equal(notice_cancel(w->store, draft_only, "2020", "", w->ann, NOW), ST_MISSING);
	assert_int_equal(notice_cancel(w->store, w->two, "2020", "", w->ann, NOW), ST_MISSING);
	assert_int_equal(generation(w), before);
	assert_ok(notice_cancel(w->store, w->one, "2020-01", "replaced", w->ann, NOW));
	assert_int_equal(generation(w), before + 1);
	assert_ok(notice_current(w->store, w->arena, w->one, &revision));
	assert_string_equal(revision.cancelled_on, "2020-01");
	assert_string_equal(revision.cancel_reason, "replaced");
}

static void the_latest_are_what_anybody_may_learn(void **state)
{
	struct world *w = *state;
	const struct latest_notice *latest;
	size_t count;

	assert_ok(latest_list(w->store, w->arena, 9, &latest, &count));
	assert_int_equal(count, 2); /* drafts, and what became of them, are not told */
	assert_string_equal(latest[0].number, "HF-SB-2");
	assert_true(latest[0].cancelled); /* when it was imported */
	assert_string_equal(latest[1].number, "HF-SB-1");
	assert_string_equal(latest[1].revision, "A");
	assert_string_equal(latest[1].reason, "");
	assert_false(latest[1].cancelled);
	assert_true(latest[1].current);
	assert_ok(draft_publish(w->store, w->checking, 1, w->sue, NOW + 1));
	assert_ok(notice_cancel(w->store, w->one, "2020", "replaced", w->ann, NOW + 2));
	assert_ok(latest_list(w->store, w->arena, 2, &latest, &count));
	assert_int_equal(count, 2);
	assert_true(latest[0].cancelled);
	assert_int_equal(latest[0].at, NOW + 2);
	assert_int_equal(latest[0].id.v, w->one.v);
	assert_string_equal(latest[0].reason, "replaced");
	assert_string_equal(latest[1].number, "HF-SB-4");
	assert_int_equal(latest[1].at, NOW + 1);
	assert_true(latest[0].entry > latest[1].entry);
}

static void the_latest_tell_long_words_short(void **state)
{
	struct world *w = *state;
	static const struct {
		int length, kept;
	} rows[] = {{0, 0}, {600, 600}, {601, 600}, {20000, 600}};
	const struct latest_notice *latest;
	size_t count;

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct revision_content content =
		        content_of(arena_printf(w->arena, "LONG-%zu", i), "", "2018");
		struct text problem = TEXT_EMPTY;
		struct notice_id id;

		for (int k = 0; k < rows[i].length; k++)
			text_add(&problem, "\u00e9");
		content.problem = text_string(&problem);
		assert_ok(notice_import(w->store, &(struct notice_import){&content, 1, "", ""},
		                        w->sam, NOW, &id));
		text_free(&problem);
		assert_ok(latest_list(w->store, w->arena, 1, &latest, &count));
		assert_int_equal(utf8_length(latest[0].problem), rows[i].kept);
		assert_int_equal(rows[i].length > rows[i].kept,
		                 strstr(latest[0].problem, "\u2026") != NULL);
	}
}

static void the_log_cannot_be_changed(void **state)
{
	struct world *w = *state;

	assert_int_equal(sqlite3_exec(w->store->db, "DELETE FROM notice_log", NULL, NULL, NULL),
	                 SQLITE_CONSTRAINT_TRIGGER);
	assert_int_equal(
	        sqlite3_exec(w->store->db, "UPDATE notice_log SET at = 0", NULL, NULL, NULL),
	        SQLITE_CONSTRAINT_TRIGGER);
	assert_int_equal(sqlite3_exec(w->store->db,
	                              "REPLACE INTO notice_log SELECT * FROM notice_log", NULL,
	                              NULL, NULL),
	                 SQLITE_CONSTRAINT_TRIGGER);
	assert_string_equal(log_act_words(ACT_SENT_BACK), "sent back");
}

static void lists_hold_what_they_name(void **state)
{
	struct world *w = *state;
	const struct notice_row *rows;
	struct text_list issuers;
	size_t count;
	int64_t total;

	assert_ok(revision_list(w->store, w->arena, w->one, &rows, &count));
	assert_int_equal(count, 2);
	assert_string_equal(rows[0].revision, "A");
	assert_true(rows[0].current);
	assert_false(rows[1].current);
	assert_ok(draft_list(w->store, w->arena, (struct page){1, 1}, &rows, &count, &total));
	assert_int_equal(count, 1);
	assert_int_equal(total, 2);
	assert_string_equal(rows[0].number, "HF-SB-3");
	assert_ok(draft_list(w->store, w->arena, (struct page){5, 5}, &rows, &count, &total));
	assert_int_equal(count, 0);
	assert_int_equal(total, 2);
	assert_ok(issuer_list(w->store, w->arena, &issuers));
	assert_int_equal(issuers.count, 1);
	assert_string_equal(issuers.at[0], "Harrowfen");
}

static void attachments_belong_to_drafts(void **state)
{
	struct world *w = *state;
	struct attachment_entry file = {"b.pdf", "application/pdf", "%PDF", 4};
	struct attachment_entry none = {"b.pdf", "application/pdf", "", 0};
	struct attachment_entry nameless = {"", "application/pdf", "%PDF", 4};
	struct attachment_entry huge = {"b.pdf", "application/pdf", "%PDF", ATTACHMENT_LARGEST + 1};
	struct attachment_id id;
	struct attachment attachment;
	const void *bytes;

	assert_ok(attachment_read(w->store, w->arena, w->attachment, &attachment, &bytes));
	assert_int_equal(attachment.size, 4);
	assert_memory_equal(bytes, "%PDF", 4);
	assert_int_equal(attachment.revision.v, w->draft.v);
	assert_int_equal(attachment_add(w->store, w->checking, &file, w->sam, NOW, &id),
	                 ST_MISSING);
	assert_int_equal(attachment_add(w->store, w->one_current, &file, w->sam, NOW, &id),
	                 ST_MISSING);
	assert_int_equal(attachment_add(w->store, w->draft, &none, w->sam, NOW, &id), ST_CONFLICT);
	assert_int_equal(attachment_add(w->store, w->draft, &nameless, w->sam, NOW, &id),
	                 ST_CONFLICT);
	assert_int_equal(attachment_add(w->store, w->draft, &huge, w->sam, NOW, &id), ST_LIMIT);
	for (int i = 1; i < ATTACHMENTS_MOST; i++)
		assert_ok(attachment_add(w->store, w->draft, &file, w->sam, NOW, &id));
	assert_int_equal(attachment_add(w->store, w->draft, &file, w->sam, NOW, &id), ST_LIMIT);
	assert_int_equal(
	        sql_number(
	                w->store,
	                "SELECT count(*) FROM files WHERE id NOT IN (SELECT large FROM pictures)"),
	        1);
	assert_ok(attachment_remove(w->store, id, w->sam, NOW));
	assert_int_equal(attachment_remove(w->store, id, w->sam, NOW), ST_MISSING);
	assert_int_equal(attachment_read(w->store, w->arena, id, &attachment, &bytes), ST_MISSING);
}

static void whoever_changes_files_cannot_check_them(void **state)
{
	struct world *w = *state;

	assert_ok(attachment_remove(w->store, w->attachment, w->sue, NOW));
	assert_ok(draft_submit(w->store, w->draft, w->sam, NOW));
	assert_int_equal(draft_publish(w->store, w->draft, 2, w->ann, NOW), ST_CONFLICT);
	assert_int_equal(draft_publish(w->store, w->draft, 3, w->sue, NOW), ST_DENIED);
}

static void notices_load_as_core_sees_them(void **state)
{
	struct world *w = *state;
	const struct notice *notices;
	const struct notice *one;
	const struct catalogue *catalogue;
	size_t count;
	int64_t belongs_to;

	assert_ok(notice_load(w->store, w->arena, &notices, &count, &belongs_to));
	assert_int_equal(belongs_to, generation(w));
	assert_int_equal(count, 2);
	one = &notices[0];
	assert_int_equal(one->id.v, w->one.v);
	assert_int_equal(one->revision_id.v, w->one_current.v);
	assert_string_equal(one->number.text, "HF-SB-1");
	assert_string_equal(one->revision.text, "A");
	assert_int_equal(one->effectivity->n_conditions, 2);
	assert_int_equal(one->n_lines, 2);
	assert_int_equal(one->lines[0].n_lots, 1);
	assert_int_equal(one->lines[1].n_lots, 0);
	assert_string_equal(one->lines[1].position.text, "right");
	assert_int_equal(one->n_steps, 2);
	assert_int_equal(one->n_requires, 1);
	assert_int_equal(one->n_supersedes, 0);
	assert_string_equal(one->requires[0].text, "HF-SB-9");
	assert_int_equal(one->plans_carry.state, DATE_KNOWN);
	assert_int_equal(one->n_credits, 1);
	assert_string_equal(one->credits[0].revision.text, "");
	assert_int_equal(one->credits[0].n_lines, 2);
	assert_int_equal(one->credits[0].lines[0].n_lots, 1);
	assert_int_equal(one->published_on, NOW / 86400);
	assert_false(one->cancelled);
	assert_true(notices[1].cancelled);
	assert_int_equal(notices[1].n_credits, 0);
	assert_ok(catalogue_build(w->arena, notices, count, &catalogue));
}

static void a_statement_damaged_in_the_file_is_reported(void **state)
{
	struct world *w = *state;
	const struct notice *notices;
	size_t count;
	int64_t belongs_to;

	sql_exec(w->store, "UPDATE revisions SET effectivity = 'serial thru' WHERE id = 2");
	assert_int_equal(notice_load(w->store, w->arena, &notices, &count, &belongs_to),
	                 ST_INVALID);
	sql_exec(w->store, "UPDATE revisions SET effectivity = 'all', issued = '2017-99'");
	assert_int_equal(notice_load(w->store, w->arena, &notices, &count, &belongs_to), ST_IO);
}

static void a_connection_that_only_reads_reads_everything(void **state)
{
	struct world *w = *state;
	struct notice_query query = notice_query_all;
	const struct notice *notices;
	const struct notice_row *rows;
	struct revision revision;
	struct facts facts;
	struct verify_report report;
	size_t count;
	int64_t total;

	query.words = "bushing";
	assert_ok(store_set_read_only(w->store, true));
	assert_ok(notice_load(w->store, w->arena, &notices, &count, &total));
	assert_ok(notice_search(w->store, w->arena, &query, &rows, &count, &total));
	assert_ok(notice_current(w->store, w->arena, w->one, &revision));
	assert_ok(kit_facts(w->store, w->arena, w->kit, &facts));
	assert_ok(backup_verify(w->store, w->arena, &report));
	assert_int_equal(draft_submit(w->store, w->draft, w->sam, NOW), ST_DENIED);
	assert_int_equal(kit_remove(w->store, w->kit), ST_DENIED);
	assert_int_equal(note_remove(w->store, w->note, w->bob, NOW), ST_DENIED);
	assert_ok(store_set_read_only(w->store, false));
	assert_ok(draft_submit(w->store, w->draft, w->sam, NOW));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, world_make, world_end)

int main(void)
{
	const struct CMUnitTest tests[] = {
	        TEST(a_draft_reads_back_as_typed),
	        TEST(an_incomplete_draft_is_kept),
	        TEST(a_number_is_taken_once_whatever_its_case),
	        TEST(limits_are_kept),
	        TEST(who_saves_second_is_told),
	        TEST(another_steward_must_publish),
	        TEST(one_steward_may_publish_where_allowed),
	        TEST(what_does_not_compile_is_not_published),
	        TEST(a_new_revision_starts_from_the_current_one),
	        TEST(a_label_is_published_once),
	        TEST(checking_can_be_sent_back_and_saved),
	        TEST(discarding_leaves_only_the_log),
	        TEST(cancelling_happens_once),
	        TEST(the_latest_are_what_anybody_may_learn),
	        TEST(the_latest_tell_long_words_short),
	        TEST(the_log_cannot_be_changed),
	        TEST(lists_hold_what_they_name),
	        TEST(attachments_belong_to_drafts),
	        TEST(whoever_changes_files_cannot_check_them),
	        TEST(notices_load_as_core_sees_them),
	        TEST(a_statement_damaged_in_the_file_is_reported),
	        TEST(a_connection_that_only_reads_reads_everything),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
