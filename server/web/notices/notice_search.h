/* notice_search.h - the search fields of page and API as a query for the store. */
#ifndef WEB_NOTICES_NOTICE_SEARCH_H
#define WEB_NOTICES_NOTICE_SEARCH_H

#include "store/notices.h"
#include "web/html/input.h"

/* From the inputs q, part, issuer, model, kind, force, year, order; the texts are
 * borrowed from the form. The choices stand in the order of their enums. */
struct notice_query notice_search_of(const struct form *form, struct page page);

#endif
