#include "web/html/atom.h"

#include <string.h>

#include "base/text.h"
#include "formats/json_text.h"
#include "web/html/present.h"
#include "web/http/respond.h"

/* Bytes at `at` that XML has no place for, 0 when there are none. In UTF-8
 * U+FFFE and U+FFFF are EF BF BE and EF BF BF. */
static size_t forbidden(const char *at)
{
	unsigned char c = (unsigned char)*at;

	if (c < 0x20 && c != '\t' && c != '\n' && c != '\r')
		return 1;
	if (strncmp(at, "\xEF\xBF\xBE", 3) == 0 || strncmp(at, "\xEF\xBF\xBF", 3) == 0)
		return 3;
	return 0;
}

json_t *atom_text(const char *text)
{
	struct text out = TEXT_EMPTY;

	while (*text) {
		size_t skip = forbidden(text);

		if (!skip)
			text_add_char(&out, *text);
		text += skip ? skip : 1;
	}
	return json_take_text(&out);
}

static json_t *text_or_none(const char *text)
{
	return text ? atom_text(text) : json_false();
}

static json_t *entry_view(const struct atom_entry *entry)
{
	return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o}", "id", atom_text(entry->id), "title",
	                 atom_text(entry->title), "summary", atom_text(entry->summary), "category",
	                 text_or_none(entry->category), "page_url", atom_text(entry->url),
	                 "updated", present_utc(entry->updated));
}

json_t *atom_view(const struct atom_feed *feed)
{
	json_t *entries = json_array();

	for (size_t i = 0; entries && i < feed->count; i++)
		entries = present_append(entries, entry_view(&feed->entries[i]));
	return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "id", atom_text(feed->id),
	                 "title", atom_text(feed->title), "subtitle", atom_text(feed->subtitle),
	                 "author", atom_text(feed->author), "self_url",
	                 text_or_none(feed->self_url), "page_url", atom_text(feed->page_url),
	                 "updated", present_utc(feed->count ? feed->entries[0].updated : 0),
	                 "entries", entries);
}

enum status respond_atom(struct context *c, const struct atom_feed *feed, enum cache_class cache)
{
	return respond_filled(c, "application/atom+xml; charset=utf-8", "feed.xml", atom_view(feed),
	                      cache);
}
