/* kit_list.c - the list that all of Fairlead is for: what applies to this kit
 * and is left, and a counter for every other standing, so that the counters
 * always add up to all notices.
 *
 * The plain list, which is asked for without a query, is rendered once for each
 * version of the kit and kept with it; another pile, order or search is made
 * when asked for.
 */
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "formats/json_text.h"
#include "web/kits/kit_page.h"
#include "web/kits/plan_view.h"
#include "web/kits/kit_answer.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/http/respond.h"

#define PAGE_ROWS 60

static const char *const standings[] = {
        "left",         "ask",      "repeating",     "done", "conforms",
        "in-the-plans", "replaced", "not-effective", "all",  NULL};
#define STANDING_ALL KIT_PILES

static const char *const orders[] = {"weight", "date", "number", "moment", NULL};
enum { ORDER_BY_WEIGHT, ORDER_BY_DATE, ORDER_BY_NUMBER, ORDER_BY_MOMENT };

const struct input kit_list_inputs[] = {
        {"standing", "Standing", INPUT_CHOICE, .choices = standings},
        {"order", "Order", INPUT_CHOICE, .choices = orders},
        {"words", "Words or part number", INPUT_LINE, .longest = 100},
        {"page", "Page", INPUT_NUMBER, .min = 1, .max = 100000},
        INPUTS_END};

/* ---- which notices, in which order ---- */

struct subset {
	const uint32_t *at; /* indexes of catalogue entries */
	size_t count;
};

/* Does the text hold these len bytes, whatever the letter case? */
static bool holds(const char *text, const char *word, size_t len)
{
	size_t size = text ? strlen(text) : 0;

	for (size_t i = 0; i + len <= size; i++)
		if (strncasecmp(text + i, word, len) == 0)
			return true;
	return false;
}

static bool holds_word(const struct notice *notice, const char *word, size_t len)
{
	if (holds(notice->number.text, word, len) || holds(notice->title, word, len) ||
	    holds(notice->issuer, word, len))
		return true;
	for (size_t i = 0; i < notice->n_lines; i++)
		if (holds(notice->lines[i].part.text, word, len) ||
		    holds(notice->lines[i].replacement.text, word, len))
			return true;
	return false;
}

/* Every word must be in it somewhere. */
static bool matches(const struct notice *notice, const char *words)
{
	for (;;) {
		size_t len;

		words += strspn(words, " \t");
		len = strcspn(words, " \t");
		if (len == 0)
			return true;
		if (!holds_word(notice, words, len))
			return false;
		words += len;
	}
}

static int newest_first(const void *a, const void *b, void *context)
{
	const struct kit_view *view = context;
	uint32_t i = *(const uint32_t *)a, k = *(const uint32_t *)b;
	day_number x = view->catalogue->entries[i].notice.issued.first;
	day_number y = view->catalogue->entries[k].notice.issued.first;

	if (x != y)
		return x > y ? -1 : 1;
	return (i > k) - (i < k);
}

static int by_number(const void *a, const void *b, void *context)
{
	uint32_t i = *(const uint32_t *)a, k = *(const uint32_t *)b;

	(void)context;
	return (i > k) - (i < k); /* entries are in order of number */
}

static void sort(const struct kit_view *view, int order, uint32_t *list, size_t count)
{
	struct kit_view bare = {.catalogue = view->catalogue};

	if (order == ORDER_BY_DATE)
		qsort_r(list, count, sizeof *list, newest_first, &bare);
	else if (order == ORDER_BY_NUMBER)
		qsort_r(list, count, sizeof *list, by_number, &bare);
}

/* As asked for; else by moment where there is a build line. Only what is left has moments. */
static int order_of(const struct context *c, const struct kit_view *view)
{
	int order = form_choice(c->form, "order");
	int pile = form_choice(c->form, "standing");
	bool has_moments = view->line && (pile < 0 || pile == PILE_LEFT);

	if (order < 0 || order == ORDER_BY_MOMENT)
		return has_moments ? ORDER_BY_MOMENT : ORDER_BY_WEIGHT;
	return order;
}

static const uint32_t *pile_in_order(const struct kit_view *view, unsigned pile, int order)
{
	return order == ORDER_BY_MOMENT ? view->by_moment : view->pile[pile];
}

/* The chosen pile, or all one after the other, filtered and sorted. */
static enum status choose(struct context *c, const struct kit_view *view, struct subset *out)
{
	int pile = form_choice(c->form, "standing"), order = order_of(c, view);
	unsigned first = pile < 0 || pile == STANDING_ALL ? 0 : (unsigned)pile;
	unsigned last = pile < 0 ? 0 : pile == STANDING_ALL ? KIT_PILES - 1 : (unsigned)pile;
	uint32_t *list = ARENA_ARRAY(c->arena, uint32_t, view->catalogue->count);
	size_t count = 0;

	if (!list)
		return ST_NOMEM;
	for (unsigned p = first; p <= last; p++)
		for (size_t i = 0; i < view->piled[p]; i++) {
			uint32_t at = pile_in_order(view, p, order)[i];

			if (matches(&view->catalogue->entries[at].notice,
			            form_text(c->form, "words")))
				list[count++] = at;
		}
	sort(view, order, list, count);
	*out = (struct subset){list, count};
	return ST_OK;
}

/* ---- rows in groups ---- */

/* What a group begins with: the force, or the kind of moment. */
enum grouping { GROUPS_NONE, GROUPS_BY_FORCE, GROUPS_BY_MOMENT };

static const char *moment_heading(const struct kit_view *view, const struct catalogue_entry *entry)
{
	static const char *const words[MOMENT_KINDS] = {
	        [MOMENT_FOLD_IN] = "Ahead of you, in the order of building",
	        [MOMENT_BEFORE] = "Ahead of you, in the order of building",
	        [MOMENT_BURIED] = "Buried: to be opened again",
	        [MOMENT_CANNOT_TELL] = "Cannot tell when",
	        [MOMENT_ANY_TIME] = "At any time",
	};
	size_t i = 0;

	return kit_plan_find(view, entry, &i) ? words[view->plan.moments[i].kind] : "";
}

static bool same_group(const struct kit_view *view, const struct catalogue_entry *a,
                       const struct catalogue_entry *b, enum grouping grouping)
{
	if (grouping == GROUPS_BY_FORCE)
		return a->notice.force == b->notice.force;
	return grouping == GROUPS_NONE ||
	       strcmp(moment_heading(view, a), moment_heading(view, b)) == 0;
}

static json_t *new_group(const struct kit_view *view, const struct catalogue_entry *entry,
                         enum grouping grouping)
{
	json_t *head = grouping == GROUPS_BY_FORCE ? present_force(entry->notice.force)
	               : grouping == GROUPS_BY_MOMENT
	                       ? json_pack("{s:s}", "word", moment_heading(view, entry))
	                       : json_false();

	return json_pack("{s:o, s:[]}", "group", head, "rows");
}

static json_t *groups_view(const struct kit_view *view, struct subset rows, enum grouping grouping)
{
	json_t *groups = json_array();
	json_t *list = NULL;

	for (size_t i = 0; groups && i < rows.count; i++) {
		const struct catalogue_entry *entry = &view->catalogue->entries[rows.at[i]];
		const struct catalogue_entry *before =
		        i ? &view->catalogue->entries[rows.at[i - 1]] : NULL;

		if (!before || !same_group(view, before, entry, grouping)) {
			json_t *group = new_group(view, entry, grouping);

			list = group ? json_object_get(group, "rows") : NULL;
			groups = present_append(groups, group);
		}
		if (groups && json_array_append_new(list, kit_row(view, entry))) {
			json_decref(groups);
			groups = NULL;
		}
	}
	return groups;
}

/* ---- counters ---- */

static json_t *counter_view(const struct kit_view *view, unsigned pile)
{
	return json_pack("{s:s, s:i, s:o}", "word", kit_pile_words(pile), "count",
	                 (int)view->piled[pile], "url",
	                 json_sprintf("/kits/%lld?standing=%s", (long long)view->kit.id.v,
	                              kit_pile_address(pile)));
}

static json_t *counters_view(const struct kit_view *view)
{
	json_t *list = json_array();

	for (unsigned pile = 0; list && pile < KIT_PILES; pile++)
		list = present_append(list, counter_view(view, pile));
	return list;
}

/* ---- the page ---- */

/* What follows from the view alone. */
/* Field reports on kits of its model; all of them while that is not known. */
static json_t *reports_url(const struct kit_view *view)
{
	struct text url = TEXT_EMPTY;

	text_add(&url, "/reports");
	if (!name_is_empty(&view->facts.model)) {
		text_add(&url, "?model=");
		http_escape(&url, view->facts.model.text);
	}
	return json_take_text(&url);
}

static json_t *frame_view(const struct kit_view *view)
{
	bool none = view->catalogue->count == 0;

	return json_pack("{s:o, s:o, s:i, s:i, s:i, s:b, s:b, s:o}", "counters",
	                 counters_view(view), "question", kit_question(view), "left",
	                 (int)view->piled[PILE_LEFT], "ask", (int)view->piled[PILE_ASK], "total",
	                 (int)view->catalogue->count, "none", none, "unread",
	                 !none && view->n_readings == 0, "reports_url", reports_url(view));
}

static struct subset page_of(struct subset all, int64_t offset)
{
	size_t from = (size_t)offset < all.count ? (size_t)offset : all.count;
	size_t left = all.count - from;

	return (struct subset){all.at + from, left < PAGE_ROWS ? left : PAGE_ROWS};
}

static const char *heading(const struct context *c)
{
	int pile = form_choice(c->form, "standing");

	if (pile == STANDING_ALL)
		return "all notices";
	return kit_pile_words(pile < 0 ? PILE_LEFT : (enum kit_pile)pile);
}

static json_t *option_view(const char *value, const char *word, bool selected)
{
	return json_pack("{s:s, s:s, s:b}", "value", value, "word", word, "selected", selected);
}

static json_t *standing_options(int chosen)
{
	json_t *list = json_array();

	for (int pile = 0; list && pile < KIT_PILES; pile++)
		list = present_append(list,
		                      option_view(standings[pile], kit_pile_words((unsigned)pile),
		                                  pile == chosen));
	return present_append(list, option_view("all", "all", chosen == STANDING_ALL));
}

static json_t *order_options(int chosen)
{
	static const char *const words[] = {"by weight: mandatory first", "newest first",
	                                    "by number", "by the right moment"};
	json_t *list = json_array();

	for (int i = 0; list && orders[i]; i++)
		list = present_append(list, option_view(orders[i], words[i], i == chosen));
	return list;
}

static json_t *list_view(struct context *c, const struct kit_view *view, struct subset all)
{
	struct page page = {PAGE_ROWS, 0};
	int pile = form_choice(c->form, "standing");
	bool usual = pile < 0 || pile == PILE_LEFT;
	int order = order_of(c, view);
	enum grouping grouping = order == ORDER_BY_MOMENT ? GROUPS_BY_MOMENT
	                         : order == ORDER_BY_WEIGHT && pile != STANDING_ALL
	                                 ? GROUPS_BY_FORCE
	                                 : GROUPS_NONE;

	if (form_given(c->form, "page"))
		page.offset = (form_number(c->form, "page") - 1) * PAGE_ROWS;
	return json_pack("{s:o, s:o, s:i, s:s, s:b, s:o, s:b, s:b, s:o, s:o, s:o}", "frame",
	                 frame_view(view), "groups",
	                 groups_view(view, page_of(all, page.offset), grouping), "count",
	                 (int)all.count, "heading", heading(c), "usual", usual, "form",
	                 form_view(c->form), "searched", form_given(c->form, "words"), "in_list", 1,
	                 "standing_options", standing_options(pile), "order_options",
	                 order_options(order), "pager",
	                 all.count > PAGE_ROWS ? present_pager(c->request->path, &c->request->query,
	                                                       &page, (int64_t)all.count)
	                                       : json_false());
}

static struct subset what_is_left(const struct kit_view *view)
{
	return (struct subset){view->line ? view->by_moment : view->pile[PILE_LEFT],
	                       view->piled[PILE_LEFT]};
}

static enum status show_list(struct context *c, const struct kit_view *view)
{
	struct subset all = what_is_left(view);

	if (form_ok(c->form)) {
		enum status status = choose(c, view, &all);

		if (status != ST_OK)
			return status;
	}
	return kit_respond(c, &view->kit, "kit.html", view->kit.name, list_view(c, view, all));
}

static enum status fill_usual(struct context *c, const struct kit_view *view, void *out)
{
	*(json_t **)out = kit_frame(&view->kit, list_view(c, view, what_is_left(view)));
	return *(json_t **)out ? ST_OK : ST_NOMEM;
}

static enum status make_usual(struct context *c, const void *kit, json_t **out)
{
	return kit_with_view(c, *(const struct kit_id *)kit, fill_usual, out);
}

/* All that the usual list shows follows from these. */
static const char *key_of(const struct context *c, const struct kit *kit)
{
	return arena_printf(c->arena, "kit %lld.%lld line %lld.%lld notices %lld day %lld",
	                    (long long)kit->id.v, (long long)kit->version, (long long)kit->line.v,
	                    (long long)kit->line_version, (long long)c->generation,
	                    (long long)c->today);
}

enum status page_kit(struct context *c)
{
	struct kit_id id = {context_id(c, "kit")};
	const char *key;
	struct kit kit;
	enum status status;

	if (c->request->query.count > 0)
		return kit_page(c, show_list);
	status = kit_read(c->store, c->arena, id, &kit);
	if (status != ST_OK)
		return status;
	key = key_of(c, &kit);
	return key ? respond_kept(c, key, "kit.html", kit.name, make_usual, &id) : ST_NOMEM;
}
