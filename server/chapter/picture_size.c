/* picture_size.c - the size of a picture, asked of the library that will decode it. */
#include "chapter/picture.h"

#include <setjmp.h>
#include <stdio.h>
#include <string.h>

#include <jpeglib.h>
#include <png.h>
#include <webp/decode.h>

struct trouble {
	struct jpeg_error_mgr manager; /* first: the library knows only this */
	jmp_buf out;
};

static void leave(j_common_ptr common)
{
	struct trouble *trouble = (struct trouble *)(void *)common->err;

	longjmp(trouble->out, 1);
}

static void say_nothing(j_common_ptr common)
{
	(void)common;
}

static bool jpeg_size(const void *bytes, size_t size, unsigned *width, unsigned *height)
{
	struct jpeg_decompress_struct jpeg;
	struct trouble trouble;
	volatile bool read = false;

	jpeg.err = jpeg_std_error(&trouble.manager);
	trouble.manager.error_exit = leave;
	trouble.manager.output_message = say_nothing;
	jpeg_create_decompress(&jpeg);
	if (setjmp(trouble.out) == 0) {
		jpeg_mem_src(&jpeg, bytes, size);
		read = jpeg_read_header(&jpeg, TRUE) == JPEG_HEADER_OK;
		*width = jpeg.image_width;
		*height = jpeg.image_height;
	}
	jpeg_destroy_decompress(&jpeg);
	return read;
}

static bool png_size(const void *bytes, size_t size, unsigned *width, unsigned *height)
{
	png_image png = {.version = PNG_IMAGE_VERSION};
	bool read = png_image_begin_read_from_memory(&png, bytes, size) != 0;

	*width = png.width;
	*height = png.height;
	png_image_free(&png);
	return read;
}

static bool webp_size(const void *bytes, size_t size, unsigned *width, unsigned *height)
{
	WebPBitstreamFeatures features;

	if (WebPGetFeatures(bytes, size, &features) != VP8_STATUS_OK || features.has_animation)
		return false;
	*width = (unsigned)features.width;
	*height = (unsigned)features.height;
	return true;
}

bool picture_decoder_size(const void *bytes, size_t size, unsigned *width, unsigned *height)
{
	switch (picture_kind_of(bytes, size)) {
	case PICTURE_JPEG:
		return jpeg_size(bytes, size, width, height);
	case PICTURE_PNG:
		return png_size(bytes, size, width, height);
	case PICTURE_WEBP:
		return webp_size(bytes, size, width, height);
	case PICTURE_NONE:
		break;
	}
	return false;
}
