/* feeds.c - the newest notices, and a member's news, as Atom feeds. */
#include "web/news/feeds.h"

#include "chapter/mail_words.h"

#include <ctype.h>
#include <string.h>

#include "base/text.h"
#include "os/token.h"
#include "store/feed_links.h"
#include "store/notices.h"
#include "store/settings.h"
#include "web/html/atom.h"
#include "web/http/outside.h"
#include "web/api/api_view.h"
#include "web/news/news.h"
#include "os/uuid.h"

#define FEED_ENTRIES 50

enum status feed_member(const struct context *c, struct member_id *out)
{
	const char *token = context_capture(c, "token");
	struct hash hash;

	if (!token_well_formed(token))
		return ST_MISSING;
	hash = hash_of(token, TOKEN_LENGTH);
	return feed_link_find(c->store, &hash, out);
}

/* What every entry is made with. */
struct frame {
	struct arena *arena;
	const char *chapter; /* its id */
	const char *address;
};

static enum status find_frame(struct context *c, struct frame *out)
{
	enum status status = setting_text(c->store, c->arena, SETTING_ID, &out->chapter);

	out->arena = c->arena;
	return status == ST_OK ? outside_address(c, &out->address) : status;
}

/* ---- notices ---- */

static const char *title_of(struct arena *arena, const struct latest_notice *latest)
{
	const char *before = latest->cancelled ? "Cancelled: " : "";

	if (latest->revision[0] && !latest->cancelled)
		return arena_printf(arena, "%s revision %s: %s", latest->number, latest->revision,
		                    latest->title);
	return arena_printf(arena, "%s%s: %s", before, latest->number, latest->title);
}

static void add_issue(struct text *out, const struct latest_notice *latest)
{
	char words[DATE_WORDS_SIZE];
	struct date issued;

	text_add(out, "Issued ");
	if (date_parse(latest->issued, strlen(latest->issued), &issued) == ST_OK) {
		date_words(issued, words);
		text_printf(out, "%s ", words);
	}
	text_printf(out, "by %s: %s %s.\n", latest->issuer, force_words(latest->force),
	            notice_kind_words(latest->kind));
}

/* The words as they are from now on; NULL when memory ran out. */
static const char *keep(struct arena *arena, struct text *text)
{
	const char *copy = text_failed(text) ? NULL : arena_string(arena, text_string(text));

	text_free(text);
	return copy;
}

static const char *summary_of(struct arena *arena, const struct latest_notice *latest)
{
	struct text out = TEXT_EMPTY;

	if (latest->cancelled)
		text_printf(&out, "Cancelled: no kit is asked to do it any more. %s\n",
		            latest->reason);
	add_issue(&out, latest);
	text_printf(&out, "%s\n%s", latest->problem, api_caution);
	return keep(arena, &out);
}

/* The page of what the entry tells, also when a later revision is there. */
static const char *url_of(const struct frame *frame, const struct latest_notice *latest)
{
	long long id = (long long)latest->id.v;

	if (latest->current || latest->cancelled)
		return arena_printf(frame->arena, "%s/notices/%lld", frame->address, id);
	return arena_printf(frame->arena, "%s/notices/%lld/revisions/%lld", frame->address, id,
	                    (long long)latest->revision_id.v);
}

static enum status make_entry(const struct frame *frame, const struct latest_notice *latest,
                              struct atom_entry *out)
{
	struct arena *arena = frame->arena;
	const char *name = arena_printf(arena, "log/%lld", (long long)latest->entry);

	if (!name)
		return ST_NOMEM;
	*out = (struct atom_entry){.id = uuid_urn(arena, frame->chapter, name),
	                           .title = title_of(arena, latest),
	                           .summary = summary_of(arena, latest),
	                           .category = force_words(latest->force),
	                           .url = url_of(frame, latest),
	                           .updated = latest->at};
	return arena_failed(arena) || !out->summary ? ST_NOMEM : ST_OK;
}

static enum status respond_notices(struct context *c, const struct frame *frame,
                                   const struct latest_notice *latest, size_t count)
{
	struct atom_entry *entries = ARENA_ARRAY(c->arena, struct atom_entry, count);
	struct atom_feed feed = {.id = uuid_urn(c->arena, frame->chapter, "notices"),
	                         .subtitle = api_caution,
	                         .entries = entries,
	                         .count = count};
	enum status status = setting_text(c->store, c->arena, SETTING_CHAPTER, &feed.author);

	for (size_t i = 0; status == ST_OK && entries && i < count; i++)
		status = make_entry(frame, &latest[i], &entries[i]);
	if (status != ST_OK)
		return status;
	if (!feed.author[0])
		feed.author = "Fairlead";
	feed.title = arena_printf(c->arena, "Notices, %s", feed.author);
	feed.self_url = arena_printf(c->arena, "%s/notices.atom", frame->address);
	feed.page_url = arena_printf(c->arena, "%s/notices", frame->address);
	return arena_failed(c->arena) ? ST_NOMEM : respond_atom(c, &feed, CACHE_PUBLIC);
}

enum status page_notices_feed(struct context *c)
{
	const struct latest_notice *latest = NULL;
	struct frame frame = {.chapter = ""};
	size_t count = 0;
	enum status status = find_frame(c, &frame);

	if (status == ST_OK)
		status = latest_list(c->store, c->arena, FEED_ENTRIES, &latest, &count);
	return status == ST_OK ? respond_notices(c, &frame, latest, count) : status;
}

/* ---- a member's news ---- */

static const char *news_title(struct arena *arena, const struct news *news)
{
	struct text out = TEXT_EMPTY;
	const char *kind = news_kind_words(news->kind);

	text_add_char(&out, (char)toupper((unsigned char)kind[0]));
	text_add(&out, kind + 1);
	if (news->notice.v)
		text_printf(&out, ": %s %s", news->notice_number, news->notice_title);
	else if (news->report.v)
		text_printf(&out, ": %s", news->report_title);
	if (news->kit.v)
		text_printf(&out, " (%s)", news->kit_name);
	return keep(arena, &out);
}

static const char *news_summary(struct arena *arena, const struct news *news)
{
	struct text out = TEXT_EMPTY;

	if (news->from_name[0])
		text_printf(&out, "From %s.\n", news->from_name);
	text_printf(&out, "%s\n%s", news->words, api_caution);
	return keep(arena, &out);
}

static const char *news_url(const struct frame *frame, const struct news *news)
{
	struct text out = TEXT_EMPTY;

	text_add(&out, frame->address);
	news_path(news, &out);
	return keep(frame->arena, &out);
}

static enum status make_news(const struct frame *frame, const struct news *news,
                             struct atom_entry *out)
{
	struct arena *arena = frame->arena;
	const char *name = arena_printf(arena, "news/%lld", (long long)news->id);

	if (!name)
		return ST_NOMEM;
	*out = (struct atom_entry){.id = uuid_urn(arena, frame->chapter, name),
	                           .title = news_title(arena, news),
	                           .summary = news_summary(arena, news),
	                           .category = news_kind_words(news->kind),
	                           .url = news_url(frame, news),
	                           .updated = news->at};
	return arena_failed(arena) || !out->title || !out->summary || !out->url ? ST_NOMEM : ST_OK;
}

static enum status respond_news(struct context *c, const struct frame *frame,
                                struct member_id member, const struct news *news, size_t count)
{
	struct atom_entry *entries = ARENA_ARRAY(c->arena, struct atom_entry, count);
	const char *name = arena_printf(c->arena, "member/%lld/news", (long long)member.v);
	struct atom_feed feed = {.id = name ? uuid_urn(c->arena, frame->chapter, name) : NULL,
	                         .title = "News of my kits",
	                         .subtitle = api_caution,
	                         .author = "Fairlead",
	                         .page_url = arena_printf(c->arena, "%s/news", frame->address),
	                         .entries = entries,
	                         .count = count};
	enum status status = arena_failed(c->arena) ? ST_NOMEM : ST_OK;

	for (size_t i = 0; status == ST_OK && i < count; i++)
		status = make_news(frame, &news[i], &entries[i]);
	return status == ST_OK ? respond_atom(c, &feed, CACHE_NEVER) : status;
}

enum status page_news_feed(struct context *c)
{
	const struct news *news = NULL;
	struct frame frame = {.chapter = ""};
	struct member_id member;
	size_t count = 0;
	enum status status = feed_member(c, &member);

	if (status == ST_OK)
		status = find_frame(c, &frame);
	if (status == ST_OK)
		status = news_list(c->store, c->arena, member, 0, FEED_ENTRIES, &news, &count);
	return status == ST_OK ? respond_news(c, &frame, member, news, count) : status;
}
