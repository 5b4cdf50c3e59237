/* kit_page.h - one kit's view for a handler. */
#ifndef WEB_KITS_KIT_PAGE_H
#define WEB_KITS_KIT_PAGE_H

#include "chapter/kit_view.h"
#include "web/http/context.h"

/* Loads the view of a kit for the call of use; passes on what that returns.
 * What the store says; ST_MISSING: no such kit. Whose kit it is, is not asked. */
typedef enum status kit_use_fn(struct context *c, const struct kit_view *view, void *context);
enum status kit_with_view(struct context *c, struct kit_id id, kit_use_fn *use,
                          void *context) MUST_CHECK;

/* The same for a page about the kit captured as {kit}. */
typedef enum status kit_page_fn(struct context *c, const struct kit_view *view);
enum status kit_page(struct context *c, kit_page_fn *page) MUST_CHECK;

#endif
