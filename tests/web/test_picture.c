/* Pictures: what the header says, what is refused, which way is up, and that
 * nothing of the file but its picture is kept. */
#include "support.h"

#include <string.h>

#include <gd.h>

#include "chapter/picture.h"

#define RED 0xFF0000
#define BLUE 0x0000FF
#define WHITE 0xFFFFFF

static struct arena *arena;

static int set_up(void **state)
{
	(void)state;
	arena = arena_new();
	return arena ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	arena_free(arena);
	return 0;
}

struct file {
	const char *at;
	size_t size;
};

static struct file kept(void *made, int size)
{
	struct file file = {arena_copy(arena, made, (size_t)size), (size_t)size};

	gdFree(made);
	return file;
}

/* White, 64 wide and 32 high, with a red square in the first corner of the
 * first row and a blue one at that row's end. */
static gdImagePtr sample(void)
{
	gdImagePtr image = gdImageCreateTrueColor(64, 32);

	gdImageFilledRectangle(image, 0, 0, 63, 31, WHITE);
	gdImageFilledRectangle(image, 0, 0, 15, 15, RED);
	gdImageFilledRectangle(image, 48, 0, 63, 15, BLUE);
	return image;
}

static struct file sample_of(enum picture_kind kind)
{
	gdImagePtr image = sample();
	int size = 0;
	void *made;
	struct file file;

	if (kind == PICTURE_JPEG)
		made = gdImageJpegPtr(image, &size, 95);
	else if (kind == PICTURE_PNG)
		made = gdImagePngPtr(image, &size);
	else
		made = gdImageWebpPtr(image, &size);
	assert_non_null(made);
	file = kept(made, size);
	gdImageDestroy(image);
	return file;
}

/* A JPEG with an Exif segment: an orientation, and words that must not be kept. */
static struct file with_exif(struct file jpeg, unsigned orientation, bool little)
{
	static const char words[] = "HANGAR 7, 51.5 N";
	const unsigned char big_tiff[] = {
	        'M',  'M',  0, 42, 0, 0, 0, 8, 0, 1,
	        0x01, 0x12, 0, 3,  0, 0, 0, 1, 0, (unsigned char)orientation,
	        0,    0,    0, 0,  0, 0};
	const unsigned char little_tiff[] = {'I',
	                                     'I',
	                                     42,
	                                     0,
	                                     8,
	                                     0,
	                                     0,
	                                     0,
	                                     1,
	                                     0,
	                                     0x12,
	                                     0x01,
	                                     3,
	                                     0,
	                                     1,
	                                     0,
	                                     0,
	                                     0,
	                                     (unsigned char)orientation,
	                                     0,
	                                     0,
	                                     0,
	                                     0,
	                                     0,
	                                     0,
	                                     0};
	size_t body = 6 + sizeof big_tiff + sizeof words, size = jpeg.size + 4 + body;
	char *out = arena_array(arena, size, 1), *at = out;

	memcpy(at, jpeg.at, 2);
	at += 2;
	*at++ = (char)0xFF;
	*at++ = (char)0xE1;
	*at++ = 0;
	*at++ = (char)(body + 2);
	memcpy(at, "Exif\0\0", 6);
	at += 6;
	memcpy(at, little ? little_tiff : big_tiff, sizeof big_tiff);
	at += sizeof big_tiff;
	memcpy(at, words, sizeof words);
	at += sizeof words;
	memcpy(at, jpeg.at + 2, jpeg.size - 2);
	return (struct file){out, size};
}

static bool near(int pixel, int wanted)
{
	int off = 0;

	for (int shift = 0; shift < 24; shift += 8) {
		int a = pixel >> shift & 0xFF, b = wanted >> shift & 0xFF;

		off += a > b ? a - b : b - a;
	}
	return off < 60;
}

static gdImagePtr opened(const struct picture *picture)
{
	union {
		const void *in;
		void *out;
	} both = {picture->bytes};

	return picture->kind == PICTURE_PNG
	               ? gdImageCreateFromPngPtr((int)picture->size, both.out)
	               : gdImageCreateFromJpegPtr((int)picture->size, both.out);
}

static void test_a_head_tells_the_size(void **state)
{
	static const enum picture_kind kinds[] = {PICTURE_JPEG, PICTURE_PNG, PICTURE_WEBP};

	(void)state;
	for (size_t i = 0; i < 3; i++) {
		struct file file = sample_of(kinds[i]);
		struct picture_head head;

		assert_int_equal(picture_kind_of(file.at, file.size), kinds[i]);
		assert_true(picture_head_read(file.at, file.size, &head));
		assert_int_equal(head.width, 64);
		assert_int_equal(head.height, 32);
		assert_int_equal(head.orientation, 1);
	}
}

/* Side of the upright picture on which the stored first row and first column
 * lie, as CIPA DC-008-2019 (Exif 2.32), section 4.6.4, Orientation, lists them. */
enum side { TOP, BOTTOM, LEFT, RIGHT };

static const struct {
	enum side row, column;
} sides[9] = {
        [1] = {TOP, LEFT}, [2] = {TOP, RIGHT}, [3] = {BOTTOM, RIGHT}, [4] = {BOTTOM, LEFT},
        [5] = {LEFT, TOP}, [6] = {RIGHT, TOP}, [7] = {RIGHT, BOTTOM}, [8] = {LEFT, BOTTOM},
};

static enum side opposite(enum side side)
{
	static const enum side other[] = {BOTTOM, TOP, RIGHT, LEFT};

	return other[side];
}

static int corner(gdImagePtr image, enum side a, enum side b)
{
	bool right = a == RIGHT || b == RIGHT, bottom = a == BOTTOM || b == BOTTOM;

	return gdImageGetPixel(image, right ? gdImageSX(image) - 6 : 5,
	                       bottom ? gdImageSY(image) - 6 : 5);
}

static void test_pictures_stand_upright(void **state)
{
	struct file jpeg = sample_of(PICTURE_JPEG);

	(void)state;
	for (unsigned o = 1; o <= 8; o++) {
		struct file file = with_exif(jpeg, o, o % 2);
		struct picture picture;
		gdImagePtr image;

		assert_int_equal(picture_clean(arena, file.at, file.size, &picture), ST_OK);
		assert_int_equal(picture.width, o >= 5 ? 32 : 64);
		assert_int_equal(picture.height, o >= 5 ? 64 : 32);
		image = opened(&picture);
		assert_non_null(image);
		assert_true(near(corner(image, sides[o].row, sides[o].column), RED));
		assert_true(near(corner(image, sides[o].row, opposite(sides[o].column)), BLUE));
		gdImageDestroy(image);
	}
}

static void test_nothing_but_the_picture_is_kept(void **state)
{
	struct file file = with_exif(sample_of(PICTURE_JPEG), 6, true);
	struct picture picture;

	(void)state;
	assert_non_null(memmem(file.at, file.size, "HANGAR", 6));
	assert_int_equal(picture_clean(arena, file.at, file.size, &picture), ST_OK);
	assert_null(memmem(picture.bytes, picture.size, "HANGAR", 6));
	assert_null(memmem(picture.bytes, picture.size, "Exif", 4));
}

static void test_kinds_after_cleaning(void **state)
{
	static const struct {
		enum picture_kind from, to;
	} rows[] = {{PICTURE_JPEG, PICTURE_JPEG},
	            {PICTURE_PNG, PICTURE_PNG},
	            {PICTURE_WEBP, PICTURE_JPEG}};

	(void)state;
	for (size_t i = 0; i < 3; i++) {
		struct file file = sample_of(rows[i].from);
		struct picture picture;

		assert_int_equal(picture_clean(arena, file.at, file.size, &picture), ST_OK);
		assert_int_equal(picture.kind, rows[i].to);
		assert_int_equal(picture_kind_of(picture.bytes, picture.size), rows[i].to);
	}
}

static void test_large_pictures_are_scaled(void **state)
{
	gdImagePtr image = gdImageCreateTrueColor(4000, 10);
	struct picture picture;
	struct file file;
	int size = 0;
	void *made = gdImagePngPtr(image, &size);

	(void)state;
	file = kept(made, size);
	gdImageDestroy(image);
	assert_int_equal(picture_clean(arena, file.at, file.size, &picture), ST_OK);
	assert_int_equal(picture.width, PICTURE_SIDE);
	assert_int_equal(picture.height, 5);
}

static void test_two_sizes_of_one_picture(void **state)
{
	static const struct {
		unsigned width, height, orientation;
		unsigned large_width, large_height, small_width, small_height;
	} rows[] = {
	        {64, 32, 1, 64, 32, 64, 32},           {320, 321, 1, 320, 321, 319, 320},
	        {1600, 1200, 1, 1600, 1200, 320, 240}, {1601, 1, 1, 1600, 1, 320, 1},
	        {2000, 1000, 6, 800, 1600, 160, 320},  {1, 3000, 8, 1600, 1, 320, 1},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		gdImagePtr image = gdImageCreateTrueColor((int)rows[i].width, (int)rows[i].height);
		struct picture large, small;
		struct file file;
		int size = 0;
		void *made = gdImageJpegPtr(image, &size, 90);

		file = with_exif(kept(made, size), rows[i].orientation, true);
		gdImageDestroy(image);
		assert_int_equal(picture_clean_two(arena, file.at, file.size, &large, &small),
		                 ST_OK);
		assert_int_equal(large.width, rows[i].large_width);
		assert_int_equal(large.height, rows[i].large_height);
		assert_int_equal(small.width, rows[i].small_width);
		assert_int_equal(small.height, rows[i].small_height);
		assert_int_equal(picture_kind_of(small.bytes, small.size), PICTURE_JPEG);
	}
}

static void test_refusals_are_told(void **state)
{
	static const struct {
		const char *bytes;
		size_t size;
		enum status status;
		const char *words; /* NULL: none */
	} rows[] = {
	        {"\xFF\xD8\xFF\xC0", 4, ST_INVALID, "does not open as a JPEG"},
	        {"\x89PNG\r\n\x1A\n", 8, ST_INVALID, "does not open as a PNG"},
	        {"RIFF....WEBPVP8 ", 16, ST_INVALID, "does not open as a WebP"},
	        {"RIFF....WEBPVP8X\x0A\0\0\0\2\0\0\0\0\0\0\0\0\0", 30, ST_INVALID, "moves"},
	        {"\0\0\0\x18"
	         "ftypheic",
	         12, ST_INVALID, "is a HEIC"},
	        {"\0\0\0\x18"
	         "ftypavif",
	         12, ST_INVALID, "is a HEIC or AVIF"},
	        {"\0\0\0\x18"
	         "ftypmp42",
	         12, ST_INVALID, "is neither"},
	        {"\0\0\0\x18"
	         "ftypheic",
	         11, ST_INVALID, "is neither"},
	        {"", 0, ST_INVALID, "is neither"},
	        {"", 0, ST_BUSY, "must wait"},
	        {"", 0, ST_DENIED, "takes more memory or time"},
	        {"RIFF....WEBPVP8L\5\0\0\0\x2F\xFE\x3F\x40\0", 25, ST_LIMIT,
	         "is 16383 by 257 pixels"},
	        {"", 0, ST_OK, NULL},
	        {"", 0, ST_NOMEM, NULL},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const char *words =
		        picture_refusal(arena, rows[i].bytes, rows[i].size, rows[i].status);

		if (!rows[i].words)
			assert_null(words);
		else
			assert_non_null(strstr(words, rows[i].words));
	}
}

/* However a file is cut, it is refused or gives a picture, and never more. */
static void test_files_cut_short_are_refused(void **state)
{
	static const enum picture_kind kinds[] = {PICTURE_JPEG, PICTURE_PNG, PICTURE_WEBP};

	(void)state;
	for (size_t i = 0; i < 3; i++) {
		struct file file = sample_of(kinds[i]);

		for (size_t size = 0; size < file.size - 16; size++) {
			char *cut = arena_copy(arena, file.at, size);
			struct picture picture;

			if (picture_clean(arena, cut, size, &picture) != ST_INVALID)
				print_error("kind %d cut to %zu of %zu is taken\n", (int)kinds[i],
				            size, file.size);
			assert_int_equal(picture_clean(arena, cut, size, &picture), ST_INVALID);
		}
	}
}

/* A PNG header that says so many pixels, and nothing behind it. */
static void test_too_many_pixels_are_never_decoded(void **state)
{
	static const struct {
		unsigned width, height;
		enum status expected, of_member;
	} rows[] = {
	        {60000, 60000, ST_LIMIT, ST_LIMIT},
	        {0x7FFFFFFF, 0x7FFFFFFF, ST_LIMIT, ST_LIMIT},
	        {40000001, 1, ST_LIMIT, ST_LIMIT},
	        {1, 40000001, ST_LIMIT, ST_LIMIT},
	        {0xFFFFFFFF, 1, ST_LIMIT, ST_LIMIT},
	        {0xFFFFFFFF, 0xFFFFFFFF, ST_LIMIT, ST_LIMIT},
	        {6325, 6325, ST_LIMIT, ST_LIMIT},
	        {0, 10, ST_INVALID, ST_INVALID},
	        {10, 0, ST_INVALID, ST_INVALID},
	        {6324, 6324, ST_INVALID, ST_LIMIT}, /* few enough, but nothing follows */
	        {5001, 5000, ST_INVALID, ST_LIMIT},
	        {5000, 5000, ST_INVALID, ST_INVALID},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct file file = sample_of(PICTURE_PNG);
		char *bytes = arena_copy(arena, file.at, file.size);
		struct picture picture, small;

		for (int b = 0; b < 4; b++) {
			bytes[16 + b] = (char)(rows[i].width >> (24 - 8 * b));
			bytes[20 + b] = (char)(rows[i].height >> (24 - 8 * b));
		}
		assert_int_equal(picture_clean(arena, bytes, file.size, &picture),
		                 rows[i].expected);
		assert_int_equal(picture_clean_two(arena, bytes, file.size, &picture, &small),
		                 rows[i].of_member);
	}
}

static void test_what_is_no_picture(void **state)
{
	static const struct file rows[] = {
	        {"", 0},
	        {"\xFF\xD8\xFF", 3},
	        {"\xFF\xD8\xFF\xE1\xFF\xFF", 6},
	        {"\x89PNG\r\n\x1A\n", 8},
	        {"RIFF\xFF\xFF\xFF\xFFWEBPVP8 \xFF\xFF\xFF\xFF", 20},
	        {"GIF89a\1\0\1\0", 10},
	        {"<svg xmlns=\"http://www.w3.org/2000/svg\"/>", 40},
	        {"%PDF-1.7", 8},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct picture picture;

		assert_int_equal(picture_clean(arena, rows[i].at, rows[i].size, &picture),
		                 ST_INVALID);
	}
}

/* ---- files that two readers would measure otherwise ---- */

static struct file joined(const char *a, size_t a_len, const char *b, size_t b_len)
{
	char *out = arena_array(arena, a_len + b_len, 1);

	memcpy(out, a, a_len);
	memcpy(out + a_len, b, b_len);
	return (struct file){out, a_len + b_len};
}

static size_t find(struct file file, const char *what, size_t len)
{
	const char *at = memmem(file.at, file.size, what, len);

	assert_non_null(at);
	return (size_t)(at - file.at);
}

/* ITU-T T.81 figure B.3: a frame header of 16 by 16 in one component. */
#define SMALL_FRAME "\xFF\xC0\0\x0B\x08\0\x10\0\x10\1\1\x11\0"

/* The second header behind the scan, and before it. */
static struct file two_frames(bool behind)
{
	struct file jpeg = sample_of(PICTURE_JPEG);
	size_t at = behind ? jpeg.size - 2 : find(jpeg, "\xFF\xDA", 2);
	struct file head = joined(jpeg.at, at, SMALL_FRAME, sizeof SMALL_FRAME - 1);

	return joined(head.at, head.size, jpeg.at + at, jpeg.size - at);
}

static struct file two_ihdr(void)
{
	struct file png = sample_of(PICTURE_PNG);
	struct file head = joined(png.at, 33, png.at + 8, 25);

	return joined(head.at, head.size, png.at + 33, png.size - 33);
}

/* PNG without, or with something before, its IHDR. */
static struct file late_ihdr(void)
{
	static const char chunk[] = "\0\0\0\0tEXt\0\0\0";
	struct file png = sample_of(PICTURE_PNG);
	struct file head = joined(png.at, 8, chunk, 12);

	return joined(head.at, head.size, png.at + 8, png.size - 8);
}

/* RFC 9649 section 2.4: a file of these chunks. */
static struct file riff(struct file chunks)
{
	char head[12] = "RIFF....WEBP";
	size_t size = 4 + chunks.size;

	for (int i = 0; i < 4; i++)
		head[4 + i] = (char)(size >> 8 * i);
	return joined(head, 12, chunks.at, chunks.size);
}

static struct file webp_chunk(void)
{
	struct file webp = sample_of(PICTURE_WEBP);

	return (struct file){webp.at + 12, webp.size - 12};
}

#define UNKNOWN "ABCD\2\0\0\0xx"
#define CANVAS(width) "VP8X\x0A\0\0\0\0\0\0\0" width "\0\0\x1F\0\0"

static struct file behind(const char *first, size_t len)
{
	struct file chunk = webp_chunk();

	return riff(joined(first, len, chunk.at, chunk.size));
}

/* A bare lossless stream (RFC 9649 section 3.8: signature 2F) where a chunk should be. */
static struct file bare_stream(void)
{
	return behind("\x2F\xFF\xFF\xFF\0\0\0\0", 8);
}

static struct file two_images(void)
{
	struct file chunk = webp_chunk();

	return riff(joined(chunk.at, chunk.size, chunk.at, chunk.size));
}

static void test_files_of_two_sizes_are_refused(void **state)
{
	const struct {
		const char *what;
		struct file file;
		bool taken;
	} rows[] = {
	        {"a second frame behind the scan", two_frames(true), false},
	        {"a second frame before the scan", two_frames(false), false},
	        {"a second IHDR", two_ihdr(), false},
	        {"an IHDR that is not first", late_ihdr(), false},
	        {"a bare stream first", bare_stream(), false},
	        {"an unknown chunk first", behind(UNKNOWN, 10), false},
	        {"a second image", two_images(), false},
	        {"a canvas of another size", behind(CANVAS("\x3E"), 18), false},
	        {"a canvas of its size", behind(CANVAS("\x3F"), 18), true},
	        {"one image", riff(webp_chunk()), true},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct file *file = &rows[i].file;
		struct picture_head head;
		struct picture picture;
		bool read = picture_head_read(file->at, file->size, &head);
		enum status status = picture_clean(arena, file->at, file->size, &picture);

		if (read != rows[i].taken || (status == ST_OK) != rows[i].taken)
			print_error("%s: %d, %s\n", rows[i].what, read, status_words(status));
		assert_int_equal(read, rows[i].taken);
		assert_int_equal(status, rows[i].taken ? ST_OK : ST_INVALID);
	}
}

/* What we read and what the decoders say of the same header, wherever both say something:
 * else a limit would be held against a size that is not decoded. */
static void test_decoders_measure_the_same(void **state)
{
	static const enum picture_kind kinds[] = {PICTURE_JPEG, PICTURE_PNG, PICTURE_WEBP};
	uint64_t seed = 11;

	(void)state;
	for (size_t i = 0; i < 6000; i++) {
		struct file file = sample_of(kinds[i % 3]);
		size_t most = file.size < 200 ? file.size : 200;
		char *bytes = arena_copy(arena, file.at, file.size);
		struct picture_head head;
		unsigned width, height;

		if (i >= 3)
			bytes[next_random(&seed) % most] = (char)next_random(&seed);
		if (picture_head_read(bytes, file.size, &head) && !head.moves &&
		    picture_decoder_size(bytes, file.size, &width, &height)) {
			assert_int_equal(width, head.width);
			assert_int_equal(height, head.height);
		} else {
			assert_true(i >= 3);
		}
		arena_reset(arena);
	}
}

/* Bytes changed at random: no crash, no read outside (run under ASan). */
static void test_damaged_files_do_no_harm(void **state)
{
	static const enum picture_kind kinds[] = {PICTURE_JPEG, PICTURE_PNG, PICTURE_WEBP};
	uint64_t seed = 7;

	(void)state;
	for (size_t i = 0; i < 600; i++) {
		struct file file = kinds[i % 3] == PICTURE_JPEG
		                           ? with_exif(sample_of(PICTURE_JPEG), 5, i % 2)
		                           : sample_of(kinds[i % 3]);
		char *bytes = arena_copy(arena, file.at, file.size);
		struct picture picture;
		enum status status;

		for (int k = 0; k < 4; k++)
			bytes[next_random(&seed) % file.size] = (char)next_random(&seed);
		status = picture_clean(arena, bytes, file.size, &picture);
		assert_true(status == ST_OK || status == ST_INVALID || status == ST_LIMIT);
		arena_reset(arena);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test_setup_teardown(test_a_head_tells_the_size, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_pictures_stand_upright, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_nothing_but_the_picture_is_kept, set_up,
	                                        tear_down),
	        cmocka_unit_test_setup_teardown(test_kinds_after_cleaning, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_large_pictures_are_scaled, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_two_sizes_of_one_picture, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_refusals_are_told, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_files_cut_short_are_refused, set_up,
	                                        tear_down),
	        cmocka_unit_test_setup_teardown(test_too_many_pixels_are_never_decoded, set_up,
	                                        tear_down),
	        cmocka_unit_test_setup_teardown(test_what_is_no_picture, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_files_of_two_sizes_are_refused, set_up,
	                                        tear_down),
	        cmocka_unit_test_setup_teardown(test_decoders_measure_the_same, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_damaged_files_do_no_harm, set_up, tear_down),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
