/* public.h - pages that anybody may read. */
#ifndef WEB_NOTICES_PUBLIC_H
#define WEB_NOTICES_PUBLIC_H

#include "web/http/route.h"

extern const struct input notices_inputs[];
extern const struct input differences_inputs[];
extern const struct input check_inputs[];

handler_fn page_start;       /* / */
handler_fn page_about;       /* /about */
handler_fn page_notices;     /* /notices */
handler_fn page_notice;      /* /notices/{notice} */
handler_fn page_revision;    /* /notices/{notice}/revisions/{revision} */
handler_fn page_differences; /* /notices/{notice}/revisions/{revision}/differences */
handler_fn page_attachment;  /* /notices/{notice}/files/{file} */
handler_fn page_check;       /* /check */

#endif
