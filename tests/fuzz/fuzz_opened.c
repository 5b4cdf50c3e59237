/* fuzz_opened.c - pictures up to their decoders, with the memory that a worker has.
 *
 * Whatever the bytes, opening ends, within that memory; what comes out is a picture of
 * the size it says and no larger than was asked for, and keeps no Exif. Where addresses
 * cannot be limited (AddressSanitizer) libFuzzer's own limit holds: fuzz.sh.
 */
#include "fuzz.h"

#include <sys/resource.h>

#include "chapter/picture_shop.h"

static void limit_memory(void)
{
	/* Beside what the program and its libraries are: less than 200 MB of addresses. */
	const size_t most = SHOP_MEMORY + (size_t)200 * 1024 * 1024;

	must(!HELPER_LIMITS_MEMORY || setrlimit(RLIMIT_AS, &(struct rlimit){most, most}) == 0,
	     "memory can be limited");
}

static void check(const struct picture *picture, unsigned side)
{
	struct picture_head head = {0, 0, 0, false};

	must(picture->kind == PICTURE_JPEG || picture->kind == PICTURE_PNG, "JPEG or PNG");
	must(picture_kind_of(picture->bytes, picture->size) == picture->kind, "as it says");
	must(picture_head_read(picture->bytes, picture->size, &head), "it reads");
	must(head.width == picture->width && head.height == picture->height, "of its size");
	must(head.width <= side && head.height <= side, "no larger than asked for");
	must(head.orientation == 1 && !memmem(picture->bytes, picture->size, "Exif\0\0", 6),
	     "without Exif");
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
	struct arena *arena = arena_new();
	char *copy = fuzz_string(bytes, len);
	struct picture large, small;

	limit_memory();
	must(arena != NULL, "there is memory");
	if (picture_clean_two(arena, copy, len, &large, &small) == ST_OK) {
		check(&large, PICTURE_LARGE);
		check(&small, PICTURE_SMALL);
	}
	free(copy);
	arena_free(arena);
	return 0;
}
