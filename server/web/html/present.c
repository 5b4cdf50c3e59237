/* present.c - words, rows and tables that pages share. Each presenter packs one
 * object; json_pack gives back what it took when any of it is NULL.
 */
#include "web/html/due_view.h"
#include "web/html/names.h"
#include "web/html/present.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

#include "base/text.h"
#include "core/quantity.h"
#include "web/html/drawing.h"
#include "formats/json_text.h"

json_t *present_set(json_t *view, const char *name, json_t *value)
{
	if (!view)
		json_decref(value);
	else if (json_object_set_new(view, name, value) == 0)
		return view;
	json_decref(view);
	return NULL;
}

json_t *present_some(const char *name, json_t *list)
{
	if (!list || json_array_size(list) > 0)
		return json_pack("{s:o}", name, list);
	json_decref(list);
	return json_false();
}

json_t *present_append(json_t *array, json_t *item)
{
	if (json_array_append_new(array, item) == 0)
		return array;
	json_decref(array);
	return NULL;
}

json_t *present_text(const char *text)
{
	return text && text[0] ? json_string(text) : json_false();
}

json_t *present_name(const struct name *name)
{
	return name_is_empty(name) ? json_false() : json_string(name->text);
}

json_t *present_date(const struct date *date)
{
	char iso[DATE_TEXT_SIZE], words[DATE_WORDS_SIZE];

	date_print(*date, iso);
	date_words(*date, words);
	return json_pack("{s:s, s:s}", "iso", iso, "words", words);
}

json_t *present_day(day_number day)
{
	struct date date = date_of_day(day);

	return present_date(&date);
}

json_t *present_time(int64_t seconds)
{
	return present_day((day_number)(seconds / 86400));
}

json_t *present_utc(int64_t seconds)
{
	time_t when = (time_t)seconds;
	struct tm parts;
	char out[32];

	if (!gmtime_r(&when, &parts) ||
	    strftime(out, sizeof out, "%Y-%m-%dT%H:%M:%SZ", &parts) == 0)
		return json_null();
	return json_string(out);
}

json_t *present_date_text(const char *typed)
{
	struct date date;

	if (date_parse(typed, strlen(typed), &date) != ST_OK)
		return json_false();
	return present_date(&date);
}

json_t *present_hours(int64_t hours)
{
	struct text out = TEXT_EMPTY;

	hours_print(hours, &out);
	return json_take_text(&out);
}

/* A class name: the words with - for blanks. */
static json_t *word_and_class(const char *word)
{
	char css[40];
	size_t i;

	for (i = 0; word[i] && i + 1 < sizeof css; i++)
		css[i] = word[i] == ' ' ? '-' : word[i];
	css[i] = '\0';
	return json_pack("{s:s, s:s}", "word", word, "css", css);
}

json_t *present_force(enum force force)
{
	return word_and_class(force_words(force));
}

json_t *present_kind(enum notice_kind kind)
{
	return word_and_class(notice_kind_words(kind));
}

json_t *present_disposition(enum disposition disposition)
{
	return word_and_class(disposition_words(disposition));
}

static json_t *with_line(json_t *word, const char *line)
{
	if (word && json_object_set_new(word, "line", json_string(line)) == 0)
		return word;
	json_decref(word);
	return NULL;
}

json_t *present_standing(enum standing_kind kind)
{
	const char *line = "solid";

	if (kind == STANDING_NOT_EFFECTIVE || kind == STANDING_REPLACED)
		line = "phantom";
	else if (kind == STANDING_ASK)
		line = "hidden-line";
	return with_line(word_and_class(standing_words(kind)), line);
}

json_t *present_truth(enum truth answer)
{
	static const char *const words[] = {"not effective", "cannot tell", "applies"};
	static const char *const lines[] = {"phantom", "hidden-line", "solid"};

	return with_line(word_and_class(words[answer]), lines[answer]);
}

json_t *present_revision_words(const char *label)
{
	return label[0] ? json_sprintf("revision %s", label) : json_string("original issue");
}

static json_t *notice_url(struct notice_id id)
{
	return json_sprintf("/notices/%lld", (long long)id.v);
}

json_t *present_row(const struct notice_row *row)
{
	return json_pack("{s:o, s:s, s:o, s:b, s:s, s:s, s:o, s:o, s:o, s:o, s:b, s:b}", "url",
	                 notice_url(row->id), "number", row->number, "revision",
	                 present_revision_words(row->revision), "labelled", row->revision[0] != 0,
	                 "title", row->title, "issuer", row->issuer, "kind",
	                 present_kind(row->kind), "force", present_force(row->force), "issued",
	                 present_date_text(row->issued), "cancelled",
	                 present_date_text(row->cancelled_on), "why", 0, "standing", 0);
}

json_t *present_entry(const struct catalogue_entry *entry)
{
	const struct notice *notice = &entry->notice;
	bool labelled = !name_is_empty(&notice->revision);

	return json_pack("{s:o, s:s, s:o, s:b, s:s, s:s, s:o, s:o, s:o, s:o, s:b, s:b}", "url",
	                 notice_url(notice->id), "number", notice->number.text, "revision",
	                 present_revision_words(labelled ? notice->revision.text : ""), "labelled",
	                 labelled, "title", notice->title, "issuer", notice->issuer, "kind",
	                 present_kind(notice->kind), "force", present_force(notice->force),
	                 "issued", present_date(&notice->issued), "cancelled",
	                 notice->cancelled ? present_date(&notice->cancelled_on) : json_false(),
	                 "why", 0, "standing", 0);
}

/* Adds "?name=value" or "&name=value". */
static void add_field(struct text *out, const char *name, const char *value)
{
	text_add_char(out, strchr(text_string(out), '?') ? '&' : '?');
	http_escape(out, name);
	text_add_char(out, '=');
	http_escape(out, value);
}

json_t *present_part_url(const char *number)
{
	struct text out = TEXT_EMPTY;

	text_add(&out, "/part");
	add_field(&out, "number", number);
	return json_take_text(&out);
}

json_t *present_step_url(const char *model, const char *code)
{
	struct text out = TEXT_EMPTY;

	text_add(&out, "/step");
	if (*model)
		add_field(&out, "model", model);
	add_field(&out, "code", code);
	return json_take_text(&out);
}

static json_t *part_url_if(const char *number)
{
	return *number ? present_part_url(number) : json_false();
}

static json_t *line_view(const struct line_text *line)
{
	return json_pack("{s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "part", line->part, "part_url",
	                 part_url_if(line->part), "position", present_text(line->position),
	                 "disposition", present_disposition(line->disposition), "replacement",
	                 present_text(line->replacement), "replacement_url",
	                 part_url_if(line->replacement), "lots", present_text(line->lots), "remark",
	                 present_text(line->remark));
}

json_t *present_lines(const struct line_text *lines, size_t count)
{
	json_t *view = json_array();

	for (size_t i = 0; view && i < count; i++)
		view = present_append(view, line_view(&lines[i]));
	return view;
}

static json_t *material_view(const struct material_text *material)
{
	return json_pack("{s:s, s:o, s:o, s:o, s:o}", "item", material->item, "quantity",
	                 present_text(material->quantity), "remark", present_text(material->remark),
	                 "part", present_text(material->part), "cut", present_text(material->cut));
}

json_t *present_material(const struct material_text *material, size_t count)
{
	json_t *view = json_array();

	for (size_t i = 0; view && i < count; i++)
		view = present_append(view, material_view(&material[i]));
	return view;
}

/* A notice that the catalogue does not hold is a number and no link. */
static json_t *link_view(const struct catalogue_entry *entry, const char *number)
{
	if (!entry)
		return json_pack("{s:s, s:b, s:b}", "number", number, "url", 0, "title", 0);
	return json_pack("{s:s, s:o, s:s}", "number", entry->notice.number.text, "url",
	                 notice_url(entry->notice.id), "title", entry->notice.title);
}

json_t *present_link(const struct catalogue *catalogue, const char *number)
{
	struct arena *arena = arena_new();
	const struct catalogue_entry *entry = NULL;
	struct name name;
	json_t *view = NULL;

	if (arena && name_make(arena, number, strlen(number), &name) == ST_OK) {
		entry = catalogue ? catalogue_find(catalogue, &name) : NULL;
		view = link_view(entry, number);
	}
	arena_free(arena);
	return view;
}

json_t *present_links(const struct catalogue *catalogue, const struct text_list *numbers)
{
	json_t *view = json_array();

	for (size_t i = 0; view && i < numbers->count; i++)
		view = present_append(view, present_link(catalogue, numbers->at[i]));
	return view;
}

static json_t *size_words(int64_t size)
{
	if (size < 1000000)
		return json_sprintf("%lld kB", (long long)(size + 999) / 1000);
	return json_sprintf("%.1f MB", (double)size / 1e6);
}

static json_t *attachment_view(const struct attachment *attachment)
{
	return json_pack("{s:o, s:s, s:o, s:b}", "url",
	                 json_sprintf("/notices/%lld/files/%lld", (long long)attachment->notice.v,
	                              (long long)attachment->id.v),
	                 "name", attachment->name, "size", size_words(attachment->size), "picture",
	                 strncmp(attachment->mime, "image/", 6) == 0);
}

json_t *present_attachments(const struct attachment *attachments, size_t count)
{
	json_t *view = json_array();

	for (size_t i = 0; view && i < count; i++)
		view = present_append(view, attachment_view(&attachments[i]));
	return view;
}

/* ---- text with paragraphs ---- */

enum line_kind { PROSE_BLANK, PROSE_WORK, PROSE_BULLET, PROSE_WORDS };

struct prose {
	json_t *blocks;      /* finished ones */
	json_t *items;       /* work steps or bullets of the block at hand */
	enum line_kind kind; /* of the block at hand; PROSE_BLANK: none */
	struct text words;   /* paragraph or item at hand */
	char tag[8];         /* of the work step at hand */
};

/* Length of "12. " at the start of a line, 0 when it has none. */
static size_t tag_length(const char *line, size_t len)
{
	size_t digits = strspn(line, "0123456789");

	if (digits == 0 || digits > 3 || digits + 1 >= len || line[digits] != '.')
		return 0;
	return line[digits + 1] == ' ' ? digits + 2 : 0;
}

static enum line_kind kind_of_line(const char *line, size_t len)
{
	if (strspn(line, " \t") >= len)
		return PROSE_BLANK;
	if (tag_length(line, len))
		return PROSE_WORK;
	if (len > 2 && (line[0] == '-' || line[0] == '*') && line[1] == ' ')
		return PROSE_BULLET;
	return PROSE_WORDS;
}

static json_t *item_view(const struct prose *prose)
{
	if (prose->kind == PROSE_WORK)
		return json_pack("{s:s, s:s}", "tag", prose->tag, "text",
		                 text_string(&prose->words));
	return json_string(text_string(&prose->words));
}

static void end_item(struct prose *prose)
{
	bool item = prose->kind == PROSE_WORK || prose->kind == PROSE_BULLET;

	if (item && prose->items)
		prose->items = present_append(prose->items, item_view(prose));
	if (item)
		text_clear(&prose->words);
}

static json_t *block_view(const struct prose *prose)
{
	bool work = prose->kind == PROSE_WORK, bullets = prose->kind == PROSE_BULLET;
	json_t *paragraph =
	        work || bullets ? json_false() : json_string(text_string(&prose->words));

	return json_pack("{s:o, s:b, s:b, s:o, s:o}", "paragraph", paragraph, "has_work", work,
	                 "has_bullets", bullets, "work",
	                 work ? json_incref(prose->items) : json_null(), "bullets",
	                 bullets ? json_incref(prose->items) : json_null());
}

static void end_block(struct prose *prose)
{
	if (prose->kind == PROSE_BLANK)
		return;
	end_item(prose);
	if (prose->blocks)
		prose->blocks = present_append(prose->blocks, block_view(prose));
	json_decref(prose->items);
	prose->items = json_array();
	prose->words.failed |= !prose->items;
	text_clear(&prose->words);
	prose->kind = PROSE_BLANK;
}

static void begin_line(struct prose *prose, enum line_kind kind)
{
	if (prose->kind != kind)
		end_block(prose);
	else
		end_item(prose);
	prose->kind = kind;
}

static void take_line(struct prose *prose, const char *line, size_t len)
{
	enum line_kind kind = kind_of_line(line, len);
	size_t skip = kind == PROSE_WORK ? tag_length(line, len) : 2;

	if (kind == PROSE_BLANK) {
		end_block(prose);
		return;
	}
	if (kind == PROSE_WORDS) {
		if (prose->kind == PROSE_BLANK)
			prose->kind = PROSE_WORDS;
		else
			text_add_char(&prose->words, '\n');
		text_add_bytes(&prose->words, line, len);
		return;
	}
	begin_line(prose, kind);
	if (kind == PROSE_WORK)
		snprintf(prose->tag, sizeof prose->tag, "%.*s", (int)(skip - 2), line);
	text_add_bytes(&prose->words, line + skip, len - skip);
}

json_t *present_prose(const char *text)
{
	struct prose prose = {.blocks = json_array(), .items = json_array(), .words = TEXT_EMPTY};
	json_t *view = NULL;

	prose.words.failed = !prose.items;
	while (*text) {
		size_t len = strcspn(text, "\n");

		take_line(&prose, text, len);
		text += len + (text[len] == '\n');
	}
	end_block(&prose);
	if (!text_failed(&prose.words) && prose.blocks && prose.items)
		view = json_array_size(prose.blocks) ? json_pack("{s:O}", "prose", prose.blocks)
		                                     : json_false();
	json_decref(prose.blocks);
	json_decref(prose.items);
	text_free(&prose.words);
	return view;
}

/* ---- whole revisions ---- */

json_t *present_title_block(const struct revision_content *content, unsigned sheet, unsigned sheets)
{
	return json_pack("{s:s, s:o, s:s, s:s, s:o, s:o, s:o, s:i, s:i}", "number", content->number,
	                 "revision", present_revision_words(content->revision), "title",
	                 content->title, "issuer", content->issuer, "kind",
	                 present_kind(content->kind), "force", present_force(content->force),
	                 "issued", present_date_text(content->issued), "sheet", (int)sheet,
	                 "sheets", (int)sheets);
}

/* {"words": sentence or false, "drawing": view or false, "text": as typed} */
static json_t *effectivity_view(const char *typed, const struct effectivity *statement,
                                const struct facts *facts)
{
	struct text sentence = TEXT_EMPTY;

	if (!statement)
		return json_pack("{s:b, s:b, s:s}", "words", 0, "drawing", 0, "text", typed);
	effectivity_sentence(statement, &sentence);
	return json_pack("{s:o, s:o, s:s}", "words", json_take_text(&sentence), "drawing",
	                 drawing_view(statement, facts), "text", typed);
}

/* {"links": [...]}, or false when there are none. */
static json_t *links_or_false(json_t *links)
{
	if (links && json_array_size(links) == 0) {
		json_decref(links);
		return json_false();
	}
	return json_pack("{s:o}", "links", links);
}

static json_t *numbers_or_false(const struct catalogue *catalogue, const struct text_list *numbers)
{
	return links_or_false(present_links(catalogue, numbers));
}

static json_t *entries_or_false(const struct catalogue *catalogue, const uint32_t *at,
                                uint32_t count)
{
	json_t *links = json_array();

	for (uint32_t i = 0; links && i < count; i++) {
		const struct catalogue_entry *entry = &catalogue->entries[at[i]];

		links = present_append(links, link_view(entry, entry->notice.number.text));
	}
	return links_or_false(links);
}

/* Adds the members of part to whole; both are given up when either is NULL. */
static json_t *joined(json_t *whole, json_t *part)
{
	int failed = !whole || !part || json_object_update(whole, part);

	json_decref(part);
	if (!failed)
		return whole;
	json_decref(whole);
	return NULL;
}

static json_t *relations_view(const struct catalogue *catalogue, const struct revision *revision)
{
	static const struct catalogue_entry none = {.n_superseded_by = 0};
	const struct catalogue_entry *entry =
	        catalogue ? catalogue_find_id(catalogue, revision->notice) : NULL;
	const struct revision_content *content = &revision->content;

	if (!entry)
		entry = &none;
	return json_pack("{s:o, s:o, s:o, s:o, s:o}", "supersedes",
	                 numbers_or_false(catalogue, &content->supersedes), "requires",
	                 numbers_or_false(catalogue, &content->requires), "terminates",
	                 numbers_or_false(catalogue, &content->terminates), "superseded_by",
	                 entries_or_false(catalogue, entry->superseded_by, entry->n_superseded_by),
	                 "terminated_by",
	                 entries_or_false(catalogue, entry->terminated_by, entry->n_terminated_by));
}

static json_t *credits_view(const struct text_list *labels)
{
	struct text out = TEXT_EMPTY;

	for (size_t i = 0; i < labels->count; i++)
		text_printf(&out, "%s%s", i ? ", " : "",
		            labels->at[i][0] ? labels->at[i] : "the original issue");
	if (labels->count == 0)
		return json_false();
	return json_take_text(&out);
}

/* A notice names steps without their model: its page of the step asks which. */
static json_t *steps_view(const struct text_list *codes)
{
	json_t *list = json_array();

	for (size_t i = 0; list && i < codes->count; i++)
		list = present_append(list, json_pack("{s:s, s:o}", "code", codes->at[i], "url",
		                                      present_step_url("", codes->at[i])));
	return list;
}

static json_t *cancelled_view(const struct revision *revision)
{
	if (!revision->cancelled_on[0])
		return json_false();
	return json_pack("{s:o, s:o}", "on", present_date_text(revision->cancelled_on), "reason",
	                 present_text(revision->cancel_reason));
}

static json_t *checked_view(const struct context *c, const struct revision *revision)
{
	if (revision->state != REVISION_PUBLISHED)
		return json_false();
	return json_pack("{s:s, s:s, s:o}", "by", name_of_steward(c, revision->publisher_name),
	                 "editor", name_of_steward(c, revision->editor_name), "on",
	                 present_time(revision->published_at));
}

static json_t *content_view(const struct revision *revision)
{
	const struct revision_content *content = &revision->content;

	return json_pack("{s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}",
	                 "number", content->number, "name", content->title, "issuer",
	                 content->issuer, "kind", present_kind(content->kind), "force",
	                 present_force(content->force), "revision",
	                 present_revision_words(content->revision), "issued",
	                 present_date_text(content->issued), "problem",
	                 present_prose(content->problem), "action", present_prose(content->action),
	                 "compliance", present_prose(content->compliance), "due",
	                 due_sentence_view(content->due), "source", present_text(content->source),
	                 "plans_carry", present_date_text(content->plans_carry));
}

static json_t *lists_view(const struct context *c, const struct revision *revision)
{
	const struct revision_content *content = &revision->content;
	unsigned sheets = 1 + (unsigned)revision->n_attachments;

	return json_pack(
	        "{s:o, s:b, s:o, s:b, s:o, s:b, s:o, s:b, s:o, s:o, s:o, s:o}", "lines",
	        present_lines(content->lines, content->n_lines), "has_lines", content->n_lines > 0,
	        "material", present_material(content->material, content->n_material),
	        "has_material", content->n_material > 0, "attachments",
	        present_attachments(revision->attachments, revision->n_attachments),
	        "has_attachments", revision->n_attachments > 0, "steps",
	        steps_view(&content->steps), "has_steps", content->steps.count > 0, "credits",
	        credits_view(&content->credits), "cancelled", cancelled_view(revision), "checked",
	        checked_view(c, revision), "title_block", present_title_block(content, 1, sheets));
}

json_t *present_revision(const struct context *c, const struct revision *revision,
                         const struct effectivity *statement, const struct facts *facts)
{
	json_t *view = joined(content_view(revision), lists_view(c, revision));

	view = joined(view, relations_view(c->catalogue, revision));
	return joined(view,
	              json_pack("{s:o}", "effectivity",
	                        effectivity_view(revision->content.effectivity, statement, facts)));
}

/* ---- paging and hints ---- */

json_t *present_url_with(const char *path, const struct http_fields *query, const char *name,
                         const char *value)
{
	struct text out = TEXT_EMPTY;

	text_add(&out, path);
	for (size_t i = 0; i < query->count; i++) {
		const struct http_field *field = &query->at[i];

		if (strcmp(field->name, "page") != 0 && strcmp(field->name, name) != 0 &&
		    field->value[0])
			add_field(&out, field->name, field->value);
	}
	add_field(&out, name, value);
	return json_take_text(&out);
}

static json_t *page_url(const char *path, const struct http_fields *query, int64_t page)
{
	char number[24];

	snprintf(number, sizeof number, "%lld", (long long)page);
	return present_url_with(path, query, "page", number);
}

json_t *present_pager(const char *path, const struct http_fields *query, const struct page *page,
                      int64_t total)
{
	int64_t number = page->offset / page->limit + 1;
	int64_t last = page->offset + page->limit;

	if (last > total)
		last = total;
	return json_pack("{s:I, s:I, s:I, s:o, s:o}", "from",
	                 (json_int_t)(last > page->offset ? page->offset + 1 : last), "to",
	                 (json_int_t)last, "total", (json_int_t)total, "previous_url",
	                 number > 1 ? page_url(path, query, number - 1) : json_false(), "next_url",
	                 last < total ? page_url(path, query, number + 1) : json_false());
}

json_t *present_hint(json_t *view, const char *name, const char *hint)
{
	json_t *field = json_object_get(view, name);
	size_t i;
	json_t *row;
	int failed = 0;

	if (json_is_object(field))
		failed = json_object_set_new(field, "hint", json_string(hint));
	json_array_foreach(field, i, row)
	{
		failed |= json_object_set_new(row, "hint", json_string(hint));
	}
	if (!failed)
		return view;
	json_decref(view);
	return NULL;
}
