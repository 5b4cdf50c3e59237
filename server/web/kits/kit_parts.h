/* kit_parts.h - what the pages of a kit have in common. As in present.h every
 * json_t is a new reference, NULL when memory ran out.
 */
#ifndef WEB_KITS_KIT_PARTS_H
#define WEB_KITS_KIT_PARTS_H

#include "chapter/kit_view.h"
#include "web/http/context.h"
#include "web/html/present.h"

/* {"name", "url", "facts_url", ...}: the kit's own addresses, as "kit" of every page. */
json_t *kit_present(const struct kit *kit);

/* Adds "kit" and "in_kits" to the view of a page, which is stolen. */
json_t *kit_frame(const struct kit *kit, json_t *view);

/* The page that shows it. */
enum status kit_respond(struct context *c, const struct kit *kit, const char *template,
                        const char *title, json_t *view) MUST_CHECK;

/* One notice in a list of this kit's: present_entry, and "why", "standing",
 * "lines", "compliance", "moment", "overdue", "due_now", "due", "mark", "first" (links),
 * "record_url". */
json_t *kit_row(const struct kit_view *view, const struct catalogue_entry *entry);

/* Why the notice stands where it stands, whole. */
json_t *kit_reason(const struct kit_view *view, const struct catalogue_entry *entry,
                   const struct standing *standing);

/* Required notices that are themselves left or cannot be told: [{"number",
 * "title", "url", "standing"}...], false when there is none. */
json_t *kit_first(const struct kit_view *view, const struct catalogue_entry *entry);

/* {"word", "css", "line"} of a pile, for standing.html; its word in addresses. */
const char *kit_pile_words(enum kit_pile pile);
const char *kit_pile_address(enum kit_pile pile);

/* The entry that {notice} captures. ST_MISSING. */
enum status kit_entry(const struct context *c, const struct catalogue_entry **out) MUST_CHECK;

#endif
