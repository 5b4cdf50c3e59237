/* picture_head.c - size and orientation out of the first bytes of a picture.
 *
 * JPEG: ITU-T T.81 annex B (frame header), Exif in an APP1 segment. PNG: W3C
 * PNG, IHDR and eXIf chunks. WebP: RFC 9649, VP8, VP8L and VP8X chunks, EXIF
 * chunk. Every step checks what is left; numbers of the file are never used
 * unchecked.
 *
 * What a decoder could read otherwise than this does is refused: a second frame
 * header of a JPEG, a second IHDR of a PNG, a WebP whose first chunk is none of
 * the three (libwebp takes it for a bare bitstream) or that holds two images.
 */
#include "chapter/picture.h"

#include <stdint.h>
#include <string.h>

struct bytes {
	const unsigned char *at;
	size_t left;
};

static bool skip(struct bytes *b, size_t count)
{
	if (b->left < count)
		return false;
	b->at += count;
	b->left -= count;
	return true;
}

static bool begins(const struct bytes *b, const char *with, size_t len)
{
	return b->left >= len && memcmp(b->at, with, len) == 0;
}

static unsigned big16(const unsigned char *at)
{
	return (unsigned)at[0] << 8 | at[1];
}

static uint32_t big32(const unsigned char *at)
{
	return (uint32_t)big16(at) << 16 | big16(at + 2);
}

static unsigned little16(const unsigned char *at)
{
	return (unsigned)at[1] << 8 | at[0];
}

static uint32_t little32(const unsigned char *at)
{
	return (uint32_t)little16(at + 2) << 16 | little16(at);
}

enum picture_kind picture_kind_of(const void *bytes, size_t size)
{
	struct bytes b = {bytes, size};

	if (begins(&b, "\xFF\xD8\xFF", 3))
		return PICTURE_JPEG;
	if (begins(&b, "\x89PNG\r\n\x1A\n", 8))
		return PICTURE_PNG;
	if (size >= 12 && begins(&b, "RIFF", 4) && memcmp(b.at + 8, "WEBP", 4) == 0)
		return PICTURE_WEBP;
	return PICTURE_NONE;
}

/* ---- Exif: a TIFF header, then one list of 12-byte entries ---- */

#define TAG_ORIENTATION 0x0112
#define ENTRY 12

static unsigned orientation_of(struct bytes tiff)
{
	bool little = begins(&tiff, "II*\0", 4);
	uint32_t where;
	unsigned count;

	if ((!little && !begins(&tiff, "MM\0*", 4)) || tiff.left < 8)
		return 1;
	where = little ? little32(tiff.at + 4) : big32(tiff.at + 4);
	if (!skip(&tiff, where) || tiff.left < 2)
		return 1;
	count = little ? little16(tiff.at) : big16(tiff.at);
	for (skip(&tiff, 2); count > 0 && tiff.left >= ENTRY; count--, skip(&tiff, ENTRY)) {
		unsigned tag = little ? little16(tiff.at) : big16(tiff.at);
		unsigned value = little ? little16(tiff.at + 8) : big16(tiff.at + 8);

		if (tag == TAG_ORIENTATION)
			return value >= 1 && value <= 8 ? value : 1;
	}
	return 1;
}

/* ---- JPEG ---- */

static bool is_frame(unsigned marker)
{
	return marker >= 0xC0 && marker <= 0xCF && marker != 0xC4 && marker != 0xC8 &&
	       marker != 0xCC;
}

static bool stands_alone(unsigned marker)
{
	return marker == 0x01 || (marker >= 0xD0 && marker <= 0xD8);
}

/* One segment, its marker read. False: a frame header that is too short or not the
 * first. A frame has a size, so that out->height tells whether there was one. */
static bool read_segment(unsigned marker, struct bytes segment, struct picture_head *out)
{
	if (marker == 0xE1 && begins(&segment, "Exif\0\0", 6)) {
		skip(&segment, 6);
		out->orientation = orientation_of(segment);
	}
	if (!is_frame(marker))
		return true;
	if (segment.left < 5 || out->height)
		return false;
	out->height = big16(segment.at + 1);
	out->width = big16(segment.at + 3);
	return out->height > 0;
}

/* To the next marker: in the data of a scan a zero stands behind each FF that is
 * none (T.81 B.1.1.5), and before a marker there may be more of them. */
static bool to_marker(struct bytes *b)
{
	const unsigned char *at;

	while ((at = memchr(b->at, 0xFF, b->left)) && skip(b, (size_t)(at - b->at)) &&
	       b->left >= 2) {
		if (b->at[1] != 0 && b->at[1] != 0xFF)
			return true;
		skip(b, b->at[1] == 0 ? 2 : 1);
	}
	return false;
}

/* To the end mark: without it the decoder would fill in grey. Scans are counted,
 * since each goes over all of the picture and thousands fit in a small file. */
static bool read_jpeg(struct bytes b, struct picture_head *out)
{
	unsigned scans = 0;

	skip(&b, 2);
	while (to_marker(&b)) {
		unsigned marker = b.at[1];
		size_t len;

		if (marker == 0xD9)
			return out->height > 0 && scans > 0;
		if (stands_alone(marker)) {
			skip(&b, 2);
			continue;
		}
		len = b.left < 4 ? 0 : big16(b.at + 2);
		if (len < 2 || b.left < 2 + len || (marker == 0xDA && ++scans > PICTURE_SCANS) ||
		    !read_segment(marker, (struct bytes){b.at + 4, len - 2}, out))
			return false;
		skip(&b, 2 + len);
	}
	return false;
}

/* ---- PNG ---- */

#define CHUNK 12 /* length, name and check sum around the data */

static bool read_png(struct bytes b, struct picture_head *out)
{
	skip(&b, 8);
	if (b.left < CHUNK + 13 || big32(b.at) != 13 || memcmp(b.at + 4, "IHDR", 4) != 0)
		return false;
	out->width = big32(b.at + 8);
	out->height = big32(b.at + 12);
	for (bool first = true; b.left >= CHUNK; first = false) {
		size_t len = big32(b.at);

		if (!first && memcmp(b.at + 4, "IHDR", 4) == 0)
			return false;
		if (len > b.left - CHUNK)
			break;
		if (memcmp(b.at + 4, "eXIf", 4) == 0)
			out->orientation = orientation_of((struct bytes){b.at + 8, len});
		skip(&b, CHUNK + len);
	}
	return true;
}

/* ---- WebP ---- */

/* The three chunks that say a size; false: it is one of them, and says none. */
static bool read_webp_size(const char *name, struct bytes chunk, struct picture_head *out)
{
	const unsigned char *at = chunk.at;

	if (memcmp(name, "VP8X", 4) == 0) {
		if (chunk.left < 10)
			return false;
		out->moves = at[0] & 2; /* RFC 9649 section 2.7.1.1: animation */
		out->width = 1 + (little32(at + 3) >> 8);
		out->height = 1 + (little32(at + 6) >> 8);
	} else if (memcmp(name, "VP8L", 4) == 0) {
		if (chunk.left < 5 || at[0] != 0x2F)
			return false;
		out->width = 1 + (little32(at + 1) & 0x3FFF);
		out->height = 1 + (little32(at + 1) >> 14 & 0x3FFF);
	} else {
		if (chunk.left < 10)
			return false;
		out->width = little16(at + 6) & 0x3FFF;
		out->height = little16(at + 8) & 0x3FFF;
	}
	return true;
}

static bool is_image(const char *name)
{
	return memcmp(name, "VP8 ", 4) == 0 || memcmp(name, "VP8L", 4) == 0;
}

/* An image alone, or VP8X and an image of the size that it says. */
static bool read_webp(struct bytes b, struct picture_head *out)
{
	struct picture_head image = {0, 0, 0, false};
	bool extended = b.left >= 16 && memcmp(b.at + 12, "VP8X", 4) == 0;

	skip(&b, 12);
	for (bool first = true; b.left >= 8; first = false) {
		const char *name = (const char *)b.at;
		size_t len = little32(b.at + 4);
		struct bytes chunk = {b.at + 8, len};

		if (len > b.left - 8)
			break;
		if (first && !extended && !is_image(name))
			return false;
		if (first && extended && !read_webp_size(name, chunk, out))
			return false;
		if (is_image(name) && (image.width || !read_webp_size(name, chunk, &image)))
			return false;
		if (memcmp(name, "EXIF", 4) == 0) {
			if (begins(&chunk, "Exif\0\0", 6))
				skip(&chunk, 6);
			out->orientation = orientation_of(chunk);
		}
		if (!skip(&b, 8 + len + (len & 1)))
			break;
	}
	if (extended)
		return out->moves || (image.width == out->width && image.height == out->height);
	out->width = image.width;
	out->height = image.height;
	return true;
}

bool picture_head_read(const void *bytes, size_t size, struct picture_head *out)
{
	struct bytes b = {bytes, size};
	struct picture_head head = {.orientation = 1};
	bool read = false;

	switch (picture_kind_of(bytes, size)) {
	case PICTURE_JPEG:
		read = read_jpeg(b, &head);
		break;
	case PICTURE_PNG:
		read = read_png(b, &head);
		break;
	case PICTURE_WEBP:
		read = read_webp(b, &head);
		break;
	case PICTURE_NONE:
		break;
	}
	if (!read || head.width == 0 || head.height == 0)
		return false;
	*out = head;
	return true;
}
