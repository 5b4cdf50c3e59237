/* qr.h - a link as a QR code (ISO/IEC 18004), for an inline drawing. */
#ifndef WEB_HTML_QR_H
#define WEB_HTML_QR_H

#include <jansson.h>

/* {"size", "view_box", "shape"}: modules on a side; the viewBox with the quiet zone of
 * four modules; the dark modules as the d of one path. Error correction M. New
 * reference; NULL when memory ran out or the text is too long for a code
 * (more than 2331 bytes). */
json_t *qr_view(const char *text);

#endif
