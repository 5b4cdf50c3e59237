/* picture.h - a photo or drawing that somebody uploads, made fit to be shown.
 *
 * Whatever comes is decoded and written anew, so that nothing of the file but
 * its picture is kept: no place, no camera, no hidden bytes. JPEG, PNG and WebP
 * are told by their content. The size is read from the header first and a
 * picture of more than PICTURE_PIXELS is refused before a byte is decoded. It
 * is turned upright by its Exif orientation (CIPA DC-008, tag 0x0112) and
 * scaled down to PICTURE_SIDE. A PNG stays one while it is small; all else
 * becomes JPEG, on white where it was transparent.
 */
#ifndef WEB_PICTURE_H
#define WEB_PICTURE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"

#define PICTURE_PIXELS 40000000 /* most that are decoded */
#define PICTURE_SIDE 2000       /* pixels of the longer side, at most */

enum picture_kind { PICTURE_NONE, PICTURE_JPEG, PICTURE_PNG, PICTURE_WEBP };

struct picture {
	const void *bytes; /* borrowed from the arena */
	size_t size;
	enum picture_kind kind; /* JPEG or PNG */
	unsigned width, height;
};

/* By the first bytes. */
enum picture_kind picture_kind_of(const void *bytes, size_t size);

/* Width and height as the header says, and the orientation 1 to 8 (1 when the
 * file says none). False: the header is cut short or no picture's. */
struct picture_head {
	unsigned width, height, orientation;
};
bool picture_head_read(const void *bytes, size_t size, struct picture_head *out);

/* ST_INVALID: cut short, damaged or no picture. ST_LIMIT: too many pixels.
 * ST_NOMEM. */
enum status picture_clean(struct arena *arena, const void *bytes, size_t size,
                          struct picture *out) MUST_CHECK;

#endif
