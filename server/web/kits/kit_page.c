#include "web/kits/kit_page.h"

enum status kit_with_view(struct context *c, struct kit_id id, kit_use_fn *use, void *context)
{
	struct work work = context_work(c);
	struct kit_view view;
	enum status status = kit_view_load(&work, id, &view);

	if (status == ST_OK)
		status = use(c, &view, context);
	kit_view_done(&view);
	return status;
}

static enum status call_page(struct context *c, const struct kit_view *view, void *page)
{
	return (*(kit_page_fn *const *)page)(c, view);
}

enum status kit_page(struct context *c, kit_page_fn *page)
{
	return kit_with_view(c, (struct kit_id){context_id(c, "kit")}, call_page, &page);
}
