/* notes_view.h - notes of members on a notice, for every page that shows the notice. */
#ifndef WEB_NOTES_VIEW_H
#define WEB_NOTES_VIEW_H

#include <jansson.h>

#include "store/kits.h"
#include "store/notes.h"
#include "web/context.h"

/* For notes.html, the newest ones: {"list": [note_view...], "total", "more" (are
 * there older ones?), "add_url" (false for visitors), "kit_field" (the id of
 * the kit whose page it is, "" on the public page: kit.v 0), "all_url"}. New reference
 * in *out. What the store says; ST_NOMEM. */
enum status notes_view(struct context *c, struct notice_id notice, struct kit_id kit,
                       json_t **out) MUST_CHECK;

/* One of them for note.html: {"id", "author", "written", "removed_by" (or
 * false), "parts" (markdown.h), "remove_url" (false when the caller may not)}.
 * Visitors get "a member" for names. ST_NOMEM. */
enum status note_view(const struct context *c, const struct note *note, json_t **out) MUST_CHECK;

/* [note_view...]. ST_NOMEM. */
enum status note_views(const struct context *c, const struct note *notes, size_t count,
                       json_t **out) MUST_CHECK;

#endif
