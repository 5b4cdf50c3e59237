#include "web/http/page_static.h"

#include <string.h>

#include "web/http/app_parts.h"
#include "web/http/respond.h"

const struct input static_inputs[] = {{"v", "Version", INPUT_LINE, .longest = 32}, INPUTS_END};

enum status page_static(struct context *c)
{
	const struct static_file *found = statics_find(c->app->statics, context_capture(c, "file"));
	enum cache_class cache;
	bool named;

	if (!found)
		return ST_MISSING;
	named = strcmp(form_text(c->form, "v"), found->tag) == 0;
	cache = named ? CACHE_FOREVER : CACHE_PUBLIC;
	if (found->gzip)
		response_header(c->arena, c->response, "Vary", "Accept-Encoding");
	if (!found->gzip || !http_accepts_coding(c->request->headers.accept_encoding, "gzip")) {
		c->response->etag = found->etag;
		return respond_bytes(c, found->type, found->file->bytes, found->file->len, cache,
		                     NULL);
	}
	response_header(c->arena, c->response, "Content-Encoding", "gzip");
	c->response->etag = found->gzip_etag;
	return respond_bytes(c, found->type, found->gzip, found->gzip_len, cache, NULL);
}
