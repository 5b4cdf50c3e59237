/* fuzz_serial.c - two serial numbers, a line end between them.
 *
 * Comparing is the same from both sides, a serial equals itself, and lies in
 * the range from itself to itself.
 */
#include "core/serial.h"
#include "fuzz.h"

static void check_one(const struct serial *serial)
{
	struct serial_range range = {.first = *serial, .last = *serial};

	must(serial_comparable(serial, serial), "a serial compares with itself");
	must(serial_compare(serial, serial) == 0, "a serial equals itself");
	must(serial_in_range(serial, &range), "a serial lies in the range of itself");
}

static void check_two(const struct serial *a, const struct serial *b)
{
	int order;

	must(serial_comparable(a, b) == serial_comparable(b, a), "comparing has no direction");
	if (!serial_comparable(a, b))
		return;
	order = serial_compare(a, b);
	must((order < 0) == (serial_compare(b, a) > 0), "order turns round");
	must((order == 0) == (serial_compare(b, a) == 0), "equal from both sides");
}

static int make(struct arena *arena, const char *text, size_t len, struct serial *out)
{
	size_t where = 0;
	enum serial_fault fault = serial_check(text, len, &where);
	enum status status = serial_make(arena, text, len, out);

	must((fault == SERIAL_FINE) == (status == ST_OK), "what is fine can be made");
	must(fault == SERIAL_FINE || (where <= len && serial_fault_words(fault)[0]),
	     "a fault has a place and words");
	return status == ST_OK;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
	const uint8_t *end = len ? memchr(bytes, '\n', len) : NULL;
	size_t first = end ? (size_t)(end - bytes) : len;
	size_t second = end ? len - first - 1 : 0;
	char *one = fuzz_string(bytes, first);
	char *two = fuzz_string(bytes + (end ? first + 1 : 0), second);
	struct arena *arena = arena_new();
	struct serial a, b;
	int has_a, has_b;

	must(arena != NULL, "there is memory");
	has_a = make(arena, one, first, &a);
	has_b = make(arena, two, second, &b);
	if (has_a)
		check_one(&a);
	if (has_a && has_b)
		check_two(&a, &b);
	arena_free(arena);
	free(one);
	free(two);
	return 0;
}
