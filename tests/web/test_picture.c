/* Pictures: what the header says, what is refused, which way is up, and that
 * nothing of the file but its picture is kept. */
#include "support.h"

#include <pthread.h>
#include <stdatomic.h>
#include <string.h>

#include <gd.h>

#include "web/chapter/picture.h"

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
	        {"RIFF....WEBPVP8X\x0A\0\0\0\0\0\0\0\xFE\x3F\0\0\1\0", 30, ST_LIMIT,
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

/* ---- one at a time ---- */

#define CROWD 12

struct crowd {
	struct file file;
	atomic_int taken, busy, others;
	pthread_barrier_t start;
};

static void *come_at_once(void *context)
{
	struct crowd *crowd = context;
	struct arena *own = arena_new();
	struct picture large, small;
	enum status status;

	pthread_barrier_wait(&crowd->start);
	status = picture_clean_two(own, crowd->file.at, crowd->file.size, &large, &small);
	atomic_fetch_add(status == ST_OK     ? &crowd->taken
	                 : status == ST_BUSY ? &crowd->busy
	                                     : &crowd->others,
	                 1);
	arena_free(own);
	return NULL;
}

/* Those behind one at work and two that wait are told so at once; nobody is lost. */
static void test_a_crowd_is_sent_away(void **state)
{
	gdImagePtr image = gdImageCreateTrueColor(4000, 3000);
	struct crowd crowd = {.taken = 0};
	pthread_t threads[CROWD];
	struct picture large, small;
	int size = 0;
	void *made = gdImageJpegPtr(image, &size, 90);

	(void)state;
	crowd.file = kept(made, size);
	gdImageDestroy(image);
	assert_int_equal(pthread_barrier_init(&crowd.start, NULL, CROWD), 0);
	for (size_t i = 0; i < CROWD; i++)
		assert_int_equal(pthread_create(&threads[i], NULL, come_at_once, &crowd), 0);
	for (size_t i = 0; i < CROWD; i++)
		pthread_join(threads[i], NULL);
	pthread_barrier_destroy(&crowd.start);
	assert_int_equal(crowd.others, 0);
	assert_int_equal(crowd.taken + crowd.busy, CROWD);
	assert_true(crowd.taken >= 1 + PICTURES_WAIT);
	assert_true(crowd.busy > 0);
	assert_int_equal(picture_clean_two(arena, crowd.file.at, crowd.file.size, &large, &small),
	                 ST_OK);
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
	        cmocka_unit_test_setup_teardown(test_a_crowd_is_sent_away, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_files_cut_short_are_refused, set_up,
	                                        tear_down),
	        cmocka_unit_test_setup_teardown(test_too_many_pixels_are_never_decoded, set_up,
	                                        tear_down),
	        cmocka_unit_test_setup_teardown(test_what_is_no_picture, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(test_damaged_files_do_no_harm, set_up, tear_down),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
