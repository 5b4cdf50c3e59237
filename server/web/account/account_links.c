/* account_links.c - the link by which a member's programs read news and dates.
 *
 * The database keeps only a hash, so the link is shown once, as text and as
 * codes for a phone's camera; who loses it makes another, which ends it.
 */
#include "os/token.h"
#include "store/feed_links.h"
#include "web/http/outside.h"
#include "web/news/feeds.h"
#include "web/html/present.h"
#include "web/html/qr.h"
#include "web/http/respond.h"

enum status page_links(struct context *c)
{
	int64_t made = 0;
	enum status status = feed_link_made(c->store, c->member->id, &made);

	if (status != ST_OK && status != ST_MISSING)
		return status;
	return respond_page(c, "account_links.html", "News and dates for programs",
	                    json_pack("{s:o, s:b}", "made",
	                              status == ST_OK ? present_time(made) : json_false(),
	                              "in_account", 1));
}

static json_t *address_view(const char *name, const char *link)
{
	return json_pack("{s:s, s:s, s:o}", "name", name, "link", link, "qr", qr_view(link));
}

static enum status show_made(struct context *c, const char *token)
{
	const char *feed = "", *calendar = "";
	enum status status = outside_link(c, "feed", token, &feed);

	if (status == ST_OK)
		status = outside_link(c, "calendar", token, &calendar);
	if (status != ST_OK)
		return status;
	return respond_page(c, "account_link_made.html", "Your addresses",
	                    json_pack("{s:o, s:o, s:b}", "feed", address_view("feed", feed),
	                              "calendar", address_view("calendar", calendar), "in_account",
	                              1));
}

enum status act_link_make(struct context *c)
{
	char token[TOKEN_SIZE];
	struct hash hash;
	enum status status;

	token_make(token);
	hash = hash_of(token, TOKEN_LENGTH);
	status = feed_link_make(c->store, c->member->id, &hash, c->now);
	return status == ST_OK ? show_made(c, token) : status;
}

/* One that is ended already is ended. */
enum status act_link_end(struct context *c)
{
	enum status status = feed_link_end(c->store, c->member->id);

	if (status != ST_OK && status != ST_MISSING)
		return status;
	return respond_redirect(c, "/account/links?said=link-ended");
}
