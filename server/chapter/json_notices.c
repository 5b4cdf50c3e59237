#include "chapter/json_notices.h"

#include <string.h>

#include "core/effectivity.h"
#include "core/quantity.h"

#define LIST_MOST REVISION_LIST_LONGEST

static const char *const file_keys[] = {"format", "notices", NULL};
static const char *const notice_keys[] = {"number",    "issuer",    "kind",
                                          "revisions", "cancelled", NULL};
static const char *const cancel_keys[] = {"on", "reason", NULL};
#define KEY(member, key, ...) key,
static const char *const revision_keys[] = {REVISION_TEXTS(KEY) "revision",
                                            "force",
                                            "lines",
                                            "material",
                                            "steps",
                                            "supersedes",
                                            "requires",
                                            "terminates",
                                            "credits",
                                            NULL};
static const char *const line_keys[] = {"part", "position", "disposition", "replacement",
                                        "lots", "remark",   NULL};
static const char *const material_keys[] = {"item", "quantity", "remark", "part", "cut", NULL};

/* Room for a list, not longer than the store takes. */
static void *list_room(struct json_reader *reader, const json_t *list, const char *key, size_t size)
{
	void *at = arena_array(reader->arena, json_array_size(list), size);

	if (json_array_size(list) > LIST_MOST)
		json_fail_at(reader, key, "has more than %d entries", LIST_MOST);
	if (!at && json_reader_ok(reader))
		reader->status = ST_NOMEM;
	return at;
}

/* ---- fields of a revision ---- */

/* may_be_empty: credits name an original issue without a label by "". */
static struct text_list read_names(struct json_reader *reader, const json_t *object,
                                   const char *key, bool may_be_empty)
{
	const json_t *list = json_read_array(reader, object, key);
	const char **names = list_room(reader, list, key, sizeof *names);
	size_t mark = json_enter(reader, key);

	for (size_t i = 0; i < json_array_size(list) && json_reader_ok(reader); i++) {
		size_t inner = json_enter_index(reader, i);

		names[i] = json_name_of(reader, json_array_get(list, i)).text;
		if (json_reader_ok(reader) && !names[i][0] && !may_be_empty)
			json_fail(reader, "is empty");
		json_leave(reader, inner);
	}
	json_leave(reader, mark);
	return (struct text_list){names, json_array_size(list)};
}

/* A date as typed, "" when absent. */
static const char *read_date_text(struct json_reader *reader, const json_t *object, const char *key)
{
	struct date_fact fact = json_read_date(reader, object, key);

	return fact.state == DATE_KNOWN ? json_read_line(reader, object, key, DATE_TEXT_SIZE) : "";
}

/* What a parser says of a text of several lines. */
static void check_parsed(struct json_reader *reader, const char *key, enum status status,
                         const struct statement_fault *fault)
{
	if (status == ST_INVALID)
		json_fail_at(reader, key, "line %u, column %u: expected %s", fault->line,
		             fault->column, fault->expected);
	else if (status != ST_OK && json_reader_ok(reader))
		reader->status = status;
}

static void check_statement(struct json_reader *reader, const char *text)
{
	const struct effectivity *statement;
	struct statement_fault fault;
	enum status status =
	        effectivity_parse(reader->arena, text, strlen(text), &statement, &fault);

	check_parsed(reader, "effectivity", status, &fault);
}

static void check_due(struct json_reader *reader, const char *text)
{
	const struct due_statement *due;
	struct statement_fault fault;
	enum status status = due_parse(reader->arena, text, strlen(text), &due, &fault);

	check_parsed(reader, "due", status, &fault);
}

static void check_lots(struct json_reader *reader, const char *text)
{
	const struct serial_range *lots;
	struct statement_fault fault;
	size_t count;
	enum status status =
	        effectivity_parse_lots(reader->arena, text, strlen(text), &lots, &count, &fault);

	if (status == ST_INVALID)
		json_fail_at(reader, "lots", "column %u: expected %s", fault.column,
		             fault.expected);
	else if (status != ST_OK && json_reader_ok(reader))
		reader->status = status;
}

static void read_line(struct json_reader *reader, const json_t *value, void *to)
{
	struct line_text *out = to;
	const char *words;

	json_need(reader, value, "part");
	json_need(reader, value, "disposition");
	out->part = json_read_name(reader, value, "part").text;
	out->position = json_read_name(reader, value, "position").text;
	out->replacement = json_read_name(reader, value, "replacement").text;
	out->lots = json_read_line(reader, value, "lots", 200);
	out->remark = json_read_line(reader, value, "remark", 500);
	words = json_read_line(reader, value, "disposition", 20);
	if (json_reader_ok(reader) && !disposition_from_words(words, &out->disposition))
		json_fail_at(reader, "disposition",
		             "must be rework, replace, scrap, use as is or inspect");
	check_lots(reader, out->lots);
}

static const struct json_elements lines_list = {"lines", sizeof(struct line_text), LIST_MOST,
                                                line_keys, read_line};

static void check_cuts(struct json_reader *reader, const char *text)
{
	const struct cut *cuts;
	struct cuts_fault fault;
	size_t count;
	enum status status;

	if (!json_reader_ok(reader) || !*text)
		return;
	status = cuts_parse(reader->arena, text, &cuts, &count, &fault);
	if (status == ST_INVALID)
		json_fail_at(reader, "cut", "column %zu: %s", fault.column, fault.words);
	else if (status != ST_OK)
		reader->status = status;
}

static void read_material(struct json_reader *reader, const json_t *value, void *to)
{
	struct material_text *out = to;

	json_need(reader, value, "item");
	out->item = json_read_line(reader, value, "item", 120);
	out->quantity = json_read_line(reader, value, "quantity", 40);
	out->remark = json_read_line(reader, value, "remark", 500);
	out->part = json_read_name(reader, value, "part").text;
	out->cut = json_read_line(reader, value, "cut", 500);
	check_cuts(reader, out->cut);
}

static const struct json_elements material_list = {"material", sizeof(struct material_text),
                                                   LIST_MOST, material_keys, read_material};

static void need_all(struct json_reader *reader, const json_t *object)
{
	static const char *const needed[] = {"issued", "title",       "force",
	                                     "action", "effectivity", NULL};

	if (!json_object_get(object, "revision"))
		json_fail_at(reader, "revision", "is needed, \"\" for an issue without a label");
	for (size_t i = 0; needed[i]; i++)
		json_need(reader, object, needed[i]);
}

static const char *read_row(struct json_reader *reader, const json_t *object,
                            const struct revision_text *text)
{
	switch (text->kind) {
	case TEXT_LINE:
		return json_read_line(reader, object, text->key, text->longest);
	case TEXT_DATE:
		return read_date_text(reader, object, text->key);
	case TEXT_PROSE:
	case TEXT_STATEMENT:
	case TEXT_DUE:
		break;
	}
	return json_read_text(reader, object, text->key, text->longest);
}

static void read_texts(struct json_reader *reader, const json_t *object,
                       struct revision_content *out)
{
	const char *force = json_read_line(reader, object, "force", 20);

	out->revision = json_read_name(reader, object, "revision").text;
	for (size_t i = 0; i < REVISION_TEXT_COUNT; i++)
		*revision_text_at(out, &revision_texts[i]) =
		        read_row(reader, object, &revision_texts[i]);
	if (json_reader_ok(reader) && !force_from_words(force, &out->force))
		json_fail_at(reader, "force", "must be mandatory, recommended or optional");
}

static void read_revision(struct json_reader *reader, const json_t *value,
                          struct revision_content *out)
{
	if (!json_check_keys(reader, value, revision_keys))
		return;
	need_all(reader, value);
	read_texts(reader, value, out);
	out->lines = json_read_elements(reader, value, &lines_list, &out->n_lines);
	out->material = json_read_elements(reader, value, &material_list, &out->n_material);
	out->steps = read_names(reader, value, "steps", false);
	out->supersedes = read_names(reader, value, "supersedes", false);
	out->requires = read_names(reader, value, "requires", false);
	out->terminates = read_names(reader, value, "terminates", false);
	out->credits = read_names(reader, value, "credits", true);
	if (json_reader_ok(reader))
		check_statement(reader, out->effectivity);
	if (json_reader_ok(reader))
		check_due(reader, out->due);
}

/* ---- notices ---- */

static void read_cancelled(struct json_reader *reader, const json_t *object,
                           struct notice_import *out)
{
	const json_t *value = json_read_object(reader, object, "cancelled");
	size_t mark = json_enter(reader, "cancelled");

	out->cancelled_on = out->cancel_reason = "";
	if (value && json_check_keys(reader, value, cancel_keys)) {
		json_need(reader, value, "on");
		out->cancelled_on = read_date_text(reader, value, "on");
		out->cancel_reason = json_read_text(reader, value, "reason", 2000);
	}
	json_leave(reader, mark);
}

static void read_head(struct json_reader *reader, const json_t *object,
                      struct revision_content *out)
{
	const char *kind = json_read_line(reader, object, "kind", 40);

	json_need(reader, object, "number");
	json_need(reader, object, "issuer");
	out->number = json_read_name(reader, object, "number").text;
	out->issuer = json_read_line(reader, object, "issuer", NAME_LONGEST);
	if (json_reader_ok(reader) && !notice_kind_from_words(kind, &out->kind))
		json_fail_at(reader, "kind",
		             "must be service bulletin, service letter, safety directive, plans "
		             "change or chapter advisory");
}

/* Labels told apart, credits that name earlier ones. */
static void check_labels(struct json_reader *reader, const struct revision_content *revisions,
                         size_t i)
{
	for (size_t k = 0; k < i; k++)
		if (strcasecmp(revisions[k].revision, revisions[i].revision) == 0)
			json_fail_at(reader, "revision", "is the label of an earlier revision");
	for (size_t c = 0; c < revisions[i].credits.count; c++) {
		bool found = false;

		for (size_t k = 0; k < i; k++)
			found = found ||
			        strcasecmp(revisions[k].revision, revisions[i].credits.at[c]) == 0;
		if (!found)
			json_fail_at(reader, "credits",
			             "names \"%.40s\", which is no earlier revision",
			             revisions[i].credits.at[c]);
	}
}

static void read_revisions(struct json_reader *reader, const json_t *object,
                           const struct revision_content *head, struct notice_import *out)
{
	const json_t *list = json_read_array(reader, object, "revisions");
	struct revision_content *revisions =
	        list_room(reader, list, "revisions", sizeof *revisions);
	size_t mark = json_enter(reader, "revisions");

	if (json_array_size(list) == 0)
		json_fail(reader, "needs at least one revision");
	for (size_t i = 0; i < json_array_size(list) && json_reader_ok(reader); i++) {
		size_t inner = json_enter_index(reader, i);

		revisions[i] = *head;
		read_revision(reader, json_array_get(list, i), &revisions[i]);
		if (json_reader_ok(reader))
			check_labels(reader, revisions, i);
		json_leave(reader, inner);
	}
	json_leave(reader, mark);
	out->revisions = revisions;
	out->n_revisions = json_array_size(list);
}

static void read_notice(struct json_reader *reader, const json_t *value, struct notice_import *out)
{
	struct revision_content head = revision_content_empty;

	if (!json_check_keys(reader, value, notice_keys))
		return;
	read_head(reader, value, &head);
	read_revisions(reader, value, &head, out);
	read_cancelled(reader, value, out);
}

/* ---- the file as a whole ---- */

static struct name *names_of(struct json_reader *reader, const struct text_list *list)
{
	struct name *names = arena_array(reader->arena, list->count, sizeof *names);

	for (size_t i = 0; names && i < list->count; i++)
		names[i] = json_name_of_text(reader, list->at[i]);
	if (!names)
		reader->status = ST_NOMEM;
	return names;
}

/* As much of a notice as the links need. */
static struct notice linked_notice(struct json_reader *reader, const struct notice_import *import)
{
	const struct revision_content *content = &import->revisions[import->n_revisions - 1];
	struct notice notice = {.cancelled = import->cancelled_on[0] != '\0'};

	notice.number = json_name_of_text(reader, content->number);
	notice.supersedes = names_of(reader, &content->supersedes);
	notice.n_supersedes = content->supersedes.count;
	notice.requires = names_of(reader, &content->requires);
	notice.n_requires = content->requires.count;
	return notice;
}

/* A search has a mark for each notice of the catalogue: all of them together in one
 * arena would grow with the square of the file. */
static void check_circle(struct json_reader *reader, struct arena *scratch,
                         const struct catalogue *all, const struct notice *notice,
                         enum notice_link link)
{
	bool supersedes = link == LINK_SUPERSEDES;
	const struct name *circle = NULL;
	const struct name *targets = supersedes ? notice->supersedes : notice->requires;
	size_t count = supersedes ? notice->n_supersedes : notice->n_requires;
	enum status status = ST_OK;

	if (count > 0) /* most have none */
		status = catalogue_check_circle(scratch, all, link, &notice->number, targets, count,
		                                &circle);
	arena_reset(scratch);
	if (status == ST_INVALID)
		json_fail(reader, "%s %s, which leads back to it",
		          supersedes ? "supersedes" : "requires", circle->text);
	else if (status != ST_OK && json_reader_ok(reader))
		reader->status = status;
}

static void check_numbers(struct json_reader *reader, const struct catalogue *known,
                          const struct notice *notices, size_t first, size_t count)
{
	const struct catalogue *file;
	enum status status = catalogue_build_unranked(reader->arena, notices + first, count, &file);

	for (size_t i = 0; i < count && json_reader_ok(reader); i++) {
		size_t mark = json_enter_index(reader, i);
		bool twice = catalogue_find(known, &notices[first + i].number) != NULL;

		for (size_t k = 0; status == ST_CONFLICT && !twice && k < i; k++)
			twice = name_equal(&notices[first + k].number, &notices[first + i].number);
		if (twice)
			json_fail_at(reader, "number", "%s is taken already",
			             notices[first + i].number.text);
		json_leave(reader, mark);
	}
	if (status != ST_OK && json_reader_ok(reader))
		reader->status = status;
}

static void check_links(struct json_reader *reader, const struct catalogue *known,
                        const struct json_notices *file)
{
	size_t total = known->count + file->count;
	struct notice *notices = arena_array(reader->arena, total, sizeof *notices);
	const struct catalogue *all;
	struct arena *scratch;
	enum status status;

	if (!notices) {
		reader->status = ST_NOMEM;
		return;
	}
	for (size_t i = 0; i < known->count; i++)
		notices[i] = known->entries[i].notice;
	for (size_t i = 0; i < file->count; i++)
		notices[known->count + i] = linked_notice(reader, &file->notices[i]);
	check_numbers(reader, known, notices, known->count, file->count);
	if (!json_reader_ok(reader))
		return;
	status = catalogue_build_unranked(reader->arena, notices, total, &all);
	scratch = arena_new();
	if (status == ST_OK && !scratch)
		status = ST_NOMEM;
	if (status != ST_OK)
		reader->status = status;
	for (size_t i = 0; i < file->count && json_reader_ok(reader); i++) {
		size_t mark = json_enter_index(reader, i);

		check_circle(reader, scratch, all, &notices[known->count + i], LINK_SUPERSEDES);
		check_circle(reader, scratch, all, &notices[known->count + i], LINK_REQUIRES);
		json_leave(reader, mark);
	}
	arena_free(scratch);
}

void json_read_notices(struct json_reader *reader, json_t *file, const struct catalogue *known,
                       struct json_notices *out)
{
	const json_t *list;
	struct notice_import *notices;
	size_t mark;

	*out = (struct json_notices){NULL, 0};
	if (!json_check_keys(reader, file, file_keys))
		return;
	if (strcmp(json_read_line(reader, file, "format", 40), "fairlead notices 1") != 0)
		json_fail_at(reader, "format", "must be \"fairlead notices 1\"");
	json_need(reader, file, "notices");
	list = json_read_array(reader, file, "notices");
	notices = arena_array(reader->arena, json_array_size(list), sizeof *notices);
	if (!notices)
		reader->status = ST_NOMEM;
	mark = json_enter(reader, "notices");
	for (size_t i = 0; i < json_array_size(list) && json_reader_ok(reader); i++) {
		size_t inner = json_enter_index(reader, i);

		read_notice(reader, json_array_get(list, i), &notices[i]);
		json_leave(reader, inner);
		/* What is read is not held twice. */
		if (json_array_set_new(json_object_get(file, "notices"), i, json_null()) != 0)
			reader->status = ST_NOMEM;
	}
	*out = (struct json_notices){notices, json_array_size(list)};
	if (json_reader_ok(reader))
		check_links(reader, known, out);
	json_leave(reader, mark);
}

/* ---- writing ---- */

/* "" is left out. */
static int set_text(json_t *object, const char *key, const char *text)
{
	return *text ? json_object_set_new(object, key, json_string(text)) : 0;
}

static int set_list(json_t *object, const char *key, const struct text_list *list)
{
	json_t *array;

	if (list->count == 0)
		return 0;
	array = json_array();
	for (size_t i = 0; i < list->count; i++)
		json_array_append_new(array, json_string(list->at[i]));
	return json_object_set_new(object, key, array);
}

static json_t *line_json(const struct line_text *line)
{
	json_t *object = json_pack("{s:s, s:s}", "part", line->part, "disposition",
	                           disposition_words(line->disposition));

	set_text(object, "position", line->position);
	set_text(object, "replacement", line->replacement);
	set_text(object, "lots", line->lots);
	set_text(object, "remark", line->remark);
	return object;
}

static json_t *material_json(const struct material_text *material)
{
	json_t *object = json_pack("{s:s}", "item", material->item);

	set_text(object, "quantity", material->quantity);
	set_text(object, "remark", material->remark);
	set_text(object, "part", material->part);
	set_text(object, "cut", material->cut);
	return object;
}

static int set_parts(json_t *object, const struct revision_content *content)
{
	json_t *lines = json_array(), *material = json_array();

	for (size_t i = 0; i < content->n_lines; i++)
		json_array_append_new(lines, line_json(&content->lines[i]));
	for (size_t i = 0; i < content->n_material; i++)
		json_array_append_new(material, material_json(&content->material[i]));
	return json_object_set_new(object, "lines", lines) |
	       json_object_set_new(object, "material", material);
}

json_t *json_from_content(const struct revision_content *content)
{
	json_t *object = json_pack("{s:s, s:s}", "revision", content->revision, "force",
	                           force_words(content->force));
	int failed = object ? 0 : -1;

	for (size_t i = 0; i < REVISION_TEXT_COUNT; i++)
		failed |= set_text(object, revision_texts[i].key,
		                   revision_text_of(content, &revision_texts[i]));
	failed |= set_parts(object, content);
	failed |= set_list(object, "steps", &content->steps);
	failed |= set_list(object, "supersedes", &content->supersedes);
	failed |= set_list(object, "requires", &content->requires);
	failed |= set_list(object, "terminates", &content->terminates);
	failed |= set_list(object, "credits", &content->credits);
	if (failed) {
		json_decref(object);
		return NULL;
	}
	return object;
}

json_t *json_from_notice(const struct revision *revisions, size_t count)
{
	const struct revision *newest = &revisions[count - 1];
	json_t *list = json_array();
	json_t *object;

	for (size_t i = 0; i < count; i++)
		json_array_append_new(list, json_from_content(&revisions[i].content));
	object = json_pack("{s:s, s:s, s:s, s:o}", "number", newest->content.number, "issuer",
	                   newest->content.issuer, "kind", notice_kind_words(newest->content.kind),
	                   "revisions", list);
	if (object && newest->cancelled_on[0])
		json_object_set_new(object, "cancelled",
		                    json_pack("{s:s, s:s}", "on", newest->cancelled_on, "reason",
		                              newest->cancel_reason));
	return object;
}
