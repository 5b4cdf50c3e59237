/* news.c - what is new for a member: by kit, mandatory first, with the reason
 * and where to go; below it what was seen before.
 *
 * News is new until its reader says "All read": opening the page marks nothing, so that
 * a look in passing loses nothing. The rounds keep what is new a moment after
 * each change. A GET changes nothing, so what they have not kept yet of the reader's own
 * kits is compared here and shown as well: the page is never behind the list of
 * a kit. Such news cannot be marked as seen; it is new once more when it is kept.
 */
#include "web/kits/kit_page.h"
#include "web/news/news.h"

#include "chapter/mail_words.h"

#include "formats/json_text.h"
#include "web/account/account.h"
#include "chapter/news_round.h"
#include "web/html/present.h"
#include "web/http/respond.h"

#define PAGE_NEWS 50

const struct input news_query[] = {{"before", "Before", INPUT_ID}, INPUTS_END};
const struct input seen_inputs[] = {{"up_to", "Up to", INPUT_ID, .required = true}, INPUTS_END};

/* ---- one piece of news ---- */

static json_t *url_of(const struct news *news)
{
	struct text path = TEXT_EMPTY;

	news_path(news, &path);
	return json_take_text(&path);
}

/* What to do about it: the words of its link. */
static const char *deed_of(const struct news *news)
{
	switch (news->kind) {
	case NEWS_NEW:
	case NEWS_REVISED:
	case NEWS_STANDING:
		return "What to do for this kit";
	case NEWS_CANCELLED:
		return "Look at the notice";
	case NEWS_ANSWER:
		return "Read the answer";
	case NEWS_REPORT:
		return "Look at your kit, and tell what you find";
	case NEWS_FINDING:
	case NEWS_STATE:
		return "Look at the report";
	case NEWS_POINTED:
		return "Look at it";
	}
	return "Look at it";
}

static const char *title_of(const struct news *news)
{
	if (news->report.v)
		return news->report_title;
	return news->notice.v ? news->notice_title : "";
}

static json_t *news_view(const struct news *news)
{
	return json_pack("{s:s, s:s, s:s, s:o, s:o, s:s, s:o, s:o, s:o, s:b}", "css",
	                 news->mandatory ? "mandatory" : "", "kind", news_kind_words(news->kind),
	                 "deed", deed_of(news), "url", url_of(news), "number",
	                 present_text(news->notice_number), "what", title_of(news), "from",
	                 present_text(news->from_name), "why", present_text(news->words), "at",
	                 present_time(news->at), "mandatory", news->mandatory);
}

/* ---- by kit ---- */

/* The group of that kit (v 0: of no one kit), begun where there is none; borrowed. */
static json_t *group_of(json_t *groups, const struct news *news)
{
	json_t *group;
	size_t i;

	json_array_foreach(groups, i, group)
	{
		if (json_integer_value(json_object_get(group, "id")) == news->kit.v)
			return group;
	}
	group = json_pack("{s:I, s:s, s:o, s:[]}", "id", (json_int_t)news->kit.v, "name",
	                  news->kit.v ? news->kit_name : "Notes and reports", "url",
	                  news->kit.v ? json_sprintf("/kits/%lld", (long long)news->kit.v)
	                              : json_false(),
	                  "rows");
	return json_array_append_new(groups, group) == 0 ? group : NULL;
}

/* Of those that are seen, or not; mandatory ones first in each group. */
static json_t *groups_view(const struct news *news, size_t count, bool seen)
{
	json_t *groups = json_array();

	for (int mandatory = 1; groups && mandatory >= 0; mandatory--)
		for (size_t i = 0; i < count; i++) {
			json_t *group;

			if (news[i].seen != seen || news[i].mandatory != mandatory)
				continue;
			group = group_of(groups, &news[i]);
			if (json_array_append_new(json_object_get(group, "rows"),
			                          news_view(&news[i])) != 0) {
				json_decref(groups);
				return NULL;
			}
		}
	return groups;
}

/* ---- what the rounds have not kept yet ---- */

struct fresh {
	struct news *at;
	size_t count;
};

static struct news news_from(const struct context *c, const struct kit_view *view,
                             const struct news_entry *entry)
{
	const struct catalogue_entry *of = catalogue_find_id(c->catalogue, entry->notice);

	return (struct news){.at = c->now,
	                     .kind = entry->kind,
	                     .mandatory = entry->mandatory,
	                     .kit = entry->kit,
	                     .notice = entry->notice,
	                     .kit_name = arena_string(c->arena, view->kit.name),
	                     .notice_number = of->notice.number.text,
	                     .notice_title = of->notice.title,
	                     .report_title = "",
	                     .from_name = "",
	                     .words = entry->words};
}

static enum status add_fresh(struct context *c, const struct kit_view *view, void *context)
{
	struct fresh *fresh = context;
	struct told_step step;
	struct news *all;
	struct work work = context_work(c);
	enum status status = news_of_kit(&work, view, &step);

	if (status != ST_OK)
		return status;
	all = ARENA_ARRAY(c->arena, struct news, fresh->count + step.n_news);
	if (!all)
		return ST_NOMEM;
	for (size_t i = 0; i < fresh->count; i++)
		all[i] = fresh->at[i];
	for (size_t i = 0; i < step.n_news; i++)
		all[fresh->count + i] = news_from(c, view, &step.news[i]);
	fresh->at = all;
	fresh->count += step.n_news;
	return ST_OK;
}

static enum status find_fresh(struct context *c, struct fresh *fresh)
{
	const struct kit_id *kits = NULL;
	size_t count = 0;
	enum status status = told_stale_of(c->store, c->arena, c->member->id, c->generation,
	                                   c->today, &kits, &count);

	for (size_t i = 0; status == ST_OK && i < count; i++)
		status = kit_with_view(c, kits[i], add_fresh, fresh);
	return status;
}

/* ---- the page ---- */

static json_t *older_url(const struct news *news, size_t count, bool more)
{
	return more ? json_sprintf("/news?before=%lld", (long long)news[count - 1].id)
	            : json_false();
}

static json_t *page_view(const struct context *c, const struct fresh *fresh,
                         const struct news *news, size_t count, bool more, json_t *ending)
{
	bool first = !form_given(c->form, "before");
	bool unseen = count && !news[0].seen;

	return json_pack(
	        "{s:b, s:o, s:o, s:o, s:b, s:o, s:b, s:b, s:b, s:b, s:o, s:b, s:o}", "any_new",
	        unseen || fresh->count, "just_now", groups_view(fresh->at, fresh->count, false),
	        "new", groups_view(news, count, false), "before", groups_view(news, count, true),
	        "seen", count && news[count - 1].seen, "older_url", older_url(news, count, more),
	        "first", first, "unseen", unseen, "empty", first && !count && !fresh->count,
	        "in_news", 1, "up_to", json_integer((json_int_t)(count ? news[0].id : 0)),
	        "any_ending", first && json_array_size(ending) > 0, "ending", ending);
}

enum status page_news(struct context *c)
{
	int64_t before = form_given(c->form, "before") ? form_number(c->form, "before") : 0;
	struct fresh fresh = {NULL, 0};
	const struct news *news = NULL;
	size_t count = 0;
	json_t *ending = NULL;
	enum status status = ST_OK;
	bool more;

	if (!before)
		status = find_fresh(c, &fresh);
	if (status == ST_OK)
		status = news_list(c->store, c->arena, c->member->id, before, PAGE_NEWS + 1, &news,
		                   &count);
	if (status == ST_OK)
		status = tokens_ending(c, &ending);
	if (status != ST_OK)
		return status;
	more = count > PAGE_NEWS;
	count -= more;
	return respond_page(c, "news.html", "News",
	                    page_view(c, &fresh, news, count, more, ending));
}

enum status act_news_seen(struct context *c)
{
	enum status status = ST_INVALID;

	if (form_ok(c->form))
		status = news_mark_seen(c->store, c->member->id, form_number(c->form, "up_to"));
	return status == ST_OK ? respond_redirect(c, "/news?said=news-seen") : status;
}
