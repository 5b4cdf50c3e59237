/* picture_pages.h - pictures themselves, adding some later, removing one. */
#ifndef WEB_NOTES_PICTURE_PAGES_H
#define WEB_NOTES_PICTURE_PAGES_H

#include "web/http/context.h"

extern const struct input picture_inputs[];

handler_fn page_picture, page_picture_small;
handler_fn page_picture_remove, act_picture_remove;
/* To what {note}, {report} or {finding} captures. */
handler_fn page_note_pictures, act_note_pictures;
handler_fn page_report_pictures, act_report_pictures;
handler_fn page_finding_pictures, act_finding_pictures;

#endif
