#include "web/html/qr.h"

#include <qrencode.h>
#include <stdbool.h>

#include "base/text.h"

#define QUIET 4 /* modules left light around a code: ISO/IEC 18004 */

static bool is_dark(const QRcode *code, int x, int y)
{
	return code->data[y * code->width + x] & 1;
}

/* Each run of dark modules in a row is one box. */
static void add_row(const QRcode *code, int y, struct text *shape)
{
	for (int x = 0; x < code->width; x++) {
		int from = x;

		while (x < code->width && is_dark(code, x, y))
			x++;
		if (x > from)
			text_printf(shape, "M%d %dh%dv1h-%dz", from, y, x - from, x - from);
	}
}

json_t *qr_view(const char *text)
{
	QRcode *code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);
	struct text shape = TEXT_EMPTY;
	json_t *view = NULL;
	int side;

	if (!code)
		return NULL;
	for (int y = 0; y < code->width; y++)
		add_row(code, y, &shape);
	side = code->width + 2 * QUIET;
	if (!text_failed(&shape))
		view = json_pack("{s:i, s:o, s:s}", "size", code->width, "view_box",
		                 json_sprintf("-%d -%d %d %d", QUIET, QUIET, side, side), "shape",
		                 text_string(&shape));
	text_free(&shape);
	QRcode_free(code);
	return view;
}
