/* fuzz_picture.c - what the header of a picture says.
 *
 * A header that reads is of one of the three kinds, has a size and one of the
 * eight orientations, and says the same each time; one that does not changes nothing. The
 * decoders behind it are searched by those who make them.
 */
#include "fuzz.h"
#include "chapter/picture.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
	char *copy = fuzz_string(bytes, len);
	struct picture_head head = {0, 0, 0, false}, again = head;
	bool read = picture_head_read(copy, len, &head);

	must(!read || picture_kind_of(copy, len) != PICTURE_NONE, "only pictures have a head");
	must(!read || (head.width > 0 && head.height > 0), "a picture has a size");
	must(!read || (head.orientation >= 1 && head.orientation <= 8),
	     "an orientation is one of eight");
	must(read || (head.width == 0 && head.orientation == 0), "what is refused changes nothing");
	must(!read || picture_head_read(copy, len, &again), "the same bytes read again");
	must(!read || (again.width == head.width && again.orientation == head.orientation &&
	               again.moves == head.moves),
	     "and say the same");
	free(copy);
	return 0;
}
