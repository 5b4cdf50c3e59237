/* api_view.h - core and store structs as the API shows them.
 *
 * A contract of its own: pages may change, these names may not. New
 * references; NULL when memory ran out.
 */
#ifndef WEB_API_API_VIEW_H
#define WEB_API_API_VIEW_H

#include <jansson.h>

#include "core/standing.h"
#include "store/notices.h"

/* Said in every answer that somebody might act on. */
extern const char api_caution[];

json_t *api_notice_row(const struct notice_row *row);
json_t *api_notice_entry(const struct catalogue_entry *entry);
json_t *api_notice_whole(const struct catalogue *catalogue, const struct revision *revisions,
                         size_t count);
json_t *api_standing(const struct catalogue_entry *entry, const struct standing *standing,
                     const struct kit_state *kit);
json_t *api_record(const struct record *records, size_t count, size_t i);

#endif
