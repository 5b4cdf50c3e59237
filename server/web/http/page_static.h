/* page_static.h - static files. */
#ifndef WEB_HTTP_PAGE_STATIC_H
#define WEB_HTTP_PAGE_STATIC_H

#include "web/http/context.h"

extern const struct input static_inputs[];

/* A static file; kept for good when the address names its content. */
enum status page_static(struct context *c);

#endif
