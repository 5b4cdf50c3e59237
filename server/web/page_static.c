#include "web/page_static.h"

#include <string.h>

#include "web/app_parts.h"
#include "web/respond.h"

const struct input static_inputs[] = {{"v", "Version", INPUT_LINE, .longest = 32}, INPUTS_END};

enum status page_static(struct context *c)
{
	const struct static_file *found = statics_find(c->app->statics, context_capture(c, "file"));
	bool named;

	if (!found)
		return ST_MISSING;
	named = strcmp(form_text(c->form, "v"), found->tag) == 0;
	c->response->etag = found->etag;
	return respond_bytes(c, found->type, found->file->bytes, found->file->len,
	                     named ? CACHE_FOREVER : CACHE_PUBLIC, NULL);
}

/* The dispatcher has asked the database for the catalogue's generation. */
enum status page_health(struct context *c)
{
	return respond_json(c, json_pack("{s:s}", "status", "ok"), CACHE_NEVER);
}
