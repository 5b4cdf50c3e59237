/* Field reports, findings and pictures of the demonstration: reports.json and
 * pictures/ of seed/.
 *
 * Reports name members by login, kits by their names, each other by title. What
 * happened before the day "news_from" has been told and read already, so that
 * the news of the demonstration are few.
 */
#include <string.h>

#include "cli/demo_parts.h"
#include "store/calls.h"
#include "store/news.h"
#include "chapter/picture.h"

static const char *const file_keys[] = {"format", "news_from", "reports", "calls", NULL};
static const char *const report_keys[] = {
        "by",       "kit",         "title",   "on",       "step",   "zone",
        "parts",    "seen",        "look",    "severity", "credit", "notice",
        "pictures", "merged_into", "removed", "findings", NULL};
static const char *const finding_keys[] = {"by", "kit", "answer", "remark", "on", NULL};
static const char *const call_keys[] = {"by", "on", "note", "report", "reason", NULL};
static const char *const picture_keys[] = {"file", "words", NULL};
static const char *const removed_keys[] = {"by", "reason", "on", NULL};
static const char *const severities[] = {"danger", "grows", "work", "good to know", NULL};
static const char *const credits[] = {"nobody", "members", "everybody", NULL};

/* One of a list of words; a fault when it is none. */
static int read_word(struct filling *f, const json_t *object, const char *key,
                     const char *const *words)
{
	const char *word = json_read_line(&f->reader, object, key, 20);

	for (int i = 0; words[i]; i++)
		if (strcmp(word, words[i]) == 0)
			return i;
	json_fail_at(&f->reader, key, "is none of the words that may stand here");
	return 0;
}

static int64_t read_day(struct filling *f, const json_t *object)
{
	json_need(&f->reader, object, "on");
	return demo_noon(f, json_read_date(&f->reader, object, "on").date);
}

/* ---- pictures ---- */

static struct picture_size size_of(const struct picture *picture)
{
	const char *mime = picture->kind == PICTURE_PNG ? "image/png" : "image/jpeg";

	return (struct picture_size){mime, picture->width, picture->height, picture->bytes,
	                             picture->size};
}

static void add_picture(struct filling *f, const struct picture_of *of, struct member_id by,
                        const json_t *value)
{
	struct picture_entry entry = {.words = ""};
	const struct embedded_file *file;
	struct picture large, small;

	if (!json_check_keys(&f->reader, value, picture_keys))
		return;
	entry.words = json_read_line(&f->reader, value, "words", PICTURE_WORDS_LONGEST);
	file = demo_file(json_read_line(&f->reader, value, "file", NAME_LONGEST));
	if (!file)
		json_fail_at(&f->reader, "file", "is no file of the seed");
	if (!json_reader_ok(&f->reader))
		return;
	demo_take(f, picture_clean_two(f->reader.arena, file->bytes, file->len, &large, &small));
	if (!json_reader_ok(&f->reader))
		return;
	entry.large = size_of(&large);
	entry.small = size_of(&small);
	demo_take(f, pictures_add(f->store, of, by, &entry, 1, f->now));
}

void demo_add_pictures(struct filling *f, const struct picture_of *of, struct member_id by,
                       const json_t *object)
{
	const json_t *list = json_read_array(&f->reader, object, "pictures");
	size_t mark = json_enter(&f->reader, "pictures");

	for (size_t i = 0; i < json_array_size(list) && json_reader_ok(&f->reader); i++) {
		size_t inner = json_enter_index(&f->reader, i);

		add_picture(f, of, by, json_array_get(list, i));
		json_leave(&f->reader, inner);
	}
	json_leave(&f->reader, mark);
}

/* ---- reports ---- */

static struct kit_id find_kit(struct filling *f, const json_t *object, struct member_id owner)
{
	const char *name = json_read_line(&f->reader, object, "kit", KIT_NAME_LONGEST);
	const struct kit *kits = NULL;
	struct kit_id none = {0};
	size_t count = 0;

	if (json_reader_ok(&f->reader))
		demo_take(f, kit_list(f->store, f->reader.arena, owner, &kits, &count));
	for (size_t i = 0; i < count; i++)
		if (strcmp(kits[i].name, name) == 0)
			return kits[i].id;
	json_fail_at(&f->reader, "kit", "is no kit of that member");
	return none;
}

static void read_content(struct filling *f, const json_t *value, struct kit_id kit,
                         struct report_content *out)
{
	struct json_reader *r = &f->reader;
	size_t count = 0;
	const struct name *parts = json_read_names(r, value, "parts", &count);
	const char **texts = ARENA_ARRAY(r->arena, const char *, count + 1);
	struct facts facts;

	out->title = json_read_line(r, value, "title", TITLE_LONGEST);
	out->step = json_read_name(r, value, "step").text;
	out->zone = json_read_line(r, value, "zone", NAME_LONGEST);
	out->seen = json_read_text(r, value, "seen", PROSE_LONGEST);
	out->look = json_read_text(r, value, "look", PROSE_LONGEST);
	out->severity = (enum severity)read_word(f, value, "severity", severities);
	if (json_reader_ok(r))
		demo_take(f, kit_facts(f->store, r->arena, kit, &facts));
	if (!json_reader_ok(r))
		return;
	for (size_t i = 0; texts && i < count; i++)
		texts[i] = parts[i].text;
	out->model = facts.model.text;
	out->effectivity = arena_printf(r->arena, "model %s", facts.model.text);
	out->parts = (struct text_list){texts, count};
	demo_take(f, texts && out->effectivity ? ST_OK : ST_NOMEM);
}

/* The report of that title among those filled in so far; v 0: none. */
static struct report_id find_report(const struct filling *f, const char *title)
{
	for (size_t i = 0; i < f->reports; i++)
		if (strcmp(f->report[i].title, title) == 0)
			return f->report[i].id;
	return (struct report_id){0};
}

static void add_finding(struct filling *f, const json_t *value)
{
	struct json_reader *r = &f->reader;
	struct finding_entry entry = {.report = f->report[f->reports - 1].id,
	                              .credit = CREDIT_MEMBERS};
	struct finding_id id;
	int64_t at;

	if (!json_check_keys(r, value, finding_keys))
		return;
	entry.author = demo_member(f, json_read_line(r, value, "by", LOGIN_LONGEST));
	entry.kit = find_kit(f, value, entry.author);
	entry.remark = json_read_text(r, value, "remark", FINDING_REMARK_LONGEST);
	at = f->last_at = read_day(f, value);
	if (!finding_answer_from_words(json_read_line(r, value, "answer", 40), &entry.answer))
		json_fail_at(r, "answer", "is no answer");
	if (json_reader_ok(r))
		demo_take(f, finding_add(f->store, &entry, at, &id));
}

static void remove_report(struct filling *f, const json_t *value)
{
	struct report_id id = f->report[f->reports - 1].id;
	struct member_id by;
	const char *reason;

	if (!value || !json_check_keys(&f->reader, value, removed_keys))
		return;
	by = demo_member(f, json_read_line(&f->reader, value, "by", LOGIN_LONGEST));
	reason = json_read_text(&f->reader, value, "reason", 2000);
	if (json_reader_ok(&f->reader))
		demo_take(f, report_remove(f->store, id, by, reason, read_day(f, value)));
}

/* What a steward did with it since. */
static void settle(struct filling *f, const json_t *value, int64_t at)
{
	struct report_id id = f->report[f->reports - 1].id;
	struct member_id steward = demo_member(f, DEMO_STEWARD);
	const char *number = json_read_line(&f->reader, value, "notice", NAME_LONGEST);
	const char *other = json_read_line(&f->reader, value, "merged_into", TITLE_LONGEST);
	struct notice_id notice = {0};

	if (*number)
		notice = demo_notice(f, number);
	if (notice.v && json_reader_ok(&f->reader))
		demo_take(f, report_link(f->store, id, notice, steward, at));
	if (*other && json_reader_ok(&f->reader))
		demo_take(f, report_merge(f->store, id, find_report(f, other), steward, at));
}

/* The state that it is in now has been told at that time. */
static enum status tell_state(struct filling *f, const struct report_change *change, int64_t at)
{
	struct text words = TEXT_EMPTY;
	enum status status = ST_NOMEM;

	if (change->now == REPORT_TOLD_MERGED) {
		text_add(&words, "Put together with another report.");
	} else {
		text_printf(&words, "Now %s. ", report_state_words((enum report_state)change->now));
		report_state_reason(&change->tally, change->now == REPORT_SETTLED, &words);
	}
	if (!text_failed(&words))
		status = news_tell_state(f->store, change, text_string(&words), at);
	text_free(&words);
	return status;
}

static void told_of_state(struct filling *f, struct report_id id, int64_t at)
{
	const struct report_change *changes = NULL;
	size_t count = 0;

	if (json_reader_ok(&f->reader))
		demo_take(f,
		          news_reports_changed(f->store, f->reader.arena,
		                               (struct report_id){id.v - 1}, 1, &changes, &count));
	if (count && changes[0].id.v == id.v)
		demo_take(f, tell_state(f, &changes[0], at));
}

/* What is old has been told. */
static void tell_no_more(struct filling *f, struct report_id id, int64_t at)
{
	if (json_reader_ok(&f->reader) && at < f->news_from)
		demo_take(f, news_tell_report(f->store, id, NULL, 0, at));
}

static void add_report(struct filling *f, const json_t *value)
{
	struct report_content content = {.title = ""};
	struct picture_of of = {.note = {0}};
	struct member_id author;
	enum credit credit;
	struct kit_id kit;
	int64_t at;

	if (!json_check_keys(&f->reader, value, report_keys))
		return;
	author = demo_member(f, json_read_line(&f->reader, value, "by", LOGIN_LONGEST));
	kit = find_kit(f, value, author);
	credit = (enum credit)read_word(f, value, "credit", credits);
	at = read_day(f, value);
	read_content(f, value, kit, &content);
	if (json_reader_ok(&f->reader))
		demo_take(f, report_add(f->store, &content, kit, author, credit, at, &of.report));
	if (!json_reader_ok(&f->reader))
		return;
	f->report[f->reports++] = (struct filled_report){of.report, content.title};
	demo_add_pictures(f, &of, author, value);
	tell_no_more(f, of.report, at);
	f->last_at = at;
	demo_add_each(f, value, "findings", add_finding);
	settle(f, value, f->last_at);
	told_of_state(f, of.report, f->last_at);
	remove_report(f, json_read_object(&f->reader, value, "removed"));
}

/* A member calls a steward to a note, by its place in the file, or to a report. */
static void add_call(struct filling *f, const json_t *value)
{
	struct call_to to = {.note = {0}};
	struct member_id by;
	struct call_id id;
	int64_t note = 0;

	if (!json_check_keys(&f->reader, value, call_keys))
		return;
	by = demo_member(f, json_read_line(&f->reader, value, "by", LOGIN_LONGEST));
	if (json_read_count(&f->reader, value, "note", &note) && note >= 1 &&
	    (size_t)note <= f->notes)
		to.note = f->note[note - 1];
	else
		to.report =
		        find_report(f, json_read_line(&f->reader, value, "report", TITLE_LONGEST));
	if (json_reader_ok(&f->reader))
		demo_take(f, call_add(f->store, &to, by,
		                      json_read_text(&f->reader, value, "reason", 2000),
		                      read_day(f, value), &id));
}

void demo_add_reports(struct filling *f, const json_t *file)
{
	size_t count = json_array_size(json_object_get(file, "reports"));

	if (!json_check_keys(&f->reader, file, file_keys))
		return;
	f->news_from = demo_noon(f, json_read_date(&f->reader, file, "news_from").date);
	f->reports = 0;
	f->report = ARENA_ARRAY(f->reader.arena, struct filled_report, count);
	if (f->report)
		demo_add_each(f, file, "reports", add_report);
	else
		demo_take(f, ST_NOMEM);
	demo_add_each(f, file, "calls", add_call);
}

/* ---- news ---- */

/* The newest that is old; 0 when there is none. */
static int64_t last_old(struct filling *f, struct member_id member)
{
	const struct news *list = NULL;
	size_t count = 0;

	if (json_reader_ok(&f->reader))
		demo_take(f, news_list(f->store, f->reader.arena, member, 0, 1000, &list, &count));
	for (size_t i = 0; i < count; i++)
		if (list[i].at < f->news_from)
			return list[i].id;
	return 0;
}

void demo_read_old_news(struct filling *f)
{
	struct page page = {1000, 0};
	const struct member *members = NULL;
	size_t count = 0;
	int64_t total;

	if (json_reader_ok(&f->reader))
		demo_take(f,
		          member_list(f->store, f->reader.arena, page, &members, &count, &total));
	for (size_t i = 0; i < count; i++) {
		int64_t id = last_old(f, members[i].id);

		if (id && json_reader_ok(&f->reader))
			demo_take(f, news_mark_seen(f->store, members[i].id, id));
	}
}
