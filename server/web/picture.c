#include "web/picture.h"

#include <limits.h>
#include <pthread.h>
#include <stdarg.h>
#include <string.h>

#include <gd.h>

#define JPEG_QUALITY 85
#define PNG_LARGEST (3 * 1024 * 1024) /* a larger one is rather a photo */

/* What the library has to say about damaged files is no business of standard error. */
static void say_nothing(int priority, const char *format, va_list args)
{
	(void)priority;
	(void)format;
	(void)args;
}

static void silence(void)
{
	gdSetErrorMethod(say_nothing);
}

static void *read_only(const void *bytes)
{
	union {
		const void *in;
		void *out; /* the library takes a plain pointer, and only reads */
	} both = {bytes};

	return both.out;
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

static gdImagePtr blank(int width, int height)
{
	gdImagePtr image = gdImageCreateTrueColor(width, height);

	if (!image)
		return NULL;
	gdImageAlphaBlending(image, 0);
	gdImageSaveAlpha(image, 1);
	return image;
}

/* These three take an image and give another; NULL when memory ran out. */

static gdImagePtr scaled(gdImagePtr from)
{
	int longer = gdImageSX(from) > gdImageSY(from) ? gdImageSX(from) : gdImageSY(from);
	int width = gdImageSX(from), height = gdImageSY(from);
	gdImagePtr to;

	if (longer <= PICTURE_SIDE)
		return from;
	width = (int)((long)width * PICTURE_SIDE / longer);
	height = (int)((long)height * PICTURE_SIDE / longer);
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

static gdImagePtr on_white(gdImagePtr from)
{
	gdImagePtr to = gdImageCreateTrueColor(gdImageSX(from), gdImageSY(from));

	if (to) {
		gdImageFilledRectangle(to, 0, 0, gdImageSX(to), gdImageSY(to),
		                       gdTrueColor(255, 255, 255));
		gdImageCopy(to, from, 0, 0, 0, 0, gdImageSX(from), gdImageSY(from));
	}
	gdImageDestroy(from);
	return to;
}

static enum status take(struct arena *arena, void *made, int size, gdImagePtr image,
                        enum picture_kind kind, struct picture *out)
{
	const char *copy = made && size > 0 ? arena_copy(arena, made, (size_t)size) : NULL;

	gdFree(made);
	if (!copy)
		return ST_NOMEM;
	*out = (struct picture){copy, (size_t)size, kind, (unsigned)gdImageSX(image),
	                        (unsigned)gdImageSY(image)};
	return ST_OK;
}

static enum status write_jpeg(struct arena *arena, gdImagePtr image, struct picture *out)
{
	int size = 0;
	void *made = gdImageJpegPtr(image, &size, JPEG_QUALITY);

	return take(arena, made, size, image, PICTURE_JPEG, out);
}

/* The image is used up. */
static enum status encode(struct arena *arena, gdImagePtr image, bool png, struct picture *out)
{
	enum status status = ST_NOMEM;
	int size = 0;
	void *made = png ? gdImagePngPtr(image, &size) : NULL;

	if (made && size <= PNG_LARGEST) {
		status = take(arena, made, size, image, PICTURE_PNG, out);
		gdImageDestroy(image);
		return status;
	}
	gdFree(made);
	image = on_white(image);
	if (image)
		status = write_jpeg(arena, image, out);
	gdImageDestroy(image);
	return status;
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

enum status picture_clean(struct arena *arena, const void *bytes, size_t size, struct picture *out)
{
	static pthread_once_t once = PTHREAD_ONCE_INIT;
	struct picture_head head;
	gdImagePtr image;

	if (size > INT_MAX || !picture_head_read(bytes, size, &head))
		return ST_INVALID;
	if (head.width > PICTURE_PIXELS || head.height > PICTURE_PIXELS ||
	    (unsigned long long)head.width * head.height > PICTURE_PIXELS)
		return ST_LIMIT;
	pthread_once(&once, silence);
	image = true_colour(decode(bytes, size));
	if (!image)
		return ST_INVALID;
	/* The header that was measured is the one that was decoded. */
	if (gdImageSX(image) != (int)head.width || gdImageSY(image) != (int)head.height) {
		gdImageDestroy(image);
		return ST_INVALID;
	}
	image = scaled(image);
	if (image)
		image = upright(image, head.orientation);
	if (!image)
		return ST_NOMEM;
	return encode(arena, image, picture_kind_of(bytes, size) == PICTURE_PNG, out);
}
