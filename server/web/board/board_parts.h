/* board_parts.h - what the pages of the drawing board have in common. Every
 * json_t is a new reference, NULL when memory ran out.
 */
#ifndef WEB_BOARD_BOARD_PARTS_H
#define WEB_BOARD_BOARD_PARTS_H

#include "web/board/draft_form.h"
#include "web/html/present.h"

#define BOARD_LOG_SHOWN 20 /* entries under a draft; all are on the notice's own page */

/* A page of the board: "in_board" is added to the view, which is stolen. */
enum status board_respond(struct context *c, const char *template, const char *title,
                          json_t *view) MUST_CHECK;

/* "revision A", "original issue"; of a draft that follows a published revision
 * and has no label: "new revision, no label yet". */
json_t *board_label(const char *label, bool follows);

/* "14:05 UTC on 25 November 2026". */
json_t *board_time(int64_t at);

/* {"number", "words" (revision), "title" (may be ""), "url" (edit), "check_url",
 * "files_url", "notice_url", "editor", "edited", "checking"}: as "draft". */
json_t *board_draft(const struct revision *revision);

/* The log as "log": [{"at", "act", "by", "revision", "remark"}...] for
 * board_log.html. */
enum status board_log(const struct context *c, struct notice_id notice, struct page page,
                      json_t **out, int64_t *total) MUST_CHECK;

/* {"list": [...]} or false when it is empty; steals the list. */
json_t *board_list(json_t *list);

/* {"token", ...} of another form on the page than the one that was sent: c's
 * form if its route has these inputs, else a blank one. */
json_t *board_form(const struct context *c, const struct input *inputs);

#endif
