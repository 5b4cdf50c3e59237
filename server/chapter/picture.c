#include "chapter/picture.h"

#include <limits.h>
#include <stdarg.h>
#include <string.h>

#include <gd.h>

#include "base/mem.h"

/* One of the pictures that are made of one. */
struct wanted {
	unsigned pixels; /* most that are decoded for it */
	int side;        /* pixels of the longer one, at most */
	int quality;     /* of a JPEG */
	int png_largest; /* bytes; a PNG that would be larger is rather a photo */
};

static const struct wanted sheet = {SHEET_PIXELS, PICTURE_SIDE, 85, 3 * 1024 * 1024},
                           two[] = {{PICTURE_PIXELS, PICTURE_LARGE, 82, 1024 * 1024},
                                    {PICTURE_PIXELS, PICTURE_SMALL, 72, 24 * 1024}};

/* What the library has to say about damaged files is no business of standard error. */
static void say_nothing(int priority, const char *format, va_list args)
{
	(void)priority;
	(void)format;
	(void)args;
}

static void *read_only(const void *bytes)
{
	union {
		const void *in;
		void *out; /* the library takes a plain pointer, and only reads */
	} both = {bytes};

	return both.out;
}

static bool shapes_the_picture(const unsigned char *name)
{
	static const char names[][5] = {"IHDR", "PLTE", "tRNS", "IDAT", "IEND"};

	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
		if (memcmp(name, names[i], 4) == 0)
			return true;
	return false;
}

/* Moves the chunks that make the picture together. Returns the new size. */
static size_t drop_chunks(unsigned char *png, size_t size)
{
	size_t kept = 8, at = 8;

	while (size - at >= 12) {
		const unsigned char *head = png + at;
		size_t len = (size_t)head[0] << 24 | (size_t)head[1] << 16 | (size_t)head[2] << 8 |
		             head[3];

		if (len > size - at - 12)
			break; /* cut short: so is what is kept */
		if (shapes_the_picture(head + 4)) {
			memmove(png + kept, head, len + 12);
			kept += len + 12;
		}
		at += len + 12;
	}
	return kept;
}

static gdImagePtr decode(const void *bytes, size_t size)
{
	void *at = read_only(bytes);
	int len = (int)size;

	switch (picture_kind_of(bytes, size)) {
	case PICTURE_JPEG:
		return gdImageCreateFromJpegPtrEx(len, at, 0);
	case PICTURE_PNG:
		return gdImageCreateFromPngPtr(len, at);
	case PICTURE_WEBP:
		return gdImageCreateFromWebpPtr(len, at);
	case PICTURE_NONE:
		break;
	}
	return NULL;
}

/* What was measured is what will be decoded: the decoder itself says so first. */
static gdImagePtr decode_measured(const struct picture_head *head, const void *bytes, size_t size)
{
	unsigned width, height;

	if (!picture_decoder_size(bytes, size, &width, &height) || width != head->width ||
	    height != head->height)
		return NULL;
	return decode(bytes, size);
}

static gdImagePtr decode_png(const struct picture_head *head, const void *bytes, size_t size)
{
	unsigned char *bare = mem_alloc(size);
	gdImagePtr image;

	if (!bare)
		return NULL;
	memcpy(bare, bytes, size);
	image = decode_measured(head, bare, drop_chunks(bare, size));
	mem_free(bare);
	return image;
}

static gdImagePtr blank(int width, int height)
{
	gdImagePtr image = gdImageCreateTrueColor(width, height);

	if (!image)
		return NULL;
	gdImageAlphaBlending(image, 0);
	gdImageSaveAlpha(image, 1);
	return image;
}

/* These take an image and give another; NULL when memory ran out. */

static gdImagePtr scaled(gdImagePtr from, int side)
{
	int longer = gdImageSX(from) > gdImageSY(from) ? gdImageSX(from) : gdImageSY(from);
	int width = gdImageSX(from), height = gdImageSY(from);
	gdImagePtr to;

	if (longer <= side)
		return from;
	width = (int)(((long)width * side + longer / 2) / longer);
	height = (int)(((long)height * side + longer / 2) / longer);
	to = blank(width ? width : 1, height ? height : 1);
	if (to)
		gdImageCopyResampled(to, from, 0, 0, 0, 0, gdImageSX(to), gdImageSY(to),
		                     gdImageSX(from), gdImageSY(from));
	gdImageDestroy(from);
	return to;
}

/* Where a pixel of the upright picture lies in the stored one. */
static int pixel_at(gdImagePtr from, unsigned orientation, int x, int y)
{
	int right = gdImageSX(from) - 1, bottom = gdImageSY(from) - 1;

	switch (orientation) {
	case 2: /* seen in a mirror */
		return gdImageTrueColorPixel(from, right - x, y);
	case 3: /* upside down */
		return gdImageTrueColorPixel(from, right - x, bottom - y);
	case 4:
		return gdImageTrueColorPixel(from, x, bottom - y);
	case 5:
		return gdImageTrueColorPixel(from, y, x);
	case 6: /* to be turned clockwise */
		return gdImageTrueColorPixel(from, y, bottom - x);
	case 7:
		return gdImageTrueColorPixel(from, right - y, bottom - x);
	case 8: /* to be turned anticlockwise */
		return gdImageTrueColorPixel(from, right - y, x);
	default:
		return gdImageTrueColorPixel(from, x, y);
	}
}

static gdImagePtr upright(gdImagePtr from, unsigned orientation)
{
	bool sideways = orientation >= 5;
	gdImagePtr to;

	if (orientation == 1)
		return from;
	to = blank(sideways ? gdImageSY(from) : gdImageSX(from),
	           sideways ? gdImageSX(from) : gdImageSY(from));
	for (int y = 0; to && y < gdImageSY(to); y++)
		for (int x = 0; x < gdImageSX(to); x++)
			gdImageTrueColorPixel(to, x, y) = pixel_at(from, orientation, x, y);
	gdImageDestroy(from);
	return to;
}

/* size is read after `made` was computed in the same call. */
static enum status take(struct arena *arena, void *made, const int *size, gdImagePtr image,
                        enum picture_kind kind, struct picture *out)
{
	const char *copy = made && *size > 0 ? arena_copy(arena, made, (size_t)*size) : NULL;

	gdFree(made);
	if (!copy)
		return ST_NOMEM;
	*out = (struct picture){copy, (size_t)*size, kind, (unsigned)gdImageSX(image),
	                        (unsigned)gdImageSY(image)};
	return ST_OK;
}

static enum status write_jpeg(struct arena *arena, gdImagePtr image, int quality,
                              struct picture *out)
{
	gdImagePtr paper = gdImageCreateTrueColor(gdImageSX(image), gdImageSY(image));
	int size = 0;
	enum status status;

	if (!paper)
		return ST_NOMEM;
	gdImageFilledRectangle(paper, 0, 0, gdImageSX(paper), gdImageSY(paper),
	                       gdTrueColor(255, 255, 255));
	gdImageCopy(paper, image, 0, 0, 0, 0, gdImageSX(image), gdImageSY(image));
	status =
	        take(arena, gdImageJpegPtr(paper, &size, quality), &size, paper, PICTURE_JPEG, out);
	gdImageDestroy(paper);
	return status;
}

static enum status write_out(struct arena *arena, gdImagePtr image, bool png,
                             const struct wanted *wanted, struct picture *out)
{
	int size = 0;
	void *made = png ? gdImagePngPtr(image, &size) : NULL;

	if (made && size <= wanted->png_largest)
		return take(arena, made, &size, image, PICTURE_PNG, out);
	gdFree(made);
	return write_jpeg(arena, image, wanted->quality, out);
}

static gdImagePtr true_colour(gdImagePtr image)
{
	if (!image || gdImagePaletteToTrueColor(image)) {
		if (image) {
			gdImageAlphaBlending(image, 0);
			gdImageSaveAlpha(image, 1);
		}
		return image;
	}
	gdImageDestroy(image);
	return NULL;
}

enum status picture_look(const void *bytes, size_t size, unsigned pixels)
{
	struct picture_head head;

	if (size > INT_MAX || !picture_head_read(bytes, size, &head) || head.moves)
		return ST_INVALID;
	return (unsigned long long)head.width * head.height > pixels ? ST_LIMIT : ST_OK;
}

/* Upright, no larger than the first that is wanted. */
static enum status open_picture(const void *bytes, size_t size, const struct wanted *wanted,
                                gdImagePtr *out)
{
	struct picture_head head;
	gdImagePtr image;
	enum status status = picture_look(bytes, size, wanted->pixels);

	if (status != ST_OK)
		return status;
	picture_head_read(bytes, size, &head);
	image = true_colour(picture_kind_of(bytes, size) == PICTURE_PNG
	                            ? decode_png(&head, bytes, size)
	                            : decode_measured(&head, bytes, size));
	if (!image)
		return ST_INVALID;
	image = scaled(image, wanted->side);
	if (image)
		image = upright(image, head.orientation);
	*out = image;
	return image ? ST_OK : ST_NOMEM;
}

static enum status make(struct arena *arena, const void *bytes, size_t size,
                        const struct wanted *wanted, size_t count, struct picture *out)
{
	bool png = picture_kind_of(bytes, size) == PICTURE_PNG;
	gdImagePtr image = NULL;
	enum status status;

	gdSetErrorMethod(say_nothing);
	status = open_picture(bytes, size, wanted, &image);
	for (size_t i = 0; status == ST_OK && i < count; i++) {
		image = scaled(image, wanted[i].side);
		status = image ? write_out(arena, image, png, &wanted[i], &out[i]) : ST_NOMEM;
	}
	if (image)
		gdImageDestroy(image);
	return status;
}

enum status picture_clean(struct arena *arena, const void *bytes, size_t size, struct picture *out)
{
	struct picture made;
	enum status status = make(arena, bytes, size, &sheet, 1, &made);

	if (status == ST_OK)
		*out = made;
	return status;
}

enum status picture_clean_two(struct arena *arena, const void *bytes, size_t size,
                              struct picture *large, struct picture *small)
{
	struct picture made[2];
	enum status status = make(arena, bytes, size, two, 2, made);

	if (status == ST_OK) {
		*large = made[0];
		*small = made[1];
	}
	return status;
}

/* ISO/IEC 14496-12 4.3 and 23008-12: what some phones keep their photos as. */
static bool is_heif(const void *bytes, size_t size)
{
	static const char brands[][5] = {"heic", "heix", "mif1", "avif"};
	const char *at = bytes;

	for (size_t i = 0; size >= 12 && i < sizeof brands / sizeof brands[0]; i++)
		if (memcmp(at + 4, "ftyp", 4) == 0 && memcmp(at + 8, brands[i], 4) == 0)
			return true;
	return false;
}

static const char *why_invalid(const void *bytes, size_t size)
{
	static const char *const damaged[] = {
	        [PICTURE_JPEG] = "is damaged or cut short: it does not open as a JPEG picture",
	        [PICTURE_PNG] = "is damaged or cut short: it does not open as a PNG picture",
	        [PICTURE_WEBP] = "is damaged or cut short: it does not open as a WebP picture",
	};
	enum picture_kind kind = picture_kind_of(bytes, size);
	struct picture_head head;

	if (kind == PICTURE_NONE)
		return is_heif(bytes, size) ? "is a HEIC or AVIF picture: save it as JPEG first"
		                            : "is neither a JPEG, PNG nor WebP picture";
	if (picture_head_read(bytes, size, &head) && head.moves)
		return "moves: a WebP picture that stands still is taken";
	return damaged[kind];
}

static const char *too_large(struct arena *arena, const void *bytes, size_t size)
{
	struct picture_head head = {0, 0, 1, false};

	picture_head_read(bytes, size, &head);
	return arena_printf(arena, "is %u by %u pixels, more than are taken: scale it down first",
	                    head.width, head.height);
}

const char *picture_refusal(struct arena *arena, const void *bytes, size_t size, enum status status)
{
	switch (status) {
	case ST_INVALID:
		return why_invalid(bytes, size);
	case ST_LIMIT:
		return too_large(arena, bytes, size);
	case ST_BUSY:
		return "must wait, since other pictures are being taken in: send it again in a "
		       "minute";
	case ST_DENIED:
		return "takes more memory or time to open than there is for it: save it anew as "
		       "JPEG, or scale it down";
	default:
		return NULL;
	}
}
