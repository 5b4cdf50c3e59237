/* picture.h - a photo or drawing that somebody uploads, made fit to be shown.
 *
 * Whatever comes is decoded and written anew, so that nothing of the file but
 * its picture is kept: no place, no camera, no hidden bytes. JPEG, PNG and WebP
 * are told by their content, whatever the name says. The size is read from the
 * header first and a picture of too many pixels is refused before a byte is
 * decoded; so is one that moves, and a JPEG in more than PICTURE_SCANS
 * passes, and a file that its decoder measures otherwise. Of a PNG the decoder gets only the chunks
 * that make the picture, since packed words and colour profiles may unpack to gigabytes. It is
 * turned upright by its Exif orientation (CIPA DC-008, tag 0x0112), which JPEG, PNG and WebP may
 * have, and scaled down. A PNG stays one while it is small; all else becomes
 * JPEG, on white where it was transparent.
 *
 * What members send is opened in a process of its own (picture_shop.h); what is
 * here may be called anywhere, and lasts as long as it takes.
 */
#ifndef CHAPTER_PICTURE_H
#define CHAPTER_PICTURE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"

#define SHEET_PIXELS 40000000   /* most that are decoded, of what a steward attaches */
#define PICTURE_PIXELS 25000000 /* of what any member sends; phones make 12 to 24 million */
#define PICTURE_SCANS 100       /* passes of a progressive JPEG; the usual ones have ten */
#define PICTURE_SIDE 2000       /* pixels of the longer side of a sheet, at most */
#define PICTURE_LARGE 1600      /* of the large one of two */
#define PICTURE_SMALL 320       /* of the small one: half a phone's column */

enum picture_kind { PICTURE_NONE, PICTURE_JPEG, PICTURE_PNG, PICTURE_WEBP };

struct picture {
	const void *bytes; /* borrowed from the arena */
	size_t size;
	enum picture_kind kind; /* JPEG or PNG */
	unsigned width, height;
};

/* By the first bytes. */
enum picture_kind picture_kind_of(const void *bytes, size_t size);

/* What the header says: width and height, the orientation 1 to 8 (1 when the file
 * says none), whether it moves (an animated WebP). False: the header is cut short or
 * no picture's, or a JPEG has too many scans. */
struct picture_head {
	unsigned width, height, orientation;
	bool moves;
};
bool picture_head_read(const void *bytes, size_t size, struct picture_head *out);

/* By its head: ST_INVALID: it is none, or moves; ST_LIMIT: more than so many pixels. */
enum status picture_look(const void *bytes, size_t size, unsigned pixels) MUST_CHECK;

/* The size by the library that will decode it, from its header alone. False: the
 * library would not. */
bool picture_decoder_size(const void *bytes, size_t size, unsigned *width, unsigned *height);

/* One of up to PICTURE_SIDE. ST_INVALID: cut short, damaged, moving or no picture.
 * ST_LIMIT: more than SHEET_PIXELS. ST_NOMEM. */
enum status picture_clean(struct arena *arena, const void *bytes, size_t size,
                          struct picture *out) MUST_CHECK;

/* Two, decoded once: of up to PICTURE_LARGE and PICTURE_SMALL. Likewise, ST_LIMIT for
 * more than PICTURE_PIXELS. */
enum status picture_clean_two(struct arena *arena, const void *bytes, size_t size,
                              struct picture *large, struct picture *small) MUST_CHECK;

/* Why it was refused with that status, to follow the name of the file: "is damaged
 * or cut short ..."; ST_BUSY: others wait already; ST_DENIED: its opening was cut off.
 * NULL when the status is no refusal or memory ran out, and then the arena says so. */
const char *picture_refusal(struct arena *arena, const void *bytes, size_t size,
                            enum status status);

#endif
