/* present.h - core and store structs as view data for templates.
 *
 * Every function returns a new reference, NULL when memory ran out (json_pack
 * takes such a NULL as its own failure, so that one check at the end serves).
 * What may be absent is false, never missing: a name that is missing would be
 * looked up further out. Words are the trade's; "css" members are class names
 * of static/fairlead.css; members that end in url are addresses of this site
 * made here. The partial that shows a value is named beside its presenter.
 */
#ifndef WEB_HTML_PRESENT_H
#define WEB_HTML_PRESENT_H

#include <jansson.h>

#include "core/catalogue.h"
#include "core/standing.h"
#include "store/notices.h"
#include "web/http/http.h"

struct context;

/* A string, or false when it is empty. */
json_t *present_text(const char *text);
json_t *present_name(const struct name *name);

/* {"iso", "words"} for date.html. */
json_t *present_date(const struct date *date);
json_t *present_day(day_number day);
json_t *present_time(int64_t seconds);        /* its day, UTC */
json_t *present_date_text(const char *typed); /* false when it is no date */
json_t *present_utc(int64_t seconds); /* "2026-09-21T14:13:20Z", RFC 3339; null out of range */

/* "1210.25", hundredths as a string. */
json_t *present_hours(int64_t hours);
/* {"word", "css"}; stamp.html shows force. */
json_t *present_force(enum force force);
json_t *present_kind(enum notice_kind kind);
json_t *present_disposition(enum disposition disposition);

/* {"word", "css", "line"} for standing.html: line is the class of the drawn
 * line. The second: "applies", "cannot tell", "not effective". */
json_t *present_standing(enum standing_kind kind);
json_t *present_truth(enum truth answer);

/* "original issue", "revision A". */
json_t *present_revision_words(const char *label);

/* One row of rows.html: {"url", "number", "revision" (words), "labelled" (is it more
 * than an original issue?), "title", "issuer", "kind", "force", "issued", "cancelled" (date or
 * false), "why": false, "standing": false}. Callers may set why (text) and standing. */
json_t *present_row(const struct notice_row *row);
json_t *present_entry(const struct catalogue_entry *entry);

/* What the chapter knows of a part, of a step: "/part?number=WH-2207-1",
 * "/step?model=Whimbrel&code=14-4"; model "": of any that has such a step. */
json_t *present_part_url(const char *number);
json_t *present_step_url(const char *model, const char *code);

/* [{"part", "part_url", "position", "disposition", "replacement", "replacement_url", "lots",
 * "remark"}...] for lines.html; [{"item", "quantity", "remark", "part", "cut"}...] for
 * material.html. */
json_t *present_lines(const struct line_text *lines, size_t count);
json_t *present_material(const struct material_text *material, size_t count);

/* {"number", "url" or false, "title" or false} for link.html; a list of them for
 * links.html. */
json_t *present_link(const struct catalogue *catalogue, const char *number);
json_t *present_links(const struct catalogue *catalogue, const struct text_list *numbers);

/* [{"url", "name", "size", "picture": true or false}...] for attachments.html */
json_t *present_attachments(const struct attachment *attachments, size_t count);

/* Text with paragraphs as blocks for prose.html:
 * [{"paragraph" or false, "work": [{"tag", "text"}...] or false, "bullets": [text...] or
 * false}...]. Lines that begin with "1." are work steps, with "-" or "*" bullets; a line right
 * below one goes on with it. */
json_t *present_prose(const char *text);

/* {"number", "revision", "title", "issuer", "kind", "force", "issued", "sheet",
 * "sheets"} for title_block.html. */
json_t *present_title_block(const struct revision_content *content, unsigned sheet,
                            unsigned sheets);

/* All that notice_body.html shows of a revision, the drawing for these facts
 * (NULL: none) included, names as the caller reads them. statement: NULL when it does
 * not compile. */
json_t *present_revision(const struct context *c, const struct revision *revision,
                         const struct effectivity *statement, const struct facts *facts);

/* {"from", "to", "total", "previous_url", "next_url" (or false)} for pager.html. The
 * addresses are path with the query's fields, but page, which counts from 1. */
json_t *present_pager(const char *path, const struct http_fields *query, const struct page *page,
                      int64_t total);

/* The path with the query's fields that are not blank, but "page", and with one
 * of them set to that value. */
json_t *present_url_with(const char *path, const struct http_fields *query, const char *name,
                         const char *value);

/* Sets "hint" of one field in what form_view made, or of each of its rows;
 * returns view, so that calls nest; NULL stays NULL. */
json_t *present_hint(json_t *view, const char *name, const char *hint);

/* Sets a member (stolen) and returns the view, so that calls nest; on failure gives
 * both back and returns NULL. A NULL of either stays NULL. */
json_t *present_set(json_t *view, const char *name, json_t *value);

/* {name: list}, or false for an empty list, which is stolen: a section that is left out when
 * nothing belongs in it. */
json_t *present_some(const char *name, json_t *list);

/* Appends and returns the array; on failure gives both back and returns NULL. */
json_t *present_append(json_t *array, json_t *item);

#endif
