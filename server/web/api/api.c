#include "web/api/api.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "store/notices.h"
#include "web/http/files.h"
#include "formats/json_facts.h"
#include "web/kits/kit_page.h"
#include "web/notices/notice_search.h"
#include "web/api/api_view.h"
#include "web/html/fact_form.h"
#include "web/http/respond.h"

#define PAGE_USUAL 100

static const char *const orders[] = {"issued", "number", "force", NULL};

const struct input api_notices_inputs[] = {
        {"q", "q", INPUT_LINE, .longest = 200},
        {"part", "part", INPUT_LINE, .longest = 80},
        {"issuer", "issuer", INPUT_LINE, .longest = 80},
        {"model", "model", INPUT_LINE, .longest = 80},
        {"kind", "kind", INPUT_CHOICE, .choices = notice_kinds},
        {"force", "force", INPUT_CHOICE, .choices = notice_forces},
        {"year", "year", INPUT_NUMBER, .min = 1900, .max = 2199},
        {"order", "order", INPUT_CHOICE, .choices = orders},
        API_PAGING,
        INPUTS_END};

const struct input api_check_inputs[] = {
        SINGLE_FACTS(FACT_API_INPUT){"not_flown", "not_flown", INPUT_FLAG},
        {"option", "option", INPUT_NAME, .repeated = true},
        {"without_option", "without_option", INPUT_NAME, .repeated = true},
        {"subkit", "subkit", INPUT_NAME, .repeated = true},
        {"without_subkit", "without_subkit", INPUT_NAME, .repeated = true},
        {"part", "part", INPUT_NAME, .repeated = true},
        {"parts_known", "parts_known", INPUT_FLAG},
        {"standing", "standing", INPUT_CHOICE, .choices = standing_kinds},
        API_PAGING,
        INPUTS_END};

const struct input api_standings_inputs[] = {
        {"standing", "standing", INPUT_CHOICE, .choices = standing_kinds}, API_PAGING, INPUTS_END};

/* ---- paging, RFC 8288 ---- */

struct page api_page(const struct form *form)
{
	int64_t limit = form_number(form, "limit");

	return (struct page){limit ? limit : PAGE_USUAL, form_number(form, "offset")};
}

static void add_link(struct context *c, struct text *out, const char *rel, struct page page,
                     int64_t offset)
{
	text_printf(out, "%s<%s?", out->len ? ", " : "", c->request->path);
	for (size_t i = 0; i < c->request->query.count; i++) {
		const struct http_field *field = &c->request->query.at[i];

		if (strcmp(field->name, "limit") == 0 || strcmp(field->name, "offset") == 0)
			continue;
		http_escape(out, field->name);
		text_add_char(out, '=');
		http_escape(out, field->value);
		text_add_char(out, '&');
	}
	text_printf(out, "limit=%lld&offset=%lld>; rel=\"%s\"", (long long)page.limit,
	            (long long)offset, rel);
}

void api_links(struct context *c, struct page page, int64_t total)
{
	struct text links = TEXT_EMPTY;
	int64_t last = total > 0 ? (total - 1) / page.limit * page.limit : 0;
	int64_t before = page.offset > page.limit ? page.offset - page.limit : 0;

	add_link(c, &links, "first", page, 0);
	if (page.offset > 0)
		add_link(c, &links, "prev", page, before < last ? before : last);
	if (page.offset + page.limit < total)
		add_link(c, &links, "next", page, page.offset + page.limit);
	add_link(c, &links, "last", page, last);
	if (!text_failed(&links))
		response_header(c->arena, c->response, "Link", text_string(&links));
	text_free(&links);
}

/* ---- notices ---- */

enum status api_notices(struct context *c)
{
	struct notice_query query = notice_search_of(c->form, api_page(c->form));
	const struct notice_row *rows;
	size_t count;
	int64_t total;
	json_t *list;
	enum status status;

	if (!form_ok(c->form))
		return respond_invalid(c);
	status = notice_search(c->store, c->arena, &query, &rows, &count, &total);
	if (status != ST_OK)
		return status;
	list = json_array();
	for (size_t i = 0; i < count; i++)
		json_array_append_new(list, api_notice_row(&rows[i]));
	api_links(c, query.page, total);
	return respond_json(c, json_pack("{s:I, s:o}", "total", (json_int_t)total, "notices", list),
	                    CACHE_PUBLIC);
}

enum status api_notice(struct context *c)
{
	struct notice_id id = {context_id(c, "notice")};
	const struct notice_row *rows;
	struct revision *revisions;
	size_t count;
	enum status status = revision_list(c->store, c->arena, id, &rows, &count);

	if (status == ST_OK && count == 0)
		status = ST_MISSING;
	if (status != ST_OK)
		return status;
	revisions = ARENA_ARRAY(c->arena, struct revision, count);
	if (!revisions)
		return ST_NOMEM;
	for (size_t i = 0; status == ST_OK && i < count; i++)
		status = revision_read(c->store, c->arena, rows[count - 1 - i].revision_id,
		                       &revisions[i]);
	if (status != ST_OK)
		return status;
	return respond_json(c, api_notice_whole(c->catalogue, revisions, count), CACHE_PUBLIC);
}

/* ---- standings ---- */

/* Which standings are asked for, and what was found so far. */
struct gathering {
	int wanted; /* enum standing_kind, -1: all */
	struct page page;
	json_t *list;
	int64_t total;
};

static void gather(struct gathering *g, const struct catalogue_entry *entry,
                   const struct standing *standing, const struct kit_state *kit)
{
	if (g->wanted >= 0 && (int)standing->kind != g->wanted)
		return;
	if (g->total >= g->page.offset && g->total < g->page.offset + g->page.limit)
		json_array_append_new(g->list, api_standing(entry, standing, kit));
	g->total++;
}

static enum status respond_gathered(struct context *c, const struct gathering *g, json_t *facts,
                                    enum cache_class cache)
{
	api_links(c, g->page, g->total);
	return respond_json(c,
	                    json_pack("{s:I, s:o, s:o, s:s}", "total", (json_int_t)g->total,
	                              "facts", facts, "standings", g->list, "caution", api_caution),
	                    cache);
}

static struct gathering gathering_of(const struct form *form)
{
	return (struct gathering){.wanted = form_choice(form, "standing"),
	                          .page = api_page(form),
	                          .list = json_array()};
}

static void add_options(struct context *c, const char *name, bool fitted,
                        struct option_fact *options, struct facts *facts)
{
	for (size_t i = 0; i < form_count(c->form, name); i++) {
		const struct form_value *value = form_value(c->form, name, i);

		if (!value->given)
			continue;
		if (facts_option(facts, &value->name))
			form_fail_row(c->form, name, i, "names an option that was given already");
		options[facts->n_options++] = (struct option_fact){value->name, fitted};
	}
}

static void add_subkits(struct context *c, const char *name, bool received,
                        struct subkit_fact *subkits, struct facts *facts)
{
	for (size_t i = 0; i < form_count(c->form, name); i++) {
		const struct form_value *value = form_value(c->form, name, i);

		if (!value->given)
			continue;
		if (facts_subkit(facts, &value->name))
			form_fail_row(c->form, name, i, "names a sub-kit that was given already");
		subkits[facts->n_subkits++] = (struct subkit_fact){
		        value->name, received, {received ? DATE_UNKNOWN : DATE_NEVER, {0}}};
	}
}

static enum status lists_of(struct context *c, struct facts *facts)
{
	size_t n_options = form_count(c->form, "option") + form_count(c->form, "without_option");
	size_t n_subkits = form_count(c->form, "subkit") + form_count(c->form, "without_subkit");
	size_t n_parts = form_count(c->form, "part");
	struct option_fact *options = ARENA_ARRAY(c->arena, struct option_fact, n_options);
	struct subkit_fact *subkits = ARENA_ARRAY(c->arena, struct subkit_fact, n_subkits);
	struct part_fact *parts = ARENA_ARRAY(c->arena, struct part_fact, n_parts);

	if (!options || !subkits || !parts)
		return ST_NOMEM;
	facts->options = options;
	facts->subkits = subkits;
	facts->parts = parts;
	add_options(c, "option", true, options, facts);
	add_options(c, "without_option", false, options, facts);
	add_subkits(c, "subkit", true, subkits, facts);
	add_subkits(c, "without_subkit", false, subkits, facts);
	for (size_t i = 0; i < n_parts; i++)
		if (form_value(c->form, "part", i)->given)
			parts[facts->n_parts++].number = form_value(c->form, "part", i)->name;
	return ST_OK;
}

static enum status facts_of(struct context *c, struct facts *facts)
{
	*facts = (struct facts){.parts_known = form_flag(c->form, "parts_known")};
	form_read_facts(c->form, facts);
	if (form_flag(c->form, "not_flown") && form_given(c->form, "first_flight"))
		form_fail(c->form, "not_flown", "and first_flight contradict each other");
	return lists_of(c, facts);
}

enum status api_check(struct context *c)
{
	struct facts facts;
	struct kit_state kit;
	struct gathering g;
	enum status status = facts_of(c, &facts);

	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return respond_invalid(c);
	status = kit_state_make(c->arena, &facts, NULL, 0, NULL, &kit);
	if (status != ST_OK)
		return status;
	g = gathering_of(c->form);
	for (size_t i = 0; i < c->catalogue->count; i++) {
		const struct catalogue_entry *entry = &c->catalogue->entries[i];
		struct standing standing = standing_decide(c->catalogue, entry, &kit, c->today);

		gather(&g, entry, &standing, &kit);
	}
	return respond_gathered(c, &g, json_from_facts(&facts), CACHE_PUBLIC);
}

/* In the order of the builder's list. */
static enum status show_standings(struct context *c, const struct kit_view *view)
{
	struct gathering g = gathering_of(c->form);

	for (int pile = 0; pile < KIT_PILES; pile++)
		for (size_t i = 0; i < view->piled[pile]; i++) {
			const struct catalogue_entry *entry =
			        &view->catalogue->entries[view->pile[pile][i]];
			struct standing standing = kit_view_standing(view, entry);

			gather(&g, entry, &standing, &view->state);
		}
	return respond_gathered(c, &g, json_from_facts(&view->facts), CACHE_PRIVATE);
}

enum status api_kit_standings(struct context *c)
{
	return form_ok(c->form) ? kit_page(c, show_standings) : respond_invalid(c);
}

enum status api_kit_records(struct context *c)
{
	const struct record *records;
	size_t count;
	json_t *list;
	enum status status = record_list(c->store, c->arena, (struct kit_id){context_id(c, "kit")},
	                                 &records, &count);

	if (status != ST_OK)
		return status;
	list = json_array();
	for (size_t i = 0; i < count; i++)
		json_array_append_new(list, api_record(records, count, i));
	return respond_json(c,
	                    json_pack("{s:I, s:o, s:s}", "total", (json_int_t)count, "records",
	                              list, "caution", api_caution),
	                    CACHE_PRIVATE);
}

/* ---- the description ---- */

enum status api_description(struct context *c)
{
	const struct embedded_file *file =
	        embedded_find(static_files, static_files_count, "openapi.json");

	return respond_bytes(c, "application/json", file->bytes, file->len, CACHE_PUBLIC, NULL);
}
